/* Edits as a person makes them on the page: a list of them, all or none, to a new text.
 *
 * All edits of a list are about the sheet as it was given: settings are made in one pass, then what
 * is taken out or replaced is cut in one pass, then what is added goes to the end. Only records
 * that the list itself brings in (a name that the sheet does not have) wait for a second round. */
#include "api/api-private.h"
#include "sheet/sheet-private.h"
#include <jansson.h>
#include <string.h>

enum { NOT_FOUND = -1, AMBIGUOUS = -2, STRAY_INDEX = -3 };

typedef enum { KEPT, SET, REMOVED, REPLACED } Fate;

typedef struct {
  LgSheet *sheet;    /* as it stands before the edits */
  GHashTable *names; /* "kind variant name" -> index + 1, or 0 when several have it */
  Fate *fates;       /* [records] */
  char **texts;      /* [records] the new text of what is replaced */
  GArray *settings;  /* LgSetting; their texts are borrowed from the edits */
  GString *added;
  json_t *later; /* edits of records that are not there yet */
} Plan;

/* What is wrong and what to do, parted by a line end. FALSE. */
G_GNUC_PRINTF(2, 4)
static gboolean refuse(GError **error, const char *what, const char *remedy, ...)
{
  va_list args;
  va_start(args, remedy);
  g_autofree char *said = g_strdup_vprintf(what, args);
  va_end(args);
  g_set_error(error, LG_ERROR, LG_ERROR_CALL, "%s\n%s", said, remedy);
  return FALSE;
}

/* The sheet room says "what; remedy". Takes the error given. */
static gboolean refuse_as(GError **error, const char *about, GError *given)
{
  const char *const parted = strstr(given->message, "; ");
  const int n = parted == NULL ? (int)strlen(given->message) : (int)(parted - given->message);
  g_set_error(error, LG_ERROR, LG_ERROR_CALL, "%s%.*s\n%s", about, n, given->message,
              parted == NULL ? "change it and try again; nothing was changed" : parted + 2);
  g_error_free(given);
  return FALSE;
}

static char *key_of_name(const char *kind, gint64 variant, const char *name)
{
  return g_strdup_printf("%s %" G_GINT64_FORMAT " %s", kind, variant, name == NULL ? "" : name);
}

static GHashTable *index_names(const LgSheet *sheet)
{
  GHashTable *const names = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  for (guint i = 0; i < lg_sheet_n_records(sheet); i++) {
    const LgRecord *const r = lg_sheet_record(sheet, i);
    char *const key = key_of_name(lg_kinds[r->kind].word, r->variant, r->name);
    const gboolean twice = g_hash_table_contains(names, key);
    g_hash_table_insert(names, key, GUINT_TO_POINTER(twice ? 0 : i + 1));
  }
  return names;
}

static Plan *plan_new(LgSheet *sheet)
{
  Plan *const plan = g_new0(Plan, 1);
  plan->sheet = sheet;
  plan->names = index_names(sheet);
  plan->fates = g_new0(Fate, lg_sheet_n_records(sheet));
  plan->texts = g_new0(char *, lg_sheet_n_records(sheet));
  plan->settings = g_array_new(FALSE, FALSE, sizeof(LgSetting));
  plan->added = g_string_new(NULL);
  plan->later = json_array();
  return plan;
}

static void plan_free(Plan *plan)
{
  for (guint i = 0; i < lg_sheet_n_records(plan->sheet); i++)
    g_free(plan->texts[i]);
  g_hash_table_unref(plan->names);
  g_free(plan->fates);
  g_free(plan->texts);
  g_array_unref(plan->settings);
  g_string_free(plan->added, TRUE);
  json_decref(plan->later);
  g_free(plan);
}

G_DEFINE_AUTOPTR_CLEANUP_FUNC(Plan, plan_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(json_t, json_decref)

/* The variant is told by its number or its name. -1: the sheet has none such. */
static gint64 variant_of(const LgSheet *sheet, const json_t *variant)
{
  if (variant == NULL || json_is_null(variant))
    return 0;
  if (json_is_integer(variant))
    return json_integer_value(variant);
  for (guint i = 0; json_is_string(variant) && i < lg_sheet_n_records(sheet); i++) {
    const LgRecord *const r = lg_sheet_record(sheet, i);
    if (r->kind == LG_KIND_VARIANT && strcmp(r->name, json_string_value(variant)) == 0)
      return r->variant;
  }
  return -1;
}

/* The index of the record that an edit names, or why there is none. */
static int find_record(const Plan *plan, const json_t *record)
{
  const json_t *const index = json_object_get(record, "index");
  if (index != NULL && !json_is_null(index)) {
    const gboolean there = json_is_integer(index) && json_integer_value(index) >= 0 &&
                           json_integer_value(index) < (json_int_t)lg_sheet_n_records(plan->sheet);
    return there ? (int)json_integer_value(index) : STRAY_INDEX;
  }
  const char *const kind = json_string_value(json_object_get(record, "kind"));
  const char *const name = json_string_value(json_object_get(record, "name"));
  g_autofree char *key = key_of_name(
      kind == NULL ? "" : kind, variant_of(plan->sheet, json_object_get(record, "variant")), name);
  gpointer found;
  if (!g_hash_table_lookup_extended(plan->names, key, NULL, &found))
    return NOT_FOUND;
  return GPOINTER_TO_UINT(found) == 0 ? AMBIGUOUS : (int)GPOINTER_TO_UINT(found) - 1;
}

/* "wire W6", "wire W6 in a variant" */
static char *words_of(const json_t *record)
{
  const char *const kind = json_string_value(json_object_get(record, "kind"));
  const char *const name = json_string_value(json_object_get(record, "name"));
  const json_t *const variant = json_object_get(record, "variant");
  const gboolean varied = json_is_string(variant) || json_integer_value(variant) > 0;
  return g_strdup_printf("%s%s%s%s", kind == NULL ? "record" : kind, name == NULL ? "" : " ",
                         name == NULL ? "" : name, varied ? " in that variant" : "");
}

static gboolean refuse_record(int why, const json_t *record, GError **error)
{
  g_autofree char *words = words_of(record);
  if (why == AMBIGUOUS)
    return refuse(error, "there is more than one %s", "name it by its index", words);
  if (why == STRAY_INDEX)
    return refuse(error, "there is no record %" JSON_INTEGER_FORMAT,
                  "the index is that of a record in `/job`, from 0",
                  json_integer_value(json_object_get(record, "index")));
  return refuse(error, "there is no %s", "look whether it was renamed or taken out", words);
}

static gboolean plan_set(Plan *plan, int index, const json_t *edit, GError **error)
{
  const char *const key = json_string_value(json_object_get(edit, "key"));
  const json_t *const value = json_object_get(edit, "value");
  if (key == NULL || value == NULL || !(json_is_string(value) || json_is_null(value)))
    return refuse(error, "`set` lacks its key or its value",
                  "give `key`, and `value` as it would be typed, or null to take it out");
  if (plan->fates[index] == REPLACED)
    return refuse(error, "a record is replaced and set in one go", "put the value into its text");
  plan->fates[index] = MAX(plan->fates[index], SET);
  const LgSetting setting = {(guint)index, key, json_string_value(value)};
  g_array_append_val(plan->settings, setting);
  return TRUE;
}

/* The first problem of a text that is to be put in, told as of that text. */
static gboolean refuse_text(const LgSheet *read, const char *text, GError **error)
{
  const LgProblem *const p = lg_sheet_problems(read)->pdata[0];
  const gboolean long_text = strchr(text, '\n') != NULL && strchr(text, '\n')[1] != '\0';
  g_autofree char *place =
      long_text ? g_strdup_printf("line %d of it: ", p->origin.line) : g_strdup("");
  g_set_error(error, LG_ERROR, LG_ERROR_CALL, "%s%s\n%s", place, p->what, p->remedy);
  return FALSE;
}

static LgSheet *read_text(const char *text)
{
  g_autoptr(GBytes) bytes = g_bytes_new(text, strlen(text));
  return lg_sheet_read("what is put in", bytes, FALSE);
}

/* Where a comment begins in a line of a good record; its end when it has none. */
static const char *find_comment(const char *line, const char *end)
{
  gboolean quoted = FALSE;
  for (const char *p = line; p < end; p++) {
    if (quoted && *p == '\\')
      p++;
    else if (*p == '"')
      quoted = !quoted;
    else if (*p == '#' && !quoted && (p == line || p[-1] == ' ' || p[-1] == '\t'))
      return p;
  }
  return end;
}

/* The comments within a text, without the blanks around them. */
static GPtrArray *comments_in(const char *text, gsize length)
{
  GPtrArray *const list = g_ptr_array_new_with_free_func(g_free);
  for (const char *line = text, *const stop = text + length; line < stop;) {
    const char *const next = memchr(line, '\n', (gsize)(stop - line));
    const char *const end = next == NULL ? stop : next;
    const char *const comment = find_comment(line, end);
    if (comment < end)
      g_ptr_array_add(list, g_strchomp(g_strndup(comment, (gsize)(end - comment))));
    line = next == NULL ? stop : next + 1;
  }
  return list;
}

/* The new text of a record with the comments of the old one, unless it brings its own. A single one
 * stays on the line, several go on lines of their own behind. */
static char *with_comments(const LgSheet *sheet, const LgRecord *old, const char *given)
{
  GString *const text = g_string_new(given);
  while (text->len > 0 && strchr("\r\n \t", text->str[text->len - 1]) != NULL)
    g_string_truncate(text, text->len - 1);
  g_autoptr(GPtrArray) kept = comments_in(sheet->text + old->begin, old->end - old->begin);
  g_autoptr(GPtrArray) brought = comments_in(text->str, text->len);
  const gboolean one = kept->len == 1 && strchr(text->str, '\n') == NULL;
  for (guint i = 0; brought->len == 0 && i < kept->len; i++)
    g_string_append_printf(text, "%s%s", one ? "  " : "\n  ", (char *)kept->pdata[i]);
  return g_string_free(text, FALSE);
}

static gboolean plan_replace(Plan *plan, int index, const json_t *edit, GError **error)
{
  const char *const text = json_string_value(json_object_get(edit, "text"));
  if (text == NULL)
    return refuse(error, "`replace` lacks its text", "give `text`: the whole record");
  if (plan->fates[index] != KEPT)
    return refuse(error, "a record is changed twice in one go", "put all of it into one text");
  g_autoptr(LgSheet) read = read_text(text);
  if (lg_sheet_problems(read)->len > 0)
    return refuse_text(read, text, error);
  if (lg_sheet_n_records(read) == 0)
    return refuse(error, "there is no record in the text", "to take the record out, remove it");
  plan->fates[index] = REPLACED;
  plan->texts[index] = with_comments(plan->sheet, lg_sheet_record(plan->sheet, (guint)index), text);
  return TRUE;
}

static gboolean plan_remove(Plan *plan, int index, GError **error)
{
  if (plan->fates[index] == REPLACED)
    return refuse(error, "a record is replaced and taken out in one go", "do one of both");
  plan->fates[index] = REMOVED;
  return TRUE;
}

static gboolean plan_add(Plan *plan, const json_t *edit, GError **error)
{
  const char *const text = json_string_value(json_object_get(edit, "text"));
  if (text == NULL)
    return refuse(error, "`add` lacks its text", "give `text`: one record or more");
  g_string_append(plan->added, text);
  if (plan->added->len > 0 && plan->added->str[plan->added->len - 1] != '\n')
    g_string_append_c(plan->added, '\n');
  return TRUE;
}

static gboolean plan_edit(Plan *plan, json_t *edit, GError **error)
{
  const char *const what = json_string_value(json_object_get(edit, "do"));
  const json_t *const record = json_object_get(edit, "record");
  if (g_strcmp0(what, "add") == 0)
    return plan_add(plan, edit, error);
  if (g_strcmp0(what, "text") == 0)
    return refuse(error, "the whole text is given beside other edits",
                  "send `text` alone, or the edits alone");
  if (g_strcmp0(what, "set") != 0 && g_strcmp0(what, "remove") != 0 &&
      g_strcmp0(what, "replace") != 0)
    return refuse(error, "`%s` is no edit", "it is set, remove, add, replace or text",
                  what == NULL ? "" : what);
  if (!json_is_object(record))
    return refuse(error, "`%s` lacks its record", "name it by kind and name, or by index", what);
  const int index = find_record(plan, record);
  if (index == NOT_FOUND && json_is_string(json_object_get(record, "kind"))) {
    json_array_append(plan->later, edit);
    return TRUE;
  }
  if (index < 0)
    return refuse_record(index, record, error);
  if (strcmp(what, "set") == 0)
    return plan_set(plan, index, edit, error);
  return strcmp(what, "remove") == 0 ? plan_remove(plan, index, error)
                                     : plan_replace(plan, index, edit, error);
}

/* Of many settings, tells which one cannot be made: the last one of the shortest beginning of the
 * list that fails. */
static gboolean refuse_setting(const Plan *plan, GError *given, GError **error)
{
  const LgSetting *const all = (const LgSetting *)(gpointer)plan->settings->data;
  guint good = 0, bad = plan->settings->len;
  while (bad - good > 1) {
    const guint n = good + (bad - good) / 2;
    g_autoptr(GError) failed = NULL;
    g_autoptr(GBytes) text = lg_sheet_set_all(plan->sheet, all, n, &failed);
    if (text != NULL) {
      good = n;
      continue;
    }
    bad = n;
    g_error_free(given);
    given = g_steal_pointer(&failed);
  }
  const LgRecord *const record = lg_sheet_record(plan->sheet, all[bad - 1].record);
  g_autofree char *about =
      g_strdup_printf("%s of %s: ", all[bad - 1].key,
                      record->name != NULL ? record->name : lg_kinds[record->kind].word);
  return refuse_as(error, about, given);
}

/* The sheet with all settings made; the sheet itself when there are none. */
static LgSheet *make_settings(const Plan *plan, GError **error)
{
  g_autoptr(GBytes) text = g_bytes_ref(lg_sheet_bytes(plan->sheet));
  if (plan->settings->len > 0) {
    GError *failed = NULL;
    const LgSetting *const all = (const LgSetting *)(gpointer)plan->settings->data;
    g_bytes_unref(text);
    text = lg_sheet_set_all(plan->sheet, all, plan->settings->len, &failed);
    if (text == NULL) {
      refuse_setting(plan, failed, error);
      return NULL;
    }
  }
  return lg_sheet_read(lg_sheet_file(plan->sheet), text, FALSE);
}

/* The lines of `text` with the line end `end` each; the last one has it only if `closed`. */
static void put_lines(GString *out, const char *text, const char *end, gboolean closed)
{
  g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
  for (char **line = lines; *line != NULL; line++) {
    const gsize n = strlen(*line);
    g_string_append_len(out, *line,
                        (gssize)(n > 0 && line[0][n - 1] == '\r' && line[1] != NULL ? n - 1 : n));
    if (line[1] != NULL || closed)
      g_string_append(out, end);
  }
}

/* Cuts out and replaces, in one pass. Setting a value makes no record more or less, so the plan's
 * indices hold in `sheet`, too. */
static GBytes *splice(const Plan *plan, const LgSheet *sheet)
{
  const char *const end = lg_line_end(sheet->text, sheet->length);
  GString *const out = g_string_sized_new(sheet->length + 1024);
  gsize at = 0;
  for (guint i = 0; i < lg_sheet_n_records(sheet); i++) {
    const LgRecord *const r = lg_sheet_record(sheet, i);
    if (plan->fates[i] < REMOVED)
      continue;
    g_string_append_len(out, sheet->text + at, (gssize)(r->begin - at));
    if (plan->fates[i] == REPLACED)
      put_lines(out, plan->texts[i], end, r->end > r->begin && sheet->text[r->end - 1] == '\n');
    at = r->end;
  }
  if (at < sheet->length)
    g_string_append_len(out, sheet->text + at, (gssize)(sheet->length - at));
  return g_string_free_to_bytes(out);
}

/* Whether two records are the same letter for letter; line ends and blanks at the end apart. */
static gboolean same_record(const LgSheet *a, const LgRecord *r, const LgSheet *b,
                            const LgRecord *s)
{
  gsize i = r->begin, k = s->begin, i_end = r->end, k_end = s->end;
  while (i_end > i && g_ascii_isspace(a->text[i_end - 1]))
    i_end--;
  while (k_end > k && g_ascii_isspace(b->text[k_end - 1]))
    k_end--;
  for (;; i++, k++) {
    i += i + 1 < i_end && a->text[i] == '\r' && a->text[i + 1] == '\n';
    k += k + 1 < k_end && b->text[k] == '\r' && b->text[k + 1] == '\n';
    if (i >= i_end || k >= k_end)
      return i >= i_end && k >= k_end;
    if (a->text[i] != b->text[k])
      return FALSE;
  }
}

/* Whether the record stands in the sheet already. */
static gboolean stands(const LgSheet *sheet, GHashTable *names, const LgSheet *added,
                       const LgRecord *r)
{
  g_autofree char *key = key_of_name(lg_kinds[r->kind].word, 0, r->name);
  gpointer found;
  if (r->kind == LG_KIND_VARIANT || !g_hash_table_lookup_extended(names, key, NULL, &found))
    return FALSE;
  if (GPOINTER_TO_UINT(found) > 0)
    return same_record(sheet, lg_sheet_record(sheet, GPOINTER_TO_UINT(found) - 1), added, r);
  for (guint i = 0; i < lg_sheet_n_records(sheet); i++) {
    const LgRecord *const s = lg_sheet_record(sheet, i);
    if (s->kind == r->kind && s->variant == 0 && same_record(sheet, s, added, r))
      return TRUE;
  }
  return FALSE;
}

/* What is added without the records that stand there letter for letter: a phone that is not sure
 * whether its reading arrived sends it again. */
static char *without_standing(const LgSheet *sheet, const LgSheet *added)
{
  g_autoptr(GHashTable) names = index_names(sheet);
  GString *const out = g_string_sized_new(added->length + 1);
  gsize at = 0;
  guint dropped = 0;
  for (guint i = 0; i < lg_sheet_n_records(added); i++) {
    const LgRecord *const r = lg_sheet_record(added, i);
    if (!stands(sheet, names, added, r))
      continue;
    g_string_append_len(out, added->text + at, (gssize)(r->begin - at));
    at = r->end;
    dropped++;
  }
  g_string_append_len(out, added->text + at, (gssize)(added->length - at));
  if (dropped > 0 && dropped == lg_sheet_n_records(added))
    g_string_truncate(out, 0);
  return g_string_free(out, FALSE);
}

static GBytes *append(const Plan *plan, GBytes *text, GError **error)
{
  g_autoptr(LgSheet) sheet = lg_sheet_read(lg_sheet_file(plan->sheet), text, FALSE);
  g_autoptr(LgSheet) added = read_text(plan->added->str);
  if (lg_sheet_problems(added)->len > 0) {
    refuse_text(added, plan->added->str, error);
    return NULL;
  }
  g_autofree char *rest = without_standing(sheet, added);
  if (rest[0] == '\0')
    return g_bytes_ref(text);
  GError *failed = NULL;
  GBytes *const whole = lg_sheet_append(sheet, rest, &failed);
  if (whole == NULL)
    refuse_as(error, "", failed);
  return whole;
}

/* Two records of one name can come of edits that are good each by itself. */
static gboolean check_whole(const LgSheet *before, GBytes *text, GError **error)
{
  g_autoptr(LgSheet) after = lg_sheet_read(lg_sheet_file(before), text, FALSE);
  if (lg_sheet_problems(after)->len == 0)
    return TRUE;
  g_autoptr(LgSheet) again = lg_sheet_read(lg_sheet_file(before), lg_sheet_bytes(before), FALSE);
  const guint n = lg_sheet_problems(again)->len;
  if (lg_sheet_problems(after)->len <= n)
    return TRUE;
  const LgProblem *shown = NULL;
  for (guint i = 0; shown == NULL || i < lg_sheet_problems(after)->len; i++) {
    const LgProblem *const p = lg_sheet_problems(after)->pdata[i];
    gboolean old = FALSE;
    for (guint k = 0; k < n && !old; k++)
      old = strcmp(((LgProblem *)lg_sheet_problems(again)->pdata[k])->what, p->what) == 0;
    if (!old || i + 1 == lg_sheet_problems(after)->len) {
      shown = p;
      break;
    }
  }
  g_set_error(error, LG_ERROR, LG_ERROR_CALL, "%s\n%s", shown->what, shown->remedy);
  return FALSE;
}

static GBytes *apply(const Plan *plan, GError **error)
{
  g_autoptr(LgSheet) set = make_settings(plan, error);
  if (set == NULL)
    return NULL;
  g_autoptr(GBytes) text = splice(plan, set);
  if (plan->added->len > 0) {
    GBytes *const more = append(plan, text, error);
    if (more == NULL)
      return NULL;
    g_bytes_unref(text);
    text = more;
  }
  return g_steal_pointer(&text);
}

/* A list in which each name is brought in by the edit before could ask for a round each. */
enum { MOST_ROUNDS = 8 };

/* Edits that wait are for names that this round brought in, so each round does some or fails. */
static GBytes *make(LgSheet *sheet, const json_t *edits, int round, GError **error)
{
  g_autoptr(Plan) plan = plan_new(sheet);
  size_t i;
  json_t *edit;
  json_array_foreach(edits, i, edit) if (!plan_edit(plan, edit, error)) return NULL;
  const gboolean stuck = i > 0 && json_array_size(plan->later) == json_array_size(edits);
  if (stuck || (json_array_size(plan->later) > 0 && round == MOST_ROUNDS)) {
    refuse_record(NOT_FOUND, json_object_get(json_array_get(plan->later, 0), "record"), error);
    return NULL;
  }
  g_autoptr(GBytes) text = apply(plan, error);
  if (text == NULL || json_array_size(plan->later) == 0)
    return g_steal_pointer(&text);
  g_autoptr(LgSheet) next = lg_sheet_read(lg_sheet_file(sheet), text, FALSE);
  return make(next, plan->later, round + 1, error);
}

/* A text that comes from a page has lost what a page does not keep: the mark at the begin, and the
 * carriage returns. */
static GBytes *take_text(const LgSheet *sheet, const char *given, GError **error)
{
  static const char mark[] = "\357\273\277";
  if (strlen(given) > LG_SHEET_MOST_BYTES) {
    refuse(error, "the text is too long for a sheet", "split it into several sheets");
    return NULL;
  }
  const gboolean marked = sheet->length >= 3 && memcmp(sheet->text, mark, 3) == 0;
  const char *const end = lg_line_end(sheet->text, sheet->length);
  const gboolean convert = end[0] == '\r' && strstr(given, "\r\n") == NULL;
  GString *const out = g_string_new(marked && !g_str_has_prefix(given, mark) ? mark : NULL);
  if (convert)
    put_lines(out, given, end, FALSE);
  else
    g_string_append(out, given);
  return g_string_free_to_bytes(out);
}

GBytes *lg_job_sheet_edit(const LgJobSheet *sheet, const char *edits, GError **error)
{
  json_error_t wrong;
  g_autoptr(json_t) list = json_loads(edits, JSON_REJECT_DUPLICATES, &wrong);
  if (!json_is_array(list)) {
    refuse(error, "the edits are no list: %s", "send a JSON list of edits",
           list == NULL ? wrong.text : "something else stands there");
    return NULL;
  }
  const json_t *const only = json_array_size(list) == 1 ? json_array_get(list, 0) : NULL;
  if (g_strcmp0(json_string_value(json_object_get(only, "do")), "text") == 0) {
    const char *const text = json_string_value(json_object_get(only, "text"));
    if (text == NULL) {
      refuse(error, "`text` lacks its text", "give `text`: the whole sheet");
      return NULL;
    }
    return take_text(sheet->sheet, text, error);
  }
  g_autoptr(GBytes) text = make(sheet->sheet, list, 1, error);
  if (text == NULL || !check_whole(sheet->sheet, text, error))
    return NULL;
  return g_steal_pointer(&text);
}
