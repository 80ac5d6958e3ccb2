/* The route plan as tables. */
#include "base/words.h"
#include "drawing/route.h"
#include "packet/tables-private.h"
#include <math.h>

static const LgColumn route_columns[] = {
    LG_TEXT_COLUMN("run", "Run"),
    LG_TEXT_COLUMN("from", "From"),
    LG_TEXT_COLUMN("to", "To"),
    LG_NUMBER_COLUMN("length_m", "Length", LG_DIM_LENGTH, 3),
    LG_TEXT_COLUMN("wires", "Wires"),
    LG_NUMBER_COLUMN("bundle_m", "Bundle", LG_DIM_LENGTH, 2),
    LG_TEXT_COLUMN("cover", "Covering"),
    LG_NUMBER_COLUMN("bend_m", "Least bend radius", LG_DIM_LENGTH, 2),
    LG_TEXT_COLUMN("clips", "Clips"),
    LG_NUMBER_COLUMN("cold_degC", "Coldest", LG_DIM_TEMPERATURE, 2),
    LG_NUMBER_COLUMN("hot_degC", "Hottest", LG_DIM_TEMPERATURE, 2),
    LG_TEXT_COLUMN("remark", "Remark"),
    LG_COLUMNS_END,
};

static char *words_wires(const LgJob *job, const LgRunPlan *plan)
{
  g_autoptr(GString) words = g_string_new(NULL);
  for (int i = 0; i < plan->n_wires; i++)
    lg_words_add(words, ", ", job->wires[plan->wires[i]].name);
  if (plan->n_unsized > 0)
    g_string_append_printf(words, T_("%s%d without a size, not counted"),
                           words->len > 0 ? "; " : "", plan->n_unsized);
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static char *words_remark(const LgJob *job, const LgRunPlan *plan)
{
  const LgRun *const run = &job->runs[plan->run];
  g_autoptr(GString) words = g_string_new(NULL);
  if (isnan(run->length_m))
    lg_words_add(words, "; ", T_("length not in the sheet"));
  if (plan->hot)
    lg_words_add(words, "; ", T_("hot"));
  if (run->wet)
    lg_words_add(words, "; ", T_("wet"));
  if (run->moves)
    lg_words_add(words, "; ", T_("moves: clip both ends, a free loop between"));
  if (run->others > 0)
    g_string_append_printf(words, T_("%sbeside %d loaded wires of the vehicle"),
                           words->len > 0 ? "; " : "", run->others);
  if (run->text != NULL)
    lg_words_add(words, "; ", run->text);
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static char *words_clips(const LgJob *job, const LgRunPlan *plan)
{
  g_autofree char *every = lg_quantity_print(plan->clip_m, LG_DIM_LENGTH, job->habit, 2);
  if (job->runs[plan->run].moves)
    return g_strdup(T_("at both ends"));
  return plan->n_clips > 0 ? g_strdup_printf(T_("%d, every %s"), plan->n_clips, every)
                           : g_strdup_printf(T_("every %s"), every);
}

LgTable *lg_table_routes(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  g_autoptr(LgRoute) route = lg_route_new(sizing);
  LgTable *const table = lg_table_new("routes", T_("Route plan"), route_columns);
  for (int r = 0; r < job->n_runs; r++) {
    const LgRunPlan *const plan = &route->runs[r];
    const LgRun *const run = &job->runs[r];
    g_autofree char *wires = words_wires(job, plan);
    g_autofree char *cover = lg_route_cover_words(route, r);
    g_autofree char *remark = words_remark(job, plan);
    const gboolean used = plan->n_wires > 0;
    g_autofree char *clips = used ? words_clips(job, plan) : NULL;
    lg_table_add(table, run->name, job->places[run->from].name, job->places[run->to].name,
                 run->length_m, wires, used ? plan->bundle_m : NAN, cover,
                 used ? plan->bend_m : NAN, clips, run->cold_K, run->hot_K, remark);
  }
  table->note = g_strdup(
      job->n_runs == 0 ? T_("The sheet has no runs.")
                       : T_(/* xgettext:no-c-format */
                            "Bundle: the circles of its wires packed, thin-wall insulation. Tube "
                            "filled to 81 % of its bore at most (conduit sizing sheet, seen). "
                            "Bends 10 bundles (aircraft practice, seen). Clips at most 450 mm "
                            "apart, 300 mm with thick cable (small craft, ISO 10133, seen)."));
  return table;
}

static const LgColumn opening_columns[] = {
    LG_TEXT_COLUMN("place", "Place"),
    LG_TEXT_COLUMN("what", "What"),
    LG_TEXT_COLUMN("size", "Its size"),
    LG_TEXT_COLUMN("passes", "What goes in or through"),
    LG_TEXT_COLUMN("passes_size", "Size of that"),
    LG_TEXT_COLUMN("fill", "Filled"),
    LG_TEXT_COLUMN("verdict", "Verdict"),
    LG_COLUMNS_END,
};

/* "40 mm x 22 mm", "12 mm across". */
static char *words_size(const LgJob *job, const double size_m[2])
{
  g_autofree char *across = lg_words_quantity(job, size_m[0], LG_DIM_LENGTH);
  if (isnan(size_m[1]))
    return g_strdup_printf(T_("%s across"), across);
  g_autofree char *up = lg_words_quantity(job, size_m[1], LG_DIM_LENGTH);
  return g_strdup_printf("%s x %s", across, up);
}

LgTable *lg_table_openings(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  g_autoptr(LgRoute) route = lg_route_new(sizing);
  LgTable *const table = lg_table_new("openings", T_("Holes and openings"), opening_columns);
  for (int i = 0; i < route->n_holes; i++) {
    const LgHolePlan *const hole = &route->holes[i];
    g_autofree char *verdict = lg_route_hole_words(route, i);
    const double across[2] = {job->places[hole->place].hole_m, NAN};
    const double passes[2] = {hole->passes_m, NAN};
    g_autofree char *size = words_size(job, across), *through = words_size(job, passes);
    g_autofree char *fill = g_strdup_printf("%.0f %%", 100 * hole->fill);
    lg_table_add(table, job->places[hole->place].name, T_("hole"), size, T_("the bundle"), through,
                 fill, verdict);
  }
  for (int i = 0; i < route->n_openings; i++) {
    const LgOpeningPlan *const plan = &route->openings[i];
    const LgPlace *const place = &job->places[plan->place];
    const LgPart *const part = &job->parts[plan->part];
    g_autofree char *verdict = lg_route_opening_words(route, i);
    g_autofree char *size = words_size(job, place->opening_m);
    g_autofree char *body = words_size(job, part->body_m);
    lg_table_add(table, place->name, T_("opening"), size, part->name, body, NULL, verdict);
  }
  table->note =
      g_strdup(table->n_rows == 0
                   ? T_("The sheet names no hole (`hole=`) and no opening (`opening-width=`).")
                   : T_("Clearances are common practice; the part's own drawing rules."));
  return table;
}
