/* Overloads and shorts: Ohm's law, the adiabatic bound, and pairs of fuse and wire that the trade
 * uses or knows to burn. */
#include "heat/heat.h"
#include "heat/published.h"

#include <math.h>

/* A battery, a fuse, one wire of `metres`, the body as return. */
typedef struct {
  LgHeatWire wire;
  LgHeatLoss loss;
  LgExposed exposed;
  LgProtector protector;
  LgStretch feed[3];
  LgLoop loop;
} Bench;

static void bench_init(Bench *b, double awg, double metres, const LgProtector *protector)
{
  const LgSurroundings air = lg_bare(313.15);
  b->wire = awg_wire(awg, 0.6);
  b->loss = lg_heat_loss(&b->wire, &air);
  b->exposed = (LgExposed){&b->wire, &b->loss, 343.15, 433.15};
  b->protector = *protector;
  b->feed[0] = (LgStretch){0.012, NULL, NULL};
  b->feed[1] = (LgStretch){0.003, NULL, &b->protector};
  b->feed[2] = (LgStretch){metres * lg_heat_wire_ohm_m(&b->wire, 343.15), &b->exposed, NULL};
  b->loop = (LgLoop){12.6, b->feed, 3, {0.005, 0.005}};
}

static LgProtector fuse_of(const LgCatalogue *catalogue, const char *form, double rating_A)
{
  return (LgProtector){.kind = LG_PROTECTOR_FUSE,
                       .rating_A = rating_A,
                       .ambient_K = 313.15,
                       .catalogue = catalogue,
                       .form = form,
                       .melting_A2s = NAN};
}

/* Ohm's law, the opening time at that current, I2t over k2 S2; and never hotter than without loss.
 */
static void test_numbers(void)
{
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  const LgProtector fuse = fuse_of(catalogue, "blade-regular", 15);
  Bench b;
  bench_init(&b, 14, 4, &fuse);
  for (double x = 0; x <= 1; x += 0.125) {
    const LgShort s = lg_short_at(&b.loop, x);
    g_assert_cmpfloat(fabs(s.current_A - 12.6 / (0.02 + x * b.feed[2].ohm)), <, 1e-9);
    const double opens_s = lg_opening_time(&fuse, s.current_A).most_s;
    g_assert_cmpfloat(s.opens_s, ==, opens_s);
    g_assert_cmpint(s.opened_by, ==, 1);
    g_assert_cmpint(s.hottest, ==, 2);
    const double joules = s.current_A * s.current_A * opens_s;
    const double k = lg_copper_k(343.15, 433.15) * b.wire.copper_m2 * 1e6;
    g_assert_cmpfloat(fabs(s.used - joules / (k * k)), <, 1e-9);
    g_assert_cmpfloat(s.reached_K, <=, lg_adiabatic_end(b.wire.copper_m2, 343.15, joules) + 0.1);
    g_assert_true(s.protects || s.used > 1);
  }
}

/* Largest fuse by wire as commonly listed (seen): a dead short anywhere in 5 m of wire is cleared
 * in time on the long edge, and so is every overload above what the fuse bears for ever. */
static void test_usual_pairs(void)
{
  static const struct {
    double awg;
    const char *form;
    double rating_A;
  } pairs[] = {{16, "blade-regular", 7.5}, {14, "blade-regular", 15}, {10, "blade-regular", 30},
               {8, "blade-maxi", 50},      {4, "bolt-30", 125},       {2, "bolt-51", 200}};
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  for (guint i = 0; i < G_N_ELEMENTS(pairs); i++) {
    const LgProtector fuse = fuse_of(catalogue, pairs[i].form, pairs[i].rating_A);
    Bench b;
    bench_init(&b, pairs[i].awg, 5, &fuse);
    LgShort worst;
    const double reach = lg_short_reach(&b.loop, &worst);
    const LgOverload over = lg_overload_worst(&b.exposed, &fuse, 12.6 / 0.02);
    g_test_message("%g AWG behind %g A: short to %.0f C, worst overload %.2f times, to %.0f C",
                   pairs[i].awg, pairs[i].rating_A, worst.reached_K - 273.15, over.load,
                   over.reached_K - 273.15);
    g_assert_cmpfloat(reach, ==, 1);
    g_assert_cmpfloat(over.reached_K, <, b.exposed.limit_K);
  }
}

/* A 60 A fuse before 20 AWG: the far end is too resistive for it. Where protection ends, the
 * bisected place is right on either side, and beyond it the wire alone would have to carry the
 * current. */
static void test_reach(void)
{
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  const LgProtector fuse = fuse_of(catalogue, "blade-maxi", 60);
  Bench b;
  bench_init(&b, 20, 8, &fuse);
  LgShort worst;
  const double reach = lg_short_reach(&b.loop, &worst);
  g_assert_cmpfloat(reach, <, 1);
  g_assert_false(worst.protects);
  g_assert_cmpfloat(worst.reached_K, >, 433.15);
  g_assert_false(lg_short_at(&b.loop, reach).protects);
  if (reach > 0)
    g_assert_true(lg_short_at(&b.loop, reach - 1.1e-3).protects);
  Bench safe;
  const LgProtector small = fuse_of(catalogue, "blade-mini", 5);
  bench_init(&safe, 20, 8, &small);
  g_assert_cmpfloat(lg_short_reach(&safe.loop, NULL), ==, 1);
}

/* The same place by hand: bolt fuse, long thin wire. From where I < 1.35 times the rating the fuse
 * may stay whole; if the wire cannot bear that, protection ends there at the latest. */
static void test_reach_by_resistance(void)
{
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  const LgProtector fuse = fuse_of(catalogue, "blade-maxi", 40);
  Bench b;
  bench_init(&b, 16, 20, &fuse);
  const double bears_A = 1.35 * 40 * lg_rerating(LG_PROTECTOR_FUSE, 313.15);
  const double x = (12.6 / bears_A - 0.02) / b.feed[2].ohm;
  g_assert_cmpfloat(x, <, 1);
  const double reach = lg_short_reach(&b.loop, NULL);
  g_assert_cmpfloat(reach, <=, x + 1e-3);
  const LgShort beyond = lg_short_at(&b.loop, x + 0.01);
  g_assert_true(isinf(beyond.opens_s));
  g_assert_cmpint(beyond.opened_by, ==, -1);
  g_assert_false(beyond.protects);
}

static void test_unprotected(void)
{
  const LgProtector none = {.kind = LG_PROTECTOR_FUSE, .rating_A = 10, .ambient_K = 300};
  Bench b;
  bench_init(&b, 12, 2, &none);
  const LgShort s = lg_short_at(&b.loop, 0.5);
  g_assert_true(isinf(s.opens_s));
  g_assert_false(s.protects);
  g_assert_cmpfloat(s.reached_K, >, 1000);
  g_assert_cmpfloat(lg_short_reach(&b.loop, NULL), ==, 0);
}

/* An electronic output holds the current, a self-closing breaker holds the mean. */
static void test_other_protectors(void)
{
  const LgProtector output = {
      .kind = LG_PROTECTOR_ELECTRONIC, .rating_A = 10, .limit_A = 14, .trip_s = 0.05};
  Bench b;
  bench_init(&b, 18, 3, &output);
  const LgShort s = lg_short_at(&b.loop, 0);
  g_assert_cmpfloat(fabs(s.current_A - 14), <, 1e-6);
  g_assert_cmpfloat(s.opens_s, ==, 0.05);
  g_assert_true(s.protects);
  g_assert_cmpfloat(lg_overload_worst(&b.exposed, &output, 500).current_A, <=, 14);
  LgProtector breaker = {.kind = LG_PROTECTOR_BREAKER,
                         .rating_A = 30,
                         .ambient_K = 313.15,
                         .reclose = LG_RECLOSE_SELF,
                         .off_s = 5};
  for (double amps = 1; amps < 500; amps *= 1.01) {
    const LgOpeningTime time = lg_opening_time(&breaker, amps);
    g_assert_cmpfloat(time.least_s, <=, time.most_s);
  }
  bench_init(&b, 18, 3, &breaker);
  const double cycling_K = lg_short_at(&b.loop, 1).reached_K;
  b.protector.reclose = LG_RECLOSE_HAND;
  g_assert_cmpfloat(lg_short_at(&b.loop, 1).reached_K, <=, cycling_K);
}

/* One source as a mesh is the loop; of two, the fault lasts as long as the slower feed, and an
 * overload that is said to hold is the one whose worst stays below the limit. */
static void test_mesh(void)
{
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  const LgProtector fuse = fuse_of(catalogue, "blade-regular", 15),
                    slow = fuse_of(catalogue, "blade-maxi", 30);
  Bench b;
  bench_init(&b, 14, 4, &fuse);
  const LgAmpsAlong amps = {lg_short_at(&b.loop, 0).current_A, lg_short_at(&b.loop, 1).current_A};
  const LgGuard guards[] = {{&fuse, amps, 0}, {&slow, {80, 80}, 1}};
  LgMeshShort mesh = {&b.exposed, {amps, {0, 0}}, guards, 1, 1};
  for (double x = 0; x <= 1; x += 0.125) {
    const LgShort one = lg_short_at(&b.loop, x), same = lg_mesh_short_at(&mesh, x);
    g_assert_cmpfloat(fabs(same.current_A - one.current_A), <, 1e-9 * one.current_A);
    g_assert_cmpfloat(fabs(same.opens_s - one.opens_s), <, 1e-6 * one.opens_s);
    g_assert_cmpfloat(fabs(same.reached_K - one.reached_K), <, 0.01);
  }
  LgShort worst;
  double x;
  g_assert_cmpfloat(fabs(lg_mesh_short_reach(&mesh, &worst, &x) - lg_short_reach(&b.loop, NULL)), <,
                    1e-9);
  mesh.n_guards = mesh.n_feeds = 2;
  g_assert_cmpfloat(lg_mesh_short_opens(&mesh, 0.5), ==, lg_opening_time(&slow, 80).most_s);
  for (double A = 5; A <= 40; A += 5) {
    const LgProtector tried = fuse_of(catalogue, "blade-regular", A);
    g_assert_cmpint(lg_overload_holds(&b.exposed, &tried, 400), ==,
                    lg_overload_worst(&b.exposed, &tried, 400).reached_K < b.exposed.limit_K);
  }
}

int main(int argc, char *argv[])
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/heat/short/numbers", test_numbers);
  g_test_add_func("/heat/short/usual-pairs", test_usual_pairs);
  g_test_add_func("/heat/short/reach", test_reach);
  g_test_add_func("/heat/short/reach-by-resistance", test_reach_by_resistance);
  g_test_add_func("/heat/short/unprotected", test_unprotected);
  g_test_add_func("/heat/short/other-protectors", test_other_protectors);
  g_test_add_func("/heat/short/mesh", test_mesh);
  return g_test_run();
}
