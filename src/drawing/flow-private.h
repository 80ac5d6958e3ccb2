/* Inside the current-flow diagram. The job becomes a graph: pins joined by edges. The graph is cut
 * at its rails and at the body and falls into blocks; a block is chains between bars; chains share
 * columns, a column is a path; blocks stand side by side in strips; strips lie on sheets. */
#pragma once
#include "drawing/flow.h"
#include "drawing/symbols.h"

G_BEGIN_DECLS

typedef struct {
  gboolean is_wire;
  int index;  /* in the job's wires or elements */
  int end[2]; /* pins */
} LgFlowEdge;

/* Why a point is cut out of the blocks. */
typedef enum {
  LG_CUT_NO,
  LG_CUT_GROUND, /* tied to the body, or the return of the source: drawn at the foot */
  LG_CUT_RAIL,   /* its branches hang from a rail, or go on at tags */
} LgCut;

/* What stands on a path. */
typedef enum {
  LG_ITEM_WIRE,
  LG_ITEM_ELEMENT,
  LG_ITEM_MARK,    /* a point with a name of its own: cavity, splice, stud */
  LG_ITEM_CAPTION, /* name of the assembly that begins here */
  LG_ITEM_TAG,     /* where the line goes on elsewhere */
  LG_ITEM_STOP,    /* a restraint pin: the line ends */
  LG_ITEM_END,     /* a terminal with nothing behind it */
  LG_ITEM_FOOT,    /* a ground point on the body's line */
} LgItemKind;

#define LG_MOST_LINES 8

/* Texts belong to the graph. */
typedef struct {
  LgItemKind kind;
  int index;                        /* wire, element, pin; CAPTION: part */
  gboolean flipped;                 /* element: its second pin is on top */
  const char *name;                 /* designation, left of an element; first line of others */
  const char *above, *below;        /* element: its terminals' numbers */
  const char *lines[LG_MOST_LINES]; /* right of the path's line */
  int n_lines;
  int n_free;         /* lines kept free for what other states write */
  int n_references;   /* lines kept free below them for the paths of coil and contacts */
  LgSymbol symbol;    /* element */
  double height;      /* least, mm */
  double beside;      /* element: from the line to what is written right of it */
  double left, right; /* room beside the path's line, mm */
  gboolean inside;    /* mark of an assembly's cavity that no wire from outside meets */
  int storey, path;
  double y, length; /* within the strip's blocks, as laid out */
} LgItem;

typedef struct {
  const LgJob *job;
  LgFlowOptions options;
  int n_edges;
  LgFlowEdge *edges;
  int *first, *incident; /* [n_pins + 1] offsets into incident: edges at a pin */
  double *down;          /* [n_pins] 0 at the sources, 1 at the body: how far down a point lies */
  LgCut *cut;            /* [n_pins] */
  gboolean *stop;        /* [n_pins] a restraint pin */
  gboolean *spare; /* [n_pins] a terminal whose only device was left out: nothing hangs on it */
  int *group;      /* [n_parts] assembly in whose frame the part is drawn, -1 */
  int *hanging;    /* [n_pins] how many chains hang from a cut point; 0 until all cuts are known */
  int *feeding;    /* [n_pins] and how many end at it */
  LgItem *edge_items; /* [n_edges] texts and room of each edge, first pin on top */
  GStringChunk *texts;
  int n_digits; /* of the largest path number to be expected */
} LgFlowGraph;

LgFlowGraph *lg_flow_graph_new(const LgJob *job, const LgFlowOptions *options);
void lg_flow_graph_free(LgFlowGraph *graph);
static inline int lg_flow_other(const LgFlowEdge *edge, int pin)
{
  return edge->end[0] == pin ? edge->end[1] : edge->end[0];
}
static inline int lg_flow_degree(const LgFlowGraph *graph, int pin)
{
  return graph->first[pin + 1] - graph->first[pin];
}
/* Whether `a` lies above `b`. */
static inline gboolean lg_flow_above(const LgFlowGraph *graph, int a, int b)
{
  return graph->down[a] < graph->down[b] || (graph->down[a] == graph->down[b] && a < b);
}
/* Whether the point is drawn as a rail. */
static inline gboolean lg_flow_is_rail(const LgFlowGraph *graph, int pin)
{
  return graph->cut[pin] == LG_CUT_RAIL && graph->hanging[pin] >= 2;
}
/* The assembly whose frame an edge or pin lies in, -1. */
int lg_flow_edge_group(const LgFlowGraph *graph, int edge);
/* Whether the pin is a cavity or a joint that is drawn with a mark of its own. */
gboolean lg_flow_has_mark(const LgFlowGraph *graph, int pin);

/* Items: texts and room. */
void lg_flow_make_edge_items(LgFlowGraph *graph);
LgItem lg_flow_edge_item(const LgFlowGraph *graph, int edge, int upper_pin);
LgItem lg_flow_mark_item(LgFlowGraph *graph, int pin);
LgItem lg_flow_end_item(LgFlowGraph *graph, LgItemKind kind, int pin);
LgItem lg_flow_caption_item(LgFlowGraph *graph, int part);
/* Width of a path number or of two with the words between. */
double lg_flow_reference_width(const LgFlowGraph *graph);

/* A stretch between two points that branch, end or are cut. */
typedef struct {
  int upper, lower;              /* pins */
  gboolean upper_bar, lower_bar; /* ends on a bar of its block, else at the edge of the strip */
  int first_edge, n_edges;       /* in the block's edges, from top to bottom */
  int from, to;                  /* storeys from .. to - 1 */
  int line;                      /* straight run of chains that share a column */
  int group;                     /* assembly whose frame it enters first, -1 */
  int first_item, n_items;       /* in the block's items */
  int partner;     /* chain whose contact is the right half of this one's change-over, -1 */
  gboolean joined; /* its first contact is the right half of another's */
} LgChain;

typedef struct {
  int pin;
  int level;     /* 1 and up: below that many storeys */
  int track;     /* within the room of its level */
  int low, high; /* columns */
} LgBar;

typedef struct {
  GArray *edges;  /* int, edges of the graph in the order of the chains */
  GArray *chains; /* LgChain */
  GArray *bars;   /* LgBar */
  GArray *items;  /* LgItem */
  int n_columns;
  int *column;          /* [n_lines] of each line */
  double *left, *right; /* [n_columns] room beside each column's line */
  int n_storeys;
  double *storey;  /* [n_storeys] least heights */
  double *landing; /* [n_storeys + 1] heights of the bars' room below each storey; ends are 0 */
  double width, height; /* least */
  int first_path;       /* number of its first column */
  int strip;
  double x; /* of its left edge in the strip */
} LgBlock;

#define LG_TRACK_MM 2.6
#define LG_LANDING_MM 1.6 /* above the first and below the last track */

/* Lays out the edges (indices) of one piece between cuts. */
LgBlock *lg_flow_block_new(LgFlowGraph *graph, const int edges[], int n_edges);
void lg_flow_block_free(LgBlock *block);
static inline LgChain *lg_flow_chain(const LgBlock *block, int c)
{
  return &g_array_index(block->chains, LgChain, c);
}
static inline LgBar *lg_flow_bar(const LgBlock *block, int pin)
{
  for (guint b = 0; b < block->bars->len; b++)
    if (g_array_index(block->bars, LgBar, b).pin == pin)
      return &g_array_index(block->bars, LgBar, b);
  return NULL;
}
static inline LgItem *lg_flow_item(const LgBlock *block, int i)
{
  return &g_array_index(block->items, LgItem, i);
}
static inline int lg_flow_column(const LgBlock *block, const LgChain *chain)
{
  return block->column[chain->line];
}
/* Whether the contact and exactly one other of its part make a change-over. */
gboolean lg_flow_may_change_over(const LgJob *job, int element);
void lg_flow_find_changeovers(const LgFlowGraph *graph, LgBlock *block);
/* Draws one between the common line at `from` and the lower points of both paths. */
void lg_flow_ink_changeover(LgDrawing *drawing, const LgItem *left, const LgItem *right, double x,
                            double next_x, double from, double to, double next_to);
/* A point at which a block that is too large is best cut. */
int lg_flow_block_split(const LgFlowGraph *graph, const LgBlock *block, gboolean too_tall);
/* Columns of the lines of a block, in the order that keeps bars short and crossings few. */
void lg_flow_order_lines(const LgFlowGraph *graph, LgBlock *block, int n_lines);
/* Gives every item its storey and the storeys their least heights. */
void lg_flow_stack(LgBlock *block);
/* Gives items their places when the block stands `height` tall with its top at `top`. */
void lg_flow_settle(LgBlock *block, double top, double height);
/* Where a bar's line lies after settling, and the lower edge of a storey. */
double lg_flow_bar_y(const LgBlock *block, const LgBar *bar, double top, double height);

/* Where a point is met: column's path number. */
typedef struct {
  int path, block, chain;
  gboolean hangs; /* the chain begins at the point; else it ends there */
} LgVisit;

/* The whole diagram before ink. */
typedef struct {
  LgFlowGraph *graph;
  GPtrArray *blocks; /* LgBlock*, in order */
  int n_strips, n_paths;
  int *strip_first;     /* [n_strips + 1] blocks */
  double *strip_height; /* [n_strips] of its blocks */
  int *strip_sheet;     /* [n_strips] */
  int n_sheets;
  int *rails, n_rails; /* pins, from top to bottom */
  GArray **visits;     /* [n_pins] LgVisit, NULL for points that are not cut */
  int *element_path;   /* [n_elements] path on which it is drawn, 0: not drawn */
  char **notes;        /* lines at the foot of a sheet */
  int stop_note;       /* line before which a stop sign stands, G_MAXINT: none */
  double gutter, tail; /* room for rails' names on the left, for their going on at the right */
} LgFlow;

/* Puts the blocks in order: sources first, what feeds before what is fed, links short. */
void lg_flow_order_blocks(LgFlow *flow);
LgFlow *lg_flow_lay_out(const LgJob *job, const LgFlowOptions *options);
void lg_flow_free(LgFlow *flow);
GPtrArray *lg_flow_ink(const LgFlow *flow);

#define LG_MARGIN_MM 9.0
#define LG_HEAD_MM 11.0 /* title above the strips */
#define LG_RAIL_MM 4.4
#define LG_FOOT_MM 13.0 /* body's line, ground points, path numbers */
#define LG_MOST_RAILS 12
#define LG_STRIP_GAP_MM 4.0

/* Rails of a strip, from top to bottom, into `rails`; how many. */
int lg_flow_strip_rails(const LgFlow *flow, int strip, int rails[LG_MOST_RAILS]);
void lg_flow_ink_strip(const LgFlow *flow, LgDrawing *drawing, int strip, double left, double top,
                       double width);
void lg_flow_find_notes(LgFlow *flow);
double lg_flow_notes_height(const LgFlow *flow);
void lg_flow_ink_frames(const LgFlow *flow, LgDrawing *drawing, const LgBlock *block, double left);
void lg_flow_ink_item(const LgFlow *flow, LgDrawing *drawing, const LgItem *item, double x);
const char *lg_flow_rail_name(const LgFlow *flow, int pin, char buffer[64]);

G_END_DECLS
