/* Networks whose answer is known in closed form. */
#include "circuit/net.h"

#include <math.h>

static int resistor(LgNet *net, int a, int b, double ohm)
{
  return lg_net_add_branch(net, (LgNetBranch){LG_BRANCH_RESISTOR, a, b, -1, {1 / ohm}});
}

static int battery(LgNet *net, int plus, int minus, double volts, double ohm)
{
  return lg_net_add_branch(net, (LgNetBranch){LG_BRANCH_SOURCE, plus, minus, -1, {1 / ohm, volts}});
}

/* Solves the state of rest. */
static LgNetStatus solve(LgNet *net, double *volts, double *current)
{
  int rest[8] = {0};
  g_assert_cmpint(lg_net_n_inputs(net), <=, 8);
  g_autoptr(LgNetWork) work = lg_net_work_new(net);
  return lg_net_solve(net, work, rest, NULL, volts, current, NULL);
}

static void assert_close(double got, double expected, double relative)
{
  if (!(fabs(got - expected) <= relative * fabs(expected)))
    g_error("got %.17g, expected %.17g", got, expected);
}

/* Ohm's and Kirchhoff's laws: U2 = E R2 / (R + R1 + R2). */
static void test_divider(void)
{
  g_autoptr(LgNet) net = lg_net_new(3);
  double volts[3], current[3];
  battery(net, 1, 0, 12, 0.5);
  resistor(net, 1, 2, 1.5);
  resistor(net, 2, 0, 4);
  lg_net_close(net);
  const LgNetStatus status = solve(net, volts, current);
  g_assert_cmpint(status.outcome, ==, LG_SOLVED);
  g_assert_cmpint(status.n_floating, ==, 0);
  assert_close(volts[1], 11, 1e-15);
  assert_close(volts[2], 8, 1e-15);
  assert_close(current[0], -2, 1e-15);
  assert_close(current[1], 2, 1e-15);
  assert_close(current[2], 2, 1e-15);
  g_assert_cmpfloat(volts[0], ==, 0);
}

/* Wheatstone bridge with detector Rg and stiff source, textbook solution by Thevenin: open volts
 * E (R2/(R1+R2) - R4/(R3+R4)), inner resistance R1||R2 + R3||R4. */
static void test_bridge(void)
{
  const double r1 = 100, r2 = 101, r3 = 200, r4 = 199, rg = 50, e = 10;
  g_autoptr(LgNet) net = lg_net_new(4);
  double volts[4], current[6];
  battery(net, 1, 0, e, 1e-12);
  resistor(net, 1, 2, r1);
  resistor(net, 2, 0, r2);
  resistor(net, 1, 3, r3);
  resistor(net, 3, 0, r4);
  const int detector = resistor(net, 2, 3, rg);
  lg_net_close(net);
  solve(net, volts, current);
  const double open = e * (r2 / (r1 + r2) - r4 / (r3 + r4));
  assert_close(current[detector], open / (rg + r1 * r2 / (r1 + r2) + r3 * r4 / (r3 + r4)), 1e-11);
}

/* A ladder of n equal rungs and rails: from the far end volts and currents are Fibonacci numbers in
 * turn, and the resistance at its head tends to the golden ratio. */
static void test_ladder(void)
{
  enum { N = 40 };
  g_autoptr(LgNet) net = lg_net_new(N + 2);
  double volts[N + 2], current[2 * N + 2], fibonacci[2 * N + 3] = {0, 1};
  for (int i = 2; i < 2 * N + 3; i++)
    fibonacci[i] = fibonacci[i - 1] + fibonacci[i - 2];
  const int feed = battery(net, 1, 0, 1, 1); /* its resistance is the first rail */
  for (int k = 1; k <= N; k++) {
    resistor(net, k, 0, 1);
    resistor(net, k, k + 1, 1);
  }
  resistor(net, N + 1, 0, 1);
  lg_net_close(net);
  solve(net, volts, current);
  for (int k = 1; k <= N + 1; k++)
    assert_close(volts[k],
                 fibonacci[2 * (N + 1 - k) + 1] / (fibonacci[2 * N + 1] + fibonacci[2 * N + 2]),
                 1e-14);
  assert_close(1 / -current[feed], (1 + sqrt(5)) / 2, 1e-14);
}

/* Cube of equal resistors, known puzzle: 5/6 R across the body, 3/4 across a face, 7/12 along an
 * edge. */
static void test_cube(void)
{
  const double expected[] = {[1] = 7.0 / 12, [3] = 3.0 / 4, [7] = 5.0 / 6};
  for (int corner = 1; corner <= 7; corner = 2 * corner + 1) {
    g_autoptr(LgNet) net = lg_net_new(8);
    double volts[8], current[13];
    const int feed = battery(net, corner, 0, 1, 1e-3);
    for (int i = 0; i < 8; i++)
      for (int bit = 1; bit < 8; bit *= 2)
        if ((i & bit) == 0)
          resistor(net, i, i | bit, 1);
    lg_net_close(net);
    solve(net, volts, current);
    assert_close(1 / -current[feed], expected[corner] + 1e-3, 1e-14);
  }
}

/* Millman's theorem: U = sum (E/R) / sum (1/R). */
static void test_parallel_batteries(void)
{
  g_autoptr(LgNet) net = lg_net_new(2);
  double volts[2], current[3];
  battery(net, 1, 0, 12.8, 0.01);
  battery(net, 1, 0, 12.1, 0.02);
  resistor(net, 1, 0, 1.2);
  lg_net_close(net);
  solve(net, volts, current);
  const double u = (12.8 / 0.01 + 12.1 / 0.02) / (1 / 0.01 + 1 / 0.02 + 1 / 1.2);
  assert_close(volts[1], u, 1e-15);
  assert_close(current[1], (u - 12.1) / 0.02, 1e-12);
}

/* Two batteries in series, and a third one that touches the rest only through a megohm: no current
 * can flow there, so its volts stand on the tap exactly. */
static void test_floating_battery(void)
{
  g_autoptr(LgNet) net = lg_net_new(5);
  double volts[5], current[5];
  battery(net, 1, 0, 12, 0.01);
  battery(net, 2, 1, 12, 0.01);
  resistor(net, 2, 0, 11.98);
  resistor(net, 1, 3, 1e6);
  const int third = battery(net, 4, 3, 12, 1e-6);
  lg_net_close(net);
  solve(net, volts, current);
  assert_close(volts[2], 24 - 2 * 0.02, 1e-14);
  assert_close(volts[1], 12 - 0.02, 1e-14);
  assert_close(volts[4] - volts[3], 12, 1e-14);
  assert_close(volts[3], volts[1], 1e-14);
  g_assert_cmpfloat(fabs(current[third]), <, 1e-20);
}

/* A milliohm contact in a megohm circuit: I = E / sum R, to 1e-9 and better although the drop is 12
 * nV. */
static void test_stiff_current(void)
{
  g_autoptr(LgNet) net = lg_net_new(4);
  double volts[4], current[4];
  battery(net, 1, 0, 12, 1e-6);
  resistor(net, 1, 2, 1e-3);
  resistor(net, 2, 3, 1e-6);
  resistor(net, 3, 0, 1e9);
  lg_net_close(net);
  solve(net, volts, current);
  for (int i = 1; i < 4; i++)
    assert_close(current[i], 12 / (1e9 + 1e-3 + 2e-6), 1e-15);
  assert_close(current[0], -12 / (1e9 + 1e-3 + 2e-6), 1e-15);
}

/* Lamp with I ~ V^0.55 at its rated volts draws its rated current; below v_rated
 * (g_hot/g_cold)^(1/0.45) it is a resistor. */
static void test_curves_at_known_points(void)
{
  const struct {
    LgNetBranch branch;
    double volts, current;
  } points[] = {
      {{LG_BRANCH_LAMP, 1, 0, -1, {5 / 12.0, 12, 50 / 12.0}}, 12, 5},
      {{LG_BRANCH_LAMP, 1, 0, -1, {5 / 12.0, 12, 50 / 12.0}}, 6, 5 * pow(0.5, 0.55)},
      {{LG_BRANCH_LAMP, 1, 0, -1, {5 / 12.0, 12, 50 / 12.0}}, 0.01, 50 / 12.0 * 0.01},
      {{LG_BRANCH_LAMP, 0, 1, -1, {5 / 12.0, 12, 50 / 12.0}}, 12, -5},
      {{LG_BRANCH_MOTOR, 1, 0, -1, {3, 2}}, 8, 1.6}, /* 8 / sqrt (9 + 16) */
      {{LG_BRANCH_POWER, 1, 0, -1, {60, 6}}, 12, 5},
      {{LG_BRANCH_POWER, 1, 0, -1, {60, 6}}, 3, 5}, /* resistor of 0.6 ohm */
      {{LG_BRANCH_DIODE, 1, 0, -1, {0.7, 0.1, 0.02}}, 0.7, 0.2 * M_LN2 + 0.7e-9},
      {{LG_BRANCH_DIODE, 1, 0, -1, {0.7, 0.1, 0.02}}, -12, -12e-9},
      {{LG_BRANCH_LIMITED, 1, 0, -1, {100, 14, 70}}, 13.5, -50},
      {{LG_BRANCH_LIMITED, 1, 0, -1, {100, 14, 70}}, 6.3, -70 - 7 * 0.02 * 70 / 14},
      {{LG_BRANCH_LIMITED, 1, 0, -1, {100, 14, 70}}, 14.5, 0.5e-9},
  };
  for (guint i = 0; i < G_N_ELEMENTS(points); i++) {
    g_autoptr(LgNet) net = lg_net_new(2);
    double volts[2], current[2];
    battery(net, 1, 0,
            points[i].volts + points[i].current * 1e-3 * (points[i].branch.a == 1 ? 1 : -1), 1e-3);
    const int tested = lg_net_add_branch(net, points[i].branch);
    lg_net_close(net);
    const LgNetStatus status = solve(net, volts, current);
    g_assert_cmpint(status.outcome, ==, LG_SOLVED);
    assert_close(volts[1], points[i].volts, 1e-12);
    assert_close(current[tested], points[i].current, 1e-10);
    g_assert_cmpfloat(status.residual_A, <, 1e-9);
  }
}

/* What nothing ties to the reference has no volts; the rest is not disturbed. */
static void test_islands(void)
{
  g_autoptr(LgNet) net = lg_net_new(9);
  double volts[9], current[7];
  gboolean closed[7];
  const int key = lg_net_add_input(net, (LgNetInput){2});
  const int on = lg_net_add_gate(net, (LgNetGate){{key, -1}, {2, 0}, -1, FALSE});
  battery(net, 1, 0, 12, 0.01);
  const int feed = lg_net_add_branch(net, (LgNetBranch){LG_BRANCH_RESISTOR, 1, 2, on, {1e3}});
  const int lamp = resistor(net, 2, 3, 2);
  const int ground = lg_net_add_branch(net, (LgNetBranch){LG_BRANCH_RESISTOR, 3, 0, on, {1e3}});
  battery(net, 4, 5, 9, 1); /* an island with a battery and a load, never tied */
  resistor(net, 4, 5, 8);
  lg_net_add_branch(net, (LgNetBranch){LG_BRANCH_LAMP, 6, 7, -1, {1, 12, 10}});
  lg_net_close(net);
  g_autoptr(LgNetWork) work = lg_net_work_new(net);
  for (int position = 0; position < 2; position++) {
    const LgNetStatus status = lg_net_solve(net, work, &position, NULL, volts, current, closed);
    g_assert_cmpint(status.outcome, ==, LG_SOLVED);
    g_assert_cmpint(status.n_floating, ==, position == 0 ? 7 : 5);
    for (int i = 4; i < 9; i++)
      g_assert_true(isnan(volts[i]));
    g_assert_cmpint(isnan(volts[2]) != 0, ==, position == 0);
    g_assert_cmpint(isnan(volts[3]) != 0, ==, position == 0);
    g_assert_cmpint(closed[feed], ==, position == 1);
    g_assert_true(closed[lamp]);
    assert_close(current[lamp], position == 1 ? 12 / 2.012 : 0, 1e-14);
    assert_close(current[ground], position == 1 ? 12 / 2.012 : 0, 1e-14);
    g_assert_cmpfloat(current[4], ==, 0);
    g_assert_cmpfloat(current[6], ==, 0);
    if (position == 0)
      g_assert_cmpfloat(volts[1], ==, 12);
  }
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/net/closed/divider", test_divider);
  g_test_add_func("/net/closed/bridge", test_bridge);
  g_test_add_func("/net/closed/ladder", test_ladder);
  g_test_add_func("/net/closed/cube", test_cube);
  g_test_add_func("/net/closed/parallel-batteries", test_parallel_batteries);
  g_test_add_func("/net/closed/floating-battery", test_floating_battery);
  g_test_add_func("/net/closed/stiff-current", test_stiff_current);
  g_test_add_func("/net/closed/curves", test_curves_at_known_points);
  g_test_add_func("/net/closed/islands", test_islands);
  return g_test_run();
}
