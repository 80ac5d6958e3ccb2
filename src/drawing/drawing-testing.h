/* For the tests of drawings: jobs, and what may not happen on paper. */
#pragma once
#include "drawing/ink.h"
#include "model/model.h"
#include <string.h>

typedef struct {
  LgSheet *sheet;
  LgCatalogue *catalogue;
  LgJob *job;
} TestJob;

static inline void test_job_take(TestJob *test, LgSheet *sheet)
{
  test->sheet = sheet;
  test->catalogue = lg_catalogue_new();
  test->job = lg_sheet_problems(sheet)->len == 0 ? lg_job_new(sheet, test->catalogue) : NULL;
  const GPtrArray *const problems = lg_sheet_problems(sheet);
  for (guint i = 0; i < problems->len && test->job == NULL; i++)
    g_test_message("%d: %s", ((LgProblem *)problems->pdata[i])->origin.line,
                   ((LgProblem *)problems->pdata[i])->what);
  g_assert_nonnull(test->job);
}

static inline void test_job_init(TestJob *test, const char *text)
{
  g_autoptr(GBytes) bytes = g_bytes_new(text, strlen(text));
  test_job_take(test, lg_sheet_read("test.job", bytes, FALSE));
}

static inline void test_job_open(TestJob *test, const char *name)
{
  g_autofree char *path = g_build_filename(g_getenv("LG_SOURCE_ROOT"), "examples", name, NULL);
  g_autoptr(GError) error = NULL;
  LgSheet *const sheet = lg_sheet_open(path, FALSE, &error);
  g_assert_no_error(error);
  test_job_take(test, sheet);
}

static inline void test_job_clear(TestJob *test)
{
  lg_job_free(test->job);
  lg_catalogue_free(test->catalogue);
  lg_sheet_free(test->sheet);
}

typedef struct {
  const LgDrawing *drawing;
  const LgShape *text, *other;
  LgBox box;
} TestOverlap;

/* Whether a segment comes into a box: clipped against its four sides (Liang and Barsky). */
static inline gboolean test_segment_meets(LgSpot from, LgSpot to, LgBox box)
{
  const double dx = to.x - from.x, dy = to.y - from.y;
  const double p[] = {-dx, dx, -dy, dy};
  const double q[] = {from.x - box.left, box.right - from.x, from.y - box.top, box.bottom - from.y};
  double enter = 0, leave = 1;
  for (int i = 0; i < 4; i++) {
    if (p[i] == 0 && q[i] < 0)
      return FALSE;
    if (p[i] < 0)
      enter = MAX(enter, q[i] / p[i]);
    else if (p[i] > 0)
      leave = MIN(leave, q[i] / p[i]);
  }
  return enter <= leave;
}

static inline void test_clear_of(LgSpot from, LgSpot to, double half, gpointer user)
{
  const TestOverlap *const o = user;
  const LgBox wide = {o->box.left - half, o->box.top - half, o->box.right + half,
                      o->box.bottom + half};
  if (test_segment_meets(from, to, wide))
    g_error("\"%s\" at %.1f, %.1f meets a line from %.1f, %.1f to %.1f, %.1f", o->text->text,
            o->text->x, o->text->y, from.x, from.y, to.x, to.y);
}

/* No text overlaps a text or meets any line, arc or wire, and all lie on the paper. */
static inline void test_nothing_overlaps(const LgDrawing *drawing)
{
  const double hair = 0.02;
  for (guint i = 0; i < drawing->shapes->len; i++) {
    const LgShape *const text = &g_array_index(drawing->shapes, LgShape, i);
    if (text->kind != LG_SHAPE_TEXT)
      continue;
    const LgBox full = lg_shape_text_box(text);
    const LgBox box = {full.left + hair, full.top + hair, full.right - hair, full.bottom - hair};
    if (box.left < 0 || box.top < 0 || box.right > drawing->width || box.bottom > drawing->height)
      g_error("\"%s\" leaves the paper", text->text);
    for (guint j = 0; j < drawing->shapes->len; j++) {
      const LgShape *const other = &g_array_index(drawing->shapes, LgShape, j);
      TestOverlap overlap = {drawing, text, other, box};
      if (other->kind != LG_SHAPE_TEXT) {
        lg_shape_segments(drawing, other, test_clear_of, &overlap);
      } else if (j > i) {
        const LgBox b = lg_shape_text_box(other);
        if (box.left < b.right && b.left < box.right && box.top < b.bottom && b.top < box.bottom)
          g_error("\"%s\" at %.1f, %.1f overlaps \"%s\" at %.1f, %.1f", text->text, text->x,
                  text->y, other->text, other->x, other->y);
      }
    }
  }
}

/* Golden drawings: small ones, reviewed by eye in colour and in grey, kept as SVG. With
 * LG_WRITE_GOLDEN set they are written anew, to be reviewed again before they are kept. */
static inline void test_golden(const LgDrawing *drawing, const char *name)
{
  g_autofree char *path =
      g_build_filename(g_getenv("LG_SOURCE_ROOT"), "tests", "golden", "drawing", name, NULL);
  g_autoptr(GBytes) svg = lg_drawing_svg(drawing, TRUE);
  gsize size;
  const char *const now = g_bytes_get_data(svg, &size);
  g_autoptr(GError) error = NULL;
  g_autofree char *kept = NULL;
  gsize kept_size = 0;
  if (g_getenv("LG_WRITE_GOLDEN") != NULL)
    g_file_set_contents(path, now, (gssize)size, &error);
  g_assert_no_error(error);
  g_file_get_contents(path, &kept, &kept_size, &error);
  g_assert_no_error(error);
  g_assert_true(size == kept_size && memcmp(now, kept, size) == 0);
}
