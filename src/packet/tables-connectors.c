/* Connector tables: every cavity of a face, empty ones too. */
#include "base/words.h"
#include "packet/tables-private.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const LgColumn cavity_columns[] = {
    LG_TEXT_COLUMN("cavity", "Cavity"),     LG_TEXT_COLUMN("colour", "Colour"),
    LG_TEXT_COLUMN("function", "Function"), LG_TEXT_COLUMN("goes_to", "Goes to"),
    LG_TEXT_COLUMN("behind", "Behind it"),  LG_TEXT_COLUMN("evidence", "Known from"),
    LG_TEXT_COLUMN("measured", "Measured"), LG_COLUMNS_END,
};

static const char *const evidence_words[] = {[LG_EVIDENCE_MEASURED] = "measured",
                                             [LG_EVIDENCE_DOCUMENT] = "document",
                                             [LG_EVIDENCE_TOLD] = "told",
                                             [LG_EVIDENCE_GUESS] = "guess"};
static const char *const latch_words[] = {N_("top"), N_("bottom"), N_("left"), N_("right")};

/* Standard parts carry their terminals' numbers moulded or printed; a table of them tells nothing.
 */
static gboolean wants_table(const LgJob *job, const LgPart *part)
{
  gboolean own = FALSE;
  for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++)
    own = own || !job->pins[p].from_type;
  return part->rows > 0 || (own && part->n_pins > 1);
}

static char *goes_to(const LgJob *job, int pin)
{
  g_autoptr(GString) words = g_string_new(NULL);
  for (int w = 0; w < job->n_wires; w++)
    for (int k = 0; k < 2; k++)
      if (job->wires[w].pin[k] == pin) {
        g_autofree char *one = g_strdup_printf(T_("%s to %s"), job->wires[w].name,
                                               job->pins[job->wires[w].pin[1 - k]].name);
        lg_words_add(words, "; ", one);
      }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static char *behind(const LgJob *job, int pin)
{
  const LgPart *const part = &job->parts[job->pins[pin].part];
  g_autoptr(GString) words = g_string_new(NULL);
  for (int e = part->first_element; e < part->first_element + part->n_elements; e++) {
    const LgElement *const element = &job->elements[e];
    for (int k = 0; k < 2; k++)
      if (element->pin[k] == pin) {
        const int other = element->pin[1 - k];
        g_autofree char *one = other >= 0
                                   ? g_strdup_printf(T_("%s to %s"), lg_words_element(job, e),
                                                     job->pins[other].short_name)
                                   : g_strdup(T_("vehicle body"));
        lg_words_add(words, "; ", one);
      }
  }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static char *reading_words(const LgJob *job, const LgReading *reading, int other)
{
  g_autoptr(GString) words = g_string_new(NULL);
  const struct {
    double value;
    LgDim dim;
  } values[] = {{reading->resistance, LG_DIM_RESISTANCE},
                {reading->volts, LG_DIM_VOLTAGE},
                {reading->current, LG_DIM_CURRENT}};
  for (gsize i = 0; i < G_N_ELEMENTS(values); i++)
    if (!isnan(values[i].value)) {
      g_autofree char *value = lg_words_quantity(job, values[i].value, values[i].dim);
      lg_words_add(words, ", ", value);
    }
  if (reading->open)
    lg_words_add(words, ", ", T_("open"));
  g_string_append_printf(words, T_(" to %s"), job->pins[other].name);
  if (!isnan(reading->resistance) && !isnan(reading->temperature_K)) {
    g_autofree char *warmth =
        lg_quantity_print(reading->temperature_K, LG_DIM_TEMPERATURE, job->habit, 2);
    g_string_append_printf(words, T_(" at %s"), warmth);
  }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static char *measured(const LgJob *job, int pin)
{
  g_autoptr(GString) words = g_string_new(NULL);
  for (int r = 0; r < job->n_readings; r++)
    for (int k = 0; k < 2; k++)
      if (job->readings[r].pin[k] == pin && job->readings[r].pin[1 - k] >= 0) {
        g_autofree char *one = reading_words(job, &job->readings[r], job->readings[r].pin[1 - k]);
        lg_words_add(words, "; ", one);
      }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static char *known_from(const LgPin *pin)
{
  const char *const grade = evidence_words[pin->evidence];
  return pin->said_by != NULL ? g_strdup_printf("%s: %s", grade, pin->said_by) : g_strdup(grade);
}

static void add_pin(LgTable *table, const LgJob *job, int index)
{
  const LgPin *const pin = &job->pins[index];
  g_autofree char *cavity =
      pin->cavity > 0 ? g_strdup_printf(T_("%s (moulded %d)"), pin->short_name, pin->cavity)
                      : g_strdup(pin->short_name);
  if (pin->restraint != LG_RESTRAINT_NO) {
    lg_table_add(table, cavity, pin->colour,
                 pin->restraint == LG_RESTRAINT_YES
                     ? T_("LEAVE ALONE: restraint circuit. No meter, no lamp, no supply.")
                     : T_("LEAVE ALONE: may be a restraint circuit. No meter, no lamp, no supply."),
                 "", "", "", "");
    return;
  }
  g_autofree char *to = goes_to(job, index);
  g_autofree char *inside = behind(job, index);
  g_autofree char *known = known_from(pin);
  g_autofree char *found = measured(job, index);
  const char *const label = pin->label != NULL ? pin->label : LG_GAP;
  g_autofree char *function = pin->fitted == LG_FITTED_NO
                                  ? g_strdup_printf(T_("empty: no terminal found%s%s"),
                                                    pin->label != NULL ? T_("; for ") : "",
                                                    pin->label != NULL ? pin->label : "")
                              : pin->fitted == LG_FITTED_UNKNOWN
                                  ? g_strdup_printf(T_("%s; terminal not looked for yet"), label)
                                  : g_strdup(label);
  lg_table_add(table, cavity, pin->colour, function,
               to[0] != '\0' ? to : T_("no wire in the sheet"), inside,
               pin->fitted == LG_FITTED_NO ? "" : known, found);
}

/* The number of a cavity: as moulded, else the name when it is a number; 0: neither. */
static int cavity_number(const LgPin *pin)
{
  if (pin->cavity > 0)
    return pin->cavity;
  char *end;
  const long number = strtol(pin->short_name, &end, 10);
  return *end == '\0' && number > 0 && number <= G_MAXINT ? (int)number : 0;
}

static int pin_of_cavity(const LgJob *job, const LgPart *part, int cavity)
{
  for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++)
    if (cavity_number(&job->pins[p]) == cavity)
      return p;
  return -1;
}

static void add_cavities(LgTable *table, const LgJob *job, const LgPart *part)
{
  const int n = part->rows * part->columns;
  for (int c = 1; c <= n; c++) {
    const int pin = pin_of_cavity(job, part, c);
    g_autofree char *number = g_strdup_printf("%d", c);
    if (pin >= 0)
      add_pin(table, job, pin);
    else
      lg_table_add(table, number, "", T_("empty"), "", "", "", "");
  }
  for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++) {
    const int c = cavity_number(&job->pins[p]);
    if (c < 1 || c > n || pin_of_cavity(job, part, c) != p)
      add_pin(table, job, p);
  }
}

/* Whether every cavity's place in the face is known by number. */
static gboolean all_numbered(const LgJob *job, const LgPart *part)
{
  for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++)
    if (cavity_number(&job->pins[p]) == 0)
      return FALSE;
  return TRUE;
}

static char *face_note(const LgJob *job, const LgPart *part)
{
  g_autoptr(GString) note = g_string_new(NULL);
  g_string_append_printf(note, T_("Half: %s. "),
                         part->n_elements > 0 ? T_("on the device")
                                              : T_("plug or socket of the harness"));
  if (part->rows > 0)
    g_string_append_printf(
        note, T_("Face %d x %d, seen from %s, latch %s. "), part->rows, part->columns,
        part->mating_view ? T_("the mating side") : T_("the side where the wires enter"),
        T_(latch_words[part->latch]));
  else
    g_string_append(note, T_("Face, view and latch: not in the sheet. "));
  g_string_append(note, all_numbered(job, part) ? T_("Numbers as moulded in the body. ")
                                                : T_("Names are those of the sheet. "));
  g_string_append_printf(note, T_("Body: %s."), part->housing != NULL ? part->housing : LG_GAP);
  return g_string_free(g_steal_pointer(&note), FALSE);
}

static LgTable *connector_table(const LgJob *job, const LgPart *part)
{
  g_autofree char *key = g_strdup_printf("connector-%s", part->name);
  g_autofree char *title = g_strdup_printf("%s: %s", part->name, lg_words_part(part));
  LgTable *const table = lg_table_new(g_intern_string(key), title, cavity_columns);
  if (part->rows > 0 && all_numbered(job, part))
    add_cavities(table, job, part);
  else
    for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++)
      add_pin(table, job, p);
  table->note = face_note(job, part);
  return table;
}

GPtrArray *lg_tables_connectors(const LgJob *job)
{
  GPtrArray *const tables = g_ptr_array_new_with_free_func((GDestroyNotify)lg_table_free);
  for (int i = 0; i < job->n_parts; i++)
    if (wants_table(job, &job->parts[i]))
      g_ptr_array_add(tables, connector_table(job, &job->parts[i]));
  return tables;
}
