/* A network with things wrong: every state of it under each of many faults.
 *
 * A fault is a list of changes to the network: a branch or a gate that is stuck, two nodes that
 * touch, a branch of other parameters or the other way round. All changes of a fault hold at once,
 * so a double fault is the two lists one after the other.
 *
 * Idea. The faults are sorted into *plans*. A plan is a network of its own with the nodes,
 * branches, gates, inputs and coils of the one given, numbers and all, and the bridges of its
 * faults as further branches that are open as a rule; its order and fill are found with all of them
 * in place. Bridges that share a node (the body, the plus) share a plan, as they cost each column
 * one entry; the others go in small groups. Putting a fault in then changes a few numbers, which
 * refactors the columns on the way from the touched nodes to the root; and the states are walked
 * below it as ever: exact, with relays and nonlinear branches, without differences of near-equal
 * numbers, and with islands that the fault makes or joins.
 *
 * What a fault gives does not depend on which were looked at before it, to the last bit; so the
 * results are the same for any number of threads. */
#pragma once
#include "circuit/net.h"

G_BEGIN_DECLS

typedef enum {
  LG_CHANGE_OPEN,        /* [branch]      gone: a wire cut, a fuse blown, a joint lost */
  LG_CHANGE_CLOSED,      /* [branch]      conducts whatever its gate says: a contact welded */
  LG_CHANGE_GATE_OPEN,   /* [gate]        no branch of the gate conducts: a relay or switch stuck */
  LG_CHANGE_GATE_CLOSED, /* [gate]        all of them do */
  LG_CHANGE_BRIDGE,   /* [a, b, value] the nodes a and b touch through `value` siemens. Nodes may be
                         in different islands, one may be the reference; a != b */
  LG_CHANGE_PARAM,    /* [branch, k, value] p[k] = value: another fuse or wire, a joint gone bad, a
                         battery run down. Sound values only, as for lg_net_set_param */
  LG_CHANGE_REVERSED, /* [branch]      its ends change places: a diode or battery the wrong way
                         round. A part of several branches takes one change for each */
} LgChangeKind;

typedef struct {
  LgChangeKind kind;
  int branch, gate; /* index, used as listed at the kind */
  int a, b;         /* nodes of a bridge */
  int k;            /* which parameter */
  double value;
} LgChange;

typedef struct {
  int n;                  /* 0: nothing is wrong, for comparison */
  const LgChange *change; /* [n]; of contrary changes to one branch the last holds */
} LgFault;

typedef struct LgFaults
    LgFaults; /* faults of one net, sorted into plans; constant, shared by threads */
typedef struct LgFaultWork LgFaultWork; /* scratch of one thread; holds the network of one plan */

/* Copies the faults; indices and values are checked by assertion. `net` is closed and must outlive
 * it; it is never changed. */
LgFaults *lg_faults_new(const LgNet *net, const LgFault faults[], int n_faults);
void lg_faults_free(LgFaults *faults);
int lg_faults_n(const LgFaults *faults);
const LgFault *lg_faults_get(const LgFaults *faults, int fault);

/* One block of solved states under one fault. Pin volts are block->volts[node][lane], NAN where the
 * fault or the state leaves a node floating; pulled coils and outcome as in net.h. */
typedef struct {
  int fault;               /* index */
  int thread;              /* 0 .. n_threads - 1: whose visitor this is */
  const LgNetBlock *block; /* valid until the visitor returns */
  const LgFaultWork *work; /* for the currents */
} LgFaultBlock;

typedef void (*LgFaultVisit)(const LgFaultBlock *block, gpointer user);

/* Current of a branch of the net as given, amperes from its a to its b (also where the fault has
 * exchanged them), in every lane; 0 while it is open or an end floats. As precise as
 * lg_net_block_current. */
void lg_fault_current(const LgFaultBlock *block, int branch, double out[LG_LANES]);
/* Current through bridge change number `change` of the fault, from the change's a to its b. */
void lg_fault_bridge_current(const LgFaultBlock *block, int change, double out[LG_LANES]);

/* Walks all states of `sweep` (see net.h; `skip` must bear several threads) under every fault and
 * shows each block, the blocks of a fault one after the other by the same thread.
 *   n_threads  1: all in the calling thread; more: the calling one and others take plans and faults
 * as they come. Visitors of different threads run at the same time; keep what they gather by fault,
 * or by `thread` where the order of adding up does not matter skip_fault NULL, or TRUE for a fault
 * that is not to be walked (now); asked by any thread Returns the number of (fault, state) pairs
 * shown. Aborts when a thread cannot be started. */
typedef gboolean (*LgFaultSkip)(int fault, gpointer user);
guint64 lg_faults_sweep(const LgFaults *faults, const LgNetSweep *sweep, int n_threads,
                        LgFaultSkip skip_fault, LgFaultVisit visit, gpointer user);

/* For single questions: one fault, one state. `work` of this thread, from lg_fault_work_new; going
 * from fault to fault of one plan is cheap, to another plan means laying out its network. Arguments
 * and result as in lg_net_solve; `current` has one more for each bridge of the fault, in the order
 * of its changes, so it needs n_branches + LG_FAULT_BRIDGES places. */
#define LG_FAULT_BRIDGES 8 /* most bridges in a fault */
LgFaultWork *lg_fault_work_new(const LgFaults *faults);
void lg_fault_work_free(LgFaultWork *work);
LgNetStatus lg_fault_solve(LgFaultWork *work, int fault, const int position[], gboolean pulled[],
                           double volts[], double current[], gboolean closed[]);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgFaults, lg_faults_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgFaultWork, lg_fault_work_free)

G_END_DECLS
