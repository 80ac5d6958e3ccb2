/* Heights: items into storeys, storeys as tall as they need, items to their places. */
#include "drawing/flow-private.h"

static void find_landings(LgBlock *block)
{
  block->storey = g_new0(double, (gsize)block->n_storeys + 1);
  block->landing = g_new0(double, (gsize)block->n_storeys + 1);
  for (guint i = 0; i < block->bars->len; i++) {
    const LgBar *const bar = &g_array_index(block->bars, LgBar, i);
    block->landing[bar->level] =
        MAX(block->landing[bar->level], 2 * LG_LANDING_MM + bar->track * LG_TRACK_MM);
  }
}

static void put_in_storey(LgBlock *block, const LgChain *chain, int storey)
{
  double height = 0;
  for (int i = 0; i < chain->n_items; i++) {
    LgItem *const item = lg_flow_item(block, chain->first_item + i);
    item->storey = storey;
    height += item->height;
  }
  block->storey[storey] = MAX(block->storey[storey], height);
}

/* Fills the storeys from the top, as far as others have made them tall; what is left over makes
 * the last one taller. */
static void spread_over_storeys(LgBlock *block, const LgChain *chain)
{
  int storey = chain->from;
  double height = 0;
  for (int i = 0; i < chain->n_items; i++) {
    LgItem *const item = lg_flow_item(block, chain->first_item + i);
    while (storey + 1 < chain->to && height + item->height > block->storey[storey]) {
      storey++;
      height = 0;
    }
    item->storey = storey;
    height += item->height;
  }
  /* Feet and tags stand at the very end. */
  if (chain->n_items > 0) {
    LgItem *const last = lg_flow_item(block, chain->first_item + chain->n_items - 1);
    const gboolean at_end = last->kind == LG_ITEM_TAG || last->kind == LG_ITEM_FOOT ||
                            (chain->lower_bar && last->kind == LG_ITEM_MARK);
    if (at_end && last->storey < chain->to - 1) {
      last->storey = chain->to - 1;
      height = last->height;
      storey = chain->to - 1;
    }
  }
  block->storey[storey] = MAX(block->storey[storey], height);
}

void lg_flow_stack(LgBlock *block)
{
  find_landings(block);
  for (int span = 1; span <= block->n_storeys; span++)
    for (guint c = 0; c < block->chains->len; c++) {
      const LgChain *const chain = lg_flow_chain(block, (int)c);
      if (chain->to - chain->from == span && span == 1)
        put_in_storey(block, chain, chain->from);
      else if (chain->to - chain->from == span)
        spread_over_storeys(block, chain);
    }
  block->height = 0;
  for (int s = 0; s < block->n_storeys; s++)
    block->height += block->storey[s] + block->landing[s + 1];
}

/* Height that is left over goes to the last storey, so that what is above stays in line. */
static double storey_top(const LgBlock *block, int storey, double top)
{
  double y = top;
  for (int s = 0; s < storey; s++)
    y += block->storey[s] + block->landing[s + 1];
  return y;
}

static double storey_height(const LgBlock *block, int storey, double height)
{
  return block->storey[storey] + (storey == block->n_storeys - 1 ? height - block->height : 0);
}

double lg_flow_bar_y(const LgBlock *block, const LgBar *bar, double top, double height)
{
  return storey_top(block, bar->level - 1, top) + storey_height(block, bar->level - 1, height) +
         LG_LANDING_MM + bar->track * LG_TRACK_MM;
}

static gboolean is_use(const LgItem *item)
{
  if (item->kind != LG_ITEM_ELEMENT)
    return item->kind == LG_ITEM_TAG || item->kind == LG_ITEM_STOP || item->kind == LG_ITEM_FOOT;
  const LgElementKind kind = item->symbol.kind;
  return lg_element_is_load(kind) || lg_element_is_source(kind) || kind == LG_EL_COIL ||
         kind == LG_EL_THERMISTOR;
}

/* Feet, tags and the names of bars stand at the foot of their chain. */
static gboolean is_at_end(const LgItem *item)
{
  return item->kind == LG_ITEM_TAG || item->kind == LG_ITEM_FOOT || item->kind == LG_ITEM_MARK;
}

/* Where slack goes among the items first .. last - 1 of a storey: before the load, so that what
 * switches stands above in line and loads stand below in line; before the wire that leads there. */
static int slack_before(const LgBlock *block, const LgChain *chain, int first, int last)
{
  const int end = chain->first_item + chain->n_items - 1;
  for (int i = first; i < last; i++)
    if ((i > first && is_use(lg_flow_item(block, i))) ||
        (i == end && i > chain->first_item && is_at_end(lg_flow_item(block, i)))) {
      if (i == first)
        return i;
      const LgItemKind before = lg_flow_item(block, i - 1)->kind;
      return before == LG_ITEM_WIRE ? i - 1 : i;
    }
  return last;
}

static void settle_storey(LgBlock *block, const LgChain *chain, int first, int last, double top,
                          double height)
{
  double need = 0;
  for (int i = first; i < last; i++)
    need += lg_flow_item(block, i)->height;
  const int at = slack_before(block, chain, first, last);
  double y = top;
  for (int i = first; i < last; i++) {
    LgItem *const item = lg_flow_item(block, i);
    item->length = item->height;
    if (i == at && item->kind == LG_ITEM_WIRE)
      item->length += height - need;
    else if (i == at)
      y += height - need;
    item->y = y;
    y += item->length;
  }
}

void lg_flow_settle(LgBlock *block, double top, double height)
{
  for (guint c = 0; c < block->chains->len; c++) {
    const LgChain *const chain = lg_flow_chain(block, (int)c);
    const int end = chain->first_item + chain->n_items;
    for (int first = chain->first_item; first < end;) {
      const int storey = lg_flow_item(block, first)->storey;
      int last = first;
      while (last < end && lg_flow_item(block, last)->storey == storey)
        last++;
      settle_storey(block, chain, first, last, storey_top(block, storey, top),
                    storey_height(block, storey, height));
      first = last;
    }
  }
}
