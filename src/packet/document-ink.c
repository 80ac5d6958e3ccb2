/* Pages in ink: the only step that draws. */
#include "packet/document-private.h"
#include <cairo-pdf.h>
#include <math.h>

/* One warm accent, dark enough to be read on white (contrast 5.8 to 1 by the WCAG 2 formula) and
 * mid-grey when printed without colour; whatever it marks has a shape or word of its own, too. */
static const double tones[LG_N_TONES][3] = {
    [LG_TONE_INK] = {0.10, 0.10, 0.11},
    [LG_TONE_GREY] = {0.36, 0.35, 0.34},
    [LG_TONE_FAINT] = {0.74, 0.72, 0.69},
    [LG_TONE_ACCENT] = {0.70, 0.25, 0.05},
};

static void use_tone(cairo_t *cairo, LgTone tone)
{
  cairo_set_source_rgb(cairo, tones[tone][0], tones[tone][1], tones[tone][2]);
}

static void ink_text(cairo_t *cairo, LgType *type, const LgMark *mark)
{
  lg_type_ink(type, cairo, mark);
}

static void ink_rule(cairo_t *cairo, LgType *type, const LgMark *mark)
{
  (void)type;
  cairo_rectangle(cairo, mark->x, mark->y, mark->width, mark->height);
  cairo_fill(cairo);
}

static void ink_frame(cairo_t *cairo, LgType *type, const LgMark *mark)
{
  (void)type;
  cairo_set_line_width(cairo, mark->weight);
  cairo_rectangle(cairo, mark->x + mark->weight / 2, mark->y + mark->weight / 2,
                  mark->width - mark->weight, mark->height - mark->weight);
  cairo_stroke(cairo);
}

/* Shapes in the unit square. */
static void ink_danger(cairo_t *cairo)
{
  cairo_move_to(cairo, 0.5, 0.02);
  cairo_line_to(cairo, 1, 0.95);
  cairo_line_to(cairo, 0, 0.95);
  cairo_close_path(cairo);
  cairo_fill(cairo);
  cairo_set_source_rgb(cairo, 1, 1, 1);
  cairo_rectangle(cairo, 0.44, 0.34, 0.12, 0.31);
  cairo_rectangle(cairo, 0.44, 0.73, 0.12, 0.12);
  cairo_fill(cairo);
}

static void ink_fault(cairo_t *cairo)
{
  cairo_rectangle(cairo, 0.06, 0.06, 0.88, 0.88);
  cairo_fill(cairo);
  cairo_set_source_rgb(cairo, 1, 1, 1);
  cairo_set_line_width(cairo, 0.13);
  cairo_move_to(cairo, 0.27, 0.27);
  cairo_line_to(cairo, 0.73, 0.73);
  cairo_move_to(cairo, 0.73, 0.27);
  cairo_line_to(cairo, 0.27, 0.73);
  cairo_stroke(cairo);
}

static void ink_unproven(cairo_t *cairo)
{
  cairo_set_line_width(cairo, 0.1);
  cairo_arc(cairo, 0.5, 0.5, 0.42, 0, 2 * M_PI);
  cairo_stroke(cairo);
  cairo_arc(cairo, 0.5, 0.5, 0.13, 0, 2 * M_PI);
  cairo_fill(cairo);
}

static void ink_caution(cairo_t *cairo)
{
  cairo_set_line_width(cairo, 0.1);
  cairo_move_to(cairo, 0.5, 0.04);
  cairo_line_to(cairo, 0.96, 0.5);
  cairo_line_to(cairo, 0.5, 0.96);
  cairo_line_to(cairo, 0.04, 0.5);
  cairo_close_path(cairo);
  cairo_stroke(cairo);
}

static void ink_grade(cairo_t *cairo, LgType *type, const LgMark *mark)
{
  static void (*const shapes[LG_N_GRADES])(cairo_t *) = {
      [LG_GRADE_DANGER] = ink_danger,
      [LG_GRADE_FAULT] = ink_fault,
      [LG_GRADE_UNPROVEN] = ink_unproven,
      [LG_GRADE_CAUTION] = ink_caution,
  };
  (void)type;
  cairo_save(cairo);
  cairo_translate(cairo, mark->x, mark->y);
  cairo_scale(cairo, mark->width, mark->height);
  shapes[mark->grade](cairo);
  cairo_restore(cairo);
}

/* The surface carries the JPEG; its own pixels, which nobody fills, are not looked at by the PDF.
 */
static void ink_photo(cairo_t *cairo, LgType *type, const LgMark *mark)
{
  (void)type;
  cairo_surface_t *const surface =
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, mark->pixels[0], mark->pixels[1]);
  gsize size;
  const guchar *const data = g_bytes_get_data(mark->jpeg, &size);
  const cairo_status_t status =
      cairo_surface_set_mime_data(surface, CAIRO_MIME_TYPE_JPEG, data, size,
                                  (cairo_destroy_func_t)g_bytes_unref, g_bytes_ref(mark->jpeg));
  if (status != CAIRO_STATUS_SUCCESS)
    g_bytes_unref(mark->jpeg);
  cairo_save(cairo);
  cairo_translate(cairo, mark->x, mark->y);
  cairo_scale(cairo, mark->width / mark->pixels[0], mark->height / mark->pixels[1]);
  cairo_set_source_surface(cairo, surface, 0, 0);
  cairo_paint(cairo);
  cairo_restore(cairo);
  cairo_surface_destroy(surface);
}

static void ink_page(cairo_t *cairo, LgType *type, const LgPage *page)
{
  static void (*const inks[LG_N_MARKS])(cairo_t *, LgType *, const LgMark *) = {
      [LG_MARK_TEXT] = ink_text,   [LG_MARK_RULE] = ink_rule,   [LG_MARK_FRAME] = ink_frame,
      [LG_MARK_GRADE] = ink_grade, [LG_MARK_PHOTO] = ink_photo,
  };
  for (guint i = 0; i < page->marks->len; i++) {
    const LgMark *const mark = &g_array_index(page->marks, LgMark, i);
    use_tone(cairo, mark->tone);
    inks[mark->kind](cairo, type, mark);
  }
}

static void add_outline(cairo_surface_t *surface, const LgPage *page, int number, int *section)
{
  for (guint i = 0; i < page->outline->len; i++) {
    const LgOutline *const entry = &g_array_index(page->outline, LgOutline, i);
    char y[G_ASCII_DTOSTR_BUF_SIZE];
    g_ascii_formatd(y, sizeof y, "%.2f", entry->y);
    g_autofree char *target = g_strdup_printf("page=%d pos=[0 %s]", number, y);
    g_autofree char *text = lg_shown_text(entry->text);
    const int parent = entry->level == 0 ? CAIRO_PDF_OUTLINE_ROOT : *section;
    const int id = cairo_pdf_surface_add_outline(
        surface, parent, text, target, entry->level == 0 ? CAIRO_PDF_OUTLINE_FLAG_OPEN : 0);
    if (entry->level == 0)
      *section = id;
  }
}

static cairo_status_t append_bytes(void *bytes, const unsigned char *data, unsigned int length)
{
  g_byte_array_append(bytes, data, length);
  return CAIRO_STATUS_SUCCESS;
}

/* Nothing of when or where: equal input gives equal bytes. */
static void set_metadata(cairo_surface_t *surface, const char *title)
{
  g_autofree char *shown = lg_shown_text(title);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, shown);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "loomgraft " LG_VERSION);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, "");
}

static void ink_pages(cairo_surface_t *surface, const GPtrArray *pages, LgType *type)
{
  cairo_t *const cairo = cairo_create(surface);
  int section = CAIRO_PDF_OUTLINE_ROOT;
  for (guint i = 0; i < pages->len; i++) {
    const LgPage *const page = pages->pdata[i];
    cairo_pdf_surface_set_size(surface, page->frame.width, page->frame.height);
    ink_page(cairo, type, page);
    cairo_show_page(cairo);
    add_outline(surface, page, (int)i + 1, &section);
  }
  cairo_destroy(cairo);
}

GBytes *lg_pages_ink(const GPtrArray *pages, LgType *type, const char *title, GError **error)
{
  g_autoptr(GByteArray) bytes = g_byte_array_new();
  cairo_surface_t *const surface = cairo_pdf_surface_create_for_stream(append_bytes, bytes, 1, 1);
  set_metadata(surface, title);
  ink_pages(surface, pages, type);
  cairo_surface_finish(surface);
  const cairo_status_t status = cairo_surface_status(surface);
  cairo_surface_destroy(surface);
  if (status != CAIRO_STATUS_SUCCESS) {
    g_set_error(error, G_FILE_ERROR, G_FILE_ERROR_FAILED, "the pages could not be drawn: %s",
                cairo_status_to_string(status));
    return NULL;
  }
  return g_byte_array_free_to_bytes(g_steal_pointer(&bytes));
}
