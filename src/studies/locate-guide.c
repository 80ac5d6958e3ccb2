/* What each outcome of a measurement means, and trees of such steps: the guide for a symptom. */
#include "studies/locate-private.h"

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

static double figure_of(LgLocator *l, const LgProbing *probing, const LgPiece *piece)
{
  const LgSign sign = {.kind = probing->kind,
                       .pin = {probing->pin[0], probing->pin[1]},
                       .load = probing->load,
                       .value = NAN,
                       .position = probing->position};
  const double a = lg_sign_figure(l, &sign, piece->row[0]),
               b = lg_sign_figure(l, &sign, piece->row[1]);
  return a + piece->t * (b - a);
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
  GArray *probings; /* LgProbing */
  int n;            /* pieces */
  double *figure;   /* [n_probings][n] */
  const LgPiece **piece;
} Growing;

typedef struct {
  const Growing *growing;
  const int *member; /* indices of pieces */
  const Share *share;
  int n;
} Node;

static void gather_figures(const Growing *g, const Node *node, int probing, double figure[])
{
  for (int i = 0; i < node->n; i++)
    figure[i] = g->figure[probing * g->n + node->member[i]];
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

#define OPENING 25.0
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
    const double opening = trial.probing.effort >= OPENING ? 1e-3 : 1;
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

static int grow(Growing *g, const Node *node, int depth);

static void grow_outcome(Growing *g, const Node *node, LgGuideStep *step, const double figure[],
                         int k, int depth)
{
  g_autofree int *member = g_new(int, (gsize)node->n + 1);
  g_autofree Share *share = g_new(Share, (gsize)node->n + 1);
  Node child = {.growing = g, .member = member, .share = share};
  for (int i = 0; i < node->n; i++)
    if (outcome_of(step, figure[i]) == k) {
      member[child.n] = node->member[i];
      share[child.n++] = node->share[i];
    }
  step->outcome[k].share = total(share, child.n);
  step->outcome[k].step = child.n > 0 && depth < LG_GUIDE_DEPTH ? grow(g, &child, depth + 1) : -1;
  if (step->outcome[k].step < 0)
    step->outcome[k].found = name_suspects(share, child.n);
}

/* Returns the number of the step made, -1 for an end. */
static int grow(Growing *g, const Node *node, int depth)
{
  LgGuideStep step = {0};
  const int probing = is_sure(node) ? -1 : choose(node, &step);
  if (probing < 0)
    return -1;
  const guint index = g->steps->len;
  g_array_append_val(g->steps, step);
  g_autofree double *figure = g_new(double, (gsize)node->n + 1);
  gather_figures(g, node, probing, figure);
  for (int k = 0; k < LG_GUIDE_OUTCOMES; k++) {
    grow_outcome(g, node, &step, figure, k, depth);
    g_array_index(g->steps, LgGuideStep, index) = step;
  }
  return (int)index;
}

/* Pieces below this do not shape a printed page. */
#define SEEN 5e-4

static void grow_all(Growing *g, const GArray *pieces, int depth)
{
  LgLocator *const l = g->locator;
  g_autofree Share *share = g_new(Share, pieces->len + 1);
  g_autofree int *member = g_new(int, pieces->len + 1);
  g_autofree guint8 *wanted = g_new0(guint8, (gsize)l->n_rows);
  g->piece = g_new(const LgPiece *, pieces->len + 1);
  for (guint i = 0; i < pieces->len; i++) {
    const LgPiece *const piece = &g_array_index(pieces, LgPiece, i);
    if (piece->weight < SEEN)
      continue;
    share[g->n] = (Share){piece, piece->weight};
    member[g->n] = g->n;
    wanted[piece->row[0]] = wanted[piece->row[1]] = 1;
    g->piece[g->n++] = piece;
  }
  wanted[0] = 1;
  lg_probings_look(l, g->probings, wanted);
  g->figure = g_new(double, (gsize)g->probings->len *(gsize)g->n + 1);
  for (guint p = 0; p < g->probings->len; p++) {
    const LgProbing *const probing = &g_array_index(g->probings, LgProbing, p);
    for (int i = 0; i < g->n; i++)
      g->figure[(int)p * g->n + i] = figure_of(l, probing, g->piece[i]);
  }
  const Node root = {g, member, share, g->n};
  grow(g, &root, depth);
  g_free(g->figure);
  g_free(g->piece);
}

void lg_locator_steps(LgLocator *l, const GArray *pieces, const LgProbing *probing, GArray *steps)
{
  g_autoptr(GArray) one = g_array_new(FALSE, FALSE, sizeof(LgProbing));
  g_array_append_val(one, *probing);
  Growing growing = {.locator = l, .steps = steps, .probings = one};
  grow_all(&growing, pieces, LG_GUIDE_DEPTH);
}

/* Ohms to the body behind each fuse, for what blew it. */
static void add_fuses(const LgLocator *l, GArray *probings, const int *position)
{
  const LgJob *const job = l->job;
  int ground = -1;
  for (int e = 0; e < job->n_elements && ground < 0; e++)
    if (job->elements[e].kind == LG_EL_CHASSIS)
      ground = job->elements[e].pin[0];
  for (int e = 0; e < job->n_elements && ground >= 0; e++) {
    const LgElement *const el = &job->elements[e];
    if (!lg_element_is_protection(el->kind) || l->stage->n[e] == 0 || l->shut[el->pin[1]])
      continue;
    LgProbing probing = {
        .kind = LG_SIGN_OHMS, .pin = {el->pin[1], ground}, .load = -1, .position = position};
    probing.effort = lg_probing_effort(l, &probing);
    g_array_append_val(probings, probing);
  }
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
  add_fuses(l, probings, position);
  Growing growing = {.locator = l, .steps = guide->steps, .probings = probings};
  grow_all(&growing, pieces, 1);
  return guide;
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
    static const char *const said[LG_GUIDE_OUTCOMES] = {"it does not run", "it runs weakly",
                                                        "it runs"};
    return g_strdup(said[outcome]);
  }
  const LgDim dim = step->probing.kind == LG_SIGN_VOLTS ? LG_DIM_VOLTAGE : LG_DIM_RESISTANCE;
  g_autofree char *low = lg_quantity_print(step->low, dim, habit, 2),
                  *high = lg_quantity_print(step->high, dim, habit, 2);
  return outcome == 0   ? g_strdup_printf("below %s", low)
         : outcome == 1 ? g_strdup_printf("%s to %s", low, high)
                        : g_strdup_printf("above %s", high);
}
