/* Where a fault of a built job is, as a report. */
#include "api/api-private.h"
#include "base/words.h"
#include "studies/cautions.h"
#include <math.h>

static void note(LgReport *report, const char *text)
{
  g_ptr_array_add(report->notes, g_strdup(text));
}

static void add_caution(LgReport *report, const char *name)
{
  for (const LgCaution *caution = lg_cautions; caution->name != NULL; caution++)
    for (int i = 0; g_str_equal(caution->name, name) && caution->lines[i] != NULL; i++)
      note(report, T_(caution->lines[i]));
}

static gboolean has_restraint(const LgJob *job)
{
  for (int p = 0; p < job->n_pins; p++)
    if (lg_pin_is_left_alone(job, p))
      return TRUE;
  for (int p = 0; p < job->n_parts; p++)
    if (job->parts[p].restraint != LG_RESTRAINT_NO)
      return TRUE;
  return FALSE;
}

/* ---- What contradicts. ---- */

static char *left_words(const LgLocation *location, const LgSign *sign, int s)
{
  const LgHabit habit = location->job->habit;
  const LgVerdict *const first = &g_array_index(location->verdicts, LgVerdict, 0);
  if (sign->kind == LG_SIGN_RUNS)
    return g_strdup_printf(T_("With it, %s would take %.0f %% of its healthy power."),
                           location->job->elements[sign->load].name, 100 * first->predicted[s]);
  const LgDim dim = sign->kind == LG_SIGN_VOLTS ? LG_DIM_VOLTAGE : LG_DIM_RESISTANCE;
  if (isinf(sign->value) || isinf(first->predicted[s]))
    return g_strdup(isinf(sign->value) ? T_("With it, the meter would show a connection.")
                                       : T_("With it, the meter would show none."));
  g_autofree char *read = lg_quantity_print(sign->value, dim, habit, 3),
                  *should = lg_quantity_print(first->predicted[s], dim, habit, 3),
                  *left = lg_quantity_print(location->left[s], dim, habit, 2);
  return g_strdup_printf(
      T_("Read %s, with it %s: %s are left over, %.1f times what it may be off."), read, should,
      left, location->times[s]);
}

static void tell_odd(LgReport *report, const LgLocator *locator, const LgLocation *location,
                     const LgSign signs[])
{
  for (int s = 0; s < location->n_signs; s++) {
    if (!location->odd[s])
      continue;
    g_autofree char *suspect =
        lg_verdict_words(locator, &g_array_index(location->verdicts, LgVerdict, 0));
    g_autofree char *left = left_words(location, &signs[s], s);
    LgFinding *const finding = g_new(LgFinding, 1);
    *finding = (LgFinding){
        .rule = "reading-contradicts",
        .grade = LG_GRADE_FAULT,
        .origin = signs[s].origin,
        .subject = g_strdup_printf(T_("reading %s"), signs[s].name),
        .what = g_strdup_printf(T_("The likeliest suspect (%s) does not explain it. %s"), suspect,
                                left),
        .basis = g_strdup(T_("tolerance of the reading, two digits, 3 % for the sheet; nothing was "
                             "averaged away")),
        .remedy =
            g_strdup(T_("Read it again, and look whether the state was the one written. When it "
                        "stays, two things may be wrong at once: ask with --pairs."))};
    g_ptr_array_add(report->findings, finding);
  }
}

/* ---- The verdict. ---- */

static double class_chance(const LgLocation *location)
{
  double chance = 0;
  for (guint i = 0; i < location->verdicts->len; i++) {
    const LgVerdict *const v = &g_array_index(location->verdicts, LgVerdict, i);
    if (i == 0 || v->same_as == 0)
      chance += v->chance;
  }
  return chance;
}

static char *verdict(const LgLocator *locator, const LgLocation *location)
{
  if (location->verdicts->len == 0)
    return g_strdup(T_("No suspect explains anything of it."));
  const LgVerdict *const first = &g_array_index(location->verdicts, LgVerdict, 0);
  g_autofree char *suspect = lg_verdict_words(locator, first);
  const double chance = class_chance(location);
  g_autofree char *beside =
      chance > 1.02 * first->chance
          ? g_strdup_printf(T_(", %.0f %% with those that no measurement tells from it"),
                            100 * chance)
          : g_strdup("");
  g_autofree char *next =
      location->next->len > 0 && chance < 0.95
          ? lg_probing_words(locator, &g_array_index(location->next, LgProbing, 0))
          : NULL;
  return g_strdup_printf(
      T_("Likeliest: %s (%.0f %%%s).%s%s%s%s"), suspect, 100 * first->chance, beside,
      location->unclear ? T_(" But it does not explain everything that was seen.") : "",
      next != NULL ? T_(" Next: ") : "", next != NULL ? next : "", next != NULL ? "." : "");
}

/* ---- The report. ---- */

static void add_located(LgReport *report, LgLocator *locator, const LgSigns *signs, int n_pairs)
{
  const LgSign *const all = (const LgSign *)(gconstpointer)signs->signs->data;
  g_autoptr(LgLocation) location = lg_locator_judge(locator, all, (int)signs->signs->len, n_pairs);
  report->verdict = verdict(locator, location);
  tell_odd(report, locator, location, all);
  lg_findings_sort(report->findings);
  g_ptr_array_add(report->tables, lg_table_suspects(locator, location, all));
  g_ptr_array_add(report->tables, lg_table_seen(locator, location, all));
  g_ptr_array_add(report->tables, lg_table_locate_next(locator, location));
}

static void add_guides(LgReport *report, LgLocator *locator, const LgJob *job)
{
  g_autoptr(GPtrArray) guides = lg_tables_guide(locator, job);
  g_ptr_array_set_free_func(guides, NULL);
  for (guint i = 0; i < guides->len; i++)
    g_ptr_array_add(report->tables, guides->pdata[i]);
}

static LgReport *locate(const LgJob *job, const LgSizing *sizing, const LgLocateAsk *ask,
                        GError **error)
{
  g_autoptr(LgLocator) locator = lg_locator_new(sizing, error);
  g_autoptr(LgSigns) signs =
      locator == NULL ? NULL : lg_signs_new(locator, TRUE, ask->readings, error);
  if (signs == NULL)
    return NULL;
  LgReport *const report = lg_report_new("locate", job->title);
  report->habit = job->habit;
  g_ptr_array_unref(report->findings);
  report->findings = g_steal_pointer(&signs->findings);
  signs->findings = lg_findings_new();
  if (signs->signs->len > 0)
    add_located(report, locator, signs, ask->pairs_among);
  else {
    report->verdict =
        g_strdup(T_("Nothing was seen yet that can be used. Below: what to measure first."));
    g_ptr_array_add(report->tables, lg_table_symptoms(locator, job));
  }
  if (ask->guides)
    add_guides(report, locator, job);
  return report;
}

LgReport *lg_locate(LgJobSheet *sheet, const LgLocateAsk *ask, GError **error)
{
  const LgJob *const job = lg_job_sheet_job(sheet, error);
  g_autoptr(GError) reason = NULL;
  g_autoptr(LgSizing) sizing = job == NULL ? NULL : lg_sizing_new(job, &reason);
  if (reason != NULL)
    g_set_error_literal(error, LG_ERROR, LG_ERROR_SHEET, reason->message);
  if (sizing == NULL)
    return NULL;
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(job->language));
  const LgLocateAsk usual = {0};
  LgReport *const report = locate(job, sizing, ask != NULL ? ask : &usual, &reason);
  if (report == NULL) {
    g_set_error_literal(error, LG_ERROR, LG_ERROR_CALL, reason->message);
    return NULL;
  }
  if (has_restraint(job))
    add_caution(report, "restraint");
  note(report, T_("Volts under load only where nothing can move, heat or start by surprise; ohms "
                  "only with the battery's minus off. Figures are aids to a competent person."));
  return report;
}
