/* The typed job: parts, pins, elements, wires, places, runs, inputs, needs, readings, bodies, uses,
 * made from a sheet and the catalogue. Plain arrays with indices; constant after reading. SI units,
 * NAN for a figure not given, -1 for no index. Texts are owned by the job. */
#pragma once
#include "catalogue/catalogue.h"
#include "sheet/sheet.h"
#include <stdint.h>

G_BEGIN_DECLS

/* In the order of the words of `element`'s first value in the schema. */
typedef enum {
  LG_EL_CELL,
  LG_EL_ALTERNATOR,
  LG_EL_DYNAMO,
  LG_EL_SUPPLY,
  LG_EL_FUSE,
  LG_EL_BREAKER,
  LG_EL_LINK,
  LG_EL_CHASSIS,
  LG_EL_RESISTOR,
  LG_EL_HEATER,
  LG_EL_THERMISTOR,
  LG_EL_LAMP,
  LG_EL_LED,
  LG_EL_DIODE,
  LG_EL_MOTOR,
  LG_EL_FAN,
  LG_EL_PUMP,
  LG_EL_BUZZER,
  LG_EL_SOLENOID,
  LG_EL_ELECTRONIC,
  LG_EL_COIL,
  LG_EL_MAKE,
  LG_EL_BREAK,
  LG_EL_CONTACT,
  LG_EL_THERMOSTAT,
  LG_EL_OUTPUT,
  LG_N_ELEMENT_KINDS
} LgElementKind;

/* Figures of an element, by key of the schema. */
typedef enum {
  LG_P_VOLTS,
  LG_P_POWER,
  LG_P_RUN,
  LG_P_START,
  LG_P_START_TIME,
  LG_P_STALL,
  LG_P_RESISTANCE,
  LG_P_TOLERANCE,
  LG_P_CAPACITY,
  LG_P_CHARGE,
  LG_P_PEUKERT,
  LG_P_CRANKING,
  LG_P_RATED,
  LG_P_IDLE,
  LG_P_REGULATED,
  LG_P_RATING,
  LG_P_MOTOR_RATING,
  LG_P_LAMP_RATING,
  LG_P_PULL_IN,
  LG_P_DROP_OUT,
  LG_P_OPENS,
  LG_P_CLOSES,
  LG_P_R25,
  LG_P_BETA,
  LG_P_FORWARD,
  LG_P_STANDBY,
  LG_P_CUT_OUT,
  LG_P_CUT_IN,
  LG_P_DROP,
  LG_P_LEAST_ON,
  LG_P_LEAST_OFF,
  LG_P_PERIOD,
  LG_P_SHARE,
  LG_P_LIFE,
  LG_N_PARAMS
} LgParam;

typedef enum {
  LG_EVIDENCE_MEASURED,
  LG_EVIDENCE_DOCUMENT,
  LG_EVIDENCE_TOLD,
  LG_EVIDENCE_GUESS
} LgEvidence;
typedef enum { LG_FITTED_YES, LG_FITTED_NO, LG_FITTED_UNKNOWN } LgFitted;
typedef enum { LG_RESTRAINT_NO, LG_RESTRAINT_MAYBE, LG_RESTRAINT_YES } LgRestraint;
typedef enum {
  LG_IS_NEW,
  LG_IS_DONOR,
  LG_IS_HOST
} LgIs; /* bought, from the donor, there already */
typedef enum {
  LG_CARRIES_UNSAID = -1,
  LG_CARRIES_POWER,
  LG_CARRIES_RETURN,
  LG_CARRIES_SIGNAL,
  LG_CARRIES_SENSOR
} LgCarries;
typedef enum { LG_CHEM_FLOODED, LG_CHEM_AGM, LG_CHEM_GEL, LG_CHEM_LITHIUM } LgChemistry;
typedef enum { LG_SUPPRESS_NONE, LG_SUPPRESS_RESISTOR, LG_SUPPRESS_DIODE } LgSuppression;
typedef enum { LG_RESET_SELF, LG_RESET_POWER, LG_RESET_HAND } LgReset;

typedef struct {
  const char *name, *text, *where;
  double cold_K, hot_K;
  gboolean wet, edge;
  double hole_m;
  double opening_m[2]; /* width and height; a height of NAN: round */
  LgOrigin origin;
} LgPlace;

typedef struct {
  const char *name, *text;
  int from, to;    /* places */
  double length_m; /* NAN: not said; then every wire in it says its own */
  double cold_K, hot_K;
  const LgCover *cover;
  gboolean moves, wet;
  int others; /* loaded wires in it that the sheet does not list */
  LgOrigin origin;
} LgRun;

typedef struct {
  const char *name, *text;
  const LgType *type;
  const char *class_word; /* "relay" */
  const char *letter;     /* IEC 81346 */
  int place;              /* -1: not said */
  LgIs is;
  int rows, columns; /* face; 0: not said */
  gboolean mating_view;
  int latch; /* 0 top, 1 bottom, 2 left, 3 right */
  const char *housing;
  double tail_m;
  double body_m[2], rim_m; /* what goes into an opening, as there; 0: no rim */
  LgRestraint restraint;
  LgEvidence evidence;
  const char *buy, *price, *vital;
  double labour_s;
  int input;             /* hand input or -1 */
  int first_pin, n_pins; /* its pins stand together */
  int first_element, n_elements;
  LgOrigin origin;
} LgPart;

typedef struct {
  int part;
  const char *name;       /* "SEAT.7" */
  const char *short_name; /* "7", within name */
  const char *label;      /* free text: what it does */
  const char *colour;     /* found there, or NULL */
  const LgTerminal *terminal;
  LgFitted fitted;
  LgCarries carries;
  LgEvidence
      evidence; /* `measured` only when a reading in the sheet backs it, else lowered to document */
  gboolean said_measured; /* the sheet said measured, but no reading names the pin */
  const char *said_by;
  LgRestraint restraint; /* its own or its part's, whichever is graver */
  int cavity;            /* moulded number, 0: as the name */
  gboolean from_type;    /* came with the catalogue type */
  LgOrigin origin;
} LgPin;

typedef struct {
  int part;
  const char *name; /* "SEAT.lift" */
  const char *short_name;
  const char *label;
  LgElementKind kind;
  int pin[2]; /* second is -1 for `chassis` */
  double p[LG_N_PARAMS];
  guint64 given;        /* bit k: the job's sheet itself gave p[k] (not the catalogue) */
  gboolean rating_auto; /* fuse: rating to be chosen; p[LG_P_RATING] is NAN then */
  const char *form;     /* fuse body */
  LgChemistry chemistry;
  LgReset reset;
  LgSuppression suppression;
  gboolean polarised, cycles;
  int by;            /* make, break: coil element */
  uint64_t closed;   /* contact, output: bit set of hand positions; 0: no hand condition */
  int call;          /* input or -1 */
  int senses;        /* thermistor element or -1 */
  int warms;         /* load: body that takes up its heat, or -1 */
  int feels;         /* thermistor, thermostat: body whose temperature it has, or -1 */
  int demand;        /* demand input of a load, or -1 */
  const char *vital; /* its own or its part's */
  LgEvidence evidence;
  LgOrigin origin;
} LgElement;

typedef struct {
  const char *name, *text;
  int pin[2];
  const char *colour;
  const LgConductor *conductor; /* NULL: auto */
  gboolean is_auto;
  double length_m; /* one way, along the route */
  gboolean length_from_runs;
  int *runs; /* owned by the job */
  int n_runs;
  double spare_m;
  const LgInsulation *insulation;
  LgIs is;
  gboolean sheathed;
  const char *vital;
  double cold_K, hot_K;           /* of all the places and runs it passes */
  int hottest_place, hottest_run; /* which of them is hottest; the other is -1 */
  LgOrigin origin;
  guint record; /* index in the sheet */
} LgWire;

typedef enum { LG_INPUT_HAND, LG_INPUT_CALL, LG_INPUT_DEMAND } LgInputKind;

/* Demand inputs have the positions run, off, start, stall; position 0, run, is where they rest. */
typedef enum {
  LG_DEMAND_RUN,
  LG_DEMAND_OFF,
  LG_DEMAND_START,
  LG_DEMAND_STALL,
  LG_N_DEMANDS
} LgDemand;

typedef struct {
  const char *name; /* "KEY", "S2.heat", "SEAT.lift" */
  LgInputKind kind;
  const char *const *positions; /* NULL-ended */
  int n_positions;
  int part, element; /* element: demand only, else -1 */
  int when_input;    /* without this input in `when_positions` it stays in position 0; -1: free */
  uint64_t when_positions;
} LgInput;

typedef struct {
  int input;
  uint64_t positions;
} LgCondition;

typedef enum { LG_TARGET_PIN, LG_TARGET_ELEMENT, LG_TARGET_WIRE } LgTarget;
typedef enum {
  LG_MEASURE_CURRENT,
  LG_MEASURE_VOLTS,
  LG_MEASURE_POWER
} LgMeasure; /* order of lg_limit_words */

typedef struct {
  const char *text;
  LgTarget target;
  int index;
  LgMeasure measure;
  char relation; /* '<' or '>' */
  double limit;
  LgCondition *when;
  int n_when;
  LgOrigin origin;
} LgNeed;

typedef struct {
  const char *name, *text;
  int pin[2];
  double resistance, volts, current, lead, tolerance, temperature_K; /* NAN: not read */
  gboolean open;
  const char *date, *by, *instrument, *did;
  LgCondition *when;
  int n_when;
  LgOrigin origin;
} LgReading;

/* In the order of the words of the schema. */
typedef enum {
  LG_BODY_OTHER,
  LG_BODY_PAD,
  LG_BODY_FOAM,
  LG_BODY_SURFACE, /* what skin touches */
  LG_BODY_OCCUPANT,
  LG_BODY_AIR
} LgBodyIs;
typedef enum {
  LG_MATERIAL_TEXTILE,
  LG_MATERIAL_LEATHER,
  LG_MATERIAL_PLASTIC,
  LG_MATERIAL_WOOD,
  LG_MATERIAL_GLASS,
  LG_MATERIAL_METAL
} LgMaterial;

/* A lump that a heater warms or a sensor feels. Bodies form trees: each gives heat to at most one
 * other body, and to the air outside. */
typedef struct {
  const char *name, *text;
  LgBodyIs is;
  LgMaterial material;
  double capacity_J_K; /* NAN: not said */
  int touches;         /* body or -1 */
  double through_W_K;  /* NAN without touches */
  double loss_W_K;
  double held_K; /* NAN: free */
  LgOrigin origin;
} LgBody;

/* What changes in a use from a moment on. */
typedef struct {
  double at_s;
  double speed_rpm, ambient_K; /* NAN: as before */
  LgCondition *set;            /* one position each */
  int n_set;
  LgOrigin origin;
} LgUseStep;

/* A course of time. Before its first step every input is at rest and the engine stands still. */
typedef struct {
  const char *name, *text;
  double lasts_s, ambient_K;
  double charge; /* NAN: each battery's own */
  int repeat;
  LgUseStep *steps; /* in order of time, owned by the job */
  int n_steps;
  LgOrigin origin;
} LgUse;

typedef struct {
  const char *name, *text, *proven;
  gboolean donor;
} LgVehicle;

/* Sections of the write-up, in the order of the schema's words. */
typedef enum {
  LG_AT_CAUTIONS,
  LG_AT_VERDICT,
  LG_AT_DIAGRAM,
  LG_AT_PARTS,
  LG_AT_PLUGS,
  LG_AT_WIRES,
  LG_AT_STEPS,
  LG_AT_TESTS,
  LG_AT_TROUBLES,
  LG_AT_USE,
  LG_AT_HISTORY,
  LG_AT_EVIDENCE,
  LG_N_CHAPTER_ATS
} LgChapterAt;

/* Steps of building, in the order of the schema's words. */
typedef enum {
  LG_BUILD_MEASURE,
  LG_BUILD_GATHER,
  LG_BUILD_CUT,
  LG_BUILD_TRIAL,
  LG_BUILD_BOARD,
  LG_BUILD_SPLICES,
  LG_BUILD_ENDS,
  LG_BUILD_RING_OUT,
  LG_BUILD_BATTERY_OFF,
  LG_BUILD_PANELS,
  LG_BUILD_GROUNDS,
  LG_BUILD_HOLDERS,
  LG_BUILD_RUNS,
  LG_BUILD_LAST_ENDS,
  LG_BUILD_FIT,
  LG_BUILD_FIRST_CHECK,
  LG_BUILD_FIRST_POWER,
  LG_BUILD_FUSES,
  LG_BUILD_READINGS,
  LG_BUILD_REFIT,
  LG_BUILD_DRAIN,
  LG_BUILD_HANDOVER,
  LG_N_BUILD_STEPS
} LgBuildStep;

/* A section of the sheet's own in the write-up. */
typedef struct {
  const char *name, *text;
  LgChapterAt at;
  gboolean behind; /* stands behind that section, else before it */
  LgOrigin origin;
} LgChapter;

/* What photos and notes belong to; at most one of the five and a step; -1: not said. */
typedef struct {
  int part, wire, place, run, chapter;
  int step; /* LgBuildStep */
} LgBelongs;

typedef struct {
  const char *name, *text;
  const char
      *file; /* below the sheet's folder, by its letters; whether it is there, nobody knows */
  LgBelongs of;
  const char *date, *by;
  LgOrigin origin;
} LgPhoto;

typedef enum { LG_NOTE_TEXT, LG_NOTE_FAILED, LG_NOTE_CORRECTED, LG_NOTE_REPEATED } LgNoteIs;

typedef struct {
  const char *name, *text;
  LgNoteIs is;
  LgBelongs of;
  const char *date, *by;
  LgOrigin origin;
} LgNote;

typedef struct LgJob {
  const LgSheet *sheet;
  const LgCatalogue *catalogue;
  int variant; /* of the sheet; 0: without any */
  const char *title, *date, *by, *ask, *private_words;
  LgHabit habit;
  gboolean awg_sizes; /* auto wires come from the AWG series */
  gboolean letter_paper;
  const char *language; /* of the packet, as lg_words_of takes it; static */
  gboolean positive_ground;
  const char *ground_word; /* "ground" or "earth" */
  double nominal_V, cold_K, hot_K, drop, fuse_load, fuse_over_wire, standing_s;
  int bundle_table; /* LgTableName, -1: none */
  const LgInsulation *insulation;
  LgOrigin origin;

  LgVehicle *vehicles;
  int n_vehicles;
  LgPlace *places;
  int n_places;
  LgRun *runs;
  int n_runs;
  LgPart *parts;
  int n_parts;
  LgPin *pins;
  int n_pins;
  LgElement *elements;
  int n_elements;
  LgWire *wires;
  int n_wires;
  LgInput *inputs;
  int n_inputs;
  LgNeed *needs;
  int n_needs;
  LgReading *readings;
  int n_readings;
  LgBody *bodies;
  int n_bodies;
  LgUse *uses;
  int n_uses;
  LgChapter *chapters;
  int n_chapters;
  LgPhoto *photos;
  int n_photos;
  LgNote *notes;
  int n_notes;

  struct LgJobStore *store; /* private: what owns the texts and small arrays */
} LgJob;

/* Makes the job from a sheet that reads without problems. What does not fit together (an unknown
 * pin, a wire without a length, a contact without its coil) is added to the sheet's problems with
 * its place and a suggestion; then NULL is returned. The sheet and the catalogue must outlive the
 * job. Linear time. */
LgJob *lg_job_new(LgSheet *sheet, const LgCatalogue *catalogue);
/* The same for the n-th `variant` of the sheet; 0: without any. */
LgJob *lg_job_new_variant(LgSheet *sheet, const LgCatalogue *catalogue, int variant);
/* The number of the sheet's variant of that name, 0 when there is none. */
int lg_sheet_find_variant(const LgSheet *sheet, const char *name);
void lg_job_free(LgJob *job);

/* Index by name, -1 when there is none. */
int lg_job_find_part(const LgJob *job, const char *name);
int lg_job_find_pin(const LgJob *job, const char *name);
int lg_job_find_element(const LgJob *job, const char *name);
int lg_job_find_wire(const LgJob *job, const char *name);
int lg_job_find_input(const LgJob *job, const char *name);
int lg_job_find_body(const LgJob *job, const char *name);
int lg_job_find_use(const LgJob *job, const char *name);

/* The folder of the sheet's file, in which its photos lie. Newly allocated. */
char *lg_job_folder(const LgJob *job);

#define LG_JOB_ERROR (lg_job_error_quark())
GQuark lg_job_error_quark(void);

/* Reads "KEY=on" or "S2=low,high" for this job; FALSE with *error naming near misses. */
gboolean lg_job_read_condition(const LgJob *job, const char *text, LgCondition *condition,
                               GError **error);

const char *lg_element_word(LgElementKind kind);   /* as in a sheet */
const char *lg_element_said(LgElementKind kind);   /* in the language in force */
gboolean lg_element_is_source(LgElementKind kind); /* cell, alternator, dynamo, supply */
gboolean lg_element_is_load(
    LgElementKind kind); /* turns power into use: heater, lamp, motor, electronic, ... not coils */
gboolean lg_element_is_motor(
    LgElementKind kind); /* motor, fan, pump, solenoid: motor-class load of a contact */
gboolean lg_element_is_contact(LgElementKind kind); /* make, break, contact, thermostat, output */
gboolean lg_element_is_protection(LgElementKind kind); /* fuse, breaker */

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgJob, lg_job_free)
G_END_DECLS
