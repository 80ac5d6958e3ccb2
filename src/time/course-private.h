/* Shared by the files of this room. Inside, a slow quantity is a node of capacity 1 that is linked
 * to a node held at 0; so there are only nodes, modes and outputs.
 *
 * Lanes. Everything that a step iterates is kept at eight moments: 0 to 5 are the points that the
 * polynomial goes through, 6 and 7 those where it is judged. Within a step time is counted as
 * theta, 0 to 1. */
#pragma once
#include "time/course.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

enum {
  LG_COURSE_LANES = 8,
  LG_COURSE_POINTS = 6,
  LG_COURSE_DEGREE = 20, /* of the series of a slow mode; 1 / 21! = 2e-20 */
  LG_COURSE_RUNGS = 192,
  LG_COURSE_TERMS = 192, /* of a cell */
  LG_COURSE_ORDERS = 9,  /* of one felt in a cell, 0 to 8 */
  LG_COURSE_FACTORS = 4, /* felts in one term */
};
#define LG_COURSE_FAST 1.0 /* rate x step from which a mode is an exponential and a polynomial */

typedef double LgCourseVec __attribute__((vector_size(LG_COURSE_LANES * sizeof(double))));

/* The loader picks the version that the processor can run; elsewhere there is one version. */
#if defined(__x86_64__) && defined(__gnu_linux__)
#define LG_COURSE_CLONES __attribute__((target_clones("avx512f", "fma", "default")))
#else
#define LG_COURSE_CLONES
#endif

typedef struct {
  int n, *at;
  double *by;
} LgCourseRow;

/* A sum in terms of modes, outputs and held nodes. */
typedef struct {
  LgCourseRow mode, output, held;
  double plus, constant; /* constant: plus, and what the held nodes add */
} LgCourseLine;

/* A node with a law of its own. */
typedef struct {
  int node, held;         /* held: -1 without a bend */
  double bend[2], shift;  /* shift: part of the bend that stands in the linear network, W/K */
  double own_per_K, at_K; /* at_K: where the factor is 1 */
  LgCourseRow heat;       /* outputs that heat it, when own_per_K is not 0 */
} LgCourseOwn;

/* The heat network, once and for all. */
typedef struct {
  int n, n_nodes, n_own;   /* modes; nodes with the slow ones and the one held at 0 */
  double *rate;            /* [n] eigenvalues, 1/s */
  LgCourseLine *node;      /* [n_nodes] temperatures */
  LgCourseLine *push;      /* [n] outputs and held nodes that push a mode */
  LgCourseOwn *own;        /* [n_own] */
  LgCourseLine loss, heat; /* W to held nodes; W taken up, own laws apart */
  double *capacity_J_K;    /* [n_nodes]; 0: massless or held */
  double *tolerance;       /* [n_nodes] */
} LgCourseNet;

/* Propagation of all modes over a step of one length: at the end of lane l the mode is decay[l] z +
 * sum over the points weights[point][l] push. */
typedef struct {
  double h;
  int degree;           /* of the slow modes' series */
  LgCourseVec *decay;   /* [n] */
  LgCourseVec *weights; /* [n][LG_COURSE_POINTS] */
} LgCourseRung;

typedef struct {
  uint64_t key, felts; /* felts and orders, packed; bit felt % 64 */
  int prefix;          /* the term without the last factor */
  int n_factors;
  int felt[LG_COURSE_FACTORS], order[LG_COURSE_FACTORS]; /* felts rising */
  double size;                                           /* against the outputs' scale */
} LgCourseTermOf;

/* u over a box of the felts. */
typedef struct {
  gboolean direct;       /* too crooked for a polynomial: solved every time */
  double *centre, *half; /* [n_felts] */
  int n_terms, uses, next_check;
  int room;             /* terms that there is memory for */
  LgCourseTermOf *term; /* [n_terms] */
  double *coefficient;  /* [n_terms][n_outputs] */
  double *scale;        /* [n_outputs] */
  double *ratio;        /* [n_felts] from the size of one order to the next */
  int *most_order;      /* [n_felts] */
  int *n_used;          /* [n_outputs] terms that count for it, rounded up to fours */
  int *used;            /* [n_outputs][room] which */
  double *weight;       /* [n_outputs][room] their coefficients */
  double aim;           /* terms of a smaller expected size are left out */
} LgCourseCell;

/* One set of positions. */
typedef struct {
  int *position;
  double *half; /* [n_felts] of its next cell */
  GPtrArray *cells;
  int rung;      /* that served right after it was entered */
  double stay_s; /* the longest that the course stayed in it, fading; 0: not known */
  /* What the lanes came to in the first step after it was last entered: the next time begins with
   * it, as courses repeat themselves. */
  int guess_rung; /* -1: none */
  LgCourseVec *guess;
} LgCourseMode;

/* g(theta) = sum a exp(-x theta) + sum c theta^k. */
typedef struct {
  int n_fast, degree;
  double *x, *a;
  double c[LG_COURSE_DEGREE + 1];
} LgCourseCurve;

typedef struct {
  int position;
  double moved_s;   /* when it moved last; -INFINITY at the start */
  double counted_s; /* up to when `count` goes */
  double pending_s; /* when the move that is under way takes place; INFINITY: none */
  gboolean struck;  /* a crossing has been found here and now */
  double on_at, off_at, share;
  LgCourseLine line;
  LgCourseCount count;
} LgCourseSwitchNow;

typedef struct {
  gboolean above, struck;
  LgCourseLine line;
  LgCourseRange range;
} LgCourseWatchNow;

/* The present step. */
typedef struct {
  double from_s, h, now_theta; /* theta up to which it holds */
  const LgCourseRung *rung;
  int wish;                               /* rung to try next */
  gboolean first;                         /* none has been made since the mode was entered */
  double entered_s;                       /* when the mode was entered */
  double *z0;                             /* [n] at theta 0 */
  LgCourseVec *z;                         /* [n] */
  LgCourseVec *u;                         /* [n_outputs] */
  LgCourseVec *felt;                      /* [n_felts] */
  LgCourseVec *push;                      /* [n] */
  LgCourseVec *own_power, *own_bend;      /* [n_own] */
  double (*u_poly)[LG_COURSE_POINTS];     /* [n_outputs] */
  double (*power_poly)[LG_COURSE_POINTS]; /* [n_own] */
  double (*bend_poly)[LG_COURSE_POINTS];  /* [n_own] */
  gboolean *formed;                       /* [n] closed form made */
  double *fast;                           /* [n] factor of the exponential; 0 for slow modes */
  double (*series)[LG_COURSE_DEGREE + 1]; /* [n] */
  LgCourseCurve curve;
} LgCourseStepNow;

struct LgCourse {
  LgCoursePlan plan; /* arrays are copies */
  LgCourseCalls calls;
  GPtrArray *owned; /* what to free */
  LgCourseNet net;
  LgCourseLine *felt; /* [n_felts] */
  gboolean felts_see_outputs, sums_see_outputs;
  gboolean started; /* watches know on which side they are */
  double *held_K;   /* [net.n_nodes] */
  double leja[LG_COURSE_ORDERS], norm[LG_COURSE_ORDERS];
  double newton[LG_COURSE_ORDERS][LG_COURSE_ORDERS]; /* [m][k]: N_m at leja_k */
  GPtrArray *modes;
  LgCourseMode *mode;
  LgCourseRung *rungs[LG_COURSE_RUNGS];

  double now_s;
  double *z;          /* [n] now */
  double *u;          /* [n_outputs] as last known */
  gboolean u_fresh;   /* u is that of now and these positions */
  LgCourseCell *cell; /* in use; NULL after a move */
  double *felt_now;   /* [n_felts] */
  int *position;      /* [n_switches] */
  LgCourseSwitchNow *switches;
  LgCourseWatchNow *watches;
  int next_turn;
  LgCourseStepNow step;
  GArray *events;
  double *recent_s; /* [most_moves_per_s] ring of the times of moves */
  int n_recent;
  double *integral; /* [n_outputs] */
  double heated, lost, stored_start;
  LgCourseWork work;

  /* Scratch. */
  struct LgCourseWaiting *waiting;
  LgCourseVec *basis, *trial, *before;     /* [LG_COURSE_TERMS], [n_outputs], [n_outputs] */
  LgCourseVec (*powers)[LG_COURSE_ORDERS]; /* [n_felts] */
  LgCourseVec *trial_felt;                 /* [n_felts] */
  double *one, *two, *fresh, *point;       /* [n_outputs], same, same, [n_felts] */
  double *z_at, *u_at;                     /* [n], [n_outputs] */
  double (*missed_mode)[2];                /* [n] */
  int *moves_to;                           /* [n_switches] */
  double *theta_of;                        /* [n_switches + n_watches] */
};

/* Memory that lives as long as the course. */
gpointer lg_course_own(LgCourse *course, gsize n, gsize size);
#define lg_course_array(course, type, n) ((type *)lg_course_own(course, (gsize)(n), sizeof(type)))

/* course-net.c. Fills course->net and held_K from the plan. */
gboolean lg_course_net_build(LgCourse *course, GError **error);
LgCourseLine lg_course_line(LgCourse *course, const LgCourseSum *sum);
/* Constants of all lines from held_K. */
void lg_course_hold(LgCourse *course);
double lg_course_line_value(const LgCourseLine *line, const double z[], const double u[]);
static inline int lg_course_slow_node(const LgCourse *course, int slow)
{
  return course->plan.n_nodes + slow;
}

/* course-rung.c. Points, lanes and the lengths of steps, 2^(rung / 2) times 1e-9 s. */
double lg_course_theta(int lane);
/* Coefficients of the polynomial through values at the points. */
void lg_course_poly(const LgCourseVec *values, double poly[LG_COURSE_POINTS]);
/* What the polynomial misses at the lanes 6 and 7. */
void lg_course_missed(const LgCourseVec *values, double missed[2]);
const LgCourseRung *lg_course_rung(LgCourse *course, int rung);
int lg_course_rung_of(double h); /* the shortest that is not below h */
/* Closed form of a mode from z at 0 under the polynomial h push: factor of the exponential, series.
 */
double lg_course_mode_form(double x, double z0, const double poly[LG_COURSE_POINTS], int degree,
                           double series[]);

/* course-cell.c */
void lg_course_cell_setup(LgCourse *course);
gboolean lg_course_solve(LgCourse *course, const double felt[], double out[]);
/* A cell of the present mode that holds `felt` with room; NULL: none. */
LgCourseCell *lg_course_cell_known(const LgCourse *course, const double felt[]);
/* A new one around `felt`, on the far side of one that has been `left`, if any; NULL: no answer. */
LgCourseCell *lg_course_cell_add(LgCourse *course, const double felt[], const LgCourseCell *left);
gboolean lg_course_cell_eval(LgCourse *course, LgCourseCell *cell, const LgCourseVec felt[],
                             LgCourseVec out[]);
/* Compares with a fresh solution when the cell is due. Mended or gone: make the step again. */
typedef enum { LG_CELL_GOOD, LG_CELL_MENDED, LG_CELL_GONE, LG_CELL_NO_ANSWER } LgCourseCellCheck;
LgCourseCellCheck lg_course_cell_check(LgCourse *course, LgCourseCell *cell, const double felt[]);
void lg_course_cell_free(gpointer cell);
/* Greatest distance from the centre over the half-width. */
double lg_course_cell_reach(const LgCourse *course, const LgCourseCell *cell, const double felt[]);

/* course-curve.c */
double lg_curve_value(const LgCourseCurve *curve, double theta, double *slope);
double lg_curve_integral(const LgCourseCurve *curve, double theta);
/* First theta in [from, to] at which direction x (g - limit) >= 0; INFINITY: none. Two crossings
 * closer than `least` may be passed over. */
double lg_curve_first(const LgCourseCurve *curve, double limit, int direction, double from,
                      double to, double least);
/* Widens the range by the values in [0, to]. */
void lg_curve_range(const LgCourseCurve *curve, double from_s, double h, double to,
                    LgCourseRange *range);

/* course-step.c */
typedef enum { LG_STEP_MADE, LG_STEP_NO_ANSWER, LG_STEP_STUCK } LgCourseStepEnd;
/* Makes the next step, no longer than needed for `wanted_s`; the state stays where it is. */
LgCourseStepEnd lg_course_step(LgCourse *course, double wanted_s);
/* The curve of a line over the present step; valid until the next call. */
const LgCourseCurve *lg_course_curve(LgCourse *course, const LgCourseLine *line);
/* Modes and outputs at theta. */
void lg_course_modes_at(LgCourse *course, double theta, double z[]);
void lg_course_outputs_at(const LgCourse *course, double theta, double u[]);
/* Moves the state to theta and adds up the integrals. */
void lg_course_advance(LgCourse *course, double theta);
/* Outputs of now and of these positions, in course->u. FALSE: no answer. */
gboolean lg_course_refresh(LgCourse *course);

/* course-switch.c */
/* The next moment at which time itself moves something. */
double lg_course_next_moment(const LgCourse *course);
/* First crossing in the present step up to theta `to`; marks what crosses there as struck and
 * returns the theta, or `to`. */
double lg_course_first_crossing(LgCourse *course, double to);
/* Carries out all that is due now, until nothing moves. */
typedef enum { LG_FIRE_QUIET, LG_FIRE_CHATTER, LG_FIRE_NO_ANSWER } LgCourseFire;
LgCourseFire lg_course_fire(LgCourse *course, int *index);
void lg_course_enter_mode(LgCourse *course);
int lg_course_clock_start(const LgCourseSwitch *as);
void lg_course_mode_free(gpointer mode);
