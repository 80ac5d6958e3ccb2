/* What each kind of element is, and which keys it takes. */
#include "base/words.h"
#include "model/model-private.h"

#define K(name) (1u << LG_EL_##name)
#define MOTORS (K(MOTOR) | K(FAN) | K(PUMP))
#define MOVERS (MOTORS | K(SOLENOID))
#define LOADS (MOVERS | K(HEATER) | K(LAMP) | K(LED) | K(BUZZER) | K(ELECTRONIC) | K(RESISTOR))
#define CONTACTS (K(MAKE) | K(BREAK) | K(CONTACT) | K(THERMOSTAT) | K(OUTPUT))
#define CHARGERS (K(ALTERNATOR) | K(DYNAMO))
#define SOURCES (K(CELL) | CHARGERS | K(SUPPLY))
#define PROTECTION (K(FUSE) | K(BREAKER))

static gboolean in(guint32 set, LgElementKind kind)
{
  return (set >> kind & 1u) != 0;
}

gboolean lg_element_is_source(LgElementKind kind)
{
  return in(SOURCES, kind);
}

gboolean lg_element_is_load(LgElementKind kind)
{
  return in(LOADS, kind);
}

gboolean lg_element_is_motor(LgElementKind kind)
{
  return in(MOVERS, kind);
}

gboolean lg_element_is_contact(LgElementKind kind)
{
  return in(CONTACTS, kind);
}

gboolean lg_element_is_protection(LgElementKind kind)
{
  return in(PROTECTION, kind);
}

const char *lg_element_word(LgElementKind kind)
{
  const int what = lg_field_at_place(LG_KIND_ELEMENT, 1);
  return lg_kinds[LG_KIND_ELEMENT].fields[what].words[kind];
}

const char *lg_element_said(LgElementKind kind)
{
  static const char *const words[] = {
      N_("cell"),       N_("alternator"), N_("dynamo"),  N_("supply"),   N_("fuse"),
      N_("breaker"),    N_("link"),       N_("chassis"), N_("resistor"), N_("heater"),
      N_("thermistor"), N_("lamp"),       N_("led"),     N_("diode"),    N_("motor"),
      N_("fan"),        N_("pump"),       N_("buzzer"),  N_("solenoid"), N_("electronic"),
      N_("coil"),       N_("make"),       N_("break"),   N_("contact"),  N_("thermostat"),
      N_("output")};
  return T_(words[kind]);
}

/* `kinds`: which take the key. `through`: to which of them a key written on the part is handed; a
 * relay's `resistance` means its coil, not its contacts. */
const LgElementKey lg_element_keys[] = {
    {"volts", LG_P_VOLTS, LOADS | SOURCES | K(COIL), LOADS | SOURCES | K(COIL)},
    {"power", LG_P_POWER, LOADS, LOADS},
    {"run", LG_P_RUN, LOADS, LOADS},
    {"start", LG_P_START, MOVERS | K(LAMP) | K(ELECTRONIC), MOVERS | K(LAMP) | K(ELECTRONIC)},
    {"start-time", LG_P_START_TIME, MOVERS | K(LAMP) | K(ELECTRONIC),
     MOVERS | K(LAMP) | K(ELECTRONIC)},
    {"stall", LG_P_STALL, MOTORS, MOTORS},
    {"resistance", LG_P_RESISTANCE, ~0u,
     SOURCES | K(RESISTOR) | K(HEATER) | K(COIL) | MOVERS | K(DIODE) | K(LED) | K(CHASSIS)},
    {"tolerance", LG_P_TOLERANCE, ~0u, LOADS | K(COIL) | K(THERMISTOR)},
    {"capacity", LG_P_CAPACITY, K(CELL), K(CELL)},
    {"charge", LG_P_CHARGE, K(CELL), K(CELL)},
    {"peukert", LG_P_PEUKERT, K(CELL), K(CELL)},
    {"cranking", LG_P_CRANKING, K(CELL), K(CELL)},
    {"rated", LG_P_RATED, CHARGERS | K(SUPPLY), CHARGERS | K(SUPPLY)},
    {"idle", LG_P_IDLE, CHARGERS, CHARGERS},
    {"regulated", LG_P_REGULATED, CHARGERS | K(SUPPLY), CHARGERS | K(SUPPLY)},
    {"rating", LG_P_RATING, PROTECTION | CONTACTS, PROTECTION | CONTACTS},
    {"motor-rating", LG_P_MOTOR_RATING, CONTACTS, CONTACTS},
    {"lamp-rating", LG_P_LAMP_RATING, CONTACTS, CONTACTS},
    {"pull-in", LG_P_PULL_IN, K(COIL), K(COIL)},
    {"drop-out", LG_P_DROP_OUT, K(COIL), K(COIL)},
    {"opens", LG_P_OPENS, K(THERMOSTAT) | K(OUTPUT), K(THERMOSTAT) | K(OUTPUT)},
    {"closes", LG_P_CLOSES, K(THERMOSTAT) | K(OUTPUT), K(THERMOSTAT) | K(OUTPUT)},
    {"least-on", LG_P_LEAST_ON, K(THERMOSTAT) | K(OUTPUT), K(THERMOSTAT) | K(OUTPUT)},
    {"least-off", LG_P_LEAST_OFF, K(THERMOSTAT) | K(OUTPUT), K(THERMOSTAT) | K(OUTPUT)},
    {"period", LG_P_PERIOD, K(OUTPUT), K(OUTPUT)},
    {"share", LG_P_SHARE, K(OUTPUT), K(OUTPUT)},
    {"life", LG_P_LIFE, CONTACTS, CONTACTS},
    {"r25", LG_P_R25, K(THERMISTOR), K(THERMISTOR)},
    {"beta", LG_P_BETA, K(THERMISTOR), K(THERMISTOR)},
    {"forward", LG_P_FORWARD, K(DIODE) | K(LED), K(DIODE) | K(LED)},
    {"standby", LG_P_STANDBY, K(ELECTRONIC), K(ELECTRONIC)},
    {"cut-out", LG_P_CUT_OUT, K(ELECTRONIC), K(ELECTRONIC)},
    {"cut-in", LG_P_CUT_IN, K(ELECTRONIC), K(ELECTRONIC)},
    {"drop", LG_P_DROP, LOADS, LOADS},
    {"chemistry", -1, K(CELL), K(CELL)},
    {"reset", -1, K(BREAKER), K(BREAKER)},
    {"form", -1, K(FUSE), K(FUSE)},
    {"suppression", -1, K(COIL) | K(SOLENOID) | K(OUTPUT), K(COIL) | K(SOLENOID)},
    {"polarised", -1, K(COIL) | LOADS, K(COIL)},
    {"cycles", -1, LOADS, LOADS},
    {"by", -1, K(MAKE) | K(BREAK), 0},
    {"closed", -1, K(CONTACT) | K(OUTPUT), 0},
    {"call", -1, K(CONTACT) | K(OUTPUT), 0},
    {"warms", -1, LOADS, LOADS},
    {"feels", -1, K(THERMISTOR) | K(THERMOSTAT), K(THERMISTOR) | K(THERMOSTAT)},
    {"senses", -1, K(THERMOSTAT) | K(OUTPUT) | K(CONTACT), K(THERMOSTAT) | K(OUTPUT)},
    {NULL, -1, 0, 0},
};
