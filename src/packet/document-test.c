/* Paper: geometry without ink (nothing overlaps, nothing leaves its page, nothing is lost or out of
 * order), then the PDF as other programs see it (qpdf, poppler). */
#include "packet/document-private.h"
#include <glib/gstdio.h>
#include <math.h>
#include <string.h>
#include <unistd.h>

#define COLUMN(key, title, type, dim)                                                              \
  {                                                                                                \
    key, title, type, dim, 3                                                                       \
  }
#define COLUMNS_END COLUMN(NULL, NULL, LG_CELL_TEXT, LG_DIM_NONE)

static const LgColumn few[] = {COLUMN("row", "Row", LG_CELL_TEXT, LG_DIM_NONE),
                               COLUMN("what", "What it is", LG_CELL_TEXT, LG_DIM_NONE),
                               COLUMN("i_A", "Worst current", LG_CELL_NUMBER, LG_DIM_CURRENT),
                               COLUMNS_END};
static const LgColumn many[] = {COLUMN("row", "Row", LG_CELL_TEXT, LG_DIM_NONE),
                                COLUMN("a", "From", LG_CELL_TEXT, LG_DIM_NONE),
                                COLUMN("b", "To", LG_CELL_TEXT, LG_DIM_NONE),
                                COLUMN("c", "Function", LG_CELL_TEXT, LG_DIM_NONE),
                                COLUMN("d", "Terminal, from", LG_CELL_TEXT, LG_DIM_NONE),
                                COLUMN("e", "Terminal, to", LG_CELL_TEXT, LG_DIM_NONE),
                                COLUMN("f", "Insulation", LG_CELL_TEXT, LG_DIM_NONE),
                                COLUMN("i_A", "Worst current", LG_CELL_NUMBER, LG_DIM_CURRENT),
                                COLUMN("l_m", "Length", LG_CELL_NUMBER, LG_DIM_LENGTH),
                                COLUMN("t_degC", "Conductor", LG_CELL_NUMBER, LG_DIM_TEMPERATURE),
                                COLUMNS_END};

/* Words of several scripts and lengths. */
static char *odd_words(int most)
{
  static const char *const words[] = {
      "feed",
      "of",
      "the",
      "lift",
      "GN/BU",
      "座椅加熱器接地線",
      "שלום",
      "עולם",
      "مقعد",
      "e\u0301te\u0301",
      "W12",
      "SEAT_SWITCH.31b_ground",
      "14 AWG",
      "\n",
      "ΩΩ",
      "-",
      "\t",
      "ground",
      "Ж",
      "temperature",
      "(12)",
      "a\u200bb",
      "\x1b[1m",
      "a-word-far-longer-than-any-column-that-could-be-made-for-it-on-paper-of-that-size"};
  GString *const text = g_string_new(NULL);
  for (int n = g_test_rand_int_range(0, most + 1); n > 0; n--)
    g_string_append_printf(text, "%s%s", words[g_test_rand_int_range(0, G_N_ELEMENTS(words))],
                           n > 1 ? " " : "");
  return g_string_free(text, FALSE);
}

static double odd_number(void)
{
  return g_test_rand_int_range(0, 6) == 0 ? NAN : pow(10, g_test_rand_double_range(-6, 4));
}

static LgTable *odd_table(gboolean wide, int n_rows, int words)
{
  LgTable *const table = lg_table_new("t", "T", wide ? many : few);
  for (int row = 0; row < n_rows; row++) {
    g_autofree char *name = g_strdup_printf("R%d", row);
    char *text[6];
    for (int i = 0; i < 6; i++)
      text[i] = odd_words(i == 2 ? words : 2);
    if (wide)
      lg_table_add(table, name, text[0], text[1], text[2], text[3], text[4], text[5], odd_number(),
                   odd_number(), odd_number());
    else
      lg_table_add(table, name, text[2], odd_number());
    for (int i = 0; i < 6; i++)
      g_free(text[i]);
  }
  if (g_test_rand_bit())
    table->note = odd_words(30);
  return table;
}

static void add_odd_table(LgDocument *document)
{
  static const char *const blanks[] = {"Found", "Who, when", NULL};
  const gboolean wide = g_test_rand_int_range(0, 3) == 0;
  const gboolean tall = g_test_rand_int_range(0, 8) == 0;
  g_autoptr(LgTable) table =
      odd_table(wide, g_test_rand_int_range(1, tall ? 4 : 60), tall ? 900 : 12);
  lg_document_table(document, table, LG_HABIT_METRIC, wide || g_test_rand_bit() ? NULL : blanks);
}

static void add_odd_findings(LgDocument *document)
{
  g_autoptr(GPtrArray) findings = lg_findings_new();
  for (int i = g_test_rand_int_range(1, 6); i > 0; i--) {
    LgFinding *const finding = g_new0(LgFinding, 1);
    finding->rule = "rule-with-a-name";
    finding->grade = (LgGrade)g_test_rand_int_range(0, LG_N_GRADES);
    finding->subject = odd_words(8);
    finding->what = odd_words(40);
    finding->basis = g_test_rand_bit() ? odd_words(30) : NULL;
    finding->remedy = odd_words(20);
    g_ptr_array_add(findings, finding);
  }
  lg_document_findings(document, findings);
}

static void add_odd_content(LgDocument *document)
{
  g_autofree char *head = odd_words(6), *a = odd_words(60), *b = odd_words(25);
  g_autofree char *text = g_strconcat(a, " end", NULL);
  const char *const lines[] = {text, b, text, NULL};
  switch (g_test_rand_int_range(0, 5)) {
  case 0:
    return lg_document_paragraph(document, text);
  case 1:
    return lg_document_list(document, lines, g_test_rand_bit());
  case 2:
    return lg_document_box(document, head, lines, g_test_rand_bit());
  case 3:
    return add_odd_findings(document);
  default:
    return add_odd_table(document);
  }
}

static void add_odd_block(LgDocument *document)
{
  g_autofree char *head = odd_words(6);
  if (g_test_rand_int_range(0, 5) == 0)
    lg_document_section(document, head);
  if (g_test_rand_int_range(0, 5) == 0)
    lg_document_heading(document, head);
  if (g_test_rand_int_range(0, 5) == 0)
    lg_document_space(document, g_test_rand_double_range(0, 80));
  add_odd_content(document);
}

static LgDocument *odd_document(void)
{
  g_autofree char *title = odd_words(20);
  LgDocument *const document =
      lg_document_new(g_test_rand_bit() ? LG_PAPER_A4 : LG_PAPER_LETTER, title, "revision 3");
  if (g_test_rand_bit())
    lg_document_cover(document, title, (const char *const[]){"Donor: a car", "Host: a van", NULL});
  for (int n = g_test_rand_int_range(0, 25); n > 0; n--)
    add_odd_block(document);
  lg_document_paragraph(document, "The end.");
  return document;
}

#define HAIR 0.02

static gboolean overlap(const LgMark *a, const LgMark *b)
{
  return a->x + HAIR < b->x + b->width && b->x + HAIR < a->x + a->width &&
         a->y + HAIR < b->y + b->height && b->y + HAIR < a->y + a->height;
}

static const LgMark *mark_at(const LgPage *page, guint i)
{
  return &g_array_index(page->marks, LgMark, i);
}

/* The three texts and the rule of the foot come last. */
static guint body_length(const LgPage *page)
{
  guint n = page->marks->len;
  while (n > 0 && mark_at(page, n - 1)->y >= page->frame.height - page->frame.bottom)
    n--;
  return n;
}

static void check_within(const LgPage *page)
{
  const LgFrame *const frame = &page->frame;
  for (guint i = 0; i < page->marks->len; i++) {
    const LgMark *const mark = mark_at(page, i);
    const double foot = i < body_length(page) ? frame->bottom : 20;
    g_assert_cmpfloat(mark->x, >=, frame->left - HAIR);
    g_assert_cmpfloat(mark->y, >=, frame->top - HAIR);
    g_assert_cmpfloat(mark->x + mark->width, <=, frame->width - frame->right + HAIR);
    g_assert_cmpfloat(mark->y + mark->height, <=, frame->height - foot + HAIR);
  }
}

static void check_apart(const LgPage *page)
{
  for (guint i = 0; i < page->marks->len; i++)
    for (guint k = 0; k < page->marks->len; k++) {
      const LgMark *const a = mark_at(page, i), *const b = mark_at(page, k);
      if (i == k || a->kind != LG_MARK_TEXT || b->kind == LG_MARK_FRAME)
        continue;
      if (overlap(a, b))
        g_error("`%s` at %g %g lies over `%s` at %g %g (kind %d)", a->text, a->x, a->y,
                b->text != NULL ? b->text : "", b->x, b->y, b->kind);
    }
}

/* What is measured is what will be inked, but for a kern before the blank at which a line was
 * broken and for blanks between scripts, which take the face of either neighbour. */
static void check_widths(const LgPage *page, LgType *type)
{
  for (guint i = 0; i < page->marks->len; i++) {
    const LgMark *const mark = mark_at(page, i);
    if (mark->kind != LG_MARK_TEXT || mark->cut)
      continue;
    const double natural = lg_type_natural(type, mark->face, mark->text);
    if (natural > 1.01 * mark->width + 0.08 * lg_type_leading(mark->face))
      g_error("`%s` is %g wide, not %g", mark->text, natural, mark->width);
  }
}

static gboolean is_heading(const LgMark *mark)
{
  return mark->kind == LG_MARK_TEXT &&
         (mark->face == LG_FACE_HEADING || mark->face == LG_FACE_SECTION);
}

static void check_no_orphan(const LgPage *page)
{
  const guint n = body_length(page);
  g_assert_true(n == 0 || !is_heading(mark_at(page, n - 1)));
}

static void check_pages(const LgDocument *document)
{
  g_autoptr(LgType) type = lg_type_new();
  g_autoptr(GPtrArray) pages = lg_document_lay_out(document, type);
  g_assert_cmpint(lg_document_n_pages(document), ==, (int)pages->len);
  for (guint i = 0; i < pages->len; i++) {
    const LgPage *const page = pages->pdata[i];
    check_within(page);
    check_apart(page);
    check_widths(page, type);
    check_no_orphan(page);
    g_autofree char *count = g_strdup_printf("%u of %u", i + 1, pages->len);
    g_assert_cmpstr(mark_at(page, page->marks->len - 1)->text, ==, count);
  }
}

static void test_geometry(void)
{
  for (int round = 0; round < (g_test_quick() ? 25 : 2000); round++) {
    g_autoptr(LgDocument) document = odd_document();
    check_pages(document);
  }
}

/* Rows in order and none lost, titles on each page of the table. */
static void check_rows(int n_rows, gboolean wide, int words)
{
  g_autoptr(LgTable) table = odd_table(wide, n_rows, words);
  g_autoptr(LgDocument) document = lg_document_new(LG_PAPER_A4, "Title", "revision");
  lg_document_section(document, "Section");
  lg_document_table(document, table, LG_HABIT_METRIC, NULL);
  g_autoptr(LgType) type = lg_type_new();
  g_autoptr(GPtrArray) pages = lg_document_lay_out(document, type);
  int next = 0;
  for (guint i = 0; i < pages->len; i++) {
    const LgPage *const page = pages->pdata[i];
    int n_titles = 0;
    const int before = next;
    for (guint k = 0; k < body_length(page); k++) {
      const LgMark *const mark = mark_at(page, k);
      n_titles += mark->face == LG_FACE_CELL_STRONG && g_strcmp0(mark->text, "Row") == 0;
      g_autofree char *name = g_strdup_printf("R%d", next);
      next += mark->face == LG_FACE_CELL && g_strcmp0(mark->text, name) == 0;
    }
    g_assert_true(next == before || n_titles == 1);
  }
  g_assert_cmpint(next, ==, n_rows);
}

static void test_rows(void)
{
  for (int round = 0; round < 20; round++)
    check_rows(g_test_rand_int_range(1, 150), g_test_rand_bit(), 14);
  check_rows(3, FALSE, 3000);
}

static int count_text(const GPtrArray *pages, const char *text)
{
  int n = 0;
  for (guint i = 0; i < pages->len; i++)
    for (guint k = 0; k < body_length(pages->pdata[i]); k++)
      n += g_strcmp0(mark_at(pages->pdata[i], k)->text, text) == 0;
  return n;
}

static void test_turning(void)
{
  g_autoptr(LgTable) narrow = odd_table(FALSE, 3, 2);
  g_autoptr(LgTable) wide = odd_table(TRUE, 3, 2);
  g_autoptr(LgDocument) document = lg_document_new(LG_PAPER_LETTER, "Title", "");
  lg_document_section(document, "One");
  lg_document_table(document, narrow, LG_HABIT_US, NULL);
  lg_document_section(document, "Two");
  for (int row = 0; row < wide->n_rows; row++)
    for (int c = 1; c < 7; c++) {
      LgCell *const cell = &g_array_index(wide->cells, LgCell, row * wide->n_columns + c);
      g_free(cell->text);
      cell->text = g_strdup("terminal_10mm2");
    }
  lg_document_table(document, wide, LG_HABIT_US, NULL);
  lg_document_section(document, "Three");
  lg_document_table(document, narrow, LG_HABIT_US, NULL);
  g_autoptr(LgType) type = lg_type_new();
  g_autoptr(GPtrArray) pages = lg_document_lay_out(document, type);
  g_assert_cmpuint(pages->len, ==, 3);
  for (guint i = 0; i < 3; i++) {
    const LgFrame *const frame = &((const LgPage *)pages->pdata[i])->frame;
    g_assert_cmpfloat(frame->width, ==, i == 1 ? 792 : 612);
    g_assert_cmpfloat(frame->height, ==, i == 1 ? 612 : 792);
  }
  g_assert_cmpint(count_text(pages, "terminal_10mm2"), ==, 18);
}

/* A place for a pen is at least 18 mm wide and 8 mm high. */
static void test_blanks(void)
{
  static const char *const blanks[] = {"A", "B", "C", NULL};
  g_autoptr(LgTable) table = odd_table(FALSE, 4, 40);
  g_clear_pointer(&table->note, g_free);
  g_autoptr(LgDocument) document = lg_document_new(LG_PAPER_A4, "Title", "");
  lg_document_table(document, table, LG_HABIT_METRIC, blanks);
  g_autoptr(LgType) type = lg_type_new();
  g_autoptr(GPtrArray) pages = lg_document_lay_out(document, type);
  double last = -1;
  int n_edges = 0;
  for (guint k = 0; k < body_length(pages->pdata[0]); k++) {
    const LgMark *const mark = mark_at(pages->pdata[0], k);
    if (mark->kind != LG_MARK_RULE || mark->width > 1)
      continue;
    g_assert_cmpfloat(mark->height, >=, 8 * LG_POINTS_PER_MM - HAIR);
    if (n_edges % 4 != 0)
      g_assert_cmpfloat(mark->x - last, >=, 18 * LG_POINTS_PER_MM);
    last = mark->x;
    n_edges++;
  }
  g_assert_cmpint(n_edges, ==, 16);
}

/* Figures end where their units begin, over all rows of a column. */
static void test_figures_in_line(void)
{
  g_autoptr(LgTable) table = lg_table_new("t", "T", few);
  static const double values[] = {1.5, 0.0125, 123, 28.4};
  for (gsize i = 0; i < G_N_ELEMENTS(values); i++)
    lg_table_add(table, "", "", values[i]);
  g_autoptr(LgDocument) document = lg_document_new(LG_PAPER_A4, "Title", "");
  lg_document_table(document, table, LG_HABIT_METRIC, NULL);
  g_autoptr(LgType) type = lg_type_new();
  g_autoptr(GPtrArray) pages = lg_document_lay_out(document, type);
  double end = NAN;
  int n = 0;
  for (guint k = 0; k < body_length(pages->pdata[0]); k++) {
    const LgMark *const mark = mark_at(pages->pdata[0], k);
    if (mark->kind != LG_MARK_TEXT || mark->face != LG_FACE_CELL)
      continue;
    g_autofree char *figures = g_strndup(mark->text, lg_figures_span(mark->text));
    const double here = mark->x + lg_type_natural(type, LG_FACE_CELL, figures);
    if (n++ > 0)
      g_assert_cmpfloat_with_epsilon(here, end, 0.01);
    end = here;
  }
  g_assert_cmpint(n, ==, G_N_ELEMENTS(values));
}

/* Figures are of one width in the faces that tables use, so that columns of them can be compared.
 */
static void test_tabular_figures(void)
{
  g_autoptr(LgType) type = lg_type_new();
  const double one = lg_type_natural(type, LG_FACE_CELL, "1111");
  for (char figure = '0'; figure <= '9'; figure++) {
    const char text[] = {figure, figure, figure, figure, '\0'};
    g_assert_cmpfloat_with_epsilon(lg_type_natural(type, LG_FACE_CELL, text), one, 1e-3);
  }
}

/* A long paragraph never leaves or brings a single line, and keeps all words. */
static void test_prose(void)
{
  g_autoptr(GString) text = g_string_new(NULL);
  for (int i = 0; i < 2500; i++)
    g_string_append_printf(text, "w%d ", i);
  g_autoptr(LgType) type = lg_type_new();
  for (int space_mm = 0; space_mm < 230; space_mm += 2) {
    g_autoptr(LgDocument) document = lg_document_new(LG_PAPER_A4, "Title", "");
    lg_document_paragraph(document, "First.");
    lg_document_space(document, space_mm);
    lg_document_paragraph(document, text->str);
    g_autoptr(GPtrArray) pages = lg_document_lay_out(document, type);
    g_autoptr(GString) got = g_string_new(NULL);
    for (guint i = 0; i < pages->len; i++) {
      const guint n = body_length(pages->pdata[i]);
      g_assert_true(i == 0 ? n != 2 : n >= 2);
      for (guint k = i == 0 ? 1 : 0; k < n; k++)
        g_string_append_printf(got, "%s ", mark_at(pages->pdata[i], k)->text);
    }
    g_assert_cmpstr(got->str, ==, text->str);
  }
}

static LgDocument *plain_document(void)
{
  LgDocument *const document = lg_document_new(LG_PAPER_A4, "A (strange) \\ title", "revision 3");
  static const char *const lines[] = {"Donor: a car", NULL};
  lg_document_cover(document, "A van's seat", lines);
  lg_document_section(document, "First section");
  lg_document_box(document, "Stop", lines, TRUE);
  lg_document_heading(document, "A heading");
  lg_document_paragraph(document, "座椅 שלום Ж and Ω, all in one.");
  lg_document_list(document, lines, TRUE);
  g_autoptr(LgTable) table = lg_table_new("t", "T", few);
  for (int row = 0; row < 80; row++) {
    g_autofree char *name = g_strdup_printf("R%d", row);
    lg_table_add(table, name, "feed of the lift", 0.5 + row);
  }
  lg_document_table(document, table, LG_HABIT_METRIC, NULL);
  lg_document_section(document, "Last section");
  lg_document_paragraph(document, "The end.");
  return document;
}

static GBytes *finish(void)
{
  g_autoptr(LgDocument) document = plain_document();
  g_autoptr(GError) error = NULL;
  GBytes *const bytes = lg_document_finish(document, &error);
  g_assert_no_error(error);
  return bytes;
}

static void test_equal_bytes(void)
{
  g_autoptr(GBytes) one = finish();
  g_usleep(1100000); /* any clock of seconds moves on */
  g_autoptr(GBytes) two = finish();
  g_assert_true(g_bytes_equal(one, two));
}

/* What a program says of the PDF; NULL when the program is not there. */
static char *ask(const char *const before[], GBytes *pdf, const char *after)
{
  g_autofree char *program = g_find_program_in_path(before[0]);
  if (program == NULL)
    return NULL;
  g_autofree char *path = NULL;
  const int file = g_file_open_tmp("paper-XXXXXX.pdf", &path, NULL);
  g_assert_cmpint(file, >=, 0);
  close(file);
  g_assert_true(
      g_file_set_contents(path, g_bytes_get_data(pdf, NULL), (gssize)g_bytes_get_size(pdf), NULL));
  g_autoptr(GPtrArray) arguments = g_ptr_array_new();
  for (int i = 0; before[i] != NULL; i++)
    g_ptr_array_add(arguments, (char *)before[i]);
  g_ptr_array_add(arguments, path);
  g_ptr_array_add(arguments, (char *)after);
  g_ptr_array_add(arguments, NULL);
  char *output = NULL;
  int status = 1;
  g_assert_true(g_spawn_sync(NULL, (char **)arguments->pdata, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL,
                             &output, NULL, &status, NULL));
  g_assert_cmpint(status, ==, 0);
  g_unlink(path);
  return output;
}

static void test_qpdf(void)
{
  g_autoptr(GBytes) pdf = finish();
  g_autofree char *said = ask((const char *const[]){"qpdf", "--check", NULL}, pdf, NULL);
  if (said == NULL)
    return g_test_skip("no qpdf");
  g_assert_nonnull(strstr(said, "No syntax or stream encoding errors"));
  g_autofree char *json = ask((const char *const[]){"qpdf", "--json", NULL}, pdf, NULL);
  g_assert_null(strstr(json, "CreationDate"));
  g_assert_null(strstr(json, "ModDate"));
  g_assert_nonnull(strstr(json, "\"title\": \"First section\""));
  g_assert_nonnull(strstr(json, "\"title\": \"A heading\""));
}

/* The columns of pdffonts end in: emb, sub, uni, object, generation. */
static void test_fonts_embedded(void)
{
  g_autoptr(GBytes) pdf = finish();
  g_autofree char *said = ask((const char *const[]){"pdffonts", NULL}, pdf, NULL);
  if (said == NULL)
    return g_test_skip("no pdffonts");
  g_auto(GStrv) lines = g_strsplit(g_strchomp(said), "\n", -1);
  g_assert_cmpuint(g_strv_length(lines), >=, 4);
  for (int i = 2; lines[i] != NULL; i++) {
    g_auto(GStrv) words = g_strsplit_set(lines[i], " ", -1);
    g_autoptr(GPtrArray) full = g_ptr_array_new();
    for (int k = 0; words[k] != NULL; k++)
      if (words[k][0] != '\0')
        g_ptr_array_add(full, words[k]);
    g_assert_cmpuint(full->len, >, 5);
    g_assert_cmpstr(full->pdata[full->len - 5], ==, "yes");
  }
}

static void test_read_back(void)
{
  g_autoptr(GBytes) pdf = finish();
  g_autofree char *said = ask((const char *const[]){"pdftotext", "-layout", NULL}, pdf, "-");
  if (said == NULL)
    return g_test_skip("no pdftotext");
  static const char *const wanted[] = {
      "A van's seat", "First section",        "A heading",  "שלום",  "and Ω, all in one.",
      "Donor: a car", "A (strange) \\ title", "revision 3", "1 of ", "The end."};
  for (gsize i = 0; i < G_N_ELEMENTS(wanted); i++)
    if (strstr(said, wanted[i]) == NULL)
      g_error("`%s` cannot be read back", wanted[i]);
  const char *at = said;
  for (int row = 0; row < 80; row++) {
    g_autofree char *pattern = g_strdup_printf("R%d ", row), *value = NULL;
    at = strstr(at, pattern);
    g_assert_nonnull(at);
    value = lg_quantity_print(0.5 + row, LG_DIM_CURRENT, LG_HABIT_METRIC, 3);
    g_autofree char *line = g_strndup(at, strcspn(at, "\n"));
    g_assert_true(g_str_has_suffix(line, value));
  }
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/document/geometry", test_geometry);
  g_test_add_func("/document/rows", test_rows);
  g_test_add_func("/document/turning", test_turning);
  g_test_add_func("/document/blanks", test_blanks);
  g_test_add_func("/document/figures-in-line", test_figures_in_line);
  g_test_add_func("/document/tabular-figures", test_tabular_figures);
  g_test_add_func("/document/prose", test_prose);
  g_test_add_func("/document/pdf/equal-bytes", test_equal_bytes);
  g_test_add_func("/document/pdf/qpdf", test_qpdf);
  g_test_add_func("/document/pdf/fonts", test_fonts_embedded);
  g_test_add_func("/document/pdf/read-back", test_read_back);
  return g_test_run();
}
