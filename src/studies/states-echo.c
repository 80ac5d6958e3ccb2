/* Positions of an input that do the same: an ignition key at `on` and at `start` where nothing is
 * wired to its starter contact.
 *
 * A gated branch that alone leads to a node never carries a current. Whether it is closed only
 * decides whether that node, a loose end, has the volts of the branch's other end or floats.
 * Positions that differ in such gates alone have the same volts and currents everywhere else. */
#include "studies/states-private.h"

static int *count_branches(const LgNet *net)
{
  int *const n = g_new0(int, (gsize)lg_net_n_nodes(net));
  for (int b = 0; b < lg_net_n_branches(net); b++) {
    n[lg_net_branch(net, b)->a]++;
    n[lg_net_branch(net, b)->b]++;
  }
  return n;
}

/* Whether a need looks at the node, or at an element with a pin there. */
static gboolean is_measured(const LgCircuit *circuit, int node)
{
  const LgJob *const job = circuit->job;
  for (int i = 0; i < job->n_needs; i++) {
    const LgNeed *const need = &job->needs[i];
    if (need->target == LG_TARGET_PIN && circuit->pin_node[need->index] == node)
      return TRUE;
    for (int k = 0; need->target == LG_TARGET_ELEMENT && k < 2; k++) {
      const int pin = job->elements[need->index].pin[k];
      if (pin >= 0 && circuit->pin_node[pin] == node)
        return TRUE;
    }
  }
  return FALSE;
}

static gboolean is_watched(const LgNet *net, int branch)
{
  for (int c = 0; c < lg_net_n_coils(net); c++)
    if (lg_net_coil(net, c)->branch == branch)
      return TRUE;
  return FALSE;
}

/* [branches] the node that is a loose end there, -1: none. */
static int *find_ends(const LgStage *stage)
{
  const LgNet *const net = stage->net;
  g_autofree int *n = count_branches(net);
  int *const end = g_new(int, (gsize)lg_net_n_branches(net) + 1);
  for (int b = 0; b < lg_net_n_branches(net); b++) {
    const LgNetBranch *const branch = lg_net_branch(net, b);
    end[b] = -1;
    if (branch->gate < 0 || branch->kind != LG_BRANCH_RESISTOR || is_watched(net, b))
      continue;
    for (int k = 0; k < 2 && end[b] < 0; k++) {
      const int node = k == 0 ? branch->a : branch->b;
      if (node != 0 && node != stage->circuit->body_node && n[node] == 1 &&
          !is_measured(stage->circuit, node))
        end[b] = node;
    }
  }
  return end;
}

static int side_of(const LgNetGate *gate, int input)
{
  return gate->input[0] == input ? 0 : gate->input[1] == input ? 1 : -1;
}

/* What an input does stays out of echoes where its positions count by themselves. */
static gboolean may_echo(const LgStage *stage, int input)
{
  const LgJob *const job = stage->circuit->job;
  if (stage->stand[input] >= 0 || job->inputs[input].kind == LG_INPUT_DEMAND ||
      job->inputs[input].when_input >= 0)
    return FALSE;
  for (int i = 0; i < job->n_inputs; i++)
    if (job->inputs[i].when_input == input)
      return FALSE;
  return TRUE;
}

/* Whether two positions differ in gates of loose ends alone. */
static gboolean same(const LgStage *stage, const int end[], int input, int p, int q)
{
  for (int b = 0; b < lg_net_n_branches(stage->net); b++) {
    const int gate_index = lg_net_branch(stage->net, b)->gate;
    if (gate_index < 0 || end[b] >= 0)
      continue;
    const LgNetGate *const gate = lg_net_gate(stage->net, gate_index);
    for (int k = 0; k < 2; k++)
      if (gate->input[k] == input && ((gate->positions[k] >> p ^ gate->positions[k] >> q) & 1) != 0)
        return FALSE;
  }
  return TRUE;
}

/* Fills `like` and returns how many positions are not like an earlier one. */
static int sort_positions(const LgStage *stage, const int end[], int input, int like[])
{
  const int n = lg_net_input(stage->net, input)->n_positions;
  int n_unlike = 0;
  for (int p = 0; p < n; p++) {
    like[p] = p;
    for (int q = 0; q < p && like[p] == p; q++)
      if (like[q] == q && same(stage, end, input, q, p))
        like[p] = q;
    n_unlike += like[p] == p;
  }
  return n_unlike;
}

static void list_ends(LgEchoes *echoes, const LgStage *stage, const int end[])
{
  echoes->ends = g_new(LgLooseEnd, (gsize)lg_net_n_branches(stage->net) + 1);
  for (int b = 0; b < lg_net_n_branches(stage->net); b++) {
    const LgNetBranch *const branch = lg_net_branch(stage->net, b);
    if (end[b] < 0 || side_of(lg_net_gate(stage->net, branch->gate), echoes->input) < 0)
      continue;
    echoes->ends[echoes->n_ends++] =
        (LgLooseEnd){end[b], branch->a == end[b] ? branch->b : branch->a, branch->gate};
  }
}

LgEchoes *lg_echoes_new(const LgStage *stage)
{
  LgEchoes *const echoes = g_new0(LgEchoes, 1);
  g_autofree int *end = find_ends(stage);
  double most = 1;
  echoes->input = -1;
  for (int i = 0; i < stage->circuit->job->n_inputs; i++) {
    if (!may_echo(stage, i))
      continue;
    const int n = lg_net_input(stage->net, i)->n_positions;
    g_autofree int *like = g_new(int, (gsize)n);
    const double gain = (double)n / sort_positions(stage, end, i, like);
    if (gain <= most)
      continue;
    most = gain;
    echoes->input = i;
    g_free(echoes->like);
    echoes->like = g_steal_pointer(&like);
  }
  if (echoes->input >= 0)
    list_ends(echoes, stage, end);
  return echoes;
}

void lg_echoes_free(LgEchoes *echoes)
{
  if (echoes == NULL)
    return;
  g_free(echoes->like);
  g_free(echoes->ends);
  g_free(echoes);
}
