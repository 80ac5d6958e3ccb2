/* The course of a use, from the job: nodes, felts, outputs, switches, turns. */
#include "catalogue/material.h"
#include "studies/simulate-private.h"

/* A wire is followed when its greatest current in the use gives it so much heat; less warms it by
 * some 5 K at most (convection and radiation take 5 to 10 W/m2K from its surface), which changes
 * its resistance by 2 %. */
#define WARM_W_M 0.3
/* Wires whose currents agree so well in every position of the use are one chain. */
#define SAME_A 1e-7
#define ALPHA_PER_K (1 / 254.5) /* of copper at 20 C: lg_copper_ratio is straight */
#define ROOM_K (LG_ZERO_C_IN_K + 20)
#define LONG_SITTING_K (LG_ZERO_C_IN_K + 44)
#define NEVER_K 1e5
enum { MOST_PROBES = 4096 };

static gpointer keep_terms(LgRunning *r, const LgCourseTerm terms[], gsize n)
{
  gpointer const block = g_memdup2(terms, n * sizeof *terms);
  g_ptr_array_add(r->term_blocks, block);
  return block;
}

static LgCourseSum one_term(LgRunning *r, LgCourseOf of, int index)
{
  const LgCourseTerm term = {of, index, 1};
  return (LgCourseSum){keep_terms(r, &term, 1), 1, 0};
}

static int add_output(LgRunning *r, double floor, LgCourseRole role)
{
  const LgCourseOutput output = {floor, role};
  g_array_append_val(r->outputs, output);
  return (int)r->outputs->len - 1;
}

static int add_felt(LgRunning *r, LgCourseSum sum, double span)
{
  const LgCourseFelt felt = {sum, span};
  g_array_append_val(r->felts, felt);
  return (int)r->felts->len - 1;
}

static int add_switch(LgRunning *r, LgCourseSwitch s)
{
  g_array_append_val(r->switches, s);
  return (int)r->switches->len - 1;
}

static void add_watch(LgRunning *r, LgCourseSum sum, double limit, const char *rises,
                      const char *falls)
{
  const LgCourseWatch watch = {sum, limit, 0};
  const LgWatchWords words = {rises, falls};
  g_array_append_val(r->watches, watch);
  g_array_append_val(r->watch_words, words);
}

static void add_turn(LgRunning *r, LgCourseTurn turn)
{
  g_array_append_val(r->turns, turn);
}

/* ---- speeds and airs ---- */

static int index_of(GArray *values, double value)
{
  for (guint i = 0; i < values->len; i++)
    if (g_array_index(values, double, i) == value)
      return (int)i;
  g_array_append_val(values, value);
  return (int)values->len - 1;
}

static void list_airs(LgRunning *r)
{
  index_of(r->speeds, 0);
  index_of(r->ambients, r->use->ambient_K);
  for (int s = 0; s < r->use->n_steps; s++) {
    const LgUseStep *const step = &r->use->steps[s];
    if (!isnan(step->speed_rpm))
      index_of(r->speeds, step->speed_rpm);
    if (!isnan(step->ambient_K))
      index_of(r->ambients, step->ambient_K);
  }
}

/* ---- bodies ---- */

static void add_node(LgRunning *r, LgCourseNode node)
{
  node.bends_to = node.bend[0] == 0 && node.bend[1] == 0 ? -1 : node.bends_to;
  g_array_append_val(r->nodes, node);
}

static void add_link(LgRunning *r, int a, int b, double W_K)
{
  const LgCourseLink link = {a, b, W_K};
  if (W_K > 0)
    g_array_append_val(r->links, link);
}

static void add_bodies(LgRunning *r)
{
  const double ambient = r->use->ambient_K;
  add_node(r, (LgCourseNode){.start_K = ambient, .held = TRUE});
  r->first_body = 1;
  for (int i = 0; i < r->bodies->n; i++) {
    const LgHeatBody *const body = &r->bodies->bodies[i];
    const gboolean held = !isnan(body->held_K);
    add_node(r, (LgCourseNode){.capacity_J_K = body->capacity_J_K,
                               .start_K = held ? body->held_K : ambient,
                               .held = held});
  }
  for (int i = 0; i < r->bodies->n; i++) {
    const LgHeatBody *const body = &r->bodies->bodies[i];
    if (body->touches >= 0)
      add_link(r, r->first_body + i, r->first_body + body->touches, body->through_W_K);
    if (isnan(body->held_K))
      add_link(r, r->first_body + i, 0, body->loss_W_K);
  }
}

/* ---- which wires warm, and together ---- */

typedef struct {
  LgRunning *r;
  GArray *amps;  /* double, n_wires a probe */
  int *position; /* of the job's inputs, hands of the step */
  double speed_rpm, ambient_K;
} Probing;

static void probe(Probing *p, const int position[])
{
  LgRunning *const r = p->r;
  memcpy(r->point->position, position, sizeof(int) * (gsize)r->job->n_inputs);
  lg_chargers_place(r->job, p->speed_rpm, r->point->position);
  lg_circuit_solve(r->circuit, r->work, r->point);
  g_array_append_vals(p->amps, r->point->wire_A, (guint)r->job->n_wires);
}

/* All calls of a step, on and off. */
static void probe_step(Probing *p)
{
  const LgJob *const job = p->r->job;
  g_autofree int *position = g_memdup2(p->position, sizeof(int) * (gsize)(job->n_inputs + 1));
  int calls[12], n = 0;
  for (int i = 0; i < job->n_inputs && n < 12; i++)
    if (job->inputs[i].kind == LG_INPUT_CALL)
      calls[n++] = i;
  for (int set = 0; set < 1 << n; set++) {
    if (p->amps->len / (guint)MAX(job->n_wires, 1) >= MOST_PROBES)
      return;
    for (int k = 0; k < n; k++)
      position[calls[k]] = set >> k & 1;
    probe(p, position);
  }
}

static void apply_hands(const LgJob *job, const LgUseStep *step, int position[])
{
  for (int i = 0; i < step->n_set; i++)
    if (job->inputs[step->set[i].input].kind != LG_INPUT_CALL)
      position[step->set[i].input] = __builtin_ctzll(step->set[i].positions);
}

static GArray *probe_use(LgRunning *r)
{
  const LgJob *const job = r->job;
  g_autofree int *position = g_new0(int, (gsize)job->n_inputs + 1);
  Probing p = {r, g_array_new(FALSE, FALSE, sizeof(double)), position, 0, r->use->ambient_K};
  probe_step(&p);
  for (int s = 0; s < r->use->n_steps; s++) {
    const LgUseStep *const step = &r->use->steps[s];
    apply_hands(job, step, position);
    p.speed_rpm = isnan(step->speed_rpm) ? p.speed_rpm : step->speed_rpm;
    probe_step(&p);
  }
  return p.amps;
}

static double most_probed(const GArray *amps, int n_wires, int wire)
{
  double most = 0;
  for (guint k = (guint)wire; k < amps->len; k += (guint)n_wires)
    most = fmax(most, fabs(g_array_index(amps, double, k)));
  return most;
}

static gboolean same_current(const GArray *amps, int n_wires, int a, int b, double most)
{
  for (guint k = 0; k < amps->len; k += (guint)n_wires)
    if (fabs(fabs(g_array_index(amps, double, k + (guint)a)) -
             fabs(g_array_index(amps, double, k + (guint)b))) > SAME_A * most)
      return FALSE;
  return TRUE;
}

static int chain_of(LgRunning *r, const GArray *amps, int wire, double most)
{
  for (guint c = 0; c < r->chains->len; c++)
    if (same_current(amps, r->job->n_wires, g_array_index(r->chains, LgChain, c).wire, wire, most))
      return (int)c;
  const LgChain chain = {.wire = wire};
  g_array_append_val(r->chains, chain);
  return (int)r->chains->len - 1;
}

/* The covering of the longest run that has one; a sheathed wire has its own. */
static LgSurroundings surroundings(const LgJob *job, const LgWire *wire, double ambient_K)
{
  const LgCover *cover = NULL;
  double longest = 0;
  for (int k = 0; k < wire->n_runs; k++) {
    const LgRun *const run = &job->runs[wire->runs[k]];
    if (run->cover != NULL && run->length_m > longest) {
      longest = run->length_m;
      cover = run->cover;
    }
  }
  return wire->sheathed ? lg_covered_by(ambient_K, "shrink", 0) : lg_covered(ambient_K, cover);
}

#define COPPER_J_M3K 3.45e6 /* IEC 60949, seen */

static void add_wire(LgRunning *r, int w, int chain)
{
  const LgJob *const job = r->job;
  const LgWire *const wire = &job->wires[w];
  const LgConductor *const conductor = r->sizing->wires[w].conductor;
  const LgHeatWire heat = lg_heat_wire(conductor, wire->insulation);
  const double ambient = r->use->ambient_K;
  const LgSurroundings around = surroundings(job, wire, ambient);
  const LgHeatLoss loss = lg_heat_loss(&heat, &around);
  LgCourseNode node = {.start_K = ambient,
                       .bends_to = 0,
                       .own_per_K = ALPHA_PER_K,
                       .own_at_K = ROOM_K,
                       .tolerance_K = 1e-6,
                       .works_at_K = 10};
  double link_W_mK;
  lg_course_fit_loss(&heat, &loss, ambient, fmax(wire->insulation->temperature_K, ambient + 40),
                     &link_W_mK, node.bend);
  node.bend[0] *= wire->length_m;
  node.bend[1] *= wire->length_m;
  node.capacity_J_K =
      wire->length_m *
      (heat.copper_m2 * COPPER_J_M3K +
       G_PI / 4 * (heat.outer_m * heat.outer_m - heat.conductor_m * heat.conductor_m) *
           heat.insulation_J_m3K);
  const double whole = lg_wire_resistance(job, wire, conductor, ROOM_K);
  const LgWarmWire warm = {.wire = w,
                           .chain = chain,
                           .node = (int)r->nodes->len,
                           .ohm20 = conductor->resistance_ohm_m * wire->length_m,
                           .ends_ohm = whole - conductor->resistance_ohm_m * wire->length_m,
                           .limit_K = wire->insulation->temperature_K};
  g_array_append_val(r->wires, warm);
  add_node(r, node);
  add_link(r, warm.node, 0, link_W_mK * wire->length_m);
  g_array_index(r->chains, LgChain, chain).ohm20 += warm.ohm20;
}

static void add_wires(LgRunning *r)
{
  const LgJob *const job = r->job;
  g_autoptr(GArray) amps = probe_use(r);
  for (int w = 0; w < job->n_wires; w++) {
    const double most = most_probed(amps, job->n_wires, w);
    const double ohm_m = r->sizing->wires[w].conductor->resistance_ohm_m;
    if (most * most * ohm_m > WARM_W_M)
      add_wire(r, w, chain_of(r, amps, w, most));
  }
}

static void add_chains(LgRunning *r)
{
  for (guint c = 0; c < r->chains->len; c++) {
    LgChain *const chain = &g_array_index(r->chains, LgChain, c);
    g_autoptr(GArray) terms = g_array_new(FALSE, FALSE, sizeof(LgCourseTerm));
    chain->output = add_output(r, 1e-2, LG_OUTPUT_PLAIN);
    for (guint i = 0; i < r->wires->len; i++) {
      const LgWarmWire *const w = &g_array_index(r->wires, LgWarmWire, i);
      if (w->chain != (int)c)
        continue;
      const LgCourseTerm term = {LG_OF_NODE, w->node, w->ohm20 / chain->ohm20};
      const LgCourseHeat heat = {chain->output, w->node, w->ohm20};
      g_array_append_val(terms, term);
      g_array_append_val(r->heats, heat);
    }
    const LgCourseSum sum = {keep_terms(r, (LgCourseTerm *)(void *)terms->data, terms->len),
                             (int)terms->len, 0};
    chain->felt = add_felt(r, sum, 4);
  }
}

/* ---- loads, cells ---- */

static void add_loads(LgRunning *r)
{
  for (int e = 0; e < r->job->n_elements; e++) {
    r->watt_of[e] = -1;
    if (r->bodies->warms[e] < 0)
      continue;
    r->watt_of[e] = add_output(r, 1e-2, LG_OUTPUT_PLAIN);
    const LgCourseHeat heat = {r->watt_of[e], r->first_body + r->bodies->warms[e], 1};
    g_array_append_val(r->heats, heat);
  }
}

static void add_cells(LgRunning *r)
{
  for (int e = 0; e < r->job->n_elements; e++) {
    const LgElement *const cell = &r->job->elements[e];
    r->slow_of[e] = r->felt_of[e] = r->rate_of[e] = -1;
    if (cell->kind != LG_EL_CELL)
      continue;
    r->rate_of[e] = add_output(r, 1e-7, LG_OUTPUT_PLAIN);
    const LgCourseSlow slow = {.start =
                                   isnan(r->use->charge) ? cell->p[LG_P_CHARGE] : r->use->charge,
                               .output = r->rate_of[e],
                               .share = 1,
                               .tolerance = 1e-9};
    g_array_append_val(r->slows, slow);
    r->slow_of[e] = (int)r->slows->len - 1;
    r->felt_of[e] = add_felt(r, one_term(r, LG_OF_SLOW, r->slow_of[e]), 0.2);
  }
}

/* ---- thermostats ---- */

static const LgThermostat *thermostat(const LgRunning *r, int index)
{
  return &g_array_index(r->thermostats, LgThermostat, index);
}

/* The first thermostat of a call; NULL: it has none. */
static const LgThermostat *first_of_call(const LgRunning *r, int call)
{
  for (int i = 0; i < (int)r->thermostats->len; i++)
    if (thermostat(r, i)->call == call)
      return thermostat(r, i);
  return NULL;
}

static LgCourseSwitch call_switch(LgRunning *r, int call, GPtrArray *notes)
{
  const LgThermostat *const t = first_of_call(r, call);
  if (t == NULL || t->body < 0) {
    g_ptr_array_add(notes, g_strdup_printf("%s calls all the time: the sheet does not say what it "
                                           "feels, or where it opens.",
                                           r->job->inputs[call].name));
    return (LgCourseSwitch){.kind = LG_SWITCH_HAND, .start = 1};
  }
  LgCourseSwitch s = {.kind = LG_SWITCH_BAND,
                      .sum = one_term(r, LG_OF_NODE, r->first_body + t->body),
                      .on_at = t->closes_K,
                      .off_at = t->opens_K,
                      .least_on_s = t->least_on_s,
                      .least_off_s = t->least_off_s};
  const LgHeatBody *const felt = &r->bodies->bodies[t->body];
  const double start = isnan(felt->held_K) ? r->use->ambient_K : felt->held_K;
  s.start = s.on_at < s.off_at ? start < s.off_at : start > s.off_at;
  return s;
}

static void add_inputs(LgRunning *r, GPtrArray *notes)
{
  const LgJob *const job = r->job;
  for (int i = 0; i < job->n_inputs; i++) {
    r->clock_of[i] = r->acting[i] = -1;
    add_switch(r, job->inputs[i].kind == LG_INPUT_CALL ? call_switch(r, i, notes)
                                                       : (LgCourseSwitch){.kind = LG_SWITCH_HAND});
  }
  for (int i = 0; i < (int)r->thermostats->len; i++) {
    const LgThermostat *const t = thermostat(r, i);
    if (t->period_s > 0 && r->clock_of[t->call] < 0)
      r->clock_of[t->call] = add_switch(
          r, (LgCourseSwitch){.kind = LG_SWITCH_CLOCK, .period_s = t->period_s, .share = t->share});
  }
  r->speed_switch = add_switch(r, (LgCourseSwitch){.kind = LG_SWITCH_HAND});
  r->ambient_switch = add_switch(r, (LgCourseSwitch){.kind = LG_SWITCH_HAND});
}

/* ---- steps ---- */

static void turn_bands(LgRunning *r, double at_s, const int position[])
{
  const LgJob *const job = r->job;
  for (int i = 0; i < job->n_inputs; i++) {
    const LgCourseSwitch *const s = &g_array_index(r->switches, LgCourseSwitch, i);
    const int acting = job->inputs[i].kind == LG_INPUT_CALL
                           ? lg_thermostat_acting(job, r->thermostats, i, position)
                           : -1;
    if (acting < 0 || acting == r->acting[i])
      continue;
    r->acting[i] = acting;
    const LgThermostat *const t = thermostat(r, acting);
    if (s->kind == LG_SWITCH_BAND && !isnan(t->opens_K))
      add_turn(r, (LgCourseTurn){at_s, LG_TURN_BAND, i, t->closes_K, t->opens_K});
    if (r->clock_of[i] >= 0)
      add_turn(r, (LgCourseTurn){at_s, LG_TURN_SHARE, r->clock_of[i], t->share, 0});
  }
}

static void add_step(LgRunning *r, const LgUseStep *step, int position[], GPtrArray *notes)
{
  const LgJob *const job = r->job;
  g_autofree int *before = g_memdup2(position, sizeof(int) * (gsize)(job->n_inputs + 1));
  apply_hands(job, step, position);
  for (int i = 0; i < step->n_set; i++) {
    const int input = step->set[i].input;
    if (job->inputs[input].kind == LG_INPUT_CALL)
      g_ptr_array_add(notes,
                      g_strdup_printf("%s calls by what it feels, not by a step: line %d is left "
                                      "out there.",
                                      job->inputs[input].name, step->origin.line));
    else if (position[input] != before[input])
      add_turn(r, (LgCourseTurn){step->at_s, LG_TURN_SWITCH, input, position[input], 0});
  }
  if (!isnan(step->speed_rpm))
    add_turn(r, (LgCourseTurn){step->at_s, LG_TURN_SWITCH, r->speed_switch,
                               index_of(r->speeds, step->speed_rpm), 0});
  if (!isnan(step->ambient_K)) {
    add_turn(r, (LgCourseTurn){step->at_s, LG_TURN_SWITCH, r->ambient_switch,
                               index_of(r->ambients, step->ambient_K), 0});
    add_turn(r, (LgCourseTurn){step->at_s, LG_TURN_HELD, 0, step->ambient_K, 0});
  }
  turn_bands(r, step->at_s, position);
}

static void add_steps(LgRunning *r, GPtrArray *notes)
{
  g_autofree int *position = g_new0(int, (gsize)r->job->n_inputs + 1);
  for (int s = 0; s < r->use->n_steps; s++)
    add_step(r, &r->use->steps[s], position, notes);
}

/* ---- what is told of ---- */

static void add_watches(LgRunning *r, GStringChunk *words)
{
  const LgJob *const job = r->job;
  for (guint n = 0; n < r->nodes->len; n++)
    add_watch(r, one_term(r, LG_OF_NODE, (int)n), NEVER_K, NULL, NULL);
  for (int i = 0; i < r->bodies->n; i++)
    if (r->bodies->bodies[i].is == LG_BODY_SURFACE) {
      g_autofree char *above = g_strdup_printf("%s passes 44 degC: too hot to sit on for long",
                                               r->bodies->bodies[i].name);
      g_autofree char *below =
          g_strdup_printf("%s is below 44 degC again", r->bodies->bodies[i].name);
      add_watch(r, one_term(r, LG_OF_NODE, r->first_body + i), LONG_SITTING_K,
                g_string_chunk_insert(words, above), g_string_chunk_insert(words, below));
    }
  for (guint i = 0; i < r->wires->len; i++) {
    const LgWarmWire *const w = &g_array_index(r->wires, LgWarmWire, i);
    g_autofree char *above = g_strdup_printf("%s passes %.0f degC, the class of its insulation",
                                             job->wires[w->wire].name, w->limit_K - LG_ZERO_C_IN_K);
    add_watch(r, one_term(r, LG_OF_NODE, w->node), w->limit_K, g_string_chunk_insert(words, above),
              NULL);
  }
  for (int e = 0; e < job->n_elements; e++) {
    if (r->slow_of[e] < 0)
      continue;
    const double floor = lg_cranking_charge(job, e, r->use->ambient_K);
    if (!(floor > 0 && floor < 1))
      continue;
    g_autofree char *below = g_strdup_printf("%s is down to %.0f %% charge: below it the engine "
                                             "is not cranked in this cold",
                                             job->elements[e].name, 100 * floor);
    g_autofree char *above =
        g_strdup_printf("%s cranks again, %.0f %% charge", job->elements[e].name, 100 * floor);
    add_watch(r, one_term(r, LG_OF_SLOW, r->slow_of[e]), floor, g_string_chunk_insert(words, above),
              g_string_chunk_insert(words, below));
  }
}

/* ---- the whole ---- */

static LgRunning *running_alloc(const LgSizing *sizing, const LgUse *use)
{
  const LgJob *const job = sizing->circuit->job;
  const gsize n_elements = (gsize)job->n_elements + 1, n_inputs = (gsize)job->n_inputs + 1;
  LgRunning *const r = g_new0(LgRunning, 1);
  *r = (LgRunning){.job = job,
                   .use = use,
                   .sizing = sizing,
                   .warm_ambient_K = NAN,
                   .wires = g_array_new(FALSE, FALSE, sizeof(LgWarmWire)),
                   .chains = g_array_new(FALSE, FALSE, sizeof(LgChain)),
                   .speeds = g_array_new(FALSE, FALSE, sizeof(double)),
                   .ambients = g_array_new(FALSE, FALSE, sizeof(double)),
                   .clock_of = g_new0(int, n_inputs),
                   .acting = g_new0(int, n_inputs),
                   .slow_of = g_new0(int, n_elements),
                   .felt_of = g_new0(int, n_elements),
                   .rate_of = g_new0(int, n_elements),
                   .watt_of = g_new0(int, n_elements),
                   .nodes = g_array_new(FALSE, FALSE, sizeof(LgCourseNode)),
                   .links = g_array_new(FALSE, FALSE, sizeof(LgCourseLink)),
                   .heats = g_array_new(FALSE, FALSE, sizeof(LgCourseHeat)),
                   .slows = g_array_new(FALSE, FALSE, sizeof(LgCourseSlow)),
                   .outputs = g_array_new(FALSE, FALSE, sizeof(LgCourseOutput)),
                   .felts = g_array_new(FALSE, FALSE, sizeof(LgCourseFelt)),
                   .switches = g_array_new(FALSE, FALSE, sizeof(LgCourseSwitch)),
                   .watches = g_array_new(FALSE, FALSE, sizeof(LgCourseWatch)),
                   .watch_words = g_array_new(FALSE, FALSE, sizeof(LgWatchWords)),
                   .turns = g_array_new(FALSE, FALSE, sizeof(LgCourseTurn)),
                   .term_blocks = g_ptr_array_new_with_free_func(g_free)};
  return r;
}

static void take_body_notes(const LgBodies *bodies, GPtrArray *notes)
{
  for (guint i = 0; i < bodies->notes->len; i++) {
    const LgHeatNote *const note = bodies->notes->pdata[i];
    g_ptr_array_add(notes, g_strdup_printf("%s %s", note->what, note->taken));
  }
}

LgRunning *lg_running_new(const LgSizing *sizing, const LgUse *use, GStringChunk *words,
                          GPtrArray *notes, GError **error)
{
  const LgJob *const job = sizing->circuit->job;
  LgCircuit *const circuit =
      lg_circuit_new(job, LG_DAY_MILD, (const LgConductor *const *)sizing->chosen, error);
  if (circuit == NULL)
    return NULL;
  LgRunning *const r = running_alloc(sizing, use);
  r->circuit = circuit;
  r->work = lg_net_work_new(circuit->net);
  r->point = lg_point_new(circuit);
  r->bodies = lg_bodies_new(job);
  r->thermostats = lg_thermostats_new(r->bodies);
  take_body_notes(r->bodies, notes);
  list_airs(r);
  add_bodies(r);
  add_output(r, 1e-2, LG_OUTPUT_SOURCE);
  add_output(r, 1e-2, LG_OUTPUT_ELSEWHERE);
  add_wires(r);
  add_chains(r);
  add_loads(r);
  add_cells(r);
  add_inputs(r, notes);
  add_steps(r, notes);
  add_watches(r, words);
  return r;
}

void lg_running_free(LgRunning *r)
{
  if (r == NULL)
    return;
  GArray *const arrays[] = {r->wires,    r->chains,  r->speeds,      r->ambients, r->nodes,
                            r->links,    r->heats,   r->slows,       r->outputs,  r->felts,
                            r->switches, r->watches, r->watch_words, r->turns};
  for (gsize i = 0; i < G_N_ELEMENTS(arrays); i++)
    g_array_unref(arrays[i]);
  int *const ints[] = {r->clock_of, r->acting, r->slow_of, r->felt_of, r->rate_of, r->watt_of};
  for (gsize i = 0; i < G_N_ELEMENTS(ints); i++)
    g_free(ints[i]);
  g_array_unref(r->thermostats);
  g_ptr_array_unref(r->term_blocks);
  lg_bodies_free(r->bodies);
  lg_point_free(r->point);
  lg_net_work_free(r->work);
  lg_circuit_free(r->circuit);
  g_free(r);
}

#define WITH(array) .array = (gconstpointer)r->array->data, .n_##array = (int)r->array->len

LgCoursePlan lg_running_plan(const LgRunning *r)
{
  return (LgCoursePlan){
      WITH(nodes), WITH(links),    WITH(heats),   WITH(slows), WITH(outputs),
      WITH(felts), WITH(switches), WITH(watches), WITH(turns), .response_tolerance = 1e-7};
}
