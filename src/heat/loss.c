/* What the surroundings take, as a curve through exact points. */
#include "heat/heat-private.h"

#include <math.h>

/* Fritsch and Butland's slopes: the weighted harmonic mean of the slopes on either side, so that
 * the curve never overshoots where it has a kink (another wire becomes the warmest of the bundle).
 */
void lg_loss_finish(LgHeatLoss *loss)
{
  const int n = loss->n;
  if (n < 3) {
    loss->n = 0;
    return;
  }
  for (int k = 1; k < n - 1; k++) {
    const double before_K = loss->K[k] - loss->K[k - 1], after_K = loss->K[k + 1] - loss->K[k];
    const double before = (loss->W_m[k] - loss->W_m[k - 1]) / before_K;
    const double after = (loss->W_m[k + 1] - loss->W_m[k]) / after_K;
    const double w1 = 2 * after_K + before_K, w2 = after_K + 2 * before_K;
    loss->slope[k] = (w1 + w2) / (w1 / before + w2 / after);
  }
  const double first = (loss->W_m[1] - loss->W_m[0]) / (loss->K[1] - loss->K[0]);
  const double last = (loss->W_m[n - 1] - loss->W_m[n - 2]) / (loss->K[n - 1] - loss->K[n - 2]);
  loss->slope[0] = MAX(1.5 * first - 0.5 * loss->slope[1], 0.1 * first);
  loss->slope[n - 1] = 1.5 * last - 0.5 * loss->slope[n - 2];
}

/* Points lie closer near the ambient, where the curve bends most. */
LgHeatLoss lg_heat_loss(const LgHeatWire *wire, const LgSurroundings *around)
{
  LgHeatLoss loss = {.n = LG_LOSS_POINTS};
  for (int k = 0; k < LG_LOSS_POINTS; k++) {
    const double part = squared((double)k / (LG_LOSS_POINTS - 1));
    const double outer_K = around->ambient_K + part * (MELTS_K - around->ambient_K);
    const LgPassage p = lg_passage(around, wire->outer_m, outer_K);
    loss.K[k] = p.bundle_K;
    loss.W_m[k] = p.heat_W_m;
  }
  lg_loss_finish(&loss);
  return loss;
}

/* Index of the stretch of the curve that holds T. */
static int stretch_of(const LgHeatLoss *loss, double T)
{
  int k = 0;
  while (k < loss->n - 2 && T > loss->K[k + 1])
    k++;
  return k;
}

LgSlope lg_loss_slope(const LgHeatLoss *loss, double T)
{
  const int n = loss->n;
  if (n == 0)
    return (LgSlope){0, 0};
  const int end = T <= loss->K[0] ? 0 : T >= loss->K[n - 1] ? n - 1 : -1;
  if (end >= 0)
    return (LgSlope){loss->W_m[end] + loss->slope[end] * (T - loss->K[end]), loss->slope[end]};
  const int k = stretch_of(loss, T);
  const double wide = loss->K[k + 1] - loss->K[k], x = (T - loss->K[k]) / wide;
  const double mean = (loss->W_m[k + 1] - loss->W_m[k]) / wide;
  const double c2 = 3 * mean - 2 * loss->slope[k] - loss->slope[k + 1];
  const double c3 = loss->slope[k] + loss->slope[k + 1] - 2 * mean;
  return (LgSlope){loss->W_m[k] + wide * x * (loss->slope[k] + x * (c2 + x * c3)),
                   loss->slope[k] + x * (2 * c2 + 3 * x * c3)};
}

double lg_heat_loss_at(const LgHeatLoss *loss, double surface_K)
{
  return lg_loss_slope(loss, surface_K).W_m;
}

typedef struct {
  const LgHeatWire *wire;
  const LgHeatLoss *loss;
  double wall_Km_W, conductor_K, current_A;
} Lasting;

static double conductor_above(double surface_K, gconstpointer data)
{
  const Lasting *l = data;
  return surface_K + l->wall_Km_W * lg_heat_loss_at(l->loss, surface_K) - l->conductor_K;
}

double lg_loss_surface(const LgHeatWire *wire, const LgHeatLoss *loss, double conductor_K)
{
  if (loss->n == 0 || conductor_K <= loss->K[0])
    return conductor_K;
  const Lasting lasting = {wire, loss, lg_heat_wire_wall_Km_W(wire), conductor_K, 0};
  return lg_heat_root(conductor_above, &lasting, loss->K[0], conductor_K, 1e-6);
}

double lg_loss_current(const LgHeatWire *wire, const LgHeatLoss *loss, double conductor_K)
{
  const double heat = lg_heat_loss_at(loss, lg_loss_surface(wire, loss, conductor_K));
  return heat <= 0 ? 0 : sqrt(heat / lg_heat_wire_ohm_m(wire, conductor_K));
}

static double surplus_given_off(double surface_K, gconstpointer data)
{
  const Lasting *l = data;
  const double heat = lg_heat_loss_at(l->loss, surface_K);
  const double conductor_K = surface_K + heat * l->wall_Km_W;
  return heat - squared(l->current_A) * lg_heat_wire_ohm_m(l->wire, conductor_K);
}

double lg_loss_temperature(const LgHeatWire *wire, const LgHeatLoss *loss, double current_A)
{
  if (loss->n == 0)
    return INFINITY;
  const Lasting lasting = {wire, loss, lg_heat_wire_wall_Km_W(wire), 0, current_A};
  double low = loss->K[0], width = 2;
  while (low < MELTS_K) {
    if (surplus_given_off(low + width, &lasting) >= 0) {
      const double surface_K = lg_heat_root(surplus_given_off, &lasting, low, low + width, 1e-6);
      const double T = surface_K + lg_heat_loss_at(loss, surface_K) * lasting.wall_Km_W;
      return T < MELTS_K ? T : INFINITY;
    }
    low += width;
    width *= 2;
  }
  return INFINITY;
}
