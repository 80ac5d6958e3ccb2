/* Before first power: what must be measured because nobody has, then the order of the trade:
 * continuity, no links, polarity, a lamp in place of each fuse, one function at a time. */
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

const char *const lg_pre_power_stages[] = {"look",     "measure",       "wires",       "no links",
                                           "polarity", "lamp for fuse", "first power", NULL};

enum { LOOK, MEASURE, WIRES, LINKS, POLARITY, LAMP, POWER };

static void add(LgTable *table, int stage, const char *from, const char *to, const char *check,
                const char *meter, const char *expected)
{
  lg_table_add(table, (double)(table->n_rows + 1), lg_pre_power_stages[stage], from, to, check,
               meter, expected);
}

/* A pin that a reading must settle: its part is no standard part, it holds a terminal, nobody has
 * measured it, and it may be touched. */
static gboolean must_measure(const LgJob *job, int pin)
{
  const LgPin *const p = &job->pins[pin];
  return !p->from_type && p->evidence != LG_EVIDENCE_MEASURED && p->fitted != LG_FITTED_NO &&
         !lg_pin_is_restraint(job, pin);
}

static const char *meter_range(double ohm)
{
  static const struct {
    double to;
    const char *range;
  } ranges[] = {{150, "ohms, 200 range"},
                {1.5e3, "ohms, 2 k range"},
                {15e3, "ohms, 20 k range"},
                {150e3, "ohms, 200 k range"}};
  for (gsize i = 0; i < G_N_ELEMENTS(ranges); i++)
    if (ohm <= ranges[i].to)
      return ranges[i].range;
  return "ohms, highest range";
}

/* How to look at what an ohmmeter cannot tell or not alone. */
static const char *hint(const LgElement *element)
{
  switch (element->kind) {
  case LG_EL_MOTOR:
  case LG_EL_FAN:
  case LG_EL_PUMP:
    return "; flickers when turned by hand";
  case LG_EL_LAMP:
    return "; cold filament";
  case LG_EL_THERMISTOR:
    return "; falls when warmed in the hand";
  case LG_EL_CONTACT:
    return "; work the switch: it must change";
  default:
    return "";
  }
}

static char *expected_ohms(const LgJob *job, const LgElement *element, LgOhms ohms)
{
  if (isinf(ohms.ohm))
    return g_strdup_printf("open at rest%s", hint(element));
  if (ohms.ohm < 0.1)
    return g_strdup_printf("0.1 ohm or less%s", hint(element));
  g_autofree char *middle = lg_words_quantity(job, ohms.ohm, LG_DIM_RESISTANCE);
  g_autofree char *low = lg_words_quantity(job, ohms.ohm * (1 - ohms.tolerance), LG_DIM_RESISTANCE);
  g_autofree char *high =
      lg_words_quantity(job, ohms.ohm * (1 + ohms.tolerance), LG_DIM_RESISTANCE);
  return g_strdup_printf("%s at 20 degC (%s to %s)%s%s", middle, low, high, hint(element),
                         ohms.shared ? "; other ways lie in parallel" : "");
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
        "about %s this way, open with the leads swapped; a meter may show open for some LEDs",
        forward);
    add(table, MEASURE, from, to, lg_words_element(element), "diode test", expected);
  } else if (isnan(ohms.ohm)) {
    add(table, MEASURE, from, to, lg_words_element(element), "none",
        "no ohmmeter on electronics: find its plus and minus in the papers");
  } else {
    g_autofree char *expected = expected_ohms(job, element, ohms);
    add(table, MEASURE, from, to, lg_words_element(element), meter_range(ohms.ohm), expected);
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
        add(table, MEASURE, job->pins[p].name, "every other cavity, and the frame",
            job->pins[p].label != NULL ? job->pins[p].label : "what it does is " LG_GAP,
            "ohms, 200 range first", "what is behind it is " LG_GAP ": note each reading");
  }
}

static void add_look(LgTable *table)
{
  add(table, LOOK, "", "", "battery minus off and insulated; every plug of donor parts apart",
      "eyes", "done");
  add(table, LOOK, "", "", "each crimp: strands beyond the wings, insulation held, not pierced",
      "eyes", "all good");
  add(table, LOOK, "", "", "tug each wire at each end", "hand", "none moves");
  add(table, LOOK, "", "",
      "meter leads held together: note the ohms and subtract them from here on", "ohms, 200 range",
      "0.1 to 0.5 ohm");
}

static gboolean may_touch(const LgJob *job, const LgWire *wire)
{
  return !lg_pin_is_restraint(job, wire->pin[0]) && !lg_pin_is_restraint(job, wire->pin[1]);
}

/* A cheap meter resolves a tenth of an ohm. */
#define METER_OHM 0.1

static void add_wires(LgTable *table, const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  for (int w = 0; w < job->n_wires; w++) {
    const LgWire *const wire = &job->wires[w];
    if (!lg_wire_is_cut(wire) || !may_touch(job, wire) || sizing->wires[w].conductor == NULL)
      continue;
    const double ohm =
        lg_wire_resistance(job, wire, sizing->wires[w].conductor, LG_ZERO_C_IN_K + 20);
    g_autofree char *most = lg_words_quantity(job, 2 * ohm + METER_OHM, LG_DIM_RESISTANCE);
    g_autofree char *expected = g_strdup_printf("%s or less", most);
    g_autofree char *what = g_strdup_printf("%s, end to end", wire->name);
    add(table, WIRES, job->pins[wire->pin[0]].name, job->pins[wire->pin[1]].name, what,
        "ohms, 200 range", expected);
  }
}

/* Fuses that are put in by the builder: of parts that are not the host's own. */
static gboolean is_own_fuse(const LgJob *job, int e)
{
  return lg_element_is_protection(job->elements[e].kind) &&
         job->parts[job->elements[e].part].is != LG_IS_HOST;
}

static void add_links(LgTable *table, const LgJob *job)
{
  for (int i = 0; i < job->n_parts; i++) {
    const LgPart *const part = &job->parts[i];
    if (part->n_pins < 3 || part->is == LG_IS_HOST || part->restraint != LG_RESTRAINT_NO ||
        part->n_elements == 0 || part->rows == 0)
      continue;
    g_autofree char *what = g_strdup_printf(
        "loose plug of %s: each wire against every other, the device off", part->name);
    add(table, LINKS, part->name, part->name, what, "ohms, highest range",
        "open; wires that join in a splice or at one fuse: 0.1 ohm");
  }
  for (int e = 0; e < job->n_elements; e++)
    if (is_own_fuse(job, e) && job->elements[e].pin[1] >= 0)
      add(table, LINKS, job->pins[job->elements[e].pin[1]].name, "vehicle body",
          "fuse out, loads unplugged, switches off", "ohms, highest range", "open");
}

static void add_polarity(LgTable *table, const LgJob *job)
{
  g_autofree char *volts = lg_quantity_print(job->nominal_V, LG_DIM_VOLTAGE, job->habit, 3);
  g_autofree char *expected =
      g_strdup_printf("about %s and no minus sign; 0 where the key or a relay feeds it", volts);
  add(table, POLARITY, "", "",
      job->positive_ground ? "all fuses out; battery joined, earth strap on plus, last"
                           : "all fuses out; battery joined, minus last",
      "eyes", "no spark to speak of");
  for (int e = 0; e < job->n_elements; e++)
    if (is_own_fuse(job, e))
      add(table, POLARITY, job->pins[job->elements[e].pin[0]].name, "battery minus",
          job->elements[e].name, "volts DC", expected);
}

static void add_lamps(LgTable *table, const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  for (int e = 0; e < job->n_elements; e++) {
    if (!is_own_fuse(job, e))
      continue;
    const double rest_A = sizing->states->elements[e].rest_A.value;
    g_autofree char *rest =
        lg_words_quantity(job, isnan(rest_A) ? 0 : fabs(rest_A), LG_DIM_CURRENT);
    g_autofree char *expected =
        g_strdup_printf("everything off: %s (%s expected); bright only when a function is called",
                        fabs(rest_A) > 0.05 ? "it may glow" : "dark", rest);
    add(table, LAMP, job->elements[e].name, "",
        "a 21 W lamp, or a supply limited to 1 A, in place of the fuse", "lamp", expected);
  }
}

static void add_power(LgTable *table, const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  double rest_A = 0;
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_CELL && sizing->states->elements[e].rest_A.value > 0)
      rest_A += sizing->states->elements[e].rest_A.value;
  g_autofree char *rest = lg_words_quantity(job, rest_A, LG_DIM_CURRENT);
  g_autofree char *drain =
      g_strdup_printf("%s from this job; the vehicle's own comes on top", rest);
  add(table, POWER, "battery minus", job->ground_word,
      "fuses in, key off: meter in the open battery lead", "amperes, 10 A socket first", drain);
  add(table, POWER, "", "", "one function at a time, in the order of the expected readings",
      "volts", "as listed");
  add(table, POWER, "", "",
      "each load working: drop over each joint, wire, switch and relay contact", "millivolts",
      "joint near 0; ground 100 mV; wire 200 mV; switch or contact 300 mV at most");
  add(table, POWER, "", "", "after 15 minutes of the greatest load: each joint, fuse and relay",
      "back of the hand", "no more than warm");
  add(table, POWER, "", "", "moving parts through their whole travel", "eyes",
      "no wire pulls or rubs");
  add(table, POWER, "", "", "key off, doors shut, units asleep (5 to 75 minutes): resting drain",
      "milliamperes", drain);
}

static char *leave_alone(const LgJob *job)
{
  g_autoptr(GString) pins = g_string_new(NULL);
  for (int p = 0; p < job->n_pins; p++)
    if (lg_pin_is_restraint(job, p))
      lg_words_add(pins, ", ", job->pins[p].name);
  return pins->len == 0
             ? g_strdup("")
             : g_strdup_printf("LEAVE ALONE, no meter, no lamp, no supply: %s. ", pins->str);
}

LgTable *lg_table_pre_power(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  LgTable *const table = lg_table_new("pre-power", "Before first power", step_columns);
  add_look(table);
  measure_parts(table, job);
  add_wires(table, sizing);
  add_links(table, job);
  add_polarity(table, job);
  add_lamps(table, sizing);
  add_power(table, sizing);
  g_autofree char *alone = leave_alone(job);
  table->note = g_strdup_printf("%sOhms only with the battery off and the plug apart. Stop at the "
                                "first step that does not come out as expected.",
                                alone);
  return table;
}
