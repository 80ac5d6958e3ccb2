/* A text cut into records and the lines between them, and edits carried over from an older one. */
#include "workbench/store-private.h"
#include <string.h>

static void slice_clear(gpointer data)
{
  g_free(((LgSlice *)data)->key);
}

static gsize line_behind(const LgSlices *s, gsize at, gsize length)
{
  const char *const end = memchr(s->data + at, '\n', length - at);
  return end == NULL ? length : (gsize)(end - s->data) + 1;
}

/* Lines without a record, one slice each. */
static void cut_lines(LgSlices *s, gsize at, gsize to)
{
  while (at < to) {
    const LgSlice slice = {.begin = at, .end = line_behind(s, at, to), .index = -1};
    gsize first = at;
    if (at == 0 && to >= 3 && memcmp(s->data, "\357\273\277", 3) == 0)
      first = 3; /* the mark at the begin */
    while (first < slice.end && g_ascii_isspace(s->data[first]))
      first++;
    s->n_broken += first < slice.end && s->data[first] != '#';
    g_array_append_val(s->slices, slice);
    at = slice.end;
  }
}

/* Variants are told apart by name: their numbers shift when one is put before them. */
static char *key_of(const char *kind, const char *variant, const char *name)
{
  return variant == NULL ? g_strdup_printf("%s %s", kind, name == NULL ? "" : name)
                         : g_strdup_printf("%s %s in %s", kind, name == NULL ? "" : name, variant);
}

static const char *variant_of(const json_t *variants, json_int_t number)
{
  return number <= 0 ? NULL : json_string_value(json_array_get(variants, (size_t)number - 1));
}

/* Titles may repeat; the second one is another record. */
static char *key_not_taken(GHashTable *found, char *key)
{
  g_autofree char *plain = key;
  if (!g_hash_table_contains(found, plain))
    return g_steal_pointer(&plain);
  for (int n = 2;; n++) {
    char *const counted = g_strdup_printf("%s, %d", plain, n);
    if (!g_hash_table_contains(found, counted))
      return counted;
    g_free(counted);
  }
}

static void cut_record(LgSlices *s, gsize begin, gsize length, const json_t *record,
                       const json_t *variants)
{
  const char *const source = json_string_value(json_object_get(record, "source"));
  const gsize end = begin + strlen(source);
  char *const key =
      key_of(json_string_value(json_object_get(record, "kind")),
             variant_of(variants, json_integer_value(json_object_get(record, "variant"))),
             json_string_value(json_object_get(record, "name")));
  const LgSlice slice = {.begin = begin,
                         .end = end < length ? line_behind(s, end, length) : length,
                         .key = key_not_taken(s->found, key),
                         .index = (int)s->records->len};
  const guint number = s->slices->len;
  g_array_append_val(s->slices, slice);
  g_array_append_val(s->records, number);
  g_hash_table_insert(s->found, slice.key, GUINT_TO_POINTER(number + 1));
}

static void cut(LgSlices *s, gsize length, const json_t *whole)
{
  const json_t *const variants = json_object_get(whole, "variants");
  gsize at = 0, seen = 0; /* cut up to here; begin of `line` */
  json_int_t line = 1;
  size_t i;
  json_t *record;
  json_array_foreach(json_object_get(whole, "records"), i, record)
  {
    const json_int_t wanted = json_integer_value(json_object_get(record, "line"));
    for (; line < wanted; line++)
      seen = line_behind(s, seen, length);
    const gsize mark = seen == 0 && length >= 3 && memcmp(s->data, "\357\273\277", 3) == 0 ? 3 : 0;
    cut_lines(s, at, seen + mark);
    cut_record(s, seen + mark, length, record, variants);
    at = g_array_index(s->slices, LgSlice, s->slices->len - 1).end;
  }
  cut_lines(s, at, length);
}

LgSlices *lg_text_slices_new(GBytes *text)
{
  gsize length;
  LgSlices *const s = g_new0(LgSlices, 1);
  s->text = g_bytes_ref(text);
  s->data = g_bytes_get_data(text, &length);
  s->slices = g_array_new(FALSE, FALSE, sizeof(LgSlice));
  g_array_set_clear_func(s->slices, slice_clear);
  s->records = g_array_new(FALSE, FALSE, sizeof(guint));
  s->found = g_hash_table_new(g_str_hash, g_str_equal);
  g_autoptr(LgJobSheet) sheet = lg_job_sheet_new("sheet", text);
  g_autofree char *told = lg_job_sheet_json(sheet);
  g_autoptr(json_t) whole = json_loads(told, 0, NULL);
  cut(s, length, whole);
  return s;
}

void lg_text_slices_free(LgSlices *s)
{
  if (s == NULL)
    return;
  g_hash_table_unref(s->found);
  g_array_unref(s->records);
  g_array_unref(s->slices);
  g_bytes_unref(s->text);
  g_free(s);
}

const LgSlice *lg_text_slices_find(const LgSlices *s, const char *key)
{
  const guint number = GPOINTER_TO_UINT(g_hash_table_lookup(s->found, key));
  return number == 0 ? NULL : &g_array_index(s->slices, LgSlice, number - 1);
}

static const LgSlice *find_by_index(const LgSlices *s, json_int_t index)
{
  return index < 0 || index >= (json_int_t)s->records->len
             ? NULL
             : &g_array_index(s->slices, LgSlice, g_array_index(s->records, guint, index));
}

/* The name of the n-th variant of the text. */
static const char *name_of_variant(const LgSlices *s, json_int_t number)
{
  static const char word[] = "variant ";
  for (guint i = 0; i < s->records->len; i++) {
    const char *const key = find_by_index(s, i)->key;
    /* The variant's own record is in itself: "variant direct in direct". */
    if (g_str_has_prefix(key, word) && --number == 0)
      return strstr(key, " in ") + strlen(" in ");
  }
  return NULL;
}

const LgSlice *lg_text_slices_find_named(const LgSlices *s, const json_t *record)
{
  const json_t *const index = json_object_get(record, "index");
  if (json_is_integer(index))
    return find_by_index(s, json_integer_value(index));
  const char *const kind = json_string_value(json_object_get(record, "kind"));
  const json_t *const variant = json_object_get(record, "variant");
  const char *const name = json_is_string(variant) ? json_string_value(variant)
                           : json_integer_value(variant) > 0
                               ? name_of_variant(s, json_integer_value(variant))
                               : NULL;
  g_autofree char *key =
      key_of(kind == NULL ? "" : kind, name, json_string_value(json_object_get(record, "name")));
  return lg_text_slices_find(s, key);
}

static gsize end_without_line_end(const LgSlices *s, const LgSlice *slice)
{
  gsize end = slice->end;
  end -= end > slice->begin && s->data[end - 1] == '\n' ? 1 : 0;
  end -= end > slice->begin && s->data[end - 1] == '\r' ? 1 : 0;
  return end;
}

gboolean lg_text_slices_same(const LgSlices *a, const LgSlice *p, const LgSlices *b,
                             const LgSlice *q)
{
  const gsize n = end_without_line_end(a, p) - p->begin;
  return n == end_without_line_end(b, q) - q->begin &&
         memcmp(a->data + p->begin, b->data + q->begin, n) == 0;
}

char *lg_slice_text(const LgSlices *s, const LgSlice *slice)
{
  return g_strndup(s->data + slice->begin, end_without_line_end(s, slice) - slice->begin);
}

static gboolean conflict(const LgSlices *now, const LgSlice *stands, const char *key, char **theirs,
                         GError **error)
{
  g_set_error(error, LG_STORE_ERROR, LG_STORE_ERROR_CONFLICT,
              stands != NULL ? "%s was changed meanwhile\nlook at it as it stands now, then make "
                               "your change again if it still holds"
                             : "%s was taken out meanwhile\nadd it again if it is still wanted",
              key);
  if (theirs != NULL)
    *theirs = stands != NULL ? lg_slice_text(now, stands) : NULL;
  return FALSE;
}

/* Names the record of one edit by its index in `now`. A record that `then` does not have is left as
 * named: an edit before may bring it in. */
static gboolean rebase_one(json_t *edit, const LgSlices *then, const LgSlices *now, char **theirs,
                           GError **error)
{
  const json_t *const record = json_object_get(edit, "record");
  const LgSlice *const was = record == NULL ? NULL : lg_text_slices_find_named(then, record);
  if (was == NULL && json_is_integer(json_object_get(record, "index"))) {
    g_set_error(error, LG_STORE_ERROR, LG_STORE_ERROR_CALL,
                "there is no record %" JSON_INTEGER_FORMAT
                " in that edition\nthe index is that of a record in `/job`, from 0",
                json_integer_value(json_object_get(record, "index")));
    return FALSE;
  }
  if (was == NULL)
    return TRUE;
  const LgSlice *const is = lg_text_slices_find(now, was->key);
  if (is == NULL || !lg_text_slices_same(then, was, now, is))
    return conflict(now, is, was->key, theirs, error);
  json_object_set_new(edit, "record", json_pack("{s:i}", "index", is->index));
  return TRUE;
}

static char *dump(const json_t *value)
{
  char *const dumped = json_dumps(value, JSON_COMPACT);
  char *const text = g_strdup(dumped);
  free(dumped);
  return text;
}

/* The whole text was edited: both changes are put together where they touch different records. */
static char *rebase_text(const char *edits, GBytes *then, GBytes *now, char **theirs,
                         GError **error)
{
  g_autoptr(LgJobSheet) sheet = lg_job_sheet_new("sheet", then);
  g_autoptr(GBytes) mine = lg_job_sheet_edit(sheet, edits, error);
  if (mine == NULL)
    return NULL;
  g_autoptr(GBytes) merged = lg_merge(then, mine, now, FALSE, theirs);
  json_t *const text = merged == NULL
                           ? NULL
                           : json_stringn(g_bytes_get_data(merged, NULL), g_bytes_get_size(merged));
  if (text == NULL) {
    g_set_error(error, LG_STORE_ERROR, LG_STORE_ERROR_CONFLICT,
                "the sheet was changed meanwhile, in a record that you changed, too\n"
                "copy your text, look at the sheet as it stands now, then put your change in");
    return NULL;
  }
  g_autoptr(json_t) list = json_pack("[{s:s, s:o}]", "do", "text", "text", text);
  return dump(list);
}

char *lg_rebase(const char *edits, GBytes *then, GBytes *now, char **theirs, GError **error)
{
  g_autoptr(json_t) list = json_loads(edits, 0, NULL);
  size_t i;
  json_t *edit;
  gboolean named = FALSE;
  json_array_foreach(list, i, edit)
  {
    if (g_strcmp0(json_string_value(json_object_get(edit, "do")), "text") == 0)
      return rebase_text(edits, then, now, theirs, error);
    named = named || json_object_get(edit, "record") != NULL;
  }
  if (!named) /* additions alone rest on nothing; what is no list is refused later */
    return g_strdup(edits);
  g_autoptr(LgSlices) old = lg_text_slices_new(then);
  g_autoptr(LgSlices) new = lg_text_slices_new(now);
  json_array_foreach(list, i, edit) if (!rebase_one(edit, old, new, theirs, error)) return NULL;
  return dump(list);
}

/* Kinds whose records are told apart by name, or of which there is one: "wire", "job". */
static GHashTable *distinct_kinds(void)
{
  GHashTable *const kinds = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  g_autofree char *told = lg_schema_json();
  g_autoptr(json_t) schema = json_loads(told, 0, NULL);
  size_t i;
  json_t *kind;
  json_array_foreach(json_object_get(schema, "kinds"), i, kind)
  {
    const char *const naming = json_string_value(json_object_get(kind, "naming"));
    if (json_is_true(json_object_get(kind, "once")) || strcmp(naming, "plain") == 0 ||
        strcmp(naming, "dotted") == 0)
      g_hash_table_add(kinds, g_strdup(json_string_value(json_object_get(kind, "word"))));
  }
  return kinds;
}

/* The record of `now` in the way of one that is added. */
static const LgSlice *in_the_way(const LgSlices *now, GHashTable *kinds, const char *text)
{
  g_autoptr(GBytes) bytes = g_bytes_new(text, strlen(text));
  g_autoptr(LgSlices) added = lg_text_slices_new(bytes);
  for (guint i = 0; i < added->records->len; i++) {
    const LgSlice *const slice = find_by_index(added, i);
    g_autofree char *kind = g_strndup(slice->key, strcspn(slice->key, " "));
    const LgSlice *const stands = lg_text_slices_find(now, slice->key);
    if (stands != NULL && g_hash_table_contains(kinds, kind) &&
        !lg_text_slices_same(added, slice, now, stands))
      return stands;
  }
  return NULL;
}

gboolean lg_added_elsewise(const char *edits, GBytes *now, char **theirs)
{
  g_autoptr(json_t) list = json_loads(edits, 0, NULL);
  g_autoptr(LgSlices) slices = NULL;
  g_autoptr(GHashTable) kinds = distinct_kinds();
  GString *const all = g_string_new(NULL);
  size_t i;
  json_t *edit;
  json_array_foreach(
      list, i, edit) if (g_strcmp0(json_string_value(json_object_get(edit, "do")), "add") == 0 &&
                         json_is_string(json_object_get(edit, "text")))
      g_string_append_printf(all, "%s\n", json_string_value(json_object_get(edit, "text")));
  g_autofree char *text = g_string_free(all, FALSE);
  if (text[0] == '\0')
    return FALSE;
  slices = lg_text_slices_new(now);
  const LgSlice *const stands = in_the_way(slices, kinds, text);
  if (stands != NULL && theirs != NULL)
    *theirs = lg_slice_text(slices, stands);
  return stands != NULL;
}
