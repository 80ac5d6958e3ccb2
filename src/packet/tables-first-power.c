/* First power: one circuit after the other on a supply with a current limit, the smallest first. */
#include "base/words.h"
#include "packet/tables-private.h"
#include <math.h>
#include <string.h>

static const LgColumn power_columns[] = {
    LG_NUMBER_COLUMN("step", "Step", LG_DIM_NONE, 4),
    LG_TEXT_COLUMN("circuit", "Circuit"),
    LG_TEXT_COLUMN("fuses", "Fuses in, no others"),
    LG_TEXT_COLUMN("set", "Set"),
    LG_TEXT_COLUMN("limit", "Limit"),
    LG_TEXT_COLUMN("expected", "Expect"),
    LG_TEXT_COLUMN("watch", "Watch"),
    LG_COLUMNS_END,
};
static const LgColumn whole_columns[] = {
    LG_NUMBER_COLUMN("step", "Step", LG_DIM_NONE, 4),
    LG_TEXT_COLUMN("circuit", "Circuit"),
    LG_TEXT_COLUMN("fuses", "Fuses in, no others"),
    LG_TEXT_COLUMN("set", "Set"),
    LG_TEXT_COLUMN("limit", "Limit"),
    LG_TEXT_COLUMN("expected", "Expect"),
    LG_TEXT_COLUMN("watch", "Watch"),
    LG_ASK_COLUMNS,
    LG_COLUMNS_END,
};

/* A bench supply that people have. Above it the limit is the fuse. Common practice, no source. */
#define BENCH_A 10
#define LEAST_LIMIT_A 0.1

/* Half as much again as expected, to the next figure that a knob shows. */
static double limit_for(double expected_A)
{
  static const double knob_A[] = {0.1, 0.2, 0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30};
  const double wanted_A = fmax(1.5 * expected_A, LEAST_LIMIT_A);
  for (gsize i = 0; i < G_N_ELEMENTS(knob_A); i++)
    if (knob_A[i] >= wanted_A - 1e-9)
      return knob_A[i];
  return ceil(wanted_A / 10) * 10;
}

/* One circuit: the load, the state that shows it, and what it and the coils before it draw. */
typedef struct {
  int element, state;
  double draw_A;
} Circuit;

static int compare_circuits(gconstpointer a, gconstpointer b)
{
  const Circuit *const u = a, *const v = b;
  if (u->draw_A != v->draw_A)
    return u->draw_A < v->draw_A ? -1 : 1;
  return u->element - v->element;
}

/* Coils behind coils are rare; deeper than this they would go in rings. */
#define DEEPEST 4

/* The fuses that its current, and that of the coils which switch it, passes. */
static void fuses_of(const LgPaths *paths, int element, int depth, GPtrArray *names)
{
  const LgJob *const job = paths->sizing->circuit->job;
  const GArray *const path = paths->path[element];
  for (guint i = 0; path != NULL && i < path->len; i++) {
    const LgStep step = g_array_index(path, LgStep, i);
    if (step.is_wire)
      continue;
    const LgElement *const e = &job->elements[step.index];
    const char *const name = lg_words_name(job, step.index);
    if (lg_element_is_protection(e->kind) &&
        !g_ptr_array_find_with_equal_func(names, name, g_str_equal, NULL))
      g_ptr_array_add(names, (gpointer)name);
    if (e->by >= 0 && depth < DEEPEST)
      fuses_of(paths, e->by, depth + 1, names);
  }
}

/* Greatest lasting currents of the coils that switch it. */
static double coils_of(const LgPaths *paths, int element, int depth)
{
  const LgJob *const job = paths->sizing->circuit->job;
  const GArray *const path = paths->path[element];
  double sum_A = 0;
  for (guint i = 0; path != NULL && i < path->len; i++) {
    const LgStep step = g_array_index(path, LgStep, i);
    const int by = step.is_wire ? -1 : job->elements[step.index].by;
    if (by < 0 || depth >= DEEPEST)
      continue;
    const double coil_A = paths->sizing->states->elements[by].most_A.value;
    sum_A += (isnan(coil_A) ? 0 : coil_A) + coils_of(paths, by, depth + 1);
  }
  return sum_A;
}

static char *words_fuses(const LgPaths *paths, int element)
{
  g_autoptr(GPtrArray) names = g_ptr_array_new();
  fuses_of(paths, element, 0, names);
  g_autoptr(GString) words = g_string_new(NULL);
  for (guint i = 0; i < names->len; i++)
    lg_words_add(words, ", ", names->pdata[i]);
  return words->len > 0 ? g_string_free(g_steal_pointer(&words), FALSE)
                        : g_strdup(T_("none on it"));
}

/* The inputs to set; an alternator stands still on a supply. */
static char *words_set(const LgSizing *sizing, int state)
{
  const LgJob *const job = sizing->circuit->job;
  const guint8 *const position = lg_states_position(sizing->states, state);
  g_autofree guint8 *still = g_memdup2(position, (gsize)job->n_inputs);
  for (int i = 0; i < job->n_inputs; i++)
    if (lg_input_is_charger(job, i))
      still[i] = 0;
  return lg_state_words(job, still);
}

static char *watch_of(const LgSizing *sizing, int e, double limit_A)
{
  const LgJob *const job = sizing->circuit->job;
  const LgElement *const element = &job->elements[e];
  const LgElementStates *const states = &sizing->states->elements[e];
  g_autoptr(GString) words = g_string_new(NULL);
  if (lg_element_is_motor(element->kind) && states->start_A.value > limit_A)
    g_string_append(words, T_("it starts slowly or not at all at this limit: raise it for a second "
                              "once it turns free; both directions, to the end stops"));
  else if (lg_element_is_motor(element->kind))
    g_string_append(words, T_("turns the right way; to its end stops"));
  else if (element->kind == LG_EL_HEATER)
    g_string_append(
        words,
        T_("warms evenly within two minutes; hand on it, no smell; its sensor must cut it off"));
  else if (element->kind == LG_EL_LAMP)
    g_string_append(words, T_("lights; cold it draws several times as much for a moment"));
  else
    g_string_append(words, T_("works; nothing else wakes"));
  if (limit_A > BENCH_A)
    g_string_append(words, T_("; more than a small supply gives: last of all, on its fuse"));
  return g_string_free(g_steal_pointer(&words), FALSE);
}

/* What passes no more serves a signal. Common practice, no source. */
#define SIGNAL_A 10e-3

/* Loads of parts that this job adds or joins; the vehicle's own have run before. */
static gboolean is_ours(const LgJob *job, int e)
{
  return lg_element_is_load(job->elements[e].kind) &&
         job->parts[job->elements[e].part].is != LG_IS_HOST;
}

static GArray *circuits_of(const LgSizing *sizing, const LgPaths *paths)
{
  const LgJob *const job = sizing->circuit->job;
  GArray *const circuits = g_array_new(FALSE, FALSE, sizeof(Circuit));
  for (int e = 0; e < job->n_elements; e++) {
    const LgExtreme most = sizing->states->elements[e].most_A;
    if (!is_ours(job, e) || most.state < 0 || !(most.value > SIGNAL_A))
      continue;
    const Circuit circuit = {e, most.state, most.value + coils_of(paths, e, 0)};
    g_array_append_val(circuits, circuit);
  }
  g_array_sort(circuits, compare_circuits);
  return circuits;
}

static char *words_amps(const LgJob *job, double amps)
{
  return isnan(amps) ? NULL : lg_quantity_print(amps, LG_DIM_CURRENT, job->habit, 2);
}

static void add(LgTable *table, const LgJob *job, const char *circuit, const char *fuses,
                const char *set, double limit_A, double expected_A, const char *watch)
{
  g_autofree char *limit = words_amps(job, limit_A), *expected = words_amps(job, expected_A);
  /* The supply's current is not the battery's, so no pins: up to the limit it is as it should be.
   */
  const LgAsk ask =
      isnan(limit_A) ? LG_ASKS_NOTHING : (LgAsk){"current", -1, -1, 0, limit_A, FALSE};
  lg_table_add(table, (double)(table->n_rows + 1), circuit, fuses, set, limit, expected, watch,
               LG_ASK_CELLS(job, ask, ""));
}

static double rest_of(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  double rest_A = 0;
  for (int e = 0; e < job->n_elements; e++)
    if (is_ours(job, e) && !isnan(sizing->states->elements[e].rest_A.value))
      rest_A += fabs(sizing->states->elements[e].rest_A.value);
  return rest_A < 1e-9 ? 0 : rest_A;
}

static void add_circuit(LgTable *table, const LgSizing *sizing, const LgPaths *paths,
                        const Circuit *circuit)
{
  const LgJob *const job = sizing->circuit->job;
  const LgElement *const element = &job->elements[circuit->element];
  g_autofree char *name =
      g_strdup_printf("%s, %s", element->name, lg_words_element(job, circuit->element));
  g_autofree char *fuses = words_fuses(paths, circuit->element);
  g_autofree char *set = words_set(sizing, circuit->state);
  const double limit_A = limit_for(circuit->draw_A);
  g_autofree char *watch = watch_of(sizing, circuit->element, limit_A);
  add(table, job, name, fuses, set, limit_A,
      sizing->states->elements[circuit->element].most_A.value, watch);
}

LgTable *lg_steps_first_power(const LgSizing *sizing)
{
  LgTable *const table =
      lg_table_new("first-power", T_("First power, circuit by circuit"), whole_columns);
  g_autoptr(LgPaths) paths = lg_paths_new(sizing);
  g_autoptr(GArray) circuits = circuits_of(sizing, paths);
  const LgJob *const job = sizing->circuit->job;
  g_autofree char *nominal = lg_number_print(job->nominal_V, 3);
  g_autofree char *supply =
      g_strdup_printf(T_("supply at %s V in place of the battery's %s lead, its %s on the body"),
                      nominal, job->positive_ground ? T_("minus") : T_("plus"),
                      job->positive_ground ? T_("plus") : T_("minus"));
  add(table, job, supply, T_("none"), T_("everything at rest"), 0.5, 0,
      T_("volts stay up; the limit lamp stays dark. If not: off, find the short"));
  const double rest_A = rest_of(sizing);
  add(table, job, T_("rest"), T_("all new ones"), T_("everything at rest"), limit_for(rest_A),
      rest_A, T_("nothing moves, lights or warms"));
  for (guint i = 0; i < circuits->len; i++)
    add_circuit(table, sizing, paths, &g_array_index(circuits, Circuit, i));
  add(table, job, T_("all together, on the battery"), T_("all"),
      T_("each function, then several at once"), NAN, NAN,
      T_("readings under load by their own sheet; after 15 minutes no joint more than warm"));
  table->note = g_strdup(
      T_("The vehicle's battery stays off until the last step; extinguisher at hand. Limit: half "
         "as much again as the load and the coils before it draw, to the next mark of the knob. If "
         "the supply goes into its limit: off, back to the sheet before first power. Restraint "
         "plugs stay apart and untouched. Expect: the load's own greatest lasting current."));
  return table;
}

LgTable *lg_table_first_power(const LgSizing *sizing)
{
  return lg_table_for_people(lg_steps_first_power(sizing), power_columns);
}
