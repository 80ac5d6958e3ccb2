/* Quantities with units: read from text, printed for people. */
#pragma once
#include <glib.h>

G_BEGIN_DECLS

/* What a number measures; the canonical unit that the engine computes in stands beside it. */
typedef enum {
  LG_DIM_NONE,          /* a plain count or factor                      */
  LG_DIM_VOLTAGE,       /* V    : V mV kV                               */
  LG_DIM_CURRENT,       /* A    : A mA uA kA                            */
  LG_DIM_RESISTANCE,    /* ohm  : ohm mohm kohm Mohm (and the sign)  */
  LG_DIM_POWER,         /* W    : W mW kW                               */
  LG_DIM_LENGTH,        /* m    : m mm cm ft in                         */
  LG_DIM_AREA,          /* mm2  : mm2 and AWG numbers (see lg_size)     */
  LG_DIM_TEMPERATURE,   /* K    : C degC F degF K (absolute)            */
  LG_DIM_WARMTH,        /* K    : K (a difference, a rise, a band)      */
  LG_DIM_CHARGE,        /* Ah   : Ah mAh                                */
  LG_DIM_TIME,          /* s    : s ms min h d                          */
  LG_DIM_RATIO,         /* 1    : %                                     */
  LG_DIM_ENERGY,        /* J    : J kJ Wh                               */
  LG_DIM_HEAT_CAPACITY, /* J/K : J/K kJ/K                             */
  LG_DIM_HEAT_LEAK,     /* W/K  : W/K                                   */
  LG_DIM_I2T,           /* A2s  : A2s                                   */
  LG_DIM_MASS,          /* kg   : g kg lb oz                            */
  LG_DIM_FORCE,         /* N    : N lbf                                 */
  LG_DIM_SPEED,         /* 1/min: rpm 1/min                             */
  LG_N_DIMS
} LgDim;

typedef enum { LG_HABIT_METRIC, LG_HABIT_US } LgHabit;

typedef enum {
  LG_QUANTITY_OK,
  LG_QUANTITY_NOT_A_NUMBER, /* no number at the start           */
  LG_QUANTITY_NO_UNIT,      /* a bare number                    */
  LG_QUANTITY_WRONG_UNIT,   /* a unit that does not fit `dim`   */
  LG_QUANTITY_OUT_OF_RANGE, /* not finite, or beyond 1e15       */
} LgQuantityFault;

/* Reads `text[0..length)`, such as "2.5mm2", "8mohm", "-20C", "12ft", as a quantity of `dim`;
 * `*value` in the canonical unit. A decimal point only, no thousands marks, exponent allowed
 * (1e-3). Locale-free. On a fault
 * `*value` is untouched. Linear in length. */
LgQuantityFault lg_quantity_read(const char *text, gsize length, LgDim dim, double *value);

/* The first unit of a dimension that people would write, the second, ...; NULL after the last.
 * Static text. */
const char *lg_dim_unit(LgDim dim, int index);

/* An AWG number: "14AWG", "2/0awg" (n/0 counts as 1-n), 4/0 to 40. FALSE, and `*gauge` untouched,
 * when the text is anything else. */
gboolean lg_awg_read(const char *text, gsize length, int *gauge);
/* Metal cross section of an AWG number: d = 0.127 mm x 92^((36-n)/39) (ASTM B258). */
double lg_awg_mm2(int gauge);

/* How many bytes of the text are a number ("-1.5e3"), 0 when it does not begin with one. */
gsize lg_number_span(const char *text, gsize length);

/* The dimension that a text's unit belongs to, LG_DIM_NONE when there is none or it is unknown.
 * Where a unit serves two dimensions (K), the first in the enum. */
LgDim lg_quantity_guess(const char *text, gsize length);

/* "A, mA, uA, kA": the units that fit, for messages. Static text. */
const char *lg_dim_units(LgDim dim);
/* "current", "length": the quantity's word. Static text. */
const char *lg_dim_word(LgDim dim);

/* Prints `value` (canonical unit) with a unit that reads well ("8.2 mohm", "14 A", "1.40 m" or "4.6
 * ft") to `digits` significant digits, no trailing zeros beyond what the digits ask, no minus zero.
 * NAN prints as "?". Newly allocated. */
char *lg_quantity_print(double value, LgDim dim, LgHabit habit, int digits);

/* A number alone, locale-free, `digits` significant, shortest form: "0.25", "1200". Newly
 * allocated. */
char *lg_number_print(double value, int digits);

#define LG_ZERO_C_IN_K 273.15

G_END_DECLS
