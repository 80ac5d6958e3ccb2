/* From the graph to blocks in order, strips and sheets with numbered paths. */
#include "base/words.h"
#include "drawing/flow-private.h"
#include <math.h>
#include <string.h>

#define FROM_MM 11.0        /* "from" and blanks beside a rail's name */
#define MOST_GUTTER_MM 38.0 /* rails' names that are longer are cut */

static double strip_width(const LgFlow *flow)
{
  return flow->graph->options.width_mm - 2 * LG_MARGIN_MM - flow->gutter - flow->tail;
}

static double sheet_height(const LgFlow *flow)
{
  return flow->graph->options.height_mm - 2 * LG_MARGIN_MM - LG_HEAD_MM -
         lg_flow_notes_height(flow);
}

/* Points from which chains of the block hang: each may become a rail above it. */
static int count_rails(const LgFlowGraph *graph, const LgBlock *block)
{
  g_autoptr(GHashTable) met = g_hash_table_new(NULL, NULL);
  for (guint c = 0; c < block->chains->len; c++) {
    const int upper = lg_flow_chain(block, (int)c)->upper;
    if (graph->cut[upper] == LG_CUT_RAIL)
      g_hash_table_add(met, GINT_TO_POINTER(upper));
  }
  return (int)g_hash_table_size(met);
}

static double strip_room(const LgFlow *flow, int n_rails)
{
  return sheet_height(flow) - n_rails * LG_RAIL_MM - LG_FOOT_MM - LG_STRIP_GAP_MM;
}

/* Pieces: edges that hang together at points that are not cut. */

typedef struct {
  LgFlowGraph *graph;
  int *piece; /* [n_edges] mark of the search, -1 */
} Pieces;

static GArray *piece_from(Pieces *pieces, int edge, int mark)
{
  const LgFlowGraph *const graph = pieces->graph;
  GArray *const found = g_array_new(FALSE, FALSE, sizeof(int));
  pieces->piece[edge] = mark;
  g_array_append_val(found, edge);
  for (guint i = 0; i < found->len; i++) {
    const LgFlowEdge *const at = &graph->edges[g_array_index(found, int, i)];
    for (int k = 0; k < 2; k++) {
      const int pin = at->end[k];
      const gboolean closed = graph->cut[pin] != LG_CUT_NO || graph->stop[pin];
      for (int m = graph->first[pin]; !closed && m < graph->first[pin + 1]; m++) {
        const int next = graph->incident[m];
        if (pieces->piece[next] != mark) {
          pieces->piece[next] = mark;
          g_array_append_val(found, next);
        }
      }
    }
  }
  return found;
}

/* Cuts the pieces that are too large until all fit; the pieces, GArray of int. */
static GPtrArray *fit_pieces(LgFlow *flow)
{
  LgFlowGraph *const graph = flow->graph;
  GPtrArray *const fitting = g_ptr_array_new_with_free_func((GDestroyNotify)g_array_unref);
  g_autoptr(GQueue) queue = g_queue_new();
  Pieces pieces = {.graph = graph, .piece = g_new(int, (gsize)graph->n_edges + 1)};
  int mark = 0;
  for (int e = 0; e < graph->n_edges; e++)
    pieces.piece[e] = -1;
  for (int e = 0; e < graph->n_edges; e++)
    if (pieces.piece[e] < 0)
      g_queue_push_tail(queue, piece_from(&pieces, e, mark++));
  while (!g_queue_is_empty(queue)) {
    GArray *const piece = g_queue_pop_head(queue);
    LgBlock *const block = lg_flow_block_new(graph, &g_array_index(piece, int, 0), (int)piece->len);
    const gboolean wide = block != NULL && block->width > strip_width(flow);
    const gboolean tall =
        block != NULL && (block->height > strip_room(flow, count_rails(graph, block)) ||
                          count_rails(graph, block) > LG_MOST_RAILS);
    const int split = wide || tall ? lg_flow_block_split(graph, block, !wide) : -1;
    lg_flow_block_free(block);
    if (block != NULL && split < 0) {
      g_ptr_array_add(fitting, piece);
      continue;
    }
    if (split >= 0)
      graph->cut[split] = LG_CUT_RAIL;
    for (guint i = 0; i < piece->len; i++)
      pieces.piece[g_array_index(piece, int, i)] = -1;
    for (guint i = 0; i < piece->len; i++)
      if (pieces.piece[g_array_index(piece, int, i)] < 0)
        g_queue_push_tail(queue, piece_from(&pieces, g_array_index(piece, int, i), mark++));
    g_array_unref(piece);
  }
  g_free(pieces.piece);
  return fitting;
}

/* How many chains hang from each cut point, now that all cuts are known. */
static void count_hanging(LgFlowGraph *graph, const GPtrArray *blocks)
{
  for (guint b = 0; b < blocks->len; b++) {
    const LgBlock *const block = blocks->pdata[b];
    for (guint c = 0; c < block->chains->len; c++) {
      const LgChain *const chain = lg_flow_chain(block, (int)c);
      graph->hanging[chain->upper] += graph->cut[chain->upper] == LG_CUT_RAIL;
      graph->feeding[chain->lower] += graph->cut[chain->lower] == LG_CUT_RAIL;
    }
  }
}

static GPtrArray *make_blocks(LgFlowGraph *graph, const GPtrArray *pieces)
{
  GPtrArray *const blocks = g_ptr_array_new_with_free_func((GDestroyNotify)lg_flow_block_free);
  for (guint i = 0; i < pieces->len; i++) {
    const GArray *const piece = pieces->pdata[i];
    LgBlock *const block = lg_flow_block_new(graph, &g_array_index(piece, int, 0), (int)piece->len);
    if (block != NULL)
      g_ptr_array_add(blocks, block);
  }
  return blocks;
}

/* Rails: sources first, then by how far down they lie. */

static int by_down(gconstpointer a, gconstpointer b, gpointer user)
{
  const int first = *(const int *)a, second = *(const int *)b;
  return first == second ? 0 : lg_flow_above(user, first, second) ? -1 : 1;
}

const char *lg_flow_rail_name(const LgFlow *flow, int pin, char buffer[64])
{
  const LgJob *const job = flow->graph->job;
  const LgPin *const p = &job->pins[pin];
  const LgPart *const part = &job->parts[p->part];
  const gboolean battery = g_strcmp0(part->class_word, "battery") == 0;
  const gboolean key = g_strcmp0(part->class_word, "key") == 0;
  if (battery && !job->positive_ground)
    g_snprintf(buffer, 64, "30 %s", p->name);
  else if (key)
    g_snprintf(buffer, 64, "%s %s", p->short_name, part->name);
  else
    g_snprintf(buffer, 64, "%s", part->n_pins == 1 ? part->name : p->name);
  return buffer;
}

static void find_rails(LgFlow *flow)
{
  const LgFlowGraph *const graph = flow->graph;
  flow->rails = g_new(int, (gsize)graph->job->n_pins + 1);
  double widest = lg_text_width(T_("31 body"), LG_TEXT_MM, TRUE);
  for (int p = 0; p < graph->job->n_pins; p++)
    if (lg_flow_is_rail(graph, p)) {
      char name[64];
      flow->rails[flow->n_rails++] = p;
      const double from = graph->options.point != NULL || graph->feeding[p] > 0
                              ? lg_flow_reference_width(graph) + FROM_MM
                              : 0;
      widest =
          MAX(widest, from + lg_text_width(lg_flow_rail_name(flow, p, name), LG_TEXT_MM, TRUE));
    }
  if (flow->n_rails > 1)
    g_qsort_with_data(flow->rails, flow->n_rails, sizeof(int), by_down, flow->graph);
  flow->gutter = MIN(widest + 4, MOST_GUTTER_MM);
}

int lg_flow_strip_rails(const LgFlow *flow, int strip, int rails[LG_MOST_RAILS])
{
  g_autoptr(GHashTable) met = g_hash_table_new(NULL, NULL);
  for (int b = flow->strip_first[strip]; b < flow->strip_first[strip + 1]; b++) {
    const LgBlock *const block = flow->blocks->pdata[b];
    for (guint c = 0; c < block->chains->len; c++)
      g_hash_table_add(met, GINT_TO_POINTER(lg_flow_chain(block, (int)c)->upper));
  }
  int n = 0;
  for (int r = 0; r < flow->n_rails && n < LG_MOST_RAILS; r++)
    if (g_hash_table_contains(met, GINT_TO_POINTER(flow->rails[r])))
      rails[n++] = flow->rails[r];
  return n;
}

/* Strips and sheets. */

static int count_new_rails(const LgFlowGraph *graph, const LgBlock *block, GHashTable *met)
{
  g_autoptr(GHashTable) fresh = g_hash_table_new(NULL, NULL);
  for (guint c = 0; c < block->chains->len; c++) {
    const int upper = lg_flow_chain(block, (int)c)->upper;
    if (lg_flow_is_rail(graph, upper) && !g_hash_table_contains(met, GINT_TO_POINTER(upper)))
      g_hash_table_add(fresh, GINT_TO_POINTER(upper));
  }
  return (int)g_hash_table_size(fresh);
}

static gboolean feeds(const LgFlowGraph *graph, const LgBlock *block, const LgBlock *other)
{
  for (guint c = 0; c < block->chains->len; c++)
    for (guint d = 0; d < other->chains->len; d++) {
      const int point = lg_flow_chain(block, (int)c)->lower;
      if (graph->cut[point] == LG_CUT_RAIL && point == lg_flow_chain(other, (int)d)->upper)
        return TRUE;
    }
  return FALSE;
}

#define LOOK_AHEAD 8

/* A strip with room left takes the next block that fits in, unless one that is passed over feeds
 * it. */
static void pull_forward(LgFlow *flow, guint at, double room, double most_height)
{
  const GPtrArray *const blocks = flow->blocks;
  for (guint b = at; b < MIN(at + LOOK_AHEAD, blocks->len); b++) {
    LgBlock *const block = blocks->pdata[b];
    gboolean fits = block->width <= room && block->height <= most_height;
    for (guint k = at; k < b && fits; k++)
      fits = !feeds(flow->graph, blocks->pdata[k], block);
    if (!fits)
      continue;
    memmove(blocks->pdata + at + 1, blocks->pdata + at, sizeof(gpointer) * (b - at));
    blocks->pdata[at] = block;
    return;
  }
}

static void fill_strips(LgFlow *flow)
{
  g_autoptr(GHashTable) met = g_hash_table_new(NULL, NULL);
  double used = G_MAXDOUBLE;
  flow->strip_first = g_new0(int, (gsize)flow->blocks->len + 2);
  flow->strip_height = g_new0(double, (gsize)flow->blocks->len + 2);
  for (guint b = 0; b < flow->blocks->len; b++) {
    if (flow->n_strips > 0)
      pull_forward(flow, b, strip_width(flow) - used,
                   strip_room(flow, (int)g_hash_table_size(met) + 2));
    LgBlock *const block = flow->blocks->pdata[b];
    const int rails = (int)g_hash_table_size(met) + count_new_rails(flow->graph, block, met);
    if (used + block->width > strip_width(flow) || rails > LG_MOST_RAILS ||
        MAX(block->height, flow->strip_height[MAX(flow->n_strips - 1, 0)]) >
            strip_room(flow, rails)) {
      flow->strip_first[flow->n_strips++] = (int)b;
      g_hash_table_remove_all(met);
      used = 0;
    }
    block->strip = flow->n_strips - 1;
    block->x = used;
    block->first_path = flow->n_paths + 1;
    flow->n_paths += block->n_columns;
    used += block->width;
    flow->strip_height[block->strip] = MAX(flow->strip_height[block->strip], block->height);
    for (guint c = 0; c < block->chains->len; c++)
      if (lg_flow_is_rail(flow->graph, lg_flow_chain(block, (int)c)->upper))
        g_hash_table_add(met, GINT_TO_POINTER(lg_flow_chain(block, (int)c)->upper));
  }
  flow->strip_first[flow->n_strips] = (int)flow->blocks->len;
}

static void fill_sheets(LgFlow *flow)
{
  double used = G_MAXDOUBLE;
  flow->strip_sheet = g_new0(int, (gsize)flow->n_strips + 1);
  for (int s = 0; s < flow->n_strips; s++) {
    int rails[LG_MOST_RAILS];
    const double height = flow->strip_height[s] + lg_flow_strip_rails(flow, s, rails) * LG_RAIL_MM +
                          LG_FOOT_MM + LG_STRIP_GAP_MM;
    if (used + height > sheet_height(flow)) {
      flow->n_sheets++;
      used = 0;
    }
    used += height;
    flow->strip_sheet[s] = flow->n_sheets - 1;
  }
}

/* Room that is left over makes strips taller and moves blocks apart, within reason. */
#define MOST_GROWTH 1.6
#define MOST_APART_MM 9.0

static void spread_strips(LgFlow *flow)
{
  for (int s = 0; s < flow->n_strips; s++) {
    const int first = flow->strip_first[s], end = flow->strip_first[s + 1];
    const LgBlock *const last = flow->blocks->pdata[end - 1];
    const double left_over = strip_width(flow) - last->x - last->width;
    const double apart = end - first > 1 ? MIN(left_over / (end - first - 1), MOST_APART_MM) : 0;
    for (int b = first; b < end; b++)
      ((LgBlock *)flow->blocks->pdata[b])->x += MAX(apart, 0) * (b - first);
  }
}

static void stretch_strips(LgFlow *flow)
{
  for (int sheet = 0; sheet < flow->n_sheets; sheet++) {
    double need = 0, blocks = 0;
    for (int s = 0; s < flow->n_strips; s++)
      if (flow->strip_sheet[s] == sheet) {
        int rails[LG_MOST_RAILS];
        need += flow->strip_height[s] + lg_flow_strip_rails(flow, s, rails) * LG_RAIL_MM +
                LG_FOOT_MM + LG_STRIP_GAP_MM;
        blocks += flow->strip_height[s];
      }
    const double growth = 1 + MAX(sheet_height(flow) - need, 0) / MAX(blocks, 1);
    for (int s = 0; s < flow->n_strips; s++)
      if (flow->strip_sheet[s] == sheet)
        flow->strip_height[s] *= MIN(growth, MOST_GROWTH);
  }
}

static void add_visit(LgFlow *flow, int pin, LgVisit visit)
{
  if (flow->graph->cut[pin] != LG_CUT_RAIL)
    return;
  if (flow->visits[pin] == NULL)
    flow->visits[pin] = g_array_new(FALSE, FALSE, sizeof(LgVisit));
  g_array_append_val(flow->visits[pin], visit);
}

static void number_paths(LgFlow *flow)
{
  const LgJob *const job = flow->graph->job;
  flow->visits = g_new0(GArray *, (gsize)job->n_pins + 1);
  flow->element_path = g_new0(int, (gsize)job->n_elements + 1);
  for (guint b = 0; b < flow->blocks->len; b++) {
    const LgBlock *const block = flow->blocks->pdata[b];
    for (guint c = 0; c < block->chains->len; c++) {
      const LgChain *const chain = lg_flow_chain(block, (int)c);
      LgVisit visit = {.path = block->first_path + lg_flow_column(block, chain),
                       .block = (int)b,
                       .chain = (int)c,
                       .hangs = TRUE};
      add_visit(flow, chain->upper, visit);
      visit.hangs = FALSE;
      add_visit(flow, chain->lower, visit);
      for (int i = 0; i < chain->n_items; i++) {
        LgItem *const item = lg_flow_item(block, chain->first_item + i);
        item->path = visit.path;
        if (item->kind == LG_ITEM_ELEMENT)
          flow->element_path[item->index] = visit.path;
      }
    }
  }
}

LgFlow *lg_flow_lay_out(const LgJob *job, const LgFlowOptions *options)
{
  LgFlow *const flow = g_new0(LgFlow, 1);
  flow->graph = lg_flow_graph_new(job, options);
  lg_flow_find_notes(flow);
  flow->gutter = MOST_GUTTER_MM; /* until the rails are known */
  flow->tail = lg_flow_reference_width(flow->graph) / 2 + 5;
  g_autoptr(GPtrArray) pieces = fit_pieces(flow);
  flow->blocks = make_blocks(flow->graph, pieces);
  count_hanging(flow->graph, flow->blocks);
  g_ptr_array_unref(flow->blocks);
  flow->blocks = make_blocks(flow->graph, pieces);
  find_rails(flow);
  lg_flow_order_blocks(flow);
  fill_strips(flow);
  fill_sheets(flow);
  spread_strips(flow);
  stretch_strips(flow);
  number_paths(flow);
  return flow;
}

void lg_flow_free(LgFlow *flow)
{
  if (flow == NULL)
    return;
  for (int p = 0; flow->visits != NULL && p < flow->graph->job->n_pins; p++)
    if (flow->visits[p] != NULL)
      g_array_unref(flow->visits[p]);
  g_free(flow->visits);
  g_strfreev(flow->notes);
  g_free(flow->element_path);
  g_free(flow->rails);
  g_free(flow->strip_first);
  g_free(flow->strip_height);
  g_free(flow->strip_sheet);
  g_ptr_array_unref(flow->blocks);
  lg_flow_graph_free(flow->graph);
  g_free(flow);
}

GPtrArray *lg_flow_new(const LgJob *job, const LgFlowOptions *options)
{
  LgFlow *const flow = lg_flow_lay_out(job, options);
  GPtrArray *const sheets = lg_flow_ink(flow);
  lg_flow_free(flow);
  return sheets;
}
