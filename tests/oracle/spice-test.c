/* Whole networks against ngspice 39, which solves the same equations by its own sparse LU and its
 * own Newton iteration: 240 generated jobs, each in some states, gates frozen. */
#include "circuit/net-fault.h"
#include "harness-net.h"
#include "spice.h"

#include <math.h>

typedef struct {
  int jobs, states, nodes, leaking;
  double worst, worst_leaking; /* relative to the node's volts, below 1 mV to 1 mV */
} Tally;

/* Nodes that hold to the reference through more than the leak of blocked diodes. On the others
 * ngspice has but a few digits: its diagonal sums a contact's 1e3 S with a leak's 1e-9 S, so 1e-4
 * of the leak is rounding. */
static gboolean *find_firm(const LgNet *net, const gboolean closed[], const double current[])
{
  gboolean *firm = g_new0(gboolean, lg_net_n_nodes(net)), more = TRUE;
  firm[0] = TRUE;
  while (more) {
    more = FALSE;
    for (int i = 0; i < lg_net_n_branches(net); i++) {
      const LgNetBranch *b = lg_net_branch(net, i);
      const gboolean leak =
          (b->kind == LG_BRANCH_DIODE || b->kind == LG_BRANCH_LIMITED) && fabs(current[i]) < 1e-6;
      if (closed[i] && !leak && firm[b->a] != firm[b->b])
        firm[b->a] = firm[b->b] = more = TRUE;
    }
  }
  return firm;
}

static void compare_state(LgNet *net, LgNetWork *work, const int position[], Tally *tally)
{
  const int n = lg_net_n_nodes(net);
  double *ours = g_new(double, n), *theirs = g_new(double, n);
  double *current = g_new(double, lg_net_n_branches(net));
  gboolean *closed = g_new(gboolean, lg_net_n_branches(net));
  const LgNetStatus status = lg_net_solve(net, work, position, NULL, ours, current, closed);
  gboolean *firm = find_firm(net, closed, current);
  g_assert_cmpint(status.outcome, !=, LG_STALLED);
  g_assert_true(spice_operating_point(net, closed, theirs));
  for (int i = 0; i < n; i++) {
    g_assert_cmpint(isnan(ours[i]) != 0, ==, isnan(theirs[i]) != 0);
    if (isnan(ours[i]))
      continue;
    double *worst = firm[i] ? &tally->worst : &tally->worst_leaking;
    *worst = MAX(*worst, fabs(ours[i] - theirs[i]) / MAX(fabs(theirs[i]), 1e-3));
    tally->nodes++;
    tally->leaking += !firm[i];
  }
  tally->states++;
  g_free(ours);
  g_free(theirs);
  g_free(current);
  g_free(closed);
  g_free(firm);
}

static void compare_jobs(gboolean curves, Tally *tally)
{
  for (guint32 seed = 1; seed <= 120; seed++) {
    const HarnessSpec spec = {.seed = seed,
                              .n_circuits = 2 + (int)seed % 17,
                              .curves = curves,
                              .power = seed % 3 == 0,
                              .relays = TRUE,
                              .holding = TRUE,
                              .several = seed % 2 == 0};
    g_autoptr(LgNet) net = harness_net_new(&spec);
    g_autoptr(LgNetWork) work = lg_net_work_new(net);
    GRand *rand = g_rand_new_with_seed(seed);
    int *position = g_new0(int, lg_net_n_inputs(net));
    for (int state = 0; state < 3; state++) {
      for (int i = 0; i < lg_net_n_inputs(net); i++)
        position[i] = state == 0 ? 0 : g_rand_int_range(rand, 0, lg_net_input(net, i)->n_positions);
      compare_state(net, work, position, tally);
    }
    tally->jobs++;
    g_free(position);
    g_rand_free(rand);
  }
  g_test_message("%d jobs, %d states, %d node volts; worst difference %.2g, on the %d that hang on "
                 "leaks %.2g",
                 tally->jobs, tally->states, tally->nodes, tally->worst, tally->leaking,
                 tally->worst_leaking);
}

static void test_linear(void)
{
  Tally tally = {0};
  compare_jobs(FALSE, &tally);
  g_assert_cmpfloat(tally.worst, <, 1e-6);
}

static void test_curves(void)
{
  Tally tally = {0};
  compare_jobs(TRUE, &tally);
  g_assert_cmpfloat(tally.worst, <, 1e-4);
  /* Volts that hang on the nanoamperes of blocked diodes: both solvers stop at a residual of 1e-10
   * A or so. */
  g_assert_cmpfloat(tally.worst_leaking, <, 5e-2);
}

enum { N_FAULTS = 24 };

/* Cuts, a contact that is stuck, bridges between any two nodes, a bad joint. */
static LgChange some_change(const LgNet *net, int number, GRand *rand)
{
  const LgChangeKind kinds[] = {LG_CHANGE_OPEN, LG_CHANGE_CLOSED, LG_CHANGE_BRIDGE,
                                LG_CHANGE_PARAM};
  LgChange c = {.kind = kinds[number % 4],
                .branch = g_rand_int_range(rand, 1, lg_net_n_branches(net)),
                .a = g_rand_int_range(rand, 0, lg_net_n_nodes(net) - 1),
                .value = 50};
  c.b = c.a + 1 + number % MIN(40, lg_net_n_nodes(net) - 1 - c.a);
  if (c.kind == LG_CHANGE_PARAM)
    c.value = lg_net_branch(net, c.branch)->p[0] / 40;
  return c;
}

/* One alteration for each branch, as what one case alters stays for the next, and for each bridge.
 */
typedef struct {
  int *resistor;
  double *ohm;
} Alterations;

static Alterations alter_all(const LgNet *net, const LgChange changes[], int fault,
                             const gboolean closed[])
{
  const int n = lg_net_n_branches(net);
  Alterations all = {g_new(int, n + N_FAULTS), g_new(double, n + N_FAULTS)};
  for (int i = 0; i < n + N_FAULTS; i++)
    all.resistor[i] = i;
  for (int b = 0; b < n; b++) {
    const LgChange *c = &changes[fault];
    const gboolean other = c->kind == LG_CHANGE_PARAM && c->branch == b;
    all.ohm[b] = closed[b] ? 1 / (other ? c->value : lg_net_branch(net, b)->p[0]) : 1e12;
  }
  for (int f = 0; f < N_FAULTS; f++)
    all.ohm[n + f] =
        f == fault && changes[f].kind == LG_CHANGE_BRIDGE ? 1 / changes[f].value : 1e12;
  return all;
}

/* Volts of nodes that hold to the reference, relative to the battery's; ngspice's open branches of
 * 1e12 ohm and its floating nodes are no match. Nor is a network whose battery is cut. */
static double compare_faults(const LgNet *net, GRand *rand, int *n_compared)
{
  const int n = lg_net_n_nodes(net), n_branches = lg_net_n_branches(net);
  LgChange changes[N_FAULTS];
  LgFault list[N_FAULTS];
  SpiceBridge bridges[N_FAULTS];
  SpiceCase cases[N_FAULTS];
  Alterations all[N_FAULTS];
  double *ours = g_new(double, N_FAULTS *n), *theirs = g_new(double, N_FAULTS *n), worst = 0;
  int *position = g_new0(int, lg_net_n_inputs(net));
  gboolean *closed = g_new(gboolean, n_branches);
  for (int f = 0; f < N_FAULTS; f++) {
    changes[f] = some_change(net, f, rand);
    list[f] = (LgFault){1, &changes[f]};
    bridges[f] = (SpiceBridge){changes[f].a, changes[f].b};
  }
  g_autoptr(LgFaults) faults = lg_faults_new(net, list, N_FAULTS);
  g_autoptr(LgFaultWork) work = lg_fault_work_new(faults);
  for (int f = 0; f < N_FAULTS; f++) {
    for (int i = 0; i < lg_net_n_inputs(net); i++)
      position[i] = g_rand_int_range(rand, 0, lg_net_input(net, i)->n_positions);
    lg_fault_solve(work, f, position, NULL, ours + f * n, NULL, closed);
    all[f] = alter_all(net, changes, f, closed);
    cases[f] = (SpiceCase){n_branches + N_FAULTS, all[f].resistor, all[f].ohm};
  }
  g_assert_true(isfinite(spice_cases(net, bridges, N_FAULTS, cases, N_FAULTS, theirs)));
  for (int i = 0; i < N_FAULTS * n; i++)
    if (!isnan(ours[i])) {
      worst = MAX(worst, fabs(ours[i] - theirs[i]) / 12);
      ++*n_compared;
    }
  for (int f = 0; f < N_FAULTS; f++) {
    g_free(all[f].resistor);
    g_free(all[f].ohm);
  }
  g_free(ours);
  g_free(theirs);
  g_free(position);
  g_free(closed);
  return worst;
}

static void test_faults(void)
{
  double worst = 0;
  int n = 0;
  for (guint32 seed = 1; seed <= 12; seed++) {
    const HarnessSpec spec = {
        .seed = seed, .n_circuits = 2 + (int)seed, .relays = TRUE, .several = seed % 2 == 0};
    g_autoptr(LgNet) net = harness_net_new(&spec);
    GRand *rand = g_rand_new_with_seed(seed);
    worst = MAX(worst, compare_faults(net, rand, &n));
    g_rand_free(rand);
  }
  g_test_message("%d node volts under faults, worst difference %.2g of 12 V", n, worst);
  g_assert_cmpfloat(worst, <, 1e-8);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/oracle/ngspice/linear", test_linear);
  g_test_add_func("/oracle/ngspice/curves", test_curves);
  g_test_add_func("/oracle/ngspice/faults", test_faults);
  return g_test_run();
}
