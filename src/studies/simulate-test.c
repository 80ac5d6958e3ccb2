/* A use through time: a thermostat on one lump by hand, energy, stopping, and the march of checks
 * as an independent judge. */
#include "studies/simulate.h"
#include <math.h>
#include <string.h>

typedef struct {
  LgCatalogue *catalogue;
  LgSheet *sheet;
  LgJob *job;
  LgSizing *sizing;
} Made;

static Made take(LgSheet *sheet)
{
  Made m = {.catalogue = lg_catalogue_new(), .sheet = sheet};
  m.job = lg_job_new(m.sheet, m.catalogue);
  const GPtrArray *const problems = lg_sheet_problems(m.sheet);
  for (guint i = 0; i < problems->len; i++)
    g_test_message("%s", ((const LgProblem *)problems->pdata[i])->what);
  g_assert_nonnull(m.job);
  m.sizing = lg_sizing_new(m.job, NULL);
  return m;
}

static Made make(const char *text)
{
  g_autoptr(GBytes) bytes = g_bytes_new(text, strlen(text));
  return take(lg_sheet_read("test.job", bytes, FALSE));
}

static Made open_example(const char *name)
{
  g_autofree char *path = g_build_filename(g_getenv("LG_SOURCE_ROOT"), "examples", name, NULL);
  return take(lg_sheet_open(path, FALSE, NULL));
}

static void drop(Made *m)
{
  lg_sizing_free(m->sizing);
  lg_job_free(m->job);
  lg_sheet_free(m->sheet);
  lg_catalogue_free(m->catalogue);
}

static LgSimulation *run(const Made *m, const char *use, const LgSimulateOptions *options)
{
  g_autoptr(GError) error = NULL;
  LgSimulation *const sim =
      lg_simulation_new(m->sizing, &m->job->uses[lg_job_find_use(m->job, use)], options, &error);
  g_assert_no_error(error);
  return sim;
}

static void check_energy(const LgSimulation *sim)
{
  const LgCourseEnergy *const e = &sim->energy;
  const double size = fabs(e->given) + 1;
  g_assert_cmpfloat_with_epsilon(e->given, e->heated + e->elsewhere, 1e-6 * size);
  g_assert_cmpfloat_with_epsilon(e->heated, e->stored + e->lost, 1e-6 * size);
}

/* A lump of 500 J/K that loses 1 W/K, warmed by P = U I of a heater on thick short wires: on and
 * off between 30 and 34 C take C/G ln ((T0 - Tend) / (T1 - Tend)), Tend = Ta + P/G or Ta. The power
 * is read from the samples of current and resistance. */
static const char lump[] =
    "job \"lump\" nominal=12V ambient=0C..30C\n"
    "part G1 battery-12 capacity=4000Ah cranking=5000A is=host\npart XG ground is=host\n"
    "part F1 fuse-blade rating=10A\npart S1 switch-on-off\n"
    "part T1 thermostat opens=34C closes=30C feels=plate\n"
    "part E1 heater power=60W warms=plate\n"
    "wire B G1.- XG.1 BK 50mm2 length=0.1m is=host\n"
    "wire W1 G1.+ F1.1 RD 6mm2 length=0.1m\nwire W2 F1.2 S1.1 RD 6mm2 length=0.1m\n"
    "wire W3 S1.2 T1.1 RD 6mm2 length=0.1m\nwire W4 T1.2 E1.1 RD 6mm2 length=0.1m\n"
    "wire W5 E1.2 XG.1 BK 6mm2 length=0.1m\n"
    "body plate capacity=500J/K loss=1W/K\n"
    "use u lasts=2h ambient=10C charge=100%\nstep u.1 0s when S1=on\n";

static double heater_watts(const Made *m, const LgSimulation *sim)
{
  const int heater = lg_job_find_element(m->job, "E1.heater");
  const int e = heater >= 0 ? heater : m->job->parts[lg_job_find_part(m->job, "E1")].first_element;
  for (guint i = 0; i < sim->series->len; i++) {
    const LgSeries *const s = sim->series->pdata[i];
    if (s->kind == LG_SERIES_AMPS && s->index == e) {
      double most = 0;
      for (guint k = 0; k < s->value->len; k++)
        most = fmax(most, g_array_index(s->value, double, k));
      return most * most * m->job->elements[e].p[LG_P_RESISTANCE];
    }
  }
  g_assert_not_reached();
}

static void test_thermostat_by_hand(void)
{
  Made m = make(lump);
  g_autoptr(LgSimulation) sim = run(&m, "u", NULL);
  g_assert_null(sim->end_words);
  check_energy(sim);
  const double hot = 10 + heater_watts(&m, sim), tau = 500;
  const double first = tau * log((hot - 10) / (hot - 34)), off = tau * log((34.0 - 10) / (30 - 10)),
               on = tau * log((hot - 30) / (hot - 34));
  double expected = first;
  int n = 0;
  for (guint i = 0; i < sim->happenings->len; i++) {
    const LgHappening *const h = &g_array_index(sim->happenings, LgHappening, i);
    if (!g_str_has_prefix(h->what, "T1."))
      continue;
    const gboolean enough = g_str_has_suffix(h->what, "has enough");
    g_assert_true(enough == (n % 2 == 0));
    g_assert_cmpfloat_with_epsilon(h->at_s, expected, 0.004 * expected);
    expected += enough ? off : on;
    n++;
  }
  g_assert_cmpint(n, >, 30);
  drop(&m);
}

static double most_of(const LgSimulation *sim, const char *name)
{
  for (guint i = 0; i < sim->temperatures->len; i++) {
    const LgTemperature *const t = &g_array_index(sim->temperatures, LgTemperature, i);
    if (strcmp(t->name, name) == 0)
      return t->most_K;
  }
  g_assert_not_reached();
}

/* The quasi-steady march that `check` goes by is another method on the same bodies. */
static void test_agrees_with_the_march(void)
{
  Made m = open_example("library-van-seat.job");
  const LgUse *const use = &m.job->uses[lg_job_find_use(m.job, "cold-morning")];
  g_autoptr(LgSimulation) sim = run(&m, "cold-morning", NULL);
  check_energy(sim);
  g_autoptr(LgBodies) bodies = lg_bodies_new(m.job);
  g_autoptr(LgSupply) supply =
      lg_supply_new(m.job, (const LgConductor *const *)m.sizing->chosen, NULL);
  g_autoptr(LgUseResult) march = lg_use_run(bodies, supply, use, NULL);
  const int relay = lg_job_find_element(m.job, "K2.make");
  int closings = -1;
  for (guint i = 0; i < sim->contacts->len; i++) {
    const LgContactCount *const c = &g_array_index(sim->contacts, LgContactCount, i);
    closings = c->element == relay ? (int)c->closings : closings;
  }
  g_assert_cmpint(closings, >, 10);
  g_assert_cmpint(abs(closings - march->closings[relay]), <=, 1);
  for (int b = 0; b < bodies->n; b++)
    if (isnan(bodies->bodies[b].held_K))
      g_assert_cmpfloat_with_epsilon(most_of(sim, bodies->bodies[b].name), march->most_K[b], 0.5);
  const int cell = lg_job_find_element(m.job, "G1.cell");
  g_assert_cmpfloat_with_epsilon(sim->end_charge[cell], march->cells[cell].end, 0.003);
  drop(&m);
}

static gboolean stop_half_way(double share, gpointer user)
{
  (void)user;
  return share > 0.5;
}

static void test_stopping_keeps_what_there_is(void)
{
  Made m = make(lump);
  const LgSimulateOptions options = {.progress = stop_half_way};
  g_autoptr(LgSimulation) sim = run(&m, "u", &options);
  g_assert_cmpint(sim->end.kind, ==, LG_COURSE_STOPPED);
  g_assert_nonnull(sim->end_words);
  g_assert_cmpfloat(sim->reached_s, >, 3600);
  g_assert_cmpfloat(sim->reached_s, <, 5000);
  g_assert_cmpuint(sim->times->len, >, 100);
  for (guint i = 0; i < sim->series->len; i++)
    g_assert_cmpuint(((const LgSeries *)sim->series->pdata[i])->value->len, ==, sim->times->len);
  check_energy(sim);
  drop(&m);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/simulate/thermostat", test_thermostat_by_hand);
  g_test_add_func("/simulate/march", test_agrees_with_the_march);
  g_test_add_func("/simulate/stop", test_stopping_keeps_what_there_is);
  return g_test_run();
}
