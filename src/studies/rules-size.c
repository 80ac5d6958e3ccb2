/* Pages of what sizing finds; the findings themselves come from there. */
#include "base/words.h"
#include "studies/checks-private.h"

const LgRule lg_rule_no_rating = {
    .name = "no-rating",
    .grade = LG_GRADE_FAULT,
    .title = N_("no fuse of the form serves an auto rating"),
    .what = "For a fuse whose rating is auto, the least rating of its form is sought that "
            "carries the steady load and does not open while a load starts. There is none.",
    .formula = "steady current <= fuse-load x rating; start time < least opening time",
    .source = "80 %: a marine electrical maker's catalogue, seen; opening times: ISO 8820-3, as "
              "the catalogue marks them",
    .remedy = "A larger or slower form, or two circuits."};

const LgRule lg_rule_no_size = {
    .name = "no-size",
    .grade = LG_GRADE_DANGER,
    .title = N_("no size of an auto wire serves"),
    .what = "For a wire whose size is auto, the thinnest of its series is sought that bears the "
            "current and its fuse, is strong enough, fits its terminals and loses few enough "
            "volts. There is none.",
    .formula = "as in wire-overloaded, fuse-above-wire, wire-weak, terminal-range and drop",
    .source = "as the rules named in the formula: 33 CFR 183.425 Table 5, seen; others as they say",
    .remedy = "A cooler or shorter way, better insulation, two circuits, a smaller fuse, or "
              "larger terminals."};
