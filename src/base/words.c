#include "base/words.h"
#include "words-data.h"
#include <gio/gio.h>
#include <string.h>

struct LgWords {
  char *language;
  GHashTable *texts; /* English, or context EOT English -> the translation; both owned */
};

static _Thread_local const LgWords *in_force;

static const char *const languages[] = {"en", "de", NULL};

const char *lg_words_find_in(const char *key, const char *english)
{
  const char *const found = in_force != NULL ? g_hash_table_lookup(in_force->texts, key) : NULL;
  return found != NULL ? found : english;
}

const char *lg_words_find(const char *english)
{
  return lg_words_find_in(english, english);
}

const char *const *lg_words_languages(void)
{
  return languages;
}

const char *lg_words_language(void)
{
  return in_force != NULL ? in_force->language : languages[0];
}

LgSpeaking lg_words_use(const LgWords *words)
{
  const LgSpeaking speaking = {in_force};
  in_force = words;
  return speaking;
}

void lg_speaking_clear(LgSpeaking *speaking)
{
  in_force = speaking->before;
}

const LgWords *lg_words_now(void)
{
  return in_force;
}

/* An entry as it is read: its three texts, each over several lines. */
typedef enum { CONTEXT, ENGLISH, TRANSLATION, N_FIELDS, NO_FIELD = N_FIELDS } Field;
typedef struct {
  const char *language;
  int line;
  GString *text[N_FIELDS];
  Field field;
  gboolean has_context, fuzzy;
} Entry;

static void keep_entry(Entry *entry, GHashTable *texts)
{
  const char *const english = entry->text[ENGLISH]->str;
  if (entry->field == TRANSLATION && !entry->fuzzy && *english != '\0' &&
      entry->text[TRANSLATION]->len > 0)
    g_hash_table_insert(texts,
                        entry->has_context
                            ? g_strdup_printf("%s\004%s", entry->text[CONTEXT]->str, english)
                            : g_strdup(english),
                        g_strdup(entry->text[TRANSLATION]->str));
  for (int f = 0; f < N_FIELDS; f++)
    g_string_truncate(entry->text[f], 0);
  entry->field = NO_FIELD;
  entry->has_context = entry->fuzzy = FALSE;
}

static gboolean bad_line(const Entry *entry, const char *what, GError **error)
{
  g_set_error(error, G_FILE_ERROR, G_FILE_ERROR_INVAL, "%s.po:%d: %s", entry->language, entry->line,
              what);
  return FALSE;
}

/* Appends what stands between the double quotes. */
static gboolean read_string(Entry *entry, const char *from, GError **error)
{
  const gsize length = strlen(from);
  if (entry->field == NO_FIELD || length < 2 || from[0] != '"' || from[length - 1] != '"')
    return bad_line(entry, "a text in double quotes was expected", error);
  g_autofree char *inner = g_strndup(from + 1, length - 2);
  g_autofree char *plain = g_strcompress(inner);
  if (!g_utf8_validate(plain, -1, NULL))
    return bad_line(entry, "the text is not UTF-8", error);
  g_string_append(entry->text[entry->field], plain);
  return TRUE;
}

static void read_comment(Entry *entry, const char *line, GHashTable *texts)
{
  if (entry->field == TRANSLATION)
    keep_entry(entry, texts);
  if (g_str_has_prefix(line, "#,") && strstr(line, "fuzzy") != NULL)
    entry->fuzzy = TRUE;
}

static gboolean read_line(Entry *entry, const char *line, GHashTable *texts, GError **error)
{
  static const struct {
    const char *word;
    Field field;
  } starts[] = {{"msgctxt ", CONTEXT}, {"msgid ", ENGLISH}, {"msgstr ", TRANSLATION}};
  if (*line == '\0')
    return TRUE;
  if (*line == '#') {
    read_comment(entry, line, texts);
    return TRUE;
  }
  if (*line == '"')
    return read_string(entry, line, error);
  for (gsize i = 0; i < G_N_ELEMENTS(starts); i++) {
    if (!g_str_has_prefix(line, starts[i].word))
      continue;
    if (entry->field == TRANSLATION)
      keep_entry(entry, texts);
    entry->field = starts[i].field;
    entry->has_context |= entry->field == CONTEXT;
    return read_string(entry, line + strlen(starts[i].word), error);
  }
  return bad_line(entry, "neither a comment nor msgctxt, msgid or msgstr with a text", error);
}

static gboolean read_lines(Entry *entry, char **lines, GHashTable *texts, GError **error)
{
  for (int i = 0; lines[i] != NULL; i++) {
    entry->line = i + 1;
    if (!read_line(entry, g_strstrip(lines[i]), texts, error))
      return FALSE;
  }
  keep_entry(entry, texts);
  return TRUE;
}

LgWords *lg_words_read(const char *language, GBytes *po, GError **error)
{
  gsize size;
  const char *const bytes = g_bytes_get_data(po, &size);
  g_autofree char *whole = g_strndup(bytes, size);
  g_auto(GStrv) lines = g_strsplit(whole, "\n", -1);
  Entry entry = {.language = language, .field = NO_FIELD};
  for (int f = 0; f < N_FIELDS; f++)
    entry.text[f] = g_string_new(NULL);
  LgWords *words = g_new0(LgWords, 1);
  words->language = g_strdup(language);
  words->texts = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
  if (!read_lines(&entry, lines, words->texts, error))
    g_clear_pointer(&words, lg_words_free);
  for (int f = 0; f < N_FIELDS; f++)
    g_string_free(entry.text[f], TRUE);
  return words;
}

void lg_words_free(LgWords *words)
{
  if (words == NULL)
    return;
  g_free(words->language);
  g_hash_table_unref(words->texts);
  g_free(words);
}

/* The file is part of the program: only we can get it wrong. */
static LgWords *read_shipped(const char *language)
{
  g_autofree char *path = g_strdup_printf("/loomgraft/words/%s.po", language);
  g_autoptr(GError) error = NULL;
  g_autoptr(GBytes) po = g_resource_lookup_data(lg_words_data_get_resource(), path,
                                                G_RESOURCE_LOOKUP_FLAGS_NONE, &error);
  LgWords *const words = po != NULL ? lg_words_read(language, po, &error) : NULL;
  if (words == NULL)
    g_error("%s", error->message);
  return words;
}

const LgWords *lg_words_of(const char *language)
{
  static LgWords *shipped[G_N_ELEMENTS(languages)];
  static gsize ready[G_N_ELEMENTS(languages)];
  for (gsize i = 1; language != NULL && languages[i] != NULL; i++) {
    if (strcmp(language, languages[i]) != 0)
      continue;
    if (g_once_init_enter(&ready[i])) {
      shipped[i] = read_shipped(language);
      g_once_init_leave(&ready[i], 1);
    }
    return shipped[i];
  }
  return NULL;
}
