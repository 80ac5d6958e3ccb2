/* The board on sheets of paper: which windows, their marks, and the map of them. */
#include "base/words.h"
#include "drawing/board-private.h"
#include "drawing/scale-bar.h"
#include <math.h>

/* A grid of windows over the board. */
typedef struct {
  double width, height; /* of the paper as it lies */
  double across, down;  /* of a window */
  int columns, rows;
  double x, y; /* of the first window, on the board's drawing */
} Grid;

static int steps(double length, double window)
{
  return MAX(1, (int)ceil((length - LG_BOARD_LAP_MM) / (window - LG_BOARD_LAP_MM) - 1e-9));
}

static Grid grid_for(double board_width, double board_height, double width_mm, double height_mm)
{
  Grid g = {.width = width_mm,
            .height = height_mm,
            .across = width_mm - 2 * LG_TILE_MARGIN,
            .down = height_mm - LG_TILE_MARGIN - LG_TILE_FOOT};
  g.columns = steps(board_width, g.across);
  g.rows = steps(board_height, g.down);
  return g;
}

/* Upright or turned, whichever needs fewer sheets. */
static Grid best_grid(double board_width, double board_height, double width_mm, double height_mm)
{
  const Grid upright = grid_for(board_width, board_height, width_mm, height_mm);
  const Grid turned = grid_for(board_width, board_height, height_mm, width_mm);
  return turned.columns * turned.rows < upright.columns * upright.rows ? turned : upright;
}

int lg_board_n_tiles(LgBox extent, double width_mm, double height_mm)
{
  const Grid g =
      best_grid(extent.right - extent.left, extent.bottom - extent.top, width_mm, height_mm);
  return g.columns * g.rows;
}

static double step_x(const Grid *g)
{
  return g->across - LG_BOARD_LAP_MM;
}

static double step_y(const Grid *g)
{
  return g->down - LG_BOARD_LAP_MM;
}

static LgBox window_at(const Grid *g, int column, int row)
{
  const double left = g->x + column * step_x(g), top = g->y + row * step_y(g);
  return (LgBox){left, top, left + g->across, top + g->down};
}

static LgBox *windows_of(const Grid *g)
{
  LgBox *const windows = g_new(LgBox, (gsize)(g->columns * g->rows));
  for (int i = 0; i < g->columns * g->rows; i++)
    windows[i] = window_at(g, i % g->columns, i / g->columns);
  return windows;
}

static gboolean holds(double from, double to, double origin, double step, double window)
{
  const double first = floor((to - origin - window) / step);
  for (double k = first; k <= first + 3; k++)
    if (from >= origin + k * step && to <= origin + k * step + window)
      return TRUE;
  return FALSE;
}

/* Texts that no window would hold whole. */
static int texts_cut(const Grid *g, const LgDrawing *board)
{
  int n = 0;
  for (guint i = 0; i < board->shapes->len; i++) {
    const LgShape *const shape = &g_array_index(board->shapes, LgShape, i);
    if (shape->kind != LG_SHAPE_TEXT)
      continue;
    const LgBox box = lg_shape_text_box(shape);
    n += !holds(box.left, box.right, g->x, step_x(g), g->across) ||
         !holds(box.top, box.bottom, g->y, step_y(g), g->down);
  }
  return n;
}

/* Moves the grid within what it has to spare so that fewest texts are cut. */
static void shift_grid(Grid *g, const LgDrawing *board)
{
  enum { TRIES = 12 };
  const double spare_x = g->columns * step_x(g) + LG_BOARD_LAP_MM - board->width;
  const double spare_y = g->rows * step_y(g) + LG_BOARD_LAP_MM - board->height;
  Grid best = *g;
  int least = G_MAXINT;
  for (int i = 0; i < TRIES && least > 0; i++)
    for (int j = 0; j < TRIES && least > 0; j++) {
      Grid tried = *g;
      tried.x = -fmax(spare_x, 0) * (TRIES - 1 - i) / (2 * (TRIES - 1));
      tried.y = -fmax(spare_y, 0) * (TRIES - 1 - j) / (2 * (TRIES - 1));
      const int cut = texts_cut(&tried, board);
      if (cut < least) {
        least = cut;
        best = tried;
      }
    }
  *g = best;
}

static char *tile_name(int column, int row)
{
  return row < 26 ? g_strdup_printf("%c%d", 'A' + row, column + 1)
                  : g_strdup_printf("%d-%d", row + 1, column + 1);
}

/* A cross on the middle of the overlap: laid on its twin of the next sheet, the sheets are true. */
static void draw_cross(LgDrawing *sheet, double x, double y)
{
  lg_draw_segment(sheet, lg_stroke_thin, x - 4, y, x + 4, y);
  lg_draw_segment(sheet, lg_stroke_thin, x, y - 4, x, y + 4);
  lg_draw_arc(sheet, lg_stroke_thin, x, y, 2, 0, 360);
}

static void draw_marks(LgDrawing *sheet, const Grid *g)
{
  const double half = LG_BOARD_LAP_MM / 2;
  for (int i = 0; i < 2; i++)
    for (int j = 0; j < 2; j++)
      draw_cross(sheet, LG_TILE_MARGIN + (i == 0 ? half : g->across - half),
                 LG_TILE_MARGIN + (j == 0 ? half : g->down - half));
}

static void draw_foot(LgDrawing *sheet, const LgBoard *board, const Grid *g, const char *name)
{
  const double y = g->height - LG_TILE_FOOT + 6;
  lg_scale_bar_draw(sheet, LG_TILE_MARGIN, y, board->route->job->habit == LG_HABIT_US);
  LgLetters big = lg_letters_bold, small = lg_letters_small;
  big.size = LG_TEXT_HEAD_MM;
  big.anchor = small.anchor = LG_ANCHOR_END;
  lg_draw_text(sheet, big, g->width - LG_TILE_MARGIN, y + 2, name);
  lg_draw_text(sheet, small, g->width - LG_TILE_MARGIN, y + 6.5, T_("Lay crosses on crosses."));
}

static gboolean is_empty(const LgDrawing *sheet)
{
  for (guint i = 0; i < sheet->shapes->len; i++) {
    const LgShapeKind kind = g_array_index(sheet->shapes, LgShape, i).kind;
    if (kind != LG_SHAPE_OPEN && kind != LG_SHAPE_CLOSE)
      return FALSE;
  }
  return TRUE;
}

/* NULL when nothing lies in the window. */
static LgDrawing *draw_tile(const LgBoard *board, const LgDrawing *whole, const Grid *g,
                            const LgBox *windows, int i)
{
  g_autofree char *name = tile_name(i % g->columns, i / g->columns);
  g_autofree char *title = g_strdup_printf(T_("Board, sheet %s"), name);
  g_autoptr(LgDrawing) sheet = lg_drawing_new(g->width, g->height, title);
  lg_draw_window(sheet, whole, windows, g->columns * g->rows, i, LG_TILE_MARGIN, LG_TILE_MARGIN);
  if (is_empty(sheet))
    return NULL;
  draw_marks(sheet, g);
  draw_foot(sheet, board, g, name);
  return g_steal_pointer(&sheet);
}

typedef struct {
  const LgBoard *board;
  GPtrArray *sheets;
  LgDrawing *sheet;
  double width, height, y;
} Map;

#define MARGIN 12.0

static void new_map(Map *map)
{
  map->sheet = lg_drawing_new(map->width, map->height, T_("Board: map of the sheets"));
  g_ptr_array_add(map->sheets, map->sheet);
  map->y = MARGIN;
}

static void write_lines(Map *map, LgLetters letters, const char *text)
{
  g_auto(GStrv) lines = lg_text_wrap(text, letters.size, letters.bold, map->width - 2 * MARGIN, 12);
  for (int i = 0; lines[i] != NULL; i++) {
    if (map->y + 1.5 * letters.size > map->height - MARGIN)
      new_map(map);
    map->y += 1.5 * letters.size;
    lg_draw_text(map->sheet, letters, MARGIN, map->y, lines[i]);
  }
}

/* The board small, with its windows. */
static void draw_overview(Map *map, const Grid *g, const LgDrawing *whole, const gboolean *used)
{
  const LgBoard *const board = map->board;
  const double all_x = g->columns * step_x(g) + LG_BOARD_LAP_MM;
  const double all_y = g->rows * step_y(g) + LG_BOARD_LAP_MM;
  const double scale = fmin((map->width - 2 * MARGIN) / all_x, (map->height * 0.45) / all_y);
  const double x = MARGIN - g->x * scale, y = map->y + 4 - g->y * scale;
  for (int i = 0; i < g->columns * g->rows; i++) {
    const double left = x + scale * (g->x + (i % g->columns) * step_x(g) + LG_BOARD_LAP_MM / 2);
    const double top = y + scale * (g->y + (i / g->columns) * step_y(g) + LG_BOARD_LAP_MM / 2);
    LgStroke stroke = lg_stroke_thin;
    stroke.line = LG_INK_FAINT;
    if (used[i])
      stroke.line = LG_INK_SOFT;
    const LgBox box = {left, top, left + scale * step_x(g), top + scale * step_y(g)};
    lg_draw_box(map->sheet, stroke, box);
    g_autofree char *name = tile_name(i % g->columns, i / g->columns);
    if (used[i] && scale * step_x(g) > 9)
      lg_draw_text(map->sheet, lg_letters_bold, left + 1.2, top + 4, name);
  }
  const LgBox e = board->extent;
  const double dx = (whole->width - (e.right - e.left)) / 2 - e.left;
  const double dy = (whole->height - (e.bottom - e.top)) / 2 - e.top;
  for (int i = 0; i < board->n_branches; i++) {
    const LgBoardBranch *const b = &board->branches[i];
    g_autofree LgSpot *spots = g_new(LgSpot, (gsize)b->n_path + 1);
    for (int k = 0; k < b->n_path; k++)
      spots[k] = (LgSpot){x + scale * (b->path[k].x + dx), y + scale * (b->path[k].y + dy)};
    if (!b->broken)
      lg_draw_path(map->sheet, b->kind == LG_BOARD_RUN ? lg_stroke_thick : lg_stroke_line, FALSE,
                   spots, b->n_path);
  }
  map->y += 4 + scale * all_y + 4;
}

static void list_runs(Map *map)
{
  const LgJob *const job = map->board->route->job;
  for (int i = 0; i < map->board->n_branches; i++) {
    const LgBoardBranch *const b = &map->board->branches[i];
    if (b->kind != LG_BOARD_RUN || b->broken)
      continue;
    g_autofree char *long_m =
        isnan(b->length_mm) ? g_strdup(T_("LENGTH NOT IN THE SHEET, drawn dashed and 80 mm long"))
                            : lg_quantity_print(1e-3 * b->length_mm, LG_DIM_LENGTH, job->habit, 3);
    g_autofree char *fold =
        b->n_legs > 1 ? g_strdup_printf(T_(", folded into %d legs, all of it drawn"), b->n_legs)
                      : g_strdup("");
    g_autofree char *line = g_strdup_printf("%s: %s%s", job->runs[b->run].name, long_m, fold);
    write_lines(map, lg_letters_plain, line);
  }
}

static void write_map(Map *map, const Grid *g, const LgDrawing *whole, const gboolean *used)
{
  const LgJob *const job = map->board->route->job;
  new_map(map);
  LgLetters head = lg_letters_bold;
  head.size = LG_TEXT_HEAD_MM;
  g_autofree char *title = g_strdup_printf(T_("Board: %s"), job->title);
  write_lines(map, head, title);
  map->y += 1;
  int n = 0;
  for (int i = 0; i < g->columns * g->rows; i++)
    n += used[i];
  g_autofree char *wide = lg_quantity_print(1e-3 * whole->width, LG_DIM_LENGTH, job->habit, 2);
  g_autofree char *high = lg_quantity_print(1e-3 * whole->height, LG_DIM_LENGTH, job->habit, 2);
  g_autofree char *size =
      g_strdup_printf(T_("%s x %s on %d sheets at full scale. Print at 100 %%, check the bar on "
                         "each sheet, lay crosses on crosses, tape."),
                      wide, high, n);
  write_lines(map, lg_letters_plain, size);
  draw_overview(map, g, whole, used);
  lg_scale_bar_draw(map->sheet, MARGIN, map->y, job->habit == LG_HABIT_US);
  map->y += 10;
  write_lines(
      map, lg_letters_small,
      T_("Ring with a dot: a place, where branches leave. Box: the end at a part, at the tip of "
         "its terminals. Dot: a splice. Thick bar: the label. Lengths run along the thin middle "
         "line, with the spare at each end; shorter wires of a stub are cut to their own length. "
         "Where a line is folded, lay the bundle round pegs; it is not bent so in the vehicle."));
  map->y += 3;
  if (map->board->n_branches > 0)
    write_lines(map, lg_letters_bold, T_("Runs"));
  list_runs(map);
  if (map->board->breaks->len > 0) {
    map->y += 3;
    write_lines(map, lg_letters_bold, T_("Not as it lies in the vehicle"));
  }
  for (guint i = 0; i < map->board->breaks->len; i++)
    write_lines(map, lg_letters_plain, map->board->breaks->pdata[i]);
}

GPtrArray *lg_board_tiles(const LgBoard *board, double width_mm, double height_mm)
{
  GPtrArray *const sheets = g_ptr_array_new_with_free_func((GDestroyNotify)lg_drawing_free);
  g_autoptr(LgDrawing) whole = lg_board_draw(board);
  Grid grid = best_grid(whole->width, whole->height, width_mm, height_mm);
  shift_grid(&grid, whole);
  g_autofree LgBox *windows = windows_of(&grid);
  const int n = grid.columns * grid.rows;
  g_autoptr(GPtrArray) tiles = g_ptr_array_new();
  g_autofree gboolean *used = g_new0(gboolean, (gsize)n);
  for (int i = 0; i < n; i++) {
    LgDrawing *const tile = draw_tile(board, whole, &grid, windows, i);
    used[i] = tile != NULL;
    if (tile != NULL)
      g_ptr_array_add(tiles, tile);
  }
  Map map = {.board = board, .sheets = sheets, .width = width_mm, .height = height_mm};
  write_map(&map, &grid, whole, used);
  for (guint i = 0; i < tiles->len; i++)
    g_ptr_array_add(sheets, tiles->pdata[i]);
  return sheets;
}
