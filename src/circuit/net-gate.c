/* Inputs and coils to closed gates, and closed gates to the values of branches. */
#include "circuit/net-private.h"

gboolean lg_gate_is_closed(const LgNet *net, int gate, const int position[], const uint64_t *pulled)
{
  const LgNetGate *g = lg_net_gate(net, gate);
  if (!lg_net_inputs_allow(g, position, 1))
    return FALSE;
  return g->coil < 0 || (pulled[g->coil / 64] >> (g->coil % 64) & 1) == (g->coil_pulled ? 1 : 0);
}

/* A nonlinear branch keeps the line of its last linearisation over the time that it is open. */
void lg_slate_load_branch(const LgNet *net, LgSlate *slate, int branch)
{
  const LgNetBranch *b = lg_branch_at(net, branch);
  const int n = slate->lanes, curve = net->curve[branch];
  double *g = slate->g + net->variable[branch] * n, *k = slate->k + net->variable[branch] * n;
  for (int l = 0; l < n; l++) {
    const gboolean closed = lg_slate_branch_closed(net, slate, branch, l) != 0;
    double slope = b->p[0], offset = b->kind == LG_BRANCH_SOURCE ? -b->p[0] * b->p[1] : 0;
    if (curve >= 0) {
      slope = slate->slope_at[curve * n + l];
      offset = slate->i_at[curve * n + l] - slope * slate->at[curve * n + l];
    }
    g[l] = closed ? slope : 0;
    k[l] = closed ? offset : 0;
  }
}

static void update_gate(const LgNet *net, LgSlate *slate, int gate)
{
  const LgNetGate *g = lg_net_gate(net, gate);
  const int n = slate->lanes;
  int64_t *closed = slate->closed + gate * n, changed = 0;
  for (int l = 0; l < n; l++) {
    const int64_t pulled =
        g->coil < 0 ? -1 : slate->pulled[g->coil * n + l] ^ (g->coil_pulled ? 0 : -1);
    const int64_t now = slate->allowed[gate * n + l] & pulled;
    changed |= now ^ closed[l];
    closed[l] = now;
  }
  if (changed == 0)
    return;
  const LgList *branches = &net->gate_branches[gate];
  for (int i = 0; i < branches->n; i++) {
    lg_slate_load_branch(net, slate, branches->item[i]);
    lg_slate_mark(net, slate, branches->item[i]);
  }
}

void lg_slate_load_gate(const LgNet *net, LgSlate *slate, int gate)
{
  const LgNetGate *g = lg_net_gate(net, gate);
  const int n = slate->lanes;
  for (int l = 0; l < n; l++)
    slate->allowed[gate * n + l] = lg_net_inputs_allow(g, slate->position + l, n) ? -1 : 0;
  update_gate(net, slate, gate);
}

void lg_slate_input_changed(const LgNet *net, LgSlate *slate, int input)
{
  const LgList *gates = &net->input_gates[input];
  for (int i = 0; i < gates->n; i++)
    lg_slate_load_gate(net, slate, gates->item[i]);
}

void lg_slate_follow(const LgNet *net, LgSlate *slate, const LgSlate *leader)
{
  const gsize bytes = sizeof(int) * (gsize)slate->lanes;
  for (int i = 0; i < lg_net_n_inputs(net); i++) {
    int *mine = slate->position + i * slate->lanes;
    const int *leaders = leader->position + i * leader->lanes;
    if (memcmp(mine, leaders, bytes) == 0)
      continue;
    memcpy(mine, leaders, bytes);
    lg_slate_input_changed(net, slate, i);
  }
}

void lg_slate_coil_changed(const LgNet *net, LgSlate *slate, int coil)
{
  const LgList *gates = &net->coil_gates[coil];
  for (int i = 0; i < gates->n; i++)
    update_gate(net, slate, gates->item[i]);
}
