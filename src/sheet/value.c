/* Words, names, dates and the like: one reader for each type of value. */
#include "base/text.h"
#include "sheet/sheet-private.h"
#include <string.h>

#define EXCERPT(ask) lg_excerpt((ask)->text, (ask)->length)

/* "`length` of `wire`" in messages would be long; the line is known, so the key is enough. */
static const char *key_of(const LgAsk *ask)
{
  return ask->field->key;
}

static gboolean read_text(const LgAsk *ask, LgValue *value)
{
  (void)value;
  if (ask->length > 0)
    return TRUE;
  return lg_ask_problem(ask, g_strdup_printf("`%s` is empty", key_of(ask)),
                        g_strdup("write its text in quotes, or leave the key out"));
}

/* Why a text is no plain name: points at the character. */
static gboolean report_bad_name(const LgAsk *ask)
{
  g_autofree char *shown = EXCERPT(ask);
  const char *p = ask->text;
  while (*p != '\0' && (lg_name_is_plain(p, (gsize)g_utf8_skip[(guchar)*p]) ||
                        g_unichar_ismark(g_utf8_get_char(p))))
    p = g_utf8_next_char(p);
  if (*p == '\0')
    return lg_ask_refuse(ask, "", " has an accent that stands apart from its letter",
                         g_strdup("type that letter anew, so that letter and accent are one"));
  return lg_ask_problem(
      ask,
      g_strdup_printf("`%.*s` cannot stand in the name %s", (int)g_utf8_skip[(guchar)*p], p, shown),
      g_strdup("a name is made of letters, digits, `_`, `-` and `+`"));
}

static gboolean check_plain(const LgAsk *ask)
{
  if (lg_name_is_plain(ask->text, ask->length))
    return TRUE;
  if (ask->length == 0)
    return lg_ask_problem(ask, g_strdup_printf("`%s` is empty", key_of(ask)),
                          g_strdup("write a name right behind the `=`"));
  return report_bad_name(ask);
}

/* A figure in a name: the point of "tab-6.3" stands between digits. Catalogue names only. */
static gboolean is_catalogue_name(const char *text)
{
  g_autofree char *folded = g_strdup(text);
  for (char *p = folded; *p != '\0'; p++)
    if (*p == '.' && p > folded && g_ascii_isdigit(p[-1]) && g_ascii_isdigit(p[1]))
      *p = '_';
  return lg_name_is_plain(folded, strlen(folded));
}

static gboolean read_name(const LgAsk *ask, LgValue *value)
{
  (void)value;
  const char *const dot = strchr(ask->text, '.');
  if (dot != NULL && is_catalogue_name(ask->text))
    return TRUE;
  if (dot == NULL || dot == ask->text || dot[1] == '\0')
    return check_plain(ask);
  g_autofree char *shown = EXCERPT(ask);
  return lg_ask_problem(
      ask,
      g_strdup_printf("`%s` wants a plain name, %s names a pin or element", key_of(ask), shown),
      g_strdup_printf("leave the point out, such as `%.*s`", (int)MIN(dot - ask->text, 40),
                      ask->text));
}

/* PART.NAME; FALSE without a report when it is not. */
static gboolean is_dotted(const LgAsk *ask)
{
  const char *const dot = strchr(ask->text, '.');
  return dot != NULL && lg_name_is_plain(ask->text, (gsize)(dot - ask->text)) &&
         lg_name_is_plain(dot + 1, strlen(dot + 1));
}

static gboolean report_bad_dotted(const LgAsk *ask, const char *example)
{
  g_autofree char *shown = EXCERPT(ask);
  const char *const dot = strchr(ask->text, '.');
  if (dot != NULL && strchr(dot + 1, '.') != NULL)
    return lg_ask_refuse(ask, "", " has more than one point",
                         g_strdup_printf("write part, point, name, such as %s", example));
  if (dot == ask->text || (dot != NULL && dot[1] == '\0'))
    return lg_ask_problem(ask, g_strdup_printf("a name is missing beside the point of %s", shown),
                          g_strdup_printf("write part, point, name, such as %s", example));
  return report_bad_name(ask);
}

/* "K1-30", "K1/30", "K1:30": with the point that we write, or NULL. */
static char *with_point(const char *text)
{
  const gsize n = strcspn(text, "-/:");
  if (n == 0 || text[n] == '\0' || text[n + 1] == '\0' ||
      text[n + 1 + strcspn(text + n + 1, "-/:.")] != '\0')
    return NULL;
  return g_strdup_printf("%.*s.%s", (int)n, text, text + n + 1);
}

static gboolean read_pin(const LgAsk *ask, LgValue *value)
{
  (void)value;
  if (is_dotted(ask))
    return TRUE;
  if (ask->length == 0)
    return check_plain(ask);
  const gboolean plain = lg_name_is_plain(ask->text, ask->length);
  if (plain && ask->kind == LG_KIND_ELEMENT)
    return TRUE;
  g_autofree char *meant = with_point(ask->text);
  if (meant != NULL)
    return lg_ask_refuse(ask, "", " is no pin as we write it",
                         g_strdup_printf("write part, point, pin: %s", meant));
  if (plain)
    return lg_ask_refuse(ask, "", " is no pin: which pin of which part?",
                         g_strdup_printf("write PART.PIN for `%s`, such as F1.2", key_of(ask)));
  return report_bad_dotted(ask, "F1.2");
}

static gboolean read_item(const LgAsk *ask, LgValue *value)
{
  (void)value;
  if (is_dotted(ask) || lg_name_is_plain(ask->text, ask->length))
    return TRUE;
  return ask->length == 0 ? check_plain(ask) : report_bad_dotted(ask, "SEAT.lift");
}

static gsize count_words(const char *const *words)
{
  gsize n = 0;
  while (words[n] != NULL)
    n++;
  return n;
}

static gboolean read_word(const LgAsk *ask, LgValue *value)
{
  const char *const *const words = ask->field->words;
  for (int i = 0; words[i] != NULL; i++)
    if (strcmp(words[i], ask->text) == 0) {
      value->word = i;
      return TRUE;
    }
  g_autofree char *shown = EXCERPT(ask);
  const gsize n = count_words(words);
  g_autofree char *list = lg_list_words(words);
  const char *const near = lg_nearest_word(ask->text, words, n);
  char *const what = g_strdup_printf("`%s` cannot be %s", key_of(ask), shown);
  if (near == NULL)
    return lg_ask_problem(ask, what, g_strdup_printf("it is one of %s", list));
  if (n > 6)
    return lg_ask_problem(ask, what, g_strdup_printf("did you mean `%s`?", near));
  return lg_ask_problem(ask, what,
                        g_strdup_printf("did you mean `%s`? It is one of %s", near, list));
}

/* A whole number of `least` to `most` digits. */
static gboolean take_digits(const char **p, int least, int most, int *number)
{
  int n = 0;
  *number = 0;
  for (; g_ascii_isdigit(**p) && n <= most; (*p)++, n++)
    *number = *number * 10 + (**p - '0');
  return n >= least && n <= most;
}

static gboolean take_char(const char **p, char c)
{
  const gboolean there = **p == c;
  *p += there ? 1 : 0;
  return there;
}

/* Day, point, month, point, year has one meaning only; with slashes it has two. */
static char *date_hint(const char *text)
{
  int day, month, year;
  const char *p = text;
  if (take_digits(&p, 1, 2, &day) && take_char(&p, '.') && take_digits(&p, 1, 2, &month) &&
      take_char(&p, '.') && take_digits(&p, 4, 4, &year) && *p == '\0' &&
      g_date_valid_dmy((GDateDay)day, (GDateMonth)month, (GDateYear)year))
    return g_strdup_printf("write %04d-%02d-%02d", year, month, day);
  return g_strdup("write year-month-day, such as 2026-05-31");
}

static gboolean read_date(const LgAsk *ask, LgValue *value)
{
  (void)value;
  int year, month, day;
  const char *p = ask->text;
  const gboolean shaped = take_digits(&p, 4, 4, &year) && take_char(&p, '-') &&
                          take_digits(&p, 2, 2, &month) && take_char(&p, '-') &&
                          take_digits(&p, 2, 2, &day) && *p == '\0';
  if (!shaped)
    return lg_ask_refuse(ask, "", " is no date as we write it", date_hint(ask->text));
  if (year > 0 && g_date_valid_dmy((GDateDay)day, (GDateMonth)month, (GDateYear)year))
    return TRUE;
  return lg_ask_refuse(ask, "", " is not in the calendar",
                       g_strdup("write year-month-day, such as 2026-05-31"));
}

static gboolean read_grid(const LgAsk *ask, LgValue *value)
{
  int rows, columns;
  const char *p = ask->text;
  const int most = (int)ask->field->most;
  if (!(take_digits(&p, 1, 4, &rows) && (take_char(&p, 'x') || take_char(&p, 'X')) &&
        take_digits(&p, 1, 4, &columns) && *p == '\0'))
    return lg_ask_refuse(ask, "", " is no grid",
                         g_strdup("write rows x columns without spaces, such as 3x6"));
  if (rows < 1 || columns < 1 || rows > most || columns > most)
    return lg_ask_refuse(ask, "", " is out of range",
                         g_strdup_printf("rows and columns lie between 1 and %d", most));
  value->low = rows;
  value->high = columns;
  return TRUE;
}

/* Names with commas between from `text` on; what is wrong with them, or NULL. */
static const char *fault_of_names(const char *text)
{
  for (const char *p = text;;) {
    const gsize n = strcspn(p, ",");
    if (n == 0)
      return "a name is missing beside a comma";
    if (!lg_name_is_plain(p, n))
      return "a name is made of letters, digits, `_`, `-` and `+`";
    if (p[n] == '\0')
      return NULL;
    p += n + 1;
  }
}

static gboolean read_names(const LgAsk *ask, LgValue *value)
{
  (void)value;
  const char *const fault = fault_of_names(ask->text);
  if (fault == NULL)
    return TRUE;
  g_autofree char *shown = EXCERPT(ask);
  return lg_ask_problem(ask, g_strdup_printf("%s is no list of names: %s", shown, fault),
                        g_strdup_printf("write %s=a,b,c with commas and no spaces", key_of(ask)));
}

gboolean lg_value_read_state(const LgAsk *ask, LgValue *value)
{
  (void)value;
  const char *const equals = strchr(ask->text, '=');
  if (equals == NULL)
    return lg_ask_refuse(ask, "", " says no position",
                         g_strdup("write INPUT=position, such as KEY=off or SEAT.heat=low,high"));
  const char *const dot = memchr(ask->text, '.', (gsize)(equals - ask->text));
  const gsize owner = (gsize)((dot != NULL ? dot : equals) - ask->text);
  const gboolean named = lg_name_is_plain(ask->text, owner) &&
                         (dot == NULL || lg_name_is_plain(dot + 1, (gsize)(equals - dot - 1)));
  if (!named)
    return lg_ask_refuse(ask, "", " names no input",
                         g_strdup("write PART=position or PART.NAME=position, such as KEY=off"));
  const char *const fault = fault_of_names(equals + 1);
  if (fault == NULL)
    return TRUE;
  if (equals[1] == '\0')
    return lg_ask_refuse(ask, "", " says no position",
                         g_strdup_printf("write %sPOSITION without spaces", ask->text));
  g_autofree char *shown = EXCERPT(ask);
  return lg_ask_problem(ask, g_strdup_printf("%s says no position: %s", shown, fault),
                        g_strdup("write INPUT=position or INPUT=one,other without spaces"));
}

gboolean lg_name_read(const LgAsk *ask, LgNaming naming)
{
  if (naming == LG_NAMED_SIZE) {
    LgValue value = {.low = 0};
    if (!lg_value_read_size(ask, &value))
      return FALSE;
    return !value.is_auto || lg_ask_problem(ask, g_strdup("auto is no size of a conductor"),
                                            g_strdup("write it as 2.5mm2 or 14AWG"));
  }
  if (naming == LG_NAMED_DOTTED) {
    if (is_dotted(ask))
      return TRUE;
    if (strchr(ask->text, '.') == NULL && lg_name_is_plain(ask->text, ask->length))
      return lg_ask_refuse(ask, "", " does not say which part it is in",
                           g_strdup_printf("write part, point, name, such as K1.%s", ask->text));
    return report_bad_dotted(ask, "K1.30");
  }
  if (lg_name_is_plain(ask->text, ask->length) ||
      (lg_kinds[ask->kind].catalogue_only && is_catalogue_name(ask->text)))
    return TRUE;
  if (!is_dotted(ask))
    return report_bad_name(ask);
  g_autofree char *usage = lg_kind_usage(ask->kind);
  g_autofree char *shown = EXCERPT(ask);
  return lg_ask_problem(ask,
                        g_strdup_printf("%s is no name for a %s", shown, lg_kinds[ask->kind].word),
                        g_strdup_printf("give it a name of its own, without a point: %s", usage));
}

typedef gboolean (*ReadValue)(const LgAsk *ask, LgValue *value);

static const ReadValue readers[] = {
    [LG_VALUE_TEXT] = read_text,
    [LG_VALUE_NAME] = read_name,
    [LG_VALUE_PIN] = read_pin,
    [LG_VALUE_ITEM] = read_item,
    [LG_VALUE_WORD] = read_word,
    [LG_VALUE_COLOUR] = lg_value_read_colour,
    [LG_VALUE_SIZE] = lg_value_read_size,
    [LG_VALUE_QUANTITY] = lg_value_read_quantity,
    [LG_VALUE_RANGE] = lg_value_read_range,
    [LG_VALUE_AUTO] = lg_value_read_quantity,
    [LG_VALUE_COUNT] = lg_value_read_count,
    [LG_VALUE_DATE] = read_date,
    [LG_VALUE_GRID] = read_grid,
    [LG_VALUE_NAMES] = read_names,
    [LG_VALUE_STATE] = lg_value_read_state,
    [LG_VALUE_LIMIT] = lg_value_read_limit,
};

gboolean lg_value_read(const LgAsk *ask, LgValue *value)
{
  return readers[ask->field->type](ask, value);
}
