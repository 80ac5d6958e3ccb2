/* Before first power: what must be measured because nobody has, then the order of the trade:
 * continuity, no links, polarity, a lamp in place of each fuse, one function at a time. */
#include "base/words.h"
#include "packet/tables-private.h"
#include <math.h>
#include <string.h>

static const LgColumn step_columns[] = {
    LG_NUMBER_COLUMN("step", "Step", LG_DIM_NONE, 5),
    LG_TEXT_COLUMN("stage", "Stage"),
    LG_TEXT_COLUMN("from", "Red lead"),
    LG_TEXT_COLUMN("to", "Black lead"),
    LG_TEXT_COLUMN("check", "What"),
    LG_TEXT_COLUMN("meter", "Meter"),
    LG_TEXT_COLUMN("expected", "Expect"),
    LG_COLUMNS_END,
};
static const LgColumn whole_columns[] = {
    LG_NUMBER_COLUMN("step", "Step", LG_DIM_NONE, 5),
    LG_TEXT_COLUMN("stage", "Stage"),
    LG_TEXT_COLUMN("from", "Red lead"),
    LG_TEXT_COLUMN("to", "Black lead"),
    LG_TEXT_COLUMN("check", "What"),
    LG_TEXT_COLUMN("meter", "Meter"),
    LG_TEXT_COLUMN("expected", "Expect"),
    LG_ASK_COLUMNS,
    LG_COLUMNS_END,
};

const char *const lg_pre_power_stages[] = {N_("Look and tug"),
                                           N_("Measure what nobody has measured"),
                                           N_("Each wire, end to end"),
                                           N_("No links"),
                                           N_("Polarity"),
                                           N_("A lamp in place of each fuse"),
                                           N_("First power"),
                                           NULL};

enum { LOOK, MEASURE, WIRES, LINKS, POLARITY, LAMP, POWER };

static void add_asking(LgTable *table, const LgJob *job, int stage, const char *from,
                       const char *to, const char *check, const char *meter, const char *expected,
                       LgAsk ask)
{
  lg_table_add(table, (double)(table->n_rows + 1), T_(lg_pre_power_stages[stage]), from, to, check,
               meter, expected, LG_ASK_CELLS(job, ask, ""));
}

static void add(LgTable *table, int stage, const char *from, const char *to, const char *check,
                const char *meter, const char *expected)
{
  add_asking(table, NULL, stage, from, to, check, meter, expected, LG_ASKS_NOTHING);
}

/* A pin that a reading must settle: its part is no standard part, it holds a terminal, nobody has
 * measured it, and it may be touched. */
static gboolean must_measure(const LgJob *job, int pin)
{
  const LgPin *const p = &job->pins[pin];
  return !p->from_type && p->evidence != LG_EVIDENCE_MEASURED && p->fitted != LG_FITTED_NO &&
         !lg_pin_is_restraint(job, pin);
}

/* A cheap meter resolves a tenth of an ohm. */
#define METER_OHM 0.1
/* Below these volts nothing is switched on: a meter picks up as much from wires beside it. */
#define METER_V 0.5
/* Below this it tells little more than that there is a way. */
#define LOW_OHM 0.5

static const char *meter_range(double ohm)
{
  static const struct {
    double to;
    const char *range;
  } ranges[] = {{150, N_("ohms, 200 range")},
                {1.5e3, N_("ohms, 2 k range")},
                {15e3, N_("ohms, 20 k range")},
                {150e3, N_("ohms, 200 k range")}};
  for (gsize i = 0; i < G_N_ELEMENTS(ranges); i++)
    if (ohm <= ranges[i].to)
      return T_(ranges[i].range);
  return T_("ohms, highest range");
}

/* How to look at what an ohmmeter cannot tell or not alone. */
static const char *hint(const LgElement *element)
{
  switch (element->kind) {
  case LG_EL_MOTOR:
  case LG_EL_FAN:
  case LG_EL_PUMP:
    return T_("; flickers when turned by hand");
  case LG_EL_LAMP:
    return T_("; cold filament");
  case LG_EL_THERMISTOR:
    return T_("; falls when warmed in the hand");
  case LG_EL_CONTACT:
    return T_("; work the switch: it must change");
  default:
    return "";
  }
}

static char *expected_ohms(const LgJob *job, const LgElement *element, LgOhms ohms)
{
  if (isinf(ohms.ohm))
    return g_strdup_printf(T_("open at rest%s"), hint(element));
  const double most = ohms.ohm * (1 + ohms.tolerance);
  if (most < LOW_OHM)
    return g_strdup_printf(T_("%.1f ohm or less%s"), ceil(most / METER_OHM) * METER_OHM,
                           hint(element));
  g_autofree char *middle = lg_quantity_print(ohms.ohm, LG_DIM_RESISTANCE, job->habit, 2);
  g_autofree char *low =
      lg_quantity_print(ohms.ohm * (1 - ohms.tolerance), LG_DIM_RESISTANCE, job->habit, 2);
  g_autofree char *high = lg_quantity_print(most, LG_DIM_RESISTANCE, job->habit, 2);
  g_autofree char *warmth = lg_words_warmth(job, 20);
  return g_strdup_printf(T_("%s at %s (%s to %s)%s%s"), middle, warmth, low, high, hint(element),
                         ohms.shared ? T_("; other ways lie in parallel") : "");
}

static LgAsk asked_ohms(const LgElement *element, LgOhms ohms)
{
  const int a = element->pin[0], b = element->pin[1];
  if (isinf(ohms.ohm))
    return (LgAsk){"resistance", a, b, NAN, NAN, TRUE};
  const double most = ohms.ohm * (1 + ohms.tolerance);
  if (most < LOW_OHM)
    return (LgAsk){"resistance", a, b, 0, ceil(most / METER_OHM) * METER_OHM, FALSE};
  return (LgAsk){"resistance", a, b, ohms.ohm * (1 - ohms.tolerance), most, FALSE};
}

static void measure_element(LgTable *table, const LgJob *job, int e)
{
  const LgElement *const element = &job->elements[e];
  const int a = element->pin[0], b = element->pin[1];
  if (b < 0 || lg_pin_is_restraint(job, a) || lg_pin_is_restraint(job, b) ||
      !(must_measure(job, a) || must_measure(job, b)))
    return;
  const char *const from = job->pins[a].name, *const to = job->pins[b].name;
  const LgOhms ohms = lg_ohms_of_element(job, e);
  if (element->kind == LG_EL_DIODE || element->kind == LG_EL_LED) {
    g_autofree char *forward = lg_words_quantity(job, element->p[LG_P_FORWARD], LG_DIM_VOLTAGE);
    g_autofree char *expected = g_strdup_printf(
        T_("about %s this way, open with the leads swapped; a meter may show open for some LEDs"),
        forward);
    add_asking(table, job, MEASURE, from, to, lg_words_element(job, e), T_("diode test"), expected,
               (LgAsk){"volts", -1, -1, NAN, NAN, FALSE});
  } else if (isnan(ohms.ohm)) {
    add(table, MEASURE, from, to, lg_words_element(job, e), T_("none"),
        T_("no ohmmeter on electronics: find its plus and minus in the papers"));
  } else {
    g_autofree char *expected = expected_ohms(job, element, ohms);
    add_asking(table, job, MEASURE, from, to, lg_words_element(job, e), meter_range(ohms.ohm),
               expected, asked_ohms(element, ohms));
  }
}

static gboolean has_element(const LgJob *job, int pin)
{
  const LgPart *const part = &job->parts[job->pins[pin].part];
  for (int e = part->first_element; e < part->first_element + part->n_elements; e++)
    if (job->elements[e].pin[0] == pin || job->elements[e].pin[1] == pin)
      return TRUE;
  return FALSE;
}

static gboolean is_wired(const LgJob *job, int pin)
{
  for (int w = 0; w < job->n_wires; w++)
    if (job->wires[w].pin[0] == pin || job->wires[w].pin[1] == pin)
      return TRUE;
  return FALSE;
}

static void measure_parts(LgTable *table, const LgJob *job)
{
  for (int i = 0; i < job->n_parts; i++) {
    const LgPart *const part = &job->parts[i];
    for (int e = part->first_element; e < part->first_element + part->n_elements; e++)
      measure_element(table, job, e);
    for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++)
      if (part->n_elements > 0 && must_measure(job, p) && !has_element(job, p) && is_wired(job, p))
        add(table, MEASURE, job->pins[p].name, T_("every other cavity, and the frame"),
            job->pins[p].label != NULL ? job->pins[p].label
                                       : T_("what it does is not in the sheet"),
            T_("ohms, 200 range first"),
            T_("what is behind it is not in the sheet: note each reading"));
  }
}

static void add_look(LgTable *table, const LgJob *job)
{
  add(table, LOOK, "", "", T_("battery minus off and insulated; every plug of donor parts apart"),
      T_("eyes"), T_("done"));
  add(table, LOOK, "", "", T_("each crimp: strands beyond the wings, insulation held, not pierced"),
      T_("eyes"), T_("all good"));
  add(table, LOOK, "", "", T_("tug each wire at each end"), T_("hand"), T_("none moves"));
  add_asking(table, job, LOOK, "", "",
             T_("meter leads held together: note the ohms and subtract them from here on"),
             T_("ohms, 200 range"), T_("0.1 to 0.5 ohm"),
             (LgAsk){"resistance", -1, -1, 0, 0.5, FALSE});
}

static gboolean may_touch(const LgJob *job, const LgWire *wire)
{
  return !lg_pin_is_restraint(job, wire->pin[0]) && !lg_pin_is_restraint(job, wire->pin[1]);
}

static void add_wires(LgTable *table, const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  for (int w = 0; w < job->n_wires; w++) {
    const LgWire *const wire = &job->wires[w];
    if (!lg_wire_is_cut(wire) || !may_touch(job, wire) || sizing->wires[w].conductor == NULL)
      continue;
    const double ohm =
        lg_wire_resistance(job, wire, sizing->wires[w].conductor, LG_ZERO_C_IN_K + 20);
    const double most_ohm = ceil((2 * ohm + METER_OHM) / METER_OHM) * METER_OHM;
    g_autofree char *expected = g_strdup_printf(T_("%.1f ohm or less"), most_ohm);
    g_autofree char *what = g_strdup_printf(T_("%s, end to end"), wire->name);
    add_asking(table, job, WIRES, job->pins[wire->pin[0]].name, job->pins[wire->pin[1]].name, what,
               T_("ohms, 200 range"), expected,
               (LgAsk){"resistance", wire->pin[0], wire->pin[1], 0, most_ohm, FALSE});
  }
}

/* Fuses that are put in by the builder: of parts that are not the host's own. */
static gboolean is_own_fuse(const LgJob *job, int e)
{
  return lg_element_is_protection(job->elements[e].kind) &&
         job->parts[job->elements[e].part].is != LG_IS_HOST;
}

/* The cavities of a part that no lead may touch, in words; "" when there is none. */
static char *cavities_left_alone(const LgJob *job, const LgPart *part)
{
  g_autoptr(GString) words = g_string_new(NULL);
  for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++)
    if (lg_pin_is_restraint(job, p))
      lg_words_add(words, ", ", job->pins[p].short_name);
  return words->len == 0 ? g_strdup("")
                         : g_strdup_printf(T_("; LEAVE ALONE cavity %s"), words->str);
}

static void add_links(LgTable *table, const LgJob *job)
{
  for (int i = 0; i < job->n_parts; i++) {
    const LgPart *const part = &job->parts[i];
    if (part->rows == 0 || part->restraint != LG_RESTRAINT_NO || !lg_part_is_wired(job, part))
      continue;
    g_autofree char *alone = cavities_left_alone(job, part);
    g_autofree char *what =
        g_strdup_printf(T_("plug of %s, apart from the part, new wires only%s"), part->name, alone);
    add(table, LINKS, T_("each new wire"), T_("every other"), what, T_("ohms, highest range"),
        T_("open; those that meet in a splice, at one fuse or at one ground: 0.1 ohm"));
  }
  for (int e = 0; e < job->n_elements; e++)
    if (is_own_fuse(job, e) && job->elements[e].pin[1] >= 0)
      add_asking(table, job, LINKS, job->pins[job->elements[e].pin[1]].name, T_("vehicle body"),
                 T_("fuses out, loads unplugged, switches off"), T_("ohms, highest range"),
                 T_("open"), (LgAsk){"resistance", -1, -1, NAN, NAN, TRUE});
}

/* The fuses that lie between the sources and a pin: of the wires that bring current to it. */
static char *fuses_before(const LgSizing *sizing, int pin)
{
  const LgJob *const job = sizing->circuit->job;
  g_autoptr(GString) words = g_string_new(NULL);
  for (int w = 0; w < job->n_wires; w++)
    if (job->wires[w].pin[0] == pin || job->wires[w].pin[1] == pin)
      for (int i = 0; i < sizing->protection[w].n_devices; i++) {
        const int device = sizing->protection[w].devices[i];
        if (job->elements[device].pin[0] != pin && job->elements[device].pin[1] != pin)
          lg_words_add(words, ", ", lg_words_name(job, device));
      }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static gboolean is_live(const LgJob *job, const LgPoint *rest, int pin)
{
  return rest->volts[pin] > 0.5 * job->nominal_V;
}

static char *expected_volts(const LgSizing *sizing, const LgPoint *rest, int pin)
{
  const LgJob *const job = sizing->circuit->job;
  const double rest_V = rest->volts[pin], most_V = sizing->states->pins[pin].most_V.value;
  const gboolean live = is_live(job, rest, pin);
  g_autofree char *volts = lg_words_quantity(job, live ? rest_V : most_V, LG_DIM_VOLTAGE);
  return live ? g_strdup_printf(T_("about %s, no minus sign"), volts)
              : g_strdup_printf(
                    T_("0 with everything off; at most %s, no minus sign, when it is switched on"),
                    volts);
}

/* The minus post of the first battery; -1. */
static int battery_minus(const LgJob *job)
{
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_CELL)
      return job->elements[e].pin[1];
  return -1;
}

/* Volts at rest are off by what the battery's charge is not known (a tenth: 11.7 to 12.9 V at rest
 * between empty and full, common practice), and by the lamp. */
#define CHARGE_SHARE 0.1

static LgAsk asked_volts(const LgJob *job, const LgPoint *rest, int pin)
{
  const double volts = rest->volts[pin];
  const gboolean live = is_live(job, rest, pin);
  return (LgAsk){"volts",
                 pin,
                 battery_minus(job),
                 live ? (1 - CHARGE_SHARE) * volts : -METER_V,
                 live ? (1 + CHARGE_SHARE) * volts : METER_V,
                 FALSE};
}

static void add_polarity(LgTable *table, const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  g_autoptr(LgNetWork) work = lg_net_work_new(sizing->circuit->net);
  g_autoptr(LgPoint) rest = lg_point_new(sizing->circuit);
  lg_circuit_solve(sizing->circuit, work, rest);
  g_autofree char *battery =
      g_strdup_printf(T_("all fuses out; battery joined, the %s strap last"), T_(job->ground_word));
  add(table, POLARITY, "", "", battery, T_("eyes"), T_("no more than a small spark"));
  for (int e = 0; e < job->n_elements; e++) {
    if (!is_own_fuse(job, e))
      continue;
    const int pin = job->elements[e].pin[0];
    g_autofree char *before = fuses_before(sizing, pin);
    g_autofree char *what =
        g_strdup_printf(T_("supply side of %s%s%s"), lg_words_name(job, e),
                        before[0] != '\0' ? T_(", lamp in place of ") : "", before);
    g_autofree char *expected = expected_volts(sizing, rest, pin);
    add_asking(table, job, POLARITY, job->pins[pin].name, T_("battery minus"), what, T_("volts DC"),
               expected, asked_volts(job, rest, pin));
  }
}

/* Currents that a solution leaves below this are zero. */
#define NOTHING_A 1e-9

static double rest_current(const LgSizing *sizing, int element)
{
  const double rest_A = fabs(sizing->states->elements[element].rest_A.value);
  return rest_A > NOTHING_A ? rest_A : 0;
}

static void add_lamps(LgTable *table, const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  g_autofree char *nominal = lg_number_print(job->nominal_V, 3);
  for (int e = 0; e < job->n_elements; e++) {
    if (!is_own_fuse(job, e))
      continue;
    const double rest_A = rest_current(sizing, e);
    g_autofree char *what =
        g_strdup_printf(T_("in place of %s: a lamp of 21 W for %s V, or a supply limited to 1 A"),
                        lg_words_name(job, e), nominal);
    g_autofree char *rest = lg_words_quantity(job, rest_A, LG_DIM_CURRENT);
    g_autofree char *expected = g_strdup_printf(
        T_("everything off: %s (%s expected); it lights only when a function is called"),
        rest_A > 0.05 ? T_("it may glow") : T_("dark"), rest);
    add(table, LAMP, "", "", what, T_("lamp"), expected);
  }
}

static void add_power(LgTable *table, const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  double rest_A = 0;
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_CELL)
      rest_A += rest_current(sizing, e);
  g_autofree char *rest = lg_words_quantity(job, rest_A, LG_DIM_CURRENT);
  g_autofree char *drain =
      g_strdup_printf(T_("%s from this job; the vehicle's own comes on top"), rest);
  const LgAsk current = {"current", -1, -1, NAN, NAN, FALSE};
  add_asking(table, job, POWER, T_("battery minus"), T_("its lead, taken off"),
             T_("fuses in, key off: meter in the open battery lead"),
             T_("amperes, 10 A socket first"), drain, current);
  add(table, POWER, "", "", T_("one function at a time, in the order of the expected readings"),
      T_("volts"), T_("as listed"));
  add(table, POWER, "", "",
      T_("each load working: drop over each joint, wire, switch and relay contact"),
      T_("millivolts"),
      T_("joint near 0; ground 100 mV; wire 200 mV; switch or contact 300 mV at most"));
  add(table, POWER, "", "", T_("after 15 minutes of the greatest load: each joint, fuse and relay"),
      T_("back of the hand"), T_("no more than warm"));
  add(table, POWER, "", "", T_("moving parts through their whole travel"), T_("eyes"),
      T_("no wire pulls or rubs"));
  add_asking(table, job, POWER, "", "",
             T_("key off, doors shut, units asleep (5 to 75 minutes): resting drain"),
             T_("milliamperes"), drain, current);
}

static char *leave_alone(const LgJob *job)
{
  g_autoptr(GString) pins = g_string_new(NULL);
  for (int p = 0; p < job->n_pins; p++)
    if (lg_pin_is_restraint(job, p))
      lg_words_add(pins, ", ", job->pins[p].name);
  return pins->len == 0
             ? g_strdup("")
             : g_strdup_printf(T_("LEAVE ALONE, no meter, no lamp, no supply: %s. "), pins->str);
}

LgTable *lg_steps_pre_power(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  LgTable *const table = lg_table_new("pre-power", T_("Before first power"), whole_columns);
  add_look(table, job);
  measure_parts(table, job);
  add_wires(table, sizing);
  add_links(table, job);
  add_polarity(table, sizing);
  add_lamps(table, sizing);
  add_power(table, sizing);
  g_autofree char *alone = leave_alone(job);
  table->note = g_strdup_printf(T_("%sOhms only with the battery off and the plug apart. Stop at "
                                   "the first step that does not come out as expected."),
                                alone);
  return table;
}

LgTable *lg_table_pre_power(const LgSizing *sizing)
{
  return lg_table_for_people(lg_steps_pre_power(sizing), step_columns);
}
