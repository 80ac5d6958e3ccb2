#include "sheet/colour.h"
#include "sheet/random-sheet.h"
#include "sheet/sheet.h"
#include "sheet/size.h"
#include <glib/gstdio.h>
#include <math.h>
#include <string.h>

static LgSheet *read_bytes(const char *text, gsize length, gboolean catalogue)
{
  g_autoptr(GBytes) bytes = g_bytes_new(text, length);
  return lg_sheet_read("test.job", bytes, catalogue);
}

static LgSheet *read_good(const char *text)
{
  LgSheet *const sheet = read_bytes(text, strlen(text), FALSE);
  const GPtrArray *const problems = lg_sheet_problems(sheet);
  if (problems->len > 0)
    g_error("%s", ((LgProblem *)problems->pdata[0])->what);
  return sheet;
}

/* The first problem of a text that has one. */
static void assert_problem(const char *text, gsize length, int line, int column, const char *part)
{
  g_autoptr(LgSheet) sheet = read_bytes(text, length, FALSE);
  const GPtrArray *const problems = lg_sheet_problems(sheet);
  g_assert_cmpuint(problems->len, >, 0);
  const LgProblem *const problem = problems->pdata[0];
  g_assert_cmpint(problem->origin.line, ==, line);
  g_assert_cmpint(problem->origin.column, ==, column);
  if (strstr(problem->what, part) == NULL)
    g_error("%s", problem->what);
  g_assert_cmpuint(strlen(problem->remedy), >, 0);
}

static void reads_every_type(void)
{
  g_autoptr(LgSheet) sheet = read_good(
      "part SEAT assembly at=dash face=3x6 positions=off,on labour=90min\n"
      "element SEAT.lift motor 7 8 run=4.2A rating=auto tolerance=10%\n"
      "wire W1 F1.2 K1.30 gn/ws 2/0AWG length=12ft via=sill,tunnel \"to the \\\"seat\\\"\"\n"
      "place dash temperature=-20C..45C\n"
      "need \"dead\" SEAT.lift current<10mA when KEY=off,acc S2.heat=\"on\"\n"
      "reading M1 A.1 A.2 open=yes date=2026-02-28\n");
  g_assert_cmpuint(lg_sheet_n_records(sheet), ==, 6);
  const LgRecord *const part = lg_sheet_record(sheet, 0), *const lift = lg_sheet_record(sheet, 1);
  const LgRecord *const wire = lg_sheet_record(sheet, 2), *const need = lg_sheet_record(sheet, 4);
  g_assert_cmpfloat(lg_record_key(part, "face")->low, ==, 3);
  g_assert_cmpfloat(lg_record_key(part, "face")->high, ==, 6);
  g_assert_cmpfloat(lg_record_key(part, "labour")->low, ==, 5400);
  g_assert_cmpstr(lg_record_key(part, "positions")->text, ==, "off,on");
  g_assert_cmpint(lg_record_key(lift, "rating")->is_auto, ==, 1);
  g_assert_cmpfloat(lg_record_key(lift, "run")->low, ==, 4.2);
  g_assert_cmpstr(lg_record_key(lift, "second")->text, ==, "8");
  g_assert_cmpstr(wire->name, ==, "W1");
  g_assert_cmpstr(wire->text, ==, "to the \"seat\"");
  g_assert_cmpfloat(lg_record_key(wire, "colour")->low, ==, LG_COLOUR_GREEN);
  g_assert_cmpfloat(lg_record_key(wire, "colour")->high, ==, LG_COLOUR_WHITE);
  g_assert_cmpint(lg_record_key(wire, "size")->is_awg, ==, 1);
  g_assert_cmpfloat(lg_record_key(wire, "size")->low, ==, -1);
  g_assert_cmpfloat_with_epsilon(lg_record_key(wire, "length")->low, 3.6576, 1e-12);
  g_assert_null(lg_record_key(wire, "spare"));
  g_assert_null(lg_record_key(wire, "no-such-key"));
  g_assert_cmpstr(need->name, ==, "dead");
  g_assert_cmpint(lg_record_key(need, "limit")->relation, ==, '<');
  g_assert_cmpint(lg_record_key(need, "limit")->word, ==, 0);
  g_assert_cmpint(need->n_values, ==, 4);
  g_assert_cmpint(need->fields[2], ==, -1);
  g_assert_cmpstr(need->values[2].text, ==, "KEY=off,acc");
  g_assert_cmpstr(need->values[3].text, ==, "S2.heat=on");
  const LgValue *const range = lg_record_key(lg_sheet_record(sheet, 3), "temperature");
  g_assert_cmpfloat_with_epsilon(range->low, 253.15, 1e-9);
  g_assert_cmpfloat_with_epsilon(range->high, 318.15, 1e-9);
}

/* Columns count characters, lines physical lines; the span covers the record and nothing else. */
static void tells_places(void)
{
  static const char text[] =
      "\357\273\277# eins\r\nplace T\303\274r where=\"\303\274ber\" wet=yes\r\n"
      "  # zwei\r\n\r\n  edge=yes  # drei\r\n# vier\r\nplace dash";
  g_autoptr(LgSheet) sheet = read_good(text);
  const LgRecord *const record = lg_sheet_record(sheet, 0);
  const LgValue *const wet = lg_record_key(record, "wet"), *const edge =
                                                               lg_record_key(record, "edge");
  g_assert_cmpint(record->origin.line, ==, 2);
  g_assert_cmpint(record->name_origin.column, ==, 7);
  g_assert_cmpint(wet->origin.column, ==, 28);
  g_assert_cmpint(edge->origin.line, ==, 5);
  g_assert_cmpint(edge->origin.column, ==, 8);
  g_assert_cmpuint(record->begin, ==, (gsize)(strstr(text, "place T") - text));
  g_assert_cmpuint(record->end, ==, (gsize)(strstr(text, "# vier") - text));
  g_assert_cmpuint(lg_sheet_record(sheet, 1)->end, ==, strlen(text));
  g_assert_cmpstr(record->origin.file, ==, "test.job");
}

static void refuses_what_is_no_text(void)
{
  static const char nul[] = "place dash\nplace a\0b\nplace c\n";
  assert_problem(nul, sizeof nul - 1, 2, 8, "NUL");
  assert_problem("place b\344r\n", 9, 1, 8, "0xE4");
  assert_problem("place b\355\240\200\n", 11, 1, 8, "UTF-8");
  assert_problem("\377\376p\0l\0", 6, 1, 1, "UTF-16");
  assert_problem("p\0l\0a\0", 6, 1, 1, "UTF-16");
  assert_problem("place a\001\n", 9, 1, 8, "control character");
  assert_problem("place a\rplace b\n", 16, 1, 8, "carriage return");
}

static void other_lines_of_a_broken_sheet_are_read(void)
{
  static const char text[] = "place a\nplace b\344\n  wet=yes\nplace c\n";
  g_autoptr(LgSheet) sheet = read_bytes(text, sizeof text - 1, FALSE);
  g_assert_cmpuint(lg_sheet_problems(sheet)->len, ==, 1);
  g_assert_cmpuint(lg_sheet_n_records(sheet), ==, 2);
  g_assert_cmpstr(lg_sheet_record(sheet, 1)->name, ==, "c");
}

static void limits_lines_and_files(void)
{
  g_autofree char *fits = g_strnfill(LG_SHEET_MOST_LINE, '#');
  g_autofree char *long_line = g_strconcat("place a\n", fits, "#\nplace b\n", NULL);
  g_autoptr(LgSheet) good = read_good(fits);
  g_assert_cmpuint(lg_sheet_n_records(good), ==, 0);
  assert_problem(long_line, strlen(long_line), 2, 1, "65537 bytes");

  /* Never touched, so it costs no memory. */
  static const char spot[1] = "#";
  g_autoptr(GBytes) huge = g_bytes_new_static(spot, LG_SHEET_MOST_BYTES + 1);
  g_autoptr(LgSheet) sheet = lg_sheet_read("huge.job", huge, FALSE);
  const LgProblem *const problem = lg_sheet_problems(sheet)->pdata[0];
  g_assert_nonnull(strstr(problem->what, "256 MiB"));
}

static void stops_after_many_problems(void)
{
  GString *const text = g_string_new(NULL);
  for (int i = 0; i < 2 * LG_SHEET_MOST_PROBLEMS; i++)
    g_string_append(text, "x\n");
  g_autoptr(LgSheet) sheet = read_bytes(text->str, text->len, FALSE);
  const GPtrArray *const problems = lg_sheet_problems(sheet);
  g_assert_cmpuint(problems->len, ==, LG_SHEET_MOST_PROBLEMS + 1);
  g_assert_nonnull(strstr(((LgProblem *)problems->pdata[problems->len - 1])->what, "stopped"));
  g_string_free(text, TRUE);
}

/* Texts that would take hours if anything grew with the square of their length. */
static void nothing_explodes(void)
{
  static const struct {
    const char *begin, *part, *line_end;
  } cases[] = {
      {"", "\"", "\n "},
      {"", "=", "\n "},
      {"place a ", "x", ""},
      {"place a where=\"", "\\", "\"\n"},
      {"place a ", "a= ", "\n "},
      {"place a ", "a=\302\240", "\n "},
      {"place a ", "\342\200\234\001", "\n "},
      {"need \"a\" A.x current<1A when\n ", "KEY=on ", "\n "},
      {"place a ", "wte=yes ", "\n "},
      {"place a ", "where=\"\\x\001\" ", "\n "},
      {"", "place a\n", ""},
      {"", "\n", ""},
  };
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++) {
    GString *const text = g_string_new(cases[i].begin);
    while (text->len < 4 << 20) {
      const gsize line = text->len;
      while (text->len - line < LG_SHEET_MOST_LINE - 64)
        g_string_append(text, cases[i].part);
      g_string_append(text, cases[i].line_end);
    }
    g_autoptr(LgSheet) sheet = read_bytes(text->str, text->len, FALSE);
    g_assert_cmpuint(lg_sheet_problems(sheet)->len, <, LG_SHEET_MOST_PROBLEMS + LG_SHEET_MOST_LINE);
    g_string_free(text, TRUE);
  }
}

static void later_problems_fall_into_line(void)
{
  g_autoptr(LgSheet) sheet = read_bytes("place a x\n\nplace b y\n", 21, FALSE);
  const char *const file = lg_sheet_file(sheet);
  lg_sheet_add_problem(sheet, (LgOrigin){file, 2, 1}, g_strdup("two"), g_strdup("-"));
  lg_sheet_add_problem(sheet, (LgOrigin){file, 9, 1}, g_strdup("nine"), g_strdup("-"));
  lg_sheet_add_problem(sheet, (LgOrigin){"other.job", 1, 1}, g_strdup("other"), g_strdup("-"));
  static const int lines[] = {1, 2, 3, 9, 1};
  const GPtrArray *const problems = lg_sheet_problems(sheet);
  g_assert_cmpuint(problems->len, ==, G_N_ELEMENTS(lines));
  for (guint i = 0; i < problems->len; i++)
    g_assert_cmpint(((LgProblem *)problems->pdata[i])->origin.line, ==, lines[i]);
}

static void empty_sheets(void)
{
  static const char *const texts[] = {"", "\357\273\277", "\n\n", "# only this", " \t\n  # that\n"};
  for (gsize i = 0; i < G_N_ELEMENTS(texts); i++) {
    g_autoptr(LgSheet) sheet = read_good(texts[i]);
    g_assert_cmpuint(lg_sheet_n_records(sheet), ==, 0);
  }
}

static void opens_files(void)
{
  g_autoptr(GError) error = NULL;
  g_assert_null(lg_sheet_open("/nowhere/at-all.job", FALSE, &error));
  g_assert_error(error, G_FILE_ERROR, G_FILE_ERROR_NOENT);
  g_clear_error(&error);
  g_assert_null(lg_sheet_open(g_get_tmp_dir(), FALSE, &error));
  g_assert_error(error, G_FILE_ERROR, G_FILE_ERROR_ISDIR);
  g_clear_error(&error);
  g_autofree char *path = g_build_filename(g_get_tmp_dir(), "loomgraft-sheet-XXXXXX", NULL);
  const int fd = g_mkstemp(path);
  g_assert_cmpint(fd, >=, 0);
  g_close(fd, NULL);
  g_assert_true(g_file_set_contents(path, "place dash\n", -1, NULL));
  g_autoptr(LgSheet) sheet = lg_sheet_open(path, FALSE, &error);
  g_assert_no_error(error);
  g_assert_cmpstr(lg_sheet_file(sheet), ==, path);
  g_assert_cmpuint(lg_sheet_n_records(sheet), ==, 1);
  g_unlink(path);
}

static void random_sheets_are_good(void)
{
  for (int i = 0; i < 300; i++) {
    const gboolean catalogue = g_test_rand_bit();
    g_autofree char *text = lg_random_sheet(20, catalogue);
    g_autoptr(LgSheet) sheet = read_bytes(text, strlen(text), catalogue);
    const GPtrArray *const problems = lg_sheet_problems(sheet);
    if (problems->len > 0) {
      const LgProblem *const p = problems->pdata[0];
      g_error("%d:%d: %s; %s in\n%s", p->origin.line, p->origin.column, p->what, p->remedy, text);
    }
    g_assert_cmpuint(lg_sheet_n_records(sheet), >, 0);
  }
}

/* IEC 60757 letters and DIN 47002 short forms, both seen in code-colour tables of the trade. */
static void colours(void)
{
  static const char *const iec[LG_N_COLOURS] = {"BK", "BN", "RD", "OG", "YE", "GN", "BU",
                                                "VT", "GY", "WH", "PK", "TQ", "GD", "SR"};
  static const char *const german[] = {"sw", "br", "rt", "or", "ge", "gn",
                                       "bl", "vi", "gr", "ws", "rs", "tk"};
  int base = -2, stripe = -2;
  for (int i = 0; i < LG_N_COLOURS; i++) {
    g_assert_true(lg_colour_read(iec[i], &base, &stripe));
    g_assert_cmpint(base, ==, i);
    g_assert_cmpint(stripe, ==, -1);
  }
  for (int i = 0; i < (int)G_N_ELEMENTS(german); i++) {
    g_assert_true(lg_colour_read(german[i], &base, &stripe));
    g_assert_cmpint(base, ==, i);
  }
  g_assert_true(lg_colour_read("GN/BU", &base, &stripe));
  g_autofree char *text = lg_colour_print(base, stripe);
  g_autofree char *words = lg_colour_describe(base, stripe);
  g_assert_cmpstr(text, ==, "GN/BU");
  g_assert_cmpstr(words, ==, "green with a blue stripe");
  static const char *const bad[] = {"",    "R",        "RED",   "RDBU", "RD/",
                                    "/RD", "RD/BU/GN", "RD-BU", "XX"};
  base = -2;
  for (gsize i = 0; i < G_N_ELEMENTS(bad); i++)
    g_assert_false(lg_colour_read(bad[i], &base, &stripe));
  g_assert_cmpint(base, ==, -2);
}

static void sizes(void)
{
  static const struct {
    const char *text;
    LgSizeFault fault;
    const char *again;
  } cases[] = {
      {"2.5mm2", LG_SIZE_OK, "2.5mm2"},
      {"2.5mm\302\262", LG_SIZE_OK, "2.5mm2"},
      {"14AWG", LG_SIZE_OK, "14AWG"},
      {"14awg", LG_SIZE_OK, "14AWG"},
      {"2/0AWG", LG_SIZE_OK, "2/0AWG"},
      {"0AWG", LG_SIZE_OK, "1/0AWG"},
      {"1/0AWG", LG_SIZE_OK, "1/0AWG"},
      {"6mm", LG_SIZE_DIAMETER, NULL},
      {"6", LG_SIZE_BARE, NULL},
      {"600mm2", LG_SIZE_OUT_OF_RANGE, NULL},
      {"0mm2", LG_SIZE_OUT_OF_RANGE, NULL},
      {"60AWG", LG_SIZE_OUT_OF_RANGE, NULL},
      {"6sqmm", LG_SIZE_UNKNOWN, NULL},
      {"", LG_SIZE_UNKNOWN, NULL},
      {"14ga", LG_SIZE_UNKNOWN, NULL},
      {"1e99mm2", LG_SIZE_OUT_OF_RANGE, NULL},
  };
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++) {
    gboolean is_awg = FALSE;
    double number = NAN;
    g_assert_cmpint(lg_size_read(cases[i].text, &is_awg, &number), ==, cases[i].fault);
    if (cases[i].again == NULL) {
      g_assert_true(isnan(number));
      continue;
    }
    g_autofree char *again = lg_size_print(is_awg, number);
    g_assert_cmpstr(again, ==, cases[i].again);
  }
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/sheet/reads-every-type", reads_every_type);
  g_test_add_func("/sheet/tells-places", tells_places);
  g_test_add_func("/sheet/refuses-what-is-no-text", refuses_what_is_no_text);
  g_test_add_func("/sheet/other-lines-of-a-broken-sheet-are-read",
                  other_lines_of_a_broken_sheet_are_read);
  g_test_add_func("/sheet/limits-lines-and-files", limits_lines_and_files);
  g_test_add_func("/sheet/stops-after-many-problems", stops_after_many_problems);
  g_test_add_func("/sheet/nothing-explodes", nothing_explodes);
  g_test_add_func("/sheet/later-problems-fall-into-line", later_problems_fall_into_line);
  g_test_add_func("/sheet/empty-sheets", empty_sheets);
  g_test_add_func("/sheet/opens-files", opens_files);
  g_test_add_func("/sheet/random-sheets-are-good", random_sheets_are_good);
  g_test_add_func("/sheet/colours", colours);
  g_test_add_func("/sheet/sizes", sizes);
  return g_test_run();
}
