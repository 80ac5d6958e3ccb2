/* Laws of materials on plain numbers, each with its source: copper, ambient, thermistors,
 * batteries. */
#pragma once
#include <glib.h>

G_BEGIN_DECLS

/* R(T) / R(20 C) of copper: (234.5 + T) / 254.5, T in C (AC 43.13-1B; beta of IEC 60949, both
 * seen). */
double lg_copper_ratio(double temperature_K);

/* sqrt ((Tins - Tamb) / (Tins - Tref)), 0 when Tamb >= Tins: what an ambient leaves of a current
 * that was published for another. 33 CFR 183.425 Table 5 note 1 follows it. */
double lg_ambient_factor(double insulation_K, double ambient_K, double reference_K);

/* NTC thermistor by the B formula of IEC 60539-1: R25 exp (B (1/T - 1/298.15)), ohms. */
double lg_thermistor_ohm(double r25_ohm, double beta_K, double temperature_K);
/* Its inverse, K. */
double lg_thermistor_K(double r25_ohm, double beta_K, double ohm);

/* Volts of a rested battery by its state of charge, 0 to 1 (outside: as at the ends): straight
 * between the points of a table for 12 V, times nominal / 12. `chemistry` in the order of the
 * schema's words: flooded (BCI table; 100, 75 and 25 % seen, 50 and 0 % memory), agm (makers'
 * manuals, memory), gel (as agm: common practice, no source), lithium (four iron-phosphate cells;
 * memory, low confidence). */
double lg_battery_ocv(int chemistry, double charge, double nominal_V);
/* Its inverse, 0 to 1. */
double lg_battery_charge(int chemistry, double ocv_V, double nominal_V);

/* Share of the 20 h capacity that a battery gives at a steady current, by Peukert:
 * (I20 / I)^(n - 1), at most 1; I20 is the 20 h current. */
double lg_peukert_share(double exponent, double capacity_20h_Ah, double current_A);

G_END_DECLS
