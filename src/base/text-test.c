#include "base/finding.h"
#include "base/text.h"
#include <string.h>

/* Textbook pairs: kitten/sitting 3 (Levenshtein); ca/abc 3 by optimal string alignment, where the
 * unrestricted distance with swaps would be 2. */
static void distances(void)
{
  g_assert_cmpint(lg_word_distance("kitten", "sitting", 9), ==, 3);
  g_assert_cmpint(lg_word_distance("ca", "abc", 9), ==, 3);
  g_assert_cmpint(lg_word_distance("lenght", "length", 9), ==, 1);
  g_assert_cmpint(lg_word_distance("", "abc", 9), ==, 3);
  g_assert_cmpint(lg_word_distance("Wire", "wIRE", 9), ==, 0);
  g_assert_cmpint(lg_word_distance("\303\204rger", "\303\244rger", 9), ==, 0);
  g_assert_cmpint(lg_word_distance("kitten", "sitting", 2), ==, 3);
  g_assert_cmpint(lg_word_distance("a", "abcdefgh", 2), ==, 3);
}

/* Plain recursion by the definition, for short words. */
static int distance_by_definition(const char *a, const char *b)
{
  const gsize n = strlen(a), m = strlen(b);
  if (n == 0 || m == 0)
    return (int)(n + m);
  g_autofree char *p = g_strndup(a, n - 1), *q = g_strndup(b, m - 1);
  int best = distance_by_definition(p, q) + (a[n - 1] != b[m - 1]);
  best = MIN(best, distance_by_definition(p, b) + 1);
  best = MIN(best, distance_by_definition(a, q) + 1);
  if (n > 1 && m > 1 && a[n - 1] == b[m - 2] && a[n - 2] == b[m - 1]) {
    g_autofree char *pp = g_strndup(a, n - 2), *qq = g_strndup(b, m - 2);
    best = MIN(best, distance_by_definition(pp, qq) + 1);
  }
  return best;
}

static void random_word(char word[8])
{
  const int n = g_test_rand_int_range(0, 6);
  for (int i = 0; i < n; i++)
    word[i] = (char)g_test_rand_int_range('a', 'd');
  word[n] = '\0';
}

static void distances_follow_the_definition(void)
{
  for (int i = 0; i < 500; i++) {
    char a[8], b[8];
    random_word(a);
    random_word(b);
    const int limit = g_test_rand_int_range(0, 7), exact = distance_by_definition(a, b);
    g_assert_cmpint(lg_word_distance(a, b, limit), ==, MIN(exact, limit + 1));
  }
}

static void nearest_words(void)
{
  static const char *const words[] = {"length", NULL, "via", "spare", "insulation", "is"};
  const gsize n = G_N_ELEMENTS(words);
  g_assert_cmpstr(lg_nearest_word("lenght", words, n), ==, "length");
  g_assert_cmpstr(lg_nearest_word("Spare", words, n), ==, "spare");
  g_assert_cmpstr(lg_nearest_word("isolation", words, n), ==, "insulation");
  g_assert_cmpstr(lg_nearest_word("vai", words, n), ==, "via");
  g_assert_null(lg_nearest_word("colour", words, n));
  g_assert_null(lg_nearest_word("x", words, n));
  g_assert_null(lg_nearest_word("", words, n));
  g_assert_null(lg_nearest_word(
      "a-word-that-is-far-too-long-for-anybody-to-have-typed-it-by-hand-ever", words, n));
}

static gboolean is_plain(const char *text)
{
  return lg_name_is_plain(text, strlen(text));
}

static void names(void)
{
  g_assert_true(is_plain("W12"));
  g_assert_true(is_plain("under-seat"));
  g_assert_true(is_plain("B+"));
  g_assert_true(is_plain("7"));
  g_assert_true(is_plain("T\303\274r_links"));
  g_assert_true(is_plain("\320\232\320\273\321\216\321\207"));
  g_assert_false(is_plain(""));
  g_assert_false(is_plain("K1.30"));
  g_assert_false(is_plain("a b"));
  g_assert_false(is_plain("a/b"));
  g_assert_false(is_plain("a\302\240b"));
  g_assert_false(is_plain("\342\202\254"));
  g_assert_false(is_plain("\303"));
  /* u with a mark of its own looks like the letter and is another name */
  g_assert_false(is_plain("Tu\314\210r"));
}

static LgFinding *new_finding(LgGrade grade, int line, const char *rule)
{
  LgFinding *const finding = g_new0(LgFinding, 1);
  finding->grade = grade;
  finding->origin.line = line;
  finding->rule = rule;
  return finding;
}

static void findings_come_worst_first(void)
{
  g_autoptr(GPtrArray) findings = lg_findings_new();
  g_ptr_array_add(findings, new_finding(LG_GRADE_CAUTION, 1, "a"));
  g_ptr_array_add(findings, new_finding(LG_GRADE_DANGER, 9, "d"));
  g_ptr_array_add(findings, new_finding(LG_GRADE_DANGER, 2, "c"));
  g_ptr_array_add(findings, new_finding(LG_GRADE_DANGER, 2, "b"));
  lg_findings_sort(findings);
  g_autoptr(GString) order = g_string_new(NULL);
  for (guint i = 0; i < findings->len; i++)
    g_string_append(order, ((LgFinding *)findings->pdata[i])->rule);
  g_assert_cmpstr(order->str, ==, "bcda");
  g_assert_cmpstr(lg_grade_word(LG_GRADE_UNPROVEN), ==, "unproven");
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/text/distances", distances);
  g_test_add_func("/text/distances-follow-the-definition", distances_follow_the_definition);
  g_test_add_func("/text/nearest-words", nearest_words);
  g_test_add_func("/text/names", names);
  g_test_add_func("/finding/worst-first", findings_come_worst_first);
  return g_test_run();
}
