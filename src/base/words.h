/* Texts for people in the language in force. The English text is the key: T_("Wire list") is what
 * the language in force on this thread has for it, or the English itself. What a machine reads
 * (keys, CSV headings, JSON members, names) is never translated. words/loomgraft.pot is the table
 * of the English texts, words/LANGUAGE.po is a translation, in GNU gettext's PO text format that
 * translators' tools read. glibc's own gettext is not used: it needs a locale installed on the
 * machine and a setting of the whole process, which a library must not touch. */
#pragma once
#include <glib.h>

G_BEGIN_DECLS

typedef struct LgWords LgWords; /* a translation; never changes once it is read */

/* The text in the language in force; `english` itself when that has none for it. Formats are whole
 * sentences with printf directives; a translation may number them ("%2$s"). */
#define T_(english) lg_words_find(english)
/* One English word with two meanings: `context` tells them apart. */
#define TC_(context, english) lg_words_find_in(context "\004" english, english)
/* Marks a text in a static table; T_ where it is used. */
#define N_(english) english

const char *lg_words_find(const char *english) G_GNUC_FORMAT(1);
const char *lg_words_find_in(const char *key, const char *english) G_GNUC_FORMAT(2);

/* The translation that is shipped for "de"; NULL, which is English, for "en", NULL and unknown
 * ones. Lives as long as the program. */
const LgWords *lg_words_of(const char *language);
/* The languages there are, English first, NULL-ended; static. */
const char *const *lg_words_languages(void);
/* The code of the language in force, "en" or the name it was read by. */
const char *lg_words_language(void);

/* What was in force before. It is held, not looked at: clang would call that unused. */
typedef struct G_GNUC_UNUSED {
  const LgWords *before;
} LgSpeaking;
/* Puts `words` (NULL: English) in force on this thread until the result is cleared:
 *   g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of("de")); */
LgSpeaking lg_words_use(const LgWords *words) G_GNUC_WARN_UNUSED_RESULT;
void lg_speaking_clear(LgSpeaking *speaking);
/* In force on this thread, for a thread that works on behalf of this one; NULL: English. */
const LgWords *lg_words_now(void);

/* Reads a PO file; texts that are empty, marked fuzzy or obsolete are passed over. NULL with an
 * error that names `language` and the line. Plural forms are not known: a count takes two texts. */
LgWords *lg_words_read(const char *language, GBytes *po, GError **error);
void lg_words_free(LgWords *words);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(LgSpeaking, lg_speaking_clear)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgWords, lg_words_free)
G_END_DECLS
