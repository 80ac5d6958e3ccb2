/* A fault put in by hand: which there are on a thing, and what one does in the state that is
 * shown. */
#include "api/live-private.h"
#include "base/words.h"
#include <math.h>
#include <string.h>

/* Part of a key, so that it stays when the words change. */
static const char *const kind_keys[LG_N_FAILURE_KINDS] = {
    "open",        "to-body",   "to-plus",     "bridged",        "ground-lost", "welded",
    "stuck-open",  "coil-open", "sensor-open", "sensor-shorted", "load-open",   "load-shorted",
    "fuse-larger", "moved",     "reversed",    "battery-off",    "turned"};

static char *key_of(const LgJob *job, const LgFailure *fault)
{
  GString *const key = g_string_new(kind_keys[fault->kind]);
  if (fault->wire >= 0)
    g_string_append_printf(key, ":%s", job->wires[fault->wire].name);
  if (fault->element >= 0)
    g_string_append_printf(key, ":%s", job->elements[fault->element].name);
  for (int k = 0; k < 2; k++)
    if (fault->pin[k] >= 0)
      g_string_append_printf(key, ":%s", job->pins[fault->pin[k]].name);
  if (!isnan(fault->rating_A)) {
    g_autofree char *rating = lg_number_print(fault->rating_A, 6);
    g_string_append_printf(key, ":%s", rating);
  }
  return g_string_free(key, FALSE);
}

/* Made when the first fault is asked for. */
static void list_faults(LgLive *live)
{
  if (live->faults != NULL)
    return;
  live->faults = lg_failure_list(live->sizing);
  live->fault_keys = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  for (guint i = 0; i < live->faults->len; i++)
    g_hash_table_insert(live->fault_keys,
                        key_of(live->job, &g_array_index(live->faults, LgFailure, i)),
                        &g_array_index(live->faults, LgFailure, i));
  live->what_if = lg_what_if_new(live->sizing);
}

static gboolean is_at_pin(const LgJob *job, const LgFailure *fault, int pin)
{
  if (fault->pin[0] == pin || fault->pin[1] == pin)
    return TRUE;
  return fault->kind == LG_FAIL_OPEN &&
         (job->wires[fault->wire].pin[0] == pin || job->wires[fault->wire].pin[1] == pin);
}

static gboolean is_in_part(const LgJob *job, const LgFailure *fault, int part)
{
  if (fault->element >= 0 && job->elements[fault->element].part == part)
    return TRUE;
  return fault->kind == LG_FAIL_BRIDGED && job->pins[fault->pin[0]].part == part;
}

static gboolean is_on(const LgJob *job, const LgFailure *fault, LgThingKind thing, int index)
{
  switch (thing) {
  case LG_THING_WIRE:
    return fault->wire == index;
  case LG_THING_ELEMENT:
    return fault->element == index;
  case LG_THING_PIN:
    return is_at_pin(job, fault, index);
  case LG_THING_PART:
    return is_in_part(job, fault, index);
  case LG_N_THINGS:
    break;
  }
  g_assert_not_reached();
}

char *lg_live_faults_json(LgLive *live, const char *kind, const char *name, GError **error)
{
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(live->job->language));
  LgThingKind thing;
  int index;
  if (!lg_live_find(live, kind, name, &thing, &index, error))
    return NULL;
  list_faults(live);
  json_t *const root = json_object(), *const list = json_array();
  for (guint i = 0; i < live->faults->len; i++) {
    const LgFailure *const fault = &g_array_index(live->faults, LgFailure, i);
    if (!is_on(live->job, fault, thing, index))
      continue;
    g_autofree char *key = key_of(live->job, fault);
    g_autofree char *words = lg_failure_words(live->job, fault);
    json_t *const object = json_object();
    json_object_set_new(object, "key", lg_json_text(key));
    json_object_set_new(object, "words", lg_json_text(words));
    json_array_append_new(list, object);
  }
  json_object_set_new(root, "faults", list);
  return lg_json_take(root);
}

/* --- what one does --- */

static char *clears_words(const LgLive *live, const LgEffect *effect)
{
  const LgJob *const job = live->job;
  if (effect->cleared_by < 0)
    return effect->hottest >= 0 && effect->lasting ? g_strdup(T_("nothing opens")) : NULL;
  const LgElement *const guard = &job->elements[effect->cleared_by];
  const char *const name =
      job->parts[guard->part].n_elements == 1 ? job->parts[guard->part].name : guard->name;
  if (isinf(effect->cleared_s))
    return g_strdup_printf(T_("%s is overloaded but may never open"), name);
  g_autofree char *within = lg_quantity_print(effect->cleared_s, LG_DIM_TIME, job->habit, 2);
  return g_strdup_printf(T_("%s opens after %s at the latest"), name, within);
}

/* Sentences of a text; a name in quotes may hold what looks like the end of one. */
static json_t *sentences_json(const char *text)
{
  json_t *const list = json_array();
  const char *begin = text;
  gboolean quoted = FALSE;
  for (const char *c = text; *c != '\0'; c++) {
    quoted ^= *c == '"';
    if (quoted || *c != '.' || (c[1] != ' ' && c[1] != '\0'))
      continue;
    g_autofree char *sentence = g_strndup(begin, (gsize)(c + 1 - begin));
    json_array_append_new(list, lg_json_text(sentence));
    begin = c[1] == ' ' ? c + 2 : c + 1;
  }
  if (*begin != '\0')
    json_array_append_new(list, lg_json_text(begin));
  return list;
}

json_t *lg_live_put_fault(LgLive *live, const char *key, GError **error)
{
  static const char *const grades[LG_N_SEVERITIES] = {"danger", "fault", "caution", "harmless"};
  list_faults(live);
  const LgFailure *const fault = g_hash_table_lookup(live->fault_keys, key);
  if (fault == NULL) {
    g_set_error(error, LG_ERROR, LG_ERROR_CALL, "there is no fault `%s` in this sheet", key);
    return NULL;
  }
  LgFaultView view;
  lg_what_if_look(live->what_if, fault, live->point, &view);
  json_t *const object = json_object(), *const opened = json_array();
  g_autofree char *words = lg_failure_words(live->job, fault);
  g_autofree char *clears = clears_words(live, &view.effect);
  g_autofree char *what = lg_effect_words(live->sizing, &view.effect);
  for (int i = 0; i < view.n_opened; i++)
    json_array_append_new(opened, lg_json_text(live->job->elements[view.opened[i]].name));
  json_object_set_new(object, "key", lg_json_text(key));
  json_object_set_new(object, "words", lg_json_text(words));
  json_object_set_new(object, "grade", json_string(grades[view.effect.severity]));
  json_object_set_new(object, "clears", lg_json_text(clears));
  json_object_set_new(object, "opened", opened);
  json_object_set_new(object, "short_A", lg_json_number(view.effect.short_A));
  json_object_set_new(object, "what", sentences_json(what));
  lg_effect_clear(&view.effect);
  return object;
}
