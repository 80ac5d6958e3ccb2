#include "sheet/random-sheet.h"
#include "sheet/sheet.h"
#include <string.h>

static LgSheet *read_text(const char *text, gboolean catalogue)
{
  g_autoptr(GBytes) bytes = g_bytes_new(text, strlen(text));
  return lg_sheet_read("test.job", bytes, catalogue);
}

static char *tidy_once(const char *text, gboolean catalogue)
{
  g_autoptr(LgSheet) sheet = read_text(text, catalogue);
  g_autoptr(GError) error = NULL;
  g_autoptr(GBytes) bytes = lg_sheet_tidy(sheet, &error);
  g_assert_no_error(error);
  return g_strndup(g_bytes_get_data(bytes, NULL), g_bytes_get_size(bytes));
}

static void tidies_as_promised(void)
{
  static const struct {
    const char *before, *after;
  } cases[] = {
      {"", ""},
      {"\n\n# a  \n\n\n\n# b\n\n", "# a\n\n# b\n"},
      {"  # kept where it is\nplace  a\t wet=yes", "  # kept where it is\nplace a wet=yes\n"},
      /* columns within a block of one kind */
      {"wire W1 A.1 B.12 RD auto length=1m\nwire W12 A.1 B.1 GN/BU 2.5mm2  # x\n",
       "wire W1  A.1 B.12 RD    auto   length=1m\nwire W12 A.1 B.1  GN/BU 2.5mm2  # x\n"},
      {"place a\nplace bcd\n\nplace ef wet=yes\nplace g wet=yes\n",
       "place a\nplace bcd\n\nplace ef wet=yes\nplace g  wet=yes\n"},
      /* the schema's order; values in order lose their key; text, then `when`, last */
      {"reading M1 to=A.2 from=A.1 \"x\" by=\"me\" volts=12V when KEY=off\n",
       "reading M1 A.1 A.2 volts=12V by=\"me\" \"x\" when KEY=off\n"},
      {"element A.x second=8 run=4A\n", "element A.x second=8 run=4A\n"},
      /* one line where it fits */
      {"part K1 relay\n      at=dash\n\n  is=host  # why\n",
       "part K1 relay at=dash is=host  # why\n"},
      /* comments inside keep the lines */
      {"part K1   relay   # one\n# two\n\n\n   is=host  at=dash # three\n",
       "part K1 relay  # one\n    # two\n    is=host at=dash  # three\n"},
      {"\357\273\277place a\r\nplace b \n", "\357\273\277place a\r\nplace b\r\n"},
      /* wide letters take two columns, marks none */
      {"place \346\274\242 wet=yes\nplace abc wet=yes\n",
       "place \346\274\242  wet=yes\nplace abc wet=yes\n"},
  };
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autofree char *after = tidy_once(cases[i].before, FALSE);
    g_assert_cmpstr(after, ==, cases[i].after);
  }
}

static void breaks_long_records(void)
{
  g_autofree char *text = tidy_once(
      "part SEAT assembly at=under-seat is=donor face=3x6 view=wire latch=top housing=\"black, "
      "marked with two dots\" tail=120mm \"the seat\"\nwire W1 A.1 B.1 RD auto\n",
      FALSE);
  g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
  g_assert_cmpuint(g_strv_length(lines), ==, 4);
  g_assert_true(g_str_has_prefix(lines[1], "    "));
  for (int i = 0; lines[i] != NULL; i++)
    g_assert_cmpuint(strlen(lines[i]), <=, 100);
}

static void leaves_broken_sheets_alone(void)
{
  g_autoptr(LgSheet) sheet = read_text("plac a\n", FALSE);
  g_autoptr(GError) error = NULL;
  g_assert_null(lg_sheet_tidy(sheet, &error));
  g_assert_error(error, G_IO_ERROR, G_IO_ERROR_INVALID_DATA);
  g_assert_nonnull(strstr(error->message, "test.job:1:1"));
}

static int compare_lines(gconstpointer a, gconstpointer b)
{
  return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* All that a record says, whatever its order: fields sorted, states in their order. */
static char *meaning(const LgRecord *record)
{
  const LgKindInfo *const info = &lg_kinds[record->kind];
  g_autoptr(GPtrArray) lines = g_ptr_array_new_with_free_func(g_free);
  GString *const out = g_string_new(info->word);
  for (int i = 0; i < record->n_values; i++) {
    const LgValue *const v = &record->values[i];
    char *const line =
        g_strdup_printf("%s:%s %.17g %.17g %d %d %d %d",
                        record->fields[i] < 0 ? "when" : info->fields[record->fields[i]].key,
                        v->text, v->low, v->high, v->word, v->is_auto, v->is_awg, v->relation);
    if (record->fields[i] < 0)
      g_string_append_printf(out, "\n%s", line);
    if (record->fields[i] < 0)
      g_free(line);
    else
      g_ptr_array_add(lines, line);
  }
  g_ptr_array_sort(lines, compare_lines);
  for (guint i = 0; i < lines->len; i++)
    g_string_append_printf(out, "\n%s", (char *)lines->pdata[i]);
  g_string_append_printf(out, "\n%s\n%s\n", record->name, record->text);
  return g_string_free(out, FALSE);
}

static int count_comments(const char *text)
{
  int n = 0;
  while ((text = strstr(text, "# ")) != NULL) {
    n++;
    text += 2;
  }
  return n;
}

static void meaning_stays_and_twice_is_once(void)
{
  for (int i = 0; i < 600; i++) {
    g_autofree char *text = lg_random_sheet(12, TRUE);
    g_autofree char *once = tidy_once(text, TRUE);
    g_autofree char *twice = tidy_once(once, TRUE);
    g_assert_cmpstr(once, ==, twice);
    g_autoptr(LgSheet) before = read_text(text, TRUE), after = read_text(once, TRUE);
    g_assert_cmpuint(lg_sheet_n_records(before), ==, lg_sheet_n_records(after));
    for (guint r = 0; r < lg_sheet_n_records(before); r++) {
      g_autofree char *a = meaning(lg_sheet_record(before, r));
      g_autofree char *b = meaning(lg_sheet_record(after, r));
      g_assert_cmpstr(a, ==, b);
    }
    g_assert_cmpint(count_comments(text), ==, count_comments(once));
  }
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/tidy/as-promised", tidies_as_promised);
  g_test_add_func("/tidy/breaks-long-records", breaks_long_records);
  g_test_add_func("/tidy/leaves-broken-sheets-alone", leaves_broken_sheets_alone);
  g_test_add_func("/tidy/meaning-stays-and-twice-is-once", meaning_stays_and_twice_is_once);
  return g_test_run();
}
