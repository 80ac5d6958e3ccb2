/* A use, stretch by stretch: what it does to batteries, contacts and bodies. */
#include "studies/bodies-private.h"

#define CARRIES_A 1e-3

typedef struct {
  const LgJob *job;
  LgSupply *supply;
  LgUseResult *result;
  gboolean *closed; /* [n_elements] */
} Watch;

static void watch_cell(Watch *w, int element, double from_s, double to_s, double amps)
{
  const LgElement *const cell = &w->job->elements[element];
  LgUseCell *const c = &w->result->cells[element];
  const double hours = (to_s - from_s) / 3600;
  c->given_Ah += fmax(amps, 0) * hours;
  c->taken_Ah += fmax(-amps, 0) * hours;
  c->end = CLAMP(c->end + lg_cell_charging(cell, amps) * (to_s - from_s), 0, 1);
  if (c->end < c->least) {
    c->least = c->end;
    c->least_at_s = to_s;
  }
  lg_supply_set_charge(w->supply, element, c->end);
}

static void watch(double from_s, double to_s, const int position[], const LgAnswer *answer,
                  gpointer user)
{
  Watch *const w = user;
  const double seconds = to_s - from_s;
  (void)position;
  w->result->n_stretches++;
  w->result->wires_J += answer->wires_W * seconds;
  for (int e = 0; e < w->job->n_elements; e++) {
    const double amps = answer->element_A[e];
    const gboolean carries = fabs(amps) > CARRIES_A;
    w->result->joules[e] += amps * answer->element_V[e] * seconds;
    w->result->on_s[e] += carries ? seconds : 0;
    w->result->closings[e] += carries && answer->closed[e] && !w->closed[e];
    w->closed[e] = answer->closed[e];
    if (w->job->elements[e].kind == LG_EL_CELL)
      watch_cell(w, e, from_s, to_s, -amps);
  }
}

static LgUseResult *new_result(const LgBodies *bodies, const LgUse *use, const double charge[])
{
  const LgJob *const job = bodies->job;
  const gsize n = (gsize)job->n_elements + 1;
  LgUseResult *const r = g_new0(LgUseResult, 1);
  *r = (LgUseResult){.lasts_s = use->lasts_s,
                     .cells = g_new0(LgUseCell, n),
                     .closings = g_new0(int, n),
                     .on_s = g_new0(double, n),
                     .joules = g_new0(double, n),
                     .most_K = g_new0(double, (gsize)bodies->n + 1)};
  for (int e = 0; e < job->n_elements; e++) {
    if (job->elements[e].kind != LG_EL_CELL)
      continue;
    const double start = charge != NULL        ? charge[e]
                         : !isnan(use->charge) ? use->charge
                                               : job->elements[e].p[LG_P_CHARGE];
    r->cells[e] = (LgUseCell){.start = start, .end = start, .least = start};
  }
  return r;
}

void lg_use_result_free(LgUseResult *r)
{
  if (r == NULL)
    return;
  g_free(r->cells);
  g_free(r->closings);
  g_free(r->on_s);
  g_free(r->joules);
  g_free(r->most_K);
  g_free(r);
}

static int lowest_bit(uint64_t bits)
{
  return bits == 0 ? 0 : __builtin_ctzll(bits);
}

static void take_step(LgWarmth *warmth, LgSupply *supply, const LgUseStep *step, int position[])
{
  for (int i = 0; i < step->n_set; i++)
    position[step->set[i].input] = lowest_bit(step->set[i].positions);
  lg_supply_set(supply, step->speed_rpm, step->ambient_K);
  lg_warmth_set_ambient(warmth, lg_supply_ambient(supply));
  lg_supply_place(supply, position);
  lg_warmth_set(warmth, position);
}

LgUseResult *lg_use_run(const LgBodies *bodies, LgSupply *supply, const LgUse *use,
                        const double charge[])
{
  const LgJob *const job = bodies->job;
  LgUseResult *const r = new_result(bodies, use, charge);
  Watch w = {.job = job,
             .supply = supply,
             .result = r,
             .closed = g_new0(gboolean, (gsize)job->n_elements + 1)};
  g_autofree int *position = g_new0(int, (gsize)job->n_inputs + 1);
  lg_supply_set(supply, 0, use->ambient_K);
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_CELL)
      lg_supply_set_charge(supply, e, r->cells[e].start);
  LgWarmth *const warmth =
      lg_warmth_new(bodies, supply, &(LgWarmthCalls){.stretch = watch, .user = &w});
  lg_warmth_set_longest(warmth, fmax(300, use->lasts_s / 1000));
  lg_warmth_set(warmth, position);
  for (int s = 0; s < use->n_steps; s++) {
    lg_warmth_run(warmth, use->steps[s].at_s);
    take_step(warmth, supply, &use->steps[s], position);
  }
  lg_warmth_run(warmth, use->lasts_s);
  memcpy(r->most_K, lg_warmth_most(warmth), sizeof(double) * (gsize)bodies->n);
  lg_warmth_free(warmth);
  g_free(w.closed);
  return r;
}
