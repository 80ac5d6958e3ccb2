/* The table of pins beside a face. */
#include "base/words.h"
#include "drawing/face-private.h"
#include <math.h>
#include <string.h>

#define LEADING 3.4
#define PAD 1.0
#define SWATCH_MM 6.0

typedef enum {
  COLUMN_NUMBER,
  COLUMN_COLOUR,
  COLUMN_SIZE,
  COLUMN_WHAT,
  COLUMN_WIRE,
  COLUMN_STATE,
  N_COLUMNS
} Column;

static const char *const titles[N_COLUMNS] = {N_("no."),        N_("colour"),  N_("size"),
                                              N_("what it is"), N_("goes to"), N_("proof")};
/* Shares of the width; the number's and the colour's columns are fixed. */
#define NUMBER_MM 9.5
#define COLOUR_MM 20.0
#define SIZE_MM 15.5
static const double shares[N_COLUMNS] = {0, 0, 0, 0.36, 0.34, 0.30};

typedef struct {
  const LgJob *job;
  const LgConductor *const *conductors;
  double left[N_COLUMNS + 1];
} Table;

static char *size_words(const Table *table, int pin)
{
  for (int w = 0; w < table->job->n_wires; w++) {
    const LgWire *const wire = &table->job->wires[w];
    if (wire->pin[0] != pin && wire->pin[1] != pin)
      continue;
    const LgConductor *const conductor = wire->conductor != NULL     ? wire->conductor
                                         : table->conductors != NULL ? table->conductors[w]
                                                                     : NULL;
    if (conductor == NULL)
      continue;
    const char *const unit = strstr(conductor->name, conductor->is_awg ? "AWG" : "mm2");
    return unit == NULL
               ? g_strdup(conductor->name)
               : g_strdup_printf("%.*s %s", (int)(unit - conductor->name), conductor->name, unit);
  }
  return NULL;
}

static char *wire_words(const Table *table, int pin)
{
  g_autoptr(GString) words = g_string_new(NULL);
  for (int w = 0; w < table->job->n_wires; w++)
    for (int k = 0; k < 2; k++)
      if (table->job->wires[w].pin[k] == pin)
        g_string_append_printf(words, T_("%s%s to %s"), words->len > 0 ? "; " : "",
                               table->job->wires[w].name,
                               table->job->pins[table->job->wires[w].pin[1 - k]].name);
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static char *state_words(const LgJob *job, int pin)
{
  static const char *const grades[] = {N_("measured"), N_("document"), N_("told"), N_("guess")};
  const LgPin *const p = &job->pins[pin];
  switch (lg_face_cavity(job, pin)) {
  case LG_CAVITY_RESTRAINT:
    return g_strdup(p->restraint == LG_RESTRAINT_YES ? T_("LEAVE ALONE: restraint")
                                                     : T_("LEAVE ALONE: may be restraint"));
  case LG_CAVITY_EMPTY:
    return g_strdup(p->from_type ? T_("not used") : T_("empty"));
  case LG_CAVITY_UNPROVEN:
    return p->said_by != NULL
               ? g_strdup_printf(T_("not proven: %s, %s"), T_(grades[p->evidence]), p->said_by)
               : g_strdup_printf(T_("not proven: %s"), T_(grades[p->evidence]));
  case LG_CAVITY_FITTED:
    break;
  }
  return g_strdup(p->from_type ? T_("its type") : T_(grades[p->evidence]));
}

/* Sets or only measures one cell; its height. */
static double cell(LgDrawing *drawing, const Table *table, Column column, double y,
                   LgLetters letters, const char *text, double indent)
{
  const double width = table->left[column + 1] - table->left[column] - 2 * PAD - indent;
  char **lines = lg_text_wrap(text, letters.size, letters.bold, width, 6);
  int n = 0;
  for (; lines[n] != NULL; n++)
    if (drawing != NULL)
      lg_draw_text(drawing, letters, table->left[column] + PAD + indent, y + 2.7 + n * LEADING,
                   lines[n]);
  g_strfreev(lines);
  return n * LEADING;
}

static double row(LgDrawing *drawing, const Table *table, int pin, double y)
{
  const LgPin *const p = &table->job->pins[pin];
  LgLetters small = lg_letters_small;
  LgLetters bold = lg_letters_bold;
  small.ink = LG_INK_DARK;
  bold.size = LG_TEXT_SMALL_MM;
  const char *const colour = lg_face_colour(table->job, pin);
  g_autofree char *size = size_words(table, pin);
  g_autofree char *wire = wire_words(table, pin);
  g_autofree char *state = state_words(table->job, pin);
  g_autofree char *number = p->cavity > 0 ? g_strdup_printf("%s (%d)", p->short_name, p->cavity)
                                          : g_strdup(p->short_name);
  const gboolean alone = p->restraint != LG_RESTRAINT_NO;
  double height = cell(drawing, table, COLUMN_NUMBER, y, bold, number, 0);
  height = fmax(height, cell(drawing, table, COLUMN_COLOUR, y, small, colour, SWATCH_MM + 0.8));
  height = fmax(height, cell(drawing, table, COLUMN_SIZE, y, small, size, 0));
  height = fmax(height, cell(drawing, table, COLUMN_WHAT, y, small, p->label, 0));
  height = fmax(height, cell(drawing, table, COLUMN_WIRE, y, small, alone ? "" : wire, 0));
  height = fmax(height, cell(drawing, table, COLUMN_STATE, y, alone ? bold : small, state, 0));
  if (drawing != NULL && colour != NULL) {
    const LgSpot swatch[] = {{table->left[COLUMN_COLOUR] + PAD, y + 1.8},
                             {table->left[COLUMN_COLOUR] + PAD + SWATCH_MM, y + 1.8}};
    lg_draw_wire(drawing, colour, 1.15, swatch, 2);
  }
  return height + 1;
}

double lg_face_table(LgDrawing *drawing, const LgJob *job, int part,
                     const LgConductor *const conductors[], double x, double y, double width)
{
  Table table = {.job = job, .conductors = conductors};
  const double rest = width - NUMBER_MM - COLOUR_MM - SIZE_MM;
  const double widths[N_COLUMNS] = {NUMBER_MM,        COLOUR_MM,        SIZE_MM,
                                    rest * shares[3], rest * shares[4], rest * shares[5]};
  table.left[0] = x;
  for (int i = 0; i < N_COLUMNS; i++)
    table.left[i + 1] = table.left[i] + widths[i];
  double at = y;
  for (int i = 0; i < N_COLUMNS && drawing != NULL; i++)
    cell(drawing, &table, (Column)i, at, lg_letters_small, T_(titles[i]), 0);
  at += LEADING + 0.6;
  const LgPart *const p = &job->parts[part];
  for (int pin = p->first_pin; pin < p->first_pin + p->n_pins; pin++) {
    if (drawing != NULL)
      lg_draw_segment(drawing, pin == p->first_pin ? lg_stroke_line : lg_stroke_thin, x, at - 0.1,
                      x + width, at - 0.1);
    if (drawing != NULL)
      lg_draw_open(drawing, "pin", job->pins[pin].name);
    at += row(drawing, &table, pin, at + 0.5);
    if (drawing != NULL)
      lg_draw_close(drawing);
  }
  if (drawing != NULL)
    lg_draw_segment(drawing, lg_stroke_line, x, at - 0.1, x + width, at - 0.1);
  return at - y;
}
