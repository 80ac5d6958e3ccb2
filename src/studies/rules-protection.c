/* Fuses: whether there is one, where it stands, what it protects. */
#include "base/words.h"
#include "studies/checks-private.h"

/* Unprotected length that is allowed. ISO 10133 clause 8.1: 200 mm (memory); 33 CFR 183.455: 7 in,
 * and 40 in where all of it is sheathed or enclosed (seen); 72 in straight at a battery (digest of
 * ABYC E-11, seen). */
#define BARE_METRIC_M 0.2
#define BARE_US_M 0.1778
#define COVERED_M 1.016
#define AT_BATTERY_M 1.829
/* A length that is as long as the limit but for rounding is within it. */
#define HAIR_M 1e-6

#define FUSE_SOURCE                                                                                \
  "33 CFR 183.455: at the source, else within 7 in (178 mm) along the wire, within 40 in (1.02 "   \
  "m) where all of it is sheathed or enclosed (seen); ISO 10133 clause 8.1: 200 mm (memory); 72 "  \
  "in (1.83 m) sheathed and straight at a battery: digest of ABYC E-11, seen"

/* --- stretches without a fuse --- */

typedef struct {
  gboolean *listed; /* [n_wires] */
  int worst;        /* wire with the greatest bare length */
  double least_A;   /* least allowed current of its wires */
  gboolean covered, at_battery, ends_in_use, meets_fuse;
  int far_fuse; /* a fuse at its end, behind which another source begins; -1 */
} Stretch;

static const LgProtection *protection_of(const LgCheckContext *c, int wire)
{
  return &c->sizing->protection[wire];
}

static gboolean is_bare(const LgCheckContext *c, int wire)
{
  const LgProtection *const p = protection_of(c, wire);
  return p->side == LG_SIDE_FEED && !p->exempt && p->bare_source >= 0;
}

/* The posts of sources: where a stretch begins, so that two taps of one battery stay two. */
static gboolean *posts_of(const LgCheckContext *c)
{
  gboolean *const posts = g_new0(gboolean, (gsize)lg_net_n_nodes(c->sizing->circuit->net));
  for (int e = 0; e < c->job->n_elements; e++)
    for (int k = 0; k < 2 && lg_element_is_source(c->job->elements[e].kind); k++)
      posts[c->sizing->circuit->pin_node[c->job->elements[e].pin[k]]] = TRUE;
  return posts;
}

static gboolean passes_bare(const LgCheckContext *c, int edge, int from, gpointer user)
{
  const LgElement *const e = lg_edge_element(c, edge);
  (void)from;
  (void)user;
  if (e == NULL)
    return is_bare(c, edge);
  return e->kind == LG_EL_LINK || e->kind == LG_EL_DIODE || lg_element_is_contact(e->kind);
}

static void note_wire(const LgCheckContext *c, Stretch *stretch, int wire)
{
  const LgProtection *const p = protection_of(c, wire);
  stretch->listed[wire] = TRUE;
  stretch->covered = stretch->covered && lg_wire_is_covered(c->job, wire);
  stretch->least_A = fmin(stretch->least_A, c->sizing->wires[wire].tight.allowed_A);
  if (p->bare_m > protection_of(c, stretch->worst)->bare_m)
    stretch->worst = wire;
}

/* Whether another source reaches one of the fuse's pins without a fuse. */
static gboolean guards_another_source(const LgCheckContext *c, const Stretch *stretch, int edge)
{
  const int nodes[] = {c->ways->a[edge], c->ways->b[edge]};
  for (int k = 0; k < 2; k++)
    for (int i = c->ways->first[nodes[k]]; i < c->ways->first[nodes[k] + 1]; i++) {
      const int wire = c->ways->incident[i];
      if (wire < c->job->n_wires && is_bare(c, wire) &&
          protection_of(c, wire)->bare_source != protection_of(c, stretch->worst)->bare_source)
        return TRUE;
    }
  return FALSE;
}

static void note_edge(const LgCheckContext *c, Stretch *stretch, int edge)
{
  const LgElement *const e = lg_edge_element(c, edge);
  if (e == NULL && is_bare(c, edge))
    note_wire(c, stretch, edge);
  if (e == NULL)
    return;
  if (lg_element_is_protection(e->kind)) {
    stretch->meets_fuse = TRUE;
    if (guards_another_source(c, stretch, edge))
      stretch->far_fuse = edge - c->job->n_wires;
  }
  stretch->ends_in_use =
      stretch->ends_in_use || lg_element_is_load(e->kind) || e->kind == LG_EL_COIL;
}

/* The bare wires that hang together with `wire`. */
static Stretch stretch_of(LgCheckContext *c, int wire, gboolean listed[])
{
  Stretch stretch = {
      .listed = listed, .worst = wire, .least_A = INFINITY, .covered = TRUE, .far_fuse = -1};
  g_autofree gboolean *reached = posts_of(c);
  g_autoptr(GArray) found = g_array_new(FALSE, FALSE, sizeof(int));
  const LgFlood flood = {.context = c, .passes = passes_bare};
  const int a = c->ways->a[wire];
  note_wire(c, &stretch, wire);
  lg_flood(&flood, reached[a] ? c->ways->b[wire] : a, reached, found);
  for (guint i = 0; i < found->len; i++) {
    const int node = g_array_index(found, int, i);
    for (int k = c->ways->first[node]; k < c->ways->first[node + 1]; k++)
      note_edge(c, &stretch, c->ways->incident[k]);
  }
  const int source = protection_of(c, stretch.worst)->bare_source;
  stretch.at_battery = c->job->elements[source].kind == LG_EL_CELL;
  return stretch;
}

static double bare_limit(const LgCheckContext *c, const Stretch *stretch)
{
  if (stretch->covered)
    return stretch->at_battery ? AT_BATTERY_M : COVERED_M;
  return c->job->habit == LG_HABIT_US ? BARE_US_M : BARE_METRIC_M;
}

static void report_no_fuse(LgCheckContext *c, const Stretch *stretch)
{
  const LgProtection *const p = protection_of(c, stretch->worst);
  const double allowed_A = stretch->least_A;
  const LgFuse *const fuse =
      lg_fuse_between(c, "blade-regular", 0, c->job->fuse_over_wire * allowed_A);
  const char *const source = lg_say_element(c, p->bare_source);
  lg_found(c, c->job->wires[stretch->worst].origin,
           lg_say(c, T_("wire %s"), c->job->wires[stretch->worst].name),
           lg_say(c,
                  T_("%s of wire lead from %s to a load with no fuse or breaker between; a chafe "
                     "to the body would burn %s."),
                  lg_say_metres(c, p->bare_m), source, lg_say_wire(c, stretch->worst)),
           lg_say(c,
                  T_("every feed is fused at its source; allowed bare length here %s. 33 CFR "
                     "183.455, seen"),
                  lg_say_metres(c, bare_limit(c, stretch))),
           lg_say(c, T_("Put a fuse of at most %s within %s of %s."),
                  lg_say_amps(c, fuse != NULL ? fuse->rating_A : allowed_A),
                  lg_say_metres(c, bare_limit(c, stretch)), source));
}

static void report_one_end(LgCheckContext *c, const Stretch *stretch)
{
  const LgProtection *const p = protection_of(c, stretch->worst);
  const char *const source = lg_say_element(c, p->bare_source);
  const char *const other = lg_say_element(c, stretch->far_fuse);
  lg_found(c, c->job->wires[stretch->worst].origin,
           lg_say(c, T_("wire %s"), c->job->wires[stretch->worst].name),
           lg_say(c,
                  T_("%s stands against another source, but %s reaches %s through %s of wire "
                     "without any fuse."),
                  other, source, lg_say_wire(c, stretch->worst), lg_say_metres(c, p->bare_m)),
           T_("a wire between two sources can be fed from both ends. 33 CFR 183.455, seen"),
           lg_say(c, T_("Put a second fuse within %s of %s."),
                  lg_say_metres(c, bare_limit(c, stretch)), source));
}

static void report_far(LgCheckContext *c, const Stretch *stretch)
{
  const LgProtection *const p = protection_of(c, stretch->worst);
  const char *const source = lg_say_element(c, p->bare_source);
  const double limit_m = bare_limit(c, stretch);
  const double covered_m = stretch->at_battery ? AT_BATTERY_M : COVERED_M;
  const gboolean sheath_helps = !stretch->covered && p->bare_m <= covered_m;
  lg_found(
      c, c->job->wires[stretch->worst].origin,
      lg_say(c, T_("wire %s"), c->job->wires[stretch->worst].name),
      lg_say(c, T_("The first fuse after %s comes after %s of wire; %s is allowed."), source,
             lg_say_metres(c, p->bare_m), lg_say_metres(c, limit_m)),
      stretch->covered
          ? T_("covered over its whole length; 33 CFR 183.455 and a digest of ABYC E-11, seen")
          : T_("bare wire; ISO 10133 clause 8.1, 200 mm, memory; 33 CFR 183.455, 7 in, seen"),
      lg_say(c, T_("Move the fuse to within %s of %s%s."), lg_say_metres(c, limit_m), source,
             sheath_helps ? T_(", or cover the wire over its whole length up to the fuse") : ""));
}

typedef enum { WHOLLY_BARE, FUSED_AT_ONE_END, FUSED_LATE } BareKind;

static BareKind kind_of(const Stretch *stretch)
{
  if (stretch->far_fuse >= 0)
    return FUSED_AT_ONE_END;
  return stretch->meets_fuse && !stretch->ends_in_use ? FUSED_LATE : WHOLLY_BARE;
}

static void check_stretches(LgCheckContext *c, BareKind kind,
                            void (*report)(LgCheckContext *, const Stretch *))
{
  g_autofree gboolean *listed = g_new0(gboolean, (gsize)c->job->n_wires + 1);
  for (int w = 0; w < c->job->n_wires; w++) {
    if (listed[w] || !is_bare(c, w))
      continue;
    const Stretch stretch = stretch_of(c, w, listed);
    if (kind_of(&stretch) == kind &&
        protection_of(c, stretch.worst)->bare_m > bare_limit(c, &stretch) + HAIR_M)
      report(c, &stretch);
  }
}

static void check_no_fuse(LgCheckContext *c)
{
  check_stretches(c, WHOLLY_BARE, report_no_fuse);
}

static void check_one_end(LgCheckContext *c)
{
  check_stretches(c, FUSED_AT_ONE_END, report_one_end);
}

static void check_fuse_far(LgCheckContext *c)
{
  check_stretches(c, FUSED_LATE, report_far);
}

const LgRule lg_rule_no_fuse = {
    .name = "no-fuse",
    .grade = LG_GRADE_DANGER,
    .title = N_("a load is fed without a fuse or breaker"),
    .what = "Looks from every source along wires, switches and contacts for loads that are reached "
            "without a fuse or breaker. A feed that chafes through to the body draws hundreds of "
            "amperes from a battery; without a fuse the wire is the fuse. Starter and charging "
            "cables, which the trade leaves bare, are passed over.",
    .source = FUSE_SOURCE,
    .remedy = "Put a fuse at the source that the thinnest wire behind it can bear.",
    .run = check_no_fuse};

const LgRule lg_rule_fuse_at_one_end = {
    .name = "fuse-at-one-end",
    .grade = LG_GRADE_DANGER,
    .title = N_("a wire between two sources is fused at one end only"),
    .what =
        "A wire between two batteries, or a battery and a charger, can be fed from both ends. A "
        "fuse at one end does nothing against the source at the other.",
    .source = FUSE_SOURCE,
    .remedy = "Put a fuse at each source.",
    .run = check_one_end};

const LgRule lg_rule_fuse_far = {
    .name = "fuse-far",
    .grade = LG_GRADE_DANGER,
    .title = N_("too much wire between a source and its first fuse"),
    .what =
        "The wire between a source and its first fuse is protected by nothing. It must be short "
        "enough, or covered well enough, not to be chafed.",
    .formula = "length along the wires from the source to the fuse <= 0.2 m (7 in with US units) "
               "bare, 1.02 m covered, 1.83 m covered and straight at a battery",
    .source = FUSE_SOURCE,
    .remedy = "Move the fuse to the source, or sheathe the wire up to it.",
    .run = check_fuse_far};

/* --- fuse against wire --- */

gboolean lg_fuse_is_above(const LgCheckContext *c, int fuse, int wire)
{
  const double rating_A = c->sizing->fuses[fuse].rating_A;
  return lg_fuse_lasting_A(c->job, fuse, rating_A) >
         c->job->fuse_over_wire * c->sizing->wires[wire].tight.allowed_A * (1 + 1e-9);
}

/* The weakest wire that each fuse leaves unprotected: [n_elements], -1 for none. A wire is told at
 * the fuse next to it, not at a smaller one farther up. */
static int *weakest_wires(const LgCheckContext *c)
{
  int *const weakest = g_new(int, (gsize)c->job->n_elements + 1);
  for (int e = 0; e < c->job->n_elements; e++)
    weakest[e] = -1;
  for (int w = 0; w < c->job->n_wires; w++) {
    const LgProtection *const p = protection_of(c, w);
    /* What an auto wire could not be given is told by sizing; one that is too hot by
     * wire-overloaded. */
    if (c->job->wires[w].is_auto || c->sizing->wires[w].tight.allowed_A <= 0 || p->exempt ||
        !isfinite(p->rating_A) || p->rating_device < 0 || !lg_fuse_is_above(c, p->rating_device, w))
      continue;
    for (int d = p->n_devices > 0 ? 0 : -1; d < p->n_devices; d++) {
      const int e = d < 0 ? p->rating_device : p->devices[d];
      if (e >= 0 && lg_fuse_is_above(c, e, w) &&
          (weakest[e] < 0 ||
           c->sizing->wires[w].tight.allowed_A < c->sizing->wires[weakest[e]].tight.allowed_A))
        weakest[e] = w;
    }
  }
  return weakest;
}

static const char *mend_fuse_above_wire(LgCheckContext *c, int fuse, int wire)
{
  const LgFuseSize *const size = &c->sizing->fuses[fuse];
  const double over = c->job->fuse_over_wire, share = lg_fuse_lasting_A(c->job, fuse, 1),
               allowed_A = over * c->sizing->wires[wire].tight.allowed_A / share,
               least_A = isnan(size->most_A) ? 0 : size->most_A / c->job->fuse_load;
  const LgConductor *const thicker = lg_conductor_for_fuse(
      c, wire, fmin(size->rating_A, protection_of(c, wire)->rating_A) * share / over);
  const LgFuse *const smaller = lg_fuse_between(c, c->job->elements[fuse].form, least_A, allowed_A);
  const char *const name = c->job->wires[wire].name;
  if (thicker != NULL && smaller != NULL)
    return lg_say(c, T_("Use %s for %s, or a %s fuse."), thicker->name, name,
                  lg_say_amps(c, smaller->rating_A));
  if (thicker != NULL)
    return lg_say(c, T_("Use %s for %s; a smaller fuse would not carry the %s that flow for good."),
                  thicker->name, name, lg_say_amps(c, size->most_A));
  if (smaller != NULL)
    return lg_say(c, T_("Use a %s fuse."), lg_say_amps(c, smaller->rating_A));
  return lg_say(c,
                T_("Give %s a fuse of its own, of at most %s, or take the wire out of the heat."),
                name, lg_say_amps(c, allowed_A));
}

static void report_above_wire(LgCheckContext *c, int fuse, int wire)
{
  const LgWireSize *const size = &c->sizing->wires[wire];
  const double rating_A = c->sizing->fuses[fuse].rating_A;
  const LgProtection *const p = protection_of(c, wire);
  const char *const before = p->rating_A < rating_A ? lg_say(c, T_(" (%s before it %s)"),
                                                             lg_say_element(c, p->rating_device),
                                                             lg_say_amps(c, p->rating_A))
                                                    : "";
  lg_found(c, c->job->elements[fuse].origin, lg_say(c, T_("fuse %s"), lg_say_element(c, fuse)),
           lg_say(c,
                  T_("Rated %s%s, but %s behind it may carry %s for good: the wire overheats "
                     "before the fuse opens."),
                  lg_say_amps(c, rating_A), before, lg_say_wire(c, wire),
                  lg_say_amps(c, size->tight.allowed_A)),
           lg_say(c,
                  T_("what the fuse carries for good where it sits, at most %s of the allowed "
                     "current of its weakest wire; %s"),
                  lg_say_percent(c, c->job->fuse_over_wire), lg_say_heat(c, wire, &size->tight)),
           mend_fuse_above_wire(c, fuse, wire));
}

static void check_fuse_above_wire(LgCheckContext *c)
{
  g_autofree int *weakest = weakest_wires(c);
  for (int e = 0; e < c->job->n_elements; e++)
    if (weakest[e] >= 0)
      report_above_wire(c, e, weakest[e]);
}

const LgRule lg_rule_fuse_above_wire = {
    .name = "fuse-above-wire",
    .grade = LG_GRADE_DANGER,
    .title = N_("a fuse is too large for the weakest wire behind it"),
    .what =
        "A fuse protects the wire, not the load. The weakest place counts: the thinnest, hottest "
        "or most crowded wire that no smaller fuse protects, a thin tail behind a thick feed "
        "included.",
    .formula = "rating x rerating at the fuse's place <= fuse-over-wire x allowed current; allowed "
               "current by the heat balance I^2 R(T) = what covering, company and air take at the "
               "insulation's class",
    .source = "docs/heat.md; AC 43.13-1B: the protective device must open before the wire's rating "
              "(seen); 33 CFR "
              "183.455 allows 150 % of the table value below 50 V (seen): write "
              "fuse-over-wire=150% at the job for that rule",
    .remedy = "A thicker wire, a smaller fuse, or a second fuse where the wire gets thinner.",
    .run = check_fuse_above_wire};

static void check_fuse_loaded(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const element = &c->job->elements[e];
    const LgFuseSize *const size = &c->sizing->fuses[e];
    const double carries_A = fmin(size->rating_A, lg_fuse_lasting_A(c->job, e, size->rating_A));
    if (!lg_element_is_protection(element->kind) || size->is_auto || isnan(size->most_A) ||
        isnan(size->rating_A) || size->most_A <= c->job->fuse_load * carries_A * (1 + 1e-9))
      continue;
    const char *const heat =
        carries_A < 0.995 * size->rating_A
            ? lg_say(c, T_(", which counts as %s at %s"), lg_say_amps(c, carries_A),
                     lg_say_degrees(c, lg_element_hot_K(c->job, e)))
            : "";
    const LgExtreme most = c->states->elements[e].most_A;
    const LgFuse *const larger = lg_fuse_least(c, element->form, size->most_A / c->job->fuse_load,
                                               c->job->fuse_over_wire * size->wire_A);
    lg_found(
        c, element->origin, lg_say(c, T_("fuse %s"), lg_say_element(c, e)),
        lg_say(c, T_("Carries %s %s, which is %s of its %s%s."), lg_say_amps(c, size->most_A),
               lg_say_state(c, most.state), lg_say_percent(c, size->most_A / size->rating_A),
               lg_say_amps(c, size->rating_A), heat),
        lg_say(c,
               T_("a steady load of at most %s of the rating; 75 to 80 %% is common practice: a "
                  "marine maker's catalogue and a fuse datasheet note, seen"),
               lg_say_percent(c, c->job->fuse_load)),
        larger != NULL
            ? lg_say(c, T_("Use a %s fuse; its wires bear it."), lg_say_amps(c, larger->rating_A))
            : lg_say(c,
                     T_("Share the loads between two fuses, or use thicker wire and a larger fuse; "
                        "%s for good need a rating of %s or more."),
                     lg_say_amps(c, size->most_A),
                     lg_say_amps(c, size->most_A / c->job->fuse_load)));
  }
}

const LgRule lg_rule_fuse_loaded = {
    .name = "fuse-loaded",
    .grade = LG_GRADE_FAULT,
    .title = N_("a fuse carries too much for good"),
    .what = "A fuse that runs near its rating ages and opens some winter morning, and its holder "
            "gets hot. All loads that can be on together are counted.",
    .formula = "steady current <= fuse-load x rating x rerating above 25 degC at its place",
    .source = "80 %: a marine electrical maker's catalogue, seen; 75 % at 25 C: note on a fuse "
              "datasheet, seen",
    .remedy =
        "A larger fuse where the wires bear it, else two circuits. Never a larger fuse alone.",
    .run = check_fuse_loaded};

/* --- opening when it should not --- */

/* For 100000 starts: a maker's chart, seen. A current that falls straight to nothing within the
 * start's time has a third of a rectangle's I2t. */
#define PULSE_SHARE 0.22
#define DYING_AWAY (1 / 3.0)

static void check_fuse_start(LgCheckContext *c)
{
  const GArray *const starts = c->states->starts;
  for (guint i = 0; i < starts->len; i++) {
    const LgStart *const start = &g_array_index(starts, LgStart, i);
    const LgElement *const fuse = &c->job->elements[start->protection];
    const LgElement *const load = &c->job->elements[start->load];
    const LgFuseSize *const size = &c->sizing->fuses[start->protection];
    const double start_s = load->p[LG_P_START_TIME];
    if (size->is_auto || isnan(size->rating_A) || isnan(start_s) || fuse->kind != LG_EL_FUSE)
      continue;
    gboolean again = FALSE; /* the same start in another state */
    for (guint k = 0; k < i && !again; k++) {
      const LgStart *const other = &g_array_index(starts, LgStart, k);
      again = other->protection == start->protection && other->load == start->load &&
              other->amps >= start->amps * (1 - 1e-9);
    }
    const LgProtector protector = lg_protector_of(c->job, start->protection, size->rating_A);
    const LgNuisance nuisance = lg_nuisance(&protector, 0, start->amps, start_s);
    const double wear = DYING_AWAY * nuisance.pulse_share;
    if (again || (nuisance.start_ok && !(wear > PULSE_SHARE)))
      continue;
    const char *const why =
        !nuisance.start_ok
            ? lg_say(c, T_("may open after %s at that current"),
                     lg_say_seconds(c, lg_opening_time(&protector, start->amps).least_s))
            : lg_say(c, T_("is worn by %s of its melting energy at each start"),
                     lg_say_percent(c, wear));
    lg_found(
        c, fuse->origin, lg_say(c, T_("fuse %s"), lg_say_element(c, start->protection)),
        lg_say(c, T_("%s starts with %s for %s through it, and it %s."),
               lg_say_element(c, start->load), lg_say_amps(c, start->amps),
               lg_say_seconds(c, start_s), why),
        !nuisance.start_ok
            ? T_("shortest opening time of the body at its place; a start counts as a rectangle")
            : T_(/* xgettext:no-c-format */
                 "a pulse of at most 22 % of the melting I2t for 100000 starts: a maker's chart, "
                 "seen; a start dies away and has a third of a rectangle's energy"),
        T_("Use a larger or slower fuse where its wires bear it, or share the loads; never a "
           "larger fuse alone."));
  }
}

const LgRule lg_rule_fuse_start = {
    .name = "fuse-start",
    .grade = LG_GRADE_FAULT,
    .title = N_("a fuse may open when a load starts"),
    .what = "Motors and lamps draw a multiple of their running current for a moment. A fuse at the "
            "quick end of its band may open then, and one that comes near it each time ages.",
    .formula =
        "start time < shortest opening time at the start current; I^2 t / 3 <= 0.22 melting I^2 "
        "t",
    .source = "opening times: ISO 8820-3 and others as the catalogue marks them; 0.22: a maker's "
              "chart for 100000 pulses, seen",
    .remedy = "A slower or larger fuse where the wires bear it, or a fuse of its own.",
    .run = check_fuse_start};

static void check_fuse_not_sold(LgCheckContext *c)
{
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const element = &c->job->elements[e];
    const double rating_A = element->p[LG_P_RATING];
    if (element->kind != LG_EL_FUSE || isnan(rating_A) ||
        lg_catalogue_fuse(c->job->catalogue, element->form, rating_A) != NULL)
      continue;
    const LgFuse *const below = lg_fuse_between(c, element->form, 0, rating_A);
    lg_found(c, element->origin, lg_say(c, T_("fuse %s"), lg_say_element(c, e)),
             lg_say(c, T_("There is no %s fuse of the form %s, so its holder cannot take one."),
                    lg_say_amps(c, rating_A), element->form != NULL ? element->form : "?"),
             T_("ratings of the form as in the catalogue (`loomgraft explain fuses`)"),
             below != NULL ? lg_say(c, T_("Use a %s fuse, or a holder of a larger form."),
                                    lg_say_amps(c, below->rating_A))
                           : T_("Use a holder of another form, such as blade-regular."));
  }
}

const LgRule lg_rule_fuse_not_sold = {
    .name = "fuse-not-sold",
    .grade = LG_GRADE_FAULT,
    .title = N_("no fuse of this rating is made for the holder"),
    .what = "A holder takes one body size, and each body size ends at some rating. A fuse that is "
            "not made tempts people to bridge the holder.",
    .source = "ISO 8820-3 and a public list of blade fuse sizes and ratings, seen",
    .remedy = "A rating that the form has, or a holder of a larger form.",
    .run = check_fuse_not_sold};

/* --- fuses in the wrong place --- */

static void check_fuse_in_return(LgCheckContext *c)
{
  const int ground = lg_ground_net(c);
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const element = &c->job->elements[e];
    if (!lg_element_is_protection(element->kind) || ground < 0)
      continue;
    const gboolean first = lg_pin_net(c, element->pin[0]) == ground,
                   second = lg_pin_net(c, element->pin[1]) == ground;
    if (first == second || lg_pin_n_wires(c, element->pin[first ? 1 : 0]) == 0)
      continue;
    lg_found(c, element->origin, lg_say(c, T_("fuse %s"), lg_say_element(c, e)),
             lg_say(c,
                    T_("Stands in the %s side: a short from the feed to the body goes past it, and "
                       "when it opens the load stays live."),
                    T_(c->job->ground_word)),
             T_("the fuse belongs into the feed, near its source; the return is not fused: "
                "practice of professional fitters, seen"),
             T_("Put the fuse into the feed, and join the return without one."));
  }
}

const LgRule lg_rule_fuse_in_return = {
    .name = "fuse-in-return",
    .grade = LG_GRADE_DANGER,
    .title = N_("a fuse stands in the return only"),
    .what = "Most shorts in a vehicle go from a feed to the body. They do not pass a fuse that "
            "stands between the load and the body.",
    .source = "common practice of professional fitters' check lists, seen",
    .remedy = "Move the fuse to the feed's source.",
    .run = check_fuse_in_return};

static void check_parallel_fuses(LgCheckContext *c)
{
  g_autoptr(GHashTable) seen = g_hash_table_new_full(g_str_hash, g_str_equal, NULL, NULL);
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const element = &c->job->elements[e];
    if (!lg_element_is_protection(element->kind) || c->ways->a[c->job->n_wires + e] < 0)
      continue;
    const int a = lg_pin_net(c, element->pin[0]), b = lg_pin_net(c, element->pin[1]);
    const char *const key = lg_say(c, "%d %d", MIN(a, b), MAX(a, b));
    gpointer other;
    if (a == b || !g_hash_table_lookup_extended(seen, key, NULL, &other)) {
      g_hash_table_insert(seen, (gpointer)key, GINT_TO_POINTER(e));
      continue;
    }
    const int first = GPOINTER_TO_INT(other);
    const double sum = c->sizing->fuses[e].rating_A + c->sizing->fuses[first].rating_A;
    lg_found(c, element->origin,
             lg_say(c, T_("fuses %s and %s"), lg_say_element(c, first), lg_say_element(c, e)),
             lg_say(c,
                    T_("Lie in parallel: together they let %s pass, shared as chance has it, and a "
                       "wire on one of them is still fed when that one opens."),
                    isnan(sum) ? T_("the sum of both") : lg_say_amps(c, sum)),
             T_("no fuses in parallel: practice of professional fitters, seen"),
             T_("Use one fuse of the rating that the wire bears, or give each its own circuit."));
  }
}

const LgRule lg_rule_parallel_fuses = {
    .name = "parallel-fuses",
    .grade = LG_GRADE_DANGER,
    .title = N_("two fuses feed the same wire side by side"),
    .what = "Fuses side by side add up to more than the wire bears, and share by their contact "
            "resistance, so one runs hot. Pulling one does not make the circuit dead.",
    .source = "common practice of professional fitters' check lists, seen",
    .remedy = "One fuse of the right size.",
    .run = check_parallel_fuses};

/* --- what must not be lost --- */

typedef struct {
  const char *vital;
  int vital_element, other;
} Shared;

static gboolean passes_behind(const LgCheckContext *c, int edge, int from, gpointer user)
{
  const LgElement *const e = lg_edge_element(c, edge);
  Shared *const shared = user;
  (void)from;
  if (e == NULL) {
    if (c->job->wires[edge].vital != NULL)
      shared->vital = c->job->wires[edge].vital;
    return TRUE;
  }
  return e->kind == LG_EL_LINK || e->kind == LG_EL_DIODE || lg_element_is_contact(e->kind);
}

static void meets_behind(const LgCheckContext *c, int edge, gpointer user)
{
  const LgElement *const e = lg_edge_element(c, edge);
  Shared *const shared = user;
  if (e == NULL || !(lg_element_is_load(e->kind) || e->kind == LG_EL_COIL))
    return;
  const int element = edge - c->job->n_wires;
  if (e->vital != NULL) {
    shared->vital = e->vital;
    shared->vital_element = element;
  } else if (c->job->parts[e->part].is != LG_IS_HOST && shared->other < 0) {
    shared->other = element;
  }
}

/* What the fuse feeds on one side, short of further fuses; FALSE when a source is there, too. */
static gboolean look_behind(LgCheckContext *c, int node, Shared *shared)
{
  const int ground = lg_ground_net(c), n_nodes = lg_net_n_nodes(c->sizing->circuit->net);
  g_autofree gboolean *posts = posts_of(c), *reached = g_new0(gboolean, (gsize)n_nodes);
  g_autoptr(GArray) found = g_array_new(FALSE, FALSE, sizeof(int));
  *shared = (Shared){.vital_element = -1, .other = -1};
  for (int k = 0; k < n_nodes; k++)
    reached[k] = c->net[k] == ground;
  const LgFlood flood = {
      .context = c, .passes = passes_behind, .meets = meets_behind, .user = shared};
  lg_flood(&flood, node, reached, found);
  for (guint k = 0; k < found->len; k++)
    if (posts[g_array_index(found, int, k)])
      return FALSE;
  return TRUE;
}

static void report_shared(LgCheckContext *c, int fuse, const Shared *shared)
{
  const double most_A = c->states->elements[shared->other].most_A.value;
  const char *const added = lg_say_element(c, shared->other);
  const char *const by = shared->vital_element >= 0
                             ? lg_say(c, " (%s)", lg_say_element(c, shared->vital_element))
                             : "";
  lg_found(c, c->job->elements[fuse].origin, lg_say(c, T_("fuse %s"), lg_say_element(c, fuse)),
           lg_say(c,
                  T_("Feeds %s%s and the added %s (%s): a fault in the added part takes that "
                     "function with it."),
                  shared->vital, by, added, lg_say_amps(c, isnan(most_A) ? 0 : most_A)),
           T_("the sheet says vital= there; a function that must not be lost has a fuse of its "
              "own: common practice, no source"),
           lg_say(c, T_("Give %s a feed and a fuse of its own from the source."), added));
}

static gboolean has_vital(const LgJob *job)
{
  for (int w = 0; w < job->n_wires; w++)
    if (job->wires[w].vital != NULL)
      return TRUE;
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].vital != NULL)
      return TRUE;
  return FALSE;
}

static void check_vital_shared(LgCheckContext *c)
{
  if (!has_vital(c->job))
    return;
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const fuse = &c->job->elements[e];
    for (int side = 0; side < 2 && lg_element_is_protection(fuse->kind); side++) {
      Shared shared;
      if (look_behind(c, c->sizing->circuit->pin_node[fuse->pin[side]], &shared) &&
          shared.vital != NULL && shared.other >= 0)
        report_shared(c, e, &shared);
    }
  }
}

const LgRule lg_rule_vital_shared = {
    .name = "vital-shared",
    .grade = LG_GRADE_FAULT,
    .title = N_("added equipment shares a fuse with a function that must not be lost"),
    .what = "Where the sheet says vital= (brake lamps, fuel pump, wipers), the fuse before it must "
            "not open because of something that was added.",
    .source = "common practice, no source",
    .remedy = "A feed and a fuse of its own for what was added.",
    .run = check_vital_shared};
