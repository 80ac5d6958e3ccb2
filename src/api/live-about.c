/* All that is known of one thing: figures now and at their worst, what joins it, on what it rests.
 */
#include "api/live-private.h"
#include "base/words.h"
#include "packet/tables-private.h"
#include "studies/shorts.h"
#include <math.h>
#include <string.h>

typedef struct {
  const LgLive *live;
  const LgJob *job;
  json_t *figures;
} Telling;

static char *quantity(const Telling *t, double value, LgDim dim)
{
  return lg_words_quantity(t->job, value, dim);
}

static void put(const Telling *t, const char *what, const char *value, int state)
{
  if (value == NULL || value[0] == '\0')
    return;
  json_t *const figure = json_object();
  json_object_set_new(figure, "what", json_string(T_(what)));
  json_object_set_new(figure, "value", lg_json_text(value));
  if (state >= 0) {
    g_autofree char *words =
        lg_state_words(t->job, lg_states_position(t->live->sizing->states, state));
    json_object_set_new(figure, "state", lg_json_text(words));
  }
  json_array_append_new(t->figures, figure);
}

static void put_quantity(const Telling *t, const char *what, double value, LgDim dim, int state)
{
  if (isnan(value))
    return;
  g_autofree char *words = isinf(value) ? g_strdup(T_("without limit")) : quantity(t, value, dim);
  put(t, what, words, state);
}

static void put_extreme(const Telling *t, const char *what, LgExtreme extreme, LgDim dim)
{
  if (extreme.state >= 0)
    put_quantity(t, what, extreme.value, dim, extreme.state);
}

/* --- wires --- */

static char *where_words(const Telling *t, int run)
{
  return run < 0 ? g_strdup(T_("in free air at its end"))
                 : g_strdup_printf(T_("in run %s"), t->job->runs[run].name);
}

static void put_warmth(const Telling *t, int w)
{
  const LgLive *const live = t->live;
  const LgWireSize *const size = &live->sizing->wires[w];
  g_autofree char *now = quantity(t, live->wire_K[w], LG_DIM_TEMPERATURE);
  g_autofree char *now_where = where_words(t, live->wire_run[w]);
  g_autofree char *now_words = isinf(live->wire_K[w]) ? g_strdup(T_("no balance: it burns"))
                                                      : g_strdup_printf("%s %s", now, now_where);
  put(t, N_("temperature now"), now_words, -1);
  g_autofree char *worst = quantity(t, size->conductor_K, LG_DIM_TEMPERATURE);
  g_autofree char *worst_where = where_words(t, size->worst.run);
  g_autofree char *worst_words =
      isinf(size->conductor_K)
          ? g_strdup(T_("no balance: it burns"))
          : g_strdup_printf(size->worst.n_warm > 1
                                ? T_("%s %s with %d loaded wires there, itself included")
                                : T_("%s %s with %d loaded wire there, itself included"),
                            worst, worst_where, MAX(size->worst.n_warm, 1));
  put(t, N_("temperature at worst"), worst_words, size->worst.state);
  put_quantity(t, N_("its insulation bears for good"), t->job->wires[w].insulation->temperature_K,
               LG_DIM_TEMPERATURE, -1);
}

static void put_short(const Telling *t, int w)
{
  const LgWireShort *const s = &t->live->shorts->wires[w];
  if (!s->fed)
    return;
  g_autofree char *amps = quantity(t, s->amps, LG_DIM_CURRENT);
  g_autofree char *within = quantity(t, s->opens_s, LG_DIM_TIME);
  g_autofree char *opens = s->opened_by < 0 || isinf(s->opens_s)
                               ? g_strdup(T_("nothing need open"))
                               : g_strdup_printf(T_("%s opens after %s at the latest"),
                                                 lg_words_name(t->job, s->opened_by), within);
  g_autofree char *reached = quantity(t, s->reached_K, LG_DIM_TEMPERATURE);
  g_autofree char *limit = quantity(t, s->limit_K, LG_DIM_TEMPERATURE);
  g_autofree char *words =
      g_strdup_printf(T_("%s; %s; it gets to %s and may reach %s"), amps, opens, reached, limit);
  put(t, N_("a short to the body where it is worst"), words, -1);
}

static void tell_wire(const Telling *t, int w)
{
  const LgLive *const live = t->live;
  const LgWire *const wire = &t->job->wires[w];
  const LgWireSize *const size = &live->sizing->wires[w];
  const LgWireStates *const states = &live->sizing->states->wires[w];
  const double amps = fabs(live->point->wire_A[w]);
  put_quantity(t, N_("current now"), amps, LG_DIM_CURRENT, -1);
  put_extreme(t, N_("greatest current"), states->most_A, LG_DIM_CURRENT);
  if (states->brief_A.value > 1.01 * states->most_A.value)
    put_extreme(t, N_("greatest for seconds, while a load starts or stalls"), states->brief_A,
                LG_DIM_CURRENT);
  put_quantity(t, N_("may carry for good"), size->tight.allowed_A, LG_DIM_CURRENT, -1);
  put_quantity(t, N_("volts lost now"),
               amps * lg_wire_resistance(t->job, wire, size->conductor, wire->hot_K),
               LG_DIM_VOLTAGE, -1);
  put_quantity(t, N_("volts lost at the greatest current"), size->drop_V, LG_DIM_VOLTAGE, -1);
  put_warmth(t, w);
  g_autofree char *size_words = lg_words_size(size->conductor);
  g_autofree char *chosen = g_strdup_printf(
      "%s, %s", size_words, wire->is_auto ? T_("chosen here") : T_("as the sheet says"));
  put(t, N_("size"), chosen, -1);
  put_quantity(t, N_("length, one way"), wire->length_m, LG_DIM_LENGTH, -1);
  g_autofree char *colour = lg_words_colour(wire->colour);
  put(t, N_("colour"), colour, -1);
  put(t, N_("insulation"), wire->insulation->name, -1);
  g_autofree char *fuses = lg_words_fuses(live->sizing, w);
  put(t, N_("protected by"), fuses, -1);
  put_short(t, w);
  put(t, N_("what it may carry rests on"), lg_table_text(live->sizes, w, "basis"), -1);
}

static char *binds_words(const LgLive *live, int w)
{
  const char *const binds = lg_table_text(live->sizes, w, "binds");
  const char *const refused = lg_table_text(live->sizes, w, "refused");
  return refused[0] != '\0'
             ? g_strdup_printf(T_("%s; one size smaller is refused, %s"), binds, refused)
             : g_strdup(binds);
}

/* --- pins --- */

static char *joins_words(const LgJob *job, int pin)
{
  g_autoptr(GString) words = g_string_new(NULL);
  for (int w = 0; w < job->n_wires; w++)
    for (int k = 0; k < 2; k++)
      if (job->wires[w].pin[k] == pin) {
        g_autofree char *one = g_strdup_printf(T_("%s leads to %s"), job->wires[w].name,
                                               job->pins[job->wires[w].pin[1 - k]].name);
        lg_words_add(words, ", ", one);
      }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static char *behind_words(const LgJob *job, int pin)
{
  g_autoptr(GString) words = g_string_new(NULL);
  const LgPart *const part = &job->parts[job->pins[pin].part];
  for (int e = part->first_element; e < part->first_element + part->n_elements; e++)
    if (job->elements[e].pin[0] == pin || job->elements[e].pin[1] == pin) {
      g_autofree char *one =
          g_strdup_printf("%s (%s)", job->elements[e].name, lg_words_element(job, e));
      lg_words_add(words, ", ", one);
    }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static void put_terminal(const Telling *t, const LgTerminal *terminal)
{
  if (terminal == NULL)
    return;
  g_autofree char *least = quantity(t, terminal->wire_from_mm2, LG_DIM_AREA);
  g_autofree char *most = quantity(t, terminal->wire_to_mm2, LG_DIM_AREA);
  g_autofree char *words =
      isnan(terminal->wire_from_mm2)
          ? g_strdup(terminal->name)
          : g_strdup_printf(T_("%s, for wires of %s to %s"), terminal->name, least, most);
  put(t, N_("terminal"), words, -1);
}

static void tell_pin(const Telling *t, int p)
{
  static const char *const fitted[] = {N_("yes"), N_("no terminal in this cavity"),
                                       N_("nobody has looked")};
  static const char *const carries[] = {N_("power"), N_("return"), N_("signal"), N_("sensor")};
  const LgPin *const pin = &t->job->pins[p];
  const LgPinStates *const states = &t->live->sizing->states->pins[p];
  const double volts = t->live->point->volts[p];
  if (pin->restraint != LG_RESTRAINT_NO)
    put(t, N_("leave alone"),
        pin->restraint == LG_RESTRAINT_YES
            ? T_("it belongs to an airbag or belt pretensioner: no wire, no meter, no lamp")
            : T_("it may belong to an airbag or belt pretensioner: no wire, no meter, no lamp"),
        -1);
  if (isfinite(volts))
    put_quantity(t, N_("volts now"), volts, LG_DIM_VOLTAGE, -1);
  else
    put(t, N_("volts now"), T_("tied to nothing"), -1);
  put_extreme(t, N_("most volts"), states->most_V, LG_DIM_VOLTAGE);
  put_extreme(t, N_("least volts"), states->least_V, LG_DIM_VOLTAGE);
  g_autofree char *joins = joins_words(t->job, p);
  put(t, N_("wires"), joins[0] != '\0' ? joins : T_("none"), -1);
  g_autofree char *behind = behind_words(t->job, p);
  put(t, N_("behind it"), behind[0] != '\0' ? behind : T_("nothing known"), -1);
  put_terminal(t, pin->terminal);
  if (pin->fitted != LG_FITTED_YES)
    put(t, N_("fitted"), T_(fitted[pin->fitted]), -1);
  if (pin->carries != LG_CARRIES_UNSAID)
    put(t, N_("carries"), T_(carries[pin->carries]), -1);
  g_autofree char *colour = lg_words_colour(pin->colour);
  put(t, N_("colour found there"), colour, -1);
}

/* "measured: R3 on 2026-05-02 by ..." */
static char *evidence_words(const LgJob *job, int p)
{
  const LgPin *const pin = &job->pins[p];
  g_autoptr(GString) words = g_string_new(NULL);
  if (pin->from_type)
    return g_strdup(T_("as every part of this type has it"));
  switch (pin->evidence) {
  case LG_EVIDENCE_MEASURED:
    for (int r = 0; r < job->n_readings; r++) {
      const LgReading *const reading = &job->readings[r];
      if (reading->pin[0] != p && reading->pin[1] != p)
        continue;
      g_autofree char *one =
          reading->date != NULL
              ? g_strdup_printf(T_("reading %s of %s"), reading->name, reading->date)
              : g_strdup_printf(T_("reading %s"), reading->name);
      lg_words_add(words, ", ", one);
    }
    g_string_prepend(words, words->len > 0 ? ": " : "");
    g_string_prepend(words, T_("measured"));
    break;
  case LG_EVIDENCE_DOCUMENT:
    g_string_append(words, pin->said_measured
                               ? T_("said to be measured, but no reading in the sheet names it")
                               : T_("by its papers"));
    break;
  case LG_EVIDENCE_TOLD:
    g_string_append(words, T_("by hearsay: measure it before first power"));
    break;
  case LG_EVIDENCE_GUESS:
    g_string_append(words, T_("a guess: measure it before first power"));
    break;
  }
  if (pin->said_by != NULL)
    g_string_append_printf(words, " (%s)", pin->said_by);
  return g_string_free(g_steal_pointer(&words), FALSE);
}

/* --- parts and elements --- */

static char *pin_list(const LgJob *job, const LgPart *part)
{
  g_autoptr(GString) words = g_string_new(NULL);
  for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++) {
    const LgPin *const pin = &job->pins[p];
    g_autofree char *one = pin->label != NULL
                               ? g_strdup_printf("%s (%s)", pin->short_name, pin->label)
                               : g_strdup(pin->short_name);
    lg_words_add(words, ", ", one);
  }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static char *element_list(const LgJob *job, const LgPart *part)
{
  g_autoptr(GString) words = g_string_new(NULL);
  for (int e = part->first_element; e < part->first_element + part->n_elements; e++) {
    g_autofree char *one =
        g_strdup_printf("%s (%s)", job->elements[e].short_name, lg_words_element(job, e));
    lg_words_add(words, ", ", one);
  }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static void put_element_now(const Telling *t, int e)
{
  const LgLive *const live = t->live;
  const LgElement *const element = &t->job->elements[e];
  const double amps = fabs(live->point->element_A[e]), volts = fabs(live->point->element_V[e]);
  put_quantity(t, N_("current now"), amps, LG_DIM_CURRENT, -1);
  put_quantity(t, N_("volts across it now"), volts, LG_DIM_VOLTAGE, -1);
  put_quantity(t, N_("power now"), amps * volts, LG_DIM_POWER, -1);
  if (element->kind == LG_EL_COIL)
    put(t, N_("the relay is"), live->point->pulled[e] ? T_("pulled") : T_("released"), -1);
  if (lg_element_is_contact(element->kind))
    put(t, N_("the contact is"), lg_live_is_closed(live, e) ? T_("closed") : T_("open"), -1);
}

static void put_protection(const Telling *t, int e)
{
  const LgFuseSize *const size = &t->live->sizing->fuses[e];
  g_autofree char *rating =
      isnan(size->rating_A) ? g_strdup(T_("none serves")) : lg_words_rating(size->rating_A);
  g_autofree char *chosen = g_strdup_printf(
      "%s, %s", rating, size->is_auto ? T_("chosen here") : T_("as the sheet says"));
  put(t, N_("rating"), chosen, -1);
  if (size->wire >= 0 && size->wire < t->job->n_wires && !isnan(size->wire_A)) {
    g_autofree char *amps = quantity(t, size->wire_A, LG_DIM_CURRENT);
    g_autofree char *words =
        g_strdup_printf(T_("%s, which may carry %s"), t->job->wires[size->wire].name, amps);
    put(t, N_("weakest wire behind it"), words, -1);
  }
}

static void tell_element(const Telling *t, int e)
{
  const LgElement *const element = &t->job->elements[e];
  const LgElementStates *const states = &t->live->sizing->states->elements[e];
  put_element_now(t, e);
  put_extreme(t, N_("greatest current"), states->most_A, LG_DIM_CURRENT);
  if (states->brief_A.value > 1.01 * states->most_A.value)
    put_extreme(t, N_("greatest for seconds, while a load starts or stalls"), states->brief_A,
                LG_DIM_CURRENT);
  if (lg_element_is_load(element->kind) || element->kind == LG_EL_COIL) {
    put_extreme(t, N_("most volts across it"), states->most_V, LG_DIM_VOLTAGE);
    put_extreme(t, N_("least volts across it"), states->least_V, LG_DIM_VOLTAGE);
    put_extreme(t, N_("greatest power"), states->most_W, LG_DIM_POWER);
    put_extreme(t, N_("volts lost in the feed"), states->drop_feed_V, LG_DIM_VOLTAGE);
    put_extreme(t, N_("volts lost in the return"), states->drop_return_V, LG_DIM_VOLTAGE);
  }
  if (states->rest_A.value >= 1e-4)
    put_extreme(t, N_("current at rest"), states->rest_A, LG_DIM_CURRENT);
  put_quantity(t, N_("made for"), element->p[LG_P_VOLTS], LG_DIM_VOLTAGE, -1);
  put_quantity(t, N_("rated power"), element->p[LG_P_POWER], LG_DIM_POWER, -1);
  put_quantity(t, N_("pulls in at"), element->p[LG_P_PULL_IN], LG_DIM_VOLTAGE, -1);
  put_quantity(t, N_("drops out at"), element->p[LG_P_DROP_OUT], LG_DIM_VOLTAGE, -1);
  if (lg_element_is_protection(element->kind))
    put_protection(t, e);
}

static void tell_part(const Telling *t, int index)
{
  const LgPart *const part = &t->job->parts[index];
  put(t, N_("type"), part->type != NULL ? part->type->name : part->class_word, -1);
  put(t, N_("comes from"), lg_words_is(part->is), -1);
  if (part->place >= 0) {
    const LgPlace *const place = &t->job->places[part->place];
    put(t, N_("place"), place->where != NULL ? place->where : place->name, -1);
  }
  if (part->input >= 0) {
    const LgInput *const input = &t->job->inputs[part->input];
    put(t, N_("stands at"), input->positions[t->live->point->position[part->input]], -1);
  }
  g_autofree char *pins = pin_list(t->job, part);
  put(t, N_("pins"), pins, -1);
  g_autofree char *elements = element_list(t->job, part);
  put(t, N_("holds"), elements, -1);
  if (part->n_elements == 1)
    tell_element(t, part->first_element);
  put(t, N_("bought at"), part->buy, -1);
  put(t, N_("price"), part->price, -1);
  put(t, N_("must not be lost"), part->vital, -1);
}

/* --- findings on it --- */

static gboolean thing_of(const LgLive *live, const LgSubject *subject, LgThingKind *thing,
                         int *index)
{
  return subject->kind != NULL && subject->name != NULL &&
         lg_live_find(live, subject->kind, subject->name, thing, index, NULL);
}

static int part_of(const LgJob *job, LgThingKind thing, int index)
{
  return thing == LG_THING_PIN       ? job->pins[index].part
         : thing == LG_THING_ELEMENT ? job->elements[index].part
         : thing == LG_THING_PART    ? index
                                     : -1;
}

static gboolean touches(const LgJob *job, LgThingKind a, int i, LgThingKind b, int k)
{
  return a == LG_THING_ELEMENT && b == LG_THING_PIN &&
         (job->elements[i].pin[0] == k || job->elements[i].pin[1] == k);
}

/* The same thing; a part and what it holds; an element and its pins. */
static gboolean concerns(const LgJob *job, LgThingKind a, int i, LgThingKind b, int k)
{
  if (a == b)
    return i == k;
  if (a == LG_THING_WIRE || b == LG_THING_WIRE || part_of(job, a, i) != part_of(job, b, k))
    return FALSE;
  return a == LG_THING_PART || b == LG_THING_PART || touches(job, a, i, b, k) ||
         touches(job, b, k, a, i);
}

static json_t *findings_on(const LgLive *live, LgThingKind thing, int index)
{
  json_t *const list = json_array();
  for (guint i = 0; i < live->subjects->len; i++) {
    const LgSubject *const subject = &g_array_index(live->subjects, LgSubject, i);
    LgThingKind other;
    int at;
    if (thing_of(live, subject, &other, &at) && concerns(live->job, thing, index, other, at))
      json_array_append_new(list, lg_json_text(subject->id));
  }
  return list;
}

/* --- all --- */

static char *what_words(const LgJob *job, LgThingKind thing, int index)
{
  if (thing == LG_THING_WIRE) {
    const LgWire *const wire = &job->wires[index];
    return g_strdup_printf(T_("%s to %s%s%s"), job->pins[wire->pin[0]].name,
                           job->pins[wire->pin[1]].name, wire->text != NULL ? ": " : "",
                           wire->text != NULL ? wire->text : "");
  }
  if (thing == LG_THING_PIN)
    return g_strdup(job->pins[index].label != NULL ? job->pins[index].label : "");
  if (thing == LG_THING_ELEMENT)
    return g_strdup_printf("%s: %s", lg_element_said(job->elements[index].kind),
                           lg_words_element(job, index));
  return g_strdup(lg_words_part(&job->parts[index]));
}

static int record_of(const LgJob *job, LgThingKind thing, int index)
{
  switch (thing) {
  case LG_THING_WIRE:
    return (int)job->wires[index].record;
  case LG_THING_PIN:
    return lg_live_record_at(job, job->pins[index].origin.line);
  case LG_THING_PART:
    return lg_live_record_at(job, job->parts[index].origin.line);
  case LG_THING_ELEMENT:
    return lg_live_record_at(job, job->elements[index].origin.line);
  case LG_N_THINGS:
    break;
  }
  g_assert_not_reached();
}

/* Tables and studies that only this needs. */
static void prepare(LgLive *live)
{
  if (live->sizes == NULL)
    live->sizes = lg_table_sizes(live->sizing);
  if (live->shorts == NULL)
    live->shorts = lg_shorts_new(live->sizing);
}

static json_t *tell(LgLive *live, LgThingKind thing, int index)
{
  void (*const tellers[LG_N_THINGS])(const Telling *, int) = {tell_wire, tell_pin, tell_part,
                                                              tell_element};
  const Telling t = {live, live->job, json_array()};
  tellers[thing](&t, index);
  return t.figures;
}

static const char *evidence_grade(const LgJob *job, LgThingKind thing, int index)
{
  static const char *const words[] = {"measured", "document", "told", "guess"};
  return thing == LG_THING_PIN       ? words[job->pins[index].evidence]
         : thing == LG_THING_ELEMENT ? words[job->elements[index].evidence]
         : thing == LG_THING_PART    ? words[job->parts[index].evidence]
                                     : NULL;
}

char *lg_live_about_json(LgLive *live, const char *kind, const char *name,
                         const char *const settings[], GError **error)
{
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(live->job->language));
  LgThingKind thing;
  int index;
  json_t *told;
  if (!lg_live_find(live, kind, name, &thing, &index, error) ||
      !lg_live_take_state(live, settings, NULL, &told, error))
    return NULL;
  prepare(live);
  const int record = record_of(live->job, thing, index);
  g_autofree char *what = what_words(live->job, thing, index);
  g_autofree char *binds = thing == LG_THING_WIRE ? binds_words(live, index) : NULL;
  g_autofree char *evidence = thing == LG_THING_PIN ? evidence_words(live->job, index) : NULL;
  json_t *const root = json_object();
  json_object_set_new(root, "kind", json_string(kind));
  json_object_set_new(root, "name", lg_json_text(name));
  json_object_set_new(root, "record", record >= 0 ? json_integer(record) : json_null());
  json_object_set_new(root, "what", lg_json_text(what));
  json_object_set_new(root, "figures", tell(live, thing, index));
  json_object_set_new(root, "binds", lg_json_text(binds));
  json_object_set_new(root, "findings", findings_on(live, thing, index));
  json_object_set_new(root, "evidence", lg_json_text(evidence_grade(live->job, thing, index)));
  json_object_set_new(root, "evidence_words", lg_json_text(evidence));
  return lg_json_take(root);
}
