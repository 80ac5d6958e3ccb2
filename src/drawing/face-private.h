/* Inside the faces. */
#pragma once
#include "drawing/face.h"

G_BEGIN_DECLS

/* From where the places of the cavities are known. */
typedef enum {
  LG_PLACES_GIVEN,   /* rows and columns stand in the sheet or the type */
  LG_PLACES_HABIT,   /* plug-in relay: arrangement by habit (memory) */
  LG_PLACES_UNKNOWN, /* only the numbers count */
} LgPlaces;

typedef struct {
  int pin;    /* -1: a cavity of which the sheet says nothing */
  int number; /* of such a cavity */
  double row, column;
  gboolean upright; /* the blade stands upright */
} LgFaceCell;

typedef struct {
  LgPlaces places;
  GArray *cells; /* LgFaceCell, in the view that the sheet gives */
  double rows, columns;
} LgFacePlan;

LgFacePlan lg_face_plan(const LgJob *job, int part);
void lg_face_plan_clear(LgFacePlan *plan);

/* Height of the table of pins, and its ink. */
double lg_face_table(LgDrawing *drawing, const LgJob *job, int part,
                     const LgConductor *const conductors[], double x, double y, double width);
/* Colour at a pin: found there, else of its first wire; NULL. */
const char *lg_face_colour(const LgJob *job, int pin);

G_END_DECLS
