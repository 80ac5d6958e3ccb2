/* Suspects and measurements in plain words. */
#include "base/words.h"
#include "studies/locate-private.h"

static const char *element_name(const LgJob *job, int element)
{
  const LgElement *const e = &job->elements[element];
  const LgPart *const part = &job->parts[e->part];
  return part->n_elements == 1 && part->type != NULL ? part->name : e->name;
}

/* " (blows F2)" for a short. */
static char *blown_words(const LgLocator *l, const LgSuspect *suspect)
{
  const LgRow *const row = &g_array_index(l->rows, LgRow, suspect->first);
  GString *const words = g_string_new(NULL);
  for (int e = 0; e < l->job->n_elements; e++) {
    if (!lg_element_is_protection(l->job->elements[e].kind) || l->stage->n[e] == 0)
      continue;
    for (int c = 0; c < row->n; c++) {
      const LgChange *const change = &g_array_index(l->changes, LgChange, row->first + c);
      if (change->kind == LG_CHANGE_OPEN && change->branch == l->stage->first[e])
        g_string_append_printf(words, "%s%s", words->len == 0 ? T_(", which blew ") : " and ",
                               element_name(l->job, e));
    }
  }
  return g_string_free(words, FALSE);
}

char *lg_suspect_words(const LgLocator *l, int index)
{
  const LgJob *const job = l->job;
  const LgSuspect *const s = &g_array_index(l->suspects, LgSuspect, index);
  switch (s->kind) {
  case LG_SUSPECT_HEALTHY:
    return g_strdup(T_("nothing is wrong"));
  case LG_SUSPECT_FAILURE: {
    g_autofree char *words = lg_failure_words(job, &s->failure), *blown = blown_words(l, s);
    return g_strconcat(words, blown, NULL);
  }
  case LG_SUSPECT_BLOWN:
    return g_strdup_printf(job->elements[s->element].kind == LG_EL_FUSE
                               ? T_("%s blown or not seated")
                               : T_("%s tripped"),
                           element_name(job, s->element));
  case LG_SUSPECT_WIRE_OHM:
    return g_strdup_printf(T_("resistance in %s or a joint at its ends (%s, %s)"),
                           job->wires[s->wire].name, job->pins[job->wires[s->wire].pin[0]].name,
                           job->pins[job->wires[s->wire].pin[1]].name);
  case LG_SUSPECT_JOINT_OHM: {
    const LgElementKind kind = job->elements[s->element].kind;
    return g_strdup_printf(kind == LG_EL_CHASSIS            ? T_("%s poor on the body")
                           : lg_element_is_protection(kind) ? T_("%s loose in its holder")
                                                            : T_("%s burnt or dirty"),
                           element_name(job, s->element));
  }
  case LG_SUSPECT_WORN:
    return g_strdup_printf(T_("%s worn or the wrong one"), element_name(job, s->element));
  case LG_SUSPECT_WEAK:
    return g_strdup_printf(T_("%s weak"), element_name(job, s->element));
  case LG_N_SUSPECT_KINDS:
    break;
  }
  g_assert_not_reached();
}

static char *sized_words(const LgLocator *l, int suspect, double size)
{
  const LgSuspect *const s = &g_array_index(l->suspects, LgSuspect, suspect);
  g_autofree char *words = lg_suspect_words(l, suspect);
  if (isnan(size))
    return g_steal_pointer(&words);
  if (s->kind == LG_SUSPECT_WORN)
    return g_strdup_printf(T_("%s: takes %.0f %% of its current"), words, 100 * size);
  if (s->kind == LG_SUSPECT_WEAK)
    return g_strdup_printf(T_("%s: %.0f %% of its volts"), words, 100 * size);
  g_autofree char *ohm = lg_quantity_print(size, LG_DIM_RESISTANCE, l->job->habit, 2);
  return g_strdup_printf(T_("%s: %s too much"), words, ohm);
}

char *lg_verdict_words(const LgLocator *l, const LgVerdict *verdict)
{
  const LgSuspect *const s = &g_array_index(l->suspects, LgSuspect, verdict->suspect);
  if (s->pair[0] < 0)
    return sized_words(l, verdict->suspect, verdict->size);
  g_autofree char *a = sized_words(l, s->pair[0], s->pair_size[0]),
                  *b = sized_words(l, s->pair[1], s->pair_size[1]);
  return g_strdup_printf(T_("%s; and %s"), a, b);
}

static char *state_words(const LgLocator *l, const int position[])
{
  g_autofree guint8 *copy = g_new(guint8, (gsize)l->job->n_inputs + 1);
  for (int i = 0; i < l->job->n_inputs; i++)
    copy[i] = (guint8)position[i];
  return lg_state_words(l->job, copy);
}

char *lg_probing_words(const LgLocator *l, const LgProbing *probing)
{
  g_autofree char *state = state_words(l, probing->position);
  if (probing->kind == LG_SIGN_RUNS)
    return g_strdup_printf(T_("see whether %s runs, with %s"), element_name(l->job, probing->load),
                           state);
  const char *const red = l->job->pins[probing->pin[0]].name, *const black =
                                                                  l->job->pins[probing->pin[1]]
                                                                      .name;
  if (probing->kind == LG_SIGN_VOLTS)
    return g_strdup_printf(T_("volts, red lead on %s, black on %s, with %s"), red, black, state);
  return g_strdup_printf(T_("battery's minus off, nothing live: ohms, red lead on %s, black on %s, "
                            "switches as for %s"),
                         red, black, state);
}
