/* Faults into plans, plans into networks, and the states walked under each fault. */
#include "circuit/net-fault.h"
#include "circuit/net-private.h"

#include <stdlib.h>

enum {
  HUB = 8,    /* bridges that share a node for it to get a plan of its own */
  GROUP = 16, /* bridges of a plan whose bridges share nothing */
  CHUNK = 4,  /* faults that a thread takes at a time */
};

/* Two nodes that some fault joins, and how often before within the same fault. */
typedef struct {
  int a, b, again;
} Pair;

typedef struct {
  GArray *faults; /* int */
  GArray *pairs;  /* Pair */
  int hub;        /* node that all its bridges share; -1: none */
} Plan;

struct LgFaults {
  const LgNet *net;
  int n, n_changes;
  LgFault *fault;
  LgChange *change;
  int *first;       /* [n] first change of a fault */
  int *bridge;      /* [n_changes] number of the bridge in its plan, -1 */
  int *plan_of;     /* [n] */
  int *order;       /* [n] faults by plan */
  GPtrArray *plans; /* Plan */
};

static void free_plan(gpointer data)
{
  Plan *plan = data;
  g_array_unref(plan->faults);
  g_array_unref(plan->pairs);
  g_free(plan);
}

static void check_change(const LgNet *net, const LgChange *c)
{
  if (c->kind == LG_CHANGE_BRIDGE) {
    g_assert(c->a >= 0 && c->a < net->n_nodes && c->b >= 0 && c->b < net->n_nodes && c->a != c->b);
    g_assert(isfinite(c->value) && c->value > 0);
  } else if (c->kind == LG_CHANGE_GATE_OPEN || c->kind == LG_CHANGE_GATE_CLOSED) {
    g_assert(c->gate >= 0 && c->gate < (int)net->gates->len);
  } else {
    g_assert(c->branch >= 0 && c->branch < lg_net_n_branches(net));
    g_assert(c->kind != LG_CHANGE_PARAM || (c->k >= 0 && c->k < 3));
  }
}

static gboolean needs_fill(const LgChange *c)
{
  return c->kind == LG_CHANGE_BRIDGE && c->a != 0 && c->b != 0;
}

static int n_fills(const LgFault *fault, const LgChange **last)
{
  int n = 0;
  for (int i = 0; i < fault->n; i++)
    if (needs_fill(&fault->change[i])) {
      *last = &fault->change[i];
      n++;
    }
  return n;
}

/* The node of a fault's only bridge that the most such faults touch, where they are many; -1: the
 * fault belongs to a group. */
static int hub_of(const LgFault *fault, const int *touches)
{
  const LgChange *c = NULL;
  if (n_fills(fault, &c) != 1)
    return -1;
  const int hub = touches[c->b] > touches[c->a] ? c->b : c->a;
  return touches[hub] >= HUB ? hub : -1;
}

static Plan *add_plan(LgFaults *faults, int hub)
{
  Plan *plan = g_new0(Plan, 1);
  plan->faults = g_array_new(FALSE, FALSE, sizeof(int));
  plan->pairs = g_array_new(FALSE, FALSE, sizeof(Pair));
  plan->hub = hub;
  g_ptr_array_add(faults->plans, plan);
  return plan;
}

static Plan *find_plan(LgFaults *faults, const LgFault *fault, const int *touches, int *plan_of_hub,
                       Plan **group)
{
  const LgChange *ignored = NULL;
  if (n_fills(fault, &ignored) == 0)
    return g_ptr_array_index(faults->plans, 0);
  const int hub = hub_of(fault, touches);
  if (hub >= 0) {
    if (plan_of_hub[hub] == 0) {
      plan_of_hub[hub] = (int)faults->plans->len;
      add_plan(faults, hub);
    }
    return g_ptr_array_index(faults->plans, (guint)plan_of_hub[hub]);
  }
  if (*group == NULL || (*group)->pairs->len >= GROUP)
    *group = add_plan(faults, -1);
  return *group;
}

static int number_of_pair(Plan *plan, const Pair *pair)
{
  for (guint i = 0; i < plan->pairs->len; i++)
    if (memcmp(&g_array_index(plan->pairs, Pair, i), pair, sizeof *pair) == 0)
      return (int)i;
  g_array_append_val(plan->pairs, *pair);
  return (int)plan->pairs->len - 1;
}

static void number_bridges(LgFaults *faults, int f, Plan *plan)
{
  const LgFault *fault = &faults->fault[f];
  int n = 0;
  for (int i = 0; i < fault->n; i++) {
    const LgChange *c = &fault->change[i];
    faults->bridge[faults->first[f] + i] = -1;
    if (c->kind != LG_CHANGE_BRIDGE)
      continue;
    g_assert(++n <= LG_FAULT_BRIDGES);
    Pair pair = {MIN(c->a, c->b), MAX(c->a, c->b), 0};
    for (int k = 0; k < i; k++)
      pair.again += fault->change[k].kind == LG_CHANGE_BRIDGE &&
                    MIN(fault->change[k].a, fault->change[k].b) == pair.a &&
                    MAX(fault->change[k].a, fault->change[k].b) == pair.b;
    faults->bridge[faults->first[f] + i] = number_of_pair(plan, &pair);
  }
}

static void lay_plans(LgFaults *faults)
{
  int *touches = g_new0(int, faults->net->n_nodes),
      *plan_of_hub = g_new0(int, faults->net->n_nodes);
  const LgChange *c = NULL;
  Plan *group = NULL;
  for (int f = 0; f < faults->n; f++)
    if (n_fills(&faults->fault[f], &c) == 1) {
      touches[c->a]++;
      touches[c->b]++;
    }
  add_plan(faults, -1);
  for (int f = 0; f < faults->n; f++) {
    Plan *plan = find_plan(faults, &faults->fault[f], touches, plan_of_hub, &group);
    g_array_append_val(plan->faults, f);
    number_bridges(faults, f, plan);
  }
  int n = 0;
  for (guint p = 0; p < faults->plans->len; p++) {
    const Plan *plan = g_ptr_array_index(faults->plans, p);
    for (guint i = 0; i < plan->faults->len; i++) {
      const int f = g_array_index(plan->faults, int, i);
      faults->plan_of[f] = (int)p;
      faults->order[n++] = f;
    }
  }
  g_free(touches);
  g_free(plan_of_hub);
}

LgFaults *lg_faults_new(const LgNet *net, const LgFault given[], int n)
{
  g_assert(net->closed && n >= 0);
  LgFaults *faults = g_new0(LgFaults, 1);
  faults->net = net;
  faults->n = n;
  faults->fault = g_new(LgFault, n + 1);
  faults->first = g_new(int, n + 1);
  faults->plan_of = g_new(int, n + 1);
  faults->order = g_new(int, n + 1);
  faults->plans = g_ptr_array_new_with_free_func(free_plan);
  for (int f = 0; f < n; f++) {
    faults->first[f] = faults->n_changes;
    faults->n_changes += given[f].n;
  }
  faults->change = g_new(LgChange, faults->n_changes + 1);
  faults->bridge = g_new(int, faults->n_changes + 1);
  for (int f = 0; f < n; f++) {
    LgChange *copy = faults->change + faults->first[f];
    for (int i = 0; i < given[f].n; i++) {
      check_change(net, &given[f].change[i]);
      copy[i] = given[f].change[i];
    }
    faults->fault[f] = (LgFault){given[f].n, copy};
  }
  lay_plans(faults);
  return faults;
}

void lg_faults_free(LgFaults *faults)
{
  if (faults == NULL)
    return;
  g_ptr_array_unref(faults->plans);
  g_free(faults->fault);
  g_free(faults->change);
  g_free(faults->first);
  g_free(faults->bridge);
  g_free(faults->plan_of);
  g_free(faults->order);
  g_free(faults);
}

int lg_faults_n(const LgFaults *faults)
{
  return faults->n;
}

const LgFault *lg_faults_get(const LgFaults *faults, int fault)
{
  g_assert(fault >= 0 && fault < faults->n);
  return &faults->fault[fault];
}

/* Lines of a slate's nonlinear branches, so that each fault starts from the same ones. */
typedef struct {
  double *line[6];
} Lines;

struct LgFaultWork {
  const LgFaults *faults;
  int plan;  /* whose network is laid out, -1: none */
  int fault; /* that is in it, -1: none */
  LgNet *net;
  LgNetWork *work;
  double *current; /* [branches of the plan] scratch, as is `closed` */
  gboolean *closed;
  Lines start[4]; /* of the slates of eight lanes */
};

static LgNet *lay_network(const LgNet *net, const Plan *plan)
{
  LgNet *copy = lg_net_new(net->n_nodes);
  for (int i = 0; i < lg_net_n_inputs(net); i++)
    lg_net_add_input(copy, *lg_net_input(net, i));
  for (int i = 0; i < (int)net->gates->len; i++)
    lg_net_add_gate(copy, *lg_net_gate(net, i));
  for (int i = 0; i < lg_net_n_branches(net); i++)
    lg_net_add_branch(copy, *lg_net_branch(net, i));
  for (int i = 0; i < lg_net_n_coils(net); i++)
    lg_net_add_coil(copy, *lg_net_coil(net, i));
  for (guint i = 0; i < plan->pairs->len; i++) {
    const Pair *pair = &g_array_index(plan->pairs, Pair, i);
    lg_net_add_branch(
        copy, (LgNetBranch){
                  .kind = LG_BRANCH_RESISTOR, .a = pair->a, .b = pair->b, .gate = -1, .p = {1}});
  }
  copy->breakable = TRUE;
  lg_net_close(copy);
  for (guint i = 0; i < plan->pairs->len; i++)
    lg_net_force(copy, lg_net_n_branches(net) + (int)i, LG_FORCED_OPEN);
  return copy;
}

static void clear_plan(LgFaultWork *work)
{
  for (int s = 0; s < 4; s++)
    for (int k = 0; k < 6; k++)
      g_clear_pointer(&work->start[s].line[k], g_free);
  g_clear_pointer(&work->work, lg_net_work_free);
  g_clear_pointer(&work->net, lg_net_free);
  g_clear_pointer(&work->current, g_free);
  g_clear_pointer(&work->closed, g_free);
  work->plan = work->fault = -1;
}

LgFaultWork *lg_fault_work_new(const LgFaults *faults)
{
  LgFaultWork *work = g_new0(LgFaultWork, 1);
  work->faults = faults;
  work->plan = work->fault = -1;
  return work;
}

void lg_fault_work_free(LgFaultWork *work)
{
  if (work == NULL)
    return;
  clear_plan(work);
  g_free(work);
}

static void take_plan(LgFaultWork *work, int plan)
{
  if (work->plan == plan)
    return;
  clear_plan(work);
  work->net = lay_network(work->faults->net, g_ptr_array_index(work->faults->plans, (guint)plan));
  work->work = lg_net_work_new(work->net);
  work->current = g_new(double, lg_net_n_branches(work->net) + 1);
  work->closed = g_new(gboolean, lg_net_n_branches(work->net) + 1);
  work->plan = plan;
}

static void force_gate(LgNet *net, int gate, LgForce force)
{
  const LgList *branches = &net->gate_branches[gate];
  for (int i = 0; i < branches->n; i++)
    lg_net_force(net, branches->item[i], force);
}

static int bridge_branch(const LgFaultWork *work, int fault, int change)
{
  return lg_net_n_branches(work->faults->net) +
         work->faults->bridge[work->faults->first[fault] + change];
}

static void put_change(LgFaultWork *work, int fault, int index)
{
  const LgChange *c = &work->faults->fault[fault].change[index];
  switch (c->kind) {
  case LG_CHANGE_OPEN:
    lg_net_force(work->net, c->branch, LG_FORCED_OPEN);
    break;
  case LG_CHANGE_CLOSED:
    lg_net_force(work->net, c->branch, LG_FORCED_CLOSED);
    break;
  case LG_CHANGE_GATE_OPEN:
    force_gate(work->net, c->gate, LG_FORCED_OPEN);
    break;
  case LG_CHANGE_GATE_CLOSED:
    force_gate(work->net, c->gate, LG_FORCED_CLOSED);
    break;
  case LG_CHANGE_BRIDGE:
    lg_net_set_param(work->net, bridge_branch(work, fault, index), 0, c->value);
    lg_net_force(work->net, bridge_branch(work, fault, index), LG_FORCED_NOT);
    break;
  case LG_CHANGE_PARAM:
    lg_net_set_param(work->net, c->branch, c->k, c->value);
    break;
  case LG_CHANGE_REVERSED:
    lg_net_reverse(work->net, c->branch);
    break;
  }
}

static void undo_change(LgFaultWork *work, int fault, int index)
{
  const LgChange *c = &work->faults->fault[fault].change[index];
  switch (c->kind) {
  case LG_CHANGE_OPEN:
  case LG_CHANGE_CLOSED:
    lg_net_force(work->net, c->branch, LG_FORCED_NOT);
    break;
  case LG_CHANGE_GATE_OPEN:
  case LG_CHANGE_GATE_CLOSED:
    force_gate(work->net, c->gate, LG_FORCED_NOT);
    break;
  case LG_CHANGE_BRIDGE:
    lg_net_force(work->net, bridge_branch(work, fault, index), LG_FORCED_OPEN);
    break;
  case LG_CHANGE_PARAM:
    lg_net_set_param(work->net, c->branch, c->k,
                     lg_branch_at(work->faults->net, c->branch)->p[c->k]);
    break;
  case LG_CHANGE_REVERSED:
    lg_net_reverse(work->net, c->branch);
    break;
  }
}

/* Takes out the fault that is in the network and puts in another. */
static void put_fault(LgFaultWork *work, int fault)
{
  take_plan(work, work->faults->plan_of[fault]);
  if (work->fault == fault)
    return;
  for (int i = work->fault >= 0 ? work->faults->fault[work->fault].n - 1 : -1; i >= 0; i--)
    undo_change(work, work->fault, i);
  for (int i = 0; i < work->faults->fault[fault].n; i++)
    put_change(work, fault, i);
  work->fault = fault;
}

static gboolean is_reversed(const LgFault *fault, int branch)
{
  gboolean reversed = FALSE;
  for (int i = 0; i < fault->n; i++)
    reversed ^= fault->change[i].kind == LG_CHANGE_REVERSED && fault->change[i].branch == branch;
  return reversed;
}

void lg_fault_current(const LgFaultBlock *block, int branch, double out[LG_LANES])
{
  const LgFaultWork *work = block->work;
  g_assert(branch >= 0 && branch < lg_net_n_branches(work->faults->net));
  lg_net_block_current(work->net, work->work, block->block, branch, out);
  if (is_reversed(&work->faults->fault[block->fault], branch))
    for (int l = 0; l < LG_LANES; l++)
      out[l] = -out[l];
}

/* Whether a bridge change counts from the greater node to the smaller. */
static gboolean is_turned(const LgChange *change)
{
  return change->a > change->b;
}

void lg_fault_bridge_current(const LgFaultBlock *block, int change, double out[LG_LANES])
{
  const LgFaultWork *work = block->work;
  const LgFault *fault = &work->faults->fault[block->fault];
  g_assert(change >= 0 && change < fault->n && fault->change[change].kind == LG_CHANGE_BRIDGE);
  lg_net_block_current(work->net, work->work, block->block,
                       bridge_branch(work, block->fault, change), out);
  if (is_turned(&fault->change[change]))
    for (int l = 0; l < LG_LANES; l++)
      out[l] = -out[l];
}

LgNetStatus lg_fault_solve(LgFaultWork *work, int fault, const int position[], gboolean pulled[],
                           double volts[], double current[], gboolean closed[])
{
  g_assert(fault >= 0 && fault < work->faults->n);
  put_fault(work, fault);
  lg_slate_restart_lines(work->net, &work->work->one);
  const LgNetStatus status =
      lg_net_solve(work->net, work->work, position, pulled, volts,
                   current != NULL ? work->current : NULL, closed != NULL ? work->closed : NULL);
  const LgFault *what = &work->faults->fault[fault];
  const int n = lg_net_n_branches(work->faults->net);
  if (closed != NULL)
    memcpy(closed, work->closed, sizeof *closed * (gsize)n);
  if (current == NULL)
    return status;
  for (int b = 0; b < n; b++)
    current[b] = is_reversed(what, b) ? -work->current[b] : work->current[b];
  for (int i = 0, k = n; i < what->n; i++)
    if (what->change[i].kind == LG_CHANGE_BRIDGE)
      current[k++] =
          work->current[bridge_branch(work, fault, i)] * (is_turned(&what->change[i]) ? -1 : 1);
  return status;
}

typedef struct {
  const LgFaults *faults;
  const LgNetSweep *sweep;
  LgFaultSkip skip;
  LgFaultVisit visit;
  gpointer user;
  int next;        /* place in the order of the next chunk */
  guint64 n_shown; /* of the threads that are done */
  GMutex lock;
} Campaign;

typedef struct {
  Campaign *campaign;
  LgFaultBlock block;
} Shown;

typedef struct {
  Campaign *campaign;
  int index;
} Worker;

static void show(const LgNetBlock *block, const LgNetWork *work, gpointer user)
{
  Shown *shown = user;
  (void)work;
  shown->block.block = block;
  shown->campaign->visit(&shown->block, shown->campaign->user);
}

static double *line_of(const LgSlate *slate, int k)
{
  double *const lines[6] = {slate->at,     slate->i_at,  slate->slope_at,
                            slate->was_at, slate->was_i, slate->was_slope};
  return lines[k];
}

static void show_nothing(const LgNetBlock *block, const LgNetWork *work, gpointer user)
{
  (void)block;
  (void)work;
  (void)user;
}

/* Lines that nonlinear branches of the healthy network have once they were on and off again. */
static void find_start(LgFaultWork *work, const LgNetSweep *sweep)
{
  const LgNet *net = work->net;
  const int n_inputs = lg_net_n_inputs(net);
  const gsize n = (gsize)net->n_curves * LG_LANES;
  int *states = g_new0(int, 2 * n_inputs + 1);
  for (int i = 0; i < n_inputs && sweep->listed == NULL; i++)
    states[i] = states[n_inputs + i] = sweep->base[i];
  for (int i = 0; i < n_inputs; i++)
    if (sweep->listed != NULL && sweep->n_listed > 0)
      states[i] = states[n_inputs + i] = sweep->listed[i];
  for (int i = 0; i < sweep->n_vary && sweep->listed == NULL; i++) {
    states[sweep->vary[i]] = lg_net_input(net, sweep->vary[i])->n_positions - 1;
    states[n_inputs + sweep->vary[i]] = 0;
  }
  LgNetSweep lead = *sweep;
  lead.listed = states;
  lead.n_listed = 1;
  lg_net_sweep(net, work->work, &lead, show_nothing, NULL);
  lead.listed = states + n_inputs;
  lg_net_sweep(net, work->work, &lead, show_nothing, NULL);
  for (int s = 0; s < 4; s++)
    for (int k = 0; k < 6 && work->work->wide[s].lanes > 0; k++)
      work->start[s].line[k] =
          g_memdup2(line_of(&work->work->wide[s], k), sizeof(double) * MAX(n, 1));
  g_free(states);
}

static void put_lines(LgFaultWork *work)
{
  const LgNet *net = work->net;
  const gsize n = (gsize)net->n_curves * LG_LANES;
  for (int s = 0; s < 4 && n > 0; s++) {
    LgSlate *slate = &work->work->wide[s];
    if (slate->lanes == 0)
      continue;
    for (int k = 0; k < 6; k++)
      memcpy(line_of(slate, k), work->start[s].line[k], sizeof(double) * n);
    for (int q = 0; q < net->n_curves; q++) {
      lg_slate_load_branch(net, slate, net->curves[q].branch);
      lg_slate_mark(net, slate, net->curves[q].branch);
    }
  }
}

static guint64 sweep_fault(Campaign *campaign, LgFaultWork *work, int fault, int thread)
{
  Shown shown = {campaign, {.fault = fault, .thread = thread, .work = work}};
  if (work->plan != campaign->faults->plan_of[fault]) {
    take_plan(work, campaign->faults->plan_of[fault]);
    find_start(work, campaign->sweep);
  }
  put_fault(work, fault);
  put_lines(work);
  return lg_net_sweep(work->net, work->work, campaign->sweep, show, &shown);
}

static gpointer run(gpointer user)
{
  const Worker *worker = user;
  Campaign *campaign = worker->campaign;
  const LgFaults *faults = campaign->faults;
  LgFaultWork *work = lg_fault_work_new(faults);
  guint64 n_shown = 0;
  for (;;) {
    const int from = g_atomic_int_add(&campaign->next, CHUNK);
    if (from >= faults->n)
      break;
    for (int i = from; i < MIN(from + CHUNK, faults->n); i++) {
      const int fault = faults->order[i];
      if (campaign->skip == NULL || !campaign->skip(fault, campaign->user))
        n_shown += sweep_fault(campaign, work, fault, worker->index);
    }
  }
  lg_fault_work_free(work);
  g_mutex_lock(&campaign->lock);
  campaign->n_shown += n_shown;
  g_mutex_unlock(&campaign->lock);
  return NULL;
}

guint64 lg_faults_sweep(const LgFaults *faults, const LgNetSweep *sweep, int n_threads,
                        LgFaultSkip skip_fault, LgFaultVisit visit, gpointer user)
{
  g_assert(n_threads >= 1);
  Campaign campaign = {
      .faults = faults, .sweep = sweep, .skip = skip_fault, .visit = visit, .user = user};
  g_mutex_init(&campaign.lock);
  Worker *workers = g_new(Worker, n_threads);
  GThread **threads = g_new0(GThread *, n_threads);
  for (int t = 0; t < n_threads; t++)
    workers[t] = (Worker){&campaign, t};
  for (int t = 1; t < n_threads; t++)
    threads[t] = g_thread_new("faults", run, &workers[t]);
  run(&workers[0]);
  for (int t = 1; t < n_threads; t++)
    g_thread_join(threads[t]);
  g_mutex_clear(&campaign.lock);
  g_free(workers);
  g_free(threads);
  return campaign.n_shown;
}
