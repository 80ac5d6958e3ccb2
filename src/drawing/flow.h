/* The current-flow diagram: every circuit of a job as upright paths between the points that feed
 * and the vehicle's body, laid out by the program (IEC 61082 and the divided-circuit custom:
 * trade practice, partly memory). Section 6, "Layout", of the design.
 *
 * Upright lines are wires and devices; a level line is one point (a post, stud, splice or terminal)
 * drawn long. Points with many branches are rails at the top. Where a line would have to cross the
 * sheet it ends in a small box that bears the number of the path where it goes on. */
#pragma once
#include "circuit/circuit.h"
#include "drawing/ink.h"

G_BEGIN_DECLS

typedef struct {
  double width_mm, height_mm;       /* of the paper, as it lies; 0: A4 landscape */
  const LgConductor *const *chosen; /* [n_wires] for auto wires; NULL: "auto" is printed */
  const double *ratings_A;          /* [n_elements] for auto fuses; NULL or NAN: "auto" */
  const LgPoint *point;             /* the state to show; NULL: at rest, no power */
  const double *wire_K; /* [n_wires] with a state: temperatures, written at wires that carry
                           current; NULL: none */
} LgFlowOptions;

/* The sheets, LgDrawing*, owned by the array; at least one. Pins of restraint circuits are never
 * drawn as connected, and nothing behind them is drawn at all; a note names them. Texts, symbols
 * and wires keep clear of one another. Near-linear time in the job; equal jobs give equal sheets.
 * A device too wide or too tall for the paper is taken apart further; the least paper is A5. */
GPtrArray *lg_flow_new(const LgJob *job, const LgFlowOptions *options);

G_END_DECLS
