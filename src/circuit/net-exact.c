/* Branch currents to nearly full relative precision.
 *
 * Volts that are right to the last bit still cannot tell the current of a milliohm contact in a
 * megohm circuit, as its drop is below the spacing of doubles at the battery's volts. So the
 * network, with every nonlinear branch as the line on which Newton came to rest, is eliminated once
 * more in pairs of doubles (106 bits): drops then carry 1e-31 of the supply volts, which leaves
 * 1e-9 for ratios of up to 1e21. Arithmetic of pairs after Dekker (1971), with the rounding of a
 * product from the fused multiply-add. */
#include "circuit/net-private.h"

#include <stdlib.h>

#define INLINE static inline __attribute__((always_inline))

typedef struct {
  double hi, lo;
} Twin;

struct LgExact {
  Twin *w, *l, *j; /* [n_entries] */
  Twin *y;         /* [n_columns] */
  Twin *v;         /* [n_nodes] */
};

INLINE Twin twin_of_sum(double x, double y)
{
  const double sum = x + y, part = sum - x;
  return (Twin){sum, (x - (sum - part)) + (y - part)};
}

INLINE Twin twin_of_product(double x, double y)
{
  const double product = x * y;
  return (Twin){product, fma(x, y, -product)};
}

/* `lo` is smaller than `hi`'s last bits by far. */
INLINE Twin tidy(double hi, double lo)
{
  const double sum = hi + lo;
  return (Twin){sum, lo - (sum - hi)};
}

INLINE Twin add(Twin x, Twin y)
{
  const Twin high = twin_of_sum(x.hi, y.hi), low = twin_of_sum(x.lo, y.lo);
  const Twin sum = tidy(high.hi, high.lo + low.hi);
  return tidy(sum.hi, sum.lo + low.lo);
}

INLINE Twin negative(Twin x)
{
  return (Twin){-x.hi, -x.lo};
}

INLINE Twin multiply(Twin x, Twin y)
{
  const Twin product = twin_of_product(x.hi, y.hi);
  return tidy(product.hi, product.lo + (x.hi * y.lo + x.lo * y.hi));
}

INLINE Twin divide(Twin x, Twin y)
{
  const double first = x.hi / y.hi;
  const Twin rest = add(x, negative(multiply((Twin){first, 0}, y)));
  return tidy(first, rest.hi / y.hi);
}

/* Many parts are nothing, and many are the whole. */
INLINE Twin share(Twin part, Twin whole)
{
  if (part.hi == 0)
    return (Twin){0, 0};
  if (part.hi == whole.hi && part.lo == whole.lo)
    return (Twin){1, 0};
  return divide(part, whole);
}

LgExact *lg_exact_new(const LgNet *net)
{
  LgExact *exact = g_new(LgExact, 1);
  exact->w = lg_net_alloc((gsize)net->n_entries, sizeof(Twin));
  exact->l = lg_net_alloc((gsize)net->n_entries, sizeof(Twin));
  exact->j = lg_net_alloc((gsize)net->n_entries, sizeof(Twin));
  exact->y = lg_net_alloc((gsize)net->n_columns, sizeof(Twin));
  exact->v = lg_net_alloc((gsize)net->n_nodes, sizeof(Twin));
  return exact;
}

void lg_exact_free(LgExact *exact)
{
  if (exact == NULL)
    return;
  free(exact->w);
  free(exact->l);
  free(exact->j);
  free(exact->y);
  free(exact->v);
  g_free(exact);
}

/* The line of a closed branch: i = g (v - from) + offset. */
typedef struct {
  double g, from, offset;
} Line;

INLINE Line line_of(const LgNet *net, const LgSlate *slate, int b)
{
  const LgNetBranch *branch = lg_branch_at(net, b);
  const int q = net->curve[b];
  if (q >= 0)
    return (Line){slate->slope_at[q], slate->at[q], slate->i_at[q]};
  return (Line){branch->p[0], branch->kind == LG_BRANCH_SOURCE ? branch->p[1] : 0, 0};
}

INLINE void assemble(const LgNet *net, LgExact *exact, const LgSlate *slate, const LgColumn *c)
{
  for (int i = c->first; i < c->first + c->n; i++)
    exact->w[i] = exact->j[i] = (Twin){0, 0};
  for (int i = c->part; i < c->part_end; i++) {
    const LgPart *part = &net->part[i];
    if (!lg_slate_branch_closed(net, slate, part->branch, 0))
      continue;
    const Line line = line_of(net, slate, part->branch);
    Twin *w = &exact->w[c->first + part->offset], *j = &exact->j[c->first + part->offset];
    *w = add(*w, (Twin){line.g, 0});
    const Twin source = add(twin_of_product(line.g, line.from), (Twin){-line.offset, 0});
    *j = add(*j, part->sign > 0 ? source : negative(source));
  }
}

INLINE void add_products(const LgNet *net, LgExact *exact, const LgColumn *c)
{
  for (int target = c->first; target < c->first + c->n; target++) {
    Twin w = exact->w[target], j = exact->j[target];
    for (int i = net->product_start[target]; i < net->product_start[target + 1]; i++) {
      const int a = net->product[i].a, b = net->product[i].b;
      w = add(w, multiply(exact->w[a], exact->l[b]));
      if (c->feed != LG_FEED_NONE)
        j = add(j, add(multiply(exact->l[a], exact->j[b]),
                       negative(multiply(exact->l[b], exact->j[a]))));
    }
    exact->w[target] = w;
    exact->j[target] = j;
  }
}

INLINE void divide_column(LgExact *exact, const LgColumn *c, Twin *y)
{
  Twin pivot = {0, 0}, source = {0, 0};
  for (int i = c->first; i < c->first + c->n; i++) {
    pivot = add(pivot, exact->w[i]);
    source = add(source, exact->j[i]);
  }
  if (!(pivot.hi > 0))
    pivot = (Twin){1, 0};
  for (int i = c->first; i < c->first + c->n; i++)
    exact->l[i] = share(exact->w[i], pivot);
  *y = share(source, pivot);
}

LG_CLONES static void find_currents(const LgNetWork *work, LgExact *exact, const LgSlate *slate,
                                    double current[])
{
  const LgNet *net = work->net;
  for (int k = 0; k < net->n_columns; k++) {
    const LgColumn *c = &net->column[k];
    assemble(net, exact, slate, c);
    add_products(net, exact, c);
    divide_column(exact, c, &exact->y[k]);
  }
  for (int k = net->n_columns - 1; k >= 0; k--) {
    const LgColumn *c = &net->column[k];
    Twin sum = exact->y[k];
    for (int i = c->first; i < c->first + c->n - 1; i++)
      sum = add(sum, multiply(exact->l[i], exact->v[net->row_node[i]]));
    exact->v[c->node] = sum;
  }
  for (int b = 0; b < lg_net_n_branches(net); b++) {
    const LgNetBranch *branch = lg_branch_at(net, b);
    const gboolean dead = !lg_slate_branch_closed(net, slate, b, 0) ||
                          slate->floating[branch->a] != 0 || slate->floating[branch->b] != 0;
    const Line line = line_of(net, slate, b);
    const Twin drop = add(exact->v[branch->a], negative(exact->v[branch->b]));
    const Twin i = multiply((Twin){line.g, 0}, add(drop, (Twin){-line.from, 0}));
    current[b] = dead ? 0 : add(i, (Twin){line.offset, 0}).hi;
  }
}

void lg_exact_currents(const LgNetWork *work, LgExact *exact, const LgSlate *slate,
                       double current[])
{
  find_currents(work, exact, slate, current);
}
