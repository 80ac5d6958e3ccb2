/* Needs, readings, conditions, and the evidence that readings give to pins. */
#include "model/model-private.h"
#include <math.h>
#include <string.h>

G_DEFINE_QUARK(lg_job, lg_job_error)

static int position_named(const LgInput *input, const char *word)
{
  for (int p = 0; p < input->n_positions; p++)
    if (strcmp(input->positions[p], word) == 0)
      return p;
  return -1;
}

static char *list_positions(const LgInput *input)
{
  return g_strjoinv(", ", (char **)input->positions);
}

gboolean lg_job_read_condition(const LgJob *job, const char *text, LgCondition *condition,
                               GError **error)
{
  const char *const equals = strchr(text, '=');
  if (equals == NULL) {
    g_set_error(error, LG_JOB_ERROR, 0, "`%s` is no state: write INPUT=position", text);
    return FALSE;
  }
  g_autofree char *name = g_strndup(text, (gsize)(equals - text));
  const int input = lg_find(job->store->inputs, name);
  if (input < 0) {
    g_autofree char *hint = lg_build_did_you_mean(
        job->store->inputs, name, "inputs are parts with positions, thermostat calls and loads");
    g_set_error(error, LG_JOB_ERROR, 0, "nothing called `%s` has positions; %s", name, hint);
    return FALSE;
  }
  *condition = (LgCondition){.input = input};
  g_auto(GStrv) words = g_strsplit(equals + 1, ",", -1);
  for (int i = 0; words[i] != NULL; i++) {
    const int position = position_named(&job->inputs[input], words[i]);
    if (position < 0) {
      g_autofree char *list = list_positions(&job->inputs[input]);
      g_set_error(error, LG_JOB_ERROR, 0, "`%s` has no position `%s`; it has %s", name, words[i],
                  list);
      return FALSE;
    }
    condition->positions |= (uint64_t)1 << position;
  }
  return condition->positions != 0;
}

int lg_build_when(LgJobBuild *build, const LgRecord *record, LgCondition **when)
{
  *when = lg_build_block(build, (gsize)record->n_values, sizeof **when);
  int n = 0;
  for (int i = 0; i < record->n_values; i++) {
    if (record->fields[i] >= 0)
      continue;
    g_autoptr(GError) error = NULL;
    if (lg_job_read_condition(build->job, record->values[i].text, &(*when)[n], &error))
      n++;
    else
      lg_build_problem(build, record->values[i].origin,
                       g_strdup(error != NULL ? error->message : "a state without position"),
                       g_strdup("`when` takes states such as KEY=off S2=low,high"));
  }
  return n;
}

static gboolean find_target(const LgJob *job, const char *name, LgNeed *need)
{
  const struct {
    GHashTable *names;
    LgTarget target;
  } tables[] = {{job->store->elements, LG_TARGET_ELEMENT},
                {job->store->pins, LG_TARGET_PIN},
                {job->store->wires, LG_TARGET_WIRE}};
  for (gsize i = 0; i < G_N_ELEMENTS(tables); i++) {
    const int index = lg_find(tables[i].names, name);
    if (index >= 0) {
      need->target = tables[i].target;
      need->index = index;
      return TRUE;
    }
  }
  return FALSE;
}

static const char *const target_words[] = {"pin", "element", "wire"};

static gboolean measure_fits(LgTarget target, LgMeasure measure)
{
  static const gboolean fits[3][3] = {[LG_TARGET_PIN] = {FALSE, TRUE, FALSE},
                                      [LG_TARGET_ELEMENT] = {TRUE, TRUE, TRUE},
                                      [LG_TARGET_WIRE] = {TRUE, FALSE, FALSE}};
  return fits[target][measure];
}

static void read_need(LgJobBuild *build, const LgRecord *record)
{
  LgJob *const job = build->job;
  const LgValue *const target = lg_record_key(record, "target"), *const limit =
                                                                     lg_record_key(record, "limit");
  LgNeed need = {.text = lg_build_text(build, record->name),
                 .measure = (LgMeasure)limit->word,
                 .relation = limit->relation,
                 .limit = limit->low,
                 .origin = record->origin};
  if (!find_target(job, target->text, &need)) {
    char *hint = lg_build_did_you_mean(job->store->elements, target->text, "");
    if (hint[0] == '\0') {
      g_free(hint);
      hint =
          lg_build_did_you_mean(job->store->pins, target->text, "name an element, a pin or a wire");
    }
    lg_build_problem(build, target->origin,
                     g_strdup_printf("there is nothing called `%s`", target->text), hint);
    return;
  }
  if (!measure_fits(need.target, need.measure)) {
    lg_build_problem(
        build, limit->origin,
        g_strdup_printf("a %s has no `%s` of its own", target_words[need.target],
                        lg_limit_words[need.measure]),
        g_strdup("pins have volts; wires have current; elements have current, volts and power"));
    return;
  }
  need.n_when = lg_build_when(build, record, &need.when);
  job->needs[job->n_needs++] = need;
}

static void read_reading(LgJobBuild *build, const LgRecord *record)
{
  const LgValue *const from = lg_record_key(record, "from"), *const to =
                                                                 lg_record_key(record, "to");
  LgReading reading = {.name = lg_build_text(build, record->name),
                       .text = lg_build_text(build, record->text),
                       .pin = {lg_build_pin(build, from->text, -1, from->origin),
                               lg_build_pin(build, to->text, -1, to->origin)},
                       .resistance = lg_take_number(record, "resistance", NAN),
                       .volts = lg_take_number(record, "volts", NAN),
                       .current = lg_take_number(record, "current", NAN),
                       .lead = lg_take_number(record, "lead", 0.2),
                       .tolerance = lg_take_number(record, "tolerance", 0.01),
                       .temperature_K = lg_take_number(record, "temperature", LG_ZERO_C_IN_K + 20),
                       .open = lg_take_word(record, "open", 0) == 1,
                       .date = lg_take_text(build, record, "date", NULL),
                       .by = lg_take_text(build, record, "by", NULL),
                       .instrument = lg_take_text(build, record, "instrument", NULL),
                       .did = lg_take_text(build, record, "did", NULL),
                       .origin = record->origin};
  if (reading.pin[0] < 0 || reading.pin[1] < 0)
    return;
  if (isnan(reading.resistance) && isnan(reading.volts) && isnan(reading.current) &&
      !reading.open) {
    lg_build_problem(build, record->origin,
                     g_strdup_printf("reading `%s` has no value", reading.name),
                     g_strdup("write `resistance=`, `volts=` or `current=`, or `open=yes`"));
    return;
  }
  reading.n_when = lg_build_when(build, record, &reading.when);
  build->job->readings[build->job->n_readings++] = reading;
}

/* `measured` holds only where a reading in this sheet names the pin. */
static void weigh_evidence(LgJob *job)
{
  g_autofree gboolean *backed = g_new0(gboolean, (gsize)job->n_pins + 1);
  for (int i = 0; i < job->n_readings; i++)
    backed[job->readings[i].pin[0]] = backed[job->readings[i].pin[1]] = TRUE;
  for (int i = 0; i < job->n_pins; i++) {
    LgPin *const pin = &job->pins[i];
    if (pin->evidence == LG_EVIDENCE_MEASURED && !backed[i]) {
      pin->said_measured = TRUE;
      pin->evidence = LG_EVIDENCE_DOCUMENT;
    }
  }
}

void lg_build_intents(LgJobBuild *build)
{
  LgJob *const job = build->job;
  const GPtrArray *const needs = build->records[LG_KIND_NEED], *const readings =
                                                                   build->records[LG_KIND_READING];
  job->needs = lg_build_block(build, needs->len, sizeof *job->needs);
  job->readings = lg_build_block(build, readings->len, sizeof *job->readings);
  for (guint i = 0; i < needs->len; i++)
    read_need(build, needs->pdata[i]);
  for (guint i = 0; i < readings->len; i++)
    read_reading(build, readings->pdata[i]);
  weigh_evidence(job);
}
