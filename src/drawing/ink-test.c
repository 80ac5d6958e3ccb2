/* Ink: letters, SVG, PDF, PNG. */
#include "drawing-testing.h"
#include "drawing/flow.h"
#include <glib/gstdio.h>
#include <pango/pangocairo.h>

/* A drawing with every kind of shape and letters that markup must not swallow. */
static LgDrawing *sample(void)
{
  LgDrawing *const drawing = lg_drawing_new(60, 40, "a < b & \"c\"");
  const LgSpot spots[] = {{5, 5}, {5, 30}, {20, 30}};
  LgLetters turned = lg_letters_small;
  turned.upward = TRUE;
  turned.anchor = LG_ANCHOR_MIDDLE;
  lg_draw_open(drawing, "wire", "W<1>");
  lg_draw_wire(drawing, "GN/YE", 1.2, spots, 3);
  lg_draw_text(drawing, lg_letters_bold, 8, 10, "1 < 2 & \"3\" > '4'");
  lg_draw_close(drawing);
  lg_draw_wire(drawing, NULL, 1.2, spots + 1, 2);
  lg_draw_arc(drawing, lg_stroke_line, 30, 20, 4, 0, 360);
  lg_draw_arc(drawing, lg_stroke_thick, 40, 20, 4, -90, 150);
  lg_draw_dot(drawing, 50, 20, 0.7);
  lg_draw_text(drawing, turned, 55, 30, "bell \a and \xff");
  return drawing;
}

static void test_width_is_what_pango_measures(void)
{
  static const char *const texts[] = {
      "W12 BK/RD", "AVAVA To fi ffl",        "2.5 mm2", "i", "8", "a  b",
      "G1.+ (30)", "\u00fcber \u2026 \u00b5"};
  PangoContext *const context = pango_font_map_create_context(pango_cairo_font_map_get_default());
  cairo_font_options_t *const options = cairo_font_options_create();
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  pango_cairo_context_set_font_options(context, options);
  cairo_font_options_destroy(options);
  pango_context_set_round_glyph_positions(context, FALSE);
  for (gsize i = 0; i < G_N_ELEMENTS(texts); i++)
    for (int bold = 0; bold < 2; bold++) {
      g_autoptr(PangoLayout) layout = pango_layout_new(context);
      g_autoptr(PangoFontDescription) font =
          pango_font_description_from_string("B612, DejaVu Sans");
      g_autoptr(PangoAttrList) attributes = pango_attr_list_new();
      pango_attr_list_insert(attributes, pango_attr_font_features_new("kern 0, liga 0"));
      pango_font_description_set_absolute_size(font, 100 * PANGO_SCALE);
      pango_font_description_set_weight(font, bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
      pango_layout_set_font_description(layout, font);
      pango_layout_set_attributes(layout, attributes);
      pango_layout_set_text(layout, texts[i], -1);
      int width;
      pango_layout_get_size(layout, &width, NULL);
      g_assert_cmpfloat_with_epsilon(lg_text_width(texts[i], 3, bold),
                                     3.0 * width / PANGO_SCALE / 100, 0.01);
    }
  g_object_unref(context);
}

/* What a letter inks lies within its box: every letter of ASCII and some with accents, against
 * Pango's ink rectangle. */
static void test_box_holds_the_ink(void)
{
  PangoContext *const context = pango_font_map_create_context(pango_cairo_font_map_get_default());
  g_autoptr(PangoLayout) layout = pango_layout_new(context);
  g_autoptr(PangoFontDescription) font = pango_font_description_from_string("B612 Bold");
  pango_font_description_set_absolute_size(font, 100 * PANGO_SCALE);
  pango_layout_set_font_description(layout, font);
  for (int c = '!'; c < 127; c++) {
    const char text[] = {(char)c, '\0'};
    PangoRectangle ink;
    pango_layout_set_text(layout, text, -1);
    pango_layout_get_extents(layout, &ink, NULL);
    const double base = (double)pango_layout_get_baseline(layout) / PANGO_SCALE / 100;
    const double top = (double)ink.y / PANGO_SCALE / 100 - base;
    const double bottom = top + (double)ink.height / PANGO_SCALE / 100;
    g_test_message("%c: %.3f above, %.3f below", c, -top, bottom);
    g_assert_cmpfloat(-top, <=, LG_TEXT_RISE);
    g_assert_cmpfloat(bottom, <=, LG_TEXT_FALL);
  }
  g_object_unref(context);
}

static void test_wrap(void)
{
  g_auto(GStrv) lines =
      lg_text_wrap("all of the seat, within a hand of the battery", 2.5, FALSE, 21, 3);
  g_assert_cmpuint(g_strv_length(lines), ==, 3);
  for (int i = 0; lines[i] != NULL; i++)
    g_assert_cmpfloat(lg_text_width(lines[i], 2.5, FALSE), <=, 21);
  g_auto(GStrv) cut =
      lg_text_wrap("all of the seat, within a hand of the battery", 2.5, FALSE, 21, 2);
  g_assert_cmpuint(g_strv_length(cut), ==, 2);
  g_assert_true(g_str_has_suffix(cut[1], "\u2026"));
  g_assert_cmpfloat(lg_text_width(cut[1], 2.5, FALSE), <=, 21);
  g_auto(GStrv) none = lg_text_wrap("", 2.5, FALSE, 21, 2);
  g_assert_cmpuint(g_strv_length(none), ==, 0);
}

static void on_element(GMarkupParseContext *context, const char *name, const char **names,
                       const char **values, gpointer user, GError **error)
{
  (void)context;
  (void)error;
  (void)names;
  (void)values;
  g_hash_table_add(user, g_strdup(name));
}

/* XML, read by GLib's own reader; letters stay letters. */
static void test_svg_is_well_formed(void)
{
  g_autoptr(LgDrawing) drawing = sample();
  g_autoptr(GBytes) svg = lg_drawing_svg(drawing, TRUE);
  g_autoptr(GHashTable) met = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  const GMarkupParser parser = {.start_element = on_element};
  g_autoptr(GMarkupParseContext) context = g_markup_parse_context_new(&parser, 0, met, NULL);
  g_autoptr(GError) error = NULL;
  gsize size;
  const char *const text = g_bytes_get_data(svg, &size);
  g_markup_parse_context_parse(context, text, (gssize)size, &error);
  g_assert_no_error(error);
  g_markup_parse_context_end_parse(context, &error);
  g_assert_no_error(error);
  static const char *const wanted[] = {"svg", "title", "g", "path", "circle", "text", "rect"};
  for (gsize i = 0; i < G_N_ELEMENTS(wanted); i++)
    g_assert_true(g_hash_table_contains(met, wanted[i]));
  g_autofree char *copy = g_strndup(text, size);
  g_assert_nonnull(strstr(copy, "1 &lt; 2 &amp; &quot;3&quot; &gt; '4'"));
  g_assert_nonnull(strstr(copy, "data-wire=\"W&lt;1&gt;\""));
  g_assert_true(g_utf8_validate(copy, -1, NULL));
}

static gboolean runs(const char *const command[], char **output)
{
  g_autofree char *path = g_find_program_in_path(command[0]);
  int status = 1;
  g_autoptr(GError) error = NULL;
  if (path == NULL)
    return FALSE;
  g_spawn_sync(NULL, (char **)command, NULL, G_SPAWN_SEARCH_PATH | G_SPAWN_STDERR_TO_DEV_NULL, NULL,
               NULL, output, NULL, &status, &error);
  g_assert_no_error(error);
  g_assert_true(g_spawn_check_wait_status(status, &error));
  g_assert_no_error(error);
  return TRUE;
}

/* The sheets of an example as PDF: checked by qpdf, all fonts embedded (pdffonts), every page in,
 * its wires' names readable (pdftotext). */
static void test_pdf(void)
{
  TestJob test;
  test_job_open(&test, "library-van-seat.job");
  g_autoptr(GPtrArray) sheets = lg_flow_new(test.job, NULL);
  g_autoptr(GError) error = NULL;
  g_autoptr(GBytes) pdf = lg_drawings_pdf(sheets, "flow", &error);
  g_assert_no_error(error);
  g_autoptr(GBytes) again = lg_drawings_pdf(sheets, "flow", &error);
  g_assert_true(g_bytes_equal(pdf, again));
  g_autofree char *folder = g_dir_make_tmp("drawing-XXXXXX", &error);
  g_autofree char *path = g_build_filename(folder, "flow.pdf", NULL);
  gsize size;
  const char *const data = g_bytes_get_data(pdf, &size);
  g_assert_true(g_file_set_contents(path, data, (gssize)size, &error));
  const char *const check[] = {"qpdf", "--check", path, NULL};
  const char *const fonts[] = {"pdffonts", path, NULL};
  const char *const words[] = {"pdftotext", path, "-", NULL};
  g_autofree char *checked = NULL, *font_list = NULL, *text = NULL;
  const gboolean all = runs(check, &checked) && runs(fonts, &font_list) && runs(words, &text);
  g_remove(path);
  g_rmdir(folder);
  if (!all) {
    g_test_skip("needs qpdf and poppler-utils");
    test_job_clear(&test);
    return;
  }
  g_auto(GStrv) lines = g_strsplit(font_list, "\n", -1);
  int n_fonts = 0;
  for (int i = 2; lines[i] != NULL && lines[i][0] != '\0'; i++, n_fonts++)
    g_assert_nonnull(strstr(lines[i], " yes yes ")); /* columns emb, sub */
  g_assert_cmpint(n_fonts, >=, 2);
  for (int w = 0; w < test.job->n_wires; w++)
    g_assert_nonnull(strstr(text, test.job->wires[w].name));
  test_job_clear(&test);
}

static guint32 dot_at(cairo_surface_t *surface, int x, int y)
{
  const unsigned char *const data = cairo_image_surface_get_data(surface);
  guint32 dot;
  memcpy(&dot, data + y * cairo_image_surface_get_stride(surface) + 4 * x, sizeof dot);
  return dot & 0xffffff;
}

typedef struct {
  const guint8 *data;
  gsize at;
} Reading;

static cairo_status_t read_bytes(void *closure, unsigned char *data, unsigned int length)
{
  Reading *const reading = closure;
  memcpy(data, reading->data + reading->at, length);
  reading->at += length;
  return CAIRO_STATUS_SUCCESS;
}

/* 25.4 dots an inch: a dot is a millimetre. The wire at x = 5 lies where it was put, off-white is
 * the ground, and grey has no hue. */
static void test_png(void)
{
  g_autoptr(LgDrawing) drawing = sample();
  for (int grey = 0; grey < 2; grey++) {
    g_autoptr(GError) error = NULL;
    g_autoptr(GBytes) png = lg_drawing_png(drawing, 25.4 * 4, grey, &error);
    g_assert_no_error(error);
    Reading reading = {.data = g_bytes_get_data(png, NULL)};
    cairo_surface_t *const surface =
        cairo_image_surface_create_from_png_stream(read_bytes, &reading);
    g_assert_cmpint(cairo_image_surface_get_width(surface), ==, 240);
    g_assert_cmpint(cairo_image_surface_get_height(surface), ==, 160);
    const guint32 ground = dot_at(surface, 230, 10), wire = dot_at(surface, 21, 60);
    g_assert_cmphex(ground, ==, grey ? 0xffffff : LG_INK_GROUND);
    g_assert_cmphex(wire, !=, ground);
    for (int y = 0; y < 160 && grey; y++)
      for (int x = 0; x < 240; x++) {
        const guint32 dot = dot_at(surface, x, y);
        g_assert_cmphex(dot >> 16, ==, dot & 0xff);
        g_assert_cmphex(dot >> 8 & 0xff, ==, dot & 0xff);
      }
    cairo_surface_destroy(surface);
  }
}

/* A turned text stands upright round its anchor. */
static void test_boxes_of_texts(void)
{
  g_autoptr(LgDrawing) drawing = sample();
  const LgShape *const turned = &g_array_index(drawing->shapes, LgShape, drawing->shapes->len - 1);
  const LgBox box = lg_shape_text_box(turned);
  g_assert_cmpfloat(box.bottom - box.top, >, box.right - box.left);
  g_assert_cmpfloat_with_epsilon((box.top + box.bottom) / 2, 30, 1e-9);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/ink/width is what Pango measures", test_width_is_what_pango_measures);
  g_test_add_func("/ink/box holds the ink", test_box_holds_the_ink);
  g_test_add_func("/ink/wrap", test_wrap);
  g_test_add_func("/ink/SVG is well-formed", test_svg_is_well_formed);
  g_test_add_func("/ink/PDF", test_pdf);
  g_test_add_func("/ink/PNG", test_png);
  g_test_add_func("/ink/boxes of texts", test_boxes_of_texts);
  return g_test_run();
}
