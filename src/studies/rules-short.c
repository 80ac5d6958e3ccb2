/* Shorts that last too long. */
#include "base/words.h"
#include "studies/checks-private.h"
#include "studies/shorts.h"

static LgShorts *shorts_of(LgCheckContext *c)
{
  if (c->shorts == NULL)
    c->shorts = lg_shorts_new(c->sizing);
  return c->shorts;
}

/* No fuse at all, or one that is too large anyway, is told by other rules. */
static gboolean is_told(const LgCheckContext *c, int wire)
{
  const LgProtection *const p = &c->sizing->protection[wire];
  return p->exempt || p->side != LG_SIDE_FEED || !isfinite(p->rating_A) || p->rating_device < 0 ||
         p->bare_source >= 0 || isnan(c->sizing->fuses[p->rating_device].rating_A) ||
         lg_fuse_is_above(c, p->rating_device, wire);
}

static double fails_at(const LgWireShort *s)
{
  return fmin(s->reach, s->clears);
}

static double distance_m(const LgCheckContext *c, int wire, const LgWireShort *s)
{
  return (isnan(s->from_m) ? 0 : s->from_m) + fails_at(s) * c->job->wires[wire].length_m;
}

static void report(LgCheckContext *c, int wire, int n_more)
{
  const LgWireShort *const s = &c->shorts->wires[wire];
  const LgWire *const w = &c->job->wires[wire];
  const char *const device = s->device >= 0 ? lg_say_element(c, s->device) : T_("the source");
  const double at_m = distance_m(c, wire, s);
  const char *const where =
      at_m < 0.01 ? T_("anywhere along it")
                  : lg_say(c, T_("from %s on, counted from %s"), lg_say_metres(c, at_m), device);
  const char *const end =
      s->reach < 1 && isfinite(s->opens_s)
          ? lg_say(c, T_("%s may take %s to open at %s, and the wire reaches %s"),
                   s->opened_by >= 0 ? lg_say_element(c, s->opened_by) : device,
                   lg_say_seconds(c, s->opens_s), lg_say_amps(c, s->amps),
                   lg_say_degrees(c, s->reached_K))
      : s->reach < 1 ? lg_say(c, T_("nothing need open at %s, and the wire reaches %s"),
                              lg_say_amps(c, s->amps), lg_say_degrees(c, s->reached_K))
                     : lg_say(c,
                              T_("only %s flow there, at which nothing need open; the wire bears "
                                 "it, what touches it need not"),
                              lg_say_amps(c, s->least_A));
  const char *const more = n_more > 0
                               ? lg_say(c,
                                        n_more == 1 ? T_(" %d more wire behind it likewise.")
                                                    : T_(" %d more wires behind it likewise."),
                                        n_more)
                               : "";
  lg_found(c, w->origin, lg_say(c, T_("wire %s"), w->name),
           lg_say(c, T_("A short of %s to the body %s is not cleared in time: %s.%s"),
                  lg_say_wire(c, wire), where, end, more),
           lg_say(c,
                  T_("loop of all sources, wires hot and chargers still; longest opening time; %s "
                     "insulation bears %s at the end of a short"),
                  w->insulation->name, lg_say_degrees(c, s->limit_K)),
           T_("Thicken the way there and back, put a smaller fuse where the wire begins, or "
              "shorten it."));
}

/* One finding for each fuse: the wire where it begins. */
static void check_short_lasts(LgCheckContext *c)
{
  const LgShorts *const shorts = shorts_of(c);
  const gsize n = (gsize)c->job->n_elements + 1;
  g_autofree int *first = g_new(int, n), *count = g_new0(int, n);
  for (gsize e = 0; e < n; e++)
    first[e] = -1;
  for (int w = 0; w < c->job->n_wires; w++) {
    const LgWireShort *const s = &shorts->wires[w];
    if (!s->fed || is_told(c, w) || fails_at(s) >= 1)
      continue;
    const int fuse = c->sizing->protection[w].rating_device;
    count[fuse]++;
    if (first[fuse] < 0 ||
        distance_m(c, w, s) < distance_m(c, first[fuse], &shorts->wires[first[fuse]]))
      first[fuse] = w;
  }
  for (int e = 0; e < c->job->n_elements; e++)
    if (first[e] >= 0)
      report(c, first[e], count[e] - 1);
}

const LgRule lg_rule_short_lasts = {
    .name = "short-lasts",
    .grade = LG_GRADE_DANGER,
    .title = N_("a short to the body is not cleared before the wire is spoilt"),
    .what = "Every wire is shorted to the body at every place along it, with the current that all "
            "sources give through the real loop: battery, fuses, contacts, wires there and body "
            "back. A long thin wire behind a large fuse lets too little current through to open it "
            "soon. Told at the place from which on it fails.",
    .formula = "1/I straight along the wire; temperature at the longest opening time <= limit of "
               "the insulation; without loss I^2 t = k^2 S^2",
    .source = "k: IEC 60949, IEC 60364-5-54 (seen); opening times: ISO 8820-3 and others as the "
              "catalogue marks them; docs/heat.md",
    .remedy = "A thicker or shorter wire, a better return, or a smaller fuse at its start.",
    .run = check_short_lasts};
