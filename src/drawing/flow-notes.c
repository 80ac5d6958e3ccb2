/* Notes at the foot of each sheet: how to read it, and what is not on it. */
#include "base/words.h"
#include "drawing/flow-private.h"

#define MOST_LINES 4

static const char how[] =
    N_("A level line is one point drawn long: post, stud, splice or terminal. An upright line is a "
       "wire (name, colour as base/stripe by IEC 60757, size) or a device (IEC 60617). A box bears "
       "the path where the line goes on; “in 5”: on path 5. Words at a "
       "switch: where it "
       "is closed.");

static char *restraint_words(const LgJob *job)
{
  g_autoptr(GString) names = g_string_new(NULL);
  for (int p = 0; p < job->n_parts; p++) {
    const LgPart *const part = &job->parts[p];
    if (part->restraint != LG_RESTRAINT_NO)
      g_string_append_printf(names, "%s%s", names->len > 0 ? ", " : "", part->name);
    for (int k = part->first_pin; k < part->first_pin + part->n_pins; k++)
      if (part->restraint == LG_RESTRAINT_NO && job->pins[k].restraint != LG_RESTRAINT_NO)
        g_string_append_printf(names, "%s%s", names->len > 0 ? ", " : "", job->pins[k].name);
  }
  return names->len == 0
             ? NULL
             : g_strdup_printf(T_("Restraint circuits, leave alone, not drawn: %s."), names->str);
}

/* Contacts, fuses and the like whose far terminal has no wire are left out; so are whole parts
 * without a wire. */
static char *spare_words(const LgFlowGraph *graph)
{
  const LgJob *const job = graph->job;
  g_autoptr(GString) names = g_string_new(NULL);
  for (int p = 0; p < job->n_parts; p++) {
    const LgPart *const part = &job->parts[p];
    int drawn = 0, spare = 0;
    for (int k = part->first_pin; k < part->first_pin + part->n_pins; k++) {
      drawn += lg_flow_degree(graph, k);
      spare += graph->spare[k];
    }
    if (drawn == 0 && spare > 0)
      g_string_append_printf(names, "%s%s", names->len > 0 ? ", " : "", part->name);
    for (int k = part->first_pin; k < part->first_pin + part->n_pins && drawn > 0; k++)
      if (graph->spare[k] && lg_flow_degree(graph, k) == 0)
        g_string_append_printf(names, "%s%s", names->len > 0 ? ", " : "", job->pins[k].name);
  }
  return names->len == 0 ? NULL : g_strdup_printf(T_("Without a wire, not drawn: %s."), names->str);
}

static void add_wrapped(GPtrArray *notes, const char *text, double width, int most)
{
  char **lines = lg_text_wrap(text, LG_TEXT_SMALL_MM, FALSE, width, most);
  for (int i = 0; lines[i] != NULL; i++)
    g_ptr_array_add(notes, lines[i]);
  g_free(lines);
}

void lg_flow_find_notes(LgFlow *flow)
{
  const double width = flow->graph->options.width_mm - 2 * LG_MARGIN_MM - 3.4;
  GPtrArray *const notes = g_ptr_array_new();
  g_autofree char *spare = spare_words(flow->graph);
  g_autofree char *restraint = restraint_words(flow->graph->job);
  flow->stop_note = G_MAXINT;
  if (restraint != NULL) {
    flow->stop_note = 0;
    add_wrapped(notes, restraint, width, MOST_LINES);
  }
  if (spare != NULL)
    add_wrapped(notes, spare, width, 2);
  add_wrapped(notes, T_(how), width, MOST_LINES);
  g_ptr_array_add(notes, NULL);
  flow->notes = (char **)g_ptr_array_free(notes, FALSE);
}

double lg_flow_notes_height(const LgFlow *flow)
{
  return (double)g_strv_length(flow->notes) * 3.2 + 2;
}
