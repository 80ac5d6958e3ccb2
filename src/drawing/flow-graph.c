/* The job as a graph: which wires and devices are drawn, how far down each point lies, and where
 * the graph is cut from the start. */
#include "drawing/flow-private.h"
#include <math.h>
#include <string.h>

/* Lengths of the ways from the sources and to the body: a device that turns power into use counts
 * as many wires, so that all that feeds lies above it and all that returns below. */
#define LOAD_LENGTH 50.0
#define OTHER_LENGTH 1.0

#define MANY_ON_A_RAIL 5 /* branches of a point on the feed side that make it a rail */
#define MANY_RETURNS 7   /* and on the return side, where the ends become tags */

static gboolean is_class(const LgJob *job, int pin, const char *word)
{
  return strcmp(job->parts[job->pins[pin].part].class_word, word) == 0;
}

static gboolean is_use(LgElementKind kind)
{
  return lg_element_is_load(kind) || kind == LG_EL_COIL || kind == LG_EL_RESISTOR ||
         kind == LG_EL_THERMISTOR || kind == LG_EL_LED || kind == LG_EL_BUZZER;
}

/* A device that nothing would miss when one of its terminals has no wire. */
static gboolean is_passage(LgElementKind kind)
{
  return lg_element_is_contact(kind) || lg_element_is_protection(kind) || kind == LG_EL_LINK ||
         kind == LG_EL_LED || kind == LG_EL_RESISTOR || kind == LG_EL_COIL ||
         kind == LG_EL_ELECTRONIC;
}

static void add_edges(LgFlowGraph *graph)
{
  const LgJob *const job = graph->job;
  graph->edges = g_new0(LgFlowEdge, (gsize)(job->n_wires + job->n_elements) + 1);
  for (int w = 0; w < job->n_wires; w++) {
    const int *const pin = job->wires[w].pin;
    if (pin[0] != pin[1] && !(graph->stop[pin[0]] && graph->stop[pin[1]]))
      graph->edges[graph->n_edges++] =
          (LgFlowEdge){.is_wire = TRUE, .index = w, .end = {pin[0], pin[1]}};
  }
  for (int e = 0; e < job->n_elements; e++) {
    const LgElement *const element = &job->elements[e];
    const int *const pin = element->pin;
    if (element->kind != LG_EL_CHASSIS && pin[0] >= 0 && pin[1] >= 0 && pin[0] != pin[1] &&
        !graph->stop[pin[0]] && !graph->stop[pin[1]])
      graph->edges[graph->n_edges++] = (LgFlowEdge){.index = e, .end = {pin[0], pin[1]}};
  }
}

static void count_at_pins(const LgFlowGraph *graph, int degree[], int wires[])
{
  memset(degree, 0, sizeof(int) * (gsize)graph->job->n_pins);
  memset(wires, 0, sizeof(int) * (gsize)graph->job->n_pins);
  for (int e = 0; e < graph->n_edges; e++)
    for (int k = 0; k < 2; k++) {
      degree[graph->edges[e].end[k]]++;
      wires[graph->edges[e].end[k]] += graph->edges[e].is_wire;
    }
}

/* Leaves out contacts, fuses and the like that end at a terminal without a wire, until none is
 * left; and parts on which there is no wire at all. */
static void prune(LgFlowGraph *graph)
{
  const LgJob *const job = graph->job;
  g_autofree int *degree = g_new0(int, (gsize)job->n_pins + 1);
  g_autofree int *wires = g_new0(int, (gsize)job->n_pins + 1);
  g_autofree int *wired = g_new0(int, (gsize)job->n_parts + 1);
  count_at_pins(graph, degree, wires);
  for (int p = 0; p < job->n_pins; p++)
    wired[job->pins[p].part] += wires[p];
  for (int before = -1; before != graph->n_edges;) {
    before = graph->n_edges;
    count_at_pins(graph, degree, wires);
    int kept = 0;
    for (int e = 0; e < graph->n_edges; e++) {
      const LgFlowEdge edge = graph->edges[e];
      const LgElement *const element = edge.is_wire ? NULL : &job->elements[edge.index];
      const gboolean loose = degree[edge.end[0]] == 1 || degree[edge.end[1]] == 1;
      if (element != NULL && (wired[element->part] == 0 || (loose && is_passage(element->kind)))) {
        graph->spare[edge.end[0]] |= wires[edge.end[0]] == 0;
        graph->spare[edge.end[1]] |= wires[edge.end[1]] == 0;
      } else {
        graph->edges[kept++] = edge;
      }
    }
    graph->n_edges = kept;
  }
}

static void index_edges(LgFlowGraph *graph)
{
  const int n = graph->job->n_pins;
  graph->first = g_new0(int, (gsize)n + 2);
  graph->incident = g_new0(int, 2 * (gsize)graph->n_edges + 1);
  for (int e = 0; e < graph->n_edges; e++)
    for (int k = 0; k < 2; k++)
      graph->first[graph->edges[e].end[k] + 1]++;
  for (int p = 0; p < n; p++)
    graph->first[p + 1] += graph->first[p];
  g_autofree int *next = g_memdup2(graph->first, sizeof(int) * ((gsize)n + 1));
  for (int e = 0; e < graph->n_edges; e++)
    for (int k = 0; k < 2; k++)
      graph->incident[next[graph->edges[e].end[k]]++] = e;
}

/* Shortest ways from the points in `queue`, whose lengths are 0. */
static void measure_ways(const LgFlowGraph *graph, GQueue *queue, double length[])
{
  while (!g_queue_is_empty(queue)) {
    const int pin = GPOINTER_TO_INT(g_queue_pop_head(queue));
    for (int k = graph->first[pin]; k < graph->first[pin + 1]; k++) {
      const LgFlowEdge *const edge = &graph->edges[graph->incident[k]];
      const LgElementKind kind =
          edge->is_wire ? LG_EL_LINK : graph->job->elements[edge->index].kind;
      const int other = lg_flow_other(edge, pin);
      const double way = length[pin] + (is_use(kind) ? LOAD_LENGTH : OTHER_LENGTH);
      if (lg_element_is_source(kind) || way >= length[other])
        continue;
      length[other] = way;
      g_queue_push_tail(queue, GINT_TO_POINTER(other));
    }
  }
}

static int hot_end(const LgJob *job)
{
  return job->positive_ground ? 1 : 0;
}

static void start_at(GQueue *queue, double length[], int pin)
{
  if (pin >= 0 && length[pin] > 0) {
    length[pin] = 0;
    g_queue_push_tail(queue, GINT_TO_POINTER(pin));
  }
}

static void find_down(LgFlowGraph *graph)
{
  const LgJob *const job = graph->job;
  const gsize n = (gsize)job->n_pins + 1;
  g_autofree double *fed = g_new(double, n);
  g_autofree double *back = g_new(double, n);
  g_autoptr(GQueue) sources = g_queue_new();
  g_autoptr(GQueue) returns = g_queue_new();
  graph->down = g_new0(double, n);
  for (gsize p = 0; p < n; p++)
    fed[p] = back[p] = INFINITY;
  for (int e = 0; e < job->n_elements; e++) {
    const LgElement *const element = &job->elements[e];
    if (lg_element_is_source(element->kind)) {
      start_at(sources, fed, element->pin[hot_end(job)]);
      start_at(returns, back, element->pin[1 - hot_end(job)]);
    } else if (element->kind == LG_EL_CHASSIS) {
      start_at(returns, back, element->pin[0]);
    }
  }
  measure_ways(graph, sources, fed);
  measure_ways(graph, returns, back);
  for (int p = 0; p < job->n_pins; p++)
    graph->down[p] = isinf(fed[p]) && isinf(back[p]) ? 0.5
                     : isinf(fed[p])                 ? 0.75
                     : isinf(back[p])                ? 0.25
                     : fed[p] + back[p] > 0          ? fed[p] / (fed[p] + back[p])
                                                     : 0.5;
}

static gboolean is_key_output(const LgJob *job, int pin)
{
  if (!is_class(job, pin, "key"))
    return FALSE;
  const LgPart *const part = &job->parts[job->pins[pin].part];
  for (int e = part->first_element; e < part->first_element + part->n_elements; e++)
    if (job->elements[e].pin[1] == pin)
      return TRUE;
  return FALSE;
}

static void cut_at_the_body(LgFlowGraph *graph)
{
  const LgJob *const job = graph->job;
  gboolean has_body = FALSE;
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_CHASSIS && job->elements[e].pin[0] >= 0 &&
        lg_flow_degree(graph, job->elements[e].pin[0]) > 0) {
      graph->cut[job->elements[e].pin[0]] = LG_CUT_GROUND;
      has_body = TRUE;
    }
  for (int e = 0; e < job->n_elements && !has_body; e++)
    if (lg_element_is_source(job->elements[e].kind) && job->elements[e].pin[1] >= 0) {
      graph->cut[job->elements[e].pin[1 - hot_end(job)]] = LG_CUT_GROUND;
      return;
    }
}

static void cut_at_rails(LgFlowGraph *graph)
{
  const LgJob *const job = graph->job;
  for (int e = 0; e < job->n_elements; e++) {
    const int hot = job->elements[e].kind == LG_EL_CELL ? job->elements[e].pin[hot_end(job)] : -1;
    if (hot >= 0 && graph->cut[hot] == LG_CUT_NO && lg_flow_degree(graph, hot) >= 2)
      graph->cut[hot] = LG_CUT_RAIL;
  }
  for (int p = 0; p < job->n_pins; p++) {
    const int most = graph->down[p] < 0.5 ? MANY_ON_A_RAIL : MANY_RETURNS;
    if (graph->cut[p] == LG_CUT_NO && (lg_flow_degree(graph, p) >= most ||
                                       (is_key_output(job, p) && lg_flow_degree(graph, p) >= 2)))
      graph->cut[p] = LG_CUT_RAIL;
  }
}

static gboolean is_framed(const LgPart *part)
{
  static const char *const words[] = {"assembly", "module", "thermostat", NULL};
  return g_strv_contains(words, part->class_word) && part->n_elements + part->n_pins > 4;
}

/* Parts that the donor's own wires tie to an assembly lie within its frame. */
static void spread_group(LgFlowGraph *graph, int part)
{
  const LgJob *const job = graph->job;
  g_autoptr(GQueue) queue = g_queue_new();
  graph->group[part] = part;
  g_queue_push_tail(queue, GINT_TO_POINTER(part));
  while (job->parts[part].is == LG_IS_DONOR && !g_queue_is_empty(queue)) {
    const LgPart *const from = &job->parts[GPOINTER_TO_INT(g_queue_pop_head(queue))];
    for (int p = from->first_pin; p < from->first_pin + from->n_pins; p++)
      for (int k = graph->first[p]; k < graph->first[p + 1]; k++) {
        const LgFlowEdge *const edge = &graph->edges[graph->incident[k]];
        const int other = job->pins[lg_flow_other(edge, p)].part;
        if (edge->is_wire && job->wires[edge->index].is == LG_IS_DONOR &&
            job->parts[other].is == LG_IS_DONOR && graph->group[other] < 0) {
          graph->group[other] = part;
          g_queue_push_tail(queue, GINT_TO_POINTER(other));
        }
      }
  }
}

static void find_groups(LgFlowGraph *graph)
{
  const LgJob *const job = graph->job;
  graph->group = g_new(int, (gsize)job->n_parts + 1);
  for (int p = 0; p < job->n_parts; p++)
    graph->group[p] = -1;
  for (int p = 0; p < job->n_parts; p++)
    if (graph->group[p] < 0 && is_framed(&job->parts[p]))
      spread_group(graph, p);
}

int lg_flow_edge_group(const LgFlowGraph *graph, int edge)
{
  const LgJob *const job = graph->job;
  const LgFlowEdge *const e = &graph->edges[edge];
  if (!e->is_wire)
    return graph->group[job->elements[e->index].part];
  const int a = graph->group[job->pins[e->end[0]].part];
  const int b = graph->group[job->pins[e->end[1]].part];
  return a == b && job->wires[e->index].is == LG_IS_DONOR ? a : -1;
}

gboolean lg_flow_has_mark(const LgFlowGraph *graph, int pin)
{
  static const char *const words[] = {"stud",     "splice", "connector",  "ground",
                                      "assembly", "module", "thermostat", NULL};
  return g_strv_contains(words, graph->job->parts[graph->job->pins[pin].part].class_word);
}

LgFlowGraph *lg_flow_graph_new(const LgJob *job, const LgFlowOptions *options)
{
  LgFlowGraph *const graph = g_new0(LgFlowGraph, 1);
  const gsize n = (gsize)job->n_pins + 1;
  graph->job = job;
  if (options != NULL)
    graph->options = *options;
  if (graph->options.width_mm <= 0 || graph->options.height_mm <= 0) {
    graph->options.width_mm = 297;
    graph->options.height_mm = 210;
  }
  graph->texts = g_string_chunk_new(4096);
  graph->cut = g_new0(LgCut, n);
  graph->stop = g_new0(gboolean, n);
  graph->spare = g_new0(gboolean, n);
  graph->hanging = g_new0(int, n);
  graph->feeding = g_new0(int, n);
  for (int p = 0; p < job->n_pins; p++)
    graph->stop[p] = job->pins[p].restraint != LG_RESTRAINT_NO;
  add_edges(graph);
  prune(graph);
  index_edges(graph);
  find_down(graph);
  cut_at_the_body(graph);
  cut_at_rails(graph);
  find_groups(graph);
  graph->n_digits = graph->n_edges < 150 ? 2 : graph->n_edges < 1500 ? 3 : 4;
  lg_flow_make_edge_items(graph);
  return graph;
}

void lg_flow_graph_free(LgFlowGraph *graph)
{
  if (graph == NULL)
    return;
  g_free(graph->edges);
  g_free(graph->first);
  g_free(graph->incident);
  g_free(graph->down);
  g_free(graph->cut);
  g_free(graph->stop);
  g_free(graph->spare);
  g_free(graph->group);
  g_free(graph->hanging);
  g_free(graph->feeding);
  g_free(graph->edge_items);
  g_string_chunk_free(graph->texts);
  g_free(graph);
}
