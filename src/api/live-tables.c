/* The packet's tables, each made when asked for. */
#include "api/live-private.h"
#include "base/words.h"
#include "studies/shorts.h"
#include <math.h>
#include <string.h>

typedef struct {
  const char *key, *title;
  LgTable *(*make)(const LgSizing *sizing);
} Kind;

static LgTable *make_shorts(const LgSizing *sizing)
{
  g_autoptr(LgShorts) shorts = lg_shorts_new(sizing);
  return lg_shorts_table(shorts);
}

/* Remedies take longer than all the rest: a run of its own tries them. */
static LgTable *make_faults(const LgSizing *sizing)
{
  const LgCampaignOptions options = {.n_remedies = -1};
  g_autoptr(LgCampaign) campaign = lg_campaign_new(sizing, &options);
  return lg_table_faults(campaign);
}

static const Kind kinds[] = {
    {"circuits", N_("Circuits"), lg_table_circuits},
    {"needs", N_("Needs"), lg_table_needs},
    {"sizes", N_("Sizes of wires"), lg_table_sizes},
    {"fuses", N_("Fuses and breakers"), lg_table_fuses},
    {"wires", N_("Wire list"), lg_table_wire_list},
    {"cuts", N_("Cut list"), lg_table_cut_list},
    {"parts", N_("Bill of material"), lg_table_parts},
    {"buying", N_("What to ask the seller of the donor parts for"), lg_table_buying},
    {"routes", N_("Route plan"), lg_table_routes},
    {"openings", N_("Holes and openings"), lg_table_openings},
    {"spools", N_("Spools and how to cut them"), lg_table_spools},
    {"splices", N_("Splices"), lg_table_splices},
    {"crimps", N_("Crimps"), lg_table_crimps},
    {"labels", N_("Labels"), lg_table_labels},
    {"order", N_("Order of building"), lg_table_order},
    {"quote", N_("What it costs, by where it is bought"), lg_table_quote},
    {"pre-power", N_("Before first power"), lg_table_pre_power},
    {"first-power", N_("First power, circuit by circuit"), lg_table_first_power},
    {"readings", N_("Expected readings"), lg_table_readings},
    {"shorts", N_("Shorts to the body"), make_shorts},
    {"faults", N_("Faults, gravest first"), make_faults},
    {"handover", N_("Handover"), lg_table_handover},
};

char *lg_live_tables_json(LgLive *live)
{
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(live->job->language));
  json_t *const root = json_object(), *const list = json_array();
  for (gsize i = 0; i < G_N_ELEMENTS(kinds); i++)
    json_array_append_new(
        list, json_pack("{s:s, s:s}", "key", kinds[i].key, "title", T_(kinds[i].title)));
  json_object_set_new(root, "tables", list);
  return lg_json_take(root);
}

static json_t *columns_json(const LgTable *table)
{
  static const char *const types[] = {"text", "number", "flag"};
  json_t *const list = json_array();
  for (int c = 0; c < table->n_columns; c++)
    json_array_append_new(list, json_pack("{s:s, s:s, s:s}", "key", table->columns[c].key, "title",
                                          T_(table->columns[c].title), "type",
                                          types[table->columns[c].type]));
  return list;
}

/* Cells as people read them, in the job's habit; numbers by themselves are in the CSV. */
static json_t *rows_json(const LgTable *table, LgHabit habit)
{
  json_t *const rows = json_array();
  for (int row = 0; row < table->n_rows; row++) {
    json_t *const cells = json_array();
    for (int c = 0; c < table->n_columns; c++) {
      g_autofree char *cell = lg_table_print_cell(table, row, c, habit);
      g_autofree char *shown = lg_shown_text(cell);
      json_array_append_new(cells, lg_json_text(shown));
    }
    json_array_append_new(rows, cells);
  }
  return rows;
}

static json_t *step_json(const LgTable *steps, int row)
{
  json_t *const step = json_object();
  for (int c = 0; c < steps->n_columns; c++) {
    const LgCell *const cell = lg_table_cell(steps, row, c);
    const char *const key = steps->columns[c].key;
    switch (steps->columns[c].type) {
    case LG_CELL_TEXT:
      json_object_set_new(step, key, lg_json_text(cell->text != NULL ? cell->text : ""));
      break;
    case LG_CELL_FLAG:
      json_object_set_new(step, key, json_boolean(cell->flag));
      break;
    case LG_CELL_NUMBER:
      json_object_set_new(step, key,
                          isfinite(cell->number) ? json_real(cell->number) : json_null());
      break;
    }
  }
  return step;
}

/* What each row asks a meter; NULL for tables that are no test sheet. */
static json_t *steps_json(const LgSizing *sizing, const char *key)
{
  g_autoptr(LgTable) steps = lg_table_steps(sizing, key);
  if (steps == NULL)
    return NULL;
  json_t *const list = json_array();
  for (int row = 0; row < steps->n_rows; row++)
    json_array_append_new(list, step_json(steps, row));
  return list;
}

char *lg_live_table(LgLive *live, const char *key, gboolean csv, GError **error)
{
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(live->job->language));
  for (gsize i = 0; i < G_N_ELEMENTS(kinds); i++) {
    if (strcmp(kinds[i].key, key) != 0)
      continue;
    g_autoptr(LgTable) table = kinds[i].make(live->sizing);
    if (csv)
      return lg_table_csv(table);
    json_t *const root = json_object();
    json_object_set_new(root, "key", json_string(table->key));
    json_object_set_new(root, "title", lg_json_text(table->title));
    json_object_set_new(root, "note", lg_json_text(table->note));
    json_object_set_new(root, "columns", columns_json(table));
    json_object_set_new(root, "rows", rows_json(table, live->job->habit));
    json_t *const steps = steps_json(live->sizing, key);
    if (steps != NULL)
      json_object_set_new(root, "steps", steps);
    return lg_json_take(root);
  }
  g_set_error(error, LG_ERROR, LG_ERROR_CALL, "there is no table `%s`", key);
  return NULL;
}
