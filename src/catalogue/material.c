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

#define CRANKING_V 7.2 /* of 12 V: SAE J537 */
#define MILD_K 298.15

double lg_battery_resistance_ratio(double charge, double temperature_K)
{
  const double warmth = pow(1.8, (MILD_K - temperature_K) / 43);
  return warmth / (0.3 + 0.7 * CLAMP(charge, 0, 1));
}

double lg_battery_cranking_A(int chemistry, double nominal_V, double resistance_ohm, double charge,
                             double temperature_K)
{
  const double spare_V = lg_battery_ocv(chemistry, charge, nominal_V) - CRANKING_V * nominal_V / 12;
  return spare_V / (resistance_ohm * lg_battery_resistance_ratio(charge, temperature_K));
}

double lg_battery_capacity_ratio(double temperature_K)
{
  return CLAMP(1 - 0.01 * (MILD_K - temperature_K), 0.2, 1);
}

#define LITHIUM 3 /* in the schema's words of chemistry */

double lg_battery_accepts_A(int chemistry, double capacity_20h_Ah, double charge,
                            double temperature_K)
{
  const double least = 0.001;
  if (chemistry == LITHIUM && temperature_K < ZERO_C_IN_K)
    return least * capacity_20h_Ah;
  const double share = CLAMP(1.05 - charge, 0.02, 0.25);
  const double warmth = fmin(exp2((temperature_K - MILD_K) / 17), 2);
  return fmax(share * warmth, least) * capacity_20h_Ah;
}

double lg_battery_yield(int chemistry)
{
  return chemistry == LITHIUM ? 0.99 : 0.9;
}

double lg_battery_freezes_K(int chemistry, double charge)
{
  static const double charges[] = {0, 0.25, 0.75, 1}, freezes_C[] = {-8, -26.7, -48.3, -59.4};
  return chemistry == LITHIUM ? 0 : ZERO_C_IN_K + broken_line(4, charges, freezes_C, charge);
}

#define CUT_IN_RPM 400.0
#define IDLE_RPM 800.0
#define RATED_RPM 2400.0

/* x at which (1 - exp (-x)) / (1 - exp (-bx)) is `share`, between 1 / b and 1. */
static double bend_of(double share, double b)
{
  double low = 1e-6, high = 60;
  for (int i = 0; i < 60; i++) {
    const double x = 0.5 * (low + high);
    *(expm1(-x) / expm1(-b * x) < share ? &low : &high) = x;
  }
  return 0.5 * (low + high);
}

double lg_alternator_A(double rated_A, double idle_A, double engine_rpm)
{
  const double ratio = (RATED_RPM - CUT_IN_RPM) / (IDLE_RPM - CUT_IN_RPM);
  if (idle_A <= rated_A / ratio || idle_A >= rated_A) {
    const double speeds[] = {CUT_IN_RPM, IDLE_RPM, RATED_RPM};
    const double amps[] = {0, fmin(idle_A, rated_A), rated_A};
    return broken_line(3, speeds, amps, engine_rpm);
  }
  if (engine_rpm <= CUT_IN_RPM || engine_rpm >= RATED_RPM)
    return engine_rpm <= CUT_IN_RPM ? 0 : rated_A;
  const double bend = bend_of(idle_A / rated_A, ratio);
  const double at = (engine_rpm - CUT_IN_RPM) / (IDLE_RPM - CUT_IN_RPM);
  return rated_A * expm1(-bend * at) / expm1(-bend * ratio);
}

double lg_regulated_V(double set_V, double nominal_V, double temperature_K)
{
  const double below_K = MILD_K - CLAMP(temperature_K, ZERO_C_IN_K - 25, ZERO_C_IN_K + 60);
  return set_V + 0.010 * below_K * nominal_V / 12;
}

double lg_contact_life(double life, double use, gboolean motor)
{
  const double mechanical = 1e6;
  return use > 0 ? fmin(life * (motor ? 0.4 : 1) / use, mechanical) : mechanical;
}

/* Contact times in s and the thresholds in C of ISO 13732-1, by the schema's words of material. */
#define N_CONTACTS 5
static const double contact_times[N_CONTACTS] = {1, 10, 60, 600, 28800};
static const double burns_C[][N_CONTACTS] = {
    {85, 71, 51, 48, 43},  {85, 71, 51, 48, 43}, {85, 71, 51, 48, 43},
    {110, 89, 51, 48, 43}, {80, 66, 51, 48, 43}, {65, 55, 51, 48, 43},
};

static void log_times(double logs[N_CONTACTS])
{
  for (int i = 0; i < N_CONTACTS; i++)
    logs[i] = log(contact_times[i]);
}

double lg_burn_threshold_K(int material, double contact_s)
{
  g_assert(material >= 0 && material < (int)G_N_ELEMENTS(burns_C));
  double logs[N_CONTACTS];
  log_times(logs);
  return ZERO_C_IN_K + broken_line(N_CONTACTS, logs, burns_C[material], log(contact_s));
}

double lg_burn_time_s(int material, double surface_K)
{
  g_assert(material >= 0 && material < (int)G_N_ELEMENTS(burns_C));
  double logs[N_CONTACTS], rising_C[N_CONTACTS], falling[N_CONTACTS];
  log_times(logs);
  for (int i = 0; i < N_CONTACTS; i++) {
    rising_C[i] = burns_C[material][N_CONTACTS - 1 - i];
    falling[i] = logs[N_CONTACTS - 1 - i];
  }
  if (surface_K - ZERO_C_IN_K < rising_C[0])
    return INFINITY;
  return exp(broken_line(N_CONTACTS, rising_C, falling, surface_K - ZERO_C_IN_K));
}
