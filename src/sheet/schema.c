#include "sheet/schema.h"
#include <string.h>

#define WORDS(...)                                                                                 \
  (const char *const[])                                                                            \
  {                                                                                                \
    __VA_ARGS__, NULL                                                                              \
  }
#define TEXT(k, h)                                                                                 \
  {                                                                                                \
    .key = (k), .type = LG_VALUE_TEXT, .help = (h)                                                 \
  }
#define NAME(k, h)                                                                                 \
  {                                                                                                \
    .key = (k), .type = LG_VALUE_NAME, .help = (h)                                                 \
  }
#define NAMES(k, h)                                                                                \
  {                                                                                                \
    .key = (k), .type = LG_VALUE_NAMES, .help = (h)                                                \
  }
#define WORD(k, fb, h, ...)                                                                        \
  {                                                                                                \
    .key = (k), .type = LG_VALUE_WORD, .words = WORDS(__VA_ARGS__), .fallback = (fb), .help = (h)  \
  }
#define COUNT(k, lo, hi, h)                                                                        \
  {                                                                                                \
    .key = (k), .type = LG_VALUE_COUNT, .least = (lo), .most = (hi), .help = (h)                   \
  }
#define QTY(k, d, lo, hi, fb, h)                                                                   \
  {                                                                                                \
    .key = (k), .type = LG_VALUE_QUANTITY, .dim = (d), .least = (lo), .most = (hi),                \
    .fallback = (fb), .help = (h)                                                                  \
  }
#define RANGE(k, d, lo, hi, fb, h)                                                                 \
  {                                                                                                \
    .key = (k), .type = LG_VALUE_RANGE, .dim = (d), .least = (lo), .most = (hi), .fallback = (fb), \
    .help = (h)                                                                                    \
  }
#define AT(n, must, ...)                                                                           \
  {                                                                                                \
    .place = (n), .required = (must), __VA_ARGS__                                                  \
  }
#define END                                                                                        \
  {                                                                                                \
    .key = NULL                                                                                    \
  }

#define VOLTS LG_DIM_VOLTAGE
#define AMPS LG_DIM_CURRENT
#define OHMS LG_DIM_RESISTANCE
#define WATTS LG_DIM_POWER
#define METRES LG_DIM_LENGTH
#define MM2 LG_DIM_AREA
#define DEGREES LG_DIM_TEMPERATURE
#define FACTOR LG_DIM_NONE
#define RATIO LG_DIM_RATIO
#define SECONDS LG_DIM_TIME

/* -80 to 1000 degC, wide enough for a hot exhaust and a test bench. */
#define COLD_K 193.15
#define HOT_K 1273.15

#define EVIDENCE                                                                                   \
  WORD("evidence", "guess",                                                                        \
       "how the fact is known: a reading in this sheet, service papers, hearsay, a guess",         \
       "measured", "document", "told", "guess")
#define RESTRAINT                                                                                  \
  WORD("restraint", "no", "belongs to an airbag or belt pretensioner circuit: leave it alone",     \
       "no", "maybe", "yes")
#define SOURCE                                                                                     \
  TEXT("source", "where the figures come from, and whether they were seen or are from memory")

/* What an element can be told. A part and a type take the same keys and hand them to the elements
 * inside. */
#define ELEMENT_KEYS                                                                               \
  QTY("volts", VOLTS, 0.1, 100, "the job's nominal volts",                                         \
      "volts at which power, run, start and stall hold"),                                          \
      QTY("power", WATTS, 1e-3, 1e5, NULL, "rated power, as the donor gave it"),                   \
      QTY("run", AMPS, 1e-4, 2000, NULL, "steady running current at its volts"),                   \
      QTY("start", AMPS, 1e-4, 5000, NULL, "peak current at the start, or of the cold lamp"),      \
      QTY("start-time", SECONDS, 1e-4, 3600, "0.2 s", "how long the start current lasts"),         \
      QTY("stall", AMPS, 1e-4, 5000, NULL, "current when the motor is held"),                      \
      QTY("resistance", OHMS, 1e-6, 1e9, NULL,                                                     \
          "resistance at 20 C (cell, coil, heater, resistor, contact, link)"),                     \
      QTY("tolerance", RATIO, 0, 1, "5 %", "how far the resistance may be off"),                   \
      QTY("capacity", LG_DIM_CHARGE, 0.01, 5000, NULL, "battery capacity at the 20 h rate"),       \
      QTY("charge", RATIO, 0, 1, "80 %", "state of charge"),                                       \
      WORD("chemistry", "flooded", "kind of battery", "flooded", "agm", "gel", "lithium"),         \
      QTY("peukert", FACTOR, 1, 2, "by chemistry", "Peukert exponent"),                            \
      QTY("cranking", AMPS, 1, 5000, NULL, "cold cranking current at -18 C"),                      \
      QTY("rated", AMPS, 0.1, 2000, NULL, "alternator, dynamo or supply: greatest current"),       \
      QTY("idle", AMPS, 0, 2000, "40 % of rated", "what an alternator or dynamo gives at idle"),   \
      QTY("regulated", VOLTS, 1, 100, "1.18 x nominal", "volts that the regulator holds"),         \
      {.key = "rating",                                                                            \
       .type = LG_VALUE_AUTO,                                                                      \
       .dim = AMPS,                                                                                \
       .least = 0.01,                                                                              \
       .most = 5000,                                                                               \
       .help = "fuse or breaker rating (or auto); a contact's or output's greatest steady "        \
               "current, resistive load"},                                                         \
      QTY("motor-rating", AMPS, 0.01, 5000, "half of rating",                                      \
          "a contact's greatest motor or coil current"),                                           \
      QTY("lamp-rating", AMPS, 0.01, 5000, "a fifth of rating",                                    \
          "a contact's greatest steady lamp current"),                                             \
      NAME("form", "body of the fuse: blade-mini, blade-regular, blade-maxi, bolt-30, bolt-51"),   \
      WORD("reset", "self", "how a breaker closes again", "self", "power", "hand"),                \
      QTY("pull-in", VOLTS, 0.1, 100, NULL, "a coil must pull at these volts, coil at 20 C"),      \
      QTY("drop-out", VOLTS, 0.05, 100, NULL,                                                      \
          "a coil must let go below these volts, coil at 20 C"),                                   \
      WORD("suppression", "none", "what takes the coil's kick", "none", "resistor", "diode"),      \
      WORD("polarised", "no", "the first pin must be plus", "no", "yes"),                          \
      NAME("by", "the coil that works this contact"),                                              \
      NAMES("closed", "hand positions in which the contact is closed"),                            \
      NAME("call", "thermostat call that must be there, too, for the contact to close"),           \
      {.key = "senses", .type = LG_VALUE_ITEM, .help = "thermistor that a thermostat listens to"}, \
      QTY("opens", DEGREES, COLD_K, HOT_K, NULL, "temperature at which a thermostat opens"),       \
      QTY("closes", DEGREES, COLD_K, HOT_K, NULL,                                                  \
          "temperature at which a thermostat closes again"),                                       \
      QTY("least-on", SECONDS, 0, 86400, NULL, "a thermostat stays closed at least so long"),      \
      QTY("least-off", SECONDS, 0, 86400, NULL, "and open at least so long"),                      \
      QTY("period", SECONDS, 0.01, 86400, NULL,                                                    \
          "an output that warms by the clock: one turn of on and off"),                            \
      QTY("share", RATIO, 0.01, 1, "100 %", "part of each period in which it is on"),              \
      QTY("life", FACTOR, 1, 1e9, NULL,                                                            \
          "operations that a contact lasts at its rating, resistive load"),                        \
      NAME("warms", "body that takes up the heat of this load"),                                   \
      NAME("feels", "body whose temperature this thermistor or thermostat has"),                   \
      QTY("r25", OHMS, 1, 1e8, NULL, "thermistor resistance at 25 C"),                             \
      QTY("beta", LG_DIM_WARMTH, 500, 20000, NULL, "thermistor B value"),                          \
      QTY("forward", VOLTS, 0.1, 100, "0.7 V diode, 2 V LED",                                      \
          "volts lost in a diode or LED when it conducts"),                                        \
      QTY("standby", AMPS, 1e-9, 100, NULL, "what an electronic load or module draws at rest"),    \
      QTY("cut-out", VOLTS, 0.1, 100, NULL, "an electronic load switches off below these volts"),  \
      QTY("cut-in", VOLTS, 0.1, 100, "cut-out + 4 %", "and on again above these"),                 \
      WORD("cycles", "no",                                                                         \
           "has a switch or thermostat of its own, so it may be off with volts on it", "no",       \
           "yes"),                                                                                 \
      QTY("drop", RATIO, 1e-3, 0.5, "the job's drop",                                              \
          "greatest loss of volts on the way to this load and back"),                              \
      TEXT("vital", "function that must not be lost, such as brake lamps")

static const LgField job_fields[] = {
    {.key = "date", .type = LG_VALUE_DATE, .help = "date of this revision"},
    WORD("units", "metric", "how quantities are printed", "metric", "us"),
    WORD("sizes", "as units", "series that auto wires are chosen from", "metric", "awg"),
    QTY("nominal", VOLTS, 4, 60, "12 V", "nominal volts of the vehicle: 6, 12, 24 or 48 V"),
    WORD("ground", "negative", "battery post that is tied to the body", "negative", "positive"),
    WORD("words", "ground", "which word is printed", "ground", "earth"),
    RANGE("ambient", DEGREES, COLD_K, 423.15, "-20C..40C",
          "coldest and hottest day for places that do not say"),
    TEXT("by", "who wrote the sheet"),
    TEXT("ask", "whom to ask"),
    TEXT("private", "words with commas between that a write-up to share leaves out: places, number "
                    "plates; people who are named in the records are left out anyway"),
    NAME("insulation", "insulation class of wires that do not say: a name in the catalogue"),
    QTY("drop", RATIO, 1e-3, 0.5, "5 %",
        "greatest loss of volts to a load and back, share of nominal"),
    QTY("fuse-load", RATIO, 0.3, 1, "80 %",
        "greatest steady current as a share of the fuse rating"),
    QTY("fuse-over-wire", RATIO, 0.5, 1.5, "100 %",
        "greatest fuse rating as a share of the wire's derated current"),
    QTY("standing", SECONDS, 3600, 4e7, "21 d", "how long the vehicle stands and must still start"),
    WORD("bundle", "us", "published bundle factors that are used", "us", "iso", "none"),
    WORD("paper", "by units", "sheet size of the packet", "a4", "letter"),
    WORD("language", "en", "language of the packet and its drawings", "en", "de"),
    END};

static const LgField vehicle_fields[] = {
    WORD("is", "host", "which of the two vehicles", "host", "donor"),
    RANGE("ambient", DEGREES, COLD_K, 423.15, "the job's", "coldest and hottest day"),
    TEXT("proven", "what example it was proven on"), END};

static const LgField place_fields[] = {
    RANGE("temperature", DEGREES, COLD_K, HOT_K, "the job's ambient",
          "coldest and hottest it gets there"),
    WORD("wet", "no", "water reaches it", "no", "yes"),
    WORD("edge", "no", "sharp edges near", "no", "yes"),
    QTY("hole", METRES, 1e-3, 1, NULL, "diameter of the hole that a bundle passes"),
    QTY("opening-width", METRES, 1e-3, 2, NULL,
        "width of the opening that a switch or socket goes into; its diameter when it is round"),
    QTY("opening-height", METRES, 1e-3, 2, "round", "height of that opening"),
    TEXT("where", "the exact spot, for the hand that looks for it"),
    END};

static const LgField run_fields[] = {
    AT(1, TRUE, .key = "from", .type = LG_VALUE_NAME, .help = "place where it begins"),
    AT(2, TRUE, .key = "to", .type = LG_VALUE_NAME, .help = "place where it ends"),
    AT(3, FALSE, .key = "length", .type = LG_VALUE_QUANTITY, .dim = METRES, .least = 1e-3,
       .most = 200, .help = "length along the route; without it each wire there says its own"),
    RANGE("temperature", DEGREES, COLD_K, HOT_K, "the hotter end",
          "coldest and hottest on the way"),
    NAME("cover", "covering: a name in the catalogue"),
    WORD("moves", "no", "bends in use, as under a seat", "no", "yes"),
    WORD("wet", "no", "water reaches it", "no", "yes"),
    COUNT("others", 0, 500,
          "wires already in that run that carry current and are not in this sheet"),
    END};

static const LgField part_fields[] = {
    AT(1, TRUE, .key = "type", .type = LG_VALUE_NAME,
       .help = "a type in the catalogue, or assembly for a thing of its own"),
    NAME("at", "place where it sits"),
    WORD("is", "new", "bought new, taken from the donor, or there already", "new", "donor", "host"),
    {.key = "face",
     .type = LG_VALUE_GRID,
     .least = 1,
     .most = 40,
     .help = "rows x columns of its connector face"},
    WORD("view", "wire", "side the face is numbered from: where the wires enter, or where it mates",
         "wire", "mating"),
    WORD("latch", "top", "where the latch is in that view", "top", "bottom", "left", "right"),
    TEXT("housing", "colour and marks of the plug's body"),
    QTY("tail", METRES, 0, 20, NULL, "length of harness left on a donor plug"),
    QTY("body-width", METRES, 1e-3, 2, NULL,
        "width of what goes into the opening of its place; its diameter when it is round"),
    QTY("body-height", METRES, 1e-3, 2, "round", "height of what goes in"),
    QTY("rim", METRES, 0, 0.2, "none", "how far its front reaches over the opening on each side"),
    NAMES("positions", "hand positions, the position of rest first"),
    TEXT("only-when",
         "INPUT=position without which this part stays in its first position, such as KEY=on"),
    RESTRAINT,
    EVIDENCE,
    TEXT("buy", "where it is bought or what to ask for"),
    TEXT("price", "price as printed, such as 3.20 EUR"),
    QTY("labour", SECONDS, 0, 1e6, NULL, "time to fit it"),
    ELEMENT_KEYS,
    SOURCE,
    END};

static const LgField pin_fields[] = {
    {.key = "colour", .type = LG_VALUE_COLOUR, .help = "wire colour found there, base/stripe"},
    {.key = "size", .type = LG_VALUE_SIZE, .help = "wire size found there"},
    NAME("terminal", "terminal in the cavity: a name in the catalogue"),
    WORD("fitted", "yes", "whether the cavity of this example holds a terminal", "yes", "no",
         "unknown"),
    WORD("carries", "by the circuit", "what the pin is for", "power", "return", "signal", "sensor"),
    EVIDENCE,
    TEXT("said-by", "service paper, person or page that says so"),
    RESTRAINT,
    COUNT("cavity", 1, 1600, "moulded number, when it differs from the name"),
    END};

static const char *const element_words[] = {
    "cell",    "alternator", "dynamo",  "supply",     "fuse",     "breaker",    "link",
    "chassis", "resistor",   "heater",  "thermistor", "lamp",     "led",        "diode",
    "motor",   "fan",        "pump",    "buzzer",     "solenoid", "electronic", "coil",
    "make",    "break",      "contact", "thermostat", "output",   NULL};

static const LgField element_fields[] = {
    AT(1, FALSE, .key = "what", .type = LG_VALUE_WORD, .words = element_words,
       .help = "what lies between the pins"),
    AT(2, FALSE, .key = "first", .type = LG_VALUE_PIN, .help = "pin; plus side, anode or common"),
    AT(3, FALSE, .key = "second", .type = LG_VALUE_PIN,
       .help = "pin; minus side, cathode or output"),
    ELEMENT_KEYS,
    EVIDENCE,
    SOURCE,
    END};

static const LgField wire_fields[] = {
    AT(1, TRUE, .key = "from", .type = LG_VALUE_PIN, .help = "pin where it begins"),
    AT(2, TRUE, .key = "to", .type = LG_VALUE_PIN, .help = "pin where it ends"),
    AT(3, TRUE, .key = "colour", .type = LG_VALUE_COLOUR, .help = "base/stripe, IEC 60757 letters"),
    AT(4, TRUE, .key = "size", .type = LG_VALUE_SIZE,
       .help = "conductor size, or auto to have it chosen"),
    {.key = "length",
     .type = LG_VALUE_AUTO,
     .dim = METRES,
     .least = 5e-3,
     .most = 200,
     .fallback = "along its runs",
     .help = "length one way, along the route"},
    NAMES("via", "runs it passes, in order; without it the shortest way between the places"),
    QTY("spare", METRES, 0, 5, "0.15 m", "allowance at the ends for cutting"),
    NAME("insulation", "insulation class: a name in the catalogue"),
    WORD("is", "new", "bought new, left on the donor part, or there already", "new", "donor",
         "host"),
    WORD("sheathed", "no", "in a sheath or covering of its own over its whole length", "no", "yes"),
    TEXT("vital", "function that must not be lost"),
    END};

static const LgField need_fields[] = {
    AT(1, TRUE, .key = "target", .type = LG_VALUE_ITEM, .help = "element, pin or wire"),
    AT(2, TRUE, .key = "limit", .type = LG_VALUE_LIMIT,
       .help = "current<10mA, volts>11V, power>60W"),
    END};

static const LgField reading_fields[] = {
    AT(1, TRUE, .key = "from", .type = LG_VALUE_PIN, .help = "pin of the red lead"),
    AT(2, TRUE, .key = "to", .type = LG_VALUE_PIN, .help = "pin of the black lead"),
    QTY("resistance", OHMS, 0, 1e9, NULL, "ohms read"),
    QTY("volts", VOLTS, -200, 200, NULL, "volts read"),
    QTY("current", AMPS, -5000, 5000, NULL, "amperes read"),
    WORD("open", "no", "the meter showed no connection", "no", "yes"),
    QTY("lead", OHMS, 0, 100, "0.2 ohm", "what the meter shows with its leads touched together"),
    QTY("tolerance", RATIO, 0, 1, "1 %", "what the meter may be off"),
    QTY("temperature", DEGREES, COLD_K, HOT_K, "20 C", "temperature of what was measured"),
    {.key = "date", .type = LG_VALUE_DATE, .help = "when"},
    TEXT("by", "who"),
    TEXT("instrument", "which meter"),
    TEXT("did", "what was done meanwhile: seat moved, pad warmed by hand"),
    END};

static const LgField tick_fields[] = {WORD("result", "good", "how it came out", "good", "bad"),
                                      TEXT("found", "what was seen, or what the meter showed"),
                                      {.key = "date", .type = LG_VALUE_DATE, .help = "when"},
                                      TEXT("by", "who"),
                                      TEXT("instrument", "which meter or lamp"),
                                      END};

static const LgField body_fields[] = {
    WORD("is", "other", "what it stands for; a surface is what skin touches", "other", "pad",
         "foam", "surface", "occupant", "air"),
    WORD("material", "textile", "what a surface is made of, for burns", "textile", "leather",
         "plastic", "wood", "glass", "metal"),
    QTY("capacity", LG_DIM_HEAT_CAPACITY, 0.1, 1e7, NULL, "heat for one kelvin"),
    NAME("touches", "body that it gives heat to"),
    QTY("through", LG_DIM_HEAT_LEAK, 1e-4, 1e5, NULL, "heat flow to that body, per kelvin"),
    QTY("loss", LG_DIM_HEAT_LEAK, 0, 1e5, "none", "heat flow to the air outside, per kelvin"),
    QTY("holds", DEGREES, COLD_K, HOT_K, NULL, "keeps this temperature whatever happens"),
    SOURCE,
    END};

static const LgField use_fields[] = {
    {.key = "lasts",
     .type = LG_VALUE_QUANTITY,
     .dim = SECONDS,
     .least = 1e-3,
     .most = 4e7,
     .required = TRUE,
     .help = "how long the course runs"},
    QTY("ambient", DEGREES, COLD_K, 423.15, "the job's coldest", "air outside, and start of all"),
    QTY("charge", RATIO, 0, 1, "each battery's own", "state of charge at the start"),
    COUNT("repeat", 1, 100000, "how often the course comes, one after the other; once without it"),
    END};

static const LgField step_fields[] = {
    AT(1, TRUE, .key = "at", .type = LG_VALUE_QUANTITY, .dim = SECONDS, .least = 0, .most = 4e7,
       .help = "time in the course"),
    QTY("speed", LG_DIM_SPEED, 0, 20000, "as before",
        "engine speed from now on; 0rpm: it stands still"),
    QTY("ambient", DEGREES, COLD_K, 423.15, "as before", "air outside from now on"), END};

/* Sections of the write-up; in the order of LgChapterAt. */
#define SECTIONS                                                                                   \
  "cautions", "verdict", "diagram", "parts", "plugs", "wires", "steps", "tests", "troubles",       \
      "use", "history", "evidence"

static const LgField chapter_fields[] = {
    WORD("before", NULL, "section of the write-up that it stands before", SECTIONS),
    WORD("after", "history", "section of the write-up that it stands behind", SECTIONS), END};

/* Steps of building; in the order of LgBuildStep. */
#define BUILD_STEPS                                                                                \
  "measure", "gather", "cut", "trial", "board", "splices", "ends", "ring-out", "battery-off",      \
      "panels", "grounds", "holders", "runs", "last-ends", "fit", "first-check", "first-power",    \
      "fuses", "readings", "refit", "drain", "handover"

#define BELONGS                                                                                    \
  NAME("of", "part, wire, place, run or chapter that it belongs to"),                              \
      WORD("step", NULL, "step of building that it belongs to", BUILD_STEPS)

static const LgField photo_fields[] = {
    {.key = "file",
     .type = LG_VALUE_TEXT,
     .required = TRUE,
     .help = "JPEG or PNG in the sheet's folder or below it: \"plug.jpg\", \"photos/plug.jpg\""},
    BELONGS,
    {.key = "date", .type = LG_VALUE_DATE, .help = "when"},
    TEXT("by", "who took it"),
    END};

static const LgField note_fields[] = {BELONGS,
                                      WORD("is", "text", "a paragraph, or a line of the history",
                                           "text", "failed", "corrected", "repeated"),
                                      {.key = "date", .type = LG_VALUE_DATE, .help = "when"},
                                      TEXT("by", "who"),
                                      END};

static const LgField variant_fields[] = {
    NAMES("without", "records above that it leaves out, with the pins and elements of a part"),
    END};

static const LgField type_fields[] = {
    AT(1, TRUE, .key = "class", .type = LG_VALUE_WORD,
       .words = WORDS("battery", "alternator", "dynamo", "supply", "key", "switch", "thermostat",
                      "relay", "fuse-holder", "breaker", "stud", "ground", "splice", "connector",
                      "load", "sensor", "module", "diode", "assembly"),
       .help = "what the buying list, the drawings and the checks treat it as"),
    AT(2, TRUE, .key = "letter", .type = LG_VALUE_NAME, .help = "IEC 81346 letter, vehicle habit"),
    NAMES("positions", "hand positions, the position of rest first"),
    {.key = "face",
     .type = LG_VALUE_GRID,
     .least = 1,
     .most = 40,
     .help = "rows x columns of its connector face"},
    ELEMENT_KEYS,
    SOURCE,
    END};

static const LgField conductor_fields[] = {{.key = "area",
                                            .type = LG_VALUE_QUANTITY,
                                            .dim = MM2,
                                            .least = 0.01,
                                            .most = 500,
                                            .required = TRUE,
                                            .help = "metal cross section"},
                                           {.key = "resistance",
                                            .type = LG_VALUE_QUANTITY,
                                            .dim = OHMS,
                                            .least = 1e-6,
                                            .most = 1,
                                            .required = TRUE,
                                            .help = "greatest resistance of one metre at 20 C"},
                                           {.key = "diameter",
                                            .type = LG_VALUE_QUANTITY,
                                            .dim = METRES,
                                            .least = 1e-4,
                                            .most = 0.1,
                                            .required = TRUE,
                                            .help = "over the strands"},
                                           {.key = "outer",
                                            .type = LG_VALUE_QUANTITY,
                                            .dim = METRES,
                                            .least = 1e-4,
                                            .most = 0.1,
                                            .required = TRUE,
                                            .help = "over the insulation, thin wall"},
                                           {.key = "source",
                                            .type = LG_VALUE_TEXT,
                                            .required = TRUE,
                                            .help = "standard and table; seen or memory"},
                                           END};

static const LgField insulation_fields[] = {
    {.key = "temperature",
     .type = LG_VALUE_QUANTITY,
     .dim = DEGREES,
     .least = COLD_K,
     .most = HOT_K,
     .required = TRUE,
     .help = "continuous conductor temperature"},
    QTY("short", DEGREES, COLD_K, HOT_K, NULL, "for 240 h in its life"),
    QTY("overload", DEGREES, COLD_K, HOT_K, NULL, "for 6 h in its life"),
    QTY("limit", DEGREES, COLD_K, HOT_K, NULL, "end of a short circuit"),
    TEXT("material", "what it is made of"),
    WORD("rows", "nearest below", "temperature column of the ampacity tables", "60", "70", "75",
         "80", "85", "90", "105", "125", "200"),
    {.key = "source",
     .type = LG_VALUE_TEXT,
     .required = TRUE,
     .help = "standard and table; seen or memory"},
    END};

static const LgField ampacity_fields[] = {
    AT(1, TRUE, .key = "size", .type = LG_VALUE_SIZE, .help = "conductor size"),
    AT(2, TRUE, .key = "class", .type = LG_VALUE_QUANTITY, .dim = DEGREES, .least = COLD_K,
       .most = HOT_K, .help = "insulation temperature"),
    AT(3, TRUE, .key = "current", .type = LG_VALUE_QUANTITY, .dim = AMPS, .least = 0.1,
       .most = 2000, .help = "allowed current"),
    WORD("table", NULL, "which published table", "us", "iso"),
    QTY("ambient", DEGREES, COLD_K, HOT_K, "30 C", "ambient of the table"),
    {.key = "source",
     .type = LG_VALUE_TEXT,
     .required = TRUE,
     .help = "standard and table; seen or memory"},
    END};

static const LgField factor_fields[] = {
    WORD("table", NULL, "which published table", "us", "iso"),
    COUNT("from", 1, 1000, "fewest current-carrying wires together"),
    COUNT("to", 1, 100000, "most"),
    QTY("value", FACTOR, 0.01, 2, NULL, "factor on the current"),
    {.key = "source",
     .type = LG_VALUE_TEXT,
     .required = TRUE,
     .help = "standard and table; seen or memory"},
    END};

static const LgField fuse_fields[] = {
    {.key = "form", .type = LG_VALUE_NAME, .required = TRUE, .help = "body"},
    {.key = "rating",
     .type = LG_VALUE_QUANTITY,
     .dim = AMPS,
     .least = 0.1,
     .most = 2000,
     .required = TRUE,
     .help = "rated current"},
    TEXT("colour", "standard colour of the body"),
    QTY("cold", OHMS, 1e-6, 10, NULL, "cold resistance"),
    QTY("melting", LG_DIM_I2T, 1e-3, 1e8, NULL, "melting I2t"),
    {.key = "source",
     .type = LG_VALUE_TEXT,
     .required = TRUE,
     .help = "standard and table; seen or memory"},
    END};

static const LgField opening_fields[] = {
    {.key = "form", .type = LG_VALUE_NAME, .required = TRUE, .help = "body"},
    {.key = "load",
     .type = LG_VALUE_QUANTITY,
     .dim = RATIO,
     .least = 0.5,
     .most = 20,
     .required = TRUE,
     .help = "current as a share of the rating"},
    QTY("least", SECONDS, 0, 1e7, NULL, "shortest time to open"),
    QTY("most", SECONDS, 0, 1e7, NULL, "longest time to open"),
    RANGE("ratings", AMPS, 0.1, 2000, NULL, "ratings it holds for"),
    {.key = "source",
     .type = LG_VALUE_TEXT,
     .required = TRUE,
     .help = "standard and table; seen or memory"},
    END};

static const LgField terminal_fields[] = {
    RANGE("wire", MM2, 0.01, 500, NULL, "conductor range of the crimp"),
    QTY("rating", AMPS, 0.1, 2000, NULL, "continuous current with the largest wire"),
    QTY("resistance", OHMS, 1e-6, 1, "2 mohm", "crimp and mating contact together"),
    TEXT("use", "what it is for"),
    {.key = "source",
     .type = LG_VALUE_TEXT,
     .required = TRUE,
     .help = "standard and table; seen or memory"},
    END};

static const LgField cover_fields[] = {
    WORD("kind", NULL, "what it is", "tube", "slit-tube", "braid", "shrink", "tape", "grommet"),
    QTY("bore", METRES, 1e-3, 0.2, NULL, "inner diameter"),
    QTY("temperature", DEGREES, COLD_K, HOT_K, NULL, "continuous limit"),
    {.key = "source",
     .type = LG_VALUE_TEXT,
     .required = TRUE,
     .help = "standard and table; seen or memory"},
    END};

const LgKindInfo lg_kinds[LG_N_KINDS] = {
    [LG_KIND_JOB] = {"job", LG_NAMED_TEXT, FALSE, TRUE, TRUE, FALSE, job_fields,
                     "title of the job and its habits",
                     "job \"Heated seat for the library van\" nominal=12V units=metric"},
    [LG_KIND_VEHICLE] = {"vehicle", LG_NAMED_PLAIN, FALSE, FALSE, TRUE, FALSE, vehicle_fields,
                         "host or donor",
                         "vehicle van is=host \"panel van fitted out with book shelves\""},
    [LG_KIND_PLACE] = {"place", LG_NAMED_PLAIN, FALSE, FALSE, TRUE, FALSE, place_fields,
                       "a spot in the vehicle",
                       "place under-seat temperature=-20C..45C \"left seat box\""},
    [LG_KIND_RUN] = {"run", LG_NAMED_PLAIN, FALSE, FALSE, TRUE, FALSE, run_fields,
                     "a stretch between two places", "run sill dash under-seat 1.9m cover=tube-10"},
    [LG_KIND_PART] = {"part", LG_NAMED_PLAIN, FALSE, FALSE, TRUE, FALSE, part_fields,
                      "anything with terminals",
                      "part K1 relay-make at=under-seat \"seat motors\""},
    [LG_KIND_PIN] =
        {"pin", LG_NAMED_DOTTED, FALSE, FALSE, TRUE, FALSE, pin_fields,
         "one cavity or terminal of a part",
         "pin SEAT.7 colour=GN/BK terminal=tab-2.8 evidence=measured \"lift motor, up\""},
    [LG_KIND_ELEMENT] = {"element", LG_NAMED_DOTTED, FALSE, FALSE, TRUE, FALSE, element_fields,
                         "what lies between two pins inside a part",
                         "element SEAT.lift motor 7 8 run=4A start=14A stall=18A"},
    [LG_KIND_WIRE] = {"wire", LG_NAMED_PLAIN, FALSE, FALSE, TRUE, FALSE, wire_fields,
                      "a wire from pin to pin", "wire W12 F1.2 K1.30 RD/WH auto length=0.6m"},
    [LG_KIND_NEED] = {"need", LG_NAMED_TEXT, FALSE, FALSE, FALSE, TRUE, need_fields,
                      "an intent, checked in every state",
                      "need \"dead with the key off\" SEAT.lift current<10mA when KEY=off"},
    [LG_KIND_READING] = {"reading", LG_NAMED_PLAIN, FALSE, FALSE, TRUE, TRUE, reading_fields,
                         "a measured value",
                         "reading M1 SEAT.11 SEAT.12 resistance=4.7ohm date=2026-05-31"},
    [LG_KIND_TICK] = {"tick", LG_NAMED_PLAIN, FALSE, FALSE, TRUE, FALSE, tick_fields,
                      "a step of a test sheet that was done, and how it came out",
                      "tick T4 date=2026-05-31 by=\"Ada\" \"tug each wire at each end\""},
    [LG_KIND_BODY] = {"body", LG_NAMED_PLAIN, FALSE, FALSE, TRUE, FALSE, body_fields,
                      "what a heater warms and a sensor feels",
                      "body cushion is=pad capacity=700J/K touches=foam through=1.5W/K"},
    [LG_KIND_USE] = {"use", LG_NAMED_PLAIN, FALSE, FALSE, TRUE, FALSE, use_fields,
                     "a course of time; its steps follow",
                     "use cold-morning lasts=40min ambient=-15C \"to the first stop\""},
    [LG_KIND_STEP] = {"step", LG_NAMED_DOTTED, FALSE, FALSE, FALSE, TRUE, step_fields,
                      "what changes in a use from a moment on; inputs that it does not name stay",
                      "step cold-morning.2 2min speed=1800rpm when KEY=on S2=high"},
    [LG_KIND_CHAPTER] =
        {"chapter", LG_NAMED_PLAIN, FALSE, FALSE, TRUE, FALSE, chapter_fields,
         "a section of your own in the write-up; its title, filled by notes and photos",
         "chapter prewired after=parts \"Is the van wired for it already?\""},
    [LG_KIND_PHOTO] = {"photo", LG_NAMED_PLAIN, FALSE, FALSE, TRUE, FALSE, photo_fields,
                       "a photo in write-up and packet, with what it shows",
                       "photo P1 file=\"plug.jpg\" of=SEAT \"plug of the seat, latch up\""},
    [LG_KIND_NOTE] = {"note", LG_NAMED_PLAIN, FALSE, FALSE, TRUE, FALSE, note_fields,
                      "a paragraph of your own, or a line of the history",
                      "note N1 of=SEAT \"The latch breaks when it is cold: warm it first.\""},
    [LG_KIND_VARIANT] = {"variant", LG_NAMED_PLAIN, FALSE, FALSE, TRUE, FALSE, variant_fields,
                         "another way to do the job: the records below it, up to the next "
                         "variant, take the place of those of their kind and name above, or are "
                         "added",
                         "variant direct without=K2,W17 \"full current through the switch\""},
    [LG_KIND_TYPE] = {"type", LG_NAMED_PLAIN, TRUE, FALSE, TRUE, FALSE, type_fields,
                      "a type of part; its pins and elements follow",
                      "type relay-make relay K \"plug-in relay, one make contact\""},
    [LG_KIND_CONDUCTOR] = {"conductor", LG_NAMED_SIZE, TRUE, FALSE, FALSE, FALSE, conductor_fields,
                           "a standard conductor size",
                           "conductor 2.5mm2 area=2.27mm2 resistance=7.6mohm diameter=2.2mm "
                           "outer=3mm source=\"...\""},
    [LG_KIND_INSULATION] = {"insulation", LG_NAMED_PLAIN, TRUE, FALSE, TRUE, FALSE,
                            insulation_fields, "a class of insulation",
                            "insulation class-b temperature=100C source=\"...\""},
    [LG_KIND_AMPACITY] = {"ampacity", LG_NAMED_NOT, TRUE, FALSE, FALSE, FALSE, ampacity_fields,
                          "one figure of a published current table",
                          "ampacity 14AWG 105C 35A table=us source=\"...\""},
    [LG_KIND_FACTOR] = {"factor", LG_NAMED_NOT, TRUE, FALSE, FALSE, FALSE, factor_fields,
                        "one bundle factor of a published table",
                        "factor table=us from=4 to=6 value=0.6 source=\"...\""},
    [LG_KIND_FUSE] = {"fuse", LG_NAMED_NOT, TRUE, FALSE, FALSE, FALSE, fuse_fields,
                      "a fuse as sold",
                      "fuse form=blade-regular rating=15A colour=\"blue\" source=\"...\""},
    [LG_KIND_OPENING] = {"opening", LG_NAMED_NOT, TRUE, FALSE, FALSE, FALSE, opening_fields,
                         "one gate of a fuse's opening time",
                         "opening form=blade-regular load=200% least=0.15s most=5s source=\"...\""},
    [LG_KIND_TERMINAL] = {"terminal", LG_NAMED_PLAIN, TRUE, FALSE, TRUE, FALSE, terminal_fields,
                          "a terminal with its wire range",
                          "terminal tab-6.3 wire=0.5mm2..6mm2 rating=25A source=\"...\""},
    [LG_KIND_COVER] = {"cover", LG_NAMED_PLAIN, TRUE, FALSE, TRUE, FALSE, cover_fields,
                       "a covering for a bundle",
                       "cover tube-10 kind=slit-tube bore=10mm source=\"...\""},
};

int lg_n_fields(LgKind kind)
{
  int n = 0;
  while (lg_kinds[kind].fields[n].key != NULL)
    n++;
  return n;
}

/* Keys of one kind by hash: field index + 1, 0 where empty; open addressing. */
enum { INDEX_ROOM = 256 };
typedef struct {
  guint8 slot[INDEX_ROOM];
} KeyIndex;

static KeyIndex key_index[LG_N_KINDS];

static guint hash_key(const char *key, gsize length)
{
  guint hash = (guint)length;
  for (gsize i = 0; i < length; i++)
    hash = hash * 31 + (guchar)key[i];
  return (hash ^ hash >> 8) % INDEX_ROOM;
}

static void fill_key_index(void)
{
  for (int kind = 0; kind < LG_N_KINDS; kind++) {
    g_assert(lg_n_fields((LgKind)kind) <= LG_MOST_FIELDS);
    for (int i = 0; lg_kinds[kind].fields[i].key != NULL; i++) {
      const char *const key = lg_kinds[kind].fields[i].key;
      guint at = hash_key(key, strlen(key));
      while (key_index[kind].slot[at] != 0)
        at = (at + 1) % INDEX_ROOM;
      key_index[kind].slot[at] = (guint8)(i + 1);
    }
  }
}

int lg_field_find(LgKind kind, const char *key, gsize length)
{
  static gsize filled;
  if (g_once_init_enter(&filled)) {
    fill_key_index();
    g_once_init_leave(&filled, 1);
  }
  const LgField *const fields = lg_kinds[kind].fields;
  const guint8 *const slot = key_index[kind].slot;
  for (guint at = hash_key(key, length); slot[at] != 0; at = (at + 1) % INDEX_ROOM) {
    const char *const found = fields[slot[at] - 1].key;
    if (strncmp(found, key, length) == 0 && found[length] == '\0')
      return slot[at] - 1;
  }
  return -1;
}

int lg_field_at_place(LgKind kind, int place)
{
  const LgField *const fields = lg_kinds[kind].fields;
  for (int i = 0; fields[i].key != NULL; i++)
    if (fields[i].place == place)
      return i;
  return -1;
}
