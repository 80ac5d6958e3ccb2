/* One solved state in the job's terms, and the same for a sweep's blocks. */
#include "circuit/circuit.h"
#include <math.h>

/* Beside the face, the scratch of a solution: node volts, branch currents, coils. */
typedef struct {
  LgPoint point;
  double *node_V, *branch_A;
  gboolean *coil;
  int *coil_element; /* [n_coils] */
} PointStore;

LgPoint *lg_point_new(const LgCircuit *circuit)
{
  const LgJob *const job = circuit->job;
  const gsize n_coils = (gsize)lg_net_n_coils(circuit->net);
  PointStore *const store = g_new0(PointStore, 1);
  store->point = (LgPoint){.position = g_new0(int, (gsize)job->n_inputs + 1),
                           .volts = g_new0(double, (gsize)job->n_pins + 1),
                           .wire_A = g_new0(double, (gsize)job->n_wires + 1),
                           .element_A = g_new0(double, (gsize)job->n_elements + 1),
                           .element_V = g_new0(double, (gsize)job->n_elements + 1),
                           .pulled = g_new0(gboolean, (gsize)job->n_elements + 1),
                           .coil_element = -1};
  store->node_V = g_new0(double, (gsize)lg_net_n_nodes(circuit->net));
  store->branch_A = g_new0(double, (gsize)lg_net_n_branches(circuit->net) + 1);
  store->coil = g_new0(gboolean, n_coils + 1);
  store->coil_element = g_new0(int, n_coils + 1);
  for (int e = 0; e < job->n_elements; e++)
    if (circuit->element_coil[e] >= 0)
      store->coil_element[circuit->element_coil[e]] = e;
  return &store->point;
}

void lg_point_free(LgPoint *point)
{
  if (point == NULL)
    return;
  PointStore *const store = (PointStore *)point;
  g_free(point->position);
  g_free(point->volts);
  g_free(point->wire_A);
  g_free(point->element_A);
  g_free(point->element_V);
  g_free(point->pulled);
  g_free(store->node_V);
  g_free(store->branch_A);
  g_free(store->coil);
  g_free(store->coil_element);
  g_free(store);
}

static double node_of_end(const LgCircuit *circuit, const double node_V[], int pin)
{
  const int node = pin >= 0 ? circuit->pin_node[pin] : circuit->body_node;
  return node_V[node];
}

static double element_current(const LgCircuit *circuit, const double branch_A[], int element)
{
  double sum = 0;
  for (int k = 0; k < circuit->element_branches[element]; k++)
    sum += branch_A[circuit->element_branch[element] + k];
  return sum;
}

void lg_circuit_solve(const LgCircuit *circuit, LgNetWork *work, LgPoint *point)
{
  PointStore *const store = (PointStore *)point;
  const LgJob *const job = circuit->job;
  point->status =
      lg_net_solve(circuit->net, work, point->position, NULL, store->node_V, store->branch_A, NULL);
  lg_net_coils(work, store->coil);
  for (int i = 0; i < job->n_pins; i++)
    point->volts[i] = store->node_V[circuit->pin_node[i]];
  for (int i = 0; i < job->n_wires; i++)
    point->wire_A[i] = store->branch_A[circuit->wire_branch[i]];
  for (int e = 0; e < job->n_elements; e++) {
    const LgElement *const element = &job->elements[e];
    point->element_A[e] = element_current(circuit, store->branch_A, e);
    point->element_V[e] = node_of_end(circuit, store->node_V, element->pin[0]) -
                          node_of_end(circuit, store->node_V, element->pin[1]);
    point->pulled[e] = circuit->element_coil[e] >= 0 && store->coil[circuit->element_coil[e]];
  }
  point->coil_element = point->status.coil >= 0 ? store->coil_element[point->status.coil] : -1;
}

void lg_circuit_block_element(const LgCircuit *circuit, const LgNetWork *work,
                              const LgNetBlock *block, int element, double amps[LG_LANES],
                              double volts[LG_LANES])
{
  const LgElement *const e = &circuit->job->elements[element];
  const int a = circuit->pin_node[e->pin[0]],
            b = e->pin[1] >= 0 ? circuit->pin_node[e->pin[1]] : circuit->body_node;
  for (int k = 0; k < LG_LANES; k++) {
    amps[k] = 0;
    volts[k] = block->volts[a][k] - block->volts[b][k];
  }
  for (int i = 0; i < circuit->element_branches[element]; i++) {
    double part[LG_LANES];
    lg_net_block_current(circuit->net, work, block, circuit->element_branch[element] + i, part);
    for (int k = 0; k < LG_LANES; k++)
      amps[k] += part[k];
  }
}

void lg_circuit_block_wire(const LgCircuit *circuit, const LgNetWork *work, const LgNetBlock *block,
                           int wire, double amps[LG_LANES])
{
  lg_net_block_current(circuit->net, work, block, circuit->wire_branch[wire], amps);
}

gboolean lg_circuit_possible(const LgJob *job, const int position[])
{
  for (int i = 0; i < job->n_inputs; i++) {
    const LgInput *const input = &job->inputs[i];
    if (input->when_input >= 0 && position[i] != 0 &&
        (input->when_positions >> position[input->when_input] & 1) == 0)
      return FALSE;
  }
  return TRUE;
}
