/* Every state of a job, condensed. */
#include "base/words.h"
#include "studies/states-private.h"

#define MOST_STATES ((guint64)1 << 20)
#define FEW_INPUTS 6     /* fewer make too few states for two */
#define ROUNDING_A 1e-12 /* below it a current at rest is rounding only */

static const LgExtreme never = {NAN, -1};

static void list_companies(LgStates *states)
{
  const LgJob *const job = states->job;
  states->first_company = g_new0(int, (gsize)job->n_wires + 1);
  for (int w = 0; w < job->n_wires; w++)
    states->first_company[w + 1] = states->first_company[w] + job->wires[w].n_runs;
  states->companies = g_new(LgCompany, (gsize)states->first_company[job->n_wires] + 1);
  for (int w = 0; w < job->n_wires; w++)
    for (int r = 0; r < job->wires[w].n_runs; r++)
      states->companies[states->first_company[w] + r] =
          (LgCompany){w, job->wires[w].runs[r], never};
}

static LgStates *new_states(const LgJob *job, const LgCircuit *circuit)
{
  LgStates *const states = g_new0(LgStates, 1);
  states->job = job;
  states->circuit = circuit;
  states->n_inputs = job->n_inputs;
  states->positions = g_array_new(FALSE, FALSE, sizeof(guint8));
  states->wires = g_new(LgWireStates, (gsize)job->n_wires + 1);
  states->elements = g_new(LgElementStates, (gsize)job->n_elements + 1);
  states->pins = g_new0(LgPinStates, (gsize)job->n_pins + 1);
  states->needs = g_new0(LgNeedStates, (gsize)job->n_needs + 1);
  states->chatter = g_array_new(FALSE, FALSE, sizeof(LgOddRelay));
  states->latching = g_array_new(FALSE, FALSE, sizeof(LgOddRelay));
  states->starts = g_array_new(FALSE, FALSE, sizeof(LgStart));
  states->run_loaded = g_new0(int, (gsize)job->n_runs + 1);
  for (int w = 0; w < job->n_wires; w++)
    states->wires[w] = (LgWireStates){never, never};
  for (int e = 0; e < job->n_elements; e++)
    states->elements[e] = (LgElementStates){never, never, never, never, never, never,
                                            never, never, never, never, never};
  list_companies(states);
  return states;
}

typedef struct {
  LgScan *scan;
  LgWatch *watch;
} Both;

static void visit(const LgNetBlock *block, const LgNetWork *work, gpointer user)
{
  const Both *const both = user;
  lg_scan_visit(block, work, both->scan);
  if (both->watch != NULL)
    lg_watch_visit(block, work, both->watch);
}

static void echo(const LgNetBlock *block, const LgNetWork *work, const LgEchoes *echoes,
                 gpointer user)
{
  const Both *const both = user;
  lg_scan_echo(block, echoes, both->scan);
  if (both->watch != NULL)
    lg_watch_visit(block, work, both->watch);
}

static void see_all(const Both *both, const LgStage *stage, const LgWays *ways, guint64 most,
                    LgStates *states)
{
  const gboolean many = states->n_inputs >= FEW_INPUTS;
  g_autofree int *rest = g_new0(int, (gsize)states->n_inputs + 1);
  LgStage other = *stage;
  Both twins = {NULL, NULL};
  if (many) {
    other.work = lg_net_work_new(stage->net);
    twins.scan = lg_scan_new(&other, ways);
    lg_scan_state(twins.scan, rest); /* else all that is dead would tie with what it saw first */
    twins.watch = both->watch != NULL ? lg_watch_new(&other, ways) : NULL;
  }
  const LgLooker looker = {stage, visit, echo, (gpointer)both},
                 twin = {&other, visit, echo, &twins};
  const LgWalked walked = lg_walk(&looker, ways, NULL, most, many ? &twin : NULL);
  states->n_possible = walked.n_possible;
  states->n_solved = walked.n_solved;
  states->n_groups = walked.n_groups;
  states->n_cut = walked.n_cut;
  if (!many)
    return;
  lg_scan_merge(both->scan, twins.scan);
  if (both->watch != NULL)
    lg_watch_merge(both->watch, twins.watch);
  lg_scan_free(twins.scan);
  lg_watch_free(twins.watch);
  lg_net_work_free(other.work);
}

/* Everything at rest is kept first, whether or not it is anybody's extreme. */
static void see_rest(LgStates *states, LgKeeper *keeper, LgScan *scan)
{
  const LgJob *const job = states->job;
  const gsize n = (gsize)job->n_inputs + 1;
  g_autofree guint8 *rest = g_new0(guint8, n);
  g_autoptr(LgNetWork) work = lg_net_work_new(states->circuit->net);
  g_autoptr(LgPoint) point = lg_point_new(states->circuit);
  lg_keeper_keep(keeper, rest);
  lg_circuit_solve(states->circuit, work, point);
  lg_scan_state(scan, point->position);
  for (int e = 0; e < job->n_elements; e++)
    states->elements[e].rest_A =
        (LgExtreme){fabs(point->element_A[e]) < ROUNDING_A ? 0 : fabs(point->element_A[e]), 0};
}

LgStates *lg_states_new(const LgJob *job, const LgCircuit *circuit, const LgStatesOptions *options)
{
  const guint64 most =
      options != NULL && options->most_states > 0 ? options->most_states : MOST_STATES;
  LgStates *const states = new_states(job, circuit);
  LgKeeper *const keeper = lg_keeper_new(states);
  g_autoptr(LgStage) stage = lg_stage_new(circuit, NULL);
  g_autoptr(LgWays) ways = lg_ways_new(circuit);
  g_autoptr(LgScan) scan = lg_scan_new(stage, ways);
  const gboolean no_needs = options != NULL && options->no_needs;
  g_autoptr(LgWatch) watch = no_needs ? NULL : lg_watch_new(stage, ways);
  stage->provisional = no_needs;
  see_rest(states, keeper, scan);
  see_all(&(Both){scan, watch}, stage, ways, most, states);
  lg_scan_finish(scan, keeper, states);
  if (watch != NULL)
    lg_watch_finish(watch, states->n_groups > 1, most, keeper, states);
  lg_states_brief(states, keeper);
  lg_keeper_free(keeper);
  return states;
}

void lg_states_free(LgStates *states)
{
  if (states == NULL)
    return;
  g_array_unref(states->positions);
  g_array_unref(states->chatter);
  g_array_unref(states->latching);
  g_array_unref(states->starts);
  g_free(states->wires);
  g_free(states->elements);
  g_free(states->pins);
  g_free(states->needs);
  g_free(states->run_loaded);
  g_free(states->companies);
  g_free(states->first_company);
  g_free(states);
}

const guint8 *lg_states_position(const LgStates *states, int state)
{
  g_assert(state >= 0 && state < states->n_kept);
  return (const guint8 *)(const void *)states->positions->data +
         (gsize)state * (gsize)states->n_inputs;
}

char *lg_state_words(const LgJob *job, const guint8 position[])
{
  GString *const words = g_string_new(NULL);
  for (int i = 0; i < job->n_inputs; i++)
    if (position[i] != 0)
      g_string_append_printf(words, "%s%s=%s", words->len > 0 ? " " : "", job->inputs[i].name,
                             job->inputs[i].positions[position[i]]);
  if (words->len == 0)
    g_string_append(words, T_("everything at rest"));
  return g_string_free(words, FALSE);
}
