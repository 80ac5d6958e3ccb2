/* Solutions with changes made to the network. */
#include "studies/faults-private.h"

struct LgFailureSolver {
  const LgStage *stage;
  const LgFailureStates *states;
  gboolean slow;
  guint8 *wanted; /* [n states] */
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

/* How the gates of the new network follow from those of the old one. */
typedef struct {
  const LgFailureStates *states;
  const int *row; /* NULL: as they were; else the states that the row input goes through */
  int n_rows;
} Rows;

enum { MOST_ROWS = 63 };

static LgNetGate gate_of(const Rows *rows, const LgNetGate *gate)
{
  LgNetGate out = *gate;
  if (rows->row == NULL || (gate->input[0] < 0 && gate->input[1] < 0))
    return out;
  out.input[0] = 0;
  out.input[1] = -1;
  out.positions[0] = out.positions[1] = 0;
  for (int r = 0; r < rows->n_rows; r++) {
    const int *const position = lg_failure_position(rows->states, rows->row[r]);
    uint64_t closed = 1;
    for (int i = 0; i < 2; i++)
      if (gate->input[i] >= 0)
        closed &= gate->positions[i] >> position[gate->input[i]];
    out.positions[0] |= (closed & 1) << r;
  }
  return out;
}

static void add_bridges(LgNet *net, const LgChange changes[], int n_changes)
{
  for (int c = 0; c < n_changes; c++)
    if (changes[c].kind == LG_CHANGE_BRIDGE)
      lg_net_add_branch(net, (LgNetBranch){.kind = LG_BRANCH_RESISTOR,
                                           .a = changes[c].a,
                                           .b = changes[c].b,
                                           .gate = -1,
                                           .p = {changes[c].value}});
}

/* Nodes, branches and coils keep their numbers; the inputs, too, unless one row input stands for
 * all of them. */
static LgNet *changed_net(const LgNet *from, const LgChange changes[], int n_changes,
                          const Rows *rows)
{
  LgNet *const net = lg_net_new(lg_net_n_nodes(from));
  if (rows->row != NULL)
    lg_net_add_input(net, (LgNetInput){.n_positions = rows->n_rows});
  for (int i = 0; rows->row == NULL && i < lg_net_n_inputs(from); i++)
    lg_net_add_input(net, *lg_net_input(from, i));
  const int idle = lg_net_add_input(net, (LgNetInput){.n_positions = 1});
  const int never = lg_net_add_gate(net, (LgNetGate){.input = {idle, -1}, .coil = -1});
  int coil = 0;
  for (int b = 0; b < lg_net_n_branches(from); b++) {
    LgNetBranch branch = *lg_net_branch(from, b);
    if (branch.gate >= 0)
      branch.gate = lg_net_add_gate(net, gate_of(rows, lg_net_gate(from, branch.gate)));
    for (int c = 0; c < n_changes; c++)
      if (changes[c].branch == b)
        apply(&branch, &changes[c], never);
    lg_net_add_branch(net, branch);
    for (; coil < lg_net_n_coils(from) && lg_net_coil(from, coil)->branch == b; coil++)
      lg_net_add_coil(net, *lg_net_coil(from, coil));
  }
  add_bridges(net, changes, n_changes);
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
  g_autoptr(LgNet) net = changed_net(solver->stage->net, changes, n_changes, &(Rows){0});
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

/* --- the fast way: eight states at a time --- */

typedef struct {
  LgFailureSolver *solver;
  const Rows *rows;
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
  const LgFailureStates *const states = s->solver->states;
  LgNetBlock out = *block;
  int state[LG_LANES];
  (void)work;
  for (int k = 0; k < LG_LANES; k++) {
    state[k] = s->rows->row != NULL ? s->rows->row[block->position[k][0]]
                                    : lg_failure_state_at(states, block->position[k]);
    out.position[k] = lg_failure_position(states, state[k]);
  }
  s->visit(&out, state, s->user);
}

/* All of them in the order of the least moves, those left out that are not wanted. */
static void run_walk(const Sweeping *s, const LgChange changes[], int n_changes, const int state[],
                     int n_states)
{
  LgFailureSolver *const solver = s->solver;
  const LgFailureStates *const states = solver->states;
  g_autoptr(LgNet) net = changed_net(solver->stage->net, changes, n_changes, s->rows);
  g_autoptr(LgNetWork) work = lg_net_work_new(net);
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
  lg_net_sweep(net, work, &sweep, pass_on, (gpointer)s);
}

/* Some of them: one input goes through a row of states, and the gates follow. */
static void run_rows(Sweeping *s, const LgChange changes[], int n_changes, const int state[],
                     int n_states)
{
  for (int first = 0; first < n_states; first += MOST_ROWS) {
    const Rows rows = {s->solver->states, state + first, MIN(MOST_ROWS, n_states - first)};
    g_autoptr(LgNet) net = changed_net(s->solver->stage->net, changes, n_changes, &rows);
    g_autoptr(LgNetWork) work = lg_net_work_new(net);
    const int base[2] = {0, 0}, vary[1] = {0};
    const LgNetSweep sweep = {.vary = vary, .n_vary = 1, .base = base, .with_relays = TRUE};
    s->rows = &rows;
    lg_net_sweep(net, work, &sweep, pass_on, s);
  }
}

/* So few of the states that walking past the others costs more. */
#define FEW_SHARE 0.02

void lg_failure_solver_run(LgFailureSolver *solver, const LgChange changes[], int n_changes,
                           const int state[], int n_states, LgFailureVisit visit, gpointer user)
{
  const Rows none = {0};
  Sweeping s = {solver, &none, visit, user};
  if (n_states == 0)
    return;
  if (solver->slow)
    run_slow(solver, changes, n_changes, state, n_states, visit, user);
  else if (solver->states->all && n_states > FEW_SHARE * solver->states->n)
    run_walk(&s, changes, n_changes, state, n_states);
  else
    run_rows(&s, changes, n_changes, state, n_states);
}
