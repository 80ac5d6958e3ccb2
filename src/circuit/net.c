/* Building a network and reading it back. */
#include "circuit/net-private.h"

#include <stdlib.h>

gpointer lg_net_alloc(gsize n, gsize size)
{
  const gsize bytes = (MAX(n, 1) * size + 63) / 64 * 64;
  g_assert(size > 0 && n <= (G_MAXSIZE - 63) / size);
  gpointer block = aligned_alloc(64, bytes);
  if (block == NULL)
    g_error("no memory for %zu bytes", bytes);
  return memset(block, 0, bytes);
}

LgNet *lg_net_new(int n_nodes)
{
  g_assert(n_nodes >= 1);
  LgNet *net = g_new0(LgNet, 1);
  net->n_nodes = n_nodes;
  net->branches = g_array_new(FALSE, FALSE, sizeof(LgNetBranch));
  net->gates = g_array_new(FALSE, FALSE, sizeof(LgNetGate));
  net->inputs = g_array_new(FALSE, FALSE, sizeof(LgNetInput));
  net->coils = g_array_new(FALSE, FALSE, sizeof(LgNetCoil));
  return net;
}

static void free_lists(LgList *lists, guint n)
{
  for (guint i = 0; lists != NULL && i < n; i++)
    g_free(lists[i].item);
  g_free(lists);
}

void lg_net_free(LgNet *net)
{
  if (net == NULL)
    return;
  free_lists(net->gate_branches, net->gates->len);
  free_lists(net->input_gates, net->inputs->len);
  free_lists(net->coil_gates, net->coils->len);
  g_array_unref(net->branches);
  g_array_unref(net->gates);
  g_array_unref(net->inputs);
  g_array_unref(net->coils);
  gpointer owned[] = {net->forced,
                      net->column,
                      net->column_of,
                      net->node,
                      net->lost.item,
                      net->row,
                      net->row_node,
                      net->product,
                      net->product_start,
                      net->product_mid,
                      net->sum_product,
                      net->sum_start,
                      net->sum_fed,
                      net->basket,
                      net->basket_of,
                      net->part,
                      net->branch_column,
                      net->run,
                      net->variable,
                      net->curves,
                      net->curve,
                      net->floaters.column,
                      net->floaters.run,
                      net->coil_probe.column,
                      net->coil_probe.run,
                      net->curve_probe.column,
                      net->curve_probe.run,
                      net->coil_floaters.column,
                      net->coil_floaters.run,
                      net->curve_floaters.column,
                      net->curve_floaters.run};
  for (guint i = 0; i < G_N_ELEMENTS(owned); i++)
    g_free(owned[i]);
  g_free(net);
}

int lg_net_add_input(LgNet *net, LgNetInput input)
{
  g_assert(!net->closed && input.n_positions >= 1 && input.n_positions <= 63);
  g_array_append_val(net->inputs, input);
  return (int)net->inputs->len - 1;
}

/* A gate may name a coil that is added later (a relay that holds itself), so coils are checked at
 * closing. */
int lg_net_add_gate(LgNet *net, LgNetGate gate)
{
  g_assert(!net->closed && gate.coil >= -1);
  for (int i = 0; i < 2; i++)
    g_assert(gate.input[i] >= -1 && gate.input[i] < lg_net_n_inputs(net));
  g_array_append_val(net->gates, gate);
  return (int)net->gates->len - 1;
}

static gboolean is_positive(double value)
{
  return isfinite(value) && value > 0;
}

static gboolean params_are_sound(const LgNetBranch *branch)
{
  const double *p = branch->p;
  switch (branch->kind) {
  case LG_BRANCH_RESISTOR:
    return is_positive(p[0]);
  case LG_BRANCH_SOURCE:
    return is_positive(p[0]) && isfinite(p[1]);
  case LG_BRANCH_LIMITED:
    return is_positive(p[0]) && is_positive(p[1]) && is_positive(p[2]);
  case LG_BRANCH_LAMP:
    return is_positive(p[0]) && is_positive(p[1]) && is_positive(p[2]) && p[2] >= p[0];
  case LG_BRANCH_DIODE:
    return isfinite(p[0]) && is_positive(p[1]) && is_positive(p[2]);
  case LG_BRANCH_MOTOR:
  case LG_BRANCH_POWER:
    return is_positive(p[0]) && is_positive(p[1]);
  }
  return FALSE;
}

int lg_net_add_branch(LgNet *net, LgNetBranch branch)
{
  g_assert(!net->closed);
  g_assert(branch.a >= 0 && branch.a < net->n_nodes && branch.b >= 0 && branch.b < net->n_nodes);
  g_assert(branch.a != branch.b);
  g_assert(branch.gate >= -1 && branch.gate < (int)net->gates->len);
  g_assert(params_are_sound(&branch));
  g_array_append_val(net->branches, branch);
  return (int)net->branches->len - 1;
}

int lg_net_add_coil(LgNet *net, LgNetCoil coil)
{
  g_assert(!net->closed && coil.branch >= 0 && coil.branch < lg_net_n_branches(net));
  g_assert(is_positive(coil.drop_out_volts) && isfinite(coil.pull_in_volts));
  g_assert(coil.pull_in_volts > coil.drop_out_volts);
  g_array_append_val(net->coils, coil);
  return (int)net->coils->len - 1;
}

static void note_change(LgNet *net, int branch)
{
  net->changed[net->version % LG_CHANGES] = branch;
  net->version++;
}

void lg_net_set_param(LgNet *net, int branch, int k, double value)
{
  g_assert(branch >= 0 && branch < lg_net_n_branches(net) && k >= 0 && k < 3);
  LgNetBranch *b = &g_array_index(net->branches, LgNetBranch, branch);
  b->p[k] = value;
  g_assert(params_are_sound(b));
  note_change(net, branch);
}

void lg_net_force(LgNet *net, int branch, LgForce force)
{
  g_assert(net->breakable && net->closed);
  if (net->forced[branch] == force)
    return;
  net->forced[branch] = (guint8)force;
  note_change(net, branch);
}

void lg_net_reverse(LgNet *net, int branch)
{
  LgNetBranch *b = &g_array_index(net->branches, LgNetBranch, branch);
  const LgColumn *c = &net->column[net->branch_column[branch]];
  const int a = b->a;
  b->a = b->b;
  b->b = a;
  if (net->curve[branch] >= 0) {
    net->curves[net->curve[branch]].a = b->a;
    net->curves[net->curve[branch]].b = b->b;
  }
  for (int i = c->part; i < c->part_end; i++)
    if (net->part[i].branch == branch)
      net->part[i].sign = -net->part[i].sign;
  note_change(net, branch);
}

int lg_net_n_nodes(const LgNet *net)
{
  return net->n_nodes;
}

int lg_net_n_branches(const LgNet *net)
{
  return (int)net->branches->len;
}

int lg_net_n_inputs(const LgNet *net)
{
  return (int)net->inputs->len;
}

int lg_net_n_coils(const LgNet *net)
{
  return (int)net->coils->len;
}

const LgNetBranch *lg_net_branch(const LgNet *net, int branch)
{
  g_assert(branch >= 0 && branch < lg_net_n_branches(net));
  return lg_branch_at(net, branch);
}

const LgNetInput *lg_net_input(const LgNet *net, int input)
{
  g_assert(input >= 0 && input < lg_net_n_inputs(net));
  return &g_array_index(net->inputs, LgNetInput, input);
}

const LgNetGate *lg_net_gate(const LgNet *net, int gate)
{
  g_assert(gate >= 0 && gate < (int)net->gates->len);
  return &g_array_index(net->gates, LgNetGate, gate);
}

const LgNetCoil *lg_net_coil(const LgNet *net, int coil)
{
  g_assert(coil >= 0 && coil < lg_net_n_coils(net));
  return &g_array_index(net->coils, LgNetCoil, coil);
}
