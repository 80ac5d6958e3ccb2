/* Solutions with changes made to the network. */
#include "studies/faults-private.h"

/* A network with changes made. */
typedef struct {
  LgChange changes[3 * LG_MOST_CHANGES];
  int n;
  LgNet *net;
  LgNetWork *work;
} Changed;

enum { N_KEPT = 2 };

struct LgFailureSolver {
  const LgStage *stage;
  const LgFailureStates *states;
  gboolean slow;
  guint8 *wanted; /* [n states] */
  Changed kept[N_KEPT];
  int next;
  int n_nodes, n_coils;
  double *volts;  /* [nodes] */
  double *lanes;  /* [nodes][lane] */
  gboolean *coil; /* [coils] */
  uint64_t *bits; /* [lane][words] */
};

static void forget(Changed *changed)
{
  g_clear_pointer(&changed->work, lg_net_work_free);
  g_clear_pointer(&changed->net, lg_net_free);
}

LgFailureSolver *lg_failure_solver_new(const LgStage *stage, const LgFailureStates *states,
                                       gboolean slow)
{
  LgFailureSolver *const solver = g_new0(LgFailureSolver, 1);
  solver->stage = stage;
  solver->states = states;
  solver->slow = slow;
  solver->wanted = g_new0(guint8, (gsize)states->n + 1);
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
  for (int i = 0; i < N_KEPT; i++)
    forget(&solver->kept[i]);
  g_free(solver->wanted);
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

/* Nodes, branches, inputs and coils keep their numbers. */
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

/* The network of these changes; the last few are kept, as a fault is looked at several times. */
static Changed *network_of(LgFailureSolver *solver, const LgChange changes[], int n_changes)
{
  for (int i = 0; i < N_KEPT && !solver->slow; i++) {
    Changed *const kept = &solver->kept[i];
    if (kept->net != NULL && kept->n == n_changes &&
        (n_changes == 0 || memcmp(kept->changes, changes, sizeof *changes * (gsize)n_changes) == 0))
      return kept;
  }
  Changed *const changed = &solver->kept[solver->next++ % N_KEPT];
  g_assert(n_changes <= (int)G_N_ELEMENTS(changed->changes));
  forget(changed);
  changed->n = n_changes;
  if (n_changes > 0)
    memcpy(changed->changes, changes, sizeof *changes * (gsize)n_changes);
  changed->net = changed_net(solver->stage->net, changes, n_changes);
  changed->work = lg_net_work_new(changed->net);
  return changed;
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

/* One state at a time. */
static void run_singly(LgFailureSolver *solver, const Changed *changed, const int state[],
                       int n_states, LgFailureVisit visit, gpointer user)
{
  const int n_inputs = solver->states->n_inputs;
  const gsize words = (gsize)solver->n_coils / 64 + 1;
  g_autofree int *position = g_new0(int, (gsize)n_inputs + 1); /* the last one is the idle input */
  for (int first = 0; first < n_states; first += LG_LANES) {
    LgNetBlock block = {.n = MIN(LG_LANES, n_states - first),
                        .volts = (const double(*)[LG_LANES])solver->lanes};
    int lanes[LG_LANES];
    for (int k = 0; k < LG_LANES; k++) {
      const int of = k < block.n ? k : 0;
      lanes[k] = state[first + of];
      block.position[k] = lg_failure_position(solver->states, lanes[k]);
      block.pulled[k] = solver->bits + (gsize)of * words;
      if (k >= block.n) {
        block.outcome[k] = block.outcome[0];
        block.coil[k] = block.coil[0];
        for (int i = 0; i < solver->n_nodes; i++)
          solver->lanes[i * LG_LANES + k] = solver->lanes[i * LG_LANES];
        continue;
      }
      memcpy(position, block.position[k], sizeof(int) * (gsize)n_inputs);
      const LgNetStatus status = solve_lane(solver, changed->net, changed->work, position, k);
      block.outcome[k] = status.outcome;
      block.coil[k] = status.coil;
    }
    visit(&block, lanes, user);
  }
}

/* --- all of them: eight at a time, in the order of the least moves --- */

typedef struct {
  LgFailureSolver *solver;
  LgFailureVisit visit;
  gpointer user;
} Sweeping;

static gboolean skip(const int position[], gpointer user)
{
  const LgFailureSolver *const solver = user;
  const int state = lg_failure_state_at(solver->states, position);
  return state < 0 || !solver->wanted[state];
}

static void pass_on(const LgNetBlock *block, const LgNetWork *work, gpointer user)
{
  const Sweeping *const s = user;
  LgNetBlock out = *block;
  int state[LG_LANES];
  (void)work;
  for (int k = 0; k < LG_LANES; k++) {
    state[k] = lg_failure_state_at(s->solver->states, block->position[k]);
    out.position[k] = lg_failure_position(s->solver->states, state[k]);
  }
  s->visit(&out, state, s->user);
}

static void run_walk(const Sweeping *s, const Changed *changed, const int state[], int n_states)
{
  LgFailureSolver *const solver = s->solver;
  const LgFailureStates *const states = solver->states;
  g_autofree int *base = g_new0(int, (gsize)states->n_inputs + 1);
  memcpy(base, states->position, sizeof(int) * (gsize)states->n_inputs);
  memset(solver->wanted, 0, (gsize)states->n);
  for (int i = 0; i < n_states; i++)
    solver->wanted[state[i]] = 1;
  const LgNetSweep sweep = {.vary = states->walked,
                            .n_vary = states->n_walked,
                            .base = base,
                            .with_relays = TRUE,
                            .skip = skip,
                            .user = solver};
  lg_net_sweep(changed->net, changed->work, &sweep, pass_on, (gpointer)s);
}

/* So few of the states that walking past the others, and warming up eight lanes, costs more. */
#define FEW_SHARE 0.02
#define FEW 16

void lg_failure_solver_run(LgFailureSolver *solver, const LgChange changes[], int n_changes,
                           const int state[], int n_states, LgFailureVisit visit, gpointer user)
{
  if (n_states == 0)
    return;
  const Changed *const changed = network_of(solver, changes, n_changes);
  if (!solver->slow && solver->states->all && n_states > FEW_SHARE * solver->states->n &&
      n_states > FEW)
    run_walk(&(Sweeping){solver, visit, user}, changed, state, n_states);
  else
    run_singly(solver, changed, state, n_states, visit, user);
}
