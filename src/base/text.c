#include "base/text.h"
#include <string.h>

/* Longer words are no names that anybody types; they are never near each other. */
#define MOST_LETTERS 64

/* The letters of `word`, case folded; -1 when there are too many or the text is no UTF-8. */
static int fold_letters(const char *word, gunichar letters[MOST_LETTERS])
{
  int n = 0;
  for (const char *p = word; *p != '\0'; n++) {
    const gunichar c = g_utf8_get_char_validated(p, -1);
    if (n == MOST_LETTERS || (gint32)c < 0)
      return -1;
    letters[n] = g_unichar_tolower(c);
    p = g_utf8_next_char(p);
  }
  return n;
}

static int least_of(int a, int b, int c)
{
  const int ab = MIN(a, b);
  return MIN(ab, c);
}

/* Optimal string alignment by three rows of the usual table: d[i][j] from its left, upper and
 * diagonal neighbours, and from d[i-2][j-2] for a swap. */
static int letters_distance(const gunichar *a, int n, const gunichar *b, int m, int limit)
{
  int rows[3][MOST_LETTERS + 1];
  int *before = rows[0], *last = rows[1], *now = rows[2];
  if (ABS(n - m) > limit)
    return limit + 1;
  for (int j = 0; j <= m; j++)
    last[j] = j;
  for (int i = 1; i <= n; i++) {
    int best = now[0] = i;
    for (int j = 1; j <= m; j++) {
      const int change = a[i - 1] == b[j - 1] ? 0 : 1;
      now[j] = least_of(last[j] + 1, now[j - 1] + 1, last[j - 1] + change);
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        now[j] = MIN(now[j], before[j - 2] + 1);
      best = MIN(best, now[j]);
    }
    /* A swap reaches back two rows, so one row above the limit may still be mended by the next. */
    if (best > limit + 1)
      return limit + 1;
    int *const spare = before;
    before = last;
    last = now;
    now = spare;
  }
  return MIN(last[m], limit + 1);
}

int lg_word_distance(const char *a, const char *b, int limit)
{
  gunichar p[MOST_LETTERS], q[MOST_LETTERS];
  const int n = fold_letters(a, p), m = fold_letters(b, q);
  return n < 0 || m < 0 ? limit + 1 : letters_distance(p, n, q, m, limit);
}

const char *lg_nearest_word(const char *word, const char *const *candidates, gsize n)
{
  gunichar p[MOST_LETTERS], q[MOST_LETTERS];
  const int length = fold_letters(word, p);
  if (length <= 0)
    return NULL;
  /* At least one letter must stay, else every one-letter word would be near to every other. */
  int limit = MIN(MAX(1, length / 3), length - 1);
  const char *nearest = NULL;
  for (gsize i = 0; i < n && limit >= 0; i++) {
    const int other = candidates[i] == NULL ? -1 : fold_letters(candidates[i], q);
    if (other < 0)
      continue;
    const int distance = letters_distance(p, length, q, other, limit);
    if (distance <= limit) {
      nearest = candidates[i];
      limit = distance - 1;
    }
  }
  return nearest;
}

static gboolean is_plain_ascii(char c)
{
  return g_ascii_isalnum(c) || c == '_' || c == '-' || c == '+';
}

/* Two spellings of one letter (an accent of its own, or one letter for both) would make two names
 * that look alike, so only the composed form is taken. */
static gboolean is_composed(const char *text, gsize length)
{
  g_autofree char *composed = g_utf8_normalize(text, (gssize)length, G_NORMALIZE_NFC);
  return composed != NULL && strlen(composed) == length && memcmp(composed, text, length) == 0;
}

gboolean lg_name_is_plain(const char *text, gsize length)
{
  gsize i = 0;
  while (i < length && is_plain_ascii(text[i]))
    i++;
  if (i == length)
    return length > 0;
  while (i < length) {
    const gunichar c = g_utf8_get_char_validated(text + i, (gssize)(length - i));
    if ((gint32)c < 0)
      return FALSE;
    if (c < 0x80 ? !is_plain_ascii((char)c)
                 : !g_unichar_isalpha(c) && !g_unichar_isdigit(c) && !g_unichar_ismark(c))
      return FALSE;
    i += (gsize)g_unichar_to_utf8(c, NULL);
  }
  return is_composed(text, length);
}
