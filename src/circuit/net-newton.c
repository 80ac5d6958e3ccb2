/* Nonlinear branches: Newton's method on their curves.
 *
 * Every curve is replaced by its tangent, i = i(at) + i'(at) (v - at), and the network solved.
 * Between two such solutions (u, c) and (u', c') of volts and tangent currents at the nonlinear
 * branches, any mixture again obeys Kirchhoff's laws with the mixed c. The co-content, convex since
 * the curves rise, has along the way the slope sum (i(u_t) - c_t) (u' - u) over the nonlinear
 * branches alone; where a full step passes the minimum, the root of that slope is the step. What
 * remains of i(u) - c is the Kirchhoff residual. A load of constant power counts as the resistor
 * that would take it at u, and converges linearly. */
#include "circuit/net-private.h"

static const int MAX_PASSES = 200;
static const int MAX_CUTS = 40;
static const double RELATIVE = 1e-11; /* of a branch's current */
static const double ABSOLUTE_A = 1e-15;
static const double ROUNDING = 2e-15; /* of the volts at a branch's ends, times its slope */
static const double ENOUGH = 0.1;     /* a step may leave this part of the co-content's slope */

static void linearise(LgNetWork *work, LgSheet *sheet, int curve, int lane, double at, double i,
                      double slope)
{
  const int n = sheet->lanes, q = curve * n + lane;
  const int variable = work->net->variable[work->net->curve_branch[curve]] * n + lane;
  const gboolean closed =
      lg_sheet_branch_closed(work->net, sheet, work->net->curve_branch[curve], lane) != 0;
  sheet->at[q] = at;
  sheet->i_at[q] = i;
  sheet->slope_at[q] = slope;
  sheet->g[variable] = closed ? slope : 0;
  sheet->k[variable] = closed ? i - slope * at : 0;
}

static void restart_power(LgNetWork *work, LgSheet *sheet)
{
  const LgNet *net = work->net;
  for (int q = 0; q < net->n_curves; q++) {
    const LgNetBranch *branch = lg_branch_at(net, net->curve_branch[q]);
    if (branch->kind != LG_BRANCH_POWER)
      continue;
    double slope, at = lg_curve_start(net, branch), i = lg_curve(branch, at, &slope);
    for (int l = 0; l < sheet->lanes; l++)
      linearise(work, sheet, q, l, at, i, slope);
    lg_sheet_mark(net, sheet, net->curve_branch[q]);
  }
}

/* Volts of the nonlinear branches and the currents of their tangents; the curves at these volts. */
static void solve_lines(LgNetWork *work, LgSheet *sheet, double *u, double *c, double *i,
                        double *slope)
{
  const LgNet *net = work->net;
  const int n = sheet->lanes;
  lg_sheet_factor(work, sheet);
  lg_sheet_probe(work, sheet, &net->curve_probe, &net->curve_floaters);
  for (int q = 0; q < net->n_curves; q++) {
    const LgNetBranch *branch = lg_branch_at(net, net->curve_branch[q]);
    const double *va = sheet->v + branch->a * n, *vb = sheet->v + branch->b * n;
    const double *g = sheet->g + net->variable[net->curve_branch[q]] * n;
    for (int l = 0; l < n; l++) {
      u[q * n + l] = va[l] - vb[l];
      c[q * n + l] =
          g[l] > 0 ? sheet->i_at[q * n + l] + g[l] * (u[q * n + l] - sheet->at[q * n + l]) : 0;
    }
    lg_curve_many(branch, n, u + q * n, i + q * n, slope + q * n);
  }
}

/* Lanes in which some curve is not met. Written so that a NAN counts as missed. */
static guint missed(const LgNetWork *work, const LgSheet *sheet, const double *c, const double *i,
                    const double *slope)
{
  const LgNet *net = work->net;
  const int n = sheet->lanes;
  guint lanes = 0;
  for (int q = 0; q < net->n_curves; q++) {
    const int b = net->curve_branch[q];
    const LgNetBranch *branch = lg_branch_at(net, b);
    const double *va = sheet->v + branch->a * n, *vb = sheet->v + branch->b * n;
    for (int l = 0; l < n; l++) {
      const int at = q * n + l;
      const double floor = ROUNDING * slope[at] * MAX(fabs(va[l]), fabs(vb[l]));
      const gboolean met = fabs(i[at] - c[at]) <= RELATIVE * fabs(i[at]) + floor + ABSOLUTE_A;
      if (!met && lg_sheet_branch_closed(net, sheet, b, l))
        lanes |= 1u << l;
    }
  }
  return lanes;
}

/* Slope of the co-content at the part t of the way in one lane. */
static double slope_at(const LgNetWork *work, const LgSheet *sheet, int lane, double t)
{
  const LgNet *net = work->net;
  double sum = 0;
  for (int q = 0; q < net->n_curves; q++) {
    const int b = net->curve_branch[q], at = q * sheet->lanes + lane;
    const LgNetBranch *branch = lg_branch_at(net, b);
    if (!lg_sheet_branch_closed(net, sheet, b, lane))
      continue;
    const double way = sheet->u_new[at] - sheet->u[at], u = sheet->u[at] + t * way;
    const double c = sheet->c[at] + t * (sheet->c_new[at] - sheet->c[at]);
    double slope,
        i = branch->kind == LG_BRANCH_POWER ? sheet->slope_at[at] * u : lg_curve(branch, u, &slope);
    sum += (i - c) * way;
  }
  return sum;
}

/* The part of the way to go: 1, or where the co-content is least, by regula falsi (Illinois). */
static double step_of_lane(const LgNetWork *work, const LgSheet *sheet, int lane)
{
  double low = 0, high = 1, at_low = slope_at(work, sheet, lane, 0),
         at_high = slope_at(work, sheet, lane, 1);
  const double enough = ENOUGH * fabs(at_low);
  if (!(at_high > enough) || !(at_low < 0))
    return 1;
  double t = 1;
  int side = 0;
  for (int cut = 0; cut < MAX_CUTS; cut++) {
    t = low + (high - low) * at_low / (at_low - at_high);
    const double here = slope_at(work, sheet, lane, t);
    if (fabs(here) <= enough)
      break;
    if (here < 0) {
      low = t;
      at_low = here;
      at_high *= side == -1 ? 0.5 : 1;
      side = -1;
    } else {
      high = t;
      at_high = here;
      at_low *= side == 1 ? 0.5 : 1;
      side = 1;
    }
  }
  return t;
}

/* Lanes that went only a part of the way. */
static guint shorten_steps(LgNetWork *work, LgSheet *sheet, guint lanes)
{
  const LgNet *net = work->net;
  guint shortened = 0;
  for (; lanes != 0; lanes &= lanes - 1) {
    const int lane = __builtin_ctz(lanes);
    const double t = step_of_lane(work, sheet, lane);
    if (t >= 1)
      continue;
    shortened |= 1u << lane;
    for (int q = 0; q < net->n_curves; q++) {
      const int at = q * sheet->lanes + lane;
      sheet->u_new[at] = sheet->u[at] + t * (sheet->u_new[at] - sheet->u[at]);
      sheet->c_new[at] = sheet->c[at] + t * (sheet->c_new[at] - sheet->c[at]);
      sheet->i_new[at] = lg_curve(lg_branch_at(net, net->curve_branch[q]), sheet->u_new[at],
                                  &sheet->slope_new[at]);
    }
  }
  return shortened;
}

static void swap(double **x, double **y)
{
  double *z = *x;
  *x = *y;
  *y = z;
}

static void linearise_lanes(LgNetWork *work, LgSheet *sheet, guint lanes)
{
  const LgNet *net = work->net;
  for (int q = 0; q < net->n_curves; q++) {
    for (guint rest = lanes; rest != 0; rest &= rest - 1) {
      const int lane = __builtin_ctz(rest), at = q * sheet->lanes + lane;
      linearise(work, sheet, q, lane, sheet->u[at], sheet->i[at], sheet->slope[at]);
    }
    lg_sheet_mark(net, sheet, net->curve_branch[q]);
  }
}

guint lg_sheet_newton(LgNetWork *work, LgSheet *sheet, int *passes)
{
  *passes = 1;
  restart_power(work, sheet);
  solve_lines(work, sheet, sheet->u, sheet->c, sheet->i, sheet->slope);
  guint lanes = missed(work, sheet, sheet->c, sheet->i, sheet->slope);
  for (; lanes != 0 && *passes < MAX_PASSES; (*passes)++) {
    linearise_lanes(work, sheet, lanes);
    solve_lines(work, sheet, sheet->u_new, sheet->c_new, sheet->i_new, sheet->slope_new);
    const guint still = lanes & missed(work, sheet, sheet->c_new, sheet->i_new, sheet->slope_new);
    const guint shortened = shorten_steps(work, sheet, still);
    swap(&sheet->u, &sheet->u_new);
    swap(&sheet->c, &sheet->c_new);
    swap(&sheet->i, &sheet->i_new);
    swap(&sheet->slope, &sheet->slope_new);
    lanes = missed(work, sheet, sheet->c, sheet->i, sheet->slope) | shortened;
  }
  return lanes;
}
