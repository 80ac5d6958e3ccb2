/* The packed catalogue: it reads, every row says where it is from, and what it names exists. */
#include "catalogue/catalogue.h"
#include "sheet/schema.h"
#include <math.h>
#include <string.h>

/* The sheets in data/ as files: the same that are packed. */
static GPtrArray *sheets_in_data(void)
{
  g_autofree char *folder = g_build_filename(g_getenv("LG_SOURCE_ROOT"), "data", NULL);
  g_autoptr(GDir) dir = g_dir_open(folder, 0, NULL);
  g_assert_nonnull(dir);
  GPtrArray *const sheets = g_ptr_array_new_with_free_func((GDestroyNotify)lg_sheet_free);
  for (const char *name = g_dir_read_name(dir); name != NULL; name = g_dir_read_name(dir)) {
    g_autofree char *path = g_build_filename(folder, name, NULL);
    g_autoptr(GError) error = NULL;
    LgSheet *const sheet = lg_sheet_open(path, TRUE, &error);
    g_assert_no_error(error);
    g_ptr_array_add(sheets, sheet);
  }
  return sheets;
}

static void show_problems(const LgSheet *sheet)
{
  const GPtrArray *const problems = lg_sheet_problems(sheet);
  for (guint i = 0; i < problems->len; i++) {
    const LgProblem *const p = problems->pdata[i];
    g_test_message("%s:%d:%d: %s (%s)", p->origin.file, p->origin.line, p->origin.column, p->what,
                   p->remedy);
  }
}

static void test_sheets_read(void)
{
  g_autoptr(GPtrArray) sheets = sheets_in_data();
  g_autoptr(LgCatalogue) packed = lg_catalogue_new();
  g_autoptr(LgCatalogue) read = lg_catalogue_new_from((LgSheet *const *)sheets->pdata, sheets->len);
  for (guint i = 0; i < sheets->len; i++) {
    show_problems(sheets->pdata[i]);
    g_assert_cmpuint(lg_sheet_problems(sheets->pdata[i])->len, ==, 0);
    g_assert_cmpuint(lg_sheet_n_records(sheets->pdata[i]), >, 0);
  }
  const GPtrArray *(*const lists[])(const LgCatalogue *) = {
      lg_catalogue_conductors, lg_catalogue_insulations, lg_catalogue_fuses, lg_catalogue_openings,
      lg_catalogue_terminals,  lg_catalogue_covers,      lg_catalogue_types};
  for (gsize i = 0; i < G_N_ELEMENTS(lists); i++) {
    g_assert_cmpuint(lists[i](packed)->len, ==, lists[i](read)->len);
    g_assert_cmpuint(lists[i](packed)->len, >, 10);
  }
}

static gboolean has_mark(const char *source)
{
  static const char *const marks[] = {"seen", "memory", "computed", "common practice"};
  for (gsize i = 0; i < G_N_ELEMENTS(marks); i++)
    if (strstr(source, marks[i]) != NULL)
      return TRUE;
  return FALSE;
}

/* Pins are covered by the source of their type, elements too unless they say their own. */
static void test_every_row_has_a_source(void)
{
  g_autoptr(GPtrArray) sheets = sheets_in_data();
  int rows = 0;
  for (guint i = 0; i < sheets->len; i++)
    for (guint r = 0; r < lg_sheet_n_records(sheets->pdata[i]); r++) {
      const LgRecord *const record = lg_sheet_record(sheets->pdata[i], r);
      const LgValue *const source = lg_record_key(record, "source");
      const gboolean inside = record->kind == LG_KIND_PIN || record->kind == LG_KIND_ELEMENT;
      if (source == NULL && inside)
        continue;
      if (source == NULL || !has_mark(source->text))
        g_error("%s:%d: no source, or none of its marks", record->origin.file, record->origin.line);
      g_assert_null(strstr(source->text, "www."));
      g_assert_null(strstr(source->text, "http"));
      rows++;
    }
  g_test_message("%d rows with a source", rows);
  g_assert_cmpint(rows, >, 500);
}

/* What the reader cannot see: whether the names of terminals and bodies lead anywhere. */
static void test_names_lead_somewhere(void)
{
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  const GPtrArray *const types = lg_catalogue_types(catalogue);
  for (guint i = 0; i < types->len; i++) {
    const LgType *const type = types->pdata[i];
    for (guint k = 0; k < type->pins->len; k++) {
      const LgRecord *const pin = type->pins->pdata[k];
      const LgValue *const terminal = lg_record_key(pin, "terminal");
      if (terminal != NULL && lg_catalogue_terminal(catalogue, terminal->text) == NULL)
        g_error("%s: no terminal %s", pin->name, terminal->text);
    }
    for (guint k = 0; k < type->elements->len; k++) {
      const LgRecord *const element = type->elements->pdata[k];
      const LgValue *const form = lg_record_key(element, "form");
      double least, most;
      if (form != NULL)
        g_assert_true(lg_catalogue_opening_time(catalogue, form->text, 30, 60, &least, &most));
    }
  }
}

static gboolean has_pin(const LgType *type, const char *short_name)
{
  for (guint i = 0; i < type->pins->len; i++)
    if (strcmp(strchr(((const LgRecord *)type->pins->pdata[i])->name, '.') + 1, short_name) == 0)
      return TRUE;
  return FALSE;
}

static gboolean has_coil(const LgType *type, const char *short_name)
{
  for (guint i = 0; i < type->elements->len; i++) {
    const LgRecord *const element = type->elements->pdata[i];
    if (strcmp(strchr(element->name, '.') + 1, short_name) == 0)
      return strcmp(lg_record_key(element, "what")->text, "coil") == 0;
  }
  return FALSE;
}

static void check_element(const LgType *type, const LgRecord *element)
{
  const LgValue *const first = lg_record_key(element, "first"),
                       *const second = lg_record_key(element, "second"),
                       *const by = lg_record_key(element, "by"),
                       *const closed = lg_record_key(element, "closed");
  const LgValue *const positions = lg_record_key(type->record, "positions");
  if (first == NULL || !has_pin(type, first->text))
    g_error("%s lies at no pin of its type", element->name);
  if (second == NULL)
    g_assert_cmpstr(lg_record_key(element, "what")->text, ==, "chassis");
  else if (!has_pin(type, second->text))
    g_error("%s: no pin %s", element->name, second->text);
  if (by != NULL && !has_coil(type, by->text))
    g_error("%s: no coil %s", element->name, by->text);
  if (closed == NULL)
    return;
  g_assert_nonnull(positions);
  g_auto(GStrv) all = g_strsplit(positions->text, ",", -1),
                wanted = g_strsplit(closed->text, ",", -1);
  for (int i = 0; wanted[i] != NULL; i++)
    if (!g_strv_contains((const char *const *)all, wanted[i]))
      g_error("%s: no position %s", element->name, wanted[i]);
}

static void test_types_hang_together(void)
{
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  const GPtrArray *const types = lg_catalogue_types(catalogue);
  for (guint i = 0; i < types->len; i++) {
    const LgType *const type = types->pdata[i];
    g_assert_nonnull(type->letter);
    g_assert_nonnull(type->record->text);
    if (type->pins->len == 0)
      g_assert_cmpstr(type->name, ==, "assembly");
    for (guint k = 0; k < type->elements->len; k++)
      check_element(type, type->elements->pdata[k]);
  }
}

/* Types that the starter sheet, the schema's examples and the manual speak of. */
static void test_types_that_others_name(void)
{
  static const char *const names[] = {"battery-12", "fuse-blade", "switch-on-off", "lamp",
                                      "ground",     "relay-make", "assembly",      "key-switch"};
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  for (gsize i = 0; i < G_N_ELEMENTS(names); i++)
    if (lg_catalogue_type(catalogue, names[i]) == NULL)
      g_error("no type %s", names[i]);
  g_assert_null(lg_catalogue_type(catalogue, "relay-mkae"));
}

static void test_sorted_lists(void)
{
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  const GPtrArray *const fuses = lg_catalogue_fuses(catalogue);
  for (guint i = 1; i < fuses->len; i++) {
    const LgFuse *const a = fuses->pdata[i - 1], *const b = fuses->pdata[i];
    const int form = strcmp(a->form, b->form);
    g_assert_true(form < 0 || (form == 0 && a->rating_A < b->rating_A));
  }
  const GPtrArray *const terminals = lg_catalogue_terminals(catalogue);
  for (guint i = 0; i < terminals->len; i++) {
    const LgTerminal *const t = terminals->pdata[i];
    g_assert_cmpfloat(t->wire_from_mm2, <, t->wire_to_mm2);
    g_assert_cmpfloat(t->resistance_ohm, <=, 0.01);
  }
}

/* Terminal ratings lie between what UL 310 gives for 30 K (tab terminal catalogue, seen) and twice
 * that, its intermittent figure. */
static void test_tab_ratings(void)
{
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  const struct {
    const char *name;
    double continuous_A;
  } tabs[] = {{"tab-2.8", 5}, {"tab-4.8", 15}, {"tab-6.3", 24}};
  for (gsize i = 0; i < G_N_ELEMENTS(tabs); i++) {
    const double ours = lg_catalogue_terminal(catalogue, tabs[i].name)->rating_A;
    g_assert_cmpfloat(ours, >=, tabs[i].continuous_A);
    g_assert_cmpfloat(ours, <=, 2 * tabs[i].continuous_A);
  }
}

static const LgProblem *only_problem(const LgSheet *sheet)
{
  show_problems(sheet);
  g_assert_cmpuint(lg_sheet_problems(sheet)->len, ==, 1);
  return lg_sheet_problems(sheet)->pdata[0];
}

/* What a catalogue of one's own may get wrong. */
static void test_sheets_that_do_not_fit(void)
{
  static const char first[] = "type relay-x relay K source=\"seen\" \"one\"\npin relay-x.1\n"
                              "pin relay-y.1\n",
                    second[] = "# another\ntype relay-x relay K source=\"seen\" \"two\"\n";
  g_autoptr(GBytes) a = g_bytes_new_static(first, strlen(first)),
                    b = g_bytes_new_static(second, strlen(second));
  LgSheet *const sheets[] = {lg_sheet_read("first.job", a, TRUE),
                             lg_sheet_read("second.job", b, TRUE)};
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new_from(sheets, 2);
  const LgProblem *const nowhere = only_problem(sheets[0]), *const twice = only_problem(sheets[1]);
  g_assert_cmpint(nowhere->origin.line, ==, 3);
  g_assert_nonnull(strstr(nowhere->what, "relay-y"));
  g_assert_cmpint(twice->origin.line, ==, 2);
  g_assert_nonnull(strstr(twice->what, "relay-x"));
  g_assert_cmpuint(lg_catalogue_types(catalogue)->len, ==, 1);
  g_assert_cmpuint(lg_catalogue_type(catalogue, "relay-x")->pins->len, ==, 1);
  g_clear_pointer(&catalogue, lg_catalogue_free);
  lg_sheet_free(sheets[0]);
  lg_sheet_free(sheets[1]);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/catalogue/sheets-read", test_sheets_read);
  g_test_add_func("/catalogue/sources", test_every_row_has_a_source);
  g_test_add_func("/catalogue/names-lead-somewhere", test_names_lead_somewhere);
  g_test_add_func("/catalogue/types-hang-together", test_types_hang_together);
  g_test_add_func("/catalogue/types-that-others-name", test_types_that_others_name);
  g_test_add_func("/catalogue/sorted", test_sorted_lists);
  g_test_add_func("/catalogue/tab-ratings", test_tab_ratings);
  g_test_add_func("/catalogue/misfits", test_sheets_that_do_not_fit);
  return g_test_run();
}
