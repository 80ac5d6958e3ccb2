/* The rule about sneak paths. */
#include "base/words.h"
#include "studies/checks-private.h"
#include "studies/sneak.h"

static const char *cause_words(LgCheckContext *c, const LgSneak *sneak)
{
  if (sneak->through >= 0)
    return lg_say(c, T_("through %s, which does not lie in its own way"),
                  lg_say_element(c, sneak->through));
  return lg_say(c,
                T_("by %s, against the direction in which that wire carries its greatest current"),
                lg_say_wire(c, sneak->against));
}

static const char *strength_words(LgCheckContext *c, const LgSneak *sneak)
{
  const LgElement *const e = &c->job->elements[sneak->element];
  if (sneak->held)
    return lg_say(c,
                  T_("%s lie across it, less than the %s that pull it in but more than the %s at "
                     "which it lets go: once in, it stays in"),
                  lg_say_volts(c, sneak->volts), lg_say_volts(c, e->p[LG_P_PULL_IN]),
                  lg_say_volts(c, e->p[LG_P_DROP_OUT]));
  if (e->kind == LG_EL_COIL)
    return lg_say(c, T_("%s lie across it, and it pulls in"), lg_say_volts(c, sneak->volts));
  const char *const cold = isnan(sneak->first_A) ? ""
                                                 : lg_say(c, T_("; cold, at its first instant, %s"),
                                                          lg_say_amps(c, sneak->first_A));
  return lg_say(c, T_("it gets %s and %s, %s of its greatest power%s"),
                lg_say_volts(c, sneak->volts), lg_say_amps(c, sneak->amps),
                lg_say_percent(c, sneak->share), cold);
}

static void check_sneak(LgCheckContext *c)
{
  g_autoptr(GArray) sneaks = lg_sneaks_new(c->sizing);
  for (guint i = 0; i < sneaks->len; i++) {
    const LgSneak *const sneak = &g_array_index(sneaks, LgSneak, i);
    lg_found(c, c->job->elements[sneak->element].origin, lg_say_element(c, sneak->element),
             lg_say(c, T_("Fed %s %s: %s. The way: %s."), cause_words(c, sneak),
                    lg_say_state(c, sneak->state), strength_words(c, sneak), sneak->way),
             T_("its own way is that of the state in which it draws most; the way follows the "
                "greatest current at every pin"),
             sneak->through >= 0
                 ? T_("Give each of the two a return or feed of its own, or put a diode in the "
                      "line that joins them; if it is meant, write a `need` for it.")
                 : T_("Part the two feeds, or put a diode in that wire; if it is meant, write a "
                      "`need` for the load."));
  }
}

const LgRule lg_rule_sneak_path = {
    .name = "sneak-path",
    .grade = LG_GRADE_FAULT,
    .title = N_("a load or relay is fed on a way that nobody meant"),
    .what = "Two feeds or two returns that are joined by a part that conducts both ways (a lamp, a "
            "motor, a coil) let current go backwards: lamps glow in odd pairs, a function wakes "
            "with another's switch, a relay does not let go. Looked for in the states that show an "
            "extreme; a load that a `need` speaks of is taken as thought of.",
    .formula = "way of the greatest current at every pin, in each state, against the way in the "
               "state in which the load draws most",
    .source = "the shapes that sneak analysis looks for (Y, inverted Y, X, H): seen as a digest; "
              "Kirchhoff's laws, solved in every state",
    .remedy = "Separate grounds or feeds, or a diode in the line that joins them.",
    .run = check_sneak};
