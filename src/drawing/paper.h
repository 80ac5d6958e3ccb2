/* Sheets of paper, and small drawings set onto them. */
#pragma once
#include "drawing/ink.h"

G_BEGIN_DECLS

/* The short and the long side of A4 (ISO 216) or Letter (ANSI Y14.1 size A), mm. */
double lg_paper_short_mm(gboolean letter);
double lg_paper_long_mm(gboolean letter);

/* Sets a copy of `drawing` onto `onto`, its upper left corner at (x, y). */
void lg_drawing_put(LgDrawing *onto, const LgDrawing *drawing, double x, double y);

/* The drawings one below the other on upright sheets (LgDrawing*, owned), in their order; none is
 * cut. One that is larger than a sheet with its margin gets a sheet of its own, as large as it
 * needs. */
GPtrArray *lg_drawings_stack(const GPtrArray *drawings, gboolean letter, const char *title);

G_END_DECLS
