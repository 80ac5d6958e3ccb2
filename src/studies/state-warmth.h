/* How warm each wire is in one state: in the company that flows in that state, by the heat balance
 * that sizes rest on. */
#pragma once
#include "studies/sizing.h"

G_BEGIN_DECLS

typedef struct LgStateWarmth LgStateWarmth;

/* `conductors` [n_wires], none NULL; job and conductors must outlive it. */
LgStateWarmth *lg_state_warmth_new(const LgJob *job, const LgConductor *const conductors[]);
void lg_state_warmth_free(LgStateWarmth *warmth);
/* Steady temperatures, K, with these currents [n_wires] (signs do not matter) flowing for good, at
 * the hottest of each place: of the stretch where each wire is warmest; INFINITY: it runs away.
 * `run` [n_wires], may be NULL: that stretch's run, -1: an end in free air. What the last call
 * found is kept for the runs in which the same currents flow. */
void lg_state_warmth_solve(LgStateWarmth *warmth, const double wire_A[], double temperature_K[],
                           int run[]);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgStateWarmth, lg_state_warmth_free)
G_END_DECLS
