/* The route plan against figures reckoned by hand, and what must hold of every sheet drawn. */
#include "drawing/drawing-testing.h"
#include "drawing/route.h"
#include <math.h>

static const char route_sheet[] =
    "job \"Ring\" nominal=12V insulation=class-b\n"
    "place bay temperature=-20C..85C\n"
    "place wall hole=12mm edge=yes\n"
    "place dash opening-width=40mm opening-height=22mm\n"
    "place tunnel\n"
    "run a bay wall 1m cover=tube-7.5\n"
    "run b wall dash 0.5m cover=tube-6\n"
    "run c dash tunnel 0.7m moves=yes\n"
    "run d tunnel bay\n"
    "run e bay dash 3m\n"
    "part G1 battery-12 at=bay is=host capacity=60Ah\n"
    "part XG1 ground at=bay is=host\n"
    "part F1 fuse-blade at=bay\n"
    "part E1 lamp at=dash power=21W\n"
    "part E2 lamp at=tunnel power=21W\n"
    "part S1 switch-on-off at=dash body-width=37mm body-height=21.5mm rim=3mm\n"
    "part S2 switch-on-off at=dash body-width=30mm body-height=22mm\n"
    "part S3 switch-on-off at=dash body-width=41mm body-height=20mm rim=3mm\n"
    "wire W0 G1.- XG1.1 BK 16mm2 length=0.4m is=host\n"
    "wire W1 G1.+ F1.1 RD 2.5mm2 length=0.15m\n"
    "wire W2 F1.2 S1.1 RD 2.5mm2 via=a,b\n"
    "wire W3 S1.2 E1.1 RD/BK 2.5mm2 length=0.3m\n"
    "wire W4 E1.2 XG1.1 BN 2.5mm2 via=b,a\n"
    "wire W5 S1.2 E2.1 RD 1mm2 via=c\n"
    "wire W6 E2.2 XG1.1 BN 1mm2 via=d length=0.9m\n";

typedef struct {
  TestJob test;
  LgSizing *sizing;
  LgRoute *route;
} Made;

/* An example by name, NULL: the sheet above. */
static void make(Made *made, const char *name)
{
  if (name != NULL)
    test_job_open(&made->test, name);
  else
    test_job_init(&made->test, route_sheet);
  made->sizing = lg_sizing_new(made->test.job, NULL);
  g_assert_nonnull(made->sizing);
  made->route = lg_route_new(made->sizing);
}

static void clear(Made *made)
{
  lg_route_free(made->route);
  lg_sizing_free(made->sizing);
  test_job_clear(&made->test);
}

/* Two wires of one size lie side by side: twice the diameter (closed form). */
static void test_runs(void)
{
  Made made;
  make(&made, NULL);
  const LgRoute *const route = made.route;
  const double outer_m = made.sizing->wires[2].conductor->outer_m;
  const LgRunPlan *const a = &route->runs[0], *const b = &route->runs[1],
                         *const c = &route->runs[2];
  g_assert_cmpint(a->n_wires, ==, 2);
  g_assert_cmpfloat_with_epsilon(a->bundle_m, 2 * outer_m, 2e-3 * outer_m);
  /* 2.5 mm2 is 3 mm thick (ISO 6722-1, memory): 6 mm in a bore of 7.5 mm is 0.8, below 0.81. */
  g_assert_cmpfloat_with_epsilon(outer_m, 3e-3, 1e-4);
  g_assert_cmpint(a->fit, ==, LG_COVER_FITS);
  g_assert_cmpint(b->fit, ==, LG_COVER_TIGHT);
  g_assert_cmpstr(b->better->name, ==, "tube-7.5");
  /* Ten bundles (aircraft practice); 1 m at 450 mm makes three clips; what moves hangs free. */
  g_assert_cmpfloat_with_epsilon(a->bend_m, 10 * a->bundle_m, 1e-12);
  g_assert_cmpint(a->n_clips, ==, 3);
  g_assert_cmpint(c->n_clips, ==, 0);
  g_assert_true(a->hot);
  g_assert_false(c->hot);
  /* No covering in the sheet: one wire of 1 mm2, 2.1 mm thick, in the smallest slit tube. */
  g_assert_true(c->advised);
  g_assert_cmpstr(c->cover->name, ==, "tube-4.5");
  g_assert_cmpint(route->runs[4].n_wires, ==, 0);
  clear(&made);
}

/* Both wires and the thicker tube through a hole of 12 mm: 1.12 x 7.5 + 2 = 10.4 mm wants a grommet
 * of 12 mm and a hole of 16. */
static void test_holes(void)
{
  Made made;
  make(&made, NULL);
  const LgRoute *const route = made.route;
  g_assert_cmpint(route->n_holes, ==, 1);
  const LgHolePlan *const hole = &route->holes[0];
  g_assert_cmpfloat_with_epsilon(hole->passes_m, 10.4e-3, 0.05e-3);
  g_assert_cmpstr(hole->grommet->name, ==, "grommet-12");
  g_assert_false(hole->fits);
  g_assert_cmpfloat_with_epsilon(hole->fill, 10.4 * 10.4 / 144, 0.01);
  clear(&made);
}

static void test_openings(void)
{
  Made made;
  make(&made, NULL);
  const LgRoute *const route = made.route;
  g_assert_cmpint(route->n_openings, ==, 3);
  const LgOpeningPlan *const o = route->openings;
  /* 1.5 mm of gap on each side under a rim of 3 mm: fits. */
  g_assert_cmpint(o[0].fit, ==, LG_OPENING_FITS);
  g_assert_cmpfloat_with_epsilon(o[0].gap_m[0], 3e-3, 1e-9);
  /* 10 mm too wide without a rim: a plate of 52 x 34 mm with an opening of 30.5 x 22.5 mm. */
  g_assert_cmpint(o[1].fit, ==, LG_OPENING_TRIM);
  g_assert_cmpfloat_with_epsilon(o[1].trim_m[0], 52e-3, 1e-9);
  g_assert_cmpfloat_with_epsilon(o[1].trim_m[1], 34e-3, 1e-9);
  g_assert_cmpfloat_with_epsilon(o[1].cut_m[0], 30.5e-3, 1e-9);
  g_assert_cmpint(o[2].fit, ==, LG_OPENING_SMALL);
  /* As wide as the body and 0.5 mm, as high as it is already. */
  g_assert_cmpfloat_with_epsilon(o[2].cut_m[0], 41.5e-3, 1e-9);
  g_assert_cmpfloat_with_epsilon(o[2].cut_m[1], 22e-3, 1e-9);
  g_autoptr(GPtrArray) sheets = lg_openings_draw(route, 210, 297);
  g_assert_cmpuint(sheets->len, ==, 1);
  test_golden(sheets->pdata[0], "openings.svg");
  for (guint i = 0; i < sheets->len; i++)
    test_nothing_overlaps(sheets->pdata[i]);
  clear(&made);
}

static gboolean has_text(const GPtrArray *sheets, const char *part)
{
  for (guint s = 0; s < sheets->len; s++) {
    const GArray *const shapes = ((const LgDrawing *)sheets->pdata[s])->shapes;
    for (guint i = 0; i < shapes->len; i++) {
      const LgShape *const shape = &g_array_index(shapes, LgShape, i);
      if (shape->kind == LG_SHAPE_TEXT && strstr(shape->text, part) != NULL)
        return TRUE;
    }
  }
  return FALSE;
}

/* A ring is broken once and says so; a run without a length is a gap in print, no more. */
static void test_ring(void)
{
  Made made;
  make(&made, NULL);
  const LgRoute *const route = made.route;
  g_autoptr(GPtrArray) sheets = lg_route_draw(route, 210, 297);
  g_assert_true(has_text(sheets, "the ring is broken here"));
  g_assert_true(has_text(sheets, "length not in the sheet"));
  g_assert_true(has_text(sheets, "too small: grommet-12"));
  test_golden(sheets->pdata[0], "ring-route.svg");
  for (guint i = 0; i < sheets->len; i++)
    test_nothing_overlaps(sheets->pdata[i]);
  clear(&made);
}

static void test_examples(void)
{
  static const char *const names[] = {"library-van-seat.job", "co-op-flatbed.job",
                                      "library-van-seat-flawed.job", "co-op-flatbed-flawed.job"};
  for (gsize k = 0; k < G_N_ELEMENTS(names); k++) {
    Made made;
    make(&made, names[k]);
    const LgRoute *const route = made.route;
    g_autoptr(GPtrArray) sheets = lg_route_draw(route, 210, 297);
    g_assert_cmpuint(sheets->len, ==, 1);
    test_nothing_overlaps(sheets->pdata[0]);
    for (int r = 0; r < made.test.job->n_runs; r++)
      g_assert_true(has_text(sheets, made.test.job->runs[r].name));
    clear(&made);
  }
}

int main(int argc, char *argv[])
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/route/runs", test_runs);
  g_test_add_func("/route/holes", test_holes);
  g_test_add_func("/route/openings", test_openings);
  g_test_add_func("/route/ring", test_ring);
  g_test_add_func("/route/examples", test_examples);
  return g_test_run();
}
