/* Inputs and coils to closed gates, and closed gates to the values of branches. */
#include "circuit/net-private.h"

static gboolean inputs_allow(const LgNetGate *gate, const int position[], int stride)
{
  for (int i = 0; i < 2; i++)
    if (gate->input[i] >= 0 && (gate->positions[i] >> position[gate->input[i] * stride] & 1) == 0)
      return FALSE;
  return TRUE;
}

gboolean lg_gate_is_closed(const LgNet *net, int gate, const int position[], const uint64_t *pulled)
{
  const LgNetGate *g = lg_net_gate(net, gate);
  if (!inputs_allow(g, position, 1))
    return FALSE;
  return g->coil < 0 || (pulled[g->coil / 64] >> (g->coil % 64) & 1) == (g->coil_pulled ? 1 : 0);
}

/* A nonlinear branch keeps the line of its last linearisation over the time that it is open. */
void lg_sheet_load_branch(const LgNet *net, LgSheet *sheet, int branch)
{
  const LgNetBranch *b = lg_branch_at(net, branch);
  const int n = sheet->lanes, curve = net->curve[branch];
  double *g = sheet->g + net->variable[branch] * n, *k = sheet->k + net->variable[branch] * n;
  for (int l = 0; l < n; l++) {
    const gboolean closed = lg_sheet_branch_closed(net, sheet, branch, l) != 0;
    double slope = b->p[0], offset = b->kind == LG_BRANCH_SOURCE ? -b->p[0] * b->p[1] : 0;
    if (curve >= 0) {
      slope = sheet->slope_at[curve * n + l];
      offset = sheet->i_at[curve * n + l] - slope * sheet->at[curve * n + l];
    }
    g[l] = closed ? slope : 0;
    k[l] = closed ? offset : 0;
  }
}

static void update_gate(const LgNet *net, LgSheet *sheet, int gate)
{
  const LgNetGate *g = lg_net_gate(net, gate);
  const int n = sheet->lanes;
  int64_t *closed = sheet->closed + gate * n, changed = 0;
  for (int l = 0; l < n; l++) {
    const int64_t pulled =
        g->coil < 0 ? -1 : sheet->pulled[g->coil * n + l] ^ (g->coil_pulled ? 0 : -1);
    const int64_t now = sheet->allowed[gate * n + l] & pulled;
    changed |= now ^ closed[l];
    closed[l] = now;
  }
  if (changed == 0)
    return;
  const LgList *branches = &net->gate_branches[gate];
  for (int i = 0; i < branches->n; i++) {
    lg_sheet_load_branch(net, sheet, branches->item[i]);
    lg_sheet_mark(net, sheet, branches->item[i]);
  }
}

void lg_sheet_load_gate(const LgNet *net, LgSheet *sheet, int gate)
{
  const LgNetGate *g = lg_net_gate(net, gate);
  const int n = sheet->lanes;
  for (int l = 0; l < n; l++)
    sheet->allowed[gate * n + l] = inputs_allow(g, sheet->position + l, n) ? -1 : 0;
  update_gate(net, sheet, gate);
}

void lg_sheet_input_changed(const LgNet *net, LgSheet *sheet, int input)
{
  const LgList *gates = &net->input_gates[input];
  for (int i = 0; i < gates->n; i++)
    lg_sheet_load_gate(net, sheet, gates->item[i]);
}

void lg_sheet_follow(const LgNet *net, LgSheet *sheet, const LgSheet *leader)
{
  const gsize bytes = sizeof(int) * (gsize)sheet->lanes;
  for (int i = 0; i < lg_net_n_inputs(net); i++) {
    int *mine = sheet->position + i * sheet->lanes;
    const int *leaders = leader->position + i * leader->lanes;
    if (memcmp(mine, leaders, bytes) == 0)
      continue;
    memcpy(mine, leaders, bytes);
    lg_sheet_input_changed(net, sheet, i);
  }
}

void lg_sheet_coil_changed(const LgNet *net, LgSheet *sheet, int coil)
{
  const LgList *gates = &net->coil_gates[coil];
  for (int i = 0; i < gates->n; i++)
    update_gate(net, sheet, gates->item[i]);
}
