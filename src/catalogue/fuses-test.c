/* Fuses of the catalogue against standards and lists. */
#include "catalogue/catalogue.h"
#include "catalogue/reference.h"
#include <math.h>
#include <string.h>

static LgCatalogue *catalogue;

/* Our form for the words of a published table, NULL for bodies that we do not have. */
static const char *form_of(const char *words)
{
  static const char *const forms[][2] = {{"mini", "blade-mini"},
                                         {"regular", "blade-regular"},
                                         {"maxi", "blade-maxi"},
                                         {"bolt-down, 30 mm", "bolt-30"},
                                         {"bolt-down, 51 mm", "bolt-51"}};
  for (gsize i = 0; i < G_N_ELEMENTS(forms); i++)
    if (g_str_has_prefix(words, forms[i][0]))
      return forms[i][1];
  return NULL;
}

static int count_of_form(const char *form)
{
  const GPtrArray *const fuses = lg_catalogue_fuses(catalogue);
  int n = 0;
  for (guint i = 0; i < fuses->len; i++)
    n += strcmp(((const LgFuse *)fuses->pdata[i])->form, form) == 0;
  return n;
}

/* Rating series of the three blade bodies (seen) and of bolt-down fuses (memory): all of them, and
 * no others. */
static void test_ratings(void)
{
  g_autoptr(Rows) rows = rows_read("fuse_forms.csv");
  int forms = 0;
  for (int i = 0; i < rows_count(rows); i++) {
    const char *const form = form_of(rows_text(rows, i, "form"));
    if (form == NULL)
      continue;
    g_auto(GStrv) ratings = g_strsplit(rows_text(rows, i, "rating_series_A"), " ", -1);
    for (int k = 0; ratings[k] != NULL; k++)
      if (lg_catalogue_fuse(catalogue, form, g_ascii_strtod(ratings[k], NULL)) == NULL)
        g_error("no %s fuse of %s A", form, ratings[k]);
    g_assert_cmpint((int)g_strv_length(ratings), ==, count_of_form(form));
    forms++;
  }
  g_assert_cmpint(forms, ==, 5);
}

/* Whether the printed colour is ours: "light brown (tan)", "clear / natural" say ours and more. */
static gboolean is_colour(const LgFuse *fuse, const char *printed)
{
  return strstr(printed, fuse->colour) != NULL;
}

/* Blade colours, ISO 8820-3 / DIN 72581 list and form E extract (seen). Of the one list only the
 * ratings that a body has. Exceptions: our large bodies follow the form E extract where the list
 * says plainer (30 A light green, 60 A light blue) or other (70 A light brown), and 80 A is printed
 * natural/white there, clear in the two others. */
static void test_colours(void)
{
  static const char *const bodies[] = {"blade-mini", "blade-regular", "blade-maxi"};
  g_autoptr(Rows) rows = rows_read("fuse_colours.csv");
  int same = 0, other = 0;
  for (int i = 0; i < rows_count(rows); i++) {
    const char *const words = rows_text(rows, i, "form"), *const printed =
                                                              rows_text(rows, i, "colour");
    const char *const form = form_of(words);
    for (gsize k = 0; k < G_N_ELEMENTS(bodies); k++) {
      const LgFuse *const fuse =
          lg_catalogue_fuse(catalogue, bodies[k], rows_number(rows, i, "rating_A"));
      if (fuse == NULL || (form != NULL && strcmp(form, bodies[k]) != 0))
        continue;
      if (is_colour(fuse, printed)) {
        same++;
        continue;
      }
      const gboolean listed =
          strcmp(fuse->form, "blade-maxi") == 0 &&
          (fuse->rating_A == 30 || fuse->rating_A == 60 || fuse->rating_A == 80);
      if (!listed)
        g_error("%s %g A: ours %s, printed %s", fuse->form, fuse->rating_A, fuse->colour, printed);
      other++;
    }
  }
  g_assert_cmpint(same, ==, 35);
  g_assert_cmpint(other, ==, 3);
}

/* A rating's colour belongs to it alone within a body: the reason for the colours. */
static void test_colours_tell_ratings_apart(void)
{
  const GPtrArray *const fuses = lg_catalogue_fuses(catalogue);
  for (guint i = 0; i < fuses->len; i++)
    for (guint k = i + 1; k < fuses->len; k++) {
      const LgFuse *const a = fuses->pdata[i], *const b = fuses->pdata[k];
      if (a->colour != NULL && b->colour != NULL && strcmp(a->form, b->form) == 0)
        g_assert_cmpstr(a->colour, !=, b->colour);
    }
}

/* Cold resistance and melting I2t of regular blades (10 and 15 A seen, others memory). The drop at
 * rated current is above cold resistance times current, as a warm element has more. */
static void test_electrical(void)
{
  g_autoptr(Rows) rows = rows_read("fuse_electrical.csv");
  int n = 0, drops = 0;
  for (int i = 0; i < rows_count(rows); i++) {
    const char *const form = form_of(rows_text(rows, i, "form"));
    const double rating = rows_number(rows, i, "rating_A"),
                 cold = 1e-3 * rows_number(rows, i, "cold_resistance_mohm"),
                 melting = rows_number(rows, i, "melting_i2t_A2s"),
                 drop = 1e-3 * rows_number(rows, i, "voltage_drop_at_rated_current_mV");
    const LgFuse *const fuse = lg_catalogue_fuse(catalogue, form, rating);
    g_assert_nonnull(fuse);
    if (!isnan(cold))
      g_assert_cmpfloat(fabs(fuse->cold_ohm / cold - 1), <, 2e-3);
    if (!isnan(melting))
      g_assert_cmpfloat(fuse->melting_A2s, ==, melting);
    if (!isnan(drop) && !isnan(fuse->cold_ohm)) {
      g_assert_cmpfloat(drop, >, rating * fuse->cold_ohm);
      drops++;
    }
    n++;
  }
  g_assert_cmpint(n, ==, 24);
  g_assert_cmpint(drops, ==, 12);
}

typedef struct {
  const char *words, *form;
} ClassForm;

/* Body sizes that a row of the time limits speaks of. */
static const ClassForm class_forms[] = {{"maxi", "blade-maxi"},
                                        {"regular (form C)", "blade-regular"},
                                        {"mini (form F)", "blade-mini"},
                                        {"51 mm", "bolt-51"},
                                        {"30 mm", "bolt-30"}};

/* ISO 8820, DIN 72581, SAE J1284, J2077, J1888 as printed (form E and longest relay-safe times
 * seen, others memory): at each gate our times are the printed ones. Exception: blades at 135 %,
 * where maker sheets print 600 s and we keep the 1800 s of ISO 8820-3 (seen). */
static void test_time_limits(void)
{
  g_autoptr(Rows) rows = rows_read("fuse_time_limits.csv");
  int gates = 0, exceptions = 0;
  for (int i = 0; i < rows_count(rows); i++)
    for (gsize k = 0; k < G_N_ELEMENTS(class_forms); k++) {
      if (strstr(rows_text(rows, i, "fuse_class"), class_forms[k].words) == NULL)
        continue;
      const double load = rows_number(rows, i, "load_percent") / 100,
                   least = rows_number(rows, i, "min_time_s"),
                   most = rows_number(rows, i, "max_time_s");
      const double rating = strstr(class_forms[k].form, "mini")             ? 15
                            : g_str_has_prefix(class_forms[k].form, "bolt") ? 100
                                                                            : 30;
      double ours_least = NAN, ours_most = NAN;
      g_assert_true(lg_catalogue_opening_time(catalogue, class_forms[k].form, rating, load * rating,
                                              &ours_least, &ours_most));
      if (!isnan(least))
        g_assert_cmpfloat(fabs(ours_least / least - 1), <, 1e-9);
      if (isnan(most))
        g_assert_true(isinf(ours_most));
      else if (most == 600 && load == 1.35) {
        g_assert_cmpfloat(fabs(ours_most / 1800 - 1), <, 1e-9);
        exceptions++;
      } else
        g_assert_cmpfloat(fabs(ours_most / most - 1), <, 1e-9);
      gates++;
    }
  g_assert_cmpint(gates, ==, 25);
  g_assert_cmpint(exceptions, ==, 2);
}

/* The longest time that a relay is asked to bear behind a usual blade fuse (relay sheet, seen). */
static void test_relay_safe_times(void)
{
  g_autoptr(Rows) rows = rows_read("fuse_time_limits.csv");
  int n = 0;
  for (int i = 0; i < rows_count(rows); i++) {
    if (strstr(rows_text(rows, i, "fuse_class"), "relay") == NULL)
      continue;
    double least = NAN, most = NAN;
    const double current = 30 * rows_number(rows, i, "load_percent") / 100;
    lg_catalogue_opening_time(catalogue, "blade-regular", 30, current, &least, &most);
    g_assert_cmpfloat(most, <=, rows_number(rows, i, "max_time_s") * (1 + 1e-9));
    g_assert_cmpfloat(least, <, most);
    n++;
  }
  g_assert_cmpint(n, ==, 4);
}

/* Over the whole range: the shortest below the longest, neither rising with the current. */
static void test_times_fall(void)
{
  static const char *const forms[] = {"blade-mini", "blade-regular", "blade-maxi",
                                      "bolt-30",    "bolt-51",       "breaker"};
  for (gsize k = 0; k < G_N_ELEMENTS(forms); k++) {
    double last_least = INFINITY, last_most = INFINITY;
    for (double load = 0.5; load < 30; load *= 1.01) {
      double least = NAN, most = NAN;
      g_assert_true(lg_catalogue_opening_time(catalogue, forms[k], 50, 50 * load, &least, &most));
      g_assert_cmpfloat(least, <=, most);
      g_assert_cmpfloat(least, <=, last_least);
      g_assert_cmpfloat(most, <=, last_most);
      last_least = least;
      last_most = most;
    }
    g_assert_cmpfloat(last_most, <, 1);
  }
  double least, most;
  g_assert_false(lg_catalogue_opening_time(catalogue, "no-such-body", 10, 20, &least, &most));
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  catalogue = lg_catalogue_new();
  g_test_add_func("/fuses/ratings", test_ratings);
  g_test_add_func("/fuses/colours", test_colours);
  g_test_add_func("/fuses/colours-apart", test_colours_tell_ratings_apart);
  g_test_add_func("/fuses/electrical", test_electrical);
  g_test_add_func("/fuses/time-limits", test_time_limits);
  g_test_add_func("/fuses/relay-safe", test_relay_safe_times);
  g_test_add_func("/fuses/times-fall", test_times_fall);
  const int failed = g_test_run();
  lg_catalogue_free(catalogue);
  return failed;
}
