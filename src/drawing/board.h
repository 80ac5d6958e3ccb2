/* The board: the new harness laid flat at full scale, to pin wires along. A tree of true lengths:
 * runs between places, stubs from a place to the parts there, wires from part to part. Rings are
 * broken and said to be. Long stretches are folded back, with their whole length. Section 6,
 * "Layout". */
#pragma once
#include "drawing/route.h"

G_BEGIN_DECLS

typedef enum { LG_BOARD_RUN, LG_BOARD_STUB, LG_BOARD_LOCAL } LgBoardKind;

/* What lies between two nodes. */
typedef struct {
  LgBoardKind kind;
  int run;          /* RUN: of the job, else -1 */
  int node[2];      /* the first is nearer to the root */
  GArray *wires;    /* int, owned */
  double length_mm; /* true length; NAN: a run without one, drawn dashed and said to be */
  double width_mm;  /* as drawn: the bundle's, at most 12 mm for a run and 6 for others */
  int n_legs;       /* 1: straight; 3, 5, ...: folded */
  LgSpot *path;     /* its middle line, as long as `length_mm`; owned */
  int n_path;
  LgBox label;     /* RUN: room of its words */
  gboolean apart;  /* begins away from its first node, which has no room; under its name */
  LgBox name_box;  /* apart: room of that name */
  gboolean broken; /* would close a ring: not drawn; said in `breaks` */
} LgBoardBranch;

typedef struct {
  int place, part; /* one of them; -1 */
  LgSpot at;
  int parent;   /* branch towards the root, -1 */
  LgBox block;  /* room of its lines of text */
  char **lines; /* the first is its name; owned */
  int n_lines;
  int tree; /* number of the tree it belongs to */
} LgBoardNode;

typedef struct {
  const LgRoute *route;
  LgBoardBranch *branches;
  int n_branches;
  LgBoardNode *nodes;
  int n_nodes;
  LgBox extent;      /* of all that is drawn, from the origin */
  GPtrArray *breaks; /* char*: what is not as the vehicle has it, and why */
} LgBoard;

/* Distance of a splice from its place along its stub, mm, so that splices at one place lie one
 * behind the other: 30 mm apart from the end of the stub inwards, never nearer than 20 mm (common
 * practice, no source). NAN when no wire of a run reaches it. */
double lg_splice_distance(const LgJob *job, int part);

/* Lays the harness out for sheets of this size. Deterministic: angles in steps of 15 degrees and
 * places of texts are tried in a fixed order, the free one that keeps the board smallest is taken.
 * What finds no
 * room begins apart and is said to. `route` must outlive the board. */
LgBoard *lg_board_new(const LgRoute *route, double width_mm, double height_mm);
void lg_board_free(LgBoard *board);

/* The whole board as one drawing, at full scale. */
LgDrawing *lg_board_draw(const LgBoard *board);
/* The same on sheets of that size (LgDrawing*, owned): first a map of the pages with what is broken
 * and folded, then the tiles that hold anything, each with its number, marks at the corners of its
 * window, `LG_BOARD_LAP_MM` of overlap, and a scale bar. */
#define LG_BOARD_LAP_MM 15.0
GPtrArray *lg_board_tiles(const LgBoard *board, double width_mm, double height_mm);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgBoard, lg_board_free)
G_END_DECLS
