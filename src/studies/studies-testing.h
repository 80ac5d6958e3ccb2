/* For the tests of this room: a job from a text, and generated jobs. */
#pragma once
#include "studies/checks.h"
#include <math.h>
#include <string.h>

typedef struct {
  LgCatalogue *catalogue;
  LgSheet *sheet;
  LgJob *job;
} Made;

static inline Made make(const char *text)
{
  g_autoptr(GBytes) bytes = g_bytes_new(text, strlen(text));
  Made made = {.catalogue = lg_catalogue_new(), .sheet = lg_sheet_read("test.job", bytes, FALSE)};
  made.job = lg_job_new(made.sheet, made.catalogue);
  const GPtrArray *const problems = lg_sheet_problems(made.sheet);
  for (guint i = 0; i < problems->len; i++) {
    const LgProblem *const p = problems->pdata[i];
    g_test_message("%d:%d: %s (%s)", p->origin.line, p->origin.column, p->what, p->remedy);
  }
  g_assert_nonnull(made.job);
  return made;
}

static inline void unmake(Made *made)
{
  lg_job_free(made->job);
  lg_sheet_free(made->sheet);
  lg_catalogue_free(made->catalogue);
}

static inline int wire_named(const Made *made, const char *name)
{
  const int wire = lg_job_find_wire(made->job, name);
  g_assert_cmpint(wire, >=, 0);
  return wire;
}

static inline int element_named(const Made *made, const char *name)
{
  const int element = lg_job_find_element(made->job, name);
  g_assert_cmpint(element, >=, 0);
  return element;
}

typedef struct {
  int n_circuits;
  gboolean alternator; /* with the positions off, idle, fast */
  gboolean curved;     /* lamps, motors and loads of constant power, too, not only heaters */
  const char *size;    /* of the wires: "auto", "2.5mm2" */
  const char *job_keys;
} Plan;

/* One circuit: fuse, switch or relay, load, ground; every third load switches itself. */
static inline void add_circuit(GString *text, GRand *rand, const Plan *plan, int i)
{
  static const char *const heaters[] = {"heater"};
  static const char *const loads[] = {"heater", "lamp", "motor", "lamp-led"};
  const char *const load = plan->curved ? loads[g_rand_int_range(rand, 0, 4)] : heaters[0];
  const gboolean relay = g_rand_int_range(rand, 0, 3) == 0;
  const double watts = g_rand_double_range(rand, 15, 90);
  const double metres = 0.1 * g_rand_int_range(rand, 3, 30);
  g_string_append_printf(text, "part F%d fuse-blade\npart S%d switch-on-off\n", i, i);
  if (strcmp(load, "motor") == 0)
    g_string_append_printf(text, "part E%d motor run=%.3gA stall=%.3gA\n", i, watts / 12,
                           watts / 3);
  else
    g_string_append_printf(text, "part E%d %s power=%.3gW%s\n", i, load, watts,
                           i % 3 == 2 ? " cycles=yes" : "");
  g_string_append_printf(text, "wire A%d X1.1 F%d.1 RD %s length=0.2m\n", i, i, plan->size);
  if (relay) {
    g_string_append_printf(text, "part K%d relay-make\n", i);
    g_string_append_printf(text, "wire B%d F%d.2 K%d.30 RD %s length=0.5m\n", i, i, i, plan->size);
    g_string_append_printf(text, "wire C%d K%d.87 E%d.1 RD %s length=%.3gm\n", i, i, i, plan->size,
                           metres);
    g_string_append_printf(text, "wire P%d KEY.15 S%d.1 BK 1mm2 length=0.5m\n", i, i);
    g_string_append_printf(text, "wire Q%d S%d.2 K%d.86 BK 1mm2 length=0.5m\n", i, i, i);
    g_string_append_printf(text, "wire R%d K%d.85 XG.1 BN 1mm2 length=0.5m\n", i, i);
  } else {
    g_string_append_printf(text, "wire B%d F%d.2 S%d.1 RD %s length=0.5m\n", i, i, i, plan->size);
    g_string_append_printf(text, "wire C%d S%d.2 E%d.1 RD %s length=%.3gm\n", i, i, i, plan->size,
                           metres);
  }
  g_string_append_printf(text, "wire D%d E%d.2 XG.1 BN %s length=%.3gm\n", i, i, plan->size,
                         metres);
}

/* A battery, a key, a stud that all circuits are fed from, a ground. Newly allocated. */
static inline char *generated_sheet(const Plan *plan, guint32 seed)
{
  GRand *const rand = g_rand_new_with_seed(seed);
  GString *const text = g_string_new(NULL);
  g_string_append_printf(text, "job \"generated\" nominal=12V %s\n", plan->job_keys);
  g_string_append(
      text, "part G1 battery-12 capacity=70Ah\npart KEY key-switch\npart X1 stud\n"
            "part XG ground\npart F0 fuse-maxi rating=60A\n"
            "wire V1 G1.- XG.1 BK 16mm2 length=0.5m\nwire V2 G1.+ F0.1 RD 10mm2 length=0.1m\n"
            "wire V3 F0.2 X1.1 RD 10mm2 length=1m\nwire V4 X1.1 KEY.30 RD 4mm2 length=0.4m\n");
  if (plan->alternator)
    g_string_append(text, "part G2 alternator-12 rated=55A\nwire V5 G2.B+ G1.+ RD 16mm2 length=1m\n"
                          "wire V6 G2.B- XG.1 BK 16mm2 length=0.5m\n");
  for (int i = 1; i <= plan->n_circuits; i++)
    add_circuit(text, rand, plan, i);
  g_rand_free(rand);
  return g_string_free(text, FALSE);
}
