/* The board in ink, whole and at full scale. */
#include "base/words.h"
#include "drawing/board-private.h"
#include <math.h>
#include <string.h>

/* Free paper around everything. */
#define EDGE_MM 4.0
#define LABEL_MM 30.0 /* from the end of a wire: where its label goes (common practice) */

typedef struct {
  const LgBoard *board;
  LgDrawing *drawing;
  double x, y; /* of the board's origin on the drawing */
} Canvas;

static LgSpot at(const Canvas *c, LgSpot spot)
{
  return (LgSpot){spot.x + c->x, spot.y + c->y};
}

static const char *branch_word(const LgBoardBranch *branch)
{
  static const char *const words[] = {
      [LG_BOARD_RUN] = "run", [LG_BOARD_STUB] = "stub", [LG_BOARD_LOCAL] = "local"};
  return words[branch->kind];
}

/* A single wire in its colour; a bundle grey between edges, with a thin middle line. */
static void draw_path(const Canvas *c, const LgBoardBranch *branch, const LgSpot *spots)
{
  const LgJob *const job = c->board->route->job;
  if (isnan(branch->length_mm)) {
    LgStroke dashed = lg_stroke_line;
    dashed.line = LG_INK_WARM;
    dashed.dash = 2;
    dashed.gap = 1.5;
    lg_draw_path(c->drawing, dashed, FALSE, spots, branch->n_path);
    return;
  }
  if (branch->wires->len == 1) {
    const int w = g_array_index(branch->wires, int, 0);
    lg_draw_wire(c->drawing, job->wires[w].colour, fmax(branch->width_mm, 1.4), spots,
                 branch->n_path);
    return;
  }
  LgStroke edge = lg_stroke_line, body = lg_stroke_line;
  edge.weight = branch->width_mm;
  body.weight = fmax(branch->width_mm - 0.6, 0.2);
  body.line = LG_INK_FAINT;
  lg_draw_path(c->drawing, edge, FALSE, spots, branch->n_path);
  lg_draw_path(c->drawing, body, FALSE, spots, branch->n_path);
  lg_draw_path(c->drawing, lg_stroke_thin, FALSE, spots, branch->n_path);
}

/* A short bar across the end of a branch to a part. */
static void draw_label_bar(const Canvas *c, const LgBoardBranch *branch, int end)
{
  const LgBoardNode *const node = &c->board->nodes[branch->node[end]];
  if (node->part < 0 || isnan(branch->length_mm))
    return;
  const LgSpot s = branch->path[end == 0 ? 0 : branch->n_path - 1];
  const LgSpot t = branch->path[end == 0 ? 1 : branch->n_path - 2];
  const double length = hypot(t.x - s.x, t.y - s.y), away = fmin(LABEL_MM, length / 2);
  const LgSpot u = {(t.x - s.x) / length, (t.y - s.y) / length};
  const LgSpot middle = at(c, (LgSpot){s.x + away * u.x, s.y + away * u.y});
  const double half = branch->width_mm / 2 + 1.5;
  lg_draw_segment(c->drawing, lg_stroke_thick, middle.x - half * u.y, middle.y + half * u.x,
                  middle.x + half * u.y, middle.y - half * u.x);
}

static void draw_branch(const Canvas *c, const LgBoardBranch *branch)
{
  const LgJob *const job = c->board->route->job;
  g_autofree LgSpot *spots = g_new(LgSpot, (gsize)branch->n_path);
  for (int i = 0; i < branch->n_path; i++)
    spots[i] = at(c, branch->path[i]);
  g_autofree char *name = branch->run >= 0
                              ? g_strdup(job->runs[branch->run].name)
                              : g_strdup_printf("%s-%s", c->board->nodes[branch->node[0]].lines[0],
                                                c->board->nodes[branch->node[1]].lines[0]);
  lg_draw_open(c->drawing, branch_word(branch), name);
  draw_path(c, branch, spots);
  lg_draw_close(c->drawing);
  for (int end = 0; end < 2; end++)
    draw_label_bar(c, branch, end);
}

static void draw_words(const Canvas *c, LgBox box, LgLetters letters, double *y, const char *text)
{
  g_auto(GStrv) line = lg_text_wrap(text, letters.size, letters.bold, box.right - box.left - 1, 1);
  *y += 1.4 * letters.size;
  lg_draw_text(c->drawing, letters, box.left + 1 + c->x, *y - 0.35 * letters.size + c->y, line[0]);
}

/* The beginning of a branch that found no room at its node. */
static void draw_apart(const Canvas *c, const LgBoardBranch *branch)
{
  const LgSpot s = at(c, branch->path[0]);
  LgStroke white = lg_stroke_line;
  white.fill = LG_INK_PAPER;
  lg_draw_arc(c->drawing, white, s.x, s.y, 2, 0, 360);
  LgLetters letters = lg_letters_small;
  letters.anchor = LG_ANCHOR_END;
  lg_draw_text(c->drawing, letters, branch->name_box.right - 0.5 + c->x, s.y + 0.9,
               c->board->nodes[branch->node[0]].lines[0]);
}

static void draw_run_label(const Canvas *c, const LgBoardBranch *branch)
{
  const LgRoute *const route = c->board->route;
  const LgRun *const run = &route->job->runs[branch->run];
  const LgRunPlan *const plan = &route->runs[branch->run];
  g_autofree char *long_m =
      isnan(branch->length_mm)
          ? g_strdup(T_("LENGTH NOT IN THE SHEET"))
          : lg_quantity_print(run->length_m, LG_DIM_LENGTH, route->job->habit, 3);
  g_autofree char *across = lg_quantity_print(plan->bundle_m, LG_DIM_LENGTH, route->job->habit, 2);
  g_autofree char *head = branch->n_legs > 1 ? g_strdup_printf(T_("%s  %s in %d legs"), run->name,
                                                               long_m, branch->n_legs)
                                             : g_strdup_printf("%s  %s", run->name, long_m);
  g_autofree char *facts = g_strdup_printf(
      branch->wires->len == 1 ? T_("%u wire, %s, %s") : T_("%u wires, %s, %s"), branch->wires->len,
      across, plan->cover != NULL ? plan->cover->name : T_("no covering"));
  double y = branch->label.top;
  draw_words(c, branch->label, lg_letters_bold, &y, head);
  draw_words(c, branch->label, lg_letters_small, &y, facts);
}

static void draw_leader(const Canvas *c, const LgBoardNode *node)
{
  const LgSpot to = {CLAMP(node->at.x, node->block.left, node->block.right),
                     CLAMP(node->at.y, node->block.top, node->block.bottom)};
  if (hypot(to.x - node->at.x, to.y - node->at.y) > 9)
    lg_draw_segment(c->drawing, lg_stroke_thin, node->at.x + c->x, node->at.y + c->y, to.x + c->x,
                    to.y + c->y);
}

/* A ring with a dot: a peg. A dot: a splice. A box: the end at a part. */
static void draw_mark(const Canvas *c, const LgBoardNode *node)
{
  const LgJob *const job = c->board->route->job;
  const LgSpot s = at(c, node->at);
  LgStroke white = lg_stroke_line;
  white.fill = LG_INK_PAPER;
  if (node->place >= 0) {
    lg_draw_arc(c->drawing, white, s.x, s.y, 2.6, 0, 360);
    lg_draw_dot(c->drawing, s.x, s.y, 0.7);
  } else if (strcmp(job->parts[node->part].class_word, "splice") == 0) {
    lg_draw_dot(c->drawing, s.x, s.y, 2);
  } else {
    lg_draw_box(c->drawing, white, (LgBox){s.x - 2, s.y - 2, s.x + 2, s.y + 2});
  }
}

static void draw_node(const Canvas *c, const LgBoardNode *node)
{
  if (node->block.right <= node->block.left)
    return;
  draw_leader(c, node);
  draw_mark(c, node);
  double y = node->block.top;
  lg_draw_open(c->drawing, node->place >= 0 ? "place" : "part", node->lines[0]);
  for (int i = 0; i < node->n_lines; i++)
    draw_words(c, node->block, i == 0 ? lg_letters_bold : lg_letters_small, &y, node->lines[i]);
  lg_draw_close(c->drawing);
}

LgDrawing *lg_board_draw(const LgBoard *board)
{
  const LgBox e = board->extent;
  LgDrawing *const drawing = lg_drawing_new(
      e.right - e.left + 2 * EDGE_MM, e.bottom - e.top + 2 * EDGE_MM, T_("Board at full scale"));
  const Canvas c = {board, drawing, EDGE_MM - e.left, EDGE_MM - e.top};
  for (int i = 0; i < board->n_branches; i++)
    if (!board->branches[i].broken)
      draw_branch(&c, &board->branches[i]);
  for (int i = 0; i < board->n_branches; i++)
    if (!board->branches[i].broken && board->branches[i].kind == LG_BOARD_RUN)
      draw_run_label(&c, &board->branches[i]);
  for (int i = 0; i < board->n_branches; i++)
    if (board->branches[i].apart)
      draw_apart(&c, &board->branches[i]);
  for (int i = 0; i < board->n_nodes; i++)
    draw_node(&c, &board->nodes[i]);
  return drawing;
}
