#include "catalogue/material.h"
#include <math.h>

#define ZERO_C_IN_K 273.15
#define COPPER_BETA_C 234.5 /* IEC 60949 */
#define R25_K 298.15

double lg_copper_ratio(double temperature_K)
{
  return (COPPER_BETA_C + temperature_K - ZERO_C_IN_K) / (COPPER_BETA_C + 20);
}

double lg_ambient_factor(double insulation_K, double ambient_K, double reference_K)
{
  if (ambient_K >= insulation_K)
    return 0;
  return sqrt((insulation_K - ambient_K) / (insulation_K - reference_K));
}

double lg_thermistor_ohm(double r25_ohm, double beta_K, double temperature_K)
{
  return r25_ohm * exp(beta_K * (1 / temperature_K - 1 / R25_K));
}

double lg_thermistor_K(double r25_ohm, double beta_K, double ohm)
{
  return 1 / (log(ohm / r25_ohm) / beta_K + 1 / R25_K);
}

/* Points of a rested 12 V battery, charge and volts ascending. */
typedef struct {
  int n;
  double charge[6], volts[6];
} Rest;

static const Rest rests[] = {
    {5, {0, 0.25, 0.5, 0.75, 1}, {11.89, 12.06, 12.24, 12.45, 12.65}},
    {5, {0, 0.25, 0.5, 0.75, 1}, {11.65, 11.95, 12.25, 12.55, 12.85}},
    {5, {0, 0.25, 0.5, 0.75, 1}, {11.65, 11.95, 12.25, 12.55, 12.85}},
    {6, {0, 0.1, 0.2, 0.5, 0.9, 1}, {10.5, 12.6, 12.95, 13.15, 13.3, 13.5}},
};

static const Rest *rest_of(int chemistry)
{
  g_assert(chemistry >= 0 && chemistry < (int)G_N_ELEMENTS(rests));
  return &rests[chemistry];
}

/* y at x on the broken line through n points, x ascending; flat outside. */
static double broken_line(int n, const double xs[], const double ys[], double x)
{
  if (x <= xs[0])
    return ys[0];
  for (int i = 1; i < n; i++)
    if (x <= xs[i])
      return ys[i - 1] + (ys[i] - ys[i - 1]) * (x - xs[i - 1]) / (xs[i] - xs[i - 1]);
  return ys[n - 1];
}

double lg_battery_ocv(int chemistry, double charge, double nominal_V)
{
  const Rest *const rest = rest_of(chemistry);
  return broken_line(rest->n, rest->charge, rest->volts, charge) * nominal_V / 12;
}

double lg_battery_charge(int chemistry, double ocv_V, double nominal_V)
{
  const Rest *const rest = rest_of(chemistry);
  return broken_line(rest->n, rest->volts, rest->charge, ocv_V * 12 / nominal_V);
}

double lg_peukert_share(double exponent, double capacity_20h_Ah, double current_A)
{
  return fmin(1, pow(capacity_20h_Ah / 20 / current_A, exponent - 1));
}
