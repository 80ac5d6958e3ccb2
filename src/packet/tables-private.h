/* What several tables say the same way: columns, sizes, ends of wires, paths of current. */
#pragma once
#include "base/words.h"
#include "packet/tables.h"

G_BEGIN_DECLS

#define LG_TEXT_COLUMN(key, title)                                                                 \
  {                                                                                                \
    (key), (title), LG_CELL_TEXT, LG_DIM_NONE, 0                                                   \
  }
#define LG_NUMBER_COLUMN(key, title, dim, digits)                                                  \
  {                                                                                                \
    (key), (title), LG_CELL_NUMBER, (dim), (digits)                                                \
  }
#define LG_FLAG_COLUMN(key, title)                                                                 \
  {                                                                                                \
    (key), (title), LG_CELL_FLAG, LG_DIM_NONE, 0                                                   \
  }
#define LG_COLUMNS_END                                                                             \
  {                                                                                                \
    NULL, NULL, LG_CELL_TEXT, LG_DIM_NONE, 0                                                       \
  }

/* What a step asks a meter: columns for a machine, behind those for people. */
typedef struct {
  const char *measures; /* "resistance", "volts", "current" as in a reading; "": nothing to type */
  int red, black;       /* pins that a reading of it names; -1: it is none of the built job */
  double low, high;     /* as it should be, SI, lead ohms taken off; NAN: not said */
  gboolean open;        /* no connection is as it should be */
} LgAsk;
#define LG_ASKS_NOTHING ((LgAsk){"", -1, -1, NAN, NAN, FALSE})
#define LG_ASK_COLUMNS                                                                             \
  LG_TEXT_COLUMN("measures", "Measures"), LG_TEXT_COLUMN("red", "Red lead"),                       \
      LG_TEXT_COLUMN("black", "Black lead"), LG_NUMBER_COLUMN("low", "Low", LG_DIM_NONE, 9),       \
      LG_NUMBER_COLUMN("high", "High", LG_DIM_NONE, 9), LG_FLAG_COLUMN("open", "Open"),            \
      LG_TEXT_COLUMN("when", "When")
/* What lg_table_add takes for them. `when`: settings such as "KEY=on". */
#define LG_ASK_CELLS(job, ask, when)                                                               \
  (ask).measures, (ask).red >= 0 ? (job)->pins[(ask).red].name : "",                               \
      (ask).black >= 0 ? (job)->pins[(ask).black].name : "", (ask).low, (ask).high, (ask).open,    \
      (when)
/* The columns for people of such a table, with its note; frees it. */
LgTable *lg_table_for_people(LgTable *whole, const LgColumn *columns);
/* The tables with them. */
LgTable *lg_steps_pre_power(const LgSizing *sizing), *lg_steps_first_power(const LgSizing *sizing),
    *lg_steps_readings(const LgSizing *sizing);

/* A table with those columns of `table` that `columns` names by key, in its order; rows where the
 * text column `where` (NULL: all) equals `equal`. Title and note are left out. */
LgTable *lg_table_part(const LgTable *table, const LgColumn *columns, const char *where,
                       const char *equal);
/* Index of a column by key; asserts that it is there. */
int lg_table_column(const LgTable *table, const char *key);
/* Text of a cell by the column's key, "" when there is none. */
const char *lg_table_text(const LgTable *table, int row, const char *key);

/* Who chose a size or rating, in the column `chosen`. */
extern const char lg_by_tool[], lg_by_sheet[];

/* How a gap is printed. */
#define LG_GAP T_("not in the sheet")

/* "2.5 mm2", "14 AWG"; LG_GAP for NULL. Newly allocated. */
char *lg_words_size(const LgConductor *conductor);
/* The thinnest size of the other series that has at least 98 % of the copper; "-" when none.
 * Newly allocated. */
char *lg_words_other_size(const LgJob *job, const LgConductor *conductor);
/* "green with a blue stripe" for "GN/BU"; a text that is no colour stays as it is, NULL too. Newly
 * allocated. */
char *lg_words_colour(const char *colour);
/* "F1 15 A, F3 ?": the devices that protect a wire; "behind F1 15 A" when a load or the ground side
 * lies between; "none", "none needed". Newly allocated. */
char *lg_words_fuses(const LgSizing *sizing, int wire);
/* Adds `word` to a list, with `separator` when it is not the first. */
void lg_words_add(GString *list, const char *separator, const char *word);
/* Quantity with three digits in the job's habit. Newly allocated. */
char *lg_words_quantity(const LgJob *job, double value, LgDim dim);
/* "20 degC", "68 degF". Newly allocated. */
char *lg_words_warmth(const LgJob *job, double degC);
/* "F1" when the part holds nothing else, else "KEY.acc". Borrowed. */
const char *lg_words_name(const LgJob *job, int element);
/* The part's own text; its class when it has none or only what every `assembly` says. Borrowed. */
const char *lg_words_part(const LgPart *part);
/* What an element does: its label, what its part is for when it is alone there, else its kind;
 * never NULL. Borrowed. */
const char *lg_words_element(const LgJob *job, int element);
/* "7.5 A", "125 A". Newly allocated. */
char *lg_words_rating(double rating_A);
/* "new", "donor", "host". Static. */
const char *lg_words_is(LgIs is);
/* "1 pin", "3 pins". Newly allocated. */
char *lg_words_count(guint n, const char *one, const char *many);

/* How the end of a wire is made. */
typedef enum {
  LG_END_TERMINAL, /* a terminal named in the sheet or by the type */
  LG_END_SPLICE,   /* crimped into a splice */
  LG_END_TAIL,     /* joined to the tail left on a donor plug */
  LG_END_UNKNOWN,  /* the sheet does not say */
} LgEnd;
LgEnd lg_wire_end(const LgJob *job, const LgWire *wire, int end);
char *lg_words_end(const LgJob *job, const LgWire *wire, int end);
/* What keeps water out of an end; NULL where the sheet says of no water. Static. */
const char *lg_words_seal(const LgJob *job, const LgWire *wire, int end);
/* Insulation to take off, m; NAN when the kind of end is not known. Common practice, no source: the
 * terminal's own sheet rules. */
double lg_strip_length(const LgJob *job, const LgWire *wire, int end, double area_mm2);
/* The crimp that a wire asks for, by the sizes that crimps are sold for: common practice, no
 * source. Static. */
const char *lg_words_crimp(const LgJob *job, double area_mm2);
/* Whether the wire is cut from the roll; others are there already. */
gboolean lg_wire_is_cut(const LgWire *wire);
/* Length plus spare, rounded up to 10 mm or half an inch. */
double lg_cut_length(const LgJob *job, const LgWire *wire);
/* Whether a new wire ends at the part. */
gboolean lg_part_is_wired(const LgJob *job, const LgPart *part);
/* Whether it is an alternator's or dynamo's hand input (off, idle, fast). */
gboolean lg_input_is_charger(const LgJob *job, int input);
/* Whether a pin may not be touched with meter, lamp or supply. */
gboolean lg_pin_is_restraint(const LgJob *job, int pin);

/* Order of wires by the roll they are cut from: insulation, area, colour; 0: the same roll. */
int lg_compare_rolls(const LgSizing *sizing, int i, int j);
/* Indices (int) of the wires that are cut, by roll, the longest first. */
GArray *lg_pieces(const LgSizing *sizing);

/* Fewest spools of a length that hold the pieces (longest first), and the spool of each. First fit
 * decreasing, then an exact search of at most 200,000 steps; `*proved`: no fewer would do. -1 when
 * a piece is longer than a spool. */
int lg_spools_needed(const double piece_m[], int n, double spool_m, int spool[], gboolean *proved);

/* Number and currency of a price as printed: "3.20 EUR", "EUR 1.200,50", "$5". A lone point or
 * comma before three digits parts thousands. FALSE without a number; `*currency` is newly
 * allocated. */
gboolean lg_price_read(const char *text, double *value, char **currency);

/* Least pull-out force of a crimp, N: UL 486A figures for AWG (seen), IEC 60352-2 for metric sizes
 * (memory); straight between two sizes (`*between`), NAN outside them. */
double lg_pull_out_N(const LgConductor *conductor, gboolean *between);

/* Paths of current. For each load, coil and thermistor: its state of greatest lasting current is
 * solved again and its current followed, against the flow to the source and with it back. */
typedef struct {
  gboolean is_wire;
  int index; /* wire or element */
} LgStep;

typedef struct {
  const LgSizing *sizing;
  GArray **path;  /* [n_elements] LgStep from source to source, the element itself among them; NULL:
                     not an end of a circuit, or without current in every state */
  GArray **users; /* [n_wires] int: the elements whose current it carries, loads first */
} LgPaths;

LgPaths *lg_paths_new(const LgSizing *sizing);
void lg_paths_free(LgPaths *paths);
/* Whether an element closes a circuit of its own: load, coil, thermistor. */
gboolean lg_element_is_end(LgElementKind kind);
/* "G1.cell > W1 > F1.fuse > ... > G1.cell"; NULL path: "". Newly allocated. */
char *lg_paths_words(const LgPaths *paths, int element);
/* "SEAT.lift, SEAT.pad" or "5 circuits"; "no current in any state". Newly allocated. */
char *lg_paths_users(const LgPaths *paths, int wire);

/* "ring-out": the schema's word, in the column `key` of lg_table_order. Static. */
const char *lg_build_step_word(LgBuildStep step);

/* Stages of lg_table_pre_power in their order, NULL-ended. */
extern const char *const lg_pre_power_stages[];

/* What an ohmmeter shows between two pins of a part alone, unplugged, at 20 C and at rest, from the
 * elements inside (solved together, so that parallel ways count). */
typedef struct {
  double ohm;       /* INFINITY: open; NAN: an ohmmeter tells nothing */
  double tolerance; /* share */
  gboolean shared;  /* other elements lie in parallel and change the reading by over 2 % */
} LgOhms;
LgOhms lg_ohms_of_element(const LgJob *job, int element);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgPaths, lg_paths_free)
G_END_DECLS
