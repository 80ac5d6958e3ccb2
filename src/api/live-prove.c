/* Remedies, each tried before it is named: the edit is made in memory, and the sheet read, sized
 * and checked again. */
#include "api/live-private.h"
#include "base/words.h"
#include "packet/tables-private.h"
#include "studies/mend.h"
#include <math.h>
#include <string.h>

enum { MOST_PROVEN = 4, MOST_TRIED = 32, MOST_CHANGES_TOLD = 12 };

#define COPPER_KG_M3 8960.0 /* handbooks */

static int finding_named(const LgLive *live, const char *id)
{
  for (guint i = 0; i < live->subjects->len; i++)
    if (strcmp(g_array_index(live->subjects, LgSubject, i).id, id) == 0)
      return (int)i;
  return -1;
}

/* --- what else it changes --- */

static double copper_kg(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  double sum = 0;
  for (int w = 0; w < job->n_wires; w++)
    if (lg_wire_is_cut(&job->wires[w]) && !isnan(job->wires[w].length_m))
      sum += sizing->chosen[w]->area_mm2 * 1e-6 * job->wires[w].length_m * COPPER_KG_M3;
  return sum;
}

static void tell(json_t *list, char *words)
{
  if (json_array_size(list) < MOST_CHANGES_TOLD)
    json_array_append_new(list, lg_json_text(words));
  g_free(words);
}

static void tell_sizes(json_t *list, const LgSizing *before, const LgSizing *after)
{
  const LgJob *const a = before->circuit->job, *const b = after->circuit->job;
  for (int w = 0; w < b->n_wires; w++) {
    const int old = lg_job_find_wire(a, b->wires[w].name);
    g_autofree char *now = lg_words_size(after->chosen[w]);
    g_autofree char *was = old >= 0 ? lg_words_size(before->chosen[old]) : NULL;
    if (old < 0)
      tell(list, g_strdup_printf(T_("new wire %s, %s"), b->wires[w].name, now));
    else if (strcmp(now, was) != 0)
      tell(list, g_strdup_printf(T_("%s in %s instead of %s"), b->wires[w].name, now, was));
  }
  for (int w = 0; w < a->n_wires; w++)
    if (lg_job_find_wire(b, a->wires[w].name) < 0)
      tell(list, g_strdup_printf(T_("no wire %s"), a->wires[w].name));
}

static void tell_ratings(json_t *list, const LgSizing *before, const LgSizing *after)
{
  const LgJob *const a = before->circuit->job, *const b = after->circuit->job;
  for (int e = 0; e < b->n_elements; e++) {
    if (!lg_element_is_protection(b->elements[e].kind))
      continue;
    const int old = lg_job_find_element(a, b->elements[e].name);
    const double now_A = after->fuses[e].rating_A,
                 was_A = old >= 0 ? before->fuses[old].rating_A : NAN;
    if (now_A == was_A || (isnan(now_A) && isnan(was_A)))
      continue;
    g_autofree char *now = isnan(now_A) ? g_strdup(T_("no rating")) : lg_words_rating(now_A);
    g_autofree char *was = isnan(was_A) ? g_strdup(T_("none")) : lg_words_rating(was_A);
    tell(list, g_strdup_printf(T_("%s with %s instead of %s"), lg_words_name(b, e), now, was));
  }
}

static void tell_copper(json_t *list, const LgSizing *before, const LgSizing *after)
{
  const double more_kg = copper_kg(after) - copper_kg(before);
  const LgHabit habit = after->circuit->job->habit;
  if (fabs(more_kg) < 0.5e-3)
    return;
  g_autofree char *mass = lg_quantity_print(fabs(more_kg), LG_DIM_MASS, habit, 2);
  tell(list, g_strdup_printf(more_kg > 0 ? T_("%s more copper") : T_("%s less copper"), mass));
}

/* Other findings that go with it, and milder ones that come. */
static void tell_findings(json_t *list, const LgLive *live, guint finding, const LgMended *m)
{
  for (guint i = 0; i < live->findings->len; i++) {
    const LgFinding *const f = live->findings->pdata[i];
    if (i != finding && !lg_findings_have(m->findings, f))
      tell(list,
           g_strdup_printf(T_("also mends %s: %s"), f->subject != NULL ? f->subject : "", f->rule));
  }
  for (guint i = 0; i < m->findings->len; i++) {
    const LgFinding *const f = m->findings->pdata[i];
    if (!lg_findings_have(live->findings, f))
      tell(list, g_strdup_printf(T_("then %s %s: %s"), T_(lg_grade_word(f->grade)),
                                 f->subject != NULL ? f->subject : "", f->what));
  }
}

static json_t *changes_json(const LgLive *live, guint finding, const LgMended *m)
{
  json_t *const list = json_array();
  tell_sizes(list, live->sizing, m->sizing);
  tell_ratings(list, live->sizing, m->sizing);
  tell_copper(list, live->sizing, m->sizing);
  tell_findings(list, live, finding, m);
  return list;
}

/* --- trying --- */

static gboolean helps(const LgLive *live, guint finding, LgMended *m)
{
  lg_mended_check(m);
  return !lg_findings_have(m->findings, live->findings->pdata[finding]) &&
         lg_findings_new_against(m->findings, live->findings) == NULL;
}

static json_t *remedy_json(const LgLive *live, guint finding, const LgCandidate *candidate,
                           const LgMended *m)
{
  json_t *const object = json_object();
  json_object_set_new(object, "words", lg_json_text(candidate->words));
  json_object_set(object, "edits", candidate->edits);
  json_object_set_new(object, "gone", json_true());
  json_object_set_new(object, "new", json_array());
  json_object_set_new(object, "changes", changes_json(live, finding, m));
  return object;
}

/* NULL when it does not help. `tried` remembers texts, as two ways may come to the same. */
static json_t *try_one(const LgLive *live, guint finding, const LgCandidate *candidate,
                       GHashTable *tried)
{
  char *const dumped = json_dumps(candidate->edits, JSON_COMPACT);
  GBytes *text = lg_job_sheet_edit(live->sheet, dumped, NULL);
  free(dumped);
  if (text == NULL || g_hash_table_contains(tried, text) ||
      g_bytes_equal(text, lg_sheet_bytes(live->job->sheet))) {
    g_clear_pointer(&text, g_bytes_unref);
    return NULL;
  }
  g_hash_table_add(tried, text);
  LgMended m;
  if (!lg_mended_init(&m, live->job, text))
    return NULL;
  json_t *const remedy =
      helps(live, finding, &m) ? remedy_json(live, finding, candidate, &m) : NULL;
  lg_mended_clear(&m);
  return remedy;
}

char *lg_live_prove_json(LgLive *live, const char *finding, GError **error)
{
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(live->job->language));
  const int index = finding_named(live, finding);
  if (index < 0) {
    g_set_error(error, LG_ERROR, LG_ERROR_CALL, "there is no finding `%s` in this edition",
                finding);
    return NULL;
  }
  g_autoptr(GArray) candidates = lg_live_candidates(live, (guint)index);
  g_autoptr(GHashTable) tried =
      g_hash_table_new_full(g_bytes_hash, g_bytes_equal, (GDestroyNotify)g_bytes_unref, NULL);
  json_t *const root = json_object(), *const list = json_array();
  for (guint i = 0; i < candidates->len && json_array_size(list) < MOST_PROVEN &&
                    g_hash_table_size(tried) < MOST_TRIED;
       i++) {
    json_t *const remedy =
        try_one(live, (guint)index, &g_array_index(candidates, LgCandidate, i), tried);
    if (remedy != NULL)
      json_array_append_new(list, remedy);
  }
  json_object_set_new(root, "remedies", list);
  json_object_set_new(root, "tried", json_integer((json_int_t)g_hash_table_size(tried)));
  return lg_json_take(root);
}
