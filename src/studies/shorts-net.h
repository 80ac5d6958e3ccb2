/* Inside of the shorts: a network in which any node can be tied to the body. */
#pragma once
#include "studies/sizing.h"

typedef struct LgShortNet LgShortNet;
/* Conductors as chosen; `warm`: wires at the temperature of their lasting load. NULL when there is
 * no source. */
LgShortNet *lg_short_net_new(const LgSizing *sizing, LgDay day, gboolean warm);
void lg_short_net_free(LgShortNet *net);
/* Solves a state with the pin shorted to the body. */
void lg_short_net_solve(LgShortNet *net, const int position[], int pin);
/* Of the state solved last: what flows into the short, and through a wire (from its first pin) or a
 * fuse. */
double lg_short_net_fault_A(const LgShortNet *net);
double lg_short_net_wire_A(const LgShortNet *net, int wire);
double lg_short_net_element_A(const LgShortNet *net, int element);
