/* A use run through time: circuit, heat and batteries together, on time/course.h.
 *
 * Temperatures of the bodies and of every wire that its current warms, and the charge of the
 * batteries are integrated; thermostats switch by what they feel, with their bands, least times and
 * clocks. The network is solved with each wire as warm as it is then. Relays come to rest as from
 * released at every moment. Wires lie alone in their covering in the air of the use: what their
 * company adds is the business of sizing. */
#pragma once
#include "studies/bodies.h"
#include "studies/sizing.h"
#include "time/course.h"

G_BEGIN_DECLS

/* One thing that is followed, with its samples. */
typedef enum {
  LG_SERIES_VOLTS,   /* across a source */
  LG_SERIES_AMPS,    /* of a load, or given by a source (negative: charged) */
  LG_SERIES_BODY_K,  /* temperature of a body */
  LG_SERIES_WIRE_K,  /* of a wire's conductor */
  LG_SERIES_CHARGE,  /* of a cell, 0 to 1 */
  LG_SERIES_CONTACT, /* 1 closed, 0 open: calls, hands and relays that move */
} LgSeriesKind;
typedef struct {
  LgSeriesKind kind;
  int index; /* element, body, wire or input */
  char *name;
  GArray *value; /* double, one a sample */
} LgSeries;

/* What happened, in words. */
typedef struct {
  double at_s;
  char *what;
} LgHappening;

typedef struct {
  int element;         /* contact */
  guint64 closings;    /* in all rounds */
  double on_s, most_A; /* while it carries, in all rounds */
} LgContactCount;

typedef struct {
  const char *name;
  int body, wire; /* the other is -1 */
  double start_K, most_K, end_K, most_at_s;
} LgTemperature;

typedef struct {
  const LgJob *job;
  const LgUse *use;
  int rounds, rounds_done; /* of the use's `repeat` */
  double reached_s;        /* in the last round */
  LgCourseEnd end;
  char *end_words;      /* NULL: it came to its end; else where and why it stopped */
  GArray *times;        /* double, samples of the first round */
  GPtrArray *series;    /* LgSeries* */
  GArray *happenings;   /* LgHappening, of the first round */
  GArray *contacts;     /* LgContactCount */
  GArray *temperatures; /* LgTemperature */
  double *start_charge, *end_charge, *least_charge; /* [n_elements]; cells */
  LgCourseEnergy energy;                            /* of the first round */
  LgCourseWork work;
  GPtrArray *notes; /* char*: what was taken where the sheet is silent */
  GStringChunk *words;
} LgSimulation;

typedef struct {
  int n_samples; /* 0: 600 a course */
  /* TRUE stops; share 0 to 1 of the way. May be NULL. */
  gboolean (*progress)(double share, gpointer user);
  gpointer user;
} LgSimulateOptions;

/* NULL and *error when there is no source. A use that cannot go on ends with `end_words` and keeps
 * what it has. */
LgSimulation *lg_simulation_new(const LgSizing *sizing, const LgUse *use,
                                const LgSimulateOptions *options, GError **error);
void lg_simulation_free(LgSimulation *simulation);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgSimulation, lg_simulation_free)
G_END_DECLS
