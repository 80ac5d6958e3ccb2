/* The route plan: what lies in each run, how thick it is, what covers it, whether it passes its
 * holes, how it bends and hangs; and whether what goes into a panel fits the opening there. The
 * numbers first, the drawing of them last. */
#pragma once
#include "drawing/bundle.h"
#include "studies/sizing.h"

G_BEGIN_DECLS

/* By the share of a covering's bore that the bundle takes. Tubes: at most 0.81, a fill of about 70
 * % (conduit sizing sheet, seen). Braid and grommet at most 1, shrink at most 0.9 and at least 0.5
 * (2 : 1) of the expanded bore; below 0.45 of a tube or 0.5 of another the bundle rattles: common
 * practice, no source. Tape has no bore and always fits. */
typedef enum { LG_COVER_FITS, LG_COVER_TIGHT, LG_COVER_LOOSE } LgCoverFit;

typedef struct {
  int run;
  int *wires; /* of this job that lie in it: new and donor wires with a size; owned */
  int n_wires;
  int n_unsized;        /* further ones, without a size */
  LgPacking *packing;   /* of `wires`, in metres */
  double bundle_m;      /* 0: nothing in it */
  const LgCover *cover; /* the sheet's, else the one advised; NULL: none */
  gboolean advised;
  LgCoverFit fit;        /* of the sheet's covering */
  double fill;           /* bundle over bore; NAN without a bore */
  const LgCover *better; /* when it does not fit: the smallest of its kind that does, or NULL */
  double outer_m; /* over the covering: tube 1.12 bore + 2 mm, braid and tape 1 mm more than the
                     bundle, shrink 1.6 mm (common practice, no source) */
  double bend_m;  /* least radius: 10 bundles (aircraft practice, TM 1-1500-204, seen) */
  double clip_m;  /* greatest distance of clips: 450 mm, 300 mm with a wire of 16 mm2 or more (small
                     craft, ISO 10133, seen) */
  int n_clips;    /* 0: moves, and hangs free between its ends */
  gboolean hot;   /* 60 degC or more: beyond a cabin */
  gboolean cover_hot; /* hotter than its covering stands */
} LgRunPlan;

/* The bundle through the hole of a place: all wires of the runs that meet there. */
typedef struct {
  int place;
  LgPacking *packing;
  double passes_m;        /* with the thickest covering that goes through */
  double fill;            /* area of it over the hole's */
  const LgCover *grommet; /* smallest with that bore; NULL: none in the catalogue */
  double needed_m;        /* hole for the grommet: its bore and 4 mm (common practice, no source) */
  gboolean fits;
} LgHolePlan;

typedef enum {
  LG_OPENING_FITS,
  LG_OPENING_TRIM,  /* goes in with a gap that its rim does not hide */
  LG_OPENING_SMALL, /* does not go in */
} LgOpeningFit;

/* What goes into the opening of its place. It slides in with 0.5 mm; a rim hides a gap when it
 * reaches 1 mm over the edge: common practice, no source. */
typedef struct {
  int place, part;
  LgOpeningFit fit;
  double gap_m[2];  /* opening less body, across and up; below 0: too small */
  double trim_m[2]; /* TRIM: plate over the opening, 6 mm larger on each side */
  double cut_m[2];  /* TRIM: the opening in it; SMALL: what the opening must be; a height of NAN:
                       round */
} LgOpeningPlan;

typedef struct {
  const LgJob *job;
  const LgSizing *sizing;
  LgRunPlan *runs; /* [n_runs] of the job */
  LgHolePlan *holes;
  int n_holes;
  LgOpeningPlan *openings;
  int n_openings;
} LgRoute;

LgRoute *lg_route_new(const LgSizing *sizing);
void lg_route_free(LgRoute *route);

/* "tube-10, 34 % of its bore: loose; tube-6 is enough". Newly allocated. */
char *lg_route_cover_words(const LgRoute *route, int run);
/* "fits with grommet-12", "make the hole 16 mm". Newly allocated. */
char *lg_route_hole_words(const LgRoute *route, int hole);
/* "fits; 1 mm to spare across, 0.8 mm up". Newly allocated. */
char *lg_route_opening_words(const LgRoute *route, int opening);

/* Sheets (LgDrawing*, owned): places and runs as a tree, a run that closes a ring broken and said
 * to be; beside each run its figures and its section. At least one. */
GPtrArray *lg_route_draw(const LgRoute *route, double width_mm, double height_mm);
/* Openings, bodies and trim pieces at full scale, templates to cut by, with a bar to check the
 * printer. None without an opening. */
GPtrArray *lg_openings_draw(const LgRoute *route, double width_mm, double height_mm);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgRoute, lg_route_free)
G_END_DECLS
