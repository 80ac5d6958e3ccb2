/* What lies behind the cavities of an unknown plug, from ohm readings: first the network of
 * resistances, then what each of its branches is likely to be, then the reading that would tell
 * most. Plain arrays; the last part takes them from a job. A cavity that may belong to a restraint
 * is never looked at and never proposed. */
#pragma once
#include "base/finding.h"
#include "model/model.h"

G_BEGIN_DECLS

/* ---- From ohms to a network. ---- */

/* No plug has more cavities here. */
#define LG_MOST_CAVITIES 40

/* Ohms between every two of n nodes of a connected network, [n][n], from the conductances between
 * them, siemens, [n][n], symmetric, the diagonal not looked at. R_ij = G_ii + G_jj - 2 G_ij with G
 * the inverse of the Laplacian without its last node (Klein and Randic 1993, memory). FALSE, and
 * `ohm` useless, when it is not connected. n^3 time. */
gboolean lg_ohms_of_conductances(int n, const double conductance_S[], double ohm[]);
/* The inverse: the Laplacian is the pseudo-inverse of -1/2 J R J, J the centring matrix; here with
 * the last node as reference, where G_ij = (R_in + R_jn - R_ij) / 2. Exact for exact readings of
 * all pairs. FALSE when no network at all has these ohms. n^3 time. */
gboolean lg_conductances_of_ohms(int n, const double ohm[], double conductance_S[]);

/* A reading between two terminals, leads taken off. */
typedef struct {
  int a, b;
  double ohm;     /* INFINITY: open */
  double off_ohm; /* how far the meter may be off, above 0 */
} LgOhmReading;

typedef struct {
  int a, b; /* nodes; from n_terminals on they are hidden: a splice behind the plug */
  double ohm, off_ohm;
} LgBranch;

/* The fewest branches that explain the readings within what the meter may be off; hidden nodes
 * where they save branches. */
typedef struct {
  int n_terminals, n_nodes;
  GArray *branches;      /* LgBranch */
  int *group;            /* [n_terminals] number of the connected piece */
  double *predicted_ohm; /* [n_readings]; INFINITY across pieces */
  double *misfit;        /* [n_readings] (read - predicted) / off; INFINITY: open, though joined */
  gboolean *suspect;     /* [n_readings] contradicts the others: left out of the network, or one of
                            several of which one must be wrong */
} LgOhmNet;

/* Readings of all pairs of a piece: inverse relation, then the branches that are beyond doubt; of
 * some pairs: non-negative least squares with a price on each branch, from the shortest tree on. A
 * pair that was read several times stands for one reading in the middle, as long as they agree. */
LgOhmNet *lg_ohm_net_new(int n_terminals, const LgOhmReading readings[], int n_readings);
void lg_ohm_net_free(LgOhmNet *net);
/* Ohms between two nodes of the network found; INFINITY across pieces. */
double lg_ohm_net_between(const LgOhmNet *net, int a, int b);

/* ---- What was read, and what it means. ---- */

typedef enum { LG_DID_NOTHING, LG_DID_WARMED, LG_DID_MOVED, LG_DID_TURNED, LG_N_DIDS } LgDid;
/* What a reading showed while something was done; UNSAID: nothing is known of it. */
typedef enum {
  LG_SAW_UNSAID,
  LG_SAW_STEADY,
  LG_SAW_FALL,
  LG_SAW_RISE,
  LG_SAW_FLICKER,
  LG_SAW_CHANGE,
  LG_N_SAWS
} LgSaw;

typedef struct {
  int red, black; /* cavities */
  double ohm;     /* leads taken off; INFINITY: open */
  double off_ohm; /* tolerance and half a digit of the meter */
  double temperature_K;
  LgDid did; /* with `saw` UNSAID the ohms are those after it was done */
  LgSaw saw;
} LgProbe;

typedef struct {
  gboolean shut;  /* no lead may touch it */
  gboolean empty; /* holds no terminal */
  int kin;        /* cavities with the same number have like terminals; 0: not known */
} LgCavity;

typedef enum {
  LG_ID_MOTOR,
  LG_ID_PAD,
  LG_ID_TAPPED, /* two pads in series with a tap: this branch is one of them */
  LG_ID_NTC,
  LG_ID_PTC,
  LG_ID_CONTACT,
  LG_ID_LAMP,
  LG_ID_COIL,
  LG_ID_BAR,
  LG_ID_BOND,
  LG_ID_ELECTRONIC, /* diode or electronics */
  LG_N_ID_CLASSES
} LgIdClass;

/* Ranges, habits and prior of a class: data with its source. */
typedef struct {
  const char *name;           /* "pad" */
  const char *words;          /* "heating pad" */
  double prior;               /* how often in a plug, against the other classes */
  double low_ohm, high_ohm;   /* nine of ten lie between, cold; log-normal */
  double slope, slope_spread; /* relative change of ohms per kelvin, and its spread */
  double warmed[3];           /* what a hand's warmth does: steady, falls, rises */
  double moved;               /* how often the ohms change when seat, switch or slide is moved */
  double flickers;            /* when turned by hand */
  double one_way;             /* how often the two polarities differ */
  double open;                /* how often it is open at rest */
  const char *source;         /* with seen or memory */
} LgIdRow;
extern const LgIdRow lg_id_rows[LG_N_ID_CLASSES];

/* One thing found between two nodes. */
typedef struct {
  int a, b;   /* cavities, or hidden nodes of the network */
  double ohm; /* as the network has it; one way: the lesser polarity, red on a; INFINITY: open at
                 rest, see switched */
  double off_ohm;
  gboolean both_ways;      /* both polarities were read */
  double back_ohm;         /* the other polarity when it differs, else NAN */
  double slope, slope_off; /* relative change per kelvin from two temperatures, NAN: not known */
  LgSaw warmed, moved, turned;
  gboolean switched; /* open at rest, closes when moved: a contact, and what lies behind it */
  double moved_ohm;  /* ohms after moving, NAN: not read */
  int mate;          /* another branch with which it may make a tapped pair, -1: none */
  int n_readings;    /* of its own pair; 0: from the network alone */
  double chance[LG_N_ID_CLASSES]; /* likelihood, sums to 1; of a switched one that of what lies
                                     behind the contact, LG_ID_CONTACT: nothing does */
} LgFound;

typedef struct {
  int red, black;
  LgDid did;
  gboolean reverse; /* the pair was read the other way round */
  gboolean again;   /* after `did` */
  double bits;      /* expected information */
} LgNext;

typedef struct {
  int n_cavities;
  const LgCavity *cavities; /* borrowed */
  const LgProbe *probes;    /* borrowed */
  int n_probes;
  LgOhmNet *net;
  int *reading_of;    /* [n_probes] reading in the net, -1: none */
  gboolean *clash;    /* [n_probes] contradicts others */
  double *should_ohm; /* [n_probes] what the others say for a rest reading, NAN: nothing */
  GArray *found;      /* LgFound */
  double *nothing;    /* [n_cavities] likelihood that nothing is fitted; NAN: shut */
  double heat;        /* likelihood that a heating pad is there */
  GArray *next;       /* LgNext, the most telling first; nothing that tells less than a hundredth of
                         a bit */
} LgIdentity;

/* Identifies a plug of at most LG_MOST_CAVITIES cavities. The arrays must outlive the result.
 * Probes on shut cavities are ignored. */
LgIdentity *lg_identity_new(const LgCavity cavities[], int n_cavities, const LgProbe probes[],
                            int n_probes);
void lg_identity_free(LgIdentity *identity);
/* The class with the greatest likelihood. */
LgIdClass lg_found_class(const LgFound *found);

/* ---- A part of a job. ---- */

/* Whether a pin may belong to a restraint, by what the sheet says of it, of its wire and of its
 * part: no meter, no lamp, no supply. */
gboolean lg_pin_is_left_alone(const LgJob *job, int pin);

typedef struct {
  const LgJob *job;
  int part;
  LgCavity *cavities;   /* [n_pins of the part] */
  GArray *probes;       /* LgProbe */
  GArray *of;           /* int: reading of the job behind each probe */
  LgIdentity *identity; /* NULL when stopped */
  gboolean stopped;     /* the whole plug may belong to a restraint: nothing was looked at */
  gboolean any_shut;    /* some cavities may */
  GPtrArray *findings;  /* LgFinding*, sorted */
} LgPartIdentity;

/* Takes readings and cavities of a part. Findings: restraint, contradictions, impossible readings.
 */
LgPartIdentity *lg_part_identity_new(const LgJob *job, int part);
void lg_part_identity_free(LgPartIdentity *of_part);

/* "3", "hidden 1": a node as people call it. Newly allocated. */
char *lg_identity_node(const LgPartIdentity *of_part, int node);
/* "red lead on 3, black on 5; then ...": newly allocated. */
char *lg_identity_next_words(const LgPartIdentity *of_part, const LgNext *next);
/* Whether the heat option is fitted, in a sentence. Newly allocated. */
char *lg_identity_heat_words(const LgPartIdentity *of_part);
/* "motor" with its likelihood, or "motor 60 %, pad 35 %". Newly allocated. */
char *lg_found_words(const LgFound *found);

/* `pin` and `element` records to paste: pins in place of those of the same name, with what is known
 * of them now; elements that the sheet does not have yet. char*, owned. */
GPtrArray *lg_identity_records(const LgPartIdentity *of_part);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgOhmNet, lg_ohm_net_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgIdentity, lg_identity_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgPartIdentity, lg_part_identity_free)
G_END_DECLS
