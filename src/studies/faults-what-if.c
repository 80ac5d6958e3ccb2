/* One fault in one state: the campaign's bench with a place kept free among its states. */
#include "studies/faults-private.h"

/* What hangs on where the demands stand, which are no part of the walked network. */
typedef struct {
  int *demand; /* [n_inputs] */
  LgStage *stage;
  LgWays *ways;
  LgFailureStates *states; /* the last one is the one asked for */
  LgFailureSolver *solver;
  LgHealthy *healthy;
  LgBench *bench;
} Setting;

struct LgWhatIf {
  const LgSizing *sizing;
  Setting *setting; /* of the last question; NULL: none yet */
};

static void setting_free(Setting *s)
{
  if (s == NULL)
    return;
  lg_bench_free(s->bench);
  lg_healthy_free(s->healthy);
  lg_failure_solver_free(s->solver);
  lg_failure_states_free(s->states);
  lg_ways_free(s->ways);
  lg_stage_free(s->stage);
  g_free(s->demand);
  g_free(s);
}

LgWhatIf *lg_what_if_new(const LgSizing *sizing)
{
  LgWhatIf *const what_if = g_new0(LgWhatIf, 1);
  what_if->sizing = sizing;
  return what_if;
}

void lg_what_if_free(LgWhatIf *what_if)
{
  if (what_if == NULL)
    return;
  setting_free(what_if->setting);
  g_free(what_if);
}

/* A further row, at first like the state of rest. */
static void add_place(LgFailureStates *states)
{
  const gsize n = (gsize)states->n, n_inputs = (gsize)states->n_inputs;
  states->position = g_renew(int, states->position, (n + 1) * n_inputs + 1);
  states->rank = g_renew(int, states->rank, n + 1);
  memcpy(states->position + n * n_inputs, states->position, sizeof(int) * n_inputs);
  states->rank[n] = 0;
  states->n++;
}

static Setting *setting_new(const LgSizing *sizing, const int demand[])
{
  Setting *const s = g_new0(Setting, 1);
  s->demand = g_memdup2(demand, sizeof(int) * ((gsize)sizing->circuit->job->n_inputs + 1));
  s->stage = lg_stage_new(sizing->circuit, demand);
  s->ways = lg_ways_new(sizing->circuit);
  s->states = lg_failure_states_new(s->stage, sizing->states, 0);
  add_place(s->states);
  s->solver = lg_failure_solver_new(s->stage, s->states, FALSE);
  s->healthy = lg_healthy_new(sizing, s->stage, s->states, s->solver);
  s->bench = lg_bench_new(s->healthy, s->ways, FALSE, FALSE);
  s->bench->only = s->states->n - 1;
  return s;
}

/* Loads that switch themselves are walked while they run or are off. */
static int *demand_of(const LgJob *job, const int position[])
{
  int *const demand = g_new(int, (gsize)job->n_inputs + 1);
  for (int i = 0; i <= job->n_inputs; i++)
    demand[i] = -1;
  for (int i = 0; i < job->n_inputs; i++) {
    const LgInput *const input = &job->inputs[i];
    if (input->kind == LG_INPUT_DEMAND &&
        (!job->elements[input->element].cycles || position[i] > LG_DEMAND_OFF))
      demand[i] = position[i];
  }
  return demand;
}

static Setting *setting_for(LgWhatIf *what_if, const int position[])
{
  const LgJob *const job = what_if->sizing->circuit->job;
  g_autofree int *demand = demand_of(job, position);
  if (what_if->setting != NULL &&
      memcmp(what_if->setting->demand, demand, sizeof(int) * (gsize)job->n_inputs) == 0)
    return what_if->setting;
  setting_free(what_if->setting);
  what_if->setting = setting_new(what_if->sizing, demand);
  return what_if->setting;
}

static void take_point(const Setting *s, LgPoint *point)
{
  const LgCircuit *const circuit = s->stage->circuit;
  const LgJob *const job = circuit->job;
  const LgOneState *const one = s->bench->one;
  for (int p = 0; p < job->n_pins; p++)
    point->volts[p] = one->volts[circuit->pin_node[p]];
  for (int w = 0; w < job->n_wires; w++)
    point->wire_A[w] = one->amps[w];
  for (int e = 0; e < job->n_elements; e++) {
    const LgElement *const element = &job->elements[e];
    const int far = element->pin[1] >= 0 ? circuit->pin_node[element->pin[1]] : circuit->body_node;
    const int coil = circuit->element_coil[e];
    point->element_A[e] = one->amps[job->n_wires + e];
    point->element_V[e] =
        far < 0 ? 0 : one->volts[circuit->pin_node[element->pin[0]]] - one->volts[far];
    point->pulled[e] = coil >= 0 && (one->pulled[coil / 64] >> coil % 64 & 1) != 0;
  }
  point->status = (LgNetStatus){.outcome = one->outcome, .coil = one->coil};
  for (int i = 0; i < lg_net_n_nodes(s->stage->net); i++)
    point->status.n_floating += isnan(one->volts[i]);
  point->coil_element = one->coil >= 0 ? s->stage->coil_element[one->coil] : -1;
}

void lg_what_if_look(LgWhatIf *what_if, const LgFailure *fault, LgPoint *point, LgFaultView *view)
{
  Setting *const s = setting_for(what_if, point->position);
  LgBench *const b = s->bench;
  const int n_inputs = s->states->n_inputs;
  memcpy(s->states->position + (gsize)b->only * (gsize)n_inputs, point->position,
         sizeof(int) * (gsize)n_inputs);
  s->states->rank[b->only] = lg_rank(point->position, n_inputs);
  lg_healthy_renew(s->healthy, s->solver, b->only);
  lg_bench_judge(b, fault, NULL, &view->effect);
  view->n_opened = b->n_opened;
  memcpy(view->opened, b->opened, sizeof view->opened);
  lg_look_begin(b->after, b->changes, b->n_changes);
  lg_one_state_solve(b->one, b->after, b->solver, b->only);
  take_point(s, point);
}
