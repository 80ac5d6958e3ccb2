/* What `identify` and `locate` find in readings: pages only, the findings come from there. */
#include "base/words.h"
#include "studies/checks-private.h"

const LgRule lg_rule_restraint_left_alone = {
    .name = "restraint-left-alone",
    .grade = LG_GRADE_DANGER,
    .title = N_("a plug or cavity that may belong to a restraint was left alone"),
    .what = "By what the sheet says of it (restraint=, a yellow housing, a yellow wire, a "
            "buckle, a mat), or by a joint between two cavities that lead nowhere else, as a "
            "shorting bar makes it, this may be part of an airbag, a belt pretensioner or an "
            "occupant sensor. `identify` says nothing of it and `locate` never proposes to "
            "measure there: an igniter needs little.",
    .source = "makers' restraint-system precautions, seen; yellow plugs: habit of the trade, "
              "not always kept",
    .remedy = "No meter, no lamp, no supply. Battery off, wait as the vehicle's manual says, "
              "and leave it to trained people. Where its papers show that it is no such "
              "circuit, write restraint=no."};

const LgRule lg_rule_reading_contradicts = {
    .name = "reading-contradicts",
    .grade = LG_GRADE_FAULT,
    .title = N_("a reading does not fit what the others say"),
    .what = "Ohms of a plug are those of one network, and volts of a job those of one fault at "
            "a time: a reading that no such thing explains together with the others was taken "
            "elsewhere than written, in another state, or shows that more than one thing is "
            "wrong. It is shown with what is left over, and never averaged away.",
    .formula = "left over = read - predicted; contradicts above 4 times sqrt (tolerance^2 + "
               "digits^2 + sheet^2)",
    .source = "common practice, no source",
    .remedy = "Read it again, in the state written. When it stays, say what was moved (did=), "
              "or ask `locate` with --pairs."};

const LgRule lg_rule_reading_impossible = {
    .name = "reading-impossible",
    .grade = LG_GRADE_FAULT,
    .title = N_("a reading that cannot be"),
    .what = "Less than no ohms, ohms where there are volts, volts across one piece of metal or "
            "on a circuit that nothing feeds, more volts than any source gives. It is not used; "
            "it is asked back.",
    .source = "a resistance is never negative; an ohmmeter needs a dead circuit (common "
              "practice, no source)",
    .remedy =
        "See that both leads touch where you meant and what the meter shows with its leads held "
        "together (lead=); for ohms, battery off and no volts; then read again. Volts where "
        "nothing should be live: find what feeds them before anything else."};
