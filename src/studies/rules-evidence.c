/* What rests on a fact that nobody has measured. */
#include "base/words.h"
#include "studies/checks-private.h"

static const char *const evidence_words[] = {N_("measured"), N_("by its papers"), N_("by hearsay"),
                                             N_("a guess")};

/* Below this a pin that does not say what it carries is not a power pin. */
#define POWER_A 0.5

static gboolean is_power_pin(const LgCheckContext *c, int p)
{
  const LgPin *const pin = &c->job->pins[p];
  const LgExtreme most = c->survey->pin_A[p];
  if (lg_pin_n_wires(c, p) == 0)
    return FALSE;
  if (pin->carries != LG_CARRIES_UNSAID)
    return pin->carries == LG_CARRIES_POWER || pin->carries == LG_CARRIES_RETURN;
  return most.state >= 0 && most.value >= POWER_A;
}

/* A bought part's terminals are known from its standard or its papers. */
static gboolean must_be_measured(const LgCheckContext *c, int p)
{
  const LgPin *const pin = &c->job->pins[p];
  return !pin->from_type && c->job->parts[pin->part].is != LG_IS_NEW &&
         pin->evidence != LG_EVIDENCE_MEASURED && pin->restraint == LG_RESTRAINT_NO &&
         pin->fitted != LG_FITTED_NO && is_power_pin(c, p);
}

static void report_pins(LgCheckContext *c, const LgPart *part, const char *list, int n,
                        gboolean said_measured)
{
  lg_found(
      c, part->origin, lg_say(c, T_("part %s"), part->name),
      lg_say(c,
             n == 1 ? T_("%d power pin that nobody has measured here: %s.")
                    : T_("%d power pins which nobody has measured here: %s."),
             n, list),
      said_measured ? T_("evidence= at the pins; measured counts only where a reading in this "
                         "sheet names the pin")
                    : T_("evidence= at the pins, or at the part"),
      T_("Before first power read ohms between each of them and its partner, battery off and plug "
         "apart, restraint plugs set aside; write it as a `reading` and say evidence=measured."));
}

static void check_pin_unproven(LgCheckContext *c)
{
  for (int i = 0; i < c->job->n_parts; i++) {
    const LgPart *const part = &c->job->parts[i];
    const char *list = "";
    gboolean said_measured = FALSE;
    int n = 0;
    for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++) {
      if (!must_be_measured(c, p))
        continue;
      const LgPin *const pin = &c->job->pins[p];
      list = lg_say(c, "%s%s%s (%s)", list, n > 0 ? ", " : "", pin->short_name,
                    T_(evidence_words[pin->evidence]));
      said_measured |= pin->said_measured;
      n++;
    }
    if (n > 0)
      report_pins(c, part, list, n, said_measured);
  }
}

const LgRule lg_rule_pin_unproven = {
    .name = "pin-unproven",
    .grade = LG_GRADE_UNPROVEN,
    .title = N_("power pins that nobody has measured"),
    .what = "Most damage in this trade comes from a pinout of another year or trim. A power or "
            "return pin of a donor's or the host's part counts as known when a reading in this "
            "sheet names it.",
    .source = "common practice, no source",
    .remedy = "Measure before first power; the pre-power sheet lists what to read.",
    .run = check_pin_unproven};

static void check_fitted_unknown(LgCheckContext *c)
{
  for (int p = 0; p < c->job->n_pins; p++) {
    const LgPin *const pin = &c->job->pins[p];
    if (pin->fitted != LG_FITTED_UNKNOWN || lg_pin_n_wires(c, p) == 0)
      continue;
    lg_found(c, pin->origin, lg_say(c, T_("pin %s"), pin->name),
             T_("Is wired, but nobody has looked whether this example has a terminal there."),
             T_("the sheet says fitted=unknown at the pin"),
             T_("Look into the cavity; write fitted=yes or fitted=no."));
  }
}

const LgRule lg_rule_fitted_unknown = {
    .name = "fitted-unknown",
    .grade = LG_GRADE_UNPROVEN,
    .title = N_("a wire leads to a cavity that nobody has looked into"),
    .what = "Whether an option is there shows in the plug: an empty cavity means no.",
    .source = "common practice, no source",
    .remedy = "Look.",
    .run = check_fitted_unknown};
