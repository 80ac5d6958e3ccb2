/* The battery and what fills it: standing, heat with the key off, charging. */
#include "studies/checks-private.h"

/* Charge at which a lead battery still starts the engine: half. Common practice, no source. */
#define FLOOR 0.5
#define HOURS_A_DAY 24.0

/* The three greatest draws at rest, told by name. */
static const char *greedy(LgCheckContext *c)
{
  const char *text = "";
  double below_A = INFINITY;
  for (int n = 0; n < 3; n++) {
    int found = -1;
    for (int e = 0; e < c->job->n_elements; e++) {
      const LgElementKind kind = c->job->elements[e].kind;
      const double amps = c->states->elements[e].rest_A.value;
      if ((lg_element_is_load(kind) || kind == LG_EL_COIL || kind == LG_EL_THERMISTOR) &&
          amps < below_A && amps > 1e-4 &&
          (found < 0 || amps > c->states->elements[found].rest_A.value))
        found = e;
    }
    if (found < 0)
      break;
    below_A = c->states->elements[found].rest_A.value;
    text = lg_say(c, "%s%s%s %s", text, n > 0 ? ", " : "", lg_say_element(c, found),
                  lg_say_amps(c, below_A));
  }
  return text;
}

static void check_standing(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const cell = &c->job->elements[e];
    const double rest_A = c->states->elements[e].rest_A.value;
    if (cell->kind != LG_EL_CELL || !(rest_A > 0))
      continue;
    const double *const p = cell->p;
    const double usable_Ah = p[LG_P_CAPACITY] * fmax(p[LG_P_CHARGE] - FLOOR, 0) *
                             lg_peukert_share(p[LG_P_PEUKERT], p[LG_P_CAPACITY], rest_A);
    const double hours = usable_Ah / rest_A, wanted_h = c->job->standing_s / 3600;
    if (hours >= wanted_h)
      continue;
    lg_found(c, cell->origin, lg_say(c, "battery %s", lg_say_element(c, e)),
             lg_say(c,
                    "Gives %s with everything at rest and is down to half after %s; it should "
                    "stand %s. Greatest: %s.",
                    lg_say_amps(c, rest_A), lg_say_hours(c, hours), lg_say_hours(c, wanted_h),
                    greedy(c)),
             lg_say(c,
                    "%.3g Ah from %s down to %s of charge, at which it still starts (common "
                    "practice, no source), Peukert exponent %.3g; self-discharge not counted",
                    p[LG_P_CAPACITY], lg_say_percent(c, p[LG_P_CHARGE]), lg_say_percent(c, FLOOR),
                    p[LG_P_PEUKERT]),
             lg_say(c,
                    "Feed what need not live from behind the key, or fit a main switch: at most "
                    "%s may flow at rest.",
                    lg_say_amps(c, usable_Ah / wanted_h)));
  }
}

const LgRule lg_rule_standing = {
    .name = "standing-drain",
    .grade = LG_GRADE_FAULT,
    .title = "the battery does not last the time that the vehicle stands",
    .what =
        "Sums what flows with every input at rest (standby of modules, pull-up resistors, coils, "
        "lights on permanent feed) and compares it with half the battery.",
    .formula =
        "days = capacity x (charge - 50 %) x min (1, (I20 / I)^(n-1)) / I / 24 h >= standing",
    .source = "Peukert's law with exponents of a battery monitor manual (seen); 20 to 50 mA is the "
              "usual ceiling of repair manuals (seen); half charge: common practice, no source",
    .remedy = "Behind the key, a smaller standby, or a main switch.",
    .run = check_standing};

/* --- a heater that the key does not stop --- */

static int key_input(const LgJob *job)
{
  for (int i = 0; i < job->n_inputs; i++)
    if (job->inputs[i].kind == LG_INPUT_HAND &&
        strcmp(job->parts[job->inputs[i].part].class_word, "key") == 0)
      return i;
  return -1;
}

/* A need about the heater, its part's pins or its wires says that it was thought of. */
static gboolean is_thought_of(const LgJob *job, int element)
{
  for (int n = 0; n < job->n_needs; n++)
    if (job->needs[n].target == LG_TARGET_ELEMENT && job->needs[n].index == element)
      return TRUE;
  return FALSE;
}

static double largest_Ah(const LgJob *job)
{
  double most = 0;
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_CELL)
      most = fmax(most, job->elements[e].p[LG_P_CAPACITY]);
  return most;
}

static void check_heat_key_off(LgCheckContext *c)
{
  const int key = key_input(c->job);
  for (int e = 0; e < c->job->n_elements && key >= 0; e++) {
    const LgElement *const heater = &c->job->elements[e];
    const LgExtreme most = c->states->elements[e].most_A;
    if (heater->kind != LG_EL_HEATER || most.state < 0 || is_thought_of(c->job, e))
      continue;
    lg_check_solve(c, most.state, key, 0);
    const double amps = fabs(c->point->element_A[e]), battery_Ah = largest_Ah(c->job);
    if (amps < 0.1 * heater->p[LG_P_RUN] || !lg_circuit_possible(c->job, c->point->position))
      continue;
    const char *const empty = battery_Ah > 0
                                  ? lg_say(c, " and empties half of %.3g Ah in %s", battery_Ah,
                                           lg_say_hours(c, FLOOR * battery_Ah / amps))
                                  : "";
    lg_found(
        c, heater->origin, lg_say(c, "heater %s", heater->name),
        lg_say(c, "Can be on with %s=%s: it draws %s%s.", c->job->inputs[key].name,
               c->job->inputs[key].positions[0], lg_say_amps(c, amps), empty),
        "state with the key off and all else as when it draws most; common practice, no source",
        "Feed it, or the relay that switches it, from behind the key; if it is meant to work "
        "with the key off, write a `need` for it.");
  }
}

const LgRule lg_rule_heat_key_off = {
    .name = "heat-key-off",
    .grade = LG_GRADE_CAUTION,
    .title = "a heater can be left on with the key off",
    .what =
        "A heater on a permanent feed is forgotten one day: the battery is flat, and nobody is "
        "there to notice when it gets too hot. Asked only where the sheet has a key and no need "
        "speaks of the heater.",
    .source = "common practice, no source",
    .remedy = "A feed from behind the key, through a relay.",
    .run = check_heat_key_off};

/* --- charging --- */

#define DEFICIT_A 0.5

/* What the batteries give while the charger stands at a position; NAN when that cannot be. */
static double deficit_A(LgCheckContext *c, int charger_input, int position)
{
  if (c->survey->supply_A.state < 0)
    return NAN;
  lg_check_solve(c, c->survey->supply_A.state, charger_input, position);
  if (!lg_circuit_possible(c->job, c->point->position))
    return NAN;
  double sum = 0;
  for (int e = 0; e < c->job->n_elements; e++)
    if (c->job->elements[e].kind == LG_EL_CELL)
      sum -= c->point->element_A[e];
  return sum;
}

static gboolean is_charger(const LgElement *element)
{
  return element->kind == LG_EL_ALTERNATOR || element->kind == LG_EL_DYNAMO;
}

static double all_cells_Ah(const LgJob *job)
{
  double sum = 0;
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_CELL)
      sum += job->elements[e].p[LG_P_CAPACITY];
  return sum;
}

/* The state in c->point, "KEY=on S1=on". */
static const char *say_point(LgCheckContext *c)
{
  g_autofree guint8 *position = g_new0(guint8, (gsize)c->job->n_inputs + 1);
  for (int i = 0; i < c->job->n_inputs; i++)
    position[i] = (guint8)c->point->position[i];
  g_autofree char *words = lg_state_words(c->job, position);
  return lg_say(c, "%s", words);
}

static void report_deficit(LgCheckContext *c, int charger, double amps, gboolean idle)
{
  const LgElement *const element = &c->job->elements[charger];
  const double gives_A = fabs(c->point->element_A[charger]);
  const double battery_Ah = all_cells_Ah(c->job);
  lg_found(c, element->origin,
           lg_say(c, "%s %s", lg_element_word(element->kind), lg_say_element(c, charger)),
           lg_say(c,
                  "%s with all on (%s) it gives %s and the battery must give %s, so half of %.3g "
                  "Ah lasts %s.",
                  idle ? "At idle" : "On the road", say_point(c), lg_say_amps(c, gives_A),
                  lg_say_amps(c, amps), battery_Ah, lg_say_hours(c, FLOOR * battery_Ah / amps)),
           idle && (element->given >> LG_P_IDLE & 1) == 0
               ? lg_say(c, "%s at idle, taken as 40 %% of its rated %s: common practice, no source",
                        lg_say_amps(c, element->p[LG_P_IDLE]),
                        lg_say_amps(c, element->p[LG_P_RATED]))
               : lg_say(c, "%s as the sheet gives it",
                        lg_say_amps(c, element->p[idle ? LG_P_IDLE : LG_P_RATED])),
           idle ? "Do not idle long with all on, or let the heavy loads work only while driving "
                  "(feed their relay from the charge tell-tale's terminal)."
                : "Fewer loads at a time, or a larger alternator with thicker charging cables.");
}

static void check_deficit(LgCheckContext *c, gboolean idle)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const element = &c->job->elements[e];
    const int input = is_charger(element) ? c->job->parts[element->part].input : -1;
    const int n = input >= 0 ? c->job->inputs[input].n_positions : 0;
    if (!is_charger(element) || (idle && n < 3))
      continue;
    const double amps = deficit_A(c, input, idle ? 1 : n - 1);
    if (amps > DEFICIT_A)
      report_deficit(c, e, amps, idle);
  }
}

static void check_deficit_idle(LgCheckContext *c)
{
  check_deficit(c, TRUE);
}

static void check_deficit_driving(LgCheckContext *c)
{
  check_deficit(c, FALSE);
}

const LgRule lg_rule_deficit_driving = {
    .name = "charge-deficit",
    .grade = LG_GRADE_FAULT,
    .title = "the battery empties while driving with all on",
    .what =
        "Solves the state in which the sources give most, starting left out, with the alternator "
        "or dynamo at speed. When the battery still gives current, the vehicle stops one night.",
    .formula = "sum of the batteries' currents <= 0.5 A with the charger at its rated current",
    .source = "the charger's plate, as the sheet gives it; common practice, no source",
    .remedy = "Fewer loads, or a larger charger.",
    .run = check_deficit_driving};

const LgRule lg_rule_deficit_idle = {
    .name = "idle-deficit",
    .grade = LG_GRADE_CAUTION,
    .title = "the battery empties at idle with all on",
    .what = "At idle an alternator gives a third to a half of its rated current, a dynamo nothing.",
    .formula = "sum of the batteries' currents <= 0.5 A with the charger at its idle current",
    .source = "30 to 50 % at idle: common practice, no source",
    .remedy = "Heavy loads only while driving.",
    .run = check_deficit_idle};
