/* Inside of the study of sneak paths: ways pin by pin. */
#pragma once
#include "studies/sneak.h"
#include "studies/states-private.h"

/* A joint between two nodes that no edge of the ways stands for: a fault's bridge. */
typedef struct {
  int a, b;
  double amps; /* from a to b */
} LgJoint;

/* One solved state: volts of nodes, currents of edges (wires, then elements) from their first end.
 */
typedef struct {
  const LgWays *ways;
  const double *amps; /* [n_edges] */
  const LgJoint *joints;
  int n_joints;
} LgTrail;

enum { LG_JOINT = -2 }; /* edge of a step: a joint */
typedef struct {
  int edge;     /* wire, n_wires + element, LG_JOINT */
  int from, to; /* nodes in the direction of the current */
} LgTrailStep;

/* The way of an element's current from the source that feeds it (LgTrailStep), the element itself
 * among the steps, and back to that source. `at` receives the index of the element's own step. */
GArray *lg_trail_follow(const LgTrail *trail, int element, guint *at);
/* "G1.+ > F1.1 > F1.2 > ...": newly allocated. */
char *lg_trail_words(const LgTrail *trail, const GArray *steps);
