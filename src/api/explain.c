/* Pages: rules, kinds of record, lists of the catalogue. */
#include "api/api-private.h"
#include "base/text.h"
#include "sheet/schema.h"
#include <math.h>
#include <string.h>

static char *rule_page(const LgRule *rule)
{
  return g_strdup_printf("%s (%s)\n%s\n\n%s\n%s%s%s\nSource: %s\n\nRemedy: %s\n", rule->name,
                         lg_grade_word(rule->grade), rule->title, rule->what,
                         rule->formula != NULL ? "\nFormula: " : "",
                         rule->formula != NULL ? rule->formula : "",
                         rule->formula != NULL ? "\n" : "", rule->source, rule->remedy);
}

static void list_rules(const LgCatalogue *catalogue, GString *text)
{
  (void)catalogue;
  for (int i = 0; lg_rules[i] != NULL; i++)
    g_string_append_printf(text, "%-28s %-9s %s\n", lg_rules[i]->name,
                           lg_grade_word(lg_rules[i]->grade), lg_rules[i]->title);
}

static void list_types(const LgCatalogue *catalogue, GString *text)
{
  const GPtrArray *const types = lg_catalogue_types(catalogue);
  for (guint i = 0; i < types->len; i++) {
    const LgType *const type = types->pdata[i];
    g_string_append_printf(text, "%-24s %s\n%24s pins", type->name,
                           type->record->text != NULL ? type->record->text : "", "");
    for (guint k = 0; k < type->pins->len; k++)
      g_string_append_printf(text, " %s",
                             strchr(((const LgRecord *)type->pins->pdata[k])->name, '.') + 1);
    g_string_append(text, type->pins->len == 0 ? " of its own: write `pin` records\n" : "\n");
  }
}

static void list_conductors(const LgCatalogue *catalogue, GString *text)
{
  const GPtrArray *const all = lg_catalogue_conductors(catalogue);
  for (guint i = 0; i < all->len; i++) {
    const LgConductor *const c = all->pdata[i];
    g_string_append_printf(
        text, "%-8s %7.3f mm2 of metal, %7.3f mohm/m at 20 C, %4.1f mm over the insulation. %s\n",
        c->name, c->area_mm2, 1e3 * c->resistance_ohm_m, 1e3 * c->outer_m, c->source);
  }
}

static void list_insulations(const LgCatalogue *catalogue, GString *text)
{
  const GPtrArray *const all = lg_catalogue_insulations(catalogue);
  for (guint i = 0; i < all->len; i++) {
    const LgInsulation *const c = all->pdata[i];
    g_string_append_printf(text, "%-10s %3.0f C, table column %d C, %s. %s\n", c->name,
                           c->temperature_K - LG_ZERO_C_IN_K, c->table_column_C,
                           c->material != NULL ? c->material : "material not said", c->source);
  }
}

static void list_fuses(const LgCatalogue *catalogue, GString *text)
{
  const GPtrArray *const all = lg_catalogue_fuses(catalogue);
  for (guint i = 0; i < all->len; i++) {
    const LgFuse *const c = all->pdata[i];
    g_string_append_printf(text, "%-14s %5g A  %-12s %s\n", c->form, c->rating_A,
                           c->colour != NULL ? c->colour : "", c->source);
  }
}

static void list_terminals(const LgCatalogue *catalogue, GString *text)
{
  const GPtrArray *const all = lg_catalogue_terminals(catalogue);
  for (guint i = 0; i < all->len; i++) {
    const LgTerminal *const c = all->pdata[i];
    g_string_append_printf(text, "%-14s %.3g to %.3g mm2, ", c->name, c->wire_from_mm2,
                           c->wire_to_mm2);
    g_string_append_printf(text, isnan(c->rating_A) ? "rating not known. " : "%g A. ", c->rating_A);
    g_string_append_printf(text, "%s\n", c->source);
  }
}

static void list_covers(const LgCatalogue *catalogue, GString *text)
{
  const GPtrArray *const all = lg_catalogue_covers(catalogue);
  for (guint i = 0; i < all->len; i++) {
    const LgCover *const c = all->pdata[i];
    g_string_append_printf(text, "%-14s ", c->name);
    g_string_append_printf(text, isnan(c->bore_m) ? "any bore. " : "bore %g mm. ", 1e3 * c->bore_m);
    g_string_append_printf(text, "%s\n", c->source);
  }
}

static const struct {
  const char *topic, *summary;
  void (*list)(const LgCatalogue *catalogue, GString *text);
} lists[] = {
    {"rules", "the rules that `check` runs", list_rules},
    {"types", "types of part", list_types},
    {"conductors", "conductor sizes", list_conductors},
    {"insulation", "insulation classes", list_insulations},
    {"fuses", "fuses as sold", list_fuses},
    {"terminals", "terminals and their wire range", list_terminals},
    {"covers", "coverings", list_covers},
};

static char *topics(void)
{
  GString *const text = g_string_new("loomgraft explain TOPIC\n\nLists:\n");
  for (gsize i = 0; i < G_N_ELEMENTS(lists); i++)
    g_string_append_printf(text, "  %-12s %s\n", lists[i].topic, lists[i].summary);
  g_string_append(text, "\nKinds of record in a sheet:\n");
  for (int k = 0; k < LG_N_KINDS; k++)
    if (!lg_kinds[k].catalogue_only)
      g_string_append_printf(text, "  %-12s %s\n", lg_kinds[k].word, lg_kinds[k].help);
  g_string_append(
      text,
      "\nRules: any name that a finding shows in [brackets], or from `loomgraft explain rules`.\n");
  return g_string_free(text, FALSE);
}

static char *list_page(const char *topic)
{
  for (gsize i = 0; i < G_N_ELEMENTS(lists); i++) {
    if (strcmp(topic, lists[i].topic) != 0)
      continue;
    g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
    GString *const text = g_string_new(NULL);
    lists[i].list(catalogue, text);
    return g_string_free(text, FALSE);
  }
  return NULL;
}

static char *kind_page(const char *topic)
{
  for (int k = 0; k < LG_N_KINDS; k++)
    if (!lg_kinds[k].catalogue_only && strcmp(topic, lg_kinds[k].word) == 0)
      return lg_schema_help((LgKind)k);
  return NULL;
}

static const char *nearest_topic(const char *topic)
{
  g_autoptr(GPtrArray) names = g_ptr_array_new();
  for (gsize i = 0; i < G_N_ELEMENTS(lists); i++)
    g_ptr_array_add(names, (gpointer)lists[i].topic);
  for (int k = 0; k < LG_N_KINDS; k++)
    g_ptr_array_add(names, (gpointer)lg_kinds[k].word);
  for (int i = 0; lg_rules[i] != NULL; i++)
    g_ptr_array_add(names, (gpointer)lg_rules[i]->name);
  return lg_nearest_word(topic, (const char *const *)names->pdata, names->len);
}

char *lg_explain(const char *topic, GError **error)
{
  if (topic == NULL)
    return topics();
  char *page = list_page(topic);
  if (page == NULL)
    page = kind_page(topic);
  const LgRule *const rule = page == NULL ? lg_rule_find(topic) : NULL;
  if (rule != NULL)
    page = rule_page(rule);
  if (page == NULL) {
    const char *const near = nearest_topic(topic);
    g_set_error(error, LG_ERROR, LG_ERROR_CALL, "no page `%s`; %s%s%s", topic,
                near != NULL ? "did you mean `" : "",
                near != NULL ? near : "`loomgraft explain` lists the topics",
                near != NULL ? "`?" : "");
  }
  return page;
}

char *lg_job_manual(void)
{
  return lg_schema_manual();
}
