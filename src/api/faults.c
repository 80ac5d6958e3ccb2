/* The fault campaign as a report. */
#include "api/api-private.h"
#include "base/words.h"

static void note(LgReport *report, char *text)
{
  g_ptr_array_add(report->notes, text);
}

static char *verdict(const LgCampaign *faults)
{
  int n[LG_N_SEVERITIES] = {0};
  for (int i = 0; i < faults->n_effects; i++)
    n[faults->effects[i].severity]++;
  return g_strdup_printf(
      T_("Of %d single faults %d can burn or hurt, %d make something fail, %d are to be known, and "
         "%d change nothing that matters."),
      faults->n_effects, n[LG_SEVERITY_DANGER], n[LG_SEVERITY_FAULT], n[LG_SEVERITY_CAUTION],
      n[LG_SEVERITY_HARMLESS]);
}

static void note_coverage(LgReport *report, const LgCampaign *faults)
{
  const char *const which =
      faults->all_states ? T_("every lasting state")
                         : T_("the states that show an extreme, the state of rest, and a set that "
                              "covers every pair of input positions");
  g_autofree char *possible = g_strdup_printf("%" G_GUINT64_FORMAT, faults->n_possible);
  g_autofree char *pairs = g_strdup_printf("%" G_GUINT64_FORMAT, faults->n_pairs);
  g_autofree char *solved = g_strdup_printf("%" G_GUINT64_FORMAT, faults->n_solved);
  g_autofree char *after = g_strdup_printf("%" G_GUINT64_FORMAT, faults->n_after);
  note(
      report,
      g_strdup_printf(
          T_("Coverage: %d faults x %d states (%s; %s are possible) = %s pairs. %s were solved; in "
             "the others the fault's place carries no current and no volts, so the healthy "
             "solution answers. After what opens has opened, %s more. States in which a load "
             "starts or stalls for seconds are not among them."),
          faults->n_effects - faults->n_not_solved, faults->n_states, which, possible, pairs,
          solved, after));
  if (faults->n_not_solved > 0)
    note(report, g_strdup_printf(T_("%d faults touch cavities that may belong to a restraint "
                                    "circuit: they are named, never solved."),
                                 faults->n_not_solved));
  note(report,
       g_strdup(
           T_("Rests on: shorts of 5 mohm, wires touching plus meet the strongest live feed that "
              "runs with them; fuses open at the late edge of their band, at the coldest of "
              "their place; wires lie alone in their covering at its hottest, from their greatest "
              "load; they may reach the end-of-short temperature of their insulation for 5 s, its "
              "overload temperature for 6 h, its class for ever. Terms: IEC 60812 (memory).")));
  note(report, faults->n_tried == 0
                   ? g_strdup(T_("No remedy was tried."))
                   : g_strdup_printf(T_("Remedies were tried for the %d gravest causes that the "
                                        "sheet can mend, and %d found: each was written into the "
                                        "sheet in memory, read, sized, checked and solved again."),
                                     faults->n_tried, faults->n_remedied));
  note(report, g_strdup(T_("This is an aid to a competent person, not a proof of safety.")));
}

LgReport *lg_faults(LgJobSheet *sheet, const LgFaultsAsk *ask, GError **error)
{
  const LgJob *const job = lg_job_sheet_job(sheet, error);
  g_autoptr(GError) reason = NULL;
  g_autoptr(LgSizing) sizing = job == NULL ? NULL : lg_sizing_new(job, &reason);
  if (reason != NULL)
    g_set_error_literal(error, LG_ERROR, LG_ERROR_SHEET, reason->message);
  if (sizing == NULL)
    return NULL;
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(job->language));
  const LgFaultsAsk usual = {0};
  const LgFaultsAsk *const a = ask != NULL ? ask : &usual;
  const LgCampaignOptions options = {.most_pairs = a->most_pairs,
                                     .n_threads = a->threads,
                                     .n_remedies = a->remedies,
                                     .n_pairs = a->pairs_among,
                                     .stop = a->stop,
                                     .user = a->user};
  g_autoptr(LgCampaign) faults = lg_campaign_new(sizing, &options);
  if (faults == NULL) {
    g_set_error(error, LG_ERROR, LG_ERROR_STOPPED, "the campaign was stopped");
    return NULL;
  }
  LgReport *const report = lg_report_new("faults", job->title);
  report->habit = job->habit;
  report->verdict = verdict(faults);
  g_ptr_array_add(report->tables, lg_table_faults(faults));
  if (a->every)
    g_ptr_array_add(report->tables, lg_table_every_fault(faults));
  if (a->pairs_among > 0)
    g_ptr_array_add(report->tables, lg_table_double_faults(faults));
  note_coverage(report, faults);
  return report;
}
