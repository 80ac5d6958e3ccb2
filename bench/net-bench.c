/* Speed of the circuit engine on generated jobs, beside KLU (factor again and solve, per state) and
 * ngspice (in this process, one .dc analysis whose source encodes the state, one vector saved), all
 * measured in the same run. Each figure is the median of several repeats. --json: one object. */
#include "harness-net.h"
#include "klu-net.h"
#include "spice.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { MAX_REPEATS = 9, MAX_VARY = 16 };

typedef struct {
  int n_circuits;
  int n_vary;       /* inputs swept by us */
  int spice_states; /* states that ngspice sweeps */
  int repeats, spice_repeats;
} Size;

static const Size SIZES[] = {
    {20, 14, 4096, 9, 5},
    {100, 14, 1024, 9, 5},
    {500, 12, 128, 7, 3},
    {2500, 10, 32, 5, 3},
};

typedef struct {
  int nodes;
  double ours_us, klu_us, spice_us; /* per state; NAN: not measured or failed */
  double difference;                /* greatest, from ngspice, of the volts of one node */
} Row;

typedef struct {
  int nodes;
  double ours_us, klu_us;
} Full;

static int compare_doubles(const void *x, const void *y)
{
  const double a = *(const double *)x, b = *(const double *)y;
  return (a > b) - (a < b);
}

static double median(double *values, int n)
{
  qsort(values, (size_t)n, sizeof *values, compare_doubles);
  return values[n / 2];
}

/* Of this thread's processor time, so that other work on the machine counts little. */
static double seconds(void)
{
  struct timespec t;
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

/* The job's inputs: the key is on, every third switch that is not swept is closed. */
typedef struct {
  LgNet *net;
  int *base, vary[MAX_VARY];
  int node; /* whose volts are looked at */
} Job;

static Job job_new(int n_circuits, gboolean curves, gboolean relays)
{
  const HarnessSpec spec = {
      .seed = 7, .n_circuits = n_circuits, .curves = curves, .no_motors = TRUE, .relays = relays};
  Job job = {.net = harness_net_new(&spec)};
  job.base = g_new0(int, lg_net_n_inputs(job.net));
  for (int i = 0; i < lg_net_n_inputs(job.net); i++)
    job.base[i] = i % 3 == 0;
  for (int i = 0; i < MAX_VARY; i++)
    job.vary[i] = i + 1;
  job.node = lg_net_branch(job.net, 1)->a; /* a feed near the battery: sags with every load */
  return job;
}

static void job_clear(Job *job)
{
  lg_net_free(job->net);
  g_free(job->base);
}

/* Sums up what it is shown, so that no solution can be left out, and keeps the looked-at node's
 * volts by state. */
typedef struct {
  const Job *job;
  int n_vary;
  double sum, *volts;
} Witness;

static void look(const LgNetBlock *block, const LgNetWork *work, gpointer user)
{
  Witness *witness = user;
  (void)work;
  for (int l = 0; l < block->n; l++) {
    witness->sum += block->volts[witness->job->node][l];
    if (witness->volts == NULL)
      continue;
    guint state = 0;
    for (int k = 0; k < witness->n_vary; k++)
      state |= (guint)block->position[l][witness->job->vary[k]] << k;
    witness->volts[state] = block->volts[witness->job->node][l];
  }
}

static double time_ours(const Job *job, LgNetWork *work, int n_vary, gboolean with_relays,
                        int repeats, double *volts)
{
  const LgNetSweep sweep = {
      .vary = job->vary, .n_vary = n_vary, .base = job->base, .with_relays = with_relays};
  double times[MAX_REPEATS];
  Witness witness = {job, n_vary, 0, volts};
  for (int r = 0; r < repeats; r++) {
    const double start = seconds();
    const guint64 n = lg_net_sweep(job->net, work, &sweep, look, &witness);
    times[r] = (seconds() - start) / (double)n;
  }
  g_assert_true(isfinite(witness.sum));
  return median(times, repeats) * 1e6;
}

static double time_spice(const Job *job, const Size *size, gboolean with_relays, double *volts)
{
  int n_vary = 0;
  while (1 << n_vary < size->spice_states)
    n_vary++;
  const SpiceSweep sweep = {job->vary, n_vary, job->base, with_relays, 1e-3};
  double times[MAX_REPEATS];
  for (int r = 0; r < size->spice_repeats; r++) {
    times[r] =
        spice_sweep(job->net, &sweep, size->spice_states, job->node, volts) / size->spice_states;
    if (isnan(times[r]))
      return NAN;
  }
  return median(times, size->spice_repeats) * 1e6;
}

/* The same states in Gray code, so that one contact moves at a time. */
static double time_klu(const Job *job, const Size *size)
{
  const int n_branches = lg_net_n_branches(job->net),
            n_states = MIN(1 << size->n_vary, 4 * size->spice_states);
  KluNet *klu = klu_net_new(job->net, 1e-12);
  double *volts = g_new(double, lg_net_n_nodes(job->net)), times[MAX_REPEATS], sum = 0;
  int *position = g_memdup2(job->base, sizeof(int) * (gsize)lg_net_n_inputs(job->net));
  for (int i = 0; i < size->n_vary; i++)
    position[job->vary[i]] = 0;
  for (int r = 0; r < size->repeats; r++) {
    const double start = seconds();
    for (int state = 0; state < n_states; state++) {
      const int moved = state == 0 ? -1 : job->vary[__builtin_ctz((guint)state)];
      if (moved >= 0)
        position[moved] ^= 1;
      for (int b = 0; b < n_branches; b++) {
        const int index = lg_net_branch(job->net, b)->gate;
        const LgNetGate *gate = index >= 0 ? lg_net_gate(job->net, index) : NULL;
        if (gate != NULL && (state == 0 || gate->input[0] == moved))
          klu_net_set_closed(klu, b,
                             gate->coil >= 0
                                 ? !gate->coil_pulled
                                 : (int)(gate->positions[0] >> position[gate->input[0]] & 1));
      }
      klu_net_solve(klu, volts);
      sum += volts[job->node];
    }
    times[r] = (seconds() - start) / n_states;
  }
  g_assert_true(isfinite(sum));
  klu_net_free(klu);
  g_free(volts);
  g_free(position);
  return median(times, size->repeats) * 1e6;
}

static Row measure(const Size *size, gboolean curves, gboolean with_relays)
{
  Job job = job_new(size->n_circuits, curves, TRUE);
  LgNetWork *work = lg_net_work_new(job.net);
  Row row = {.nodes = lg_net_n_nodes(job.net), .klu_us = NAN};
  double *theirs = g_new(double, size->spice_states), *ours = g_new(double, size->spice_states);
  int spice_vary = 0;
  while (1 << spice_vary < size->spice_states)
    spice_vary++;
  row.ours_us = time_ours(&job, work, size->n_vary, with_relays, size->repeats, NULL);
  time_ours(&job, work, spice_vary, with_relays, 1, ours);
  row.spice_us = time_spice(&job, size, with_relays, theirs);
  if (!curves && !with_relays)
    row.klu_us = time_klu(&job, size);
  for (int i = 0; i < size->spice_states; i++)
    row.difference = MAX(row.difference, fabs(ours[i] - theirs[i]));
  lg_net_work_free(work);
  g_free(theirs);
  g_free(ours);
  job_clear(&job);
  return row;
}

/* Every conductance changes, as when a harness warms up: all columns are factored again. */
static Full measure_full(const Size *size)
{
  Job job = job_new(size->n_circuits, FALSE, FALSE);
  LgNetWork *work = lg_net_work_new(job.net);
  KluNet *klu = klu_net_new(job.net, 1e-12);
  const int rounds = 40000 / size->n_circuits + 5, n = lg_net_n_nodes(job.net);
  double *volts = g_new(double, n), *times = g_new(double, rounds);
  Full full = {.nodes = n};
  for (int r = 0; r < rounds; r++) {
    for (int b = 0; b < lg_net_n_branches(job.net); b++)
      lg_net_set_param(job.net, b, 0, lg_net_branch(job.net, b)->p[0] * (r % 2 ? 1.01 : 1 / 1.01));
    const double start = seconds();
    lg_net_solve(job.net, work, job.base, NULL, volts, NULL, NULL);
    times[r] = seconds() - start;
  }
  full.ours_us = median(times, rounds) * 1e6;
  for (int r = 0; r < rounds; r++) {
    const double start = seconds();
    klu_net_solve(klu, volts);
    times[r] = seconds() - start;
  }
  full.klu_us = median(times, rounds) * 1e6;
  klu_net_free(klu);
  lg_net_work_free(work);
  g_free(volts);
  g_free(times);
  job_clear(&job);
  return full;
}

/* Slope of log time over log nodes, least squares. */
static double growth(const Full *full, int n)
{
  double x = 0, y = 0, xx = 0, xy = 0;
  for (int i = 0; i < n; i++) {
    const double lx = log(full[i].nodes), ly = log(full[i].ours_us);
    x += lx;
    y += ly;
    xx += lx * lx;
    xy += lx * ly;
  }
  return (n * xy - x * y) / (n * xx - x * x);
}

static void print_number(const char *name, double value, const char *after)
{
  if (isfinite(value))
    printf("\"%s\": %.6g%s", name, value, after);
  else
    printf("\"%s\": null%s", name, after);
}

static void print_row(const char *what, int n_circuits, const Row *row, gboolean json,
                      gboolean first)
{
  if (!json) {
    printf("%-28s %6d %7d %10.3f %10.2f %10.1f %8.0f %8.1f   %.1e\n", what, n_circuits, row->nodes,
           row->ours_us, row->klu_us, row->spice_us, row->spice_us / row->ours_us,
           row->klu_us / row->ours_us, row->difference);
    return;
  }
  printf("%s{\"sweep\": \"%s\", \"circuits\": %d, \"nodes\": %d, ", first ? "" : ", ", what,
         n_circuits, row->nodes);
  print_number("us_per_state", row->ours_us, ", ");
  print_number("klu_us_per_state", row->klu_us, ", ");
  print_number("ngspice_us_per_state", row->spice_us, ", ");
  print_number("ngspice_over_ours", row->spice_us / row->ours_us, ", ");
  print_number("greatest_difference_V", row->difference, "}");
}

int main(int argc, char **argv)
{
  static const struct {
    const char *name;
    gboolean curves, with_relays;
  } kinds[] = {{"relays given", FALSE, FALSE},
               {"relays to rest", FALSE, TRUE},
               {"nonlinear", TRUE, FALSE},
               {"nonlinear, relays to rest", TRUE, TRUE}};
  const gboolean json = argc > 1 && strcmp(argv[argc - 1], "--json") == 0;
  const int wanted = argc > 1 ? atoi(argv[1]) : 0;
  const guint n_sizes = wanted >= 2 ? MIN((guint)wanted, G_N_ELEMENTS(SIZES)) : G_N_ELEMENTS(SIZES);
  Full full[G_N_ELEMENTS(SIZES)];
  if (json)
    printf("{\"bench\": \"net\", \"rows\": [");
  else
    printf("%-28s %6s %7s %10s %10s %10s %8s %8s   %s\n", "states, us each", "jobs", "nodes",
           "ours", "KLU", "ngspice", "ng/ours", "KLU/ours", "difference V");
  for (guint k = 0; k < G_N_ELEMENTS(kinds); k++)
    for (guint s = 0; s < n_sizes; s++) {
      const Row row = measure(&SIZES[s], kinds[k].curves, kinds[k].with_relays);
      print_row(kinds[k].name, SIZES[s].n_circuits, &row, json, k + s == 0);
      fflush(stdout);
    }
  printf(json ? "], \"full\": [" : "\nall factored again, one state\n");
  for (guint s = 0; s < n_sizes; s++) {
    full[s] = measure_full(&SIZES[s]);
    if (json)
      printf("%s{\"nodes\": %d, \"us\": %.6g, \"klu_us\": %.6g}", s == 0 ? "" : ", ", full[s].nodes,
             full[s].ours_us, full[s].klu_us);
    else
      printf("%-28s %6d %7d %10.3f %10.2f\n", "", SIZES[s].n_circuits, full[s].nodes,
             full[s].ours_us, full[s].klu_us);
  }
  if (json)
    printf("], \"growth_exponent\": %.4g}\n", growth(full, (int)n_sizes));
  else
    printf("time grows with nodes to the power of %.3f\n", growth(full, (int)n_sizes));
  return 0;
}
