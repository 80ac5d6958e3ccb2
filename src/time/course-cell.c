/* The electrical network's outputs as a polynomial of the felts, for one set of positions.
 *
 * Newton's form on Leja points: a term of orders (a, b, ..) is the product of
 * N_a(x) N_b(y) .., N_m(x) = prod_{l<m} (x - leja_l) / (leja_m - leja_l), and one solution at the
 * point (leja_a, leja_b, ..) gives its coefficients, which are what the terms before it missed
 * there. As |N_m| <= 1 on [-1, 1], the coefficient bounds what the term adds. A term may be added
 * when all that are one order lower are there; its size is foreseen from theirs. */
#include "time/course-private.h"

enum { LANES = LG_COURSE_LANES, TERMS = LG_COURSE_TERMS, WAITING = 512 };

/* Terms that may come next. */
typedef struct LgCourseWaiting {
  int n;
  LgCourseTermOf term[WAITING];
} Waiting;

/* N_m(x). */
static double newton(const LgCourse *course, int m, double x)
{
  double value = course->norm[m];
  for (int l = 0; l < m; l++)
    value *= x - course->leja[l];
  return value;
}

/* From 0 on, each point where the product of the distances to those before it is greatest. */
void lg_course_cell_setup(LgCourse *course)
{
  enum { GRID = 4000 };
  course->waiting = lg_course_array(course, Waiting, 1);
  for (int m = 0; m < LG_COURSE_ORDERS; m++) {
    double most = m == 0 ? 2 : 0;
    for (int k = GRID; k >= 0 && m > 0; k--) {
      double x = 2.0 * k / GRID - 1, product = 1;
      for (int l = 0; l < m; l++)
        product *= fabs(x - course->leja[l]);
      if (product > most * (1 + 1e-9)) {
        most = product;
        course->leja[m] = x;
      }
    }
    course->norm[m] = 1;
    course->norm[m] = 1 / newton(course, m, course->leja[m]);
  }
  for (int m = 0; m < LG_COURSE_ORDERS; m++)
    for (int k = 0; k < LG_COURSE_ORDERS; k++)
      course->newton[m][k] = newton(course, m, course->leja[k]);
}

gboolean lg_course_solve(LgCourse *course, const double felt[], double out[])
{
  course->work.solved++;
  return course->calls.respond(course->position, felt, out, course->calls.user);
}

double lg_course_cell_reach(const LgCourse *course, const LgCourseCell *cell, const double felt[])
{
  double reach = 0;
  for (int k = 0; k < course->plan.n_felts; k++)
    reach = MAX(reach, fabs(felt[k] - cell->centre[k]) / cell->half[k]);
  return reach;
}

void lg_course_cell_free(gpointer data)
{
  LgCourseCell *cell = data;
  g_free(cell->centre);
  g_free(cell->half);
  g_free(cell->term);
  g_free(cell->coefficient);
  g_free(cell->scale);
  g_free(cell->ratio);
  g_free(cell->most_order);
  g_free(cell->n_used);
  g_free(cell->used);
  g_free(cell->weight);
  g_free(cell);
}

/* 16 bits a factor: felt + 1, order. */
static void pack_key(LgCourseTermOf *term)
{
  term->key = term->felts = 0;
  for (int k = 0; k < term->n_factors; k++) {
    term->key = term->key << 16 | (uint64_t)(term->felt[k] + 1) << 4 | (uint64_t)term->order[k];
    term->felts |= (uint64_t)1 << term->felt[k] % 64;
  }
}

static int index_of(const LgCourseCell *cell, uint64_t key)
{
  for (int t = 0; t < cell->n_terms; t++)
    if (cell->term[t].key == key)
      return t;
  return -1;
}

static const LgCourseTermOf *find_term(const LgCourseCell *cell, const LgCourseTermOf *term)
{
  const int t = index_of(cell, term->key);
  return t < 0 ? NULL : &cell->term[t];
}

/* One order less in the factor. */
static LgCourseTermOf lower(const LgCourseTermOf *term, int factor)
{
  LgCourseTermOf less = *term;
  if (--less.order[factor] == 0) {
    less.n_factors--;
    for (int k = factor; k < less.n_factors; k++) {
      less.felt[k] = term->felt[k + 1];
      less.order[k] = term->order[k + 1];
    }
  }
  pack_key(&less);
  return less;
}

/* One order more of the felt; FALSE where a term holds no more. */
static gboolean raise_term(const LgCourseTermOf *term, int felt, LgCourseTermOf *more)
{
  int k = 0;
  *more = *term;
  while (k < term->n_factors && term->felt[k] < felt)
    k++;
  if (k < term->n_factors && term->felt[k] == felt) {
    more->order[k]++;
  } else {
    if (term->n_factors == LG_COURSE_FACTORS)
      return FALSE;
    for (int m = more->n_factors++; m > k; m--) {
      more->felt[m] = more->felt[m - 1];
      more->order[m] = more->order[m - 1];
    }
    more->felt[k] = felt;
    more->order[k] = 1;
  }
  pack_key(more);
  return more->order[k] < LG_COURSE_ORDERS;
}

/* Expected size; negative when a lower term is missing. */
static double foresee(const LgCourseCell *cell, const LgCourseTermOf *term)
{
  double size = INFINITY;
  for (int k = 0; k < term->n_factors; k++) {
    const LgCourseTermOf less = lower(term, k), *found = find_term(cell, &less);
    if (found == NULL)
      return -1;
    if (found->n_factors > 0)
      size = MIN(size, found->size * cell->ratio[term->felt[k]]);
  }
  return size;
}

/* FALSE when too many wait. */
static gboolean await_followers(const LgCourse *course, const LgCourseCell *cell, int t,
                                Waiting *waiting)
{
  for (int k = 0; k < course->plan.n_felts; k++) {
    LgCourseTermOf more;
    if (t > 0 && !(cell->term[t].size * cell->ratio[k] > cell->aim))
      continue;
    if (!raise_term(&cell->term[t], k, &more))
      continue;
    more.size = foresee(cell, &more);
    if (!(more.size > cell->aim))
      continue;
    if (waiting->n == WAITING)
      return FALSE;
    waiting->term[waiting->n++] = more;
  }
  return TRUE;
}

/* Value of a term at the point of another. */
static double term_at(const LgCourse *course, const LgCourseTermOf *term, const LgCourseTermOf *at)
{
  double value = 1;
  for (int k = 0, m = 0; k < term->n_factors; k++) {
    while (m < at->n_factors && at->felt[m] < term->felt[k])
      m++;
    if (m == at->n_factors || at->felt[m] != term->felt[k] || at->order[m] < term->order[k])
      return 0;
    value *= course->newton[term->order[k]][at->order[m]];
  }
  return value;
}

static void value_at_term(const LgCourse *course, const LgCourseCell *cell,
                          const LgCourseTermOf *at, double out[])
{
  memset(out, 0, sizeof *out * (gsize)course->plan.n_outputs);
  for (int t = 0; t < cell->n_terms; t++) {
    const LgCourseTermOf *term = &cell->term[t];
    const double basis = (term->felts & ~at->felts) == 0 ? term_at(course, term, at) : 0;
    const double *coefficient = &cell->coefficient[t * course->plan.n_outputs];
    for (int o = 0; o < course->plan.n_outputs && basis != 0; o++)
      out[o] += coefficient[o] * basis;
  }
}

/* `room` stays a multiple of 4. */
static void make_room(const LgCourse *course, LgCourseCell *cell)
{
  enum { MORE = 32 };
  if (cell->n_terms < cell->room)
    return;
  cell->room += MORE;
  cell->term = g_renew(LgCourseTermOf, cell->term, cell->room);
  cell->coefficient =
      g_renew(double, cell->coefficient, cell->room *MAX(1, course->plan.n_outputs));
}

/* Solves at the term's point. FALSE: no answer. */
static gboolean add_term(LgCourse *course, LgCourseCell *cell, const LgCourseTermOf *term)
{
  const int n_outputs = course->plan.n_outputs, t = cell->n_terms;
  double *missed = course->one, size = 0;
  for (int k = 0; k < course->plan.n_felts; k++)
    course->point[k] = cell->centre[k];
  for (int k = 0; k < term->n_factors; k++)
    course->point[term->felt[k]] += cell->half[term->felt[k]] * course->leja[term->order[k]];
  value_at_term(course, cell, term, missed);
  if (!lg_course_solve(course, course->point, course->two))
    return FALSE;
  make_room(course, cell);
  for (int o = 0; o < n_outputs; o++) {
    const double fresh = course->two[o];
    if (t == 0)
      cell->scale[o] = MAX(fabs(fresh), course->plan.outputs[o].floor);
    cell->coefficient[t * n_outputs + o] = fresh - missed[o];
    size = MAX(size, fabs(fresh - missed[o]) / cell->scale[o]);
  }
  cell->term[t] = *term;
  cell->term[t].size = size;
  cell->term[t].prefix = t == 0 ? 0 : index_of(cell, term->key >> 16);
  cell->n_terms++;
  return TRUE;
}

/* A pure power tells how fast the orders of its felt fall. */
static void learn_ratio(LgCourseCell *cell, const LgCourseTermOf *term)
{
  if (term->n_factors != 1)
    return;
  const int felt = term->felt[0];
  if (term->order[0] == 1) {
    cell->ratio[felt] = MIN(term->size, 1);
    return;
  }
  const LgCourseTermOf less = lower(term, 0);
  const double before = find_term(cell, &less)->size;
  if (before > 0)
    cell->ratio[felt] = MAX(MIN(term->size / before, 1), 0.1 * cell->ratio[felt]);
}

typedef enum { CELL_MADE, CELL_CROOKED, CELL_NO_ANSWER } Made;

/* Adds terms, the greatest foreseen first, until none is foreseen above cell->aim. */
static Made extend(LgCourse *course, LgCourseCell *cell)
{
  Waiting *waiting = course->waiting;
  waiting->n = 0;
  for (int t = 0; t < cell->n_terms; t++)
    if (!await_followers(course, cell, t, waiting))
      return CELL_CROOKED;
  for (;;) {
    int best = -1;
    for (int w = 0; w < waiting->n; w++)
      if (waiting->term[w].size > (best < 0 ? cell->aim : waiting->term[best].size))
        best = w;
    if (best < 0)
      return CELL_MADE;
    const LgCourseTermOf term = waiting->term[best];
    waiting->term[best] = waiting->term[--waiting->n];
    if (find_term(cell, &term) != NULL)
      continue;
    if (cell->n_terms == TERMS)
      return CELL_CROOKED;
    if (!add_term(course, cell, &term))
      return CELL_NO_ANSWER;
    const int t = cell->n_terms - 1;
    learn_ratio(cell, &cell->term[t]);
    if (!await_followers(course, cell, t, waiting))
      return CELL_CROOKED;
  }
}

static LgCourseCell *cell_new(LgCourse *course, const double centre[])
{
  const gsize n_felts = (gsize)course->plan.n_felts, n_outputs = (gsize)course->plan.n_outputs;
  LgCourseCell *cell = g_new0(LgCourseCell, 1);
  cell->centre = g_memdup2(centre, sizeof *centre * n_felts);
  cell->half = g_memdup2(course->mode->half, sizeof *cell->half * n_felts);
  cell->scale = g_new0(double, n_outputs + 1);
  cell->ratio = g_new0(double, n_felts + 1);
  cell->most_order = g_new0(int, n_felts + 1);
  cell->n_used = g_new0(int, n_outputs + 1);
  cell->next_check = 1;
  cell->aim = 0.1 * course->plan.response_tolerance;
  course->work.cells++;
  return cell;
}

static int greatest_order(const LgCourseCell *cell, int felt)
{
  int most = 0;
  for (int t = 0; t < cell->n_terms; t++)
    for (int k = 0; k < cell->term[t].n_factors; k++)
      if (cell->term[t].felt[k] == felt)
        most = MAX(most, cell->term[t].order[k]);
  return most;
}

/* What evaluation needs to know beforehand. Terms far below the tolerance of one output, though not
 * of others, are left out for it: all of them together do not reach a fifth of the tolerance. */
static void finish(const LgCourse *course, LgCourseCell *cell)
{
  const double least = 0.2 * course->plan.response_tolerance / TERMS;
  const int n_outputs = course->plan.n_outputs, room = cell->room;
  cell->used = g_renew(int, cell->used, room *MAX(1, n_outputs));
  cell->weight = g_renew(double, cell->weight, room *MAX(1, n_outputs));
  for (int k = 0; k < course->plan.n_felts; k++)
    cell->most_order[k] = greatest_order(cell, k);
  for (int o = 0; o < n_outputs; o++) {
    int *used = &cell->used[o * room], n = 0;
    double *weight = &cell->weight[o * room];
    for (int t = 0; t < cell->n_terms; t++) {
      const double coefficient = cell->coefficient[t * n_outputs + o];
      if (fabs(coefficient) > least * cell->scale[o]) {
        used[n] = t;
        weight[n++] = coefficient;
      }
    }
    for (; n % 4 != 0; n++) {
      used[n] = 0;
      weight[n] = 0;
    }
    cell->n_used[o] = n;
  }
}

/* Makes the cells to come narrower in the felt that bends most; FALSE when they are narrow already.
 */
static gboolean narrow(const LgCourse *course, const LgCourseCell *cell)
{
  double *half = course->mode->half;
  int worst = -1;
  for (int k = 0; k < course->plan.n_felts; k++)
    if (worst < 0 || greatest_order(cell, k) > greatest_order(cell, worst))
      worst = k;
  if (worst < 0 || half[worst] < course->plan.felts[worst].span / 256)
    return FALSE;
  half[worst] *= 0.6;
  return TRUE;
}

static LgCourseCell *make_cell(LgCourse *course, const double centre[])
{
  for (;;) {
    LgCourseCell *cell = cell_new(course, centre);
    const LgCourseTermOf first = {0};
    Made made = CELL_NO_ANSWER;
    if (add_term(course, cell, &first))
      made = extend(course, cell);
    if (made == CELL_MADE) {
      finish(course, cell);
      return cell;
    }
    if (made == CELL_CROOKED && !narrow(course, cell)) {
      cell->direct = TRUE;
      return cell;
    }
    lg_course_cell_free(cell);
    if (made == CELL_NO_ANSWER)
      return NULL;
  }
}

LgCourseCell *lg_course_cell_known(const LgCourse *course, const double felt[])
{
  const GPtrArray *cells = course->mode->cells;
  for (guint c = cells->len; c-- > 0;) {
    LgCourseCell *cell = cells->pdata[c];
    if (lg_course_cell_reach(course, cell, felt) <= 0.9)
      return cell;
  }
  return NULL;
}

LgCourseCell *lg_course_cell_add(LgCourse *course, const double felt[], const LgCourseCell *left)
{
  enum { MOST_CELLS = 64 };
  GPtrArray *cells = course->mode->cells;
  double *centre = g_new(double, course->plan.n_felts + 1);
  for (int k = 0; k < course->plan.n_felts; k++) {
    const double ahead = left != NULL ? (felt[k] - left->centre[k]) / left->half[k] : 0;
    centre[k] =
        felt[k] + (fabs(ahead) > 0.6 ? CLAMP(ahead, -1, 1) * 0.6 * course->mode->half[k] : 0);
  }
  LgCourseCell *cell = make_cell(course, centre);
  g_free(centre);
  if (cell == NULL)
    return NULL;
  if (cells->len == MOST_CELLS)
    g_ptr_array_remove_index(cells, 0);
  g_ptr_array_add(cells, cell);
  return cell;
}

/* N_0 .. N_8 of every felt, then the terms, then the outputs. */
LG_COURSE_CLONES static void evaluate(const LgCourse *course, const LgCourseCell *cell,
                                      const LgCourseVec felt[], LgCourseVec out[])
{
  const LgCourseVec one = 1 - (LgCourseVec){0};
  LgCourseVec *basis = course->basis;
  const int n_terms = cell->n_terms;
  for (int k = 0; k < course->plan.n_felts; k++) {
    LgCourseVec *power = course->powers[k], product = one;
    const LgCourseVec x = (felt[k] - cell->centre[k]) / cell->half[k];
    const int most = cell->most_order[k];
    power[0] = one;
    for (int m = 1; m <= most; m++) {
      product *= x - course->leja[m - 1];
      power[m] = product * course->norm[m];
    }
  }
  basis[0] = one;
  for (int t = 1; t < n_terms; t++) {
    const LgCourseTermOf *term = &cell->term[t];
    const int last = term->n_factors - 1;
    basis[t] = basis[term->prefix] * course->powers[term->felt[last]][term->order[last]];
  }
  for (int o = 0; o < course->plan.n_outputs; o++) {
    const double *weight = &cell->weight[o * cell->room];
    const int *used = &cell->used[o * cell->room], n = cell->n_used[o];
    LgCourseVec a = {0}, b = {0}, c = {0}, d = {0}; /* four, so that none waits for the other */
    for (int t = 0; t < n; t += 4) {
      a += weight[t] * basis[used[t]];
      b += weight[t + 1] * basis[used[t + 1]];
      c += weight[t + 2] * basis[used[t + 2]];
      d += weight[t + 3] * basis[used[t + 3]];
    }
    out[o] = (a + b) + (c + d);
  }
}

static gboolean solve_lanes(LgCourse *course, const LgCourseVec felt[], LgCourseVec out[])
{
  for (int l = 0; l < LANES; l++) {
    for (int k = 0; k < course->plan.n_felts; k++)
      course->point[k] = felt[k][l];
    if (!lg_course_solve(course, course->point, course->two))
      return FALSE;
    for (int o = 0; o < course->plan.n_outputs; o++)
      out[o][l] = course->two[o];
  }
  return TRUE;
}

gboolean lg_course_cell_eval(LgCourse *course, LgCourseCell *cell, const LgCourseVec felt[],
                             LgCourseVec out[])
{
  if (cell->direct)
    return solve_lanes(course, felt, out);
  evaluate(course, cell, felt, out);
  return TRUE;
}

/* Greatest miss of the cell against `fresh`, in tolerances. */
static double miss(LgCourse *course, LgCourseCell *cell, const double felt[], const double fresh[])
{
  double worst = 0;
  for (int k = 0; k < course->plan.n_felts; k++)
    course->trial_felt[k] = felt[k] - (LgCourseVec){0};
  evaluate(course, cell, course->trial_felt, course->trial);
  for (int o = 0; o < course->plan.n_outputs; o++)
    worst = MAX(worst, fabs(course->trial[o][0] - fresh[o]) / cell->scale[o]);
  return worst / course->plan.response_tolerance;
}

LgCourseCellCheck lg_course_cell_check(LgCourse *course, LgCourseCell *cell, const double felt[])
{
  enum { MENDS = 4 };
  if (cell->direct || ++cell->uses < cell->next_check)
    return LG_CELL_GOOD;
  cell->next_check = cell->uses * 2;
  if (!lg_course_solve(course, felt, course->fresh))
    return LG_CELL_NO_ANSWER;
  if (miss(course, cell, felt, course->fresh) <= 1)
    return LG_CELL_GOOD;
  for (int mend = 0; mend < MENDS; mend++) {
    cell->aim *= 0.1;
    const Made made = extend(course, cell);
    if (made == CELL_NO_ANSWER)
      return LG_CELL_NO_ANSWER;
    if (made == CELL_CROOKED)
      break;
    finish(course, cell);
    if (miss(course, cell, felt, course->fresh) <= 1)
      return LG_CELL_MENDED;
  }
  if (!narrow(course, cell))
    cell->direct = TRUE;
  else
    g_ptr_array_remove(course->mode->cells, cell);
  return LG_CELL_GONE;
}
