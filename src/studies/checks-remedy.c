/* What would serve instead: the next wire, the next fuse. */
#include "studies/checks-private.h"

const LgConductor *lg_conductor_of(const LgCheckContext *c, int wire)
{
  const LgConductor *const given = c->job->wires[wire].conductor;
  return given != NULL ? given : c->sizing->chosen[wire];
}

static const LgConductor *thinnest(const LgCheckContext *c, int wire, double amps, gboolean fuse)
{
  const LgConductor *const now = lg_conductor_of(c, wire);
  const gboolean awg = now != NULL ? now->is_awg : c->job->awg_sizes;
  const GPtrArray *const all = lg_catalogue_conductors(c->job->catalogue);
  for (guint i = 0; i < all->len; i++) { /* by area */
    const LgConductor *const conductor = all->pdata[i];
    if (conductor->is_awg != awg || (now != NULL && conductor->area_mm2 < now->area_mm2))
      continue;
    const LgWireWarmth *const warmth = lg_warmer_look(c->sizing->warmer, wire, conductor);
    if ((fuse ? warmth->tight.allowed_A : warmth->worst.allowed_A) >= amps)
      return conductor;
  }
  return NULL;
}

const LgConductor *lg_conductor_for(const LgCheckContext *c, int wire, double amps)
{
  return thinnest(c, wire, amps, FALSE);
}

const LgConductor *lg_conductor_for_fuse(const LgCheckContext *c, int wire, double amps)
{
  return thinnest(c, wire, amps, TRUE);
}

static const LgFuse *pick_fuse(const LgCheckContext *c, const char *form, double least_A,
                               double most_A, double sign)
{
  const GPtrArray *const all = lg_catalogue_fuses(c->job->catalogue);
  const LgFuse *found = NULL;
  for (guint i = 0; i < all->len; i++) {
    const LgFuse *const fuse = all->pdata[i];
    const gboolean fits =
        g_strcmp0(fuse->form, form) == 0 && fuse->rating_A >= least_A && fuse->rating_A <= most_A;
    if (fits && (found == NULL || sign * fuse->rating_A > sign * found->rating_A))
      found = fuse;
  }
  return found;
}

const LgFuse *lg_fuse_between(const LgCheckContext *c, const char *form, double least_A,
                              double most_A)
{
  return pick_fuse(c, form, least_A, most_A, 1);
}

const LgFuse *lg_fuse_least(const LgCheckContext *c, const char *form, double least_A,
                            double most_A)
{
  return pick_fuse(c, form, least_A, most_A, -1);
}
