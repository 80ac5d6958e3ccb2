/* What is seen in the states of a sweep, eight at a time.
 *
 * Most elements are one branch whose current grows with its volts, so their extremes of current and
 * power lie where their volts are extreme: only the volts are compared in every state, and the rest
 * is computed where one of them moves. The loss on the way to a load is followed only where the
 * volts between the posts of some source, less the load's, leave room for more than was seen. */
#include "studies/states-private.h"

#define LG_TIE 1e-9    /* values that near to each other are equal */
#define LIVE_A 1e-3    /* see states.h */
#define LIVE_SHARE 0.1 /* of nominal volts */
#define LOADED_A 1.0   /* a wire that counts in its run */

typedef struct {
  int element, a, b, gate;
  gboolean forward; /* only volts from a to b count: diodes */
  double live_V;
  double over, under, drop_over; /* volts beyond which something may move */
} Plain;

typedef struct {
  int a, b;
  double siemens, over;
  double ohm_m; /* 0: in no run, its heat is nobody's matter */
} Wire;

typedef struct {
  int node;
  double over, under;
} Pin;

/* A wire in a run; see LgCompany. */
typedef struct {
  int wire;
  double own_weight, over;
} Mate;

typedef struct {
  int coil, rank;
  guint8 *position;
} Odd;

struct LgScan {
  const LgStage *stage;
  const LgWays *ways;
  const LgJob *job;
  int n_plain, n_mixed;
  Plain *plain;
  int *mixed; /* elements of another make */
  Wire *wires;
  Pin *pins;
  LgPairI (*gates)[LG_PAIRS]; /* [n_gates] mask of the block */
  int n_gates;
  LgPairI (*in_run)[LG_PAIRS]; /* [n_runs] loaded wires of the block, counted */
  int *run_loaded;
  int n_mates, *first_mate; /* [n_runs + 1] */
  Mate *mates;              /* by run */
  int *company;             /* [n_mates] number in LgStates */
  LgPair (*heat)[LG_PAIRS]; /* [n_wires] of the block, W/m */
  LgPeak *peaks;            /* wires, pins twice, elements LG_N_PEAKS times, mates, supply */
  gsize n_peaks;
  guint8 *position; /* [n_peaks * n_inputs] */
  double (*drops)[2];
  gboolean *floating, *joined; /* [n_pins] */
  GArray *chatter, *latching;  /* Odd */
  /* of the block at hand */
  const LgNetBlock *block;
  int rank[LG_LANES]; /* -1: not counted yet */
};

static LgPeak *wire_peak(const LgScan *scan, int wire)
{
  return &scan->peaks[wire];
}

static LgPeak *pin_peak(const LgScan *scan, int pin, int least)
{
  return &scan->peaks[scan->job->n_wires + 2 * pin + least];
}

static LgPeak *element_peak(const LgScan *scan, int element, int which)
{
  return &scan->peaks[scan->job->n_wires + 2 * scan->job->n_pins + LG_N_PEAKS * element + which];
}

static LgPeak *mate_peak(const LgScan *scan, int mate)
{
  return &scan->peaks[scan->n_peaks - 1 - (gsize)scan->n_mates + (gsize)mate];
}

static LgPeak *supply_peak(const LgScan *scan)
{
  return &scan->peaks[scan->n_peaks - 1];
}

static const LgPair *row(const LgNetBlock *block, int node)
{
  return (const LgPair *)block->volts[node];
}

static LgPair magnitude(LgPair value)
{
  return (LgPair)((LgPairI)value & G_MAXINT64);
}

static gboolean any(LgPairI mask)
{
  return (mask[0] | mask[1]) != 0;
}

gboolean lg_element_counts_by_volts(const LgElement *element)
{
  return lg_element_is_load(element->kind) || element->kind == LG_EL_COIL ||
         element->kind == LG_EL_THERMISTOR;
}

static gboolean take(LgScan *scan, LgPeak *peak, int lane, double value, double sign)
{
  return lg_peak_take(peak, value, sign, scan->block->position[lane], scan->job->n_inputs,
                      &scan->rank[lane]);
}

/* The volts beyond which a peak may move; a tie counts only while it could bring a simpler state.
 */
static double beyond(const LgPeak *peak, double sign)
{
  if (peak->rank < 0)
    return sign > 0 ? -INFINITY : INFINITY;
  const double tie = LG_TIE * fabs(peak->value) + 1e-15;
  return peak->rank > 0 ? peak->value - sign * tie : peak->value + sign * tie;
}

static double edge_amps(const LgScan *scan, int lane, int edge)
{
  const LgStage *const stage = scan->stage;
  const LgNetBlock *const block = scan->block;
  const int element = edge - scan->job->n_wires;
  if (element < 0) {
    const Wire *const wire = &scan->wires[edge];
    const double amps = wire->siemens * (block->volts[wire->a][lane] - block->volts[wire->b][lane]);
    return isnan(amps) ? 0 : amps;
  }
  if (stage->n[element] == 1) {
    const LgNetBranch *const branch = lg_net_branch(stage->net, stage->first[element]);
    if (branch->kind == LG_BRANCH_RESISTOR) {
      const double volts = block->volts[branch->a][lane] - block->volts[branch->b][lane];
      const gboolean open = branch->gate >= 0 && scan->gates[branch->gate][lane / 2][lane % 2] == 0;
      return open || isnan(volts) ? 0 : branch->p[0] * volts;
    }
  }
  double amps[LG_LANES];
  lg_stage_element(stage, block, element, amps);
  return amps[lane];
}

typedef struct {
  const LgScan *scan;
  int lane;
} LaneUser;

static double lane_amps(gconstpointer user, int edge)
{
  const LaneUser *const at = user;
  return edge_amps(at->scan, at->lane, edge);
}

static void see_drop(LgScan *scan, int element, int lane)
{
  const LaneUser user = {scan, lane};
  const LgFlow flow = {
      .volts = &scan->block->volts[0][lane], .stride = LG_LANES, .amps = lane_amps, .user = &user};
  double drop[2];
  lg_ways_drop(scan->ways, &flow, element, drop, NULL);
  if (take(scan, element_peak(scan, element, LG_PEAK_DROP), lane, drop[0] + drop[1], 1))
    memcpy(scan->drops[element], drop, sizeof drop);
}

static void see_element(LgScan *scan, int element, int lane, double amps, double volts,
                        double live_V)
{
  const LgElement *const e = &scan->job->elements[element];
  amps = fabs(amps);
  volts = isnan(volts) ? 0 : fabs(volts);
  const gboolean on = scan->stage->n[element] > 0 &&
                      (e->demand < 0 || scan->block->position[lane][e->demand] != LG_DEMAND_OFF);
  const gboolean live =
      on && (lg_element_counts_by_volts(e) ? volts >= live_V : amps >= LIVE_A * (1 - LG_TIE));
  take(scan, element_peak(scan, element, LG_PEAK_MOST_A), lane, amps, 1);
  take(scan, element_peak(scan, element, LG_PEAK_MOST_W), lane, amps * volts, 1);
  if (!live)
    return;
  take(scan, element_peak(scan, element, LG_PEAK_LEAST_A), lane, amps, -1);
  take(scan, element_peak(scan, element, LG_PEAK_MOST_V), lane, volts, 1);
  take(scan, element_peak(scan, element, LG_PEAK_LEAST_V), lane, volts, -1);
}

static LgPair plain_volts(const LgScan *scan, const Plain *plain, int pair)
{
  LgPair volts = row(scan->block, plain->a)[pair] - row(scan->block, plain->b)[pair];
  if (!plain->forward)
    volts = magnitude(volts);
  return plain->gate >= 0 ? (LgPair)((LgPairI)volts & scan->gates[plain->gate][pair]) : volts;
}

static void see_plain_lane(LgScan *scan, Plain *plain, int lane, double volts, double amps,
                           double span)
{
  const gboolean live = volts >= plain->live_V;
  if (volts > plain->over || (live && volts < plain->under)) {
    see_element(scan, plain->element, lane, amps, volts, plain->live_V);
    const LgPeak *const most = element_peak(scan, plain->element, LG_PEAK_MOST_A);
    if (volts >= plain->over)
      plain->over = volts + (most->rank > 0 ? -1 : 1) * LG_TIE * fabs(volts);
    plain->under = beyond(element_peak(scan, plain->element, LG_PEAK_LEAST_V), -1);
  }
  if (live && span - volts > plain->drop_over && fabs(amps) > 0) {
    see_drop(scan, plain->element, lane);
    const double drop = element_peak(scan, plain->element, LG_PEAK_DROP)->value;
    plain->drop_over = drop * (1 + LG_TIE) + 1e-12;
  }
}

static void see_plain(LgScan *scan, Plain *plain, const LgPair span[LG_PAIRS])
{
  LgPairI moves = {0, 0};
  for (int h = 0; h < LG_PAIRS; h++) {
    const LgPair volts = plain_volts(scan, plain, h);
    const LgPairI live = volts >= plain->live_V;
    moves |= (volts > plain->over) |
             (live & ((volts < plain->under) | (span[h] - volts > plain->drop_over)));
  }
  if (!any(moves))
    return;
  double amps[LG_LANES];
  lg_stage_element(scan->stage, scan->block, plain->element, amps);
  for (int k = 0; k < scan->block->n; k++)
    see_plain_lane(scan, plain, k, plain_volts(scan, plain, k / 2)[k % 2], amps[k],
                   span[k / 2][k % 2]);
}

static void see_mixed(LgScan *scan, int element, const LgPair span[LG_PAIRS])
{
  const LgElement *const e = &scan->job->elements[element];
  const LgNetBlock *const block = scan->block;
  const LgCircuit *const circuit = scan->stage->circuit;
  const int a = circuit->pin_node[e->pin[0]],
            b = e->pin[1] >= 0 ? circuit->pin_node[e->pin[1]] : circuit->body_node;
  const double live_V = LIVE_SHARE * scan->job->nominal_V;
  double amps[LG_LANES];
  lg_stage_element(scan->stage, block, element, amps);
  for (int k = 0; k < block->n; k++) {
    const double volts = fabs(block->volts[a][k] - block->volts[b][k]);
    see_element(scan, element, k, amps[k], volts, live_V);
    const LgPeak *const drop = element_peak(scan, element, LG_PEAK_DROP);
    if (lg_element_is_load(e->kind) && volts >= live_V && fabs(amps[k]) > 0 &&
        (drop->rank < 0 || span[k / 2][k % 2] - volts > drop->value * (1 + LG_TIE)))
      see_drop(scan, element, k);
  }
}

static void see_wire(LgScan *scan, int w)
{
  Wire *const wire = &scan->wires[w];
  const LgWire *const of = &scan->job->wires[w];
  const LgPair *const a = row(scan->block, wire->a), *const b = row(scan->block, wire->b);
  LgPairI moves = {0, 0};
  for (int h = 0; h < LG_PAIRS; h++) {
    const LgPair amps = magnitude(a[h] - b[h]) * wire->siemens;
    moves |= amps > wire->over;
    scan->heat[w][h] = amps * amps * wire->ohm_m;
    for (int r = 0; r < of->n_runs; r++)
      scan->in_run[of->runs[r]][h] -= amps >= LOADED_A;
  }
  if (!any(moves))
    return;
  for (int k = 0; k < scan->block->n; k++)
    take(scan, wire_peak(scan, w), k, fabs(a[k / 2][k % 2] - b[k / 2][k % 2]) * wire->siemens, 1);
  wire->over = beyond(wire_peak(scan, w), 1);
}

static void see_mate(LgScan *scan, int m, const LgPair all[LG_PAIRS])
{
  Mate *const mate = &scan->mates[m];
  const LgPair *const own = scan->heat[mate->wire];
  LgPairI moves = {0, 0};
  for (int h = 0; h < LG_PAIRS; h++)
    moves |= all[h] + mate->own_weight * own[h] > mate->over;
  if (!any(moves))
    return;
  for (int k = 0; k < scan->block->n; k++)
    take(scan, mate_peak(scan, m), k, all[k / 2][k % 2] + mate->own_weight * own[k / 2][k % 2], 1);
  mate->over = beyond(mate_peak(scan, m), 1);
}

static void see_companies(LgScan *scan)
{
  for (int r = 0; r < scan->job->n_runs; r++) {
    LgPair all[LG_PAIRS] = {{0, 0}};
    for (int m = scan->first_mate[r]; m < scan->first_mate[r + 1]; m++)
      for (int h = 0; h < LG_PAIRS; h++)
        all[h] += scan->heat[scan->mates[m].wire][h];
    for (int m = scan->first_mate[r]; m < scan->first_mate[r + 1]; m++)
      see_mate(scan, m, all);
  }
}

static void see_wires(LgScan *scan)
{
  memset(scan->in_run, 0, sizeof *scan->in_run * (gsize)scan->job->n_runs);
  for (int w = 0; w < scan->job->n_wires; w++)
    see_wire(scan, w);
  see_companies(scan);
  for (int r = 0; r < scan->job->n_runs; r++)
    for (int k = 0; k < scan->block->n; k++)
      scan->run_loaded[r] = MAX(scan->run_loaded[r], (int)scan->in_run[r][k / 2][k % 2]);
}

static void see_pins(LgScan *scan)
{
  for (int p = 0; p < scan->job->n_pins; p++) {
    Pin *const pin = &scan->pins[p];
    const LgPair *const volts = row(scan->block, pin->node);
    LgPairI joined = {0, 0}, moves = {0, 0}, floating = {0, 0};
    for (int h = 0; h < LG_PAIRS; h++) {
      const LgPairI is_number = volts[h] - volts[h] == 0.0;
      joined |= is_number;
      floating |= ~is_number;
      moves |= (volts[h] > pin->over) | (volts[h] < pin->under);
    }
    scan->joined[p] |= any(joined);
    scan->floating[p] |= any(floating);
    if (!any(moves))
      continue;
    LgPeak *const most = pin_peak(scan, p, 0), *const least = pin_peak(scan, p, 1);
    for (int k = 0; k < scan->block->n; k++) {
      take(scan, most, k, volts[k / 2][k % 2], 1);
      take(scan, least, k, volts[k / 2][k % 2], -1);
    }
    pin->over = beyond(most, 1);
    pin->under = beyond(least, -1);
  }
}

static int64_t gate_mask(const LgNetGate *gate, const int position[], const uint64_t pulled[])
{
  guint64 closed = 1;
  for (int i = 0; i < 2; i++)
    if (gate->input[i] >= 0)
      closed &= gate->positions[i] >> position[gate->input[i]];
  if (gate->coil >= 0)
    closed &= (pulled[gate->coil / 64] >> gate->coil % 64 & 1) == (guint64)(gate->coil_pulled != 0);
  return -(int64_t)(closed & 1);
}

static void load_gates(LgScan *scan)
{
  const LgNetBlock *const block = scan->block;
  for (int g = 0; g < scan->n_gates; g++) {
    const LgNetGate *const gate = lg_net_gate(scan->stage->net, g);
    for (int k = 0; k < LG_LANES; k++)
      scan->gates[g][k / 2][k % 2] = gate_mask(gate, block->position[k], block->pulled[k]);
  }
}

/* Greatest volts between the posts of any source. */
static void find_span(const LgScan *scan, LgPair span[LG_PAIRS])
{
  const LgStage *const stage = scan->stage;
  memset(span, 0, sizeof *span * LG_PAIRS);
  for (int s = 0; s < stage->n_sources; s++) {
    const int *const pin = scan->job->elements[stage->source[s]].pin;
    const LgPair *const plus = row(scan->block, stage->circuit->pin_node[pin[0]]),
                        *const minus = row(scan->block, stage->circuit->pin_node[pin[1]]);
    for (int k = 0; k < LG_LANES; k++) {
      const double volts = plus[k / 2][k % 2] - minus[k / 2][k % 2];
      if (volts > span[k / 2][k % 2])
        span[k / 2][k % 2] = volts;
    }
  }
}

/* The state that shows a coil, one with few inputs off their rest. */
static void add_odd(GArray *odd, int coil, int rank, const guint8 position[], gsize n_inputs)
{
  for (guint i = 0; i < odd->len; i++) {
    Odd *const known = &g_array_index(odd, Odd, i);
    if (known->coil != coil)
      continue;
    if (rank < known->rank) {
      known->rank = rank;
      memcpy(known->position, position, n_inputs);
    }
    return;
  }
  const Odd new = {coil, rank, g_memdup2(position, n_inputs)};
  g_array_append_val(odd, new);
}

static void see_odd(const LgScan *scan, GArray *odd, int lane)
{
  const int n = scan->job->n_inputs, *const position = scan->block->position[lane];
  g_autofree guint8 *copy = g_new(guint8, (gsize)n + 1);
  lg_copy_position(position, n, copy);
  add_odd(odd, scan->block->coil[lane], lg_rank(position, n), copy, (gsize)n);
}

void lg_scan_visit(const LgNetBlock *block, const LgNetWork *work, gpointer user)
{
  LgScan *const scan = user;
  g_assert(work == scan->stage->work);
  scan->block = block;
  for (int k = 0; k < LG_LANES; k++)
    scan->rank[k] = -1;
  load_gates(scan);
  see_wires(scan);
  see_pins(scan);
  LgPair span[LG_PAIRS];
  find_span(scan, span);
  for (int i = 0; i < scan->n_plain; i++)
    see_plain(scan, &scan->plain[i], span);
  for (int i = 0; i < scan->n_mixed; i++)
    see_mixed(scan, scan->mixed[i], span);
  double supply[LG_LANES];
  lg_stage_supply(scan->stage, block, supply);
  for (int k = 0; k < block->n; k++) {
    take(scan, supply_peak(scan), k, supply[k], 1);
    if (block->outcome[k] == LG_CHATTER && block->coil[k] >= 0)
      see_odd(scan, scan->chatter, k);
    else if (block->outcome[k] == LG_LATCHING && block->coil[k] >= 0)
      see_odd(scan, scan->latching, k);
  }
}

static void echo_pin(LgScan *scan, int p, const LgLooseEnd *end)
{
  const LgNetBlock *const block = scan->block;
  const LgNetGate *const gate = lg_net_gate(scan->stage->net, end->gate);
  for (int k = 0; k < block->n; k++) {
    const double volts = gate_mask(gate, block->position[k], block->pulled[k]) != 0
                             ? block->volts[end->from][k]
                             : NAN;
    scan->joined[p] |= !isnan(volts);
    scan->floating[p] |= isnan(volts);
    take(scan, pin_peak(scan, p, 0), k, volts, 1);
    take(scan, pin_peak(scan, p, 1), k, volts, -1);
  }
}

void lg_scan_echo(const LgNetBlock *block, const LgEchoes *echoes, LgScan *scan)
{
  scan->block = block;
  for (int k = 0; k < LG_LANES; k++)
    scan->rank[k] = -1;
  for (int i = 0; i < echoes->n_ends; i++)
    for (int p = 0; p < scan->job->n_pins; p++)
      if (scan->pins[p].node == echoes->ends[i].node)
        echo_pin(scan, p, &echoes->ends[i]);
}

static double sign_of(int which)
{
  return which == LG_PEAK_LEAST_A || which == LG_PEAK_LEAST_V ? -1 : 1;
}

static void merge_odd(const LgScan *scan, GArray *odd, const GArray *other)
{
  for (guint i = 0; i < other->len; i++) {
    const Odd *const o = &g_array_index(other, Odd, i);
    add_odd(odd, o->coil, o->rank, o->position, (gsize)scan->job->n_inputs);
  }
}

void lg_scan_merge(LgScan *scan, const LgScan *other)
{
  const LgJob *const job = scan->job;
  const int n = job->n_inputs;
  for (int w = 0; w < job->n_wires; w++)
    lg_peak_merge(wire_peak(scan, w), wire_peak(other, w), 1, n);
  for (int m = 0; m < scan->n_mates; m++)
    lg_peak_merge(mate_peak(scan, m), mate_peak(other, m), 1, n);
  for (int e = 0; e < job->n_elements; e++)
    for (int which = 0; which < LG_N_PEAKS; which++)
      if (lg_peak_merge(element_peak(scan, e, which), element_peak(other, e, which), sign_of(which),
                        n) &&
          which == LG_PEAK_DROP)
        memcpy(scan->drops[e], other->drops[e], sizeof other->drops[e]);
  for (int p = 0; p < job->n_pins; p++) {
    lg_peak_merge(pin_peak(scan, p, 0), pin_peak(other, p, 0), 1, n);
    lg_peak_merge(pin_peak(scan, p, 1), pin_peak(other, p, 1), -1, n);
    scan->floating[p] |= other->floating[p];
    scan->joined[p] |= other->joined[p];
  }
  for (int r = 0; r < job->n_runs; r++)
    scan->run_loaded[r] = MAX(scan->run_loaded[r], other->run_loaded[r]);
  lg_peak_merge(supply_peak(scan), supply_peak(other), 1, n);
  merge_odd(scan, scan->chatter, other->chatter);
  merge_odd(scan, scan->latching, other->latching);
}

void lg_scan_state(LgScan *scan, const int position[])
{
  const LgNet *const net = scan->stage->net;
  const int n = lg_net_n_nodes(net), n_coils = lg_net_n_coils(net);
  g_autofree double *volts = g_new(double, (gsize)n);
  g_autofree double *lanes = g_new(double, (gsize)n *LG_LANES);
  g_autofree gboolean *pulled = g_new0(gboolean, (gsize)n_coils + 1);
  g_autofree uint64_t *bits = g_new0(uint64_t, (gsize)n_coils / 64 + 1);
  const LgNetStatus status =
      lg_net_solve(net, scan->stage->work, position, NULL, volts, NULL, NULL);
  if (n_coils > 0)
    lg_net_solve(net, scan->stage->work, position, pulled, volts, NULL, NULL);
  for (int i = 0; i < n; i++)
    for (int k = 0; k < LG_LANES; k++)
      lanes[i * LG_LANES + k] = volts[i];
  for (int c = 0; c < n_coils; c++)
    bits[c / 64] |= (uint64_t)(pulled[c] != 0) << (c % 64);
  LgNetBlock block = {.n = 1, .volts = (const double(*)[LG_LANES])lanes};
  for (int k = 0; k < LG_LANES; k++) {
    block.position[k] = position;
    block.pulled[k] = bits;
    block.outcome[k] = status.outcome;
    block.coil[k] = status.coil;
  }
  lg_scan_visit(&block, scan->stage->work, scan);
}

static double live_volts(const LgScan *scan, const LgElement *element, const LgNetBranch *branch)
{
  if (lg_element_counts_by_volts(element))
    return LIVE_SHARE * scan->job->nominal_V;
  if (branch->kind == LG_BRANCH_DIODE) /* v at which (s/r) ln (1 + exp ((v - v_f)/s)) is LIVE_A */
    return branch->p[0] + branch->p[2] * log(expm1(LIVE_A * branch->p[1] / branch->p[2]));
  return LIVE_A / branch->p[0];
}

static void sort_elements(LgScan *scan)
{
  const LgStage *const stage = scan->stage;
  for (int e = 0; e < scan->job->n_elements; e++) {
    if (stage->n[e] == 0)
      continue;
    const LgNetBranch *const branch = lg_net_branch(stage->net, stage->first[e]);
    const gboolean grows = branch->kind == LG_BRANCH_RESISTOR || branch->kind == LG_BRANCH_LAMP ||
                           branch->kind == LG_BRANCH_MOTOR || branch->kind == LG_BRANCH_DIODE;
    if (stage->n[e] > 1 || !grows) {
      scan->mixed[scan->n_mixed++] = e;
      continue;
    }
    const LgElement *const element = &scan->job->elements[e];
    scan->plain[scan->n_plain++] =
        (Plain){.element = e,
                .a = branch->a,
                .b = branch->b,
                .gate = branch->gate,
                .forward = branch->kind == LG_BRANCH_DIODE,
                .live_V = live_volts(scan, element, branch),
                .over = -INFINITY,
                .under = INFINITY,
                .drop_over = lg_element_is_load(element->kind) ? -INFINITY : INFINITY};
  }
}

static void sort_wires(LgScan *scan)
{
  const LgStage *const stage = scan->stage;
  for (int w = 0; w < scan->job->n_wires; w++) {
    const LgNetBranch *const branch =
        lg_net_branch(stage->net, stage->branch[stage->circuit->wire_branch[w]]);
    scan->wires[w] = (Wire){branch->a, branch->b, branch->p[0], -INFINITY, 0};
  }
}

static void sort_mates(LgScan *scan)
{
  const LgJob *const job = scan->job;
  g_autofree int *first_company = g_new0(int, (gsize)job->n_wires + 1);
  scan->first_mate = g_new0(int, (gsize)job->n_runs + 1);
  for (int w = 0; w < job->n_wires; w++) {
    first_company[w + 1] = first_company[w] + job->wires[w].n_runs;
    for (int r = 0; r < job->wires[w].n_runs; r++)
      scan->first_mate[job->wires[w].runs[r] + 1]++;
  }
  for (int r = 0; r < job->n_runs; r++)
    scan->first_mate[r + 1] += scan->first_mate[r];
  scan->n_mates = scan->first_mate[job->n_runs];
  scan->mates = g_new(Mate, (gsize)scan->n_mates + 1);
  scan->company = g_new(int, (gsize)scan->n_mates + 1);
  g_autofree int *next = g_memdup2(scan->first_mate, sizeof(int) * ((gsize)job->n_runs + 1));
  LgWeights weights = lg_weights_new(scan->stage->circuit, first_company);
  for (int w = 0; w < job->n_wires; w++)
    for (int r = 0; r < job->wires[w].n_runs; r++) {
      const int company = first_company[w] + r, mate = next[job->wires[w].runs[r]]++;
      scan->mates[mate] = (Mate){w, weights.own_weight[company], -INFINITY};
      scan->company[mate] = company;
      scan->wires[w].ohm_m = weights.ohm_m[w];
    }
  lg_weights_clear(&weights);
}

LgScan *lg_scan_new(const LgStage *stage, const LgWays *ways)
{
  const LgJob *const job = stage->circuit->job;
  LgScan *const scan = g_new0(LgScan, 1);
  scan->stage = stage;
  scan->ways = ways;
  scan->job = job;
  scan->plain = g_new0(Plain, (gsize)job->n_elements + 1);
  scan->mixed = g_new0(int, (gsize)job->n_elements + 1);
  scan->wires = g_new0(Wire, (gsize)job->n_wires + 1);
  scan->n_gates = stage->n_gates;
  scan->gates = g_malloc0(sizeof *scan->gates * ((gsize)scan->n_gates + 1));
  scan->in_run = g_malloc0(sizeof *scan->in_run * ((gsize)job->n_runs + 1));
  scan->run_loaded = g_new0(int, (gsize)job->n_runs + 1);
  scan->heat = g_malloc0(sizeof *scan->heat * ((gsize)job->n_wires + 1));
  scan->pins = g_new(Pin, (gsize)job->n_pins + 1);
  for (int i = 0; i < job->n_pins; i++)
    scan->pins[i] = (Pin){stage->circuit->pin_node[i], -INFINITY, INFINITY};
  sort_wires(scan);
  sort_mates(scan);
  scan->n_peaks = (gsize)job->n_wires + 2 * (gsize)job->n_pins +
                  LG_N_PEAKS * (gsize)job->n_elements + (gsize)scan->n_mates + 1;
  scan->peaks = g_new0(LgPeak, scan->n_peaks);
  scan->position = g_new0(guint8, scan->n_peaks * (gsize)job->n_inputs + 1);
  for (gsize i = 0; i < scan->n_peaks; i++)
    scan->peaks[i] = (LgPeak){NAN, -1, scan->position + i * (gsize)job->n_inputs};
  scan->drops = g_malloc0(sizeof *scan->drops * ((gsize)job->n_elements + 1));
  scan->floating = g_new0(gboolean, (gsize)job->n_pins + 1);
  scan->joined = g_new0(gboolean, (gsize)job->n_pins + 1);
  scan->chatter = g_array_new(FALSE, FALSE, sizeof(Odd));
  scan->latching = g_array_new(FALSE, FALSE, sizeof(Odd));
  sort_elements(scan);
  return scan;
}

static void free_odd(GArray *odd)
{
  for (guint i = 0; i < odd->len; i++)
    g_free(g_array_index(odd, Odd, i).position);
  g_array_unref(odd);
}

void lg_scan_free(LgScan *scan)
{
  if (scan == NULL)
    return;
  gpointer owned[] = {scan->plain,  scan->mixed,      scan->wires,    scan->gates,
                      scan->in_run, scan->run_loaded, scan->position, scan->peaks,
                      scan->drops,  scan->floating,   scan->joined,   scan->first_mate,
                      scan->mates,  scan->company,    scan->heat,     scan->pins};
  for (guint i = 0; i < G_N_ELEMENTS(owned); i++)
    g_free(owned[i]);
  free_odd(scan->chatter);
  free_odd(scan->latching);
  g_free(scan);
}

static void finish_elements(const LgScan *scan, LgKeeper *keeper, LgStates *states)
{
  for (int e = 0; e < scan->job->n_elements; e++) {
    LgElementStates *const out = &states->elements[e];
    out->most_A = lg_peak_keep(element_peak(scan, e, LG_PEAK_MOST_A), keeper);
    out->least_A = lg_peak_keep(element_peak(scan, e, LG_PEAK_LEAST_A), keeper);
    out->most_V = lg_peak_keep(element_peak(scan, e, LG_PEAK_MOST_V), keeper);
    out->least_V = lg_peak_keep(element_peak(scan, e, LG_PEAK_LEAST_V), keeper);
    out->most_W = lg_peak_keep(element_peak(scan, e, LG_PEAK_MOST_W), keeper);
    out->drop_feed_V = out->drop_return_V =
        lg_peak_keep(element_peak(scan, e, LG_PEAK_DROP), keeper);
    if (out->drop_feed_V.state >= 0) {
      out->drop_feed_V.value = scan->drops[e][0];
      out->drop_return_V.value = scan->drops[e][1];
    }
  }
}

static void finish_odd(const LgScan *scan, LgKeeper *keeper, const GArray *odd, GArray *out)
{
  for (guint i = 0; i < odd->len; i++) {
    const Odd *const o = &g_array_index(odd, Odd, i);
    const LgOddRelay relay = {scan->stage->coil_element[o->coil],
                              lg_keeper_keep(keeper, o->position)};
    g_array_append_val(out, relay);
  }
}

void lg_scan_finish(const LgScan *scan, LgKeeper *keeper, LgStates *states)
{
  for (int w = 0; w < scan->job->n_wires; w++)
    states->wires[w].most_A = lg_peak_keep(wire_peak(scan, w), keeper);
  for (int m = 0; m < scan->n_mates; m++)
    states->companies[scan->company[m]].heat_W_m = lg_peak_keep(mate_peak(scan, m), keeper);
  finish_elements(scan, keeper, states);
  for (int p = 0; p < scan->job->n_pins; p++) {
    states->pins[p].most_V = lg_peak_keep(pin_peak(scan, p, 0), keeper);
    states->pins[p].least_V = lg_peak_keep(pin_peak(scan, p, 1), keeper);
    states->pins[p].ever_floating = scan->floating[p];
    states->pins[p].ever_joined = scan->joined[p];
  }
  states->supply_A = lg_peak_keep(supply_peak(scan), keeper);
  finish_odd(scan, keeper, scan->chatter, states->chatter);
  finish_odd(scan, keeper, scan->latching, states->latching);
  memcpy(states->run_loaded, scan->run_loaded, sizeof(int) * (gsize)scan->job->n_runs);
}
