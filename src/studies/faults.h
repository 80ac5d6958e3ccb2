/* What if: every single fault of a job in every state, judged and condensed. The method is that of
 * failure modes and effects (IEC 60812, memory): a list of modes, the effect of each with what
 * clears it, a severity with its reason, and how the user would notice. Section 6 of the design:
 * "Faults".
 *
 * States are those of the circuit's lasting states (nothing starts or stalls). All of them are
 * solved while states x faults stay within a budget; beyond it those that show an extreme, the
 * state of rest, and a set that covers every pair of input positions.
 *
 * A pair of fault and state is not factored again where the healthy solution already answers it: a
 * contact or wire that opens while it carries nothing, a bridge between points of the same volts.
 * Such pairs are counted apart.
 *
 * Nothing here proves that a vehicle is safe: only the faults of the list are looked at, one or
 * two at a time. */
#pragma once
#include "studies/sizing.h"

G_BEGIN_DECLS

typedef enum {
  LG_FAIL_OPEN,           /* wire interrupted */
  LG_FAIL_TO_BODY,        /* wire touches the body at one end */
  LG_FAIL_TO_PLUS,        /* wire touches the strongest feed that runs with it, else the battery */
  LG_FAIL_BRIDGED,        /* neighbouring cavities of a face */
  LG_FAIL_GROUND_LOST,    /* a part's tie to the body */
  LG_FAIL_WELDED,         /* contact stuck closed */
  LG_FAIL_STUCK_OPEN,     /* contact stuck open */
  LG_FAIL_COIL_OPEN,      /* relay coil */
  LG_FAIL_SENSOR_OPEN,    /* thermistor */
  LG_FAIL_SENSOR_SHORTED, /* thermistor */
  LG_FAIL_LOAD_OPEN,      /* load or resistor */
  LG_FAIL_LOAD_SHORTED,   /* load or resistor */
  LG_FAIL_FUSE_LARGER,    /* replaced by one of the next two ratings up */
  LG_FAIL_RETURN_MOVED,   /* a sensor's return put to another ground */
  LG_FAIL_REVERSED,       /* battery or other source */
  LG_FAIL_BATTERY_OFF,    /* while something charges it */
  LG_FAIL_TURNED,         /* relay with the ends of its coil swapped */
  LG_N_FAILURE_KINDS
} LgFailureKind;

typedef struct LgFailure {
  LgFailureKind kind;
  int wire, element;  /* which one; -1 */
  int pin[2];         /* where: the end that touches, the cavities, the new ground; -1 */
  int with;           /* wire that the plus comes from, -1: the battery */
  double rating_A;    /* the larger fuse, else NAN */
  gboolean restraint; /* a cavity of it may belong to a restraint circuit: never solved */
} LgFailure;

typedef enum {
  LG_SEVERITY_DANGER,  /* can burn or hurt */
  LG_SEVERITY_FAULT,   /* something no longer does what is needed */
  LG_SEVERITY_CAUTION, /* nothing at once, but a guard is gone or a reading wrong */
  LG_SEVERITY_HARMLESS,
  LG_N_SEVERITIES
} LgSeverity;

/* Why it is as severe: one bit each, so that causes of one effect can be put together. */
typedef enum {
  LG_WHY_BURNS = 1 << 0,        /* a wire passes what its insulation bears */
  LG_WHY_UNCLEARED = 1 << 1,    /* a short that nothing opens */
  LG_WHY_OVERHEATS = 1 << 2,    /* a load above its rated power, or heat that no thermostat ends */
  LG_WHY_MOVES = 1 << 3,        /* a motor runs that should not */
  LG_WHY_RUNS_HOT = 1 << 4,     /* a heater runs that should not */
  LG_WHY_VITAL = 1 << 5,        /* something vital stops */
  LG_WHY_REVERSED = 1 << 6,     /* a polarised part gets volts the wrong way round */
  LG_WHY_LOAD_DUMP = 1 << 7,    /* a charger without its battery */
  LG_WHY_RESTRAINT = 1 << 8,    /* a restraint circuit may be touched */
  LG_WHY_RUNS = 1 << 9,         /* another load runs that should not */
  LG_WHY_STOPS = 1 << 10,       /* a load stops */
  LG_WHY_WEAK = 1 << 11,        /* a load has less than half its power */
  LG_WHY_NEED = 1 << 12,        /* a need of the sheet is broken */
  LG_WHY_FLAT = 1 << 13,        /* the battery does not last the time that the vehicle stands */
  LG_WHY_CHATTERS = 1 << 14,    /* a relay finds no rest */
  LG_WHY_READS_WRONG = 1 << 15, /* a sensor reads wrong */
  LG_WHY_UNGUARDED = 1 << 16,   /* a fuse no longer guards a wire behind it */
  LG_WHY_NO_RELEASE = 1 << 17,  /* a relay is held in or stays in */
  LG_N_WHY = 18
} LgWhy;

/* What a fault does to one load, coil or wire. */
typedef struct {
  int element;  /* or wire */
  double value; /* share of its own greatest healthy power; K reached */
  int state;    /* index into LgCampaign.positions of the plainest state that shows it */
  guint64 n;    /* states in which it is so */
} LgHit;

typedef struct {
  LgFailure fault;
  LgSeverity severity;
  guint why;                   /* LgWhy */
  int state;                   /* plainest state that shows the gravest effect, -1: none does */
  GArray *runs, *stops, *weak; /* LgHit; after what opens has opened. NULL: none */
  GArray *needs;               /* LgHit, `element` is the need; NULL: none */
  /* The short. */
  double short_A;    /* prospective current at the fault, NAN: no short */
  int cleared_by;    /* fuse or breaker element that opens first, -1 */
  double cleared_s;  /* long edge; worst over the states; INFINITY: it never opens for sure */
  int also_opens;    /* a second one, -1 */
  double creeping_W; /* greatest heat at the spot that no fuse sees; NAN: no fuse, or no short */
  double creeping_A; /* current at which */
  int hottest;       /* wire, -1 */
  double hottest_K, hottest_limit_K; /* when the current stops, or lasting, and what it may reach */
  gboolean lasting;                  /* that temperature lasts: nothing opens */
  int hottest_state;
  int overheats; /* load with the greatest power above its rating, -1 */
  double overheats_share;
  /* At rest. */
  double drain_A; /* more than healthy that the batteries give with all inputs at rest */
  double flat_h;  /* until half charge, at which they no longer start; INFINITY: never */
  double error_K; /* what a sensor reads less what is; INFINITY: cold or hot for ever; 0: right */
  int reader;     /* element that reads it, -1 */
  int noticed;    /* element by whose stop or run the driver notices it, -1: silent */
  int chatters;   /* coil, -1 */
  int reversed;   /* polarised element, -1 */
  int held;       /* coil that does not release, -1 */
  double held_V;
  char *sneak; /* the way on which something runs that should not, pin by pin; NULL */
} LgEffect;

/* Causes of one effect. */
typedef struct {
  int n;        /* faults */
  int *faults;  /* index into LgCampaign.effects, gravest first */
  char *remedy; /* what helps, re-solved; NULL */
} LgCause;

typedef struct {
  guint64 most_pairs; /* 0: 1e6 */
  int n_threads;      /* 0: 1; the result is the same */
  int n_remedies;     /* causes for which remedies are tried, -1: none, 0: 6 */
  int n_pairs;        /* double faults among so many of the worst; 0: none */
  gboolean exact;     /* no pair is answered by the healthy solution (for tests) */
  gboolean (*stop)(double share, gpointer user); /* NULL, or called by one thread at a time */
  gpointer user;
} LgCampaignOptions;

typedef struct {
  const LgJob *job;
  const LgSizing *sizing;
  int n_effects;
  LgEffect *effects;
  int n_causes;
  LgCause *causes; /* gravest first */
  int n_inputs, n_states;
  guint8 *positions;   /* [n_states][n_inputs]; state 0 is everything at rest */
  gboolean all_states; /* every lasting state that there is */
  guint64 n_possible;  /* lasting states there are */
  guint64 n_pairs;     /* fault, state pairs looked at */
  guint64 n_solved;    /* of these factored anew; the others are answered by the healthy solution */
  guint64 n_after;     /* pairs solved again with what opens open */
  int n_not_solved;    /* faults on restraint pins: never solved */
  int n_tried, n_remedied; /* causes for which remedies were tried and found */
  GArray *doubles;         /* LgDouble, gravest first; NULL */
  int n_doubles;           /* looked at */
} LgCampaign;

/* Two faults at once that are graver than either. */
typedef struct {
  int first, second; /* effects */
  LgEffect effect;
} LgDouble;

/* `options` may be NULL. The sizing must outlive the result. NULL when `stop` said TRUE. */
LgCampaign *lg_campaign_new(const LgSizing *sizing, const LgCampaignOptions *options);
void lg_campaign_free(LgCampaign *faults);
const guint8 *lg_campaign_position(const LgCampaign *faults, int state);

/* One fault in one state, while a job is worked on. What is usual (greatest powers, what obeys
 * which switch) is learnt from the states that show extremes and a set that covers every pair of
 * input positions. */
typedef struct LgWhatIf LgWhatIf;
/* The sizing must outlive it. */
LgWhatIf *lg_what_if_new(const LgSizing *sizing);
void lg_what_if_free(LgWhatIf *what_if);
typedef struct {
  LgEffect effect;         /* of this state alone; its lists' states mean nothing */
  int opened[3], n_opened; /* fuses and breakers that open for sure, in their order */
} LgFaultView;
/* `point` (position set) becomes the state with the fault in and with what opens open. A fault on a
 * restraint circuit is never solved: the point is then the healthy state. */
void lg_what_if_look(LgWhatIf *what_if, const LgFailure *fault, LgPoint *point,
                     LgFaultView *outcome);
/* Frees what an effect holds. */
void lg_effect_clear(LgEffect *effect);

/* The list of faults of a job, LgFailure, in a fixed order. */
GArray *lg_failure_list(const LgSizing *sizing);
/* "W6 to the body at SEAT.1". Newly allocated. */
char *lg_failure_words(const LgJob *job, const LgFailure *fault);
/* What is at fault ("W6"), and what happens to it ("to the body"). Newly allocated. */
char *lg_failure_subject(const LgJob *job, const LgFailure *fault);
char *lg_failure_manner(const LgJob *job, const LgFailure *fault);
/* Whether a load does anything with `watts`: a heater from a tenth of its greatest healthy power
 * (of its rated power where it hardly gets any), what moves from a twentieth, electronics from a
 * quarter, a lamp from a fiftieth. */
gboolean lg_load_runs(const LgSizing *sizing, int element, double watts);
const char *lg_severity_word(LgSeverity severity); /* "danger" ... static */

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgCampaign, lg_campaign_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgWhatIf, lg_what_if_free)
G_END_DECLS
