#include "drawing/scale-bar.h"
#include "base/words.h"

void lg_scale_bar_draw(LgDrawing *drawing, double x, double y, gboolean inches)
{
  const double unit = inches ? 25.4 : 10;
  const int n = inches ? 4 : 10;
  lg_draw_open(drawing, "scale-bar", inches ? "4 in" : "100 mm");
  for (int i = 0; i < n; i++) {
    LgStroke cell = lg_stroke_thin;
    cell.fill = i % 2 == 0 ? LG_INK_DARK : LG_INK_PAPER;
    lg_draw_box(drawing, cell, (LgBox){x + i * unit, y, x + (i + 1) * unit, y + 1.6});
  }
  lg_draw_close(drawing);
  lg_draw_text(
      drawing, lg_letters_small, x, y + 5,
      inches ? T_("4 inches. If a rule disagrees, print again at 100 %, not fitted to the page.")
             : T_("100 mm. If a rule disagrees, print again at 100 %, not fitted to the page."));
}
