/* Parts of tables: chosen columns, chosen rows. */
#include "packet/tables-private.h"
#include <string.h>

int lg_table_column(const LgTable *table, const char *key)
{
  for (int c = 0; c < table->n_columns; c++)
    if (strcmp(table->columns[c].key, key) == 0)
      return c;
  g_assert_not_reached();
}

const char *lg_table_text(const LgTable *table, int row, const char *key)
{
  const char *const text = lg_table_cell(table, row, lg_table_column(table, key))->text;
  return text != NULL ? text : "";
}

LgTable *lg_table_part(const LgTable *table, const LgColumn *columns, const char *where,
                       const char *equal)
{
  LgTable *const part = lg_table_new(table->key, table->title, columns);
  for (int row = 0; row < table->n_rows; row++) {
    if (where != NULL && strcmp(lg_table_text(table, row, where), equal) != 0)
      continue;
    for (int c = 0; c < part->n_columns; c++) {
      LgCell cell = *lg_table_cell(table, row, lg_table_column(table, columns[c].key));
      cell.text = g_strdup(cell.text);
      g_array_append_val(part->cells, cell);
    }
    part->n_rows++;
  }
  return part;
}

LgTable *lg_table_for_people(LgTable *whole, const LgColumn *columns)
{
  LgTable *const table = lg_table_part(whole, columns, NULL, NULL);
  table->note = g_steal_pointer(&whole->note);
  lg_table_free(whole);
  return table;
}

static const LgColumn ask_columns[] = {LG_ASK_COLUMNS, LG_COLUMNS_END};

LgTable *lg_table_steps(const LgSizing *sizing, const char *key)
{
  static const struct {
    const char *key;
    LgTable *(*make)(const LgSizing *sizing);
  } kinds[] = {{"pre-power", lg_steps_pre_power},
               {"first-power", lg_steps_first_power},
               {"readings", lg_steps_readings}};
  for (gsize i = 0; i < G_N_ELEMENTS(kinds); i++)
    if (strcmp(kinds[i].key, key) == 0) {
      g_autoptr(LgTable) whole = kinds[i].make(sizing);
      return lg_table_part(whole, ask_columns, NULL, NULL);
    }
  return NULL;
}
