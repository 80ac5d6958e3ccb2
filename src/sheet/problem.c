#include "sheet/sheet-private.h"

static void free_problem(gpointer data)
{
  LgProblem *const problem = data;
  g_free(problem->what);
  g_free(problem->remedy);
  g_free(problem);
}

GPtrArray *lg_problems_new(void)
{
  return g_ptr_array_new_with_free_func(free_problem);
}

/* Whether `a` is told before `b`: only places in one file can be compared. */
static gboolean comes_before(const LgOrigin *a, const LgOrigin *b)
{
  if (g_strcmp0(a->file, b->file) != 0)
    return FALSE;
  return a->line != b->line ? a->line < b->line : a->column < b->column;
}

void lg_sheet_add_problem(LgSheet *sheet, LgOrigin origin, char *what, char *remedy)
{
  LgProblem *const problem = g_new(LgProblem, 1);
  *problem = (LgProblem){origin, what, remedy};
  guint i = sheet->problems->len;
  while (i > 0) {
    const LgProblem *const other = sheet->problems->pdata[i - 1];
    if (!comes_before(&origin, &other->origin))
      break;
    i--;
  }
  g_ptr_array_insert(sheet->problems, (int)i, problem);
}

gboolean lg_ask_problem(const LgAsk *ask, char *what, char *remedy)
{
  lg_sheet_add_problem(ask->sheet, ask->origin, what, remedy);
  return FALSE;
}

gboolean lg_ask_refuse(const LgAsk *ask, const char *before, const char *behind, char *remedy)
{
  g_autofree char *shown = lg_excerpt(ask->text, ask->length);
  return lg_ask_problem(ask, g_strconcat(before, shown, behind, NULL), remedy);
}

char *lg_excerpt(const char *text, gsize length)
{
  enum { MOST_SHOWN = 40 };
  GString *const out = g_string_new("`");
  const char *const end = text + length;
  int n = 0;
  for (; text < end && n < MOST_SHOWN; text = g_utf8_next_char(text), n++) {
    const gunichar c = g_utf8_get_char(text);
    g_string_append_unichar(out, g_unichar_isprint(c) ? c : 0xFFFD);
  }
  g_string_append(out, text < end ? "\342\200\246`" : "`");
  return g_string_free(out, FALSE);
}

char *lg_list_words(const char *const words[])
{
  GString *const out = g_string_new(NULL);
  for (int i = 0; words[i] != NULL; i++) {
    if (i > 0)
      g_string_append(out, words[i + 1] == NULL ? " or " : ", ");
    g_string_append(out, words[i]);
  }
  return g_string_free(out, FALSE);
}

static const char *name_in_usage(LgNaming naming)
{
  switch (naming) {
  case LG_NAMED_TEXT:
    return " \"TITLE\"";
  case LG_NAMED_PLAIN:
    return " NAME";
  case LG_NAMED_DOTTED:
    return " PART.NAME";
  case LG_NAMED_SIZE:
    return " SIZE";
  case LG_NAMED_NOT:
    break;
  }
  return "";
}

char *lg_kind_usage(LgKind kind)
{
  GString *const out = g_string_new(lg_kinds[kind].word);
  g_string_append(out, name_in_usage(lg_kinds[kind].naming));
  for (int place = 1; lg_field_at_place(kind, place) >= 0; place++)
    g_string_append_printf(out, " %s", lg_kinds[kind].fields[lg_field_at_place(kind, place)].key);
  return g_string_free(out, FALSE);
}
