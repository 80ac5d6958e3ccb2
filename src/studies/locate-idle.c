/* Which changes cannot matter in a state, by the shape of the network alone. A current needs a way
 * round; what lies on none, whatever the relays do, carries nothing, and may as well be open. */
#include "studies/locate-private.h"

struct LgIdle {
  const LgNet *net;
  guint8 *present; /* [n_branches] may conduct with these inputs, whatever a coil that can be fed
                      does */
  /* A tree through what is present; node 0 and one node of every other island are roots. */
  int *parent, *by; /* [n_nodes] node and branch above; -1: a root */
  int *depth;
  int *block; /* [n_nodes] up to the top node of those that share ways round */
};

static gboolean may_conduct(const LgNet *net, int branch, const int position[])
{
  const int gate = lg_net_branch(net, branch)->gate;
  return gate < 0 || lg_net_inputs_allow(lg_net_gate(net, gate), position, 1);
}

/* Branches by node: first[n] .. first[n + 1] - 1 in `list`. */
static void list_by_node(const LgNet *net, const guint8 present[], int first[], int list[])
{
  const int n_nodes = lg_net_n_nodes(net), n_branches = lg_net_n_branches(net);
  for (int pass = 0; pass < 2; pass++) {
    for (int b = 0; b < n_branches; b++) {
      const LgNetBranch *const branch = lg_net_branch(net, b);
      for (int e = 0; e < 2 && present[b]; e++) {
        const int node = e == 0 ? branch->a : branch->b;
        if (pass == 0)
          first[node]++;
        else
          list[--first[node]] = b;
      }
    }
    for (int n = 0; n < n_nodes && pass == 0; n++)
      first[n + 1] += first[n];
  }
}

static void grow_tree(LgIdle *idle, const int first[], const int list[])
{
  const int n_nodes = lg_net_n_nodes(idle->net);
  g_autofree int *queue = g_new(int, (gsize)n_nodes + 1);
  for (int root = 0; root < n_nodes; root++) {
    int head = 0, tail = 0;
    if (idle->depth[root] >= 0)
      continue;
    idle->depth[root] = 0;
    for (queue[tail++] = root; head < tail; head++) {
      const int node = queue[head];
      for (int i = first[node]; i < first[node + 1]; i++) {
        const LgNetBranch *const branch = lg_net_branch(idle->net, list[i]);
        const int next = branch->a == node ? branch->b : branch->a;
        if (idle->depth[next] >= 0)
          continue;
        idle->depth[next] = idle->depth[node] + 1;
        idle->parent[next] = node;
        idle->by[next] = list[i];
        queue[tail++] = next;
      }
    }
  }
}

static int top_of(int block[], int node)
{
  while (block[node] != node)
    node = block[node] = block[block[node]];
  return node;
}

/* A branch beside the tree closes a way round through all that the tree has between its ends. */
static void join_blocks(LgIdle *idle)
{
  for (int b = 0; b < lg_net_n_branches(idle->net); b++) {
    const LgNetBranch *const branch = lg_net_branch(idle->net, b);
    if (!idle->present[b] || idle->by[branch->a] == b || idle->by[branch->b] == b)
      continue;
    int a = top_of(idle->block, branch->a), c = top_of(idle->block, branch->b);
    while (a != c) {
      int *const lower = idle->depth[a] > idle->depth[c] ? &a : &c;
      idle->block[*lower] = idle->parent[*lower];
      *lower = top_of(idle->block, *lower);
    }
  }
}

static gboolean carries_nothing(const LgIdle *idle, int branch)
{
  const LgNetBranch *const b = lg_net_branch(idle->net, branch);
  return !idle->present[branch] || top_of(idle->block, b->a) != top_of(idle->block, b->b);
}

static void find_ways(LgIdle *idle)
{
  const gsize n_nodes = (gsize)lg_net_n_nodes(idle->net),
              n_branches = (gsize)lg_net_n_branches(idle->net);
  for (gsize n = 0; n < n_nodes; n++) {
    idle->parent[n] = idle->by[n] = idle->depth[n] = -1;
    idle->block[n] = (int)n;
  }
  g_autofree int *first = g_new0(int, n_nodes + 1), *list = g_new0(int, 2 * n_branches + 1);
  list_by_node(idle->net, idle->present, first, list);
  grow_tree(idle, first, list);
  join_blocks(idle);
}

/* A coil on no way round never pulls, so what it would close stays open. FALSE: nothing new. */
static gboolean rest_coils(LgIdle *idle)
{
  gboolean any = FALSE;
  for (int b = 0; b < lg_net_n_branches(idle->net); b++) {
    const int gate = lg_net_branch(idle->net, b)->gate;
    if (!idle->present[b] || gate < 0)
      continue;
    const LgNetGate *const g = lg_net_gate(idle->net, gate);
    if (g->coil < 0 || !g->coil_pulled ||
        !carries_nothing(idle, lg_net_coil(idle->net, g->coil)->branch))
      continue;
    idle->present[b] = FALSE;
    any = TRUE;
  }
  return any;
}

LgIdle *lg_idle_new(const LgNet *net, const int position[])
{
  const gsize n_nodes = (gsize)lg_net_n_nodes(net), n_branches = (gsize)lg_net_n_branches(net);
  LgIdle *const idle = g_new0(LgIdle, 1);
  idle->net = net;
  idle->present = g_new0(guint8, n_branches + 1);
  idle->parent = g_new(int, n_nodes);
  idle->by = g_new(int, n_nodes);
  idle->depth = g_new(int, n_nodes);
  idle->block = g_new(int, n_nodes);
  for (gsize b = 0; b < n_branches; b++)
    idle->present[b] = (guint8)may_conduct(net, (int)b, position);
  do
    find_ways(idle);
  while (rest_coils(idle));
  return idle;
}

void lg_idle_free(LgIdle *idle)
{
  if (idle == NULL)
    return;
  g_free(idle->present);
  g_free(idle->parent);
  g_free(idle->by);
  g_free(idle->depth);
  g_free(idle->block);
  g_free(idle);
}

/* What a list of changes takes out and puts in. */
typedef struct {
  const LgIdle *idle;
  int opened[LG_MOST_IDLE];
  int ends[LG_MOST_IDLE][2];
  int n_opened, n_added;
  gboolean matters;
} Changing;

static void open_branch(Changing *c, int branch)
{
  c->matters |= !carries_nothing(c->idle, branch) || c->n_opened == LG_MOST_IDLE;
  if (!c->matters && c->idle->present[branch])
    c->opened[c->n_opened++] = branch;
}

static void add_ends(Changing *c, int a, int b)
{
  c->matters |= c->n_added == LG_MOST_IDLE;
  if (c->matters)
    return;
  c->ends[c->n_added][0] = a;
  c->ends[c->n_added++][1] = b;
}

static void close_branch(Changing *c, int branch)
{
  const LgNetBranch *const b = lg_net_branch(c->idle->net, branch);
  if (c->idle->present[branch])
    c->matters |= !carries_nothing(c->idle, branch);
  else
    add_ends(c, b->a, b->b);
}

static void take_change(Changing *c, const LgChange *change)
{
  switch (change->kind) {
  case LG_CHANGE_OPEN:
    open_branch(c, change->branch);
    return;
  case LG_CHANGE_CLOSED:
    close_branch(c, change->branch);
    return;
  case LG_CHANGE_PARAM:
  case LG_CHANGE_REVERSED:
    c->matters |= !carries_nothing(c->idle, change->branch);
    return;
  case LG_CHANGE_BRIDGE:
    add_ends(c, change->a, change->b);
    return;
  case LG_CHANGE_GATE_OPEN:
  case LG_CHANGE_GATE_CLOSED:
    for (int b = 0; b < lg_net_n_branches(c->idle->net); b++)
      if (lg_net_branch(c->idle->net, b)->gate == change->gate)
        (change->kind == LG_CHANGE_GATE_OPEN ? open_branch : close_branch)(c, b);
    return;
  }
  g_assert_not_reached();
}

/* The uppermost node that is still tied to this one. */
static int island_of(const Changing *c, int node)
{
  for (;;) {
    gboolean cut = c->idle->by[node] < 0;
    for (int i = 0; i < c->n_opened && !cut; i++)
      cut = c->opened[i] == c->idle->by[node];
    if (cut)
      return node;
    node = c->idle->parent[node];
  }
}

/* Whether what is put in closes a way round. */
static gboolean closes_way(const Changing *c)
{
  int island[LG_MOST_IDLE][2];
  for (int i = 0; i < c->n_added; i++)
    for (int e = 0; e < 2; e++)
      island[i][e] = island_of(c, c->ends[i][e]);
  for (int i = 0; i < c->n_added; i++) {
    const int from = island[i][0], to = island[i][1];
    if (from == to)
      return TRUE;
    for (int k = i; k < c->n_added; k++)
      for (int e = 0; e < 2; e++)
        if (island[k][e] == from)
          island[k][e] = to;
  }
  return FALSE;
}

gboolean lg_idle_changes(const LgIdle *idle, const LgChange changes[], int n)
{
  Changing c = {.idle = idle};
  for (int i = 0; i < n && !c.matters; i++)
    take_change(&c, &changes[i]);
  return !c.matters && !closes_way(&c);
}
