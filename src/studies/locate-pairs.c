/* Two faults at once. */
#include "studies/locate-private.h"
#include <stdlib.h>

/* How likely a second fault is where there is one: one job in ten. Common practice, no source. */
#define SECOND 0.1

/* A suspect at one size that explains something. */
typedef struct {
  int suspect;
  double size, score;
  LgChange changes[LG_MOST_CHANGES];
  int n;
} Half;

static int higher(gconstpointer a, gconstpointer b)
{
  const double x = ((const Half *)a)->score, y = ((const Half *)b)->score;
  return x > y ? -1 : x < y;
}

/* By its prior, and by how much better than a healthy job it explains those signs that it explains
 * better. */
static double score_of(LgLocator *l, const LgSign signs[], int n_signs, const LgPiece *piece)
{
  double sum = log(g_array_index(l->suspects, LgSuspect, piece->suspect).prior);
  for (int s = 0; s < n_signs; s++) {
    const double a = lg_sign_figure(l, &signs[s], piece->row[0]),
                 b = lg_sign_figure(l, &signs[s], piece->row[1]);
    const double gain = lg_sign_log_likelihood(&signs[s], a + piece->t * (b - a)) -
                        lg_sign_log_likelihood(&signs[s], lg_sign_figure(l, &signs[s], 0));
    sum += fmax(0, gain);
  }
  return sum;
}

/* The best piece of each suspect and the sizes of its grid's ends, best first. */
static GArray *find_halves(LgLocator *l, const LgSign signs[], int n_signs, const GArray *pieces)
{
  GArray *const halves = g_array_new(FALSE, FALSE, sizeof(Half));
  for (guint i = 0; i < pieces->len; i++) {
    const LgPiece *const piece = &g_array_index(pieces, LgPiece, i);
    const LgSuspect *const suspect = &g_array_index(l->suspects, LgSuspect, piece->suspect);
    if (suspect->kind == LG_SUSPECT_HEALTHY)
      continue;
    Half half = {.suspect = piece->suspect, .score = score_of(l, signs, n_signs, piece)};
    Half *const last = halves->len > 0 ? &g_array_index(halves, Half, halves->len - 1) : NULL;
    if (last != NULL && last->suspect == half.suspect && last->score >= half.score)
      continue;
    half.size = lg_piece_size(l, piece);
    if (suspect->n > 1)
      half.n = lg_suspect_changes(l, suspect, half.size, half.changes);
    else {
      const LgRow *const row = &g_array_index(l->rows, LgRow, suspect->first);
      half.n = row->n;
      memcpy(half.changes, &g_array_index(l->changes, LgChange, row->first),
             (gsize)row->n * sizeof(LgChange));
    }
    if (last != NULL && last->suspect == half.suspect)
      *last = half;
    else
      g_array_append_val(halves, half);
  }
  g_array_sort(halves, higher);
  return halves;
}

static int count_bridges(const LgChange changes[], int n)
{
  int bridges = 0;
  for (int c = 0; c < n; c++)
    bridges += changes[c].kind == LG_CHANGE_BRIDGE;
  return bridges;
}

typedef struct {
  int a, b; /* halves */
} Couple;

/* All couples of halves as faults. */
static int couple(const GArray *halves, LgFault faults[], LgChange changes[], Couple of[])
{
  int n = 0;
  for (guint a = 0; a < halves->len; a++)
    for (guint b = a + 1; b < halves->len; b++) {
      const Half *const one = &g_array_index(halves, Half, a), *const two =
                                                                   &g_array_index(halves, Half, b);
      if (count_bridges(one->changes, one->n) + count_bridges(two->changes, two->n) >
          LG_FAULT_BRIDGES)
        continue;
      memcpy(changes, one->changes, (gsize)one->n * sizeof *changes);
      memcpy(changes + one->n, two->changes, (gsize)two->n * sizeof *changes);
      faults[n] = (LgFault){.n = one->n + two->n, .change = changes};
      changes += faults[n].n;
      of[n++] = (Couple){(int)a, (int)b};
    }
  return n;
}

static void add_pair(LgLocator *l, const Half *a, const Half *b, double log_weight, int row,
                     GArray *pieces)
{
  const double prior = 2 * SECOND * g_array_index(l->suspects, LgSuspect, a->suspect).prior *
                       g_array_index(l->suspects, LgSuspect, b->suspect).prior;
  const LgSuspect pair = {.kind = LG_SUSPECT_FAILURE,
                          .wire = -1,
                          .element = -1,
                          .prior = prior,
                          .pair = {a->suspect, b->suspect},
                          .pair_size = {a->size, b->size}};
  const LgPiece piece = {
      .suspect = (int)l->suspects->len, .row = {row, row}, .weight = log(prior) + log_weight};
  g_array_append_val(l->suspects, pair);
  g_array_append_val(pieces, piece);
}

/* ---- Sizes of both, fitted together. ---- */

enum { MOST_FITTED = 24, SIZES = 5, TRIALS = SIZES * SIZES };
static const double steps[] = {1.6, 1.25, 1.1};

/* A bell has no slope far out; this one leads there. */
static double nearness(const LgSign signs[], int n_signs, const double figure[])
{
  double sum = 0;
  for (int s = 0; s < n_signs; s++) {
    if (signs[s].kind != LG_SIGN_VOLTS) {
      sum += lg_sign_log_likelihood(&signs[s], figure[s]);
      continue;
    }
    const double r = (signs[s].value - figure[s]) / lg_sign_spread(&signs[s], figure[s]);
    sum -= 2 * log(1 + r * r / 4);
  }
  return sum;
}

typedef struct {
  Half half[2];
  double score;
} Double;

static int nearer(gconstpointer a, gconstpointer b)
{
  const double x = ((const Double *)a)->score, y = ((const Double *)b)->score;
  return x > y ? -1 : x < y;
}

static gboolean resize(const LgLocator *l, Half *half, double factor)
{
  const LgSuspect *const suspect = &g_array_index(l->suspects, LgSuspect, half->suspect);
  if (isnan(half->size))
    return factor == 1;
  half->size *= factor;
  half->n = lg_suspect_changes(l, suspect, half->size, half->changes);
  return TRUE;
}

static void join(const Double *both, LgFault *fault, LgChange changes[])
{
  memcpy(changes, both->half[0].changes, (gsize)both->half[0].n * sizeof *changes);
  memcpy(changes + both->half[0].n, both->half[1].changes,
         (gsize)both->half[1].n * sizeof *changes);
  *fault = (LgFault){.n = both->half[0].n + both->half[1].n, .change = changes};
}

/* Tries all couples of sizes around those that each has. */
static void fit_round(LgLocator *l, Double doubles[], int n, double step, const LgSign signs[],
                      int n_signs)
{
  g_autofree Double *trials = g_new(Double, (gsize)n * TRIALS + 1);
  g_autofree LgFault *faults = g_new(LgFault, (gsize)n * TRIALS + 1);
  g_autofree int *of = g_new(int, (gsize)n *TRIALS + 1);
  g_autofree LgChange *changes = g_new(LgChange, 2 * LG_MOST_CHANGES * (gsize)n * TRIALS + 1);
  int n_trials = 0;
  for (int i = 0; i < n; i++)
    for (int k = 0; k < TRIALS; k++) {
      Double *const trial = &trials[n_trials];
      *trial = doubles[i];
      if (!resize(l, &trial->half[0], pow(step, k % SIZES - SIZES / 2)) ||
          !resize(l, &trial->half[1], pow(step, k / SIZES - SIZES / 2)))
        continue;
      join(trial, &faults[n_trials], changes + 2 * LG_MOST_CHANGES * (gsize)n_trials);
      of[n_trials++] = i;
    }
  g_autofree double *figure = lg_locator_figures(l, faults, n_trials, signs, n_signs);
  for (int t = 0; t < n_trials; t++) {
    trials[t].score = nearness(signs, n_signs, figure + (gsize)t * (gsize)n_signs);
    if (trials[t].score > doubles[of[t]].score)
      doubles[of[t]] = trials[t];
  }
}

LgPairs *lg_pairs_new(LgLocator *l, const LgSign signs[], int n_signs, const GArray *singles, int n)
{
  LgPairs *const pairs = g_new0(LgPairs, 1);
  pairs->pieces = g_array_new(FALSE, FALSE, sizeof(LgPiece));
  g_autoptr(GArray) halves = find_halves(l, signs, n_signs, singles);
  g_array_set_size(halves, MIN(halves->len, (guint)n));
  const gsize most = (gsize)halves->len * (gsize)halves->len / 2 + 1;
  g_autofree LgFault *faults = g_new(LgFault, most);
  g_autofree LgChange *changes = g_new(LgChange, 2 * LG_MOST_CHANGES * most);
  g_autofree Couple *of = g_new(Couple, most);
  g_autofree Double *doubles = g_new(Double, most);
  const int n_couples = couple(halves, faults, changes, of);
  g_autofree double *rough = lg_locator_figures(l, faults, n_couples, signs, n_signs);
  for (int i = 0; i < n_couples; i++) {
    doubles[i].half[0] = g_array_index(halves, Half, of[i].a);
    doubles[i].half[1] = g_array_index(halves, Half, of[i].b);
    doubles[i].score = nearness(signs, n_signs, rough + (gsize)i * (gsize)n_signs);
  }
  qsort(doubles, (gsize)n_couples, sizeof *doubles, nearer);
  const int n_fitted = MIN(n_couples, MOST_FITTED);
  for (gsize k = 0; k < G_N_ELEMENTS(steps) && n_fitted > 0; k++)
    fit_round(l, doubles, n_fitted, steps[k], signs, n_signs);
  for (int i = 0; i < n_couples; i++)
    join(&doubles[i], &faults[i], changes + 2 * LG_MOST_CHANGES * (gsize)i);
  pairs->figure = lg_locator_figures(l, faults, n_couples, signs, n_signs);
  for (int i = 0; i < n_couples; i++) {
    double sum = 0;
    for (int s = 0; s < n_signs; s++)
      sum += lg_sign_log_likelihood(&signs[s], pairs->figure[i * n_signs + s]);
    add_pair(l, &doubles[i].half[0], &doubles[i].half[1], sum, i, pairs->pieces);
  }
  return pairs;
}

void lg_pairs_free(LgPairs *pairs)
{
  if (pairs == NULL)
    return;
  g_array_unref(pairs->pieces);
  g_free(pairs->figure);
  g_free(pairs);
}
