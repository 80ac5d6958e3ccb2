/* The states in which faults are looked at. */
#include "studies/faults-private.h"

typedef struct {
  const LgStage *stage;
  const LgJob *job;
  int n_inputs;
  int *n_positions; /* [n_inputs] that are walked; 1: it stands still */
  int *base;        /* [n_inputs] where it stands */
  GArray *rows;     /* int, n_inputs a state */
  GHashTable *known;
} Listing;

static void add(Listing *l, const int position[])
{
  const gsize bytes = sizeof(int) * (gsize)l->n_inputs;
  GBytes *const key = g_bytes_new(position, bytes);
  if (g_hash_table_add(l->known, key))
    g_array_append_vals(l->rows, position, (guint)l->n_inputs);
}

static gboolean fits(const Listing *l, const int position[])
{
  for (int i = 0; i < l->n_inputs; i++)
    if (l->n_positions[i] == 1 ? position[i] != l->base[i] : position[i] >= l->n_positions[i])
      return FALSE;
  return lg_circuit_possible(l->job, position);
}

/* --- all of them --- */

static gboolean next(const Listing *l, int position[])
{
  for (int i = 0; i < l->n_inputs; i++) {
    if (l->n_positions[i] == 1)
      continue;
    if (++position[i] < l->n_positions[i])
      return TRUE;
    position[i] = 0;
  }
  return FALSE;
}

static void list_all(Listing *l)
{
  g_autofree int *position = g_memdup2(l->base, sizeof(int) * ((gsize)l->n_inputs + 1));
  do
    if (lg_circuit_possible(l->job, position))
      add(l, position);
  while (next(l, position));
}

/* --- the telling ones --- */

static void list_kept(Listing *l, const LgStates *states)
{
  g_autofree int *position = g_new(int, (gsize)l->n_inputs + 1);
  for (int s = 0; s < states->n_kept; s++) {
    const guint8 *const kept = lg_states_position(states, s);
    for (int i = 0; i < l->n_inputs; i++)
      position[i] = kept[i];
    if (fits(l, position))
      add(l, position);
  }
}

/* Pairs of positions not yet met together: bit [item of one][item of the other]. An item is an
 * input at a position. */
typedef struct {
  int n;
  int *first; /* [n_inputs] item of position 0 */
  guint8 *open;
} Pairs;

static guint8 *pair(const Pairs *pairs, int a, int b)
{
  return &pairs->open[a < b ? a * pairs->n + b : b * pairs->n + a];
}

static void pairs_init(Pairs *pairs, const Listing *l)
{
  pairs->first = g_new(int, (gsize)l->n_inputs + 1);
  pairs->n = 0;
  for (int i = 0; i < l->n_inputs; i++) {
    pairs->first[i] = pairs->n;
    pairs->n += l->n_positions[i];
  }
  pairs->open = g_new0(guint8, (gsize)pairs->n * (gsize)pairs->n + 1);
  for (int i = 0; i < l->n_inputs; i++)
    for (int k = i + 1; k < l->n_inputs; k++)
      for (int p = 0; p < l->n_positions[i]; p++)
        for (int q = 0; q < l->n_positions[k]; q++)
          if (l->n_positions[i] > 1 && l->n_positions[k] > 1)
            *pair(pairs, pairs->first[i] + p, pairs->first[k] + q) = 1;
}

static void strike(Pairs *pairs, const Listing *l, const int position[])
{
  for (int i = 0; i < l->n_inputs; i++)
    for (int k = i + 1; k < l->n_inputs; k++)
      if (l->n_positions[i] > 1 && l->n_positions[k] > 1)
        *pair(pairs, pairs->first[i] + position[i], pairs->first[k] + position[k]) = 0;
}

/* Puts an input where it is wanted, and what it waits for where it must be. FALSE when that stands
 * elsewhere already. */
static gboolean put(const Listing *l, int position[], gboolean set[], int input, int at)
{
  for (int steps = 0; steps <= l->n_inputs; steps++) {
    if (l->n_positions[input] == 1)
      return position[input] == at;
    if (set[input])
      return position[input] == at;
    position[input] = at;
    set[input] = TRUE;
    const LgInput *const of = &l->job->inputs[input];
    if (at == 0 || of->when_input < 0)
      return TRUE;
    const int on = of->when_input;
    if (set[on] || l->n_positions[on] == 1)
      return (of->when_positions >> position[on] & 1) != 0;
    if (of->when_positions == 0)
      return FALSE;
    input = on;
    at = __builtin_ctzll(of->when_positions);
  }
  return FALSE;
}

static int gain(const Pairs *pairs, const Listing *l, const int position[], const gboolean set[],
                int input, int at)
{
  int sum = 0;
  for (int k = 0; k < l->n_inputs; k++)
    if (set[k] && k != input && l->n_positions[k] > 1)
      sum += *pair(pairs, pairs->first[input] + at, pairs->first[k] + position[k]);
  return sum;
}

/* The others one after another where they meet most of what is still open. */
static void fill(const Pairs *pairs, const Listing *l, int position[], gboolean set[])
{
  g_autofree int *was = g_new(int, (gsize)l->n_inputs + 1);
  g_autofree gboolean *was_set = g_new(gboolean, (gsize)l->n_inputs + 1);
  for (int i = 0; i < l->n_inputs; i++) {
    if (set[i] || l->n_positions[i] == 1)
      continue;
    int best = 0, most = -1;
    for (int p = 0; p < l->n_positions[i]; p++) {
      const int g = gain(pairs, l, position, set, i, p);
      if (g <= most)
        continue;
      memcpy(was, position, sizeof(int) * (gsize)l->n_inputs);
      memcpy(was_set, set, sizeof(gboolean) * (gsize)l->n_inputs);
      if (put(l, was, was_set, i, p)) {
        most = g;
        best = p;
      }
    }
    put(l, position, set, i, best);
  }
}

/* Every pair of positions that can be together, in few states: greedy, in a fixed order. */
static void list_pairs(Listing *l)
{
  Pairs pairs;
  pairs_init(&pairs, l);
  for (guint s = 0; s < l->rows->len / (guint)MAX(l->n_inputs, 1); s++)
    strike(&pairs, l, &g_array_index(l->rows, int, s *(guint)l->n_inputs));
  g_autofree int *position = g_new(int, (gsize)l->n_inputs + 1);
  g_autofree gboolean *set = g_new(gboolean, (gsize)l->n_inputs + 1);
  for (int i = 0; i < l->n_inputs; i++)
    for (int k = i + 1; k < l->n_inputs; k++)
      for (int p = 0; p < l->n_positions[i]; p++)
        for (int q = 0; q < l->n_positions[k]; q++) {
          if (!*pair(&pairs, pairs.first[i] + p, pairs.first[k] + q))
            continue;
          memcpy(position, l->base, sizeof(int) * (gsize)l->n_inputs);
          memset(set, 0, sizeof(gboolean) * (gsize)l->n_inputs);
          if (!put(l, position, set, i, p) || !put(l, position, set, k, q))
            continue; /* cannot be together */
          fill(&pairs, l, position, set);
          if (!lg_circuit_possible(l->job, position))
            continue;
          strike(&pairs, l, position);
          add(l, position);
        }
  g_free(pairs.first);
  g_free(pairs.open);
}

static void number_codes(const Listing *l, LgFailureStates *out)
{
  int n_codes = 1;
  out->walked = g_new(int, (gsize)l->n_inputs + 1);
  out->weight = g_new0(int, (gsize)l->n_inputs + 1);
  for (int i = 0; i < l->n_inputs; i++) {
    if (l->n_positions[i] == 1)
      continue;
    out->walked[out->n_walked++] = i;
    out->weight[i] = n_codes;
    n_codes *= out->all ? l->n_positions[i] : 1;
  }
  if (!out->all)
    return;
  out->of_code = g_new(int, (gsize)n_codes);
  for (int c = 0; c < n_codes; c++)
    out->of_code[c] = -1;
  for (int s = 0; s < out->n; s++) {
    int code = 0;
    for (int i = 0; i < out->n_walked; i++)
      code += out->weight[out->walked[i]] * lg_failure_position(out, s)[out->walked[i]];
    out->of_code[code] = s;
  }
}

LgFailureStates *lg_failure_states_new(const LgStage *stage, const LgStates *states, guint64 most)
{
  const LgJob *const job = stage->circuit->job;
  const gsize n = (gsize)job->n_inputs;
  Listing l = {.stage = stage,
               .job = job,
               .n_inputs = job->n_inputs,
               .n_positions = g_new(int, n + 1),
               .base = g_new0(int, n + 1),
               .rows = g_array_new(FALSE, FALSE, sizeof(int)),
               .known = g_hash_table_new_full(g_bytes_hash, g_bytes_equal,
                                              (GDestroyNotify)g_bytes_unref, NULL)};
  guint64 product = 1;
  for (int i = 0; i < job->n_inputs; i++) {
    const gboolean walked = stage->stand[i] < 0;
    l.n_positions[i] = walked ? lg_net_input(stage->net, i)->n_positions : 1;
    l.base[i] = walked ? 0 : stage->stand[i];
    if (__builtin_mul_overflow(product, (guint64)l.n_positions[i], &product))
      product = G_MAXUINT64;
  }
  add(&l, l.base);
  LgFailureStates *const out = g_new0(LgFailureStates, 1);
  out->all = states->n_possible <= most && product / 16 <= most;
  if (out->all) {
    list_all(&l);
  } else {
    list_kept(&l, states);
    list_pairs(&l);
  }
  out->n_inputs = job->n_inputs;
  out->n = (int)g_hash_table_size(l.known);
  out->n_possible = states->n_possible;
  out->position = (int *)(void *)g_array_free(l.rows, FALSE);
  out->rank = g_new(int, (gsize)out->n);
  for (int s = 0; s < out->n; s++)
    out->rank[s] = lg_rank(lg_failure_position(out, s), out->n_inputs);
  number_codes(&l, out);
  g_hash_table_unref(l.known);
  g_free(l.n_positions);
  g_free(l.base);
  return out;
}

void lg_failure_states_free(LgFailureStates *states)
{
  if (states == NULL)
    return;
  g_free(states->position);
  g_free(states->rank);
  g_free(states->walked);
  g_free(states->weight);
  g_free(states->of_code);
  g_free(states);
}
