/* The plan taken over, the run, and what it leaves. */
#include "time/course-private.h"

#include <gio/gio.h>
#include <stdlib.h>

gpointer lg_course_own(LgCourse *course, gsize n, gsize size)
{
  const gsize line = sizeof(LgCourseVec), bytes = (n * size / line + 1) * line;
  g_assert(size == 0 || n < G_MAXSIZE / 2 / size);
  gpointer memory = aligned_alloc(line, bytes);
  if (memory == NULL)
    g_error("out of memory: %" G_GSIZE_FORMAT " bytes", bytes);
  memset(memory, 0, bytes);
  g_ptr_array_add(course->owned, memory);
  return memory;
}

/* ---- Plan ---- */

static gboolean refuse(GError **error, const char *what, int index, const char *why)
{
  g_set_error(error, G_IO_ERROR, G_IO_ERROR_INVALID_ARGUMENT, "%s %d: %s", what, index, why);
  return FALSE;
}

static void assert_sum(const LgCoursePlan *plan, const LgCourseSum *sum)
{
  for (int t = 0; t < sum->n_terms; t++) {
    const LgCourseTerm *term = &sum->terms[t];
    const int n = term->of == LG_OF_NODE   ? plan->n_nodes
                  : term->of == LG_OF_SLOW ? plan->n_slows
                                           : plan->n_outputs;
    g_assert(term->index >= 0 && term->index < n);
  }
}

static gboolean nodes_possible(const LgCoursePlan *plan, GError **error)
{
  for (int i = 0; i < plan->n_nodes; i++) {
    const LgCourseNode *node = &plan->nodes[i];
    const gboolean massless = !node->held && node->capacity_J_K == 0;
    g_assert(node->bends_to < plan->n_nodes);
    g_assert(node->bends_to < 0 || plan->nodes[node->bends_to].held);
    if (!node->held && !(node->capacity_J_K >= 0 && isfinite(node->capacity_J_K)))
      return refuse(error, "node", i, "its heat capacity must be 0 or more");
    if (!massless && !isfinite(node->start_K))
      return refuse(error, "node", i, "it has no temperature to start from");
    if ((massless || node->held) && (node->bends_to >= 0 || node->own_per_K != 0))
      return refuse(error, "node", i, "only nodes with heat capacity have a law of their own");
    if (!isfinite(node->own_per_K) ||
        (node->bends_to >= 0 && !isfinite(node->bend[0] + node->bend[1])))
      return refuse(error, "node", i, "its own law is not a number");
  }
  for (int l = 0; l < plan->n_links; l++) {
    g_assert(MIN(plan->links[l].a, plan->links[l].b) >= 0);
    g_assert(MAX(plan->links[l].a, plan->links[l].b) < plan->n_nodes);
    if (!(plan->links[l].W_K >= 0 && isfinite(plan->links[l].W_K)))
      return refuse(error, "link", l, "its conductance must be 0 or more");
  }
  return TRUE;
}

static gboolean switches_possible(const LgCoursePlan *plan, GError **error)
{
  for (int s = 0; s < plan->n_switches; s++) {
    const LgCourseSwitch *as = &plan->switches[s];
    assert_sum(plan, &as->sum);
    if (as->kind == LG_SWITCH_CLOCK && !(as->period_s > 1e-3 && as->share >= 0 && as->share <= 1))
      return refuse(error, "switch", s, "its period must be over 1 ms and its share 0 to 1");
    if (as->kind == LG_SWITCH_BAND && !(isfinite(as->on_at) && isfinite(as->off_at)))
      return refuse(error, "switch", s, "its thresholds are not numbers");
    if (as->kind == LG_SWITCH_BREAKER)
      g_assert(as->spent >= 0 && as->spent < plan->n_slows);
  }
  for (int t = 0; t < plan->n_turns; t++)
    if (!(plan->turns[t].at_s >= (t == 0 ? 0 : plan->turns[t - 1].at_s)))
      return refuse(error, "turn", t, "turns must be in order of time, from 0 on");
  return TRUE;
}

static gboolean possible(const LgCoursePlan *plan, GError **error)
{
  for (int k = 0; k < plan->n_heats; k++)
    g_assert(plan->heats[k].node < plan->n_nodes && plan->heats[k].output < plan->n_outputs);
  for (int s = 0; s < plan->n_slows; s++) {
    g_assert(plan->slows[s].output >= 0 && plan->slows[s].output < plan->n_outputs);
    if (!isfinite(plan->slows[s].start))
      return refuse(error, "slow quantity", s, "it has no value to start from");
  }
  for (int o = 0; o < plan->n_outputs; o++)
    if (!(plan->outputs[o].floor > 0))
      return refuse(error, "output", o, "its floor must be above 0");
  g_assert(plan->n_felts < 4000);
  for (int k = 0; k < plan->n_felts; k++) {
    assert_sum(plan, &plan->felts[k].sum);
    if (!(plan->felts[k].span > 0))
      return refuse(error, "felt", k, "its span must be above 0");
  }
  for (int w = 0; w < plan->n_watches; w++)
    assert_sum(plan, &plan->watches[w].sum);
  return nodes_possible(plan, error) && switches_possible(plan, error);
}

static gpointer copy(LgCourse *course, gconstpointer from, int n, gsize size)
{
  gpointer to = lg_course_own(course, (gsize)n, size);
  if (n > 0)
    memcpy(to, from, (gsize)n * size);
  return to;
}

static LgCourseSum copy_sum(LgCourse *course, const LgCourseSum *sum)
{
  return (LgCourseSum){copy(course, sum->terms, sum->n_terms, sizeof *sum->terms), sum->n_terms,
                       sum->plus};
}

#define COPY(what) course->plan.what = copy(course, plan->what, plan->n_##what, sizeof *plan->what)

static void take_over(LgCourse *course, const LgCoursePlan *plan)
{
  course->plan = *plan;
  COPY(nodes);
  COPY(links);
  COPY(heats);
  COPY(slows);
  COPY(outputs);
  COPY(turns);
  LgCourseFelt *felts = copy(course, plan->felts, plan->n_felts, sizeof *felts);
  LgCourseSwitch *switches = copy(course, plan->switches, plan->n_switches, sizeof *switches);
  LgCourseWatch *watches = copy(course, plan->watches, plan->n_watches, sizeof *watches);
  for (int k = 0; k < plan->n_felts; k++)
    felts[k].sum = copy_sum(course, &felts[k].sum);
  for (int s = 0; s < plan->n_switches; s++)
    switches[s].sum = copy_sum(course, &switches[s].sum);
  for (int w = 0; w < plan->n_watches; w++)
    watches[w].sum = copy_sum(course, &watches[w].sum);
  course->plan.felts = felts;
  course->plan.switches = switches;
  course->plan.watches = watches;
  if (!(course->plan.response_tolerance > 0))
    course->plan.response_tolerance = 1e-7;
  if (course->plan.most_moves_per_s <= 0)
    course->plan.most_moves_per_s = 100;
}

static void make_lines(LgCourse *course)
{
  const LgCoursePlan *plan = &course->plan;
  course->felt = lg_course_array(course, LgCourseLine, plan->n_felts);
  course->switches = lg_course_array(course, LgCourseSwitchNow, plan->n_switches);
  course->watches = lg_course_array(course, LgCourseWatchNow, plan->n_watches);
  for (int k = 0; k < plan->n_felts; k++) {
    course->felt[k] = lg_course_line(course, &plan->felts[k].sum);
    course->felts_see_outputs |= course->felt[k].output.n > 0;
  }
  for (int s = 0; s < plan->n_switches; s++) {
    course->switches[s].line = lg_course_line(course, &plan->switches[s].sum);
    course->sums_see_outputs |= course->switches[s].line.output.n > 0;
  }
  for (int w = 0; w < plan->n_watches; w++) {
    course->watches[w].line = lg_course_line(course, &plan->watches[w].sum);
    course->sums_see_outputs |= course->watches[w].line.output.n > 0;
  }
}

static void make_step(LgCourse *course)
{
  const int n = course->net.n, n_own = course->net.n_own, n_outputs = course->plan.n_outputs;
  LgCourseStepNow *step = &course->step;
  step->z0 = lg_course_array(course, double, n);
  step->z = lg_course_array(course, LgCourseVec, n);
  step->push = lg_course_array(course, LgCourseVec, n);
  step->u = lg_course_array(course, LgCourseVec, n_outputs);
  step->felt = lg_course_array(course, LgCourseVec, course->plan.n_felts);
  step->own_power = lg_course_array(course, LgCourseVec, n_own);
  step->own_bend = lg_course_array(course, LgCourseVec, n_own);
  step->u_poly = lg_course_own(course, (gsize)n_outputs, sizeof *step->u_poly);
  step->power_poly = lg_course_own(course, (gsize)n_own, sizeof *step->power_poly);
  step->bend_poly = lg_course_own(course, (gsize)n_own, sizeof *step->bend_poly);
  step->formed = lg_course_array(course, gboolean, n);
  step->fast = lg_course_array(course, double, n);
  step->series = lg_course_own(course, (gsize)n, sizeof *step->series);
  step->curve.x = lg_course_array(course, double, n);
  step->curve.a = lg_course_array(course, double, n);
}

static void make_scratch(LgCourse *course)
{
  const LgCoursePlan *plan = &course->plan;
  const int n_outputs = plan->n_outputs, n_felts = plan->n_felts;
  course->z = lg_course_array(course, double, course->net.n);
  course->u = lg_course_array(course, double, n_outputs);
  course->felt_now = lg_course_array(course, double, n_felts);
  course->position = lg_course_array(course, int, plan->n_switches);
  course->moves_to = lg_course_array(course, int, plan->n_switches);
  course->theta_of = lg_course_array(course, double, plan->n_switches + plan->n_watches);
  course->recent_s = lg_course_array(course, double, plan->most_moves_per_s);
  course->integral = lg_course_array(course, double, n_outputs);
  course->basis = lg_course_array(course, LgCourseVec, LG_COURSE_TERMS);
  course->trial = lg_course_array(course, LgCourseVec, n_outputs);
  course->before = lg_course_array(course, LgCourseVec, n_outputs);
  course->powers = lg_course_own(course, (gsize)n_felts, sizeof *course->powers);
  course->trial_felt = lg_course_array(course, LgCourseVec, n_felts);
  course->one = lg_course_array(course, double, n_outputs);
  course->two = lg_course_array(course, double, n_outputs);
  course->fresh = lg_course_array(course, double, n_outputs);
  course->point = lg_course_array(course, double, n_felts);
  course->z_at = lg_course_array(course, double, course->net.n);
  course->u_at = lg_course_array(course, double, n_outputs);
  course->missed_mode = lg_course_own(course, (gsize)course->net.n, sizeof *course->missed_mode);
}

LgCourse *lg_course_new(const LgCoursePlan *plan, const LgCourseCalls *calls, GError **error)
{
  if (!possible(plan, error))
    return NULL;
  LgCourse *course = g_new0(LgCourse, 1);
  course->owned = g_ptr_array_new_with_free_func(free);
  course->modes = g_ptr_array_new_with_free_func(lg_course_mode_free);
  course->events = g_array_sized_new(FALSE, FALSE, sizeof(LgCourseEvent), 1024);
  take_over(course, plan);
  course->calls = *calls;
  if (!lg_course_net_build(course, error)) {
    lg_course_free(course);
    return NULL;
  }
  make_lines(course);
  make_step(course);
  make_scratch(course);
  lg_course_cell_setup(course);
  lg_course_restart(course, NULL, NULL);
  return course;
}

void lg_course_free(LgCourse *course)
{
  if (course == NULL)
    return;
  g_ptr_array_unref(course->modes);
  g_ptr_array_unref(course->owned);
  g_array_unref(course->events);
  g_free(course);
}

/* ---- Run ---- */

static double stored(const LgCourse *course)
{
  double sum = 0;
  for (int i = 0; i < course->plan.n_nodes; i++)
    if (course->net.capacity_J_K[i] > 0)
      sum += course->net.capacity_J_K[i] *
             lg_course_line_value(&course->net.node[i], course->z, course->u);
  return sum;
}

/* z_j = sum_i V_ij sqrt C_i T_i, and the row has V_ij / sqrt C_i. */
static void set_state(LgCourse *course, const double node_K[], const double slow[])
{
  const LgCoursePlan *plan = &course->plan;
  memset(course->z, 0, sizeof *course->z * (gsize)course->net.n);
  for (int i = 0; i < plan->n_nodes + plan->n_slows; i++) {
    const int s = i - plan->n_nodes;
    const double value = s >= 0           ? (slow != NULL ? slow[s] : plan->slows[s].start)
                         : node_K != NULL ? node_K[i]
                                          : plan->nodes[i].start_K;
    const LgCourseRow *row = &course->net.node[i].mode;
    if (s < 0 && plan->nodes[i].held)
      course->held_K[i] = value;
    for (int k = 0; k < row->n && course->net.capacity_J_K[i] > 0; k++)
      course->z[row->at[k]] += row->by[k] * course->net.capacity_J_K[i] * value;
  }
}

static void set_switches(LgCourse *course)
{
  for (int s = 0; s < course->plan.n_switches; s++) {
    const LgCourseSwitch *as = &course->plan.switches[s];
    LgCourseSwitchNow *now = &course->switches[s];
    now->on_at = as->on_at;
    now->off_at = as->off_at;
    now->share = as->share;
    now->moved_s = -INFINITY;
    now->counted_s = 0;
    now->struck = FALSE;
    now->count = (LgCourseCount){0};
    now->position = course->position[s] =
        as->kind == LG_SWITCH_CLOCK ? lg_course_clock_start(as) : as->start;
    now->pending_s = as->kind == LG_SWITCH_BREAKER && as->back == LG_BACK_SELF && as->start == 0
                         ? as->rest_s
                         : INFINITY;
  }
}

/* When outputs are missing a watch of them starts below; the first look tells. */
static void set_watches(LgCourse *course)
{
  for (int w = 0; w < course->plan.n_watches; w++) {
    LgCourseWatchNow *now = &course->watches[w];
    now->above =
        lg_course_line_value(&now->line, course->z, course->u) >= course->plan.watches[w].limit;
    now->struck = FALSE;
    now->range = (LgCourseRange){INFINITY, -INFINITY, 0, 0};
  }
}

void lg_course_restart(LgCourse *course, const double node_K[], const double slow[])
{
  course->now_s = course->step.entered_s = 0;
  course->next_turn = 0;
  course->step.first = TRUE;
  set_state(course, node_K, slow);
  set_switches(course);
  lg_course_hold(course);
  lg_course_enter_mode(course);
  course->u_fresh = FALSE;
  course->started = FALSE;
  course->step.from_s = course->step.h = course->step.now_theta = 0;
  g_array_set_size(course->events, 0);
  for (int k = 0; k < course->plan.most_moves_per_s; k++)
    course->recent_s[k] = -INFINITY;
  course->n_recent = 0;
  memset(course->integral, 0, sizeof *course->integral * (gsize)course->plan.n_outputs);
  course->heated = course->lost = 0;
  course->stored_start = stored(course);
}

static LgCourseEnd ended(const LgCourse *course, LgCourseEndKind kind, int index)
{
  return (LgCourseEnd){kind, course->now_s, index};
}

static gboolean start(LgCourse *course)
{
  if (course->started)
    return TRUE;
  if (!lg_course_refresh(course))
    return FALSE;
  set_watches(course);
  course->started = TRUE;
  return TRUE;
}

/* One step, up to its first crossing or the next moment. */
static LgCourseEndKind go(LgCourse *course, double until_s)
{
  const double longest_s = course->plan.longest_s > 0 ? course->plan.longest_s : INFINITY;
  const double moment_s =
      MIN(MIN(lg_course_next_moment(course), until_s), course->now_s + longest_s);
  const double wanted_s = MAX(moment_s - course->now_s, 1e-9);
  const LgCourseStepEnd made = lg_course_step(course, wanted_s);
  if (made != LG_STEP_MADE)
    return made == LG_STEP_STUCK ? LG_COURSE_STUCK : LG_COURSE_NO_ANSWER;
  LgCourseStepNow *step = &course->step;
  const double to = MIN(1, wanted_s / step->h), theta = lg_course_first_crossing(course, to);
  for (int w = 0; w < course->plan.n_watches; w++)
    lg_curve_range(lg_course_curve(course, &course->watches[w].line), step->from_s, step->h, theta,
                   &course->watches[w].range);
  lg_course_advance(course, theta);
  if (theta >= to && wanted_s <= step->h)
    course->now_s = moment_s;
  if (course->calls.stretch != NULL &&
      course->calls.stretch(course, step->from_s, course->now_s, course->calls.user))
    return LG_COURSE_STOPPED;
  return LG_COURSE_DONE;
}

LgCourseEnd lg_course_run(LgCourse *course, double until_s)
{
  int index = -1;
  if (!start(course))
    return ended(course, LG_COURSE_NO_ANSWER, -1);
  for (;;) {
    const LgCourseFire fire = lg_course_fire(course, &index);
    if (fire != LG_FIRE_QUIET)
      return ended(course, fire == LG_FIRE_CHATTER ? LG_COURSE_CHATTER : LG_COURSE_NO_ANSWER,
                   index);
    if (course->now_s >= until_s - 1e-9)
      return ended(course, LG_COURSE_DONE, -1);
    const LgCourseEndKind kind = go(course, until_s);
    if (kind != LG_COURSE_DONE)
      return ended(course, kind, -1);
  }
}

/* ---- Results ---- */

double lg_course_now(const LgCourse *course)
{
  return course->now_s;
}

int lg_course_position(const LgCourse *course, int index)
{
  g_assert(index >= 0 && index < course->plan.n_switches);
  return course->position[index];
}

/* Modes and outputs at a time into z_at and u_at. */
static void look(LgCourse *course, double at_s)
{
  const LgCourseStepNow *step = &course->step;
  if (!(step->h > 0)) {
    memcpy(course->z_at, course->z, sizeof *course->z * (gsize)course->net.n);
    memcpy(course->u_at, course->u, sizeof *course->u * (gsize)course->plan.n_outputs);
    return;
  }
  const double theta = CLAMP((at_s - step->from_s) / step->h, 0, step->now_theta);
  lg_course_modes_at(course, theta, course->z_at);
  lg_course_outputs_at(course, theta, course->u_at);
}

void lg_course_at(LgCourse *course, double at_s, double node_K[], double slow[], double output[])
{
  const LgCoursePlan *plan = &course->plan;
  look(course, at_s);
  for (int i = 0; i < plan->n_nodes && node_K != NULL; i++)
    node_K[i] = lg_course_line_value(&course->net.node[i], course->z_at, course->u_at);
  for (int s = 0; s < plan->n_slows && slow != NULL; s++)
    slow[s] = lg_course_line_value(&course->net.node[lg_course_slow_node(course, s)], course->z_at,
                                   course->u_at);
  if (output != NULL)
    memcpy(output, course->u_at, sizeof *output * (gsize)plan->n_outputs);
}

double lg_course_sum_at(LgCourse *course, const LgCourseSum *sum, double at_s)
{
  double value = sum->plus;
  look(course, at_s);
  for (int t = 0; t < sum->n_terms; t++) {
    const LgCourseTerm *term = &sum->terms[t];
    const int node =
        term->of == LG_OF_SLOW ? lg_course_slow_node(course, term->index) : term->index;
    value += term->weight *
             (term->of == LG_OF_OUTPUT
                  ? course->u_at[term->index]
                  : lg_course_line_value(&course->net.node[node], course->z_at, course->u_at));
  }
  return value;
}

const LgCourseEvent *lg_course_events(const LgCourse *course, int *n)
{
  *n = (int)course->events->len;
  return (const LgCourseEvent *)(gconstpointer)course->events->data;
}

LgCourseCount lg_course_count(const LgCourse *course, int index)
{
  const LgCourseSwitchNow *now = &course->switches[index];
  LgCourseCount count = now->count;
  if (now->position != 0)
    count.on_s += course->now_s - now->counted_s;
  return count;
}

LgCourseRange lg_course_range(const LgCourse *course, int watch)
{
  return course->watches[watch].range;
}

double lg_course_integral(const LgCourse *course, int output)
{
  return course->integral[output];
}

LgCourseEnergy lg_course_energy(const LgCourse *course)
{
  LgCourseEnergy energy = {.heated = course->heated,
                           .lost = course->lost,
                           .stored = stored(course) - course->stored_start};
  for (int o = 0; o < course->plan.n_outputs; o++) {
    if (course->plan.outputs[o].role == LG_OUTPUT_SOURCE)
      energy.given += course->integral[o];
    else if (course->plan.outputs[o].role == LG_OUTPUT_ELSEWHERE)
      energy.elsewhere += course->integral[o];
  }
  return energy;
}

LgCourseWork lg_course_work(const LgCourse *course)
{
  return course->work;
}
