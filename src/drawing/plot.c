#include "drawing/plot.h"
#include "base/words.h"
#include <math.h>
#include <string.h>

#define MARGIN_LEFT 24.0
#define MARGIN_RIGHT 44.0
#define MARGIN_TOP 24.0
#define MARGIN_BOTTOM 16.0
#define BAR_ROW 5.0       /* height of one on-off bar with its air */
#define CURVES_LEAST 30.0 /* least height of a strip of curves */
#define CURVES_MOST 60.0
#define STRIP_GAP 9.0 /* holds the title */
#define NAME_STEP 3.4 /* least distance of names at the ends of curves */
#define COLUMN 0.2    /* width that one pair of least and greatest value takes */

enum { MOST_MARKS = 40 };

/* Curves in order: what tells them apart without colour. */
static const LgStroke curve_strokes[LG_PLOT_CURVES] = {
    {LG_INK_DARK, LG_INK_NONE, 0.40, 0, 0},     {LG_INK_SOFT, LG_INK_NONE, 0.22, 0, 0},
    {LG_INK_DARK, LG_INK_NONE, 0.35, 2.0, 1.0}, {LG_INK_SOFT, LG_INK_NONE, 0.35, 0.7, 0.9},
    {LG_INK_DARK, LG_INK_NONE, 0.22, 4.0, 1.4},
};
static const LgStroke grid = {LG_INK_FAINT, LG_INK_NONE, 0.12, 0, 0};
static const LgStroke limit_stroke = {LG_INK_WARM, LG_INK_NONE, 0.30, 3.0, 1.0};

double lg_plot_step(double least, double most, gboolean clock, double *first)
{
  static const double tens[] = {1, 2, 5, 10};
  static const double seconds[] = {1,       2,       5,       10,      15,    30,     60,
                                   120,     300,     600,     900,     1800,  3600,   7200,
                                   10800,   14400,   21600,   43200,   86400, 172800, 604800,
                                   1209600, 2592000, 7776000, 31557600};
  const double span = fmax(most - least, 1e-30);
  double step = 0;
  if (clock && span >= 3)
    for (gsize i = 0; i < G_N_ELEMENTS(seconds) && (step == 0 || span / step > 8); i++)
      step = seconds[i];
  else {
    const double power = pow(10, floor(log10(span / 3)));
    step = power;
    for (gsize i = 0; i < G_N_ELEMENTS(tens) && span / step > 6; i++)
      step = tens[i] * power;
  }
  *first = ceil(least / step - 1e-9) * step;
  return step;
}

/* One strip with its place on a sheet. */
typedef struct {
  LgDrawing *drawing;
  const LgPlot *plot;
  const LgStrip *strip;
  int first, n; /* traces */
  LgBox box;
  double low, high; /* values at the bottom and top */
} Panel;

static double from_s(const LgPlot *plot)
{
  return plot->time_s[0];
}

static double to_s(const LgPlot *plot)
{
  return plot->time_s[plot->n_times - 1];
}

static double x_at(const Panel *p, double time_s)
{
  const double share = (time_s - from_s(p->plot)) / fmax(to_s(p->plot) - from_s(p->plot), 1e-12);
  return p->box.left + share * (p->box.right - p->box.left);
}

static double y_at(const Panel *p, double value)
{
  return p->box.bottom - (value - p->low) / (p->high - p->low) * (p->box.bottom - p->box.top);
}

/* What stands at an axis: temperatures in degrees, all else in the canonical unit. */
static double shown(const Panel *p, double value)
{
  if (p->strip->dim != LG_DIM_TEMPERATURE)
    return value;
  const double degC = value - LG_ZERO_C_IN_K;
  return p->plot->habit == LG_HABIT_US ? degC * 1.8 + 32 : degC;
}

static double hidden(const Panel *p, double number)
{
  if (p->strip->dim != LG_DIM_TEMPERATURE)
    return number;
  return (p->plot->habit == LG_HABIT_US ? (number - 32) / 1.8 : number) + LG_ZERO_C_IN_K;
}

static const char *unit(const Panel *p)
{
  if (p->strip->dim == LG_DIM_TEMPERATURE)
    return p->plot->habit == LG_HABIT_US ? T_("degF") : T_("degC");
  const char *const word = lg_dim_unit(p->strip->dim, 0);
  return word != NULL ? word : "";
}

static void take(Panel *p, double value)
{
  if (!isfinite(value))
    return;
  p->low = fmin(p->low, value);
  p->high = fmax(p->high, value);
}

static void find_range(Panel *p)
{
  p->low = INFINITY;
  p->high = -INFINITY;
  for (int k = p->first; k < p->first + p->n; k++)
    for (int i = 0; i < p->plot->n_times; i++)
      take(p, p->strip->traces[k].value[i]);
  take(p, p->strip->limit);
  if (!(p->low <= p->high))
    p->low = p->high = hidden(p, 0);
  const double least_span =
      fmax(1e-3 * fmax(fabs(shown(p, p->low)), fabs(shown(p, p->high))), 1e-6);
  const double span = fmax(p->high - p->low, least_span);
  const gboolean from_zero =
      p->strip->dim != LG_DIM_TEMPERATURE && p->low >= 0 && p->low < 0.5 * p->high;
  const double middle = (p->low + p->high) / 2;
  p->low = from_zero ? 0 : middle - 0.55 * span;
  p->high = middle + 0.58 * span;
}

static void draw_value_axis(const Panel *p)
{
  double first;
  const double step = lg_plot_step(shown(p, p->low), shown(p, p->high), FALSE, &first);
  for (double number = first; number <= shown(p, p->high) + 1e-9 * step; number += step) {
    const double y = y_at(p, hidden(p, number));
    lg_draw_segment(p->drawing, grid, p->box.left, y, p->box.right, y);
    g_autofree char *text = lg_number_print(fabs(number) < 1e-9 * step ? 0 : number, 6);
    LgLetters letters = lg_letters_small;
    letters.anchor = LG_ANCHOR_END;
    lg_draw_text(p->drawing, letters, p->box.left - 1.5, y + 0.35 * letters.size, text);
  }
}

static void draw_title(const Panel *p)
{
  g_autofree char *text = p->strip->kind == LG_STRIP_BARS
                              ? g_strdup(p->strip->title)
                              : g_strdup_printf("%s, %s", p->strip->title, unit(p));
  LgLetters letters = lg_letters_bold;
  lg_draw_text(p->drawing, letters, p->box.left, p->box.top - 1.8, text);
}

/* The curve as one path, broken where a value is not known; least and greatest of each column. */
typedef struct {
  const Panel *panel;
  LgStroke stroke;
  GArray *spots; /* LgSpot */
} Pen;

static void lift(Pen *pen)
{
  if (pen->spots->len > 1)
    lg_draw_path(pen->panel->drawing, pen->stroke, FALSE,
                 (const LgSpot *)(const void *)pen->spots->data, (int)pen->spots->len);
  g_array_set_size(pen->spots, 0);
}

static void put(Pen *pen, int i, const double *value)
{
  const LgSpot spot = {x_at(pen->panel, pen->panel->plot->time_s[i]), y_at(pen->panel, value[i])};
  g_array_append_val(pen->spots, spot);
}

/* The points that draw the samples of one column, in order: first, least, greatest, last. */
static void put_column(Pen *pen, const double *value, int from, int behind)
{
  int least = from, most = from;
  for (int i = from; i < behind; i++) {
    least = value[i] < value[least] ? i : least;
    most = value[i] > value[most] ? i : most;
  }
  int order[4] = {from, MIN(least, most), MAX(least, most), behind - 1};
  for (int k = 0; k < 4; k++)
    if (k == 0 || order[k] > order[k - 1])
      put(pen, order[k], value);
}

static void draw_curve(const Panel *p, const LgTrace *trace, LgStroke stroke)
{
  Pen pen = {p, stroke, g_array_new(FALSE, FALSE, sizeof(LgSpot))};
  const int n = p->plot->n_times;
  for (int i = 0; i < n;) {
    if (!isfinite(trace->value[i])) {
      lift(&pen);
      i++;
      continue;
    }
    const double column = floor(x_at(p, p->plot->time_s[i]) / COLUMN);
    int behind = i + 1;
    while (behind < n && isfinite(trace->value[behind]) &&
           floor(x_at(p, p->plot->time_s[behind]) / COLUMN) <= column)
      behind++;
    put_column(&pen, trace->value, i, behind);
    i = behind;
  }
  lift(&pen);
  g_array_unref(pen.spots);
}

/* Where a name stands: beside the last known value of its curve. */
typedef struct {
  const char *name;
  double y, at; /* of the curve's end; of the name */
  LgStroke stroke;
} EndName;

static int higher_first(const void *a, const void *b)
{
  const EndName *const x = a, *const y = b;
  return x->y < y->y ? -1 : x->y > y->y;
}

static double last_y(const Panel *p, const LgTrace *trace)
{
  for (int i = p->plot->n_times - 1; i >= 0; i--)
    if (isfinite(trace->value[i]))
      return y_at(p, trace->value[i]);
  return (p->box.top + p->box.bottom) / 2;
}

static void draw_names(const Panel *p, EndName names[], int n)
{
  qsort(names, (gsize)n, sizeof *names, higher_first);
  double below = p->box.top - NAME_STEP;
  for (int k = 0; k < n; k++)
    below = names[k].at = fmax(names[k].y, below + NAME_STEP);
  double above = p->box.bottom + NAME_STEP;
  for (int k = n - 1; k >= 0; k--)
    above = names[k].at = fmin(names[k].at, above - NAME_STEP);
  for (int k = 0; k < n; k++) {
    const double x = p->box.right;
    const LgSpot way[] = {{x + 0.8, names[k].y}, {x + 3, names[k].at}, {x + 8, names[k].at}};
    lg_draw_path(p->drawing, names[k].stroke, FALSE, way, 3);
    g_auto(GStrv) line =
        lg_text_wrap(names[k].name, lg_letters_small.size, FALSE, MARGIN_RIGHT - 12, 1);
    lg_draw_text(p->drawing, lg_letters_small, x + 9, names[k].at + 0.35 * lg_letters_small.size,
                 line[0]);
  }
}

static void draw_limit(const Panel *p)
{
  if (!isfinite(p->strip->limit))
    return;
  const double y = y_at(p, p->strip->limit);
  lg_draw_segment(p->drawing, limit_stroke, p->box.left, y, p->box.right, y);
  LgLetters letters = lg_letters_small;
  letters.ink = LG_INK_WARM;
  lg_draw_text(p->drawing, letters, p->box.left + 1.5, y - 0.8, p->strip->limit_name);
}

static void draw_curves(Panel *p)
{
  find_range(p);
  draw_value_axis(p);
  draw_limit(p);
  EndName names[LG_PLOT_CURVES];
  for (int k = 0; k < p->n; k++) {
    const LgTrace *const trace = &p->strip->traces[p->first + k];
    lg_draw_open(p->drawing, "trace", trace->name);
    draw_curve(p, trace, curve_strokes[k]);
    lg_draw_close(p->drawing);
    names[k] = (EndName){trace->name, last_y(p, trace), 0, curve_strokes[k]};
  }
  draw_names(p, names, p->n);
  lg_draw_box(p->drawing, lg_stroke_thin, p->box);
}

static void draw_bar(const Panel *p, const LgTrace *trace, double top)
{
  static const LgStroke on = {LG_INK_NONE, LG_INK_DARK, 0, 0, 0};
  const double base = top + 0.8 * BAR_ROW;
  const int n = p->plot->n_times;
  lg_draw_segment(p->drawing, grid, p->box.left, base, p->box.right, base);
  for (int i = 0; i < n;) {
    const gboolean is_on = trace->value[i] > 0.5;
    int behind = i + 1;
    while (behind < n && (trace->value[behind] > 0.5) == is_on)
      behind++;
    const double from = x_at(p, p->plot->time_s[i]),
                 to = x_at(p, p->plot->time_s[MIN(behind, n - 1)]);
    if (is_on)
      lg_draw_box(p->drawing, on, (LgBox){from, top + 0.2 * BAR_ROW, fmax(to, from + 0.1), base});
    i = behind;
  }
  g_auto(GStrv) line = lg_text_wrap(trace->name, lg_letters_small.size, FALSE, MARGIN_RIGHT - 4, 1);
  lg_draw_text(p->drawing, lg_letters_small, p->box.right + 2, base - 0.4, line[0]);
}

static void draw_bars(Panel *p)
{
  for (int k = 0; k < p->n; k++) {
    const LgTrace *const trace = &p->strip->traces[p->first + k];
    lg_draw_open(p->drawing, "trace", trace->name);
    draw_bar(p, trace, p->box.top + k * BAR_ROW);
    lg_draw_close(p->drawing);
  }
}

/* "0:05" hours and minutes, "12 s" below three minutes, "3 d" above three days. */
static char *clock_text(double seconds, double span)
{
  if (span < 180)
    return g_strdup_printf("%g s", seconds);
  if (span > 3 * 86400.0)
    return g_strdup_printf("%g d", seconds / 86400);
  const long minutes = lround(seconds / 60);
  if (span < 3600 && fabs(seconds - 60.0 * (double)minutes) > 0.5)
    return g_strdup_printf(T_("%ld:%02ld min"), lround(seconds) / 60, lround(seconds) % 60);
  return span < 7200 ? g_strdup_printf(T_("%ld min"), minutes)
                     : g_strdup_printf("%ld:%02ld h", minutes / 60, minutes % 60);
}

static void draw_time_axis(const Panel *p, double top, double bottom)
{
  double first;
  const double span = to_s(p->plot) - from_s(p->plot);
  const double step = lg_plot_step(from_s(p->plot), to_s(p->plot), TRUE, &first);
  for (double t = first; t <= to_s(p->plot) + 1e-9 * step; t += step) {
    const double x = x_at(p, t);
    lg_draw_segment(p->drawing, grid, x, top, x, bottom);
    g_autofree char *text = clock_text(t, span);
    LgLetters letters = lg_letters_small;
    letters.anchor = LG_ANCHOR_MIDDLE;
    lg_draw_text(p->drawing, letters, x, bottom + 4.2, text);
  }
}

static void draw_marks(const Panel *p, double top, double bottom)
{
  static const LgStroke stroke = {LG_INK_SOFT, LG_INK_NONE, 0.15, 0.8, 0.8};
  double last = -INFINITY;
  for (int i = 0; i < p->plot->n_marks && i < MOST_MARKS; i++) {
    const double x = x_at(p, p->plot->marks_s[i]);
    lg_draw_segment(p->drawing, stroke, x, top - 3, x, bottom);
    if (x - last < 4)
      continue;
    last = x;
    g_autofree char *number = g_strdup_printf("%d", i + 1);
    LgLetters letters = lg_letters_small;
    letters.anchor = LG_ANCHOR_MIDDLE;
    lg_draw_text(p->drawing, letters, x, top - 3.6, number);
  }
}

/* A strip of at most LG_PLOT_CURVES curves, or of bars, and the height that it asks for. */
typedef struct {
  const LgStrip *strip;
  int first, n;
  double height; /* without the gap above */
} Piece;

static GArray *cut_pieces(const LgPlot *plot)
{
  GArray *const pieces = g_array_new(FALSE, FALSE, sizeof(Piece));
  for (int s = 0; s < plot->n_strips; s++) {
    const LgStrip *const strip = &plot->strips[s];
    const int most = strip->kind == LG_STRIP_BARS ? 24 : LG_PLOT_CURVES;
    for (int first = 0; first < strip->n_traces; first += most) {
      const int n = MIN(most, strip->n_traces - first);
      const Piece piece = {strip, first, n,
                           strip->kind == LG_STRIP_BARS ? n * BAR_ROW : CURVES_LEAST};
      g_array_append_val(pieces, piece);
    }
  }
  return pieces;
}

static LgDrawing *new_sheet(const LgPlot *plot, double width, double height)
{
  LgDrawing *const drawing = lg_drawing_new(width, height, plot->title);
  LgLetters head = lg_letters_bold;
  head.size = LG_TEXT_HEAD_MM;
  lg_draw_text(drawing, head, MARGIN_LEFT, 11, plot->title);
  lg_draw_text(drawing, lg_letters_plain, MARGIN_LEFT, 16, plot->subtitle);
  return drawing;
}

/* Draws pieces from `at` on as far as the sheet reaches; returns the first one left over. */
static guint fill_sheet(const LgPlot *plot, const GArray *pieces, guint at, LgDrawing *drawing)
{
  const double room = drawing->height - MARGIN_TOP - MARGIN_BOTTOM;
  double used = 0;
  guint behind = at, n_curves = 0;
  for (; behind < pieces->len; behind++) {
    const Piece *const piece = &g_array_index(pieces, Piece, behind);
    if (behind > at && used + STRIP_GAP + piece->height > room)
      break;
    used += STRIP_GAP + piece->height;
    n_curves += piece->strip->kind == LG_STRIP_CURVES;
  }
  const double spare = n_curves > 0 ? fmax(room - used, 0) / n_curves : 0;
  const double grown = fmin(spare, CURVES_MOST - CURVES_LEAST);
  Panel panel = {.drawing = drawing, .plot = plot};
  panel.box = (LgBox){MARGIN_LEFT, MARGIN_TOP, drawing->width - MARGIN_RIGHT, MARGIN_TOP};
  const double top = MARGIN_TOP + STRIP_GAP;
  double bottom = MARGIN_TOP;
  for (guint i = at; i < behind; i++) {
    const Piece *const piece = &g_array_index(pieces, Piece, i);
    bottom += STRIP_GAP + piece->height + (piece->strip->kind == LG_STRIP_CURVES ? grown : 0);
  }
  draw_time_axis(&panel, top, bottom);
  draw_marks(&panel, top - STRIP_GAP + 4, bottom);
  for (guint i = at; i < behind; i++) {
    const Piece *const piece = &g_array_index(pieces, Piece, i);
    const gboolean curves = piece->strip->kind == LG_STRIP_CURVES;
    panel.strip = piece->strip;
    panel.first = piece->first;
    panel.n = piece->n;
    panel.box.top = panel.box.bottom + STRIP_GAP;
    panel.box.bottom = panel.box.top + piece->height + (curves ? grown : 0);
    draw_title(&panel);
    if (curves)
      draw_curves(&panel);
    else
      draw_bars(&panel);
  }
  return behind;
}

GPtrArray *lg_plot_new(const LgPlot *plot, double width_mm, double height_mm)
{
  GPtrArray *const sheets = g_ptr_array_new_with_free_func((GDestroyNotify)lg_drawing_free);
  g_autoptr(GArray) pieces = cut_pieces(plot);
  if (plot->n_times < 2 || pieces->len == 0) {
    LgDrawing *const drawing = new_sheet(plot, width_mm, height_mm);
    lg_draw_text(drawing, lg_letters_plain, MARGIN_LEFT, MARGIN_TOP + 8,
                 T_("There is nothing to draw: the course has no length."));
    g_ptr_array_add(sheets, drawing);
    return sheets;
  }
  for (guint at = 0; at < pieces->len;) {
    LgDrawing *const drawing = new_sheet(plot, width_mm, height_mm);
    g_ptr_array_add(sheets, drawing);
    at = fill_sheet(plot, pieces, at, drawing);
  }
  return sheets;
}
