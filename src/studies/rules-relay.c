/* Coils: whether they pull and hold, and relays that do not come to rest. */
#include "base/words.h"
#include "studies/checks-private.h"

/* Battery nearly flat with the engine off, 10.8 V of 12 V; and while cranking, 9 V of 12 V, the
 * mild end of the 6 to 9 V that are seen: common practice, no source. */
#define LOW_SHARE 0.9
#define CRANKING_SHARE 0.75
/* A coil that has so much to spare is not solved again: a low battery takes an eighth at most, and
 * what that does to the losses is less. */
#define AMPLE_SHARE 0.75
#define MARGIN 1e-6

static double coil_ratio(const LgCheckContext *c, const LgElement *coil)
{
  const int place = c->job->parts[coil->part].place;
  return lg_copper_ratio(place < 0 ? c->job->hot_K : c->job->places[place].hot_K);
}

static double hot_K(const LgCheckContext *c, const LgElement *coil)
{
  const int place = c->job->parts[coil->part].place;
  return place < 0 ? c->job->hot_K : c->job->places[place].hot_K;
}

/* Volts across an element in a kept state with every battery at `share` of its rated volts. */
static double volts_at_supply(LgCheckContext *c, int element, int state, double share)
{
  LgNet *const net = c->sizing->circuit->net;
  g_autofree double *emf = g_new(double, (gsize)c->sizing->circuit->n_cells + 1);
  int k = 0;
  for (int e = 0; e < c->job->n_elements; e++)
    if (c->job->elements[e].kind == LG_EL_CELL && c->sizing->circuit->element_branch[e] >= 0) {
      const int branch = c->sizing->circuit->element_branch[e];
      emf[k++] = lg_net_branch(net, branch)->p[1];
      lg_net_set_param(net, branch, 1, share * c->job->elements[e].p[LG_P_VOLTS]);
    }
  lg_check_solve(c, state, -1, 0);
  const double volts = fabs(c->point->element_V[element]);
  k = 0;
  for (int e = 0; e < c->job->n_elements; e++)
    if (c->job->elements[e].kind == LG_EL_CELL && c->sizing->circuit->element_branch[e] >= 0)
      lg_net_set_param(net, c->sizing->circuit->element_branch[e], 1, emf[k++]);
  return volts;
}

static gboolean cranks(const LgCheckContext *c, int state)
{
  const guint8 *const kept = lg_states_position(c->states, state);
  for (int i = 0; i < c->job->n_inputs; i++)
    if (c->job->inputs[i].kind == LG_INPUT_HAND &&
        strcmp(c->job->inputs[i].positions[kept[i]], "start") == 0)
      return TRUE;
  return FALSE;
}

static const char *weak_basis(LgCheckContext *c, const LgElement *coil)
{
  return lg_say(
      c,
      T_("pull-in %s at 20 C x (234.5 + T) / 254.5 with the coil at %s; copper, AC 43.13-1B, seen"),
      lg_say_volts(c, coil->p[LG_P_PULL_IN]), lg_say_degrees(c, hot_K(c, coil)));
}

static gboolean chatters(const LgCheckContext *c, int element)
{
  for (guint i = 0; i < c->states->chatter->len; i++)
    if (g_array_index(c->states->chatter, LgOddRelay, i).element == element)
      return TRUE;
  return FALSE;
}

static void check_coil_weak(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const coil = &c->job->elements[e];
    const LgExtreme least = c->states->elements[e].least_V;
    if (coil->kind != LG_EL_COIL || least.state < 0 || cranks(c, least.state) || chatters(c, e))
      continue;
    const double needs_V = coil->p[LG_P_PULL_IN] * coil_ratio(c, coil);
    if (AMPLE_SHARE * least.value >= needs_V)
      continue;
    const double gets_V = volts_at_supply(c, e, least.state, LOW_SHARE);
    if (gets_V >= needs_V * (1 - MARGIN))
      continue;
    lg_found(c, coil->origin, lg_say(c, T_("coil %s"), coil->name),
             lg_say(c,
                    T_("Needs %s to pull when it is hot, and gets %s %s with the battery at %s."),
                    lg_say_volts(c, needs_V), lg_say_volts(c, gets_V), lg_say_state(c, least.state),
                    lg_say_volts(c, LOW_SHARE * c->job->nominal_V)),
             weak_basis(c, coil),
             gets_V < 0.7 * needs_V ? T_("Look for what lies in series with the coil, or whether "
                                         "it is made for the vehicle's volts.")
                                    : T_("Move the relay to a cooler place, thicken what feeds its "
                                         "coil, or take a relay with a lower pull-in."));
  }
}

const LgRule lg_rule_coil_weak = {
    .name = "coil-weak",
    .grade = LG_GRADE_FAULT,
    .title = N_("a relay may not pull when it is hot and the battery low"),
    .what =
        "Copper's resistance grows with heat, so a hot coil draws less and needs more volts to "
        "pull. Compares that with the least volts across the coil while it is meant to be live, "
        "with the battery nearly flat.",
    .formula = "V coil at 0.9 x nominal >= pull-in x (234.5 + T) / 254.5",
    .source = "relay sheets: 12 V relays must pull at 7 to 8 V, cold (seen); copper: AC 43.13-1B "
              "(seen); 0.9: common practice, no source",
    .remedy = "A cooler place, less loss before the coil, another relay.",
    .run = check_coil_weak};

static int cranking_state(const LgCheckContext *c, int element)
{
  const LgElementStates *const seen = &c->states->elements[element];
  const LgExtreme *const extremes[] = {&seen->least_V, &seen->most_V, &seen->most_A};
  for (gsize k = 0; k < G_N_ELEMENTS(extremes); k++)
    if (extremes[k]->state >= 0 && cranks(c, extremes[k]->state))
      return extremes[k]->state;
  return -1;
}

static void check_coil_weak_cranking(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const coil = &c->job->elements[e];
    const int state = coil->kind == LG_EL_COIL ? cranking_state(c, e) : -1;
    if (state < 0)
      continue;
    const double needs_V = coil->p[LG_P_PULL_IN] * coil_ratio(c, coil);
    const double gets_V = volts_at_supply(c, e, state, CRANKING_SHARE);
    if (gets_V >= needs_V * (1 - MARGIN))
      continue;
    lg_found(c, coil->origin, lg_say(c, T_("coil %s"), coil->name),
             lg_say(c,
                    T_("Needs %s to pull when it is hot, and gets %s %s while the starter holds "
                       "the battery at %s."),
                    lg_say_volts(c, needs_V), lg_say_volts(c, gets_V), lg_say_state(c, state),
                    lg_say_volts(c, CRANKING_SHARE * c->job->nominal_V)),
             weak_basis(c, coil),
             T_("If it must work while cranking, take a relay with a lower pull-in, or a cooler "
                "place; else feed its coil from a terminal that is dead while cranking."));
  }
}

const LgRule lg_rule_coil_weak_cranking = {
    .name = "coil-weak-cranking",
    .grade = LG_GRADE_CAUTION,
    .title = N_("a relay that works while cranking may not pull"),
    .what =
        "While the starter turns, the battery falls to 6 to 9 V of 12. A relay whose coil is fed "
        "only then must pull at that, hot.",
    .formula = "V coil at 0.75 x nominal >= pull-in x (234.5 + T) / 254.5",
    .source = "6 to 9 V while cranking: common practice, no source; coil as in coil-weak",
    .remedy =
        "A relay with a lower pull-in, a cooler place, or a feed that is dead while cranking.",
    .run = check_coil_weak_cranking};

static void check_coil_dip(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const coil = &c->job->elements[e];
    const LgExtreme brief = c->states->elements[e].brief_V;
    const double lets_go_V = coil->p[LG_P_DROP_OUT] * coil_ratio(c, coil);
    if (coil->kind != LG_EL_COIL || brief.state < 0 || brief.value >= lets_go_V)
      continue;
    lg_found(c, coil->origin, lg_say(c, T_("coil %s"), coil->name),
             lg_say(c, T_("Falls to %s %s and may let go below %s."), lg_say_volts(c, brief.value),
                    lg_say_state(c, brief.state), lg_say_volts(c, lets_go_V)),
             lg_say(c, T_("drop-out %s at 20 C, coil at %s"),
                    lg_say_volts(c, coil->p[LG_P_DROP_OUT]), lg_say_degrees(c, hot_K(c, coil))),
             T_("Take the coil's feed from before the wire that the starting load drags down, or "
                "thicken that wire."));
  }
}

const LgRule lg_rule_coil_dip = {
    .name = "coil-dip",
    .grade = LG_GRADE_FAULT,
    .title = N_("a relay lets go while a load starts"),
    .what = "A motor or cold lamp that starts pulls its feed down for a moment. A coil on the same "
            "feed that falls below its release volts lets go, the load stops, the volts come back: "
            "buzz and burnt contacts.",
    .formula = "least V coil while a load starts >= drop-out x (234.5 + T) / 254.5",
    .source = "relay sheets: must release at 0.5 to 1.2 V of 12 V (seen)",
    .remedy = "Feed the coil from a place that the load does not drag down.",
    .run = check_coil_dip};

/* An under-voltage cut-out between its two thresholds stays as it was by design. */
static gboolean is_meant(const LgElement *element, const GArray *odd, const LgCheckContext *c)
{
  return element->kind != LG_EL_COIL && odd == c->states->latching;
}

static void check_odd(LgCheckContext *c, const GArray *odd, const char *format, const char *remedy)
{
  for (guint i = 0; i < odd->len; i++) {
    const LgOddRelay relay = g_array_index(odd, LgOddRelay, i);
    const LgElement *const coil = &c->job->elements[relay.element];
    if (is_meant(coil, odd, c))
      continue;
    const char *const does = coil->kind == LG_EL_COIL ? "relay" : "load";
    lg_found(c, coil->origin, lg_say(c, "%s %s", does, lg_say_element(c, relay.element)),
             lg_say(c, "%s %s.", format, lg_say_state(c, relay.state)),
             T_("relays solved to a fixed point in every state, coils at their hottest"), remedy);
  }
}

static void check_chatter(LgCheckContext *c)
{
  check_odd(
      c, c->states->chatter,
      T_("Does not come to rest: pulled, it loses its own volts; released, it gets them back,"),
      T_("Take the coil's or the load's feed from a node that its own contact does not drag down "
         "or cut."));
}

static void check_latching(LgCheckContext *c)
{
  check_odd(c, c->states->latching, T_("Holds itself: pulled it stays so, released it stays so,"),
            T_("If it is meant to hold itself, leave it and write a `need` for how it is let go; "
               "else look for the path that feeds the coil from its own contact."));
}

const LgRule lg_rule_chatter = {
    .name = "relay-chatter",
    .grade = LG_GRADE_FAULT,
    .title = N_("a relay or cut-out has no state of rest"),
    .what = "A coil that is fed from the node which its own contact cuts or drags down pulls, lets "
            "go, pulls. The contacts burn within hours. A load with an under-voltage cut-out does "
            "the same through its feed's resistance.",
    .source = "relays solved to a fixed point: there is none in that state; no source",
    .remedy = "Feed the coil from before its own contact, or cut the loss that drags it down.",
    .run = check_chatter};

const LgRule lg_rule_latching = {
    .name = "relay-latching",
    .grade = LG_GRADE_CAUTION,
    .title = N_("a relay stays as it was: its state depends on the past"),
    .what = "Two answers stand in one and the same state of the switches. That may be meant (a "
            "self-holding relay); when it is not, the load does not go off with its switch.",
    .source = "relays solved to a fixed point from both ends: two answers; no source",
    .remedy = "Find the path back to the coil, or say that it is meant.",
    .run = check_latching};
