/* The diagram's sheets: titles, rails, paths, the body's line, path numbers, notes. */
#include "base/words.h"
#include "drawing/flow-private.h"
#include <math.h>
#include <string.h>

#define WIRE_MM 1.15
#define LIVE_WIRE_MM 1.8
#define DEAD_WIRE_MM 0.8
#define LIVE_LEAD_MM 0.55
#define LIVE_A 0.001
#define LEADING 3.5
#define GAP 1.3
#define REACH_MM 2.5 /* beside a line: where a finger still means it */
#define DOT_MM 0.75

/* Where things of a strip lie on its sheet. */
typedef struct {
  const LgFlow *flow;
  LgDrawing *drawing;
  double left;   /* of the blocks */
  double top;    /* of the blocks */
  double height; /* of the blocks */
  double base;   /* the body's line */
  double right;  /* of all rails and the body's line */
  int rails[LG_MOST_RAILS], n_rails;
  double first_rail;
} Strip;

static double rail_y(const Strip *strip, int pin)
{
  for (int r = 0; r < strip->n_rails; r++)
    if (strip->rails[r] == pin)
      return strip->first_rail + r * LG_RAIL_MM;
  return strip->top;
}

static double column_x(const LgBlock *block, int column)
{
  double x = block->x + block->left[0];
  for (int c = 0; c < column; c++)
    x += block->right[c] + block->left[c + 1];
  return x;
}

/* References. */

static void add_path(GArray *paths, int path)
{
  for (guint i = 0; i < paths->len; i++)
    if (g_array_index(paths, int, i) == path)
      return;
  g_array_append_val(paths, path);
}

/* "12", "12, 15" or "12 ... 40". */
static char *path_words(const GArray *paths)
{
  if (paths->len == 0)
    return g_strdup("");
  int low = G_MAXINT, high = 0;
  for (guint i = 0; i < paths->len; i++) {
    low = MIN(low, g_array_index(paths, int, i));
    high = MAX(high, g_array_index(paths, int, i));
  }
  if (low == high)
    return g_strdup_printf("%d", low);
  return g_strdup_printf(paths->len == 2 ? "%d, %d" : "%d \u2026 %d", low, high);
}

/* Paths on which a cut point is met: those that feed it, those that hang from it, or both. */
static char *visit_words(const LgFlow *flow, int pin, gboolean feeding, gboolean hanging,
                         int but_path)
{
  g_autoptr(GArray) paths = g_array_new(FALSE, FALSE, sizeof(int));
  for (guint i = 0; flow->visits[pin] != NULL && i < flow->visits[pin]->len; i++) {
    const LgVisit *const visit = &g_array_index(flow->visits[pin], LgVisit, i);
    if ((visit->hangs ? hanging : feeding) && visit->path != but_path)
      add_path(paths, visit->path);
  }
  return path_words(paths);
}

/* Chains. */

static gboolean is_edge(const LgItem *item)
{
  return item->kind == LG_ITEM_WIRE || item->kind == LG_ITEM_ELEMENT;
}

/* Height of a mark's point within its item. */
static double mark_y(const LgItem *item)
{
  return item->y + 2.6;
}

static double wire_width(const LgFlow *flow, int wire)
{
  const LgPoint *const point = flow->graph->options.point;
  return point == NULL                         ? WIRE_MM
         : fabs(point->wire_A[wire]) >= LIVE_A ? LIVE_WIRE_MM
                                               : DEAD_WIRE_MM;
}

static void ink_wire(const Strip *strip, const LgItem *item, double x, double from, double to)
{
  const LgWire *const wire = &strip->flow->graph->job->wires[item->index];
  const LgSpot spots[] = {{x, from}, {x, to}};
  lg_draw_open(strip->drawing, "wire", wire->name);
  lg_draw_wire(strip->drawing, wire->colour, wire_width(strip->flow, item->index), spots, 2);
  lg_flow_ink_item(strip->flow, strip->drawing, item, x);
  lg_draw_reach(strip->drawing, (LgBox){x - REACH_MM, from, x + REACH_MM, to});
  lg_draw_close(strip->drawing);
}

static void ink_element(const Strip *strip, const LgItem *item, double x, double from, double to)
{
  const LgSymbolSize size = lg_symbol_size(&item->symbol);
  const double top = item->y + (item->length - size.height) / 2;
  LgStroke stroke = lg_stroke_line;
  stroke.weight = item->symbol.live ? LIVE_LEAD_MM : LG_LINE_MM;
  lg_draw_open(strip->drawing, "element", strip->flow->graph->job->elements[item->index].name);
  lg_draw_segment(strip->drawing, stroke, x, from, x, top);
  lg_draw_segment(strip->drawing, stroke, x, top + size.height, x, to);
  lg_symbol_draw(strip->drawing, &item->symbol, x, top);
  lg_flow_ink_item(strip->flow, strip->drawing, item, x);
  lg_draw_reach(strip->drawing,
                (LgBox){x - MAX(size.left, REACH_MM), from, x + MAX(size.right, REACH_MM), to});
  lg_draw_close(strip->drawing);
}

static void ink_edge(const Strip *strip, const LgItem *item, double x, double from, double to)
{
  if (item->kind == LG_ITEM_WIRE)
    ink_wire(strip, item, x, from, to);
  else
    ink_element(strip, item, x, from, to);
}

static double bar_y(const Strip *strip, const LgBlock *block, int pin)
{
  return lg_flow_bar_y(block, lg_flow_bar(block, pin), strip->top, strip->height);
}

static double upper_y(const Strip *strip, const LgBlock *block, const LgChain *chain)
{
  const LgItem *const item = lg_flow_item(block, chain->first_item);
  if (chain->upper_bar)
    return bar_y(strip, block, chain->upper);
  if (item->kind == LG_ITEM_TAG)
    return item->y + item->height - 1;
  if (item->kind == LG_ITEM_STOP || item->kind == LG_ITEM_END)
    return item->y + item->height / 2;
  return rail_y(strip, chain->upper);
}

static double lower_y(const Strip *strip, const LgBlock *block, const LgChain *chain)
{
  const LgItem *const item = lg_flow_item(block, chain->first_item + chain->n_items - 1);
  if (chain->lower_bar)
    return bar_y(strip, block, chain->lower);
  if (item->kind == LG_ITEM_TAG)
    return item->y + 1;
  if (item->kind == LG_ITEM_STOP || item->kind == LG_ITEM_END)
    return item->y + item->height / 2;
  return strip->base;
}

/* Where the edge at `i` ends: at the next mark's point, at the next device's top, or at its own
 * foot when a wire follows. */
static double next_y(const LgBlock *block, const LgItem *edge, int i, int end, double lower)
{
  for (int k = i + 1; k < end; k++) {
    const LgItem *const item = lg_flow_item(block, k);
    if (is_edge(item))
      return item->kind == LG_ITEM_ELEMENT ? item->y : edge->y + edge->length;
    if (item->kind == LG_ITEM_MARK && k + 1 < end)
      return mark_y(item);
  }
  return lower;
}

static double first_edge_end(const Strip *strip, const LgBlock *block, const LgChain *chain)
{
  return next_y(block, lg_flow_item(block, chain->first_item), chain->first_item,
                chain->first_item + chain->n_items, lower_y(strip, block, chain));
}

/* The first contact of a chain that is half of a change-over; the left half draws both. */
static void ink_half(const Strip *strip, const LgBlock *block, const LgChain *chain, double x,
                     double from, double to)
{
  const LgItem *const item = lg_flow_item(block, chain->first_item);
  lg_draw_open(strip->drawing, "element", strip->flow->graph->job->elements[item->index].name);
  if (chain->partner >= 0) {
    const LgChain *const right = lg_flow_chain(block, chain->partner);
    const LgItem *const other = lg_flow_item(block, right->first_item);
    const double next_x = strip->left + column_x(block, lg_flow_column(block, right));
    lg_flow_ink_changeover(strip->drawing, item, other, x, next_x, from, to,
                           first_edge_end(strip, block, right));
    lg_flow_ink_item(strip->flow, strip->drawing, item, x);
  } else {
    LgItem half = *item;
    half.name = half.above = NULL;
    half.n_references = 0;
    half.beside = GAP + 0.6; /* its blade stands at the left half */
    lg_flow_ink_item(strip->flow, strip->drawing, &half, x);
  }
  lg_draw_close(strip->drawing);
}

/* What stands at a point or begins an assembly. */
static void ink_beside(const Strip *strip, const LgItem *item, double x)
{
  const LgJob *const job = strip->flow->graph->job;
  if (item->kind == LG_ITEM_CAPTION)
    lg_draw_open(strip->drawing, "part", job->parts[item->index].name);
  else
    lg_draw_open(strip->drawing, "pin", job->pins[item->index].name);
  lg_flow_ink_item(strip->flow, strip->drawing, item, x);
  lg_draw_close(strip->drawing);
}

static void ink_chain(const Strip *strip, const LgBlock *block, const LgChain *chain)
{
  const double x = strip->left + column_x(block, lg_flow_column(block, chain));
  const int end = chain->first_item + chain->n_items;
  const double lower = lower_y(strip, block, chain);
  double y = upper_y(strip, block, chain);
  for (int i = chain->first_item; i < end; i++) {
    const LgItem *const item = lg_flow_item(block, i);
    if (is_edge(item)) {
      const double to = next_y(block, item, i, end, lower);
      if (i == chain->first_item && (chain->joined || chain->partner >= 0))
        ink_half(strip, block, chain, x, y, to);
      else
        ink_edge(strip, item, x, y, to);
      y = to;
    }
  }
  for (int i = chain->first_item; i < end; i++) {
    const LgItem *const item = lg_flow_item(block, i);
    const gboolean at_bar =
        item->kind == LG_ITEM_MARK &&
        ((chain->upper_bar && i == chain->first_item) || (chain->lower_bar && i == end - 1));
    if (item->kind == LG_ITEM_MARK && !at_bar) {
      const LgPart *const part =
          &strip->flow->graph->job->parts[strip->flow->graph->job->pins[item->index].part];
      lg_draw_open(strip->drawing, "pin", strip->flow->graph->job->pins[item->index].name);
      if (!item->inside && (part->n_pins > 1 || strcmp(part->class_word, "connector") == 0))
        lg_symbol_cavity(strip->drawing, x, mark_y(item));
      else
        lg_draw_dot(strip->drawing, x, mark_y(item), DOT_MM);
      lg_draw_reach(strip->drawing, (LgBox){x - REACH_MM, mark_y(item) - REACH_MM, x + REACH_MM,
                                            mark_y(item) + REACH_MM});
      lg_draw_close(strip->drawing);
    }
    if (!is_edge(item))
      ink_beside(strip, item, x);
  }
}

/* Level lines. */

/* The columns that a bar must reach: a change-over's right half hangs from its left one. */
static void bar_reach(const LgBlock *block, int pin, int *low, int *high)
{
  *low = G_MAXINT;
  *high = -1;
  for (guint c = 0; c < block->chains->len; c++) {
    const LgChain *const chain = lg_flow_chain(block, (int)c);
    if (chain->lower != pin && (chain->upper != pin || chain->joined))
      continue;
    *low = MIN(*low, lg_flow_column(block, chain));
    *high = MAX(*high, lg_flow_column(block, chain));
  }
}

static void ink_bars(const Strip *strip, const LgBlock *block)
{
  for (guint i = 0; i < block->bars->len; i++) {
    const LgBar *const bar = &g_array_index(block->bars, LgBar, i);
    const double y = lg_flow_bar_y(block, bar, strip->top, strip->height);
    int low, high;
    bar_reach(block, bar->pin, &low, &high);
    lg_draw_open(strip->drawing, "pin", strip->flow->graph->job->pins[bar->pin].name);
    if (low < high)
      lg_draw_segment(strip->drawing, lg_stroke_thick, strip->left + column_x(block, low), y,
                      strip->left + column_x(block, high), y);
    lg_draw_close(strip->drawing);
  }
}

static gboolean is_joint(const LgBlock *block, int pin)
{
  int low, high;
  bar_reach(block, pin, &low, &high);
  return low < high;
}

static void ink_dots(const Strip *strip, const LgBlock *block)
{
  for (guint c = 0; c < block->chains->len; c++) {
    const LgChain *const chain = lg_flow_chain(block, (int)c);
    const double x = strip->left + column_x(block, lg_flow_column(block, chain));
    const LgItem *const last = lg_flow_item(block, chain->first_item + chain->n_items - 1);
    if (chain->upper_bar && !chain->joined && is_joint(block, chain->upper))
      lg_draw_dot(strip->drawing, x, bar_y(strip, block, chain->upper), DOT_MM);
    if (chain->lower_bar && is_joint(block, chain->lower))
      lg_draw_dot(strip->drawing, x, bar_y(strip, block, chain->lower), DOT_MM);
    if (lg_flow_is_rail(strip->flow->graph, chain->upper))
      lg_draw_dot(strip->drawing, x, rail_y(strip, chain->upper), DOT_MM);
    if (last->kind == LG_ITEM_FOOT)
      lg_draw_dot(strip->drawing, x, strip->base, DOT_MM);
  }
}

/* Right end of a rail on this strip: the last path that hangs from it; its next path on a later
 * strip. */
static void rail_reach(const Strip *strip, int number, int pin, double *right, int *next)
{
  const LgFlow *const flow = strip->flow;
  *right = strip->left;
  *next = 0;
  for (guint i = 0; i < flow->visits[pin]->len; i++) {
    const LgVisit *const visit = &g_array_index(flow->visits[pin], LgVisit, i);
    const LgBlock *const block = flow->blocks->pdata[visit->block];
    if (!visit->hangs)
      continue;
    if (block->strip == number)
      *right = MAX(*right,
                   strip->left +
                       column_x(block, lg_flow_column(block, lg_flow_chain(block, visit->chain))));
    else if (block->strip > number && (*next == 0 || visit->path < *next))
      *next = visit->path;
  }
}

static void ink_arrow(LgDrawing *drawing, double x, double y)
{
  const LgSpot spots[] = {{x, y - 0.8}, {x + 1.4, y}, {x, y + 0.8}};
  lg_draw_path(drawing, lg_stroke_solid, TRUE, spots, 3);
}

static void ink_rail(const Strip *strip, int number, int pin, double edge)
{
  const LgFlow *const flow = strip->flow;
  LgDrawing *const drawing = strip->drawing;
  const double y = rail_y(strip, pin);
  double right;
  int next;
  char buffer[64];
  rail_reach(strip, number, pin, &right, &next);
  lg_draw_open(drawing, "pin", flow->graph->job->pins[pin].name);
  const LgPoint *const point = flow->graph->options.point;
  g_autofree char *from = visit_words(flow, pin, TRUE, FALSE, 0);
  g_autofree char *words = point != NULL     ? lg_quantity_print(point->volts[pin], LG_DIM_VOLTAGE,
                                                                 flow->graph->job->habit, 3)
                           : from[0] != '\0' ? g_strdup_printf(T_("from %s"), from)
                                             : NULL;
  char **name = lg_text_wrap(
      lg_flow_rail_name(flow, pin, buffer), LG_TEXT_MM, TRUE,
      flow->gutter - 3 - (words != NULL ? lg_text_width(words, LG_TEXT_SMALL_MM, FALSE) + 1 : 0),
      1);
  lg_draw_text(drawing, lg_letters_bold, edge, y + 1, name[0]);
  g_strfreev(name);
  LgLetters small = lg_letters_small;
  small.anchor = LG_ANCHOR_END;
  lg_draw_text(drawing, small, edge + flow->gutter - 2, y + 0.9, words);
  const double end = next > 0 ? strip->right + 1 : right;
  lg_draw_segment(drawing, lg_stroke_thick, edge + flow->gutter - 1, y, end, y);
  if (next > 0) {
    g_autofree char *number_words = g_strdup_printf("%d", next);
    ink_arrow(drawing, end, y);
    lg_draw_text(drawing, lg_letters_small, end + 2, y + 0.9, number_words);
  }
  lg_draw_close(drawing);
}

static void ink_base(const Strip *strip, int number, double edge)
{
  const LgFlow *const flow = strip->flow;
  LgDrawing *const drawing = strip->drawing;
  const double under = strip->base + 6.8, foot = strip->base + 11;
  lg_draw_text(drawing, lg_letters_bold, edge, strip->base + 1,
               flow->graph->job->positive_ground ? T_("30 body") : T_("31 body"));
  lg_draw_segment(drawing, lg_stroke_thick, edge + flow->gutter - 1, strip->base,
                  strip->right + flow->tail, strip->base);
  lg_draw_segment(drawing, lg_stroke_thin, edge, under, strip->right + flow->tail, under);
  lg_draw_segment(drawing, lg_stroke_thin, edge, foot, strip->right + flow->tail, foot);
  lg_draw_text(drawing, lg_letters_small, edge, foot - 1.2, T_("path"));
  LgLetters letters = lg_letters_plain;
  letters.anchor = LG_ANCHOR_MIDDLE;
  for (int b = flow->strip_first[number]; b < flow->strip_first[number + 1]; b++) {
    const LgBlock *const block = flow->blocks->pdata[b];
    for (int c = 0; c < block->n_columns; c++) {
      g_autofree char *words = g_strdup_printf("%d", block->first_path + c);
      lg_draw_text(drawing, letters, strip->left + column_x(block, c), foot - 1.1, words);
    }
  }
}

void lg_flow_ink_strip(const LgFlow *flow, LgDrawing *drawing, int number, double left, double top,
                       double width)
{
  Strip strip = {.flow = flow,
                 .drawing = drawing,
                 .left = left + flow->gutter,
                 .right = left + width - flow->tail};
  strip.n_rails = lg_flow_strip_rails(flow, number, strip.rails);
  strip.first_rail = top + LG_RAIL_MM / 2;
  strip.top = top + strip.n_rails * LG_RAIL_MM;
  strip.height = flow->strip_height[number];
  strip.base = strip.top + strip.height;
  for (int b = flow->strip_first[number]; b < flow->strip_first[number + 1]; b++) {
    LgBlock *const block = flow->blocks->pdata[b];
    lg_flow_settle(block, strip.top, strip.height);
  }
  for (int r = 0; r < strip.n_rails; r++)
    ink_rail(&strip, number, strip.rails[r], left);
  ink_base(&strip, number, left);
  for (int b = flow->strip_first[number]; b < flow->strip_first[number + 1]; b++) {
    const LgBlock *const block = flow->blocks->pdata[b];
    lg_flow_ink_frames(flow, drawing, block, strip.left);
    ink_bars(&strip, block);
    for (guint c = 0; c < block->chains->len; c++)
      ink_chain(&strip, block, lg_flow_chain(block, (int)c));
    ink_dots(&strip, block);
  }
}

/* Items beside the line. */

static void ink_lines(LgDrawing *drawing, const LgItem *item, double x, double first,
                      double leading, gboolean first_bold)
{
  for (int i = 0; i < item->n_lines; i++)
    lg_draw_text(drawing, i == 0 && first_bold ? lg_letters_bold : lg_letters_plain, x,
                 first + i * leading, item->lines[i]);
}

static void ink_references(const LgFlow *flow, LgDrawing *drawing, const LgItem *item, double x,
                           double first)
{
  const LgJob *const job = flow->graph->job;
  const LgElement *const element = &job->elements[item->index];
  const LgPart *const part = &job->parts[element->part];
  int n = 0;
  for (int e = part->first_element; e < part->first_element + part->n_elements; e++) {
    const gboolean belongs =
        element->kind == LG_EL_COIL ? job->elements[e].by == item->index : e == element->by;
    if (!belongs || n >= item->n_references || flow->element_path[e] == 0)
      continue;
    g_autofree char *words =
        element->kind == LG_EL_COIL
            ? g_strdup_printf(T_("%s in %d"), job->pins[job->elements[e].pin[1]].short_name,
                              flow->element_path[e])
            : g_strdup_printf(T_("coil in %d"), flow->element_path[e]);
    lg_draw_text(drawing, lg_letters_small, x, first + n * LEADING, words);
    n++;
  }
}

static void ink_element_words(const LgFlow *flow, LgDrawing *drawing, const LgItem *item, double x)
{
  const LgSymbolSize size = lg_symbol_size(&item->symbol);
  const double middle = item->y + item->length / 2, beside = x + item->beside;
  LgLetters name = lg_letters_bold;
  name.anchor = LG_ANCHOR_END;
  lg_draw_text(drawing, name, x - size.left - GAP, middle + 1, item->name);
  lg_draw_text(drawing, lg_letters_small, x + 1.6, item->y + 2.3, item->above);
  lg_draw_text(drawing, lg_letters_small, x + 1.6, item->y + item->length - 0.85, item->below);
  const double first =
      middle - (item->n_lines + item->n_references) * LEADING / 2 + LEADING / 2 + 0.9;
  ink_lines(drawing, item, beside, first, LEADING, FALSE);
  ink_references(flow, drawing, item, beside, first + item->n_lines * LEADING);
}

static void ink_tag(const LgFlow *flow, LgDrawing *drawing, const LgItem *item, double x)
{
  const double half = item->left - 1.1;
  const LgBox box = {x - half, item->y + 1, x + half, item->y + item->height - 1};
  LgStroke stroke = lg_stroke_line;
  stroke.fill = LG_INK_PAPER;
  LgLetters bold = lg_letters_bold;
  bold.anchor = LG_ANCHOR_MIDDLE;
  g_autofree char *words = visit_words(flow, item->index, TRUE, TRUE, item->path);
  LgLetters small = lg_letters_small;
  small.ink = LG_INK_DARK;
  lg_draw_box(drawing, stroke, box);
  lg_draw_text(drawing, bold, x, item->y + 4.4, item->name);
  const double width = lg_text_width(words, LG_TEXT_SMALL_MM, FALSE) + 2;
  ink_arrow(drawing, x - width / 2, item->y + 7.1);
  lg_draw_text(drawing, small, x - width / 2 + 2, item->y + 8, words);
}

static void ink_stop(LgDrawing *drawing, const LgItem *item, double x)
{
  const double middle = item->y + item->height / 2;
  lg_symbol_stop(drawing, x, middle, 2);
  lg_draw_text(drawing, lg_letters_bold, x + 2.2 + GAP, middle - 0.6, item->name);
  ink_lines(drawing, item, x + 2.2 + GAP, middle + 2.9, LEADING, FALSE);
}

static void ink_end(LgDrawing *drawing, const LgItem *item, double x)
{
  LgStroke stroke = lg_stroke_line;
  stroke.fill = LG_INK_PAPER;
  lg_draw_arc(drawing, stroke, x, item->y + item->height / 2, 0.7, 0, 360);
  lg_draw_text(drawing, lg_letters_bold, x + 0.8 + GAP, item->y + item->height / 2 + 1, item->name);
}

static void ink_foot(LgDrawing *drawing, const LgItem *item, double x)
{
  LgLetters letters = lg_letters_plain;
  letters.anchor = LG_ANCHOR_MIDDLE;
  const double base = item->y + item->length;
  lg_symbol_body(drawing, x, base);
  lg_draw_text(drawing, letters, x, base + 5.2, item->name);
}

void lg_flow_ink_item(const LgFlow *flow, LgDrawing *drawing, const LgItem *item, double x)
{
  switch (item->kind) {
  case LG_ITEM_WIRE:
    ink_lines(drawing, item, x + 0.6 + GAP, item->y + 1.7 + LEADING / 2, LEADING, FALSE);
    break;
  case LG_ITEM_ELEMENT:
    ink_element_words(flow, drawing, item, x);
    break;
  case LG_ITEM_MARK:
    lg_draw_text(drawing, lg_letters_bold, x + 1.6 + GAP, item->y + 3.4, item->name);
    ink_lines(drawing, item, x + 1.6 + GAP, item->y + 3.4 + LEADING, LEADING, FALSE);
    break;
  case LG_ITEM_CAPTION:
    lg_draw_text(drawing, lg_letters_bold, x + 0.6 + GAP, item->y + 3.8, item->name);
    ink_lines(drawing, item, x + 0.6 + GAP, item->y + 3.8 + LEADING, LEADING, FALSE);
    break;
  case LG_ITEM_TAG:
    ink_tag(flow, drawing, item, x);
    break;
  case LG_ITEM_STOP:
    ink_stop(drawing, item, x);
    break;
  case LG_ITEM_END:
    ink_end(drawing, item, x);
    break;
  case LG_ITEM_FOOT:
    ink_foot(drawing, item, x);
    break;
  }
}

/* Sheets. */

static char *state_words(const LgFlow *flow)
{
  const LgPoint *const point = flow->graph->options.point;
  if (point == NULL)
    return g_strdup(T_("drawn at rest: no power, key out, nothing touched, cold"));
  g_autoptr(GString) words = g_string_new(NULL);
  for (int i = 0; i < flow->graph->job->n_inputs; i++) {
    const LgInput *const input = &flow->graph->job->inputs[i];
    if (point->position[i] != 0)
      g_string_append_printf(words, "%s%s=%s", words->len > 0 ? ", " : "", input->name,
                             input->positions[point->position[i]]);
  }
  return words->len > 0 ? g_strdup_printf(T_("in the state %s"), words->str)
                        : g_strdup(T_("in the state of rest, battery connected"));
}

static void ink_head(const LgFlow *flow, LgDrawing *drawing, int sheet)
{
  const double width = flow->graph->options.width_mm - 2 * LG_MARGIN_MM;
  LgLetters head = lg_letters_bold;
  head.size = LG_TEXT_HEAD_MM;
  g_autofree char *number = g_strdup_printf(T_("sheet %d of %d"), sheet + 1, flow->n_sheets);
  g_autofree char *state = state_words(flow);
  const double number_width = lg_text_width(number, LG_TEXT_MM, FALSE) + 6;
  char **title =
      lg_text_wrap(flow->graph->job->title, LG_TEXT_HEAD_MM, TRUE, width - number_width, 1);
  lg_draw_text(drawing, head, LG_MARGIN_MM, LG_MARGIN_MM + 3.6, title[0]);
  g_strfreev(title);
  LgLetters end = lg_letters_plain;
  end.anchor = LG_ANCHOR_END;
  lg_draw_text(drawing, end, LG_MARGIN_MM + width, LG_MARGIN_MM + 3.6, number);
  g_autofree char *words = g_strdup_printf(T_("Current-flow diagram, %s"), state);
  char **line = lg_text_wrap(words, LG_TEXT_MM, FALSE, width, 1);
  lg_draw_text(drawing, lg_letters_plain, LG_MARGIN_MM, LG_MARGIN_MM + 8, line[0]);
  g_strfreev(line);
}

static void ink_notes(const LgFlow *flow, LgDrawing *drawing)
{
  const double foot = flow->graph->options.height_mm - LG_MARGIN_MM;
  const double first = foot - lg_flow_notes_height(flow) + 3.4;
  int n = 0;
  for (; flow->notes[n] != NULL; n++)
    lg_draw_text(drawing, lg_letters_small, LG_MARGIN_MM + 3.4, first + n * 3.2, flow->notes[n]);
  if (flow->stop_note < n)
    lg_symbol_stop(drawing, LG_MARGIN_MM + 1.3, first + flow->stop_note * 3.2 - 0.9, 1.25);
}

GPtrArray *lg_flow_ink(const LgFlow *flow)
{
  GPtrArray *const sheets = g_ptr_array_new_with_free_func((GDestroyNotify)lg_drawing_free);
  const LgFlowOptions *const options = &flow->graph->options;
  for (int sheet = 0; sheet < MAX(flow->n_sheets, 1); sheet++) {
    LgDrawing *const drawing =
        lg_drawing_new(options->width_mm, options->height_mm, T_("Current-flow diagram"));
    double y = LG_MARGIN_MM + LG_HEAD_MM;
    ink_head(flow, drawing, sheet);
    for (int s = 0; s < flow->n_strips; s++)
      if (flow->strip_sheet[s] == sheet) {
        int rails[LG_MOST_RAILS];
        lg_flow_ink_strip(flow, drawing, s, LG_MARGIN_MM, y, options->width_mm - 2 * LG_MARGIN_MM);
        y += flow->strip_height[s] + lg_flow_strip_rails(flow, s, rails) * LG_RAIL_MM + LG_FOOT_MM +
             LG_STRIP_GAP_MM;
      }
    ink_notes(flow, drawing);
    g_ptr_array_add(sheets, drawing);
  }
  return sheets;
}
