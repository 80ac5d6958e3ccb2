/* A table of results: plain data with enough about each column to print it as text, CSV, JSON or on
 * paper. */
#pragma once
#include "base/finding.h"
#include "base/quantity.h"

G_BEGIN_DECLS

typedef enum { LG_CELL_TEXT, LG_CELL_NUMBER, LG_CELL_FLAG } LgCellType;

typedef struct {
  const char
      *key; /* static; JSON member and CSV heading, with the unit when there is one: "current_A" */
  const char *title; /* static; heading for people: "Current" */
  LgCellType type;
  LgDim dim;  /* NUMBER: printed with a unit that reads well; LG_DIM_NONE: the plain number */
  int digits; /* NUMBER: significant digits for people; CSV and JSON carry 9 */
} LgColumn;

typedef struct {
  char *text;    /* TEXT */
  double number; /* NUMBER in the canonical unit (temperatures in K; CSV and JSON write degC); NAN:
                    not known */
  gboolean flag;
} LgCell;

typedef struct {
  const char *key; /* static; "wires": JSON member, CSV file name */
  char *title;
  char *note;              /* what the figures rest on; may be NULL */
  const LgColumn *columns; /* static; ends with key == NULL */
  int n_columns, n_rows;
  GArray *cells; /* LgCell, row by row */
} LgTable;

LgTable *lg_table_new(const char *key, const char *title, const LgColumn *columns);
void lg_table_free(LgTable *table);
/* Appends one row; arguments in column order: const char* for TEXT (copied, NULL is empty), double
 * for NUMBER, gboolean for FLAG. */
void lg_table_add(LgTable *table, ...);
const LgCell *lg_table_cell(const LgTable *table, int row, int column);
/* The cell as people read it, newly allocated: "12.4 A", "?" when not known, "yes" or "no", "". */
char *lg_table_print_cell(const LgTable *table, int row, int column, LgHabit habit);
/* A text as it may be shown: valid UTF-8, tabs and carriage returns as blanks, other control
 * characters but the line feed as the replacement character. Newly allocated. */
char *lg_shown_text(const char *text);
/* Whether the blank at `text[at]` stands between a number and its unit, where no line should break.
 */
gboolean lg_blank_is_fast(const char *text, gsize at);
/* How many bytes of a printed NUMBER are its figures ("12.4" of "12.4 A"); the unit follows a
 * blank. So that figures stand under figures and units under units. */
gsize lg_figures_span(const char *printed);

/* Shares `room` among `n` columns: natural widths when they fit; else between least and natural,
 * growing with the square root of the content, so that a long text gets more without starving the
 * short ones; when not even the least widths fit, the widest of them are cut to one width. Widths
 * in any unit. Returns whether the least widths fit. */
gboolean lg_share_width(const double natural[], const double least[], int n, double room,
                        double width[]);

/* A report: what a study has to say, in order. */
typedef struct LgReport {
  const char *verb;            /* static */
  const struct LgWords *words; /* in force when it was made: it is printed in them */
  LgHabit habit;               /* how people read its quantities */
  char *title;                 /* job title */
  char *verdict;               /* one or two sentences */
  GPtrArray *findings;         /* LgFinding*, owned, may be empty */
  GPtrArray *tables;           /* LgTable*, owned */
  GPtrArray *notes;            /* char*, owned: what was done, on what the limits rest */
} LgReport;

LgReport *lg_report_new(const char *verb, const char *title);
void lg_report_free(LgReport *report);

/* For people, on a terminal `width` columns wide (0: no wrapping); colour by SGR codes when asked.
 * A table too wide even when its texts are wrapped is printed one row a block. Control characters
 * in texts are shown as the replacement character. Newly allocated. */
char *lg_report_print(const LgReport *report, LgHabit habit, int width, gboolean colour);
/* {"loomgraft": 1, "verb": ..., "job": ..., "verdict": ..., "findings": [...], "tables": {key:
 * [{...}]}, "notes": [...]}, keys in a fixed order, ends with a newline. `loomgraft` is the version
 * of the shape. Numbers that are not finite are null. */
char *lg_report_json(const LgReport *report);
/* One table by RFC 4180: CRLF, heading row, fields quoted when needed; numbers that are not finite
 * are empty; a text that a spreadsheet would take for a formula is made harmless by a leading
 * apostrophe. */
char *lg_table_csv(const LgTable *table);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgTable, lg_table_free)
#ifndef LG_REPORT_AUTOPTR /* the public header declares it, too */
#define LG_REPORT_AUTOPTR
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgReport, lg_report_free)
#endif
G_END_DECLS
