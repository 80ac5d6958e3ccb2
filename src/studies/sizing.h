/* Sizes: the conductor of every `auto` wire and the rating of every `auto` fuse, with the proof.
 * Section 6, "Sizing". */
#pragma once
#include "heat/heat.h"
#include "studies/states.h"

G_BEGIN_DECLS

typedef enum {
  LG_SIDE_NONE,   /* no source reaches it, not even through a load: sensor lines, dead ends */
  LG_SIDE_FEED,   /* a source reaches it through wires, fuses, contacts and diodes */
  LG_SIDE_BEHIND, /* between a load and a switch on its ground side, or between two loads */
  LG_SIDE_RETURN, /* tied to the body or the main source's ground post by wires alone */
} LgSide;

/* Which fuse or breaker protects a wire. All contacts count as closed; coils and thermistors
 * conduct nothing that could feed a short. */
typedef struct {
  LgSide side;
  int *devices; /* feed: fuses and breakers at the edge of the fuse-free stretch that the wire lies
                   in, with a source beyond: every path from a source comes through one of them */
  int n_devices;
  gboolean exempt; /* starter and charging cables that the trade leaves bare, or a wire that no
                      source reaches */
  /* Feed: unprotected length. A wire that a source reaches without a fuse: from that source to the
   * wire's far end; any other: from the source to the first fuse on the way to it, the greatest of
   * several. Exempt cables count as part of the source. */
  double bare_m;
  int bare_source; /* source element that reaches the wire itself without a fuse, -1 */
  /* Greatest current that a short can feed through it for good: over all ways from a source the
   * greatest of the least rating in each; INFINITY when unprotected. Behind a load and on the
   * return side: that of the feeds whose loads come back through it, for a short in the load. Coils
   * do not count there: the trade accepts the thin return of a coil. 0: nothing. */
  double rating_A;
  int rating_device; /* fuse or breaker that sets it, -1 */
} LgProtection;

/* Protection of every wire, for these ratings of the fuses and breakers ([n_elements]; NULL or NAN:
 * as in the job, unknown ones as 0). [n_wires], free with lg_protection_free. */
LgProtection *lg_protection_new(const LgJob *job, const double ratings_A[]);
void lg_protection_free(LgProtection *protection, int n_wires);

/* Whether the wire lies in a sheath or in covered runs over its whole length. */
gboolean lg_wire_is_covered(const LgJob *job, int wire);
/* Mechanical least of a wire in mm2 of metal, `most_A` being its greatest current, brief ones too:
 * 1 mm2 alone, 0.75 mm2 covered (ISO 10133, memory); AWG 16 alone, 18 covered (33 CFR 183.425,
 * memory); signal and sensor lines below 1 A: 0.75 mm2 alone, 0.5 mm2 covered, AWG 18 (common
 * practice, no source). */
double lg_wire_least_mm2(const LgJob *job, int wire, double most_A);
/* Metal of a conductor as terminals and rules count it: nominal mm2, or the AWG number's area. */
double lg_conductor_mm2(const LgConductor *conductor);

/* --- Heat: sizing-warmth.c --- */

/* One stretch of a wire's way, at its worst. */
typedef struct {
  int run, place; /* run, or the hotter end: its place; both -1: an end without a place */
  int state;      /* whose currents flow; -1: none */
  double ambient_K, current_A;
  double conductor_K; /* steady, by the heat balance with R(T); INFINITY: it runs away */
  double allowed_A;   /* lasting, for its insulation class, its company as in that state */
  int n_warm;         /* wires there with 1 A or more, itself included */
} LgStretchHeat;

typedef struct {
  LgHeatWire wire;
  double share;        /* current over allowed current, in the worst stretch */
  LgStretchHeat worst; /* nearest to its class, or farthest beyond it */
  LgStretchHeat tight; /* allows least: what its fuse is measured by */
  LgHeatLoss loss;     /* what is taken from it there */
} LgWireWarmth;

/* The heat of all wires in the states of a study, solved when made for the circuit as it stands
 * then. Keeps what it found. */
typedef struct LgWarmer LgWarmer;
LgWarmer *lg_warmer_new(const LgStates *states, const LgConductor *const conductors[]);
void lg_warmer_free(LgWarmer *warmer);
/* A wire with a conductor in the company of the others as they stand. */
const LgWireWarmth *lg_warmer_look(LgWarmer *warmer, int wire, const LgConductor *conductor);

typedef struct {
  int wire; /* -1: one that the sheet only counts */
  double amps, conductor_K;
} LgMate;
/* LgMate: who lies in a run, in a state in which some wire of it is at its worst. */
GArray *lg_warmer_company(LgWarmer *warmer, int run, int state);

typedef struct {
  double inside_K; /* of the covering; NAN: nothing flows */
  int state;
} LgCoverHeat;
LgCoverHeat lg_warmer_cover(LgWarmer *warmer, int run);

/* What an insulation bears for hours of overload: the 6 h figure of its class, else 50 K above its
 * class as ISO 6722-1 has for all of its own (memory), never above that at the end of a short; and
 * at the end of a short, else 160 C as PVC. */
double lg_overload_limit_K(const LgInsulation *insulation);
double lg_short_limit_K(const LgInsulation *insulation);
/* A wire that can be harmed in its tightest stretch, from the temperature of its lasting load. */
LgExposed lg_warmth_exposed(const LgWireWarmth *warmth, double limit_K);

/* Hottest temperature of an element's place. */
double lg_element_hot_K(const LgJob *job, int element);
LgProtector lg_protector_of(const LgJob *job, int element, double rating_A);
/* What a fuse or breaker carries for good in the heat of its own place. */
double lg_fuse_lasting_A(const LgJob *job, int element, double rating_A);

/* On what the published tables rest for a wire: the cross-check. */
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
  LG_BIND_CURRENT, /* lasting current against what the heat balance allows, worst stretch */
  LG_BIND_FUSE,    /* its fuse: what it carries for good against the allowed current of the tightest
                      stretch; or its rating against the greatest whose overloads end in time */
  LG_BIND_DROP,    /* volts lost on the way to a load and back */
  LG_BIND_STRENGTH, /* mechanical least */
  LG_BIND_TERMINAL, /* least wire of a terminal's crimp */
  LG_BIND_SERIES,   /* the thinnest of the catalogue's series */
  LG_BIND_GIVEN,    /* size stands in the sheet */
} LgBind;

typedef struct {
  const LgConductor *conductor;
  LgAllowance allowance;      /* by the tables, for comparison */
  LgStretchHeat worst, tight; /* by the heat balance */
  double most_A;              /* worst lasting current, re-solved with the sizes chosen */
  LgBind bind;                /* constraint that forbids the next smaller size */
  double limit, reached;      /* in the constraint's own unit: at the chosen size */
  double smaller_reached; /* re-solved with one size smaller: breaks the limit; NAN for GIVEN and
                             SERIES */
  double smaller_limit;
  const LgConductor *smaller; /* the size refused; NULL for GIVEN and SERIES */
  int bind_element;           /* fuse of FUSE, load of DROP; else -1 */
  double conductor_K;         /* in its worst stretch, by the heat balance */
  double drop_V, watts;       /* at most_A */
} LgWireSize;

typedef struct {
  gboolean is_auto;
  double rating_A;    /* NAN: no rating of its form serves */
  double most_A;      /* worst lasting current */
  double brief_A;     /* worst start or stall current */
  double wire_A;      /* least allowed current of the wires it protects, by the heat balance */
  int wire;           /* that wire */
  const LgFuse *fuse; /* as sold, NULL when none */
} LgFuseSize;

typedef struct {
  LgCircuit *circuit;         /* with the chosen conductors */
  LgStates *states;           /* of that circuit */
  const LgConductor **chosen; /* [n_wires] */
  LgWireSize *wires;          /* [n_wires] */
  LgFuseSize *fuses;          /* [n_elements]; only fuses and breakers are filled */
  LgProtection *protection;   /* [n_wires] */
  LgWarmer *warmer;           /* of the states */
  int n_wires;
  double copper_kg, least_copper_kg; /* of auto wires; and the lower bound proved by the search */
  gboolean proved;     /* every auto wire's certificate holds, copper equals its lower bound */
  guint64 n_tried;     /* combinations of sizes looked at */
  GPtrArray *findings; /* LgFinding*: what could not be met */
} LgSizing;

/* NULL and *error when the circuit cannot be made (no source). */
LgSizing *lg_sizing_new(const LgJob *job, GError **error);
void lg_sizing_free(LgSizing *sizing);

/* What the sizes put into the sheet: each auto wire's `size`, each auto fuse's `rating` at its own
 * element record, else at its part's. LgSetting, to be handed to lg_sheet_set_all; the texts belong
 * to the array. */
GArray *lg_sizing_settings(const LgSizing *sizing);
/* The sheet's text with them. */
GBytes *lg_sizing_write(const LgSizing *sizing, GError **error);

/* Allowed current of a wire with a conductor in its surroundings by the published tables; states
 * may be NULL (then every wire of a run counts). */
LgAllowance lg_wire_allowance(const LgJob *job, const LgStates *states, int wire,
                              const LgConductor *conductor);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgSizing, lg_sizing_free)
G_END_DECLS
