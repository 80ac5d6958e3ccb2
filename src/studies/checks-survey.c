/* One pass over the kept states in which nothing starts or stalls: what the rules ask of them. */
#include "studies/checks-private.h"

#define FLOW_A 1e-6    /* less is rounding, not a current that is followed */
#define MOST_12_V 18.0 /* above it a vehicle is a 24 V one */
#define CARRIES_A 0.01 /* a contact with less is not looked at */

double lg_point_amps(gconstpointer context, int edge)
{
  const LgCheckContext *const c = context;
  return edge < c->job->n_wires ? c->point->wire_A[edge]
                                : c->point->element_A[edge - c->job->n_wires];
}

void lg_check_solve(LgCheckContext *c, int state, int input, int position)
{
  const guint8 *const kept = lg_states_position(c->states, state);
  for (int i = 0; i < c->job->n_inputs; i++)
    c->point->position[i] = i == input ? position : kept[i];
  lg_circuit_solve(c->sizing->circuit, c->work, c->point);
}

static gboolean lasts(const LgCheckContext *c, int state)
{
  const guint8 *const kept = lg_states_position(c->states, state);
  for (int i = 0; i < c->job->n_inputs; i++)
    if (c->job->inputs[i].kind == LG_INPUT_DEMAND &&
        (kept[i] == LG_DEMAND_START || kept[i] == LG_DEMAND_STALL))
      return FALSE;
  return TRUE;
}

/* Whether a hand is at a position called start: the engine is being cranked. */
static gboolean cranks(const LgCheckContext *c, int state)
{
  const guint8 *const kept = lg_states_position(c->states, state);
  for (int i = 0; i < c->job->n_inputs; i++)
    if (c->job->inputs[i].kind == LG_INPUT_HAND &&
        strcmp(c->job->inputs[i].positions[kept[i]], "start") == 0)
      return TRUE;
  return FALSE;
}

static void take(LgExtreme *extreme, double value, double sign, int state)
{
  if (!isnan(value) && (extreme->state < 0 || sign * value > sign * extreme->value))
    *extreme = (LgExtreme){value, state};
}

/* --- which loads a contact carries --- */

typedef struct {
  double class_A[LG_N_LOAD_CLASSES];
  int unsuppressed;
  gboolean *seen; /* [nodes] */
  GArray *queue;
} Trail;

static LgLoadClass class_of(LgElementKind kind)
{
  if (kind == LG_EL_LAMP)
    return LG_LOAD_LAMP;
  return kind == LG_EL_COIL || lg_element_is_motor(kind) ? LG_LOAD_MOTOR : LG_LOAD_PLAIN;
}

static gboolean uses(LgElementKind kind)
{
  return lg_element_is_load(kind) || kind == LG_EL_COIL || kind == LG_EL_THERMISTOR;
}

static void meet_load(const LgCheckContext *c, Trail *trail, int element)
{
  const LgElement *const e = &c->job->elements[element];
  trail->class_A[class_of(e->kind)] += fabs(c->point->element_A[element]);
  if ((e->kind == LG_EL_COIL || e->kind == LG_EL_SOLENOID) && e->suppression == LG_SUPPRESS_NONE)
    trail->unsuppressed = element;
}

/* Follows the current from `node` onwards (sign +1) or back to where it comes from (-1), up to the
 * loads. */
static void follow(const LgCheckContext *c, Trail *trail, int node, double sign)
{
  const LgWays *const ways = c->ways;
  g_array_set_size(trail->queue, 0);
  g_array_append_val(trail->queue, node);
  trail->seen[node] = TRUE;
  for (guint i = 0; i < trail->queue->len; i++) {
    const int from = g_array_index(trail->queue, int, i);
    for (int k = ways->first[from]; k < ways->first[from + 1]; k++) {
      const int edge = ways->incident[k], element = edge - c->job->n_wires;
      const double out = ways->a[edge] == from ? 1 : -1;
      if (sign * out * lg_point_amps(c, edge) <= FLOW_A)
        continue;
      const int to = ways->a[edge] == from ? ways->b[edge] : ways->a[edge];
      if (element >= 0 && uses(c->job->elements[element].kind)) {
        meet_load(c, trail, element);
      } else if (!trail->seen[to] &&
                 (element < 0 || !lg_element_is_source(c->job->elements[element].kind))) {
        trail->seen[to] = TRUE;
        g_array_append_val(trail->queue, to);
      }
    }
  }
  for (guint i = 0; i < trail->queue->len; i++)
    trail->seen[g_array_index(trail->queue, int, i)] = FALSE;
}

static double carried(const Trail *trail)
{
  double sum = 0;
  for (int k = 0; k < LG_N_LOAD_CLASSES; k++)
    sum += trail->class_A[k];
  return sum;
}

/* The loads lie behind the contact, or, when it switches the ground side, before it. */
static void find_loads(const LgCheckContext *c, Trail *trail, int element)
{
  const int edge = c->job->n_wires + element;
  const gboolean forward = c->point->element_A[element] >= 0;
  for (int side = 0; side < 2 && carried(trail) == 0; side++) {
    const gboolean at_b = forward == (side == 0);
    follow(c, trail, at_b ? c->ways->b[edge] : c->ways->a[edge], side == 0 ? 1 : -1);
  }
}

double lg_contact_rating(const LgCheckContext *c, int contact, LgLoadClass load)
{
  static const LgParam rating_of[LG_N_LOAD_CLASSES] = {LG_P_RATING, LG_P_MOTOR_RATING,
                                                       LG_P_LAMP_RATING};
  static const double share_24V[LG_N_LOAD_CLASSES] = {1 / 2.0, 1 / 3.0, 1 / 8.0};
  const LgElement *const e = &c->job->elements[contact];
  const guint64 figures =
      (guint64)1 << LG_P_RATING | (guint64)1 << LG_P_MOTOR_RATING | (guint64)1 << LG_P_LAMP_RATING;
  const gboolean hand = e->kind == LG_EL_CONTACT || e->kind == LG_EL_THERMOSTAT;
  if (hand && c->job->nominal_V > MOST_12_V && (e->given & figures) == 0)
    return share_24V[load] * e->p[LG_P_RATING];
  return e->p[rating_of[load]];
}

static void see_contact(LgCheckContext *c, LgSurvey *survey, Trail *trail, int element, int state)
{
  const LgElement *const e = &c->job->elements[element];
  const double amps = fabs(c->point->element_A[element]);
  if (amps < CARRIES_A)
    return;
  memset(trail->class_A, 0, sizeof trail->class_A);
  trail->unsuppressed = -1;
  find_loads(c, trail, element);
  /* Another contact beside this one may carry a part. */
  const double all = carried(trail), share = all > amps ? amps / all : 1;
  LgContactUse use = {.state = state};
  for (int k = 0; k < LG_N_LOAD_CLASSES; k++) {
    use.class_A[k] = share * trail->class_A[k];
    if (use.class_A[k] > 0)
      use.use += use.class_A[k] / lg_contact_rating(c, element, (LgLoadClass)k);
  }
  LgContactUse *const worst = &survey->contacts[element];
  const gboolean unrated = isnan(use.use) && amps > worst->class_A[LG_LOAD_PLAIN];
  if (unrated)
    use.class_A[LG_LOAD_PLAIN] = amps;
  if (unrated || worst->state < 0 || use.use > worst->use)
    *worst = use;
  if (e->kind == LG_EL_OUTPUT && trail->unsuppressed >= 0)
    survey->unsuppressed[element] = trail->unsuppressed;
}

/* --- the rest of one state --- */

static void see_elements(LgCheckContext *c, LgSurvey *survey, Trail *trail, int state)
{
  double supply_A = 0;
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElementKind kind = c->job->elements[e].kind;
    take(&survey->most_V[e], c->point->element_V[e], 1, state);
    take(&survey->least_V[e], c->point->element_V[e], -1, state);
    if (lg_element_is_contact(kind) && c->ways->a[c->job->n_wires + e] >= 0)
      see_contact(c, survey, trail, e, state);
    if (lg_element_is_source(kind))
      supply_A += fmax(-c->point->element_A[e], 0);
  }
  if (!cranks(c, state))
    take(&survey->supply_A, supply_A, 1, state);
}

static void see_pins(LgCheckContext *c, LgSurvey *survey, double into[], int state)
{
  memset(into, 0, sizeof(double) * (gsize)c->job->n_pins);
  for (int w = 0; w < c->job->n_wires; w++) {
    const double amps = c->point->wire_A[w];
    into[c->job->wires[w].pin[amps > 0 ? 1 : 0]] += fabs(amps);
  }
  /* What leaves a pin by a wire has come in by a wire or from the part. */
  double *const out = into + c->job->n_pins;
  memset(out, 0, sizeof(double) * (gsize)c->job->n_pins);
  for (int w = 0; w < c->job->n_wires; w++) {
    const double amps = c->point->wire_A[w];
    out[c->job->wires[w].pin[amps > 0 ? 0 : 1]] += fabs(amps);
  }
  for (int p = 0; p < c->job->n_pins; p++)
    take(&survey->pin_A[p], fmax(into[p], out[p]), 1, state);
}

/* --- thermistors --- */

static gboolean wires_and_links(const LgCheckContext *c, int edge, int from, gpointer user)
{
  const LgElement *const element = lg_edge_element(c, edge);
  (void)from;
  (void)user;
  return element == NULL || element->kind == LG_EL_CHASSIS ||
         (element->kind == LG_EL_LINK && c->job->parts[element->part].n_elements > 1);
}

/* The pin of `part` that wires lead to from `pin`, the first found. */
static int pin_across(LgCheckContext *c, int pin, int part)
{
  const LgCircuit *const circuit = c->sizing->circuit;
  g_autofree gboolean *reached = g_new0(gboolean, (gsize)lg_net_n_nodes(circuit->net));
  g_autoptr(GArray) found_nodes = g_array_new(FALSE, FALSE, sizeof(int));
  const LgFlood flood = {.context = c, .passes = wires_and_links};
  lg_flood(&flood, circuit->pin_node[pin], reached, found_nodes);
  const LgPart *const p = &c->job->parts[part];
  int found = -1;
  for (int k = p->first_pin; k < p->first_pin + p->n_pins; k++)
    if (reached[circuit->pin_node[k]] &&
        (found < 0 || c->job->pins[k].carries == LG_CARRIES_SENSOR))
      found = k;
  return found;
}

/* The temperature that matters: where the thermostat opens, else 35 C. */
static double set_point_K(const LgElement *listener)
{
  return isnan(listener->p[LG_P_OPENS]) ? LG_ZERO_C_IN_K + 35 : listener->p[LG_P_OPENS];
}

static LgSensorError listen(LgCheckContext *c, int thermistor)
{
  LgSensorError sensor = {.listener = -1, .far = {-1, -1}, .state = -1};
  for (int e = 0; e < c->job->n_elements && sensor.listener < 0; e++)
    if (c->job->elements[e].senses == thermistor &&
        lg_element_is_contact(c->job->elements[e].kind)) {
      sensor.listener = e;
      sensor.at_K = set_point_K(&c->job->elements[e]);
    }
  for (int k = 0; k < 2 && sensor.listener >= 0; k++) {
    sensor.near[k] = c->job->elements[thermistor].pin[k];
    sensor.far[k] = pin_across(c, sensor.near[k], c->job->elements[sensor.listener].part);
  }
  return sensor;
}

/* The listener divides the volts between its two pins by the current; the thermistor has but the
 * volts between its own. */
static void see_sensor(LgCheckContext *c, LgSurvey *survey, int thermistor, int state)
{
  LgSensorError *const s = &survey->sensors[thermistor];
  const double amps = c->point->element_A[thermistor];
  if (s->listener < 0 || s->far[0] < 0 || s->far[1] < 0 || fabs(amps) < 1e-7)
    return;
  const double *const v = c->point->volts;
  const double offset = v[s->far[0]] - v[s->near[0]] + v[s->near[1]] - v[s->far[1]];
  const LgElement *const e = &c->job->elements[thermistor];
  const double true_ohm = lg_thermistor_ohm(e->p[LG_P_R25], e->p[LG_P_BETA], s->at_K);
  /* The current is that of the state solved, not of the set-point: a tenth off at most where the
   * resistor before the thermistor is of its size. */
  const double ohm = offset / amps;
  const double read = true_ohm + ohm;
  if (!isfinite(read) || read <= 0)
    return;
  const double error_K = lg_thermistor_K(e->p[LG_P_R25], e->p[LG_P_BETA], read) - s->at_K;
  if (s->state < 0 || fabs(error_K) > fabs(s->error_K)) {
    s->offset_V = offset;
    s->ohm = ohm;
    s->error_K = error_K;
    s->state = state;
  }
}

/* --- the pass --- */

static LgExtreme *extremes(int n)
{
  LgExtreme *const extreme = g_new(LgExtreme, (gsize)n + 1);
  for (int i = 0; i <= n; i++)
    extreme[i] = (LgExtreme){NAN, -1};
  return extreme;
}

static LgSurvey *empty_survey(LgCheckContext *c)
{
  const gsize n = (gsize)c->job->n_elements + 1;
  LgSurvey *const survey = g_new0(LgSurvey, 1);
  survey->contacts = g_new0(LgContactUse, n);
  survey->unsuppressed = g_new(int, n);
  survey->sensors = g_new0(LgSensorError, n);
  survey->most_V = extremes(c->job->n_elements);
  survey->least_V = extremes(c->job->n_elements);
  survey->pin_A = extremes(c->job->n_pins);
  survey->supply_A = (LgExtreme){NAN, -1};
  for (int e = 0; e < c->job->n_elements; e++) {
    survey->contacts[e].state = survey->unsuppressed[e] = -1;
    survey->sensors[e].listener = -1;
    if (c->job->elements[e].kind == LG_EL_THERMISTOR)
      survey->sensors[e] = listen(c, e);
  }
  return survey;
}

LgSurvey *lg_survey_new(LgCheckContext *c)
{
  LgSurvey *const survey = empty_survey(c);
  const gsize n_nodes = (gsize)lg_net_n_nodes(c->sizing->circuit->net);
  Trail trail = {.seen = g_new0(gboolean, n_nodes),
                 .queue = g_array_new(FALSE, FALSE, sizeof(int))};
  g_autofree double *into = g_new(double, 2 * (gsize)c->job->n_pins + 1);
  for (int state = 0; state < c->states->n_kept; state++) {
    if (!lasts(c, state))
      continue;
    lg_check_solve(c, state, -1, 0);
    see_elements(c, survey, &trail, state);
    see_pins(c, survey, into, state);
    for (int e = 0; e < c->job->n_elements; e++)
      if (survey->sensors[e].listener >= 0)
        see_sensor(c, survey, e, state);
  }
  g_free(trail.seen);
  g_array_unref(trail.queue);
  return survey;
}

void lg_survey_free(LgSurvey *survey)
{
  g_free(survey->contacts);
  g_free(survey->unsuppressed);
  g_free(survey->sensors);
  g_free(survey->most_V);
  g_free(survey->least_V);
  g_free(survey->pin_A);
  g_free(survey);
}
