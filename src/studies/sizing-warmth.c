/* How hot a wire gets in each stretch of its way, and what it may carry there.
 *
 * Stretches are the runs that it passes, each with its ambient, covering and company, and its ends,
 * which count as free air (a sheathed wire in its sheath) at the hotter place. A run's company is
 * solved as a whole bundle in the states that matter (LgCompany); the wire itself is then a curve
 * of what the run takes from it, so that any current and size of it can be tried. */
#include "studies/sizing-private.h"

/* A wire that the sheet only counts (`others=`): 1.5 mm2 with 10 A. Common practice, no source. */
#define OTHER_MM2 1.5
#define OTHER_A 10.0
/* Less warms nobody: a bundle of a hundred such wires would be 2 K warmer. */
#define IDLE_W_M 2e-4
/* A wire's own greatest current is looked at apart when it is so much more than in the state of the
 * warmest company; 1 % in current is 2 % of the wire's own rise. */
#define APART 1.01

typedef struct {
  int n;             /* wires of the run, those that are only counted last */
  int *member;       /* [n] wire, -1: only counted */
  LgHeatWire *wires; /* [n] */
  double *amps, *conductor_K;
  double bundle_K, outer_K;
  int n_warm;
} Balance;

typedef struct {
  const LgConductor *conductor;
  LgWireWarmth warmth;
} Memo;

struct LgWarmer {
  const LgJob *job;
  const LgStates *states;
  int n_wires, n_balances, n_kept; /* as then: the job may be gone when it is freed */
  LgHeatWire *wires;               /* [n_wires] as they stand */
  double **amps;                   /* [n_kept][n_wires] magnitudes; NULL: not asked for */
  Balance **balances;              /* [n_runs * n_kept] */
  GPtrArray **memos;               /* [n_wires] Memo* */
  int *apart;                      /* [n_companies] state of the greatest current; -1: no need */
};

static void solve_state(LgWarmer *warmer, LgNetWork *work, LgPoint *point, int state)
{
  const LgStates *const states = warmer->states;
  if (state < 0 || warmer->amps[state] != NULL)
    return;
  const guint8 *const position = lg_states_position(states, state);
  for (int i = 0; i < states->n_inputs; i++)
    point->position[i] = position[i];
  lg_circuit_solve(states->circuit, work, point);
  warmer->amps[state] = g_new(double, (gsize)warmer->job->n_wires + 1);
  for (int w = 0; w < warmer->job->n_wires; w++)
    warmer->amps[state][w] = fabs(point->wire_A[w]);
}

/* All states at once, as the circuit stands now. */
static void solve_states(LgWarmer *warmer)
{
  const LgStates *const states = warmer->states;
  g_autoptr(LgNetWork) work = lg_net_work_new(states->circuit->net);
  g_autoptr(LgPoint) point = lg_point_new(states->circuit);
  const int n = states->first_company[warmer->job->n_wires];
  for (int c = 0; c < n; c++)
    solve_state(warmer, work, point, states->companies[c].heat_W_m.state);
  for (int c = 0; c < n; c++) {
    const LgCompany *const company = &states->companies[c];
    const LgExtreme most = states->wires[company->wire].most_A;
    warmer->apart[c] = -1;
    if (company->heat_W_m.state < 0 ||
        most.value <= APART * warmer->amps[company->heat_W_m.state][company->wire])
      continue;
    warmer->apart[c] = most.state;
    solve_state(warmer, work, point, most.state);
  }
}

LgWarmer *lg_warmer_new(const LgStates *states, const LgConductor *const conductors[])
{
  const LgJob *const job = states->job;
  LgWarmer *const warmer = g_new0(LgWarmer, 1);
  warmer->job = job;
  warmer->states = states;
  warmer->wires = g_new(LgHeatWire, (gsize)job->n_wires + 1);
  warmer->memos = g_new0(GPtrArray *, (gsize)job->n_wires + 1);
  for (int w = 0; w < job->n_wires; w++)
    warmer->wires[w] = lg_heat_wire(conductors[w], job->wires[w].insulation);
  warmer->n_wires = job->n_wires;
  warmer->n_kept = states->n_kept;
  warmer->n_balances = job->n_runs * states->n_kept;
  warmer->amps = g_new0(double *, (gsize)states->n_kept + 1);
  warmer->balances = g_new0(Balance *, (gsize)job->n_runs * (gsize)states->n_kept + 1);
  warmer->apart = g_new(int, (gsize)states->first_company[job->n_wires] + 1);
  solve_states(warmer);
  return warmer;
}

static void balance_free(Balance *balance)
{
  if (balance == NULL)
    return;
  g_free(balance->member);
  g_free(balance->wires);
  g_free(balance->amps);
  g_free(balance->conductor_K);
  g_free(balance);
}

void lg_warmer_free(LgWarmer *warmer)
{
  if (warmer == NULL)
    return;
  for (int s = 0; s < warmer->n_kept; s++)
    g_free(warmer->amps[s]);
  for (int b = 0; b < warmer->n_balances; b++)
    balance_free(warmer->balances[b]);
  for (int w = 0; w < warmer->n_wires; w++)
    if (warmer->memos[w] != NULL)
      g_ptr_array_unref(warmer->memos[w]);
  g_free(warmer->wires);
  g_free(warmer->amps);
  g_free(warmer->balances);
  g_free(warmer->memos);
  g_free(warmer->apart);
  g_free(warmer);
}

static gboolean passes(const LgWire *wire, int run)
{
  for (int r = 0; r < wire->n_runs; r++)
    if (wire->runs[r] == run)
      return TRUE;
  return FALSE;
}

static LgSurroundings around_run(const LgJob *job, int run)
{
  return lg_covered(job->runs[run].hot_K, job->runs[run].cover);
}

/* A wire that carries more than it may alone in free air counts with that: it is told itself, and
 * its neighbours are not told for its sake. */
static double counted_A(const LgWarmer *warmer, int wire, int run, double amps)
{
  const LgHeatWire *const heat = &warmer->wires[wire];
  const double watts = amps * amps * heat->resistance_ohm_m;
  if (watts < IDLE_W_M)
    return 0;
  if (watts < 1)
    return amps;
  const LgSurroundings bare = lg_bare(warmer->job->runs[run].hot_K);
  return fmin(amps,
              lg_wire_current(heat, &bare, warmer->job->wires[wire].insulation->temperature_K));
}

static Balance *balance_new(const LgWarmer *warmer, int run, int state)
{
  const LgJob *const job = warmer->job;
  Balance *const b = g_new0(Balance, 1);
  const gsize most = (gsize)(job->n_wires + job->runs[run].others) + 1;
  b->member = g_new(int, most);
  b->wires = g_new(LgHeatWire, most);
  b->amps = g_new(double, most);
  for (int w = 0; w < job->n_wires; w++) {
    if (!passes(&job->wires[w], run))
      continue;
    b->member[b->n] = w;
    b->wires[b->n] = warmer->wires[w];
    b->amps[b->n] = counted_A(warmer, w, run, warmer->amps[state][w]);
    b->n_warm += warmer->amps[state][w] >= 1;
    b->n++;
  }
  for (int i = 0; i < job->runs[run].others; i++, b->n++, b->n_warm++) {
    b->member[b->n] = -1;
    b->wires[b->n] =
        lg_heat_wire(lg_catalogue_conductor(job->catalogue, FALSE, OTHER_MM2), job->insulation);
    b->amps[b->n] = OTHER_A;
  }
  b->conductor_K = g_new(double, (gsize)b->n + 1);
  const LgHeatBundle bundle = {b->wires, b->amps, b->n, around_run(job, run), 0};
  lg_bundle_temperatures(&bundle, b->conductor_K, &b->bundle_K, &b->outer_K);
  return b;
}

static Balance *balance_of(LgWarmer *warmer, int run, int state)
{
  Balance **const at = &warmer->balances[run * warmer->states->n_kept + state];
  if (*at == NULL)
    *at = balance_new(warmer, run, state);
  return *at;
}

/* Looks at one stretch, whose curve stands; keeps it where it is worse than those before. */
static void judge(LgWireWarmth *out, const LgHeatWire *wire, const LgHeatLoss *loss, double class_K,
                  LgStretchHeat stretch)
{
  stretch.conductor_K = lg_loss_temperature(wire, loss, stretch.current_A);
  stretch.allowed_A =
      loss->n == 0 || class_K <= stretch.ambient_K ? 0 : lg_loss_current(wire, loss, class_K);
  const double share = stretch.current_A <= 0   ? 0
                       : stretch.allowed_A <= 0 ? INFINITY
                                                : stretch.current_A / stretch.allowed_A;
  if (out->share < 0 || share > out->share ||
      (share == out->share && stretch.conductor_K > out->worst.conductor_K)) {
    out->share = share;
    out->worst = stretch;
  }
  if (isnan(out->tight.allowed_A) || stretch.allowed_A < out->tight.allowed_A) {
    out->tight = stretch;
    out->loss = *loss;
  }
}

static void judge_ends(const LgWarmer *warmer, int w, LgWireWarmth *out)
{
  const LgJob *const job = warmer->job;
  const LgWire *const wire = &job->wires[w];
  LgStretchHeat ends = {.run = -1, .place = -1, .state = -1, .ambient_K = NAN, .n_warm = 1};
  for (int k = 0; k < 2; k++) {
    const int place = job->parts[job->pins[wire->pin[k]].part].place;
    if (place >= 0 && !(job->places[place].hot_K <= ends.ambient_K)) {
      ends.place = place;
      ends.ambient_K = job->places[place].hot_K;
    }
  }
  if (ends.place < 0)
    ends.ambient_K = wire->n_runs > 0 ? wire->hot_K : job->hot_K;
  const LgExtreme most = warmer->states->wires[w].most_A;
  ends.current_A = isnan(most.value) ? 0 : most.value;
  ends.state = most.state;
  const LgSurroundings around =
      wire->sheathed ? lg_covered_by(ends.ambient_K, "shrink", 0) : lg_bare(ends.ambient_K);
  const LgHeatLoss loss = lg_heat_loss(&out->wire, &around);
  judge(out, &out->wire, &loss, wire->insulation->temperature_K, ends);
}

static void judge_run(LgWarmer *warmer, int w, int run, int state, LgWireWarmth *out)
{
  const LgJob *const job = warmer->job;
  if (state < 0)
    return;
  Balance *const b = balance_of(warmer, run, state);
  int i = 0;
  while (b->member[i] != w)
    i++;
  const LgHeatWire as_it_stands = b->wires[i];
  b->wires[i] = out->wire;
  const LgHeatBundle bundle = {b->wires, b->amps, b->n, around_run(job, run), 0};
  const LgHeatLoss nothing = {0};
  const LgHeatLoss loss =
      isinf(b->bundle_K) ? nothing : lg_heat_loss_among(&bundle, b->conductor_K, b->bundle_K, i);
  b->wires[i] = as_it_stands;
  const double current_A = warmer->amps[state][w];
  judge(out, &out->wire, &loss, job->wires[w].insulation->temperature_K,
        (LgStretchHeat){.run = run,
                        .place = -1,
                        .state = state,
                        .ambient_K = job->runs[run].hot_K,
                        .current_A = current_A,
                        .n_warm = b->n_warm + (current_A < 1)});
}

static LgWireWarmth warmth_of(LgWarmer *warmer, int w, const LgConductor *conductor)
{
  const LgStates *const states = warmer->states;
  const LgWire *const wire = &warmer->job->wires[w];
  LgWireWarmth out = {
      .wire = lg_heat_wire(conductor, wire->insulation), .share = -1, .tight = {.allowed_A = NAN}};
  judge_ends(warmer, w, &out);
  for (int c = states->first_company[w]; c < states->first_company[w + 1]; c++) {
    const LgCompany *const company = &states->companies[c];
    judge_run(warmer, w, company->run, company->heat_W_m.state, &out);
    judge_run(warmer, w, company->run, warmer->apart[c], &out);
  }
  return out;
}

const LgWireWarmth *lg_warmer_look(LgWarmer *warmer, int wire, const LgConductor *conductor)
{
  GPtrArray **const memos = &warmer->memos[wire];
  if (*memos == NULL)
    *memos = g_ptr_array_new_with_free_func(g_free);
  for (guint i = 0; i < (*memos)->len; i++)
    if (((const Memo *)(*memos)->pdata[i])->conductor == conductor)
      return &((const Memo *)(*memos)->pdata[i])->warmth;
  Memo *const memo = g_new(Memo, 1);
  *memo = (Memo){conductor, warmth_of(warmer, wire, conductor)};
  g_ptr_array_add(*memos, memo);
  return &memo->warmth;
}

GArray *lg_warmer_company(LgWarmer *warmer, int run, int state)
{
  GArray *const company = g_array_new(FALSE, FALSE, sizeof(LgMate));
  const Balance *const b = balance_of(warmer, run, state);
  for (int i = 0; i < b->n; i++) {
    const int w = b->member[i];
    const LgMate mate = {w, w >= 0 ? warmer->amps[state][w] : b->amps[i], b->conductor_K[i]};
    g_array_append_val(company, mate);
  }
  return company;
}

LgCoverHeat lg_warmer_cover(LgWarmer *warmer, int run)
{
  const LgStates *const states = warmer->states;
  const LgSurroundings around = around_run(warmer->job, run);
  LgCoverHeat hottest = {NAN, -1};
  for (int c = 0; c < states->first_company[warmer->job->n_wires]; c++) {
    const int state = states->companies[c].heat_W_m.state;
    if (states->companies[c].run != run || state < 0)
      continue;
    const Balance *const b = balance_of(warmer, run, state);
    const double K = around.bore_m > 0 ? b->outer_K : b->bundle_K;
    if (!(K <= hottest.inside_K))
      hottest = (LgCoverHeat){K, state};
  }
  return hottest;
}

double lg_overload_limit_K(const LgInsulation *insulation)
{
  if (!isnan(insulation->overload_K))
    return insulation->overload_K;
  return fmin(insulation->temperature_K + 50, lg_short_limit_K(insulation));
}

double lg_short_limit_K(const LgInsulation *insulation)
{
  return isnan(insulation->limit_K) ? LG_ZERO_C_IN_K + 160 : insulation->limit_K;
}

double lg_element_hot_K(const LgJob *job, int element)
{
  const int place = job->parts[job->elements[element].part].place;
  return place < 0 ? job->hot_K : job->places[place].hot_K;
}

/* A breaker that closes again by itself stays open 20 s: common practice, no source. */
#define OFF_S 20

LgProtector lg_protector_of(const LgJob *job, int element, double rating_A)
{
  const LgElement *const e = &job->elements[element];
  const LgFuse *const fuse =
      e->form != NULL ? lg_catalogue_fuse(job->catalogue, e->form, rating_A) : NULL;
  return (LgProtector){.kind = e->kind == LG_EL_BREAKER ? LG_PROTECTOR_BREAKER : LG_PROTECTOR_FUSE,
                       .rating_A = rating_A,
                       .ambient_K = lg_element_hot_K(job, element),
                       .catalogue = job->catalogue,
                       .form = e->form,
                       .melting_A2s = fuse != NULL ? fuse->melting_A2s : NAN,
                       .reclose = e->reset == LG_RESET_SELF    ? LG_RECLOSE_SELF
                                  : e->reset == LG_RESET_POWER ? LG_RECLOSE_POWER
                                                               : LG_RECLOSE_HAND,
                       .off_s = OFF_S};
}

double lg_fuse_lasting_A(const LgJob *job, int element, double rating_A)
{
  return rating_A * lg_rerating(job->elements[element].kind == LG_EL_BREAKER ? LG_PROTECTOR_BREAKER
                                                                             : LG_PROTECTOR_FUSE,
                                lg_element_hot_K(job, element));
}

LgExposed lg_warmth_exposed(const LgWireWarmth *warmth, double limit_K)
{
  const double start_K =
      fmin(lg_loss_temperature(&warmth->wire, &warmth->loss, warmth->tight.current_A), limit_K);
  return (LgExposed){&warmth->wire, &warmth->loss, fmax(start_K, warmth->tight.ambient_K), limit_K};
}
