/* Drawings: plain geometry first, ink last. A drawing is a list of shapes in millimetres, x to the
 * right, y down, from the upper left corner of its paper; a layout makes it, a test can measure
 * it, and only the last step turns it into SVG, PDF or PNG. */
#pragma once
#include <glib.h>

G_BEGIN_DECLS

/* Colours of lines and fills: 0xRRGGBB, or none. */
#define LG_INK_NONE G_MAXUINT32
#define LG_INK_DARK 0x1a1a1cu
#define LG_INK_SOFT 0x5c5956u
#define LG_INK_FAINT 0xbdb8b0u
#define LG_INK_WARM 0xb3400du   /* what needs attention; has a shape or a word of its own, too */
#define LG_INK_PAPER 0xffffffu  /* white on paper and inside symbols on it */
#define LG_INK_GROUND 0xfbf9f3u /* the off-white ground on a screen */

/* Sizes of letters and weights of lines, mm. */
#define LG_TEXT_MM 2.8       /* 8 points */
#define LG_TEXT_SMALL_MM 2.5 /* 7 points: terminal numbers, references */
#define LG_TEXT_HEAD_MM 4.2
#define LG_THIN_MM 0.18
#define LG_LINE_MM 0.25
#define LG_THICK_MM 0.5

/* Above and below the base line everything that a text of size 1 inks is within these. */
#define LG_TEXT_RISE 0.87
#define LG_TEXT_FALL 0.27

typedef enum {
  LG_SHAPE_PATH,  /* polyline or polygon */
  LG_SHAPE_ARC,   /* arc or circle */
  LG_SHAPE_TEXT,  /* one line of letters */
  LG_SHAPE_WIRE,  /* polyline: insulation in its colour, stripe on it, dark edges */
  LG_SHAPE_OPEN,  /* begins a group: what the shapes up to its close stand for */
  LG_SHAPE_CLOSE, /* ends the group opened last */
} LgShapeKind;

typedef enum { LG_ANCHOR_START, LG_ANCHOR_MIDDLE, LG_ANCHOR_END } LgAnchor;

typedef struct {
  LgShapeKind kind;
  guint32 line, fill; /* PATH, ARC, TEXT (fill alone) */
  double weight;      /* PATH, ARC: of the line; WIRE: whole width with its edges; mm */
  double dash, gap;   /* PATH, ARC: 0: a whole line */
  gboolean closed;    /* PATH */
  int first, n;       /* PATH, WIRE: points */
  double x, y;        /* ARC: centre; TEXT: anchor on the base line */
  double radius;      /* ARC */
  double from, to;    /* ARC: degrees from the x axis, growing towards y */
  double size, width; /* TEXT: mm; the width is measured */
  LgAnchor anchor;    /* TEXT */
  gboolean bold;      /* TEXT */
  gboolean upward;    /* TEXT: turned, reads from the right */
  int base, stripe;   /* WIRE: LgColour, -1: none (base: colour not known) */
  const char *text;   /* TEXT: the letters; OPEN: name of the thing, "W12" */
  const char *what;   /* OPEN: static word: "wire", "element", "pin", "part", "path" */
} LgShape;

typedef struct {
  double x, y;
} LgSpot;

typedef struct {
  double left, top, right, bottom;
} LgBox;

typedef struct LgDrawing {
  double width, height; /* of the paper, mm */
  char *title;          /* of the drawing, for metadata and outlines */
  GArray *shapes;       /* LgShape */
  GArray *spots;        /* LgSpot, of all paths and wires */
  GStringChunk *texts;
} LgDrawing;

LgDrawing *lg_drawing_new(double width_mm, double height_mm, const char *title);
void lg_drawing_free(LgDrawing *drawing);

/* How a line is drawn. */
typedef struct {
  guint32 line, fill;
  double weight, dash, gap;
} LgStroke;

extern const LgStroke lg_stroke_thin, lg_stroke_line, lg_stroke_thick, lg_stroke_solid;

void lg_draw_path(LgDrawing *drawing, LgStroke stroke, gboolean closed, const LgSpot *spots, int n);
void lg_draw_segment(LgDrawing *drawing, LgStroke stroke, double x1, double y1, double x2,
                     double y2);
void lg_draw_box(LgDrawing *drawing, LgStroke stroke, LgBox box);
/* Room that belongs to the open group without any ink: on a screen it answers to a touch. */
void lg_draw_reach(LgDrawing *drawing, LgBox box);
void lg_draw_arc(LgDrawing *drawing, LgStroke stroke, double x, double y, double radius,
                 double from, double to);
void lg_draw_dot(LgDrawing *drawing, double x, double y, double radius);
/* `colour` as the sheet has it ("GN/BU"), NULL or unreadable: not known. */
void lg_draw_wire(LgDrawing *drawing, const char *colour, double width, const LgSpot *spots, int n);

typedef struct {
  double size;
  gboolean bold;
  LgAnchor anchor;
  guint32 ink;
  gboolean upward;
} LgLetters;

extern const LgLetters lg_letters_plain, lg_letters_bold, lg_letters_small;

/* Copies the text, made fit to be shown. Empty and NULL texts draw nothing. */
void lg_draw_text(LgDrawing *drawing, LgLetters letters, double x, double y, const char *text);
/* Groups may nest. Names are copied. */
void lg_draw_open(LgDrawing *drawing, const char *what, const char *name);
void lg_draw_close(LgDrawing *drawing);

/* Width of a line of letters, mm, in B612 without kerning, so that it is the sum of its letters'
 * advances. Deterministic for a given set of fonts; may be called from any thread. */
double lg_text_width(const char *text, double size_mm, gboolean bold);
/* Breaks a text into lines at most `width_mm` wide, at blanks where it can; at most `most` lines,
 * what is left over is marked by an ellipsis. NULL-ended, owned by the caller. */
char **lg_text_wrap(const char *text, double size_mm, gboolean bold, double width_mm, int most);

/* The box of a text; whatever it inks lies within. */
LgBox lg_shape_text_box(const LgShape *shape);
/* What a path, arc or wire inks as segments: calls `each` with both ends and half the width.
 * Arcs are cut into chords. */
typedef void (*LgEachSegment)(LgSpot from, LgSpot to, double half_width, gpointer user);
void lg_shape_segments(const LgDrawing *drawing, const LgShape *shape, LgEachSegment each,
                       gpointer user);

/* A small SVG of one drawing, with letters as text; `on_screen` lays the off-white ground below.
 * Equal drawings give equal bytes. */
GBytes *lg_drawing_svg(const LgDrawing *drawing, gboolean on_screen);
/* All drawings, a page each. Fonts embedded, no dates. */
GBytes *lg_drawings_pdf(const GPtrArray *drawings, const char *title, GError **error);
/* Raster on the off-white ground; `grey` as a printer without colour. */
GBytes *lg_drawing_png(const LgDrawing *drawing, double dots_per_inch, gboolean grey,
                       GError **error);
/* Inks a drawing with its upper left corner at the origin, a unit being a millimetre; `cairo` is a
 * cairo_t. For pages of others. */
void lg_drawing_ink(const LgDrawing *drawing, void *cairo);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgDrawing, lg_drawing_free)
G_END_DECLS
