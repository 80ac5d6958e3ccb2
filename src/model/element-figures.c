/* What follows from the figures given: currents from watts, resistances from volts and watts, and
 * usual values where nothing was said. */
#include "model/model-private.h"
#include <math.h>

static void fill(LgElement *element, LgParam param, double value)
{
  if (isnan(element->p[param]))
    element->p[param] = value;
}

/* power, run and resistance from any one of them, at the element's volts. */
static void balance(LgElement *element)
{
  double *const p = element->p;
  const double volts = p[LG_P_VOLTS];
  if (isnan(p[LG_P_RUN])) {
    if (!isnan(p[LG_P_POWER]))
      p[LG_P_RUN] = p[LG_P_POWER] / volts;
    else if (!isnan(p[LG_P_RESISTANCE]))
      p[LG_P_RUN] = volts / p[LG_P_RESISTANCE];
  }
  fill(element, LG_P_POWER, p[LG_P_RUN] * volts);
}

static void complete_load(LgJobBuild *build, LgElement *element)
{
  balance(element);
  if (isnan(element->p[LG_P_RUN])) {
    lg_build_problem(
        build, element->origin, g_strdup_printf("`%s` does not say what it draws", element->name),
        g_strdup(
            "give `power=`, `run=` or `resistance=`: from its plate, its papers or a reading"));
    element->p[LG_P_RUN] = 1;
  }
  double *const p = element->p;
  switch (element->kind) {
  case LG_EL_LAMP: /* cold filament 10 times, motor 6 times: switch maker's load-type page, seen */
    fill(element, LG_P_START, 10 * p[LG_P_RUN]);
    fill(element, LG_P_START_TIME, 0.1);
    break;
  case LG_EL_MOTOR:
  case LG_EL_FAN:
  case LG_EL_PUMP:
  case LG_EL_SOLENOID:
    fill(element, LG_P_START, isnan(p[LG_P_STALL]) ? 6 * p[LG_P_RUN] : p[LG_P_STALL]);
    fill(element, LG_P_START_TIME, 0.2);
    if (element->kind != LG_EL_SOLENOID)
      fill(element, LG_P_STALL, p[LG_P_START]);
    break;
  case LG_EL_ELECTRONIC:
    fill(element, LG_P_STANDBY, 1e-6);
    if (!isnan(p[LG_P_CUT_OUT]))
      fill(element, LG_P_CUT_IN, 1.04 * p[LG_P_CUT_OUT]);
    break;
  case LG_EL_LED:
    fill(element, LG_P_FORWARD, 2.0);
    break;
  case LG_EL_RESISTOR:
  case LG_EL_HEATER:
    fill(element, LG_P_RESISTANCE, p[LG_P_VOLTS] / p[LG_P_RUN]);
    break;
  default:
    break;
  }
  fill(element, LG_P_START, p[LG_P_RUN]);
}

/* Peukert exponents: battery guides, seen (flooded 1.2..1.3, AGM 1.05..1.15, gel 1.1..1.25,
 * lithium 1.05). */
static const double peukert_of[] = {
    [LG_CHEM_FLOODED] = 1.25, [LG_CHEM_AGM] = 1.1, [LG_CHEM_GEL] = 1.18, [LG_CHEM_LITHIUM] = 1.05};

static void complete_cell(LgJobBuild *build, LgElement *element)
{
  double *const p = element->p;
  if (isnan(p[LG_P_CAPACITY])) {
    lg_build_problem(build, element->origin,
                     g_strdup_printf("`%s` does not say its capacity", element->name),
                     g_strdup("write it as on the battery's label: `capacity=70Ah`"));
    p[LG_P_CAPACITY] = 70;
  }
  fill(element, LG_P_CHARGE, 0.8);
  fill(element, LG_P_PEUKERT, peukert_of[element->chemistry]);
  /* 3.0 V / cold cranking current at 25 C for 12 V, or 0.45 ohm Ah: battery references, memory. */
  if (!isnan(p[LG_P_CRANKING]))
    fill(element, LG_P_RESISTANCE, 3.0 / p[LG_P_CRANKING] * p[LG_P_VOLTS] / 12);
  fill(element, LG_P_RESISTANCE, 0.45 / p[LG_P_CAPACITY] * p[LG_P_VOLTS] / 12);
}

static void complete_charger(LgJobBuild *build, LgElement *element)
{
  double *const p = element->p;
  if (isnan(p[LG_P_RATED])) {
    lg_build_problem(build, element->origin,
                     g_strdup_printf("`%s` does not say its rated current", element->name),
                     g_strdup("write it as on its plate: `rated=55A`"));
    p[LG_P_RATED] = 50;
  }
  /* 40 % of rated at idle: common practice, 30 to 50 %. 14.2 V of 12 V: regulator range 13.8
   * to 14.7 V. */
  fill(element, LG_P_IDLE, 0.4 * p[LG_P_RATED]);
  fill(element, LG_P_REGULATED, (element->kind == LG_EL_SUPPLY ? 1.0 : 14.2 / 12) * p[LG_P_VOLTS]);
  /* The regulator sags by a tenth of a volt or two over its load: common practice, no source. */
  fill(element, LG_P_RESISTANCE, 0.002 * p[LG_P_VOLTS] / 12);
}

static void complete_coil(LgJobBuild *build, LgElement *element)
{
  double *const p = element->p;
  if (isnan(p[LG_P_RESISTANCE])) {
    lg_build_problem(build, element->origin,
                     g_strdup_printf("`%s` does not say its resistance", element->name),
                     g_strdup("measure the coil and write `resistance=85ohm`"));
    p[LG_P_RESISTANCE] = 85;
  }
  /* 12 V relays must pull at 7 to 8 V and let go at 0.5 to 1.2 V: relay sheets, seen. */
  fill(element, LG_P_PULL_IN, 0.65 * p[LG_P_VOLTS]);
  fill(element, LG_P_DROP_OUT, 0.1 * p[LG_P_VOLTS]);
  if (p[LG_P_DROP_OUT] >= p[LG_P_PULL_IN]) {
    lg_build_problem(
        build, element->origin,
        g_strdup_printf("`%s` would let go at %.3g V, above the %.3g V at which it pulls",
                        element->name, p[LG_P_DROP_OUT], p[LG_P_PULL_IN]),
        g_strdup("`drop-out=` must be below `pull-in=`"));
    p[LG_P_DROP_OUT] = 0.2 * p[LG_P_PULL_IN];
  }
}

static void complete_contact(LgElement *element)
{
  double *const p = element->p;
  fill(element, LG_P_RESISTANCE, element->kind == LG_EL_OUTPUT ? 0.1 : 0.005);
  /* Load factors of AC 43.13-1B, 12 V: motor and coil 2, lamp 5 (seen as a digest). */
  fill(element, LG_P_MOTOR_RATING, p[LG_P_RATING] / 2);
  fill(element, LG_P_LAMP_RATING, p[LG_P_RATING] / 5);
}

void lg_element_complete(LgJobBuild *build, LgElement *element)
{
  double *const p = element->p;
  fill(element, LG_P_VOLTS, build->job->nominal_V);
  fill(element, LG_P_TOLERANCE, 0.05);
  if (lg_element_is_load(element->kind))
    complete_load(build, element);
  else if (lg_element_is_contact(element->kind))
    complete_contact(element);
  switch (element->kind) {
  case LG_EL_CELL:
    complete_cell(build, element);
    break;
  case LG_EL_ALTERNATOR:
  case LG_EL_DYNAMO:
  case LG_EL_SUPPLY:
    complete_charger(build, element);
    break;
  case LG_EL_COIL:
    complete_coil(build, element);
    break;
  case LG_EL_FUSE:
  case LG_EL_BREAKER:
    if (isnan(p[LG_P_RATING]))
      element->rating_auto = TRUE;
    if (element->form == NULL)
      element->form = "blade-regular";
    break;
  case LG_EL_LINK:
    fill(element, LG_P_RESISTANCE, 1e-4);
    break;
  case LG_EL_CHASSIS:
    fill(element, LG_P_RESISTANCE, 5e-4);
    break;
  case LG_EL_DIODE:
    fill(element, LG_P_FORWARD, 0.7);
    fill(element, LG_P_RESISTANCE, 0.02);
    break;
  case LG_EL_THERMISTOR:
    fill(element, LG_P_R25, isnan(p[LG_P_RESISTANCE]) ? 10e3 : p[LG_P_RESISTANCE]);
    fill(element, LG_P_BETA, 3435);
    break;
  default:
    break;
  }
}
