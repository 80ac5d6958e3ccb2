/* Wires: their pins, size, insulation, and the way they take through the vehicle. */
#include "model/model-private.h"
#include <math.h>
#include <string.h>

/* Shortest way from one place to another over the runs (Dijkstra; places are few, so no heap).
 * Returns the number of runs written to `way`, -1 when there is none. */
static int shortest_way(const LgJob *job, int from, int to, int way[])
{
  g_autofree double *far = g_new(double, (gsize)job->n_places);
  g_autofree int *by = g_new(int, (gsize)job->n_places);
  g_autofree gboolean *done = g_new0(gboolean, (gsize)job->n_places);
  for (int i = 0; i < job->n_places; i++) {
    far[i] = INFINITY;
    by[i] = -1;
  }
  far[from] = 0;
  for (;;) {
    int near = -1;
    for (int i = 0; i < job->n_places; i++)
      if (!done[i] && isfinite(far[i]) && (near < 0 || far[i] < far[near]))
        near = i;
    if (near < 0 || near == to)
      break;
    done[near] = TRUE;
    for (int r = 0; r < job->n_runs; r++) {
      const LgRun *const run = &job->runs[r];
      const int other = run->from == near ? run->to : run->to == near ? run->from : -1;
      if (other >= 0 && far[near] + run->length_m < far[other]) {
        far[other] = far[near] + run->length_m;
        by[other] = r;
      }
    }
  }
  if (!isfinite(far[to]))
    return -1;
  int n = 0;
  for (int at = to; at != from; n++) {
    const LgRun *const run = &job->runs[by[at]];
    way[n] = by[at];
    at = run->from == at ? run->to : run->from;
  }
  for (int i = 0; i < n / 2; i++) {
    const int swap = way[i];
    way[i] = way[n - 1 - i];
    way[n - 1 - i] = swap;
  }
  return n;
}

/* The runs named in `via`; FALSE and a problem when one is unknown or they do not join. */
static gboolean named_way(LgJobBuild *build, LgWire *wire, const LgValue *via)
{
  LgJob *const job = build->job;
  g_auto(GStrv) words = g_strsplit(via->text, ",", -1);
  wire->runs = lg_build_block(build, g_strv_length(words), sizeof *wire->runs);
  for (int i = 0; words[i] != NULL; i++) {
    const int run = lg_find(job->store->runs, words[i]);
    if (run < 0) {
      lg_build_problem(
          build, via->origin, g_strdup_printf("there is no run `%s`", words[i]),
          lg_build_did_you_mean(job->store->runs, words[i], "add a `run` record for it"));
      return FALSE;
    }
    const LgRun *const last = wire->n_runs > 0 ? &job->runs[wire->runs[wire->n_runs - 1]] : NULL;
    const LgRun *const next = &job->runs[run];
    if (last != NULL && next->from != last->from && next->from != last->to &&
        next->to != last->from && next->to != last->to) {
      lg_build_problem(
          build, via->origin,
          g_strdup_printf("the runs `%s` and `%s` do not meet", last->name, next->name),
          g_strdup("list the runs in order, each beginning where the one before ends"));
      return FALSE;
    }
    wire->runs[wire->n_runs++] = run;
  }
  return TRUE;
}

static void take_place(LgWire *wire, const LgJob *job, int place)
{
  if (place < 0)
    return;
  wire->cold_K = fmin(wire->cold_K, job->places[place].cold_K);
  if (!(job->places[place].hot_K <= wire->hot_K)) {
    wire->hot_K = job->places[place].hot_K;
    wire->hottest_place = place;
    wire->hottest_run = -1;
  }
}

static void take_run(LgWire *wire, const LgJob *job, int run)
{
  wire->cold_K = fmin(wire->cold_K, job->runs[run].cold_K);
  if (!(job->runs[run].hot_K <= wire->hot_K)) {
    wire->hot_K = job->runs[run].hot_K;
    wire->hottest_run = run;
    wire->hottest_place = -1;
  }
}

static void take_surroundings(LgWire *wire, const LgJob *job)
{
  wire->cold_K = wire->hot_K = NAN;
  wire->hottest_place = wire->hottest_run = -1;
  for (int k = 0; k < 2; k++)
    take_place(wire, job, job->parts[job->pins[wire->pin[k]].part].place);
  for (int k = 0; k < wire->n_runs; k++)
    take_run(wire, job, wire->runs[k]);
  if (isnan(wire->hot_K)) {
    wire->hot_K = job->hot_K;
    wire->cold_K = job->cold_K;
  }
}

static void route(LgJobBuild *build, LgWire *wire, const LgRecord *record)
{
  LgJob *const job = build->job;
  const LgValue *const via = lg_record_key(record, "via");
  if (via != NULL) {
    if (!named_way(build, wire, via))
      return;
  } else {
    const int a = job->parts[job->pins[wire->pin[0]].part].place,
              b = job->parts[job->pins[wire->pin[1]].part].place;
    if (a >= 0 && b >= 0 && a != b) {
      wire->runs = lg_build_block(build, (gsize)job->n_places, sizeof *wire->runs);
      wire->n_runs = MAX(shortest_way(job, a, b, wire->runs), 0);
    }
  }
  const LgValue *const length = lg_record_key(record, "length");
  if (length != NULL && !length->is_auto) {
    wire->length_m = length->low;
    return;
  }
  wire->length_from_runs = TRUE;
  wire->length_m = 0;
  for (int i = 0; i < wire->n_runs; i++) {
    const LgRun *const run = &job->runs[wire->runs[i]];
    wire->length_m += run->length_m;
    if (isnan(run->length_m))
      lg_build_problem(
          build, record->origin, g_strdup_printf("how long is wire `%s`?", wire->name),
          g_strdup_printf("write `length=`, or give the run `%s` its length", run->name));
  }
  if (wire->n_runs == 0)
    lg_build_problem(build, record->origin, g_strdup_printf("how long is wire `%s`?", wire->name),
                     g_strdup("write `length=`, one way along the route, or `at=` for both parts "
                              "and the `run` between"));
}

static const LgConductor *conductor_of(LgJobBuild *build, const LgValue *size)
{
  const LgCatalogue *const catalogue = build->job->catalogue;
  const LgConductor *const found = lg_catalogue_conductor(catalogue, size->is_awg, size->low);
  if (found != NULL)
    return found;
  const LgConductor *near = NULL;
  const GPtrArray *const all = lg_catalogue_conductors(catalogue);
  for (guint i = 0; i < all->len; i++) {
    const LgConductor *const c = all->pdata[i];
    if (c->is_awg == size->is_awg &&
        (near == NULL || fabs(c->nominal - size->low) < fabs(near->nominal - size->low)))
      near = c;
  }
  lg_build_problem(build, size->origin, g_strdup("that is not a standard conductor size"),
                   near != NULL ? g_strdup_printf("the nearest in the catalogue is %s", near->name)
                                : g_strdup("use a size of the catalogue"));
  return NULL;
}

static void read_wire(LgJobBuild *build, const LgRecord *record, guint index)
{
  LgJob *const job = build->job;
  const LgValue *const from = lg_record_key(record, "from"), *const to =
                                                                 lg_record_key(record, "to");
  const LgValue *const size = lg_record_key(record, "size"), *const insulation = lg_record_key(
                                                                 record, "insulation");
  LgWire wire = {.name = lg_build_text(build, record->name),
                 .text = lg_build_text(build, record->text),
                 .pin = {lg_build_pin(build, from->text, -1, from->origin),
                         lg_build_pin(build, to->text, -1, to->origin)},
                 .colour = lg_take_text(build, record, "colour", "BK"),
                 .is_auto = size->is_auto,
                 .length_m = NAN,
                 .spare_m = lg_take_number(record, "spare", 0.15),
                 .insulation = job->insulation,
                 .is = (LgIs)lg_take_word(record, "is", LG_IS_NEW),
                 .sheathed = lg_take_word(record, "sheathed", 0) == 1,
                 .vital = lg_take_text(build, record, "vital", NULL),
                 .origin = record->origin,
                 .record = index};
  if (!size->is_auto)
    wire.conductor = conductor_of(build, size);
  if (insulation != NULL &&
      (wire.insulation = lg_catalogue_insulation(job->catalogue, insulation->text)) == NULL)
    lg_build_problem(build, insulation->origin,
                     g_strdup_printf("no insulation class `%s` in the catalogue", insulation->text),
                     g_strdup("`loomgraft explain insulation` lists them"));
  if (wire.pin[0] < 0 || wire.pin[1] < 0)
    return;
  if (wire.pin[0] == wire.pin[1]) {
    lg_build_problem(build, to->origin,
                     g_strdup_printf("wire `%s` begins and ends at the same pin", wire.name),
                     g_strdup("name the other end"));
    return;
  }
  route(build, &wire, record);
  take_surroundings(&wire, job);
  if (lg_build_name(build, job->store->wires, wire.name, job->n_wires, record->name_origin))
    job->wires[job->n_wires++] = wire;
}

void lg_build_wires(LgJobBuild *build)
{
  const LgSheet *const sheet = build->sheet;
  const GPtrArray *const records = build->records[LG_KIND_WIRE];
  build->job->wires = lg_build_block(build, records->len, sizeof *build->job->wires);
  guint n = 0;
  for (guint i = 0; n < records->len; i++)
    if (lg_sheet_record(sheet, i) == records->pdata[n])
      read_wire(build, records->pdata[n++], i);
}
