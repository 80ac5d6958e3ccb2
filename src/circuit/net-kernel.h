/* Elimination and substitution of the columns of a slate; a text for both numbers of lanes, see
 * net-lanes.h. Source of the elimination: Grassmann, Taksar and Heyman's rule that a pivot is the
 * sum of what leaves. */

/* Two sums at a time, as each addition waits for the one before. */
INLINE void FN(add_conductances)(LANE *sum, const LANE *w, const LANE *l, const LgProduct *p,
                                 const LgProduct *end)
{
  LANE even = *sum, odd = SPREAD(0.0);
  for (; p + 1 < end; p += 2) {
    even += w[p[0].a] * l[p[0].b];
    odd += w[p[1].a] * l[p[1].b];
  }
  if (p < end)
    odd += w[p->a] * l[p->b];
  *sum = even + odd;
}

INLINE void FN(add_sources)(LANE *sum, const LANE *l, const LANE *j, const LgProduct *p,
                            const LgProduct *end)
{
  LANE in = *sum, out = SPREAD(0.0);
  for (; p < end; p++) {
    in += l[p->a] * j[p->b];
    out += l[p->b] * j[p->a];
  }
  *sum = in - out;
}

/* Turns a column's sums into shares of the pivot. One division and a step of correction each take
 * the place of a division each. */
INLINE void FN(divide)(const LANE *w, LANE *l, const LANE *j, LANE *y, const LANE *pivot, int n,
                       LgFeed feed)
{
  const LANE inverse = 1 / *pivot;
  for (int i = 0; i < n; i++) {
    const LANE share = w[i] * inverse;
    l[i] = share + (w[i] - share * *pivot) * inverse;
  }
  if (feed != LG_FEED_NONE) {
    LANE source = j[n - 1];
    for (int i = 0; feed == LG_FEED_ANY && i < n - 1; i++)
      source += j[i];
    *y = source * inverse;
  }
}

/* A pivot of zero becomes 1, which leaves shares of nothing. */
INLINE void FN(note_zeros)(LgSlate *slate, const LgColumn *c, LANE *pivot)
{
  const MASK some = MASK_OF(*pivot > 0);
  *pivot = SELECT(some, *pivot, SPREAD(1.0));
  ((MASK *)slate->zero)[c->own] = ~some;
  if (!c->loose)
    return;
  slate->n_zero -= slate->some_zero[c->own];
  slate->some_zero[c->own] = ANY(~some);
  slate->n_zero += slate->some_zero[c->own];
}

/* The sums of variable products for n entries, from the sum `first` on. */
INLINE void FN(add_sums)(const LgNet *net, const LgSlate *slate, LANE *w, LANE *j, int first, int n,
                         LgFeed feed)
{
  const LANE *from_w = (const LANE *)slate->w, *from_l = (const LANE *)slate->l;
  const LANE *from_j = (const LANE *)slate->j;
  for (int i = 0; i < n; i++) {
    const LgProduct *p = net->sum_product + net->sum_start[first + i];
    const LgProduct *end = net->sum_product + net->sum_start[first + i + 1];
    FN(add_conductances)(&w[i], from_w, from_l, p, end);
    if (feed != LG_FEED_NONE)
      FN(add_sources)(&j[i], from_l, from_j, p, net->sum_product + net->sum_fed[first + i]);
  }
}

INLINE void FN(empty_baskets)(const LgNet *net, LANE *sums, const LANE *kept, const LgColumn *c)
{
  const int n_baskets = c->basket_end - c->basket;
  for (int i = 0; i < c->n; i++) {
    const LANE *from = kept + net->basket[c->basket].slot + i;
    LANE even = sums[i], odd = SPREAD(0.0);
    int b = 0;
    for (; b + 1 < n_baskets; b += 2) {
      even += from[b * c->n];
      odd += from[(b + 1) * c->n];
    }
    if (b < n_baskets)
      odd += from[b * c->n];
    sums[i] = even + odd;
  }
}

INLINE void FN(add_baskets)(const LgNet *net, LgSlate *slate, LANE *w, LANE *j, const LgColumn *c)
{
  for (int b = c->basket; b < c->basket_end; b++) {
    LANE *basket_w = (LANE *)slate->basket_w + net->basket[b].slot;
    LANE *basket_j = (LANE *)slate->basket_j + net->basket[b].slot;
    if (slate->basket_stale[b]) {
      slate->basket_stale[b] = FALSE;
      for (int i = 0; i < c->n; i++)
        basket_w[i] = basket_j[i] = SPREAD(0.0);
      FN(add_sums)(net, slate, basket_w, basket_j, net->basket[b].sum, c->n, c->feed);
    }
  }
  FN(empty_baskets)(net, w, (const LANE *)slate->basket_w, c);
  if (c->feed != LG_FEED_NONE)
    FN(empty_baskets)(net, j, (const LANE *)slate->basket_j, c);
}

/* n and the feed are constants where it pays. */
INLINE void FN(factor_column)(const LgNetWork *work, LgSlate *slate, const LgColumn *c, int n,
                              LgFeed feed)
{
  const LgNet *net = work->net;
  const LANE *g = (const LANE *)slate->g, *k = (const LANE *)slate->k;
  LANE *w = (LANE *)slate->w + c->slot, *j = (LANE *)slate->j + c->slot;
  for (int i = 0; i < n; i++)
    w[i] = SPREAD(work->w[c->first + i]);
  for (int i = 0; i < n && feed != LG_FEED_NONE; i++)
    j[i] = SPREAD(work->j[c->first + i]);
  for (const LgPart *part = net->part + c->part_mid; part < net->part + c->part_end; part++) {
    w[part->offset] += g[part->variable];
    if (feed != LG_FEED_NONE)
      j[part->offset] -= part->sign * k[part->variable];
  }
  if (c->basket < c->basket_end)
    FN(add_baskets)(net, slate, w, j, c);
  else
    FN(add_sums)(net, slate, w, j, c->sum, n, feed);
  LANE pivot = w[0];
  for (int i = 1; i < n; i++)
    pivot += w[i];
  if (c->untied)
    FN(note_zeros)(slate, c, &pivot);
  FN(divide)(w, (LANE *)slate->l + c->slot, j, (LANE *)slate->y + c->own, &pivot, n, feed);
  for (int i = c->first; i < c->first + n - 1 && c->fills_baskets; i++)
    if (net->basket_of[i] >= 0)
      slate->basket_stale[net->basket_of[i]] = TRUE;
}

INLINE void FN(factor_one_column)(const LgNetWork *work, LgSlate *slate, int k)
{
  const LgColumn *c = &work->net->column[k];
  if (c->n == 3 && c->feed == LG_FEED_NONE)
    FN(factor_column)(work, slate, c, 3, LG_FEED_NONE);
  else
    FN(factor_column)(work, slate, c, c->n, c->feed);
}

/* Column by column through both slates: the processor works on the one while the other waits for
 * its pivot. `other` may be NULL. */
INLINE void FN(factor)(const LgNetWork *work, LgSlate *slate, LgSlate *other)
{
  const int n_words = (work->net->n_columns + 63) / 64;
  const int low = other != NULL ? MIN(slate->dirty_low, other->dirty_low) : slate->dirty_low;
  for (int i = low; i < n_words; i++) {
    const guint64 mine = slate->dirty[i], others = other != NULL ? other->dirty[i] : 0;
    for (guint64 bits = mine | others; bits != 0; bits &= bits - 1) {
      const int bit = __builtin_ctzll(bits);
      if (mine >> bit & 1)
        FN(factor_one_column)(work, slate, 64 * i + bit);
      if (others >> bit & 1)
        FN(factor_one_column)(work, other, 64 * i + bit);
    }
    slate->dirty[i] = 0;
    if (other != NULL)
      other->dirty[i] = 0;
  }
  slate->dirty_low = n_words;
  if (other != NULL)
    other->dirty_low = n_words;
}

/* Volts of the columns of a run, last one first; n and the flags are constants where it pays. */
INLINE void FN(substitute_run)(const LgNetWork *work, LgSlate *slate, const LgRun *run, int n,
                               gboolean variable, gboolean fed)
{
  const LgNet *net = work->net;
  const LgColumn *c = &net->column[run->first];
  LANE *v = (LANE *)slate->v;
  const LANE *l = (const LANE *)slate->l + c->slot, *y = (const LANE *)slate->y + c->own;
  const double *fixed_l = work->l + c->first, *fixed_y = work->y + run->first;
  const int *row = net->row_node + c->first, *node = net->node + run->first;
  for (int k = run->end - run->first - 1; k >= 0; k--) {
    LANE sum = SPREAD(0.0);
    if (fed && variable)
      sum = y[k];
    else if (fed)
      sum += fixed_y[k];
    for (int i = k * n; i < k * n + n - 1; i++)
      if (variable)
        sum += l[i] * v[row[i]];
      else
        sum += fixed_l[i] * v[row[i]];
    v[node[k]] = sum;
  }
}

INLINE void FN(substitute)(const LgNetWork *work, LgSlate *slate)
{
  const LgNet *net = work->net;
  for (int r = net->n_runs - 1; r >= 0; r--) {
    const LgRun *run = &net->run[r];
    if (run->n == 3 && !run->fed && run->variable)
      FN(substitute_run)(work, slate, run, 3, TRUE, FALSE);
    else if (run->n == 3 && !run->fed)
      FN(substitute_run)(work, slate, run, 3, FALSE, FALSE);
    else if (run->n == 3 && run->variable)
      FN(substitute_run)(work, slate, run, 3, TRUE, TRUE);
    else
      FN(substitute_run)(work, slate, run, run->n, run->variable, run->fed);
  }
}

/* A node floats when its pivot is zero or a later node to which it is joined floats. */
INLINE void FN(find_floating)(const LgNetWork *work, LgSlate *slate, const LgProbe *floaters)
{
  const LgNet *net = work->net;
  MASK *floating = (MASK *)slate->floating;
  for (int i = 0; i < floaters->n; i++) {
    const LgColumn *c = &net->column[floaters->column[i]];
    const int *row = net->row_node + c->first;
    MASK mask = SPREAD_MASK((int64_t)0);
    if (c->own >= 0)
      mask = ((const MASK *)slate->zero)[c->own];
    else if (work->zero[floaters->column[i]])
      mask = SPREAD_MASK((int64_t)-1);
    for (int q = 0; q < c->n - 1; q++)
      if (c->own >= 0)
        mask |= MASK_OF(((const LANE *)slate->w)[c->slot + q] > 0) & floating[row[q]];
      else if (work->w[c->first + q] > 0)
        mask |= floating[row[q]];
    floating[c->node] = mask;
  }
}

/* Floating masks of the floaters given; nothing to do while no pivot is zero. */
INLINE void FN(look_for_floating)(const LgNetWork *work, LgSlate *slate, const LgProbe *floaters)
{
  if (slate->n_zero + work->n_zero > 0)
    FN(find_floating)(work, slate, floaters);
  else if (slate->adrift)
    for (int i = 0; i < work->net->floaters.n; i++)
      ((MASK *)slate->floating)[work->net->node[work->net->floaters.column[i]]] =
          SPREAD_MASK((int64_t)0);
  slate->adrift = slate->n_zero + work->n_zero > 0;
}

INLINE void FN(void_floating)(const LgNet *net, LgSlate *slate)
{
  const LANE nowhere = SPREAD((double)NAN);
  LANE *v = (LANE *)slate->v;
  for (int i = 0; slate->adrift && i < net->floaters.n; i++) {
    const int node = net->node[net->floaters.column[i]];
    v[node] = SELECT(((const MASK *)slate->floating)[node], nowhere, v[node]);
  }
  for (int i = 0; i < net->lost.n; i++)
    v[net->lost.item[i]] = nowhere;
}

INLINE void FN(substitute_all)(const LgNetWork *work, LgSlate *slate)
{
  FN(substitute)(work, slate);
  FN(look_for_floating)(work, slate, &work->net->floaters);
  FN(void_floating)(work->net, slate);
}

/* One column of a probe's run; n and the flags as in substitute_run. */
INLINE void FN(substitute_column)(const LgNetWork *work, LgSlate *slate, int k, int n,
                                  gboolean variable, gboolean fed)
{
  const LgColumn *c = &work->net->column[k];
  const int *row = work->net->row_node + c->first;
  LANE *v = (LANE *)slate->v, sum = SPREAD(0.0);
  if (fed && variable)
    sum = ((const LANE *)slate->y)[c->own];
  else if (fed)
    sum += work->y[k];
  for (int i = 0; i < n - 1; i++)
    if (variable)
      sum += ((const LANE *)slate->l)[c->slot + i] * v[row[i]];
    else
      sum += work->l[c->first + i] * v[row[i]];
  v[c->node] = sum;
}

INLINE void FN(probe)(const LgNetWork *work, LgSlate *slate, const LgProbe *probe,
                      const LgProbe *floaters)
{
  for (const LgRun *run = probe->run; run < probe->run + probe->n_runs; run++) {
    const int *k = probe->column + run->first, *end = probe->column + run->end;
    if (run->n == 3 && run->variable && !run->fed)
      for (; k < end; k++)
        FN(substitute_column)(work, slate, *k, 3, TRUE, FALSE);
    else if (run->n == 3 && run->variable)
      for (; k < end; k++)
        FN(substitute_column)(work, slate, *k, 3, TRUE, TRUE);
    else if (run->n == 3 && !run->fed)
      for (; k < end; k++)
        FN(substitute_column)(work, slate, *k, 3, FALSE, FALSE);
    else
      for (; k < end; k++)
        FN(substitute_column)(work, slate, *k, run->n, run->variable, run->fed);
  }
  FN(look_for_floating)(work, slate, floaters);
}
