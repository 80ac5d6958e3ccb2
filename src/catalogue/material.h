/* Laws of copper, thermistors, batteries and insulation: pure functions, each with its source. */
#pragma once
#include <glib.h>

G_BEGIN_DECLS

/* R(T) / R(20 C) of copper: (234.5 + T) / 254.5, T in C (AC 43.13-1B; beta of IEC 60949, both
 * seen). */
double lg_copper_ratio(double temperature_K);

/* NTC thermistor by the B formula: R25 exp (B (1/T - 1/298.15)), ohms. */
double lg_thermistor_ohm(double r25_ohm, double beta_K, double temperature_K);
/* Its inverse, K. */
double lg_thermistor_K(double r25_ohm, double beta_K, double resistance_ohm);

/* Open-circuit volts of a rested battery of `nominal_V`, charge 0..1 (outside: clamped), by
 * chemistry in the order of the schema's words: flooded, agm, gel, lithium. Straight lines between
 * the points of the BCI table (flooded, seen) and of makers' manuals (others, memory; gel as AGM).
 */
double lg_battery_ocv(int chemistry, double charge, double nominal_V);
/* Its inverse, 0..1. */
double lg_battery_charge(int chemistry, double volts, double nominal_V);

/* Share of the rated capacity that a battery gives at `current_A`, by Peukert: (I20 / I)^(n-1), at
 * most 1; I20 is the 20 h current. */
double lg_peukert_share(double exponent, double capacity_20h_Ah, double current_A);

/* Adiabatic constant of copper between two temperatures, A s^0.5 / mm2 (IEC 60949, IEC 60364-5-54
 * annex, seen): sqrt (Qc (beta + 20) / rho20 ln ((beta + Tf) / (beta + Ti))). */
double lg_adiabatic_k(double start_K, double end_K);

/* sqrt ((Tins - Tamb) / (Tins - Tref)), 0 when Tamb >= Tins: the square-root form of ambient
 * correction, which 33 CFR 183.425 Table 5 note 1 follows. */
double lg_ambient_factor(double insulation_K, double ambient_K, double reference_K);

G_END_DECLS
