/* The legend: what a reader of another shop or land needs to read the rest. */
#include "base/words.h"
#include "packet/packet-private.h"
#include "packet/tables-private.h"
#include "sheet/colour.h"
#include <string.h>

static void add_unique(GPtrArray *list, const char *text)
{
  if (text == NULL)
    return;
  for (guint i = 0; i < list->len; i++)
    if (strcmp(list->pdata[i], text) == 0)
      return;
  g_ptr_array_add(list, g_strdup(text));
}

static void print_list(LgDocument *document, const char *heading, GPtrArray *lines)
{
  if (lines->len == 0)
    return;
  g_ptr_array_add(lines, NULL);
  lg_document_heading(document, heading);
  lg_document_list(document, (const char *const *)lines->pdata, FALSE);
}

/* Each code as it stands in the sheet, with the word for it. */
static void add_colour(GPtrArray *lines, const char *colour)
{
  g_auto(GStrv) codes = g_strsplit(colour != NULL ? colour : "", "/", -1);
  for (int i = 0; codes[i] != NULL; i++) {
    int base, stripe;
    if (!lg_colour_read(codes[i], &base, &stripe))
      continue;
    g_autofree char *line = g_strdup_printf("%s %s", codes[i], T_(lg_colours[base].word));
    add_unique(lines, line);
  }
}

static int by_text(gconstpointer a, gconstpointer b)
{
  return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static void print_colours(LgDocument *document, const LgJob *job)
{
  g_autoptr(GPtrArray) lines = g_ptr_array_new_with_free_func(g_free);
  for (int w = 0; w < job->n_wires; w++)
    add_colour(lines, job->wires[w].colour);
  for (int p = 0; p < job->n_pins; p++)
    add_colour(lines, job->pins[p].colour);
  g_ptr_array_sort(lines, by_text);
  if (lines->len == 0)
    return;
  g_ptr_array_add(lines, NULL);
  g_autofree char *joined = g_strjoinv(", ", (char **)lines->pdata);
  g_autofree char *text =
      g_strdup_printf(T_("%s. Letters of IEC 60757, written base/stripe: GN/BU is green with a "
                         "blue stripe. A colour is a hint, never proof: measure."),
                      joined);
  lg_document_heading(document, T_("Colours of wires"));
  lg_document_paragraph(document, text);
}

/* Letters as vehicles have them by habit, after IEC 81346 and its forerunners. */
static const char *const letters[][2] = {
    {"B", N_("sensor")},
    {"E", N_("heater or lamp")},
    {"F", N_("fuse or breaker")},
    {"G", N_("battery, alternator, supply")},
    {"H", N_("signal lamp, buzzer")},
    {"K", N_("relay")},
    {"M", N_("motor, fan, pump")},
    {"P", N_("indicator, meter")},
    {"Q", N_("main switch")},
    {"R", N_("resistor, diode")},
    {"S", N_("switch worked by hand")},
    {"T", N_("converter")},
    {"W", N_("wire")},
    {"X", N_("connector, splice, stud, ground point")},
    {"Y", N_("solenoid")},
};

static void print_letters(LgDocument *document, const LgJob *job)
{
  g_autoptr(GString) text = g_string_new(NULL);
  for (gsize i = 0; i < G_N_ELEMENTS(letters); i++) {
    gboolean used = letters[i][0][0] == 'W' && job->n_wires > 0;
    for (int p = 0; p < job->n_parts && !used; p++)
      used = g_strcmp0(job->parts[p].letter, letters[i][0]) == 0;
    g_autofree char *line = g_strdup_printf("%s %s", letters[i][0], T_(letters[i][1]));
    if (used)
      lg_words_add(text, ", ", line);
  }
  g_string_append(text, T_(". Letters of IEC 81346-2 by vehicle habit; PART.PIN is one terminal of "
                           "a part. Terminal numbers of standard parts: DIN 72552."));
  lg_document_heading(document, T_("Letters and names"));
  lg_document_paragraph(document, text->str);
}

static void print_grades(LgDocument *document)
{
  const char *const lines[] = {
      T_("measured: a reading in the sheet backs it"),
      T_("document: service papers say so, which are named"),
      T_("told: hearsay, a forum, a seller"),
      T_("guess: nobody has said so; measure it before first power"),
      T_("danger: can burn or hurt. fault: will not do what is needed. unproven: rests on a fact "
         "that nobody has measured. caution: works, but is poor practice."),
      NULL};
  lg_document_heading(document, T_("What the grades mean"));
  lg_document_list(document, lines, FALSE);
}

static void print_units(LgDocument *document, const LgJob *job)
{
  lg_document_heading(document, T_("Units"));
  lg_document_paragraph(
      document,
      job->habit == LG_HABIT_US
          ? T_("ft feet, in inches, AWG American wire gauge (a higher number is thinner), degF "
               "Fahrenheit, V volts, A amperes, ohm; mV and mA are thousandths, kohm thousands. "
               "The CSV files carry metres and degrees Celsius.")
          : T_("m metres, mm2 square millimetres of metal (not the outside diameter), AWG American "
               "wire gauge (a higher number is thinner), degC Celsius, V volts, A amperes, ohm; "
               "mV, mA and mohm are thousandths, kohm thousands."));
}

static void print_sources(LgDocument *document, const LgPacket *packet)
{
  const LgSizing *const sizing = packet->sizing;
  const LgJob *const job = packet->job;
  g_autoptr(GPtrArray) lines = g_ptr_array_new_with_free_func(g_free);
  for (int w = 0; w < job->n_wires; w++) {
    add_unique(lines, sizing->wires[w].allowance.source);
    if (sizing->wires[w].conductor != NULL)
      add_unique(lines, sizing->wires[w].conductor->source);
    if (job->wires[w].insulation != NULL)
      add_unique(lines, job->wires[w].insulation->source);
  }
  for (int e = 0; e < job->n_elements; e++)
    if (lg_element_is_protection(job->elements[e].kind) && sizing->fuses[e].fuse != NULL)
      add_unique(lines, sizing->fuses[e].fuse->source);
  for (int p = 0; p < job->n_pins; p++)
    if (job->pins[p].terminal != NULL)
      add_unique(lines, job->pins[p].terminal->source);
  print_list(document, T_("Where the figures come from"), lines);
}

void lg_packet_legend(LgDocument *document, const LgPacket *packet)
{
  lg_document_section(document, T_("Legend"));
  print_colours(document, packet->job);
  print_letters(document, packet->job);
  print_units(document, packet->job);
  lg_document_paragraph(document,
                        T_("A question mark stands for a figure that is not known; \"not in the "
                           "sheet\" for a fact that nobody has written down yet."));
  print_grades(document);
  print_sources(document, packet);
}
