/* A course of time: a heat network, a few slow quantities, switches that act on what they see, and
 * an electrical network that heats and is switched. Plain numbers; nothing here knows of sheets.
 * Section 10 of the design, "Time".
 *
 * Equations. Nodes i with capacity: C_i T_i' = sum_links G (T_k - T_i) - loss_i + P_i; massless
 * ones: the same with 0 on the left; held ones: T given. Slow quantities: x' = share u - x /
 * forget. P_i is a weighted sum of the outputs u of the electrical network, times 1 + own_per_K
 * (T_i - own_at_K) where a node says so. u is a function of the positions of all switches and of a
 * few sums of temperatures and slow quantities, the felts; only the caller knows it.
 *
 * Method. The linear part is split into its modes once (symmetric eigenvalues of C^-1/2 G C^-1/2,
 * each connected part for itself). A step takes u, and what a node's own law adds, as a polynomial
 * of degree 5 in time through Chebyshev-Lobatto points, with which every mode has a closed form;
 * the polynomial is iterated to the u of the temperatures that it causes, and the step is judged by
 * how far it misses u at two other moments. Crossings are found on the closed form by bounds of its
 * second derivative, so that none is passed over. u comes, for each set of positions, from a sparse
 * polynomial of the felts over a cell around where the course goes (Newton's form on a nested
 * sequence of Leja points, terms added until the next ones fall below the tolerance), so that
 * positions that recur cost no further solution. */
#pragma once
#include "heat/heat.h"

G_BEGIN_DECLS

typedef struct LgCourse LgCourse;

/* ---- What is described ---- */

/* A weighted sum. A sensor that feels two bodies; the resistance of wires in series. */
typedef enum { LG_OF_NODE, LG_OF_SLOW, LG_OF_OUTPUT } LgCourseOf;
typedef struct {
  LgCourseOf of;
  int index;
  double weight;
} LgCourseTerm;
typedef struct {
  const LgCourseTerm *terms;
  int n_terms;
  double plus;
} LgCourseSum;

typedef struct {
  double capacity_J_K; /* 0: massless. Not looked at when held */
  double start_K;      /* massless: not looked at */
  gboolean held;       /* stays at start_K until a turn says otherwise */
  /* Besides its links the node gives off (bend[0] |d| + bend[1] d^2) d to the held node
   * `bends_to`, d the difference of their temperatures. -1 without. Nodes with capacity only. */
  int bends_to;
  double bend[2];
  double works_at_K; /* a usual d, about which the bend is taken as straight: for speed alone */
  /* Its heat counts times 1 + own_per_K (T - own_at_K): a wire whose outputs are I^2. Nodes with
   * capacity only; 0 without. */
  double own_per_K, own_at_K;
  double tolerance_K; /* error of one step; 0: 1e-8 K */
} LgCourseNode;

typedef struct {
  int a, b;
  double W_K;
} LgCourseLink;

/* Node `node` takes up share x output. */
typedef struct {
  int output, node;
  double share;
} LgCourseHeat;

/* Charge of a battery, damage of a fuse, time that an electronic limit has been in use. */
typedef struct {
  double start;
  int output; /* its rate is share x this output */
  double share;
  double forget_s;  /* falls back to 0 with this time constant; 0 or INFINITY: never */
  double tolerance; /* error of one step; 0: 1e-9 */
} LgCourseSlow;

/* One result of the electrical network. */
typedef enum {
  LG_OUTPUT_PLAIN,
  LG_OUTPUT_SOURCE,    /* W that enters the whole */
  LG_OUTPUT_ELSEWHERE, /* W that leaves it outside the heat network: light, a fan's air */
} LgCourseRole;
typedef struct {
  double floor; /* magnitude below which its error is judged as if it were so large; > 0 */
  LgCourseRole role;
} LgCourseOutput;

/* What the electrical network feels of the rest; no outputs in it. */
typedef struct {
  LgCourseSum sum;
  double span; /* half-width of a first cell: the change over which u bends a little. > 0 */
} LgCourseFelt;

/* In position 0 or 1 (LG_SWITCH_HAND: any). */
typedef enum {
  LG_SWITCH_HAND,  /* moved by turns alone: keys, demands, levels, a stuck contact */
  LG_SWITCH_BAND,  /* sees `sum`: to 1 at on_at, to 0 at off_at. on_at < off_at warms by call; on_at
                      > off_at is a relay's coil or an under-voltage watch */
  LG_SWITCH_CLOCK, /* 1 during the first `share` of every period */
  LG_SWITCH_BREAKER, /* 1 until the slow quantity `spent` reaches 1: fuse, breaker, current limit */
} LgCourseSwitchKind;
typedef enum {
  LG_BACK_NEVER,
  LG_BACK_SELF,  /* after rest_s */
  LG_BACK_POWER, /* when `sum` falls to off_at: the volts before it are gone */
  LG_BACK_HAND,  /* by a turn */
} LgCourseBack;
typedef struct {
  LgCourseSwitchKind kind;
  int start; /* position at the start (not LG_SWITCH_CLOCK) */
  LgCourseSum sum;
  double on_at, off_at;
  double least_on_s, least_off_s;   /* band: moves back no sooner */
  double delay_on_s, delay_off_s;   /* band: from seeing to moving; once begun it is carried out */
  double period_s, share, offset_s; /* clock: periods begin at offset_s + k period_s */
  int spent;                        /* breaker; set to 0 when it closes again */
  LgCourseBack back;
  double rest_s;
} LgCourseSwitch;

/* A limit that is told of in both directions and moves nothing: a skin temperature, a flat
 * battery. */
typedef struct {
  LgCourseSum sum;
  double limit;
  double slack; /* the way down counts from limit - slack; 0: 1e-6 */
} LgCourseWatch;

/* What changes at a given moment. Turns at the same time are carried out in the order given. */
typedef enum {
  LG_TURN_SWITCH, /* switch `index` to position `value`; a hand, or a breaker by hand */
  LG_TURN_HELD,   /* held node `index` to `value` K */
  LG_TURN_BAND,   /* band `index` on_at `value`, off_at `other` */
  LG_TURN_SHARE,  /* clock `index` share `value` */
  LG_TURN_MARK,   /* nothing: a moment to stop at */
} LgCourseTurnWhat;
typedef struct {
  double at_s;
  LgCourseTurnWhat what;
  int index;
  double value, other;
} LgCourseTurn;

typedef struct {
  const LgCourseNode *nodes;
  const LgCourseLink *links;
  const LgCourseHeat *heats;
  const LgCourseSlow *slows;
  const LgCourseOutput *outputs;
  const LgCourseFelt *felts;
  const LgCourseSwitch *switches;
  const LgCourseWatch *watches;
  const LgCourseTurn *turns;
  int n_nodes, n_links, n_heats, n_slows, n_outputs, n_felts, n_switches, n_watches, n_turns;
  double response_tolerance; /* of u against a fresh solution, relative; 0: 1e-7 */
  double longest_s;          /* longest step; 0: no limit */
  int most_moves_per_s;      /* more moves of switches in one second are chatter; 0: 100 */
} LgCoursePlan;

/* ---- What the caller answers ---- */

/* Fills out[n_outputs] for these positions and felts; a smooth function of the felts that depends
 * on nothing else. FALSE: there is no answer. Felts may lie up to two spans beside where the
 * course has been. */
typedef gboolean (*LgCourseRespond)(const int position[], const double felt[], double out[],
                                    gpointer user);

typedef enum {
  LG_EVENT_TURN,   /* index: turn */
  LG_EVENT_SWITCH, /* index: switch; from, to: positions */
  LG_EVENT_WATCH,  /* index: watch; to: 1 rising, 0 falling */
} LgCourseEventKind;
typedef struct {
  double at_s;
  LgCourseEventKind kind;
  int index, from, to;
} LgCourseEvent;

typedef struct {
  LgCourseRespond respond;
  /* After each stretch between two moments without an event in between; within it lg_course_at and
   * lg_course_sum_at answer for any time. TRUE stops. May be NULL. */
  gboolean (*stretch)(LgCourse *course, double from_s, double to_s, gpointer user);
  gpointer user;
} LgCourseCalls;

/* ---- Running ---- */

/* Copies the plan. NULL and `error` (G_IO_ERROR, G_IO_ERROR_INVALID_ARGUMENT) naming the item when
 * numbers are impossible (a negative capacity, a massless node without links, turns out of order).
 * Indices are asserted. Time grows with the cube of the largest connected part. */
LgCourse *lg_course_new(const LgCoursePlan *plan, const LgCourseCalls *calls, GError **error);
void lg_course_free(LgCourse *course);

typedef enum {
  LG_COURSE_DONE,
  LG_COURSE_STOPPED,   /* the caller wished so */
  LG_COURSE_CHATTER,   /* too many moves; index: the switch that moved last */
  LG_COURSE_NO_ANSWER, /* respond gave none */
  LG_COURSE_STUCK,     /* no step was short enough: u jumps, or drives itself away */
} LgCourseEndKind;
typedef struct {
  LgCourseEndKind kind;
  double at_s;
  int index; /* -1 when it does not apply */
} LgCourseEnd;

/* Goes on to `until_s`. Whatever the end, everything below answers for the time reached. Allocates
 * only when a set of positions, a cell or a length of step is met for the first time, and as the
 * list of events grows. */
LgCourseEnd lg_course_run(LgCourse *course, double until_s);

/* Back to time 0 and to the start, or to other temperatures [n_nodes] and slow quantities
 * [n_slows]; NULL: those of the plan. Forgets events, counts and energies; keeps what is known of
 * u. */
void lg_course_restart(LgCourse *course, const double node_K[], const double slow[]);

/* ---- Results ---- */

double lg_course_now(const LgCourse *course);
int lg_course_position(const LgCourse *course, int index);

/* State at a time of the last stretch (of lg_course_now otherwise). Each may be NULL. Outputs: as
 * the step has them; right after a move, lg_course_run has not looked at them yet. */
void lg_course_at(LgCourse *course, double at_s, double node_K[], double slow[], double output[]);
double lg_course_sum_at(LgCourse *course, const LgCourseSum *sum, double at_s);

/* In order of time; at one time turns before switches before watches, each by index. Borrowed. */
const LgCourseEvent *lg_course_events(const LgCourse *course, int *n);

/* Times it went to a position other than 0, and seconds spent there. */
typedef struct {
  int times_on;
  double on_s;
} LgCourseCount;
LgCourseCount lg_course_count(const LgCourse *course, int index);

/* Least and greatest value that a watch has seen, from the closed form. */
typedef struct {
  double least, most, least_at_s, most_at_s;
} LgCourseRange;
LgCourseRange lg_course_range(const LgCourse *course, int watch);

/* Integral of an output over time since the start. */
double lg_course_integral(const LgCourse *course, int output);

/* Joules since the start. heated = stored + lost holds to rounding, given = heated + elsewhere as
 * well as the caller's outputs and the tolerance keep it. `lost` comes from the integrals of the
 * temperatures. */
typedef struct {
  double given, elsewhere; /* integrals of outputs by role */
  double heated;           /* taken up by nodes; what enters held ones counts in it and as lost */
  double stored;           /* in nodes with capacity */
  double lost;             /* to held nodes and by bends */
} LgCourseEnergy;
LgCourseEnergy lg_course_energy(const LgCourse *course);

typedef struct {
  int steps, rejected, sweeps; /* of the time integration */
  int solved;                  /* calls of respond */
  int cells, positions;        /* cells made; sets of positions met */
} LgCourseWork;
LgCourseWork lg_course_work(const LgCourse *course);

/* ---- Help for plans ---- */

/* A wire's loss as a link and a bend: fits W/m = g d + (b0 |d| + b1 d^2) d to the curve between
 * `ambient_K` and `hottest_K` by least squares of the relative error at 24 places; d is the
 * conductor's temperature over the ambient, so the insulation's wall is in it. Returns the greatest
 * relative error of the fit above 10 K. */
double lg_course_fit_loss(const LgHeatWire *wire, const LgHeatLoss *loss, double ambient_K,
                          double hottest_K, double *link_W_mK, double bend[2]);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgCourse, lg_course_free)

G_END_DECLS
