/* A built job that does not behave: the suspects ranked. */
#include "studies/locate-private.h"

/* ---- Holding it all. ---- */

static void find_loads(LgLocator *l)
{
  l->loads = g_new0(int, (gsize)l->job->n_elements + 1);
  l->load_of = g_new0(int, (gsize)l->job->n_elements + 1);
  for (int e = 0; e < l->job->n_elements; e++) {
    const gboolean is = lg_element_is_load(l->job->elements[e].kind) && l->stage->n[e] > 0;
    l->load_of[e] = is ? l->n_loads : -1;
    if (is)
      l->loads[l->n_loads++] = e;
  }
  l->amps = g_malloc0_n((gsize)l->n_loads + 1, sizeof *l->amps);
  l->most_W = g_new0(double, (gsize)l->n_loads + 1);
  l->load_state = g_new0(const int *, (gsize)l->n_loads + 1);
  l->load_looked = g_new0(guint8, (gsize)l->n_loads + 1);
  for (int i = 0; i < l->n_loads; i++) {
    const double most_W = l->sizing->states->elements[l->loads[i]].most_W.value;
    l->most_W[i] = isnan(most_W) ? 1 : most_W;
  }
}

static void lay_faults(LgLocator *l)
{
  l->n_rows = (int)l->rows->len;
  g_autofree LgFault *list = g_new(LgFault, (gsize)l->n_rows + 1);
  for (int r = 0; r < l->n_rows; r++) {
    const LgRow *const row = &g_array_index(l->rows, LgRow, r);
    list[r] = (LgFault){.n = row->n, .change = &g_array_index(l->changes, LgChange, row->first)};
  }
  l->faults = lg_faults_new(l->stage->net, list, l->n_rows);
}

LgLocator *lg_locator_new(const LgSizing *sizing, GError **error)
{
  const LgJob *const job = sizing->circuit->job;
  LgCircuit *const circuit = lg_circuit_new(job, LG_DAY_MILD, sizing->chosen, error);
  if (circuit == NULL)
    return NULL;
  LgLocator *const l = g_new0(LgLocator, 1);
  l->job = job;
  l->sizing = sizing;
  l->circuit = circuit;
  l->stage = lg_stage_new(circuit, NULL);
  l->n_nodes = lg_net_n_nodes(circuit->net);
  l->suspects = g_array_new(FALSE, FALSE, sizeof(LgSuspect));
  l->rows = g_array_new(FALSE, FALSE, sizeof(LgRow));
  l->changes = g_array_new(FALSE, FALSE, sizeof(LgChange));
  l->positions = g_ptr_array_new_with_free_func(g_free);
  l->index_of = g_hash_table_new(NULL, NULL);
  l->views = g_ptr_array_new_with_free_func(lg_view_free);
  l->ohm_views = g_ptr_array_new_with_free_func(lg_ohm_view_free);
  l->shut = g_new0(guint8, (gsize)job->n_pins + 1);
  for (int p = 0; p < job->n_pins; p++)
    l->shut[p] = lg_pin_is_left_alone(job, p) ? 1 : 0;
  find_loads(l);
  lg_locator_list(l);
  l->n_single = l->suspects->len;
  lay_faults(l);
  return l;
}

void lg_locator_free(LgLocator *l)
{
  if (l == NULL)
    return;
  lg_faults_free(l->faults);
  lg_stage_free(l->stage);
  lg_circuit_free(l->circuit);
  g_array_unref(l->suspects);
  g_array_unref(l->rows);
  g_array_unref(l->changes);
  g_ptr_array_unref(l->positions);
  g_hash_table_unref(l->index_of);
  g_ptr_array_unref(l->views);
  g_ptr_array_unref(l->ohm_views);
  g_free(l->loads);
  g_free(l->load_of);
  g_free(l->most_W);
  g_free(l->load_state);
  g_free(l->load_looked);
  g_free(l->shut);
  g_free(l->amps);
  g_free(l);
}

const GArray *lg_locator_suspects(const LgLocator *l)
{
  return l->suspects;
}

double lg_locator_predict(LgLocator *l, int row, const LgSign *sign)
{
  const double figure = lg_sign_figure(l, sign, row);
  return sign->kind != LG_SIGN_OHMS        ? figure
         : figure >= LG_OPEN_FIGURE - 1e-9 ? INFINITY
                                           : exp(figure);
}

/* ---- Verdicts. ---- */

/* Suspects below this are not worth a line. */
#define LEAST_CHANCE 1e-3
enum { MOST_VERDICTS = 40 };

static int likelier(gconstpointer a, gconstpointer b)
{
  const LgVerdict *const v = a, *const w = b;
  return v->chance > w->chance ? -1 : v->chance < w->chance;
}

static double predicted_at(LgLocator *l, const LgSign *sign, const LgPiece *piece)
{
  const double a = lg_sign_figure(l, sign, piece->row[0]),
               b = lg_sign_figure(l, sign, piece->row[1]);
  return a + piece->t * (b - a);
}

static double unfold(const LgSign *sign, double figure)
{
  return sign->kind != LG_SIGN_OHMS        ? figure
         : figure >= LG_OPEN_FIGURE - 1e-9 ? INFINITY
                                           : exp(figure);
}

/* The pieces of a suspect as one verdict, from the likeliest of them. */
static LgVerdict verdict_of(LgLocator *l, const GArray *pieces, guint first, guint end,
                            const LgSign signs[], int n_signs)
{
  LgVerdict verdict = {.suspect = g_array_index(pieces, LgPiece, first).suspect, .same_as = -1};
  guint best = first;
  for (guint i = first; i < end; i++) {
    verdict.chance += g_array_index(pieces, LgPiece, i).weight;
    if (g_array_index(pieces, LgPiece, i).weight > g_array_index(pieces, LgPiece, best).weight)
      best = i;
  }
  const LgPiece *const piece = &g_array_index(pieces, LgPiece, best);
  verdict.size = lg_piece_size(l, piece);
  if (verdict.chance < LEAST_CHANCE)
    return verdict;
  verdict.predicted = g_new0(double, (gsize)n_signs + 1);
  for (int s = 0; s < n_signs; s++)
    verdict.predicted[s] = unfold(&signs[s], predicted_at(l, &signs[s], piece));
  return verdict;
}

static void clear_verdict(gpointer data)
{
  g_free(((LgVerdict *)data)->predicted);
}

static GArray *rank(LgLocator *l, const GArray *pieces, const LgSign signs[], int n_signs)
{
  GArray *const verdicts = g_array_new(FALSE, FALSE, sizeof(LgVerdict));
  g_array_set_clear_func(verdicts, clear_verdict);
  for (guint i = 0; i < pieces->len;) {
    guint end = i;
    while (end < pieces->len &&
           g_array_index(pieces, LgPiece, end).suspect == g_array_index(pieces, LgPiece, i).suspect)
      end++;
    const LgVerdict verdict = verdict_of(l, pieces, i, end, signs, n_signs);
    if (verdict.predicted != NULL)
      g_array_append_val(verdicts, verdict);
    i = end;
  }
  return verdicts;
}

/* Adds pairs, and shares all probability anew. */
static void rank_pairs(LgLocator *l, GArray *verdicts, const GArray *pieces, double log_sum,
                       const LgSign signs[], int n_signs, int n_pairs)
{
  g_autoptr(LgPairs) pairs = lg_pairs_new(l, signs, n_signs, pieces, n_pairs);
  double sum = 1;
  for (guint i = 0; i < pairs->pieces->len; i++)
    sum += exp(g_array_index(pairs->pieces, LgPiece, i).weight - log_sum);
  for (guint i = 0; i < verdicts->len; i++)
    g_array_index(verdicts, LgVerdict, i).chance /= sum;
  for (guint i = 0; i < pairs->pieces->len; i++) {
    const LgPiece *const piece = &g_array_index(pairs->pieces, LgPiece, i);
    LgVerdict verdict = {.suspect = piece->suspect,
                         .chance = exp(piece->weight - log_sum) / sum,
                         .size = NAN,
                         .same_as = -1};
    if (verdict.chance < LEAST_CHANCE)
      continue;
    verdict.predicted = g_new0(double, (gsize)n_signs + 1);
    for (int s = 0; s < n_signs; s++)
      verdict.predicted[s] = unfold(&signs[s], pairs->figure[piece->row[0] * n_signs + s]);
    g_array_append_val(verdicts, verdict);
  }
}

static void put_in_order(GArray *verdicts)
{
  g_array_sort(verdicts, likelier);
  if (verdicts->len > MOST_VERDICTS)
    g_array_set_size(verdicts, MOST_VERDICTS);
}

/* ---- Fitting the size: true solutions between the sizes of the grid. ---- */

enum { MOST_FITTED = 4, STEPS = 8, ROUNDS = 3 };

typedef struct {
  LgVerdict *verdict;
  const LgSuspect *suspect;
  double low, high; /* log size */
  LgChange changes[STEPS + 1][LG_MOST_CHANGES + 8];
} Fit;

double *lg_locator_figures(LgLocator *l, const LgFault list[], int n, const LgSign signs[],
                           int n_signs)
{
  double *const figure = g_new0(double, (gsize)n *(gsize)n_signs + 1);
  g_autofree double *ohm = g_new0(double, (gsize)n + 1);
  g_autoptr(LgFaults) faults = lg_faults_new(l->stage->net, list, n);
  g_autoptr(GPtrArray) views = g_ptr_array_new_with_free_func(lg_view_free);
  g_autofree LgView **view_of = g_new0(LgView *, (gsize)n_signs + 1);
  for (int s = 0; s < n_signs; s++) {
    if (signs[s].kind == LG_SIGN_OHMS)
      continue;
    for (int k = 0; k < s && view_of[s] == NULL; k++)
      if (signs[k].position == signs[s].position)
        view_of[s] = view_of[k];
    if (view_of[s] == NULL) {
      view_of[s] = lg_view_new(l, n, signs[s].position);
      g_ptr_array_add(views, view_of[s]);
    }
  }
  lg_views_solve(l, faults, (LgView *const *)views->pdata, (int)views->len, NULL, LG_SOLVED_ALL);
  for (int s = 0; s < n_signs; s++) {
    if (view_of[s] == NULL)
      lg_ohms_of(l, list, n, l->circuit->pin_node[signs[s].pin[0]],
                 l->circuit->pin_node[signs[s].pin[1]], signs[s].position, ohm);
    for (int f = 0; f < n; f++)
      figure[f * n_signs + s] = view_of[s] != NULL ? lg_view_figure(l, view_of[s], &signs[s], f)
                                : isinf(ohm[f])    ? LG_OPEN_FIGURE
                                                   : log(fmax(ohm[f], 1e-3));
  }
  return figure;
}

static double log_likelihood(const LgSign signs[], int n_signs, const double figure[])
{
  double sum = 0;
  for (int s = 0; s < n_signs; s++)
    sum += lg_sign_log_likelihood(&signs[s], figure[s]);
  return sum;
}

static double step_size(const Fit *fit, int step)
{
  return exp(fit->low + (fit->high - fit->low) * step / STEPS);
}

static void fit_round(LgLocator *l, Fit fits[], int n, const LgSign signs[], int n_signs)
{
  g_autofree LgFault *list = g_new(LgFault, (gsize)n * (STEPS + 1) + 1);
  for (int f = 0; f < n; f++)
    for (int k = 0; k <= STEPS; k++)
      list[f * (STEPS + 1) + k] = (LgFault){
          .n = lg_suspect_changes(l, fits[f].suspect, step_size(&fits[f], k), fits[f].changes[k]),
          .change = fits[f].changes[k]};
  g_autofree double *figure = lg_locator_figures(l, list, n * (STEPS + 1), signs, n_signs);
  for (int f = 0; f < n; f++) {
    const double *const own = figure + (gsize)(f * (STEPS + 1)) * (gsize)n_signs;
    int best = 0;
    for (int k = 1; k <= STEPS; k++)
      if (log_likelihood(signs, n_signs, own + k * n_signs) >
          log_likelihood(signs, n_signs, own + best * n_signs))
        best = k;
    fits[f].verdict->size = step_size(&fits[f], best);
    for (int s = 0; s < n_signs; s++)
      fits[f].verdict->predicted[s] = unfold(&signs[s], own[best * n_signs + s]);
    const double step = (fits[f].high - fits[f].low) / STEPS;
    fits[f].low = log(fits[f].verdict->size) - step;
    fits[f].high = log(fits[f].verdict->size) + step;
  }
}

static void fit_sizes(LgLocator *l, GArray *verdicts, const LgSign signs[], int n_signs)
{
  g_autofree Fit *fits = g_new0(Fit, MOST_FITTED);
  int n = 0;
  for (guint i = 0; i < verdicts->len && n < MOST_FITTED && n_signs > 0; i++) {
    LgVerdict *const verdict = &g_array_index(verdicts, LgVerdict, i);
    const LgSuspect *const suspect = &g_array_index(l->suspects, LgSuspect, verdict->suspect);
    if (suspect->n < 2 || suspect->pair[0] >= 0)
      continue;
    const double at = log(verdict->size);
    fits[n++] = (Fit){.verdict = verdict, .suspect = suspect, .low = at - 1.2, .high = at + 1.2};
  }
  for (int round = 0; round < ROUNDS && n > 0; round++)
    fit_round(l, fits, n, signs, n_signs);
}

/* ---- Which suspects nothing tells apart. ---- */

static const LgPiece *piece_of(const GArray *pieces, int suspect)
{
  const LgPiece *best = NULL;
  for (guint i = 0; i < pieces->len; i++) {
    const LgPiece *const piece = &g_array_index(pieces, LgPiece, i);
    if (piece->suspect == suspect && (best == NULL || piece->weight > best->weight))
      best = piece;
  }
  return best;
}

static gboolean differ(LgLocator *l, const LgPiece *a, const LgPiece *b, const GArray *probings)
{
  for (guint i = 0; i < probings->len; i++) {
    const LgProbing *const p = &g_array_index(probings, LgProbing, i);
    const LgSign sign = {.kind = p->kind,
                         .pin = {p->pin[0], p->pin[1]},
                         .load = p->load,
                         .value = NAN,
                         .tolerance = 0.01,
                         .position = p->position};
    const double x = predicted_at(l, &sign, a), y = predicted_at(l, &sign, b);
    if (fabs(x - y) > 2 * fmax(lg_sign_spread(&sign, x), lg_sign_spread(&sign, y)))
      return TRUE;
  }
  return FALSE;
}

/* So many are compared with each other, the rest with the first. */
enum { MOST_COMPARED = 8 };

static void find_same(LgLocator *l, GArray *verdicts, const GArray *pieces, const LgSign signs[],
                      int n_signs)
{
  g_autoptr(GArray) probings = lg_locator_probings(l, pieces, signs, n_signs);
  for (guint i = probings->len; i-- > 0;)
    if (g_array_index(probings, LgProbing, i).kind == LG_SIGN_OHMS)
      g_array_remove_index_fast(probings, i);
  for (guint i = 1; i < verdicts->len; i++) {
    LgVerdict *const later = &g_array_index(verdicts, LgVerdict, i);
    const LgPiece *const own = piece_of(pieces, later->suspect);
    for (guint k = 0; k < (i < MOST_COMPARED ? i : 1) && later->same_as < 0 && own != NULL; k++) {
      const LgVerdict *const earlier = &g_array_index(verdicts, LgVerdict, k);
      const LgPiece *const other = piece_of(pieces, earlier->suspect);
      if (earlier->same_as < 0 && other != NULL && !differ(l, own, other, probings))
        later->same_as = (int)k;
    }
  }
}

/* ---- What even the likeliest does not explain. ---- */

/* So many times what it may be off. */
#define ODD 4.0

static void tell_left(LgLocation *location, const LgSign signs[])
{
  const int n = location->n_signs;
  location->odd = g_new0(gboolean, (gsize)n + 1);
  location->left = g_new0(double, (gsize)n + 1);
  location->times = g_new0(double, (gsize)n + 1);
  if (location->verdicts->len == 0)
    return;
  LgVerdict *const best = &g_array_index(location->verdicts, LgVerdict, 0);
  for (int s = 0; s < n; s++) {
    const LgSign *const sign = &signs[s];
    const double predicted = best->predicted[s];
    location->left[s] = sign->value - predicted;
    if (sign->kind == LG_SIGN_RUNS)
      location->odd[s] = lg_sign_log_likelihood(sign, predicted) < log(0.03);
    else if (isinf(sign->value) || isinf(predicted))
      location->odd[s] =
          isinf(sign->value) != isinf(predicted) && fmin(sign->value, predicted) < 1e6;
    else {
      const double figure = sign->kind == LG_SIGN_OHMS ? log(fmax(predicted, 0.05)) : predicted;
      const double value = sign->kind == LG_SIGN_OHMS ? log(fmax(sign->value, 0.05)) : sign->value;
      location->times[s] = fabs(value - figure) / lg_sign_spread(sign, figure);
      location->odd[s] = location->times[s] > ODD;
      best->misfit += location->times[s] * location->times[s];
    }
    location->unclear |= location->odd[s];
  }
}

enum { MOST_STEPS = 3 };

LgLocation *lg_locator_judge(LgLocator *l, const LgSign signs[], int n_signs, int n_pairs)
{
  LgLocation *const location = g_new0(LgLocation, 1);
  double log_sum = 0;
  g_array_set_size(l->suspects, l->n_single);
  g_autoptr(GArray) pieces = lg_locator_weigh(l, signs, n_signs, &log_sum);
  location->job = l->job;
  location->n_signs = n_signs;
  location->verdicts = rank(l, pieces, signs, n_signs);
  if (n_pairs > 0 && n_signs > 0)
    rank_pairs(l, location->verdicts, pieces, log_sum, signs, n_signs, n_pairs);
  put_in_order(location->verdicts);
  fit_sizes(l, location->verdicts, signs, n_signs);
  location->next = lg_locator_next(l, pieces, signs, n_signs);
  location->steps = lg_steps_new();
  for (guint i = 0; i < MIN(location->next->len, MOST_STEPS); i++)
    lg_locator_steps(l, pieces, &g_array_index(location->next, LgProbing, i), location->steps);
  find_same(l, location->verdicts, pieces, signs, n_signs);
  tell_left(location, signs);
  return location;
}

void lg_location_free(LgLocation *location)
{
  if (location == NULL)
    return;
  g_array_unref(location->verdicts);
  g_array_unref(location->next);
  g_array_unref(location->steps);
  g_free(location->odd);
  g_free(location->left);
  g_free(location->times);
  g_free(location);
}
