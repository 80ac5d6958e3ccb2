/* Batteries that stand, crank and are used, against hand calculation and the balance of energy. */
#include "studies/bodies.h"
#include "studies/studies-testing.h"

#define BASE                                                                                       \
  "job \"day\" nominal=12V ambient=-20C..40C insulation=class-b\n"                                 \
  "part G1 battery-12 capacity=70Ah cranking=600A charge=80%\npart XG ground\n"                    \
  "part F1 fuse-blade rating=20A\npart KEY key-switch\npart S1 switch-on-off\n"                    \
  "part G2 alternator-12 rated=60A only-when=\"KEY=on\"\npart E1 heater power=120W warms=room\n"   \
  "part B1 thermostat feels=room opens=20C closes=15C\n"                                           \
  "body room is=air capacity=4kJ/K loss=3W/K\n"                                                    \
  "wire V1 G1.- XG.1 BK 16mm2 length=0.5m\nwire V2 G2.B+ G1.+ RD 16mm2 length=1m\n"                \
  "wire V3 G2.B- XG.1 BK 16mm2 length=0.5m\nwire W1 G1.+ F1.1 RD 4mm2 length=0.2m\n"               \
  "wire W2 F1.2 KEY.30 RD 4mm2 length=0.5m\nwire W5 F1.2 S1.1 RD 4mm2 length=0.5m\n"               \
  "wire W3 S1.2 B1.1 RD 4mm2 length=1m\nwire W4 B1.2 E1.1 RD 4mm2 length=1m\n"                     \
  "wire W6 E1.2 XG.1 BN 4mm2 length=1m\n"

typedef struct {
  Made made;
  LgBodies *bodies;
  LgSupply *supply;
} Day;

static Day open_day(const char *text)
{
  Day d = {.made = make(text)};
  d.bodies = lg_bodies_new(d.made.job);
  d.supply = lg_supply_new(d.made.job, NULL, NULL);
  g_assert_nonnull(d.supply);
  return d;
}

static void close_day(Day *d)
{
  lg_supply_free(d->supply);
  lg_bodies_free(d->bodies);
  unmake(&d->made);
}

/* Everything that sources give is taken by loads, contacts, wires, batteries: the sum is 0
 * (Tellegen), in every stretch and over the use. */
static void test_energy(void)
{
  Day d = open_day(BASE "use day lasts=6h ambient=-5C\n"
                        "step day.1 0s speed=800rpm when KEY=on S1=on\n"
                        "step day.2 1h speed=2000rpm when KEY=on\n"
                        "step day.3 2h speed=0rpm when KEY=off\nstep day.4 5h when S1=off\n");
  g_autoptr(LgUseResult) r = lg_use_run(d.bodies, d.supply, &d.made.job->uses[0], NULL);
  double sum_J = r->wires_J, given_J = 0;
  for (int e = 0; e < d.made.job->n_elements; e++) {
    sum_J += r->joules[e];
    given_J -= fmin(r->joules[e], 0);
  }
  g_assert_cmpfloat(given_J, >, 1e5);
  g_assert_cmpfloat(fabs(sum_J) / given_J, <, 1e-9);
  const LgUseCell *const cell = &r->cells[element_named(&d.made, "G1.cell")];
  g_assert_cmpfloat(cell->given_Ah, >, 5);
  g_assert_cmpfloat(cell->taken_Ah, >, 1);
  g_assert_cmpint(r->closings[element_named(&d.made, "B1.heat")], >, 10);
  g_assert_cmpint(r->closings[element_named(&d.made, "S1.contact")], ==, 1);
  close_day(&d);
}

/* By hand: 120 W at 12 V are 1.2 ohm; the heater of a lump that the room never satisfies draws 12
 * V-odd through 1.2 ohm and the wires, for an hour; Peukert 1.25 with I20 = 3.5 A. */
static void test_discharge(void)
{
  Day d = open_day(BASE "use cold lasts=1h ambient=-40C\nstep cold.1 0s when S1=on\n");
  g_autoptr(LgUseResult) r = lg_use_run(d.bodies, d.supply, &d.made.job->uses[0], NULL);
  const LgUseCell *const cell = &r->cells[element_named(&d.made, "G1.cell")];
  const double amps = cell->given_Ah;
  g_assert_cmpfloat(fabs(amps - 12.3 / 1.25), <, 0.3);
  const double counted_Ah = amps * pow(amps / 3.5, 0.25);
  g_assert_cmpfloat(fabs(70 * (cell->start - cell->end) / counted_Ah - 1), <, 2e-3);
  g_assert_cmpfloat(cell->taken_Ah, <, 1e-9);
  g_assert_cmpfloat(fabs(cell->least - cell->end), <, 1e-12);
  close_day(&d);
}

/* Nine tenths of what is put in count; an alternator at speed charges, one that stands does not. */
static void test_charge(void)
{
  Day d =
      open_day(BASE "use drive lasts=1h ambient=25C\nstep drive.1 0s speed=2400rpm when KEY=on\n"
                    "use stand lasts=1h ambient=25C\nstep stand.1 0s speed=0rpm when KEY=on\n");
  const int g1 = element_named(&d.made, "G1.cell");
  g_autoptr(LgUseResult) drive = lg_use_run(d.bodies, d.supply, &d.made.job->uses[0], NULL);
  g_autoptr(LgUseResult) stand = lg_use_run(d.bodies, d.supply, &d.made.job->uses[1], NULL);
  g_assert_cmpfloat(drive->cells[g1].taken_Ah, >, 5);
  g_assert_cmpfloat(fabs(70 * (drive->cells[g1].end - 0.8) / (0.9 * drive->cells[g1].taken_Ah) - 1),
                    <, 1e-6);
  g_assert_cmpfloat(stand->cells[g1].taken_Ah, <, 1e-6);
  close_day(&d);
}

/* By hand: 42 Ah of 70 Ah down from 80 to 20 %; at 1 A, below I20, 42 h. At 14 A, four times I20,
 * 4^0.25 as much is counted. */
static void test_standing(void)
{
  Day d = open_day(BASE);
  const LgElement *const cell = &d.made.job->elements[element_named(&d.made, "G1.cell")];
  g_assert_cmpfloat(fabs(lg_cell_hours(cell, 1, 0.2) - 42), <, 1e-9);
  g_assert_cmpfloat(fabs(lg_cell_hours(cell, 14, 0.2) - 3 / pow(4, 0.25)), <, 1e-9);
  g_assert_cmpfloat(lg_cell_hours(cell, 1, 0.9), ==, 0);
  close_day(&d);
}

/* At the charge found, the battery of 600 A gives just 300 A at -18 C; warmer needs less charge. */
static void test_cranking(void)
{
  Day d = open_day(BASE);
  const int g1 = element_named(&d.made, "G1.cell");
  gboolean of_starter;
  g_assert_cmpfloat(fabs(lg_cranking_need_A(d.made.job, g1, &of_starter) - 300), <, 1e-9);
  g_assert_false(of_starter);
  const double at = lg_cranking_charge(d.made.job, g1, 255.15);
  g_assert_cmpfloat(fabs(lg_battery_cranking_A(0, 12, 3.0 / 600, at, 255.15) - 300), <, 1e-6);
  g_assert_cmpfloat(lg_cranking_charge(d.made.job, g1, 273.15), <, at);
  g_assert_true(isinf(lg_cranking_charge(d.made.job, g1, 200)));
  g_assert_cmpfloat(lg_cranking_charge(d.made.job, g1, 320), ==, 0);
  close_day(&d);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/energy/balance", test_energy);
  g_test_add_func("/energy/discharge", test_discharge);
  g_test_add_func("/energy/charge", test_charge);
  g_test_add_func("/energy/standing", test_standing);
  g_test_add_func("/energy/cranking", test_cranking);
  return g_test_run();
}
