/* Tables and reports: CSV against RFC 4180 and a general reader, JSON against a parser, text on a
 * terminal against libc's idea of widths. */
#include "base/table.h"
#include "base/terminal-private.h"
#include <jansson.h>
#include <locale.h>
#include <math.h>
#include <string.h>
#include <unistd.h>
#include <wchar.h>

static const LgColumn two_texts[] = {{"a", "First", LG_CELL_TEXT, LG_DIM_NONE, 0},
                                     {"b", "Second", LG_CELL_TEXT, LG_DIM_NONE, 0},
                                     {NULL, NULL, LG_CELL_TEXT, LG_DIM_NONE, 0}};
static const LgColumn one_text[] = {{"a", "Only", LG_CELL_TEXT, LG_DIM_NONE, 0},
                                    {NULL, NULL, LG_CELL_TEXT, LG_DIM_NONE, 0}};
static const LgColumn mixed[] = {{"name", "Name", LG_CELL_TEXT, LG_DIM_NONE, 0},
                                 {"current_A", "Current", LG_CELL_NUMBER, LG_DIM_CURRENT, 3},
                                 {"air_degC", "Air", LG_CELL_NUMBER, LG_DIM_TEMPERATURE, 3},
                                 {"holds", "Holds", LG_CELL_FLAG, LG_DIM_NONE, 0},
                                 {"count", "Count", LG_CELL_NUMBER, LG_DIM_NONE, 6},
                                 {NULL, NULL, LG_CELL_TEXT, LG_DIM_NONE, 0}};

static LgTable *mixed_table(void)
{
  LgTable *const table = lg_table_new("mixed", "Mixed", mixed);
  lg_table_add(table, "lift, up", 12.3456, 298.15, TRUE, 7.0);
  lg_table_add(table, NULL, NAN, 233.15, FALSE, 1e5);
  lg_table_add(table, "pad", 0.0123, NAN, TRUE, INFINITY);
  return table;
}

static void test_cells(void)
{
  g_autoptr(LgTable) table = mixed_table();
  static const char *const printed[3][5] = {{"lift, up", "12.3 A", "25.0 degC", "yes", "7"},
                                            {"", "?", "-40.0 degC", "no", "100000"},
                                            {"pad", "12.3 mA", "?", "yes", "infinity"}};
  for (int row = 0; row < 3; row++)
    for (int c = 0; c < 5; c++) {
      g_autofree char *text = lg_table_print_cell(table, row, c, LG_HABIT_METRIC);
      g_assert_cmpstr(text, ==, printed[row][c]);
    }
  g_autofree char *us = lg_table_print_cell(table, 1, 2, LG_HABIT_US);
  g_assert_cmpstr(us, ==, "-40.0 degF");
  g_assert_cmpuint(lg_figures_span("12.3 mA"), ==, 4);
  g_assert_cmpuint(lg_figures_span("?"), ==, 1);
  g_assert_cmpuint(lg_figures_span("100000"), ==, 6);
}

/* The records are those of RFC 4180, section 2, rules 5 to 7 (from memory): quoted fields, a line
 * end within a field, a doubled quote. */
static void test_csv_rfc(void)
{
  g_autoptr(LgTable) table = lg_table_new("t", "T", two_texts);
  lg_table_add(table, "aaa", "b\r\nbb");
  lg_table_add(table, "aaa", "b\"bb");
  lg_table_add(table, "a,a", "");
  lg_table_add(table, " spaces stay ", "zzz");
  g_autofree char *csv = lg_table_csv(table);
  g_assert_cmpstr(csv, ==,
                  "a,b\r\n"
                  "aaa,\"b\r\nbb\"\r\n"
                  "aaa,\"b\"\"bb\"\r\n"
                  "\"a,a\",\r\n"
                  " spaces stay ,zzz\r\n");
}

static void test_csv_values(void)
{
  g_autoptr(LgTable) table = mixed_table();
  g_autofree char *csv = lg_table_csv(table);
  g_assert_cmpstr(csv, ==,
                  "name,current_A,air_degC,holds,count\r\n"
                  "\"lift, up\",12.3456,25,yes,7\r\n"
                  ",,-40,no,100000\r\n"
                  "pad,0.0123,,yes,\r\n");
  g_autoptr(LgTable) lone = lg_table_new("t", "T", one_text);
  lg_table_add(lone, "");
  g_autofree char *lone_csv = lg_table_csv(lone);
  g_assert_cmpstr(lone_csv, ==, "a\r\n\"\"\r\n");
}

/* Which first letters begin a formula in spreadsheets: common practice, no source. */
static void test_csv_formulas(void)
{
  static const char *const cases[][2] = {
      {"=1+1", "\"'=1+1\""},
      {"@SUM(A1)", "\"'@SUM(A1)\""},
      {"+12V", "\"'+12V\""},
      {"-2+3", "\"'-2+3\""},
      {"-", "-"},
      {"-12.5", "-12.5"},
      {"a=1", "a=1"},
      {"\t=1", "\"'\t=1\""},
  };
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autoptr(LgTable) table = lg_table_new("t", "T", one_text);
    lg_table_add(table, cases[i][0]);
    g_autofree char *csv = lg_table_csv(table);
    g_autofree char *want = g_strdup_printf("a\r\n%s\r\n", cases[i][1]);
    g_assert_cmpstr(csv, ==, want);
  }
}

/* A text of letters that trouble writers and readers. */
static char *odd_text(void)
{
  static const char *const pieces[] = {"a",  "W12",  " ", ",",       "\"", "\n", "\r\n",       "=",
                                       "+1", "座椅", "ש", "e\u0301", ";",  "'",  "longer-word"};
  GString *const text = g_string_new(NULL);
  for (int n = g_test_rand_int_range(0, 9); n > 0; n--)
    g_string_append(text, pieces[g_test_rand_int_range(0, G_N_ELEMENTS(pieces))]);
  return g_string_free(text, FALSE);
}

/* The csv module of Python's library reads what we write (its default dialect doubles quotes). */
static void test_csv_read_back(void)
{
  static const char *const reader = "import csv,json,sys\n"
                                    "print(json.dumps(list(csv.reader(open(sys.argv[1],newline='',"
                                    "encoding='utf-8'),strict=True))))";
  g_autoptr(LgTable) table = lg_table_new("t", "T", two_texts);
  for (int row = 0; row < 200; row++) {
    g_autofree char *a = odd_text(), *b = odd_text();
    lg_table_add(table, a, b);
  }
  g_autofree char *csv = lg_table_csv(table), *path = NULL, *json = NULL;
  const int file = g_file_open_tmp("table-XXXXXX.csv", &path, NULL);
  g_assert_cmpint(file, >=, 0);
  g_assert_true(close(file) == 0 && g_file_set_contents(path, csv, -1, NULL));
  const char *const arguments[] = {"python3", "-c", reader, path, NULL};
  int status = 1;
  const gboolean ran =
      g_spawn_sync(NULL, (char **)arguments, NULL, G_SPAWN_SEARCH_PATH | G_SPAWN_STDERR_TO_DEV_NULL,
                   NULL, NULL, &json, NULL, &status, NULL) &&
      status == 0;
  remove(path);
  if (!ran) {
    g_test_skip("no python3 with its csv module");
    return;
  }
  json_t *const rows = json_loads(json, 0, NULL);
  g_assert_cmpuint(json_array_size(rows), ==, 201);
  for (int row = 0; row < 200; row++)
    for (int c = 0; c < 2; c++) {
      const char *const got =
          json_string_value(json_array_get(json_array_get(rows, (gsize)row + 1), (gsize)c));
      const char *const text = lg_table_cell(table, row, c)->text;
      g_assert_cmpstr(got[0] == '\'' && text[0] != '\'' ? got + 1 : got, ==, text);
    }
  json_decref(rows);
}

static LgFinding *finding(LgGrade grade, const char *basis)
{
  LgFinding *const f = g_new0(LgFinding, 1);
  f->rule = "rule-name";
  f->grade = grade;
  f->origin = (LgOrigin){"van.job", 14, 3};
  f->subject = g_strdup("wire W12");
  f->what = g_strdup("It runs 1.4 m before its \"fuse\".");
  f->basis = g_strdup(basis);
  f->remedy = g_strdup("Move the fuse.");
  return f;
}

static LgReport *report(void)
{
  LgReport *const r = lg_report_new("check", "A van\xff");
  r->verdict = g_strdup("One danger stands against building.");
  g_ptr_array_add(r->findings, finding(LG_GRADE_DANGER, "a rule of the trade"));
  g_ptr_array_add(r->findings, finding(LG_GRADE_CAUTION, NULL));
  g_ptr_array_add(r->tables, mixed_table());
  g_ptr_array_add(r->notes, g_strdup("All states were solved."));
  return r;
}

static void test_json(void)
{
  g_autoptr(LgReport) r = report();
  g_autofree char *text = lg_report_json(r);
  g_assert_true(g_str_has_suffix(text, "}\n"));
  json_t *const root = json_loads(text, JSON_REJECT_DUPLICATES, NULL);
  g_assert_nonnull(root);
  json_t *const want = json_pack(
      "{s:i, s:s, s:s, s:s,"
      " s:[{s:s, s:s, s:s, s:i, s:i, s:s, s:s, s:s, s:s}, {s:s, s:s, s:s, s:i, s:i, s:s, s:s, s:n, "
      "s:s}],"
      " s:{s:[{s:s, s:f, s:f, s:b, s:f}, {s:s, s:n, s:f, s:b, s:f}, {s:s, s:f, s:n, s:b, s:n}]}, "
      "s:[s]}",
      "loomgraft", 1, "verb", "check", "job", "A van\ufffd", "verdict",
      "One danger stands against building.", "findings", "grade", "danger", "rule", "rule-name",
      "file", "van.job", "line", 14, "column", 3, "subject", "wire W12", "what",
      "It runs 1.4 m before its \"fuse\".", "basis", "a rule of the trade", "remedy",
      "Move the fuse.", "grade", "caution", "rule", "rule-name", "file", "van.job", "line", 14,
      "column", 3, "subject", "wire W12", "what", "It runs 1.4 m before its \"fuse\".", "basis",
      "remedy", "Move the fuse.", "tables", "mixed", "name", "lift, up", "current_A", 12.3456,
      "air_degC", 25.0, "holds", 1, "count", 7.0, "name", "", "current_A", "air_degC", -40.0,
      "holds", 0, "count", 1e5, "name", "pad", "current_A", 0.0123, "air_degC", "holds", 1, "count",
      "notes", "All states were solved.");
  g_assert_nonnull(want);
  g_assert_true(json_equal(root, want));
  json_decref(root);
  json_decref(want);
}

/* Two columns under one level: widths as the square roots of what is in them. */
static void test_share(void)
{
  const double natural[] = {100, 400}, none[] = {0, 0}, least[] = {90, 50};
  double width[2];
  g_assert_true(lg_share_width(natural, none, 2, 600, width));
  g_assert_cmpfloat(width[0], ==, 100);
  g_assert_cmpfloat(width[1], ==, 400);
  g_assert_true(lg_share_width(natural, none, 2, 150, width));
  g_assert_cmpfloat_with_epsilon(width[0], 50, 1e-6);
  g_assert_cmpfloat_with_epsilon(width[1], 100, 1e-6);
  g_assert_true(lg_share_width(natural, least, 2, 150, width));
  g_assert_cmpfloat_with_epsilon(width[0], 90, 1e-6);
  g_assert_cmpfloat_with_epsilon(width[1], 60, 1e-6);
  g_assert_false(lg_share_width(natural, least, 2, 110, width));
  g_assert_cmpfloat_with_epsilon(width[0], 60, 1e-6);
  g_assert_cmpfloat_with_epsilon(width[1], 50, 1e-6);
}

static void test_share_property(void)
{
  for (int round = 0; round < 2000; round++) {
    double natural[8], least[8], width[8], sum = 0, sum_least = 0;
    const int n = g_test_rand_int_range(1, 9);
    for (int i = 0; i < n; i++) {
      natural[i] = g_test_rand_int_range(0, 5) == 0 ? 0 : g_test_rand_double_range(0, 300);
      least[i] = g_test_rand_double_range(0, 100);
      sum_least += fmin(natural[i], least[i]);
    }
    const double room = g_test_rand_double_range(0, 800);
    const gboolean fits = lg_share_width(natural, least, n, room, width);
    g_assert_cmpint(fits, ==, sum_least <= room);
    for (int i = 0; i < n; i++) {
      g_assert_cmpfloat(width[i], <=, natural[i]);
      g_assert_true(!fits || width[i] >= fmin(natural[i], least[i]));
      sum += width[i];
    }
    g_assert_cmpfloat(sum, <=, room + 1e-6);
  }
}

/* wcswidth of libc counts columns independently of us. */
static void test_terminal_width(void)
{
  static const char *const texts[] = {
      "", "W12", "Länge 2,5 mm²", "座椅加熱", "e\u0301a\u0308", "שלום", "GN/BU Ω ≤ 1"};
  if (setlocale(LC_CTYPE, "C.UTF-8") == NULL) {
    g_test_skip("no locale C.UTF-8");
    return;
  }
  for (gsize i = 0; i < G_N_ELEMENTS(texts); i++) {
    wchar_t wide[64];
    g_assert_cmpuint(mbstowcs(wide, texts[i], G_N_ELEMENTS(wide)), <, G_N_ELEMENTS(wide));
    g_assert_cmpint(lg_terminal_width(texts[i]), ==, wcswidth(wide, G_N_ELEMENTS(wide)));
  }
  setlocale(LC_CTYPE, "C");
}

static void test_fast_blanks(void)
{
  g_assert_true(lg_blank_is_fast("at 12.5 V, not", 7));
  g_assert_true(lg_blank_is_fast("80 %.", 2));
  g_assert_false(lg_blank_is_fast("at 12.5 V, not", 2));
  g_assert_false(lg_blank_is_fast("at 12.5 V, not", 10));
  g_assert_false(lg_blank_is_fast("4 loaded", 1));
  g_assert_false(lg_blank_is_fast("4 ", 1));
  g_assert_false(lg_blank_is_fast(" V", 0));
}

static void test_wrap(void)
{
  static const struct {
    const char *text;
    int width;
    const char *lines;
  } cases[] = {
      {"", 5, ""},
      {"one two three", 7, "one two|three"},
      {"one two three", 0, "one two three"},
      {"it is 16 A there", 8, "it is|16 A|there"},
      {"it is 16 wires", 8, "it is 16|wires"},
      {"  one   two ", 20, "one two"},
      {"one\ntwo", 20, "one|two"},
      {"abcdefghij k", 4, "abcd|efgh|ij k"},
      {"座椅加熱", 4, "座椅|加熱"},
      {"座", 1, "座"},
      {"ae\u0301b", 2, "ae\u0301|b"},
      {"\033[2J", 20, "\ufffd[2J"},
      {"a\tb\rc", 20, "a b c"},
  };
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++) {
    g_autoptr(GPtrArray) lines = lg_terminal_wrap(cases[i].text, cases[i].width);
    g_ptr_array_add(lines, NULL);
    g_autofree char *joined = g_strjoinv("|", (char **)lines->pdata);
    g_assert_cmpstr(joined, ==, cases[i].lines);
  }
}

static void test_print(void)
{
  g_autoptr(LgReport) r = report();
  g_autofree char *text = lg_report_print(r, LG_HABIT_METRIC, 60, FALSE);
  g_assert_cmpstr(text, ==,
                  "A van\ufffd\n"
                  "One danger stands against building.\n"
                  "\n"
                  "!! danger: wire W12 [rule-name] van.job, line 14\n"
                  "   It runs 1.4 m before its \"fuse\".\n"
                  "   Rests on: a rule of the trade\n"
                  "   Do: Move the fuse.\n"
                  "\n"
                  " - caution: wire W12 [rule-name] van.job, line 14\n"
                  "   It runs 1.4 m before its \"fuse\".\n"
                  "   Do: Move the fuse.\n"
                  "\n"
                  "Mixed\n"
                  "Name      Current         Air  Holds     Count\n"
                  "--------  -------  ----------  -----  --------\n"
                  "lift, up  12.3 A    25.0 degC  yes           7\n"
                  "             ?     -40.0 degC  no       100000\n"
                  "pad       12.3 mA      ?       yes    infinity\n"
                  "\n"
                  "All states were solved.\n");
}

static char *without_colour(const char *text)
{
  g_autoptr(GRegex) sgr = g_regex_new("\033\\[[0-9;]*m", 0, 0, NULL);
  return g_regex_replace_literal(sgr, text, -1, 0, "", 0, NULL);
}

static void test_print_property(void)
{
  for (int round = 0; round < 300; round++) {
    g_autoptr(LgReport) r = lg_report_new("check", "Job");
    LgTable *const table = lg_table_new("t", "T", two_texts);
    for (int row = g_test_rand_int_range(0, 5); row >= 0; row--) {
      g_autofree char *a = odd_text(), *b = odd_text();
      lg_table_add(table, a, b);
    }
    g_ptr_array_add(r->tables, table);
    g_ptr_array_add(r->tables, mixed_table());
    g_ptr_array_add(r->findings, finding(LG_GRADE_FAULT, "a rule"));
    const int width = g_test_rand_int_range(40, 120);
    g_autofree char *plain = lg_report_print(r, LG_HABIT_METRIC, width, FALSE);
    g_autofree char *coloured = lg_report_print(r, LG_HABIT_METRIC, width, TRUE);
    g_autofree char *stripped = without_colour(coloured);
    g_assert_cmpstr(stripped, ==, plain);
    g_assert_null(strchr(plain, '\033'));
    g_auto(GStrv) lines = g_strsplit(plain, "\n", -1);
    for (int i = 0; lines[i] != NULL; i++) {
      g_assert_cmpint(lg_terminal_width(lines[i]), <=, width);
      g_assert_false(g_str_has_suffix(lines[i], " "));
    }
  }
}

/* Too many columns for the terminal: a row a block, nothing lost. */
static void test_print_narrow(void)
{
  LgTerminal terminal = {g_string_new(NULL), 24, FALSE};
  g_autoptr(LgTable) table = mixed_table();
  lg_terminal_table(&terminal, table, LG_HABIT_METRIC);
  g_assert_true(g_str_has_prefix(terminal.text->str, "Mixed\n"
                                                     "Name       lift, up\n"
                                                     "  Current  12.3 A\n"
                                                     "  Air      25.0 degC\n"
                                                     "  Holds    yes\n"
                                                     "  Count    7\n"
                                                     "\n"));
  g_string_free(terminal.text, TRUE);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/table/cells", test_cells);
  g_test_add_func("/table/fast-blanks", test_fast_blanks);
  g_test_add_func("/table/csv/rfc-4180", test_csv_rfc);
  g_test_add_func("/table/csv/values", test_csv_values);
  g_test_add_func("/table/csv/formulas", test_csv_formulas);
  g_test_add_func("/table/csv/read-back", test_csv_read_back);
  g_test_add_func("/table/share", test_share);
  g_test_add_func("/table/share/property", test_share_property);
  g_test_add_func("/report/json", test_json);
  g_test_add_func("/report/print", test_print);
  g_test_add_func("/report/print/property", test_print_property);
  g_test_add_func("/report/print/narrow", test_print_narrow);
  g_test_add_func("/terminal/width", test_terminal_width);
  g_test_add_func("/terminal/wrap", test_wrap);
  return g_test_run();
}
