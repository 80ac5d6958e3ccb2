/* The bar by which a printer is checked, for everything that is drawn at full scale. */
#pragma once
#include "drawing/ink.h"

G_BEGIN_DECLS

/* A bar of 100 mm or 4 inches with its marks, from (x, y) to the right, 6 mm high with its words.
 */
#define LG_SCALE_BAR_MM 110.0
void lg_scale_bar_draw(LgDrawing *drawing, double x, double y, gboolean inches);

G_END_DECLS
