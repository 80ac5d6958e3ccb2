/* Inside of the heat network: its modes. */
#pragma once
#include "studies/bodies.h"
#include <math.h>
#include <string.h>

/* Free bodies f = 0 .. n_free - 1. T_f = sum over k of shape[f][k] y_k, y_k' = drive_k - rate_k
 * y_k. */
typedef struct LgModes {
  int n_free, *free; /* [n_free] body */
  double *rate;      /* [n_free] 1/s */
  double *shape;     /* [n_free][n_free], rows of bodies */
  double *to_mode;   /* [n_free][n_free], rows of modes: y = to_mode T */
} LgModes;

LgModes *lg_modes_new(const LgHeatBody bodies[], int n);
void lg_modes_free(LgModes *modes);
/* Where the modes end: [n_free]. */
void lg_modes_end(const LgBodies *bodies, const double watts[], double ambient_K, double end[]);
void lg_modes_of(const LgBodies *bodies, const double at_K[], double mode[]);
/* One body's temperature, `seconds` after the modes were `start`; seconds INFINITY: at the end. */
double lg_modes_body(const LgBodies *bodies, const double start[], const double end[],
                     double seconds, int body);
/* The same as its end and what each mode still adds: part[n_free]. Returns the end. */
double lg_modes_parts(const LgBodies *bodies, const double start[], const double end[],
                      double seconds, int body, double part[]);
/* A bound of the distance to the end after `seconds`, falling with time. */
double lg_modes_reach(const LgBodies *bodies, const double start[], const double end[],
                      double seconds, int body);
