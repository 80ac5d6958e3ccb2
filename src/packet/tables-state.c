/* One solved state as tables. */
#include "base/words.h"
#include "packet/tables-private.h"
#include <math.h>

static const LgColumn pin_columns[] = {
    LG_TEXT_COLUMN("pin", "Pin"),
    LG_TEXT_COLUMN("label", "What it is"),
    LG_NUMBER_COLUMN("volts_V", "Volts", LG_DIM_VOLTAGE, 4),
    LG_FLAG_COLUMN("floating", "Floating"),
    LG_COLUMNS_END,
};

LgTable *lg_table_state_pins(const LgCircuit *circuit, const LgPoint *point)
{
  const LgJob *const job = circuit->job;
  LgTable *const table = lg_table_new("pins", T_("Pins"), pin_columns);
  for (int p = 0; p < job->n_pins; p++)
    lg_table_add(table, job->pins[p].name, job->pins[p].label, point->volts[p],
                 isnan(point->volts[p]));
  table->note = g_strdup(T_("Floating: tied to no source and not to the body."));
  return table;
}

static const LgColumn wire_columns[] = {
    LG_TEXT_COLUMN("wire", "Wire"),
    LG_TEXT_COLUMN("from", "From"),
    LG_TEXT_COLUMN("to", "To"),
    LG_NUMBER_COLUMN("current_A", "Current", LG_DIM_CURRENT, 4),
    LG_NUMBER_COLUMN("drop_V", "Drop", LG_DIM_VOLTAGE, 3),
    LG_NUMBER_COLUMN("lost_W", "Lost", LG_DIM_POWER, 3),
    LG_COLUMNS_END,
};

LgTable *lg_table_state_wires(const LgCircuit *circuit, const LgPoint *point)
{
  const LgJob *const job = circuit->job;
  LgTable *const table = lg_table_new("wires", T_("Wires"), wire_columns);
  for (int w = 0; w < job->n_wires; w++) {
    const LgWire *const wire = &job->wires[w];
    /* The drop of a stiff wire comes from its current: the difference of two volts loses digits. */
    const double ohm = 1 / lg_net_branch(circuit->net, circuit->wire_branch[w])->p[0];
    const double drop_V = point->wire_A[w] * ohm;
    lg_table_add(table, wire->name, job->pins[wire->pin[0]].name, job->pins[wire->pin[1]].name,
                 point->wire_A[w], drop_V, drop_V * point->wire_A[w]);
  }
  table->note = g_strdup(T_("Current counts from the first pin to the second."));
  return table;
}

static const LgColumn element_columns[] = {
    LG_TEXT_COLUMN("element", "Element"),
    LG_TEXT_COLUMN("kind", "Kind"),
    LG_TEXT_COLUMN("what", "What it does"),
    LG_NUMBER_COLUMN("current_A", "Current", LG_DIM_CURRENT, 4),
    LG_NUMBER_COLUMN("volts_V", "Volts across", LG_DIM_VOLTAGE, 4),
    LG_NUMBER_COLUMN("power_W", "Power", LG_DIM_POWER, 3),
    LG_TEXT_COLUMN("state", "State"),
    LG_COLUMNS_END,
};

static const char *state_word(const LgJob *job, const LgPoint *point, int e)
{
  const LgElement *const element = &job->elements[e];
  if (element->kind == LG_EL_COIL)
    return point->pulled[e] ? T_("pulled") : T_("released");
  if (element->kind == LG_EL_MAKE)
    return point->pulled[element->by] ? T_("closed") : T_("open");
  if (element->kind == LG_EL_BREAK)
    return point->pulled[element->by] ? T_("open") : T_("closed");
  if (!lg_element_is_contact(element->kind))
    return "";
  const int input = job->parts[element->part].input;
  const gboolean hand =
      element->closed == 0 || input < 0 || (element->closed >> point->position[input] & 1) != 0;
  const gboolean call = element->call < 0 || point->position[element->call] == 1;
  return hand && call ? T_("closed") : T_("open");
}

LgTable *lg_table_state_elements(const LgCircuit *circuit, const LgPoint *point)
{
  const LgJob *const job = circuit->job;
  LgTable *const table = lg_table_new("elements", T_("Elements"), element_columns);
  for (int e = 0; e < job->n_elements; e++)
    lg_table_add(table, job->elements[e].name, lg_element_said(job->elements[e].kind),
                 job->elements[e].label, point->element_A[e], point->element_V[e],
                 fabs(point->element_A[e] * point->element_V[e]), state_word(job, point, e));
  table->note = g_strdup(T_("Current counts from the first pin to the second; volts are the first "
                            "pin's against the second."));
  return table;
}
