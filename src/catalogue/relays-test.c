/* Relay types against what makers' sheets print (tests/reference/relays.csv). */
#include "catalogue/catalogue.h"
#include "catalogue/reference.h"
#include <math.h>
#include <string.h>

static LgCatalogue *catalogue;

/* Least and greatest of a parameter over the sheets whose series begins with `series`. */
typedef struct {
  double least, most;
  int n;
} Spread;

static Spread spread_of(const char *series, const char *parameter)
{
  g_autoptr(Rows) rows = rows_read("relays.csv");
  Spread spread = {INFINITY, -INFINITY, 0};
  for (int i = 0; i < rows_count(rows); i++) {
    if (!g_str_has_prefix(rows_text(rows, i, "series"), series) ||
        strcmp(rows_text(rows, i, "parameter"), parameter) != 0)
      continue;
    spread.least = fmin(spread.least, rows_number(rows, i, "value"));
    spread.most = fmax(spread.most, rows_number(rows, i, "value"));
    spread.n++;
  }
  g_assert_cmpint(spread.n, >, 0);
  return spread;
}

static const LgRecord *element_of(const LgType *type, const char *short_name)
{
  for (guint i = 0; i < type->elements->len; i++) {
    const LgRecord *const element = type->elements->pdata[i];
    if (strcmp(strchr(element->name, '.') + 1, short_name) == 0)
      return element;
  }
  return NULL;
}

static double figure(const LgRecord *element, const char *key)
{
  const LgValue *const value = lg_record_key(element, key);
  return value != NULL ? value->low : NAN;
}

static const char *word(const LgRecord *element, const char *key)
{
  const LgValue *const value = lg_record_key(element, key);
  return value != NULL ? value->text : "";
}

typedef void (*CheckType)(const LgType *type);

/* Plug-in relays: not the contactor, which is common practice only. */
static void for_each_relay(CheckType check)
{
  const GPtrArray *const types = lg_catalogue_types(catalogue);
  int n = 0;
  for (guint i = 0; i < types->len; i++) {
    const LgType *const type = types->pdata[i];
    if (!g_str_has_prefix(type->name, "relay-"))
      continue;
    check(type);
    n++;
  }
  g_assert_cmpint(n, >=, 20);
}

/* Sheets print the volts at which a 12 V relay must pull and must let go; 6 and 24 V are scaled. */
static void check_volts(const LgType *type)
{
  const LgRecord *const coil = element_of(type, "coil");
  const double scale = 12 / figure(coil, "volts");
  const Spread pull = spread_of("", "pickup_max_12V"), drop = spread_of("", "dropout_min_12V");
  g_assert_cmpfloat(figure(coil, "pull-in") * scale, >=, pull.least - 1e-9);
  g_assert_cmpfloat(figure(coil, "pull-in") * scale, <=, pull.most + 1e-9);
  g_assert_cmpfloat(figure(coil, "drop-out") * scale, >=, drop.least - 1e-9);
  g_assert_cmpfloat(figure(coil, "drop-out") * scale, <=, drop.most + 1e-9);
}

static void test_volts(void)
{
  for_each_relay(check_volts);
}

/* The coil's warmth at nominal volts is that of the sheets' coils, 75 to 109 ohm at 12 V; a
 * resistor beside it takes a few tenths of a watt more. */
static void check_coil(const LgType *type)
{
  const LgRecord *const coil = element_of(type, "coil");
  const double volts = figure(coil, "volts"), watts = volts * volts / figure(coil, "resistance");
  const Spread micro = spread_of("micro relay L", "coil_resistance_12V"),
               power = spread_of("power relay H", "coil_resistance_12V");
  const double most = 144 / power.least, least = 144 / micro.most;
  const double more = strcmp(word(coil, "suppression"), "resistor") == 0 ? 0.3 : 0;
  g_assert_cmpfloat(watts, >=, least - 1e-9);
  g_assert_cmpfloat(watts, <=, most + more + 1e-9);
}

static void test_coils(void)
{
  for_each_relay(check_coil);
}

/* Coils of the one sheet that prints all three voltages. */
static void test_coils_of_one_sheet(void)
{
  const struct {
    const char *type, *parameter;
  } coils[] = {{"relay-make", "coil_resistance_12V"},
               {"relay-make-24", "coil_resistance_24V"},
               {"relay-make-6", "coil_resistance_6V"}};
  for (gsize i = 0; i < G_N_ELEMENTS(coils); i++) {
    const LgRecord *const coil = element_of(lg_catalogue_type(catalogue, coils[i].type), "coil");
    g_assert_cmpfloat(figure(coil, "resistance"), ==,
                      spread_of("mini relay B", coils[i].parameter).least);
  }
}

static const char *family_of(const LgType *type)
{
  return g_str_has_prefix(type->name, "relay-micro") ? "micro relay F"
         : g_str_has_prefix(type->name, "relay-70")  ? "relay D"
                                                     : "mini relay E";
}

/* Lasting current at 85 C; typical drop at 10 A within the sheets' 15 to 50 mV. */
static void check_contacts(const LgType *type)
{
  const LgRecord *const make = element_of(type, "make");
  const Spread lasting = strcmp(family_of(type), "relay D") == 0
                             ? spread_of("relay D", "continuous_85C")
                             : spread_of(family_of(type), "continuous_NO_85C");
  g_assert_cmpfloat(figure(make, "rating"), <=, lasting.most);
  g_assert_cmpfloat(figure(make, "rating"), >=, 0.5 * lasting.most);
  const double drop_mV = 1e3 * 10 * figure(make, "resistance");
  g_assert_cmpfloat(drop_mV, >=, spread_of("mini relay E", "voltage_drop_NO_typ").least);
  g_assert_cmpfloat(drop_mV, <=, spread_of("power relay H", "voltage_drop").most);
  g_assert_cmpfloat(figure(make, "motor-rating"), <, figure(make, "rating"));
  g_assert_cmpfloat(figure(make, "lamp-rating"), <, figure(make, "rating"));
  const LgRecord *const brk = element_of(type, "break");
  if (brk != NULL)
    g_assert_cmpfloat(figure(brk, "rating"), <, figure(make, "rating"));
}

static void test_contacts(void)
{
  for_each_relay(check_contacts);
}

/* A cold lamp takes 10 times, a starting motor 6 times its current (a switch maker's load-type
 * page, seen): neither passes the making current that the mini relay's sheet prints. */
static void test_making_current(void)
{
  const LgType *const type = lg_catalogue_type(catalogue, "relay-change");
  const LgRecord *const make = element_of(type, "make"), *const brk = element_of(type, "break");
  const double make_A = spread_of("mini relay E", "make_NO").least,
               break_A = spread_of("mini relay E", "make_NC").least;
  g_assert_cmpfloat(10 * figure(make, "lamp-rating"), <=, make_A);
  g_assert_cmpfloat(6 * figure(make, "motor-rating"), <=, make_A);
  g_assert_cmpfloat(10 * figure(brk, "lamp-rating"), <=, break_A);
  g_assert_cmpfloat(6 * figure(brk, "motor-rating"), <=, break_A);
}

/* ISO 7588 / DIN 72552 terminals: coil 86 (plus) to 85, make 30 to 87, break 30 to 87a. A coil with
 * a diode has a right way round; no other has. */
static void check_terminals(const LgType *type)
{
  const LgRecord *const coil = element_of(type, "coil"), *const make = element_of(type, "make"),
                        *const brk = element_of(type, "break");
  g_assert_cmpstr(word(coil, "first"), ==, "86");
  g_assert_cmpstr(word(coil, "second"), ==, "85");
  g_assert_cmpstr(word(make, "first"), ==, "30");
  g_assert_cmpstr(word(make, "second"), ==, "87");
  if (brk != NULL)
    g_assert_cmpstr(word(brk, "second"), ==, "87a");
  const gboolean diode = strcmp(word(coil, "suppression"), "diode") == 0;
  g_assert_true(diode == (strcmp(word(coil, "polarised"), "yes") == 0));
  g_assert_true(diode == g_str_has_suffix(type->name, "-d"));
  g_assert_true((strcmp(word(coil, "suppression"), "resistor") == 0) ==
                g_str_has_suffix(type->name, "-r"));
}

static void test_terminals(void)
{
  for_each_relay(check_terminals);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  catalogue = lg_catalogue_new();
  g_test_add_func("/relays/volts", test_volts);
  g_test_add_func("/relays/coils", test_coils);
  g_test_add_func("/relays/coils-of-one-sheet", test_coils_of_one_sheet);
  g_test_add_func("/relays/contacts", test_contacts);
  g_test_add_func("/relays/making-current", test_making_current);
  g_test_add_func("/relays/terminals", test_terminals);
  const int failed = g_test_run();
  lg_catalogue_free(catalogue);
  return failed;
}
