#include "base/words.h"
#include "model/model-private.h"
#include <math.h>
#include <string.h>

void lg_build_problem(LgJobBuild *build, LgOrigin origin, char *what, char *remedy)
{
  lg_sheet_add_problem(build->sheet, origin, what, remedy);
}

char *lg_build_did_you_mean(GHashTable *names, const char *word, const char *otherwise)
{
  guint n = 0;
  g_autofree gpointer *keys = g_hash_table_get_keys_as_array(names, &n);
  const char *const near = lg_nearest_word(word, (const char *const *)keys, n);
  return near != NULL ? g_strdup_printf("did you mean `%s`?", near) : g_strdup(otherwise);
}

const char *lg_build_text(LgJobBuild *build, const char *text)
{
  return text == NULL ? NULL : g_string_chunk_insert_const(build->job->store->texts, text);
}

gpointer lg_build_block(LgJobBuild *build, gsize n, gsize size)
{
  gpointer const block = g_malloc0_n(MAX(n, 1), size);
  g_ptr_array_add(build->job->store->blocks, block);
  return block;
}

int lg_find(GHashTable *names, const char *name)
{
  return name == NULL ? -1 : GPOINTER_TO_INT(g_hash_table_lookup(names, name)) - 1;
}

gboolean lg_build_name(LgJobBuild *build, GHashTable *names, const char *name, int index,
                       LgOrigin origin)
{
  if (g_hash_table_contains(names, name)) {
    lg_build_problem(build, origin, g_strdup_printf("the name `%s` is taken already", name),
                     g_strdup("give one of the two another name"));
    return FALSE;
  }
  g_hash_table_insert(names, (gpointer)lg_build_text(build, name), GINT_TO_POINTER(index + 1));
  return TRUE;
}

double lg_take_number(const LgRecord *record, const char *key, double fallback)
{
  const LgValue *const value = lg_record_key(record, key);
  return value == NULL || value->is_auto ? fallback : value->low;
}

int lg_take_word(const LgRecord *record, const char *key, int fallback)
{
  const LgValue *const value = lg_record_key(record, key);
  return value == NULL ? fallback : value->word;
}

const char *lg_take_text(LgJobBuild *build, const LgRecord *record, const char *key,
                         const char *fallback)
{
  const LgValue *const value = lg_record_key(record, key);
  return value == NULL ? fallback : lg_build_text(build, value->text);
}

static const LgInsulation *insulation_or_default(LgJobBuild *build, const LgValue *value,
                                                 gboolean awg)
{
  const LgCatalogue *const catalogue = build->job->catalogue;
  if (value != NULL) {
    const LgInsulation *const found = lg_catalogue_insulation(catalogue, value->text);
    if (found != NULL)
      return found;
    lg_build_problem(build, value->origin,
                     g_strdup_printf("no insulation class `%s` in the catalogue", value->text),
                     g_strdup("`loomgraft explain insulation` lists them"));
  }
  /* The coolest of the usual classes when the sheet does not say. */
  const LgInsulation *const fallback = lg_catalogue_insulation(catalogue, awg ? "gpt" : "class-a");
  const GPtrArray *const all = lg_catalogue_insulations(catalogue);
  return fallback != NULL ? fallback : all->len > 0 ? all->pdata[0] : NULL;
}

static void read_job_record(LgJobBuild *build)
{
  LgJob *const job = build->job;
  static const LgRecord nothing = {.kind = LG_KIND_JOB};
  const GPtrArray *const found = build->records[LG_KIND_JOB];
  const LgRecord *const record = found->len > 0 ? found->pdata[0] : &nothing;
  job->title = record->name != NULL ? lg_build_text(build, record->name) : "untitled job";
  job->origin = record->origin;
  job->date = lg_take_text(build, record, "date", NULL);
  job->by = lg_take_text(build, record, "by", NULL);
  job->ask = lg_take_text(build, record, "ask", NULL);
  job->private_words = lg_take_text(build, record, "private", NULL);
  job->habit = (LgHabit)lg_take_word(record, "units", LG_HABIT_METRIC);
  job->awg_sizes = lg_take_word(record, "sizes", job->habit == LG_HABIT_US) == 1;
  job->letter_paper = lg_take_word(record, "paper", job->habit == LG_HABIT_US) == 1;
  job->language = lg_words_languages()[lg_take_word(record, "language", 0)];
  job->positive_ground = lg_take_word(record, "ground", 0) == 1;
  job->ground_word = lg_take_word(record, "words", 0) == 1 ? N_("earth") : N_("ground");
  job->nominal_V = lg_take_number(record, "nominal", 12);
  const LgValue *const ambient = lg_record_key(record, "ambient");
  job->cold_K = ambient != NULL ? ambient->low : LG_ZERO_C_IN_K - 20;
  job->hot_K = ambient != NULL ? ambient->high : LG_ZERO_C_IN_K + 40;
  job->drop = lg_take_number(record, "drop", 0.05);
  job->fuse_load = lg_take_number(record, "fuse-load", 0.8);
  job->fuse_over_wire = lg_take_number(record, "fuse-over-wire", 1.0);
  job->standing_s = lg_take_number(record, "standing", 21 * 86400.0);
  const int bundle = lg_take_word(record, "bundle", 0);
  job->bundle_table = bundle == 0 ? LG_TABLE_US : bundle == 1 ? LG_TABLE_ISO : -1;
  job->insulation =
      insulation_or_default(build, lg_record_key(record, "insulation"), job->awg_sizes);
}

static void read_vehicles(LgJobBuild *build)
{
  const GPtrArray *const records = build->records[LG_KIND_VEHICLE];
  LgJob *const job = build->job;
  job->vehicles = lg_build_block(build, records->len, sizeof *job->vehicles);
  for (guint i = 0; i < records->len; i++) {
    const LgRecord *const record = records->pdata[i];
    LgVehicle *const vehicle = &job->vehicles[job->n_vehicles++];
    vehicle->name = lg_build_text(build, record->name);
    vehicle->text = lg_build_text(build, record->text);
    vehicle->proven = lg_take_text(build, record, "proven", NULL);
    vehicle->donor = lg_take_word(record, "is", 0) == 1;
    const LgValue *const ambient = lg_record_key(record, "ambient");
    if (ambient != NULL && !vehicle->donor) {
      job->cold_K = ambient->low;
      job->hot_K = ambient->high;
    }
  }
}

static void read_places(LgJobBuild *build)
{
  const GPtrArray *const records = build->records[LG_KIND_PLACE];
  LgJob *const job = build->job;
  job->places = lg_build_block(build, records->len, sizeof *job->places);
  for (guint i = 0; i < records->len; i++) {
    const LgRecord *const record = records->pdata[i];
    if (!lg_build_name(build, job->store->places, record->name, job->n_places, record->name_origin))
      continue;
    const LgValue *const range = lg_record_key(record, "temperature");
    job->places[job->n_places++] = (LgPlace){
        .name = lg_build_text(build, record->name),
        .text = lg_build_text(build, record->text),
        .where = lg_take_text(build, record, "where", NULL),
        .cold_K = range != NULL ? range->low : job->cold_K,
        .hot_K = range != NULL ? range->high : job->hot_K,
        .wet = lg_take_word(record, "wet", 0) == 1,
        .edge = lg_take_word(record, "edge", 0) == 1,
        .hole_m = lg_take_number(record, "hole", NAN),
        .opening_m = {lg_take_number(record, "opening-width", NAN),
                      lg_take_number(record, "opening-height", NAN)},
        .origin = record->origin,
    };
  }
}

static int place_named(LgJobBuild *build, const LgValue *value)
{
  GHashTable *const places = build->job->store->places;
  const int place = lg_find(places, value->text);
  if (place < 0)
    lg_build_problem(build, value->origin, g_strdup_printf("there is no place `%s`", value->text),
                     lg_build_did_you_mean(places, value->text, "add a `place` record for it"));
  return place;
}

static void read_run(LgJobBuild *build, const LgRecord *record)
{
  LgJob *const job = build->job;
  LgRun run = {.name = lg_build_text(build, record->name),
               .text = lg_build_text(build, record->text),
               .from = place_named(build, lg_record_key(record, "from")),
               .to = place_named(build, lg_record_key(record, "to")),
               .length_m = lg_take_number(record, "length", NAN),
               .moves = lg_take_word(record, "moves", 0) == 1,
               .wet = lg_take_word(record, "wet", 0) == 1,
               .others = (int)lg_take_number(record, "others", 0),
               .origin = record->origin};
  if (run.from < 0 || run.to < 0)
    return;
  const LgPlace *const a = &job->places[run.from], *const b = &job->places[run.to];
  const LgValue *const range = lg_record_key(record, "temperature");
  run.cold_K = range != NULL ? range->low : MIN(a->cold_K, b->cold_K);
  run.hot_K = range != NULL ? range->high : MAX(a->hot_K, b->hot_K);
  const LgValue *const cover = lg_record_key(record, "cover");
  if (cover != NULL && (run.cover = lg_catalogue_cover(job->catalogue, cover->text)) == NULL)
    lg_build_problem(build, cover->origin,
                     g_strdup_printf("no covering `%s` in the catalogue", cover->text),
                     g_strdup("`loomgraft explain covers` lists them"));
  if (lg_build_name(build, job->store->runs, run.name, job->n_runs, record->name_origin))
    job->runs[job->n_runs++] = run;
}

static void read_runs(LgJobBuild *build)
{
  const GPtrArray *const records = build->records[LG_KIND_RUN];
  build->job->runs = lg_build_block(build, records->len, sizeof *build->job->runs);
  for (guint i = 0; i < records->len; i++)
    read_run(build, records->pdata[i]);
}

static LgJob *job_new_empty(LgSheet *sheet, const LgCatalogue *catalogue)
{
  LgJob *const job = g_new0(LgJob, 1);
  job->sheet = sheet;
  job->catalogue = catalogue;
  struct LgJobStore *const store = job->store = g_new0(struct LgJobStore, 1);
  store->texts = g_string_chunk_new(4096);
  store->blocks = g_ptr_array_new_with_free_func(g_free);
  GHashTable **const tables[] = {&store->places, &store->runs,     &store->parts,
                                 &store->pins,   &store->elements, &store->wires,
                                 &store->inputs, &store->bodies,   &store->uses};
  for (gsize i = 0; i < G_N_ELEMENTS(tables); i++)
    *tables[i] = g_hash_table_new(g_str_hash, g_str_equal);
  return job;
}

int lg_sheet_find_variant(const LgSheet *sheet, const char *name)
{
  for (guint i = 0; i < lg_sheet_n_records(sheet); i++) {
    const LgRecord *const record = lg_sheet_record(sheet, i);
    if (record->kind == LG_KIND_VARIANT && strcmp(record->name, name) == 0)
      return record->variant;
  }
  return 0;
}

/* Names of what a variant replaces ("wire W8") or leaves out ("K2"). */
static GHashTable *names_hidden(LgSheet *sheet, int variant)
{
  GHashTable *const hidden = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  for (guint i = 0; variant > 0 && i < lg_sheet_n_records(sheet); i++) {
    const LgRecord *const record = lg_sheet_record(sheet, i);
    if (record->variant != variant)
      continue;
    if (record->kind != LG_KIND_VARIANT) {
      g_hash_table_add(hidden, g_strdup_printf("%s %s", lg_kinds[record->kind].word,
                                               lg_kinds[record->kind].once ? "" : record->name));
      continue;
    }
    const LgValue *const without = lg_record_key(record, "without");
    g_auto(GStrv) names = without != NULL ? g_strsplit(without->text, ",", -1) : NULL;
    for (int k = 0; names != NULL && names[k] != NULL; k++)
      g_hash_table_add(hidden, g_strdup(names[k]));
  }
  return hidden;
}

static gboolean is_hidden(GHashTable *hidden, const LgRecord *record)
{
  const LgKindInfo *const info = &lg_kinds[record->kind];
  g_autofree char *full = g_strdup_printf("%s %s", info->word, info->once ? "" : record->name);
  if (g_hash_table_contains(hidden, full))
    return TRUE;
  if (info->naming != LG_NAMED_PLAIN && info->naming != LG_NAMED_DOTTED)
    return FALSE;
  const char *const dot = strchr(record->name, '.');
  g_autofree char *owner =
      dot != NULL ? g_strndup(record->name, (gsize)(dot - record->name)) : NULL;
  return g_hash_table_contains(hidden, record->name) ||
         (owner != NULL && g_hash_table_contains(hidden, owner));
}

/* What `without` names has to be there. */
static void check_without(LgJobBuild *build, const LgRecord *variant)
{
  const LgValue *const without = lg_record_key(variant, "without");
  g_auto(GStrv) names = without != NULL ? g_strsplit(without->text, ",", -1) : NULL;
  for (int k = 0; names != NULL && names[k] != NULL; k++) {
    gboolean found = FALSE;
    for (guint i = 0; !found && i < lg_sheet_n_records(build->sheet); i++) {
      const LgRecord *const record = lg_sheet_record(build->sheet, i);
      found = record->variant == 0 && g_strcmp0(record->name, names[k]) == 0;
    }
    if (!found)
      lg_build_problem(build, without->origin,
                       g_strdup_printf("there is no `%s` to leave out", names[k]),
                       g_strdup("`without` names records that stand above the first variant"));
  }
}

static void choose_records(LgJobBuild *build, int variant)
{
  g_autoptr(GHashTable) hidden = names_hidden(build->sheet, variant);
  for (guint i = 0; i < lg_sheet_n_records(build->sheet); i++) {
    const LgRecord *const record = lg_sheet_record(build->sheet, i);
    if (record->kind == LG_KIND_VARIANT)
      check_without(build, record);
    else if (record->variant == 0 ? variant == 0 || !is_hidden(hidden, record)
                                  : record->variant == variant)
      g_ptr_array_add(build->records[record->kind], (gpointer)record);
  }
}

LgJob *lg_job_new(LgSheet *sheet, const LgCatalogue *catalogue)
{
  return lg_job_new_variant(sheet, catalogue, 0);
}

LgJob *lg_job_new_variant(LgSheet *sheet, const LgCatalogue *catalogue, int variant)
{
  LgJobBuild build = {.sheet = sheet, .job = job_new_empty(sheet, catalogue)};
  build.job->variant = variant;
  build.n_before = lg_sheet_problems(sheet)->len;
  for (int kind = 0; kind < LG_N_KINDS; kind++)
    build.records[kind] = g_ptr_array_new();
  build.part_records = g_ptr_array_new();
  choose_records(&build, variant);
  read_job_record(&build);
  read_vehicles(&build);
  read_places(&build);
  read_runs(&build);
  lg_build_bodies(&build);
  lg_build_parts(&build);
  lg_build_elements(&build);
  lg_build_inputs(&build);
  lg_build_wires(&build);
  lg_build_intents(&build);
  lg_build_uses(&build);
  lg_build_papers(&build);

  for (int kind = 0; kind < LG_N_KINDS; kind++)
    g_ptr_array_unref(build.records[kind]);
  g_ptr_array_unref(build.part_records);
  if (lg_sheet_problems(sheet)->len > 0)
    g_clear_pointer(&build.job, lg_job_free);
  return build.job;
}

void lg_job_free(LgJob *job)
{
  if (job == NULL)
    return;
  struct LgJobStore *const store = job->store;
  GHashTable *const tables[] = {store->places, store->runs,     store->parts,
                                store->pins,   store->elements, store->wires,
                                store->inputs, store->bodies,   store->uses};
  for (gsize i = 0; i < G_N_ELEMENTS(tables); i++)
    g_hash_table_unref(tables[i]);
  g_ptr_array_unref(store->blocks);
  g_string_chunk_free(store->texts);
  g_free(store);
  g_free(job);
}

int lg_job_find_part(const LgJob *job, const char *name)
{
  return lg_find(job->store->parts, name);
}

int lg_job_find_pin(const LgJob *job, const char *name)
{
  return lg_find(job->store->pins, name);
}

int lg_job_find_element(const LgJob *job, const char *name)
{
  return lg_find(job->store->elements, name);
}

int lg_job_find_wire(const LgJob *job, const char *name)
{
  return lg_find(job->store->wires, name);
}

int lg_job_find_input(const LgJob *job, const char *name)
{
  return lg_find(job->store->inputs, name);
}

int lg_job_find_body(const LgJob *job, const char *name)
{
  return lg_find(job->store->bodies, name);
}

int lg_job_find_use(const LgJob *job, const char *name)
{
  return lg_find(job->store->uses, name);
}
