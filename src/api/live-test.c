/* A live sheet against the studies, hand calculations (Ohm's and Kirchhoff's laws) and edited
 * sheets. */
#include "api/live-private.h"
#include <math.h>
#include <string.h>


static LgJobSheet *sheet_of(const char *text)
{
  g_autoptr(GBytes) bytes = g_bytes_new(text, strlen(text));
  return lg_job_sheet_new("test.job", bytes);
}

static LgLive *live_of(LgJobSheet *sheet)
{
  g_autoptr(LgJobSheet) opened = sheet;
  g_autoptr(GError) error = NULL;
  LgLive *const live = lg_live_new(opened, &error);
  g_assert_no_error(error);
  return live;
}

/* Takes the text; asserts that it is JSON. */
static json_t *parsed(char *text)
{
  g_autofree char *mine = text;
  json_error_t wrong;
  g_assert_nonnull(mine);
  json_t *const root = json_loads(mine, 0, &wrong);
  if (root == NULL)
    g_error("%s: %s", wrong.text, mine);
  return root;
}

static json_t *state_of(LgLive *live, const char *const settings[], const char *fault)
{
  g_autoptr(GError) error = NULL;
  char *const text = lg_live_state_json(live, settings, fault, &error);
  g_assert_no_error(error);
  return parsed(text);
}

static double number_at(const json_t *root, const char *list, const char *name, const char *key)
{
  const json_t *const object = json_object_get(json_object_get(root, list), name);
  const json_t *const value = key != NULL ? json_object_get(object, key) : object;
  return json_is_number(value) ? json_number_value(value) : NAN;
}

/* A heater of 24 W at 12 V, which is a resistor, in one loop with a switch and a fuse. */
static const char ohm_text[] =
    "job \"ohm\" nominal=12V standing=1h\npart G1 battery-12 capacity=60Ah\n"
    "part XG1 ground\npart F1 fuse-blade rating=10A\npart S1 switch-on-off\npart R1 assembly is=new\n"
    "pin R1.1\npin R1.2\nelement R1.r heater 1 2 power=24W volts=12V\n"
    "wire W1 G1.+ F1.1 RD 1.5mm2 length=1m\nwire W2 F1.2 S1.1 RD 1.5mm2 length=1m\n"
    "wire W3 S1.2 R1.1 RD 1.5mm2 length=1m\nwire W4 R1.2 XG1.1 BN 1.5mm2 length=1m\n"
    "wire W5 G1.- XG1.1 BK 16mm2 length=1m\n";

static void test_state_by_hand(void)
{
  g_autoptr(LgLive) live = live_of(sheet_of(ohm_text));
  const char *const on[] = {"S1=on", NULL};
  json_t *const state = state_of(live, on, NULL);
  const double amps = number_at(state, "wires", "W3", "A");
  const double volts = number_at(state, "elements", "R1.r", "V");
  /* Ohm: the heater is a resistor of 12 V^2 / 24 W = 6 ohm. */
  g_assert_cmpfloat_with_epsilon(volts / amps, 6, 0.01);
  /* Kirchhoff: one loop, one current; the volts around it add up. */
  g_assert_cmpfloat_with_epsilon(number_at(state, "wires", "W4", "A"), amps, 1e-4);
  g_assert_cmpfloat_with_epsilon(number_at(state, "pins", "R1.1", NULL) -
                                     number_at(state, "pins", "R1.2", NULL),
                                 volts, 1e-3);
  g_assert_cmpfloat_with_epsilon(number_at(state, "elements", "R1.r", "W"), amps * volts, 1e-2);
  g_assert_true(json_is_true(
      json_object_get(json_object_get(json_object_get(state, "elements"), "R1.r"), "runs")));
  json_decref(state);

  json_t *const off = state_of(live, NULL, NULL);
  g_assert_cmpfloat(fabs(number_at(off, "wires", "W3", "A")), <, 1e-9);
  g_assert_true(json_is_false(
      json_object_get(json_object_get(json_object_get(off, "elements"), "R1.r"), "runs")));
  json_decref(off);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/live/a state by hand", test_state_by_hand);
  return g_test_run();
}
