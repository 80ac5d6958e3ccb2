/* States that last seconds: one load starting or stalled. */
#include "studies/states-private.h"

#define LIVE_SHARE 0.1 /* see states.h */

static void take_most(LgExtreme *extreme, double value, int state)
{
  if (!(value <= extreme->value)) {
    extreme->value = value;
    extreme->state = state;
  }
}

static void take_least(LgExtreme *extreme, double value, int state)
{
  if (!(value >= extreme->value)) {
    extreme->value = value;
    extreme->state = state;
  }
}

static void see_point(LgStates *states, const LgPoint *point, int load, LgDemand demand, int state)
{
  const LgJob *const job = states->job;
  for (int w = 0; w < job->n_wires; w++)
    take_most(&states->wires[w].brief_A, fabs(point->wire_A[w]), state);
  for (int e = 0; e < job->n_elements; e++) {
    LgElementStates *const seen = &states->elements[e];
    const double amps = fabs(point->element_A[e]);
    take_most(&seen->brief_A, amps, state);
    if (demand == LG_DEMAND_START && lg_element_is_protection(job->elements[e].kind) &&
        amps > seen->most_A.value) {
      const LgStart start = {e, load, amps, state};
      g_array_append_val(states->starts, start);
    }
    if (e == load) {
      if (demand == LG_DEMAND_START)
        take_most(&seen->start_A, amps, state);
      continue;
    }
    const LgElement *const element = &job->elements[e];
    const double volts = fabs(point->element_V[e]);
    const gboolean on = element->demand < 0 || point->position[element->demand] != LG_DEMAND_OFF;
    const gboolean live =
        lg_element_counts_by_volts(element) ? volts >= LIVE_SHARE * job->nominal_V : amps >= 1e-3;
    if (on && live)
      take_least(&seen->brief_V, volts, state);
  }
}

static gboolean has_stall(const LgElement *element)
{
  return lg_element_is_motor(element->kind) && !isnan(element->p[LG_P_STALL]);
}

static void solve_brief(LgStates *states, LgKeeper *keeper, LgNetWork *work, LgPoint *point,
                        int load, int from)
{
  const LgJob *const job = states->job;
  const LgElement *const element = &job->elements[load];
  const gsize n = (gsize)job->n_inputs;
  g_autofree guint8 *position = g_memdup2(lg_states_position(states, from), n);
  if (position[element->demand] == LG_DEMAND_OFF)
    return;
  for (LgDemand demand = LG_DEMAND_START; demand <= LG_DEMAND_STALL; demand++) {
    if (demand == LG_DEMAND_START ? element->p[LG_P_START] <= element->p[LG_P_RUN]
                                  : !has_stall(element))
      continue;
    position[element->demand] = (guint8)demand;
    for (gsize i = 0; i < n; i++)
      point->position[i] = position[i];
    lg_circuit_solve(states->circuit, work, point);
    see_point(states, point, load, demand, lg_keeper_keep(keeper, position));
    states->n_brief++;
  }
}

void lg_states_brief(LgStates *states, LgKeeper *keeper)
{
  const LgJob *const job = states->job;
  g_autoptr(LgNetWork) work = lg_net_work_new(states->circuit->net);
  g_autoptr(LgPoint) point = lg_point_new(states->circuit);
  for (int e = 0; e < job->n_elements; e++) {
    const LgElementStates *const seen = &states->elements[e];
    if (job->elements[e].demand < 0 || !(seen->most_A.value >= 1e-3))
      continue;
    const int from[] = {seen->most_A.state, seen->least_V.state, states->supply_A.state};
    for (guint i = 0; i < G_N_ELEMENTS(from); i++) {
      gboolean again = from[i] < 0;
      for (guint k = 0; k < i; k++)
        again |= from[k] == from[i];
      if (!again)
        solve_brief(states, keeper, work, point, e, from[i]);
    }
  }
}
