/* Nonlinear branches: Newton's method on their curves.
 *
 * Every curve is replaced by its tangent, i = i(at) + i'(at) (v - at), and the network solved.
 * Between two such solutions (u, c) and (u', c') of volts and tangent currents at the nonlinear
 * branches, any mixture again obeys Kirchhoff's laws with the mixed c. The co-content, convex since
 * the curves rise, has along the way the slope sum (i(u_t) - c_t) (u' - u) over the nonlinear
 * branches alone; where a full step passes the minimum, the root of that slope is the step. What
 * remains of i(u) - c is the Kirchhoff residual. Only curves that are missed get a new line, and
 * only their paths are factored. A load of constant power counts as the resistor that would take it
 * at u, and converges linearly. */
#include "circuit/net-private.h"

static const int MAX_PASSES = 200;
static const int MAX_CUTS = 40;
static const int MAX_JUMPS = 40;        /* passes in which diodes may jump down their tails */
static const double RELATIVE = 1e-12;   /* allowed miss: of a branch's current */
static const double ROUNDING = 2e-15;   /* and of the volts at its ends, times its slope */
static const double ABSOLUTE_A = 1e-20; /* and in any case */
static const double ENOUGH = 0.1;       /* a step may leave this part of the co-content's slope */
static const double LATER = 1e-5;       /* a miss below this part of the worst can wait */
static const double SAFETY =
    10; /* a coil's volts must be this many times surer than they need be */
static const double STARVED = 0.01; /* a diode is left less than this part of what it would carry */

#define LANES 1
#include "circuit/net-lanes.h"
#define SIZE(x) fabs(x)
#include "circuit/net-newton-kernel.h"
#undef SIZE
#undef LANES
#define LANES 8
#include "circuit/net-lanes.h"
#define SIZE(x) ((LgVec)((LgVecI)(x)&INT64_MAX))
#include "circuit/net-newton-kernel.h"

LG_CLONES static void read_lines_wide(const LgNet *net, const LgSlate *slate, LgPoints *points)
{
  read_lines_eight(net, slate, points);
}

LG_CLONES static void find_stale_wide(const LgNet *net, const LgSlate *slate,
                                      const LgPoints *points, LgVecI *lanes)
{
  find_stale_eight(net, slate, points, lanes);
}

LG_CLONES static void find_reach_wide(const LgNet *net, const LgSlate *slate,
                                      const LgPoints *points, LgVec *reach)
{
  find_reach_eight(net, slate, points, reach);
}

LG_CLONES static void take_tangent_wide(LgSlate *slate, const LgCurve *curve, int q, gboolean first)
{
  take_tangent_eight(slate, curve, q, first);
}

LG_CLONES static void slopes_of_step_wide(const LgNet *net, const LgSlate *slate, LgVec *start,
                                          LgVec *end)
{
  slopes_of_step_eight(net, slate, start, end);
}

/* A bit for each lane with a stale curve. */
static guint find_stale(const LgNet *net, LgSlate *slate, const LgPoints *points)
{
  LgVecI lanes = {0};
  int64_t lane;
  if (slate->lanes == 1) {
    find_stale_one(net, slate, points, &lane);
    return lane != 0;
  }
  find_stale_wide(net, slate, points, &lanes);
  return lg_lane_bits(&lanes);
}

static void set_line(LgSlate *slate, const LgCurve *curve, int q, int lane, double at, double i,
                     double slope)
{
  const int n = slate->lanes, here = q * n + lane, variable = curve->variable * n + lane;
  slate->at[here] = at;
  slate->i_at[here] = i;
  slate->slope_at[here] = slope;
  if (slate->g[variable] > 0) {
    slate->g[variable] = slope;
    slate->k[variable] = i - slope * at;
  }
}

static void restart_power(const LgNet *net, LgSlate *slate)
{
  for (int q = 0; q < net->n_curves; q++) {
    const LgCurve *curve = &net->curves[q];
    if (curve->kind != LG_BRANCH_POWER)
      continue;
    const LgNetBranch *branch = lg_branch_at(net, curve->branch);
    double slope;
    const double at = lg_curve_start(net, branch), i = lg_curve(branch, at, &slope);
    for (int l = 0; l < slate->lanes; l++)
      set_line(slate, curve, q, l, at, i, slope);
    lg_slate_mark(net, slate, curve->branch);
  }
}

/* A curve that is open in all lanes is never looked at. */
static gboolean conducts(const LgSlate *slate, int variable)
{
  const double *g = slate->g + variable * slate->lanes;
  if (slate->lanes == 1)
    return *g > 0;
  double most = 0;
  for (int l = 0; l < LG_LANES; l++)
    most = g[l] > most ? g[l] : most;
  return most > 0;
}

static void solve_lines(LgNetWork *work, LgSlate *slate, LgPoints *points)
{
  const LgNet *net = work->net;
  const int n = slate->lanes;
  lg_slate_factor(work, slate);
  lg_slate_probe(work, slate, &net->curve_probe, &net->curve_floaters);
  if (n == 1)
    read_lines_one(net, slate, points);
  else
    read_lines_wide(net, slate, points);
  for (int q = 0; q < net->n_curves; q++)
    if (conducts(slate, net->curves[q].variable))
      lg_curve_lanes(lg_branch_at(net, net->curves[q].branch), n, points->u + q * n,
                     points->i + q * n, points->slope + q * n);
}

/* Whether the rest of the network rather sets a diode's current than its volts: it leaves it next
 * to nothing, or from the last step to this the current changed less than the diode's slope asks
 * for. */
static gboolean sets_current(const LgSlate *slate, int at, gboolean have_last)
{
  const LgPoints *now = &slate->now, *last = &slate->next;
  const double i = now->i[at], c = now->c[at], slope = now->slope[at];
  if (!(slope > 2 * LG_IDLE_SIEMENS) || fabs(c) < STARVED * i)
    return slope > 2 * LG_IDLE_SIEMENS;
  return have_last && c > 0 && c < i &&
         fabs(c - last->c[at]) < slope * fabs(now->u[at] - last->u[at]);
}

/* Down a diode's tail a tangent at the volts goes by one `s` at a time, however fast the current
 * falls. Where the network sets the current, the tangent is put where the diode carries that; both
 * ways end in Newton's on the same curve. */
static void jump_down_tail(const LgNet *net, LgSlate *slate, int q, gboolean have_last)
{
  const LgNetBranch *branch = lg_branch_at(net, net->curves[q].branch);
  const int n = slate->lanes, first = q * n;
  _Alignas(64) double at[LG_LANES], i[LG_LANES], slope[LG_LANES];
  guint lanes = 0;
  for (int l = 0; l < n; l++)
    if (slate->stale[first + l] && slate->now.u[first + l] < branch->p[0] &&
        sets_current(slate, first + l, have_last))
      lanes |= 1u << l;
  if (lanes == 0)
    return;
  lg_curve_tail(branch, n, slate->now.u + first, slate->now.c + first, at);
  lg_curve_lanes(branch, n, at, i, slope);
  for (; lanes != 0; lanes &= lanes - 1) {
    const int l = __builtin_ctz(lanes);
    set_line(slate, &net->curves[q], q, l, at[l], i[l], slope[l]);
  }
}

static gboolean is_stale(const LgSlate *slate, int q)
{
  int64_t any = 0;
  for (int l = 0; l < slate->lanes; l++)
    any |= slate->stale[q * slate->lanes + l];
  return any != 0;
}

static void take_tangents(const LgNet *net, LgSlate *slate, int passes)
{
  for (int q = 0; q < net->n_curves; q++) {
    const LgCurve *curve = &net->curves[q];
    if (!is_stale(slate, q))
      continue;
    if (slate->lanes == 1)
      take_tangent_one(slate, curve, q, passes == 1);
    else
      take_tangent_wide(slate, curve, q, passes == 1);
    if (passes < MAX_JUMPS && curve->kind == LG_BRANCH_DIODE)
      jump_down_tail(net, slate, q, passes > 1);
    lg_slate_mark(net, slate, curve->branch);
  }
}

/* Slope of the co-content at the part t of the way in one lane. */
static double slope_on_way(const LgNet *net, const LgSlate *slate, int lane, double t)
{
  const LgPoints *now = &slate->now, *next = &slate->next;
  double sum = 0;
  for (int q = 0; q < net->n_curves; q++) {
    const LgCurve *curve = &net->curves[q];
    const int at = q * slate->lanes + lane;
    if (!(slate->g[curve->variable * slate->lanes + lane] > 0))
      continue;
    const double way = next->u[at] - now->u[at], u = now->u[at] + t * way;
    const double c = now->c[at] + t * (next->c[at] - now->c[at]);
    double slope = slate->slope_at[at], i = slope * u;
    if (curve->kind != LG_BRANCH_POWER)
      i = lg_curve(lg_branch_at(net, curve->branch), u, &slope);
    sum += (i - c) * way;
  }
  return sum;
}

/* The part of the way at which the co-content is least, by regula falsi (Illinois). */
static double step_of_lane(const LgNet *net, const LgSlate *slate, int lane, double at_start,
                           double at_end)
{
  const double enough = ENOUGH * fabs(at_start);
  double low = 0, high = 1, at_low = at_start, at_high = at_end, t = 1;
  int side = 0;
  for (int cut = 0; cut < MAX_CUTS; cut++) {
    t = low + (high - low) * at_low / (at_low - at_high);
    const double here = slope_on_way(net, slate, lane, t);
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

/* Goes only the part t of the way in one lane; every curve there needs a new line. */
static void shorten_step(const LgNet *net, LgSlate *slate, int lane, double t)
{
  LgPoints *now = &slate->now, *next = &slate->next;
  for (int q = 0; q < net->n_curves; q++) {
    const LgCurve *curve = &net->curves[q];
    const int at = q * slate->lanes + lane;
    next->u[at] = now->u[at] + t * (next->u[at] - now->u[at]);
    next->c[at] = now->c[at] + t * (next->c[at] - now->c[at]);
    next->i[at] = lg_curve(lg_branch_at(net, curve->branch), next->u[at], &next->slope[at]);
    slate->stale[at] = slate->g[curve->variable * slate->lanes + lane] > 0 ? -1 : 0;
  }
}

/* Returns a bit for each lane whose step was shortened; volts at the nodes are still those of the
 * full step. */
static guint shorten_steps(const LgNet *net, LgSlate *slate, guint lanes)
{
  LgVec start = {0}, end = {0};
  guint shortened = 0;
  if (slate->lanes == LG_LANES) {
    slopes_of_step_wide(net, slate, &start, &end);
  } else {
    double start_one, end_one;
    slopes_of_step_one(net, slate, &start_one, &end_one);
    start[0] = start_one;
    end[0] = end_one;
  }
  for (; lanes != 0; lanes &= lanes - 1) {
    const int lane = __builtin_ctz(lanes);
    if (start[lane] < 0 && end[lane] > ENOUGH * -start[lane]) {
      shorten_step(net, slate, lane, step_of_lane(net, slate, lane, start[lane], end[lane]));
      shortened |= 1u << lane;
    }
  }
  return shortened;
}

static LgLook look_within_reach(const LgNet *net, LgSlate *slate)
{
  LgVec reach = {0};
  double reach_one;
  if (slate->lanes == LG_LANES) {
    find_reach_wide(net, slate, &slate->now, &reach);
  } else {
    find_reach_one(net, slate, &slate->now, &reach_one);
    reach[0] = reach_one;
  }
  return lg_slate_look(net, slate, &reach);
}

/* Whether the aim is reached before the lines meet their curves. */
static gboolean is_enough(const LgNet *net, LgSlate *slate, LgAim *aim, guint *moving)
{
  if (*aim == LG_AIM_VOLTS)
    return FALSE;
  const LgLook coils = look_within_reach(net, slate);
  *moving = coils.moving;
  if (coils.unsure != 0)
    return FALSE;
  if (*aim == LG_AIM_WANTS || coils.moving != 0)
    return TRUE;
  *aim = LG_AIM_VOLTS;
  return FALSE;
}

static LgSolved solve_curves(LgNetWork *work, LgSlate *slate, LgAim aim)
{
  const LgNet *net = work->net;
  LgSolved solved = {.passes = 1};
  guint shortened = 0;
  solve_lines(work, slate, &slate->now);
  guint lanes = find_stale(net, slate, &slate->now);
  for (; lanes != 0 && solved.passes < MAX_PASSES; solved.passes++) {
    if (shortened == 0 && is_enough(net, slate, &aim, &solved.moving)) {
      solved.unfinished = TRUE;
      return solved;
    }
    take_tangents(net, slate, solved.passes);
    solve_lines(work, slate, &slate->next);
    lanes = find_stale(net, slate, &slate->next);
    shortened = lanes == 0 ? 0 : shorten_steps(net, slate, lanes);
    const LgPoints now = slate->now;
    slate->now = slate->next;
    slate->next = now;
  }
  solved.stalled = lanes;
  solved.moving = lg_slate_look(net, slate, NULL).moving;
  return solved;
}

LgSolved lg_slate_newton(LgNetWork *work, LgSlate *slate, LgAim aim)
{
  const LgNet *net = work->net;
  if (net->n_curves == 0) {
    lg_slate_factor(work, slate);
    lg_slate_probe(work, slate, &net->coil_probe, &net->coil_floaters);
    return (LgSolved){.moving = lg_slate_look(net, slate, NULL).moving, .passes = 1};
  }
  restart_power(net, slate);
  return solve_curves(work, slate, aim);
}
