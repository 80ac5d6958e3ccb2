#include "loomgraft.h"
#include "sheet/random-sheet.h"
#include <jansson.h>
#include <string.h>
#include <time.h>

G_DEFINE_AUTOPTR_CLEANUP_FUNC(json_t, json_decref)

static LgJobSheet *sheet_of(const char *text)
{
  g_autoptr(GBytes) bytes = g_bytes_new(text, strlen(text));
  return lg_job_sheet_new("test.job", bytes);
}

static char *text_of(GBytes *bytes)
{
  return g_strndup(g_bytes_get_data(bytes, NULL), g_bytes_get_size(bytes));
}

static json_t *json_of(const LgJobSheet *sheet)
{
  g_autofree char *text = lg_job_sheet_json(sheet);
  json_error_t wrong;
  json_t *const whole = json_loads(text, JSON_REJECT_DUPLICATES, &wrong);
  if (whole == NULL)
    g_error("%s at %d of %s", wrong.text, wrong.position, text);
  return whole;
}

static char *example(const char *name)
{
  g_autofree char *path = g_build_filename(g_getenv("LG_SOURCE_ROOT"), "examples", name, NULL);
  char *text = NULL;
  g_assert_true(g_file_get_contents(path, &text, NULL, NULL));
  return text;
}

/* The form of every kind of record that a job sheet takes, with the fields of the schema. */
static void schema_is_told_whole(void)
{
  g_autofree char *text = lg_schema_json();
  g_autoptr(json_t) whole = json_loads(text, JSON_REJECT_DUPLICATES, NULL);
  const json_t *const kinds = json_object_get(whole, "kinds");
  size_t n = 0;
  for (int i = 0; i < LG_N_KINDS; i++) {
    if (lg_kinds[i].catalogue_only)
      continue;
    const json_t *const kind = json_array_get(kinds, n++);
    g_assert_cmpstr(json_string_value(json_object_get(kind, "word")), ==, lg_kinds[i].word);
    const json_t *const fields = json_object_get(kind, "fields");
    g_assert_cmpint((int)json_array_size(fields), ==, lg_n_fields((LgKind)i));
    for (int f = 0; f < lg_n_fields((LgKind)i); f++) {
      const LgField *const field = &lg_kinds[i].fields[f];
      const json_t *const told = json_array_get(fields, (size_t)f);
      g_assert_cmpstr(json_string_value(json_object_get(told, "key")), ==, field->key);
      g_assert_nonnull(json_string_value(json_object_get(told, "type")));
      g_assert_true(json_is_true(json_object_get(told, "required")) == (field->required != 0));
      g_assert_true((json_array_size(json_object_get(told, "units")) > 0) ==
                    ((field->dim != LG_DIM_NONE && field->type != LG_VALUE_COUNT) ||
                     field->type == LG_VALUE_SIZE));
    }
  }
  g_assert_cmpuint(json_array_size(kinds), ==, n);
}

/* To set each value to what the JSON says of it changes no byte, and the records' sources are
 * pieces of the text. */
static void values_are_as_typed(const char *text)
{
  g_autoptr(LgJobSheet) sheet = sheet_of(text);
  g_autoptr(json_t) whole = json_of(sheet);
  g_autoptr(json_t) edits = json_array();
  const char *at = text;
  size_t i;
  json_t *record, *value;
  const char *key;
  json_array_foreach(json_object_get(whole, "records"), i, record)
  {
    at = strstr(at, json_string_value(json_object_get(record, "source")));
    g_assert_nonnull(at);
    g_assert_cmpint((int)json_integer_value(json_object_get(record, "index")), ==, (int)i);
    json_object_foreach(json_object_get(record, "values"), key, value)
        json_array_append_new(edits, json_pack("{s:s, s:{s:i}, s:s, s:O}", "do", "set", "record",
                                               "index", (int)i, "key", key, "value", value));
  }
  char *const dumped = json_dumps(edits, 0);
  g_autoptr(GError) error = NULL;
  g_autoptr(GBytes) after = lg_job_sheet_edit(sheet, dumped, &error);
  g_assert_no_error(error);
  g_autofree char *after_text = text_of(after);
  g_assert_cmpstr(after_text, ==, text);
  free(dumped);
}

static void values_of_examples(void)
{
  static const char *const names[] = {"library-van-seat.job", "co-op-flatbed.job"};
  for (gsize i = 0; i < G_N_ELEMENTS(names); i++) {
    g_autofree char *text = example(names[i]);
    values_are_as_typed(text);
  }
}

static void values_of_random_sheets(void)
{
  for (int i = 0; i < 100; i++) {
    g_autofree char *text = lg_random_sheet(1 + i, FALSE);
    values_are_as_typed(text);
  }
}

/* What the page shows beside the records, of the example that the README tells of. */
static void head_of_an_example(void)
{
  g_autofree char *text = example("library-van-seat.job");
  g_autoptr(LgJobSheet) sheet = sheet_of(text);
  g_autoptr(json_t) whole = json_of(sheet);
  g_assert_cmpstr(json_string_value(json_object_get(whole, "habit")), ==, "metric");
  g_auto(GStrv) variants = lg_job_sheet_variants(sheet);
  g_assert_cmpuint(json_array_size(json_object_get(whole, "variants")), ==,
                   g_strv_length(variants));
  g_assert_cmpuint(json_array_size(json_object_get(whole, "problems")), ==, 0);
  const json_t *const inputs = json_object_get(whole, "inputs");
  g_assert_cmpuint(json_array_size(inputs), >, 0);
  size_t i;
  json_t *input;
  json_array_foreach(inputs, i, input)
  {
    g_assert_cmpuint(strlen(json_string_value(json_object_get(input, "what"))), >, 0);
    g_assert_cmpuint(json_array_size(json_object_get(input, "positions")), >, 1);
    const json_t *const waits = json_object_get(input, "waits");
    if (!json_is_null(waits))
      g_assert_cmpint((int)json_integer_value(json_object_get(waits, "input")), <,
                      (int)json_array_size(inputs));
  }
}

static void problems_are_told(void)
{
  g_autoptr(LgJobSheet) sheet = sheet_of("job \"x\"\nwire W1 A.1 B.1 RD auto lenght=1m\n");
  g_autoptr(json_t) whole = json_of(sheet);
  const json_t *const first = json_array_get(json_object_get(whole, "problems"), 0);
  g_assert_cmpint((int)json_integer_value(json_object_get(first, "line")), ==, 2);
  g_assert_nonnull(strstr(json_string_value(json_object_get(first, "what")), "lenght"));
  g_assert_nonnull(strstr(json_string_value(json_object_get(first, "remedy")), "length"));
  g_assert_cmpstr(json_string_value(json_object_get(whole, "title")), ==, "x");
  g_assert_cmpuint(json_array_size(json_object_get(whole, "records")), ==, 1);
}

typedef struct {
  const char *before, *edits;
  const char *after; /* NULL: refused */
} Case;

#define ABC "place a\n# on b\nplace b  # why\n\nplace c\n"

static const Case cases[] = {
    /* one thing each, and the lines around it as they were */
    {ABC, "[]", ABC},
    {ABC, "[{'do':'set','record':{'kind':'place','name':'b'},'key':'temperature','value':'5C'}]",
     "place a\n# on b\nplace b temperature=5C  # why\n\nplace c\n"},
    {"place a temperature=5C\n",
     "[{'do':'set','record':{'kind':'place','name':'a'},'key':'temperature','value':null}]",
     "place a\n"},
    {ABC, "[{'do':'remove','record':{'index':1}}]", "place a\n# on b\n\nplace c\n"},
    {ABC, "[{'do':'add','text':'place d'}]", ABC "place d\n"},
    /* a record that is replaced keeps its place and its comments, unless it brings its own */
    {ABC, "[{'do':'replace','record':{'index':1},'text':'place d wet=yes'}]",
     "place a\n# on b\nplace d wet=yes  # why\n\nplace c\n"},
    {ABC, "[{'do':'replace','record':{'index':1},'text':'place b # so\\n'}]",
     "place a\n# on b\nplace b # so\n\nplace c\n"},
    {"place a # 1\n  wet=yes # 2\nplace b \"# no\"\n",
     "[{'do':'replace','record':{'index':0},'text':'place a'},"
     "{'do':'replace','record':{'index':1},'text':'place c \\\"# \\\\\\\\ no\\\"'}]",
     "place a\n  # 1\n  # 2\nplace c \"# \\\\ no\"\n"},
    {"place a", "[{'do':'replace','record':{'index':0},'text':'place b\\n'}]", "place b"},
    /* a list is about the sheet as it was given */
    {ABC,
     "[{'do':'remove','record':{'index':0}},{'do':'set','record':{'index':2},'key':'wet','value':"
     "'yes'},{'do':'replace','record':{'index':1},'text':'place b'},{'do':'add','text':'place a'}]",
     "# on b\nplace b  # why\n\nplace c wet=yes\nplace a\n"},
    /* but a name that it brings in is found */
    {"place a\n",
     "[{'do':'add','text':'place n'},{'do':'set','record':{'kind':'place','name':'n'},'key':'wet',"
     "'value':'yes'}]",
     "place a\nplace n wet=yes\n"},
    {"place a\n",
     "[{'do':'set','record':{'kind':'place','name':'a'},'key':'name','value':'n'},{'do':'remove',"
     "'record':{'kind':'place','name':'n'}}]",
     ""},
    /* variants */
    {"place a\nvariant v\nplace a\nvariant w\nplace a\n",
     "[{'do':'set','record':{'kind':'place','name':'a','variant':2},'key':'wet','value':'yes'},"
     "{'do':'remove','record':{'kind':'place','name':'a','variant':'v'}},"
     "{'do':'add','text':'place b'}]",
     "place a\nplace b\nvariant v\nvariant w\nplace a wet=yes\n"},
    /* what stands there already is not added again, and not found fault with */
    {ABC, "[{'do':'add','text':'place c'}]", ABC},
    {"place a\r\n wet=yes\r\n",
     "[{'do':'add','text':'place a\\n wet=yes'},{'do':'add','text':'place b'}]",
     "place a\r\n wet=yes\r\nplace b\r\n"},
    {"need \"n\" A.x current<1A\n", "[{'do':'add','text':'need \\\"n\\\" A.x current<1A'}]",
     "need \"n\" A.x current<1A\n"},
    {"need \"n\" A.x current<1A\n", "[{'do':'add','text':'need \\\"n\\\" A.y current<1A'}]",
     "need \"n\" A.x current<1A\nneed \"n\" A.y current<1A\n"},
    /* line ends and the mark at the begin */
    {"place a\r\nplace b\r\n",
     "[{'do':'replace','record':{'index':0},'text':'place c\\n wet=yes'}]",
     "place c\r\n wet=yes\r\nplace b\r\n"},
    {"\357\273\277place a\r\n", "[{'do':'text','text':'place b\\nplace c'}]",
     "\357\273\277place b\r\nplace c"},
    {"place a\n", "[{'do':'text','text':'place b\\r\\n'}]", "place b\r\n"},
    /* a text may stop in the middle of a line */
    {ABC, "[{'do':'text','text':'wire W'}]", "wire W"},
    /* a broken line elsewhere is no hindrance */
    {"wire W\nplace a\n", "[{'do':'remove','record':{'kind':'place','name':'a'}}]", "wire W\n"},
    {"wire W\nplace a\n", "[{'do':'add','text':'place b'}]", "wire W\nplace a\nplace b\n"},
    /* refused, whole */
    {ABC, "[{'do':'remove','record':{'index':0}},{'do':'remove','record':{'index':3}}]", NULL},
    {ABC, "[{'do':'remove','record':{'index':-1}}]", NULL},
    {ABC, "[{'do':'remove','record':{'kind':'place','name':'d'}}]", NULL},
    {ABC, "[{'do':'remove','record':{'kind':'place','name':'a','variant':1}}]", NULL},
    {ABC, "[{'do':'remove','record':{'kind':'place','name':'a','variant':'none'}}]", NULL},
    {ABC, "[{'do':'remove'}]", NULL},
    {ABC, "[{'do':'paint','record':{'index':0}}]", NULL},
    {ABC, "[7]", NULL},
    {ABC, "{}", NULL},
    {ABC, "[", NULL},
    {ABC, "[{'do':'set','record':{'index':0},'key':'wet'}]", NULL},
    {ABC, "[{'do':'set','record':{'index':0},'key':'wet','value':7}]", NULL},
    {ABC, "[{'do':'set','record':{'index':0},'key':'wet','value':'perhaps'}]", NULL},
    {ABC, "[{'do':'set','record':{'index':0},'key':'temperature','value':'5C\\nplace z'}]", NULL},
    {ABC, "[{'do':'add','text':'place c wet=yes'}]", NULL},
    {ABC, "[{'do':'add','text':'wire W'}]", NULL},
    {ABC, "[{'do':'add','text':'# nothing'}]", NULL},
    {ABC, "[{'do':'add','text':'place d'},{'do':'add','text':'place d'}]", NULL},
    {ABC, "[{'do':'replace','record':{'index':0},'text':''}]", NULL},
    {ABC, "[{'do':'replace','record':{'index':0},'text':'  wet=yes'}]", NULL},
    {ABC, "[{'do':'replace','record':{'index':0},'text':'place b'}]", NULL},
    {ABC,
     "[{'do':'replace','record':{'index':0},'text':'place z'},{'do':'set','record':{'index':0},"
     "'key':'wet','value':'yes'}]",
     NULL},
    {ABC,
     "[{'do':'set','record':{'index':0},'key':'name','value':'z'},"
     "{'do':'set','record':{'index':1},'key':'name','value':'z'}]",
     NULL},
    {ABC, "[{'do':'text','text':'x'},{'do':'add','text':'place d'}]", NULL},
    {"need \"n\" A.x current<1A\nneed \"n\" A.y current<1A\n",
     "[{'do':'remove','record':{'kind':'need','name':'n'}}]", NULL},
};

static void edits_as_a_person_would(void)
{
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autoptr(LgJobSheet) sheet = sheet_of(cases[i].before);
    g_autofree char *edits = g_strdelimit(g_strdup(cases[i].edits), "'", '"');
    g_autoptr(GError) error = NULL;
    g_test_message("%s", edits);
    g_autoptr(GBytes) after = lg_job_sheet_edit(sheet, edits, &error);
    if (cases[i].after == NULL) {
      g_assert_error(error, LG_ERROR, LG_ERROR_CALL);
      const char *const parted = strchr(error->message, '\n');
      g_test_message("%s", error->message);
      g_assert_true(parted != NULL && parted[1] != '\0' && strchr(parted + 1, '\n') == NULL);
    } else {
      g_assert_no_error(error);
      g_autofree char *text = text_of(after);
      g_assert_cmpstr(text, ==, cases[i].after);
    }
    g_autoptr(GBytes) still = lg_job_sheet_text(sheet);
    g_autofree char *still_text = text_of(still);
    g_assert_cmpstr(still_text, ==, cases[i].before);
  }
}

/* A chain of renames, each resting on the one before, is not followed for ever. */
static void chains_end(void)
{
  g_autoptr(GString) edits = g_string_new("[");
  for (int i = 0; i < 2000; i++)
    g_string_append_printf(edits,
                           "%s{\"do\":\"set\",\"record\":{\"kind\":\"place\",\"name\":\"p%d\"},"
                           "\"key\":\"name\",\"value\":\"p%d\"}",
                           i == 0 ? "" : ",", i, i + 1);
  g_string_append_c(edits, ']');
  g_autoptr(LgJobSheet) sheet = sheet_of("place p0\n");
  g_autoptr(GError) error = NULL;
  g_assert_null(lg_job_sheet_edit(sheet, edits->str, &error));
  g_assert_error(error, LG_ERROR, LG_ERROR_CALL);
}

/* Of a column that is pasted, the one bad cell is named. */
static void bad_cell_is_named(void)
{
  g_autoptr(GString) text = g_string_new(NULL);
  g_autoptr(GString) edits = g_string_new("[");
  for (int i = 0; i < 40; i++) {
    g_string_append_printf(text, "wire W%d A.1 B.1 RD auto\n", i);
    g_string_append_printf(edits,
                           "%s{\"do\":\"set\",\"record\":{\"index\":%d},\"key\":\"length\","
                           "\"value\":\"%s\"}",
                           i == 0 ? "" : ",", i, i == 27 ? "3" : "3m");
  }
  g_string_append_c(edits, ']');
  g_autoptr(LgJobSheet) sheet = sheet_of(text->str);
  g_autoptr(GError) error = NULL;
  g_assert_null(lg_job_sheet_edit(sheet, edits->str, &error));
  g_assert_true(g_str_has_prefix(error->message, "length of W27: "));
}

/* 5,000 wires, as a spreadsheet would hand them over. */
static char *many_wires(const char *rest)
{
  GString *const text = g_string_new("job \"many\"\n");
  for (int i = 0; i < 5000; i++)
    g_string_append_printf(text, "wire W%d A%d.1 B%d.1 RD auto length=1.5m  # number %d%s\n", i, i,
                           i, i, rest);
  return g_string_free(text, FALSE);
}

static double cpu_ms(clock_t from)
{
  return 1e3 * (double)(clock() - from) / CLOCKS_PER_SEC;
}

/* An edit list of 5,000, made by `put`, takes at most `most_ms` of the processor's time. */
static void check_pace(const char *name, const char *text, void (*put)(GString *edits, int i),
                       double most_ms)
{
  g_autoptr(LgJobSheet) sheet = sheet_of(text);
  g_autoptr(GString) edits = g_string_new("[");
  for (int i = 0; i < 5000; i++) {
    g_string_append(edits, i == 0 ? "" : ",");
    put(edits, i);
  }
  g_string_append_c(edits, ']');
  double best = 1e9;
  for (int round = 0; round < 3; round++) {
    g_autoptr(GError) error = NULL;
    const clock_t begin = clock();
    g_autoptr(GBytes) after = lg_job_sheet_edit(sheet, edits->str, &error);
    best = MIN(best, cpu_ms(begin));
    g_assert_no_error(error);
    g_assert_nonnull(after);
  }
  g_test_minimized_result(best, "5,000 edits (%s): %.0f ms", name, best);
  /* Sanitizers and busy machines take their share, so four times as much is the end. */
  g_assert_cmpfloat(best, <, 4 * most_ms);
}

static void put_set(GString *edits, int i)
{
  g_string_append_printf(edits,
                         "{\"do\":\"set\",\"record\":{\"kind\":\"wire\",\"name\":\"W%d\","
                         "\"variant\":0},\"key\":\"length\",\"value\":\"%d.5m\"}",
                         4999 - i, i % 9 + 2);
}

static void put_remove(GString *edits, int i)
{
  g_string_append_printf(edits, "{\"do\":\"remove\",\"record\":{\"index\":%d}}", i + 1);
}

static void put_replace(GString *edits, int i)
{
  g_string_append_printf(edits,
                         "{\"do\":\"replace\",\"record\":{\"index\":%d},\"text\":\"wire V%d A.1 "
                         "B.1 RD auto length=2m\"}",
                         i + 1, i);
}

static void put_add(GString *edits, int i)
{
  g_string_append_printf(edits, "{\"do\":\"add\",\"text\":\"wire V%d A.1 B.1 RD auto\"}", i);
}

static void put_rename(GString *edits, int i)
{
  g_string_append_printf(edits,
                         "{\"do\":\"set\",\"record\":{\"index\":%d},\"key\":\"name\",\"value\":"
                         "\"V%d\"}",
                         i + 1, i);
}

static void pasting_is_fast(void)
{
  g_autofree char *text = many_wires("");
  check_pace("set", text, put_set, 200);
  check_pace("remove", text, put_remove, 200);
  check_pace("replace", text, put_replace, 200);
  check_pace("add", text, put_add, 600);
  check_pace("rename", text, put_rename, 400);
}

static void json_is_fast(void)
{
  g_autofree char *text = many_wires("");
  g_autoptr(LgJobSheet) sheet = sheet_of(text);
  const clock_t begin = clock();
  for (int i = 0; i < 5; i++)
    g_free(lg_job_sheet_json(sheet));
  g_test_minimized_result(cpu_ms(begin) / 5, "JSON of 5,000 records: %.1f ms", cpu_ms(begin) / 5);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/edit/schema-is-told-whole", schema_is_told_whole);
  g_test_add_func("/edit/values-of-examples", values_of_examples);
  g_test_add_func("/edit/values-of-random-sheets", values_of_random_sheets);
  g_test_add_func("/edit/head-of-an-example", head_of_an_example);
  g_test_add_func("/edit/problems-are-told", problems_are_told);
  g_test_add_func("/edit/edits-as-a-person-would", edits_as_a_person_would);
  g_test_add_func("/edit/chains-end", chains_end);
  g_test_add_func("/edit/bad-cell-is-named", bad_cell_is_named);
  g_test_add_func("/edit/pasting-is-fast", pasting_is_fast);
  g_test_add_func("/edit/json-is-fast", json_is_fast);
  return g_test_run();
}
