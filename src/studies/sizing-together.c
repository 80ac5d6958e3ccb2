/* All components of the search together: they touch through the sag of what feeds them all. */
#include "studies/sizing-search-private.h"

/* One choice of sizes for all wires of a component. */
typedef struct {
  double kg;
  int *at; /* as component->numbers */
} Whole;

/* A component while all of them are weighed against each other. */
typedef struct {
  int root;
  GArray *numbers; /* int */
  GArray *wholes;  /* Whole, lightest first */
  double cap_kg;
  int *at;
} Component;

/* Whether the sums let the first `n_set` numbers stand as they do, the others at their thickest. */
static gboolean sums_allow(const LgSearch *search, const Component *component, guint n_set)
{
  for (guint l = 0; l < search->limits->len; l++) {
    const LgLimit *const limit = &g_array_index(search->limits, LgLimit, l);
    if (!lg_search_limits(search, limit, component->root))
      continue;
    double left_V = limit->limit->limit_V * (1 + 1e-9) - limit->fixed_V;
    for (guint i = 0; i < component->numbers->len; i++) {
      const int number = lg_int_at(component->numbers, i);
      const LgChoice *const c = lg_choice(search, number);
      left_V -= lg_limit_amps(limit, number) * c->ohm[i < n_set ? component->at[i] : c->n - 1];
    }
    if (left_V < 0)
      return FALSE;
  }
  return TRUE;
}

/* Keeps the choice when it serves with all other components at their least. */
static void keep_whole(LgSearch *search, Component *component, double kg)
{
  const guint n = component->numbers->len;
  memset(search->at, 0, sizeof(int) * search->choices->len);
  for (guint i = 0; i < n; i++)
    search->at[lg_int_at(component->numbers, i)] = component->at[i];
  search->solved++;
  if (!lg_search_keeps(search, component->root))
    return;
  const Whole whole = {kg, g_memdup2(component->at, sizeof(int) * n)};
  g_array_append_val(component->wholes, whole);
}

static void list_wholes(LgSearch *search, Component *component, guint i, double kg)
{
  double rest_kg = 0;
  for (guint k = i; k < component->numbers->len; k++)
    rest_kg += lg_choice(search, lg_int_at(component->numbers, k))->kg[0];
  if (search->nodes++ > LG_MOST_NODES || search->solved > LG_MOST_SOLVED ||
      kg + rest_kg > component->cap_kg || !sums_allow(search, component, i))
    return;
  if (i == component->numbers->len) {
    keep_whole(search, component, kg);
    return;
  }
  const LgChoice *const c = lg_choice(search, lg_int_at(component->numbers, i));
  for (int k = 0; k < c->n; k++) {
    component->at[i] = k;
    list_wholes(search, component, i + 1, kg + c->kg[k]);
  }
}

static int by_weight(gconstpointer a, gconstpointer b)
{
  const Whole *const x = a, *const y = b;
  return x->kg < y->kg ? -1 : x->kg > y->kg;
}

static void try_wholes(LgSearch *search, GArray *components, guint c, double kg)
{
  double rest_kg = 0;
  for (guint k = c; k < components->len; k++)
    rest_kg += g_array_index(g_array_index(components, Component, k).wholes, Whole, 0).kg;
  if (search->nodes++ > LG_MOST_NODES || search->solved > LG_MOST_SOLVED ||
      kg + rest_kg >= search->best_kg * (1 - 1e-12))
    return;
  if (c == components->len) {
    search->solved++;
    search->sizer->n_tried++;
    for (guint k = 0; k < components->len; k++)
      if (!lg_search_keeps(search, g_array_index(components, Component, k).root))
        return;
    search->best_kg = kg;
    memcpy(search->best, search->at, sizeof(int) * search->choices->len);
    return;
  }
  const Component *const component = &g_array_index(components, Component, c);
  for (guint w = 0; w < component->wholes->len; w++) {
    const Whole *const whole = &g_array_index(component->wholes, Whole, w);
    for (guint i = 0; i < component->numbers->len; i++)
      search->at[lg_int_at(component->numbers, i)] = whole->at[i];
    try_wholes(search, components, c + 1, kg + whole->kg);
  }
}

static void clear_component(gpointer data)
{
  Component *const component = data;
  for (guint w = 0; w < component->wholes->len; w++)
    g_free(g_array_index(component->wholes, Whole, w).at);
  g_array_unref(component->wholes);
  g_array_unref(component->numbers);
  g_free(component->at);
}

static double weight_of(const LgSearch *search, const GArray *numbers, const int at[])
{
  double kg = 0;
  for (guint i = 0; i < numbers->len; i++)
    kg += lg_choice(search, lg_int_at(numbers, i))->kg[at[lg_int_at(numbers, i)]];
  return kg;
}

/* Components, each with what it must weigh when alone as its cap; *alone_kg: their sum. */
static GArray *list_components(const LgSearch *search, const gboolean is_root[], const int alone[],
                               double *alone_kg)
{
  GArray *const components = g_array_new(FALSE, FALSE, sizeof(Component));
  g_array_set_clear_func(components, clear_component);
  *alone_kg = 0;
  for (guint root = 0; root < search->choices->len; root++) {
    if (!is_root[root])
      continue;
    Component component = {.root = (int)root,
                           .numbers = g_array_new(FALSE, FALSE, sizeof(int)),
                           .wholes = g_array_new(FALSE, FALSE, sizeof(Whole))};
    for (int i = 0; i < (int)search->choices->len; i++)
      if (lg_search_has(search, i, (int)root))
        g_array_append_val(component.numbers, i);
    component.at = g_new0(int, component.numbers->len + 1);
    component.cap_kg = weight_of(search, component.numbers, alone);
    *alone_kg += component.cap_kg;
    g_array_append_val(components, component);
  }
  return components;
}

/* The components' answers do not stand together as they stand alone (`alone`): every choice of each
 * that is lighter than what stands together (search->at) leaves room for is weighed with those of
 * the others. FALSE when there are too many. */
static gboolean weigh_together(LgSearch *search, const gboolean is_root[], const int alone[])
{
  double alone_kg, joint_kg = 0;
  g_autoptr(GArray) components = list_components(search, is_root, alone, &alone_kg);
  memcpy(search->best, search->at, sizeof(int) * search->choices->len);
  for (guint c = 0; c < components->len; c++)
    joint_kg += weight_of(search, g_array_index(components, Component, c).numbers, search->at);
  search->best_kg = joint_kg;
  search->nodes = search->solved = 0;
  gboolean all = TRUE;
  for (guint c = 0; all && c < components->len; c++) {
    Component *const component = &g_array_index(components, Component, c);
    component->cap_kg = (component->cap_kg + joint_kg - alone_kg) * (1 + 1e-12);
    list_wholes(search, component, 0, 0);
    g_array_sort(component->wholes, by_weight);
    all = component->wholes->len > 0;
  }
  if (all)
    try_wholes(search, components, 0, 0);
  memcpy(search->at, search->best, sizeof(int) * search->choices->len);
  search->sizer->least_kg += search->best_kg - alone_kg;
  return all && search->nodes <= LG_MOST_NODES && search->solved <= LG_MOST_SOLVED;
}

#define MOST_ROUNDS 10

/* Each component first with all others at their least, which gives a lower bound; then those again
 * that the others' thicker wires break, until all stand together. Where that weighs more than the
 * bound, the choices between are weighed one and all. */
void lg_search_components(LgSearch *search)
{
  LgSizer *const sizer = search->sizer;
  const guint n = search->choices->len;
  g_autofree int *alone = g_new0(int, n + 1);
  g_autofree gboolean *is_root = g_new0(gboolean, n + 1);
  for (guint root = 0; root < n; root++) {
    is_root[root] = lg_search_has(search, (int)root, (int)root);
    if (!is_root[root])
      continue;
    double floor_kg;
    memset(search->at, 0, sizeof(int) * n);
    sizer->exhausted &= lg_search_solve(search, (int)root, &floor_kg);
    sizer->least_kg += isfinite(floor_kg) ? floor_kg : 0;
    for (guint i = 0; i < n; i++)
      if (lg_search_has(search, (int)i, (int)root))
        alone[i] = search->at[i];
  }
  memcpy(search->at, alone, sizeof(int) * n);
  gboolean changed = TRUE, together = TRUE;
  for (int round = 0; changed && round < MOST_ROUNDS; round++) {
    changed = FALSE;
    for (guint root = 0; root < n; root++) {
      double floor_kg;
      if (!is_root[root] || lg_search_keeps(search, (int)root))
        continue;
      changed = TRUE;
      together = FALSE;
      lg_search_solve(search, (int)root, &floor_kg);
    }
  }
  if (together || !sizer->exhausted)
    return;
  const double least_kg = sizer->least_kg;
  if (!weigh_together(search, is_root, alone)) {
    sizer->exhausted = FALSE;
    sizer->least_kg = least_kg;
  }
}
