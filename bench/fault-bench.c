/* Speed of a fault campaign on a generated job: every state under every wire cut, every node short
 * to the body and to the plus, every neighbours' bridge and every contact stuck, relays as given.
 * Beside it ngspice in this process (alter, op) on a part of the same pairs. Medians of several
 * repeats.
 * --json: one object. */
#include "circuit/net-fault.h"
#include "harness-net.h"
#include "spice.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { REPEATS = 9, SPICE_REPEATS = 5, N_VARY = 8, SPICE_CASES = 200, MOST_THREADS = 2 };

static const double SHORT_S = 100; /* conductance of a short */

typedef struct {
  GArray *faults;  /* LgFault */
  GArray *changes; /* LgChange, one each */
} List;

static void add_fault(List *list, LgChange change)
{
  g_array_append_val(list->changes, change);
}

static void add_bridge(List *list, int a, int b)
{
  if (a != b)
    add_fault(list, (LgChange){.kind = LG_CHANGE_BRIDGE, .a = a, .b = b, .value = SHORT_S});
}

/* Changes of each kind stand together; nodes 1 and 2 of a generated job are the battery's plus and
 * the body. */
static List list_new(const LgNet *net)
{
  List list = {g_array_new(FALSE, FALSE, sizeof(LgFault)),
               g_array_new(FALSE, FALSE, sizeof(LgChange))};
  for (int b = 0; b < lg_net_n_branches(net); b++)
    add_fault(&list, (LgChange){.kind = LG_CHANGE_OPEN, .branch = b});
  for (int b = 0; b < lg_net_n_branches(net); b++)
    if (lg_net_branch(net, b)->gate >= 0)
      add_fault(&list, (LgChange){.kind = LG_CHANGE_CLOSED, .branch = b});
  for (int plus = 1; plus <= 2; plus++)
    for (int i = 3; i < lg_net_n_nodes(net); i++)
      add_bridge(&list, i, plus);
  for (int i = 3; i + 1 < lg_net_n_nodes(net); i += 2)
    add_bridge(&list, i, i + 1);
  for (guint i = 0; i < list.changes->len; i++) {
    const LgFault fault = {1, &g_array_index(list.changes, LgChange, i)};
    g_array_append_val(list.faults, fault);
  }
  return list;
}

static void list_clear(List *list)
{
  g_array_unref(list->faults);
  g_array_unref(list->changes);
}

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

static double seconds(clockid_t clock)
{
  struct timespec t;
  clock_gettime(clock, &t);
  return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

/* Sums up what it is shown, so that no solution can be left out. */
typedef struct {
  int n_nodes;
  double sum[MOST_THREADS][8]; /* a cache line apart */
} Witness;

static void look(const LgFaultBlock *shown, gpointer user)
{
  Witness *witness = user;
  for (int l = 0; l < shown->block->n; l++) {
    const double volts = shown->block->volts[1][l];
    witness->sum[shown->thread][0] += isnan(volts) ? 0 : volts;
  }
}

/* And all currents. */
static void look_at_currents(const LgFaultBlock *shown, gpointer user)
{
  Witness *witness = user;
  double amps[LG_LANES];
  for (int b = 0; b < witness->n_nodes; b++) {
    lg_fault_current(shown, b, amps);
    witness->sum[shown->thread][0] += amps[0];
  }
}

typedef struct {
  LgNet *net;
  List list;
  LgFaults *faults;
  int *base, vary[N_VARY];
} Job;

static Job job_new(int n_circuits, gboolean curves)
{
  const HarnessSpec spec = {
      .seed = 7, .n_circuits = n_circuits, .curves = curves, .no_motors = TRUE, .relays = TRUE};
  Job job = {.net = harness_net_new(&spec)};
  job.list = list_new(job.net);
  job.faults = lg_faults_new(job.net, (const LgFault *)(gconstpointer)job.list.faults->data,
                             (int)job.list.faults->len);
  job.base = g_new0(int, lg_net_n_inputs(job.net));
  for (int i = 0; i < lg_net_n_inputs(job.net); i++)
    job.base[i] = i % 3 == 0;
  for (int i = 0; i < N_VARY; i++)
    job.vary[i] = i + 1;
  return job;
}

static void job_clear(Job *job)
{
  lg_faults_free(job->faults);
  list_clear(&job->list);
  lg_net_free(job->net);
  g_free(job->base);
}

static LgNetSweep sweep_of(const Job *job, gboolean with_relays)
{
  return (LgNetSweep){.vary = job->vary,
                      .n_vary = N_VARY,
                      .base = job->base,
                      .with_relays = with_relays,
                      .released_only = TRUE};
}

/* Pairs a second: of one thread's processor time, or of the clock on the wall with two. */
static double rate(const Job *job, gboolean with_relays, int n_threads, clockid_t clock,
                   LgFaultVisit visit)
{
  const LgNetSweep sweep = sweep_of(job, with_relays);
  Witness witness = {.n_nodes = lg_net_n_branches(job->net)};
  double rates[REPEATS];
  for (int r = 0; r < REPEATS; r++) {
    const double start = seconds(clock);
    const guint64 n = lg_faults_sweep(job->faults, &sweep, n_threads, NULL, visit, &witness);
    rates[r] = (double)n / (seconds(clock) - start);
  }
  g_assert_true(isfinite(witness.sum[0][0]));
  return median(rates, REPEATS);
}

/* Speed of two threads over one, by the clock given: that on the wall shows the gain where two
 * processors are idle, the process's own what the threads cost each other. Both in turn, so that
 * other work on the machine weighs on both. */
static double two_thread_ratio(const Job *job, clockid_t clock)
{
  const LgNetSweep sweep = sweep_of(job, FALSE);
  Witness witness = {.n_nodes = lg_net_n_branches(job->net)};
  double ratios[REPEATS];
  for (int r = 0; r < REPEATS; r++) {
    double time[2];
    for (int t = 0; t < 2; t++) {
      const double start = seconds(clock);
      lg_faults_sweep(job->faults, &sweep, t + 1, NULL, look, &witness);
      time[t] = seconds(clock) - start;
    }
    ratios[r] = time[0] / time[1];
  }
  return median(ratios, REPEATS);
}

/* What ngspice has to alter for a fault: the resistor of the one before back, its own. */
static double spice_us(const Job *job)
{
  const LgNet *net = job->net;
  const int n_branches = lg_net_n_branches(net), n_faults = (int)job->list.faults->len;
  SpiceBridge *bridges = g_new(SpiceBridge, n_faults);
  SpiceCase cases[SPICE_CASES];
  int resistor[SPICE_CASES][2], n_bridges = 0;
  double ohm[SPICE_CASES][2], healthy = 0, times[SPICE_REPEATS];
  for (int c = 0, before = -1; c < SPICE_CASES; c++) {
    const LgChange *change =
        &g_array_index(job->list.changes, LgChange, c * n_faults / SPICE_CASES);
    int own = change->branch;
    cases[c] = (SpiceCase){0, resistor[c], ohm[c]};
    if (before >= 0) {
      resistor[c][cases[c].n] = before;
      ohm[c][cases[c].n++] = healthy;
    }
    if (change->kind == LG_CHANGE_BRIDGE) {
      bridges[n_bridges] = (SpiceBridge){change->a, change->b};
      own = n_branches + n_bridges++;
    }
    resistor[c][cases[c].n] = before = own;
    healthy = own < n_branches ? 1 / lg_net_branch(net, own)->p[0] : 1e12;
    ohm[c][cases[c].n++] = change->kind == LG_CHANGE_OPEN     ? 1e12
                           : change->kind == LG_CHANGE_BRIDGE ? 1 / SHORT_S
                                                              : healthy;
  }
  for (int r = 0; r < SPICE_REPEATS; r++)
    times[r] = spice_cases(net, bridges, n_bridges, cases, SPICE_CASES, NULL) / SPICE_CASES;
  g_free(bridges);
  return median(times, SPICE_REPEATS) * 1e6;
}

typedef struct {
  int nodes, faults;
  double given, rest, curves, with_currents, threads, threads_cost, spice_us;
} Row;

static Row measure(int n_circuits)
{
  Job job = job_new(n_circuits, FALSE), bent = job_new(n_circuits, TRUE);
  const Row row = {.nodes = lg_net_n_nodes(job.net),
                   .faults = lg_faults_n(job.faults),
                   .given = rate(&job, FALSE, 1, CLOCK_THREAD_CPUTIME_ID, look),
                   .with_currents = rate(&job, FALSE, 1, CLOCK_THREAD_CPUTIME_ID, look_at_currents),
                   .rest = rate(&job, TRUE, 1, CLOCK_THREAD_CPUTIME_ID, look),
                   .curves = rate(&bent, TRUE, 1, CLOCK_THREAD_CPUTIME_ID, look),
                   .threads = two_thread_ratio(&job, CLOCK_MONOTONIC),
                   .threads_cost = 1 / two_thread_ratio(&job, CLOCK_PROCESS_CPUTIME_ID),
                   .spice_us = spice_us(&job)};
  job_clear(&job);
  job_clear(&bent);
  return row;
}

int main(int argc, char **argv)
{
  const gboolean json = argc > 1 && strcmp(argv[argc - 1], "--json") == 0;
  const Row row = measure(21);
  const double ratio = row.given * row.spice_us * 1e-6;
  if (json) {
    printf("{\"bench\": \"fault\", \"nodes\": %d, \"faults\": %d, \"states\": %d, \"per_s\": %.4g, "
           "\"per_s_with_currents\": %.4g, \"per_s_relays_to_rest\": %.4g, "
           "\"per_s_nonlinear_relays_to_rest\": %.4g, \"two_threads\": %.3g, \"two_threads_cost\": "
           "%.3g, \"ngspice_us\": %.4g, "
           "\"ngspice_over_ours\": %.4g}\n",
           row.nodes, row.faults, 1 << N_VARY, row.given, row.with_currents, row.rest, row.curves,
           row.threads, row.threads_cost, row.spice_us, ratio);
    return 0;
  }
  printf("faults, pairs of fault and state a second and thread: %d nodes, %d faults, %d states\n",
         row.nodes, row.faults, 1 << N_VARY);
  printf("  relays given                  %11.0f   target 1000000\n", row.given);
  printf("  and all currents              %11.0f\n", row.with_currents);
  printf("  relays to rest                %11.0f\n", row.rest);
  printf("  nonlinear, relays to rest     %11.0f\n", row.curves);
  printf("  two threads over one          %11.2f   target 1.8\n", row.threads);
  printf("  their processor time together %11.2f   of one's\n", row.threads_cost);
  printf("  ngspice, alter and op, us     %11.1f\n", row.spice_us);
  printf("  ngspice over ours             %11.0f   target 400\n", ratio);
  return 0;
}
