/* What loads get: volts, power. */
#include "base/words.h"
#include "studies/checks-private.h"

/* --- volts lost --- */

/* Volts of every node in c->point: those of the pins, and of the body. */
static double *node_volts(const LgCheckContext *c)
{
  const LgCircuit *const circuit = c->sizing->circuit;
  double *const volts = g_new0(double, (gsize)lg_net_n_nodes(circuit->net));
  for (int p = 0; p < c->job->n_pins; p++)
    volts[circuit->pin_node[p]] = c->point->volts[p];
  for (int e = 0; e < c->job->n_elements; e++)
    if (c->job->elements[e].kind == LG_EL_CHASSIS)
      volts[circuit->body_node] =
          c->point->volts[c->job->elements[e].pin[0]] - c->point->element_V[e];
  return volts;
}

static double wire_loss(const LgCheckContext *c, int wire)
{
  const int *const pin = c->job->wires[wire].pin;
  return fabs(c->point->volts[pin[0]] - c->point->volts[pin[1]]);
}

/* The wire before a load (way 0) or after it (way 1) on which most volts are lost in a state; -1:
 * none. Leaves that state in c->point. */
static int costliest_wire(LgCheckContext *c, int load, int state, int way)
{
  lg_check_solve(c, state, -1, 0);
  g_autofree double *volts = node_volts(c);
  g_autoptr(GArray) wires = g_array_new(FALSE, FALSE, sizeof(int));
  const LgFlow flow = {.volts = volts, .stride = 1, .amps = lg_point_amps, .user = c};
  double drop[2];
  lg_ways_drop(c->ways, &flow, load, drop, wires);
  int found = -1;
  for (guint i = 0; i < wires->len; i++) {
    const int w = g_array_index(wires, int, i);
    const gboolean after = c->sizing->protection[w].side != LG_SIDE_FEED;
    if (after == (way == 1) && (found < 0 || wire_loss(c, w) > wire_loss(c, found)))
      found = w;
  }
  return found;
}

static const char *mend_drop(LgCheckContext *c, int load, int state, double feed_V, double return_V,
                             double limit_V)
{
  const int way = return_V > feed_V ? 1 : 0;
  const int wire = costliest_wire(c, load, state, way);
  const char *const side =
      way == 1 ? lg_say(c, T_("%s return"), T_(c->job->ground_word)) : T_("feed");
  if (wire < 0)
    return lg_say(
        c, T_("Most is lost in contacts and joints of the %s: clean them, or take larger ones."),
        side);
  const double lost_V = wire_loss(c, wire), over_V = feed_V + return_V - limit_V;
  const LgConductor *const now = lg_conductor_of(c, wire);
  if (now == NULL || lost_V <= over_V)
    return lg_say(c, T_("Shorten or thicken the wires of the %s; %s alone loses %s."), side,
                  lg_say_wire(c, wire), lg_say_volts(c, lost_V));
  return lg_say(c, T_("%s in the %s loses %s: %s or more would do, or a shorter way."),
                lg_say_wire(c, wire), side, lg_say_volts(c, lost_V),
                lg_say_mm2(c, now->area_mm2 * lost_V / (lost_V - over_V)));
}

static void check_drop(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const element = &c->job->elements[e];
    const LgElementStates *const seen = &c->states->elements[e];
    if (!lg_element_is_load(element->kind) || seen->drop_feed_V.state < 0)
      continue;
    const double share = isnan(element->p[LG_P_DROP]) ? c->job->drop : element->p[LG_P_DROP];
    const double limit_V = share * c->job->nominal_V;
    const gboolean swapped = c->job->positive_ground;
    const double feed_V = (swapped ? seen->drop_return_V : seen->drop_feed_V).value,
                 return_V = (swapped ? seen->drop_feed_V : seen->drop_return_V).value;
    if (feed_V + return_V <= limit_V * (1 + 1e-6))
      continue;
    lg_found(
        c, element->origin, lg_say(c, T_("load %s"), element->name),
        lg_say(c,
               T_("Loses %s in the feed and %s in the %s return, together %s or %s of %s, %s.%s"),
               lg_say_volts(c, feed_V), lg_say_volts(c, return_V), T_(c->job->ground_word),
               lg_say_volts(c, feed_V + return_V),
               lg_say_percent(c, (feed_V + return_V) / c->job->nominal_V),
               lg_say_volts(c, c->job->nominal_V), lg_say_state(c, seen->drop_feed_V.state),
               lg_sizing_tells(c, element->name) ? T_(" Thicker auto wires alone do not mend it.")
                                                 : ""),
        lg_say(
            c,
            T_("limit %s (%s, %s); wires and coils at their hottest, contacts and joints counted"),
            lg_say_percent(c, share), lg_say_volts(c, limit_V),
            isnan(element->p[LG_P_DROP]) ? T_("the job's drop=") : T_("the load's own drop=")),
        mend_drop(c, e, seen->drop_feed_V.state, feed_V, return_V, limit_V));
  }
}

const LgRule lg_rule_drop = {
    .name = "drop",
    .grade = LG_GRADE_FAULT,
    .title = N_("too many volts are lost on the way to a load and back"),
    .what = "Follows each load's current from its source and back, in the state with the greatest "
            "loss, through wires, fuses, contacts and joints. Feed and return are told apart, "
            "because they are mended in different places. A heater gives two tenths less power for "
            "a tenth less volts; a motor gets slow and hot.",
    .formula = "V lost = sum of I x R over feed and return <= drop x nominal volts; R of copper at "
               "its temperature: R20 x (234.5 + T) / 254.5",
    .source = "3 % for what is vital, 10 % for the rest: ABYC E-11, memory, its tables in makers' "
              "catalogues, seen; aircraft 0.5 V of 14 V and 1 V of 28 V: AC 43.13-1B, memory. The "
              "job's drop= is 5 % unless it says another: common practice, no source",
    .remedy = "Thicker or shorter wires on the side that loses most, a better ground point, or a "
              "relay near the load.",
    .run = check_drop};

/* --- cut-outs --- */

static void report_cut_out(LgCheckContext *c, int e, LgExtreme low, const char *why)
{
  const LgElement *const element = &c->job->elements[e];
  lg_found(c, element->origin, lg_say(c, T_("load %s"), element->name),
           lg_say(c, T_("Gets %s %s%s, and switches itself off below %s."),
                  lg_say_volts(c, low.value), lg_say_state(c, low.state), why,
                  lg_say_volts(c, element->p[LG_P_CUT_OUT])),
           T_("the load's own cut-out=; volts at its pins, solved with wires at their hottest"),
           T_("Thicken its feed and return, take its feed from nearer the battery, or set a lower "
              "cut-out where the device allows one."));
}

static void check_cut_out(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const element = &c->job->elements[e];
    const LgElementStates *const seen = &c->states->elements[e];
    const double cut_out_V = element->p[LG_P_CUT_OUT];
    if (element->kind != LG_EL_ELECTRONIC || isnan(cut_out_V))
      continue;
    if (seen->least_V.state >= 0 && seen->least_V.value < cut_out_V)
      report_cut_out(c, e, seen->least_V, "");
    else if (seen->brief_V.state >= 0 && seen->brief_V.value < cut_out_V)
      report_cut_out(c, e, seen->brief_V, T_(", while something starts"));
  }
}

const LgRule lg_rule_cut_out = {
    .name = "cut-out",
    .grade = LG_GRADE_FAULT,
    .title = N_("a load switches itself off because its volts sag"),
    .what =
        "A refrigerator or another load with an under-voltage cut-out stops although the battery "
        "is good, because too much is lost on the way, for good or while a motor starts. It then "
        "comes back, stops again, and so on.",
    .formula = "volts at the load >= cut-out",
    .source = "the load's own papers, as the sheet gives them; common practice, no source",
    .remedy = "Thicker feed and return, straight from the battery.",
    .run = check_cut_out};

/* --- volts and power against what the load is made for --- */

/* 14.7 V on 12 V is the top of a regulator's range and 15 V that of a cold charger: common
 * practice; beyond 1.3 times the load is in the wrong vehicle. */
#define OVER_VOLTS 1.3
/* A heater on 14.4 V instead of 12 V gives 1.44 times; two in series a quarter: common practice, no
 * source. */
#define LEAST_POWER 0.6
#define MOST_POWER 1.6

static gboolean gets_too_many_volts(const LgCheckContext *c, int e)
{
  const LgElementStates *const seen = &c->states->elements[e];
  const LgElement *const element = &c->job->elements[e];
  const gboolean uses = lg_element_is_load(element->kind) || element->kind == LG_EL_COIL;
  return uses && element->kind != LG_EL_RESISTOR && seen->most_V.state >= 0 &&
         seen->most_V.value > OVER_VOLTS * element->p[LG_P_VOLTS];
}

static void check_over_volts(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const element = &c->job->elements[e];
    if (!gets_too_many_volts(c, e))
      continue;
    const LgExtreme most = c->states->elements[e].most_V;
    const double ratio = most.value / element->p[LG_P_VOLTS];
    lg_found(
        c, element->origin, lg_say_element(c, e),
        lg_say(c, T_("Is made for %s and gets %s %s: a resistive load would take %s of its power."),
               lg_say_volts(c, element->p[LG_P_VOLTS]), lg_say_volts(c, most.value),
               lg_say_state(c, most.state), lg_say_percent(c, ratio * ratio)),
        lg_say(c,
               T_("at most %.3g times its volts, which covers a charging vehicle; common practice, "
                  "no source"),
               OVER_VOLTS),
        lg_say(c, T_("Feed it from a %s supply (a converter), or use the part made for %s."),
               lg_say_volts(c, element->p[LG_P_VOLTS]), lg_say_volts(c, c->job->nominal_V)));
  }
}

const LgRule lg_rule_over_volts = {
    .name = "over-volts",
    .grade = LG_GRADE_DANGER,
    .title = N_("a part gets far more volts than it is made for"),
    .what =
        "A 12 V part in a 24 V vehicle takes four times its power if it is a heater, and burns; "
        "a coil overheats, a lamp dies.",
    .formula = "volts across it <= 1.3 x volts=; power of a resistance goes with (V / V rated)^2",
    .source = "Ohm's law; the margin is common practice, no source",
    .remedy =
        "A converter, two equal parts in series where their papers allow it, or the right part.",
    .run = check_over_volts};

static void check_far_power(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const element = &c->job->elements[e];
    const LgExtreme most = c->states->elements[e].most_W;
    const gboolean kind = element->kind == LG_EL_HEATER || element->kind == LG_EL_MOTOR ||
                          element->kind == LG_EL_FAN || element->kind == LG_EL_PUMP;
    const double share = most.value / element->p[LG_P_POWER];
    if (!kind || c->states->elements[e].most_V.state < 0 || gets_too_many_volts(c, e) ||
        (share >= LEAST_POWER && share <= MOST_POWER))
      continue;
    const double volts = c->states->elements[e].most_V.value;
    const gboolean weak = share < 1;
    lg_found(
        c, element->origin, lg_say(c, T_("load %s"), element->name),
        lg_say(c,
               T_("Gets %s at most, %s of the %s that it is made for (%s across it, rated at %s)."),
               lg_say_watts(c, most.value), lg_say_percent(c, share),
               lg_say_watts(c, element->p[LG_P_POWER]), lg_say_volts(c, volts),
               lg_say_volts(c, element->p[LG_P_VOLTS])),
        lg_say(
            c,
            T_("its rated power as the donor gave it, %s to %s of it; common practice, no source"),
            lg_say_percent(c, LEAST_POWER), lg_say_percent(c, MOST_POWER)),
        weak ? T_("Join it as it was in the donor: in parallel with its neighbour, not in series, "
                  "and on its own volts. Check the resistance that was read.")
             : T_("Join it as it was in the donor: in series with its neighbour if it was, and on "
                  "its own volts. Check the resistance that was read."));
  }
}

const LgRule lg_rule_far_power = {
    .name = "far-power",
    .grade = LG_GRADE_FAULT,
    .title = N_("a heater or motor gets far from the power its donor gave it"),
    .what = "Pads that lay in series in the donor and are put in parallel get four times their "
            "power; the other way round they stay lukewarm. A motor on half its volts stalls.",
    .formula = "0.6 <= greatest power / rated power <= 1.6",
    .source = "Ohm's law; the margins are common practice, no source",
    .remedy = "The donor's way of joining, its volts, or another control.",
    .run = check_far_power};

/* --- loads that never work --- */

static gboolean both_ends_wired(const LgCheckContext *c, const LgElement *element)
{
  for (int k = 0; k < 2; k++)
    if (lg_pin_n_wires(c, element->pin[k]) == 0 &&
        lg_pin_n_elements(c, element->pin[k], (int)(element - c->job->elements)) == 0)
      return FALSE;
  return TRUE;
}

static gboolean any_end_wired(const LgCheckContext *c, const LgElement *element)
{
  return lg_pin_n_wires(c, element->pin[0]) > 0 || lg_pin_n_wires(c, element->pin[1]) > 0;
}

/* An LED the wrong way round is told by diode-reversed. */
static gboolean is_reversed_led(const LgCheckContext *c, int e)
{
  return c->job->elements[e].kind == LG_EL_LED && c->survey->least_V[e].state >= 0 &&
         c->survey->least_V[e].value < -0.1 * c->job->nominal_V;
}

static void check_never_fed(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const element = &c->job->elements[e];
    const gboolean uses = lg_element_is_load(element->kind) || element->kind == LG_EL_COIL;
    if (!uses || element->kind == LG_EL_RESISTOR || c->ways->a[c->job->n_wires + e] < 0 ||
        c->states->elements[e].most_V.state >= 0 || !both_ends_wired(c, element) ||
        !any_end_wired(c, element) || is_reversed_led(c, e))
      continue;
    lg_found(c, element->origin, lg_say_element(c, e),
             lg_say(c,
                    T_("Never gets a tenth of %s in any state, although both its ends are wired."),
                    lg_say_volts(c, c->job->nominal_V)),
             lg_say(c, T_("%s solved"), lg_say_states(c, c->states->n_solved)),
             T_("Look for a missing wire or ground, a diode the wrong way round, or a switch that "
                "no position closes; `loomgraft state` shows the volts at its pins."));
  }
}

const LgRule lg_rule_never_fed = {
    .name = "never-fed",
    .grade = LG_GRADE_FAULT,
    .title = N_("a load is wired but never works"),
    .what = "Of all states that switches, relays and thermostats allow, none puts volts across the "
            "load.",
    .source = "Kirchhoff's laws, solved in every state; no source",
    .remedy = "Find the missing feed or return.",
    .run = check_never_fed};
