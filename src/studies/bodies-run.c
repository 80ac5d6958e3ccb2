/* A course under hands: from one switching of a thermostat to the next, on the closed form. */
#include "studies/bodies-private.h"

/* Bimetals and controls that say where they open and not where they close: 4 K below. Common
 * practice, no source. */
#define BAND_K 4
/* Longest stretch: charge changes meanwhile. */
#define LONGEST_S 300.0

typedef struct {
  LgCallFault fault;
  double off_by_K;
  gboolean on;    /* what the thermostat says */
  double since_s; /* of its last change; -INFINITY: none yet */
  int acting;     /* thermostat, -1 */
} Call;

struct LgWarmth {
  const LgBodies *bodies;
  LgSupply *supply;
  LgWarmthCalls calls;
  GArray *thermostats; /* LgThermostat */
  Call *call;          /* [n_inputs] */
  int *position;       /* [n_inputs] */
  double now_s, ambient_K, fastest, longest_s;
  double *start, *end, *watts; /* modes, modes, bodies */
  double *part, *falls;        /* scratch by modes */
  double *now_K, *most_K;      /* [n] */
};

GArray *lg_thermostats_new(const LgBodies *bodies)
{
  const LgJob *const job = bodies->job;
  GArray *const list = g_array_new(FALSE, FALSE, sizeof(LgThermostat));
  for (int e = 0; e < job->n_elements; e++) {
    const LgElement *const element = &job->elements[e];
    if (element->call < 0)
      continue;
    const double *const p = element->p;
    const int sensor = element->senses >= 0 ? element->senses : e;
    const gboolean knows = !isnan(p[LG_P_OPENS]);
    const LgThermostat t = {
        .element = e,
        .call = element->call,
        .body = knows ? bodies->feels[sensor] : -1,
        .opens_K = p[LG_P_OPENS],
        .closes_K = isnan(p[LG_P_CLOSES]) || p[LG_P_CLOSES] == p[LG_P_OPENS]
                        ? p[LG_P_OPENS] - BAND_K
                        : p[LG_P_CLOSES],
        .least_on_s = isnan(p[LG_P_LEAST_ON]) ? 0 : p[LG_P_LEAST_ON],
        .least_off_s = isnan(p[LG_P_LEAST_OFF]) ? 0 : p[LG_P_LEAST_OFF],
        .period_s = p[LG_P_PERIOD],
        .share = isnan(p[LG_P_SHARE]) ? 1 : p[LG_P_SHARE],
    };
    g_array_append_val(list, t);
  }
  return list;
}

LgWarmth *lg_warmth_new(const LgBodies *bodies, LgSupply *supply, const LgWarmthCalls *calls)
{
  const gsize n = (gsize)bodies->n + 1, n_inputs = (gsize)bodies->job->n_inputs + 1;
  LgWarmth *const w = g_new0(LgWarmth, 1);
  *w = (LgWarmth){.bodies = bodies,
                  .supply = supply,
                  .calls = calls != NULL ? *calls : (LgWarmthCalls){NULL, NULL},
                  .thermostats = lg_thermostats_new(bodies),
                  .call = g_new0(Call, n_inputs),
                  .position = g_new0(int, n_inputs),
                  .ambient_K = lg_supply_ambient(supply),
                  .longest_s = LONGEST_S,
                  .start = g_new0(double, n),
                  .end = g_new0(double, n),
                  .watts = g_new0(double, n),
                  .part = g_new0(double, n),
                  .falls = g_new0(double, n),
                  .now_K = g_new0(double, n),
                  .most_K = g_new0(double, n)};
  for (gsize i = 0; i < n_inputs; i++)
    w->call[i] = (Call){.since_s = -INFINITY, .acting = -1};
  for (int i = 0; i < bodies->n; i++)
    w->now_K[i] = w->most_K[i] =
        isnan(bodies->bodies[i].held_K) ? w->ambient_K : bodies->bodies[i].held_K;
  lg_modes_of(bodies, w->now_K, w->start);
  for (int k = 0; k < bodies->modes->n_free; k++)
    w->fastest = fmax(w->fastest, bodies->modes->rate[k]);
  return w;
}

void lg_warmth_free(LgWarmth *w)
{
  if (w == NULL)
    return;
  g_array_unref(w->thermostats);
  g_free(w->call);
  g_free(w->position);
  g_free(w->start);
  g_free(w->end);
  g_free(w->watts);
  g_free(w->part);
  g_free(w->falls);
  g_free(w->now_K);
  g_free(w->most_K);
  g_free(w);
}

static const LgThermostat *thermostat(const LgWarmth *w, int index)
{
  return &g_array_index(w->thermostats, LgThermostat, index);
}

int lg_thermostat_acting(const LgJob *job, const GArray *thermostats, int call,
                         const int position[])
{
  for (guint i = 0; i < thermostats->len; i++) {
    const LgThermostat *const t = &g_array_index(thermostats, LgThermostat, i);
    const LgElement *const e = &job->elements[t->element];
    const int input = job->parts[e->part].input;
    if (t->call == call && (e->closed == 0 || input < 0 || (e->closed >> position[input] & 1) != 0))
      return (int)i;
  }
  return -1;
}

static int acting(const LgWarmth *w, int call, const int position[])
{
  return lg_thermostat_acting(w->bodies->job, w->thermostats, call, position);
}

const LgThermostat *lg_warmth_acting(const LgWarmth *warmth, int call, const int position[])
{
  const int index = acting(warmth, call, position);
  return index < 0 ? NULL : thermostat(warmth, index);
}

void lg_warmth_set(LgWarmth *w, const int position[])
{
  const LgJob *const job = w->bodies->job;
  for (int i = 0; i < job->n_inputs; i++)
    if (job->inputs[i].kind != LG_INPUT_CALL)
      w->position[i] = position[i];
  for (int i = 0; i < job->n_inputs; i++) {
    Call *const call = &w->call[i];
    const int was = call->acting;
    if (job->inputs[i].kind != LG_INPUT_CALL)
      continue;
    call->acting = acting(w, i, w->position);
    if (call->acting != was)
      call->since_s = -INFINITY;
  }
}

void lg_warmth_set_ambient(LgWarmth *w, double ambient_K)
{
  w->ambient_K = ambient_K;
}

void lg_warmth_set_longest(LgWarmth *w, double seconds)
{
  w->longest_s = seconds;
}

void lg_warmth_fail(LgWarmth *w, int call, LgCallFault fault, double off_by_K)
{
  w->call[call].fault = fault;
  w->call[call].off_by_K = off_by_K;
}

const double *lg_warmth_now(const LgWarmth *w)
{
  return w->now_K;
}

const double *lg_warmth_most(const LgWarmth *w)
{
  return w->most_K;
}

void lg_warmth_forget(LgWarmth *w)
{
  memcpy(w->most_K, w->now_K, sizeof(double) * (gsize)w->bodies->n);
}

/* --- what the calls say --- */

/* What a sensor reads `seconds` after the start of the stretch. */
static double reading_K(const LgWarmth *w, const Call *call, double seconds)
{
  const LgThermostat *const t = thermostat(w, call->acting);
  const double off_by_K = call->fault == LG_CALL_OFF_BY ? call->off_by_K : 0;
  if (call->fault == LG_CALL_LOOSE)
    return w->ambient_K;
  return lg_modes_body(w->bodies, w->start, w->end, seconds, t->body) + off_by_K;
}

/* Whether the call listens to a temperature at all. */
static gboolean listens(const LgWarmth *w, const Call *call)
{
  return call->acting >= 0 && thermostat(w, call->acting)->body >= 0 &&
         call->fault != LG_CALL_ALWAYS && call->fault != LG_CALL_NEVER;
}

/* 1 for one that warms, -1 for one that cools. */
static double sense(const LgThermostat *t)
{
  return t->opens_K > t->closes_K ? 1 : -1;
}

static gboolean says(const LgWarmth *w, const Call *call, double kelvin)
{
  const LgThermostat *const t = thermostat(w, call->acting);
  const gboolean at_opens = isinf(call->since_s) || call->on;
  return sense(t) * ((at_opens ? t->opens_K : t->closes_K) - kelvin) > 0;
}

/* No call changes faster than this, so that impossible bodies cost no more than bad ones. */
static double shortest_s(const LgWarmth *w)
{
  return w->longest_s / 3000;
}

/* Time at which the call may change again. */
static double free_at(const LgWarmth *w, const Call *call)
{
  const LgThermostat *const t = thermostat(w, call->acting);
  return call->since_s + fmax(call->on ? t->least_on_s : t->least_off_s, shortest_s(w));
}

static double period_s(const LgWarmth *w, const LgThermostat *t)
{
  return fmax(t->period_s, 2 * shortest_s(w));
}

static gboolean clock_is_on(const LgWarmth *w, const LgThermostat *t)
{
  if (isnan(t->period_s) || t->share >= 1)
    return TRUE;
  const double period = period_s(w, t);
  return fmod(w->now_s + 1e-9 * period, period) < t->share * period;
}

static double next_clock(const LgWarmth *w, const LgThermostat *t)
{
  if (isnan(t->period_s) || t->share >= 1)
    return INFINITY;
  const double period = period_s(w, t);
  const double turn = floor(w->now_s / period + 1e-9) * period;
  const double off_s = turn + t->share * period;
  return off_s > w->now_s + 1e-9 * period ? off_s : turn + period;
}

static void decide(LgWarmth *w)
{
  const LgJob *const job = w->bodies->job;
  for (int i = 0; i < job->n_inputs; i++) {
    Call *const call = &w->call[i];
    if (job->inputs[i].kind != LG_INPUT_CALL)
      continue;
    gboolean on = call->acting >= 0 && call->fault != LG_CALL_NEVER;
    if (listens(w, call))
      on = w->now_s >= free_at(w, call) || isinf(call->since_s)
               ? says(w, call, reading_K(w, call, 0))
               : call->on;
    if (on != call->on || (isinf(call->since_s) && call->acting >= 0)) {
      call->on = on;
      call->since_s = w->now_s;
    }
    w->position[i] = on && clock_is_on(w, thermostat(w, call->acting)) ? 1 : 0;
  }
}

/* --- the next moment --- */

/* The crossing between two times: false position, the end that stays weighed down (Illinois). A
 * hair later, so that arithmetic sees it crossed. */
static double root_s(const LgWarmth *w, int body, double wanted_K, double sign, double low,
                     double high)
{
  double low_K = sign * (lg_modes_body(w->bodies, w->start, w->end, low, body) - wanted_K);
  double high_K = sign * (lg_modes_body(w->bodies, w->start, w->end, high, body) - wanted_K);
  for (int i = 0, side = 0; i < 60 && high - low > 1e-9 * (1 + high); i++) {
    const double middle = CLAMP(high - high_K * (high - low) / (high_K - low_K), low, high);
    const double at_K =
        sign * (lg_modes_body(w->bodies, w->start, w->end, middle, body) - wanted_K);
    if (fabs(at_K) < 1e-10)
      return middle + 1e-8 * (1 + middle);
    if (at_K < 0) {
      low = middle;
      low_K = at_K;
      high_K *= side < 0 ? 0.5 : 1;
    } else {
      high = middle;
      high_K = at_K;
      low_K *= side > 0 ? 0.5 : 1;
    }
    side = at_K < 0 ? -1 : 1;
  }
  return high + 1e-8 * (1 + high);
}

/* First crossing from `from_s` on, most_s when there is none before it. Marches in even steps, each
 * mode falling by the same factor from step to step. */
static double crossing_s(const LgWarmth *w, const Call *call, double from_s, double most_s)
{
  const LgThermostat *const t = thermostat(w, call->acting);
  const double wanted_K =
      (call->on ? t->opens_K : t->closes_K) - (call->fault == LG_CALL_OFF_BY ? call->off_by_K : 0);
  const double sign = sense(t) * (call->on ? 1 : -1),
               step = fmax(0.2 / w->fastest, w->longest_s / 1e5);
  const int n = w->bodies->modes->n_free;
  const double end_K = lg_modes_parts(w->bodies, w->start, w->end, from_s, t->body, w->part);
  for (int k = 0; k < n; k++)
    w->falls[k] = exp(-w->bodies->modes->rate[k] * step);
  double low = from_s, high = from_s;
  for (;;) {
    double at_K = end_K, reach_K = 0;
    for (int k = 0; k < n; k++) {
      at_K += w->part[k];
      reach_K += fabs(w->part[k]);
      w->part[k] *= w->falls[k];
    }
    if (sign * (at_K - wanted_K) >= 0)
      break;
    if (high >= most_s || sign * (end_K - wanted_K) + reach_K < 0)
      return most_s;
    low = high;
    high += step;
  }
  return fmin(root_s(w, t->body, wanted_K, sign, low, high), most_s);
}

static double stretch_s(const LgWarmth *w, double until_s)
{
  double most_s = until_s - w->now_s;
  for (int i = 0; i < w->bodies->job->n_inputs; i++) {
    const Call *const call = &w->call[i];
    if (call->acting < 0)
      continue;
    most_s = fmin(most_s, next_clock(w, thermostat(w, call->acting)) - w->now_s);
    if (!listens(w, call) || call->fault == LG_CALL_LOOSE)
      continue;
    most_s = crossing_s(w, call, fmax(free_at(w, call) - w->now_s, 0), most_s);
  }
  return fmax(most_s, 0);
}

/* Temperatures and their peaks at the end of a stretch. Within it a body may peak while heat still
 * flows to it: looked at in a few places, closer together at its beginning. */
static void advance(LgWarmth *w, double seconds)
{
  static const double places[] = {0.04, 0.12, 0.25, 0.45, 0.7, 1};
  const LgModes *const m = w->bodies->modes;
  for (gsize place = 0; place < G_N_ELEMENTS(places); place++) {
    for (int k = 0; k < m->n_free; k++)
      w->part[k] =
          w->end[k] + (w->start[k] - w->end[k]) * exp(-m->rate[k] * seconds * places[place]);
    for (int i = 0; i < m->n_free; i++) {
      double at_K = 0;
      for (int k = 0; k < m->n_free; k++)
        at_K += m->shape[i * m->n_free + k] * w->part[k];
      w->now_K[m->free[i]] = at_K;
      w->most_K[m->free[i]] = fmax(w->most_K[m->free[i]], at_K);
    }
  }
  memcpy(w->start, w->part, sizeof(double) * (gsize)m->n_free);
  w->now_s += seconds;
}

void lg_warmth_run(LgWarmth *w, double until_s)
{
  while (w->now_s < until_s) {
    decide(w);
    const LgAnswer *const answer = lg_supply_solve(w->supply, w->position);
    lg_bodies_watts(w->bodies, answer, w->watts);
    lg_modes_end(w->bodies, w->watts, w->ambient_K, w->end);
    double seconds = fmin(stretch_s(w, until_s), w->longest_s);
    const double from_s = w->now_s;
    if (until_s - from_s - seconds < 1e-9 * until_s)
      seconds = until_s - from_s;
    advance(w, seconds);
    if (until_s - w->now_s < 1e-9 * until_s)
      w->now_s = until_s;
    if (w->calls.stretch != NULL)
      w->calls.stretch(from_s, w->now_s, w->position, answer, w->calls.user);
  }
}
