/* The check's findings, each with a name that stays and the thing that it is about. */
#include "api/live-private.h"
#include "base/words.h"
#include <string.h>

int lg_live_record_at(const LgJob *job, int line)
{
  int found = -1;
  for (guint i = 0; line > 0 && i < lg_sheet_n_records(job->sheet); i++) {
    const LgRecord *const record = lg_sheet_record(job->sheet, i);
    if (record->origin.line <= line && (record->variant == 0 || record->variant == job->variant) &&
        (found < 0 ||
         record->origin.line >= lg_sheet_record(job->sheet, (guint)found)->origin.line))
      found = (int)i;
  }
  return found;
}

/* The thing of that name, the smallest first. */
static gboolean find_thing(const LgJob *job, const char *name, gboolean is_wire, LgSubject *subject)
{
  const int wire = is_wire ? lg_job_find_wire(job, name) : -1, pin = lg_job_find_pin(job, name),
            element = lg_job_find_element(job, name), part = lg_job_find_part(job, name);
  if (wire >= 0) {
    subject->kind = lg_thing_words[LG_THING_WIRE];
    subject->name = job->wires[wire].name;
  } else if (pin >= 0) {
    subject->kind = lg_thing_words[LG_THING_PIN];
    subject->name = job->pins[pin].name;
  } else if (element >= 0) {
    subject->kind = lg_thing_words[LG_THING_ELEMENT];
    subject->name = job->elements[element].name;
  } else if (part >= 0) {
    subject->kind = lg_thing_words[LG_THING_PART];
    subject->name = job->parts[part].name;
  } else {
    return FALSE;
  }
  return TRUE;
}

static gboolean is_thing_record(LgKind kind)
{
  return kind == LG_KIND_WIRE || kind == LG_KIND_PART || kind == LG_KIND_PIN ||
         kind == LG_KIND_ELEMENT;
}

/* The same up to the name. */
static gboolean starts_as(const char *text, const char *format)
{
  return strncmp(text, format, strcspn(format, "%")) == 0;
}

/* The last name in "pins 30, 87 of K1", "wire W3", "load M1.pump"; else what its line defines. */
static LgSubject subject_of(const LgJob *job, const LgFinding *finding)
{
  LgSubject subject = {.record = lg_live_record_at(job, finding->origin.line)};
  const LgRecord *const record =
      subject.record >= 0 ? lg_sheet_record(job->sheet, (guint)subject.record) : NULL;
  if (record != NULL && !is_thing_record(record->kind)) {
    subject.kind = lg_kinds[record->kind].word;
    subject.name = record->name;
    return subject;
  }
  g_auto(GStrv) words = g_strsplit_set(finding->subject != NULL ? finding->subject : "", " ,", -1);
  const gboolean is_wire = finding->subject != NULL && starts_as(finding->subject, T_("wire %s"));
  for (guint i = g_strv_length(words); i > 0; i--)
    if (find_thing(job, words[i - 1], is_wire, &subject))
      return subject;
  if (record != NULL) {
    subject.kind = lg_kinds[record->kind].word;
    subject.name = record->name;
  }
  return subject;
}

static void clear_subject(gpointer data)
{
  g_free(((LgSubject *)data)->id);
}

void lg_live_name_findings(LgLive *live)
{
  g_autoptr(GHashTable) met = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  live->subjects = g_array_new(FALSE, FALSE, sizeof(LgSubject));
  g_array_set_clear_func(live->subjects, clear_subject);
  for (guint i = 0; i < live->findings->len; i++) {
    const LgFinding *const finding = live->findings->pdata[i];
    LgSubject subject = subject_of(live->job, finding);
    const char *const about = subject.name != NULL       ? subject.name
                              : finding->subject != NULL ? finding->subject
                                                         : "job";
    char *const first = g_strdup_printf("%s:%s", finding->rule, about);
    const int n = GPOINTER_TO_INT(g_hash_table_lookup(met, first)) + 1;
    subject.id = n > 1 ? g_strdup_printf("%s:%d", first, n) : g_strdup(first);
    g_hash_table_insert(met, first, GINT_TO_POINTER(n));
    g_array_append_val(live->subjects, subject);
  }
}

static json_t *finding_json(const LgLive *live, guint i)
{
  const LgFinding *const finding = live->findings->pdata[i];
  const LgSubject *const subject = &g_array_index(live->subjects, LgSubject, i);
  const LgRule *const rule = lg_rule_find(finding->rule);
  json_t *const where = json_object(), *const object = json_object();
  json_object_set_new(where, "kind", lg_json_text(subject->kind));
  json_object_set_new(where, "name", lg_json_text(subject->name));
  json_object_set_new(where, "line", json_integer(finding->origin.line));
  json_object_set_new(where, "record",
                      subject->record >= 0 ? json_integer(subject->record) : json_null());
  json_object_set_new(object, "id", lg_json_text(subject->id));
  json_object_set_new(object, "grade", json_string(lg_grade_word(finding->grade)));
  json_object_set_new(object, "rule", lg_json_text(finding->rule));
  json_object_set_new(object, "title",
                      lg_json_text(rule != NULL ? T_(rule->title) : finding->rule));
  json_object_set_new(object, "subject", lg_json_text(finding->subject));
  json_object_set_new(object, "where", where);
  json_object_set_new(object, "what", lg_json_text(finding->what));
  json_object_set_new(object, "rests", lg_json_text(finding->basis));
  json_object_set_new(object, "do", lg_json_text(finding->remedy));
  return object;
}

char *lg_live_findings_json(LgLive *live)
{
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(live->job->language));
  g_autofree char *verdict = lg_verdict(live->findings);
  json_t *const root = json_object(), *const list = json_array();
  for (guint i = 0; i < live->findings->len; i++)
    json_array_append_new(list, finding_json(live, i));
  json_object_set_new(root, "verdict", lg_json_text(verdict));
  json_object_set_new(root, "findings", list);
  return lg_json_take(root);
}
