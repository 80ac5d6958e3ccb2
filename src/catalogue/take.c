/* From records to the things of the catalogue. */
#include "catalogue/catalogue-private.h"
#include "sheet/size.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

static double low(const LgRecord *record, const char *key, double otherwise)
{
  const LgValue *const value = lg_record_key(record, key);
  return value == NULL ? otherwise : value->low;
}

static double high(const LgRecord *record, const char *key, double otherwise)
{
  const LgValue *const value = lg_record_key(record, key);
  return value == NULL ? otherwise : value->high;
}

static double number(const LgRecord *record, const char *key)
{
  return low(record, key, NAN);
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

/* Notes the name of a thing; FALSE, and a problem, when another sheet has used it already. */
static gboolean note_name(LgCatalogue *catalogue, LgSheet *sheet, const LgRecord *record,
                          gpointer thing)
{
  GHashTable *const names = catalogue->by_name[record->kind];
  if (g_hash_table_contains(names, record->name)) {
    lg_sheet_add_problem(sheet, record->name_origin,
                         g_strdup_printf("another sheet has a %s `%s` already",
                                         lg_kinds[record->kind].word, record->name),
                         g_strdup("give this one another name, or take it out"));
    return FALSE;
  }
  g_hash_table_insert(names, (gpointer)record->name, thing);
  return TRUE;
}

static void keep(LgCatalogue *catalogue, LgSheet *sheet, const LgRecord *record, GPtrArray *list,
                 gpointer thing)
{
  if (note_name(catalogue, sheet, record, thing))
    g_ptr_array_add(list, thing);
  else
    g_free(thing);
}

static gpointer conductor_of(const LgRecord *record)
{
  LgConductor *const c = g_new(LgConductor, 1);
  *c = (LgConductor){.name = record->name,
                     .area_mm2 = number(record, "area"),
                     .resistance_ohm_m = number(record, "resistance"),
                     .diameter_m = number(record, "diameter"),
                     .outer_m = number(record, "outer"),
                     .source = text(record, "source")};
  const LgSizeFault fault = lg_size_read(record->name, &c->is_awg, &c->nominal);
  g_assert(fault == LG_SIZE_OK);
  return c;
}

/* The highest column of any table that a conductor temperature may use. */
static int column_below(double temperature_K)
{
  return (int)floor(temperature_K - LG_ZERO_C_IN_K + 1e-6);
}

static gpointer insulation_of(const LgRecord *record)
{
  LgInsulation *const i = g_new(LgInsulation, 1);
  const int rows = lg_field_find(LG_KIND_INSULATION, "rows", strlen("rows"));
  const LgValue *const said = lg_record_value(record, rows);
  *i = (LgInsulation){.name = record->name,
                      .temperature_K = number(record, "temperature"),
                      .short_K = number(record, "short"),
                      .overload_K = number(record, "overload"),
                      .limit_K = number(record, "limit"),
                      .material = text(record, "material"),
                      .source = text(record, "source")};
  i->table_column_C = said == NULL
                          ? column_below(i->temperature_K)
                          : atoi(lg_kinds[LG_KIND_INSULATION].fields[rows].words[said->word]);
  return i;
}

static gpointer terminal_of(const LgRecord *record)
{
  LgTerminal *const t = g_new(LgTerminal, 1);
  *t = (LgTerminal){.name = record->name,
                    .wire_from_mm2 = low(record, "wire", NAN),
                    .wire_to_mm2 = high(record, "wire", NAN),
                    .rating_A = number(record, "rating"),
                    .resistance_ohm = number(record, "resistance"),
                    .use = text(record, "use"),
                    .source = text(record, "source")};
  return t;
}

static gpointer cover_of(const LgRecord *record)
{
  LgCover *const c = g_new(LgCover, 1);
  *c = (LgCover){.name = record->name,
                 .kind = word(record, "kind"),
                 .bore_m = number(record, "bore"),
                 .temperature_K = number(record, "temperature"),
                 .source = text(record, "source")};
  return c;
}

static void take_figure(LgCatalogue *catalogue, const LgRecord *record)
{
  const LgValue *const size = lg_record_key(record, "size");
  const LgFigure figure = {.is_awg = size->is_awg,
                           .nominal = size->low,
                           .nominal_mm2 = size->is_awg ? lg_awg_mm2((int)size->low) : size->low,
                           .column_C = column_below(number(record, "class")),
                           .current_A = number(record, "current"),
                           .ambient_K = low(record, "ambient", LG_ZERO_C_IN_K + 30),
                           .source = text(record, "source")};
  g_array_append_val(catalogue->figures[word(record, "table")], figure);
}

static void take_factor(LgCatalogue *catalogue, const LgRecord *record)
{
  const LgFactor factor = {(int)low(record, "from", 1), (int)low(record, "to", G_MAXINT),
                           number(record, "value")};
  g_array_append_val(catalogue->factors[word(record, "table")], factor);
}

static void take_fuse(LgCatalogue *catalogue, const LgRecord *record)
{
  LgFuse *const fuse = g_new(LgFuse, 1);
  *fuse = (LgFuse){.form = text(record, "form"),
                   .rating_A = number(record, "rating"),
                   .colour = text(record, "colour"),
                   .cold_ohm = number(record, "cold"),
                   .melting_A2s = number(record, "melting"),
                   .source = text(record, "source")};
  g_ptr_array_add(catalogue->fuses, fuse);
}

static void take_opening(LgCatalogue *catalogue, const LgRecord *record)
{
  LgOpening *const opening = g_new(LgOpening, 1);
  *opening = (LgOpening){.form = text(record, "form"),
                         .load = number(record, "load"),
                         .least_s = number(record, "least"),
                         .most_s = number(record, "most"),
                         .rating_from_A = low(record, "ratings", 0),
                         .rating_to_A = high(record, "ratings", INFINITY),
                         .source = text(record, "source")};
  g_ptr_array_add(catalogue->openings, opening);
}

static void take_type(LgCatalogue *catalogue, LgSheet *sheet, const LgRecord *record)
{
  LgType *const type = g_new(LgType, 1);
  if (!note_name(catalogue, sheet, record, type)) {
    g_free(type);
    return;
  }
  *type = (LgType){.name = record->name,
                   .class_word = word(record, "class"),
                   .letter = text(record, "letter"),
                   .record = record,
                   .pins = g_ptr_array_new(),
                   .elements = g_ptr_array_new()};
  g_ptr_array_add(catalogue->types, type);
}

static void take_inside(LgCatalogue *catalogue, LgSheet *sheet, const LgRecord *record)
{
  g_autofree char *owner = g_strndup(record->name, strcspn(record->name, "."));
  LgType *const type = g_hash_table_lookup(catalogue->by_name[LG_KIND_TYPE], owner);
  if (type == NULL)
    lg_sheet_add_problem(sheet, record->name_origin,
                         g_strdup_printf("there is no type `%s` above this line", owner),
                         g_strdup("put the pins and elements of a type below its `type` record"));
  else
    g_ptr_array_add(record->kind == LG_KIND_PIN ? type->pins : type->elements, (gpointer)record);
}

void lg_catalogue_take(LgCatalogue *catalogue, LgSheet *sheet, const LgRecord *record)
{
  switch (record->kind) {
  case LG_KIND_CONDUCTOR:
    keep(catalogue, sheet, record, catalogue->conductors, conductor_of(record));
    break;
  case LG_KIND_INSULATION:
    keep(catalogue, sheet, record, catalogue->insulations, insulation_of(record));
    break;
  case LG_KIND_TERMINAL:
    keep(catalogue, sheet, record, catalogue->terminals, terminal_of(record));
    break;
  case LG_KIND_COVER:
    keep(catalogue, sheet, record, catalogue->covers, cover_of(record));
    break;
  case LG_KIND_AMPACITY:
    take_figure(catalogue, record);
    break;
  case LG_KIND_FACTOR:
    take_factor(catalogue, record);
    break;
  case LG_KIND_FUSE:
    take_fuse(catalogue, record);
    break;
  case LG_KIND_OPENING:
    take_opening(catalogue, record);
    break;
  case LG_KIND_TYPE:
    take_type(catalogue, sheet, record);
    break;
  case LG_KIND_PIN:
  case LG_KIND_ELEMENT:
    take_inside(catalogue, sheet, record);
    break;
  default: /* the job's kinds */
    break;
  }
}
