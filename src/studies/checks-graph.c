/* Walks over the wires and elements of the circuit, and what hangs together. */
#include "studies/checks-private.h"

const LgElement *lg_edge_element(const LgCheckContext *c, int edge)
{
  return edge < c->job->n_wires ? NULL : &c->job->elements[edge - c->job->n_wires];
}

void lg_flood(const LgFlood *flood, int node, gboolean reached[], GArray *found)
{
  const LgWays *const ways = flood->context->ways;
  g_array_set_size(found, 0);
  if (reached[node])
    return;
  g_array_append_val(found, node);
  reached[node] = TRUE;
  for (guint i = 0; i < found->len; i++) {
    const int from = g_array_index(found, int, i);
    for (int k = ways->first[from]; k < ways->first[from + 1]; k++) {
      const int edge = ways->incident[k];
      const int to = ways->a[edge] == from ? ways->b[edge] : ways->a[edge];
      if (!flood->passes(flood->context, edge, from, flood->user)) {
        if (flood->meets != NULL)
          flood->meets(flood->context, edge, flood->user);
      } else if (!reached[to]) {
        reached[to] = TRUE;
        g_array_append_val(found, to);
      }
    }
  }
}

static gboolean is_bond(const LgCheckContext *c, int edge, int from, gpointer user)
{
  const LgElement *const element = lg_edge_element(c, edge);
  (void)from;
  (void)user;
  return element == NULL || element->kind == LG_EL_LINK || element->kind == LG_EL_CHASSIS;
}

int *lg_nets_new(LgCheckContext *c)
{
  const int n = lg_net_n_nodes(c->sizing->circuit->net);
  int *const net = g_new(int, (gsize)n + 1);
  g_autofree gboolean *reached = g_new0(gboolean, (gsize)n + 1);
  g_autoptr(GArray) found = g_array_new(FALSE, FALSE, sizeof(int));
  const LgFlood flood = {.context = c, .passes = is_bond};
  for (int node = 0; node < n; node++) {
    lg_flood(&flood, node, reached, found);
    for (guint k = 0; k < found->len; k++)
      net[g_array_index(found, int, k)] = node;
  }
  return net;
}

int lg_pin_net(const LgCheckContext *c, int pin)
{
  return c->net[c->sizing->circuit->pin_node[pin]];
}

int lg_ground_net(const LgCheckContext *c)
{
  const LgCircuit *const circuit = c->sizing->circuit;
  if (circuit->body_node >= 0)
    return c->net[circuit->body_node];
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const element = &c->job->elements[e];
    if (lg_element_is_source(element->kind) && circuit->pin_node[element->pin[1]] == 0)
      return lg_pin_net(c, element->pin[c->job->positive_ground ? 0 : 1]);
  }
  return -1;
}

int lg_pin_n_wires(const LgCheckContext *c, int pin)
{
  const int node = c->sizing->circuit->pin_node[pin];
  int n = 0;
  for (int k = c->ways->first[node]; k < c->ways->first[node + 1]; k++)
    n += c->ways->incident[k] < c->job->n_wires;
  return n;
}

int lg_pin_n_elements(const LgCheckContext *c, int pin, int but)
{
  const LgPart *const part = &c->job->parts[c->job->pins[pin].part];
  int n = 0;
  for (int e = part->first_element; e < part->first_element + part->n_elements; e++)
    n += e != but && (c->job->elements[e].pin[0] == pin || c->job->elements[e].pin[1] == pin);
  return n;
}
