#include "base/table.h"
#include "base/words.h"
#include "loomgraft.h" /* for the visibility of the functions that are public */
#include <jansson.h>
#include <math.h>

LgReport *lg_report_new(const char *verb, const char *title)
{
  LgReport *const report = g_new0(LgReport, 1);
  report->verb = verb;
  report->words = lg_words_now();
  report->title = g_strdup(title != NULL ? title : "");
  report->findings = lg_findings_new();
  report->tables = g_ptr_array_new_with_free_func((GDestroyNotify)lg_table_free);
  report->notes = g_ptr_array_new_with_free_func(g_free);
  return report;
}

void lg_report_free(LgReport *report)
{
  if (report == NULL)
    return;
  g_free(report->title);
  g_free(report->verdict);
  g_ptr_array_unref(report->findings);
  g_ptr_array_unref(report->tables);
  g_ptr_array_unref(report->notes);
  g_free(report);
}

/* Nothing but valid UTF-8 may stand in JSON; a file's name may be anything. */
static json_t *text_json(const char *text)
{
  if (text == NULL)
    return json_null();
  g_autofree char *valid = g_utf8_make_valid(text, -1);
  return json_string(valid);
}

static json_t *cell_json(const LgCell *cell, const LgColumn *column)
{
  if (column->type == LG_CELL_TEXT)
    return text_json(cell->text != NULL ? cell->text : "");
  if (column->type == LG_CELL_FLAG)
    return json_boolean(cell->flag);
  const double value =
      column->dim == LG_DIM_TEMPERATURE ? cell->number - LG_ZERO_C_IN_K : cell->number;
  return isfinite(value) ? json_real(value) : json_null();
}

static json_t *table_json(const LgTable *table)
{
  json_t *const rows = json_array();
  for (int row = 0; row < table->n_rows; row++) {
    json_t *const object = json_object();
    for (int c = 0; c < table->n_columns; c++)
      json_object_set_new(object, table->columns[c].key,
                          cell_json(lg_table_cell(table, row, c), &table->columns[c]));
    json_array_append_new(rows, object);
  }
  return rows;
}

static json_t *finding_json(const LgFinding *finding)
{
  json_t *const object = json_object();
  json_object_set_new(object, "grade", json_string(lg_grade_word(finding->grade)));
  json_object_set_new(object, "rule", text_json(finding->rule));
  json_object_set_new(object, "file", text_json(finding->origin.file));
  json_object_set_new(object, "line", json_integer(finding->origin.line));
  json_object_set_new(object, "column", json_integer(finding->origin.column));
  json_object_set_new(object, "subject", text_json(finding->subject));
  json_object_set_new(object, "what", text_json(finding->what));
  json_object_set_new(object, "basis", text_json(finding->basis));
  json_object_set_new(object, "remedy", text_json(finding->remedy));
  return object;
}

static json_t *report_json(const LgReport *report)
{
  json_t *const root = json_object(), *const findings = json_array();
  json_t *const tables = json_object(), *const notes = json_array();
  for (guint i = 0; i < report->findings->len; i++)
    json_array_append_new(findings, finding_json(report->findings->pdata[i]));
  for (guint i = 0; i < report->tables->len; i++) {
    const LgTable *const table = report->tables->pdata[i];
    json_object_set_new(tables, table->key, table_json(table));
  }
  for (guint i = 0; i < report->notes->len; i++)
    json_array_append_new(notes, text_json(report->notes->pdata[i]));
  json_object_set_new(root, "loomgraft", json_integer(1));
  json_object_set_new(root, "verb", text_json(report->verb));
  json_object_set_new(root, "job", text_json(report->title));
  json_object_set_new(root, "verdict", text_json(report->verdict));
  json_object_set_new(root, "findings", findings);
  json_object_set_new(root, "tables", tables);
  json_object_set_new(root, "notes", notes);
  return root;
}

char *lg_report_json(const LgReport *report)
{
  json_t *const root = report_json(report);
  char *const dump = json_dumps(root, JSON_INDENT(2) | JSON_REAL_PRECISION(9));
  char *const text = g_strconcat(dump, "\n", NULL);
  free(dump);
  json_decref(root);
  return text;
}
