/* Switches, watches and turns: what moves when. */
#include "time/course-private.h"

#define FADE 0.9   /* of the longest stay in a mode that is remembered */
#define NOW_S 1e-9 /* moments that lie closer count as one */

/* What a switch or a watch waits for on the closed form: direction x (line - limit) >= 0, from a
 * moment on. */
typedef struct {
  const LgCourseLine *line;
  double limit, from_s;
  int direction; /* 0: nothing */
} Wait;

static Wait band_wait(const LgCourseSwitch *as, const LgCourseSwitchNow *now)
{
  const gboolean warms = now->on_at <= now->off_at, on = now->position != 0;
  return (Wait){.line = &now->line,
                .limit = on ? now->off_at : now->on_at,
                .from_s = now->moved_s + (on ? as->least_on_s : as->least_off_s),
                .direction = isfinite(now->pending_s) ? 0
                             : warms == on            ? 1
                                                      : -1};
}

static Wait breaker_wait(const LgCourse *course, const LgCourseSwitch *as,
                         const LgCourseSwitchNow *now)
{
  if (now->position != 0)
    return (Wait){&course->net.node[lg_course_slow_node(course, as->spent)], 1, -INFINITY, 1};
  return (Wait){&now->line, now->off_at, -INFINITY, as->back == LG_BACK_POWER ? -1 : 0};
}

static Wait switch_wait(const LgCourse *course, int s)
{
  const LgCourseSwitch *as = &course->plan.switches[s];
  const LgCourseSwitchNow *now = &course->switches[s];
  switch (as->kind) {
  case LG_SWITCH_BAND:
    return band_wait(as, now);
  case LG_SWITCH_BREAKER:
    return breaker_wait(course, as, now);
  default:
    return (Wait){0};
  }
}

static Wait watch_wait(const LgCourse *course, int w)
{
  const LgCourseWatch *as = &course->plan.watches[w];
  const LgCourseWatchNow *now = &course->watches[w];
  const double slack = as->slack > 0 ? as->slack : 1e-6;
  return (Wait){&now->line, now->above ? as->limit - slack : as->limit, -INFINITY,
                now->above ? -1 : 1};
}

/* Position of a clock, and when it next changes. */
static int clock_now(const LgCourseSwitch *as, double share, double at_s, double *next_s)
{
  const double turns = floor((at_s + NOW_S - as->offset_s) / as->period_s);
  const double begin = as->offset_s + turns * as->period_s, off = begin + share * as->period_s;
  const gboolean on = share > 0 && at_s + NOW_S < off;
  *next_s = on ? off : as->offset_s + (turns + 1) * as->period_s;
  if (share <= 0 || share >= 1)
    *next_s = INFINITY;
  return on || share >= 1;
}

int lg_course_clock_start(const LgCourseSwitch *as)
{
  double next;
  return clock_now(as, as->share, 0, &next);
}

double lg_course_next_moment(const LgCourse *course)
{
  const LgCoursePlan *plan = &course->plan;
  double next = course->next_turn < plan->n_turns ? plan->turns[course->next_turn].at_s : INFINITY,
         edge;
  for (int s = 0; s < plan->n_switches; s++) {
    next = MIN(next, course->switches[s].pending_s);
    if (plan->switches[s].kind == LG_SWITCH_CLOCK) {
      clock_now(&plan->switches[s], course->switches[s].share, course->now_s, &edge);
      next = MIN(next, edge);
    }
  }
  return next;
}

static double wait_theta(LgCourse *course, const Wait *wait, double to)
{
  const LgCourseStepNow *step = &course->step;
  const double from = MAX(0, (wait->from_s - step->from_s) / step->h);
  if (wait->direction == 0 || from > to || wait->line->mode.n + wait->line->output.n == 0)
    return INFINITY;
  return lg_curve_first(lg_course_curve(course, wait->line), wait->limit, wait->direction, from, to,
                        1e-7 / step->h);
}

double lg_course_first_crossing(LgCourse *course, double to)
{
  const int n_switches = course->plan.n_switches, n = n_switches + course->plan.n_watches;
  const double together = NOW_S / course->step.h;
  double best = INFINITY;
  for (int k = 0; k < n; k++) {
    const Wait wait = k < n_switches ? switch_wait(course, k) : watch_wait(course, k - n_switches);
    course->theta_of[k] = wait_theta(course, &wait, MIN(to, best + together));
    best = MIN(best, course->theta_of[k]);
  }
  for (int k = 0; k < n; k++) {
    const gboolean struck = course->theta_of[k] <= best + together && isfinite(best);
    if (k < n_switches)
      course->switches[k].struck = struck;
    else
      course->watches[k - n_switches].struck = struck;
  }
  return MIN(best, to);
}

/* ---- Moving ---- */

static void tell(LgCourse *course, LgCourseEventKind kind, int index, int from, int to)
{
  const LgCourseEvent event = {course->now_s, kind, index, from, to};
  g_array_append_val(course->events, event);
}

static void count_time(LgCourse *course, int s)
{
  LgCourseSwitchNow *now = &course->switches[s];
  if (now->position != 0)
    now->count.on_s += course->now_s - now->counted_s;
  now->counted_s = course->now_s;
}

static void move(LgCourse *course, int s, int position)
{
  LgCourseSwitchNow *now = &course->switches[s];
  const int from = now->position;
  now->pending_s = INFINITY;
  if (from == position)
    return;
  count_time(course, s);
  now->count.times_on += from == 0;
  now->position = course->position[s] = position;
  now->moved_s = course->now_s;
  tell(course, LG_EVENT_SWITCH, s, from, position);
}

/* A slow quantity is the only mode of its node. */
static void set_slow(LgCourse *course, int slow, double value)
{
  const LgCourseRow *row = &course->net.node[lg_course_slow_node(course, slow)].mode;
  course->z[row->at[0]] = value / row->by[0];
}

static void close_breaker(LgCourse *course, int s)
{
  set_slow(course, course->plan.switches[s].spent, 0);
  move(course, s, 1);
}

static void turn(LgCourse *course, int index)
{
  const LgCourseTurn *t = &course->plan.turns[index];
  tell(course, LG_EVENT_TURN, index, 0, 0);
  switch (t->what) {
  case LG_TURN_SWITCH:
    if (course->plan.switches[t->index].kind == LG_SWITCH_BREAKER && t->value != 0)
      close_breaker(course, t->index);
    else
      move(course, t->index, (int)t->value);
    break;
  case LG_TURN_HELD:
    course->held_K[t->index] = t->value;
    lg_course_hold(course);
    break;
  case LG_TURN_BAND:
    course->switches[t->index].on_at = t->value;
    course->switches[t->index].off_at = t->other;
    break;
  case LG_TURN_SHARE:
    course->switches[t->index].share = t->value;
    break;
  case LG_TURN_MARK:
    break;
  }
}

static gboolean met(const LgCourse *course, const Wait *wait, gboolean struck)
{
  if (wait->direction == 0 || course->now_s + NOW_S < wait->from_s)
    return FALSE;
  return struck ||
         wait->direction * (lg_course_line_value(wait->line, course->z, course->u) - wait->limit) >=
             0;
}

/* Whether the switch is to move now, and to where. */
static gboolean due(LgCourse *course, int s, int *to)
{
  const LgCourseSwitch *as = &course->plan.switches[s];
  LgCourseSwitchNow *now = &course->switches[s];
  double edge;
  *to = now->position == 0;
  if (as->kind == LG_SWITCH_HAND)
    return FALSE;
  if (as->kind == LG_SWITCH_CLOCK) {
    *to = clock_now(as, now->share, course->now_s, &edge);
    return *to != now->position;
  }
  if (now->pending_s <= course->now_s + NOW_S)
    return TRUE;
  const Wait wait = switch_wait(course, s);
  if (!met(course, &wait, now->struck))
    return FALSE;
  const double delay = as->kind != LG_SWITCH_BAND ? 0
                       : now->position != 0       ? as->delay_off_s
                                                  : as->delay_on_s;
  if (delay > 0)
    now->pending_s = course->now_s + delay;
  return !(delay > 0);
}

static void move_self(LgCourse *course, int s, int to)
{
  const LgCourseSwitch *as = &course->plan.switches[s];
  if (as->kind == LG_SWITCH_BREAKER && to == 1) {
    close_breaker(course, s);
    return;
  }
  move(course, s, to);
  if (as->kind == LG_SWITCH_BREAKER && as->back == LG_BACK_SELF)
    course->switches[s].pending_s = course->now_s + as->rest_s;
}

/* TRUE when this move makes too many in one second. */
static gboolean too_many(LgCourse *course)
{
  double *oldest = &course->recent_s[course->n_recent++ % course->plan.most_moves_per_s];
  const gboolean many = course->now_s - *oldest <= 1;
  *oldest = course->now_s;
  return many;
}

static gboolean look_at_watches(LgCourse *course)
{
  gboolean moved = FALSE;
  for (int w = 0; w < course->plan.n_watches; w++) {
    const Wait wait = watch_wait(course, w);
    LgCourseWatchNow *now = &course->watches[w];
    if (met(course, &wait, now->struck)) {
      now->above = !now->above;
      tell(course, LG_EVENT_WATCH, w, !now->above, now->above);
      moved = TRUE;
    }
    now->struck = FALSE;
  }
  return moved;
}

/* Turns that are due. */
static gboolean take_turns(LgCourse *course)
{
  const int before = course->next_turn;
  while (course->next_turn < course->plan.n_turns &&
         course->plan.turns[course->next_turn].at_s <= course->now_s + NOW_S)
    turn(course, course->next_turn++);
  return course->next_turn != before;
}

LgCourseFire lg_course_fire(LgCourse *course, int *index)
{
  gboolean again = TRUE, moved = FALSE;
  *index = -1;
  if (take_turns(course))
    moved = TRUE;
  while (again) {
    again = FALSE;
    if (moved)
      course->u_fresh = FALSE;
    if (course->sums_see_outputs && !lg_course_refresh(course))
      return LG_FIRE_NO_ANSWER;
    for (int s = 0; s < course->plan.n_switches; s++)
      course->moves_to[s] = due(course, s, &course->moves_to[s]) ? course->moves_to[s] : -1;
    for (int s = 0; s < course->plan.n_switches; s++) {
      course->switches[s].struck = FALSE;
      if (course->moves_to[s] < 0)
        continue;
      move_self(course, s, course->moves_to[s]);
      again = moved = TRUE;
      if (too_many(course)) {
        *index = s;
        return LG_FIRE_CHATTER;
      }
    }
    look_at_watches(course);
  }
  if (moved)
    lg_course_enter_mode(course);
  return LG_FIRE_QUIET;
}

/* ---- Sets of positions ---- */

void lg_course_mode_free(gpointer data)
{
  LgCourseMode *mode = data;
  g_free(mode->position);
  g_free(mode->half);
  g_ptr_array_unref(mode->cells);
  g_free(mode);
}

static LgCourseMode *find_mode(LgCourse *course)
{
  const gsize size = sizeof(int) * (gsize)course->plan.n_switches;
  for (guint m = 0; m < course->modes->len; m++) {
    LgCourseMode *mode = course->modes->pdata[m];
    if (memcmp(mode->position, course->position, size) == 0)
      return mode;
  }
  LgCourseMode *mode = g_new0(LgCourseMode, 1);
  mode->position = g_malloc(size + 1);
  memcpy(mode->position, course->position, size);
  mode->half = g_new(double, course->plan.n_felts + 1);
  for (int k = 0; k < course->plan.n_felts; k++)
    mode->half[k] = course->plan.felts[k].span;
  mode->cells = g_ptr_array_new_with_free_func(lg_course_cell_free);
  mode->rung = lg_course_rung_of(1);
  mode->guess_rung = -1;
  mode->guess =
      lg_course_array(course, LgCourseVec, course->plan.n_outputs + 2 * course->net.n_own);
  g_ptr_array_add(course->modes, mode);
  course->work.positions++;
  return mode;
}

void lg_course_enter_mode(LgCourse *course)
{
  if (course->mode != NULL && !course->step.first) {
    const double stay_s = course->now_s - course->step.entered_s;
    course->mode->stay_s = MAX(stay_s, FADE * course->mode->stay_s);
  }
  course->step.entered_s = course->now_s;
  course->mode = find_mode(course);
  course->cell = NULL;
  course->step.wish = course->mode->rung;
  course->step.first = TRUE;
}
