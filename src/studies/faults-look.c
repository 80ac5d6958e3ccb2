/* What is seen in solved states: first of the healthy job, then of a fault beside it. */
#include "studies/faults-private.h"

#define ALIVE_SHARE 0.02   /* of its greatest healthy power: a load does something; a lamp glows */
#define MOVES_SHARE 0.05   /* the same for what turns or pulls */
#define WARM_SHARE 0.1     /* the same for heaters */
#define WORKS_SHARE 0.25   /* the same for electronics */
#define USED_SHARE 0.25    /* a load is in use, so that its loss is one */
#define WEAK_SHARE 0.5     /* of the power that it has in the same state when healthy */
#define NO_FLOW_A 1e-7     /* a branch that carries less may open without anything else changing */
#define SAME_V 1e-8        /* points that are as near may be joined */
#define REVERSED_SHARE 0.1 /* of nominal volts */
#define OVER_SHARE 1.1  /* of a rating: above what the fuse may carry for ever by the standards */
#define SHARE_STEP 0.02 /* of its supply: less is no other reading */

/* --- currents of a block --- */

static int node_of(const LgCircuit *circuit, int pin)
{
  return pin >= 0 ? circuit->pin_node[pin] : circuit->body_node;
}

static gboolean is_closed(const LgNetGate *gate, const int position[], const uint64_t pulled[])
{
  if (!lg_net_inputs_allow(gate, position, 1))
    return FALSE;
  return gate->coil < 0 ||
         (pulled[gate->coil / 64] >> gate->coil % 64 & 1) == (uint64_t)(gate->coil_pulled != 0);
}

static void load_gates(LgLook *look, const LgNetBlock *block)
{
  const LgStage *const stage = look->healthy->stage;
  for (int g = 0; g < stage->n_gates; g++) {
    const LgNetGate *const gate = lg_net_gate(stage->net, g);
    for (int k = 0; k < LG_LANES; k++)
      look->gates[g][k] = -(int64_t)is_closed(gate, block->position[k], block->pulled[k]);
  }
}

static const LgChange *change_of(const LgLook *look, int branch)
{
  const LgChange *found = NULL;
  for (int c = 0; c < look->n_changes; c++)
    if (look->changes[c].branch == branch)
      found = &look->changes[c];
  return found;
}

static void resistor_amps(const LgLook *look, const LgNetBlock *block, const LgNetBranch *branch,
                          double siemens, gboolean ungated, double amps[LG_LANES])
{
  const double *const a = block->volts[branch->a], *const b = block->volts[branch->b];
  for (int k = 0; k < LG_LANES; k++) {
    const double flow = siemens * (a[k] - b[k]);
    amps[k] = flow == flow ? flow : 0;
  }
  if (branch->gate < 0 || ungated)
    return;
  for (int k = 0; k < LG_LANES; k++)
    if (look->gates[branch->gate][k] == 0)
      amps[k] = 0;
}

/* A turned source gives what the healthy one would at the swapped volts. */
static void turned_amps(const LgLook *look, const LgNetBlock *block, int index,
                        double amps[LG_LANES])
{
  const LgStage *const stage = look->healthy->stage;
  const LgNetBranch *const branch = lg_net_branch(stage->net, index);
  const int n = MAX(branch->a, branch->b) + 1;
  g_autofree double *swapped = g_memdup2(block->volts, sizeof(double) * LG_LANES * (gsize)n);
  memcpy(swapped + branch->a * LG_LANES, block->volts[branch->b], sizeof(double) * LG_LANES);
  memcpy(swapped + branch->b * LG_LANES, block->volts[branch->a], sizeof(double) * LG_LANES);
  LgNetBlock turned = *block;
  turned.volts = (const double(*)[LG_LANES])swapped;
  lg_net_block_current(stage->net, stage->work, &turned, index, amps);
  for (int k = 0; k < LG_LANES; k++)
    amps[k] = -amps[k];
}

static void branch_amps(const LgLook *look, const LgNetBlock *block, int index,
                        double amps[LG_LANES])
{
  const LgStage *const stage = look->healthy->stage;
  const LgNetBranch *const branch = lg_net_branch(stage->net, index);
  const int override = look->override[index] - 1;
  if (override == LG_CHANGE_OPEN) {
    memset(amps, 0, sizeof(double) * LG_LANES);
  } else if (override == LG_CHANGE_REVERSED) {
    turned_amps(look, block, index, amps);
  } else if (branch->kind == LG_BRANCH_RESISTOR) {
    const double siemens =
        override == LG_CHANGE_PARAM ? change_of(look, index)->value : branch->p[0];
    resistor_amps(look, block, branch, siemens, override == LG_CHANGE_CLOSED, amps);
  } else {
    lg_net_block_current(stage->net, stage->work, block, index, amps);
  }
}

static void element_amps(const LgLook *look, const LgNetBlock *block, int element,
                         double amps[LG_LANES])
{
  const LgStage *const stage = look->healthy->stage;
  memset(amps, 0, sizeof(double) * LG_LANES);
  for (int i = 0; i < stage->n[element]; i++) {
    double part[LG_LANES];
    branch_amps(look, block, stage->first[element] + i, part);
    for (int k = 0; k < LG_LANES; k++)
      amps[k] += part[k];
  }
}

static void element_volts(const LgLook *look, const LgNetBlock *block, int element,
                          double volts[LG_LANES])
{
  const LgCircuit *const circuit = look->healthy->stage->circuit;
  const int *const pin = circuit->job->elements[element].pin;
  const double *const a = block->volts[node_of(circuit, pin[0])],
                      *const b = block->volts[node_of(circuit, pin[1])];
  for (int k = 0; k < LG_LANES; k++) {
    const double v = a[k] - b[k];
    volts[k] = v == v ? v : 0;
  }
}

static void user_watts(const LgLook *look, const LgNetBlock *block, int user,
                       double watts[LG_LANES])
{
  const int element = look->healthy->users[user];
  double amps[LG_LANES], volts[LG_LANES];
  element_amps(look, block, element, amps);
  element_volts(look, block, element, volts);
  for (int k = 0; k < LG_LANES; k++)
    watts[k] = fabs(amps[k] * volts[k]);
}

static gboolean is_pulled(const LgNetBlock *block, int lane, int coil)
{
  return block->pulled[lane][coil / 64] >> coil % 64 & 1;
}

/* Share of the supply's volts that a reader sees over its sensor. */
static void probe_share(const LgNetBlock *block, const LgProbed *probed, double least_V,
                        double share[LG_LANES])
{
  const double *const hot = block->volts[probed->hot], *const cold = block->volts[probed->cold],
                      *const supply = block->volts[probed->supply];
  for (int k = 0; k < LG_LANES; k++) {
    const double span = supply[k] - cold[k];
    share[k] = fabs(span) > least_V ? (hot[k] - cold[k]) / span : NAN;
  }
}

/* --- needs --- */

static gboolean need_applies(const LgNeed *need, const int position[])
{
  for (int i = 0; i < need->n_when; i++)
    if ((need->when[i].positions >> position[need->when[i].input] & 1) == 0)
      return FALSE;
  return TRUE;
}

static void need_value(const LgLook *look, const LgNetBlock *block, const LgNeed *need,
                       double out[LG_LANES])
{
  const LgStage *const stage = look->healthy->stage;
  const LgCircuit *const circuit = stage->circuit;
  double volts[LG_LANES] = {0}, amps[LG_LANES] = {0};
  if (need->target == LG_TARGET_PIN) {
    memcpy(volts, block->volts[circuit->pin_node[need->index]], sizeof volts);
  } else if (need->target == LG_TARGET_WIRE) {
    branch_amps(look, block, stage->branch[circuit->wire_branch[need->index]], amps);
  } else {
    element_amps(look, block, need->index, amps);
    element_volts(look, block, need->index, volts);
  }
  for (int k = 0; k < LG_LANES; k++) {
    const double value = need->measure == LG_MEASURE_CURRENT ? amps[k]
                         : need->measure == LG_MEASURE_VOLTS ? volts[k]
                                                             : amps[k] * volts[k];
    out[k] = isnan(value) ? 0 : fabs(value);
  }
}

static gboolean need_met(const LgNeed *need, double value)
{
  return need->relation == '<' ? value < need->limit : value > need->limit;
}

/* --- seen --- */

static void take(const LgHealthy *h, LgSeen *seen, double value, double sign, int state)
{
  const gboolean first = seen->state < 0;
  seen->n++;
  if (first || sign * value > sign * seen->value)
    seen->value = value;
  if (first || h->states->rank[state] < h->states->rank[seen->state])
    seen->state = state;
}

/* The same, but keeps the state of the extreme. */
static void take_extreme(LgSeen *seen, double value, double sign, int state)
{
  if (seen->state < 0 || sign * value > sign * seen->value * (1 + sign * 1e-9)) {
    seen->value = value;
    seen->state = state;
  }
}

static double runs_share(LgElementKind kind)
{
  return kind == LG_EL_ELECTRONIC    ? WORKS_SHARE
         : kind == LG_EL_HEATER      ? WARM_SHARE
         : lg_element_is_motor(kind) ? MOVES_SHARE
                                     : ALIVE_SHARE;
}

gboolean lg_load_runs(const LgSizing *sizing, int element, double watts)
{
  const LgElement *const e = &sizing->circuit->job->elements[element];
  const double most_W = fmax(sizing->states->elements[element].most_W.value, 0);
  const double own_W =
      most_W >= 0.1 * e->p[LG_P_POWER] || isnan(e->p[LG_P_POWER]) ? most_W : e->p[LG_P_POWER];
  return own_W > 0 && watts >= runs_share(e->kind) * own_W;
}

/* Whether somebody or some thermostat asks for it: a hand input that it obeys is off its rest (a
 * key is on whatever one wants), and so is every call that it obeys. */
static gboolean is_asked(const LgHealthy *h, int user, int state)
{
  const int *const position = lg_failure_position(h->states, state);
  const LgJob *const job = h->stage->circuit->job;
  gboolean by_hand = FALSE;
  for (int i = 0; i < job->n_inputs; i++) {
    if (!h->obeys[(gsize)user * (gsize)job->n_inputs + (gsize)i])
      continue;
    if (job->inputs[i].kind == LG_INPUT_CALL && position[i] == 0)
      return FALSE;
    by_hand |= job->inputs[i].kind == LG_INPUT_HAND && position[i] != 0 &&
               strcmp(job->parts[job->inputs[i].part].class_word, "key") != 0;
  }
  return by_hand;
}

static void see_users(LgLook *look, const LgNetBlock *block, const int state[LG_LANES])
{
  const LgHealthy *const h = look->healthy;
  for (int u = 0; u < h->n_users; u++) {
    double watts[LG_LANES];
    user_watts(look, block, u, watts);
    const double most_W = h->most_W[u];
    const double runs_W = runs_share(h->stage->circuit->job->elements[h->users[u]].kind) * most_W;
    for (int k = 0; k < block->n; k++) {
      const double before = h->watts[(gsize)state[k] * (gsize)h->n_users + (gsize)u];
      const double now = watts[k];
      if (before < ALIVE_SHARE * most_W && now >= runs_W) {
        take(h, &look->runs[u], now / most_W, 1, state[k]);
        if (!is_asked(h, u, state[k]))
          take(h, &look->unasked[u], now / most_W, 1, state[k]);
      } else if (before >= USED_SHARE * most_W && now < ALIVE_SHARE * most_W)
        take(h, &look->stops[u], now / before, -1, state[k]);
      else if (before >= USED_SHARE * most_W && now < WEAK_SHARE * before)
        take(h, &look->weak[u], now / before, -1, state[k]);
      if (now > 1.02 * most_W)
        take_extreme(&look->most_W[u], now, 1, state[k]);
    }
  }
}

static void see_wires(LgLook *look, const LgNetBlock *block, const int state[LG_LANES])
{
  const LgHealthy *const h = look->healthy;
  const LgCircuit *const circuit = h->stage->circuit;
  for (int w = 0; w < circuit->job->n_wires; w++) {
    double amps[LG_LANES];
    branch_amps(look, block, h->stage->branch[circuit->wire_branch[w]], amps);
    LgSeen *const seen = &look->wires[w];
    const double over = fmax(1.02 * h->wire_A[w] + 1e-3, seen->state >= 0 ? seen->value : 0);
    for (int k = 0; k < block->n; k++)
      if (fabs(amps[k]) > over)
        take_extreme(seen, fabs(amps[k]), 1, state[k]);
  }
}

static void see_guards(LgLook *look, const LgNetBlock *block, const int state[LG_LANES])
{
  const LgHealthy *const h = look->healthy;
  for (int g = 0; g < h->n_guards; g++) {
    double amps[LG_LANES];
    element_amps(look, block, h->guards[g], amps);
    const double over = 1.02 * h->guard_most_A[g] + 1e-3;
    const double rating_A = lg_failure_rating(h->sizing, h->guards[g]);
    for (int k = 0; k < block->n; k++) {
      const double a = fabs(amps[k]);
      if (a <= over)
        continue;
      take_extreme(&look->guards[g], a, 1, state[k]);
      if (a >= h->guard_A[g])
        take_extreme(&look->least_over[g], a, -1, state[k]);
      else if (a > OVER_SHARE * rating_A)
        take_extreme(&look->most_under[g], a, 1, state[k]);
    }
  }
}

static void see_coils(LgLook *look, const LgNetBlock *block, const int state[LG_LANES])
{
  const LgHealthy *const h = look->healthy;
  const LgCircuit *const circuit = h->stage->circuit;
  for (int c = 0; c < h->n_coils; c++) {
    const int coil = circuit->element_coil[h->coils[c]];
    const LgNetCoil *const net_coil = lg_net_coil(h->stage->net, coil);
    double volts[LG_LANES];
    element_volts(look, block, h->coils[c], volts);
    for (int k = 0; k < block->n; k++) {
      const gsize at = (gsize)state[k] * (gsize)h->n_coils + (gsize)c;
      const double v = net_coil->polarised ? volts[k] : fabs(volts[k]);
      if (h->coil_in[at])
        continue;
      if (is_pulled(block, k, coil))
        take(h, &look->pulled[c], v, 1, state[k]);
      else if (v >= net_coil->drop_out_volts && h->coil_V[at] < net_coil->drop_out_volts)
        take(h, &look->held[c], v, 1, state[k]);
    }
  }
}

static void see_reversed(LgLook *look, const LgNetBlock *block, const int state[LG_LANES])
{
  const LgHealthy *const h = look->healthy;
  const LgJob *const job = h->stage->circuit->job;
  for (int e = 0; e < job->n_elements; e++) {
    if (!job->elements[e].polarised || h->stage->n[e] == 0)
      continue;
    double volts[LG_LANES];
    element_volts(look, block, e, volts);
    for (int k = 0; k < block->n; k++)
      if (volts[k] < -REVERSED_SHARE * job->nominal_V)
        take(h, &look->reversed[e], volts[k], -1, state[k]);
  }
}

static void see_probed(LgLook *look, const LgNetBlock *block, const int state[LG_LANES])
{
  const LgHealthy *const h = look->healthy;
  for (int p = 0; p < h->n_probed; p++) {
    double share[LG_LANES];
    probe_share(block, &h->probed[p], REVERSED_SHARE * h->stage->circuit->job->nominal_V, share);
    for (int k = 0; k < block->n; k++) {
      const double before = h->read[(gsize)state[k] * (gsize)h->n_probed + (gsize)p];
      if (share[k] > before + SHARE_STEP)
        take(h, &look->cold[p], share[k], 1, state[k]);
      else if (share[k] < before - SHARE_STEP)
        take(h, &look->warm[p], share[k], -1, state[k]);
    }
  }
}

static void see_needs(LgLook *look, const LgNetBlock *block, const int state[LG_LANES])
{
  const LgHealthy *const h = look->healthy;
  const LgJob *const job = h->stage->circuit->job;
  for (int i = 0; i < job->n_needs; i++) {
    if (!h->need_holds[i])
      continue;
    guint lanes = 0;
    for (int k = 0; k < block->n; k++)
      lanes |= (guint)need_applies(&job->needs[i], block->position[k]) << k;
    if (lanes == 0)
      continue;
    double value[LG_LANES];
    need_value(look, block, &job->needs[i], value);
    for (int k = 0; k < block->n; k++)
      if ((lanes >> k & 1) != 0 && !need_met(&job->needs[i], value[k]))
        take(h, &look->needs[i], value[k], job->needs[i].relation == '<' ? 1 : -1, state[k]);
  }
}

static void see_bridges(LgLook *look, const LgNetBlock *block, const int state[LG_LANES])
{
  for (int c = 0; c < look->n_changes; c++) {
    const LgChange *const change = &look->changes[c];
    if (change->kind != LG_CHANGE_BRIDGE)
      continue;
    for (int k = 0; k < block->n; k++) {
      const double amps =
          change->value * fabs(block->volts[change->a][k] - block->volts[change->b][k]);
      if (amps > 0)
        take_extreme(&look->short_A, amps, 1, state[k]);
    }
  }
}

/* What the batteries give. */
static double battery_A(const LgLook *look, const LgNetBlock *block, int lane)
{
  const LgJob *const job = look->healthy->stage->circuit->job;
  double sum = 0;
  for (int e = 0; e < job->n_elements; e++) {
    if (job->elements[e].kind != LG_EL_CELL)
      continue;
    double amps[LG_LANES];
    element_amps(look, block, e, amps);
    sum += fmax(-amps[lane], 0);
  }
  return sum;
}

void lg_look_visit(const LgNetBlock *block, const int state[LG_LANES], gpointer user)
{
  LgLook *const look = user;
  load_gates(look, block);
  see_users(look, block, state);
  see_wires(look, block, state);
  see_guards(look, block, state);
  see_coils(look, block, state);
  see_reversed(look, block, state);
  see_probed(look, block, state);
  see_needs(look, block, state);
  see_bridges(look, block, state);
  for (int k = 0; k < block->n; k++) {
    if (state[k] == 0)
      look->rest_A = battery_A(look, block, k);
    if (block->outcome[k] == LG_CHATTER && look->healthy->steady[state[k]] &&
        (look->chatter < 0 ||
         look->healthy->states->rank[state[k]] < look->healthy->states->rank[look->chatter])) {
      look->chatter = state[k];
      look->chatter_coil = block->coil[k];
    }
  }
  look->n_solved += (guint64)block->n;
}

/* --- life --- */

static LgSeen *seen_new(int n)
{
  return g_new0(LgSeen, (gsize)n + 1);
}

static void seen_clear(LgSeen seen[], int n)
{
  for (int i = 0; i < n; i++)
    seen[i] = (LgSeen){NAN, -1, 0};
}

LgLook *lg_look_new(const LgHealthy *healthy)
{
  const LgJob *const job = healthy->stage->circuit->job;
  LgLook *const look = g_new0(LgLook, 1);
  look->healthy = healthy;
  look->override = g_new0(guint8, (gsize)lg_net_n_branches(healthy->stage->net) + 1);
  look->runs = seen_new(healthy->n_users);
  look->unasked = seen_new(healthy->n_users);
  look->stops = seen_new(healthy->n_users);
  look->weak = seen_new(healthy->n_users);
  look->most_W = seen_new(healthy->n_users);
  look->wires = seen_new(job->n_wires);
  look->guards = seen_new(healthy->n_guards);
  look->least_over = seen_new(healthy->n_guards);
  look->most_under = seen_new(healthy->n_guards);
  look->pulled = seen_new(healthy->n_coils);
  look->held = seen_new(healthy->n_coils);
  look->reversed = seen_new(job->n_elements);
  look->cold = seen_new(healthy->n_probed);
  look->warm = seen_new(healthy->n_probed);
  look->needs = seen_new(job->n_needs);
  look->gates = g_malloc0(sizeof *look->gates * ((gsize)healthy->stage->n_gates + 1));
  lg_look_begin(look, NULL, 0);
  return look;
}

void lg_look_free(LgLook *look)
{
  if (look == NULL)
    return;
  gpointer owned[] = {
      look->override, look->unasked, look->runs,       look->stops,      look->weak,   look->most_W,
      look->wires,    look->guards,  look->least_over, look->most_under, look->pulled, look->held,
      look->reversed, look->cold,    look->warm,       look->needs,      look->gates};
  for (guint i = 0; i < G_N_ELEMENTS(owned); i++)
    g_free(owned[i]);
  g_free(look);
}

void lg_look_begin(LgLook *look, const LgChange changes[], int n_changes)
{
  const LgHealthy *const h = look->healthy;
  const LgJob *const job = h->stage->circuit->job;
  memset(look->override, 0, (gsize)lg_net_n_branches(h->stage->net));
  look->changes = changes;
  look->n_changes = n_changes;
  for (int c = 0; c < n_changes; c++)
    if (changes[c].branch >= 0)
      look->override[changes[c].branch] = (guint8)(changes[c].kind + 1);
  LgSeen *const by_user[] = {look->runs, look->unasked, look->stops, look->weak, look->most_W};
  for (guint i = 0; i < G_N_ELEMENTS(by_user); i++)
    seen_clear(by_user[i], h->n_users);
  LgSeen *const by_guard[] = {look->guards, look->least_over, look->most_under};
  for (guint i = 0; i < G_N_ELEMENTS(by_guard); i++)
    seen_clear(by_guard[i], h->n_guards);
  seen_clear(look->wires, job->n_wires);
  seen_clear(look->pulled, h->n_coils);
  seen_clear(look->held, h->n_coils);
  seen_clear(look->reversed, job->n_elements);
  seen_clear(look->cold, h->n_probed);
  seen_clear(look->warm, h->n_probed);
  seen_clear(look->needs, job->n_needs);
  seen_clear(&look->short_A, 1);
  look->chatter = look->chatter_coil = -1;
  look->rest_A = 0;
  look->n_solved = 0;
}

/* --- states that the healthy solution does not answer --- */

/* Where nothing is tied to an island it counts as 0 V, so that joining it to what is at 0 V, or to
 * another island, changes no reading. */
static double across(double a, double b)
{
  return fabs((isnan(a) ? 0 : a) - (isnan(b) ? 0 : b));
}

/* A branch that carries nothing may open or change, and points of the same volts may be joined, and
 * all other currents stay (substitution theorem). */
static gboolean answers(const LgHealthy *h, const LgChange *change, int state)
{
  const LgNet *const net = h->stage->net;
  const double *const volts = h->volts + (gsize)state * (gsize)lg_net_n_nodes(net);
  if (change->kind == LG_CHANGE_BRIDGE)
    return across(volts[change->a], volts[change->b]) < SAME_V;
  if (change->kind == LG_CHANGE_REVERSED)
    return FALSE;
  const LgNetBranch *const branch = lg_net_branch(net, change->branch);
  const gboolean closed = branch->gate < 0 || is_closed(lg_net_gate(net, branch->gate),
                                                        lg_failure_position(h->states, state),
                                                        h->pulled + (gsize)state * h->words);
  const double volts_across = across(volts[branch->a], volts[branch->b]);
  if (change->kind == LG_CHANGE_CLOSED)
    return closed || volts_across < SAME_V;
  if (branch->kind == LG_BRANCH_SOURCE || branch->kind == LG_BRANCH_LIMITED)
    return FALSE;
  const double slope = branch->kind == LG_BRANCH_RESISTOR ? branch->p[0] : NO_FLOW_A / SAME_V;
  return !closed || isnan(volts[branch->a] - volts[branch->b]) || slope * volts_across < NO_FLOW_A;
}

int lg_look_wanted(const LgHealthy *healthy, const LgChange changes[], int n_changes, int wanted[])
{
  int n = 0;
  for (int s = 0; s < healthy->states->n; s++) {
    gboolean answered = healthy->steady[s];
    for (int c = 0; c < n_changes && answered; c++)
      answered = answers(healthy, &changes[c], s);
    if (!answered)
      wanted[n++] = s;
  }
  return n;
}

/* --- the healthy job --- */

typedef struct {
  LgHealthy *healthy;
  LgLook *look;
} Filling;

static void fill_state(LgHealthy *h, const LgNetBlock *block, int lane, int state)
{
  const int n_nodes = lg_net_n_nodes(h->stage->net);
  double *const volts = h->volts + (gsize)state * (gsize)n_nodes;
  for (int i = 0; i < n_nodes; i++)
    volts[i] = block->volts[i][lane];
  h->steady[state] = block->outcome[lane] != LG_CHATTER && block->outcome[lane] != LG_STALLED;
  memcpy(h->pulled + (gsize)state * h->words, block->pulled[lane], sizeof(uint64_t) * h->words);
  for (int c = 0; c < h->n_coils; c++)
    h->coil_in[(gsize)state * (gsize)h->n_coils + (gsize)c] =
        (guint8)is_pulled(block, lane, h->stage->circuit->element_coil[h->coils[c]]);
}

static void most_amps(const LgNetBlock *block, const double amps[LG_LANES], double *most)
{
  for (int k = 0; k < block->n; k++)
    *most = fmax(*most, fabs(amps[k]));
}

/* The rows of the states. */
static void fill_rows(const LgNetBlock *block, const int state[LG_LANES], gpointer user)
{
  const Filling *const f = user;
  LgHealthy *const h = f->healthy;
  const LgCircuit *const circuit = h->stage->circuit;
  double value[LG_LANES];
  load_gates(f->look, block);
  for (int k = 0; k < block->n; k++)
    fill_state(h, block, k, state[k]);
  for (int u = 0; u < h->n_users; u++) {
    user_watts(f->look, block, u, value);
    for (int k = 0; k < block->n; k++)
      h->watts[(gsize)state[k] * (gsize)h->n_users + (gsize)u] = value[k];
  }
  for (int c = 0; c < h->n_coils; c++) {
    element_volts(f->look, block, h->coils[c], value);
    for (int k = 0; k < block->n; k++)
      h->coil_V[(gsize)state[k] * (gsize)h->n_coils + (gsize)c] = fabs(value[k]);
  }
  for (int p = 0; p < h->n_probed; p++) {
    probe_share(block, &h->probed[p], REVERSED_SHARE * circuit->job->nominal_V, value);
    for (int k = 0; k < block->n; k++)
      h->read[(gsize)state[k] * (gsize)h->n_probed + (gsize)p] = value[k];
  }
}

static void fill_visit(const LgNetBlock *block, const int state[LG_LANES], gpointer user)
{
  const Filling *const f = user;
  LgHealthy *const h = f->healthy;
  const LgCircuit *const circuit = h->stage->circuit;
  double value[LG_LANES];
  fill_rows(block, state, user);
  for (int u = 0; u < h->n_users; u++)
    for (int k = 0; k < block->n; k++)
      h->most_W[u] = fmax(h->most_W[u], h->watts[(gsize)state[k] * (gsize)h->n_users + (gsize)u]);
  for (int w = 0; w < circuit->job->n_wires; w++) {
    branch_amps(f->look, block, h->stage->branch[circuit->wire_branch[w]], value);
    most_amps(block, value, &h->wire_A[w]);
  }
  for (int g = 0; g < h->n_guards; g++) {
    element_amps(f->look, block, h->guards[g], value);
    most_amps(block, value, &h->guard_most_A[g]);
  }
  for (int i = 0; i < circuit->job->n_needs; i++) {
    need_value(f->look, block, &circuit->job->needs[i], value);
    for (int k = 0; k < block->n; k++)
      if (need_applies(&circuit->job->needs[i], block->position[k]) &&
          !need_met(&circuit->job->needs[i], value[k]))
        h->need_holds[i] = FALSE;
  }
  for (int k = 0; k < block->n; k++)
    if (state[k] == 0)
      h->rest_A = battery_A(f->look, block, k);
}

static int list_kind(const LgStage *stage, gboolean (*is)(LgElementKind), int **out)
{
  const LgJob *const job = stage->circuit->job;
  int n = 0;
  *out = g_new(int, (gsize)job->n_elements + 1);
  for (int e = 0; e < job->n_elements; e++)
    if (is(job->elements[e].kind) && stage->n[e] > 0)
      (*out)[n++] = e;
  return n;
}

static gboolean is_coil(LgElementKind kind)
{
  return kind == LG_EL_COIL;
}

/* A resistor of its own use is nobody's to miss. */
static gboolean is_user(LgElementKind kind)
{
  return lg_element_is_load(kind) && kind != LG_EL_RESISTOR;
}

/* --- sensors that somebody reads --- */

static int find_root(int forest[], int i)
{
  while (forest[i] != i)
    i = forest[i] = forest[forest[i]];
  return i;
}

/* Pins joined by wires, and by links outside of part `but`. */
static int *joined_pins(const LgJob *job, int but)
{
  int *const forest = g_new(int, (gsize)job->n_pins + 1);
  for (int p = 0; p < job->n_pins; p++)
    forest[p] = p;
  for (int w = 0; w < job->n_wires; w++)
    forest[find_root(forest, job->wires[w].pin[0])] = find_root(forest, job->wires[w].pin[1]);
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_LINK && job->elements[e].part != but)
      forest[find_root(forest, job->elements[e].pin[0])] =
          find_root(forest, job->elements[e].pin[1]);
  return forest;
}

/* The reader's pin that a sensor's pin is wired to, -1; and the resistor from it to its supply. */
static gboolean find_probed(const LgStage *stage, int reader, LgProbed *probed)
{
  const LgJob *const job = stage->circuit->job;
  const LgElement *const sensor = &job->elements[probed->element];
  const LgPart *const part = &job->parts[job->elements[reader].part];
  g_autofree int *forest = joined_pins(job, job->elements[reader].part);
  int far[2] = {-1, -1};
  for (int side = 0; side < 2; side++)
    for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++)
      if (find_root(forest, p) == find_root(forest, sensor->pin[side]) &&
          (far[side] < 0 || job->pins[p].carries == LG_CARRIES_SENSOR))
        far[side] = p;
  if (far[0] < 0 || far[1] < 0)
    return FALSE;
  for (int e = part->first_element; e < part->first_element + part->n_elements; e++) {
    const LgElement *const r = &job->elements[e];
    if (r->kind != LG_EL_RESISTOR)
      continue;
    for (int side = 0; side < 2; side++)
      for (int end = 0; end < 2; end++)
        if (r->pin[end] == far[side]) {
          probed->hot = stage->circuit->pin_node[far[side]];
          probed->cold = stage->circuit->pin_node[far[1 - side]];
          probed->supply = node_of(stage->circuit, r->pin[1 - end]);
          return TRUE;
        }
  }
  return FALSE;
}

static void list_probed(LgHealthy *h)
{
  const LgJob *const job = h->stage->circuit->job;
  h->probed = g_new0(LgProbed, (gsize)job->n_elements + 1);
  for (int e = 0; e < job->n_elements; e++) {
    const int sensor = job->elements[e].senses;
    gboolean known = sensor < 0 || h->stage->n[sensor] == 0;
    for (int p = 0; p < h->n_probed; p++)
      known |= h->probed[p].element == sensor;
    LgProbed probed = {.element = sensor, .reader = e, .call = job->elements[e].call};
    if (!known && find_probed(h->stage, e, &probed))
      h->probed[h->n_probed++] = probed;
  }
}

/* A load obeys an input when it is dead in every state in which that is at rest, and runs in
 * others.
 */
static void find_obeyed(LgHealthy *h)
{
  const int n_inputs = h->states->n_inputs;
  h->obeys = g_new0(guint8, (gsize)h->n_users * (gsize)n_inputs + 1);
  for (int u = 0; u < h->n_users; u++) {
    guint8 *const obeys = h->obeys + (gsize)u * (gsize)n_inputs;
    gboolean runs = FALSE;
    for (int s = 0; s < h->states->n; s++) {
      const int *const position = lg_failure_position(h->states, s);
      if (h->watts[(gsize)s * (gsize)h->n_users + (gsize)u] < ALIVE_SHARE * h->most_W[u])
        continue;
      for (int i = 0; i < n_inputs; i++)
        obeys[i] = (guint8)((runs ? obeys[i] : 1) && position[i] != 0);
      runs = TRUE;
    }
  }
}

LgHealthy *lg_healthy_new(const LgSizing *sizing, const LgStage *stage,
                          const LgFailureStates *states, LgFailureSolver *solver)
{
  const LgJob *const job = stage->circuit->job;
  LgHealthy *const h = g_new0(LgHealthy, 1);
  const gsize n = (gsize)states->n;
  h->sizing = sizing;
  h->stage = stage;
  h->states = states;
  h->n_users = list_kind(stage, is_user, &h->users);
  h->n_coils = list_kind(stage, is_coil, &h->coils);
  h->n_guards = list_kind(stage, lg_element_is_protection, &h->guards);
  list_probed(h);
  h->guard_A = g_new0(double, (gsize)h->n_guards + 1);
  for (int g = 0; g < h->n_guards; g++)
    h->guard_A[g] = lg_guard_bears_A(sizing, h->guards[g], lg_failure_rating(sizing, h->guards[g]));
  h->most_W = g_new0(double, (gsize)h->n_users + 1);
  h->volts = g_new0(double, n *(gsize)lg_net_n_nodes(stage->net));
  h->watts = g_new0(double, n *(gsize)h->n_users + 1);
  h->coil_V = g_new0(double, n *(gsize)h->n_coils + 1);
  h->coil_in = g_new0(guint8, n * (gsize)h->n_coils + 1);
  h->words = (gsize)lg_net_n_coils(stage->net) / 64 + 1;
  h->pulled = g_new0(uint64_t, n * h->words);
  h->read = g_new0(double, n *(gsize)h->n_probed + 1);
  h->steady = g_new0(guint8, n + 1);
  h->wire_A = g_new0(double, (gsize)job->n_wires + 1);
  h->guard_most_A = g_new0(double, (gsize)h->n_guards + 1);
  h->need_holds = g_new(gboolean, (gsize)job->n_needs + 1);
  for (int i = 0; i < job->n_needs; i++)
    h->need_holds[i] = TRUE;
  g_autofree int *all = g_new(int, n);
  for (int s = 0; s < states->n; s++)
    all[s] = s;
  h->heats = lg_heats_new(sizing);
  LgLook *const look = lg_look_new(h);
  lg_failure_solver_run(solver, NULL, 0, all, states->n, fill_visit, &(Filling){h, look});
  lg_look_free(look);
  find_obeyed(h);
  for (int u = 0; u < h->n_users; u++)
    if (h->most_W[u] < 0.1 * job->elements[h->users[u]].p[LG_P_POWER])
      h->most_W[u] = job->elements[h->users[u]].p[LG_P_POWER];
  return h;
}

void lg_healthy_renew(LgHealthy *h, LgFailureSolver *solver, int state)
{
  g_autoptr(LgLook) look = lg_look_new(h);
  lg_failure_solver_run(solver, NULL, 0, &state, 1, fill_rows, &(Filling){h, look});
}

void lg_healthy_free(LgHealthy *h)
{
  if (h == NULL)
    return;
  gpointer owned[] = {h->users,  h->coils,        h->guards,     h->guard_A, h->probed, h->most_W,
                      h->volts,  h->watts,        h->coil_V,     h->coil_in, h->read,   h->steady,
                      h->wire_A, h->guard_most_A, h->need_holds, h->pulled,  h->obeys};
  for (guint i = 0; i < G_N_ELEMENTS(owned); i++)
    g_free(owned[i]);
  lg_heats_free(h->heats);
  g_free(h);
}

/* --- one state --- */

typedef struct {
  LgOneState *one;
  LgLook *look;
} OneVisit;

static void one_visit(const LgNetBlock *block, const int state[LG_LANES], gpointer user)
{
  const OneVisit *const v = user;
  const LgHealthy *const h = v->look->healthy;
  const LgCircuit *const circuit = h->stage->circuit;
  double amps[LG_LANES];
  (void)state;
  load_gates(v->look, block);
  for (int i = 0; i < lg_net_n_nodes(h->stage->net); i++)
    v->one->volts[i] = block->volts[i][0];
  for (int w = 0; w < circuit->job->n_wires; w++) {
    branch_amps(v->look, block, h->stage->branch[circuit->wire_branch[w]], amps);
    v->one->amps[w] = amps[0];
  }
  for (int e = 0; e < circuit->job->n_elements; e++) {
    element_amps(v->look, block, e, amps);
    v->one->amps[circuit->job->n_wires + e] = amps[0];
  }
  memcpy(v->one->pulled, block->pulled[0], sizeof(uint64_t) * h->words);
  v->one->outcome = block->outcome[0];
  v->one->coil = block->coil[0];
  v->one->bridge_A = 0;
  for (int c = 0; c < v->look->n_changes; c++) {
    const LgChange *const change = &v->look->changes[c];
    if (change->kind != LG_CHANGE_BRIDGE)
      continue;
    const double flow = change->value * (v->one->volts[change->a] - v->one->volts[change->b]);
    v->one->bridge_A = fabs(flow) > fabs(v->one->bridge_A) ? flow : v->one->bridge_A;
  }
}

LgOneState *lg_one_state_new(const LgHealthy *healthy)
{
  const LgJob *const job = healthy->stage->circuit->job;
  LgOneState *const one = g_new0(LgOneState, 1);
  one->volts = g_new0(double, (gsize)lg_net_n_nodes(healthy->stage->net));
  one->amps = g_new0(double, (gsize)(job->n_wires + job->n_elements) + 1);
  one->pulled = g_new0(uint64_t, healthy->words);
  return one;
}

void lg_one_state_free(LgOneState *one)
{
  if (one == NULL)
    return;
  g_free(one->volts);
  g_free(one->amps);
  g_free(one->pulled);
  g_free(one);
}

void lg_one_state_solve(LgOneState *one, LgLook *look, LgFailureSolver *solver, int state)
{
  one->look = look;
  lg_failure_solver_run(solver, look->changes, look->n_changes, &state, 1, one_visit,
                        &(OneVisit){one, look});
}
