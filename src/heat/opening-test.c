/* Opening times against the published limits, and what may open by mistake. */
#include "heat/heat.h"
#include "heat/published.h"

#include <math.h>

static LgProtector fuse_of(const LgCatalogue *catalogue, const char *form, double rating_A)
{
  const LgFuse *fuse = lg_catalogue_fuse(catalogue, form, rating_A);
  return (LgProtector){.kind = LG_PROTECTOR_FUSE,
                       .rating_A = rating_A,
                       .ambient_K = 298.15,
                       .catalogue = catalogue,
                       .form = form,
                       .melting_A2s = fuse != NULL ? fuse->melting_A2s : NAN};
}

/* ISO 8820, SAE J1284, J2077, J1888, DIN 72581-3 limits (seen and memory, by row): our shortest is
 * nowhere above the printed least, our longest nowhere below the printed most, and both are the
 * printed figure unless the catalogue took the wider of two sources. */
static void test_limits(void)
{
  static const struct {
    const char *class_text, *form;
    double rating_A;
  } forms[] = {{"blade, maxi (form E)", "blade-maxi", 40},
               {"blade, regular (form C) and mini (form F)", "blade-regular", 20},
               {"blade, regular (form C) and mini (form F)", "blade-mini", 20},
               {"bolt-down, bolt-51 (51 mm bolt spacing)", "bolt-51", 150},
               {"bolt-down, bolt-30 (30 mm bolt spacing)", "bolt-30", 80}};
  g_autoptr(Rows) rows = rows_read("fuse_time_limits.csv");
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  int n = 0, same = 0;
  for (int i = 0; i < rows_count(rows); i++)
    for (guint f = 0; f < G_N_ELEMENTS(forms); f++) {
      if (!g_str_equal(rows_text(rows, i, "fuse_class"), forms[f].class_text))
        continue;
      const LgProtector fuse = fuse_of(catalogue, forms[f].form, forms[f].rating_A);
      const double load = rows_number(rows, i, "load_percent") / 100;
      const LgOpeningTime ours = lg_opening_time(&fuse, load * fuse.rating_A);
      const double least = rows_number(rows, i, "min_time_s"),
                   most = rows_number(rows, i, "max_time_s");
      if (!isnan(least))
        g_assert_cmpfloat(ours.least_s, <=, least * (1 + 1e-9));
      if (!isnan(most))
        g_assert_cmpfloat(ours.most_s, >=, most * (1 - 1e-9));
      same += (isnan(least) || fabs(ours.least_s / least - 1) < 1e-9) &&
              (isnan(most) || fabs(ours.most_s / most - 1) < 1e-9);
      n++;
    }
  g_test_message("%d of %d printed limits taken as they are", same, n);
  g_assert_cmpint(n, >=, 20);
  g_assert_cmpint(same, >=, n - 2);
}

/* At the rating as it is at the fuse's ambient, both edges fall with the current, the long one
 * never below the short one; no edge below the rating; I2t stays beyond the last gate. */
static void test_band(void)
{
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  static const char *const forms[] = {"blade-mini", "blade-regular", "blade-maxi", "bolt-30",
                                      "bolt-51"};
  static const double ratings[] = {10, 20, 40, 80, 150};
  for (guint f = 0; f < G_N_ELEMENTS(forms); f++) {
    const LgProtector fuse = fuse_of(catalogue, forms[f], ratings[f]);
    LgOpeningTime before = {INFINITY, INFINITY};
    for (double load = 0.5; load < 60; load *= 1.01) {
      const LgOpeningTime now = lg_opening_time(&fuse, load * ratings[f]);
      g_assert_cmpfloat(now.least_s, <=, before.least_s);
      g_assert_cmpfloat(now.most_s, <=, before.most_s);
      g_assert_cmpfloat(now.least_s, <=, now.most_s);
      g_assert_true(load >= 1 || isinf(now.least_s));
      before = now;
    }
    const LgOpeningTime at8 = lg_opening_time(&fuse, 8 * ratings[f]);
    const LgOpeningTime at16 = lg_opening_time(&fuse, 16 * ratings[f]);
    g_assert_cmpfloat(fabs(at8.most_s / at16.most_s - 4), <, 1e-9);
  }
  const LgProtector none = fuse_of(catalogue, "no such body", 10);
  g_assert_true(isinf(lg_opening_time(&none, 1e6).most_s));
}

/* Rerating curve (memory, low confidence), at its points and between. */
static void test_rerating(void)
{
  g_assert_cmpfloat(fabs(lg_rerating(LG_PROTECTOR_FUSE, 298.15) - 1), <, 1e-12);
  g_assert_cmpfloat(fabs(lg_rerating(LG_PROTECTOR_FUSE, 273.15 + 85) - 0.90), <, 1e-12);
  g_assert_cmpfloat(fabs(lg_rerating(LG_PROTECTOR_FUSE, 273.15 + 75) - 0.915), <, 1e-12);
  g_assert_cmpfloat(lg_rerating(LG_PROTECTOR_FUSE, 500), ==, 0.82);
  g_assert_cmpfloat(lg_rerating(LG_PROTECTOR_BREAKER, 400), ==, 1);
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  LgProtector hot = fuse_of(catalogue, "blade-regular", 20);
  const LgProtector cool = hot;
  hot.ambient_K = 358.15;
  g_assert_cmpfloat(lg_opening_time(&hot, 40).most_s, <, lg_opening_time(&cool, 40).most_s);
}

/* SAE J553 figures (memory, low confidence): 135 % within an hour, 200 % in 3 to 60 s. The mean of
 * a self-closing one: I sqrt (on / (on + off)). */
static void test_breaker(void)
{
  LgProtector breaker = {.kind = LG_PROTECTOR_BREAKER,
                         .rating_A = 20,
                         .ambient_K = 330,
                         .reclose = LG_RECLOSE_SELF,
                         .off_s = 15};
  g_assert_true(isinf(lg_opening_time(&breaker, 20).most_s));
  g_assert_cmpfloat(fabs(lg_opening_time(&breaker, 27).most_s - 3600), <, 1e-6);
  g_assert_cmpfloat(fabs(lg_opening_time(&breaker, 40).least_s - 3), <, 1e-6);
  g_assert_cmpfloat(fabs(lg_cycling_current(&breaker, 40) - 40 * sqrt(60.0 / 75)), <, 1e-9);
  breaker.reclose = LG_RECLOSE_POWER;
  g_assert_cmpfloat(lg_cycling_current(&breaker, 40), ==, 40);
}

static void test_electronic(void)
{
  const LgProtector output = {
      .kind = LG_PROTECTOR_ELECTRONIC, .rating_A = 10, .limit_A = 14, .trip_s = 0.2};
  g_assert_true(isinf(lg_opening_time(&output, 13.9).most_s));
  g_assert_cmpfloat(lg_opening_time(&output, 14.1).most_s, ==, 0.2);
}

/* Maker's notes: 0.75 of the rating for a lasting load (seen), 0.22 of the melting I2t for a pulse
 * that comes 100000 times (seen). */
static void test_nuisance(void)
{
  g_autoptr(LgCatalogue) catalogue = lg_catalogue_new();
  LgProtector fuse = fuse_of(catalogue, "blade-regular", 20);
  fuse.melting_A2s = 1000;
  LgNuisance n = lg_nuisance(&fuse, 15, 60, 0.02);
  g_assert_cmpfloat(fabs(n.lasting_share - 0.75), <, 1e-12);
  g_assert_true(n.lasting_ok && n.start_ok && n.pulse_ok);
  g_assert_cmpfloat(fabs(n.pulse_share - 0.072), <, 1e-12);
  g_assert_cmpfloat(fabs(n.start_share - 0.02 / lg_opening_time(&fuse, 60).least_s), <, 1e-12);
  n = lg_nuisance(&fuse, 16, 60, 0.5);
  g_assert_false(n.lasting_ok || n.start_ok || n.pulse_ok);
  fuse.ambient_K = 358.15;
  g_assert_false(lg_nuisance(&fuse, 15, 15, 0).lasting_ok);
  fuse.melting_A2s = NAN;
  g_assert_true(isnan(lg_nuisance(&fuse, 15, 60, 0.01).pulse_share));
  g_assert_cmpfloat(lg_nuisance(&fuse, 5, 6, 1e6).start_share, ==, 0);
}

int main(int argc, char *argv[])
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/heat/opening/published-limits", test_limits);
  g_test_add_func("/heat/opening/band", test_band);
  g_test_add_func("/heat/opening/rerating", test_rerating);
  g_test_add_func("/heat/opening/breaker", test_breaker);
  g_test_add_func("/heat/opening/electronic", test_electronic);
  g_test_add_func("/heat/opening/nuisance", test_nuisance);
  return g_test_run();
}
