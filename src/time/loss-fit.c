/* A wire's loss as a link and a bend. */
#include "time/course.h"

#include <math.h>

enum { PLACES = 24, UNKNOWNS = 3 };

/* Conductor's temperature over the ambient at which the surface gives off `W_m`: the wall's share
 * is straight. */
static double loss_at(const LgHeatWire *wire, const LgHeatLoss *loss, double conductor_K)
{
  const double wall_Km_W = lg_heat_wire_wall_Km_W(wire);
  double low = loss->K[0], high = conductor_K;
  for (int pass = 0; pass < 60; pass++) {
    const double surface = 0.5 * (low + high);
    if (surface + wall_Km_W * lg_heat_loss_at(loss, surface) < conductor_K)
      low = surface;
    else
      high = surface;
  }
  return lg_heat_loss_at(loss, 0.5 * (low + high));
}

/* Gauss-Jordan on a small positive definite system. */
static void solve(double a[UNKNOWNS][UNKNOWNS + 1])
{
  for (int p = 0; p < UNKNOWNS; p++)
    for (int r = 0; r < UNKNOWNS; r++) {
      const double by = r == p ? 0 : a[r][p] / a[p][p];
      for (int k = UNKNOWNS; k >= p; k--)
        a[r][k] -= by * a[p][k];
    }
  for (int p = 0; p < UNKNOWNS; p++)
    a[p][UNKNOWNS] /= a[p][p];
}

double lg_course_fit_loss(const LgHeatWire *wire, const LgHeatLoss *loss, double ambient_K,
                          double hottest_K, double *link_W_mK, double bend[2])
{
  double a[UNKNOWNS][UNKNOWNS + 1] = {{0}}, W_m[PLACES], worst = 0;
  const double span_K = hottest_K - ambient_K;
  for (int k = 0; k < PLACES; k++) {
    const double part = (k + 1.0) / PLACES, x[UNKNOWNS] = {1, part, part * part};
    W_m[k] = loss_at(wire, loss, ambient_K + part * span_K);
    const double per = W_m[k] / part, weight = 1 / (per * per);
    for (int r = 0; r < UNKNOWNS; r++) {
      for (int c = 0; c < UNKNOWNS; c++)
        a[r][c] += weight * x[r] * x[c];
      a[r][UNKNOWNS] += weight * x[r] * per;
    }
  }
  solve(a);
  *link_W_mK = a[0][UNKNOWNS] / span_K;
  bend[0] = a[1][UNKNOWNS] / (span_K * span_K);
  bend[1] = a[2][UNKNOWNS] / (span_K * span_K * span_K);
  for (int k = 0; k < PLACES; k++) {
    const double d = (k + 1.0) / PLACES * span_K;
    const double fit = (*link_W_mK + bend[0] * d + bend[1] * d * d) * d;
    if (d > 10)
      worst = MAX(worst, fabs(fit / W_m[k] - 1));
  }
  return worst;
}
