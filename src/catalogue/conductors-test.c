/* Conductors of the catalogue against standards and published lists. */
#include "catalogue/catalogue.h"
#include "catalogue/reference.h"
#include <math.h>
#include <string.h>

#define MM2_OF_CM 5.067075e-4     /* one circular mil */
#define COPPER_OHM_MM2_M 0.017241 /* IACS 100 % at 20 C */

static LgCatalogue *catalogue;

static void assert_near(double ours, double theirs, double share)
{
  if (!(fabs(ours / theirs - 1) <= share))
    g_error("%.6g is not within %g %% of %.6g", ours, 100 * share, theirs);
}

static void assert_between(double x, double least, double most)
{
  g_assert_cmpfloat(x, >=, least);
  g_assert_cmpfloat(x, <=, most);
}

/* ASTM B258: 36 AWG is 0.005 in across, 4/0 is 0.46 in, by definition. */
static void test_awg_ends(void)
{
  const double inch_mm = 25.4;
  assert_near(lg_awg_mm2(36), G_PI / 4 * pow(0.005 * inch_mm, 2), 1e-12);
  assert_near(lg_awg_mm2(-3), G_PI / 4 * pow(0.46 * inch_mm, 2), 1e-12);
}

/* Diameter, area and circular mils of every size, ASTM B258 (computed elsewhere). */
static void test_awg_geometry(void)
{
  g_autoptr(Rows) rows = rows_read("conductors_awg.csv");
  for (int i = 0; i < rows_count(rows); i++) {
    const double mm2 = lg_awg_mm2((int)rows_awg(rows, i, "awg"));
    assert_near(mm2, rows_number(rows, i, "area_mm2"), 2e-4);
    assert_near(sqrt(4 * mm2 / G_PI), rows_number(rows, i, "diameter_mm"), 1e-4);
    assert_near(mm2 / MM2_OF_CM, rows_number(rows, i, "area_circular_mil"), 1.3e-3);
  }
  g_assert_cmpint(rows_count(rows), ==, 18);
}

/* Solid copper at 20 C, printed in a two-conductor drop chart (seen). */
static void test_solid_resistance(void)
{
  g_autoptr(Rows) rows = rows_read("conductors_awg_published.csv");
  int n = 0;
  for (int i = 0; i < rows_count(rows); i++) {
    if (!g_str_has_prefix(rows_text(rows, i, "kind"), "solid copper"))
      continue;
    const double ours = COPPER_OHM_MM2_M / lg_awg_mm2((int)rows_awg(rows, i, "awg"));
    assert_near(1e3 * ours, rows_number(rows, i, "resistance_20C_mohm_per_m"), 3e-4);
    n++;
  }
  g_assert_cmpint(n, ==, 5);
}

/* SAE J1127/J1128 minimum areas beside full areas, marine wire maker catalogue (seen). */
static void test_sae_areas(void)
{
  g_autoptr(Rows) rows = rows_read("conductors_sae_min_area.csv");
  for (int i = 0; i < rows_count(rows); i++) {
    const double awg = rows_awg(rows, i, "awg");
    const LgConductor *const c = lg_catalogue_conductor(catalogue, TRUE, awg);
    assert_near(c->area_mm2, rows_number(rows, i, "area_sae_min_circular_mil") * MM2_OF_CM, 5e-4);
    assert_between(c->area_mm2 / lg_awg_mm2((int)awg), 0.89, 0.98);
    assert_near(lg_awg_mm2((int)awg), rows_number(rows, i, "area_awg_boat_cable_mm2"), 0.02);
  }
  g_assert_cmpint(rows_count(rows), ==, 14);
}

/* Resistance follows from the metal: every AWG size, and every metric size with its area implied.
 */
static void test_resistance_fits_area(void)
{
  const GPtrArray *const all = lg_catalogue_conductors(catalogue);
  for (guint i = 0; i < all->len; i++) {
    const LgConductor *const c = all->pdata[i];
    assert_near(c->resistance_ohm_m * c->area_mm2, COPPER_OHM_MM2_M, 1e-3);
  }
  g_assert_cmpuint(all->len, >=, 40);
}

/* IEC 60228 (seen): road-vehicle conductors lie 4 to 6 % below class 5, and within 5 % of class
 * 2. */
static void test_metric_against_iec_60228(void)
{
  g_autoptr(Rows) rows = rows_read("conductors_iec60228.csv");
  for (int i = 0; i < rows_count(rows); i++) {
    const LgConductor *const c =
        lg_catalogue_conductor(catalogue, FALSE, rows_number(rows, i, "nominal_area_mm2"));
    const double ours = 1e3 * c->resistance_ohm_m;
    assert_between(ours / rows_number(rows, i, "max_resistance_20C_class5_6_plain_mohm_per_m"),
                   0.94, 0.965);
    assert_near(ours, rows_number(rows, i, "max_resistance_20C_class1_2_plain_mohm_per_m"), 0.051);
  }
  g_assert_cmpint(rows_count(rows), ==, 10);
}

/* Stranded conductors as sold: bare copper 7/30 to 26/30 (chart, seen), tinned aircraft wire
 * (AC 43.13-1B Table 11-9, seen). Constructions differ by a tenth or two about the gauge. */
static void test_stranded_wires(void)
{
  g_autoptr(Rows) rows = rows_read("conductors_awg_published.csv");
  int n = 0;
  for (int i = 0; i < rows_count(rows); i++) {
    const char *const kind = rows_text(rows, i, "kind");
    const LgConductor *const c = lg_catalogue_conductor(catalogue, TRUE, rows_awg(rows, i, "awg"));
    if (c == NULL || !(strstr(kind, "stranded bare") || strstr(kind, "tin-plated")))
      continue;
    const double theirs = rows_number(rows, i, "resistance_20C_mohm_per_m");
    assert_between(1e3 * c->resistance_ohm_m / theirs, 0.85, 1.25);
    n++;
  }
  g_assert_cmpint(n, ==, 18);
}

/* Thin-wall cable as sold (maker sheet, seen): outer diameter within 0.1 mm, metal at least ours.
 */
static void test_metric_products(void)
{
  g_autoptr(Rows) rows = rows_read("conductors_metric_products.csv");
  int n = 0;
  for (int i = 0; i < rows_count(rows); i++) {
    const LgConductor *const c =
        lg_catalogue_conductor(catalogue, FALSE, rows_number(rows, i, "nominal_area_mm2"));
    if (c == NULL)
      continue;
    g_assert_cmpfloat(fabs(1e3 * c->outer_m - rows_number(rows, i, "outer_diameter_mm")), <, 0.11);
    g_assert_cmpfloat(rows_number(rows, i, "strand_area_sum_mm2"), >, c->area_mm2);
    n++;
  }
  g_assert_cmpint(n, ==, 7);
}

/* Medium wall (GXL, maker sheet, seen) is thicker than our thin wall of the same gauge. */
static void test_thin_wall_below_medium(void)
{
  g_autoptr(Rows) rows = rows_read("conductors_awg_published.csv");
  int n = 0;
  for (int i = 0; i < rows_count(rows); i++) {
    if (!g_str_has_prefix(rows_text(rows, i, "kind"), "GXL"))
      continue;
    const LgConductor *const c = lg_catalogue_conductor(catalogue, TRUE, rows_awg(rows, i, "awg"));
    assert_between(1e3 * c->outer_m / rows_number(rows, i, "outer_diameter_mm"), 0.7, 0.95);
    n++;
  }
  g_assert_cmpint(n, ==, 5);
}

static void test_thicker_is_thicker(void)
{
  const GPtrArray *const all = lg_catalogue_conductors(catalogue);
  for (guint i = 0; i < all->len; i++) {
    const LgConductor *const c = all->pdata[i];
    const LgConductor *const before = i > 0 ? all->pdata[i - 1] : NULL;
    g_assert_cmpfloat(c->outer_m, >, c->diameter_m);
    /* Round strands fill at most 91 % of the circle over them. */
    g_assert_cmpfloat(c->area_mm2, <, 0.91 * G_PI / 4 * pow(1e3 * c->diameter_m, 2));
    if (before == NULL || before->is_awg != c->is_awg)
      continue;
    g_assert_cmpfloat(c->area_mm2, >, before->area_mm2);
    g_assert_cmpfloat(c->resistance_ohm_m, <, before->resistance_ohm_m);
    g_assert_cmpfloat(c->diameter_m, >, before->diameter_m);
    g_assert_cmpfloat(c->outer_m, >, before->outer_m);
  }
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  catalogue = lg_catalogue_new();
  g_test_add_func("/conductors/awg-ends", test_awg_ends);
  g_test_add_func("/conductors/awg-geometry", test_awg_geometry);
  g_test_add_func("/conductors/solid", test_solid_resistance);
  g_test_add_func("/conductors/sae-areas", test_sae_areas);
  g_test_add_func("/conductors/resistance-fits-area", test_resistance_fits_area);
  g_test_add_func("/conductors/iec-60228", test_metric_against_iec_60228);
  g_test_add_func("/conductors/stranded", test_stranded_wires);
  g_test_add_func("/conductors/metric-products", test_metric_products);
  g_test_add_func("/conductors/thin-wall", test_thin_wall_below_medium);
  g_test_add_func("/conductors/order", test_thicker_is_thicker);
  const int failed = g_test_run();
  lg_catalogue_free(catalogue);
  return failed;
}
