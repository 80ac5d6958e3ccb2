/* The least copper that keeps the volts lost to every load within its limit.
 *
 * Wires that no limit touches keep their least size. The others fall into components that share no
 * limit. A limit's loss is bounded from below by a sum over the wires on its way, whose currents
 * are the least that they can be in a choice that keeps the limit. In that sum a component is
 * searched by branch and bound: first the wires that several loads share, each node bounded by what
 * the loads' own wires must weigh at least, read off the frontier of copper against loss of those
 * wires; then, the shared ones given, each load's own wires. Every candidate that the sum lets
 * through is solved exactly, and one that fails gives way to the load's next heavier choice. What
 * is cheaper than the answer was thus refused by the bound or by an exact solution. */
#include "studies/sizing-private.h"

#define MOST_NODES 4000000
#define MOST_SOLVED 20000

typedef struct {
  int wire; /* number in the search */
  double amps;
} Term;

typedef struct {
  const LgDropLimit *limit;
  gboolean active, hopeless;
  double fixed_V; /* lower bound of what is lost outside the terms */
  GArray *terms;  /* Term */
  int load;       /* number of its load in the component */
} Limit;

typedef struct {
  int wire;               /* in the job */
  int first, n;           /* sizes: first .. first + n - 1 of the series */
  double *kg, *ohm;       /* [n] */
  int n_loads, last_load; /* loads whose limits it is on the way of; the last one counted */
  int component;
} Choice;

typedef struct {
  double kg, volts;
} Mark;

/* A load's own wires. */
typedef struct {
  GArray *wires;     /* int, numbers in the search */
  GArray *limits;    /* Limit* */
  GArray **frontier; /* [limits][wires + 1] Mark: of the wires from here on */
  GPtrArray *refused;
  int *pick; /* [wires] */
  double pick_kg;
} Own;

typedef struct {
  LgSizer *sizer;
  LgDropMeter *meter;
  double shade;    /* factor on the bounds, see shade_of */
  GArray *limits;  /* Limit */
  GArray *choices; /* Choice */
  int *number;     /* [n_wires] in choices, -1 */
  int *at;         /* [choices] size at hand, from 0 */
  int *best;       /* [choices] */
  /* of the component at hand */
  GArray *shared; /* int */
  GArray *own;    /* Own */
  double best_kg;
  guint64 nodes, solved;
} Search;

static Choice *choice(const Search *search, int i)
{
  return &g_array_index(search->choices, Choice, i);
}

static int int_at(const GArray *array, guint i)
{
  return g_array_index(array, int, i);
}

static void set_wire(Search *search, int wire, int index)
{
  LgSizer *const sizer = search->sizer;
  lg_circuit_set_wire(sizer->out->circuit, wire, lg_sizer_conductor(sizer, index),
                      sizer->job->wires[wire].hot_K);
}

/* Ohms of the conductor alone, by which sizes differ. */
static double conductor_ohm(const Search *search, int wire, int index)
{
  const LgWire *const w = &search->sizer->job->wires[wire];
  return lg_sizer_conductor(search->sizer, index)->resistance_ohm_m * lg_copper_ratio(w->hot_K) *
         w->length_m;
}

static double read_limit(Search *search, const Limit *limit, GArray *wires)
{
  return lg_drop_meter_read(search->meter, limit->limit->load, limit->limit->position, wires);
}

static gboolean is_kept(double volts, const Limit *limit)
{
  return volts <= limit->limit->limit_V * (1 + 1e-9);
}

static int choice_of(Search *search, int wire)
{
  if (search->number[wire] >= 0)
    return search->number[wire];
  const LgSizer *const sizer = search->sizer;
  Choice new = {.wire = wire,
                .first = sizer->least[wire],
                .n = sizer->most[wire] - sizer->least[wire] + 1,
                .last_load = -1};
  new.kg = g_new(double, (gsize) new.n);
  new.ohm = g_new(double, (gsize) new.n);
  for (int i = 0; i < new.n; i++) {
    new.kg[i] = lg_sizer_kg(sizer, wire, new.first + i);
    new.ohm[i] = conductor_ohm(search, wire, new.first + i);
  }
  g_array_append_val(search->choices, new);
  return search->number[wire] = (int)search->choices->len - 1;
}

/* A limit's way as solved: loss in all, outside the terms, current of the load and of the terms. */
typedef struct {
  double drop_V, rest_V, load_A, most_A;
  double *amps;
} Solved;

static Solved solve_terms(Search *search, const Limit *limit, const int index[], double amps[])
{
  Solved solved = {.drop_V = read_limit(search, limit, NULL), .amps = amps};
  solved.rest_V = solved.drop_V;
  solved.load_A = solved.most_A = fabs(lg_drop_meter_element_A(search->meter, limit->limit->load));
  for (guint t = 0; t < limit->terms->len; t++) {
    const Choice *const c = choice(search, g_array_index(limit->terms, Term, t).wire);
    amps[t] = fabs(lg_drop_meter_wire_A(search->meter, c->wire));
    solved.rest_V -= amps[t] * conductor_ohm(search, c->wire, index[c->wire]);
    solved.most_A = fmax(solved.most_A, amps[t]);
  }
  return solved;
}

/* Least current of the load in any choice that keeps the limit: where it loses just the limit, read
 * off the chord from thin to thick, above which the currents of heaters, lamps and motors lie; a
 * load of constant power draws least when all is thick. */
static double least_load_A(const Limit *limit, const Solved *thin, const Solved *thick)
{
  if (thick->load_A <= thin->load_A)
    return thick->load_A;
  const double share = (thin->drop_V - limit->limit->limit_V) / (thin->drop_V - thick->drop_V);
  return thin->load_A + CLAMP(share, 0, 1) * (thick->load_A - thin->load_A);
}

/* Lower bounds: the load's own part of each current as above, the others' part as the lesser of
 * thin and thick. */
static void bound_terms(const Search *search, Limit *limit, const Solved *thin, const Solved *thick)
{
  const double load_A = least_load_A(limit, thin, thick), more_A = load_A - thin->load_A;
  for (guint t = 0; t < limit->terms->len; t++) {
    const double others_A = fmin(thin->amps[t] - thin->load_A, thick->amps[t] - thick->load_A);
    g_array_index(limit->terms, Term, t).amps = search->shade * fmax(0, load_A + others_A);
  }
  /* What all of the way carries more of, times its ohms, of which there are at least rest / most.
   */
  const double rest_V =
      thin->rest_V + (thin->most_A > 0 ? more_A * thin->rest_V / thin->most_A : 0);
  limit->fixed_V = search->shade * fmax(0, more_A > 0 ? rest_V : fmin(rest_V, thick->rest_V));
}

/* Bounds a limit from below, everything else at its least; all wires stand at their least before
 * and after. */
static void bound_limit(Search *search, Limit *limit)
{
  LgSizer *const sizer = search->sizer;
  g_autoptr(GArray) way = g_array_new(FALSE, FALSE, sizeof(int));
  read_limit(search, limit, way);
  limit->terms = g_array_new(FALSE, FALSE, sizeof(Term));
  for (guint i = 0; i < way->len; i++) {
    const int wire = int_at(way, i);
    if (!sizer->job->wires[wire].is_auto)
      continue;
    const Term term = {choice_of(search, wire), 0};
    g_array_append_val(limit->terms, term);
  }
  const gsize n = limit->terms->len;
  g_autofree double *thin_A = g_new(double, n + 1), *thick_A = g_new(double, n + 1);
  const Solved thin = solve_terms(search, limit, sizer->least, thin_A);
  for (gsize t = 0; t < n; t++) {
    const int wire = choice(search, g_array_index(limit->terms, Term, t).wire)->wire;
    set_wire(search, wire, sizer->most[wire]);
  }
  const Solved thick = solve_terms(search, limit, sizer->most, thick_A);
  limit->hopeless = !is_kept(thick.drop_V, limit);
  for (gsize t = 0; t < n; t++) {
    const int wire = choice(search, g_array_index(limit->terms, Term, t).wire)->wire;
    set_wire(search, wire, sizer->least[wire]);
  }
  bound_terms(search, limit, &thin, &thick);
}

static void count_loads(Search *search)
{
  for (guint i = 0; i < search->choices->len; i++)
    choice(search, (int)i)->component = (int)i;
  for (guint l = 0; l < search->limits->len; l++) {
    const Limit *const limit = &g_array_index(search->limits, Limit, l);
    if (!limit->active || limit->hopeless)
      continue;
    for (guint t = 0; t < limit->terms->len; t++) {
      Choice *const c = choice(search, g_array_index(limit->terms, Term, t).wire);
      c->n_loads += c->last_load != limit->limit->load;
      c->last_load = limit->limit->load;
    }
  }
}

static int component_root(const Search *search, int i)
{
  while (choice(search, i)->component != i)
    i = choice(search, i)->component;
  return i;
}

static void tie_components(Search *search)
{
  for (guint l = 0; l < search->limits->len; l++) {
    const Limit *const limit = &g_array_index(search->limits, Limit, l);
    if (!limit->active || limit->hopeless)
      continue;
    for (guint t = 1; t < limit->terms->len; t++)
      choice(search, component_root(search, g_array_index(limit->terms, Term, t).wire))->component =
          component_root(search, g_array_index(limit->terms, Term, 0).wire);
  }
}

static double amps_of(const Limit *limit, int number)
{
  for (guint t = 0; t < limit->terms->len; t++)
    if (g_array_index(limit->terms, Term, t).wire == number)
      return g_array_index(limit->terms, Term, t).amps;
  return 0;
}

static int by_kg(gconstpointer a, gconstpointer b)
{
  const Mark *const x = a, *const y = b;
  if (x->kg != y->kg)
    return x->kg < y->kg ? -1 : 1;
  return x->volts < y->volts ? -1 : x->volts > y->volts;
}

/* Frontier of one wire more. */
static GArray *widen(const GArray *frontier, const Choice *c, double amps)
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

static void draw_frontiers(const Search *search, Own *own)
{
  const guint n = own->wires->len;
  own->frontier = g_new0(GArray *, own->limits->len * (n + 1) + 1);
  for (guint l = 0; l < own->limits->len; l++) {
    const Limit *const limit = g_array_index(own->limits, Limit *, l);
    GArray *const end = g_array_new(FALSE, FALSE, sizeof(Mark));
    const Mark zero = {0, 0};
    g_array_append_val(end, zero);
    own->frontier[l * (n + 1) + n] = end;
    for (guint w = n; w-- > 0;) {
      const int number = int_at(own->wires, w);
      own->frontier[l * (n + 1) + w] =
          widen(own->frontier[l * (n + 1) + w + 1], choice(search, number), amps_of(limit, number));
    }
  }
}

/* What a limit leaves for the load's own wires: shared wires before `n_set` as they stand, the
 * others at their thickest. */
static double slack(const Search *search, const Limit *limit, guint n_set)
{
  double left = limit->limit->limit_V * (1 + 1e-9) - limit->fixed_V;
  for (guint s = 0; s < search->shared->len; s++) {
    const int number = int_at(search->shared, s);
    const Choice *const c = choice(search, number);
    left -= amps_of(limit, number) * c->ohm[s < n_set ? search->at[number] : c->n - 1];
  }
  return left;
}

static double bound(const Search *search, guint n_set)
{
  double kg = 0;
  for (guint s = 0; s < search->shared->len; s++) {
    const int number = int_at(search->shared, s);
    kg += choice(search, number)->kg[s < n_set ? search->at[number] : 0];
  }
  for (guint o = 0; o < search->own->len; o++) {
    const Own *const own = &g_array_index(search->own, Own, o);
    double most = 0;
    for (guint l = 0; l < own->limits->len; l++)
      most = fmax(most, least_kg(frontier_at(own, l, 0),
                                 slack(search, g_array_index(own->limits, Limit *, l), n_set)));
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
static void pick_from(Search *search, Own *own, guint w, double kg, double left[], int found[])
{
  if (search->nodes++ > MOST_NODES)
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
  const int number = int_at(own->wires, w);
  const Choice *const c = choice(search, number);
  for (int k = 0; k < c->n; k++) {
    own->pick[w] = k;
    for (guint l = 0; l < own->limits->len; l++)
      left[l] -= amps_of(g_array_index(own->limits, Limit *, l), number) * c->ohm[k];
    pick_from(search, own, w + 1, kg + c->kg[k], left, found);
    for (guint l = 0; l < own->limits->len; l++)
      left[l] += amps_of(g_array_index(own->limits, Limit *, l), number) * c->ohm[k];
  }
}

static gboolean pick(Search *search, Own *own)
{
  const gsize n = own->wires->len;
  g_autofree int *found = g_new0(int, n + 1);
  g_autofree double *left = g_new(double, own->limits->len + 1);
  for (guint l = 0; l < own->limits->len; l++)
    left[l] = slack(search, g_array_index(own->limits, Limit *, l), search->shared->len);
  own->pick_kg = INFINITY;
  pick_from(search, own, 0, 0, left, found);
  memcpy(own->pick, found, sizeof(int) * n);
  for (guint w = 0; w < n; w++)
    search->at[int_at(own->wires, w)] = own->pick[w];
  return isfinite(own->pick_kg);
}

static double component_kg(const Search *search)
{
  double kg = 0;
  for (guint s = 0; s < search->shared->len; s++) {
    const int number = int_at(search->shared, s);
    kg += choice(search, number)->kg[search->at[number]];
  }
  for (guint o = 0; o < search->own->len; o++)
    kg += g_array_index(search->own, Own, o).pick_kg;
  return kg;
}

static void build(Search *search, const int at[])
{
  for (guint i = 0; i < search->choices->len; i++)
    set_wire(search, choice(search, (int)i)->wire, choice(search, (int)i)->first + at[i]);
}

/* Solves the candidate; a load whose limit is broken takes its next choice. TRUE when all are kept,
 * FALSE with *dead when a load has no choice left. */
static gboolean try_candidate(Search *search, gboolean *dead)
{
  gboolean kept = TRUE;
  build(search, search->at);
  search->sizer->n_tried++;
  for (guint o = 0; o < search->own->len; o++) {
    Own *const own = &g_array_index(search->own, Own, o);
    gboolean good = TRUE;
    for (guint l = 0; good && l < own->limits->len; l++) {
      const Limit *const limit = g_array_index(own->limits, Limit *, l);
      search->solved++;
      good = is_kept(read_limit(search, limit, NULL), limit);
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
static void fill_own(Search *search)
{
  for (guint o = 0; o < search->own->len; o++) {
    Own *const own = &g_array_index(search->own, Own, o);
    g_ptr_array_set_size(own->refused, 0);
    if (!pick(search, own))
      return;
  }
  for (gboolean dead = FALSE; !dead && search->solved < MOST_SOLVED;) {
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

static void branch(Search *search, guint depth)
{
  if (search->nodes++ > MOST_NODES || search->solved >= MOST_SOLVED)
    return;
  if (depth == search->shared->len) {
    fill_own(search);
    return;
  }
  const int number = int_at(search->shared, depth);
  const int n = choice(search, number)->n;
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

static Own *own_of(Search *search, int load)
{
  for (guint o = 0; o < search->own->len; o++) {
    Own *const own = &g_array_index(search->own, Own, o);
    if (g_array_index(own->limits, Limit *, 0)->limit->load == load)
      return own;
  }
  const Own new = {.wires = g_array_new(FALSE, FALSE, sizeof(int)),
                   .limits = g_array_new(FALSE, FALSE, sizeof(Limit *)),
                   .refused = g_ptr_array_new_with_free_func(g_free)};
  g_array_append_val(search->own, new);
  return &g_array_index(search->own, Own, search->own->len - 1);
}

static void add_once(GArray *list, int number)
{
  for (guint i = 0; i < list->len; i++)
    if (int_at(list, i) == number)
      return;
  g_array_append_val(list, number);
}

static gboolean limit_is_of(const Search *search, const Limit *limit, int root)
{
  return limit->active && !limit->hopeless && limit->terms->len > 0 &&
         component_root(search, g_array_index(limit->terms, Term, 0).wire) == root;
}

static void gather_component(Search *search, int root)
{
  search->shared = g_array_new(FALSE, FALSE, sizeof(int));
  search->own = g_array_new(FALSE, FALSE, sizeof(Own));
  for (guint l = 0; l < search->limits->len; l++) {
    Limit *const limit = &g_array_index(search->limits, Limit, l);
    if (!limit_is_of(search, limit, root))
      continue;
    Own *const own = own_of(search, limit->limit->load);
    g_array_append_val(own->limits, limit);
    for (guint t = 0; t < limit->terms->len; t++) {
      const int number = g_array_index(limit->terms, Term, t).wire;
      add_once(choice(search, number)->n_loads > 1 ? search->shared : own->wires, number);
    }
  }
  for (guint o = 0; o < search->own->len; o++) {
    Own *const own = &g_array_index(search->own, Own, o);
    own->pick = g_new0(int, own->wires->len + 1);
    draw_frontiers(search, own);
  }
}

static void drop_component(Search *search)
{
  for (guint o = 0; o < search->own->len; o++) {
    Own *const own = &g_array_index(search->own, Own, o);
    for (guint i = 0; i < own->limits->len * (own->wires->len + 1); i++)
      g_array_unref(own->frontier[i]);
    g_free(own->frontier);
    g_free(own->pick);
    g_array_unref(own->wires);
    g_array_unref(own->limits);
    g_ptr_array_unref(own->refused);
  }
  g_array_unref(search->shared);
  g_array_unref(search->own);
}

static gboolean in_component(const Search *search, int number, int root)
{
  return choice(search, number)->n_loads > 0 && component_root(search, number) == root;
}

/* Solves one component, the others as they stand in search->at. FALSE when the search was cut short
 * or nothing serves; the component's sizes are then the best there were. */
static gboolean solve_component(Search *search, int root, double *floor_kg)
{
  gather_component(search, root);
  search->best_kg = INFINITY;
  search->nodes = search->solved = 0;
  *floor_kg = bound(search, 0);
  branch(search, 0);
  const gboolean found = isfinite(search->best_kg);
  const gboolean done = found && search->nodes <= MOST_NODES && search->solved < MOST_SOLVED;
  if (done)
    *floor_kg = search->best_kg;
  for (guint i = 0; i < search->choices->len; i++)
    if (in_component(search, (int)i, root))
      search->at[i] = found ? search->best[i] : 0;
  drop_component(search);
  return done;
}

static gboolean component_is_kept(Search *search, int root)
{
  build(search, search->at);
  for (guint l = 0; l < search->limits->len; l++) {
    const Limit *const limit = &g_array_index(search->limits, Limit, l);
    if (limit_is_of(search, limit, root) && !is_kept(read_limit(search, limit, NULL), limit))
      return FALSE;
  }
  return TRUE;
}

/* One choice of sizes for all wires of a component. */
typedef struct {
  double kg;
  int *at; /* as component->numbers */
} Whole;

/* A component while all of them are weighed against each other. */
typedef struct {
  int root;
  GArray *numbers; /* int */
  GArray *wholes;  /* Whole, lightest first */
  double cap_kg;
  int *at;
} Component;

/* Whether the sums let the first `n_set` numbers stand as they do, the others at their thickest. */
static gboolean sums_allow(const Search *search, const Component *component, guint n_set)
{
  for (guint l = 0; l < search->limits->len; l++) {
    const Limit *const limit = &g_array_index(search->limits, Limit, l);
    if (!limit_is_of(search, limit, component->root))
      continue;
    double left_V = limit->limit->limit_V * (1 + 1e-9) - limit->fixed_V;
    for (guint i = 0; i < component->numbers->len; i++) {
      const int number = int_at(component->numbers, i);
      const Choice *const c = choice(search, number);
      left_V -= amps_of(limit, number) * c->ohm[i < n_set ? component->at[i] : c->n - 1];
    }
    if (left_V < 0)
      return FALSE;
  }
  return TRUE;
}

/* Keeps the choice when it serves with all other components at their least. */
static void keep_whole(Search *search, Component *component, double kg)
{
  const guint n = component->numbers->len;
  memset(search->at, 0, sizeof(int) * search->choices->len);
  for (guint i = 0; i < n; i++)
    search->at[int_at(component->numbers, i)] = component->at[i];
  search->solved++;
  if (!component_is_kept(search, component->root))
    return;
  const Whole whole = {kg, g_memdup2(component->at, sizeof(int) * n)};
  g_array_append_val(component->wholes, whole);
}

static void list_wholes(Search *search, Component *component, guint i, double kg)
{
  double rest_kg = 0;
  for (guint k = i; k < component->numbers->len; k++)
    rest_kg += choice(search, int_at(component->numbers, k))->kg[0];
  if (search->nodes++ > MOST_NODES || search->solved > MOST_SOLVED ||
      kg + rest_kg > component->cap_kg || !sums_allow(search, component, i))
    return;
  if (i == component->numbers->len) {
    keep_whole(search, component, kg);
    return;
  }
  const Choice *const c = choice(search, int_at(component->numbers, i));
  for (int k = 0; k < c->n; k++) {
    component->at[i] = k;
    list_wholes(search, component, i + 1, kg + c->kg[k]);
  }
}

static int by_weight(gconstpointer a, gconstpointer b)
{
  const Whole *const x = a, *const y = b;
  return x->kg < y->kg ? -1 : x->kg > y->kg;
}

static void try_wholes(Search *search, GArray *components, guint c, double kg)
{
  double rest_kg = 0;
  for (guint k = c; k < components->len; k++)
    rest_kg += g_array_index(g_array_index(components, Component, k).wholes, Whole, 0).kg;
  if (search->nodes++ > MOST_NODES || search->solved > MOST_SOLVED ||
      kg + rest_kg >= search->best_kg * (1 - 1e-12))
    return;
  if (c == components->len) {
    search->solved++;
    search->sizer->n_tried++;
    for (guint k = 0; k < components->len; k++)
      if (!component_is_kept(search, g_array_index(components, Component, k).root))
        return;
    search->best_kg = kg;
    memcpy(search->best, search->at, sizeof(int) * search->choices->len);
    return;
  }
  const Component *const component = &g_array_index(components, Component, c);
  for (guint w = 0; w < component->wholes->len; w++) {
    const Whole *const whole = &g_array_index(component->wholes, Whole, w);
    for (guint i = 0; i < component->numbers->len; i++)
      search->at[int_at(component->numbers, i)] = whole->at[i];
    try_wholes(search, components, c + 1, kg + whole->kg);
  }
}

static void clear_component(gpointer data)
{
  Component *const component = data;
  for (guint w = 0; w < component->wholes->len; w++)
    g_free(g_array_index(component->wholes, Whole, w).at);
  g_array_unref(component->wholes);
  g_array_unref(component->numbers);
  g_free(component->at);
}

static double weight_of(const Search *search, const GArray *numbers, const int at[])
{
  double kg = 0;
  for (guint i = 0; i < numbers->len; i++)
    kg += choice(search, int_at(numbers, i))->kg[at[int_at(numbers, i)]];
  return kg;
}

/* Components, each with what it must weigh when alone as its cap; *alone_kg: their sum. */
static GArray *list_components(const Search *search, const gboolean is_root[], const int alone[],
                               double *alone_kg)
{
  GArray *const components = g_array_new(FALSE, FALSE, sizeof(Component));
  g_array_set_clear_func(components, clear_component);
  *alone_kg = 0;
  for (guint root = 0; root < search->choices->len; root++) {
    if (!is_root[root])
      continue;
    Component component = {.root = (int)root,
                           .numbers = g_array_new(FALSE, FALSE, sizeof(int)),
                           .wholes = g_array_new(FALSE, FALSE, sizeof(Whole))};
    for (int i = 0; i < (int)search->choices->len; i++)
      if (in_component(search, i, (int)root))
        g_array_append_val(component.numbers, i);
    component.at = g_new0(int, component.numbers->len + 1);
    component.cap_kg = weight_of(search, component.numbers, alone);
    *alone_kg += component.cap_kg;
    g_array_append_val(components, component);
  }
  return components;
}

/* The components' answers do not stand together as they stand alone (`alone`): every choice of each
 * that is lighter than what stands together (search->at) leaves room for is weighed with those of
 * the others. FALSE when there are too many. */
static gboolean weigh_together(Search *search, const gboolean is_root[], const int alone[])
{
  double alone_kg, joint_kg = 0;
  g_autoptr(GArray) components = list_components(search, is_root, alone, &alone_kg);
  memcpy(search->best, search->at, sizeof(int) * search->choices->len);
  for (guint c = 0; c < components->len; c++)
    joint_kg += weight_of(search, g_array_index(components, Component, c).numbers, search->at);
  search->best_kg = joint_kg;
  search->nodes = search->solved = 0;
  gboolean all = TRUE;
  for (guint c = 0; all && c < components->len; c++) {
    Component *const component = &g_array_index(components, Component, c);
    component->cap_kg = (component->cap_kg + joint_kg - alone_kg) * (1 + 1e-12);
    list_wholes(search, component, 0, 0);
    g_array_sort(component->wholes, by_weight);
    all = component->wholes->len > 0;
  }
  if (all)
    try_wholes(search, components, 0, 0);
  memcpy(search->at, search->best, sizeof(int) * search->choices->len);
  search->sizer->least_kg += search->best_kg - alone_kg;
  return all && search->nodes <= MOST_NODES && search->solved <= MOST_SOLVED;
}

#define MOST_ROUNDS 10

/* Each component first with all others at their least, which gives a lower bound; then those again
 * that the others' thicker wires break, until all stand together. Where that weighs more than the
 * bound, the choices between are weighed one and all. */
static void search_components(Search *search)
{
  LgSizer *const sizer = search->sizer;
  const guint n = search->choices->len;
  g_autofree int *alone = g_new0(int, n + 1);
  g_autofree gboolean *is_root = g_new0(gboolean, n + 1);
  for (guint root = 0; root < n; root++) {
    is_root[root] = in_component(search, (int)root, (int)root);
    if (!is_root[root])
      continue;
    double floor_kg;
    memset(search->at, 0, sizeof(int) * n);
    sizer->exhausted &= solve_component(search, (int)root, &floor_kg);
    sizer->least_kg += isfinite(floor_kg) ? floor_kg : 0;
    for (guint i = 0; i < n; i++)
      if (in_component(search, (int)i, (int)root))
        alone[i] = search->at[i];
  }
  memcpy(search->at, alone, sizeof(int) * n);
  gboolean changed = TRUE, together = TRUE;
  for (int round = 0; changed && round < MOST_ROUNDS; round++) {
    changed = FALSE;
    for (guint root = 0; root < n; root++) {
      double floor_kg;
      if (!is_root[root] || component_is_kept(search, (int)root))
        continue;
      changed = TRUE;
      together = FALSE;
      solve_component(search, (int)root, &floor_kg);
    }
  }
  if (together || !sizer->exhausted)
    return;
  const double least_kg = sizer->least_kg;
  if (!weigh_together(search, is_root, alone)) {
    sizer->exhausted = FALSE;
    sizer->least_kg = least_kg;
  }
}

/* Limits that are broken as the wires stand and were not searched for; TRUE when there are any. */
static gboolean activate(Search *search)
{
  gboolean news = FALSE;
  for (guint l = 0; l < search->limits->len; l++) {
    Limit *const limit = &g_array_index(search->limits, Limit, l);
    if (limit->active || is_kept(read_limit(search, limit, NULL), limit))
      continue;
    limit->active = news = TRUE;
  }
  return news;
}

static void forget(Search *search)
{
  for (guint l = 0; l < search->limits->len; l++) {
    Limit *const limit = &g_array_index(search->limits, Limit, l);
    if (limit->terms != NULL)
      g_array_unref(limit->terms);
    limit->terms = NULL;
  }
  for (guint i = 0; i < search->choices->len; i++) {
    g_free(choice(search, (int)i)->kg);
    g_free(choice(search, (int)i)->ohm);
    search->number[choice(search, (int)i)->wire] = -1;
  }
  g_array_set_size(search->choices, 0);
}

/* The bounds hold where currents grow with the volts. Loads of constant power turn that round for
 * what others on their way lose, by far less than a half per cent. */
static double shade_of(const LgJob *job)
{
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_ELECTRONIC)
      return 0.995;
  return 1 - 1e-6;
}

static void stand_at_least(Search *search)
{
  const LgSizer *const sizer = search->sizer;
  for (int w = 0; w < sizer->job->n_wires; w++)
    if (sizer->job->wires[w].is_auto)
      set_wire(search, w, sizer->least[w]);
}

static void search_once(Search *search)
{
  LgSizer *const sizer = search->sizer;
  sizer->least_kg = 0;
  sizer->exhausted = TRUE;
  forget(search);
  stand_at_least(search);
  for (guint l = 0; l < search->limits->len; l++) {
    Limit *const limit = &g_array_index(search->limits, Limit, l);
    if (!limit->active)
      continue;
    bound_limit(search, limit);
    sizer->exhausted &= !limit->hopeless;
  }
  count_loads(search);
  tie_components(search);
  search->at = g_renew(int, search->at, search->choices->len + 1);
  search->best = g_renew(int, search->best, search->choices->len + 1);
  search_components(search);
  for (int w = 0; w < sizer->job->n_wires; w++) {
    if (!sizer->job->wires[w].is_auto)
      continue;
    const int number = search->number[w];
    const gboolean searched = number >= 0 && choice(search, number)->n_loads > 0;
    sizer->size[w] = sizer->least[w] + (searched ? search->at[number] : 0);
    if (!searched)
      sizer->least_kg += lg_sizer_kg(sizer, w, sizer->least[w]);
    set_wire(search, w, sizer->size[w]);
  }
}

void lg_sizer_search(LgSizer *sizer)
{
  Search search = {.sizer = sizer,
                   .meter = lg_drop_meter_new(sizer->out->circuit),
                   .shade = shade_of(sizer->job),
                   .limits = g_array_new(FALSE, TRUE, sizeof(Limit)),
                   .choices = g_array_new(FALSE, TRUE, sizeof(Choice)),
                   .number = g_new(int, (gsize)sizer->job->n_wires + 1)};
  for (int w = 0; w < sizer->job->n_wires; w++)
    search.number[w] = -1;
  for (guint l = 0; l < sizer->limits->len; l++) {
    const Limit limit = {.limit = &g_array_index(sizer->limits, LgDropLimit, l)};
    g_array_append_val(search.limits, limit);
  }
  stand_at_least(&search);
  sizer->n_tried++;
  activate(&search);
  do
    search_once(&search);
  while (activate(&search));
  forget(&search);
  g_array_unref(search.limits);
  g_array_unref(search.choices);
  g_free(search.number);
  g_free(search.at);
  g_free(search.best);
  lg_drop_meter_free(search.meter);
}
