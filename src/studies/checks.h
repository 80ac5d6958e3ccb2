/* Checks: the table of rules and their findings. */
#pragma once
#include "studies/sizing.h"

G_BEGIN_DECLS

typedef struct LgCheckContext {
  const LgJob *job;
  const LgSizing *sizing;
  const LgStates *states; /* = sizing->states */
  GPtrArray *findings;    /* LgFinding* */
} LgCheckContext;

typedef struct {
  const char *name; /* "fuse-above-wire": plain words */
  LgGrade grade;
  const char *title;   /* one line */
  const char *what;    /* what it checks, and why it matters */
  const char *formula; /* or NULL */
  const char
      *source; /* standard and clause, or "common practice, no source"; seen or from memory */
  const char *remedy; /* how to mend it, in general */
  void (*run)(LgCheckContext *context);
} LgRule;

extern const LgRule *const lg_rules[]; /* NULL-ended */
const LgRule *lg_rule_find(const char *name);

/* Runs every rule and every need; findings sorted, owned by the caller. */
GPtrArray *lg_checks_run(const LgJob *job, const LgSizing *sizing);

G_END_DECLS
