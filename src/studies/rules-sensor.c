/* A thermistor whose wires carry other currents. */
#include "studies/checks-private.h"

/* Less than this nobody feels, and the thermistor itself is not better: common practice, no source.
 */
#define ERROR_K 0.5

/* The wire among those that join the two pins which carries most in c->point; -1 when none. */
static int loaded_wire(const LgCheckContext *c, int pin)
{
  int found = -1;
  for (int w = 0; w < c->job->n_wires; w++) {
    const LgWire *const wire = &c->job->wires[w];
    if (lg_pin_net(c, wire->pin[0]) == lg_pin_net(c, pin) && wire->is != LG_IS_HOST &&
        (found < 0 || fabs(c->point->wire_A[w]) > fabs(c->point->wire_A[found])))
      found = w;
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
    const int way = worse_way(c, s), wire = loaded_wire(c, s->near[way]);
    const LgElement *const listener = &c->job->elements[s->listener];
    const char *const near = c->job->pins[s->near[way]].name;
    const char *const far = c->job->pins[s->far[way]].name;
    const char *const shared = wire >= 0 ? lg_say(c, "; %s carries %s", lg_say_wire(c, wire),
                                                  lg_say_amps(c, fabs(c->point->wire_A[wire])))
                                         : "";
    lg_found(c, sensor->origin, lg_say(c, "sensor %s", lg_say_element(c, e)),
             lg_say(c,
                    "Other currents between %s and %s shift it by %s %s, which looks like %s and "
                    "makes %s read %s too %s%s.",
                    near, far, lg_say_volts(c, s->offset_V), lg_say_state(c, s->state),
                    lg_say_ohms(c, s->ohm), lg_say_element(c, s->listener),
                    lg_say_warmth(c, fabs(s->error_K)), s->error_K < 0 ? "cold" : "warm", shared),
             lg_say(c,
                    "offset / sensor current = %s on top of %s at %s; B formula with R25 %s, B "
                    "%.0f K",
                    lg_say_ohms(c, s->ohm),
                    lg_say_ohms(c, lg_thermistor_ohm(sensor->p[LG_P_R25], sensor->p[LG_P_BETA],
                                                     listener->p[LG_P_OPENS])),
                    lg_say_degrees(c, listener->p[LG_P_OPENS]), lg_say_ohms(c, sensor->p[LG_P_R25]),
                    sensor->p[LG_P_BETA]),
             lg_say(c, "Lead %s by a wire of its own to the sensor return of %s.", near,
                    c->job->parts[listener->part].name));
  }
}

const LgRule lg_rule_sensor_shared = {
    .name = "sensor-shared",
    .grade = LG_GRADE_FAULT,
    .title = "a thermistor's return is shared with a load's current",
    .what = "A load's current in the wire that a sensor returns by lifts the sensor. The control "
            "reads the lift as resistance: too cold, so it heats on beyond its set-point.",
    .formula = "dR = dV / I sensor; dT = 1 / (1/T + ln (1 + dR/R) / B) - T",
    .source = "control-unit manuals: sensor ground to the unit's own pin, seen; B formula of "
              "thermistors; 0.5 K: common practice, no source",
    .remedy = "A return of its own, to the control unit's sensor pin.",
    .run = check_sensor_shared};
