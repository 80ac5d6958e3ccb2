/* What each outcome of a measurement means, and trees of such steps: the guide for a symptom. */
#include "base/words.h"
#include "studies/locate-private.h"
#include <string.h>

/* ---- One step. ---- */

/* Names of suspects at an end: as many as make up most of what is left. */
#define MOST_OF_IT 0.9
enum { MOST_NAMED = 4 };

typedef struct {
  const LgPiece *piece;
  double weight;
} Share;

static int heavier(gconstpointer a, gconstpointer b)
{
  const double x = ((const Share *)a)->weight, y = ((const Share *)b)->weight;
  return x > y ? -1 : x < y;
}

/* One Share for each suspect, heaviest first. */
static GArray *by_suspect(const Share shares[], int n)
{
  GArray *const sums = g_array_new(FALSE, FALSE, sizeof(Share));
  for (int i = 0; i < n; i++) {
    Share *const last = sums->len > 0 ? &g_array_index(sums, Share, sums->len - 1) : NULL;
    if (last != NULL && last->piece->suspect == shares[i].piece->suspect)
      last->weight += shares[i].weight;
    else
      g_array_append_val(sums, shares[i]);
  }
  g_array_sort(sums, heavier);
  return sums;
}

static double total(const Share shares[], int n)
{
  double sum = 0;
  for (int i = 0; i < n; i++)
    sum += shares[i].weight;
  return sum;
}

static GArray *name_suspects(const Share shares[], int n)
{
  g_autoptr(GArray) sums = by_suspect(shares, n);
  GArray *const found = g_array_new(FALSE, FALSE, sizeof(int));
  const double all = total(shares, n);
  double told = 0;
  for (guint i = 0; i < sums->len && found->len < MOST_NAMED && told < MOST_OF_IT * all; i++) {
    const Share *const share = &g_array_index(sums, Share, i);
    g_array_append_val(found, share->piece->suspect);
    told += share->weight;
  }
  return found;
}

/* Volts that a cheap meter in cold hands tells from none: common practice, no source. */
#define PLAIN_V 0.05

/* Where "nothing" ends and "as it should be" begins. Volts: a tenth and nine tenths of the most
 * that any suspect leaves there. */
static void set_bounds(LgGuideStep *step, const double figure[], int n)
{
  double most = 0;
  for (int i = 0; i < n; i++)
    most = fmax(most, fabs(figure[i]));
  switch (step->probing.kind) {
  case LG_SIGN_VOLTS:
    step->low = fmax(0.1 * most, PLAIN_V);
    step->high = fmax(0.9 * most, 2 * PLAIN_V);
    break;
  case LG_SIGN_OHMS:
    step->low = 0.3;
    step->high = 1e5;
    break;
  default:
    step->low = 0.1;
    step->high = 0.6;
  }
}

static int outcome_of(const LgGuideStep *step, double figure)
{
  const double value = step->probing.kind == LG_SIGN_OHMS ? exp(figure) : fabs(figure);
  return value < step->low ? 0 : value > step->high ? 2 : 1;
}

static void clear_step(gpointer data)
{
  LgGuideStep *const step = data;
  for (int k = 0; k < LG_GUIDE_OUTCOMES; k++)
    if (step->outcome[k].found != NULL)
      g_array_unref(step->outcome[k].found);
}

GArray *lg_steps_new(void)
{
  GArray *const steps = g_array_new(FALSE, FALSE, sizeof(LgGuideStep));
  g_array_set_clear_func(steps, clear_step);
  return steps;
}

/* ---- Trees. ---- */

typedef struct {
  LgLocator *locator;
  GArray *steps;    /* LgGuideStep */
  GArray *probings; /* LgProbing; what tells nothing is taken out */
  guint most;       /* steps */
  int n;            /* pieces */
  double *figure;   /* [n_probings][n] */
  const LgPiece **piece;
} Growing;

/* An end of the tree so far, and the step that would go on from it. */
typedef struct {
  const Growing *growing;
  int *member; /* indices of pieces, owned */
  Share *share;
  int n;
  int depth, parent, outcome; /* parent -1: the root */
  LgGuideStep step;
  int probing; /* -1: no step goes on from here */
} Node;

static void gather_figures(const Growing *g, const Node *node, int probing, double figure[])
{
  for (int i = 0; i < node->n; i++)
    figure[i] = g->figure[(gsize)probing * (gsize)g->n + (gsize)node->member[i]];
}

static double plogp(double p)
{
  return p > 0 ? -p * log2(p) : 0;
}

/* Bits that the three outcomes tell of who it is. */
static double outcome_bits(const Node *node, const LgGuideStep *step, const double figure[])
{
  double share[LG_GUIDE_OUTCOMES] = {0}, bits = 0, all = total(node->share, node->n);
  for (int i = 0; i < node->n;) {
    double own[LG_GUIDE_OUTCOMES] = {0}, sum = 0;
    const int suspect = node->share[i].piece->suspect;
    for (; i < node->n && node->share[i].piece->suspect == suspect; i++) {
      own[outcome_of(step, figure[i])] += node->share[i].weight;
      sum += node->share[i].weight;
    }
    for (int k = 0; k < LG_GUIDE_OUTCOMES; k++) {
      share[k] += own[k];
      bits -= sum / all * plogp(own[k] / sum);
    }
  }
  for (int k = 0; k < LG_GUIDE_OUTCOMES; k++)
    bits += plogp(share[k] / all);
  return bits;
}

#define ENOUGH_BITS 0.05

/* The measurement that tells most for its effort; -1: none tells enough. Nothing is taken apart
 * while something easier tells. */
static int choose(const Node *node, LgGuideStep *step)
{
  const Growing *const g = node->growing;
  g_autofree double *figure = g_new(double, (gsize)node->n + 1);
  int best = -1;
  double best_score = 0;
  for (guint p = 0; p < g->probings->len; p++) {
    LgGuideStep trial = {.probing = g_array_index(g->probings, LgProbing, p)};
    gather_figures(g, node, (int)p, figure);
    set_bounds(&trial, figure, node->n);
    trial.probing.bits = outcome_bits(node, &trial, figure);
    if (trial.probing.bits < ENOUGH_BITS)
      continue;
    const double opening = trial.probing.effort >= LG_OPENING ? 1e-3 : 1;
    const double score = opening * trial.probing.bits / trial.probing.effort;
    if (score > best_score) {
      best_score = score;
      best = (int)p;
      *step = trial;
    }
  }
  return best;
}

#define SURE 0.9

static gboolean is_sure(const Node *node)
{
  g_autoptr(GArray) sums = by_suspect(node->share, node->n);
  return sums->len == 0 ||
         g_array_index(sums, Share, 0).weight > SURE * total(node->share, node->n);
}

static void node_free(gpointer data)
{
  Node *const node = data;
  g_free(node->member);
  g_free(node->share);
  g_free(node);
}

static Node *node_new(const Growing *g, int room)
{
  Node *const node = g_new0(Node, 1);
  node->growing = g;
  node->member = g_new(int, (gsize)room + 1);
  node->share = g_new(Share, (gsize)room + 1);
  node->parent = -1;
  return node;
}

static LgGuideStep *step_at(const Growing *g, int index)
{
  return &g_array_index(g->steps, LgGuideStep, index);
}

/* Takes an end: it waits to be grown, or names its suspects. */
static void take_end(const Growing *g, GPtrArray *open, Node *node)
{
  const gboolean may = node->n > 0 && (node->parent < 0 || node->depth <= LG_GUIDE_DEPTH);
  node->probing = may && !is_sure(node) ? choose(node, &node->step) : -1;
  if (node->probing >= 0) {
    g_ptr_array_add(open, node);
    return;
  }
  if (node->parent >= 0)
    step_at(g, node->parent)->outcome[node->outcome].found = name_suspects(node->share, node->n);
  node_free(node);
}

static void grow_outcome(const Growing *g, GPtrArray *open, const Node *node, int index, int k,
                         const double figure[])
{
  const LgGuideStep step = *step_at(g, index);
  Node *const child = node_new(g, node->n);
  for (int i = 0; i < node->n; i++)
    if (outcome_of(&step, figure[i]) == k) {
      child->member[child->n] = node->member[i];
      child->share[child->n++] = node->share[i];
    }
  child->depth = node->depth + 1;
  child->parent = index;
  child->outcome = k;
  step_at(g, index)->outcome[k].share = total(child->share, child->n);
  step_at(g, index)->outcome[k].step = -1;
  take_end(g, open, child);
}

static void grow_end(const Growing *g, GPtrArray *open, const Node *node)
{
  const int index = (int)g->steps->len;
  g_array_append_val(g->steps, node->step);
  if (node->parent >= 0)
    step_at(g, node->parent)->outcome[node->outcome].step = index;
  g_autofree double *figure = g_new(double, (gsize)node->n + 1);
  gather_figures(g, node, node->probing, figure);
  for (int k = 0; k < LG_GUIDE_OUTCOMES; k++)
    grow_outcome(g, open, node, index, k, figure);
}

/* The end whose next step tells most of all that is not known yet. */
static guint most_telling(const GPtrArray *open)
{
  guint best = 0;
  double most = -1;
  for (guint i = 0; i < open->len; i++) {
    const Node *const node = open->pdata[i];
    const double tells = total(node->share, node->n) * node->step.probing.bits;
    if (tells > most) {
      most = tells;
      best = i;
    }
  }
  return best;
}

/* Grows the most telling end first, until the steps are used up. Takes the root. */
static void grow(const Growing *g, Node *root)
{
  g_autoptr(GPtrArray) open = g_ptr_array_new();
  take_end(g, open, root);
  while (open->len > 0) {
    Node *const node = g_ptr_array_steal_index(open, most_telling(open));
    if (g->steps->len < g->most)
      grow_end(g, open, node);
    else if (node->parent >= 0)
      step_at(g, node->parent)->outcome[node->outcome].found = name_suspects(node->share, node->n);
    node_free(node);
  }
}

static void number_from(const GArray *grown, int from, GArray *ordered)
{
  const guint at = ordered->len;
  g_array_append_val(ordered, g_array_index(grown, LgGuideStep, from));
  for (int k = LG_GUIDE_OUTCOMES - 1; k >= 0; k--) {
    const int next = g_array_index(grown, LgGuideStep, from).outcome[k].step;
    if (next < 0)
      continue;
    g_array_index(ordered, LgGuideStep, at).outcome[k].step = (int)ordered->len;
    number_from(grown, next, ordered);
  }
}

/* The steps in the order in which one reads: after each its own, the greatest reading first. */
static void number_steps(GArray *steps)
{
  if (steps->len == 0)
    return;
  g_autoptr(GArray) ordered = g_array_new(FALSE, FALSE, sizeof(LgGuideStep));
  number_from(steps, 0, ordered);
  memcpy(steps->data, ordered->data, steps->len * sizeof(LgGuideStep));
}

/* Pieces below this do not shape a printed page. */
#define SEEN 5e-4

/* Figures of the rows that are wanted; all of them are solved. */
static void row_figures(LgLocator *l, const LgProbing *probing, const guint8 wanted[],
                        double figure[])
{
  const LgSign sign = {.kind = probing->kind,
                       .pin = {probing->pin[0], probing->pin[1]},
                       .load = probing->load,
                       .value = NAN,
                       .position = probing->position};
  const LgView *const view =
      sign.kind == LG_SIGN_OHMS ? NULL : lg_locator_view(l, probing->position, 0, LG_SOLVED_WATTS);
  for (int r = 0; r < l->n_rows; r++)
    if (wanted[r])
      figure[r] = view != NULL ? lg_view_figure(l, view, &sign, r) : lg_sign_figure(l, &sign, r);
}

/* Whether the outcome is the same for every piece, and so for every selection of them. */
static gboolean tells_nothing(LgSignKind kind, const double figure[], int n)
{
  double least = INFINITY, most = 0;
  LgGuideStep step = {.probing.kind = kind};
  set_bounds(&step, figure, n);
  gboolean same = TRUE;
  for (int i = 0; i < n; i++) {
    least = fmin(least, fabs(figure[i]));
    most = fmax(most, fabs(figure[i]));
    same &= outcome_of(&step, figure[i]) == outcome_of(&step, figure[0]);
  }
  /* The bounds of volts move with the selection. */
  return kind == LG_SIGN_VOLTS ? most < PLAIN_V || (least > 2 * PLAIN_V && least > 0.9 * most)
                               : same;
}

/* Figures of all pieces for each probing; those that can tell nothing are left out. */
static void find_figures(Growing *g, const guint8 wanted[])
{
  g_autofree double *row = g_new(double, (gsize)g->locator->n_rows + 1);
  guint kept = 0;
  g->figure = g_new(double, (gsize)g->probings->len *(gsize)g->n + 1);
  for (guint p = 0; p < g->probings->len; p++) {
    const LgProbing probing = g_array_index(g->probings, LgProbing, p);
    double *const figure = g->figure + (gsize)kept * (gsize)g->n;
    row_figures(g->locator, &probing, wanted, row);
    for (int i = 0; i < g->n; i++) {
      const LgPiece *const piece = g->piece[i];
      figure[i] = row[piece->row[0]] + piece->t * (row[piece->row[1]] - row[piece->row[0]]);
    }
    if (!tells_nothing(probing.kind, figure, g->n))
      g_array_index(g->probings, LgProbing, kept++) = probing;
  }
  g_array_set_size(g->probings, kept);
}

static void grow_all(Growing *g, const GArray *pieces, int depth)
{
  LgLocator *const l = g->locator;
  Node *const root = node_new(g, (int)pieces->len);
  root->depth = depth;
  g_autofree guint8 *wanted = g_new0(guint8, (gsize)l->n_rows);
  g->piece = g_new(const LgPiece *, pieces->len + 1);
  for (guint i = 0; i < pieces->len; i++) {
    const LgPiece *const piece = &g_array_index(pieces, LgPiece, i);
    if (piece->weight < SEEN)
      continue;
    root->share[g->n] = (Share){piece, piece->weight};
    root->member[g->n] = g->n;
    wanted[piece->row[0]] = wanted[piece->row[1]] = 1;
    g->piece[g->n++] = piece;
  }
  wanted[0] = 1;
  lg_probings_look(l, g->probings, wanted);
  find_figures(g, wanted);
  root->n = g->n;
  grow(g, root);
  g_free(g->figure);
  g_free(g->piece);
}

void lg_locator_steps(LgLocator *l, const GArray *pieces, const LgProbing *probing, GArray *steps)
{
  g_autoptr(GArray) one = g_array_new(FALSE, FALSE, sizeof(LgProbing));
  g_array_append_val(one, *probing);
  Growing growing = {.locator = l, .steps = steps, .probings = one, .most = steps->len + 1};
  grow_all(&growing, pieces, LG_GUIDE_DEPTH);
}

/* Marks the protections that some suspect of weight leaves open. */
static void mark_opened(const LgLocator *l, const GArray *pieces, guint8 opened[])
{
  g_autofree guint8 *row_seen = g_new0(guint8, (gsize)l->n_rows);
  g_autoptr(GHashTable) branches = g_hash_table_new(NULL, NULL);
  for (guint i = 0; i < pieces->len; i++)
    if (g_array_index(pieces, LgPiece, i).weight >= SEEN)
      row_seen[g_array_index(pieces, LgPiece, i).row[0]] = 1;
  for (int r = 0; r < l->n_rows; r++) {
    const LgRow *const row = &g_array_index(l->rows, LgRow, r);
    for (int c = 0; row_seen[r] && c < row->n; c++) {
      const LgChange *const change = &g_array_index(l->changes, LgChange, row->first + c);
      if (change->kind == LG_CHANGE_OPEN)
        g_hash_table_add(branches, GINT_TO_POINTER(change->branch + 1));
    }
  }
  for (int e = 0; e < l->job->n_elements; e++)
    opened[e] = lg_element_is_protection(l->job->elements[e].kind) && l->stage->n[e] > 0 &&
                g_hash_table_contains(branches, GINT_TO_POINTER(l->stage->first[e] + 1));
}

/* Ohms to the body behind each fuse that may have blown, for what blew it. */
static void add_fuses(const LgLocator *l, const GArray *pieces, GArray *probings,
                      const int *position)
{
  const LgJob *const job = l->job;
  g_autofree guint8 *opened = g_new0(guint8, (gsize)job->n_elements + 1);
  mark_opened(l, pieces, opened);
  int ground = -1;
  for (int e = 0; e < job->n_elements && ground < 0; e++)
    if (job->elements[e].kind == LG_EL_CHASSIS)
      ground = job->elements[e].pin[0];
  for (int e = 0; e < job->n_elements && ground >= 0; e++) {
    const LgElement *const el = &job->elements[e];
    if (!opened[e] || l->shut[el->pin[1]])
      continue;
    LgProbing probing = {
        .kind = LG_SIGN_OHMS, .pin = {el->pin[1], ground}, .load = -1, .position = position};
    probing.effort = lg_probing_effort(l, &probing);
    g_array_append_val(probings, probing);
  }
}

static int inputs_apart(const LgJob *job, const int a[], const int b[])
{
  int n = 0;
  for (int i = 0; i < job->n_inputs; i++)
    n += a[i] != b[i];
  return n;
}

/* A person stays near the state in which the load failed: of the states in which one could look
 * whether something else runs, those with the fewest inputs to turn are asked for. */
enum { MOST_STATES = 12 };

static void stay_near(const LgLocator *l, GArray *probings, const int *position)
{
  g_autoptr(GPtrArray) states = g_ptr_array_new();
  for (int apart = 0; apart <= l->job->n_inputs && states->len < MOST_STATES; apart++)
    for (guint i = 0; i < probings->len && states->len < MOST_STATES; i++) {
      const int *const other = g_array_index(probings, LgProbing, i).position;
      if (inputs_apart(l->job, position, other) == apart && !g_ptr_array_find(states, other, NULL))
        g_ptr_array_add(states, (gpointer)other);
    }
  for (guint i = probings->len; i-- > 0;)
    if (!g_ptr_array_find(states, g_array_index(probings, LgProbing, i).position, NULL))
      g_array_remove_index(probings, i);
}

/* ---- Pins that are one node read the same: one of them is enough, the easiest. ---- */

static guint spot_hash(gconstpointer data)
{
  const LgProbing *const p = data;
  return g_direct_hash(p->position) ^ (guint)p->pin[0] * 2654435761u ^ (guint)p->pin[1] * 40503u ^
         (guint)p->load;
}

static gboolean spot_equal(gconstpointer a, gconstpointer b)
{
  const LgProbing *const p = a, *const q = b;
  return p->kind == q->kind && p->position == q->position && p->load == q->load &&
         p->pin[0] == q->pin[0] && p->pin[1] == q->pin[1];
}

static void drop_same(const LgLocator *l, GArray *probings)
{
  g_autoptr(GHashTable) seen = g_hash_table_new(spot_hash, spot_equal);
  g_autofree LgProbing *spot = g_new(LgProbing, probings->len + 1);
  guint kept = 0;
  for (guint i = 0; i < probings->len; i++) {
    const LgProbing probing = g_array_index(probings, LgProbing, i);
    spot[kept] = probing;
    for (int e = 0; e < 2 && probing.kind != LG_SIGN_RUNS; e++)
      spot[kept].pin[e] = l->circuit->pin_node[probing.pin[e]];
    const LgProbing *const before = g_hash_table_lookup(seen, &spot[kept]);
    LgProbing *const best =
        before != NULL ? &g_array_index(probings, LgProbing, before - spot) : NULL;
    if (best == NULL) {
      g_hash_table_add(seen, &spot[kept]);
      g_array_index(probings, LgProbing, kept++) = probing;
    } else if (probing.effort < best->effort)
      *best = probing;
  }
  g_array_set_size(probings, kept);
}

LgGuide *lg_guide_new(LgLocator *l, int load)
{
  const int *const position = lg_locator_state(l, load);
  if (position == NULL)
    return NULL;
  LgGuide *const guide = g_new0(LgGuide, 1);
  guide->symptom = (LgSign){.kind = LG_SIGN_RUNS,
                            .name = "symptom",
                            .pin = {-1, -1},
                            .load = load,
                            .value = LG_RUNS_NOT,
                            .position = position};
  guide->steps = lg_steps_new();
  g_autoptr(GArray) pieces = lg_locator_weigh(l, &guide->symptom, 1, NULL);
  g_autoptr(GArray) probings = lg_locator_probings(l, pieces, &guide->symptom, 1);
  for (guint i = probings->len; i-- > 0;)
    if (g_array_index(probings, LgProbing, i).kind == LG_SIGN_OHMS)
      g_array_remove_index(probings, i);
  stay_near(l, probings, position);
  add_fuses(l, pieces, probings, position);
  drop_same(l, probings);
  Growing growing = {
      .locator = l, .steps = guide->steps, .probings = probings, .most = LG_GUIDE_STEPS};
  grow_all(&growing, pieces, 1);
  number_steps(guide->steps);
  return guide;
}

static int by_load(gconstpointer a, gconstpointer b)
{
  const LgGuide *const *const p = a, *const *const q = b;
  return (*p)->symptom.load - (*q)->symptom.load;
}

/* Numbers held at most: 64 MB. */
#define MOST_HELD ((gsize)8 << 20)

/* Loads that are looked at in the same state one after the other: its solutions serve all. */
GPtrArray *lg_guides_new(LgLocator *l)
{
  GPtrArray *const guides = g_ptr_array_new_with_free_func((GDestroyNotify)lg_guide_free);
  g_autofree guint8 *done = g_new0(guint8, (gsize)l->n_loads + 1);
  for (int first = 0; first < l->n_loads; first++) {
    const int *const position = lg_locator_state(l, l->loads[first]);
    for (int i = first; i < l->n_loads && position != NULL; i++) {
      if (done[i] || lg_locator_state(l, l->loads[i]) != position)
        continue;
      done[i] = TRUE;
      g_ptr_array_add(guides, lg_guide_new(l, l->loads[i]));
    }
    if (l->held > MOST_HELD)
      lg_locator_forget(l);
  }
  g_ptr_array_sort(guides, by_load);
  return guides;
}

void lg_guide_free(LgGuide *guide)
{
  if (guide == NULL)
    return;
  g_array_unref(guide->steps);
  g_free(guide);
}

char *lg_outcome_words(const LgLocator *l, const LgGuideStep *step, int outcome)
{
  const LgHabit habit = l->job->habit;
  if (step->probing.kind == LG_SIGN_RUNS) {
    static const char *const said[LG_GUIDE_OUTCOMES] = {N_("it does not run"), N_("it runs weakly"),
                                                        N_("it runs")};
    return g_strdup(T_(said[outcome]));
  }
  const LgDim dim = step->probing.kind == LG_SIGN_VOLTS ? LG_DIM_VOLTAGE : LG_DIM_RESISTANCE;
  g_autofree char *low = lg_quantity_print(step->low, dim, habit, 2),
                  *high = lg_quantity_print(step->high, dim, habit, 2);
  return outcome == 0   ? g_strdup_printf(T_("below %s"), low)
         : outcome == 1 ? g_strdup_printf(T_("%s to %s"), low, high)
                        : g_strdup_printf(T_("above %s"), high);
}
