/* When a warm surface burns, against the published thresholds. */
#include "catalogue/material.h"
#include "catalogue/reference.h"
#include <math.h>
#include <string.h>

#define C(t) ((t) + 273.15)
enum { TEXTILE, LEATHER, PLASTIC, WOOD, GLASS, METAL, N_MATERIALS };

static gboolean covers(const char *surface, int material)
{
  static const char *const words[N_MATERIALS] = {"none", "none",  "plastic",
                                                 "wood", "glass", "metal"};
  return strcmp(surface, "all materials") == 0 || strstr(surface, words[material]) != NULL;
}

/* ISO 13732-1:2006 (memory): every row of the table, and back from the temperature to the time. */
static void test_thresholds(void)
{
  g_autoptr(Rows) rows = rows_read("human_contact.csv");
  int n = 0;
  for (int i = 0; i < rows_count(rows); i++) {
    if (!g_str_has_prefix(rows_text(rows, i, "topic"), "burn threshold"))
      continue;
    const double time_s = rows_number(rows, i, "contact_time_s"),
                 theirs_K = C(rows_number(rows, i, "value"));
    for (int material = PLASTIC; material < N_MATERIALS; material++) {
      if (!covers(rows_text(rows, i, "surface"), material))
        continue;
      g_assert_cmpfloat(fabs(lg_burn_threshold_K(material, time_s) - theirs_K), <, 1e-9);
      g_assert_cmpfloat(fabs(lg_burn_time_s(material, theirs_K) / time_s - 1), <, 1e-9);
      n++;
    }
  }
  g_assert_cmpint(n, ==, 8 + 3 * 4);
}

/* A burn hospital's times for serious burns by metal (seen) are graver burns than the standard's
 * lower bound: ours must warn no later than 5 K above them at any time, and sooner in every row of
 * 30 s and more. */
static void test_serious_burns(void)
{
  g_autoptr(Rows) rows = rows_read("human_contact.csv");
  int n = 0;
  for (int i = 0; i < rows_count(rows); i++) {
    if (strcmp(rows_text(rows, i, "topic"), "serious burn") != 0 ||
        strstr(rows_text(rows, i, "surface"), "metal") == NULL)
      continue;
    const double time_s = rows_number(rows, i, "contact_time_s"),
                 theirs_K = C(rows_number(rows, i, "value"));
    g_assert_cmpfloat(lg_burn_threshold_K(METAL, time_s), <, theirs_K + (time_s < 30 ? 5 : 0.1));
    n++;
  }
  g_assert_cmpint(n, ==, 5);
}

/* Skin burns at 44 C in six hours, at 50 C in six minutes (study of 1947, seen). The standard's
 * bound is safer: no longer than these. */
static void test_long_contact(void)
{
  g_autoptr(Rows) rows = rows_read("human_contact.csv");
  int n = 0;
  for (int i = 0; i < rows_count(rows); i++) {
    if (strcmp(rows_text(rows, i, "topic"), "low-temperature burn") != 0)
      continue;
    const double time_s = rows_number(rows, i, "contact_time_s");
    g_assert_cmpfloat(lg_burn_time_s(TEXTILE, C(rows_number(rows, i, "value"))), <, time_s);
    n++;
  }
  g_assert_cmpint(n, ==, 2);
  g_assert_true(isinf(lg_burn_time_s(TEXTILE, C(42.9))));
  g_assert_cmpfloat(lg_burn_time_s(METAL, C(90)), ==, 1);
}

/* The hotter, the sooner; the better the material conducts, the sooner. */
static void test_order(void)
{
  for (double at_C = 44; at_C < 84; at_C += 0.5) {
    for (int m = 0; m < N_MATERIALS; m++)
      g_assert_cmpfloat(lg_burn_time_s(m, C(at_C + 0.5)), <=, lg_burn_time_s(m, C(at_C)));
    g_assert_cmpfloat(lg_burn_time_s(METAL, C(at_C)), <=, lg_burn_time_s(GLASS, C(at_C)));
    g_assert_cmpfloat(lg_burn_time_s(GLASS, C(at_C)), <=, lg_burn_time_s(PLASTIC, C(at_C)));
    g_assert_cmpfloat(lg_burn_time_s(PLASTIC, C(at_C)), <=, lg_burn_time_s(WOOD, C(at_C)));
  }
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/skin/thresholds", test_thresholds);
  g_test_add_func("/skin/serious", test_serious_burns);
  g_test_add_func("/skin/long", test_long_contact);
  g_test_add_func("/skin/order", test_order);
  return g_test_run();
}
