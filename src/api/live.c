/* A live sheet: opened from its own copy of the text, sized and checked once. */
#include "api/live-private.h"
#include "base/words.h"
#include "studies/shorts.h"
#include <math.h>
#include <string.h>

const char *const lg_thing_words[] = {N_("wire"), N_("pin"), N_("part"), N_("element"), NULL};

json_t *lg_json_number(double value)
{
  return isfinite(value) ? json_real(value) : json_null();
}

json_t *lg_json_text(const char *text)
{
  if (text == NULL)
    return json_null();
  g_autofree char *valid = g_utf8_make_valid(text, -1);
  return json_string(valid);
}

char *lg_json_take(json_t *root)
{
  char *const dumped = json_dumps(root, JSON_COMPACT | JSON_REAL_PRECISION(6));
  json_decref(root);
  char *const text = g_strdup(dumped);
  free(dumped);
  return text;
}

static LgJobSheet *copy_sheet(const LgJobSheet *sheet)
{
  LgJobSheet *const copy =
      lg_job_sheet_new(lg_sheet_file(sheet->sheet), lg_sheet_bytes(sheet->sheet));
  g_auto(GStrv) variants = lg_job_sheet_variants(sheet);
  const int variant = sheet->job != NULL ? sheet->job->variant : 0;
  if (variant > 0)
    lg_job_sheet_take_variant(copy, variants[variant - 1], NULL);
  return copy;
}

static void prepare(LgLive *live)
{
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(live->job->language));
  const LgJob *const job = live->job;
  const LgSizing *const sizing = live->sizing;
  live->findings = lg_checks_run(job, sizing);
  lg_live_name_findings(live);
  live->work = lg_net_work_new(sizing->circuit->net);
  live->point = lg_point_new(sizing->circuit);
  live->warmth = lg_state_warmth_new(job, (const LgConductor *const *)sizing->chosen);
  live->wire_K = g_new0(double, (gsize)job->n_wires + 1);
  live->wire_run = g_new0(int, (gsize)job->n_wires + 1);
  live->drawings =
      g_hash_table_new_full(g_str_hash, g_str_equal, g_free, (GDestroyNotify)g_ptr_array_unref);
}

LgLive *lg_live_new(const LgJobSheet *sheet, GError **error)
{
  if (lg_job_sheet_job(sheet, error) == NULL)
    return NULL;
  LgLive *const live = g_new0(LgLive, 1);
  g_autoptr(GError) reason = NULL;
  live->sheet = copy_sheet(sheet);
  live->job = live->sheet->job;
  live->sizing = lg_sizing_new(live->job, &reason);
  if (live->sizing == NULL) {
    g_set_error_literal(error, LG_ERROR, LG_ERROR_SHEET, reason->message);
    lg_live_free(live);
    return NULL;
  }
  prepare(live);
  return live;
}

void lg_live_free(LgLive *live)
{
  if (live == NULL)
    return;
  g_clear_pointer(&live->drawings, g_hash_table_unref);
  lg_what_if_free(live->what_if);
  g_clear_pointer(&live->fault_keys, g_hash_table_unref);
  g_clear_pointer(&live->faults, g_array_unref);
  g_clear_pointer(&live->sizes, lg_table_free);
  lg_shorts_free(live->shorts);
  g_free(live->wire_K);
  g_free(live->wire_run);
  lg_state_warmth_free(live->warmth);
  lg_point_free(live->point);
  lg_net_work_free(live->work);
  g_clear_pointer(&live->subjects, g_array_unref);
  g_clear_pointer(&live->findings, g_ptr_array_unref);
  lg_sizing_free(live->sizing);
  lg_job_sheet_free(live->sheet);
  g_free(live);
}

gboolean lg_live_find(const LgLive *live, const char *kind, const char *name, LgThingKind *thing,
                      int *index, GError **error)
{
  int (*const find[LG_N_THINGS])(const LgJob *, const char *) = {
      lg_job_find_wire, lg_job_find_pin, lg_job_find_part, lg_job_find_element};
  for (int k = 0; k < LG_N_THINGS; k++)
    if (strcmp(kind, lg_thing_words[k]) == 0) {
      *thing = (LgThingKind)k;
      *index = find[k](live->job, name);
      if (*index < 0)
        g_set_error(error, LG_ERROR, LG_ERROR_CALL, "there is no %s `%s` in the sheet", kind, name);
      return *index >= 0;
    }
  g_set_error(error, LG_ERROR, LG_ERROR_CALL, "`%s` is no kind of thing: wire, pin, part, element",
              kind);
  return FALSE;
}

gboolean lg_live_read_settings(const LgJob *job, const char *const settings[], int position[],
                               GError **error)
{
  for (int i = 0; i < job->n_inputs; i++)
    position[i] = 0;
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

gboolean lg_live_take_state(LgLive *live, const char *const settings[], const char *fault,
                            json_t **told, GError **error)
{
  if (!lg_live_read_settings(live->job, settings, live->point->position, error))
    return FALSE;
  *told = NULL;
  if (fault == NULL)
    lg_circuit_solve(live->sizing->circuit, live->work, live->point);
  else if ((*told = lg_live_put_fault(live, fault, error)) == NULL)
    return FALSE;
  lg_state_warmth_solve(live->warmth, live->point->wire_A, live->wire_K, live->wire_run);
  return TRUE;
}
