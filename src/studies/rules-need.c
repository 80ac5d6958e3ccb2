/* What the sheet wants, and what sizing could not give. */
#include "base/words.h"
#include "studies/checks-private.h"

static const char *say_measure(LgCheckContext *c, LgMeasure measure, double value)
{
  switch (measure) {
  case LG_MEASURE_CURRENT:
    return lg_say_amps(c, value);
  case LG_MEASURE_VOLTS:
    return lg_say_volts(c, value);
  case LG_MEASURE_POWER:
    return lg_say_watts(c, value);
  }
  g_assert_not_reached();
}

static const char *target_name(const LgJob *job, const LgNeed *need)
{
  switch (need->target) {
  case LG_TARGET_PIN:
    return job->pins[need->index].name;
  case LG_TARGET_ELEMENT:
    return job->elements[need->index].name;
  case LG_TARGET_WIRE:
    return job->wires[need->index].name;
  }
  g_assert_not_reached();
}

static const char *say_relation(LgCheckContext *c, const LgNeed *need)
{
  static const char *const verbs[] = {"carry", "have", "use"};
  return lg_say(c, "%s %s %s", verbs[need->measure],
                need->relation == '<' ? T_("less than") : T_("more than"),
                say_measure(c, need->measure, need->limit));
}

static const char *mend_need(LgCheckContext *c, const LgNeed *need, int state)
{
  g_autofree char *words =
      state == 0 ? g_strdup("") : lg_state_words(c->job, lg_states_position(c->states, state));
  const char *const call =
      lg_say(c, T_("`loomgraft state JOB%s%s`"), *words != '\0' ? " " : "", words);
  return need->relation == '<' ? lg_say(c,
                                        T_("See what feeds it with %s, and take that feed from "
                                           "behind the switch or key that should stop it."),
                                        call)
                               : lg_say(c,
                                        T_("See where the volts stop with %s: a feed that is dead "
                                           "then, an open contact, or too much loss."),
                                        call);
}

static void check_need_broken(LgCheckContext *c)
{
  static const char *const does[] = {"carries", "has", "uses"};
  for (int n = 0; n < c->job->n_needs; n++) {
    const LgNeedStates *const seen = &c->states->needs[n];
    const LgNeed *const need = &c->job->needs[seen->need];
    if (seen->holds || seen->n_tried == 0)
      continue;
    lg_found(c, need->origin, lg_say(c, T_("need \"%s\""), need->text),
             lg_say(c, T_("%s %s %s %s; it should %s."), target_name(c->job, need),
                    does[need->measure], say_measure(c, need->measure, seen->worst.value),
                    lg_say_state(c, seen->worst.state), say_relation(c, need)),
             lg_say(c, T_("tried in all that its conditions allow, %s; this one is the worst"),
                    lg_say_states(c, seen->n_tried)),
             mend_need(c, need, seen->worst.state));
  }
}

const LgRule lg_rule_need_broken = {
    .name = "need-broken",
    .grade = LG_GRADE_FAULT,
    .title = N_("something that the sheet wants does not hold"),
    .what =
        "Every need is checked in every state that its conditions allow. The state shown is the "
        "one that misses it furthest.",
    .source = "the sheet's own need, solved in every state; no source",
    .remedy = "Change the feed, the switch or the size; or the need, if it asks too much.",
    .run = check_need_broken};

static void check_need_never(LgCheckContext *c)
{
  for (int n = 0; n < c->job->n_needs; n++) {
    const LgNeedStates *const seen = &c->states->needs[n];
    const LgNeed *const need = &c->job->needs[seen->need];
    if (seen->n_tried > 0)
      continue;
    lg_found(c, need->origin, lg_say(c, T_("need \"%s\""), need->text),
             T_("No state fits its conditions, so it proves nothing."),
             T_("states that the inputs and their only-when= allow"),
             T_("Look for positions after `when` that cannot be together."));
  }
}

const LgRule lg_rule_need_never = {.name = "need-never-applies",
                                   .grade = LG_GRADE_FAULT,
                                   .title = N_("a need whose conditions no state meets"),
                                   .what = "A need that is never tried looks as if it held.",
                                   .source = "the sheet's own need; no source",
                                   .remedy = "Correct its conditions.",
                                   .run = check_need_never};
