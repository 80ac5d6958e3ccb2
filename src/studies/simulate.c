/* A use through time: runs the course and keeps what was seen. */
#include "studies/simulate-private.h"

#define CARRIES_A 1e-3
#define MOVES 0.5
enum { SAMPLES = 600, MOST_HOT_WIRES = 5, MOST_HAPPENINGS = 20000 };

typedef struct {
  LgSimulation *sim;
  LgRunning *r;
  const LgSimulateOptions *options;
  double step_s, next_s; /* of the regular samples */
  int round;
  gboolean stopped;
  double *felt, *out, *node_K, *slow;
  int *switches;
  gboolean *carrying, *pulled; /* [n_elements] at the moment looked at last */
} Sight;

/* ---- series ---- */

static LgSeries *add_series(LgSimulation *sim, LgSeriesKind kind, int index, char *name)
{
  LgSeries *const series = g_new0(LgSeries, 1);
  *series = (LgSeries){kind, index, name, g_array_new(FALSE, FALSE, sizeof(double))};
  g_ptr_array_add(sim->series, series);
  return series;
}

static void series_free(gpointer data)
{
  LgSeries *const series = data;
  g_free(series->name);
  g_array_unref(series->value);
  g_free(series);
}

static void list_series(Sight *s)
{
  const LgJob *const job = s->r->job;
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_CELL) {
      add_series(s->sim, LG_SERIES_VOLTS, e, g_strdup(job->elements[e].name));
      add_series(s->sim, LG_SERIES_CHARGE, e, g_strdup(job->elements[e].name));
    }
  for (int e = 0; e < job->n_elements; e++)
    if (lg_element_is_source(job->elements[e].kind) ||
        (lg_element_is_load(job->elements[e].kind) && job->elements[e].kind != LG_EL_RESISTOR))
      add_series(s->sim, LG_SERIES_AMPS, e, g_strdup(job->elements[e].name));
  for (int b = 0; b < s->r->bodies->n; b++)
    if (isnan(s->r->bodies->bodies[b].held_K))
      add_series(s->sim, LG_SERIES_BODY_K, b, g_strdup(s->r->bodies->bodies[b].name));
  for (guint i = 0; i < s->r->wires->len; i++) {
    const int wire = g_array_index(s->r->wires, LgWarmWire, i).wire;
    add_series(s->sim, LG_SERIES_WIRE_K, (int)i, g_strdup(job->wires[wire].name));
  }
  for (int e = 0; e < job->n_elements; e++)
    if (lg_element_is_contact(job->elements[e].kind))
      add_series(s->sim, LG_SERIES_CONTACT, e, g_strdup(job->elements[e].name));
}

static double value_of(const Sight *s, const LgSeries *series)
{
  const LgPoint *const point = s->r->point;
  const LgJob *const job = s->r->job;
  switch (series->kind) {
  case LG_SERIES_VOLTS:
    return fabs(point->element_V[series->index]);
  case LG_SERIES_CHARGE:
    return s->slow[s->r->slow_of[series->index]];
  case LG_SERIES_AMPS:
    return lg_element_is_source(job->elements[series->index].kind)
               ? -point->element_A[series->index]
               : fabs(point->element_A[series->index]);
  case LG_SERIES_BODY_K:
    return s->node_K[s->r->first_body + series->index];
  case LG_SERIES_WIRE_K:
    return s->node_K[g_array_index(s->r->wires, LgWarmWire, series->index).node];
  case LG_SERIES_CONTACT:
    return lg_contact_stands_closed(job, point, series->index);
  }
  return NAN;
}

/* ---- what happens ---- */

static void tell(Sight *s, double at_s, char *what)
{
  const LgHappening happening = {at_s, what};
  if (s->round == 0 && s->sim->happenings->len < MOST_HAPPENINGS)
    g_array_append_val(s->sim->happenings, happening);
  else
    g_free(what);
}

/* Solves the network as it is at a moment of the last stretch. FALSE: it has no solution. */
static gboolean look(Sight *s, LgCourse *course, double at_s)
{
  for (int i = 0; i < (int)s->r->switches->len; i++)
    s->switches[i] = lg_course_position(course, i);
  for (guint k = 0; k < s->r->felts->len; k++)
    s->felt[k] = lg_course_sum_at(course, &g_array_index(s->r->felts, LgCourseFelt, k).sum, at_s);
  lg_course_at(course, at_s, s->node_K, s->slow, NULL);
  return lg_running_respond(s->switches, s->felt, s->out, s->r);
}

static void sample(Sight *s, double at_s)
{
  g_array_append_val(s->sim->times, at_s);
  for (guint i = 0; i < s->sim->series->len; i++) {
    const LgSeries *const series = s->sim->series->pdata[i];
    const double value = value_of(s, series);
    g_array_append_val(series->value, value);
  }
}

static void watch_coils(Sight *s, double at_s)
{
  const LgJob *const job = s->r->job;
  for (int e = 0; e < job->n_elements; e++) {
    const gboolean pulled = s->r->point->pulled[e];
    if (job->elements[e].kind == LG_EL_COIL && pulled != s->pulled[e])
      tell(s, at_s,
           g_strdup_printf("%s %s", job->parts[job->elements[e].part].name,
                           pulled ? "pulls in" : "lets go"));
    s->pulled[e] = pulled;
  }
}

static LgContactCount *count_of(LgSimulation *sim, int element)
{
  for (guint i = 0; i < sim->contacts->len; i++)
    if (g_array_index(sim->contacts, LgContactCount, i).element == element)
      return &g_array_index(sim->contacts, LgContactCount, i);
  const LgContactCount count = {.element = element};
  g_array_append_val(sim->contacts, count);
  return &g_array_index(sim->contacts, LgContactCount, sim->contacts->len - 1);
}

static void watch_contacts(Sight *s, double seconds)
{
  const LgJob *const job = s->r->job;
  for (int e = 0; e < job->n_elements; e++) {
    if (!lg_element_is_contact(job->elements[e].kind))
      continue;
    const double amps = fabs(s->r->point->element_A[e]);
    const gboolean carries = amps > CARRIES_A && lg_contact_stands_closed(job, s->r->point, e);
    if (carries) {
      LgContactCount *const count = count_of(s->sim, e);
      count->closings += !s->carrying[e];
      count->on_s += seconds;
      count->most_A = fmax(count->most_A, amps);
    }
    s->carrying[e] = carries;
  }
}

static gboolean see_stretch(LgCourse *course, double from_s, double to_s, gpointer user)
{
  Sight *const s = user;
  if (look(s, course, from_s)) {
    watch_coils(s, from_s);
    watch_contacts(s, to_s - from_s);
    if (s->round == 0)
      sample(s, from_s);
  }
  for (; s->round == 0 && s->next_s < to_s; s->next_s += s->step_s)
    if (s->next_s > from_s && look(s, course, s->next_s)) {
      watch_coils(s, s->next_s);
      sample(s, s->next_s);
    }
  if (s->round == 0 && look(s, course, to_s))
    sample(s, to_s);
  const double share = (s->round + to_s / s->sim->use->lasts_s) / s->sim->rounds;
  s->stopped = s->options->progress != NULL && s->options->progress(share, s->options->user);
  return s->stopped;
}

static gboolean answer(const int position[], const double felt[], double out[], gpointer user)
{
  return lg_running_respond(position, felt, out, ((Sight *)user)->r);
}

static char *turn_words(const LgRunning *r, const LgCourseTurn *turn)
{
  const LgJob *const job = r->job;
  if (turn->what == LG_TURN_HELD)
    return g_strdup_printf("air outside at %.0f degC", turn->value - LG_ZERO_C_IN_K);
  if (turn->what != LG_TURN_SWITCH || turn->index == r->ambient_switch)
    return NULL;
  if (turn->index == r->speed_switch) {
    const double speed = g_array_index(r->speeds, double, (int)turn->value);
    return speed > 0 ? g_strdup_printf("engine at %.0f rpm", speed) : g_strdup("engine stands");
  }
  return g_strdup_printf("%s to %s", job->inputs[turn->index].name,
                         job->inputs[turn->index].positions[(int)turn->value]);
}

/* A call by what its thermostat feels. */
static char *switch_words(const LgRunning *r, const LgCourseEvent *event)
{
  if (event->index >= r->job->n_inputs || r->job->inputs[event->index].kind != LG_INPUT_CALL)
    return NULL;
  return g_strdup_printf("%s %s", r->job->inputs[event->index].name,
                         event->to != 0 ? "calls for heat" : "has enough");
}

static char *event_words(const LgRunning *r, const LgCourseEvent *event)
{
  switch (event->kind) {
  case LG_EVENT_TURN:
    return turn_words(r, &g_array_index(r->turns, LgCourseTurn, event->index));
  case LG_EVENT_SWITCH:
    return switch_words(r, event);
  case LG_EVENT_WATCH:
    break;
  }
  const LgWatchWords *const words = &g_array_index(r->watch_words, LgWatchWords, event->index);
  return g_strdup(event->to != 0 ? words->rises : words->falls);
}

static int sooner(const void *a, const void *b)
{
  const LgHappening *const x = a, *const y = b;
  return (x->at_s > y->at_s) - (x->at_s < y->at_s);
}

/* Turns and calls first, then what the relays make of them. */
static void take_events(Sight *s, const LgCourse *course)
{
  int n;
  const LgCourseEvent *const events = lg_course_events(course, &n);
  GArray *const all = g_array_new(FALSE, FALSE, sizeof(LgHappening));
  for (int i = 0; i < n && i < MOST_HAPPENINGS; i++) {
    const LgHappening happening = {events[i].at_s, event_words(s->r, &events[i])};
    if (happening.what != NULL)
      g_array_append_val(all, happening);
  }
  g_array_append_vals(all, s->sim->happenings->data, s->sim->happenings->len);
  g_array_sort(all, sooner);
  g_array_set_size(s->sim->happenings, 0);
  g_array_append_vals(s->sim->happenings, all->data, all->len);
  g_array_unref(all);
}

/* ---- ends ---- */

static char *end_words(const LgRunning *r, LgCourseEnd end)
{
  const double minutes = end.at_s / 60;
  switch (end.kind) {
  case LG_COURSE_DONE:
    return NULL;
  case LG_COURSE_STOPPED:
    return g_strdup_printf("Stopped at %.1f min as you wished; what is shown ends there.", minutes);
  case LG_COURSE_CHATTER:
    return g_strdup_printf("Ended at %.1f min: %s switches to and fro without end. Give it a band "
                           "(`closes` well below `opens`) or `least-on`.",
                           minutes,
                           end.index >= 0 && end.index < r->job->n_inputs
                               ? r->job->inputs[end.index].name
                               : "a thermostat");
  case LG_COURSE_NO_ANSWER:
    return g_strdup_printf("Ended at %.1f min: a relay chatters there, so the circuit has no state "
                           "of rest. `loomgraft check` names it.",
                           minutes);
  case LG_COURSE_STUCK:
    break;
  }
  return g_strdup_printf(
      "Ended at %.1f min: the currents jump there, as when a relay lets go or an "
      "electronic load cuts out under falling volts.",
      minutes);
}

static void take_temperatures(LgSimulation *sim, const LgRunning *r, LgCourse *course)
{
  g_autofree double *node_K = g_new(double, r->nodes->len);
  lg_course_at(course, lg_course_now(course), node_K, NULL, NULL);
  for (int n = r->first_body; n < (int)r->nodes->len; n++) {
    const LgCourseNode *const node = &g_array_index(r->nodes, LgCourseNode, n);
    const int body = n - r->first_body < r->bodies->n ? n - r->first_body : -1;
    if (node->held)
      continue;
    const LgCourseRange range = lg_course_range(course, n);
    const char *const name =
        body >= 0
            ? r->bodies->bodies[body].name
            : r->job
                  ->wires[g_array_index(r->wires, LgWarmWire, n - r->first_body - r->bodies->n)
                              .wire]
                  .name;
    const LgTemperature t = {
        .name = g_string_chunk_insert(sim->words, name),
        .body = body,
        .wire = body >= 0
                    ? -1
                    : g_array_index(r->wires, LgWarmWire, n - r->first_body - r->bodies->n).wire,
        .start_K = node->start_K,
        .most_K = range.most,
        .most_at_s = range.most_at_s,
        .end_K = node_K[n]};
    g_array_append_val(sim->temperatures, t);
  }
}

static void take_charges(LgSimulation *sim, const LgRunning *r, const double slow[], gboolean first)
{
  for (int e = 0; e < r->job->n_elements; e++)
    if (r->slow_of[e] >= 0) {
      sim->end_charge[e] = slow[r->slow_of[e]];
      if (first)
        sim->start_charge[e] = sim->least_charge[e] =
            g_array_index(r->slows, LgCourseSlow, r->slow_of[e]).start;
      sim->least_charge[e] = fmin(sim->least_charge[e], sim->end_charge[e]);
    }
}

static void run_rounds(Sight *s, LgCourse *course)
{
  LgSimulation *const sim = s->sim;
  for (s->round = 0; s->round < sim->rounds; s->round++) {
    if (s->round > 0) {
      lg_course_at(course, lg_course_now(course), NULL, s->slow, NULL);
      lg_course_restart(course, NULL, s->slow);
      memset(s->carrying, 0, sizeof *s->carrying * (gsize)sim->job->n_elements);
    }
    sim->end = lg_course_run(course, sim->use->lasts_s);
    sim->reached_s = sim->end.at_s;
    lg_course_at(course, lg_course_now(course), NULL, s->slow, NULL);
    take_charges(sim, s->r, s->slow, s->round == 0);
    if (s->round == 0) {
      sim->energy = lg_course_energy(course);
      take_events(s, course);
      take_temperatures(sim, s->r, course);
    }
    if (sim->end.kind != LG_COURSE_DONE)
      break;
    sim->rounds_done++;
  }
  sim->work = lg_course_work(course);
}

/* ---- */

static void happening_clear(gpointer happening)
{
  g_free(((LgHappening *)happening)->what);
}

static LgSimulation *simulation_alloc(const LgJob *job, const LgUse *use)
{
  const gsize n = (gsize)job->n_elements + 1;
  LgSimulation *const sim = g_new0(LgSimulation, 1);
  *sim = (LgSimulation){.job = job,
                        .use = use,
                        .rounds = MAX(use->repeat, 1),
                        .times = g_array_new(FALSE, FALSE, sizeof(double)),
                        .series = g_ptr_array_new_with_free_func(series_free),
                        .happenings = g_array_new(FALSE, FALSE, sizeof(LgHappening)),
                        .contacts = g_array_new(FALSE, FALSE, sizeof(LgContactCount)),
                        .temperatures = g_array_new(FALSE, FALSE, sizeof(LgTemperature)),
                        .start_charge = g_new0(double, n),
                        .end_charge = g_new0(double, n),
                        .least_charge = g_new0(double, n),
                        .notes = g_ptr_array_new_with_free_func(g_free),
                        .words = g_string_chunk_new(1024)};
  return sim;
}

static void sight_init(Sight *s, LgSimulation *sim, LgRunning *r, const LgSimulateOptions *options)
{
  const gsize n = (gsize)sim->job->n_elements + 1;
  *s =
      (Sight){.sim = sim,
              .r = r,
              .options = options,
              .step_s = sim->use->lasts_s / (options->n_samples > 0 ? options->n_samples : SAMPLES),
              .felt = g_new0(double, r->felts->len + 1),
              .out = g_new0(double, r->outputs->len),
              .node_K = g_new0(double, r->nodes->len),
              .slow = g_new0(double, r->slows->len + 1),
              .switches = g_new0(int, r->switches->len),
              .carrying = g_new0(gboolean, n),
              .pulled = g_new0(gboolean, n)};
}

static void sight_clear(Sight *s)
{
  g_free(s->felt);
  g_free(s->out);
  g_free(s->node_K);
  g_free(s->slow);
  g_free(s->switches);
  g_free(s->carrying);
  g_free(s->pulled);
}

/* Series that never leave rest say nothing. */
static void drop_idle_series(LgSimulation *sim)
{
  for (guint i = sim->series->len; i-- > 0;) {
    const LgSeries *const series = sim->series->pdata[i];
    double least = INFINITY, most = -INFINITY;
    for (guint k = 0; k < series->value->len; k++) {
      least = fmin(least, g_array_index(series->value, double, k));
      most = fmax(most, g_array_index(series->value, double, k));
    }
    const gboolean idle = series->kind == LG_SERIES_AMPS ? fmax(fabs(least), fabs(most)) < CARRIES_A
                          : series->kind == LG_SERIES_CONTACT ? !(most - least > MOVES)
                                                              : FALSE;
    if (idle)
      g_ptr_array_remove_index(sim->series, i);
  }
}

LgSimulation *lg_simulation_new(const LgSizing *sizing, const LgUse *use,
                                const LgSimulateOptions *options, GError **error)
{
  static const LgSimulateOptions plain = {0};
  const LgJob *const job = sizing->circuit->job;
  LgSimulation *const sim = simulation_alloc(job, use);
  g_autoptr(LgRunning) r = lg_running_new(sizing, use, sim->words, sim->notes, error);
  if (r == NULL) {
    lg_simulation_free(sim);
    return NULL;
  }
  Sight s;
  sight_init(&s, sim, r, options != NULL ? options : &plain);
  const LgCoursePlan plan = lg_running_plan(r);
  const LgCourseCalls calls = {answer, see_stretch, &s};
  list_series(&s);
  g_autoptr(LgCourse) course = lg_course_new(&plan, &calls, error);
  if (course != NULL) {
    run_rounds(&s, course);
    sim->end_words = end_words(r, sim->end);
    drop_idle_series(sim);
  }
  sight_clear(&s);
  if (course == NULL) {
    lg_simulation_free(sim);
    return NULL;
  }
  return sim;
}

void lg_simulation_free(LgSimulation *sim)
{
  if (sim == NULL)
    return;
  g_array_set_clear_func(sim->happenings, happening_clear);
  g_array_unref(sim->happenings);
  g_array_unref(sim->times);
  g_ptr_array_unref(sim->series);
  g_array_unref(sim->contacts);
  g_array_unref(sim->temperatures);
  g_free(sim->start_charge);
  g_free(sim->end_charge);
  g_free(sim->least_charge);
  g_free(sim->end_words);
  g_ptr_array_unref(sim->notes);
  g_string_chunk_free(sim->words);
  g_free(sim);
}
