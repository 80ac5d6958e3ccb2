/* Sheets of paper, and small drawings set onto them. */
#include "drawing/paper.h"

#define MARGIN_MM 10.0
#define APART_MM 9.0

double lg_paper_short_mm(gboolean letter)
{
  return letter ? 215.9 : 210;
}

double lg_paper_long_mm(gboolean letter)
{
  return letter ? 279.4 : 297;
}

void lg_drawing_put(LgDrawing *onto, const LgDrawing *drawing, double x, double y)
{
  const int first = (int)onto->spots->len;
  for (guint i = 0; i < drawing->spots->len; i++) {
    const LgSpot spot = g_array_index(drawing->spots, LgSpot, i);
    const LgSpot moved = {spot.x + x, spot.y + y};
    g_array_append_val(onto->spots, moved);
  }
  for (guint i = 0; i < drawing->shapes->len; i++) {
    LgShape shape = g_array_index(drawing->shapes, LgShape, i);
    shape.first += first;
    shape.x += x;
    shape.y += y;
    if (shape.text != NULL)
      shape.text = g_string_chunk_insert(onto->texts, shape.text);
    g_array_append_val(onto->shapes, shape);
  }
}

static LgDrawing *add_sheet(GPtrArray *sheets, const LgDrawing *first, gboolean letter,
                            const char *title)
{
  const double width = MAX(lg_paper_short_mm(letter), first->width + 2 * MARGIN_MM);
  const double height = MAX(lg_paper_long_mm(letter), first->height + 2 * MARGIN_MM);
  LgDrawing *const sheet = lg_drawing_new(width, height, title);
  g_ptr_array_add(sheets, sheet);
  return sheet;
}

GPtrArray *lg_drawings_stack(const GPtrArray *drawings, gboolean letter, const char *title)
{
  GPtrArray *const sheets = g_ptr_array_new_with_free_func((GDestroyNotify)lg_drawing_free);
  LgDrawing *sheet = NULL;
  double y = 0;
  for (guint i = 0; i < drawings->len; i++) {
    const LgDrawing *const drawing = drawings->pdata[i];
    const gboolean fits = sheet != NULL && y + drawing->height <= sheet->height - MARGIN_MM &&
                          drawing->width <= sheet->width - 2 * MARGIN_MM;
    if (!fits) {
      sheet = add_sheet(sheets, drawing, letter, title);
      y = MARGIN_MM;
    }
    lg_drawing_put(sheet, drawing, MARGIN_MM, y);
    y += drawing->height + APART_MM;
  }
  return sheets;
}
