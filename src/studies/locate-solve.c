/* Every suspect solved in the states looked at, and what an ohmmeter would show. */
#include "studies/locate-private.h"

/* ---- States. ---- */

static guint keep(LgLocator *l, const int position[])
{
  const guint own = GPOINTER_TO_UINT(g_hash_table_lookup(l->index_of, position));
  if (own > 0)
    return own - 1;
  const gsize size = (gsize)l->job->n_inputs * sizeof *position;
  for (guint i = 0; i < l->positions->len; i++)
    if (size == 0 || memcmp(l->positions->pdata[i], position, size) == 0)
      return i;
  int *const copy = g_new0(int, (gsize)l->job->n_inputs + 1);
  if (size > 0)
    memcpy(copy, position, size);
  g_ptr_array_add(l->positions, copy);
  g_ptr_array_add(l->views, NULL);
  g_hash_table_insert(l->index_of, copy, GUINT_TO_POINTER(l->positions->len));
  return l->positions->len - 1;
}

const int *lg_locator_keep(LgLocator *l, const int position[])
{
  const guint index = keep(l, position);
  return l->positions->pdata[index];
}

/* What is switched on is cold when it is tested, so its thermostats call. */
static void call_thermostats(const LgJob *job, int position[], const guint8 said[])
{
  for (int i = 0; i < job->n_inputs; i++) {
    const LgInput *const input = &job->inputs[i];
    if (input->kind != LG_INPUT_CALL || said[i])
      continue;
    const int hand = job->parts[input->part].input;
    const gboolean can =
        input->when_input < 0 || (input->when_positions >> position[input->when_input] & 1) != 0;
    position[i] = can && (hand < 0 || position[hand] != 0);
  }
}

const int *lg_locator_when(LgLocator *l, const LgCondition when[], int n_when)
{
  g_autofree int *position = g_new0(int, (gsize)l->job->n_inputs + 1);
  g_autofree guint8 *said = g_new0(guint8, (gsize)l->job->n_inputs + 1);
  for (int i = 0; i < n_when; i++) {
    position[when[i].input] = __builtin_ctzll(when[i].positions);
    said[when[i].input] = 1;
  }
  call_thermostats(l->job, position, said);
  return lg_locator_keep(l, position);
}

/* ---- A load's own state. ---- */

static double healthy_watts(const LgLocator *l, LgPoint *point, LgNetWork *work, int element)
{
  lg_circuit_solve(l->circuit, work, point);
  return fabs(point->element_A[element] * point->element_V[element]);
}

/* A change of state that costs a load less of its power than this is none. */
#define NEARLY 0.8

const int *lg_locator_state(LgLocator *l, int load)
{
  const int index = l->load_of[load];
  if (index < 0 || l->load_looked[index])
    return index < 0 ? NULL : l->load_state[index];
  l->load_looked[index] = 1;
  const int state = l->sizing->states->elements[load].most_W.state;
  if (state < 0)
    return NULL;
  g_autoptr(LgNetWork) work = lg_net_work_new(l->circuit->net);
  g_autoptr(LgPoint) point = lg_point_new(l->circuit);
  const guint8 *const from = lg_states_position(l->sizing->states, state);
  for (int i = 0; i < l->job->n_inputs; i++)
    point->position[i] = from[i];
  const double most_W = healthy_watts(l, point, work, load);
  if (most_W < 1e-9)
    return NULL;
  for (int i = l->job->n_inputs - 1; i >= 0; i--) {
    const int was = point->position[i];
    point->position[i] = 0;
    if (was != 0 && (!lg_circuit_possible(l->job, point->position) ||
                     healthy_watts(l, point, work, load) < NEARLY * most_W))
      point->position[i] = was;
  }
  l->load_state[index] = lg_locator_keep(l, point->position);
  return l->load_state[index];
}

/* ---- Volts and watts. ---- */

typedef struct {
  const LgLocator *locator;
  LgView *const *views;
  int n_views;
  const guint8 *wanted; /* NULL: all */
  LgSolved look;
} Viewing;

static double end_volts(const LgLocator *l, const LgNetBlock *block, int pin, int lane)
{
  return block->volts[pin >= 0 ? l->circuit->pin_node[pin] : l->circuit->body_node][lane];
}

/* Rounding of a solution leaves less. */
#define NOTHING_A 1e-9

static LgView *view_at(const Viewing *v, const int position[])
{
  const gsize size = (gsize)v->locator->job->n_inputs * sizeof *position;
  for (int i = 0; i < v->n_views; i++)
    if (size == 0 || memcmp(v->views[i]->position, position, size) == 0)
      return v->views[i];
  g_assert_not_reached();
}

/* Which resistors carry nothing in the healthy job. */
static void find_idle(const LgLocator *l, const Viewing *v, const LgFaultBlock *block)
{
  for (int b = 0; b < lg_net_n_branches(l->stage->net); b++) {
    double amps[LG_LANES];
    if (lg_net_branch(l->stage->net, b)->kind != LG_BRANCH_RESISTOR)
      continue;
    lg_fault_current(block, b, amps);
    for (int lane = 0; lane < block->block->n; lane++)
      view_at(v, block->block->position[lane])->idle[b] = fabs(amps[lane]) < NOTHING_A;
  }
}

static void take_lane(const Viewing *v, LgView *view, const LgFaultBlock *block, int lane)
{
  const LgLocator *const l = v->locator;
  double *const volts = view->volts + (gsize)block->fault * (gsize)l->n_nodes;
  double *const watts = view->watts + (gsize)block->fault * (gsize)l->n_loads;
  view->have[block->fault] = (guint8)v->look;
  view->as_healthy[block->fault] = FALSE;
  for (int n = 0; n < l->n_nodes && v->look == LG_SOLVED_ALL; n++)
    volts[n] = block->block->volts[n][lane];
  for (int i = 0; i < l->n_loads; i++) {
    const LgElement *const e = &l->job->elements[l->loads[i]];
    const double across =
        end_volts(l, block->block, e->pin[0], lane) - end_volts(l, block->block, e->pin[1], lane);
    watts[i] = isnan(across) ? 0 : fabs(across * l->amps[i][lane]);
  }
}

static void visit(const LgFaultBlock *block, gpointer user)
{
  const Viewing *const v = user;
  const LgLocator *const l = v->locator;
  double(*const amps)[LG_LANES] = l->amps;
  for (int i = 0; i < l->n_loads; i++) {
    double part[LG_LANES];
    for (int lane = 0; lane < LG_LANES; lane++)
      amps[i][lane] = 0;
    for (int k = 0; k < l->stage->n[l->loads[i]]; k++) {
      lg_fault_current(block, l->stage->first[l->loads[i]] + k, part);
      for (int lane = 0; lane < LG_LANES; lane++)
        amps[i][lane] += part[lane];
    }
  }
  for (int lane = 0; lane < block->block->n; lane++)
    take_lane(v, view_at(v, block->block->position[lane]), block, lane);
  if (block->fault == 0)
    find_idle(l, v, block);
}

static gboolean is_unwanted(int fault, gpointer user)
{
  return !((const Viewing *)user)->wanted[fault];
}

LgView *lg_view_new(const LgLocator *l, int n_rows, const int position[])
{
  LgView *const view = g_new0(LgView, 1);
  const gsize n = (gsize)n_rows, n_inputs = (gsize)l->job->n_inputs;
  view->position = g_new0(int, n_inputs + 1);
  if (n_inputs > 0)
    memcpy(view->position, position, n_inputs * sizeof *position);
  view->volts = g_new(double, n *(gsize)l->n_nodes + 1);
  view->watts = g_new(double, n *(gsize)l->n_loads + 1);
  view->have = g_new0(guint8, n + 1);
  view->as_healthy = g_new0(guint8, n + 1);
  view->idle = g_new0(guint8, (gsize)lg_net_n_branches(l->stage->net) + 1);
  return view;
}

void lg_views_solve(const LgLocator *l, const LgFaults *faults, LgView *const views[], int n_views,
                    const guint8 wanted[], LgSolved look)
{
  const gsize n_inputs = (gsize)l->job->n_inputs;
  g_autofree int *listed = g_new0(int, (gsize)n_views *n_inputs + 1);
  for (int i = 0; i < n_views; i++)
    memcpy(listed + (gsize)i * n_inputs, views[i]->position, n_inputs * sizeof *listed);
  const LgNetSweep sweep = {
      .with_relays = TRUE, .released_only = TRUE, .listed = listed, .n_listed = (guint64)n_views};
  Viewing viewing = {
      .locator = l, .views = views, .n_views = n_views, .wanted = wanted, .look = look};
  if (n_views > 0)
    lg_faults_sweep(faults, &sweep, 1, wanted != NULL ? is_unwanted : NULL, visit, &viewing);
}

void lg_view_free(gpointer data)
{
  LgView *const view = data;
  if (view == NULL)
    return;
  g_free(view->position);
  g_free(view->volts);
  g_free(view->watts);
  g_free(view->have);
  g_free(view->as_healthy);
  g_free(view->idle);
  lg_idle_free(view->shape);
  g_free(view);
}

/* Whether a row changes nothing but resistors that carry nothing: then all is as in the healthy
 * job.
 */
static gboolean is_as_healthy(const LgLocator *l, const LgView *view, int row)
{
  const LgRow *const r = &g_array_index(l->rows, LgRow, row);
  for (int c = 0; c < r->n; c++) {
    const LgChange *const change = &g_array_index(l->changes, LgChange, r->first + c);
    if (change->kind != LG_CHANGE_PARAM || !view->idle[change->branch])
      return FALSE;
  }
  return TRUE;
}

static gboolean lacks(const LgView *view, int row, const guint8 wanted[], LgSolved look)
{
  return view->have[row] < look && (wanted == NULL || wanted[row]);
}

/* Whether no load takes more or less for it. */
static gboolean runs_as_healthy(const LgLocator *l, LgView *view, int row)
{
  const LgRow *const r = &g_array_index(l->rows, LgRow, row);
  if (view->shape == NULL)
    view->shape = lg_idle_new(l->stage->net, view->position);
  return lg_idle_changes(view->shape, &g_array_index(l->changes, LgChange, r->first), r->n);
}

static void answer_by_healthy(const LgLocator *l, LgView *view, const guint8 wanted[],
                              LgSolved look)
{
  for (int r = 1; r < l->n_rows; r++)
    if (lacks(view, r, wanted, look) &&
        (is_as_healthy(l, view, r) || (look == LG_SOLVED_WATTS && runs_as_healthy(l, view, r)))) {
      view->as_healthy[r] = TRUE;
      view->have[r] = (guint8)look;
    }
}

/* Solves the rows that any of the views lacks. */
static void solve_lacking(LgLocator *l, GPtrArray *views, const guint8 wanted[], LgSolved look)
{
  g_autofree guint8 *missing = g_new0(guint8, (gsize)l->n_rows);
  gsize n = 0;
  for (guint i = views->len; i-- > 0;) {
    const LgView *const view = views->pdata[i];
    gboolean any = FALSE;
    for (int r = 0; r < l->n_rows; r++)
      if (lacks(view, r, wanted, look)) {
        n += !missing[r];
        any = missing[r] = TRUE;
      }
    if (!any)
      g_ptr_array_remove_index_fast(views, i);
  }
  lg_views_solve(l, l->faults, (LgView *const *)views->pdata, (int)views->len, missing, look);
  l->held += views->len * (gsize)(l->n_loads + (look == LG_SOLVED_ALL ? l->n_nodes : 0)) * n;
}

void lg_locator_look(LgLocator *l, const int *const positions[], int n, const guint8 wanted[],
                     LgSolved look)
{
  g_autoptr(GPtrArray) views = g_ptr_array_new(), healthy = g_ptr_array_new();
  g_autofree guint8 *first = g_new0(guint8, (gsize)l->n_rows);
  for (int i = 0; i < n; i++) {
    const guint index = keep(l, positions[i]);
    if (l->views->pdata[index] == NULL)
      l->views->pdata[index] = lg_view_new(l, l->n_rows, positions[i]);
    if (g_ptr_array_find(views, l->views->pdata[index], NULL))
      continue;
    g_ptr_array_add(views, l->views->pdata[index]);
    g_ptr_array_add(healthy, l->views->pdata[index]);
  }
  first[0] = 1;
  solve_lacking(l, healthy, first, LG_SOLVED_ALL);
  for (guint i = 0; i < views->len; i++)
    answer_by_healthy(l, views->pdata[i], wanted, look);
  solve_lacking(l, views, wanted, look);
}

const LgView *lg_locator_view(LgLocator *l, const int position[], int row, LgSolved look)
{
  const guint index = keep(l, position);
  LgView *const view = l->views->pdata[index];
  if (view == NULL || view->have[row] < look) {
    g_autofree guint8 *wanted = g_new0(guint8, (gsize)l->n_rows);
    wanted[row] = 1;
    lg_locator_look(l, &position, 1, wanted, look);
  }
  return l->views->pdata[index];
}

void lg_locator_forget(LgLocator *l)
{
  for (guint i = 0; i < l->views->len; i++)
    g_clear_pointer(&l->views->pdata[i], lg_view_free);
  g_ptr_array_set_size(l->ohm_views, 0);
  l->held = 0;
}

/* ---- Ohms. ---- */

/* A meter of 1 V behind 1 kohm. */
#define METER_V 1.0
#define METER_S 1e-3

/* The network without its sources and with every relay at rest, the black lead on the reference and
 * the meter as the last branch. Branches keep their numbers. */
static LgNet *metered_net(const LgLocator *l, int red, int black)
{
  const LgNet *const from = l->stage->net;
  LgNet *const net = lg_net_new(l->n_nodes);
  for (int i = 0; i < lg_net_n_inputs(from); i++)
    lg_net_add_input(net, *lg_net_input(from, i));
  const int idle = lg_net_add_input(net, (LgNetInput){.n_positions = 2});
  const int never =
      lg_net_add_gate(net, (LgNetGate){.input = {idle, -1}, .positions = {2}, .coil = -1});
  g_autofree gboolean *source = g_new0(gboolean, (gsize)lg_net_n_branches(from) + 1);
  for (int s = 0; s < l->stage->n_sources; s++)
    for (int k = 0; k < l->stage->n[l->stage->source[s]]; k++)
      source[l->stage->first[l->stage->source[s]] + k] = TRUE;
  for (int b = 0; b < lg_net_n_branches(from); b++) {
    LgNetBranch branch = *lg_net_branch(from, b);
    branch.a = branch.a == black ? 0 : branch.a == 0 ? black : branch.a;
    branch.b = branch.b == black ? 0 : branch.b == 0 ? black : branch.b;
    if (branch.gate >= 0) {
      LgNetGate gate = *lg_net_gate(from, branch.gate);
      const gboolean dead = gate.coil >= 0 && gate.coil_pulled;
      gate.coil = -1;
      branch.gate = dead                                       ? never
                    : gate.input[0] >= 0 || gate.input[1] >= 0 ? lg_net_add_gate(net, gate)
                                                               : -1;
    }
    if (source[b])
      branch.gate = never;
    lg_net_add_branch(net, branch);
  }
  lg_net_add_branch(net, (LgNetBranch){.kind = LG_BRANCH_SOURCE,
                                       .a = red == 0 ? black : red,
                                       .b = 0,
                                       .gate = -1,
                                       .p = {METER_S, METER_V}});
  lg_net_close(net);
  return net;
}

/* More than this is the end of a meter's scale. */
#define OPEN_OHM 5e6

typedef struct {
  int red;
  double *ohm;
} Metering;

static void read_meter(const LgFaultBlock *block, gpointer user)
{
  const Metering *const m = user;
  const double volts = block->block->volts[m->red][0];
  const double amps = METER_S * (METER_V - volts);
  const double ohm = isnan(volts) || amps <= 0 ? INFINITY : volts / amps;
  m->ohm[block->fault] = ohm > OPEN_OHM ? INFINITY : fmax(ohm, 0);
}

void lg_ohms_of(const LgLocator *l, const LgFault faults[], int n, int red, int black,
                const int position[], double ohm[])
{
  g_autoptr(LgNet) net = metered_net(l, red, black);
  g_autoptr(GArray) changes = g_array_new(FALSE, FALSE, sizeof(LgChange));
  g_autofree LgFault *swapped = g_new0(LgFault, (gsize)n + 1);
  gsize total = 0;
  for (int f = 0; f < n; f++)
    total += (gsize)faults[f].n;
  g_array_set_size(changes, (guint)total);
  LgChange *next = (LgChange *)(gpointer)changes->data;
  for (int f = 0; f < n; f++) {
    swapped[f] = (LgFault){.n = faults[f].n, .change = next};
    for (int c = 0; c < faults[f].n; c++, next++) {
      *next = faults[f].change[c];
      if (next->kind != LG_CHANGE_BRIDGE)
        continue;
      next->a = next->a == black ? 0 : next->a == 0 ? black : next->a;
      next->b = next->b == black ? 0 : next->b == 0 ? black : next->b;
    }
  }
  g_autoptr(LgFaults) of = lg_faults_new(net, swapped, n);
  const gsize n_inputs = (gsize)l->job->n_inputs;
  g_autofree int *listed = g_new0(int, n_inputs + 2);
  if (n_inputs > 0)
    memcpy(listed, position, n_inputs * sizeof *position);
  const LgNetSweep sweep = {
      .with_relays = TRUE, .released_only = TRUE, .listed = listed, .n_listed = 1};
  Metering metering = {.red = red == 0 ? black : red, .ohm = ohm};
  lg_faults_sweep(of, &sweep, 1, NULL, read_meter, &metering);
}

LgOhmView *lg_ohm_view(LgLocator *l, int red_pin, int black_pin, const int position[])
{
  const int red = l->circuit->pin_node[red_pin], black = l->circuit->pin_node[black_pin];
  const gsize size = (gsize)l->job->n_inputs * sizeof *position;
  for (guint i = 0; i < l->ohm_views->len; i++) {
    LgOhmView *const view = l->ohm_views->pdata[i];
    if (view->red == red && view->black == black &&
        (size == 0 || memcmp(view->position, position, size) == 0))
      return view;
  }
  LgOhmView *const view = g_new0(LgOhmView, 1);
  view->red = red;
  view->black = black;
  view->position = g_new0(int, (gsize)l->job->n_inputs + 1);
  if (size > 0)
    memcpy(view->position, position, size);
  view->ohm = g_new(double, (gsize)l->n_rows);
  for (int r = 0; r < l->n_rows; r++)
    view->ohm[r] = NAN;
  g_ptr_array_add(l->ohm_views, view);
  return view;
}

void lg_ohm_view_free(gpointer data)
{
  LgOhmView *const view = data;
  g_free(view->position);
  g_free(view->ohm);
  g_free(view);
}

const LgOhmView *lg_locator_ohms(LgLocator *l, int red_pin, int black_pin, const int position[],
                                 const guint8 wanted[])
{
  LgOhmView *const view = lg_ohm_view(l, red_pin, black_pin, position);
  g_autofree LgFault *faults = g_new(LgFault, (gsize)l->n_rows);
  g_autofree int *row = g_new(int, (gsize)l->n_rows);
  g_autofree double *ohm = g_new(double, (gsize)l->n_rows);
  int n = 0;
  for (int r = 0; r < l->n_rows; r++)
    if (isnan(view->ohm[r]) && (wanted == NULL || wanted[r])) {
      faults[n] = *lg_faults_get(l->faults, r);
      row[n++] = r;
    }
  if (n > 0)
    lg_ohms_of(l, faults, n, view->red, view->black, position, ohm);
  for (int i = 0; i < n; i++)
    view->ohm[row[i]] = ohm[i];
  return view;
}
