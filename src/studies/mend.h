/* A remedy written into the sheet, in memory: read, sized and checked again before it is named. */
#pragma once
#include "studies/checks.h"

G_BEGIN_DECLS

/* A job with an edit in it, owned. */
typedef struct {
  LgSheet *sheet;
  LgJob *job;
  LgSizing *sizing;
  GPtrArray *findings; /* LgFinding*; NULL until lg_mended_check */
} LgMended;

/* Reads the text in place of the job's sheet, with its variant and catalogue, and sizes it. FALSE,
 * holding nothing, when that is not possible. */
gboolean lg_mended_init(LgMended *mended, const LgJob *job, GBytes *text);
void lg_mended_clear(LgMended *mended);
/* Runs the check. */
void lg_mended_check(LgMended *mended);

/* Whether a finding of the same rule about the same thing is among them. */
gboolean lg_findings_have(const GPtrArray *findings, const LgFinding *like);
/* Whether it stands against building: a danger or a fault. */
gboolean lg_finding_is_against(const LgFinding *finding);
/* The first danger or fault of `now` that was not there before; NULL: none. */
const LgFinding *lg_findings_new_against(const GPtrArray *now, const GPtrArray *before);

/* The last record of that kind and name that holds in the job's variant, -1. */
int lg_mend_record(const LgJob *job, LgKind kind, const char *name);
/* "XG1", "XG2": a name that no part or wire has yet. Newly allocated. */
char *lg_mend_name(const LgJob *job, const char *prefix);
/* " at=dash" where the part sits, "" when that is not said. Newly allocated. */
char *lg_mend_place(const LgJob *job, int part);

G_END_DECLS
