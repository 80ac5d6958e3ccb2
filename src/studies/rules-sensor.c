/* A thermistor whose wires carry other currents. */
#include "base/words.h"
#include "studies/checks-private.h"

/* Less than this nobody feels, and the thermistor itself is not better: common practice, no source.
 */
#define ERROR_K 0.5

static gboolean is_bond(const LgCheckContext *c, int edge)
{
  const LgElement *const e = lg_edge_element(c, edge);
  return e == NULL || e->kind == LG_EL_LINK || e->kind == LG_EL_CHASSIS;
}

/* The edge by which the shortest way along wires and links from `from` enters each node; -1: none.
 */
static int *ways_from(const LgCheckContext *c, int from)
{
  const LgWays *const ways = c->ways;
  const int n = lg_net_n_nodes(c->sizing->circuit->net);
  int *const by = g_new(int, (gsize)n);
  for (int k = 0; k < n; k++)
    by[k] = -1;
  g_autoptr(GArray) queue = g_array_new(FALSE, FALSE, sizeof(int));
  g_array_append_val(queue, from);
  for (guint i = 0; i < queue->len; i++) {
    const int node = g_array_index(queue, int, i);
    for (int k = ways->first[node]; k < ways->first[node + 1]; k++) {
      const int edge = ways->incident[k];
      const int to = ways->a[edge] == node ? ways->b[edge] : ways->a[edge];
      if (to == from || by[to] >= 0 || !is_bond(c, edge))
        continue;
      by[to] = edge;
      g_array_append_val(queue, to);
    }
  }
  return by;
}

/* The wire on the way between two pins that carries most in c->point; -1 when there is none. */
static int loaded_wire(const LgCheckContext *c, int near, int far)
{
  const LgCircuit *const circuit = c->sizing->circuit;
  g_autofree int *by = ways_from(c, circuit->pin_node[near]);
  int found = -1;
  for (int node = circuit->pin_node[far]; by[node] >= 0;) {
    const int edge = by[node];
    if (edge < c->job->n_wires &&
        (found < 0 || fabs(c->point->wire_A[edge]) > fabs(c->point->wire_A[found])))
      found = edge;
    node = c->ways->a[edge] == node ? c->ways->b[edge] : c->ways->a[edge];
  }
  return found;
}

/* Which of the two ways shows the greater offset. */
static int worse_way(const LgCheckContext *c, const LgSensorError *s)
{
  const double *const v = c->point->volts;
  return fabs(v[s->far[1]] - v[s->near[1]]) > fabs(v[s->far[0]] - v[s->near[0]]) ? 1 : 0;
}

static void check_sensor_shared(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgSensorError *const s = &c->survey->sensors[e];
    const LgElement *const sensor = &c->job->elements[e];
    if (sensor->kind != LG_EL_THERMISTOR || s->state < 0 || fabs(s->error_K) < ERROR_K)
      continue;
    lg_check_solve(c, s->state, -1, 0);
    const int way = worse_way(c, s), wire = loaded_wire(c, s->near[way], s->far[way]);
    const char *const near = c->job->pins[s->near[way]].name;
    const char *const far = c->job->pins[s->far[way]].name;
    const char *const shared = wire >= 0 ? lg_say(c, T_("; %s carries %s"), lg_say_wire(c, wire),
                                                  lg_say_amps(c, fabs(c->point->wire_A[wire])))
                                         : "";
    lg_found(
        c, sensor->origin, lg_say(c, T_("sensor %s"), lg_say_element(c, e)),
        lg_say(c,
               T_("Other currents between %s and %s shift it by %s %s, which looks like %s and "
                  "makes %s read %s too %s%s."),
               near, far, lg_say_volts(c, s->offset_V), lg_say_state(c, s->state),
               lg_say_ohms(c, s->ohm), lg_say_element(c, s->listener),
               lg_say_warmth(c, fabs(s->error_K)), s->error_K < 0 ? T_("cold") : T_("warm"),
               shared),
        lg_say(
            c,
            T_("offset / sensor current = %s on top of %s at %s; B formula with R25 %s, B %.0f K"),
            lg_say_ohms(c, s->ohm),
            lg_say_ohms(c, lg_thermistor_ohm(sensor->p[LG_P_R25], sensor->p[LG_P_BETA], s->at_K)),
            lg_say_degrees(c, s->at_K), lg_say_ohms(c, sensor->p[LG_P_R25]), sensor->p[LG_P_BETA]),
        lg_say(c, T_("Lead %s by a wire of its own to the sensor return of %s."), near,
               c->job->parts[c->job->elements[s->listener].part].name));
  }
}

const LgRule lg_rule_sensor_shared = {
    .name = "sensor-shared",
    .grade = LG_GRADE_FAULT,
    .title = N_("a thermistor's return is shared with a load's current"),
    .what = "A load's current in the wire that a sensor returns by lifts the sensor. The control "
            "reads the lift as resistance: too cold, so it heats on beyond its set-point.",
    .formula = "dR = dV / I sensor; dT = 1 / (1/T + ln (1 + dR/R) / B) - T",
    .source = "control-unit manuals: sensor ground to the unit's own pin, seen; B formula of "
              "thermistors; 0.5 K: common practice, no source",
    .remedy = "A return of its own, to the control unit's sensor pin.",
    .run = check_sensor_shared};
