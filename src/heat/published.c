#include "heat/published.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct Rows {
  GPtrArray *lines; /* char**; the first names the columns */
};

/* One line of RFC 4180 without line ends inside quotes. */
static char **split(const char *line)
{
  g_autoptr(GPtrArray) cells = g_ptr_array_new();
  while (TRUE) {
    g_autoptr(GString) cell = g_string_new(NULL);
    gboolean quoted = FALSE;
    for (; *line != '\0' && (quoted || *line != ','); line++) {
      if (*line != '"')
        g_string_append_c(cell, *line);
      else if (quoted && line[1] == '"')
        g_string_append_c(cell, *line++);
      else
        quoted = !quoted;
    }
    g_ptr_array_add(cells, g_string_free(g_steal_pointer(&cell), FALSE));
    if (*line++ == '\0')
      break;
  }
  g_ptr_array_add(cells, NULL);
  return (char **)g_ptr_array_steal(cells, NULL);
}

Rows *rows_read(const char *file)
{
  const char *root = g_getenv("LG_SOURCE_ROOT");
  g_autofree char *path =
      g_build_filename(root != NULL ? root : ".", "tests", "reference", file, NULL);
  g_autofree char *text = NULL;
  g_autoptr(GError) error = NULL;
  if (!g_file_get_contents(path, &text, NULL, &error))
    g_error("%s", error->message);
  Rows *rows = g_new(Rows, 1);
  rows->lines = g_ptr_array_new_with_free_func((GDestroyNotify)g_strfreev);
  g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
  for (int i = 0; lines[i] != NULL; i++)
    if (lines[i][0] != '\0')
      g_ptr_array_add(rows->lines, split(lines[i]));
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
  char **names = g_ptr_array_index(rows->lines, 0);
  char **cells = g_ptr_array_index(rows->lines, (guint)row + 1);
  for (int i = 0; names[i] != NULL; i++)
    if (strcmp(names[i], column) == 0)
      return cells[i];
  g_error("no column %s", column);
}

double rows_number(const Rows *rows, int row, const char *column)
{
  const char *text = rows_text(rows, row, column);
  return text[0] == '\0' ? NAN : g_ascii_strtod(text, NULL);
}

double awg_number(const char *awg)
{
  const double number = g_ascii_strtod(awg, NULL);
  return strchr(awg, '/') != NULL ? 1 - number : number;
}

LgHeatWire awg_wire(double awg, double wall_mm)
{
  const double solid_m = 0.127e-3 * pow(92, (36 - awg) / 39);
  const double copper_m2 = G_PI / 4 * solid_m * solid_m;
  const double strands_m = 1.14 * solid_m;
  return (LgHeatWire){.resistance_ohm_m = 1.7241e-8 / copper_m2,
                      .copper_m2 = copper_m2,
                      .conductor_m = strands_m,
                      .outer_m = strands_m + 2e-3 * wall_mm,
                      .insulation_W_mK = 0.2,
                      .insulation_J_m3K = 1.7e6};
}

double pair_current(const LgHeatWire *wire, double ambient_K, double conductor_K)
{
  const LgHeatWire two[] = {*wire, *wire};
  const double loaded[] = {1, 1};
  const LgHeatBundle pair = {two, loaded, 2, lg_bare(ambient_K), 0};
  return lg_bundle_factor(&pair, conductor_K) * lg_wire_current(wire, &pair.around, conductor_K);
}

Ratios *ratios_new(void)
{
  Ratios *ratios = g_new(Ratios, 1);
  ratios->ratios = g_array_new(FALSE, FALSE, sizeof(double));
  return ratios;
}

void ratios_free(Ratios *ratios)
{
  g_array_unref(ratios->ratios);
  g_free(ratios);
}

static int compare(gconstpointer a, gconstpointer b)
{
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

void ratios_add(Ratios *ratios, double ours, double theirs)
{
  const double ratio = ours / theirs;
  g_assert_true(isfinite(ratio));
  g_array_append_val(ratios->ratios, ratio);
  g_array_sort(ratios->ratios, compare);
}

double ratios_part(const Ratios *ratios, double part)
{
  const guint last = ratios->ratios->len - 1;
  return g_array_index(ratios->ratios, double, (guint)lround(part * last));
}

void ratios_assert(const Ratios *ratios, const char *what, double least, double most)
{
  g_assert_cmpuint(ratios->ratios->len, >, 0);
  g_test_message("%s: %u figures, ours over theirs %.3f to %.3f, median %.3f", what,
                 ratios->ratios->len, ratios_part(ratios, 0), ratios_part(ratios, 1),
                 ratios_part(ratios, 0.5));
  g_assert_cmpfloat(ratios_part(ratios, 0), >=, least);
  g_assert_cmpfloat(ratios_part(ratios, 1), <=, most);
}
