/* Faults planted in a job and looked for: by `locate`, and by halving the way of the current, as
 * trouble is shot by hand (common practice). For the bench and for tests.
 *
 * The vehicle is not the sheet: its batteries, loads and wires are off by what such things are off.
 * The meter is off by 0.5 % and two digits; where its leads touch there are 0.05 ohm. */
#pragma once
#include "packet/tables-private.h"
#include "studies/locate-private.h"
#include <string.h>

typedef struct {
  LgLocator *knows; /* what the sheet says */
  LgLocator *truth; /* the vehicle, another for each fault */
  LgPaths *paths;
  GRand *rand;
  int planted; /* suspect */
  double size; /* of it */
  LgChange changes[2 * LG_MOST_CHANGES];
  LgFault fault;
  int n_meter, n_looks;
  double effort; /* minutes or so */
} Shop;

static inline double bell(GRand *rand)
{
  double sum = -6;
  for (int i = 0; i < 12; i++)
    sum += g_rand_double(rand);
  return sum;
}

/* Batteries within 2 %, loads 5 %, wires and joints 10 %: standard deviations. */
static inline void vary(Shop *shop)
{
  LgNet *const net = shop->truth->stage->net;
  const LgStage *const stage = shop->truth->stage;
  const LgJob *const job = shop->truth->job;
  for (int e = 0; e < job->n_elements; e++) {
    const LgElementKind kind = job->elements[e].kind;
    const double load = exp(0.05 * bell(shop->rand)), cell = exp(0.02 * bell(shop->rand));
    for (int k = 0; k < stage->n[e]; k++) {
      const int b = stage->first[e] + k;
      const LgNetBranch *const branch = lg_net_branch(net, b);
      if (branch->kind == LG_BRANCH_RESISTOR || branch->kind == LG_BRANCH_LAMP ||
          branch->kind == LG_BRANCH_MOTOR)
        lg_net_set_param(net, b, 0, branch->p[0] * load);
      if (kind == LG_EL_CELL && branch->kind != LG_BRANCH_DIODE)
        lg_net_set_param(net, b, 1, branch->p[1] * cell);
      if (kind == LG_EL_CELL && branch->kind == LG_BRANCH_LIMITED)
        lg_net_set_param(net, b, 2, branch->p[0] * branch->p[1]);
    }
  }
  for (int w = 0; w < job->n_wires; w++) {
    const int b = stage->branch[shop->truth->circuit->wire_branch[w]];
    lg_net_set_param(net, b, 0, lg_net_branch(net, b)->p[0] * exp(0.1 * bell(shop->rand)));
  }
}

/* Draws by the priors, nothing-is-wrong left out; sizes evenly over the logarithm of the grid. */
static inline void plant(Shop *shop)
{
  const LgLocator *const l = shop->truth;
  double at = 0, left;
  for (guint i = 1; i < l->suspects->len; i++)
    at += g_array_index(l->suspects, LgSuspect, i).prior;
  left = at * g_rand_double(shop->rand);
  guint i = 1;
  while (i + 1 < l->suspects->len && (left -= g_array_index(l->suspects, LgSuspect, i).prior) > 0)
    i++;
  const LgSuspect *const suspect = &g_array_index(l->suspects, LgSuspect, i);
  shop->planted = (int)i;
  shop->size = NAN;
  if (suspect->n > 1) {
    const double low = log(g_array_index(l->rows, LgRow, suspect->first).size),
                 high = log(g_array_index(l->rows, LgRow, suspect->first + suspect->n - 1).size);
    shop->size = exp(low + (high - low) * g_rand_double(shop->rand));
    shop->fault.n = lg_suspect_changes(l, suspect, shop->size, shop->changes);
  } else {
    const LgRow *const row = &g_array_index(l->rows, LgRow, suspect->first);
    shop->fault.n = row->n;
    memcpy(shop->changes, &g_array_index(l->changes, LgChange, row->first),
           (gsize)row->n * sizeof(LgChange));
  }
  shop->fault.change = shop->changes;
}

static inline double true_share(const Shop *shop, const LgView *view, int load, const int *position)
{
  const LgView *const healthy = lg_locator_view(shop->knows, position, 0, LG_SOLVED_WATTS);
  const int i = shop->knows->load_of[load];
  const double full = healthy->watts[i] > 0.05 * shop->knows->most_W[i] ? healthy->watts[i]
                                                                        : shop->knows->most_W[i];
  return view->watts[i] / full;
}

static inline double on_the_dial(GRand *rand, double value, double digit)
{
  const double off =
      value * (1 + 0.005 / 2 * bell(rand)) + digit * g_rand_double_range(rand, -2, 2);
  return digit * round(off / digit);
}

/* Does what was proposed. */
static inline LgSign measure(Shop *shop, const LgProbing *probing)
{
  LgSign sign = {.kind = probing->kind,
                 .name = "planted",
                 .pin = {probing->pin[0], probing->pin[1]},
                 .load = probing->load,
                 .tolerance = 0.005,
                 .position = probing->position};
  const LgLocator *const l = shop->truth;
  if (sign.kind == LG_SIGN_OHMS) {
    double ohm;
    lg_ohms_of(l, &shop->fault, 1, l->circuit->pin_node[sign.pin[0]],
               l->circuit->pin_node[sign.pin[1]], sign.position, &ohm);
    ohm += 0.05 * g_rand_double(shop->rand);
    const double digit = ohm < 200 ? 0.1 : ohm < 2000 ? 1 : ohm < 2e4 ? 10 : 100;
    sign.value = isinf(ohm) ? INFINITY : fmax(0, on_the_dial(shop->rand, ohm, digit));
    shop->n_meter++;
  } else {
    g_autoptr(LgFaults) faults = lg_faults_new(l->stage->net, &shop->fault, 1);
    LgView *const view = lg_view_new(l, 1, sign.position);
    lg_views_solve(l, faults, &view, 1, NULL, LG_SOLVED_ALL);
    if (sign.kind == LG_SIGN_VOLTS) {
      double v = view->volts[l->circuit->pin_node[sign.pin[0]]] -
                 view->volts[l->circuit->pin_node[sign.pin[1]]];
      v = isnan(v) ? 0 : v;
      sign.value = on_the_dial(shop->rand, v, fabs(v) < 1.9 ? 0.001 : 0.01);
      shop->n_meter++;
    } else {
      const double share = true_share(shop, view, sign.load, sign.position);
      sign.value = share < 0.1 ? LG_RUNS_NOT : share < 0.6 ? LG_RUNS_WEAK : LG_RUNS_WELL;
      shop->n_looks++;
    }
    lg_view_free(view);
  }
  shop->effort += lg_probing_effort(shop->knows, probing);
  return sign;
}

/* What the driver comes with: the first load that does not do in its own state, or in that of
 * another, or at rest, what it should. FALSE: the fault does not show. */
static inline gboolean find_symptom(Shop *shop, LgSign *symptom)
{
  LgLocator *const l = shop->knows;
  g_autofree int *rest = g_new0(int, (gsize)l->job->n_inputs + 1);
  for (int s = -1; s < l->n_loads; s++) {
    const int *const position = s < 0 ? lg_locator_keep(l, rest) : lg_locator_state(l, l->loads[s]);
    for (int i = 0; position != NULL && i < l->n_loads; i++) {
      const LgView *const healthy = lg_locator_view(l, position, 0, LG_SOLVED_WATTS);
      const LgProbing look = {
          .kind = LG_SIGN_RUNS, .pin = {-1, -1}, .load = l->loads[i], .position = position};
      const LgSign sign = measure(shop, &look);
      const gboolean should = healthy->watts[i] > 0.05 * l->most_W[i];
      if ((should && sign.value != LG_RUNS_WELL) || (!should && sign.value != LG_RUNS_NOT)) {
        *symptom = sign;
        return TRUE;
      }
    }
  }
  return FALSE;
}

/* A vehicle with a fault that shows. */
static inline LgSign new_case(Shop *shop, const LgSizing *sizing)
{
  LgSign symptom;
  do {
    lg_locator_free(shop->truth);
    shop->truth = lg_locator_new(sizing, NULL);
    vary(shop);
    plant(shop);
  } while (!find_symptom(shop, &symptom));
  shop->n_meter = shop->n_looks = 0;
  shop->effort = 0;
  return symptom;
}

/* --- by locate --- */

typedef struct {
  gboolean first, alike; /* named first; in one class with the first */
  double chance;         /* of that class */
  int n_meter, n_looks;
  double effort;
} Outcome;

enum { MOST_READINGS = 20 };
#define SURE 0.95

static inline Outcome look_by_locate(Shop *shop, LgSign symptom)
{
  LgSign signs[MOST_READINGS + 1] = {symptom};
  Outcome outcome = {0};
  for (int n = 1;; n++) {
    g_autoptr(LgLocation) location = lg_locator_judge(shop->knows, signs, n, 0);
    outcome = (Outcome){.n_meter = shop->n_meter, .n_looks = shop->n_looks, .effort = shop->effort};
    for (guint i = 0; i < location->verdicts->len; i++) {
      const LgVerdict *const v = &g_array_index(location->verdicts, LgVerdict, i);
      if (i > 0 && v->same_as != 0)
        continue;
      outcome.chance += v->chance;
      outcome.first |= i == 0 && v->suspect == shop->planted;
      outcome.alike |= v->suspect == shop->planted;
    }
    if (outcome.chance > SURE || location->next->len == 0 || n == MOST_READINGS)
      return outcome;
    signs[n] = measure(shop, &g_array_index(location->next, LgProbing, 0));
  }
}

/* --- by halves --- */

/* Points along a way, from the source's plus to its minus, and what lies between them. */
typedef struct {
  const GArray *path; /* LgStep */
  int *pin;           /* [path->len + 1] */
} Way;

static inline void ends_of(const LgJob *job, const LgStep *step, int end[2])
{
  const int *const pin =
      step->is_wire ? job->wires[step->index].pin : job->elements[step->index].pin;
  end[0] = pin[0];
  end[1] = pin[1];
}

/* Pins between the steps; -1: the body. */
static inline void walk(const LgJob *job, Way *way)
{
  const guint n = way->path->len;
  way->pin = g_new(int, n + 1);
  for (guint i = 0; i < n; i++) {
    int here[2], next[2] = {-2, -2};
    ends_of(job, &g_array_index(way->path, LgStep, i), here);
    if (i + 1 < n)
      ends_of(job, &g_array_index(way->path, LgStep, i + 1), next);
    const gboolean second = here[1] == next[0] || here[1] == next[1];
    way->pin[i + 1] = i + 1 < n && !second ? here[0] : here[1];
  }
  way->pin[0] = way->pin[n];
}

static inline int post(const LgJob *job)
{
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_CELL)
      return job->elements[e].pin[1];
  return -1;
}

/* Whether current still comes to a point: on the feed side volts as they should be; behind the load
 * volts that should not be there. */
static inline gboolean is_beyond(Shop *shop, const Way *way, int point, int load_at,
                                 const int *position)
{
  LgLocator *const l = shop->knows;
  const LgProbing probing = {.kind = LG_SIGN_VOLTS,
                             .pin = {way->pin[point], post(l->job)},
                             .load = -1,
                             .position = position};
  const LgSign sign = measure(shop, &probing);
  const double should = lg_locator_predict(l, 0, &sign), enough = 0.05 * l->job->nominal_V;
  return point <= load_at ? sign.value > should - enough : sign.value > should + enough;
}

/* The step of the way at fault, by volts to the battery's minus at the middle of what is left. */
static inline int halve(Shop *shop, const GArray *path, int element, const int *position)
{
  Way way = {.path = path};
  const LgJob *const job = shop->knows->job;
  walk(job, &way);
  int load_at = 0, low = 0, high = (int)path->len;
  for (guint i = 0; i < path->len; i++) {
    const LgStep *const step = &g_array_index(path, LgStep, i);
    if (!step->is_wire && step->index == element)
      load_at = (int)i;
  }
  while (high - low > 1) {
    int middle = (low + high) / 2;
    while (middle > low && (way.pin[middle] < 0 || shop->knows->shut[way.pin[middle]] ||
                            way.pin[middle] == post(job)))
      middle--;
    if (middle == low) {
      high = low + 1;
      break;
    }
    if (is_beyond(shop, &way, middle, load_at, position))
      low = middle;
    else
      high = middle;
  }
  g_free(way.pin);
  return low;
}

static inline gboolean is_planted(const Shop *shop, const LgStep *step)
{
  const LgSuspect *const s = &g_array_index(shop->knows->suspects, LgSuspect, shop->planted);
  if (step->is_wire ? s->wire == step->index : s->element == step->index)
    return TRUE;
  if (step->is_wire)
    return FALSE;
  /* A short is found by the fuse that it blew. */
  for (int c = 0; c < shop->fault.n; c++)
    if (shop->fault.change[c].kind == LG_CHANGE_OPEN &&
        shop->fault.change[c].branch == shop->knows->stage->first[step->index])
      return TRUE;
  return FALSE;
}

/* First along the way of the load; when that leads to a relay's contact, along the way of its coil.
 */
static inline Outcome look_by_halves(Shop *shop, LgSign symptom)
{
  const LgJob *const job = shop->knows->job;
  Outcome outcome = {0};
  shop->n_meter = shop->n_looks = 0;
  shop->effort = 0;
  int element = symptom.load;
  for (int round = 0; round < 2 && element >= 0 && shop->paths->path[element] != NULL; round++) {
    const GArray *const path = shop->paths->path[element];
    const int at = halve(shop, path, element, symptom.position);
    const LgStep *const step = &g_array_index(path, LgStep, (guint)at);
    outcome.first = outcome.alike = is_planted(shop, step);
    element = !outcome.first && !step->is_wire ? job->elements[step->index].by : -1;
  }
  outcome.n_meter = shop->n_meter;
  outcome.effort = shop->effort;
  return outcome;
}
