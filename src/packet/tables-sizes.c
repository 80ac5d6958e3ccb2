/* Sizes of wires and ratings of fuses, each with what it rests on. */
#include "base/words.h"
#include "packet/tables-private.h"
#include <math.h>
#include <string.h>

const char lg_by_tool[] = N_("this tool"), lg_by_sheet[] = N_("the sheet");

static const LgColumn size_columns[] = {
    LG_TEXT_COLUMN("wire", "Wire"),
    LG_TEXT_COLUMN("from", "From"),
    LG_TEXT_COLUMN("to", "To"),
    LG_TEXT_COLUMN("size", "Size"),
    LG_TEXT_COLUMN("other_size", "Or, not thinner"),
    LG_NUMBER_COLUMN("length_m", "Length", LG_DIM_LENGTH, 3),
    LG_NUMBER_COLUMN("most_A", "Worst current", LG_DIM_CURRENT, 3),
    LG_NUMBER_COLUMN("allowed_A", "Allowed", LG_DIM_CURRENT, 3),
    LG_NUMBER_COLUMN("table_A", "By table", LG_DIM_CURRENT, 3),
    LG_NUMBER_COLUMN("drop_V", "Drop", LG_DIM_VOLTAGE, 2),
    LG_NUMBER_COLUMN("conductor_degC", "Conductor", LG_DIM_TEMPERATURE, 2),
    LG_TEXT_COLUMN("chosen", "Chosen by"),
    LG_TEXT_COLUMN("binds", "What binds"),
    LG_NUMBER_COLUMN("margin", "Margin", LG_DIM_RATIO, 2),
    LG_TEXT_COLUMN("refused", "One size smaller"),
    LG_TEXT_COLUMN("basis", "Allowed, and table"),
    LG_COLUMNS_END,
};

/* How each constraint is worded, and in what its figures are; `least`: the size must reach the
 * limit instead of staying under it. */
static const struct {
  const char *word;
  LgDim dim;
  gboolean least;
} binds[] = {
    [LG_BIND_CURRENT] = {N_("worst current"), LG_DIM_CURRENT, FALSE},
    [LG_BIND_FUSE] = {N_("fuse"), LG_DIM_CURRENT, FALSE},
    [LG_BIND_DROP] = {N_("drop at"), LG_DIM_VOLTAGE, FALSE},
    [LG_BIND_STRENGTH] = {N_("strength"), LG_DIM_AREA, TRUE},
    [LG_BIND_TERMINAL] = {N_("crimp range"), LG_DIM_AREA, TRUE},
    [LG_BIND_SERIES] = {N_("thinnest of the series"), LG_DIM_NONE, FALSE},
    [LG_BIND_GIVEN] = {N_("size in the sheet"), LG_DIM_NONE, FALSE},
};

static char *words_figure(LgBind bind, double value, int digits)
{
  g_autofree char *number = lg_number_print(value, digits);
  return g_strdup_printf("%s %s", number, lg_dim_unit(binds[bind].dim, 0));
}

/* A figure and its limit with as many digits as tell them apart: 1.443 V of 1.44 V. */
static void words_pair(LgBind bind, double value, double limit, char *words[2])
{
  int digits = 3;
  for (;; digits++) {
    words[0] = words_figure(bind, value, digits);
    words[1] = words_figure(bind, limit, digits);
    if (value == limit || digits == 9 || strcmp(words[0], words[1]) != 0)
      return;
    g_free(words[0]);
    g_free(words[1]);
  }
}

static char *words_bind(const LgJob *job, const LgWireSize *size)
{
  const char *const word = T_(binds[size->bind].word);
  g_autofree char *named =
      size->bind_element >= 0
          ? g_strdup_printf("%s %s", word, lg_words_name(job, size->bind_element))
          : g_strdup(word);
  if (binds[size->bind].dim == LG_DIM_NONE || isnan(size->limit))
    return g_steal_pointer(&named);
  char *pair[2];
  words_pair(size->bind, size->reached, size->limit, pair);
  g_autofree char *reached = pair[0], *limit = pair[1];
  return g_strdup_printf("%s: %s, %s %s", named, reached,
                         binds[size->bind].least ? T_("at least") : T_("at most"), limit);
}

static double margin_of(const LgWireSize *size)
{
  if (binds[size->bind].dim == LG_DIM_NONE || !(size->limit > 0))
    return NAN;
  const double share = size->reached / size->limit;
  return binds[size->bind].least ? share - 1 : 1 - share;
}

static char *words_refused(const LgWireSize *size)
{
  if (size->smaller == NULL)
    return g_strdup("");
  g_autofree char *name = lg_words_size(size->smaller);
  if (isnan(size->smaller_reached))
    return g_steal_pointer(&name);
  char *pair[2];
  words_pair(size->bind, size->smaller_reached, size->smaller_limit, pair);
  g_autofree char *reached = pair[0], *limit = pair[1];
  if (binds[size->bind].least)
    return g_strdup_printf(T_("%s: less than %s"), name, limit);
  return g_strdup_printf(T_("%s: %s, more than %s"), name, reached, limit);
}

/* Where a wire is at its worst: "in run sill (slit-tube, 50 degC) with 4 loaded wires". */
static char *words_stretch(const LgJob *job, const LgStretchHeat *stretch)
{
  g_autofree char *ambient = lg_words_quantity(job, stretch->ambient_K, LG_DIM_TEMPERATURE);
  if (stretch->run < 0)
    return g_strdup_printf(T_("in free air at %s"), ambient);
  const LgRun *const run = &job->runs[stretch->run];
  g_autofree char *company =
      stretch->n_warm > 1 ? g_strdup_printf(T_(" with %d loaded wires together"), stretch->n_warm)
                          : g_strdup(T_(" alone"));
  return g_strdup_printf(T_("in run %s (%s, %s)%s"), run->name,
                         run->cover != NULL ? run->cover->name : T_("bare"), ambient, company);
}

/* Why the table says more or less, in the order of what weighs most. */
static const char *words_difference(const LgWireSize *size)
{
  const LgAllowance *const table = &size->allowance;
  const LgStretchHeat *const ours = &size->worst;
  if (ours->allowed_A > table->allowed_A * 1.1) {
    if (ours->n_warm < table->n_bundle)
      return T_("; the table counts wires that are never loaded together or not there");
    if (ours->ambient_K < table->ambient_K - 1)
      return T_("; the table takes the hottest place for all of the way");
    if (table->bundle_factor < 1)
      return T_("; the table's factor takes all wires as fully loaded");
    return T_("; the table is for two loaded wires together, in round figures");
  }
  if (ours->allowed_A < table->allowed_A * 0.9) {
    if (ours->n_warm > 1 && table->bundle_factor >= 1)
      return T_("; the table counts no company");
    if (ours->run >= 0)
      return T_("; the table counts no covering and milder company");
    return T_("; the table is for thicker insulation, which cools better, in round figures");
  }
  return "";
}

static char *words_basis(const LgJob *job, const LgWire *wire, const LgWireSize *size)
{
  const LgAllowance *const allowance = &size->allowance;
  g_autofree char *where = words_stretch(job, &size->worst);
  g_autofree char *ours = lg_words_quantity(job, size->worst.allowed_A, LG_DIM_CURRENT);
  const char *const material =
      wire->insulation->material == NULL ? T_(", material not said: counted as PVC") : "";
  if (isnan(allowance->table_A) || allowance->table_A <= 0)
    return g_strdup_printf(
        T_("%s by heat balance %s, insulation %s%s; no published current for this size"), ours,
        where, wire->insulation->name, material);
  g_autofree char *table = lg_words_quantity(job, allowance->table_A, LG_DIM_CURRENT);
  g_autofree char *ambient = lg_words_quantity(job, allowance->ambient_K, LG_DIM_TEMPERATURE);
  g_autofree char *company = lg_words_count((guint)MAX(allowance->n_bundle, 1), T_("loaded wire"),
                                            T_("loaded wires together"));
  return g_strdup_printf(T_("%s by heat balance %s, insulation %s%s; table %s in the %d degC "
                            "column%s, x %.3g for %s, x %.3g for %s (%s)%s"),
                         ours, where, wire->insulation->name, material, table, allowance->column_C,
                         allowance->interpolated ? T_(" (between two sizes)") : "",
                         allowance->ambient_factor, ambient, allowance->bundle_factor, company,
                         allowance->source != NULL ? allowance->source : T_("source not told"),
                         words_difference(size));
}

static void add_wire(LgTable *table, const LgSizing *sizing, int w)
{
  const LgJob *const job = sizing->circuit->job;
  const LgWire *const wire = &job->wires[w];
  const LgWireSize *const size = &sizing->wires[w];
  g_autofree char *name = lg_words_size(size->conductor);
  g_autofree char *other = lg_words_other_size(job, size->conductor);
  g_autofree char *bound = words_bind(job, size);
  g_autofree char *refused = words_refused(size);
  g_autofree char *basis = words_basis(job, wire, size);
  lg_table_add(table, wire->name, job->pins[wire->pin[0]].name, job->pins[wire->pin[1]].name, name,
               other, wire->length_m, size->most_A, size->worst.allowed_A,
               size->allowance.allowed_A, size->drop_V, size->worst.conductor_K,
               wire->is_auto ? T_(lg_by_tool) : T_(lg_by_sheet), bound, margin_of(size), refused,
               basis);
}

LgTable *lg_table_sizes(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  LgTable *const table = lg_table_new("sizes", T_("Sizes of wires"), size_columns);
  for (int w = 0; w < job->n_wires; w++)
    add_wire(table, sizing, w);
  table->note =
      job->n_wires == 0
          ? g_strdup(T_("The sheet has no wires."))
          : g_strdup_printf(
                T_("Lengths are one way. Worst current: the greatest lasting one of all states. "
                   "Allowed, and the conductor's temperature: by the heat balance of its hottest "
                   "stretch, which binds; by table is the published figure beside it. The smaller "
                   "size was solved again and breaks its limit. %s"),
                sizing->proved ? T_("No choice of sizes with less copper serves.")
                               : T_("That no choice with less copper serves was not proved."));
  return table;
}

static const LgColumn fuse_columns[] = {
    LG_TEXT_COLUMN("fuse", "Fuse"),
    LG_TEXT_COLUMN("place", "Where"),
    LG_TEXT_COLUMN("form", "Body"),
    LG_NUMBER_COLUMN("rating_A", "Rating, A", LG_DIM_NONE, 4),
    LG_TEXT_COLUMN("colour", "Colour"),
    LG_TEXT_COLUMN("chosen", "Chosen by"),
    LG_NUMBER_COLUMN("most_A", "Worst current", LG_DIM_CURRENT, 3),
    LG_NUMBER_COLUMN("load", "Of rating", LG_DIM_RATIO, 2),
    LG_NUMBER_COLUMN("brief_A", "Start or stall", LG_DIM_CURRENT, 3),
    LG_TEXT_COLUMN("wire", "Weakest wire behind"),
    LG_NUMBER_COLUMN("wire_A", "It may carry", LG_DIM_CURRENT, 3),
    LG_COLUMNS_END,
};

static const char *words_place(const LgJob *job, const LgPart *part)
{
  if (part->place < 0)
    return LG_GAP;
  const LgPlace *const place = &job->places[part->place];
  return place->where != NULL ? place->where : place->name;
}

static void add_fuse(LgTable *table, const LgSizing *sizing, int e)
{
  const LgJob *const job = sizing->circuit->job;
  const LgElement *const element = &job->elements[e];
  const LgFuseSize *const size = &sizing->fuses[e];
  const gboolean breaker = element->kind == LG_EL_BREAKER;
  const char *const colour = breaker || size->fuse == NULL ? NULL : size->fuse->colour;
  lg_table_add(table, lg_words_name(job, e), words_place(job, &job->parts[element->part]),
               breaker ? T_("breaker") : element->form, size->rating_A, colour,
               size->is_auto ? T_(lg_by_tool) : T_(lg_by_sheet), size->most_A,
               size->most_A / size->rating_A, fmax(size->most_A, size->brief_A),
               size->wire >= 0 && size->wire < job->n_wires && !isnan(size->wire_A)
                   ? job->wires[size->wire].name
                   : "",
               size->wire_A);
}

LgTable *lg_table_fuses(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  LgTable *const table = lg_table_new("fuses", T_("Fuses and breakers"), fuse_columns);
  for (int e = 0; e < job->n_elements; e++)
    if (lg_element_is_protection(job->elements[e].kind))
      add_fuse(table, sizing, e);
  table->note =
      table->n_rows == 0
          ? g_strdup(T_("The sheet has no fuse and no breaker."))
          : g_strdup_printf(
                T_("A fuse protects the wire: what it carries for good in its own place stays at "
                   "or below %.3g %% of what the weakest wire behind it may carry where it lies. A "
                   "lasting load takes at most %.3g %% of the rating."),
                100 * job->fuse_over_wire, 100 * job->fuse_load);
  return table;
}
