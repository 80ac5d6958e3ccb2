/* Speed of the course of time: three pads of a seat through 8 h, each with its thermostat, beside
 * SUNDIALS CVODE (the loosest tolerance with which its events are the same and within 1e-3 s) and
 * an ngspice transient of the same circuit with heat as current, all in this process and this run.
 * The reference is CVODE at 1e-12. Each figure is the median of several repeats, a new course each
 * time.
 * --json: one object. */
#include "circuit/net.h"
#include "course-case.h"
#include "cvode-course.h"
#include "spice.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { REPEATS = 15, SLOW_REPEATS = 5, MORNINGS = 120 };
#define LASTS_S 28800.0
#define MORNING_S 5400.0

static double seconds(void)
{
  struct timespec t;
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static int compare_doubles(const void *x, const void *y)
{
  const double a = *(const double *)x, b = *(const double *)y;
  return (a > b) - (a < b);
}

static double median(double values[], int n)
{
  qsort(values, (gsize)n, sizeof *values, compare_doubles);
  return values[n / 2];
}

/* ---- The same circuit, wire by wire, by the house's own solver ---- */

enum { PIECES = 6 };
typedef struct {
  CourseCase *c;
  LgNet *net;
  LgNetWork *work;
  int source, feed[PIECES], wire[COURSE_CIRCUITS][PIECES], pad[COURSE_CIRCUITS];
  double *volts;
} Harness;

static int resistor(LgNet *net, int a, int b, int gate)
{
  return lg_net_add_branch(net, (LgNetBranch){LG_BRANCH_RESISTOR, a, b, gate, {1, 0, 0}});
}

static void harness_build(Harness *h, CourseCase *c)
{
  const int n = c->n_circuits;
  int node = 1;
  h->c = c;
  h->net = lg_net_new(1 + (1 + PIECES) + n * (PIECES + 1));
  for (int k = 0; k < n; k++) {
    lg_net_add_input(h->net, (LgNetInput){2});
    lg_net_add_gate(h->net, (LgNetGate){{k, -1}, {2, 0}, -1, FALSE});
  }
  h->source = lg_net_add_branch(h->net, (LgNetBranch){LG_BRANCH_SOURCE, 1, 0, -1, {1, 12, 0}});
  for (int p = 0; p < PIECES; p++, node++)
    h->feed[p] = resistor(h->net, node, node + 1, -1);
  const int bus = node++;
  for (int k = 0; k < n; k++) {
    for (int p = 0; p < PIECES; p++, node++)
      h->wire[k][p] = resistor(h->net, p == 0 ? bus : node - 1, node, p == 0 ? k : -1);
    h->pad[k] = resistor(h->net, node - 1, 0, -1);
  }
  lg_net_close(h->net);
  h->work = lg_net_work_new(h->net);
  h->volts = g_new(double, lg_net_n_nodes(h->net));
}

static void harness_clear(Harness *h)
{
  lg_net_work_free(h->work);
  lg_net_free(h->net);
  g_free(h->volts);
}

static double copper(double ohm, double K)
{
  return ohm * (1 + (K - 293.15) / 254.5);
}

static gboolean harness_respond(const int position[], const double felt[], double out[],
                                gpointer user)
{
  Harness *h = user;
  CourseCase *c = h->c;
  const int n = c->n_circuits;
  const double q = felt[0], inner = c->inner_ohm * (1 + 0.5 * (1 - q) * (1 - q));
  const double emf = c->emf_V + c->emf_per_charge_V * (q - 1) * (1.2 - 0.2 * q);
  lg_net_set_param(h->net, h->source, 0, 1 / inner);
  lg_net_set_param(h->net, h->source, 1, emf);
  for (int p = 0; p < PIECES; p++)
    lg_net_set_param(h->net, h->feed[p], 0, PIECES / copper(c->feed_ohm, felt[1]));
  for (int k = 0; k < n; k++) {
    for (int p = 0; p < PIECES; p++)
      lg_net_set_param(h->net, h->wire[k][p], 0, PIECES / copper(c->wire_ohm[k], felt[2 + 2 * k]));
    lg_net_set_param(h->net, h->pad[k], 0,
                     1 / (c->pad_ohm[k] * (1 + c->pad_per_K * (felt[3 + 2 * k] - 293.15))));
  }
  lg_net_solve(h->net, h->work, position, NULL, h->volts, NULL, NULL);
  const double all = (emf - h->volts[1]) / inner;
  for (int k = 0; k < n; k++) {
    const LgNetBranch *pad = lg_net_branch(h->net, h->pad[k]);
    const double volts = position[k] ? h->volts[pad->a] : 0, i = volts * pad->p[0];
    out[k] = i * volts;
    out[n + k] = i * i;
  }
  out[2 * n] = all * all;
  out[2 * n + 1] = -all / c->charge_As;
  out[2 * n + 2] = emf * all;
  out[2 * n + 3] = all * all * inner;
  out[2 * n + 4] = h->volts[1 + PIECES];
  return TRUE;
}

/* ---- Ours ---- */

typedef struct {
  double ms;
  int events;
  LgCourseWork work;
  double balance; /* of given against heated, elsewhere; relative */
} Ours;

static Ours time_ours(const CourseCase *c, const LgCourseCalls *calls, GArray *events)
{
  double times[REPEATS];
  Ours ours = {0};
  for (int r = 0; r < REPEATS; r++) {
    const double start = seconds();
    LgCourse *course = lg_course_new(&c->plan, calls, NULL);
    const LgCourseEnd end = lg_course_run(course, LASTS_S);
    times[r] = (seconds() - start) * 1e3;
    g_assert_cmpint(end.kind, ==, LG_COURSE_DONE);
    const LgCourseEvent *list = lg_course_events(course, &ours.events);
    const LgCourseEnergy e = lg_course_energy(course);
    ours.balance = fabs(e.given - e.elsewhere - e.stored - e.lost) / e.given;
    ours.work = lg_course_work(course);
    g_array_set_size(events, 0);
    g_array_append_vals(events, list, (guint)ours.events);
    lg_course_free(course);
  }
  ours.ms = median(times, REPEATS);
  return ours;
}

/* Each morning as cold as its number says, the seat as cold as the air. */
static double time_winter(const CourseCase *c, const LgCourseCalls *calls, int *moves)
{
  double node_K[COURSE_MOST], slow[COURSE_MOST];
  const double start = seconds();
  LgCourse *course = lg_course_new(&c->plan, calls, NULL);
  *moves = 0;
  for (int day = 0; day < MORNINGS; day++) {
    for (int i = 0; i < c->plan.n_nodes; i++)
      node_K[i] = 273.15 + 12 * cos(2 * G_PI * day / MORNINGS);
    for (int s = 0; s < c->plan.n_slows; s++)
      slow[s] = c->plan.slows[s].start;
    lg_course_restart(course, node_K, slow);
    lg_course_run(course, MORNING_S);
    for (int s = 0; s < c->plan.n_switches; s++)
      *moves += lg_course_count(course, s).times_on;
  }
  lg_course_free(course);
  return seconds() - start;
}

/* ---- Theirs ---- */

/* Greatest difference of the times of the same events; NAN when the sequence is another. */
static double distance(const GArray *a, const GArray *b)
{
  double worst = 0;
  if (a->len != b->len)
    return NAN;
  for (guint k = 0; k < a->len; k++) {
    const LgCourseEvent *x = &g_array_index(a, LgCourseEvent, k),
                        *y = &g_array_index(b, LgCourseEvent, k);
    if (x->kind != y->kind || x->index != y->index || x->to != y->to)
      return NAN;
    worst = MAX(worst, fabs(x->at_s - y->at_s));
  }
  return worst;
}

typedef struct {
  double ms, error_s, tolerance;
  gboolean adams;
} Cvode;

static double time_cvode(const CourseCase *c, const LgCourseCalls *calls, double relative,
                         gboolean adams, int repeats, GArray *events)
{
  double times[SLOW_REPEATS];
  for (int r = 0; r < repeats; r++) {
    g_array_set_size(events, 0);
    const double start = seconds();
    if (!cvode_course(&c->plan, calls, LASTS_S, relative, adams, events, NULL))
      return NAN;
    times[r] = (seconds() - start) * 1e3;
  }
  return median(times, repeats);
}

/* The faster of its two methods at the loosest tolerance that is good enough for the method. */
static Cvode best_cvode(const CourseCase *c, const LgCourseCalls *calls, const GArray *reference)
{
  Cvode best = {INFINITY, NAN, NAN, FALSE};
  g_autoptr(GArray) events = g_array_new(FALSE, FALSE, sizeof(LgCourseEvent));
  for (int adams = 0; adams <= 1; adams++)
    for (int third = 12; third <= 36; third++) {
      const double relative = pow(10, -third / 3.0);
      time_cvode(c, calls, relative, adams, 1, events);
      const double error_s = distance(events, reference);
      if (!(error_s <= 1e-3))
        continue;
      const double ms = time_cvode(c, calls, relative, adams, SLOW_REPEATS, events);
      if (ms < best.ms)
        best = (Cvode){ms, error_s, relative, adams};
      break;
    }
  return best;
}

/* Temperatures are volts over the air's, heat is current, capacities are farads. */
static GPtrArray *spice_deck(const CourseCase *c)
{
  const int n = c->n_circuits;
  const double air_K = c->node[0].start_K;
  GPtrArray *deck = g_ptr_array_new_with_free_func(g_free);
#define LINE(...) g_ptr_array_add(deck, g_strdup_printf(__VA_ARGS__))
  LINE("bq q n0 i = i(vall)/%.17g", c->charge_As);
  LINE("cq q n0 1 ic=%.17g", c->slow[0].start);
  LINE("bemf e n0 v = %.17g + %.17g*(v(q)-1)*(1.2-0.2*v(q))", c->emf_V, c->emf_per_charge_V);
  LINE("vall e e1 dc 0");
  LINE("bin e1 e2 v = i(vall)*%.17g*(1+0.5*(1-v(q))*(1-v(q)))", c->inner_ohm);
  LINE("bfeed e2 bus v = i(vall)*%.17g*(1+(v(t1)+%.17g)/254.5)", c->feed_ohm, air_K - 293.15);
  for (int i = 1; i < c->plan.n_nodes; i++) {
    LINE("c%d t%d n0 %.17g ic=0", i, i, c->node[i].capacity_J_K);
    if (c->node[i].bends_to >= 0)
      LINE("bl%d t%d n0 i = (%.17g*abs(v(t%d)) + %.17g*v(t%d)*v(t%d))*v(t%d)", i, i,
           c->node[i].bend[0], i, c->node[i].bend[1], i, i, i);
  }
  for (int l = 0; l < c->plan.n_links; l++)
    LINE("r%d %s%d %s%d %.17g", l, c->link[l].a == 0 ? "n" : "t", c->link[l].a,
         c->link[l].b == 0 ? "n" : "t", c->link[l].b, 1 / c->link[l].W_K);
  for (int k = 0; k < n; k++) {
    const int wire = c->felt[2 + 2 * k].sum.terms->index, pad = c->felt[3 + 2 * k].sum.terms->index;
    const LgCourseSwitch *s = &c->move[k];
    LINE("v%d bus a%d dc 0", k, k);
    LINE("s%d a%d b%d n0 t%d m%d on", k, k, k, pad, k);
    LINE(".model m%d sw vt=%.17g vh=%.17g ron=1e-6 roff=1e9", k, air_K - (s->on_at + s->off_at) / 2,
         (s->off_at - s->on_at) / 2);
    LINE("bw%d b%d n0 i = v(b%d)/(%.17g*(1+(v(t%d)+%.17g)/254.5) + %.17g*(1+%.17g*(v(t%d)+%.17g)))",
         k, k, k, c->wire_ohm[k], wire, air_K - 293.15, c->pad_ohm[k], c->pad_per_K, pad,
         air_K - 293.15);
    LINE("bhp%d n0 t%d i = i(v%d)*i(v%d)*%.17g*(1+%.17g*(v(t%d)+%.17g))", k, pad, k, k,
         c->pad_ohm[k], c->pad_per_K, pad, air_K - 293.15);
    LINE("bhw%d n0 t%d i = i(v%d)*i(v%d)*%.17g*(1+(v(t%d)+%.17g)/254.5)", k, wire, k, k,
         c->wire_ohm[k], wire, air_K - 293.15);
  }
  LINE("bhf n0 t1 i = i(vall)*i(vall)*%.17g*(1+(v(t1)+%.17g)/254.5)", c->feed_ohm, air_K - 293.15);
#undef LINE
  g_ptr_array_add(deck, NULL);
  return deck;
}

/* With its own 1e-12 A it goes astray in currents of 50 W. */
#define SPICE_OPTIONS "reltol=1e-4 abstol=1e-6 vntol=1e-6"

/* Moves of the switches, seen from the volts behind them. */
static double time_spice(const CourseCase *c, double most_s, GArray *events)
{
  const char *names[] = {"v(b0)", "v(b1)", "v(b2)"};
  g_autoptr(GPtrArray) deck = spice_deck(c);
  GArray *at_s = g_array_new(FALSE, FALSE, sizeof(double)), *volts[3];
  for (int k = 0; k < 3; k++)
    volts[k] = g_array_new(FALSE, FALSE, sizeof(double));
  const double took_s = spice_transient((char *const *)deck->pdata, SPICE_OPTIONS, 10, LASTS_S,
                                        most_s, names, 3, at_s, volts);
  g_array_set_size(events, 0);
  for (guint i = 1; i < at_s->len; i++)
    for (int k = 0; k < 3; k++) {
      const gboolean before = g_array_index(volts[k], double, i - 1) > 1,
                     now = g_array_index(volts[k], double, i) > 1;
      const LgCourseEvent event = {g_array_index(at_s, double, i), LG_EVENT_SWITCH, k, before, now};
      if (before != now)
        g_array_append_val(events, event);
    }
  g_array_unref(at_s);
  for (int k = 0; k < 3; k++)
    g_array_unref(volts[k]);
  return took_s * 1e3;
}

/* ---- Report ---- */

static void print_number(const char *name, double value, const char *after)
{
  if (isfinite(value))
    printf("\"%s\": %.6g%s", name, value, after);
  else
    printf("\"%s\": null%s", name, after);
}

typedef struct {
  Ours plain, harness;
  double error_s, harness_error_s, winter_s;
  int winter_moves;
  Cvode cvode;
  double cvode_harness_ms, spice_ms, spice_error_s, spice_step_s;
  int spice_events;
} Figures;

/* At the longest step with which the sequence is right; at the shortest tried when none is. */
static void measure_spice(const CourseCase *c, const GArray *reference, GArray *events, Figures *f)
{
  static const double STEPS_S[] = {10, 2, 0.5};
  double times[3];
  f->spice_error_s = NAN;
  for (guint k = 0; k < G_N_ELEMENTS(STEPS_S) && isnan(f->spice_error_s); k++) {
    f->spice_step_s = STEPS_S[k];
    for (int r = 0; r < 3; r++)
      times[r] = time_spice(c, STEPS_S[k], events);
    f->spice_ms = median(times, 3);
    f->spice_events = (int)events->len;
    f->spice_error_s = distance(events, reference);
  }
}

static void print_table(const Figures *f)
{
  printf("8 h, three thermostats, %d events   ms       times ours   worst event, s\n",
         f->plain.events);
  printf("%-33s %8.2f   %10s   %.1e\n", "ours", f->plain.ms, "", f->error_s);
  printf("%-33s %8.2f   %10s   %.1e\n", "ours, network of 26 nodes solved", f->harness.ms, "",
         f->harness_error_s);
  printf("CVODE, %s, %.1e %8s %8.1f   %10.1f   %.1e\n", f->cvode.adams ? "Adams" : "BDF",
         f->cvode.tolerance, "", f->cvode.ms, f->cvode.ms / f->plain.ms, f->cvode.error_s);
  printf("%-33s %8.1f   %10.1f\n", "the same, network solved", f->cvode_harness_ms,
         f->cvode_harness_ms / f->harness.ms);
  printf("ngspice, %3g s, %4d events         %8.1f   %10.1f   %.1e\n", f->spice_step_s,
         f->spice_events, f->spice_ms, f->spice_ms / f->plain.ms, f->spice_error_s);
  printf("steps %d, network solved %d times, balance %.0e\n", f->plain.work.steps,
         f->plain.work.solved, f->plain.balance);
  printf("a winter of %d mornings of 1.5 h: %.3f s, %d times on\n", MORNINGS, f->winter_s,
         f->winter_moves);
}

static void print_json(const Figures *f)
{
  printf("{\"bench\": \"time\", \"events\": %d, ", f->plain.events);
  print_number("ms", f->plain.ms, ", ");
  print_number("worst_event_s", f->error_s, ", ");
  print_number("harness_ms", f->harness.ms, ", ");
  print_number("harness_worst_event_s", f->harness_error_s, ", ");
  print_number("cvode_ms", f->cvode.ms, ", ");
  print_number("cvode_relative_tolerance", f->cvode.tolerance, ", ");
  print_number("cvode_worst_event_s", f->cvode.error_s, ", ");
  print_number("cvode_over_ours", f->cvode.ms / f->plain.ms, ", ");
  print_number("cvode_harness_ms", f->cvode_harness_ms, ", ");
  print_number("cvode_harness_over_ours", f->cvode_harness_ms / f->harness.ms, ", ");
  print_number("ngspice_ms", f->spice_ms, ", ");
  printf("\"ngspice_events\": %d, ", f->spice_events);
  print_number("ngspice_longest_step_s", f->spice_step_s, ", ");
  print_number("ngspice_worst_event_s", f->spice_error_s, ", ");
  print_number("ngspice_over_ours", f->spice_ms / f->plain.ms, ", ");
  printf("\"steps\": %d, \"solved\": %d, ", f->plain.work.steps, f->plain.work.solved);
  print_number("balance", f->plain.balance, ", ");
  print_number("winter_s", f->winter_s, "}\n");
}

int main(int argc, char **argv)
{
  static CourseCase c;
  course_case_seat(&c);
  Harness harness;
  harness_build(&harness, &c);
  const LgCourseCalls plain = {course_case_respond, NULL, &c},
                      solved = {harness_respond, NULL, &harness};
  GArray *reference = g_array_new(FALSE, FALSE, sizeof(LgCourseEvent)),
         *events = g_array_new(FALSE, FALSE, sizeof(LgCourseEvent));
  Figures f;
  if (!cvode_course(&c.plan, &plain, LASTS_S, 1e-12, FALSE, reference, NULL))
    return 1;
  f.plain = time_ours(&c, &plain, events);
  f.error_s = distance(events, reference);
  f.harness = time_ours(&c, &solved, events);
  f.harness_error_s = distance(events, reference);
  f.winter_s = time_winter(&c, &plain, &f.winter_moves);
  f.cvode = best_cvode(&c, &plain, reference);
  f.cvode_harness_ms =
      time_cvode(&c, &solved, f.cvode.tolerance, f.cvode.adams, SLOW_REPEATS, events);
  measure_spice(&c, reference, events, &f);
  if (argc > 1 && strcmp(argv[argc - 1], "--json") == 0)
    print_json(&f);
  else
    print_table(&f);
  g_array_unref(reference);
  g_array_unref(events);
  harness_clear(&harness);
  return 0;
}
