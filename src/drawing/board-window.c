/* A window on a drawing: what a sheet of paper shows of a larger one. */
#include "drawing/board-private.h"
#include "sheet/colour.h"
#include <math.h>

typedef struct {
  LgDrawing *to;
  const LgDrawing *from;
  LgBox window;
  double dx, dy;
} Pane;

static gboolean inside(LgBox window, LgBox box)
{
  return box.left >= window.left && box.right <= window.right && box.top >= window.top &&
         box.bottom <= window.bottom;
}

/* The part of a segment that lies in the window (Liang and Barsky); FALSE: none. */
static gboolean cut_segment(LgBox w, LgSpot *a, LgSpot *b)
{
  const double dx = b->x - a->x, dy = b->y - a->y;
  const double p[] = {-dx, dx, -dy, dy};
  const double q[] = {a->x - w.left, w.right - a->x, a->y - w.top, w.bottom - a->y};
  double enter = 0, leave = 1;
  for (int i = 0; i < 4; i++) {
    if (p[i] == 0 && q[i] < 0)
      return FALSE;
    if (p[i] < 0)
      enter = fmax(enter, q[i] / p[i]);
    else if (p[i] > 0)
      leave = fmin(leave, q[i] / p[i]);
  }
  if (enter > leave)
    return FALSE;
  const LgSpot from = *a;
  *a = (LgSpot){from.x + enter * dx, from.y + enter * dy};
  *b = (LgSpot){from.x + leave * dx, from.y + leave * dy};
  return TRUE;
}

static void put_line(const Pane *pane, const LgShape *shape, const GArray *piece)
{
  if (piece->len < 2)
    return;
  const LgSpot *const spots = (const LgSpot *)(gconstpointer)piece->data;
  if (shape->kind == LG_SHAPE_WIRE) {
    g_autofree char *colour = shape->base >= 0 ? lg_colour_print(shape->base, shape->stripe) : NULL;
    lg_draw_wire(pane->to, colour, shape->weight, spots, (int)piece->len);
    return;
  }
  const LgStroke stroke = {shape->line, LG_INK_NONE, shape->weight, shape->dash, shape->gap};
  lg_draw_path(pane->to, stroke, FALSE, spots, (int)piece->len);
}

static LgSpot moved(const Pane *pane, LgSpot s)
{
  return (LgSpot){s.x + pane->dx, s.y + pane->dy};
}

/* A line of points, in as many pieces as the window leaves of it. */
static void cut_line(const Pane *pane, const LgShape *shape, const LgSpot *spots, int n,
                     gboolean closed)
{
  g_autoptr(GArray) piece = g_array_new(FALSE, FALSE, sizeof(LgSpot));
  for (int i = 1; i < n + (closed ? 1 : 0); i++) {
    LgSpot a = spots[i - 1], b = spots[i % n];
    const LgSpot whole = b;
    if (!cut_segment(pane->window, &a, &b)) {
      put_line(pane, shape, piece);
      g_array_set_size(piece, 0);
      continue;
    }
    const LgSpot from = moved(pane, a), to = moved(pane, b);
    if (piece->len == 0)
      g_array_append_val(piece, from);
    g_array_append_val(piece, to);
    if (hypot(whole.x - b.x, whole.y - b.y) > 1e-9) {
      put_line(pane, shape, piece);
      g_array_set_size(piece, 0);
    }
  }
  put_line(pane, shape, piece);
}

/* A filled area against one side of the window (Sutherland and Hodgman): k 0 left, 1 right, 2 top,
 * 3 bottom. */
static double beyond(LgBox w, LgSpot s, int k)
{
  const double d[] = {w.left - s.x, s.x - w.right, w.top - s.y, s.y - w.bottom};
  return d[k];
}

static GArray *cut_area(LgBox window, const LgSpot *spots, int n)
{
  GArray *area = g_array_new(FALSE, FALSE, sizeof(LgSpot));
  g_array_append_vals(area, spots, (guint)n);
  for (int k = 0; k < 4; k++) {
    GArray *const next = g_array_new(FALSE, FALSE, sizeof(LgSpot));
    for (guint i = 0; i < area->len; i++) {
      const LgSpot a = g_array_index(area, LgSpot, i),
                   b = g_array_index(area, LgSpot, (i + 1) % area->len);
      const double out_a = beyond(window, a, k), out_b = beyond(window, b, k);
      if (out_a <= 0)
        g_array_append_val(next, a);
      if ((out_a <= 0) != (out_b <= 0)) {
        const double t = out_a / (out_a - out_b);
        const LgSpot edge = {a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
        g_array_append_val(next, edge);
      }
    }
    g_array_free(area, TRUE);
    area = next;
  }
  return area;
}

static void cut_fill(const Pane *pane, const LgShape *shape, const LgSpot *spots, int n)
{
  if (shape->fill == LG_INK_NONE)
    return;
  g_autoptr(GArray) area = cut_area(pane->window, spots, n);
  for (guint i = 0; i < area->len; i++)
    g_array_index(area, LgSpot, i) = moved(pane, g_array_index(area, LgSpot, i));
  if (area->len >= 3)
    lg_draw_path(pane->to, (LgStroke){LG_INK_NONE, shape->fill, 0, 0, 0}, TRUE,
                 (const LgSpot *)(gconstpointer)area->data, (int)area->len);
}

static void cut_path(const Pane *pane, const LgShape *shape)
{
  const LgSpot *const spots = &g_array_index(pane->from->spots, LgSpot, shape->first);
  if (shape->kind == LG_SHAPE_PATH && shape->closed)
    cut_fill(pane, shape, spots, shape->n);
  if (shape->kind == LG_SHAPE_WIRE || shape->line != LG_INK_NONE)
    cut_line(pane, shape, spots, shape->n, shape->kind == LG_SHAPE_PATH && shape->closed);
}

static void cut_arc(const Pane *pane, const LgShape *shape)
{
  enum { STEPS = 48 };
  const double r = shape->radius;
  if (inside(pane->window, (LgBox){shape->x - r, shape->y - r, shape->x + r, shape->y + r})) {
    const LgStroke stroke = {shape->line, shape->fill, shape->weight, shape->dash, shape->gap};
    lg_draw_arc(pane->to, stroke, shape->x + pane->dx, shape->y + pane->dy, r, shape->from,
                shape->to);
    return;
  }
  LgSpot spots[STEPS + 1];
  for (int i = 0; i <= STEPS; i++) {
    const double a = (shape->from + (shape->to - shape->from) * i / STEPS) * G_PI / 180;
    spots[i] = (LgSpot){shape->x + r * cos(a), shape->y + r * sin(a)};
  }
  cut_fill(pane, shape, spots, STEPS + 1);
  if (shape->line != LG_INK_NONE)
    cut_line(pane, shape, spots, STEPS + 1, FALSE);
}

/* How far a stretch must move to lie in another. */
static double shift(double from, double to, double low, double high)
{
  return from < low ? low - from : to > high ? high - to : 0;
}

static void put_text(const Pane *pane, const LgShape *shape, const LgBox windows[], int n, int own)
{
  const LgBox box = lg_shape_text_box(shape);
  const double x = (box.left + box.right) / 2, y = (box.top + box.bottom) / 2;
  int whole = -1, home = -1;
  for (int i = 0; i < n; i++) {
    if (whole < 0 && inside(windows[i], box))
      whole = i;
    if (home < 0 && inside(windows[i], (LgBox){x, y, x, y}))
      home = i;
  }
  if (!inside(pane->window, box) && (whole >= 0 || home != own))
    return;
  const LgBox w = pane->window;
  const LgLetters letters = {shape->size, shape->bold, shape->anchor, shape->fill, shape->upward};
  lg_draw_text(pane->to, letters, shape->x + pane->dx + shift(box.left, box.right, w.left, w.right),
               shape->y + pane->dy + shift(box.top, box.bottom, w.top, w.bottom), shape->text);
}

void lg_draw_window(LgDrawing *to, const LgDrawing *from, const LgBox windows[], int n, int own,
                    double x, double y)
{
  const Pane pane = {to, from, windows[own], x - windows[own].left, y - windows[own].top};
  for (guint i = 0; i < from->shapes->len; i++) {
    const LgShape *const shape = &g_array_index(from->shapes, LgShape, i);
    switch (shape->kind) {
    case LG_SHAPE_PATH:
    case LG_SHAPE_WIRE:
      cut_path(&pane, shape);
      break;
    case LG_SHAPE_ARC:
      cut_arc(&pane, shape);
      break;
    case LG_SHAPE_TEXT:
      put_text(&pane, shape, windows, n, own);
      break;
    case LG_SHAPE_OPEN:
      lg_draw_open(to, shape->what, shape->text);
      break;
    case LG_SHAPE_CLOSE:
      lg_draw_close(to);
      break;
    }
  }
}
