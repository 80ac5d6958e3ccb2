/* The heat network and its thermostats against closed forms and a fine integration. */
#include "studies/bodies.h"
#include "studies/studies-testing.h"

typedef struct {
  Made made;
  LgBodies *bodies;
  LgSupply *supply;
} Warm;

#define HEAD                                                                                       \
  "job \"pad\" nominal=12V ambient=-20C..40C insulation=class-b\n"                                 \
  "part G1 battery-12 capacity=70Ah\npart F1 fuse-blade rating=10A\npart XG ground\n"              \
  "part E1 heater-pad power=36W warms=pad\n"                                                       \
  "wire W0 G1.- XG.1 BK 16mm2 length=0.3m\nwire W1 G1.+ F1.1 RD 2.5mm2 length=0.2m\n"

static Warm open_warm(const char *text)
{
  g_autoptr(GError) error = NULL;
  Warm w = {.made = make(text)};
  w.bodies = lg_bodies_new(w.made.job);
  w.supply = lg_supply_new(w.made.job, NULL, &error);
  g_assert_no_error(error);
  return w;
}

static void close_warm(Warm *w)
{
  lg_supply_free(w->supply);
  lg_bodies_free(w->bodies);
  unmake(&w->made);
}

static int body_named(const Warm *w, const char *name)
{
  for (int i = 0; i < w->bodies->n; i++)
    if (strcmp(w->bodies->bodies[i].name, name) == 0)
      return i;
  g_assert_not_reached();
}

/* One lump: T = Ta + P/G (1 - exp (-t G/C)). */
static void test_one_lump(void)
{
  Warm w = open_warm(HEAD "wire W2 F1.2 E1.1 RD 2.5mm2 length=1m\n"
                          "wire W3 E1.2 XG.1 BN 2.5mm2 length=1m\n"
                          "body pad is=pad capacity=600J/K loss=1.2W/K\n");
  g_assert_cmpuint(w.bodies->notes->len, ==, 0);
  const double ambient_K = 260, watts = 36, tau_s = 600 / 1.2;
  double at_K, start_K = ambient_K;
  lg_bodies_steady(w.bodies, &watts, ambient_K, &at_K);
  g_assert_cmpfloat(fabs(at_K - 290), <, 1e-9);
  for (double t = 0; t < 3000; t += 250) {
    lg_bodies_after(w.bodies, &start_K, &watts, ambient_K, t, &at_K);
    g_assert_cmpfloat(fabs(at_K - (290 - 30 * exp(-t / tau_s))), <, 1e-9);
  }
  const double to_280_s = lg_bodies_time_to(w.bodies, &start_K, &watts, ambient_K, 0, 280);
  g_assert_cmpfloat(fabs(to_280_s / (tau_s * log(30.0 / 10)) - 1), <, 1e-6);
  g_assert_true(isinf(lg_bodies_time_to(w.bodies, &start_K, &watts, ambient_K, 0, 290.001)));
  g_assert_cmpfloat(lg_bodies_time_to(w.bodies, &start_K, &watts, ambient_K, 0, 259), ==, 0);
  close_warm(&w);
}

#define SEAT                                                                                       \
  "body pad is=pad capacity=150J/K touches=cover through=4W/K\n"                                   \
  "body cover is=surface capacity=180J/K touches=sitter through=3W/K loss=0.2W/K\n"                \
  "body sitter is=occupant holds=34C\n"                                                            \
  "body foam is=foam capacity=500J/K touches=pad through=0.2W/K\n"                                 \
  "body cabin is=air capacity=6kJ/K touches=foam through=1W/K loss=20W/K\n"

static void slopes(const LgBodies *b, const double at_K[], const double watts[], double ambient_K,
                   double slope[], double *lost_W)
{
  *lost_W = 0;
  for (int i = 0; i < b->n; i++) {
    slope[i] = watts[i] + b->bodies[i].loss_W_K * (ambient_K - at_K[i]);
    *lost_W += b->bodies[i].loss_W_K * (at_K[i] - ambient_K);
  }
  for (int i = 0; i < b->n; i++) {
    const int k = b->bodies[i].touches;
    if (k < 0)
      continue;
    const double flow_W = b->bodies[i].through_W_K * (at_K[i] - at_K[k]);
    slope[i] -= flow_W;
    slope[k] += flow_W;
  }
  for (int i = 0; i < b->n; i++)
    if (!isnan(b->bodies[i].held_K)) {
      *lost_W += slope[i];
      slope[i] = 0;
    } else {
      slope[i] /= b->bodies[i].capacity_J_K;
    }
}

/* A seat of five bodies against the midpoint rule at 20 ms, and its energy: put in = stored + lost
 * to the air and to the sitter. */
static void test_seat(void)
{
  Warm w = open_warm(HEAD "wire W2 F1.2 E1.1 RD 2.5mm2 length=1m\n"
                          "wire W3 E1.2 XG.1 BN 2.5mm2 length=1m\n" SEAT);
  const LgBodies *const b = w.bodies;
  double watts[5] = {40}, start_K[5], at_K[5], slope[5], middle_K[5], exact_K[5];
  double lost_J = 0, stored_J = 0, lost_W;
  const double ambient_K = 253.15, step_s = 0.02, lasts_s = 900;
  for (int i = 0; i < 5; i++)
    start_K[i] = at_K[i] = isnan(b->bodies[i].held_K) ? ambient_K : b->bodies[i].held_K;
  for (double t = 0; t < lasts_s - step_s / 2; t += step_s) {
    slopes(b, at_K, watts, ambient_K, slope, &lost_W);
    for (int i = 0; i < 5; i++)
      middle_K[i] = at_K[i] + 0.5 * step_s * slope[i];
    slopes(b, middle_K, watts, ambient_K, slope, &lost_W);
    lost_J += lost_W * step_s;
    for (int i = 0; i < 5; i++)
      at_K[i] += step_s * slope[i];
  }
  lg_bodies_after(b, start_K, watts, ambient_K, lasts_s, exact_K);
  for (int i = 0; i < 5; i++) {
    g_assert_cmpfloat(fabs(exact_K[i] - at_K[i]), <, 1e-5);
    if (isnan(b->bodies[i].held_K))
      stored_J += b->bodies[i].capacity_J_K * (exact_K[i] - start_K[i]);
  }
  g_assert_cmpfloat(fabs((stored_J + lost_J) / (40 * lasts_s) - 1), <, 1e-6);
  g_assert_cmpint(lg_bodies_surface(b, body_named(&w, "pad")), ==, body_named(&w, "cover"));
  close_warm(&w);
}

/* --- thermostats --- */

typedef struct {
  int heater;
  double from_s, on_s, watts;
  int cycles;
  gboolean on;
} Count;

static void count(double from_s, double to_s, const int position[], const LgAnswer *answer,
                  gpointer user)
{
  Count *const c = user;
  const gboolean on = fabs(answer->element_A[c->heater]) > 0.1;
  (void)position;
  if (on)
    c->watts = answer->element_A[c->heater] * answer->element_V[c->heater];
  if (from_s >= c->from_s) {
    c->on_s += on ? to_s - from_s : 0;
    c->cycles += on && !c->on;
  }
  c->on = on;
}

#define BIMETAL                                                                                    \
  "part B1 thermostat opens=35C closes=30C feels=pad %s\n"                                         \
  "wire W2 F1.2 B1.1 RD 2.5mm2 length=1m\nwire W4 B1.2 E1.1 RD 2.5mm2 length=0.5m\n"               \
  "wire W3 E1.2 XG.1 BN 2.5mm2 length=1m\nbody pad is=pad capacity=600J/K loss=0.6W/K\n"

static Count run_bimetal(const char *keys, double hours, double *period_s, double *duty)
{
  g_autofree char *tail = g_strdup_printf(BIMETAL, keys);
  g_autofree char *text = g_strconcat(HEAD, tail, NULL);
  Warm w = open_warm(text);
  Count c = {.heater = element_named(&w.made, "E1.pad"), .from_s = 7200};
  lg_supply_set(w.supply, 0, 273.15);
  g_autoptr(LgWarmth) warmth =
      lg_warmth_new(w.bodies, w.supply, &(LgWarmthCalls){.stretch = count, .user = &c});
  int position[8] = {0};
  g_assert_cmpint(w.made.job->n_inputs, <, 8);
  lg_warmth_set(warmth, position);
  lg_warmth_run(warmth, 7200);
  lg_warmth_run(warmth, 7200 + 3600 * hours);
  /* Hysteresis of a lump: tau ln of the ratios of distances to where it is bound. */
  const double tau_s = 600 / 0.6, end_C = c.watts / 0.6;
  const double on_s = tau_s * log((end_C - 30) / (end_C - 35)), off_s = tau_s * log(35.0 / 30);
  *period_s = on_s + off_s;
  *duty = on_s / (on_s + off_s);
  close_warm(&w);
  return c;
}

static void test_hysteresis(void)
{
  double period_s, duty;
  const Count c = run_bimetal("", 100, &period_s, &duty);
  g_assert_cmpfloat(c.watts, >, 30);
  g_assert_cmpfloat(fabs(c.cycles - 360000 / period_s), <, 1.01);
  g_assert_cmpfloat(fabs(c.on_s / 360000 - duty), <, 1e-3);
}

/* A least time on longer than its own stretches what it is on. */
static void test_least_times(void)
{
  double period_s, duty;
  const Count sound = run_bimetal("", 50, &period_s, &duty);
  const Count on = run_bimetal("least-on=600s", 50, &period_s, &duty);
  const Count off = run_bimetal("least-off=900s", 50, &period_s, &duty);
  g_assert_cmpfloat(sound.on_s / sound.cycles, <, 600);
  g_assert_cmpfloat(fabs(on.on_s / on.cycles - 600), <, 15);
  g_assert_cmpint(on.cycles, <, sound.cycles);
  g_assert_cmpint(off.cycles, <, sound.cycles);
  g_assert_cmpfloat((180000 - off.on_s) / off.cycles, >, 890);
}

/* A clock: the share of the time, whole periods. */
static void test_clock(void)
{
  Warm w = open_warm(
      HEAD "part S1 assembly positions=off,low\npin S1.1\npin S1.2\n"
           "element S1.low output 1 2 closed=low call=heat period=60s share=25% resistance=1mohm\n"
           "wire W2 F1.2 S1.1 RD 2.5mm2 length=1m\nwire W4 S1.2 E1.1 RD 2.5mm2 length=0.5m\n"
           "wire W3 E1.2 XG.1 BN 2.5mm2 length=1m\nbody pad capacity=600J/K loss=2W/K\n");
  Count c = {.heater = element_named(&w.made, "E1.pad")};
  int position[8] = {0};
  position[lg_job_find_input(w.made.job, "S1")] = 1;
  g_autoptr(LgWarmth) warmth =
      lg_warmth_new(w.bodies, w.supply, &(LgWarmthCalls){.stretch = count, .user = &c});
  lg_warmth_set(warmth, position);
  lg_warmth_run(warmth, 36000);
  g_assert_cmpint(c.cycles, ==, 600);
  g_assert_cmpfloat(fabs(c.on_s - 9000), <, 1e-3);
  close_warm(&w);
}

/* --- what is not said --- */

static gboolean has_note(const Warm *w, const char *text)
{
  for (guint i = 0; i < w->bodies->notes->len; i++)
    if (strstr(((const LgHeatNote *)w->bodies->notes->pdata[i])->taken, text) != NULL)
      return TRUE;
  return FALSE;
}

static void test_defaults(void)
{
  Warm bare = open_warm("job \"pad\" nominal=12V\npart G1 battery-12 capacity=70Ah\n"
                        "part E1 heater-pad power=36W\npart E2 heater power=100W\n");
  g_assert_cmpint(bare.bodies->n, ==, 5);
  g_assert_true(has_note(&bare, "a pad of 0.12 m2"));
  g_assert_cmpint(bare.bodies->warms[element_named(&bare.made, "E2.heater")], ==, -1);
  double watts[5] = {60}, at_K[5];
  lg_bodies_steady(bare.bodies, watts, 293.15, at_K);
  /* By hand, what leaves through the foam and the cabin left out: skin 34 C + 60 W / 3 W/K = 54 C.
   */
  g_assert_cmpfloat(fabs(at_K[body_named(&bare, "cover of E1.pad")] - (273.15 + 54)), <, 3);
  close_warm(&bare);

  Warm shut = open_warm(HEAD "wire W2 F1.2 E1.1 RD 2.5mm2 length=1m\n"
                             "wire W3 E1.2 XG.1 BN 2.5mm2 length=1m\npart B1 thermostat\n"
                             "body pad is=pad\nbody cover is=surface capacity=100J/K touches=pad "
                             "through=2W/K\n");
  g_assert_true(has_note(&shut, "120 J/K"));
  g_assert_true(has_note(&shut, "0.5 W/K"));
  g_assert_true(has_note(&shut, "without end"));
  lg_bodies_steady(shut.bodies, watts, 293.15, at_K);
  g_assert_cmpfloat(fabs(at_K[0] - (293.15 + 60 / 0.5)), <, 1e-6);
  close_warm(&shut);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/bodies/one-lump", test_one_lump);
  g_test_add_func("/bodies/seat", test_seat);
  g_test_add_func("/bodies/hysteresis", test_hysteresis);
  g_test_add_func("/bodies/least-times", test_least_times);
  g_test_add_func("/bodies/clock", test_clock);
  g_test_add_func("/bodies/defaults", test_defaults);
  return g_test_run();
}
