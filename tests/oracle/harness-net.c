/* A battery, perhaps an alternator, a key switch with its feeds, and circuits of several kinds
 * between the feeds and the ground studs. All values are invented, of the size that vehicles have.
 */
#include "harness-net.h"

#include <math.h>

typedef struct {
  GArray *branches, *gates, *coils, *inputs;
  GRand *rand;
  const HarnessSpec *spec;
  int n_nodes;
  int feed[3];   /* permanent, accessory, ignition */
  int ground[4]; /* studs */
  int last_load; /* plus side of an earlier circuit's load, or -1 */
} Harness;

static int new_node(Harness *h)
{
  return h->n_nodes++;
}

static double between(Harness *h, double low, double high)
{
  return g_rand_double_range(h->rand, low, high);
}

static gboolean one_in(Harness *h, int n)
{
  return g_rand_int_range(h->rand, 0, n) == 0;
}

static int add(Harness *h, LgBranchKind kind, int a, int b, int gate, double p0, double p1,
               double p2)
{
  const LgNetBranch branch = {kind, a, b, gate, {p0, p1, p2}};
  g_array_append_val(h->branches, branch);
  return (int)h->branches->len - 1;
}

static int resistor(Harness *h, int a, int b, double ohm)
{
  return add(h, LG_BRANCH_RESISTOR, a, b, -1, 1 / ohm, 0, 0);
}

/* A new node behind a piece of wire with its terminations. */
static int wire(Harness *h, int from)
{
  const int to = new_node(h);
  resistor(h, from, to, between(h, 2e-3, 60e-3));
  return to;
}

/* A new node behind a fuse or a connector's cavity. */
static int contact(Harness *h, int from)
{
  const int to = new_node(h);
  resistor(h, from, to, between(h, 1e-3, 8e-3));
  return to;
}

static int gated(Harness *h, int from, int gate)
{
  const int to = new_node(h);
  add(h, LG_BRANCH_RESISTOR, from, to, gate, 1 / between(h, 2e-3, 20e-3), 0, 0);
  return to;
}

static int new_input(Harness *h, int n_positions)
{
  const LgNetInput input = {h->spec->several ? n_positions : 2};
  g_array_append_val(h->inputs, input);
  return (int)h->inputs->len - 1;
}

static int new_gate(Harness *h, int input, uint64_t positions, int coil, gboolean pulled)
{
  const LgNetGate gate = {{input, -1}, {positions, 0}, coil, pulled};
  g_array_append_val(h->gates, gate);
  return (int)h->gates->len - 1;
}

/* The gate of a circuit's own switch; with more than two positions it closes in some of them. */
static int switch_gate(Harness *h)
{
  const int n = g_rand_int_range(h->rand, 2, 5);
  const int input = new_input(h, n);
  const uint64_t on =
      h->spec->several && n > 2 ? 2u | (uint64_t)g_rand_int_range(h->rand, 0, 2) << 2 : 2u;
  return new_gate(h, input, on, -1, FALSE);
}

static void add_load(Harness *h, int plus, int minus)
{
  const double amperes =
      between(h, 0.3, 12) * MIN(1, 20.0 / h->spec->n_circuits); /* in all what a battery bears */
  const int kind = g_rand_int_range(h->rand, 0, h->spec->power ? 6 : 5);
  if (!h->spec->curves || kind == 0 || (kind == 3 && h->spec->no_motors)) {
    resistor(h, plus, minus, 12 / amperes);
  } else if (kind == 1 || kind == 2) {
    add(h, LG_BRANCH_LAMP, plus, minus, -1, amperes / 12, 12, amperes);
  } else if (kind == 3) {
    const double r = between(h, 0.1, 0.6);
    add(h, LG_BRANCH_MOTOR, plus, minus, -1, r, MIN(amperes, 8 / r), 0);
  } else if (kind == 4) {
    const int anode = new_node(h);
    resistor(h, plus, anode, between(h, 300, 900));
    add(h, LG_BRANCH_DIODE, anode, minus, -1, between(h, 1.7, 3.1), between(h, 2, 10), 0.05);
  } else {
    add(h, LG_BRANCH_POWER, plus, minus, -1, 12 * amperes / 4, 6, 0);
  }
}

static int ground_way(Harness *h)
{
  return wire(h, h->ground[g_rand_int_range(h->rand, 0, (int)G_N_ELEMENTS(h->ground))]);
}

static int fused_feed(Harness *h)
{
  return wire(
      h, contact(h, wire(h, h->feed[g_rand_int_range(h->rand, 0, (int)G_N_ELEMENTS(h->feed))])));
}

/* Fuse, switch, connector, one to three loads on a splice, ground. */
static void plain_circuit(Harness *h)
{
  const int plus = wire(h, contact(h, wire(h, gated(h, fused_feed(h), switch_gate(h)))));
  const int minus = contact(h, ground_way(h));
  for (int n = g_rand_int_range(h->rand, 1, 3); n > 0; n--)
    add_load(h, plus, minus);
  if (h->last_load >= 0 && h->spec->curves && one_in(h, 4)) /* two switches, one load */
    add(h, LG_BRANCH_DIODE, plus, h->last_load, -1, 0.65, 0.05, 0.03);
  h->last_load = plus;
}

/* The switch lies in the return, as in a courtesy lamp. */
static void ground_switched_circuit(Harness *h)
{
  const int plus = wire(h, contact(h, fused_feed(h)));
  const int minus = wire(h, wire(h, contact(h, gated(h, ground_way(h), switch_gate(h)))));
  add_load(h, plus, minus);
}

/* A switch feeds a coil, whose contact feeds the load; a diode quenches the coil; some relays hold
 * themselves. */
static void relay_circuit(Harness *h)
{
  const int coil_index = (int)h->coils->len;
  const int pulled = new_gate(h, -1, 0, coil_index, !one_in(h, 6));
  const int coil_plus = wire(h, gated(h, fused_feed(h), switch_gate(h))),
            coil_minus = ground_way(h);
  const LgNetCoil coil = {resistor(h, coil_plus, coil_minus, between(h, 70, 110)), between(h, 6, 8),
                          between(h, 1.5, 3), FALSE};
  g_array_append_val(h->coils, coil);
  if (h->spec->curves)
    add(h, LG_BRANCH_DIODE, coil_minus, coil_plus, -1, 0.7, 0.1, 0.03);
  const int plus = wire(h, gated(h, fused_feed(h), pulled));
  add_load(h, plus, ground_way(h));
  if (one_in(h, 5) && h->spec->holding)
    add(h, LG_BRANCH_RESISTOR, plus, coil_plus, new_gate(h, -1, 0, coil_index, TRUE), 50, 0, 0);
}

static void lay_supply(Harness *h)
{
  const int post = new_node(h), chassis = new_node(h);
  add(h, LG_BRANCH_SOURCE, post, 0, -1, 1 / between(h, 5e-3, 15e-3), between(h, 12.2, 12.9), 0);
  resistor(h, chassis, 0, between(h, 0.5e-3, 3e-3));
  h->feed[0] = contact(h, wire(h, post));
  if (h->spec->curves) {
    const int output = wire(h, post);
    add(h, LG_BRANCH_LIMITED, output, chassis, -1, between(h, 50, 200), between(h, 13.8, 14.4),
        between(h, 30, 90));
  }
  const int key = new_input(h, 4), from = wire(h, h->feed[0]);
  h->feed[1] = wire(h, gated(h, from, new_gate(h, key, h->spec->several ? 0x6 : 0x2, -1, FALSE)));
  h->feed[2] = wire(h, gated(h, from, new_gate(h, key, h->spec->several ? 0xc : 0x2, -1, FALSE)));
  for (guint i = 0; i < G_N_ELEMENTS(h->ground); i++)
    h->ground[i] = contact(h, wire(h, chassis));
}

static LgNet *build(Harness *h)
{
  LgNet *net = lg_net_new(h->n_nodes);
  for (guint i = 0; i < h->inputs->len; i++)
    lg_net_add_input(net, g_array_index(h->inputs, LgNetInput, i));
  for (guint i = 0; i < h->gates->len; i++)
    lg_net_add_gate(net, g_array_index(h->gates, LgNetGate, i));
  for (guint i = 0; i < h->branches->len; i++)
    lg_net_add_branch(net, g_array_index(h->branches, LgNetBranch, i));
  for (guint i = 0; i < h->coils->len; i++)
    lg_net_add_coil(net, g_array_index(h->coils, LgNetCoil, i));
  lg_net_close(net);
  return net;
}

LgNet *harness_net_new(const HarnessSpec *spec)
{
  Harness h = {.branches = g_array_new(FALSE, FALSE, sizeof(LgNetBranch)),
               .gates = g_array_new(FALSE, FALSE, sizeof(LgNetGate)),
               .coils = g_array_new(FALSE, FALSE, sizeof(LgNetCoil)),
               .inputs = g_array_new(FALSE, FALSE, sizeof(LgNetInput)),
               .rand = g_rand_new_with_seed(spec->seed),
               .spec = spec,
               .n_nodes = 1,
               .last_load = -1};
  lay_supply(&h);
  for (int i = 0; i < spec->n_circuits; i++) {
    const int kind = g_rand_int_range(h.rand, 0, 8);
    if (kind < 4)
      plain_circuit(&h);
    else if (kind < 5 || !spec->relays)
      ground_switched_circuit(&h);
    else
      relay_circuit(&h);
  }
  LgNet *net = build(&h);
  g_array_unref(h.branches);
  g_array_unref(h.gates);
  g_array_unref(h.coils);
  g_array_unref(h.inputs);
  g_rand_free(h.rand);
  return net;
}
