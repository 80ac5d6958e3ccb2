/* Shorts against sums by hand: Ohm's law, two batteries by superposition, k2S2. */
#include "studies/shorts.h"
#include "studies/studies-testing.h"

#define JOINT_OHM 0.002 /* a termination that is not named: circuit.c */
#define DEAD_OHM 1e-4   /* what the short itself has */

typedef struct {
  Made made;
  LgSizing *sizing;
  LgShorts *shorts;
} Bench;

static Bench open_bench(const char *text)
{
  g_autoptr(GError) error = NULL;
  Bench b = {.made = make(text)};
  b.sizing = lg_sizing_new(b.made.job, &error);
  g_assert_no_error(error);
  b.shorts = lg_shorts_new(b.sizing);
  return b;
}

static void close_bench(Bench *b)
{
  lg_shorts_free(b->shorts);
  lg_sizing_free(b->sizing);
  unmake(&b->made);
}

static const LgWireShort *short_of(const Bench *b, const char *wire)
{
  return &b->shorts->wires[wire_named(&b->made, wire)];
}

static double wire_ohm(const Bench *b, const char *name)
{
  const LgWire *const w = &b->made.job->wires[wire_named(&b->made, name)];
  return lg_wire_resistance(b->made.job, w, w->conductor, LG_ZERO_C_IN_K + 25);
}

static double figure(const Bench *b, const char *element, LgParam p)
{
  return b->made.job->elements[element_named(&b->made, element)].p[p];
}

static double emf(const Bench *b, const char *cell)
{
  return lg_battery_ocv(LG_CHEM_FLOODED, figure(b, cell, LG_P_CHARGE), 12);
}

static double fuse_ohm(const Bench *b, double rating_A)
{
  return lg_catalogue_fuse(b->made.catalogue, "blade-regular", rating_A)->cold_ohm;
}

static const char one_source[] =
    "job \"one\" nominal=12V ambient=25C..25C insulation=class-b\n"
    "part G1 battery-12 capacity=70Ah\npart XG ground\npart XR ground\npart F1 fuse-blade "
    "rating=15A\n"
    "part E1 heater power=60W\n"
    "wire V1 G1.- XG.1 BK 16mm2 length=0.3m\nwire W1 G1.+ F1.1 RD 6mm2 length=0.1m\n"
    "wire W2 F1.2 E1.1 RD 1.5mm2 length=6m\nwire W3 E1.2 XR.1 BN 1.5mm2 length=1m\n";

/* I = E / sum R, with every resistance of the loop by its own figure; used = I2t / k2S2. */
static void test_one_source(void)
{
  Bench b = open_bench(one_source);
  const double before = figure(&b, "G1.cell", LG_P_RESISTANCE) + wire_ohm(&b, "V1") +
                        figure(&b, "XG.body", LG_P_RESISTANCE) + wire_ohm(&b, "W1") +
                        fuse_ohm(&b, 15) + DEAD_OHM;
  const LgWireShort *const s = short_of(&b, "W2");
  const double E = emf(&b, "G1.cell");
  g_test_message("%.5g A, by hand %.5g A; %.5g A, by hand %.5g A", s->most_A, E / before,
                 s->least_A, E / (before + wire_ohm(&b, "W2")));
  g_assert_cmpfloat(fabs(s->most_A - E / before), <, 0.003 * s->most_A); /* the load's share */
  /* Its least is on warm wires: between the cold loop's and that of 40 K more. */
  g_assert_cmpfloat(s->least_A, <, E / (before + wire_ohm(&b, "W2")) * 1.003);
  g_assert_cmpfloat(s->least_A, >, E / (before + wire_ohm(&b, "W2")) / 1.16);
  g_assert_true(s->fed && s->reach >= 1 && s->clears >= 1);
  g_assert_cmpint(s->opened_by, ==, element_named(&b.made, "F1.fuse"));
  g_assert_cmpfloat(fabs(s->from_m), <, 1e-9);
  const double k = lg_copper_k(s->start_K, s->limit_K), mm2 = 1.358; /* 1.5 mm2 in the catalogue */
  g_assert_cmpfloat(fabs(s->used - s->amps * s->amps * s->opens_s / (k * k * mm2 * mm2)), <,
                    1e-6 * s->used);
  /* With 160 C as the end, k of IEC 60364-5-54 for PVC from 30 C is 143 (seen): ours starts at 25.
   */
  g_assert_cmpfloat(fabs(lg_copper_k(303.15, 433.15) - 143), <, 0.7);
  g_assert_false(short_of(&b, "W3")->fed);
  g_assert_false(short_of(&b, "V1")->fed);
  close_bench(&b);
}

/* Two batteries, each through its own fuse, meet at a stud. By superposition: what each gives with
 * the other a bare resistance, the stud tied to the body through the wire. */
static void test_two_batteries(void)
{
  Bench b = open_bench(
      "job \"two\" nominal=12V ambient=25C..25C insulation=class-b\n"
      "part G1 battery-12 capacity=70Ah\npart G2 battery-12 capacity=50Ah\n"
      "part XA ground\npart XB ground\npart XR ground\npart X1 stud\n"
      "part F1 fuse-blade rating=30A\npart F2 fuse-blade rating=20A\npart E1 heater power=10W\n"
      "wire V1 G1.- XA.1 BK 16mm2 length=0.3m\nwire V2 G2.- XB.1 BK 10mm2 length=0.4m\n"
      "wire W1 G1.+ F1.1 RD 6mm2 length=0.1m\nwire W2 G2.+ F2.1 RD 6mm2 length=0.1m\n"
      "wire W3 F1.2 X1.1 RD 6mm2 length=2m\nwire W4 F2.2 X1.1 RD 4mm2 length=3m\n"
      "wire W5 X1.1 E1.1 RD 4mm2 length=4m\nwire W6 E1.2 XR.1 BN 4mm2 length=1m\n");
  const double R1 = figure(&b, "G1.cell", LG_P_RESISTANCE) + wire_ohm(&b, "V1") +
                    figure(&b, "XA.body", LG_P_RESISTANCE) + wire_ohm(&b, "W1") + fuse_ohm(&b, 30) +
                    wire_ohm(&b, "W3"),
               R2 = figure(&b, "G2.cell", LG_P_RESISTANCE) + wire_ohm(&b, "V2") +
                    figure(&b, "XB.body", LG_P_RESISTANCE) + wire_ohm(&b, "W2") + fuse_ohm(&b, 20) +
                    wire_ohm(&b, "W4");
  const double E1 = emf(&b, "G1.cell"), E2 = emf(&b, "G2.cell");
  const double R3 = DEAD_OHM;
  const double by_first = E1 / (R1 + R2 * R3 / (R2 + R3)) * R2 / (R2 + R3),
               by_second = E2 / (R2 + R1 * R3 / (R1 + R3)) * R1 / (R1 + R3);
  const LgWireShort *const s = short_of(&b, "W5");
  g_test_message("%.6g A, by superposition %.6g A", s->most_A, by_first + by_second);
  g_assert_cmpfloat(fabs(s->most_A - (by_first + by_second)), <, 0.002 * s->most_A);
  /* Both fuses must open: the later one at its own share of the current. */
  const LgProtector first = lg_protector_of(b.made.job, element_named(&b.made, "F1.fuse"), 30),
                    second = lg_protector_of(b.made.job, element_named(&b.made, "F2.fuse"), 20);
  const double at_start_s =
      fmax(lg_opening_time(&first, E1 / R1).most_s, lg_opening_time(&second, E2 / R2).most_s);
  g_assert_cmpfloat(s->opens_s, >=, at_start_s * 0.99);
  close_bench(&b);
}

/* A long thin wire: the place from which on nothing need open is where E / R(x) falls to what the
 * fuse bears for ever, and the distance counts from the fuse. */
static void test_too_long(void)
{
  Bench b =
      open_bench("job \"long\" nominal=12V ambient=25C..25C insulation=class-b drop=50%\n"
                 "part G1 battery-12 capacity=70Ah\npart XG ground\npart XR ground\n"
                 "part F1 fuse-blade rating=15A\npart X1 splice\npart E1 heater power=2W\n"
                 "wire V1 G1.- XG.1 BK 16mm2 length=0.3m\nwire W1 G1.+ F1.1 RD 6mm2 length=0.1m\n"
                 "wire W2 F1.2 X1.1 RD 2.5mm2 length=2m\nwire W3 X1.1 E1.1 RD 1mm2 length=40m\n"
                 "wire W4 E1.2 XR.1 BN 1mm2 length=1m\n");
  const LgWireShort *const s = short_of(&b, "W3");
  const LgProtector fuse = lg_protector_of(b.made.job, element_named(&b.made, "F1.fuse"), 15);
  const double before = figure(&b, "G1.cell", LG_P_RESISTANCE) + wire_ohm(&b, "V1") +
                        figure(&b, "XG.body", LG_P_RESISTANCE) + wire_ohm(&b, "W1") +
                        fuse_ohm(&b, 15) + wire_ohm(&b, "W2") + DEAD_OHM;
  const double ohm = emf(&b, "G1.cell") / lg_protector_bears(&fuse) - before;
  const double x = ohm / wire_ohm(&b, "W3");
  g_test_message("nothing need open from %.4f on, by hand %.4f", s->clears, x);
  g_assert_cmpfloat(fabs(s->clears - x), <, 0.01);
  g_assert_cmpfloat(fabs(s->from_m - 2), <, 1e-9);
  close_bench(&b);
}

int main(int argc, char *argv[])
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/shorts/one-source", test_one_source);
  g_test_add_func("/shorts/two-batteries", test_two_batteries);
  g_test_add_func("/shorts/too-long", test_too_long);
  return g_test_run();
}
