/* Circuits, one row a load, and the needs. */
#include "base/words.h"
#include "packet/tables-private.h"
#include <math.h>
#include <string.h>

static const LgColumn circuit_columns[] = {
    LG_TEXT_COLUMN("load", "Load"),
    LG_TEXT_COLUMN("what", "What it does"),
    LG_TEXT_COLUMN("fed_by", "Fed by"),
    LG_TEXT_COLUMN("fuse", "Fuse"),
    LG_TEXT_COLUMN("switched_by", "Switched by"),
    LG_NUMBER_COLUMN("most_A", "Lasting", LG_DIM_CURRENT, 3),
    LG_NUMBER_COLUMN("start_A", "Start", LG_DIM_CURRENT, 3),
    LG_NUMBER_COLUMN("least_V", "Least volts", LG_DIM_VOLTAGE, 3),
    LG_NUMBER_COLUMN("drop_feed_V", "Lost in feed", LG_DIM_VOLTAGE, 2),
    LG_NUMBER_COLUMN("drop_return_V", "Lost in return", LG_DIM_VOLTAGE, 2),
    LG_TEXT_COLUMN("path", "Path of the current, in order"),
    LG_COLUMNS_END,
};

/* Adds a name that is not there yet. */
static void add_once(GPtrArray *names, const char *name)
{
  if (!g_ptr_array_find_with_equal_func(names, name, g_str_equal, NULL))
    g_ptr_array_add(names, (gpointer)name);
}

static char *joined(GPtrArray *names)
{
  g_ptr_array_add(names, NULL);
  return g_strjoinv(", ", (char **)names->pdata);
}

static char *fuses_on_path(const LgPaths *paths, int element)
{
  const LgJob *const job = paths->sizing->circuit->job;
  const GArray *const path = paths->path[element];
  g_autoptr(GPtrArray) names = g_ptr_array_new();
  for (guint i = 0; path != NULL && i < path->len; i++) {
    const LgStep step = g_array_index(path, LgStep, i);
    if (!step.is_wire && lg_element_is_protection(job->elements[step.index].kind))
      add_once(names, lg_words_name(job, step.index));
  }
  return joined(names);
}

/* Parts whose hand, call or output contacts lie on the way to a relay's coil. */
static char *works_coil(const LgPaths *paths, int coil)
{
  const LgJob *const job = paths->sizing->circuit->job;
  const GArray *const path = paths->path[coil];
  g_autoptr(GPtrArray) names = g_ptr_array_new();
  for (guint i = 0; path != NULL && i < path->len; i++) {
    const LgStep step = g_array_index(path, LgStep, i);
    const LgElement *const e = step.is_wire ? NULL : &job->elements[step.index];
    if (e != NULL && lg_element_is_contact(e->kind))
      add_once(names, job->parts[e->part].name);
  }
  return joined(names);
}

/* "K1 (worked by KEY, S2), S3": a relay with what feeds its coil. */
static char *switched_by(const LgPaths *paths, int element)
{
  const LgJob *const job = paths->sizing->circuit->job;
  const GArray *const path = paths->path[element];
  g_autoptr(GString) words = g_string_new(NULL);
  g_autoptr(GHashTable) seen = g_hash_table_new(NULL, NULL);
  for (guint i = 0; path != NULL && i < path->len; i++) {
    const LgStep step = g_array_index(path, LgStep, i);
    const LgElement *const e = step.is_wire ? NULL : &job->elements[step.index];
    if (e == NULL || !lg_element_is_contact(e->kind) ||
        !g_hash_table_add(seen, GINT_TO_POINTER(e->part + 1)))
      continue;
    const char *const name = job->parts[e->part].name;
    g_autofree char *works = e->by >= 0 ? works_coil(paths, e->by) : g_strdup("");
    g_autofree char *one =
        works[0] != '\0' ? g_strdup_printf(T_("%s (worked by %s)"), name, works) : g_strdup(name);
    lg_words_add(words, ", ", one);
  }
  if (words->len == 0)
    g_string_append(words, path == NULL ? "" : T_("nothing: always on"));
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static const char *fed_by(const LgPaths *paths, int element)
{
  const LgJob *const job = paths->sizing->circuit->job;
  const GArray *const path = paths->path[element];
  if (path == NULL || path->len == 0)
    return T_("no current in any state");
  const LgStep first = g_array_index(path, LgStep, 0);
  return !first.is_wire && lg_element_is_source(job->elements[first.index].kind)
             ? job->parts[job->elements[first.index].part].name
             : LG_GAP;
}

/* A resistor that never passes more serves a signal and is no load. Common practice, no source. */
#define SIGNAL_A 10e-3

LgTable *lg_table_circuits(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  g_autoptr(LgPaths) paths = lg_paths_new(sizing);
  LgTable *const table = lg_table_new("circuits", T_("Circuits"), circuit_columns);
  for (int e = 0; e < job->n_elements; e++) {
    const LgElementStates *const states = &sizing->states->elements[e];
    if (!lg_element_is_load(job->elements[e].kind) ||
        (job->elements[e].kind == LG_EL_RESISTOR && !(states->most_A.value > SIGNAL_A)))
      continue;
    g_autofree char *fuses = fuses_on_path(paths, e);
    g_autofree char *switches = switched_by(paths, e);
    g_autofree char *path = lg_paths_words(paths, e);
    lg_table_add(table, job->elements[e].name, lg_words_element(job, e), fed_by(paths, e),
                 fuses[0] == '\0' && paths->path[e] != NULL ? T_("none") : fuses, switches,
                 states->most_A.value, fmax(states->most_A.value, states->start_A.value),
                 states->least_V.value, states->drop_feed_V.value, states->drop_return_V.value,
                 path);
  }
  table->note =
      table->n_rows == 0
          ? g_strdup(T_("The sheet has no load."))
          : g_strdup(T_("Least volts: across the load while it is on, in the worst lasting state. "
                        "Losses on the way to it and back, where their sum is greatest. Wires and "
                        "coils at the hottest of their place."));
  return table;
}

static const LgColumn need_columns[] = {
    LG_TEXT_COLUMN("need", "What must hold"),
    LG_TEXT_COLUMN("target", "At"),
    LG_TEXT_COLUMN("limit", "Limit"),
    LG_TEXT_COLUMN("when", "When"),
    LG_TEXT_COLUMN("worst", "Worst found"),
    LG_TEXT_COLUMN("state", "In the state"),
    LG_FLAG_COLUMN("holds", "Holds"),
    LG_NUMBER_COLUMN("states", "States tried", LG_DIM_NONE, 9),
    LG_COLUMNS_END,
};

static const char *target_name(const LgJob *job, const LgNeed *need)
{
  switch (need->target) {
  case LG_TARGET_PIN:
    return job->pins[need->index].name;
  case LG_TARGET_ELEMENT:
    return job->elements[need->index].name;
  case LG_TARGET_WIRE:
    break;
  }
  return job->wires[need->index].name;
}

/* "KEY=on S2=low,high" */
static char *condition_words(const LgJob *job, const LgCondition when[], int n_when)
{
  g_autoptr(GString) words = g_string_new(NULL);
  for (int i = 0; i < n_when; i++) {
    const LgInput *const input = &job->inputs[when[i].input];
    g_autoptr(GString) one = g_string_new(NULL);
    for (int p = 0; p < input->n_positions; p++)
      if (when[i].positions >> p & 1)
        lg_words_add(one, ",", input->positions[p]);
    g_autofree char *setting = g_strdup_printf("%s=%s", input->name, one->str);
    lg_words_add(words, " ", setting);
  }
  return words->len > 0 ? g_string_free(g_steal_pointer(&words), FALSE) : g_strdup(T_("always"));
}

LgTable *lg_table_needs(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  LgTable *const table = lg_table_new("needs", T_("Needs"), need_columns);
  for (int i = 0; i < job->n_needs; i++) {
    const LgNeedStates *const found = &sizing->states->needs[i];
    const LgNeed *const need = &job->needs[found->need];
    const LgDim dim = lg_limit_dims[need->measure];
    g_autofree char *limit = lg_words_quantity(job, need->limit, dim);
    g_autofree char *bound =
        g_strdup_printf("%s %s %s", lg_limit_words[need->measure],
                        need->relation == '<' ? T_("under") : T_("over"), limit);
    g_autofree char *when = condition_words(job, need->when, need->n_when);
    g_autofree char *worst = isnan(found->worst.value)
                                 ? g_strdup(T_("never met"))
                                 : lg_words_quantity(job, found->worst.value, dim);
    g_autofree char *state =
        found->worst.state < 0
            ? g_strdup("")
            : lg_state_words(job, lg_states_position(sizing->states, found->worst.state));
    lg_table_add(table, need->text, target_name(job, need), bound, when, worst, state, found->holds,
                 (double)found->n_tried);
  }
  table->note = job->n_needs == 0
                    ? g_strdup(T_("The sheet states no needs."))
                    : g_strdup(T_("Each was looked at in every state that its condition allows."));
  return table;
}
