/* Fuses, breakers and electronic outputs: how soon and how late they open. */
#include "heat/heat-private.h"

#include <math.h>

/* Of the catalogue's gates: one side may lack. */
static void fill_sides(LgOpeningBand *band)
{
  for (int i = 0; i < band->n; i++)
    if (isnan(band->most_s[i]))
      band->most_s[i] = i > 0 ? band->most_s[i - 1] : INFINITY;
  for (int i = band->n - 1; i >= 0; i--)
    if (isnan(band->least_s[i]))
      band->least_s[i] = i + 1 < band->n ? band->least_s[i + 1] : 0;
}

LgOpeningBand lg_opening_band(const LgCatalogue *catalogue, const char *form, double rating_A)
{
  LgOpeningBand band = {0};
  const GPtrArray *openings = lg_catalogue_openings(catalogue);
  for (guint i = 0; form != NULL && i < openings->len && band.n < LG_GATES; i++) {
    const LgOpening *gate = g_ptr_array_index(openings, i);
    const gboolean within = !(rating_A < gate->rating_from_A) && !(rating_A > gate->rating_to_A);
    if (!within || !g_str_equal(gate->form, form))
      continue;
    band.load[band.n] = gate->load;
    band.least_s[band.n] = gate->least_s;
    band.most_s[band.n++] = gate->most_s;
  }
  fill_sides(&band);
  return band;
}

LgOpeningBand lg_breaker_band(void)
{
  return (LgOpeningBand){3, {1, 1.35, 2}, {3600, 60, 3}, {INFINITY, 3600, 60}};
}

double lg_rerating(LgProtectorKind kind, double ambient_K)
{
  static const struct {
    double at_C, share;
  } points[] = {{-40, 1.1}, {0, 1.04},  {25, 1},     {50, 0.96},
                {65, 0.93}, {85, 0.90}, {105, 0.86}, {125, 0.82}};
  if (kind != LG_PROTECTOR_FUSE)
    return 1;
  const double at_C = CLAMP(ambient_K - 273.15, points[0].at_C, points[7].at_C);
  guint i = 1;
  while (i < G_N_ELEMENTS(points) - 1 && at_C > points[i].at_C)
    i++;
  const double part = (at_C - points[i - 1].at_C) / (points[i].at_C - points[i - 1].at_C);
  return points[i - 1].share + part * (points[i].share - points[i - 1].share);
}

/* Between two gates in the logarithms; towards a side that is not finite, the finite one's for the
 * shortest and for ever for the longest. */
static double between(double a, double b, double part, double if_odd)
{
  if (!(a > 0) || !(b > 0) || isinf(a) || isinf(b))
    return if_odd;
  return a * pow(b / a, part);
}

LgOpeningTime lg_band_time(const LgOpeningBand *band, double load)
{
  if (band->n == 0 || load < MIN(band->load[0], 1))
    return (LgOpeningTime){INFINITY, INFINITY};
  if (load < band->load[0])
    return (LgOpeningTime){band->least_s[0], INFINITY};
  const int last = band->n - 1;
  if (load >= band->load[last]) {
    const double fall = squared(band->load[last] / load);
    return (LgOpeningTime){band->least_s[last] * fall,
                           MAX(band->most_s[last] * fall, MIN(1e-3, band->most_s[last]))};
  }
  int i = 0;
  while (load >= band->load[i + 1])
    i++;
  const double part = log(load / band->load[i]) / log(band->load[i + 1] / band->load[i]);
  return (LgOpeningTime){
      between(band->least_s[i], band->least_s[i + 1], part, band->least_s[i + 1]),
      part <= 0 ? band->most_s[i] : between(band->most_s[i], band->most_s[i + 1], part, INFINITY)};
}

LgOpeningTime lg_opening_time(const LgProtector *protector, double current_A)
{
  if (protector->kind == LG_PROTECTOR_ELECTRONIC) {
    const double time = current_A > protector->limit_A ? protector->trip_s : INFINITY;
    return (LgOpeningTime){time, time};
  }
  const double share = lg_rerating(protector->kind, protector->ambient_K);
  return lg_band_time(&protector->band, current_A / (protector->rating_A * share));
}

double lg_cycling_current(const LgProtector *protector, double current_A)
{
  if (protector->kind != LG_PROTECTOR_BREAKER || protector->reclose != LG_RECLOSE_SELF)
    return current_A;
  const double on_s = lg_opening_time(protector, current_A).most_s;
  return isinf(on_s) ? current_A : current_A * sqrt(on_s / (on_s + protector->off_s));
}

LgNuisance lg_nuisance(const LgProtector *protector, double lasting_A, double start_A,
                       double start_s)
{
  const double share = lg_rerating(protector->kind, protector->ambient_K);
  LgNuisance n = {.pulse_share = NAN};
  if (protector->kind == LG_PROTECTOR_ELECTRONIC) {
    n.lasting_share = lasting_A / protector->limit_A;
    n.lasting_ok = n.lasting_share <= 1;
  } else {
    n.lasting_share = lasting_A / (protector->rating_A * share);
    n.lasting_ok = n.lasting_share <= 0.75;
  }
  const double least_s = lg_opening_time(protector, start_A).least_s;
  n.start_share = isinf(least_s) ? 0 : start_s / least_s;
  n.start_ok = n.start_share < 1;
  if (protector->kind == LG_PROTECTOR_FUSE && start_A > protector->rating_A * share)
    n.pulse_share = squared(start_A) * start_s / protector->melting_A2s;
  n.pulse_ok = !(n.pulse_share > 0.22);
  return n;
}
