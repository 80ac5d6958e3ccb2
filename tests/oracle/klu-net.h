/* KLU, a general sparse LU made for circuits, as an independent solver of linear networks. */
#pragma once
#include "circuit/net.h"

typedef struct KluNet KluNet;

/* For a network of resistors and sources. Each open branch keeps `open_siemens` (0 is allowed). */
KluNet *klu_net_new(const LgNet *net, double open_siemens);
void klu_net_free(KluNet *klu);

/* Opens or closes a branch that has a gate. */
void klu_net_set_closed(KluNet *klu, int branch, gboolean closed);

/* Factors anew with the order found before and solves; volts[n_nodes]. FALSE when singular. */
gboolean klu_net_solve(KluNet *klu, double volts[]);
