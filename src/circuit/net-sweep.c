/* All states of some inputs, eight at a time.
 *
 * The inputs are split: every lane takes one combination of the slow ones and walks through all
 * combinations of the fast ones in reflected Gray code of mixed radix (Knuth, The Art of Computer
 * Programming 4A, 7.2.1.1, algorithm H), so that one input moves at a time, mostly the same in all
 * lanes. A lane that has done its combination takes the next that is left. */
#include "circuit/net-private.h"

typedef struct {
  int *position;  /* [n_inputs] */
  int *focus;     /* [n_fast + 1] focus pointers of algorithm H */
  int *direction; /* [n_fast] */
  uint64_t *pulled;
  gboolean active; /* holds a combination of the slow inputs */
  gboolean fresh;  /* has not shown the first state of it */
} Lane;

struct LgWalk {
  Lane lane[LG_LANES];
  int *order; /* inputs that vary, fast ones first */
  int *cost;  /* [n_inputs] columns that a move of the input makes out of date */
  int n_order, n_fast;
  guint64 next, n_slow; /* combinations of the slow inputs: next to hand out, all */
  gboolean *touched;    /* [n_inputs] moved since the last block */
};

LgWalk *lg_walk_new(const LgNet *net)
{
  const gsize n = (gsize)lg_net_n_inputs(net) + 1, words = (gsize)lg_net_n_coils(net) / 64 + 1;
  LgWalk *walk = g_new0(LgWalk, 1);
  for (int l = 0; l < LG_LANES; l++)
    walk->lane[l] = (Lane){.position = g_new0(int, n),
                           .focus = g_new0(int, n),
                           .direction = g_new0(int, n),
                           .pulled = g_new0(uint64_t, words)};
  walk->order = g_new0(int, n);
  walk->cost = g_new0(int, n);
  walk->touched = g_new0(gboolean, n);
  return walk;
}

void lg_walk_free(LgWalk *walk)
{
  if (walk == NULL)
    return;
  for (int l = 0; l < LG_LANES; l++) {
    g_free(walk->lane[l].position);
    g_free(walk->lane[l].focus);
    g_free(walk->lane[l].direction);
    g_free(walk->lane[l].pulled);
  }
  g_free(walk->order);
  g_free(walk->cost);
  g_free(walk->touched);
  g_free(walk);
}

static guint64 times(guint64 x, guint64 y)
{
  guint64 product;
  return __builtin_mul_overflow(x, y, &product) ? G_MAXUINT64 : product;
}

guint64 lg_net_sweep_size(const LgNet *net, const LgNetSweep *sweep)
{
  if (sweep->listed != NULL)
    return sweep->n_listed;
  guint64 size = 1;
  for (int i = 0; i < sweep->n_vary; i++)
    size = times(size, (guint64)lg_net_input(net, sweep->vary[i])->n_positions);
  return size;
}

/* Work of factoring a variable column: itself, and its sums unless baskets keep them. */
static int cost_of_column(const LgNet *net, const LgColumn *c)
{
  const int n_baskets = c->basket_end - c->basket;
  const int n_products = net->sum_start[c->sum + c->n] - net->sum_start[c->sum];
  return 8 + n_products + n_baskets * c->n;
}

static int cost_above(const LgNet *net, int input)
{
  int cost = 0;
  const LgList *gates = &net->input_gates[input];
  for (int i = 0; i < gates->n; i++) {
    const LgList *branches = &net->gate_branches[gates->item[i]];
    for (int k = 0; k < branches->n; k++)
      for (int c = net->branch_column[branches->item[k]]; c >= 0; c = net->column[c].parent)
        cost += cost_of_column(net, &net->column[c]);
  }
  return cost;
}

/* Cheapest inputs first; insertion sort, as there are few. */
static void order_inputs(const LgNet *net, LgWalk *walk, const LgNetSweep *sweep)
{
  walk->n_order = 0;
  for (int i = 0; i < sweep->n_vary; i++) {
    const int input = sweep->vary[i];
    g_assert(input >= 0 && input < lg_net_n_inputs(net));
    if (lg_net_input(net, input)->n_positions == 1)
      continue;
    walk->cost[input] = cost_above(net, input);
    int at = walk->n_order++;
    for (; at > 0 && walk->cost[walk->order[at - 1]] > walk->cost[input]; at--)
      walk->order[at] = walk->order[at - 1];
    walk->order[at] = input;
  }
}

/* How many of the ordered inputs are walked by the lanes themselves: as few blocks as can be,
 * counting a new slow combination as some blocks of its own. */
static void split_inputs(const LgNet *net, LgWalk *walk)
{
  const double blocks_per_start = 4;
  double best = INFINITY;
  guint64 slow = 1;
  for (int n_fast = walk->n_order; n_fast >= 0; n_fast--) {
    guint64 fast = 1;
    for (int i = 0; i < n_fast; i++)
      fast = times(fast, (guint64)lg_net_input(net, walk->order[i])->n_positions);
    const double rounds = (double)(slow / LG_LANES + (slow % LG_LANES != 0));
    const double blocks = rounds * ((double)fast + blocks_per_start);
    if (blocks < best) {
      best = blocks;
      walk->n_fast = n_fast;
      walk->n_slow = slow;
    }
    if (n_fast > 0)
      slow = times(slow, (guint64)lg_net_input(net, walk->order[n_fast - 1])->n_positions);
  }
}

static void place(LgNetWork *work, int lane, int input, int position)
{
  work->walk->lane[lane].position[input] = position;
  work->team.rest->position[input * LG_LANES + lane] = position;
  work->walk->touched[input] = TRUE;
}

static void begin_list(LgNetWork *work, const LgNetSweep *sweep)
{
  const LgNet *net = work->net;
  work->walk->next = 0;
  work->walk->n_slow = sweep->n_listed;
  for (int i = 0; i < lg_net_n_inputs(net) && sweep->n_listed > 0; i++)
    for (int l = 0; l < LG_LANES; l++)
      place(work, l, i, sweep->listed[i]);
}

static void begin(LgNetWork *work, const LgNetSweep *sweep)
{
  if (sweep->listed != NULL) {
    begin_list(work, sweep);
    return;
  }
  LgWalk *walk = work->walk;
  const LgNet *net = work->net;
  order_inputs(net, walk, sweep);
  split_inputs(net, walk);
  walk->next = 0;
  for (int l = 0; l < LG_LANES; l++) {
    for (int i = 0; i < lg_net_n_inputs(net); i++) {
      g_assert(sweep->base[i] >= 0 && sweep->base[i] < lg_net_input(net, i)->n_positions);
      place(work, l, i, sweep->base[i]);
    }
    for (int i = 0; i < walk->n_order; i++)
      place(work, l, walk->order[i], 0);
    for (int i = 0; i < walk->n_fast; i++)
      walk->lane[l].direction[i] = 1;
    walk->lane[l].active = FALSE;
  }
}

/* The fast inputs stand at their ends, where the last round left them; the next round starts from
 * there. */
static gboolean take_slow(LgNetWork *work, int lane)
{
  LgWalk *walk = work->walk;
  if (walk->next >= walk->n_slow)
    return FALSE;
  guint64 rest = walk->next++;
  for (int i = walk->n_fast; i < walk->n_order; i++) {
    const guint64 n = (guint64)lg_net_input(work->net, walk->order[i])->n_positions;
    if (walk->lane[lane].position[walk->order[i]] != (int)(rest % n))
      place(work, lane, walk->order[i], (int)(rest % n));
    rest /= n;
  }
  for (int i = 0; i <= walk->n_fast; i++)
    walk->lane[lane].focus[i] = i;
  walk->lane[lane].active = walk->lane[lane].fresh = TRUE;
  return TRUE;
}

/* One move of the Gray code; FALSE at its end. */
static gboolean move(LgNetWork *work, int lane_index)
{
  LgWalk *walk = work->walk;
  Lane *lane = &walk->lane[lane_index];
  const int i = lane->focus[0];
  lane->focus[0] = 0;
  if (i == walk->n_fast)
    return FALSE;
  const int input = walk->order[i], position = lane->position[input] + lane->direction[i];
  place(work, lane_index, input, position);
  if (position == 0 || position == lg_net_input(work->net, input)->n_positions - 1) {
    lane->direction[i] = -lane->direction[i];
    lane->focus[i] = lane->focus[i + 1];
    lane->focus[i + 1] = i + 1;
  }
  return TRUE;
}

static gboolean take_listed(LgNetWork *work, const LgNetSweep *sweep, int lane)
{
  LgWalk *walk = work->walk;
  const int n = lg_net_n_inputs(work->net);
  if (walk->next >= walk->n_slow)
    return FALSE;
  const int *state = sweep->listed + walk->next++ * (guint64)n;
  for (int i = 0; i < n; i++) {
    g_assert(state[i] >= 0 && state[i] < lg_net_input(work->net, i)->n_positions);
    if (walk->lane[lane].position[i] != state[i])
      place(work, lane, i, state[i]);
  }
  return TRUE;
}

/* To the lane's next state that is not skipped; FALSE when there is none. */
static gboolean advance(LgNetWork *work, const LgNetSweep *sweep, int lane_index)
{
  Lane *lane = &work->walk->lane[lane_index];
  if (sweep->listed != NULL)
    return take_listed(work, sweep, lane_index);
  for (;;) {
    if (!lane->active) {
      if (!take_slow(work, lane_index))
        return FALSE;
    } else if (!move(work, lane_index)) {
      lane->active = FALSE;
      continue;
    }
    if (sweep->skip == NULL || !sweep->skip(lane->position, sweep->user))
      return TRUE;
  }
}

/* The slates that every state needs follow at once; that of the pulled start when it is called for.
 * With relays given, the slate of the rest is alone. */
static void load_touched(LgNetWork *work, gboolean with_relays, gboolean latching)
{
  const LgTeam *team = &work->team;
  for (int i = 0; i < lg_net_n_inputs(work->net); i++) {
    if (!work->walk->touched[i])
      continue;
    work->walk->touched[i] = FALSE;
    lg_slate_input_changed(work->net, team->rest, i);
    if (!with_relays || team->all_released == team->rest)
      continue;
    const gsize bytes = sizeof(int) * LG_LANES;
    memcpy(team->all_released->position + i * LG_LANES, team->rest->position + i * LG_LANES, bytes);
    lg_slate_input_changed(work->net, team->all_released, i);
    if (!latching)
      continue;
    memcpy(team->all_pulled->position + i * LG_LANES, team->rest->position + i * LG_LANES, bytes);
    lg_slate_input_changed(work->net, team->all_pulled, i);
  }
}

static void hold_coils(LgNetWork *work, const gboolean *pulled)
{
  LgSlate *slate = work->team.rest;
  for (int c = 0; c < lg_net_n_coils(work->net); c++) {
    for (int l = 0; l < LG_LANES; l++)
      slate->pulled[c * LG_LANES + l] = pulled != NULL && pulled[c] ? -1 : 0;
    lg_slate_coil_changed(work->net, slate, c);
  }
}

static LgRest solve_lanes(LgNetWork *work, const LgNetSweep *sweep)
{
  LgRest rest = {0};
  if (sweep->with_relays)
    return lg_team_settle(work, &work->team, !sweep->released_only);
  if (work->net->n_curves > 0)
    rest.stalled = lg_slate_newton(work, work->team.rest, LG_AIM_VOLTS).stalled;
  else
    lg_slate_factor(work, work->team.rest);
  for (int l = 0; l < LG_LANES; l++)
    rest.coil[l] = -1;
  return rest;
}

static void pack_coils(LgNetWork *work)
{
  const LgVecI *pulled = (const LgVecI *)work->team.rest->pulled;
  const int n = lg_net_n_coils(work->net);
  for (int word = 0; 64 * word < n; word++) {
    LgVecI bits = {0};
    for (int c = 64 * word; c < MIN(64 * word + 64, n); c++)
      bits |= (pulled[c] & 1) << (c % 64);
    for (int l = 0; l < LG_LANES; l++)
      work->walk->lane[l].pulled[word] = (uint64_t)bits[l];
  }
}

/* Moves the volts of the lanes in use to the front; the next substitution writes all of them anew.
 */
static void close_ranks(LgNetWork *work, const int lanes[LG_LANES])
{
  work->team.rest->whole = FALSE;
  for (int i = 0; i < work->net->n_nodes; i++) {
    double *v = work->team.rest->v + i * LG_LANES, old[LG_LANES];
    memcpy(old, v, sizeof old);
    for (int l = 0; l < LG_LANES; l++)
      v[l] = old[lanes[l]];
  }
}

/* The lanes' next states; returns how many lanes have one. */
static int advance_all(LgNetWork *work, const LgNetSweep *sweep, int lanes[LG_LANES])
{
  int n = 0;
  for (int l = 0; l < LG_LANES; l++)
    if (advance(work, sweep, l))
      lanes[n++] = l;
  return n;
}

/* Goes to the first block of the share; returns how many blocks it has. To walk without solving is
 * cheap. */
static guint64 begin_share(LgNetWork *work, const LgNetSweep *sweep)
{
  int lanes[LG_LANES];
  guint64 n = 0;
  begin(work, sweep);
  if (sweep->n_parts == 0)
    return G_MAXUINT64;
  while (advance_all(work, sweep, lanes) > 0)
    n++;
  begin(work, sweep);
  const guint64 parts = (guint64)sweep->n_parts, part = (guint64)sweep->part;
  const guint64 first = n * part / parts;
  for (guint64 i = 0; i < first; i++)
    advance_all(work, sweep, lanes);
  return n * (part + 1) / parts - first;
}

guint64 lg_net_sweep(const LgNet *net, LgNetWork *work, const LgNetSweep *sweep, LgNetVisit visit,
                     gpointer user)
{
  g_assert(work->net == net);
  lg_net_work_widen(work);
  LgSlate *slate = work->team.rest;
  guint64 visited = 0;
  for (int i = 0; i < 4; i++)
    if (work->wide[i].lanes > 0)
      lg_work_refresh(work, &work->wide[i]);
  const guint64 n_blocks = begin_share(work, sweep);
  if (!sweep->with_relays)
    hold_coils(work, sweep->pulled);
  for (guint64 b = 0; b < n_blocks; b++) {
    int lanes[LG_LANES];
    const int n = advance_all(work, sweep, lanes);
    if (n == 0)
      break;
    for (int l = n; l < LG_LANES; l++)
      lanes[l] = lanes[0];
    load_touched(work, sweep->with_relays, !sweep->released_only);
    const LgRest rest = solve_lanes(work, sweep);
    lg_slate_substitute(work, slate);
    if (n < LG_LANES)
      close_ranks(work, lanes);
    pack_coils(work);
    LgNetBlock block = {.n = n, .volts = (const double(*)[LG_LANES])slate->v};
    for (int l = 0; l < LG_LANES; l++) {
      block.position[l] = work->walk->lane[lanes[l]].position;
      block.pulled[l] = work->walk->lane[lanes[l]].pulled;
      block.outcome[l] = lg_rest_outcome(&rest, lanes[l]);
      block.coil[l] = rest.coil[lanes[l]];
    }
    visit(&block, work, user);
    visited += (guint64)n;
  }
  return visited;
}

void lg_net_block_current(const LgNet *net, const LgNetWork *work, const LgNetBlock *block,
                          int branch, double out[LG_LANES])
{
  g_assert(work->net == net);
  const LgNetBranch *b = lg_net_branch(net, branch);
  const double *va = block->volts[b->a], *vb = block->volts[b->b];
  const LgForce forced = net->forced[branch];
  const gboolean free = b->gate >= 0 && forced == LG_FORCED_NOT;
  if (!free && b->kind == LG_BRANCH_RESISTOR) {
    const double g = forced == LG_FORCED_OPEN ? 0 : b->p[0];
    for (int l = 0; l < LG_LANES; l++)
      out[l] = isnan(va[l] - vb[l]) ? 0 : g * (va[l] - vb[l]);
    return;
  }
  for (int l = 0; l < LG_LANES; l++) {
    double slope;
    const gboolean closed =
        free ? lg_gate_is_closed(net, b->gate, block->position[l], block->pulled[l])
             : forced != LG_FORCED_OPEN;
    out[l] = closed && !isnan(va[l]) && !isnan(vb[l]) ? lg_curve(b, va[l] - vb[l], &slope) : 0;
  }
}
