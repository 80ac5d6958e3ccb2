/* The same plans by SUNDIALS CVODE with its root finding: an independent reading of course.h, node
 * by node, without modes, cells or closed forms. */
#pragma once
#include "time/course.h"

/* Events in the order they are found, in `events` (of LgCourseEvent); the final temperatures in
 * node_K[n_nodes] unless NULL. Massless nodes must not touch one another and take up no heat.
 * `adams`: for problems that are not stiff, else backward differences. FALSE when CVODE gives up.
 */
gboolean cvode_course(const LgCoursePlan *plan, const LgCourseCalls *calls, double until_s,
                      double relative, gboolean adams, GArray *events, double node_K[]);
