/* The order of building: nothing is fitted that must come out again, the battery comes last. */
#include "base/words.h"
#include "drawing/route.h"
#include "packet/tables-private.h"
#include <math.h>
#include <string.h>

static const LgColumn order_columns[] = {
    LG_NUMBER_COLUMN("step", "Step", LG_DIM_NONE, 4),
    LG_TEXT_COLUMN("stage", "Stage"),
    LG_TEXT_COLUMN("do", "Do"),
    LG_TEXT_COLUMN("with", "With"),
    LG_TEXT_COLUMN("minutes", "Minutes"),
    LG_TEXT_COLUMN("key", "Key"),
    LG_COLUMNS_END,
};

static const char at_bench[] = N_("At the bench"), in_vehicle[] = N_("In the vehicle, battery off"),
                  last[] = N_("Proof and refit");

const char *lg_build_step_word(LgBuildStep step)
{
  const int field = lg_field_find(LG_KIND_PHOTO, "step", strlen("step"));
  return lg_kinds[LG_KIND_PHOTO].fields[field].words[step];
}

static void add(LgTable *table, LgBuildStep step, const char *stage, const char *what,
                const char *with, double minutes)
{
  g_autofree char *said = isnan(minutes) ? NULL : g_strdup_printf("%.0f", minutes);
  lg_table_add(table, (double)(table->n_rows + 1), T_(stage), what, with, said,
               lg_build_step_word(step));
}

/* Names of new parts of a place that are, or are not, of a class; their labour in minutes, NAN
 * when none says any. */
static char *parts_of(const LgJob *job, int place, const char *const classes[], gboolean are,
                      double *minutes)
{
  g_autoptr(GString) words = g_string_new(NULL);
  *minutes = NAN;
  for (int i = 0; i < job->n_parts; i++) {
    const LgPart *const part = &job->parts[i];
    if (part->is == LG_IS_HOST || part->place != place || !lg_part_is_wired(job, part) ||
        g_strv_contains(classes, part->class_word) != are ||
        strcmp(part->class_word, "splice") == 0)
      continue;
    lg_words_add(words, ", ", part->name);
    if (!isnan(part->labour_s))
      *minutes = (isnan(*minutes) ? 0 : *minutes) + part->labour_s / 60;
  }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static const char *place_name(const LgJob *job, int place)
{
  return place >= 0 ? job->places[place].name : T_("no place in the sheet");
}

static void add_measure(LgTable *table, const LgJob *job)
{
  g_autoptr(GString) pins = g_string_new(NULL);
  for (int p = 0; p < job->n_pins; p++)
    if (!job->pins[p].from_type && job->pins[p].evidence != LG_EVIDENCE_MEASURED &&
        job->pins[p].fitted != LG_FITTED_NO && !lg_pin_is_restraint(job, p))
      lg_words_add(pins, ", ", job->pins[p].name);
  if (pins->len > 0)
    add(table, LG_BUILD_MEASURE, at_bench,
        T_("Measure what nobody has measured; enter it and print again"), pins->str, NAN);
  add(table, LG_BUILD_GATHER, at_bench,
      T_("Check that all is there: bill of material, donor parts with their plugs"), NULL, NAN);
}

static void add_harness(LgTable *table, const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  g_autoptr(GArray) pieces = lg_pieces(sizing);
  if (pieces->len == 0)
    return;
  g_autofree char *n = lg_words_count(pieces->len, T_("piece"), T_("pieces"));
  add(table, LG_BUILD_CUT, at_bench,
      T_("Cut by the cut list, one roll after the other; label both ends as you cut"), n, NAN);
  add(table, LG_BUILD_TRIAL, at_bench,
      T_("Three trial crimps of each row of the crimp table, pulled"), NULL, NAN);
  add(table, LG_BUILD_BOARD, at_bench,
      T_("Lay the pieces on the board from the far ends inwards; splices first, then covering"),
      NULL, NAN);
  g_autoptr(GString) splices = g_string_new(NULL);
  for (int i = 0; i < job->n_parts; i++)
    if (strcmp(job->parts[i].class_word, "splice") == 0 && lg_part_is_wired(job, &job->parts[i]))
      lg_words_add(splices, ", ", job->parts[i].name);
  if (splices->len > 0)
    add(table, LG_BUILD_SPLICES, at_bench, T_("Crimp and cover the splices"), splices->str, NAN);
  add(table, LG_BUILD_ENDS, at_bench,
      T_("Crimp the ends at the bench that pass every hole and tube; leave the others bare and "
         "labelled: large plugs and rings go on in the vehicle"),
      NULL, NAN);
  add(table, LG_BUILD_RING_OUT, at_bench,
      T_("Each wire end to end and against every other, before it goes in"),
      T_("before first power: each wire, no links"), NAN);
}

static void add_panels(LgTable *table, const LgRoute *route)
{
  const LgJob *const job = route->job;
  for (int i = 0; i < route->n_holes; i++) {
    g_autofree char *words = lg_route_hole_words(route, i);
    g_autofree char *line =
        g_strdup_printf(T_("Hole at %s: %s"), place_name(job, route->holes[i].place), words);
    add(table, LG_BUILD_PANELS, in_vehicle, line, NULL, NAN);
  }
  for (int i = 0; i < route->n_openings; i++) {
    g_autofree char *words = lg_route_opening_words(route, i);
    g_autofree char *line =
        g_strdup_printf(T_("Opening for %s at %s: %s"), job->parts[route->openings[i].part].name,
                        place_name(job, route->openings[i].place), words);
    add(table, LG_BUILD_PANELS, in_vehicle, line, NULL, NAN);
  }
}

static void add_runs(LgTable *table, const LgRoute *route)
{
  for (int r = 0; r < route->job->n_runs; r++) {
    const LgRunPlan *const plan = &route->runs[r];
    const LgRun *const run = &route->job->runs[r];
    if (plan->n_wires == 0)
      continue;
    g_autofree char *clip = lg_words_quantity(route->job, plan->clip_m, LG_DIM_LENGTH);
    g_autofree char *line =
        run->moves
            ? g_strdup_printf(T_("Lay run %s, clip its ends, move it through its whole travel"),
                              run->name)
            : g_strdup_printf(
                  T_("Lay run %s, a clip every %s, clear of edges, heat and fuel lines"), run->name,
                  clip);
    add(table, LG_BUILD_RUNS, in_vehicle, line, run->text, NAN);
  }
}

static void add_places(LgTable *table, LgBuildStep step, const LgJob *job,
                       const char *const classes[], gboolean are, const char *what)
{
  for (int place = -1; place < job->n_places; place++) {
    double minutes;
    g_autofree char *parts = parts_of(job, place, classes, are, &minutes);
    if (parts[0] == '\0')
      continue;
    g_autofree char *line = g_strdup_printf(T_("%s at %s"), what, place_name(job, place));
    add(table, step, in_vehicle, line, parts, minutes);
  }
}

static void add_vehicle(LgTable *table, const LgSizing *sizing)
{
  static const char *const grounds[] = {"ground", NULL};
  static const char *const fixed[] = {"ground", "stud", "fuse-holder", "breaker", "relay", NULL};
  const LgJob *const job = sizing->circuit->job;
  g_autoptr(LgRoute) route = lg_route_new(sizing);
  add(table, LG_BUILD_BATTERY_OFF, in_vehicle,
      T_("Battery minus off and insulated; wait as the vehicle's manual says before any seat or "
         "steering wheel part is unplugged"),
      NULL, NAN);
  add_panels(table, route);
  add_places(table, LG_BUILD_GROUNDS, job, grounds, TRUE, T_("Scrape, bolt and seal the ground"));
  static const char *const holders[] = {"stud", "fuse-holder", "breaker", "relay", NULL};
  add_places(table, LG_BUILD_HOLDERS, job, holders, TRUE, T_("Fit holders and relays, fuses out,"));
  add_runs(table, route);
  add(table, LG_BUILD_LAST_ENDS, in_vehicle,
      T_("Crimp the ends that were left bare; grounds first"), NULL, NAN);
  add_places(table, LG_BUILD_FIT, job, fixed, FALSE, T_("Fit, and plug in last of all,"));
}

static void add_proof(LgTable *table, const LgSizing *sizing)
{
  g_autoptr(LgTable) pre = lg_table_pre_power(sizing);
  g_autofree char *steps = g_strdup_printf(T_("%d steps"), pre->n_rows);
  add(table, LG_BUILD_FIRST_CHECK, last,
      T_("Sheet \"before first power\", with the seat or panel still out"), steps, NAN);
  add(table, LG_BUILD_FIRST_POWER, last,
      T_("Sheet \"first power\": one circuit after the other on a limited supply"), NULL, NAN);
  add(table, LG_BUILD_FUSES, last, T_("Fuses in by the table; battery plus, then minus"), NULL,
      NAN);
  add(table, LG_BUILD_READINGS, last, T_("Readings under load, each within its limits"), NULL, NAN);
  add(table, LG_BUILD_REFIT, last,
      T_("Refit seats, trim and panels; moving parts through their whole travel"), NULL, NAN);
  add(table, LG_BUILD_DRAIN, last,
      T_("Resting drain after the units sleep; a drive; look again at every clip"), NULL, NAN);
  add(table, LG_BUILD_HANDOVER, last,
      T_("Handover sheet, signed; the packet stays with the vehicle"), NULL, NAN);
}

LgTable *lg_table_order(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  LgTable *const table = lg_table_new("order", T_("Order of building"), order_columns);
  add_measure(table, job);
  add_harness(table, sizing);
  add_vehicle(table, sizing);
  add_proof(table, sizing);
  table->note = g_strdup(T_("The order is common practice. Minutes: from `labour=` of the parts, "
                            "empty where the sheet says none."));
  return table;
}
