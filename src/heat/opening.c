/* Fuses, breakers and electronic outputs: how soon and how late they open. */
#include "heat/heat-private.h"

#include <math.h>

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

/* Straight in the logarithms through 135 % and 200 %, then with the square of the current. */
static double breaker_time(double load, double at_135_s, double at_200_s)
{
  if (load >= 2)
    return at_200_s * squared(2 / load);
  return at_135_s * pow(at_200_s / at_135_s, log(load / 1.35) / log(2 / 1.35));
}

static LgOpeningTime breaker_opening(double load)
{
  if (load <= 1)
    return (LgOpeningTime){INFINITY, INFINITY};
  if (load < 1.35)
    return (LgOpeningTime){60, INFINITY};
  return (LgOpeningTime){breaker_time(load, 60, 3), breaker_time(load, 3600, 60)};
}

LgOpeningTime lg_opening_time(const LgProtector *protector, double current_A)
{
  LgOpeningTime time = {INFINITY, INFINITY};
  if (protector->kind == LG_PROTECTOR_ELECTRONIC && current_A > protector->limit_A)
    time = (LgOpeningTime){protector->trip_s, protector->trip_s};
  else if (protector->kind == LG_PROTECTOR_BREAKER)
    time = breaker_opening(current_A / protector->rating_A);
  else if (protector->kind == LG_PROTECTOR_FUSE && protector->form != NULL)
    lg_catalogue_opening_time(protector->catalogue, protector->form, protector->rating_A,
                              current_A / lg_rerating(protector->kind, protector->ambient_K),
                              &time.least_s, &time.most_s);
  return time;
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
