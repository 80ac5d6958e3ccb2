/* The write-up: what is packed is what the solver says, and no text of a sheet becomes markup. */
#include "packet/page.h"
#include "packet/test-job.h"
#include <gio/gio.h>
#include <math.h>
#include <string.h>

static GBytes *inflate(GBytes *packed)
{
  g_autoptr(GZlibDecompressor) zlib = g_zlib_decompressor_new(G_ZLIB_COMPRESSOR_FORMAT_ZLIB);
  g_autoptr(GInputStream) memory = g_memory_input_stream_new_from_bytes(packed);
  g_autoptr(GInputStream) stream = g_converter_input_stream_new(memory, G_CONVERTER(zlib));
  GByteArray *const out = g_byte_array_new();
  guint8 part[4096];
  for (gssize n; (n = g_input_stream_read(stream, part, sizeof part, NULL, NULL)) > 0;)
    g_byte_array_append(out, part, (guint)n);
  return g_byte_array_free_to_bytes(out);
}

/* Seven decades with 0.05 % each way. */
static void test_currents_survive_packing(void)
{
  for (double amps = 1.1e-4; amps < 900; amps *= 1.37) {
    g_assert_cmpfloat_with_epsilon(lg_page_code_current(lg_page_current_code(amps)), amps,
                                   3e-4 * amps);
    g_assert_cmpfloat_with_epsilon(lg_page_code_current(lg_page_current_code(-amps)), -amps,
                                   3e-4 * amps);
  }
  g_assert_cmpint(lg_page_current_code(0), ==, 0);
  g_assert_cmpint(lg_page_current_code(NAN), ==, 0);
  g_assert_cmpint(lg_page_current_code(5e-5), ==, 0);
  g_assert_cmpint(lg_page_current_code(1e9), ==, G_MAXINT16);
}

static gint16 packed_cell(const gint16 *cells, const LgPageStates *states, int column,
                          const LgPoint *point, const LgJob *job)
{
  gsize state = 0;
  for (int i = 0; i < job->n_inputs; i++)
    state += (gsize)(states->stride[i] * point->position[i]);
  return GINT16_FROM_LE(cells[(gsize)column * (gsize)states->n_states + state]);
}

static void check_state(const LgSizing *sizing, const LgPageStates *states, const gint16 *cells,
                        const LgPoint *point)
{
  const LgJob *const job = sizing->circuit->job;
  for (int w = 0; w < job->n_wires; w++) {
    const double amps = lg_page_code_current(packed_cell(cells, states, w, point, job));
    g_assert_cmpfloat_with_epsilon(amps, point->wire_A[w], 1e-3 * fabs(point->wire_A[w]) + 2e-4);
  }
  for (int p = 0; p < job->n_pins; p++) {
    const gint16 code = packed_cell(cells, states, job->n_wires + job->n_elements + p, point, job);
    if (isnan(point->volts[p]))
      g_assert_cmpint(code, ==, G_MININT16);
    else
      g_assert_cmpfloat_with_epsilon(code * 2e-3, point->volts[p], 2e-3);
  }
}

static void test_states_are_those_of_the_solver(void)
{
  TestJob test;
  test_job_open(&test, "library-van-seat.job");
  g_autoptr(LgPageStates) states = lg_page_states_new(test.sizing);
  g_autoptr(GBytes) bytes = inflate(states->packed);
  g_assert_cmpuint(g_bytes_get_size(bytes), ==, states->raw_bytes);
  const gint16 *const cells = g_bytes_get_data(bytes, NULL);
  const LgCircuit *const circuit = test.sizing->circuit;
  g_autoptr(LgNetWork) work = lg_net_work_new(circuit->net);
  g_autoptr(LgPoint) point = lg_point_new(circuit);
  int n = 0;
  for (int round = 0; round < 300; round++) {
    for (int i = 0; i < test.job->n_inputs; i++)
      point->position[i] =
          states->stride[i] > 0 ? g_test_rand_int_range(0, test.job->inputs[i].n_positions) : 0;
    if (!lg_circuit_possible(test.job, point->position))
      continue;
    lg_circuit_solve(circuit, work, point);
    if (point->status.outcome != LG_SOLVED)
      continue;
    check_state(test.sizing, states, cells, point);
    n++;
  }
  g_assert_cmpint(n, >, 50);
  test_job_clear(&test);
}

/* The page alone, without a diagram. Takes the job. */
static char *page_of(TestJob *test, gboolean share)
{
  g_autoptr(GPtrArray) findings = lg_checks_run(test->job, test->sizing);
  g_autoptr(GPtrArray) connectors = lg_tables_connectors(test->job);
  LgTable *const tables[] = {lg_table_needs(test->sizing),     lg_table_fuses(test->sizing),
                             lg_table_wire_list(test->sizing), lg_table_parts(test->sizing),
                             lg_table_buying(test->sizing),    lg_table_pre_power(test->sizing),
                             lg_table_readings(test->sizing)};
  const LgPacket packet = {.sizing = test->sizing,
                           .job = test->job,
                           .findings = findings,
                           .needs = tables[0],
                           .fuses = tables[1],
                           .wires = tables[2],
                           .parts = tables[3],
                           .buying = tables[4],
                           .pre_power = tables[5],
                           .readings = tables[6],
                           .connectors = connectors};
  const LgPageOptions options = {.share = share};
  g_autoptr(GBytes) bytes = lg_page_new(&packet, &options);
  for (gsize i = 0; i < G_N_ELEMENTS(tables); i++)
    lg_table_free(tables[i]);
  test_job_clear(test);
  return g_strndup(g_bytes_get_data(bytes, NULL), g_bytes_get_size(bytes));
}

static char *page_of_example(gboolean share)
{
  TestJob test;
  test_job_open(&test, "library-van-seat.job");
  return page_of(&test, share);
}

static void test_needs_nothing_but_itself(void)
{
  g_autofree char *page = page_of_example(FALSE);
  g_assert_cmpuint(strlen(page), <, 2000000);
  static const char *const outside[] = {" src=\"h", " src=\"/", "url(",   "@import",
                                        "https:",   "<link",    "<iframe"};
  for (gsize i = 0; i < G_N_ELEMENTS(outside); i++)
    g_assert_null(strstr(page, outside[i]));
  for (const char *at = page; (at = strstr(at, "http:")) != NULL; at++)
    g_assert_true(g_str_has_prefix(at, "http://www.w3.org/2000/svg"));
}

static void test_share_form_names_nobody(void)
{
  g_autofree char *full = page_of_example(FALSE);
  g_autofree char *shared = page_of_example(TRUE);
  static const char *const people[] = {"winter crew", "workshop board"};
  for (gsize i = 0; i < G_N_ELEMENTS(people); i++) {
    g_assert_nonnull(strstr(full, people[i]));
    g_assert_null(strstr(shared, people[i]));
  }
}

/* What a sheet from a stranger may hold. */
static void test_texts_never_become_markup(void)
{
  static const char sheet[] =
      "job \"<script>alert(1)</script>\" nominal=12V ask=\"<img onerror=x>\"\n"
      "part G1 battery-12 capacity=60Ah \"</script><b>\"\n"
      "part XG ground \"<!--\"\n"
      "part S1 switch-on-off \"</script><script>alert(2)</script>\"\n"
      "part E1 lamp power=5W \"\\\"><svg onload=alert(3)>\"\n"
      "wire W1 G1.+ S1.1 RD 2.5mm2 length=1m\n"
      "wire W2 S1.2 E1.1 RD 2.5mm2 length=1m\n"
      "wire W3 E1.2 XG.1 BK 2.5mm2 length=1m\n"
      "wire W4 G1.- XG.1 BK 16mm2 length=1m\n"
      "need \"<i>\" E1.lamp power>1W when S1=on\n";
  TestJob test;
  test_job_init(&test, sheet);
  g_autofree char *page = page_of(&test, FALSE);
  static const char *const bad[] = {"<script>alert", "<img", "<b>", "<!--", "<svg onload", "<i>"};
  for (gsize i = 0; i < G_N_ELEMENTS(bad); i++)
    g_assert_null(strstr(page, bad[i]));
  g_assert_nonnull(strstr(page, "&lt;script&gt;alert(1)"));
  g_assert_nonnull(strstr(page, "\\u003c/script>"));
  int scripts = 0;
  for (const char *at = page; (at = strstr(at, "</script>")) != NULL; at++)
    scripts++;
  g_assert_cmpint(scripts, ==, 3);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/page/currents", test_currents_survive_packing);
  g_test_add_func("/page/states", test_states_are_those_of_the_solver);
  g_test_add_func("/page/alone", test_needs_nothing_but_itself);
  g_test_add_func("/page/share", test_share_form_names_nobody);
  g_test_add_func("/page/markup", test_texts_never_become_markup);
  return g_test_run();
}
