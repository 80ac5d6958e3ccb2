/* Labels: one for each end of each new wire, one for each fuse and relay; as a list, and on common
 * label sheets. */
#include "base/words.h"
#include "drawing/paper.h"
#include "packet/tables-private.h"
#include <math.h>
#include <qrencode.h>
#include <string.h>

static const LgColumn label_columns[] = {
    LG_NUMBER_COLUMN("label", "Label", LG_DIM_NONE, 5),
    LG_TEXT_COLUMN("name", "Name"),
    LG_TEXT_COLUMN("here", "Goes on"),
    LG_TEXT_COLUMN("there", "Second line"),
    LG_TEXT_COLUMN("what", "Third line"),
    LG_TEXT_COLUMN("code", "In the square code"),
    LG_COLUMNS_END,
};

static void add_wire(LgTable *table, const LgSizing *sizing, int w, int end)
{
  const LgJob *const job = sizing->circuit->job;
  const LgWire *const wire = &job->wires[w];
  const char *const here = job->pins[wire->pin[end]].name, *const there =
                                                               job->pins[wire->pin[1 - end]].name;
  g_autofree char *size = lg_words_size(sizing->wires[w].conductor);
  g_autofree char *at = g_strdup_printf(T_("at %s"), here);
  g_autofree char *to = g_strdup_printf(T_("to %s"), there);
  g_autofree char *what = g_strdup_printf("%s %s", wire->colour, size);
  g_autofree char *code = g_strdup_printf("%s %s %s", wire->name, job->pins[wire->pin[0]].name,
                                          job->pins[wire->pin[1]].name);
  lg_table_add(table, (double)(table->n_rows + 1), wire->name, at, to, what, code);
}

/* The rating stands at each holder: inspectors ask for it. */
static void add_fuse(LgTable *table, const LgSizing *sizing, int e)
{
  const LgJob *const job = sizing->circuit->job;
  const LgPart *const part = &job->parts[job->elements[e].part];
  const double rating_A = sizing->fuses[e].rating_A;
  g_autofree char *rating = isnan(rating_A) ? g_strdup("? A") : lg_words_rating(rating_A);
  g_autofree char *code = g_strdup_printf("%s %s", lg_words_name(job, e), rating);
  lg_table_add(table, (double)(table->n_rows + 1), lg_words_name(job, e), rating,
               lg_words_part(part), part->place >= 0 ? job->places[part->place].name : NULL, code);
}

static void add_parts(LgTable *table, const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  for (int e = 0; e < job->n_elements; e++)
    if (lg_element_is_protection(job->elements[e].kind) &&
        job->parts[job->elements[e].part].is == LG_IS_NEW)
      add_fuse(table, sizing, e);
  for (int i = 0; i < job->n_parts; i++) {
    const LgPart *const part = &job->parts[i];
    if (strcmp(part->class_word, "relay") == 0 && part->is == LG_IS_NEW)
      lg_table_add(table, (double)(table->n_rows + 1), part->name, T_("relay"), lg_words_part(part),
                   part->place >= 0 ? job->places[part->place].name : NULL, part->name);
  }
}

LgTable *lg_table_labels(const LgSizing *sizing)
{
  LgTable *const table = lg_table_new("labels", T_("Labels"), label_columns);
  g_autoptr(GArray) pieces = lg_pieces(sizing);
  for (guint i = 0; i < pieces->len; i++)
    for (int end = 0; end < 2; end++)
      add_wire(table, sizing, g_array_index(pieces, int, i), end);
  add_parts(table, sizing);
  table->note = g_strdup(
      T_("In the order of the cut list, both ends of a wire one after the other: label them as "
         "they are cut. A label sits 30 mm from the end, readable when fitted, under clear tube."));
  return table;
}

/* Sizes that many makers print: common practice, memory. All in millimetres. */
const LgLabelSheet lg_label_sheets[] = {
    {"a4-65", LG_PAPER_A4, 5, 13, 38.1, 21.2, 4.75, 10.7, 40.6, 21.2},
    {"a4-44", LG_PAPER_A4, 4, 11, 48.5, 25.4, 8, 8.8, 48.5, 25.4},
    {"a4-24", LG_PAPER_A4, 3, 8, 70, 37, 0, 0.5, 70, 37},
    {"letter-80", LG_PAPER_LETTER, 4, 20, 44.45, 12.7, 7.62, 12.7, 52.07, 12.7},
    {"letter-30", LG_PAPER_LETTER, 3, 10, 66.68, 25.4, 4.76, 12.7, 69.85, 25.4},
    {NULL, LG_PAPER_A4, 0, 0, 0, 0, 0, 0, 0, 0}};

const LgLabelSheet *lg_label_sheet(const char *name)
{
  for (const LgLabelSheet *sheet = lg_label_sheets; sheet->name != NULL; sheet++)
    if (strcmp(sheet->name, name) == 0)
      return sheet;
  return NULL;
}

#define PAD_MM 1.6
#define LEADING_MM 3.15

/* Rows overlap by a hair so that no light line shows between them. */
#define SEAM_MM 0.02

/* A code of this side: modules as bars along their rows. Its free rim is part of the side. */
static void draw_code(LgDrawing *drawing, const char *text, double x, double y, double side)
{
  enum { RIM = 2 };
  QRcode *const code = QRcode_encodeString(text, 0, QR_ECLEVEL_L, QR_MODE_8, 1);
  if (code == NULL)
    return; /* longer than any code holds */
  const double unit = side / (code->width + 2 * RIM);
  lg_draw_open(drawing, "code", text);
  for (int row = 0; row < code->width; row++)
    for (int from = 0, to; from < code->width; from = to + 1) {
      for (to = from; to < code->width && (code->data[row * code->width + to] & 1) != 0; to++)
        ;
      if (to > from)
        lg_draw_box(drawing, lg_stroke_solid,
                    (LgBox){x + (RIM + from) * unit, y + (RIM + row) * unit, x + (RIM + to) * unit,
                            y + (RIM + row + 1) * unit});
    }
  lg_draw_close(drawing);
  QRcode_free(code);
}

static void draw_line(LgDrawing *drawing, gboolean bold, LgBox box, double *y, const char *text)
{
  g_auto(GStrv) line =
      lg_text_wrap(text, LG_TEXT_SMALL_MM, bold, box.right - box.left - 2 * PAD_MM, 1);
  LgLetters letters = lg_letters_small;
  letters.bold = bold;
  letters.ink = LG_INK_DARK;
  *y += LEADING_MM;
  if (line[0] != NULL)
    lg_draw_text(drawing, letters, box.left + PAD_MM, *y - 0.7, line[0]);
}

/* The words as often as they fit, so that they can be read from every side of the wire. */
static void draw_label(LgDrawing *drawing, const LgTable *labels, int row, LgBox box, gboolean code)
{
  const double side = fmin(box.bottom - box.top - 2, 20);
  if (code && side >= 14) {
    draw_code(drawing, lg_table_text(labels, row, "code"), box.right - side - 1, box.top + 1, side);
    box.right -= side;
  }
  g_autofree char *head = g_strdup_printf("%s  %s", lg_table_text(labels, row, "name"),
                                          lg_table_text(labels, row, "here"));
  const double block = 3 * LEADING_MM;
  const int n = MAX((int)((box.bottom - box.top - 1) / (block + 0.4)), 1);
  const double gap = (box.bottom - box.top - n * block) / (n + 1);
  for (int i = 0; i < n; i++) {
    double y = box.top + gap + i * (block + gap);
    draw_line(drawing, TRUE, box, &y, head);
    draw_line(drawing, FALSE, box, &y, lg_table_text(labels, row, "there"));
    draw_line(drawing, FALSE, box, &y, lg_table_text(labels, row, "what"));
  }
}

static LgBox label_box(const LgLabelSheet *sheet, int place)
{
  const double left = sheet->left_mm + place % sheet->columns * sheet->step_x_mm;
  const double top = sheet->top_mm + place / sheet->columns * sheet->step_y_mm;
  return (LgBox){left, top, left + sheet->width_mm, top + sheet->height_mm};
}

GPtrArray *lg_labels_draw(const LgTable *labels, const LgLabelSheet *sheet, int taken,
                          gboolean codes)
{
  GPtrArray *const pages = g_ptr_array_new_with_free_func((GDestroyNotify)lg_drawing_free);
  const gboolean letter = sheet->paper == LG_PAPER_LETTER;
  const int on_page = sheet->columns * sheet->rows;
  for (int row = 0; row < labels->n_rows; row++) {
    const int place = (taken + row) % on_page;
    if (row == 0 || place == 0)
      g_ptr_array_add(
          pages, lg_drawing_new(lg_paper_short_mm(letter), lg_paper_long_mm(letter), T_("Labels")));
    draw_label(pages->pdata[pages->len - 1], labels, row, label_box(sheet, place), codes);
  }
  return pages;
}
