/* Edits of single records. An edit is a splice of the record's text; afterwards the record is read
 * again, and refused when it does not say exactly what it said before plus the change. */
#include "sheet/sheet-private.h"
#include <string.h>

const char *lg_line_end(const char *text, gsize length)
{
  const char *const end = length == 0 ? NULL : memchr(text, '\n', length);
  return end != NULL && end > text && end[-1] == '\r' ? "\r\n" : "\n";
}

char *lg_quote(const char *text)
{
  GString *const out = g_string_new("\"");
  for (; *text != '\0'; text++) {
    if (*text == '"' || *text == '\\')
      g_string_append_c(out, '\\');
    g_string_append_c(out, *text);
  }
  return g_string_free(g_string_append_c(out, '"'), FALSE);
}

G_GNUC_PRINTF(2, 3) static gboolean refuse(GError **error, const char *format, ...)
{
  va_list args;
  va_start(args, format);
  g_autofree char *message = g_strdup_vprintf(format, args);
  va_end(args);
  g_set_error_literal(error, G_IO_ERROR, G_IO_ERROR_INVALID_ARGUMENT, message);
  return FALSE;
}

/* What a setting is about: a field of the kind, or LG_ROLE_NAME, LG_ROLE_TEXT. */
static gboolean find_role(LgKind kind, const char *key, int *role, GError **error)
{
  *role = lg_field_find(kind, key, strlen(key));
  if (*role < 0 && strcmp(key, "text") == 0)
    *role = LG_ROLE_TEXT;
  else if (*role < 0 && strcmp(key, "name") == 0 && lg_kinds[kind].naming != LG_NAMED_NOT)
    *role = LG_ROLE_NAME;
  return *role != -1 || refuse(error, "`%s` is no key of `%s`", key, lg_kinds[kind].word);
}

static gboolean wants_quotes(LgKind kind, int role)
{
  return role == LG_ROLE_TEXT || (role == LG_ROLE_NAME && lg_kinds[kind].naming == LG_NAMED_TEXT) ||
         (role >= 0 && lg_kinds[kind].fields[role].type == LG_VALUE_TEXT);
}

static gboolean is_quoted(const char *value)
{
  const gsize n = strlen(value);
  return n >= 2 && value[0] == '"' && value[n - 1] == '"';
}

static LgToken *find_token(const LgScan *scan, int role)
{
  for (gsize i = 0; i < scan->n_tokens; i++)
    if (scan->tokens[i].role == role)
      return &scan->tokens[i];
  return NULL;
}

static gboolean is_blank(char c)
{
  return c == ' ' || c == '\t';
}

/* A token with the white space before it; alone on a line that goes on, with that line. */
static void cut_token(GString *text, const LgToken *token)
{
  gsize begin = token->begin, end = token->end;
  while (begin > 0 && is_blank(text->str[begin - 1]))
    begin--;
  gsize behind = end;
  while (behind < text->len && is_blank(text->str[behind]))
    behind++;
  const gboolean last = behind == text->len || strchr("\r\n", text->str[behind]) != NULL;
  if (token->leads && last) {
    while (behind < text->len && text->str[behind] != '\n')
      behind++;
    end = MIN(behind + 1, text->len);
  } else if (token->leads) {
    begin = token->begin;
    end = behind;
  }
  g_string_erase(text, (gssize)begin, (gssize)(end - begin));
}

static int last_place(LgKind kind, const LgScan *scan)
{
  int place = 0;
  for (gsize i = 0; i < scan->n_tokens; i++)
    if (scan->tokens[i].role >= 0 && scan->tokens[i].key == NULL)
      place = MAX(place, lg_kinds[kind].fields[scan->tokens[i].role].place);
  return place;
}

static gboolean take_out(GString *text, LgKind kind, const LgScan *scan, int role, GError **error)
{
  const LgToken *const token = find_token(scan, role);
  if (role == LG_ROLE_NAME)
    return refuse(error, "a `%s` needs its name", lg_kinds[kind].word);
  if (token == NULL)
    return TRUE;
  if (role >= 0 && token->key == NULL && lg_kinds[kind].fields[role].place < last_place(kind, scan))
    return refuse(error, "`%s` cannot be taken out: the values behind it would move up",
                  lg_kinds[kind].fields[role].key);
  cut_token(text, token);
  return TRUE;
}

/* Behind the last token before the free text and the `when` tail that is of no other use there: a
 * new key goes behind the other keys, a text behind them, too. */
static gsize place_for_new(LgKind kind, const LgScan *scan, int role)
{
  const gboolean in_order =
      role >= 0 && lg_kinds[kind].fields[role].place == last_place(kind, scan) + 1;
  gsize at = 0;
  for (gsize i = 0; i < scan->n_tokens && scan->tokens[i].role != LG_ROLE_WHEN; i++) {
    const LgToken *const t = &scan->tokens[i];
    const gboolean head = t->role == LG_ROLE_KIND || t->role == LG_ROLE_NAME;
    if (head || (t->role >= 0 && (t->key == NULL || !in_order)))
      at = t->end;
  }
  return at;
}

static void put_new(GString *text, LgKind kind, const LgScan *scan, int role, const char *value)
{
  const gboolean in_order =
      role >= 0 && lg_kinds[kind].fields[role].place == last_place(kind, scan) + 1;
  const gboolean pair = role >= 0 && !in_order;
  g_autofree char *added =
      g_strconcat(" ", pair ? lg_kinds[kind].fields[role].key : "", pair ? "=" : "", value, NULL);
  g_string_insert(text, (gssize)place_for_new(kind, scan, role), added);
}

static void replace(GString *text, const LgToken *token, const char *value)
{
  const gsize begin = token->begin + (token->key == NULL ? 0 : strlen(token->key) + 1);
  g_string_erase(text, (gssize)begin, (gssize)(token->end - begin));
  g_string_insert(text, (gssize)begin, value);
}

static gboolean has_control(const char *value)
{
  for (; *value != '\0'; value++)
    if ((guchar)*value < 0x20 && *value != '\t')
      return TRUE;
  return FALSE;
}

/* What the record must look like after a setting. */
typedef struct {
  int role;
  gsize n_tokens;
  gsize length; /* of the value as it stands in the text, 0: none is there */
} Outcome;

/* Changes the record in `text`. */
static gboolean apply(GString *text, LgKind kind, const LgSetting *setting, Outcome *outcome,
                      GError **error)
{
  int role;
  if (!find_role(kind, setting->key, &role, error))
    return FALSE;
  if (setting->value != NULL && has_control(setting->value))
    return refuse(error, "a value of `%s` stays on one line", setting->key);
  g_autofree char *value = setting->value == NULL ? NULL
                           : wants_quotes(kind, role) && !is_quoted(setting->value)
                               ? lg_quote(setting->value)
                               : g_strdup(setting->value);
  g_autofree char *before = g_strndup(text->str, text->len);
  LgPiece piece;
  lg_piece_begin(&piece, before, text->len);
  LgScan *const scan = &piece.scan;
  lg_tokens_assign(scan->tokens, scan->n_tokens);
  const LgToken *const token = find_token(scan, role);
  gboolean good = TRUE;
  *outcome = (Outcome){.role = role,
                       .n_tokens = scan->n_tokens + (token == NULL && value != NULL) -
                                   (token != NULL && value == NULL),
                       .length = value == NULL ? 0 : strlen(value)};
  if (value == NULL)
    good = take_out(text, kind, scan, role, error);
  else if (token != NULL)
    replace(text, token, value);
  else
    put_new(text, kind, scan, role, value);
  lg_piece_end(&piece);
  return good;
}

static gboolean has_outcome(const GString *text, const Outcome *outcome)
{
  LgPiece piece;
  lg_piece_begin(&piece, text->str, text->len);
  lg_tokens_assign(piece.scan.tokens, piece.scan.n_tokens);
  const LgToken *const token = find_token(&piece.scan, outcome->role);
  const gsize key = token == NULL || token->key == NULL ? 0 : strlen(token->key) + 1;
  const gsize length = token == NULL ? 0 : token->end - token->begin - key;
  const gboolean good = piece.scan.n_tokens == outcome->n_tokens && length == outcome->length;
  lg_piece_end(&piece);
  return good;
}

/* Whether the changed text is one good record of the kind and nothing else got in. */
static gboolean check_piece(const LgSheet *sheet, const GString *text, LgKind kind,
                            const Outcome *outcome, GError **error)
{
  g_autoptr(GBytes) bytes = g_bytes_new(text->str, text->len);
  g_autoptr(LgSheet) read = lg_sheet_read(sheet->file, bytes, sheet->catalogue);
  if (read->problems->len > 0) {
    const LgProblem *const problem = read->problems->pdata[0];
    return refuse(error, "%s; %s", problem->what, problem->remedy);
  }
  const gboolean same = read->n_records == 1 && lg_sheet_record(read, 0)->kind == kind;
  return (same && has_outcome(text, outcome)) ||
         refuse(error, "that is not one value; put a text with spaces into quotes");
}

/* Whether the two may not have the same name. */
static gboolean same_section(const LgRecord *a, const LgRecord *b)
{
  return a->variant == b->variant || a->kind == LG_KIND_VARIANT;
}

static gboolean check_name(const LgSheet *sheet, const LgSetting *setting, GError **error)
{
  const LgRecord *const record = lg_sheet_record(sheet, setting->record);
  const LgNaming naming = lg_kinds[record->kind].naming;
  if (strcmp(setting->key, "name") != 0 || setting->value == NULL || naming == LG_NAMED_TEXT)
    return TRUE;
  for (guint i = 0; i < sheet->n_records; i++) {
    const LgRecord *const other = lg_sheet_record(sheet, i);
    if (other != record && other->kind == record->kind && same_section(other, record) &&
        g_strcmp0(other->name, setting->value) == 0)
      return refuse(error, "line %d has a `%s` of the name `%s` already; take another name",
                    other->origin.line, lg_kinds[record->kind].word, setting->value);
  }
  return TRUE;
}

/* The settings in the order of their records; those of one record stay in their order. */
static int compare_settings(gconstpointer a, gconstpointer b)
{
  const LgSetting *const s = *(const LgSetting *const *)a, *const t = *(const LgSetting *const *)b;
  if (s->record != t->record)
    return s->record < t->record ? -1 : 1;
  return s < t ? -1 : s > t;
}

static GPtrArray *sort_settings(const LgSetting settings[], gsize n)
{
  GPtrArray *const order = g_ptr_array_sized_new((guint)n);
  for (gsize i = 0; i < n; i++)
    g_ptr_array_add(order, (gpointer)&settings[i]);
  g_ptr_array_sort(order, compare_settings);
  return order;
}

/* The record of order[*i] with all its settings applied, appended to `out`. */
static gboolean append_changed(const LgSheet *sheet, const GPtrArray *order, guint *i, GString *out,
                               GError **error)
{
  const LgSetting *const first = order->pdata[*i];
  const LgRecord *const record = lg_sheet_record(sheet, first->record);
  g_autoptr(GString) text =
      g_string_new_len(sheet->text + record->begin, (gssize)(record->end - record->begin));
  for (; *i < order->len; (*i)++) {
    const LgSetting *const setting = order->pdata[*i];
    Outcome outcome = {0};
    if (setting->record != first->record)
      break;
    if (!check_name(sheet, setting, error) ||
        !apply(text, record->kind, setting, &outcome, error) ||
        !check_piece(sheet, text, record->kind, &outcome, error))
      return FALSE;
  }
  g_string_append_len(out, text->str, (gssize)text->len);
  return TRUE;
}

GBytes *lg_sheet_set_all(const LgSheet *sheet, const LgSetting settings[], gsize n, GError **error)
{
  g_autoptr(GPtrArray) order = sort_settings(settings, n);
  g_autoptr(GString) out = g_string_sized_new(sheet->length + 64 * n);
  gsize at = 0;
  for (guint i = 0; i < order->len;) {
    const LgSetting *const setting = order->pdata[i];
    const LgRecord *const record = lg_sheet_record(sheet, setting->record);
    g_string_append_len(out, sheet->text + at, (gssize)(record->begin - at));
    at = record->end;
    if (!append_changed(sheet, order, &i, out, error))
      return NULL;
  }
  g_string_append_len(out, sheet->text + at, (gssize)(sheet->length - at));
  return g_string_free_to_bytes(g_steal_pointer(&out));
}

GBytes *lg_sheet_set(const LgSheet *sheet, guint record, const char *key, const char *value,
                     GError **error)
{
  const LgSetting setting = {record, key, value};
  return lg_sheet_set_all(sheet, &setting, 1, error);
}

GBytes *lg_sheet_remove(const LgSheet *sheet, guint record)
{
  const LgRecord *const r = lg_sheet_record(sheet, record);
  GString *const out = g_string_sized_new(sheet->length);
  g_string_append_len(out, sheet->text, (gssize)r->begin);
  g_string_append_len(out, sheet->text + r->end, (gssize)(sheet->length - r->end));
  return g_string_free_to_bytes(out);
}

/* The lines of `text`, each with the line end `end`. */
static void append_lines(GString *out, const char *text, const char *end)
{
  while (*text != '\0') {
    gsize n = strcspn(text, "\n");
    const gsize step = n + (text[n] == '\n' ? 1 : 0);
    n -= n > 0 && text[n] == '\n' && text[n - 1] == '\r' ? 1 : 0;
    g_string_append_len(out, text, (gssize)n);
    g_string_append(out, end);
    text += step;
  }
}

static gboolean check_append(const LgSheet *sheet, const LgSheet *added, GError **error)
{
  if (added->problems->len > 0) {
    const LgProblem *const problem = added->problems->pdata[0];
    return refuse(error, "%s; %s", problem->what, problem->remedy);
  }
  if (added->n_records == 0)
    return refuse(error, "there is no record to add");
  for (guint a = 0; a < added->n_records; a++)
    for (guint i = 0; i < sheet->n_records; i++) {
      const LgRecord *const r = lg_sheet_record(added, a), *const s = lg_sheet_record(sheet, i);
      const LgKindInfo *const info = &lg_kinds[r->kind];
      if (r->kind == s->kind && same_section(r, s) &&
          (info->once || (info->naming >= LG_NAMED_PLAIN && strcmp(r->name, s->name) == 0)))
        return refuse(error, "line %d has that `%s` already", s->origin.line, info->word);
    }
  return TRUE;
}

/* Where the line before `at` begins. */
static gsize line_before(const LgSheet *sheet, gsize at)
{
  for (at--; at > 0 && sheet->text[at - 1] != '\n'; at--)
    ;
  return at;
}

/* Where what is added goes: before the first variant and the comments right above it, unless it is
 * a variant itself. */
static gsize end_of_base(const LgSheet *sheet, const LgSheet *added)
{
  guint i = 0;
  while (i < sheet->n_records && lg_sheet_record(sheet, i)->variant == 0)
    i++;
  if (i == sheet->n_records || lg_sheet_record(added, 0)->kind == LG_KIND_VARIANT)
    return sheet->length;
  const gsize least = i > 0 ? lg_sheet_record(sheet, i - 1)->end : 0;
  gsize at = lg_sheet_record(sheet, i)->begin;
  while (at > least && sheet->text[line_before(sheet, at)] == '#')
    at = line_before(sheet, at);
  return at;
}

GBytes *lg_sheet_append(const LgSheet *sheet, const char *record_text, GError **error)
{
  g_autoptr(GBytes) bytes = g_bytes_new(record_text, strlen(record_text));
  g_autoptr(LgSheet) added = lg_sheet_read(sheet->file, bytes, sheet->catalogue);
  if (!check_append(sheet, added, error))
    return NULL;
  const char *const end = lg_line_end(sheet->text, sheet->length);
  const gsize at = end_of_base(sheet, added);
  const char *const old = sheet->length > 0 ? sheet->text : ""; /* no text: no pointer */
  GString *const out = g_string_new_len(old, (gssize)at);
  if (out->len > 0 && out->str[out->len - 1] != '\n')
    g_string_append(out, end);
  append_lines(out, record_text, end);
  g_string_append_len(out, old + at, (gssize)(sheet->length - at));
  return g_string_free_to_bytes(out);
}
