/* One component of the search: branch and bound over the wires that several loads share, then over
 * each load's own. */
#include "studies/sizing-search-private.h"

typedef struct {
  double kg, volts;
} Mark;

/* A load's own wires. */
typedef struct {
  GArray *wires;     /* int, numbers in the search */
  GArray *limits;    /* LgLimit* */
  GArray **frontier; /* [limits][wires + 1] Mark: of the wires from here on */
  GPtrArray *refused;
  int *pick; /* [wires] */
  double pick_kg;
} Own;

static int by_kg(gconstpointer a, gconstpointer b)
{
  const Mark *const x = a, *const y = b;
  if (x->kg != y->kg)
    return x->kg < y->kg ? -1 : 1;
  return x->volts < y->volts ? -1 : x->volts > y->volts;
}

/* Frontier of one wire more. */
static GArray *widen(const GArray *frontier, const LgChoice *c, double amps)
{
  g_autoptr(GArray) all = g_array_new(FALSE, FALSE, sizeof(Mark));
  GArray *const out = g_array_new(FALSE, FALSE, sizeof(Mark));
  for (guint i = 0; i < frontier->len; i++)
    for (int k = 0; k < c->n; k++) {
      const Mark *const from = &g_array_index(frontier, Mark, i);
      const Mark mark = {from->kg + c->kg[k], from->volts + amps * c->ohm[k]};
      g_array_append_val(all, mark);
      if (amps <= 0)
        break;
    }
  g_array_sort(all, by_kg);
  double least_V = INFINITY;
  for (guint i = 0; i < all->len; i++) {
    const Mark mark = g_array_index(all, Mark, i);
    if (mark.volts >= least_V)
      continue;
    least_V = mark.volts;
    g_array_append_val(out, mark);
  }
  return out;
}

/* Least copper on a frontier that loses at most `volts`; INFINITY when there is none. */
static double least_kg(const GArray *frontier, double volts)
{
  guint low = 0, high = frontier->len;
  while (low < high) {
    const guint middle = (low + high) / 2;
    if (g_array_index(frontier, Mark, middle).volts <= volts)
      high = middle;
    else
      low = middle + 1;
  }
  return low < frontier->len ? g_array_index(frontier, Mark, low).kg : INFINITY;
}

static GArray *frontier_at(const Own *own, guint limit, guint wire)
{
  return own->frontier[limit * (own->wires->len + 1) + wire];
}

static void draw_frontiers(const LgSearch *search, Own *own)
{
  const guint n = own->wires->len;
  own->frontier = g_new0(GArray *, own->limits->len * (n + 1) + 1);
  for (guint l = 0; l < own->limits->len; l++) {
    const LgLimit *const limit = g_array_index(own->limits, LgLimit *, l);
    GArray *const end = g_array_new(FALSE, FALSE, sizeof(Mark));
    const Mark zero = {0, 0};
    g_array_append_val(end, zero);
    own->frontier[l * (n + 1) + n] = end;
    for (guint w = n; w-- > 0;) {
      const int number = lg_int_at(own->wires, w);
      own->frontier[l * (n + 1) + w] =
          widen(own->frontier[l * (n + 1) + w + 1], lg_choice(search, number),
                lg_limit_amps(limit, number));
    }
  }
}

/* What a limit leaves for the load's own wires: shared wires before `n_set` as they stand, the
 * others at their thickest. */
static double slack(const LgSearch *search, const LgLimit *limit, guint n_set)
{
  double left = limit->limit->limit_V * (1 + 1e-9) - limit->fixed_V;
  for (guint s = 0; s < search->shared->len; s++) {
    const int number = lg_int_at(search->shared, s);
    const LgChoice *const c = lg_choice(search, number);
    left -= limit->shared_A[s] * c->ohm[s < n_set ? search->at[number] : c->n - 1];
  }
  return left;
}

static double bound(const LgSearch *search, guint n_set)
{
  double kg = 0;
  for (guint s = 0; s < search->shared->len; s++) {
    const int number = lg_int_at(search->shared, s);
    kg += lg_choice(search, number)->kg[s < n_set ? search->at[number] : 0];
  }
  for (guint o = 0; o < search->own->len; o++) {
    const Own *const own = &g_array_index(search->own, Own, o);
    double most = 0;
    for (guint l = 0; l < own->limits->len; l++)
      most = fmax(most, least_kg(frontier_at(own, l, 0),
                                 slack(search, g_array_index(own->limits, LgLimit *, l), n_set)));
    kg += most;
  }
  return kg;
}

static gboolean was_refused(const Own *own)
{
  for (guint i = 0; i < own->refused->len; i++)
    if (memcmp(own->refused->pdata[i], own->pick, sizeof(int) * own->wires->len) == 0)
      return TRUE;
  return FALSE;
}

/* The lightest choice of a load's own wires that the sums allow and that was not refused. */
static void pick_from(LgSearch *search, Own *own, guint w, double kg, double left[], int found[])
{
  if (search->nodes++ > LG_MOST_NODES)
    return;
  double least = 0;
  for (guint l = 0; l < own->limits->len; l++)
    least = fmax(least, least_kg(frontier_at(own, l, w), left[l]));
  if (kg + least >= own->pick_kg)
    return;
  if (w == own->wires->len) {
    if (was_refused(own))
      return;
    own->pick_kg = kg;
    memcpy(found, own->pick, sizeof(int) * own->wires->len);
    return;
  }
  const int number = lg_int_at(own->wires, w);
  const LgChoice *const c = lg_choice(search, number);
  for (int k = 0; k < c->n; k++) {
    own->pick[w] = k;
    for (guint l = 0; l < own->limits->len; l++)
      left[l] -= lg_limit_amps(g_array_index(own->limits, LgLimit *, l), number) * c->ohm[k];
    pick_from(search, own, w + 1, kg + c->kg[k], left, found);
    for (guint l = 0; l < own->limits->len; l++)
      left[l] += lg_limit_amps(g_array_index(own->limits, LgLimit *, l), number) * c->ohm[k];
  }
}

static gboolean pick(LgSearch *search, Own *own)
{
  const gsize n = own->wires->len;
  g_autofree int *found = g_new0(int, n + 1);
  g_autofree double *left = g_new(double, own->limits->len + 1);
  for (guint l = 0; l < own->limits->len; l++)
    left[l] = slack(search, g_array_index(own->limits, LgLimit *, l), search->shared->len);
  own->pick_kg = INFINITY;
  pick_from(search, own, 0, 0, left, found);
  memcpy(own->pick, found, sizeof(int) * n);
  for (guint w = 0; w < n; w++)
    search->at[lg_int_at(own->wires, w)] = own->pick[w];
  return isfinite(own->pick_kg);
}

static double component_kg(const LgSearch *search)
{
  double kg = 0;
  for (guint s = 0; s < search->shared->len; s++) {
    const int number = lg_int_at(search->shared, s);
    kg += lg_choice(search, number)->kg[search->at[number]];
  }
  for (guint o = 0; o < search->own->len; o++)
    kg += g_array_index(search->own, Own, o).pick_kg;
  return kg;
}

static void build(LgSearch *search, const int at[])
{
  for (guint i = 0; i < search->choices->len; i++)
    lg_search_set_wire(search, lg_choice(search, (int)i)->wire,
                       lg_choice(search, (int)i)->first + at[i]);
}

/* Solves the candidate; a load whose limit is broken takes its next choice. TRUE when all are kept,
 * FALSE with *dead when a load has no choice left. */
static gboolean try_candidate(LgSearch *search, gboolean *dead)
{
  gboolean kept = TRUE;
  build(search, search->at);
  search->sizer->n_tried++;
  for (guint o = 0; o < search->own->len; o++) {
    Own *const own = &g_array_index(search->own, Own, o);
    gboolean good = TRUE;
    for (guint l = 0; good && l < own->limits->len; l++) {
      const LgLimit *const limit = g_array_index(own->limits, LgLimit *, l);
      search->solved++;
      good = lg_limit_is_kept(lg_search_read(search, limit, NULL), limit);
    }
    if (good)
      continue;
    kept = FALSE;
    g_ptr_array_add(own->refused, g_memdup2(own->pick, sizeof(int) * (own->wires->len + 1)));
    *dead |= !pick(search, own);
  }
  return kept;
}

/* The shared wires are set: the loads' own. */
static void fill_own(LgSearch *search)
{
  for (guint o = 0; o < search->own->len; o++) {
    Own *const own = &g_array_index(search->own, Own, o);
    g_ptr_array_set_size(own->refused, 0);
    if (!pick(search, own))
      return;
  }
  for (gboolean dead = FALSE; !dead && search->solved < LG_MOST_SOLVED;) {
    if (component_kg(search) >= search->best_kg * (1 - 1e-12))
      return;
    const double kg = component_kg(search);
    if (!try_candidate(search, &dead))
      continue;
    search->best_kg = kg;
    memcpy(search->best, search->at, sizeof(int) * search->choices->len);
    return;
  }
}

typedef struct {
  int size;
  double bound;
} Option;

static int by_bound(gconstpointer a, gconstpointer b)
{
  const Option *const x = a, *const y = b;
  return x->bound < y->bound ? -1 : x->bound > y->bound;
}

static void branch(LgSearch *search, guint depth)
{
  if (search->nodes++ > LG_MOST_NODES || search->solved >= LG_MOST_SOLVED)
    return;
  if (depth == search->shared->len) {
    fill_own(search);
    return;
  }
  const int number = lg_int_at(search->shared, depth);
  const int n = lg_choice(search, number)->n;
  g_autofree Option *options = g_new(Option, (gsize)n);
  for (int k = 0; k < n; k++) {
    search->at[number] = k;
    options[k] = (Option){k, bound(search, depth + 1)};
  }
  qsort(options, (gsize)n, sizeof *options, by_bound);
  for (int k = 0; k < n && options[k].bound < search->best_kg * (1 - 1e-12); k++) {
    search->at[number] = options[k].size;
    branch(search, depth + 1);
  }
}

static Own *own_of(LgSearch *search, int load)
{
  for (guint o = 0; o < search->own->len; o++) {
    Own *const own = &g_array_index(search->own, Own, o);
    if (g_array_index(own->limits, LgLimit *, 0)->limit->load == load)
      return own;
  }
  const Own new = {.wires = g_array_new(FALSE, FALSE, sizeof(int)),
                   .limits = g_array_new(FALSE, FALSE, sizeof(LgLimit *)),
                   .refused = g_ptr_array_new_with_free_func(g_free)};
  g_array_append_val(search->own, new);
  return &g_array_index(search->own, Own, search->own->len - 1);
}

static void add_once(GArray *list, int number)
{
  for (guint i = 0; i < list->len; i++)
    if (lg_int_at(list, i) == number)
      return;
  g_array_append_val(list, number);
}

static void note_shared(const LgSearch *search, LgLimit *limit)
{
  limit->shared_A = g_new(double, search->shared->len + 1);
  for (guint s = 0; s < search->shared->len; s++)
    limit->shared_A[s] = lg_limit_amps(limit, lg_int_at(search->shared, s));
}

static void gather_component(LgSearch *search, int root)
{
  search->shared = g_array_new(FALSE, FALSE, sizeof(int));
  search->own = g_array_new(FALSE, FALSE, sizeof(Own));
  for (guint l = 0; l < search->limits->len; l++) {
    LgLimit *const limit = &g_array_index(search->limits, LgLimit, l);
    if (!lg_search_limits(search, limit, root))
      continue;
    Own *const own = own_of(search, limit->limit->load);
    g_array_append_val(own->limits, limit);
    for (guint t = 0; t < limit->terms->len; t++) {
      const int number = g_array_index(limit->terms, LgTerm, t).wire;
      add_once(lg_choice(search, number)->n_loads > 1 ? search->shared : own->wires, number);
    }
  }
  for (guint o = 0; o < search->own->len; o++) {
    Own *const own = &g_array_index(search->own, Own, o);
    own->pick = g_new0(int, own->wires->len + 1);
    draw_frontiers(search, own);
    for (guint l = 0; l < own->limits->len; l++)
      note_shared(search, g_array_index(own->limits, LgLimit *, l));
  }
}

static void drop_component(LgSearch *search)
{
  for (guint o = 0; o < search->own->len; o++) {
    Own *const own = &g_array_index(search->own, Own, o);
    for (guint i = 0; i < own->limits->len * (own->wires->len + 1); i++)
      g_array_unref(own->frontier[i]);
    for (guint l = 0; l < own->limits->len; l++)
      g_clear_pointer(&g_array_index(own->limits, LgLimit *, l)->shared_A, g_free);
    g_free(own->frontier);
    g_free(own->pick);
    g_array_unref(own->wires);
    g_array_unref(own->limits);
    g_ptr_array_unref(own->refused);
  }
  g_array_unref(search->shared);
  g_array_unref(search->own);
}

/* --- a first answer, so that the search knows what is too dear --- */

/* Volts of a limit's sum beyond `share` of what it may lose. */
static double over_V(const LgSearch *search, const LgLimit *limit, double share)
{
  double volts = limit->fixed_V - share * limit->limit->limit_V;
  for (guint t = 0; t < limit->terms->len; t++) {
    const LgTerm *const term = &g_array_index(limit->terms, LgTerm, t);
    volts += term->amps * lg_choice(search, term->wire)->ohm[search->at[term->wire]];
  }
  return volts;
}

/* What one step thicker wins in all limits that are broken. */
static double gain_V(const LgSearch *search, int number, const double over[])
{
  const LgChoice *const c = lg_choice(search, number);
  const int at = search->at[number];
  if (at + 1 >= c->n)
    return 0;
  double gain = 0;
  for (guint l = 0; l < search->limits->len; l++)
    if (over[l] > 0)
      gain += fmin(over[l], lg_limit_amps(&g_array_index(search->limits, LgLimit, l), number) *
                                (c->ohm[at] - c->ohm[at + 1]));
  return gain;
}

/* From the thinnest on, always the step that wins most volts for its copper, until the sums lose no
 * more than `share` of their limits; FALSE when they never do. */
static gboolean thicken(LgSearch *search, int root, double share)
{
  g_autofree double *over = g_new0(double, search->limits->len + 1);
  for (;;) {
    gboolean broken = FALSE;
    for (guint l = 0; l < search->limits->len; l++) {
      const LgLimit *const limit = &g_array_index(search->limits, LgLimit, l);
      over[l] = lg_search_limits(search, limit, root) ? over_V(search, limit, share) : 0;
      broken |= over[l] > 0;
    }
    if (!broken)
      return TRUE;
    int best = -1;
    double most = 0;
    for (int i = 0; i < (int)search->choices->len; i++) {
      const double gain = lg_search_has(search, i, root) ? gain_V(search, i, over) : 0;
      if (gain <= 0)
        continue;
      const LgChoice *const c = lg_choice(search, i);
      const double worth = gain / (c->kg[search->at[i] + 1] - c->kg[search->at[i]]);
      if (worth > most) {
        most = worth;
        best = i;
      }
    }
    if (best < 0)
      return FALSE;
    search->at[best]++;
  }
}

static double weight(const LgSearch *search, int root)
{
  double kg = 0;
  for (int i = 0; i < (int)search->choices->len; i++)
    if (lg_search_has(search, i, root))
      kg += lg_choice(search, i)->kg[search->at[i]];
  return kg;
}

/* One size off wherever the exact solution allows it, the heaviest saving first. */
static void slim(LgSearch *search, int root)
{
  for (gboolean again = TRUE; again;) {
    g_autofree gboolean *tried = g_new0(gboolean, search->choices->len + 1);
    again = FALSE;
    for (;;) {
      int best = -1;
      double most = 0;
      for (int i = 0; i < (int)search->choices->len; i++) {
        const int at = search->at[i];
        if (tried[i] || at == 0 || !lg_search_has(search, i, root) ||
            lg_choice(search, i)->kg[at] - lg_choice(search, i)->kg[at - 1] <= most)
          continue;
        most = lg_choice(search, i)->kg[at] - lg_choice(search, i)->kg[at - 1];
        best = i;
      }
      if (best < 0)
        break;
      tried[best] = TRUE;
      search->at[best]--;
      if (lg_search_keeps(search, root))
        again = TRUE;
      else
        search->at[best]++;
    }
  }
}

static void first_answer(LgSearch *search, int root)
{
  for (double share = 1; share > 0.5; share -= 0.03) {
    for (int i = 0; i < (int)search->choices->len; i++)
      if (lg_search_has(search, i, root))
        search->at[i] = 0;
    if (!thicken(search, root, share))
      break;
    if (!lg_search_keeps(search, root))
      continue;
    slim(search, root);
    search->best_kg = weight(search, root) * (1 + 1e-9);
    memcpy(search->best, search->at, sizeof(int) * search->choices->len);
    return;
  }
}

gboolean lg_search_solve(LgSearch *search, int root, double *floor_kg)
{
  gather_component(search, root);
  search->best_kg = INFINITY;
  search->nodes = search->solved = 0;
  *floor_kg = bound(search, 0);
  first_answer(search, root);
  branch(search, 0);
  const gboolean found = isfinite(search->best_kg);
  const gboolean done = found && search->nodes <= LG_MOST_NODES && search->solved < LG_MOST_SOLVED;
  if (done)
    *floor_kg = search->best_kg * (1 - 1e-9);
  for (guint i = 0; i < search->choices->len; i++)
    if (lg_search_has(search, (int)i, root))
      search->at[i] = found ? search->best[i] : 0;
  drop_component(search);
  return done;
}

gboolean lg_search_keeps(LgSearch *search, int root)
{
  build(search, search->at);
  for (guint l = 0; l < search->limits->len; l++) {
    const LgLimit *const limit = &g_array_index(search->limits, LgLimit, l);
    if (lg_search_limits(search, limit, root) &&
        !lg_limit_is_kept(lg_search_read(search, limit, NULL), limit))
      return FALSE;
  }
  return TRUE;
}
