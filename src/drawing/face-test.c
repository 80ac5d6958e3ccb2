/* Faces: places, mirror, states, tables. */
#include "drawing-testing.h"
#include "drawing/face.h"

#define MOST 64

/* Where the numbers of cavities stand: first view, then its mirror image. */
typedef struct {
  int n;
  double x[MOST], y[MOST];
} Places;

/* Bold texts equal to `name` that stand within a view, in order of drawing. */
static Places places_of(const LgDrawing *drawing, const char *name)
{
  Places places = {0};
  for (guint i = 0; i < drawing->shapes->len && places.n < MOST; i++) {
    const LgShape *const shape = &g_array_index(drawing->shapes, LgShape, i);
    if (shape->kind == LG_SHAPE_TEXT && shape->anchor == LG_ANCHOR_MIDDLE && shape->bold &&
        strcmp(shape->text, name) == 0) {
      places.x[places.n] = shape->x;
      places.y[places.n++] = shape->y;
    }
  }
  return places;
}

static gboolean has_text(const LgDrawing *drawing, const char *text)
{
  for (guint i = 0; i < drawing->shapes->len; i++) {
    const LgShape *const shape = &g_array_index(drawing->shapes, LgShape, i);
    if (shape->kind == LG_SHAPE_TEXT && strstr(shape->text, text) != NULL)
      return TRUE;
  }
  return FALSE;
}

static LgDrawing *face_of(const LgJob *job, const char *part, double width)
{
  return lg_face_new(job, lg_job_find_part(job, part), width, NULL);
}

/* Mating face and wire side mirror one another (trade practice, seen in makers' manuals): rows
 * stay, columns run the other way. */
static void test_mirror(void)
{
  TestJob test;
  test_job_open(&test, "library-van-seat.job");
  g_autoptr(LgDrawing) drawing = face_of(test.job, "SEAT", 190);
  test_nothing_overlaps(drawing);
  double sum = 0, row_gap = 0;
  for (int number = 1; number <= 18; number++) {
    char name[8];
    g_snprintf(name, sizeof name, "%d", number);
    const Places places = places_of(drawing, name);
    g_assert_cmpint(places.n, ==, 2);
    if (number == 1) {
      sum = places.x[0] + places.x[1];
      row_gap = places.y[1] - places.y[0];
    }
    g_assert_cmpfloat_with_epsilon(places.x[0] + places.x[1], sum, 1e-9);
    g_assert_cmpfloat_with_epsilon(places.y[1] - places.y[0], row_gap, 1e-9);
  }
  const Places first = places_of(drawing, "1"), sixth = places_of(drawing, "6");
  const Places seventh = places_of(drawing, "7");
  g_assert_cmpfloat(first.x[0], <, sixth.x[0]);
  g_assert_cmpfloat(first.x[1], >, sixth.x[1]);
  g_assert_cmpfloat_with_epsilon(first.x[0], seventh.x[0], 1e-9);
  g_assert_cmpfloat(first.y[0], <, seventh.y[0]);
  test_job_clear(&test);
}

static const char small_job[] = "job \"x\" nominal=12V\npart G1 battery-12 capacity=60Ah\n"
                                "part A assembly face=1x4 view=%s latch=left is=donor\n"
                                "pin A.1 evidence=document colour=RD\npin A.2 fitted=no\npin A.3 "
                                "evidence=told said-by=\"a label\"\n"
                                "pin A.4 restraint=maybe evidence=document\n";

static LgDrawing *small_face(TestJob *test, const char *view)
{
  g_autofree char *text = g_strdup_printf(small_job, view);
  test_job_init(test, text);
  return face_of(test->job, "A", 120);
}

/* The view that the sheet gives comes first and is named. */
static void test_view_is_named(void)
{
  static const struct {
    const char *view, *first;
  } cases[] = {{"wire", "Wire side"}, {"mating", "Mating side"}};
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++) {
    TestJob test;
    g_autoptr(LgDrawing) drawing = small_face(&test, cases[i].view);
    for (guint k = 0; k < drawing->shapes->len; k++) {
      const LgShape *const shape = &g_array_index(drawing->shapes, LgShape, k);
      if (shape->kind == LG_SHAPE_TEXT && strstr(shape->text, " side: ") != NULL) {
        g_assert_true(g_str_has_prefix(shape->text, cases[i].first));
        break;
      }
    }
    g_assert_true(has_text(drawing, "latch at the left"));
    g_assert_true(has_text(drawing, "latch at the right")); /* in the mirror */
    test_nothing_overlaps(drawing);
    test_job_clear(&test);
  }
}

static void test_states(void)
{
  TestJob test;
  g_autoptr(LgDrawing) drawing = small_face(&test, "wire");
  static const LgCavityState states[] = {LG_CAVITY_FITTED, LG_CAVITY_EMPTY, LG_CAVITY_UNPROVEN,
                                         LG_CAVITY_RESTRAINT};
  for (int i = 0; i < 4; i++) {
    char name[8];
    g_snprintf(name, sizeof name, "A.%d", i + 1);
    g_assert_cmpint(lg_face_cavity(test.job, lg_job_find_pin(test.job, name)), ==, states[i]);
  }
  g_assert_cmpint(places_of(drawing, "?").n, ==, 2);
  g_assert_true(has_text(drawing, "LEAVE"));
  g_assert_true(has_text(drawing, "told,"));
  g_assert_true(has_text(drawing, "empty"));
  test_job_clear(&test);
}

/* The shapes of the four states differ even when all ink is one colour: number and kinds of shapes
 * of a cavity, without their colours. */
static void test_states_differ_without_hue(void)
{
  TestJob test;
  g_autoptr(LgDrawing) drawing = small_face(&test, "wire");
  g_autoptr(GHashTable) looks = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  int n = 0;
  for (guint i = 0; i < drawing->shapes->len && n < 4; i++) {
    const LgShape *shape = &g_array_index(drawing->shapes, LgShape, i);
    if (shape->kind != LG_SHAPE_OPEN || strcmp(shape->what, "pin") != 0)
      continue;
    g_autoptr(GString) look = g_string_new(NULL);
    for (shape++; shape->kind != LG_SHAPE_CLOSE; shape++)
      if (shape->kind != LG_SHAPE_TEXT || shape->size > 3)
        g_string_append_printf(look, "%d:%d:%.1f ", shape->kind, shape->n, shape->dash);
    g_assert_true(g_hash_table_add(looks, g_strdup(look->str)));
    n++;
  }
  g_assert_cmpint(n, ==, 4);
  test_job_clear(&test);
}

/* Plug-in relay: 86 and 85 at the sides, 30 across from 87 (memory of the trade). */
static void test_relay_base(void)
{
  TestJob test;
  test_job_init(&test, "job \"x\" nominal=12V\npart K1 relay-change\n");
  g_autoptr(LgDrawing) drawing = face_of(test.job, "K1", 190);
  test_nothing_overlaps(drawing);
  const Places common = places_of(drawing, "30"), make = places_of(drawing, "87");
  const Places plus = places_of(drawing, "86"), minus = places_of(drawing, "85");
  const Places rest = places_of(drawing, "87a");
  g_assert_cmpint(common.n, ==, 2);
  for (int view = 0; view < 2; view++) {
    g_assert_cmpfloat_with_epsilon(common.x[view], make.x[view], 1e-9);
    g_assert_cmpfloat_with_epsilon(rest.x[view], make.x[view], 1e-9);
    g_assert_cmpfloat(make.y[view], <, common.y[view]);
    g_assert_cmpfloat_with_epsilon(plus.y[view], minus.y[view], 1e-9);
  }
  g_assert_cmpfloat(plus.x[0], <, minus.x[0]);
  g_assert_cmpfloat(plus.x[1], >, minus.x[1]);
  g_assert_true(has_text(drawing, "from memory"));
  test_job_clear(&test);
}

static void test_nothing_overlaps_at_any_width(void)
{
  static const char *const examples[] = {"library-van-seat.job", "library-van-seat-flawed.job",
                                         "co-op-flatbed.job", "co-op-flatbed-flawed.job"};
  for (gsize i = 0; i < G_N_ELEMENTS(examples); i++) {
    TestJob test;
    test_job_open(&test, examples[i]);
    for (double width = 60; width < 420; width += 37) {
      g_autoptr(GPtrArray) faces = lg_faces_new(test.job, width, NULL);
      for (guint k = 0; k < faces->len; k++)
        test_nothing_overlaps(faces->pdata[k]);
    }
    test_job_clear(&test);
  }
}

/* A face without its layout still gets its table, and says that the places are not known. */
static void test_places_not_known(void)
{
  TestJob test;
  test_job_init(&test, "job \"x\" nominal=12V\npart A assembly\npin A.x\npin A.y\npin A.z\n"
                       "part B assembly face=2x2\npin B.x\npin B.3\npin B.y\npin B.9\npin B.z\n");
  g_autoptr(LgDrawing) a = face_of(test.job, "A", 150);
  g_assert_true(has_text(a, "places not known"));
  test_nothing_overlaps(a);
  /* More pins than cavities: all of them are in the table. */
  g_autoptr(LgDrawing) b = face_of(test.job, "B", 150);
  test_nothing_overlaps(b);
  g_assert_true(has_text(b, "9"));
  g_assert_true(has_text(b, "z"));
  test_job_clear(&test);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/face/mirror", test_mirror);
  g_test_add_func("/face/view is named", test_view_is_named);
  g_test_add_func("/face/states", test_states);
  g_test_add_func("/face/states differ without hue", test_states_differ_without_hue);
  g_test_add_func("/face/relay base", test_relay_base);
  g_test_add_func("/face/nothing overlaps at any width", test_nothing_overlaps_at_any_width);
  g_test_add_func("/face/places not known", test_places_not_known);
  return g_test_run();
}
