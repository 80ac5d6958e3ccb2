/* The circuit of a job: sheets in, volts and currents out, against Ohm's law worked by hand. */
#include "catalogue/material.h"
#include "circuit/circuit.h"
#include <math.h>
#include <string.h>

typedef struct {
  LgCatalogue *catalogue;
  LgSheet *sheet;
  LgJob *job;
  LgCircuit *circuit;
  LgNetWork *work;
  LgPoint *point;
} Made;

static Made make(const char *text, LgDay day)
{
  g_autoptr(GBytes) bytes = g_bytes_new_static(text, strlen(text));
  Made m = {.catalogue = lg_catalogue_new(), .sheet = lg_sheet_read("test.job", bytes, FALSE)};
  m.job = lg_job_new(m.sheet, m.catalogue);
  const GPtrArray *const problems = lg_sheet_problems(m.sheet);
  for (guint i = 0; i < problems->len; i++)
    g_test_message("%d: %s", ((LgProblem *)problems->pdata[i])->origin.line,
                   ((LgProblem *)problems->pdata[i])->what);
  g_assert_nonnull(m.job);
  g_autoptr(GError) error = NULL;
  m.circuit = lg_circuit_new(m.job, day, NULL, &error);
  g_assert_no_error(error);
  m.work = lg_net_work_new(m.circuit->net);
  m.point = lg_point_new(m.circuit);
  return m;
}

static void drop(Made *m)
{
  lg_point_free(m->point);
  lg_net_work_free(m->work);
  lg_circuit_free(m->circuit);
  lg_job_free(m->job);
  lg_sheet_free(m->sheet);
  lg_catalogue_free(m->catalogue);
}

static void solve(Made *m, const char *state)
{
  g_auto(GStrv) words = g_strsplit(state, " ", -1);
  for (int i = 0; i < m->job->n_inputs; i++)
    m->point->position[i] = 0;
  for (int i = 0; words[i] != NULL && words[i][0] != '\0'; i++) {
    LgCondition condition;
    g_autoptr(GError) error = NULL;
    g_assert_true(lg_job_read_condition(m->job, words[i], &condition, &error));
    m->point->position[condition.input] = __builtin_ctzll(condition.positions);
  }
  lg_circuit_solve(m->circuit, m->work, m->point);
}

static double amps(const Made *m, const char *element)
{
  return m->point->element_A[lg_job_find_element(m->job, element)];
}

static double volts(const Made *m, const char *pin)
{
  return m->point->volts[lg_job_find_pin(m->job, pin)];
}

#define NEAR(a, b, relative) g_assert_cmpfloat(fabs((a) - (b)), <=, (relative)*fabs((double)(b)))

/* One heater on a battery: e / (sum of all resistances), each read from the job. */
static void test_one_loop_by_ohms_law(void)
{
  Made m = make("job \"t\"\npart G1 battery-12 capacity=60Ah resistance=10mohm charge=100%\npart "
                "E1 heater power=60W\n"
                "wire W1 G1.+ E1.1 RD 1.5mm2 length=3m\nwire W2 E1.2 G1.- BK 1.5mm2 length=2m\n",
                LG_DAY_MILD);
  solve(&m, "");
  const double wire = 5 * m.job->wires[0].conductor->resistance_ohm_m;
  double ends = 0;
  for (int w = 0; w < 2; w++)
    for (int k = 0; k < 2; k++)
      ends += m.job->pins[m.job->wires[w].pin[k]].terminal->resistance_ohm;
  const double e = lg_battery_ocv(LG_CHEM_FLOODED, 1, 12);
  /* 60 W at 12 V is 2.4 ohm; the cell at 20 C is 5 K below 25 C: 1 + 0.8 x 5/43. */
  const double cell = 0.010 * (1 + 0.8 * 5 / 43);
  NEAR(amps(&m, "E1.heater"), e / (2.4 + wire + ends + cell), 1e-9);
  drop(&m);
}

#define RELAY                                                                                      \
  "job \"t\"\nplace p temperature=-20C..100C\npart G1 battery-12 capacity=60Ah at=p\n"             \
  "part K1 relay-make at=p\npart R1 resistor at=p resistance=%s\n"                                 \
  "wire W1 G1.+ R1.1 RD 1mm2 length=0.1m\nwire W2 R1.2 K1.86 RD 1mm2 length=0.1m\nwire W3 K1.85 "  \
  "G1.- BK 1mm2 length=0.1m\n"

/* Ampere-turns pull a relay, so its pull-in volts rise with the copper: 0.39 %/K. 85 ohm and 7.8 V
 * at 20 C: 0.0918 A. At 100 C the coil has 85 x 334.5/254.5 = 111.7 ohm, and a series resistor
 * leaves too little. */
static void test_hot_coil_needs_more_volts(void)
{
  g_autofree char *text = g_strdup_printf(RELAY, "35ohm");
  Made mild = make(text, LG_DAY_MILD), hot = make(text, LG_DAY_HOT);
  solve(&mild, "");
  solve(&hot, "");
  const int coil = lg_job_find_element(mild.job, "K1.coil");
  g_assert_true(mild.point->pulled[coil]);
  g_assert_cmpfloat(fabs(mild.point->element_A[coil]), >, 0.0918);
  g_assert_false(hot.point->pulled[coil]);
  g_assert_cmpfloat(fabs(hot.point->element_A[coil]), <, 0.0918);
  drop(&mild);
  drop(&hot);
}

static void test_positive_earth(void)
{
  Made m =
      make("job \"t\" nominal=6V ground=positive words=earth\npart G1 battery-6 capacity=60Ah\n"
           "part X1 ground\npart X2 ground\npart E1 lamp power=10W\n"
           "wire W1 G1.+ X1.1 RD 10mm2 length=0.4m\nwire W2 G1.- E1.2 BK 1mm2 length=2m\nwire W3 "
           "E1.1 X2.1 RD 1mm2 length=0.3m\n",
           LG_DAY_MILD);
  solve(&m, "");
  g_assert_cmpfloat(volts(&m, "G1.-"), ==, 0);
  g_assert_cmpfloat(volts(&m, "X2.1"), >, 5.8);
  NEAR(amps(&m, "E1.lamp"), 10.0 / 6, 0.06);
  drop(&m);
}

/* At idle the alternator gives its idle current and no more; the battery gives the rest
 * (Kirchhoff). */
static void test_alternator_at_its_limit(void)
{
  Made m = make("job \"t\"\npart G1 battery-12 capacity=60Ah\npart G2 alternator-12 rated=60A "
                "idle=20A\npart E1 heater power=600W\n"
                "wire W1 G1.+ E1.1 RD 25mm2 length=0.5m\nwire W2 E1.2 G1.- BK 25mm2 length=0.5m\n"
                "wire W3 G2.B+ G1.+ RD 16mm2 length=1m\nwire W4 G2.B- G1.- BK 16mm2 length=1m\n",
                LG_DAY_MILD);
  solve(&m, "G2=idle");
  const double alternator = fabs(amps(&m, "G2.out")), battery = fabs(amps(&m, "G1.cell")),
               load = amps(&m, "E1.heater");
  g_assert_cmpfloat(alternator, >=, 20);
  g_assert_cmpfloat(alternator, <, 20 * 1.02);
  NEAR(alternator + battery, load, 1e-6);
  solve(&m, "G2=fast");
  g_assert_cmpfloat(volts(&m, "G1.+"), >, 12.9);
  solve(&m, "");
  g_assert_cmpfloat(fabs(amps(&m, "G2.out")), <, 1e-6);
  drop(&m);
}

static void test_electronic_load_cuts_out(void)
{
  const char *const text =
      "job \"t\"\npart G1 battery-12 capacity=60Ah charge=%d%%\npart E1 assembly\npin E1.1\npin "
      "E1.2\n"
      "element E1.box electronic 1 2 power=48W standby=5mA cut-out=12.1V cut-in=12.4V\n"
      "wire W1 G1.+ E1.1 RD 6mm2 length=0.5m\nwire W2 E1.2 G1.- BK 6mm2 length=0.5m\n";
  g_autofree char *full_text = g_strdup_printf(text, 100), *flat_text = g_strdup_printf(text, 20);
  Made full = make(full_text, LG_DAY_MILD), flat = make(flat_text, LG_DAY_MILD);
  solve(&full, "");
  solve(&flat, "");
  const int box = lg_job_find_element(full.job, "E1.box");
  NEAR(full.point->element_A[box] * full.point->element_V[box], 48, 1e-2);
  g_assert_cmpfloat(amps(&flat, "E1.box"), <, 0.006);
  g_assert_cmpfloat(amps(&flat, "E1.box"), >, 0.004);
  drop(&full);
  drop(&flat);
}

static void test_what_is_not_fitted_draws_nothing(void)
{
  Made m = make(
      "job \"t\"\npart G1 battery-12 capacity=60Ah\npart A assembly\npin A.1\npin A.2 fitted=no\n"
      "element A.pad heater 1 2 power=60W\nwire W1 G1.+ A.1 RD 1mm2 length=1m\nwire W2 A.2 G1.- BK "
      "1mm2 length=1m\n",
      LG_DAY_MILD);
  solve(&m, "");
  g_assert_cmpfloat(amps(&m, "A.pad"), ==, 0);
  drop(&m);
}

static void test_loose_pins_float(void)
{
  Made m = make(
      "job \"t\"\npart G1 battery-12 capacity=60Ah\npart S1 switch-on-off\npart E1 lamp power=5W\n"
      "wire W1 G1.+ S1.1 RD 1mm2 length=1m\nwire W2 S1.2 E1.1 RD 1mm2 length=1m\n",
      LG_DAY_MILD);
  solve(&m, "");
  g_assert_true(isnan(volts(&m, "E1.2")));
  g_assert_true(isnan(volts(&m, "S1.2")));
  solve(&m, "S1=on");
  g_assert_cmpfloat(volts(&m, "E1.2"), >, 11);
  drop(&m);
}

static void test_no_source_is_said(void)
{
  const char *const text = "job \"t\"\npart E1 lamp power=5W\n";
  g_autoptr(GBytes) bytes = g_bytes_new_static(text, strlen(text));
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  g_autoptr(LgSheet) sheet = lg_sheet_read("t", bytes, FALSE);
  g_autoptr(LgJob) job = lg_job_new(sheet, catalogue);
  g_autoptr(GError) error = NULL;
  g_assert_null(lg_circuit_new(job, LG_DAY_HOT, NULL, &error));
  g_assert_error(error, LG_JOB_ERROR, 0);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/circuit/one-loop", test_one_loop_by_ohms_law);
  g_test_add_func("/circuit/hot-coil", test_hot_coil_needs_more_volts);
  g_test_add_func("/circuit/positive-earth", test_positive_earth);
  g_test_add_func("/circuit/alternator", test_alternator_at_its_limit);
  g_test_add_func("/circuit/cut-out", test_electronic_load_cuts_out);
  g_test_add_func("/circuit/not-fitted", test_what_is_not_fitted_draws_nothing);
  g_test_add_func("/circuit/floating", test_loose_pins_float);
  g_test_add_func("/circuit/no-source", test_no_source_is_said);
  return g_test_run();
}
