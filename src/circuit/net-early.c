/* Nodes that are best eliminated before all others.
 *
 * A node with at most two neighbours leaves no fill. Where no branch at it ever changes it makes a
 * fixed column; taken early, it does not lie on the way from a switch or a nonlinear load to the
 * root. After these come such nodes without a nonlinear branch: switches move once a state, the
 * lines of nonlinear branches several times, so theirs shall be the shorter way. */
#include "circuit/net-private.h"

typedef enum { FIXED, GATED, NONLINEAR } Nature;

typedef struct {
  const LgNet *net;
  Nature *nature; /* [n_nodes] of the most restless branch */
  gboolean *gone; /* [n_nodes] */
  GArray **next;  /* [n_nodes] neighbours that are left, without the reference */
  int *order;
  int n;
} Early;

static int place_of(const GArray *list, int node)
{
  for (guint i = 0; i < list->len; i++)
    if (g_array_index(list, int, i) == node)
      return (int)i;
  return -1;
}

static void join(GArray **next, int a, int b)
{
  const int few = next[a]->len < next[b]->len ? a : b, other = few == a ? b : a;
  if (place_of(next[few], other) >= 0)
    return;
  g_array_append_val(next[a], b);
  g_array_append_val(next[b], a);
}

static void part_from(GArray *list, int node)
{
  g_array_remove_index_fast(list, (guint)place_of(list, node));
}

static void eliminate(Early *early, int node, GArray *queue)
{
  GArray *const mine = early->next[node];
  for (guint i = 0; i < mine->len; i++) {
    const int other = g_array_index(mine, int, i);
    part_from(early->next[other], node);
    g_array_append_val(queue, other);
  }
  if (mine->len == 2)
    join(early->next, g_array_index(mine, int, 0), g_array_index(mine, int, 1));
  g_array_set_size(mine, 0);
  early->gone[node] = TRUE;
  early->order[early->n++] = node;
}

static void eliminate_all(Early *early, Nature most)
{
  GArray *queue = g_array_new(FALSE, FALSE, sizeof(int));
  for (int node = 1; node < early->net->n_nodes; node++)
    g_array_append_val(queue, node);
  for (guint i = 0; i < queue->len; i++) {
    const int node = g_array_index(queue, int, i);
    if (!early->gone[node] && early->nature[node] <= most && early->next[node]->len <= 2)
      eliminate(early, node, queue);
  }
  g_array_unref(queue);
}

static void lay_graph(Early *early)
{
  const LgNet *net = early->net;
  for (int node = 0; node < net->n_nodes; node++)
    early->next[node] = g_array_new(FALSE, FALSE, sizeof(int));
  for (int b = 0; b < lg_net_n_branches(net); b++) {
    const LgNetBranch *br = lg_branch_at(net, b);
    const Nature nature = lg_branch_is_curve(br) ? NONLINEAR : br->gate >= 0 ? GATED : FIXED;
    early->nature[br->a] = MAX(early->nature[br->a], nature);
    early->nature[br->b] = MAX(early->nature[br->b], nature);
    if (br->a != 0 && br->b != 0)
      join(early->next, br->a, br->b);
  }
}

int lg_net_early(const LgNet *net, int order[], GArray *next[])
{
  Early early = {.net = net,
                 .nature = g_new0(Nature, net->n_nodes),
                 .gone = g_new0(gboolean, net->n_nodes),
                 .next = next,
                 .order = order};
  lay_graph(&early);
  eliminate_all(&early, FIXED);
  eliminate_all(&early, GATED);
  g_free(early.nature);
  g_free(early.gone);
  return early.n;
}
