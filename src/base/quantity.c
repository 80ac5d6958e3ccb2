#include "base/quantity.h"
#include <math.h>
#include <string.h>

/* Beyond this no figure of the trade lies; it keeps products of figures finite, too. */
#define MOST 1e15
#define MOST_EXPONENT 100000

/* canonical = (number x 10^exp10 + before) x factor. The power of ten joins the number's own
 * exponent before it becomes binary, so that 8mohm is the double nearest to 0.008. */
typedef struct {
  const char *text;
  LgDim dim;
  int exp10;
  double factor, before;
  gboolean other_spelling; /* read, but not named in messages */
} Unit;

#define FEET 0.3048                 /* exact, international yard and pound agreement 1959 */
#define POUND 0.45359237            /* exact, the same */
#define POUND_FORCE 4.4482216152605 /* pound x standard gravity 9.80665 m/s2 */

/* In the order of LgDim; within a dimension the commonest first. */
static const Unit units[] = {
    {"V", LG_DIM_VOLTAGE, 0, 1, 0, FALSE},
    {"mV", LG_DIM_VOLTAGE, -3, 1, 0, FALSE},
    {"kV", LG_DIM_VOLTAGE, 3, 1, 0, FALSE},
    {"A", LG_DIM_CURRENT, 0, 1, 0, FALSE},
    {"mA", LG_DIM_CURRENT, -3, 1, 0, FALSE},
    {"uA", LG_DIM_CURRENT, -6, 1, 0, FALSE},
    {"kA", LG_DIM_CURRENT, 3, 1, 0, FALSE},
    {"\302\265A", LG_DIM_CURRENT, -6, 1, 0, TRUE}, /* micro sign */
    {"\316\274A", LG_DIM_CURRENT, -6, 1, 0, TRUE}, /* Greek mu */
    {"ohm", LG_DIM_RESISTANCE, 0, 1, 0, FALSE},
    {"mohm", LG_DIM_RESISTANCE, -3, 1, 0, FALSE},
    {"kohm", LG_DIM_RESISTANCE, 3, 1, 0, FALSE},
    {"Mohm", LG_DIM_RESISTANCE, 6, 1, 0, FALSE},
    {"\316\251", LG_DIM_RESISTANCE, 0, 1, 0, TRUE}, /* Greek omega */
    {"m\316\251", LG_DIM_RESISTANCE, -3, 1, 0, TRUE},
    {"k\316\251", LG_DIM_RESISTANCE, 3, 1, 0, TRUE},
    {"M\316\251", LG_DIM_RESISTANCE, 6, 1, 0, TRUE},
    {"\342\204\246", LG_DIM_RESISTANCE, 0, 1, 0, TRUE}, /* ohm sign */
    {"m\342\204\246", LG_DIM_RESISTANCE, -3, 1, 0, TRUE},
    {"k\342\204\246", LG_DIM_RESISTANCE, 3, 1, 0, TRUE},
    {"M\342\204\246", LG_DIM_RESISTANCE, 6, 1, 0, TRUE},
    {"W", LG_DIM_POWER, 0, 1, 0, FALSE},
    {"mW", LG_DIM_POWER, -3, 1, 0, FALSE},
    {"kW", LG_DIM_POWER, 3, 1, 0, FALSE},
    {"m", LG_DIM_LENGTH, 0, 1, 0, FALSE},
    {"mm", LG_DIM_LENGTH, -3, 1, 0, FALSE},
    {"cm", LG_DIM_LENGTH, -2, 1, 0, FALSE},
    {"ft", LG_DIM_LENGTH, 0, FEET, 0, FALSE},
    {"in", LG_DIM_LENGTH, 0, FEET / 12, 0, FALSE},
    {"mm2", LG_DIM_AREA, 0, 1, 0, FALSE},
    {"mm\302\262", LG_DIM_AREA, 0, 1, 0, TRUE}, /* raised two */
    {"C", LG_DIM_TEMPERATURE, 0, 1, LG_ZERO_C_IN_K, FALSE},
    {"degC", LG_DIM_TEMPERATURE, 0, 1, LG_ZERO_C_IN_K, TRUE},
    {"F", LG_DIM_TEMPERATURE, 0, 5.0 / 9, 459.67, FALSE},
    {"degF", LG_DIM_TEMPERATURE, 0, 5.0 / 9, 459.67, TRUE},
    {"K", LG_DIM_TEMPERATURE, 0, 1, 0, FALSE},
    {"\302\260C", LG_DIM_TEMPERATURE, 0, 1, LG_ZERO_C_IN_K, TRUE}, /* degree sign */
    {"\302\260F", LG_DIM_TEMPERATURE, 0, 5.0 / 9, 459.67, TRUE},
    {"K", LG_DIM_WARMTH, 0, 1, 0, FALSE},
    {"Ah", LG_DIM_CHARGE, 0, 1, 0, FALSE},
    {"mAh", LG_DIM_CHARGE, -3, 1, 0, FALSE},
    {"s", LG_DIM_TIME, 0, 1, 0, FALSE},
    {"ms", LG_DIM_TIME, -3, 1, 0, FALSE},
    {"min", LG_DIM_TIME, 0, 60, 0, FALSE},
    {"h", LG_DIM_TIME, 0, 3600, 0, FALSE},
    {"d", LG_DIM_TIME, 0, 86400, 0, FALSE},
    {"%", LG_DIM_RATIO, -2, 1, 0, FALSE},
    {"J", LG_DIM_ENERGY, 0, 1, 0, FALSE},
    {"kJ", LG_DIM_ENERGY, 3, 1, 0, FALSE},
    {"Wh", LG_DIM_ENERGY, 0, 3600, 0, FALSE},
    {"J/K", LG_DIM_HEAT_CAPACITY, 0, 1, 0, FALSE},
    {"kJ/K", LG_DIM_HEAT_CAPACITY, 3, 1, 0, FALSE},
    {"W/K", LG_DIM_HEAT_LEAK, 0, 1, 0, FALSE},
    {"A2s", LG_DIM_I2T, 0, 1, 0, FALSE},
    {"kg", LG_DIM_MASS, 0, 1, 0, FALSE},
    {"g", LG_DIM_MASS, -3, 1, 0, FALSE},
    {"lb", LG_DIM_MASS, 0, POUND, 0, FALSE},
    {"oz", LG_DIM_MASS, 0, POUND / 16, 0, FALSE},
    {"N", LG_DIM_FORCE, 0, 1, 0, FALSE},
    {"lbf", LG_DIM_FORCE, 0, POUND_FORCE, 0, FALSE},
    {"rpm", LG_DIM_SPEED, 0, 1, 0, FALSE},
    {"1/min", LG_DIM_SPEED, 0, 1, 0, FALSE},
};

typedef struct {
  const char *word, *units;
} Dim;

static const Dim dims[LG_N_DIMS] = {
    [LG_DIM_NONE] = {"plain number", "no unit"},
    [LG_DIM_VOLTAGE] = {"voltage", "V, mV, kV"},
    [LG_DIM_CURRENT] = {"current", "A, mA, uA, kA"},
    [LG_DIM_RESISTANCE] = {"resistance", "ohm, mohm, kohm, Mohm"},
    [LG_DIM_POWER] = {"power", "W, mW, kW"},
    [LG_DIM_LENGTH] = {"length", "m, mm, cm, ft, in"},
    [LG_DIM_AREA] = {"cross section", "mm2, AWG"},
    [LG_DIM_TEMPERATURE] = {"temperature", "C, degC, F, degF, K"},
    [LG_DIM_WARMTH] = {"temperature difference", "K"},
    [LG_DIM_CHARGE] = {"charge", "Ah, mAh"},
    [LG_DIM_TIME] = {"time", "s, ms, min, h, d"},
    [LG_DIM_RATIO] = {"share", "%"},
    [LG_DIM_ENERGY] = {"energy", "J, kJ, Wh"},
    [LG_DIM_HEAT_CAPACITY] = {"heat capacity", "J/K, kJ/K"},
    [LG_DIM_HEAT_LEAK] = {"heat leak", "W/K"},
    [LG_DIM_I2T] = {"melting value", "A2s"},
    [LG_DIM_MASS] = {"mass", "kg, g, lb, oz"},
    [LG_DIM_FORCE] = {"force", "N, lbf"},
    [LG_DIM_SPEED] = {"speed", "rpm, 1/min"},
};

const char *lg_dim_units(LgDim dim)
{
  g_assert((unsigned)dim < LG_N_DIMS);
  return dims[dim].units;
}

const char *lg_dim_word(LgDim dim)
{
  g_assert((unsigned)dim < LG_N_DIMS);
  return dims[dim].word;
}

const char *lg_dim_unit(LgDim dim, int index)
{
  for (gsize i = 0; i < G_N_ELEMENTS(units); i++)
    if (units[i].dim == dim && !units[i].other_spelling && index-- == 0)
      return units[i].text;
  if (dim == LG_DIM_AREA && index == 0)
    return "AWG";
  return NULL;
}

/* mantissa x 10^exponent, sign apart. */
typedef struct {
  guint64 mantissa;
  int exponent;
  gboolean negative;
} Decimal;

/* Takes one more digit as long as it fits into 64 bits; later ones only move the point. */
static void take_digit(Decimal *d, char c, gboolean behind_point)
{
  const guint digit = (guint)(c - '0');
  if (d->mantissa < (G_MAXUINT64 - 9) / 10) {
    d->mantissa = d->mantissa * 10 + digit;
    d->exponent -= behind_point ? 1 : 0;
  } else
    d->exponent += behind_point ? 0 : 1;
  d->exponent = CLAMP(d->exponent, -MOST_EXPONENT, MOST_EXPONENT);
}

/* "e-3" at text[i]: adds to the exponent and returns the place behind; i when there is none (the e
 * may begin a unit). */
static gsize take_exponent(Decimal *d, const char *text, gsize length, gsize i)
{
  gsize j = i;
  if (j == length || (text[j] != 'e' && text[j] != 'E'))
    return i;
  j++;
  const gboolean negative = j < length && text[j] == '-';
  if (j < length && (text[j] == '-' || text[j] == '+'))
    j++;
  if (j == length || !g_ascii_isdigit(text[j]))
    return i;
  int exponent = 0;
  for (; j < length && g_ascii_isdigit(text[j]); j++)
    exponent = MIN(exponent * 10 + (text[j] - '0'), MOST_EXPONENT);
  d->exponent += negative ? -exponent : exponent;
  return j;
}

/* Bytes taken, 0 when there is no number. */
static gsize scan_decimal(const char *text, gsize length, Decimal *d)
{
  gsize i = 0;
  gsize n_digits = 0;
  *d = (Decimal){0};
  if (i < length && (text[i] == '-' || text[i] == '+'))
    d->negative = text[i++] == '-';
  for (; i < length && g_ascii_isdigit(text[i]); i++, n_digits++)
    take_digit(d, text[i], FALSE);
  if (i + 1 < length && text[i] == '.' && g_ascii_isdigit(text[i + 1]))
    for (i++; i < length && g_ascii_isdigit(text[i]); i++, n_digits++)
      take_digit(d, text[i], TRUE);
  return n_digits == 0 ? 0 : take_exponent(d, text, length, i);
}

gsize lg_number_span(const char *text, gsize length)
{
  Decimal d;
  return scan_decimal(text, length, &d);
}

/* Exact for up to 2^53 and 10^22, both of which a double holds without rounding, so that one
 * multiplication or division rounds once; the rest goes through the library. */
static double decimal_value(const Decimal *d, int exp10)
{
  static const double tens[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
  const int exponent = d->exponent + exp10;
  double value;
  if (d->mantissa <= G_GUINT64_CONSTANT(1) << 53 && ABS(exponent) < (int)G_N_ELEMENTS(tens)) {
    const double mantissa = (double)d->mantissa;
    value = exponent < 0 ? mantissa / tens[-exponent] : mantissa * tens[exponent];
  } else {
    char digits[64];
    g_snprintf(digits, sizeof digits, "%" G_GUINT64_FORMAT "e%d", d->mantissa, exponent);
    value = g_ascii_strtod(digits, NULL);
  }
  return d->negative ? -value : value;
}

static const Unit *find_unit(const char *text, gsize length, LgDim dim)
{
  for (gsize i = 0; i < G_N_ELEMENTS(units); i++)
    if (units[i].dim == dim && strncmp(units[i].text, text, length) == 0 &&
        units[i].text[length] == '\0')
      return &units[i];
  return NULL;
}

static LgQuantityFault deliver(const Decimal *d, const Unit *unit, double *value)
{
  const double number = decimal_value(d, unit->exp10);
  const double canonical = (number + unit->before) * unit->factor;
  if (!isfinite(canonical) || fabs(canonical) > MOST || (number == 0 && d->mantissa != 0))
    return LG_QUANTITY_OUT_OF_RANGE;
  *value = canonical;
  return LG_QUANTITY_OK;
}

static LgQuantityFault read_awg_area(const char *text, gsize length, double *value)
{
  int gauge;
  if (!lg_awg_read(text, length, &gauge))
    return LG_QUANTITY_WRONG_UNIT;
  *value = lg_awg_mm2(gauge);
  return LG_QUANTITY_OK;
}

LgQuantityFault lg_quantity_read(const char *text, gsize length, LgDim dim, double *value)
{
  static const Unit plain = {"", LG_DIM_NONE, 0, 1, 0, FALSE};
  Decimal d;
  const gsize n = scan_decimal(text, length, &d);
  if (n == 0)
    return LG_QUANTITY_NOT_A_NUMBER;
  if (n == length)
    return dim == LG_DIM_NONE ? deliver(&d, &plain, value) : LG_QUANTITY_NO_UNIT;
  const Unit *const unit = find_unit(text + n, length - n, dim);
  if (unit != NULL)
    return deliver(&d, unit, value);
  return dim == LG_DIM_AREA ? read_awg_area(text, length, value) : LG_QUANTITY_WRONG_UNIT;
}

LgDim lg_quantity_guess(const char *text, gsize length)
{
  Decimal d;
  int gauge;
  const gsize n = scan_decimal(text, length, &d);
  if (n == 0 || n == length)
    return LG_DIM_NONE;
  for (int dim = LG_DIM_NONE + 1; dim < LG_N_DIMS; dim++)
    if (find_unit(text + n, length - n, (LgDim)dim) != NULL)
      return (LgDim)dim;
  return lg_awg_read(text, length, &gauge) ? LG_DIM_AREA : LG_DIM_NONE;
}

gboolean lg_awg_read(const char *text, gsize length, int *gauge)
{
  const gsize unit = 3;
  if (length <= unit || length > unit + 3 ||
      g_ascii_strncasecmp(text + length - unit, "AWG", unit) != 0)
    return FALSE;
  const gsize n = length - unit;
  if (n == 3 && text[0] >= '1' && text[0] <= '4' && text[1] == '/' && text[2] == '0') {
    *gauge = 1 - (text[0] - '0');
    return TRUE;
  }
  if (n > 2 || !g_ascii_isdigit(text[0]) || (n == 2 && !g_ascii_isdigit(text[1])) ||
      (n == 2 && text[0] == '0'))
    return FALSE;
  const int number = n == 2 ? (text[0] - '0') * 10 + (text[1] - '0') : text[0] - '0';
  if (number > 40)
    return FALSE;
  *gauge = number;
  return TRUE;
}

double lg_awg_mm2(int gauge)
{
  const double d_mm = 0.127 * pow(92, (36 - gauge) / 39.0);
  return G_PI / 4 * d_mm * d_mm;
}
