/* A block: the edges of one piece between cuts as chains between bars, with their items. */
#include "drawing/flow-private.h"
#include <math.h>
#include <string.h>

/* Work of building, by pin and by edge of the graph; only what the piece touches is filled. */
typedef struct {
  LgFlowGraph *graph;
  LgBlock *block;
  GHashTable *degree; /* pin: how many of the piece's edges meet there */
  GHashTable *inside; /* edges of the piece */
  GHashTable *used;   /* edges already in a chain */
} Builder;

static int degree_of(const Builder *b, int pin)
{
  return GPOINTER_TO_INT(g_hash_table_lookup(b->degree, GINT_TO_POINTER(pin)));
}

static gboolean is_cut(const Builder *b, int pin)
{
  return b->graph->cut[pin] != LG_CUT_NO;
}

/* Whether chains end at the point. */
static gboolean is_key(const Builder *b, int pin)
{
  return is_cut(b, pin) || b->graph->stop[pin] || degree_of(b, pin) != 2;
}

static gboolean is_bar(const Builder *b, int pin)
{
  return !is_cut(b, pin) && !b->graph->stop[pin] && degree_of(b, pin) > 2;
}

static gboolean is_used(const Builder *b, int edge)
{
  return g_hash_table_contains(b->used, GINT_TO_POINTER(edge));
}

static int next_edge(const Builder *b, int pin)
{
  const LgFlowGraph *const graph = b->graph;
  for (int k = graph->first[pin]; k < graph->first[pin + 1]; k++)
    if (!is_used(b, graph->incident[k]))
      return graph->incident[k];
  return -1;
}

static gboolean is_loose(const Builder *b, int pin)
{
  return b->graph->stop[pin] || (!is_cut(b, pin) && degree_of(b, pin) == 1);
}

/* Which of a chain's ends is on top. The body is below everything, loose ends below the rest. */
static gboolean first_is_upper(const Builder *b, int first, int last)
{
  const LgFlowGraph *const graph = b->graph;
  const gboolean ground[2] = {graph->cut[first] == LG_CUT_GROUND,
                              graph->cut[last] == LG_CUT_GROUND};
  if (ground[0] != ground[1])
    return ground[1];
  if (is_loose(b, first) != is_loose(b, last))
    return is_loose(b, last);
  return first == last || lg_flow_above(graph, first, last);
}

static void reverse(int *edges, int n)
{
  for (int i = 0; i < n / 2; i++) {
    const int edge = edges[i];
    edges[i] = edges[n - 1 - i];
    edges[n - 1 - i] = edge;
  }
}

static void walk_chain(Builder *b, int start, int edge)
{
  GArray *const edges = b->block->edges;
  LgChain chain = {.first_edge = (int)edges->len, .group = -1, .partner = -1};
  int pin = start;
  while (edge >= 0) {
    chain.group = chain.group < 0 ? lg_flow_edge_group(b->graph, edge) : chain.group;
    g_hash_table_add(b->used, GINT_TO_POINTER(edge));
    g_array_append_val(edges, edge);
    pin = lg_flow_other(&b->graph->edges[edge], pin);
    edge = is_key(b, pin) ? -1 : next_edge(b, pin);
  }
  chain.n_edges = (int)edges->len - chain.first_edge;
  const gboolean down = first_is_upper(b, start, pin);
  chain.upper = down ? start : pin;
  chain.lower = down ? pin : start;
  if (!down)
    reverse(&g_array_index(edges, int, chain.first_edge), chain.n_edges);
  chain.upper_bar = is_bar(b, chain.upper);
  chain.lower_bar = is_bar(b, chain.lower);
  g_array_append_val(b->block->chains, chain);
}

static void count_degrees(Builder *b, const int edges[], int n)
{
  for (int i = 0; i < n; i++) {
    g_hash_table_add(b->inside, GINT_TO_POINTER(edges[i]));
    for (int k = 0; k < 2; k++) {
      const int pin = b->graph->edges[edges[i]].end[k];
      g_hash_table_insert(b->degree, GINT_TO_POINTER(pin), GINT_TO_POINTER(degree_of(b, pin) + 1));
    }
  }
}

/* A ring without any point to begin at, or one that comes back to its own bar, is opened by a cut.
 */
static gboolean open_ring(Builder *b, const int edges[], int n)
{
  for (int i = 0; i < n; i++)
    if (!is_used(b, edges[i])) {
      b->graph->cut[b->graph->edges[edges[i]].end[0]] = LG_CUT_RAIL;
      return TRUE;
    }
  for (guint c = 0; c < b->block->chains->len; c++) {
    const LgChain *const chain = &g_array_index(b->block->chains, LgChain, c);
    if (chain->upper == chain->lower && chain->upper_bar) {
      b->graph->cut[chain->upper] = LG_CUT_RAIL;
      return TRUE;
    }
  }
  return FALSE;
}

/* Walks from every point at which chains end, the uppermost first. */
static void find_chains(Builder *b, const int edges[], int n)
{
  g_autoptr(GArray) keys = g_array_new(FALSE, FALSE, sizeof(int));
  for (int i = 0; i < n; i++)
    for (int k = 0; k < 2; k++) {
      const int pin = b->graph->edges[edges[i]].end[k];
      if (is_key(b, pin))
        g_array_append_val(keys, pin);
    }
  for (guint i = 0; i < keys->len; i++) {
    const int pin = g_array_index(keys, int, i);
    const LgFlowGraph *const graph = b->graph;
    for (int k = graph->first[pin]; k < graph->first[pin + 1]; k++) {
      const int edge = graph->incident[k];
      if (g_hash_table_contains(b->inside, GINT_TO_POINTER(edge)) && !is_used(b, edge))
        walk_chain(b, pin, edge);
    }
  }
}

static int by_height(gconstpointer a, gconstpointer b, gpointer user)
{
  const LgBar *const first = a, *const second = b;
  const LgFlowGraph *const graph = user;
  return first->pin == second->pin ? 0 : lg_flow_above(graph, first->pin, second->pin) ? -1 : 1;
}

static void find_bars(Builder *b)
{
  LgBlock *const block = b->block;
  for (guint c = 0; c < block->chains->len; c++) {
    const LgChain *const chain = lg_flow_chain(block, (int)c);
    const int ends[2] = {chain->upper, chain->lower};
    const gboolean bars[2] = {chain->upper_bar, chain->lower_bar};
    for (int k = 0; k < 2; k++)
      if (bars[k] && lg_flow_bar(block, ends[k]) == NULL) {
        const LgBar bar = {.pin = ends[k], .level = 1};
        g_array_append_val(block->bars, bar);
      }
  }
  g_array_sort_with_data(block->bars, by_height, b->graph);
}

/* Levels: each bar below all those above it (longest path); chains reach from bar to bar, or to the
 * edges of the strip. */
static void find_levels(LgBlock *block)
{
  block->n_storeys = 1;
  for (guint i = 0; i < block->bars->len; i++) {
    LgBar *const bar = &g_array_index(block->bars, LgBar, i);
    for (guint c = 0; c < block->chains->len; c++) {
      const LgChain *const chain = lg_flow_chain(block, (int)c);
      if (chain->lower == bar->pin && chain->upper_bar)
        bar->level = MAX(bar->level, lg_flow_bar(block, chain->upper)->level + 1);
    }
    block->n_storeys = MAX(block->n_storeys, bar->level + 1);
  }
  for (guint c = 0; c < block->chains->len; c++) {
    LgChain *const chain = lg_flow_chain(block, (int)c);
    chain->from = chain->upper_bar ? lg_flow_bar(block, chain->upper)->level : 0;
    chain->to = chain->lower_bar ? lg_flow_bar(block, chain->lower)->level : block->n_storeys;
  }
}

/* Chains that follow one another at a bar go straight on: they are one line. */
static int find_lines(LgBlock *block)
{
  int n_lines = 0;
  for (guint c = 0; c < block->chains->len; c++)
    lg_flow_chain(block, (int)c)->line = -1;
  for (guint c = 0; c < block->chains->len; c++)
    if (!lg_flow_chain(block, (int)c)->upper_bar)
      lg_flow_chain(block, (int)c)->line = n_lines++;
  for (guint i = 0; i < block->bars->len; i++) {
    const LgBar *const bar = &g_array_index(block->bars, LgBar, i);
    guint above = 0;
    for (guint c = 0; c < block->chains->len; c++) {
      LgChain *const chain = lg_flow_chain(block, (int)c);
      if (chain->upper != bar->pin)
        continue;
      while (above < block->chains->len && lg_flow_chain(block, (int)above)->lower != bar->pin)
        above++;
      chain->line = above < block->chains->len ? lg_flow_chain(block, (int)above)->line : n_lines++;
      above++;
    }
  }
  return n_lines;
}

/* Items. */

static void add_item(LgBlock *block, LgItem item)
{
  g_array_append_val(block->items, item);
}

static gboolean touches_element(const LgFlowGraph *graph, int pin)
{
  for (int k = graph->first[pin]; k < graph->first[pin + 1]; k++)
    if (!graph->edges[graph->incident[k]].is_wire)
      return TRUE;
  return FALSE;
}

/* A mark within a chain: joints and cavities always, other points only where two wires meet and no
 * device says which terminal it is. */
static gboolean wants_mark(const LgFlowGraph *graph, int pin)
{
  return lg_flow_has_mark(graph, pin) || !touches_element(graph, pin);
}

static void add_upper_end(Builder *b, const LgChain *chain, gboolean bars_mark)
{
  LgFlowGraph *const graph = b->graph;
  if (chain->upper_bar) {
    if (bars_mark)
      add_item(b->block, lg_flow_mark_item(graph, chain->upper));
  } else if (graph->stop[chain->upper]) {
    add_item(b->block, lg_flow_end_item(graph, LG_ITEM_STOP, chain->upper));
  } else if (graph->cut[chain->upper] == LG_CUT_NO) {
    add_item(b->block, lg_flow_end_item(graph, LG_ITEM_END, chain->upper));
  } else if (!lg_flow_is_rail(graph, chain->upper)) {
    add_item(b->block, lg_flow_end_item(graph, LG_ITEM_TAG, chain->upper));
  }
}

static void add_lower_end(Builder *b, const LgChain *chain, gboolean bars_mark)
{
  LgFlowGraph *const graph = b->graph;
  if (chain->lower_bar) {
    if (bars_mark)
      add_item(b->block, lg_flow_mark_item(graph, chain->lower));
  } else if (graph->stop[chain->lower]) {
    add_item(b->block, lg_flow_end_item(graph, LG_ITEM_STOP, chain->lower));
  } else if (graph->cut[chain->lower] == LG_CUT_NO) {
    add_item(b->block, lg_flow_end_item(graph, LG_ITEM_END, chain->lower));
  } else if (graph->cut[chain->lower] == LG_CUT_GROUND) {
    add_item(b->block, lg_flow_end_item(graph, LG_ITEM_FOOT, chain->lower));
  } else {
    add_item(b->block, lg_flow_end_item(graph, LG_ITEM_TAG, chain->lower));
  }
}

/* An assembly's name stands once a block, where the first path enters its frame. */
static void add_caption(Builder *b, GHashTable *captioned, int edge)
{
  const int group = lg_flow_edge_group(b->graph, edge);
  if (group >= 0 && g_hash_table_add(captioned, GINT_TO_POINTER(group)))
    add_item(b->block, lg_flow_caption_item(b->graph, group));
}

static gboolean needs_bar_mark(const Builder *b, GHashTable *marked, int pin)
{
  return wants_mark(b->graph, pin) && g_hash_table_add(marked, GINT_TO_POINTER(pin));
}

static gboolean bar_has_chain_above(const LgBlock *block, int pin)
{
  for (guint c = 0; c < block->chains->len; c++)
    if (lg_flow_chain(block, (int)c)->lower == pin)
      return TRUE;
  return FALSE;
}

static void add_items(Builder *b, LgChain *chain, GHashTable *marked, GHashTable *captioned)
{
  LgBlock *const block = b->block;
  chain->first_item = (int)block->items->len;
  add_upper_end(b, chain,
                chain->upper_bar && !bar_has_chain_above(block, chain->upper) &&
                    needs_bar_mark(b, marked, chain->upper));
  int pin = chain->upper;
  for (int i = 0; i < chain->n_edges; i++) {
    const int edge = g_array_index(block->edges, int, chain->first_edge + i);
    add_caption(b, captioned, edge);
    add_item(block, lg_flow_edge_item(b->graph, edge, pin));
    pin = lg_flow_other(&b->graph->edges[edge], pin);
    if (i + 1 < chain->n_edges && wants_mark(b->graph, pin)) {
      LgItem mark = lg_flow_mark_item(b->graph, pin);
      const int next = g_array_index(block->edges, int, chain->first_edge + i + 1);
      const int group = lg_flow_edge_group(b->graph, edge);
      mark.inside = group >= 0 && group == lg_flow_edge_group(b->graph, next);
      add_item(block, mark);
    }
  }
  add_lower_end(b, chain, chain->lower_bar && needs_bar_mark(b, marked, chain->lower));
  chain->n_items = (int)block->items->len - chain->first_item;
}

static void find_items(Builder *b)
{
  g_autoptr(GHashTable) marked = g_hash_table_new(NULL, NULL);
  g_autoptr(GHashTable) captioned = g_hash_table_new(NULL, NULL);
  for (guint c = 0; c < b->block->chains->len; c++)
    add_items(b, lg_flow_chain(b->block, (int)c), marked, captioned);
}

static void find_room(LgBlock *block)
{
  block->left = g_new0(double, (gsize)block->n_columns + 1);
  block->right = g_new0(double, (gsize)block->n_columns + 1);
  for (guint c = 0; c < block->chains->len; c++) {
    const LgChain *const chain = lg_flow_chain(block, (int)c);
    const int column = lg_flow_column(block, chain);
    for (int i = 0; i < chain->n_items; i++) {
      const LgItem *const item = lg_flow_item(block, chain->first_item + i);
      block->left[column] = MAX(block->left[column], item->left);
      block->right[column] = MAX(block->right[column], item->right);
    }
  }
  for (int column = 0; column < block->n_columns; column++)
    block->width += block->left[column] + block->right[column];
}

static LgBlock *empty_block(void)
{
  LgBlock *const block = g_new0(LgBlock, 1);
  block->edges = g_array_new(FALSE, FALSE, sizeof(int));
  block->chains = g_array_new(FALSE, FALSE, sizeof(LgChain));
  block->bars = g_array_new(FALSE, FALSE, sizeof(LgBar));
  block->items = g_array_new(FALSE, FALSE, sizeof(LgItem));
  return block;
}

LgBlock *lg_flow_block_new(LgFlowGraph *graph, const int edges[], int n_edges)
{
  g_autoptr(GHashTable) degree = g_hash_table_new(NULL, NULL);
  g_autoptr(GHashTable) inside = g_hash_table_new(NULL, NULL);
  g_autoptr(GHashTable) used = g_hash_table_new(NULL, NULL);
  Builder b = {
      .graph = graph, .block = empty_block(), .degree = degree, .inside = inside, .used = used};
  count_degrees(&b, edges, n_edges);
  find_chains(&b, edges, n_edges);
  if (open_ring(&b, edges, n_edges)) {
    lg_flow_block_free(b.block);
    return NULL;
  }
  find_bars(&b);
  find_levels(b.block);
  lg_flow_order_lines(graph, b.block, find_lines(b.block));
  find_items(&b);
  find_room(b.block);
  lg_flow_stack(b.block);
  lg_flow_find_changeovers(graph, b.block);
  return b.block;
}

void lg_flow_block_free(LgBlock *block)
{
  if (block == NULL)
    return;
  g_array_unref(block->edges);
  g_array_unref(block->chains);
  g_array_unref(block->bars);
  g_array_unref(block->items);
  g_free(block->column);
  g_free(block->left);
  g_free(block->right);
  g_free(block->storey);
  g_free(block->landing);
  g_free(block);
}

/* Middle point of the chain that needs most height. */
static int middle_of_tallest(const LgFlowGraph *graph, const LgBlock *block)
{
  const LgChain *tallest = NULL;
  double most = -1;
  for (guint c = 0; c < block->chains->len; c++) {
    const LgChain *const chain = lg_flow_chain(block, (int)c);
    double height = 0;
    for (int i = 0; i < chain->n_items; i++)
      height += lg_flow_item(block, chain->first_item + i)->height;
    if (chain->n_edges > 1 && height > most) {
      most = height;
      tallest = chain;
    }
  }
  if (tallest == NULL)
    return -1;
  int pin = tallest->upper;
  for (int i = 0; i < tallest->n_edges / 2; i++)
    pin = lg_flow_other(&graph->edges[g_array_index(block->edges, int, tallest->first_edge + i)],
                        pin);
  return pin;
}

/* The bar with most branches. */
static int busiest_bar(const LgBlock *block)
{
  int best = -1;
  guint most = 0;
  for (guint i = 0; i < block->bars->len; i++) {
    const int pin = g_array_index(block->bars, LgBar, i).pin;
    guint branches = 0;
    for (guint c = 0; c < block->chains->len; c++)
      branches += (lg_flow_chain(block, (int)c)->upper == pin ? 1u : 0u) +
                  (lg_flow_chain(block, (int)c)->lower == pin ? 1u : 0u);
    if (branches > most) {
      most = branches;
      best = pin;
    }
  }
  return best;
}

/* The bar that lies nearest to half the height. */
static int middle_bar(const LgBlock *block)
{
  int best = -1;
  double least = G_MAXDOUBLE, y = 0;
  for (int s = 0; s < block->n_storeys; s++) {
    y += block->storey[s] + block->landing[s + 1];
    for (guint i = 0; i < block->bars->len; i++) {
      const LgBar *const bar = &g_array_index(block->bars, LgBar, i);
      if (bar->level == s + 1 && fabs(y - block->height / 2) < least) {
        least = fabs(y - block->height / 2);
        best = bar->pin;
      }
    }
  }
  return best;
}

int lg_flow_block_split(const LgFlowGraph *graph, const LgBlock *block, gboolean too_tall)
{
  const int bar = too_tall ? middle_bar(block) : busiest_bar(block);
  return bar >= 0 ? bar : middle_of_tallest(graph, block);
}
