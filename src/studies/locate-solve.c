/* Every suspect solved in the states looked at, and what an ohmmeter would show. */
#include "studies/locate-private.h"

/* ---- States. ---- */

int lg_locator_keep(LgLocator *l, const int position[])
{
  const gsize size = (gsize)l->job->n_inputs * sizeof *position;
  for (guint i = 0; i < l->positions->len; i++)
    if (size == 0 || memcmp(l->positions->pdata[i], position, size) == 0)
      return (int)i;
  int *const copy = g_new0(int, (gsize)l->job->n_inputs + 1);
  if (size > 0)
    memcpy(copy, position, size);
  g_ptr_array_add(l->positions, copy);
  g_ptr_array_add(l->views, NULL);
  return (int)l->positions->len - 1;
}

/* What is switched on is cold when it is tested, so its thermostats call. */
static void call_thermostats(const LgJob *job, int position[], const guint8 said[])
{
  for (int i = 0; i < job->n_inputs; i++) {
    const LgInput *const input = &job->inputs[i];
    if (input->kind != LG_INPUT_CALL || said[i])
      continue;
    const int hand = job->parts[input->part].input;
    const gboolean can = input->when_input < 0 ||
                         (input->when_positions >> position[input->when_input] & 1) != 0;
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
  return l->positions->pdata[lg_locator_keep(l, position)];
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
  l->load_state[index] = l->positions->pdata[lg_locator_keep(l, point->position)];
  return l->load_state[index];
}

/* ---- Volts and watts. ---- */

typedef struct {
  const LgLocator *locator;
  LgView *view;
} Viewing;

static double end_volts(const LgLocator *l, const double volts[], int pin)
{
  return volts[pin >= 0 ? l->circuit->pin_node[pin] : l->circuit->body_node];
}

static void visit(const LgFaultBlock *block, gpointer user)
{
  const Viewing *const v = user;
  const LgLocator *const l = v->locator;
  double *const volts = v->view->volts + (gsize)block->fault * (gsize)l->n_nodes;
  double *const watts = v->view->watts + (gsize)block->fault * (gsize)l->n_loads;
  for (int n = 0; n < l->n_nodes; n++)
    volts[n] = block->block->volts[n][0];
  for (int i = 0; i < l->n_loads; i++) {
    const LgElement *const e = &l->job->elements[l->loads[i]];
    double amps = 0, part[LG_LANES];
    for (int k = 0; k < l->stage->n[l->loads[i]]; k++) {
      lg_fault_current(block, l->stage->first[l->loads[i]] + k, part);
      amps += part[0];
    }
    const double across = end_volts(l, volts, e->pin[0]) - end_volts(l, volts, e->pin[1]);
    watts[i] = isnan(across) ? 0 : fabs(across * amps);
  }
}

LgView *lg_view_new(const LgLocator *l, const LgFaults *faults, const int position[])
{
  LgView *const view = g_new0(LgView, 1);
  const gsize n = (gsize)lg_faults_n(faults), n_inputs = (gsize)l->job->n_inputs;
  view->position = g_new0(int, n_inputs + 1);
  if (n_inputs > 0)
    memcpy(view->position, position, n_inputs * sizeof *position);
  view->volts = g_new(double, n * (gsize)l->n_nodes + 1);
  view->watts = g_new(double, n * (gsize)l->n_loads + 1);
  const LgNetSweep sweep = {
      .with_relays = TRUE, .released_only = TRUE, .listed = view->position, .n_listed = 1};
  Viewing viewing = {.locator = l, .view = view};
  lg_faults_sweep(faults, &sweep, 1, NULL, visit, &viewing);
  return view;
}

void lg_view_free(gpointer data)
{
  LgView *const view = data;
  if (view == NULL)
    return;
  g_free(view->position);
  g_free(view->volts);
  g_free(view->watts);
  g_free(view);
}

const LgView *lg_locator_view(LgLocator *l, const int position[])
{
  const int index = lg_locator_keep(l, position);
  if (l->views->pdata[index] == NULL)
    l->views->pdata[index] = lg_view_new(l, l->faults, position);
  return l->views->pdata[index];
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
      branch.gate = dead                                        ? never
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

static LgOhmView *ohm_view(LgLocator *l, int red, int black, const int position[])
{
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
  LgOhmView *const view = ohm_view(l, l->circuit->pin_node[red_pin],
                                   l->circuit->pin_node[black_pin], position);
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
