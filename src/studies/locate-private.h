/* Inside of `locate`: the suspects as changes to the network, their solutions, and how they are
 * weighed. */
#pragma once
#include "studies/faults-private.h"
#include "studies/identify.h"
#include "studies/locate.h"

/* One suspect at one size. */
typedef struct {
  int suspect;
  double size;  /* see LgVerdict.size; NAN: none */
  int first, n; /* changes */
} LgRow;

typedef struct LgIdle LgIdle;

/* How much of a solution is kept: watts alone, or volts as well. */
typedef enum { LG_SOLVED_NOT, LG_SOLVED_WATTS, LG_SOLVED_ALL } LgSolved;

/* All rows in one state. Where a row is as the healthy job, row 0 stands for it. */
typedef struct {
  int *position;      /* [n_inputs] */
  double *volts;      /* [n_rows][n_nodes], NAN: floating */
  double *watts;      /* [n_rows][n_loads] */
  guint8 *have;       /* [n_rows] LgSolved: what is solved */
  guint8 *as_healthy; /* [n_rows] */
  guint8 *idle;       /* [branches] resistors that carry nothing in row 0 */
  LgIdle *shape;      /* NULL: not yet */
} LgView;

static inline gsize lg_view_row(const LgView *view, int row)
{
  return view->as_healthy[row] ? 0 : (gsize)row;
}

/* An ohmmeter on two nodes, all rows. */
typedef struct {
  int red, black; /* nodes */
  int *position;
  double *ohm; /* [n_rows]; INFINITY: open; NAN: row not asked for */
} LgOhmView;

struct LgLocator {
  const LgJob *job;
  const LgSizing *sizing;
  LgCircuit *circuit; /* everything at 20 C */
  LgStage *stage;
  int n_nodes, n_loads, n_rows;
  int *loads;       /* [n_loads] elements */
  int *load_of;     /* [n_elements] index in loads, -1 */
  double *most_W;   /* [n_loads] greatest healthy watts, from the sizing's states */
  GArray *suspects; /* LgSuspect; behind n_single the pairs of the last judgement */
  guint n_single;
  GArray *rows;             /* LgRow; row 0 is healthy */
  GArray *changes;          /* LgChange */
  LgFaults *faults;         /* one for each row */
  GPtrArray *positions;     /* int*, each once */
  GHashTable *index_of;     /* int* of positions to index + 1 */
  gsize held;               /* numbers solved that the views hold */
  GPtrArray *views;         /* LgView*, by index in positions; NULL: not yet */
  GPtrArray *ohm_views;     /* LgOhmView* */
  const int **load_state;   /* [n_loads] borrowed from positions; NULL: not looked for yet */
  guint8 *load_looked;      /* [n_loads] */
  double (*amps)[LG_LANES]; /* [n_loads] scratch */
  guint8 *shut;             /* [n_pins] may belong to a restraint: never touched */
};

/* --- locate-suspects.c --- */
/* Fills suspects, rows and changes. */
void lg_locator_list(LgLocator *locator);
/* Changes for a suspect at any size. */
int lg_suspect_changes(const LgLocator *locator, const LgSuspect *suspect, double size,
                       LgChange changes[]);

/* --- locate-idle.c --- */
enum { LG_MOST_IDLE = 64 };
/* Of one state: where a current may flow at all, with any relay pulled or not. The net must outlive
 * it. */
LgIdle *lg_idle_new(const LgNet *net, const int position[]);
void lg_idle_free(LgIdle *idle);
/* Whether the changes can alter no current in this state: they open what lies on no way round and
 * close none. Volts of what carries nothing may differ. */
gboolean lg_idle_changes(const LgIdle *idle, const LgChange changes[], int n);

/* --- locate-solve.c --- */
/* The locator's own copy of a state. */
const int *lg_locator_keep(LgLocator *locator, const int position[]);
/* Solves the rows that are marked (NULL: all) in several states at once, where not done yet. */
void lg_locator_look(LgLocator *locator, const int *const positions[], int n, const guint8 wanted[],
                     LgSolved look);
/* One state, in which `row` is solved at least as far as `look`. */
const LgView *lg_locator_view(LgLocator *locator, const int position[], int row, LgSolved look);
/* Drops all solutions; states stay. */
void lg_locator_forget(LgLocator *locator);
/* For faults of one's own: an empty view, and the solution of several, each with a row for each
 * fault. */
LgView *lg_view_new(const LgLocator *locator, int n_rows, const int position[]);
void lg_views_solve(const LgLocator *locator, const LgFaults *faults, LgView *const views[],
                    int n_views, const guint8 wanted[], LgSolved look);
void lg_view_free(gpointer view);
/* An ohmmeter as far as it was read. */
LgOhmView *lg_ohm_view(LgLocator *locator, int red_pin, int black_pin, const int position[]);
/* What an ohmmeter reads for the rows that are marked (NULL: all). */
const LgOhmView *lg_locator_ohms(LgLocator *locator, int red_pin, int black_pin,
                                 const int position[], const guint8 wanted[]);
void lg_ohm_view_free(gpointer view);
/* Ohms of one list of changes. */
/* Figures of faults of one's own for all signs: [n][n_signs]. Newly allocated. */
double *lg_locator_figures(LgLocator *locator, const LgFault faults[], int n, const LgSign signs[],
                           int n_signs);
void lg_ohms_of(const LgLocator *locator, const LgFault faults[], int n, int red, int black,
                const int position[], double ohm[]);

/* --- locate-weigh.c --- */
/* A piece of probability: a suspect between two neighbouring sizes of its grid. */
typedef struct {
  int suspect;
  int row[2];
  double t; /* 0: row[0], 1: row[1] */
  double weight;
} LgPiece;

/* What a sign's figure is for a row: volts; log ohms (open: 16); share of power. */
double lg_sign_figure(LgLocator *locator, const LgSign *sign, int row);
/* The same of volts and loads, for a row of a view of one's own. */
double lg_view_figure(LgLocator *locator, const LgView *view, const LgSign *sign, int row);
/* Standard deviation of a figure, from what was read (NAN: not read yet) and what is predicted. */
double lg_sign_spread(const LgSign *sign, double predicted);
double lg_sign_log_likelihood(const LgSign *sign, double predicted);
#define LG_OPEN_FIGURE 16.0 /* log ohm that stands for open: 9 Mohm, the end of a meter's scale */

/* LgPiece, weights sum to 1; `log_sum` (may be NULL): logarithm of what they were divided by. */
GArray *lg_locator_weigh(LgLocator *locator, const LgSign signs[], int n_signs, double *log_sum);
/* Size of a piece; NAN: none. */
double lg_piece_size(const LgLocator *locator, const LgPiece *piece);

/* --- locate-next.c --- */
/* LgProbing, best first; signs already taken are left out. */
GArray *lg_locator_next(LgLocator *locator, const GArray *pieces, const LgSign signs[],
                        int n_signs);
/* Solves what probings ask of the rows marked. */
void lg_probings_look(LgLocator *locator, const GArray *probings, const guint8 wanted[]);
#define LG_OPENING 25.0 /* minutes or so: a seat out, a donor part apart */
double lg_probing_effort(const LgLocator *locator, const LgProbing *probing);
/* All that can be measured or looked at in the states of the signs. */
GArray *lg_locator_probings(LgLocator *locator, const GArray *pieces, const LgSign signs[],
                            int n_signs);

/* --- locate-guide.c --- */
GArray *lg_steps_new(void);
/* Appends one step: a measurement with what each outcome means. */
void lg_locator_steps(LgLocator *locator, const GArray *pieces, const LgProbing *probing,
                      GArray *steps);

/* --- locate-pairs.c --- */
/* Two suspects at once among `n` of those that explain some sign better than nothing does: new
 * suspects with two in `pair`, and the figures of their rows, [row][n_signs]. Pieces with weights
 * as logarithms of prior times likelihood. */
typedef struct {
  GArray *pieces; /* LgPiece; `row` counts in `figure`, `suspect` behind the single ones */
  double *figure;
} LgPairs;
LgPairs *lg_pairs_new(LgLocator *locator, const LgSign signs[], int n_signs, const GArray *singles,
                      int n);
void lg_pairs_free(LgPairs *pairs);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgPairs, lg_pairs_free)
