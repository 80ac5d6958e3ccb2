/* A network whose branches are given, fitted to readings. */
#include "studies/identify-private.h"
#include <math.h>
#include <string.h>

/* What a branch and a hidden node must save in squared misfits to be believed. Misfits are counted
 * in what the meter may be off at most, so that a branch too many saves a third on average. */
#define PRICE_BRANCH 2.0
#define PRICE_HIDDEN 1.0

#define LEAST_OHM 1e-4
#define MOST_OHM 1e9

LgFitWork *lg_fit_work_new(int n_terminals, const LgOhmReading readings[], int n_readings,
                           const gboolean skip[])
{
  LgFitWork *const work = g_new(LgFitWork, 1);
  const gsize nodes = LG_FIT_MOST_NODES, branches = LG_FIT_MOST_BRANCHES;
  *work = (LgFitWork){.n_terminals = n_terminals,
                      .n_readings = n_readings,
                      .readings = readings,
                      .skip = skip,
                      .inverse = g_new(double, nodes *nodes),
                      .slope = g_new(double, (gsize)n_readings *branches + 1),
                      .normal = g_new(double, branches *branches),
                      .step = g_new(double, branches),
                      .ohm = g_new(double, (gsize)n_readings + 1)};
  return work;
}

void lg_fit_work_free(LgFitWork *work)
{
  if (work == NULL)
    return;
  g_free(work->inverse);
  g_free(work->slope);
  g_free(work->normal);
  g_free(work->step);
  g_free(work->ohm);
  g_free(work);
}

static void add(double inverse[], int m, int i, int j, double value)
{
  if (i < m && j < m)
    inverse[i * m + j] += value;
}

static gboolean invert(LgFitWork *work, const LgFit *fit)
{
  const int m = fit->n_nodes - 1;
  memset(work->inverse, 0, (gsize)m * (gsize)m * sizeof(double));
  for (int e = 0; e < fit->n_branches; e++) {
    const LgBranch *const b = &fit->branch[e];
    const double g = 1 / b->ohm;
    add(work->inverse, m, b->a, b->a, g);
    add(work->inverse, m, b->b, b->b, g);
    add(work->inverse, m, b->a, b->b, -g);
    add(work->inverse, m, b->b, b->a, -g);
  }
  return lg_spd_invert(m, work->inverse);
}

static double entry(const LgFitWork *work, int m, int i, int j)
{
  return i < m && j < m ? work->inverse[i * m + j] : 0;
}

double lg_fit_between(const LgFitWork *work, const LgFit *fit, int a, int b)
{
  const int m = fit->n_nodes - 1;
  return entry(work, m, a, a) + entry(work, m, b, b) - 2 * entry(work, m, a, b);
}

gboolean lg_fit_score(LgFitWork *work, LgFit *fit)
{
  fit->score = fit->worst = INFINITY;
  if (!invert(work, fit))
    return FALSE;
  double sum = 0, worst = 0;
  for (int r = 0; r < work->n_readings; r++) {
    const LgOhmReading *const reading = &work->readings[r];
    work->ohm[r] = lg_fit_between(work, fit, reading->a, reading->b);
    if (work->skip != NULL && work->skip[r])
      continue;
    const double misfit = (reading->ohm - work->ohm[r]) / reading->off_ohm;
    sum += misfit * misfit;
    worst = fmax(worst, fabs(misfit));
  }
  fit->score =
      sum + PRICE_BRANCH * fit->n_branches + PRICE_HIDDEN * (fit->n_nodes - fit->n_terminals);
  fit->worst = worst;
  return TRUE;
}

/* d R_ij / d g_uv = - (volts between u and v when one ampere goes from i to j)^2, so that
 * d R_ij / d ln ohm = volts^2 / ohm. Normal equations of the misfits on the way. */
static void linearise(LgFitWork *work, const LgFit *fit)
{
  const int m = fit->n_nodes - 1, p = fit->n_branches;
  memset(work->normal, 0, (gsize)p * (gsize)p * sizeof(double));
  memset(work->step, 0, (gsize)p * sizeof(double));
  for (int r = 0; r < work->n_readings; r++) {
    if (work->skip != NULL && work->skip[r])
      continue;
    const LgOhmReading *const reading = &work->readings[r];
    const double misfit = (reading->ohm - work->ohm[r]) / reading->off_ohm;
    double *const slope = work->slope + r * p;
    for (int e = 0; e < p; e++) {
      const int u = fit->branch[e].a, v = fit->branch[e].b;
      const double volts = entry(work, m, reading->a, u) - entry(work, m, reading->a, v) -
                           entry(work, m, reading->b, u) + entry(work, m, reading->b, v);
      slope[e] = volts * volts / fit->branch[e].ohm / reading->off_ohm;
      work->step[e] += slope[e] * misfit;
      for (int f = 0; slope[e] != 0 && f <= e; f++)
        work->normal[e * p + f] += slope[e] * slope[f];
    }
  }
}

static LgFit *stepped(LgFitWork *work, const LgFit *fit, double damping, double trial[])
{
  const int p = fit->n_branches;
  double *const step = trial + p * p;
  memcpy(trial, work->normal, (gsize)p * (gsize)p * sizeof(double));
  memcpy(step, work->step, (gsize)p * sizeof(double));
  for (int e = 0; e < p; e++)
    trial[e * p + e] += damping * (trial[e * p + e] + 1e-9);
  if (!lg_spd_solve(p, trial, step))
    return NULL;
  LgFit *const next = g_memdup2(fit, sizeof *fit);
  for (int e = 0; e < p; e++)
    next->branch[e].ohm =
        CLAMP(fit->branch[e].ohm * exp(CLAMP(step[e], -3, 3)), LEAST_OHM, MOST_OHM);
  return next;
}

gboolean lg_fit_refine(LgFitWork *work, LgFit *fit, int most_steps)
{
  if (!lg_fit_score(work, fit))
    return FALSE;
  const gsize p = (gsize)fit->n_branches;
  g_autofree double *trial = g_new(double, p *p + p + 1);
  double damping = 1e-3;
  linearise(work, fit);
  for (int i = 0; i < most_steps && damping < 1e8; i++) {
    g_autofree LgFit *next = stepped(work, fit, damping, trial);
    if (next == NULL || !lg_fit_score(work, next) || !(next->score < fit->score)) {
      damping *= 8;
      continue;
    }
    const gboolean settled = fit->score - next->score < 1e-6;
    *fit = *next;
    damping *= 0.1;
    if (settled)
      break;
    linearise(work, fit);
  }
  return lg_fit_score(work, fit);
}

void lg_fit_spread(LgFitWork *work, LgFit *fit)
{
  const int p = fit->n_branches;
  if (!lg_fit_score(work, fit))
    return;
  linearise(work, fit);
  for (int e = 0; e < p; e++) /* keeps it regular where the readings say nothing of a branch */
    work->normal[e * p + e] += 1e-7;
  const gboolean good = lg_spd_invert(p, work->normal);
  for (int e = 0; e < p; e++) {
    const double ohm = fit->branch[e].ohm, most = fmax(10 * ohm, 1);
    fit->branch[e].off_ohm = good ? fmin(ohm * sqrt(work->normal[e * p + e]), most) : most;
  }
}
