/* Inside of the study of faults: the changes that a fault makes to the network, the states looked
 * at, what is seen in them, and what comes of it. */
#pragma once
#include "circuit/net-fault.h"
#include "studies/faults.h"
#include "studies/states-private.h"

/* --- faults-list.c --- */
enum { LG_MOST_CHANGES = 16 };

/* The changes of a fault, at most LG_MOST_CHANGES; returns how many. */
int lg_failure_changes(const LgStage *stage, const LgSizing *sizing, const LgFailure *fault,
                       LgChange changes[]);
/* Rating of a fuse or breaker, chosen or given; NAN: none. */
double lg_failure_rating(const LgSizing *sizing, int element);

/* --- faults-states.c --- */
typedef struct {
  int n, n_inputs;
  int *position; /* [n][n_inputs]; state 0 is everything at rest */
  int *rank;     /* [n] inputs off their rest */
  gboolean all;
  guint64 n_possible;
  /* All of them: inputs that are walked, weight of each input's position in a code, and the state
   * of every code, -1: it cannot be. */
  int *walked, n_walked;
  int *weight;  /* [n_inputs] 0: stands still */
  int *of_code; /* NULL: not all */
} LgFailureStates;

/* All lasting states of the stage when there are at most `most`, else the telling ones. */
LgFailureStates *lg_failure_states_new(const LgStage *stage, const LgStates *states, guint64 most);
void lg_failure_states_free(LgFailureStates *states);
static inline int lg_failure_state_at(const LgFailureStates *states, const int position[])
{
  int code = 0;
  for (int i = 0; i < states->n_walked; i++)
    code += states->weight[states->walked[i]] * position[states->walked[i]];
  return states->of_code[code];
}
static inline const int *lg_failure_position(const LgFailureStates *states, int state)
{
  return states->position + (gsize)state * (gsize)states->n_inputs;
}

/* --- faults-solve.c --- */
/* `state[k]` is the state of lane k; unused lanes repeat lane 0. */
typedef void (*LgFailureVisit)(const LgNetBlock *block, const int state[LG_LANES], gpointer user);

typedef struct LgFailureSolver LgFailureSolver;
/* Of one thread. Every set of changes makes a network of its own; all states of it are walked eight
 * at a time, few of them are solved one by one. `slow`: always one by one, and no network is kept:
 * the reference that the walk is tested against. */
LgFailureSolver *lg_failure_solver_new(const LgStage *stage, const LgFailureStates *states,
                                       gboolean slow);
void lg_failure_solver_free(LgFailureSolver *solver);
/* Solves `n_states` states with the changes made. */
void lg_failure_solver_run(LgFailureSolver *solver, const LgChange changes[], int n_changes,
                           const int state[], int n_states, LgFailureVisit visit, gpointer user);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgFailureStates, lg_failure_states_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgFailureSolver, lg_failure_solver_free)

/* --- faults-heat.c --- */
typedef struct LgHeats LgHeats;
LgHeats *lg_heats_new(const LgSizing *sizing);
void lg_heats_free(LgHeats *heats);
/* Longest time in which a fuse or breaker of that rating opens, at the coldest of its place. */
double lg_guard_opens_s(const LgSizing *sizing, int element, double rating_A, double amps);
/* Least current that opens it for sure; INFINITY: none does. */
double lg_guard_bears_A(const LgSizing *sizing, int element, double rating_A);
/* Conductor after `seconds` (INFINITY: lasting) of `amps`, alone in its surroundings at their
 * hottest, from its greatest healthy load. */
double lg_heats_wire_K(const LgHeats *heats, int wire, double amps, double seconds);
/* What its insulation may reach in so long: the end of a short circuit up to 5 s, its overload
 * temperature up to 6 h, its class for ever. */
double lg_heats_limit_K(const LgHeats *heats, int wire, double seconds);

/* --- faults-look.c: what is seen in solved states --- */
/* Thermistor that some control reads by a resistor to its supply. */
typedef struct {
  int element, reader;   /* thermistor; element that senses it */
  int hot, cold, supply; /* nodes at the reader */
  int call;              /* input that the reading works, -1 */
} LgProbed;

/* The healthy job in every state, and what is looked at. */
typedef struct {
  const LgSizing *sizing;
  const LgStage *stage;
  const LgFailureStates *states;
  int n_users, *users;   /* elements: loads */
  int n_coils, *coils;   /* elements */
  int n_guards, *guards; /* elements: fuses and breakers */
  double *guard_A;       /* [n_guards] least current that opens it for sure */
  int n_probed;
  LgProbed *probed;
  double *most_W; /* [n_users] greatest healthy power, or rated where it never runs */
  /* Rows by state. */
  double *volts;    /* [n][n_nodes] */
  double *watts;    /* [n][n_users] */
  double *coil_V;   /* [n][n_coils] */
  guint8 *coil_in;  /* [n][n_coils] pulled */
  double *read;     /* [n][n_probed] share of the supply's volts; NAN: no supply */
  guint8 *steady;   /* [n] the relays are at rest: no chatter */
  gsize words;      /* of pulled coils in a state */
  uint64_t *pulled; /* [n][words] bit set of the net's coils */
  struct LgHeats *heats;
  guint8 *obeys;                 /* [n_users][n_inputs] dead while the input is at rest */
  double *wire_A, *guard_most_A; /* [n_wires], [n_guards] greatest over all states */
  double rest_A;                 /* that the batteries give in state 0 */
  gboolean *need_holds;          /* [n_needs] in all states looked at */
} LgHealthy;

LgHealthy *lg_healthy_new(const LgSizing *sizing, const LgStage *stage,
                          const LgFailureStates *states, LgFailureSolver *solver);
void lg_healthy_free(LgHealthy *healthy);
/* Solves one state anew, whose position has changed; what was greatest over all states stays. */
void lg_healthy_renew(LgHealthy *healthy, LgFailureSolver *solver, int state);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgHealthy, lg_healthy_free)

typedef struct {
  double value; /* greatest or least so far */
  int state;    /* plainest that shows it; -1: never */
  guint64 n;
} LgSeen;

/* What is seen of one fault. */
typedef struct {
  const LgHealthy *healthy;
  const LgChange *changes;
  int n_changes;
  guint8 *override;              /* [branches] LgChangeKind + 1; 0: as it was */
  LgSeen *runs, *unasked;        /* [n_users]; unasked: though nobody asks for it */
  LgSeen *stops, *weak, *most_W; /* [n_users] */
  LgSeen *wires;                 /* [n_wires] |A| */
  LgSeen *guards;                /* [n_guards] |A| */
  LgSeen *least_over;            /* [n_guards] least |A| that opens it for sure */
  LgSeen *most_under;    /* [n_guards] greatest |A| above its rating that may never open it */
  LgSeen *pulled, *held; /* [n_coils] pulled where healthy it was not: above pull-in, below it */
  LgSeen *reversed;      /* [elements] polarised ones: least volts */
  LgSeen *cold, *warm;   /* [n_probed] greatest and least share of the supply where it differs */
  LgSeen *needs;         /* [n_needs] broken */
  LgSeen short_A;        /* greatest current in the bridge */
  int chatter, chatter_coil; /* state and coil; -1 */
  double rest_A;             /* that the batteries give in state 0 */
  guint64 n_solved;
  /* scratch of a block */
  int64_t (*gates)[LG_LANES];
} LgLook;

LgLook *lg_look_new(const LgHealthy *healthy);
void lg_look_free(LgLook *look);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgLook, lg_look_free)
/* Forgets what was seen, and looks at another fault. `changes` must stay. */
void lg_look_begin(LgLook *look, const LgChange changes[], int n_changes);
/* LgFailureVisit. */
void lg_look_visit(const LgNetBlock *block, const int state[LG_LANES], gpointer look);
/* States that the healthy solution does not answer; returns how many. */
int lg_look_wanted(const LgHealthy *healthy, const LgChange changes[], int n_changes, int wanted[]);

/* Every current of one state: amps of wires, then of elements. */
typedef struct {
  const LgLook *look;
  double *volts; /* [nodes] */
  double *amps;  /* [n_wires + n_elements] */
  double bridge_A;
  uint64_t *pulled; /* bit set of the net's coils */
  LgOutcome outcome;
  int coil; /* as in LgNetStatus */
} LgOneState;
LgOneState *lg_one_state_new(const LgHealthy *healthy);
void lg_one_state_free(LgOneState *one);
void lg_one_state_solve(LgOneState *one, LgLook *look, LgFailureSolver *solver, int state);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgOneState, lg_one_state_free)

/* --- faults-effect.c --- */
enum { LG_MOST_OPENED = 3 };

/* One thread's tools. */
typedef struct {
  const LgHealthy *healthy;
  const LgWays *ways;
  LgFailureSolver *solver;
  LgLook *look, *after;
  LgOneState *one;
  LgChange changes[2 * LG_MOST_CHANGES + 8]; /* those in `look` and `after` */
  int n_changes;
  int *wanted; /* [n states] scratch */
  gboolean exact;
  int only;                             /* the only state that is looked at; -1: all */
  int opened[LG_MOST_OPENED], n_opened; /* fuses and breakers that opened, in their order */
  guint64 n_solved, n_after;
} LgBench;

LgBench *lg_bench_new(const LgHealthy *healthy, const LgWays *ways, gboolean slow, gboolean exact);
void lg_bench_free(LgBench *bench);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgBench, lg_bench_free)
/* Looks at one fault, or two at once (`second` NULL: one), and judges it. */
void lg_bench_judge(LgBench *bench, const LgFailure *fault, const LgFailure *second,
                    LgEffect *effect);

/* --- faults-remedy.c --- */
/* Looks for what helps against the `n` gravest causes. FALSE when `options->stop` said TRUE. */
gboolean lg_campaign_find_remedies(LgCampaign *faults, int n, const LgCampaignOptions *options);

/* --- faults-group.c --- */
/* Puts effects into causes, gravest first. */
void lg_campaign_group(LgCampaign *faults);
/* Order of graver effects: < 0 when `a` is graver. */
int lg_effect_compare(const LgEffect *a, const LgEffect *b);
