#include "catalogue-data.h"
#include "catalogue/catalogue-private.h"
#include <math.h>
#include <string.h>

static int compare(double a, double b)
{
  return (a > b) - (a < b);
}

static int by_area(gconstpointer a, gconstpointer b)
{
  const LgConductor *const x = *(LgConductor *const *)a, *const y = *(LgConductor *const *)b;
  return x->is_awg != y->is_awg ? x->is_awg - y->is_awg : compare(x->area_mm2, y->area_mm2);
}

static int by_form_and_rating(gconstpointer a, gconstpointer b)
{
  const LgFuse *const x = *(LgFuse *const *)a, *const y = *(LgFuse *const *)b;
  const int form = strcmp(x->form, y->form);
  return form != 0 ? form : compare(x->rating_A, y->rating_A);
}

static int by_form_and_load(gconstpointer a, gconstpointer b)
{
  const LgOpening *const x = *(LgOpening *const *)a, *const y = *(LgOpening *const *)b;
  const int form = strcmp(x->form, y->form);
  return form != 0 ? form : compare(x->load, y->load);
}

static void free_type(gpointer data)
{
  LgType *const type = data;
  g_ptr_array_unref(type->pins);
  g_ptr_array_unref(type->elements);
  g_free(type);
}

static const LgKind named_kinds[] = {LG_KIND_CONDUCTOR, LG_KIND_INSULATION, LG_KIND_TERMINAL,
                                     LG_KIND_COVER, LG_KIND_TYPE};

static LgCatalogue *new_empty(void)
{
  LgCatalogue *const c = g_new0(LgCatalogue, 1);
  c->sheets = g_ptr_array_new_with_free_func((GDestroyNotify)lg_sheet_free);
  GPtrArray **const lists[] = {&c->conductors, &c->insulations, &c->fuses,
                               &c->openings,   &c->terminals,   &c->covers};
  for (gsize i = 0; i < G_N_ELEMENTS(lists); i++)
    *lists[i] = g_ptr_array_new_with_free_func(g_free);
  c->types = g_ptr_array_new_with_free_func(free_type);
  for (gsize i = 0; i < G_N_ELEMENTS(named_kinds); i++)
    c->by_name[named_kinds[i]] = g_hash_table_new(g_str_hash, g_str_equal);
  for (int table = 0; table < LG_N_TABLES; table++) {
    c->figures[table] = g_array_new(FALSE, FALSE, sizeof(LgFigure));
    c->factors[table] = g_array_new(FALSE, FALSE, sizeof(LgFactor));
  }
  return c;
}

LgCatalogue *lg_catalogue_new_from(LgSheet *const sheets[], gsize n)
{
  LgCatalogue *const c = new_empty();
  for (gsize i = 0; i < n; i++)
    for (guint r = 0; r < lg_sheet_n_records(sheets[i]); r++)
      lg_catalogue_take(c, sheets[i], lg_sheet_record(sheets[i], r));
  g_ptr_array_sort(c->conductors, by_area);
  g_ptr_array_sort(c->fuses, by_form_and_rating);
  g_ptr_array_sort(c->openings, by_form_and_load);
  return c;
}

#define PACKED "/loomgraft/"

static GPtrArray *read_packed(void)
{
  GResource *const packed = lg_catalogue_data_get_resource();
  GPtrArray *const sheets = g_ptr_array_new_with_free_func((GDestroyNotify)lg_sheet_free);
  g_auto(GStrv) names =
      g_resource_enumerate_children(packed, PACKED, G_RESOURCE_LOOKUP_FLAGS_NONE, NULL);
  for (int i = 0; names[i] != NULL; i++) {
    g_autofree char *path = g_strconcat(PACKED, names[i], NULL);
    g_autoptr(GBytes) bytes =
        g_resource_lookup_data(packed, path, G_RESOURCE_LOOKUP_FLAGS_NONE, NULL);
    g_ptr_array_add(sheets, lg_sheet_read(names[i], bytes, TRUE));
  }
  return sheets;
}

LgCatalogue *lg_catalogue_new(void)
{
  GPtrArray *const sheets = read_packed();
  LgCatalogue *const catalogue =
      lg_catalogue_new_from((LgSheet *const *)sheets->pdata, sheets->len);
  for (guint i = 0; i < sheets->len; i++)
    g_assert(lg_sheet_problems(sheets->pdata[i])->len == 0);
  g_ptr_array_unref(catalogue->sheets);
  catalogue->sheets = sheets;
  return catalogue;
}

void lg_catalogue_free(LgCatalogue *catalogue)
{
  if (catalogue == NULL)
    return;
  GPtrArray *const lists[] = {catalogue->conductors, catalogue->insulations, catalogue->fuses,
                              catalogue->openings,   catalogue->terminals,   catalogue->covers,
                              catalogue->types,      catalogue->sheets};
  for (gsize i = 0; i < G_N_ELEMENTS(named_kinds); i++)
    g_hash_table_unref(catalogue->by_name[named_kinds[i]]);
  for (gsize i = 0; i < G_N_ELEMENTS(lists); i++)
    g_ptr_array_unref(lists[i]);
  for (int table = 0; table < LG_N_TABLES; table++) {
    g_array_unref(catalogue->figures[table]);
    g_array_unref(catalogue->factors[table]);
  }
  g_free(catalogue);
}

const GPtrArray *lg_catalogue_conductors(const LgCatalogue *catalogue)
{
  return catalogue->conductors;
}

const GPtrArray *lg_catalogue_insulations(const LgCatalogue *catalogue)
{
  return catalogue->insulations;
}

const GPtrArray *lg_catalogue_fuses(const LgCatalogue *catalogue)
{
  return catalogue->fuses;
}

const GPtrArray *lg_catalogue_openings(const LgCatalogue *catalogue)
{
  return catalogue->openings;
}

const GPtrArray *lg_catalogue_terminals(const LgCatalogue *catalogue)
{
  return catalogue->terminals;
}

const GPtrArray *lg_catalogue_covers(const LgCatalogue *catalogue)
{
  return catalogue->covers;
}

const GPtrArray *lg_catalogue_types(const LgCatalogue *catalogue)
{
  return catalogue->types;
}

const LgConductor *lg_catalogue_conductor(const LgCatalogue *catalogue, gboolean is_awg,
                                          double nominal)
{
  for (guint i = 0; i < catalogue->conductors->len; i++) {
    const LgConductor *const c = catalogue->conductors->pdata[i];
    if (c->is_awg == is_awg && fabs(c->nominal - nominal) < 1e-6)
      return c;
  }
  return NULL;
}

const LgFuse *lg_catalogue_fuse(const LgCatalogue *catalogue, const char *form, double rating_A)
{
  for (guint i = 0; i < catalogue->fuses->len; i++) {
    const LgFuse *const f = catalogue->fuses->pdata[i];
    if (strcmp(f->form, form) == 0 && fabs(f->rating_A - rating_A) < 1e-6)
      return f;
  }
  return NULL;
}

const LgInsulation *lg_catalogue_insulation(const LgCatalogue *catalogue, const char *name)
{
  return g_hash_table_lookup(catalogue->by_name[LG_KIND_INSULATION], name);
}

const LgTerminal *lg_catalogue_terminal(const LgCatalogue *catalogue, const char *name)
{
  return g_hash_table_lookup(catalogue->by_name[LG_KIND_TERMINAL], name);
}

const LgCover *lg_catalogue_cover(const LgCatalogue *catalogue, const char *name)
{
  return g_hash_table_lookup(catalogue->by_name[LG_KIND_COVER], name);
}

const LgType *lg_catalogue_type(const LgCatalogue *catalogue, const char *name)
{
  return g_hash_table_lookup(catalogue->by_name[LG_KIND_TYPE], name);
}
