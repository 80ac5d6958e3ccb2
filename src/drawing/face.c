/* Faces: both views, and the table beside or below them. */
#include "base/words.h"
#include "drawing/face-private.h"
#include "drawing/symbols.h"
#include <math.h>

#define CELL_WIDTH 12.6
#define CELL_HEIGHT 12.4
#define WALL 2.0 /* of the housing round the cavities */
#define LATCH_MM 3.0
#define CAPTION_MM 8.6 /* above a view */
#define BELOW_MM 5.5
#define LEAST_VIEW_MM 54.0 /* for the view's name */
#define LEAST_TABLE_MM 90.0
#define BETWEEN_MM 6.0

typedef struct {
  const LgJob *job;
  const LgPart *part;
  const LgFacePlan *plan;
  LgDrawing *drawing;
} Face;

/* Cavities. */

static void ink_blade(LgDrawing *drawing, double x, double y, gboolean upright)
{
  const double a = upright ? 0.55 : 2.0, b = upright ? 2.0 : 0.55;
  const LgBox blade = {x - a, y - b, x + a, y + b};
  lg_draw_box(drawing, lg_stroke_solid, blade);
}

static void ink_cross(LgDrawing *drawing, double x, double y)
{
  LgStroke stroke = lg_stroke_line;
  stroke.line = LG_INK_SOFT;
  lg_draw_segment(drawing, stroke, x - 2, y - 2, x + 2, y + 2);
  lg_draw_segment(drawing, stroke, x + 2, y - 2, x - 2, y + 2);
}

static void ink_question(LgDrawing *drawing, double x, double y)
{
  LgLetters letters = lg_letters_bold;
  letters.anchor = LG_ANCHOR_MIDDLE;
  letters.size = 4;
  lg_draw_text(drawing, letters, x, y + 1.3, "?");
}

static void ink_state(LgDrawing *drawing, LgCavityState state, double x, double y, gboolean upright)
{
  switch (state) {
  case LG_CAVITY_FITTED:
    ink_blade(drawing, x, y, upright);
    break;
  case LG_CAVITY_EMPTY:
    ink_cross(drawing, x, y);
    break;
  case LG_CAVITY_UNPROVEN:
    ink_question(drawing, x, y);
    break;
  case LG_CAVITY_RESTRAINT:
    lg_symbol_stop(drawing, x, y, 2.3);
    break;
  }
}

static LgStroke outline(LgCavityState state)
{
  LgStroke stroke = lg_stroke_line;
  stroke.fill = LG_INK_PAPER;
  if (state == LG_CAVITY_UNPROVEN) {
    stroke.dash = 1;
    stroke.gap = 0.7;
  }
  if (state == LG_CAVITY_RESTRAINT)
    stroke.weight = LG_THICK_MM;
  if (state == LG_CAVITY_EMPTY)
    stroke.line = LG_INK_SOFT;
  return stroke;
}

/* Number above, state in the middle, colour below. */
static void ink_cell(const Face *face, const LgFaceCell *cell, double x, double y)
{
  LgDrawing *const drawing = face->drawing;
  const LgCavityState state =
      cell->pin < 0 ? LG_CAVITY_EMPTY : lg_face_cavity(face->job, cell->pin);
  const LgBox box = {x + 0.5, y + 0.5, x + CELL_WIDTH - 0.5, y + CELL_HEIGHT - 0.5};
  const double middle = x + CELL_WIDTH / 2;
  LgLetters number = lg_letters_bold;
  LgLetters colour = lg_letters_small;
  g_autofree char *words = cell->pin < 0 ? g_strdup_printf("%d", cell->number)
                                         : g_strdup(face->job->pins[cell->pin].short_name);
  char **shown = lg_text_wrap(words, LG_TEXT_SMALL_MM, TRUE, CELL_WIDTH - 2, 1);
  number.size = LG_TEXT_SMALL_MM;
  number.anchor = colour.anchor = LG_ANCHOR_MIDDLE;
  colour.size = 2.3;
  colour.ink = LG_INK_DARK;
  if (cell->pin >= 0)
    lg_draw_open(drawing, "pin", face->job->pins[cell->pin].name);
  lg_draw_box(drawing, outline(state), box);
  lg_draw_text(drawing, number, middle, y + 3.3, shown[0]);
  ink_state(drawing, state, middle, y + 6.4, cell->upright);
  if (cell->pin >= 0)
    lg_draw_text(drawing, colour, middle, y + 10.9, lg_face_colour(face->job, cell->pin));
  if (cell->pin >= 0)
    lg_draw_close(drawing);
  g_strfreev(shown);
}

/* Views. */

static double view_width(const LgFacePlan *plan)
{
  return MAX(plan->columns * CELL_WIDTH + 2 * WALL + 2 * LATCH_MM, LEAST_VIEW_MM);
}

static double view_height(const LgFacePlan *plan)
{
  return plan->rows * CELL_HEIGHT + 2 * WALL + 2 * LATCH_MM + CAPTION_MM + BELOW_MM;
}

/* The latch's tab on its side of the housing; left and right change places in the mirror. */
static void ink_latch(const Face *face, LgBox housing, gboolean mirrored)
{
  const double x = (housing.left + housing.right) / 2, y = (housing.top + housing.bottom) / 2;
  const double half = 6;
  int side = face->part->latch;
  if (mirrored && side >= 2)
    side = side == 2 ? 3 : 2;
  const LgBox tabs[] = {{x - half, housing.top - LATCH_MM + 0.6, x + half, housing.top},
                        {x - half, housing.bottom, x + half, housing.bottom + LATCH_MM - 0.6},
                        {housing.left - LATCH_MM + 0.6, y - half, housing.left, y + half},
                        {housing.right, y - half, housing.right + LATCH_MM - 0.6, y + half}};
  LgStroke stroke = lg_stroke_line;
  stroke.fill = LG_INK_FAINT;
  if (side >= 0 && side < 4)
    lg_draw_box(face->drawing, stroke, tabs[side]);
}

static const char *latch_words(const Face *face, gboolean mirrored)
{
  static const char *const sides[] = {N_("latch at the top"), N_("latch at the bottom"),
                                      N_("latch at the left"), N_("latch at the right")};
  int side = face->part->latch;
  if (mirrored && side >= 2)
    side = side == 2 ? 3 : 2;
  return face->plan->places == LG_PLACES_GIVEN && side >= 0 && side < 4 ? T_(sides[side]) : NULL;
}

static const char *view_words(const Face *face, gboolean mirrored)
{
  if (face->plan->places == LG_PLACES_UNKNOWN)
    return T_("Terminals, places not known");
  return face->part->mating_view != mirrored ? T_("Mating side: into the contacts")
                                             : T_("Wire side: where the wires enter");
}

static void ink_view(const Face *face, double x, double y, gboolean mirrored)
{
  const LgFacePlan *const plan = face->plan;
  lg_draw_text(face->drawing, lg_letters_bold, x, y + 3.2, view_words(face, mirrored));
  const LgBox housing = {x + LATCH_MM, y + CAPTION_MM - 4 + LATCH_MM,
                         x + LATCH_MM + 2 * WALL + plan->columns * CELL_WIDTH,
                         y + CAPTION_MM - 4 + LATCH_MM + 2 * WALL + plan->rows * CELL_HEIGHT};
  LgStroke stroke = lg_stroke_thick;
  if (plan->places == LG_PLACES_UNKNOWN) {
    stroke = lg_stroke_thin;
    stroke.dash = 1.6;
    stroke.gap = 0.9;
  } else {
    stroke.fill = LG_INK_GROUND;
  }
  if (plan->places == LG_PLACES_GIVEN)
    ink_latch(face, housing, mirrored);
  lg_draw_box(face->drawing, stroke, housing);
  for (guint i = 0; i < plan->cells->len; i++) {
    const LgFaceCell *const cell = &g_array_index(plan->cells, LgFaceCell, i);
    const double column = mirrored ? plan->columns - 1 - cell->column : cell->column;
    ink_cell(face, cell, housing.left + WALL + column * CELL_WIDTH,
             housing.top + WALL + cell->row * CELL_HEIGHT);
  }
  lg_draw_text(face->drawing, lg_letters_small, x, housing.bottom + LATCH_MM + 1.4,
               latch_words(face, mirrored));
}

/* The whole drawing. */

static const char *places_words(const LgFacePlan *plan)
{
  switch (plan->places) {
  case LG_PLACES_GIVEN:
    return T_("Numbers run row by row from the upper left of the first view, as the sheet gives "
              "them: compare with those moulded into the housing.");
  case LG_PLACES_HABIT:
    return T_("Arrangement by habit, from memory: the numbers on the relay and its base rule.");
  case LG_PLACES_UNKNOWN:
    break;
  }
  return T_("The sheet does not say where the terminals lie: find their numbers on the part.");
}

static const char key_words[] = N_("Blade: fitted. Cross: empty. Question mark, broken outline: "
                                   "not proven. Stop sign: restraint circuit, leave alone.");

static double ink_notes(const Face *face, double x, double y, double width)
{
  const char *const notes[] = {places_words(face->plan), T_(key_words)};
  double at = y;
  for (gsize i = 0; i < G_N_ELEMENTS(notes); i++) {
    char **lines = lg_text_wrap(notes[i], LG_TEXT_SMALL_MM, FALSE, width, 8);
    for (int k = 0; lines[k] != NULL; k++, at += 3.2)
      if (face->drawing != NULL)
        lg_draw_text(face->drawing, lg_letters_small, x, at + 2.6, lines[k]);
    g_strfreev(lines);
    at += 0.8;
  }
  return at - y;
}

static double ink_title(const Face *face, double width)
{
  const LgPart *const part = face->part;
  LgLetters head = lg_letters_bold;
  head.size = LG_TEXT_HEAD_MM;
  g_autofree char *words = g_strdup_printf(
      "%s%s%s", part->text != NULL ? part->text : part->class_word,
      part->housing != NULL ? T_("; housing ") : "", part->housing != NULL ? part->housing : "");
  const double name = lg_text_width(part->name, LG_TEXT_HEAD_MM, TRUE);
  lg_draw_text(face->drawing, head, 0, 4, part->name);
  char **lines = lg_text_wrap(words, LG_TEXT_MM, FALSE, MAX(width - name - 3, 20), 1);
  lg_draw_text(face->drawing, lg_letters_plain, name + 3, 4, lines[0]);
  g_strfreev(lines);
  return 7;
}

/* How views and table share the width. */
typedef enum {
  VIEWS_ABREAST_TABLE_BESIDE,
  VIEWS_STACKED_TABLE_BESIDE,
  VIEWS_ABREAST_TABLE_BELOW,
  VIEWS_STACKED_TABLE_BELOW,
  N_WAYS
} Way;

/* Lays out one way with `drawing`, or measures it with NULL; the height, or infinity when it does
 * not fit into the width. */
static double lay_out(Face *face, const LgConductor *const conductors[], double width, Way way)
{
  const int part = (int)(face->part - face->job->parts);
  const double view = view_width(face->plan), high = view_height(face->plan), top = 7;
  const int n_views = face->plan->places == LG_PLACES_UNKNOWN ? 1 : 2;
  const gboolean abreast = way == VIEWS_ABREAST_TABLE_BESIDE || way == VIEWS_ABREAST_TABLE_BELOW;
  const gboolean beside = way == VIEWS_ABREAST_TABLE_BESIDE || way == VIEWS_STACKED_TABLE_BESIDE;
  const double views_width = abreast ? n_views * (view + BETWEEN_MM) - BETWEEN_MM : view;
  const double views_height = abreast ? high : n_views * high;
  const double x = beside ? views_width + BETWEEN_MM : 0;
  const double y = beside ? top : top + views_height;
  if (views_width > width || (beside && width - x < LEAST_TABLE_MM))
    return INFINITY;
  if (face->drawing != NULL) {
    ink_title(face, width);
    for (int v = 0; v < n_views; v++)
      ink_view(face, abreast ? v * (view + BETWEEN_MM) : 0, abreast ? top : top + v * high, v == 1);
  }
  const double table = lg_face_table(face->drawing, face->job, part, conductors, x, y, width - x);
  const double notes = ink_notes(face, x, y + table + 1, width - x);
  return MAX(top + views_height, y + table + 1 + notes) + 1;
}

static Way lowest(Face *face, const LgConductor *const conductors[], double width, double *height)
{
  Way best = VIEWS_STACKED_TABLE_BELOW;
  *height = lay_out(face, conductors, width, best);
  for (int way = N_WAYS - 1; way >= 0; way--) {
    const double h = lay_out(face, conductors, width, (Way)way);
    if (h < *height) {
      best = (Way)way;
      *height = h;
    }
  }
  return best;
}

LgDrawing *lg_face_new(const LgJob *job, int part, double width_mm,
                       const LgConductor *const conductors[])
{
  LgFacePlan plan = lg_face_plan(job, part);
  Face face = {.job = job, .part = &job->parts[part], .plan = &plan};
  const double width = MAX(MAX(width_mm, 100), view_width(&plan));
  double height;
  const Way way = lowest(&face, conductors, width, &height);
  face.drawing = lg_drawing_new(width, height, job->parts[part].name);
  lg_draw_open(face.drawing, "part", job->parts[part].name);
  lay_out(&face, conductors, width, way);
  lg_draw_close(face.drawing);
  lg_face_plan_clear(&plan);
  return face.drawing;
}

GPtrArray *lg_faces_new(const LgJob *job, double width_mm, const LgConductor *const conductors[])
{
  GPtrArray *const faces = g_ptr_array_new_with_free_func((GDestroyNotify)lg_drawing_free);
  for (int p = 0; p < job->n_parts; p++)
    if (lg_face_is_worth(job, p))
      g_ptr_array_add(faces, lg_face_new(job, p, width_mm, conductors));
  return faces;
}
