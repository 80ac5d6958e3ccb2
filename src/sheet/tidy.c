/* The tidy form. The sheet is cut into items (blank line, comment line, record); what an item looks
 * like depends on the tokens of it and its neighbours only, not on how they were laid out, so
 * tidying twice changes nothing. */
#include "sheet/sheet-private.h"
#include <string.h>

enum { WIDTH = 100, INDENT = 4 };

typedef struct {
  char **words;    /* tokens as they will stand, in their order; NULL-ended */
  gsize n_columns; /* so many of them stand in columns: kind, name, values in order */
  LgKind kind;
  char *comment; /* behind the record, or NULL */
  char *lines;   /* a record with comments inside: its lines, done already */
} Item;          /* words == NULL: `lines` is a comment line, or nothing for a blank line */

static void clear_item(gpointer data)
{
  Item *const item = data;
  g_strfreev(item->words);
  g_free(item->comment);
  g_free(item->lines);
}

/* Columns that a text takes on a screen. */
static int width_of(const char *text)
{
  int width = 0;
  for (; *text != '\0'; text = g_utf8_next_char(text)) {
    const gunichar c = g_utf8_get_char(text);
    width += c < 0x80 ? 1 : g_unichar_iszerowidth(c) ? 0 : g_unichar_iswide(c) ? 2 : 1;
  }
  return width;
}

static char *token_text(const LgPiece *piece, const LgToken *token)
{
  return g_strndup(piece->sheet.text + token->begin, token->end - token->begin);
}

static const LgToken *token_of_role(const LgPiece *piece, int role)
{
  for (gsize i = 0; i < piece->scan.n_tokens; i++)
    if (piece->scan.tokens[i].role == role)
      return &piece->scan.tokens[i];
  return NULL;
}

static void add_role(const LgPiece *piece, int role, GPtrArray *words)
{
  const LgToken *const token = token_of_role(piece, role);
  if (token != NULL)
    g_ptr_array_add(words, token_text(piece, token));
}

/* Values in order as far as none is left out, by whatever form they were given. Returns how many.
 */
static int add_in_order(const LgPiece *piece, LgKind kind, GPtrArray *words)
{
  int place = 1;
  for (;; place++) {
    const int field = lg_field_at_place(kind, place);
    const LgToken *const token = field < 0 ? NULL : token_of_role(piece, field);
    if (token == NULL)
      return place - 1;
    g_ptr_array_add(words, g_strdup(token->text));
  }
}

static void add_rest(const LgPiece *piece, LgKind kind, int n_in_order, GPtrArray *words)
{
  for (int field = 0; lg_kinds[kind].fields[field].key != NULL; field++) {
    const int place = lg_kinds[kind].fields[field].place;
    if (place == 0 || place > n_in_order)
      add_role(piece, field, words);
  }
  add_role(piece, LG_ROLE_TEXT, words);
  add_role(piece, LG_ROLE_WHEN, words);
  for (gsize i = 0; i < piece->scan.n_tokens; i++)
    if (piece->scan.tokens[i].role == LG_ROLE_STATE)
      g_ptr_array_add(words, token_text(piece, &piece->scan.tokens[i]));
}

static void order_words(const LgPiece *piece, LgKind kind, Item *item)
{
  GPtrArray *const words = g_ptr_array_new();
  add_role(piece, LG_ROLE_KIND, words);
  add_role(piece, LG_ROLE_NAME, words);
  const int n_in_order = add_in_order(piece, kind, words);
  item->n_columns = words->len;
  add_rest(piece, kind, n_in_order, words);
  g_ptr_array_add(words, NULL);
  item->words = (char **)g_ptr_array_free(words, FALSE);
  item->kind = kind;
}

/* What stands on a line behind `from`, without white space around; NULL when there is nothing. */
static char *rest_of_line(const char *text, gsize from, gsize length)
{
  const char *const end = memchr(text + from, '\n', length - from);
  g_autofree char *rest =
      g_strndup(text + from, end == NULL ? length - from : (gsize)(end - text) - from);
  g_strstrip(rest);
  return *rest == '\0' ? NULL : g_steal_pointer(&rest);
}

/* The tokens of one line of a record, then its comment. */
static gsize add_line(const LgPiece *piece, gsize first, GString *out)
{
  const LgScan *const scan = &piece->scan;
  gsize i = first;
  g_string_append_printf(out, "%*s", first == 0 ? 0 : INDENT, "");
  do {
    g_autofree char *text = token_text(piece, &scan->tokens[i]);
    g_string_append_printf(out, "%s%s", i == first ? "" : " ", text);
  } while (++i < scan->n_tokens && !scan->tokens[i].leads);
  g_autofree char *comment =
      rest_of_line(piece->sheet.text, scan->tokens[i - 1].end, piece->sheet.length);
  if (comment != NULL)
    g_string_append_printf(out, "  %s", comment);
  g_string_append_c(out, '\n');
  return i;
}

/* Comment lines between the token that ends a line and the one that begins the next. */
static void add_comment_lines(const LgPiece *piece, gsize next, GString *out)
{
  const LgScan *const scan = &piece->scan;
  const char *const text = piece->sheet.text;
  const char *p = memchr(text + scan->tokens[next - 1].end, '\n',
                         scan->tokens[next].begin - scan->tokens[next - 1].end);
  while (p != NULL && ++p < text + scan->tokens[next].begin) {
    const char *const end = memchr(p, '\n', (gsize)(text + scan->tokens[next].begin - p));
    if (end == NULL)
      return;
    g_autofree char *line = g_strndup(p, (gsize)(end - p));
    g_strstrip(line);
    if (*line != '\0')
      g_string_append_printf(out, "%*s%s\n", INDENT, "", line);
    p = end;
  }
}

static char *keep_lines(const LgPiece *piece)
{
  GString *const out = g_string_new(NULL);
  for (gsize i = 0; i < piece->scan.n_tokens;) {
    if (i > 0)
      add_comment_lines(piece, i, out);
    i = add_line(piece, i, out);
  }
  return g_string_free(out, FALSE);
}

/* Whether anything but white space stands between two tokens: then it is a comment. */
static gboolean has_comment_before(const LgPiece *piece, gsize i)
{
  const LgToken *const t = &piece->scan.tokens[i];
  const char *const gap = piece->sheet.text + t[-1].end;
  const gsize n = t->begin - t[-1].end;
  for (gsize k = 0; k < n; k++)
    if (strchr(" \t\r\n", gap[k]) == NULL)
      return TRUE;
  return FALSE;
}

static void add_record_item(const LgSheet *sheet, const LgRecord *record, GArray *items)
{
  LgPiece piece;
  Item item = {.kind = record->kind};
  lg_piece_begin(&piece, sheet->text + record->begin, record->end - record->begin);
  const LgScan *const scan = &piece.scan;
  const LgKind kind = lg_tokens_assign(scan->tokens, scan->n_tokens);
  gboolean inner = FALSE;
  for (gsize i = 1; i < scan->n_tokens && !inner; i++)
    inner = has_comment_before(&piece, i);
  order_words(&piece, kind, &item);
  item.comment =
      rest_of_line(piece.sheet.text, scan->tokens[scan->n_tokens - 1].end, piece.sheet.length);
  item.lines = inner ? keep_lines(&piece) : NULL;
  lg_piece_end(&piece);
  g_array_append_val(items, item);
}

/* The lines between two records: blank ones and comments. */
static void add_between(const char *text, gsize begin, gsize end, GArray *items)
{
  while (begin < end) {
    const char *const stop = memchr(text + begin, '\n', end - begin);
    const gsize next = stop == NULL ? end : (gsize)(stop - text) + 1;
    Item item = {.lines = g_strndup(text + begin, next - begin)};
    g_strchomp(item.lines);
    if (*item.lines == '\0')
      g_clear_pointer(&item.lines, g_free);
    else {
      char *const line = item.lines;
      item.lines = g_strconcat(line, "\n", NULL);
      g_free(line);
    }
    g_array_append_val(items, item);
    begin = next;
  }
}

static gboolean is_record(const Item *item)
{
  return item->words != NULL;
}

/* Fits on one line without columns; only such records make columns. */
static gboolean is_short(const Item *item)
{
  int width = 0;
  for (char **w = item->words; *w != NULL; w++)
    width += width_of(*w) + (w > item->words ? 1 : 0);
  return item->lines == NULL && width <= WIDTH;
}

/* Words with spaces to the column's width, broken before the width is passed. */
static void print_record(const Item *item, const int widths[], GString *out)
{
  if (item->lines != NULL) {
    g_string_append(out, item->lines);
    return;
  }
  int at = 0, owed = 0; /* column reached; spaces to write before the next word */
  for (gsize i = 0; item->words[i] != NULL; i++) {
    const int width = width_of(item->words[i]);
    if (i > 0 && at + owed + width > WIDTH) {
      g_string_append_printf(out, "\n%*s", INDENT, "");
      at = INDENT;
      owed = 0;
    }
    g_string_append_printf(out, "%*s%s", owed, "", item->words[i]);
    at += owed + width;
    owed = 1 + (widths != NULL && i < item->n_columns ? MAX(0, widths[i] - width) : 0);
  }
  if (item->comment != NULL)
    g_string_append_printf(out, "  %s", item->comment);
  g_string_append_c(out, '\n');
}

/* Prints the like records from `first` on; returns the item behind them. */
static guint print_block(const GArray *items, guint first, GString *out)
{
  int widths[LG_MOST_FIELDS + 2] = {0};
  const Item *const head = &g_array_index(items, Item, first);
  guint end = first;
  for (; end < items->len; end++) {
    const Item *const item = &g_array_index(items, Item, end);
    if (!is_record(item) || item->kind != head->kind)
      break;
    for (gsize i = 0; i < item->n_columns && is_short(item); i++)
      widths[i] = MAX(widths[i], width_of(item->words[i]));
  }
  for (guint i = first; i < end; i++) {
    const Item *const item = &g_array_index(items, Item, i);
    print_record(item, is_short(item) ? widths : NULL, out);
  }
  return end;
}

static void print_items(const GArray *items, GString *out)
{
  gboolean blank = FALSE, begun = FALSE;
  for (guint i = 0; i < items->len;) {
    const Item *const item = &g_array_index(items, Item, i);
    const gboolean empty = !is_record(item) && item->lines == NULL;
    if (!empty && blank && begun)
      g_string_append_c(out, '\n');
    blank = empty;
    begun = begun || !empty;
    if (is_record(item)) {
      i = print_block(items, i, out);
      continue;
    }
    if (!empty)
      g_string_append(out, item->lines);
    i++;
  }
}

static GArray *cut_items(const LgSheet *sheet, gsize begin)
{
  GArray *const items = g_array_new(FALSE, FALSE, sizeof(Item));
  g_array_set_clear_func(items, clear_item);
  for (guint i = 0; i < sheet->n_records; i++) {
    const LgRecord *const record = lg_sheet_record(sheet, i);
    add_between(sheet->text, begin, record->begin, items);
    add_record_item(sheet, record, items);
    begin = record->end;
  }
  add_between(sheet->text, begin, sheet->length, items);
  return items;
}

/* The sheet's own line ends instead of LF. */
static GBytes *with_line_ends(GString *text, const char *end)
{
  if (strcmp(end, "\n") != 0)
    g_string_replace(text, "\n", end, 0);
  return g_string_free_to_bytes(text);
}

GBytes *lg_sheet_tidy(const LgSheet *sheet, GError **error)
{
  static const char mark[] = "\357\273\277";
  if (sheet->problems->len > 0) {
    const LgProblem *const first = sheet->problems->pdata[0];
    g_set_error(error, G_IO_ERROR, G_IO_ERROR_INVALID_DATA,
                "%s:%d:%d: %s; a sheet is tidied when it has no problems", first->origin.file,
                first->origin.line, first->origin.column, first->what);
    return NULL;
  }
  const gboolean marked = sheet->length >= 3 && memcmp(sheet->text, mark, 3) == 0;
  g_autoptr(GArray) items = cut_items(sheet, marked ? 3 : 0);
  GString *const out = g_string_sized_new(sheet->length);
  print_items(items, out);
  GString *const whole = g_string_new(marked ? mark : "");
  g_string_append_len(whole, out->str, (gssize)out->len);
  g_string_free(out, TRUE);
  return with_line_ends(whole, lg_line_end(sheet->text, sheet->length));
}
