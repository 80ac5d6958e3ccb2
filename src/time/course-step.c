/* One step: the outputs along it and the temperatures they cause, brought to agree. */
#include "time/course-private.h"

enum { POINTS = LG_COURSE_POINTS, LANES = LG_COURSE_LANES };
#define USUAL 1.2   /* first steps are no longer than so many of the longest late stay */
#define OUTSIDE 1.1 /* of a cell's half-width: beyond it its polynomial is not asked */

/* Modes' pushes from the outputs and the own laws. */
LG_COURSE_CLONES static void gather(LgCourse *course)
{
  const LgCourseNet *net = &course->net;
  LgCourseStepNow *step = &course->step;
  for (int j = 0; j < net->n; j++) {
    const LgCourseRow *row = &net->push[j].output;
    LgCourseVec sum = {0};
    sum += net->push[j].constant;
    for (int k = 0; k < row->n; k++)
      sum += row->by[k] * step->u[row->at[k]];
    step->push[j] = sum;
  }
  for (int k = 0; k < net->n_own; k++) {
    const LgCourseRow *row = &net->node[net->own[k].node].mode;
    const LgCourseVec add = step->own_power[k] - step->own_bend[k];
    for (int m = 0; m < row->n; m++)
      step->push[row->at[m]] += row->by[m] * add;
  }
}

/* Modes at the lanes, and what follows from them. */
LG_COURSE_CLONES static void flow(LgCourse *course)
{
  LgCourseStepNow *step = &course->step;
  const LgCourseRung *rung = step->rung;
  for (int j = 0; j < course->net.n; j++) {
    LgCourseVec z = rung->decay[j] * step->z0[j];
    for (int p = 0; p < POINTS; p++)
      z += rung->weights[j * POINTS + p] * step->push[j][p];
    step->z[j] = z;
  }
}

LG_COURSE_CLONES static void feel(LgCourse *course)
{
  LgCourseStepNow *step = &course->step;
  for (int k = 0; k < course->plan.n_felts; k++) {
    const LgCourseLine *line = &course->felt[k];
    LgCourseVec sum = {0};
    sum += line->constant;
    for (int m = 0; m < line->mode.n; m++)
      sum += line->mode.by[m] * step->z[line->mode.at[m]];
    for (int m = 0; m < line->output.n; m++)
      sum += line->output.by[m] * step->u[line->output.at[m]];
    step->felt[k] = sum;
  }
}

/* Returns the greatest change since the last time, in tolerances of its node. */
LG_COURSE_CLONES static double own_laws(LgCourse *course)
{
  const LgCourseNet *net = &course->net;
  LgCourseStepNow *step = &course->step;
  double change = 0;
  for (int k = 0; k < net->n_own; k++) {
    const LgCourseOwn *own = &net->own[k];
    const LgCourseLine *line = &net->node[own->node];
    LgCourseVec T = {0}, power = {0}, bend = {0}, moved;
    T += line->constant;
    for (int m = 0; m < line->mode.n; m++)
      T += line->mode.by[m] * step->z[line->mode.at[m]];
    for (int m = 0; m < own->heat.n; m++)
      power += own->heat.by[m] * step->u[own->heat.at[m]];
    power *= 1 + own->own_per_K * (T - own->at_K);
    if (own->held >= 0) {
      const LgCourseVec d = T - course->held_K[own->held];
      for (int l = 0; l < LANES; l++)
        bend[l] = (own->bend[0] * fabs(d[l]) + own->bend[1] * d[l] * d[l] - own->shift) * d[l];
    }
    moved = power - bend - step->own_power[k] + step->own_bend[k];
    double most = 0;
    for (int l = 0; l < LANES; l++)
      most = MAX(most, fabs(moved[l]));
    const double lasts =
        line->mode.n == 1 ? MIN(step->h, 1 / net->rate[line->mode.at[0]]) : step->h;
    change = MAX(change, most * lasts / (net->capacity_J_K[own->node] * net->tolerance[own->node]));
    step->own_power[k] = power;
    step->own_bend[k] = bend;
  }
  return change;
}

static double output_change(const LgCourse *course)
{
  const LgCourseStepNow *step = &course->step;
  double change = 0;
  for (int o = 0; o < course->plan.n_outputs; o++) {
    const LgCourseVec moved = step->u[o] - course->before[o];
    double most = 0;
    for (int l = 0; l < LANES; l++)
      most = MAX(most, fabs(moved[l]));
    change = MAX(change, most / course->cell->scale[o]);
  }
  return change / course->plan.response_tolerance;
}

static gboolean lanes_inside(const LgCourse *course)
{
  const LgCourseCell *cell = course->cell;
  if (cell->direct)
    return TRUE;
  for (int k = 0; k < course->plan.n_felts; k++) {
    const LgCourseVec x = (course->step.felt[k] - cell->centre[k]) / cell->half[k];
    for (int l = 0; l < LANES; l++)
      if (!(fabs(x[l]) <= OUTSIDE))
        return FALSE;
  }
  return TRUE;
}

typedef enum { TRY_MADE, TRY_SHORTER, TRY_LEFT, TRY_NO_ANSWER } Try;

/* Copies outputs and own laws from or to the guess. */
static void swap_guess(LgCourse *course, gboolean keep)
{
  LgCourseStepNow *step = &course->step;
  const gsize n_outputs = (gsize)course->plan.n_outputs, n_own = (gsize)course->net.n_own;
  LgCourseVec *const lanes[] = {step->u, step->own_power, step->own_bend};
  const gsize length[] = {n_outputs, n_own, n_own};
  LgCourseVec *guess = course->mode->guess;
  for (guint k = 0; k < G_N_ELEMENTS(lanes); guess += length[k++])
    if (keep)
      memcpy(guess, lanes[k], sizeof *guess * length[k]);
    else
      memcpy(lanes[k], guess, sizeof *guess * length[k]);
}

/* The lanes as they were the last time, or all at the start. */
static Try begin(LgCourse *course, int rung)
{
  LgCourseStepNow *step = &course->step;
  if (step->first && course->mode->guess_rung == rung) {
    swap_guess(course, FALSE);
    return TRY_MADE;
  }
  for (int j = 0; j < course->net.n; j++)
    step->z[j] = step->z0[j] - (LgCourseVec){0};
  for (int o = 0; o < course->plan.n_outputs; o++)
    step->u[o] = course->u[o] - (LgCourseVec){0};
  feel(course);
  if (!lg_course_cell_eval(course, course->cell, step->felt, step->u))
    return TRY_NO_ANSWER;
  own_laws(course);
  return TRY_MADE;
}

/* How the change of something falls from round to round. */
typedef struct {
  double last, factor;
} Fall;

/* What is left after a change is the sum of those to come; the factor between them is not trusted
 * to be small. FALSE in `*falling` when it does not fall. */
static gboolean at_rest(Fall *fall, double change, gboolean *falling)
{
  fall->factor = isinf(fall->last) ? 0.3 : change > 0 ? CLAMP(change / fall->last, 0.05, 1) : 0.05;
  fall->last = change;
  *falling &= fall->factor < 0.7 || change <= 0.3;
  return change * fall->factor <= 0.3 * (1 - fall->factor);
}

/* Iterates until u and T agree. */
static Try agree(LgCourse *course)
{
  enum { ROUNDS = 24 };
  LgCourseStepNow *step = &course->step;
  Fall of_own = {INFINITY, 0}, of_outputs = {INFINITY, 0};
  gboolean done = FALSE, falling = TRUE;
  for (int round = 0; round < ROUNDS && !done; round++) {
    course->work.sweeps++;
    gather(course);
    flow(course);
    feel(course);
    if (!lanes_inside(course))
      return TRY_LEFT;
    memcpy(course->before, step->u, sizeof *step->u * (gsize)course->plan.n_outputs);
    if (!lg_course_cell_eval(course, course->cell, step->felt, step->u))
      return TRY_NO_ANSWER;
    done = at_rest(&of_own, own_laws(course), &falling);
    done &= at_rest(&of_outputs, output_change(course), &falling);
    if (!falling && round > 2)
      return TRY_SHORTER;
  }
  gather(course);
  return done ? TRY_MADE : TRY_SHORTER;
}

/* Error of the step in tolerances of the nodes, from what the polynomials miss at the lanes 6 and
 * 7. The miss changes sign at every point, so about one part between points adds up. */
static double judge(LgCourse *course)
{
  const LgCourseNet *net = &course->net;
  const LgCourseStepNow *step = &course->step;
  double worst = 0;
  for (int j = 0; j < net->n; j++) {
    const double lasts = MIN(step->h, 1 / net->rate[j]);
    lg_course_missed(&step->push[j], course->missed_mode[j]);
    course->missed_mode[j][0] *= lasts;
    course->missed_mode[j][1] *= lasts;
  }
  for (int i = 0; i < net->n_nodes; i++) {
    const LgCourseRow *row = &net->node[i].mode;
    double a = 0, b = 0;
    if (net->capacity_J_K[i] == 0)
      continue;
    for (int k = 0; k < row->n; k++) {
      a += row->by[k] * course->missed_mode[row->at[k]][0];
      b += row->by[k] * course->missed_mode[row->at[k]][1];
    }
    worst = MAX(worst, MAX(fabs(a), fabs(b)) / net->tolerance[i]);
  }
  return 0.15 * worst;
}

static int rung_after(int rung, double error)
{
  const double factor = pow(0.5 / MAX(error, 1e-6), 1.0 / POINTS);
  return CLAMP(rung + (int)floor(2 * log2(factor)), 0, LG_COURSE_RUNGS - 1);
}

static gboolean find_cell(LgCourse *course, const LgCourseCell *left)
{
  const LgCourseStepNow *step = &course->step;
  for (int k = 0; k < course->plan.n_felts; k++)
    course->felt_now[k] = lg_course_line_value(&course->felt[k], step->z0, course->u);
  if (left == NULL && course->cell != NULL &&
      lg_course_cell_reach(course, course->cell, course->felt_now) <= 1)
    return TRUE;
  LgCourseCell *known = lg_course_cell_known(course, course->felt_now);
  if (known == NULL || known == left)
    known = lg_course_cell_add(course, course->felt_now, left != NULL ? left : course->cell);
  course->cell = known;
  return known != NULL;
}

/* A felt at lane 5. */
static LgCourseCellCheck check_cell(LgCourse *course)
{
  for (int k = 0; k < course->plan.n_felts; k++)
    course->felt_now[k] = course->step.felt[k][POINTS - 1];
  return lg_course_cell_check(course, course->cell, course->felt_now);
}

static Try attempt(LgCourse *course, int rung)
{
  course->step.rung = lg_course_rung(course, rung);
  course->step.h = course->step.rung->h;
  const Try begun = begin(course, rung);
  return begun == TRY_MADE ? agree(course) : begun;
}

static void settle(LgCourse *course, int rung, double error)
{
  LgCourseStepNow *step = &course->step;
  step->wish = MIN(rung_after(rung, error), rung + 4);
  if (step->first) {
    course->mode->rung = step->wish;
    course->mode->guess_rung = rung;
    swap_guess(course, TRUE);
  }
  step->first = FALSE;
  step->from_s = course->now_s;
  step->now_theta = 0;
  for (int o = 0; o < course->plan.n_outputs; o++)
    lg_course_poly(&step->u[o], step->u_poly[o]);
  for (int k = 0; k < course->net.n_own; k++) {
    lg_course_poly(&step->own_power[k], step->power_poly[k]);
    lg_course_poly(&step->own_bend[k], step->bend_poly[k]);
  }
  memset(step->formed, 0, sizeof *step->formed * (gsize)course->net.n);
  course->work.steps++;
}

LgCourseStepEnd lg_course_step(LgCourse *course, double wanted_s)
{
  enum { TRIES = 400 };
  LgCourseStepNow *step = &course->step;
  const LgCourseCell *left = NULL;
  int rung = MIN(step->wish, lg_course_rung_of(wanted_s));
  if (step->first && course->mode->stay_s > 0) /* what lies beyond its end is made in vain */
    rung = MIN(rung, lg_course_rung_of(USUAL * course->mode->stay_s));
  memcpy(step->z0, course->z, sizeof *step->z0 * (gsize)course->net.n);
  for (int tries = 0; tries < TRIES && rung >= 0; tries++) {
    if (!find_cell(course, left))
      return LG_STEP_NO_ANSWER;
    left = NULL;
    switch (attempt(course, rung)) {
    case TRY_NO_ANSWER:
      return LG_STEP_NO_ANSWER;
    case TRY_LEFT:
      if (lg_course_cell_reach(course, course->cell, course->felt_now) > 0.8)
        left = course->cell;
      rung -= left == NULL ? 2 : 0;
      continue;
    case TRY_SHORTER:
      course->work.rejected++;
      rung -= 2;
      continue;
    case TRY_MADE:
      break;
    }
    const double error = judge(course);
    if (error > 1) {
      course->work.rejected++;
      rung = MIN(rung - 1, rung_after(rung, error));
      continue;
    }
    const LgCourseCellCheck check = check_cell(course);
    if (check == LG_CELL_NO_ANSWER)
      return LG_STEP_NO_ANSWER;
    if (check == LG_CELL_GOOD) {
      settle(course, rung, error);
      return LG_STEP_MADE;
    }
    if (check == LG_CELL_GONE)
      course->cell = NULL;
  }
  return LG_STEP_STUCK;
}

static void form(LgCourse *course, int j)
{
  LgCourseStepNow *step = &course->step;
  double poly[POINTS];
  if (step->formed[j])
    return;
  lg_course_poly(&step->push[j], poly);
  for (int k = 0; k < POINTS; k++)
    poly[k] *= step->h;
  step->fast[j] = lg_course_mode_form(course->net.rate[j] * step->h, step->z0[j], poly,
                                      step->rung->degree, step->series[j]);
  step->formed[j] = TRUE;
}

static int degree_of(const LgCourse *course, int j)
{
  return course->net.rate[j] * course->step.h >= LG_COURSE_FAST ? POINTS - 1
                                                                : course->step.rung->degree;
}

const LgCourseCurve *lg_course_curve(LgCourse *course, const LgCourseLine *line)
{
  LgCourseStepNow *step = &course->step;
  LgCourseCurve *curve = &step->curve;
  curve->n_fast = 0;
  curve->degree = POINTS - 1;
  memset(curve->c, 0, sizeof curve->c);
  curve->c[0] = line->constant;
  for (int k = 0; k < line->mode.n; k++) {
    const int j = line->mode.at[k], degree = degree_of(course, j);
    form(course, j);
    for (int m = 0; m <= degree; m++)
      curve->c[m] += line->mode.by[k] * step->series[j][m];
    curve->degree = MAX(curve->degree, degree);
    if (step->fast[j] != 0) {
      curve->x[curve->n_fast] = course->net.rate[j] * step->h;
      curve->a[curve->n_fast++] = line->mode.by[k] * step->fast[j];
    }
  }
  for (int k = 0; k < line->output.n; k++)
    for (int m = 0; m < POINTS; m++)
      curve->c[m] += line->output.by[k] * step->u_poly[line->output.at[k]][m];
  return curve;
}

void lg_course_modes_at(LgCourse *course, double theta, double z[])
{
  LgCourseStepNow *step = &course->step;
  for (int j = 0; j < course->net.n; j++) {
    form(course, j);
    double value = 0;
    for (int k = degree_of(course, j); k >= 0; k--)
      value = value * theta + step->series[j][k];
    if (step->fast[j] != 0)
      value += step->fast[j] * exp(-course->net.rate[j] * step->h * theta);
    z[j] = value;
  }
}

static double poly_at(const double poly[POINTS], double theta)
{
  double value = 0;
  for (int k = POINTS - 1; k >= 0; k--)
    value = value * theta + poly[k];
  return value;
}

static double poly_integral(const double poly[POINTS], double theta)
{
  double value = 0;
  for (int k = POINTS - 1; k >= 0; k--)
    value = (value + poly[k] / (k + 1)) * theta;
  return value;
}

void lg_course_outputs_at(const LgCourse *course, double theta, double u[])
{
  for (int o = 0; o < course->plan.n_outputs; o++)
    u[o] = poly_at(course->step.u_poly[o], theta);
}

void lg_course_advance(LgCourse *course, double theta)
{
  LgCourseStepNow *step = &course->step;
  const LgCourseRow *heat = &course->net.heat.output;
  double *amount = course->one;
  for (int o = 0; o < course->plan.n_outputs; o++) {
    amount[o] = step->h * poly_integral(step->u_poly[o], theta);
    course->integral[o] += amount[o];
  }
  for (int k = 0; k < heat->n; k++)
    course->heated += heat->by[k] * amount[heat->at[k]];
  for (int k = 0; k < course->net.n_own; k++) {
    course->heated += step->h * poly_integral(step->power_poly[k], theta);
    course->lost += step->h * poly_integral(step->bend_poly[k], theta);
  }
  course->lost += step->h * lg_curve_integral(lg_course_curve(course, &course->net.loss), theta);
  lg_course_modes_at(course, theta, course->z);
  lg_course_outputs_at(course, theta, course->u);
  course->u_fresh = TRUE;
  step->now_theta = theta;
  course->now_s = step->from_s + theta * step->h;
}

gboolean lg_course_refresh(LgCourse *course)
{
  enum { ROUNDS = 20 };
  if (course->u_fresh)
    return TRUE;
  const int rounds = course->felts_see_outputs ? ROUNDS : 1;
  for (int round = 0; round < rounds; round++) {
    for (int k = 0; k < course->plan.n_felts; k++)
      course->felt_now[k] = lg_course_line_value(&course->felt[k], course->z, course->u);
    if (!lg_course_solve(course, course->felt_now, course->u))
      return FALSE;
  }
  course->u_fresh = TRUE;
  return TRUE;
}
