/* Current and slope of every kind of branch. All curves but that of constant power rise with the
 * volts. */
#include "circuit/net-private.h"

static const double IDLE_SIEMENS = 1e-9;  /* leak of a blocked diode or an idle source */
static const double LIMIT_DROOP = 0.02;   /* slope in the limit, as a part of limit / e */
static const double LAMP_EXPONENT = 0.55; /* I ~ V^0.55, common practice, no source */

static double limited(const double p[3], double v, double *slope)
{
  const double g = p[0], e = p[1], limit = p[2], knee = e - limit / g;
  if (v >= e) {
    *slope = IDLE_SIEMENS;
    return IDLE_SIEMENS * (v - e);
  }
  if (v >= knee) {
    *slope = g;
    return g * (v - e);
  }
  *slope = LIMIT_DROOP * limit / e;
  return *slope * (v - knee) - limit;
}

static double lamp(const double p[3], double v, double *slope)
{
  const double size = fabs(v);
  const double g = size > 0 ? p[0] * pow(size / p[1], LAMP_EXPONENT - 1) : INFINITY;
  *slope = g < p[2] ? LAMP_EXPONENT * g : p[2];
  return MIN(g, p[2]) * v;
}

static double motor(const double p[3], double v, double *slope)
{
  const double r = p[0], x = v / p[1], z = sqrt(r * r + x * x);
  *slope = r / z * (r / z) / z;
  return v / z;
}

static double diode(const double p[3], double v, double *slope)
{
  const double x = (v - p[0]) / p[2], tail = exp(-fabs(x));
  const double soft = MAX(x, 0) + log1p(tail);
  *slope = (x > 0 ? 1 : tail) / (1 + tail) / p[1] + IDLE_SIEMENS;
  return p[2] / p[1] * soft + IDLE_SIEMENS * v;
}

/* The line through the origin: the curve falls, and a falling line would cost the matrix its sign.
 */
static double power(const double p[3], double v, double *slope)
{
  const double size = MAX(fabs(v), p[1]);
  *slope = p[0] / size / size;
  return *slope * v;
}

double lg_curve(const LgNetBranch *branch, double v, double *slope)
{
  switch (branch->kind) {
  case LG_BRANCH_RESISTOR:
    *slope = branch->p[0];
    return branch->p[0] * v;
  case LG_BRANCH_SOURCE:
    *slope = branch->p[0];
    return branch->p[0] * (v - branch->p[1]);
  case LG_BRANCH_LIMITED:
    return limited(branch->p, v, slope);
  case LG_BRANCH_LAMP:
    return lamp(branch->p, v, slope);
  case LG_BRANCH_MOTOR:
    return motor(branch->p, v, slope);
  case LG_BRANCH_DIODE:
    return diode(branch->p, v, slope);
  case LG_BRANCH_POWER:
    return power(branch->p, v, slope);
  }
  g_assert_not_reached();
}

void lg_curve_many(const LgNetBranch *branch, int n, const double v[], double i[], double slope[])
{
  for (int l = 0; l < n; l++)
    i[l] = lg_curve(branch, v[l], &slope[l]);
}

/* A load of constant power starts from the highest volts there are, so that of its two possible
 * states the one is found in which it runs, unless the supply cannot bear that one. */
static double highest_emf(const LgNet *net)
{
  double highest = 0;
  for (int b = 0; b < lg_net_n_branches(net); b++) {
    const LgNetBranch *branch = lg_branch_at(net, b);
    if (branch->kind == LG_BRANCH_SOURCE || branch->kind == LG_BRANCH_LIMITED)
      highest = MAX(highest, fabs(branch->p[1]));
  }
  return highest;
}

double lg_curve_start(const LgNet *net, const LgNetBranch *branch)
{
  switch (branch->kind) {
  case LG_BRANCH_LIMITED:
    return branch->p[1] -
           branch->p[2] / branch->p[0] / 2; /* in the middle of its regulated stretch */
  case LG_BRANCH_LAMP:
    return branch->p[1];
  case LG_BRANCH_MOTOR:
    return branch->p[0] * branch->p[1];
  case LG_BRANCH_DIODE:
    return branch->p[0];
  case LG_BRANCH_POWER:
    return highest_emf(net);
  default:
    return 0;
  }
}
