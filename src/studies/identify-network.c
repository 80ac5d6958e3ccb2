/* Readings to a network, piece by piece, and the readings that no network explains. */
#include "studies/identify-private.h"
#include <math.h>
#include <string.h>

/* A reading that misses by more than this, in what the meter may be off, contradicts the others:
 * probes on old terminals add a little of their own. Common practice, no source. */
#define CONTRADICTS 1.5
/* With more readings than this only the worst are suspected one by one. */
enum { MOST_SUSPECTED = 24, WORST_SUSPECTED = 8, MOST_LEFT_OUT = 4 };

typedef struct {
  LgOhmNet *net;
  const LgOhmReading *readings;
  int n_readings;
  int *stands_for; /* [n_readings] the reading of the same pair that is used; itself: used */
  int *against;    /* [n_readings] one of the same pair that disagrees, -1: none */
} Build;

static gboolean same_pair(const LgOhmReading *x, const LgOhmReading *y)
{
  return (x->a == y->a && x->b == y->b) || (x->a == y->b && x->b == y->a);
}

static void find_groups(Build *build)
{
  LgOhmNet *const net = build->net;
  for (int t = 0; t < net->n_terminals; t++)
    net->group[t] = t;
  for (int r = 0; r < build->n_readings; r++) {
    const LgOhmReading *const reading = &build->readings[r];
    if (isinf(reading->ohm))
      continue;
    const int a = net->group[reading->a], b = net->group[reading->b];
    for (int t = 0; t < net->n_terminals; t++)
      if (net->group[t] == MAX(a, b))
        net->group[t] = MIN(a, b);
  }
}

/* Repeated readings of a pair: those that agree with the first become one; the others are shown. */
static void pool_pairs(Build *build, LgOhmReading pooled[])
{
  for (int r = 0; r < build->n_readings; r++) {
    const LgOhmReading *const reading = &build->readings[r];
    pooled[r] = *reading;
    build->stands_for[r] = r;
    build->against[r] = -1;
    for (int q = 0; q < r && isfinite(reading->ohm); q++) {
      if (!same_pair(reading, &build->readings[q]) || build->stands_for[q] != q ||
          isinf(build->readings[q].ohm))
        continue;
      build->stands_for[r] = q;
      const double apart = reading->ohm - build->readings[q].ohm;
      if (fabs(apart) > reading->off_ohm + build->readings[q].off_ohm)
        build->against[build->against[r] = q] = r;
      else
        pooled[q].ohm += (reading->ohm - pooled[q].ohm) / 2;
      break;
    }
  }
}

typedef struct {
  int n_terminals, n_readings;
  int terminal[LG_MOST_CAVITIES]; /* local to global */
  LgOhmReading *readings;         /* local, one a pair */
  int *of;                        /* [n_readings] the reading behind it */
  gboolean *skip;
  double *others_say; /* [n_readings] what the rest says, NAN: not asked */
} Piece;

static Piece piece_of(const Build *build, const LgOhmReading pooled[], int group)
{
  Piece piece = {.readings = g_new(LgOhmReading, (gsize)build->n_readings + 1),
                 .of = g_new(int, (gsize)build->n_readings + 1),
                 .skip = g_new0(gboolean, (gsize)build->n_readings + 1),
                 .others_say = g_new(double, (gsize)build->n_readings + 1)};
  int local[LG_MOST_CAVITIES];
  for (int t = 0; t < build->net->n_terminals; t++)
    if (build->net->group[t] == group) {
      local[t] = piece.n_terminals;
      piece.terminal[piece.n_terminals++] = t;
    }
  for (int r = 0; r < build->n_readings; r++) {
    const LgOhmReading *const reading = &pooled[r];
    if (isinf(reading->ohm) || build->stands_for[r] != r || build->net->group[reading->a] != group)
      continue;
    piece.of[piece.n_readings] = r;
    piece.others_say[piece.n_readings] = NAN;
    piece.readings[piece.n_readings++] =
        (LgOhmReading){local[reading->a], local[reading->b], reading->ohm, reading->off_ohm};
  }
  return piece;
}

static void clear_piece(Piece *piece)
{
  g_free(piece->readings);
  g_free(piece->of);
  g_free(piece->skip);
  g_free(piece->others_say);
}

/* Whether the readings that are not skipped hold the piece together. */
static gboolean holds_together(const Piece *piece)
{
  gboolean in[LG_MOST_CAVITIES] = {TRUE};
  int n = 1;
  for (gboolean grew = TRUE; grew;) {
    grew = FALSE;
    for (int r = 0; r < piece->n_readings; r++) {
      const LgOhmReading *const reading = &piece->readings[r];
      if (piece->skip[r] || in[reading->a] == in[reading->b])
        continue;
      in[reading->a] = in[reading->b] = grew = TRUE;
      n++;
    }
  }
  return n == piece->n_terminals;
}

static double miss(const LgFitWork *work, int r)
{
  return fabs(work->readings[r].ohm - work->ohm[r]) / work->readings[r].off_ohm;
}

/* Whether a reading is among those to suspect: all of a small piece, the worst of a large one. */
static gboolean is_worth_asking(const Piece *piece, const double misses[], int r)
{
  if (piece->n_readings <= MOST_SUSPECTED)
    return TRUE;
  int worse = 0;
  for (int q = 0; q < piece->n_readings; q++)
    worse += misses[q] > misses[r];
  return worse < WORST_SUSPECTED;
}

/* Leaves out each reading in turn; returns the one without which the rest fits best, -1 for none,
 * its network in *fit. All without which the rest fits are suspects. */
static int ask_the_others(Build *build, Piece *piece, LgFitWork *work, LgFit *fit)
{
  g_autofree double *misses = g_new(double, (gsize)piece->n_readings);
  g_autofree LgFit *trial = g_new(LgFit, 1);
  lg_fit_score(work, fit);
  for (int r = 0; r < piece->n_readings; r++)
    misses[r] = piece->skip[r] ? 0 : miss(work, r);
  double least = INFINITY;
  int best = -1;
  for (int r = 0; r < piece->n_readings; r++) {
    if (piece->skip[r] || !is_worth_asking(piece, misses, r))
      continue;
    piece->skip[r] = TRUE;
    if (holds_together(piece)) {
      lg_fit_search(work, trial);
      if (trial->worst <= CONTRADICTS) {
        lg_fit_score(work, trial);
        piece->others_say[r] = work->ohm[r];
        build->net->suspect[piece->of[r]] = TRUE;
      }
      if (trial->score < least) {
        least = trial->score;
        best = r;
        *fit = *trial;
      }
    }
    piece->skip[r] = FALSE;
  }
  return best;
}

/* Searches, and leaves readings out while some contradict. */
static void solve_piece(Build *build, Piece *piece, LgFitWork *work, LgFit *fit)
{
  lg_fit_search(work, fit);
  for (int i = 0; i < MOST_LEFT_OUT && fit->worst > CONTRADICTS; i++) {
    const int out = ask_the_others(build, piece, work, fit);
    if (out < 0)
      break;
    piece->skip[out] = TRUE;
    build->net->suspect[piece->of[out]] = TRUE;
  }
}

static void take_piece(Build *build, const Piece *piece, LgFitWork *work, LgFit *fit)
{
  LgOhmNet *const net = build->net;
  const int first_hidden = net->n_nodes;
  for (int e = 0; e < fit->n_branches; e++) {
    LgBranch branch = fit->branch[e];
    branch.a = branch.a < piece->n_terminals ? piece->terminal[branch.a]
                                             : first_hidden + branch.a - piece->n_terminals;
    branch.b = branch.b < piece->n_terminals ? piece->terminal[branch.b]
                                             : first_hidden + branch.b - piece->n_terminals;
    g_array_append_val(net->branches, branch);
  }
  net->n_nodes += fit->n_nodes - fit->n_terminals;
  lg_fit_score(work, fit);
  for (int r = 0; r < piece->n_readings; r++) {
    const double own = piece->others_say[r];
    net->predicted_ohm[piece->of[r]] = isnan(own) ? work->ohm[r] : own;
  }
}

/* What the network says to readings that were not fitted themselves: repeated and open ones. */
static void say_the_rest(Build *build)
{
  LgOhmNet *const net = build->net;
  for (int r = 0; r < build->n_readings; r++) {
    const LgOhmReading *const reading = &build->readings[r];
    const int of = build->stands_for[r];
    if (isinf(reading->ohm))
      net->predicted_ohm[r] = lg_ohm_net_between(net, reading->a, reading->b);
    else if (build->against[r] >= 0)
      net->predicted_ohm[r] = build->readings[build->against[r]].ohm;
    else
      net->predicted_ohm[r] = net->predicted_ohm[of];
    net->misfit[r] = isinf(reading->ohm)
                         ? (isinf(net->predicted_ohm[r]) ? 0 : INFINITY)
                         : (reading->ohm - net->predicted_ohm[r]) / reading->off_ohm;
    net->suspect[r] |= build->against[r] >= 0 || fabs(net->misfit[r]) > CONTRADICTS;
  }
}

LgOhmNet *lg_ohm_net_new(int n_terminals, const LgOhmReading readings[], int n_readings)
{
  g_return_val_if_fail(n_terminals >= 0 && n_terminals <= LG_MOST_CAVITIES, NULL);
  const gsize n = (gsize)n_readings + 1;
  LgOhmNet *const net = g_new(LgOhmNet, 1);
  *net = (LgOhmNet){.n_terminals = n_terminals,
                    .n_nodes = n_terminals,
                    .branches = g_array_new(FALSE, FALSE, sizeof(LgBranch)),
                    .group = g_new(int, (gsize)n_terminals + 1),
                    .predicted_ohm = g_new(double, (gsize)n),
                    .misfit = g_new0(double, (gsize)n),
                    .suspect = g_new0(gboolean, (gsize)n)};
  g_autofree int *stands_for = g_new(int, (gsize)n), *against = g_new(int, (gsize)n);
  g_autofree LgOhmReading *pooled = g_new(LgOhmReading, (gsize)n);
  g_autofree LgFit *fit = g_new(LgFit, 1);
  Build build = {net, readings, n_readings, stands_for, against};
  find_groups(&build);
  pool_pairs(&build, pooled);
  for (int group = 0; group < n_terminals; group++) {
    Piece piece = piece_of(&build, pooled, group);
    if (piece.n_terminals > 1) {
      g_autoptr(LgFitWork) work =
          lg_fit_work_new(piece.n_terminals, piece.readings, piece.n_readings, piece.skip);
      solve_piece(&build, &piece, work, fit);
      take_piece(&build, &piece, work, fit);
    }
    clear_piece(&piece);
  }
  say_the_rest(&build);
  return net;
}

void lg_ohm_net_free(LgOhmNet *net)
{
  if (net == NULL)
    return;
  g_array_unref(net->branches);
  g_free(net->group);
  g_free(net->predicted_ohm);
  g_free(net->misfit);
  g_free(net->suspect);
  g_free(net);
}

double lg_ohm_net_between(const LgOhmNet *net, int a, int b)
{
  g_return_val_if_fail(a < net->n_nodes && b < net->n_nodes, NAN);
  if (a == b)
    return 0;
  /* the piece of a, its nodes numbered anew */
  g_autofree int *local = g_new(int, (gsize)net->n_nodes);
  int n = 0;
  for (int v = 0; v < net->n_nodes; v++)
    local[v] = -1;
  local[a] = n++;
  for (gboolean grew = TRUE; grew;) {
    grew = FALSE;
    for (guint e = 0; e < net->branches->len; e++) {
      const LgBranch *const branch = &g_array_index(net->branches, LgBranch, e);
      if ((local[branch->a] < 0) == (local[branch->b] < 0))
        continue;
      local[local[branch->a] < 0 ? branch->a : branch->b] = n++;
      grew = TRUE;
    }
  }
  if (local[b] < 0)
    return INFINITY;
  g_autofree double *g = g_new0(double, (gsize)n *(gsize)n),
                    *ohm = g_new(double, (gsize)n *(gsize)n);
  for (guint e = 0; e < net->branches->len; e++) {
    const LgBranch *const branch = &g_array_index(net->branches, LgBranch, e);
    const int i = local[branch->a], j = local[branch->b];
    if (i < 0)
      continue;
    g[i * n + j] += 1 / branch->ohm;
    g[j * n + i] += 1 / branch->ohm;
  }
  return lg_ohms_of_conductances(n, g, ohm) ? ohm[local[a] * n + local[b]] : INFINITY;
}
