/* Warming in time, against the standard's k, closed forms, and another bound of the trade. */
#include "heat/heat-private.h"
#include "heat/published.h"

#include <math.h>
#include <string.h>

static void assert_within(double got, double expected, double relative)
{
  if (!(fabs(got - expected) <= relative * fabs(expected)))
    g_error("got %.9g, expected %.9g within %g %%", got, expected, 100 * relative);
}

/* IEC 60364-5-54 / BS 7671 k table, copper rows (seen); the last row has only the formula. */
static void test_k(void)
{
  g_autoptr(Rows) rows = rows_read("adiabatic_k.csv");
  int n = 0;
  for (int i = 0; i < rows_count(rows); i++) {
    if (!g_str_equal(rows_text(rows, i, "conductor"), "copper"))
      continue;
    const double start_K = 273.15 + rows_number(rows, i, "initial_temperature_C");
    const double end_K = 273.15 + rows_number(rows, i, "final_temperature_C");
    const double k = lg_copper_k(start_K, end_K), printed = rows_number(rows, i, "k_A_s05_per_mm2");
    g_assert_cmpfloat(fabs(k - rows_number(rows, i, "k_from_formula")), <, 0.1);
    if (!isnan(printed))
      g_assert_cmpfloat(fabs(k - printed), <, 0.7);
    const double joules = k * k * 2.5 * 2.5;
    assert_within(lg_adiabatic_end(2.5e-6, start_K, joules), end_K, 1e-9);
    n++;
  }
  g_assert_cmpint(n, ==, 6);
}

/* Onderdonk's melting formula (memory, good): I = A sqrt (log10 (1 + (Tm - Ta) / (234 + Ta)) / 33
 * t), A in circular mil. It rests on other constants of copper. */
static void test_onderdonk(void)
{
  const double area_mm2 = 1, mils = area_mm2 / 5.067075e-4, seconds = 0.1;
  const double amps = mils * sqrt(log10(1 + (1083 - 40) / (234.0 + 40)) / (33 * seconds));
  const double reached_K = lg_adiabatic_end(1e-6, 313.15, amps * amps * seconds);
  g_test_message("Onderdonk's current for melting in 0.1 s brings ours to %.0f C",
                 reached_K - 273.15);
  assert_within(reached_K - 313.15, 1083 - 40, 0.05);
}

/* A thin skin and a straight loss g (T - Ta) leave one lump: C dT/dt = a (T - zero) - g (T - Ta),
 * an exponential. */
static void test_closed_form(void)
{
  const double ambient_K = 300, g_W_mK = 0.4;
  LgHeatWire wire = awg_wire(12, 0.6);
  wire.outer_m = wire.conductor_m * (1 + 1e-6);
  LgHeatLoss loss = {.n = 3};
  for (int k = 0; k < 3; k++) {
    loss.K[k] = ambient_K + 700 * k;
    loss.W_m[k] = g_W_mK * 700 * k;
    loss.slope[k] = g_W_mK;
  }
  const double capacity = wire.copper_m2 * 3.45e6;
  for (double amps = 20; amps < 2000; amps *= 1.7) {
    const double a = amps * amps * wire.resistance_ohm_m / 254.5;
    const double rate = (a - g_W_mK) / capacity;
    const double lasting_K = (a * COPPER_ZERO_K - g_W_mK * ambient_K) / (a - g_W_mK);
    for (double part = 0.1; part < 3; part *= 2) {
      const double seconds = part / fabs(rate);
      const double exact_K = lasting_K + (ambient_K - lasting_K) * exp(rate * seconds);
      if (exact_K > 1200)
        continue;
      const double ours_K = lg_wire_after(&wire, &loss, ambient_K, amps, seconds);
      g_assert_cmpfloat(fabs(ours_K - exact_K), <, 0.05 + 2e-3 * (exact_K - ambient_K));
      if (exact_K > ambient_K + 5)
        assert_within(lg_wire_time_to(&wire, &loss, ambient_K, amps, exact_K), seconds, 1e-2);
    }
  }
}

/* IEC 60949's allowance for heat that goes into the insulation: eps = sqrt (1 + X sqrt (t / S) + Y
 * t / S), X = 0.29 mm/s^0.5, Y = 0.06 mm2/s for PVC up to 3 kV (memory, fair). The current that
 * reaches 160 C from 70 C in t, over the adiabatic one. */
static void test_into_insulation(void)
{
  g_autoptr(Ratios) ratios = ratios_new();
  for (double awg = 20; awg >= 0; awg -= 4) {
    const LgHeatWire wire = awg_wire(awg, 0.76);
    const LgSurroundings air = lg_bare(343.15);
    const LgHeatLoss loss = lg_heat_loss(&wire, &air);
    const double mm2 = wire.copper_m2 * 1e6;
    for (double seconds = 0.1; seconds <= 5; seconds *= 2) {
      const double adiabatic_A = lg_copper_k(343.15, 433.15) * mm2 / sqrt(seconds);
      double low = adiabatic_A / 2, high = adiabatic_A * 4;
      for (int i = 0; i < 60; i++) {
        const double middle = (low + high) / 2;
        if (lg_wire_after(&wire, &loss, 343.15, middle, seconds) < 433.15)
          low = middle;
        else
          high = middle;
      }
      const double share = seconds / mm2;
      ratios_add(ratios, low / adiabatic_A, sqrt(1 + 0.29 * sqrt(share) + 0.06 * share));
    }
  }
  ratios_assert(ratios, "gain by insulation against IEC 60949, 0.1 to 5 s", 0.85, 1.10);
}

/* Never cooler than steady, never hotter than without loss; ends at the lasting temperature; from
 * hot it cools; time and temperature undo each other. */
static void test_bounds(void)
{
  for (double awg = 20; awg >= 0; awg -= 2) {
    const LgHeatWire wire = awg_wire(awg, 0.6);
    const LgSurroundings tube = lg_covered_by(313.15, "tube", 25e-3);
    const LgHeatLoss loss = lg_heat_loss(&wire, &tube);
    const double lasting_A = lg_wire_current(&wire, &tube, 378.15);
    assert_within(lg_loss_current(&wire, &loss, 378.15), lasting_A, 3e-3);
    for (double times = 0.5; times < 30; times *= 1.5) {
      const double amps = lasting_A * times;
      double before = 313.15;
      for (double seconds = 0.01; seconds < 3000; seconds *= 4) {
        const double T = lg_wire_after(&wire, &loss, 313.15, amps, seconds);
        const double bound = lg_adiabatic_end(wire.copper_m2, 313.15,
                                              amps * amps * seconds * wire.resistance_ohm_m *
                                                  wire.copper_m2 / 1.7241e-8);
        g_assert_cmpfloat(T, >=, before - 0.1);
        g_assert_cmpfloat(T, <=, MIN(bound, 1358) + 0.1);
        before = T;
      }
      const double passes_s = lg_wire_time_to(&wire, &loss, 313.15, amps, 378.15);
      g_assert_true(isinf(passes_s) == (times < 1));
      if (times > 1.05) {
        const double again = lg_wire_after(&wire, &loss, 313.15, amps, passes_s);
        g_assert_cmpfloat(fabs(again - 378.15), <, 0.3);
      }
    }
    g_assert_cmpfloat(fabs(lg_wire_after(&wire, &loss, 313.15, lasting_A, 1e6) - 378.15), <, 0.3);
    g_assert_cmpfloat(lg_wire_after(&wire, &loss, 400, 0, 1e6), <, 313.6);
    g_assert_cmpfloat(lg_wire_time_to(&wire, &loss, 380, lasting_A, 378.15), ==, 0);
  }
}

/* The curve stands for the surroundings within one percent from 5 K on. */
static void test_curve(void)
{
  const LgHeatWire wire = awg_wire(14, 0.6);
  const LgSurroundings around[] = {lg_bare(300), lg_covered_by(330, "tape", 0)};
  for (guint i = 0; i < G_N_ELEMENTS(around); i++) {
    const LgHeatLoss loss = lg_heat_loss(&wire, &around[i]);
    for (double outer_K = around[i].ambient_K + 5; outer_K < 1300; outer_K += 7) {
      const LgPassage p = lg_passage(&around[i], wire.outer_m, outer_K);
      assert_within(lg_heat_loss_at(&loss, p.bundle_K), p.heat_W_m, 1e-2);
    }
  }
}

int main(int argc, char *argv[])
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/heat/transient/k", test_k);
  g_test_add_func("/heat/transient/onderdonk", test_onderdonk);
  g_test_add_func("/heat/transient/closed-form", test_closed_form);
  g_test_add_func("/heat/transient/into-insulation", test_into_insulation);
  g_test_add_func("/heat/transient/bounds", test_bounds);
  g_test_add_func("/heat/transient/curve", test_curve);
  return g_test_run();
}
