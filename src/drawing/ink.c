/* Making and measuring of shapes. */
#include "base/table.h"
#include "drawing/ink-private.h"
#include "sheet/colour.h"
#include <math.h>

const LgStroke lg_stroke_thin = {.line = LG_INK_DARK, .fill = LG_INK_NONE, .weight = LG_THIN_MM};
const LgStroke lg_stroke_line = {.line = LG_INK_DARK, .fill = LG_INK_NONE, .weight = LG_LINE_MM};
const LgStroke lg_stroke_thick = {.line = LG_INK_DARK, .fill = LG_INK_NONE, .weight = LG_THICK_MM};
const LgStroke lg_stroke_solid = {.line = LG_INK_NONE, .fill = LG_INK_DARK};

const LgLetters lg_letters_plain = {.size = LG_TEXT_MM, .ink = LG_INK_DARK};
const LgLetters lg_letters_bold = {.size = LG_TEXT_MM, .bold = TRUE, .ink = LG_INK_DARK};
const LgLetters lg_letters_small = {.size = LG_TEXT_SMALL_MM, .ink = LG_INK_SOFT};

LgDrawing *lg_drawing_new(double width_mm, double height_mm, const char *title)
{
  LgDrawing *const drawing = g_new0(LgDrawing, 1);
  drawing->width = width_mm;
  drawing->height = height_mm;
  drawing->title = g_strdup(title);
  drawing->shapes = g_array_new(FALSE, FALSE, sizeof(LgShape));
  drawing->spots = g_array_new(FALSE, FALSE, sizeof(LgSpot));
  drawing->texts = g_string_chunk_new(1024);
  return drawing;
}

void lg_drawing_free(LgDrawing *drawing)
{
  if (drawing == NULL)
    return;
  g_free(drawing->title);
  g_array_unref(drawing->shapes);
  g_array_unref(drawing->spots);
  g_string_chunk_free(drawing->texts);
  g_free(drawing);
}

static void add_spots(LgDrawing *drawing, LgShape *shape, const LgSpot *spots, int n)
{
  shape->first = (int)drawing->spots->len;
  shape->n = n;
  g_array_append_vals(drawing->spots, spots, (guint)n);
  g_array_append_val(drawing->shapes, *shape);
}

void lg_draw_path(LgDrawing *drawing, LgStroke stroke, gboolean closed, const LgSpot *spots, int n)
{
  LgShape shape = {.kind = LG_SHAPE_PATH,
                   .line = stroke.line,
                   .fill = stroke.fill,
                   .weight = stroke.weight,
                   .dash = stroke.dash,
                   .gap = stroke.gap,
                   .closed = closed};
  add_spots(drawing, &shape, spots, n);
}

void lg_draw_segment(LgDrawing *drawing, LgStroke stroke, double x1, double y1, double x2,
                     double y2)
{
  const LgSpot spots[] = {{x1, y1}, {x2, y2}};
  lg_draw_path(drawing, stroke, FALSE, spots, 2);
}

void lg_draw_box(LgDrawing *drawing, LgStroke stroke, LgBox box)
{
  const LgSpot spots[] = {
      {box.left, box.top}, {box.right, box.top}, {box.right, box.bottom}, {box.left, box.bottom}};
  lg_draw_path(drawing, stroke, TRUE, spots, 4);
}

void lg_draw_reach(LgDrawing *drawing, LgBox box)
{
  const LgStroke nothing = {.line = LG_INK_NONE, .fill = LG_INK_NONE};
  lg_draw_box(drawing, nothing, box);
}

void lg_draw_arc(LgDrawing *drawing, LgStroke stroke, double x, double y, double radius,
                 double from, double to)
{
  const LgShape shape = {.kind = LG_SHAPE_ARC,
                         .line = stroke.line,
                         .fill = stroke.fill,
                         .weight = stroke.weight,
                         .dash = stroke.dash,
                         .gap = stroke.gap,
                         .x = x,
                         .y = y,
                         .radius = radius,
                         .from = from,
                         .to = to};
  g_array_append_val(drawing->shapes, shape);
}

void lg_draw_dot(LgDrawing *drawing, double x, double y, double radius)
{
  lg_draw_arc(drawing, lg_stroke_solid, x, y, radius, 0, 360);
}

void lg_draw_wire(LgDrawing *drawing, const char *colour, double width, const LgSpot *spots, int n)
{
  LgShape shape = {.kind = LG_SHAPE_WIRE, .weight = width, .base = -1, .stripe = -1};
  if (colour != NULL && !lg_colour_read(colour, &shape.base, &shape.stripe))
    shape.base = -1;
  add_spots(drawing, &shape, spots, n);
}

void lg_draw_text(LgDrawing *drawing, LgLetters letters, double x, double y, const char *text)
{
  if (text == NULL || text[0] == '\0')
    return;
  g_autofree char *shown = lg_shown_text(text);
  const LgShape shape = {.kind = LG_SHAPE_TEXT,
                         .line = LG_INK_NONE,
                         .fill = letters.ink,
                         .x = x,
                         .y = y,
                         .size = letters.size,
                         .width = lg_text_width(shown, letters.size, letters.bold),
                         .anchor = letters.anchor,
                         .bold = letters.bold,
                         .upward = letters.upward,
                         .text = g_string_chunk_insert(drawing->texts, shown)};
  g_array_append_val(drawing->shapes, shape);
}

void lg_draw_open(LgDrawing *drawing, const char *what, const char *name)
{
  const LgShape shape = {
      .kind = LG_SHAPE_OPEN, .what = what, .text = g_string_chunk_insert(drawing->texts, name)};
  g_array_append_val(drawing->shapes, shape);
}

void lg_draw_close(LgDrawing *drawing)
{
  const LgShape shape = {.kind = LG_SHAPE_CLOSE};
  g_array_append_val(drawing->shapes, shape);
}

double lg_shape_text_start(const LgShape *shape)
{
  static const double parts[] = {
      [LG_ANCHOR_START] = 0, [LG_ANCHOR_MIDDLE] = 0.5, [LG_ANCHOR_END] = 1};
  return -shape->width * parts[shape->anchor];
}

LgBox lg_shape_text_box(const LgShape *shape)
{
  const double start = lg_shape_text_start(shape), end = start + shape->width;
  const double rise = LG_TEXT_RISE * shape->size, fall = LG_TEXT_FALL * shape->size;
  if (shape->upward)
    return (LgBox){shape->x - rise, shape->y - end, shape->x + fall, shape->y - start};
  return (LgBox){shape->x + start, shape->y - rise, shape->x + end, shape->y + fall};
}

static void arc_segments(const LgShape *shape, LgEachSegment each, gpointer user)
{
  const int n = 4 + (int)(fabs(shape->to - shape->from) / 15);
  LgSpot last = {0, 0};
  for (int i = 0; i <= n; i++) {
    const double angle = (shape->from + (shape->to - shape->from) * i / n) * G_PI / 180;
    const LgSpot spot = {shape->x + shape->radius * cos(angle),
                         shape->y + shape->radius * sin(angle)};
    if (i > 0)
      each(last, spot, shape->weight / 2, user);
    last = spot;
  }
}

void lg_shape_segments(const LgDrawing *drawing, const LgShape *shape, LgEachSegment each,
                       gpointer user)
{
  if (shape->kind == LG_SHAPE_ARC)
    arc_segments(shape, each, user);
  if (shape->kind != LG_SHAPE_PATH && shape->kind != LG_SHAPE_WIRE)
    return;
  if (shape->kind == LG_SHAPE_PATH && shape->line == LG_INK_NONE && shape->fill == LG_INK_NONE)
    return;
  const LgSpot *const spots = &g_array_index(drawing->spots, LgSpot, shape->first);
  const double half =
      shape->kind == LG_SHAPE_PATH && shape->line == LG_INK_NONE ? 0 : shape->weight / 2;
  for (int i = 1; i < shape->n; i++)
    each(spots[i - 1], spots[i], half, user);
  if (shape->closed && shape->n > 2)
    each(spots[shape->n - 1], spots[0], half, user);
}
