/* Where a fault is: Bayes worked by hand, ohms and volts against the same circuits worked by hand,
 * planted faults, and readings that cannot be. */
#include "../../bench/planted.h"
#include "studies/studies-testing.h"

/* Two heaters of 48 W on a battery by a fuse and a switch, each with a ground of its own. */
static const char heater_job[] = "job \"heaters\" nominal=12V\n"
                                 "part G1 battery-12 capacity=60Ah\n"
                                 "part XG1 ground\n"
                                 "part XG2 ground\n"
                                 "part F1 fuse-blade rating=10A\n"
                                 "part S1 switch-on-off\n"
                                 "part E1 heater power=48W\n"
                                 "wire V1 G1.- XG1.1 BK 16mm2 length=0.4m\n"
                                 "wire W1 G1.+ F1.1 RD 2.5mm2 length=0.2m\n"
                                 "wire W2 F1.2 S1.1 RD 2.5mm2 length=1m\n"
                                 "wire W3 S1.2 E1.1 RD 2.5mm2 length=1m\n"
                                 "wire W4 E1.2 XG2.1 BN 2.5mm2 length=0.5m\n"
                                 "part E2 heater power=48W\n"
                                 "part XG3 ground\n"
                                 "wire W5 S1.2 E2.1 RD 2.5mm2 length=1m\n"
                                 "wire W6 E2.2 XG3.1 BN 2.5mm2 length=0.5m\n";

typedef struct {
  Made made;
  LgSizing *sizing;
  LgLocator *locator;
} Bay;

static Bay open_bay(const char *text)
{
  Bay bay = {.made = make(text)};
  g_autoptr(GError) error = NULL;
  bay.sizing = lg_sizing_new(bay.made.job, &error);
  g_assert_no_error(error);
  bay.locator = lg_locator_new(bay.sizing, &error);
  g_assert_no_error(error);
  return bay;
}

static void close_bay(Bay *bay)
{
  lg_locator_free(bay->locator);
  lg_sizing_free(bay->sizing);
  unmake(&bay->made);
}

static LgSigns *signs_of(const Bay *bay, const char *words)
{
  const char *const list[] = {words, NULL};
  g_autoptr(GError) error = NULL;
  LgSigns *const signs = lg_signs_new(bay->locator, FALSE, list, &error);
  g_assert_no_error(error);
  return signs;
}

static LgLocation *judge(const Bay *bay, const LgSigns *signs, int n_pairs)
{
  return lg_locator_judge(bay->locator, (const LgSign *)(gconstpointer)signs->signs->data,
                          (int)signs->signs->len, n_pairs);
}

static char *first_words(const Bay *bay, const LgLocation *location)
{
  return lg_verdict_words(bay->locator, &g_array_index(location->verdicts, LgVerdict, 0));
}

static double chance_of(const Bay *bay, const LgLocation *location, const char *words)
{
  for (guint i = 0; i < location->verdicts->len; i++) {
    const LgVerdict *const v = &g_array_index(location->verdicts, LgVerdict, i);
    g_autofree char *own = lg_suspect_words(bay->locator, v->suspect);
    if (g_str_equal(own, words))
      return v->chance;
  }
  return 0;
}

/* Volts at the poor ground's bolt, by Ohm's law: the heater has 3 ohm (12 V, 48 W), the ground R;
 * the bolt then stands at V R / (R + 3 ohm) but for the few milliohms of the wires. */
static void test_bad_ground_by_ohms_law(void)
{
  Bay bay = open_bay(heater_job);
  g_autoptr(LgSigns) signs =
      signs_of(&bay, "E1 runs=weak when S1=on G1.+ G1.- volts=12.5V when S1=on "
                     "XG2.1 G1.- volts=5V when S1=on XG3.1 G1.- volts=0.03V when S1=on "
                     "E1.2 G1.- volts=5.02V when S1=on");
  g_autoptr(LgLocation) location = judge(&bay, signs, 0);
  g_autofree char *words = first_words(&bay, location);
  g_test_message("%s", words);
  g_assert_true(g_str_has_prefix(words, "XG2 poor on the body"));
  const LgVerdict *const first = &g_array_index(location->verdicts, LgVerdict, 0);
  const double ohm = 3 * 5 / (12.5 - 5); /* V R / (R + 3) = 5 */
  g_assert_cmpfloat_with_epsilon(first->size, ohm, 0.1 * ohm);
  g_assert_cmpfloat(first->chance, >, 0.9);
  g_assert_false(location->unclear);
  close_bay(&bay);
}

/* Bayes by hand: with nothing but "does not run" the chance of each suspect that stops the heater
 * wholly is its prior over the sum of the priors of all that do; those that leave it running keep
 * the 1 in 300 of a wrong report. So two that stop it stand as their priors do. */
static void test_bayes_by_hand(void)
{
  Bay bay = open_bay(heater_job);
  g_autoptr(LgSigns) signs = signs_of(&bay, "E1 runs=no when S1=on");
  g_autoptr(LgLocation) location = judge(&bay, signs, 0);
  const double fuse = chance_of(&bay, location, "F1 blown or not seated"),
               wire = chance_of(&bay, location, "W2 open"),
               ground = chance_of(&bay, location, "XG2 off the body");
  g_assert_cmpfloat(fuse, >, 0);
  g_assert_cmpfloat_with_epsilon(wire / fuse, 0.8 / 1.0, 1e-6);
  g_assert_cmpfloat_with_epsilon(ground / fuse, 1.5 / 1.0, 1e-6);
  /* The sum over all suspects is 1; what is left out of the list is below 1 in 1000 each. */
  double sum = 0;
  for (guint i = 0; i < location->verdicts->len; i++)
    sum += g_array_index(location->verdicts, LgVerdict, i).chance;
  g_assert_cmpfloat(sum, >, 0.9);
  g_assert_cmpfloat(sum, <, 1 + 1e-9);
  close_bay(&bay);
}

/* A second sign by hand: 12.5 V behind the fuse, where a blown fuse leaves 0: the fuse's chance
 * falls to that of a wrong reading, while two opens behind it keep their ratio. */
static void test_second_sign_by_hand(void)
{
  Bay bay = open_bay(heater_job);
  g_autoptr(LgSigns) signs =
      signs_of(&bay, "E1 runs=no when S1=on F1.2 G1.- volts=12.4V when S1=on");
  g_autoptr(LgLocation) location = judge(&bay, signs, 0);
  g_assert_cmpfloat(chance_of(&bay, location, "F1 blown or not seated"), <, 2e-3);
  const double wire = chance_of(&bay, location, "W3 open"),
               ground = chance_of(&bay, location, "XG2 off the body");
  g_assert_cmpfloat_with_epsilon(ground / wire, 1.5 / 0.8, 1e-6);
  close_bay(&bay);
}

/* Ohms by hand: battery off, switch on: from behind the fuse to the ground bolt lie the wires, the
 * switch and, both ways through the body, two heaters of 3 ohm; with the switch off, nothing. */
static void test_ohms_by_hand(void)
{
  Bay bay = open_bay(heater_job);
  g_autoptr(LgSigns) signs =
      signs_of(&bay, "F1.2 XG2.1 ohms=1.5ohm when S1=on F1.2 XG2.1 ohms=open when S1=off");
  const LgSign *const on = &g_array_index(signs->signs, LgSign, 0), *const off = &g_array_index(
                                                                        signs->signs, LgSign, 1);
  const double ohm = lg_locator_predict(bay.locator, 0, on);
  g_assert_cmpfloat(ohm, >, 1.5);
  g_assert_cmpfloat(ohm, <, 1.55);
  g_assert_true(isinf(lg_locator_predict(bay.locator, 0, off)));
  close_bay(&bay);
}

/* The leads changed over read the same ohms and the opposite volts, whichever node is the
 * reference. */
static void test_leads_changed_over(void)
{
  Bay bay = open_bay(heater_job);
  g_autoptr(LgSigns) signs =
      signs_of(&bay, "G1.- E1.1 ohms=3ohm when S1=on E1.1 G1.- ohms=3ohm when "
                     "S1=on E1.1 G1.- volts=12V when S1=on "
                     "G1.- E1.1 volts=-12V when S1=on");
  const LgSign *const s = (const LgSign *)(gconstpointer)signs->signs->data;
  for (int row = 0; row < bay.locator->n_rows; row += 7) {
    const double ohm = lg_locator_predict(bay.locator, row, &s[0]),
                 back = lg_locator_predict(bay.locator, row, &s[1]);
    g_assert_true((isinf(ohm) && isinf(back)) || fabs(ohm - back) < 1e-6 * ohm);
    g_assert_cmpfloat_with_epsilon(lg_locator_predict(bay.locator, row, &s[2]),
                                   -lg_locator_predict(bay.locator, row, &s[3]), 1e-12);
  }
  close_bay(&bay);
}

/* What is answered by the healthy job is what a solution of its own gives. */
static void test_answered_by_healthy(void)
{
  Bay bay = open_bay(heater_job);
  LgLocator *const l = bay.locator;
  g_autofree int *rest = g_new0(int, (gsize)l->job->n_inputs + 1);
  const int *const positions[] = {rest};
  lg_locator_look(l, positions, 1, NULL, LG_SOLVED_ALL);
  LgView *const own = lg_view_new(l, l->n_rows, rest);
  lg_views_solve(l, l->faults, (LgView *const *)&own, 1, NULL, LG_SOLVED_ALL);
  for (int r = 0; r < l->n_rows; r++) {
    const LgView *const view = lg_locator_view(l, rest, r, LG_SOLVED_ALL);
    for (int n = 0; n < l->n_nodes; n++) {
      const double a = view->volts[lg_view_row(view, r) * (gsize)l->n_nodes + (gsize)n],
                   b = own->volts[r * l->n_nodes + n];
      g_assert_true((isnan(a) && isnan(b)) || fabs(a - b) < 1e-9);
    }
  }
  lg_view_free(own);
  close_bay(&bay);
}

static Bay open_example(const char *name)
{
  g_autofree char *path = g_build_filename(g_getenv("LG_SOURCE_ROOT"), "examples", name, NULL);
  g_autofree char *text = NULL;
  g_assert_true(g_file_get_contents(path, &text, NULL, NULL));
  return open_bay(text);
}

/* The same of watts, in the state of every load: what lies on no way round cannot matter. */
static void test_idle_cannot_matter(gconstpointer name)
{
  Bay bay = open_example(name);
  LgLocator *const l = bay.locator;
  int answered = 0;
  for (int load = 0; load < l->n_loads; load++) {
    const int *const position = lg_locator_state(l, l->loads[load]);
    if (position == NULL)
      continue;
    lg_locator_look(l, &position, 1, NULL, LG_SOLVED_WATTS);
    const LgView *const view = lg_locator_view(l, position, 0, LG_SOLVED_WATTS);
    LgView *const own = lg_view_new(l, l->n_rows, position);
    lg_views_solve(l, l->faults, (LgView *const *)&own, 1, NULL, LG_SOLVED_WATTS);
    for (int r = 0; r < l->n_rows; r++) {
      answered += r > 0 && view->as_healthy[r];
      for (int i = 0; i < l->n_loads; i++)
        g_assert_cmpfloat_with_epsilon(
            view->watts[lg_view_row(view, r) * (gsize)l->n_loads + (gsize)i],
            own->watts[r * l->n_loads + i], 1e-9 * (1 + l->most_W[i]));
    }
    lg_view_free(own);
  }
  g_test_message("%d answered of %d in each state", answered, l->n_rows);
  g_assert_cmpint(answered, >, l->n_rows / 2);
  close_bay(&bay);
}

/* ---- Contradictions and what cannot be. ---- */

static void test_contradiction_is_shown(void)
{
  Bay bay = open_bay(heater_job);
  g_autoptr(LgSigns) signs =
      signs_of(&bay, "E1 runs=yes when S1=on E1.1 G1.- volts=12.2V when S1=on "
                     "E1.1 G1.- volts=4V when S1=on "
                     "S1.2 G1.- volts=12.3V when S1=on");
  g_autoptr(LgLocation) location = judge(&bay, signs, 0);
  g_assert_true(location->unclear);
  int odd = 0;
  for (int s = 0; s < location->n_signs; s++)
    odd += location->odd[s] != FALSE;
  g_assert_cmpint(odd, ==, 1);
  g_assert_true(location->odd[2]);
  /* Nothing was averaged: the fit stays at the three that agree, and 8 V are left over. */
  g_assert_cmpfloat(location->left[2], <, -7.5);
  close_bay(&bay);
}

static void assert_asked_back(const Bay *bay, const char *words, const char *part_of_message)
{
  g_autoptr(LgSigns) signs = signs_of(bay, words);
  g_assert_cmpuint(signs->findings->len, ==, 1);
  const LgFinding *const finding = signs->findings->pdata[0];
  g_test_message("%s: %s (%s)", finding->rule, finding->what, finding->remedy);
  g_assert_nonnull(strstr(finding->what, part_of_message));
  g_assert_cmpstr(finding->remedy, !=, NULL);
}

static void test_impossible_is_asked_back(void)
{
  static const char extra[] = "part X1 assembly is=donor\npin X1.1\npin X1.2\npin X1.3\n"
                              "element X1.bar link 1 2\n"
                              "wire W9 E1.1 X1.1 RD 1mm2 length=0.2m\n"
                              "part X9 assembly is=donor housing=\"yellow, 2 ways\" restraint=yes\n"
                              "pin X9.1\npin X9.2\n";
  g_autofree char *text = g_strconcat(heater_job, extra, NULL);
  Bay bay = open_bay(text);
  assert_asked_back(&bay, "X1.1 X1.2 volts=12V when S1=on", "one piece of metal");
  assert_asked_back(&bay, "X1.3 G1.- volts=12V", "no source of the sheet leads to X1.3");
  assert_asked_back(&bay, "E1.1 G1.- volts=48V", "nothing in a 12 V job");
  assert_asked_back(&bay, "E1.1 E1.2 ohms=0.1ohm lead=2ohm", "leaves -1.9 ohm");
  assert_asked_back(&bay, "E1.1 E1.2 volts=12V when S1=on E1.1 E1.2 ohms=3ohm when S1=on",
                    "also volts");
  assert_asked_back(&bay, "X9.1 G1.- volts=0V", "airbag");
  close_bay(&bay);
}

static void test_words_that_say_nothing(void)
{
  Bay bay = open_bay(heater_job);
  static const struct {
    const char *words, *message;
  } cases[] = {
      {"E1.1 G1.- volts=12", "with its unit"},
      {"E1.1 G1.-", "what was seen"},
      {"E7 runs=no", "is no pin and no load"},
      {"E1 runs=maybe", "runs=yes, runs=weak or runs=no"},
      {"E1.1 volts=12V", "between two pins"},
      {"E1.1 E1.1 volts=0V", "both leads are on one pin"},
      {"G1.+ G1.- runs=no", "said of a load"},
      {"E1 runs=no when S1=onn", "no position"},
      {"E1 runs=no when E1.heater=off", "say by its switch"},
      {"E1.1 G1.- volts=12V volts=11V", "one value"},
      {"E1.1 G1.- colour=red", "says nothing here"},
  };
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++) {
    const char *const list[] = {cases[i].words, NULL};
    g_autoptr(GError) error = NULL;
    g_autoptr(LgSigns) signs = lg_signs_new(bay.locator, FALSE, list, &error);
    g_assert_null(signs);
    g_assert_nonnull(error);
    g_test_message("%s: %s", cases[i].words, error->message);
    g_assert_nonnull(strstr(error->message, cases[i].message));
  }
  close_bay(&bay);
}

/* ---- Two at once. ---- */

static void test_two_at_once(void)
{
  Bay bay = open_bay(heater_job);
  /* 3 ohm heater, 1 ohm in W3's joints, 1 ohm in the ground: 12.5 V split 2.5, 7.5, 2.5 */
  g_autoptr(LgSigns) signs =
      signs_of(&bay, "E1 runs=weak when S1=on G1.+ G1.- volts=12.5V when S1=on "
                     "S1.2 E1.1 volts=2.5V when S1=on "
                     "E1.1 E1.2 volts=7.5V when S1=on "
                     "XG2.1 G1.- volts=2.45V when S1=on");
  g_autoptr(LgLocation) single = judge(&bay, signs, 0);
  g_assert_true(single->unclear);
  g_autoptr(LgLocation) location = judge(&bay, signs, 60);
  g_autofree char *words = first_words(&bay, location);
  g_test_message("%s", words);
  g_assert_nonnull(strstr(words, "W3"));
  g_assert_nonnull(strstr(words, "XG2"));
  g_assert_nonnull(strstr(words, "; and "));
  close_bay(&bay);
}

/* ---- Restraint. ---- */

static void test_restraint_is_never_proposed(void)
{
  Bay bay = open_example("library-van-seat.job");
  for (int i = 0; i < bay.locator->n_loads; i++) {
    g_autoptr(LgGuide) guide = lg_guide_new(bay.locator, bay.locator->loads[i]);
    if (guide == NULL)
      continue;
    g_autoptr(GArray) pieces = lg_locator_weigh(bay.locator, &guide->symptom, 1, NULL);
    g_autoptr(GArray) probings = lg_locator_probings(bay.locator, pieces, &guide->symptom, 1);
    g_assert_cmpuint(probings->len, >, 20);
    for (guint k = 0; k < probings->len; k++) {
      const LgProbing *const p = &g_array_index(probings, LgProbing, k);
      for (int e = 0; e < 2 && p->kind != LG_SIGN_RUNS; e++)
        g_assert_cmpint(bay.made.job->pins[p->pin[e]].restraint, ==, LG_RESTRAINT_NO);
    }
  }
  close_bay(&bay);
}

/* ---- The guide. ---- */

static int depth_of(const LgGuide *guide, int step)
{
  const LgGuideStep *const s = &g_array_index(guide->steps, LgGuideStep, step);
  int deepest = 0;
  for (int k = 0; k < LG_GUIDE_OUTCOMES; k++)
    if (s->outcome[k].step >= 0)
      deepest = MAX(deepest, depth_of(guide, s->outcome[k].step));
  return 1 + deepest;
}

/* Every way through the tree ends with suspects, in at most six steps, and the shares of the
 * outcomes sum to that of the step that leads there. */
static void test_guide_ends(void)
{
  Bay bay = open_example("co-op-flatbed.job");
  int guides = 0;
  for (int i = 0; i < bay.locator->n_loads; i++) {
    g_autoptr(LgGuide) guide = lg_guide_new(bay.locator, bay.locator->loads[i]);
    if (guide == NULL)
      continue;
    guides++;
    g_assert_cmpuint(guide->steps->len, >, 1);
    g_assert_cmpint(depth_of(guide, 0), <=, LG_GUIDE_DEPTH);
    for (guint s = 0; s < guide->steps->len; s++) {
      const LgGuideStep *const step = &g_array_index(guide->steps, LgGuideStep, s);
      for (int k = 0; k < LG_GUIDE_OUTCOMES; k++) {
        if (step->outcome[k].share <= 0)
          continue;
        if (step->outcome[k].step < 0) {
          g_assert_cmpuint(step->outcome[k].found->len, >, 0);
          continue;
        }
        const LgGuideStep *const next =
            &g_array_index(guide->steps, LgGuideStep, step->outcome[k].step);
        double sum = 0;
        for (int m = 0; m < LG_GUIDE_OUTCOMES; m++)
          sum += next->outcome[m].share;
        g_assert_cmpfloat_with_epsilon(sum, step->outcome[k].share, 1e-9);
      }
    }
  }
  g_assert_cmpint(guides, ==, 6);
  close_bay(&bay);
}

/* ---- Planted faults. ---- */

enum { FAULTS = 25 };

/* In the whole, 95 of 100 and more: bench/locate-bench, docs/locate.md. Here a part of them. */
static void test_planted(gconstpointer name)
{
  Bay bay = open_example(name);
  Shop shop = {.knows = bay.locator, .rand = g_rand_new_with_seed(1)};
  int alike = 0;
  for (int i = 0; i < FAULTS; i++) {
    const LgSign symptom = new_case(&shop, bay.sizing);
    const Outcome outcome = look_by_locate(&shop, symptom);
    alike += outcome.alike;
    g_autofree char *words = lg_suspect_words(bay.locator, shop.planted);
    if (!outcome.alike)
      g_test_message("missed: %s", words);
  }
  g_assert_cmpint(alike, >=, FAULTS - 2);
  lg_locator_free(shop.truth);
  g_rand_free(shop.rand);
  close_bay(&bay);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/locate/bad-ground-by-ohms-law", test_bad_ground_by_ohms_law);
  g_test_add_func("/locate/bayes-by-hand", test_bayes_by_hand);
  g_test_add_func("/locate/second-sign-by-hand", test_second_sign_by_hand);
  g_test_add_func("/locate/ohms-by-hand", test_ohms_by_hand);
  g_test_add_func("/locate/leads-changed-over", test_leads_changed_over);
  g_test_add_func("/locate/answered-by-healthy", test_answered_by_healthy);
  g_test_add_data_func("/locate/idle-cannot-matter/van", "library-van-seat.job",
                       test_idle_cannot_matter);
  g_test_add_data_func("/locate/idle-cannot-matter/flatbed", "co-op-flatbed.job",
                       test_idle_cannot_matter);
  g_test_add_func("/locate/contradiction-is-shown", test_contradiction_is_shown);
  g_test_add_func("/locate/impossible-is-asked-back", test_impossible_is_asked_back);
  g_test_add_func("/locate/words-that-say-nothing", test_words_that_say_nothing);
  g_test_add_func("/locate/two-at-once", test_two_at_once);
  g_test_add_func("/locate/restraint-is-never-proposed", test_restraint_is_never_proposed);
  g_test_add_func("/locate/guide-ends", test_guide_ends);
  g_test_add_data_func("/locate/planted/van", "library-van-seat.job", test_planted);
  g_test_add_data_func("/locate/planted/flatbed", "co-op-flatbed.job", test_planted);
  return g_test_run();
}
