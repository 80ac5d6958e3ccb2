/* What to measure next: expected information for the effort. */
#include "studies/locate-private.h"

/* ---- Effort: minutes or so, common practice, no source. ---- */

static gboolean holds_donor(const LgJob *job, int place)
{
  for (int p = 0; p < job->n_parts; p++)
    if (job->parts[p].place == place && job->parts[p].is == LG_IS_DONOR &&
        strcmp(job->parts[p].class_word, "assembly") == 0)
      return TRUE;
  return FALSE;
}

static double pin_effort(const LgJob *job, int pin)
{
  static const struct {
    const char *word;
    double minutes;
  } classes[] = {{"battery", 1},   {"fuse-holder", 1}, {"breaker", 1}, {"stud", 1},
                 {"ground", 1.5},  {"relay", 2},       {"supply", 2},  {"alternator", 3},
                 {"connector", 3}, {"assembly", 3},    {"load", 3},    {"splice", 6}};
  const LgPart *const part = &job->parts[job->pins[pin].part];
  const gboolean assembly = strcmp(part->class_word, "assembly") == 0;
  if (part->is == LG_IS_DONOR && !assembly && part->place >= 0 && holds_donor(job, part->place))
    return LG_OPENING;
  for (gsize i = 0; i < G_N_ELEMENTS(classes); i++)
    if (strcmp(part->class_word, classes[i].word) == 0)
      return classes[i].minutes;
  return 4;
}

/* Battery off, wait, see that nothing is live. */
#define DEAD_FIRST 4.0

double lg_probing_effort(const LgLocator *l, const LgProbing *probing)
{
  if (probing->kind == LG_SIGN_RUNS)
    return 0.7;
  const double a = pin_effort(l->job, probing->pin[0]), b = pin_effort(l->job, probing->pin[1]);
  return 0.3 + fmax(a, b) + 0.3 * fmin(a, b) + (probing->kind == LG_SIGN_OHMS ? DEAD_FIRST : 0);
}

/* ---- What can be measured. ---- */

static gboolean may_touch(const LgLocator *l, int pin)
{
  return pin >= 0 && !l->shut[pin] && l->job->pins[pin].fitted != LG_FITTED_NO;
}

static gboolean same_probing(const LgProbing *p, const LgSign *sign, gsize n_inputs)
{
  if (p->kind != sign->kind ||
      (n_inputs > 0 && memcmp(p->position, sign->position, n_inputs * sizeof(int)) != 0))
    return FALSE;
  return p->kind == LG_SIGN_RUNS ? p->load == sign->load
                                 : (p->pin[0] == sign->pin[0] && p->pin[1] == sign->pin[1]) ||
                                       (p->pin[0] == sign->pin[1] && p->pin[1] == sign->pin[0]);
}

typedef struct {
  LgLocator *locator;
  const LgSign *signs;
  int n_signs;
  GArray *list; /* LgProbing */
} Offering;

static gboolean is_offered(const Offering *o, const LgProbing *probing)
{
  for (guint i = o->list->len; i-- > 0;) {
    const LgProbing *const other = &g_array_index(o->list, LgProbing, i);
    if (other->kind != LG_SIGN_OHMS)
      return FALSE;
    if (other->pin[0] == probing->pin[0] && other->pin[1] == probing->pin[1])
      return TRUE;
  }
  return FALSE;
}

static void offer(Offering *o, LgProbing probing)
{
  const gsize n_inputs = (gsize)o->locator->job->n_inputs;
  if (probing.kind == LG_SIGN_OHMS && is_offered(o, &probing))
    return;
  for (int s = 0; s < o->n_signs; s++)
    if (same_probing(&probing, &o->signs[s], n_inputs))
      return;
  probing.effort = lg_probing_effort(o->locator, &probing);
  g_array_append_val(o->list, probing);
}

static void offer_pins(Offering *o, LgSignKind kind, int red, int black, const int *position)
{
  if (red != black && may_touch(o->locator, red) && may_touch(o->locator, black))
    offer(o, (LgProbing){.kind = kind, .pin = {red, black}, .load = -1, .position = position});
}

/* The post of the main battery that the vehicle's body is tied to. */
static int ground_post(const LgJob *job)
{
  for (int pass = 0; pass < 2; pass++)
    for (int e = 0; e < job->n_elements; e++)
      if (pass == 0 ? job->elements[e].kind == LG_EL_CELL
                    : lg_element_is_source(job->elements[e].kind))
        return job->elements[e].pin[job->positive_ground ? 0 : 1];
  return -1;
}

static void offer_volts(Offering *o, const int *position)
{
  const LgJob *const job = o->locator->job;
  const int ground = ground_post(job);
  for (int p = 0; p < job->n_pins; p++)
    offer_pins(o, LG_SIGN_VOLTS, p, ground, position);
  for (int w = 0; w < job->n_wires; w++)
    offer_pins(o, LG_SIGN_VOLTS, job->wires[w].pin[0], job->wires[w].pin[1], position);
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].pin[1] >= 0 && o->locator->stage->n[e] > 0)
      offer_pins(o, LG_SIGN_VOLTS, job->elements[e].pin[0], job->elements[e].pin[1], position);
}

static void offer_runs(Offering *o, const GPtrArray *states)
{
  const LgLocator *const l = o->locator;
  for (int i = 0; i < l->n_loads; i++)
    for (guint s = 0; s < states->len; s++)
      offer(o, (LgProbing){.kind = LG_SIGN_RUNS,
                           .pin = {-1, -1},
                           .load = l->loads[i],
                           .position = states->pdata[s]});
}

/* Ohms for the likeliest only: across what is suspected, and to the body where a short is. */
enum { MOST_OHMS = 8 };

static void offer_ohms(Offering *o, const GArray *pieces, const int *position)
{
  const LgLocator *const l = o->locator;
  const LgJob *const job = l->job;
  const guint before = o->list->len;
  g_autofree guint8 *done = g_new0(guint8, l->suspects->len);
  while (o->list->len < before + MOST_OHMS) {
    const LgPiece *best = NULL;
    for (guint i = 0; i < pieces->len; i++) {
      const LgPiece *const piece = &g_array_index(pieces, LgPiece, i);
      if (!done[piece->suspect] && piece->weight > 0.01 &&
          (best == NULL || piece->weight > best->weight))
        best = piece;
    }
    if (best == NULL)
      return;
    done[best->suspect] = 1;
    const LgSuspect *const s = &g_array_index(l->suspects, LgSuspect, best->suspect);
    if (s->kind == LG_SUSPECT_FAILURE && s->failure.kind == LG_FAIL_TO_BODY)
      offer_pins(o, LG_SIGN_OHMS, s->failure.pin[0], ground_post(job), position);
    else if (s->wire >= 0)
      offer_pins(o, LG_SIGN_OHMS, job->wires[s->wire].pin[0], job->wires[s->wire].pin[1], position);
    else if (s->element >= 0 && job->elements[s->element].pin[1] >= 0)
      offer_pins(o, LG_SIGN_OHMS, job->elements[s->element].pin[0],
                 job->elements[s->element].pin[1], position);
  }
}

static void add_state(GPtrArray *states, const int *position)
{
  if (position != NULL && !g_ptr_array_find(states, position, NULL))
    g_ptr_array_add(states, (gpointer)position);
}

GArray *lg_locator_probings(LgLocator *l, const GArray *pieces, const LgSign signs[], int n_signs)
{
  Offering o = {l, signs, n_signs, g_array_new(FALSE, FALSE, sizeof(LgProbing))};
  g_autoptr(GPtrArray) states = g_ptr_array_new();
  for (int s = 0; s < n_signs; s++)
    add_state(states, lg_locator_keep(l, signs[s].position));
  for (guint s = 0; s < states->len; s++)
    offer_volts(&o, states->pdata[s]);
  if (n_signs > 0)
    offer_ohms(&o, pieces, states->pdata[0]);
  for (int i = 0; i < l->n_loads; i++)
    add_state(states, lg_locator_state(l, l->loads[i]));
  offer_runs(&o, states);
  return o.list;
}

void lg_probings_look(LgLocator *l, const GArray *probings, const guint8 wanted[])
{
  g_autoptr(GPtrArray) with_volts = g_ptr_array_new(), with_watts = g_ptr_array_new();
  for (guint i = 0; i < probings->len; i++) {
    const LgProbing *const p = &g_array_index(probings, LgProbing, i);
    if (p->kind == LG_SIGN_OHMS)
      lg_locator_ohms(l, p->pin[0], p->pin[1], p->position, wanted);
    else
      add_state(p->kind == LG_SIGN_VOLTS ? with_volts : with_watts, p->position);
  }
  lg_locator_look(l, (const int *const *)with_volts->pdata, (int)with_volts->len, wanted,
                  LG_SOLVED_ALL);
  lg_locator_look(l, (const int *const *)with_watts->pdata, (int)with_watts->len, wanted,
                  LG_SOLVED_WATTS);
}

/* ---- Information. ---- */

enum { N_BINS = 160, MOST_LIVE = 400 };
#define LIVE 3e-4

typedef struct {
  const LgPiece *piece[MOST_LIVE];
  double weight[MOST_LIVE]; /* sum to 1 */
  int n;
} Live;

static void find_live(const GArray *pieces, Live *live)
{
  double sum = 0, least = LIVE;
  do {
    live->n = 0;
    sum = 0;
    for (guint i = 0; i < pieces->len && live->n < MOST_LIVE; i++) {
      const LgPiece *const piece = &g_array_index(pieces, LgPiece, i);
      if (piece->weight < least)
        continue;
      live->piece[live->n] = piece;
      live->weight[live->n++] = piece->weight;
      sum += piece->weight;
    }
    least *= 4;
  } while (live->n == MOST_LIVE);
  for (int i = 0; i < live->n; i++)
    live->weight[i] /= sum;
}

static double piece_figure(LgLocator *l, const LgSign *sign, const LgPiece *piece)
{
  const double a = lg_sign_figure(l, sign, piece->row[0]);
  return piece->row[0] == piece->row[1]
             ? a
             : a + piece->t * (lg_sign_figure(l, sign, piece->row[1]) - a);
}

/* Spreads a figure over bins of a scale that is linear about nothing and logarithmic beyond. */
static void spread_out(const LgSign *sign, double figure, double weight, double bins[])
{
  if (sign->kind == LG_SIGN_RUNS) {
    for (int said = 0; said < LG_N_RUNS; said++) {
      LgSign seen = *sign;
      seen.value = said;
      bins[said] += weight * exp(lg_sign_log_likelihood(&seen, figure));
    }
    return;
  }
  const gboolean volts = sign->kind == LG_SIGN_VOLTS;
  const double spread = lg_sign_spread(sign, figure);
  const double u = volts ? asinh(figure / 0.05) : figure - 6;
  const double su = fmax(volts ? spread / hypot(0.05, figure) : spread, 0.02);
  const double at = N_BINS / 2 + u / 0.1, width = su / 0.1;
  const int from = (int)floor(at - 3 * width), to = (int)ceil(at + 3 * width);
  double sum = 0;
  for (int b = from; b <= to; b++)
    sum += exp(-0.5 * (b + 0.5 - at) * (b + 0.5 - at) / (width * width));
  for (int b = from; b <= to; b++)
    bins[CLAMP(b, 0, N_BINS - 1)] +=
        weight * exp(-0.5 * (b + 0.5 - at) * (b + 0.5 - at) / (width * width)) / fmax(sum, 1e-12);
}

static double entropy_bits(const double bins[], double sum)
{
  double bits = 0;
  for (int b = 0; b < N_BINS; b++)
    if (bins[b] > 0)
      bits -= bins[b] / sum * log2(bins[b] / sum);
  return bits;
}

/* How much the outcome says about which suspect it is. */
static double information(LgLocator *l, const LgProbing *probing, const Live *live)
{
  const LgSign sign = {.kind = probing->kind,
                       .pin = {probing->pin[0], probing->pin[1]},
                       .load = probing->load,
                       .value = NAN,
                       .tolerance = 0.01,
                       .position = probing->position};
  double all[N_BINS] = {0}, within = 0;
  for (int i = 0; i < live->n;) {
    double own[N_BINS] = {0}, weight = 0;
    const int suspect = live->piece[i]->suspect;
    for (; i < live->n && live->piece[i]->suspect == suspect; i++) {
      spread_out(&sign, piece_figure(l, &sign, live->piece[i]), live->weight[i], own);
      weight += live->weight[i];
    }
    within += weight * entropy_bits(own, weight);
    for (int b = 0; b < N_BINS; b++)
      all[b] += own[b];
  }
  return fmax(0, entropy_bits(all, 1) - within);
}

static int better(gconstpointer a, gconstpointer b)
{
  const LgProbing *const p = a, *const q = b;
  const double x = p->bits / p->effort, y = q->bits / q->effort;
  return x > y ? -1 : x < y;
}

/* Less is not worth a walk to the car. */
#define LEAST_BITS 0.02

/* Nothing is taken apart while a fuse, a stud or a battery post can still tell something. */
static void shut_until_easy(GArray *next)
{
  gboolean easy = FALSE;
  for (guint i = 0; i < next->len; i++)
    easy |= g_array_index(next, LgProbing, i).effort < 5;
  for (guint i = next->len; easy && i-- > 0;)
    if (g_array_index(next, LgProbing, i).effort >= LG_OPENING)
      g_array_remove_index(next, i);
}

GArray *lg_locator_next(LgLocator *l, const GArray *pieces, const LgSign signs[], int n_signs)
{
  Live live;
  find_live(pieces, &live);
  g_autofree guint8 *wanted = g_new0(guint8, (gsize)l->n_rows);
  wanted[0] = 1;
  for (int i = 0; i < live.n; i++)
    wanted[live.piece[i]->row[0]] = wanted[live.piece[i]->row[1]] = 1;
  GArray *const next = lg_locator_probings(l, pieces, signs, n_signs);
  lg_probings_look(l, next, wanted);
  for (guint i = next->len; i-- > 0;) {
    LgProbing *const probing = &g_array_index(next, LgProbing, i);
    probing->bits = information(l, probing, &live);
    if (probing->bits < LEAST_BITS)
      g_array_remove_index_fast(next, i);
  }
  g_array_sort(next, better);
  shut_until_easy(next);
  return next;
}
