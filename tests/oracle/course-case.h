/* Courses for tests and benchmarks: circuits behind one feed, each a switch, a wire that warms and
 * a heating pad whose resistance rises with its temperature, and the bodies that they warm.
 * Invented figures. */
#pragma once
#include "time/course.h"

enum { COURSE_MOST = 64, COURSE_CIRCUITS = 4 };

/* A plan with its arrays, and the electrical network: E(q) behind R0(q) and the feed's wire, then
 * the circuits in parallel. */
typedef struct {
  LgCoursePlan plan;
  LgCourseNode node[COURSE_MOST];
  LgCourseLink link[4 * COURSE_MOST];
  LgCourseHeat heat[COURSE_MOST];
  LgCourseSlow slow[COURSE_MOST];
  LgCourseOutput output[COURSE_MOST];
  LgCourseFelt felt[COURSE_MOST];
  LgCourseTerm term[4 * COURSE_MOST];
  LgCourseSwitch move[COURSE_MOST];
  LgCourseWatch watch[COURSE_MOST];
  LgCourseTurn turn[COURSE_MOST];
  int n_terms;

  int n_circuits;
  double emf_V, emf_per_charge_V, inner_ohm, charge_As;
  double feed_ohm, wire_ohm[COURSE_CIRCUITS], pad_ohm[COURSE_CIRCUITS], pad_per_K;
  double fuse_A[COURSE_CIRCUITS];
  gboolean fused; /* each circuit behind a fuse whose damage is a slow quantity */
  long solved;
} CourseCase;

/* Outputs in order: pad power of each circuit, square of each current, square of the feed's, charge
 * per second, source power, power lost in the battery, volts of the bus, then damage per second of
 * each fuse. Switches: one per circuit, then one breaker each when fused. */
gboolean course_case_respond(const int position[], const double felt[], double out[],
                             gpointer user);

/* `n_bodies` lumps at least, in chains of random shape; bands of random width, some with least
 * times. */
void course_case_random(CourseCase *c, guint32 seed);
/* Three pads of a seat, 8 h: for the benchmark. */
void course_case_seat(CourseCase *c);
