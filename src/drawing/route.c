/* The route plan's figures. */
#include "drawing/route.h"
#include "base/words.h"
#include <math.h>
#include <string.h>

/* In the order of the words of `cover kind=`. */
typedef enum { TUBE, SLIT_TUBE, BRAID, SHRINK, TAPE, GROMMET } CoverKind;

/* Shares of the bore between which a bundle fits; what lies over it. See route.h. */
static const struct {
  double least, most, more_m;
} limits[] = {
    [TUBE] = {0.45, 0.81, 0},      [SLIT_TUBE] = {0.45, 0.81, 0}, [BRAID] = {0.5, 1, 1e-3},
    [SHRINK] = {0.5, 0.9, 1.6e-3}, [TAPE] = {0, INFINITY, 1e-3},  [GROMMET] = {0.5, 1, 0}};

static LgCoverFit fit_of(const LgCover *cover, double bundle_m)
{
  const double share = bundle_m / cover->bore_m;
  if (share > limits[cover->kind].most)
    return LG_COVER_TIGHT;
  return share < limits[cover->kind].least ? LG_COVER_LOOSE : LG_COVER_FITS;
}

static gboolean is_by_inch(const LgCover *cover)
{
  return g_str_has_suffix(cover->name, "in");
}

/* The smallest covering of a kind and series that holds the bundle at that temperature. */
static const LgCover *smallest(const LgJob *job, int kind, gboolean by_inch, double bundle_m,
                               double hot_K)
{
  const GPtrArray *const all = lg_catalogue_covers(job->catalogue);
  const LgCover *best = NULL;
  for (guint i = 0; i < all->len; i++) {
    const LgCover *const cover = all->pdata[i];
    if (cover->kind == kind && is_by_inch(cover) == by_inch &&
        fit_of(cover, bundle_m) != LG_COVER_TIGHT && !(cover->temperature_K < hot_K) &&
        (best == NULL || cover->bore_m < best->bore_m))
      best = cover;
  }
  return best;
}

static double over_cover(const LgCover *cover, double bundle_m)
{
  if (cover == NULL)
    return bundle_m;
  if (cover->kind == TUBE || cover->kind == SLIT_TUBE)
    return fmax(1.12 * cover->bore_m + 2e-3, bundle_m);
  return bundle_m + limits[cover->kind].more_m;
}

/* Packs wires of the job; those without a size are not among them. */
static LgPacking *pack_wires(const LgSizing *sizing, const int wires[], int n)
{
  g_autofree double *diameter_m = g_new(double, (gsize)n + 1);
  for (int i = 0; i < n; i++)
    diameter_m[i] = sizing->wires[wires[i]].conductor->outer_m;
  return lg_packing_new(diameter_m, n);
}

static gboolean passes(const LgWire *wire, int run)
{
  for (int i = 0; i < wire->n_runs; i++)
    if (wire->runs[i] == run)
      return TRUE;
  return FALSE;
}

/* The vehicle's own wires lie in its own loom. */
static void collect(LgRunPlan *plan, const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  plan->wires = g_new(int, (gsize)job->n_wires + 1);
  for (int w = 0; w < job->n_wires; w++) {
    if (job->wires[w].is == LG_IS_HOST || !passes(&job->wires[w], plan->run))
      continue;
    if (sizing->wires[w].conductor == NULL)
      plan->n_unsized++;
    else
      plan->wires[plan->n_wires++] = w;
  }
}

#define THICK_MM2 16
#define CLIP_M 0.45
#define CLIP_THICK_M 0.3
#define BEND 10
#define HOT_K (LG_ZERO_C_IN_K + 60)

static void hang(LgRunPlan *plan, const LgSizing *sizing)
{
  const LgRun *const run = &sizing->circuit->job->runs[plan->run];
  plan->clip_m = CLIP_M;
  for (int i = 0; i < plan->n_wires; i++)
    if (lg_conductor_mm2(sizing->wires[plan->wires[i]].conductor) >= THICK_MM2)
      plan->clip_m = CLIP_THICK_M;
  if (!run->moves && plan->n_wires > 0 && !isnan(run->length_m))
    plan->n_clips = (int)ceil(run->length_m / plan->clip_m - 1e-9);
  plan->bend_m = BEND * plan->bundle_m;
}

static void plan_run(LgRunPlan *plan, const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  const LgRun *const run = &job->runs[plan->run];
  collect(plan, sizing);
  plan->packing = pack_wires(sizing, plan->wires, plan->n_wires);
  plan->bundle_m = plan->packing->diameter;
  plan->cover = run->cover;
  plan->fill = NAN;
  if (run->cover == NULL && plan->n_wires > 0) {
    plan->advised = TRUE;
    plan->cover = smallest(job, SLIT_TUBE, job->habit == LG_HABIT_US, plan->bundle_m, run->hot_K);
  }
  if (plan->cover != NULL && plan->n_wires > 0) {
    plan->fit = fit_of(plan->cover, plan->bundle_m);
    if (!isnan(plan->cover->bore_m))
      plan->fill = plan->bundle_m / plan->cover->bore_m;
    if (plan->fit != LG_COVER_FITS)
      plan->better =
          smallest(job, plan->cover->kind, is_by_inch(plan->cover), plan->bundle_m, run->hot_K);
    plan->cover_hot = plan->cover->temperature_K < run->hot_K;
  }
  plan->outer_m = over_cover(plan->cover, plan->bundle_m);
  plan->hot = run->hot_K >= HOT_K - 1e-6;
  hang(plan, sizing);
}

#define GROMMET_M 4e-3

static LgHolePlan plan_hole(const LgRoute *route, int place)
{
  const LgJob *const job = route->job;
  g_autofree int *wires = g_new(int, (gsize)job->n_wires + 1);
  int n = 0;
  double cover_m = 0;
  for (int w = 0; w < job->n_wires; w++) {
    gboolean in = FALSE;
    for (int r = 0; r < job->n_runs; r++)
      in = in ||
           ((job->runs[r].from == place || job->runs[r].to == place) && passes(&job->wires[w], r));
    if (in && job->wires[w].is != LG_IS_HOST && route->sizing->wires[w].conductor != NULL)
      wires[n++] = w;
  }
  for (int r = 0; r < job->n_runs; r++)
    if ((job->runs[r].from == place || job->runs[r].to == place) && route->runs[r].n_wires > 0)
      cover_m = fmax(cover_m, route->runs[r].outer_m - route->runs[r].bundle_m);
  const double hole_m = job->places[place].hole_m;
  LgHolePlan plan = {.place = place, .packing = pack_wires(route->sizing, wires, n)};
  plan.passes_m = n > 0 ? plan.packing->diameter + cover_m : 0;
  plan.fill = plan.passes_m * plan.passes_m / (hole_m * hole_m);
  plan.grommet = smallest(job, GROMMET, FALSE, plan.passes_m, job->places[place].hot_K);
  plan.needed_m = (plan.grommet != NULL ? plan.grommet->bore_m : plan.passes_m) + GROMMET_M;
  plan.fits = plan.needed_m <= hole_m + 1e-6;
  return plan;
}

static void plan_holes(LgRoute *route)
{
  const LgJob *const job = route->job;
  route->holes = g_new(LgHolePlan, (gsize)job->n_places + 1);
  for (int p = 0; p < job->n_places; p++)
    if (!isnan(job->places[p].hole_m))
      route->holes[route->n_holes++] = plan_hole(route, p);
}

#define SLIDE_M 0.5e-3
#define OVER_M 1e-3
#define PLATE_M 6e-3

/* Whether a rim hides every corner of the opening. */
static gboolean is_hidden(const double opening[2], const double body[2], double rim_m)
{
  const gboolean round_opening = isnan(opening[1]), round_body = isnan(body[1]);
  if (rim_m <= OVER_M)
    return FALSE;
  if (!round_opening && round_body)
    return hypot(opening[0], opening[1]) / 2 <= body[0] / 2 + rim_m - OVER_M;
  if (round_opening && !round_body)
    return opening[0] / 2 <= fmin(body[0], body[1]) / 2 + rim_m - OVER_M;
  for (int k = 0; k < (round_body ? 1 : 2); k++)
    if (opening[k] / 2 > body[k] / 2 + rim_m - OVER_M)
      return FALSE;
  return TRUE;
}

static LgOpeningPlan plan_opening(const LgJob *job, int place, int part)
{
  const double *const opening = job->places[place].opening_m, *const body = job->parts[part].body_m;
  const gboolean round_opening = isnan(opening[1]), round_body = isnan(body[1]);
  LgOpeningPlan plan = {.place = place, .part = part, .trim_m = {NAN, NAN}};
  /* A body with corners needs its diagonal in a round opening. */
  const double diagonal = round_body ? body[0] : hypot(body[0], body[1]);
  for (int k = 0; k < 2; k++) {
    const double b = round_opening ? diagonal : round_body ? body[0] : body[k];
    plan.gap_m[k] = (round_opening ? opening[0] : opening[k]) - b;
    plan.cut_m[k] = round_body ? (k == 0 ? body[0] + SLIDE_M : NAN) : body[k] + SLIDE_M;
  }
  if (fmin(plan.gap_m[0], plan.gap_m[1]) < 0) {
    plan.fit = LG_OPENING_SMALL;
    for (int k = 0; k < 2 && round_opening == round_body; k++)
      plan.cut_m[k] = isnan(opening[k]) ? opening[k] : fmax(plan.cut_m[k], opening[k]);
  } else if (is_hidden(opening, body, job->parts[part].rim_m) ||
             (round_opening == round_body && fmax(plan.gap_m[0], plan.gap_m[1]) <= 2 * SLIDE_M)) {
    plan.fit = LG_OPENING_FITS;
  } else {
    plan.fit = LG_OPENING_TRIM;
    for (int k = 0; k < 2; k++)
      plan.trim_m[k] = opening[k] + 2 * PLATE_M;
  }
  return plan;
}

static void plan_openings(LgRoute *route)
{
  const LgJob *const job = route->job;
  route->openings = g_new(LgOpeningPlan, (gsize)job->n_parts + 1);
  for (int i = 0; i < job->n_parts; i++) {
    const int place = job->parts[i].place;
    if (place >= 0 && !isnan(job->places[place].opening_m[0]) && !isnan(job->parts[i].body_m[0]))
      route->openings[route->n_openings++] = plan_opening(job, place, i);
  }
}

LgRoute *lg_route_new(const LgSizing *sizing)
{
  LgRoute *const route = g_new0(LgRoute, 1);
  route->job = sizing->circuit->job;
  route->sizing = sizing;
  route->runs = g_new0(LgRunPlan, (gsize)route->job->n_runs + 1);
  for (int r = 0; r < route->job->n_runs; r++) {
    route->runs[r].run = r;
    plan_run(&route->runs[r], sizing);
  }
  plan_holes(route);
  plan_openings(route);
  return route;
}

void lg_route_free(LgRoute *route)
{
  if (route == NULL)
    return;
  for (int r = 0; r < route->job->n_runs; r++) {
    g_free(route->runs[r].wires);
    lg_packing_free(route->runs[r].packing);
  }
  for (int i = 0; i < route->n_holes; i++)
    lg_packing_free(route->holes[i].packing);
  g_free(route->runs);
  g_free(route->holes);
  g_free(route->openings);
  g_free(route);
}

char *lg_route_cover_words(const LgRoute *route, int run)
{
  const LgRunPlan *const plan = &route->runs[run];
  if (plan->n_wires == 0)
    return g_strdup(plan->cover != NULL ? plan->cover->name : "");
  if (plan->cover == NULL)
    return g_strdup(T_("no covering in the sheet, and no tube of the catalogue holds it"));
  g_autoptr(GString) words = g_string_new(plan->cover->name);
  if (!isnan(plan->fill))
    g_string_append_printf(words, T_(", filled to %.0f %% of its bore"), 100 * plan->fill);
  if (plan->advised)
    g_string_append(words, T_("; our choice, the sheet has none"));
  static const char *const verdicts[] = {
      [LG_COVER_FITS] = "", [LG_COVER_TIGHT] = N_("too tight"), [LG_COVER_LOOSE] = N_("loose")};
  if (plan->fit != LG_COVER_FITS && plan->better == plan->cover)
    g_string_append(words, T_(": loose, but the smallest there is"));
  else if (plan->fit != LG_COVER_FITS && plan->better == NULL)
    g_string_append_printf(words, T_(": %s, and none of the catalogue fits"),
                           T_(verdicts[plan->fit]));
  else if (plan->fit != LG_COVER_FITS)
    g_string_append_printf(words, ": %s; %s %s", T_(verdicts[plan->fit]), plan->better->name,
                           plan->fit == LG_COVER_TIGHT ? T_("holds it") : T_("is enough"));
  if (plan->cover_hot)
    g_string_append(words, T_("; IT GETS HOTTER THERE THAN THE COVERING STANDS"));
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static char *length(const LgRoute *route, double m)
{
  return lg_quantity_print(m, LG_DIM_LENGTH, route->job->habit, 2);
}

char *lg_route_hole_words(const LgRoute *route, int hole)
{
  const LgHolePlan *const plan = &route->holes[hole];
  if (plan->packing->n == 0)
    return g_strdup(T_("no wire of this job passes"));
  g_autofree char *needed = length(route, plan->needed_m);
  if (plan->grommet == NULL)
    return g_strdup_printf(
        T_("no grommet of the catalogue has that bore; a hole of %s and an edge strip"), needed);
  if (plan->fits)
    return g_strdup_printf(T_("fits with %s"), plan->grommet->name);
  return g_strdup_printf(
      T_("too small: %s needs a hole of %s, or end the covering before the hole"),
      plan->grommet->name, needed);
}

/* To the tenth of a millimetre or the hundredth of an inch, as one files. */
static char *filed(const LgRoute *route, double m)
{
  return route->job->habit == LG_HABIT_US ? g_strdup_printf(T_("%.2f in"), m / 25.4e-3)
                                          : g_strdup_printf(T_("%.1f mm"), 1e3 * m);
}

static char *size_words(const LgRoute *route, const double size_m[2])
{
  g_autofree char *across = filed(route, size_m[0]);
  if (isnan(size_m[1]))
    return g_strdup_printf(T_("%s across, round"), across);
  g_autofree char *up = filed(route, size_m[1]);
  return g_strdup_printf("%s x %s", across, up);
}

char *lg_route_opening_words(const LgRoute *route, int opening)
{
  const LgOpeningPlan *const plan = &route->openings[opening];
  g_autofree char *cut = size_words(route, plan->cut_m);
  g_autofree char *across = filed(route, fabs(plan->gap_m[0]));
  g_autofree char *up = filed(route, fabs(plan->gap_m[1]));
  switch (plan->fit) {
  case LG_OPENING_FITS:
    return g_strdup_printf(T_("fits: %s to spare across, %s up%s"), across, up,
                           route->job->parts[plan->part].rim_m > 0 ? T_("; its rim hides the gap")
                                                                   : "");
  case LG_OPENING_TRIM: {
    g_autofree char *plate = size_words(route, plan->trim_m);
    return g_strdup_printf(
        T_("goes in with a gap (%s across, %s up): needs a trim piece of %s with an opening of %s"),
        across, up, plate, cut);
  }
  case LG_OPENING_SMALL:
    break;
  }
  return g_strdup_printf(T_("does not go in: the opening must be %s"), cut);
}
