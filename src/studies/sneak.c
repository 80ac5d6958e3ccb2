/* Sneak paths of the healthy job. */
#include "studies/sneak-private.h"

#define LIVE_SHARE 0.02    /* of its greatest power */
#define AGAINST_A 10e-3    /* less is leakage */
#define AGAINST_SHARE 0.01 /* of the wire's greatest current */
#define REVERSES_SHARE 0.5 /* of its greatest current: a load that is turned round on purpose */

typedef struct {
  const LgSizing *sizing;
  const LgJob *job;
  LgWays *ways;
  int n_edges, n_states, *state; /* kept lasting states */
  double *amps;                  /* [n_states][n_edges] */
  double *volts;                 /* [n_states][n_elements] */
  double *most_W;                /* [n_elements] */
  double *most_A, *least_A;      /* [n_elements] signed */
  int *most_in;                  /* [n_edges] row of the greatest current */
  guint8 *own;                   /* [n_elements][n_elements] users in its own way */
  GArray *found;
} Search;

static gboolean is_user(LgElementKind kind)
{
  return (lg_element_is_load(kind) && kind != LG_EL_RESISTOR) || kind == LG_EL_COIL;
}

static const double *amps_in(const Search *s, int row)
{
  return s->amps + (gsize)row * (gsize)s->n_edges;
}

static double volts_of(const Search *s, int row, int element)
{
  return s->volts[(gsize)row * (gsize)s->job->n_elements + (gsize)element];
}

static double element_A(const Search *s, int row, int element)
{
  return amps_in(s, row)[s->job->n_wires + element];
}

/* --- all kept states in which nothing starts or stalls --- */

static gboolean lasts(const LgJob *job, const guint8 position[])
{
  for (int i = 0; i < job->n_inputs; i++)
    if (job->inputs[i].kind == LG_INPUT_DEMAND &&
        (position[i] == LG_DEMAND_START || position[i] == LG_DEMAND_STALL))
      return FALSE;
  return TRUE;
}

static void note_extremes(Search *s, int row)
{
  const double *const amps = amps_in(s, row);
  for (int e = 0; e < s->n_edges; e++)
    if (s->most_in[e] < 0 || fabs(amps[e]) > fabs(amps_in(s, s->most_in[e])[e]))
      s->most_in[e] = row;
  for (int e = 0; e < s->job->n_elements; e++) {
    const double a = amps[s->job->n_wires + e];
    s->most_W[e] = fmax(s->most_W[e], fabs(a * volts_of(s, row, e)));
    s->most_A[e] = fmax(s->most_A[e], a);
    s->least_A[e] = fmin(s->least_A[e], a);
  }
}

static void solve_all(Search *s)
{
  const LgStates *const states = s->sizing->states;
  g_autoptr(LgNetWork) work = lg_net_work_new(s->sizing->circuit->net);
  g_autoptr(LgPoint) point = lg_point_new(s->sizing->circuit);
  for (int k = 0; k < states->n_kept; k++) {
    const guint8 *const kept = lg_states_position(states, k);
    if (!lasts(s->job, kept))
      continue;
    for (int i = 0; i < s->job->n_inputs; i++)
      point->position[i] = kept[i];
    lg_circuit_solve(s->sizing->circuit, work, point);
    const int row = s->n_states++;
    s->state[row] = k;
    double *const amps = s->amps + (gsize)row * (gsize)s->n_edges;
    memcpy(amps, point->wire_A, sizeof(double) * (gsize)s->job->n_wires);
    memcpy(amps + s->job->n_wires, point->element_A, sizeof(double) * (gsize)s->job->n_elements);
    memcpy(s->volts + (gsize)row * (gsize)s->job->n_elements, point->element_V,
           sizeof(double) * (gsize)s->job->n_elements);
    note_extremes(s, row);
  }
}

/* --- ways --- */

static GArray *way_of(const Search *s, int row, int element, guint *at)
{
  const LgTrail trail = {s->ways, amps_in(s, row), NULL, 0};
  return lg_trail_follow(&trail, element, at);
}

/* The element of a step when it is a load or coil, -1. */
static int user_of(const Search *s, const LgTrailStep *step)
{
  const int element = step->edge - s->job->n_wires;
  return element >= 0 && is_user(s->job->elements[element].kind) ? element : -1;
}

static void find_own_ways(Search *s)
{
  for (int e = 0; e < s->job->n_elements; e++) {
    const int row = s->most_in[s->job->n_wires + e];
    if (!is_user(s->job->elements[e].kind) || row < 0)
      continue;
    guint at;
    g_autoptr(GArray) steps = way_of(s, row, e, &at);
    for (guint i = 0; i < steps->len; i++) {
      const int user = user_of(s, &g_array_index(steps, LgTrailStep, i));
      if (user >= 0)
        s->own[(gsize)e * (gsize)s->job->n_elements + (gsize)user] = 1;
    }
  }
}

/* --- what stands out --- */

static gboolean is_live(const Search *s, int row, int element)
{
  const LgElement *const e = &s->job->elements[element];
  const double volts = fabs(volts_of(s, row, element));
  if (e->kind == LG_EL_COIL)
    return volts >= e->p[LG_P_DROP_OUT];
  return s->most_W[element] > 0 &&
         volts * fabs(element_A(s, row, element)) >= LIVE_SHARE * s->most_W[element];
}

static gboolean reverses(const Search *s, int element)
{
  const double most = fmax(s->most_A[element], -s->least_A[element]);
  return s->most_A[element] > REVERSES_SHARE * most && -s->least_A[element] > REVERSES_SHARE * most;
}

/* A need that speaks of the load says that it was thought of. */
static gboolean is_thought_of(const Search *s, int element)
{
  for (int n = 0; n < s->job->n_needs; n++)
    if (s->job->needs[n].target == LG_TARGET_ELEMENT && s->job->needs[n].index == element)
      return TRUE;
  return FALSE;
}

/* Another user in the way that is not in its own way; pads of one part are put in series on
 * purpose. */
static int stranger(const Search *s, int element, const GArray *steps)
{
  for (guint i = 0; i < steps->len; i++) {
    const int user = user_of(s, &g_array_index(steps, LgTrailStep, i));
    if (user >= 0 && !s->own[(gsize)element * (gsize)s->job->n_elements + (gsize)user] &&
        s->job->elements[user].part != s->job->elements[element].part)
      return user;
  }
  return -1;
}

/* A wire before the load that carries its current against the direction of its greatest. */
static int backward_wire(const Search *s, int row, const GArray *steps, guint at)
{
  for (guint i = 0; i < at; i++) {
    const int w = g_array_index(steps, LgTrailStep, i).edge;
    if (w < 0 || w >= s->job->n_wires || s->sizing->protection[w].exempt)
      continue;
    const double now = amps_in(s, row)[w], most = amps_in(s, s->most_in[w])[w];
    if (now * most < 0 && fabs(now) >= AGAINST_A && fabs(now) >= AGAINST_SHARE * fabs(most))
      return w;
  }
  return -1;
}

/* The load at its first instant is cold: what it draws then. */
static double first_amps(const Search *s, int row, int element)
{
  const LgElement *const e = &s->job->elements[element];
  const LgStates *const states = s->sizing->states;
  if (e->kind != LG_EL_LAMP || e->demand < 0)
    return NAN;
  g_autoptr(LgNetWork) work = lg_net_work_new(s->sizing->circuit->net);
  g_autoptr(LgPoint) point = lg_point_new(s->sizing->circuit);
  const guint8 *const kept = lg_states_position(states, s->state[row]);
  for (int i = 0; i < s->job->n_inputs; i++)
    point->position[i] = i == e->demand ? LG_DEMAND_START : kept[i];
  lg_circuit_solve(s->sizing->circuit, work, point);
  return fabs(point->element_A[element]);
}

static int rank_of(const Search *s, int state)
{
  const guint8 *const kept = lg_states_position(s->sizing->states, state);
  int rank = 0;
  for (int i = 0; i < s->job->n_inputs; i++)
    rank += kept[i] != 0;
  return rank;
}

static LgSneak *known(const Search *s, int element, gboolean through)
{
  for (guint i = 0; i < s->found->len; i++) {
    LgSneak *const sneak = &g_array_index(s->found, LgSneak, i);
    if (sneak->element == element && (sneak->through >= 0) == through)
      return sneak;
  }
  return NULL;
}

static void note(Search *s, int row, int element, int through, int against, const GArray *steps)
{
  LgSneak *const old = known(s, element, through >= 0);
  if (old != NULL && rank_of(s, old->state) <= rank_of(s, s->state[row]))
    return;
  const LgElement *const e = &s->job->elements[element];
  const LgTrail trail = {s->ways, amps_in(s, row), NULL, 0};
  const double amps = fabs(element_A(s, row, element)), volts = fabs(volts_of(s, row, element));
  const LgSneak sneak = {.element = element,
                         .state = s->state[row],
                         .through = through,
                         .against = against,
                         .share = amps * volts / s->most_W[element],
                         .amps = amps,
                         .volts = volts,
                         .first_A = first_amps(s, row, element),
                         .held = e->kind == LG_EL_COIL && volts < e->p[LG_P_PULL_IN],
                         .way = lg_trail_words(&trail, steps)};
  if (old != NULL) {
    g_free(old->way);
    *old = sneak;
  } else {
    g_array_append_val(s->found, sneak);
  }
}

static void look_at(Search *s, int row, int element)
{
  guint at;
  g_autoptr(GArray) steps = way_of(s, row, element, &at);
  const int through = stranger(s, element, steps);
  const int against = reverses(s, element) ? -1 : backward_wire(s, row, steps, at);
  if (through >= 0)
    note(s, row, element, through, -1, steps);
  else if (against >= 0)
    note(s, row, element, -1, against, steps);
}

static void clear_sneak(gpointer data)
{
  g_free(((LgSneak *)data)->way);
}

GArray *lg_sneaks_new(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  const gsize n_kept = (gsize)sizing->states->n_kept, n_elements = (gsize)job->n_elements;
  Search s = {.sizing = sizing,
              .job = job,
              .ways = lg_ways_new(sizing->circuit),
              .n_edges = job->n_wires + job->n_elements,
              .found = g_array_new(FALSE, FALSE, sizeof(LgSneak))};
  g_array_set_clear_func(s.found, clear_sneak);
  s.state = g_new(int, n_kept + 1);
  s.amps = g_new0(double, n_kept *(gsize)s.n_edges + 1);
  s.volts = g_new0(double, n_kept *n_elements + 1);
  s.most_W = g_new0(double, n_elements + 1);
  s.most_A = g_new0(double, n_elements + 1);
  s.least_A = g_new0(double, n_elements + 1);
  s.most_in = g_new(int, (gsize)s.n_edges + 1);
  for (int e = 0; e < s.n_edges; e++)
    s.most_in[e] = -1;
  s.own = g_new0(guint8, n_elements * n_elements + 1);
  solve_all(&s);
  find_own_ways(&s);
  for (int row = 0; row < s.n_states; row++)
    for (int e = 0; e < job->n_elements; e++)
      if (is_user(job->elements[e].kind) && is_live(&s, row, e) && !is_thought_of(&s, e))
        look_at(&s, row, e);
  lg_ways_free(s.ways);
  gpointer owned[] = {s.state, s.amps, s.volts, s.most_W, s.most_A, s.least_A, s.most_in, s.own};
  for (guint i = 0; i < G_N_ELEMENTS(owned); i++)
    g_free(owned[i]);
  return s.found;
}
