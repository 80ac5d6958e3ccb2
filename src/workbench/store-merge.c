/* Two texts that come of one: what each changed, put together record by record.
 *
 * Which record is meant is told by its key, so two neighbours may both change. Where things stand
 * is told by the longest run of records (and lines around them) that all keep their order. */
#include "workbench/store-private.h"
#include <string.h>

enum { NONE = -1 };

/* A text beside the base. */
typedef struct {
  const LgSlices *s;
  int *at;   /* [slices of base] the same slice here, in the same order; NONE */
  int *from; /* [slices here] the same slice of base; NONE: put in here */
} Side;

typedef struct {
  const LgSlices *base;
  Side mine, theirs;
  GString *out;
  GPtrArray *keys;    /* borrowed: of the records in `out`, in order */
  const char *broken; /* key of the first record that both changed differently; borrowed */
} Merge;

static const LgSlice *slice_at(const LgSlices *s, guint i)
{
  return &g_array_index(s->slices, LgSlice, i);
}

static int number_of(const LgSlices *s, const char *key)
{
  return (int)GPOINTER_TO_UINT(g_hash_table_lookup(s->found, key)) - 1;
}

/* The records of base that stand here in the same order: longest increasing run, by piles. */
static void match_records(const LgSlices *base, Side *side)
{
  const guint n = base->slices->len;
  g_autofree int *place = g_new(int, n + 1), *tops = g_new(int, n + 1), *before = g_new(int, n + 1);
  int piles = 0;
  for (guint i = 0; i < n; i++) {
    const char *const key = slice_at(base, i)->key;
    place[i] = key == NULL ? NONE : number_of(side->s, key);
    if (place[i] == NONE)
      continue;
    int low = 0, high = piles;
    while (low < high) {
      const int middle = (low + high) / 2;
      if (place[tops[middle]] < place[i])
        low = middle + 1;
      else
        high = middle;
    }
    before[i] = low > 0 ? tops[low - 1] : NONE;
    tops[low] = (int)i;
    piles = MAX(piles, low + 1);
  }
  for (int i = piles > 0 ? tops[piles - 1] : NONE; i != NONE; i = before[i]) {
    side->at[i] = place[i];
    side->from[place[i]] = i;
  }
}

static gboolean same_line(const LgSlices *base, guint i, const Side *side, guint k)
{
  const LgSlice *const p = slice_at(base, i), *const q = slice_at(side->s, k);
  return p->key == NULL && q->key == NULL && lg_text_slices_same(base, p, side->s, q);
}

static void pair(Side *side, guint i, guint k)
{
  side->at[i] = (int)k;
  side->from[k] = (int)i;
}

/* Lines of base[i, i_end) among those of here[k, k_end): from both ends, then the rest one by one
 * in order. */
static void match_gap(const LgSlices *base, Side *side, guint i, guint i_end, guint k, guint k_end)
{
  while (i < i_end && k < k_end && same_line(base, i, side, k))
    pair(side, i++, k++);
  while (i < i_end && k < k_end && same_line(base, i_end - 1, side, k_end - 1))
    pair(side, --i_end, --k_end);
  enum { NEAR = 64 }; /* lines that are looked through for the next equal one */
  for (; i < i_end; i++)
    for (guint j = k; j < k_end && j < k + NEAR; j++)
      if (same_line(base, i, side, j)) {
        pair(side, i, j);
        k = j + 1;
        break;
      }
}

static void match_lines(const LgSlices *base, Side *side)
{
  guint i = 0, k = 0;
  for (guint next = 0; next <= base->slices->len; next++) {
    const gboolean end = next == base->slices->len;
    if (!end && (slice_at(base, next)->key == NULL || side->at[next] == NONE))
      continue;
    const guint k_end = end ? side->s->slices->len : (guint)side->at[next];
    match_gap(base, side, i, next, k, k_end);
    i = next + 1;
    k = k_end + 1;
  }
}

static void side_init(Side *side, const LgSlices *base, const LgSlices *s)
{
  side->s = s;
  side->at = g_new(int, base->slices->len + 1);
  side->from = g_new(int, s->slices->len + 1);
  for (guint i = 0; i < base->slices->len; i++)
    side->at[i] = NONE;
  for (guint k = 0; k < s->slices->len; k++)
    side->from[k] = NONE;
  match_records(base, side);
  match_lines(base, side);
}

static void side_clear(Side *side)
{
  g_free(side->at);
  g_free(side->from);
}

static const char *line_end_of(const LgSlices *s)
{
  const char *const end = memchr(s->data, '\n', g_bytes_get_size(s->text));
  return end != NULL && end > s->data && end[-1] == '\r' ? "\r\n" : "\n";
}

/* Behind the mark at the begin of a text, too, no line has to end. */
static void end_line(Merge *m)
{
  const gsize n = m->out->len;
  if (n > 0 && m->out->str[n - 1] != '\n' && strcmp(m->out->str, "\357\273\277") != 0)
    g_string_append(m->out, line_end_of(m->theirs.s));
}

/* A slice, on lines of its own. */
static void put(Merge *m, const LgSlices *s, const LgSlice *slice)
{
  end_line(m);
  g_string_append_len(m->out, s->data + slice->begin, (gssize)(slice->end - slice->begin));
  if (slice->key != NULL)
    g_ptr_array_add(m->keys, slice->key);
}

/* Mine where theirs stands: kept to be read, without an effect on the job. */
static void put_as_comment(Merge *m, const LgSlice *slice)
{
  g_autofree char *text = lg_slice_text(m->mine.s, slice);
  g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
  const char *const end = line_end_of(m->theirs.s);
  end_line(m);
  for (char **line = lines; *line != NULL; line++)
    g_string_append_printf(m->out, "# mine: %s%s", g_strchomp(*line), end);
}

static void note_conflict(Merge *m, const char *key)
{
  if (m->broken == NULL)
    m->broken = key;
}

/* A record of base or of either side, once, where it was found to belong. */
static void put_record(Merge *m, const char *key)
{
  const LgSlice *const was = lg_text_slices_find(m->base, key);
  const LgSlice *const mine = lg_text_slices_find(m->mine.s, key);
  const LgSlice *const theirs = lg_text_slices_find(m->theirs.s, key);
  const gboolean mine_as_was =
      mine != NULL && was != NULL && lg_text_slices_same(m->base, was, m->mine.s, mine);
  const gboolean theirs_as_was =
      theirs != NULL && was != NULL && lg_text_slices_same(m->base, was, m->theirs.s, theirs);
  const gboolean equal =
      mine != NULL && theirs != NULL && lg_text_slices_same(m->mine.s, mine, m->theirs.s, theirs);
  if (theirs != NULL && (equal || mine_as_was)) {
    put(m, m->theirs.s, theirs);
  } else if (mine != NULL && (theirs_as_was || (theirs == NULL && was == NULL))) {
    put(m, m->mine.s, mine);
  } else if (theirs != NULL && mine == NULL && (was == NULL || theirs_as_was)) {
    if (was == NULL)
      put(m, m->theirs.s, theirs);
  } else if (theirs == NULL && mine_as_was) {
    return;
  } else {
    note_conflict(m, key);
    if (theirs != NULL)
      put(m, m->theirs.s, theirs);
    if (mine != NULL)
      put_as_comment(m, mine);
  }
}

/* Whether the record is put at its place in `side` rather than in the other one: theirs decides,
 * unless only mine moved it. */
static gboolean belongs_here(const Merge *m, const Side *side, const char *key)
{
  const int was = number_of(m->base, key);
  return side == &m->theirs || number_of(m->theirs.s, key) == NONE ||
         (was != NONE && m->theirs.at[was] != NONE);
}

/* What a side put in before its slice number `to`. */
static void put_inserted(Merge *m, const Side *side, guint from, guint to)
{
  for (guint k = from; k < to; k++) {
    const LgSlice *const slice = slice_at(side->s, k);
    if (slice->key == NULL)
      put(m, side->s, slice);
    else if (belongs_here(m, side, slice->key))
      put_record(m, slice->key);
  }
}

static gboolean begins_variant(const LgSlices *s, guint from, guint to)
{
  for (guint k = from; k < to; k++)
    if (slice_at(s, k)->key != NULL && g_str_has_prefix(slice_at(s, k)->key, "variant "))
      return TRUE;
  return FALSE;
}

static gboolean same_run(const Merge *m, guint k, guint k_end, guint t, guint t_end)
{
  if (k_end - k != t_end - t)
    return FALSE;
  for (; k < k_end; k++, t++)
    if (!lg_text_slices_same(m->mine.s, slice_at(m->mine.s, k), m->theirs.s,
                             slice_at(m->theirs.s, t)))
      return FALSE;
  return TRUE;
}

/* Both put something in at the same place: theirs first, but nothing behind the begin of a variant
 * that was not meant for it. */
static void put_gap(Merge *m, guint k, guint k_end, guint t, guint t_end)
{
  if (same_run(m, k, k_end, t, t_end)) {
    put_inserted(m, &m->theirs, t, t_end);
    return;
  }
  const gboolean mine_first =
      begins_variant(m->theirs.s, t, t_end) && !begins_variant(m->mine.s, k, k_end);
  if (mine_first)
    put_inserted(m, &m->mine, k, k_end);
  put_inserted(m, &m->theirs, t, t_end);
  if (!mine_first)
    put_inserted(m, &m->mine, k, k_end);
}

/* A slice of base at its old place. */
static void put_kept(Merge *m, guint i)
{
  const LgSlice *const slice = slice_at(m->base, i);
  const gboolean in_mine = m->mine.at[i] != NONE, in_theirs = m->theirs.at[i] != NONE;
  if (slice->key == NULL) {
    if (in_mine && in_theirs)
      put(m, m->base, slice);
    return;
  }
  const gboolean moved = (!in_mine && number_of(m->mine.s, slice->key) != NONE) ||
                         (!in_theirs && number_of(m->theirs.s, slice->key) != NONE);
  if (!moved && (in_mine || in_theirs))
    put_record(m, slice->key);
}

static void walk(Merge *m)
{
  guint k = 0, t = 0;
  for (guint i = 0; i <= m->base->slices->len; i++) {
    const gboolean end = i == m->base->slices->len;
    const guint k_end = end                     ? m->mine.s->slices->len
                        : m->mine.at[i] != NONE ? (guint)m->mine.at[i]
                                                : k;
    const guint t_end = end                       ? m->theirs.s->slices->len
                        : m->theirs.at[i] != NONE ? (guint)m->theirs.at[i]
                                                  : t;
    put_gap(m, k, k_end, t, t_end);
    k = k_end;
    t = t_end;
    if (end)
      break;
    put_kept(m, i);
    k += m->mine.at[i] != NONE;
    t += m->theirs.at[i] != NONE;
  }
}

/* Whether the outcome reads as the records that were put into it, each in its variant. */
static gboolean reads_well(const Merge *m, const LgSlices *made)
{
  if (made->records->len != m->keys->len ||
      made->n_broken > m->mine.s->n_broken + m->theirs.s->n_broken)
    return FALSE;
  for (guint i = 0; i < m->keys->len; i++) {
    const guint at = g_array_index(made->records, guint, i);
    if (strcmp(slice_at(made, at)->key, m->keys->pdata[i]) != 0)
      return FALSE;
  }
  return TRUE;
}

GBytes *lg_merge(GBytes *base, GBytes *mine, GBytes *theirs_text, gboolean both, char **theirs)
{
  g_autoptr(LgSlices) b = lg_text_slices_new(base), k = lg_text_slices_new(mine),
                      t = lg_text_slices_new(theirs_text);
  Merge m = {.base = b};
  m.out = g_string_sized_new(g_bytes_get_size(theirs_text) + 1024);
  m.keys = g_ptr_array_new();
  side_init(&m.mine, b, k);
  side_init(&m.theirs, b, t);
  walk(&m);
  GBytes *made = g_string_free_to_bytes(m.out);
  g_autoptr(LgSlices) read = lg_text_slices_new(made);
  if (theirs != NULL && m.broken != NULL) {
    const LgSlice *const stands = lg_text_slices_find(t, m.broken);
    *theirs = stands == NULL ? NULL : lg_slice_text(t, stands);
  }
  if ((m.broken != NULL && !both) || !reads_well(&m, read))
    g_clear_pointer(&made, g_bytes_unref);
  side_clear(&m.mine);
  side_clear(&m.theirs);
  g_ptr_array_unref(m.keys);
  return made;
}
