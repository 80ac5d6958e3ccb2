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
 */
INLINE void FN(find_stale)(const LgNet *net, const LgSlate *slate, const LgPoints *points,
                           MASK *lanes)
{
  const LANE *v = (const LANE *)slate->v, *g = (const LANE *)slate->g, *c = (const LANE *)points->c;
  const LANE *i = (const LANE *)points->i, *slope = (const LANE *)points->slope;
  MASK *stale = (MASK *)slate->stale;
  *lanes = SPREAD_MASK((int64_t)0);
  for (int q = 0; q < net->n_curves; q++) {
    const LgCurve *curve = &net->curves[q];
    const LANE va = v[curve->a], vb = v[curve->b], miss = i[q] - c[q];
    const LANE volts = SIZE(va) + SIZE(vb);
    const LANE allowed = RELATIVE * SIZE(i[q]) + ROUNDING * slope[q] * volts + ABSOLUTE_A;
    const MASK met = MASK_OF(SIZE(miss) <= allowed);
    stale[q] = MASK_OF(g[curve->variable] > 0) & ~met;
    *lanes |= stale[q];
  }
}

/* Replaces the line of a stale branch by the tangent at its volts. */
INLINE void FN(take_tangent)(LgSlate *slate, const LgCurve *curve, int q)
{
  const LgPoints *now = &slate->now;
  const MASK stale = ((const MASK *)slate->stale)[q];
  const LANE u = ((const LANE *)now->u)[q], i = ((const LANE *)now->i)[q];
  const LANE slope = ((const LANE *)now->slope)[q], offset = i - slope * u;
  LANE *at = (LANE *)slate->at + q, *i_at = (LANE *)slate->i_at + q;
  LANE *slope_at = (LANE *)slate->slope_at + q;
  LANE *g = (LANE *)slate->g + curve->variable, *k = (LANE *)slate->k + curve->variable;
  *at = SELECT(stale, u, *at);
  *i_at = SELECT(stale, i, *i_at);
  *slope_at = SELECT(stale, slope, *slope_at);
  *g = SELECT(stale, slope, *g);
  *k = SELECT(stale, offset, *k);
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
