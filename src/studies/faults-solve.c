/* Solutions with changes made to the network. */
#include "studies/faults-private.h"

struct LgFailureSolver {
  const LgStage *stage;
  const LgFailureStates *states;
  gboolean slow;
  int n_nodes, n_coils;
  double *volts;  /* [nodes] */
  double *lanes;  /* [nodes][lane] */
  gboolean *coil; /* [coils] */
  uint64_t *bits; /* [lane][words] */
};

LgFailureSolver *lg_failure_solver_new(const LgStage *stage, const LgFailureStates *states,
                                       gboolean slow)
{
  LgFailureSolver *const solver = g_new0(LgFailureSolver, 1);
  solver->stage = stage;
  solver->states = states;
  solver->slow = slow;
  solver->n_nodes = lg_net_n_nodes(stage->net);
  solver->n_coils = lg_net_n_coils(stage->net);
  solver->volts = g_new0(double, (gsize)solver->n_nodes);
  solver->lanes = g_new0(double, (gsize)solver->n_nodes *LG_LANES);
  solver->coil = g_new0(gboolean, (gsize)solver->n_coils + 1);
  solver->bits = g_new0(uint64_t, LG_LANES * ((gsize)solver->n_coils / 64 + 1));
  return solver;
}

void lg_failure_solver_free(LgFailureSolver *solver)
{
  if (solver == NULL)
    return;
  g_free(solver->volts);
  g_free(solver->lanes);
  g_free(solver->coil);
  g_free(solver->bits);
  g_free(solver);
}

/* --- the reference: a network made and factored anew --- */

static void apply(LgNetBranch *branch, const LgChange *change, int never)
{
  switch (change->kind) {
  case LG_CHANGE_OPEN:
    branch->gate = never;
    break;
  case LG_CHANGE_CLOSED:
    branch->gate = -1;
    break;
  case LG_CHANGE_PARAM:
    branch->p[change->k] = change->value;
    break;
  case LG_CHANGE_REVERSED: {
    const int a = branch->a;
    branch->a = branch->b;
    branch->b = a;
    break;
  }
  case LG_CHANGE_BRIDGE:
  case LG_CHANGE_GATE_OPEN:
  case LG_CHANGE_GATE_CLOSED:
    break; /* added behind; never made here */
  }
}

static LgNet *changed_net(const LgNet *from, const LgChange changes[], int n_changes)
{
  LgNet *const net = lg_net_new(lg_net_n_nodes(from));
  for (int i = 0; i < lg_net_n_inputs(from); i++)
    lg_net_add_input(net, *lg_net_input(from, i));
  const int idle = lg_net_add_input(net, (LgNetInput){.n_positions = 1});
  const int never = lg_net_add_gate(net, (LgNetGate){.input = {idle, -1}, .coil = -1});
  int coil = 0;
  for (int b = 0; b < lg_net_n_branches(from); b++) {
    LgNetBranch branch = *lg_net_branch(from, b);
    if (branch.gate >= 0)
      branch.gate = lg_net_add_gate(net, *lg_net_gate(from, branch.gate));
    for (int c = 0; c < n_changes; c++)
      if (changes[c].branch == b)
        apply(&branch, &changes[c], never);
    lg_net_add_branch(net, branch);
    for (; coil < lg_net_n_coils(from) && lg_net_coil(from, coil)->branch == b; coil++)
      lg_net_add_coil(net, *lg_net_coil(from, coil));
  }
  for (int c = 0; c < n_changes; c++)
    if (changes[c].kind == LG_CHANGE_BRIDGE)
      lg_net_add_branch(net, (LgNetBranch){.kind = LG_BRANCH_RESISTOR,
                                           .a = changes[c].a,
                                           .b = changes[c].b,
                                           .gate = -1,
                                           .p = {changes[c].value}});
  lg_net_close(net);
  return net;
}

static LgNetStatus solve_lane(LgFailureSolver *solver, const LgNet *net, LgNetWork *work,
                              const int position[], int lane)
{
  const gsize words = (gsize)solver->n_coils / 64 + 1;
  memset(solver->coil, 0, sizeof(gboolean) * (gsize)solver->n_coils);
  const LgNetStatus status =
      lg_net_solve(net, work, position, solver->coil, solver->volts, NULL, NULL);
  for (int i = 0; i < solver->n_nodes; i++)
    solver->lanes[i * LG_LANES + lane] = solver->volts[i];
  memset(solver->bits + (gsize)lane * words, 0, sizeof(uint64_t) * words);
  for (int c = 0; c < solver->n_coils; c++)
    solver->bits[(gsize)lane * words + (gsize)c / 64] |= (uint64_t)(solver->coil[c] != 0)
                                                         << (c % 64);
  return status;
}

static void run_slow(LgFailureSolver *solver, const LgChange changes[], int n_changes,
                     const int state[], int n_states, LgFailureVisit visit, gpointer user)
{
  g_autoptr(LgNet) net = changed_net(solver->stage->net, changes, n_changes);
  g_autoptr(LgNetWork) work = lg_net_work_new(net);
  const int n_inputs = solver->states->n_inputs;
  const gsize words = (gsize)solver->n_coils / 64 + 1;
  g_autofree int *position = g_new0(int, (gsize)n_inputs + 1);
  for (int first = 0; first < n_states; first += LG_LANES) {
    LgNetBlock block = {.n = MIN(LG_LANES, n_states - first),
                        .volts = (const double(*)[LG_LANES])solver->lanes};
    int lanes[LG_LANES];
    for (int k = 0; k < LG_LANES; k++) {
      lanes[k] = state[first + (k < block.n ? k : 0)];
      block.position[k] = lg_failure_position(solver->states, lanes[k]);
      memcpy(position, block.position[k], sizeof(int) * (gsize)n_inputs);
      const LgNetStatus status = solve_lane(solver, net, work, position, k);
      block.pulled[k] = solver->bits + (gsize)k * words;
      block.outcome[k] = status.outcome;
      block.coil[k] = status.coil;
    }
    visit(&block, lanes, user);
  }
}

void lg_failure_solver_run(LgFailureSolver *solver, const LgChange changes[], int n_changes,
                           const int state[], int n_states, LgFailureVisit visit, gpointer user)
{
  if (n_states > 0)
    run_slow(solver, changes, n_changes, state, n_states, visit, user);
}
