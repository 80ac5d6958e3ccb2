/* Numbers with units. Most of this file asks back: a unit is never guessed. */
#include "base/text.h"
#include "sheet/sheet-private.h"
#include <math.h>
#include <string.h>

const char *const lg_limit_words[] = {"current", "volts", "power", NULL};
const LgDim lg_limit_dims[] = {LG_DIM_CURRENT, LG_DIM_VOLTAGE, LG_DIM_POWER};

/* A part of a value that ought to be a quantity: the whole, one end of a range, a limit. */
typedef struct {
  const LgAsk *ask;
  const char *label; /* what it is a figure of, for messages */
  const char *text;
  gsize length;
  LgDim dim;
  double least, most; /* both 0: any */
} Figure;

/* "V, mV or kV" from the dimension's units. */
static char *units_or(LgDim dim)
{
  g_autofree char *list = g_strdup(lg_dim_units(dim));
  char *const comma = strrchr(list, ',');
  if (comma == NULL)
    return g_steal_pointer(&list);
  *comma = '\0';
  return g_strconcat(list, " or", comma + 1, NULL);
}

static gboolean fits(const Figure *f, double value)
{
  /* A part in 10^9, so that a limit typed in another unit is still the limit. */
  const double slack = 1e-9 * MAX(fabs(f->least), fabs(f->most));
  return (f->least == 0 && f->most == 0) || (value >= f->least - slack && value <= f->most + slack);
}

/* "1.5m, 1.5ft or 1.5in": the number with each unit that makes it a possible value. */
static char *number_with_units(const Figure *f)
{
  enum { MOST_UNITS = 4 };
  const char *shown[MOST_UNITS + 1] = {NULL};
  char *built[MOST_UNITS + 1] = {NULL};
  int n = 0;
  for (int i = 0; n < MOST_UNITS && lg_dim_unit(f->dim, i) != NULL; i++) {
    double value;
    g_autofree char *text =
        g_strdup_printf("%.*s%s", (int)f->length, f->text, lg_dim_unit(f->dim, i));
    if (lg_quantity_read(text, strlen(text), f->dim, &value) == LG_QUANTITY_OK && fits(f, value))
      shown[n] = built[n] = g_steal_pointer(&text), n++;
  }
  char *const list = n == 0 ? NULL : lg_list_words(shown);
  for (int i = 0; i < n; i++)
    g_free(built[i]);
  return list;
}

static gboolean ask_for_unit(const Figure *f)
{
  g_autofree char *shown = lg_excerpt(f->text, f->length);
  g_autofree char *units = units_or(f->dim);
  g_autofree char *choice = number_with_units(f);
  double number = 0;
  lg_quantity_read(f->text, f->length, LG_DIM_NONE, &number);
  char *const what = g_strdup_printf("%s what? `%s` needs its unit", shown, f->label);
  if (f->dim == LG_DIM_RATIO && number <= 1 && fits(f, number)) {
    g_autofree char *percent = lg_number_print(number * 100, 6);
    return lg_ask_problem(f->ask, what, g_strdup_printf("write a share in percent: %s%%", percent));
  }
  if (choice == NULL)
    return lg_ask_problem(f->ask, what, g_strdup_printf("its units are %s", units));
  return lg_ask_problem(f->ask, what, g_strdup_printf("write %s", choice));
}

/* What people write for a unit, and the unit. */
typedef struct {
  const char *habit, *unit;
} UnitHabit;

static const UnitHabit habits[] = {
    {"amp", "A"},       {"amps", "A"},    {"ampere", "A"}, {"amperes", "A"}, {"volt", "V"},
    {"volts", "V"},     {"vdc", "V"},     {"watt", "W"},   {"watts", "W"},   {"ohms", "ohm"},
    {"r", "ohm"},       {"k", "kohm"},    {"metre", "m"},  {"metres", "m"},  {"meter", "m"},
    {"meters", "m"},    {"mtr", "m"},     {"feet", "ft"},  {"foot", "ft"},   {"'", "ft"},
    {"inch", "in"},     {"inches", "in"}, {"sqmm", "mm2"}, {"qmm", "mm2"},   {"mm^2", "mm2"},
    {"ga", "AWG"},      {"gauge", "AWG"}, {"sec", "s"},    {"seconds", "s"}, {"mins", "min"},
    {"minutes", "min"}, {"hr", "h"},      {"hours", "h"},  {"days", "d"},    {"day", "d"},
    {"pct", "%"},       {"percent", "%"}, {"deg", "C"},    {"celsius", "C"}, {"fahrenheit", "F"},
    {"c", "K"},         {"degc", "K"},    {"ah", "Ah"},    {"lbs", "lb"},
};

static gboolean may_mean(const char *unit, const char *typed)
{
  if (g_ascii_strcasecmp(unit, typed) == 0)
    return TRUE;
  for (gsize i = 0; i < G_N_ELEMENTS(habits); i++)
    if (strcmp(habits[i].unit, unit) == 0 && g_ascii_strcasecmp(habits[i].habit, typed) == 0)
      return TRUE;
  return FALSE;
}

/* M and m are a factor of 10^9 apart: one is never taken for the other. */
static gboolean is_other_prefix(const char *unit, const char *typed)
{
  return (unit[0] == 'm' && typed[0] == 'M') || (unit[0] == 'M' && typed[0] == 'm');
}

/* "12V": the number with the unit that was meant by `typed`, or with two to choose from; NULL when
 * nobody can tell. */
static char *guess_unit(const Figure *f, gsize n_number, const char *typed)
{
  GString *const out = g_string_new(NULL);
  const char *last = NULL;
  int n = 0;
  for (int i = 0; lg_dim_unit(f->dim, i) != NULL; i++) {
    const char *const unit = lg_dim_unit(f->dim, i);
    if (!may_mean(unit, typed))
      continue;
    g_string_append_printf(out, "%s%.*s%s", n == 0 ? "" : " or ", (int)n_number, f->text, unit);
    last = unit;
    n++;
  }
  return g_string_free(out, n == 0 || (n == 1 && is_other_prefix(last, typed)));
}

static gboolean report_wrong_dimension(const Figure *f, LgDim found)
{
  g_autofree char *shown = lg_excerpt(f->text, f->length);
  g_autofree char *units = units_or(f->dim);
  return lg_ask_problem(f->ask,
                        g_strdup_printf("%s is a %s, but `%s` wants a %s", shown,
                                        lg_dim_word(found), f->label, lg_dim_word(f->dim)),
                        g_strdup_printf("its units are %s", units));
}

/* "3/8in" is a habit of imperial rules. */
static char *decimal_of_fraction(const Figure *f, gsize n)
{
  double over = 0, under = 0;
  const char *const rest = f->text + n;
  const gsize m = rest[0] == '/' ? lg_number_span(rest + 1, f->length - n - 1) : 0;
  if (m == 0 || lg_quantity_read(f->text, n, LG_DIM_NONE, &over) != LG_QUANTITY_OK ||
      lg_quantity_read(rest + 1, m, LG_DIM_NONE, &under) != LG_QUANTITY_OK || under == 0)
    return NULL;
  g_autofree char *number = lg_number_print(over / under, 6);
  return g_strdup_printf("write the fraction as a decimal number: %s%.*s", number,
                         (int)(f->length - n - 1 - m), rest + 1 + m);
}

static gboolean report_wrong_unit(const Figure *f)
{
  const gsize n = lg_number_span(f->text, f->length);
  g_autofree char *shown = lg_excerpt(f->text, f->length);
  g_autofree char *unit = g_strndup(f->text + n, f->length - n);
  g_autofree char *unit_shown = lg_excerpt(unit, strlen(unit));
  g_autofree char *units = units_or(f->dim);
  g_autofree char *guess = guess_unit(f, n, unit);
  char *const fraction = decimal_of_fraction(f, n);
  if (fraction != NULL)
    return lg_ask_problem(f->ask, g_strdup_printf("%s is a fraction", shown), fraction);
  if (f->dim == LG_DIM_NONE)
    return lg_ask_problem(
        f->ask, g_strdup_printf("`%s` has no unit, but %s ends in %s", f->label, shown, unit_shown),
        g_strdup_printf("write the plain number: %.*s", (int)n, f->text));
  if (guess != NULL)
    return lg_ask_problem(
        f->ask,
        g_strdup_printf("%s is no unit of %s as we write it", unit_shown, lg_dim_word(f->dim)),
        g_strdup_printf("write %s", guess));
  const LgDim found = lg_quantity_guess(f->text, f->length);
  if (found != LG_DIM_NONE)
    return report_wrong_dimension(f, found);
  return lg_ask_problem(
      f->ask, g_strdup_printf("%s in %s is no unit of %s", unit_shown, shown, lg_dim_word(f->dim)),
      g_strdup_printf("its units are %s", units));
}

/* A comma in a number: FALSE when there is none. */
static gboolean report_comma(const Figure *f)
{
  const char *const comma = memchr(f->text, ',', f->length);
  if (comma == NULL || comma == f->text || !g_ascii_isdigit(comma[-1]) ||
      !g_ascii_isdigit(comma[1]))
    return FALSE;
  const gsize before = (gsize)(comma - f->text);
  const char *const behind = comma + 1;
  gsize digits = 0;
  while (before + 1 + digits < f->length && g_ascii_isdigit(behind[digits]))
    digits++;
  const int rest = (int)(f->length - before - 1);
  g_autofree char *shown = lg_excerpt(f->text, f->length);
  char *const remedy =
      digits == 3 && f->text[0] != '0'
          ? g_strdup_printf("write %.*s.%.*s or %.*s%.*s, whichever is meant", (int)before, f->text,
                            rest, behind, (int)before, f->text, rest, behind)
          : g_strdup_printf("write %.*s.%.*s", (int)before, f->text, rest, behind);
  lg_ask_problem(f->ask, g_strdup_printf("%s has a comma; decimals stand behind a point", shown),
                 remedy);
  return TRUE;
}

/* A dash that is no minus sign before the number: FALSE when there is none. */
static gboolean report_dash(const Figure *f)
{
  const gunichar c = f->length == 0 ? 0 : g_utf8_get_char(f->text);
  if (c != 0x2212 && c != 0x2013 && c != 0x2014 && c != 0x2010 && c != 0x2011)
    return FALSE;
  const char *const rest = g_utf8_next_char(f->text);
  g_autofree char *shown = lg_excerpt(f->text, f->length);
  lg_ask_problem(
      f->ask, g_strdup_printf("%s begins with a typographic dash, not a minus sign", shown),
      g_strdup_printf("type it anew: -%.*s", (int)(f->length - (gsize)(rest - f->text)), rest));
  return TRUE;
}

static gboolean report_no_number(const Figure *f)
{
  g_autofree char *shown = lg_excerpt(f->text, f->length);
  g_autofree char *units = units_or(f->dim);
  char *const remedy = f->dim == LG_DIM_NONE
                           ? g_strdup("write a number")
                           : g_strdup_printf("write a number with its unit: %s", units);
  if (report_dash(f)) {
    g_free(remedy);
    return FALSE;
  }
  if (f->length == 0)
    return lg_ask_problem(f->ask, g_strdup_printf("a figure is missing for `%s`", f->label),
                          remedy);
  if (f->length == 4 && memcmp(f->text, "auto", 4) == 0)
    return lg_ask_problem(f->ask, g_strdup_printf("`%s` cannot be auto", f->label), remedy);
  if (f->ask->field->type == LG_VALUE_AUTO) {
    g_free(remedy);
    return lg_ask_problem(f->ask, g_strdup_printf("`%s` cannot be %s", f->label, shown),
                          g_strdup_printf("write a number with its unit (%s), or auto", units));
  }
  return lg_ask_problem(f->ask, g_strdup_printf("`%s` cannot be %s", f->label, shown), remedy);
}

char *lg_print_limit(double value, LgDim dim)
{
  char *const text = lg_quantity_print(value, dim, LG_HABIT_METRIC, 6);
  char *const unit = strchr(text, ' ');
  char *end = unit == NULL ? text + strlen(text) : unit;
  if (memchr(text, '.', (gsize)(end - text)) == NULL)
    return text;
  char *const rest = g_strdup(unit == NULL ? "" : unit);
  while (end[-1] == '0')
    end--;
  end -= end[-1] == '.' ? 1 : 0;
  *end = '\0';
  char *const trimmed = g_strconcat(text, rest, NULL);
  g_free(text);
  g_free(rest);
  return trimmed;
}

static gboolean report_range(const Figure *f)
{
  g_autofree char *shown = lg_excerpt(f->text, f->length);
  g_autofree char *least = lg_print_limit(f->least, f->dim);
  g_autofree char *most = lg_print_limit(f->most, f->dim);
  return lg_ask_problem(
      f->ask, g_strdup_printf("%s is out of range for `%s`", shown, f->label),
      g_strdup_printf("it lies between %s and %s; check number and unit", least, most));
}

static gboolean read_figure(const Figure *f, double *value)
{
  switch (lg_quantity_read(f->text, f->length, f->dim, value)) {
  case LG_QUANTITY_OK:
    return fits(f, *value) || report_range(f);
  case LG_QUANTITY_NOT_A_NUMBER:
    return report_no_number(f);
  case LG_QUANTITY_NO_UNIT:
    return ask_for_unit(f);
  case LG_QUANTITY_WRONG_UNIT:
    return report_comma(f) ? FALSE : report_wrong_unit(f);
  case LG_QUANTITY_OUT_OF_RANGE:
    break;
  }
  g_autofree char *shown = lg_excerpt(f->text, f->length);
  return lg_ask_problem(f->ask, g_strdup_printf("%s is beyond all figures of the trade", shown),
                        g_strdup("check the number and its exponent"));
}

static Figure whole_figure(const LgAsk *ask)
{
  return (Figure){ask,
                  ask->field->key,
                  ask->text,
                  ask->length,
                  ask->field->dim,
                  ask->field->least,
                  ask->field->most};
}

gboolean lg_value_read_quantity(const LgAsk *ask, LgValue *value)
{
  const Figure f = whole_figure(ask);
  if (ask->field->type == LG_VALUE_AUTO && strcmp(ask->text, "auto") == 0) {
    value->is_auto = TRUE;
    value->low = value->high = NAN;
    return TRUE;
  }
  if (!read_figure(&f, &value->low))
    return FALSE;
  value->high = value->low;
  return TRUE;
}

/* "-20C-45C", "-20C to 45C": a second number further on, but no two points. */
static gboolean report_other_range(const Figure *f)
{
  const gsize n = lg_number_span(f->text, f->length);
  gsize i = n;
  while (i > 0 && i < f->length && !g_ascii_isdigit(f->text[i]))
    i++;
  double low;
  gsize unit = n;
  while (unit < f->length && (g_ascii_isalpha(f->text[unit]) || f->text[unit] == '%'))
    unit++;
  if (n == 0 || i == f->length || unit == f->length ||
      lg_quantity_read(f->text, unit, f->dim, &low) != LG_QUANTITY_OK)
    return FALSE;
  g_autofree char *shown = lg_excerpt(f->text, f->length);
  lg_ask_problem(f->ask, g_strdup_printf("%s is no range as we write it", shown),
                 g_strdup_printf("write two points between both ends: %.*s..%s", (int)unit, f->text,
                                 f->text + i));
  return TRUE;
}

gboolean lg_value_read_range(const LgAsk *ask, LgValue *value)
{
  const char *const points = strstr(ask->text, "..");
  Figure low = whole_figure(ask), high = low;
  if (points == NULL) {
    if (report_other_range(&low) || !read_figure(&low, &value->low))
      return FALSE;
    value->high = value->low;
    return TRUE;
  }
  low.length = (gsize)(points - ask->text);
  LgAsk behind = *ask;
  behind.origin.column += (int)g_utf8_strlen(ask->text, (gssize)low.length) + 2;
  high.ask = &behind;
  high.text = points + 2;
  high.length = ask->length - low.length - 2;
  const gboolean good = read_figure(&low, &value->low);
  if (!read_figure(&high, &value->high) || !good)
    return FALSE;
  if (value->low <= value->high)
    return TRUE;
  return lg_ask_refuse(
      ask, "", " runs from high to low",
      g_strdup_printf("write the lower end first: %s..%.*s", high.text, (int)low.length, low.text));
}

gboolean lg_value_read_count(const LgAsk *ask, LgValue *value)
{
  const LgField *const field = ask->field;
  double number;
  const LgQuantityFault fault = lg_quantity_read(ask->text, ask->length, LG_DIM_NONE, &number);
  const gboolean whole = fault == LG_QUANTITY_OK && number == floor(number);
  if (whole && number >= field->least && number <= field->most) {
    value->low = value->high = number;
    return TRUE;
  }
  g_autofree char *least = lg_number_print(field->least, 9);
  g_autofree char *most = lg_number_print(field->most, 9);
  return lg_ask_refuse(ask, "", whole ? " is out of range" : " is no whole number",
                       g_strdup_printf("write `%s` as a whole number from %s to %s, without a unit",
                                       field->key, least, most));
}

static gboolean report_limit(const LgAsk *ask)
{
  return lg_ask_refuse(
      ask, "", " is no limit",
      g_strdup("write current, volts or power, then < or >, then a figure with its "
               "unit: current<10mA"));
}

gboolean lg_value_read_limit(const LgAsk *ask, LgValue *value)
{
  const gsize n = strcspn(ask->text, "<>");
  if (ask->text[n] == '\0' || n == 0)
    return report_limit(ask);
  g_autofree char *measure = g_strndup(ask->text, n);
  value->word = -1;
  for (int i = 0; lg_limit_words[i] != NULL; i++)
    if (strcmp(lg_limit_words[i], measure) == 0)
      value->word = i;
  if (value->word < 0) {
    const char *const near = lg_nearest_word(measure, lg_limit_words, G_N_ELEMENTS(lg_limit_dims));
    g_autofree char *shown = lg_excerpt(measure, n);
    return lg_ask_problem(ask, g_strdup_printf("a need cannot limit %s", shown),
                          near != NULL ? g_strdup_printf("did you mean `%s`?", near)
                                       : g_strdup("it limits current, volts or power"));
  }
  value->relation = ask->text[n];
  if (ask->text[n + 1] == '=')
    return lg_ask_problem(
        ask, g_strdup_printf("`%c=` is not needed", value->relation),
        g_strdup_printf("write %s%c%s", measure, value->relation, ask->text + n + 2));
  const Figure f = {
      ask, measure, ask->text + n + 1, ask->length - n - 1, lg_limit_dims[value->word], 0, 0};
  if (!read_figure(&f, &value->low))
    return FALSE;
  value->high = value->low;
  return TRUE;
}
