/* What a plug holds: classes, what was done, the next reading, restraint, the records. Ohms of the
 * workshop's table (pads with taps of 4.7, 4.2 and 0.8 ohm: makers' seat test pages, seen; relay
 * coils of 75 to 109 ohm: relay sheets, seen; thermistor 103AT: its table, seen). Sheets that are
 * wrong stand in tests/broken-identify with what must be said of them. */
#include "studies/identify.h"
#include "studies/studies-testing.h"

static const LgFound *at(const LgIdentity *id, int a, int b)
{
  for (guint i = 0; i < id->found->len; i++) {
    const LgFound *const f = &g_array_index(id->found, LgFound, i);
    if ((f->a == a && f->b == b) || (f->a == b && f->b == a))
      return f;
  }
  g_assert_not_reached();
}

static LgProbe probe(int red, int black, double ohm)
{
  return (LgProbe){.red = red,
                   .black = black,
                   .ohm = ohm,
                   .off_ohm = isinf(ohm) ? 1 : 0.01 * ohm + (ohm < 200 ? 0.05 : 0.0005 * ohm),
                   .temperature_K = LG_ZERO_C_IN_K + 20};
}

static LgProbe after(LgProbe p, LgDid did, LgSaw saw)
{
  p.did = did;
  p.saw = saw;
  return p;
}

static const LgCavity plain[LG_MOST_CAVITIES];

static void test_classes_by_ohms(void)
{
  const LgProbe probes[] = {probe(0, 1, 85),      probe(1, 0, 85.5), probe(2, 3, 4.7),
                            probe(4, 5, 10e3),    probe(6, 7, 0.05), probe(8, 9, 700),
                            probe(9, 8, INFINITY)};
  g_autoptr(LgIdentity) id = lg_identity_new(plain, 10, probes, G_N_ELEMENTS(probes));
  g_assert_cmpint(lg_found_class(at(id, 0, 1)), ==, LG_ID_COIL);
  g_assert_cmpint(lg_found_class(at(id, 2, 3)), ==, LG_ID_PAD);
  g_assert_cmpint(lg_found_class(at(id, 4, 5)), ==, LG_ID_NTC);
  const LgFound *const low = at(id, 6, 7);
  g_assert_cmpfloat(low->chance[LG_ID_BOND] + low->chance[LG_ID_CONTACT] + low->chance[LG_ID_BAR],
                    >, 0.8);
  const LgFound *const one_way = at(id, 8, 9);
  g_assert_cmpint(lg_found_class(one_way), ==, LG_ID_ELECTRONIC);
  g_assert_true(isinf(one_way->back_ohm) && one_way->a == 8);
  for (guint i = 0; i < id->found->len; i++) {
    double sum = 0;
    for (int c = 0; c < LG_N_ID_CLASSES; c++)
      sum += g_array_index(id->found, LgFound, i).chance[c];
    g_assert_cmpfloat_with_epsilon(sum, 1, 1e-9);
  }
}

/* What was done tells the classes apart that ohms cannot. */
static void test_what_was_done(void)
{
  const LgProbe at_rest[] = {probe(0, 1, 1.2), probe(2, 3, 1500)};
  g_autoptr(LgIdentity) vague = lg_identity_new(plain, 4, at_rest, 2);
  const double motor_before = at(vague, 0, 1)->chance[LG_ID_MOTOR];
  const LgProbe probes[] = {
      probe(0, 1, 1.2), after(probe(0, 1, 1.2), LG_DID_TURNED, LG_SAW_FLICKER), probe(2, 3, 1500),
      after(probe(2, 3, 1600), LG_DID_WARMED, LG_SAW_UNSAID)};
  g_autoptr(LgIdentity) id = lg_identity_new(plain, 4, probes, 4);
  g_assert_cmpfloat(at(id, 0, 1)->chance[LG_ID_MOTOR], >, fmax(motor_before, 0.9));
  g_assert_cmpint(at(id, 2, 3)->warmed, ==, LG_SAW_RISE);
  g_assert_cmpint(lg_found_class(at(id, 2, 3)), ==, LG_ID_PTC);
}

/* 103AT: 12,480 ohm at 20 C (memory), 8,060 ohm at 30 C (memory): falls by 4 % and more a kelvin.
 */
static void test_two_temperatures(void)
{
  LgProbe probes[] = {probe(0, 1, 12480), probe(0, 1, 8060)};
  probes[1].temperature_K += 10;
  g_autoptr(LgIdentity) id = lg_identity_new(plain, 2, probes, 2);
  const LgFound *const f = at(id, 0, 1);
  g_assert_cmpint(lg_found_class(f), ==, LG_ID_NTC);
  g_assert_cmpfloat_with_epsilon(f->slope, log(8060.0 / 12480) / 10, 1e-12);
  g_assert_false(id->clash[0] || id->clash[1]);
  g_assert_cmpfloat_with_epsilon(f->ohm, 12480, 1);
}

/* Open at rest, 1.2 ohm with the rocker pressed: a contact with a motor behind it. */
static void test_behind_a_switch(void)
{
  const LgProbe probes[] = {
      probe(0, 1, INFINITY), after(probe(0, 1, 1.2), LG_DID_MOVED, LG_SAW_UNSAID),
      probe(2, 3, INFINITY), after(probe(2, 3, 0.1), LG_DID_MOVED, LG_SAW_UNSAID)};
  g_autoptr(LgIdentity) id = lg_identity_new(plain, 4, probes, 4);
  g_assert_true(at(id, 0, 1)->switched);
  g_assert_cmpint(lg_found_class(at(id, 0, 1)), ==, LG_ID_MOTOR);
  g_assert_cmpint(lg_found_class(at(id, 2, 3)), ==, LG_ID_CONTACT);
}

static void test_tapped_pads_and_heat(void)
{
  const LgProbe probes[] = {probe(0, 1, 4.7), probe(1, 2, 4.2), probe(0, 2, 8.9),
                            after(probe(3, 4, 12e3), LG_DID_WARMED, LG_SAW_FALL)};
  g_autoptr(LgIdentity) id = lg_identity_new(plain, 5, probes, 4);
  g_assert_cmpint(lg_found_class(at(id, 0, 1)), ==, LG_ID_TAPPED);
  g_assert_cmpint(lg_found_class(at(id, 1, 2)), ==, LG_ID_TAPPED);
  g_assert_cmpfloat(id->heat, >, 0.9);
  GArray *const open = g_array_new(FALSE, FALSE, sizeof(LgProbe));
  for (int a = 0; a < 5; a++)
    for (int b = 0; b < a; b++) {
      const LgProbe p = probe(a, b, INFINITY);
      g_array_append_val(open, p);
    }
  g_autoptr(LgIdentity) none =
      lg_identity_new(plain, 5, &g_array_index(open, LgProbe, 0), (int)open->len);
  g_assert_cmpfloat(none->heat, <, 0.05);
  for (int k = 0; k < 5; k++)
    g_assert_cmpfloat(none->nothing[k], >, 0.7);
  g_array_unref(open);
}

/* The first reading is one of like neighbours; pairs that tell nothing are not proposed. */
static void test_next(void)
{
  LgCavity cavities[6] = {[0] = {.kin = 1}, [1] = {.empty = TRUE}, [2] = {.shut = TRUE},
                          [3] = {.kin = 2}, [4] = {.kin = 2},      [5] = {.kin = 1}};
  g_autoptr(LgIdentity) first = lg_identity_new(cavities, 6, NULL, 0);
  g_assert_cmpuint(first->next->len, >, 0);
  const LgNext *const next = &g_array_index(first->next, LgNext, 0);
  g_assert_true(next->red == 3 && next->black == 4 && next->did == LG_DID_NOTHING);
  const LgProbe probes[] = {probe(0, 3, 1.5), probe(3, 0, 1.5), probe(4, 5, 85),
                            probe(0, 4, INFINITY), probe(2, 5, 1)};
  g_autoptr(LgIdentity) id = lg_identity_new(cavities, 6, probes, G_N_ELEMENTS(probes));
  for (guint i = 0; i < id->next->len; i++) {
    const LgNext *const n = &g_array_index(id->next, LgNext, i);
    g_assert_true(n->red != 1 && n->black != 1 && n->red != 2 && n->black != 2);
    g_assert_cmpfloat(n->bits, >, 0);
    if (i > 0)
      g_assert_cmpfloat(n->bits, <=, (n - 1)->bits);
    /* 0 and 3 are one piece, 4 and 5 another, open to each other: one reading said it all */
    g_assert_false(n->did == LG_DID_NOTHING && !n->reverse && (n->red == 3 || n->black == 3));
  }
  g_assert_cmpuint(id->found->len, ==, 2); /* the probe on the shut cavity is not looked at */
}

static char *findings_of(const LgPartIdentity *of)
{
  GString *const text = g_string_new(NULL);
  for (guint i = 0; i < of->findings->len; i++) {
    const LgFinding *const f = of->findings->pdata[i];
    g_string_append_printf(text, "%d: %s [%s] %s: %s\n    %s\n", f->origin.line,
                           lg_grade_word(f->grade), f->rule, f->subject, f->what, f->remedy);
  }
  return g_string_free(text, FALSE);
}

static gboolean is_left_alone(const LgPin *pin)
{
  return pin->restraint != LG_RESTRAINT_NO;
}

/* What must be said of a sheet, then the reading it proposes first. */
static void test_broken(gconstpointer data)
{
  const char *const path = data;
  g_autofree char *text = NULL, *wanted = NULL;
  g_assert_true(g_file_get_contents(path, &text, NULL, NULL));
  Made made = make(text);
  g_autoptr(LgPartIdentity) of = lg_part_identity_new(made.job, lg_job_find_part(made.job, "P"));
  g_autoptr(GString) said = g_string_new(NULL);
  g_autofree char *findings = findings_of(of);
  g_string_append(said, findings);
  for (guint i = 0; of->identity != NULL && i < of->identity->next->len; i++) {
    const LgNext *const next = &g_array_index(of->identity->next, LgNext, i);
    g_autofree char *words = lg_identity_next_words(of, next);
    if (i == 0)
      g_string_append_printf(said, "next: %s\n", words);
    g_assert_false(is_left_alone(&made.job->pins[made.job->parts[of->part].first_pin + next->red]));
    g_assert_false(
        is_left_alone(&made.job->pins[made.job->parts[of->part].first_pin + next->black]));
  }
  g_autofree char *beside = g_strdup_printf("%.*s.expected", (int)strlen(path) - 4, path);
  if (g_getenv("LG_UPDATE") != NULL)
    g_file_set_contents(beside, said->str, -1, NULL);
  g_assert_true(g_file_get_contents(beside, &wanted, NULL, NULL));
  g_assert_cmpstr(said->str, ==, wanted);
  if (of->stopped) {
    g_autoptr(GPtrArray) lines = lg_identity_records(of);
    g_assert_cmpuint(lines->len, ==, 0);
  }
  unmake(&made);
}

static const char plug_text[] =
    "job \"plug\" nominal=12V\n"
    "part P assembly is=donor\n"
    "pin P.1 colour=RD\npin P.2 colour=BK\npin P.3\npin P.4\npin P.5\npin P.6\npin P.7\npin P.8\n"
    "pin P.9\npin P.10\npin P.11\npin P.12\n"
    "reading A P.1 P.2 resistance=4.9ohm\nreading B P.2 P.3 resistance=4.4ohm\n"
    "reading C P.4 P.5 resistance=12.5kohm did=\"fell when warmed by hand\"\n"
    "reading D P.6 P.7 open=yes\nreading E P.6 P.7 resistance=1.4ohm did=\"rocker pressed\"\n"
    "reading F P.8 P.9 resistance=85.2ohm\nreading G P.9 P.8 resistance=85.4ohm\n"
    "reading H P.10 P.11 resistance=700ohm\nreading I P.11 P.10 open=yes\n";

/* The block, pasted in, reads well and makes a job with the elements in it. */
static void test_records_paste(void)
{
  Made made = make(plug_text);
  g_autoptr(LgPartIdentity) of = lg_part_identity_new(made.job, 0);
  g_autoptr(GPtrArray) lines = lg_identity_records(of);
  g_autoptr(GString) text =
      g_string_new("job \"plug\" nominal=12V\npart P assembly is=donor\npin P.12\n");
  for (guint i = 0; i < lines->len; i++)
    g_string_append_printf(text, "%s\n", (const char *)lines->pdata[i]);
  const char *const readings = strstr(plug_text, "reading A");
  g_string_append(text, readings);
  Made pasted = make(text->str);
  static const struct {
    const char *a, *b;
    LgElementKind kind;
  } want[] = {{"P.1", "P.2", LG_EL_HEATER},     {"P.2", "P.3", LG_EL_HEATER},
              {"P.4", "P.5", LG_EL_THERMISTOR}, {"P.8", "P.9", LG_EL_COIL},
              {"P.10", "P.11", LG_EL_DIODE},    {"P.behind-6-7", "P.7", LG_EL_MOTOR}};
  g_assert_cmpint(pasted.job->n_elements, ==, G_N_ELEMENTS(want));
  for (gsize i = 0; i < G_N_ELEMENTS(want); i++) {
    const int a = lg_job_find_pin(pasted.job, want[i].a),
              b = lg_job_find_pin(pasted.job, want[i].b);
    int found = -1;
    for (int e = 0; e < pasted.job->n_elements; e++)
      if (MIN(pasted.job->elements[e].pin[0], pasted.job->elements[e].pin[1]) == MIN(a, b) &&
          MAX(pasted.job->elements[e].pin[0], pasted.job->elements[e].pin[1]) == MAX(a, b))
        found = e;
    g_assert_cmpint(found, >=, 0);
    g_assert_cmpint(pasted.job->elements[found].kind, ==, want[i].kind);
  }
  g_assert_cmpint(pasted.job->pins[lg_job_find_pin(pasted.job, "P.8")].evidence, ==,
                  LG_EVIDENCE_MEASURED);
  unmake(&pasted);
  unmake(&made);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/identify/classes-by-ohms", test_classes_by_ohms);
  g_test_add_func("/identify/what-was-done", test_what_was_done);
  g_test_add_func("/identify/two-temperatures", test_two_temperatures);
  g_test_add_func("/identify/behind-a-switch", test_behind_a_switch);
  g_test_add_func("/identify/tapped-pads-and-heat", test_tapped_pads_and_heat);
  g_test_add_func("/identify/next", test_next);
  g_test_add_func("/identify/records-paste", test_records_paste);
  g_autofree char *folder =
      g_build_filename(g_getenv("LG_SOURCE_ROOT"), "tests", "broken-identify", NULL);
  g_autoptr(GDir) dir = g_dir_open(folder, 0, NULL);
  g_assert_nonnull(dir);
  for (const char *name; (name = g_dir_read_name(dir)) != NULL;) {
    if (!g_str_has_suffix(name, ".job"))
      continue;
    g_autofree char *test = g_strdup_printf("/identify/broken/%s", name);
    g_test_add_data_func_full(test, g_build_filename(folder, name, NULL), test_broken, g_free);
  }
  return g_test_run();
}
