/* What one builds and proves by: hand-reckoned plans, published pull-out forces, sums of money. */
#include "catalogue/reference.h"
#include "drawing/ink.h"
#include "packet/tables-private.h"
#include "packet/test-job.h"
#include <math.h>
#include <qrencode.h>

static double number_at(const LgTable *table, int row, const char *key)
{
  return lg_table_cell(table, row, lg_table_column(table, key))->number;
}

static int row_with(const LgTable *table, const char *key, const char *part)
{
  for (int row = 0; row < table->n_rows; row++)
    if (strstr(lg_table_text(table, row, key), part) != NULL)
      return row;
  return -1;
}

/* Invented pieces whose best plan is known by reckoning. */
static void test_cutting(void)
{
  gboolean proved;
  int spool[16];
  /* 6 + 4, 5 + 5, 3 + 3 + 4 fill three spools of 10 to the end. First fit decreasing too. */
  const double whole[] = {6, 5, 5, 4, 4, 3, 3};
  g_assert_cmpint(lg_spools_needed(whole, 7, 10, spool, &proved), ==, 3);
  g_assert_true(proved);
  /* First fit decreasing needs three of 9 for these: 4 + 4, 3 + 3 + 3 is out of its reach. */
  const double tight[] = {4, 3, 3, 3, 3, 2};
  g_assert_cmpint(lg_spools_needed(tight, 6, 9, spool, &proved), ==, 2);
  g_assert_true(proved);
  double sum[2] = {0, 0};
  for (int i = 0; i < 6; i++)
    sum[spool[i]] += tight[i];
  g_assert_cmpfloat_with_epsilon(sum[0], 9, 1e-9);
  g_assert_cmpfloat_with_epsilon(sum[1], 9, 1e-9);
  g_assert_cmpint(lg_spools_needed(whole, 7, 5.5, spool, &proved), ==, -1);
}

/* No spool over-full, every piece once, never below the sum: any pieces. */
static void test_cutting_any(void)
{
  g_autoptr(GRand) rand = g_rand_new_with_seed(5);
  for (int round = 0; round < 200; round++) {
    double piece[40], rest[40], sum = 0;
    int spool[41];
    gboolean proved;
    const int n = g_rand_int_range(rand, 1, 40);
    for (int i = 0; i < n; i++) {
      piece[i] = i == 0 ? 10 : piece[i - 1] * g_rand_double_range(rand, 0.8, 1);
      rest[i] = 10;
      sum += piece[i];
    }
    const int spools = lg_spools_needed(piece, n, 10, spool, &proved);
    g_assert_cmpint(spools, >=, (int)ceil(sum / 10 - 1e-9));
    for (int i = 0; i < n; i++) {
      g_assert_cmpint(spool[i], <, spools);
      rest[spool[i]] -= piece[i];
      g_assert_cmpfloat(rest[spool[i]], >=, -1e-6);
    }
  }
}

static void test_spools(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(LgTable) spools = lg_table_spools(test.sizing);
  g_autoptr(LgTable) cuts = lg_table_cut_list(test.sizing);
  double used = 0, cut = 0;
  for (int row = 0; row < spools->n_rows; row++) {
    used += number_at(spools, row, "used_m");
    g_assert_cmpfloat_with_epsilon(
        number_at(spools, row, "spools") * number_at(spools, row, "spool_m"),
        number_at(spools, row, "used_m") + number_at(spools, row, "left_m"), 1e-9);
  }
  for (int row = 0; row < cuts->n_rows; row++) {
    cut += number_at(cuts, row, "cut_m");
    /* Up to the next 10 mm. */
    g_assert_cmpfloat(number_at(cuts, row, "rounding_m"), <, 0.01);
  }
  g_assert_cmpfloat_with_epsilon(used, cut, 1e-9);
  test_job_clear(&test);
}

/* Commercial figures of UL 486A and those of IEC 60352-2 as carried in tests/reference. */
static void test_pull_out(void)
{
  g_autoptr(Rows) rows = rows_read("terminations.csv");
  int n = 0;
  for (int r = 0; r < rows_count(rows); r++) {
    const char *const kind = rows_text(rows, r, "kind");
    const gboolean awg = strstr(kind, "UL 486A") != NULL;
    if (!awg && strstr(kind, "IEC 60352-2") == NULL)
      continue;
    LgConductor conductor = {.is_awg = awg};
    conductor.nominal = awg ? rows_awg(rows, r, "wire_awg") : rows_number(rows, r, "wire_area_mm2");
    gboolean between;
    double published = rows_number(rows, r, "value");
    /* Printed 1235 N beside 300 lbf, which is 1334 N. */
    if (awg && conductor.nominal == -1)
      published = 1334;
    /* Two makers round the same pounds differently. */
    g_assert_cmpfloat_with_epsilon(lg_pull_out_N(&conductor, &between), published,
                                   0.003 * published);
    g_assert_false(between);
    n++;
  }
  g_assert_cmpint(n, ==, 39);
  gboolean between;
  const LgConductor middle = {.is_awg = FALSE, .nominal = 1.25};
  g_assert_cmpfloat_with_epsilon(lg_pull_out_N(&middle, &between), 108 + 27 * 0.25 / 0.3, 1e-9);
  g_assert_true(between);
  const LgConductor thick = {.is_awg = FALSE, .nominal = 35};
  g_assert_true(isnan(lg_pull_out_N(&thick, &between)));
}

static void test_crimps(void)
{
  TestJob test;
  test_job_open(&test, "library-van-seat.job");
  g_autoptr(LgTable) crimps = lg_table_crimps(test.sizing);
  g_autoptr(GArray) pieces = lg_pieces(test.sizing);
  double ends = 0;
  for (int row = 0; row < crimps->n_rows; row++)
    ends += number_at(crimps, row, "ends");
  g_assert_cmpfloat(ends, ==, 2.0 * pieces->len);
  g_autoptr(LgTable) splices = lg_table_splices(test.sizing);
  const int x4 = row_with(splices, "splice", "X4");
  g_assert_cmpint(x4, >=, 0);
  g_assert_nonnull(strstr(lg_table_text(splices, x4, "long_side"), "W13"));
  g_assert_nonnull(strstr(lg_table_text(splices, x4, "near_side"), "W14"));
  test_job_clear(&test);
}

static void test_prices(void)
{
  static const struct {
    const char *text;
    double value;
    const char *currency;
  } prices[] = {
      {"3.20 EUR", 3.2, "EUR"},        {"EUR 1.200,50", 1200.5, "EUR"}, {"$5", 5, "$"},
      {"12,5 CHF", 12.5, "CHF"},       {"1,200 USD", 1200, "USD"},      {"0.125 GBP", 0.125, "GBP"},
      {"1,234.56 USD", 1234.56, "USD"}};
  for (gsize i = 0; i < G_N_ELEMENTS(prices); i++) {
    double value;
    g_autofree char *currency = NULL;
    g_assert_true(lg_price_read(prices[i].text, &value, &currency));
    g_assert_cmpfloat_with_epsilon(value, prices[i].value, 1e-9);
    g_assert_cmpstr(currency, ==, prices[i].currency);
  }
  double value;
  char *currency = NULL;
  g_assert_false(lg_price_read("ask", &value, &currency));
}

/* Two sellers, two currencies, 90 minutes. */
static void test_quote(void)
{
  g_autofree char *sheet = g_strconcat(
      test_sheet,
      "part K8 relay-make-r at=cabin buy=\"web\" price=\"4.50 EUR\" labour=30min\n"
      "part K9 relay-make-r at=cabin buy=\"web\" price=\"4.50 EUR\" labour=30min\n"
      "part H1 lamp at=cabin power=2W buy=\"corner shop\" price=\"3 GBP\" labour=30min\n",
      NULL);
  TestJob test;
  test_job_init(&test, sheet);
  g_autoptr(LgTable) quote = lg_table_quote(test.sizing);
  g_assert_cmpstr(lg_table_text(quote, 0, "buy"), ==, "corner shop");
  const int relays = row_with(quote, "designation", "K8, K9");
  g_assert_cmpstr(lg_table_text(quote, relays, "sum"), ==, "9.00 EUR");
  g_assert_cmpstr(lg_table_text(quote, relays, "minutes"), ==, "60");
  g_assert_nonnull(strstr(quote->note, "3.00 GBP"));
  g_assert_nonnull(strstr(quote->note, "9.00 EUR"));
  g_assert_nonnull(strstr(quote->note, "90 minutes"));
  test_job_clear(&test);
}

static gboolean on_paper(const LgDrawing *drawing)
{
  for (guint i = 0; i < drawing->shapes->len; i++) {
    const LgShape *const shape = &g_array_index(drawing->shapes, LgShape, i);
    const LgBox box = shape->kind == LG_SHAPE_TEXT ? lg_shape_text_box(shape) : (LgBox){0, 0, 0, 0};
    if (box.left < 0 || box.top < 0 || box.right > drawing->width || box.bottom > drawing->height)
      return FALSE;
  }
  return TRUE;
}

/* Modules of a code as drawn: their area over that of one. */
static double code_area(const LgDrawing *drawing, double unit)
{
  double sum = 0;
  gboolean in = FALSE;
  for (guint i = 0; i < drawing->shapes->len; i++) {
    const LgShape *const shape = &g_array_index(drawing->shapes, LgShape, i);
    if (shape->kind == LG_SHAPE_OPEN)
      in = TRUE;
    else if (shape->kind == LG_SHAPE_CLOSE)
      break;
    else if (in && shape->kind == LG_SHAPE_PATH) {
      const LgSpot *const s = &g_array_index(drawing->spots, LgSpot, shape->first);
      sum += fabs(s[2].x - s[0].x) / unit;
    }
  }
  return sum;
}

/* Two labels a new wire, one a fuse and relay; every sheet of every size; the code drawn is the one
 * that the encoder gives. */
static void test_labels(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(LgTable) labels = lg_table_labels(test.sizing);
  g_assert_cmpint(labels->n_rows, ==, 2 * 4 + 1);
  for (const LgLabelSheet *sheet = lg_label_sheets; sheet->name != NULL; sheet++) {
    const int on_page = sheet->columns * sheet->rows;
    g_assert_cmpfloat(sheet->left_mm + (sheet->columns - 1) * sheet->step_x_mm + sheet->width_mm,
                      <=, sheet->paper == LG_PAPER_A4 ? 210 : 215.9);
    g_autoptr(GPtrArray) pages = lg_labels_draw(labels, sheet, on_page - 2, TRUE);
    g_assert_cmpuint(pages->len, ==, 2);
    for (guint i = 0; i < pages->len; i++)
      g_assert_true(on_paper(pages->pdata[i]));
  }
  const char *const text = lg_table_text(labels, 0, "code");
  QRcode *const code = QRcode_encodeString(text, 0, QR_ECLEVEL_L, QR_MODE_8, 1);
  double dark = 0;
  for (int i = 0; i < code->width * code->width; i++)
    dark += code->data[i] & 1;
  g_autoptr(GPtrArray) pages = lg_labels_draw(labels, lg_label_sheet("a4-24"), 0, TRUE);
  g_assert_cmpfloat_with_epsilon(code_area(pages->pdata[0], 20.0 / (code->width + 4)), dark, 1e-6);
  QRcode_free(code);
  g_assert_null(lg_label_sheet("a5-1"));
  test_job_clear(&test);
}

/* The battery comes after every wire, the measuring before the cutting. */
static void test_order(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(LgTable) order = lg_table_order(test.sizing);
  const int measure = row_with(order, "do", "nobody has measured"),
            cut = row_with(order, "do", "Cut by the cut list"),
            lay = row_with(order, "do", "Lay run floor"),
            plug = row_with(order, "do", "plug in last"),
            battery = row_with(order, "do", "battery plus, then minus");
  g_assert_cmpint(measure, >=, 0);
  g_assert_cmpint(measure, <, cut);
  g_assert_cmpint(cut, <, lay);
  g_assert_cmpint(lay, <, plug);
  g_assert_cmpint(plug, <, battery);
  test_job_clear(&test);
}

/* 12 V over 3 ohm, with 2 + 4 ohm beside it: each load is tried on its own
 * limit, the smallest first. */
static void test_first_power(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(LgTable) power = lg_table_first_power(test.sizing);
  const int upper = row_with(power, "circuit", "SEAT.upper"),
            pad = row_with(power, "circuit", "SEAT.pad");
  g_assert_cmpint(upper, >, 1);
  g_assert_cmpint(pad, >, upper);
  g_assert_cmpstr(lg_table_text(power, pad, "fuses"), ==, "F1");
  g_assert_cmpstr(lg_table_text(power, pad, "set"), ==, "S1=on");
  /* About 4 A, so the limit is 6 A. */
  g_assert_cmpstr(lg_table_text(power, pad, "limit"), ==, "6.0 A");
  test_job_clear(&test);
}

static void test_handover(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(LgTable) handover = lg_table_handover(test.sizing);
  for (int i = 0; lg_handover_subjects[i] != NULL; i++)
    g_assert_cmpint(row_with(handover, "subject", lg_handover_subjects[i]), >=, 0);
  const int out = row_with(handover, "what", "take out");
  g_assert_nonnull(strstr(lg_table_text(handover, out, "detail"), "F1"));
  g_assert_cmpint(row_with(handover, "detail", "SEAT.4"), >=, 0);
  test_job_clear(&test);
}

static void test_routes(void)
{
  TestJob test;
  test_job_init(&test, test_sheet);
  g_autoptr(LgTable) routes = lg_table_routes(test.sizing);
  g_assert_cmpint(routes->n_rows, ==, 1);
  g_assert_cmpstr(lg_table_text(routes, 0, "wires"), ==, "W2, W4");
  g_autoptr(LgTable) openings = lg_table_openings(test.sizing);
  g_assert_cmpint(openings->n_rows, ==, 0);
  g_assert_nonnull(openings->note);
  test_job_clear(&test);
}

int main(int argc, char *argv[])
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/build/cutting", test_cutting);
  g_test_add_func("/build/cutting-any", test_cutting_any);
  g_test_add_func("/build/spools", test_spools);
  g_test_add_func("/build/pull-out", test_pull_out);
  g_test_add_func("/build/crimps", test_crimps);
  g_test_add_func("/build/prices", test_prices);
  g_test_add_func("/build/quote", test_quote);
  g_test_add_func("/build/labels", test_labels);
  g_test_add_func("/build/order", test_order);
  g_test_add_func("/build/first-power", test_first_power);
  g_test_add_func("/build/handover", test_handover);
  g_test_add_func("/build/routes", test_routes);
  return g_test_run();
}
