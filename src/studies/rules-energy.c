/* The battery and what fills it: standing, heat with the key off, charging. */
#include "base/words.h"
#include "studies/checks-private.h"

/* Charge at which a lead battery still starts the engine: half. Common practice, no source. */
#define FLOOR 0.5

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

/* The battery that cranks: one that says its cranking current, else the first. -1 without any. */
static int cranking_cell(const LgJob *job)
{
  int first = -1;
  for (int e = 0; e < job->n_elements; e++) {
    if (job->elements[e].kind != LG_EL_CELL)
      continue;
    if (!isnan(job->elements[e].p[LG_P_CRANKING]))
      return e;
    if (first < 0)
      first = e;
  }
  return first;
}

static double wanted_hours(const LgJob *job)
{
  return job->standing_s / 3600;
}

static gboolean stands(const LgCheckContext *c, int cell)
{
  const double rest_A = c->states->elements[cell].rest_A.value;
  return !(rest_A > 0) ||
         lg_cell_hours(&c->job->elements[cell], rest_A, FLOOR) >= wanted_hours(c->job);
}

/* "; at -20 C it cranks down to 37 %". */
static const char *say_frost(LgCheckContext *c, int cell)
{
  if (cell != cranking_cell(c->job))
    return "";
  const double least = lg_cranking_charge(c->job, cell, c->job->cold_K);
  const char *const cold = lg_say_degrees(c, c->job->cold_K);
  return isinf(least)
             ? lg_say(c, T_("; at %s it does not crank at any charge"), cold)
             : lg_say(c, T_("; at %s it cranks down to %s"), cold, lg_say_percent(c, least));
}

static void check_standing(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const cell = &c->job->elements[e];
    if (cell->kind != LG_EL_CELL || stands(c, e))
      continue;
    const double rest_A = c->states->elements[e].rest_A.value;
    const double hours = lg_cell_hours(cell, rest_A, FLOOR), wanted_h = wanted_hours(c->job);
    lg_found(c, cell->origin, lg_say(c, T_("battery %s"), lg_say_element(c, e)),
             lg_say(c,
                    T_("Gives %s with everything at rest and is down to half after %s; it should "
                       "stand %s. Greatest: %s."),
                    lg_say_amps(c, rest_A), lg_say_hours(c, hours), lg_say_hours(c, wanted_h),
                    greedy(c)),
             lg_say(c,
                    T_("%.3g Ah from %s down to %s of charge, at which it still starts (common "
                       "practice, no source)%s, Peukert exponent %.3g; self-discharge not counted"),
                    cell->p[LG_P_CAPACITY], lg_say_percent(c, cell->p[LG_P_CHARGE]),
                    lg_say_percent(c, FLOOR), say_frost(c, e), cell->p[LG_P_PEUKERT]),
             lg_say(c,
                    T_("Feed what need not live from behind the key, or fit a main switch: at most "
                       "%s may flow at rest."),
                    lg_say_amps(c, rest_A * hours / wanted_h)));
  }
}

const LgRule lg_rule_standing = {
    .name = "standing-drain",
    .grade = LG_GRADE_FAULT,
    .title = N_("the battery does not last the time that the vehicle stands"),
    .what =
        "Sums what flows with every input at rest (standby of modules, pull-up resistors, coils, "
        "lights on permanent feed) and compares it with half the battery.",
    .formula =
        "days = capacity x (charge - 50 %) x min (1, (I20 / I)^(n-1)) / I / 24 h >= standing",
    .source = "Peukert's law with exponents of a battery monitor manual (seen); 20 to 50 mA is the "
              "usual ceiling of repair manuals (seen); half charge: common practice, no source",
    .remedy = "Behind the key, a smaller standby, or a main switch.",
    .run = check_standing};

/* --- frost --- */

static void check_frost(LgCheckContext *c)
{
  const int e = cranking_cell(c->job);
  if (e < 0 || c->job->elements[e].chemistry == LG_CHEM_LITHIUM || !stands(c, e))
    return;
  const LgElement *const cell = &c->job->elements[e];
  const double rest_A = fmax(c->states->elements[e].rest_A.value, 0);
  const double left = cell->p[LG_P_CHARGE] + lg_cell_charging(cell, rest_A) * c->job->standing_s;
  const double least = lg_cranking_charge(c->job, e, c->job->cold_K);
  if (left >= least)
    return;
  gboolean of_starter;
  const double need_A = lg_cranking_need_A(c->job, e, &of_starter);
  const double gives_A = lg_battery_cranking_A((int)cell->chemistry, cell->p[LG_P_VOLTS],
                                               cell->p[LG_P_RESISTANCE], left, c->job->cold_K);
  lg_found(c, cell->origin, lg_say(c, T_("battery %s"), lg_say_element(c, e)),
           lg_say(c,
                  T_("After %s of standing it has %s of charge left and gives %s at %s before it "
                     "falls to %s; the engine wants %s, so it does not start."),
                  lg_say_hours(c, wanted_hours(c->job)), lg_say_percent(c, left),
                  lg_say_amps(c, gives_A), lg_say_degrees(c, c->job->cold_K),
                  lg_say_volts(c, 7.2 * cell->p[LG_P_VOLTS] / 12), lg_say_amps(c, need_A)),
           lg_say(c,
                  T_("%s; 7.2 of 12 V by the cold cranking test of SAE J537 (memory); resistance "
                     "by cold and charge: memory and common practice, no source; %s"),
                  of_starter ? T_("twice the running current of the starter in the sheet (common "
                                  "practice, no source)")
                             : T_("half of the cold cranking current (common practice, no source)"),
                  isinf(least) ? T_("no charge is enough")
                               : lg_say(c, T_("%s of charge would do"), lg_say_percent(c, least))),
           T_("A battery with more cold cranking current, fuller before it stands, or less that "
              "flows at rest."));
}

const LgRule lg_rule_frost_crank = {
    .name = "frost-crank",
    .grade = LG_GRADE_FAULT,
    .title = N_("after standing the engine cannot be cranked in frost"),
    .what = "Takes what flows at rest out of the battery for the time that the vehicle stands, and "
            "asks "
            "whether it still gives the engine's current on the coldest day. Silent where "
            "standing-drain speaks.",
    .formula =
        "I = (open volts (charge) - 7.2 V) / (R x 1.8^((25 C - T) / 43 K) / (0.3 + 0.7 charge)) "
        ">= need",
    .source =
        "SAE J537 (memory, good); resistance at -18 C 1.8 times that of 25 C (memory); need and "
        "charge: common practice, no source",
    .remedy = "A stronger battery, or a fuller one.",
    .run = check_frost};

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
                                  ? lg_say(c, T_(" and empties half of %.3g Ah in %s"), battery_Ah,
                                           lg_say_hours(c, FLOOR * battery_Ah / amps))
                                  : "";
    lg_found(
        c, heater->origin, lg_say(c, T_("heater %s"), heater->name),
        lg_say(c, T_("Can be on with %s=%s: it draws %s%s."), c->job->inputs[key].name,
               c->job->inputs[key].positions[0], lg_say_amps(c, amps), empty),
        T_("state with the key off and all else as when it draws most; common practice, no source"),
        T_("Feed it, or the relay that switches it, from behind the key; if it is meant to work "
           "with the key off, write a `need` for it."));
  }
}

const LgRule lg_rule_heat_key_off = {
    .name = "heat-key-off",
    .grade = LG_GRADE_CAUTION,
    .title = N_("a heater can be left on with the key off"),
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
  lg_found(
      c, element->origin,
      lg_say(c, "%s %s", lg_element_said(element->kind), lg_say_element(c, charger)),
      lg_say(c,
             T_("%s with all on (%s) it gives %s and the battery must give %s, so half of %.3g Ah "
                "lasts %s."),
             idle ? T_("At idle") : T_("On the road"), say_point(c), lg_say_amps(c, gives_A),
             lg_say_amps(c, amps), battery_Ah, lg_say_hours(c, FLOOR * battery_Ah / amps)),
      idle && (element->given >> LG_P_IDLE & 1) == 0
          ? lg_say(c, T_("%s at idle, taken as 40 %% of its rated %s: common practice, no source"),
                   lg_say_amps(c, element->p[LG_P_IDLE]), lg_say_amps(c, element->p[LG_P_RATED]))
          : lg_say(c, T_("%s as the sheet gives it"),
                   lg_say_amps(c, element->p[idle ? LG_P_IDLE : LG_P_RATED])),
      idle ? T_("Do not idle long with all on, or let the heavy loads work only while driving "
                "(feed their relay from the charge tell-tale's terminal).")
           : T_("Fewer loads at a time, or a larger alternator with thicker charging cables."));
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

static gboolean has_engine(const LgUse *use)
{
  for (int s = 0; s < use->n_steps; s++)
    if (use->steps[s].speed_rpm > 0)
      return TRUE;
  return FALSE;
}

/* Uses with the engine running tell what idling does better than all loads at once. */
static void check_deficit_idle(LgCheckContext *c)
{
  for (int u = 0; u < c->job->n_uses; u++)
    if (has_engine(&c->job->uses[u]))
      return;
  check_deficit(c, TRUE);
}

static void check_deficit_driving(LgCheckContext *c)
{
  check_deficit(c, FALSE);
}

const LgRule lg_rule_deficit_driving = {
    .name = "charge-deficit",
    .grade = LG_GRADE_FAULT,
    .title = N_("the battery empties while driving with all on"),
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
    .title = N_("the battery empties at idle with all on"),
    .what = "At idle an alternator gives a third to a half of its rated current, a dynamo nothing. "
            "Silent where a use runs the engine: use-flat counts what it does then.",
    .formula = "sum of the batteries' currents <= 0.5 A with the charger at its idle current",
    .source = "30 to 50 % at idle: common practice, no source",
    .remedy = "Heavy loads only while driving.",
    .run = check_deficit_idle};

/* --- the balance of a use --- */

#define DAYS 30

static gboolean is_told(const LgCheckContext *c, const LgRule *rule)
{
  for (guint i = 0; i < c->findings->len; i++)
    if (strcmp(((const LgFinding *)c->findings->pdata[i])->rule, rule->name) == 0)
      return TRUE;
  return FALSE;
}

/* Change of the cell's charge over the use when it starts with `charge`, the others with their own.
 */
static double change_from(LgCheckContext *c, const LgUse *use, int cell, double charge)
{
  g_autofree double *charges = g_new0(double, (gsize)c->job->n_elements + 1);
  for (int e = 0; e < c->job->n_elements; e++)
    charges[e] = c->job->elements[e].p[LG_P_CHARGE];
  charges[cell] = charge;
  g_autoptr(LgUseResult) result = lg_use_run(c->heat->bodies, c->heat->supply, use, charges);
  return result->cells[cell].end - charge;
}

/* Times that the use can come, one after the other, until the cell is down to `floor`: its change
 * is taken straight between what it is from the start and from the floor. INFINITY: it settles
 * above. */
static double times_until(LgCheckContext *c, const LgUse *use, int cell, const LgUseCell *run,
                          double floor)
{
  const double first = run->end - run->start;
  if (run->least < floor)
    return 0;
  if (first >= 0)
    return INFINITY;
  const double last = change_from(c, use, cell, floor);
  if (last >= 0)
    return INFINITY;
  const double way = run->start - floor;
  return fabs(first - last) < 1e-9 ? -way / first : way * log(first / last) / (last - first);
}

static const char *say_charge(LgCheckContext *c, double charge_Ah)
{
  return lg_say(c, T_("%.3g Ah"), charge_Ah < 1e-3 ? 0 : charge_Ah);
}

static void report_flat(LgCheckContext *c, const LgUse *use, int cell, const LgUseCell *run,
                        double floor, double times)
{
  const LgElement *const element = &c->job->elements[cell];
  const char *const day = lg_say(c, T_("%s takes %s out and puts %s in"), use->name,
                                 say_charge(c, run->given_Ah), say_charge(c, run->taken_Ah));
  lg_found(
      c, use->origin, lg_say(c, T_("battery %s in use %s"), lg_say_element(c, cell), use->name),
      times < 1 ? lg_say(c, T_("%s: from %s it is down to %s after %s."), day,
                         lg_say_percent(c, run->start), lg_say_percent(c, run->least),
                         lg_say_hours(c, run->least_at_s / 3600))
                : lg_say(c, T_("%s: from %s it is down to %s after %.2g such times."), day,
                         lg_say_percent(c, run->start), lg_say_percent(c, floor), times),
      lg_say(c,
             T_("%.3g Ah; %s is %s; %s; Peukert %.3g, nine tenths of what is put in count "
                "(memory); alternator by speed and acceptance by cold: common practice, no source"),
             element->p[LG_P_CAPACITY], lg_say_percent(c, floor),
             floor > FLOOR ? T_("where it no longer cranks in that cold")
                           : T_("where it still starts (common practice, no source)"),
             lg_say(c, "%s, %s", lg_say_hours(c, use->lasts_s / 3600),
                    lg_say_degrees(c, use->ambient_K)),
             element->p[LG_P_PEUKERT]),
      T_("Less that runs with the engine standing, longer driving, a larger battery, or a second "
         "one behind a relay for what is used at stops."));
}

static void check_use_flat(LgCheckContext *c)
{
  if (is_told(c, &lg_rule_deficit_driving))
    return;
  const LgHeatStudy *const heat = lg_check_heat(c);
  for (int u = 0; u < c->job->n_uses; u++)
    for (int e = 0; e < c->job->n_elements; e++) {
      const LgUse *const use = &c->job->uses[u];
      const LgUseCell *const run = &heat->uses[u]->cells[e];
      if (c->job->elements[e].kind != LG_EL_CELL)
        continue;
      const double frost =
          e == cranking_cell(c->job) ? lg_cranking_charge(c->job, e, use->ambient_K) : 0;
      const double floor = fmax(FLOOR, fmin(frost, 1));
      if (run->start < floor || (use->repeat < 2 && !has_engine(use) && run->least >= floor))
        continue;
      const double times = times_until(c, use, e, run, floor);
      if (times < (use->repeat > 1 ? use->repeat : DAYS))
        report_flat(c, use, e, run, floor, times);
    }
}

const LgRule lg_rule_use_flat = {
    .name = "use-flat",
    .grade = LG_GRADE_FAULT,
    .title = N_("the battery goes flat by the way the vehicle is used"),
    .what =
        "Runs each use: engine speeds, stops, pads that cycle by their thermostats. When less "
        "comes "
        "back than went out, it asks how often the use can come until the battery is down to half, "
        "or no longer cranks. A use that repeats counts as often, one with the engine running 30 "
        "times, another once.",
    .formula =
        "d charge / dt = -I (I / I20)^(n-1) / C when giving, 0.9 I / C when taking; change per "
        "use straight between the start and the floor",
    .source =
        "Peukert's law (seen); yield 0.9: memory, fair; alternator by speed, acceptance by cold, "
        "half charge, 30 days: common practice, no source",
    .remedy = "Less at stops, more driving, a second battery.",
    .run = check_use_flat};
