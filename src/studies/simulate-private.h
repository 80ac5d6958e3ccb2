/* Inside of the simulation: the course made from a job, and what was seen on the way. */
#pragma once
#include "studies/simulate.h"
#include <math.h>
#include <string.h>

/* A wire that its current warms, and the node it is. */
typedef struct {
  int wire, chain, node;
  double ohm20;    /* conductor at 20 C, without its ends */
  double ends_ohm; /* both terminations */
  double limit_K;  /* class of its insulation */
} LgWarmWire;

/* Wires that always carry the same current: one felt, the mean of their temperatures weighted by
 * resistance, gives the resistance of all of them. */
typedef struct {
  int wire; /* whose current it is */
  double ohm20;
  int felt, output;
} LgChain;

typedef struct {
  const LgJob *job;
  const LgUse *use;
  const LgSizing *sizing;
  LgBodies *bodies;
  LgCircuit *circuit;
  LgNetWork *work;
  LgPoint *point;

  GArray *thermostats;       /* LgThermostat */
  GArray *wires;             /* LgWarmWire */
  GArray *chains;            /* LgChain */
  GArray *speeds, *ambients; /* double; the positions of two switches */
  int speed_switch, ambient_switch;
  int *clock_of; /* [n_inputs] switch of a call's clock, -1 */
  int *acting;   /* [n_inputs] of a call: the thermostat that acts, -1: none yet */
  int *slow_of, *felt_of, *rate_of; /* [n_elements] of a cell: charge, felt, output; -1 */
  int *watt_of;                     /* [n_elements] output of a load that warms a body, -1 */
  int first_body;                   /* node of body 0 */
  double warm_ambient_K;            /* at which wires that stay cold are taken; NAN: not yet */

  /* of the plan */
  GArray *nodes, *links, *heats, *slows, *outputs, *felts, *switches, *watches, *turns;
  GPtrArray *term_blocks;
  GArray *watch_words; /* LgWatchWords, one a watch */
} LgRunning;

typedef struct {
  const char *rises, *falls; /* NULL: not told */
} LgWatchWords;

/* ---- simulate-plan.c ---- */
LgRunning *lg_running_new(const LgSizing *sizing, const LgUse *use, GStringChunk *words,
                          GPtrArray *notes, GError **error);
void lg_running_free(LgRunning *running);
LgCoursePlan lg_running_plan(const LgRunning *running);
/* Positions of the job's inputs [n_inputs] from those of the switches. */
void lg_running_place(const LgRunning *running, const int switches[], int position[]);

/* ---- simulate-solve.c ---- */
/* LgCourseRespond; user: LgRunning. Leaves the solved state in running->point. */
gboolean lg_running_respond(const int position[], const double felt[], double out[], gpointer user);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgRunning, lg_running_free)
