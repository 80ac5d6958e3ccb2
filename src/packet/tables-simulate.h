/* A use through time for people: tables, samples, strips. */
#pragma once
#include "packet/tables.h"
#include "studies/simulate.h"

G_BEGIN_DECLS

LgTable *lg_table_happenings(const LgSimulation *sim);
LgTable *lg_table_contact_counts(const LgSimulation *sim);
LgTable *lg_table_course_warmth(const LgSimulation *sim);
LgTable *lg_table_course_charge(const LgSimulation *sim);
/* All samples of the first course, a column each, by RFC 4180. */
char *lg_simulation_csv(const LgSimulation *sim);
/* LgDrawing*, owned by the array. */
GPtrArray *lg_simulation_plot(const LgSimulation *sim, double width_mm, double height_mm);

G_END_DECLS
