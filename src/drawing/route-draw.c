/* The route plan on paper: a tree of places and runs from top to bottom, figures and section beside
 * each run. */
#include "base/words.h"
#include "drawing/route.h"
#include <math.h>
#include <string.h>

enum { MARGIN = 12, PLACE_WIDTH = 40, INDENT = 12, SECTION_WIDTH = 44 };
#define GAP_MM 3
#define LEAST_RUN_MM 22

typedef enum { ROW_PLACE, ROW_RUN } RowKind;

typedef struct {
  RowKind kind;
  int index;        /* place or run */
  int from;         /* RUN: place above it */
  int to;           /* RUN: place below it */
  int depth, above; /* columns of the line it hangs on: its own, and of the place above */
  gboolean ring;    /* RUN: ends at a place that is drawn elsewhere */
  gboolean again;   /* PLACE: drawn elsewhere */
  double height;
} Row;

typedef struct {
  const LgRoute *route;
  GArray *rows; /* Row */
  gboolean *seen, *used;
  int deepest;
} Tree;

static int other_end(const LgRun *run, int place)
{
  return run->from == place ? run->to : run->to == place ? run->from : -1;
}

/* Runs from a place that are not drawn yet, in the sheet's order. */
static int *next_runs(Tree *tree, int place, int *n)
{
  const LgJob *const job = tree->route->job;
  int *const runs = g_new(int, (gsize)job->n_runs + 1);
  *n = 0;
  for (int r = 0; r < job->n_runs; r++)
    if (!tree->used[r] && other_end(&job->runs[r], place) >= 0)
      runs[(*n)++] = r;
  return runs;
}

static void add_place(Tree *tree, int place, int depth, gboolean again)
{
  const Row row = {.kind = ROW_PLACE, .index = place, .depth = depth, .again = again};
  g_array_append_val(tree->rows, row);
  tree->deepest = MAX(tree->deepest, depth);
}

/* Branches hang one column to the right, the last goes straight on. Places below a deep chain make
 * this recursion as deep as the vehicle has places, which are few. */
static void descend(Tree *tree, int place, int depth)
{
  add_place(tree, place, depth, FALSE);
  tree->seen[place] = TRUE;
  int n;
  g_autofree int *runs = next_runs(tree, place, &n);
  for (int i = 0; i < n; i++) {
    if (tree->used[runs[i]])
      continue;
    int left = 0;
    for (int j = i; j < n; j++)
      left += !tree->used[runs[j]];
    const int to = other_end(&tree->route->job->runs[runs[i]], place);
    const int column = left > 1 ? depth + 1 : depth;
    const Row row = {.kind = ROW_RUN,
                     .index = runs[i],
                     .from = place,
                     .to = to,
                     .depth = column,
                     .above = depth,
                     .ring = tree->seen[to]};
    g_array_append_val(tree->rows, row);
    tree->used[runs[i]] = TRUE;
    if (tree->seen[to])
      add_place(tree, to, column, TRUE);
    else
      descend(tree, to, column);
  }
}

static void draw_lines(LgDrawing *drawing, LgLetters letters, double x, double *y, double width,
                       const char *text)
{
  g_auto(GStrv) lines = lg_text_wrap(text, letters.size, letters.bold, width, 6);
  for (int i = 0; lines[i] != NULL; i++) {
    lg_draw_text(drawing, letters, x, *y, lines[i]);
    *y += letters.size * 1.4;
  }
}

static char *length_words(const LgRoute *route, double m)
{
  return lg_quantity_print(m, LG_DIM_LENGTH, route->job->habit, 2);
}

static char *warmth_words(const LgJob *job, double cold_K, double hot_K)
{
  g_autofree char *cold = lg_quantity_print(cold_K, LG_DIM_TEMPERATURE, job->habit, 2);
  g_autofree char *hot = lg_quantity_print(hot_K, LG_DIM_TEMPERATURE, job->habit, 2);
  return g_strdup_printf(T_("%s to %s"), cold, hot);
}

/* Parts of a place that new wires reach. */
static char *parts_at(const LgJob *job, int place)
{
  g_autoptr(GString) words = g_string_new(NULL);
  for (int i = 0; i < job->n_parts; i++) {
    gboolean wired = FALSE;
    for (int w = 0; w < job->n_wires && !wired; w++)
      wired = job->wires[w].is == LG_IS_NEW && (job->pins[job->wires[w].pin[0]].part == i ||
                                                job->pins[job->wires[w].pin[1]].part == i);
    if (wired && job->parts[i].place == place)
      g_string_append_printf(words, "%s%s", words->len > 0 ? ", " : "", job->parts[i].name);
  }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

typedef struct {
  const LgRoute *route;
  LgDrawing *drawing;
  double text_x, text_width, section_x;
} Canvas;

static int hole_at(const LgRoute *route, int place)
{
  for (int i = 0; i < route->n_holes; i++)
    if (route->holes[i].place == place)
      return i;
  return -1;
}

static char *place_facts(const LgRoute *route, int place)
{
  const LgPlace *const p = &route->job->places[place];
  g_autofree char *warmth = warmth_words(route->job, p->cold_K, p->hot_K);
  g_autoptr(GString) words = g_string_new(warmth);
  if (p->wet)
    g_string_append(words, T_("; WET"));
  if (p->edge)
    g_string_append(words, T_("; SHARP EDGES: strip or grommet"));
  return g_string_free(g_steal_pointer(&words), FALSE);
}

/* Writes what stands beside a place; returns where it ends. */
static double place_text(const Canvas *c, int place, gboolean again, double y)
{
  if (again) {
    draw_lines(c->drawing, lg_letters_small, c->text_x, &y, c->text_width,
               T_("drawn elsewhere: the ring is broken here"));
    return y;
  }
  const LgPlace *const p = &c->route->job->places[place];
  const double width = c->text_width + SECTION_WIDTH;
  if (p->where != NULL || p->text != NULL)
    draw_lines(c->drawing, lg_letters_plain, c->text_x, &y, width,
               p->where != NULL ? p->where : p->text);
  g_autofree char *facts = place_facts(c->route, place);
  draw_lines(c->drawing, lg_letters_small, c->text_x, &y, width, facts);
  g_autofree char *parts = parts_at(c->route->job, place);
  g_autofree char *there = g_strdup_printf(T_("parts: %s"), parts);
  if (parts[0] != '\0')
    draw_lines(c->drawing, lg_letters_small, c->text_x, &y, width, there);
  const int hole = hole_at(c->route, place);
  if (hole >= 0) {
    g_autofree char *across = length_words(c->route, p->hole_m);
    g_autofree char *through = length_words(c->route, c->route->holes[hole].passes_m);
    g_autofree char *words = lg_route_hole_words(c->route, hole);
    g_autofree char *line = g_strdup_printf(T_("hole of %s, %s pass, %.0f %% of it: %s"), across,
                                            through, 100 * c->route->holes[hole].fill, words);
    LgLetters letters = lg_letters_small;
    letters.ink = c->route->holes[hole].fits ? LG_INK_SOFT : LG_INK_WARM;
    letters.bold = !c->route->holes[hole].fits;
    draw_lines(c->drawing, letters, c->text_x, &y, width, line);
  }
  return y;
}

static void run_wires(const Canvas *c, const LgRunPlan *plan, double *y)
{
  const LgJob *const job = c->route->job;
  g_autofree char *across = length_words(c->route, plan->bundle_m);
  g_autoptr(GString) words = g_string_new(NULL);
  if (plan->n_wires == 0)
    g_string_append(words, T_("none of this job's wires"));
  else
    g_string_append_printf(words,
                           plan->n_wires == 1 ? T_("%d wire, bundle %s across")
                                              : T_("%d wires, bundle %s across"),
                           plan->n_wires, across);
  if (plan->n_unsized > 0)
    g_string_append_printf(words, T_("; %d more without a size: NOT COUNTED"), plan->n_unsized);
  if (job->runs[plan->run].others > 0)
    g_string_append_printf(words, T_("; beside %d loaded wires of the vehicle"),
                           job->runs[plan->run].others);
  draw_lines(c->drawing, lg_letters_plain, c->text_x, y, c->text_width, words->str);
}

static void run_hangs(const Canvas *c, const LgRunPlan *plan, double *y)
{
  const LgRun *const run = &c->route->job->runs[plan->run];
  g_autofree char *bend = length_words(c->route, plan->bend_m);
  g_autofree char *clip = length_words(c->route, plan->clip_m);
  g_autofree char *line =
      run->moves ? g_strdup_printf(T_("bends no tighter than %s radius; it moves: clip both ends, "
                                      "a free loop between that twists"),
                                   bend)
      : plan->n_clips > 0
          ? g_strdup_printf(T_("bends no tighter than %s radius; a clip every %s at most (%d)"),
                            bend, clip, plan->n_clips)
          : g_strdup_printf(T_("bends no tighter than %s radius; a clip every %s at most"), bend,
                            clip);
  draw_lines(c->drawing, lg_letters_small, c->text_x, y, c->text_width, line);
}

static double run_text(const Canvas *c, int r, double y)
{
  const LgRunPlan *const plan = &c->route->runs[r];
  const LgRun *const run = &c->route->job->runs[r];
  g_autofree char *long_m = isnan(run->length_m) ? g_strdup(T_("length not in the sheet"))
                                                 : lg_quantity_print(run->length_m, LG_DIM_LENGTH,
                                                                     c->route->job->habit, 3);
  g_autofree char *head = g_strdup_printf("%s   %s", run->name, long_m);
  LgLetters bold = lg_letters_bold, warm = lg_letters_small;
  warm.ink = LG_INK_WARM;
  warm.bold = TRUE;
  if (isnan(run->length_m))
    bold.ink = LG_INK_WARM;
  draw_lines(c->drawing, bold, c->text_x, &y, c->text_width, head);
  if (run->text != NULL)
    draw_lines(c->drawing, lg_letters_plain, c->text_x, &y, c->text_width, run->text);
  run_wires(c, plan, &y);
  if (plan->n_wires == 0)
    return y;
  g_autofree char *cover = lg_route_cover_words(c->route, r);
  draw_lines(c->drawing, plan->fit == LG_COVER_TIGHT || plan->cover_hot ? warm : lg_letters_small,
             c->text_x, &y, c->text_width, cover);
  run_hangs(c, plan, &y);
  g_autofree char *warmth = warmth_words(c->route->job, run->cold_K, run->hot_K);
  g_autofree char *facts =
      g_strdup_printf("%s%s%s", plan->hot ? T_("HOT: ") : "", warmth, run->wet ? T_("; WET") : "");
  draw_lines(c->drawing, lg_letters_small, c->text_x, &y, c->text_width, facts);
  return y;
}

/* Whole numbers people have on a rule; the largest at which the section keeps its column. */
static double section_scale(double across_mm)
{
  static const double scales[] = {10, 5, 4, 3, 2, 1, 0.5, 0.25};
  for (gsize i = 0; i < G_N_ELEMENTS(scales); i++)
    if (across_mm * scales[i] <= SECTION_WIDTH - 6)
      return scales[i];
  return 0.1;
}

/* Draws the section; returns where it ends. */
static double run_section(const Canvas *c, int r, double y)
{
  const LgRunPlan *const plan = &c->route->runs[r];
  if (plan->n_wires == 0)
    return y;
  const LgJob *const job = c->route->job;
  const gboolean round =
      plan->cover != NULL && plan->cover->kind < 2 && plan->fit != LG_COVER_TIGHT;
  const double bore_mm = 1e3 * (round ? plan->cover->bore_m : plan->bundle_m);
  const double across_m = plan->fit == LG_COVER_TIGHT ? plan->bundle_m : plan->outer_m;
  const double scale = section_scale(1e3 * across_m), half = scale * 500 * across_m;
  const double x = c->section_x + SECTION_WIDTH / 2.0, middle = y + half;
  g_autofree const char **colours = g_new0(const char *, (gsize)plan->n_wires);
  g_autofree const char **names = g_new0(const char *, (gsize)plan->n_wires);
  for (int i = 0; i < plan->n_wires; i++) {
    colours[i] = job->wires[plan->wires[i]].colour;
    names[i] = job->wires[plan->wires[i]].name;
  }
  lg_draw_open(c->drawing, "section", job->runs[r].name);
  if (plan->cover != NULL && plan->fit != LG_COVER_TIGHT)
    lg_draw_arc(c->drawing, lg_stroke_thin, x, middle, half, 0, 360);
  if (round)
    lg_draw_arc(c->drawing, lg_stroke_thin, x, middle, scale * bore_mm / 2, 0, 360);
  /* In a tube the wires lie at its bottom. */
  const double sunk = round ? scale * (bore_mm - 1e3 * plan->bundle_m) / 2 : 0;
  lg_packing_draw(c->drawing, plan->packing, x, middle + sunk, 1e3 * scale, colours, names);
  lg_draw_close(c->drawing);
  LgLetters letters = lg_letters_small;
  letters.anchor = LG_ANCHOR_MIDDLE;
  g_autofree char *words =
      scale >= 1 ? g_strdup_printf("%g : 1", scale) : g_strdup_printf("1 : %g", 1 / scale);
  lg_draw_text(c->drawing, letters, x, middle + half + 4, words);
  return middle + half + 5.5;
}

static Canvas canvas_for(const Tree *tree, LgDrawing *drawing)
{
  Canvas c = {.route = tree->route, .drawing = drawing};
  c.text_x = MARGIN + PLACE_WIDTH + INDENT * MIN(tree->deepest, 5) + 5;
  c.section_x = drawing->width - MARGIN - SECTION_WIDTH;
  c.text_width = fmax(c.section_x - c.text_x - 4, 30);
  return c;
}

/* Heights by drawing into the air: one way to know a text's end. */
static void measure_rows(Tree *tree, double width_mm, double height_mm)
{
  g_autoptr(LgDrawing) air = lg_drawing_new(width_mm, height_mm, "");
  const Canvas c = canvas_for(tree, air);
  for (guint i = 0; i < tree->rows->len; i++) {
    Row *const row = &g_array_index(tree->rows, Row, i);
    if (row->kind == ROW_PLACE) {
      row->height = fmax(place_text(&c, row->index, row->again, 0), 9) + GAP_MM;
    } else {
      const double text = run_text(&c, row->index, 0), section = run_section(&c, row->index, 0);
      row->height = fmax(fmax(text, section), LEAST_RUN_MM) + GAP_MM;
    }
  }
}

static double column_x(int depth)
{
  return MARGIN + INDENT * MIN(depth, 5) + 8;
}

static void draw_place(const Canvas *c, const Row *row, double y)
{
  const LgPlace *const place = &c->route->job->places[row->index];
  const double x = column_x(row->depth) - 8;
  LgStroke stroke = row->again ? lg_stroke_thin : lg_stroke_line;
  stroke.fill = LG_INK_PAPER;
  stroke.dash = row->again ? 1.5 : 0;
  stroke.gap = 1;
  lg_draw_box(c->drawing, stroke, (LgBox){x, y, x + PLACE_WIDTH, y + 8});
  g_auto(GStrv) name = lg_text_wrap(place->name, LG_TEXT_MM, TRUE, PLACE_WIDTH - 4, 1);
  lg_draw_text(c->drawing, lg_letters_bold, x + 2, y + 5, name[0]);
  place_text(c, row->index, row->again, y + 3);
}

/* A bundle half as thick as it is, in its covering; a dashed line when nothing lies in it. */
static void draw_line(const Canvas *c, const Row *row, double y, double height)
{
  const LgRunPlan *const plan = &c->route->runs[row->index];
  const double x = column_x(row->depth), half = fmin(250 * plan->outer_m, 7);
  if (row->depth != row->above)
    lg_draw_path(c->drawing, lg_stroke_line, FALSE,
                 (LgSpot[]){{column_x(row->above), y}, {column_x(row->above), y + 4}, {x, y + 4}},
                 3);
  const double top = row->depth != row->above ? y + 4 : y;
  if (plan->n_wires == 0 || half < 0.3) {
    LgStroke thin = lg_stroke_line;
    thin.dash = 1;
    thin.gap = 1;
    lg_draw_segment(c->drawing, plan->n_wires == 0 ? thin : lg_stroke_line, x, top, x, y + height);
    return;
  }
  LgStroke edge = lg_stroke_line;
  edge.fill = LG_INK_PAPER;
  lg_draw_box(c->drawing, edge, (LgBox){x - half, top, x + half, y + height});
  const gboolean tube = plan->cover != NULL && plan->cover->kind < 2;
  for (double ring = top + 2; tube && ring < y + height - 0.5; ring += 2)
    lg_draw_segment(c->drawing, lg_stroke_thin, x - half, ring, x + half, ring);
}

static void draw_title(const Canvas *c, const char *title, double *y)
{
  LgLetters head = lg_letters_bold;
  head.size = LG_TEXT_HEAD_MM;
  draw_lines(c->drawing, head, MARGIN, y, c->drawing->width - 2 * MARGIN, title);
  draw_lines(c->drawing, lg_letters_small, MARGIN, y, c->drawing->width - 2 * MARGIN,
             T_("Lines not to scale; sections are. Bends: 10 bundles, 6 where it must be (aircraft "
                "practice). Clips: small craft, ISO 10133. Local codes come first."));
  *y += 4;
}

/* Lines that pass a row on their way from a place above to a run below it. */
static void draw_passing(const Canvas *c, const Tree *tree, guint row, double y, double height)
{
  for (guint i = row + 1; i < tree->rows->len; i++) {
    const Row *const below = &g_array_index(tree->rows, Row, i);
    gboolean open = below->kind == ROW_RUN;
    /* Its place must stand above this row. */
    guint above = i;
    while (open && above > 0) {
      above--;
      const Row *const up = &g_array_index(tree->rows, Row, above);
      if (up->kind == ROW_PLACE && !up->again && up->index == below->from)
        break;
    }
    if (open && above < row)
      lg_draw_segment(c->drawing, lg_stroke_line, column_x(below->above), y, column_x(below->above),
                      y + height);
  }
}

static LgDrawing *new_sheet(const Tree *tree, GPtrArray *sheets, double width_mm, double height_mm,
                            double *y)
{
  LgDrawing *const drawing = lg_drawing_new(width_mm, height_mm, T_("Route plan"));
  g_ptr_array_add(sheets, drawing);
  const Canvas c = canvas_for(tree, drawing);
  *y = MARGIN + 4;
  g_autofree char *title = sheets->len == 1
                               ? g_strdup_printf(T_("Route plan: %s"), tree->route->job->title)
                               : g_strdup_printf(T_("Route plan, sheet %u"), sheets->len);
  draw_title(&c, title, y);
  return drawing;
}

static void draw_rows(const Tree *tree, GPtrArray *sheets, double width_mm, double height_mm)
{
  double y;
  LgDrawing *drawing = new_sheet(tree, sheets, width_mm, height_mm, &y);
  for (guint i = 0; i < tree->rows->len; i++) {
    const Row *const row = &g_array_index(tree->rows, Row, i);
    /* A run stays with the place it leads to. */
    const double with = row->kind == ROW_RUN
                            ? row->height + g_array_index(tree->rows, Row, i + 1).height
                            : row->height;
    if (y + with > height_mm - MARGIN && y > height_mm / 3)
      drawing = new_sheet(tree, sheets, width_mm, height_mm, &y);
    const Canvas c = canvas_for(tree, drawing);
    if (row->kind == ROW_RUN) {
      draw_passing(&c, tree, i, y, row->height);
      draw_line(&c, row, y, row->height);
      run_text(&c, row->index, y + 4);
      run_section(&c, row->index, y + 1);
    } else {
      draw_passing(&c, tree, i, y, row->height);
      draw_place(&c, row, y);
      const Row *const next =
          i + 1 < tree->rows->len ? &g_array_index(tree->rows, Row, i + 1) : NULL;
      /* What hangs below starts at the box. */
      if (next != NULL && next->kind == ROW_RUN && next->from == row->index)
        lg_draw_segment(drawing, lg_stroke_line, column_x(row->depth), y + 8, column_x(row->depth),
                        y + row->height);
    }
    y += row->height;
  }
}

GPtrArray *lg_route_draw(const LgRoute *route, double width_mm, double height_mm)
{
  GPtrArray *const sheets = g_ptr_array_new_with_free_func((GDestroyNotify)lg_drawing_free);
  const LgJob *const job = route->job;
  Tree tree = {.route = route,
               .rows = g_array_new(FALSE, FALSE, sizeof(Row)),
               .seen = g_new0(gboolean, (gsize)job->n_places + 1),
               .used = g_new0(gboolean, (gsize)job->n_runs + 1)};
  for (int p = 0; p < job->n_places; p++)
    if (!tree.seen[p])
      descend(&tree, p, 0);
  measure_rows(&tree, width_mm, height_mm);
  draw_rows(&tree, sheets, width_mm, height_mm);
  if (job->n_places == 0) {
    LgDrawing *const sheet = sheets->pdata[0];
    lg_draw_text(
        sheet, lg_letters_plain, MARGIN, 40,
        T_("The sheet has no places and runs: say `place` and `run`, and `at=` for parts."));
  }
  g_array_free(tree.rows, TRUE);
  g_free(tree.seen);
  g_free(tree.used);
  return sheets;
}
