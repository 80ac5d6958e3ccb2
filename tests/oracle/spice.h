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
