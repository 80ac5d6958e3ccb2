/* Laws of materials on plain numbers, each with its source: copper, ambient, thermistors,
 * batteries, alternators, contacts, skin. */
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

/* Internal resistance as a multiple of that of a full battery at 25 C. With temperature
 * 1.8^((25 C - T) / 43 K), so that it is 1.8 at -18 C: 5.4 V / CCA there against 3.0 V / CCA at
 * 25 C (memory, fair). With charge 1 / (0.3 + 0.7 charge): one and a half times at half charge,
 * three times when empty (common practice, no source). */
double lg_battery_resistance_ratio(double charge, double temperature_K);

/* Greatest current at which 7.2 V per 12 V are left at the posts: the cold cranking test of SAE
 * J537 (30 s at -18 C; memory, good). `resistance_ohm` full at 25 C. At -18 C and full this is the
 * cold cranking current that the resistance was made from, within 1 %. */
double lg_battery_cranking_A(int chemistry, double nominal_V, double resistance_ohm, double charge,
                             double temperature_K);

/* Share of the 25 C capacity that a cold battery gives: 1 % less per kelvin, never below a fifth
 * nor above 1. Lead: IEC 60896 for discharges below three hours (memory, good); others: common
 * practice, no source. */
double lg_battery_capacity_ratio(double temperature_K);

/* Current that a battery accepts at its regulator's volts: at 25 C what is missing to 105 % in an
 * hour, at most a quarter of its capacity in amperes; doubling every 17 K, so a sixth of it at -18
 * C, and at most twice that of 25 C. Common practice, no source. Lithium below 0 C: nothing
 * (makers' manuals, seen). Never below a thousandth of the capacity, which stands for nothing. */
double lg_battery_accepts_A(int chemistry, double capacity_20h_Ah, double charge,
                            double temperature_K);

/* Share of the ampere hours put in that can be taken out again: lead 0.9, lithium 0.99. Memory,
 * fair. */
double lg_battery_yield(int chemistry);

/* Temperature at which the acid of a lead battery freezes, by its charge: BCI table (100, 75 and 25
 * % seen), straight between; -8 C when empty (memory, low). 0 K for lithium. */
double lg_battery_freezes_K(int chemistry, double charge);

/* Greatest current of an alternator or dynamo by the speed of the engine: nothing up to 400 1/min,
 * its idle current at 800, its rated current from 2400 on, and between them rated x (1 - exp) bent
 * so that it meets both; straight between them where the idle current is a fifth of the rated one
 * or less. The plate's 6000 1/min and the idle point's 1500 to 2000 1/min are the rotor's (ISO
 * 8854, memory, good); a pulley of 2.5 : 1 and idling at 800 1/min are common practice, no source.
 */
double lg_alternator_A(double rated_A, double idle_A, double engine_rpm);

/* Volts that a regulator holds when it is as warm as the battery: 10 mV per kelvin and 12 V above
 * its set point below 25 C, and below it above, from -25 to 60 C. Common practice, no source. */
double lg_regulated_V(double set_V, double nominal_V, double temperature_K);

/* Operations that a contact lasts at `use` times its rating of that kind of load: life x factor /
 * use, at most the mechanical million of the weakest sheets (seen). `life` resistive at its rating.
 * Factor 0.4 for motors and coils, by the relay sheet that gives 300 000 at 20 A resistive and 100
 * 000 at 25 A of a motor that is reversed and blocked (seen); 1 else. 1 / use: the sheets' 20, 30
 * and 40 A points fall slower than that (seen), so it is the safe side above the rating and common
 * practice below it. */
double lg_contact_life(double life, double use, gboolean motor);

/* Temperature of a surface at which bare skin begins to burn after a contact of `contact_s`: ISO
 * 13732-1 (memory; 1 and 10 s +/- 3 K), straight in the logarithm of time, flat outside 1 s to 8 h.
 * `material` in the order of the schema's words; textile and leather are not in the standard and
 * count as plastic, which is the safe side. */
double lg_burn_threshold_K(int material, double contact_s);
/* Its inverse: time to a burn, 1 s where it is hotter than at 1 s, INFINITY where no time is given.
 */
double lg_burn_time_s(int material, double surface_K);

G_END_DECLS
