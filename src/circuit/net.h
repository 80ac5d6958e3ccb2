/* The electrical network of one job, as numbers: nodes, branches, contacts, coils, inputs.
 *
 * It knows nothing of sheets, parts or wires; `circuit.h` makes it from the job model. Node 0 is
 * the reference (the negative post of the main battery). All values are SI: volts, amperes, ohms,
 * siemens.
 *
 * Idea. Every branch becomes a conductance and a Norton current, so the nodal matrix is a symmetric
 * M-matrix. It is eliminated without subtractions: each node carries its conductances to its
 * neighbours and to the reference as separate positive numbers, and a pivot is the sum of what
 * still leaves the node. Order and fill are found once per network; a change of state refactors
 * only the columns on the path from the changed branch to the root of the elimination tree. */
#pragma once
#include <glib.h>
#include <stdint.h>

G_BEGIN_DECLS

typedef struct LgNet
    LgNet; /* structure and values; constant once closed, may be shared by threads */
typedef struct LgNetWork LgNetWork; /* scratch of one thread for one net */

/* One input that a person, a thermostat call or the traffic sets: a key, a switch, a load's demand.
 */
typedef struct {
  int n_positions; /* 1..63; position 0 is the state of rest */
} LgNetInput;

/* When a gated branch conducts: every part that is given must hold. */
typedef struct {
  int input[2];          /* input index or -1 */
  uint64_t positions[2]; /* bit p set: conducts while input[k] is at position p */
  int coil;              /* coil index or -1 */
  gboolean coil_pulled;  /* conducts while the coil is pulled (TRUE) or released (FALSE) */
} LgNetGate;

/* Whether the inputs let it conduct, whatever its coil does; input i at position[i * stride]. */
static inline gboolean lg_net_inputs_allow(const LgNetGate *gate, const int position[], int stride)
{
  for (int i = 0; i < 2; i++)
    if (gate->input[i] >= 0 && (gate->positions[i] >> position[gate->input[i] * stride] & 1) == 0)
      return FALSE;
  return TRUE;
}

/* A sensing branch with two thresholds: a relay coil, or the under-voltage watch of an electronic
 * load. While the branch's gate is open or an end of it floats, it sees no volts. */
typedef struct {
  int branch;            /* the branch whose volts are watched */
  double pull_in_volts;  /* pulls when the volts reach this */
  double drop_out_volts; /* releases when the volts are below this; pull_in > drop_out > 0 */
  gboolean polarised;    /* TRUE: only volts from a to b count; FALSE: their magnitude */
} LgNetCoil;

/* Current i from a to b at v volts from a to b; in brackets the parameters p[0], p[1], p[2]. */
typedef enum {
  LG_BRANCH_RESISTOR, /* [g]            i = g v */
  LG_BRANCH_SOURCE,   /* [g, e]         battery, i = g (v - e): e > 0 lifts a above b */
  LG_BRANCH_LIMITED,  /* [g, e, limit]  regulated source: gives g (e - v) up to `limit`, takes
                         nothing.  So that the slope stays positive: 0.02 limit / e in the limit,
                         1e-9  S idle */
  LG_BRANCH_LAMP,  /* [g_hot, v_rated, g_cold]  tungsten: g(v) = g_hot (|v| / v_rated)^-0.45, never
                      above g_cold; i = g(v) v. I ~ V^0.55: common practice, no source */
  LG_BRANCH_MOTOR, /* [r, i_max]     constant torque, r at standstill: i = v / sqrt (r^2 +
                      (v/i_max)^2) */
  LG_BRANCH_DIODE, /* [v_f, r, s]    a is the anode: i = (s/r) ln (1 + exp ((v - v_f)/s)) + 1e-9 v:
                      slope 1/r above v_f, exponential tail below; an LED likewise */
  LG_BRANCH_POWER, /* [p, v_low]     p / v while |v| > v_low, resistor v_low^2 / p below; of two
                      possible states the one that is reached from full volts */
} LgBranchKind;

typedef struct {
  LgBranchKind kind;
  int a, b;    /* nodes; current counts from a through the branch to b */
  int gate;    /* gate index or -1: always there */
  double p[3]; /* parameters as listed at the kind, unused ones 0 */
} LgNetBranch;

/* Building. Each call returns the new index. Node indices must be below n_nodes; branches with a ==
 * b are refused by assertion. A branch's parameters are checked by assertion (finite, positive
 * where they must). */
LgNet *lg_net_new(int n_nodes);
void lg_net_free(LgNet *net);
int lg_net_add_input(LgNet *net, LgNetInput input);
int lg_net_add_gate(LgNet *net, LgNetGate gate);
int lg_net_add_branch(LgNet *net, LgNetBranch branch);
int lg_net_add_coil(LgNet *net, LgNetCoil coil);

/* Orders the nodes (SuiteSparse AMD), finds the elimination tree and the fill. After it nothing may
 * be added; parameters may still be changed by lg_net_set_param. */
void lg_net_close(LgNet *net);

/* Changes parameter `k` of a branch (a wire's conductance, a battery's emf). Works made before
 * notice it, and factor only the paths of the changed branches as long as these are few. Not while
 * another thread solves the net. */
void lg_net_set_param(LgNet *net, int branch, int k, double value);

int lg_net_n_nodes(const LgNet *net);
int lg_net_n_branches(const LgNet *net);
int lg_net_n_inputs(const LgNet *net);
int lg_net_n_coils(const LgNet *net);
const LgNetBranch *lg_net_branch(const LgNet *net, int branch);
const LgNetInput *lg_net_input(const LgNet *net, int input);
const LgNetGate *lg_net_gate(const LgNet *net, int gate);
const LgNetCoil *lg_net_coil(const LgNet *net, int coil);

typedef enum {
  LG_SOLVED,   /* residual below tolerance, relays at rest */
  LG_LATCHING, /* solved from all relays released; from all relays pulled another answer stands too
                */
  LG_CHATTER,  /* no fixed point of the relays: the last pass is returned, `coil` names one that
                  toggles */
  LG_STALLED,  /* the nonlinear iteration stopped above its tolerance; best found is returned */
} LgOutcome;

typedef struct {
  LgOutcome outcome;
  int coil;          /* chatter: a coil that toggles; latching: a coil that differs; else -1 */
  int relay_passes;  /* solutions made until the relays stood still */
  int newton_passes; /* of the last solution */
  double residual_A; /* greatest absolute Kirchhoff residual: what the curve of a nonlinear branch
                        is missed by; with `current`, also what the currents of a node miss by */
  int n_floating;    /* nodes without a path to the reference */
} LgNetStatus;

LgNetWork *lg_net_work_new(const LgNet *net);
void lg_net_work_free(LgNetWork *work);

/* Solves one state.
 *   position[n_inputs]   in: position of every input
 *   pulled[n_coils]      in: where the relays start from; out: where they came to rest. With NULL
 * they start released, and latching is looked for (second start from all pulled) volts[n_nodes]
 * out: against node 0, to 1e-14 of the greatest emf; NAN for a floating node current[n_branches]
 * out, may be NULL: amperes from a to b; 0 when the gate is open or an end floats. Right to 1e-9
 * relative even for a milliohm contact in a megohm circuit, which costs several times what the
 * volts cost closed[n_branches]   out, may be NULL: whether the branch's gate let it conduct All
 * coils look at the same volts and move at once; only where that goes round in a ring, one moves at
 * a time. Returns the status. Allocates nothing. */
LgNetStatus lg_net_solve(const LgNet *net, LgNetWork *work, const int position[], gboolean pulled[],
                         double volts[], double current[], gboolean closed[]);
/* Where the coils came to rest in the state that was solved last; pulled[n_coils]. */
void lg_net_coils(const LgNetWork *work, gboolean pulled[]);

/* A block of solved states that a sweep hands to its visitor; lane k of every array belongs to
 * state k. */
#define LG_LANES 8
typedef struct {
  int n;                            /* lanes in use, 1..8; unused lanes repeat lane 0 */
  const int *position[LG_LANES];    /* position[k][input] */
  const double (*volts)[LG_LANES];  /* [node][lane]; NAN when floating */
  const uint64_t *pulled[LG_LANES]; /* bit set of pulled coils */
  LgOutcome outcome[LG_LANES];
  int coil[LG_LANES]; /* as in LgNetStatus */
} LgNetBlock;

/* Branch current of every lane of a block: out[LG_LANES], amperes a to b, 0 when the gate is open
 * or an end floats. From the volts of the block: right to about 1e-14 V times the conductance,
 * 1e-11 A in a milliohm. */
void lg_net_block_current(const LgNet *net, const LgNetWork *work, const LgNetBlock *block,
                          int branch, double out[LG_LANES]);

typedef void (*LgNetVisit)(const LgNetBlock *block, const LgNetWork *work, gpointer user);

/* Which states a sweep walks through: all combinations of the inputs in `vary`, the others as in
 * `base`. */
typedef struct {
  const int *vary; /* input indices, all different */
  int n_vary;
  const int *base;        /* [n_inputs] position of every other input */
  gboolean with_relays;   /* TRUE: relays at their fixed point; FALSE: all relays as in `pulled` */
  const gboolean *pulled; /* [n_coils] used when with_relays is FALSE; NULL: all released */
  gboolean (*skip)(const int position[],
                   gpointer user); /* NULL, or TRUE for a state that cannot be */
  gpointer user;
  const int *listed; /* NULL, or n_listed states to walk through instead, in this order: position
                        of every input of state i at listed[i * n_inputs]; vary, base and skip are
                        not used then */
  guint64 n_listed;
  gboolean released_only; /* with_relays: does not look for latching, which saves time */
  int part, n_parts; /* n_parts > 0: only the blocks of share `part`, so that each share can have a
                        thread and a work of its own. Shares are of equal length, and one after the
                        other they are the blocks of the whole walk in its order */
} LgNetSweep;

/* Number of combinations of the sweep (before `skip`), G_MAXUINT64 when it would overflow. */
guint64 lg_net_sweep_size(const LgNet *net, const LgNetSweep *sweep);

/* Walks the states in an order that changes few branches at a time and visits them in blocks.
 * Latching is looked for in every state with coils, unless `released_only`. Returns the number of
 * states visited. */
guint64 lg_net_sweep(const LgNet *net, LgNetWork *work, const LgNetSweep *sweep, LgNetVisit visit,
                     gpointer user);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgNet, lg_net_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgNetWork, lg_net_work_free)

G_END_DECLS
