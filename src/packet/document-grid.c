/* Tables on paper: widths of columns, rows. */
#include "base/words.h"
#include "packet/document-private.h"
#include <string.h>

#define GAP 9
#define WIDEST_GAP 18
#define LIFT 2.5 /* above and below the text of a row */
/* A longer word is broken before a section is turned. */
#define WIDEST_WORD 140
/* A column of texts is not made narrower than this unless they are shorter. */
#define NARROWEST_TEXT 54
/* For a pen: width and height to write in, and the width that is welcome. */
#define LEAST_BLANK (18 * LG_POINTS_PER_MM)
#define WIDEST_BLANK (50 * LG_POINTS_PER_MM)
#define BLANK_HEIGHT (8 * LG_POINTS_PER_MM)

#define HIGHEST_KEPT 80

typedef struct {
  double x, width;
  double unit; /* width of the widest unit of a column of numbers, with its blank */
} Column;

LgGrid *lg_grid_new(const LgTable *table, LgHabit habit, const char *const blanks[])
{
  LgGrid *const grid = g_new0(LgGrid, 1);
  const int n = grid->n_columns = table->n_columns;
  grid->n_blanks = blanks != NULL ? (int)g_strv_length((char **)blanks) : 0;
  grid->n_rows = table->n_rows;
  grid->titles = g_new0(char *, (gsize)(n + grid->n_blanks) + 1);
  grid->is_number = g_new0(gboolean, (gsize)n);
  grid->cells = g_new0(char *, (gsize)(n * table->n_rows) + 1);
  grid->note = g_strdup(table->note);
  for (int c = 0; c < n; c++) {
    grid->titles[c] = g_strdup(T_(table->columns[c].title));
    grid->is_number[c] = table->columns[c].type == LG_CELL_NUMBER;
  }
  for (int b = 0; b < grid->n_blanks; b++)
    grid->titles[n + b] = g_strdup(T_(blanks[b]));
  for (int row = 0; row < table->n_rows; row++)
    for (int c = 0; c < n; c++)
      grid->cells[row * n + c] = lg_table_print_cell(table, row, c, habit);
  return grid;
}

void lg_grid_free(LgGrid *grid)
{
  if (grid == NULL)
    return;
  g_strfreev(grid->titles);
  g_strfreev(grid->cells);
  g_free(grid->is_number);
  g_free(grid->note);
  g_free(grid->natural);
  g_free(grid);
}

static void grow(double *most, double value)
{
  *most = MAX(*most, value);
}

static double figures_width(LgType *type, const char *printed)
{
  g_autofree char *figures = g_strndup(printed, lg_figures_span(printed));
  return lg_type_natural(type, LG_FACE_CELL, figures);
}

static void measure_numbers(LgGrid *grid, LgType *type, int c)
{
  double widest = 0;
  for (int row = 0; row < grid->n_rows; row++) {
    const char *const text = grid->cells[row * grid->n_columns + c];
    const double figures = figures_width(type, text);
    grow(&widest, figures);
    grow(&grid->unit[c], lg_type_natural(type, LG_FACE_CELL, text) - figures);
  }
  grid->natural[c] = grid->least[c] = widest + grid->unit[c];
}

static void measure_texts(LgGrid *grid, LgType *type, int c)
{
  double natural = 0, least = 0;
  for (int row = 0; row < grid->n_rows; row++) {
    const char *const text = grid->cells[row * grid->n_columns + c];
    grow(&natural, lg_type_natural(type, LG_FACE_CELL, text));
    grow(&least, lg_type_least(type, LG_FACE_CELL, text));
  }
  grid->natural[c] = natural;
  grid->least[c] = MIN(MAX(least, MIN(natural, NARROWEST_TEXT)), WIDEST_WORD);
}

static void measure(LgGrid *grid, LgType *type)
{
  const int n = grid->n_columns + grid->n_blanks;
  grid->natural = g_new0(double, 3 * (gsize)n);
  grid->least = grid->natural + n;
  grid->unit = grid->natural + 2 * n;
  for (int c = 0; c < n; c++) {
    if (c >= grid->n_columns)
      grid->natural[c] = grid->least[c] = LEAST_BLANK;
    else if (grid->is_number[c])
      measure_numbers(grid, type, c);
    else
      measure_texts(grid, type, c);
    grow(&grid->natural[c], lg_type_natural(type, LG_FACE_CELL_STRONG, grid->titles[c]));
    grow(&grid->least[c], lg_type_least(type, LG_FACE_CELL_STRONG, grid->titles[c]));
  }
}

/* What is left over goes to the blanks, then widens the gaps, then stays at the right. */
static void place_columns(const LgGrid *grid, double width, Column columns[])
{
  const int n = grid->n_columns + grid->n_blanks;
  double left = width - GAP * (n - 1);
  for (int c = 0; c < n; c++)
    left -= columns[c].width;
  for (int c = grid->n_columns; c < n; c++) {
    const double more = CLAMP(WIDEST_BLANK - columns[c].width, 0, MAX(left, 0) / (n - c));
    columns[c].width += more;
    left -= more;
  }
  const double gap = n > 1 ? GAP + CLAMP(left / (n - 1), 0, WIDEST_GAP - GAP) : GAP;
  for (int c = 1; c < n; c++)
    columns[c].x = columns[c - 1].x + columns[c - 1].width + gap;
}

/* Columns of a grid in `width`; whether every word fits whole. Free the columns. */
static Column *fit(LgGrid *grid, LgType *type, double width, gboolean *fits)
{
  const int n = grid->n_columns + grid->n_blanks;
  if (grid->natural == NULL)
    measure(grid, type);
  Column *const columns = g_new0(Column, (gsize)n);
  g_autofree double *share = g_new(double, (gsize)MAX(n, 1));
  *fits = lg_share_width(grid->natural, grid->least, n, width - GAP * (n - 1), share);
  for (int c = 0; c < n; c++) {
    columns[c].width = share[c];
    columns[c].unit = grid->unit[c];
  }
  place_columns(grid, width, columns);
  return columns;
}

gboolean lg_grid_fits(LgGrid *grid, LgType *type, double width)
{
  gboolean fits;
  g_free(fit(grid, type, width, &fits));
  return fits;
}

static double set_title(const LgGrid *grid, LgType *type, GArray *marks, int c,
                        const Column *column)
{
  const guint before = marks->len;
  const double height = lg_type_set(type, marks, LG_FACE_CELL_STRONG, LG_TONE_INK, column->x, LIFT,
                                    column->width, grid->titles[c]);
  for (guint i = before; i < marks->len && c < grid->n_columns && grid->is_number[c]; i++) {
    LgMark *const mark = &g_array_index(marks, LgMark, i);
    mark->x = column->x + column->width - mark->width;
  }
  return height;
}

/* Titles stand on the rule below them. */
static LgSlice *slice_head(const LgGrid *grid, LgType *type, double width, const Column columns[],
                           GPtrArray *slices)
{
  const int n = grid->n_columns + grid->n_blanks;
  LgSlice *const slice = lg_slices_add(slices, 5);
  g_autofree double *heights = g_new(double, (gsize)n);
  double height = 0;
  for (int c = 0; c < n; c++) {
    g_autoptr(GArray) scratch = lg_marks_new();
    heights[c] = set_title(grid, type, scratch, c, &columns[c]);
    grow(&height, heights[c]);
  }
  for (int c = 0; c < n; c++) {
    g_autoptr(GArray) scratch = lg_marks_new();
    set_title(grid, type, scratch, c, &columns[c]);
    lg_marks_add(slice->marks, scratch, 0, height - heights[c]);
  }
  slice->height = height + 2 * LIFT + 0.9;
  lg_marks_rule(slice->marks, LG_TONE_INK, 0, slice->height - 0.9, width, 0.9);
  slice->keep = slice->is_head = TRUE;
  return slice;
}

static double set_number(LgType *type, GArray *marks, const Column *column, const char *printed)
{
  const double figures = figures_width(type, printed);
  const double x = column->x + column->width - column->unit - figures;
  return lg_type_set(type, marks, LG_FACE_CELL, LG_TONE_INK, MAX(x, column->x), LIFT,
                     MIN(figures + column->unit, column->width), printed);
}

static double set_cell(const LgGrid *grid, LgType *type, GArray *marks, int row, int c,
                       const Column *column)
{
  const char *const text = grid->cells[row * grid->n_columns + c];
  if (grid->is_number[c])
    return set_number(type, marks, column, text);
  return lg_type_set(type, marks, LG_FACE_CELL, LG_TONE_INK, column->x, LIFT, column->width, text);
}

/* Lines at both sides of each place for a pen. */
static void rule_blanks(const LgGrid *grid, const Column columns[], LgSlice *slice)
{
  const int n = grid->n_columns + grid->n_blanks;
  for (int c = grid->n_columns; c < n; c++) {
    lg_marks_rule(slice->marks, LG_TONE_GREY, columns[c].x - GAP / 2.0, 0, 0.4, slice->height);
    if (c == n - 1)
      lg_marks_rule(slice->marks, LG_TONE_GREY, columns[c].x + columns[c].width - 0.4, 0, 0.4,
                    slice->height);
  }
}

/* The first two rows stay together, and the last two, unless they are high. */
static void slice_row(const LgGrid *grid, LgType *type, double width, const Column columns[],
                      int row, const LgSlice *head, GPtrArray *slices)
{
  LgSlice *const slice = lg_slices_add(slices, 0);
  const gboolean last = row + 1 == grid->n_rows;
  double height = grid->n_blanks > 0 ? BLANK_HEIGHT - 2 * LIFT : 0;
  for (int c = 0; c < grid->n_columns; c++)
    grow(&height, set_cell(grid, type, slice->marks, row, c, &columns[c]));
  slice->height = height + 2 * LIFT;
  slice->head = head;
  if (slice->height <= HIGHEST_KEPT)
    slice->keep = last ? grid->note != NULL : row == 0 || row + 2 == grid->n_rows;
  rule_blanks(grid, columns, slice);
  lg_marks_rule(slice->marks, last ? LG_TONE_INK : LG_TONE_FAINT, 0, slice->height - 0.4, width,
                0.4);
}

static void slice_note(const LgGrid *grid, LgType *type, double width, GPtrArray *slices)
{
  LgSlice *const slice = lg_slices_add(slices, 4);
  slice->height =
      lg_type_set(type, slice->marks, LG_FACE_SMALL, LG_TONE_GREY, 0, 0, width, grid->note);
}

void lg_grid_slice(LgGrid *grid, LgType *type, double width, GPtrArray *slices)
{
  if (grid->n_rows > 0) {
    gboolean fits;
    g_autofree Column *columns = fit(grid, type, width, &fits);
    const LgSlice *const head = slice_head(grid, type, width, columns, slices);
    for (int row = 0; row < grid->n_rows; row++)
      slice_row(grid, type, width, columns, row, head, slices);
  }
  if (grid->note != NULL)
    slice_note(grid, type, width, slices);
}
