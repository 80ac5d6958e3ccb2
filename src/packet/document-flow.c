/* Slices over pages. */
#include "base/words.h"
#include "packet/document-private.h"

typedef struct {
  LgType *type;
  GPtrArray *pages;
  LgFrame frame;
  LgPage *page;
  double y;       /* where the next slice begins */
  gboolean empty; /* nothing on the page but, perhaps, a table's head */
} Flow;

LgFrame lg_frame(LgPaper paper, gboolean turned)
{
  const double width = paper == LG_PAPER_A4 ? 210 * LG_POINTS_PER_MM : 612;
  const double height = paper == LG_PAPER_A4 ? 297 * LG_POINTS_PER_MM : 792;
  const double bound = 20 * LG_POINTS_PER_MM, other = 15 * LG_POINTS_PER_MM;
  const double foot = 19 * LG_POINTS_PER_MM;
  /* The bound edge is the left one; a turned page has it on top. */
  return turned ? (LgFrame){height, width, other, bound, other, foot}
                : (LgFrame){width, height, bound, other, other, foot};
}

static void page_free(gpointer data)
{
  LgPage *const page = data;
  g_array_unref(page->marks);
  g_array_unref(page->outline);
  g_free(page);
}

static void clear_outline(gpointer entry)
{
  g_free(((LgOutline *)entry)->text);
}

static void begin_page(Flow *flow)
{
  LgPage *const page = g_new0(LgPage, 1);
  page->frame = flow->frame;
  page->marks = lg_marks_new();
  page->outline = g_array_new(FALSE, FALSE, sizeof(LgOutline));
  g_array_set_clear_func(page->outline, clear_outline);
  g_ptr_array_add(flow->pages, page);
  flow->page = page;
  flow->y = flow->frame.top;
  flow->empty = TRUE;
}

static double body_height(const LgFrame *frame)
{
  return frame->height - frame->top - frame->bottom;
}

static double room_left(const Flow *flow)
{
  return flow->frame.height - flow->frame.bottom - flow->y;
}

static void put(Flow *flow, const LgSlice *slice)
{
  if (flow->y > flow->frame.top)
    flow->y += slice->before;
  lg_marks_add(flow->page->marks, slice->marks, flow->frame.left, flow->y);
  if (slice->outline != NULL) {
    const LgOutline entry = {g_strdup(slice->outline), slice->level, flow->y};
    g_array_append_val(flow->page->outline, entry);
  }
  flow->y += slice->height;
  flow->empty = FALSE;
}

static void turn_over(Flow *flow, const LgSlice *slice)
{
  begin_page(flow);
  if (slice->head == NULL)
    return;
  put(flow, slice->head);
  flow->empty = TRUE;
}

/* A slice over half a page is begun when a quarter is free, and split. */
static gboolean may_split(const Flow *flow, const LgSlice *slice)
{
  return slice->height > body_height(&flow->frame) / 2;
}

/* What must be free to begin the slice `first`: itself and all that it has to stay with. A mere
 * space holds nothing back from what comes after it. */
static double height_wanted(const Flow *flow, const GPtrArray *slices, guint first)
{
  double height = 0;
  for (guint i = first; i < slices->len; i++) {
    const LgSlice *const slice = slices->pdata[i];
    height +=
        slice->before + (may_split(flow, slice) ? body_height(&flow->frame) / 4 : slice->height);
    if ((!slice->keep && slice->marks->len > 0) || may_split(flow, slice))
      break;
  }
  return height;
}

static gboolean must_turn_over(const Flow *flow, const GPtrArray *slices, guint i)
{
  const LgSlice *const slice = slices->pdata[i];
  if (flow->empty)
    return FALSE;
  if (slice->quarter && room_left(flow) < body_height(&flow->frame) / 4)
    return TRUE;
  return height_wanted(flow, slices, i) > room_left(flow);
}

static void put_split(Flow *flow, LgSlice *slice)
{
  g_autoptr(LgSlice) owned = NULL;
  const double room = room_left(flow) - (flow->y > flow->frame.top ? slice->before : 0);
  LgSlice *const rest = slice->height > room ? lg_slice_split(slice, room) : NULL;
  put(flow, slice);
  if (rest == NULL)
    return;
  owned = rest;
  turn_over(flow, rest);
  put_split(flow, rest);
}

static void flow_slices(Flow *flow, GPtrArray *slices)
{
  for (guint i = 0; i < slices->len; i++) {
    LgSlice *const slice = slices->pdata[i];
    if (must_turn_over(flow, slices, i))
      turn_over(flow, slice);
    put_split(flow, slice);
  }
}

/* The block behind the section that begins at `first`. */
static guint section_end(const GPtrArray *blocks, guint first)
{
  guint end = first + 1;
  while (end < blocks->len && ((const LgBlock *)blocks->pdata[end])->kind != LG_BLOCK_SECTION)
    end++;
  return end;
}

static double width_between(const LgFrame *frame)
{
  return frame->width - frame->left - frame->right;
}

static gboolean needs_turning(const LgDocument *document, LgType *type, guint first, guint end)
{
  const LgFrame upright = lg_frame(document->paper, FALSE);
  for (guint i = first; i < end; i++) {
    const LgBlock *const block = document->blocks->pdata[i];
    if (block->kind == LG_BLOCK_TABLE && !lg_grid_fits(block->grid, type, width_between(&upright)))
      return TRUE;
  }
  return FALSE;
}

static void flow_section(Flow *flow, const LgDocument *document, guint first, guint end)
{
  const gboolean turned = needs_turning(document, flow->type, first, end);
  const LgFrame frame = lg_frame(document->paper, turned);
  const gboolean same = flow->page != NULL && flow->frame.width == frame.width;
  flow->frame = frame;
  const LgBlock *const head = document->blocks->pdata[first];
  const gboolean leaf = head->kind == LG_BLOCK_SECTION && head->flag && !flow->empty;
  if (!same || leaf)
    begin_page(flow);
  g_autoptr(GPtrArray) slices = lg_slices_new();
  for (guint i = first; i < end; i++)
    lg_block_slice(document->blocks->pdata[i], flow->type, width_between(&frame), slices);
  flow_slices(flow, slices);
}

/* Title, revision, page number; the title is cut first, the revision gets half of the rest at most.
 */
static void add_foot(LgPage *page, LgType *type, const LgDocument *document, guint number,
                     guint n_pages)
{
  const LgFrame *const frame = &page->frame;
  const double width = width_between(frame), y = frame->height - frame->bottom + 16, gap = 18;
  g_autofree char *count = g_strdup_printf(T_("%u of %u"), number, n_pages);
  const double room = lg_type_natural(type, LG_FACE_CELL_STRONG, count);
  const double rest = width - room - 2 * gap;
  const double asked = lg_type_natural(type, LG_FACE_SMALL, document->revision);
  const double revision = MIN(asked, rest / 2);
  lg_marks_rule(page->marks, LG_TONE_GREY, frame->left, y - 5, width, 0.4);
  lg_type_set_line(type, page->marks, LG_FACE_SMALL, LG_TONE_GREY, frame->left, y, rest - revision,
                   document->title);
  lg_type_set_line(type, page->marks, LG_FACE_SMALL, LG_TONE_GREY,
                   frame->left + rest - revision + gap, y, revision, document->revision);
  lg_type_set_line(type, page->marks, LG_FACE_CELL_STRONG, LG_TONE_INK, frame->left + width - room,
                   y, room, count);
}

GPtrArray *lg_document_lay_out(const LgDocument *document, LgType *type)
{
  Flow flow = {.type = type, .pages = g_ptr_array_new_with_free_func(page_free)};
  for (guint first = 0, end; first < document->blocks->len; first = end) {
    end = section_end(document->blocks, first);
    flow_section(&flow, document, first, end);
  }
  if (flow.page == NULL) {
    flow.frame = lg_frame(document->paper, FALSE);
    begin_page(&flow);
  }
  for (guint i = 0; i < flow.pages->len; i++)
    add_foot(flow.pages->pdata[i], type, document, i + 1, flow.pages->len);
  return flow.pages;
}
