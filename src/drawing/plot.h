/* A course of time on paper: strips of curves and of on-off bars above one another over one time
 * axis. Geometry only; ink.h prints it. */
#pragma once
#include "base/quantity.h"
#include "drawing/ink.h"

G_BEGIN_DECLS

/* One curve or bar. Curves of a strip are told apart by weight, dashes and a name at their end. */
typedef struct {
  const char *name;
  const double *value; /* [n_times], canonical unit; NAN: not known then. Bars: above 0.5 is on */
} LgTrace;

typedef enum { LG_STRIP_CURVES, LG_STRIP_BARS } LgStripKind;

typedef struct {
  LgStripKind kind;
  const char *title;
  LgDim dim; /* CURVES */
  const LgTrace *traces;
  int n_traces;
  double limit; /* CURVES: drawn as a line with its name; NAN: none */
  const char *limit_name;
} LgStrip;

typedef struct {
  const char *title, *subtitle;
  LgHabit habit;
  const double *time_s; /* [n_times], ascending */
  int n_times;
  const LgStrip *strips;
  int n_strips;
  const double *marks_s; /* moments drawn through all strips, numbered from 1 */
  int n_marks;
} LgPlot;

/* Most curves that one strip keeps apart; further ones go to a strip of the same title below. */
#define LG_PLOT_CURVES 5

/* Sheets of `width_mm` x `height_mm`, as many as the strips need: an array of LgDrawing*, owned by
 * the caller. A curve of many points is drawn by the least and greatest value in each fifth of a
 * millimetre. A plot of no time or no strips gives one sheet that says so. */
GPtrArray *lg_plot_new(const LgPlot *plot, double width_mm, double height_mm);

/* Steps of 1, 2 or 5 times a power of ten that give 3 to 6 marks between least and most; `*first`
 * is the first mark at or above least. For seconds the steps are those of a clock. */
double lg_plot_step(double least, double most, gboolean clock, double *first);

G_END_DECLS
