/* The campaign: every fault in every state, shared among threads. */
#include "studies/faults-private.h"

#define MOST_PAIRS ((guint64)1000000)
enum { N_REMEDIES = 6 };

typedef struct {
  LgCampaign *faults;
  const LgHealthy *healthy;
  const LgWays *ways;
  const LgCampaignOptions *options;
  int n_threads;
  int next; /* fault to take, by all threads */
  int done;
  const int *pair; /* effects of double faults, two by two; NULL: single ones */
  LgEffect *out;   /* [n] */
  int n;
  guint64 n_solved, n_after; /* sums, added at the end of a thread */
  gboolean stopped;
  GMutex lock;
} Campaign;

/* Remedies take about as long as the faults themselves. */
static gboolean ask_to_stop(Campaign *c)
{
  const double whole = c->options->n_remedies >= 0 ? 2 : 1;
  g_mutex_lock(&c->lock);
  c->stopped = c->stopped || c->options->stop((double)g_atomic_int_get(&c->done) / c->n / whole,
                                              c->options->user);
  const gboolean stopped = c->stopped;
  g_mutex_unlock(&c->lock);
  return stopped;
}

/* Threads take one fault after another; each fault's effect hangs on itself alone. */
static gpointer work(gpointer user)
{
  Campaign *const c = user;
  g_autoptr(LgBench) bench = lg_bench_new(c->healthy, c->ways, FALSE, c->options->exact);
  for (;;) {
    const int i = g_atomic_int_add(&c->next, 1);
    if (i >= c->n)
      break;
    const LgEffect *const effects = c->faults->effects;
    if (c->pair == NULL)
      lg_bench_judge(bench, &effects[i].fault, NULL, &c->out[i]);
    else
      lg_bench_judge(bench, &effects[c->pair[2 * i]].fault, &effects[c->pair[2 * i + 1]].fault,
                     &c->out[i]);
    g_atomic_int_inc(&c->done);
    if (c->options->stop != NULL && ask_to_stop(c))
      break;
  }
  g_mutex_lock(&c->lock);
  c->n_solved += bench->n_solved;
  c->n_after += bench->n_after;
  g_mutex_unlock(&c->lock);
  return NULL;
}

static void run(Campaign *c)
{
  enum { MOST_THREADS = 64 };
  GThread *threads[MOST_THREADS];
  const int n = CLAMP(c->n_threads, 1, MOST_THREADS) - 1;
  c->next = c->done = 0;
  for (int t = 0; t < n; t++)
    threads[t] = g_thread_new("faults", work, c);
  work(c);
  for (int t = 0; t < n; t++)
    g_thread_join(threads[t]);
}

static void keep_states(LgCampaign *faults, const LgFailureStates *states)
{
  faults->n_states = states->n;
  faults->n_inputs = states->n_inputs;
  faults->all_states = states->all;
  faults->n_possible = states->n_possible;
  faults->positions = g_new(guint8, (gsize)states->n * (gsize)states->n_inputs + 1);
  for (gsize i = 0; i < (gsize)states->n * (gsize)states->n_inputs; i++)
    faults->positions[i] = (guint8)states->position[i];
}

/* --- double faults --- */

/* Two faults at once count when their effect is graver than that of either. */
static void take_doubles(Campaign *c)
{
  LgCampaign *const faults = c->faults;
  for (int i = 0; i < c->n; i++) {
    const LgEffect *const a = &faults->effects[c->pair[2 * i]],
                          *const b = &faults->effects[c->pair[2 * i + 1]];
    if (c->out[i].severity < a->severity && c->out[i].severity < b->severity) {
      const LgDouble two = {c->pair[2 * i], c->pair[2 * i + 1], c->out[i]};
      g_array_append_val(faults->doubles, two);
    } else {
      lg_effect_clear(&c->out[i]);
    }
  }
}

/* The worst faults that are not yet as grave as can be: silent ones first, as nobody mends what he
 * does not know. */
static int choose(const LgCampaign *faults, int most, int chosen[])
{
  int n = 0;
  for (int silent = 1; silent >= 0; silent--)
    for (int k = 0; k < faults->n_causes && n < most; k++) {
      const int i = faults->causes[k].faults[0];
      const LgEffect *const e = &faults->effects[i];
      if (e->severity != LG_SEVERITY_DANGER && !e->fault.restraint &&
          (e->noticed < 0) == (silent == 1))
        chosen[n++] = i;
    }
  return n;
}

static void run_doubles(Campaign *c)
{
  LgCampaign *const faults = c->faults;
  const int most = MIN(c->options->n_pairs, faults->n_causes);
  g_autofree int *chosen = g_new(int, (gsize)most + 1);
  const int n = choose(faults, most, chosen);
  g_autofree int *pair = g_new(int, (gsize)n *(gsize)n + 1);
  c->n = 0;
  for (int i = 0; i < n; i++)
    for (int k = i + 1; k < n; k++) {
      pair[2 * c->n] = chosen[i];
      pair[2 * c->n++ + 1] = chosen[k];
    }
  faults->doubles = g_array_new(FALSE, FALSE, sizeof(LgDouble));
  faults->n_doubles = c->n;
  g_autofree LgEffect *out = g_new0(LgEffect, (gsize)c->n + 1);
  c->out = out;
  c->pair = pair;
  run(c);
  take_doubles(c);
}

static int by_gravity(gconstpointer a, gconstpointer b)
{
  const LgDouble *const x = a, *const y = b;
  const int c = lg_effect_compare(&x->effect, &y->effect);
  return c != 0 ? c : x->first != y->first ? x->first - y->first : x->second - y->second;
}

/* --- all of it --- */

static void begin_effects(LgCampaign *faults)
{
  g_autoptr(GArray) list = lg_failure_list(faults->sizing);
  faults->n_effects = (int)list->len;
  faults->effects = g_new0(LgEffect, (gsize)list->len + 1);
  for (guint i = 0; i < list->len; i++) {
    faults->effects[i].fault = g_array_index(list, LgFailure, i);
    faults->n_not_solved += faults->effects[i].fault.restraint;
  }
}

LgCampaign *lg_campaign_new(const LgSizing *sizing, const LgCampaignOptions *options)
{
  const LgCampaignOptions usual = {0};
  const LgCampaignOptions *const o = options != NULL ? options : &usual;
  LgCampaign *faults = g_new0(LgCampaign, 1);
  faults->sizing = sizing;
  faults->job = sizing->circuit->job;
  begin_effects(faults);
  const guint64 most =
      (o->most_pairs > 0 ? o->most_pairs : MOST_PAIRS) / (guint64)MAX(faults->n_effects, 1);
  g_autoptr(LgStage) stage = lg_stage_new(sizing->circuit, NULL);
  g_autoptr(LgWays) ways = lg_ways_new(sizing->circuit);
  g_autoptr(LgFailureStates) states = lg_failure_states_new(stage, sizing->states, most);
  keep_states(faults, states);
  g_autoptr(LgFailureSolver) solver = lg_failure_solver_new(stage, states, FALSE);
  g_autoptr(LgHealthy) healthy = lg_healthy_new(sizing, stage, states, solver);
  g_autofree LgEffect *out = g_new0(LgEffect, (gsize)faults->n_effects + 1);
  Campaign c = {.faults = faults,
                .healthy = healthy,
                .ways = ways,
                .options = o,
                .n_threads = o->n_threads,
                .out = out,
                .n = faults->n_effects};
  g_mutex_init(&c.lock);
  run(&c);
  memcpy(faults->effects, out, sizeof *out * (gsize)faults->n_effects);
  if (c.stopped) {
    g_mutex_clear(&c.lock);
    lg_campaign_free(faults);
    return NULL;
  }
  faults->n_pairs = (guint64)(faults->n_effects - faults->n_not_solved) * (guint64)faults->n_states;
  faults->n_solved = c.n_solved;
  faults->n_after = c.n_after;
  lg_campaign_group(faults);
  if (o->n_pairs > 0) {
    run_doubles(&c);
    g_array_sort(faults->doubles, by_gravity);
  }
  g_mutex_clear(&c.lock);
  const int n_remedies = o->n_remedies > 0 ? o->n_remedies : N_REMEDIES;
  if (!c.stopped && o->n_remedies >= 0)
    c.stopped = !lg_campaign_find_remedies(faults, n_remedies, o);
  if (c.stopped)
    g_clear_pointer(&faults, lg_campaign_free);
  else if (o->stop != NULL)
    o->stop(1, o->user);
  return faults;
}

void lg_campaign_free(LgCampaign *faults)
{
  if (faults == NULL)
    return;
  for (int i = 0; i < faults->n_effects; i++)
    lg_effect_clear(&faults->effects[i]);
  for (int i = 0; i < faults->n_causes; i++) {
    g_free(faults->causes[i].faults);
    g_free(faults->causes[i].remedy);
  }
  for (guint i = 0; faults->doubles != NULL && i < faults->doubles->len; i++)
    lg_effect_clear(&g_array_index(faults->doubles, LgDouble, i).effect);
  if (faults->doubles != NULL)
    g_array_unref(faults->doubles);
  g_free(faults->effects);
  g_free(faults->causes);
  g_free(faults->positions);
  g_free(faults);
}

const guint8 *lg_campaign_position(const LgCampaign *faults, int state)
{
  g_assert(state >= 0 && state < faults->n_states);
  return faults->positions + (gsize)state * (gsize)faults->n_inputs;
}
