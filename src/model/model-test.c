/* The model: what a sheet becomes. The sheets here are small and invented; the facts checked are
 * the language's. */
#include "model/model.h"
#include <math.h>
#include <string.h>

typedef struct {
  LgCatalogue *catalogue;
  LgSheet *sheet;
  LgJob *job;
} Made;

static Made make(const char *text)
{
  g_autoptr(GBytes) bytes = g_bytes_new_static(text, strlen(text));
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

static void drop(Made *made)
{
  lg_job_free(made->job);
  lg_sheet_free(made->sheet);
  lg_catalogue_free(made->catalogue);
}

#define BASE                                                                                       \
  "job \"t\" nominal=12V\n"                                                                        \
  "place bay temperature=-20C..90C\nplace cab\nplace seat\n"                                       \
  "run long bay cab 1.5m\nrun short cab seat 0.5m\nrun detour bay seat 3m\n"                       \
  "part SEAT assembly at=seat\npart BAY assembly at=bay\n"                                         \
  "pin SEAT.1\npin SEAT.2\npin BAY.1\npin BAY.2\n"

static void test_route_takes_the_shortest_way(void)
{
  Made made = make(BASE "wire W1 BAY.1 SEAT.1 RD auto\nwire W2 BAY.2 SEAT.2 BK auto via=detour\n");
  const LgWire *const w1 = &made.job->wires[0], *const w2 = &made.job->wires[1];
  g_assert_cmpint(w1->n_runs, ==, 2);
  g_assert_cmpfloat(fabs(w1->length_m - 2.0), <, 1e-12);
  g_assert_cmpint(w2->n_runs, ==, 1);
  g_assert_cmpfloat(fabs(w2->length_m - 3.0), <, 1e-12);
  g_assert_cmpfloat(w1->hot_K, ==, LG_ZERO_C_IN_K + 90);
  g_assert_cmpint(w1->hottest_place, ==, 1 - 1);
  drop(&made);
}

static void test_sheet_overrides_the_type(void)
{
  Made made = make(
      "job \"t\"\npart K1 relay-make rating=20A resistance=90ohm\nelement K1.make rating=25A\n");
  const int make_contact = lg_job_find_element(made.job, "K1.make"),
            coil = lg_job_find_element(made.job, "K1.coil");
  g_assert_cmpint(make_contact, >=, 0);
  g_assert_cmpfloat(made.job->elements[make_contact].p[LG_P_RATING], ==, 25);
  g_assert_cmpfloat(made.job->elements[coil].p[LG_P_RESISTANCE], ==, 90);
  g_assert_cmpfloat(made.job->elements[make_contact].p[LG_P_RESISTANCE], <, 0.1);
  g_assert_cmpint(made.job->elements[make_contact].by, ==, coil);
  drop(&made);
}

static void test_figures_follow_from_each_other(void)
{
  Made made =
      make("job \"t\" nominal=24V\npart A assembly\npin A.1\npin A.2\n"
           "element A.pad heater 1 2 power=48W\nelement A.lamp lamp 1 2 power=12W volts=12V\n"
           "element A.fan fan 1 2 run=3A\n");
  const LgElement *const pad = &made.job->elements[0], *const lamp = &made.job->elements[1],
                         *const fan = &made.job->elements[2];
  g_assert_cmpfloat(fabs(pad->p[LG_P_RUN] - 2), <, 1e-12);
  g_assert_cmpfloat(fabs(pad->p[LG_P_RESISTANCE] - 12), <, 1e-12);
  g_assert_cmpfloat(fabs(lamp->p[LG_P_RUN] - 1), <, 1e-12);
  /* Filament lamp 10 times, motor 6 times at the start: a switch maker's load-type page, seen. */
  g_assert_cmpfloat(fabs(lamp->p[LG_P_START] - 10), <, 1e-12);
  g_assert_cmpfloat(fabs(fan->p[LG_P_START] - 18), <, 1e-12);
  drop(&made);
}

static void test_measured_needs_a_reading(void)
{
  Made made = make("job \"t\"\npart A assembly\npin A.1 evidence=measured\npin A.2 "
                   "evidence=measured\npin A.3 evidence=measured\n"
                   "reading M1 A.1 A.2 resistance=4.7ohm\n");
  g_assert_cmpint(made.job->pins[0].evidence, ==, LG_EVIDENCE_MEASURED);
  g_assert_cmpint(made.job->pins[2].evidence, ==, LG_EVIDENCE_DOCUMENT);
  g_assert_true(made.job->pins[2].said_measured);
  drop(&made);
}

static void test_conditions(void)
{
  Made made = make("job \"t\"\npart S1 assembly positions=off,low,high\npin S1.1\npin S1.2\n"
                   "element S1.a contact 1 2 closed=low,high\n");
  LgCondition condition;
  g_autoptr(GError) error = NULL;
  g_assert_true(lg_job_read_condition(made.job, "S1=low,high", &condition, &error));
  g_assert_cmphex(condition.positions, ==, 6);
  g_assert_false(lg_job_read_condition(made.job, "S1=hihg", &condition, &error));
  g_assert_error(error, LG_JOB_ERROR, 0);
  drop(&made);
}

static void test_variant_replaces_adds_and_leaves_out(void)
{
  Made made = make(BASE "wire W1 BAY.1 SEAT.1 RD 1mm2 via=detour\n"
                        "wire W2 BAY.2 SEAT.2 BK 1mm2 via=detour\n"
                        "need \"dark\" W1 current<1A\n"
                        "variant thick without=W2 \"one thick wire\"\n"
                        "wire W1 BAY.1 SEAT.1 RD 4mm2 via=detour\n"
                        "wire W3 BAY.2 SEAT.2 BN 4mm2 via=detour\n"
                        "variant other\n"
                        "wire W1 BAY.1 SEAT.1 RD 6mm2 via=detour\n");
  g_assert_cmpint(made.job->n_wires, ==, 2);
  g_assert_cmpfloat(made.job->wires[0].conductor->area_mm2, <, 1.2);
  g_assert_cmpint(lg_sheet_find_variant(made.sheet, "thin"), ==, 0);
  const int thick = lg_sheet_find_variant(made.sheet, "thick");
  g_autoptr(LgJob) job = lg_job_new_variant(made.sheet, made.catalogue, thick);
  g_assert_nonnull(job);
  g_assert_cmpint(job->n_wires, ==, 2);
  g_assert_cmpint(job->n_needs, ==, 1);
  g_assert_cmpstr(job->wires[0].name, ==, "W1");
  g_assert_cmpfloat(job->wires[0].conductor->area_mm2, >, 3);
  g_assert_cmpstr(job->wires[1].name, ==, "W3");
  g_assert_cmpint(lg_sheet_record(made.sheet, job->wires[1].record)->origin.line, ==,
                  job->wires[1].origin.line);
  drop(&made);
}

static void test_bodies_and_uses(void)
{
  Made made = make("job \"t\" ambient=-10C..30C\npart G1 battery-12 capacity=70Ah\n"
                   "part KEY key-switch\npart P1 assembly\npin P1.1\npin P1.2\npin P1.3\npin "
                   "P1.4\n"
                   "element P1.pad heater 1 2 power=40W warms=pad\n"
                   "element P1.ntc thermistor 3 4 r25=10kohm beta=3435K feels=pad\n"
                   "body pad is=pad capacity=700J/K touches=cover through=2W/K\n"
                   "body cover is=surface material=leather capacity=0.3kJ/K loss=1.5W/K\n"
                   "use morning lasts=20min repeat=120\n"
                   "step morning.2 5min speed=1800rpm when P1.pad=off\n"
                   "step morning.1 0min ambient=-15C when KEY=on\n");
  const LgJob *const job = made.job;
  g_assert_cmpint(job->n_bodies, ==, 2);
  g_assert_cmpint(job->bodies[0].touches, ==, lg_job_find_body(job, "cover"));
  g_assert_cmpfloat(job->bodies[1].capacity_J_K, ==, 300);
  g_assert_cmpint(job->bodies[1].material, ==, LG_MATERIAL_LEATHER);
  g_assert_cmpint(job->elements[lg_job_find_element(job, "P1.pad")].warms, ==, 0);
  g_assert_cmpint(job->elements[lg_job_find_element(job, "P1.ntc")].feels, ==, 0);
  const LgUse *const use = &job->uses[lg_job_find_use(job, "morning")];
  g_assert_cmpint(use->n_steps, ==, 2);
  g_assert_cmpfloat(use->ambient_K, ==, job->cold_K);
  g_assert_cmpfloat(use->steps[0].at_s, ==, 0);
  g_assert_cmpint(use->steps[0].set[0].input, ==, lg_job_find_input(job, "KEY"));
  g_assert_cmpfloat(use->steps[1].speed_rpm, ==, 1800);
  g_assert_true(isnan(use->steps[1].ambient_K));
  g_assert_cmpint(job->elements[lg_job_find_element(job, "G1.cell")].warms, ==, -1);
  drop(&made);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/model/route", test_route_takes_the_shortest_way);
  g_test_add_func("/model/override", test_sheet_overrides_the_type);
  g_test_add_func("/model/figures", test_figures_follow_from_each_other);
  g_test_add_func("/model/evidence", test_measured_needs_a_reading);
  g_test_add_func("/model/conditions", test_conditions);
  g_test_add_func("/model/variant", test_variant_replaces_adds_and_leaves_out);
  g_test_add_func("/model/bodies-and-uses", test_bodies_and_uses);
  return g_test_run();
}
