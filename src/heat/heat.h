/* Heat in wires, and what opens in time: pure physics on plain numbers. Section 6 of the design:
 * "Heat in wires", "Fuses". Temperatures in K, lengths in m, currents in A, heat per metre of wire
 * in W/m. Nothing here allocates what the caller must free, keeps state, or reads a sheet. */
#pragma once
#include "catalogue/catalogue.h"

G_BEGIN_DECLS

/* ---- Air and surfaces ---- */

typedef struct {
  double conductivity_W_mK, viscosity_m2_s, prandtl; /* viscosity is kinematic */
} LgAir;

/* Dry air at 1 atm; Sutherland's formulas, ideal gas. 200 K to 1500 K. */
LgAir lg_air(double temperature_K);

/* Nusselt number of natural convection around a long horizontal cylinder, by its diameter.
 * Churchill and Chu 1975 (all Rayleigh numbers up to 1e12) and Morgan 1975 (power laws by range).
 * The heat balance uses the first: around thin wires it gives less cooling than the second. */
double lg_nusselt_churchill_chu(double rayleigh, double prandtl);
double lg_nusselt_morgan(double rayleigh);

/* Rayleigh number of a cylinder, properties at the mean of both temperatures. */
double lg_rayleigh(double diameter_m, double surface_K, double ambient_K);

/* Heat that a horizontal cylinder gives to still air and to walls of the same temperature, W/m:
 * convection and grey radiation. Negative when it is colder than the air. */
double lg_surface_heat(double diameter_m, double surface_K, double ambient_K, double emissivity);

/* ---- Wires and what is around them ---- */

/* A wire as heat sees it, per metre. */
typedef struct {
  double resistance_ohm_m;     /* at 20 C */
  double copper_m2;            /* metal */
  double conductor_m, outer_m; /* diameters over strands and over insulation */
  double insulation_W_mK;      /* conductivity */
  double insulation_J_m3K;     /* heat capacity by volume */
} LgHeatWire;

/* From the catalogue; `insulation` may be NULL: PVC, the worse conductor. Conductivity by the
 * material's name (IEC 60287-2-1, seen: cross-linked and PE 1/3.5, all others 1/5 W/(m K)). */
LgHeatWire lg_heat_wire(const LgConductor *conductor, const LgInsulation *insulation);

/* R(T), ohm per metre, and the thermal resistance of the insulation, K m/W. */
double lg_heat_wire_ohm_m(const LgHeatWire *wire, double conductor_K);
double lg_heat_wire_wall_Km_W(const LgHeatWire *wire);

/* What lies around a wire or a bundle. With a bore wider than the bundle it hangs in still air in
 * a tube (conduction and radiation across the gap; touching the tube would cool it better);
 * otherwise the covering is tight. */
typedef struct {
  double ambient_K;  /* air and walls around */
  double emissivity; /* of the outermost surface and of insulation */
  double bore_m;     /* inner diameter of a tube; 0: tight, or bare when wall_m is 0 */
  double wall_m, wall_W_mK;
} LgSurroundings;

/* Emissivity of plastic, 0.9 (handbooks, memory). */
LgSurroundings lg_bare(double ambient_K);
/* In a covering of the catalogue: tube and slit tube 0.5 mm wall, braid 0.8, shrink 0.6, tape 0.3
 * (two turns), all of 0.2 W/(m K): common practice, no source. NULL and grommets (a few mm long)
 * count as bare. */
LgSurroundings lg_covered(double ambient_K, const LgCover *cover);
/* Kind as a word of the schema's `cover kind`. */
LgSurroundings lg_covered_by(double ambient_K, const char *kind, double bore_m);

/* ---- Steady temperatures ---- */

/* Conductor temperature of one wire at a lasting current; INFINITY when it runs away (no balance
 * below the melting point of copper). */
double lg_wire_temperature(const LgHeatWire *wire, const LgSurroundings *around, double current_A);

/* Lasting current that brings the conductor to `conductor_K`; 0 when the surroundings are as hot.
 */
double lg_wire_current(const LgHeatWire *wire, const LgSurroundings *around, double conductor_K);

/* Wires that run together, each with its own current. Where each one lies is not known, so each is
 * judged as if it lay in the middle, the others around it in order of their heat per area, hottest
 * inside, idle ones outside; only warm wires count for the surface that the air cools. Between the
 * wires the bundle conducts like wires of its metal share packed in still air (coated-cylinder and
 * two-phase formulas of Hashin and Maxwell, no fitted figure). */
typedef struct {
  const LgHeatWire *wires; /* [n] */
  const double *current_A; /* [n] magnitudes; 0 for an idle wire */
  int n;                   /* 1 or more */
  LgSurroundings around;
  double diameter_m; /* over the wires; 0: estimated */
} LgHeatBundle;

/* Diameter of the circle around n wires of these diameters, from the packing density of as many
 * equal circles as the sizes are worth ((sum d2)^2 / sum d4); never less than the two thickest
 * side by side. */
double lg_bundle_diameter(const LgHeatWire wires[], int n);

/* Diameter of the circle that has the perimeter of a thread pulled taut around them: what the air
 * sees. */
double lg_bundle_girth(const LgHeatWire wires[], int n);

/* Conductivity across the bundle, W/(m K), at `temperature_K`. */
double lg_bundle_conductivity(const LgHeatWire wires[], int n, double temperature_K);

/* Conductor temperatures, idle wires too. FALSE and INFINITY in all when the bundle runs away.
 * `surface_K`, `outer_K` (over the wires, over the covering) may be NULL. Time grows with n^3 of
 * the loaded wires. */
gboolean lg_bundle_temperatures(const LgHeatBundle *bundle, double conductor_K[], double *surface_K,
                                double *outer_K);

/* Greatest current of wire `i` with which no wire of the bundle passes its own limit, the others'
 * currents as given; 0 when they pass it without this one. current_A[i] is not looked at. */
double lg_bundle_allowed(const LgHeatBundle *bundle, int i, const double limit_K[]);

/* Factor f at which the bundle's hottest wire reaches `limit_K` when each loaded wire (current
 * above 0) carries f times what it may carry alone, bare, at the same ambient. */
double lg_bundle_factor(const LgHeatBundle *bundle, double limit_K);

/* ---- In time ---- */

/* What a wire's insulation surface gives off at a temperature: the surroundings as a smooth curve.
 */
enum { LG_LOSS_POINTS = 20 };
typedef struct {
  int n;
  double K[LG_LOSS_POINTS], W_m[LG_LOSS_POINTS], slope[LG_LOSS_POINTS];
} LgHeatLoss;

/* One wire alone in its surroundings, up to 1400 K. Within 1 % of the surroundings' own figure
 * from 5 K above the ambient. */
LgHeatLoss lg_heat_loss(const LgHeatWire *wire, const LgSurroundings *around);
/* Wire `i` in a bundle whose other currents stay as they are. */
LgHeatLoss lg_heat_loss_in_bundle(const LgHeatBundle *bundle, int i);
/* The same for a large bundle in little time: the heat of every other wire follows the temperature
 * over the bundle alone, from the balance of the bundle as it stands (conductor_K, bundle_K of
 * lg_bundle_temperatures; what they say of wire `i` is not looked at, so that it may since have got
 * another size or current). Within 2 % of lg_heat_loss_in_bundle below 250 C. Time grows with n. */
LgHeatLoss lg_heat_loss_among(const LgHeatBundle *bundle, const double conductor_K[],
                              double bundle_K, int i);
double lg_heat_loss_at(const LgHeatLoss *loss, double surface_K);

/* Lasting temperature and current by the curve; as lg_wire_temperature and lg_wire_current. */
double lg_loss_temperature(const LgHeatWire *wire, const LgHeatLoss *loss, double current_A);
double lg_loss_current(const LgHeatWire *wire, const LgHeatLoss *loss, double conductor_K);

/* Conductor temperature after `seconds` of `current_A` from a lasting conductor temperature
 * `start_K`. Two lumps: the copper, and the insulation's heat capacity at its outside, so that a
 * quick short warms the copper alone. Stops at the melting point of copper. */
double lg_wire_after(const LgHeatWire *wire, const LgHeatLoss *loss, double start_K,
                     double current_A, double seconds);

/* Seconds until the conductor passes `limit_K`; INFINITY when it never does; 0 when it starts
 * there. */
double lg_wire_time_to(const LgHeatWire *wire, const LgHeatLoss *loss, double start_K,
                       double current_A, double limit_K);

/* k of I^2 t = k^2 S^2 for copper that loses no heat, A s^0.5 / mm2: sqrt (Qc (beta + 20) / rho20
 * ln ((beta + end) / (beta + start))), temperatures in C. IEC 60949, IEC 60364-5-54 annex (seen).
 */
double lg_copper_k(double start_K, double end_K);
/* Temperature of copper after `joule_integral_A2s` when no heat leaves it: the inverse
 * of lg_copper_k. At most 1e4 K. */
double lg_adiabatic_end(double copper_m2, double start_K, double joule_integral_A2s);

/* ---- What opens ---- */

typedef enum { LG_PROTECTOR_FUSE, LG_PROTECTOR_BREAKER, LG_PROTECTOR_ELECTRONIC } LgProtectorKind;
typedef enum { LG_RECLOSE_SELF, LG_RECLOSE_POWER, LG_RECLOSE_HAND } LgReclose;

typedef struct {
  LgProtectorKind kind;
  double rating_A;
  double ambient_K;             /* its own place */
  const LgCatalogue *catalogue; /* fuse: where its body's opening times stand ... */
  const char *form;             /* ... under this name */
  double melting_A2s;           /* fuse: nominal melting I2t; NAN: not known */
  LgReclose reclose;            /* breaker */
  double off_s;                 /* breaker of the self kind: time until it closes again */
  double limit_A;               /* electronic: holds the current to this ... */
  double trip_s;                /* ... and lets go after this; INFINITY: it never does */
} LgProtector;

/* Share of its rating that a fuse carries at an ambient, 1 at 25 C (typical curve of zinc blade
 * fuses, memory, low confidence: 0.03 either way); straight between the points, flat outside. A
 * breaker or electronic output: 1. */
double lg_rerating(LgProtectorKind kind, double ambient_K);

typedef struct {
  double least_s, most_s; /* INFINITY: it does not open */
} LgOpeningTime;

/* A fuse as lg_catalogue_opening_time has it, at its rerated rating; never, when its body has no
 * gates for the rating. A breaker holds 100 %, opens at 135 % within an hour and at 200 % in 3 to
 * 60 s (SAE J553 as commonly printed, memory, low confidence), log-log between, I2t constant
 * beyond, at the shortest after 60 s between 100 and 135 %. An electronic output after its trip
 * time, above its limit. */
LgOpeningTime lg_opening_time(const LgProtector *protector, double current_A);

/* Lasting root-mean-square current of a breaker that opens and closes by itself on a fault: on for
 * its longest time, off for off_s. The current itself for all others that never open. */
double lg_cycling_current(const LgProtector *protector, double current_A);

/* ---- Overloads and shorts ---- */

/* One wire behind one protector. */
typedef struct {
  const LgHeatWire *wire;
  const LgHeatLoss *loss;
  double start_K; /* at its lasting load */
  double limit_K; /* what its insulation bears for so short */
} LgExposed;

/* Greatest current that the protector bears for ever on its long edge; INFINITY when it never opens
 * below a hundred times its rating. */
double lg_protector_bears(const LgProtector *protector);

typedef struct {
  double load;      /* multiple of the rating at which it is worst */
  double current_A; /* that */
  double opens_s;   /* longest */
  double reached_K; /* conductor when it opens; lasting temperature when it never does */
} LgOverload;

/* The worst overload: current between what the protector carries for ever and `most_A`, opening as
 * late as it may. The wire is protected when reached_K stays below limit_K. */
LgOverload lg_overload_worst(const LgExposed *exposed, const LgProtector *protector, double most_A);

/* Whether reached_K of the worst overload stays below limit_K, in less time. */
gboolean lg_overload_holds(const LgExposed *exposed, const LgProtector *protector, double most_A);

/* One stretch of the way from the source to the fault. */
typedef struct {
  double ohm;                   /* hot or cold as the caller means it */
  const LgExposed *exposed;     /* a wire that can be harmed; NULL: none */
  const LgProtector *protector; /* fuse, breaker, output in it; NULL: none */
} LgStretch;

/* A loop through one fault in the last stretch, a wire, at a fraction x of its length. */
typedef struct {
  double volts;          /* source without load */
  const LgStretch *feed; /* [n] from the source on, the source's own resistance included */
  int n;                 /* the last one is the faulty wire */
  double return_ohm[2];  /* fault and way back, fault at the wire's start and at its end */
} LgLoop;

typedef struct {
  double current_A; /* that flows, the electronic limit counted */
  double opens_s;   /* longest, of the protector that opens first; INFINITY: none does */
  int opened_by;    /* stretch; -1 */
  int hottest; /* stretch of the wire that comes nearest to its limit; -1 when none is exposed */
  double reached_K; /* that wire when the current stops, or lasting */
  double used; /* I2t over k2 S2 of that wire from its start to its limit: 1 would spend it without
                  any loss; INFINITY when nothing opens */
  gboolean protects; /* every exposed wire stays within its limit */
} LgShort;

LgShort lg_short_at(const LgLoop *loop, double x);

/* Where along the last wire protection ends, 0 to 1: the least x at which some exposed wire passes
 * its limit; 1 when there is none, 0 when it already does at the start. Steps of 1/16, then halved
 * to 1/1000. `*worst` (may be NULL) is the short with the least margin among those looked at. */
double lg_short_reach(const LgLoop *loop, LgShort *worst);

/* A current by the place of a fault along a wire: fault at its start, at its end. Between them 1/I
 * is a straight line, which is exact for one source behind the wire's resistance; straight itself
 * where the current turns round. */
typedef struct {
  double start_A, end_A;
} LgAmpsAlong;
double lg_amps_along(LgAmpsAlong current, double x);

typedef struct {
  const LgProtector *protector;
  LgAmpsAlong amps; /* through it */
  int feed;         /* which feed it ends */
} LgGuard;

/* A fault along a wire that several sources may feed, each current from the solved network. A feed
 * ends with the first of its guards, the fault with the last of its feeds; until then every current
 * counts as at first, which is the safe side. */
typedef struct {
  const LgExposed *exposed;
  LgAmpsAlong from[2]; /* along the wire to the fault: from its start, from its end */
  const LgGuard *guards;
  int n_guards, n_feeds; /* no feeds: nothing ever opens */
} LgMeshShort;

/* `current_A` is that of the fault, `opened_by` the guard that ends it, `hottest` 0. */
LgShort lg_mesh_short_at(const LgMeshShort *fault, double x);
/* Longest time until the fault is over; INFINITY: never. */
double lg_mesh_short_opens(const LgMeshShort *fault, double x);
/* As lg_short_reach; `*worst` is the short with the hottest wire among those looked at, at
 * `*worst_x`. */
double lg_mesh_short_reach(const LgMeshShort *fault, LgShort *worst, double *worst_x);

/* ---- Opening when it should not ---- */

typedef struct {
  double lasting_share; /* lasting current over the rerated rating */
  double start_share;   /* time of the start over the shortest opening time at its current; above 1
                           it may open */
  double pulse_share;   /* start's I2t over the melting I2t; NAN when that is not known */
  gboolean lasting_ok, start_ok, pulse_ok;
} LgNuisance;

/* A load that starts with `start_A` for `start_s` (a rectangle: the worst shape) and then draws
 * `lasting_A`. Lasting load at most 0.75 of the rerated rating (maker's note, seen; 0.8 in
 * another), pulse at most 0.22 of the melting I2t for 100000 starts (maker's chart, seen). */
LgNuisance lg_nuisance(const LgProtector *protector, double lasting_A, double start_A,
                       double start_s);

G_END_DECLS
