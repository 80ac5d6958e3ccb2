/* Thin dashed frames round what belongs to an assembly, column by column: edges that two columns
 * share are left out, so that neighbours grow together. */
#include "drawing/flow-private.h"
#include <math.h>

#define INSET 0.45
#define CLEAR 0.25 /* between a frame and foreign letters */

/* A stretch of a column inside the frame. */
typedef struct {
  int column;
  double top, bottom;
} Stretch;

static double column_left(const LgBlock *block, int column)
{
  double x = block->x;
  for (int c = 0; c < column; c++)
    x += block->left[c] + block->right[c];
  return x;
}

static int item_group(const LgFlow *flow, const LgBlock *block, const LgChain *chain, int i)
{
  const LgFlowGraph *const graph = flow->graph;
  const LgJob *const job = graph->job;
  const LgItem *const item = lg_flow_item(block, i);
  switch (item->kind) {
  case LG_ITEM_CAPTION:
    return item->index;
  case LG_ITEM_ELEMENT:
    return graph->group[job->elements[item->index].part];
  case LG_ITEM_MARK:
  case LG_ITEM_TAG:
  case LG_ITEM_END: {
    const int part = job->pins[item->index].part; /* an assembly's own cavities lie on its edge */
    return graph->group[part] == part && !item->inside ? -1 : graph->group[part];
  }
  case LG_ITEM_WIRE: {
    int edge = 0;
    for (int k = chain->first_item; k <= i; k++)
      edge += lg_flow_item(block, k)->kind == LG_ITEM_WIRE ||
              lg_flow_item(block, k)->kind == LG_ITEM_ELEMENT;
    return lg_flow_edge_group(graph,
                              g_array_index(block->edges, int, chain->first_edge + edge - 1));
  }
  default:
    return -1;
  }
}

/* The part of an item that letters or a symbol take. */
static void occupied(const LgItem *item, double *top, double *bottom)
{
  *top = item->y;
  *bottom = item->y + item->height - (item->kind == LG_ITEM_TAG ? CLEAR : 0);
}

static void find_stretches(const LgFlow *flow, const LgBlock *block, int group, GArray *stretches)
{
  for (guint c = 0; c < block->chains->len; c++) {
    const LgChain *const chain = lg_flow_chain(block, (int)c);
    gboolean inside = FALSE;
    for (int i = chain->first_item; i < chain->first_item + chain->n_items; i++) {
      const LgItem *const item = lg_flow_item(block, i);
      double top, bottom;
      occupied(item, &top, &bottom);
      if (item_group(flow, block, chain, i) != group) {
        inside = FALSE;
        continue;
      }
      if (inside) {
        g_array_index(stretches, Stretch, stretches->len - 1).bottom = bottom;
        continue;
      }
      const Stretch stretch = {lg_flow_column(block, chain), top, bottom};
      g_array_append_val(stretches, stretch);
      inside = TRUE;
    }
  }
}

/* Nearest foreign item above or below a stretch, or how far it may grow otherwise. */
static double grow_limit(const LgFlow *flow, const LgBlock *block, int group,
                         const Stretch *stretch, gboolean up, double wish)
{
  double limit = wish;
  for (guint c = 0; c < block->chains->len; c++) {
    const LgChain *const chain = lg_flow_chain(block, (int)c);
    if (lg_flow_column(block, chain) != stretch->column)
      continue;
    for (int i = chain->first_item; i < chain->first_item + chain->n_items; i++) {
      double top, bottom;
      occupied(lg_flow_item(block, i), &top, &bottom);
      if (item_group(flow, block, chain, i) == group)
        continue;
      if (up && top < stretch->top && bottom + CLEAR > limit)
        limit = MIN(bottom + CLEAR, stretch->top);
      if (!up && bottom > stretch->bottom && top - CLEAR < limit)
        limit = MAX(top - CLEAR, stretch->bottom);
    }
  }
  return limit;
}

/* Stretches grow to the frame's full height where nothing foreign stands in the way, and those of
 * one column that meet become one. */
static void grow(const LgFlow *flow, const LgBlock *block, int group, GArray *stretches)
{
  double top = G_MAXDOUBLE, bottom = 0;
  for (guint i = 0; i < stretches->len; i++) {
    top = MIN(top, g_array_index(stretches, Stretch, i).top);
    bottom = MAX(bottom, g_array_index(stretches, Stretch, i).bottom);
  }
  for (guint i = 0; i < stretches->len; i++) {
    Stretch *const stretch = &g_array_index(stretches, Stretch, i);
    const double up = grow_limit(flow, block, group, stretch, TRUE, top);
    const double down = grow_limit(flow, block, group, stretch, FALSE, bottom);
    stretch->top = MIN(up, stretch->top);
    stretch->bottom = MAX(down, stretch->bottom);
  }
  for (guint i = 0; i < stretches->len; i++)
    for (guint j = i + 1; j < stretches->len;) {
      Stretch *const a = &g_array_index(stretches, Stretch, i);
      const Stretch *const b = &g_array_index(stretches, Stretch, j);
      if (a->column != b->column || a->top > b->bottom || b->top > a->bottom) {
        j++;
        continue;
      }
      a->top = MIN(a->top, b->top);
      a->bottom = MAX(a->bottom, b->bottom);
      g_array_remove_index(stretches, j);
      j = i + 1;
    }
}

static int by_top(const void *a, const void *b)
{
  const Stretch *const first = a, *const second = b;
  return first->top < second->top ? -1 : first->top > second->top;
}

/* The side of a stretch, but for what its neighbours of the next column cover. */
static void ink_side(LgDrawing *drawing, LgStroke stroke, const GArray *stretches,
                     const Stretch *stretch, int neighbour, double x)
{
  double y = stretch->top;
  for (guint i = 0; i < stretches->len; i++) { /* sorted from top to bottom */
    const Stretch *const next = &g_array_index(stretches, Stretch, i);
    if (next->column != neighbour || next->bottom <= y || next->top >= stretch->bottom)
      continue;
    if (next->top > y)
      lg_draw_segment(drawing, stroke, x, y, x, next->top);
    y = MAX(y, next->bottom);
  }
  if (y < stretch->bottom)
    lg_draw_segment(drawing, stroke, x, y, x, stretch->bottom);
}

static gboolean is_covered(const GArray *stretches, int column, double y)
{
  for (guint i = 0; i < stretches->len; i++) {
    const Stretch *const s = &g_array_index(stretches, Stretch, i);
    if (s->column == column && s->top <= y + 1e-6 && s->bottom >= y - 1e-6)
      return TRUE;
  }
  return FALSE;
}

static void ink_frame(LgDrawing *drawing, const LgBlock *block, GArray *stretches, double left)
{
  LgStroke stroke = lg_stroke_thin;
  stroke.line = LG_INK_SOFT;
  stroke.dash = 1.6;
  stroke.gap = 0.9;
  g_array_sort(stretches, by_top);
  for (guint i = 0; i < stretches->len; i++) {
    const Stretch *const s = &g_array_index(stretches, Stretch, i);
    const double x1 = left + column_left(block, s->column);
    const double x2 = x1 + block->left[s->column] + block->right[s->column];
    const double edges[] = {s->top, s->bottom};
    ink_side(drawing, stroke, stretches, s, s->column - 1, x1 + INSET);
    ink_side(drawing, stroke, stretches, s, s->column + 1, x2 - INSET);
    for (int k = 0; k < 2; k++)
      lg_draw_segment(
          drawing, stroke, is_covered(stretches, s->column - 1, edges[k]) ? x1 - INSET : x1 + INSET,
          edges[k], is_covered(stretches, s->column + 1, edges[k]) ? x2 + INSET : x2 - INSET,
          edges[k]);
  }
}

void lg_flow_ink_frames(const LgFlow *flow, LgDrawing *drawing, const LgBlock *block, double left)
{
  g_autoptr(GHashTable) done = g_hash_table_new(NULL, NULL);
  for (guint c = 0; c < block->chains->len; c++) {
    const LgChain *const chain = lg_flow_chain(block, (int)c);
    for (int i = chain->first_item; i < chain->first_item + chain->n_items; i++) {
      const int group = item_group(flow, block, chain, i);
      if (group < 0 || !g_hash_table_add(done, GINT_TO_POINTER(group)))
        continue;
      g_autoptr(GArray) stretches = g_array_new(FALSE, FALSE, sizeof(Stretch));
      find_stretches(flow, block, group, stretches);
      grow(flow, block, group, stretches);
      lg_draw_open(drawing, "part", flow->graph->job->parts[group].name);
      ink_frame(drawing, block, stretches, left);
      lg_draw_close(drawing);
    }
  }
}
