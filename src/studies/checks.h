/* Checks: the table of rules and their findings.
 *
 * A rule fires only where its reason holds, and says the numbers, on what the limit rests, and what
 * to do in this case. Every rule has a page for `explain`. */
#pragma once
#include "studies/sizing.h"

G_BEGIN_DECLS

typedef struct LgCheckContext LgCheckContext;

typedef struct {
  const char *name; /* "fuse-above-wire": plain words */
  LgGrade grade;
  const char *title;   /* one line */
  const char *what;    /* what it checks, and why it matters */
  const char *formula; /* or NULL */
  const char
      *source; /* standard and clause, or "common practice, no source"; seen or from memory */
  const char *remedy;                   /* how to mend it, in general */
  void (*run)(LgCheckContext *context); /* NULL: the finding comes from sizing */
} LgRule;

extern const LgRule *const lg_rules[]; /* NULL-ended */
const LgRule *lg_rule_find(const char *name);

/* Runs every rule and every need, and adds what sizing could not meet; findings sorted, owned by
 * the caller. */
GPtrArray *lg_checks_run(const LgJob *job, const LgSizing *sizing);

G_END_DECLS
