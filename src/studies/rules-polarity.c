/* Parts that mind which way round they are. */
#include "base/words.h"
#include "studies/checks-private.h"

#define REVERSED_SHARE 0.1 /* of nominal volts */

static void check_polarity(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const element = &c->job->elements[e];
    const LgExtreme least = c->survey->least_V[e];
    if (!element->polarised || least.state < 0 || least.value > -REVERSED_SHARE * c->job->nominal_V)
      continue;
    const gboolean diode = element->suppression == LG_SUPPRESS_DIODE;
    const char *const plus = c->job->pins[element->pin[0]].name;
    const char *const minus = c->job->pins[element->pin[1]].name;
    lg_found(
        c, element->origin, lg_say_element(c, e),
        lg_say(c, T_("%s must be plus, but lies %s below %s %s%s."), plus,
               lg_say_volts(c, -least.value), minus, lg_say_state(c, least.state),
               diode ? T_(": its diode short-circuits the feed at the first press") : ""),
        diode ? T_("a diode inside, across the coil") : T_("the part says polarised=yes"),
        lg_say(c, T_("Swap the wires at %s and %s%s."), plus, minus,
               element->kind == LG_EL_COIL ? T_(", or take a relay with a resistor instead") : ""));
  }
}

const LgRule lg_rule_polarity = {
    .name = "reversed",
    .grade = LG_GRADE_DANGER,
    .title = N_("a polarised part is the wrong way round"),
    .what = "A relay with a diode across its coil is a short circuit when plus and minus are "
            "swapped; electronics die. Published lists disagree which of 85 and 86 is plus: read "
            "the relay's own print.",
    .formula = "V first pin - V second pin > -0.1 x nominal in every state",
    .source = "DIN 72552 lists 85 as the end of the winding towards minus, 86 as its start towards "
              "plus (seen; other lists have it the other way round)",
    .remedy = "Swap the two wires.",
    .run = check_polarity};

/* A load on the same wire as the diode, or behind it, that never works. */
static int starved_load(const LgCheckContext *c, const LgElement *diode)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const load = &c->job->elements[e];
    if (!lg_element_is_load(load->kind) && load->kind != LG_EL_COIL)
      continue;
    if (c->states->elements[e].most_V.state >= 0)
      continue;
    for (int k = 0; k < 4; k++)
      if (lg_pin_net(c, load->pin[k / 2]) == lg_pin_net(c, diode->pin[k % 2]) &&
          lg_pin_net(c, load->pin[k / 2]) != lg_ground_net(c))
        return e;
  }
  return -1;
}

static void report_led(LgCheckContext *c, const LgElement *element, LgExtreme least)
{
  lg_found(c, element->origin, lg_say(c, T_("LED %s"), element->name),
           lg_say(c,
                  T_("Never lights: it gets %s the wrong way round %s, and nothing the right way."),
                  lg_say_volts(c, -least.value), lg_say_state(c, least.state)),
           T_("current of the LED in every state"),
           lg_say(c, T_("Swap its wires: %s is the plus."), c->job->pins[element->pin[0]].name));
}

static void report_diode(LgCheckContext *c, const LgElement *element, LgExtreme least, int load)
{
  lg_found(c, element->origin, lg_say(c, T_("diode %s"), element->name),
           lg_say(c, T_("Blocks %s the wrong way round %s, so %s never works."),
                  lg_say_volts(c, -least.value), lg_say_state(c, least.state),
                  lg_say_element(c, load)),
           T_("current of the diode in every state"),
           lg_say(c, T_("Turn it round: %s must lie towards plus."),
                  c->job->pins[element->pin[0]].name));
}

static void check_diode_reversed(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const element = &c->job->elements[e];
    const LgExtreme least = c->survey->least_V[e], most = c->survey->most_V[e];
    if ((element->kind != LG_EL_LED && element->kind != LG_EL_DIODE) || least.state < 0 ||
        least.value > -REVERSED_SHARE * c->job->nominal_V ||
        most.value > 0.5 * element->p[LG_P_FORWARD])
      continue;
    const int load = element->kind == LG_EL_DIODE ? starved_load(c, element) : -1;
    if (element->kind == LG_EL_LED)
      report_led(c, element, least);
    else if (load >= 0)
      report_diode(c, element, least, load);
  }
}

const LgRule lg_rule_diode_reversed = {
    .name = "diode-reversed",
    .grade = LG_GRADE_FAULT,
    .title = N_("an LED or diode never conducts, because it is the wrong way round"),
    .what = "An LED that only ever sees reverse volts does not light. A diode that blocks in every "
            "state starves the load behind it. Diodes that lie across a coil block on purpose and "
            "are passed over.",
    .source = "Kirchhoff's laws, solved in every state; no source",
    .remedy = "Turn it round.",
    .run = check_diode_reversed};
