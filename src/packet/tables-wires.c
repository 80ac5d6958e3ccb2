/* From-to list and cut list. */
#include "base/words.h"
#include "packet/tables-private.h"
#include <math.h>
#include <string.h>

static const LgColumn wire_columns[] = {
    LG_TEXT_COLUMN("wire", "Wire"),
    LG_TEXT_COLUMN("from", "From"),
    LG_TEXT_COLUMN("to", "To"),
    LG_TEXT_COLUMN("function", "Function"),
    LG_TEXT_COLUMN("size", "Size"),
    LG_TEXT_COLUMN("other_size", "Or, not thinner"),
    LG_TEXT_COLUMN("colour", "Colour"),
    LG_TEXT_COLUMN("insulation", "Insulation"),
    LG_NUMBER_COLUMN("length_m", "Length", LG_DIM_LENGTH, 3),
    LG_NUMBER_COLUMN("spare_m", "Spare", LG_DIM_LENGTH, 2),
    LG_NUMBER_COLUMN("cut_m", "Cut", LG_DIM_LENGTH, 3),
    LG_NUMBER_COLUMN("strip_from_m", "Strip, from", LG_DIM_LENGTH, 2),
    LG_NUMBER_COLUMN("strip_to_m", "Strip, to", LG_DIM_LENGTH, 2),
    LG_TEXT_COLUMN("terminal_from", "Terminal, from"),
    LG_TEXT_COLUMN("terminal_to", "Terminal, to"),
    LG_TEXT_COLUMN("seal_from", "Seal, from"),
    LG_TEXT_COLUMN("seal_to", "Seal, to"),
    LG_TEXT_COLUMN("circuit", "Circuit"),
    LG_TEXT_COLUMN("fuse", "Fuse"),
    LG_TEXT_COLUMN("state", "State"),
    LG_TEXT_COLUMN("remark", "Remark"),
    LG_COLUMNS_END,
};

/* What the wire does: its own text, else the label of the end that has one. */
static const char *function_of(const LgJob *job, const LgWire *wire)
{
  if (wire->text != NULL)
    return wire->text;
  for (int k = 1; k >= 0; k--)
    if (job->pins[wire->pin[k]].label != NULL && !job->pins[wire->pin[k]].from_type)
      return job->pins[wire->pin[k]].label;
  return NULL;
}

static void remark_runs(const LgJob *job, const LgWire *wire, GString *words)
{
  g_autoptr(GString) runs = g_string_new(NULL);
  gboolean moves = FALSE, wet = FALSE;
  for (int i = 0; i < wire->n_runs; i++) {
    const LgRun *const run = &job->runs[wire->runs[i]];
    lg_words_add(runs, " + ", run->name);
    moves = moves || run->moves;
    wet = wet || run->wet;
  }
  if (runs->len > 0) {
    g_autofree char *via = g_strdup_printf(
        "%s %s", wire->length_from_runs ? T_("length along") : T_("via"), runs->str);
    lg_words_add(words, "; ", via);
  }
  if (moves)
    lg_words_add(words, "; ", T_("moves: measure at both ends of travel"));
  if (wet)
    lg_words_add(words, "; ", T_("wet: sealed terminals"));
}

static char *remark_of(const LgJob *job, const LgWire *wire)
{
  g_autoptr(GString) words = g_string_new(NULL);
  for (int k = 0; k < 2; k++) {
    const LgPin *const pin = &job->pins[wire->pin[k]];
    const char *const why = pin->restraint != LG_RESTRAINT_NO ? T_("LEAVE ALONE: restraint circuit")
                            : pin->fitted == LG_FITTED_NO     ? T_("cavity found empty")
                            : pin->fitted == LG_FITTED_UNKNOWN
                                ? T_("see whether the cavity holds a terminal")
                                : NULL;
    g_autofree char *line = why != NULL ? g_strdup_printf("%s: %s", pin->name, why) : NULL;
    if (line != NULL)
      lg_words_add(words, "; ", line);
  }
  if (wire->sheathed)
    lg_words_add(words, "; ", T_("in a sheath of its own"));
  if (wire->vital != NULL) {
    g_autofree char *vital = g_strdup_printf(T_("must not be lost: %s"), wire->vital);
    lg_words_add(words, "; ", vital);
  }
  remark_runs(job, wire, words);
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static void add_wire(LgTable *table, const LgSizing *sizing, const LgPaths *paths, int w)
{
  const LgJob *const job = sizing->circuit->job;
  const LgWire *const wire = &job->wires[w];
  const LgConductor *const conductor = sizing->wires[w].conductor;
  const double area_mm2 = conductor != NULL ? conductor->area_mm2 : NAN;
  const gboolean cut = lg_wire_is_cut(wire);
  g_autofree char *size = lg_words_size(conductor);
  g_autofree char *other = lg_words_other_size(job, conductor);
  g_autofree char *from_end = cut ? lg_words_end(job, wire, 0) : g_strdup("");
  g_autofree char *to_end = cut ? lg_words_end(job, wire, 1) : g_strdup("");
  g_autofree char *circuit = lg_paths_users(paths, w);
  g_autofree char *fuse = lg_words_fuses(sizing, w);
  g_autofree char *remark = remark_of(job, wire);
  lg_table_add(table, wire->name, job->pins[wire->pin[0]].name, job->pins[wire->pin[1]].name,
               function_of(job, wire), size, other, wire->colour,
               wire->insulation != NULL ? wire->insulation->name : LG_GAP, wire->length_m,
               cut ? wire->spare_m : NAN, cut ? lg_cut_length(job, wire) : NAN,
               cut ? lg_strip_length(job, wire, 0, area_mm2) : NAN,
               cut ? lg_strip_length(job, wire, 1, area_mm2) : NAN, from_end, to_end,
               cut ? lg_words_seal(job, wire, 0) : NULL, cut ? lg_words_seal(job, wire, 1) : NULL,
               circuit, fuse, lg_words_is(wire->is), remark);
}

LgTable *lg_table_wire_list(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  g_autoptr(LgPaths) paths = lg_paths_new(sizing);
  LgTable *const table = lg_table_new("wires", T_("Wire list"), wire_columns);
  for (int w = 0; w < job->n_wires; w++)
    add_wire(table, sizing, paths, w);
  table->note = job->n_wires == 0
                    ? g_strdup(T_("The sheet has no wires."))
                    : g_strdup(T_("Length: one way along the route. Cut: with the spare for both "
                                  "ends, rounded up. Strip lengths are common practice; the "
                                  "terminal's own sheet rules. Colour: base/stripe."));
  return table;
}

static const LgColumn cut_columns[] = {
    LG_NUMBER_COLUMN("piece", "Piece", LG_DIM_NONE, 6),
    LG_TEXT_COLUMN("insulation", "Insulation"),
    LG_TEXT_COLUMN("size", "Size"),
    LG_TEXT_COLUMN("colour", "Colour"),
    LG_NUMBER_COLUMN("cut_m", "Cut", LG_DIM_LENGTH, 3),
    LG_NUMBER_COLUMN("spare_m", "Of it spare", LG_DIM_LENGTH, 2),
    LG_NUMBER_COLUMN("rounding_m", "and rounding", LG_DIM_LENGTH, 2),
    LG_NUMBER_COLUMN("strip_from_m", "Strip, from", LG_DIM_LENGTH, 2),
    LG_NUMBER_COLUMN("strip_to_m", "Strip, to", LG_DIM_LENGTH, 2),
    LG_TEXT_COLUMN("print_from", "Label, from"),
    LG_TEXT_COLUMN("end_from", "End, from"),
    LG_TEXT_COLUMN("print_to", "Label, to"),
    LG_TEXT_COLUMN("end_to", "End, to"),
    LG_COLUMNS_END,
};

/* "tab-6.3, wire seal". */
static char *words_made_end(const LgJob *job, const LgWire *wire, int end)
{
  g_autofree char *terminal = lg_words_end(job, wire, end);
  const char *const seal = lg_words_seal(job, wire, end);
  return seal != NULL ? g_strdup_printf("%s, %s", terminal, seal) : g_strdup(terminal);
}

/* Rolls in a fixed order: insulation, area, colour; within a roll the longest piece first, so that
 * a wrong cut can still serve. */
static int compare_pieces(gconstpointer a, gconstpointer b, gpointer user)
{
  const LgSizing *const sizing = user;
  const LgJob *const job = sizing->circuit->job;
  const int i = *(const int *)a, j = *(const int *)b;
  const LgWire *const u = &job->wires[i], *const v = &job->wires[j];
  const int roll = lg_compare_rolls(sizing, i, j);
  if (roll != 0)
    return roll;
  const double length_u = lg_cut_length(job, u), length_v = lg_cut_length(job, v);
  if (length_u != length_v)
    return length_u > length_v ? -1 : 1;
  return i - j;
}

int lg_compare_rolls(const LgSizing *sizing, int i, int j)
{
  const LgJob *const job = sizing->circuit->job;
  const LgInsulation *const u = job->wires[i].insulation, *const v = job->wires[j].insulation;
  const int insulation = g_strcmp0(u != NULL ? u->name : NULL, v != NULL ? v->name : NULL);
  if (insulation != 0)
    return insulation;
  const LgConductor *const c = sizing->wires[i].conductor, *const d = sizing->wires[j].conductor;
  const double area_c = c != NULL ? c->area_mm2 : 0, area_d = d != NULL ? d->area_mm2 : 0;
  if (area_c != area_d)
    return area_c < area_d ? -1 : 1;
  return strcmp(job->wires[i].colour, job->wires[j].colour);
}

GArray *lg_pieces(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  GArray *const pieces = g_array_new(FALSE, FALSE, sizeof(int));
  for (int w = 0; w < job->n_wires; w++)
    if (lg_wire_is_cut(&job->wires[w]))
      g_array_append_val(pieces, w);
  g_array_sort_with_data(pieces, compare_pieces, (gpointer)sizing);
  return pieces;
}

static void total_roll(GString *totals, const LgSizing *sizing, int w, guint n, double sum_m)
{
  const LgJob *const job = sizing->circuit->job;
  g_autofree char *size = lg_words_size(sizing->wires[w].conductor);
  g_autofree char *sum = lg_words_quantity(job, sum_m, LG_DIM_LENGTH);
  g_autofree char *line =
      g_strdup_printf(T_("%s %s: %s in %u"), size, job->wires[w].colour, sum, n);
  lg_words_add(totals, "; ", line);
}

LgTable *lg_table_cut_list(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  LgTable *const table = lg_table_new("cuts", T_("Cut list"), cut_columns);
  g_autoptr(GArray) pieces = lg_pieces(sizing);
  g_autoptr(GString) totals = g_string_new(NULL);
  double sum_m = 0;
  guint n = 0;
  for (guint i = 0; i < pieces->len; i++) {
    const int w = g_array_index(pieces, int, i);
    const LgWire *const wire = &job->wires[w];
    const LgConductor *const conductor = sizing->wires[w].conductor;
    const double area_mm2 = conductor != NULL ? conductor->area_mm2 : NAN;
    g_autofree char *size = lg_words_size(conductor);
    g_autofree char *from = g_strdup_printf("%s %s", wire->name, job->pins[wire->pin[0]].name);
    g_autofree char *to = g_strdup_printf("%s %s", wire->name, job->pins[wire->pin[1]].name);
    g_autofree char *end_from = words_made_end(job, wire, 0);
    g_autofree char *end_to = words_made_end(job, wire, 1);
    lg_table_add(table, (double)(i + 1), wire->insulation != NULL ? wire->insulation->name : LG_GAP,
                 size, wire->colour, lg_cut_length(job, wire), wire->spare_m,
                 fmax(lg_cut_length(job, wire) - wire->length_m - wire->spare_m, 0),
                 lg_strip_length(job, wire, 0, area_mm2), lg_strip_length(job, wire, 1, area_mm2),
                 from, end_from, to, end_to);
    sum_m += lg_cut_length(job, wire);
    n++;
    if (i + 1 == pieces->len ||
        lg_compare_rolls(sizing, w, g_array_index(pieces, int, i + 1)) != 0) {
      total_roll(totals, sizing, w, n, sum_m);
      sum_m = 0;
      n = 0;
    }
  }
  table->note = pieces->len == 0
                    ? g_strdup(T_("No wire is cut new."))
                    : g_strdup_printf(T_("Totals, length in pieces: %s."), totals->str);
  return table;
}
