/* The circuit's network with one more branch from each end of a wire to the body, nearly open until
 * the short is there. Nodes and the circuit's own branches keep their numbers. */
#include "studies/shorts-net.h"
#include <math.h>
#include <string.h>

#define OPEN_S 1e-12
#define SHORT_S 1e4 /* 0.1 milliohm */

struct LgShortNet {
  LgCircuit *circuit;
  LgNet *net;
  LgNetWork *work;
  int ground;       /* node */
  int *at;          /* [nodes] its branch to the ground, -1 */
  double *volts;    /* [nodes] */
  gboolean *closed; /* [branches] */
  gboolean *pulled; /* [coils] */
  int shorted;      /* node, -1 */
};

static void copy_net(LgShortNet *s)
{
  const LgNet *const from = s->circuit->net;
  int n_gates = 0;
  for (int i = 0; i < lg_net_n_inputs(from); i++)
    lg_net_add_input(s->net, *lg_net_input(from, i));
  for (int b = 0; b < lg_net_n_branches(from); b++)
    n_gates = MAX(n_gates, lg_net_branch(from, b)->gate + 1);
  for (int g = 0; g < n_gates; g++)
    lg_net_add_gate(s->net, *lg_net_gate(from, g));
  for (int b = 0; b < lg_net_n_branches(from); b++)
    lg_net_add_branch(s->net, *lg_net_branch(from, b));
  for (int c = 0; c < lg_net_n_coils(from); c++)
    lg_net_add_coil(s->net, *lg_net_coil(from, c));
}

static void add_shorts(LgShortNet *s)
{
  const LgJob *const job = s->circuit->job;
  for (int w = 0; w < job->n_wires; w++)
    for (int k = 0; k < 2; k++) {
      const int node = s->circuit->pin_node[job->wires[w].pin[k]];
      if (node != s->ground && s->at[node] < 0)
        s->at[node] = lg_net_add_branch(
            s->net, (LgNetBranch){LG_BRANCH_RESISTOR, node, s->ground, -1, {OPEN_S, 0, 0}});
    }
}

LgShortNet *lg_short_net_new(const LgSizing *sizing, LgDay day, gboolean warm)
{
  const LgJob *const job = sizing->circuit->job;
  LgCircuit *const circuit = lg_circuit_new(job, day, sizing->chosen, NULL);
  if (circuit == NULL)
    return NULL;
  for (int w = 0; warm && w < job->n_wires; w++)
    if (isfinite(sizing->wires[w].conductor_K))
      lg_circuit_set_wire(circuit, w, sizing->chosen[w], sizing->wires[w].conductor_K);
  LgShortNet *const s = g_new0(LgShortNet, 1);
  const int n = lg_net_n_nodes(circuit->net);
  s->circuit = circuit;
  s->net = lg_net_new(n);
  s->ground = MAX(circuit->body_node, 0);
  s->at = g_new(int, (gsize)n);
  for (int i = 0; i < n; i++)
    s->at[i] = -1;
  copy_net(s);
  add_shorts(s);
  lg_net_close(s->net);
  s->work = lg_net_work_new(s->net);
  s->volts = g_new0(double, (gsize)n);
  s->closed = g_new0(gboolean, (gsize)lg_net_n_branches(s->net) + 1);
  s->pulled = g_new0(gboolean, (gsize)lg_net_n_coils(s->net) + 1);
  s->shorted = -1;
  return s;
}

void lg_short_net_free(LgShortNet *s)
{
  if (s == NULL)
    return;
  lg_net_work_free(s->work);
  lg_net_free(s->net);
  lg_circuit_free(s->circuit);
  g_free(s->at);
  g_free(s->volts);
  g_free(s->closed);
  g_free(s->pulled);
  g_free(s);
}

void lg_short_net_solve(LgShortNet *s, const int position[], int pin)
{
  const int node = s->circuit->pin_node[pin];
  if (s->shorted >= 0 && s->shorted != node)
    lg_net_set_param(s->net, s->at[s->shorted], 0, OPEN_S);
  s->shorted = s->at[node] >= 0 ? node : -1;
  if (s->shorted >= 0)
    lg_net_set_param(s->net, s->at[node], 0, SHORT_S);
  memset(s->pulled, 0, sizeof(gboolean) * ((gsize)lg_net_n_coils(s->net) + 1));
  lg_net_solve(s->net, s->work, position, s->pulled, s->volts, NULL, s->closed);
}

static double branch_A(const LgShortNet *s, int branch)
{
  if (branch < 0 || !s->closed[branch])
    return 0;
  const LgNetBranch *const b = lg_net_branch(s->net, branch);
  const double amps = b->p[0] * (s->volts[b->a] - s->volts[b->b]);
  return isnan(amps) ? 0 : amps;
}

double lg_short_net_fault_A(const LgShortNet *s)
{
  return s->shorted < 0 ? 0 : branch_A(s, s->at[s->shorted]);
}

double lg_short_net_wire_A(const LgShortNet *s, int wire)
{
  return branch_A(s, s->circuit->wire_branch[wire]);
}

double lg_short_net_element_A(const LgShortNet *s, int element)
{
  return branch_A(s, s->circuit->element_branch[element]);
}
