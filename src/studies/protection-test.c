/* What protects a wire, on circuits small enough to see the answer. The jobs are invented; that a
 * fuse protects what lies behind it, and the lengths near a source, are the trade's (33 CFR
 * 183.455, ABYC E-11, ISO 10133 clause 8.1; memory). */
#include "studies/studies-testing.h"

#define HEAD                                                                                       \
  "job \"t\" nominal=12V\npart G1 battery-12 capacity=70Ah\npart XG ground\n"                      \
  "wire V1 G1.- XG.1 BK 16mm2 length=0.4m\n"

typedef struct {
  Made made;
  LgProtection *protection;
} Case;

static Case case_new(const char *text)
{
  Case c = {.made = make(text)};
  c.protection = lg_protection_new(c.made.job, NULL);
  return c;
}

static void case_drop(Case *c)
{
  lg_protection_free(c->protection, c->made.job->n_wires);
  unmake(&c->made);
}

static const LgProtection *of(const Case *c, const char *wire)
{
  return &c->protection[wire_named(&c->made, wire)];
}

static void assert_fused(const Case *c, const char *wire, LgSide side, const char *fuse,
                         double rating_A)
{
  const LgProtection *const p = of(c, wire);
  g_assert_cmpint(p->side, ==, side);
  g_assert_cmpfloat(p->rating_A, ==, rating_A);
  g_assert_cmpint(p->rating_device, ==, element_named(&c->made, fuse));
  g_assert_false(p->exempt);
}

static void assert_metres(double got, double want)
{
  g_assert_cmpfloat(fabs(got - want), <, 1e-9);
}

static void test_feed_load_return(void)
{
  Case c = case_new(
      HEAD "part F1 fuse-blade rating=15A\npart S1 switch-on-off\npart E1 lamp power=55W\n"
           "wire W1 G1.+ F1.1 RD 4mm2 length=0.3m\nwire W2 F1.2 S1.1 RD 2.5mm2 length=1m\n"
           "wire W3 S1.2 E1.1 RD 2.5mm2 length=1m\nwire W4 E1.2 XG.1 BK 2.5mm2 length=1m\n");
  const LgProtection *const bare = of(&c, "W1");
  g_assert_true(isinf(bare->rating_A));
  g_assert_cmpint(bare->n_devices, ==, 0);
  g_assert_cmpint(bare->bare_source, ==, element_named(&c.made, "G1.cell"));
  assert_metres(bare->bare_m, 0.3);
  assert_fused(&c, "W2", LG_SIDE_FEED, "F1.fuse", 15);
  assert_fused(&c, "W3", LG_SIDE_FEED, "F1.fuse", 15);
  assert_metres(of(&c, "W3")->bare_m, 0.3);
  g_assert_cmpint(of(&c, "W3")->bare_source, ==, -1);
  g_assert_cmpint(of(&c, "W3")->n_devices, ==, 1);
  assert_fused(&c, "W4", LG_SIDE_RETURN, "F1.fuse", 15);
  assert_fused(&c, "V1", LG_SIDE_RETURN, "F1.fuse", 15);
  case_drop(&c);
}

/* Of two fuses in a row the lesser counts, and the length is that up to the first. */
static void test_fuses_in_a_row(void)
{
  Case c = case_new(
      HEAD "part F1 fuse-maxi rating=40A\npart F2 fuse-blade rating=10A\npart E1 heater power=60W\n"
           "wire W1 G1.+ F1.1 RD 6mm2 length=0.1m\nwire W2 F1.2 F2.1 RD 6mm2 length=2m\n"
           "wire W3 F2.2 E1.1 RD 1.5mm2 length=1m\nwire W4 E1.2 XG.1 BK 1.5mm2 length=1m\n");
  assert_fused(&c, "W2", LG_SIDE_FEED, "F1.fuse", 40);
  assert_fused(&c, "W3", LG_SIDE_FEED, "F2.fuse", 10);
  assert_metres(of(&c, "W3")->bare_m, 0.1);
  case_drop(&c);
}

/* Two batteries: the link needs a fuse at either end, and the greater of two ways in counts. */
static void test_two_batteries(void)
{
  Case c =
      case_new(HEAD "part G3 battery-12 capacity=90Ah\nwire V2 G3.- XG.1 BK 16mm2 length=0.4m\n"
                    "part F1 fuse-maxi rating=50A\npart F2 fuse-maxi rating=60A\n"
                    "wire W1 G1.+ F1.1 RD 10mm2 length=0.1m\nwire W2 F1.2 F2.1 RD 10mm2 length=4m\n"
                    "wire W3 F2.2 G3.+ RD 10mm2 length=0.2m\n"
                    "part F3 fuse-blade rating=20A\npart E1 heater power=60W\n"
                    "wire W4 G3.+ F3.1 RD 4mm2 length=0.7m\nwire W5 F3.2 E1.1 RD 2.5mm2 length=1m\n"
                    "wire W6 E1.2 XG.1 BK 2.5mm2 length=1m\n");
  assert_fused(&c, "W2", LG_SIDE_FEED, "F2.fuse", 60);
  g_assert_cmpint(of(&c, "W2")->n_devices, ==, 2);
  assert_metres(of(&c, "W2")->bare_m, 0.2);
  g_assert_cmpint(of(&c, "W3")->bare_source, ==, element_named(&c.made, "G3.cell"));
  g_assert_true(isinf(of(&c, "W3")->rating_A));
  assert_metres(of(&c, "W4")->bare_m, 0.7);
  assert_fused(&c, "W5", LG_SIDE_FEED, "F3.fuse", 20);
  case_drop(&c);
}

/* A reversing switch lies at plus in one position and at ground in the other: the feed does not run
 * on into the ground, and the return of the motor carries the motor's fuse. */
static void test_reversing_switch(void)
{
  Case c =
      case_new(HEAD "part F1 fuse-blade rating=20A\npart S1 switch-reverse-braked\npart M1 motor "
                    "run=5A stall=20A\n"
                    "part F2 fuse-blade rating=5A\npart E2 lamp power=5W\n"
                    "wire W1 G1.+ F1.1 RD 4mm2 length=0.1m\nwire W2 F1.2 S1.+ RD 2.5mm2 length=1m\n"
                    "wire W3 S1.A M1.1 WH 2.5mm2 length=1m\nwire W4 S1.B M1.2 BK 2.5mm2 length=1m\n"
                    "wire W5 S1.- XG.1 BK 2.5mm2 length=1m\n"
                    "wire W6 G1.+ F2.1 RD 1mm2 length=0.1m\nwire W7 F2.2 E2.1 RD 1mm2 length=1m\n"
                    "wire W8 E2.2 XG.1 BK 1mm2 length=1m\n");
  assert_fused(&c, "W3", LG_SIDE_FEED, "F1.fuse", 20);
  assert_fused(&c, "W4", LG_SIDE_FEED, "F1.fuse", 20);
  assert_fused(&c, "W5", LG_SIDE_RETURN, "F1.fuse", 20);
  assert_fused(&c, "W8", LG_SIDE_RETURN, "F2.fuse", 5);
  case_drop(&c);
}

/* A switch on the ground side: what lies between load and switch carries the load's fuse. */
static void test_switch_on_the_ground_side(void)
{
  Case c =
      case_new(HEAD "part F1 fuse-blade rating=10A\npart E1 lamp power=21W\npart S1 switch-on-off\n"
                    "wire W1 G1.+ F1.1 RD 4mm2 length=0.1m\nwire W2 F1.2 E1.1 RD 1mm2 length=1m\n"
                    "wire W3 E1.2 S1.1 BK 1mm2 length=1m\nwire W4 S1.2 XG.1 BK 1mm2 length=1m\n");
  assert_fused(&c, "W3", LG_SIDE_BEHIND, "F1.fuse", 10);
  assert_fused(&c, "W4", LG_SIDE_RETURN, "F1.fuse", 10);
  case_drop(&c);
}

/* The thin return of a relay's coil is accepted; its feed is protected like any other. */
static void test_coil(void)
{
  Case c = case_new(
      HEAD "part F1 fuse-blade rating=30A\npart K1 relay-make\npart E1 heater power=200W\n"
           "wire W1 G1.+ F1.1 RD 6mm2 length=0.1m\nwire W2 F1.2 K1.30 RD 4mm2 length=1m\n"
           "wire W3 F1.2 K1.86 RD 4mm2 length=1m\nwire W4 K1.85 XG.1 BN 0.75mm2 length=1m\n"
           "wire W5 K1.87 E1.1 RD 4mm2 length=1m\nwire W6 E1.2 XG.1 BN 4mm2 length=1m\n");
  assert_fused(&c, "W3", LG_SIDE_FEED, "F1.fuse", 30);
  assert_fused(&c, "W5", LG_SIDE_FEED, "F1.fuse", 30);
  g_assert_cmpint(of(&c, "W4")->side, ==, LG_SIDE_RETURN);
  g_assert_true(of(&c, "W4")->exempt);
  g_assert_cmpfloat(of(&c, "W4")->rating_A, ==, 0);
  assert_fused(&c, "W6", LG_SIDE_RETURN, "F1.fuse", 30);
  case_drop(&c);
}

/* The alternator's cable is left bare, and lengths count from its end, where the battery is. */
static void test_charging_cable(void)
{
  Case c =
      case_new(HEAD "part G2 alternator-12 rated=55A\nwire W1 G2.B+ G1.+ RD 16mm2 length=1.5m\n"
                    "wire W2 G2.B- XG.1 BK 16mm2 length=0.5m\npart F1 fuse-blade rating=10A\n"
                    "part E1 lamp power=21W\nwire W3 G1.+ F1.1 RD 2.5mm2 length=0.15m\n"
                    "wire W4 F1.2 E1.1 RD 1mm2 length=1m\nwire W5 E1.2 XG.1 BK 1mm2 length=1m\n");
  g_assert_true(of(&c, "W1")->exempt);
  assert_metres(of(&c, "W3")->bare_m, 0.15);
  assert_metres(of(&c, "W4")->bare_m, 0.15);
  case_drop(&c);
}

/* An alternator whose cable has its fuse at the battery is bare on its own side for that length. */
static void test_alternator_is_a_source(void)
{
  Case c = case_new(
      HEAD "part G2 alternator-12 rated=55A\npart F1 fuse-maxi rating=70A\n"
           "wire W1 G2.B+ F1.1 RD 16mm2 length=1.5m\nwire W2 F1.2 G1.+ RD 16mm2 length=0.1m\n"
           "wire W3 G2.B- XG.1 BK 16mm2 length=0.5m\n");
  g_assert_cmpint(of(&c, "W1")->bare_source, ==, element_named(&c.made, "G2.out"));
  assert_metres(of(&c, "W1")->bare_m, 1.5);
  g_assert_false(of(&c, "W1")->exempt);
  g_assert_cmpint(of(&c, "W2")->bare_source, ==, element_named(&c.made, "G1.cell"));
  case_drop(&c);
}

static void test_nothing_reaches_a_dead_end(void)
{
  Case c = case_new(HEAD "part X1 splice\npart X2 splice\nwire W1 X1.1 X2.1 BU 1mm2 length=1m\n"
                         "part E1 thermistor\nwire W2 E1.1 X1.1 BU 1mm2 length=1m\n");
  g_assert_cmpint(of(&c, "W1")->side, ==, LG_SIDE_NONE);
  g_assert_true(of(&c, "W1")->exempt);
  case_drop(&c);
}

/* Plus at the body: the feed is the minus side. */
static void test_positive_ground(void)
{
  Case c = case_new(
      "job \"t\" nominal=12V ground=positive\npart G1 battery-12 capacity=70Ah\npart XG ground\n"
      "wire V1 G1.+ XG.1 RD 16mm2 length=0.4m\npart F1 fuse-blade rating=10A\npart E1 lamp "
      "power=21W\n"
      "wire W1 G1.- F1.1 BK 2.5mm2 length=0.1m\nwire W2 F1.2 E1.1 BK 1mm2 length=1m\n"
      "wire W3 E1.2 XG.1 RD 1mm2 length=1m\n");
  assert_fused(&c, "W2", LG_SIDE_FEED, "F1.fuse", 10);
  assert_fused(&c, "W3", LG_SIDE_RETURN, "F1.fuse", 10);
  g_assert_true(isinf(of(&c, "W1")->rating_A));
  case_drop(&c);
}

/* Two 12 V batteries in series: the wire between is a feed, not ground. */
static void test_batteries_in_series(void)
{
  Case c = case_new(
      "job \"t\" nominal=24V\npart G1 battery-12 capacity=70Ah\npart G2 battery-12 capacity=70Ah\n"
      "part XG ground\nwire V1 G1.- XG.1 BK 16mm2 length=0.4m\nwire V2 G1.+ G2.- RD 16mm2 "
      "length=0.3m\n"
      "part F1 fuse-blade rating=10A\npart E1 lamp power=21W\nwire W1 G2.+ F1.1 RD 2.5mm2 "
      "length=0.1m\n"
      "wire W2 F1.2 E1.1 RD 1mm2 length=1m\nwire W3 E1.2 XG.1 BK 1mm2 length=1m\n");
  g_assert_cmpint(of(&c, "V2")->side, ==, LG_SIDE_FEED);
  g_assert_true(isinf(of(&c, "V2")->rating_A));
  assert_fused(&c, "W2", LG_SIDE_FEED, "F1.fuse", 10);
  assert_fused(&c, "W3", LG_SIDE_RETURN, "F1.fuse", 10);
  case_drop(&c);
}

/* Chosen ratings go before those of the job. */
static void test_ratings_given(void)
{
  Made made = make(
      HEAD "part F1 fuse-blade\npart E1 lamp power=21W\nwire W1 G1.+ F1.1 RD 2.5mm2 length=0.1m\n"
           "wire W2 F1.2 E1.1 RD 1mm2 length=1m\nwire W3 E1.2 XG.1 BK 1mm2 length=1m\n");
  g_autofree double *ratings = g_new(double, (gsize)made.job->n_elements);
  for (int e = 0; e < made.job->n_elements; e++)
    ratings[e] = NAN;
  ratings[element_named(&made, "F1.fuse")] = 7.5;
  LgProtection *protection = lg_protection_new(made.job, ratings);
  g_assert_cmpfloat(protection[wire_named(&made, "W2")].rating_A, ==, 7.5);
  lg_protection_free(protection, made.job->n_wires);
  protection = lg_protection_new(made.job, NULL);
  g_assert_cmpfloat(protection[wire_named(&made, "W2")].rating_A, ==, 0);
  g_assert_cmpint(protection[wire_named(&made, "W2")].side, ==, LG_SIDE_FEED);
  lg_protection_free(protection, made.job->n_wires);
  unmake(&made);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/protection/feed-load-return", test_feed_load_return);
  g_test_add_func("/protection/fuses-in-a-row", test_fuses_in_a_row);
  g_test_add_func("/protection/two-batteries", test_two_batteries);
  g_test_add_func("/protection/reversing-switch", test_reversing_switch);
  g_test_add_func("/protection/switch-on-the-ground-side", test_switch_on_the_ground_side);
  g_test_add_func("/protection/coil", test_coil);
  g_test_add_func("/protection/charging-cable", test_charging_cable);
  g_test_add_func("/protection/alternator-is-a-source", test_alternator_is_a_source);
  g_test_add_func("/protection/nothing-reaches-a-dead-end", test_nothing_reaches_a_dead_end);
  g_test_add_func("/protection/positive-ground", test_positive_ground);
  g_test_add_func("/protection/batteries-in-series", test_batteries_in_series);
  g_test_add_func("/protection/ratings-given", test_ratings_given);
  return g_test_run();
}
