/* Symbols of devices after IEC 60617, drawn from memory of the trade (not compared with the
 * standard's database); the fuse, the resistor's box and the coil's plain box were seen in a symbol
 * digest. On an upright path, the path's line through the middle. */
#pragma once
#include "drawing/ink.h"
#include "model/model.h"

G_BEGIN_DECLS

/* What works a contact. */
typedef enum {
  LG_WORKED_BY_NOTHING,
  LG_WORKED_BY_HAND,
  LG_WORKED_BY_PUSH,
  LG_WORKED_BY_TURN,
  LG_WORKED_BY_HEAT,
  LG_WORKED_BY_COIL,
} LgWorkedBy;

typedef struct {
  LgElementKind kind;
  LgWorkedBy worked;
  gboolean closed;  /* contacts: as drawn */
  gboolean breaks;  /* contacts: closed at rest */
  gboolean flipped; /* second pin on top */
  gboolean live;    /* heavier */
  gboolean pulled;  /* coil: filled */
  LgSuppression suppression;
} LgSymbol;

typedef struct {
  double height, left, right; /* of all that it inks, left and right of the path's line, mm */
} LgSymbolSize;

LgSymbolSize lg_symbol_size(const LgSymbol *symbol);
/* Draws it with its upper connection at (x, y); the lower one is `height` below. */
void lg_symbol_draw(LgDrawing *drawing, const LgSymbol *symbol, double x, double y);

/* What works a contact: a dashed line from the blade's middle at (x, y) to the left. */
void lg_symbol_worked(LgDrawing *drawing, const LgSymbol *symbol, double x, double y);

/* Cavity of a plug on a path, centred on (x, y), 3 mm high: the filled blade in its socket. */
void lg_symbol_cavity(LgDrawing *drawing, double x, double y);
/* Octagon with a bar: leave alone. */
void lg_symbol_stop(LgDrawing *drawing, double x, double y, double radius);
/* Strokes of the vehicle's body below a point of its line. */
void lg_symbol_body(LgDrawing *drawing, double x, double y);

G_END_DECLS
