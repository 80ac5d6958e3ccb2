/* What to ask the seller of the donor parts for: decided in minutes, seldom asked twice. */
#include "base/words.h"
#include "packet/tables-private.h"
#include <math.h>
#include <string.h>

static const LgColumn buying_columns[] = {
    LG_TEXT_COLUMN("part", "For"),
    LG_TEXT_COLUMN("ask", "Ask for"),
    LG_NUMBER_COLUMN("quantity", "Quantity", LG_DIM_NONE, 4),
    LG_TEXT_COLUMN("why", "Because"),
    LG_COLUMNS_END,
};

static gboolean is_class(const LgPart *part, const char *word)
{
  return strcmp(part->class_word, word) == 0;
}

static int n_pins_wired(const LgJob *job, const LgPart *part)
{
  int n = 0;
  for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++)
    for (int w = 0; w < job->n_wires; w++)
      if (job->wires[w].pin[0] == p || job->wires[w].pin[1] == p) {
        n++;
        break;
      }
  return n;
}

static int n_cavities(const LgPart *part)
{
  return part->rows > 0 ? part->rows * part->columns : part->n_pins;
}

/* A plug with so much tail can be spliced at arm's length from the part: common practice. */
#define TAIL_M 0.3

static void ask_plug(LgTable *table, const LgJob *job, const LgPart *part)
{
  if (part->n_pins < 2 || (part->rows == 0 && n_pins_wired(job, part) < 2))
    return;
  if (part->tail_m > 0) {
    g_autofree char *tail = lg_words_quantity(job, part->tail_m, LG_DIM_LENGTH);
    g_autofree char *why =
        g_strdup_printf(T_("the sheet counts on %s of tail; the wires are joined there"), tail);
    lg_table_add(table, part->name, T_("the plug with its tail uncut"), 1.0, why);
    return;
  }
  if (is_class(part, "connector") || is_class(part, "relay")) {
    lg_table_add(table, part->name,
                 is_class(part, "relay") ? T_("its socket with terminals and tail")
                                         : T_("both halves, each with its tail"),
                 1.0, T_("a loose half seldom finds its mate again"));
    return;
  }
  g_autofree char *tail = lg_words_quantity(job, TAIL_M, LG_DIM_LENGTH);
  g_autofree char *ask = g_strdup_printf(T_("%s, %d ways%s%s, with at least %s of every wire"),
                                         is_class(part, "switch") || is_class(part, "thermostat")
                                             ? T_("the switch plug")
                                             : T_("the mating plug"),
                                         n_cavities(part), part->housing != NULL ? ", " : "",
                                         part->housing != NULL ? part->housing : "", tail);
  lg_table_add(table, part->name, ask, 1.0,
               T_("such plugs are hard to get new; the tail shows colours and sizes"));
}

static void ask_cavities(LgTable *table, const LgJob *job, const LgPart *part)
{
  g_autoptr(GString) empty = g_string_new(NULL), unknown = g_string_new(NULL);
  int n_empty = 0, n_unknown = 0;
  for (int w = 0; w < job->n_wires; w++)
    for (int k = 0; k < 2; k++) {
      const LgPin *const pin = &job->pins[job->wires[w].pin[k]];
      if (&job->parts[pin->part] != part)
        continue;
      if (pin->fitted == LG_FITTED_NO) {
        lg_words_add(empty, ", ", pin->short_name);
        n_empty++;
      } else if (pin->fitted == LG_FITTED_UNKNOWN) {
        lg_words_add(unknown, ", ", pin->short_name);
        n_unknown++;
      }
    }
  if (n_empty > 0) {
    g_autofree char *ask = g_strdup_printf(T_("terminals with tail for cavity %s"), empty->str);
    lg_table_add(table, part->name, ask, (double)n_empty, T_("found empty, and a wire goes there"));
  }
  if (n_unknown > 0) {
    g_autofree char *ask =
        g_strdup_printf(T_("to see whether cavity %s holds a terminal"), unknown->str);
    lg_table_add(table, part->name, ask, (double)n_unknown,
                 T_("without it the option is not fitted"));
  }
}

static gboolean is_wet(const LgJob *job, const LgPart *part)
{
  if (part->place < 0)
    return FALSE;
  gboolean wet = job->places[part->place].wet;
  for (int r = 0; r < job->n_runs; r++)
    wet = wet || (job->runs[r].wet &&
                  (job->runs[r].from == part->place || job->runs[r].to == part->place));
  return wet;
}

static void ask_seals(LgTable *table, const LgJob *job, const LgPart *part)
{
  if (!is_wet(job, part) || part->n_pins < 2)
    return;
  const int wired = n_pins_wired(job, part), blanks = n_cavities(part) - wired;
  lg_table_add(table, part->name, T_("wire seals with the terminals"), (double)wired,
               T_("it gets wet there"));
  if (blanks > 0)
    lg_table_add(table, part->name, T_("blanking plugs for the unused cavities"), (double)blanks,
                 T_("an open cavity lets water in"));
}

/* A sensor and what listens to it belong together: another curve regulates at another warmth. */
static void ask_sensor(LgTable *table, const LgJob *job, const LgElement *element, int *paired)
{
  if (element->kind == LG_EL_THERMISTOR) {
    g_autofree char *ohm = lg_words_quantity(job, element->p[LG_P_R25], LG_DIM_RESISTANCE);
    g_autofree char *ask =
        g_strdup_printf(T_("the sensor %s left in place and uncut"), element->short_name);
    g_autofree char *warmth = lg_words_warmth(job, 25);
    g_autofree char *why = g_strdup_printf(T_("about %s at %s is counted on"), ohm, warmth);
    lg_table_add(table, job->parts[element->part].name, ask, 1.0, why);
  }
  if (element->senses >= 0 && element->senses != *paired &&
      job->elements[element->senses].part != element->part) {
    *paired = element->senses;
    g_autofree char *ask =
        g_strdup_printf(T_("%s and %s from the same vehicle"), job->parts[element->part].name,
                        job->elements[element->senses].name);
    lg_table_add(table, job->parts[element->part].name, ask, 1.0,
                 T_("with another sensor it regulates at another warmth"));
  }
}

static gboolean has_restraint(const LgJob *job, const LgPart *part)
{
  for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++)
    if (lg_pin_is_restraint(job, p))
      return TRUE;
  return part->restraint != LG_RESTRAINT_NO;
}

static void ask_restraint(LgTable *table, const LgJob *job, const LgPart *part)
{
  if (!has_restraint(job, part))
    return;
  g_autoptr(GString) pins = g_string_new(NULL);
  for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++)
    if (lg_pin_is_restraint(job, p))
      lg_words_add(pins, ", ", job->pins[p].short_name);
  g_autofree char *where =
      pins->len > 0 ? g_strdup_printf(T_("cavity %s"), pins->str) : g_strdup(lg_words_part(part));
  g_autofree char *why =
      g_strdup_printf(T_("%s: airbag or belt, or may be. No meter, no lamp; leave it closed. The "
                         "maker may forbid its use in another vehicle"),
                      where);
  lg_table_add(table, part->name, T_("whether an airbag or belt tensioner is inside"), 1.0, why);
}

static void ask_papers(LgTable *table, const LgJob *job)
{
  const char *donor = NULL;
  for (int i = 0; i < job->n_vehicles; i++)
    if (job->vehicles[i].donor)
      donor = job->vehicles[i].text != NULL ? job->vehicles[i].text : job->vehicles[i].name;
  lg_table_add(
      table, donor != NULL ? donor : T_("donor vehicle"),
      T_("year, variant, options; photographs of every plug from both sides before it is cut"), 1.0,
      T_("pin tables differ between variants"));
}

static void ask_part(LgTable *table, const LgJob *job, const LgPart *part)
{
  int paired = -1;
  lg_table_add(table, part->name, lg_words_part(part), 1.0, part->buy);
  ask_plug(table, job, part);
  ask_cavities(table, job, part);
  for (int e = part->first_element; e < part->first_element + part->n_elements; e++)
    ask_sensor(table, job, &job->elements[e], &paired);
  ask_seals(table, job, part);
}

LgTable *lg_table_buying(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  LgTable *const table =
      lg_table_new("buying", T_("What to ask the seller of the donor parts for"), buying_columns);
  for (int i = 0; i < job->n_parts; i++) {
    const LgPart *const part = &job->parts[i];
    /* What only donor wires reach comes with the part that holds it. */
    const gboolean alone = lg_part_is_wired(job, part) || part->buy != NULL;
    if (part->is != LG_IS_DONOR || (!alone && !has_restraint(job, part)))
      continue;
    if (table->n_rows == 0)
      ask_papers(table, job);
    if (alone)
      ask_part(table, job, part);
    ask_restraint(table, job, part);
  }
  table->note =
      g_strdup(table->n_rows == 0 ? T_("The sheet has no donor parts (`is=donor`).")
                                  : T_("Cut far from the plug; a longer tail costs nothing."));
  return table;
}
