/* Inside of sizing. */
#pragma once
#include "studies/sizing.h"
#include "studies/states-private.h"

/* The work on one job. */
typedef struct {
  const LgJob *job;
  LgSizing *out;
  GPtrArray *series; /* const LgConductor*, thin to thick: metric or AWG, as the job asks */
  int *least;        /* [n_wires] auto: thinnest of the series that all but the drop allow */
  int *most;         /* [n_wires] auto: thickest that its terminals take */
  int *size;         /* [n_wires] auto: chosen */
  int *studied;      /* [n_wires] sizes that the states at hand are of; NULL: of a first look */
  double *rating_A;  /* [n_elements] fuses and breakers: chosen or given; where none serves, the
                        largest of the form */
  GArray *limits;    /* DropLimit */
  guint64 n_tried;
  double least_kg;    /* lower bound of the last search */
  gboolean exhausted; /* the search was, and every limit can be kept */
} LgSizer;

/* A load whose loss is limited, in one state that matters. */
typedef struct {
  int load;
  double limit_V;
  int *position; /* [n_inputs] */
} LgDropLimit;

const LgConductor *lg_sizer_conductor(const LgSizer *sizer, int index);
/* Copper of a wire in kg: metal by the length to cut. */
double lg_sizer_kg(const LgSizer *sizer, int wire, int index);

/* --- sizing-limits.c: what a single size must satisfy --- */
/* The constraint that a size breaks worst, or FALSE. `most_A`: lasting current with that size. */
typedef struct {
  LgBind bind;
  double limit, reached;
  int element;
} LgBreach;
gboolean lg_sizer_breach(const LgSizer *sizer, int wire, const LgConductor *conductor,
                         double most_A, LgBreach *breach);
/* Figures of the constraint `bind` for a size, whether or not it is broken. */
void lg_sizer_figures(const LgSizer *sizer, int wire, const LgConductor *conductor, double most_A,
                      LgBind bind, double *limit, double *reached);
void lg_sizer_set_bounds(LgSizer *sizer, gboolean keep);

/* --- sizing-fuse.c --- */
void lg_sizer_choose_fuses(LgSizer *sizer, gboolean keep);
void lg_sizer_report_fuses(LgSizer *sizer);

/* --- sizing-drop.c: volts lost, re-solved --- */
typedef struct LgDropMeter LgDropMeter;
LgDropMeter *lg_drop_meter_new(const LgCircuit *circuit);
void lg_drop_meter_free(LgDropMeter *meter);
/* Solves the state and gives the volts lost to the load and back; `wires` (may be NULL) gets the
 * wires on the way. */
double lg_drop_meter_read(LgDropMeter *meter, int load, const int position[], GArray *wires);
/* Currents in the state read last, whose position must still be there; from their first pin. */
double lg_drop_meter_wire_A(const LgDropMeter *meter, int wire);
double lg_drop_meter_element_A(const LgDropMeter *meter, int element);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgDropMeter, lg_drop_meter_free)

/* --- sizing-search.c --- */
/* Chooses sizer->size, least copper, for the bounds and limits as they stand. */
void lg_sizer_search(LgSizer *sizer);

/* --- sizing-proof.c --- */
void lg_sizer_certify(LgSizer *sizer);
