/* Ink by cairo: PDF and PNG. */
#include "drawing/ink-private.h"
#include "sheet/colour.h"
#include <cairo-pdf.h>

#define MM_PER_INCH 25.4
#define EDGE_MM 0.16

LgWireInk lg_wire_ink(const LgShape *shape)
{
  const double core = shape->weight - 2 * EDGE_MM;
  return (LgWireInk){
      .edge = LG_INK_DARK,
      .edge_mm = shape->weight,
      .base = shape->base >= 0 ? lg_colours[shape->base].rgb : LG_INK_PAPER,
      .base_mm = core,
      .stripe = shape->stripe >= 0 ? lg_colours[shape->stripe].rgb : LG_INK_NONE,
      .stripe_mm = core * 0.5,
      .dash_mm = 2.4,
      .gap_mm = 1.2,
  };
}

static void use(cairo_t *cairo, guint32 rgb)
{
  cairo_set_source_rgb(cairo, (double)(rgb >> 16 & 0xff) / 255, (double)(rgb >> 8 & 0xff) / 255,
                       (double)(rgb & 0xff) / 255);
}

static void trace(cairo_t *cairo, const LgDrawing *drawing, const LgShape *shape)
{
  const LgSpot *const spots = &g_array_index(drawing->spots, LgSpot, shape->first);
  cairo_new_path(cairo);
  for (int i = 0; i < shape->n; i++)
    cairo_line_to(cairo, spots[i].x, spots[i].y);
  if (shape->closed)
    cairo_close_path(cairo);
}

static void stroke(cairo_t *cairo, guint32 rgb, double weight, double dash, double gap)
{
  const double dashes[] = {dash, gap};
  use(cairo, rgb);
  cairo_set_line_width(cairo, weight);
  cairo_set_dash(cairo, dashes, dash > 0 ? 2 : 0, 0);
  cairo_stroke_preserve(cairo);
}

static void fill_and_stroke(cairo_t *cairo, const LgShape *shape)
{
  if (shape->fill != LG_INK_NONE) {
    use(cairo, shape->fill);
    cairo_fill_preserve(cairo);
  }
  if (shape->line != LG_INK_NONE)
    stroke(cairo, shape->line, shape->weight, shape->dash, shape->gap);
  cairo_new_path(cairo);
}

static void ink_wire(cairo_t *cairo, const LgDrawing *drawing, const LgShape *shape)
{
  const LgWireInk ink = lg_wire_ink(shape);
  trace(cairo, drawing, shape);
  stroke(cairo, ink.edge, ink.edge_mm, 0, 0);
  stroke(cairo, ink.base, ink.base_mm, 0, 0);
  if (ink.stripe != LG_INK_NONE)
    stroke(cairo, ink.stripe, ink.stripe_mm, ink.dash_mm, ink.gap_mm);
  cairo_new_path(cairo);
}

static void ink_text(cairo_t *cairo, const LgShape *shape)
{
  use(cairo, shape->fill);
  cairo_save(cairo);
  cairo_translate(cairo, shape->x, shape->y);
  if (shape->upward)
    cairo_rotate(cairo, -G_PI / 2);
  cairo_translate(cairo, lg_shape_text_start(shape), 0);
  lg_text_ink(cairo, shape->text, shape->size, shape->bold);
  cairo_restore(cairo);
}

static void ink_arc(cairo_t *cairo, const LgShape *shape)
{
  cairo_new_path(cairo);
  cairo_arc(cairo, shape->x, shape->y, shape->radius, shape->from * G_PI / 180,
            shape->to * G_PI / 180);
  fill_and_stroke(cairo, shape);
}

void lg_drawing_ink(const LgDrawing *drawing, void *context)
{
  cairo_t *const cairo = context;
  for (guint i = 0; i < drawing->shapes->len; i++) {
    const LgShape *const shape = &g_array_index(drawing->shapes, LgShape, i);
    switch (shape->kind) {
    case LG_SHAPE_PATH:
      trace(cairo, drawing, shape);
      fill_and_stroke(cairo, shape);
      break;
    case LG_SHAPE_ARC:
      ink_arc(cairo, shape);
      break;
    case LG_SHAPE_TEXT:
      ink_text(cairo, shape);
      break;
    case LG_SHAPE_WIRE:
      ink_wire(cairo, drawing, shape);
      break;
    case LG_SHAPE_OPEN:
    case LG_SHAPE_CLOSE:
      break;
    }
  }
}

static cairo_status_t append_bytes(void *bytes, const unsigned char *data, unsigned int length)
{
  g_byte_array_append(bytes, data, length);
  return CAIRO_STATUS_SUCCESS;
}

static GBytes *finish(cairo_surface_t *surface, cairo_status_t status, GByteArray *bytes,
                      GError **error)
{
  cairo_surface_finish(surface);
  if (status == CAIRO_STATUS_SUCCESS)
    status = cairo_surface_status(surface);
  cairo_surface_destroy(surface);
  if (status != CAIRO_STATUS_SUCCESS) {
    g_set_error(error, G_FILE_ERROR, G_FILE_ERROR_FAILED, "the drawing could not be inked: %s",
                cairo_status_to_string(status));
    g_byte_array_unref(bytes);
    return NULL;
  }
  return g_byte_array_free_to_bytes(bytes);
}

GBytes *lg_drawings_pdf(const GPtrArray *drawings, const char *title, GError **error)
{
  const double scale = 72 / MM_PER_INCH;
  GByteArray *const bytes = g_byte_array_new();
  cairo_surface_t *const surface = cairo_pdf_surface_create_for_stream(append_bytes, bytes, 1, 1);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "loomgraft " LG_VERSION);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, "");
  cairo_t *const cairo = cairo_create(surface);
  for (guint i = 0; i < drawings->len; i++) {
    const LgDrawing *const drawing = drawings->pdata[i];
    cairo_pdf_surface_set_size(surface, drawing->width * scale, drawing->height * scale);
    cairo_save(cairo);
    cairo_scale(cairo, scale, scale);
    lg_drawing_ink(drawing, cairo);
    cairo_restore(cairo);
    cairo_show_page(cairo);
  }
  const cairo_status_t status = cairo_status(cairo);
  cairo_destroy(cairo);
  return finish(surface, status, bytes, error);
}

/* The light of each dot, Rec. 601 weights. */
static void to_grey(cairo_surface_t *surface)
{
  cairo_surface_flush(surface);
  guint8 *const data = cairo_image_surface_get_data(surface);
  const int stride = cairo_image_surface_get_stride(surface);
  for (int y = 0; y < cairo_image_surface_get_height(surface); y++) {
    guint32 *const row = (guint32 *)(void *)(data + y * stride);
    for (int x = 0; x < cairo_image_surface_get_width(surface); x++) {
      const guint32 light =
          (299 * (row[x] >> 16 & 0xff) + 587 * (row[x] >> 8 & 0xff) + 114 * (row[x] & 0xff)) / 1000;
      row[x] = light << 16 | light << 8 | light;
    }
  }
  cairo_surface_mark_dirty(surface);
}

GBytes *lg_drawing_png(const LgDrawing *drawing, double dots_per_inch, gboolean grey,
                       GError **error)
{
  const double scale = dots_per_inch / MM_PER_INCH;
  GByteArray *const bytes = g_byte_array_new();
  cairo_surface_t *const surface =
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)(drawing->width * scale + 0.5),
                                 (int)(drawing->height * scale + 0.5));
  cairo_t *const cairo = cairo_create(surface);
  use(cairo, grey ? LG_INK_PAPER : LG_INK_GROUND);
  cairo_paint(cairo);
  cairo_scale(cairo, scale, scale);
  lg_drawing_ink(drawing, cairo);
  cairo_status_t status = cairo_status(cairo);
  cairo_destroy(cairo);
  if (status == CAIRO_STATUS_SUCCESS && grey)
    to_grey(surface);
  if (status == CAIRO_STATUS_SUCCESS)
    status = cairo_surface_write_to_png_stream(surface, append_bytes, bytes);
  return finish(surface, status, bytes, error);
}
