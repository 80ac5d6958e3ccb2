/* The search for the network with the fewest branches: starts from the shortest tree of the
 * readings or from the inverse relation, then adds, hides, hangs over and takes away while that
 * pays. */
#include "studies/identify-private.h"
#include <math.h>
#include <string.h>

enum { QUICK_STEPS = 12, LAST_STEPS = 60, MOST_ADDED = 6, MOST_REMOVED = 12 };

typedef struct {
  LgFitWork *work;
  int k;        /* terminals */
  double *ohm;  /* [k][k] read, NAN: not */
  double *off;  /* [k][k] */
  gboolean all; /* every pair was read */
  LgFit *best;
  LgFit *winner; /* of this round, NULL: none yet */
} Search;

static void add_branch(LgFit *fit, int a, int b, double ohm)
{
  if (fit->n_branches < LG_FIT_MOST_BRANCHES)
    fit->branch[fit->n_branches++] = (LgBranch){.a = a, .b = b, .ohm = ohm};
}

static gboolean has_branch(const LgFit *fit, int a, int b)
{
  for (int e = 0; e < fit->n_branches; e++)
    if ((fit->branch[e].a == a && fit->branch[e].b == b) ||
        (fit->branch[e].a == b && fit->branch[e].b == a))
      return TRUE;
  return FALSE;
}

static void read_pairs(Search *s)
{
  for (int i = 0; i < s->k * s->k; i++)
    s->ohm[i] = NAN;
  int n = 0;
  for (int r = 0; r < s->work->n_readings; r++) {
    const LgOhmReading *const reading = &s->work->readings[r];
    if (s->work->skip != NULL && s->work->skip[r])
      continue;
    n++;
    const int ab = reading->a * s->k + reading->b, ba = reading->b * s->k + reading->a;
    s->ohm[ab] = s->ohm[ba] = reading->ohm;
    s->off[ab] = s->off[ba] = reading->off_ohm;
  }
  s->all = n == s->k * (s->k - 1) / 2;
}

/* ---- Where to start. ---- */

static int compare_readings(gconstpointer a, gconstpointer b)
{
  const LgOhmReading *const x = *(const LgOhmReading *const *)a, *const y = *(
                                                                     const LgOhmReading *const *)b;
  return x->ohm < y->ohm ? -1 : x->ohm > y->ohm;
}

/* The shortest spanning tree: exact when the network is a tree without hidden nodes, since ohms add
 * along it. */
static void start_tree(const Search *s, LgFit *fit)
{
  g_autoptr(GPtrArray) sorted = g_ptr_array_new();
  for (int r = 0; r < s->work->n_readings; r++)
    if (s->work->skip == NULL || !s->work->skip[r])
      g_ptr_array_add(sorted, (gpointer)&s->work->readings[r]);
  g_ptr_array_sort(sorted, compare_readings);
  int piece[LG_MOST_CAVITIES];
  for (int i = 0; i < s->k; i++)
    piece[i] = i;
  for (guint i = 0; i < sorted->len; i++) {
    const LgOhmReading *const reading = sorted->pdata[i];
    const int from = piece[reading->b], to = piece[reading->a];
    if (from == to)
      continue;
    for (int t = 0; t < s->k; t++)
      if (piece[t] == from)
        piece[t] = to;
    add_branch(fit, reading->a, reading->b, fmax(reading->ohm, 1e-3));
  }
}

/* How far the conductance between i and j may be off: dL = 1/2 L dR L. */
static double conductance_spread(const Search *s, const double g[], const double own[], int i,
                                 int j)
{
  double sum = 0;
  for (int a = 0; a < s->k; a++)
    for (int b = 0; b < a; b++) {
      const double ia = i == a ? own[i] : -g[i * s->k + a], ib = i == b ? own[i] : -g[i * s->k + b],
                   ja = j == a ? own[j] : -g[j * s->k + a], jb = j == b ? own[j] : -g[j * s->k + b];
      const double slope = (ia * jb + ib * ja) / 2 * s->off[a * s->k + b];
      sum += slope * slope;
    }
  return sqrt(sum);
}

/* Branches of the inverse relation that are beyond doubt. FALSE when it has no answer. */
static gboolean start_mesh(const Search *s, LgFit *fit)
{
  const int k = s->k;
  g_autofree double *g = g_new0(double, (gsize)k *(gsize)k);
  g_autofree double *r = g_memdup2(s->ohm, (gsize)k * (gsize)k * sizeof(double));
  double own[LG_MOST_CAVITIES] = {0};
  for (int i = 0; i < k; i++)
    r[i * k + i] = 0;
  if (!lg_conductances_of_ohms(k, r, g))
    return FALSE;
  for (int i = 0; i < k; i++)
    for (int j = 0; j < k; j++)
      own[i] += g[i * k + j];
  for (int i = 0; i < k; i++)
    for (int j = 0; j < i; j++)
      if (g[i * k + j] > 2 * conductance_spread(s, g, own, i, j))
        add_branch(fit, i, j, 1 / g[i * k + j]);
  return TRUE;
}

/* ---- Moves. ---- */

static LgFit *copy_of(const LgFit *fit)
{
  return g_memdup2(fit, sizeof *fit);
}

/* Takes the trial. */
static void consider(Search *s, LgFit *trial)
{
  const int most = 3 * trial->n_nodes;
  const gboolean good = trial->n_branches > most ? lg_fit_score(s->work, trial)
                                                 : lg_fit_refine(s->work, trial, QUICK_STEPS);
  if (good && (s->winner == NULL || trial->score < s->winner->score)) {
    g_free(s->winner);
    s->winner = trial;
  } else {
    g_free(trial);
  }
}

/* A way straight between two terminals that read less than the network says. */
static void try_adding(Search *s)
{
  double done = INFINITY;
  lg_fit_score(s->work, s->best);
  g_autofree double *says = g_memdup2(s->work->ohm, (gsize)s->work->n_readings * sizeof(double));
  for (int tries = 0; tries < MOST_ADDED; tries++) {
    int next = -1;
    double most = 1;
    for (int r = 0; r < s->work->n_readings; r++) {
      const LgOhmReading *const reading = &s->work->readings[r];
      const double less = (says[r] - reading->ohm) / reading->off_ohm;
      if ((s->work->skip == NULL || !s->work->skip[r]) && less > most && less < done &&
          !has_branch(s->best, reading->a, reading->b))
        next = r, most = less;
    }
    if (next < 0)
      return;
    done = most;
    LgFit *const trial = copy_of(s->best);
    const double read = fmax(s->work->readings[next].ohm, 1e-3);
    add_branch(trial, s->work->readings[next].a, s->work->readings[next].b,
               1 / (1 / read - 1 / says[next]));
    consider(s, trial);
  }
}

/* The terminal nearest to `from` that is reached without passing `not_by`; -1: none. */
static int terminal_behind(const LgFit *fit, int from, int not_by)
{
  int queue[LG_FIT_MOST_NODES], n = 0;
  gboolean seen[LG_FIT_MOST_NODES] = {FALSE};
  seen[from] = seen[not_by] = TRUE;
  queue[n++] = from;
  for (int i = 0; i < n; i++) {
    if (queue[i] < fit->n_terminals)
      return queue[i];
    for (int e = 0; e < fit->n_branches; e++) {
      const LgBranch *const b = &fit->branch[e];
      const int other = b->a == queue[i] ? b->b : b->b == queue[i] ? b->a : -1;
      if (other >= 0 && !seen[other]) {
        seen[other] = TRUE;
        queue[n++] = other;
      }
    }
  }
  return -1;
}

typedef struct {
  int n;
  int branch[LG_FIT_MOST_NODES], node[LG_FIT_MOST_NODES], terminal[LG_FIT_MOST_NODES];
} Neighbours;

static Neighbours neighbours_of(const LgFit *fit, int v)
{
  Neighbours all = {0};
  for (int e = 0; e < fit->n_branches && all.n < LG_FIT_MOST_NODES; e++) {
    const LgBranch *const b = &fit->branch[e];
    if (b->a != v && b->b != v)
      continue;
    all.branch[all.n] = e;
    all.node[all.n] = b->a == v ? b->b : b->a;
    all.terminal[all.n] = terminal_behind(fit, all.node[all.n], v);
    all.n++;
  }
  return all;
}

/* How far from v the ways to its neighbours x and y part: half of R_vx + R_vy - R_xy, seen from a
 * terminal behind v when v is hidden. NAN: not read. */
static double parting(const Search *s, const Neighbours *all, int v, int x, int y, double *doubt)
{
  int from = v < s->k ? v : -1;
  for (int i = 0; from < 0 && i < all->n; i++)
    if (i != x && i != y)
      from = all->terminal[i];
  const int tx = all->terminal[x], ty = all->terminal[y];
  if (from < 0 || tx < 0 || ty < 0 || from == tx || from == ty || tx == ty)
    return NAN;
  const int a = from * s->k + tx, b = from * s->k + ty, c = tx * s->k + ty;
  *doubt = (s->off[a] + s->off[b] + s->off[c]) / 2;
  const double before = v == from ? 0 : lg_fit_between(s->work, s->best, from, v);
  return (s->ohm[a] + s->ohm[b] - s->ohm[c]) / 2 - before;
}

static void set_end(LgBranch *branch, int from, int to)
{
  if (branch->a == from)
    branch->a = to;
  else
    branch->b = to;
}

/* A hidden node at `way` from v, which takes over those neighbours that part there or later. */
static void hide(Search *s, const Neighbours *all, int v, int x, double way, double doubt)
{
  if (s->best->n_nodes >= LG_FIT_MOST_NODES)
    return;
  LgFit *const trial = copy_of(s->best);
  const int hidden = trial->n_nodes++;
  for (int y = 0; y < all->n; y++) {
    double other;
    if (y != x && !(parting(s, all, v, x, y, &other) >= way - fmax(doubt, other)))
      continue;
    LgBranch *const branch = &trial->branch[all->branch[y]];
    set_end(branch, v, hidden);
    branch->ohm = fmax(branch->ohm - way, 0.02 * branch->ohm);
  }
  add_branch(trial, v, hidden, way);
  consider(s, trial);
}

/* Hangs neighbour y of v over to neighbour x, which lies on the way. */
static void hang_over(Search *s, const Neighbours *all, int v, int x, int y, double way)
{
  if (has_branch(s->best, all->node[x], all->node[y]))
    return;
  LgFit *const trial = copy_of(s->best);
  LgBranch *const branch = &trial->branch[all->branch[y]];
  set_end(branch, v, all->node[x]);
  branch->ohm = fmax(branch->ohm - way, 0.02 * branch->ohm);
  consider(s, trial);
}

static void try_parting(Search *s, int v)
{
  const Neighbours all = neighbours_of(s->best, v);
  lg_fit_score(s->work, s->best);
  int far_x = -1, far_y = -1;
  double most = 0, most_doubt = 0;
  for (int x = 0; x < all.n; x++)
    for (int y = 0; y < x; y++) {
      double doubt = 0;
      const double way = parting(s, &all, v, x, y, &doubt);
      if (way > fmax(doubt, most))
        far_x = x, far_y = y, most = way, most_doubt = doubt;
    }
  if (far_x < 0)
    return;
  const LgFit *const before = s->best;
  const double to_x = before->branch[all.branch[far_x]].ohm,
               to_y = before->branch[all.branch[far_y]].ohm;
  hang_over(s, &all, v, far_x, far_y, fmin(most, to_x));
  lg_fit_score(s->work, s->best);
  hang_over(s, &all, v, far_y, far_x, fmin(most, to_y));
  lg_fit_score(s->work, s->best);
  hide(s, &all, v, far_x, most, most_doubt);
}

static gboolean is_connected(const LgFit *fit)
{
  gboolean in[LG_FIT_MOST_NODES] = {TRUE};
  int n = 1;
  for (gboolean grew = TRUE; grew;) {
    grew = FALSE;
    for (int e = 0; e < fit->n_branches; e++) {
      const LgBranch *const b = &fit->branch[e];
      if (in[b->a] == in[b->b])
        continue;
      in[b->a] = in[b->b] = grew = TRUE;
      n++;
    }
  }
  return n == fit->n_nodes;
}

static int compare_ohms_down(gconstpointer a, gconstpointer b, gpointer fit)
{
  const double x = ((const LgFit *)fit)->branch[*(const int *)a].ohm,
               y = ((const LgFit *)fit)->branch[*(const int *)b].ohm;
  return x > y ? -1 : x < y;
}

/* Without one of the branches, those of most ohms first. */
static void try_removing(Search *s)
{
  int order[LG_FIT_MOST_BRANCHES] = {0};
  const int n = s->best->n_branches;
  if (n < s->best->n_nodes)
    return;
  for (int e = 0; e < n; e++)
    order[e] = e;
  g_qsort_with_data(order, n, sizeof *order, compare_ohms_down, s->best);
  for (int i = 0; i < MIN(n, MOST_REMOVED); i++) {
    LgFit *const trial = copy_of(s->best);
    trial->branch[order[i]] = trial->branch[--trial->n_branches];
    if (is_connected(trial))
      consider(s, trial);
    else
      g_free(trial);
  }
}

/* Takes the last node out when nothing is at it any more, so that numbers stay together. */
static void drop_node(LgFit *fit, int node)
{
  const int last = --fit->n_nodes;
  for (int e = 0; e < fit->n_branches; e++) {
    LgBranch *const b = &fit->branch[e];
    if (b->a == last)
      b->a = node;
    if (b->b == last)
      b->b = node;
  }
}

/* A hidden node falls in one with the neighbour that is nearest to it. */
static void try_merging(Search *s, int hidden)
{
  LgFit *const trial = copy_of(s->best);
  int nearest = -1;
  for (int e = 0; e < trial->n_branches; e++)
    if ((trial->branch[e].a == hidden || trial->branch[e].b == hidden) &&
        (nearest < 0 || trial->branch[e].ohm < trial->branch[nearest].ohm))
      nearest = e;
  const LgBranch gone = trial->branch[nearest];
  const int into = gone.a == hidden ? gone.b : gone.a;
  trial->branch[nearest] = trial->branch[--trial->n_branches];
  for (int e = 0; e < trial->n_branches; e++)
    if (trial->branch[e].a == hidden || trial->branch[e].b == hidden)
      set_end(&trial->branch[e], hidden, into);
  drop_node(trial, hidden);
  consider(s, trial);
}

/* One round; FALSE when nothing paid. */
static gboolean improve(Search *s)
{
  s->winner = NULL;
  try_adding(s);
  for (int v = 0; v < s->best->n_nodes; v++)
    try_parting(s, v);
  try_removing(s);
  for (int v = s->k; v < s->best->n_nodes; v++)
    try_merging(s, v);
  const gboolean better = s->winner != NULL && s->winner->score < s->best->score - 1e-9;
  if (better)
    *s->best = *s->winner;
  g_free(s->winner);
  return better;
}

/* A score that no other structure can beat: a tree without hidden nodes that fits every reading. */
static gboolean is_plain(const LgFit *fit)
{
  return fit->n_branches == fit->n_terminals - 1 && fit->worst <= 1;
}

static void improve_all(Search *s)
{
  lg_fit_refine(s->work, s->best, QUICK_STEPS);
  for (int round = 0; round < 2 * s->k && !is_plain(s->best); round++)
    if (!improve(s))
      return;
}

/* The other way: from the inverse relation, which needs every pair. */
static void try_mesh(Search *s)
{
  LgFit *const tree = s->best;
  g_autofree LgFit *mesh = g_new0(LgFit, 1);
  mesh->n_terminals = mesh->n_nodes = s->k;
  if (!start_mesh(s, mesh) || !is_connected(mesh))
    return;
  s->best = mesh;
  if (mesh->n_branches <= 3 * s->k)
    improve_all(s);
  else
    lg_fit_score(s->work, mesh);
  s->best = tree;
  if (mesh->score < tree->score)
    *tree = *mesh;
}

void lg_fit_search(LgFitWork *work, LgFit *best)
{
  const int k = work->n_terminals;
  const gsize cells = (gsize)k * (gsize)k;
  g_autofree double *ohm = g_new(double, cells), *off = g_new0(double, cells);
  Search s = {.work = work, .k = k, .ohm = ohm, .off = off, .best = best};
  read_pairs(&s);
  *best = (LgFit){.n_terminals = k, .n_nodes = k};
  start_tree(&s, best);
  improve_all(&s);
  if (!is_plain(best) && s.all)
    try_mesh(&s);
  if (best->n_branches <= 3 * best->n_nodes) {
    lg_fit_refine(work, best, LAST_STEPS);
    lg_fit_spread(work, best);
  }
}
