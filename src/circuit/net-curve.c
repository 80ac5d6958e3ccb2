/* Current and slope of every kind of branch. All curves but that of constant power rise with the
 * volts. */
#include "circuit/net-private.h"

static const double LIMIT_DROOP = 0.02;   /* slope in the limit, as a part of limit / e */
static const double LAMP_EXPONENT = 0.55; /* I ~ V^0.55, common practice, no source */

static double limited(const double p[3], double v, double *slope)
{
  const double g = p[0], e = p[1], limit = p[2], knee = e - limit / g;
  if (v >= e) {
    *slope = LG_IDLE_SIEMENS;
    return LG_IDLE_SIEMENS * (v - e);
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
  *slope = (x > 0 ? 1 : tail) / (1 + tail) / p[1] + LG_IDLE_SIEMENS;
  return p[2] / p[1] * soft + LG_IDLE_SIEMENS * v;
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

/* The same for eight volts at once. Exponential and logarithm by argument reduction and series
 * whose first term left out is below 1e-17; one lane of a slate takes them from the library
 * instead. */

#define LANES 8
#include "circuit/net-lanes.h"

/* In place, as vectors are not passed by value where machines differ in them. e^x, -700 < x < 700:
 * x = k ln 2 + r. */
INLINE void exp_eight(LgVec *x)
{
  const double to_integer = 0x1.8p52; /* the sum's last bits are the integer */
  const LgVec shifted = *x * M_LOG2E + to_integer, k = shifted - to_integer;
  const LgVec r = (*x - k * 0x1.62e42feep-1) - k * 0x1.a39ef35793c76p-33;
  LgVec sum = SPREAD(1.0 / 6227020800); /* 1 / 13! */
  static const double terms[] = {1.0 / 479001600,
                                 1.0 / 39916800,
                                 1.0 / 3628800,
                                 1.0 / 362880,
                                 1.0 / 40320,
                                 1.0 / 5040,
                                 1.0 / 720,
                                 1.0 / 120,
                                 1.0 / 24,
                                 1.0 / 6,
                                 1.0 / 2,
                                 1,
                                 1};
  for (guint i = 0; i < G_N_ELEMENTS(terms); i++)
    sum = sum * r + terms[i];
  *x = (LgVec)((LgVecI)sum + ((LgVecI)shifted << 52));
}

/* 2 artanh z = 2 (z + z^3/3 + ...), n terms. */
INLINE void twice_artanh_eight(LgVec *z, int n)
{
  const LgVec square = *z * *z;
  LgVec sum = SPREAD(1.0 / (2 * n - 1));
  for (int i = n - 2; i >= 0; i--)
    sum = sum * square + 1.0 / (2 * i + 1);
  *z = 2 * *z * sum;
}

/* ln x, x > 0 and not denormal: x = 2^k m with m from sqrt(1/2) to sqrt(2). */
INLINE void log_eight(LgVec *x)
{
  const LgVecI bits = (LgVecI)*x - 0x3fe6a09e667f3bcd;
  const LgVecI biased = (bits >> 52) + 0x4330000000000400; /* 2^52 + 1024 + k as a double */
  const LgVec k = (LgVec)biased - (0x1p52 + 1024);
  const LgVec m = (LgVec)((bits & 0x000fffffffffffff) + 0x3fe6a09e667f3bcd);
  LgVec z = (m - 1) / (m + 1);
  twice_artanh_eight(&z, 11);
  *x = k * M_LN2 + z;
}

INLINE void lamp_eight(const double p[3], const LgVec *v, LgVec *i, LgVec *slope)
{
  LgVec size = SELECT(*v < 0, -*v, *v) / p[1];
  size = SELECT(size > 1e-100, size, SPREAD(1e-100));
  log_eight(&size);
  size *= LAMP_EXPONENT - 1;
  exp_eight(&size);
  const LgVec g = p[0] * size;
  *slope = SELECT(g < p[2], LAMP_EXPONENT * g, SPREAD(p[2]));
  *i = SELECT(g < p[2], g, SPREAD(p[2])) * *v;
}

INLINE void motor_eight(const double p[3], const LgVec *v, LgVec *i, LgVec *slope)
{
  const LgVec x = *v / p[1], square = p[0] * p[0] + x * x;
  LgVec z;
  for (int l = 0; l < LG_LANES; l++)
    z[l] = sqrt(square[l]);
  const LgVec part = p[0] / z;
  *slope = part * part / z;
  *i = *v / z;
}

INLINE void diode_eight(const double p[3], const LgVec *v, LgVec *i, LgVec *slope)
{
  const LgVec x = (*v - p[0]) / p[2];
  LgVec tail = SELECT(x < 0, x, -x);
  tail = SELECT(tail > -700, tail, SPREAD(-700.0));
  exp_eight(&tail);
  LgVec soft = tail / (2 + tail); /* ln (1 + tail) = 2 artanh of this */
  twice_artanh_eight(&soft, 17);
  soft += SELECT(x > 0, x, SPREAD(0.0));
  *slope = SELECT(x > 0, SPREAD(1.0), tail) / (1 + tail) / p[1] + LG_IDLE_SIEMENS;
  *i = p[2] / p[1] * soft + LG_IDLE_SIEMENS * *v;
}

INLINE void limited_eight(const double p[3], const LgVec *v, LgVec *i, LgVec *slope)
{
  const double g = p[0], e = p[1], limit = p[2], knee = e - limit / g,
               droop = LIMIT_DROOP * limit / e;
  const LgVecI idle = *v >= e, regulates = *v >= knee;
  const LgVec given = SELECT(regulates, g * (*v - e), droop * (*v - knee) - limit);
  *i = SELECT(idle, LG_IDLE_SIEMENS * (*v - e), given);
  *slope = SELECT(idle, SPREAD(LG_IDLE_SIEMENS), SELECT(regulates, SPREAD(g), SPREAD(droop)));
}

INLINE void power_eight(const double p[3], const LgVec *v, LgVec *i, LgVec *slope)
{
  LgVec size = SELECT(*v < 0, -*v, *v);
  size = SELECT(size > p[1], size, SPREAD(p[1]));
  *slope = p[0] / size / size;
  *i = *slope * *v;
}

LG_CLONES static void curve_eight(const LgNetBranch *branch, const LgVec *v, LgVec *i, LgVec *slope)
{
  if (branch->kind == LG_BRANCH_LAMP)
    lamp_eight(branch->p, v, i, slope);
  else if (branch->kind == LG_BRANCH_MOTOR)
    motor_eight(branch->p, v, i, slope);
  else if (branch->kind == LG_BRANCH_DIODE)
    diode_eight(branch->p, v, i, slope);
  else if (branch->kind == LG_BRANCH_LIMITED)
    limited_eight(branch->p, v, i, slope);
  else
    power_eight(branch->p, v, i, slope);
}

void lg_curve_lanes(const LgNetBranch *branch, int n, const double v[], double i[], double slope[])
{
  if (n == LG_LANES)
    curve_eight(branch, (const LgVec *)v, (LgVec *)i, (LgVec *)slope);
  else
    for (int l = 0; l < n; l++)
      i[l] = lg_curve(branch, v[l], &slope[l]);
}

/* The softplus turned round, good enough for a place to put a tangent. */
LG_CLONES static void tail_eight(const double p[3], const LgVec *v, const LgVec *i, LgVec *at)
{
  const double least = 1e-6 * LG_IDLE_SIEMENS, small = 1e-3; /* below it e^y - 1 is y */
  LgVec y = *i - LG_IDLE_SIEMENS * *v;
  y = SELECT(y > least, y, SPREAD(least)) * (p[1] / p[2]);
  LgVec grown = SELECT(y < 40, y, SPREAD(40.0));
  exp_eight(&grown);
  *at = SELECT(y > small, grown - 1, y);
  log_eight(at);
  *at = p[0] + p[2] * *at;
}

void lg_curve_tail(const LgNetBranch *branch, int n, const double v[], const double i[],
                   double at[])
{
  LgVec volts = {0}, current = {0}, place;
  memcpy(&volts, v, sizeof *v * (gsize)n);
  memcpy(&current, i, sizeof *i * (gsize)n);
  tail_eight(branch->p, &volts, &current, &place);
  memcpy(at, &place, sizeof *at * (gsize)n);
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
