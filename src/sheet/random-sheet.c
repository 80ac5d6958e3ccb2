#include "sheet/random-sheet.h"
#include "sheet/colour.h"
#include <math.h>
#include <string.h>

static int below(int n)
{
  return g_test_rand_int_range(0, n);
}

static const char *one_of(const char *const words[], int n)
{
  return words[below(n)];
}

static char *random_text(void)
{
  static const char *const bits[] = {
      "lift motor", "up",   "T\303\274r",   "a\\\"b",
      "c:\\\\d",    " ",    "# no comment", "\342\200\234q\342\200\235",
      "x=1",        "when", "\t",           "5mm"};
  GString *const out = g_string_new("\"x");
  for (int n = below(4); n > 0; n--)
    g_string_append(out, one_of(bits, G_N_ELEMENTS(bits)));
  return g_string_free(g_string_append_c(out, '"'), FALSE);
}

/* The number of a value in a unit, shortest; tries units until the value is in the field's range.
 */
static char *random_figure(LgDim dim, double least, double most)
{
  if (least == 0 && most == 0)
    most = 100;
  for (;;) {
    double read;
    int n = 0;
    while (dim != LG_DIM_NONE && lg_dim_unit(dim, n) != NULL)
      n++;
    const char *const unit = n == 0 ? "" : lg_dim_unit(dim, below(n));
    const double wanted = g_test_rand_bit() ? g_test_rand_double_range(least, most)
                                            : least + (most - least) * pow(10, -below(7));
    /* An unknown factor between unit and canonical: found by reading 1 and 2. */
    g_autofree char *one = g_strconcat("1", unit, NULL), *two = g_strconcat("2", unit, NULL);
    double at_one, at_two;
    if (lg_quantity_read(one, strlen(one), dim, &at_one) != LG_QUANTITY_OK ||
        lg_quantity_read(two, strlen(two), dim, &at_two) != LG_QUANTITY_OK ||
        strcmp(unit, "AWG") == 0)
      continue;
    g_autofree char *number = lg_number_print(1 + (wanted - at_one) / (at_two - at_one), 5);
    g_autofree char *text = g_strconcat(number, unit, NULL);
    if (lg_quantity_read(text, strlen(text), dim, &read) == LG_QUANTITY_OK && read >= least &&
        read <= most)
      return g_steal_pointer(&text);
  }
}

static char *random_range(const LgField *field)
{
  g_autofree char *one = random_figure(field->dim, field->least, field->most);
  g_autofree char *two = random_figure(field->dim, field->least, field->most);
  double low = 0, high = 0;
  lg_quantity_read(one, strlen(one), field->dim, &low);
  lg_quantity_read(two, strlen(two), field->dim, &high);
  if (below(4) == 0)
    return g_steal_pointer(&one);
  return low <= high ? g_strconcat(one, "..", two, NULL) : g_strconcat(two, "..", one, NULL);
}

static char *random_colour(void)
{
  const int base = below(LG_N_COLOURS);
  const int stripe = below(LG_N_COLOURS);
  char *const text = lg_colour_print(base, stripe == base ? -1 : stripe);
  if (g_test_rand_bit())
    text[0] = g_ascii_tolower(text[0]);
  return text;
}

static char *random_limit(void)
{
  static const char *const limits[] = {"current<10mA", "volts>11.5V", "power>60W", "current>3A"};
  return g_strdup(one_of(limits, G_N_ELEMENTS(limits)));
}

static char *random_size(gboolean may_be_auto)
{
  static const char *const sizes[] = {"auto",  "2.5mm2", "0.35mm\302\262",
                                      "14AWG", "2/0awg", "4AWG"};
  return g_strdup(
      sizes[below(G_N_ELEMENTS(sizes) - (may_be_auto ? 0 : 1)) + (may_be_auto ? 0 : 1)]);
}

char *lg_random_value(LgKind kind, const LgField *field, int serial)
{
  switch (field->type) {
  case LG_VALUE_TEXT:
    return random_text();
  case LG_VALUE_NAME:
    return g_strdup_printf(below(3) == 0 ? "tab-%d.8" : "n%d", serial);
  case LG_VALUE_PIN:
    return g_strdup_printf(kind == LG_KIND_ELEMENT ? "%d" : "A%d.1", serial);
  case LG_VALUE_ITEM:
    return g_strdup_printf(g_test_rand_bit() ? "A%d.lift" : "W%d", serial);
  case LG_VALUE_WORD: {
    int n = 0;
    while (field->words[n] != NULL)
      n++;
    return g_strdup(field->words[below(n)]);
  }
  case LG_VALUE_COLOUR:
    return random_colour();
  case LG_VALUE_SIZE:
    return random_size(TRUE);
  case LG_VALUE_AUTO:
    if (below(3) == 0)
      return g_strdup("auto");
    return random_figure(field->dim, field->least, field->most);
  case LG_VALUE_QUANTITY:
    return random_figure(field->dim, field->least, field->most);
  case LG_VALUE_RANGE:
    return random_range(field);
  case LG_VALUE_COUNT:
    return g_strdup_printf(
        "%d", g_test_rand_int_range((int)field->least, (int)MIN(field->most, 1e6) + 1));
  case LG_VALUE_DATE:
    return g_strdup_printf("20%02d-%02d-%02d", below(100), 1 + below(12), 1 + below(28));
  case LG_VALUE_GRID:
    return g_strdup_printf("%dx%d", 1 + below(8), 1 + below(8));
  case LG_VALUE_NAMES:
    return g_strdup(g_test_rand_bit() ? "off,low,high" : "sill");
  case LG_VALUE_STATE:
    return g_strdup("KEY=off");
  case LG_VALUE_LIMIT:
    return random_limit();
  }
  g_assert_not_reached();
}

/* White space between two tokens: mostly one space, sometimes a comment and a new line. */
static void add_gap(GString *out, const char *end)
{
  switch (below(12)) {
  case 0:
    g_string_append_printf(out, "%s  ", end);
    break;
  case 1:
    g_string_append_printf(out, " # why so%s\t", end);
    break;
  case 2:
    g_string_append_printf(out, "%s  # a note%s%s  ", end, end, end);
    break;
  case 3:
    g_string_append(out, "\t ");
    break;
  default:
    g_string_append_c(out, ' ');
  }
}

static void add_name(GString *out, LgKind kind, int serial)
{
  const LgNaming naming = lg_kinds[kind].naming;
  if (naming == LG_NAMED_TEXT)
    g_string_append_printf(out, " \"title %d\"", serial);
  else if (naming == LG_NAMED_DOTTED)
    g_string_append_printf(out, " A%d.p%d", serial % 7, serial);
  else if (naming == LG_NAMED_SIZE)
    g_string_append_printf(out, " %d.%dmm2", serial / 100, serial % 100 + 1);
  else if (naming == LG_NAMED_PLAIN)
    g_string_append_printf(out, " n%d", serial);
}

static void add_fields(GString *out, LgKind kind, int serial, const char *end)
{
  const LgField *const fields = lg_kinds[kind].fields;
  gboolean in_order = TRUE;
  for (int i = 0; fields[i].key != NULL; i++) {
    g_autofree char *value = lg_random_value(kind, &fields[i], serial);
    const gboolean first_places = fields[i].place > 0 && in_order;
    if (!fields[i].required && below(first_places ? 2 : 6) != 0) {
      in_order = in_order && fields[i].place == 0;
      continue;
    }
    add_gap(out, end);
    in_order = in_order && (fields[i].place == 0 || below(5) != 0);
    if (fields[i].place > 0 && in_order)
      g_string_append(out, value);
    else
      g_string_append_printf(out, "%s=%s", fields[i].key, value);
  }
}

static void add_record(GString *out, LgKind kind, int serial, const char *end)
{
  const LgKindInfo *const info = &lg_kinds[kind];
  g_string_append(out, info->word);
  add_name(out, kind, serial);
  add_fields(out, kind, serial, end);
  if (info->has_text && g_test_rand_bit()) {
    g_autofree char *text = random_text();
    add_gap(out, end);
    g_string_append(out, text);
  }
  if (info->has_when && g_test_rand_bit())
    g_string_append(out, g_test_rand_bit() ? " when KEY=off" : " when S2.heat=\"on\" KEY=acc,on");
  if (below(5) == 0)
    g_string_append(out, "  # that is it");
}

char *lg_random_sheet(int n, gboolean catalogue)
{
  const char *const end = g_test_rand_bit() ? "\r\n" : "\n";
  GString *const out = g_string_new(below(4) == 0 ? "\357\273\277" : "");
  gboolean had_job = FALSE;
  for (int i = 0; i < n; i++) {
    const LgKind kind = (LgKind)below(catalogue ? LG_N_KINDS : LG_KIND_TYPE);
    if (lg_kinds[kind].once && had_job)
      continue;
    had_job = had_job || lg_kinds[kind].once;
    if (below(6) == 0)
      g_string_append_printf(out, "# part %d of it %s%s%s", i, end, below(3) == 0 ? "  # more" : "",
                             end);
    add_record(out, kind, i, end);
    g_string_append(out, i == n - 1 && g_test_rand_bit() ? "" : end);
    if (below(5) == 0)
      g_string_append_printf(out, "%s \t%s", end, end);
  }
  return g_string_free(out, FALSE);
}
