/* States worth keeping, each once. */
#include "studies/states-private.h"

struct LgKeeper {
  LgStates *states;
  GHashTable *known; /* GBytes of positions -> state + 1 */
};

LgKeeper *lg_keeper_new(LgStates *states)
{
  LgKeeper *const keeper = g_new0(LgKeeper, 1);
  keeper->states = states;
  keeper->known =
      g_hash_table_new_full(g_bytes_hash, g_bytes_equal, (GDestroyNotify)g_bytes_unref, NULL);
  return keeper;
}

void lg_keeper_free(LgKeeper *keeper)
{
  if (keeper == NULL)
    return;
  g_hash_table_unref(keeper->known);
  g_free(keeper);
}

int lg_keeper_keep(LgKeeper *keeper, const guint8 position[])
{
  LgStates *const states = keeper->states;
  GBytes *const key = g_bytes_new(position, (gsize)states->n_inputs);
  const int known = GPOINTER_TO_INT(g_hash_table_lookup(keeper->known, key));
  if (known > 0) {
    g_bytes_unref(key);
    return known - 1;
  }
  g_array_append_vals(states->positions, position, (guint)states->n_inputs);
  g_hash_table_insert(keeper->known, key, GINT_TO_POINTER(++states->n_kept));
  return states->n_kept - 1;
}

int lg_rank(const int position[], int n_inputs)
{
  int rank = 0;
  for (int i = 0; i < n_inputs; i++)
    rank += position[i] != 0;
  return rank;
}

void lg_copy_position(const int position[], int n_inputs, guint8 to[])
{
  for (int i = 0; i < n_inputs; i++)
    to[i] = (guint8)position[i];
}

gboolean lg_peak_take(LgPeak *peak, double value, double sign, const int position[], int n_inputs,
                      int *rank)
{
  if (isnan(value))
    return FALSE;
  const double gain = sign * (value - peak->value), tie = LG_TIE * fabs(peak->value) + 1e-15;
  if (peak->rank >= 0 && gain < -tie)
    return FALSE;
  if (*rank < 0)
    *rank = lg_rank(position, n_inputs);
  if (peak->rank >= 0 && gain <= tie && *rank >= peak->rank)
    return FALSE;
  peak->value = value;
  peak->rank = *rank;
  lg_copy_position(position, n_inputs, peak->position);
  return TRUE;
}

gboolean lg_peak_merge(LgPeak *peak, const LgPeak *other, double sign, int n_inputs)
{
  if (other->rank < 0)
    return FALSE;
  const double gain = sign * (other->value - peak->value), tie = LG_TIE * fabs(peak->value) + 1e-15;
  if (peak->rank >= 0 && (gain < -tie || (gain <= tie && other->rank >= peak->rank)))
    return FALSE;
  peak->value = other->value;
  peak->rank = other->rank;
  memcpy(peak->position, other->position, (gsize)n_inputs);
  return TRUE;
}

LgExtreme lg_peak_keep(const LgPeak *peak, LgKeeper *keeper)
{
  if (peak->rank < 0)
    return (LgExtreme){NAN, -1};
  return (LgExtreme){peak->value, lg_keeper_keep(keeper, peak->position)};
}
