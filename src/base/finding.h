/* A finding: what stands against building a job, or ought to be known. Plain data, printed at the
 * end only. */
#pragma once
#include <glib.h>

G_BEGIN_DECLS

typedef enum {
  LG_GRADE_DANGER,   /* can burn or hurt                     */
  LG_GRADE_FAULT,    /* will not do what is needed           */
  LG_GRADE_UNPROVEN, /* rests on a fact nobody has measured  */
  LG_GRADE_CAUTION,  /* works, but is poor practice          */
  LG_N_GRADES
} LgGrade;

/* A place in a sheet; line and column count from 1, 0 when there is none. `file` is borrowed from
 * the sheet. */
typedef struct {
  const char *file;
  int line, column;
} LgOrigin;

typedef struct {
  const char *rule; /* rule name, static */
  LgGrade grade;
  LgOrigin origin;
  char *subject; /* "wire W12", "SEAT.7": what it is about */
  char *what;    /* one sentence with the numbers */
  char *basis;   /* on what the limit rests: insulation, ambient, bundle, table; may be NULL */
  char *remedy;  /* what to do */
} LgFinding;

const char *lg_grade_word(LgGrade grade); /* "danger" ... static */

void lg_finding_free(LgFinding *finding);

/* A list of LgFinding*, owned; sorted by lg_findings_sort: worst grade first, then line. */
GPtrArray *lg_findings_new(void);
void lg_findings_sort(GPtrArray *findings);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgFinding, lg_finding_free)
G_END_DECLS
