#include "base/quantity.h"
#include "base/words.h"
#include <math.h>
#include <string.h>

/* One step of a dimension's ladder: `unit` is used from `from` (canonical, magnitude) upwards. */
typedef struct {
  double from;
  const char *unit;
  double per; /* shown = canonical / per */
} Step;

#define STEPS(...)                                                                                 \
  {                                                                                                \
    __VA_ARGS__,                                                                                   \
    {                                                                                              \
      -1, NULL, 0                                                                                  \
    }                                                                                              \
  }

/* The first step of a ladder serves zero, too small values and itself. */
static const Step ladders[LG_N_DIMS][5] = {
    [LG_DIM_VOLTAGE] = STEPS({0, "mV", 1e-3}, {0.1, "V", 1}, {1e4, "kV", 1e3}),
    [LG_DIM_CURRENT] = STEPS({0, "uA", 1e-6}, {1e-3, "mA", 1e-3}, {0.1, "A", 1}, {1e4, "kA", 1e3}),
    [LG_DIM_RESISTANCE] =
        STEPS({0, "mohm", 1e-3}, {0.1, "ohm", 1}, {1e3, "kohm", 1e3}, {1e6, "Mohm", 1e6}),
    [LG_DIM_POWER] = STEPS({0, "mW", 1e-3}, {0.1, "W", 1}, {1e4, "kW", 1e3}),
    [LG_DIM_LENGTH] = STEPS({0, "mm", 1e-3}, {0.1, "m", 1}),
    [LG_DIM_AREA] = STEPS({0, "mm2", 1}),
    [LG_DIM_WARMTH] = STEPS({0, "K", 1}),
    [LG_DIM_CHARGE] = STEPS({0, "mAh", 1e-3}, {0.1, "Ah", 1}),
    [LG_DIM_TIME] = STEPS({0, "ms", 1e-3}, {0.1, "s", 1}, {120, "min", 60}, {7200, "h", 3600}),
    [LG_DIM_RATIO] = STEPS({0, "%", 1e-2}),
    [LG_DIM_ENERGY] = STEPS({0, "J", 1}, {1e3, "kJ", 1e3}),
    [LG_DIM_HEAT_CAPACITY] = STEPS({0, "J/K", 1}, {1e4, "kJ/K", 1e3}),
    [LG_DIM_HEAT_LEAK] = STEPS({0, "W/K", 1}),
    [LG_DIM_I2T] = STEPS({0, "A2s", 1}),
    [LG_DIM_MASS] = STEPS({0, "g", 1e-3}, {1, "kg", 1}),
    [LG_DIM_FORCE] = STEPS({0, "N", 1}),
    [LG_DIM_SPEED] = STEPS({0, "rpm", 1}),
};

/* Days begin where hours stop being read at a glance; they stand apart because the ladder is full.
 */
static const Step days = {172800, "d", 86400};

static const Step us_length[] = STEPS({0, "in", 0.0254}, {0.3048, "ft", 0.3048});
static const Step us_mass[] = STEPS({0, "oz", 0.45359237 / 16}, {0.45359237, "lb", 0.45359237});
static const Step us_force[] = STEPS({0, "lbf", 4.4482216152605});

static const Step *ladder_of(LgDim dim, LgHabit habit)
{
  if (habit == LG_HABIT_US && dim == LG_DIM_LENGTH)
    return us_length;
  if (habit == LG_HABIT_US && dim == LG_DIM_MASS)
    return us_mass;
  if (habit == LG_HABIT_US && dim == LG_DIM_FORCE)
    return us_force;
  return ladders[dim];
}

/* Rounds to `digits` significant digits, so that a step is chosen for what will be shown. */
static double round_to(double value, int digits)
{
  char text[64];
  char format[16];
  g_snprintf(format, sizeof format, "%%.%de", digits - 1);
  return g_ascii_strtod(g_ascii_formatd(text, sizeof text, format, value), NULL);
}

static char *print_decimals(double value, int decimals)
{
  char format[16];
  char text[512];
  g_snprintf(format, sizeof format, "%%.%df", CLAMP(decimals, 0, 40));
  g_ascii_formatd(text, sizeof text, format, value);
  const gboolean minus_zero = text[0] == '-' && strspn(text + 1, "0.") == strlen(text + 1);
  return g_strdup(minus_zero ? text + 1 : text);
}

/* Decimals that make `digits` significant digits of a rounded value. */
static int decimals_for(double rounded, int digits)
{
  if (rounded == 0)
    return 0;
  return digits - 1 - (int)floor(log10(fabs(rounded)) + 1e-12);
}

/* Near zero degrees the digits would run away behind the point: the decimals of 1.0 are enough. */
static char *print_temperature(double kelvin, LgHabit habit, int digits)
{
  const gboolean us = habit == LG_HABIT_US;
  const double degrees = us ? kelvin * 1.8 - 459.67 : kelvin - LG_ZERO_C_IN_K;
  const double rounded = round_to(degrees, digits);
  const int decimals = MIN(decimals_for(rounded, digits), digits - 1);
  g_autofree char *number = print_decimals(decimals < 0 ? rounded : degrees, decimals);
  return g_strconcat(number, us ? " degF" : " degC", NULL);
}

char *lg_quantity_print(double value, LgDim dim, LgHabit habit, int digits)
{
  g_assert((unsigned)dim < LG_N_DIMS);
  if (isnan(value))
    return g_strdup("?");
  if (isinf(value))
    return g_strdup(value < 0 ? T_("minus infinity") : T_("infinity"));
  digits = CLAMP(digits, 1, 17);
  if (dim == LG_DIM_NONE)
    return lg_number_print(value, digits);
  if (dim == LG_DIM_TEMPERATURE)
    return print_temperature(value, habit, digits);

  const Step *const ladder = ladder_of(dim, habit);
  /* Far below the smallest unit nothing is left to read: what a solver leaves behind is shown as 0.
   */
  const double rounded =
      fabs(value) < (ladder->per < 1 ? 1e-4 : 1e-9) * ladder->per ? 0 : round_to(value, digits);
  const Step *step = ladder;
  if (dim == LG_DIM_TIME && fabs(rounded) >= days.from)
    step = &days;
  else
    while (step[1].unit != NULL && fabs(rounded) >= step[1].from)
      step++;
  if (rounded == 0)
    return g_strconcat("0 ", ladder == ladders[dim] ? lg_dim_unit(dim, 0) : ladder->unit, NULL);
  const double shown = round_to(value / step->per, digits);
  g_autofree char *number = print_decimals(shown, decimals_for(shown, digits));
  return g_strconcat(number, " ", step->unit, NULL);
}

char *lg_number_print(double value, int digits)
{
  if (isnan(value))
    return g_strdup("?");
  if (isinf(value))
    return g_strdup(value < 0 ? T_("minus infinity") : T_("infinity"));
  digits = CLAMP(digits, 1, 17);
  const double rounded = round_to(value, digits);
  const double size = fabs(rounded);
  if (size != 0 && (size >= 1e15 || size < 1e-9)) {
    char text[64], format[16];
    g_snprintf(format, sizeof format, "%%.%dg", digits);
    return g_strdup(g_ascii_formatd(text, sizeof text, format, value));
  }
  char *const number = print_decimals(rounded, decimals_for(rounded, digits));
  if (strchr(number, '.') != NULL) {
    char *end = number + strlen(number);
    while (end[-1] == '0')
      end--;
    end[end[-1] == '.' ? -1 : 0] = '\0';
  }
  return number;
}
