/* Invented vehicle harnesses of any size as networks, for tests and benchmarks. The same figures
 * give the same network on every machine. */
#pragma once
#include "circuit/net.h"

typedef struct {
  guint32 seed;
  int n_circuits; /* about 11 nodes each */
  gboolean
      curves; /* lamps, motors, diodes, LEDs and an alternator; else resistors in their places */
  gboolean power;     /* with `curves`: some loads of constant power, too */
  gboolean no_motors; /* resistors in the places of motors */
  gboolean relays;    /* with relays that the circuits pull in */
  gboolean holding;   /* with `relays`: some of them hold themselves, so that two rests stand */
  gboolean several;   /* inputs of three and four positions, too; else of two */
} HarnessSpec;

/* Returns a closed network. Input 0 is the key (rest: off; two positions, or four with `several`);
 * most circuits have an input of their own. Free with lg_net_free. */
LgNet *harness_net_new(const HarnessSpec *spec);
