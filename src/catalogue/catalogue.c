#include "catalogue/catalogue.h"
#include "catalogue-data.h"
#include <math.h>
#include <string.h>

typedef struct {
  const LgRecord *record;
  gboolean is_awg;
  double nominal, class_C, current_A, ambient_K;
  LgTableName table;
} Figure;

typedef struct {
  LgTableName table;
  int from, to;
  double value;
} Factor;

struct LgCatalogue {
  GPtrArray *own_sheets; /* LgSheet* */
  GPtrArray *conductors, *insulations, *fuses, *openings, *terminals, *covers, *types;
  GArray *figures, *factors;
  GHashTable *types_by_name, *terminals_by_name;
};

static double number(const LgRecord *record, const char *key)
{
  const LgValue *const value = lg_record_key(record, key);
  return value == NULL ? NAN : value->low;
}

static const char *text(const LgRecord *record, const char *key)
{
  const LgValue *const value = lg_record_key(record, key);
  return value == NULL ? NULL : value->text;
}

static int word(const LgRecord *record, const char *key)
{
  const LgValue *const value = lg_record_key(record, key);
  return value == NULL ? 0 : value->word;
}

static double range_end(const LgRecord *record, const char *key, gboolean high)
{
  const LgValue *const value = lg_record_key(record, key);
  return value == NULL ? NAN : high ? value->high : value->low;
}

static void read_conductor(LgCatalogue *catalogue, const LgRecord *record)
{
  LgConductor *const c = g_new(LgConductor, 1);
  const gboolean awg = g_str_has_suffix(record->name, "AWG");
  const char *const slash = strchr(record->name, '/');
  const double first = g_ascii_strtod(record->name, NULL);
  *c = (LgConductor){.name = g_strdup(record->name),
                     .is_awg = awg,
                     .nominal = slash != NULL ? 1 - first : first,
                     .area_mm2 = number(record, "area"),
                     .resistance_ohm_m = number(record, "resistance"),
                     .diameter_m = number(record, "diameter"),
                     .outer_m = number(record, "outer"),
                     .source = text(record, "source")};
  g_ptr_array_add(catalogue->conductors, c);
}

static void read_insulation(LgCatalogue *catalogue, const LgRecord *record)
{
  static const int columns[] = {60, 70, 75, 80, 85, 90, 105, 125, 200};
  LgInsulation *const i = g_new(LgInsulation, 1);
  const LgValue *const rows = lg_record_key(record, "rows");
  *i = (LgInsulation){.name = g_strdup(record->name),
                      .temperature_K = number(record, "temperature"),
                      .short_K = number(record, "short"),
                      .overload_K = number(record, "overload"),
                      .limit_K = number(record, "limit"),
                      .material = text(record, "material"),
                      .source = text(record, "source")};
  if (rows != NULL)
    i->table_column_C = columns[rows->word];
  for (gsize k = 0; rows == NULL && k < G_N_ELEMENTS(columns); k++)
    if (columns[k] + LG_ZERO_C_IN_K <= i->temperature_K + 1e-9)
      i->table_column_C = columns[k];
  g_ptr_array_add(catalogue->insulations, i);
}

static void read_figure(LgCatalogue *catalogue, const LgRecord *record)
{
  const LgValue *const size = lg_record_key(record, "size");
  const double ambient_K = number(record, "ambient");
  const Figure figure = {.record = record,
                         .is_awg = size->is_awg,
                         .nominal = size->low,
                         .class_C = number(record, "class") - LG_ZERO_C_IN_K,
                         .current_A = number(record, "current"),
                         .ambient_K = isnan(ambient_K) ? LG_ZERO_C_IN_K + 30 : ambient_K,
                         .table = (LgTableName)word(record, "table")};
  g_array_append_val(catalogue->figures, figure);
}

static void read_factor(LgCatalogue *catalogue, const LgRecord *record)
{
  const Factor factor = {.table = (LgTableName)word(record, "table"),
                         .from = (int)number(record, "from"),
                         .to = (int)number(record, "to"),
                         .value = number(record, "value")};
  g_array_append_val(catalogue->factors, factor);
}

static void read_fuse(LgCatalogue *catalogue, const LgRecord *record)
{
  LgFuse *const fuse = g_new(LgFuse, 1);
  *fuse = (LgFuse){.form = g_strdup(text(record, "form")),
                   .rating_A = number(record, "rating"),
                   .colour = text(record, "colour"),
                   .cold_ohm = number(record, "cold"),
                   .melting_A2s = number(record, "melting"),
                   .source = text(record, "source")};
  g_ptr_array_add(catalogue->fuses, fuse);
}

static void read_opening(LgCatalogue *catalogue, const LgRecord *record)
{
  LgOpening *const opening = g_new(LgOpening, 1);
  const gboolean all = lg_record_key(record, "ratings") == NULL;
  *opening = (LgOpening){.form = g_strdup(text(record, "form")),
                         .load = number(record, "load"),
                         .least_s = number(record, "least"),
                         .most_s = number(record, "most"),
                         .rating_from_A = all ? 0 : range_end(record, "ratings", FALSE),
                         .rating_to_A = all ? INFINITY : range_end(record, "ratings", TRUE),
                         .source = text(record, "source")};
  g_ptr_array_add(catalogue->openings, opening);
}

static void read_terminal(LgCatalogue *catalogue, const LgRecord *record)
{
  LgTerminal *const terminal = g_new(LgTerminal, 1);
  *terminal = (LgTerminal){.name = g_strdup(record->name),
                           .wire_from_mm2 = range_end(record, "wire", FALSE),
                           .wire_to_mm2 = range_end(record, "wire", TRUE),
                           .rating_A = number(record, "rating"),
                           .resistance_ohm = number(record, "resistance"),
                           .use = text(record, "use"),
                           .source = text(record, "source")};
  g_ptr_array_add(catalogue->terminals, terminal);
  g_hash_table_insert(catalogue->terminals_by_name, terminal->name, terminal);
}

static void read_cover(LgCatalogue *catalogue, const LgRecord *record)
{
  LgCover *const cover = g_new(LgCover, 1);
  *cover = (LgCover){.name = g_strdup(record->name),
                     .kind = word(record, "kind"),
                     .bore_m = number(record, "bore"),
                     .temperature_K = number(record, "temperature"),
                     .source = text(record, "source")};
  g_ptr_array_add(catalogue->covers, cover);
}

static void read_type(LgCatalogue *catalogue, const LgRecord *record)
{
  LgType *const type = g_new(LgType, 1);
  *type = (LgType){.name = g_strdup(record->name),
                   .class_word = word(record, "class"),
                   .letter = text(record, "letter"),
                   .record = record,
                   .pins = g_ptr_array_new(),
                   .elements = g_ptr_array_new()};
  g_ptr_array_add(catalogue->types, type);
  g_hash_table_insert(catalogue->types_by_name, type->name, type);
}

static void read_inside(LgCatalogue *catalogue, LgSheet *sheet, const LgRecord *record)
{
  g_autofree char *owner = g_strndup(record->name, strcspn(record->name, "."));
  LgType *const type = g_hash_table_lookup(catalogue->types_by_name, owner);
  if (type == NULL)
    lg_sheet_add_problem(sheet, record->name_origin,
                         g_strdup_printf("there is no type `%s` above this line", owner),
                         g_strdup("put the pins and elements of a type below its `type` record"));
  else
    g_ptr_array_add(record->kind == LG_KIND_PIN ? type->pins : type->elements, (gpointer)record);
}

static void read_record(LgCatalogue *catalogue, LgSheet *sheet, const LgRecord *record)
{
  switch (record->kind) {
  case LG_KIND_CONDUCTOR:
    read_conductor(catalogue, record);
    break;
  case LG_KIND_INSULATION:
    read_insulation(catalogue, record);
    break;
  case LG_KIND_AMPACITY:
    read_figure(catalogue, record);
    break;
  case LG_KIND_FACTOR:
    read_factor(catalogue, record);
    break;
  case LG_KIND_FUSE:
    read_fuse(catalogue, record);
    break;
  case LG_KIND_OPENING:
    read_opening(catalogue, record);
    break;
  case LG_KIND_TERMINAL:
    read_terminal(catalogue, record);
    break;
  case LG_KIND_COVER:
    read_cover(catalogue, record);
    break;
  case LG_KIND_TYPE:
    read_type(catalogue, record);
    break;
  case LG_KIND_PIN:
  case LG_KIND_ELEMENT:
    read_inside(catalogue, sheet, record);
    break;
  default:
    break;
  }
}

static int by_area(gconstpointer a, gconstpointer b)
{
  const LgConductor *const x = *(LgConductor *const *)a, *const y = *(LgConductor *const *)b;
  return x->is_awg != y->is_awg ? x->is_awg - y->is_awg
                                : (x->area_mm2 > y->area_mm2) - (x->area_mm2 < y->area_mm2);
}

static int by_form_and_rating(gconstpointer a, gconstpointer b)
{
  const LgFuse *const x = *(LgFuse *const *)a, *const y = *(LgFuse *const *)b;
  const int form = strcmp(x->form, y->form);
  return form != 0 ? form : (x->rating_A > y->rating_A) - (x->rating_A < y->rating_A);
}

static int by_form_and_load(gconstpointer a, gconstpointer b)
{
  const LgOpening *const x = *(LgOpening *const *)a, *const y = *(LgOpening *const *)b;
  const int form = strcmp(x->form, y->form);
  return form != 0 ? form : (x->load > y->load) - (x->load < y->load);
}

/* What frees the members that have a text of their own as their first field. */
static void free_named(gpointer data)
{
  g_free(*(char **)data);
  g_free(data);
}

static void free_type(gpointer data)
{
  LgType *const type = data;
  g_ptr_array_unref(type->pins);
  g_ptr_array_unref(type->elements);
  free_named(type);
}

LgCatalogue *lg_catalogue_new_from(LgSheet *const sheets[], gsize n)
{
  LgCatalogue *const c = g_new0(LgCatalogue, 1);
  c->own_sheets = g_ptr_array_new_with_free_func((GDestroyNotify)lg_sheet_free);
  GPtrArray **const lists[] = {&c->conductors, &c->insulations, &c->fuses,
                               &c->openings,   &c->terminals,   &c->covers};
  for (gsize i = 0; i < G_N_ELEMENTS(lists); i++)
    *lists[i] = g_ptr_array_new_with_free_func(free_named);
  c->types = g_ptr_array_new_with_free_func(free_type);
  c->figures = g_array_new(FALSE, FALSE, sizeof(Figure));
  c->factors = g_array_new(FALSE, FALSE, sizeof(Factor));
  c->types_by_name = g_hash_table_new(g_str_hash, g_str_equal);
  c->terminals_by_name = g_hash_table_new(g_str_hash, g_str_equal);
  for (gsize i = 0; i < n; i++)
    for (guint r = 0; r < lg_sheet_n_records(sheets[i]); r++)
      read_record(c, sheets[i], lg_sheet_record(sheets[i], r));
  g_ptr_array_sort(c->conductors, by_area);
  g_ptr_array_sort(c->fuses, by_form_and_rating);
  g_ptr_array_sort(c->openings, by_form_and_load);
  return c;
}

LgCatalogue *lg_catalogue_new(void)
{
  GResource *const packed = lg_catalogue_data_get_resource();
  g_auto(GStrv) names =
      g_resource_enumerate_children(packed, "/loomgraft", G_RESOURCE_LOOKUP_FLAGS_NONE, NULL);
  g_autoptr(GPtrArray) sheets = g_ptr_array_new();
  for (int i = 0; names[i] != NULL; i++) {
    g_autofree char *path = g_strconcat("/loomgraft/", names[i], NULL);
    g_autoptr(GBytes) bytes =
        g_resource_lookup_data(packed, path, G_RESOURCE_LOOKUP_FLAGS_NONE, NULL);
    g_ptr_array_add(sheets, lg_sheet_read(names[i], bytes, TRUE));
  }
  LgCatalogue *const catalogue =
      lg_catalogue_new_from((LgSheet *const *)sheets->pdata, sheets->len);
  for (guint i = 0; i < sheets->len; i++) {
    g_assert(lg_sheet_problems(sheets->pdata[i])->len == 0);
    g_ptr_array_add(catalogue->own_sheets, sheets->pdata[i]);
  }
  return catalogue;
}

void lg_catalogue_free(LgCatalogue *catalogue)
{
  if (catalogue == NULL)
    return;
  GPtrArray *const lists[] = {catalogue->conductors, catalogue->insulations, catalogue->fuses,
                              catalogue->openings,   catalogue->terminals,   catalogue->covers,
                              catalogue->types,      catalogue->own_sheets};
  for (gsize i = 0; i < G_N_ELEMENTS(lists); i++)
    g_ptr_array_unref(lists[i]);
  g_array_unref(catalogue->figures);
  g_array_unref(catalogue->factors);
  g_hash_table_unref(catalogue->types_by_name);
  g_hash_table_unref(catalogue->terminals_by_name);
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

/* The member of a list whose first field is this name, NULL when there is none. */
static gconstpointer named(const GPtrArray *list, const char *name)
{
  for (guint i = 0; i < list->len; i++)
    if (strcmp(*(char *const *)list->pdata[i], name) == 0)
      return list->pdata[i];
  return NULL;
}

const LgInsulation *lg_catalogue_insulation(const LgCatalogue *catalogue, const char *name)
{
  return named(catalogue->insulations, name);
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

const LgTerminal *lg_catalogue_terminal(const LgCatalogue *catalogue, const char *name)
{
  return g_hash_table_lookup(catalogue->terminals_by_name, name);
}

const LgCover *lg_catalogue_cover(const LgCatalogue *catalogue, const char *name)
{
  return named(catalogue->covers, name);
}

const LgType *lg_catalogue_type(const LgCatalogue *catalogue, const char *name)
{
  return g_hash_table_lookup(catalogue->types_by_name, name);
}

LgAmpacity lg_catalogue_ampacity(const LgCatalogue *catalogue, LgTableName table,
                                 const LgConductor *conductor, int column_C)
{
  const Figure *below = NULL, *above = NULL;
  double below_mm2 = 0, above_mm2 = INFINITY;
  for (guint i = 0; i < catalogue->figures->len; i++) {
    const Figure *const f = &g_array_index(catalogue->figures, Figure, i);
    if (f->table != table || fabs(f->class_C - column_C) > 0.5)
      continue;
    if (f->is_awg == conductor->is_awg && fabs(f->nominal - conductor->nominal) < 1e-6)
      return (LgAmpacity){f->current_A, f->ambient_K, TRUE, text(f->record, "source")};
    const LgConductor *const its = lg_catalogue_conductor(catalogue, f->is_awg, f->nominal);
    if (its == NULL)
      continue;
    if (its->area_mm2 <= conductor->area_mm2 && its->area_mm2 > below_mm2) {
      below = f;
      below_mm2 = its->area_mm2;
    }
    if (its->area_mm2 >= conductor->area_mm2 && its->area_mm2 < above_mm2) {
      above = f;
      above_mm2 = its->area_mm2;
    }
  }
  if (below == NULL || above == NULL)
    return (LgAmpacity){NAN, LG_ZERO_C_IN_K + 30, FALSE, NULL};
  const double share =
      above_mm2 > below_mm2 ? log(conductor->area_mm2 / below_mm2) / log(above_mm2 / below_mm2) : 0;
  return (LgAmpacity){below->current_A * pow(above->current_A / below->current_A, share),
                      below->ambient_K, FALSE, text(below->record, "source")};
}

double lg_catalogue_bundle_factor(const LgCatalogue *catalogue, LgTableName table, int n)
{
  for (guint i = 0; i < catalogue->factors->len; i++) {
    const Factor *const f = &g_array_index(catalogue->factors, Factor, i);
    if (f->table == table && n >= f->from && n <= f->to)
      return f->value;
  }
  return 1;
}

/* A time at `load` between two gates, straight in log (time) over log (load). */
static double between(double load, double load0, double time0, double load1, double time1)
{
  const double share = log(load / load0) / log(load1 / load0);
  return exp(log(time0) + share * (log(time1) - log(time0)));
}

typedef struct {
  const LgOpening *at[16];
  int n;
} Gates;

static Gates gates_of(const LgCatalogue *catalogue, const char *form, double rating_A,
                      gboolean longest)
{
  Gates gates = {.n = 0};
  for (guint i = 0; i < catalogue->openings->len && gates.n < (int)G_N_ELEMENTS(gates.at); i++) {
    const LgOpening *const o = catalogue->openings->pdata[i];
    const double time = longest ? o->most_s : o->least_s;
    if (strcmp(o->form, form) == 0 && rating_A >= o->rating_from_A && rating_A <= o->rating_to_A &&
        !isnan(time) && time > 0)
      gates.at[gates.n++] = o;
  }
  return gates;
}

/* Beyond the last gate the time falls with the square of the current (constant I2t). */
static double time_at(const Gates *gates, double load, gboolean longest)
{
  const double first = longest ? gates->at[0]->most_s : gates->at[0]->least_s;
  if (load < gates->at[0]->load)
    return longest ? INFINITY : fmax(first, first * pow(gates->at[0]->load / load, 8));
  for (int i = 1; i < gates->n; i++) {
    const LgOpening *const a = gates->at[i - 1], *const b = gates->at[i];
    if (load <= b->load)
      return between(load, a->load, longest ? a->most_s : a->least_s, b->load,
                     longest ? b->most_s : b->least_s);
  }
  const LgOpening *const last = gates->at[gates->n - 1];
  return (longest ? last->most_s : last->least_s) * pow(last->load / load, 2);
}

gboolean lg_catalogue_opening_time(const LgCatalogue *catalogue, const char *form, double rating_A,
                                   double current_A, double *least_s, double *most_s)
{
  const Gates least = gates_of(catalogue, form, rating_A, FALSE),
              most = gates_of(catalogue, form, rating_A, TRUE);
  if (least.n == 0 || most.n == 0)
    return FALSE;
  const double load = current_A / rating_A;
  *least_s = time_at(&least, load, FALSE);
  *most_s = time_at(&most, load, TRUE);
  return TRUE;
}
