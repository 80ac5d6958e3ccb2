#include "base/table.h"
#include "base/words.h"
#include <math.h>
#include <string.h>

static void clear_cell(gpointer cell)
{
  g_free(((LgCell *)cell)->text);
}

LgTable *lg_table_new(const char *key, const char *title, const LgColumn *columns)
{
  LgTable *const table = g_new0(LgTable, 1);
  table->key = key;
  table->title = g_strdup(title);
  table->columns = columns;
  while (columns[table->n_columns].key != NULL)
    table->n_columns++;
  table->cells = g_array_new(FALSE, TRUE, sizeof(LgCell));
  g_array_set_clear_func(table->cells, clear_cell);
  return table;
}

void lg_table_free(LgTable *table)
{
  if (table == NULL)
    return;
  g_array_unref(table->cells);
  g_free(table->title);
  g_free(table->note);
  g_free(table);
}

void lg_table_add(LgTable *table, ...)
{
  va_list arguments;
  va_start(arguments, table);
  for (int c = 0; c < table->n_columns; c++) {
    LgCell cell = {NULL, NAN, FALSE};
    switch (table->columns[c].type) {
    case LG_CELL_TEXT:
      cell.text = g_strdup(va_arg(arguments, const char *));
      break;
    case LG_CELL_NUMBER:
      cell.number = va_arg(arguments, double);
      break;
    case LG_CELL_FLAG:
      cell.flag = va_arg(arguments, gboolean) != FALSE;
      break;
    }
    g_array_append_val(table->cells, cell);
  }
  va_end(arguments);
  table->n_rows++;
}

const LgCell *lg_table_cell(const LgTable *table, int row, int column)
{
  g_assert(row >= 0 && row < table->n_rows && column >= 0 && column < table->n_columns);
  return &g_array_index(table->cells, LgCell, row * table->n_columns + column);
}

char *lg_table_print_cell(const LgTable *table, int row, int column, LgHabit habit)
{
  const LgCell *const cell = lg_table_cell(table, row, column);
  const LgColumn *const kind = &table->columns[column];
  switch (kind->type) {
  case LG_CELL_NUMBER:
    return lg_quantity_print(cell->number, kind->dim, habit, kind->digits);
  case LG_CELL_FLAG:
    return g_strdup(cell->flag ? T_("yes") : T_("no"));
  default:
    return g_strdup(cell->text != NULL ? cell->text : "");
  }
}

char *lg_shown_text(const char *text)
{
  g_autofree char *valid = g_utf8_make_valid(text, -1);
  GString *const shown = g_string_new(NULL);
  for (const char *p = valid; *p != '\0'; p = g_utf8_next_char(p)) {
    const gunichar c = g_utf8_get_char(p);
    if (c == '\t' || c == '\r')
      g_string_append_c(shown, ' ');
    else
      g_string_append_unichar(shown, g_unichar_iscntrl(c) && c != '\n' ? 0xfffd : c);
  }
  return g_string_free(shown, FALSE);
}

/* Longer words are no numbers and no units. */
#define LONGEST_QUANTITY 24

gboolean lg_blank_is_fast(const char *text, gsize at)
{
  char quantity[2 * LONGEST_QUANTITY + 1];
  gsize from = at, to = at + 1, n = 0;
  if (text[at] != ' ' || at == 0 || !g_ascii_isdigit(text[at - 1]))
    return FALSE;
  while (from > 0 && (g_ascii_isdigit(text[from - 1]) || text[from - 1] == '.'))
    from--;
  while (g_ascii_isalnum(text[to]) || (text[to] != '\0' && strchr("%/", text[to]) != NULL))
    to++;
  if (at - from > LONGEST_QUANTITY || to - at - 1 > LONGEST_QUANTITY)
    return FALSE;
  for (gsize i = from; i < to; i++)
    if (i != at)
      quantity[n++] = text[i];
  return lg_quantity_guess(quantity, n) != LG_DIM_NONE;
}

gsize lg_figures_span(const char *printed)
{
  const gsize length = strlen(printed);
  const gsize figures = lg_number_span(printed, length);
  return figures > 0 && printed[figures] == ' ' ? figures : length;
}

/* A spreadsheet starts a formula at these. A sign alone or before a plain number is harmless. */
static gboolean looks_like_formula(const char *text)
{
  if (text[0] == '\0' || strchr("=@\t\r+-", text[0]) == NULL)
    return FALSE;
  if (text[0] != '+' && text[0] != '-')
    return TRUE;
  const gsize length = strlen(text);
  return length > 1 && lg_number_span(text, length) != length;
}

static void append_field(GString *csv, const char *text, gboolean alone)
{
  const gboolean guarded = looks_like_formula(text);
  if (!guarded && !(alone && text[0] == '\0') && strpbrk(text, ",\"\r\n") == NULL) {
    g_string_append(csv, text);
    return;
  }
  g_string_append(csv, guarded ? "\"'" : "\"");
  for (const char *p = text; *p != '\0'; p++) {
    if (*p == '"')
      g_string_append_c(csv, '"');
    g_string_append_c(csv, *p);
  }
  g_string_append_c(csv, '"');
}

static void append_number(GString *csv, double value, LgDim dim)
{
  if (!isfinite(value))
    return;
  g_autofree char *text =
      lg_number_print(dim == LG_DIM_TEMPERATURE ? value - LG_ZERO_C_IN_K : value, 9);
  g_string_append(csv, text);
}

/* A row of one empty field would be an empty line, which readers skip: `alone` is quoted. */
static void append_cell(GString *csv, const LgCell *cell, const LgColumn *column, gboolean alone)
{
  if (column->type == LG_CELL_NUMBER)
    append_number(csv, cell->number, column->dim);
  else if (column->type == LG_CELL_FLAG)
    g_string_append(csv, cell->flag ? T_("yes") : T_("no"));
  else
    append_field(csv, cell->text != NULL ? cell->text : "", alone);
}

char *lg_table_csv(const LgTable *table)
{
  GString *const csv = g_string_new(NULL);
  for (int c = 0; c < table->n_columns; c++) {
    append_field(csv, table->columns[c].key, FALSE);
    g_string_append(csv, c + 1 < table->n_columns ? "," : "\r\n");
  }
  for (int row = 0; row < table->n_rows; row++)
    for (int c = 0; c < table->n_columns; c++) {
      append_cell(csv, lg_table_cell(table, row, c), &table->columns[c], table->n_columns == 1);
      g_string_append(csv, c + 1 < table->n_columns ? "," : "\r\n");
    }
  return g_string_free(csv, FALSE);
}
