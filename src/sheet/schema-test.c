#include "sheet/schema.h"
#include "sheet/sheet.h"
#include <string.h>

static void check_field(LgKind kind, int i)
{
  const LgField *const field = &lg_kinds[kind].fields[i];
  g_assert_true(field->help != NULL && field->help[0] != '\0');
  g_assert_cmpint(lg_field_find(kind, field->key, strlen(field->key)), ==,
                  i);                      /* so keys are unique */
  g_assert_cmpstr(field->key, !=, "name"); /* the words of edits */
  g_assert_cmpstr(field->key, !=, "text");
  g_assert_cmpstr(field->key, !=, "when");
  g_assert_true((field->type == LG_VALUE_WORD) == (field->words != NULL));
  g_assert_cmpfloat(field->least, <=, field->most);
  g_assert_true(field->type != LG_VALUE_COUNT || field->most > 0);
  g_assert_true(field->type != LG_VALUE_GRID || field->most > 0);
  g_assert_true(field->place == 0 || field->type != LG_VALUE_TEXT); /* would be the free text */
  g_assert_true(!field->required || field->fallback == NULL);
}

static void fields_are_sound(void)
{
  for (int kind = 0; kind < LG_N_KINDS; kind++) {
    const int n = lg_n_fields((LgKind)kind);
    g_assert_cmpint(n, <=, LG_MOST_FIELDS);
    for (int i = 0; i < n; i++)
      check_field((LgKind)kind, i);
    g_assert_cmpint(lg_field_find((LgKind)kind, "no-such-key", 11), ==, -1);
    g_assert_cmpint(lg_field_find((LgKind)kind, "", 0), ==, -1);
  }
}

static void places_are_contiguous(void)
{
  for (int kind = 0; kind < LG_N_KINDS; kind++) {
    int n_places = 0;
    gboolean may_miss = FALSE;
    for (int i = 0; i < lg_n_fields((LgKind)kind); i++)
      n_places += lg_kinds[kind].fields[i].place > 0 ? 1 : 0;
    for (int place = 1; place <= n_places; place++) {
      const int field = lg_field_at_place((LgKind)kind, place);
      g_assert_cmpint(field, >=, 0);
      const gboolean required = lg_kinds[kind].fields[field].required;
      g_assert_false(required && may_miss); /* none required behind one that is not */
      may_miss = may_miss || !required;
    }
    g_assert_cmpint(lg_field_at_place((LgKind)kind, n_places + 1), ==, -1);
  }
}

static void kinds_are_sound(void)
{
  for (int kind = 0; kind < LG_N_KINDS; kind++) {
    const LgKindInfo *const info = &lg_kinds[kind];
    g_assert_true(info->word != NULL && info->help != NULL && info->example != NULL);
    g_assert_true(info->catalogue_only == (kind >= LG_KIND_TYPE));
    for (int other = 0; other < kind; other++)
      g_assert_cmpstr(info->word, !=, lg_kinds[other].word);
  }
}

static void examples_are_good(void)
{
  for (int kind = 0; kind < LG_N_KINDS; kind++) {
    const char *const example = lg_kinds[kind].example;
    g_autoptr(GBytes) bytes = g_bytes_new_static(example, strlen(example));
    g_autoptr(LgSheet) sheet = lg_sheet_read(lg_kinds[kind].word, bytes, TRUE);
    const GPtrArray *const problems = lg_sheet_problems(sheet);
    if (problems->len > 0)
      g_error("%s: %s", example, ((LgProblem *)problems->pdata[0])->what);
    g_assert_cmpuint(lg_sheet_n_records(sheet), ==, 1);
    g_assert_cmpint(lg_sheet_record(sheet, 0)->kind, ==, kind);
  }
}

/* Every key in both, the manual without raw control lines. */
static void help_tells_all(void)
{
  g_autofree char *manual = lg_schema_manual();
  g_autofree char *job = lg_schema_help(LG_KIND_JOB);
  for (int i = 0; i < lg_n_fields(LG_KIND_JOB); i++)
    g_assert_nonnull(strstr(job, lg_kinds[LG_KIND_JOB].fields[i].key));
  for (int kind = 0; kind < LG_N_KINDS; kind++) {
    g_autofree char *heading = g_strdup_printf("\n.SS %s\n", lg_kinds[kind].word);
    g_assert_nonnull(strstr(manual, heading));
  }
  g_auto(GStrv) lines = g_strsplit(manual, "\n", -1);
  static const char *const requests[] = {".TH", ".SH", ".SS", ".PP", ".nf", ".fi",
                                         ".TP", ".B",  ".BR", ".br", NULL};
  for (int i = 0; lines[i] != NULL; i++) {
    g_autofree char *request = g_strndup(lines[i], strcspn(lines[i], " "));
    if (request[0] == '.' && !g_strv_contains(requests, request))
      g_error("a line of text begins with a point: %s", lines[i]);
    g_assert_true(lines[i][0] != '\'');
  }
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/schema/fields-are-sound", fields_are_sound);
  g_test_add_func("/schema/places-are-contiguous", places_are_contiguous);
  g_test_add_func("/schema/kinds-are-sound", kinds_are_sound);
  g_test_add_func("/schema/examples-are-good", examples_are_good);
  g_test_add_func("/schema/help-tells-all", help_tells_all);
  return g_test_run();
}
