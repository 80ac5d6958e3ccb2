/* Closing a network: elimination order, tree, fill, and the tables that the numbers are driven by.
 */
#include "circuit/net-private.h"

#if __has_include(<suitesparse/amd.h>)
#include <suitesparse/amd.h>
#else
#include <amd.h>
#endif

/* Pattern of the eliminated matrix under some order; positions, not nodes. */
typedef struct {
  int n;
  int *order;    /* [n] node at each position */
  int *position; /* [n_nodes], -1 for the reference */
  int *parent;   /* [n] position or -1 */
  GArray **rows; /* [n] later positions, ascending */
} Pattern;

/* What a column's place among its level depends on; indexed by node. */
typedef struct {
  int depth, n, position;
  gboolean variable, fed;
} Shape;

/* Nodes in the order of elimination: the early ones, then those that are left by AMD. */
static int *order_nodes(const LgNet *net)
{
  int *order = g_new(int, net->n_nodes), *place = g_new(int, net->n_nodes);
  GArray **next = g_new(GArray *, net->n_nodes);
  const int n_early = lg_net_early(net, order, next), n = net->n_nodes - 1 - n_early;
  int *start = g_new0(int, n + 1), *left = g_new(int, MAX(n, 1)), *found = g_new(int, MAX(n, 1));
  GArray *index = g_array_sized_new(FALSE, FALSE, sizeof(int), 1);
  for (int node = 0; node < net->n_nodes; node++)
    place[node] = 0;
  for (int i = 0; i < n_early; i++)
    place[order[i]] = -1;
  for (int node = 1, k = 0; node < net->n_nodes; node++)
    if (place[node] == 0) {
      left[k] = node;
      place[node] = k++;
    }
  for (int k = 0; k < n; k++) {
    const GArray *neighbours = next[left[k]];
    for (guint i = 0; i < neighbours->len; i++)
      g_array_append_val(index, place[g_array_index(neighbours, int, i)]);
    start[k + 1] = (int)index->len;
  }
  if (n > 0) {
    const int status = amd_order(n, start, (int *)(gpointer)index->data, found, NULL, NULL);
    g_assert(status == AMD_OK || status == AMD_OK_BUT_JUMBLED);
  }
  for (int k = 0; k < n; k++)
    order[n_early + k] = left[found[k]];
  for (int node = 0; node < net->n_nodes; node++)
    g_array_unref(next[node]);
  g_free(next);
  g_free(place);
  g_free(start);
  g_free(left);
  g_free(found);
  g_array_unref(index);
  return order;
}

static int compare_ints(gconstpointer a, gconstpointer b)
{
  return *(const int *)a - *(const int *)b;
}

static void add_row(GArray *rows, int row, int k, int *seen)
{
  if (row > k && seen[row] != k) {
    seen[row] = k;
    g_array_append_val(rows, row);
  }
}

/* Takes over `order`. Rows of a column: its own branches and the rows of its children in the tree.
 */
static Pattern pattern_new(const LgNet *net, int *order)
{
  const int n = net->n_nodes - 1;
  Pattern p = {n, order, g_new(int, net->n_nodes), g_new(int, MAX(n, 1)),
               g_new(GArray *, MAX(n, 1))};
  int *seen = g_new(int, MAX(n, 1));
  p.position[0] = -1;
  for (int k = 0; k < n; k++) {
    p.position[order[k]] = k;
    p.parent[k] = -1;
    seen[k] = -1;
    p.rows[k] = g_array_new(FALSE, FALSE, sizeof(int));
  }
  for (guint b = 0; b < net->branches->len; b++) {
    const LgNetBranch *br = lg_branch_at(net, (int)b);
    const int i = p.position[br->a], j = p.position[br->b];
    const int high = MAX(i, j);
    if (i >= 0 && j >= 0)
      g_array_append_val(p.rows[MIN(i, j)], high);
  }
  GArray **below = g_new0(GArray *, MAX(n, 1)); /* rows that children hand up */
  for (int k = 0; k < n; k++) {
    GArray *rows = g_array_new(FALSE, FALSE, sizeof(int));
    for (guint i = 0; i < p.rows[k]->len; i++)
      add_row(rows, g_array_index(p.rows[k], int, i), k, seen);
    for (guint i = 0; below[k] != NULL && i < below[k]->len; i++)
      add_row(rows, g_array_index(below[k], int, i), k, seen);
    g_array_sort(rows, compare_ints);
    g_array_unref(p.rows[k]);
    g_clear_pointer(&below[k], g_array_unref);
    p.rows[k] = rows;
    if (rows->len > 0) {
      const int up = p.parent[k] = g_array_index(rows, int, 0);
      if (below[up] == NULL)
        below[up] = g_array_new(FALSE, FALSE, sizeof(int));
      g_array_append_vals(below[up], rows->data, rows->len);
    }
  }
  g_free(below);
  g_free(seen);
  return p;
}

static void pattern_clear(Pattern *p)
{
  for (int k = 0; k < p->n; k++)
    g_array_unref(p->rows[k]);
  g_free(p->rows);
  g_free(p->order);
  g_free(p->position);
  g_free(p->parent);
}

static gboolean branch_is_variable(const LgNetBranch *br)
{
  return br->gate >= 0 || lg_branch_is_curve(br);
}

static gboolean branch_feeds(const LgNetBranch *br)
{
  return br->kind != LG_BRANCH_RESISTOR;
}

/* Position of the column that a branch is assembled into. */
static int branch_position(const Pattern *p, const LgNetBranch *br)
{
  const int i = p->position[br->a], j = p->position[br->b];
  return i < 0 ? j : j < 0 ? i : MIN(i, j);
}

static Shape *shapes_new(const LgNet *net, const Pattern *p)
{
  Shape *shape = g_new0(Shape, net->n_nodes);
  for (guint b = 0; b < net->branches->len; b++) {
    const LgNetBranch *br = lg_branch_at(net, (int)b);
    Shape *s = &shape[p->order[branch_position(p, br)]];
    s->variable |= branch_is_variable(br);
    s->fed |= branch_feeds(br);
  }
  for (int k = 0; k < p->n; k++) {
    Shape *s = &shape[p->order[k]];
    s->n = (int)p->rows[k]->len + 1;
    s->position = k;
    if (p->parent[k] >= 0) {
      Shape *up = &shape[p->order[p->parent[k]]];
      up->variable |= s->variable;
      up->fed |= s->fed;
    }
  }
  for (int k = p->n - 1; k >= 0; k--)
    shape[p->order[k]].depth = p->parent[k] < 0 ? 0 : shape[p->order[p->parent[k]]].depth + 1;
  return shape;
}

static int compare_shapes(gconstpointer a, gconstpointer b, gpointer user)
{
  const Shape *shape = user, *x = &shape[*(const int *)a], *y = &shape[*(const int *)b];
  if (x->depth != y->depth)
    return y->depth - x->depth;
  if (x->variable != y->variable)
    return x->variable - y->variable;
  if (x->n != y->n)
    return x->n - y->n;
  if (x->fed != y->fed)
    return x->fed - y->fed;
  return x->position - y->position;
}

/* Any order with children before parents has the same fill, so levels may be sorted by shape. */
static Pattern final_pattern(const LgNet *net)
{
  Pattern first = pattern_new(net, order_nodes(net));
  Shape *shape = shapes_new(net, &first);
  int *order = g_memdup2(first.order, sizeof(int) * (gsize)MAX(first.n, 1));
  g_qsort_with_data(order, first.n, sizeof(int), compare_shapes, shape);
  g_free(shape);
  pattern_clear(&first);
  return pattern_new(net, order);
}

static void lay_columns(LgNet *net, const Pattern *p)
{
  net->n_columns = p->n;
  net->column = g_new0(LgColumn, MAX(p->n, 1));
  net->node = g_memdup2(p->order, sizeof(int) * (gsize)MAX(p->n, 1));
  net->column_of = g_memdup2(p->position, sizeof(int) * (gsize)net->n_nodes);
  for (int k = 0; k < p->n; k++) {
    LgColumn *c = &net->column[k];
    *c = (LgColumn){.node = p->order[k],
                    .parent = p->parent[k],
                    .first = net->n_entries,
                    .n = (int)p->rows[k]->len + 1,
                    .slot = -1,
                    .own = -1};
    net->n_entries += c->n;
  }
  net->row = g_new(int, MAX(net->n_entries, 1));
  net->row_node = g_new(int, MAX(net->n_entries, 1));
  for (int k = 0; k < p->n; k++) {
    const LgColumn *c = &net->column[k];
    for (int i = 0; i < c->n; i++) {
      const int row = i < c->n - 1 ? g_array_index(p->rows[k], int, i) : p->n;
      net->row[c->first + i] = row;
      net->row_node[c->first + i] = row < p->n ? p->order[row] : 0;
    }
  }
}

/* Offset of the entry of column k that leads to `row`. */
static int offset_of(const LgNet *net, int k, int row)
{
  const LgColumn *c = &net->column[k];
  const int *rows = net->row + c->first;
  int low = 0, high = c->n - 1;
  while (low < high) {
    const int middle = (low + high) / 2;
    if (rows[middle] < row)
      low = middle + 1;
    else
      high = middle;
  }
  g_assert(rows[low] == row);
  return low;
}

static void number_branches(LgNet *net)
{
  const int n = (int)net->branches->len;
  net->variable = g_new(int, MAX(n, 1));
  net->curves = g_new(LgCurve, MAX(n, 1));
  net->curve = g_new(int, MAX(n, 1));
  for (int b = 0; b < n; b++) {
    const LgNetBranch *br = lg_branch_at(net, b);
    net->variable[b] = branch_is_variable(br) ? net->n_variable++ : -1;
    net->curve[b] = lg_branch_is_curve(br) ? net->n_curves : -1;
    if (lg_branch_is_curve(br))
      net->curves[net->n_curves++] = (LgCurve){b, net->variable[b], br->a, br->b, br->kind};
  }
}

/* Lists the branches of each column, fixed ones first; marks variable and fed columns up to the
 * root. */
static void lay_parts(LgNet *net, const Pattern *p)
{
  const int n = (int)net->branches->len;
  net->part = g_new(LgPart, MAX(n, 1));
  net->branch_column = g_new(int, MAX(n, 1));
  int *count =
      g_new0(int, 2 * p->n + 1); /* cells 2k and 2k+1: fixed and variable branches of column k */
  for (int b = 0; b < n; b++) {
    net->branch_column[b] = branch_position(p, lg_branch_at(net, b));
    count[2 * net->branch_column[b] + (net->variable[b] >= 0)]++;
  }
  for (int k = 0, at = 0; k < p->n; k++) {
    LgColumn *c = &net->column[k];
    c->part = at;
    c->part_mid = at + count[2 * k];
    c->part_end = at = c->part_mid + count[2 * k + 1];
    count[2 * k] = c->part;
    count[2 * k + 1] = c->part_mid;
  }
  for (int b = 0; b < n; b++) {
    const LgNetBranch *br = lg_branch_at(net, b);
    const int k = net->branch_column[b], i = net->column_of[br->a], j = net->column_of[br->b];
    LgColumn *c = &net->column[k];
    const int other = i == k ? j : i;
    const int at = count[2 * k + (net->variable[b] >= 0)]++;
    net->part[at] =
        (LgPart){b, net->variable[b], offset_of(net, k, other < 0 ? p->n : other), i == k ? 1 : -1};
    if (branch_feeds(br))
      c->feed = MAX(c->feed, other < 0 ? LG_FEED_REFERENCE : LG_FEED_ANY);
  }
  g_free(count);
}

static void mark_variable(LgNet *net)
{
  for (int k = 0; k < net->n_columns; k++) {
    LgColumn *c = &net->column[k];
    if (c->part_mid < c->part_end)
      c->own = 0;
    if (c->own >= 0) {
      c->own = net->n_own++;
      c->slot = net->n_slots;
      net->n_slots += c->n;
    }
    if (c->parent >= 0) {
      LgColumn *up = &net->column[c->parent];
      up->feed = MAX(up->feed, c->feed);
      if (c->own >= 0)
        up->own = 0;
    }
  }
}

typedef void (*SeeProduct)(LgNet *net, int target, int a, int b, gboolean variable, int *next);

/* Shows every product of the elimination: pairs of entries a and b > a of a column, and the entry
 * that they add to. */
static void for_each_product(LgNet *net, SeeProduct see, int *next)
{
  for (int j = 0; j < net->n_columns; j++) {
    const LgColumn *c = &net->column[j];
    for (int p = 0; p < c->n - 1; p++) {
      const int k = net->row[c->first + p];
      for (int q = p + 1; q < c->n; q++)
        see(net, net->column[k].first + offset_of(net, k, net->row[c->first + q]), c->first + p,
            c->first + q, c->own >= 0, next);
    }
  }
}

static void count_product(LgNet *net, int target, int a, int b, gboolean variable, int *next)
{
  (void)a;
  (void)b;
  (void)next;
  net->product_start[target + 1]++;
  net->product_mid[target] += !variable;
}

static void place_product(LgNet *net, int target, int a, int b, gboolean variable, int *next)
{
  net->product[next[2 * target + variable]++] = (LgProduct){a, b};
}

static void lay_products(LgNet *net)
{
  int *next =
      g_new(int, 2 * net->n_entries + 1); /* where the entry's next fixed and variable one go */
  net->product_start = g_new0(int, net->n_entries + 1);
  net->product_mid = g_new0(int, net->n_entries + 1);
  for_each_product(net, count_product, NULL);
  for (int e = 0; e < net->n_entries; e++) {
    net->product_start[e + 1] += net->product_start[e];
    net->product_mid[e] += net->product_start[e];
    next[2 * e] = net->product_start[e];
    next[2 * e + 1] = net->product_mid[e];
  }
  net->product = g_new(LgProduct, MAX(net->product_start[net->n_entries], 1));
  for_each_product(net, place_product, next);
  g_free(next);
}

/* How many variable columns add to each column; numbers them within it by the entry that leads
 * there. */
static int *count_sources(const LgNet *net, int *number)
{
  int *n_sources = g_new0(int, MAX(net->n_columns, 1));
  for (int j = 0; j < net->n_columns; j++) {
    const LgColumn *c = &net->column[j];
    for (int e = c->first; c->own >= 0 && e < c->first + c->n - 1; e++)
      number[e] = n_sources[net->row[e]]++;
  }
  return n_sources;
}

/* What lay_baskets builds up. */
typedef struct {
  int *column_of; /* [n_entries] */
  int *number;    /* [n_entries] of the column among those that add to where the entry leads */
  GArray *products, *starts, *fed, *baskets;
} Sums;

static void append_product(const LgNet *net, Sums *sums, const LgProduct *p)
{
  const LgColumn *c = &net->column[sums->column_of[p->a]];
  const LgProduct in_slots = {c->slot + p->a - c->first, c->slot + p->b - c->first};
  g_array_append_val(sums->products, in_slots);
}

/* Products of the column's entries whose columns have numbers from `low` to below `high`, fed ones
 * first. */
static void lay_sums(const LgNet *net, Sums *sums, const LgColumn *c, int low, int high)
{
  for (int e = c->first; e < c->first + c->n; e++) {
    for (int unfed = 0; unfed < 2; unfed++) {
      for (int i = net->product_mid[e]; i < net->product_start[e + 1]; i++) {
        const int a = net->product[i].a;
        const gboolean is_unfed = net->column[sums->column_of[a]].feed == LG_FEED_NONE;
        if (sums->number[a] >= low && sums->number[a] < high && is_unfed == (unfed == 1))
          append_product(net, sums, &net->product[i]);
      }
      if (unfed == 0)
        g_array_append_val(sums->fed, sums->products->len);
    }
    g_array_append_val(sums->starts, sums->products->len);
  }
}

static void lay_sums_of_column(LgNet *net, Sums *sums, LgColumn *c, int n_sources, int size)
{
  c->sum = (int)sums->starts->len - 1;
  c->basket = (int)sums->baskets->len;
  for (int low = 0; low < MAX(n_sources, 1); low += size) {
    const LgBasket basket = {(int)sums->starts->len - 1, net->n_basket_slots};
    lay_sums(net, sums, c, low, low + size);
    if (size < n_sources) {
      g_array_append_val(sums->baskets, basket);
      net->n_basket_slots += c->n;
    }
  }
  c->basket_end = (int)sums->baskets->len;
}

/* As many baskets as columns in each keep a change cheapest; a few need none. */
static int basket_size(int n_sources)
{
  enum { FEW = 8 };
  return n_sources < FEW ? MAX(n_sources, 1) : (int)ceil(sqrt(n_sources));
}

static void lay_baskets(LgNet *net)
{
  const int zero = 0;
  /* Room for one each, so that lists without members have an address, too. */
  Sums sums = {g_new(int, MAX(net->n_entries, 1)),
               g_new0(int, MAX(net->n_entries, 1)),
               g_array_sized_new(FALSE, FALSE, sizeof(LgProduct), 1),
               g_array_sized_new(FALSE, FALSE, sizeof(int), 1),
               g_array_sized_new(FALSE, FALSE, sizeof(int), 1),
               g_array_sized_new(FALSE, FALSE, sizeof(LgBasket), 1)};
  int *n_sources = count_sources(net, sums.number);
  for (int k = 0; k < net->n_columns; k++)
    for (int e = net->column[k].first; e < net->column[k].first + net->column[k].n; e++)
      sums.column_of[e] = k;
  g_array_append_val(sums.starts, zero);
  for (int k = 0; k < net->n_columns; k++)
    if (net->column[k].own >= 0)
      lay_sums_of_column(net, &sums, &net->column[k], n_sources[k], basket_size(n_sources[k]));
  net->basket_of = g_new(int, MAX(net->n_entries, 1));
  for (int e = 0; e < net->n_entries; e++) {
    LgColumn *c = &net->column[sums.column_of[e]];
    const LgColumn *to = net->row[e] < net->n_columns ? &net->column[net->row[e]] : NULL;
    const gboolean in_basket = c->own >= 0 && to != NULL && to->basket < to->basket_end;
    net->basket_of[e] =
        in_basket ? to->basket + sums.number[e] / basket_size(n_sources[net->row[e]]) : -1;
    c->fills_baskets |= in_basket;
  }
  net->n_baskets = (int)sums.baskets->len;
  net->basket = (LgBasket *)(gpointer)g_array_free(sums.baskets, FALSE);
  net->sum_product = (LgProduct *)(gpointer)g_array_free(sums.products, FALSE);
  net->sum_start = (int *)(gpointer)g_array_free(sums.starts, FALSE);
  net->sum_fed = (int *)(gpointer)g_array_free(sums.fed, FALSE);
  g_free(sums.column_of);
  g_free(sums.number);
  g_free(n_sources);
}

/* Appends column k, which stands at `index` among those that are run through. */
static void append_to_runs(const LgNet *net, LgRun *runs, int *n_runs, int k, int index)
{
  const LgColumn *c = &net->column[k];
  const LgRun run = {index, index + 1, c->n, c->own >= 0, c->feed != LG_FEED_NONE};
  LgRun *last = *n_runs > 0 ? &runs[*n_runs - 1] : NULL;
  if (last != NULL && last->n == run.n && last->variable == run.variable && last->fed == run.fed)
    last->end = index + 1;
  else
    runs[(*n_runs)++] = run;
}

static void lay_runs(LgNet *net)
{
  net->run = g_new(LgRun, MAX(net->n_columns, 1));
  for (int k = 0; k < net->n_columns; k++)
    append_to_runs(net, net->run, &net->n_runs, k, k);
}

static LgProbe probe_of_marks(const LgNet *net, const gboolean *marked)
{
  LgProbe probe = {0, 0, g_new(int, MAX(net->n_columns, 1)), g_new(LgRun, MAX(net->n_columns, 1))};
  for (int k = net->n_columns - 1; k >= 0; k--)
    if (marked[k]) {
      append_to_runs(net, probe.run, &probe.n_runs, k, probe.n);
      probe.column[probe.n++] = k;
    }
  return probe;
}

static void mark_way(const LgNet *net, int node, gboolean *marked)
{
  for (int k = net->column_of[node]; k >= 0 && !marked[k]; k = net->column[k].parent)
    marked[k] = TRUE;
}

static int find_root(int *up, int i)
{
  while (up[i] != i)
    i = up[i] = up[up[i]];
  return i;
}

static void append_to_list(LgList *list, int item)
{
  if (list->n > 0 && list->item[list->n - 1] == item)
    return;
  list->item = g_renew(int, list->item, list->n + 1);
  list->item[list->n++] = item;
}

/* Marks nodes that the branches counted do not tie to the reference. */
static gboolean *mark_untied(const LgNet *net, gboolean count_gated)
{
  int *up = g_new(int, net->n_nodes);
  gboolean *marked = g_new(gboolean, net->n_nodes);
  for (int i = 0; i < net->n_nodes; i++)
    up[i] = i;
  for (guint b = 0; b < net->branches->len; b++) {
    const LgNetBranch *br = lg_branch_at(net, (int)b);
    if (count_gated || (br->gate < 0 && !net->breakable))
      up[find_root(up, br->a)] = find_root(up, br->b);
  }
  for (int i = 0; i < net->n_nodes; i++)
    marked[i] = find_root(up, i) != find_root(up, 0);
  g_free(up);
  return marked;
}

static void lay_floaters(LgNet *net)
{
  gboolean *untied = mark_untied(net, FALSE), *lost = mark_untied(net, TRUE);
  gboolean *marked = g_new0(gboolean, MAX(net->n_columns, 1));
  for (int k = 0; k < net->n_columns; k++) {
    LgColumn *c = &net->column[k];
    if (lost[c->node])
      append_to_list(&net->lost, c->node);
    c->untied = untied[c->node];
    marked[k] = c->loose = untied[c->node] && !lost[c->node];
  }
  net->floaters = probe_of_marks(net, marked);
  g_free(untied);
  g_free(lost);
  g_free(marked);
}

static LgProbe floaters_of(const LgNet *net, const gboolean *marked)
{
  gboolean *both = g_new(gboolean, MAX(net->n_columns, 1));
  for (int k = 0; k < net->n_columns; k++)
    both[k] = marked[k] && net->column[k].loose;
  const LgProbe probe = probe_of_marks(net, both);
  g_free(both);
  return probe;
}

static void lay_probes(LgNet *net)
{
  gboolean *marked = g_new0(gboolean, MAX(net->n_columns, 1));
  lay_floaters(net);
  for (guint i = 0; i < net->coils->len; i++) {
    const LgNetBranch *br = lg_branch_at(net, g_array_index(net->coils, LgNetCoil, i).branch);
    mark_way(net, br->a, marked);
    mark_way(net, br->b, marked);
  }
  net->coil_probe = probe_of_marks(net, marked);
  net->coil_floaters = floaters_of(net, marked);
  for (int i = 0; i < net->n_curves; i++) {
    mark_way(net, net->curves[i].a, marked);
    mark_way(net, net->curves[i].b, marked);
  }
  net->curve_probe = probe_of_marks(net, marked);
  net->curve_floaters = floaters_of(net, marked);
  g_free(marked);
}

static void lay_gates(LgNet *net)
{
  net->gate_branches = g_new0(LgList, MAX(net->gates->len, 1));
  net->input_gates = g_new0(LgList, MAX(net->inputs->len, 1));
  net->coil_gates = g_new0(LgList, MAX(net->coils->len, 1));
  for (guint b = 0; b < net->branches->len; b++)
    if (lg_branch_at(net, (int)b)->gate >= 0)
      append_to_list(&net->gate_branches[lg_branch_at(net, (int)b)->gate], (int)b);
  for (guint i = 0; i < net->gates->len; i++) {
    const LgNetGate *gate = &g_array_index(net->gates, LgNetGate, i);
    g_assert(gate->coil < lg_net_n_coils(net));
    for (int k = 0; k < 2; k++)
      if (gate->input[k] >= 0)
        append_to_list(&net->input_gates[gate->input[k]], (int)i);
    if (gate->coil >= 0)
      append_to_list(&net->coil_gates[gate->coil], (int)i);
  }
}

void lg_net_close(LgNet *net)
{
  g_assert(!net->closed);
  net->forced = g_new0(guint8, net->branches->len + 1);
  Pattern p = final_pattern(net);
  lay_columns(net, &p);
  number_branches(net);
  lay_parts(net, &p);
  mark_variable(net);
  lay_products(net);
  lay_baskets(net);
  lay_runs(net);
  lay_probes(net);
  lay_gates(net);
  pattern_clear(&p);
  net->closed = TRUE;
}
