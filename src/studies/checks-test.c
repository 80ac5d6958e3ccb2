/* The rules, each on small sheets of its own: tests/rules/NAME.job.
 *
 * A sheet says in its head what must be found:
 *   # expect: RULE "text"    the rule fires, and one of its findings holds the text (may be left
 * out) # expect-not: RULE       a near miss: the rule must stay silent A rule that fires and is not
 * named by `expect` fails the test, so every sheet is a near miss for all the others. Where a
 * number in the text comes from stands beside it in the sheet. */
#include "studies/cautions.h"
#include "studies/checks.h"
#include <string.h>

typedef struct {
  gboolean silent;
  char *rule, *text;
} Expectation;

typedef struct {
  LgCatalogue *catalogue;
  LgSheet *sheet;
  LgJob *job;
  LgSizing *sizing;
  GPtrArray *findings;
  GArray *expectations;
} Case;

static char *rules_folder(void)
{
  return g_build_filename(g_getenv("LG_SOURCE_ROOT"), "tests", "rules", NULL);
}

static void read_line(GArray *expectations, const char *line)
{
  static const char *const heads[] = {"# expect: ", "# expect-not: "};
  for (int k = 0; k < 2; k++) {
    if (!g_str_has_prefix(line, heads[k]))
      continue;
    g_auto(GStrv) words = g_strsplit(line + strlen(heads[k]), " ", 2);
    const char *const open = words[1] != NULL ? strchr(words[1], '"') : NULL;
    const char *const close = open != NULL ? strrchr(words[1], '"') : NULL;
    const Expectation e = {.silent = k == 1,
                           .rule = g_strdup(words[0]),
                           .text = close > open ? g_strndup(open + 1, (gsize)(close - open - 1))
                                                : NULL};
    g_array_append_val(expectations, e);
  }
}

static void clear_expectation(gpointer data)
{
  Expectation *const e = data;
  g_free(e->rule);
  g_free(e->text);
}

static GArray *read_expectations(const char *text)
{
  GArray *const expectations = g_array_new(FALSE, FALSE, sizeof(Expectation));
  g_array_set_clear_func(expectations, clear_expectation);
  g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
  for (int i = 0; lines[i] != NULL; i++)
    read_line(expectations, lines[i]);
  return expectations;
}

static Case open_case(const char *path)
{
  Case c = {.catalogue = lg_catalogue_new()};
  g_autoptr(GError) error = NULL;
  char *text;
  gsize length;
  g_file_get_contents(path, &text, &length, &error);
  g_assert_no_error(error);
  c.expectations = read_expectations(text);
  g_autoptr(GBytes) bytes = g_bytes_new_take(text, length);
  c.sheet = lg_sheet_read(path, bytes, FALSE);
  c.job = lg_job_new(c.sheet, c.catalogue);
  const GPtrArray *const problems = lg_sheet_problems(c.sheet);
  for (guint i = 0; i < problems->len; i++) {
    const LgProblem *const p = problems->pdata[i];
    g_test_message("%s:%d: %s: %s", path, p->origin.line, p->what, p->remedy);
  }
  g_assert_nonnull(c.job);
  c.sizing = lg_sizing_new(c.job, &error);
  g_assert_no_error(error);
  c.findings = lg_checks_run(c.job, c.sizing);
  return c;
}

static void close_case(Case *c)
{
  g_array_unref(c->expectations);
  g_ptr_array_unref(c->findings);
  lg_sizing_free(c->sizing);
  lg_job_free(c->job);
  lg_sheet_free(c->sheet);
  lg_catalogue_free(c->catalogue);
}

static gboolean holds(const LgFinding *finding, const Expectation *e)
{
  if (strcmp(finding->rule, e->rule) != 0)
    return FALSE;
  return e->text == NULL || strstr(finding->what, e->text) != NULL ||
         strstr(finding->subject, e->text) != NULL || strstr(finding->remedy, e->text) != NULL ||
         (finding->basis != NULL && strstr(finding->basis, e->text) != NULL);
}

static gboolean is_found(const Case *c, const Expectation *e)
{
  for (guint i = 0; i < c->findings->len; i++)
    if (holds(c->findings->pdata[i], e))
      return TRUE;
  return FALSE;
}

static gboolean is_expected(const Case *c, const LgFinding *finding)
{
  for (guint i = 0; i < c->expectations->len; i++) {
    const Expectation *const e = &g_array_index(c->expectations, Expectation, i);
    if (!e->silent && strcmp(e->rule, finding->rule) == 0)
      return TRUE;
  }
  return FALSE;
}

/* A finding is whole: a rule of the table, a subject, numbers or names, a basis, a remedy. */
static void check_whole(const LgFinding *finding)
{
  g_assert_nonnull(lg_rule_find(finding->rule));
  g_assert_true(finding->subject != NULL && *finding->subject != '\0');
  g_assert_true(finding->what != NULL && g_str_has_suffix(finding->what, "."));
  g_assert_true(finding->basis != NULL && *finding->basis != '\0');
  g_assert_true(finding->remedy != NULL && g_str_has_suffix(finding->remedy, "."));
  g_assert_cmpint(finding->origin.line, >, 0);
  g_assert_null(strstr(finding->what, "nan"));
  g_assert_null(strstr(finding->what, "(null)"));
  g_assert_null(strstr(finding->basis, "nan"));
  g_assert_null(strstr(finding->basis, "(null)"));
  g_assert_null(strstr(finding->what, "?"));
}

static void tell(const LgFinding *f)
{
  g_test_message("line %d %s [%s] %s: %s | %s | %s", f->origin.line, lg_grade_word(f->grade),
                 f->rule, f->subject, f->what, f->basis, f->remedy);
}

static void test_sheet(gconstpointer path)
{
  Case c = open_case(path);
  for (guint i = 0; i < c.findings->len; i++)
    tell(c.findings->pdata[i]);
  g_assert_cmpuint(c.expectations->len, >, 0);
  for (guint i = 0; i < c.expectations->len; i++) {
    const Expectation *const e = &g_array_index(c.expectations, Expectation, i);
    g_test_message("%s %s %s", e->rule, e->silent ? "must not fire" : "must fire",
                   e->text != NULL ? e->text : "");
    g_assert_nonnull(lg_rule_find(e->rule));
    g_assert_cmpint(is_found(&c, e), ==, !e->silent);
  }
  for (guint i = 0; i < c.findings->len; i++) {
    check_whole(c.findings->pdata[i]);
    if (!is_expected(&c, c.findings->pdata[i])) {
      g_test_message("not expected:");
      tell(c.findings->pdata[i]);
      g_test_fail();
    }
  }
  close_case(&c);
}

/* Every rule of the table has a sheet on which it must fire and one on which it must not. */
static void test_every_rule_has_its_sheets(void)
{
  g_autofree char *folder = rules_folder();
  g_autoptr(GDir) files = g_dir_open(folder, 0, NULL);
  g_autoptr(GHashTable) fires = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL),
                        silent = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  for (const char *name; (name = g_dir_read_name(files)) != NULL;) {
    if (!g_str_has_suffix(name, ".job"))
      continue;
    g_autofree char *path = g_build_filename(folder, name, NULL), *text = NULL;
    g_assert_true(g_file_get_contents(path, &text, NULL, NULL));
    g_autoptr(GArray) expectations = read_expectations(text);
    for (guint i = 0; i < expectations->len; i++) {
      const Expectation *const e = &g_array_index(expectations, Expectation, i);
      g_hash_table_add(e->silent ? silent : fires, g_strdup(e->rule));
    }
  }
  /* Found by identify and locate, and tested there; `check` does not look for them. */
  static const char *const elsewhere[] = {"restraint-left-alone", "reading-contradicts",
                                          "reading-impossible", NULL};
  for (int i = 0; lg_rules[i] != NULL; i++) {
    if (g_strv_contains(elsewhere, lg_rules[i]->name))
      continue;
    if (!g_hash_table_contains(fires, lg_rules[i]->name) ||
        !g_hash_table_contains(silent, lg_rules[i]->name)) {
      g_test_message("%s lacks a sheet", lg_rules[i]->name);
      g_test_fail();
    }
  }
}

static gboolean names_basis(const char *source)
{
  static const char *const marks[] = {"seen", "memory", "no source", NULL};
  for (int k = 0; marks[k] != NULL; k++)
    if (strstr(source, marks[k]) != NULL)
      return TRUE;
  return FALSE;
}

static void test_pages(void)
{
  g_autoptr(GHashTable) names = g_hash_table_new(g_str_hash, g_str_equal);
  for (int i = 0; lg_rules[i] != NULL; i++) {
    const LgRule *const rule = lg_rules[i];
    g_test_message("%s", rule->name);
    g_assert_true(g_hash_table_add(names, (gpointer)rule->name));
    g_assert_true(lg_rule_find(rule->name) == rule);
    g_assert_cmpuint(strspn(rule->name, "abcdefghijklmnopqrstuvwxyz-"), ==, strlen(rule->name));
    g_assert_cmpint(rule->grade, <, LG_N_GRADES);
    g_assert_cmpuint(strlen(rule->title), >, 15);
    g_assert_cmpuint(strlen(rule->what), >, 40);
    g_assert_true(g_str_has_suffix(rule->what, "."));
    g_assert_true(rule->formula == NULL || strlen(rule->formula) > 10);
    g_assert_true(names_basis(rule->source));
    g_assert_true(g_str_has_suffix(rule->remedy, "."));
  }
  g_assert_null(lg_rule_find("no such rule"));
}

static void test_restraint_never_offers_a_cure(void)
{
  static const char *const rules[] = {"restraint-wired", "restraint-read"};
  for (int k = 0; k < 2; k++) {
    const LgRule *const rule = lg_rule_find(rules[k]);
    g_assert_cmpint(rule->grade, ==, LG_GRADE_DANGER);
    g_assert_null(strstr(rule->remedy, "limit"));
    g_assert_null(strstr(rule->remedy, "resistor"));
    g_assert_nonnull(strstr(rule->remedy, "Leave the plug alone"));
  }
}

static gboolean has_caution(const GPtrArray *cautions, const char *name)
{
  for (guint i = 0; i < cautions->len; i++)
    if (strcmp(((const LgCaution *)cautions->pdata[i])->name, name) == 0)
      return TRUE;
  return FALSE;
}

static GPtrArray *cautions_of_text(const char *text)
{
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  g_autoptr(GBytes) bytes = g_bytes_new_static(text, strlen(text));
  g_autoptr(LgSheet) sheet = lg_sheet_read("test.job", bytes, FALSE);
  g_autoptr(LgJob) job = lg_job_new(sheet, catalogue);
  g_assert_nonnull(job);
  return lg_cautions_of(job);
}

static void test_cautions_go_with_the_job(void)
{
  g_autoptr(GPtrArray) lamp =
      cautions_of_text("job \"t\"\npart G1 battery-12 capacity=70Ah\npart E1 lamp-21w\n");
  g_assert_true(has_caution(lamp, "always"));
  g_assert_true(has_caution(lamp, "fire"));
  g_assert_true(has_caution(lamp, "high-voltage"));
  g_assert_true(has_caution(lamp, "lead-battery"));
  g_assert_false(has_caution(lamp, "restraint"));
  g_assert_false(has_caution(lamp, "burns"));
  g_assert_false(has_caution(lamp, "lithium-battery"));
  g_assert_false(has_caution(lamp, "motion"));
  g_autoptr(GPtrArray) seat =
      cautions_of_text("job \"t\"\npart G1 battery-12-lithium capacity=70Ah\npart A1 assembly "
                       "is=donor \"left Seat\"\n"
                       "pin A1.1\npin A1.2\npin A1.3\nelement A1.pad heater 1 2 power=40W\n"
                       "element A1.lift motor 1 3 run=4A\n");
  g_assert_true(has_caution(seat, "restraint"));
  g_assert_true(has_caution(seat, "seat-strength"));
  g_assert_true(has_caution(seat, "burns"));
  g_assert_true(has_caution(seat, "motion"));
  g_assert_true(has_caution(seat, "lithium-battery"));
  g_assert_false(has_caution(seat, "lead-battery"));
}

static void test_cautions_are_whole(void)
{
  for (const LgCaution *caution = lg_cautions; caution->name != NULL; caution++) {
    g_assert_nonnull(caution->title);
    g_assert_nonnull(caution->source);
    g_assert_nonnull(caution->lines[0]);
    for (int i = 0; caution->lines[i] != NULL; i++)
      g_assert_true(g_str_has_suffix(caution->lines[i], "."));
  }
}

static void add_sheets(GPtrArray *paths)
{
  g_autofree char *folder = rules_folder();
  g_autoptr(GError) error = NULL;
  g_autoptr(GDir) files = g_dir_open(folder, 0, &error);
  g_assert_no_error(error);
  for (const char *name; (name = g_dir_read_name(files)) != NULL;) {
    if (!g_str_has_suffix(name, ".job"))
      continue;
    char *const path = g_build_filename(folder, name, NULL);
    g_autofree char *test = g_strdup_printf("/checks/%s", name);
    g_ptr_array_add(paths, path);
    g_test_add_data_func(test, path, test_sheet);
  }
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_autoptr(GPtrArray) paths = g_ptr_array_new_with_free_func(g_free);
  g_test_add_func("/checks/pages", test_pages);
  g_test_add_func("/checks/restraint", test_restraint_never_offers_a_cure);
  g_test_add_func("/checks/cautions/whole", test_cautions_are_whole);
  g_test_add_func("/checks/cautions/job", test_cautions_go_with_the_job);
  g_test_add_func("/checks/every-rule", test_every_rule_has_its_sheets);
  add_sheets(paths);
  return g_test_run();
}
