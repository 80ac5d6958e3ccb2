/* Colour and size of a wire: what forums and shops write, and what we take. */
#include "base/quantity.h"
#include "base/text.h"
#include "sheet/colour.h"
#include "sheet/sheet-private.h"
#include "sheet/size.h"
#include <math.h>
#include <string.h>

#define LETTERS "BK BN RD OG YE GN BU VT GY WH PK TQ GD SR"

/* English words beyond the table's own. */
typedef struct {
  const char *word;
  LgColour colour;
} ColourWord;

static const ColourWord colour_words[] = {
    {"gray", LG_COLOUR_GREY},     {"purple", LG_COLOUR_VIOLET},  {"lilac", LG_COLOUR_VIOLET},
    {"rose", LG_COLOUR_PINK},     {"cyan", LG_COLOUR_TURQUOISE}, {"amber", LG_COLOUR_ORANGE},
    {"schwarz", LG_COLOUR_BLACK}, {"braun", LG_COLOUR_BROWN},    {"rot", LG_COLOUR_RED},
    {"gelb", LG_COLOUR_YELLOW},   {"blau", LG_COLOUR_BLUE},      {"grau", LG_COLOUR_GREY},
};

static int colour_by_word(const char *text, gsize length)
{
  for (int i = 0; i < LG_N_COLOURS; i++)
    if (strlen(lg_colours[i].word) == length &&
        g_ascii_strncasecmp(lg_colours[i].word, text, length) == 0)
      return i;
  for (gsize i = 0; i < G_N_ELEMENTS(colour_words); i++)
    if (strlen(colour_words[i].word) == length &&
        g_ascii_strncasecmp(colour_words[i].word, text, length) == 0)
      return (int)colour_words[i].colour;
  return -1;
}

/* "green/blue", "green-blue", "red": the letters for it, or NULL. */
static char *letters_for_words(const char *text)
{
  const gsize n = strcspn(text, "/-");
  const int base = colour_by_word(text, n);
  const int stripe = text[n] == '\0' ? -1 : colour_by_word(text + n + 1, strlen(text + n + 1));
  return base < 0 || (text[n] != '\0' && stripe < 0) ? NULL : lg_colour_print(base, stripe);
}

/* "GNBU", "GN-BU": two colours, but which is the base? NULL when it is nothing of the kind. */
static char *ask_for_base(const char *text, gsize length)
{
  const gsize gap = length == 4 ? 0 : length == 5 && strchr("-_.+", text[2]) != NULL ? 1 : 2;
  int base, stripe, none;
  if (gap == 2)
    return NULL;
  g_autofree char *first = g_strndup(text, 2), *second = g_strdup(text + 2 + gap);
  if (!lg_colour_read(first, &base, &none) || !lg_colour_read(second, &stripe, &none))
    return NULL;
  g_autofree char *one = lg_colour_print(base, stripe);
  g_autofree char *described = lg_colour_describe(base, stripe);
  return g_strdup_printf("write base/stripe: %s for %s", one, described);
}

static gboolean report_size_for_colour(const LgAsk *ask)
{
  g_autofree char *shown = lg_excerpt(ask->text, ask->length);
  g_autofree char *usage = lg_kind_usage(ask->kind);
  return lg_ask_problem(
      ask, g_strdup_printf("the colour is missing before %s", shown),
      g_strdup_printf("write %s, such as `%s`", usage, lg_kinds[ask->kind].example));
}

gboolean lg_value_read_colour(const LgAsk *ask, LgValue *value)
{
  int base, stripe, gauge;
  if (lg_colour_read(ask->text, &base, &stripe)) {
    value->low = base;
    value->high = stripe;
    if (base != stripe)
      return TRUE;
    return lg_ask_problem(
        ask, g_strdup_printf("`%s` is a stripe of the base's colour", ask->text),
        g_strdup_printf("write %s when there is no stripe", lg_colours[base].letters));
  }
  g_autofree char *shown = lg_excerpt(ask->text, ask->length);
  if (ask->field->place > 0 &&
      (lg_awg_read(ask->text, ask->length, &gauge) ||
       lg_quantity_guess(ask->text, ask->length) == LG_DIM_AREA || strcmp(ask->text, "auto") == 0))
    return report_size_for_colour(ask);
  char *remedy = letters_for_words(ask->text);
  if (remedy != NULL) {
    char *const letters = remedy;
    remedy = g_strdup_printf("write %s", letters);
    g_free(letters);
    return lg_ask_problem(ask, g_strdup_printf("colours are written in letters, not %s", shown),
                          remedy);
  }
  remedy = ask_for_base(ask->text, ask->length);
  if (remedy != NULL)
    return lg_ask_refuse(ask, "", " does not say which colour is the base", remedy);
  return lg_ask_refuse(ask, "", " is no colour",
                       g_strdup("write base or base/stripe in the letters " LETTERS));
}

static gboolean ask_bare_size(const LgAsk *ask)
{
  double number;
  const LgQuantityFault fault = lg_quantity_read(ask->text, ask->length, LG_DIM_NONE, &number);
  const gboolean gauge =
      fault == LG_QUANTITY_OK && number == floor(number) && number >= 0 && number <= 40;
  return lg_ask_refuse(
      ask, "", " what? a size needs its unit",
      gauge ? g_strdup_printf("write %smm2 for square millimetres or %sAWG", ask->text, ask->text)
            : g_strdup_printf("write %smm2 for square millimetres", ask->text));
}

static gboolean ask_diameter(const LgAsk *ask)
{
  g_autofree char *shown = lg_excerpt(ask->text, ask->length);
  return lg_ask_problem(
      ask, g_strdup_printf("%s: is that the outside diameter? Cable is sold by it, too", shown),
      g_strdup_printf("write %s2 if it is the copper's cross section; by the outside alone the "
                      "copper is not known",
                      ask->text));
}

/* "AWG14", "#14", "14ga", "4/0": the gauge as we write it, or NULL. */
static char *gauge_meant(const char *text)
{
  const char *p = text;
  if (g_ascii_strncasecmp(p, "AWG", 3) == 0)
    p += 3;
  p += strspn(p, "#-");
  const gsize n = strspn(p, "0123456789/");
  const char *const rest = p + n;
  int gauge;
  if (n == 0 || (*rest != '\0' && g_ascii_strcasecmp(rest, "ga") != 0 &&
                 g_ascii_strcasecmp(rest, "g") != 0 && g_ascii_strcasecmp(rest, "gauge") != 0))
    return NULL;
  char *const meant = g_strdup_printf("%.*sAWG", (int)n, p);
  if (lg_awg_read(meant, strlen(meant), &gauge))
    return meant;
  g_free(meant);
  return NULL;
}

static gboolean report_unknown_size(const LgAsk *ask)
{
  g_autofree char *gauge = gauge_meant(ask->text);
  const char *const comma = strchr(ask->text, ',');
  const gsize n = lg_number_span(ask->text, ask->length);
  const char *const rest = ask->text + n;
  if (gauge != NULL)
    return lg_ask_refuse(ask, "", " is no size as we write it", g_strdup_printf("write %s", gauge));
  if (n > 0 && comma == rest && g_ascii_isdigit(comma[1]))
    return lg_ask_refuse(ask, "", " has a comma; decimals stand behind a point",
                         g_strdup_printf("write %.*s.%s", (int)n, ask->text, comma + 1));
  if (n > 0 && (g_ascii_strcasecmp(rest, "sqmm") == 0 || g_ascii_strcasecmp(rest, "qmm") == 0 ||
                g_ascii_strcasecmp(rest, "mm^2") == 0 || g_ascii_strcasecmp(rest, "mm2") == 0))
    return lg_ask_refuse(ask, "", " is no size as we write it",
                         g_strdup_printf("write %.*smm2", (int)n, ask->text));
  return lg_ask_refuse(ask, "", " is no conductor size",
                       g_strdup("write it as 2.5mm2, 14AWG or 2/0AWG, or auto"));
}

gboolean lg_value_read_size(const LgAsk *ask, LgValue *value)
{
  gboolean is_awg = FALSE;
  if (strcmp(ask->text, "auto") == 0) {
    value->is_auto = TRUE;
    value->low = value->high = NAN;
    return TRUE;
  }
  g_autofree char *shown = NULL;
  switch (lg_size_read(ask->text, &is_awg, &value->low)) {
  case LG_SIZE_OK:
    value->is_awg = is_awg ? 1 : 0;
    value->high = value->low;
    return TRUE;
  case LG_SIZE_BARE:
    return ask_bare_size(ask);
  case LG_SIZE_DIAMETER:
    return ask_diameter(ask);
  case LG_SIZE_UNKNOWN:
    return report_unknown_size(ask);
  case LG_SIZE_OUT_OF_RANGE:
    break;
  }
  shown = lg_excerpt(ask->text, ask->length);
  return lg_ask_problem(ask, g_strdup_printf("there is no size %s", shown),
                        g_strdup("sizes run from 0.01mm2 to 500mm2 and from 40AWG to 4/0AWG"));
}
