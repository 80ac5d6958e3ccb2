/* What gets too hot: wires in their company, coverings, wires behind fuses that open late. */
#include "base/words.h"
#include "studies/checks-private.h"

/* --- wires in lasting states --- */

static gboolean is_too_hot(const LgCheckContext *c, int wire)
{
  return c->job->wires[wire].hot_K >= c->job->wires[wire].insulation->temperature_K;
}

static void report_too_hot(LgCheckContext *c, int wire)
{
  const LgWire *const w = &c->job->wires[wire];
  const char *const where = w->hottest_run >= 0     ? c->job->runs[w->hottest_run].name
                            : w->hottest_place >= 0 ? c->job->places[w->hottest_place].name
                                                    : T_("where it lies");
  lg_found(c, w->origin, lg_say(c, T_("wire %s"), w->name),
           lg_say(c,
                  T_("Gets as hot as %s (%s) without any current, and its %s insulation bears %s."),
                  lg_say_degrees(c, w->hot_K), where, w->insulation->name,
                  lg_say_degrees(c, w->insulation->temperature_K)),
           w->insulation->source, T_("Lead it another way, or take insulation for more heat."));
}

static gboolean is_overloaded(const LgCheckContext *c, int wire)
{
  const LgStretchHeat *const worst = &c->sizing->wires[wire].worst;
  /* What an auto wire could not be given is told by sizing. */
  return !c->job->wires[wire].is_auto && !is_too_hot(c, wire) &&
         worst->current_A > worst->allowed_A * (1 + 1e-9);
}

static int by_watts(gconstpointer a, gconstpointer b)
{
  const LgMate *const x = a, *const y = b;
  return x->amps > y->amps ? -1 : x->amps < y->amps;
}

/* ", together with W3 16 A, W7 11 A": the three that carry most beside it. */
static const char *say_company(LgCheckContext *c, int wire, const LgStretchHeat *at)
{
  enum { MOST = 3 };
  if (at->run < 0 || at->state < 0)
    return "";
  g_autoptr(GArray) company = lg_warmer_company(c->sizing->warmer, at->run, at->state);
  g_autoptr(GString) words = g_string_new(NULL);
  int told = 0;
  g_array_sort(company, by_watts);
  for (guint i = 0; i < company->len && told < MOST; i++) {
    const LgMate *const mate = &g_array_index(company, LgMate, i);
    if (mate->wire == wire || mate->amps < 1)
      continue;
    g_string_append_printf(words, "%s%s %s", told == 0 ? T_(", together with ") : ", ",
                           mate->wire >= 0 ? c->job->wires[mate->wire].name
                                           : T_("one that is only counted"),
                           lg_say_amps(c, mate->amps));
    told++;
  }
  return lg_say(c, "%s", words->str);
}

static const char *say_heat(LgCheckContext *c, const LgStretchHeat *at)
{
  return isfinite(at->conductor_K) ? lg_say(c, T_("it gets %s"), lg_say_degrees(c, at->conductor_K))
                                   : T_("it finds no balance below the melting point of copper");
}

static void report_overloaded(LgCheckContext *c, int wire, int n_more)
{
  const LgStretchHeat *const worst = &c->sizing->wires[wire].worst;
  const LgWire *const w = &c->job->wires[wire];
  const LgConductor *const better = lg_conductor_for(c, wire, worst->current_A);
  const char *const more =
      n_more > 0 ? lg_say(c,
                          n_more == 1 ? T_(" %d more wire of that run gets too hot as well.")
                                      : T_(" %d more wires of that run get too hot as well."),
                          n_more)
                 : "";
  lg_found(
      c, w->origin, lg_say(c, T_("wire %s"), w->name),
      lg_say(
          c,
          T_("Carries %s %s, but %s may carry %s for good%s: %s, and its insulation bears %s.%s"),
          lg_say_amps(c, worst->current_A), lg_say_state(c, worst->state), lg_say_wire(c, wire),
          lg_say_amps(c, worst->allowed_A), say_company(c, wire, worst), say_heat(c, worst),
          lg_say_degrees(c, w->insulation->temperature_K), more),
      lg_say_heat(c, wire, worst),
      better != NULL ? lg_say(c, T_("Use %s."), better->name)
                     : T_("Take the wire out of the heat or the bundle, take insulation of a "
                          "higher class, or share the load between two circuits."));
}

static double excess_K(const LgCheckContext *c, int wire)
{
  return c->sizing->wires[wire].worst.conductor_K - c->job->wires[wire].insulation->temperature_K;
}

/* One finding for each run: the wire that is farthest beyond its class. */
static void check_run(LgCheckContext *c, int run)
{
  int hottest = -1, n = 0;
  for (int w = 0; w < c->job->n_wires; w++) {
    if (c->sizing->wires[w].worst.run != run || !is_overloaded(c, w))
      continue;
    n++;
    if (hottest < 0 || excess_K(c, w) > excess_K(c, hottest))
      hottest = w;
  }
  if (hottest >= 0)
    report_overloaded(c, hottest, n - 1);
}

static void check_wire_overloaded(LgCheckContext *c)
{
  for (int w = 0; w < c->job->n_wires; w++) {
    if (is_too_hot(c, w))
      report_too_hot(c, w);
    else if (is_overloaded(c, w) && c->sizing->wires[w].worst.run < 0)
      report_overloaded(c, w, 0);
  }
  for (int run = 0; run < c->job->n_runs; run++)
    check_run(c, run);
}

const LgRule lg_rule_wire_overloaded = {
    .name = "wire-overloaded",
    .grade = LG_GRADE_DANGER,
    .title = N_("a wire gets hotter than its insulation bears"),
    .what = "Finds, over all states, the one in which a wire is hottest together with what lies "
            "beside it, in each stretch of its way with the heat and covering there, and compares "
            "its temperature with the class of its insulation. Currents that never flow together "
            "are not added up. Where several wires of a run get too hot, the worst is told.",
    .formula = "I^2 R(T) per metre = convection + radiation at the outermost surface, conduction "
               "through bundle and covering; T <= class of the insulation",
    .source = "docs/heat.md: Churchill and Chu, IEC 60287-2-1, within 19 % below and 7 % above 33 "
              "CFR 183.425 Table 5 (seen) and the AS50881 bundle curves (seen); wires that the "
              "sheet only counts: 1.5 mm2 with 10 A, common practice, no source",
    .remedy = "A thicker wire, fewer loaded wires together, a cooler way, or better insulation.",
    .run = check_wire_overloaded};

/* --- coverings --- */

static void check_cover_hot(LgCheckContext *c)
{
  for (int r = 0; r < c->job->n_runs; r++) {
    const LgRun *const run = &c->job->runs[r];
    if (run->cover == NULL || isnan(run->cover->temperature_K))
      continue;
    const LgCoverHeat heat = lg_warmer_cover(c->sizing->warmer, r);
    const double K = fmax(run->hot_K, heat.inside_K);
    if (!(K > run->cover->temperature_K))
      continue;
    lg_found(c, run->origin, lg_say(c, T_("run %s"), run->name),
             isfinite(K)
                 ? lg_say(c, T_("Its covering %s gets %s %s, and bears %s."), run->cover->name,
                          lg_say_degrees(c, K), lg_say_state(c, heat.state),
                          lg_say_degrees(c, run->cover->temperature_K))
                 : lg_say(c, T_("Its covering %s burns %s: the wires find no balance."),
                          run->cover->name, lg_say_state(c, heat.state)),
             lg_say(c, T_("heat balance of all wires in it, air of %s; covering: %s"),
                    lg_say_degrees(c, run->hot_K), run->cover->source),
             T_("Take a covering for more heat, thicker wires, or lead the way past the heat."));
  }
}

const LgRule lg_rule_cover_hot = {
    .name = "cover-hot",
    .grade = LG_GRADE_FAULT,
    .title = N_("a covering gets hotter than it bears"),
    .what = "The wires of a run warm its covering from inside. A wire of a high class may run "
            "hotter than the tube or braid around it can stand.",
    .formula = "temperature at the covering in the run's warmest state <= its own limit",
    .source = "docs/heat.md; limits of coverings: common practice, no source",
    .remedy = "A covering for more heat, or cooler wires.",
    .run = check_cover_hot};

/* --- overloads that open late or never --- */

/* Overloads up to ten times the rating: beyond the last gate a fuse's I2t stays. */
#define OVERLOADS 10

static gboolean is_told_already(const LgCheckContext *c, int wire)
{
  const LgProtection *const p = &c->sizing->protection[wire];
  return c->job->wires[wire].is_auto || is_too_hot(c, wire) || is_overloaded(c, wire) ||
         p->exempt || !isfinite(p->rating_A) || p->rating_A <= 0 || p->rating_device < 0;
}

/* The rating counts as the job's fuse-over-wire asks. */
static gboolean overload_of(const LgCheckContext *c, int wire, LgOverload *overload)
{
  const LgProtection *const p = &c->sizing->protection[wire];
  const LgWireWarmth *const warmth =
      lg_warmer_look(c->sizing->warmer, wire, c->sizing->chosen[wire]);
  const LgExposed exposed =
      lg_warmth_exposed(warmth, lg_overload_limit_K(c->job->wires[wire].insulation));
  LgProtector fuse = lg_protector_of(c->job, p->rating_device, p->rating_A);
  fuse.rating_A /= c->job->fuse_over_wire;
  if (lg_overload_holds(&exposed, &fuse, OVERLOADS * fuse.rating_A))
    return FALSE;
  *overload = lg_overload_worst(&exposed, &fuse, OVERLOADS * fuse.rating_A);
  return TRUE;
}

static void report_overload(LgCheckContext *c, int wire, const LgOverload *overload)
{
  const LgProtection *const p = &c->sizing->protection[wire];
  const LgWire *const w = &c->job->wires[wire];
  const LgStretchHeat *const tight = &c->sizing->wires[wire].tight;
  const double limit_K = lg_overload_limit_K(w->insulation);
  const char *const fuse = lg_say_element(c, p->rating_device);
  const double share =
      sqrt((limit_K - tight->ambient_K) / (overload->reached_K - tight->ambient_K));
  const LgFuse *const smaller = lg_fuse_between(
      c, c->job->elements[p->rating_device].form,
      c->sizing->fuses[p->rating_device].most_A / c->job->fuse_load, share * p->rating_A);
  const LgConductor *const thicker =
      lg_conductor_for_fuse(c, wire, tight->allowed_A / fmax(share, 0.1));
  const char *const time =
      isfinite(overload->opens_s)
          ? lg_say(c, T_("may take %s to open at"), lg_say_hours(c, overload->opens_s / 3600))
          : T_("need not open at all at");
  lg_found(
      c, w->origin, lg_say(c, T_("wire %s"), w->name),
      lg_say(c, T_("%s (%s) %s %s, which brings %s to %s; its insulation bears %s for some hours."),
             fuse, lg_say_amps(c, p->rating_A), time, lg_say_amps(c, overload->current_A),
             lg_say_wire(c, wire),
             isfinite(overload->reached_K) ? lg_say_degrees(c, overload->reached_K)
                                           : T_("the melting point of copper"),
             lg_say_degrees(c, limit_K)),
      lg_say(c, T_("longest opening time of the body at its place, %s; %s"),
             lg_say_degrees(c, lg_element_hot_K(c->job, p->rating_device)),
             lg_say_heat(c, wire, tight)),
      smaller != NULL   ? lg_say(c, T_("Use a %s fuse%s."), lg_say_amps(c, smaller->rating_A),
                               thicker != NULL ? lg_say(c, T_(", or %s"), thicker->name) : "")
      : thicker != NULL ? lg_say(c, T_("Use %s."), thicker->name)
                        : T_("Give it a fuse of its own, or take the wire out of the heat."));
}

/* Fuses that are too large for some wire as it is: told there. */
static gboolean *fuses_above(const LgCheckContext *c)
{
  gboolean *const above = g_new0(gboolean, (gsize)c->job->n_elements + 1);
  for (int w = 0; w < c->job->n_wires; w++) {
    const LgProtection *const p = &c->sizing->protection[w];
    if (!c->job->wires[w].is_auto && !p->exempt && isfinite(p->rating_A) && p->rating_device >= 0)
      above[p->rating_device] |= lg_fuse_is_above(c, p->rating_device, w);
  }
  return above;
}

/* One finding for each fuse: the wire that gets hottest beyond its limit. */
static void check_overload_lasts(LgCheckContext *c)
{
  const gsize n = (gsize)c->job->n_elements + 1;
  g_autofree gboolean *above = fuses_above(c);
  g_autofree int *wire = g_new(int, n);
  g_autofree LgOverload *worst = g_new0(LgOverload, n);
  for (gsize e = 0; e < n; e++)
    wire[e] = -1;
  for (int w = 0; w < c->job->n_wires; w++) {
    LgOverload overload;
    if (is_told_already(c, w) || above[c->sizing->protection[w].rating_device] ||
        !overload_of(c, w, &overload))
      continue;
    const int fuse = c->sizing->protection[w].rating_device;
    if (wire[fuse] < 0 || overload.reached_K > worst[fuse].reached_K) {
      wire[fuse] = w;
      worst[fuse] = overload;
    }
  }
  for (int e = 0; e < c->job->n_elements; e++)
    if (wire[e] >= 0)
      report_overload(c, wire[e], &worst[e]);
}

const LgRule lg_rule_overload_lasts = {
    .name = "overload-lasts",
    .grade = LG_GRADE_DANGER,
    .title = N_("an overload lasts until the wire is spoilt"),
    .what = "A fuse bears a third more than its rating for a long time, a breaker too. Tries every "
            "overload from there upwards, with the longest opening time, and follows the wire's "
            "temperature until it opens. Told at the wire that suffers most behind each fuse, "
            "where the fuse's rating itself is not too large already (fuse-above-wire).",
    .formula = "temperature when the fuse opens at last <= what the insulation bears for 6 h",
    .source = "opening times: ISO 8820-3 and others as the catalogue marks them; insulation: ISO "
              "6722-1, 6 h figure, 50 K above its class (memory); docs/heat.md",
    .remedy = "A smaller fuse, a thicker wire, or a cooler way.",
    .run = check_overload_lasts};
