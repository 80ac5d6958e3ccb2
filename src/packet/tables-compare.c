/* Two ways to do a job, figure by figure. */
#include "base/words.h"
#include "packet/tables-private.h"
#include <math.h>

static const LgColumn compare_columns[] = {
    LG_TEXT_COLUMN("about", "About"),
    LG_TEXT_COLUMN("subject", "What"),
    LG_TEXT_COLUMN("measure", "Figure"),
    LG_TEXT_COLUMN("first", "First"),
    LG_TEXT_COLUMN("second", "Second"),
    LG_TEXT_COLUMN("change", "Change"),
    LG_COLUMNS_END,
};

static char *shown(const LgJob *job, const LgContrast *c, int k)
{
  if (isnan(c->value[k]))
    return g_strdup("-");
  return c->dim == LG_DIM_NONE ? lg_number_print(c->value[k], 4)
                               : lg_words_quantity(job, c->value[k], c->dim);
}

static char *change(const LgContrast *c)
{
  if (isnan(c->value[0]) || isnan(c->value[1]))
    return g_strdup(isnan(c->value[0]) ? T_("new") : T_("gone"));
  if (c->value[0] == c->value[1])
    return g_strdup(T_("none"));
  if (c->dim == LG_DIM_TEMPERATURE)
    return g_strdup_printf("%+.0f K", c->value[1] - c->value[0]);
  if (c->dim == LG_DIM_NONE || c->value[0] == 0)
    return g_strdup_printf("%+.3g", c->value[1] - c->value[0]);
  return g_strdup_printf("%+.0f %%", 100 * (c->value[1] / c->value[0] - 1));
}

LgTable *lg_table_compare(const LgChoice *first, const LgChoice *second, const GArray *contrasts)
{
  const LgJob *const job = first->sizing->circuit->job;
  g_autofree char *title = g_strdup_printf(T_("First: %s. Second: %s"), first->name, second->name);
  LgTable *const table = lg_table_new("compare", title, compare_columns);
  for (guint i = 0; i < contrasts->len; i++) {
    const LgContrast *const c = &g_array_index(contrasts, LgContrast, i);
    g_autofree char *a = shown(job, c, 0), *b = shown(job, c, 1), *step = change(c);
    lg_table_add(table, lg_about_word(c->about), c->subject, c->measure, a, b, step);
  }
  table->note = g_strdup(
      T_("Of contacts, coils, loads, fuses and wires only what differs by more than 1 %, or what "
         "only one of the ways has. Things are the same when they have the same name."));
  return table;
}
