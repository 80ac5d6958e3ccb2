/* Wires in one state: each run's company is balanced as a bundle, each wire's two ends hang in the
 * air of the hotter place. */
#include "studies/state-warmth.h"
#include <math.h>
#include <string.h>

/* As sizing-warmth.c has them. */
#define OTHER_MM2 1.5
#define OTHER_A 10.0
#define IDLE_W_M 2e-4

typedef struct {
  int n, n_own;      /* wires; those of the job come first */
  int *wire;         /* [n_own] */
  LgHeatWire *wires; /* [n] */
  double *last_A;    /* [n_own] of the last solution */
  double *counted_A; /* [n] */
  double *bundle_conductor_K;
  double *conductor_K; /* [n_own] */
  gboolean solved;
} Company;

struct LgStateWarmth {
  const LgJob *job;
  LgHeatWire *wires; /* [n_wires] */
  LgHeatLoss *ends;  /* [n_wires] curve of the ends */
  Company *runs;
  int n_runs;
};

static double end_ambient_K(const LgJob *job, const LgWire *wire)
{
  double hot_K = NAN;
  for (int k = 0; k < 2; k++) {
    const int place = job->parts[job->pins[wire->pin[k]].part].place;
    if (place >= 0 && !(job->places[place].hot_K <= hot_K))
      hot_K = job->places[place].hot_K;
  }
  return !isnan(hot_K) ? hot_K : wire->n_runs > 0 ? wire->hot_K : job->hot_K;
}

static LgSurroundings around_end(const LgJob *job, const LgWire *wire)
{
  const double ambient_K = end_ambient_K(job, wire);
  return wire->sheathed ? lg_covered_by(ambient_K, "shrink", 0) : lg_bare(ambient_K);
}

static gboolean passes(const LgWire *wire, int run)
{
  for (int r = 0; r < wire->n_runs; r++)
    if (wire->runs[r] == run)
      return TRUE;
  return FALSE;
}

static void company_init(Company *company, const LgStateWarmth *warmth, int run)
{
  const LgJob *const job = warmth->job;
  const gsize most = (gsize)(job->n_wires + job->runs[run].others) + 1;
  company->wire = g_new(int, most);
  company->wires = g_new(LgHeatWire, most);
  company->last_A = g_new0(double, most);
  company->counted_A = g_new0(double, most);
  company->bundle_conductor_K = g_new(double, most);
  company->conductor_K = g_new(double, most);
  for (int w = 0; w < job->n_wires; w++)
    if (passes(&job->wires[w], run)) {
      company->wire[company->n] = w;
      company->wires[company->n++] = warmth->wires[w];
    }
  company->n_own = company->n;
  for (int i = 0; i < job->runs[run].others; i++, company->n++) {
    company->wires[company->n] =
        lg_heat_wire(lg_catalogue_conductor(job->catalogue, FALSE, OTHER_MM2), job->insulation);
    company->counted_A[company->n] = OTHER_A;
  }
}

static void company_clear(Company *company)
{
  g_free(company->wire);
  g_free(company->wires);
  g_free(company->last_A);
  g_free(company->counted_A);
  g_free(company->bundle_conductor_K);
  g_free(company->conductor_K);
}

LgStateWarmth *lg_state_warmth_new(const LgJob *job, const LgConductor *const conductors[])
{
  LgStateWarmth *const warmth = g_new0(LgStateWarmth, 1);
  warmth->job = job;
  warmth->wires = g_new(LgHeatWire, (gsize)job->n_wires + 1);
  warmth->ends = g_new(LgHeatLoss, (gsize)job->n_wires + 1);
  for (int w = 0; w < job->n_wires; w++) {
    const LgWire *const wire = &job->wires[w];
    warmth->wires[w] = lg_heat_wire(conductors[w], wire->insulation);
    const LgSurroundings around = around_end(job, wire);
    warmth->ends[w] = lg_heat_loss(&warmth->wires[w], &around);
  }
  warmth->n_runs = job->n_runs;
  warmth->runs = g_new0(Company, (gsize)job->n_runs + 1);
  for (int r = 0; r < job->n_runs; r++)
    company_init(&warmth->runs[r], warmth, r);
  return warmth;
}

void lg_state_warmth_free(LgStateWarmth *warmth)
{
  if (warmth == NULL)
    return;
  for (int r = 0; r < warmth->n_runs; r++)
    company_clear(&warmth->runs[r]);
  g_free(warmth->runs);
  g_free(warmth->wires);
  g_free(warmth->ends);
  g_free(warmth);
}

/* As in sizing-warmth.c: one that carries more than it may alone is told itself, and its neighbours
 * are not told for its sake. */
static double counted_A(const LgStateWarmth *warmth, int wire, int run, double amps)
{
  const LgHeatWire *const heat = &warmth->wires[wire];
  const double watts = amps * amps * heat->resistance_ohm_m;
  if (watts < IDLE_W_M)
    return 0;
  if (watts < 1)
    return amps;
  const LgSurroundings bare = lg_bare(warmth->job->runs[run].hot_K);
  return fmin(amps,
              lg_wire_current(heat, &bare, warmth->job->wires[wire].insulation->temperature_K));
}

static gboolean is_known(const Company *company, const double wire_A[])
{
  for (int i = 0; i < company->n_own; i++)
    if (fabs(wire_A[company->wire[i]]) != company->last_A[i])
      return FALSE;
  return company->solved;
}

static void solve_run(LgStateWarmth *warmth, int run, const double wire_A[])
{
  Company *const c = &warmth->runs[run];
  if (c->n_own == 0 || is_known(c, wire_A))
    return;
  for (int i = 0; i < c->n_own; i++) {
    c->last_A[i] = fabs(wire_A[c->wire[i]]);
    c->counted_A[i] = counted_A(warmth, c->wire[i], run, c->last_A[i]);
  }
  double bundle_K;
  const LgHeatBundle bundle = {
      c->wires, c->counted_A, c->n,
      lg_covered(warmth->job->runs[run].hot_K, warmth->job->runs[run].cover), 0};
  lg_bundle_temperatures(&bundle, c->bundle_conductor_K, &bundle_K, NULL);
  const LgHeatLoss nothing = {0};
  for (int i = 0; i < c->n_own; i++) {
    const LgHeatLoss loss =
        isinf(bundle_K) ? nothing : lg_heat_loss_among(&bundle, c->bundle_conductor_K, bundle_K, i);
    c->conductor_K[i] = lg_loss_temperature(&c->wires[i], &loss, c->last_A[i]);
  }
  c->solved = TRUE;
}

void lg_state_warmth_solve(LgStateWarmth *warmth, const double wire_A[], double temperature_K[],
                           int run[])
{
  for (int w = 0; w < warmth->job->n_wires; w++) {
    temperature_K[w] = lg_loss_temperature(&warmth->wires[w], &warmth->ends[w], fabs(wire_A[w]));
    if (run != NULL)
      run[w] = -1;
  }
  for (int r = 0; r < warmth->n_runs; r++) {
    const Company *const c = &warmth->runs[r];
    solve_run(warmth, r, wire_A);
    for (int i = 0; i < c->n_own; i++)
      if (c->conductor_K[i] > temperature_K[c->wire[i]]) {
        temperature_K[c->wire[i]] = c->conductor_K[i];
        if (run != NULL)
          run[c->wire[i]] = r;
      }
  }
}
