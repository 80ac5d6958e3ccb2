/* What a branch is likely to be: a table of classes with what is known of each, and Bayes' rule. */
#include "studies/identify-private.h"
#include <math.h>

const LgIdRow lg_id_rows[LG_N_ID_CLASSES] = {
    [LG_ID_MOTOR] = {.name = "motor",
                     .words = "motor",
                     .prior = 3,
                     .low_ohm = 0.3,
                     .high_ohm = 3,
                     .slope = 0.0039,
                     .slope_spread = 0.004,
                     .warmed = {0.96, 0.02, 0.02},
                     .moved = 0.05,
                     .flickers = 0.8,
                     .one_way = 0.02,
                     .open = 0.03,
                     .source =
                         "0.3 to 3 ohm, flickers when turned by hand: workshop habit, memory; "
                         "seat motors stall at 15 to 30 A of 12 V, lumbar ones at 8 A: "
                         "common practice, memory; copper's slope: relay sheet, seen; shares: "
                         "common practice, no source"},
    [LG_ID_PAD] = {.name = "pad",
                   .words = "heating pad",
                   .prior = 1.2,
                   .low_ohm = 0.5,
                   .high_ohm = 10,
                   .slope = 0.001,
                   .slope_spread = 0.002,
                   .warmed = {0.97, 0.01, 0.02},
                   .moved = 0.02,
                   .flickers = 0.01,
                   .one_way = 0.005,
                   .open = 0.05,
                   .source = "cushion taps 4.7, 4.2 and 0.8 ohm, back 5.8 ohm: makers' seat test "
                             "pages, seen; 0.5 to 10 ohm: workshop habit, memory; 50 to 100 W a "
                             "seat: common practice, memory; shares: common practice, no source"},
    [LG_ID_TAPPED] = {.name = "tapped-pads",
                      .words = "one of two heating pads that share a cavity",
                      .prior = 0.8,
                      .low_ohm = 0.5,
                      .high_ohm = 8,
                      .slope = 0.001,
                      .slope_spread = 0.002,
                      .warmed = {0.97, 0.01, 0.02},
                      .moved = 0.02,
                      .flickers = 0.01,
                      .one_way = 0.005,
                      .open = 0.05,
                      .source = "as pad: taps seen on makers' seat test pages; two pads side by "
                                "side on one return read the same; shares: common practice, no "
                                "source"},
    [LG_ID_NTC] = {.name = "thermistor-ntc",
                   .words = "thermistor, falls with warmth (NTC)",
                   .prior = 1.2,
                   .low_ohm = 1e3,
                   .high_ohm = 100e3,
                   .slope = -0.040,
                   .slope_spread = 0.008,
                   .warmed = {0.03, 0.96, 0.01},
                   .moved = 0.01,
                   .flickers = 0.01,
                   .one_way = 0.005,
                   .open = 0.03,
                   .source =
                       "1 to 100 kohm, falls in the hand: workshop habit, memory; 10 kohm, 47 "
                       "kohm and 100 kohm parts with B of 3380 to 4310 K, that is -3.8 to "
                       "-4.9 % per kelvin at 20 C: thermistor tables, seen; shares: common "
                       "practice, no source"},
    [LG_ID_PTC] = {.name = "thermistor-ptc",
                   .words = "thermistor, rises with warmth (PTC)",
                   .prior = 0.2,
                   .low_ohm = 100,
                   .high_ohm = 3e3,
                   .slope = 0.007,
                   .slope_spread = 0.003,
                   .warmed = {0.1, 0.01, 0.89},
                   .moved = 0.01,
                   .flickers = 0.01,
                   .one_way = 0.005,
                   .open = 0.03,
                   .source = "metal and silicon sensors of 100 ohm to 2 kohm, 0.39 to 0.8 % per "
                             "kelvin: memory; shares: common practice, no source"},
    [LG_ID_CONTACT] = {.name = "contact",
                       .words = "switch or contact",
                       .prior = 2,
                       .low_ohm = 0.01,
                       .high_ohm = 0.5,
                       .slope = 0,
                       .slope_spread = 0.05,
                       .warmed = {0.97, 0.01, 0.02},
                       .moved = 0.95,
                       .flickers = 0.1,
                       .one_way = 0.01,
                       .open = 0.5,
                       .source = "a contact loses at most 300 mV at its load: drop test limits, "
                                 "seen; ranges and shares: common practice, no source"},
    [LG_ID_LAMP] = {.name = "lamp",
                    .words = "filament lamp, cold",
                    .prior = 0.6,
                    .low_ohm = 0.2,
                    .high_ohm = 12,
                    .slope = 0.0045,
                    .slope_spread = 0.003,
                    .warmed = {0.95, 0.01, 0.04},
                    .moved = 0.02,
                    .flickers = 0.01,
                    .one_way = 0.005,
                    .open = 0.1,
                    .source =
                        "near zero cold: workshop habit, memory; a tenth of the hot ohms, 55 W "
                        "to 1.2 W at 12 V: lamp inrush of 10 times, switch maker's page, "
                        "seen; shares: common practice, no source"},
    [LG_ID_COIL] = {.name = "coil",
                    .words = "relay or magnet coil",
                    .prior = 0.8,
                    .low_ohm = 50,
                    .high_ohm = 330,
                    .slope = 0.0039,
                    .slope_spread = 0.001,
                    .warmed = {0.95, 0.01, 0.04},
                    .moved = 0.02,
                    .flickers = 0.02,
                    .one_way = 0.15,
                    .open = 0.03,
                    .source = "12 V coils of 75, 85, 90, 109, 260 and 300 ohm, 0.39 % per kelvin: "
                              "relay sheets, seen; unequal ways: a diode across it, common "
                              "practice, no source"},
    [LG_ID_BAR] = {.name = "shorting-bar",
                   .words = "shorting bar: leave it alone",
                   .prior = 0.1,
                   .low_ohm = 0.005,
                   .high_ohm = 0.1,
                   .slope = 0,
                   .slope_spread = 0.05,
                   .warmed = {0.98, 0.01, 0.01},
                   .moved = 0.01,
                   .flickers = 0.01,
                   .one_way = 0.001,
                   .open = 0.05,
                   .source =
                       "a spring in restraint plugs that joins two cavities while the plug is "
                       "apart: makers' precautions, memory; ohms: common practice, no source"},
    [LG_ID_BOND] = {.name = "bond",
                    .words = "wire or bond",
                    .prior = 0.8,
                    .low_ohm = 0.005,
                    .high_ohm = 0.25,
                    .slope = 0,
                    .slope_spread = 0.05,
                    .warmed = {0.98, 0.01, 0.01},
                    .moved = 0.02,
                    .flickers = 0.01,
                    .one_way = 0.001,
                    .open = 0.01,
                    .source = "less than 0.1 ohm for bonds: repair practice, seen; shares: common "
                              "practice, no source"},
    [LG_ID_ELECTRONIC] = {.name = "electronics",
                          .words = "diode or electronics",
                          .prior = 0.8,
                          .low_ohm = 100,
                          .high_ohm = 5e6,
                          .slope = -0.003,
                          .slope_spread = 0.01,
                          .warmed = {0.85, 0.1, 0.05},
                          .moved = 0.02,
                          .flickers = 0.05,
                          .one_way = 0.9,
                          .open = 0.3,
                          .source = "one way only: workshop habit, memory; ohms depend on the "
                                    "meter; shares: common practice, no source"},
};

/* Two things that have nothing to do with each other share a cavity so often. */
#define SHARES_CAVITY 0.15
/* A cavity of an unknown plug is empty so often, before anything is read. */
#define EMPTY_BEFORE 0.5
/* A cavity that holds something is open at rest to all others so often. */
#define OPEN_THOUGH_THERE 0.2
/* How often a plug has a pad at all, before anything is read. */
#define HEAT_BEFORE 0.3
/* Where a thermistor is found, pads are likelier by this factor: they come together. */
#define PAD_BESIDE_SENSOR 4.0
/* All of these: common practice, no source. */

static double ln_normal(double x, double middle, double spread)
{
  const double z = (x - middle) / spread;
  return -z * z / 2 - log(spread) - 0.9189385332046727;
}

double lg_id_ohm_density(const LgIdRow *row, double ohm, double off_ohm)
{
  /* nine of ten of a normal law lie within 1.645 spreads */
  const double middle = log(row->low_ohm * row->high_ohm) / 2,
               own = log(row->high_ohm / row->low_ohm) / (2 * 1.645);
  const double seen = fmax(ohm, fmax(off_ohm / 2, 1e-3));
  return ln_normal(log(seen), middle, hypot(own, off_ohm / seen));
}

double lg_id_saw_chance(const LgIdRow *row, LgDid did, LgSaw saw)
{
  if (saw == LG_SAW_UNSAID || did == LG_DID_NOTHING)
    return 1;
  const gboolean steady = saw == LG_SAW_STEADY;
  switch (did) {
  case LG_DID_WARMED:
    return row->warmed[steady ? 0 : saw == LG_SAW_FALL ? 1 : 2];
  case LG_DID_MOVED:
    return steady ? 1 - row->moved : row->moved;
  default:
    return steady ? 1 - row->flickers : row->flickers;
  }
}

static double prior_sum(void)
{
  double sum = 0;
  for (int c = 0; c < LG_N_ID_CLASSES; c++)
    sum += lg_id_rows[c].prior;
  return sum;
}

/* ln of how well a class explains what was seen of a branch, without its prior. */
static double likeness(const LgIdRow *row, const LgFound *found)
{
  if (found->switched) /* the contact is sure; the class is of what lies behind it */
    return isnan(found->moved_ohm) ? (row == &lg_id_rows[LG_ID_CONTACT] ? 0 : -20)
                                   : lg_id_ohm_density(row, found->moved_ohm, found->off_ohm);
  double sum = lg_id_ohm_density(row, found->ohm, found->off_ohm) + log1p(-row->open);
  if (found->both_ways)
    sum += log(isnan(found->back_ohm) ? 1 - row->one_way : row->one_way);
  if (!isnan(found->slope))
    sum += ln_normal(found->slope, row->slope, hypot(row->slope_spread, found->slope_off));
  return sum + log(lg_id_saw_chance(row, LG_DID_WARMED, found->warmed)) +
         log(lg_id_saw_chance(row, LG_DID_MOVED, found->moved)) +
         log(lg_id_saw_chance(row, LG_DID_TURNED, found->turned));
}

static double weigh_alone(LgFound *found, double pads)
{
  const double all = prior_sum();
  double sum = 0;
  for (int c = 0; c < LG_N_ID_CLASSES; c++) {
    found->chance[c] =
        c == LG_ID_TAPPED ? 0 : lg_id_rows[c].prior / all * exp(likeness(&lg_id_rows[c], found));
    found->chance[c] *= c == LG_ID_PAD && !found->switched ? pads : 1;
    sum += found->chance[c];
  }
  return sum;
}

/* The pair as one thing against two things that share a cavity by chance. */
static double tapped_chance(const LgFound *x, const LgFound *y, double x_alone, double y_alone,
                            double pads)
{
  const LgIdRow *const row = &lg_id_rows[LG_ID_TAPPED];
  const double together =
      pads * row->prior / prior_sum() * exp(likeness(row, x)) * exp(likeness(row, y));
  const double apart = SHARES_CAVITY * x_alone * y_alone;
  return together / fmax(together + apart, G_MINDOUBLE);
}

static double pads_beside(const LgIdentity *id)
{
  double most = 0;
  for (guint i = 0; i < id->found->len; i++) {
    const LgFound *const found = &g_array_index(id->found, LgFound, i);
    most = fmax(most, found->chance[LG_ID_NTC] + found->chance[LG_ID_PTC]);
  }
  return most > 0.5 ? PAD_BESIDE_SENSOR : 1;
}

static void normalise(LgFound *found, double sum, double tapped)
{
  for (int c = 0; c < LG_N_ID_CLASSES; c++)
    found->chance[c] *= (1 - tapped) / fmax(sum, G_MINDOUBLE);
  found->chance[LG_ID_TAPPED] = tapped;
}

static void weigh_branches(LgIdentity *id)
{
  const guint n = id->found->len;
  g_autofree double *alone = g_new(double, n + 1), *tapped = g_new0(double, n + 1);
  double pads = 1;
  for (int pass = 0; pass < 2; pass++) {
    for (guint i = 0; i < n; i++)
      alone[i] = weigh_alone(&g_array_index(id->found, LgFound, i), pads);
    for (guint i = 0; i < n; i++) {
      const LgFound *const found = &g_array_index(id->found, LgFound, i);
      if (found->mate >= 0)
        tapped[i] = tapped_chance(found, &g_array_index(id->found, LgFound, found->mate), alone[i],
                                  alone[found->mate], pads);
    }
    for (guint i = 0; i < n; i++)
      normalise(&g_array_index(id->found, LgFound, i), alone[i], tapped[i]);
    pads = pads_beside(id);
  }
}

/* Share of the other cavities that a cavity was read open to. */
static double share_open(const LgIdentity *id, int cavity)
{
  int others = 0, open = 0;
  for (int k = 0; k < id->n_cavities; k++) {
    if (k == cavity || id->cavities[k].shut || id->cavities[k].empty)
      continue;
    others++;
    for (int i = 0; i < id->n_probes; i++) {
      const LgProbe *const p = &id->probes[i];
      if (isinf(p->ohm) &&
          ((p->red == cavity && p->black == k) || (p->black == cavity && p->red == k))) {
        open++;
        break;
      }
    }
  }
  return others == 0 ? 0 : (double)open / others;
}

static void weigh_cavities(LgIdentity *id)
{
  for (int k = 0; k < id->n_cavities; k++) {
    const double there = 1 - (1 - OPEN_THOUGH_THERE) * share_open(id, k);
    id->nothing[k] = id->cavities[k].shut ? NAN
                     : id->cavities[k].empty
                         ? 1
                         : EMPTY_BEFORE / (EMPTY_BEFORE + (1 - EMPTY_BEFORE) * there);
  }
  for (guint i = 0; i < id->found->len; i++) {
    const LgFound *const found = &g_array_index(id->found, LgFound, i);
    if (found->a < id->n_cavities)
      id->nothing[found->a] = 0;
    if (found->b < id->n_cavities)
      id->nothing[found->b] = 0;
  }
}

/* Share of the pairs that were read at all; those that lie in one piece count as read. */
static double share_read(const LgIdentity *id)
{
  int pairs = 0, read = 0;
  for (int a = 0; a < id->n_cavities; a++)
    for (int b = 0; b < a; b++) {
      if (id->cavities[a].shut || id->cavities[b].shut || id->cavities[a].empty ||
          id->cavities[b].empty)
        continue;
      pairs++;
      gboolean seen = id->net->group[a] == id->net->group[b];
      for (int i = 0; i < id->n_probes && !seen; i++) {
        const int red = id->probes[i].red, black = id->probes[i].black;
        seen = (id->net->group[red] == id->net->group[a] &&
                id->net->group[black] == id->net->group[b]) ||
               (id->net->group[red] == id->net->group[b] &&
                id->net->group[black] == id->net->group[a]);
      }
      read += seen;
    }
  return pairs == 0 ? 1 : (double)read / pairs;
}

static void weigh_heat(LgIdentity *id)
{
  double none = 1;
  for (guint i = 0; i < id->found->len; i++) {
    const LgFound *const found = &g_array_index(id->found, LgFound, i);
    if (found->mate > (int)i) /* the two stand or fall together: counted at the second */
      continue;
    double pad = found->chance[LG_ID_PAD] + found->chance[LG_ID_TAPPED];
    if (found->mate >= 0) {
      const LgFound *const mate = &g_array_index(id->found, LgFound, found->mate);
      pad = fmax(pad, mate->chance[LG_ID_PAD] + mate->chance[LG_ID_TAPPED]);
    }
    none *= 1 - fmin(pad, 1);
  }
  id->heat = 1 - none * (1 - HEAT_BEFORE * (1 - share_read(id)));
}

void lg_identity_weigh(LgIdentity *identity)
{
  weigh_branches(identity);
  weigh_cavities(identity);
  weigh_heat(identity);
}

LgIdClass lg_found_class(const LgFound *found)
{
  int best = 0;
  for (int c = 1; c < LG_N_ID_CLASSES; c++)
    if (found->chance[c] > found->chance[best])
      best = c;
  return (LgIdClass)best;
}

char *lg_found_words(const LgFound *found)
{
  const LgIdClass first = lg_found_class(found);
  int second = -1;
  for (int c = 0; c < LG_N_ID_CLASSES; c++)
    if (c != (int)first && (second < 0 || found->chance[c] > found->chance[second]))
      second = c;
  g_autoptr(GString) words = g_string_new(NULL);
  if (found->switched && first != LG_ID_CONTACT)
    g_string_append(words, "behind a switch: ");
  g_string_append_printf(words, "%s %.0f %%", lg_id_rows[first].words, 100 * found->chance[first]);
  if (found->chance[second] >= 0.05)
    g_string_append_printf(words, ", %s %.0f %%", lg_id_rows[second].words,
                           100 * found->chance[second]);
  return g_string_free(g_steal_pointer(&words), FALSE);
}
