/* The network of a simulation at a moment: positions, wires as warm as they are, batteries. */
#include "catalogue/material.h"
#include "studies/simulate-private.h"

/* Inputs that wait for another one fall back to rest without it. */
static void keep_possible(const LgJob *job, int position[])
{
  for (int round = 0; round < 3; round++)
    for (int i = 0; i < job->n_inputs; i++) {
      const LgInput *const input = &job->inputs[i];
      if (input->when_input >= 0 && (input->when_positions >> position[input->when_input] & 1) == 0)
        position[i] = 0;
    }
}

void lg_running_place(const LgRunning *running, const int switches[], int position[])
{
  const LgJob *const job = running->job;
  for (int i = 0; i < job->n_inputs; i++) {
    position[i] = switches[i];
    if (running->clock_of[i] >= 0)
      position[i] = switches[i] != 0 && switches[running->clock_of[i]] != 0;
  }
  lg_chargers_place(job, g_array_index(running->speeds, double, switches[running->speed_switch]),
                    position);
  keep_possible(job, position);
}

static void set_ohm(LgRunning *running, int wire, double ohm)
{
  lg_net_set_param(running->circuit->net, running->circuit->wire_branch[wire], 0, 1 / ohm);
}

/* Wires that stay as cold as the air. */
static void set_cold_wires(LgRunning *running, double ambient_K)
{
  const LgJob *const job = running->job;
  if (ambient_K == running->warm_ambient_K)
    return;
  running->warm_ambient_K = ambient_K;
  for (int w = 0; w < job->n_wires; w++)
    set_ohm(
        running, w,
        lg_wire_resistance(job, &job->wires[w], running->sizing->wires[w].conductor, ambient_K));
}

static void set_warm_wires(LgRunning *running, const double felt[])
{
  for (guint i = 0; i < running->wires->len; i++) {
    const LgWarmWire *const w = &g_array_index(running->wires, LgWarmWire, i);
    const double at_K = felt[g_array_index(running->chains, LgChain, w->chain).felt];
    set_ohm(running, w->wire, w->ends_ohm + w->ohm20 * lg_copper_ratio(at_K));
  }
}

static void set_sources(LgRunning *running, const int switches[], const double felt[])
{
  const LgJob *const job = running->job;
  const double speed = g_array_index(running->speeds, double, switches[running->speed_switch]);
  const double ambient =
      g_array_index(running->ambients, double, switches[running->ambient_switch]);
  for (int e = 0; e < job->n_elements; e++) {
    const LgElementKind kind = job->elements[e].kind;
    if (running->circuit->element_branch[e] < 0)
      continue;
    if (running->felt_of[e] >= 0)
      lg_circuit_feed_cell(running->circuit, e, CLAMP(felt[running->felt_of[e]], 0, 1), ambient);
    else if (kind == LG_EL_ALTERNATOR || kind == LG_EL_DYNAMO)
      lg_circuit_feed_charger(running->circuit, e, speed, ambient);
  }
}

static double element_W(const LgPoint *point, int element)
{
  const double volts = point->element_V[element];
  return isnan(volts) ? 0 : volts * point->element_A[element];
}

static void fill(const LgRunning *running, const double felt[], double out[])
{
  const LgJob *const job = running->job;
  const LgPoint *const point = running->point;
  double given = 0, warmed = 0;
  for (int e = 0; e < job->n_elements; e++) {
    if (lg_element_is_source(job->elements[e].kind))
      given -= element_W(point, e);
    if (running->watt_of[e] >= 0)
      warmed += out[running->watt_of[e]] = element_W(point, e);
    if (running->rate_of[e] >= 0)
      out[running->rate_of[e]] = lg_cell_charging(&job->elements[e], -point->element_A[e]);
  }
  for (guint c = 0; c < running->chains->len; c++) {
    const LgChain *const chain = &g_array_index(running->chains, LgChain, c);
    const double amps = point->wire_A[chain->wire];
    out[chain->output] = amps * amps;
    warmed += amps * amps * chain->ohm20 * lg_copper_ratio(felt[chain->felt]);
  }
  out[0] = given;
  out[1] = given - warmed;
}

gboolean lg_running_respond(const int position[], const double felt[], double out[], gpointer user)
{
  LgRunning *const running = user;
  lg_running_place(running, position, running->point->position);
  set_cold_wires(running,
                 g_array_index(running->ambients, double, position[running->ambient_switch]));
  set_warm_wires(running, felt);
  set_sources(running, position, felt);
  lg_circuit_solve(running->circuit, running->work, running->point);
  if (running->point->status.outcome == LG_CHATTER)
    return FALSE;
  fill(running, felt, out);
  return TRUE;
}
