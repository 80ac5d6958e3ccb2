#include "base/words.h"
#include <string.h>

static LgWords *read_words(const char *po)
{
  g_autoptr(GBytes) bytes = g_bytes_new_static(po, strlen(po));
  g_autoptr(GError) error = NULL;
  LgWords *const words = lg_words_read("xx", bytes, &error);
  g_assert_no_error(error);
  return words;
}

static void english_without_words(void)
{
  g_assert_null(lg_words_now());
  g_assert_cmpstr(lg_words_language(), ==, "en");
  g_assert_cmpstr(T_("Wire list"), ==, "Wire list");
  g_assert_cmpstr(TC_("a contact", "open"), ==, "open");
}

/* Every form of the PO format that translators' tools write: GNU gettext manual, "The Format of PO
 * Files" [memory]. */
static void reads_po(void)
{
  g_autoptr(LgWords) words =
      read_words("# translator\nmsgid \"\"\nmsgstr \"Language: xx\\n\"\n\n"
                 "#: a.c:1\n#, c-format\nmsgid \"%s of %d\"\nmsgstr \"%2$d: %1$s\"\n"
                 "#, fuzzy\n#| msgid \"old\"\nmsgid \"doubtful\"\nmsgstr \"no\"\n\n"
                 "msgctxt \"a contact\"\nmsgid \"open\"\nmsgstr \"offen\"\n"
                 "msgid \"open\"\nmsgstr \"\"\n\"\\303\\266ffne \"\r\n\"\\\"es\\\"\"\n"
                 "#~ msgid \"gone\"\n#~ msgstr \"weg\"\n"
                 "msgid \"empty\"\nmsgstr \"\"\n");
  g_auto(LgSpeaking) speaking = lg_words_use(words);
  g_assert_cmpstr(lg_words_language(), ==, "xx");
  g_autofree char *turned = g_strdup_printf(T_("%s of %d"), "this", 7);
  g_assert_cmpstr(turned, ==, "7: this");
  g_assert_cmpstr(TC_("a contact", "open"), ==, "offen");
  g_assert_cmpstr(T_("open"), ==, "\303\266ffne \"es\"");
  for (gsize i = 0; i < 3; i++) {
    const char *const none[] = {"doubtful", "gone", "empty"};
    g_assert_cmpstr(lg_words_find(none[i]), ==, none[i]);
  }
}

static void refuses_what_is_no_po(void)
{
  const char *const bad[] = {"msgid \"a\nmsgstr \"b\"\n", "msgid \"a\"\nmsgstr[0] \"b\"\n",
                             "\"nobody's\"\n", "msgid \"a\"\nmsgstr \"\\377\"\n"};
  const char *const where[] = {"xx.po:1: ", "xx.po:2: ", "xx.po:1: ", "xx.po:2: "};
  for (gsize i = 0; i < G_N_ELEMENTS(bad); i++) {
    g_autoptr(GBytes) bytes = g_bytes_new_static(bad[i], strlen(bad[i]));
    g_autoptr(GError) error = NULL;
    g_assert_null(lg_words_read("xx", bytes, &error));
    g_assert_true(g_str_has_prefix(error->message, where[i]));
  }
}

static gpointer other_thread(G_GNUC_UNUSED gpointer nothing)
{
  return g_strdup(T_("yes"));
}

static void in_force_for_a_scope_and_a_thread(void)
{
  {
    g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of("de"));
    g_assert_cmpstr(T_("yes"), ==, "ja");
    g_autofree char *beside = g_thread_join(g_thread_new("other", other_thread, NULL));
    g_assert_cmpstr(beside, ==, "yes");
    {
      g_auto(LgSpeaking) again = lg_words_use(NULL);
      g_assert_cmpstr(T_("yes"), ==, "yes");
    }
    g_assert_cmpstr(lg_words_language(), ==, "de");
  }
  g_assert_cmpstr(T_("yes"), ==, "yes");
}

static void languages_are_shipped(void)
{
  const char *const *const languages = lg_words_languages();
  g_assert_cmpstr(languages[0], ==, "en");
  for (int i = 1; languages[i] != NULL; i++)
    g_assert_nonnull(lg_words_of(languages[i]));
  g_assert_null(lg_words_of("en"));
  g_assert_null(lg_words_of(NULL));
  g_assert_null(lg_words_of("tlh"));
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/words/english_without_words", english_without_words);
  g_test_add_func("/words/reads_po", reads_po);
  g_test_add_func("/words/refuses_what_is_no_po", refuses_what_is_no_po);
  g_test_add_func("/words/in_force_for_a_scope_and_a_thread", in_force_for_a_scope_and_a_thread);
  g_test_add_func("/words/languages_are_shipped", languages_are_shipped);
  return g_test_run();
}
