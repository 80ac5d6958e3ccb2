/* Parts and their pins: what the catalogue type brings, with what the sheet adds on top. */
#include "model/model-private.h"
#include <math.h>
#include <string.h>

static const LgType *type_named(LgJobBuild *build, const LgValue *value)
{
  const LgType *const type = lg_catalogue_type(build->job->catalogue, value->text);
  if (type != NULL)
    return type;
  const GPtrArray *const types = lg_catalogue_types(build->job->catalogue);
  g_autofree const char **names = g_new0(const char *, types->len + 1);
  for (guint i = 0; i < types->len; i++)
    names[i] = ((const LgType *)types->pdata[i])->name;
  const char *const near = lg_nearest_word(value->text, names, types->len);
  lg_build_problem(
      build, value->origin, g_strdup_printf("no type of part `%s` in the catalogue", value->text),
      near != NULL
          ? g_strdup_printf("did you mean `%s`?", near)
          : g_strdup("`loomgraft explain types` lists them; `assembly` is a thing of its own"));
  return NULL;
}

static int place_of_part(LgJobBuild *build, const LgRecord *record)
{
  const LgValue *const at = lg_record_key(record, "at");
  if (at == NULL)
    return -1;
  GHashTable *const places = build->job->store->places;
  const int place = lg_find(places, at->text);
  if (place < 0)
    lg_build_problem(build, at->origin, g_strdup_printf("there is no place `%s`", at->text),
                     lg_build_did_you_mean(places, at->text, "add a `place` record for it"));
  return place;
}

static void read_part(LgJobBuild *build, const LgRecord *record)
{
  LgJob *const job = build->job;
  const LgType *const type = type_named(build, lg_record_key(record, "type"));
  const int place = place_of_part(build, record);
  if (!lg_build_name(build, job->store->parts, record->name, job->n_parts, record->name_origin))
    return;
  g_ptr_array_add(build->part_records, (gpointer)record);
  const LgValue *const face = lg_record_key(record, "face");
  const LgValue *const type_face =
      face == NULL && type != NULL ? lg_record_key(type->record, "face") : face;
  job->parts[job->n_parts++] = (LgPart){
      .name = lg_build_text(build, record->name),
      .text = lg_build_text(build, record->text != NULL ? record->text
                                   : type != NULL       ? type->record->text
                                                        : NULL),
      .type = type,
      .class_word = type != NULL ? lg_kinds[LG_KIND_TYPE]
                                       .fields[lg_field_at_place(LG_KIND_TYPE, 1)]
                                       .words[type->class_word]
                                 : "assembly",
      .letter = type != NULL ? type->letter : "X",
      .place = place,
      .is = (LgIs)lg_take_word(record, "is", LG_IS_NEW),
      .rows = type_face != NULL ? (int)type_face->low : 0,
      .columns = type_face != NULL ? (int)type_face->high : 0,
      .mating_view = lg_take_word(record, "view", 0) == 1,
      .latch = lg_take_word(record, "latch", 0),
      .housing = lg_take_text(build, record, "housing", NULL),
      .tail_m = lg_take_number(record, "tail", NAN),
      .body_m = {lg_take_number(record, "body-width", NAN),
                 lg_take_number(record, "body-height", NAN)},
      .rim_m = lg_take_number(record, "rim", 0),
      .restraint = (LgRestraint)lg_take_word(record, "restraint", LG_RESTRAINT_NO),
      .evidence = (LgEvidence)lg_take_word(record, "evidence", LG_EVIDENCE_GUESS),
      .buy = lg_take_text(build, record, "buy", NULL),
      .price = lg_take_text(build, record, "price", NULL),
      .vital = lg_take_text(build, record, "vital", NULL),
      .labour_s = lg_take_number(record, "labour", NAN),
      .input = -1,
      .origin = record->origin,
  };
}

static void overlay_pin(LgJobBuild *build, LgPin *pin, const LgRecord *record)
{
  if (record->text != NULL)
    pin->label = lg_build_text(build, record->text);
  pin->colour = lg_take_text(build, record, "colour", pin->colour);
  pin->fitted = (LgFitted)lg_take_word(record, "fitted", (int)pin->fitted);
  pin->carries = (LgCarries)lg_take_word(record, "carries", (int)pin->carries);
  pin->evidence = (LgEvidence)lg_take_word(record, "evidence", (int)pin->evidence);
  pin->said_by = lg_take_text(build, record, "said-by", pin->said_by);
  pin->restraint =
      (LgRestraint)MAX(lg_take_word(record, "restraint", LG_RESTRAINT_NO), (int)pin->restraint);
  pin->cavity = (int)lg_take_number(record, "cavity", pin->cavity);
  const LgValue *const terminal = lg_record_key(record, "terminal");
  if (terminal != NULL) {
    pin->terminal = lg_catalogue_terminal(build->job->catalogue, terminal->text);
    if (pin->terminal == NULL)
      lg_build_problem(build, terminal->origin,
                       g_strdup_printf("no terminal `%s` in the catalogue", terminal->text),
                       g_strdup("`loomgraft explain terminals` lists them"));
  }
  pin->origin = record->origin;
}

static void add_pin(LgJobBuild *build, int part_index, const LgRecord *record, gboolean from_type)
{
  LgJob *const job = build->job;
  LgPart *const part = &job->parts[part_index];
  const char *const short_name = strchr(record->name, '.') + 1;
  g_autofree char *full = g_strdup_printf("%s.%s", part->name, short_name);
  const int known = lg_find(job->store->pins, full);
  if (known >= 0) {
    overlay_pin(build, &job->pins[known], record);
    job->pins[known].from_type = FALSE;
    return;
  }
  LgPin *const pin = &job->pins[job->n_pins];
  *pin = (LgPin){.part = part_index,
                 .restraint = part->restraint,
                 .carries = LG_CARRIES_UNSAID,
                 /* A standard part's terminals are known from its standard; a donor's are a guess
                    until said. */
                 .evidence = from_type ? LG_EVIDENCE_DOCUMENT : part->evidence,
                 .from_type = from_type};
  pin->name = lg_build_text(build, full);
  pin->short_name = strchr(pin->name, '.') + 1;
  overlay_pin(build, pin, record);
  if (from_type)
    pin->origin = part->origin;
  lg_build_name(build, job->store->pins, pin->name, job->n_pins++, record->name_origin);
  part->n_pins++;
}

GPtrArray **lg_build_buckets(LgJobBuild *build, LgKind kind)
{
  LgJob *const job = build->job;
  GPtrArray **const buckets = lg_build_block(build, (gsize)job->n_parts, sizeof *buckets);
  const GPtrArray *const records = build->records[kind];
  for (guint i = 0; i < records->len; i++) {
    const LgRecord *const record = records->pdata[i];
    const char *const dot = strchr(record->name, '.');
    g_autofree char *owner = g_strndup(record->name, (gsize)(dot - record->name));
    const int part = lg_find(job->store->parts, owner);
    if (part < 0) {
      lg_build_problem(
          build, record->name_origin, g_strdup_printf("there is no part `%s`", owner),
          lg_build_did_you_mean(job->store->parts, owner, "add a `part` record for it"));
      continue;
    }
    if (buckets[part] == NULL)
      buckets[part] = g_ptr_array_new();
    g_ptr_array_add(buckets[part], (gpointer)record);
  }
  return buckets;
}

void lg_build_free_buckets(GPtrArray **buckets, int n)
{
  for (int i = 0; i < n; i++)
    g_clear_pointer(&buckets[i], g_ptr_array_unref);
}

static gsize count_from_types(const LgJob *job, gboolean pins)
{
  gsize n = 0;
  for (int i = 0; i < job->n_parts; i++)
    if (job->parts[i].type != NULL)
      n += (pins ? job->parts[i].type->pins : job->parts[i].type->elements)->len;
  return n;
}

void lg_build_parts(LgJobBuild *build)
{
  LgJob *const job = build->job;
  const GPtrArray *const records = build->records[LG_KIND_PART];
  job->parts = lg_build_block(build, records->len, sizeof *job->parts);
  for (guint i = 0; i < records->len; i++)
    read_part(build, records->pdata[i]);

  GPtrArray **const buckets = lg_build_buckets(build, LG_KIND_PIN);
  job->pins = lg_build_block(build, count_from_types(job, TRUE) + build->records[LG_KIND_PIN]->len,
                             sizeof *job->pins);
  for (int i = 0; i < job->n_parts; i++) {
    job->parts[i].first_pin = job->n_pins;
    const LgType *const type = job->parts[i].type;
    for (guint k = 0; type != NULL && k < type->pins->len; k++)
      add_pin(build, i, type->pins->pdata[k], TRUE);
    for (guint k = 0; buckets[i] != NULL && k < buckets[i]->len; k++)
      add_pin(build, i, buckets[i]->pdata[k], FALSE);
  }
  lg_build_free_buckets(buckets, job->n_parts);
}

int lg_build_pin(LgJobBuild *build, const char *text, int owner, LgOrigin origin)
{
  LgJob *const job = build->job;
  g_autofree char *relative =
      owner >= 0 ? g_strdup_printf("%s.%s", job->parts[owner].name, text) : NULL;
  int pin = lg_find(job->store->pins, relative);
  if (pin < 0)
    pin = lg_find(job->store->pins, text);
  if (pin >= 0)
    return pin;
  const char *const word = relative != NULL ? relative : text;
  lg_build_problem(build, origin, g_strdup_printf("there is no pin `%s`", word),
                   lg_build_did_you_mean(job->store->pins, word, "add a `pin` record for it"));
  return -1;
}
