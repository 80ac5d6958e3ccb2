/* Where everything lies on the board: greedy, one branch after the other, each time the free way
 * that keeps the board smallest. */
#include "base/words.h"
#include "drawing/board-private.h"
#include <math.h>
#include <string.h>

#define LINE_HEIGHT (1.4 * LG_TEXT_SMALL_MM)
#define CLEAR_MM 2.5 /* between any two things */
#define ARC_STEPS 12

/* A stretch of a branch with the room it takes. */
typedef struct {
  LgSpot a, b;
  double half;
  int node; /* close to this node, where its branches meet; -1: further off */
} Capsule;

/* Obstacles in square cells, so that a look around is short whatever the board's size. */
#define CELL_MM 64.0

typedef struct {
  LgBoard *board;
  GArray *capsules;  /* Capsule */
  GArray *boxes;     /* LgBox */
  GHashTable *cells; /* cell -> GArray of int: capsule i, or ~i for box i */
  LgBoardManner manner;
  double *below; /* [n_nodes] length of all that hangs below a node */
  gboolean *placed;
  int n_trees, n_apart;
  LgSpot apart;      /* where the next thing without room begins */
  GString **crowded; /* [n_nodes] what found no room around a node, or NULL */
} Placing;

static LgBox capsule_box(const Capsule *c)
{
  return (LgBox){fmin(c->a.x, c->b.x) - c->half, fmin(c->a.y, c->b.y) - c->half,
                 fmax(c->a.x, c->b.x) + c->half, fmax(c->a.y, c->b.y) + c->half};
}

static gboolean boxes_meet(LgBox a, LgBox b)
{
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

static gint64 cell_key(int column, int row)
{
  return (gint64)((guint64)(guint32)column << 32 | (guint32)row);
}

static void add_to_cells(Placing *p, LgBox box, int what)
{
  for (int i = (int)floor(box.left / CELL_MM); i <= (int)floor(box.right / CELL_MM); i++)
    for (int j = (int)floor(box.top / CELL_MM); j <= (int)floor(box.bottom / CELL_MM); j++) {
      const gint64 key = cell_key(i, j);
      GArray *list = g_hash_table_lookup(p->cells, &key);
      if (list == NULL) {
        list = g_array_new(FALSE, FALSE, sizeof(int));
        g_hash_table_insert(p->cells, g_memdup2(&key, sizeof key), list);
      }
      g_array_append_val(list, what);
    }
}

static void grow(LgBox *extent, LgBox box)
{
  extent->left = fmin(extent->left, box.left);
  extent->top = fmin(extent->top, box.top);
  extent->right = fmax(extent->right, box.right);
  extent->bottom = fmax(extent->bottom, box.bottom);
}

static void add_capsule(Placing *p, Capsule capsule)
{
  const LgBox box = capsule_box(&capsule);
  add_to_cells(p, box, (int)p->capsules->len);
  g_array_append_val(p->capsules, capsule);
  grow(&p->board->extent, box);
}

static void add_box(Placing *p, LgBox box)
{
  add_to_cells(p, box, ~(int)p->boxes->len);
  g_array_append_val(p->boxes, box);
  grow(&p->board->extent, box);
}

static double spot_to_segment(LgSpot s, LgSpot a, LgSpot b)
{
  const double dx = b.x - a.x, dy = b.y - a.y, length2 = dx * dx + dy * dy;
  const double t = length2 > 0 ? CLAMP(((s.x - a.x) * dx + (s.y - a.y) * dy) / length2, 0, 1) : 0;
  return hypot(s.x - a.x - t * dx, s.y - a.y - t * dy);
}

static double side_of(LgSpot a, LgSpot b, LgSpot s)
{
  return (b.x - a.x) * (s.y - a.y) - (b.y - a.y) * (s.x - a.x);
}

static double segments_apart(LgSpot a, LgSpot b, LgSpot c, LgSpot d)
{
  if (side_of(a, b, c) * side_of(a, b, d) < 0 && side_of(c, d, a) * side_of(c, d, b) < 0)
    return 0;
  return fmin(fmin(spot_to_segment(a, c, d), spot_to_segment(b, c, d)),
              fmin(spot_to_segment(c, a, b), spot_to_segment(d, a, b)));
}

static gboolean capsule_meets_box(const Capsule *c, LgBox box)
{
  const LgBox wide = {box.left - c->half, box.top - c->half, box.right + c->half,
                      box.bottom + c->half};
  const double d[] = {c->b.x - c->a.x, c->b.y - c->a.y};
  const double low[] = {wide.left - c->a.x, wide.top - c->a.y};
  const double high[] = {wide.right - c->a.x, wide.bottom - c->a.y};
  double enter = 0, leave = 1;
  for (int k = 0; k < 2; k++) {
    if (fabs(d[k]) < 1e-9) {
      if (low[k] > 0 || high[k] < 0)
        return FALSE;
      continue;
    }
    enter = fmax(enter, fmin(low[k] / d[k], high[k] / d[k]));
    leave = fmin(leave, fmax(low[k] / d[k], high[k] / d[k]));
  }
  return enter <= leave;
}

static gboolean capsule_meets(const Placing *p, const Capsule *c, int what)
{
  if (what < 0)
    return capsule_meets_box(c, g_array_index(p->boxes, LgBox, ~what));
  const Capsule *const o = &g_array_index(p->capsules, Capsule, what);
  if (c->node >= 0 && c->node == o->node)
    return FALSE;
  return segments_apart(c->a, c->b, o->a, o->b) < c->half + o->half;
}

static gboolean box_meets(const Placing *p, LgBox box, int what)
{
  if (what < 0)
    return boxes_meet(box, g_array_index(p->boxes, LgBox, ~what));
  return capsule_meets_box(&g_array_index(p->capsules, Capsule, what), box);
}

/* Whether a capsule, or a box when `capsule` is NULL, is clear of all there is. */
static gboolean is_free(const Placing *p, const Capsule *capsule, LgBox box)
{
  if (capsule != NULL)
    box = capsule_box(capsule);
  for (int i = (int)floor(box.left / CELL_MM); i <= (int)floor(box.right / CELL_MM); i++)
    for (int j = (int)floor(box.top / CELL_MM); j <= (int)floor(box.bottom / CELL_MM); j++) {
      const gint64 key = cell_key(i, j);
      const GArray *const list = g_hash_table_lookup(p->cells, &key);
      for (guint k = 0; list != NULL && k < list->len; k++) {
        const int what = g_array_index(list, int, k);
        if (capsule != NULL ? capsule_meets(p, capsule, what) : box_meets(p, box, what))
          return FALSE;
      }
    }
  return TRUE;
}

/* One way to lay a branch. */
typedef struct {
  int n_legs, side; /* side: -1, 1: to which the legs stack */
  double angle;
  GArray *path;     /* LgSpot */
  GArray *capsules; /* Capsule */
  LgBox block;      /* of the node at its end */
  LgBox label;      /* of a run */
  double score;
} Way;

static int other_end(const LgBoardBranch *branch, int node)
{
  return branch->node[0] == node ? branch->node[1] : branch->node[0];
}

static double length_of(const LgBoardBranch *branch)
{
  return isnan(branch->length_mm) ? 80 : branch->length_mm;
}

static double pitch_of(const LgBoardBranch *branch)
{
  return fmax(branch->kind == LG_BOARD_RUN ? 20 : 14, 3 * branch->width_mm);
}

/* Room at a node before a fold begins, so that what hangs there has its own. */
static double lead_of(const Placing *p, int node)
{
  const LgBoard *const board = p->board;
  int n = 0;
  for (int i = 0; i < board->n_branches; i++)
    n += !board->branches[i].broken && board->branches[i].kind != LG_BOARD_RUN &&
         (board->branches[i].node[0] == node || board->branches[i].node[1] == node);
  return fmin(20 + 12 * n, 110);
}

/* A point of the way: along its direction and across. */
static LgSpot turned(LgSpot from, double angle, int side, double along, double across)
{
  const double c = cos(angle), s = sin(angle);
  return (LgSpot){from.x + along * c - side * across * s, from.y + along * s + side * across * c};
}

/* A half circle of ARC_STEPS chords about a turn; their sum. */
static double turn_length(double pitch)
{
  return ARC_STEPS * pitch * sin(G_PI / 2 / ARC_STEPS);
}

/* The path: straight, or folded into legs side by side. FALSE when it is too short to fold. */
static gboolean lay_path(const Placing *p, const LgBoardBranch *branch, int from, Way *way)
{
  const LgSpot start = p->board->nodes[from].at;
  const double length = length_of(branch), pitch = pitch_of(branch);
  g_array_set_size(way->path, 0);
  g_array_append_val(way->path, start);
  if (way->n_legs == 1) {
    const LgSpot end = turned(start, way->angle, 1, length, 0);
    g_array_append_val(way->path, end);
    return TRUE;
  }
  const double in = fmin(lead_of(p, from), length / 6);
  const double out = fmin(lead_of(p, other_end(branch, from)), length / 6);
  const double leg = (length - in - out - (way->n_legs - 1) * turn_length(pitch)) / way->n_legs;
  if (leg < 1.5 * pitch)
    return FALSE;
  for (int k = 0; k < way->n_legs; k++) {
    const double to = k % 2 == 0 ? in + leg : in;
    for (int step = 0; step <= ARC_STEPS && k + 1 < way->n_legs; step++) {
      const double a = G_PI * step / ARC_STEPS, bulge = pitch / 2 * sin(a);
      const LgSpot spot = turned(start, way->angle, way->side, k % 2 == 0 ? to + bulge : to - bulge,
                                 k * pitch + pitch / 2 * (1 - cos(a)));
      g_array_append_val(way->path, spot);
    }
  }
  const LgSpot end =
      turned(start, way->angle, way->side, in + leg + out, (way->n_legs - 1) * pitch);
  g_array_append_val(way->path, end);
  return TRUE;
}

static void add_end(Way *way, LgSpot a, LgSpot b, double half, int node)
{
  const Capsule c = {a, b, half - CLEAR_MM + 1, node};
  g_array_append_val(way->capsules, c);
}

/* What a path needs; what lies close to its nodes apart, where all that meets there meets. */
static void lay_capsules(const LgBoardBranch *branch, int from, Way *way)
{
  g_array_set_size(way->capsules, 0);
  const LgSpot *const s = (const LgSpot *)(gpointer)way->path->data;
  const int n = (int)way->path->len;
  const double half = branch->width_mm / 2 + CLEAR_MM;
  for (int i = 1; i < n; i++) {
    Capsule c = {s[i - 1], s[i], half, -1};
    const double length = hypot(c.b.x - c.a.x, c.b.y - c.a.y);
    const double cut = fmin(fmax(24, 2 * branch->width_mm), 0.35 * length) / fmax(length, 1e-9);
    const LgSpot d = {cut * (c.b.x - c.a.x), cut * (c.b.y - c.a.y)};
    if (i == 1) {
      c.a = (LgSpot){c.a.x + d.x, c.a.y + d.y};
      add_end(way, s[0], c.a, half, from);
    }
    if (i == n - 1) {
      c.b = (LgSpot){c.b.x - d.x, c.b.y - d.y};
      add_end(way, c.b, s[n - 1], half, other_end(branch, from));
    }
    g_array_append_val(way->capsules, c);
  }
}

static gboolean path_is_free(const Placing *p, const Way *way)
{
  for (guint i = 0; i < way->capsules->len; i++)
    if (!is_free(p, &g_array_index(way->capsules, Capsule, i), (LgBox){0, 0, 0, 0}))
      return FALSE;
  return TRUE;
}

/* Whether a box keeps clear of the way itself. */
static gboolean box_clear_of_way(const Way *way, LgBox box)
{
  for (guint i = 0; i < way->capsules->len; i++)
    if (capsule_meets_box(&g_array_index(way->capsules, Capsule, i), box))
      return FALSE;
  return TRUE;
}

static void block_size(const LgBoardNode *node, double *width, double *height)
{
  *width = lg_text_width(node->lines[0], LG_TEXT_MM, TRUE);
  for (int i = 1; i < node->n_lines; i++)
    *width = fmax(*width, lg_text_width(node->lines[i], LG_TEXT_SMALL_MM, FALSE));
  *width += 2;
  *height = 1.4 * LG_TEXT_MM + LINE_HEIGHT * (node->n_lines - 1) + 1;
}

/* Boxes of a size around a spot: in line with an angle, turned by thirties, touching a circle; and,
 * from step 12 on, in the four corners that upright and level lines leave free. */
enum { IN_LINE = 12, ALL_AROUND = 16 };

static LgBox box_around(LgSpot at, double angle, int step, double away, double width, double height)
{
  LgSpot middle;
  if (step < IN_LINE) {
    const double turn = angle + (step % 2 == 0 ? 1 : -1) * ((step + 1) / 2) * G_PI / 6;
    const double c = cos(turn), s = sin(turn);
    const double reach = fmin(fabs(c) > 1e-6 ? width / 2 / fabs(c) : 1e9,
                              fabs(s) > 1e-6 ? height / 2 / fabs(s) : 1e9);
    middle = (LgSpot){at.x + (away + reach) * c, at.y + (away + reach) * s};
  } else {
    middle = (LgSpot){at.x + (step % 2 == 0 ? 1 : -1) * (away + width / 2),
                      at.y + (step < 14 ? -1 : 1) * (away + height / 2)};
  }
  return (LgBox){middle.x - width / 2, middle.y - height / 2, middle.x + width / 2,
                 middle.y + height / 2};
}

/* Half the thickest branch at a node, and a little; and how many branches it has. */
static double node_room(const Placing *p, const LgBoardNode *node, int *n)
{
  const int at = (int)(node - p->board->nodes);
  double most = 2.6;
  *n = 0;
  for (int i = 0; i < p->board->n_branches; i++) {
    const LgBoardBranch *const b = &p->board->branches[i];
    if (b->broken || (b->node[0] != at && b->node[1] != at))
      continue;
    most = fmax(most, b->width_mm / 2);
    (*n)++;
  }
  return most + 1.2;
}

/* The nearest free room for the words of a node at `at`, ahead of a branch that came by `angle`
 * when it can be, at a place in a corner; INFINITY when there is none, else what it costs. */
static double place_block(const Placing *p, const Way *way, const LgBoardNode *node, LgSpot at,
                          double angle, LgBox *block)
{
  static const double away[] = {0, 3, 7, 12, 20, 32, 46, 64};
  double width, height, best = INFINITY;
  block_size(node, &width, &height);
  int n;
  const double room = node_room(p, node, &n);
  for (gsize k = 0; k < G_N_ELEMENTS(away) && isinf(best); k++)
    for (int step = node->place >= 0 ? IN_LINE : 0; step < ALL_AROUND; step++) {
      const LgBox box = box_around(at, angle, step, room + away[k], width, height);
      /* Where more is to hang, the way ahead stays free. */
      const double ahead = n > 1 && step < 3 ? 6 : 0;
      const double cost = away[k] / 4 + (step < IN_LINE ? (step + 1) / 2 : 2) + ahead;
      if (cost < best && is_free(p, NULL, box) && (way == NULL || box_clear_of_way(way, box))) {
        best = cost;
        *block = box;
      }
    }
  return best;
}

/* Words beside the first leg of a run, on the side where no legs are. */
static gboolean place_label(const Placing *p, const LgBoardBranch *branch, int from, Way *way)
{
  const double width = 62, height = 2 * LINE_HEIGHT + 1;
  const LgSpot start = p->board->nodes[from].at;
  const double leg = length_of(branch) / way->n_legs;
  const double half = (fabs(cos(way->angle)) > 0.5 ? height : width) / 2;
  for (int k = 0; k < 32; k++) {
    const int side = way->n_legs > 1 || k % 2 == 0 ? -1 : 1;
    const double away = branch->width_mm / 2 + CLEAR_MM + 1 + half + (k / 16) * 12;
    const double along = leg * (0.5 + (k % 4 < 2 ? 1 : -1) * 0.07 * (k % 16 / 2));
    const LgSpot middle = turned(start, way->angle, way->side, along, side * away);
    const LgBox box = {middle.x - width / 2, middle.y - height / 2, middle.x + width / 2,
                       middle.y + height / 2};
    if (is_free(p, NULL, box) && box_clear_of_way(way, box) && !boxes_meet(box, way->block)) {
      way->label = box;
      return TRUE;
    }
  }
  return FALSE;
}

static double area_of(LgBox b)
{
  return (b.right - b.left) * (b.bottom - b.top);
}

/* What a way adds to the board, in 1000 mm2; its words, too, when they are placed. */
static double growth(const Placing *p, const Way *way, gboolean block, gboolean label)
{
  LgBox after = p->board->extent;
  for (guint i = 0; i < way->capsules->len; i++)
    grow(&after, capsule_box(&g_array_index(way->capsules, Capsule, i)));
  if (block)
    grow(&after, way->block);
  if (label)
    grow(&after, way->label);
  return (area_of(after) - area_of(p->board->extent)) / 1000;
}

/* Direction in which the way to a node arrives. */
static double arrival(const LgBoard *board, int node)
{
  const int parent = board->nodes[node].parent;
  if (parent < 0)
    return 0;
  const LgBoardBranch *const b = &board->branches[parent];
  const LgSpot u = b->path[b->n_path - 2], v = b->path[b->n_path - 1];
  return atan2(v.y - u.y, v.x - u.x);
}

static Way *way_new(void)
{
  Way *const way = g_new0(Way, 1);
  way->path = g_array_new(FALSE, FALSE, sizeof(LgSpot));
  way->capsules = g_array_new(FALSE, FALSE, sizeof(Capsule));
  return way;
}

static void way_free(Way *way)
{
  g_array_free(way->path, TRUE);
  g_array_free(way->capsules, TRUE);
  g_free(way);
}

/* Tries one way; keeps it when it is free and better. */
static void try_way(const Placing *p, const LgBoardBranch *branch, int from, Way **way, Way **best)
{
  Way *const w = *way;
  const LgBoardNode *const node = &p->board->nodes[other_end(branch, from)];
  const double turn = fabs(remainder(w->angle - arrival(p->board, from), 2 * G_PI));
  const gboolean is_run = branch->kind == LG_BOARD_RUN;
  /* Runs go straight on, the rest leaves them square. */
  w->score = (is_run ? p->manner.straight * turn : 6 * fabs(turn - G_PI / 2)) + 4 * (w->n_legs - 1);
  if (w->score >= (*best)->score || !lay_path(p, branch, from, w))
    return;
  lay_capsules(branch, from, w);
  if (w->score + growth(p, w, FALSE, FALSE) >= (*best)->score || !path_is_free(p, w))
    return;
  const LgSpot end = g_array_index(w->path, LgSpot, w->path->len - 1);
  w->score += place_block(p, w, node, end, w->angle, &w->block);
  if (w->score >= (*best)->score || (is_run && !place_label(p, branch, from, w)))
    return;
  w->score += growth(p, w, TRUE, is_run);
  if (w->score < (*best)->score) {
    Way *const swap = *best;
    *best = w;
    *way = swap;
  }
}

static int base_legs(const Placing *p, const LgBoardBranch *branch)
{
  const double most_mm =
      branch->kind == LG_BOARD_RUN ? p->manner.leg_mm : fmax(p->manner.leg_mm, 420);
  int n = 1;
  while (length_of(branch) / n > most_mm && n < 61)
    n += 2;
  return n;
}

static void take_way(Placing *p, LgBoardBranch *branch, int from, const Way *way)
{
  const int to = other_end(branch, from);
  LgBoardNode *const node = &p->board->nodes[to];
  branch->node[0] = from;
  branch->node[1] = to;
  branch->n_legs = way->n_legs;
  branch->n_path = (int)way->path->len;
  branch->path = g_memdup2(way->path->data, way->path->len * sizeof(LgSpot));
  for (guint i = 0; i < way->capsules->len; i++)
    add_capsule(p, g_array_index(way->capsules, Capsule, i));
  node->at = branch->path[branch->n_path - 1];
  node->block = way->block;
  node->parent = (int)(branch - p->board->branches);
  node->tree = p->board->nodes[from].tree;
  add_box(p, way->block);
  if (branch->kind == LG_BOARD_RUN) {
    branch->label = way->label;
    add_box(p, way->label);
  }
  p->placed[to] = TRUE;
}

static gboolean place_branch(Placing *p, LgBoardBranch *branch, int from)
{
  Way *way = way_new(), *best = way_new();
  best->score = INFINITY;
  const int base = base_legs(p, branch), most = branch->kind == LG_BOARD_RUN ? base : base + 6;
  const int step = branch->kind == LG_BOARD_RUN ? 90 : 15;
  for (int legs = base; legs <= most; legs += 2)
    for (int degrees = 0; degrees < 360; degrees += step)
      for (int side = 1; side >= (legs > 1 ? -1 : 1); side -= 2) {
        way->n_legs = legs;
        way->side = side;
        way->angle = degrees * G_PI / 180;
        try_way(p, branch, from, &way, &best);
      }
  const gboolean found = isfinite(best->score);
  if (found)
    take_way(p, branch, from, best);
  way_free(way);
  way_free(best);
  return found;
}

static const char *name_of(const LgBoard *board, int node)
{
  return board->nodes[node].lines[0];
}

static void place_root(Placing *p, int node)
{
  LgBoardNode *const n = &p->board->nodes[node];
  const LgBox e = p->board->extent;
  n->at = p->n_trees == 0 ? (LgSpot){0, 0} : (LgSpot){e.left + 10, e.bottom + 40};
  n->tree = p->n_trees++;
  n->parent = -1;
  if (p->n_trees == 1)
    p->board->extent = (LgBox){n->at.x, n->at.y, n->at.x, n->at.y};
  place_block(p, NULL, n, n->at, 0, &n->block);
  add_box(p, n->block);
  p->placed[node] = TRUE;
}

#define APART_MM 150.0 /* from one thing apart to the next */

/* What finds no room around its node begins anew in the free below the board, with the node's name
 * at its beginning. */
static void hang_apart(Placing *p, LgBoardBranch *branch, int from)
{
  LgBoardNode *const node = &p->board->nodes[from];
  const LgSpot keep = node->at;
  const double width = lg_text_width(node->lines[0], LG_TEXT_SMALL_MM, FALSE) + 2;
  const LgBox e = p->board->extent;
  if (p->n_apart++ == 0 || p->apart.x > fmax(e.right, e.left + 700))
    p->apart = (LgSpot){e.left + width + 6, e.bottom + 50};
  gboolean found = FALSE;
  for (int i = 0; i < 40 && !found; i++) {
    const LgSpot at = p->apart;
    const LgBox name = {at.x - width - 4, at.y - 2.5, at.x - 4, at.y + 2.5};
    p->apart.x += APART_MM;
    if (!is_free(p, NULL, name))
      continue;
    node->at = at;
    branch->name_box = name;
    found = place_branch(p, branch, from);
  }
  node->at = keep;
  const int to = other_end(branch, from);
  if (found) {
    branch->apart = TRUE;
    add_box(p, branch->name_box);
    p->board->nodes[to].tree = p->n_trees++;
  } else {
    branch->broken = TRUE;
    place_root(p, to);
  }
  if (p->crowded[from] == NULL)
    p->crowded[from] = g_string_new(NULL);
  g_string_append_printf(p->crowded[from], "%s%s", p->crowded[from]->len > 0 ? ", " : "",
                         name_of(p->board, to));
}

static void say_apart(Placing *p)
{
  for (int i = 0; i < p->board->n_nodes; i++) {
    if (p->crowded[i] == NULL)
      continue;
    g_ptr_array_add(
        p->board->breaks,
        g_strdup_printf(T_("Around %s there is no room for all: drawn apart, in full length, %s."),
                        name_of(p->board, i), p->crowded[i]->str));
    g_string_free(p->crowded[i], TRUE);
  }
}

/* The branch at a node that is still to be placed, of one kind: the one with most behind it, or
 * with least. */
static LgBoardBranch *next_branch(Placing *p, int node, LgBoardKind kind)
{
  LgBoard *const board = p->board;
  LgBoardBranch *next = NULL;
  for (int i = 0; i < board->n_branches; i++) {
    LgBoardBranch *const b = &board->branches[i];
    if (b->broken || b->kind != kind || (b->node[0] != node && b->node[1] != node) ||
        p->placed[other_end(b, node)])
      continue;
    const double more = next == NULL ? 1
                                     : p->below[other_end(b, node)] + length_of(b) -
                                           p->below[other_end(next, node)] - length_of(next);
    if (next == NULL || (p->manner.least_first && kind != LG_BOARD_RUN ? more < 0 : more > 0))
      next = b;
  }
  return next;
}

static void place_below(Placing *p, int node, LgBoardKind kind)
{
  for (;;) {
    LgBoardBranch *const next = next_branch(p, node, kind);
    if (next == NULL)
      return;
    const int to = other_end(next, node);
    if (!place_branch(p, next, node))
      hang_apart(p, next, node);
    if (p->manner.together && kind == LG_BOARD_STUB)
      place_below(p, to, LG_BOARD_LOCAL);
    place_below(p, to, kind);
  }
}

/* Length of all that hangs below each node, from a root. */
static double measure_below(Placing *p, int node, int from)
{
  double sum = 0;
  for (int i = 0; i < p->board->n_branches; i++) {
    const LgBoardBranch *const b = &p->board->branches[i];
    if (b->broken || (b->node[0] != node && b->node[1] != node) || other_end(b, node) == from)
      continue;
    sum += length_of(b) + measure_below(p, other_end(b, node), node);
  }
  p->below[node] = sum;
  return sum;
}

/* Furthest place from a node along unbroken runs; the node itself when there is none. */
static int furthest_place(const LgBoard *board, int node, int from, double far, double *most)
{
  int best = -1;
  if (far > *most && board->nodes[node].place >= 0) {
    *most = far;
    best = node;
  }
  for (int i = 0; i < board->n_branches; i++) {
    const LgBoardBranch *const b = &board->branches[i];
    if (b->broken || (b->node[0] != node && b->node[1] != node) || other_end(b, node) == from)
      continue;
    const int found = furthest_place(board, other_end(b, node), node, far + length_of(b), most);
    best = found >= 0 ? found : best;
  }
  return best;
}

static int root_of(const LgBoard *board, int node)
{
  double most = -1;
  const int place = furthest_place(board, node, -1, 0, &most);
  if (place < 0)
    return node;
  most = -1;
  return furthest_place(board, place, -1, 0, &most);
}

static void place_tree(Placing *p, int node)
{
  LgBoard *const board = p->board;
  const int root = root_of(board, node);
  measure_below(p, root, -1);
  place_root(p, root);
  /* First the skeleton of runs, then what hangs on it. */
  place_below(p, root, LG_BOARD_RUN);
  for (LgBoardKind kind = LG_BOARD_STUB; kind <= LG_BOARD_LOCAL; kind++)
    for (int pass = 0; pass < 2; pass++)
      for (int i = 0; i < board->n_nodes; i++)
        if (p->placed[i])
          place_below(p, i, kind);
}

void lg_board_place(LgBoard *board, LgBoardManner manner)
{
  Placing p = {.board = board,
               .capsules = g_array_new(FALSE, FALSE, sizeof(Capsule)),
               .boxes = g_array_new(FALSE, FALSE, sizeof(LgBox)),
               .cells = g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free,
                                              (GDestroyNotify)g_array_unref),
               .manner = manner,
               .below = g_new0(double, (gsize)board->n_nodes + 1),
               .placed = g_new0(gboolean, (gsize)board->n_nodes + 1),
               .crowded = g_new0(GString *, (gsize)board->n_nodes + 1)};
  for (int i = 0; i < board->n_nodes; i++)
    if (!p.placed[i])
      place_tree(&p, i);
  say_apart(&p);
  g_free(p.crowded);
  g_array_free(p.capsules, TRUE);
  g_array_free(p.boxes, TRUE);
  g_hash_table_unref(p.cells);
  g_free(p.below);
  g_free(p.placed);
}

/* What gives the fewest pages, folds and things apart is kept. */
static const LgBoardManner tries[] = {
    {420, 6, FALSE, FALSE},   {420, 6, TRUE, FALSE},   {420, 6, FALSE, TRUE},
    {420, 6, TRUE, TRUE},     {280, 6, FALSE, FALSE},  {280, 6, TRUE, FALSE},
    {280, 6, FALSE, TRUE},    {280, 6, TRUE, TRUE},    {700, 6, FALSE, FALSE},
    {700, 6, TRUE, FALSE},    {700, 6, FALSE, TRUE},   {700, 6, TRUE, TRUE},
    {420, 0.5, FALSE, FALSE}, {420, 0.5, TRUE, FALSE}, {280, 0.5, FALSE, FALSE},
    {280, 0.5, TRUE, FALSE},  {700, 0.5, FALSE, TRUE}, {700, 0.5, TRUE, TRUE}};

/* Of a large job only the first few, as they take their time. */
static gsize n_tries(int n_branches)
{
  return n_branches <= 120 ? G_N_ELEMENTS(tries) : 2;
}

static int cost_of(const LgBoard *board, double width_mm, double height_mm)
{
  int folds = 0, apart = 0;
  for (int i = 0; i < board->n_branches; i++)
    folds += MAX(board->branches[i].n_legs - 1, 0);
  for (int i = 0; i < board->n_branches; i++)
    apart += board->branches[i].apart;
  return 4 * lg_board_n_tiles(board->extent, width_mm, height_mm) + folds / 2 + 200 * apart;
}

LgBoard *lg_board_new(const LgRoute *route, double width_mm, double height_mm)
{
  LgBoard *best = NULL;
  for (gsize i = 0; best == NULL || i < n_tries(best->n_branches); i++) {
    LgBoard *board = lg_board_graph(route);
    lg_board_place(board, tries[i]);
    if (best == NULL || cost_of(board, width_mm, height_mm) < cost_of(best, width_mm, height_mm)) {
      LgBoard *const swap = best;
      best = board;
      board = swap;
    }
    lg_board_free(board);
  }
  return best;
}
