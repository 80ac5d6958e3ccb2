/* Inside identify: symmetric matrices, the fit of a network whose branches are given, and what the
 * files hand each other. */
#pragma once
#include "studies/identify.h"

G_BEGIN_DECLS

/* Inverse of a symmetric positive definite matrix [n][n] in its place; FALSE when it is none. */
gboolean lg_spd_invert(int n, double a[]);
/* Solves a x = b in place of b; `a` is destroyed. FALSE as above. */
gboolean lg_spd_solve(int n, double a[], double b[]);

enum {
  LG_FIT_MOST_NODES = 2 * LG_MOST_CAVITIES,
  LG_FIT_MOST_BRANCHES = LG_MOST_CAVITIES * (LG_MOST_CAVITIES - 1) / 2
};

/* A network with its score: squared misfits plus a price on each branch and each hidden node. */
typedef struct {
  int n_terminals, n_nodes, n_branches;
  LgBranch branch[LG_FIT_MOST_BRANCHES];
  double score, worst; /* worst misfit */
} LgFit;

/* Readings of one connected piece, one a pair, and room for the numbers. */
typedef struct {
  int n_terminals, n_readings;
  const LgOhmReading *readings;
  const gboolean *skip; /* [n_readings] left out of the fit */
  double *inverse;      /* [nodes][nodes] of the grounded Laplacian */
  double *slope;        /* [n_readings][branches] d ohm / d ln ohm of a branch */
  double *normal;       /* [branches][branches] */
  double *step;         /* [branches] */
  double *ohm;          /* [n_readings] predicted */
} LgFitWork;

LgFitWork *lg_fit_work_new(int n_terminals, const LgOhmReading readings[], int n_readings,
                           const gboolean skip[]);
void lg_fit_work_free(LgFitWork *work);
/* Ohms of all readings in work->ohm and the score; FALSE when the network is not connected. */
gboolean lg_fit_score(LgFitWork *work, LgFit *fit);
/* Least squares by Levenberg and Marquardt in the logarithms of the branches' ohms, so that none is
 * ever negative. FALSE when not connected. */
gboolean lg_fit_refine(LgFitWork *work, LgFit *fit, int most_steps);
/* Uncertainty of each branch from the curvature of the fit. */
void lg_fit_spread(LgFitWork *work, LgFit *fit);
/* Ohms between two nodes after lg_fit_score. */
double lg_fit_between(const LgFitWork *work, const LgFit *fit, int a, int b);

/* The network of one connected piece: fewest branches within what the readings may be off. */
void lg_fit_search(LgFitWork *work, LgFit *best);

/* Fills in `chance` of all that was found, `nothing` and `heat`. */
void lg_identity_weigh(LgIdentity *identity);
/* Fills in `next`. */
void lg_identity_rank(LgIdentity *identity);
/* What is between the cavities, without likelihoods. */
void lg_identity_find(LgIdentity *identity);

/* ln of the density of ln ohm in a class. */
double lg_id_ohm_density(const LgIdRow *row, double ohm, double off_ohm);
/* How likely a class shows `saw` when `did` is done to it; 1 for UNSAID. */
double lg_id_saw_chance(const LgIdRow *row, LgDid did, LgSaw saw);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgFitWork, lg_fit_work_free)
G_END_DECLS
