/* Text on a terminal: widths in its columns, lines, and a sheet of lines to which they are added.
 */
#pragma once
#include "base/table.h"

G_BEGIN_DECLS

/* A text that grows line by line. `width` 0: lines are as long as they like. */
typedef struct {
  GString *text;
  int width;
  gboolean colour;
} LgTerminal;

typedef enum { LG_INK_PLAIN, LG_INK_STRONG, LG_INK_QUIET, LG_INK_ALARM, LG_N_INKS } LgInk;

/* Columns that a text takes: two for wide letters of East Asia, none for combining marks. */
int lg_terminal_width(const char *text);
/* The longest word. */
int lg_terminal_word_width(const char *text);
/* `text` as lines at most `width` columns wide (0: as they are), broken at blanks and line ends, or
 * within a word that is too long. At least one line. char*, owned.
 */
GPtrArray *lg_terminal_wrap(const char *text, int width);

/* Adds a text in some ink; it must hold no line end. */
void lg_terminal_ink(LgTerminal *terminal, LgInk ink, const char *text);
void lg_terminal_spaces(LgTerminal *terminal, int n);
/* Adds wrapped lines behind `mark`, which stands `indent` columns in; the lines are below each
 * other. */
void lg_terminal_hang(LgTerminal *terminal, int indent, LgInk mark_ink, const char *mark, LgInk ink,
                      const char *text);
/* Adds wrapped lines. */
void lg_terminal_prose(LgTerminal *terminal, LgInk ink, const char *text);
void lg_terminal_table(LgTerminal *terminal, const LgTable *table, LgHabit habit);

G_END_DECLS
