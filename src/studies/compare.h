/* Two ways to do a job side by side: what each costs, in numbers and without a verdict on taste.
 * Section 6 of the design: "Variants". */
#pragma once
#include "studies/checks.h"

G_BEGIN_DECLS

/* One way, with what was found about it. Everything is borrowed. */
typedef struct {
  const char *name; /* what people call it: the variant's name, "as in the sheet" */
  const LgSizing *sizing;
  const GPtrArray *findings; /* LgFinding* */
} LgChoice;

typedef enum {
  LG_ABOUT_JOB,     /* the whole job; always there */
  LG_ABOUT_CONTACT, /* hand contacts, relay contacts, outputs */
  LG_ABOUT_COIL,
  LG_ABOUT_LOAD,
  LG_ABOUT_FUSE,
  LG_ABOUT_WIRE,
  LG_N_ABOUT
} LgAbout;

/* One figure of both ways. */
typedef struct {
  LgAbout about;
  const char *subject; /* "K2.make"; NULL for the whole job. Borrowed from one of the jobs */
  const char *measure; /* static: "greatest lasting current" */
  LgDim dim;
  double value[2];         /* NAN: that way has no such thing, or no such figure */
  gboolean less_is_better; /* for the order of the sentence only */
} LgContrast;

/* The figures of the whole job, and of each contact, coil, load, fuse and new wire those that
 * differ by more than 1 %, or that only one of the ways has. Things are the same when they have the
 * same name. Owned by the caller: an array of LgContrast, by `about`, then in the order of the
 * first job's sheet. */
GArray *lg_contrasts_new(const LgChoice *first, const LgChoice *second);

/* "direct instead of as in the sheet: ...": the differences that weigh most, with their numbers.
 * Newly allocated. */
char *lg_contrasts_sentence(const LgChoice *first, const LgChoice *second, const GArray *contrasts);

/* "contact", "coil": static. */
const char *lg_about_word(LgAbout about);

G_END_DECLS
