#include "heat/published.h"

#include <math.h>

LgHeatWire awg_wire(double awg, double wall_mm)
{
  const double solid_m = 0.127e-3 * pow(92, (36 - awg) / 39);
  const double copper_m2 = G_PI / 4 * solid_m * solid_m;
  const double strands_m = 1.14 * solid_m;
  return (LgHeatWire){.resistance_ohm_m = 1.7241e-8 / copper_m2,
                      .copper_m2 = copper_m2,
                      .conductor_m = strands_m,
                      .outer_m = strands_m + 2e-3 * wall_mm,
                      .insulation_W_mK = 0.2,
                      .insulation_J_m3K = 1.7e6};
}

double pair_current(const LgHeatWire *wire, double ambient_K, double conductor_K)
{
  const LgHeatWire two[] = {*wire, *wire};
  const double loaded[] = {1, 1};
  const LgHeatBundle pair = {two, loaded, 2, lg_bare(ambient_K), 0};
  return lg_bundle_factor(&pair, conductor_K) * lg_wire_current(wire, &pair.around, conductor_K);
}

Ratios *ratios_new(void)
{
  Ratios *ratios = g_new(Ratios, 1);
  ratios->ratios = g_array_new(FALSE, FALSE, sizeof(double));
  return ratios;
}

void ratios_free(Ratios *ratios)
{
  g_array_unref(ratios->ratios);
  g_free(ratios);
}

static int compare(gconstpointer a, gconstpointer b)
{
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

void ratios_add(Ratios *ratios, double ours, double theirs)
{
  const double ratio = ours / theirs;
  g_assert_true(isfinite(ratio));
  g_array_append_val(ratios->ratios, ratio);
  g_array_sort(ratios->ratios, compare);
}

double ratios_part(const Ratios *ratios, double part)
{
  const guint last = ratios->ratios->len - 1;
  return g_array_index(ratios->ratios, double, (guint)lround(part * last));
}

void ratios_assert(const Ratios *ratios, const char *what, double least, double most)
{
  g_assert_cmpuint(ratios->ratios->len, >, 0);
  g_test_message("%s: %u figures, ours over theirs %.3f to %.3f, median %.3f", what,
                 ratios->ratios->len, ratios_part(ratios, 0), ratios_part(ratios, 1),
                 ratios_part(ratios, 0.5));
  g_assert_cmpfloat(ratios_part(ratios, 0), >=, least);
  g_assert_cmpfloat(ratios_part(ratios, 1), <=, most);
}
