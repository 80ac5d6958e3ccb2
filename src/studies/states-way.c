/* The way of a load's current from its source and back, and the volts lost on it. */
#include "studies/states-private.h"

static void list_incident(LgWays *ways, int n_nodes)
{
  ways->first = g_new0(int, (gsize)n_nodes + 2);
  for (int e = 0; e < ways->n_edges; e++)
    if (ways->a[e] >= 0) {
      ways->first[ways->a[e] + 1]++;
      ways->first[ways->b[e] + 1]++;
    }
  for (int n = 0; n < n_nodes; n++)
    ways->first[n + 1] += ways->first[n];
  ways->incident = g_new(int, (gsize)ways->first[n_nodes] + 1);
  g_autofree int *next = g_memdup2(ways->first, sizeof(int) * ((gsize)n_nodes + 1));
  for (int e = 0; e < ways->n_edges; e++)
    if (ways->a[e] >= 0) {
      ways->incident[next[ways->a[e]]++] = e;
      ways->incident[next[ways->b[e]]++] = e;
    }
}

LgWays *lg_ways_new(const LgCircuit *circuit)
{
  const LgJob *const job = circuit->job;
  LgWays *const ways = g_new0(LgWays, 1);
  ways->circuit = circuit;
  ways->n_edges = job->n_wires + job->n_elements;
  ways->a = g_new(int, (gsize)ways->n_edges + 1);
  ways->b = g_new(int, (gsize)ways->n_edges + 1);
  for (int w = 0; w < job->n_wires; w++) {
    ways->a[w] = circuit->pin_node[job->wires[w].pin[0]];
    ways->b[w] = circuit->pin_node[job->wires[w].pin[1]];
  }
  for (int i = 0; i < job->n_elements; i++) {
    const LgElement *const element = &job->elements[i];
    const int e = job->n_wires + i;
    const gboolean there = circuit->element_branches[i] > 0;
    ways->a[e] = there ? circuit->pin_node[element->pin[0]] : -1;
    ways->b[e] = element->pin[1] >= 0 ? circuit->pin_node[element->pin[1]] : circuit->body_node;
  }
  list_incident(ways, lg_net_n_nodes(circuit->net));
  return ways;
}

void lg_ways_free(LgWays *ways)
{
  if (ways == NULL)
    return;
  g_free(ways->a);
  g_free(ways->b);
  g_free(ways->first);
  g_free(ways->incident);
  g_free(ways);
}

/* Whether volts over the edge are lost, and not what the edge is there for. */
static gboolean is_loss(const LgJob *job, int edge)
{
  if (edge < job->n_wires)
    return TRUE;
  const LgElementKind kind = job->elements[edge - job->n_wires].kind;
  return kind == LG_EL_LINK || kind == LG_EL_CHASSIS || lg_element_is_contact(kind) ||
         lg_element_is_protection(kind);
}

static double volts_at(const LgFlow *flow, int node)
{
  return flow->volts[(gsize)node * flow->stride];
}

/* The edge that carries most current into the node (`sign` +1) or out of it (-1), -1 when none
 * carries any. */
static int main_edge(const LgWays *ways, const LgFlow *flow, int node, double sign)
{
  int found = -1;
  double most = 0;
  for (int i = ways->first[node]; i < ways->first[node + 1]; i++) {
    const int edge = ways->incident[i];
    const double out = ways->a[edge] == node ? 1 : -1;
    const double amps = -out * sign * flow->amps(flow->user, edge);
    if (amps > most) {
      most = amps;
      found = edge;
    }
  }
  return found;
}

void lg_ways_drop(const LgWays *ways, const LgFlow *flow, int load, double drop[2], GArray *wires)
{
  const LgJob *const job = ways->circuit->job;
  const int edge = job->n_wires + load;
  drop[0] = drop[1] = 0;
  if (ways->a[edge] < 0)
    return;
  const gboolean forward = flow->amps(flow->user, edge) >= 0;
  for (int way = 0; way < 2; way++) {
    int node = (way == 0) == forward ? ways->a[edge] : ways->b[edge];
    /* Volts rise along the feed taken backwards and fall along the return, so no node comes twice;
     * the count guards against currents that are rounding only. */
    for (int steps = 0; steps < ways->n_edges; steps++) {
      const int next = main_edge(ways, flow, node, way == 0 ? 1 : -1);
      const int element = next - job->n_wires;
      if (next < 0 || (element >= 0 && lg_element_is_source(job->elements[element].kind)))
        break;
      const int other = ways->a[next] == node ? ways->b[next] : ways->a[next];
      if (is_loss(job, next))
        drop[way] += fabs(volts_at(flow, other) - volts_at(flow, node));
      if (wires != NULL && element < 0)
        g_array_append_val(wires, next);
      node = other;
    }
  }
}
