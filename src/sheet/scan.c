/* Cuts the text into records and tokens, once from the beginning to the end.
 *
 * Columns count characters, so bytes that go on with a character (10xxxxxx) are counted away while
 * a line is walked along; no way back is longer than a token. */
#include "sheet/sheet-private.h"
#include <string.h>

enum { PLAIN, BLANK, QUOTE, EQUALS, HIGH, CONTROL };

static guint8 classes[256];

static void fill_classes(void)
{
  static gsize done;
  if (!g_once_init_enter(&done))
    return;
  for (int c = 0; c < 256; c++)
    classes[c] = c >= 0x80 ? HIGH : c < 0x20 || c == 0x7f ? CONTROL : PLAIN;
  classes[' '] = classes['\t'] = BLANK;
  classes['"'] = QUOTE;
  classes['='] = EQUALS;
  g_once_init_leave(&done, 1);
}

static int class_of(char c)
{
  return classes[(guchar)c];
}

/* A line that is being cut. */
typedef struct {
  LgScan *scan;
  const char *text; /* the sheet's */
  gsize begin, end; /* without the line end */
  gsize at;
  gsize counted; /* columns are known up to here */
  int wide;      /* bytes before `counted` that go on with a character */
  int line;
} Line;

static int column_of(Line *line, gsize at)
{
  if (line->scan->is_ascii)
    return (int)(at - line->begin) + 1;
  for (; line->counted < at; line->counted++)
    line->wide += (line->text[line->counted] & 0xC0) == 0x80;
  while (line->counted > at)
    line->wide -= (line->text[--line->counted] & 0xC0) == 0x80;
  return (int)(at - line->begin) - line->wide + 1;
}

static void report(Line *line, gsize at, char *what, const char *remedy)
{
  LgSheet *const sheet = line->scan->sheet;
  const LgOrigin origin = {sheet->file, line->line, column_of(line, at)};
  lg_sheet_add_problem(sheet, origin, what, g_strdup(remedy));
}

/* Characters that look like a plain one, with what to type instead. */
typedef struct {
  gunichar c;
  const char *name, *instead;
} LookAlike;

enum { FIRST_QUOTE = 9 };

static const LookAlike look_alikes[] = {
    {0x00A0, "a no-break space", "type an ordinary space"},
    {0x2007, "a figure space", "type an ordinary space"},
    {0x2009, "a thin space", "type an ordinary space"},
    {0x202F, "a narrow no-break space", "type an ordinary space"},
    {0x3000, "a wide space", "type an ordinary space"},
    {0x200B, "an invisible space", "delete it: type the words around it anew"},
    {0x200E, "an invisible mark", "delete it: type the words around it anew"},
    {0x2028, "a line separator", "end the line with the Enter key"},
    {0xFEFF, "an invisible mark", "delete it: type the words around it anew"},
    /* FIRST_QUOTE: from here on a text begins */
    {0x201C, "a typographic quote", "type a plain \" at both ends of the text"},
    {0x201D, "a typographic quote", "type a plain \" at both ends of the text"},
    {0x201E, "a typographic quote", "type a plain \" at both ends of the text"},
    {0x201F, "a typographic quote", "type a plain \" at both ends of the text"},
    {0x00AB, "a typographic quote", "type a plain \" at both ends of the text"},
    {0x00BB, "a typographic quote", "type a plain \" at both ends of the text"},
    {0x2018, "a typographic quote", "type a plain \" at both ends of the text"},
    {0x2019, "a typographic quote", "type a plain \" at both ends of the text"},
    {0x201A, "a typographic quote", "type a plain \" at both ends of the text"},
    {0x2033, "a typographic quote", "type a plain \" at both ends of the text"},
};

static const LookAlike *look_alike_at(const Line *line, gsize at)
{
  const gunichar c = g_utf8_get_char(line->text + at);
  for (gsize i = 0; i < G_N_ELEMENTS(look_alikes); i++)
    if (look_alikes[i].c == c)
      return &look_alikes[i];
  return NULL;
}

static gboolean is_quote(const LookAlike *look)
{
  return look >= &look_alikes[FIRST_QUOTE];
}

static gsize skip_character(gsize at, const Line *line)
{
  return MIN(at + (gsize)g_utf8_skip[(guchar)line->text[at]], line->end);
}

/* Behind the typographic quote that closes the one at `at`, or the end of the line. */
static gsize skip_typographic(const Line *line, gsize at)
{
  at = skip_character(at, line);
  while (at < line->end) {
    const LookAlike *const look = class_of(line->text[at]) == HIGH ? look_alike_at(line, at) : NULL;
    const gboolean closes = line->text[at] == '"' || (look != NULL && is_quote(look));
    at = skip_character(at, line);
    if (closes)
      break;
  }
  return at;
}

static void report_control(Line *line, gsize at)
{
  if (line->text[at] == '\r')
    report(line, at, g_strdup("a carriage return stands in the middle of the line"),
           "end every line with LF or CRLF (save the file with Unix or Windows line ends)");
  else
    report(line, at,
           g_strdup_printf("a control character (0x%02X) stands here", (guchar)line->text[at]),
           "delete it and type what was meant");
}

static void check_escapes(Line *line, LgToken *token, gsize begin, gsize end)
{
  char *out = token->text;
  const char *const in = line->text;
  for (gsize i = begin; i < end; i++) {
    if (in[i] == '\\' && i + 1 < end && (in[i + 1] == '"' || in[i + 1] == '\\'))
      i++;
    else if (in[i] == '\\') {
      report(line, i, g_strdup("a single \\ stands in the text"),
             "write \\\\ for a backslash and \\\" for a quote");
      token->broken = TRUE;
    }
    *out++ = in[i];
  }
  *out = '\0';
  token->length = (gsize)(out - token->text);
}

/* The closing quote of the text that opens at `open`, or the end of the line. */
static gsize find_closing(Line *line, gsize open, gboolean *escapes, gboolean *broken)
{
  gsize i = open + 1;
  for (; i < line->end && line->text[i] != '"'; i++) {
    if (line->text[i] == '\\') {
      *escapes = TRUE;
      i += i + 1 < line->end ? 1 : 0;
    } else if (class_of(line->text[i]) == CONTROL) {
      report_control(line, i);
      *broken = TRUE;
    }
  }
  return i;
}

/* Takes the text that opens at `open`; moves the line behind it. */
static void take_quoted(Line *line, LgToken *token, gsize open)
{
  gboolean escapes = FALSE, broken = FALSE;
  const gsize close = find_closing(line, open, &escapes, &broken);
  char *const mirror = line->scan->sheet->mirror;
  token->quoted = TRUE;
  token->broken = token->broken || broken;
  token->text_column = column_of(line, open);
  token->text = mirror + open + 1;
  token->length = close - open - 1;
  line->at = MIN(close + 1, line->end);
  if (close == line->end) {
    report(line, open, g_strdup("the text that begins here has no closing quote"),
           "put a \" at its end; a text stays on one line");
    token->broken = TRUE;
  } else if (line->at < line->end && class_of(line->text[line->at]) != BLANK) {
    report(line, line->at, g_strdup("something stands right behind the closing quote"),
           "put a space behind the quote; a quote inside a text is written \\\"");
    token->broken = TRUE;
    line->at = line->end;
  }
  mirror[close] = '\0';
  if (escapes)
    check_escapes(line, token, open + 1, close);
}

static gboolean is_key_byte(char c)
{
  return g_ascii_isalnum(c) || c == '-' || c == '_' || c == '+' || c == '.' || (guchar)c >= 0x80;
}

static gboolean is_key(const char *text, gsize length)
{
  for (gsize i = 0; i < length; i++)
    if (!is_key_byte(text[i]))
      return FALSE;
  return TRUE;
}

/* The first `=` splits a token into key and value, unless what stands before is no key: the `<` of
 * a limit, say. */
static void split_pair(Line *line, LgToken *token, gsize at)
{
  char *const mirror = line->scan->sheet->mirror;
  if (token->key != NULL || !is_key(line->text + token->begin, at - token->begin))
    return;
  token->key = mirror + token->begin;
  token->text = mirror + at + 1;
  mirror[at] = '\0';
}

static void report_quote_inside(Line *line, LgToken *token)
{
  report(line, line->at, g_strdup("a quote stands in the middle of a word"),
         "put a space before a text in quotes; write inches as `in`");
  token->broken = TRUE;
  gboolean escapes = FALSE, broken = FALSE;
  line->at = MIN(find_closing(line, line->at, &escapes, &broken) + 1, line->end);
}

/* A high byte in a bare word: a letter, mostly. FALSE when the word ends here. */
static gboolean pass_high(Line *line, LgToken *token)
{
  const LookAlike *const look = look_alike_at(line, line->at);
  if (look == NULL) {
    line->at = skip_character(line->at, line);
    return TRUE;
  }
  report(line, line->at,
         g_strdup_printf("%s (U+%04X) stands here, as pasted from a page or a letter", look->name,
                         look->c),
         look->instead);
  token->broken = TRUE;
  line->at = is_quote(look) ? skip_typographic(line, line->at) : skip_character(line->at, line);
  return is_quote(look);
}

static void take_bare(Line *line, LgToken *token)
{
  const gsize begin = line->at;
  char *const mirror = line->scan->sheet->mirror;
  token->text = mirror + begin;
  gsize end = line->end;
  while (line->at < line->end) {
    const int c = class_of(line->text[line->at]);
    end = line->at;
    if (c == BLANK)
      break;
    if (c == HIGH) {
      if (!pass_high(line, token))
        break;
    } else if (c == QUOTE) {
      if (token->key != NULL && token->text == mirror + line->at) {
        take_quoted(line, token, line->at);
        return;
      }
      report_quote_inside(line, token);
    } else {
      if (c == EQUALS)
        split_pair(line, token, line->at);
      else if (c == CONTROL) {
        report_control(line, line->at);
        token->broken = TRUE;
      }
      line->at++;
    }
    end = line->at;
  }
  token->length = (gsize)(mirror + end - token->text);
  token->text_column =
      token->key == NULL ? token->column : column_of(line, (gsize)(token->text - mirror));
  mirror[end] = '\0';
}

static LgToken *new_token(LgScan *scan)
{
  if (scan->n_tokens == scan->room) {
    scan->room = MAX(64, scan->room * 2);
    scan->tokens = g_renew(LgToken, scan->tokens, scan->room);
  }
  LgToken *const token = &scan->tokens[scan->n_tokens++];
  memset(token, 0, sizeof *token);
  return token;
}

static void cut_line(Line *line)
{
  gboolean leads = TRUE;
  for (;;) {
    while (line->at < line->end && class_of(line->text[line->at]) == BLANK)
      line->at++;
    if (line->at == line->end || line->text[line->at] == '#')
      return;
    LgToken *const token = new_token(line->scan);
    token->begin = line->at;
    token->line = line->line;
    token->column = column_of(line, line->at);
    token->leads = leads ? 1 : 0;
    leads = FALSE;
    if (line->text[line->at] == '"')
      take_quoted(line, token, line->at);
    else
      take_bare(line, token);
    token->end = line->at;
  }
}

/* The next line; `at` and `line` of the scan move on. FALSE at the end. */
static gboolean next_line(LgScan *scan, Line *line)
{
  const LgSheet *const sheet = scan->sheet;
  if (scan->at >= sheet->length)
    return FALSE;
  const char *const begin = sheet->text + scan->at;
  const char *const end = memchr(begin, '\n', sheet->length - scan->at);
  *line = (Line){.scan = scan, .text = sheet->text, .begin = scan->at, .line = scan->line};
  line->end = end == NULL ? sheet->length : (gsize)(end - sheet->text);
  scan->at = end == NULL ? sheet->length : line->end + 1;
  scan->line++;
  if (end != NULL && line->end > line->begin && sheet->text[line->end - 1] == '\r')
    line->end--;
  line->at = line->counted = line->begin;
  return TRUE;
}

/* Where the line's UTF-8 breaks, its end when it does not. */
static gsize find_broken(const Line *line)
{
  const char *bad;
  const char *const begin = line->text + line->begin;
  g_utf8_validate(begin, (gssize)(line->end - line->begin), &bad);
  return line->begin + (gsize)(bad - begin);
}

/* Whether the line can be read at all; reports why not. */
static gboolean check_line(Line *line)
{
  if (line->end - line->begin > LG_SHEET_MOST_LINE) {
    report(line, line->begin,
           g_strdup_printf("the line is %" G_GSIZE_FORMAT " bytes long; at most %" G_GSIZE_FORMAT
                           " are read",
                           line->end - line->begin, LG_SHEET_MOST_LINE),
           "break it: a line that begins with a space goes on with the record above");
    return FALSE;
  }
  const gsize bad = line->scan->is_utf8 ? line->end : find_broken(line);
  if (bad == line->end)
    return TRUE;
  if (line->text[bad] == '\0')
    report(line, bad, g_strdup("a NUL byte stands here: this is no plain text"),
           "save the sheet as plain UTF-8 text");
  else
    report(line, bad, g_strdup_printf("the byte 0x%02X is no UTF-8 here", (guchar)line->text[bad]),
           "save the file in the encoding UTF-8, and type that letter anew");
  return FALSE;
}

static gboolean is_indented(const Line *line)
{
  return line->begin < line->end && class_of(line->text[line->begin]) == BLANK;
}

static gboolean is_empty(const Line *line)
{
  gsize i = line->begin;
  while (i < line->end && class_of(line->text[i]) == BLANK)
    i++;
  return i == line->end || line->text[i] == '#';
}

static void report_stray(LgScan *scan, Line *line)
{
  if (!scan->stray)
    report(line, line->begin,
           g_strdup("the line begins with white space, but there is no record above to go on with"),
           "begin a record at the left edge");
  scan->stray = TRUE;
}

static gboolean is_ascii(const char *text, gsize length)
{
  guchar all = 0;
  for (gsize i = 0; i < length; i++)
    all |= (guchar)text[i];
  return all < 0x80;
}

void lg_scan_begin(LgScan *scan, LgSheet *sheet)
{
  static const char mark[] = "\357\273\277";
  fill_classes();
  *scan = (LgScan){.sheet = sheet, .line = 1};
  scan->is_ascii = is_ascii(sheet->text, sheet->length);
  scan->is_utf8 = g_utf8_validate(sheet->text, (gssize)sheet->length, NULL);
  if (sheet->length >= 3 && memcmp(sheet->text, mark, 3) == 0)
    scan->at = 3;
}

gboolean lg_scan_record(LgScan *scan)
{
  Line line;
  gboolean lost = FALSE; /* the line that the next ones go on with could not be read */
  scan->n_tokens = 0;
  for (;;) {
    const gsize at = scan->at;
    const int number = scan->line;
    if (scan->sheet->problems->len >= LG_SHEET_MOST_PROBLEMS || !next_line(scan, &line))
      break;
    if (scan->n_tokens > 0 && !is_indented(&line) && !is_empty(&line)) {
      scan->at = at;
      scan->line = number;
      break;
    }
    if (scan->n_tokens == 0)
      scan->n_problems = scan->sheet->problems->len;
    const gboolean readable = check_line(&line);
    if (!readable || is_empty(&line)) {
      lost = lost || (!readable && !is_indented(&line));
      continue;
    }
    if (scan->n_tokens == 0 && is_indented(&line)) {
      if (!lost)
        report_stray(scan, &line);
      continue;
    }
    if (scan->n_tokens == 0)
      scan->begin = line.begin;
    cut_line(&line);
    scan->end = scan->at;
  }
  return scan->n_tokens > 0;
}

void lg_scan_end(LgScan *scan)
{
  g_free(scan->tokens);
}
