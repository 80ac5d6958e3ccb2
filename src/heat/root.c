/* The zero of a rising function between two points. */
#include "heat/heat-private.h"

#include <math.h>

double lg_heat_root(LgFunction f, gconstpointer data, double low, double high, double step)
{
  double at_low = f(low, data), at_high = f(high, data);
  if (at_low >= 0)
    return low;
  if (at_high <= 0)
    return high;
  double x = low, before = low;
  int side = 0;
  for (int i = 0; i < 200 && high - low > step; i++) {
    x = high - at_high * (high - low) / (at_high - at_low);
    const double at = f(x, data);
    if (at < 0) {
      low = x, at_low = at;
      if (side == -1)
        at_high /= 2;
      side = -1;
    } else if (at > 0) {
      high = x, at_high = at;
      if (side == 1)
        at_low /= 2;
      side = 1;
    } else
      return x;
    if (fabs(x - before) < step)
      return x;
    before = x;
  }
  return x;
}
