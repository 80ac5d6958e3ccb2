/* The cautions that are printed before anything else, as data. */
#include "studies/cautions.h"
#include "base/words.h"
#include <string.h>

static gboolean has_element(const LgJob *job, gboolean (*is)(const LgElement *))
{
  for (int e = 0; e < job->n_elements; e++)
    if (is(&job->elements[e]))
      return TRUE;
  return FALSE;
}

static gboolean says(const char *text, const char *word)
{
  g_autofree char *folded = text == NULL ? NULL : g_utf8_casefold(text, -1);
  return folded != NULL && strstr(folded, word) != NULL;
}

/* Better once too often: a part from a donor whose name or text speaks of a seat, a belt or a
 * steering wheel, or a pin that says it may belong to a restraint. */
static gboolean may_hold_restraint(const LgJob *job)
{
  static const char *const words[] = {"seat", "belt", "airbag", "steering", "pillar", NULL};
  for (int p = 0; p < job->n_pins; p++)
    if (job->pins[p].restraint != LG_RESTRAINT_NO)
      return TRUE;
  for (int i = 0; i < job->n_parts; i++)
    for (int k = 0; words[k] != NULL && job->parts[i].is == LG_IS_DONOR; k++)
      if (says(job->parts[i].name, words[k]) || says(job->parts[i].text, words[k]))
        return TRUE;
  return FALSE;
}

static gboolean has_seat(const LgJob *job)
{
  for (int i = 0; i < job->n_parts; i++)
    if (job->parts[i].is == LG_IS_DONOR &&
        (says(job->parts[i].name, "seat") || says(job->parts[i].text, "seat")))
      return TRUE;
  return FALSE;
}

static gboolean is_heater(const LgElement *element)
{
  return element->kind == LG_EL_HEATER;
}

static gboolean has_heater(const LgJob *job)
{
  return has_element(job, is_heater);
}

static gboolean is_lead_cell(const LgElement *element)
{
  return element->kind == LG_EL_CELL && element->chemistry != LG_CHEM_LITHIUM;
}

static gboolean has_lead_battery(const LgJob *job)
{
  return has_element(job, is_lead_cell);
}

static gboolean is_lithium_cell(const LgElement *element)
{
  return element->kind == LG_EL_CELL && element->chemistry == LG_CHEM_LITHIUM;
}

static gboolean has_lithium_battery(const LgJob *job)
{
  return has_element(job, is_lithium_cell);
}

static gboolean is_charger(const LgElement *element)
{
  return element->kind == LG_EL_ALTERNATOR || element->kind == LG_EL_DYNAMO;
}

static gboolean has_charger(const LgJob *job)
{
  return has_element(job, is_charger);
}

static gboolean is_mover(const LgElement *element)
{
  return element->kind == LG_EL_MOTOR;
}

static gboolean has_motor(const LgJob *job)
{
  return has_element(job, is_mover);
}

static gboolean is_electronic(const LgElement *element)
{
  return element->kind == LG_EL_ELECTRONIC || element->kind == LG_EL_OUTPUT;
}

static gboolean has_electronics(const LgJob *job)
{
  return has_element(job, is_electronic);
}

#define LINES(...)                                                                                 \
  (const char *const[])                                                                            \
  {                                                                                                \
    __VA_ARGS__, NULL                                                                              \
  }

const LgCaution lg_cautions[] = {
    {.name = "restraint",
     .title = N_("Airbags and belt pretensioners"),
     .lines = LINES(N_("A seat, belt or steering wheel from a donor may hold a side airbag, a "
                       "pretensioner or an occupancy mat. They can fire and kill."),
                    N_("Key off, battery minus off and insulated, then wait as the vehicle's "
                       "manual says: 10 seconds to 10 minutes were seen."),
                    N_("Never put an ohmmeter, a lamp or a supply on such a circuit, nor on a plug "
                       "that may belong to one. The plugs are yellow by habit, not always."),
                    N_("Touch bare metal of the body first. Carry an airbag with its cover away "
                       "from you, lay it down cover up, keep it cool; no welding near it."),
                    N_("Makers forbid moving such parts to another vehicle and using them again "
                       "after a fall.")),
     .source = N_("makers' restraint-system precautions, seen; yellow plugs: habit of the trade"),
     .applies = may_hold_restraint},
    {.name = "occupancy",
     .title = N_("Occupancy sensing"),
     .lines = LINES(N_("Loosening seat bolts or changing a cushion can call for setting the sensor "
                       "to zero with the maker's tester."),
                    N_("Another seat, cover or heating mat can silence an airbag or misdirect it. "
                       "No dummy resistors.")),
     .source = N_("makers' restraint-system precautions, seen; in part memory"),
     .applies = may_hold_restraint},
    {.name = "seat-strength",
     .title = N_("Seat and belt anchorage"),
     .lines = LINES(N_("Bolts, plates, tracks and belts are outside of what this tool looks at: "
                       "they need an engineer and an inspector."),
                    N_("In the United States FMVSS 207 to 210 hold, under UN rules R14, R16, R17 "
                       "and, for buses, R80.")),
     .source = N_("FMVSS 207, 209, 210 and UN R14, R16, R17: seen in part; 208 and R80: memory"),
     .applies = has_seat},
    {.name = "burns",
     .title = N_("Burns from heated seats and pads"),
     .lines = LINES(N_("Skin burns at 44 C in six hours; each degree more halves the time. At 49 C "
                       "ten minutes can burn deeply. Burn doctors ask for 41 C at most."),
                    N_("No seat heat for people who feel little (paralysis, diabetes), for "
                       "children, for sleepers; or disconnect it."),
                    N_("Always a sensor, an independent cut-out and a timer, none of them bridged. "
                       "Pads are not folded, pinned, cut or bridged."),
                    N_("No public standard was found that caps the temperature.")),
     .source = N_("skin-burn study of 1947 as cited by a safety research office, seen"),
     .applies = has_heater},
    {.name = "fire",
     .title = N_("Fire"),
     .lines =
         LINES(N_("Every added plus is fused at its source. No bare live stud without a fuse."),
               N_("Nothing is tied to fuel or brake lines; keep wires 150 mm away from fuel, and "
                  "above it."),
               N_("An extinguisher in reach at first power. Stop at smell or heat."),
               N_("Coverings and tape near the cabin must burn slowly: 102 mm a minute at most "
                  "(FMVSS 302, ISO 3795).")),
     .source = N_("AC 43.13-1B, 33 CFR 183.455 and FMVSS 302, seen")},
    {.name = "lead-battery",
     .title = N_("Lead batteries"),
     .lines = LINES(N_("Charging makes hydrogen, which explodes from 4.1 to 72 % in air: "
                       "ventilate, no sparks."),
                    N_("Acid burns eyes and skin: goggles, water at hand."),
                    N_("Minus off first and on last. No rings or watches; an insulated tool.")),
     .source = N_("an occupational health office's page on battery charging, seen"),
     .applies = has_lead_battery},
    {.name = "lithium-battery",
     .title = N_("Lithium batteries"),
     .lines = LINES(N_("Charge only through a charger or converter made for it, never below 0 C."),
                    N_("Its management unit may disconnect at any time and leave a surge; an "
                       "alternator can overheat on it.")),
     .source = N_("a lithium battery's manual, seen"),
     .applies = has_lithium_battery},
    {.name = "running-engine",
     .title = N_("Running engine"),
     .lines = LINES(N_("Never disconnect a battery while the engine runs: the volts shoot up and "
                       "kill electronics.")),
     .source = N_("makers' precautions, seen"),
     .applies = has_charger},
    {.name = "motion",
     .title = N_("Things that move"),
     .lines = LINES(N_("Powered seats and slides pinch, and can move the driver: block them where "
                       "the original did."),
                    N_("Keep a stop in reach. Hands, clothes and tools out before power.")),
     .source = N_("common practice, no source"),
     .applies = has_motor},
    {.name = "electronics",
     .title = N_("Electronics"),
     .lines = LINES(N_("Bus wires and control units are not places to take power from."),
                    N_("Do not leave a wire pierced by a probe unsealed. Discharge yourself before "
                       "touching plugs."),
                    N_("Never an ohmmeter or a test lamp on a control unit.")),
     .source = N_("makers' introductions to circuit inspection, seen; in part memory"),
     .applies = has_electronics},
    {.name = "high-voltage",
     .title = N_("High voltage"),
     .lines = LINES(N_("Above 60 V DC or 30 V AC, and behind orange coverings, this tool ends. Do "
                       "not open; trained people only.")),
     .source = N_("ISO 6469-3 in digests, seen")},
    {.name = "law",
     .title = N_("Law, inspection, insurance"),
     .lines = LINES(N_("Lamps, belts, seats, restraint, immobiliser and radio interference are "
                       "regulated. Ask first, declare what was changed, keep the papers."),
                    N_("Warranty and insurance may depend on it.")),
     .source = N_("memory; ask locally")},
    {.name = "always",
     .title = N_("Always"),
     .lines = LINES(N_("Figures here are aids to a competent person. Local codes, the makers' "
                       "manuals and licensed practice rule."),
                    N_("Test; do not trust colours.")),
     .source = N_("habit of the trade")},
    {.name = NULL}};

gboolean lg_caution_applies(const LgCaution *caution, const LgJob *job)
{
  return caution->applies == NULL || caution->applies(job);
}

GPtrArray *lg_cautions_of(const LgJob *job)
{
  GPtrArray *const found = g_ptr_array_new();
  for (const LgCaution *caution = lg_cautions; caution->name != NULL; caution++)
    if (lg_caution_applies(caution, job))
      g_ptr_array_add(found, (gpointer)caution);
  return found;
}
