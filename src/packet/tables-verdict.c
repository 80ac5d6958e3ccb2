/* The verdict: whether anything stands against building. */
#include "base/words.h"
#include "packet/tables-private.h"

static void add_count(GString *text, guint n, const char *one, const char *many)
{
  g_autofree char *count = lg_words_count(n, one, many);
  lg_words_add(text, T_(" and "), count);
}

char *lg_verdict(const GPtrArray *findings)
{
  guint n[LG_N_GRADES] = {0};
  for (guint i = 0; i < findings->len; i++)
    n[((const LgFinding *)findings->pdata[i])->grade]++;
  g_autoptr(GString) against = g_string_new(NULL);
  if (n[LG_GRADE_DANGER] > 0)
    add_count(against, n[LG_GRADE_DANGER], T_("danger"), T_("dangers"));
  if (n[LG_GRADE_FAULT] > 0)
    add_count(against, n[LG_GRADE_FAULT], T_("fault"), T_("faults"));

  g_autoptr(GString) text = g_string_new(NULL);
  if (against->len == 0)
    g_string_append(text, T_("Nothing stands against building."));
  else
    g_string_append_printf(text,
                           n[LG_GRADE_DANGER] + n[LG_GRADE_FAULT] == 1
                               ? T_("Do not build it yet: %s stands against it.")
                               : T_("Do not build it yet: %s stand against it."),
                           against->str);
  if (n[LG_GRADE_UNPROVEN] > 0)
    g_string_append_printf(text,
                           n[LG_GRADE_UNPROVEN] == 1
                               ? T_(" %u fact must be measured before first power.")
                               : T_(" %u facts must be measured before first power."),
                           n[LG_GRADE_UNPROVEN]);
  if (n[LG_GRADE_CAUTION] > 0)
    g_string_append_printf(
        text, n[LG_GRADE_CAUTION] == 1 ? T_(" %u caution to read.") : T_(" %u cautions to read."),
        n[LG_GRADE_CAUTION]);
  return g_string_free(g_steal_pointer(&text), FALSE);
}
