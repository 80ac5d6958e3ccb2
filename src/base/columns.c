/* Sharing a width among columns: the same on paper and on a terminal. */
#include "base/table.h"
#include <math.h>

/* Halvings that bring any width below what can be told apart. */
#define HALVINGS 60

static double width_at(double natural, double least, double level)
{
  return CLAMP(level * sqrt(natural), MIN(least, natural), natural);
}

static double sum_at(const double natural[], const double least[], int n, double level)
{
  double sum = 0;
  for (int i = 0; i < n; i++)
    sum += width_at(natural[i], least[i], level);
  return sum;
}

/* The greatest level at which the columns still fit; each column grows with the level. */
static double level_that_fits(const double natural[], const double least[], int n, double room)
{
  double low = 0, high = 1;
  while (sum_at(natural, least, n, high) < room)
    high *= 2;
  for (int i = 0; i < HALVINGS; i++) {
    const double middle = (low + high) / 2;
    if (sum_at(natural, least, n, middle) <= room)
      low = middle;
    else
      high = middle;
  }
  return low;
}

/* Below the least widths: each at most a cap, with the cap that uses up the room. */
static void cut_to_cap(const double natural[], const double least[], int n, double room,
                       double width[])
{
  double low = 0, high = room;
  for (int i = 0; i < HALVINGS; i++) {
    const double middle = (low + high) / 2;
    double sum = 0;
    for (int k = 0; k < n; k++)
      sum += MIN(MIN(least[k], natural[k]), middle);
    if (sum <= room)
      low = middle;
    else
      high = middle;
  }
  for (int k = 0; k < n; k++)
    width[k] = MIN(MIN(least[k], natural[k]), low);
}

gboolean lg_share_width(const double natural[], const double least[], int n, double room,
                        double width[])
{
  double sum_natural = 0, sum_least = 0;
  for (int i = 0; i < n; i++) {
    sum_natural += natural[i];
    sum_least += MIN(least[i], natural[i]);
  }
  if (sum_least > room) {
    cut_to_cap(natural, least, n, room, width);
    return FALSE;
  }
  const double level = sum_natural <= room ? INFINITY : level_that_fits(natural, least, n, room);
  for (int i = 0; i < n; i++)
    width[i] = natural[i] > 0 ? width_at(natural[i], least[i], level) : 0;
  return TRUE;
}
