/* Elimination and substitution of the columns of a sheet. Included once for one lane and once for
 * eight, with LANE, MASK   the types of one number and one mask of all lanes FN(name)     the name
 * of this version SPREAD(x)    the same number in every lane SELECT(m, x, y)  x where the mask is
 * set, else y Source of the elimination: Grassmann, Taksar and Heyman's rule that a pivot is the
 * sum of what leaves. */

#define INLINE static inline __attribute__((always_inline))

/* A column with entries dw, dl, dj (the first leads to the target, n more follow) is eliminated:
 * each of the n becomes a conductance of the target, and takes its share of the source currents
 * along. */
INLINE void FN(push)(LANE *w, LANE *j, const LANE *dw, const LANE *dl, const LANE *dj, int n,
                     const int *target, LgFeed feed)
{
  const LANE through = dw[0];
  for (int q = 0; q < n; q++)
    w[target[q]] += through * dl[1 + q];
  if (feed == LG_FEED_REFERENCE)
    j[target[n - 1]] += dl[0] * dj[n];
  else if (feed == LG_FEED_ANY)
    for (int q = 0; q < n; q++)
      j[target[q]] += dl[0] * dj[1 + q] - dl[1 + q] * dj[0];
}

/* Turns a column's sums into shares of the pivot. A pivot of nothing leaves shares of nothing. */
INLINE void FN(divide)(const LANE *w, LANE *l, const LANE *j, LANE *y, MASK *zero, int n,
                       LgFeed feed)
{
  LANE sum = w[0];
  for (int i = 1; i < n; i++)
    sum += w[i];
  const MASK some = MASK_OF(sum > 0);
  const LANE pivot = SELECT(some, sum, SPREAD(1.0));
  for (int i = 0; i < n; i++)
    l[i] = w[i] / pivot;
  if (feed != LG_FEED_NONE) {
    LANE source = j[n - 1];
    for (int i = 0; feed == LG_FEED_ANY && i < n - 1; i++)
      source += j[i];
    *y = source / pivot;
  }
  *zero = ~some;
}

INLINE void FN(factor_column)(const LgNetWork *work, LgSheet *sheet, const LgColumn *c)
{
  const LgNet *net = work->net;
  LANE *w = (LANE *)sheet->w, *l = (LANE *)sheet->l, *j = (LANE *)sheet->j;
  const LANE *g = (const LANE *)sheet->g, *k = (const LANE *)sheet->k;
  LANE *w_own = w + c->slot, *j_own = j + c->slot;
  for (int i = 0; i < c->n; i++)
    w_own[i] = SPREAD(work->w[c->first + i]);
  if (c->feed != LG_FEED_NONE)
    for (int i = 0; i < c->n; i++)
      j_own[i] = SPREAD(work->j[c->first + i]);
  for (int i = c->part_mid; i < c->part_end; i++) {
    const LgPart *part = &net->part[i];
    const int b = net->variable[part->branch];
    w_own[part->offset] += g[b];
    if (c->feed != LG_FEED_NONE)
      j_own[part->offset] -= part->sign * k[b];
  }
  for (int i = c->update_mid; i < c->update_end; i++) {
    const LgUpdate *u = &net->update[i];
    const LgColumn *d = &net->column[u->column];
    const int at = d->slot + u->offset;
    FN(push)
    (w_own, j_own, w + at, l + at, j + at, d->n - u->offset - 1, net->targets + u->target, d->feed);
  }
  FN(divide)
  (w_own, l + c->slot, j_own, (LANE *)sheet->y + c->own, (MASK *)sheet->zero + c->own, c->n,
   c->feed);
}

INLINE void FN(factor)(const LgNetWork *work, LgSheet *sheet)
{
  const LgNet *net = work->net;
  const int n_words = (net->n_columns + 63) / 64;
  for (int i = sheet->dirty_low; i < n_words; i++) {
    guint64 bits = sheet->dirty[i];
    sheet->dirty[i] = 0;
    for (; bits != 0; bits &= bits - 1)
      FN(factor_column)(work, sheet, &net->column[64 * i + __builtin_ctzll(bits)]);
  }
  sheet->dirty_low = n_words;
}

/* One column with n entries; n and the flags are constants where this is called in a run. */
INLINE void FN(substitute_column)(const LgNetWork *work, LgSheet *sheet, const LgColumn *c, int n,
                                  gboolean variable, gboolean fed)
{
  LANE *v = (LANE *)sheet->v;
  const int *row = work->net->row_node + c->first;
  LANE sum = SPREAD(0.0);
  if (variable) {
    const LANE *l = (const LANE *)sheet->l + c->slot;
    if (fed)
      sum = ((const LANE *)sheet->y)[c->own];
    for (int i = 0; i < n - 1; i++)
      sum += l[i] * v[row[i]];
  } else {
    const double *l = work->l + c->first;
    if (fed)
      sum = SPREAD(work->y[c - work->net->column]);
    for (int i = 0; i < n - 1; i++)
      sum += l[i] * v[row[i]];
  }
  v[c->node] = sum;
}

INLINE void FN(substitute_run)(const LgNetWork *work, LgSheet *sheet, const LgRun *run, int n,
                               gboolean variable, gboolean fed)
{
  for (int k = run->end - 1; k >= run->first; k--)
    FN(substitute_column)(work, sheet, &work->net->column[k], n, variable, fed);
}

INLINE void FN(substitute)(const LgNetWork *work, LgSheet *sheet)
{
  const LgNet *net = work->net;
  for (int r = net->n_runs - 1; r >= 0; r--) {
    const LgRun *run = &net->run[r];
    if (run->n == 2 && !run->fed)
      FN(substitute_run)(work, sheet, run, 2, run->variable, FALSE);
    else if (run->n == 3 && !run->fed)
      FN(substitute_run)(work, sheet, run, 3, run->variable, FALSE);
    else
      FN(substitute_run)(work, sheet, run, run->n, run->variable, run->fed);
  }
}

/* A node floats when its pivot is zero or a later node to which it is joined floats. */
INLINE void FN(find_floating)(const LgNetWork *work, LgSheet *sheet, const LgProbe *floaters)
{
  const LgNet *net = work->net;
  MASK *floating = (MASK *)sheet->floating;
  for (int i = 0; i < floaters->n; i++) {
    const int k = floaters->column[i];
    const LgColumn *c = &net->column[k];
    const int *row = net->row_node + c->first;
    MASK mask = SPREAD_MASK((int64_t)0);
    if (c->own >= 0) {
      const LANE *w = (const LANE *)sheet->w + c->slot;
      mask = ((const MASK *)sheet->zero)[c->own];
      for (int q = 0; q < c->n - 1; q++)
        mask |= MASK_OF(w[q] > 0) & floating[row[q]];
    } else {
      mask |= work->zero[k];
      for (int q = 0; q < c->n - 1; q++)
        if (work->w[c->first + q] > 0)
          mask |= floating[row[q]];
    }
    floating[c->node] = mask;
  }
}

INLINE void FN(void_floating)(const LgNet *net, LgSheet *sheet)
{
  const LANE nowhere = SPREAD((double)NAN);
  for (int i = 0; i < net->floaters.n; i++) {
    const int node = net->column[net->floaters.column[i]].node;
    LANE *v = (LANE *)sheet->v + node;
    *v = SELECT(((const MASK *)sheet->floating)[node], nowhere, *v);
  }
}

INLINE void FN(probe)(const LgNetWork *work, LgSheet *sheet, const LgProbe *probe,
                      const LgProbe *floaters)
{
  for (int i = 0; i < probe->n; i++) {
    const LgColumn *c = &work->net->column[probe->column[i]];
    FN(substitute_column)(work, sheet, c, c->n, c->own >= 0, c->feed != LG_FEED_NONE);
  }
  FN(find_floating)(work, sheet, floaters);
}

#undef INLINE
#undef LANE
#undef MASK
#undef FN
#undef SPREAD
#undef SPREAD_MASK
#undef MASK_OF
#undef SELECT
