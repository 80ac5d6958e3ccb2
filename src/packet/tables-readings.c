/* Expected readings: telling states solved at 20 C, with the loads and the battery at the ends of
 * their tolerance. */
#include "base/words.h"
#include "packet/tables-private.h"
#include <math.h>
#include <string.h>

static const LgColumn reading_columns[] = {
    LG_NUMBER_COLUMN("step", "Step", LG_DIM_NONE, 5),
    LG_TEXT_COLUMN("state", "State"),
    LG_TEXT_COLUMN("where", "Measure"),
    LG_NUMBER_COLUMN("expected", "Expect", LG_DIM_NONE, 3),
    LG_NUMBER_COLUMN("least", "Least", LG_DIM_NONE, 3),
    LG_NUMBER_COLUMN("most", "Most", LG_DIM_NONE, 3),
    LG_TEXT_COLUMN("unit", "Unit"),
    LG_COLUMNS_END,
};
static const LgColumn whole_columns[] = {
    LG_NUMBER_COLUMN("step", "Step", LG_DIM_NONE, 5),
    LG_TEXT_COLUMN("state", "State"),
    LG_TEXT_COLUMN("where", "Measure"),
    LG_NUMBER_COLUMN("expected", "Expect", LG_DIM_NONE, 3),
    LG_NUMBER_COLUMN("least", "Least", LG_DIM_NONE, 3),
    LG_NUMBER_COLUMN("most", "Most", LG_DIM_NONE, 3),
    LG_TEXT_COLUMN("unit", "Unit"),
    LG_ASK_COLUMNS,
    LG_COLUMNS_END,
};

/* The bench: the job as it stands, and with heavy or light loads on a half or a full battery. */
#define N_CORNERS 5

typedef struct {
  LgJob job;
  LgElement *elements;
  LgCircuit *circuit;
  LgNetWork *work;
  LgPoint *point;
} Corner;

/* A motor's running current goes with what it moves: common practice, no source. */
#define MOTOR_TOLERANCE 0.2

static void scale(LgElement *element, double sign)
{
  const double tolerance = lg_element_is_motor(element->kind)
                               ? fmax(element->p[LG_P_TOLERANCE], MOTOR_TOLERANCE)
                               : element->p[LG_P_TOLERANCE];
  const double ratio = 1 + sign * fmin(tolerance, 0.5);
  static const LgParam ohms[] = {LG_P_RESISTANCE, LG_P_R25};
  static const LgParam amps[] = {LG_P_RUN, LG_P_START, LG_P_STALL, LG_P_POWER};
  for (gsize i = 0; i < G_N_ELEMENTS(ohms); i++)
    element->p[ohms[i]] *= ratio;
  for (gsize i = 0; i < G_N_ELEMENTS(amps); i++)
    element->p[amps[i]] /= ratio;
}

/* `load`: +1 more ohms, -1 fewer; `charge`: of the batteries; NAN leaves them. */
static gboolean corner_init(Corner *corner, const LgSizing *sizing, double load, double charge)
{
  const LgJob *const job = sizing->circuit->job;
  corner->job = *job;
  corner->elements = g_memdup2(job->elements, (gsize)job->n_elements * sizeof *job->elements);
  corner->job.elements = corner->elements;
  for (int e = 0; e < job->n_elements; e++) {
    LgElement *const element = &corner->elements[e];
    if (load != 0 && lg_element_is_end(element->kind))
      scale(element, load);
    if (element->kind == LG_EL_CELL && !isnan(charge))
      element->p[LG_P_CHARGE] = charge;
  }
  corner->circuit = lg_circuit_new(&corner->job, LG_DAY_MILD, sizing->chosen, NULL);
  if (corner->circuit == NULL)
    return FALSE;
  corner->work = lg_net_work_new(corner->circuit->net);
  corner->point = lg_point_new(corner->circuit);
  return TRUE;
}

static void corner_clear(Corner *corner)
{
  lg_point_free(corner->point);
  lg_net_work_free(corner->work);
  lg_circuit_free(corner->circuit);
  g_free(corner->elements);
}

static void solve_corners(Corner corners[], const int position[])
{
  for (int c = 0; c < N_CORNERS; c++) {
    memcpy(corners[c].point->position, position, (gsize)corners[c].job.n_inputs * sizeof *position);
    lg_circuit_solve(corners[c].circuit, corners[c].work, corners[c].point);
  }
}

/* States to look at: arrays of n_inputs ints, each once. */
typedef struct {
  const LgJob *job;
  GPtrArray *states;
  guint base; /* the state with the key on, which the next are held against */
  guint n_left_out;
} Telling;

#define MOST_STATES 24

static void keep_state(Telling *telling, const int position[])
{
  const gsize size = (gsize)telling->job->n_inputs * sizeof *position;
  if (!lg_circuit_possible(telling->job, position))
    return;
  for (guint i = 0; i < telling->states->len; i++)
    if (size == 0 || memcmp(telling->states->pdata[i], position, size) == 0)
      return;
  if (telling->states->len >= MOST_STATES) {
    telling->n_left_out++;
    return;
  }
  int *const copy = g_new0(int, (gsize)telling->job->n_inputs + 1);
  if (size > 0)
    memcpy(copy, position, size);
  g_ptr_array_add(telling->states, copy);
}

static gboolean is_key(const LgJob *job, int input)
{
  return job->inputs[input].kind == LG_INPUT_HAND &&
         strcmp(job->parts[job->inputs[input].part].class_word, "key") == 0;
}

static int position_named(const LgInput *input, const char *word)
{
  for (int p = 0; p < input->n_positions; p++)
    if (strcmp(input->positions[p], word) == 0)
      return p;
  return -1;
}

/* Where the key stands for testing: `on`, else its last position. */
static int key_on(const LgInput *input)
{
  const int on = position_named(input, "on");
  return on >= 0 ? on : input->n_positions - 1;
}

/* Parts are cold when they are tested first, so the thermostats of a part that is switched on
 * call. */
static void call_thermostats(const LgJob *job, int position[], int part)
{
  for (int i = 0; i < job->n_inputs; i++)
    if (job->inputs[i].kind == LG_INPUT_CALL && job->inputs[i].part == part &&
        (job->inputs[i].when_input < 0 ||
         (job->inputs[i].when_positions >> position[job->inputs[i].when_input] & 1) != 0))
      position[i] = 1;
}

static void set_base(const LgJob *job, int position[], gboolean key)
{
  for (int i = 0; i < job->n_inputs; i++)
    position[i] = key && is_key(job, i) ? key_on(&job->inputs[i]) : 0;
  for (int p = 0; p < job->n_parts; p++)
    if (job->parts[p].input < 0)
      call_thermostats(job, position, p);
}

/* Sets an input, and what must stand first for it to move. */
static void set_input(const LgJob *job, int position[], int input, int to, int depth)
{
  const LgInput *const i = &job->inputs[input];
  if (i->when_input >= 0 && to != 0 && depth > 0 &&
      (i->when_positions >> position[i->when_input] & 1) == 0)
    for (int p = 0; p < job->inputs[i->when_input].n_positions; p++)
      if (i->when_positions >> p & 1) {
        set_input(job, position, i->when_input, p, depth - 1);
        break;
      }
  position[input] = to;
}

static void keep_hands(Telling *telling, int position[])
{
  const LgJob *const job = telling->job;
  for (int i = 0; i < job->n_inputs; i++) {
    if (job->inputs[i].kind != LG_INPUT_HAND)
      continue;
    const int last = job->inputs[i].n_positions - 1;
    for (int p = lg_input_is_charger(job, i) ? last : 1; p <= last; p++) {
      set_base(job, position, !is_key(job, i));
      set_input(job, position, i, p, job->n_inputs);
      call_thermostats(job, position, job->inputs[i].part);
      keep_state(telling, position);
    }
  }
}

/* Each thermostat satisfied, its switch at its last position. */
static void keep_calls(Telling *telling, int position[])
{
  const LgJob *const job = telling->job;
  for (int i = 0; i < job->n_inputs; i++) {
    if (job->inputs[i].kind != LG_INPUT_CALL)
      continue;
    const int hand = job->parts[job->inputs[i].part].input;
    set_base(job, position, TRUE);
    if (hand >= 0)
      set_input(job, position, hand, job->inputs[hand].n_positions - 1, job->n_inputs);
    position[i] = 0;
    keep_state(telling, position);
  }
}

static void gather(Telling *telling, const LgStates *states)
{
  const LgJob *const job = telling->job;
  g_autofree int *position = g_new0(int, (gsize)job->n_inputs + 1);
  keep_state(telling, position);
  set_base(job, position, TRUE);
  keep_state(telling, position);
  telling->base = telling->states->len - 1;
  keep_hands(telling, position);
  keep_calls(telling, position);
  if (states->supply_A.state >= 0) {
    const guint8 *const worst = lg_states_position(states, states->supply_A.state);
    for (int i = 0; i < job->n_inputs; i++)
      position[i] = worst[i];
    keep_state(telling, position);
  }
}

typedef struct {
  double expected, least, most;
} Span;

/* Below these a meter shows nothing worth noting. */
#define LEAST_A 1e-3
#define LEAST_V 0.1

/* What a cheap meter adds: 1 % of reading (common practice, no source). */
#define METER 0.01

static Span span_of(const Corner corners[], int element, gboolean volts)
{
  Span span = {NAN, INFINITY, -INFINITY};
  for (int c = 0; c < N_CORNERS; c++) {
    const LgPoint *const point = corners[c].point;
    const double raw = volts ? point->element_V[element] : point->element_A[element];
    const double value = isnan(raw) ? 0 : fabs(raw);
    if (c == 0)
      span.expected = value;
    span.least = fmin(span.least, value);
    span.most = fmax(span.most, value);
  }
  const double nothing = volts ? LEAST_V : LEAST_A;
  if (span.most < nothing)
    return (Span){0, 0, nothing};
  span.least *= 1 - METER;
  span.most *= 1 + METER;
  return span;
}

typedef struct {
  LgTable *table;
  const LgJob *job;
  const Corner *corners;
  const char *state, *when; /* in words; as settings */
  double *base_V, *base_A;  /* [n_elements] as expected with the key on; NAN before that */
  GString *same;            /* states in which nothing differs from it */
  gboolean all;             /* every reading, not only those that differ from the key's */
} Sheet;

/* `e`: the element that it is measured across or through; -1: any of several. */
static void add_row(const Sheet *sheet, const char *where, int e, Span span, const char *unit)
{
  LgAsk ask = {strcmp(unit, "V") == 0 ? "volts" : "current", -1, -1, span.least, span.most, FALSE};
  if (e >= 0) {
    /* The red lead where plus is. */
    const gboolean turned = sheet->corners[0].point->element_V[e] < 0;
    ask.red = sheet->job->elements[e].pin[turned ? 1 : 0];
    ask.black = sheet->job->elements[e].pin[turned ? 0 : 1];
  }
  lg_table_add(sheet->table, (double)(sheet->table->n_rows + 1), sheet->state, where, span.expected,
               span.least, span.most, unit, LG_ASK_CELLS(sheet->job, ask, sheet->when));
}

/* A load that draws less is a signal. */
#define SIGNAL_A 5e-3

/* Readings that differ from the base by less tell nothing new. */
#define TELLING 0.03

static gboolean is_telling(const Sheet *sheet, double expected, double base, double least)
{
  return sheet->all || isnan(base) || fabs(expected - base) > TELLING * fmax(base, least);
}

static gboolean engine_runs(const Sheet *sheet)
{
  for (int i = 0; i < sheet->job->n_inputs; i++)
    if (lg_input_is_charger(sheet->job, i) && sheet->corners[0].point->position[i] != 0)
      return TRUE;
  return FALSE;
}

static void add_battery(const Sheet *sheet, int e)
{
  const LgElement *const cell = &sheet->job->elements[e];
  const Span volts = span_of(sheet->corners, e, TRUE), amps = span_of(sheet->corners, e, FALSE);
  g_autofree char *across =
      g_strdup_printf(T_("battery: %s to %s"), sheet->job->pins[cell->pin[0]].name,
                      sheet->job->pins[cell->pin[1]].name);
  g_autofree char *drawn = g_strdup_printf(T_("current from %s"), lg_words_name(sheet->job, e));
  if (is_telling(sheet, volts.expected, sheet->base_V[e], LEAST_V))
    add_row(sheet, across, e, volts, "V");
  /* With the engine running it depends on how empty the battery is. */
  if (!engine_runs(sheet) && is_telling(sheet, amps.expected, sheet->base_A[e], LEAST_A))
    add_row(sheet, drawn, e, amps, "A");
}

static gboolean is_nothing(Span span)
{
  return span.expected == 0 && span.least == 0;
}

/* Dead ones are gathered in `dead`, so that one row serves them all. */
static void add_fuse(const Sheet *sheet, int e, GString *dead)
{
  const Span span = span_of(sheet->corners, e, FALSE);
  const char *const name = lg_words_name(sheet->job, e);
  g_autofree char *where = g_strdup_printf(T_("current at %s"), name);
  if (sheet->all && is_nothing(span))
    lg_words_add(dead, ", ", name);
  else if (is_telling(sheet, span.expected, sheet->base_A[e], LEAST_A))
    add_row(sheet, where, e, span, "A");
}

static gboolean may_touch(const LgJob *job, const LgElement *element)
{
  return !lg_pin_is_restraint(job, element->pin[0]) && !lg_pin_is_restraint(job, element->pin[1]);
}

static void add_load(const Sheet *sheet, int e, GString *dead)
{
  const LgJob *const job = sheet->job;
  const LgElement *const element = &job->elements[e];
  const Span span = span_of(sheet->corners, e, TRUE);
  if (!may_touch(job, element) ||
      (element->kind == LG_EL_RESISTOR && span_of(sheet->corners, e, FALSE).most < SIGNAL_A))
    return;
  const char *const name = lg_words_name(job, e);
  g_autofree char *where = g_strdup_printf(
      T_("%s: %s to %s"), name, job->pins[element->pin[0]].name, job->pins[element->pin[1]].name);
  if (sheet->all && is_nothing(span))
    lg_words_add(dead, ", ", name);
  else if (is_telling(sheet, span.expected, sheet->base_V[e], LEAST_V))
    add_row(sheet, where, e, span, "V");
}

static void add_dead(const Sheet *sheet, const GString *dead, const char *what, Span span,
                     const char *unit)
{
  g_autofree char *where = g_strdup_printf(T_("%s each of %s"), what, dead->str);
  if (dead->len > 0)
    add_row(sheet, where, -1, span, unit);
}

static void add_fuses_and_loads(const Sheet *sheet)
{
  const LgJob *const job = sheet->job;
  g_autoptr(GString) fuses = g_string_new(NULL), loads = g_string_new(NULL);
  for (int e = 0; e < job->n_elements; e++)
    if (lg_element_is_protection(job->elements[e].kind))
      add_fuse(sheet, e, fuses);
  add_dead(sheet, fuses, T_("current at"), (Span){0, 0, LEAST_A}, "A");
  for (int e = 0; e < job->n_elements; e++)
    if (lg_element_is_load(job->elements[e].kind))
      add_load(sheet, e, loads);
  add_dead(sheet, loads, T_("volts across"), (Span){0, 0, LEAST_V}, "V");
}

static void keep_base(Sheet *sheet)
{
  for (int e = 0; e < sheet->job->n_elements; e++) {
    sheet->base_V[e] = span_of(sheet->corners, e, TRUE).expected;
    sheet->base_A[e] = span_of(sheet->corners, e, FALSE).expected;
  }
}

/* The state as a reading's settings; at rest the first input says so. */
static char *settings(const LgJob *job, const char *words, const guint8 position[])
{
  gboolean rests = TRUE;
  for (int i = 0; i < job->n_inputs; i++)
    rests = rests && position[i] == 0;
  if (!rests)
    return g_strdup(words);
  return job->n_inputs == 0
             ? g_strdup("")
             : g_strdup_printf("%s=%s", job->inputs[0].name, job->inputs[0].positions[0]);
}

static void add_state(Sheet *sheet, Corner corners[], const int position[])
{
  const LgJob *const job = sheet->job;
  g_autofree guint8 *bytes = g_new0(guint8, (gsize)job->n_inputs + 1);
  for (int i = 0; i < job->n_inputs; i++)
    bytes[i] = (guint8)position[i];
  g_autofree char *words = lg_state_words(job, bytes), *when = settings(job, words, bytes);
  solve_corners(corners, position);
  sheet->state = words;
  sheet->when = when;
  const int before = sheet->table->n_rows;
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_CELL)
      add_battery(sheet, e);
  add_fuses_and_loads(sheet);
  if (sheet->table->n_rows == before)
    lg_words_add(sheet->same, "; ", words);
}

static char *note_for(const LgJob *job, const Telling *telling, const char *same)
{
  g_autoptr(GString) note = g_string_new(NULL);
  g_autofree char *warmth = lg_words_warmth(job, 20);
  g_string_append_printf(
      note,
      T_("Everything at %s, parts cold, so thermostats call. After the first states only what "
         "differs from the key on is listed. Least and most: loads at the ends of their tolerance "
         "(motors at least 20 %%), battery between half and fully charged, meter 1 %%. Running "
         "currents, after the start. Over 10 A: a clamp meter, or millivolts over the fuse; a "
         "multimeter's socket does not bear it."),
      warmth);
  gboolean charger = FALSE;
  for (int e = 0; e < job->n_elements; e++)
    charger = charger || job->elements[e].kind == LG_EL_ALTERNATOR ||
              job->elements[e].kind == LG_EL_DYNAMO;
  if (charger)
    g_string_append(note, T_(" Engine off unless the state names it."));
  if (same[0] != '\0')
    g_string_append_printf(note, T_(" Nothing differs from it in: %s."), same);
  if (telling->n_left_out > 0)
    g_string_append_printf(note, T_(" %u more switch positions are not listed."),
                           telling->n_left_out);
  return g_string_free(g_steal_pointer(&note), FALSE);
}

LgTable *lg_steps_readings(const LgSizing *sizing)
{
  static const struct {
    double load, charge;
  } corner_of[N_CORNERS] = {{0, NAN}, {-1, 0.5}, {-1, 1}, {1, 0.5}, {1, 1}};
  const LgJob *const job = sizing->circuit->job;
  LgTable *const table = lg_table_new("readings", T_("Expected readings"), whole_columns);
  Telling telling = {.job = job, .states = g_ptr_array_new_with_free_func(g_free)};
  gather(&telling, sizing->states);
  Corner corners[N_CORNERS] = {0};
  gboolean ready = TRUE;
  for (int c = 0; c < N_CORNERS && ready; c++)
    ready = corner_init(&corners[c], sizing, corner_of[c].load, corner_of[c].charge);
  g_autofree double *base_V = g_new(double, (gsize)job->n_elements + 1);
  g_autofree double *base_A = g_new(double, (gsize)job->n_elements + 1);
  for (int e = 0; e < job->n_elements; e++)
    base_V[e] = base_A[e] = NAN;
  g_autoptr(GString) same = g_string_new(NULL);
  Sheet sheet = {.table = table,
                 .job = job,
                 .corners = corners,
                 .base_V = base_V,
                 .same = same,
                 .base_A = base_A};
  for (guint i = 0; ready && i < telling.states->len; i++) {
    sheet.all = i <= telling.base || i + 1 == telling.states->len;
    add_state(&sheet, corners, telling.states->pdata[i]);
    if (i == telling.base)
      keep_base(&sheet);
  }
  for (int c = 0; c < N_CORNERS; c++)
    corner_clear(&corners[c]);
  table->note = note_for(job, &telling, same->str);
  g_ptr_array_unref(telling.states);
  return table;
}

LgTable *lg_table_readings(const LgSizing *sizing)
{
  return lg_table_for_people(lg_steps_readings(sizing), reading_columns);
}
