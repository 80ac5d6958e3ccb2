/* Elements: from the catalogue type, from the sheet, and from keys written on the part; then what
 * follows from them. */
#include "model/model-private.h"
#include <math.h>
#include <string.h>

static void take_words(LgJobBuild *build, LgElement *element, const LgRecord *record)
{
  element->form = lg_take_text(build, record, "form", element->form);
  element->chemistry = (LgChemistry)lg_take_word(record, "chemistry", (int)element->chemistry);
  element->reset = (LgReset)lg_take_word(record, "reset", (int)element->reset);
  element->suppression =
      (LgSuppression)lg_take_word(record, "suppression", (int)element->suppression);
  element->polarised = lg_take_word(record, "polarised", element->polarised) == 1;
  element->cycles = lg_take_word(record, "cycles", element->cycles) == 1;
}

/* Lays the element keys of `record` over `element`; `through`: the record is its part's. */
static void overlay_keys(LgJobBuild *build, LgElement *element, const LgRecord *record,
                         gboolean from_job, gboolean through)
{
  for (const LgElementKey *key = lg_element_keys; key->key != NULL; key++) {
    const LgValue *const value = lg_record_key(record, key->key);
    if (value == NULL)
      continue;
    if (((through ? key->through : key->kinds) >> element->kind & 1u) == 0) {
      if (!through)
        lg_build_problem(
            build, value->origin,
            g_strdup_printf("a %s does not take `%s`", lg_element_word(element->kind), key->key),
            g_strdup("take the key out, or write it at the element it belongs to"));
      continue;
    }
    if (key->param < 0)
      continue;
    element->p[key->param] = value->is_auto ? NAN : value->low;
    if (key->param == LG_P_RATING)
      element->rating_auto = value->is_auto;
    if (from_job && !value->is_auto)
      element->given |= (guint64)1 << key->param;
  }
  take_words(build, element, record);
  element->vital = lg_take_text(build, record, "vital", element->vital);
}

static void overlay_element(LgJobBuild *build, LgElement *element, const LgRecord *record,
                            gboolean from_job)
{
  const LgValue *const first = lg_record_key(record, "first"), *const second =
                                                                   lg_record_key(record, "second");
  if (first != NULL)
    element->pin[0] = lg_build_pin(build, first->text, element->part, first->origin);
  if (second != NULL)
    element->pin[1] = lg_build_pin(build, second->text, element->part, second->origin);
  if (record->text != NULL)
    element->label = lg_build_text(build, record->text);
  element->evidence = (LgEvidence)lg_take_word(record, "evidence", (int)element->evidence);
  overlay_keys(build, element, record, from_job, FALSE);
  element->origin = from_job ? record->origin : build->job->parts[element->part].origin;
}

static void check_pins(LgJobBuild *build, const LgElement *element, const LgRecord *record)
{
  const gboolean lone = element->kind == LG_EL_CHASSIS;
  const LgValue *const first = lg_record_key(record, "first"), *const second =
                                                                   lg_record_key(record, "second");
  if (first == NULL || (second == NULL && !lone))
    lg_build_problem(build, record->origin,
                     g_strdup_printf("`%s` needs %s", record->name,
                                     lone ? "its pin" : "the two pins that it lies between"),
                     g_strdup("write them after its kind, such as `heater 11 12`"));
  else if (element->pin[0] >= 0 && element->pin[0] == element->pin[1])
    lg_build_problem(build, second->origin,
                     g_strdup_printf("both ends of `%s` are the same pin", record->name),
                     g_strdup("an element lies between two different pins"));
}

static void add_element(LgJobBuild *build, int part_index, const LgRecord *record,
                        gboolean from_job)
{
  LgJob *const job = build->job;
  LgPart *const part = &job->parts[part_index];
  g_autofree char *full = g_strdup_printf("%s.%s", part->name, strchr(record->name, '.') + 1);
  const LgValue *const what = lg_record_key(record, "what");
  const int known = lg_find(job->store->elements, full);
  if (known >= 0) {
    if (what != NULL && (int)job->elements[known].kind != what->word)
      lg_build_problem(
          build, what->origin,
          g_strdup_printf("`%s` is a %s already", full, lg_element_word(job->elements[known].kind)),
          g_strdup("leave the kind out to change its figures, or take another name"));
    else
      overlay_element(build, &job->elements[known], record, from_job);
    return;
  }
  if (what == NULL) {
    lg_build_problem(
        build, record->name_origin, g_strdup_printf("`%s` does not say what it is", full),
        g_strdup("write its kind and its pins: `element SEAT.pad heater 11 12 power=60W`"));
    return;
  }
  LgElement *const element = &job->elements[job->n_elements];
  *element = (LgElement){.part = part_index,
                         .name = lg_build_text(build, full),
                         .kind = (LgElementKind)what->word,
                         .pin = {-1, -1},
                         .by = -1,
                         .call = -1,
                         .senses = -1,
                         .warms = -1,
                         .feels = -1,
                         .demand = -1,
                         .vital = part->vital,
                         .evidence = from_job ? part->evidence : LG_EVIDENCE_DOCUMENT};
  element->short_name = strchr(element->name, '.') + 1;
  for (int k = 0; k < LG_N_PARAMS; k++)
    element->p[k] = NAN;
  overlay_element(build, element, record, from_job);
  check_pins(build, element, record);
  lg_build_name(build, job->store->elements, element->name, job->n_elements++, record->name_origin);
  part->n_elements++;
}

/* Hands the element keys on a part's record to the elements inside; a key that nobody takes is a
 * problem. */
static void hand_through(LgJobBuild *build, const LgPart *part, const LgRecord *record)
{
  LgJob *const job = build->job;
  for (const LgElementKey *key = lg_element_keys; key->key != NULL; key++) {
    const LgValue *const value = lg_record_key(record, key->key);
    gboolean taken = value == NULL;
    for (int e = part->first_element; !taken && e < part->first_element + part->n_elements; e++)
      taken = (key->through >> job->elements[e].kind & 1u) != 0;
    if (!taken)
      lg_build_problem(build, value->origin,
                       g_strdup_printf("nothing in `%s` takes `%s`", part->name, key->key),
                       g_strdup("write it at an `element` of the part, or take it out"));
  }
}

/* The record of the sheet or of the type that said `key` of this element, NULL when none; the last
 * word wins. */
static const LgValue *said(const LgPart *part, const LgRecord *part_record, GPtrArray *bucket,
                           const LgElement *element, const char *key)
{
  const LgValue *value = NULL;
  for (guint k = 0; part->type != NULL && k < part->type->elements->len; k++) {
    const LgRecord *const record = part->type->elements->pdata[k];
    if (strcmp(strchr(record->name, '.') + 1, element->short_name) == 0 &&
        lg_record_key(record, key) != NULL)
      value = lg_record_key(record, key);
  }
  if (lg_record_key(part_record, key) != NULL)
    value = lg_record_key(part_record, key);
  for (guint k = 0; bucket != NULL && k < bucket->len; k++) {
    const LgRecord *const record = bucket->pdata[k];
    if (strcmp(strchr(record->name, '.') + 1, element->short_name) == 0 &&
        lg_record_key(record, key) != NULL)
      value = lg_record_key(record, key);
  }
  return value;
}

static int element_of_part(const LgJob *job, const LgPart *part, const char *short_name)
{
  for (int e = part->first_element; e < part->first_element + part->n_elements; e++)
    if (strcmp(job->elements[e].short_name, short_name) == 0)
      return e;
  return -1;
}

static void link_coil(LgJobBuild *build, const LgPart *part, const LgRecord *part_record,
                      GPtrArray *bucket, LgElement *element)
{
  const LgValue *const by = said(part, part_record, bucket, element, "by");
  if (by != NULL)
    element->by = element_of_part(build->job, part, by->text);
  if (element->by >= 0 && build->job->elements[element->by].kind == LG_EL_COIL)
    return;
  lg_build_problem(build, by != NULL ? by->origin : element->origin,
                   by != NULL
                       ? g_strdup_printf("`%s` has no coil `%s`", part->name, by->text)
                       : g_strdup_printf("`%s` does not say which coil works it", element->name),
                   g_strdup("name the coil of the same part: `by=coil`"));
  element->by = -1;
}

static void link_sensor(LgJobBuild *build, const LgPart *part, const LgRecord *part_record,
                        GPtrArray *bucket, LgElement *element)
{
  const LgValue *const senses = said(part, part_record, bucket, element, "senses");
  if (senses == NULL)
    return;
  element->senses = lg_find(build->job->store->elements, senses->text);
  if (element->senses < 0 || build->job->elements[element->senses].kind != LG_EL_THERMISTOR)
    lg_build_problem(build, senses->origin,
                     g_strdup_printf("there is no thermistor `%s`", senses->text),
                     lg_build_did_you_mean(build->job->store->elements, senses->text,
                                           "name a thermistor element: `senses=SEAT.ntc`"));
}

static int body_named(LgJobBuild *build, const LgValue *value)
{
  GHashTable *const bodies = build->job->store->bodies;
  const int body = value != NULL ? lg_find(bodies, value->text) : -1;
  if (value != NULL && body < 0)
    lg_build_problem(build, value->origin, g_strdup_printf("there is no body `%s`", value->text),
                     lg_build_did_you_mean(bodies, value->text, "add a `body` record for it"));
  return body;
}

/* The bits of a part's hand positions named in `list` ("low,high"). */
static uint64_t positions_named(LgJobBuild *build, const LgPart *part, const LgValue *list)
{
  const LgInput *const input = part->input >= 0 ? &build->job->inputs[part->input] : NULL;
  g_auto(GStrv) words = g_strsplit(list->text, ",", -1);
  uint64_t set = 0;
  for (int i = 0; words[i] != NULL; i++) {
    int found = -1;
    for (int p = 0; input != NULL && p < input->n_positions; p++)
      if (strcmp(input->positions[p], words[i]) == 0)
        found = p;
    if (found < 0)
      lg_build_problem(build, list->origin,
                       g_strdup_printf("`%s` has no position `%s`", part->name, words[i]),
                       g_strdup(input != NULL ? "use one of its `positions=`"
                                              : "give the part `positions=off,on` or the like"));
    else
      set |= (uint64_t)1 << found;
  }
  return set;
}

static int add_input(LgJobBuild *build, LgInput input)
{
  LgJob *const job = build->job;
  lg_build_name(build, job->store->inputs, input.name, job->n_inputs,
                job->parts[input.part].origin);
  input.when_input = -1;
  job->inputs[job->n_inputs] = input;
  return job->n_inputs++;
}

static const char *const call_positions[] = {"off", "on", NULL};
static const char *const demand_positions[] = {"run", "off", "start", "stall", NULL};

static int call_of_part(LgJobBuild *build, int part, const char *name)
{
  g_autofree char *full = g_strdup_printf("%s.%s", build->job->parts[part].name, name);
  const int known = lg_find(build->job->store->inputs, full);
  if (known >= 0)
    return known;
  return add_input(build, (LgInput){.name = lg_build_text(build, full),
                                    .kind = LG_INPUT_CALL,
                                    .positions = call_positions,
                                    .n_positions = 2,
                                    .part = part,
                                    .element = -1});
}

static void link_contact(LgJobBuild *build, int part, const LgRecord *part_record,
                         GPtrArray *bucket, LgElement *element)
{
  const LgPart *const p = &build->job->parts[part];
  const LgValue *const closed = said(p, part_record, bucket, element, "closed");
  const LgValue *const call = said(p, part_record, bucket, element, "call");
  if (closed != NULL)
    element->closed = positions_named(build, p, closed);
  if (call != NULL)
    element->call = call_of_part(build, part, call->text);
  if (closed == NULL && call == NULL && element->kind == LG_EL_CONTACT)
    lg_build_problem(build, element->origin,
                     g_strdup_printf("nothing works the contact `%s`", element->name),
                     g_strdup("say in which hand positions it is closed: `closed=on`"));
}

static void hand_input(LgJobBuild *build, int part)
{
  LgPart *const p = &build->job->parts[part];
  const LgRecord *const record = build->part_records->pdata[part];
  const LgValue *positions = lg_record_key(record, "positions");
  if (positions == NULL && p->type != NULL)
    positions = lg_record_key(p->type->record, "positions");
  if (positions == NULL)
    return;
  char **const words = g_strsplit(positions->text, ",", -1);
  const guint n = g_strv_length(words);
  const char **const kept = lg_build_block(build, n + 1, sizeof *kept);
  for (guint i = 0; i < n; i++)
    kept[i] = lg_build_text(build, words[i]);
  g_strfreev(words);
  if (n < 2 || n > 63) {
    lg_build_problem(build, positions->origin,
                     g_strdup_printf("`%s` has %u position%s", p->name, n, n == 1 ? "" : "s"),
                     g_strdup("a switch has 2 to 63 positions"));
    return;
  }
  p->input = add_input(build, (LgInput){.name = p->name,
                                        .kind = LG_INPUT_HAND,
                                        .positions = kept,
                                        .n_positions = (int)n,
                                        .part = part,
                                        .element = -1});
}

static void link_element(LgJobBuild *build, int part, GPtrArray *bucket, LgElement *element)
{
  const LgPart *const p = &build->job->parts[part];
  const LgRecord *const record = build->part_records->pdata[part];
  if (element->kind == LG_EL_MAKE || element->kind == LG_EL_BREAK)
    link_coil(build, p, record, bucket, element);
  if (element->kind == LG_EL_CONTACT || element->kind == LG_EL_OUTPUT)
    link_contact(build, part, record, bucket, element);
  if (element->kind == LG_EL_THERMOSTAT)
    element->call = call_of_part(build, part, element->short_name);
  if (element->kind == LG_EL_THERMOSTAT || element->kind == LG_EL_OUTPUT ||
      element->kind == LG_EL_CONTACT)
    link_sensor(build, p, record, bucket, element);
  if (lg_element_is_load(element->kind))
    element->warms = body_named(build, said(p, record, bucket, element, "warms"));
  if (element->kind == LG_EL_THERMISTOR || element->kind == LG_EL_THERMOSTAT)
    element->feels = body_named(build, said(p, record, bucket, element, "feels"));
  if (lg_element_is_load(element->kind) && element->kind != LG_EL_RESISTOR)
    element->demand = add_input(build, (LgInput){.name = element->name,
                                                 .kind = LG_INPUT_DEMAND,
                                                 .positions = demand_positions,
                                                 .n_positions = LG_N_DEMANDS,
                                                 .part = part,
                                                 .element = (int)(element - build->job->elements)});
  lg_element_complete(build, element);
}

void lg_build_elements(LgJobBuild *build)
{
  LgJob *const job = build->job;
  gsize n = build->records[LG_KIND_ELEMENT]->len;
  for (int i = 0; i < job->n_parts; i++)
    n += job->parts[i].type != NULL ? job->parts[i].type->elements->len : 0;
  job->elements = lg_build_block(build, n, sizeof *job->elements);
  job->inputs = lg_build_block(build, 2 * n + (gsize)job->n_parts, sizeof *job->inputs);
  GPtrArray **const buckets = lg_build_buckets(build, LG_KIND_ELEMENT);
  for (int i = 0; i < job->n_parts; i++) {
    LgPart *const part = &job->parts[i];
    const LgRecord *const record = build->part_records->pdata[i];
    part->first_element = job->n_elements;
    for (guint k = 0; part->type != NULL && k < part->type->elements->len; k++)
      add_element(build, i, part->type->elements->pdata[k], FALSE);
    for (int e = part->first_element; e < job->n_elements; e++)
      overlay_keys(build, &job->elements[e], record, TRUE, TRUE);
    for (guint k = 0; buckets[i] != NULL && k < buckets[i]->len; k++)
      add_element(build, i, buckets[i]->pdata[k], TRUE);
    hand_through(build, part, record);
  }
  for (int i = 0; i < job->n_parts; i++)
    hand_input(build, i);
  for (int i = 0; i < job->n_parts; i++)
    for (int e = job->parts[i].first_element;
         e < job->parts[i].first_element + job->parts[i].n_elements; e++)
      link_element(build, i, buckets[i], &job->elements[e]);
  lg_build_free_buckets(buckets, job->n_parts);
}

/* `only-when="KEY=on"` of parts, once all inputs are known. */
void lg_build_inputs(LgJobBuild *build)
{
  LgJob *const job = build->job;
  for (int i = 0; i < job->n_parts; i++) {
    const LgValue *const value = lg_record_key(build->part_records->pdata[i], "only-when");
    if (value == NULL)
      continue;
    g_autoptr(GError) error = NULL;
    LgCondition condition;
    if (job->parts[i].input < 0)
      lg_build_problem(
          build, value->origin, g_strdup_printf("`%s` has no positions", job->parts[i].name),
          g_strdup("`only-when` ties a part with positions to another input; take it out"));
    else if (!lg_job_read_condition(job, value->text, &condition, &error))
      lg_build_problem(build, value->origin, g_strdup(error->message),
                       g_strdup("write INPUT=position, such as KEY=on"));
    else if (condition.input == job->parts[i].input)
      lg_build_problem(build, value->origin,
                       g_strdup_printf("`%s` waits for itself", job->parts[i].name),
                       g_strdup("name another input"));
    else {
      job->inputs[job->parts[i].input].when_input = condition.input;
      job->inputs[job->parts[i].input].when_positions = condition.positions;
    }
  }
}
