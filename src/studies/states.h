/* Every state of a job, condensed: the extremes of each wire, pin and element, and the states that
 * show them.
 *
 * Inputs that vary in the sweep: hands, calls, and the demand (run, off) of loads that switch
 * themselves. Start and stall last seconds, so they are solved one load at a time, in the states in
 * which that load draws most, in which its volts are lowest, and in which the sources give most.
 *
 * Groups. When there are more combinations than `most_states`, the network is thought cut at its
 * rails: the nodes that reach a source or the body through wires, fuses and links alone. Inputs
 * that still meet in one piece of it, or that one another's conditions name, are a group. A switch
 * that feeds a rail of its own (a key) is walked through as a hub: for each of its positions, what
 * it feeds counts as a rail, too. For each combination of the hubs every group is walked
 * exactly three times: with the others at rest, at their least and at their greatest draw from the
 * sources, as found in the first walk. What a group's own wires and loads do is exact but for the
 * sag that the other groups make, and that lies between the last two. A rail carries the sum of
 * groups at their greatest draw; where only a small part of the draw goes through it, such as the
 * coils' current through a key, the true greatest may lie above by that sag. A group too large by
 * itself is cut into several in the order of the inputs; that is the only place where combinations
 * that meet in one piece are left out, and `n_cut` counts those cuts.
 *
 * Live. A load, coil or thermistor is live while its demand is not off and a tenth of the nominal
 * volts lies across it; anything else while it carries 1 mA.
 *
 * Ties go to the state with the fewest inputs off their rest. */
#pragma once
#include "circuit/circuit.h"

G_BEGIN_DECLS

/* An extreme and where it was met; `state` indexes LgStates.positions; -1: never met, value NAN. */
typedef struct {
  double value;
  int state;
} LgExtreme;

typedef struct {
  LgExtreme most_A;  /* greatest |current| in a lasting state (nothing starting or stalled) */
  LgExtreme brief_A; /* greatest |current| with one load starting or stalled */
} LgWireStates;

typedef struct {
  LgExtreme most_A,
      least_A; /* |current|, lasting states; least over the states in which it is live (see live) */
  LgExtreme brief_A; /* greatest |current|, one load starting or stalled (this one, or another) */
  LgExtreme start_A; /* this load itself starting */
  LgExtreme most_V, least_V; /* |volts| across it while live, lasting states */
  LgExtreme brief_V; /* least |volts| across it while live and another load starts (for cut-outs and
                        coils) */
  LgExtreme most_W;  /* greatest power, lasting */
  /* Loads: volts lost in wires, fuses, contacts and joints from the plus of the source that feeds
   * it to it, and from it to that source's minus, in the lasting state with the greatest sum. Each
   * way is followed along the greatest current; volts lost in other loads, resistors and diodes
   * that lie in it on purpose are not counted. */
  LgExtreme drop_feed_V, drop_return_V;
  LgExtreme rest_A; /* |current| with every input at rest (key off): the standby draw */
} LgElementStates;

typedef struct {
  LgExtreme most_V, least_V; /* against the reference; floating states left out */
  gboolean ever_floating, ever_joined;
} LgPinStates;

typedef struct {
  int need;        /* index */
  LgExtreme worst; /* the measure (its magnitude; 0 when floating) furthest on the wrong side, or
                      nearest to it */
  gboolean holds;  /* in every state that its conditions allow */
  guint64 n_tried; /* states to which it applied; 0: never applied, which is a fault of the sheet */
} LgNeedStates;

typedef struct {
  int element, state;
} LgOddRelay; /* a coil that chatters or latches, and one state that shows it */

/* What a fuse or breaker carries beyond its lasting current while a load starts. */
typedef struct {
  int protection, load; /* elements */
  double amps;
  int state;
} LgStart;

/* A wire in one of the runs that it passes, and the lasting state in which it is likely to be
 * warmest there with its company: greatest sum of the heats I^2 R of all wires of the run, its own
 * counted more by what its own heat warms it more than a neighbour's does (steady bundle of all of
 * them, straight line). The exact balance is made at that state and at that of the wire's own
 * greatest current. */
typedef struct {
  int wire, run;
  LgExtreme heat_W_m;
} LgCompany;

typedef struct {
  const LgJob *job;
  const LgCircuit *circuit;
  guint64 n_possible, n_solved,
      n_brief;  /* combinations there are (G_MAXUINT64: more), lasting and brief states solved */
  int n_groups; /* 1: all combinations; more: enumerated in groups */
  int n_cut;    /* groups that had to be cut, see above */
  int n_inputs, n_kept;
  GArray *positions; /* guint8, n_inputs per kept state; state 0 is everything at rest */
  LgWireStates *wires;
  LgElementStates *elements;
  LgPinStates *pins;
  LgNeedStates *needs;
  GArray *chatter, *latching; /* LgOddRelay, one per coil */
  GArray *starts;             /* LgStart */
  LgExtreme
      supply_A; /* greatest sum of currents that the sources give, less what charges one of them */
  int *run_loaded; /* [n_runs] most wires of the run that carry 1 A or more at the same time; less
                      warms no wire noticeably (common practice, no source) */
  LgCompany *companies; /* by wire, then in the order of the runs that it passes */
  int *first_company;   /* [n_wires + 1] */
} LgStates;

typedef struct {
  guint64 most_states; /* 0: 2^20 */
  gboolean no_needs;   /* leaves the needs unsolved, where the states are not the last word */
} LgStatesOptions;

/* `options` may be NULL. The circuit must outlive the states. */
LgStates *lg_states_new(const LgJob *job, const LgCircuit *circuit, const LgStatesOptions *options);
void lg_states_free(LgStates *states);
/* Positions of a kept state. */
const guint8 *lg_states_position(const LgStates *states, int state);
/* "KEY=on S2=high S2.heat=on": the inputs that are not at rest; "everything at rest" when none.
 * Newly allocated. */
char *lg_state_words(const LgJob *job, const guint8 position[]);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgStates, lg_states_free)
G_END_DECLS
