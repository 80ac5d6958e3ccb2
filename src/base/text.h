/* Small text helpers that every room needs. */
#pragma once
#include <glib.h>

G_BEGIN_DECLS

/* The candidate nearest to `word` by edit distance with swaps, case folded, or NULL when none is
 * near enough (at most a third of the letters, at least 1, differ). `n` candidates, NULL ones are
 * passed over. */
const char *lg_nearest_word(const char *word, const char *const *candidates, gsize n);

/* Edit distance with neighbour swaps counted once (optimal string alignment), case folded, stops
 * above `limit`. */
int lg_word_distance(const char *a, const char *b, int limit);

/* Whether a name may stand in a sheet: letters, digits, '_', '-', '+'; '.' only between part and
 * pin. */
gboolean lg_name_is_plain(const char *text, gsize length);

G_END_DECLS
