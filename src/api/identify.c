/* What an unknown plug holds, as a report. */
#include "api/api-private.h"
#include "base/text.h"
#include "base/words.h"
#include "packet/tables.h"
#include "studies/cautions.h"

static int part_named(const LgJob *job, const char *name, GError **error)
{
  const int part = lg_job_find_part(job, name);
  if (part < 0) {
    g_autofree const char **names = g_new(const char *, (gsize)job->n_parts + 1);
    for (int i = 0; i < job->n_parts; i++)
      names[i] = job->parts[i].name;
    const char *const near = lg_nearest_word(name, names, (gsize)job->n_parts);
    g_set_error(error, LG_ERROR, LG_ERROR_CALL, "there is no part `%s`%s%s%s", name,
                near != NULL ? "; did you mean `" : "", near != NULL ? near : "",
                near != NULL ? "`?" : "");
  } else if (job->parts[part].n_pins > LG_MOST_CAVITIES) {
    g_set_error(error, LG_ERROR, LG_ERROR_CALL,
                "`%s` has %d pins; at most %d can be identified together: take it as two parts",
                name, job->parts[part].n_pins, LG_MOST_CAVITIES);
    return -1;
  }
  return part;
}

static void add_caution(LgReport *report, const char *name)
{
  for (const LgCaution *caution = lg_cautions; caution->name != NULL; caution++)
    for (int i = 0; g_str_equal(caution->name, name) && caution->lines[i] != NULL; i++)
      g_ptr_array_add(report->notes, g_strdup(T_(caution->lines[i])));
}

/* On what the classes rest, each once. */
static void note_classes(LgReport *report, const LgIdentity *id)
{
  gboolean told[LG_N_ID_CLASSES] = {FALSE};
  for (guint i = 0; i < id->found->len; i++)
    told[lg_found_class(&g_array_index(id->found, LgFound, i))] = TRUE;
  for (int c = 0; c < LG_N_ID_CLASSES; c++)
    if (told[c])
      g_ptr_array_add(report->notes, g_strdup_printf("%s (%s): %s.", lg_id_rows[c].name,
                                                     lg_id_rows[c].words, lg_id_rows[c].source));
}

static char *verdict(const LgPartIdentity *of)
{
  const LgIdentity *const id = of->identity;
  g_autofree char *heat = lg_identity_heat_words(of);
  const char *const name = of->job->parts[of->part].name;
  if (id == NULL)
    return g_strdup_printf(
        T_("%s is left alone: it may belong to a restraint. Nothing was identified."), name);
  if (id->n_probes == 0)
    return g_strdup_printf(T_("%s: no reading of ohms yet. The first one is proposed below."),
                           name);
  guint clashes = 0;
  for (int i = 0; i < id->n_probes; i++)
    clashes += id->clash[i] != FALSE;
  g_autofree char *against =
      clashes > 0 ? g_strdup_printf(T_(" %u of them contradict each other."), clashes)
                  : g_strdup("");
  g_autofree char *things =
      g_strdup_printf(id->found->len == 1 ? T_("%u thing") : T_("%u things"), id->found->len);
  g_autofree char *readings =
      g_strdup_printf(id->n_probes == 1 ? T_("%d reading") : T_("%d readings"), id->n_probes);
  return g_strdup_printf(T_("%s: %s found from %s.%s %s"), name, things, readings, against, heat);
}

LgReport *lg_identify(LgJobSheet *sheet, const char *part, GError **error)
{
  const LgJob *const job = lg_job_sheet_job(sheet, error);
  const int index = job == NULL ? -1 : part_named(job, part, error);
  if (index < 0)
    return NULL;
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(job->language));
  g_autoptr(LgPartIdentity) of = lg_part_identity_new(job, index);
  LgReport *const report = lg_report_new("identify", job->title);
  report->habit = job->habit;
  report->verdict = verdict(of);
  g_ptr_array_unref(report->findings);
  report->findings = g_steal_pointer(&of->findings);
  of->findings = lg_findings_new();
  if (of->any_shut)
    add_caution(report, "restraint");
  if (of->stopped)
    return report;
  g_ptr_array_add(report->tables, lg_table_identified(of));
  g_ptr_array_add(report->tables, lg_table_cavities(of));
  g_ptr_array_add(report->tables, lg_table_probes(of));
  g_ptr_array_add(report->tables, lg_table_next(of));
  g_ptr_array_add(report->tables, lg_table_records(of));
  note_classes(report, of->identity);
  g_ptr_array_add(
      report->notes,
      g_strdup(T_("An ohmmeter only on a dead circuit with the plug apart, never on control "
                  "units. Figures are aids to a competent person.")));
  return report;
}

char *lg_identify_records(LgJobSheet *sheet, const char *part, GError **error)
{
  const LgJob *const job = lg_job_sheet_job(sheet, error);
  const int index = job == NULL ? -1 : part_named(job, part, error);
  if (index < 0)
    return NULL;
  g_autoptr(LgPartIdentity) of = lg_part_identity_new(job, index);
  g_autoptr(GPtrArray) lines = lg_identity_records(of);
  GString *const text = g_string_new(NULL);
  if (of->stopped)
    g_string_append_printf(text, "# %s may belong to a restraint: it is left alone\n",
                           job->parts[index].name);
  for (guint i = 0; i < lines->len; i++)
    g_string_append_printf(text, "%s\n", (const char *)lines->pdata[i]);
  return g_string_free(text, FALSE);
}
