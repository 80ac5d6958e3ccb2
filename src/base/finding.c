#include "base/finding.h"
#include "base/words.h"

static const char *const grade_words[LG_N_GRADES] = {N_("danger"), N_("fault"), N_("unproven"),
                                                     N_("caution")};

const char *lg_grade_word(LgGrade grade)
{
  g_assert((unsigned)grade < LG_N_GRADES);
  return grade_words[grade];
}

void lg_finding_free(LgFinding *finding)
{
  if (finding == NULL)
    return;
  g_free(finding->subject);
  g_free(finding->what);
  g_free(finding->basis);
  g_free(finding->remedy);
  g_free(finding);
}

GPtrArray *lg_findings_new(void)
{
  return g_ptr_array_new_with_free_func((GDestroyNotify)lg_finding_free);
}

/* Ties are broken all the way down, so that the order never depends on how the findings came in. */
static int compare_findings(gconstpointer a, gconstpointer b)
{
  const LgFinding *const f = *(const LgFinding *const *)a, *const g = *(const LgFinding *const *)b;
  if (f->grade != g->grade)
    return f->grade < g->grade ? -1 : 1;
  if (f->origin.line != g->origin.line)
    return f->origin.line < g->origin.line ? -1 : 1;
  if (f->origin.column != g->origin.column)
    return f->origin.column < g->origin.column ? -1 : 1;
  const int by_rule = g_strcmp0(f->rule, g->rule);
  if (by_rule != 0)
    return by_rule;
  const int by_subject = g_strcmp0(f->subject, g->subject);
  return by_subject != 0 ? by_subject : g_strcmp0(f->what, g->what);
}

void lg_findings_sort(GPtrArray *findings)
{
  g_ptr_array_sort(findings, compare_findings);
}
