/* Openings in panels at full scale, to lay on the panel and cut by. */
#include "base/words.h"
#include "drawing/route.h"
#include "drawing/scale-bar.h"
#include <math.h>

#define MARGIN 12.0
#define GAP_MM 8.0

/* A rectangle, or a circle when its height is NAN, around (x, y). Sizes in metres. */
static void draw_form(LgDrawing *drawing, LgStroke stroke, double x, double y,
                      const double size_m[2], double more_m)
{
  const double across = 1e3 * (size_m[0] + more_m), up = 1e3 * (size_m[1] + more_m);
  if (isnan(up))
    lg_draw_arc(drawing, stroke, x, y, across / 2, 0, 360);
  else
    lg_draw_box(drawing, stroke, (LgBox){x - across / 2, y - up / 2, x + across / 2, y + up / 2});
}

static void extent(const double size_m[2], double more_m, double most[2])
{
  most[0] = fmax(most[0], 1e3 * (size_m[0] + more_m));
  most[1] = fmax(most[1], 1e3 * ((isnan(size_m[1]) ? size_m[0] : size_m[1]) + more_m));
}

typedef struct {
  const LgRoute *route;
  GPtrArray *sheets;
  LgDrawing *sheet;
  double width, height, y;
} Paper;

static void new_sheet(Paper *paper)
{
  paper->sheet = lg_drawing_new(paper->width, paper->height, T_("Openings at full scale"));
  g_ptr_array_add(paper->sheets, paper->sheet);
  LgLetters head = lg_letters_bold;
  head.size = LG_TEXT_HEAD_MM;
  lg_draw_text(paper->sheet, head, MARGIN, MARGIN + 4, T_("Openings at full scale"));
  lg_scale_bar_draw(paper->sheet, MARGIN, MARGIN + 8, paper->route->job->habit == LG_HABIT_US);
  paper->y = MARGIN + 20;
}

static void write_lines(Paper *paper, LgLetters letters, const char *text)
{
  g_auto(GStrv) lines =
      lg_text_wrap(text, letters.size, letters.bold, paper->width - 2 * MARGIN, 6);
  for (int i = 0; lines[i] != NULL; i++) {
    paper->y += letters.size * 1.4;
    lg_draw_text(paper->sheet, letters, MARGIN, paper->y, lines[i]);
  }
}

static void draw_forms(Paper *paper, const LgOpeningPlan *plan, double x, double y)
{
  const LgJob *const job = paper->route->job;
  const LgPart *const part = &job->parts[plan->part];
  LgStroke body = lg_stroke_line, rim = lg_stroke_thin, cut = lg_stroke_line;
  body.dash = 3;
  body.gap = 1.2;
  rim.dash = 0.6;
  rim.gap = 0.9;
  cut.line = LG_INK_WARM;
  lg_draw_open(paper->sheet, "opening", part->name);
  if (plan->fit == LG_OPENING_TRIM) {
    LgStroke plate = lg_stroke_line;
    plate.fill = LG_INK_FAINT;
    draw_form(paper->sheet, plate, x, y, plan->trim_m, 0);
    plate.fill = LG_INK_PAPER;
    draw_form(paper->sheet, plate, x, y, plan->cut_m, 0);
  }
  draw_form(paper->sheet, lg_stroke_thick, x, y, job->places[plan->place].opening_m, 0);
  draw_form(paper->sheet, body, x, y, part->body_m, 0);
  if (part->rim_m > 0)
    draw_form(paper->sheet, rim, x, y, part->body_m, 2 * part->rim_m);
  if (plan->fit == LG_OPENING_SMALL)
    draw_form(paper->sheet, cut, x, y, plan->cut_m, 0);
  lg_draw_close(paper->sheet);
}

static const char *const keys[] = {
    [LG_OPENING_FITS] = N_("Thick: the opening. Dashed: the body. Dotted: its rim."),
    [LG_OPENING_TRIM] =
        N_("Thick: the opening. Dashed: the body. Dotted: its rim. Grey: the trim piece to make."),
    [LG_OPENING_SMALL] = N_(
        "Thick: the opening. Dashed: the body. Outer thin line: cut to here, if the panel allows."),
};

static void draw_opening(Paper *paper, int i)
{
  const LgOpeningPlan *const plan = &paper->route->openings[i];
  const LgJob *const job = paper->route->job;
  double most[2] = {0, 0};
  extent(job->places[plan->place].opening_m, 0, most);
  extent(job->parts[plan->part].body_m, 2 * job->parts[plan->part].rim_m, most);
  extent(plan->cut_m, 0, most);
  if (plan->fit == LG_OPENING_TRIM)
    extent(plan->trim_m, 0, most);
  const gboolean drawn = most[0] <= paper->width - 2 * MARGIN && most[1] <= paper->height - 90;
  const double need = 26 + (drawn ? most[1] + GAP_MM : 0);
  if (paper->sheet == NULL || paper->y + need > paper->height - MARGIN)
    new_sheet(paper);
  g_autofree char *head =
      g_strdup_printf(T_("%s at %s"), job->parts[plan->part].name, job->places[plan->place].name);
  g_autofree char *words = lg_route_opening_words(paper->route, i);
  write_lines(paper, lg_letters_bold, head);
  write_lines(paper, lg_letters_plain, words);
  write_lines(paper, lg_letters_small,
              drawn ? T_(keys[plan->fit]) : T_("Too large to draw on this paper."));
  if (drawn) {
    draw_forms(paper, plan, MARGIN + most[0] / 2, paper->y + 4 + most[1] / 2);
    paper->y += most[1] + 4;
  }
  paper->y += GAP_MM;
}

GPtrArray *lg_openings_draw(const LgRoute *route, double width_mm, double height_mm)
{
  Paper paper = {.route = route,
                 .sheets = g_ptr_array_new_with_free_func((GDestroyNotify)lg_drawing_free),
                 .width = width_mm,
                 .height = height_mm};
  for (int i = 0; i < route->n_openings; i++)
    draw_opening(&paper, i);
  return paper.sheets;
}
