/* Published currents and bundle factors. */
#include "catalogue/catalogue-private.h"
#include <math.h>

static int highest_column(const GArray *figures, int most_C)
{
  int column = -1;
  for (guint i = 0; i < figures->len; i++) {
    const int its = g_array_index(figures, LgFigure, i).column_C;
    if (its <= most_C && its > column)
      column = its;
  }
  return column;
}

/* What the conductor counts as beside the rows of a table: its nominal area in a table of its own
 * series, its metal in one of the other. */
static double area_beside(const LgFigure *row, const LgConductor *conductor)
{
  if (row->is_awg != conductor->is_awg)
    return conductor->area_mm2;
  return conductor->is_awg ? lg_awg_mm2((int)conductor->nominal) : conductor->nominal;
}

static LgAmpacity between(const LgFigure *below, const LgFigure *above, double mm2)
{
  const double share = log(mm2 / below->nominal_mm2) / log(above->nominal_mm2 / below->nominal_mm2);
  return (LgAmpacity){.current_A =
                          below->current_A * pow(above->current_A / below->current_A, share),
                      .table_ambient_K = below->ambient_K,
                      .column_C = below->column_C,
                      .source = below->source};
}

LgAmpacity lg_catalogue_ampacity(const LgCatalogue *catalogue, LgTableName table,
                                 const LgConductor *conductor, int column_C)
{
  const GArray *const figures = catalogue->figures[table];
  const int column = highest_column(figures, column_C);
  const LgFigure *below = NULL, *above = NULL;
  for (guint i = 0; i < figures->len; i++) {
    const LgFigure *const f = &g_array_index(figures, LgFigure, i);
    if (f->column_C != column)
      continue;
    if (f->is_awg == conductor->is_awg && fabs(f->nominal - conductor->nominal) < 1e-6)
      return (LgAmpacity){f->current_A, f->ambient_K, column, TRUE, f->source};
    const double mm2 = area_beside(f, conductor);
    if (f->nominal_mm2 <= mm2 && (below == NULL || f->nominal_mm2 > below->nominal_mm2))
      below = f;
    if (f->nominal_mm2 > mm2 && (above == NULL || f->nominal_mm2 < above->nominal_mm2))
      above = f;
  }
  if (below == NULL || above == NULL)
    return (LgAmpacity){.current_A = NAN, .table_ambient_K = NAN, .column_C = column};
  return between(below, above, area_beside(below, conductor));
}

double lg_catalogue_bundle_factor(const LgCatalogue *catalogue, LgTableName table, int n)
{
  const GArray *const factors = catalogue->factors[table];
  for (guint i = 0; i < factors->len; i++) {
    const LgFactor *const f = &g_array_index(factors, LgFactor, i);
    if (n >= f->from && n <= f->to)
      return f->value;
  }
  return 1;
}
