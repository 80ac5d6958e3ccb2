/* The catalogue: conductors, insulation, published current tables, fuses, terminals, coverings,
 * types of part. Read from the sheets in data/, which are packed into the program. Constant after
 * reading; may be shared. */
#pragma once
#include "base/quantity.h"
#include "catalogue/material.h"
#include "sheet/sheet.h"
#include <glib.h>

G_BEGIN_DECLS

typedef struct LgCatalogue LgCatalogue;

/* Everything is SI or carries its unit; NAN where the source gives nothing. Texts belong to the
 * sheets that were read. */
typedef struct {
  const char *name; /* "2.5mm2", "14AWG", "2/0AWG" */
  gboolean is_awg;
  double nominal;             /* mm2, or the AWG number (1/0 is 0, 2/0 is -1 ...) */
  double area_mm2;            /* metal */
  double resistance_ohm_m;    /* per metre at 20 C, greatest */
  double diameter_m, outer_m; /* over strands, over thin-wall insulation */
  const char *source;
} LgConductor;

typedef struct {
  const char *name;
  double temperature_K, short_K, overload_K, limit_K;
  int table_column_C; /* highest column of the ampacity tables that it may use */
  const char *material, *source;
} LgInsulation;

typedef enum { LG_TABLE_US, LG_TABLE_ISO, LG_N_TABLES } LgTableName;

typedef struct {
  const char *form;
  double rating_A;
  const char *colour; /* NULL when none */
  double cold_ohm, melting_A2s;
  const char *source;
} LgFuse;

/* One gate of opening times: at `load` times the rating it opens between least_s and most_s (NAN:
 * not given). */
typedef struct {
  const char *form;
  double load, least_s, most_s, rating_from_A, rating_to_A;
  const char *source;
} LgOpening;

typedef struct {
  const char *name;
  double wire_from_mm2, wire_to_mm2, rating_A, resistance_ohm;
  const char *use, *source;
} LgTerminal;

typedef struct {
  const char *name;
  int kind; /* index in the words of `kind` */
  double bore_m, temperature_K;
  const char *source;
} LgCover;

/* A type of part: its record and, in order, the pin and element records that follow it. */
typedef struct {
  const char *name;
  int class_word;     /* index in the words of `class` */
  const char *letter; /* IEC 81346 letter */
  const LgRecord *record;
  GPtrArray *pins;     /* const LgRecord*, borrowed */
  GPtrArray *elements; /* const LgRecord*, borrowed */
} LgType;

/* Reads the sheets packed into the program. They are right (a test proves it), so a problem in them
 * is an assertion. */
LgCatalogue *lg_catalogue_new(void);
/* Reads from given sheets instead, for tests and for a job's own types. The sheets are borrowed and
 * must outlive the catalogue. A pin or element that is in no type, and a second thing of one name
 * in two sheets, is added to the problems of its sheet and left out. */
LgCatalogue *lg_catalogue_new_from(LgSheet *const sheets[], gsize n);
void lg_catalogue_free(LgCatalogue *catalogue);

/* Lists in file order; conductors sorted by area within metric and within AWG (ascending). */
const GPtrArray *lg_catalogue_conductors(const LgCatalogue *catalogue); /* const LgConductor* */
const GPtrArray *lg_catalogue_insulations(const LgCatalogue *catalogue);
const GPtrArray *lg_catalogue_fuses(const LgCatalogue *catalogue);    /* by form, then rating */
const GPtrArray *lg_catalogue_openings(const LgCatalogue *catalogue); /* by form, then load */
const GPtrArray *lg_catalogue_terminals(const LgCatalogue *catalogue);
const GPtrArray *lg_catalogue_covers(const LgCatalogue *catalogue);
const GPtrArray *lg_catalogue_types(const LgCatalogue *catalogue);

/* NULL when there is none of that name. */
const LgConductor *lg_catalogue_conductor(const LgCatalogue *catalogue, gboolean is_awg,
                                          double nominal);
const LgInsulation *lg_catalogue_insulation(const LgCatalogue *catalogue, const char *name);
const LgFuse *lg_catalogue_fuse(const LgCatalogue *catalogue, const char *form, double rating_A);
const LgTerminal *lg_catalogue_terminal(const LgCatalogue *catalogue, const char *name);
const LgCover *lg_catalogue_cover(const LgCatalogue *catalogue, const char *name);
const LgType *lg_catalogue_type(const LgCatalogue *catalogue, const char *name);

/* The published current of a conductor in free air at the table's ambient, and the row's source.
 * Read in the table's highest column that is not above `column_C`. A size that the column lacks is
 * interpolated in log (current) over log (area) between its neighbours, never extrapolated; `exact`
 * tells which. A metric size is looked up in the AWG-based table by its metal, and the other way
 * round; the rows count with their nominal area then, which is the safe side. `current_A` is NAN
 * when the table does not reach. */
typedef struct {
  double current_A, table_ambient_K;
  int column_C; /* column that was read */
  gboolean exact;
  const char *source;
} LgAmpacity;
LgAmpacity lg_catalogue_ampacity(const LgCatalogue *catalogue, LgTableName table,
                                 const LgConductor *conductor, int column_C);

/* Published bundle factor for `n` current-carrying wires, 1 for fewer than the table's least. */
double lg_catalogue_bundle_factor(const LgCatalogue *catalogue, LgTableName table, int n);

/* Shortest and longest opening time of a fuse at `current_A`, seconds; each log-log between the
 * gates of its form that give it. Below the lowest of them the longest is INFINITY, the shortest
 * the gate's own (INFINITY below the rating). Above the highest both fall with the square of the
 * current, I2t constant. FALSE when the form has no gates for the rating. */
gboolean lg_catalogue_opening_time(const LgCatalogue *catalogue, const char *form, double rating_A,
                                   double current_A, double *least_s, double *most_s);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgCatalogue, lg_catalogue_free)
G_END_DECLS
