/* Which column each line of a block stands in: few crossings, short bars. */
#include "drawing/flow-private.h"
#include <stdlib.h>
#include <string.h>

#define CROSSING 3.0  /* a bar over a line that it does not meet */
#define FOUR_WAYS 1.5 /* a line that goes on both up and down in the middle of a bar */
#define MOST_LINES 26 /* a block with more is too wide for any paper and is cut first */
#define MOST_ROUNDS 6

typedef struct {
  const LgFlowGraph *graph;
  const LgBlock *block;
  int n_lines;
  const int *column; /* [n_lines] */
} Order;

static void bar_span(const Order *order, int pin, int *low, int *high)
{
  *low = G_MAXINT;
  *high = -1;
  for (guint c = 0; c < order->block->chains->len; c++) {
    const LgChain *const chain = lg_flow_chain(order->block, (int)c);
    if (chain->upper != pin && chain->lower != pin)
      continue;
    *low = MIN(*low, order->column[chain->line]);
    *high = MAX(*high, order->column[chain->line]);
  }
}

static double bar_cost(const Order *order, const LgBar *bar)
{
  int low, high;
  bar_span(order, bar->pin, &low, &high);
  double cost = high - low;
  for (guint c = 0; c < order->block->chains->len; c++) {
    const LgChain *const chain = lg_flow_chain(order->block, (int)c);
    const int column = order->column[chain->line];
    if (column <= low || column >= high)
      continue;
    if (chain->from < bar->level && chain->to > bar->level)
      cost += CROSSING;
    else if (chain->lower != bar->pin && chain->upper != bar->pin &&
             (chain->from == bar->level || chain->to == bar->level))
      cost += CROSSING / 2;
    else if (chain->lower == bar->pin)
      cost += FOUR_WAYS;
  }
  return cost;
}

/* Columns of an assembly belong together. */
static double group_cost(const Order *order)
{
  double cost = 0;
  for (guint c = 0; c < order->block->chains->len; c++) {
    const LgChain *const chain = lg_flow_chain(order->block, (int)c);
    for (guint d = c + 1; chain->group >= 0 && d < order->block->chains->len; d++) {
      const LgChain *const next = lg_flow_chain(order->block, (int)d);
      if (next->group == chain->group) {
        cost += 0.1 * abs(order->column[chain->line] - order->column[next->line]);
        break;
      }
    }
  }
  return cost;
}

static double cost_of(const Order *order)
{
  double cost = group_cost(order);
  for (guint i = 0; i < order->block->bars->len; i++)
    cost += bar_cost(order, &g_array_index(order->block->bars, LgBar, i));
  return cost;
}

/* Moves the line at place `from` of the sequence to place `to`. */
static void move(int *sequence, int from, int to)
{
  const int line = sequence[from];
  if (from < to)
    memmove(sequence + from, sequence + from + 1, sizeof(int) * (gsize)(to - from));
  else
    memmove(sequence + to + 1, sequence + to, sizeof(int) * (gsize)(from - to));
  sequence[to] = line;
}

static double cost_of_sequence(Order *order, const int sequence[], int column[])
{
  for (int i = 0; i < order->n_lines; i++)
    column[sequence[i]] = i;
  order->column = column;
  return cost_of(order);
}

/* Every line tries every place; the best of each is kept, until nothing gets better. */
static void improve(Order *order, int sequence[], int column[])
{
  double best = cost_of_sequence(order, sequence, column);
  gboolean better = TRUE;
  for (int round = 0; round < MOST_ROUNDS && better; round++) {
    better = FALSE;
    for (int from = 0; from < order->n_lines; from++) {
      int at = from;
      for (int to = 0; to < order->n_lines; to++) {
        move(sequence, from, to);
        const double cost = cost_of_sequence(order, sequence, column);
        if (cost < best - 1e-9) {
          best = cost;
          at = to;
          better = TRUE;
        }
        move(sequence, to, from);
      }
      move(sequence, from, at);
    }
  }
  cost_of_sequence(order, sequence, column);
}

/* Whether all chains of two columns keep a storey apart, so that one column can hold both. */
static gboolean are_apart(const LgBlock *block, const int column[], int a, int b)
{
  for (guint c = 0; c < block->chains->len; c++)
    for (guint d = 0; d < block->chains->len; d++) {
      const LgChain *const first = lg_flow_chain(block, (int)c);
      const LgChain *const second = lg_flow_chain(block, (int)d);
      if (column[first->line] == a && column[second->line] == b && first->from <= second->to &&
          second->from <= first->to)
        return FALSE;
    }
  return TRUE;
}

/* Neighbours that never meet in height share a column. */
static int merge_columns(const LgBlock *block, int column[], int n_lines)
{
  int n = n_lines;
  for (int at = 0; at + 1 < n;) {
    if (!are_apart(block, column, at, at + 1)) {
      at++;
      continue;
    }
    for (int line = 0; line < n_lines; line++)
      column[line] -= column[line] > at ? 1 : 0;
    n--;
  }
  return n;
}

/* Bars whose spans would touch take different tracks. */
static void find_tracks(LgBlock *block)
{
  const Order order = {.block = block, .column = block->column};
  for (guint i = 0; i < block->bars->len; i++) {
    LgBar *const bar = &g_array_index(block->bars, LgBar, i);
    bar_span(&order, bar->pin, &bar->low, &bar->high);
    for (guint j = 0; j < i; j++) {
      const LgBar *const other = &g_array_index(block->bars, LgBar, j);
      if (other->level == bar->level && other->track == bar->track && other->low <= bar->high &&
          bar->low <= other->high) {
        bar->track++;
        j = G_MAXUINT; /* look at all others again */
      }
    }
  }
}

void lg_flow_order_lines(const LgFlowGraph *graph, LgBlock *block, int n_lines)
{
  g_autofree int *sequence = g_new(int, (gsize)n_lines + 1);
  Order order = {.graph = graph, .block = block, .n_lines = n_lines};
  block->column = g_new0(int, (gsize)n_lines + 1);
  for (int i = 0; i < n_lines; i++)
    sequence[i] = block->column[i] = i;
  if (n_lines > 2 && n_lines <= MOST_LINES)
    improve(&order, sequence, block->column);
  block->n_columns = n_lines <= MOST_LINES ? merge_columns(block, block->column, n_lines) : n_lines;
  find_tracks(block);
}
