/* All combinations of the inputs, or groups of them; states.h tells the method. */
#include "studies/states-private.h"

/* What is tied to what. Items of the forest are nodes, then inputs. */
typedef struct {
  const LgStage *stage;
  const LgWays *ways;
  const uint64_t *allowed; /* [n_inputs] */
  int n_nodes, n_inputs;
  gboolean *rail;    /* [n_nodes] */
  gboolean *hub;     /* [n_inputs] */
  gboolean *settled; /* [n_coils] its state hangs on hubs alone */
  int *forest;
  int *branch_element; /* [branches of the stage] element, -1: a wire */
} Map;

static guint64 times(guint64 x, guint64 y)
{
  guint64 product;
  return __builtin_mul_overflow(x, y, &product) ? G_MAXUINT64 : product;
}

static guint64 plus(guint64 x, guint64 y)
{
  return x > G_MAXUINT64 - y ? G_MAXUINT64 : x + y;
}

static int n_allowed(const Map *map, int input)
{
  return __builtin_popcountll(map->allowed[input]);
}

static int root(Map *map, int item)
{
  while (map->forest[item] != item)
    item = map->forest[item] = map->forest[map->forest[item]];
  return item;
}

static void tie(Map *map, int x, int y)
{
  map->forest[root(map, x)] = root(map, y);
}

static gboolean is_varied(const Map *map, int input)
{
  return n_allowed(map, input) > 1;
}

/* Whether what works the gate is known once the hubs are. */
static gboolean is_settled(const Map *map, int gate_index)
{
  if (gate_index < 0)
    return TRUE;
  const LgNetGate *const gate = lg_net_gate(map->stage->net, gate_index);
  for (int k = 0; k < 2; k++)
    if (gate->input[k] >= 0 && is_varied(map, gate->input[k]) && !map->hub[gate->input[k]])
      return FALSE;
  return gate->coil < 0 || map->settled[gate->coil];
}

static gboolean is_conductor(const Map *map, int branch)
{
  const int element = map->branch_element[branch];
  if (element < 0)
    return TRUE;
  const LgElementKind kind = map->stage->circuit->job->elements[element].kind;
  return kind == LG_EL_LINK || kind == LG_EL_CHASSIS || lg_element_is_protection(kind) ||
         lg_element_is_contact(kind);
}

static gboolean is_source(const Map *map, int branch)
{
  const int element = map->branch_element[branch];
  return element >= 0 && lg_element_is_source(map->stage->circuit->job->elements[element].kind);
}

/* One pass over the branches; TRUE while something new became a rail or settled. */
static gboolean spread_rails(Map *map)
{
  const LgNet *const net = map->stage->net;
  gboolean news = FALSE;
  for (int b = 0; b < lg_net_n_branches(net); b++) {
    const LgNetBranch *const branch = lg_net_branch(net, b);
    if (is_source(map, b)) {
      news |= !map->rail[branch->a] || !map->rail[branch->b];
      map->rail[branch->a] = map->rail[branch->b] = TRUE;
    } else if (map->rail[branch->a] != map->rail[branch->b] && is_conductor(map, b) &&
               is_settled(map, branch->gate)) {
      map->rail[branch->a] = map->rail[branch->b] = news = TRUE;
    }
  }
  for (int c = 0; c < lg_net_n_coils(net); c++) {
    const LgNetBranch *const branch = lg_net_branch(net, lg_net_coil(net, c)->branch);
    if (!map->settled[c] && map->rail[branch->a] && map->rail[branch->b])
      map->settled[c] = news = TRUE;
  }
  return news;
}

static void tie_gate(Map *map, int node, int gate_index)
{
  const LgNetGate *const gate = lg_net_gate(map->stage->net, gate_index);
  const LgNet *const net = map->stage->net;
  for (int k = 0; k < 2; k++)
    if (gate->input[k] >= 0 && !map->hub[gate->input[k]])
      tie(map, map->n_nodes + gate->input[k], node);
  if (gate->coil < 0 || map->settled[gate->coil])
    return;
  const LgNetBranch *const coil = lg_net_branch(net, lg_net_coil(net, gate->coil)->branch);
  if (!map->rail[coil->a])
    tie(map, coil->a, node);
  if (!map->rail[coil->b])
    tie(map, coil->b, node);
}

static void tie_branches(Map *map)
{
  const LgNet *const net = map->stage->net;
  for (int b = 0; b < lg_net_n_branches(net); b++) {
    const LgNetBranch *const branch = lg_net_branch(net, b);
    if (!map->rail[branch->a] && !map->rail[branch->b])
      tie(map, branch->a, branch->b);
    if (branch->gate < 0)
      continue;
    for (int k = 0; k < 2; k++) {
      const int node = k == 0 ? branch->a : branch->b;
      if (!map->rail[node])
        tie_gate(map, node, branch->gate);
    }
  }
  const LgJob *const job = map->stage->circuit->job;
  for (int i = 0; i < job->n_inputs; i++)
    if (job->inputs[i].when_input >= 0 && !map->hub[i] && !map->hub[job->inputs[i].when_input])
      tie(map, map->n_nodes + i, map->n_nodes + job->inputs[i].when_input);
}

/* Draws the map for the hubs as they stand. */
static void draw(Map *map)
{
  for (int i = 0; i < map->n_nodes + map->n_inputs; i++)
    map->forest[i] = i;
  memset(map->rail, 0, sizeof(gboolean) * (gsize)map->n_nodes);
  memset(map->settled, 0, sizeof(gboolean) * ((gsize)lg_net_n_coils(map->stage->net) + 1));
  map->rail[0] = TRUE;
  if (map->stage->circuit->body_node >= 0)
    map->rail[map->stage->circuit->body_node] = TRUE;
  while (spread_rails(map)) {
  }
  tie_branches(map);
}

/* Inputs that work a source, or join two rails, move everything at once. */
static gboolean forced_hubs(Map *map)
{
  const LgNet *const net = map->stage->net;
  gboolean news = FALSE;
  for (int b = 0; b < lg_net_n_branches(net); b++) {
    const LgNetBranch *const branch = lg_net_branch(net, b);
    if (branch->gate < 0)
      continue;
    const gboolean joins = map->rail[branch->a] && map->rail[branch->b] && is_conductor(map, b);
    const LgNetGate *const gate = lg_net_gate(net, branch->gate);
    for (int k = 0; k < 2; k++)
      if (gate->input[k] >= 0 && is_varied(map, gate->input[k]) && !map->hub[gate->input[k]] &&
          (joins || is_source(map, b)))
        map->hub[gate->input[k]] = news = TRUE;
  }
  return news;
}

static void redraw(Map *map)
{
  do
    draw(map);
  while (forced_hubs(map));
}

static guint64 hub_combinations(const Map *map)
{
  guint64 n = 1;
  for (int i = 0; i < map->n_inputs; i++)
    if (map->hub[i])
      n = times(n, (guint64)n_allowed(map, i));
  return n;
}

/* Combinations of the group of every input, at the root's item. */
static guint64 *group_sizes(Map *map)
{
  guint64 *const size = g_new(guint64, (gsize)(map->n_nodes + map->n_inputs));
  for (int i = 0; i < map->n_nodes + map->n_inputs; i++)
    size[i] = 1;
  for (int i = 0; i < map->n_inputs; i++)
    if (is_varied(map, i) && !map->hub[i]) {
      guint64 *const at = &size[root(map, map->n_nodes + i)];
      *at = times(*at, (guint64)n_allowed(map, i));
    }
  return size;
}

/* States that walking by groups would take. */
static guint64 cost(Map *map)
{
  g_autofree guint64 *size = group_sizes(map);
  guint64 sum = 0;
  for (int i = 0; i < map->n_nodes + map->n_inputs; i++)
    if (size[i] > 1)
      sum = plus(sum, times(3, size[i]));
  return times(hub_combinations(map), sum);
}

/* The input of the largest group that is best made a hub; FALSE when none makes it cheaper. */
static gboolean add_hub(Map *map)
{
  const guint64 now = cost(map);
  g_autofree guint64 *size = group_sizes(map);
  int largest = -1, best = -1;
  for (int i = 0; i < map->n_nodes + map->n_inputs; i++)
    if (largest < 0 || size[i] > size[largest])
      largest = i;
  g_autofree gboolean *candidate = g_new0(gboolean, (gsize)map->n_inputs + 1);
  for (int i = 0; i < map->n_inputs; i++)
    candidate[i] =
        is_varied(map, i) && !map->hub[i] && root(map, map->n_nodes + i) == root(map, largest);
  g_autofree gboolean *hubs = g_memdup2(map->hub, sizeof(gboolean) * ((gsize)map->n_inputs + 1));
  guint64 least = now;
  for (int i = 0; i < map->n_inputs; i++) {
    if (!candidate[i])
      continue;
    map->hub[i] = TRUE;
    redraw(map);
    const guint64 then = cost(map);
    if (then < least) {
      least = then;
      best = i;
    }
    memcpy(map->hub, hubs, sizeof(gboolean) * ((gsize)map->n_inputs + 1));
  }
  if (best >= 0)
    map->hub[best] = TRUE;
  redraw(map);
  return best >= 0;
}

static void map_init(Map *map, const LgStage *stage, const LgWays *ways, const uint64_t allowed[])
{
  const LgJob *const job = stage->circuit->job;
  *map = (Map){.stage = stage,
               .ways = ways,
               .allowed = allowed,
               .n_nodes = lg_net_n_nodes(stage->net),
               .n_inputs = job->n_inputs};
  map->rail = g_new0(gboolean, (gsize)map->n_nodes);
  map->hub = g_new0(gboolean, (gsize)map->n_inputs + 1);
  map->settled = g_new0(gboolean, (gsize)lg_net_n_coils(stage->net) + 1);
  map->forest = g_new0(int, (gsize)(map->n_nodes + map->n_inputs));
  map->branch_element = g_new(int, (gsize)lg_net_n_branches(stage->net) + 1);
  for (int b = 0; b < lg_net_n_branches(stage->net); b++)
    map->branch_element[b] = -1;
  for (int e = 0; e < job->n_elements; e++)
    for (int k = 0; k < stage->n[e]; k++)
      map->branch_element[stage->first[e] + k] = e;
}

static void map_clear(Map *map)
{
  g_free(map->rail);
  g_free(map->hub);
  g_free(map->settled);
  g_free(map->forest);
  g_free(map->branch_element);
}

/* One walk. */
typedef struct {
  const LgStage *stage;
  const uint64_t *allowed;
  gboolean restricted; /* some input is allowed a part of its positions only */
  int n_tied, *tied;   /* inputs with a condition */
  LgNetVisit visit;
  gpointer user;
  const LgLooker *looker, *twin;
  guint64 n_solved;
  /* least and greatest draw of the group that is walked first */
  double least_A, most_A;
  int *least, *most;
} Walk;

static gboolean skip(const int position[], gpointer user)
{
  const Walk *const walk = user;
  const LgInput *const inputs = walk->stage->circuit->job->inputs;
  for (int t = 0; t < walk->n_tied; t++) {
    const int i = walk->tied[t];
    if (position[i] != 0 && (inputs[i].when_positions >> position[inputs[i].when_input] & 1) == 0)
      return TRUE;
  }
  if (walk->restricted)
    for (int i = 0; i < walk->stage->circuit->job->n_inputs; i++)
      if ((walk->allowed[i] >> position[i] & 1) == 0)
        return TRUE;
  return FALSE;
}

static LgNetSweep sweep_of(Walk *walk, const int vary[], int n_vary, const int base[])
{
  return (LgNetSweep){.vary = vary,
                      .n_vary = n_vary,
                      .base = base,
                      .with_relays = TRUE,
                      .released_only = walk->stage->provisional,
                      .skip = walk->n_tied > 0 || walk->restricted ? skip : NULL,
                      .user = walk};
}

static void sweep(Walk *walk, const int vary[], int n_vary, const int base[], LgNetVisit visit,
                  gpointer user)
{
  const LgNetSweep what = sweep_of(walk, vary, n_vary, base);
  walk->n_solved += lg_net_sweep(walk->stage->net, walk->stage->work, &what, visit, user);
}

/* Half of a sweep, or all of it. */
typedef struct {
  const LgLooker *who;
  LgNetSweep what;
  const LgEchoes *echoes;
  int *positions; /* [LG_LANES][n_inputs] of the echo at hand */
  guint64 n_solved;
} Share;

static void show_echo(const Share *share, const LgNetBlock *block, const LgNetWork *work, int at)
{
  const gsize n = (gsize)share->who->stage->circuit->job->n_inputs;
  LgNetBlock echo = *block;
  for (gsize k = 0; k < LG_LANES; k++) {
    int *const position = share->positions + k * n;
    memcpy(position, block->position[k], sizeof *position * n);
    position[share->echoes->input] = at;
    echo.position[k] = position;
  }
  share->who->echo(&echo, work, share->echoes, share->who->user);
}

static void visit_echoes(const LgNetBlock *block, const LgNetWork *work, gpointer user)
{
  Share *const share = user;
  const LgEchoes *const echoes = share->echoes;
  const int here = share->what.base[echoes->input],
            n = lg_net_input(share->who->stage->net, echoes->input)->n_positions;
  share->who->visit(block, work, share->who->user);
  for (int p = here + 1; p < n; p++)
    if (echoes->like[p] == here) {
      show_echo(share, block, work, p);
      share->n_solved += (guint64)block->n;
    }
}

static gpointer sweep_share(gpointer data)
{
  Share *const share = data;
  const LgStage *const stage = share->who->stage;
  if (share->echoes == NULL) {
    share->n_solved =
        lg_net_sweep(stage->net, stage->work, &share->what, share->who->visit, share->who->user);
    return NULL;
  }
  share->positions = g_new(int, LG_LANES *(gsize)stage->circuit->job->n_inputs + 1);
  share->n_solved += lg_net_sweep(stage->net, stage->work, &share->what, visit_echoes, share);
  g_free(share->positions);
  return NULL;
}

static void sweep_shares(Walk *walk, const int vary[], int n_vary, const int base[],
                         const LgEchoes *echoes)
{
  Share mine = {walk->looker, sweep_of(walk, vary, n_vary, base), echoes, NULL, 0};
  Share other = {walk->twin, mine.what, echoes, NULL, 0};
  GThread *thread = NULL;
  if (walk->twin != NULL) {
    mine.what.n_parts = other.what.n_parts = 2;
    other.what.part = 1;
    thread = g_thread_try_new("states", sweep_share, &other, NULL);
  }
  sweep_share(&mine);
  if (thread != NULL)
    g_thread_join(thread);
  else if (walk->twin != NULL)
    sweep_share(&other);
  walk->n_solved += mine.n_solved + other.n_solved;
}

static void visit_first(const LgNetBlock *block, const LgNetWork *work, gpointer user)
{
  Walk *const walk = user;
  double supply[LG_LANES];
  walk->visit(block, work, walk->user);
  lg_stage_supply(walk->stage, block, supply);
  for (int k = 0; k < block->n; k++) {
    const gsize bytes = sizeof(int) * (gsize)walk->stage->circuit->job->n_inputs;
    if (supply[k] < walk->least_A) {
      walk->least_A = supply[k];
      memcpy(walk->least, block->position[k], bytes);
    }
    if (supply[k] > walk->most_A) {
      walk->most_A = supply[k];
      memcpy(walk->most, block->position[k], bytes);
    }
  }
}

typedef struct {
  GArray *input; /* int, group after group */
  GArray *first; /* int, where a group begins; one more at the end */
  int n, n_cut;
} Groups;

/* Groups of the map; those above `budget` combinations are cut. */
static Groups list_groups(Map *map, guint64 budget)
{
  Groups groups = {g_array_new(FALSE, FALSE, sizeof(int)), g_array_new(FALSE, FALSE, sizeof(int)),
                   0, 0};
  for (int item = 0; item < map->n_nodes + map->n_inputs; item++) {
    if (root(map, item) != item)
      continue;
    guint64 size = 1;
    int begun = 0;
    for (int i = 0; i < map->n_inputs; i++) {
      if (!is_varied(map, i) || map->hub[i] || root(map, map->n_nodes + i) != item)
        continue;
      size = times(size, (guint64)n_allowed(map, i));
      if (begun == 0 || size > budget) {
        groups.n_cut += begun > 0;
        g_array_append_val(groups.first, groups.input->len);
        size = (guint64)n_allowed(map, i);
        begun = 1;
        groups.n++;
      }
      g_array_append_val(groups.input, i);
    }
  }
  g_array_append_val(groups.first, groups.input->len);
  return groups;
}

static void take_group(const Groups *groups, int g, const int from[], int to[])
{
  for (int i = g_array_index(groups->first, int, g); i < g_array_index(groups->first, int, g + 1);
       i++) {
    const int input = g_array_index(groups->input, int, i);
    to[input] = from[input];
  }
}

static void sweep_group(Walk *walk, const Groups *groups, int g, const int base[], LgNetVisit visit,
                        gpointer user)
{
  const int first = g_array_index(groups->first, int, g);
  sweep(walk, &g_array_index(groups->input, int, first),
        g_array_index(groups->first, int, g + 1) - first, base, visit, user);
}

/* Every group three times, the hubs as in `base`. */
static void walk_groups(Walk *walk, const Groups *groups, const int base[])
{
  const gsize n = (gsize)walk->stage->circuit->job->n_inputs;
  g_autofree int *least = g_memdup2(base, sizeof(int) * (n + 1));
  g_autofree int *most = g_memdup2(base, sizeof(int) * (n + 1));
  for (int g = 0; g < groups->n; g++) {
    walk->least_A = INFINITY;
    walk->most_A = -INFINITY;
    sweep_group(walk, groups, g, base, visit_first, walk);
    if (walk->least_A > walk->most_A)
      continue; /* nothing of it was possible */
    take_group(groups, g, walk->least, least);
    take_group(groups, g, walk->most, most);
  }
  for (int g = 0; groups->n > 1 && g < groups->n; g++) {
    sweep_group(walk, groups, g, least, walk->visit, walk->user);
    sweep_group(walk, groups, g, most, walk->visit, walk->user);
  }
  if (groups->n == 0)
    sweep(walk, NULL, 0, base, walk->visit, walk->user);
}

/* The next allowed position of the hubs; FALSE after the last. */
static gboolean next_hubs(const Map *map, int base[])
{
  for (int i = 0; i < map->n_inputs; i++) {
    if (!map->hub[i])
      continue;
    const uint64_t above = map->allowed[i] >> base[i] >> 1;
    if (above != 0) {
      base[i] += 1 + __builtin_ctzll(above);
      return TRUE;
    }
    base[i] = __builtin_ctzll(map->allowed[i]);
  }
  return FALSE;
}

/* Combinations of input `i` and of all that wait for it, given the position of what it waits for.
 */
static guint64 possible_below(const Map *map, const LgJob *job, int i, gboolean free_to_move,
                              int depth)
{
  guint64 sum = 0;
  for (int p = 0; p < job->inputs[i].n_positions; p++) {
    if ((map->allowed[i] >> p & 1) == 0 || (p > 0 && !free_to_move))
      continue;
    guint64 product = 1;
    for (int k = 0; k < job->n_inputs; k++)
      if (job->inputs[k].when_input == i && depth < job->n_inputs)
        product = times(product, possible_below(map, job, k, job->inputs[k].when_positions >> p & 1,
                                                depth + 1));
    sum = plus(sum, product);
  }
  return sum;
}

/* Inputs that wait for each other in a ring count as if free. */
static guint64 count_possible(const Map *map, const LgJob *job)
{
  guint64 n = 1;
  for (int i = 0; i < job->n_inputs; i++) {
    int top = i;
    for (int steps = 0; steps <= job->n_inputs && job->inputs[top].when_input >= 0; steps++)
      top = job->inputs[top].when_input;
    if (job->inputs[i].when_input < 0)
      n = times(n, possible_below(map, job, i, TRUE, 0));
    else if (job->inputs[top].when_input >= 0)
      n = times(n, (guint64)n_allowed(map, i));
  }
  return n;
}

/* Echoes are told one by one, so they need an input that is walked position by position. */
static void walk_all(Walk *walk, const Map *map, int base[], const LgEchoes *echoes)
{
  g_autofree int *vary = g_new(int, (gsize)map->n_inputs + 1);
  const int apart = echoes != NULL ? echoes->input : -1;
  int n = 0;
  for (int i = 0; i < map->n_inputs; i++)
    if (is_varied(map, i) && i != apart)
      vary[n++] = i;
  if (apart < 0) {
    sweep_shares(walk, vary, n, base, NULL);
    return;
  }
  for (int p = 0; p < lg_net_input(walk->stage->net, apart)->n_positions; p++)
    if (echoes->like[p] == p) {
      base[apart] = p;
      sweep_shares(walk, vary, n, base, echoes);
    }
}

/* Fewer states are seen sooner than a second thread has made room for its numbers, or echoes have
 * been looked for. */
#define WORTH_TWO 2048

static LgWalked walk_map(Walk *walk, Map *map, guint64 most, int base[])
{
  guint64 product = 1;
  for (int i = 0; i < map->n_inputs; i++)
    product = times(product, (guint64)n_allowed(map, i));
  LgWalked walked = {
      .n_possible = walk->n_tied == 0 ? product : count_possible(map, walk->stage->circuit->job),
      .n_groups = 1};
  /* Passing over what cannot be is cheap, but not free. */
  if (walked.n_possible <= most && product / 16 <= most) {
    const gboolean many = walked.n_possible >= WORTH_TWO;
    if (!many)
      walk->twin = NULL;
    g_autoptr(LgEchoes) echoes =
        many && walk->looker->echo != NULL && !walk->restricted ? lg_echoes_new(walk->stage) : NULL;
    walk_all(walk, map, base, echoes);
    walked.n_solved = walk->n_solved;
    return walked;
  }
  redraw(map);
  while (cost(map) > most && hub_combinations(map) < most && add_hub(map)) {
  }
  guint64 budget = G_MAXUINT64;
  Groups groups = list_groups(map, budget);
  while (cost(map) > most && budget > 2) {
    budget = budget == G_MAXUINT64 ? MAX(most, 16) : budget / 2;
    g_array_unref(groups.first);
    g_array_unref(groups.input);
    groups = list_groups(map, budget);
    if (times(times(hub_combinations(map), 3 * budget), (guint64)MAX(groups.n, 1)) <= most)
      break;
  }
  do
    walk_groups(walk, &groups, base);
  while (next_hubs(map, base));
  walked.n_groups = MAX(groups.n, 1);
  walked.n_cut = groups.n_cut;
  walked.n_solved = walk->n_solved;
  g_array_unref(groups.first);
  g_array_unref(groups.input);
  return walked;
}

LgWalked lg_walk(const LgLooker *looker, const LgWays *ways, const uint64_t allowed[], guint64 most,
                 const LgLooker *twin)
{
  const LgStage *const stage = looker->stage;
  const LgJob *const job = stage->circuit->job;
  const gsize n = (gsize)job->n_inputs + 1;
  g_autofree uint64_t *may = g_new0(uint64_t, n);
  g_autofree int *base = g_new0(int, n), *tied = g_new0(int, n), *least = g_new0(int, n),
                 *greatest = g_new0(int, n);
  Walk walk = {.stage = stage,
               .allowed = may,
               .tied = tied,
               .visit = looker->visit,
               .user = looker->user,
               .looker = looker,
               .twin = twin,
               .least = least,
               .most = greatest};
  for (int i = 0; i < job->n_inputs; i++) {
    const uint64_t all = ((uint64_t)1 << lg_net_input(stage->net, i)->n_positions) - 1;
    const uint64_t here = stage->stand[i] >= 0 ? (uint64_t)1 << stage->stand[i] : all;
    may[i] = allowed == NULL ? here : here & allowed[i];
    if (may[i] == 0)
      return (LgWalked){.n_groups = 1};
    base[i] = __builtin_ctzll(may[i]);
    walk.restricted |= may[i] != here && (may[i] & (may[i] - 1)) != 0;
    if (job->inputs[i].when_input >= 0)
      tied[walk.n_tied++] = i;
  }
  Map map;
  map_init(&map, stage, ways, may);
  const LgWalked walked = walk_map(&walk, &map, most, base);
  map_clear(&map);
  return walked;
}
