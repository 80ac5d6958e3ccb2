/* The campaign against faults worked by hand, against a network made and factored anew for every
 * fault, and against itself with two threads. */
#include "studies/faults-private.h"
#include "studies/studies-testing.h"

/* 12.46 V: BCI table at 80 % of charge (75 and 100 % seen), straight between its points. */
#define CELL_V 12.46

typedef struct {
  Made made;
  LgSizing *sizing;
  LgCampaign *campaign;
} Run;

static Run run_with(const char *text, LgCampaignOptions options)
{
  Run run = {.made = make(text)};
  g_autoptr(GError) error = NULL;
  run.sizing = lg_sizing_new(run.made.job, &error);
  g_assert_no_error(error);
  run.campaign = lg_campaign_new(run.sizing, &options);
  return run;
}

static Run run_text(const char *text)
{
  return run_with(text, (LgCampaignOptions){.n_remedies = -1});
}

static void run_clear(Run *run)
{
  lg_campaign_free(run->campaign);
  lg_sizing_free(run->sizing);
  unmake(&run->made);
}

/* The effect of the fault of those words. */
static const LgEffect *effect_of(const Run *run, const char *words)
{
  for (int i = 0; i < run->campaign->n_effects; i++) {
    g_autofree char *name = lg_failure_words(run->made.job, &run->campaign->effects[i].fault);
    if (strcmp(name, words) == 0)
      return &run->campaign->effects[i];
  }
  g_error("no fault `%s`", words);
}

static gboolean has(const Run *run, const GArray *hits, const char *element)
{
  for (guint i = 0; hits != NULL && i < hits->len; i++)
    if (g_array_index(hits, LgHit, i).element == element_named(&run->made, element))
      return TRUE;
  return FALSE;
}

/* --- worked by hand --- */

static const char one_lamp[] =
    "job \"one heater\" nominal=12V ambient=20C..20C insulation=class-b standing=7d\n"
    "part G1 battery-12 capacity=60Ah\n"
    "part F1 fuse-blade rating=10A\n"
    "part S1 switch-on-off\n"
    "part E1 heater power=48W\n"
    "part XG ground\n"
    "wire V1 G1.- XG.1 BK 16mm2 length=0.5m\n"
    "wire W1 G1.+ F1.1 RD 2.5mm2 length=0.1m\n"
    "wire W2 F1.2 S1.1 RD 2.5mm2 length=1m\n"
    "wire W3 S1.2 E1.1 RD 2.5mm2 length=2m\n"
    "wire W4 E1.2 XG.1 BN 2.5mm2 length=2m\n";

/* The current of a short is the battery's volts over what lies in the loop: Ohm's law. The fuse's
 * time is that of its standard's table at that current (ISO 8820-3 gates, in the catalogue). */
static void test_short_behind_fuse(void)
{
  Run run = run_text(one_lamp);
  const LgEffect *const e = effect_of(&run, "W2 to the body at S1.1");
  const LgCircuit *const c = run.sizing->circuit;
  double ohm = 1 / lg_net_branch(c->net, c->cell_branch[0])->p[0] + 0.005;
  const char *const wires[] = {"V1", "W1", "W2"};
  for (guint i = 0; i < G_N_ELEMENTS(wires); i++)
    ohm += 1 / lg_net_branch(c->net, c->wire_branch[wire_named(&run.made, wires[i])])->p[0];
  const int fuse = element_named(&run.made, "F1.fuse");
  const int body = lg_job_find_element(run.made.job, "XG.body");
  ohm += 1 / lg_net_branch(c->net, c->element_branch[fuse])->p[0] +
         1 / lg_net_branch(c->net, c->element_branch[body])->p[0];
  g_assert_cmpfloat_with_epsilon(e->short_A, CELL_V / ohm, 0.01 * e->short_A);
  double least_s, most_s;
  g_assert_true(lg_catalogue_opening_time(run.made.catalogue, run.made.job->elements[fuse].form, 10,
                                          e->short_A, &least_s, &most_s));
  g_assert_cmpint(e->cleared_by, ==, fuse);
  g_assert_cmpfloat_with_epsilon(e->cleared_s, most_s, 0.05 * most_s);
  g_assert_cmpint(e->severity, ==, LG_SEVERITY_FAULT);
  g_assert_true(has(&run, e->stops, "E1.heater"));
  /* A chafe just below what opens the fuse for sure: I (V - I R). */
  const double hold_A = e->creeping_A, loop = CELL_V / e->short_A - 0.005;
  g_assert_cmpfloat(hold_A, >, 10);
  g_assert_cmpfloat_with_epsilon(e->creeping_W, hold_A * (CELL_V - hold_A * loop),
                                 0.02 * e->creeping_W);
  run_clear(&run);
}

/* Before the fuse nothing opens, and 0.1 m of wire takes all that the battery gives. */
static void test_short_before_fuse(void)
{
  Run run = run_text(one_lamp);
  const LgEffect *const e = effect_of(&run, "W1 to the body at F1.1");
  g_assert_cmpint(e->severity, ==, LG_SEVERITY_DANGER);
  g_assert_cmpuint(e->why & (LG_WHY_BURNS | LG_WHY_UNCLEARED), ==, LG_WHY_BURNS | LG_WHY_UNCLEARED);
  g_assert_cmpint(e->cleared_by, ==, -1);
  run_clear(&run);
}

/* 4 A of a 60 Ah battery at 80 %: 18 Ah down to half, less Peukert's loss, so 4.5 h at most. */
static void test_welded_drains(void)
{
  Run run = run_text(one_lamp);
  const LgEffect *const e = effect_of(&run, "S1 welded shut");
  g_assert_cmpint(e->severity, ==, LG_SEVERITY_DANGER);
  g_assert_true((e->why & LG_WHY_RUNS_HOT) != 0 && (e->why & LG_WHY_FLAT) != 0);
  g_assert_cmpfloat_with_epsilon(e->drain_A, CELL_V / (12 * 12 / 48.0), 0.03 * e->drain_A);
  g_assert_cmpfloat(e->flat_h, <, 18 / e->drain_A);
  g_assert_cmpfloat(e->flat_h, >, 0.5 * 18 / e->drain_A);
  g_assert_cmpint(e->state, ==, 0);
  run_clear(&run);
}

/* Two lamps lose the ground that they share with a third load: in series through it. */
static const char shared_ground[] =
    "job \"shared ground\" nominal=12V ambient=20C..20C insulation=class-b standing=7d\n"
    "part G1 battery-12 capacity=60Ah\n"
    "part F1 fuse-blade rating=15A\n"
    "part X1 splice\npart X3 splice\n"
    "part S1 switch-on-off\npart S2 switch-on-off\n"
    "part E1 lamp power=21W\npart E2 lamp power=21W\npart E3 lamp power=21W\n"
    "part XG1 ground\npart XG2 ground\npart XG3 ground\n"
    "wire V1 G1.- XG1.1 BK 16mm2 length=0.5m\n"
    "wire W1 G1.+ F1.1 RD 2.5mm2 length=0.1m\n"
    "wire W2 F1.2 X1.1 RD 2.5mm2 length=1m\n"
    "wire W3 X1.1 S1.1 RD 2.5mm2 length=1m\n"
    "wire W4 X1.1 S2.1 RD 2.5mm2 length=1m\n"
    "wire W5 S1.2 E1.1 RD 2.5mm2 length=1m\n"
    "wire W6 S2.2 X3.1 RD 2.5mm2 length=1m\n"
    "wire W7 X3.1 E2.1 RD 2.5mm2 length=1m\n"
    "wire W8 X3.1 E3.1 RD 2.5mm2 length=1m\n"
    "wire W9 E1.2 XG2.1 BN 2.5mm2 length=1m\n"
    "wire W10 E2.2 XG2.1 BN 2.5mm2 length=1m\n"
    "wire W11 E3.2 XG3.1 BN 2.5mm2 length=1m\n";

static void test_lost_ground(void)
{
  Run run = run_text(shared_ground);
  const LgEffect *const e = effect_of(&run, "XG2 off the body");
  g_assert_cmpint(e->severity, ==, LG_SEVERITY_FAULT);
  g_assert_true(has(&run, e->runs, "E2.lamp") && has(&run, e->runs, "E3.lamp"));
  /* Three alike in series: a third of the volts, and P ~ V^1.55 of a filament (I ~ V^0.55). */
  const double share = pow(1 / 3.0, 1.55);
  for (guint i = 0; i < e->runs->len; i++)
    g_assert_cmpfloat_with_epsilon(g_array_index(e->runs, LgHit, i).value, share, 0.1 * share);
  g_assert_nonnull(strstr(e->sneak, "E1.1 > E1.2 > XG2.1 > E2.2 > E2.1 > X3.1 > E3.1 > E3.2"));
  g_assert_cmpint(e->noticed, >=, 0);
  run_clear(&run);
}

/* --- sensors --- */

static const char seat[] =
    "job \"seat\" nominal=12V ambient=-20C..40C insulation=class-b standing=7d\n"
    "part G1 battery-12 capacity=60Ah\npart F1 fuse-blade rating=15A\n"
    "part KEY key-switch\npart X1 splice\n"
    "part S2 seat-heat-switch senses=SEAT.ntc\n"
    "part K1 relay-make-r\npart SEAT assembly\n"
    "pin SEAT.1\npin SEAT.2\npin SEAT.3\npin SEAT.4\n"
    "element SEAT.pad heater 1 2 power=60W\n"
    "element SEAT.ntc thermistor 3 4 r25=10kohm beta=3435K\n"
    "part XG ground\npart XG2 ground\n"
    "wire V1 G1.- XG.1 BK 16mm2 length=0.5m\n"
    "wire W1 G1.+ F1.1 RD 2.5mm2 length=0.1m\nwire W2 F1.2 X1.1 RD 2.5mm2 length=0.5m\n"
    "wire W3 X1.1 KEY.30 RD 2.5mm2 length=0.5m\nwire W4 KEY.15 S2.1 BK 1mm2 length=0.5m\n"
    "wire W5 S2.2 XG2.1 BN 1mm2 length=0.5m\nwire W6 S2.6 K1.86 BU 1mm2 length=0.5m\n"
    "wire W7 K1.85 XG.1 BN 1mm2 length=0.5m\nwire W8 X1.1 K1.30 RD 2.5mm2 length=0.5m\n"
    "wire W9 K1.87 SEAT.1 RD 2.5mm2 length=0.5m\nwire W10 SEAT.2 XG2.1 BN 2.5mm2 length=0.5m\n"
    "wire W11 SEAT.3 S2.3 BU 0.75mm2 length=1m\nwire W12 SEAT.4 S2.4 BN 0.75mm2 length=1m\n";

/* An open NTC reads cold, so the pad heats without end; a shorted one reads hot, so it never heats:
 * common practice, no source. A wire to it that breaks is an open sensor, one that touches the body
 * a shorted one. */
static void test_sensor(void)
{
  Run run = run_text(seat);
  static const char *const cold[] = {"SEAT.ntc open", "W11 open", "W12 open"};
  for (guint i = 0; i < G_N_ELEMENTS(cold); i++) {
    const LgEffect *const e = effect_of(&run, cold[i]);
    g_assert_cmpint(e->severity, ==, LG_SEVERITY_DANGER);
    g_assert_cmpint(e->overheats, ==, element_named(&run.made, "SEAT.pad"));
    g_assert_true(isinf(e->error_K) && e->error_K < 0);
  }
  static const char *const hot[] = {"SEAT.ntc shorted", "W11 to the body at SEAT.3"};
  for (guint i = 0; i < G_N_ELEMENTS(hot); i++) {
    const LgEffect *const e = effect_of(&run, hot[i]);
    g_assert_cmpint(e->severity, ==, LG_SEVERITY_FAULT);
    g_assert_true(has(&run, e->stops, "SEAT.pad"));
  }
  /* A relay that welds leaves nobody to end the heat. */
  g_assert_cmpint(effect_of(&run, "K1.make welded shut")->severity, ==, LG_SEVERITY_DANGER);
  g_assert_true(has(&run, effect_of(&run, "K1.coil open")->stops, "SEAT.pad"));
  run_clear(&run);
}

/* --- restraint, larger fuses, harmless ones --- */

static void test_restraint(void)
{
  g_autofree char *text =
      g_strconcat(one_lamp,
                  "part P1 assembly face=1x3 view=wire latch=top\npin P1.1 fitted=yes\n"
                  "pin P1.2 restraint=maybe\npin P1.3 fitted=yes\n"
                  "wire Q1 S1.2 P1.1 RD 1mm2 length=1m\nwire Q2 E1.2 P1.3 BN 1mm2 length=1m\n",
                  NULL);
  Run run = run_text(text);
  const LgEffect *const e = effect_of(&run, "P1.1 and P1.2 bridged");
  g_assert_cmpint(e->severity, ==, LG_SEVERITY_DANGER);
  g_assert_cmpuint(e->why, ==, LG_WHY_RESTRAINT);
  g_assert_cmpint(run.campaign->n_not_solved, ==, 2);
  run_clear(&run);
}

static void test_larger_fuse(void)
{
  Run run =
      run_text("job \"thin tail\" nominal=12V ambient=20C..60C insulation=class-a standing=7d\n"
               "part G1 battery-12 capacity=60Ah\npart F1 fuse-blade rating=10A\n"
               "part E1 heater power=48W\npart XG ground\nwire V1 G1.- XG.1 BK 16mm2 length=0.5m\n"
               "wire W1 G1.+ F1.1 RD 2.5mm2 length=0.1m\nwire W2 F1.2 E1.1 RD 0.75mm2 length=1m\n"
               "wire W3 E1.2 XG.1 BN 0.75mm2 length=1m\n");
  /* 27 A for ever (1.35 x 20 A, ISO 8820) in 0.75 mm2, whose rating by any table is below 20 A. */
  const LgEffect *const e = effect_of(&run, "F1 replaced by 20 A");
  g_assert_cmpint(e->severity, ==, LG_SEVERITY_DANGER);
  g_assert_cmpint(e->hottest, >=, 0);
  g_assert_cmpfloat(e->hottest_K, >, e->hottest_limit_K);
  run_clear(&run);
}

/* A fault that changes nothing electrically has no effect: a wire to nowhere, a resistor-suppressed
 * relay turned round. */
static void test_nothing_changes(void)
{
  g_autofree char *text =
      g_strconcat(one_lamp, "part XD splice\nwire Q1 S1.1 XD.1 RD 2.5mm2 length=1m\n", NULL);
  Run run = run_text(text);
  const LgEffect *const e = effect_of(&run, "Q1 open");
  g_assert_cmpint(e->severity, ==, LG_SEVERITY_HARMLESS);
  g_assert_null(e->stops);
  g_assert_cmpuint(e->why, ==, 0);
  run_clear(&run);
  run = run_text(seat);
  g_assert_cmpint(effect_of(&run, "K1 put in turned round")->severity, ==, LG_SEVERITY_HARMLESS);
  run_clear(&run);
}

/* With a diode across its coil a turned relay shorts its feed. */
static void test_turned_relay(void)
{
  Run run = run_text(
      "job \"turned\" nominal=12V ambient=20C..20C insulation=class-b standing=7d\n"
      "part G1 battery-12 capacity=60Ah\npart F1 fuse-blade rating=5A\npart S1 switch-on-off\n"
      "part K1 relay-make-d\npart E1 lamp power=21W\npart XG ground\n"
      "wire V1 G1.- XG.1 BK 16mm2 length=0.5m\nwire W1 G1.+ F1.1 RD 2.5mm2 length=0.1m\n"
      "wire W2 F1.2 S1.1 RD 1mm2 length=1m\nwire W3 S1.2 K1.86 RD 1mm2 length=1m\n"
      "wire W4 K1.85 XG.1 BN 1mm2 length=1m\nwire W5 F1.2 K1.30 RD 1mm2 length=1m\n"
      "wire W6 K1.87 E1.1 RD 1mm2 length=1m\nwire W7 E1.2 XG.1 BN 1mm2 length=1m\n");
  const LgEffect *const e = effect_of(&run, "K1 put in turned round");
  g_assert_cmpint(e->cleared_by, ==, element_named(&run.made, "F1.fuse"));
  g_assert_true(has(&run, e->stops, "E1.lamp"));
  run_clear(&run);
}

/* --- the fast way against the reference --- */

typedef struct {
  double *volts; /* [state][node] */
  int n_nodes;
} Volts;

static void keep_volts(const LgNetBlock *block, const int state[LG_LANES], gpointer user)
{
  Volts *const v = user;
  for (int k = 0; k < block->n; k++)
    for (int i = 0; i < v->n_nodes; i++)
      v->volts[(gsize)state[k] * (gsize)v->n_nodes + (gsize)i] = block->volts[i][k];
}

static char *example(const char *name)
{
  g_autofree char *path = g_build_filename(g_getenv("LG_SOURCE_ROOT"), "examples", name, NULL);
  char *text = NULL;
  g_assert_true(g_file_get_contents(path, &text, NULL, NULL));
  return text;
}

/* Every step-th fault in every state: the walk of eight lanes against one state at a time. */
static void compare_ways(const char *text, guint step)
{
  Made made = make(text);
  LgSizing *const sizing = lg_sizing_new(made.job, NULL);
  g_autoptr(LgStage) stage = lg_stage_new(sizing->circuit, NULL);
  g_autoptr(LgFailureStates) states = lg_failure_states_new(stage, sizing->states, G_MAXUINT32);
  g_autoptr(LgFailureSolver) fast = lg_failure_solver_new(stage, states, FALSE);
  g_autoptr(LgFailureSolver) slow = lg_failure_solver_new(stage, states, TRUE);
  g_autoptr(GArray) list = lg_failure_list(sizing);
  const int n_nodes = lg_net_n_nodes(stage->net);
  Volts a = {g_new0(double, (gsize)states->n *(gsize)n_nodes), n_nodes};
  Volts b = {g_new0(double, (gsize)states->n *(gsize)n_nodes), n_nodes};
  g_autofree int *all = g_new(int, (gsize)states->n);
  for (int s = 0; s < states->n; s++)
    all[s] = s;
  for (guint f = 0; f < list->len; f += step) {
    LgChange changes[LG_MOST_CHANGES];
    const int n = lg_failure_changes(stage, sizing, &g_array_index(list, LgFailure, f), changes);
    lg_failure_solver_run(fast, changes, n, all, states->n, keep_volts, &a);
    lg_failure_solver_run(slow, changes, n, all, states->n, keep_volts, &b);
    for (int i = 0; i < states->n * n_nodes; i++) {
      g_assert_true(isnan(a.volts[i]) == isnan(b.volts[i]));
      if (!isnan(a.volts[i]) && fabs(a.volts[i] - b.volts[i]) > 1e-9) {
        g_autofree char *words = lg_failure_words(made.job, &g_array_index(list, LgFailure, f));
        g_error("%s: state %d node %d: %.12g V and %.12g V", words, i / n_nodes, i % n_nodes,
                a.volts[i], b.volts[i]);
      }
    }
  }
  g_free(a.volts);
  g_free(b.volts);
  lg_sizing_free(sizing);
  unmake(&made);
}

static void test_fast_equals_slow(void)
{
  static const struct {
    const char *name;
    guint step;
  } jobs[] = {
      {"co-op-flatbed.job", 1}, {"co-op-flatbed-flawed.job", 1}, {"library-van-seat.job", 43}};
  for (guint i = 0; i < G_N_ELEMENTS(jobs); i++) {
    g_autofree char *text = example(jobs[i].name);
    compare_ways(text, jobs[i].step);
  }
}

/* What the healthy solution answers is what a solution gives; two threads give what one gives. */
static void assert_equal(const Run *a, const Run *b)
{
  g_assert_cmpint(a->campaign->n_effects, ==, b->campaign->n_effects);
  for (int i = 0; i < a->campaign->n_effects; i++) {
    const LgEffect *const x = &a->campaign->effects[i], *const y = &b->campaign->effects[i];
    g_autofree char *words = lg_failure_words(a->made.job, &x->fault);
    if (x->severity != y->severity || x->why != y->why || x->cleared_by != y->cleared_by ||
        x->state != y->state)
      g_error("%s: %d %x %d, %d %x %d", words, (int)x->severity, x->why, x->state, (int)y->severity,
              y->why, y->state);
    if (isfinite(x->cleared_s))
      g_assert_cmpfloat_with_epsilon(x->cleared_s, y->cleared_s, 1e-6 * x->cleared_s);
  }
}

static void test_shortcut_is_exact(void)
{
  g_autofree char *text = example("co-op-flatbed.job");
  Run a = run_text(text), b = run_with(text, (LgCampaignOptions){.n_remedies = -1, .exact = TRUE});
  assert_equal(&a, &b);
  g_assert_cmpuint(a.campaign->n_solved, <, b.campaign->n_solved);
  run_clear(&a);
  run_clear(&b);
}

static void test_threads(void)
{
  g_autofree char *text = example("library-van-seat-flawed.job");
  const LgCampaignOptions one = {.n_remedies = -1, .most_pairs = 1},
                          two = {.n_remedies = -1, .most_pairs = 1, .n_threads = 2};
  Run a = run_with(text, one), b = run_with(text, two);
  assert_equal(&a, &b);
  g_assert_cmpuint(a.campaign->n_solved, ==, b.campaign->n_solved);
  run_clear(&a);
  run_clear(&b);
}

/* --- coverage --- */

/* Every pair of positions that can stand together is in the telling states. */
static void test_pairs_are_covered(void)
{
  g_autofree char *text = example("library-van-seat.job");
  Made made = make(text);
  LgSizing *const sizing = lg_sizing_new(made.job, NULL);
  g_autoptr(LgStage) stage = lg_stage_new(sizing->circuit, NULL);
  g_autoptr(LgFailureStates) all = lg_failure_states_new(stage, sizing->states, G_MAXUINT32);
  g_autoptr(LgFailureStates) some = lg_failure_states_new(stage, sizing->states, 1);
  g_assert_true(all->all && !some->all);
  g_assert_cmpint(some->n, <, all->n / 10);
  g_autoptr(GHashTable) met = g_hash_table_new(g_direct_hash, g_direct_equal);
  for (int pass = 0; pass < 2; pass++) {
    const LgFailureStates *const states = pass == 0 ? some : all;
    for (int s = 0; s < states->n; s++)
      for (int i = 0; i < states->n_inputs; i++)
        for (int k = i + 1; k < states->n_inputs; k++) {
          const int *const p = lg_failure_position(states, s);
          const gpointer key = GINT_TO_POINTER(((i * 64 + p[i]) * 64 + k) * 64 + p[k] + 1);
          if (pass == 0)
            g_hash_table_add(met, key);
          else
            g_assert_true(g_hash_table_contains(met, key));
        }
  }
  lg_sizing_free(sizing);
  unmake(&made);
}

/* --- remedies --- */

/* The tail burns before the fuse opens; a thicker one or a smaller fuse mends it, and only what was
 * solved again is named. */
static void test_remedy(void)
{
  g_autofree char *text = g_strconcat(shared_ground, NULL);
  Run run = run_with(text, (LgCampaignOptions){.n_remedies = 3});
  gboolean found = FALSE;
  for (int c = 0; c < run.campaign->n_causes; c++) {
    const LgCause *const cause = &run.campaign->causes[c];
    const LgEffect *const e = &run.campaign->effects[cause->faults[0]];
    found |= e->fault.kind == LG_FAIL_GROUND_LOST && cause->remedy != NULL;
    if (cause->remedy != NULL)
      g_test_message("%s", cause->remedy);
  }
  g_assert_cmpint(run.campaign->n_tried, >, 0);
  g_test_message("%d of %d", run.campaign->n_remedied, run.campaign->n_tried);
  g_assert_true(found);
  run_clear(&run);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/faults/short-behind-fuse", test_short_behind_fuse);
  g_test_add_func("/faults/short-before-fuse", test_short_before_fuse);
  g_test_add_func("/faults/welded-drains", test_welded_drains);
  g_test_add_func("/faults/lost-ground", test_lost_ground);
  g_test_add_func("/faults/sensor", test_sensor);
  g_test_add_func("/faults/restraint", test_restraint);
  g_test_add_func("/faults/larger-fuse", test_larger_fuse);
  g_test_add_func("/faults/nothing-changes", test_nothing_changes);
  g_test_add_func("/faults/turned-relay", test_turned_relay);
  g_test_add_func("/faults/fast-equals-slow", test_fast_equals_slow);
  g_test_add_func("/faults/shortcut-is-exact", test_shortcut_is_exact);
  g_test_add_func("/faults/threads", test_threads);
  g_test_add_func("/faults/pairs-are-covered", test_pairs_are_covered);
  g_test_add_func("/faults/remedy", test_remedy);
  return g_test_run();
}
