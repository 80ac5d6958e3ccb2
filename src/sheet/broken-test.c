/* Sheets that cannot be read: each gives exactly the problems that stand beside it. Those whose
 * name ends in -catalogue are read as a catalogue. LG_UPDATE=1 writes what is found; review it as
 * the person would who has to mend the sheet. */
#include "sheet/sheet.h"
#include <string.h>

static char *problems_of(const char *path)
{
  g_autoptr(GError) error = NULL;
  g_autoptr(LgSheet) sheet = lg_sheet_open(path, g_str_has_suffix(path, "-catalogue.job"), &error);
  g_assert_no_error(error);
  GString *const text = g_string_new(NULL);
  const GPtrArray *const problems = lg_sheet_problems(sheet);
  for (guint i = 0; i < problems->len; i++) {
    const LgProblem *const p = problems->pdata[i];
    g_string_append_printf(text, "%d:%d: %s\n    %s\n", p->origin.line, p->origin.column, p->what,
                           p->remedy);
  }
  return g_string_free(text, FALSE);
}

static void test_sheet(gconstpointer data)
{
  const char *const path = data;
  g_autofree char *found = problems_of(path);
  g_autofree char *beside = g_strdup_printf("%.*s.expected", (int)strlen(path) - 4, path);
  g_autofree char *wanted = NULL;
  if (g_getenv("LG_UPDATE") != NULL)
    g_file_set_contents(beside, found, -1, NULL);
  g_assert_true(g_file_get_contents(beside, &wanted, NULL, NULL));
  g_assert_cmpstr(found, ==, wanted);
  g_assert_cmpstr(found, !=, "");
  g_assert_true(g_utf8_validate(found, -1, NULL));
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  int n = 0;
  g_autofree char *folder = g_build_filename(g_getenv("LG_SOURCE_ROOT"), "tests", "broken", NULL);
  g_autoptr(GDir) dir = g_dir_open(folder, 0, NULL);
  g_assert_nonnull(dir);
  for (const char *name; (name = g_dir_read_name(dir)) != NULL;) {
    if (!g_str_has_suffix(name, ".job"))
      continue;
    g_autofree char *test = g_strdup_printf("/broken/%s", name);
    g_test_add_data_func_full(test, g_build_filename(folder, name, NULL), test_sheet, g_free);
    n++;
  }
  g_assert_cmpint(n, >=, 60);
  return g_test_run();
}
