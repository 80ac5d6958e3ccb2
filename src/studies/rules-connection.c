/* Pins and wires: what must not be touched, what leads nowhere. */
#include "base/words.h"
#include "studies/checks-private.h"

/* --- restraint circuits --- */

#define RESTRAINT_SOURCE "makers' restraint-system precautions, seen"
#define RESTRAINT_REMEDY                                                                           \
  "Leave the plug alone: no wire, no meter, no lamp, no supply, whatever its current. Key off, "   \
  "battery minus off and insulated, wait as the vehicle's manual says. Take this out of the "      \
  "sheet "                                                                                         \
  "and ask a workshop that is trained for it"

/* The restraint pins among two, told together. */
static void check_restraint_pins(LgCheckContext *c, LgOrigin origin, const char *subject,
                                 const int pins[2], const char *does)
{
  const char *list = "";
  gboolean sure = FALSE;
  for (int k = 0; k < 2; k++) {
    const LgPin *const pin = &c->job->pins[pins[k]];
    if (pin->restraint == LG_RESTRAINT_NO)
      continue;
    list = lg_say(c, "%s%s%s", list, *list != '\0' ? T_(" and ") : "", pin->name);
    sure = sure || pin->restraint == LG_RESTRAINT_YES;
  }
  if (*list != '\0')
    lg_found(c, origin, subject,
             lg_say(c, T_("%s %s: %s an airbag or belt pretensioner circuit, which can fire."),
                    does, list, sure ? T_("part of") : T_("maybe part of")),
             RESTRAINT_SOURCE, RESTRAINT_REMEDY ".");
}

static void check_restraint_wired(LgCheckContext *c)
{
  for (int w = 0; w < c->job->n_wires; w++)
    check_restraint_pins(c, c->job->wires[w].origin,
                         lg_say(c, T_("wire %s"), c->job->wires[w].name), c->job->wires[w].pin,
                         T_("Is joined to"));
}

const LgRule lg_rule_restraint_wired = {
    .name = "restraint-wired",
    .grade = LG_GRADE_DANGER,
    .title = N_("a wire is joined to an airbag or belt pretensioner circuit"),
    .what = "Airbags and pretensioners fire on a fraction of an ampere, from a meter, a lamp or a "
            "static spark, and can kill. No current is small enough to be a cure. Plugs of such "
            "circuits are yellow by habit, not always.",
    .source = RESTRAINT_SOURCE,
    .remedy = RESTRAINT_REMEDY ".",
    .run = check_restraint_wired};

static void check_restraint_read(LgCheckContext *c)
{
  for (int r = 0; r < c->job->n_readings; r++)
    check_restraint_pins(c, c->job->readings[r].origin,
                         lg_say(c, T_("reading %s"), c->job->readings[r].name),
                         c->job->readings[r].pin, T_("Puts a meter on"));
}

const LgRule lg_rule_restraint_read = {
    .name = "restraint-read",
    .grade = LG_GRADE_DANGER,
    .title = N_("a reading was or is to be taken on an airbag or belt pretensioner circuit"),
    .what =
        "An ohmmeter drives current through what it measures. On an igniter that can be enough.",
    .source = RESTRAINT_SOURCE,
    .remedy = RESTRAINT_REMEDY ".",
    .run = check_restraint_read};

/* --- ends that hang --- */

static gboolean hangs(const LgCheckContext *c, int pin, int element)
{
  return lg_pin_n_wires(c, pin) == 0 && lg_pin_n_elements(c, pin, element) == 0 &&
         c->job->pins[pin].fitted == LG_FITTED_YES;
}

/* Spare throws and outputs of a larger part hang with reason; so does the light of a switch. */
static gboolean must_be_wired(const LgCheckContext *c, const LgElement *element)
{
  const LgElementKind kind = element->kind;
  const gboolean alone = c->job->parts[element->part].n_elements == 1;
  const gboolean light = kind == LG_EL_LED || kind == LG_EL_LAMP;
  if (lg_element_is_contact(kind) || lg_element_is_protection(kind) || kind == LG_EL_DIODE ||
      kind == LG_EL_LINK || kind == LG_EL_RESISTOR || light)
    return alone;
  return kind != LG_EL_CHASSIS;
}

static void check_pin_unwired(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const element = &c->job->elements[e];
    if (element->pin[1] < 0 || !must_be_wired(c, element))
      continue;
    for (int k = 0; k < 2; k++) {
      const LgPin *const pin = &c->job->pins[element->pin[k]];
      if (!hangs(c, element->pin[k], e) || lg_pin_n_wires(c, element->pin[1 - k]) == 0)
        continue;
      lg_found(c, pin->origin, lg_say(c, T_("pin %s"), pin->name),
               lg_say(c, T_("Has no wire, although %s needs it: its other end, %s, is wired."),
                      lg_say_element(c, e), c->job->pins[element->pin[1 - k]].name),
               T_("wires and elements at the pin"),
               lg_say(c, T_("Add the wire, or take the one at %s out."),
                      c->job->pins[element->pin[1 - k]].name));
    }
  }
}

const LgRule lg_rule_pin_unwired = {
    .name = "pin-unwired",
    .grade = LG_GRADE_FAULT,
    .title = N_("one end of a load, coil, sensor or source is wired, the other is not"),
    .what =
        "A thing with two ends of which one hangs does nothing. What is not wired at all is "
        "left out, and so are the spare throws of a switch, spare outputs of a fuse box and the "
        "light of a switch.",
    .source = "common practice, no source",
    .remedy = "Add the missing wire, or write fitted=no at the pin.",
    .run = check_pin_unwired};

static void check_dead_end(LgCheckContext *c)
{
  for (int w = 0; w < c->job->n_wires; w++) {
    const LgWire *const wire = &c->job->wires[w];
    for (int k = 0; k < 2; k++) {
      const LgPin *const pin = &c->job->pins[wire->pin[k]];
      if (lg_pin_n_wires(c, wire->pin[k]) != 1 || lg_pin_n_elements(c, wire->pin[k], -1) > 0 ||
          pin->carries != LG_CARRIES_UNSAID || pin->restraint != LG_RESTRAINT_NO)
        continue;
      const LgExtreme most = c->states->pins[wire->pin[k]].most_V;
      const gboolean live = most.state >= 0 && fabs(most.value) > 0.5 * c->job->nominal_V;
      lg_found(c, wire->origin, lg_say(c, T_("wire %s"), wire->name),
               lg_say(c, T_("Ends at %s, where nothing goes on%s."), pin->name,
                      live ? lg_say(c, T_("; the end can stand at %s"), lg_say_volts(c, most.value))
                           : ""),
               T_("wires and elements at the pin"),
               live ? T_("Join it, or take it out; a live spare end is insulated and tied back.")
                    : T_("Join it, say at the pin what it carries=, or take the wire out."));
    }
  }
}

const LgRule lg_rule_dead_end = {
    .name = "dead-end",
    .grade = LG_GRADE_CAUTION,
    .title = N_("a wire ends where nothing goes on"),
    .what =
        "A wire to a pin with no other wire and nothing behind it does no work, and may be live. "
        "A pin of which the sheet says what it carries goes on outside of the sheet and is left "
        "out.",
    .source = "common practice, no source",
    .remedy = "Finish it, or insulate and tie back the end.",
    .run = check_dead_end};

/* --- islands --- */

typedef struct {
  gboolean load; /* a load or coil lies in it: never-fed tells that */
} Island;

static gboolean passes_all(const LgCheckContext *c, int edge, int from, gpointer user)
{
  Island *const island = user;
  const LgElement *const e = lg_edge_element(c, edge);
  (void)from;
  if (e != NULL && (lg_element_is_load(e->kind) || e->kind == LG_EL_COIL))
    island->load = TRUE;
  return TRUE;
}

static gboolean hangs_together(const LgCheckContext *c, const LgWire *wire)
{
  for (int k = 0; k < 2; k++)
    if (lg_pin_n_wires(c, wire->pin[k]) + lg_pin_n_elements(c, wire->pin[k], -1) < 2)
      return FALSE;
  return TRUE;
}

static void check_island(LgCheckContext *c)
{
  const LgCircuit *const circuit = c->sizing->circuit;
  g_autofree gboolean *told = g_new0(gboolean, (gsize)lg_net_n_nodes(circuit->net));
  g_autoptr(GArray) found = g_array_new(FALSE, FALSE, sizeof(int));
  for (int w = 0; w < c->job->n_wires; w++) {
    const LgWire *const wire = &c->job->wires[w];
    const LgPinStates *const seen = &c->states->pins[wire->pin[0]];
    if (seen->ever_joined || !seen->ever_floating || told[circuit->pin_node[wire->pin[0]]] ||
        !hangs_together(c, wire))
      continue;
    Island island = {FALSE};
    const LgFlood flood = {.context = c, .passes = passes_all, .user = &island};
    lg_flood(&flood, circuit->pin_node[wire->pin[0]], told, found);
    if (island.load)
      continue;
    lg_found(c, wire->origin, lg_say(c, T_("wire %s"), wire->name),
             lg_say(c,
                    T_("Runs from %s to %s, but in no state is there a path from there to a source "
                       "or to %s."),
                    c->job->pins[wire->pin[0]].name, c->job->pins[wire->pin[1]].name,
                    T_(c->job->ground_word)),
             lg_say(c, T_("%s solved"), lg_say_states(c, c->states->n_solved)),
             T_("Join what it leads to, or take it out."));
  }
}

const LgRule lg_rule_island = {
    .name = "floating",
    .grade = LG_GRADE_FAULT,
    .title = N_("wires hang together but are tied to nothing in any state"),
    .what = "A piece of the circuit that no state ties to a source or to ground has no volts that "
            "could be told. Pins that float only while a switch is open are no fault and are left "
            "out; a load in such a piece is told by never-fed.",
    .source = "Kirchhoff's laws, solved in every state; no source",
    .remedy = "Join it to what it belongs to.",
    .run = check_island};

/* --- what this example does not have --- */

static void check_not_fitted(LgCheckContext *c)
{
  for (int p = 0; p < c->job->n_pins; p++) {
    const LgPin *const pin = &c->job->pins[p];
    if (pin->fitted != LG_FITTED_NO || lg_pin_n_wires(c, p) == 0)
      continue;
    int behind = -1;
    const LgPart *const part = &c->job->parts[pin->part];
    for (int e = part->first_element; e < part->first_element + part->n_elements; e++)
      if (c->job->elements[e].pin[0] == p || c->job->elements[e].pin[1] == p)
        behind = e;
    lg_found(c, pin->origin, lg_say(c, T_("pin %s"), pin->name),
             behind >= 0
                 ? lg_say(c,
                          T_("Is wired, but this example has no terminal there: %s is not fitted."),
                          lg_say_element(c, behind))
                 : T_("Is wired, but this example has no terminal there."),
             T_("the sheet says fitted=no at the pin"),
             T_("Take the wire out, or find an example that has the option; look into the cavity "
                "before you buy."));
  }
}

const LgRule lg_rule_not_fitted = {
    .name = "not-fitted",
    .grade = LG_GRADE_FAULT,
    .title = N_("a wire leads to an option that this example does not have"),
    .what = "Plugs are shared by all trim levels; a diagram shows what the best-equipped example "
            "has. An empty cavity means the option is not there.",
    .source = "common practice, no source",
    .remedy = "Leave the cavity empty.",
    .run = check_not_fitted};
