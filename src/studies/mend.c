/* Trying a remedy. */
#include "studies/mend.h"
#include <string.h>

void lg_mended_clear(LgMended *m)
{
  g_clear_pointer(&m->findings, g_ptr_array_unref);
  lg_sizing_free(m->sizing);
  lg_job_free(m->job);
  lg_sheet_free(m->sheet);
  *m = (LgMended){.sheet = NULL};
}

gboolean lg_mended_init(LgMended *m, const LgJob *job, GBytes *text)
{
  *m = (LgMended){.sheet = lg_sheet_read(lg_sheet_file(job->sheet), text, FALSE)};
  if (lg_sheet_problems(m->sheet)->len == 0)
    m->job = lg_job_new_variant(m->sheet, job->catalogue, job->variant);
  if (m->job != NULL && lg_sheet_problems(m->sheet)->len == 0)
    m->sizing = lg_sizing_new(m->job, NULL);
  if (m->sizing != NULL)
    return TRUE;
  lg_mended_clear(m);
  return FALSE;
}

void lg_mended_check(LgMended *m)
{
  if (m->findings == NULL)
    m->findings = lg_checks_run(m->job, m->sizing);
}

gboolean lg_finding_is_against(const LgFinding *finding)
{
  return finding->grade == LG_GRADE_DANGER || finding->grade == LG_GRADE_FAULT;
}

gboolean lg_findings_have(const GPtrArray *findings, const LgFinding *like)
{
  for (guint i = 0; i < findings->len; i++) {
    const LgFinding *const f = findings->pdata[i];
    if (strcmp(f->rule, like->rule) == 0 && g_strcmp0(f->subject, like->subject) == 0)
      return TRUE;
  }
  return FALSE;
}

const LgFinding *lg_findings_new_against(const GPtrArray *now, const GPtrArray *before)
{
  for (guint i = 0; i < now->len; i++)
    if (lg_finding_is_against(now->pdata[i]) && !lg_findings_have(before, now->pdata[i]))
      return now->pdata[i];
  return NULL;
}

int lg_mend_record(const LgJob *job, LgKind kind, const char *name)
{
  int found = -1;
  for (guint i = 0; i < lg_sheet_n_records(job->sheet); i++) {
    const LgRecord *const record = lg_sheet_record(job->sheet, i);
    if (record->kind == kind && g_strcmp0(record->name, name) == 0 &&
        (record->variant == 0 || record->variant == job->variant))
      found = (int)i;
  }
  return found;
}

char *lg_mend_name(const LgJob *job, const char *prefix)
{
  for (int n = 1;; n++) {
    char *const name = g_strdup_printf("%s%d", prefix, n);
    if (lg_job_find_part(job, name) < 0 && lg_job_find_wire(job, name) < 0)
      return name;
    g_free(name);
  }
}

char *lg_mend_place(const LgJob *job, int part)
{
  const int place = job->parts[part].place;
  return place >= 0 ? g_strdup_printf(" at=%s", job->places[place].name) : g_strdup("");
}
