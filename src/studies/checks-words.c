/* How the rules speak: quantities in the job's habit, and the names of things. */
#include "base/words.h"
#include "studies/checks-private.h"

const char *lg_say(LgCheckContext *c, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  g_autofree char *text = g_strdup_vprintf(format, arguments);
  va_end(arguments);
  return g_string_chunk_insert(c->words, text);
}

/* "30.0 A" reads as a measured figure; a rating is "30 A". */
static void drop_zeros(char *text)
{
  char *const end = text + lg_number_span(text, strlen(text));
  char *keep = end;
  if (memchr(text, '.', (gsize)(end - text)) == NULL)
    return;
  while (keep[-1] == '0')
    keep--;
  if (keep[-1] == '.')
    keep--;
  memmove(keep, end, strlen(end) + 1);
}

static const char *say_quantity(LgCheckContext *c, double value, LgDim dim, int digits)
{
  g_autofree char *text = lg_quantity_print(value, dim, c->job->habit, digits);
  drop_zeros(text);
  return g_string_chunk_insert(c->words, text);
}

const char *lg_say_amps(LgCheckContext *c, double amps)
{
  return say_quantity(c, amps, LG_DIM_CURRENT, 3);
}

const char *lg_say_volts(LgCheckContext *c, double volts)
{
  return say_quantity(c, volts, LG_DIM_VOLTAGE, 3);
}

const char *lg_say_ohms(LgCheckContext *c, double ohm)
{
  return say_quantity(c, ohm, LG_DIM_RESISTANCE, 3);
}

const char *lg_say_watts(LgCheckContext *c, double watts)
{
  return say_quantity(c, watts, LG_DIM_POWER, 3);
}

const char *lg_say_metres(LgCheckContext *c, double metres)
{
  return say_quantity(c, metres, LG_DIM_LENGTH, 3);
}

const char *lg_say_degrees(LgCheckContext *c, double temperature_K)
{
  return say_quantity(c, temperature_K, LG_DIM_TEMPERATURE, 3);
}

const char *lg_say_warmth(LgCheckContext *c, double difference_K)
{
  return say_quantity(c, difference_K, LG_DIM_WARMTH, 2);
}

const char *lg_say_mm2(LgCheckContext *c, double mm2)
{
  return say_quantity(c, mm2, LG_DIM_AREA, 3);
}

const char *lg_say_hours(LgCheckContext *c, double hours)
{
  return say_quantity(c, hours * 3600, LG_DIM_TIME, 2);
}

const char *lg_say_seconds(LgCheckContext *c, double seconds)
{
  return say_quantity(c, seconds, LG_DIM_TIME, 2);
}

const char *lg_say_percent(LgCheckContext *c, double share)
{
  return say_quantity(c, share, LG_DIM_RATIO, 3);
}

const char *lg_say_state(LgCheckContext *c, int state)
{
  if (state < 0)
    return T_("in no state");
  g_autofree char *words = lg_state_words(c->job, lg_states_position(c->states, state));
  return lg_say(c, state == 0 ? T_("with %s") : T_("in %s"), words);
}

const char *lg_say_states(LgCheckContext *c, guint64 n)
{
  return lg_say(c, n == 1 ? T_("%lu state") : T_("%lu states"), (gulong)n);
}

const char *lg_say_element(LgCheckContext *c, int element)
{
  const LgElement *const e = &c->job->elements[element];
  const LgPart *const part = &c->job->parts[e->part];
  return part->n_elements == 1 && strcmp(part->class_word, "assembly") != 0 ? part->name : e->name;
}

const char *lg_say_wire(LgCheckContext *c, int wire)
{
  const LgWire *const w = &c->job->wires[wire];
  const LgConductor *const conductor = lg_conductor_of(c, wire);
  return conductor != NULL ? lg_say(c, "%s (%s, %s)", w->name, w->colour, conductor->name)
                           : lg_say(c, "%s (%s)", w->name, w->colour);
}

const char *lg_say_stretch(LgCheckContext *c, const LgStretchHeat *stretch)
{
  const char *const ambient = lg_say_degrees(c, stretch->ambient_K);
  if (stretch->run < 0)
    return lg_say(c, T_("in free air of %s"), ambient);
  const LgRun *const run = &c->job->runs[stretch->run];
  return lg_say(c, T_("in run %s (%s, %s) %s"), run->name,
                run->cover != NULL ? run->cover->name : T_("no covering"), ambient,
                stretch->n_warm > 1
                    ? lg_say(c, T_("with %d loaded wires together"), stretch->n_warm)
                    : T_("by itself"));
}

const char *lg_say_heat(LgCheckContext *c, int wire, const LgStretchHeat *stretch)
{
  const LgWire *const w = &c->job->wires[wire];
  const LgConductor *const conductor = lg_conductor_of(c, wire);
  const LgAllowance *const table = &c->sizing->wires[wire].allowance;
  const char *const published =
      table->allowed_A > 0
          ? lg_say(
                c, T_("by table %s (%s%s, %d C column, %s; x %.3g for %s, x %.3g for %s)"),
                lg_say_amps(c, table->allowed_A),
                table->source != NULL ? table->source : T_("no source"),
                table->interpolated ? T_(", between two sizes") : "", table->column_C,
                lg_say_amps(c, table->table_A), table->ambient_factor,
                lg_say_degrees(c, table->ambient_K), table->bundle_factor,
                lg_say(c, table->n_bundle == 1 ? T_("%d wire") : T_("%d wires"), table->n_bundle))
          : T_("no table reaches it");
  return lg_say(c, T_("heat balance: %s, %s insulation (%s%s) %s, may carry %s; %s"),
                conductor != NULL ? conductor->name : T_("wire"), w->insulation->name,
                lg_say_degrees(c, w->insulation->temperature_K),
                w->insulation->material == NULL ? T_(", material not said: counted as PVC") : "",
                lg_say_stretch(c, stretch), lg_say_amps(c, stretch->allowed_A), published);
}

void lg_found(LgCheckContext *c, LgOrigin origin, const char *subject, const char *what,
              const char *basis, const char *remedy)
{
  LgFinding *const finding = g_new0(LgFinding, 1);
  *finding = (LgFinding){.rule = c->rule->name,
                         .grade = c->rule->grade,
                         .origin = origin,
                         .subject = g_strdup(subject),
                         .what = g_strdup(what),
                         .basis = g_strdup(basis),
                         .remedy = g_strdup(remedy)};
  g_ptr_array_add(c->findings, finding);
}

gboolean lg_sizing_tells(const LgCheckContext *c, const char *subject)
{
  for (guint i = 0; i < c->sizing->findings->len; i++)
    if (strcmp(((const LgFinding *)c->sizing->findings->pdata[i])->subject, subject) == 0)
      return TRUE;
  return FALSE;
}
