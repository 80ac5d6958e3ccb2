/* Inside of `locate`: the suspects as changes to the network, their solutions, and how they are
 * weighed. */
#pragma once
#include "studies/faults-private.h"
#include "studies/identify.h"
#include "studies/locate.h"

/* One suspect at one size. */
typedef struct {
  int suspect;
  double size; /* see LgVerdict.size; NAN: none */
  int first, n; /* changes */
} LgRow;

/* All rows in one state. */
typedef struct {
  int *position; /* [n_inputs] */
  double *volts; /* [n_rows][n_nodes], NAN: floating */
  double *watts; /* [n_rows][n_loads] */
} LgView;

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
  int *loads;     /* [n_loads] elements */
  int *load_of;   /* [n_elements] index in loads, -1 */
  double *most_W; /* [n_loads] greatest healthy watts, from the sizing's states */
  GArray *suspects; /* LgSuspect */
  GArray *rows;     /* LgRow; row 0 is healthy */
  GArray *changes;  /* LgChange */
  LgFaults *faults; /* one for each row */
  GPtrArray *positions; /* int*, each once */
  GPtrArray *views;     /* LgView*, by index in positions; NULL: not yet */
  GPtrArray *ohm_views; /* LgOhmView* */
  int **load_state;     /* [n_loads] borrowed from positions; NULL: not looked for yet */
  guint8 *load_looked;  /* [n_loads] */
  guint8 *shut;         /* [n_pins] may belong to a restraint: never touched */
};

/* --- locate-suspects.c --- */
/* Fills suspects, rows and changes. */
void lg_locator_list(LgLocator *locator);
/* Two suspects at sizes of their grids, as one more row; returns it. */
LgRow lg_locator_double(const LgLocator *locator, int row, int other, GArray *changes);
/* Changes for a suspect at any size. */
int lg_suspect_changes(const LgLocator *locator, const LgSuspect *suspect, double size,
                       LgChange changes[]);

/* --- locate-solve.c --- */
int lg_locator_keep(LgLocator *locator, const int position[]);
const LgView *lg_locator_view(LgLocator *locator, const int position[]);
/* Solves these rows, anything between 0 and n_rows. */
LgView *lg_view_new(const LgLocator *locator, const LgFaults *faults, const int position[]);
void lg_view_free(gpointer view);
/* What an ohmmeter reads for the rows that are marked (NULL: all). */
const LgOhmView *lg_locator_ohms(LgLocator *locator, int red_pin, int black_pin,
                                 const int position[], const guint8 wanted[]);
void lg_ohm_view_free(gpointer view);
/* Ohms of one list of changes. */
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
/* Standard deviation of a figure, from what was read (NAN: not read yet) and what is predicted. */
double lg_sign_spread(const LgSign *sign, double predicted);
double lg_sign_log_likelihood(const LgSign *sign, double predicted);
#define LG_OPEN_FIGURE 16.0 /* log ohm that stands for open: 9 Mohm, the end of a meter's scale */

/* LgPiece, weights sum to 1. */
GArray *lg_locator_weigh(LgLocator *locator, const LgSign signs[], int n_signs);

/* --- locate-next.c --- */
/* LgProbing, best first; signs already taken are left out. */
GArray *lg_locator_next(LgLocator *locator, const GArray *pieces, const LgSign signs[], int n_signs);
/* Groups of suspects that nothing tells apart: class[n_suspects], the least suspect of the class. */
double lg_probing_effort(const LgLocator *locator, const LgProbing *probing);
/* All that can be measured or looked at in the states of the signs. */
GArray *lg_locator_probings(LgLocator *locator, const GArray *pieces, const LgSign signs[],
                            int n_signs);
