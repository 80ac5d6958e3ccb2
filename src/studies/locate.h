/* Where is it: a built job does not behave. From what was seen (volts or ohms between two pins, a
 * load that runs or does not, each in a state) the likelihood of every single fault, and what to
 * measure next. Section 6 of the design: "Locate".
 *
 * Suspects are the failures of the list in faults.h, and what that list does not have because it is
 * no yes or no: resistance in a wire with its two joints, in a contact, a fuse holder or a tie to
 * the body, a worn load, a weak battery. Their size is fitted over the logarithm of the ohms. What
 * a short blows is blown in everything that follows.
 *
 * Likelihood of a reading: Gaussian in what the meter may be off and what the sheet may be off
 * (parts at 20 C, the batteries as the sheet says), with a floor for a reading that was taken or
 * written down wrong. Probability: by Bayes from priors by kind of fault, lg_suspect_priors. */
#pragma once
#include "studies/faults.h"

G_BEGIN_DECLS

typedef enum {
  LG_SIGN_VOLTS, /* between two pins */
  LG_SIGN_OHMS,  /* between two pins, the battery's minus off */
  LG_SIGN_RUNS,  /* how a load runs */
  LG_N_SIGN_KINDS
} LgSignKind;

typedef enum { LG_RUNS_NOT, LG_RUNS_WEAK, LG_RUNS_WELL, LG_N_RUNS } LgRuns;

/* Something seen. */
typedef struct {
  LgSignKind kind;
  const char *name;    /* of the reading; borrowed */
  int pin[2];          /* red lead, black lead */
  int load;            /* RUNS: element */
  double value;        /* volts; ohms with the leads taken off, INFINITY: open; RUNS: LgRuns */
  double tolerance;    /* of the meter, share of what it shows */
  const int *position; /* [n_inputs] the state; borrowed */
  LgOrigin origin;
} LgSign;

typedef enum {
  LG_SUSPECT_HEALTHY,   /* nothing is wrong */
  LG_SUSPECT_FAILURE,   /* of the list of faults */
  LG_SUSPECT_BLOWN,     /* fuse blown or not seated; breaker out */
  LG_SUSPECT_WIRE_OHM,  /* resistance in a wire or a joint at its ends */
  LG_SUSPECT_JOINT_OHM, /* resistance in a contact, a fuse holder, a tie to the body */
  LG_SUSPECT_WORN,      /* a load takes less or more than it should */
  LG_SUSPECT_WEAK,      /* a battery gives less volts */
  LG_N_SUSPECT_KINDS
} LgSuspectKind;

typedef struct {
  LgSuspectKind kind;
  LgFailure failure;   /* FAILURE only */
  int wire, element;   /* which; -1 */
  double prior;        /* all sum to 1 */
  int first, n;        /* its rows, see LgLocator; more than one: one for each size on the grid */
  int pair[2];         /* two suspects at once; -1 */
  double pair_size[2]; /* their sizes; NAN */
} LgSuspect;

/* How often a kind of fault is the one, against the others, and why. Common practice, no source. */
typedef struct {
  const char *words;
  double weight;
} LgSuspectPrior;
enum { LG_N_SUSPECT_PRIORS = LG_N_SUSPECT_KINDS + LG_N_FAILURE_KINDS };
/* By LgSuspectKind, then by LgFailureKind; 0: no suspect here. */
extern const LgSuspectPrior lg_suspect_priors[LG_N_SUSPECT_PRIORS];

/* A suspect after the signs. */
typedef struct {
  int suspect;
  double chance;     /* probability */
  double size;       /* fitted: ohms added, share of its current, share of its volts; NAN: none */
  double misfit;     /* sum of squared residuals over what they may be, outliers cut */
  double *predicted; /* [n_signs] volts; ohms; share of its healthy power; owned */
  int same_as;       /* an earlier verdict that no measurement tells apart from it; -1 */
} LgVerdict;

/* Something to measure or look at. */
typedef struct {
  LgSignKind kind;
  int pin[2], load;
  const int *position; /* borrowed */
  double bits;         /* expected information on which suspect it is */
  double effort;       /* minutes or so */
} LgProbing;

/* A printed guide has as many steps as fill a page. */
enum { LG_GUIDE_DEPTH = 6, LG_GUIDE_OUTCOMES = 3, LG_GUIDE_STEPS = 10 };

/* A measurement with what each outcome means. */
typedef struct {
  LgProbing probing;
  double low, high; /* outcomes: below low, between, above high; of its kind's unit */
  struct {
    double share;  /* probability; 0: cannot be */
    int step;      /* goes on there; -1: ends here */
    GArray *found; /* int: suspects, likeliest first; NULL when it goes on */
  } outcome[LG_GUIDE_OUTCOMES];
} LgGuideStep;

typedef struct {
  const LgJob *job;
  int n_signs;
  GArray *verdicts; /* LgVerdict, likeliest first */
  GArray *next;     /* LgProbing, best first; none: nothing tells more */
  GArray *steps;    /* LgGuideStep: the first few of `next`, with what each outcome means */
  gboolean *odd;    /* [n_signs] even the likeliest suspect does not explain it */
  double *left;     /* [n_signs] what is left of it with the likeliest suspect: volts, ohms */
  double *times;    /* [n_signs] that, in units of what it may be off */
  gboolean unclear; /* no single suspect explains all of them */
} LgLocation;

/* Holds the solutions of all suspects in the states looked at so far. */
typedef struct LgLocator LgLocator;

/* The sizing must outlive it. NULL and *error when the circuit cannot be made. */
LgLocator *lg_locator_new(const LgSizing *sizing, GError **error);
void lg_locator_free(LgLocator *locator);
const GArray *lg_locator_suspects(const LgLocator *locator); /* LgSuspect */
/* Judges all suspects; n_pairs: two at once among so many of the most suspicious, too, 0: none. The
 * names, pins and states of the signs must outlive the result. */
LgLocation *lg_locator_judge(LgLocator *locator, const LgSign signs[], int n_signs, int n_pairs);
void lg_location_free(LgLocation *location);

/* A state for looking at a load: as few inputs off their rest as can be while it takes nearly what
 * it takes at most. NULL when it never runs. Borrowed. */
const int *lg_locator_state(LgLocator *locator, int load);
/* The state that settings mean: what is not named rests, but the thermostats of what is switched on
 * call, as they do when cold. Borrowed; kept by the locator. */
const int *lg_locator_when(LgLocator *locator, const LgCondition when[], int n_when);
/* What a suspect's size on the grid predicts; rows as in LgSuspect. For tests and benches. */
double lg_locator_predict(LgLocator *locator, int row, const LgSign *sign);

/* "W6 or a joint at its ends (K1.87, SEAT.1)". Newly allocated. */
char *lg_suspect_words(const LgLocator *locator, int suspect);
/* The same with the fitted size: "... : 0.8 ohm too much". Newly allocated. */
char *lg_verdict_words(const LgLocator *locator, const LgVerdict *verdict);
/* "volts, red lead on K1.30, black on G1.-, KEY=on". Newly allocated. */
char *lg_probing_words(const LgLocator *locator, const LgProbing *probing);

/* --- Signs from a job and from words. --- */

typedef struct {
  GArray *signs;       /* LgSign */
  GPtrArray *findings; /* LgFinding*: impossible ones are asked back, restraint is left alone */
  GPtrArray *names;    /* char*, owned */
} LgSigns;

/* From the job's `reading` records (with `from_sheet`) that were taken on the built job: volts, and
 * ohms between pins of different parts; and from words such as "G1.+ K1.30 volts=11.8V when KEY=on"
 * or "E1.lamp runs=no when KEY=on", any number of words in a string, the next reading beginning
 * with the next name. NULL and *error for words that say nothing. `words` may be NULL. */
LgSigns *lg_signs_new(LgLocator *locator, gboolean from_sheet, const char *const words[],
                      GError **error);
void lg_signs_free(LgSigns *signs);

/* --- The guide: a tree of measurements for one symptom. --- */

typedef struct {
  LgSign symptom;
  GArray *steps; /* LgGuideStep, the first one is asked first */
} LgGuide;

/* A guide for a load that does not run, in its own state. NULL when it never runs. */
LgGuide *lg_guide_new(LgLocator *locator, int load);
/* LgGuide* of all loads that ever run, in the order of the job's elements. */
GPtrArray *lg_guides_new(LgLocator *locator);
void lg_guide_free(LgGuide *guide);
/* "below 1.2 V", "it runs". Newly allocated. */
char *lg_outcome_words(const LgLocator *locator, const LgGuideStep *step, int outcome);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgLocator, lg_locator_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgLocation, lg_location_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgSigns, lg_signs_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgGuide, lg_guide_free)
G_END_DECLS
