/* Crossings and extremes of a sum of exponentials and a polynomial. */
#include "time/course-private.h"

double lg_curve_value(const LgCourseCurve *curve, double theta, double *slope)
{
  double value = 0, rise = 0;
  for (int k = curve->degree; k >= 0; k--) {
    rise = rise * theta + value;
    value = value * theta + curve->c[k];
  }
  for (int k = 0; k < curve->n_fast; k++) {
    const double part = curve->a[k] * exp(-curve->x[k] * theta);
    value += part;
    rise -= curve->x[k] * part;
  }
  *slope = rise;
  return value;
}

double lg_curve_integral(const LgCourseCurve *curve, double theta)
{
  double sum = 0;
  for (int k = curve->degree; k >= 0; k--)
    sum = (sum + curve->c[k] / (k + 1)) * theta;
  for (int k = 0; k < curve->n_fast; k++)
    sum -= curve->a[k] * expm1(-curve->x[k] * theta) / curve->x[k];
  return sum;
}

/* No second derivative in [from, to] is greater. */
static double bending(const LgCourseCurve *curve, double from, double to)
{
  double sum = 0;
  for (int k = curve->degree; k >= 2; k--)
    sum = sum * to + k * (k - 1) * fabs(curve->c[k]);
  for (int k = 0; k < curve->n_fast; k++)
    sum += fabs(curve->a[k]) * curve->x[k] * curve->x[k] * exp(-curve->x[k] * from);
  return sum;
}

/* direction (g - limit) rises through 0 in [low, high]. Newton, halved where it leaves the bracket;
 * the result lies on the side of the crossing that counts. */
static double root(const LgCourseCurve *curve, double limit, int direction, double low, double high,
                   double least)
{
  double theta = 0.5 * (low + high);
  for (int pass = 0; pass < 100 && high - low > 1e-3 * least; pass++) {
    double slope;
    const double f = direction * (lg_curve_value(curve, theta, &slope) - limit);
    if (f >= 0)
      high = theta;
    else
      low = theta;
    const double move = -f / (direction * slope), next = theta + move;
    if (fabs(move) < 1e-2 * least)
      return CLAMP(next, low, high);
    theta = next > low && next < high ? next : 0.5 * (low + high);
  }
  return high;
}

/* Over [a, b] with middle m and half-width r, g lies within g(m) + g'(m) (theta - m) -+ B r^2 / 2.
 * A part that this cannot decide is halved, the earlier half first. */
double lg_curve_first(const LgCourseCurve *curve, double limit, int direction, double from,
                      double to, double least)
{
  double ends[64], slope;
  int n = 1;
  if (direction * (lg_curve_value(curve, from, &slope) - limit) >= 0)
    return from;
  ends[0] = to;
  for (double a = from; n > 0;) {
    const double b = ends[n - 1], m = 0.5 * (a + b), r = 0.5 * (b - a);
    const double f = direction * (lg_curve_value(curve, m, &slope) - limit), d = direction * slope;
    const double B = bending(curve, a, b), far = f + fabs(d) * r + 0.5 * B * r * r;
    const gboolean falls = d <= -B * r, rises = d >= B * r;
    if (far < 0 || falls) {
      a = b;
      n--;
    } else if (rises) {
      double unused;
      if (direction * (lg_curve_value(curve, b, &unused) - limit) >= 0)
        return root(curve, limit, direction, a, b, least);
      a = b;
      n--;
    } else if (2 * r < least || n == (int)G_N_ELEMENTS(ends)) {
      if (f >= 0)
        return m;
      a = b;
      n--;
    } else if (f >= 0) {
      ends[n - 1] = m;
    } else {
      ends[n++] = m;
    }
  }
  return INFINITY;
}

static void widen(LgCourseRange *range, double value, double at_s)
{
  if (value < range->least) {
    range->least = value;
    range->least_at_s = at_s;
  }
  if (value > range->most) {
    range->most = value;
    range->most_at_s = at_s;
  }
}

/* Zero of the slope in [low, high], whose ends have opposite signs. */
static double flat(const LgCourseCurve *curve, double low, double high, double slope_low)
{
  for (int pass = 0; pass < 50; pass++) {
    const double m = 0.5 * (low + high);
    double slope;
    lg_curve_value(curve, m, &slope);
    if ((slope < 0) == (slope_low < 0))
      low = m;
    else
      high = m;
  }
  return 0.5 * (low + high);
}

void lg_curve_range(const LgCourseCurve *curve, double from_s, double h, double to,
                    LgCourseRange *range)
{
  enum { PARTS = 4 };
  double before, slope;
  widen(range, lg_curve_value(curve, 0, &before), from_s);
  for (int k = 1; k <= PARTS; k++) {
    const double theta = to * k / PARTS;
    const double value = lg_curve_value(curve, theta, &slope);
    widen(range, value, from_s + theta * h);
    if ((slope < 0) != (before < 0)) {
      double unused;
      const double top = flat(curve, to * (k - 1) / PARTS, theta, before);
      widen(range, lg_curve_value(curve, top, &unused), from_s + top * h);
    }
    before = slope;
  }
}
