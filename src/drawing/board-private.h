/* Inside the board: the graph, its layout, and the windows of its tiles. */
#pragma once
#include "drawing/board.h"

G_BEGIN_DECLS

/* Margins of a tile's window, mm. */
#define LG_TILE_MARGIN 12.0
#define LG_TILE_FOOT 22.0

/* Nodes and branches of a job, without any positions; rings broken. */
LgBoard *lg_board_graph(const LgRoute *route);
/* How a board is laid. */
typedef struct {
  double leg_mm;        /* longest stretch of a run that lies straight */
  double straight;      /* what a radian of corner in a run costs, in 1000 mm2 of board */
  gboolean together;    /* each stub is laid with what hangs on it; else all stubs first */
  gboolean least_first; /* of what hangs at a node the shortest first, else the longest */
} LgBoardManner;

/* Finds a place for everything. */
void lg_board_place(LgBoard *board, LgBoardManner manner);
/* Tiles that cover the extent, across times down. */
int lg_board_n_tiles(LgBox extent, double width_mm, double height_mm);

/* What shapes of `from` show in one of its windows, moved so that the window's corner comes to
 * (x, y) of `to`. Lines and areas are cut at its edges; a text is drawn where it lies wholly
 * inside, or, when no window holds it whole, in the first that has its middle, moved inside. */
void lg_draw_window(LgDrawing *to, const LgDrawing *from, const LgBox windows[], int n, int own,
                    double x, double y);

G_END_DECLS
