#include "packet/document-private.h"

static void clear_mark(gpointer mark)
{
  g_free(((LgMark *)mark)->text);
  g_clear_pointer(&((LgMark *)mark)->jpeg, g_bytes_unref);
}

GArray *lg_marks_new(void)
{
  GArray *const marks = g_array_new(FALSE, TRUE, sizeof(LgMark));
  g_array_set_clear_func(marks, clear_mark);
  return marks;
}

void lg_marks_rule(GArray *marks, LgTone tone, double x, double y, double width, double height)
{
  const LgMark mark = {
      .kind = LG_MARK_RULE, .tone = tone, .x = x, .y = y, .width = width, .height = height};
  g_array_append_val(marks, mark);
}

void lg_marks_frame(GArray *marks, LgTone tone, double x, double y, double width, double height,
                    double weight)
{
  const LgMark mark = {.kind = LG_MARK_FRAME,
                       .tone = tone,
                       .x = x,
                       .y = y,
                       .width = width,
                       .height = height,
                       .weight = weight};
  g_array_append_val(marks, mark);
}

void lg_marks_grade(GArray *marks, LgGrade grade, double x, double y, double size)
{
  const LgMark mark = {.kind = LG_MARK_GRADE,
                       .tone = grade <= LG_GRADE_FAULT ? LG_TONE_ACCENT : LG_TONE_INK,
                       .x = x,
                       .y = y,
                       .width = size,
                       .height = size,
                       .grade = grade};
  g_array_append_val(marks, mark);
}

void lg_marks_photo(GArray *marks, GBytes *jpeg, const int pixels[2], double x, double y,
                    double width, double height)
{
  const LgMark mark = {.kind = LG_MARK_PHOTO,
                       .tone = LG_TONE_INK,
                       .x = x,
                       .y = y,
                       .width = width,
                       .height = height,
                       .jpeg = g_bytes_ref(jpeg),
                       .pixels = {pixels[0], pixels[1]}};
  g_array_append_val(marks, mark);
}

void lg_marks_add(GArray *to, const GArray *from, double dx, double dy)
{
  for (guint i = 0; i < from->len; i++) {
    LgMark mark = g_array_index(from, LgMark, i);
    mark.x += dx;
    mark.y += dy;
    mark.text = g_strdup(mark.text);
    if (mark.jpeg != NULL)
      g_bytes_ref(mark.jpeg);
    g_array_append_val(to, mark);
  }
}
