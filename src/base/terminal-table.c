/* A table on a terminal: columns side by side; those that find no room stand below their row; where
 * hardly any find room, one row is one block. */
#include "base/terminal-private.h"
#include "base/words.h"
#include <string.h>

#define GAP 2
/* A text column is not wrapped narrower than this unless its words are shorter. */
#define NARROWEST_TEXT 10
/* With fewer columns side by side a block for each row reads better. */
#define FEWEST_COLUMNS 4
/* Longer words are broken before the table is given up. */
#define WIDEST_WORD 24

typedef struct {
  int width;
  int unit; /* width of the units, with their blank, of a column of numbers */
} Column;

/* One printed cell; of a number, the figures end where the unit begins. */
static char *print(const LgTable *table, int row, int c, LgHabit habit, gsize *figures)
{
  char *const text = lg_table_print_cell(table, row, c, habit);
  *figures = table->columns[c].type == LG_CELL_NUMBER ? lg_figures_span(text) : strlen(text);
  return text;
}

/* Widths that a column would like, and those that it needs. */
static void measure(const LgTable *table, int c, LgHabit habit, Column *column, double *natural,
                    double *least)
{
  const char *const title = T_(table->columns[c].title);
  const gboolean is_text = table->columns[c].type == LG_CELL_TEXT;
  int whole = 0, word = 0, left = 0, unit = 0;
  for (int row = 0; row < table->n_rows; row++) {
    gsize figures;
    g_autofree char *text = print(table, row, c, habit, &figures);
    unit = MAX(unit, lg_terminal_width(text + figures));
    whole = MAX(whole, lg_terminal_width(text));
    word = MAX(word, lg_terminal_word_width(text));
    left = MAX(left, lg_terminal_width(text) - lg_terminal_width(text + figures));
  }
  column->unit = unit;
  if (!is_text)
    whole = word = left + unit;
  *natural = MAX(whole, lg_terminal_width(title));
  *least = MAX(is_text ? MIN(MAX(word, MIN(NARROWEST_TEXT, whole)), WIDEST_WORD) : whole,
               lg_terminal_word_width(title));
}

/* FALSE when the first `n` columns do not fit the terminal. */
static gboolean fit(const LgTable *table, LgHabit habit, int room, int n, Column columns[])
{
  g_autofree double *natural = g_new(double, 3 * (gsize)n);
  double *const least = natural + n, *const width = natural + 2 * n;
  for (int c = 0; c < n; c++)
    measure(table, c, habit, &columns[c], &natural[c], &least[c]);
  const double space = room > 0 ? room - GAP * (n - 1) : G_MAXINT;
  const gboolean fits = lg_share_width(natural, least, n, MAX(space, 0), width);
  for (int c = 0; c < n; c++)
    columns[c].width = (int)(width[c] + 1e-6);
  return fits;
}

static gboolean is_number(const LgTable *table, int c)
{
  return table->columns[c].type == LG_CELL_NUMBER;
}

/* The lines of one cell; a number is one line, its figures and unit in line with the others. */
static GPtrArray *cell_lines(const LgTable *table, int row, int c, LgHabit habit,
                             const Column *column)
{
  gsize figures;
  g_autofree char *text = print(table, row, c, habit, &figures);
  if (!is_number(table, c))
    return lg_terminal_wrap(text, column->width);
  const int unit = lg_terminal_width(text + figures);
  const int before = column->width - column->unit - (lg_terminal_width(text) - unit);
  GPtrArray *const lines = g_ptr_array_new_with_free_func(g_free);
  g_ptr_array_add(lines, g_strdup_printf("%*s%s", MAX(before, 0), "", text));
  return lines;
}

static GPtrArray *title_lines(const LgTable *table, int c, const Column *column)
{
  GPtrArray *const lines = lg_terminal_wrap(T_(table->columns[c].title), column->width);
  for (guint i = 0; is_number(table, c) && i < lines->len; i++) {
    char *const line = lines->pdata[i];
    lines->pdata[i] =
        g_strdup_printf("%*s%s", MAX(column->width - lg_terminal_width(line), 0), "", line);
    g_free(line);
  }
  return lines;
}

/* Prints cells side by side; titles stand on the lowest line, other cells on the first. */
static void print_side_by_side(LgTerminal *terminal, GPtrArray *const cells[], int n,
                               const Column columns[], LgInk ink, gboolean low)
{
  guint height = 0;
  for (int c = 0; c < n; c++)
    height = MAX(height, cells[c]->len);
  for (guint i = 0; i < height; i++) {
    int pending = 0;
    for (int c = 0; c < n; c++) {
      const guint above = low ? height - cells[c]->len : 0;
      const char *const line =
          i >= above && i - above < cells[c]->len ? cells[c]->pdata[i - above] : "";
      if (line[strspn(line, " ")] != '\0') {
        lg_terminal_spaces(terminal, pending);
        lg_terminal_ink(terminal, ink, line);
        pending = columns[c].width - lg_terminal_width(line);
      } else {
        pending += columns[c].width;
      }
      pending += GAP;
    }
    g_string_append_c(terminal->text, '\n');
  }
}

static void free_cells(GPtrArray *cells[], int n)
{
  for (int c = 0; c < n; c++)
    g_ptr_array_unref(cells[c]);
}

static void print_rule(LgTerminal *terminal, int n, const Column columns[])
{
  for (int c = 0; c < n; c++) {
    g_autofree char *rule = g_strnfill((gsize)columns[c].width, '-');
    lg_terminal_ink(terminal, LG_INK_QUIET, rule);
    lg_terminal_spaces(terminal, c + 1 < n ? GAP : 0);
  }
  g_string_append_c(terminal->text, '\n');
}

/* The cells from column `from` on, each with its title, a line or more each; empty ones are left
 * out. */
static void print_below(LgTerminal *terminal, const LgTable *table, int row, LgHabit habit,
                        int from, int label)
{
  for (int c = from; c < table->n_columns; c++) {
    g_autofree char *text = lg_table_print_cell(table, row, c, habit);
    if (text[0] == '\0')
      continue;
    const char *const title = T_(table->columns[c].title);
    g_autofree char *mark = g_strdup_printf(
        "%s%*s", title, label + (c == 0 ? 2 : 1) * GAP - lg_terminal_width(title), "");
    lg_terminal_hang(terminal, c == 0 ? 0 : GAP, LG_INK_QUIET, mark,
                     c == 0 ? LG_INK_STRONG : LG_INK_PLAIN, text);
  }
}

static int widest_title(const LgTable *table, int from)
{
  int widest = 0;
  for (int c = from; c < table->n_columns; c++)
    widest = MAX(widest, lg_terminal_width(T_(table->columns[c].title)));
  return widest;
}

static void print_columns(LgTerminal *terminal, const LgTable *table, LgHabit habit, int n,
                          const Column columns[])
{
  const int label = widest_title(table, n);
  g_autofree GPtrArray **cells = g_new(GPtrArray *, (gsize)MAX(n, 1));
  for (int c = 0; c < n; c++)
    cells[c] = title_lines(table, c, &columns[c]);
  print_side_by_side(terminal, cells, n, columns, LG_INK_STRONG, TRUE);
  free_cells(cells, n);
  print_rule(terminal, n, columns);
  for (int row = 0; row < table->n_rows; row++) {
    for (int c = 0; c < n; c++)
      cells[c] = cell_lines(table, row, c, habit, &columns[c]);
    print_side_by_side(terminal, cells, n, columns, LG_INK_PLAIN, FALSE);
    free_cells(cells, n);
    print_below(terminal, table, row, habit, n, label);
  }
}

static void print_blocks(LgTerminal *terminal, const LgTable *table, LgHabit habit)
{
  const int label = widest_title(table, 0);
  for (int row = 0; row < table->n_rows; row++) {
    if (row > 0)
      g_string_append_c(terminal->text, '\n');
    print_below(terminal, table, row, habit, 0, label);
  }
}

void lg_terminal_table(LgTerminal *terminal, const LgTable *table, LgHabit habit)
{
  lg_terminal_prose(terminal, LG_INK_STRONG, table->title);
  if (table->n_rows > 0) {
    g_autofree Column *columns = g_new0(Column, (gsize)table->n_columns);
    int n = table->n_columns;
    while (n > 0 && !fit(table, habit, terminal->width, n, columns))
      n--;
    if (n == table->n_columns || n >= FEWEST_COLUMNS)
      print_columns(terminal, table, habit, n, columns);
    else
      print_blocks(terminal, table, habit);
  }
  if (table->note != NULL)
    lg_terminal_prose(terminal, LG_INK_QUIET, table->note);
}
