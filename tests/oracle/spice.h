/* ngspice in this process as an independent solver of the same networks. */
#pragma once
#include "circuit/net.h"

/* Operating point with the branches that are closed. Fills volts[n_nodes], NAN where no closed
 * branch leads on to the reference. Returns FALSE when ngspice finds none. */
gboolean spice_operating_point(const LgNet *net, const gboolean closed[], double volts[]);

typedef struct {
  const int *vary; /* inputs of two positions; the others stand as in `base` */
  int n_vary;
  const int *base;
  gboolean
      with_relays; /* contacts follow their coils with hysteresis; else all relays are released */
  double reltol;
} SpiceSweep;

/* Loads the network once and sweeps the states 0 .. n_states - 1, bit k of a state being the
 * position of vary[k], as one .dc analysis of a source that encodes the state. Returns the seconds
 * that the analysis takes, NAN when it fails; `last` (may be NULL) gets the volts of one node in
 * every state. */
double spice_sweep(const LgNet *net, const SpiceSweep *sweep, int n_states, int node,
                   double last[]);

/* Resistors of a deck that one operating point after another changes: a fault campaign as ngspice
 * would do it. The network is linear. */
typedef struct {
  int a, b;
} SpiceBridge;
typedef struct {
  int n;
  const int *resistor; /* [n] branch, or the number of branches + the number of a bridge */
  const double *ohm;   /* [n] 1e12: open */
} SpiceCase;
/* Loads the network with all gates closed and the bridges open, then for each case sets its
 * resistors, which stay so, and finds the operating point. volts[case * n_nodes + node], NULL: not
 * kept. Returns the seconds that altering and solving take, NAN when a point is not found. */
double spice_cases(const LgNet *net, const SpiceBridge bridges[], int n_bridges,
                   const SpiceCase cases[], int n_cases, double volts[]);

/* One transient analysis of a deck of lines (without title and .end; the reference is n0), from
 * given start values: `step_s` between kept values, `most_s` the longest step. Fills `time_s` and,
 * for each of the n names of vectors, values[k] (GArrays of double). Returns the seconds that the
 * analysis takes, NAN when it does not reach its end. */
double spice_transient(char *const lines[], const char *options, double step_s, double stop_s,
                       double most_s, const char *const names[], int n, GArray *time_s,
                       GArray *const values[]);
