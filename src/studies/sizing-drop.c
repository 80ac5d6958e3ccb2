/* Volts lost on the way to a load and back, in one state, solved anew for the conductors at hand.
 */
#include "studies/sizing-private.h"

struct LgDropMeter {
  const LgCircuit *circuit;
  LgWays *ways;
  LgNetWork *work;
  const int *position; /* of the state read last */
  double *volts;
  double (*lanes)[LG_LANES]; /* [n_nodes] the same as a block wants them, where asked for */
  gboolean *pulled, *closed;
  uint64_t *bits;
};

LgDropMeter *lg_drop_meter_new(const LgCircuit *circuit)
{
  LgDropMeter *const meter = g_new0(LgDropMeter, 1);
  meter->circuit = circuit;
  meter->ways = lg_ways_new(circuit);
  meter->work = lg_net_work_new(circuit->net);
  meter->volts = g_new0(double, (gsize)lg_net_n_nodes(circuit->net));
  meter->lanes = g_malloc0(sizeof *meter->lanes * (gsize)lg_net_n_nodes(circuit->net));
  meter->closed = g_new0(gboolean, (gsize)lg_net_n_branches(circuit->net) + 1);
  meter->bits = g_new0(uint64_t, (gsize)lg_net_n_coils(circuit->net) / 64 + 1);
  meter->pulled = g_new0(gboolean, (gsize)lg_net_n_coils(circuit->net) + 1);
  return meter;
}

void lg_drop_meter_free(LgDropMeter *meter)
{
  if (meter == NULL)
    return;
  lg_ways_free(meter->ways);
  lg_net_work_free(meter->work);
  g_free(meter->volts);
  g_free(meter->lanes);
  g_free(meter->closed);
  g_free(meter->bits);
  g_free(meter->pulled);
  g_free(meter);
}

/* A curved branch's current comes from the net, which takes blocks: one of equal lanes, of which
 * only the branch's nodes are filled in. */
static double curve_amps(const LgDropMeter *meter, int branch)
{
  const LgNet *const net = meter->circuit->net;
  const int nodes[] = {lg_net_branch(net, branch)->a, lg_net_branch(net, branch)->b};
  LgNetBlock block = {.n = 1, .volts = (const double(*)[LG_LANES])meter->lanes};
  for (int k = 0; k < LG_LANES; k++) {
    block.position[k] = meter->position;
    block.pulled[k] = meter->bits;
    meter->lanes[nodes[0]][k] = meter->volts[nodes[0]];
    meter->lanes[nodes[1]][k] = meter->volts[nodes[1]];
  }
  double amps[LG_LANES];
  lg_net_block_current(net, meter->work, &block, branch, amps);
  return amps[0];
}

static double branch_amps(const LgDropMeter *meter, int branch)
{
  const LgNetBranch *const b = lg_net_branch(meter->circuit->net, branch);
  if (!meter->closed[branch])
    return 0;
  if (b->kind != LG_BRANCH_RESISTOR)
    return curve_amps(meter, branch);
  const double amps = b->p[0] * (meter->volts[b->a] - meter->volts[b->b]);
  return isnan(amps) ? 0 : amps;
}

static double edge_amps(gconstpointer user, int edge)
{
  const LgDropMeter *const meter = user;
  const LgCircuit *const circuit = meter->circuit;
  const int element = edge - circuit->job->n_wires;
  if (element < 0)
    return branch_amps(meter, circuit->wire_branch[edge]);
  double sum = 0;
  for (int k = 0; k < circuit->element_branches[element]; k++)
    sum += branch_amps(meter, circuit->element_branch[element] + k);
  return sum;
}

double lg_drop_meter_wire_A(const LgDropMeter *meter, int wire)
{
  return edge_amps(meter, wire);
}

double lg_drop_meter_element_A(const LgDropMeter *meter, int element)
{
  return edge_amps(meter, meter->circuit->job->n_wires + element);
}

double lg_drop_meter_read(LgDropMeter *meter, int load, const int position[], GArray *wires)
{
  const LgNet *const net = meter->circuit->net;
  const int n_coils = lg_net_n_coils(net);
  memset(meter->pulled, 0, sizeof(gboolean) * (gsize)n_coils);
  lg_net_solve(net, meter->work, position, meter->pulled, meter->volts, NULL, meter->closed);
  meter->position = position;
  memset(meter->bits, 0, sizeof(uint64_t) * ((gsize)n_coils / 64 + 1));
  for (int c = 0; c < n_coils; c++)
    meter->bits[c / 64] |= (uint64_t)(meter->pulled[c] != 0) << (c % 64);
  if (load < 0)
    return 0;
  const LgFlow flow = {.volts = meter->volts, .stride = 1, .amps = edge_amps, .user = meter};
  double drop[2];
  lg_ways_drop(meter->ways, &flow, load, drop, wires);
  return drop[0] + drop[1];
}
