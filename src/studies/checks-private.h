/* Inside of the checks: what the rules share. */
#pragma once
#include "catalogue/material.h"
#include "studies/bodies.h"
#include "studies/checks.h"
#include "studies/states-private.h"

/* Load classes of a contact: AC 43.13-1B, switch rating for load kind. */
typedef enum { LG_LOAD_PLAIN, LG_LOAD_MOTOR, LG_LOAD_LAMP, LG_N_LOAD_CLASSES } LgLoadClass;

/* The worst that a contact carries: the sum over the classes of current / rating of that class. */
typedef struct {
  double use;
  double class_A[LG_N_LOAD_CLASSES];
  int state;
} LgContactUse;

/* What a thermostat reads wrong because other currents flow in its thermistor's wires. */
typedef struct {
  int listener;         /* element with senses=; -1: nobody listens */
  int near[2], far[2];  /* pins: of the thermistor, and of the listener's part on that way; -1 */
  double offset_V, ohm; /* at the worst: volts, and the resistance that they look like */
  double at_K;          /* set-point of the listener, 35 C when it gives none */
  double error_K;       /* what is read less what is, at the set-point */
  int state;            /* -1: never met */
} LgSensorError;

/* Seen in the states that were kept, without those in which a load starts or stalls. Arrays over
 * elements or pins; states index LgStates. */
typedef struct {
  LgContactUse *contacts;
  LgExtreme *most_V, *least_V; /* volts of the first pin less the second, signed */
  LgExtreme *pin_A;            /* what flows into a pin by its wires */
  int *unsuppressed; /* outputs: a coil or solenoid without suppression that it feeds; -1 */
  LgSensorError *sensors;
  LgExtreme supply_A; /* sum that the sources give, no key or switch at `start` */
} LgSurvey;

/* Heat and charge of the job: made when a rule asks for it first. */
typedef struct {
  LgBodies *bodies;
  LgSupply *supply;
  GPtrArray *pads; /* LgPad* */
  int n_uses;
  LgUseResult **uses; /* [n_uses], each from its own charge */
} LgHeatStudy;

struct LgCheckContext {
  const LgJob *job;
  const LgSizing *sizing;
  const LgStates *states; /* = sizing->states */
  LgWays *ways;
  int *net; /* [nodes] nodes joined by wires, links and the body have the same number */
  LgSurvey *survey;
  struct LgShorts *shorts; /* made when the first rule asks */
  LgNetWork *work;
  LgPoint *point; /* scratch for a further state */
  LgHeatStudy *heat;
  const LgRule *rule;
  GStringChunk *words;
  GPtrArray *findings; /* LgFinding* */
};

/* --- checks-words.c ---
 * Texts live as long as the context. Quantities are printed in the job's habit. */
const char *lg_say(LgCheckContext *c, const char *format, ...) G_GNUC_PRINTF(2, 3);
const char *lg_say_amps(LgCheckContext *c, double amps);
const char *lg_say_volts(LgCheckContext *c, double volts);
const char *lg_say_ohms(LgCheckContext *c, double ohm);
const char *lg_say_watts(LgCheckContext *c, double watts);
const char *lg_say_metres(LgCheckContext *c, double metres);
const char *lg_say_degrees(LgCheckContext *c, double temperature_K);
const char *lg_say_warmth(LgCheckContext *c, double difference_K);
const char *lg_say_mm2(LgCheckContext *c, double mm2);
const char *lg_say_hours(LgCheckContext *c, double hours); /* hours or days */
const char *lg_say_seconds(LgCheckContext *c, double seconds);
const char *lg_say_percent(LgCheckContext *c, double share);
/* "in KEY=on S2=high", "with everything at rest". */
const char *lg_say_state(LgCheckContext *c, int state);
/* "1 state", "12 states". */
const char *lg_say_states(LgCheckContext *c, guint64 n);
/* "F1" when the part is of a catalogue type and holds nothing else, else "F1.f3". */
const char *lg_say_element(LgCheckContext *c, int element);
/* "W12 (RD/WH, 1.5mm2)". */
const char *lg_say_wire(LgCheckContext *c, int wire);
/* "2.5mm2, class-c insulation (125 degC), in run sill (slit-tube, 50 degC) with 4 loaded wires: 19
 * A lasting by heat balance; by table 25 A (...)". */
const char *lg_say_heat(LgCheckContext *c, int wire, const LgStretchHeat *stretch);
/* "in run sill (tube-10, 50 degC) with 4 loaded wires together". */
const char *lg_say_stretch(LgCheckContext *c, const LgStretchHeat *stretch);
/* Whether sizing tells something about it already; `subject` as in its findings. */
gboolean lg_sizing_tells(const LgCheckContext *c, const char *subject);
/* Adds a finding of the rule that runs; the texts are copied. */
void lg_found(LgCheckContext *c, LgOrigin origin, const char *subject, const char *what,
              const char *basis, const char *remedy);

/* --- checks-survey.c --- */
/* What a contact may carry of a class. Switches of the catalogue are rated at 12 V; in a 24 V
 * vehicle resistive loads count 2, motors 3, lamps 8 (AC 43.13-1B, seen as a digest), unless the
 * sheet gives figures. Relays and outputs have figures of their own volts. */
double lg_contact_rating(const LgCheckContext *c, int contact, LgLoadClass load);
LgSurvey *lg_survey_new(LgCheckContext *c);
void lg_survey_free(LgSurvey *survey);
/* Solves c->point for a kept state with input `input` at `position`; input -1: as it is. */
void lg_check_solve(LgCheckContext *c, int state, int input, int position);
/* Current of an edge of the ways in c->point: LgFlow. */
double lg_point_amps(gconstpointer context, int edge);

/* --- rules-pad.c --- */
LgHeatStudy *lg_check_heat(LgCheckContext *c);
void lg_heat_study_free(LgHeatStudy *heat);

/* --- checks-graph.c --- */
typedef struct {
  LgCheckContext *context;
  gboolean (*passes)(const LgCheckContext *c, int edge, int from_node, gpointer user);
  void (*meets)(const LgCheckContext *c, int edge, gpointer user); /* an edge that stops; or NULL */
  gpointer user;
} LgFlood;
/* Lists in `found` (int) all nodes from `node` on along the edges that pass. `reached` [nodes] is
 * set to TRUE there; nodes already TRUE are not entered. */
void lg_flood(const LgFlood *flood, int node, gboolean reached[], GArray *found);
int *lg_nets_new(LgCheckContext *c);
int lg_ground_net(const LgCheckContext *c); /* net of the body, or of the main ground post */
int lg_pin_net(const LgCheckContext *c, int pin);
/* Wires at a pin; elements at it beside `but` (-1: all). */
int lg_pin_n_wires(const LgCheckContext *c, int pin);
int lg_pin_n_elements(const LgCheckContext *c, int pin, int but);
const LgElement *lg_edge_element(const LgCheckContext *c, int edge); /* NULL: a wire */

/* --- checks-remedy.c --- */
/* The thinnest conductor of the wire's series whose allowed current is at least `amps`, NULL when
 * none. */
const LgConductor *lg_conductor_for(const LgCheckContext *c, int wire, double amps);
/* The same for a fuse that carries `amps` for good, in the wire's tightest stretch. */
const LgConductor *lg_conductor_for_fuse(const LgCheckContext *c, int wire, double amps);
/* The largest and the smallest fuse of the form between two ratings, NULL when none. */
const LgFuse *lg_fuse_between(const LgCheckContext *c, const char *form, double least_A,
                              double most_A);
const LgFuse *lg_fuse_least(const LgCheckContext *c, const char *form, double least_A,
                            double most_A);
const LgConductor *lg_conductor_of(const LgCheckContext *c, int wire);

/* --- rules-protection.c --- */
/* Whether what a fuse carries for good is more than a wire may carry for good. */
gboolean lg_fuse_is_above(const LgCheckContext *c, int fuse, int wire);

/* The rules, by file. */
/* rules-protection.c */
extern const LgRule lg_rule_no_fuse, lg_rule_fuse_far, lg_rule_fuse_at_one_end,
    lg_rule_fuse_above_wire, lg_rule_fuse_loaded, lg_rule_fuse_start, lg_rule_fuse_not_sold,
    lg_rule_fuse_in_return, lg_rule_parallel_fuses, lg_rule_vital_shared;
/* rules-heat.c */
extern const LgRule lg_rule_wire_overloaded, lg_rule_cover_hot, lg_rule_overload_lasts;
/* rules-short.c */
extern const LgRule lg_rule_short_lasts;
/* rules-load.c */
extern const LgRule lg_rule_drop, lg_rule_cut_out, lg_rule_over_volts, lg_rule_far_power,
    lg_rule_never_fed;
/* rules-contact.c */
extern const LgRule lg_rule_contact_overloaded, lg_rule_contact_unrated,
    lg_rule_terminal_overloaded, lg_rule_output_kick, lg_rule_live_when_off;
/* rules-relay.c */
extern const LgRule lg_rule_coil_weak, lg_rule_coil_weak_cranking, lg_rule_coil_dip,
    lg_rule_chatter, lg_rule_latching;
/* rules-polarity.c */
extern const LgRule lg_rule_polarity, lg_rule_diode_reversed;
/* rules-connection.c */
extern const LgRule lg_rule_restraint_wired, lg_rule_restraint_read, lg_rule_pin_unwired,
    lg_rule_dead_end, lg_rule_island, lg_rule_not_fitted;
/* rules-wire.c */
extern const LgRule lg_rule_terminal_range, lg_rule_wire_weak, lg_rule_colour_twice,
    lg_rule_green_yellow;
/* rules-route.c */
extern const LgRule lg_rule_edge_bare, lg_rule_moving, lg_rule_wet_splice;
/* rules-energy.c */
extern const LgRule lg_rule_standing, lg_rule_heat_key_off, lg_rule_deficit_driving,
    lg_rule_deficit_idle, lg_rule_frost_crank, lg_rule_use_flat;
/* rules-pad.c */
extern const LgRule lg_rule_surface_hot, lg_rule_surface_long, lg_rule_warm_up_slow,
    lg_rule_relay_worn, lg_rule_heat_unsaid;
/* rules-sensor.c */
extern const LgRule lg_rule_sensor_shared;
/* rules-evidence.c */
extern const LgRule lg_rule_pin_unproven, lg_rule_fitted_unknown;
/* rules-photo.c */
extern const LgRule lg_rule_photo_missing;
/* rules-need.c */
extern const LgRule lg_rule_need_broken, lg_rule_need_never;
/* sneak-rule.c */
extern const LgRule lg_rule_sneak_path;
/* rules-size.c: pages of what sizing finds */
extern const LgRule lg_rule_no_rating, lg_rule_no_size;
/* rules-reading.c: found by identify and locate */
extern const LgRule lg_rule_restraint_left_alone, lg_rule_reading_contradicts,
    lg_rule_reading_impossible;
