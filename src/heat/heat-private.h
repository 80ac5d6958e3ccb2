/* Shared by the files of this room. */
#pragma once
#include "heat/heat.h"

/* Copper loses nothing by being hotter than this: it melts (1357.9 K, handbooks). */
#define MELTS_K 1358.0
/* R(T) = R20 (T - zero) / (293.15 - zero): the line of lg_copper_ratio as slope and zero. */
#define COPPER_ZERO_K (273.15 - 234.5)
#define COPPER_SPAN_K 254.5

static inline double squared(double x)
{
  return x * x;
}

/* Zero of a rising `f` in [low, high], f(low) <= 0 <= f(high): regula falsi with the stale end
 * halved, until the bracket or the step is below `step`. */
typedef double (*LgFunction)(double x, gconstpointer data);
double lg_heat_root(LgFunction f, gconstpointer data, double low, double high, double step);

/* One passage outwards through the surroundings. */
typedef struct {
  double heat_W_m, bundle_K;
} LgPassage;
/* Heat given off, and temperature over the wires, when the outermost surface is at `outer_K`. */
LgPassage lg_passage(const LgSurroundings *around, double bundle_m, double outer_K);

/* Outer temperature at which the surroundings take `fixed + growth (T_bundle - ambient)`; INFINITY
 * when they never do below the melting point. */
double lg_outer_balance(const LgSurroundings *around, double bundle_m, double fixed_W_m,
                        double growth_W_mK);

/* Fills the slopes of a curve whose points stand. */
void lg_loss_finish(LgHeatLoss *loss);
/* Value and slope of the curve; straight on outside its points; nothing given off without points.
 */
typedef struct {
  double W_m, W_mK;
} LgSlope;
LgSlope lg_loss_slope(const LgHeatLoss *loss, double surface_K);
/* Temperature of the insulation's outside when the conductor has long been at conductor_K. */
double lg_loss_surface(const LgHeatWire *wire, const LgHeatLoss *loss, double conductor_K);
