/* Sizes: the conductor of every `auto` wire and the rating of every `auto` fuse, with the proof.
 * Section 6, "Sizing". */
#pragma once
#include "studies/states.h"

G_BEGIN_DECLS

/* Which fuse or breaker protects a wire, seen from each source that can feed it. */
typedef struct {
  int *devices; /* elements through which every path from a source to this wire must pass; one is
                   enough */
  int n_devices;
  gboolean exempt; /* starter and charging cables that the trade leaves bare, or a wire that no
                      source reaches */
  double bare_m; /* unprotected length between the source and the first fuse, along the path to this
                    wire */
  int bare_source; /* source element that reaches it without a fuse, -1 */
  double rating_A; /* greatest rating that can feed a short in it; INFINITY when unprotected */
  int rating_device;
} LgProtection;

/* On what the allowed current of a wire rests. */
typedef struct {
  double table_A; /* published figure */
  double ambient_factor, bundle_factor;
  double allowed_A; /* product */
  double ambient_K; /* hottest place */
  int n_bundle;     /* loaded wires together, itself included */
  int run;          /* run with the most company, -1 */
  int column_C;     /* column of the table */
  int table;        /* LgTableName */
  gboolean interpolated;
  const char *source;
} LgAllowance;

typedef enum {
  LG_BIND_CURRENT,  /* worst lasting current against the allowed current */
  LG_BIND_FUSE,     /* its fuse's rating against the allowed current */
  LG_BIND_DROP,     /* volts lost on the way to a load and back */
  LG_BIND_STRENGTH, /* mechanical least */
  LG_BIND_TERMINAL, /* least wire of a terminal's crimp */
  LG_BIND_SERIES,   /* the thinnest of the catalogue's series */
  LG_BIND_GIVEN,    /* size stands in the sheet */
} LgBind;

typedef struct {
  const LgConductor *conductor;
  LgAllowance allowance;
  double most_A;          /* worst lasting current, re-solved with the sizes chosen */
  LgBind bind;            /* constraint that forbids the next smaller size */
  double limit, reached;  /* in the constraint's own unit: at the chosen size */
  double smaller_reached; /* re-solved with one size smaller: breaks the limit; NAN for GIVEN and
                             SERIES */
  double smaller_limit;
  const LgConductor *smaller; /* the size refused; NULL for GIVEN and SERIES */
  int bind_element;           /* fuse of FUSE, load of DROP; else -1 */
  double conductor_K;   /* temperature at most_A by the square law between ambient and class */
  double drop_V, watts; /* at most_A */
} LgWireSize;

typedef struct {
  gboolean is_auto;
  double rating_A;    /* NAN: no rating of its form serves */
  double most_A;      /* worst lasting current */
  double brief_A;     /* worst start or stall current */
  double wire_A;      /* least allowed current of the wires it protects */
  int wire;           /* that wire */
  const LgFuse *fuse; /* as sold, NULL when none */
} LgFuseSize;

typedef struct {
  LgCircuit *circuit;                /* with the chosen conductors */
  LgStates *states;                  /* of that circuit */
  const LgConductor **chosen;        /* [n_wires] */
  LgWireSize *wires;                 /* [n_wires] */
  LgFuseSize *fuses;                 /* [n_elements]; only fuses and breakers are filled */
  LgProtection *protection;          /* [n_wires] */
  double copper_kg, least_copper_kg; /* of auto wires; and the lower bound proved by the search */
  gboolean proved;     /* every auto wire's certificate holds and the search was exhausted */
  guint64 n_tried;     /* combinations of sizes looked at */
  GPtrArray *findings; /* LgFinding*: what could not be met */
} LgSizing;

/* NULL and *error when the circuit cannot be made (no source). */
LgSizing *lg_sizing_new(const LgJob *job, GError **error);
void lg_sizing_free(LgSizing *sizing);

/* Allowed current of a wire with a conductor in its surroundings; states may be NULL (then every
 * wire of a run counts). */
LgAllowance lg_wire_allowance(const LgJob *job, const LgStates *states, int wire,
                              const LgConductor *conductor);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgSizing, lg_sizing_free)
G_END_DECLS
