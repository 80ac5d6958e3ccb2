/* Order of the blocks from left to right. Cause stands before effect (IEC 61082, trade practice):
 * a block follows those that feed it as soon as all of them have their place. Then neighbours
 * change places as long as that shortens the links and turns no feed round. */
#include "drawing/flow-private.h"
#include <stdlib.h>

#define TIE_POINT                                                                                  \
  3.0 /* one line that goes on in another block; a rail of n branches: 6 / n each                  \
       */
#define TIE_COIL 2.0
#define TIE_PART 1.0
#define SWAP_ROUNDS 30

typedef struct {
  int other;
  double weight;
  gboolean feeds; /* this block feeds the other */
} Link;

typedef struct {
  LgFlow *flow;
  int n;
  GArray **links;   /* [n] Link */
  GArray **begins;  /* [n_pins] blocks that hang from a cut point; NULL */
  GArray **ends;    /* [n_pins] blocks that feed it; NULL */
  int *waits;       /* [n_pins] feeding blocks that have no place yet */
  gboolean *placed; /* [n] */
  int *sequence, n_placed;
  int *place; /* [n] */
} Order;

static void note(GArray **list, int pin, int block)
{
  if (list[pin] == NULL)
    list[pin] = g_array_new(FALSE, FALSE, sizeof(int));
  const GArray *const blocks = list[pin];
  if (blocks->len == 0 || g_array_index(blocks, int, blocks->len - 1) != block)
    g_array_append_val(list[pin], block);
}

static void find_points(Order *order)
{
  const LgFlowGraph *const graph = order->flow->graph;
  for (int b = 0; b < order->n; b++) {
    const LgBlock *const block = order->flow->blocks->pdata[b];
    for (guint c = 0; c < block->chains->len; c++) {
      const LgChain *const chain = lg_flow_chain(block, (int)c);
      if (graph->cut[chain->upper] == LG_CUT_RAIL)
        note(order->begins, chain->upper, b);
      if (graph->cut[chain->lower] == LG_CUT_RAIL)
        note(order->ends, chain->lower, b);
    }
  }
  for (int p = 0; p < graph->job->n_pins; p++)
    order->waits[p] = order->ends[p] != NULL ? (int)order->ends[p]->len : 0;
}

/* Links. */

static void tie(Order *order, int a, int b, double weight, gboolean feeds)
{
  if (a == b || a < 0 || b < 0)
    return;
  const Link there = {b, weight, feeds}, back = {a, weight, FALSE};
  g_array_append_val(order->links[a], there);
  g_array_append_val(order->links[b], back);
}

static void tie_points(Order *order)
{
  for (int p = 0; p < order->flow->graph->job->n_pins; p++) {
    const GArray *const begins = order->begins[p], *const ends = order->ends[p];
    const double n = (begins != NULL ? begins->len : 0) + (ends != NULL ? ends->len : 0);
    for (guint i = 0; begins != NULL && i < begins->len; i++) {
      const int block = g_array_index(begins, int, i);
      if (ends != NULL)
        tie(order, g_array_index(ends, int, ends->len - 1), block, 2 * TIE_POINT / n, TRUE);
      if (i > 0)
        tie(order, g_array_index(begins, int, i - 1), block, TIE_POINT / n, FALSE);
    }
    for (guint i = 1; ends != NULL && i < ends->len; i++)
      tie(order, g_array_index(ends, int, i - 1), g_array_index(ends, int, i), TIE_POINT / n,
          FALSE);
  }
}

static void tie_parts(Order *order)
{
  const LgJob *const job = order->flow->graph->job;
  g_autofree int *home = g_new(int, (gsize)job->n_elements + 1);
  for (int e = 0; e < job->n_elements; e++)
    home[e] = -1;
  for (int b = 0; b < order->n; b++) {
    const LgBlock *const block = order->flow->blocks->pdata[b];
    for (guint i = 0; i < block->items->len; i++)
      if (lg_flow_item(block, (int)i)->kind == LG_ITEM_ELEMENT)
        home[lg_flow_item(block, (int)i)->index] = b;
  }
  for (int e = 0; e < job->n_elements; e++) {
    if (job->elements[e].by >= 0)
      tie(order, home[e], home[job->elements[e].by], TIE_COIL, FALSE);
    if (e > 0 && job->elements[e].part == job->elements[e - 1].part)
      tie(order, home[e], home[e - 1], TIE_PART, FALSE);
  }
}

/* Places. */

static void put(Order *order, int block);

/* Whether all feeds of all points from which the block hangs have their place. */
static gboolean is_fed(const Order *order, int block)
{
  const LgBlock *const b = order->flow->blocks->pdata[block];
  for (guint c = 0; c < b->chains->len; c++)
    if (order->waits[lg_flow_chain(b, (int)c)->upper] > 0)
      return FALSE;
  return TRUE;
}

/* Blocks that hang from a point all of whose feeds have their place. */
static void put_those_fed(Order *order, int pin)
{
  for (guint i = 0; order->begins[pin] != NULL && i < order->begins[pin]->len; i++) {
    const int block = g_array_index(order->begins[pin], int, i);
    if (!order->placed[block] && is_fed(order, block))
      put(order, block);
  }
}

static void put(Order *order, int block)
{
  const LgBlock *const b = order->flow->blocks->pdata[block];
  order->placed[block] = TRUE;
  order->place[block] = order->n_placed;
  order->sequence[order->n_placed++] = block;
  g_autoptr(GHashTable) met = g_hash_table_new(NULL, NULL);
  for (guint c = 0; c < b->chains->len; c++) {
    const int lower = lg_flow_chain(b, (int)c)->lower;
    if (order->ends[lower] != NULL && g_hash_table_add(met, GINT_TO_POINTER(lower)) &&
        --order->waits[lower] == 0)
      put_those_fed(order, lower);
  }
}

typedef struct {
  double key;
  int block;
} Sorted;

static int by_key(const void *a, const void *b)
{
  const Sorted *const first = a, *const second = b;
  return first->key < second->key   ? -1
         : first->key > second->key ? 1
                                    : first->block - second->block;
}

/* Sources stand at the left; then those that hang from a source, in the order of the sheet; then
 * the rest. */
static double key_of(const LgFlowGraph *graph, const LgBlock *block)
{
  const double many = (double)graph->n_edges + graph->job->n_wires + graph->job->n_elements;
  double key = G_MAXDOUBLE;
  gboolean at_source = FALSE;
  for (guint i = 0; i < block->items->len; i++) {
    const LgItem *const item = lg_flow_item(block, (int)i);
    if (item->kind == LG_ITEM_ELEMENT && lg_element_is_source(item->symbol.kind))
      return item->index - 2 * many;
    if (item->kind == LG_ITEM_WIRE)
      key = MIN(key, item->index);
  }
  for (guint c = 0; c < block->chains->len; c++) {
    const int upper = lg_flow_chain(block, (int)c)->upper;
    at_source = at_source || (graph->cut[upper] == LG_CUT_RAIL && graph->down[upper] <= 0);
  }
  return at_source ? key - many : key;
}

static void put_all(Order *order)
{
  g_autofree Sorted *keys = g_new(Sorted, (gsize)order->n + 1);
  for (int b = 0; b < order->n; b++)
    keys[b] = (Sorted){key_of(order->flow->graph, order->flow->blocks->pdata[b]), b};
  qsort(keys, (gsize)order->n, sizeof *keys, by_key);
  for (int i = 0; i < order->n; i++)
    if (!order->placed[keys[i].block])
      put(order, keys[i].block);
}

/* Swaps. */

static double pull(const Order *order, int block, int place, int swapped, int swapped_place)
{
  double sum = 0;
  for (guint i = 0; i < order->links[block]->len; i++) {
    const Link *const link = &g_array_index(order->links[block], Link, i);
    const int there = link->other == swapped ? swapped_place : order->place[link->other];
    sum += link->weight * abs(place - there);
  }
  return sum;
}

static gboolean feeds(const Order *order, int block, int other)
{
  for (guint i = 0; i < order->links[block]->len; i++) {
    const Link *const link = &g_array_index(order->links[block], Link, i);
    if (link->other == other && link->feeds)
      return TRUE;
  }
  return FALSE;
}

static gboolean has_source(const Order *order, int block)
{
  return key_of(order->flow->graph, order->flow->blocks->pdata[block]) <
         -(double)(order->flow->graph->n_edges + order->flow->graph->job->n_wires +
                   order->flow->graph->job->n_elements);
}

static void shorten_links(Order *order)
{
  int *const sequence = order->sequence;
  gboolean better = TRUE;
  for (int round = 0; round < SWAP_ROUNDS && better; round++) {
    better = FALSE;
    for (int i = 0; i + 1 < order->n; i++) {
      const int a = sequence[i], b = sequence[i + 1];
      const double now = pull(order, a, i, b, i + 1) + pull(order, b, i + 1, a, i);
      const double then = pull(order, a, i + 1, b, i) + pull(order, b, i, a, i + 1);
      if (then >= now - 1e-9 || feeds(order, a, b) || has_source(order, a))
        continue;
      sequence[i] = b;
      sequence[i + 1] = a;
      order->place[b] = i;
      order->place[a] = i + 1;
      better = TRUE;
    }
  }
}

static void free_lists(GArray **lists, int n)
{
  for (int i = 0; i < n; i++)
    if (lists[i] != NULL)
      g_array_unref(lists[i]);
  g_free(lists);
}

void lg_flow_order_blocks(LgFlow *flow)
{
  const int n = (int)flow->blocks->len, n_pins = flow->graph->job->n_pins;
  Order order = {.flow = flow,
                 .n = n,
                 .links = g_new0(GArray *, (gsize)n + 1),
                 .begins = g_new0(GArray *, (gsize)n_pins + 1),
                 .ends = g_new0(GArray *, (gsize)n_pins + 1),
                 .waits = g_new0(int, (gsize)n_pins + 1),
                 .placed = g_new0(gboolean, (gsize)n + 1),
                 .sequence = g_new0(int, (gsize)n + 1),
                 .place = g_new0(int, (gsize)n + 1)};
  for (int b = 0; b < n; b++)
    order.links[b] = g_array_new(FALSE, FALSE, sizeof(Link));
  find_points(&order);
  put_all(&order);
  tie_points(&order);
  tie_parts(&order);
  shorten_links(&order);
  GPtrArray *const ordered = g_ptr_array_new_with_free_func((GDestroyNotify)lg_flow_block_free);
  for (int i = 0; i < n; i++)
    g_ptr_array_add(ordered, flow->blocks->pdata[order.sequence[i]]);
  g_ptr_array_set_free_func(flow->blocks, NULL);
  g_ptr_array_unref(flow->blocks);
  flow->blocks = ordered;
  free_lists(order.links, n);
  free_lists(order.begins, n_pins);
  free_lists(order.ends, n_pins);
  g_free(order.waits);
  g_free(order.placed);
  g_free(order.sequence);
  g_free(order.place);
}
