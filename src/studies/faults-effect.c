/* What comes of a fault: what opens, what gets how hot, what runs and stops then, and how grave
 * that is. */
#include "studies/faults-private.h"
#include "studies/sneak-private.h"

#define HOT_SHARE 1.2  /* of its greatest healthy power: a heater is too hot */
#define OVER_SHARE 1.5 /* the same for other loads */
#define DRAIN_A 1e-3
#define FLOOR 0.5         /* charge at which a lead battery still starts: common practice */
#define UNPLUGGED 0.98    /* of the supply over a sensor: reads as if it were not there */
#define PINCHED 0.02      /* reads as a short */
#define READS_WRONG_K 2.0 /* less is within what a thermostat swings */
LgBench *lg_bench_new(const LgHealthy *healthy, const LgWays *ways, gboolean slow, gboolean exact)
{
  LgBench *const b = g_new0(LgBench, 1);
  b->healthy = healthy;
  b->ways = ways;
  b->solver = lg_failure_solver_new(healthy->stage, healthy->states, slow);
  b->look = lg_look_new(healthy);
  b->after = lg_look_new(healthy);
  b->one = lg_one_state_new(healthy);
  b->wanted = g_new(int, (gsize)healthy->states->n + 1);
  b->exact = exact;
  b->only = -1;
  return b;
}

void lg_bench_free(LgBench *b)
{
  if (b == NULL)
    return;
  lg_failure_solver_free(b->solver);
  lg_look_free(b->look);
  lg_look_free(b->after);
  lg_one_state_free(b->one);
  g_free(b->wanted);
  g_free(b);
}

void lg_effect_clear(LgEffect *effect)
{
  GArray **const lists[] = {&effect->runs, &effect->stops, &effect->weak, &effect->needs};
  for (guint i = 0; i < G_N_ELEMENTS(lists); i++)
    if (*lists[i] != NULL)
      g_array_unref(*lists[i]);
  g_free(effect->sneak);
}

static const LgJob *job_of(const LgBench *b)
{
  return b->healthy->stage->circuit->job;
}

static guint64 look_at(LgBench *b, LgLook *look, int n_changes)
{
  const LgHealthy *const h = b->healthy;
  lg_look_begin(look, b->changes, n_changes);
  int n = h->states->n;
  if (b->only >= 0)
    b->wanted[0] = b->only, n = 1;
  else if (b->exact)
    for (int s = 0; s < n; s++)
      b->wanted[s] = s;
  else
    n = lg_look_wanted(h, b->changes, n_changes, b->wanted);
  look->rest_A = h->rest_A;
  lg_failure_solver_run(b->solver, b->changes, n_changes, b->wanted, n, lg_look_visit, look);
  return look->n_solved;
}

/* --- what opens --- */

static int guard_index(const LgHealthy *h, int element)
{
  for (int g = 0; g < h->n_guards; g++)
    if (h->guards[g] == element)
      return g;
  return -1;
}

static double opens_s(const LgBench *b, int guard, double amps)
{
  const LgSizing *const sizing = b->healthy->sizing;
  const int element = b->healthy->guards[guard];
  return lg_guard_opens_s(sizing, element, lg_failure_rating(sizing, element), amps);
}

/* Which guard opens first in the solved state, and when. */
static int opens_first(const LgBench *b, double *seconds)
{
  const LgHealthy *const h = b->healthy;
  int first = -1;
  *seconds = INFINITY;
  for (int g = 0; g < h->n_guards; g++) {
    const double amps = fabs(b->one->amps[job_of(b)->n_wires + h->guards[g]]);
    if (amps < h->guard_A[g])
      continue;
    const double s = opens_s(b, g, amps);
    if (s < *seconds) {
      *seconds = s;
      first = g;
    }
  }
  return first;
}

/* The guard that is most over what opens it for sure, or over its rating when none is. */
static int most_over(const LgLook *look, gboolean *surely)
{
  const LgHealthy *const h = look->healthy;
  int best = -1;
  double most = 1;
  *surely = TRUE;
  for (int g = 0; g < h->n_guards; g++)
    if (look->least_over[g].state >= 0 && look->guards[g].value / h->guard_A[g] >= most) {
      most = look->guards[g].value / h->guard_A[g];
      best = g;
    }
  for (int g = 0; best < 0 && g < h->n_guards; g++)
    if (look->most_under[g].state >= 0) {
      best = g;
      *surely = FALSE;
    }
  return best;
}

static void open_guard(LgBench *b, int guard)
{
  const LgStage *const stage = b->healthy->stage;
  const int element = b->healthy->guards[guard];
  for (int k = 0; k < stage->n[element]; k++)
    b->changes[b->n_changes++] =
        (LgChange){.kind = LG_CHANGE_OPEN, .branch = stage->first[element] + k};
  b->opened[b->n_opened++] = element;
}

/* Opens what opens, one after another; returns the look that shows what is then. */
static LgLook *clear(LgBench *b, LgEffect *effect)
{
  LgLook *look = b->look;
  for (int n = 0; n < LG_MOST_OPENED; n++) {
    gboolean surely;
    const int over = most_over(look, &surely);
    if (over < 0)
      break;
    double seconds = INFINITY;
    int first = over;
    if (surely) {
      lg_one_state_solve(b->one, look, b->solver, look->guards[over].state);
      first = opens_first(b, &seconds);
      if (first < 0)
        break;
      if (look->least_over[first].state >= 0)
        seconds = fmax(seconds, opens_s(b, first, look->least_over[first].value));
    }
    if (n == 0) {
      effect->cleared_by = b->healthy->guards[first];
      effect->cleared_s = seconds;
    } else {
      effect->also_opens = b->healthy->guards[first];
    }
    if (!surely)
      break;
    open_guard(b, first);
    b->n_after += look_at(b, b->after, b->n_changes);
    look = b->after;
  }
  return look;
}

/* --- heat --- */

typedef struct {
  int state[6];
  int n;
} Few;

static void note_state(Few *few, int state)
{
  gboolean known = state < 0 || few->n == (int)G_N_ELEMENTS(few->state);
  for (int i = 0; i < few->n; i++)
    known |= few->state[i] == state;
  if (!known)
    few->state[few->n++] = state;
}

static double margin(double reached_K, double limit_K, double ambient_K)
{
  return (reached_K - ambient_K) / fmax(limit_K - ambient_K, 1);
}

/* Once a wire burns, a plainer state tells more than a few kelvin more. */
static gboolean much_worse(double margin_now, double margin_so_far)
{
  return margin_now > margin_so_far * (margin_so_far > 1 ? 1.5 : 1);
}

static void warm_in_state(LgBench *b, LgEffect *effect, int state)
{
  const LgHealthy *const h = b->healthy;
  const LgJob *const job = job_of(b);
  double seconds;
  lg_one_state_solve(b->one, b->look, b->solver, state);
  opens_first(b, &seconds);
  for (int w = 0; w < job->n_wires; w++) {
    const double amps = fabs(b->one->amps[w]), allowed_A = h->sizing->wires[w].allowance.allowed_A;
    if (amps <= 1.02 * h->wire_A[w] + 1e-3 || amps <= allowed_A)
      continue;
    const double limit_K = lg_heats_limit_K(h->heats, w, seconds);
    const double reached_K = lg_heats_wire_K(h->heats, w, amps, seconds);
    const double hot_K = job->wires[w].hot_K;
    if (effect->hottest >= 0 && !much_worse(margin(reached_K, limit_K, hot_K),
                                            margin(effect->hottest_K, effect->hottest_limit_K,
                                                   job->wires[effect->hottest].hot_K)))
      continue;
    effect->hottest = w;
    effect->hottest_K = reached_K;
    effect->hottest_limit_K = limit_K;
    effect->lasting = isinf(seconds);
    effect->hottest_state = state;
  }
}

/* In the state of rest, in those in which a guard is most, least and barely over, and in those in
 * which the three wires are that are most above what they may carry. */
static void warm(LgBench *b, LgEffect *effect)
{
  const LgHealthy *const h = b->healthy;
  Few few = {.n = 0};
  gboolean over = FALSE;
  for (int w = 0; w < job_of(b)->n_wires; w++)
    over |= b->look->wires[w].value > h->sizing->wires[w].allowance.allowed_A;
  if (!over)
    return;
  note_state(&few, b->only >= 0 ? b->only : 0);
  for (int g = 0; g < h->n_guards; g++) {
    note_state(&few, b->look->guards[g].state);
    note_state(&few, b->look->least_over[g].state);
    note_state(&few, b->look->most_under[g].state);
  }
  double below = INFINITY;
  for (int n = 0; n < 3; n++) {
    int worst = -1;
    double most = 1;
    for (int w = 0; w < job_of(b)->n_wires; w++) {
      const double share = b->look->wires[w].value / h->sizing->wires[w].allowance.allowed_A;
      if (b->look->wires[w].state >= 0 && share > most && share < below) {
        most = share;
        worst = w;
      }
    }
    if (worst < 0)
      break;
    below = most;
    note_state(&few, b->look->wires[worst].state);
  }
  for (int i = 0; i < few.n; i++)
    warm_in_state(b, effect, few.state[i]);
}

/* Heat at the spot of a short that grows slowly: as much current as the guard bears, at the volts
 * that the source leaves there. */
static void creep(const LgBench *b, LgEffect *effect)
{
  const LgHealthy *const h = b->healthy;
  const LgSeen *const seen = &b->look->short_A;
  if (seen->state < 0 || effect->cleared_by < 0)
    return;
  const LgChange *bridge = NULL;
  for (int c = 0; c < b->look->n_changes; c++)
    if (b->changes[c].kind == LG_CHANGE_BRIDGE)
      bridge = &b->changes[c];
  const double *const volts = h->volts + (gsize)seen->state * (gsize)lg_net_n_nodes(h->stage->net);
  const double open_V = fabs(volts[bridge->a] - volts[bridge->b]);
  const double ohm = open_V / seen->value - 1 / bridge->value;
  const double bears_A = h->guard_A[guard_index(h, effect->cleared_by)];
  if (!(open_V > 0) || !(ohm > 0) || !isfinite(bears_A))
    return;
  effect->creeping_A = fmin(bears_A, open_V / (2 * ohm));
  effect->creeping_W = effect->creeping_A * (open_V - effect->creeping_A * ohm);
}

/* --- lists --- */

static GArray *hits(const LgSeen seen[], const int element[], int n)
{
  GArray *list = NULL;
  for (int i = 0; i < n; i++) {
    if (seen[i].state < 0)
      continue;
    if (list == NULL)
      list = g_array_new(FALSE, FALSE, sizeof(LgHit));
    const LgHit hit = {element != NULL ? element[i] : i, seen[i].value, seen[i].state, seen[i].n};
    g_array_append_val(list, hit);
  }
  return list;
}

/* What stops in some states and is weak in others stops. */
static void drop_stopped(LgEffect *effect)
{
  for (guint i = effect->weak != NULL ? effect->weak->len : 0; i > 0; i--) {
    const int element = g_array_index(effect->weak, LgHit, i - 1).element;
    gboolean stops = FALSE;
    for (guint k = 0; effect->stops != NULL && k < effect->stops->len; k++)
      stops |= g_array_index(effect->stops, LgHit, k).element == element;
    if (stops)
      g_array_remove_index(effect->weak, i - 1);
  }
  if (effect->weak != NULL && effect->weak->len == 0) {
    g_array_unref(effect->weak);
    effect->weak = NULL;
  }
}

static void because(LgBench *b, LgEffect *effect, LgWhy why, int state)
{
  const int *const rank = b->healthy->states->rank;
  const gboolean graver = effect->why == 0 || (guint)why < (effect->why & -effect->why);
  if (state >= 0 &&
      (effect->state < 0 || graver ||
       ((guint)why == (effect->why & -effect->why) && rank[state] < rank[effect->state])))
    effect->state = state;
  effect->why |= why;
}

static gboolean moves(LgElementKind kind)
{
  return kind == LG_EL_MOTOR || kind == LG_EL_PUMP || kind == LG_EL_SOLENOID;
}

/* What starts or heats by itself is a danger; what only runs where it should not, when asked, is
 * not. */
static void weigh_runs(LgBench *b, LgEffect *effect, const LgLook *look)
{
  const LgHealthy *const h = b->healthy;
  for (int u = 0; u < h->n_users; u++) {
    const LgElementKind kind = job_of(b)->elements[h->users[u]].kind;
    if (look->runs[u].state >= 0)
      because(b, effect, LG_WHY_RUNS, look->runs[u].state);
    if (look->unasked[u].state >= 0 && (moves(kind) || kind == LG_EL_HEATER))
      because(b, effect, moves(kind) ? LG_WHY_MOVES : LG_WHY_RUNS_HOT, look->unasked[u].state);
  }
}

static void weigh_stops(LgBench *b, LgEffect *effect)
{
  for (guint i = 0; effect->stops != NULL && i < effect->stops->len; i++) {
    const LgHit *const hit = &g_array_index(effect->stops, LgHit, i);
    because(b, effect,
            job_of(b)->elements[hit->element].vital != NULL ? LG_WHY_VITAL : LG_WHY_STOPS,
            hit->state);
  }
  for (guint i = 0; effect->weak != NULL && i < effect->weak->len; i++) {
    const LgHit *const hit = &g_array_index(effect->weak, LgHit, i);
    because(b, effect, job_of(b)->elements[hit->element].vital != NULL ? LG_WHY_VITAL : LG_WHY_WEAK,
            hit->state);
  }
  for (guint i = 0; effect->needs != NULL && i < effect->needs->len; i++)
    because(b, effect, LG_WHY_NEED, g_array_index(effect->needs, LgHit, i).state);
}

/* A load above its rating: before anything opens when that takes its time, else after. */
static void weigh_power(LgBench *b, LgEffect *effect, const LgLook *look)
{
  const LgHealthy *const h = b->healthy;
  for (int u = 0; u < h->n_users; u++) {
    const LgSeen *const seen = &look->most_W[u];
    const LgElement *const e = &job_of(b)->elements[h->users[u]];
    const double rated_W = fmax(h->most_W[u], e->p[LG_P_POWER]);
    const double share = seen->value / rated_W;
    if (seen->state < 0 || share < (e->kind == LG_EL_HEATER ? HOT_SHARE : OVER_SHARE))
      continue;
    because(b, effect, LG_WHY_OVERHEATS, seen->state);
    if (effect->overheats < 0 || share > effect->overheats_share) {
      effect->overheats = h->users[u];
      effect->overheats_share = share;
    }
  }
}

/* --- sensors --- */

static gboolean obeys(const LgHealthy *h, int user, int input)
{
  return h->obeys[(gsize)user * (gsize)h->states->n_inputs + (gsize)input];
}

/* Plainest state in which a load runs. */
static int runs_in(const LgHealthy *h, int user)
{
  int best = -1;
  for (int s = 0; s < h->states->n; s++)
    if (h->watts[(gsize)s * (gsize)h->n_users + (gsize)user] >= 0.25 * h->most_W[user] &&
        (best < 0 || h->states->rank[s] < h->states->rank[best]))
      best = s;
  return best;
}

/* Another thermostat that ends the heat by itself. */
static gboolean has_cut_out(const LgHealthy *h, int user, int call)
{
  const LgJob *const job = h->stage->circuit->job;
  for (int i = 0; i < job->n_inputs; i++)
    if (i != call && job->inputs[i].kind == LG_INPUT_CALL && obeys(h, user, i))
      return TRUE;
  return FALSE;
}

static void add_hit(GArray **list, LgHit hit)
{
  if (*list == NULL)
    *list = g_array_new(FALSE, FALSE, sizeof(LgHit));
  g_array_append_val(*list, hit);
}

/* The reader takes the sensor for cold for ever, and calls; or for hot, and never does. */
static void weigh_lost_sensor(LgBench *b, LgEffect *effect, const LgProbed *probed, gboolean cold)
{
  const LgHealthy *const h = b->healthy;
  effect->reader = probed->reader;
  effect->error_K = cold ? -INFINITY : INFINITY;
  for (int u = 0; u < h->n_users && probed->call >= 0; u++) {
    if (!obeys(h, u, probed->call))
      continue;
    const int state = runs_in(h, u);
    if (cold && !has_cut_out(h, u, probed->call)) {
      because(b, effect, LG_WHY_OVERHEATS, state);
      effect->overheats = h->users[u];
      effect->overheats_share = NAN;
    } else if (!cold) {
      add_hit(&effect->stops, (LgHit){h->users[u], 0, state, 1});
      because(b, effect, LG_WHY_STOPS, state);
    }
  }
  because(b, effect, LG_WHY_READS_WRONG, -1);
}

/* Temperature that a share of the supply's volts stands for, beside what it should. The resistor
 * to the supply follows from the healthy reading. */
static double reads_K(const LgHealthy *h, int p, const LgSeen *seen)
{
  const LgElement *const e = &h->stage->circuit->job->elements[h->probed[p].element];
  const LgNetBranch *const branch =
      lg_net_branch(h->stage->net, h->stage->first[h->probed[p].element]);
  const double true_ohm = 1 / branch->p[0];
  const double before = h->read[(gsize)seen->state * (gsize)h->n_probed + (gsize)p];
  const double ohm = true_ohm * seen->value / (1 - seen->value) * (1 - before) / before;
  return lg_thermistor_K(e->p[LG_P_R25], e->p[LG_P_BETA], ohm) -
         lg_thermistor_K(e->p[LG_P_R25], e->p[LG_P_BETA], true_ohm);
}

static void weigh_sensors(LgBench *b, LgEffect *effect, const LgLook *look)
{
  const LgHealthy *const h = b->healthy;
  for (int p = 0; p < h->n_probed; p++) {
    const gboolean ntc = job_of(b)->elements[h->probed[p].element].p[LG_P_BETA] > 0;
    const LgSeen *const seen = look->cold[p].state >= 0 ? &look->cold[p] : &look->warm[p];
    if (seen->state < 0)
      continue;
    if (seen->value > UNPLUGGED || seen->value < PINCHED) {
      weigh_lost_sensor(b, effect, &h->probed[p], (seen->value > UNPLUGGED) == ntc);
      if (effect->state < 0)
        effect->state = seen->state;
      continue;
    }
    const double error_K = reads_K(h, p, seen);
    if (!(fabs(error_K) >= READS_WRONG_K))
      continue;
    because(b, effect, LG_WHY_READS_WRONG, seen->state);
    effect->reader = h->probed[p].reader;
    effect->error_K = error_K;
  }
}

/* --- the rest --- */

static void weigh_rest(LgBench *b, LgEffect *effect, const LgLook *look)
{
  const LgHealthy *const h = b->healthy;
  const LgJob *const job = job_of(b);
  effect->drain_A = look->rest_A - h->rest_A;
  effect->flat_h = INFINITY;
  double usable_Ah = 0;
  for (int e = 0; e < job->n_elements; e++) {
    const double *const p = job->elements[e].p;
    if (job->elements[e].kind == LG_EL_CELL && look->rest_A > 0)
      usable_Ah += p[LG_P_CAPACITY] * fmax(p[LG_P_CHARGE] - FLOOR, 0) *
                   lg_peukert_share(p[LG_P_PEUKERT], p[LG_P_CAPACITY], look->rest_A);
  }
  if (effect->drain_A < DRAIN_A || !(usable_Ah > 0)) {
    effect->drain_A = 0;
    return;
  }
  effect->flat_h = usable_Ah / look->rest_A;
  if (effect->flat_h < job->standing_s / 3600)
    because(b, effect, LG_WHY_FLAT, 0);
}

static void weigh_coils(LgBench *b, LgEffect *effect, const LgLook *look)
{
  const LgHealthy *const h = b->healthy;
  if (look->chatter >= 0) {
    because(b, effect, LG_WHY_CHATTERS, look->chatter);
    effect->chatters = look->chatter_coil >= 0 ? h->stage->coil_element[look->chatter_coil] : -1;
  }
  for (int c = 0; c < h->n_coils; c++)
    if (look->held[c].state >= 0 && effect->held < 0) {
      because(b, effect, LG_WHY_NO_RELEASE, look->held[c].state);
      effect->held = h->coils[c];
      effect->held_V = look->held[c].value;
    }
}

static void weigh_reversed(LgBench *b, LgEffect *effect)
{
  const LgJob *const job = job_of(b);
  for (int e = 0; e < job->n_elements; e++)
    if (b->look->reversed[e].state >= 0) {
      because(b, effect, LG_WHY_REVERSED, b->look->reversed[e].state);
      if (effect->reversed < 0)
        effect->reversed = e;
    }
}

/* A larger fuse: the wire behind it that gets hottest at what the fuse bears for ever. */
static void weigh_larger(LgBench *b, LgEffect *effect)
{
  const LgHealthy *const h = b->healthy;
  const LgFailure *const fault = &effect->fault;
  const double bears_A = lg_guard_bears_A(h->sizing, fault->element, fault->rating_A);
  for (int w = 0; w < job_of(b)->n_wires; w++) {
    const LgProtection *const p = &h->sizing->protection[w];
    gboolean behind = p->rating_device == fault->element;
    for (int d = 0; d < p->n_devices; d++)
      behind |= p->devices[d] == fault->element;
    if (!behind || !isfinite(bears_A) || bears_A <= h->sizing->wires[w].allowance.allowed_A)
      continue;
    const double reached_K = lg_heats_wire_K(h->heats, w, bears_A, INFINITY);
    const double limit_K = lg_heats_limit_K(h->heats, w, INFINITY);
    if (reached_K <= limit_K || (effect->hottest >= 0 && reached_K <= effect->hottest_K))
      continue;
    because(b, effect, LG_WHY_UNGUARDED, -1);
    because(b, effect, LG_WHY_BURNS, -1);
    effect->hottest = w;
    effect->hottest_K = reached_K;
    effect->hottest_limit_K = limit_K;
    effect->lasting = TRUE;
  }
}

static gboolean is_noticed(const LgJob *job, int element)
{
  const LgElementKind kind = job->elements[element].kind;
  return strcmp(job->parts[job->elements[element].part].class_word, "lamp") == 0 ||
         kind == LG_EL_LAMP || kind == LG_EL_LED || kind == LG_EL_BUZZER || moves(kind) ||
         kind == LG_EL_FAN;
}

/* Something that is seen or heard stops or runs while the vehicle is in use. */
static void notice(const LgBench *b, LgEffect *effect)
{
  const GArray *const lists[] = {effect->stops, effect->runs, effect->weak};
  for (guint k = 0; k < G_N_ELEMENTS(lists) && effect->noticed < 0; k++)
    for (guint i = 0; lists[k] != NULL && i < lists[k]->len && effect->noticed < 0; i++) {
      const LgHit *const hit = &g_array_index(lists[k], LgHit, i);
      if (is_noticed(job_of(b), hit->element) &&
          (b->healthy->states->rank[hit->state] > 0 || hit->n > 1))
        effect->noticed = hit->element;
    }
}

/* The way on which the first thing runs that should not. */
static void trace(LgBench *b, LgEffect *effect, LgLook *look)
{
  if (effect->runs == NULL)
    return;
  const LgHit *const hit = &g_array_index(effect->runs, LgHit, 0);
  LgJoint joints[LG_MOST_CHANGES * 2];
  int n = 0;
  lg_one_state_solve(b->one, look, b->solver, hit->state);
  for (int c = 0; c < look->n_changes; c++) {
    const LgChange *const change = &look->changes[c];
    if (change->kind == LG_CHANGE_BRIDGE)
      joints[n++] =
          (LgJoint){change->a, change->b,
                    change->value * (b->one->volts[change->a] - b->one->volts[change->b])};
  }
  const LgTrail trail = {b->ways, b->one->amps, joints, n};
  guint at;
  g_autoptr(GArray) steps = lg_trail_follow(&trail, hit->element, &at);
  effect->sneak = lg_trail_words(&trail, steps);
}

static LgSeverity severity_of(guint why)
{
  const guint danger = LG_WHY_BURNS | LG_WHY_OVERHEATS | LG_WHY_MOVES | LG_WHY_RUNS_HOT |
                       LG_WHY_VITAL | LG_WHY_REVERSED | LG_WHY_LOAD_DUMP | LG_WHY_RESTRAINT;
  const guint fault = LG_WHY_RUNS | LG_WHY_STOPS | LG_WHY_WEAK | LG_WHY_NEED | LG_WHY_FLAT |
                      LG_WHY_CHATTERS | LG_WHY_NO_RELEASE;
  return (why & danger) != 0  ? LG_SEVERITY_DANGER
         : (why & fault) != 0 ? LG_SEVERITY_FAULT
         : why != 0           ? LG_SEVERITY_CAUTION
                              : LG_SEVERITY_HARMLESS;
}

static void effect_init(LgEffect *effect, const LgFailure *fault)
{
  *effect = (LgEffect){.fault = *fault,
                       .state = -1,
                       .short_A = NAN,
                       .cleared_by = -1,
                       .cleared_s = INFINITY,
                       .also_opens = -1,
                       .creeping_W = NAN,
                       .creeping_A = NAN,
                       .hottest = -1,
                       .hottest_K = NAN,
                       .hottest_limit_K = NAN,
                       .hottest_state = -1,
                       .overheats = -1,
                       .overheats_share = NAN,
                       .flat_h = INFINITY,
                       .reader = -1,
                       .noticed = -1,
                       .chatters = -1,
                       .reversed = -1,
                       .held = -1,
                       .held_V = NAN};
}

static void weigh(LgBench *b, LgEffect *effect, LgLook *look)
{
  const LgHealthy *const h = b->healthy;
  warm(b, effect);
  if (effect->hottest >= 0 && effect->hottest_K > effect->hottest_limit_K)
    because(b, effect, LG_WHY_BURNS, effect->hottest_state);
  if (effect->hottest >= 0 && effect->lasting && effect->cleared_by < 0)
    because(b, effect, LG_WHY_UNCLEARED, -1);
  creep(b, effect);
  if (b->look->short_A.state >= 0)
    effect->short_A = b->look->short_A.value;
  effect->runs = hits(look->runs, h->users, h->n_users);
  effect->stops = hits(look->stops, h->users, h->n_users);
  effect->weak = hits(look->weak, h->users, h->n_users);
  effect->needs = hits(look->needs, NULL, job_of(b)->n_needs);
  drop_stopped(effect);
  weigh_runs(b, effect, look);
  weigh_stops(b, effect);
  weigh_power(b, effect, look);
  weigh_sensors(b, effect, look);
  weigh_rest(b, effect, look);
  weigh_coils(b, effect, look);
  weigh_reversed(b, effect);
  if (effect->fault.kind == LG_FAIL_FUSE_LARGER)
    weigh_larger(b, effect);
  if (effect->fault.kind == LG_FAIL_BATTERY_OFF)
    because(b, effect, LG_WHY_LOAD_DUMP, -1);
  notice(b, effect);
  trace(b, effect, look);
}

void lg_bench_judge(LgBench *b, const LgFailure *fault, const LgFailure *second, LgEffect *effect)
{
  const LgHealthy *const h = b->healthy;
  effect_init(effect, fault);
  b->n_changes = b->n_opened = 0;
  if (fault->restraint) {
    effect->why = LG_WHY_RESTRAINT;
    effect->severity = LG_SEVERITY_DANGER;
    return;
  }
  b->n_changes = lg_failure_changes(h->stage, h->sizing, fault, b->changes);
  if (second != NULL)
    b->n_changes += lg_failure_changes(h->stage, h->sizing, second, b->changes + b->n_changes);
  b->n_solved += look_at(b, b->look, b->n_changes);
  LgLook *const look = clear(b, effect);
  weigh(b, effect, look);
  effect->severity = severity_of(effect->why);
}
