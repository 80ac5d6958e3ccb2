/* Reads, tidies, edits and reads again whatever it is given, and stops when a promise of sheet.h is
 * broken. For libFuzzer with LG_LIBFUZZER defined, else a program that takes files. */
#include "sheet/sheet.h"
#include <string.h>

int LLVMFuzzerTestOneInput(const guint8 *data, gsize length);

/* Choices follow from the input alone, so that a finding can be run again. */
static guint32 choice_state;

static guint choose(guint n)
{
  choice_state = choice_state * 1664525u + 1013904223u;
  return n == 0 ? 0 : (choice_state >> 8) % n;
}

static void check_problems(const LgSheet *sheet, gsize length)
{
  const GPtrArray *const problems = lg_sheet_problems(sheet);
  int line = 0, column = 0;
  g_assert_cmpuint(problems->len, <=, LG_SHEET_MOST_PROBLEMS + length / 2 + 1);
  for (guint i = 0; i < problems->len; i++) {
    const LgProblem *const p = problems->pdata[i];
    g_assert_true(p->origin.line >= 1 && p->origin.column >= 1);
    g_assert_true(p->origin.line > line || (p->origin.line == line && p->origin.column >= column));
    g_assert_true(g_utf8_validate(p->what, -1, NULL) && p->what[0] != '\0');
    g_assert_true(g_utf8_validate(p->remedy, -1, NULL) && p->remedy[0] != '\0');
    line = p->origin.line;
    column = p->origin.column;
  }
}

static void check_values(const LgRecord *record)
{
  const int n_fields = lg_n_fields(record->kind);
  for (int i = 0; i < record->n_values; i++) {
    const LgValue *const value = &record->values[i];
    g_assert_true(record->fields[i] >= -1 && record->fields[i] < n_fields);
    g_assert_true(g_utf8_validate(value->text, -1, NULL));
    g_assert_true(value->origin.line >= record->origin.line && value->origin.column >= 1);
    if (value->type == LG_VALUE_QUANTITY || value->type == LG_VALUE_RANGE)
      g_assert_true(value->low <= value->high);
    if (value->type == LG_VALUE_WORD)
      g_assert_true(value->word >= 0);
  }
}

static void check_records(const LgSheet *sheet, gsize length)
{
  gsize end = 0;
  for (guint i = 0; i < lg_sheet_n_records(sheet); i++) {
    const LgRecord *const record = lg_sheet_record(sheet, i);
    g_assert_true(record->begin >= end && record->end > record->begin && record->end <= length);
    end = record->end;
    check_values(record);
  }
}

static LgSheet *read_again(GBytes *bytes)
{
  LgSheet *const sheet = lg_sheet_read("again.job", bytes, TRUE);
  g_assert_cmpuint(lg_sheet_problems(sheet)->len, ==, 0);
  return sheet;
}

static gboolean same_value(const LgValue *a, const LgValue *b)
{
  return a != NULL && b != NULL && strcmp(a->text, b->text) == 0 && a->word == b->word &&
         a->is_auto == b->is_auto && a->is_awg == b->is_awg && a->relation == b->relation &&
         (a->low == b->low || a->is_auto);
}

/* The same record but for one field (-2: none may differ). */
static void check_same_record(const LgRecord *a, const LgRecord *b, int but)
{
  g_assert_cmpint(a->kind, ==, b->kind);
  g_assert_cmpstr(a->name, ==, b->name);
  g_assert_cmpstr(a->text, ==, b->text);
  for (int i = 0; i < a->n_values; i++)
    if (a->fields[i] >= 0 && a->fields[i] != but)
      g_assert_true(same_value(&a->values[i], lg_record_value(b, a->fields[i])));
  if (but == -2)
    g_assert_cmpint(a->n_values, ==, b->n_values);
}

static void check_tidy(const LgSheet *sheet)
{
  g_autoptr(GError) error = NULL;
  g_autoptr(GBytes) once = lg_sheet_tidy(sheet, &error);
  g_assert_no_error(error);
  g_autoptr(LgSheet) tidied = read_again(once);
  g_autoptr(GBytes) twice = lg_sheet_tidy(tidied, &error);
  g_assert_no_error(error);
  g_assert_true(g_bytes_equal(once, twice));
  g_assert_cmpuint(lg_sheet_n_records(sheet), ==, lg_sheet_n_records(tidied));
  for (guint i = 0; i < lg_sheet_n_records(sheet); i++)
    check_same_record(lg_sheet_record(sheet, i), lg_sheet_record(tidied, i), -2);
}

/* A value from the sheet itself, from a list of odd ones, or none. */
static char *choose_value(const LgSheet *sheet)
{
  static const char *const odd[] = {"auto", "2.5mm2", "1 # x", "\"a\" \"b\"", "x\ny", "\"",
                                    "=",    "when",   "",      "\"a\\\"b\"",  "RD",   "12V",
                                    "#",    "a=b"};
  const LgRecord *const record = lg_sheet_record(sheet, choose(lg_sheet_n_records(sheet)));
  switch (choose(3)) {
  case 0:
    return NULL;
  case 1:
    return g_strdup(odd[choose(G_N_ELEMENTS(odd))]);
  default:
    return record->n_values == 0 ? g_strdup("yes")
                                 : g_strdup(record->values[choose((guint)record->n_values)].text);
  }
}

static void check_outside(const LgSheet *sheet, GBytes *edited, const LgRecord *record)
{
  gsize n, m;
  GBytes *const old = lg_sheet_bytes(sheet);
  const char *const p = g_bytes_get_data(old, &n);
  const char *const q = g_bytes_get_data(edited, &m);
  const gsize behind = n - record->end;
  g_assert_true(m >= record->begin + behind && memcmp(p, q, record->begin) == 0);
  g_assert_true(behind == 0 || memcmp(p + record->end, q + m - behind, behind) == 0);
}

static void check_edit(const LgSheet *sheet)
{
  const guint index = choose(lg_sheet_n_records(sheet));
  const LgRecord *const record = lg_sheet_record(sheet, index);
  const int field = (int)choose((guint)lg_n_fields(record->kind));
  g_autofree char *value = choose_value(sheet);
  g_autoptr(GError) error = NULL;
  g_autoptr(GBytes) edited =
      lg_sheet_set(sheet, index, lg_kinds[record->kind].fields[field].key, value, &error);
  g_assert_true((edited == NULL) == (error != NULL));
  if (edited == NULL)
    return;
  check_outside(sheet, edited, record);
  g_autoptr(LgSheet) after = read_again(edited);
  g_assert_cmpuint(lg_sheet_n_records(after), ==, lg_sheet_n_records(sheet));
  for (guint i = 0; i < lg_sheet_n_records(sheet); i++)
    check_same_record(lg_sheet_record(sheet, i), lg_sheet_record(after, i),
                      i == index ? field : -2);
  g_assert_true((lg_record_value(lg_sheet_record(after, index), field) != NULL) == (value != NULL));
}

static void check_remove(const LgSheet *sheet)
{
  g_autoptr(GBytes) less = lg_sheet_remove(sheet, choose(lg_sheet_n_records(sheet)));
  g_autoptr(LgSheet) after = read_again(less);
  g_assert_cmpuint(lg_sheet_n_records(after) + 1, ==, lg_sheet_n_records(sheet));
}

static void check_append(const LgSheet *sheet)
{
  g_autoptr(GError) error = NULL;
  g_autoptr(GBytes) more = lg_sheet_append(sheet, "place\n  one-more-place", &error);
  g_assert_true((more == NULL) == (error != NULL));
  if (more == NULL)
    return;
  g_autoptr(LgSheet) after = read_again(more);
  g_assert_cmpuint(lg_sheet_n_records(after), ==, lg_sheet_n_records(sheet) + 1);
}

int LLVMFuzzerTestOneInput(const guint8 *data, gsize length)
{
  choice_state = 2166136261u;
  for (gsize i = 0; i < length; i++)
    choice_state = (choice_state ^ data[i]) * 16777619u;
  g_autoptr(GBytes) bytes = g_bytes_new(data, length);
  g_autoptr(LgSheet) job = lg_sheet_read("fuzz.job", bytes, FALSE);
  check_problems(job, length);
  g_autoptr(LgSheet) sheet = lg_sheet_read("fuzz.job", bytes, TRUE);
  check_problems(sheet, length);
  check_records(sheet, length);
  g_assert_cmpuint(lg_sheet_n_records(job), <=, lg_sheet_n_records(sheet));
  if (lg_sheet_problems(sheet)->len > 0)
    return 0;
  check_tidy(sheet);
  check_append(sheet);
  if (lg_sheet_n_records(sheet) == 0)
    return 0;
  check_edit(sheet);
  check_remove(sheet);
  return 0;
}

#ifndef LG_LIBFUZZER
int main(int argc, char **argv)
{
  for (int i = 1; i < argc; i++) {
    g_autofree char *text = NULL;
    gsize length;
    g_autoptr(GError) error = NULL;
    if (!g_file_get_contents(argv[i], &text, &length, &error))
      g_error("%s", error->message);
    LLVMFuzzerTestOneInput((const guint8 *)text, length);
  }
  return 0;
}
#endif
