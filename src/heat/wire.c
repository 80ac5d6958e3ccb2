/* One wire: its figures, its steady temperature and current. */
#include "heat/heat-private.h"

#include <math.h>
#include <string.h>

/* IEC 60287-2-1 (seen): thermal resistivity 5 K m/W of PVC and silicone, 3.5 of XLPE, PE and EPR.
 */
static double conductivity_of(const char *material)
{
  static const char *const better[] = {"XLPE", "cross-linked", "PE", "EPR"};
  for (guint i = 0; material != NULL && i < G_N_ELEMENTS(better); i++)
    if (g_str_has_prefix(material, better[i]))
      return 1 / 3.5;
  return 1 / 5.0;
}

LgHeatWire lg_heat_wire(const LgConductor *conductor, const LgInsulation *insulation)
{
  return (LgHeatWire){
      .resistance_ohm_m = conductor->resistance_ohm_m,
      .copper_m2 = conductor->area_mm2 * 1e-6,
      .conductor_m = conductor->diameter_m,
      .outer_m = conductor->outer_m,
      .insulation_W_mK = conductivity_of(insulation != NULL ? insulation->material : NULL),
      .insulation_J_m3K = 1.7e6, /* PVC, IEC 60853-2 (memory); XLPE 2.4e6 would only be slower */
  };
}

double lg_heat_wire_ohm_m(const LgHeatWire *wire, double conductor_K)
{
  return wire->resistance_ohm_m * (conductor_K - COPPER_ZERO_K) / COPPER_SPAN_K;
}

double lg_heat_wire_wall_Km_W(const LgHeatWire *wire)
{
  return log(wire->outer_m / wire->conductor_m) / (2 * G_PI * wire->insulation_W_mK);
}

double lg_wire_temperature(const LgHeatWire *wire, const LgSurroundings *around, double current_A)
{
  const LgHeatBundle alone = {wire, &current_A, 1, *around, wire->outer_m};
  double conductor_K;
  lg_bundle_temperatures(&alone, &conductor_K, NULL, NULL);
  return conductor_K;
}

typedef struct {
  const LgHeatWire *wire;
  const LgSurroundings *around;
  double wall_Km_W, conductor_K;
} Hot;

static double conductor_over_limit(double outer_K, gconstpointer data)
{
  const Hot *hot = data;
  const LgPassage p = lg_passage(hot->around, hot->wire->outer_m, outer_K);
  return p.bundle_K + p.heat_W_m * hot->wall_Km_W - hot->conductor_K;
}

double lg_wire_current(const LgHeatWire *wire, const LgSurroundings *around, double conductor_K)
{
  if (conductor_K <= around->ambient_K)
    return 0;
  const Hot hot = {wire, around, lg_heat_wire_wall_Km_W(wire), conductor_K};
  const double outer_K =
      lg_heat_root(conductor_over_limit, &hot, around->ambient_K, conductor_K, 1e-6);
  return sqrt(lg_passage(around, wire->outer_m, outer_K).heat_W_m /
              lg_heat_wire_ohm_m(wire, conductor_K));
}
