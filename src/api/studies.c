/* The studies of one sheet, each made into a report. */
#include "api/api-private.h"
#include "base/words.h"
#include "studies/shorts.h"
#include <string.h>

static LgReport *report_for(const char *verb, const LgJob *job)
{
  LgReport *const report = lg_report_new(verb, job->title);
  report->habit = job->habit;
  return report;
}

static void note(LgReport *report, char *text)
{
  g_ptr_array_add(report->notes, text);
}

static void add_table(LgReport *report, LgTable *table)
{
  g_ptr_array_add(report->tables, table);
}

static void take_findings(LgReport *report, GPtrArray *findings)
{
  g_ptr_array_unref(report->findings);
  report->findings = findings;
  report->verdict = lg_verdict(findings);
}

static LgSizing *sizing_of(LgJobSheet *sheet, GError **error)
{
  const LgJob *const job = lg_job_sheet_job(sheet, error);
  g_autoptr(GError) reason = NULL;
  LgSizing *const sizing = job == NULL ? NULL : lg_sizing_new(job, &reason);
  if (reason != NULL)
    g_set_error_literal(error, LG_ERROR, LG_ERROR_SHEET, reason->message);
  return sizing;
}

static void note_states(LgReport *report, const LgStates *states)
{
  g_autofree char *possible = g_strdup_printf("%" G_GUINT64_FORMAT, states->n_possible);
  g_autofree char *solved = g_strdup_printf("%" G_GUINT64_FORMAT, states->n_solved);
  g_autofree char *brief = g_strdup_printf("%" G_GUINT64_FORMAT, states->n_brief);
  note(report,
       states->n_groups > 1
           ? g_strdup_printf(T_("%s states are possible; solved %s in %d groups, each exactly, the "
                                "others at their least and greatest draw; and %s with one load "
                                "starting or stalled."),
                             possible, solved, states->n_groups, brief)
           : g_strdup_printf(T_("Every state was solved: %s lasting ones, and %s with one load "
                                "starting or stalled."),
                             solved, brief));
}

LgReport *lg_check(LgJobSheet *sheet, GError **error)
{
  g_autoptr(LgSizing) sizing = sizing_of(sheet, error);
  if (sizing == NULL)
    return NULL;
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(sheet->job->language));
  LgReport *const report = report_for("check", sheet->job);
  take_findings(report, lg_checks_run(sheet->job, sizing));
  add_table(report, lg_table_circuits(sizing));
  if (sheet->job->n_needs > 0)
    add_table(report, lg_table_needs(sizing));
  note_states(report, sizing->states);
  return report;
}

LgReport *lg_size(LgJobSheet *sheet, GError **error)
{
  g_autoptr(LgSizing) sizing = sizing_of(sheet, error);
  if (sizing == NULL)
    return NULL;
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(sheet->job->language));
  LgReport *const report = report_for("size", sheet->job);
  take_findings(report, lg_checks_run(sheet->job, sizing));
  add_table(report, lg_table_sizes(sizing));
  add_table(report, lg_table_fuses(sizing));
  g_autoptr(LgShorts) shorts = lg_shorts_new(sizing);
  add_table(report, lg_shorts_table(shorts));
  note_states(report, sizing->states);
  g_autofree char *tried = g_strdup_printf("%" G_GUINT64_FORMAT, sizing->n_tried);
  note(report, g_strdup_printf(T_("Copper in the wires that were sized: %.3g kg; proved least: %s. "
                                  "Combinations looked at: %s."),
                               sizing->copper_kg, sizing->proved ? T_("yes") : T_("no"), tried));
  return report;
}

static char *way_name(const LgJobSheet *sheet, gboolean same_file)
{
  g_auto(GStrv) variants = lg_job_sheet_variants(sheet);
  const char *const variant = sheet->job->variant > 0 ? variants[sheet->job->variant - 1] : NULL;
  if (same_file)
    return g_strdup(variant != NULL ? variant : T_("as in the sheet"));
  g_autofree char *base = g_path_get_basename(lg_sheet_file(sheet->sheet));
  return variant == NULL ? g_steal_pointer(&base) : g_strdup_printf("%s, %s", base, variant);
}

LgReport *lg_compare(LgJobSheet *first, LgJobSheet *second, GError **error)
{
  g_autoptr(LgSizing) a = sizing_of(first, error);
  g_autoptr(LgSizing) b = a == NULL ? NULL : sizing_of(second, error);
  if (b == NULL)
    return NULL;
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(first->job->language));
  const gboolean same_file = strcmp(lg_sheet_file(first->sheet), lg_sheet_file(second->sheet)) == 0;
  g_autofree char *name_a = way_name(first, same_file), *name_b = way_name(second, same_file);
  g_autoptr(GPtrArray) findings_a = lg_checks_run(first->job, a);
  g_autoptr(GPtrArray) findings_b = lg_checks_run(second->job, b);
  const LgChoice one = {name_a, a, findings_a}, two = {name_b, b, findings_b};
  g_autoptr(GArray) contrasts = lg_contrasts_new(&one, &two);
  LgReport *const report = report_for("compare", first->job);
  report->verdict = lg_contrasts_sentence(&one, &two, contrasts);
  add_table(report, lg_table_compare(&one, &two, contrasts));
  return report;
}

static gboolean set_positions(const LgJob *job, const char *const settings[], int position[],
                              GError **error)
{
  for (int i = 0; settings != NULL && settings[i] != NULL; i++) {
    LgCondition condition;
    g_autoptr(GError) reason = NULL;
    if (!lg_job_read_condition(job, settings[i], &condition, &reason)) {
      g_set_error_literal(error, LG_ERROR, LG_ERROR_CALL, reason->message);
      return FALSE;
    }
    if ((condition.positions & (condition.positions - 1)) != 0) {
      g_set_error(error, LG_ERROR, LG_ERROR_CALL, "`%s`: one state has one position of each input",
                  settings[i]);
      return FALSE;
    }
    position[condition.input] = __builtin_ctzll(condition.positions);
  }
  return TRUE;
}

static char *state_verdict(const LgJob *job, const LgCircuit *circuit, const LgPoint *point)
{
  g_autofree guint8 *position = g_new(guint8, (gsize)job->n_inputs + 1);
  for (int i = 0; i < job->n_inputs; i++)
    position[i] = (guint8)point->position[i];
  g_autofree char *words = lg_state_words(job, position);
  const char *const coil = point->coil_element >= 0 ? job->elements[point->coil_element].name : "";
  g_autofree char *floating =
      point->status.n_floating > 0
          ? g_strdup_printf(T_(" %d pins are tied to nothing that is live or %s."),
                            point->status.n_floating, T_(job->ground_word))
          : g_strdup("");
  (void)circuit;
  switch (point->status.outcome) {
  case LG_CHATTER:
    return g_strdup_printf(T_("%s: the relay coil %s chatters; the figures are of one instant.%s"),
                           words, coil, floating);
  case LG_LATCHING:
    return g_strdup_printf(
        T_("%s: the relay coil %s has two answers; this is the one from all relays released.%s"),
        words, coil, floating);
  case LG_STALLED:
    return g_strdup_printf(T_("%s: the solution did not settle; %.3g A are left over.%s"), words,
                           point->status.residual_A, floating);
  default:
    return g_strdup_printf("%s.%s", words, floating);
  }
}

LgReport *lg_state(LgJobSheet *sheet, const char *const settings[], GError **error)
{
  const LgJob *const job = lg_job_sheet_job(sheet, error);
  if (job == NULL)
    return NULL;
  g_autofree int *position = g_new0(int, (gsize)job->n_inputs + 1);
  if (!set_positions(job, settings, position, error))
    return NULL;
  g_autoptr(LgSizing) sizing = sizing_of(sheet, error);
  if (sizing == NULL)
    return NULL;
  g_autoptr(LgNetWork) work = lg_net_work_new(sizing->circuit->net);
  g_autoptr(LgPoint) point = lg_point_new(sizing->circuit);
  for (int i = 0; i < job->n_inputs; i++)
    point->position[i] = position[i];
  lg_circuit_solve(sizing->circuit, work, point);

  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(job->language));
  LgReport *const report = report_for("state", job);
  report->verdict = state_verdict(job, sizing->circuit, point);
  add_table(report, lg_table_state_elements(sizing->circuit, point));
  add_table(report, lg_table_state_wires(sizing->circuit, point));
  add_table(report, lg_table_state_pins(sizing->circuit, point));
  if (!lg_circuit_possible(job, position))
    note(report,
         g_strdup(T_(
             "This combination cannot be: a part moves only with another input (`only-when=`).")));
  note(report,
       g_strdup(T_("Volts are against the negative post of the main battery. Wires and coils "
                   "at their hottest place; sizes marked auto as `size` chooses them.")));
  return report;
}

static const LgColumn file_columns[] = {{"file", N_("File"), LG_CELL_TEXT, LG_DIM_NONE, 0},
                                        {NULL, NULL, LG_CELL_TEXT, LG_DIM_NONE, 0}};

static gboolean language_is_known(const char *language, GError **error)
{
  const char *const *const languages = lg_words_languages();
  if (language == NULL || g_strv_contains(languages, language))
    return TRUE;
  g_autofree char *list = g_strjoinv(", ", (char **)languages);
  g_set_error(error, LG_ERROR, LG_ERROR_CALL,
              "there is no packet in the language `%s`; there are %s", language, list);
  return FALSE;
}

static gboolean packet_options(const LgPacketAsk *ask, LgPacketOptions *options, GError **error)
{
  if (ask == NULL)
    return TRUE;
  if (!language_is_known(ask->language, error))
    return FALSE;
  options->share = ask->share;
  options->stop = ask->stop;
  options->user = ask->user;
  options->labels = ask->labels == NULL ? NULL : lg_label_sheet(ask->labels);
  if (ask->labels == NULL || options->labels != NULL)
    return TRUE;
  g_autoptr(GString) list = g_string_new(NULL);
  for (const LgLabelSheet *sheet = lg_label_sheets; sheet->name != NULL; sheet++)
    g_string_append_printf(list, "%s%s", list->len > 0 ? ", " : "", sheet->name);
  g_set_error(error, LG_ERROR, LG_ERROR_CALL, "there is no label sheet `%s`; there are %s",
              ask->labels, list->str);
  return FALSE;
}

LgReport *lg_packet(LgJobSheet *sheet, const char *folder, const LgPacketAsk *ask, GError **error)
{
  LgPacketOptions options = {0};
  if (!packet_options(ask, &options, error))
    return NULL;
  g_autoptr(LgSizing) sizing = sizing_of(sheet, error);
  if (sizing == NULL)
    return NULL;
  const char *const language =
      ask != NULL && ask->language != NULL ? ask->language : sheet->job->language;
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(language));
  g_autoptr(GPtrArray) findings = lg_checks_run(sheet->job, sizing);
  g_autoptr(GPtrArray) written = g_ptr_array_new_with_free_func(g_free);
  g_autoptr(GError) reason = NULL;
  if (!lg_packet_write(sizing, findings, folder, &options, written, &reason)) {
    const gboolean stopped = g_error_matches(reason, G_FILE_ERROR, G_FILE_ERROR_INTR);
    g_set_error_literal(error, LG_ERROR, stopped ? LG_ERROR_STOPPED : LG_ERROR_SAVE,
                        reason->message);
    return NULL;
  }
  LgReport *const report = report_for("packet", sheet->job);
  take_findings(report, g_steal_pointer(&findings));
  LgTable *const files = lg_table_new("files", T_("Files written"), file_columns);
  for (guint i = 0; i < written->len; i++)
    lg_table_add(files, (const char *)written->pdata[i]);
  add_table(report, files);
  return report;
}

GBytes *lg_sized_text(LgJobSheet *sheet, GError **error)
{
  g_autoptr(LgSizing) sizing = sizing_of(sheet, error);
  return sizing == NULL ? NULL : lg_sizing_write(sizing, error);
}

guint lg_report_n_against(const LgReport *report)
{
  guint n = 0;
  for (guint i = 0; i < report->findings->len; i++) {
    const LgFinding *const finding = report->findings->pdata[i];
    n += finding->grade == LG_GRADE_DANGER || finding->grade == LG_GRADE_FAULT;
  }
  return n;
}

char *lg_report_text(const LgReport *report, int width, gboolean colour)
{
  return lg_report_print(report, report->habit, width, colour);
}

guint lg_report_n_tables(const LgReport *report)
{
  return report->tables->len;
}

const char *lg_report_table_key(const LgReport *report, guint table)
{
  g_return_val_if_fail(table < report->tables->len, NULL);
  return ((const LgTable *)report->tables->pdata[table])->key;
}

char *lg_report_table_csv(const LgReport *report, guint table)
{
  g_return_val_if_fail(table < report->tables->len, NULL);
  return lg_table_csv(report->tables->pdata[table]);
}
