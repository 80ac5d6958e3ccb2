/* The language and what stands in a sheet, as JSON for forms and tables (docs/workbench.md). */
#include "api/api-private.h"
#include <jansson.h>
#include <string.h>

static const char *const type_words[] = {
    [LG_VALUE_TEXT] = "text",   [LG_VALUE_NAME] = "name",         [LG_VALUE_PIN] = "pin",
    [LG_VALUE_ITEM] = "item",   [LG_VALUE_WORD] = "word",         [LG_VALUE_COLOUR] = "colour",
    [LG_VALUE_SIZE] = "size",   [LG_VALUE_QUANTITY] = "quantity", [LG_VALUE_RANGE] = "range",
    [LG_VALUE_AUTO] = "auto",   [LG_VALUE_COUNT] = "count",       [LG_VALUE_DATE] = "date",
    [LG_VALUE_GRID] = "grid",   [LG_VALUE_NAMES] = "names",       [LG_VALUE_STATE] = "state",
    [LG_VALUE_LIMIT] = "limit",
};

static const char *const naming_words[] = {
    [LG_NAMED_NOT] = "not",       [LG_NAMED_TEXT] = "text", [LG_NAMED_PLAIN] = "plain",
    [LG_NAMED_DOTTED] = "dotted", [LG_NAMED_SIZE] = "size",
};

/* The text of a dumped value, for g_free; takes the value. */
static char *dump(json_t *value)
{
  char *const dumped = json_dumps(value, JSON_COMPACT);
  char *const text = g_strdup(dumped);
  free(dumped);
  json_decref(value);
  return text;
}

static json_t *string_or_null(const char *text)
{
  return text == NULL ? json_null() : json_string(text);
}

static json_t *list_units(const LgField *field)
{
  json_t *const list = json_array();
  if (field->type == LG_VALUE_SIZE) {
    json_array_append_new(list, json_string("mm2"));
    json_array_append_new(list, json_string("AWG"));
    return list;
  }
  const gboolean measured = field->type == LG_VALUE_QUANTITY || field->type == LG_VALUE_RANGE ||
                            field->type == LG_VALUE_AUTO;
  for (int i = 0; measured && lg_dim_unit(field->dim, i) != NULL; i++)
    json_array_append_new(list, json_string(lg_dim_unit(field->dim, i)));
  return list;
}

static json_t *list_words(const char *const *words)
{
  json_t *const list = json_array();
  for (; words != NULL && *words != NULL; words++)
    json_array_append_new(list, json_string(*words));
  return list;
}

/* A bound as people write it; none where the field has none. */
static json_t *bound(const LgField *field, double value)
{
  if (field->least == 0 && field->most == 0)
    return json_null();
  g_autofree char *text = field->dim == LG_DIM_NONE
                              ? lg_number_print(value, 6)
                              : lg_quantity_print(value, field->dim, LG_HABIT_METRIC, 4);
  return json_string(text);
}

static json_t *field_json(const LgField *field)
{
  json_t *const f = json_object();
  json_object_set_new(f, "key", json_string(field->key));
  json_object_set_new(f, "type", json_string(type_words[field->type]));
  json_object_set_new(f, "units", list_units(field));
  json_object_set_new(f, "words", list_words(field->words));
  json_object_set_new(f, "place", json_integer(field->place));
  json_object_set_new(f, "required", json_boolean(field->required));
  json_object_set_new(f, "least", bound(field, field->least));
  json_object_set_new(f, "most", bound(field, field->most));
  json_object_set_new(f, "fallback", string_or_null(field->fallback));
  json_object_set_new(f, "help", string_or_null(field->help));
  return f;
}

static json_t *kind_json(const LgKindInfo *kind)
{
  json_t *const fields = json_array();
  for (const LgField *field = kind->fields; field->key != NULL; field++)
    json_array_append_new(fields, field_json(field));
  json_t *const k = json_object();
  json_object_set_new(k, "word", json_string(kind->word));
  json_object_set_new(k, "naming", json_string(naming_words[kind->naming]));
  json_object_set_new(k, "once", json_boolean(kind->once));
  json_object_set_new(k, "text", json_boolean(kind->has_text));
  json_object_set_new(k, "when", json_boolean(kind->has_when));
  json_object_set_new(k, "help", string_or_null(kind->help));
  json_object_set_new(k, "example", string_or_null(kind->example));
  json_object_set_new(k, "fields", fields);
  return k;
}

char *lg_schema_json(void)
{
  json_t *const kinds = json_array();
  for (int i = 0; i < LG_N_KINDS; i++)
    if (!lg_kinds[i].catalogue_only)
      json_array_append_new(kinds, kind_json(&lg_kinds[i]));
  return dump(json_pack("{s:o}", "kinds", kinds));
}

/* A sheet of thousands of records is asked for after every edit, so its JSON is written straight
 * into one text. */

static void put_string(GString *out, const char *text, gsize length)
{
  g_string_append_c(out, '"');
  for (gsize i = 0, from = 0; i <= length; i++) {
    const guchar c = i < length ? (guchar)text[i] : '"';
    if (c >= 0x20 && c != '"' && c != '\\' && c != 0x7f)
      continue;
    g_string_append_len(out, text + from, (gssize)(i - from));
    from = i + 1;
    if (i == length)
      break;
    if (c == '"' || c == '\\')
      g_string_append_c(g_string_append_c(out, '\\'), (char)c);
    else
      g_string_append_printf(out, "\\u%04x", c);
  }
  g_string_append_c(out, '"');
}

static void put_text(GString *out, const char *text)
{
  if (text == NULL)
    g_string_append(out, "null");
  else
    put_string(out, text, strlen(text));
}

static void put_number(GString *out, gint64 number)
{
  char digits[24];
  g_snprintf(digits, sizeof digits, "%" G_GINT64_FORMAT, number);
  g_string_append(out, digits);
}

/* ,"key": */
static void put_key(GString *out, const char *key)
{
  const char last = out->str[out->len - 1];
  if (last != '{' && last != '[')
    g_string_append_c(out, ',');
  g_string_append_c(out, '"');
  g_string_append(out, key);
  g_string_append(out, "\":");
}

static void put_comma(GString *out)
{
  if (out->str[out->len - 1] != '[')
    g_string_append_c(out, ',');
}

static void put_values(GString *out, const LgRecord *record)
{
  put_key(out, "values");
  g_string_append_c(out, '{');
  for (int i = 0; i < record->n_values; i++)
    if (record->fields[i] >= 0) {
      put_key(out, lg_kinds[record->kind].fields[record->fields[i]].key);
      put_text(out, record->values[i].text);
    }
  g_string_append_c(out, '}');
  put_key(out, "when");
  g_string_append_c(out, '[');
  for (int i = 0; i < record->n_values; i++)
    if (record->fields[i] < 0) {
      put_comma(out);
      put_text(out, record->values[i].text);
    }
  g_string_append_c(out, ']');
}

/* As it stands in the sheet, without its last line end. */
static void put_source(GString *out, const LgSheet *sheet, const LgRecord *record)
{
  const char *const text = g_bytes_get_data(lg_sheet_bytes(sheet), NULL);
  gsize end = record->end;
  end -= end > record->begin && text[end - 1] == '\n' ? 1 : 0;
  end -= end > record->begin && text[end - 1] == '\r' ? 1 : 0;
  put_key(out, "source");
  put_string(out, text + record->begin, end - record->begin);
}

static void put_record(GString *out, const LgSheet *sheet, guint index)
{
  const LgRecord *const record = lg_sheet_record(sheet, index);
  put_comma(out);
  g_string_append_c(out, '{');
  put_key(out, "index");
  put_number(out, index);
  put_key(out, "kind");
  put_text(out, lg_kinds[record->kind].word);
  put_key(out, "name");
  put_text(out, record->name);
  put_key(out, "variant");
  put_number(out, record->variant);
  put_key(out, "line");
  put_number(out, record->origin.line);
  put_key(out, "text");
  put_text(out, record->text);
  put_source(out, sheet, record);
  put_values(out, record);
  g_string_append_c(out, '}');
}

/* What a person would call the thing that is turned, called or loaded. */
static const char *what_of_input(const LgJob *job, const LgInput *input)
{
  const LgPart *const part = &job->parts[input->part];
  const LgElement *const element = input->element >= 0 ? &job->elements[input->element] : NULL;
  if (element != NULL)
    return element->label != NULL && element->label[0] != '\0' ? element->label
                                                               : lg_element_said(element->kind);
  return part->text != NULL && part->text[0] != '\0' ? part->text : part->class_word;
}

/* Without that input in one of these positions, this one rests. */
static void put_waits(GString *out, const LgJob *job, const LgInput *input)
{
  put_key(out, "waits");
  if (input->when_input < 0) {
    g_string_append(out, "null");
    return;
  }
  g_string_append_c(out, '{');
  put_key(out, "input");
  put_number(out, input->when_input);
  put_key(out, "positions");
  g_string_append_c(out, '[');
  for (int p = 0; p < job->inputs[input->when_input].n_positions; p++)
    if (input->when_positions >> p & 1) {
      put_comma(out);
      put_number(out, p);
    }
  g_string_append(out, "]}");
}

static void put_input(GString *out, const LgJob *job, const LgInput *input)
{
  static const char *const kinds[] = {
      [LG_INPUT_HAND] = "hand", [LG_INPUT_CALL] = "call", [LG_INPUT_DEMAND] = "demand"};
  put_comma(out);
  g_string_append_c(out, '{');
  put_key(out, "name");
  put_text(out, input->name);
  put_key(out, "what");
  put_text(out, what_of_input(job, input));
  put_key(out, "kind");
  put_text(out, kinds[input->kind]);
  put_key(out, "positions");
  g_string_append_c(out, '[');
  for (int p = 0; p < input->n_positions; p++) {
    put_comma(out);
    put_text(out, input->positions[p]);
  }
  g_string_append_c(out, ']');
  put_waits(out, job, input);
  g_string_append_c(out, '}');
}

static void put_problems(GString *out, const LgSheet *sheet)
{
  const GPtrArray *const problems = lg_sheet_problems(sheet);
  put_key(out, "problems");
  g_string_append_c(out, '[');
  for (guint i = 0; i < problems->len; i++) {
    const LgProblem *const problem = problems->pdata[i];
    put_comma(out);
    g_string_append_c(out, '{');
    put_key(out, "line");
    put_number(out, problem->origin.line);
    put_key(out, "column");
    put_number(out, problem->origin.column);
    put_key(out, "what");
    put_text(out, problem->what);
    put_key(out, "remedy");
    put_text(out, problem->remedy != NULL ? problem->remedy : "");
    g_string_append_c(out, '}');
  }
  g_string_append_c(out, ']');
}

/* From the records alone: a sheet with problems has a title, too. */
static void put_head(GString *out, const LgJobSheet *whole)
{
  const LgSheet *const sheet = whole->sheet;
  const char *title = NULL, *habit = "metric";
  GString *const variants = g_string_new("[");
  for (guint i = 0; i < lg_sheet_n_records(sheet); i++) {
    const LgRecord *const record = lg_sheet_record(sheet, i);
    if (record->kind == LG_KIND_JOB && title == NULL) {
      const LgValue *const units = lg_record_key(record, "units");
      title = record->name;
      habit = units != NULL ? units->text : habit;
    } else if (record->kind == LG_KIND_VARIANT) {
      put_comma(variants);
      put_text(variants, record->name);
    }
  }
  put_key(out, "title");
  put_text(out, title);
  put_key(out, "language");
  put_text(out, lg_job_sheet_language(whole));
  put_key(out, "habit");
  put_text(out, habit);
  put_key(out, "variants");
  g_string_append_c(g_string_append(out, variants->str), ']');
  g_string_free(variants, TRUE);
}

char *lg_job_sheet_json(const LgJobSheet *sheet)
{
  const gsize length = g_bytes_get_size(lg_sheet_bytes(sheet->sheet));
  GString *const out = g_string_sized_new(length * 3 + 160 * lg_sheet_n_records(sheet->sheet));
  g_string_append_c(out, '{');
  put_head(out, sheet);
  put_key(out, "inputs");
  g_string_append_c(out, '[');
  for (int i = 0; sheet->job != NULL && i < sheet->job->n_inputs; i++)
    put_input(out, sheet->job, &sheet->job->inputs[i]);
  g_string_append_c(out, ']');
  put_key(out, "records");
  g_string_append_c(out, '[');
  for (guint i = 0; i < lg_sheet_n_records(sheet->sheet); i++)
    put_record(out, sheet->sheet, i);
  g_string_append_c(out, ']');
  put_problems(out, sheet->sheet);
  g_string_append_c(out, '}');
  return g_string_free(out, FALSE);
}
