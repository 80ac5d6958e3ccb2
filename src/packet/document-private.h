/* Inside the paper. A document is blocks; each section's blocks become slices, which are never
 * broken; slices flow over pages; a page is a list of marks, plain geometry that only the last step
 * turns into ink. All lengths are points (1/72 inch), x to the right, y down. */
#pragma once
#include "packet/document.h"

G_BEGIN_DECLS

#define LG_POINTS_PER_MM (72 / 25.4)

/* Faces of type; sizes in document-type.c. */
typedef enum {
  LG_FACE_BODY,
  LG_FACE_STRONG,
  LG_FACE_SMALL,
  LG_FACE_CELL,
  LG_FACE_CELL_STRONG,
  LG_FACE_HEADING,
  LG_FACE_SECTION,
  LG_FACE_TITLE,
  LG_N_FACES
} LgFace;

typedef enum { LG_TONE_INK, LG_TONE_GREY, LG_TONE_FAINT, LG_TONE_ACCENT, LG_N_TONES } LgTone;

typedef enum {
  LG_MARK_TEXT,  /* one line of text */
  LG_MARK_RULE,  /* a filled bar */
  LG_MARK_FRAME, /* the outline of a box; the line lies inside it */
  LG_MARK_GRADE, /* the shape of a grade, in a square */
  LG_MARK_PHOTO,
  LG_N_MARKS
} LgMarkKind;

/* One thing on a page. */
typedef struct {
  LgMarkKind kind;
  LgTone tone;
  double x, y, width, height;
  LgFace face;   /* TEXT */
  gboolean rtl;  /* TEXT: its paragraph runs from right to left */
  gboolean cut;  /* TEXT: too long, ends in an ellipsis at `width` */
  LgGrade grade; /* GRADE */
  double weight; /* FRAME: of its line */
  char *text;    /* TEXT */
  GBytes *jpeg;  /* PHOTO */
  int pixels[2]; /* PHOTO: width and height of the JPEG */
} LgMark;

GArray *lg_marks_new(void); /* LgMark, owned */
void lg_marks_rule(GArray *marks, LgTone tone, double x, double y, double width, double height);
void lg_marks_frame(GArray *marks, LgTone tone, double x, double y, double width, double height,
                    double weight);
void lg_marks_grade(GArray *marks, LgGrade grade, double x, double y, double size);
void lg_marks_photo(GArray *marks, GBytes *jpeg, const int pixels[2], double x, double y,
                    double width, double height);
/* Copies `from`, moved, behind the marks of `to`. */
void lg_marks_add(GArray *to, const GArray *from, double dx, double dy);

/* Type: measures and sets text. One a thread. */
typedef struct LgType LgType;
LgType *lg_type_new(void);
void lg_type_free(LgType *type);
double lg_type_natural(LgType *type, LgFace face, const char *text); /* width without breaking */
double lg_type_least(LgType *type, LgFace face, const char *text);   /* width of the longest word */
double lg_type_leading(LgFace face);                                 /* height of one line */
/* Sets `text` below `y` in lines at most `width` wide, as TEXT marks; returns the height used, at
 * least one line. Lines of a script that runs from right to left end at the right. */
double lg_type_set(LgType *type, GArray *marks, LgFace face, LgTone tone, double x, double y,
                   double width, const char *text);
/* Sets the first line alone, cut with an ellipsis when it is too long. */
void lg_type_set_line(LgType *type, GArray *marks, LgFace face, LgTone tone, double x, double y,
                      double width, const char *text);
/* Draws a TEXT mark; `cairo` is a cairo_t. */
void lg_type_ink(LgType *type, void *cairo, const LgMark *mark);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgType, lg_type_free)

/* A table with its cells printed. Blank columns come last and have no cells. */
typedef struct {
  int n_columns, n_blanks, n_rows;
  char **titles;                  /* [n_columns + n_blanks] */
  gboolean *is_number;            /* [n_columns] */
  char **cells;                   /* [n_rows * n_columns] */
  char *note;                     /* may be NULL */
  double *natural, *least, *unit; /* widths of each column, and of its units; NULL until measured */
} LgGrid;

LgGrid *lg_grid_new(const LgTable *table, LgHabit habit, const char *const blanks[]);
void lg_grid_free(LgGrid *grid);
/* Whether every word and number fits side by side into `width`. */
gboolean lg_grid_fits(LgGrid *grid, LgType *type, double width);

typedef enum {
  LG_BLOCK_COVER,
  LG_BLOCK_SECTION,
  LG_BLOCK_HEADING,
  LG_BLOCK_PARAGRAPH,
  LG_BLOCK_LIST,
  LG_BLOCK_BOX,
  LG_BLOCK_FINDING,
  LG_BLOCK_TABLE,
  LG_BLOCK_SPACE,
  LG_BLOCK_PHOTO,
  LG_N_BLOCKS
} LgBlockKind;

typedef struct {
  LgBlockKind kind;
  char *text;    /* COVER, SECTION, HEADING, PARAGRAPH, head of BOX */
  char **lines;  /* COVER, LIST, BOX; FINDING: subject and rule, what, basis, remedy */
  gboolean flag; /* SECTION: on a new page; LIST: tick boxes; BOX: grave */
  LgGrade grade; /* FINDING */
  LgGrid *grid;  /* TABLE */
  double space;  /* SPACE */
  GBytes *jpeg;  /* PHOTO; NULL: a gap, lines[0] says why */
  int pixels[2]; /* PHOTO */
} LgBlock;

/* A band over the whole width. */
typedef struct LgSlice {
  double before; /* space above, none at the top of a page */
  double height;
  gboolean keep;              /* stays with the slice that follows */
  gboolean quarter;           /* begins a page when less than a quarter is left */
  gboolean is_head;           /* a table's head, repeated by its rows on later pages */
  const struct LgSlice *head; /* of a table's row */
  GArray *marks;              /* x and y from the slice's upper left corner */
  char *outline;              /* entry of the outline, or NULL */
  int level;
} LgSlice;

GPtrArray *lg_slices_new(void); /* LgSlice*, owned */
/* Adds an empty slice with its space above. */
LgSlice *lg_slices_add(GPtrArray *slices, double before);
void lg_grid_slice(LgGrid *grid, LgType *type, double width, GPtrArray *slices);
void lg_block_slice(const LgBlock *block, LgType *type, double width, GPtrArray *slices);
/* Takes the part below `height` off a slice that is higher, between lines of text. NULL when
 * nothing of it would be left. The part is owned by the caller. */
LgSlice *lg_slice_split(LgSlice *slice, double height);
void lg_slice_free(LgSlice *slice);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgSlice, lg_slice_free)

typedef struct {
  double width, height;            /* of the paper */
  double left, top, right, bottom; /* margins of what flows; the foot stands in the lower one */
} LgFrame;

typedef struct {
  char *text;
  int level;
  double y;
} LgOutline;

typedef struct {
  LgFrame frame;
  GArray *marks;   /* from the page's upper left corner */
  GArray *outline; /* LgOutline, owned */
} LgPage;

/* Margins of a page of this paper, upright or turned. */
LgFrame lg_frame(LgPaper paper, gboolean turned);
/* Lays all pages out; LgPage*, owned. A section with a table too wide for upright pages is turned.
 */
GPtrArray *lg_document_lay_out(const LgDocument *document, LgType *type);
/* The pages in ink. */
GBytes *lg_pages_ink(const GPtrArray *pages, LgType *type, const char *title, GError **error);

struct LgDocument {
  LgPaper paper;
  char *title, *revision;
  GPtrArray *blocks; /* LgBlock*, owned */
};

G_END_DECLS
