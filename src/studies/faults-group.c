/* Causes of one effect put together, gravest first. */
#include "studies/faults-private.h"

static guint least_bit(guint why)
{
  return why & (~why + 1);
}

static double warmth(const LgEffect *e)
{
  return e->hottest >= 0 ? e->hottest_K / e->hottest_limit_K : 0;
}

static guint n_of(const GArray *list)
{
  return list != NULL ? list->len : 0;
}

static int order(double a, double b)
{
  return (a > b) - (a < b);
}

int lg_effect_compare(const LgEffect *a, const LgEffect *b)
{
  if (a->severity != b->severity)
    return (int)a->severity - (int)b->severity;
  if (least_bit(a->why) != least_bit(b->why))
    return least_bit(a->why) < least_bit(b->why) ? -1 : 1;
  if (warmth(a) != warmth(b))
    return order(warmth(b), warmth(a));
  const guint na = n_of(a->runs) + n_of(a->stops) + n_of(a->weak),
              nb = n_of(b->runs) + n_of(b->stops) + n_of(b->weak);
  if (na != nb)
    return na > nb ? -1 : 1;
  return order(a->flat_h, b->flat_h);
}

/* --- what makes two effects the same for the reader --- */

static void list_words(GString *words, char sign, const GArray *list)
{
  for (guint i = 0; list != NULL && i < list->len; i++)
    g_string_append_printf(words, "%c%d", sign, g_array_index(list, LgHit, i).element);
}

static void effect_words(GString *words, const LgEffect *e)
{
  g_string_append_printf(words, " %d %d %d %d %d %d %d %d %d", e->cleared_by, e->also_opens,
                         isinf(e->cleared_s) != 0, e->overheats, e->reader, e->noticed, e->chatters,
                         e->reversed, e->held);
  list_words(words, 'r', e->runs);
  list_words(words, 's', e->stops);
  list_words(words, 'w', e->weak);
  list_words(words, 'n', e->needs);
}

/* Interruptions of any kind are told together. */
static LgFailureKind class_of(LgFailureKind kind)
{
  switch (kind) {
  case LG_FAIL_STUCK_OPEN:
  case LG_FAIL_COIL_OPEN:
  case LG_FAIL_LOAD_OPEN:
  case LG_FAIL_GROUND_LOST:
  case LG_FAIL_SENSOR_OPEN:
    return LG_FAIL_OPEN;
  default:
    return kind;
  }
}

/* When a wire burns because nothing opens, the rest does not count. */
static char *signature(const LgEffect *e)
{
  const guint fire = LG_WHY_BURNS | LG_WHY_UNCLEARED;
  GString *const words = g_string_new(NULL);
  g_string_append_printf(words, "%d %d %d", (int)e->severity, (int)class_of(e->fault.kind),
                         e->fault.restraint);
  if ((e->why & fire) == fire)
    return g_string_free(words, FALSE);
  if (e->severity == LG_SEVERITY_DANGER && (e->why & LG_WHY_BURNS) != 0)
    g_string_append(words, " burns");
  g_string_append_printf(words, " %x",
                         e->why & ~(guint)(LG_WHY_NEED | LG_WHY_FLAT | LG_WHY_READS_WRONG));
  if ((e->why & LG_WHY_UNGUARDED) != 0)
    g_string_append_printf(words, " %d", e->fault.element);
  effect_words(words, e);
  return g_string_free(words, FALSE);
}

static int by_gravity(gconstpointer a, gconstpointer b, gpointer user)
{
  const LgCampaign *const faults = user;
  const int i = *(const int *)a, k = *(const int *)b;
  const int c = lg_effect_compare(&faults->effects[i], &faults->effects[k]);
  return c != 0 ? c : i - k;
}

void lg_campaign_group(LgCampaign *faults)
{
  const int n = faults->n_effects;
  g_autofree int *by = g_new(int, (gsize)n + 1);
  for (int i = 0; i < n; i++)
    by[i] = i;
  g_qsort_with_data(by, n, sizeof *by, by_gravity, faults);
  g_autoptr(GHashTable) known = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr(GArray) members = g_array_new(FALSE, FALSE, sizeof(int)); /* cause of by[i] */
  faults->causes = g_new0(LgCause, (gsize)n + 1);
  for (int i = 0; i < n; i++) {
    char *const key = signature(&faults->effects[by[i]]);
    int cause = GPOINTER_TO_INT(g_hash_table_lookup(known, key)) - 1;
    if (cause < 0) {
      cause = faults->n_causes++;
      g_hash_table_insert(known, key, GINT_TO_POINTER(cause + 1));
    } else {
      g_free(key);
    }
    faults->causes[cause].n++;
    g_array_append_val(members, cause);
  }
  for (int c = 0; c < faults->n_causes; c++) {
    faults->causes[c].faults = g_new(int, (gsize)faults->causes[c].n);
    faults->causes[c].n = 0;
  }
  for (int i = 0; i < n; i++) {
    LgCause *const cause = &faults->causes[g_array_index(members, int, (guint)i)];
    cause->faults[cause->n++] = by[i];
  }
}
