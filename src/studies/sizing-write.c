/* Sizes and ratings put into the sheet. */
#include "studies/sizing.h"
#include <math.h>
#include <string.h>

static void add(GArray *settings, guint record, const char *key, char *value)
{
  const LgSetting setting = {record, key, value};
  g_array_append_val(settings, setting);
}

static void clear_setting(gpointer setting)
{
  g_free((char *)((LgSetting *)setting)->value);
}

/* The record that speaks of an element's rating: the last of its own, else its part's. */
static guint rating_record(const LgJob *job, const LgElement *element)
{
  const char *const part = job->parts[element->part].name;
  guint found = 0;
  gboolean own = FALSE;
  for (guint i = 0; i < lg_sheet_n_records(job->sheet); i++) {
    const LgRecord *const record = lg_sheet_record(job->sheet, i);
    if (record->variant != 0 && record->variant != job->variant)
      continue;
    if (record->kind == LG_KIND_ELEMENT && strcmp(record->name, element->name) == 0) {
      found = i;
      own = TRUE;
    } else if (!own && record->kind == LG_KIND_PART && strcmp(record->name, part) == 0) {
      found = i;
    }
  }
  return found;
}

GArray *lg_sizing_settings(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  GArray *const settings = g_array_new(FALSE, FALSE, sizeof(LgSetting));
  g_array_set_clear_func(settings, clear_setting);
  for (int w = 0; w < job->n_wires; w++)
    if (job->wires[w].is_auto)
      add(settings, job->wires[w].record, "size", g_strdup(sizing->wires[w].conductor->name));
  for (int e = 0; e < job->n_elements; e++) {
    const LgFuseSize *const fuse = &sizing->fuses[e];
    if (!fuse->is_auto || isnan(fuse->rating_A))
      continue;
    g_autofree char *number = lg_number_print(fuse->rating_A, 6);
    add(settings, rating_record(job, &job->elements[e]), "rating", g_strconcat(number, "A", NULL));
  }
  return settings;
}

GBytes *lg_sizing_write(const LgSizing *sizing, GError **error)
{
  g_autoptr(GArray) settings = lg_sizing_settings(sizing);
  return lg_sheet_set_all(sizing->circuit->job->sheet,
                          (const LgSetting *)(const void *)settings->data, settings->len, error);
}
