/* Plots of a course: axes as people read them, nothing outside the paper, names apart. */
#include "drawing/plot.h"
#include <math.h>
#include <string.h>

/* Marks by the rule of 1, 2, 5 (common practice), and by the clock. */
static void test_steps(void)
{
  static const struct {
    double least, most;
    gboolean clock;
    double step, first;
  } cases[] = {{0, 10, FALSE, 2, 0},          {0, 14.4, FALSE, 5, 0},  {-22, 61, FALSE, 20, -20},
               {0.1, 0.13, FALSE, 0.01, 0.1}, {0, 1200, TRUE, 300, 0}, {0, 28800, TRUE, 3600, 0},
               {0, 60, TRUE, 10, 0}};
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++) {
    double first;
    const double step = lg_plot_step(cases[i].least, cases[i].most, cases[i].clock, &first);
    g_assert_cmpfloat_with_epsilon(step, cases[i].step, 1e-9 * cases[i].step);
    g_assert_cmpfloat_with_epsilon(first, cases[i].first, 1e-9);
  }
}

enum { N = 5000 };
static double times[N], pad[N], skin[N], amps[N], relay[N];

static LgPlot example(void)
{
  for (int i = 0; i < N; i++) {
    times[i] = i * 1200.0 / (N - 1);
    const gboolean on = times[i] < 300 || fmod(times[i], 80) < 30;
    pad[i] = 273.15 + 38 - 50 * exp(-times[i] / 90) + 2 * sin(times[i] / 12);
    skin[i] = 273.15 + 33 - 48 * exp(-times[i] / 200);
    amps[i] = on ? 7.4 - times[i] / 2000 : 0;
    relay[i] = on;
  }
  amps[100] = NAN;
  static const LgTrace warm[] = {{"pad", pad}, {"cover that skin touches", skin}},
                       current[] = {{"SEAT.cushion", amps}},
                       contacts[] = {{"K2.make", relay}, {"S2.low", relay}};
  static const LgStrip strips[] = {
      {LG_STRIP_CURVES, "Temperatures", LG_DIM_TEMPERATURE, warm, 2, 273.15 + 44,
       "44 degC: sitting for long"},
      {LG_STRIP_CURVES, "Currents", LG_DIM_CURRENT, current, 1, NAN, NULL},
      {LG_STRIP_BARS, "Contacts", LG_DIM_NONE, contacts, 2, NAN, NULL}};
  static const double marks[] = {0, 300, 302};
  return (LgPlot){.title = "Cold morning",
                  .subtitle = "library van, -15 degC outside",
                  .habit = LG_HABIT_METRIC,
                  .time_s = times,
                  .n_times = N,
                  .strips = strips,
                  .n_strips = 3,
                  .marks_s = marks,
                  .n_marks = 3};
}

typedef struct {
  const LgDrawing *drawing;
  int n;
} Inside;

static void is_inside(LgSpot from, LgSpot to, double half_width, gpointer user)
{
  Inside *const inside = user;
  const LgSpot both[] = {from, to};
  (void)half_width;
  for (int k = 0; k < 2; k++) {
    g_assert_cmpfloat(both[k].x, >=, 0);
    g_assert_cmpfloat(both[k].x, <=, inside->drawing->width);
    g_assert_cmpfloat(both[k].y, >=, 0);
    g_assert_cmpfloat(both[k].y, <=, inside->drawing->height);
  }
  inside->n++;
}

static int check_sheet(const LgDrawing *drawing)
{
  Inside inside = {drawing, 0};
  for (guint i = 0; i < drawing->shapes->len; i++) {
    const LgShape *const shape = &g_array_index(drawing->shapes, LgShape, i);
    if (shape->kind == LG_SHAPE_TEXT) {
      const LgBox box = lg_shape_text_box(shape);
      g_assert_cmpfloat(box.left, >=, 0);
      g_assert_cmpfloat(box.right, <=, drawing->width);
      g_assert_cmpfloat(box.bottom, <=, drawing->height);
    } else {
      lg_shape_segments(drawing, shape, is_inside, &inside);
    }
  }
  g_assert_cmpint(inside.n, >, 20);
  return inside.n;
}

static void save(const LgDrawing *drawing)
{
  const char *const folder = g_getenv("LG_LOOK");
  if (folder == NULL)
    return;
  g_autoptr(GBytes) png = lg_drawing_png(drawing, 110, FALSE, NULL);
  g_autofree char *path = g_build_filename(folder, "plot.png", NULL);
  g_file_set_contents(path, g_bytes_get_data(png, NULL), (gssize)g_bytes_get_size(png), NULL);
}

static void test_sheets(void)
{
  const LgPlot plot = example();
  g_autoptr(GPtrArray) sheets = lg_plot_new(&plot, 297, 210);
  g_assert_cmpuint(sheets->len, ==, 1);
  /* Four points in each fifth of a millimetre at most. */
  g_assert_cmpint(check_sheet(sheets->pdata[0]), <, 3 * 4 * 5 * 297);
  save(sheets->pdata[0]);
  /* The greatest current is drawn, though only one sample of many reaches it. */
  amps[2500] = 11.9;
  g_autoptr(GPtrArray) spiked = lg_plot_new(&plot, 297, 210);
  const LgDrawing *const drawing = spiked->pdata[0];
  gboolean twelve = FALSE;
  for (guint i = 0; i < drawing->shapes->len; i++) {
    const LgShape *const shape = &g_array_index(drawing->shapes, LgShape, i);
    twelve = twelve || (shape->kind == LG_SHAPE_TEXT && strcmp(shape->text, "10") == 0);
  }
  g_assert_true(twelve);
  check_sheet(drawing);
}

static void test_many_strips_take_more_sheets(void)
{
  LgPlot plot = example();
  LgStrip many[14];
  for (int i = 0; i < 14; i++)
    many[i] = plot.strips[0];
  plot.strips = many;
  plot.n_strips = 14;
  g_autoptr(GPtrArray) sheets = lg_plot_new(&plot, 297, 210);
  g_assert_cmpuint(sheets->len, >, 2);
  for (guint i = 0; i < sheets->len; i++)
    check_sheet(sheets->pdata[i]);
  plot.n_times = 1;
  g_autoptr(GPtrArray) empty = lg_plot_new(&plot, 297, 210);
  g_assert_cmpuint(empty->len, ==, 1);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/plot/steps", test_steps);
  g_test_add_func("/plot/sheets", test_sheets);
  g_test_add_func("/plot/many", test_many_strips_take_more_sheets);
  return g_test_run();
}
