/* All states of a job against every state solved by itself, and groups against all of them. Jobs
 * are invented; laws and figures of the trade are named where they are used. */
#include "studies/studies-testing.h"

typedef void (*EachState)(const LgPoint *point, gpointer user);

/* Every possible lasting state, one by one. */
static guint64 solve_all(const LgJob *job, const LgCircuit *circuit, EachState each, gpointer user)
{
  g_autoptr(LgNetWork) work = lg_net_work_new(circuit->net);
  g_autoptr(LgPoint) point = lg_point_new(circuit);
  guint64 n = 0;
  for (;;) {
    if (lg_circuit_possible(job, point->position)) {
      lg_circuit_solve(circuit, work, point);
      each(point, user);
      n++;
    }
    int i = 0;
    for (; i < job->n_inputs; i++) {
      const LgInput *const input = &job->inputs[i];
      const int end = input->kind != LG_INPUT_DEMAND         ? input->n_positions
                      : job->elements[input->element].cycles ? 2
                                                             : 1;
      if (++point->position[i] < end)
        break;
      point->position[i] = 0;
    }
    if (i == job->n_inputs)
      return n;
  }
}

typedef struct {
  const LgJob *job;
  double *wire_A, *element_A, *element_V, *element_W, *least_V, *drop_V, *pin_V;
  double supply_A;
} Brute;

static void see(const LgPoint *point, gpointer user)
{
  Brute *const b = user;
  const LgJob *const job = b->job;
  const int cell = lg_job_find_element(job, "G1.cell");
  double supply_A = 0;
  for (int w = 0; w < job->n_wires; w++)
    b->wire_A[w] = fmax(b->wire_A[w], fabs(point->wire_A[w]));
  for (int p = 0; p < job->n_pins; p++)
    b->pin_V[p] = fmax(b->pin_V[p], point->volts[p]);
  for (int e = 0; e < job->n_elements; e++) {
    const LgElement *const element = &job->elements[e];
    const double amps = fabs(point->element_A[e]), volts = fabs(point->element_V[e]);
    if (lg_element_is_source(element->kind))
      supply_A -= point->element_A[e];
    b->element_A[e] = fmax(b->element_A[e], amps);
    b->element_W[e] = fmax(b->element_W[e], amps * (isnan(volts) ? 0 : volts));
    const gboolean off = element->demand >= 0 && point->position[element->demand] == LG_DEMAND_OFF;
    if (off || !(volts >= 0.1 * job->nominal_V) || !lg_element_is_load(element->kind))
      continue;
    b->element_V[e] = fmax(b->element_V[e], volts);
    b->least_V[e] = fmin(b->least_V[e], volts);
    b->drop_V[e] = fmax(b->drop_V[e], fabs(point->element_V[cell]) - volts);
  }
  b->supply_A = fmax(b->supply_A, supply_A);
}

static double *filled(int n, double value)
{
  double *const array = g_new(double, (gsize)n + 1);
  for (int i = 0; i < n; i++)
    array[i] = value;
  return array;
}

static Brute brute_new(const LgJob *job)
{
  return (Brute){.job = job,
                 .wire_A = filled(job->n_wires, 0),
                 .element_A = filled(job->n_elements, 0),
                 .element_V = filled(job->n_elements, 0),
                 .element_W = filled(job->n_elements, 0),
                 .least_V = filled(job->n_elements, INFINITY),
                 .drop_V = filled(job->n_elements, 0),
                 .pin_V = filled(job->n_pins, -INFINITY),
                 .supply_A = -INFINITY};
}

static void brute_clear(Brute *b)
{
  double *const owned[] = {b->wire_A,  b->element_A, b->element_V, b->element_W,
                           b->least_V, b->drop_V,    b->pin_V};
  for (guint i = 0; i < G_N_ELEMENTS(owned); i++)
    g_free(owned[i]);
}

static void assert_near(double got, double want, double tolerance)
{
  if (fabs(got - want) > tolerance * fmax(fabs(want), 1e-3))
    g_test_message("got %.12g, want %.12g", got, want);
  g_assert_cmpfloat(fabs(got - want), <=, tolerance * fmax(fabs(want), 1e-3));
}

static void assert_extreme(LgExtreme got, double want, double tolerance)
{
  if (isfinite(want) && want != 0)
    assert_near(got.value, want, tolerance);
}

static guint64 check_against_brute(const char *text)
{
  Made made = make(text);
  const LgJob *const job = made.job;
  g_autoptr(GError) error = NULL;
  g_autoptr(LgCircuit) circuit = lg_circuit_new(job, LG_DAY_HOT, NULL, &error);
  g_assert_no_error(error);
  g_autoptr(LgStates) states = lg_states_new(job, circuit, NULL);
  Brute b = brute_new(job);
  const guint64 n = solve_all(job, circuit, see, &b);
  g_assert_cmpint(states->n_groups, ==, 1);
  g_assert_cmpuint(states->n_possible, ==, n);
  g_assert_cmpuint(states->n_solved, ==, n);
  const double near = 1e-6;
  for (int w = 0; w < job->n_wires; w++)
    assert_near(states->wires[w].most_A.value, b.wire_A[w], near);
  for (int p = 0; p < job->n_pins; p++)
    assert_extreme(states->pins[p].most_V, b.pin_V[p], near);
  for (int e = 0; e < job->n_elements; e++) {
    const LgElementStates *const seen = &states->elements[e];
    assert_extreme(seen->most_A, b.element_A[e], near);
    assert_extreme(seen->most_W, b.element_W[e], near);
    if (!lg_element_is_load(job->elements[e].kind))
      continue;
    assert_extreme(seen->most_V, b.element_V[e], near);
    assert_extreme(seen->least_V, b.least_V[e], near);
    /* One battery, no load in series with another: all that is lost is lost on the way. */
    if (lg_job_find_part(job, "G2") < 0 && seen->drop_feed_V.state >= 0)
      assert_near(seen->drop_feed_V.value + seen->drop_return_V.value, b.drop_V[e], near);
  }
  assert_near(states->supply_A.value, b.supply_A, near);
  brute_clear(&b);
  unmake(&made);
  return n;
}

static void test_extremes_are_those_of_every_state(void)
{
  for (guint32 seed = 1; seed <= 12; seed++) {
    const Plan plan = {.n_circuits = 4,
                       .alternator = seed % 3 == 0,
                       .curved = seed % 2 == 0,
                       .size = "1.5mm2",
                       .job_keys = ""};
    g_autofree char *text = generated_sheet(&plan, seed);
    check_against_brute(text);
  }
}

/* So many states that two threads share them; the same in groups, as sizing's first look has them,
 * is another test. */
static void test_extremes_in_shares(void)
{
  for (guint32 seed = 1; seed <= 2; seed++) {
    const Plan plan = {
        .n_circuits = 9, .alternator = seed == 2, .curved = TRUE, .size = "1.5mm2", .job_keys = ""};
    g_autofree char *text = generated_sheet(&plan, seed);
    g_assert_cmpuint(check_against_brute(text), >=, 2048);
  }
}

/* A key whose starter and accessory contacts lead nowhere: `start` does what `on` does, `acc` what
 * `off` does, but for these two pins. */
static void test_extremes_with_loose_ends(void)
{
  GString *const text =
      g_string_new("job \"t\" nominal=12V\n"
                   "part G1 battery-12 capacity=70Ah\npart XG ground\npart XG2 ground\n"
                   "part KEY key-switch\npart K stud\n"
                   "wire B G1.- XG.1 BK 10mm2 length=0.5m\n"
                   "wire W0 G1.+ KEY.30 RD 6mm2 length=1m\n"
                   "wire W1 KEY.15 K.1 RD 6mm2 length=1m\n");
  for (int i = 1; i <= 9; i++)
    g_string_append_printf(text,
                           "part S%d switch-on-off\npart L%d lamp power=%dW\n"
                           "wire A%d K.1 S%d.1 RD 1.5mm2 length=1m\n"
                           "wire C%d S%d.2 L%d.1 YE 1.5mm2 length=1m\n"
                           "wire D%d L%d.2 XG2.1 BK 1.5mm2 length=1m\n",
                           i, i, 5 * i, i, i, i, i, i, i, i);
  g_assert_cmpuint(check_against_brute(text->str), ==, 2048);
  Made made = make(text->str);
  g_autoptr(LgCircuit) circuit = lg_circuit_new(made.job, LG_DAY_HOT, NULL, NULL);
  g_autoptr(LgStates) states = lg_states_new(made.job, circuit, NULL);
  const char *const pins[] = {"KEY.50", "KEY.75"};
  for (guint i = 0; i < G_N_ELEMENTS(pins); i++) {
    const LgPinStates *const pin = &states->pins[lg_job_find_pin(made.job, pins[i])];
    g_assert_true(pin->ever_floating && pin->ever_joined);
    g_assert_cmpfloat(pin->most_V.value, >, 12);
  }
  g_string_free(text, TRUE);
  unmake(&made);
}

/* A kept state, solved again, shows the extreme that it is kept for. */
static void test_kept_states_show_their_extremes(void)
{
  const Plan plan = {.n_circuits = 5, .curved = TRUE, .size = "1mm2", .job_keys = ""};
  g_autofree char *text = generated_sheet(&plan, 7);
  Made made = make(text);
  const LgJob *const job = made.job;
  g_autoptr(LgCircuit) circuit = lg_circuit_new(job, LG_DAY_HOT, NULL, NULL);
  g_autoptr(LgStates) states = lg_states_new(job, circuit, NULL);
  g_autoptr(LgNetWork) work = lg_net_work_new(circuit->net);
  g_autoptr(LgPoint) point = lg_point_new(circuit);
  for (int w = 0; w < job->n_wires; w++) {
    const LgExtreme shown[] = {states->wires[w].most_A, states->wires[w].brief_A};
    for (int k = 0; k < 2; k++) {
      if (shown[k].state < 0)
        continue;
      for (int i = 0; i < job->n_inputs; i++)
        point->position[i] = lg_states_position(states, shown[k].state)[i];
      lg_circuit_solve(circuit, work, point);
      assert_near(fabs(point->wire_A[w]), shown[k].value, 1e-6);
    }
  }
  g_assert_cmpuint(states->n_brief, >, 0);
  unmake(&made);
}

/* V1, V2 ... and the key feed all groups. */
static gboolean is_rail(const char *name)
{
  return name[0] == 'V' || g_str_has_prefix(name, "KEY.");
}

/* `near` for what a group owns; rails by the sag of a few per cent. */
static void compare_groups(const char *text, guint64 limit, double near)
{
  Made made = make(text);
  const LgJob *const job = made.job;
  g_autoptr(LgCircuit) circuit = lg_circuit_new(job, LG_DAY_HOT, NULL, NULL);
  g_autoptr(LgStates) all = lg_states_new(job, circuit, NULL);
  g_autoptr(LgStates) few = lg_states_new(job, circuit, &(LgStatesOptions){.most_states = limit});
  g_assert_cmpint(all->n_groups, ==, 1);
  g_assert_cmpint(few->n_groups, >, 1);
  g_assert_cmpint(few->n_cut, ==, 0);
  g_assert_cmpuint(few->n_solved, <, all->n_solved);
  for (int w = 0; w < job->n_wires; w++)
    assert_near(few->wires[w].most_A.value, all->wires[w].most_A.value,
                is_rail(job->wires[w].name) ? 0.03 : near);
  for (int e = 0; e < job->n_elements; e++) {
    if (is_rail(job->elements[e].name))
      continue;
    assert_extreme(few->elements[e].most_A, all->elements[e].most_A.value, near);
    assert_extreme(few->elements[e].least_V, all->elements[e].least_V.value, near);
    assert_extreme(few->elements[e].most_W, all->elements[e].most_W.value, near);
    if (all->elements[e].drop_feed_V.state >= 0)
      assert_near(few->elements[e].drop_feed_V.value + few->elements[e].drop_return_V.value,
                  all->elements[e].drop_feed_V.value + all->elements[e].drop_return_V.value, near);
  }
  assert_near(few->supply_A.value, all->supply_A.value, near);
  unmake(&made);
}

/* Heaters only: their groups touch through the sag of the rails alone, which the least and the
 * greatest draw of the others bound, so the extremes agree to rounding. */
static void test_groups_agree_with_all_states(void)
{
  for (guint32 seed = 1; seed <= 6; seed++) {
    const Plan plan = {
        .n_circuits = 9, .alternator = seed % 2 == 0, .size = "1.5mm2", .job_keys = ""};
    g_autofree char *text = generated_sheet(&plan, seed);
    compare_groups(text, 1200, 1e-9);
  }
}

/* Loads of constant power draw more as the volts fall, so that an extreme may lie between the ends.
 */
static void test_groups_of_curved_loads_come_near(void)
{
  for (guint32 seed = 1; seed <= 4; seed++) {
    const Plan plan = {.n_circuits = 9, .curved = TRUE, .size = "1.5mm2", .job_keys = ""};
    g_autofree char *text = generated_sheet(&plan, seed);
    compare_groups(text, 1200, 1e-3);
  }
}

/* Thirty loads on one switched bus cannot be split; the groups are cut, and it is said. */
static void test_a_group_too_large_is_cut(void)
{
  g_autoptr(GString) text =
      g_string_new("job \"t\"\npart G1 battery-12 capacity=70Ah\npart X1 stud\n"
                   "part D1 diode\npart XG ground\n"
                   "wire V1 G1.- XG.1 BK 16mm2 length=0.5m\n"
                   "wire V2 G1.+ D1.a RD 10mm2 length=0.1m\n"
                   "wire V3 D1.k X1.1 RD 10mm2 length=0.1m\n");
  for (int i = 0; i < 30; i++)
    g_string_append_printf(
        text,
        "part S%d switch-on-off\npart E%d lamp power=5W\n"
        "wire A%d X1.1 S%d.1 RD 1mm2 length=1m\nwire B%d S%d.2 E%d.1 RD 1mm2 length=1m\n"
        "wire C%d E%d.2 XG.1 BK 1mm2 length=1m\n",
        i, i, i, i, i, i, i, i, i);
  Made made = make(text->str);
  g_autoptr(LgCircuit) circuit = lg_circuit_new(made.job, LG_DAY_HOT, NULL, NULL);
  g_autoptr(LgStates) states =
      lg_states_new(made.job, circuit, &(LgStatesOptions){.most_states = 20000});
  g_assert_cmpuint(states->n_possible, ==, (guint64)1 << 30);
  g_assert_cmpint(states->n_cut, >, 0);
  g_assert_cmpuint(states->n_solved, <=, 40000);
  unmake(&made);
}

#define LAMP_JOB                                                                                   \
  "job \"t\" nominal=12V\npart G1 battery-12 capacity=70Ah\npart KEY key-switch-simple\n"          \
  "part S1 switch-on-off only-when=\"KEY=on\"\npart F1 fuse-blade rating=10A\n"                    \
  "part E1 motor run=4A stall=20A\npart E2 heater power=60W cycles=yes\n"                          \
  "wire W1 G1.+ KEY.30 RD 2.5mm2 length=0.5m\nwire W2 KEY.15 F1.1 RD 2.5mm2 length=0.5m\n"         \
  "wire W3 F1.2 S1.1 RD 2.5mm2 length=0.5m\nwire W4 S1.2 E1.1 RD 2.5mm2 length=1m\n"               \
  "wire W5 E1.2 G1.- BK 2.5mm2 length=1m\nwire W6 F1.2 E2.1 RD 2.5mm2 length=1m\n"                 \
  "wire W7 E2.2 G1.- BK 2.5mm2 length=1m\n"

static LgNeedStates need_of(const char *need, guint64 *n_possible)
{
  g_autofree char *text = g_strconcat(LAMP_JOB, need, NULL);
  Made made = make(text);
  g_autoptr(LgCircuit) circuit = lg_circuit_new(made.job, LG_DAY_HOT, NULL, NULL);
  g_autoptr(LgStates) states = lg_states_new(made.job, circuit, NULL);
  const LgNeedStates out = states->needs[0];
  if (n_possible != NULL)
    *n_possible = states->n_possible;
  unmake(&made);
  return out;
}

static void test_needs(void)
{
  guint64 n_possible;
  LgNeedStates need = need_of("need \"dead\" E1.motor current<1mA when KEY=off", &n_possible);
  /* The switch stays off without the key: only the heater's own switch is free there. */
  g_assert_true(need.holds);
  g_assert_cmpuint(need.n_tried, ==, 2);
  g_assert_cmpuint(n_possible, ==, 2 + 2 * 2);
  need = need_of("need \"runs\" E1.motor current>3A when KEY=on S1=on", NULL);
  g_assert_true(need.holds);
  g_assert_cmpuint(need.n_tried, ==, 2);
  need = need_of("need \"runs\" E1.motor current>3A when KEY=on", NULL);
  g_assert_false(need.holds);
  g_assert_cmpfloat(need.worst.value, <, 1e-6);
  need = need_of("need \"never\" E1.motor current>3A when KEY=off S1=on", NULL);
  g_assert_cmpuint(need.n_tried, ==, 0);
  g_assert_false(need.holds);
}

/* A stalled motor is its standstill resistance, 12 V / 20 A, behind the way's: Ohm's law. */
static void test_needs_reach_brief_demands(void)
{
  LgNeedStates need =
      need_of("need \"stall\" E1.motor current>1A when KEY=on S1=on E1.motor=stall", NULL);
  g_assert_cmpuint(need.n_tried, ==, 2);
  g_assert_cmpfloat(need.worst.value, >, 15);
  g_assert_cmpfloat(need.worst.value, <, 12.8 / (12.0 / 20));
  need = need_of("need \"off\" E1.motor current<1mA when KEY=on S1=on E1.motor=off", NULL);
  g_assert_cmpuint(need.n_tried, ==, 2);
  g_assert_true(need.holds);
  need = need_of("need \"off\" E2.heater current<1mA when E2.heater=off", NULL);
  g_assert_true(need.holds);
}

/* Half the loss lies in the feed when both ways are the same wire, and a fuse and two contacts lie
 * in the feed besides: Ohm's law at the solved current. */
static void test_drop_is_parted_in_feed_and_return(void)
{
  Made made = make(LAMP_JOB);
  const LgJob *const job = made.job;
  g_autoptr(LgCircuit) circuit = lg_circuit_new(job, LG_DAY_HOT, NULL, NULL);
  g_autoptr(LgStates) states = lg_states_new(job, circuit, NULL);
  const int motor = element_named(&made, "E1.motor"), w5 = wire_named(&made, "W5");
  const LgElementStates *const seen = &states->elements[motor];
  g_autoptr(LgNetWork) work = lg_net_work_new(circuit->net);
  g_autoptr(LgPoint) point = lg_point_new(circuit);
  for (int i = 0; i < job->n_inputs; i++)
    point->position[i] = lg_states_position(states, seen->drop_return_V.state)[i];
  lg_circuit_solve(circuit, work, point);
  const LgWire *const wire = &job->wires[w5];
  const double ohm = lg_wire_resistance(job, wire, wire->conductor, wire->hot_K);
  assert_near(seen->drop_return_V.value, ohm * fabs(point->wire_A[w5]), 1e-6);
  g_assert_cmpfloat(seen->drop_feed_V.value, >, 2 * seen->drop_return_V.value);
  unmake(&made);
}

/* Two heater pads in series share the volts on purpose: the half that lies on the other pad is no
 * loss. */
static void test_a_load_in_series_is_no_loss(void)
{
  Made made = make("job \"t\" nominal=12V\npart G1 battery-12 capacity=70Ah\n"
                   "part E1 heater power=60W\npart E2 heater power=60W\n"
                   "wire W1 G1.+ E1.1 RD 2.5mm2 length=1m\nwire W2 E1.2 E2.1 RD 2.5mm2 length=1m\n"
                   "wire W3 E2.2 G1.- BK 2.5mm2 length=1m\n");
  g_autoptr(LgCircuit) circuit = lg_circuit_new(made.job, LG_DAY_HOT, NULL, NULL);
  g_autoptr(LgStates) states = lg_states_new(made.job, circuit, NULL);
  const LgElementStates *const seen = &states->elements[element_named(&made, "E1.heater")];
  const double volts = states->elements[element_named(&made, "G1.cell")].most_V.value;
  const double loss = seen->drop_feed_V.value + seen->drop_return_V.value;
  g_assert_cmpfloat(seen->most_V.value, <, 0.51 * volts);
  assert_near(loss + 2 * seen->most_V.value, volts, 1e-6);
  unmake(&made);
}

static void test_words(void)
{
  Made made = make(LAMP_JOB);
  g_autofree guint8 *position = g_new0(guint8, (gsize)made.job->n_inputs);
  g_autofree char *rest = lg_state_words(made.job, position);
  g_assert_cmpstr(rest, ==, "everything at rest");
  position[lg_job_find_input(made.job, "S1")] = 1;
  position[lg_job_find_input(made.job, "E1.motor")] = LG_DEMAND_STALL;
  g_autofree char *words = lg_state_words(made.job, position);
  g_assert_nonnull(strstr(words, "S1=on"));
  g_assert_nonnull(strstr(words, "E1.motor=stall"));
  unmake(&made);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/states/extremes-are-those-of-every-state",
                  test_extremes_are_those_of_every_state);
  g_test_add_func("/states/extremes-in-shares", test_extremes_in_shares);
  g_test_add_func("/states/extremes-with-loose-ends", test_extremes_with_loose_ends);
  g_test_add_func("/states/kept-states-show-their-extremes", test_kept_states_show_their_extremes);
  g_test_add_func("/states/groups-agree-with-all-states", test_groups_agree_with_all_states);
  g_test_add_func("/states/groups-of-curved-loads-come-near",
                  test_groups_of_curved_loads_come_near);
  g_test_add_func("/states/a-group-too-large-is-cut", test_a_group_too_large_is_cut);
  g_test_add_func("/states/needs", test_needs);
  g_test_add_func("/states/needs-reach-brief-demands", test_needs_reach_brief_demands);
  g_test_add_func("/states/drop-is-parted-in-feed-and-return",
                  test_drop_is_parted_in_feed_and_return);
  g_test_add_func("/states/a-load-in-series-is-no-loss", test_a_load_in_series_is_no_loss);
  g_test_add_func("/states/words", test_words);
  return g_test_run();
}
