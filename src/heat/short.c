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

/* Greatest current that the protector bears for ever on its long edge; INFINITY when it never opens
 * below a hundred times its rating. */
static double bears_A(const LgProtector *protector)
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

LgOverload lg_overload_worst(const LgExposed *exposed, const LgProtector *protector, double most_A)
{
  enum { STEPS = 40 };
  const double least_A = bears_A(protector);
  LgOverload worst = {.reached_K = -INFINITY};
  for (int i = -1; i <= STEPS; i++) {
    const double just_below_A = least_A * (1 - 1e-8);
    const double A = i < 0              ? MIN(just_below_A, most_A)
                     : most_A > least_A ? least_A * pow(most_A / least_A, (double)i / STEPS)
                                        : most_A;
    const double opens_s = lg_opening_time(protector, A).most_s;
    const double T = reached(exposed, protector, A, opens_s);
    if (T > worst.reached_K)
      worst = (LgOverload){A / protector->rating_A, A, opens_s, T};
    if (most_A <= least_A || protector->kind == LG_PROTECTOR_ELECTRONIC)
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
