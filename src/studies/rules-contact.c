/* Switches, relay contacts, electronic outputs and the terminals in connectors. */
#include "base/words.h"
#include "studies/checks-private.h"

static const char *const class_words[LG_N_LOAD_CLASSES] = {N_("resistive load"),
                                                           N_("motors and coils"), N_("lamps")};

static const char *say_classes(LgCheckContext *c, const double class_A[LG_N_LOAD_CLASSES])
{
  const char *text = "";
  for (int k = 0; k < LG_N_LOAD_CLASSES; k++)
    if (class_A[k] >= 1e-3)
      text = lg_say(c, T_("%s%s%s of %s"), text, *text != '\0' ? T_(" and ") : "",
                    lg_say_amps(c, class_A[k]), T_(class_words[k]));
  return text;
}

static const char *say_ratings(LgCheckContext *c, int contact,
                               const double class_A[LG_N_LOAD_CLASSES])
{
  const char *text = "";
  for (int k = 0; k < LG_N_LOAD_CLASSES; k++)
    if (class_A[k] >= 1e-3)
      text =
          lg_say(c, T_("%s%s%s of %s"), text, *text != '\0' ? T_(" or ") : "",
                 lg_say_amps(c, lg_contact_rating(c, contact, (LgLoadClass)k)), T_(class_words[k]));
  return text;
}

/* On what the ratings by class rest. */
static const char *say_rating_basis(LgCheckContext *c, int contact)
{
  const LgElement *const e = &c->job->elements[contact];
  const double rating_A = e->p[LG_P_RATING];
  if (lg_contact_rating(c, contact, LG_LOAD_PLAIN) < rating_A)
    return lg_say(c,
                  T_("%s at 12 V, resistive; at 24 V resistive loads count 2, motors 3, lamps 8 "
                     "times: AC 43.13-1B, switch ratings by load kind, seen"),
                  lg_say_amps(c, rating_A));
  if (fabs(e->p[LG_P_MOTOR_RATING] * 2 - rating_A) < 1e-9 &&
      fabs(e->p[LG_P_LAMP_RATING] * 5 - rating_A) < 1e-9)
    return lg_say(c,
                  T_("rating %s resistive; motors and coils count 2, lamps 5 times: AC 43.13-1B, "
                     "switch ratings by load kind, 12 V, seen"),
                  lg_say_amps(c, rating_A));
  return lg_say(c, T_("the part's own figures: %s resistive, %s of motors and coils, %s of lamps"),
                lg_say_amps(c, rating_A), lg_say_amps(c, e->p[LG_P_MOTOR_RATING]),
                lg_say_amps(c, e->p[LG_P_LAMP_RATING]));
}

static const char *contact_word(const LgCheckContext *c, const LgElement *contact)
{
  if (contact->kind == LG_EL_MAKE || contact->kind == LG_EL_BREAK)
    return T_("relay contact");
  if (contact->kind == LG_EL_OUTPUT)
    return "output";
  if (contact->kind == LG_EL_THERMOSTAT)
    return "thermostat";
  return strcmp(c->job->parts[contact->part].class_word, "key") == 0 ? T_("key switch")
                                                                     : T_("switch");
}

static const char *mend_contact(LgCheckContext *c, const LgElement *contact,
                                const LgContactUse *use)
{
  if (contact->kind == LG_EL_MAKE || contact->kind == LG_EL_BREAK)
    return lg_say(
        c, T_("Use a relay whose contact carries %s, or share the loads between two relays."),
        say_classes(c, use->class_A));
  return lg_say(c,
                T_("Let the %s work the coil of a relay only (a small fraction of an ampere), and "
                   "let the relay carry the load from a fuse of its own."),
                contact_word(c, contact));
}

static void check_contact_overloaded(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const contact = &c->job->elements[e];
    const LgContactUse *const use = &c->survey->contacts[e];
    if (!lg_element_is_contact(contact->kind) || use->state < 0 || !(use->use > 1 + 1e-9))
      continue;
    lg_found(c, contact->origin, lg_say(c, "%s %s", contact_word(c, contact), contact->name),
             lg_say(c, T_("Carries %s %s; it may carry %s: %s of what it bears."),
                    say_classes(c, use->class_A), lg_say_state(c, use->state),
                    say_ratings(c, e, use->class_A), lg_say_percent(c, use->use)),
             say_rating_basis(c, e), mend_contact(c, contact, use));
  }
}

const LgRule lg_rule_contact_overloaded = {
    .name = "contact-overloaded",
    .grade = LG_GRADE_FAULT,
    .title = N_("a switch, relay contact or output carries more than it may of this kind of load"),
    .what =
        "A contact's rating holds for a resistive load. A cold filament draws ten times its "
        "current, a motor six times, and a motor or coil arcs on breaking. So each kind of load "
        "has its own rating, and a mix is added up by shares. Loads are found by following the "
        "current in each state. An AC rating says nothing for DC.",
    .formula =
        "I resistive / rating + I motor / motor-rating + I lamp / lamp-rating <= 1; without "
        "own figures motor-rating = rating / 2, lamp-rating = rating / 5; switches rated at 12 V "
        "in a 24 V vehicle: rating / 2, / 3, / 8",
    .source = "AC 43.13-1B, derating factors for switches at 12 V: heater 1, motor 2, coil 2, lamp "
              "5; at 24 V: 2, 3, 4, 8; seen as a digest. Making currents: a switch maker's "
              "load-type page, seen",
    .remedy = "Let it work a relay, or take a larger contact.",
    .run = check_contact_overloaded};

/* Below this nobody asks for a rating: common practice, no source. */
#define UNRATED_A 1.0

static void check_contact_unrated(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const contact = &c->job->elements[e];
    const LgExtreme most = c->states->elements[e].most_A;
    if (!lg_element_is_contact(contact->kind) || !isnan(contact->p[LG_P_RATING]) ||
        most.state < 0 || most.value < UNRATED_A)
      continue;
    lg_found(c, contact->origin, lg_say(c, "%s %s", contact_word(c, contact), contact->name),
             lg_say(c, T_("Carries %s %s, and nobody knows what it bears."),
                    lg_say_amps(c, most.value), lg_say_state(c, most.state)),
             T_("the sheet gives no rating= for it"),
             T_("Read the rating off the part or its papers and write rating=; else let it work a "
                "relay."));
  }
}

const LgRule lg_rule_contact_unrated = {
    .name = "contact-unrated",
    .grade = LG_GRADE_UNPROVEN,
    .title = N_("a contact carries current, and its rating is not known"),
    .what =
        "A switch from a donor often carried a coil or a signal only. Before it carries amperes "
        "its rating must be known.",
    .formula = "I >= 1 A and no rating=",
    .source = "common practice, no source",
    .remedy = "Find the rating, or let the switch work a relay.",
    .run = check_contact_unrated};

static double terminal_use(const LgCheckContext *c, int p)
{
  const LgTerminal *const terminal = c->job->pins[p].terminal;
  const LgExtreme most = c->survey->pin_A[p];
  return terminal == NULL || isnan(terminal->rating_A) || most.state < 0
             ? 0
             : most.value / terminal->rating_A;
}

static void report_terminals(LgCheckContext *c, int worst, const char *subject)
{
  const LgPin *const pin = &c->job->pins[worst];
  const LgExtreme most = c->survey->pin_A[worst];
  lg_found(c, pin->origin, subject,
           lg_say(c, T_("%s passes %s %s; a %s terminal bears %s for good."), pin->name,
                  lg_say_amps(c, most.value), lg_say_state(c, most.state), pin->terminal->name,
                  lg_say_amps(c, pin->terminal->rating_A)),
           lg_say(c, T_("with the largest wire of its range; %s"), pin->terminal->source),
           T_("Use a part with larger terminals, share the current between two cavities, or take "
              "this circuit past this part."));
}

/* One finding a part: its worst pin, and the others by name. */
static void check_terminals_of(LgCheckContext *c, const LgPart *part)
{
  int worst = -1, n = 0;
  const char *list = "";
  for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++) {
    if (terminal_use(c, p) <= 1 + 1e-9)
      continue;
    list = lg_say(c, "%s%s%s", list, n++ > 0 ? ", " : "", c->job->pins[p].short_name);
    if (worst < 0 || terminal_use(c, p) > terminal_use(c, worst))
      worst = p;
  }
  if (n == 1)
    report_terminals(c, worst, lg_say(c, T_("pin %s"), c->job->pins[worst].name));
  else if (n > 1)
    report_terminals(c, worst, lg_say(c, T_("pins %s of %s"), list, part->name));
}

static void check_terminal_overloaded(LgCheckContext *c)
{
  for (int i = 0; i < c->job->n_parts; i++)
    check_terminals_of(c, &c->job->parts[i]);
}

const LgRule lg_rule_terminal_overloaded = {
    .name = "terminal-overloaded",
    .grade = LG_GRADE_DANGER,
    .title = N_("a connector's terminal passes more than it bears"),
    .what = "A contact's heat grows with the square of the current; a plug that browns is the most "
            "common burn in added equipment. Sums what flows through each cavity in every state.",
    .formula = "I through the pin <= the terminal's rating",
    .source = "UL 310 guide, 30 K rise, in a tab terminal catalogue (seen); other families from "
              "memory; the catalogue (`loomgraft explain terminals`) says which",
    .remedy = "A larger terminal, two cavities, or a connector of its own.",
    .run = check_terminal_overloaded};

static void check_output_kick(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const output = &c->job->elements[e];
    const int coil = c->survey->unsuppressed[e];
    if (output->kind != LG_EL_OUTPUT || coil < 0 || output->suppression != LG_SUPPRESS_NONE)
      continue;
    lg_found(c, output->origin, lg_say(c, T_("output %s"), output->name),
             lg_say(c,
                    T_("Switches %s, which has nothing to take its kick: on opening the coil makes "
                       "100 V up to above 1 kV across the electronics."),
                    lg_say_element(c, coil)),
             T_("neither the coil nor the output says suppression=; maker notes on relay "
                "suppression, seen"),
             T_("Use a relay with a resistor or diode inside (86 is then plus), or put a diode "
                "across the coil, its ring end to plus; if the output has one inside, write "
                "suppression=diode there."));
  }
}

const LgRule lg_rule_output_kick = {
    .name = "output-kick",
    .grade = LG_GRADE_FAULT,
    .title = N_("an electronic output switches a coil that has no suppression"),
    .what = "A coil that is switched off drives its current on and makes a spike. A mechanical "
            "contact arcs; a transistor dies, at once or after a month.",
    .source = "maker notes on relay suppression: about 100 V to above 1 kV without it, seen",
    .remedy = "A relay with a resistor or diode inside, or a diode across the coil.",
    .run = check_output_kick};

/* --- loads that stay live when off --- */

#define LIVE_SHARE 0.5

static gboolean stays_live(LgCheckContext *c, int e)
{
  const LgElement *const element = &c->job->elements[e];
  const LgElementKind kind = element->kind;
  const gboolean asked =
      kind == LG_EL_HEATER || kind == LG_EL_MOTOR || kind == LG_EL_FAN || kind == LG_EL_PUMP;
  if (!asked || c->job->parts[element->part].is != LG_IS_DONOR ||
      c->states->elements[e].most_A.state < 0)
    return FALSE;
  const int body = lg_ground_net(c);
  /* The reference is the minus post, so the body of a positive-ground vehicle lies at plus. */
  const double zero_V = c->job->positive_ground ? c->job->nominal_V : 0;
  for (int k = 0; k < 2; k++) {
    const double volts = c->point->volts[element->pin[k]];
    if (lg_pin_net(c, element->pin[k]) == body || isnan(volts) ||
        fabs(volts - zero_V) < LIVE_SHARE * c->job->nominal_V)
      return FALSE;
  }
  return fabs(c->point->element_A[e]) < 0.01;
}

static void check_live_when_off(LgCheckContext *c)
{
  lg_check_solve(c, 0, -1, 0);
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const element = &c->job->elements[e];
    if (!stays_live(c, e))
      continue;
    lg_found(c, element->origin, lg_say(c, T_("load %s"), element->name),
             lg_say(c,
                    T_("Is switched in the %s side: with everything at rest both its pins stand at "
                       "supply volts, and a chafe to the body switches it on."),
                    T_(c->job->ground_word)),
             T_("volts at its pins with everything at rest"),
             T_("Switch it in the feed, or take its feed from behind the key."));
  }
}

const LgRule lg_rule_live_when_off = {
    .name = "live-when-off",
    .grade = LG_GRADE_CAUTION,
    .title = N_("a donor's heater or motor stays live while it is off"),
    .what =
        "A load that is switched in its return, on a feed that is always live, has supply volts "
        "on both pins while it is off. A pinched return wire in the seat then switches it on.",
    .source = "common practice, no source",
    .remedy = "Switch the feed.",
    .run = check_live_when_off};
