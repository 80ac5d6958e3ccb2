/* The network that is swept. */
#include "studies/states-private.h"

typedef enum { NEVER, ALWAYS, SOMETIMES } When;

/* What is left of a gate once the inputs that stand still are known. */
static When narrow(const LgStage *stage, LgNetGate *gate)
{
  for (int k = 0; k < 2; k++) {
    const int input = gate->input[k];
    if (input < 0 || stage->stand[input] < 0)
      continue;
    if ((gate->positions[k] >> stage->stand[input] & 1) == 0)
      return NEVER;
    gate->input[k] = -1;
    gate->positions[k] = 0;
  }
  return gate->input[0] >= 0 || gate->input[1] >= 0 || gate->coil >= 0 ? SOMETIMES : ALWAYS;
}

static int copy_branch(LgStage *stage, int index)
{
  LgNetBranch branch = *lg_net_branch(stage->circuit->net, index);
  if (branch.gate >= 0) {
    LgNetGate gate = *lg_net_gate(stage->circuit->net, branch.gate);
    const When when = narrow(stage, &gate);
    if (when == NEVER)
      return -1;
    branch.gate = when == ALWAYS ? -1 : lg_net_add_gate(stage->net, gate);
    stage->n_gates += when == SOMETIMES;
  }
  return lg_net_add_branch(stage->net, branch);
}

static void add_inputs(LgStage *stage, const int demand[])
{
  const LgJob *const job = stage->circuit->job;
  for (int i = 0; i < job->n_inputs; i++) {
    const LgInput *const input = &job->inputs[i];
    const gboolean cycles = input->kind == LG_INPUT_DEMAND && job->elements[input->element].cycles;
    int stand = -1, n = input->n_positions;
    if (input->kind == LG_INPUT_DEMAND) {
      stand = demand != NULL && demand[i] >= 0 ? demand[i] : cycles ? -1 : LG_DEMAND_RUN;
      /* Walked: run and off, the first two. A position that stands still is out of the gates. */
      n = stand < 0 ? 2 : stand + 1;
    }
    stage->stand[i] = stand;
    lg_net_add_input(stage->net, (LgNetInput){.n_positions = n});
  }
}

/* Coils follow the branch that they watch, as they did in the circuit, so that gates find them. */
static void add_branches(LgStage *stage)
{
  const LgNet *const from = stage->circuit->net;
  int coil = 0;
  for (int b = 0; b < lg_net_n_branches(from); b++) {
    stage->branch[b] = copy_branch(stage, b);
    while (coil < lg_net_n_coils(from) && lg_net_coil(from, coil)->branch == b) {
      LgNetCoil copy = *lg_net_coil(from, coil++);
      g_assert(stage->branch[b] >= 0);
      copy.branch = stage->branch[b];
      lg_net_add_coil(stage->net, copy);
    }
  }
  g_assert(coil == lg_net_n_coils(from));
}

static void find_elements(LgStage *stage)
{
  const LgCircuit *const circuit = stage->circuit;
  for (int e = 0; e < circuit->job->n_elements; e++) {
    stage->first[e] = -1;
    stage->n[e] = 0;
    for (int k = 0; k < circuit->element_branches[e]; k++) {
      const int branch = stage->branch[circuit->element_branch[e] + k];
      if (branch < 0)
        continue;
      if (stage->n[e]++ == 0)
        stage->first[e] = branch;
    }
    if (lg_element_is_source(circuit->job->elements[e].kind))
      stage->source[stage->n_sources++] = e;
    if (circuit->element_coil[e] >= 0)
      stage->coil_element[circuit->element_coil[e]] = e;
  }
}

LgStage *lg_stage_new(const LgCircuit *circuit, const int demand[])
{
  const LgJob *const job = circuit->job;
  LgStage *const stage = g_new0(LgStage, 1);
  stage->circuit = circuit;
  stage->net = lg_net_new(lg_net_n_nodes(circuit->net));
  stage->branch = g_new(int, (gsize)lg_net_n_branches(circuit->net) + 1);
  stage->first = g_new(int, (gsize)job->n_elements + 1);
  stage->n = g_new(int, (gsize)job->n_elements + 1);
  stage->source = g_new(int, (gsize)job->n_elements + 1);
  stage->stand = g_new(int, (gsize)job->n_inputs + 1);
  stage->coil_element = g_new0(int, (gsize)lg_net_n_coils(circuit->net) + 1);
  add_inputs(stage, demand);
  add_branches(stage);
  find_elements(stage);
  lg_net_close(stage->net);
  stage->work = lg_net_work_new(stage->net);
  return stage;
}

void lg_stage_free(LgStage *stage)
{
  if (stage == NULL)
    return;
  lg_net_work_free(stage->work);
  lg_net_free(stage->net);
  g_free(stage->branch);
  g_free(stage->first);
  g_free(stage->n);
  g_free(stage->source);
  g_free(stage->stand);
  g_free(stage->coil_element);
  g_free(stage);
}

void lg_stage_element(const LgStage *stage, const LgNetBlock *block, int element,
                      double amps[LG_LANES])
{
  for (int k = 0; k < LG_LANES; k++)
    amps[k] = 0;
  for (int i = 0; i < stage->n[element]; i++) {
    double part[LG_LANES];
    lg_net_block_current(stage->net, stage->work, block, stage->first[element] + i, part);
    for (int k = 0; k < LG_LANES; k++)
      amps[k] += part[k];
  }
}

void lg_stage_supply(const LgStage *stage, const LgNetBlock *block, double amps[LG_LANES])
{
  for (int k = 0; k < LG_LANES; k++)
    amps[k] = 0;
  for (int s = 0; s < stage->n_sources; s++) {
    double given[LG_LANES];
    lg_stage_element(stage, block, stage->source[s], given);
    for (int k = 0; k < LG_LANES; k++)
      amps[k] -= given[k];
  }
}
