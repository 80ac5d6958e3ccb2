/* Volts lost on the way to a load and back, in one state, solved anew for the conductors at hand.
 */
#include "studies/sizing-private.h"

struct LgDropMeter {
  const LgCircuit *circuit;
  LgWays *ways;
  LgNetWork *work;
  double *volts, *amps;
  gboolean *pulled;
};

LgDropMeter *lg_drop_meter_new(const LgCircuit *circuit)
{
  LgDropMeter *const meter = g_new0(LgDropMeter, 1);
  meter->circuit = circuit;
  meter->ways = lg_ways_new(circuit);
  meter->work = lg_net_work_new(circuit->net);
  meter->volts = g_new0(double, (gsize)lg_net_n_nodes(circuit->net));
  meter->amps = g_new0(double, (gsize)lg_net_n_branches(circuit->net) + 1);
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
  g_free(meter->amps);
  g_free(meter->pulled);
  g_free(meter);
}

static double edge_amps(gconstpointer user, int edge)
{
  const LgDropMeter *const meter = user;
  const LgCircuit *const circuit = meter->circuit;
  const int element = edge - circuit->job->n_wires;
  if (element < 0)
    return meter->amps[circuit->wire_branch[edge]];
  double sum = 0;
  for (int k = 0; k < circuit->element_branches[element]; k++)
    sum += meter->amps[circuit->element_branch[element] + k];
  return sum;
}

double lg_drop_meter_read(LgDropMeter *meter, int load, const int position[], GArray *wires)
{
  const LgNet *const net = meter->circuit->net;
  memset(meter->pulled, 0, sizeof(gboolean) * (gsize)lg_net_n_coils(net));
  lg_net_solve(net, meter->work, position, meter->pulled, meter->volts, meter->amps, NULL);
  if (load < 0)
    return 0;
  const LgFlow flow = {.volts = meter->volts, .stride = 1, .amps = edge_amps, .user = meter};
  double drop[2];
  lg_ways_drop(meter->ways, &flow, load, drop, wires);
  return drop[0] + drop[1];
}

double lg_drop_meter_wire_A(const LgDropMeter *meter, int wire)
{
  return meter->amps[meter->circuit->wire_branch[wire]];
}
