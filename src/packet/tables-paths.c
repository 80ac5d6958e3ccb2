/* Paths of current: which parts and wires a load's current passes, from the source and back. */
#include "base/words.h"
#include "packet/tables-private.h"
#include <math.h>

/* A way out of a node: a wire or an element, with its current. */
typedef struct {
  LgStep step;
  int node[2];
  double current_A; /* from node[0] to node[1] */
} Way;

typedef struct {
  const LgJob *job;
  const LgCircuit *circuit;
  Way *ways;
  int n_ways, n_nodes;
  int *first, *list; /* ways at node n: list[first[n]..first[n + 1]) */
  int *seen;         /* [n_nodes] stamp */
  int stamp;
} Flow;

gboolean lg_element_is_end(LgElementKind kind)
{
  return lg_element_is_load(kind) || kind == LG_EL_COIL || kind == LG_EL_THERMISTOR;
}

static void list_ways(Flow *flow)
{
  for (int w = 0; w < flow->n_ways; w++)
    for (int k = 0; k < 2; k++)
      flow->first[flow->ways[w].node[k] + 1]++;
  for (int n = 0; n < flow->n_nodes; n++)
    flow->first[n + 1] += flow->first[n];
  g_autofree int *fill = g_memdup2(flow->first, (gsize)flow->n_nodes * sizeof(int));
  for (int w = 0; w < flow->n_ways; w++)
    for (int k = 0; k < 2; k++)
      flow->list[fill[flow->ways[w].node[k]]++] = w;
}

static void flow_init(Flow *flow, const LgCircuit *circuit)
{
  const LgJob *const job = circuit->job;
  *flow = (Flow){.job = job, .circuit = circuit, .n_nodes = lg_net_n_nodes(circuit->net)};
  flow->ways = g_new0(Way, (gsize)(job->n_wires + job->n_elements) + 1);
  for (int w = 0; w < job->n_wires; w++)
    flow->ways[flow->n_ways++] =
        (Way){{TRUE, w},
              {circuit->pin_node[job->wires[w].pin[0]], circuit->pin_node[job->wires[w].pin[1]]},
              0};
  for (int e = 0; e < job->n_elements; e++) {
    const int *const pin = job->elements[e].pin;
    if (circuit->element_branch[e] >= 0)
      flow->ways[flow->n_ways++] = (Way){
          {FALSE, e},
          {circuit->pin_node[pin[0]], pin[1] >= 0 ? circuit->pin_node[pin[1]] : circuit->body_node},
          0};
  }
  flow->first = g_new0(int, (gsize)flow->n_nodes + 2);
  flow->list = g_new0(int, 2 * (gsize)flow->n_ways + 1);
  flow->seen = g_new0(int, (gsize)flow->n_nodes + 1);
  list_ways(flow);
}

static void flow_clear(Flow *flow)
{
  g_free(flow->ways);
  g_free(flow->first);
  g_free(flow->list);
  g_free(flow->seen);
}

static void take_currents(Flow *flow, const LgPoint *point)
{
  for (int w = 0; w < flow->n_ways; w++) {
    const LgStep step = flow->ways[w].step;
    flow->ways[w].current_A =
        step.is_wire ? point->wire_A[step.index] : point->element_A[step.index];
  }
}

static gboolean is_source(const Flow *flow, LgStep step)
{
  return !step.is_wire && lg_element_is_source(flow->job->elements[step.index].kind);
}

/* Current that comes into `node` by this way (`up`), or leaves it. */
static double current_at(const Way *way, int node, gboolean up)
{
  const double into = way->node[1] == node ? way->current_A : -way->current_A;
  return up ? into : -into;
}

/* The main line: the greatest current at each node, until a source is reached. */
static void follow(Flow *flow, int node, gboolean up, GArray *steps)
{
  flow->stamp++;
  while (flow->seen[node] != flow->stamp) {
    flow->seen[node] = flow->stamp;
    const Way *best = NULL;
    for (int i = flow->first[node]; i < flow->first[node + 1]; i++) {
      const Way *const way = &flow->ways[flow->list[i]];
      if (current_at(way, node, up) > 0 &&
          (best == NULL || current_at(way, node, up) > current_at(best, node, up)))
        best = way;
    }
    if (best == NULL)
      return;
    g_array_append_val(steps, best->step);
    if (is_source(flow, best->step))
      return;
    node = best->node[best->node[0] == node ? 1 : 0];
  }
}

static gboolean contains(const GArray *list, int value)
{
  for (guint i = 0; i < list->len; i++)
    if (g_array_index(list, int, i) == value)
      return TRUE;
  return FALSE;
}

/* Every wire on the way, parallel ones too, carries for `element`. */
static void mark(Flow *flow, int from, gboolean up, double least_A, int element, GArray **users)
{
  g_autoptr(GArray) todo = g_array_new(FALSE, FALSE, sizeof(int));
  flow->stamp++;
  flow->seen[from] = flow->stamp;
  g_array_append_val(todo, from);
  while (todo->len > 0) {
    const int node = g_array_index(todo, int, todo->len - 1);
    g_array_set_size(todo, todo->len - 1);
    for (int i = flow->first[node]; i < flow->first[node + 1]; i++) {
      const Way *const way = &flow->ways[flow->list[i]];
      const int other = way->node[way->node[0] == node ? 1 : 0];
      if (!(current_at(way, node, up) > least_A) || is_source(flow, way->step))
        continue;
      if (way->step.is_wire) {
        GArray *const list = users[way->step.index];
        if (!contains(list, element))
          g_array_append_val(list, element);
      }
      if (flow->seen[other] != flow->stamp) {
        flow->seen[other] = flow->stamp;
        g_array_append_val(todo, other);
      }
    }
  }
}

/* A way counts from this share of the load's own current. */
#define LEAST_SHARE 1e-4

/* The nodes where the current goes into an element, and where it comes out. */
static void ends_of(const Flow *flow, int element, double current_A, int ends[2])
{
  const LgElement *const e = &flow->job->elements[element];
  for (int k = 0; k < 2; k++)
    ends[k] = flow->circuit->pin_node[e->pin[current_A > 0 ? k : 1 - k]];
}

static void mark_both(LgPaths *paths, Flow *flow, int element, double current_A)
{
  int ends[2];
  ends_of(flow, element, current_A, ends);
  for (int k = 0; k < 2; k++)
    mark(flow, ends[k], k == 0, LEAST_SHARE * fabs(current_A), element, paths->users);
}

static void trace(LgPaths *paths, Flow *flow, int element, double current_A)
{
  int ends[2];
  ends_of(flow, element, current_A, ends);
  GArray *const steps = paths->path[element] = g_array_new(FALSE, FALSE, sizeof(LgStep));
  follow(flow, ends[0], TRUE, steps);
  for (guint i = 0; i < steps->len / 2; i++) {
    const LgStep swap = g_array_index(steps, LgStep, i);
    g_array_index(steps, LgStep, i) = g_array_index(steps, LgStep, steps->len - 1 - i);
    g_array_index(steps, LgStep, steps->len - 1 - i) = swap;
  }
  const LgStep own = {FALSE, element};
  g_array_append_val(steps, own);
  follow(flow, ends[1], FALSE, steps);
  mark_both(paths, flow, element, current_A);
}

#define LEAST_A 1e-9

static void solve(const Flow *flow, LgPoint *point, LgNetWork *work, const guint8 position[],
                  gboolean engine)
{
  for (int i = 0; i < flow->job->n_inputs; i++)
    point->position[i] = engine || !lg_input_is_charger(flow->job, i) ? position[i] : 0;
  lg_circuit_solve(flow->circuit, work, point);
}

/* Loads first, then coils and thermistors: a wire is named after what it feeds. */
static void trace_all(LgPaths *paths, Flow *flow, LgPoint *point, LgNetWork *work, gboolean loads)
{
  const LgStates *const states = paths->sizing->states;
  for (int e = 0; e < flow->job->n_elements; e++) {
    const LgElementKind kind = flow->job->elements[e].kind;
    const int state = states->elements[e].most_A.state;
    if (!lg_element_is_end(kind) || lg_element_is_load(kind) != loads || state < 0 ||
        flow->job->elements[e].pin[1] < 0)
      continue;
    const guint8 *const position = lg_states_position(states, state);
    /* From the battery, where the path does not need the engine. */
    solve(flow, point, work, position, FALSE);
    if (fabs(point->element_A[e]) <= LEAST_A)
      solve(flow, point, work, position, TRUE);
    if (fabs(point->element_A[e]) <= LEAST_A)
      continue;
    take_currents(flow, point);
    trace(paths, flow, e, point->element_A[e]);
  }
}

/* Wires that no load used in its own worst state: another switch position, or the engine. */
static void trace_rest(LgPaths *paths, Flow *flow, LgPoint *point, LgNetWork *work)
{
  const LgStates *const states = paths->sizing->states;
  for (int w = 0; w < flow->job->n_wires; w++) {
    const LgExtreme most = states->wires[w].most_A;
    if (paths->users[w]->len > 0 || most.state < 0 || !(most.value > LEAST_A))
      continue;
    solve(flow, point, work, lg_states_position(states, most.state), TRUE);
    take_currents(flow, point);
    for (int e = 0; e < flow->job->n_elements; e++)
      if (lg_element_is_end(flow->job->elements[e].kind) && flow->job->elements[e].pin[1] >= 0 &&
          fabs(point->element_A[e]) > LEAST_A)
        mark_both(paths, flow, e, point->element_A[e]);
  }
}

LgPaths *lg_paths_new(const LgSizing *sizing)
{
  const LgCircuit *const circuit = sizing->circuit;
  const LgJob *const job = circuit->job;
  LgPaths *const paths = g_new0(LgPaths, 1);
  paths->sizing = sizing;
  paths->path = g_new0(GArray *, (gsize)job->n_elements + 1);
  paths->users = g_new0(GArray *, (gsize)job->n_wires + 1);
  for (int w = 0; w < job->n_wires; w++)
    paths->users[w] = g_array_new(FALSE, FALSE, sizeof(int));
  g_autoptr(LgNetWork) work = lg_net_work_new(circuit->net);
  g_autoptr(LgPoint) point = lg_point_new(circuit);
  Flow flow;
  flow_init(&flow, circuit);
  trace_all(paths, &flow, point, work, TRUE);
  trace_all(paths, &flow, point, work, FALSE);
  trace_rest(paths, &flow, point, work);
  flow_clear(&flow);
  return paths;
}

void lg_paths_free(LgPaths *paths)
{
  if (paths == NULL)
    return;
  const LgJob *const job = paths->sizing->circuit->job;
  for (int e = 0; e < job->n_elements; e++)
    g_clear_pointer(&paths->path[e], g_array_unref);
  for (int w = 0; w < job->n_wires; w++)
    g_array_unref(paths->users[w]);
  g_free(paths->path);
  g_free(paths->users);
  g_free(paths);
}

static const char *step_name(const LgJob *job, LgStep step)
{
  return step.is_wire ? job->wires[step.index].name : lg_words_name(job, step.index);
}

char *lg_paths_words(const LgPaths *paths, int element)
{
  const LgJob *const job = paths->sizing->circuit->job;
  g_autoptr(GString) words = g_string_new(NULL);
  for (guint i = 0; paths->path[element] != NULL && i < paths->path[element]->len; i++)
    lg_words_add(words, " > ", step_name(job, g_array_index(paths->path[element], LgStep, i)));
  return g_string_free(g_steal_pointer(&words), FALSE);
}

#define MOST_NAMED 3

char *lg_paths_users(const LgPaths *paths, int wire)
{
  const LgJob *const job = paths->sizing->circuit->job;
  const GArray *const users = paths->users[wire];
  if (users->len == 0)
    return g_strdup(T_("no current in any state"));
  if (users->len > MOST_NAMED)
    return lg_words_count(users->len, T_("circuit"), T_("circuits"));
  g_autoptr(GString) words = g_string_new(NULL);
  for (guint i = 0; i < users->len; i++)
    lg_words_add(words, ", ", step_name(job, (LgStep){FALSE, g_array_index(users, int, i)}));
  return g_string_free(g_steal_pointer(&words), FALSE);
}
