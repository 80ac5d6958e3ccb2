/* Bundles: round wires packed into the smallest circle that the search finds. */
#pragma once
#include "drawing/ink.h"

G_BEGIN_DECLS

/* Circles within a circle around the origin, in the unit of the diameters given. */
typedef struct {
  int n;
  double *x, *y;   /* centres, [n], in the order given */
  double *radius;  /* [n] */
  double diameter; /* of the circle around all; 0 for none */
} LgPacking;

/* Packs circles of these diameters (positive, finite). No two overlap and none reaches out, up to
 * rounding; the diameter is an upper bound of the least possible one. Equal input gives equal
 * output. From several starts the circles are squeezed by a shrinking ring and pushed apart where
 * they overlap; each arrangement met is blown up until nothing overlaps, and the smallest is kept.
 * Time grows with the square of n. */
LgPacking *lg_packing_new(const double diameter[], int n);
void lg_packing_free(LgPacking *packing);

/* Draws the packing as a section around (x, y): diameters times `scale` are millimetres. Each wire
 * in its colour ("GN/BU"; NULL: not known) with its stripe as a band and a dark edge; `names` (or
 * NULL) are written into circles that hold them. */
void lg_packing_draw(LgDrawing *drawing, const LgPacking *packing, double x, double y, double scale,
                     const char *const colours[], const char *const names[]);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgPacking, lg_packing_free)
G_END_DECLS
