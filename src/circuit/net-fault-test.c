/* Faults put into a laid-out network against a network that is built with the fault from the start,
 * and Ohm's law on one small enough for the back of an envelope. */
#include "../../tests/oracle/harness-net.h"
#include "circuit/net-fault.h"

#include <math.h>
#include <string.h>

typedef struct {
  LgNet *net;
  int *branch; /* [branches as given] branch here, -1: removed */
} Rebuilt;

static gboolean is_coil(const LgNet *net, int branch)
{
  for (int c = 0; c < lg_net_n_coils(net); c++)
    if (lg_net_coil(net, c)->branch == branch)
      return TRUE;
  return FALSE;
}

/* What the fault makes of a branch; FALSE: nothing is left of it. */
static gboolean make_branch(const LgFault *fault, int index, LgNetBranch *b)
{
  const int gate = b->gate;
  gboolean open = FALSE;
  for (int i = 0; i < fault->n; i++) {
    const LgChange *c = &fault->change[i];
    const gboolean by_gate =
        (c->kind == LG_CHANGE_GATE_OPEN || c->kind == LG_CHANGE_GATE_CLOSED) && c->gate == gate;
    if (!by_gate && (c->kind == LG_CHANGE_BRIDGE || c->kind == LG_CHANGE_GATE_OPEN ||
                     c->kind == LG_CHANGE_GATE_CLOSED || c->branch != index))
      continue;
    if (c->kind == LG_CHANGE_PARAM) {
      b->p[c->k] = c->value;
    } else if (c->kind == LG_CHANGE_REVERSED) {
      const int a = b->a;
      b->a = b->b;
      b->b = a;
    } else {
      open = c->kind == LG_CHANGE_OPEN || c->kind == LG_CHANGE_GATE_OPEN;
      b->gate = open ? gate : -1;
    }
  }
  return !open;
}

static Rebuilt rebuild(const LgNet *net, int n_gates, const LgFault *fault)
{
  Rebuilt r = {lg_net_new(lg_net_n_nodes(net)), g_new(int, lg_net_n_branches(net) + 1)};
  for (int i = 0; i < lg_net_n_inputs(net); i++)
    lg_net_add_input(r.net, *lg_net_input(net, i));
  for (int i = 0; i < n_gates; i++)
    lg_net_add_gate(r.net, *lg_net_gate(net, i));
  const int never = lg_net_add_gate(r.net, (LgNetGate){.input = {0, -1}, .coil = -1});
  for (int i = 0; i < lg_net_n_branches(net); i++) {
    LgNetBranch b = *lg_net_branch(net, i);
    r.branch[i] = -1;
    if (!make_branch(fault, i, &b)) {
      if (!is_coil(net, i))
        continue;
      b.gate = never;
    }
    r.branch[i] = lg_net_add_branch(r.net, b);
  }
  for (int i = 0; i < lg_net_n_coils(net); i++) {
    LgNetCoil coil = *lg_net_coil(net, i);
    coil.branch = r.branch[coil.branch];
    lg_net_add_coil(r.net, coil);
  }
  for (int i = 0; i < fault->n; i++)
    if (fault->change[i].kind == LG_CHANGE_BRIDGE)
      lg_net_add_branch(r.net, (LgNetBranch){.kind = LG_BRANCH_RESISTOR,
                                             .a = fault->change[i].a,
                                             .b = fault->change[i].b,
                                             .gate = -1,
                                             .p = {fault->change[i].value}});
  lg_net_close(r.net);
  return r;
}

static void rebuilt_clear(Rebuilt *r)
{
  lg_net_free(r->net);
  g_free(r->branch);
}

static int count_gates(const LgNet *net)
{
  int n = 0;
  for (int b = 0; b < lg_net_n_branches(net); b++)
    n = MAX(n, lg_net_branch(net, b)->gate + 1);
  return n;
}

static LgChange random_change(const LgNet *net, GRand *rand)
{
  const int n_nodes = lg_net_n_nodes(net);
  LgChange c = {.kind = (LgChangeKind)g_rand_int_range(rand, 0, LG_CHANGE_REVERSED + 1),
                .branch = g_rand_int_range(rand, 0, lg_net_n_branches(net)),
                .gate = g_rand_int_range(rand, 0, count_gates(net)),
                .a = g_rand_int_range(rand, 0, n_nodes),
                .value = exp(g_rand_double_range(rand, -4, 8))};
  c.b = (c.a + g_rand_int_range(rand, 1, n_nodes)) % n_nodes;
  if (g_rand_int_range(rand, 0, 2) == 0 && c.a != 1)
    c.b = 1; /* a hub */
  if (c.kind == LG_CHANGE_PARAM)
    c.value = lg_net_branch(net, c.branch)->p[0] * g_rand_double_range(rand, 0.05, 1);
  return c;
}

typedef struct {
  LgFault *fault;
  LgChange *change;
  int n;
} List;

/* Fault 0: nothing wrong; then single, double and triple ones. */
static List random_faults(const LgNet *net, int n, GRand *rand)
{
  List list = {g_new0(LgFault, n), g_new0(LgChange, 3 * n), n};
  for (int f = 1; f < n; f++) {
    list.fault[f] = (LgFault){f % 4 == 0 ? 2 : f % 7 == 0 ? 3 : 1, list.change + 3 * f};
    for (int i = 0; i < list.fault[f].n; i++)
      list.change[3 * f + i] = random_change(net, rand);
  }
  return list;
}

static void list_clear(List *list)
{
  g_free(list->fault);
  g_free(list->change);
}

typedef struct {
  const LgNet *net;
  const LgFault *faults;
  const Rebuilt *rebuilt;
  LgNetWork **works;
  double emf, worst_V, worst_A;
  int n, n_floating, n_odd;
} Judge;

static double greatest_emf(const LgNet *net)
{
  double most = 0;
  for (int b = 0; b < lg_net_n_branches(net); b++)
    if (lg_net_branch(net, b)->kind == LG_BRANCH_SOURCE ||
        lg_net_branch(net, b)->kind == LG_BRANCH_LIMITED)
      most = MAX(most, fabs(lg_net_branch(net, b)->p[1]));
  return most;
}

/* Greatest slope of a branch. */
static double steepest(const LgNetBranch *b)
{
  switch (b->kind) {
  case LG_BRANCH_LAMP:
    return b->p[2];
  case LG_BRANCH_MOTOR:
    return 1 / b->p[0];
  case LG_BRANCH_DIODE:
    return 1 / b->p[1];
  case LG_BRANCH_POWER:
    return b->p[0] / (b->p[1] * b->p[1]);
  default:
    return b->p[0];
  }
}

/* Relative to what the greatest emf would drive through the branch at its steepest, as the currents
 * of a sweep come from the volts. */
static void judge_currents(Judge *judge, const LgFaultBlock *shown, int lane, const double amps[])
{
  const Rebuilt *r = &judge->rebuilt[shown->fault];
  double out[LG_LANES];
  for (int b = 0; b < lg_net_n_branches(judge->net); b++) {
    lg_fault_current(shown, b, out);
    if (r->branch[b] < 0) {
      g_assert_cmpfloat(out[lane], ==, 0);
      continue;
    }
    const LgNetBranch *given = lg_net_branch(judge->net, b);
    const LgNetBranch *here = lg_net_branch(r->net, r->branch[b]);
    const double theirs = given->a == here->a ? amps[r->branch[b]] : -amps[r->branch[b]];
    const double size = steepest(here) * judge->emf + fabs(theirs);
    judge->worst_A = MAX(judge->worst_A, fabs(out[lane] - theirs) / size);
  }
}

static int count_bridges(const LgFault *fault)
{
  int n = 0;
  for (int i = 0; i < fault->n; i++)
    n += fault->change[i].kind == LG_CHANGE_BRIDGE;
  return n;
}

/* The bridges are the last branches of the rebuilt net. */
static void judge_bridges(Judge *judge, const LgFaultBlock *shown, int lane, const double amps[])
{
  const LgFault *fault = &judge->faults[shown->fault];
  int k = lg_net_n_branches(judge->rebuilt[shown->fault].net) - count_bridges(fault);
  double out[LG_LANES];
  for (int i = 0; i < fault->n; i++) {
    const LgChange *c = &fault->change[i];
    if (c->kind != LG_CHANGE_BRIDGE)
      continue;
    lg_fault_bridge_current(shown, i, out);
    const double miss = fabs(out[lane] - amps[k++]);
    judge->worst_A = MAX(judge->worst_A, miss / (c->value * judge->emf + fabs(out[lane])));
  }
}

static void judge_block(const LgFaultBlock *shown, gpointer user)
{
  Judge *judge = user;
  const Rebuilt *r = &judge->rebuilt[shown->fault];
  const int n = lg_net_n_nodes(judge->net);
  double *volts = g_new(double, n), *amps = g_new(double, lg_net_n_branches(r->net) + 1);
  for (int l = 0; l < shown->block->n; l++) {
    const LgOutcome outcome = lg_net_solve(r->net, judge->works[shown->fault],
                                           shown->block->position[l], NULL, volts, amps, NULL)
                                  .outcome;
    g_assert_cmpint(shown->block->outcome[l], ==, outcome);
    judge->n++;
    judge->n_odd += outcome != LG_SOLVED;
    if (outcome == LG_CHATTER || outcome == LG_STALLED)
      continue;
    for (int i = 0; i < n; i++) {
      const double ours = shown->block->volts[i][l];
      g_assert_cmpint(isnan(ours) != 0, ==, isnan(volts[i]) != 0);
      judge->n_floating += isnan(ours) != 0;
      if (!isnan(ours))
        judge->worst_V = MAX(judge->worst_V, fabs(ours - volts[i]) / judge->emf);
    }
    judge_currents(judge, shown, l, amps);
    judge_bridges(judge, shown, l, amps);
  }
  g_free(volts);
  g_free(amps);
}

static void judge_job(const HarnessSpec *spec, gboolean with_list, Judge *judge)
{
  g_autoptr(LgNet) net = harness_net_new(spec);
  GRand *rand = g_rand_new_with_seed(spec->seed);
  const int n_faults = 40, n_inputs = lg_net_n_inputs(net), n_states = 13;
  List list = random_faults(net, n_faults, rand);
  Rebuilt *rebuilt = g_new(Rebuilt, n_faults);
  LgNetWork **works = g_new(LgNetWork *, n_faults);
  for (int f = 0; f < n_faults; f++) {
    rebuilt[f] = rebuild(net, count_gates(net), &list.fault[f]);
    works[f] = lg_net_work_new(rebuilt[f].net);
  }
  int *states = g_new0(int, n_states *n_inputs), *vary = g_new(int, n_inputs);
  for (int i = n_inputs; i < n_states * n_inputs; i++)
    states[i] = g_rand_int_range(rand, 0, lg_net_input(net, i % n_inputs)->n_positions);
  for (int i = 0; i < n_inputs; i++)
    vary[i] = i;
  const LgNetSweep sweep = {.vary = vary,
                            .n_vary = MIN(n_inputs, 4),
                            .base = states + n_inputs,
                            .listed = with_list ? states : NULL,
                            .n_listed = n_states,
                            .with_relays = TRUE};
  g_autoptr(LgFaults) faults = lg_faults_new(net, list.fault, n_faults);
  judge->net = net;
  judge->faults = list.fault;
  judge->rebuilt = rebuilt;
  judge->works = works;
  judge->emf = greatest_emf(net);
  const guint64 n = lg_faults_sweep(faults, &sweep, 1, NULL, judge_block, judge);
  g_assert_cmpuint(n, ==, (guint64)n_faults * lg_net_sweep_size(net, &sweep));
  for (int f = 0; f < n_faults; f++) {
    lg_net_work_free(works[f]);
    rebuilt_clear(&rebuilt[f]);
  }
  list_clear(&list);
  g_free(rebuilt);
  g_free(works);
  g_free(states);
  g_free(vary);
  g_rand_free(rand);
}

static void judge_jobs(gboolean curves, Judge *judge)
{
  for (guint32 seed = 1; seed <= 24; seed++) {
    const HarnessSpec spec = {.seed = seed,
                              .n_circuits = 2 + (int)seed % 11,
                              .curves = curves,
                              .power = seed % 3 == 0,
                              .relays = TRUE,
                              .holding = TRUE,
                              .several = seed % 2 == 0};
    judge_job(&spec, seed % 4 < 2, judge);
  }
  g_test_message("%d pairs of fault and state, %d floating nodes, %d that latch or chatter; worst "
                 "volts %.2g, worst currents %.2g",
                 judge->n, judge->n_floating, judge->n_odd, judge->worst_V, judge->worst_A);
  g_assert_cmpint(judge->n_floating, >, 1000);
  g_assert_cmpint(judge->n_odd, >, 20);
}

static void test_linear(void)
{
  Judge judge = {0};
  judge_jobs(FALSE, &judge);
  g_assert_cmpfloat(judge.worst_V, <, 1e-12);
  g_assert_cmpfloat(judge.worst_A, <, 1e-12);
}

static void test_curves(void)
{
  Judge judge = {0};
  judge_jobs(TRUE, &judge);
  g_assert_cmpfloat(judge.worst_V, <, 1e-12);
  g_assert_cmpfloat(judge.worst_A, <, 1e-12);
}

/* What a fault gives, as one number; bits that differ anywhere make another. */
static void add_bits(const LgFaultBlock *shown, gpointer user)
{
  guint64 *sums = user;
  for (int l = 0; l < shown->block->n; l++)
    for (int i = 0; i < 20; i++) {
      guint64 bits;
      memcpy(&bits, &shown->block->volts[i][l], sizeof bits);
      sums[shown->fault] = sums[shown->fault] * 6364136223846793005u + bits;
    }
}

static gboolean skip_every_third(int fault, gpointer user)
{
  (void)user;
  return fault % 3 == 2;
}

static void test_threads(void)
{
  const HarnessSpec spec = {
      .seed = 5, .n_circuits = 12, .curves = TRUE, .power = TRUE, .relays = TRUE};
  g_autoptr(LgNet) net = harness_net_new(&spec);
  GRand *rand = g_rand_new_with_seed(5);
  const int n = 120, n_inputs = lg_net_n_inputs(net);
  List list = random_faults(net, n, rand);
  g_autoptr(LgFaults) faults = lg_faults_new(net, list.fault, n);
  int *base = g_new0(int, n_inputs), vary[] = {0, 1, 2, 3, 4};
  const LgNetSweep sweep = {.vary = vary, .n_vary = 5, .base = base, .with_relays = TRUE};
  guint64 *one = g_new0(guint64, n), *three = g_new0(guint64, n), *some = g_new0(guint64, n);
  g_assert_cmpuint(lg_faults_sweep(faults, &sweep, 1, NULL, add_bits, one), ==,
                   (guint64)n * lg_net_sweep_size(net, &sweep));
  lg_faults_sweep(faults, &sweep, 3, NULL, add_bits, three);
  lg_faults_sweep(faults, &sweep, 2, skip_every_third, add_bits, some);
  for (int f = 0; f < n; f++) {
    g_assert_cmpuint(one[f], ==, three[f]);
    g_assert_cmpuint(some[f], ==, f % 3 == 2 ? 0 : one[f]);
  }
  list_clear(&list);
  g_rand_free(rand);
  g_free(base);
  g_free(one);
  g_free(three);
  g_free(some);
}

/* 12 V behind 0.1 ohm, a wire of 0.1 ohm, a lamp's place of 5.8 ohm; beside it two nodes of an
 * island that 1 ohm joins. */
static void test_by_hand(void)
{
  g_autoptr(LgNet) net = lg_net_new(5);
  const int battery = lg_net_add_branch(
      net, (LgNetBranch){.kind = LG_BRANCH_SOURCE, .a = 1, .b = 0, .gate = -1, .p = {10, 12}});
  const int wire = lg_net_add_branch(
      net, (LgNetBranch){.kind = LG_BRANCH_RESISTOR, .a = 1, .b = 2, .gate = -1, .p = {10}});
  const int load = lg_net_add_branch(
      net, (LgNetBranch){.kind = LG_BRANCH_RESISTOR, .a = 2, .b = 0, .gate = -1, .p = {1 / 5.8}});
  const int island = lg_net_add_branch(
      net, (LgNetBranch){.kind = LG_BRANCH_RESISTOR, .a = 3, .b = 4, .gate = -1, .p = {1}});
  lg_net_close(net);
  const LgChange cut[] = {{.kind = LG_CHANGE_OPEN, .branch = wire}};
  const LgChange shorted[] = {{.kind = LG_CHANGE_BRIDGE, .a = 2, .b = 0, .value = 1e3}};
  const LgChange joined[] = {{.kind = LG_CHANGE_BRIDGE, .a = 4, .b = 2, .value = 1},
                             {.kind = LG_CHANGE_BRIDGE, .a = 0, .b = 3, .value = 1}};
  const LgChange wrong_way[] = {{.kind = LG_CHANGE_REVERSED, .branch = battery}};
  const LgChange thin[] = {{.kind = LG_CHANGE_PARAM, .branch = wire, .k = 0, .value = 1 / 6.1}};
  const LgFault list[] = {{0, NULL},   {1, cut},       {1, shorted},
                          {2, joined}, {1, wrong_way}, {1, thin}};
  g_autoptr(LgFaults) faults = lg_faults_new(net, list, (int)G_N_ELEMENTS(list));
  g_autoptr(LgFaultWork) work = lg_fault_work_new(faults);
  double volts[5], amps[4 + LG_FAULT_BRIDGES];
  gboolean closed[4];
  lg_fault_solve(work, 0, NULL, NULL, volts, amps, closed);
  g_assert_cmpfloat_with_epsilon(amps[load], 2, 1e-12); /* 12 / (0.1 + 0.1 + 5.8) */
  g_assert_true(isnan(volts[3]) && isnan(volts[4]));
  lg_fault_solve(work, 1, NULL, NULL, volts, amps, closed);
  g_assert_cmpfloat_with_epsilon(volts[1], 12, 1e-12);
  g_assert_cmpfloat(volts[2], ==, 0); /* the load ties it to the reference */
  g_assert_false(closed[wire]);
  lg_fault_solve(work, 2, NULL, NULL, volts, amps, closed);
  const double stub = 1 / (1000 + 1 / 5.8), all = 12 / (0.2 + stub);
  g_assert_cmpfloat_with_epsilon(amps[wire], all, 1e-11);
  g_assert_cmpfloat_with_epsilon(amps[4], all * stub * 1000, 1e-11);
  lg_fault_solve(work, 3, NULL, NULL, volts, amps, closed);
  const double way = 1 / (1 / 5.8 + 1 / 3.0), at_2 = 12 * way / (0.2 + way);
  g_assert_cmpfloat_with_epsilon(volts[2], at_2, 1e-12);
  g_assert_cmpfloat_with_epsilon(amps[island], -at_2 / 3, 1e-12); /* from 4 to 3 */
  g_assert_cmpfloat_with_epsilon(amps[4], -at_2 / 3, 1e-12);
  g_assert_cmpfloat_with_epsilon(amps[5], -at_2 / 3, 1e-12);
  lg_fault_solve(work, 4, NULL, NULL, volts, amps, closed);
  g_assert_cmpfloat_with_epsilon(amps[load], -2, 1e-12);
  g_assert_cmpfloat_with_epsilon(amps[battery], 2, 1e-12); /* from node 1 still */
  lg_fault_solve(work, 5, NULL, NULL, volts, amps, closed);
  g_assert_cmpfloat_with_epsilon(amps[load], 1, 1e-12); /* 12 / (0.1 + 6.1 + 5.8) */
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/net-fault/rebuilt/linear", test_linear);
  g_test_add_func("/net-fault/rebuilt/curves", test_curves);
  g_test_add_func("/net-fault/threads", test_threads);
  g_test_add_func("/net-fault/by hand", test_by_hand);
  return g_test_run();
}
