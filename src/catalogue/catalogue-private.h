/* Inside the catalogue room. */
#pragma once
#include "catalogue/catalogue.h"

/* One figure of a published current table. */
typedef struct {
  gboolean is_awg;
  double nominal, nominal_mm2;
  int column_C;
  double current_A, ambient_K;
  const char *source;
} LgFigure;

typedef struct {
  int from, to; /* wires */
  double value;
} LgFactor;

struct LgCatalogue {
  GPtrArray *sheets; /* LgSheet*, those of its own */
  GPtrArray *conductors, *insulations, *fuses, *openings, *terminals, *covers, *types;
  GHashTable *by_name[LG_N_KINDS]; /* what the kind's records became; NULL for kinds without name */
  GArray *figures[LG_N_TABLES];    /* LgFigure */
  GArray *factors[LG_N_TABLES];    /* LgFactor */
};

/* Adds what a record says; a problem when it fits nowhere. */
void lg_catalogue_take(LgCatalogue *catalogue, LgSheet *sheet, const LgRecord *record);
