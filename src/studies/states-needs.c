/* Needs: the measure of each in every state to which it applies. */
#include "studies/states-private.h"

typedef struct {
  LgPeak worst;
  guint64 n_tried;
} Watched;

struct LgWatch {
  const LgStage *stage; /* of the walk at hand */
  const LgStage *plain; /* in which steady loads run */
  const LgWays *ways;
  const LgJob *job;
  int only; /* need that is walked on its own, -1: all plain ones */
  Watched *needs;
  guint8 *position;
};

static gboolean is_steady(const LgJob *job, int input)
{
  return job->inputs[input].kind == LG_INPUT_DEMAND &&
         !job->elements[job->inputs[input].element].cycles;
}

/* Positions of an input that the walk of lasting states does not reach. */
static uint64_t out_of_reach(const LgJob *job, int input)
{
  const uint64_t run = 1u << LG_DEMAND_RUN, off = 1u << LG_DEMAND_OFF;
  return job->inputs[input].kind != LG_INPUT_DEMAND ? 0
         : is_steady(job, input)                    ? ~run
                                                    : ~(run | off);
}

static gboolean is_plain(const LgJob *job, const LgNeed *need)
{
  for (int i = 0; i < need->n_when; i++)
    if ((need->when[i].positions & out_of_reach(job, need->when[i].input)) != 0)
      return FALSE;
  return TRUE;
}

static gboolean applies(const LgNeed *need, const int position[])
{
  for (int i = 0; i < need->n_when; i++)
    if ((need->when[i].positions >> position[need->when[i].input] & 1) == 0)
      return FALSE;
  return TRUE;
}

static void measure(const LgWatch *watch, const LgNeed *need, const LgNetBlock *block,
                    double out[LG_LANES])
{
  const LgCircuit *const circuit = watch->stage->circuit;
  double volts[LG_LANES], amps[LG_LANES] = {0};
  if (need->target == LG_TARGET_PIN) {
    memcpy(volts, block->volts[circuit->pin_node[need->index]], sizeof volts);
  } else if (need->target == LG_TARGET_WIRE) {
    lg_net_block_current(watch->stage->net, watch->stage->work, block,
                         watch->stage->branch[circuit->wire_branch[need->index]], amps);
  } else {
    const int *const pin = watch->job->elements[need->index].pin;
    const double *const
        a = block->volts[circuit->pin_node[pin[0]]],
        *const b = block->volts[pin[1] >= 0 ? circuit->pin_node[pin[1]] : circuit->body_node];
    for (int k = 0; k < LG_LANES; k++)
      volts[k] = a[k] - b[k];
    lg_stage_element(watch->stage, block, need->index, amps);
  }
  for (int k = 0; k < LG_LANES; k++) {
    const double value = need->measure == LG_MEASURE_CURRENT ? amps[k]
                         : need->measure == LG_MEASURE_VOLTS ? volts[k]
                                                             : amps[k] * volts[k];
    out[k] = isnan(value) ? 0 : fabs(value);
  }
}

static void see(LgWatch *watch, int index, const LgNetBlock *block)
{
  const LgNeed *const need = &watch->job->needs[index];
  Watched *const watched = &watch->needs[index];
  guint lanes = 0;
  for (int k = 0; k < block->n; k++)
    lanes |= (guint)applies(need, block->position[k]) << k;
  if (lanes == 0)
    return;
  double value[LG_LANES];
  measure(watch, need, block, value);
  for (int k = 0; k < block->n; k++) {
    if ((lanes >> k & 1) == 0)
      continue;
    int rank = -1;
    watched->n_tried++;
    lg_peak_take(&watched->worst, value[k], need->relation == '<' ? 1 : -1, block->position[k],
                 watch->job->n_inputs, &rank);
  }
}

void lg_watch_visit(const LgNetBlock *block, const LgNetWork *work, gpointer user)
{
  LgWatch *const watch = user;
  g_assert(work == watch->stage->work);
  if (watch->only >= 0) {
    see(watch, watch->only, block);
    return;
  }
  for (int i = 0; i < watch->job->n_needs; i++)
    if (is_plain(watch->job, &watch->job->needs[i]))
      see(watch, i, block);
}

/* The next choice of a forced position for each demand in `choices` (bit sets, the position chosen
 * in `demand`); FALSE after the last. */
static gboolean next_demand(const uint64_t choices[], int n_inputs, int demand[])
{
  for (int i = 0; i < n_inputs; i++) {
    if (choices[i] == 0)
      continue;
    const uint64_t above = demand[i] < 0 ? choices[i] : choices[i] >> demand[i] >> 1;
    if (above != 0) {
      demand[i] += 1 + __builtin_ctzll(above);
      return TRUE;
    }
    demand[i] = __builtin_ctzll(choices[i]);
  }
  return FALSE;
}

/* Walks a need in the states that its conditions allow, demands included that no lasting state has.
 */
static void walk_need(LgWatch *watch, int index, guint64 most)
{
  const LgJob *const job = watch->job;
  const LgNeed *const need = &job->needs[index];
  const gsize n = (gsize)job->n_inputs + 1;
  g_autofree uint64_t *allowed = g_new(uint64_t, n), *choices = g_new0(uint64_t, n);
  g_autofree int *demand = g_new(int, n);
  for (gsize i = 0; i < n; i++) {
    allowed[i] = ~(uint64_t)0;
    demand[i] = -1;
  }
  for (int i = 0; i < need->n_when; i++)
    allowed[need->when[i].input] &= need->when[i].positions;
  for (int i = 0; i < job->n_inputs; i++) {
    if (allowed[i] == ~(uint64_t)0 || job->inputs[i].kind != LG_INPUT_DEMAND)
      continue;
    /* A demand that is named stands still, position after position. */
    choices[i] = allowed[i];
    if (choices[i] == 0)
      return;
    demand[i] = __builtin_ctzll(choices[i]);
  }
  watch->only = index;
  do {
    g_autoptr(LgStage) stage = lg_stage_new(watch->plain->circuit, demand);
    watch->stage = stage;
    lg_walk(&(LgLooker){stage, lg_watch_visit, NULL, watch}, watch->ways, allowed, most, NULL);
  } while (next_demand(choices, job->n_inputs, demand));
  watch->only = -1;
  watch->stage = watch->plain;
}

LgWatch *lg_watch_new(const LgStage *stage, const LgWays *ways)
{
  const LgJob *const job = stage->circuit->job;
  LgWatch *const watch = g_new0(LgWatch, 1);
  *watch = (LgWatch){.stage = stage, .plain = stage, .ways = ways, .job = job, .only = -1};
  watch->needs = g_new0(Watched, (gsize)job->n_needs + 1);
  watch->position = g_new0(guint8, (gsize)job->n_needs * (gsize)job->n_inputs + 1);
  for (int i = 0; i < job->n_needs; i++)
    watch->needs[i].worst = (LgPeak){NAN, -1, watch->position + (gsize)i * (gsize)job->n_inputs};
  return watch;
}

void lg_watch_free(LgWatch *watch)
{
  if (watch == NULL)
    return;
  g_free(watch->needs);
  g_free(watch->position);
  g_free(watch);
}

void lg_watch_merge(LgWatch *watch, const LgWatch *other)
{
  for (int i = 0; i < watch->job->n_needs; i++) {
    watch->needs[i].n_tried += other->needs[i].n_tried;
    lg_peak_merge(&watch->needs[i].worst, &other->needs[i].worst,
                  watch->job->needs[i].relation == '<' ? 1 : -1, watch->job->n_inputs);
  }
}

void lg_watch_finish(LgWatch *watch, gboolean in_groups, guint64 most, LgKeeper *keeper,
                     LgStates *states)
{
  const LgJob *const job = watch->job;
  for (int i = 0; i < job->n_needs; i++) {
    const LgNeed *const need = &job->needs[i];
    const gboolean plain = is_plain(job, need);
    if (!plain || (in_groups && need->n_when > 0))
      walk_need(watch, i, most);
    const LgExtreme worst = lg_peak_keep(&watch->needs[i].worst, keeper);
    const gboolean holds =
        need->relation == '<' ? worst.value < need->limit : worst.value > need->limit;
    states->needs[i] = (LgNeedStates){i, worst, holds, watch->needs[i].n_tried};
  }
}
