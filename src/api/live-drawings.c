/* The drawings of a job, made when first asked for and kept. */
#include "api/live-private.h"
#include "base/words.h"
#include "drawing/board.h"
#include "drawing/face.h"
#include "drawing/flow.h"
#include "drawing/paper.h"
#include "packet/tables-simulate.h"
#include <math.h>
#include <string.h>

typedef struct {
  const char *name, *title;
  GPtrArray *(*make)(const LgLive *live, double wide_mm, double high_mm);
  const char *without; /* why there is none */
} Kind;

/* `point` and `wire_K`: the state to write in, or NULL. */
static GPtrArray *diagram_of(const LgLive *live, const LgPoint *point, const double wire_K[],
                             double wide_mm, double high_mm)
{
  const LgSizing *const sizing = live->sizing;
  const LgJob *const job = live->job;
  g_autofree double *ratings = g_new(double, (gsize)job->n_elements + 1);
  for (int e = 0; e < job->n_elements; e++)
    ratings[e] = lg_element_is_protection(job->elements[e].kind) ? sizing->fuses[e].rating_A : NAN;
  const LgFlowOptions options = {.width_mm = wide_mm,
                                 .height_mm = high_mm,
                                 .chosen = (const LgConductor *const *)sizing->chosen,
                                 .ratings_A = ratings,
                                 .point = point,
                                 .wire_K = wire_K};
  return lg_flow_new(job, &options);
}

static GPtrArray *make_diagram(const LgLive *live, double wide_mm, double high_mm)
{
  return diagram_of(live, NULL, NULL, wide_mm, high_mm);
}

static GPtrArray *make_faces(const LgLive *live, double wide_mm, double high_mm)
{
  (void)wide_mm;
  return lg_faces_new(live->job, high_mm - 20, (const LgConductor *const *)live->sizing->chosen);
}

static GPtrArray *make_routes(const LgLive *live, double wide_mm, double high_mm)
{
  g_autoptr(LgRoute) route = lg_route_new(live->sizing);
  return lg_route_draw(route, wide_mm, high_mm);
}

static GPtrArray *make_openings(const LgLive *live, double wide_mm, double high_mm)
{
  g_autoptr(LgRoute) route = lg_route_new(live->sizing);
  return lg_openings_draw(route, wide_mm, high_mm);
}

static GPtrArray *make_board(const LgLive *live, double wide_mm, double high_mm)
{
  g_autoptr(LgRoute) route = lg_route_new(live->sizing);
  g_autoptr(LgBoard) board = lg_board_new(route, wide_mm, high_mm);
  return lg_board_tiles(board, wide_mm, high_mm);
}

static GPtrArray *make_labels(const LgLive *live, double wide_mm, double high_mm)
{
  (void)wide_mm;
  (void)high_mm;
  g_autoptr(LgTable) labels = lg_table_labels(live->sizing);
  return lg_labels_draw(labels, &lg_label_sheets[0], 0, TRUE);
}

static const Kind kinds[] = {
    {"diagram", N_("Current-flow diagram"), make_diagram, N_("nothing to draw")},
    {"faces", N_("Connector faces"), make_faces,
     N_("no part has a face: say `rows` and `columns` at a part, or give it three pins and more")},
    {"routes", N_("Route plan"), make_routes, N_("no place and no run in the sheet")},
    {"openings", N_("Openings at full scale"), make_openings,
     N_("no place has an `opening` with a part of known `body` in it")},
    {"board", N_("Board at full scale"), make_board, N_("no new wire to lay out")},
    {"labels", N_("Labels"), make_labels, N_("no new wire, fuse or relay to label")},
};

#define COURSE "course-"

static const Kind *kind_named(const char *name)
{
  for (gsize i = 0; i < G_N_ELEMENTS(kinds); i++)
    if (strcmp(kinds[i].name, name) == 0)
      return &kinds[i];
  return NULL;
}

/* Strips of a use through time. */
static GPtrArray *make_course(const LgLive *live, const char *use, double wide_mm, double high_mm,
                              GError **error)
{
  const int index = lg_job_find_use(live->job, use);
  if (index < 0) {
    g_set_error(error, LG_ERROR, LG_ERROR_CALL, "there is no use `%s` in the sheet", use);
    return NULL;
  }
  const LgSimulateOptions options = {0};
  g_autoptr(GError) reason = NULL;
  g_autoptr(LgSimulation) simulation =
      lg_simulation_new(live->sizing, &live->job->uses[index], &options, &reason);
  if (simulation == NULL) {
    g_set_error_literal(error, LG_ERROR, LG_ERROR_SHEET, reason->message);
    return NULL;
  }
  return lg_simulation_plot(simulation, wide_mm, high_mm);
}

static const GPtrArray *sheets_of(LgLive *live, const char *name, GError **error)
{
  GPtrArray *sheets = g_hash_table_lookup(live->drawings, name);
  if (sheets != NULL)
    return sheets;
  const double wide_mm = lg_paper_long_mm(live->job->letter_paper),
               high_mm = lg_paper_short_mm(live->job->letter_paper);
  const Kind *const kind = kind_named(name);
  if (kind != NULL)
    sheets = kind->make(live, wide_mm, high_mm);
  else if (g_str_has_prefix(name, COURSE))
    sheets = make_course(live, name + strlen(COURSE), wide_mm, high_mm, error);
  else
    g_set_error(error, LG_ERROR, LG_ERROR_CALL, "there is no drawing `%s`", name);
  if (sheets != NULL)
    g_hash_table_insert(live->drawings, g_strdup(name), sheets);
  return sheets;
}

static json_t *drawing_json(const char *name, const char *title, json_t *sheets, const char *wrong)
{
  json_t *const object = json_object();
  json_object_set_new(object, "name", lg_json_text(name));
  json_object_set_new(object, "title", lg_json_text(title));
  json_object_set_new(object, "sheets", sheets);
  json_object_set_new(object, "wrong", lg_json_text(wrong));
  return object;
}

char *lg_live_drawings_json(LgLive *live)
{
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(live->job->language));
  json_t *const root = json_object(), *const list = json_array();
  for (gsize i = 0; i < G_N_ELEMENTS(kinds); i++) {
    const guint n = sheets_of(live, kinds[i].name, NULL)->len;
    json_array_append_new(list, drawing_json(kinds[i].name, T_(kinds[i].title), json_integer(n),
                                             n == 0 ? T_(kinds[i].without) : NULL));
  }
  for (int u = 0; u < live->job->n_uses; u++) {
    const LgUse *const use = &live->job->uses[u];
    g_autofree char *name = g_strconcat(COURSE, use->name, NULL);
    g_autofree char *title =
        g_strdup_printf(T_("Course of a use: %s"), use->text != NULL ? use->text : use->name);
    const GPtrArray *const made = g_hash_table_lookup(live->drawings, name);
    json_array_append_new(
        list,
        drawing_json(name, title, made != NULL ? json_integer(made->len) : json_null(), NULL));
  }
  json_object_set_new(root, "drawings", list);
  return lg_json_take(root);
}

#define DOTS_PER_INCH 150

static GBytes *print(const LgLive *live, const GPtrArray *sheets, const char *name, guint sheet,
                     const char *format, GError **error)
{
  const gboolean is_pdf = strcmp(format, "pdf") == 0;
  if (sheet > sheets->len || (sheet == 0 && (!is_pdf || sheets->len == 0))) {
    g_set_error(error, LG_ERROR, LG_ERROR_CALL, "%s has %u sheet%s, and no sheet %u", name,
                sheets->len, sheets->len == 1 ? "" : "s", sheet);
    return NULL;
  }
  if (is_pdf && sheet == 0)
    return lg_drawings_pdf(sheets, live->job->title, error);
  LgDrawing *const drawing = sheets->pdata[sheet - 1];
  if (is_pdf) {
    g_autoptr(GPtrArray) one = g_ptr_array_new();
    g_ptr_array_add(one, drawing);
    return lg_drawings_pdf(one, live->job->title, error);
  }
  if (strcmp(format, "svg") == 0)
    return lg_drawing_svg(drawing, FALSE);
  if (strcmp(format, "png") == 0)
    return lg_drawing_png(drawing, DOTS_PER_INCH, FALSE, error);
  g_set_error(error, LG_ERROR, LG_ERROR_CALL, "`%s` is no form of a drawing: svg, png, pdf",
              format);
  return NULL;
}

GBytes *lg_live_drawing(LgLive *live, const char *name, guint sheet, const char *format,
                        GError **error)
{
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(live->job->language));
  const GPtrArray *const sheets = sheets_of(live, name, error);
  return sheets == NULL ? NULL : print(live, sheets, name, sheet, format, error);
}

GBytes *lg_live_state_drawing(LgLive *live, const char *const settings[], guint sheet,
                              const char *format, GError **error)
{
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(live->job->language));
  json_t *told;
  if (!lg_live_take_state(live, settings, NULL, &told, error))
    return NULL;
  g_autoptr(GPtrArray) sheets =
      diagram_of(live, live->point, live->wire_K, lg_paper_long_mm(live->job->letter_paper),
                 lg_paper_short_mm(live->job->letter_paper));
  return print(live, sheets, "the diagram", sheet, format, error);
}
