/* What a surface over a pad gets to: levels, thermostats, and one fault at a time. */
#include "studies/bodies-private.h"

#define SETTLES_S 3600.0
#define COUNTED_S 3600.0
#define WARMS_WITHIN_S 3600.0
#define LOOK_S 5.0

typedef struct {
  const LgBodies *bodies;
  LgSupply *supply;
  const LgStates *states;
  const double *off_by_K;
  int *position; /* [n_inputs] scratch */
  double *watts; /* [n] scratch */
  gboolean *in;  /* [n] joined with the surface */
} Study;

static const LgJob *job_of(const Study *s)
{
  return s->bodies->job;
}

static void set_day(const Study *s, double speed_rpm, double ambient_K)
{
  lg_supply_set(s->supply, speed_rpm, ambient_K);
}

#define DRIVING_RPM 3000.0
#define IDLING_RPM 800.0

/* Watts into what hangs together with the surface; element that gives most. */
static double watts_at(const Study *s, const int position[], int *heater)
{
  const LgAnswer *const answer = lg_supply_solve(s->supply, position);
  double sum = 0, most_W = 0;
  for (int e = 0; e < job_of(s)->n_elements; e++) {
    const int body = s->bodies->warms[e];
    const double watts = answer->element_A[e] * answer->element_V[e];
    if (body < 0 || !s->in[body] || !(watts > 0))
      continue;
    sum += watts;
    if (watts > most_W && heater != NULL) {
      most_W = watts;
      *heater = e;
    }
  }
  return sum;
}

/* --- levels --- */

static gboolean has_call(const LgJob *job, int part)
{
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].part == part && job->elements[e].call >= 0)
      return TRUE;
  return FALSE;
}

static void add_level(const Study *s, LgPad *pad, const int position[])
{
  const double watts = watts_at(s, position, NULL);
  if (watts < 0.1 || !lg_circuit_possible(job_of(s), position))
    return;
  pad->levels = g_renew(LgPadLevel, pad->levels, (gsize)pad->n_levels + 1);
  pad->levels[pad->n_levels++] = (LgPadLevel){
      .position = g_memdup2(position, sizeof(int) * (gsize)job_of(s)->n_inputs), .watts = watts};
}

/* The state in which the heater takes most, and the other positions of the hands that have a
 * thermostat in them. */
static void find_levels(const Study *s, LgPad *pad)
{
  const LgJob *const job = job_of(s);
  const int state = s->states->elements[pad->heater].most_W.state;
  if (state < 0)
    return;
  const guint8 *const kept = lg_states_position(s->states, state);
  for (int i = 0; i < job->n_inputs; i++)
    s->position[i] = kept[i];
  lg_supply_place(s->supply, s->position);
  add_level(s, pad, s->position);
  for (int i = 0; i < job->n_inputs; i++) {
    if (job->inputs[i].kind != LG_INPUT_HAND || !has_call(job, job->inputs[i].part))
      continue;
    const int was = s->position[i];
    for (int p = 0; p < job->inputs[i].n_positions; p++) {
      s->position[i] = p;
      if (p != was)
        add_level(s, pad, s->position);
    }
    s->position[i] = was;
  }
}

/* --- runs --- */

typedef struct {
  const LgBodies *bodies;
  int heater;
  double from_s, on_s;
  int cycles;
  gboolean on;
} Duty;

static void count_duty(double from_s, double to_s, const int position[], const LgAnswer *answer,
                       gpointer user)
{
  Duty *const d = user;
  const gboolean on = fabs(answer->element_A[d->heater]) > 1e-2;
  (void)position;
  if (from_s >= d->from_s) {
    d->on_s += on ? to_s - from_s : 0;
    d->cycles += on && !d->on;
  }
  d->on = on;
}

/* Peak of the surface once it has settled, with one call failing (-1: none). */
static double settled_peak(const Study *s, const LgPad *pad, const LgPadLevel *level, int call,
                           LgCallFault fault, double off_by_K, Duty *duty)
{
  const LgWarmthCalls calls = {.stretch = duty != NULL ? count_duty : NULL, .user = duty};
  LgWarmth *const w = lg_warmth_new(s->bodies, s->supply, &calls);
  lg_warmth_set_longest(w, SETTLES_S);
  lg_warmth_set(w, level->position);
  if (call >= 0)
    lg_warmth_fail(w, call, fault, off_by_K);
  lg_warmth_run(w, SETTLES_S);
  /* On a day hotter than the surface gets, its start says nothing of the pad. */
  if (lg_supply_ambient(s->supply) > job_of(s)->cold_K)
    lg_warmth_forget(w);
  lg_warmth_run(w, SETTLES_S + COUNTED_S);
  const double peak_K = lg_warmth_most(w)[pad->surface];
  lg_warmth_free(w);
  return peak_K;
}

static double on_both_days(const Study *s, const LgPad *pad, const LgPadLevel *level, int call,
                           LgCallFault fault, double off_by_K)
{
  set_day(s, DRIVING_RPM, job_of(s)->cold_K);
  const double cold_K = settled_peak(s, pad, level, call, fault, off_by_K, NULL);
  if (fault == LG_CALL_LOOSE) /* in cold air it calls, in warm air less than in health */
    return cold_K;
  set_day(s, DRIVING_RPM, job_of(s)->hot_K);
  return fmax(cold_K, settled_peak(s, pad, level, call, fault, off_by_K, NULL));
}

static double time_to_warm(const Study *s, const LgPad *pad, const LgPadLevel *level)
{
  g_autofree int *position = g_memdup2(level->position, sizeof(int) * (gsize)job_of(s)->n_inputs);
  set_day(s, IDLING_RPM, job_of(s)->cold_K);
  lg_supply_place(s->supply, position);
  LgWarmth *const w = lg_warmth_new(s->bodies, s->supply, NULL);
  lg_warmth_set(w, position);
  double at_s = 0;
  while (lg_warmth_now(w)[pad->surface] < LG_WARM_K && at_s < WARMS_WITHIN_S)
    lg_warmth_run(w, at_s += LOOK_S);
  const gboolean warm = lg_warmth_now(w)[pad->surface] >= LG_WARM_K;
  lg_warmth_free(w);
  return warm ? at_s : INFINITY;
}

static void run_level(const Study *s, const LgPad *pad, LgPadLevel *level)
{
  g_autofree double *at_K = g_new(double, (gsize)s->bodies->n + 1);
  for (int day = 0; day < 2; day++) {
    const double ambient_K = day == 0 ? job_of(s)->cold_K : job_of(s)->hot_K;
    set_day(s, DRIVING_RPM, ambient_K);
    lg_bodies_watts(s->bodies, lg_supply_solve(s->supply, level->position), s->watts);
    lg_bodies_steady(s->bodies, s->watts, ambient_K, at_K);
    level->steady_K = fmax(level->steady_K, at_K[pad->surface]);
  }
  const double hot_K = settled_peak(s, pad, level, -1, LG_CALL_SOUND, 0, NULL);
  set_day(s, DRIVING_RPM, job_of(s)->cold_K);
  Duty duty = {.bodies = s->bodies, .heater = pad->heater, .from_s = SETTLES_S};
  const double cold_K = settled_peak(s, pad, level, -1, LG_CALL_SOUND, 0, &duty);
  level->peak_K = fmax(hot_K, cold_K);
  level->duty = duty.on_s / COUNTED_S;
  level->cycles_h = duty.cycles / (COUNTED_S / 3600);
  level->warm_s = time_to_warm(s, pad, level);
}

/* --- faults --- */

static void add_fault(const Study *s, LgPad *pad, const LgThermostat *t, LgCallFault fault,
                      double off_by_K)
{
  const LgPadLevel *const level = &pad->levels[pad->strongest];
  pad->faults = g_renew(LgPadFault, pad->faults, (gsize)pad->n_faults + 1);
  pad->faults[pad->n_faults++] =
      (LgPadFault){.fault = fault,
                   .call = t->call,
                   .element = t->element,
                   .peak_K = on_both_days(s, pad, level, t->call, fault, off_by_K)};
}

/* Whether the call makes a difference to the surface's heat. */
static gboolean matters(const Study *s, const LgPadLevel *level, int call)
{
  g_autofree int *position = g_memdup2(level->position, sizeof(int) * (gsize)job_of(s)->n_inputs);
  if (position[call] == 0)
    return FALSE;
  position[call] = 0;
  return watts_at(s, position, NULL) < 0.9 * level->watts;
}

static void find_faults(const Study *s, LgPad *pad)
{
  const LgPadLevel *const level = &pad->levels[pad->strongest];
  LgWarmth *const w = lg_warmth_new(s->bodies, s->supply, NULL);
  for (int i = 0; i < job_of(s)->n_inputs; i++) {
    const LgThermostat *const t =
        job_of(s)->inputs[i].kind == LG_INPUT_CALL ? lg_warmth_acting(w, i, level->position) : NULL;
    set_day(s, DRIVING_RPM, job_of(s)->cold_K);
    if (t == NULL || t->body < 0 || t->opens_K < t->closes_K || !matters(s, level, i))
      continue;
    add_fault(s, pad, t, LG_CALL_ALWAYS, 0);
    add_fault(s, pad, t, LG_CALL_NEVER, 0);
    add_fault(s, pad, t, LG_CALL_LOOSE, 0);
    const double off_by_K = s->off_by_K != NULL ? s->off_by_K[t->element] : 0;
    if (fabs(off_by_K) > 0.1)
      add_fault(s, pad, t, LG_CALL_OFF_BY, off_by_K);
  }
  lg_warmth_free(w);
}

/* --- all of it --- */

static void free_pad(gpointer data)
{
  LgPad *const pad = data;
  for (int i = 0; i < pad->n_levels; i++)
    g_free(pad->levels[i].position);
  g_free(pad->levels);
  g_free(pad->faults);
  g_free(pad);
}

/* The heater that reaches the surface first and takes most in its worst state, -1. */
static int heater_of(const Study *s, int surface)
{
  int found = -1;
  for (int e = 0; e < job_of(s)->n_elements; e++) {
    const int body = s->bodies->warms[e];
    const LgExtreme most = s->states->elements[e].most_W;
    if (body >= 0 && most.state >= 0 && lg_bodies_surface(s->bodies, body) == surface &&
        (found < 0 || most.value > s->states->elements[found].most_W.value))
      found = e;
  }
  return found;
}

/* Levels that differ by what a tell-tale draws are equal without end; then the higher set-point
 * counts. */
static gboolean is_stronger(const LgPadLevel *a, const LgPadLevel *b)
{
  const double more_K = a->steady_K - b->steady_K;
  return more_K > 0.1 || (more_K > -0.1 && a->peak_K > b->peak_K);
}

static void study_surface(const Study *s, int surface, GPtrArray *pads)
{
  const int heater = heater_of(s, surface);
  if (heater < 0)
    return;
  LgPad *const pad = g_new0(LgPad, 1);
  *pad = (LgPad){.surface = surface, .heater = heater};
  lg_bodies_joined(s->bodies, surface, s->in);
  set_day(s, DRIVING_RPM, job_of(s)->hot_K);
  find_levels(s, pad);
  for (int i = 0; i < pad->n_levels; i++) {
    run_level(s, pad, &pad->levels[i]);
    if (is_stronger(&pad->levels[i], &pad->levels[pad->strongest]))
      pad->strongest = i;
  }
  if (pad->n_levels > 0)
    find_faults(s, pad);
  g_ptr_array_add(pads, pad);
}

GPtrArray *lg_pads_new(const LgBodies *bodies, LgSupply *supply, const LgStates *states,
                       const double off_by_K[])
{
  GPtrArray *const pads = g_ptr_array_new_with_free_func(free_pad);
  const Study study = {.bodies = bodies,
                       .supply = supply,
                       .states = states,
                       .off_by_K = off_by_K,
                       .position = g_new0(int, (gsize)bodies->job->n_inputs + 1),
                       .watts = g_new0(double, (gsize)bodies->n + 1),
                       .in = g_new0(gboolean, (gsize)bodies->n + 1)};
  for (int i = 0; i < bodies->n; i++)
    if (bodies->bodies[i].is == LG_BODY_SURFACE)
      study_surface(&study, i, pads);
  g_free(study.position);
  g_free(study.watts);
  g_free(study.in);
  return pads;
}
