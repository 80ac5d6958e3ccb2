/* Counts, sums and hand-reckoned figures of the tables. */
#include "packet/tables-private.h"
#include "packet/test-job.h"
#include <math.h>

static double number_at(const LgTable *table, int row, const char *key)
{
  return lg_table_cell(table, row, lg_table_column(table, key))->number;
}

/* First row whose text in `key` is `text`, -1. */
static int row_of(const LgTable *table, const char *key, const char *text)
{
  for (int row = 0; row < table->n_rows; row++)
    if (strcmp(lg_table_text(table, row, key), text) == 0)
      return row;
  return -1;
}

static double sum_of(const LgTable *table, const char *key, const char *where, const char *equal)
{
  double sum = 0;
  for (int row = 0; row < table->n_rows; row++)
    if ((where == NULL || strcmp(lg_table_text(table, row, where), equal) == 0) &&
        !isnan(number_at(table, row, key)))
      sum += number_at(table, row, key);
  return sum;
}

static void test_wire_list(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(LgTable) wires = lg_table_wire_list(test.sizing);
  g_assert_cmpint(wires->n_rows, ==, 5);
  const int w1 = row_of(wires, "wire", "W1"), w2 = row_of(wires, "wire", "W2");
  g_assert_cmpstr(lg_table_text(wires, w1, "from"), ==, "G1.+");
  g_assert_cmpstr(lg_table_text(wires, w1, "to"), ==, "F1.1");
  g_assert_cmpstr(lg_table_text(wires, w1, "size"), ==, "4 mm2");
  /* 12 AWG has 3.31 mm2, 11 is not sold, 10 has 5.26 (ASTM B258): the next that is not thinner. */
  g_assert_cmpstr(lg_table_text(wires, w1, "other_size"), ==, "10 AWG");
  /* 153 mm and 150 mm of spare: 303 mm, cut at the next whole 10 mm. */
  g_assert_cmpfloat_with_epsilon(number_at(wires, w1, "cut_m"), 0.31, 1e-9);
  g_assert_cmpfloat_with_epsilon(number_at(wires, w2, "length_m"), 2.0, 1e-9);
  g_assert_cmpfloat_with_epsilon(number_at(wires, w2, "cut_m"), 2.15, 1e-9);
  /* A host wire is not cut. */
  g_assert_true(isnan(number_at(wires, row_of(wires, "wire", "W0"), "cut_m")));
  /* All current of the seat passes W3; its three heaters are named. */
  g_assert_cmpstr(lg_table_text(wires, row_of(wires, "wire", "W3"), "circuit"), ==,
                  "SEAT.pad, SEAT.upper, SEAT.lower");
  g_assert_true(g_str_has_prefix(lg_table_text(wires, w2, "fuse"), "F1 "));
  g_assert_cmpstr(lg_table_text(wires, w1, "fuse"), ==, "none");
  test_job_clear(&test);
}

static void test_cut_list_sums(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(LgTable) wires = lg_table_wire_list(test.sizing);
  g_autoptr(LgTable) cuts = lg_table_cut_list(test.sizing);
  g_autoptr(LgTable) parts = lg_table_parts(test.sizing);
  g_assert_cmpint(cuts->n_rows, ==, 4);
  const double total_m = sum_of(cuts, "cut_m", NULL, NULL);
  g_assert_cmpfloat_with_epsilon(total_m, sum_of(wires, "cut_m", NULL, NULL), 1e-9);
  g_assert_cmpfloat_with_epsilon(total_m, 0.31 + 2.15 + 0.75 + 2.15, 1e-9);
  g_assert_cmpfloat_with_epsilon(total_m, sum_of(parts, "quantity", "kind", "wire"), 1e-9);
  /* Bought wire is in whole metres and a tenth more than is cut. */
  for (int row = 0; row < parts->n_rows; row++)
    if (strcmp(lg_table_text(parts, row, "kind"), "wire") == 0) {
      const double bought = number_at(parts, row, "quantity") + number_at(parts, row, "spare");
      g_assert_cmpfloat_with_epsilon(bought, round(bought), 1e-9);
      g_assert_cmpfloat(bought, >=, 1.1 * number_at(parts, row, "quantity") - 1e-9);
    }
  test_job_clear(&test);
}

static void test_bill_counts(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(LgTable) parts = lg_table_parts(test.sizing);
  g_assert_cmpfloat(sum_of(parts, "quantity", "kind", "part"), ==, 5);
  g_assert_cmpfloat(sum_of(parts, "quantity", "kind", "fuse"), ==, 1);
  /* Four new wires have eight ends, none of them in a splice. */
  g_assert_cmpfloat(sum_of(parts, "quantity", "kind", "terminal"), ==, 8);
  const int seat = row_of(parts, "designation", "SEAT");
  g_assert_cmpstr(lg_table_text(parts, seat, "state"), ==, "donor");
  g_assert_cmpstr(lg_table_text(parts, row_of(parts, "designation", "G1"), "state"), ==, "host");
  test_job_clear(&test);
}

static void test_connector(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(GPtrArray) tables = lg_tables_connectors(test.job);
  g_assert_cmpuint(tables->len, ==, 1);
  const LgTable *const seat = tables->pdata[0];
  g_assert_cmpint(seat->n_rows, ==, 8);
  for (int row = 5; row < 8; row++)
    g_assert_cmpstr(lg_table_text(seat, row, "function"), ==, "empty");
  g_assert_true(g_str_has_prefix(lg_table_text(seat, 3, "function"), "LEAVE ALONE"));
  g_assert_true(g_str_has_prefix(lg_table_text(seat, 4, "function"), "empty: no terminal found"));
  g_assert_cmpstr(lg_table_text(seat, 0, "goes_to"), ==, "W3 to S1.2");
  g_assert_nonnull(strstr(lg_table_text(seat, 0, "measured"), "2.2"));
  g_assert_nonnull(strstr(seat->note, "side where the wires enter"));
  test_job_clear(&test);
}

static void test_ohms_in_parallel(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  /* 3 ohm beside 2 + 4 ohm: 3 x 6 / 9 = 2; 2 beside 3 + 4: 14 / 9; 4 beside 3 + 2: 20 / 9. */
  const struct {
    const char *element;
    double ohm;
  } cases[] = {{"SEAT.pad", 2}, {"SEAT.upper", 14.0 / 9}, {"SEAT.lower", 20.0 / 9}};
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++) {
    const LgOhms ohms =
        lg_ohms_of_element(test.job, lg_job_find_element(test.job, cases[i].element));
    g_assert_cmpfloat_with_epsilon(ohms.ohm, cases[i].ohm, 1e-9);
    g_assert_true(ohms.shared);
  }
  test_job_clear(&test);
}

/* No table may send a meter to a restraint pin. */
static void assert_untouched(const LgTable *table, const char *key, const char *pin)
{
  for (int row = 0; row < table->n_rows; row++)
    g_assert_null(strstr(lg_table_text(table, row, key), pin));
}

static void test_pre_power(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(LgTable) steps = lg_table_pre_power(test.sizing);
  const int pad = row_of(steps, "check", "heater");
  g_assert_cmpint(pad, >=, 0);
  g_assert_cmpstr(lg_table_text(steps, pad, "from"), ==, "SEAT.1");
  g_assert_cmpstr(lg_table_text(steps, pad, "to"), ==, "SEAT.2");
  g_assert_nonnull(
      strstr(lg_table_text(steps, pad, "expected"), "2.0 ohm at 20 degC (1.8 ohm to 2.2"));
  const char *const keys[] = {"from", "to", "check"};
  for (gsize i = 0; i < G_N_ELEMENTS(keys); i++)
    assert_untouched(steps, keys[i], "SEAT.4");
  g_assert_nonnull(strstr(steps->note, "LEAVE ALONE, no meter, no lamp, no supply: SEAT.4"));
  /* Each wire that is cut is rung out. */
  int n = 0;
  for (int row = 0; row < steps->n_rows; row++)
    n += strcmp(lg_table_text(steps, row, "stage"), lg_pre_power_stages[2]) == 0;
  g_assert_cmpint(n, ==, 4);
  test_job_clear(&test);
}

static void test_measured_pins_are_left_out(void)
{
  TestJob test;
  g_autoptr(GString) text = g_string_new(test_sheet);
  g_string_replace(text, "evidence=told", "evidence=measured", 0);
  g_string_replace(text, "evidence=guess", "evidence=measured", 0);
  g_string_append(text, "reading R2 SEAT.3 SEAT.2 resistance=2.2ohm\n");
  test_job_init(&test, text->str);
  g_autoptr(LgTable) steps = lg_table_pre_power(test.sizing);
  g_assert_cmpint(row_of(steps, "stage", lg_pre_power_stages[1]), ==, -1);
  test_job_clear(&test);
}

/* What a machine is told of each step is what people are told. */
static void test_steps(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  static const char *const keys[] = {"pre-power", "first-power", "readings"};
  LgTable *(*const make[])(const LgSizing *) = {lg_table_pre_power, lg_table_first_power,
                                                lg_table_readings};
  for (gsize k = 0; k < G_N_ELEMENTS(keys); k++) {
    g_autoptr(LgTable) people = make[k](test.sizing);
    g_autoptr(LgTable) steps = lg_table_steps(test.sizing, keys[k]);
    g_assert_cmpint(steps->n_rows, ==, people->n_rows);
    g_assert_cmpint(people->n_columns, ==, 7);
  }
  g_assert_null(lg_table_steps(test.sizing, "wires"));
  g_autoptr(LgTable) people = lg_table_pre_power(test.sizing);
  g_autoptr(LgTable) steps = lg_table_steps(test.sizing, "pre-power");
  int n_wires = 0;
  for (int row = 0; row < people->n_rows; row++) {
    if (strcmp(lg_table_text(people, row, "stage"), lg_pre_power_stages[2]) != 0)
      continue;
    n_wires++;
    g_assert_cmpstr(lg_table_text(steps, row, "measures"), ==, "resistance");
    g_assert_cmpstr(lg_table_text(steps, row, "red"), ==, lg_table_text(people, row, "from"));
    g_assert_cmpstr(lg_table_text(steps, row, "black"), ==, lg_table_text(people, row, "to"));
    g_autofree char *words = g_strdup_printf("%.1f ohm or less", number_at(steps, row, "high"));
    g_assert_cmpstr(words, ==, lg_table_text(people, row, "expected"));
  }
  g_assert_cmpint(n_wires, >, 0);
  g_autoptr(LgTable) readings = lg_table_readings(test.sizing);
  g_autoptr(LgTable) asked = lg_table_steps(test.sizing, "readings");
  for (int row = 0; row < readings->n_rows; row++) {
    g_assert_cmpfloat(number_at(asked, row, "low"), ==, number_at(readings, row, "least"));
    g_assert_cmpfloat(number_at(asked, row, "high"), ==, number_at(readings, row, "most"));
    /* Settings as a reading takes them: at rest, too, a state is named. */
    g_assert_nonnull(strchr(lg_table_text(asked, row, "when"), '='));
  }
  test_job_clear(&test);
}

static void test_readings(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(LgTable) readings = lg_table_readings(test.sizing);
  int n_on = 0, pad = -1, fuse = -1;
  for (int row = 0; row < readings->n_rows; row++) {
    const double expected = number_at(readings, row, "expected");
    g_assert_cmpfloat(number_at(readings, row, "least"), <=, expected);
    g_assert_cmpfloat(number_at(readings, row, "most"), >=, expected);
    if (strcmp(lg_table_text(readings, row, "state"), "S1=on") == 0) {
      n_on++;
      if (g_str_has_prefix(lg_table_text(readings, row, "where"), "SEAT.pad: SEAT.1 to SEAT.2"))
        pad = row;
      if (strcmp(lg_table_text(readings, row, "where"), "current at F1") == 0)
        fuse = row;
    } else if (strcmp(lg_table_text(readings, row, "unit"), "A") == 0) {
      g_assert_cmpfloat(expected, ==, 0); /* at rest */
    }
  }
  g_assert_cmpint(n_on, ==, 6); /* battery, its current, fuse, three heaters */
  g_assert_cmpint(pad, >=, 0);
  g_assert_cmpint(fuse, >=, 0);
  /* Ohm's law: the fuse carries what 2 ohm draw at the volts of the pad. */
  const double on_V = number_at(readings, pad, "expected"),
               on_A = number_at(readings, fuse, "expected");
  g_assert_cmpfloat_with_epsilon(on_A, on_V / 2, 1e-6 * on_A);
  /* The pad alone may be 10 % off, the others 5 %: 2 ohm become 2.16 or 1.84, and the volts move
   * with the battery's charge. */
  g_assert_cmpfloat(number_at(readings, fuse, "least"), <, on_A / 1.08);
  g_assert_cmpfloat(number_at(readings, fuse, "most"), >, on_A * 1.08);
  test_job_clear(&test);
}

static void test_circuits(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(LgTable) circuits = lg_table_circuits(test.sizing);
  g_assert_cmpint(circuits->n_rows, ==, 3);
  g_assert_cmpstr(lg_table_text(circuits, 0, "load"), ==, "SEAT.pad");
  g_assert_cmpstr(lg_table_text(circuits, 0, "fed_by"), ==, "G1");
  g_assert_cmpstr(lg_table_text(circuits, 0, "fuse"), ==, "F1");
  g_assert_cmpstr(lg_table_text(circuits, 0, "switched_by"), ==, "S1");
  g_assert_true(g_str_has_prefix(lg_table_text(circuits, 0, "path"),
                                 "G1 > W1 > F1 > W2 > S1 > W3 > SEAT.pad > W4 > "));
  test_job_clear(&test);
}

static void test_needs_and_sizes(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(LgTable) needs = lg_table_needs(test.sizing);
  g_assert_cmpint(needs->n_rows, ==, 1);
  g_assert_true(lg_table_cell(needs, 0, lg_table_column(needs, "holds"))->flag);
  g_assert_cmpstr(lg_table_text(needs, 0, "limit"), ==, "power over 20.0 W");
  g_assert_cmpstr(lg_table_text(needs, 0, "when"), ==, "S1=on");
  g_autoptr(LgTable) sizes = lg_table_sizes(test.sizing);
  g_assert_cmpint(sizes->n_rows, ==, 5);
  g_assert_cmpstr(lg_table_text(sizes, row_of(sizes, "wire", "W1"), "binds"), ==,
                  "size in the sheet");
  g_autoptr(LgTable) fuses = lg_table_fuses(test.sizing);
  g_assert_cmpint(fuses->n_rows, ==, 1);
  test_job_clear(&test);
}

static void test_buying(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(LgTable) buying = lg_table_buying(test.sizing);
  gboolean plug = FALSE, restraint = FALSE;
  for (int row = 0; row < buying->n_rows; row++) {
    plug = plug || g_str_has_prefix(lg_table_text(buying, row, "ask"), "the mating plug, 8 ways");
    restraint = restraint || strstr(lg_table_text(buying, row, "ask"), "airbag") != NULL;
  }
  g_assert_true(plug);
  g_assert_true(restraint);
  test_job_clear(&test);
}

static void add_finding(GPtrArray *findings, LgGrade grade)
{
  LgFinding *const finding = g_new0(LgFinding, 1);
  finding->rule = "test";
  finding->grade = grade;
  g_ptr_array_add(findings, finding);
}

static void test_verdict(void)
{
  g_autoptr(GPtrArray) findings = lg_findings_new();
  g_autofree char *clear = lg_verdict(findings);
  g_assert_cmpstr(clear, ==, "Nothing stands against building.");
  for (int i = 0; i < 3; i++)
    add_finding(findings, LG_GRADE_UNPROVEN);
  g_autofree char *unproven = lg_verdict(findings);
  g_assert_cmpstr(unproven, ==,
                  "Nothing stands against building. 3 facts must be measured before first power.");
  add_finding(findings, LG_GRADE_FAULT);
  g_autofree char *fault = lg_verdict(findings);
  g_assert_true(g_str_has_prefix(fault, "Do not build it yet: 1 fault stands against it."));
  add_finding(findings, LG_GRADE_DANGER);
  g_autofree char *both = lg_verdict(findings);
  g_assert_true(g_str_has_prefix(both, "Do not build it yet: 1 danger and 1 fault stand against"));
}

/* Ends of new wires that are not crimped into a splice. */
static int n_ends(const LgJob *job)
{
  int n = 0;
  for (int w = 0; w < job->n_wires; w++)
    for (int k = 0; k < 2; k++) {
      const LgPart *const part = &job->parts[job->pins[job->wires[w].pin[k]].part];
      n += job->wires[w].is == LG_IS_NEW && strcmp(part->class_word, "splice") != 0;
    }
  return n;
}

static void assert_no_restraint(const LgJob *job, const LgTable *table, const char *key)
{
  for (int p = 0; p < job->n_pins; p++)
    for (int row = 0; job->pins[p].restraint != LG_RESTRAINT_NO && row < table->n_rows; row++) {
      g_auto(GStrv) words = g_strsplit_set(lg_table_text(table, row, key), " ,:", -1);
      g_assert_false(g_strv_contains((const char *const *)words, job->pins[p].name));
    }
}

static void test_example(gconstpointer name)
{
  TestJob test;
  test_job_open(&test, name);
  g_autoptr(LgTable) wires = lg_table_wire_list(test.sizing);
  g_autoptr(LgTable) cuts = lg_table_cut_list(test.sizing);
  g_autoptr(LgTable) parts = lg_table_parts(test.sizing);
  g_assert_cmpint(wires->n_rows, ==, test.job->n_wires);
  g_autoptr(LgTable) sizes = lg_table_sizes(test.sizing);
  for (int row = 0; row < sizes->n_rows; row++) {
    /* "3 mm2: 1.44 V, more than 1.44 V" would prove nothing to a reader. */
    g_auto(GStrv) sides = g_strsplit(lg_table_text(sizes, row, "refused"), ", more than ", 2);
    const char *const colon = sides[0] != NULL ? strstr(sides[0], ": ") : NULL;
    if (colon != NULL && sides[1] != NULL)
      g_assert_cmpstr(colon + 2, !=, sides[1]);
  }
  const double cut_m = sum_of(cuts, "cut_m", NULL, NULL);
  g_assert_cmpfloat_with_epsilon(cut_m, sum_of(wires, "cut_m", NULL, NULL), 1e-9 * cut_m);
  const double sold_m =
      sum_of(parts, "quantity", "kind", "wire") * (test.job->habit == LG_HABIT_US ? 0.3048 : 1);
  g_assert_cmpfloat_with_epsilon(cut_m, sold_m, 1e-9 * cut_m);
  g_assert_cmpfloat(sum_of(parts, "quantity", "kind", "terminal"), ==, n_ends(test.job));
  g_assert_cmpfloat(sum_of(parts, "quantity", "kind", "part"), ==, test.job->n_parts);
  g_autoptr(LgTable) steps = lg_table_pre_power(test.sizing);
  g_autoptr(LgTable) readings = lg_table_readings(test.sizing);
  assert_no_restraint(test.job, steps, "from");
  assert_no_restraint(test.job, steps, "to");
  assert_no_restraint(test.job, readings, "where");
  test_job_clear(&test);
}

static void test_other_sizes(void)
{
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  const LgJob job = {.catalogue = catalogue};
  /* By area (ASTM B258, ISO 6722-1 nominal sizes): 14 AWG 2.08, 18 AWG 0.82, 16 AWG 1.31 mm2. */
  const struct {
    gboolean is_awg;
    double nominal;
    const char *other;
  } cases[] = {{FALSE, 1.5, "14 AWG"}, {TRUE, 14, "2.5 mm2"}, {TRUE, 16, "1.5 mm2"}};
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++) {
    const LgConductor *const c =
        lg_catalogue_conductor(catalogue, cases[i].is_awg, cases[i].nominal);
    g_assert_nonnull(c);
    g_autofree char *other = lg_words_other_size(&job, c);
    g_assert_cmpstr(other, ==, cases[i].other);
  }
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/tables/wire-list", test_wire_list);
  g_test_add_func("/tables/cut-list-sums", test_cut_list_sums);
  g_test_add_func("/tables/bill-counts", test_bill_counts);
  g_test_add_func("/tables/connector", test_connector);
  g_test_add_func("/tables/ohms-in-parallel", test_ohms_in_parallel);
  g_test_add_func("/tables/pre-power", test_pre_power);
  g_test_add_func("/tables/measured-pins-are-left-out", test_measured_pins_are_left_out);
  g_test_add_func("/tables/readings", test_readings);
  g_test_add_func("/tables/steps", test_steps);
  g_test_add_func("/tables/circuits", test_circuits);
  g_test_add_func("/tables/needs-and-sizes", test_needs_and_sizes);
  g_test_add_func("/tables/buying", test_buying);
  g_test_add_func("/tables/verdict", test_verdict);
  g_test_add_func("/tables/other-sizes", test_other_sizes);
  g_test_add_data_func("/tables/example/seat", "library-van-seat.job", test_example);
  g_test_add_data_func("/tables/example/seat-flawed", "library-van-seat-flawed.job", test_example);
  g_test_add_data_func("/tables/example/flatbed", "co-op-flatbed.job", test_example);
  g_test_add_data_func("/tables/example/flatbed-flawed", "co-op-flatbed-flawed.job", test_example);
  return g_test_run();
}
