#include "catalogue/reference.h"
#include <math.h>
#include <string.h>

struct Rows {
  GPtrArray *lines; /* char**; the first holds the headings */
};

/* Takes one cell of an RFC 4180 line, moving `*at` behind it. */
static char *take_cell(const char **at)
{
  GString *const cell = g_string_new(NULL);
  gboolean quoted = FALSE;
  for (; **at != '\0' && (quoted || **at != ','); ++*at) {
    if (**at != '"')
      g_string_append_c(cell, **at);
    else if (quoted && (*at)[1] == '"')
      g_string_append_c(cell, *(*at)++);
    else
      quoted = !quoted;
  }
  return g_string_free(cell, FALSE);
}

static char **cells_of(const char *line)
{
  GPtrArray *const cells = g_ptr_array_new();
  g_ptr_array_add(cells, take_cell(&line));
  while (*line == ',') {
    line++;
    g_ptr_array_add(cells, take_cell(&line));
  }
  g_ptr_array_add(cells, NULL);
  return (char **)g_ptr_array_free(cells, FALSE);
}

Rows *rows_read(const char *file)
{
  g_autofree char *path =
      g_build_filename(g_getenv("LG_SOURCE_ROOT"), "tests", "reference", file, NULL);
  g_autofree char *text = NULL;
  g_autoptr(GError) error = NULL;
  if (!g_file_get_contents(path, &text, NULL, &error))
    g_error("%s", error->message);
  Rows *const rows = g_new(Rows, 1);
  rows->lines = g_ptr_array_new_with_free_func((GDestroyNotify)g_strfreev);
  g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
  for (int i = 0; lines[i] != NULL; i++)
    if (lines[i][0] != '\0')
      g_ptr_array_add(rows->lines, cells_of(lines[i]));
  return rows;
}

void rows_free(Rows *rows)
{
  g_ptr_array_unref(rows->lines);
  g_free(rows);
}

int rows_count(const Rows *rows)
{
  return (int)rows->lines->len - 1;
}

const char *rows_text(const Rows *rows, int row, const char *column)
{
  char **const headings = rows->lines->pdata[0];
  char **const cells = rows->lines->pdata[row + 1];
  for (int i = 0; headings[i] != NULL; i++)
    if (strcmp(headings[i], column) == 0)
      return cells[i];
  g_error("no column %s", column);
}

double rows_number(const Rows *rows, int row, const char *column)
{
  const char *const text = rows_text(rows, row, column);
  char *end = NULL;
  const double number = g_ascii_strtod(text, &end);
  return end == text ? NAN : number;
}

double rows_awg(const Rows *rows, int row, const char *column)
{
  const char *const text = rows_text(rows, row, column);
  const double number = g_ascii_strtod(text, NULL);
  return strchr(text, '/') != NULL ? 1 - number : number;
}
