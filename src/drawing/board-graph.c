/* The board's tree: from wires, runs and places to nodes and branches. */
#include "base/words.h"
#include "drawing/board-private.h"
#include <math.h>
#include <string.h>

typedef struct {
  LgBoard *board;
  const LgJob *job;
  GArray *branches; /* LgBoardBranch */
  int *node_of_place, *node_of_part;
} Graph;

static gboolean is_splice(const LgPart *part)
{
  return strcmp(part->class_word, "splice") == 0;
}

static gboolean passes_a_run(const LgWire *wire)
{
  return wire->n_runs > 0;
}

/* Length of a wire along its runs, m; NAN when one has none. */
static double along_runs(const LgJob *job, const LgWire *wire)
{
  double sum = 0;
  for (int i = 0; i < wire->n_runs; i++)
    sum += job->runs[wire->runs[i]].length_m;
  return sum;
}

/* What each end of a wire has beyond its runs, mm: half of the rest and of its spare. */
static double end_length(const LgJob *job, const LgWire *wire)
{
  const double runs_m = along_runs(job, wire);
  const double rest_m = isnan(runs_m) ? 0 : wire->length_m - runs_m;
  return 500 * (rest_m + wire->spare_m);
}

#define SPLICE_STEP_MM 30
#define SPLICE_LEAST_MM 20

/* Shortest end of the wires that come along runs to a part. */
static double least_end(const LgJob *job, int part)
{
  double least = NAN;
  for (int w = 0; w < job->n_wires; w++)
    for (int k = 0; k < 2; k++)
      if (job->wires[w].is == LG_IS_NEW && passes_a_run(&job->wires[w]) &&
          job->pins[job->wires[w].pin[k]].part == part)
        least = fmin(least, end_length(job, &job->wires[w]));
  return least;
}

double lg_splice_distance(const LgJob *job, int part)
{
  const double end = least_end(job, part);
  int before = 0;
  for (int i = 0; i < part; i++)
    before += is_splice(&job->parts[i]) && job->parts[i].place == job->parts[part].place &&
              !isnan(least_end(job, i));
  return isnan(end) ? NAN : fmax(end - SPLICE_STEP_MM * before, SPLICE_LEAST_MM);
}

static int new_node(Graph *g, int place, int part)
{
  int *const known = place >= 0 ? &g->node_of_place[place] : &g->node_of_part[part];
  if (*known < 0) {
    *known = g->board->n_nodes;
    g->board->nodes[g->board->n_nodes++] =
        (LgBoardNode){.place = place, .part = part, .parent = -1};
  }
  return *known;
}

/* The branch between two nodes, made when there is none. */
static LgBoardBranch *branch_between(Graph *g, LgBoardKind kind, int run, int a, int b)
{
  for (guint i = 0; i < g->branches->len; i++) {
    LgBoardBranch *const known = &g_array_index(g->branches, LgBoardBranch, i);
    if (known->kind == kind && known->run == run &&
        ((known->node[0] == a && known->node[1] == b) ||
         (known->node[0] == b && known->node[1] == a)))
      return known;
  }
  const LgBoardBranch branch = {.kind = kind,
                                .run = run,
                                .node = {a, b},
                                .wires = g_array_new(FALSE, FALSE, sizeof(int)),
                                .length_mm = run >= 0 ? 1e3 * g->job->runs[run].length_m : 0};
  g_array_append_val(g->branches, branch);
  return &g_array_index(g->branches, LgBoardBranch, g->branches->len - 1);
}

/* The place where a wire's runs begin, seen from its first end. */
static int first_place(const LgJob *job, const LgWire *wire)
{
  const LgRun *const first = &job->runs[wire->runs[0]];
  if (wire->n_runs > 1) {
    const LgRun *const next = &job->runs[wire->runs[1]];
    return first->from == next->from || first->from == next->to ? first->to : first->from;
  }
  const int a = job->parts[job->pins[wire->pin[0]].part].place;
  const int b = job->parts[job->pins[wire->pin[1]].part].place;
  return a == first->to || (a != first->from && b == first->from) ? first->to : first->from;
}

static void add_stub(Graph *g, int place, int part, int w)
{
  const int a = new_node(g, place, -1), b = new_node(g, -1, part);
  LgBoardBranch *const stub = branch_between(g, LG_BOARD_STUB, -1, a, b);
  const double splice = is_splice(&g->job->parts[part]) ? lg_splice_distance(g->job, part) : NAN;
  stub->length_mm =
      isnan(splice) ? fmax(stub->length_mm, end_length(g->job, &g->job->wires[w])) : splice;
  g_array_append_val(stub->wires, w);
}

static void add_through(Graph *g, int w)
{
  const LgWire *const wire = &g->job->wires[w];
  int place = first_place(g->job, wire);
  add_stub(g, place, g->job->pins[wire->pin[0]].part, w);
  for (int i = 0; i < wire->n_runs; i++) {
    const LgRun *const run = &g->job->runs[wire->runs[i]];
    const int next = run->from == place ? run->to : run->from;
    const int a = new_node(g, place, -1), b = new_node(g, next, -1);
    LgBoardBranch *const branch = branch_between(g, LG_BOARD_RUN, wire->runs[i], a, b);
    g_array_append_val(branch->wires, w);
    place = next;
  }
  add_stub(g, place, g->job->pins[wire->pin[1]].part, w);
}

static void say(LgBoard *board, char *words)
{
  g_ptr_array_add(board->breaks, words);
}

static char *metres(const LgBoard *board, double mm)
{
  return lg_quantity_print(1e-3 * mm, LG_DIM_LENGTH, board->route->job->habit, 3);
}

static void add_local(Graph *g, int w)
{
  const LgWire *const wire = &g->job->wires[w];
  const int p = g->job->pins[wire->pin[0]].part, q = g->job->pins[wire->pin[1]].part;
  const double whole = 1e3 * (wire->length_m + wire->spare_m);
  if (p == q) {
    g_autofree char *long_m = metres(g->board, whole);
    say(g->board, g_strdup_printf(T_("%s, %s: a loop at %s, not drawn."), wire->name, long_m,
                                  g->job->parts[p].name));
    return;
  }
  const int a = new_node(g, -1, p), b = new_node(g, -1, q);
  LgBoardBranch *const branch = branch_between(g, LG_BOARD_LOCAL, -1, a, b);
  branch->length_mm = fmax(branch->length_mm, whole);
  g_array_append_val(branch->wires, w);
}

static void add_wires(Graph *g)
{
  for (int w = 0; w < g->job->n_wires; w++) {
    const LgWire *const wire = &g->job->wires[w];
    if (wire->is != LG_IS_NEW)
      continue;
    if (!passes_a_run(wire)) {
      add_local(g, w);
      continue;
    }
    const double end = end_length(g->job, wire);
    if (end < 0) {
      g_autofree char *missing = metres(g->board, -2 * end);
      say(g->board, g_strdup_printf(T_("%s is %s shorter than its runs: measure again."),
                                    wire->name, missing));
    }
    add_through(g, w);
  }
}

static int find_root(int *up, int node)
{
  while (up[node] != node)
    node = up[node] = up[up[node]];
  return node;
}

/* Runs first, those with most wires before the others; then stubs; then wires from part to part,
 * the shortest first. */
static int compare_branches(gconstpointer a, gconstpointer b, gpointer user)
{
  const GArray *const branches = user;
  const int i = *(const int *)a, j = *(const int *)b;
  const LgBoardBranch *const u = &g_array_index(branches, LgBoardBranch, i), *const v =
                                                                                 &g_array_index(
                                                                                     branches,
                                                                                     LgBoardBranch,
                                                                                     j);
  if (u->kind != v->kind)
    return u->kind < v->kind ? -1 : 1;
  if (u->kind == LG_BOARD_LOCAL && u->length_mm != v->length_mm)
    return u->length_mm < v->length_mm ? -1 : 1;
  if (u->wires->len != v->wires->len)
    return u->wires->len > v->wires->len ? -1 : 1;
  return i - j;
}

static const char *node_name(const LgBoard *board, int node)
{
  const LgBoardNode *const n = &board->nodes[node];
  return n->place >= 0 ? board->route->job->places[n->place].name
                       : board->route->job->parts[n->part].name;
}

static void break_ring(LgBoard *board, LgBoardBranch *branch)
{
  branch->broken = TRUE;
  if (branch->kind == LG_BOARD_LOCAL)
    return; /* said at both parts, pin by pin */
  g_autofree char *long_m = metres(board, branch->length_mm);
  say(board,
      branch->kind == LG_BOARD_RUN
          ? g_strdup_printf(
                T_("Run %s (%s, %s to %s) closes a ring: it is left out here, its wires are "
                   "measured along the rest of the board and by the cut list."),
                board->route->job->runs[branch->run].name, long_m,
                node_name(board, branch->node[0]), node_name(board, branch->node[1]))
          : g_strdup_printf(T_("The stub from %s to %s (%s) closes a ring: it is left out here."),
                            node_name(board, branch->node[0]), node_name(board, branch->node[1]),
                            long_m));
}

/* A spanning forest; what would close a ring is broken. */
static void break_rings(Graph *g)
{
  LgBoard *const board = g->board;
  const gsize n = g->branches->len;
  g_autofree int *order = g_new(int, n + 1), *up = g_new(int, (gsize)board->n_nodes + 1);
  for (gsize i = 0; i < n; i++)
    order[i] = (int)i;
  for (int i = 0; i < board->n_nodes; i++)
    up[i] = i;
  g_qsort_with_data(order, (int)n, sizeof *order, compare_branches, g->branches);
  for (gsize i = 0; i < n; i++) {
    LgBoardBranch *const branch = &g_array_index(g->branches, LgBoardBranch, (guint)order[i]);
    const int a = find_root(up, branch->node[0]), b = find_root(up, branch->node[1]);
    if (a == b)
      break_ring(board, branch);
    else
      up[a] = b;
  }
}

/* How wide a branch is drawn: as thick as its bundle, within what a board can show. Packed for
 * runs, else 1.2 times the root of the sum of squares (trade figure for mixed sizes, seen and
 * memory). */
#define WIDEST_RUN_MM 12
#define WIDEST_MM 6

static double drawn_width(const LgBoard *board, const LgBoardBranch *branch)
{
  if (branch->kind == LG_BOARD_RUN)
    return CLAMP(1e3 * board->route->runs[branch->run].bundle_m, 1, WIDEST_RUN_MM);
  double squares = 0;
  for (guint i = 0; i < branch->wires->len; i++) {
    const int w = g_array_index(branch->wires, int, i);
    const LgConductor *const c = board->route->sizing->wires[w].conductor;
    const double d = c != NULL ? 1e3 * c->outer_m : 2;
    squares += d * d;
  }
  return CLAMP((branch->wires->len == 1 ? 1 : 1.2) * sqrt(squares), 1, WIDEST_MM);
}

static gboolean is_loose(const LgBoard *board, int w)
{
  for (int i = 0; i < board->n_branches; i++) {
    const LgBoardBranch *const branch = &board->branches[i];
    for (guint k = 0; branch->broken && k < branch->wires->len; k++)
      if (g_array_index(branch->wires, int, k) == w)
        return TRUE;
  }
  return FALSE;
}

/* "30  W5 RD/YE 2.5mm2"; a wire that is not drawn says where it ends. */
static char *end_words(const LgBoard *board, int w, int end)
{
  const LgJob *const job = board->route->job;
  const LgWire *const wire = &job->wires[w];
  const LgConductor *const c = board->route->sizing->wires[w].conductor;
  g_autoptr(GString) words = g_string_new(NULL);
  g_string_append_printf(words, "%s  %s %s %s", job->pins[wire->pin[end]].short_name, wire->name,
                         wire->colour, c != NULL ? c->name : "?");
  if (is_loose(board, w))
    g_string_append_printf(words, T_(", loose, to %s"), job->pins[wire->pin[1 - end]].name);
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static void write_node(LgBoard *board, LgBoardNode *node)
{
  const LgJob *const job = board->route->job;
  g_autoptr(GPtrArray) lines = g_ptr_array_new();
  if (node->place >= 0) {
    g_ptr_array_add(lines, g_strdup(job->places[node->place].name));
  } else {
    const LgPart *const part = &job->parts[node->part];
    g_ptr_array_add(lines, g_strdup(part->name));
    for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++)
      for (int w = 0; w < job->n_wires; w++)
        for (int k = 0; k < 2; k++)
          if (job->wires[w].is == LG_IS_NEW && job->wires[w].pin[k] == p)
            g_ptr_array_add(lines, end_words(board, w, k));
  }
  node->n_lines = (int)lines->len;
  g_ptr_array_add(lines, NULL);
  node->lines = (char **)g_ptr_array_free(g_steal_pointer(&lines), FALSE);
}

LgBoard *lg_board_graph(const LgRoute *route)
{
  LgBoard *const board = g_new0(LgBoard, 1);
  const LgJob *const job = route->job;
  board->route = route;
  board->breaks = g_ptr_array_new_with_free_func(g_free);
  board->nodes = g_new0(LgBoardNode, (gsize)(job->n_places + job->n_parts) + 1);
  Graph g = {.board = board,
             .job = job,
             .branches = g_array_new(FALSE, FALSE, sizeof(LgBoardBranch)),
             .node_of_place = g_new(int, (gsize)job->n_places + 1),
             .node_of_part = g_new(int, (gsize)job->n_parts + 1)};
  for (int i = 0; i < job->n_places; i++)
    g.node_of_place[i] = -1;
  for (int i = 0; i < job->n_parts; i++)
    g.node_of_part[i] = -1;
  add_wires(&g);
  break_rings(&g);
  board->n_branches = (int)g.branches->len;
  board->branches = (LgBoardBranch *)(gpointer)g_array_free(g.branches, FALSE);
  g_free(g.node_of_place);
  g_free(g.node_of_part);
  for (int i = 0; i < board->n_branches; i++)
    board->branches[i].width_mm = drawn_width(board, &board->branches[i]);
  for (int i = 0; i < board->n_nodes; i++)
    write_node(board, &board->nodes[i]);
  return board;
}

void lg_board_free(LgBoard *board)
{
  if (board == NULL)
    return;
  for (int i = 0; i < board->n_branches; i++) {
    g_array_free(board->branches[i].wires, TRUE);
    g_free(board->branches[i].path);
  }
  for (int i = 0; i < board->n_nodes; i++)
    g_strfreev(board->nodes[i].lines);
  g_free(board->branches);
  g_free(board->nodes);
  g_ptr_array_unref(board->breaks);
  g_free(board);
}
