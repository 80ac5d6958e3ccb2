/* Probes of a plug: what was read at rest makes the network, what changed when something was done
 * says what its branches are. */
#include "studies/identify-private.h"
#include <math.h>
#include <string.h>

/* Ohms change when they do so by more than this share: copper itself gains 3 % in the eight kelvin
 * of a hand's warmth. */
#define CHANGES 0.045
/* Polarities differ when they do by more than this share, and by more than the meter may be off. */
#define ONE_WAY 0.1
/* Temperatures nearer than this are one. */
#define APART_K 5.0
#define ROOM_K (LG_ZERO_C_IN_K + 20)

typedef struct {
  LgIdentity *identity;
  gboolean *rest;    /* [n_probes] read at rest, at the pair's own temperature */
  gboolean *one_way; /* [n_probes] of a pair whose polarities differ */
  int n;
} Finder;

static gboolean is_usable(const LgIdentity *identity, const LgProbe *probe)
{
  return probe->red != probe->black && !identity->cavities[probe->red].shut &&
         !identity->cavities[probe->black].shut;
}

static gboolean same_pair(const LgProbe *x, const LgProbe *y)
{
  return (x->red == y->red && x->black == y->black) || (x->red == y->black && x->black == y->red);
}

/* A remark ("fell when warmed") stands beside the ohms at rest; without one the ohms are those
 * after it was done. */
static gboolean is_at_rest(const LgProbe *probe)
{
  return probe->did == LG_DID_NOTHING || probe->saw != LG_SAW_UNSAID;
}

/* Of a pair read at several temperatures the one nearest to 20 C goes into the network. */
static void choose_rest(Finder *f)
{
  const LgProbe *const probes = f->identity->probes;
  for (int i = 0; i < f->n; i++) {
    f->rest[i] = is_usable(f->identity, &probes[i]) && is_at_rest(&probes[i]);
    for (int k = 0; k < f->n && f->rest[i]; k++) {
      const double own = fabs(probes[i].temperature_K - ROOM_K),
                   other = fabs(probes[k].temperature_K - ROOM_K);
      if (is_at_rest(&probes[k]) && same_pair(&probes[i], &probes[k]) &&
          fabs(probes[i].temperature_K - probes[k].temperature_K) > APART_K &&
          (other < own || (other == own && k < i)))
        f->rest[i] = FALSE;
    }
  }
}

static gboolean differs(const LgProbe *x, const LgProbe *y)
{
  if (isinf(x->ohm) || isinf(y->ohm))
    return isinf(x->ohm) != isinf(y->ohm);
  const double apart = fabs(x->ohm - y->ohm);
  return apart > 2 * (x->off_ohm + y->off_ohm) && apart > ONE_WAY * fmin(x->ohm, y->ohm);
}

static void choose_one_way(Finder *f)
{
  const LgProbe *const probes = f->identity->probes;
  for (int i = 0; i < f->n; i++)
    for (int k = 0; k < f->n; k++)
      if (f->rest[i] && f->rest[k] && probes[i].red == probes[k].black &&
          probes[i].black == probes[k].red && differs(&probes[i], &probes[k]))
        f->one_way[i] = f->one_way[k] = TRUE;
}

static void make_net(Finder *f)
{
  LgIdentity *const id = f->identity;
  g_autofree LgOhmReading *readings = g_new(LgOhmReading, (gsize)f->n + 1);
  int n = 0;
  for (int i = 0; i < f->n; i++) {
    id->reading_of[i] = -1;
    if (!f->rest[i] || f->one_way[i])
      continue;
    id->reading_of[i] = n;
    readings[n++] = (LgOhmReading){id->probes[i].red, id->probes[i].black, id->probes[i].ohm,
                                   id->probes[i].off_ohm};
  }
  id->net = lg_ohm_net_new(id->n_cavities, readings, n);
  for (int i = 0; i < f->n; i++) {
    const int r = id->reading_of[i];
    id->clash[i] = r >= 0 && id->net->suspect[r];
    id->should_ohm[i] = r >= 0 ? id->net->predicted_ohm[r] : NAN;
  }
}

static LgFound found_between(int a, int b, double ohm, double off_ohm)
{
  return (LgFound){.a = a,
                   .b = b,
                   .ohm = ohm,
                   .off_ohm = off_ohm,
                   .back_ohm = NAN,
                   .slope = NAN,
                   .slope_off = NAN,
                   .moved_ohm = NAN,
                   .mate = -1};
}

static gboolean is_pair(const LgProbe *probe, int a, int b)
{
  return (probe->red == a && probe->black == b) || (probe->red == b && probe->black == a);
}

static void add_branches(Finder *f)
{
  LgIdentity *const id = f->identity;
  for (guint e = 0; e < id->net->branches->len; e++) {
    const LgBranch *const branch = &g_array_index(id->net->branches, LgBranch, e);
    LgFound found = found_between(branch->a, branch->b, branch->ohm, branch->off_ohm);
    gboolean way[2] = {FALSE, FALSE};
    for (int i = 0; i < f->n; i++) {
      if (!f->rest[i] || f->one_way[i] || !is_pair(&id->probes[i], branch->a, branch->b))
        continue;
      found.n_readings++;
      way[id->probes[i].red == branch->a] = TRUE;
    }
    found.both_ways = way[0] && way[1];
    g_array_append_val(id->found, found);
  }
}

/* Of the pairs that conduct unequally between the same two pieces only the one of least ohms: the
 * others go through it. */
static void add_one_way(Finder *f)
{
  LgIdentity *const id = f->identity;
  const int *const group = id->net->group;
  for (int i = 0; i < f->n; i++) {
    const LgProbe *const p = &id->probes[i];
    gboolean least = f->one_way[i] && isfinite(p->ohm);
    double back = NAN;
    for (int k = 0; k < f->n && least; k++) {
      const LgProbe *const q = &id->probes[k];
      if (!f->one_way[k])
        continue;
      if (q->red == p->black && q->black == p->red)
        back = q->ohm;
      const gboolean same =
          (group[q->red] == group[p->red] && group[q->black] == group[p->black]) ||
          (group[q->red] == group[p->black] && group[q->black] == group[p->red]);
      least = !same || p->ohm < q->ohm || (p->ohm == q->ohm && i <= k);
    }
    if (!least)
      continue;
    LgFound found = found_between(p->red, p->black, p->ohm, p->off_ohm);
    found.both_ways = TRUE;
    found.back_ohm = back;
    found.n_readings = 2;
    g_array_append_val(id->found, found);
  }
}

static LgFound *found_at(LgIdentity *id, int a, int b)
{
  for (guint i = 0; i < id->found->len; i++) {
    LgFound *const found = &g_array_index(id->found, LgFound, i);
    if ((found->a == a && found->b == b) || (found->a == b && found->b == a))
      return found;
  }
  return NULL;
}

/* The branch that a change between two cavities is put down to: their own, else the one of most
 * ohms in their piece. */
static LgFound *found_for(LgIdentity *id, const LgProbe *probe)
{
  LgFound *const own = found_at(id, probe->red, probe->black);
  if (own != NULL || id->net->group[probe->red] != id->net->group[probe->black])
    return own;
  LgFound *most = NULL;
  for (guint i = 0; i < id->found->len; i++) {
    LgFound *const found = &g_array_index(id->found, LgFound, i);
    const int terminal = MIN(found->a, found->b);
    if (terminal < id->n_cavities && id->net->group[terminal] == id->net->group[probe->red] &&
        isnan(found->back_ohm) && (most == NULL || found->ohm > most->ohm))
      most = found;
  }
  return most;
}

static void set_saw(LgFound *found, LgDid did, LgSaw saw)
{
  LgSaw *const of = did == LG_DID_WARMED  ? &found->warmed
                    : did == LG_DID_MOVED ? &found->moved
                                          : &found->turned;
  if (*of == LG_SAW_UNSAID || *of == LG_SAW_STEADY)
    *of = saw;
}

static LgSaw change_of(double before, double after, double off, LgDid did)
{
  if (isinf(before) || isinf(after))
    return isinf(before) == isinf(after) ? LG_SAW_STEADY : LG_SAW_CHANGE;
  if (fabs(after - before) <= fmax(2 * off, CHANGES * before))
    return LG_SAW_STEADY;
  return did == LG_DID_WARMED   ? (after < before ? LG_SAW_FALL : LG_SAW_RISE)
         : did == LG_DID_TURNED ? LG_SAW_FLICKER
                                : LG_SAW_CHANGE;
}

/* What closes when moved; one entry for two pieces, the one of least ohms. */
static void add_switched(LgIdentity *id, const LgProbe *probe, double moved_ohm)
{
  const int *const group = id->net->group;
  for (guint i = 0; i < id->found->len; i++) {
    LgFound *const found = &g_array_index(id->found, LgFound, i);
    if (!found->switched ||
        !((group[found->a] == group[probe->red] && group[found->b] == group[probe->black]) ||
          (group[found->a] == group[probe->black] && group[found->b] == group[probe->red])))
      continue;
    if (!(moved_ohm < found->moved_ohm) && !isnan(found->moved_ohm))
      return;
    found->a = probe->red;
    found->b = probe->black;
    found->moved_ohm = isnan(moved_ohm) ? found->moved_ohm : moved_ohm;
    return;
  }
  LgFound found = found_between(probe->red, probe->black, INFINITY, probe->off_ohm);
  found.switched = TRUE;
  found.moved = LG_SAW_CHANGE;
  found.moved_ohm = moved_ohm;
  found.n_readings = 1;
  g_array_append_val(id->found, found);
}

static double at_rest(const Finder *f, const LgProbe *probe)
{
  for (int i = 0; i < f->n; i++)
    if (f->rest[i] && same_pair(&f->identity->probes[i], probe))
      return f->identity->probes[i].ohm;
  return lg_ohm_net_between(f->identity->net, probe->red, probe->black);
}

static void take_done(Finder *f)
{
  LgIdentity *const id = f->identity;
  for (int i = 0; i < f->n; i++) {
    const LgProbe *const p = &id->probes[i];
    if (!is_usable(id, p) || p->did == LG_DID_NOTHING)
      continue;
    const double before = at_rest(f, p);
    const LgSaw saw =
        p->saw != LG_SAW_UNSAID ? p->saw : change_of(before, p->ohm, p->off_ohm, p->did);
    LgFound *const found = found_for(id, p);
    if (found != NULL && !found->switched) {
      set_saw(found, p->did, saw);
      if (p->did == LG_DID_MOVED && !is_at_rest(p))
        found->moved_ohm = p->ohm;
    } else if (isinf(before) && saw != LG_SAW_STEADY && p->did != LG_DID_WARMED) {
      add_switched(id, p, is_at_rest(p) ? NAN : p->ohm);
    }
  }
}

static void take_slopes(Finder *f)
{
  LgIdentity *const id = f->identity;
  for (int i = 0; i < f->n; i++)
    for (int k = 0; k < f->n; k++) {
      const LgProbe *const cold = &id->probes[i], *const warm = &id->probes[k];
      LgFound *const found = found_at(id, cold->red, cold->black);
      const double rise_K = warm->temperature_K - cold->temperature_K;
      if (!is_usable(id, cold) || found == NULL || !same_pair(cold, warm) || rise_K < APART_K ||
          !is_at_rest(cold) || !is_at_rest(warm) || !(cold->ohm > 0) || !(warm->ohm > 0) ||
          isinf(cold->ohm) || isinf(warm->ohm))
        continue;
      found->slope = log(warm->ohm / cold->ohm) / rise_K;
      found->slope_off = (cold->off_ohm / cold->ohm + warm->off_ohm / warm->ohm) / rise_K;
    }
}

static int degree(const LgIdentity *id, int node)
{
  int n = 0;
  for (guint i = 0; i < id->found->len; i++) {
    const LgFound *const found = &g_array_index(id->found, LgFound, i);
    n += found->a == node || found->b == node;
  }
  return n;
}

/* Two branches that share a cavity, and nothing else does: a pair with a tap, perhaps. */
static void pair_mates(LgIdentity *id)
{
  for (guint i = 0; i < id->found->len; i++)
    for (guint k = 0; k < i; k++) {
      LgFound *const x = &g_array_index(id->found, LgFound, i), *const y = &g_array_index(
                                                                    id->found, LgFound, k);
      const int shared = x->a == y->a || x->a == y->b   ? x->a
                         : x->b == y->a || x->b == y->b ? x->b
                                                        : -1;
      if (shared < 0 || shared >= id->n_cavities || isinf(x->ohm) || isinf(y->ohm) ||
          !isnan(x->back_ohm) || !isnan(y->back_ohm) || degree(id, shared) != 2 ||
          degree(id, x->a + x->b - shared) != 1 || degree(id, y->a + y->b - shared) != 1)
        continue;
      x->mate = (int)k;
      y->mate = (int)i;
    }
}

void lg_identity_find(LgIdentity *identity)
{
  const gsize n = (gsize)identity->n_probes + 1;
  g_autofree gboolean *rest = g_new0(gboolean, (gsize)n), *one_way = g_new0(gboolean, (gsize)n);
  Finder f = {identity, rest, one_way, identity->n_probes};
  choose_rest(&f);
  choose_one_way(&f);
  make_net(&f);
  add_branches(&f);
  add_one_way(&f);
  take_done(&f);
  take_slopes(&f);
  pair_mates(identity);
}

LgIdentity *lg_identity_new(const LgCavity cavities[], int n_cavities, const LgProbe probes[],
                            int n_probes)
{
  g_return_val_if_fail(n_cavities >= 0 && n_cavities <= LG_MOST_CAVITIES, NULL);
  LgIdentity *const id = g_new(LgIdentity, 1);
  *id = (LgIdentity){.n_cavities = n_cavities,
                     .cavities = cavities,
                     .probes = probes,
                     .n_probes = n_probes,
                     .reading_of = g_new(int, (gsize)n_probes + 1),
                     .clash = g_new0(gboolean, (gsize)n_probes + 1),
                     .should_ohm = g_new(double, (gsize)n_probes + 1),
                     .found = g_array_new(FALSE, FALSE, sizeof(LgFound)),
                     .nothing = g_new(double, (gsize)n_cavities + 1),
                     .next = g_array_new(FALSE, FALSE, sizeof(LgNext))};
  lg_identity_find(id);
  lg_identity_weigh(id);
  lg_identity_rank(id);
  return id;
}

void lg_identity_free(LgIdentity *identity)
{
  if (identity == NULL)
    return;
  lg_ohm_net_free(identity->net);
  g_free(identity->reading_of);
  g_free(identity->clash);
  g_free(identity->should_ohm);
  g_array_unref(identity->found);
  g_free(identity->nothing);
  g_array_unref(identity->next);
  g_free(identity);
}
