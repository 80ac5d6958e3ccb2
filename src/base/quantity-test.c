#include "base/quantity.h"
#include <locale.h>
#include <math.h>
#include <string.h>

static double read_as(const char *text, LgDim dim)
{
  double value = NAN;
  const LgQuantityFault fault = lg_quantity_read(text, strlen(text), dim, &value);
  if (fault != LG_QUANTITY_OK)
    g_error("%s: fault %d", text, fault);
  return value;
}

typedef struct {
  const char *text;
  LgDim dim;
  double value;
} Reading;

/* Factors: NIST SP 811 (2008), appendix B (memory, high): ft 0.3048 m and lb 0.45359237 kg exact,
 * lbf 4.4482216152605 N exact, Wh 3600 J, degF to K (t + 459.67)/1.8. */
static void reads_units(void)
{
  static const Reading cases[] = {
      {"12V", LG_DIM_VOLTAGE, 12},
      {"350mV", LG_DIM_VOLTAGE, 0.35},
      {"8mohm", LG_DIM_RESISTANCE, 0.008},
      {"4.7kohm", LG_DIM_RESISTANCE, 4700},
      {"1Mohm", LG_DIM_RESISTANCE, 1e6},
      {"4.7\316\251", LG_DIM_RESISTANCE, 4.7},
      {"4.7\342\204\246", LG_DIM_RESISTANCE, 4.7},
      {"12\302\265A", LG_DIM_CURRENT, 12e-6},
      {"12uA", LG_DIM_CURRENT, 12e-6},
      {"12ft", LG_DIM_LENGTH, 12 * 0.3048},
      {"10in", LG_DIM_LENGTH, 0.254},
      {"150cm", LG_DIM_LENGTH, 1.5},
      {"2.5mm2", LG_DIM_AREA, 2.5},
      {"2.5mm\302\262", LG_DIM_AREA, 2.5},
      {"-20C", LG_DIM_TEMPERATURE, 253.15},
      {"-40F", LG_DIM_TEMPERATURE, 233.15},
      {"212degF", LG_DIM_TEMPERATURE, 373.15},
      {"45\302\260C", LG_DIM_TEMPERATURE, 318.15},
      {"300K", LG_DIM_TEMPERATURE, 300},
      {"3950K", LG_DIM_WARMTH, 3950},
      {"70Ah", LG_DIM_CHARGE, 70},
      {"90min", LG_DIM_TIME, 5400},
      {"21d", LG_DIM_TIME, 1814400},
      {"5%", LG_DIM_RATIO, 0.05},
      {"1Wh", LG_DIM_ENERGY, 3600},
      {"2lb", LG_DIM_MASS, 0.90718474},
      {"10lbf", LG_DIM_FORCE, 44.482216152605},
      {"850rpm", LG_DIM_SPEED, 850},
      {"1.2", LG_DIM_NONE, 1.2},
      {".5A", LG_DIM_CURRENT, 0.5},
      {"1e-3A", LG_DIM_CURRENT, 1e-3},
      {"+5V", LG_DIM_VOLTAGE, 5},
  };
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++)
    g_assert_cmpfloat_with_epsilon(read_as(cases[i].text, cases[i].dim), cases[i].value,
                                   1e-15 * MAX(1, fabs(cases[i].value)));
}

typedef struct {
  const char *text;
  LgDim dim;
  LgQuantityFault fault;
} Refusal;

static void refuses_the_rest(void)
{
  static const Refusal cases[] = {
      {"", LG_DIM_LENGTH, LG_QUANTITY_NOT_A_NUMBER},
      {"-", LG_DIM_LENGTH, LG_QUANTITY_NOT_A_NUMBER},
      {".", LG_DIM_LENGTH, LG_QUANTITY_NOT_A_NUMBER},
      {"nan", LG_DIM_NONE, LG_QUANTITY_NOT_A_NUMBER},
      {"inf", LG_DIM_NONE, LG_QUANTITY_NOT_A_NUMBER},
      {"1.5", LG_DIM_LENGTH, LG_QUANTITY_NO_UNIT},
      {"0x10m", LG_DIM_LENGTH, LG_QUANTITY_WRONG_UNIT},
      {"1,5m", LG_DIM_LENGTH, LG_QUANTITY_WRONG_UNIT},
      {"5A", LG_DIM_LENGTH, LG_QUANTITY_WRONG_UNIT},
      {"5M", LG_DIM_LENGTH, LG_QUANTITY_WRONG_UNIT},
      {"5 m", LG_DIM_LENGTH, LG_QUANTITY_WRONG_UNIT},
      {"1.2V", LG_DIM_NONE, LG_QUANTITY_WRONG_UNIT},
      {"1e16m", LG_DIM_LENGTH, LG_QUANTITY_OUT_OF_RANGE},
      {"1e999V", LG_DIM_VOLTAGE, LG_QUANTITY_OUT_OF_RANGE},
      {"1e-999V", LG_DIM_VOLTAGE, LG_QUANTITY_OUT_OF_RANGE},
      {"1e99999999999999999999V", LG_DIM_VOLTAGE, LG_QUANTITY_OUT_OF_RANGE},
  };
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++) {
    double value = 42;
    g_assert_cmpint(lg_quantity_read(cases[i].text, strlen(cases[i].text), cases[i].dim, &value),
                    ==, cases[i].fault);
    g_assert_cmpfloat(value, ==, 42);
  }
}

/* Only the span counts: what stands behind is not looked at. */
static void reads_a_span(void)
{
  double value = 0;
  g_assert_cmpint(lg_quantity_read("12V1e5", 3, LG_DIM_VOLTAGE, &value), ==, LG_QUANTITY_OK);
  g_assert_cmpfloat(value, ==, 12);
  g_assert_cmpint(lg_quantity_read("12e5", 3, LG_DIM_NONE, &value), ==, LG_QUANTITY_WRONG_UNIT);
}

/* Against the C library's strtod, through GLib. */
static void numbers_are_the_nearest_doubles(void)
{
  for (int i = 0; i < 20000; i++) {
    const int digits = g_test_rand_int_range(1, 18), exponent = g_test_rand_int_range(-12, 3);
    g_autofree char *number = g_strdup_printf("%s%.*ge%d", g_test_rand_bit() ? "-" : "", digits,
                                              g_test_rand_double_range(0, 1000), exponent);
    if (strstr(number, "e+") != NULL || strstr(number, "e-0") != NULL)
      continue;
    const double expected = g_ascii_strtod(number, NULL);
    g_assert_cmpfloat(read_as(number, LG_DIM_NONE), ==, expected);
  }
  g_assert_cmpfloat(read_as("123456789012345678901234567890e-25", LG_DIM_NONE), ==,
                    123456789012345678901234567890e-25);
}

/* Solid resistances printed in a two-conductor voltage-drop chart, ohm per 1000 ft at 20 C (seen);
 * with 0.017241 ohm mm2/m (IACS 100 %) they give the cross section. Three-digit entries: 0.3 %. */
static void awg_areas_match_printed_resistances(void)
{
  static const struct {
    int gauge;
    double ohm_per_1000ft, tolerance;
  } printed[] = {
      {18, 6.385, 5e-4}, {14, 2.525, 5e-4}, {12, 1.588, 5e-4}, {8, 0.628, 3e-3}, {6, 0.395, 3e-3}};
  for (gsize i = 0; i < G_N_ELEMENTS(printed); i++) {
    const double mm2 = 0.017241 / (printed[i].ohm_per_1000ft / 304.8);
    g_assert_cmpfloat_with_epsilon(lg_awg_mm2(printed[i].gauge), mm2, printed[i].tolerance * mm2);
  }
  g_assert_cmpfloat(read_as("2/0AWG", LG_DIM_AREA), ==, lg_awg_mm2(-1));
  g_assert_cmpfloat(read_as("18awg", LG_DIM_AREA), ==, lg_awg_mm2(18));
}

static void awg_numbers_are_whole_and_known(void)
{
  static const char *const bad[] = {"5/0AWG", "0/0AWG", "41AWG",  "014AWG", "14.5AWG",
                                    "-1AWG",  "AWG",    "14AWGs", "14"};
  int gauge = 99;
  for (gsize i = 0; i < G_N_ELEMENTS(bad); i++)
    g_assert_false(lg_awg_read(bad[i], strlen(bad[i]), &gauge));
  g_assert_cmpint(gauge, ==, 99);
  g_assert_true(lg_awg_read("4/0AWG", 6, &gauge));
  g_assert_cmpint(gauge, ==, -3);
  g_assert_true(lg_awg_read("8Awg", 4, &gauge));
  g_assert_cmpint(gauge, ==, 8);
}

static void guesses_the_dimension(void)
{
  g_assert_cmpint(lg_quantity_guess("5A", 2), ==, LG_DIM_CURRENT);
  g_assert_cmpint(lg_quantity_guess("5K", 2), ==, LG_DIM_TEMPERATURE);
  g_assert_cmpint(lg_quantity_guess("14AWG", 5), ==, LG_DIM_AREA);
  g_assert_cmpint(lg_quantity_guess("5", 1), ==, LG_DIM_NONE);
  g_assert_cmpint(lg_quantity_guess("5x", 2), ==, LG_DIM_NONE);
  g_assert_cmpint(lg_quantity_guess("A", 1), ==, LG_DIM_NONE);
}

typedef struct {
  double value;
  LgDim dim;
  LgHabit habit;
  int digits;
  const char *text;
} Print;

static void prints_for_people(void)
{
  static const Print cases[] = {
      {0.0082, LG_DIM_RESISTANCE, LG_HABIT_METRIC, 2, "8.2 mohm"},
      {14, LG_DIM_CURRENT, LG_HABIT_METRIC, 2, "14 A"},
      {1.4, LG_DIM_LENGTH, LG_HABIT_METRIC, 3, "1.40 m"},
      {1.4, LG_DIM_LENGTH, LG_HABIT_US, 2, "4.6 ft"},
      {0.0254, LG_DIM_LENGTH, LG_HABIT_US, 2, "1.0 in"},
      {2.5, LG_DIM_AREA, LG_HABIT_US, 2, "2.5 mm2"},
      {318.15, LG_DIM_TEMPERATURE, LG_HABIT_METRIC, 2, "45 degC"},
      {318.15, LG_DIM_TEMPERATURE, LG_HABIT_US, 3, "113 degF"},
      {273.15, LG_DIM_TEMPERATURE, LG_HABIT_METRIC, 3, "0 degC"},
      {273.19, LG_DIM_TEMPERATURE, LG_HABIT_METRIC, 3, "0.04 degC"},
      {273.1499, LG_DIM_TEMPERATURE, LG_HABIT_METRIC, 2, "0.0 degC"},
      {377.7, LG_DIM_TEMPERATURE, LG_HABIT_METRIC, 2, "100 degC"},
      {0.0999, LG_DIM_CURRENT, LG_HABIT_METRIC, 2, "0.10 A"},
      {-0.0042, LG_DIM_CURRENT, LG_HABIT_METRIC, 2, "-4.2 mA"},
      {1e-5, LG_DIM_CURRENT, LG_HABIT_METRIC, 2, "10 uA"},
      {0, LG_DIM_CURRENT, LG_HABIT_METRIC, 3, "0 A"},
      {-0.0, LG_DIM_LENGTH, LG_HABIT_US, 3, "0 in"},
      {350, LG_DIM_CURRENT, LG_HABIT_METRIC, 2, "350 A"},
      {1234, LG_DIM_POWER, LG_HABIT_METRIC, 3, "1230 W"},
      {1814400, LG_DIM_TIME, LG_HABIT_METRIC, 2, "21 d"},
      {90, LG_DIM_TIME, LG_HABIT_METRIC, 2, "90 s"},
      {5400, LG_DIM_TIME, LG_HABIT_METRIC, 2, "90 min"},
      {0.05, LG_DIM_RATIO, LG_HABIT_METRIC, 1, "5 %"},
      {0.3, LG_DIM_MASS, LG_HABIT_US, 2, "11 oz"},
      {NAN, LG_DIM_CURRENT, LG_HABIT_METRIC, 2, "?"},
      {1.2, LG_DIM_NONE, LG_HABIT_METRIC, 3, "1.2"},
  };
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++) {
    const Print *const c = &cases[i];
    g_autofree char *text = lg_quantity_print(c->value, c->dim, c->habit, c->digits);
    g_assert_cmpstr(text, ==, c->text);
  }
}

static void prints_plain_numbers(void)
{
  static const struct {
    double value;
    int digits;
    const char *text;
  } cases[] = {{0.25, 6, "0.25"},    {1200, 2, "1200"},     {1234, 2, "1200"},  {-0.0, 3, "0"},
               {1e-5, 3, "0.00001"}, {0.1 + 0.2, 9, "0.3"}, {1e20, 3, "1e+20"}, {100, 3, "100"}};
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autofree char *text = lg_number_print(cases[i].value, cases[i].digits);
    g_assert_cmpstr(text, ==, cases[i].text);
  }
}

/* What is printed with enough digits and read again is the value. */
static void printing_and_reading_agree(void)
{
  for (int i = 0; i < 5000; i++) {
    const LgDim dim = (LgDim)g_test_rand_int_range(LG_DIM_NONE + 1, LG_N_DIMS);
    const LgHabit habit = g_test_rand_bit() ? LG_HABIT_US : LG_HABIT_METRIC;
    const double value = pow(10, g_test_rand_double_range(-5, 5));
    g_autofree char *text = lg_quantity_print(value, dim, habit, 15);
    char *const space = strchr(text, ' ');
    memmove(space, space + 1, strlen(space));
    /* Degrees Fahrenheit of a few microkelvin lose digits to 459.67. */
    const double slack = (dim == LG_DIM_TEMPERATURE ? 1e-11 : 0) + 1e-12 * value;
    g_assert_cmpfloat_with_epsilon(read_as(text, dim), value, slack);
  }
}

/* A German or French locale has a comma for the decimals; ours never. Skipped where none is there.
 */
static void locale_does_not_matter(void)
{
  static const char *const names[] = {"de_DE.UTF-8", "fr_FR.UTF-8", "de_DE", "fr_FR"};
  gboolean found = FALSE;
  for (gsize i = 0; i < G_N_ELEMENTS(names) && !found; i++)
    found = setlocale(LC_ALL, names[i]) != NULL;
  if (!found) {
    g_test_skip("no locale with a decimal comma is installed");
    return;
  }
  g_autofree char *text = lg_quantity_print(0.0082, LG_DIM_RESISTANCE, LG_HABIT_METRIC, 2);
  g_assert_cmpstr(text, ==, "8.2 mohm");
  g_assert_cmpfloat(read_as("1.5m", LG_DIM_LENGTH), ==, 1.5);
  setlocale(LC_ALL, "C");
}

static void every_dimension_has_words(void)
{
  for (int dim = 0; dim < LG_N_DIMS; dim++) {
    g_assert_nonnull(lg_dim_word((LgDim)dim));
    for (int i = 0; lg_dim_unit((LgDim)dim, i) != NULL; i++)
      g_assert_nonnull(strstr(lg_dim_units((LgDim)dim), lg_dim_unit((LgDim)dim, i)));
  }
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/quantity/reads-units", reads_units);
  g_test_add_func("/quantity/refuses-the-rest", refuses_the_rest);
  g_test_add_func("/quantity/reads-a-span", reads_a_span);
  g_test_add_func("/quantity/numbers-are-the-nearest-doubles", numbers_are_the_nearest_doubles);
  g_test_add_func("/quantity/awg-areas-match-printed-resistances",
                  awg_areas_match_printed_resistances);
  g_test_add_func("/quantity/awg-numbers-are-whole-and-known", awg_numbers_are_whole_and_known);
  g_test_add_func("/quantity/guesses-the-dimension", guesses_the_dimension);
  g_test_add_func("/quantity/prints-for-people", prints_for_people);
  g_test_add_func("/quantity/prints-plain-numbers", prints_plain_numbers);
  g_test_add_func("/quantity/printing-and-reading-agree", printing_and_reading_agree);
  g_test_add_func("/quantity/locale-does-not-matter", locale_does_not_matter);
  g_test_add_func("/quantity/every-dimension-has-words", every_dimension_has_words);
  return g_test_run();
}
