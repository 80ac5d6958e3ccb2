/* Overloads and shorts: does the protector open before the wire is spoilt? */
#include "heat/heat-private.h"

#include <math.h>

/* Conductor when the current stops; lasting when nothing opens. A breaker that closes again by
 * itself also holds the wire at its lasting mean. */
static double reached(const LgExposed *e, const LgProtector *by, double current_A, double opens_s)
{
  const double T = lg_wire_after(e->wire, e->loss, e->start_K, current_A, opens_s);
  if (by == NULL || isinf(opens_s) || by->kind != LG_PROTECTOR_BREAKER ||
      by->reclose != LG_RECLOSE_SELF)
    return T;
  const double mean_A = lg_cycling_current(by, current_A);
  return MAX(T, MIN(lg_loss_temperature(e->wire, e->loss, mean_A), MELTS_K));
}

double lg_protector_bears(const LgProtector *protector)
{
  if (protector->kind == LG_PROTECTOR_ELECTRONIC)
    return protector->limit_A;
  double low = 0, high = 100 * protector->rating_A;
  if (isinf(lg_opening_time(protector, high).most_s))
    return INFINITY;
  while (high - low > 1e-9 * high) {
    const double middle = (low + high) / 2;
    if (isinf(lg_opening_time(protector, middle).most_s))
      low = middle;
    else
      high = middle;
  }
  return high;
}

/* Currents that are looked at: what just does not open, then up to the greatest. */
enum { OVERLOAD_STEPS = 40 };

static double overload_A(double bears_A, double most_A, int step)
{
  if (step < 0)
    return MIN(bears_A * (1 - 1e-8), most_A);
  return most_A > bears_A ? bears_A * pow(most_A / bears_A, (double)step / OVERLOAD_STEPS) : most_A;
}

/* What cannot be passed without any loss, or however long it lasts: cheap, never too low. */
static double reached_at_most(const LgExposed *e, const LgProtector *by, double current_A,
                              double opens_s)
{
  if (by != NULL && by->kind == LG_PROTECTOR_BREAKER && by->reclose == LG_RECLOSE_SELF)
    return INFINITY;
  const double lossless_K = isinf(opens_s) ? INFINITY
                                           : lg_adiabatic_end(e->wire->copper_m2, e->start_K,
                                                              squared(current_A) * opens_s);
  if (lossless_K < e->limit_K)
    return lossless_K;
  return MIN(lossless_K, MAX(e->start_K, lg_loss_temperature(e->wire, e->loss, current_A)));
}

gboolean lg_overload_holds(const LgExposed *exposed, const LgProtector *protector, double most_A)
{
  const double bears_A = lg_protector_bears(protector);
  for (int i = -1; i <= OVERLOAD_STEPS; i++) {
    const double A = overload_A(bears_A, most_A, i);
    const double opens_s = lg_opening_time(protector, A).most_s;
    if (reached_at_most(exposed, protector, A, opens_s) >= exposed->limit_K &&
        reached(exposed, protector, A, opens_s) >= exposed->limit_K)
      return FALSE;
    if (most_A <= bears_A || protector->kind == LG_PROTECTOR_ELECTRONIC)
      break;
  }
  return TRUE;
}

LgOverload lg_overload_worst(const LgExposed *exposed, const LgProtector *protector, double most_A)
{
  const double bears_A = lg_protector_bears(protector);
  LgOverload worst = {.reached_K = -INFINITY};
  for (int i = -1; i <= OVERLOAD_STEPS; i++) {
    const double A = overload_A(bears_A, most_A, i);
    const double opens_s = lg_opening_time(protector, A).most_s;
    const double T = reached(exposed, protector, A, opens_s);
    if (T > worst.reached_K)
      worst = (LgOverload){A / protector->rating_A, A, opens_s, T};
    if (most_A <= bears_A || protector->kind == LG_PROTECTOR_ELECTRONIC)
      break;
  }
  return worst;
}

static double prospective_A(const LgLoop *loop, double x)
{
  double ohm = loop->return_ohm[0] + x * (loop->return_ohm[1] - loop->return_ohm[0]);
  for (int i = 0; i < loop->n; i++)
    ohm += loop->feed[i].ohm * (i + 1 < loop->n ? 1 : x);
  double current_A = loop->volts / ohm;
  for (int i = 0; i < loop->n; i++) {
    const LgProtector *p = loop->feed[i].protector;
    if (p != NULL && p->kind == LG_PROTECTOR_ELECTRONIC && current_A > p->limit_A)
      current_A = p->limit_A * (1 + 1e-9); /* it limits, and counts the time */
  }
  return current_A;
}

/* The wire nearest to its limit; `used` compares the heat with what its insulation bears. */
static void judge_wire(LgShort *s, int i, const LgExposed *e, const LgProtector *by, double *least)
{
  const double T = reached(e, by, s->current_A, s->opens_s);
  if (s->hottest >= 0 && e->limit_K - T >= *least)
    return;
  *least = e->limit_K - T;
  s->hottest = i;
  s->reached_K = T;
  const double bears = squared(e->wire->copper_m2 * 1e6 * lg_copper_k(e->start_K, e->limit_K));
  s->used = squared(s->current_A) * s->opens_s / bears;
  s->protects = T < e->limit_K;
}

LgShort lg_short_at(const LgLoop *loop, double x)
{
  LgShort s = {.current_A = prospective_A(loop, x),
               .opens_s = INFINITY,
               .opened_by = -1,
               .hottest = -1,
               .reached_K = NAN,
               .used = NAN,
               .protects = TRUE};
  for (int i = 0; i < loop->n; i++) {
    const LgProtector *p = loop->feed[i].protector;
    const double opens_s = p != NULL ? lg_opening_time(p, s.current_A).most_s : INFINITY;
    if (opens_s < s.opens_s) {
      s.opens_s = opens_s;
      s.opened_by = i;
    }
  }
  const LgProtector *by = s.opened_by >= 0 ? loop->feed[s.opened_by].protector : NULL;
  double least = INFINITY;
  for (int i = 0; i < loop->n; i++)
    if (loop->feed[i].exposed != NULL)
      judge_wire(&s, i, loop->feed[i].exposed, by, &least);
  return s;
}

static double margin_K(const LgLoop *loop, const LgShort *s)
{
  return s->hottest < 0 ? INFINITY : loop->feed[s->hottest].exposed->limit_K - s->reached_K;
}

double lg_short_reach(const LgLoop *loop, LgShort *worst)
{
  enum { STEPS = 16 };
  double reach = 1, safe = 0, least_K = INFINITY;
  gboolean holds = TRUE;
  for (int i = 0; i <= STEPS; i++) {
    const double x = (double)i / STEPS;
    const LgShort s = lg_short_at(loop, x);
    if (worst != NULL && (i == 0 || margin_K(loop, &s) < least_K))
      *worst = s, least_K = margin_K(loop, &s);
    if (holds && !s.protects) {
      holds = FALSE;
      reach = x;
    }
    if (holds)
      safe = x;
  }
  while (!holds && reach - safe > 1e-3) {
    const double middle = (safe + reach) / 2;
    if (lg_short_at(loop, middle).protects)
      safe = middle;
    else
      reach = middle;
  }
  return reach;
}

/* ---- Several sources ---- */

double lg_amps_along(LgAmpsAlong current, double x)
{
  const double a = current.start_A, b = current.end_A;
  if (a * b <= 0)
    return a + x * (b - a);
  return a * b / (b + x * (a - b));
}

/* The latest end of the feeds; of each, the first of its guards ends it. */
static void clear_feeds(const LgMeshShort *fault, double x, LgShort *s)
{
  s->opens_s = 0;
  for (int f = 0; f < fault->n_feeds; f++) {
    double first_s = INFINITY;
    int by = -1;
    for (int g = 0; g < fault->n_guards; g++) {
      const LgGuard *guard = &fault->guards[g];
      if (guard->feed != f)
        continue;
      const double A = fabs(lg_amps_along(guard->amps, x));
      const double opens_s = lg_opening_time(guard->protector, A).most_s;
      if (opens_s < first_s) {
        first_s = opens_s;
        by = g;
      }
    }
    if (first_s >= s->opens_s) {
      s->opens_s = first_s;
      s->opened_by = by;
    }
  }
  if (fault->n_feeds == 0)
    s->opens_s = INFINITY;
}

static LgShort mesh_short(const LgMeshShort *fault, double x, gboolean exactly)
{
  const LgExposed *e = fault->exposed;
  const double A[] = {fabs(lg_amps_along(fault->from[0], x)),
                      fabs(lg_amps_along(fault->from[1], x))};
  LgShort s = {.current_A = A[0] + A[1], .opened_by = -1, .hottest = 0};
  clear_feeds(fault, x, &s);
  const LgProtector *by = s.opened_by >= 0 ? fault->guards[s.opened_by].protector : NULL;
  const double most_A = MAX(A[0], A[1]);
  s.reached_K = reached_at_most(e, by, most_A, s.opens_s);
  if (exactly || s.reached_K >= e->limit_K)
    s.reached_K = reached(e, by, most_A, s.opens_s);
  s.used = squared(most_A) * s.opens_s /
           squared(e->wire->copper_m2 * 1e6 * lg_copper_k(e->start_K, e->limit_K));
  s.protects = s.reached_K < e->limit_K;
  return s;
}

LgShort lg_mesh_short_at(const LgMeshShort *fault, double x)
{
  return mesh_short(fault, x, TRUE);
}

double lg_mesh_short_opens(const LgMeshShort *fault, double x)
{
  LgShort s = {.opened_by = -1};
  clear_feeds(fault, x, &s);
  return s.opens_s;
}

double lg_mesh_short_reach(const LgMeshShort *fault, LgShort *worst, double *worst_x)
{
  enum { STEPS = 16 };
  double reach = 1, safe = 0, hottest_K = -INFINITY, at = 0;
  gboolean holds = TRUE;
  for (int i = 0; i <= STEPS; i++) {
    const double x = (double)i / STEPS;
    const LgShort s = mesh_short(fault, x, FALSE);
    if (s.reached_K > hottest_K) {
      hottest_K = s.reached_K;
      at = x;
    }
    if (holds && !s.protects) {
      holds = FALSE;
      reach = x;
    }
    if (holds)
      safe = x;
  }
  while (!holds && reach - safe > 1e-3) {
    const double middle = (safe + reach) / 2;
    if (mesh_short(fault, middle, FALSE).protects)
      safe = middle;
    else
      reach = middle;
  }
  *worst = mesh_short(fault, at, TRUE);
  *worst_x = at;
  return reach;
}
