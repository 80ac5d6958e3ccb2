/* The numbers of a network: which columns are out of date, and the two versions of the kernel. */
#include "circuit/net-private.h"

#define LANES 1
#include "circuit/net-lanes.h"

#include "circuit/net-kernel.h"
#undef LANES
#define LANES 8
#include "circuit/net-lanes.h"

#include "circuit/net-kernel.h"

LG_CLONES static void factor_wide(const LgNetWork *work, LgSlate *slate, LgSlate *other)
{
  factor_eight(work, slate, other);
}

LG_CLONES static void substitute_wide(const LgNetWork *work, LgSlate *slate)
{
  substitute_all_eight(work, slate);
}

LG_CLONES static void probe_wide(const LgNetWork *work, LgSlate *slate, const LgProbe *probe,
                                 const LgProbe *floaters)
{
  probe_eight(work, slate, probe, floaters);
}

void lg_slate_factor(const LgNetWork *work, LgSlate *slate)
{
  if (slate->lanes == 1)
    factor_one(work, slate, NULL);
  else
    factor_wide(work, slate, NULL);
}

void lg_slate_factor_both(const LgNetWork *work, LgSlate *slate, LgSlate *other)
{
  if (slate->lanes == LG_LANES && slate != other)
    factor_wide(work, slate, other);
}

void lg_slate_substitute(const LgNetWork *work, LgSlate *slate)
{
  if (slate->whole)
    return;
  slate->whole = TRUE;
  if (slate->lanes == 1)
    substitute_all_one(work, slate);
  else
    substitute_wide(work, slate);
}

void lg_slate_probe(const LgNetWork *work, LgSlate *slate, const LgProbe *probe,
                    const LgProbe *floaters)
{
  slate->whole = FALSE;
  if (slate->lanes == 1)
    probe_one(work, slate, probe, floaters);
  else
    probe_wide(work, slate, probe, floaters);
}

static gboolean set_bit(guint64 *bits, int i)
{
  const guint64 bit = (guint64)1 << (i % 64);
  const gboolean was = (bits[i / 64] & bit) != 0;
  bits[i / 64] |= bit;
  return was;
}

void lg_slate_mark(const LgNet *net, LgSlate *slate, int branch)
{
  int k = net->branch_column[branch];
  slate->whole = FALSE;
  while (k >= 0 && net->column[k].own < 0)
    k = net->column[k].parent;
  if (k >= 0)
    slate->dirty_low = MIN(slate->dirty_low, k / 64);
  while (k >= 0 && !set_bit(slate->dirty, k))
    k = net->column[k].parent;
}

static void mark_fixed(LgNetWork *work, int branch)
{
  const LgNet *net = work->net;
  for (int k = net->branch_column[branch]; k >= 0 && !set_bit(work->dirty, k);)
    k = net->column[k].parent;
}

static void factor_fixed(LgNetWork *work, int k)
{
  const LgNet *net = work->net;
  const LgColumn *c = &net->column[k];
  double *w = work->w + c->first, *j = work->j + c->first;
  memset(w, 0, sizeof *w * (gsize)c->n);
  memset(j, 0, sizeof *j * (gsize)c->n);
  for (int i = c->part; i < c->part_mid; i++) {
    const LgPart *part = &net->part[i];
    const LgNetBranch *branch = lg_branch_at(net, part->branch);
    if (net->forced[part->branch] == LG_FORCED_OPEN)
      continue;
    w[part->offset] += branch->p[0];
    if (branch->kind == LG_BRANCH_SOURCE)
      j[part->offset] += part->sign * branch->p[0] * branch->p[1];
  }
  for (int i = 0; i < c->n; i++) {
    const LgProduct *product = net->product + net->product_start[c->first + i];
    const LgProduct *end = net->product + net->product_mid[c->first + i];
    add_conductances_one(&w[i], work->w, work->l, product, end);
    if (c->feed != LG_FEED_NONE)
      add_sources_one(&j[i], work->l, work->j, product, end);
  }
  double pivot = 0;
  for (int i = 0; i < c->n; i++)
    pivot += w[i];
  if (c->own < 0 && c->loose) {
    work->n_zero -= work->zero[k];
    work->zero[k] = !(pivot > 0);
    work->n_zero += work->zero[k];
  }
  pivot = pivot > 0 ? pivot : 1;
  if (c->own < 0)
    divide_one(w, work->l + c->first, j, &work->y[k], &pivot, c->n, c->feed);
}

static void refresh_fixed(LgNetWork *work)
{
  const LgNet *net = work->net;
  const guint64 behind = net->version - work->version;
  if (behind > LG_CHANGES)
    for (int k = 0; k < net->n_columns; k++)
      set_bit(work->dirty, k);
  else
    for (guint64 i = work->version; i != net->version; i++)
      if (net->variable[net->changed[i % LG_CHANGES]] < 0)
        mark_fixed(work, net->changed[i % LG_CHANGES]);
  work->version = net->version;
  for (int i = 0; i < (net->n_columns + 63) / 64; i++) {
    guint64 bits = work->dirty[i];
    work->dirty[i] = 0;
    for (; bits != 0; bits &= bits - 1)
      factor_fixed(work, 64 * i + __builtin_ctzll(bits));
  }
}

static void refresh_branch(const LgNet *net, LgSlate *slate, int branch)
{
  if (net->variable[branch] >= 0)
    lg_slate_load_branch(net, slate, branch);
  lg_slate_mark(net, slate, branch);
}

void lg_work_refresh(LgNetWork *work, LgSlate *slate)
{
  const LgNet *net = work->net;
  if (work->version != net->version)
    refresh_fixed(work);
  const guint64 behind = net->version - slate->version;
  if (behind > LG_CHANGES)
    for (int b = 0; b < lg_net_n_branches(net); b++)
      refresh_branch(net, slate, b);
  else
    for (guint64 i = slate->version; i != net->version; i++)
      refresh_branch(net, slate, net->changed[i % LG_CHANGES]);
  slate->version = net->version;
}
