/* A wire that warms: two lumps in time, and the bound without any loss. */
#include "heat/heat-private.h"

#include <math.h>

/* IEC 60949 */
#define COPPER_J_M3K 3.45e6
#define COPPER_OHM_M 1.7241e-8

double lg_copper_k(double start_K, double end_K)
{
  const double e_folds = log((end_K - COPPER_ZERO_K) / (start_K - COPPER_ZERO_K));
  return 1e-6 * sqrt(COPPER_J_M3K * COPPER_SPAN_K / COPPER_OHM_M * e_folds);
}

double lg_adiabatic_end(double copper_m2, double start_K, double joule_integral_A2s)
{
  /* k^2 is proportional to the logarithm of T - zero; this is k where that grows e-fold. */
  const double above_K = start_K - COPPER_ZERO_K;
  const double k = lg_copper_k(start_K, COPPER_ZERO_K + G_E * above_K);
  const double e_folds = joule_integral_A2s / squared(copper_m2 * 1e6 * k);
  return MIN(COPPER_ZERO_K + above_K * exp(MIN(e_folds, 10)), 1e4);
}

/* ---- Two lumps ---- */

typedef struct {
  const LgHeatWire *wire;
  const LgHeatLoss *loss;
  double copper_J_mK, cover_J_mK, wall_W_mK; /* per metre: heat capacities, conductance between */
  double square_A2;
} Lumps;

typedef struct {
  double copper_K, surface_K;
} Warmth;

static Lumps lumps_of(const LgHeatWire *wire, const LgHeatLoss *loss, double current_A)
{
  const double cover_m2 = G_PI / 4 * (squared(wire->outer_m) - squared(wire->conductor_m));
  return (Lumps){wire,
                 loss,
                 wire->copper_m2 * COPPER_J_M3K,
                 MAX(cover_m2 * wire->insulation_J_m3K, 1e-3),
                 1 / lg_heat_wire_wall_Km_W(wire),
                 squared(current_A)};
}

static Warmth rates(const Lumps *l, Warmth at)
{
  const double through = l->wall_W_mK * (at.copper_K - at.surface_K);
  const double made = l->square_A2 * lg_heat_wire_ohm_m(l->wire, at.copper_K);
  return (Warmth){(made - through) / l->copper_J_mK,
                  (through - lg_heat_loss_at(l->loss, at.surface_K)) / l->cover_J_mK};
}

/* Solves (1 - gh J) x = b with the Jacobian of `rates` at `at`. */
static Warmth damped(const Lumps *l, Warmth at, double gh, Warmth b)
{
  const double slope = l->square_A2 * l->wire->resistance_ohm_m / COPPER_SPAN_K;
  const double leaving = lg_loss_slope(l->loss, at.surface_K).W_mK;
  const double a11 = 1 - gh * (slope - l->wall_W_mK) / l->copper_J_mK;
  const double a12 = -gh * l->wall_W_mK / l->copper_J_mK;
  const double a21 = -gh * l->wall_W_mK / l->cover_J_mK;
  const double a22 = 1 + gh * (l->wall_W_mK + leaving) / l->cover_J_mK;
  const double det = a11 * a22 - a12 * a21;
  return (Warmth){(a22 * b.copper_K - a12 * b.surface_K) / det,
                  (a11 * b.surface_K - a21 * b.copper_K) / det};
}

/* One step of Verwer's two-stage Rosenbrock method (order 2, L-stable); `error` against order 1. */
static Warmth step_of(const Lumps *l, Warmth at, double h, double *error_K)
{
  const double gh = (1 + G_SQRT2 / 2) * h;
  const Warmth k1 = damped(l, at, gh, rates(l, at));
  const Warmth euler = {at.copper_K + h * k1.copper_K, at.surface_K + h * k1.surface_K};
  Warmth right = rates(l, euler);
  right.copper_K -= 2 * k1.copper_K;
  right.surface_K -= 2 * k1.surface_K;
  const Warmth k2 = damped(l, at, gh, right);
  *error_K = h / 2 * MAX(fabs(k1.copper_K + k2.copper_K), fabs(k1.surface_K + k2.surface_K));
  return (Warmth){at.copper_K + h * (1.5 * k1.copper_K + 0.5 * k2.copper_K),
                  at.surface_K + h * (1.5 * k1.surface_K + 0.5 * k2.surface_K)};
}

/* Runs until `seconds` or until the copper passes stop_K; returns the time reached. */
static double run(const Lumps *l, Warmth *at, double seconds, double stop_K)
{
  const double start_K = at->copper_K;
  double t = 0, h = 1e-3 * (1 + at->copper_K) / (1 + fabs(rates(l, *at).copper_K));
  for (int i = 0; i < 100000 && t < seconds; i++) {
    h = MIN(h, seconds - t);
    double error_K;
    const Warmth next = step_of(l, *at, h, &error_K);
    const double tolerance_K = 0.05 + 1e-3 * fabs(next.copper_K - start_K);
    const double grow = 0.9 * sqrt(tolerance_K / MAX(error_K, 1e-9));
    if (error_K > tolerance_K || !isfinite(error_K)) {
      h *= isfinite(grow) ? MAX(grow, 0.2) : 0.2;
      continue;
    }
    if (next.copper_K >= stop_K) {
      const double part = (stop_K - at->copper_K) / (next.copper_K - at->copper_K);
      at->copper_K = stop_K;
      return t + part * h;
    }
    *at = next;
    t += h;
    h *= MIN(grow, 5);
  }
  return t;
}

static Warmth lasting_warmth(const LgHeatWire *wire, const LgHeatLoss *loss, double conductor_K)
{
  return (Warmth){conductor_K, lg_loss_surface(wire, loss, conductor_K)};
}

double lg_wire_after(const LgHeatWire *wire, const LgHeatLoss *loss, double start_K,
                     double current_A, double seconds)
{
  if (isinf(seconds))
    return MIN(lg_loss_temperature(wire, loss, current_A), MELTS_K);
  const Lumps lumps = lumps_of(wire, loss, current_A);
  Warmth at = lasting_warmth(wire, loss, start_K);
  run(&lumps, &at, seconds, MELTS_K);
  return at.copper_K;
}

double lg_wire_time_to(const LgHeatWire *wire, const LgHeatLoss *loss, double start_K,
                       double current_A, double limit_K)
{
  if (start_K >= limit_K)
    return 0;
  if (current_A <= lg_loss_current(wire, loss, limit_K))
    return INFINITY;
  const Lumps lumps = lumps_of(wire, loss, current_A);
  Warmth at = lasting_warmth(wire, loss, start_K);
  return run(&lumps, &at, 1e9, limit_K);
}
