/* Bundles against the derating curves of aircraft practice and the factors of boat rules. */
#include "heat/heat-private.h"
#include "heat/published.h"

#include <math.h>

enum { MOST = 40 };

static LgHeatWire aircraft_wire(const Rows *wires, const char *awg)
{
  for (int j = 0; j < rows_count(wires); j++)
    if (g_str_equal(rows_text(wires, j, "awg"), awg)) {
      LgHeatWire wire = awg_wire(rows_awg(wires, j, "awg"), 0);
      wire.resistance_ohm_m = rows_number(wires, j, "resistance_20C_mohm_per_m") * 1e-3;
      wire.conductor_m = rows_number(wires, j, "conductor_mm") * 1e-3;
      wire.outer_m = rows_number(wires, j, "outer_mm") * 1e-3;
      return wire;
    }
  g_error("no wire of %s AWG", awg);
}

/* Factor of a bundle of `n` equal wires of which `loaded` carry current. */
static double factor_of(const LgHeatWire *wire, int n, int loaded, double ambient_K, double limit_K)
{
  LgHeatWire wires[MOST];
  double current_A[MOST];
  for (int i = 0; i < n; i++) {
    wires[i] = *wire;
    current_A[i] = i < loaded;
  }
  const LgHeatBundle bundle = {wires, current_A, n, lg_bare(ambient_K), 0};
  return lg_bundle_factor(&bundle, limit_K);
}

/* Between whole numbers of loaded wires, and at least one. */
static double factor_at(const LgHeatWire *wire, int n, double loaded)
{
  const int below = (int)MAX(floor(loaded + 1e-9), 1);
  const double part = MAX(loaded - below, 0);
  const double low = factor_of(wire, n, below, 333.15, 473.15);
  return part < 1e-9 ? low : low + part * (factor_of(wire, n, below + 1, 333.15, 473.15) - low);
}

/* MIL-W-5088L / AS50881 bundle curves (seen, digitised): n wires, a share of the bundle's capacity
 * in use, taken as that share of the wires at full load. 20 and 12 AWG, 60 to 200 C. */
static void test_curves(void)
{
  g_autoptr(Rows) points = rows_read("bundle_derating.csv"),
                  wires = rows_read("aircraft_wires.csv");
  const LgHeatWire thin = aircraft_wire(wires, "20"), thick = aircraft_wire(wires, "12");
  g_autoptr(Ratios) thin_ratios = ratios_new(), thick_ratios = ratios_new(), full = ratios_new();
  for (int i = 0; i < rows_count(points); i++) {
    const int n = (int)rows_number(points, i, "wires_in_bundle");
    const double share = rows_number(points, i, "bundle_loading_percent") / 100;
    const double printed = rows_number(points, i, "derating_factor");
    if (n == 1)
      continue;
    ratios_add(thin_ratios, factor_at(&thin, n, share * n), printed);
    ratios_add(thick_ratios, factor_at(&thick, n, share * n), printed);
    if (share == 1)
      ratios_add(full, factor_at(&thin, n, n), printed);
  }
  ratios_assert(full, "AS50881 curves, all wires loaded, 20 AWG", 0.94, 1.08);
  ratios_assert(thin_ratios, "AS50881 curves, 20 AWG", 0.89, 1.08);
  ratios_assert(thick_ratios, "AS50881 curves, 12 AWG", 0.84, 1.06);
}

/* AC 43.13-1B, bundle example (seen): twelve 12 AWG wires of 200 C at 25 C, all loaded: 29.2 A. */
static void test_example(void)
{
  g_autoptr(Rows) wires = rows_read("aircraft_wires.csv");
  const LgHeatWire wire = aircraft_wire(wires, "12");
  const LgSurroundings air = lg_bare(298.15);
  const double ours =
      factor_of(&wire, 12, 12, 298.15, 473.15) * lg_wire_current(&wire, &air, 473.15);
  g_test_message("twelve 12 AWG wires: ours %.1f A, printed 29.2 A", ours);
  g_assert_cmpfloat(fabs(ours / 29.2 - 1), <, 0.1);
}

/* Factors of boat rules (33 CFR / ABYC: 3 wires 0.7, 4 to 6 0.6, 7 to 24 0.5, 25 and more 0.4;
 * ISO 10133: 0.7, 0.6, 0.5 for the last three; seen and memory). One figure for a range: ours must
 * pass it within the range, or the rule counts on idle wires, and then it says by how much. */
static void test_boat_factors(void)
{
  const LgHeatWire wire = awg_wire(14, 0.76);
  const double three = factor_of(&wire, 3, 3, 303.15, 378.15);
  const double four = factor_of(&wire, 4, 4, 303.15, 378.15);
  const double six = factor_of(&wire, 6, 6, 303.15, 378.15);
  const double seven = factor_of(&wire, 7, 7, 303.15, 378.15);
  const double many = factor_of(&wire, 24, 24, 303.15, 378.15);
  g_test_message(
      "all loaded, 14 AWG, 30 to 105 C: 3 wires %.3f, 4 %.3f, 6 %.3f, 7 %.3f, 24 %.3f, half "
      "of 24 %.3f",
      three, four, six, seven, many, factor_of(&wire, 24, 12, 303.15, 378.15));
  g_assert_cmpfloat(fabs(three - 0.7), <, 0.03);
  g_assert_cmpfloat(four, >, 0.6);
  g_assert_cmpfloat(six, <, 0.6);
  g_assert_cmpfloat(seven, >, 0.5);
  g_assert_cmpfloat(many, <, 0.4);
}

/* The widths of a circle around 2, 3, 4 and 7 equal ones are 2, 1 + 2/sqrt 3, 1 + sqrt 2 and 3
 * (elementary geometry), and the taut thread is n d + pi d or 6 d + pi d long. */
static void test_geometry(void)
{
  static const struct {
    int n;
    double diameter, thread;
  } known[] = {{1, 1, 0}, {2, 2, 2}, {3, 2.154701, 3}, {4, 2.414214, 4}, {7, 3, 6}};
  LgHeatWire wires[7];
  for (int i = 0; i < 7; i++)
    wires[i] = (LgHeatWire){.outer_m = 2e-3};
  for (guint i = 0; i < G_N_ELEMENTS(known); i++) {
    const int n = known[i].n;
    const double girth_m = 2e-3 * (known[i].thread + G_PI) / G_PI;
    g_assert_cmpfloat(fabs(lg_bundle_diameter(wires, n) / (2e-3 * known[i].diameter) - 1), <, 1e-3);
    g_assert_cmpfloat(fabs(lg_bundle_girth(wires, n) / girth_m - 1), <, 2e-3);
  }
  wires[0].outer_m = 10e-3;
  g_assert_cmpfloat(lg_bundle_diameter(wires, 2), >=, 12e-3);
}

static LgHeatBundle mixed(LgHeatWire wires[6], double current_A[6])
{
  static const double awg[] = {18, 18, 16, 14, 12, 8}, amps[] = {2, 0, 6, 9, 20, 30};
  for (int i = 0; i < 6; i++) {
    wires[i] = awg_wire(awg[i], 0.5);
    current_A[i] = amps[i];
  }
  return (LgHeatBundle){wires, current_A, 6, lg_covered_by(313.15, "slit-tube", 14e-3), 0};
}

/* Allowed current puts exactly one wire at its limit; more company, more current, a hotter place
 * or a covering never cool a wire; the idle wire is warm too. */
static void test_properties(void)
{
  LgHeatWire wires[6];
  double amps[6], before[6], after[6], limits[6];
  LgHeatBundle bundle = mixed(wires, amps);
  g_assert_true(lg_bundle_temperatures(&bundle, before, NULL, NULL));
  g_assert_cmpfloat(before[1], >, 313.15 + 5);
  for (int i = 0; i < 6; i++)
    limits[i] = 398.15;
  for (int i = 0; i < 6; i++) {
    const double kept = amps[i];
    amps[i] = lg_bundle_allowed(&bundle, i, limits);
    g_assert_true(lg_bundle_temperatures(&bundle, after, NULL, NULL));
    double hottest = 0;
    for (int j = 0; j < 6; j++)
      hottest = MAX(hottest, after[j]);
    g_assert_cmpfloat(fabs(hottest - 398.15), <, 1e-2);
    amps[i] = kept;
  }
  amps[2] += 3;
  g_assert_true(lg_bundle_temperatures(&bundle, after, NULL, NULL));
  for (int i = 0; i < 6; i++)
    g_assert_cmpfloat(after[i], >, before[i]);
  amps[2] -= 3;
  bundle.around.bore_m = bundle.around.wall_m = 0;
  g_assert_true(lg_bundle_temperatures(&bundle, after, NULL, NULL));
  for (int i = 0; i < 6; i++)
    g_assert_cmpfloat(after[i], <, before[i]);
  bundle.around.ambient_K += 20;
  g_assert_true(lg_bundle_temperatures(&bundle, before, NULL, NULL));
  for (int i = 0; i < 6; i++)
    g_assert_cmpfloat(before[i], >, after[i] + 15);
  for (int i = 0; i < 6; i++)
    limits[i] = 330;
  g_assert_cmpfloat(lg_bundle_allowed(&bundle, 0, limits), ==, 0);
}

/* Seen from inside: a wire's curve in the bundle gives back the bundle's own temperature, or a
 * little more: it stands for a wire hotter than its neighbours. */
static void test_curve_in_bundle(void)
{
  LgHeatWire wires[6];
  double amps[6], steady[6];
  const LgHeatBundle bundle = mixed(wires, amps);
  g_assert_true(lg_bundle_temperatures(&bundle, steady, NULL, NULL));
  for (int i = 0; i < 6; i++) {
    const LgHeatLoss loss = lg_heat_loss_in_bundle(&bundle, i);
    g_assert_cmpint(loss.n, >=, 6);
    const double over_K = lg_loss_temperature(&wires[i], &loss, amps[i]) - steady[i];
    g_assert_cmpfloat(over_K, >, -0.3);
    g_assert_cmpfloat(over_K, <, 3);
  }
}

/* The quick curve beside the whole balance, below 250 C: the lasting currents that they allow. */
static void test_curve_among(void)
{
  LgHeatWire wires[6];
  double current_A[6], conductor_K[6], bundle_K, most = 0;
  const LgHeatBundle bundle = mixed(wires, current_A);
  g_assert_true(lg_bundle_temperatures(&bundle, conductor_K, &bundle_K, NULL));
  for (int i = 0; i < bundle.n; i++) {
    const LgHeatLoss whole = lg_heat_loss_in_bundle(&bundle, i);
    const LgHeatLoss quick = lg_heat_loss_among(&bundle, conductor_K, bundle_K, i);
    for (double limit_K = conductor_K[i] + 5; limit_K < 523; limit_K += 20) {
      const double ratio =
          lg_loss_current(&wires[i], &quick, limit_K) / lg_loss_current(&wires[i], &whole, limit_K);
      most = fmax(most, fabs(ratio - 1));
    }
  }
  g_test_message("quick curve: %.4f of the current at most", most);
  g_assert_cmpfloat(most, <, 0.02);
}

static void test_runs_away(void)
{
  LgHeatWire wires[6];
  double amps[6], T[6];
  LgHeatBundle bundle = mixed(wires, amps);
  amps[4] = 400;
  g_assert_false(lg_bundle_temperatures(&bundle, T, NULL, NULL));
  for (int i = 0; i < 6; i++)
    g_assert_true(isinf(T[i]));
  for (int i = 0; i < 6; i++)
    amps[i] = 0;
  g_assert_true(lg_bundle_temperatures(&bundle, T, NULL, NULL));
  for (int i = 0; i < 6; i++)
    g_assert_cmpfloat(fabs(T[i] - 313.15), <, 1e-6);
}

int main(int argc, char *argv[])
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/heat/bundle/derating-curves", test_curves);
  g_test_add_func("/heat/bundle/worked-example", test_example);
  g_test_add_func("/heat/bundle/boat-factors", test_boat_factors);
  g_test_add_func("/heat/bundle/geometry", test_geometry);
  g_test_add_func("/heat/bundle/properties", test_properties);
  g_test_add_func("/heat/bundle/curve-of-one-wire", test_curve_in_bundle);
  g_test_add_func("/heat/bundle/curve-among", test_curve_among);
  g_test_add_func("/heat/bundle/runs-away", test_runs_away);
  return g_test_run();
}
