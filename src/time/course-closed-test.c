/* Courses whose answer can be written down. No source but algebra. */
#include "time/course.h"

#include <gio/gio.h>
#include <math.h>
#include <string.h>

#define AIR_K 283.15

/* u[0] = watts when switch 0 is on, times 1 + per_K (felt 0 - AIR_K); u[1] = volts - drop x felt 1;
 * u[2] = 1. */
typedef struct {
  double watts, per_K, volts, drop;
  int n_outputs;
  gboolean two_felts, silent;
} Net;

static gboolean respond(const int position[], const double felt[], double out[], gpointer user)
{
  const Net *net = user;
  out[0] = (position == NULL || position[0] != 0 ? net->watts : 0) *
           (1 + net->per_K * (felt[0] - AIR_K));
  if (net->n_outputs > 1)
    out[1] = net->volts - (net->two_felts ? net->drop * felt[1] : 0);
  if (net->n_outputs > 2)
    out[2] = 1;
  return !net->silent;
}

static const LgCourseOutput OUTPUTS[] = {
    {1e-3, LG_OUTPUT_SOURCE}, {1e-3, LG_OUTPUT_PLAIN}, {1e-3, LG_OUTPUT_PLAIN}};
static const LgCourseTerm NODE[] = {{LG_OF_NODE, 0, 1}, {LG_OF_NODE, 1, 1}, {LG_OF_NODE, 2, 1}};
static const LgCourseTerm SLOW = {LG_OF_SLOW, 0, 1}, VOLTS = {LG_OF_OUTPUT, 1, 1};

/* Node 0 with 500 J/K and 2 W/K to the air, node 1; starts at the air's temperature. */
typedef struct {
  LgCourseNode node[4];
  LgCourseLink link[4];
  LgCourseHeat heat[2];
  LgCourseFelt felt[2];
  LgCourseSwitch move[3];
  LgCourseWatch watch[2];
  LgCourseTurn turn[6];
  LgCourseSlow slow[2];
  LgCoursePlan plan;
  Net net;
} Pot;

#define C_J_K 500.0
#define G_W_K 2.0
#define TAU_S (C_J_K / G_W_K)

static void pot(Pot *p, double watts)
{
  *p = (Pot){.node = {{.capacity_J_K = C_J_K, .start_K = AIR_K, .bends_to = -1},
                      {.start_K = AIR_K, .held = TRUE, .bends_to = -1}},
             .link = {{0, 1, G_W_K}},
             .heat = {{0, 0, 1}},
             .felt = {{{&NODE[0], 1, 0}, 10}},
             .net = {.watts = watts, .volts = 12, .n_outputs = 1}};
  p->plan = (LgCoursePlan){.nodes = p->node,
                           .links = p->link,
                           .heats = p->heat,
                           .felts = p->felt,
                           .switches = p->move,
                           .watches = p->watch,
                           .turns = p->turn,
                           .slows = p->slow,
                           .outputs = OUTPUTS,
                           .n_nodes = 2,
                           .n_links = 1,
                           .n_heats = 1,
                           .n_felts = 1,
                           .n_outputs = 1,
                           .n_switches = 1};
  p->move[0] = (LgCourseSwitch){.kind = LG_SWITCH_HAND, .start = 1};
}

static LgCourse *ready(Pot *p)
{
  const LgCourseCalls calls = {respond, NULL, &p->net};
  p->net.n_outputs = p->plan.n_outputs;
  p->net.two_felts = p->plan.n_felts > 1;
  LgCourse *course = lg_course_new(&p->plan, &calls, NULL);
  g_assert_nonnull(course);
  return course;
}

static void assert_done(LgCourse *course, double until_s)
{
  const LgCourseEnd end = lg_course_run(course, until_s);
  g_assert_cmpint(end.kind, ==, LG_COURSE_DONE);
  g_assert_cmpfloat(end.at_s, ==, until_s);
}

static double temperature(LgCourse *course, int node)
{
  double node_K[4];
  lg_course_at(course, lg_course_now(course), node_K, NULL, NULL);
  return node_K[node];
}

static void assert_event(const LgCourse *course, int k, LgCourseEventKind kind, int index, int to,
                         double at_s)
{
  int n;
  const LgCourseEvent *events = lg_course_events(course, &n);
  g_assert_cmpint(k, <, n);
  g_assert_cmpint(events[k].kind, ==, kind);
  g_assert_cmpint(events[k].index, ==, index);
  g_assert_cmpint(events[k].to, ==, to);
  g_assert_cmpfloat_with_epsilon(events[k].at_s, at_s, 1e-6);
}

static int n_events(const LgCourse *course)
{
  int n;
  lg_course_events(course, &n);
  return n;
}

static void test_charge(void)
{
  Pot p;
  pot(&p, 60);
  p.watch[0] = (LgCourseWatch){{&NODE[0], 1, 0}, AIR_K + 20, 0};
  p.plan.n_watches = 1;
  g_autoptr(LgCourse) course = ready(&p);
  assert_done(course, 1000);
  g_assert_cmpfloat_with_epsilon(temperature(course, 0), AIR_K - 30 * expm1(-1000 / TAU_S), 1e-9);
  g_assert_cmpint(n_events(course), ==, 1);
  assert_event(course, 0, LG_EVENT_WATCH, 0, 1, TAU_S * log(3));
  const LgCourseEnergy e = lg_course_energy(course);
  g_assert_cmpfloat_with_epsilon(e.given, 60e3, 1e-6);
  g_assert_cmpfloat_with_epsilon(e.heated, 60e3, 1e-6);
  g_assert_cmpfloat_with_epsilon(e.stored, -C_J_K * 30 * expm1(-1000 / TAU_S), 1e-6);
  g_assert_cmpfloat_with_epsilon(e.lost, 60e3 - e.stored, 1e-6);
}

/* P (1 + a (T - T_air)) - G (T - T_air) is straight in T: rate (G - P a) / C. By the felt, and by
 * the node's own factor. */
static void test_warming_resistance(void)
{
  const double a = 0.01, watts = 60, slope = G_W_K - a * watts;
  const double end_K = AIR_K - watts / slope * expm1(-700 * slope / C_J_K);
  Pot p;
  pot(&p, watts);
  p.net.per_K = a;
  g_autoptr(LgCourse) felt = ready(&p);
  assert_done(felt, 700);
  g_assert_cmpfloat_with_epsilon(temperature(felt, 0), end_K, 1e-6);
  pot(&p, watts);
  p.node[0].own_per_K = a;
  p.node[0].own_at_K = AIR_K;
  g_autoptr(LgCourse) own = ready(&p);
  assert_done(own, 700);
  g_assert_cmpfloat_with_epsilon(temperature(own, 0), end_K, 1e-6);
}

/* C d' = -b d^2 with no link: 1/d grows by b/C per second; whatever part of it is taken as
 * straight.
 */
static void test_bend(void)
{
  for (int usual_K = 0; usual_K <= 60; usual_K += 30) {
    Pot p;
    pot(&p, 0);
    p.node[0].start_K = AIR_K + 50;
    p.node[0].bends_to = 1;
    p.node[0].bend[0] = 0.05;
    p.node[0].works_at_K = usual_K;
    p.plan.n_links = 0;
    g_autoptr(LgCourse) course = ready(&p);
    assert_done(course, 500);
    g_assert_cmpfloat_with_epsilon(temperature(course, 0),
                                   AIR_K + 1 / (1 / 50.0 + 500 * 0.05 / C_J_K), 2e-6);
    const LgCourseEnergy e = lg_course_energy(course);
    g_assert_cmpfloat_with_epsilon(e.lost, -e.stored, 1e-6 * e.lost);
  }
}

/* Two equal lumps, one of them linked to the air: rates by the quadratic formula. */
static void test_two_lumps(void)
{
  Pot p;
  pot(&p, 0);
  p.node[0].start_K = AIR_K + 40;
  p.node[2] = (LgCourseNode){.capacity_J_K = C_J_K, .start_K = AIR_K, .bends_to = -1};
  p.link[1] = (LgCourseLink){0, 2, 3};
  p.link[0] = (LgCourseLink){2, 1, G_W_K};
  p.plan.n_nodes = 3;
  p.plan.n_links = 2;
  g_autoptr(LgCourse) course = ready(&p);
  assert_done(course, 321);
  /* x' = -k x + k y; y' = k x - (k + g) y */
  const double k = 3 / C_J_K, g = G_W_K / C_J_K, root = sqrt(g * g + 4 * k * k);
  const double r1 = -(2 * k + g - root) / 2, r2 = -(2 * k + g + root) / 2;
  const double y1 = (r1 + k) / k, y2 = (r2 + k) / k, w1 = 40 * y2 / (y2 - y1), w2 = 40 - w1;
  g_assert_cmpfloat_with_epsilon(temperature(course, 0),
                                 AIR_K + w1 * exp(r1 * 321) + w2 * exp(r2 * 321), 1e-9);
  g_assert_cmpfloat_with_epsilon(temperature(course, 2),
                                 AIR_K + w1 * y1 * exp(r1 * 321) + w2 * y2 * exp(r2 * 321), 1e-9);
}

/* The lump is reached through a massless one that takes up the heat. */
static void test_massless(void)
{
  Pot p;
  pot(&p, 60);
  p.node[2] = (LgCourseNode){.bends_to = -1};
  p.link[1] = (LgCourseLink){0, 2, 3};
  p.link[2] = (LgCourseLink){2, 1, 1};
  p.heat[0].node = 2;
  p.plan.n_nodes = 3;
  p.plan.n_links = 3;
  g_autoptr(LgCourse) course = ready(&p);
  assert_done(course, 400);
  const double through = 45, to_air = G_W_K + 0.75; /* 60 W x 3/4; 3 and 1 in series */
  const double d = -through / to_air * expm1(-400 * to_air / C_J_K);
  g_assert_cmpfloat_with_epsilon(temperature(course, 0), AIR_K + d, 1e-9);
  g_assert_cmpfloat_with_epsilon(temperature(course, 2), AIR_K + (60 + 3 * d) / 4, 1e-9);
  const LgCourseEnergy e = lg_course_energy(course);
  g_assert_cmpfloat_with_epsilon(e.heated, 24e3, 1e-6);
  g_assert_cmpfloat_with_epsilon(e.heated, e.stored + e.lost, 1e-6);
}

static void thermostat(Pot *p)
{
  pot(p, 60);
  p->move[0] = (LgCourseSwitch){.kind = LG_SWITCH_BAND,
                                .start = 1,
                                .sum = {&NODE[0], 1, 0},
                                .on_at = AIR_K + 18,
                                .off_at = AIR_K + 20};
}

#define HEATS_S (TAU_S * log(12.0 / 10))
#define COOLS_S (TAU_S * log(20.0 / 18))
#define FIRST_S (TAU_S * log(3))

static void test_thermostat(void)
{
  Pot p;
  thermostat(&p);
  g_autoptr(LgCourse) course = ready(&p);
  assert_done(course, 4000);
  for (int k = 0; k < 40; k++)
    assert_event(course, k, LG_EVENT_SWITCH, 0, k % 2,
                 FIRST_S + (k + 1) / 2 * COOLS_S + k / 2 * HEATS_S);
  const LgCourseCount count = lg_course_count(course, 0);
  g_assert_cmpint(count.times_on, ==, n_events(course) / 2);
  const LgCourseEnergy e = lg_course_energy(course);
  g_assert_cmpfloat_with_epsilon(e.given, 60 * count.on_s, 1e-6 * e.given);
  lg_course_restart(course, NULL, NULL);
  g_assert_cmpint(n_events(course), ==, 0);
  assert_done(course, 4000);
  assert_event(course, 39, LG_EVENT_SWITCH, 0, 1, FIRST_S + 20 * COOLS_S + 19 * HEATS_S);
}

/* It would move back sooner. */
static void test_least_times(void)
{
  Pot p;
  thermostat(&p);
  p.move[0].least_on_s = 150;
  p.move[0].least_off_s = 90;
  g_autoptr(LgCourse) course = ready(&p);
  assert_done(course, 4000);
  assert_event(course, 0, LG_EVENT_SWITCH, 0, 0, FIRST_S);
  double at_s = FIRST_S;
  for (int k = 1; k < 20; k++) {
    at_s += k % 2 ? 90 : 150;
    assert_event(course, k, LG_EVENT_SWITCH, 0, k % 2, at_s);
  }
}

static void test_delay(void)
{
  Pot p;
  thermostat(&p);
  p.move[0].delay_off_s = 5;
  g_autoptr(LgCourse) course = ready(&p);
  assert_done(course, 400);
  const double top = 30 - 10 * exp(-5 / TAU_S);
  assert_event(course, 0, LG_EVENT_SWITCH, 0, 0, FIRST_S + 5);
  assert_event(course, 1, LG_EVENT_SWITCH, 0, 1, FIRST_S + 5 + TAU_S * log(top / 18));
}

/* Heat of one lump passes through another: it rises to a top that can be written down, and falls.
 */
static void test_graze(void)
{
  const double k = 3 / C_J_K, g = G_W_K / C_J_K, root = sqrt(g * g + 4 * k * k);
  const double r1 = -(2 * k + g - root) / 2, r2 = -(2 * k + g + root) / 2;
  const double top_s = log(r2 / r1) / (r1 - r2), w = 40 * k / (r1 - r2);
  const double top = w * (exp(r1 * top_s) - exp(r2 * top_s));
  for (int over = -1; over <= 1; over += 2) {
    Pot p;
    pot(&p, 0);
    p.node[0].start_K = AIR_K + 40;
    p.node[2] = (LgCourseNode){.capacity_J_K = C_J_K, .start_K = AIR_K, .bends_to = -1};
    p.link[1] = (LgCourseLink){0, 2, 3};
    p.link[0] = (LgCourseLink){2, 1, G_W_K};
    p.plan.n_nodes = 3;
    p.plan.n_links = 2;
    p.watch[0] = (LgCourseWatch){{&NODE[2], 1, 0}, AIR_K + top + over * 1e-9, 1e-9};
    p.plan.n_watches = 1;
    g_autoptr(LgCourse) course = ready(&p);
    assert_done(course, 1000);
    const LgCourseRange range = lg_course_range(course, 0);
    g_assert_cmpfloat_with_epsilon(range.most, AIR_K + top, 1e-9);
    g_assert_cmpfloat_with_epsilon(range.most_at_s, top_s, 1e-3);
    g_assert_cmpint(n_events(course), ==, over > 0 ? 0 : 2);
    if (over < 0) {
      int n;
      const LgCourseEvent *events = lg_course_events(course, &n);
      g_assert_cmpfloat_with_epsilon(0.5 * (events[0].at_s + events[1].at_s), top_s, 1e-2);
    }
  }
}

/* A second switch and a watch that see the same node strike at the same time. */
static void test_at_once(void)
{
  Pot p;
  thermostat(&p);
  p.move[1] = p.move[2] = p.move[0];
  p.move[2].on_at -= 0.5;
  p.watch[0] = (LgCourseWatch){{&NODE[0], 1, 0}, AIR_K + 20, 0.5};
  p.turn[0] = (LgCourseTurn){FIRST_S, LG_TURN_MARK, 0, 0, 0};
  p.plan.n_switches = 3;
  p.plan.n_watches = p.plan.n_turns = 1;
  g_autoptr(LgCourse) course = ready(&p);
  assert_done(course, FIRST_S + COOLS_S + 1);
  assert_event(course, 0, LG_EVENT_TURN, 0, 0, FIRST_S);
  for (int k = 0; k < 3; k++)
    assert_event(course, 1 + k, LG_EVENT_SWITCH, k, 0, FIRST_S);
  assert_event(course, 4, LG_EVENT_WATCH, 0, 1, FIRST_S);
  assert_event(course, 5, LG_EVENT_WATCH, 0, 0, FIRST_S + TAU_S * log(20 / 19.5));
  assert_event(course, 6, LG_EVENT_SWITCH, 0, 1, FIRST_S + COOLS_S);
  assert_event(course, 7, LG_EVENT_SWITCH, 1, 1, FIRST_S + COOLS_S);
  g_assert_cmpint(n_events(course), ==, 8);
}

static void test_clock(void)
{
  Pot p;
  pot(&p, 60);
  p.move[0] = (LgCourseSwitch){.kind = LG_SWITCH_CLOCK, .period_s = 40, .share = 0.25};
  p.turn[0] = (LgCourseTurn){100, LG_TURN_SHARE, 0, 0.75, 0};
  p.turn[1] = (LgCourseTurn){200, LG_TURN_SHARE, 0, 0, 0};
  p.plan.n_turns = 2;
  g_autoptr(LgCourse) course = ready(&p);
  assert_done(course, 400);
  static const double MOVES_S[] = {10, 40, 50, 80, 90, 100, 110, 120, 150, 160, 190, 200};
  for (int k = 0, e = 0; k < (int)G_N_ELEMENTS(MOVES_S); k++, e++) {
    if (MOVES_S[k] == 100) { /* the turn; 20 s into the period the longer share is on */
      assert_event(course, e++, LG_EVENT_TURN, 0, 0, 100);
      assert_event(course, e, LG_EVENT_SWITCH, 0, 1, 100);
    } else if (MOVES_S[k] == 200) {
      assert_event(course, e++, LG_EVENT_TURN, 1, 0, 200);
    } else {
      assert_event(course, e, LG_EVENT_SWITCH, 0, k % 2, MOVES_S[k]);
    }
  }
  g_assert_cmpfloat_with_epsilon(lg_course_count(course, 0).on_s, 4 * 10 + 2 * 30, 1e-6);
}

/* Damage of 1/50 per second while on. */
static void breaker(Pot *p, LgCourseBack back)
{
  pot(p, 60);
  p->slow[0] = (LgCourseSlow){.output = 0, .share = 1 / (60 * 50.0)};
  p->move[0] = (LgCourseSwitch){
      .kind = LG_SWITCH_BREAKER, .start = 1, .spent = 0, .back = back, .rest_s = 30};
  p->plan.n_slows = 1;
}

static void test_breaker(void)
{
  Pot p;
  breaker(&p, LG_BACK_SELF);
  g_autoptr(LgCourse) self = ready(&p);
  assert_done(self, 300);
  for (int k = 0; k < 7; k++)
    assert_event(self, k, LG_EVENT_SWITCH, 0, k % 2, 50 + (k + 1) / 2 * 30 + k / 2 * 50);
  breaker(&p, LG_BACK_HAND);
  p.turn[0] = (LgCourseTurn){70, LG_TURN_SWITCH, 0, 1, 0};
  p.plan.n_turns = 1;
  g_autoptr(LgCourse) hand = ready(&p);
  assert_done(hand, 300);
  assert_event(hand, 0, LG_EVENT_SWITCH, 0, 0, 50);
  assert_event(hand, 1, LG_EVENT_TURN, 0, 0, 70);
  assert_event(hand, 2, LG_EVENT_SWITCH, 0, 1, 70);
  assert_event(hand, 3, LG_EVENT_SWITCH, 0, 0, 120);
  g_assert_cmpint(n_events(hand), ==, 4);
}

/* Volts fall with a charge: a relay's coil lets go, and a breaker that waits for that closes. */
static void test_coil(void)
{
  static const LgCourseFelt CHARGE = {{&SLOW, 1, 0}, 1};
  Pot p;
  pot(&p, 60);
  p.felt[1] = CHARGE;
  p.net.drop = 0.01;
  p.slow[0] = (LgCourseSlow){.output = 2, .share = 1};
  p.slow[1] = (LgCourseSlow){.start = 0.9, .output = 2, .share = 0.01};
  p.move[0] = (LgCourseSwitch){
      .kind = LG_SWITCH_BAND, .start = 1, .sum = {&VOLTS, 1, 0}, .on_at = 11, .off_at = 8};
  p.move[1] = (LgCourseSwitch){.kind = LG_SWITCH_BREAKER,
                               .start = 1,
                               .spent = 1,
                               .back = LG_BACK_POWER,
                               .sum = {&VOLTS, 1, 0},
                               .off_at = 11.5};
  p.plan.n_felts = p.plan.n_slows = p.plan.n_switches = 2;
  p.plan.n_outputs = 3;
  g_autoptr(LgCourse) course = ready(&p);
  assert_done(course, 500);
  assert_event(course, 0, LG_EVENT_SWITCH, 1, 0, 10);
  assert_event(course, 1, LG_EVENT_SWITCH, 1, 1, 50);
  assert_event(course, 2, LG_EVENT_SWITCH, 1, 0, 150);
  assert_event(course, 3, LG_EVENT_SWITCH, 1, 1, 150);
}

static void test_chatter(void)
{
  Pot p;
  thermostat(&p);
  p.move[0].on_at = p.move[0].off_at;
  g_autoptr(LgCourse) course = ready(&p);
  const LgCourseEnd end = lg_course_run(course, 4000);
  g_assert_cmpint(end.kind, ==, LG_COURSE_CHATTER);
  g_assert_cmpint(end.index, ==, 0);
  g_assert_cmpfloat_with_epsilon(end.at_s, FIRST_S, 0.1);
  g_assert_cmpfloat_with_epsilon(temperature(course, 0), AIR_K + 20, 1e-3);
}

static gboolean stop_at_300(LgCourse *course, double from_s, double to_s, gpointer user)
{
  const LgCourseSum sum = {&NODE[0], 1, 0};
  (void)user;
  for (int k = 0; k <= 4; k++) {
    const double at_s = from_s + k * (to_s - from_s) / 4;
    g_assert_cmpfloat_with_epsilon(lg_course_sum_at(course, &sum, at_s),
                                   AIR_K - 30 * expm1(-at_s / TAU_S), 1e-9);
  }
  return to_s >= 300;
}

static void test_stops(void)
{
  Pot p;
  pot(&p, 60);
  p.plan.longest_s = 50;
  const LgCourseCalls calls = {respond, stop_at_300, &p.net};
  p.net.n_outputs = 1;
  g_autoptr(LgCourse) course = lg_course_new(&p.plan, &calls, NULL);
  LgCourseEnd end = lg_course_run(course, 4000);
  g_assert_cmpint(end.kind, ==, LG_COURSE_STOPPED);
  g_assert_cmpfloat(end.at_s, >=, 300);
  g_assert_cmpfloat(end.at_s, <=, 350);
  g_assert_cmpfloat_with_epsilon(lg_course_energy(course).given, 60 * end.at_s, 1e-6);
  end = lg_course_run(course, 360);
  g_assert_cmpint(end.kind, ==, LG_COURSE_STOPPED);
  p.net.silent = TRUE;
  g_autoptr(LgCourse) mute = lg_course_new(&p.plan, &calls, NULL);
  end = lg_course_run(mute, 4000);
  g_assert_cmpint(end.kind, ==, LG_COURSE_NO_ANSWER);
  g_assert_cmpfloat(end.at_s, ==, 0);
}

static void assert_refused(const Pot *p, const char *why)
{
  const LgCourseCalls calls = {respond, NULL, NULL};
  g_autoptr(GError) error = NULL;
  g_assert_null(lg_course_new(&p->plan, &calls, &error));
  g_assert_error(error, G_IO_ERROR, G_IO_ERROR_INVALID_ARGUMENT);
  g_assert_nonnull(strstr(error->message, why));
}

static void test_impossible(void)
{
  Pot p;
  pot(&p, 60);
  p.node[0].capacity_J_K = -1;
  assert_refused(&p, "node 0");
  pot(&p, 60);
  p.link[0].W_K = NAN;
  assert_refused(&p, "link 0");
  pot(&p, 60);
  p.node[2] = (LgCourseNode){.bends_to = -1};
  p.plan.n_nodes = 3;
  assert_refused(&p, "node 2");
  pot(&p, 60);
  p.turn[0].at_s = 5;
  p.plan.n_turns = 2;
  assert_refused(&p, "turn 1");
}

/* The curve of the heat room within a few per cent. */
static void test_loss_fit(void)
{
  const LgHeatWire wire = {0.0077, 2.3e-6, 1.9e-3, 3.1e-3, 0.2, 2e6};
  const LgSurroundings around = lg_bare(298.15);
  const LgHeatLoss loss = lg_heat_loss(&wire, &around);
  double link, bend[2];
  const double worst = lg_course_fit_loss(&wire, &loss, 298.15, 378.15, &link, bend);
  g_test_message("worst %.3f", worst);
  g_assert_cmpfloat(worst, <, 0.03);
  for (double current = 15; current <= 25; current += 5) {
    const double T = lg_wire_temperature(&wire, &around, current), d = T - 298.15;
    const double heat = current * current * lg_heat_wire_ohm_m(&wire, T);
    g_assert_cmpfloat_with_epsilon((link + bend[0] * d + bend[1] * d * d) * d, heat, 0.04 * heat);
  }
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/course/charge", test_charge);
  g_test_add_func("/course/warming-resistance", test_warming_resistance);
  g_test_add_func("/course/bend", test_bend);
  g_test_add_func("/course/two-lumps", test_two_lumps);
  g_test_add_func("/course/massless", test_massless);
  g_test_add_func("/course/thermostat", test_thermostat);
  g_test_add_func("/course/least-times", test_least_times);
  g_test_add_func("/course/delay", test_delay);
  g_test_add_func("/course/graze", test_graze);
  g_test_add_func("/course/at-once", test_at_once);
  g_test_add_func("/course/clock", test_clock);
  g_test_add_func("/course/breaker", test_breaker);
  g_test_add_func("/course/coil", test_coil);
  g_test_add_func("/course/chatter", test_chatter);
  g_test_add_func("/course/stops", test_stops);
  g_test_add_func("/course/impossible", test_impossible);
  g_test_add_func("/course/loss-fit", test_loss_fit);
  return g_test_run();
}
