/* Inside of the electrical network; see net.h for the idea.
 *
 * Words. A *column* is a node in elimination order. An *entry* is a place where a column may have a
 * conductance: to a later column, or (the last entry of every column) to the reference. A column is
 * *variable* when a gated or nonlinear branch lies in its subtree of the elimination tree; all
 * others are the same in every state, so their numbers exist once per work, while variable columns
 * have theirs in a *slate*, once per lane. Columns are numbered deepest level of the tree first, so
 * that a run of columns of one shape can be substituted without one waiting for the other.
 *
 * Sources. A branch i = g (v - e) is a conductance with a current g e that goes round through the
 * branch. That current stays on the entry as a pair (in at one end, out at the other) and is never
 * added up per node: the sum of a node's source currents can cancel to nothing and leave only
 * rounding, which a high resistance to the reference turns into volts. On the entries its error
 * stays below that of the emf. */
#pragma once
#include "circuit/net.h"

#include <math.h>
#include <string.h>

#define LG_IDLE_SIEMENS 1e-9 /* leak of a blocked diode or an idle source */
#define LG_CHANGES 256 /* parameter changes remembered, so that a work redoes only their paths */

/* Eight doubles, one per state. Both gcc and clang split it where the machine's vectors are
 * shorter. */
typedef double LgVec __attribute__((vector_size(LG_LANES * sizeof(double))));
typedef int64_t LgVecI __attribute__((vector_size(LG_LANES * sizeof(int64_t))));

/* The loader picks the version that the processor can run; elsewhere there is one version. */
#if defined(__x86_64__) && defined(__gnu_linux__)
#define LG_CLONES __attribute__((target_clones("avx512f", "fma", "default")))
#else
#define LG_CLONES
#endif

/* Which entries of a column may carry source currents. */
typedef enum {
  LG_FEED_NONE,
  LG_FEED_REFERENCE, /* only the entry to the reference */
  LG_FEED_ANY,
} LgFeed;

/* A branch that is assembled into a column. */
typedef struct {
  int branch,
      variable; /* its numbers among all and among the variable branches, -1: not variable */
  int offset;   /* entry within the column */
  double sign;  /* +1: the column's node is the branch's a; -1: it is b */
} LgPart;

/* When an earlier column is eliminated, two of its entries a and b, of which a leads to the later
 * column, add w[a] l[b] to the conductance of an entry there, and l[a] j[b] - l[b] j[a] to its
 * source current. */
typedef struct {
  int a, b;
} LgProduct;

/* A share of the variable products of a column that has many (a bus, a ground stud), with sums of
 * its own, so that a change in one does not make all of them be added up again. */
typedef struct {
  int sum;  /* first of its sums, one for each entry of the column */
  int slot; /* where they are kept */
} LgBasket;

typedef struct {
  int node;
  int parent;   /* column or -1 */
  int first, n; /* entries, the reference included */
  int slot;     /* first entry in a slate; -1: not variable */
  int own;      /* number among the variable columns; -1: not variable */
  int sum;      /* first of its sums of variable products, one for each entry; unless in baskets */
  int part, part_mid, part_end; /* parts: fixed branches, then variable ones */
  LgFeed feed;
  int basket, basket_end; /* none: the variable products are few */
  gboolean fills_baskets; /* a product from here lies in a basket */
  gboolean loose;         /* floats in some states */
  gboolean untied;        /* loose or floating in every state: the pivot may be zero */
} LgColumn;

/* What a branch does whatever its gate says. */
typedef enum { LG_FORCED_NOT, LG_FORCED_OPEN, LG_FORCED_CLOSED } LgForce;

/* A nonlinear branch. */
typedef struct {
  int branch, variable; /* its numbers among all and among the variable branches */
  int a, b;
  LgBranchKind kind;
} LgCurve;

/* Columns [first, end) of one shape. */
typedef struct {
  int first, end;
  int n; /* entries of each, the reference included */
  gboolean variable;
  gboolean fed;
} LgRun;

/* Columns on the way from some nodes to the root, in the order of substitution (last column first).
 * Its runs count in `column`. */
typedef struct {
  int n, n_runs;
  int *column;
  LgRun *run;
} LgProbe;

typedef struct {
  int n;
  int *item;
} LgList;

struct LgNet {
  int n_nodes;
  gboolean closed;
  GArray *branches, *gates, *inputs, *coils;
  gboolean breakable; /* set before closing: any branch may be forced open, any node may float */
  guint8 *forced;     /* [n_branches] LgForce */

  guint64 version;         /* counts parameter changes */
  int changed[LG_CHANGES]; /* branch of change number i at i % LG_CHANGES */

  /* Filled in by lg_net_close. */
  int n_columns, n_entries, n_slots, n_own;
  LgColumn *column;
  int *node;      /* [n_columns], as in column */
  int *column_of; /* [n_nodes], -1 for the reference */
  int *row;       /* [n_entries] column, n_columns for the reference */
  int *row_node;  /* [n_entries] */
  LgProduct
      *product; /* entries, grouped by the entry that they add to, those of fixed columns first */
  int *product_start;     /* [n_entries + 1] */
  int *product_mid;       /* [n_entries] first one of a variable column */
  LgProduct *sum_product; /* slots, variable columns only, grouped by sum */
  int *sum_start;         /* [sums + 1] */
  int *sum_fed; /* [sums] end of the products of columns with source currents, which come first */
  int n_baskets, n_basket_slots;
  LgBasket *basket;
  int *basket_of; /* [n_entries] where the products with this entry as a lie, -1: in none */
  LgPart *part;
  int *branch_column;
  int n_runs;
  LgRun *run;
  LgProbe floaters;      /* columns that lose the reference in some states */
  LgList lost;           /* nodes that no state ties to the reference */
  int n_variable;        /* variable branches */
  int *variable;         /* [n_branches] number among them or -1 */
  int n_curves;          /* nonlinear branches */
  LgCurve *curves;       /* [n_curves] */
  int *curve;            /* [n_branches] number among the nonlinear branches or -1 */
  LgList *gate_branches; /* [n_gates] */
  LgList *input_gates;   /* [n_inputs] */
  LgList *coil_gates;    /* [n_coils] */
  LgProbe coil_probe;    /* coil ends */
  LgProbe curve_probe;   /* ends of nonlinear branches, coil ends */
  LgProbe coil_floaters, curve_floaters; /* those of `floaters` on the probes */
};

/* Nonlinear branches at a solution, [n_curves][lane]: their volts, the current of the line that the
 * solution rests on, and current and slope of the curve. */
typedef struct {
  double *u, *c, *i, *slope;
} LgPoints;

/* Numbers of one state (lanes 1) or of eight (lanes LG_LANES). Arrays are [index][lane]. A mask is
 * an int64_t a lane, 0 or -1, so that it works on the bits of a double. */
typedef struct {
  int lanes;
  guint64 version;
  double *w, *l,
      *j; /* [n_slots] conductance; its share of the pivot; source current into the column */
  double *basket_w, *basket_j; /* [n_basket_slots] sums of conductances and source currents */
  guint8 *basket_stale;        /* [n_baskets] */
  double *y;                   /* [n_own] source volts of the pivot */
  double *v;                   /* [n_nodes] */
  int64_t *zero;     /* [n_own] mask: the pivot is zero, no way is left to the reference */
  guint8 *some_zero; /* [n_own] a lane of a loose column has a zero pivot */
  int n_zero;        /* columns of which this is so; only then are floating nodes looked for */
  gboolean whole;    /* `v` holds the volts of all nodes as things stand */
  gboolean adrift;   /* `floating` holds nodes of an earlier state */
  int64_t *floating; /* [n_nodes] mask */
  double *g, *k;     /* [n_variable] branch as it stands: i = g v + k */
  int64_t *allowed;  /* [n_gates] mask: the inputs let it close */
  int64_t *closed;   /* [n_gates] mask */
  int64_t *pulled;   /* [n_coils] mask */
  int *position;     /* [n_inputs] */
  guint64 *dirty;    /* bit set of variable columns to factor again, ancestors included */
  int dirty_low;     /* first word of `dirty` that may be non-zero */
  double *at, *i_at,
      *slope_at; /* [n_curves] where the curve was last replaced by a line, and the line */
  double *was_at, *was_i, *was_slope; /* [n_curves] the same before its load was last switched */
  LgPoints now, next;                 /* of Newton's last step and the one that is tried */
  int64_t *stale;                     /* [n_curves] mask: the line misses the curve */
  int64_t *wanted, *saved;            /* [n_coils] scratch of the relays */
} LgSlate;

/* Slates that keep to one part of the search for the relays' rest, so that from state to state
 * little changes in each. They may all be the same one, which then does the parts in turn and ends
 * with the rest from all released. */
typedef struct {
  LgSlate *rest;         /* from all released */
  LgSlate *from_pulled;  /* from all pulled, where that differs */
  LgSlate *all_released; /* first pass of either start */
  LgSlate *all_pulled;
} LgTeam;

typedef struct LgExact LgExact;
typedef struct LgWalk LgWalk;

struct LgNetWork {
  const LgNet *net;
  guint64 version;
  /* Fixed columns: complete; variable columns: what fixed branches and fixed columns add. */
  double *w, *l, *j; /* [n_entries] */
  double *y;         /* [n_columns] */
  guint64 *dirty;    /* bit set of columns */
  guint8 *zero;      /* [n_columns] a fixed column that may float has a zero pivot */
  int n_zero;        /* columns of which this is so */
  double *sum;       /* [n_nodes] scratch */
  /* [n_coils][lane] masks: all coils pulled; none; what they want after the first pass of either
   * start. */
  int64_t *all, *none, *high, *low;
  LgSlate one, wide[4];
  LgTeam alone, team; /* of `one`; of `wide` */
  LgExact *exact;
  LgWalk *walk;
};

static inline const LgNetBranch *lg_branch_at(const LgNet *net, int b)
{
  return &g_array_index(net->branches, LgNetBranch, b);
}

static inline gboolean lg_branch_is_curve(const LgNetBranch *branch)
{
  return branch->kind > LG_BRANCH_SOURCE;
}

/* net-early.c: fills `order` with the nodes that are best eliminated first and next[n_nodes] with
 * new lists of the neighbours (int) that the others then have. Returns how many there are. */
int lg_net_early(const LgNet *net, int order[], GArray *next[]);

/* net.c: forces a branch of a breakable network; exchanges the ends of a branch. Works notice it as
 * they do changes of parameters. */
void lg_net_force(LgNet *net, int branch, LgForce force);
void lg_net_reverse(LgNet *net, int branch);

/* Zeroed array of n items that starts on a vector's boundary; free with free(). */
gpointer lg_net_alloc(gsize n, gsize size);

/* net-factor.c: brings the numbers up to date with the parameters; marks, factors, substitutes. */
void lg_work_refresh(LgNetWork *work, LgSlate *slate);
void lg_slate_mark(const LgNet *net, LgSlate *slate, int branch);
void lg_slate_factor(const LgNetWork *work, LgSlate *slate);
/* Two slates of eight lanes in less time than one after the other; does nothing when they are the
 * same. */
void lg_slate_factor_both(const LgNetWork *work, LgSlate *slate, LgSlate *other);
/* Volts of all nodes, NAN where floating. */
void lg_slate_substitute(const LgNetWork *work, LgSlate *slate);
/* Volts and floating masks of the probe's nodes; a floating island counts from one of its own
 * nodes. */
void lg_slate_probe(const LgNetWork *work, LgSlate *slate, const LgProbe *probe,
                    const LgProbe *floaters);

/* net-gate.c: positions and coils to closed gates and branch values. */
void lg_slate_load_branch(const LgNet *net, LgSlate *slate, int branch);
void lg_slate_load_gate(const LgNet *net, LgSlate *slate, int gate);
void lg_slate_input_changed(const LgNet *net, LgSlate *slate, int input);
/* Takes over the positions of another slate of as many lanes. */
void lg_slate_follow(const LgNet *net, LgSlate *slate, const LgSlate *leader);
void lg_slate_coil_changed(const LgNet *net, LgSlate *slate, int coil);
gboolean lg_gate_is_closed(const LgNet *net, int gate, const int position[],
                           const uint64_t *pulled);
static inline int64_t lg_slate_branch_closed(const LgNet *net, const LgSlate *slate, int branch,
                                             int lane)
{
  const int gate = lg_branch_at(net, branch)->gate;
  if (net->forced[branch] != LG_FORCED_NOT)
    return net->forced[branch] == LG_FORCED_CLOSED ? -1 : 0;
  return gate < 0 ? -1 : slate->closed[gate * slate->lanes + lane];
}

/* A bit for each lane whose mask is set. */
static inline guint lg_lane_bits(const LgVecI *mask)
{
  guint bits = 0;
  for (int l = 0; l < LG_LANES; l++)
    bits |= (guint)((*mask)[l] & 1) << l;
  return bits;
}

/* net-solve.c: makes room for eight lanes, which one state at a time does without. */
void lg_net_work_widen(LgNetWork *work);
/* Puts the lines of the nonlinear branches where they were at first. */
void lg_slate_restart_lines(const LgNet *net, LgSlate *slate);

/* net-curve.c: current of a branch of any kind at v volts, and the slope that its line takes there.
 */
double lg_curve(const LgNetBranch *branch, double v, double *slope);
/* The same for a nonlinear branch in n lanes, 1 or LG_LANES (then aligned as a vector). */
void lg_curve_lanes(const LgNetBranch *branch, int n, const double v[], double i[], double slope[]);
/* Where a diode whose ends are at v volts carries i amperes, in n lanes; nothing flows far down its
 * tail. */
void lg_curve_tail(const LgNetBranch *branch, int n, const double v[], const double i[],
                   double at[]);
/* Volts at which a nonlinear branch is first replaced by a line. */
double lg_curve_start(const LgNet *net, const LgNetBranch *branch);

/* net-newton.c: solves for the gates as they stand; afterwards volts are right at the nodes of the
 * curve probe, and `wanted` is what the coils want. */
typedef enum {
  LG_AIM_VOLTS, /* to the last digit */
  LG_AIM_WANTS, /* until it is sure what the coils want */
  LG_AIM_MOVES, /* until it is sure that one wants to move; to the last digit when none does */
} LgAim;
typedef struct {
  guint stalled, moving; /* a bit for each lane */
  int passes;
  gboolean unfinished; /* stopped at its aim, before the last digit */
} LgSolved;
LgSolved lg_slate_newton(LgNetWork *work, LgSlate *slate, LgAim aim);

/* net-relay.c: coils to their rest. */
/* Lanes in which a coil wants to move and, unless `reach` is NULL, those in which volts that are
 * wrong by it could change what one wants. Fills `wanted`. */
typedef struct {
  guint moving, unsure;
} LgLook;
LgLook lg_slate_look(const LgNet *net, LgSlate *slate, const LgVec *reach);
typedef struct {
  guint chatter, stalled, latching; /* a bit for each lane */
  int coil[LG_LANES];               /* one that toggles or differs, else -1 */
  int passes, newton_passes;
} LgRest;
/* From where `pulled` stands. `likely`: it will stay there, so that all volts may be found at once.
 */
LgRest lg_slate_settle(LgNetWork *work, LgSlate *slate, gboolean likely);
/* From all released and, for the sake of `latching`, from all pulled; the slate of the rest holds
 * the answer. */
LgRest lg_team_settle(LgNetWork *work, const LgTeam *team, gboolean latching);
LgOutcome lg_rest_outcome(const LgRest *rest, int lane);

/* net-exact.c: branch currents of a slate of one lane, in twice double precision inside. */
LgExact *lg_exact_new(const LgNet *net);
void lg_exact_free(LgExact *exact);
void lg_exact_currents(const LgNetWork *work, LgExact *exact, const LgSlate *slate,
                       double current[]);

/* net-sweep.c */
LgWalk *lg_walk_new(const LgNet *net);
void lg_walk_free(LgWalk *walk);
