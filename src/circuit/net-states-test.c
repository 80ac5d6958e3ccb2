/* Relays, and sweeps against single solutions. Behaviour of the relay circuits: textbook contact
 * logic (holding circuit, buzzer, interlock); voltages follow from Ohm's law with the resistances
 * given here. */
#include "../../tests/oracle/harness-net.h"
#include "circuit/net.h"

#include <math.h>

enum { REST, ON };

static int part(LgNet *net, int a, int b, int gate, double ohm)
{
  return lg_net_add_branch(net, (LgNetBranch){LG_BRANCH_RESISTOR, a, b, gate, {1 / ohm}});
}

static int battery(LgNet *net, double volts)
{
  return lg_net_add_branch(net, (LgNetBranch){LG_BRANCH_SOURCE, 1, 0, -1, {100, volts}});
}

static int input_gate(LgNet *net, int input)
{
  return lg_net_add_gate(net, (LgNetGate){{input, -1}, {1u << ON, 0}, -1, FALSE});
}

static int coil_gate(LgNet *net, int coil, gboolean pulled)
{
  return lg_net_add_gate(net, (LgNetGate){{-1, -1}, {0, 0}, coil, pulled});
}

/* Start button with the relay's own contact beside it, stop contact in series: the relay holds
 * itself. */
static void test_holding_circuit(void)
{
  g_autoptr(LgNet) net = lg_net_new(4);
  const int start = lg_net_add_input(net, (LgNetInput){2}),
            run = lg_net_add_input(net, (LgNetInput){2});
  battery(net, 12);
  part(net, 1, 2, input_gate(net, run), 0.01);
  part(net, 2, 3, input_gate(net, start), 0.01);
  part(net, 2, 3, coil_gate(net, 0, TRUE), 0.01);
  const int winding = part(net, 3, 0, -1, 80);
  lg_net_add_coil(net, (LgNetCoil){winding, 7, 2, FALSE});
  lg_net_close(net);
  g_autoptr(LgNetWork) work = lg_net_work_new(net);
  double volts[4];

  const int nothing[] = {[0] = REST, REST}, pressed[] = {ON, ON}, let_go[] = {REST, ON};
  g_assert_cmpint(start, ==, 0);
  g_assert_cmpint(lg_net_solve(net, work, nothing, NULL, volts, NULL, NULL).outcome, ==, LG_SOLVED);
  g_assert_cmpint(lg_net_solve(net, work, pressed, NULL, volts, NULL, NULL).outcome, ==, LG_SOLVED);
  const LgNetStatus status = lg_net_solve(net, work, let_go, NULL, volts, NULL, NULL);
  g_assert_cmpint(status.outcome, ==, LG_LATCHING);
  g_assert_cmpint(status.coil, ==, 0);
  g_assert_true(isnan(volts[3]) || volts[3] == 0);

  gboolean pulled = FALSE; /* press, let go, stop, let go again */
  const int *story[] = {pressed, let_go, nothing, let_go};
  const gboolean expected[] = {TRUE, TRUE, FALSE, FALSE};
  for (int i = 0; i < 4; i++) {
    g_assert_cmpint(lg_net_solve(net, work, story[i], &pulled, volts, NULL, NULL).outcome, ==,
                    LG_SOLVED);
    g_assert_cmpint(pulled, ==, expected[i]);
  }
}

/* A coil fed through its own break contact. */
static void test_buzzer(void)
{
  g_autoptr(LgNet) net = lg_net_new(5);
  lg_net_add_input(net, (LgNetInput){2});
  battery(net, 12);
  part(net, 1, 2, input_gate(net, 0), 0.01);
  part(net, 2, 3, coil_gate(net, 1, FALSE), 0.01);
  const int winding = part(net, 3, 0, -1, 80), other = part(net, 2, 0, -1, 80);
  lg_net_add_coil(net, (LgNetCoil){other, 7, 2, FALSE});
  lg_net_add_coil(net, (LgNetCoil){winding, 7, 2, FALSE});
  lg_net_close(net);
  g_autoptr(LgNetWork) work = lg_net_work_new(net);
  double volts[5];
  const int off = REST, on = ON;
  g_assert_cmpint(lg_net_solve(net, work, &off, NULL, volts, NULL, NULL).outcome, ==, LG_SOLVED);
  const LgNetStatus status = lg_net_solve(net, work, &on, NULL, volts, NULL, NULL);
  g_assert_cmpint(status.outcome, ==, LG_CHATTER);
  g_assert_cmpint(status.coil, ==, 1);
}

/* The relay's load pulls a thin feed down below drop-out: the contact starves its own coil. */
static void test_starved_coil(void)
{
  g_autoptr(LgNet) net = lg_net_new(4);
  battery(net, 12);
  part(net, 1, 2, -1, 2);
  const int winding = part(net, 2, 0, -1, 80);
  part(net, 2, 3, coil_gate(net, 0, TRUE), 0.01);
  const int load = part(net, 3, 0, -1, 0.1);
  lg_net_add_coil(net, (LgNetCoil){winding, 7, 2, FALSE});
  lg_net_close(net);
  g_autoptr(LgNetWork) work = lg_net_work_new(net);
  double volts[4];
  const int none = 0;
  g_assert_cmpint(lg_net_solve(net, work, &none, NULL, volts, NULL, NULL).outcome, ==, LG_CHATTER);
  lg_net_set_param(net, load, 0, 1 / 4.0); /* a lighter load leaves 8 V */
  g_assert_cmpint(lg_net_solve(net, work, &none, NULL, volts, NULL, NULL).outcome, ==, LG_SOLVED);
  g_assert_cmpfloat(volts[3], >, 7);
}

/* Between drop-out and pull-in the coil stays where it was: 12 V over 80 ohm and a rheostat. */
static void test_hysteresis(void)
{
  g_autoptr(LgNet) net = lg_net_new(3);
  battery(net, 12);
  const int rheostat = part(net, 1, 2, -1, 1), winding = part(net, 2, 0, -1, 80);
  lg_net_add_coil(net, (LgNetCoil){winding, 7, 3, FALSE});
  lg_net_close(net);
  g_autoptr(LgNetWork) work = lg_net_work_new(net);
  const double ohm[] = {300, 100, 50, 100, 200, 260, 300, 100};
  const gboolean expected[] = {0, 0, 1, 1, 1, 0, 0, 0};
  double volts[3];
  gboolean pulled = FALSE;
  const int none = 0;
  for (guint i = 0; i < G_N_ELEMENTS(ohm); i++) {
    lg_net_set_param(net, rheostat, 0, 1 / ohm[i]);
    lg_net_solve(net, work, &none, &pulled, volts, NULL, NULL);
    g_assert_cmpint(pulled, ==, expected[i]);
    const double u = volts[2];
    const LgOutcome both = lg_net_solve(net, work, &none, NULL, volts, NULL, NULL).outcome;
    g_assert_cmpint(both, ==, u >= 3 && u < 7 ? LG_LATCHING : LG_SOLVED);
  }
}

/* A polarised coil that is connected the wrong way round never pulls. */
static void test_polarity(void)
{
  for (int polarised = 0; polarised < 2; polarised++) {
    g_autoptr(LgNet) net = lg_net_new(2);
    battery(net, 12);
    const int winding = part(net, 0, 1, -1, 80);
    lg_net_add_coil(net, (LgNetCoil){winding, 7, 2, polarised});
    lg_net_close(net);
    g_autoptr(LgNetWork) work = lg_net_work_new(net);
    double volts[2];
    gboolean pulled = FALSE;
    const int none = 0;
    lg_net_solve(net, work, &none, &pulled, volts, NULL, NULL);
    g_assert_cmpint(pulled, ==, !polarised);
  }
}

/* Each relay breaks the other's coil. Moving both at once would go round for ever; one at a time
 * finds a rest, and which of the two it is depends on the start. */
static void test_interlock(void)
{
  g_autoptr(LgNet) net = lg_net_new(4);
  battery(net, 12);
  part(net, 1, 2, coil_gate(net, 1, FALSE), 0.01);
  part(net, 1, 3, coil_gate(net, 0, FALSE), 0.01);
  const int first = part(net, 2, 0, -1, 80), second = part(net, 3, 0, -1, 80);
  lg_net_add_coil(net, (LgNetCoil){first, 7, 2, FALSE});
  lg_net_add_coil(net, (LgNetCoil){second, 7, 2, FALSE});
  lg_net_close(net);
  g_autoptr(LgNetWork) work = lg_net_work_new(net);
  double volts[4];
  const int none = 0;
  const LgNetStatus status = lg_net_solve(net, work, &none, NULL, volts, NULL, NULL);
  g_assert_cmpint(status.outcome, ==, LG_LATCHING);
  g_assert_true((volts[2] > 7) != (volts[3] > 7));
}

/* Each relay of a chain feeds the next one's coil: as many passes as relays, and one to see that
 * all rest. */
static void test_chain(void)
{
  enum { N = 100 };
  g_autoptr(LgNet) net = lg_net_new(N + 2);
  lg_net_add_input(net, (LgNetInput){2});
  battery(net, 12);
  for (int i = 0; i < N; i++) {
    part(net, 1, i + 2, i == 0 ? input_gate(net, 0) : coil_gate(net, i - 1, TRUE), 0.01);
    lg_net_add_coil(net, (LgNetCoil){part(net, i + 2, 0, -1, 80), 7, 2, FALSE});
  }
  lg_net_close(net);
  g_autoptr(LgNetWork) work = lg_net_work_new(net);
  double volts[N + 2];
  gboolean pulled[N] = {0};
  const int on = ON;
  const LgNetStatus status = lg_net_solve(net, work, &on, pulled, volts, NULL, NULL);
  g_assert_cmpint(status.outcome, ==, LG_SOLVED);
  g_assert_cmpint(status.relay_passes, ==, N + 1);
  for (int i = 0; i < N; i++)
    g_assert_true(pulled[i] && volts[i + 2] > 11);
}

/* Under-voltage watch of a load: an outcome of LG_STALLED or a wrong branch would show as another
 * current. */
static void test_constant_power(void)
{
  g_autoptr(LgNet) net = lg_net_new(2);
  lg_net_add_branch(net, (LgNetBranch){LG_BRANCH_SOURCE, 1, 0, -1, {1 / 0.2, 12}});
  lg_net_add_branch(net, (LgNetBranch){LG_BRANCH_POWER, 1, 0, -1, {100, 6}});
  lg_net_close(net);
  g_autoptr(LgNetWork) work = lg_net_work_new(net);
  double volts[2], current[2];
  const LgNetStatus status = lg_net_solve(net, work, NULL, NULL, volts, current, NULL);
  g_assert_cmpint(status.outcome, ==, LG_SOLVED);
  /* v^2 - 12 v + 100 * 0.2 = 0, the upper root */
  g_assert_cmpfloat(fabs(volts[1] - (6 + 4)), <, 1e-9);
  g_assert_cmpfloat(fabs(current[1] - 10), <, 1e-9);
}

/* Kirchhoff's current law at every node, with the currents as they are given out. */
static void test_kirchhoff(void)
{
  double worst = 0;
  for (guint32 seed = 1; seed <= 40; seed++) {
    const HarnessSpec spec = {
        .seed = seed, .n_circuits = 12, .curves = seed % 2 == 0, .power = TRUE, .relays = TRUE};
    g_autoptr(LgNet) net = harness_net_new(&spec);
    g_autoptr(LgNetWork) work = lg_net_work_new(net);
    const int n_branches = lg_net_n_branches(net), n_nodes = lg_net_n_nodes(net);
    double *volts = g_new(double, n_nodes), *current = g_new(double, n_branches);
    double *sum = g_new0(double, n_nodes);
    int *position = g_new(int, lg_net_n_inputs(net));
    for (int i = 0; i < lg_net_n_inputs(net); i++)
      position[i] = (i + (int)seed) % 3 != 0;
    const LgNetStatus status = lg_net_solve(net, work, position, NULL, volts, current, NULL);
    g_assert_cmpint(status.outcome, !=, LG_STALLED);
    for (int b = 0; b < n_branches; b++) {
      sum[lg_net_branch(net, b)->a] -= current[b];
      sum[lg_net_branch(net, b)->b] += current[b];
    }
    for (int i = 1; i < n_nodes; i++)
      worst = MAX(worst, fabs(sum[i]));
    g_assert_cmpfloat(status.residual_A, <, 1e-8);
    g_free(volts);
    g_free(current);
    g_free(sum);
    g_free(position);
  }
  g_test_message("worst sum of a node's currents %.2g A", worst);
  g_assert_cmpfloat(worst, <, 1e-12);
}

typedef struct {
  LgNet *net;
  LgNetWork *work;
  const LgNetSweep *sweep;
  GHashTable *seen;
  double *volts, *current;
  gboolean *pulled;
  double worst_volts, worst_current;
  int outcomes[4];
} Check;

static void assert_same(double got, double expected, double scale, double *worst)
{
  g_assert_cmpint(isnan(got) != 0, ==, isnan(expected) != 0);
  if (!isnan(expected))
    *worst = MAX(*worst, fabs(got - expected) / scale);
}

static void check_lane(Check *check, const LgNetBlock *block, const LgNetWork *work, int lane)
{
  const LgNet *net = check->net;
  GString *key = g_string_new(NULL);
  for (int i = 0; i < lg_net_n_inputs(net); i++)
    g_string_append_printf(key, "%d ", block->position[lane][i]);
  if (check->sweep->skip != NULL)
    g_assert_false(check->sweep->skip(block->position[lane], check->sweep->user));
  g_assert_true(g_hash_table_add(check->seen, g_string_free(key, FALSE)));
  LgNetStatus status;
  if (check->sweep->with_relays) {
    status = lg_net_solve(net, check->work, block->position[lane], NULL, check->volts,
                          check->current, NULL);
    g_assert_cmpint(block->outcome[lane], ==, status.outcome);
    g_assert_cmpint(block->coil[lane], ==, status.coil);
    check->outcomes[status.outcome]++;
  }
  if (check->sweep->with_relays && block->outcome[lane] != LG_CHATTER) {
    for (int i = 0; i < lg_net_n_nodes(net); i++)
      assert_same(block->volts[i][lane], check->volts[i], 12, &check->worst_volts);
    for (int b = 0; b < lg_net_n_branches(net); b += 7) {
      double out[LG_LANES];
      lg_net_block_current(net, work, block, b, out);
      assert_same(out[lane], check->current[b], 1 + fabs(check->current[b]), &check->worst_current);
    }
  }
}

static void check_block(const LgNetBlock *block, const LgNetWork *work, gpointer user)
{
  Check *check = user;
  g_assert_cmpint(block->n, >=, 1);
  for (int lane = 0; lane < block->n; lane++)
    check_lane(check, block, work, lane);
  for (int lane = block->n; lane < LG_LANES; lane++)
    for (int i = 0; i < lg_net_n_nodes(check->net); i++)
      g_assert_true(block->volts[i][lane] == block->volts[i][0] ||
                    (isnan(block->volts[i][lane]) && isnan(block->volts[i][0])));
}

static guint64 count_unskipped(const LgNet *net, const LgNetSweep *sweep)
{
  int *position = g_memdup2(sweep->base, sizeof(int) * (gsize)lg_net_n_inputs(net));
  const guint64 size = lg_net_sweep_size(net, sweep);
  guint64 n = 0;
  for (guint64 state = 0; state < size; state++) {
    guint64 rest = state;
    for (int i = 0; i < sweep->n_vary; i++) {
      const guint64 positions = (guint64)lg_net_input(net, sweep->vary[i])->n_positions;
      position[sweep->vary[i]] = (int)(rest % positions);
      rest /= positions;
    }
    n += sweep->skip == NULL || !sweep->skip(position, sweep->user);
  }
  g_free(position);
  return n;
}

static gboolean skip_some(const int position[], gpointer user)
{
  (void)user;
  return (position[0] + 2 * position[1] + 3 * position[2]) % 5 == 1 ||
         (position[1] == 1 && position[3] == 1);
}

static void check_sweep(const HarnessSpec *spec, int n_vary, gboolean with_skip, Check *check)
{
  g_autoptr(LgNet) net = harness_net_new(spec);
  g_autoptr(LgNetWork) work = lg_net_work_new(net);
  g_autoptr(LgNetWork) own = lg_net_work_new(net);
  int *base = g_new0(int, lg_net_n_inputs(net) + 1), vary[16];
  for (int i = 0; i < lg_net_n_inputs(net); i++)
    base[i] = i % 3 == 0;
  for (int i = 0; i < n_vary; i++)
    vary[i] = i;
  g_assert_cmpint(n_vary, <=, lg_net_n_inputs(net));
  LgNetSweep sweep = {.vary = vary,
                      .n_vary = n_vary,
                      .base = base,
                      .with_relays = TRUE,
                      .skip = with_skip ? skip_some : NULL};
  check->net = net;
  check->work = own;
  check->sweep = &sweep;
  check->seen = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  check->volts = g_new(double, lg_net_n_nodes(net));
  check->current = g_new(double, lg_net_n_branches(net));
  guint64 visited = 0;
  sweep.n_parts = (int)spec->seed % 4; /* whole, or in up to three shares */
  for (sweep.part = 0; sweep.part < MAX(sweep.n_parts, 1); sweep.part++)
    visited += lg_net_sweep(net, work, &sweep, check_block, check);
  g_assert_cmpuint(visited, ==, g_hash_table_size(check->seen));
  g_assert_cmpuint(visited, ==, count_unskipped(net, &sweep));
  g_hash_table_unref(check->seen);
  g_free(check->volts);
  g_free(check->current);
  g_free(base);
}

/* Every state once, and each as a single solution gives it. */
static void test_sweep(gconstpointer curves)
{
  Check check = {0};
  for (guint32 seed = 1; seed <= 12; seed++) {
    const HarnessSpec spec = {.seed = seed,
                              .n_circuits = 6 + (int)seed,
                              .curves = curves != NULL,
                              .power = seed % 4 == 0,
                              .relays = TRUE,
                              .holding = TRUE,
                              .several = seed % 2 == 0};
    check_sweep(&spec, 4 + (int)seed % 3, seed % 3 == 0, &check);
  }
  g_test_message("worst difference: volts %.2g of 12 V, currents %.2g; states solved %d, latching "
                 "%d, chatter %d",
                 check.worst_volts, check.worst_current, check.outcomes[LG_SOLVED],
                 check.outcomes[LG_LATCHING], check.outcomes[LG_CHATTER]);
  g_assert_cmpfloat(check.worst_volts, <, curves != NULL ? 1e-9 : 1e-14);
  g_assert_cmpfloat(check.worst_current, <, curves != NULL ? 1e-8 : 1e-11);
  g_assert_cmpint(check.outcomes[LG_STALLED], ==, 0);
  g_assert_cmpint(check.outcomes[LG_LATCHING], >, 0);
}

/* Nothing to vary is one state; everything skipped is none. */
static gboolean skip_all(const int position[], gpointer user)
{
  (void)position;
  (void)user;
  return TRUE;
}

static void count_block(const LgNetBlock *block, const LgNetWork *work, gpointer user)
{
  (void)work;
  *(int *)user += block->n;
}

static void test_sweep_ends(void)
{
  const HarnessSpec spec = {
      .seed = 3, .n_circuits = 9, .relays = TRUE, .holding = TRUE, .several = TRUE};
  g_autoptr(LgNet) net = harness_net_new(&spec);
  g_autoptr(LgNetWork) work = lg_net_work_new(net);
  int *base = g_new0(int, lg_net_n_inputs(net)), vary[] = {0, 1, 2, 3}, visited = 0;
  LgNetSweep sweep = {.vary = vary, .base = base, .with_relays = TRUE};
  g_assert_cmpuint(lg_net_sweep(net, work, &sweep, count_block, &visited), ==, 1);
  g_assert_cmpint(visited, ==, 1);
  sweep.n_vary = 4;
  sweep.skip = skip_all;
  g_assert_cmpuint(lg_net_sweep(net, work, &sweep, count_block, &visited), ==, 0);
  g_assert_cmpint(visited, ==, 1);
  g_free(base);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/net/relay/holding-circuit", test_holding_circuit);
  g_test_add_func("/net/relay/buzzer", test_buzzer);
  g_test_add_func("/net/relay/starved-coil", test_starved_coil);
  g_test_add_func("/net/relay/hysteresis", test_hysteresis);
  g_test_add_func("/net/relay/polarity", test_polarity);
  g_test_add_func("/net/relay/interlock", test_interlock);
  g_test_add_func("/net/relay/chain", test_chain);
  g_test_add_func("/net/constant-power", test_constant_power);
  g_test_add_func("/net/kirchhoff", test_kirchhoff);
  g_test_add_data_func("/net/sweep/linear", NULL, test_sweep);
  g_test_add_data_func("/net/sweep/curves", "curves", test_sweep);
  g_test_add_func("/net/sweep/ends", test_sweep_ends);
  return g_test_run();
}
