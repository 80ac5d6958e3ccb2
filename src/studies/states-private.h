/* Inside of the study of all states: the network that is swept, what is seen in it, how its
 * combinations are walked, and how the volts lost on the way to a load are followed. */
#pragma once
#include "studies/states.h"
#include <math.h>
#include <string.h>

/* Two states at a time: what every machine that we run on can compare at once. */
typedef double LgPair __attribute__((vector_size(16), may_alias));
typedef int64_t LgPairI __attribute__((vector_size(16), may_alias));
#define LG_PAIRS (LG_LANES / 2)

/* --- states-net.c ---
 * The circuit's network without what no lasting state can reach: a load that does not switch itself
 * keeps its demand, so its other branches and their gates are left out. Nodes and coils have the
 * same numbers as in the circuit. */
typedef struct {
  const LgCircuit *circuit;
  LgNet *net;
  LgNetWork *work;
  int n_gates;
  int n_sources, *source; /* elements */
  int *branch;            /* [branches of the circuit] branch here, -1 when left out */
  int *first, *n;         /* [n_elements] its branches here */
  int *stand;             /* [n_inputs] where an input stands that is not walked; -1: walked */
  int *coil_element;      /* [n_coils] */
  gboolean provisional;   /* its walks need not look for relays that latch */
} LgStage;

/* `demand` [n_inputs]: position of demand inputs that stand still; -1 elsewhere; NULL: those of
 * loads that do not switch themselves stand at run. */
LgStage *lg_stage_new(const LgCircuit *circuit, const int demand[]);
void lg_stage_free(LgStage *stage);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgStage, lg_stage_free)
/* Sum of the currents that the sources give, in every lane. */
void lg_stage_supply(const LgStage *stage, const LgNetBlock *block, double amps[LG_LANES]);
/* Current of an element, amperes from its first pin, in every lane. */
void lg_stage_element(const LgStage *stage, const LgNetBlock *block, int element,
                      double amps[LG_LANES]);

/* --- states-way.c ---
 * Wires and elements as edges between the circuit's nodes. Edge e < n_wires is a wire, the others
 * are elements. */
typedef struct {
  const LgCircuit *circuit;
  int n_edges, *a, *b;   /* [n_edges] nodes; a < 0: not in the circuit */
  int *first, *incident; /* edges of node n: incident[first[n]] .. incident[first[n + 1]] */
} LgWays;

LgWays *lg_ways_new(const LgCircuit *circuit);
void lg_ways_free(LgWays *ways);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgWays, lg_ways_free)

/* A solved state as the ways see it. */
typedef struct {
  const double *volts; /* of node n: volts[n * stride] */
  gsize stride;
  double (*amps)(gconstpointer user, int edge); /* from a through the edge to b */
  gconstpointer user;
} LgFlow;

/* Volts lost from the plus of the source that feeds element `load` to it (way 0), and from it to
 * the source's minus (way 1). `wires` may be NULL: the wires passed on both ways, appended. */
void lg_ways_drop(const LgWays *ways, const LgFlow *flow, int load, double drop[2], GArray *wires);

/* --- states-keep.c: states worth keeping, each once --- */
typedef struct LgKeeper LgKeeper;
LgKeeper *lg_keeper_new(LgStates *states);
void lg_keeper_free(LgKeeper *keeper);
int lg_keeper_keep(LgKeeper *keeper, const guint8 position[]);

/* An extreme while it is looked for. */
typedef struct {
  double value;
  int rank; /* inputs off their rest; -1: never met */
  guint8 *position;
} LgPeak;

#define LG_TIE 1e-9 /* values that near to each other, relatively, are equal */

int lg_rank(const int position[], int n_inputs);
void lg_copy_position(const int position[], int n_inputs, guint8 to[]);
/* Takes a value when it lies further in the direction of `sign`, or as far with fewer inputs off
 * their rest; NAN never. `*rank` is that of the position, -1 when not yet counted. */
gboolean lg_peak_take(LgPeak *peak, double value, double sign, const int position[], int n_inputs,
                      int *rank);
/* The same for the peak of another share of the states. */
gboolean lg_peak_merge(LgPeak *peak, const LgPeak *other, double sign, int n_inputs);
LgExtreme lg_peak_keep(const LgPeak *peak, LgKeeper *keeper);

/* --- states-echo.c --- */
/* Where a gated branch alone leads: floating, or at the volts of the branch's other end. */
typedef struct {
  int node, from, gate;
} LgLooseEnd;

/* Positions of one input that differ in loose ends alone, so that one of them is solved for all. */
typedef struct {
  int input; /* -1: none is worth it */
  int *like; /* [n_positions] the least position that does the same */
  int n_ends;
  LgLooseEnd *ends; /* that the input has a part in */
} LgEchoes;

LgEchoes *lg_echoes_new(const LgStage *stage);
void lg_echoes_free(LgEchoes *echoes);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgEchoes, lg_echoes_free)

/* --- states-company.c --- */
/* What wires give off and what that does to a wire among them, as straight lines. */
typedef struct {
  double *ohm_m;      /* [n_wires] as the circuit stands */
  double *own_weight; /* by company (see LgCompany): what the wire's own heat counts beyond 1 */
} LgWeights;
LgWeights lg_weights_new(const LgCircuit *circuit, const int first_company[]);
void lg_weights_clear(LgWeights *weights);

/* --- states-scan.c --- */
enum {
  LG_PEAK_MOST_A,
  LG_PEAK_LEAST_A,
  LG_PEAK_MOST_V,
  LG_PEAK_LEAST_V,
  LG_PEAK_MOST_W,
  LG_PEAK_DROP,
  LG_N_PEAKS
};

typedef struct LgScan LgScan;
LgScan *lg_scan_new(const LgStage *stage, const LgWays *ways);
void lg_scan_free(LgScan *scan);
/* LgNetVisit. */
void lg_scan_visit(const LgNetBlock *block, const LgNetWork *work, gpointer scan);
/* The same for an echo of a block visited before: the loose ends. */
void lg_scan_echo(const LgNetBlock *block, const LgEchoes *echoes, LgScan *scan);
/* Adds what a scan of other states of the same stage saw. */
void lg_scan_merge(LgScan *scan, const LgScan *other);
/* A single state as a block of its own. */
void lg_scan_state(LgScan *scan, const int position[]);
/* Writes what was seen into `states` and keeps the states that show it. */
void lg_scan_finish(const LgScan *scan, LgKeeper *keeper, LgStates *states);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgScan, lg_scan_free)

/* Whether it is live by its volts, not by its current; see states.h. */
gboolean lg_element_counts_by_volts(const LgElement *element);

/* --- states-walk.c --- */
typedef struct {
  guint64 n_possible, n_solved;
  int n_groups, n_cut;
} LgWalked;

/* Who looks at the states: for a second thread with a copy of the stage that has a work of its
 * own. `echo`, unless NULL, is shown the echoes of a block after it, with their positions and the
 * block's volts, wrong at loose ends. */
typedef struct {
  const LgStage *stage;
  LgNetVisit visit;
  void (*echo)(const LgNetBlock *block, const LgNetWork *work, const LgEchoes *echoes,
               gpointer user);
  gpointer user;
} LgLooker;

/* Walks all states of a stage, or its groups when there are more than `most`; `allowed`
 * [n_inputs] bit set of positions, NULL: all. `twin`, unless NULL, is shown half of them when all
 * of many are walked; which half does not hang on whether a thread can be had. */
LgWalked lg_walk(const LgLooker *looker, const LgWays *ways, const uint64_t allowed[], guint64 most,
                 const LgLooker *twin);

/* --- states-brief.c --- */
/* One load starting or stalled. */
void lg_states_brief(LgStates *states, LgKeeper *keeper);

/* --- states-needs.c --- */
typedef struct LgWatch LgWatch;
/* Watches the needs that no demand of a steady load is part of; the others wait for
 * lg_watch_finish. */
LgWatch *lg_watch_new(const LgStage *stage, const LgWays *ways);
void lg_watch_free(LgWatch *watch);
/* LgNetVisit. */
void lg_watch_visit(const LgNetBlock *block, const LgNetWork *work, gpointer watch);
/* Adds what a watch of other states of the same stage saw. */
void lg_watch_merge(LgWatch *watch, const LgWatch *other);
/* Walks the states of the other needs, and of those with conditions when the watched walk was
 * `in_groups`; writes states->needs. */
void lg_watch_finish(LgWatch *watch, gboolean in_groups, guint64 most, LgKeeper *keeper,
                     LgStates *states);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgWatch, lg_watch_free)
