/* Opening times of fuses, between the gates. */
#include "catalogue/catalogue.h"
#include <math.h>
#include <string.h>

/* One side of the gates of a fuse: load and time. */
typedef struct {
  double load, time_s;
} Gate;

enum { MOST_GATES = 16 };

static int gates_of(const LgCatalogue *catalogue, const char *form, double rating_A,
                    gboolean longest, Gate gates[MOST_GATES])
{
  const GPtrArray *const openings = lg_catalogue_openings(catalogue);
  int n = 0;
  for (guint i = 0; i < openings->len && n < MOST_GATES; i++) {
    const LgOpening *const o = openings->pdata[i];
    const double time_s = longest ? o->most_s : o->least_s;
    const gboolean fits =
        rating_A >= o->rating_from_A && rating_A <= o->rating_to_A && strcmp(o->form, form) == 0;
    if (fits && time_s > 0)
      gates[n++] = (Gate){o->load, time_s};
  }
  return n;
}

/* At a load within or above the gates. */
static double time_at(const Gate gates[], int n, double load)
{
  for (int i = 1; i < n; i++) {
    const Gate a = gates[i - 1], b = gates[i];
    if (load <= b.load)
      return a.time_s * pow(b.time_s / a.time_s, log(load / a.load) / log(b.load / a.load));
  }
  return gates[n - 1].time_s * pow(gates[n - 1].load / load, 2);
}

gboolean lg_catalogue_opening_time(const LgCatalogue *catalogue, const char *form, double rating_A,
                                   double current_A, double *least_s, double *most_s)
{
  Gate least[MOST_GATES], most[MOST_GATES];
  const int n_least = gates_of(catalogue, form, rating_A, FALSE, least),
            n_most = gates_of(catalogue, form, rating_A, TRUE, most);
  if (n_least == 0 || n_most == 0)
    return FALSE;
  const double load = current_A / rating_A;
  *most_s = load < most[0].load ? INFINITY : time_at(most, n_most, load);
  if (load < 1)
    *least_s = INFINITY;
  else
    *least_s = load < least[0].load ? least[0].time_s : time_at(least, n_least, load);
  return TRUE;
}
