/* From the wires outwards: gap, covering, air. */
#include "heat/heat-private.h"

#include <math.h>
#include <string.h>

#define STEFAN_BOLTZMANN 5.670374e-8

LgSurroundings lg_bare(double ambient_K)
{
  return (LgSurroundings){.ambient_K = ambient_K, .emissivity = 0.9, .wall_W_mK = 0.2};
}

LgSurroundings lg_covered_by(double ambient_K, const char *kind, double bore_m)
{
  static const struct {
    const char *kind;
    gboolean hangs_loose;
    double wall_m;
  } coverings[] = {
      {"tube", TRUE, 0.5e-3},    {"slit-tube", TRUE, 0.5e-3}, {"braid", FALSE, 0.8e-3},
      {"shrink", FALSE, 0.6e-3}, {"tape", FALSE, 0.3e-3},
  };
  LgSurroundings around = lg_bare(ambient_K);
  for (guint i = 0; i < G_N_ELEMENTS(coverings); i++)
    if (strcmp(coverings[i].kind, kind) == 0) {
      around.wall_m = coverings[i].wall_m;
      around.bore_m = coverings[i].hangs_loose && bore_m > 0 ? bore_m : 0;
    }
  return around;
}

LgSurroundings lg_covered(double ambient_K, const LgCover *cover)
{
  /* In the order of the words of `cover kind`. */
  static const char *const kinds[] = {"tube", "slit-tube", "braid", "shrink", "tape", "grommet"};
  if (cover == NULL)
    return lg_bare(ambient_K);
  return lg_covered_by(ambient_K, kinds[cover->kind], cover->bore_m);
}

/* Temperature inside a still ring of air that passes `heat` to a wall at wall_K: conduction, and
 * grey radiation between long concentric cylinders. Newton from above on a convex rising function.
 */
static double across_gap(const LgSurroundings *around, double inner_m, double wall_K, double heat)
{
  const double air = 2 * G_PI * lg_air(wall_K).conductivity_W_mK / log(around->bore_m / inner_m);
  const double e = around->emissivity;
  const double grey =
      STEFAN_BOLTZMANN * G_PI * inner_m / (1 / e + inner_m / around->bore_m * (1 / e - 1));
  double T = wall_K + heat / air;
  for (int i = 0; i < 30; i++) {
    const double cube = T * T * T;
    const double excess = air * (T - wall_K) + grey * (cube * T - squared(squared(wall_K))) - heat;
    const double step = excess / (air + 4 * grey * cube);
    T -= step;
    if (fabs(step) < 1e-7)
      break;
  }
  return T;
}

LgPassage lg_passage(const LgSurroundings *around, double bundle_m, double outer_K)
{
  const gboolean gap = around->bore_m > bundle_m * 1.001;
  const double inside_m = gap ? around->bore_m : bundle_m;
  const double outside_m = inside_m + 2 * around->wall_m;
  const double heat = lg_surface_heat(outside_m, outer_K, around->ambient_K, around->emissivity);
  double T = outer_K;
  if (around->wall_m > 0)
    T += heat * log(outside_m / inside_m) / (2 * G_PI * around->wall_W_mK);
  if (gap)
    T = across_gap(around, bundle_m, T, heat);
  return (LgPassage){heat, T};
}

typedef struct {
  const LgSurroundings *around;
  double bundle_m, fixed_W_m, growth_W_mK;
} Balance;

static double surplus_given_off(double outer_K, gconstpointer data)
{
  const Balance *b = data;
  const LgPassage p = lg_passage(b->around, b->bundle_m, outer_K);
  return p.heat_W_m - b->fixed_W_m - b->growth_W_mK * (p.bundle_K - b->around->ambient_K);
}

double lg_outer_balance(const LgSurroundings *around, double bundle_m, double fixed_W_m,
                        double growth_W_mK)
{
  const Balance balance = {around, bundle_m, fixed_W_m, growth_W_mK};
  double low = around->ambient_K, width = 2 + fixed_W_m / (G_PI * bundle_m * 20);
  while (low < MELTS_K) {
    if (surplus_given_off(low + width, &balance) >= 0)
      return lg_heat_root(surplus_given_off, &balance, low, low + width, 1e-6);
    low += width;
    width *= 2;
  }
  return INFINITY;
}
