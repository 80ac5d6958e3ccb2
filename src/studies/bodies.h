/* What loads warm and sensors feel: the heat network of a job, thermostats that switch by it, and
 * what a `use` does to temperatures, contacts and batteries.
 *
 * The network is linear: C_i T_i' = watts_i + loss_i (ambient - T_i) + sum of through (T_k - T_i);
 * held bodies keep their temperature. Between two switchings the watts are constant and every
 * temperature is a sum of exponentials, so nothing is integrated in steps: only the moment of the
 * next switching is looked for. */
#pragma once
#include "studies/energy.h"
#include "studies/states.h"

G_BEGIN_DECLS

/* ---- the network ---- */

typedef struct {
  const char *name, *text;
  LgBodyIs is;
  LgMaterial material;
  double capacity_J_K, through_W_K, loss_W_K;
  double held_K; /* NAN: free */
  int touches;   /* -1: none */
  int body;      /* in the job, -1: put there because the sheet says too little */
} LgHeatBody;

/* Something that the sheet does not say, and what was taken instead. */
typedef struct {
  int element, body; /* what it is about; -1 */
  LgOrigin origin;
  char *what, *taken; /* sentences */
} LgHeatNote;

typedef struct {
  const LgJob *job;
  int n;
  LgHeatBody *bodies;    /* those of the job first, with its numbers */
  int *warms, *feels;    /* [n_elements] body or -1 */
  GPtrArray *notes;      /* LgHeatNote* */
  struct LgModes *modes; /* private */
  GStringChunk *words;   /* private */
} LgBodies;

/* Makes the network of a job. What is missing is filled in on the safe side, and noted:
 *   a heater pad, or a heater of a part that is called a seat, without `warms`: a seat of its own
 *     (pad, cover, sitter's skin held at 34 C, foam, air below), see bodies.c for its figures;
 *   a thermistor or thermostat without `feels`: the body that a heater of the same part warms, else
 *     nothing (its listener calls without end); asked only where there are bodies;
 *   a body without `capacity`: a small one of its kind, which switches often;
 *   bodies that lose heat nowhere: half a watt per kelvin to the air.
 * Other heaters without `warms` give their heat elsewhere, without a note. Cubic in the number of
 * bodies. The job must outlive it. */
LgBodies *lg_bodies_new(const LgJob *job);
void lg_bodies_free(LgBodies *bodies);

/* Bodies that hang together with `body`, itself included: in[n]. */
void lg_bodies_joined(const LgBodies *bodies, int body, gboolean in[]);
/* Where a body's heat reaches skin: the surface nearest to it along the touches, -1 when none. */
int lg_bodies_surface(const LgBodies *bodies, int body);

/* Temperatures [n] under `watts` [n] without end. */
void lg_bodies_steady(const LgBodies *bodies, const double watts[], double ambient_K,
                      double at_K[]);
/* Temperatures after `seconds`, from `start_K` [n]. Exact. `at_K` may be `start_K`. */
void lg_bodies_after(const LgBodies *bodies, const double start_K[], const double watts[],
                     double ambient_K, double seconds, double at_K[]);
/* Seconds until a body first reaches `wanted_K` from below; 0 when it is there, INFINITY when it
 * never does. To 1e-6 of itself. */
double lg_bodies_time_to(const LgBodies *bodies, const double start_K[], const double watts[],
                         double ambient_K, int body, double wanted_K);
/* Watts into the bodies [n] from an answer of the supply. */
void lg_bodies_watts(const LgBodies *bodies, const LgAnswer *answer, double watts[]);

/* ---- thermostats ---- */

/* An element that closes by a call, with what it listens to. It warms when it opens above where it
 * closes, and cools when below. */
typedef struct {
  int element, call; /* the call's input */
  int body;          /* that it feels; -1: nothing, it calls without end */
  double opens_K, closes_K;
  double least_on_s, least_off_s, period_s, share;
} LgThermostat;

/* All of a job's, LgThermostat in the order of its elements; owned by the caller. */
GArray *lg_thermostats_new(const LgBodies *bodies);
/* Index of the first thermostat of a call that the hands let act, -1 when none. */
int lg_thermostat_acting(const LgJob *job, const GArray *thermostats, int call,
                         const int position[]);

/* What is wrong with a call. */
typedef enum {
  LG_CALL_SOUND,
  LG_CALL_ALWAYS, /* sensor open, contact welded */
  LG_CALL_NEVER,  /* sensor shorted */
  LG_CALL_LOOSE,  /* sensor feels the air */
  LG_CALL_OFF_BY, /* reads `off_by_K` too much */
} LgCallFault;

/* A course under fixed hands. */
typedef struct LgWarmth LgWarmth;
typedef struct {
  /* Called for every stretch between two switchings, after it; the positions held all the time. */
  void (*stretch)(double from_s, double to_s, const int position[], const LgAnswer *answer,
                  gpointer user);
  gpointer user;
} LgWarmthCalls;

/* Starts with all bodies at the supply's ambient (held ones as they are), inputs at rest, time 0.
 * `calls` may be NULL. Supply and bodies are borrowed. */
LgWarmth *lg_warmth_new(const LgBodies *bodies, LgSupply *supply, const LgWarmthCalls *calls);
void lg_warmth_free(LgWarmth *warmth);
/* Hands, demands and chargers, from now on; calls in it are not looked at. */
void lg_warmth_set(LgWarmth *warmth, const int position[]);
/* Air outside, from now on; the supply has its own. */
void lg_warmth_set_ambient(LgWarmth *warmth, double ambient_K);
/* Longest stretch between two looks at the supply; 300 s without it. No call changes twice within a
 * 3000th of it. */
void lg_warmth_set_longest(LgWarmth *warmth, double seconds);
void lg_warmth_fail(LgWarmth *warmth, int call, LgCallFault fault, double off_by_K);
/* Goes on to `until_s`. A thermostat sees crossings that last longer than a fifth of the fastest
 * body's time constant. */
void lg_warmth_run(LgWarmth *warmth, double until_s);
const double *lg_warmth_now(const LgWarmth *warmth); /* [n] K */
/* Greatest temperatures since the start or the last lg_warmth_forget. [n] */
const double *lg_warmth_most(const LgWarmth *warmth);
void lg_warmth_forget(LgWarmth *warmth);
/* Thermostats of a call that the hands in `position` let act, the first; NULL when none. */
const LgThermostat *lg_warmth_acting(const LgWarmth *warmth, int call, const int position[]);

/* ---- a use ---- */

typedef struct {
  double start, end, least; /* charge of a cell */
  double least_at_s, given_Ah, taken_Ah;
} LgUseCell;

typedef struct {
  double lasts_s;
  LgUseCell *cells; /* [n_elements] */
  int *closings;    /* [n_elements] times that a contact closed on a load */
  double *on_s;     /* [n_elements] time that a contact carried, or a load drew */
  double *joules;   /* [n_elements] taken up (loads, resistors), given (sources: negative) */
  double *most_K;   /* [n bodies] */
  double wires_J;   /* lost in wires; with all joules it makes 0 but for rounding */
  int n_stretches;
} LgUseResult;

/* Runs a use once, quasi-steady: between two moments everything but temperatures stands still.
 * `charge` [n_elements] of the cells at its start; NULL: the use's or their own. */
LgUseResult *lg_use_run(const LgBodies *bodies, LgSupply *supply, const LgUse *use,
                        const double charge[]);
void lg_use_result_free(LgUseResult *result);

/* ---- pads: what a surface gets to ---- */

/* One level of heat: hands under which the surface is warmed. */
typedef struct {
  int *position;         /* [n_inputs], calls on */
  double watts;          /* into all that hangs together with the surface, calls on */
  double steady_K;       /* of the surface with the calls on without end, on the worse day */
  double peak_K;         /* as the thermostats let it, on the hottest and on the coldest day */
  double duty, cycles_h; /* of the heater on the coldest day, after an hour */
  double
      warm_s; /* from the coldest to LG_WARM_K with the engine idling; INFINITY: not in an hour */
} LgPadLevel;

typedef struct {
  LgCallFault fault;
  int call, element; /* the input, and its thermostat */
  double peak_K;     /* of the surface, on the worse day, at the strongest level */
} LgPadFault;

typedef struct {
  int surface, heater; /* body; element that gives it most */
  int n_levels, strongest;
  LgPadLevel *levels;
  int n_faults;
  LgPadFault *faults; /* one fault at a time; those that change nothing are left out */
} LgPad;

/* A seat feels warm: common practice, no source. */
#define LG_WARM_K (LG_ZERO_C_IN_K + 30)

/* Every surface that a load warms. `off_by_K` [n_elements]: what a thermostat's listener reads too
 * much because its sensor's wires are shared; NULL: nothing. The supply is left as it comes.
 * LgPad*, owned. */
GPtrArray *lg_pads_new(const LgBodies *bodies, LgSupply *supply, const LgStates *states,
                       const double off_by_K[]);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgBodies, lg_bodies_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgWarmth, lg_warmth_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgUseResult, lg_use_result_free)
G_END_DECLS
