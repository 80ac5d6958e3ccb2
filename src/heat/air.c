/* Air, natural convection around a horizontal cylinder, radiation. */
#include "heat/heat-private.h"

#include <math.h>

#define GRAVITY_M_S2 9.80665
#define STEFAN_BOLTZMANN 5.670374e-8
#define ATMOSPHERE_PA 101325.0
#define AIR_J_KG_K 287.05
#define AIR_HEAT_J_KG_K 1006.0

/* Sutherland's formula: at 0 C the value is `at_zero`. */
static double sutherland(double at_zero, double constant_K, double T)
{
  const double ratio = T / 273.15;
  return at_zero * ratio * sqrt(ratio) * (273.15 + constant_K) / (T + constant_K);
}

LgAir lg_air(double temperature_K)
{
  const double viscosity_Pa_s = sutherland(1.716e-5, 110.4, temperature_K);
  const double conductivity = sutherland(0.0241, 194, temperature_K);
  const double density = ATMOSPHERE_PA / (AIR_J_KG_K * temperature_K);
  return (LgAir){conductivity, viscosity_Pa_s / density,
                 viscosity_Pa_s * AIR_HEAT_J_KG_K / conductivity};
}

double lg_nusselt_churchill_chu(double rayleigh, double prandtl)
{
  const double spread = pow(1 + pow(0.559 / prandtl, 9.0 / 16), 8.0 / 27);
  return squared(0.60 + 0.387 * cbrt(sqrt(rayleigh)) / spread);
}

double lg_nusselt_morgan(double rayleigh)
{
  static const struct {
    double below, c, n;
  } ranges[] = {
      {1e-2, 0.675, 0.058}, {1e2, 1.02, 0.148},       {1e4, 0.850, 0.188},
      {1e7, 0.480, 0.250},  {INFINITY, 0.125, 0.333},
  };
  guint i = 0;
  while (rayleigh >= ranges[i].below)
    i++;
  return ranges[i].c * pow(rayleigh, ranges[i].n);
}

static double rayleigh_in(const LgAir *air, double film_K, double diameter_m, double difference_K)
{
  return GRAVITY_M_S2 * fabs(difference_K) * diameter_m * squared(diameter_m) * air->prandtl /
         (film_K * squared(air->viscosity_m2_s));
}

double lg_rayleigh(double diameter_m, double surface_K, double ambient_K)
{
  const double film_K = (surface_K + ambient_K) / 2;
  const LgAir air = lg_air(film_K);
  return rayleigh_in(&air, film_K, diameter_m, surface_K - ambient_K);
}

double lg_surface_heat(double diameter_m, double surface_K, double ambient_K, double emissivity)
{
  const double film_K = (surface_K + ambient_K) / 2;
  const LgAir air = lg_air(film_K);
  const double rayleigh = rayleigh_in(&air, film_K, diameter_m, surface_K - ambient_K);
  const double convection = G_PI * air.conductivity_W_mK * (surface_K - ambient_K) *
                            lg_nusselt_churchill_chu(rayleigh, air.prandtl);
  const double radiation = emissivity * STEFAN_BOLTZMANN * G_PI * diameter_m *
                           (squared(squared(surface_K)) - squared(squared(ambient_K)));
  return convection + radiation;
}
