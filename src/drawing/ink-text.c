/* Letters: measured, broken into lines, set; by Pango. */
#include "drawing/ink-private.h"
#include <pango/pangocairo.h>
#include <string.h>

#define UNIT 64.0 /* size at which letters are measured; unhinted advances are linear in it */
#define N_PLAIN 127

typedef struct {
  PangoContext *context;
  PangoLayout *layout[2]; /* plain, bold */
  double advance[2][N_PLAIN];
} Letters;

static GMutex mutex;

static PangoLayout *new_layout(PangoContext *context, double size, gboolean bold)
{
  PangoLayout *const layout = pango_layout_new(context);
  g_autoptr(PangoFontDescription) font = pango_font_description_from_string(LG_INK_FAMILIES);
  g_autoptr(PangoAttrList) attributes = pango_attr_list_new();
  pango_font_description_set_absolute_size(font, size * PANGO_SCALE);
  pango_font_description_set_weight(font, bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_layout_set_font_description(layout, font);
  pango_attr_list_insert(attributes, pango_attr_font_features_new("tnum 1, kern 0, liga 0"));
  pango_layout_set_attributes(layout, attributes);
  pango_layout_set_single_paragraph_mode(layout, TRUE);
  return layout;
}

static PangoContext *new_context(void)
{
  PangoFontMap *const map = pango_cairo_font_map_new();
  pango_cairo_font_map_set_resolution(PANGO_CAIRO_FONT_MAP(map), 72);
  PangoContext *const context = pango_font_map_create_context(map);
  cairo_font_options_t *const options = cairo_font_options_create();
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  pango_cairo_context_set_font_options(context, options);
  cairo_font_options_destroy(options);
  pango_context_set_round_glyph_positions(context, FALSE);
  pango_context_set_language(context, pango_language_from_string("en"));
  g_object_unref(map);
  return context;
}

static double measure(PangoLayout *layout, const char *text)
{
  PangoRectangle logical;
  pango_layout_set_text(layout, text, -1);
  pango_layout_get_extents(layout, NULL, &logical);
  return (double)logical.width / PANGO_SCALE / UNIT;
}

/* Made once; to be called with the mutex held. The advances of ASCII letters are constant after. */
static Letters *letters(void)
{
  static Letters *only = NULL;
  if (only != NULL)
    return only;
  Letters *const made = g_new0(Letters, 1);
  made->context = new_context();
  for (int bold = 0; bold < 2; bold++) {
    made->layout[bold] = new_layout(made->context, UNIT, bold);
    for (char c = ' '; c < N_PLAIN; c++) {
      const char text[] = {c, c, '\0'}; /* a blank alone at a line's end has no width */
      const char apart[] = {'x', c, 'x', '\0'};
      made->advance[bold][(int)c] =
          c == ' ' ? measure(made->layout[bold], apart) - measure(made->layout[bold], "xx")
                   : measure(made->layout[bold], text) / 2;
    }
  }
  only = made;
  return only;
}

double lg_text_width(const char *text, double size_mm, gboolean bold)
{
  const int face = bold ? 1 : 0;
  g_mutex_lock(&mutex);
  const Letters *const all = letters();
  double sum = 0;
  const char *c = text;
  for (; *c >= ' ' && *c < N_PLAIN; c++)
    sum += all->advance[face][(int)*c];
  if (*c != '\0')
    sum = measure(all->layout[face], text);
  g_mutex_unlock(&mutex);
  return sum * size_mm;
}

void lg_text_ink(cairo_t *cairo, const char *text, double size_mm, gboolean bold)
{
  g_mutex_lock(&mutex);
  PangoLayout *const layout = letters()->layout[bold ? 1 : 0];
  pango_layout_set_text(layout, text, -1);
  cairo_save(cairo);
  cairo_scale(cairo, size_mm / UNIT, size_mm / UNIT);
  cairo_move_to(cairo, 0, -(double)pango_layout_get_baseline(layout) / PANGO_SCALE);
  pango_cairo_show_layout(cairo, layout);
  cairo_restore(cairo);
  g_mutex_unlock(&mutex);
}

/* How many bytes of `text` go on a line: whole words, or letters when not even one word fits. */
static gsize line_span(const char *text, double size, gboolean bold, double width)
{
  gsize words = 0, chars = 0;
  for (const char *c = text; *c != '\0';) {
    const char *const next = g_utf8_next_char(c);
    g_autofree char *head = g_strndup(text, (gsize)(next - text));
    if (chars > 0 && lg_text_width(g_strchomp(head), size, bold) > width)
      return words > 0 ? words : chars;
    chars = (gsize)(next - text);
    if (*next == ' ' || *next == '\0' || *c == '/')
      words = chars;
    c = next;
  }
  return strlen(text);
}

/* The line shortened until it bears an ellipsis. */
static char *elide(const char *line, double size, gboolean bold, double width)
{
  g_autofree char *kept = g_strdup(line);
  for (;;) {
    char *const marked = g_strconcat(g_strchomp(kept), "\u2026", NULL);
    if (kept[0] == '\0' || lg_text_width(marked, size, bold) <= width)
      return marked;
    g_free(marked);
    *g_utf8_prev_char(kept + strlen(kept)) = '\0';
  }
}

char **lg_text_wrap(const char *text, double size_mm, gboolean bold, double width_mm, int most)
{
  GPtrArray *const lines = g_ptr_array_new();
  const char *rest = text != NULL ? text : "";
  while (*rest == ' ')
    rest++;
  while (*rest != '\0' && (int)lines->len < most) {
    const gsize span = line_span(rest, size_mm, bold, width_mm);
    char *line = g_strchomp(g_strndup(rest, span));
    rest += span;
    while (*rest == ' ')
      rest++;
    if (*rest != '\0' && (int)lines->len + 1 == most) {
      char *const elided = elide(line, size_mm, bold, width_mm);
      g_free(line);
      line = elided;
    }
    g_ptr_array_add(lines, line);
  }
  g_ptr_array_add(lines, NULL);
  return (char **)g_ptr_array_free(lines, FALSE);
}
