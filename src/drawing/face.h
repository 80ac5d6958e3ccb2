/* Connector faces and the backs of relays, fuse boxes and switches: cavities where they lie in the
 * view that is named, each with its state by shape (fitted, empty, unproven, restraint), and a
 * table of the pins beside them. */
#pragma once
#include "drawing/ink.h"
#include "model/model.h"

G_BEGIN_DECLS

/* What is known of a cavity, told apart without hue. */
typedef enum {
  LG_CAVITY_FITTED,    /* a terminal: its blade is drawn */
  LG_CAVITY_EMPTY,     /* no terminal: crossed out */
  LG_CAVITY_UNPROVEN,  /* from hearsay or guess, or not known whether fitted: a question mark */
  LG_CAVITY_RESTRAINT, /* leave alone: a stop sign */
} LgCavityState;

LgCavityState lg_face_cavity(const LgJob *job, int pin);

/* Whether the part has a face worth a drawing: rows and columns said, or three pins and more. */
gboolean lg_face_is_worth(const LgJob *job, int part);

/* Both views of the part, the one that the sheet gives first, its mirror image second, and the
 * table of its pins; `width_mm` wide (at least 100), as high as needed. `conductors` [n_wires] for
 * auto wires, or NULL. */
LgDrawing *lg_face_new(const LgJob *job, int part, double width_mm,
                       const LgConductor *const conductors[]);
/* All parts worth a drawing, in the order of the sheet; LgDrawing*, owned. */
GPtrArray *lg_faces_new(const LgJob *job, double width_mm, const LgConductor *const conductors[]);

G_END_DECLS
