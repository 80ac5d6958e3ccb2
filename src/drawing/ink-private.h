/* Inside the ink. */
#pragma once
#include "drawing/ink.h"
#include <cairo.h>

G_BEGIN_DECLS

/* Families in the order in which a letter is looked for: figures of one width, letters that cannot
 * be taken for figures; the others bring letters of other scripts. */
#define LG_INK_FAMILIES "B612, DejaVu Sans, Noto Sans"

/* Where the text begins along its own direction, from its anchor. */
double lg_shape_text_start(const LgShape *shape);
/* Sets a line of letters with its base line's start at the current origin. */
void lg_text_ink(cairo_t *cairo, const char *text, double size_mm, gboolean bold);

/* The layers of a wire: edge, insulation, stripe. */
typedef struct {
  guint32 edge, base, stripe; /* LG_INK_NONE: not drawn */
  double edge_mm, base_mm, stripe_mm;
  double dash_mm, gap_mm; /* of the stripe */
} LgWireInk;
LgWireInk lg_wire_ink(const LgShape *shape);

G_END_DECLS
