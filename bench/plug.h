/* Invented plugs for the bench and the rate of identification: things of known class between the
 * cavities, and a meter that reads them. */
#pragma once
#include "studies/identify.h"
#include <math.h>

typedef struct {
  int a, b;
  LgIdClass class;
  double ohm;      /* at 20 C, contacts: closed */
  gboolean closed; /* contacts: at rest */
  gboolean flickers;
} PlugThing;

typedef struct {
  int n_cavities, n_things;
  PlugThing things[LG_MOST_CAVITIES];
  GRand *rand;
  double tolerance;
} Plug;

static inline double plug_between(GRand *rand, double low, double high)
{
  return exp(g_rand_double_range(rand, log(low), log(high)));
}

static inline void plug_add(Plug *plug, int a, int b, LgIdClass class)
{
  const LgIdRow *const row = &lg_id_rows[class];
  plug->things[plug->n_things++] =
      (PlugThing){a,
                  b,
                  class,
                  class == LG_ID_ELECTRONIC ? plug_between(plug->rand, 400, 3000)
                                            : plug_between(plug->rand, row->low_ohm, row->high_ohm),
                  g_rand_double(plug->rand) >= row->open,
                  g_rand_double(plug->rand) < row->flickers};
}

/* Half to all of the cavities lead somewhere; one thing in five shares a cavity with the one before
 * it, as on a common return. Every class as often as any other: the rate does not profit from the
 * shares that the table expects. */
static inline Plug plug_new(GRand *rand, int n_cavities, double tolerance)
{
  static const LgIdClass classes[] = {LG_ID_MOTOR, LG_ID_PAD,       LG_ID_TAPPED, LG_ID_NTC,
                                      LG_ID_PTC,   LG_ID_CONTACT,   LG_ID_LAMP,   LG_ID_COIL,
                                      LG_ID_BOND,  LG_ID_ELECTRONIC};
  Plug plug = {.n_cavities = n_cavities, .rand = rand, .tolerance = tolerance};
  const int most = g_rand_int_range(rand, n_cavities / 2, n_cavities + 1);
  int next = 0;
  gboolean may_share = FALSE;
  while (next + 3 <= most) {
    const LgIdClass class = classes[g_rand_int_range(rand, 0, G_N_ELEMENTS(classes))];
    const gboolean shares = may_share && class != LG_ID_TAPPED && class != LG_ID_ELECTRONIC &&
                            g_rand_int_range(rand, 0, 5) == 0;
    const int a = shares ? next - 1 : next++;
    plug_add(&plug, a, next, class);
    next++;
    if (class == LG_ID_TAPPED) {
      plug_add(&plug, next - 1, next, class);
      next++;
    }
    may_share = class != LG_ID_TAPPED && class != LG_ID_ELECTRONIC;
  }
  return plug;
}

/* Ohms of a thing after something was done to it; by the table's slopes, eight kelvin of a hand. */
static inline double plug_thing_ohm(const PlugThing *thing, int done_to, LgDid did, int index)
{
  if (thing->class == LG_ID_CONTACT) {
    const gboolean toggled = did == LG_DID_MOVED && done_to == index;
    return thing->closed != toggled ? thing->ohm : INFINITY;
  }
  const gboolean warm = did == LG_DID_WARMED && done_to == index;
  return thing->ohm * exp(warm ? 8 * lg_id_rows[thing->class].slope : 0);
}

/* What lies between two cavities; a diode conducts from a to b and is the only thing at its
 * cavities. */
static inline double plug_ohm(const Plug *plug, int red, int black, LgDid did, int done_to)
{
  double g[LG_MOST_CAVITIES * LG_MOST_CAVITIES] = {0}, r[LG_MOST_CAVITIES * LG_MOST_CAVITIES];
  int local[LG_MOST_CAVITIES], n = 0;
  for (int k = 0; k < plug->n_cavities; k++)
    local[k] = -1;
  local[red] = n++;
  for (gboolean grew = TRUE; grew;) {
    grew = FALSE;
    for (int i = 0; i < plug->n_things; i++) {
      const PlugThing *const t = &plug->things[i];
      if (t->class == LG_ID_ELECTRONIC && t->a == red && t->b == black)
        return t->ohm;
      if (t->class == LG_ID_ELECTRONIC || isinf(plug_thing_ohm(t, done_to, did, i)) ||
          (local[t->a] < 0) == (local[t->b] < 0))
        continue;
      local[local[t->a] < 0 ? t->a : t->b] = n++;
      grew = TRUE;
    }
  }
  if (local[black] < 0)
    return INFINITY;
  for (int i = 0; i < plug->n_things; i++) {
    const PlugThing *const t = &plug->things[i];
    const double ohm = plug_thing_ohm(t, done_to, did, i);
    if (t->class == LG_ID_ELECTRONIC || isinf(ohm) || local[t->a] < 0)
      continue;
    g[local[t->a] * n + local[t->b]] += 1 / ohm;
    g[local[t->b] * n + local[t->a]] += 1 / ohm;
  }
  return lg_ohms_of_conductances(n, g, r) ? r[local[red] * n + local[black]] : INFINITY;
}

/* A reading by a meter that counts to 2000: even noise within the tolerance, rounded to its digit.
 * Whatever lies nearest to the leads is what is warmed, moved or turned. */
static inline LgProbe plug_read(const Plug *plug, int red, int black, LgDid did)
{
  int done_to = -1;
  gboolean flickers = FALSE;
  for (int i = 0; i < plug->n_things; i++) {
    const PlugThing *const t = &plug->things[i];
    if ((t->a == red && t->b == black) || (t->a == black && t->b == red)) {
      done_to = i;
      flickers = did == LG_DID_TURNED && t->flickers;
    }
  }
  const double ohm = plug_ohm(plug, red, black, did, done_to);
  double range = 200;
  while (range < ohm && range < 2e8)
    range *= 10;
  const double digit = range / 2000,
               noisy = ohm * (1 + plug->tolerance * g_rand_double_range(plug->rand, -1, 1));
  const gboolean open = isinf(ohm) || ohm > 20e6;
  return (LgProbe){.red = red,
                   .black = black,
                   .ohm = open ? INFINITY : digit * round(noisy / digit),
                   .off_ohm = open ? 1 : plug->tolerance * ohm + digit / 2,
                   .temperature_K = LG_ZERO_C_IN_K + 20,
                   .did = did,
                   .saw = did != LG_DID_TURNED ? LG_SAW_UNSAID
                          : flickers           ? LG_SAW_FLICKER
                                               : LG_SAW_STEADY};
}
