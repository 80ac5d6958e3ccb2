/* Two ways side by side. The figures are checked by hand: Ohm's law around the loop. */
#include "studies/compare.h"
#include <math.h>
#include <string.h>

typedef struct {
  LgCatalogue *catalogue;
  LgSheet *sheet;
  LgJob *job;
  LgSizing *sizing;
  GPtrArray *findings;
} Made;

static Made make(const char *text, const char *variant)
{
  g_autoptr(GBytes) bytes = g_bytes_new(text, strlen(text));
  Made m = {.catalogue = lg_catalogue_new(), .sheet = lg_sheet_read("test.job", bytes, FALSE)};
  m.job = lg_job_new_variant(m.sheet, m.catalogue,
                             variant != NULL ? lg_sheet_find_variant(m.sheet, variant) : 0);
  const GPtrArray *const problems = lg_sheet_problems(m.sheet);
  for (guint i = 0; i < problems->len; i++)
    g_test_message("%s", ((const LgProblem *)problems->pdata[i])->what);
  g_assert_nonnull(m.job);
  m.sizing = lg_sizing_new(m.job, NULL);
  m.findings = lg_checks_run(m.job, m.sizing);
  return m;
}

static void drop(Made *m)
{
  g_ptr_array_unref(m->findings);
  lg_sizing_free(m->sizing);
  lg_job_free(m->job);
  lg_sheet_free(m->sheet);
  lg_catalogue_free(m->catalogue);
}

static const LgContrast *find(const GArray *contrasts, const char *subject, const char *measure)
{
  for (guint i = 0; i < contrasts->len; i++) {
    const LgContrast *const c = &g_array_index(contrasts, LgContrast, i);
    if (g_strcmp0(c->subject, subject) == 0 && strcmp(c->measure, measure) == 0)
      return c;
  }
  return NULL;
}

/* A heater of 60 W at 12 V, 2.4 ohm, through a switch, or through a relay that the switch works.
 * The battery gives 12.5 V at the charge of the sheet, at most 12.8 V. */
static const char job[] =
    "job \"pad\" nominal=12V ambient=20C..20C\n"
    "part G1 battery-12 capacity=70Ah is=host\n"
    "part XG ground is=host\n"
    "wire B G1.- XG.1 BK 16mm2 length=0.3m is=host\n"
    "part F1 fuse-blade rating=15A\n"
    "part S1 switch-on-off\n"
    "part E1 assembly\npin E1.1\npin E1.2\nelement E1.pad heater 1 2 volts=12V power=60W\n"
    "wire W1 G1.+ F1.1 RD 2.5mm2 length=0.2m\n"
    "wire W2 F1.2 S1.1 RD 2.5mm2 length=1m\n"
    "wire W3 S1.2 E1.1 RD 2.5mm2 length=1m\n"
    "wire W4 E1.2 XG.1 BK 2.5mm2 length=1m\n"
    "variant relay without=W3 \"the switch only triggers\"\n"
    "part K1 relay-make\n"
    "wire W3a S1.2 K1.86 RD 1mm2 length=1m\n"
    "wire W5 K1.85 XG.1 BK 1mm2 length=1m\n"
    "wire W6 F1.2 K1.30 RD 2.5mm2 length=1m\n"
    "wire W7 K1.87 E1.1 RD 2.5mm2 length=1m\n";

static void test_relay_takes_the_load_off_the_switch(void)
{
  Made a = make(job, NULL), b = make(job, "relay");
  const LgChoice one = {"direct", a.sizing, a.findings}, two = {"relay", b.sizing, b.findings};
  g_autoptr(GArray) contrasts = lg_contrasts_new(&one, &two);
  const LgContrast *const amps = find(contrasts, "S1.contact", "greatest lasting current");
  g_assert_nonnull(amps);
  g_assert_cmpfloat(amps->value[0], >, 12.3 / 2.45 * 0.98);
  g_assert_cmpfloat(amps->value[0], <, 12.8 / 2.4);
  const double coil_ohm = b.job->elements[lg_job_find_element(b.job, "K1.coil")].p[LG_P_RESISTANCE];
  g_assert_cmpfloat(amps->value[1], <, 12.8 / coil_ohm * 1.01);
  g_assert_cmpfloat(amps->value[1], >, 12.3 / coil_ohm * 0.97);
  const LgContrast *const relays = find(contrasts, NULL, "relays");
  g_assert_cmpfloat(relays->value[0], ==, 0);
  g_assert_cmpfloat(relays->value[1], ==, 1);
  g_assert_true(isnan(find(contrasts, "K1.coil", "least volts")->value[0]));
  g_assert_true(isnan(find(contrasts, "W3", "size")->value[1]));
  g_assert_cmpfloat(find(contrasts, NULL, "new wires")->value[1], ==, 7);
  /* W1 keeps its size, and all but the coil's part of its current. */
  g_assert_null(find(contrasts, "W1", "size"));
  g_autofree char *sentence = lg_contrasts_sentence(&one, &two, contrasts);
  g_assert_true(g_str_has_prefix(sentence, "relay instead of direct: "));
  g_assert_nonnull(strstr(sentence, "S1.contact"));
  drop(&a);
  drop(&b);
}

static void test_a_job_does_not_differ_from_itself(void)
{
  Made a = make(job, NULL);
  const LgChoice one = {"one", a.sizing, a.findings}, two = {"two", a.sizing, a.findings};
  g_autoptr(GArray) contrasts = lg_contrasts_new(&one, &two);
  for (guint i = 0; i < contrasts->len; i++) {
    const LgContrast *const c = &g_array_index(contrasts, LgContrast, i);
    g_assert_cmpint(c->about, ==, LG_ABOUT_JOB);
    g_assert_cmpfloat(c->value[0], ==, c->value[1]);
  }
  g_autofree char *sentence = lg_contrasts_sentence(&one, &two, contrasts);
  g_assert_nonnull(strstr(sentence, "no figure differs"));
  drop(&a);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/compare/relay", test_relay_takes_the_load_off_the_switch);
  g_test_add_func("/compare/itself", test_a_job_does_not_differ_from_itself);
  return g_test_run();
}
