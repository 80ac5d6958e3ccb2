/* Small drawings on sheets of paper: all of them, in their order, none cut. */
#include "drawing/drawing-testing.h"
#include "drawing/paper.h"

static LgDrawing *card(double width, double height, int number)
{
  LgDrawing *const drawing = lg_drawing_new(width, height, "card");
  g_autofree char *text = g_strdup_printf("card %d", number);
  lg_draw_box(drawing, lg_stroke_line, (LgBox){0, 0, width, height});
  lg_draw_text(drawing, lg_letters_plain, 2, 5, text);
  return drawing;
}

static void test_stack(void)
{
  g_autoptr(GPtrArray) cards = g_ptr_array_new_with_free_func((GDestroyNotify)lg_drawing_free);
  for (int i = 0; i < 20; i++)
    g_ptr_array_add(cards, card(150, 30 + i, i));
  g_ptr_array_add(cards, card(230, 400, 20)); /* larger than the paper */
  g_ptr_array_add(cards, card(150, 30, 21));
  for (int letter = 0; letter < 2; letter++) {
    g_autoptr(GPtrArray) sheets = lg_drawings_stack(cards, letter != 0, "cards");
    int next = 0;
    for (guint s = 0; s < sheets->len; s++) {
      const LgDrawing *const sheet = sheets->pdata[s];
      test_nothing_overlaps(sheet);
      double below = 0;
      for (guint k = 0; k < sheet->shapes->len; k++) {
        const LgShape *const shape = &g_array_index(sheet->shapes, LgShape, k);
        if (shape->kind == LG_SHAPE_PATH) {
          const LgSpot *const corner = &g_array_index(sheet->spots, LgSpot, shape->first);
          g_assert_cmpfloat(corner[0].y, >=, below);
          g_assert_cmpfloat(corner[0].x, >=, 9.9);
          g_assert_cmpfloat(corner[2].x, <=, sheet->width - 9.9);
          g_assert_cmpfloat(corner[2].y, <=, sheet->height - 9.9);
          below = corner[2].y;
        }
        if (shape->kind == LG_SHAPE_TEXT) {
          g_autofree char *text = g_strdup_printf("card %d", next++);
          g_assert_cmpstr(shape->text, ==, text);
        }
      }
    }
    g_assert_cmpint(next, ==, 22);
    /* ISO 216: A4 is 210 mm x 297 mm; ANSI Y14.1: size A is 8.5 in x 11 in. Memory. */
    const LgDrawing *const first = sheets->pdata[0];
    g_assert_cmpfloat_with_epsilon(first->width, letter ? 8.5 * 25.4 : 210, 1e-9);
    g_assert_cmpfloat_with_epsilon(first->height, letter ? 11 * 25.4 : 297, 1e-9);
  }
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/paper/stack", test_stack);
  return g_test_run();
}
