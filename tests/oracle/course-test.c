/* Random courses by CVODE: the same events in the same order, times within 1e-4 s, and the
 * energy balance of each. At 1e-10 CVODE itself is up to 1e-3 s off; hence 1e-12. */
#include "course-case.h"
#include "cvode-course.h"

#include <math.h>

enum { CASES = 40 };
#define LASTS_S 5400

static void assert_same_events(const LgCourseEvent *ours, int n_ours, const GArray *theirs)
{
  double worst_s = 0;
  for (int k = 0; k < MIN(n_ours, (int)theirs->len); k++) {
    const LgCourseEvent *their = &g_array_index(theirs, LgCourseEvent, k);
    worst_s = MAX(worst_s, fabs(ours[k].at_s - their->at_s));
    g_assert_cmpint(ours[k].kind, ==, their->kind);
    g_assert_cmpint(ours[k].index, ==, their->index);
    g_assert_cmpint(ours[k].from, ==, their->from);
    g_assert_cmpint(ours[k].to, ==, their->to);
    g_assert_cmpfloat_with_epsilon(ours[k].at_s, their->at_s, 1e-4);
  }
  g_assert_cmpint(n_ours, ==, (int)theirs->len);
  g_test_message("%d events, times within %.1e s", n_ours, worst_s);
}

static void assert_balance(const LgCourse *course)
{
  const LgCourseEnergy e = lg_course_energy(course);
  g_assert_cmpfloat_with_epsilon(e.given, e.heated + e.elsewhere, 1e-6 * e.given);
  g_assert_cmpfloat_with_epsilon(e.heated, e.stored + e.lost, 1e-9 * MAX(fabs(e.lost), e.heated));
}

static void test_random(gconstpointer data)
{
  static CourseCase c;
  course_case_random(&c, (guint32)GPOINTER_TO_INT(data));
  const LgCourseCalls calls = {course_case_respond, NULL, &c};
  g_autoptr(LgCourse) course = lg_course_new(&c.plan, &calls, NULL);
  g_assert_nonnull(course);
  const LgCourseEnd end = lg_course_run(course, LASTS_S);
  g_assert_cmpint(end.kind, ==, LG_COURSE_DONE);
  g_autoptr(GArray) events = g_array_new(FALSE, FALSE, sizeof(LgCourseEvent));
  double theirs_K[COURSE_MOST], ours_K[COURSE_MOST];
  g_assert_true(cvode_course(&c.plan, &calls, LASTS_S, 1e-12, FALSE, events, theirs_K));
  int n;
  const LgCourseEvent *ours = lg_course_events(course, &n);
  assert_same_events(ours, n, events);
  lg_course_at(course, LASTS_S, ours_K, NULL, NULL);
  for (int i = 0; i < c.plan.n_nodes; i++)
    g_assert_cmpfloat_with_epsilon(ours_K[i], theirs_K[i], 2e-4);
  assert_balance(course);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  for (int seed = 1; seed <= CASES; seed++) {
    g_autofree char *path = g_strdup_printf("/course/random/%02d", seed);
    g_test_add_data_func(path, GINT_TO_POINTER(seed), test_random);
  }
  return g_test_run();
}
