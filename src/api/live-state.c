/* One state, solved, as JSON. */
#include "api/live-private.h"
#include "base/words.h"
#include <math.h>

static const char *const outcome_words[] = {"settled", "latching", "chatter", "stalled"};

static json_t *degrees_json(double temperature_K)
{
  return lg_json_number(temperature_K - LG_ZERO_C_IN_K);
}

static json_t *wire_json(const LgLive *live, int w)
{
  const LgConductor *const conductor = live->sizing->chosen[w];
  const LgWire *const wire = &live->job->wires[w];
  const double amps = live->point->wire_A[w], kelvin = live->wire_K[w];
  json_t *const object = json_object();
  json_object_set_new(object, "A", lg_json_number(amps));
  json_object_set_new(object, "degC", degrees_json(kelvin));
  json_object_set_new(object, "limit_degC", degrees_json(wire->insulation->temperature_K));
  json_object_set_new(
      object, "W",
      lg_json_number(amps * amps * lg_wire_resistance(live->job, wire, conductor, wire->hot_K)));
  return object;
}

gboolean lg_live_is_closed(const LgLive *live, int element)
{
  const LgCircuit *const circuit = live->sizing->circuit;
  const int branch = circuit->element_branch[element];
  const int by = live->job->elements[element].by;
  if (branch < 0)
    return FALSE;
  const int index = lg_net_branch(circuit->net, branch)->gate;
  if (index < 0)
    return TRUE;
  const LgNetGate *const gate = lg_net_gate(circuit->net, index);
  if (!lg_net_inputs_allow(gate, live->point->position, 1))
    return FALSE;
  return gate->coil < 0 || by < 0 || live->point->pulled[by] == gate->coil_pulled;
}

static json_t *element_json(const LgLive *live, int e)
{
  const LgElement *const element = &live->job->elements[e];
  const double amps = live->point->element_A[e], volts = live->point->element_V[e];
  json_t *const object = json_object();
  json_object_set_new(object, "A", lg_json_number(amps));
  json_object_set_new(object, "V", lg_json_number(volts));
  json_object_set_new(object, "W", lg_json_number(amps * volts));
  if (lg_element_is_load(element->kind))
    json_object_set_new(object, "runs",
                        json_boolean(lg_load_runs(live->sizing, e, fabs(amps * volts))));
  if (lg_element_is_contact(element->kind))
    json_object_set_new(object, "closed", json_boolean(lg_live_is_closed(live, e)));
  return object;
}

static json_t *positions_json(const LgLive *live)
{
  json_t *const list = json_array();
  for (int i = 0; i < live->job->n_inputs; i++)
    json_array_append_new(list, json_integer(live->point->position[i]));
  return list;
}

static void set_things(json_t *root, const LgLive *live)
{
  const LgJob *const job = live->job;
  json_t *const wires = json_object(), *const elements = json_object();
  json_t *const pins = json_object(), *const coils = json_object();
  for (int w = 0; w < job->n_wires; w++)
    json_object_set_new(wires, job->wires[w].name, wire_json(live, w));
  for (int e = 0; e < job->n_elements; e++) {
    json_object_set_new(elements, job->elements[e].name, element_json(live, e));
    if (job->elements[e].kind == LG_EL_COIL)
      json_object_set_new(coils, job->elements[e].name, json_boolean(live->point->pulled[e]));
  }
  for (int p = 0; p < job->n_pins; p++)
    if (isfinite(live->point->volts[p]))
      json_object_set_new(pins, job->pins[p].name, json_real(live->point->volts[p]));
  json_object_set_new(root, "wires", wires);
  json_object_set_new(root, "elements", elements);
  json_object_set_new(root, "pins", pins);
  json_object_set_new(root, "coils", coils);
}

static char *words_of(const LgLive *live)
{
  g_autofree guint8 *position = g_new(guint8, (gsize)live->job->n_inputs + 1);
  for (int i = 0; i < live->job->n_inputs; i++)
    position[i] = (guint8)live->point->position[i];
  return lg_state_words(live->job, position);
}

char *lg_live_state_json(LgLive *live, const char *const settings[], const char *fault,
                         GError **error)
{
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(live->job->language));
  json_t *told;
  if (!lg_live_take_state(live, settings, fault, &told, error))
    return NULL;
  g_autofree char *words = words_of(live);
  json_t *const root = json_object();
  json_object_set_new(root, "words", lg_json_text(words));
  json_object_set_new(root, "outcome", json_string(outcome_words[live->point->status.outcome]));
  json_object_set_new(root, "possible",
                      json_boolean(lg_circuit_possible(live->job, live->point->position)));
  json_object_set_new(root, "positions", positions_json(live));
  set_things(root, live);
  json_object_set_new(root, "fault", told != NULL ? told : json_null());
  return lg_json_take(root);
}
