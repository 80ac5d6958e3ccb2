#include "catalogue/material.h"
#include <math.h>

#define ZERO_C_K 273.15
#define COPPER_BETA_C 234.5    /* IEC 60949 */
#define COPPER_QC 3.45e-3      /* J / (K mm3), IEC 60949 */
#define COPPER_RHO20 17.241e-6 /* ohm mm, IEC 60949 */

double lg_copper_ratio(double temperature_K)
{
  return (COPPER_BETA_C + temperature_K - ZERO_C_K) / (COPPER_BETA_C + 20);
}

double lg_thermistor_ohm(double r25_ohm, double beta_K, double temperature_K)
{
  return r25_ohm * exp(beta_K * (1 / temperature_K - 1 / 298.15));
}

double lg_thermistor_K(double r25_ohm, double beta_K, double resistance_ohm)
{
  return 1 / (log(resistance_ohm / r25_ohm) / beta_K + 1 / 298.15);
}

#define N_POINTS 6

/* Volts of a 12 V battery at a charge. Flooded: BCI table at 26.7 C (100, 75 and 25 % seen; 50 and
 * 0 % memory). AGM: makers' manuals, memory. Lithium: four iron-phosphate cells, common practice,
 * no source. */
static const struct {
  double charge, volts;
} ocv_points[4][N_POINTS] = {
    {{0, 11.89}, {0.25, 12.06}, {0.5, 12.24}, {0.75, 12.45}, {1, 12.65}, {1, 12.65}},
    {{0, 11.65}, {0.25, 11.95}, {0.5, 12.25}, {0.75, 12.55}, {1, 12.85}, {1, 12.85}},
    {{0, 11.65}, {0.25, 11.95}, {0.5, 12.25}, {0.75, 12.55}, {1, 12.85}, {1, 12.85}},
    {{0, 10.5}, {0.1, 12.6}, {0.2, 12.95}, {0.5, 13.15}, {0.9, 13.3}, {1, 13.5}},
};

double lg_battery_ocv(int chemistry, double charge, double nominal_V)
{
  g_assert(chemistry >= 0 && chemistry < 4);
  int k = 0;
  while (k < N_POINTS - 2 && charge > ocv_points[chemistry][k + 1].charge)
    k++;
  const double c0 = ocv_points[chemistry][k].charge, c1 = ocv_points[chemistry][k + 1].charge;
  const double v0 = ocv_points[chemistry][k].volts, v1 = ocv_points[chemistry][k + 1].volts;
  const double share = c1 > c0 ? (CLAMP(charge, c0, c1) - c0) / (c1 - c0) : 0;
  return (v0 + share * (v1 - v0)) * nominal_V / 12;
}

double lg_battery_charge(int chemistry, double volts, double nominal_V)
{
  double low = 0, high = 1;
  for (int i = 0; i < 60; i++) {
    const double middle = 0.5 * (low + high);
    if (lg_battery_ocv(chemistry, middle, nominal_V) < volts)
      low = middle;
    else
      high = middle;
  }
  return 0.5 * (low + high);
}

double lg_peukert_share(double exponent, double capacity_20h_Ah, double current_A)
{
  return fmin(1, pow(capacity_20h_Ah / 20 / current_A, exponent - 1));
}

double lg_adiabatic_k(double start_K, double end_K)
{
  const double start = COPPER_BETA_C + start_K - ZERO_C_K, end = COPPER_BETA_C + end_K - ZERO_C_K;
  return sqrt(COPPER_QC * (COPPER_BETA_C + 20) / COPPER_RHO20 * log(end / start));
}

double lg_ambient_factor(double insulation_K, double ambient_K, double reference_K)
{
  return ambient_K >= insulation_K
             ? 0
             : sqrt((insulation_K - ambient_K) / (insulation_K - reference_K));
}
