/* Type: faces, measuring, setting and inking of text, by Pango. */
#include "packet/document-private.h"
#include <pango/pangocairo.h>

/* Figures of one width, and letters that cannot be taken for figures (I l 1, O 0), which pin and
 * wire names need. Package fonts-b612; the fallbacks bring letters of other scripts. */
#define FAMILIES "B612, DejaVu Sans, Noto Sans"

static const struct {
  double size, leading;
  gboolean bold;
} faces[LG_N_FACES] = {
    [LG_FACE_BODY] = {9.5, 13.5, FALSE},       [LG_FACE_STRONG] = {9.5, 13.5, TRUE},
    [LG_FACE_SMALL] = {8.5, 11.5, FALSE},      [LG_FACE_CELL] = {8.5, 11.5, FALSE},
    [LG_FACE_CELL_STRONG] = {8.5, 11.5, TRUE}, [LG_FACE_HEADING] = {11, 15, TRUE},
    [LG_FACE_SECTION] = {15, 20, TRUE},        [LG_FACE_TITLE] = {22, 28, TRUE},
};

struct LgType {
  PangoFontMap *map;
  PangoContext *context;
  PangoLayout *layouts[LG_N_FACES];
};

static PangoLayout *layout_of_face(PangoContext *context, LgFace face)
{
  PangoLayout *const layout = pango_layout_new(context);
  g_autoptr(PangoFontDescription) font = pango_font_description_from_string(FAMILIES);
  pango_font_description_set_absolute_size(font, faces[face].size * PANGO_SCALE);
  pango_font_description_set_weight(font,
                                    faces[face].bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_layout_set_font_description(layout, font);
  return layout;
}

LgType *lg_type_new(void)
{
  LgType *const type = g_new0(LgType, 1);
  type->map = pango_cairo_font_map_new();
  /* At 72 dots an inch a unit of the page is a point. */
  pango_cairo_font_map_set_resolution(PANGO_CAIRO_FONT_MAP(type->map), 72);
  type->context = pango_font_map_create_context(type->map);
  cairo_font_options_t *const options = cairo_font_options_create();
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  pango_cairo_context_set_font_options(type->context, options);
  cairo_font_options_destroy(options);
  pango_context_set_round_glyph_positions(type->context, FALSE);
  /* The process's locale must not choose the shapes. */
  pango_context_set_language(type->context, pango_language_from_string("en"));
  for (int face = 0; face < LG_N_FACES; face++)
    type->layouts[face] = layout_of_face(type->context, (LgFace)face);
  return type;
}

void lg_type_free(LgType *type)
{
  if (type == NULL)
    return;
  for (int face = 0; face < LG_N_FACES; face++)
    g_object_unref(type->layouts[face]);
  g_object_unref(type->context);
  g_object_unref(type->map);
  g_free(type);
}

double lg_type_leading(LgFace face)
{
  return faces[face].leading;
}

static PangoAttrList *plain_attributes(void)
{
  PangoAttrList *const attributes = pango_attr_list_new();
  pango_attr_list_insert(attributes, pango_attr_font_features_new("tnum 1"));
  return attributes;
}

static void forbid_breaks(PangoAttrList *attributes, gsize from, gsize to)
{
  PangoAttribute *const attribute = pango_attr_allow_breaks_new(FALSE);
  attribute->start_index = (guint)from;
  attribute->end_index = (guint)to;
  pango_attr_list_insert(attributes, attribute);
}

/* Numbers stay with their units, and what follows a point stays with it ("A.1", "SEAT.7"). */
static void set_attributes(PangoLayout *layout, const char *text)
{
  g_autoptr(PangoAttrList) attributes = plain_attributes();
  for (gsize i = 1; text[0] != '\0' && text[i] != '\0'; i++)
    if (lg_blank_is_fast(text, i) ||
        (text[i] == '.' && g_ascii_isalnum(text[i - 1]) && g_ascii_isalnum(text[i + 1])))
      forbid_breaks(attributes, i - 1, i + 2);
  pango_layout_set_attributes(layout, attributes);
}

/* The face's layout with a text in it; width below 0: no breaking. */
static PangoLayout *fill(LgType *type, LgFace face, double width, PangoWrapMode wrap,
                         const char *text)
{
  PangoLayout *const layout = type->layouts[face];
  g_autofree char *shown = lg_shown_text(text);
  pango_layout_set_auto_dir(layout, TRUE);
  pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_NONE);
  pango_layout_set_width(layout, width < 0 ? -1 : (int)(width * PANGO_SCALE));
  pango_layout_set_wrap(layout, wrap);
  set_attributes(layout, shown);
  pango_layout_set_text(layout, shown, -1);
  return layout;
}

static double width_of(PangoLayout *layout)
{
  PangoRectangle logical;
  pango_layout_get_extents(layout, NULL, &logical);
  return (double)logical.width / PANGO_SCALE;
}

double lg_type_natural(LgType *type, LgFace face, const char *text)
{
  return width_of(fill(type, face, -1, PANGO_WRAP_WORD, text));
}

double lg_type_least(LgType *type, LgFace face, const char *text)
{
  return width_of(fill(type, face, 0, PANGO_WRAP_WORD, text));
}

static char *text_of_line(PangoLayout *layout, const PangoLayoutLine *line)
{
  return g_strchomp(
      g_strndup(pango_layout_get_text(layout) + line->start_index, (gsize)line->length));
}

/* Adds one line in a band of at least the face's leading; returns the band's height. */
static double add_line(GArray *marks, PangoLayout *layout, PangoLayoutLine *line,
                       const LgMark *like)
{
  PangoRectangle logical;
  pango_layout_line_get_extents(line, NULL, &logical);
  LgMark mark = *like;
  const double height = (double)logical.height / PANGO_SCALE;
  const double band = MAX(faces[like->face].leading, height);
  mark.rtl = line->resolved_dir == PANGO_DIRECTION_RTL;
  mark.text = text_of_line(layout, line);
  mark.y += (band - height) / 2;
  mark.width = MIN((double)logical.width / PANGO_SCALE, like->width);
  mark.x += mark.rtl ? like->width - mark.width : 0;
  mark.height = height;
  if (mark.text[0] != '\0')
    g_array_append_val(marks, mark);
  else
    g_free(mark.text);
  return band;
}

double lg_type_set(LgType *type, GArray *marks, LgFace face, LgTone tone, double x, double y,
                   double width, const char *text)
{
  PangoLayout *const layout = fill(type, face, width, PANGO_WRAP_WORD_CHAR, text);
  LgMark like = {.kind = LG_MARK_TEXT, .tone = tone, .face = face, .x = x, .y = y, .width = width};
  for (const GSList *l = pango_layout_get_lines_readonly(layout); l != NULL; l = l->next)
    like.y += add_line(marks, layout, l->data, &like);
  return like.y - y;
}

void lg_type_set_line(LgType *type, GArray *marks, LgFace face, LgTone tone, double x, double y,
                      double width, const char *text)
{
  PangoLayout *const layout = fill(type, face, -1, PANGO_WRAP_WORD, text);
  const LgMark like = {.kind = LG_MARK_TEXT,
                       .tone = tone,
                       .face = face,
                       .x = x,
                       .y = y,
                       .width = width,
                       .cut = width_of(layout) > width};
  add_line(marks, layout, pango_layout_get_line_readonly(layout, 0), &like);
}

void lg_type_ink(LgType *type, void *cairo, const LgMark *mark)
{
  PangoLayout *const layout = fill(type, mark->face, -1, PANGO_WRAP_WORD, mark->text);
  pango_context_set_base_dir(type->context, mark->rtl ? PANGO_DIRECTION_RTL : PANGO_DIRECTION_LTR);
  pango_layout_set_auto_dir(layout, FALSE);
  if (mark->cut) {
    pango_layout_set_width(layout, (int)(mark->width * PANGO_SCALE));
    pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_END);
  }
  cairo_move_to(cairo, mark->x, mark->y);
  pango_cairo_show_layout(cairo, layout);
}
