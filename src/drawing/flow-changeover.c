/* Change-over contacts: two contacts of one part that hang side by side from their common terminal
 * and are never closed together are drawn as one, the common terminal on top. */
#include "drawing/flow-private.h"

#define M 2.5
#define APART (2 * M) /* of the two lower stubs */

gboolean lg_flow_may_change_over(const LgJob *job, int element)
{
  const LgElement *const a = &job->elements[element];
  const LgPart *const part = &job->parts[a->part];
  int n = 0;
  for (int e = part->first_element; e < part->first_element + part->n_elements; e++) {
    const LgElement *const b = &job->elements[e];
    if (e == element || b->pin[0] != a->pin[0])
      continue;
    const gboolean relay = a->by >= 0 && a->by == b->by && a->kind != b->kind &&
                           (a->kind == LG_EL_MAKE || a->kind == LG_EL_BREAK) &&
                           (b->kind == LG_EL_MAKE || b->kind == LG_EL_BREAK);
    const gboolean hand =
        a->kind == LG_EL_CONTACT && b->kind == LG_EL_CONTACT && (a->closed & b->closed) == 0;
    n += relay || hand ? 1 : 0;
  }
  return n == 1;
}

static const LgItem *hanging_contact(const LgFlowGraph *graph, const LgBlock *block,
                                     const LgChain *chain)
{
  const LgItem *const item = lg_flow_item(block, chain->first_item);
  return chain->upper_bar && item->kind == LG_ITEM_ELEMENT && item->storey == chain->from &&
                 !item->flipped && item->n_lines + item->n_references <= 2 &&
                 lg_element_is_contact(item->symbol.kind) &&
                 lg_flow_may_change_over(graph->job, item->index)
             ? item
             : NULL;
}

void lg_flow_find_changeovers(const LgFlowGraph *graph, LgBlock *block)
{
  for (guint l = 0; l < block->chains->len; l++) {
    LgChain *const left = lg_flow_chain(block, (int)l);
    const LgItem *const a = left->joined ? NULL : hanging_contact(graph, block, left);
    for (guint r = 0; a != NULL && r < block->chains->len; r++) {
      LgChain *const right = lg_flow_chain(block, (int)r);
      const LgItem *const b = hanging_contact(graph, block, right);
      if (b == NULL || right->upper != left->upper || a->height != b->height ||
          graph->job->elements[a->index].part != graph->job->elements[b->index].part ||
          lg_flow_column(block, right) != lg_flow_column(block, left) + 1 || right->joined ||
          right->partner >= 0 || !lg_flow_may_change_over(graph->job, b->index))
        continue;
      left->partner = (int)r;
      right->joined = TRUE;
      break;
    }
  }
}

/* Pivot on top, stubs below: the left one on the path's line, the right one led to the line of the
 * next path. A hook marks the stub that is closed at rest. */
void lg_flow_ink_changeover(LgDrawing *drawing, const LgItem *left, const LgItem *right, double x,
                            double next_x, double from, double to, double next_to)
{
  const double top = left->y + (left->length - 4 * M) / 2;
  const double pivot = top + M, stub = top + 3 * M, turn = top + 4 * M - 0.6;
  const gboolean live[2] = {left->symbol.live, right->symbol.live};
  LgStroke stroke = lg_stroke_line, bold = lg_stroke_line;
  bold.weight = 0.55;
  lg_draw_segment(drawing, live[0] || live[1] ? bold : stroke, x, from, x, pivot);
  lg_draw_segment(drawing, live[0] ? bold : stroke, x, stub, x, to);
  const LgSpot way[] = {{x + APART, stub}, {x + APART, turn}, {next_x, turn}, {next_x, next_to}};
  lg_draw_path(drawing, live[1] ? bold : stroke, FALSE, way, 4);
  if (left->symbol.breaks)
    lg_draw_segment(drawing, stroke, x, stub, x + 1, stub);
  if (right->symbol.breaks)
    lg_draw_segment(drawing, stroke, x + APART, stub, x + APART - 1, stub);
  const LgSpot tip = left->symbol.closed ? (LgSpot){x + (left->symbol.breaks ? 0.8 : 0), stub}
                     : right->symbol.closed
                         ? (LgSpot){x + APART - (right->symbol.breaks ? 0.8 : 0), stub}
                         : (LgSpot){x + APART / 2, stub - 0.4};
  lg_draw_segment(drawing, live[0] || live[1] ? bold : stroke, x, pivot, tip.x, tip.y);
  lg_symbol_worked(drawing, &left->symbol, left->symbol.breaks ? x + 0.6 * M : x, top + 1.5 * M);
}
