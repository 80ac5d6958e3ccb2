/* Ink as SVG: small, stable, its letters real text. */
#include "drawing/ink-private.h"
#include <math.h>

/* Hundredths of a millimetre, without zeros that say nothing and without a locale. */
static void put_number(GString *out, double value)
{
  const long hundredths = lround(value * 100);
  const long whole = labs(hundredths) / 100, part = labs(hundredths) % 100;
  if (hundredths < 0)
    g_string_append_c(out, '-');
  if (whole > 0 || part == 0)
    g_string_append_printf(out, "%ld", whole);
  if (part > 0)
    g_string_append_printf(out, part % 10 == 0 ? ".%ld" : ".%02ld",
                           part % 10 == 0 ? part / 10 : part);
}

static void put_spot(GString *out, char letter, double x, double y)
{
  g_string_append_c(out, letter);
  put_number(out, x);
  g_string_append_c(out, ' ');
  put_number(out, y);
}

static void put_attribute(GString *out, const char *name, double value)
{
  g_string_append_printf(out, " %s=\"", name);
  put_number(out, value);
  g_string_append_c(out, '"');
}

static void put_colour(GString *out, const char *name, guint32 rgb)
{
  if (rgb == LG_INK_NONE)
    g_string_append_printf(out, " %s=\"none\"", name);
  else
    g_string_append_printf(out, " %s=\"#%06x\"", name, rgb);
}

/* Markup characters escaped; control characters, which XML cannot hold, are left out. */
static void put_escaped(GString *out, const char *text)
{
  g_autofree char *valid = g_utf8_make_valid(text, -1);
  for (const char *c = valid; *c != '\0'; c++)
    if (*c == '&')
      g_string_append(out, "&amp;");
    else if (*c == '<')
      g_string_append(out, "&lt;");
    else if (*c == '>')
      g_string_append(out, "&gt;");
    else if (*c == '"')
      g_string_append(out, "&quot;");
    else if ((guchar)*c >= ' ')
      g_string_append_c(out, *c);
}

static void put_path_data(GString *out, const LgDrawing *drawing, const LgShape *shape)
{
  const LgSpot *const spots = &g_array_index(drawing->spots, LgSpot, shape->first);
  g_string_append(out, " d=\"");
  for (int i = 0; i < shape->n; i++)
    put_spot(out, i == 0 ? 'M' : 'L', spots[i].x, spots[i].y);
  g_string_append(out, shape->closed ? "Z\"" : "\"");
}

/* Lines of the ordinary kind say nothing: the root has it. */
static void put_stroke(GString *out, guint32 line, double weight, double dash, double gap)
{
  if (line != LG_INK_DARK)
    put_colour(out, "stroke", line);
  if (line != LG_INK_NONE && fabs(weight - LG_LINE_MM) > 1e-9)
    put_attribute(out, "stroke-width", weight);
  if (line != LG_INK_NONE && dash > 0) {
    g_string_append(out, " stroke-dasharray=\"");
    put_number(out, dash);
    g_string_append_c(out, ' ');
    put_number(out, gap);
    g_string_append_c(out, '"');
  }
}

static void put_style(GString *out, const LgShape *shape)
{
  if (shape->fill != LG_INK_NONE)
    put_colour(out, "fill", shape->fill);
  put_stroke(out, shape->line, shape->weight, shape->dash, shape->gap);
}

static void put_path(GString *out, const LgDrawing *drawing, const LgShape *shape)
{
  g_string_append(out, "<path");
  put_path_data(out, drawing, shape);
  put_style(out, shape);
  if (shape->line == LG_INK_NONE && shape->fill == LG_INK_NONE)
    g_string_append(out, " pointer-events=\"all\"");
  g_string_append(out, "/>\n");
}

static void put_arc(GString *out, const LgShape *shape)
{
  if (shape->to - shape->from >= 360) {
    g_string_append(out, "<circle");
    put_attribute(out, "cx", shape->x);
    put_attribute(out, "cy", shape->y);
    put_attribute(out, "r", shape->radius);
  } else {
    const double from = shape->from * G_PI / 180, to = shape->to * G_PI / 180;
    g_string_append(out, "<path d=\"");
    put_spot(out, 'M', shape->x + shape->radius * cos(from), shape->y + shape->radius * sin(from));
    put_spot(out, 'A', shape->radius, shape->radius);
    g_string_append(out, shape->to - shape->from > 180 ? " 0 1 1" : " 0 0 1");
    put_spot(out, ' ', shape->x + shape->radius * cos(to), shape->y + shape->radius * sin(to));
    g_string_append_c(out, '"');
  }
  put_style(out, shape);
  g_string_append(out, "/>\n");
}

static void put_wire(GString *out, const LgDrawing *drawing, const LgShape *shape)
{
  const LgWireInk ink = lg_wire_ink(shape);
  const struct {
    guint32 rgb;
    double width, dash, gap;
  } layers[] = {{ink.edge, ink.edge_mm, 0, 0},
                {ink.base, ink.base_mm, 0, 0},
                {ink.stripe, ink.stripe_mm, ink.dash_mm, ink.gap_mm}};
  for (gsize i = 0; i < G_N_ELEMENTS(layers); i++)
    if (layers[i].rgb != LG_INK_NONE) {
      g_string_append(out, "<path");
      put_path_data(out, drawing, shape);
      put_stroke(out, layers[i].rgb, layers[i].width, layers[i].dash, layers[i].gap);
      g_string_append(out, "/>\n");
    }
}

/* The measured length goes with the text, so that a reader without the font keeps the layout. */
static void put_text(GString *out, const LgShape *shape)
{
  static const char *const anchors[] = {"", " text-anchor=\"middle\"", " text-anchor=\"end\""};
  g_string_append(out, "<text");
  put_attribute(out, "x", shape->x);
  put_attribute(out, "y", shape->y);
  if (fabs(shape->size - LG_TEXT_MM) > 1e-9)
    put_attribute(out, "font-size", shape->size);
  if (shape->bold)
    g_string_append(out, " font-weight=\"bold\"");
  put_colour(out, "fill", shape->fill);
  g_string_append(out, " stroke=\"none\"");
  g_string_append(out, anchors[shape->anchor]);
  if (shape->upward) {
    g_string_append(out, " transform=\"rotate(-90 ");
    put_number(out, shape->x);
    g_string_append_c(out, ' ');
    put_number(out, shape->y);
    g_string_append(out, ")\"");
  }
  put_attribute(out, "textLength", shape->width);
  g_string_append(out, " lengthAdjust=\"spacingAndGlyphs\">");
  put_escaped(out, shape->text);
  g_string_append(out, "</text>\n");
}

static void put_open(GString *out, const LgShape *shape)
{
  g_string_append_printf(out, "<g data-%s=\"", shape->what);
  put_escaped(out, shape->text);
  g_string_append(out, "\">\n");
}

static void put_shape(GString *out, const LgDrawing *drawing, const LgShape *shape)
{
  switch (shape->kind) {
  case LG_SHAPE_PATH:
    put_path(out, drawing, shape);
    break;
  case LG_SHAPE_ARC:
    put_arc(out, shape);
    break;
  case LG_SHAPE_TEXT:
    put_text(out, shape);
    break;
  case LG_SHAPE_WIRE:
    put_wire(out, drawing, shape);
    break;
  case LG_SHAPE_OPEN:
    put_open(out, shape);
    break;
  case LG_SHAPE_CLOSE:
    g_string_append(out, "</g>\n");
    break;
  }
}

static void put_head(GString *out, const LgDrawing *drawing)
{
  g_string_append(out, "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 ");
  put_number(out, drawing->width);
  g_string_append_c(out, ' ');
  put_number(out, drawing->height);
  g_string_append(out, "\" width=\"");
  put_number(out, drawing->width);
  g_string_append(out, "mm\" height=\"");
  put_number(out, drawing->height);
  g_string_append(out, "mm\" role=\"img\" font-family=\"" LG_INK_FAMILIES ", sans-serif\"");
  put_attribute(out, "font-size", LG_TEXT_MM);
  g_string_append(out, ">\n<title>");
  put_escaped(out, drawing->title);
  g_string_append(out, "</title>\n");
}

GBytes *lg_drawing_svg(const LgDrawing *drawing, gboolean on_screen)
{
  GString *const out = g_string_new(NULL);
  put_head(out, drawing);
  if (on_screen) {
    g_string_append(out, "<rect width=\"100%\" height=\"100%\"");
    put_colour(out, "fill", LG_INK_GROUND);
    g_string_append(out, "/>\n");
  }
  g_string_append(out, "<g fill=\"none\"");
  put_colour(out, "stroke", LG_INK_DARK);
  put_attribute(out, "stroke-width", LG_LINE_MM);
  g_string_append(out, ">\n");
  for (guint i = 0; i < drawing->shapes->len; i++)
    put_shape(out, drawing, &g_array_index(drawing->shapes, LgShape, i));
  g_string_append(out, "</g>\n</svg>\n");
  return g_string_free_to_bytes(out);
}
