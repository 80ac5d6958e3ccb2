/* Linear networks against KLU: 100 generated jobs, every state of some inputs, gates as our relays
 * left them. */
#include "harness-net.h"
#include "klu-net.h"

#include <math.h>

static int compare_job(LgNet *net, int n_vary, double *worst)
{
  const int n = lg_net_n_nodes(net), n_inputs = lg_net_n_inputs(net);
  g_autoptr(LgNetWork) work = lg_net_work_new(net);
  KluNet *klu = klu_net_new(net, 0);
  double *ours = g_new(double, n), *theirs = g_new(double, n);
  gboolean *closed = g_new(gboolean, lg_net_n_branches(net));
  int *position = g_new0(int, n_inputs), compared = 0;
  for (int state = 0; state < 1 << n_vary; state++) {
    for (int i = 0; i < n_vary; i++)
      position[i * n_inputs / n_vary] = state >> i & 1;
    const LgNetStatus status = lg_net_solve(net, work, position, NULL, ours, NULL, closed);
    if (status.n_floating > 0)
      continue; /* singular for KLU */
    for (int b = 0; b < lg_net_n_branches(net); b++)
      klu_net_set_closed(klu, b, closed[b]);
    g_assert_true(klu_net_solve(klu, theirs));
    for (int i = 0; i < n; i++)
      *worst = MAX(*worst, fabs(ours[i] - theirs[i]) / MAX(fabs(theirs[i]), 1e-3));
    compared++;
  }
  klu_net_free(klu);
  g_free(ours);
  g_free(theirs);
  g_free(closed);
  g_free(position);
  return compared;
}

static void test_jobs(void)
{
  double worst = 0;
  int compared = 0;
  for (guint32 seed = 1; seed <= 100; seed++) {
    const HarnessSpec spec = {
        .seed = 1000 + seed, .n_circuits = 6 + (int)seed, .relays = TRUE, .holding = TRUE};
    g_autoptr(LgNet) net = harness_net_new(&spec);
    compared += compare_job(net, 5, &worst);
  }
  g_test_message("%d states; worst difference %.2g", compared, worst);
  g_assert_cmpint(compared, >, 1000);
  g_assert_cmpfloat(worst, <, 1e-6);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/oracle/klu/jobs", test_jobs);
  return g_test_run();
}
