/* Air and convection against handbook figures. */
#include "heat/heat-private.h"
#include "heat/published.h"

#include <math.h>
#include <stdio.h>

static void assert_within(double got, double expected, double relative)
{
  if (!(fabs(got - expected) <= relative * fabs(expected)))
    g_error("got %g, expected %g within %g %%", got, expected, 100 * relative);
}

/* Property table of a textbook exercise (seen). Printed tables differ by as much among themselves:
 * this one's Prandtl number rises with temperature, where others' falls. */
static void test_air(void)
{
  g_autoptr(Rows) rows = rows_read("convection.csv");
  int n = 0;
  for (int i = 0; i < rows_count(rows); i++) {
    double at_C, density, conductivity, dynamic, kinematic, prandtl;
    if (sscanf(
            rows_text(rows, i, "item"),
            "air at 1 atm, %lf C: density %lf kg/m3, conductivity %lf W/(m K), dynamic viscosity "
            "%lf kg/(m s), kinematic viscosity %lf m2/s, Pr %lf",
            &at_C, &density, &conductivity, &dynamic, &kinematic, &prandtl) != 6)
      continue;
    const LgAir air = lg_air(273.15 + at_C);
    assert_within(air.conductivity_W_mK, conductivity, 0.03);
    assert_within(air.viscosity_m2_s, kinematic, 0.015);
    assert_within(air.prandtl, prandtl, 0.03);
    n++;
  }
  g_assert_cmpint(n, ==, 2);
}

/* A worked example of a textbook, with its own property table (memory, good). */
static void test_examples(void)
{
  g_autoptr(Rows) rows = rows_read("convection_examples.csv");
  for (int i = 0; i < rows_count(rows); i++) {
    const char *what = rows_text(rows, i, "quantity");
    const double d = rows_number(rows, i, "diameter_m"), e = rows_number(rows, i, "emissivity");
    const double surface_K = 273.15 + rows_number(rows, i, "surface_C");
    const double ambient_K = 273.15 + rows_number(rows, i, "ambient_C");
    const double printed = rows_number(rows, i, "value");
    const double rayleigh = lg_rayleigh(d, surface_K, ambient_K);
    const double black = lg_surface_heat(d, surface_K, ambient_K, 0);
    if (g_str_equal(what, "rayleigh"))
      assert_within(rayleigh, printed, 0.03);
    else if (g_str_equal(what, "nusselt"))
      assert_within(lg_nusselt_churchill_chu(rayleigh, 0.71), printed, 0.015);
    else if (g_str_equal(what, "convection"))
      assert_within(black, printed, 0.02);
    else
      assert_within(lg_surface_heat(d, surface_K, ambient_K, e) - black, printed, 0.005);
  }
}

/* Morgan's constants (memory, good), row by row; and the other correlation beside it. */
static void test_morgan(void)
{
  g_autoptr(Rows) rows = rows_read("convection.csv");
  int n = 0;
  for (int i = 0; i < rows_count(rows); i++) {
    const double c = rows_number(rows, i, "value_C"), power = rows_number(rows, i, "value_n");
    if (isnan(c) || isnan(power))
      continue;
    const double middle = sqrt(rows_number(rows, i, "ra_from") * rows_number(rows, i, "ra_to"));
    assert_within(lg_nusselt_morgan(middle), c * pow(middle, power), 1e-12);
    n++;
  }
  g_assert_cmpint(n, ==, 5);
}

/* Two independent fits to the same kind of measurement. For thin wires the one that the heat
 * balance uses must be the lower. */
static void test_correlations_together(void)
{
  g_autoptr(Ratios) ratios = ratios_new();
  for (double rayleigh = 10; rayleigh < 3e5; rayleigh *= 1.5)
    ratios_add(ratios, lg_nusselt_churchill_chu(rayleigh, 0.7), lg_nusselt_morgan(rayleigh));
  ratios_assert(ratios, "Churchill-Chu over Morgan, Ra 10 to 3e5", 0.75, 1);
}

int main(int argc, char *argv[])
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/heat/convection/air", test_air);
  g_test_add_func("/heat/convection/worked-examples", test_examples);
  g_test_add_func("/heat/convection/morgan", test_morgan);
  g_test_add_func("/heat/convection/correlations-together", test_correlations_together);
  return g_test_run();
}
