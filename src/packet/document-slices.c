/* Blocks into slices: where each line stands, and what stays together. */
#include "base/words.h"
#include "packet/document-private.h"

/* Lines of prose longer than this lose the eye on its way back. */
#define WIDEST_PROSE 440
#define LABEL_WIDTH 84 /* of a finding: grade, "rests on", "do" */
#define SHAPE 10
#define PAD 9 /* within a box */

void lg_slice_free(LgSlice *slice)
{
  if (slice == NULL)
    return;
  g_array_unref(slice->marks);
  g_free(slice->outline);
  g_free(slice);
}

GPtrArray *lg_slices_new(void)
{
  return g_ptr_array_new_with_free_func((GDestroyNotify)lg_slice_free);
}

LgSlice *lg_slices_add(GPtrArray *slices, double before)
{
  LgSlice *const slice = g_new0(LgSlice, 1);
  slice->before = before;
  slice->marks = lg_marks_new();
  g_ptr_array_add(slices, slice);
  return slice;
}

/* The lowest place at or above `height` that no text crosses. */
static double cut_place(const GArray *marks, double height)
{
  double cut = height;
  for (gboolean moved = TRUE; moved;) {
    moved = FALSE;
    for (guint i = 0; i < marks->len; i++) {
      const LgMark *const mark = &g_array_index(marks, LgMark, i);
      if ((mark->kind != LG_MARK_TEXT && mark->kind != LG_MARK_PHOTO) || mark->y >= cut ||
          mark->y + mark->height <= cut)
        continue;
      cut = mark->y;
      moved = TRUE;
    }
  }
  return cut;
}

/* Moves to `below` what lies under `cut`; bars and frames that cross it are divided. */
static void divide_mark(LgMark *mark, double cut, GArray *below)
{
  if (mark->y + mark->height <= cut)
    return;
  LgMark rest = *mark;
  rest.y = MAX(mark->y - cut, 0);
  rest.height = mark->y + mark->height - MAX(mark->y, cut);
  rest.text = g_steal_pointer(&mark->text);
  rest.jpeg = g_steal_pointer(&mark->jpeg);
  mark->height = MAX(cut - mark->y, 0);
  g_array_append_val(below, rest);
}

LgSlice *lg_slice_split(LgSlice *slice, double height)
{
  const double cut = cut_place(slice->marks, height);
  if (cut <= 0 || cut >= slice->height)
    return NULL;
  LgSlice *const rest = g_new0(LgSlice, 1);
  rest->height = slice->height - cut;
  rest->keep = slice->keep;
  rest->head = slice->head;
  rest->marks = lg_marks_new();
  for (guint i = 0; i < slice->marks->len; i++)
    divide_mark(&g_array_index(slice->marks, LgMark, i), cut, rest->marks);
  for (guint i = slice->marks->len; i-- > 0;)
    if (g_array_index(slice->marks, LgMark, i).height <= 0)
      g_array_remove_index(slice->marks, i);
  slice->height = cut;
  slice->keep = FALSE;
  return rest;
}

/* Text whose lines may part, but not the first two, nor the last two. Returns the first slice. */
static LgSlice *add_prose(GPtrArray *slices, LgType *type, LgFace face, double before, double x,
                          double width, const char *text)
{
  g_autoptr(GArray) lines = lg_marks_new();
  lg_type_set(type, lines, face, LG_TONE_INK, x, 0, width, text);
  LgSlice *first = NULL;
  for (guint i = 0; i < MAX(lines->len, 1); i++) {
    LgSlice *const slice = lg_slices_add(slices, i == 0 ? before : 0);
    slice->height = lg_type_leading(face);
    slice->keep = lines->len > 1 && (i == 0 || i + 2 == lines->len);
    if (i < lines->len) {
      LgMark *const line = &g_array_index(lines, LgMark, i);
      slice->height = MAX(slice->height, line->height);
      line->y = (slice->height - line->height) / 2;
      g_array_append_val(slice->marks, *line);
      line->text = NULL;
    }
    first = first == NULL ? slice : first;
  }
  return first;
}

static void slice_cover(const LgBlock *block, LgType *type, double width, GPtrArray *slices)
{
  LgSlice *const slice = lg_slices_add(slices, 0);
  lg_marks_rule(slice->marks, LG_TONE_INK, 0, 0, width, 2.5);
  double y = 12;
  y += lg_type_set(type, slice->marks, LG_FACE_TITLE, LG_TONE_INK, 0, y, width, block->text) + 8;
  for (int i = 0; block->lines[i] != NULL; i++)
    y += lg_type_set(type, slice->marks, LG_FACE_BODY, LG_TONE_INK, 0, y, width, block->lines[i]) +
         1.5;
  slice->height = y + 6;
}

static void slice_section(const LgBlock *block, LgType *type, double width, GPtrArray *slices)
{
  LgSlice *const slice = lg_slices_add(slices, 20);
  lg_marks_rule(slice->marks, LG_TONE_INK, 0, 0, width, 1.2);
  slice->height =
      5 + lg_type_set(type, slice->marks, LG_FACE_SECTION, LG_TONE_INK, 0, 5, width, block->text) +
      4;
  slice->keep = slice->quarter = TRUE;
  slice->outline = g_strdup(block->text);
}

static void slice_heading(const LgBlock *block, LgType *type, double width, GPtrArray *slices)
{
  LgSlice *const slice = lg_slices_add(slices, 10);
  slice->height =
      lg_type_set(type, slice->marks, LG_FACE_HEADING, LG_TONE_INK, 0, 0, width, block->text) + 2;
  slice->keep = TRUE;
  slice->outline = g_strdup(block->text);
  slice->level = 1;
}

static void slice_paragraph(const LgBlock *block, LgType *type, double width, GPtrArray *slices)
{
  add_prose(slices, type, LG_FACE_BODY, 5, 0, MIN(width, WIDEST_PROSE), block->text);
}

static void slice_list(const LgBlock *block, LgType *type, double width, GPtrArray *slices)
{
  const double indent = block->flag ? 19 : 11;
  for (int i = 0; block->lines[i] != NULL; i++) {
    LgSlice *const first = add_prose(slices, type, LG_FACE_BODY,
                                     i == 0        ? 6
                                     : block->flag ? 5
                                                   : 3,
                                     indent, MIN(width, WIDEST_PROSE) - indent, block->lines[i]);
    if (block->flag)
      lg_marks_frame(first->marks, LG_TONE_INK, 0, (first->height - 10) / 2, 10, 10, 0.8);
    else
      lg_marks_rule(first->marks, LG_TONE_INK, 1, first->height / 2 - 1, 3, 3);
  }
}

static void slice_box(const LgBlock *block, LgType *type, double width, GPtrArray *slices)
{
  LgSlice *const slice = lg_slices_add(slices, 8);
  const double edge = block->flag ? 4 : 0, left = edge + PAD, inner = width - left - PAD;
  const double shape = block->flag ? SHAPE + 5 : 0;
  double y = PAD - 2;
  if (block->flag)
    lg_marks_grade(slice->marks, LG_GRADE_DANGER, left, y + 1.5, SHAPE);
  y += lg_type_set(type, slice->marks, LG_FACE_STRONG, LG_TONE_INK, left + shape, y, inner - shape,
                   block->text);
  for (int i = 0; block->lines[i] != NULL; i++)
    y += 3 + lg_type_set(type, slice->marks, LG_FACE_BODY, LG_TONE_INK, left, y + 3,
                         MIN(inner, WIDEST_PROSE), block->lines[i]);
  const double height = y + PAD - 2;
  const LgTone tone = block->flag ? LG_TONE_ACCENT : LG_TONE_INK;
  lg_marks_frame(slice->marks, tone, 0, 0, width, height, 0.7);
  if (block->flag)
    lg_marks_rule(slice->marks, tone, 0, 0, edge, height);
  slice->height = height + 4;
}

/* A line of a finding: what it is at the left, the text at the right. */
static double add_labelled(GArray *marks, LgType *type, double width, double y, const char *label,
                           LgFace face, LgTone tone, const char *text)
{
  if (text[0] == '\0')
    return 0;
  const double lower = lg_type_leading(face) - lg_type_leading(LG_FACE_SMALL);
  lg_type_set_line(type, marks, LG_FACE_SMALL, LG_TONE_GREY, 0, y + lower / 2, LABEL_WIDTH - 6,
                   label);
  return lg_type_set(type, marks, face, tone, LABEL_WIDTH, y, width - LABEL_WIDTH, text) + 1.5;
}

static void slice_finding(const LgBlock *block, LgType *type, double width, GPtrArray *slices)
{
  enum { SUBJECT, RULE, WHAT, BASIS, REMEDY };
  LgSlice *const slice = lg_slices_add(slices, 0);
  const double wide = MIN(width, LABEL_WIDTH + WIDEST_PROSE);
  double y = 6;
  lg_marks_grade(slice->marks, block->grade, 0, y + 1.5, SHAPE);
  lg_type_set_line(type, slice->marks, LG_FACE_STRONG, LG_TONE_INK, SHAPE + 5, y,
                   LABEL_WIDTH - SHAPE - 11, T_(lg_grade_word(block->grade)));
  const double subject = lg_type_natural(type, LG_FACE_STRONG, block->lines[SUBJECT]);
  const double rule = lg_type_natural(type, LG_FACE_SMALL, block->lines[RULE]);
  const gboolean beside = LABEL_WIDTH + subject + 12 + rule <= wide;
  if (beside)
    lg_type_set(type, slice->marks, LG_FACE_SMALL, LG_TONE_GREY, wide - rule, y + 1, rule,
                block->lines[RULE]);
  y += lg_type_set(type, slice->marks, LG_FACE_STRONG, LG_TONE_INK, LABEL_WIDTH, y,
                   beside ? subject : wide - LABEL_WIDTH, block->lines[SUBJECT]) +
       1.5;
  if (!beside)
    y += add_labelled(slice->marks, type, wide, y, "", LG_FACE_SMALL, LG_TONE_GREY,
                      block->lines[RULE]);
  y += add_labelled(slice->marks, type, wide, y, "", LG_FACE_BODY, LG_TONE_INK, block->lines[WHAT]);
  y += add_labelled(slice->marks, type, wide, y, T_("rests on"), LG_FACE_SMALL, LG_TONE_GREY,
                    block->lines[BASIS]);
  y += add_labelled(slice->marks, type, wide, y, T_("do"), LG_FACE_BODY, LG_TONE_INK,
                    block->lines[REMEDY]);
  slice->height = y + 4.5;
  lg_marks_rule(slice->marks, LG_TONE_FAINT, 0, slice->height - 0.4, width, 0.4);
}

static void slice_table(const LgBlock *block, LgType *type, double width, GPtrArray *slices)
{
  lg_grid_slice(block->grid, type, width, slices);
}

static void slice_space(const LgBlock *block, LgType *type, double width, GPtrArray *slices)
{
  (void)type;
  (void)width;
  lg_slices_add(slices, block->space);
}

#define PHOTO_WIDTH (105 * LG_POINTS_PER_MM)
#define PHOTO_HEIGHT (85 * LG_POINTS_PER_MM)

/* Photo or gap at the left, its caption beside it. */
static void slice_photo(const LgBlock *block, LgType *type, double width, GPtrArray *slices)
{
  LgSlice *const slice = lg_slices_add(slices, 8);
  double wide = MIN(PHOTO_WIDTH, 0.62 * width), high;
  if (block->jpeg != NULL) {
    const double scale = MIN(wide / block->pixels[0], PHOTO_HEIGHT / block->pixels[1]);
    wide = scale * block->pixels[0];
    high = scale * block->pixels[1];
    lg_marks_photo(slice->marks, block->jpeg, block->pixels, 0, 0, wide, high);
  } else {
    high = PAD +
           lg_type_set(type, slice->marks, LG_FACE_BODY, LG_TONE_INK, PAD, PAD, wide - 2 * PAD,
                       block->lines[0]) +
           PAD;
  }
  lg_marks_frame(slice->marks, LG_TONE_GREY, 0, 0, wide, high, 0.4);
  const double beside = wide + 12;
  const double text = lg_type_set(type, slice->marks, LG_FACE_SMALL, LG_TONE_INK, beside, 0,
                                  width - beside, block->text);
  slice->height = MAX(high, text) + 4;
}

void lg_block_slice(const LgBlock *block, LgType *type, double width, GPtrArray *slices)
{
  static void (*const slicers[LG_N_BLOCKS])(const LgBlock *, LgType *, double, GPtrArray *) = {
      [LG_BLOCK_COVER] = slice_cover,     [LG_BLOCK_SECTION] = slice_section,
      [LG_BLOCK_HEADING] = slice_heading, [LG_BLOCK_PARAGRAPH] = slice_paragraph,
      [LG_BLOCK_LIST] = slice_list,       [LG_BLOCK_BOX] = slice_box,
      [LG_BLOCK_FINDING] = slice_finding, [LG_BLOCK_TABLE] = slice_table,
      [LG_BLOCK_SPACE] = slice_space,     [LG_BLOCK_PHOTO] = slice_photo,
  };
  slicers[block->kind](block, type, width, slices);
}
