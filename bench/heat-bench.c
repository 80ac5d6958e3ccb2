/* Speed of the heat room: steady temperatures, allowed currents, and time-against-short tables of a
 * job of 100 circuits (300 wires in bundles of up to 15). One JSON line a figure. */
#include "heat/heat.h"

#include <stdio.h>
#include <time.h>

enum { WIRES = 300, BUNDLE = 15, PLACES = 8 };

typedef struct {
  LgHeatWire wires[WIRES];
  double current_A[WIRES], steady_K[WIRES];
  LgSurroundings around;
  LgCatalogue *catalogue;
} Job;

/* Invented: sizes and currents in a round. */
static void job_init(Job *job)
{
  job->catalogue = lg_catalogue_new();
  static const double mm2[] = {0.75, 1, 1.5, 2.5, 4, 6}, amps[] = {2, 4, 7, 11, 16, 22};
  for (int i = 0; i < WIRES; i++) {
    const LgConductor *conductor = lg_catalogue_conductor(job->catalogue, FALSE, mm2[i % 6]);
    g_assert_nonnull(conductor);
    job->wires[i] = lg_heat_wire(conductor, NULL);
    job->current_A[i] = amps[i % 6] * (1 + i % 7) / 9;
  }
  job->around = lg_covered_by(323.15, "slit-tube", 23e-3);
}

static LgHeatBundle bundle_of(const Job *job, int first)
{
  return (LgHeatBundle){&job->wires[first], &job->current_A[first], BUNDLE, job->around, 0};
}

static double alone(Job *job)
{
  for (int i = 0; i < WIRES; i++)
    job->steady_K[i] = lg_wire_temperature(&job->wires[i], &job->around, job->current_A[i]);
  return WIRES;
}

static double bundled(Job *job)
{
  for (int i = 0; i < WIRES; i += BUNDLE) {
    const LgHeatBundle bundle = bundle_of(job, i);
    g_assert_true(lg_bundle_temperatures(&bundle, &job->steady_K[i], NULL, NULL));
  }
  return WIRES;
}

static double allowed(Job *job)
{
  double limit_K[BUNDLE];
  for (int i = 0; i < BUNDLE; i++)
    limit_K[i] = 378.15;
  for (int i = 0; i < WIRES; i++) {
    const LgHeatBundle bundle = bundle_of(job, i - i % BUNDLE);
    g_assert_cmpfloat(lg_bundle_allowed(&bundle, i % BUNDLE, limit_K), >, 0);
  }
  return WIRES;
}

/* Each wire with its own fuse: a short at eight places, and where protection ends. */
static double shorts(Job *job)
{
  LgProtector fuse = {.kind = LG_PROTECTOR_FUSE,
                      .ambient_K = 323.15,
                      .catalogue = job->catalogue,
                      .form = "blade-regular"};
  for (int i = 0; i < WIRES; i++) {
    const LgHeatBundle bundle = bundle_of(job, i - i % BUNDLE);
    const LgHeatLoss loss = lg_heat_loss_in_bundle(&bundle, i % BUNDLE);
    const LgExposed exposed = {&job->wires[i], &loss, job->steady_K[i], 433.15};
    const double ohm = 6 * lg_heat_wire_ohm_m(&job->wires[i], 343.15);
    fuse.rating_A = 5 + 5 * (i % 6);
    const LgStretch feed[] = {{0.012, NULL, NULL}, {0.004, NULL, &fuse}, {ohm, &exposed, NULL}};
    const LgLoop loop = {12.6, feed, 3, {0.005, 0.005}};
    for (int k = 0; k < PLACES; k++)
      g_assert_cmpfloat(lg_short_at(&loop, (double)k / (PLACES - 1)).current_A, >, 0);
    lg_short_reach(&loop, NULL);
  }
  return WIRES;
}

/* By processor time: others may share the machine. */
static double busy_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void measure(const char *name, double (*run)(Job *), Job *job)
{
  run(job);
  const double start = busy_s();
  double wires = 0, seconds = 0;
  while (seconds < 0.5) {
    wires += run(job);
    seconds = busy_s() - start;
  }
  printf("{\"bench\": \"%s\", \"wires_per_s\": %.0f, \"ms_per_job_of_%d\": %.3f}\n", name,
         wires / seconds, WIRES, seconds / wires * WIRES * 1e3);
}

int main(void)
{
  static Job job;
  job_init(&job);
  measure("heat: steady, alone in a tube", alone, &job);
  measure("heat: steady, bundles of 15 in a tube", bundled, &job);
  measure("heat: allowed current given the others", allowed, &job);
  bundled(&job);
  measure("heat: shorts at 8 places and reach", shorts, &job);
  lg_catalogue_free(job.catalogue);
  return 0;
}
