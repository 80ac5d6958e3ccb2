#include "cvode-course.h"

#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

#include <math.h>
#include <string.h>

#define NOW_S 1e-7

typedef struct {
  const LgCoursePlan *plan;
  const LgCourseCalls *calls;
  GArray *events;
  double now_s;
  int n; /* states: nodes with capacity, then slow quantities */
  int *state_of;
  double *held_K, *temperature, *slow, *out, *felt;
  int *position;
  double *moved_s, *pending_s, *on_at, *off_at, *share;
  gboolean *above, failed;
  int next_turn;
} Run;

static double sum_of(const Run *run, const LgCourseSum *sum)
{
  double value = sum->plus;
  for (int t = 0; t < sum->n_terms; t++) {
    const LgCourseTerm *term = &sum->terms[t];
    value += term->weight * (term->of == LG_OF_NODE   ? run->temperature[term->index]
                             : term->of == LG_OF_SLOW ? run->slow[term->index]
                                                      : run->out[term->index]);
  }
  return value;
}

/* Temperatures, felts and outputs from the state. */
static void spread(Run *run, const double y[])
{
  const LgCoursePlan *p = run->plan;
  for (int i = 0; i < p->n_nodes; i++)
    run->temperature[i] = p->nodes[i].held        ? run->held_K[i]
                          : run->state_of[i] >= 0 ? y[run->state_of[i]]
                                                  : 0;
  for (int i = 0; i < p->n_nodes; i++)
    if (!p->nodes[i].held && run->state_of[i] < 0) {
      double sum = 0, weight = 0;
      for (int l = 0; l < p->n_links; l++) {
        const int other = p->links[l].a == i   ? p->links[l].b
                          : p->links[l].b == i ? p->links[l].a
                                               : -1;
        if (other >= 0) {
          sum += p->links[l].W_K * run->temperature[other];
          weight += p->links[l].W_K;
        }
      }
      run->temperature[i] = sum / weight;
    }
  for (int s = 0; s < p->n_slows; s++)
    run->slow[s] = y[run->n - p->n_slows + s];
  for (int k = 0; k < p->n_felts; k++)
    run->felt[k] = sum_of(run, &p->felts[k].sum);
  if (!run->calls->respond(run->position, run->felt, run->out, run->calls->user))
    run->failed = TRUE;
}

static int rates(sunrealtype t, N_Vector state, N_Vector rate, void *user)
{
  Run *run = user;
  const LgCoursePlan *p = run->plan;
  double *dy = N_VGetArrayPointer(rate);
  (void)t;
  spread(run, N_VGetArrayPointer(state));
  memset(dy, 0, sizeof *dy * (gsize)run->n);
  for (int l = 0; l < p->n_links; l++) {
    const int a = p->links[l].a, b = p->links[l].b;
    const double flow = p->links[l].W_K * (run->temperature[b] - run->temperature[a]);
    if (run->state_of[a] >= 0)
      dy[run->state_of[a]] += flow;
    if (run->state_of[b] >= 0)
      dy[run->state_of[b]] -= flow;
  }
  for (int k = 0; k < p->n_heats; k++) {
    const int i = p->heats[k].node;
    const LgCourseNode *node = &p->nodes[i];
    if (run->state_of[i] >= 0)
      dy[run->state_of[i]] += p->heats[k].share * run->out[p->heats[k].output] *
                              (1 + node->own_per_K * (run->temperature[i] - node->own_at_K));
  }
  for (int i = 0; i < p->n_nodes; i++) {
    const LgCourseNode *node = &p->nodes[i];
    if (run->state_of[i] < 0)
      continue;
    if (node->bends_to >= 0) {
      const double d = run->temperature[i] - run->temperature[node->bends_to];
      dy[run->state_of[i]] -= (node->bend[0] * fabs(d) + node->bend[1] * d * d) * d;
    }
    dy[run->state_of[i]] /= node->capacity_J_K;
  }
  for (int s = 0; s < p->n_slows; s++)
    dy[run->n - p->n_slows + s] =
        p->slows[s].share * run->out[p->slows[s].output] -
        (p->slows[s].forget_s > 0 ? run->slow[s] / p->slows[s].forget_s : 0);
  return run->failed ? -1 : 0;
}

/* What switch or watch `k` waits for: g >= 0. FALSE: nothing now. */
static gboolean waits(const Run *run, int k, double *g)
{
  const LgCoursePlan *p = run->plan;
  if (k >= p->n_switches) {
    const LgCourseWatch *w = &p->watches[k - p->n_switches];
    const double slack = w->slack > 0 ? w->slack : 1e-6, value = sum_of(run, &w->sum);
    *g = run->above[k - p->n_switches] ? w->limit - slack - value : value - w->limit;
    return TRUE;
  }
  const LgCourseSwitch *s = &p->switches[k];
  if (s->kind == LG_SWITCH_BREAKER) {
    *g = run->position[k] ? run->slow[s->spent] - 1 : run->off_at[k] - sum_of(run, &s->sum);
    return run->position[k] || s->back == LG_BACK_POWER;
  }
  if (s->kind != LG_SWITCH_BAND || isfinite(run->pending_s[k]))
    return FALSE;
  const double limit = run->position[k] ? run->off_at[k] : run->on_at[k];
  const gboolean warms = run->on_at[k] <= run->off_at[k];
  *g = (warms == (run->position[k] != 0) ? 1 : -1) * (sum_of(run, &s->sum) - limit);
  return run->now_s + NOW_S >=
         run->moved_s[k] + (run->position[k] ? s->least_on_s : s->least_off_s);
}

static int roots(sunrealtype t, N_Vector state, sunrealtype *g, void *user)
{
  Run *run = user;
  (void)t;
  spread(run, N_VGetArrayPointer(state));
  for (int k = 0; k < run->plan->n_switches + run->plan->n_watches; k++)
    if (!waits(run, k, &g[k]))
      g[k] = -1;
  return 0;
}

static double clock_edge(const Run *run, int k, int *position)
{
  const LgCourseSwitch *s = &run->plan->switches[k];
  const double turns = floor((run->now_s + NOW_S - s->offset_s) / s->period_s);
  const double off_s = s->offset_s + (turns + run->share[k]) * s->period_s;
  *position = run->now_s + NOW_S < off_s;
  return *position && run->share[k] < 1 ? off_s : s->offset_s + (turns + 1) * s->period_s;
}

static double next_stop(const Run *run, double until_s)
{
  const LgCoursePlan *p = run->plan;
  double stop = until_s;
  int position;
  if (run->next_turn < p->n_turns)
    stop = MIN(stop, p->turns[run->next_turn].at_s);
  for (int k = 0; k < p->n_switches; k++) {
    const LgCourseSwitch *s = &p->switches[k];
    const double free_s = run->moved_s[k] + (run->position[k] ? s->least_on_s : s->least_off_s);
    stop = MIN(stop, run->pending_s[k]);
    if (s->kind == LG_SWITCH_BAND && free_s > run->now_s + NOW_S)
      stop = MIN(stop, free_s);
    if (s->kind == LG_SWITCH_CLOCK)
      stop = MIN(stop, clock_edge(run, k, &position));
  }
  return stop;
}

static void tell(Run *run, LgCourseEventKind kind, int index, int from, int to)
{
  const LgCourseEvent event = {run->now_s, kind, index, from, to};
  g_array_append_val(run->events, event);
}

static void move(Run *run, int k, int to, double y[])
{
  const LgCourseSwitch *s = &run->plan->switches[k];
  run->pending_s[k] = INFINITY;
  if (s->kind == LG_SWITCH_BREAKER && to)
    y[run->n - run->plan->n_slows + s->spent] = 0;
  if (s->kind == LG_SWITCH_BREAKER && !to && s->back == LG_BACK_SELF)
    run->pending_s[k] = run->now_s + s->rest_s;
  if (run->position[k] == to)
    return;
  tell(run, LG_EVENT_SWITCH, k, run->position[k], to);
  run->position[k] = to;
  run->moved_s[k] = run->now_s;
}

static void turn(Run *run, double y[])
{
  const LgCourseTurn *t = &run->plan->turns[run->next_turn];
  tell(run, LG_EVENT_TURN, run->next_turn++, 0, 0);
  if (t->what == LG_TURN_SWITCH)
    move(run, t->index, (int)t->value, y);
  else if (t->what == LG_TURN_HELD)
    run->held_K[t->index] = t->value;
  else if (t->what == LG_TURN_SHARE)
    run->share[t->index] = t->value;
  else if (t->what == LG_TURN_BAND) {
    run->on_at[t->index] = t->value;
    run->off_at[t->index] = t->other;
  }
}

/* All that is due; `found` marks roots that CVODE has just reported, NULL: none. */
static void fire(Run *run, double y[], const int found[])
{
  const LgCoursePlan *p = run->plan;
  gboolean again = TRUE;
  while (run->next_turn < p->n_turns && p->turns[run->next_turn].at_s <= run->now_s + NOW_S)
    turn(run, y);
  for (int pass = 0; again && pass < 50; pass++) {
    int wish[64];
    again = FALSE;
    spread(run, y);
    for (int k = 0; k < p->n_switches; k++) {
      double g = -1;
      wish[k] = -1;
      if (p->switches[k].kind == LG_SWITCH_CLOCK) {
        clock_edge(run, k, &wish[k]);
        if (wish[k] == run->position[k])
          wish[k] = -1;
      } else if (run->pending_s[k] <= run->now_s + NOW_S) {
        wish[k] = !run->position[k];
      } else if (waits(run, k, &g) && (g >= 0 || (pass == 0 && found != NULL && found[k] > 0))) {
        const LgCourseSwitch *s = &p->switches[k];
        const double delay = run->position[k] ? s->delay_off_s : s->delay_on_s;
        if (delay > 0)
          run->pending_s[k] = run->now_s + delay;
        else
          wish[k] = !run->position[k];
      }
    }
    for (int k = 0; k < p->n_switches; k++)
      if (wish[k] >= 0) {
        move(run, k, wish[k], y);
        again = TRUE;
      }
    for (int w = 0; w < p->n_watches; w++) {
      const int k = p->n_switches + w;
      double g;
      if (waits(run, k, &g) && (g >= 0 || (pass == 0 && found != NULL && found[k] > 0))) {
        run->above[w] = !run->above[w];
        tell(run, LG_EVENT_WATCH, w, !run->above[w], run->above[w]);
      }
    }
  }
}

static void begin(Run *run, double y[])
{
  const LgCoursePlan *p = run->plan;
  for (int i = 0; i < p->n_nodes; i++) {
    run->held_K[i] = p->nodes[i].start_K;
    run->state_of[i] = -1;
    if (!p->nodes[i].held && p->nodes[i].capacity_J_K > 0) {
      run->state_of[i] = run->n;
      y[run->n++] = p->nodes[i].start_K;
    }
  }
  for (int s = 0; s < p->n_slows; s++)
    y[run->n++] = p->slows[s].start;
  for (int k = 0; k < p->n_switches; k++) {
    const LgCourseSwitch *s = &p->switches[k];
    run->on_at[k] = s->on_at;
    run->off_at[k] = s->off_at;
    run->share[k] = s->share;
    run->moved_s[k] = -INFINITY;
    run->pending_s[k] = INFINITY;
    run->position[k] = s->start;
    if (s->kind == LG_SWITCH_CLOCK)
      clock_edge(run, k, &run->position[k]);
  }
  spread(run, y);
  for (int w = 0; w < p->n_watches; w++)
    run->above[w] = sum_of(run, &p->watches[w].sum) >= p->watches[w].limit;
}

static gboolean integrate(Run *run, void *cvode, N_Vector state, double until_s)
{
  const int n_roots = run->plan->n_switches + run->plan->n_watches;
  int *found = g_new0(int, n_roots + 1);
  double *y = N_VGetArrayPointer(state);
  gboolean good = TRUE;
  fire(run, y, NULL);
  while (good && run->now_s < until_s - NOW_S) {
    const double stop_s = next_stop(run, until_s);
    sunrealtype reached;
    CVodeReInit(cvode, run->now_s, state);
    CVodeSetStopTime(cvode, stop_s);
    const int end = CVode(cvode, stop_s, state, &reached, CV_NORMAL);
    good = end >= 0 && !run->failed;
    run->now_s = end == CV_ROOT_RETURN ? reached : stop_s;
    if (end == CV_ROOT_RETURN)
      CVodeGetRootInfo(cvode, found);
    if (good)
      fire(run, y, end == CV_ROOT_RETURN ? found : NULL);
  }
  g_free(found);
  return good;
}

static void run_free(Run *run)
{
  g_free(run->state_of);
  g_free(run->held_K);
  g_free(run->temperature);
  g_free(run->slow);
  g_free(run->out);
  g_free(run->felt);
  g_free(run->position);
  g_free(run->moved_s);
  g_free(run->pending_s);
  g_free(run->on_at);
  g_free(run->off_at);
  g_free(run->share);
  g_free(run->above);
}

static Run run_new(const LgCoursePlan *p, const LgCourseCalls *calls, GArray *events)
{
  const gsize nodes = (gsize)p->n_nodes + 1, switches = (gsize)p->n_switches + 1;
  return (Run){.plan = p,
               .calls = calls,
               .events = events,
               .state_of = g_new0(int, nodes),
               .held_K = g_new0(double, nodes),
               .temperature = g_new0(double, nodes),
               .slow = g_new0(double, p->n_slows + 1),
               .out = g_new0(double, p->n_outputs + 1),
               .felt = g_new0(double, p->n_felts + 1),
               .position = g_new0(int, switches),
               .moved_s = g_new0(double, switches),
               .pending_s = g_new0(double, switches),
               .on_at = g_new0(double, switches),
               .off_at = g_new0(double, switches),
               .share = g_new0(double, switches),
               .above = g_new0(gboolean, p->n_watches + 1)};
}

gboolean cvode_course(const LgCoursePlan *plan, const LgCourseCalls *calls, double until_s,
                      double relative, gboolean adams, GArray *events, double node_K[])
{
  Run run = run_new(plan, calls, events);
  SUNContext context;
  SUNContext_Create(NULL, &context);
  int n = plan->n_slows;
  for (int i = 0; i < plan->n_nodes; i++)
    n += !plan->nodes[i].held && plan->nodes[i].capacity_J_K > 0;
  N_Vector state = N_VNew_Serial(n, context), absolute = N_VNew_Serial(n, context);
  begin(&run, N_VGetArrayPointer(state));
  for (int k = 0; k < n; k++)
    N_VGetArrayPointer(absolute)[k] = k < n - plan->n_slows ? relative * 100 : relative;
  SUNMatrix matrix = SUNDenseMatrix(n, n, context);
  SUNLinearSolver solver = SUNLinSol_Dense(state, matrix, context);
  void *cvode = CVodeCreate(adams ? CV_ADAMS : CV_BDF, context);
  CVodeInit(cvode, rates, 0, state);
  CVodeSVtolerances(cvode, relative, absolute);
  CVodeSetUserData(cvode, &run);
  CVodeSetLinearSolver(cvode, solver, matrix);
  CVodeSetMaxNumSteps(cvode, 1000000);
  CVodeRootInit(cvode, plan->n_switches + plan->n_watches, roots);
  CVodeSetNoInactiveRootWarn(cvode);
  const gboolean good = integrate(&run, cvode, state, until_s);
  spread(&run, N_VGetArrayPointer(state));
  if (node_K != NULL)
    memcpy(node_K, run.temperature, sizeof *node_K * (gsize)plan->n_nodes);
  CVodeFree(&cvode);
  SUNLinSolFree(solver);
  SUNMatDestroy(matrix);
  N_VDestroy(state);
  N_VDestroy(absolute);
  SUNContext_Free(&context);
  run_free(&run);
  return good;
}
