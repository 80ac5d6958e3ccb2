/* The loops of Newton's method over nonlinear branches; a text for both numbers of lanes, see
 * net-lanes.h. */

/* Volts of the branches and the currents of their lines. An open branch has no conductance. */
INLINE void FN(read_lines)(const LgNet *net, const LgSlate *slate, LgPoints *points)
{
  const LANE *v = (const LANE *)slate->v, *g = (const LANE *)slate->g;
  const LANE *at = (const LANE *)slate->at, *i_at = (const LANE *)slate->i_at;
  LANE *u = (LANE *)points->u, *c = (LANE *)points->c;
  for (int q = 0; q < net->n_curves; q++) {
    const LgCurve *curve = &net->curves[q];
    u[q] = v[curve->a] - v[curve->b];
    c[q] = i_at[q] + g[curve->variable] * (u[q] - at[q]);
  }
}

/* Marks the curves that their lines miss, and gathers the lanes. Written so that a NAN is a miss.
 * Curves that are missed by far less than another are left for later: they move once more with it.
 */
INLINE void FN(find_stale)(const LgNet *net, const LgSlate *slate, const LgPoints *points,
                           MASK *lanes)
{
  const LANE *v = (const LANE *)slate->v, *g = (const LANE *)slate->g, *c = (const LANE *)points->c;
  const LANE *i = (const LANE *)points->i, *slope = (const LANE *)points->slope;
  MASK *stale = (MASK *)slate->stale;
  LANE worst = SPREAD(0.0);
  *lanes = SPREAD_MASK((int64_t)0);
  for (int q = 0; q < net->n_curves; q++) {
    const LgCurve *curve = &net->curves[q];
    const LANE va = v[curve->a], vb = v[curve->b], miss = i[q] - c[q];
    const LANE volts = SIZE(va) + SIZE(vb);
    const LANE allowed = RELATIVE * SIZE(i[q]) + ROUNDING * slope[q] * volts + ABSOLUTE_A;
    const MASK met = MASK_OF(SIZE(miss) <= allowed);
    stale[q] = MASK_OF(g[curve->variable] > 0) & ~met;
    const LANE counted = SELECT(stale[q], SIZE(miss), SPREAD(0.0));
    worst = SELECT(MASK_OF(counted > worst), counted, worst);
    *lanes |= stale[q];
  }
  worst *= LATER;
  for (int q = 0; q < net->n_curves && ANY(*lanes); q++)
    stale[q] &= ~MASK_OF(SIZE(i[q] - c[q]) < worst);
}

/* By how much volts anywhere can be wrong. A current that is missing in one branch moves no volts
 * by more than its own, and these by no more than the branch's own conductance, the least on the
 * way, lets it: the network beside it only takes a part. */
INLINE void FN(find_reach)(const LgNet *net, const LgSlate *slate, const LgPoints *points,
                           LANE *reach)
{
  const LANE *g = (const LANE *)slate->g, *c = (const LANE *)points->c;
  const LANE *i = (const LANE *)points->i, *slope = (const LANE *)points->slope;
  *reach = SPREAD(0.0);
  for (int q = 0; q < net->n_curves; q++) {
    const LANE line = g[net->curves[q].variable], miss = i[q] - c[q];
    const LANE least = SELECT(MASK_OF(slope[q] < line), slope[q], line);
    *reach += SELECT(MASK_OF(line > 0), SIZE(miss) / least, SPREAD(0.0));
  }
  *reach *= SAFETY;
}

/* Replaces the line of a stale branch by the tangent at its volts. A load that was switched on or
 * off finds at `first` the place where it was tangent before, which is nearer to where it will be.
 */
INLINE void FN(take_tangent)(LgSlate *slate, const LgCurve *curve, int q, gboolean first)
{
  const LgPoints *now = &slate->now;
  const MASK stale = ((const MASK *)slate->stale)[q];
  LANE u = ((const LANE *)now->u)[q], i = ((const LANE *)now->i)[q];
  LANE slope = ((const LANE *)now->slope)[q];
  LANE *at = (LANE *)slate->at + q, *i_at = (LANE *)slate->i_at + q;
  LANE *slope_at = (LANE *)slate->slope_at + q;
  LANE *was_at = (LANE *)slate->was_at + q, *was_i = (LANE *)slate->was_i + q;
  LANE *was_slope = (LANE *)slate->was_slope + q;
  LANE *g = (LANE *)slate->g + curve->variable, *k = (LANE *)slate->k + curve->variable;
  const LANE far = u - *at, near = *was_at - u;
  const MASK switched =
      stale & (MASK_OF(2 * SIZE(far) > SIZE(u)) & MASK_OF(2 * SIZE(far) > SIZE(*at)));
  const MASK back = first ? switched & MASK_OF(5 * SIZE(near) < SIZE(u)) : SPREAD_MASK((int64_t)0);
  u = SELECT(back, *was_at, u);
  i = SELECT(back, *was_i, i);
  slope = SELECT(back, *was_slope, slope);
  *was_at = SELECT(switched, *at, *was_at);
  *was_i = SELECT(switched, *i_at, *was_i);
  *was_slope = SELECT(switched, *slope_at, *was_slope);
  *at = SELECT(stale, u, *at);
  *i_at = SELECT(stale, i, *i_at);
  *slope_at = SELECT(stale, slope, *slope_at);
  *g = SELECT(stale, slope, *g);
  *k = SELECT(stale, i - slope * u, *k);
}

/* Slope of the co-content at the start and at the end of a step. A load of constant power is a line
 * there. */
INLINE void FN(slopes_of_step)(const LgNet *net, const LgSlate *slate, LANE *start, LANE *end)
{
  const LgPoints *now = &slate->now, *next = &slate->next;
  const LANE *g = (const LANE *)slate->g;
  *start = *end = SPREAD(0.0);
  for (int q = 0; q < net->n_curves; q++) {
    const LgCurve *curve = &net->curves[q];
    const LANE step = ((const LANE *)next->u)[q] - ((const LANE *)now->u)[q];
    const LANE way = SELECT(MASK_OF(g[curve->variable] > 0), step, SPREAD(0.0));
    *start += (((const LANE *)now->i)[q] - ((const LANE *)now->c)[q]) * way;
    if (curve->kind != LG_BRANCH_POWER)
      *end += (((const LANE *)next->i)[q] - ((const LANE *)next->c)[q]) * way;
  }
}
