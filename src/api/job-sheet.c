/* Opening sheets, and what is wrong with them. */
#include "api/api-private.h"
#include "base/words.h"
#include <jansson.h>
#include <string.h>

G_DEFINE_QUARK(lg_error, lg_error)

const char *lg_version(void)
{
  return LG_VERSION;
}

static LgJobSheet *take_sheet(LgSheet *sheet)
{
  LgJobSheet *const opened = g_new0(LgJobSheet, 1);
  opened->sheet = sheet;
  opened->catalogue = lg_catalogue_new();
  opened->job = lg_job_new(sheet, opened->catalogue);
  return opened;
}

LgJobSheet *lg_job_sheet_open(const char *path, GError **error)
{
  LgSheet *const sheet = lg_sheet_open(path, FALSE, error);
  return sheet == NULL ? NULL : take_sheet(sheet);
}

LgJobSheet *lg_job_sheet_new(const char *name, GBytes *bytes)
{
  return take_sheet(lg_sheet_read(name, bytes, FALSE));
}

void lg_job_sheet_free(LgJobSheet *sheet)
{
  if (sheet == NULL)
    return;
  lg_job_free(sheet->job);
  lg_sheet_free(sheet->sheet);
  lg_catalogue_free(sheet->catalogue);
  g_free(sheet);
}

char **lg_job_sheet_variants(const LgJobSheet *sheet)
{
  g_autoptr(GStrvBuilder) names = g_strv_builder_new();
  for (guint i = 0; i < lg_sheet_n_records(sheet->sheet); i++)
    if (lg_sheet_record(sheet->sheet, i)->kind == LG_KIND_VARIANT)
      g_strv_builder_add(names, lg_sheet_record(sheet->sheet, i)->name);
  return g_strv_builder_end(names);
}

/* Of the record, so that a sheet that does not read yet has one, too. */
const char *lg_job_sheet_language(const LgJobSheet *sheet)
{
  const char *const *const known = lg_words_languages();
  for (guint i = 0; i < lg_sheet_n_records(sheet->sheet); i++) {
    const LgRecord *const record = lg_sheet_record(sheet->sheet, i);
    const LgValue *const said =
        record->kind == LG_KIND_JOB ? lg_record_key(record, "language") : NULL;
    for (int k = 0; said != NULL && known[k] != NULL; k++)
      if (g_strcmp0(said->text, known[k]) == 0)
        return known[k];
  }
  return known[0];
}

const char *lg_translate(const char *english, const char *language)
{
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(language));
  return lg_words_find(english);
}

gboolean lg_job_sheet_take_variant(LgJobSheet *sheet, const char *name, GError **error)
{
  const int variant = name == NULL ? 0 : lg_sheet_find_variant(sheet->sheet, name);
  if (name != NULL && variant == 0) {
    g_auto(GStrv) names = lg_job_sheet_variants(sheet);
    g_autofree char *list = g_strjoinv(", ", names);
    g_set_error(error, LG_ERROR, LG_ERROR_CALL, "%s has no variant `%s`; %s%s",
                lg_sheet_file(sheet->sheet), name,
                names[0] != NULL ? "it has " : "add a `variant` record to it", list);
    return FALSE;
  }
  if (sheet->job == NULL || sheet->job->variant == variant)
    return TRUE;
  lg_job_free(sheet->job);
  sheet->job = lg_job_new_variant(sheet->sheet, sheet->catalogue, variant);
  return TRUE;
}

const LgJob *lg_job_sheet_job(const LgJobSheet *sheet, GError **error)
{
  if (sheet->job == NULL) {
    const guint n = lg_job_sheet_n_problems(sheet);
    g_set_error(error, LG_ERROR, LG_ERROR_SHEET, "%s has %u problem%s; mend %s first",
                lg_sheet_file(sheet->sheet), n, n == 1 ? "" : "s", n == 1 ? "it" : "them");
  }
  return sheet->job;
}

guint lg_job_sheet_n_problems(const LgJobSheet *sheet)
{
  return lg_sheet_problems(sheet->sheet)->len;
}

char *lg_job_sheet_problems_text(const LgJobSheet *sheet)
{
  GString *const text = g_string_new(NULL);
  const GPtrArray *const problems = lg_sheet_problems(sheet->sheet);
  for (guint i = 0; i < problems->len; i++) {
    const LgProblem *const problem = problems->pdata[i];
    g_string_append_printf(text, "%s:%d:%d: %s\n", problem->origin.file, problem->origin.line,
                           problem->origin.column, problem->what);
    if (problem->remedy != NULL && problem->remedy[0] != '\0')
      g_string_append_printf(text, "    %s\n", problem->remedy);
  }
  return g_string_free(text, FALSE);
}

char *lg_job_sheet_problems_json(const LgJobSheet *sheet, const char *verb)
{
  json_t *const list = json_array();
  const GPtrArray *const problems = lg_sheet_problems(sheet->sheet);
  for (guint i = 0; i < problems->len; i++) {
    const LgProblem *const p = problems->pdata[i];
    json_array_append_new(list,
                          json_pack("{s:s, s:i, s:i, s:s, s:s}", "file", p->origin.file, "line",
                                    p->origin.line, "column", p->origin.column, "what", p->what,
                                    "remedy", p->remedy != NULL ? p->remedy : ""));
  }
  json_t *const whole =
      json_pack("{s:i, s:s, s:o}", "loomgraft", 1, "verb", verb, "problems", list);
  char *const dumped = json_dumps(whole, JSON_INDENT(2));
  json_decref(whole);
  char *const text = g_strconcat(dumped, "\n", NULL);
  free(dumped);
  return text;
}

GBytes *lg_job_sheet_text(const LgJobSheet *sheet)
{
  return g_bytes_ref(lg_sheet_bytes(sheet->sheet));
}

GBytes *lg_tidy_text(LgJobSheet *sheet, GError **error)
{
  return lg_sheet_tidy(sheet->sheet, error);
}

gboolean lg_write_file(const char *path, GBytes *bytes, GError **error)
{
  return lg_save(path, bytes, error);
}
