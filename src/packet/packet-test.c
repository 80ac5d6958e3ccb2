/* The packet's files, read back by other programs' rules: CSV by RFC 4180, PDF by poppler. */
#include "packet/packet.h"
#include "packet/test-job.h"
#include <glib/gstdio.h>
#include <math.h>

/* Reads one RFC 4180 field at *at, and moves past its comma or line end. */
static char *read_field(const char **at, gboolean *line_end)
{
  GString *const field = g_string_new(NULL);
  const char *p = *at;
  if (*p == '"') {
    for (p++; *p != '"' || p[1] == '"'; p++) {
      g_assert_cmpint(*p, !=, '\0');
      p += *p == '"';
      g_string_append_c(field, *p);
    }
    p++;
  } else {
    while (*p != ',' && *p != '\r')
      g_string_append_c(field, *p++);
  }
  *line_end = *p == '\r';
  if (*line_end)
    g_assert_cmpint(p[1], ==, '\n');
  *at = p + (*line_end ? 2 : 1);
  return g_string_free(field, FALSE);
}

static void check_field(const LgTable *table, int row, int column, const char *field)
{
  const LgCell *const cell = lg_table_cell(table, row, column);
  switch (table->columns[column].type) {
  case LG_CELL_TEXT:
    g_assert_cmpstr(field[0] == '\'' ? field + 1 : field, ==, cell->text != NULL ? cell->text : "");
    break;
  case LG_CELL_NUMBER:
    if (isnan(cell->number)) {
      g_assert_cmpstr(field, ==, "");
    } else {
      const double shift = table->columns[column].dim == LG_DIM_TEMPERATURE ? LG_ZERO_C_IN_K : 0;
      g_assert_cmpfloat_with_epsilon(g_ascii_strtod(field, NULL), cell->number - shift,
                                     1e-6 * fmax(1, fabs(cell->number)));
    }
    break;
  case LG_CELL_FLAG:
    g_assert_true((strcmp(field, "yes") == 0 || strcmp(field, "true") == 0 ||
                   strcmp(field, "1") == 0) == (cell->flag != FALSE));
    break;
  }
}

static void check_csv(const char *folder, LgTable *table)
{
  g_autofree char *name = g_strdup_printf("%s/%s.csv", folder, table->key);
  g_autofree char *text = NULL;
  g_assert_true(g_file_get_contents(name, &text, NULL, NULL));
  const char *at = text;
  for (int row = -1; row < table->n_rows; row++)
    for (int column = 0; column < table->n_columns; column++) {
      gboolean line_end;
      g_autofree char *field = read_field(&at, &line_end);
      g_assert_true(line_end == (column + 1 == table->n_columns));
      if (row < 0)
        g_assert_cmpstr(field, ==, table->columns[column].key);
      else
        check_field(table, row, column, field);
    }
  g_assert_cmpint(*at, ==, '\0');
  lg_table_free(table);
}

static void remove_folder(const char *folder)
{
  g_autoptr(GDir) dir = g_dir_open(folder, 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name(dir)) != NULL;) {
    g_autofree char *path = g_build_filename(folder, name, NULL);
    g_unlink(path);
  }
  g_rmdir(folder);
}

static char *write_packet(const TestJob *test, GPtrArray *written)
{
  char *const folder = g_dir_make_tmp("packet-XXXXXX", NULL);
  g_autoptr(GPtrArray) findings = lg_checks_run(test->job, test->sizing);
  g_autoptr(GError) error = NULL;
  lg_packet_write(test->sizing, findings, folder, &(LgPacketOptions){0}, written, &error);
  g_assert_no_error(error);
  return folder;
}

static void test_csv_round_trip(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(GPtrArray) written = g_ptr_array_new_with_free_func(g_free);
  g_autofree char *folder = write_packet(&test, written);
  static const char *const files[] = {"packet.pdf", "write-up.html", "diagram.pdf", "routes.pdf",
                                      "board.pdf",  "labels.pdf",    "wires.csv",   "faults.csv"};
  for (gsize i = 0; i < G_N_ELEMENTS(files); i++) {
    g_autofree char *path = g_build_filename(folder, files[i], NULL);
    g_assert_true(g_ptr_array_find_with_equal_func(written, path, g_str_equal, NULL));
  }
  for (guint i = 0; i < written->len; i++)
    g_assert_true(g_file_test(written->pdata[i], G_FILE_TEST_IS_REGULAR));
  check_csv(folder, lg_table_circuits(test.sizing));
  check_csv(folder, lg_table_needs(test.sizing));
  check_csv(folder, lg_table_sizes(test.sizing));
  check_csv(folder, lg_table_fuses(test.sizing));
  check_csv(folder, lg_table_wire_list(test.sizing));
  check_csv(folder, lg_table_cut_list(test.sizing));
  check_csv(folder, lg_table_parts(test.sizing));
  check_csv(folder, lg_table_buying(test.sizing));
  check_csv(folder, lg_table_pre_power(test.sizing));
  check_csv(folder, lg_table_readings(test.sizing));
  remove_folder(folder);
  test_job_clear(&test);
}

static char *run_tool(const char *tool, const char *pdf)
{
  char *out = NULL;
  const char *const argv[] = {tool, "-enc", "UTF-8", pdf, "-", NULL};
  const char *const info[] = {tool, pdf, NULL};
  const gboolean text = strcmp(tool, "pdftotext") == 0;
  g_assert_true(g_spawn_sync(NULL, (char **)(text ? argv : info), NULL, G_SPAWN_SEARCH_PATH, NULL,
                             NULL, &out, NULL, NULL, NULL));
  return out;
}

static void test_pdf_text(void)
{
  g_autofree char *there = g_find_program_in_path("pdftotext");
  if (there == NULL) {
    g_test_skip("pdftotext is not installed");
    return;
  }
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autofree char *folder = write_packet(&test, NULL);
  g_autofree char *pdf = g_build_filename(folder, "packet.pdf", NULL);
  g_autofree char *text = run_tool("pdftotext", pdf);
  static const char *const wanted[] = {
      "Bench seat",        "a mail van",      "a coach",          "2026-03-01",
      "negative earth",    "Cautions",        "Verdict",          "Circuits",
      "Wire list",         "Cut list",        "Bill of material", "Before first power",
      "Expected readings", "Legend",          "RD red",           "LEAVE ALONE",
      "Sign-off",          "not in the sheet"};
  for (gsize i = 0; i < G_N_ELEMENTS(wanted); i++)
    if (strstr(text, wanted[i]) == NULL)
      g_error("the packet does not say \"%s\"", wanted[i]);
  for (int w = 0; w < test.job->n_wires; w++)
    g_assert_nonnull(strstr(text, test.job->wires[w].name));
  g_autofree char *info = run_tool("pdfinfo", pdf);
  g_assert_nonnull(strstr(info, "A4"));
  remove_folder(folder);
  test_job_clear(&test);
}

/* The least that makes a circuit: all else is a gap, in feet and AWG, with plus at the body. */
static const char bare_sheet[] = "job \"Bare\" units=us nominal=6V ground=positive\n"
                                 "part G1 battery-6 capacity=60Ah\n"
                                 "part E1 assembly\n"
                                 "pin E1.a\n"
                                 "pin E1.b\n"
                                 "element E1.lamp lamp a b power=10W\n"
                                 "wire W1 G1.+ E1.a RD auto length=3ft\n"
                                 "wire W2 E1.b G1.- BK auto length=3ft\n";

static void test_gaps(void)
{
  g_autofree char *there = g_find_program_in_path("pdftotext");
  TestJob test;
  test_job_init(&test, bare_sheet);
  g_autofree char *folder = write_packet(&test, NULL);
  g_autofree char *pdf = g_build_filename(folder, "packet.pdf", NULL);
  g_assert_true(g_file_test(pdf, G_FILE_TEST_IS_REGULAR));
  if (there != NULL) {
    g_autofree char *text = run_tool("pdftotext", pdf);
    static const char *const wanted[] = {"Vehicles: not in the sheet",
                                         "Written by: not in the sheet",
                                         "date not in the sheet",
                                         "6 V, positive ground",
                                         "AWG",
                                         "terminal not in the sheet"};
    for (gsize i = 0; i < G_N_ELEMENTS(wanted); i++)
      if (strstr(text, wanted[i]) == NULL)
        g_error("the packet does not say \"%s\"", wanted[i]);
    g_autofree char *info = run_tool("pdfinfo", pdf);
    g_assert_nonnull(strstr(info, "letter"));
  }
  remove_folder(folder);
  test_job_clear(&test);
}

/* Equal sheets give equal bytes, so that a packet under version control changes only with its job.
 */
static void test_same_bytes(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  char *pdf[2];
  gsize length[2];
  for (int k = 0; k < 2; k++) {
    g_autofree char *folder = write_packet(&test, NULL);
    g_autofree char *path = g_build_filename(folder, "packet.pdf", NULL);
    g_assert_true(g_file_get_contents(path, &pdf[k], &length[k], NULL));
    remove_folder(folder);
  }
  g_assert_true(length[0] == length[1] && memcmp(pdf[0], pdf[1], length[0]) == 0);
  g_free(pdf[0]);
  g_free(pdf[1]);
  test_job_clear(&test);
}

/* A folder that cannot be made is an error that names it, and nothing is written. */
static void test_no_folder(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autofree char *folder = g_dir_make_tmp("packet-XXXXXX", NULL);
  g_autofree char *file = g_build_filename(folder, "a-file", NULL);
  g_assert_true(g_file_set_contents(file, "x", 1, NULL));
  g_autofree char *under = g_build_filename(file, "packet", NULL);
  g_autoptr(GPtrArray) findings = lg_findings_new();
  g_autoptr(GPtrArray) written = g_ptr_array_new_with_free_func(g_free);
  g_autoptr(GError) error = NULL;
  g_assert_false(
      lg_packet_write(test.sizing, findings, under, &(LgPacketOptions){0}, written, &error));
  g_assert_nonnull(error);
  g_assert_nonnull(strstr(error->message, under));
  g_assert_cmpuint(written->len, ==, 0);
  remove_folder(folder);
  test_job_clear(&test);
}

typedef struct {
  int n, after;
  double share;
} Patience;

static gboolean patience_ends(double share, gpointer user)
{
  Patience *const patience = user;
  g_assert_cmpfloat(share, >=, patience->share);
  g_assert_cmpfloat(share, <=, 1);
  patience->share = share;
  return patience->n++ == patience->after;
}

/* Whenever it is stopped: an error that says so, at once, and what is written is whole. */
static void test_stopped(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(GPtrArray) findings = lg_checks_run(test.job, test.sizing);
  gboolean done = FALSE;
  guint before = 0;
  int after = 0;
  for (; !done; after++) {
    Patience patience = {.after = after};
    const LgPacketOptions options = {.stop = patience_ends, .user = &patience};
    g_autofree char *folder = g_dir_make_tmp("packet-XXXXXX", NULL);
    g_autoptr(GPtrArray) written = g_ptr_array_new_with_free_func(g_free);
    g_autoptr(GError) error = NULL;
    done = lg_packet_write(test.sizing, findings, folder, &options, written, &error);
    g_assert_true(done ? error == NULL : g_error_matches(error, G_FILE_ERROR, G_FILE_ERROR_INTR));
    g_assert_cmpint(patience.n, ==, done ? after : after + 1);
    g_assert_cmpuint(written->len, >=, before);
    before = written->len;
    for (guint i = 0; i < written->len; i++)
      g_assert_true(g_file_test(written->pdata[i], G_FILE_TEST_IS_REGULAR));
    remove_folder(folder);
  }
  g_assert_cmpint(after, >, 5);
  test_job_clear(&test);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/packet/csv-round-trip", test_csv_round_trip);
  g_test_add_func("/packet/pdf-text", test_pdf_text);
  g_test_add_func("/packet/gaps", test_gaps);
  g_test_add_func("/packet/same-bytes", test_same_bytes);
  g_test_add_func("/packet/no-folder", test_no_folder);
  g_test_add_func("/packet/stopped", test_stopped);
  return g_test_run();
}
