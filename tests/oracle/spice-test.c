/* Whole networks against ngspice 39, which solves the same equations by its own sparse LU and its
 * own Newton iteration: 240 generated jobs, each in some states, gates frozen. */
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

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/oracle/ngspice/linear", test_linear);
  g_test_add_func("/oracle/ngspice/curves", test_curves);
  return g_test_run();
}
