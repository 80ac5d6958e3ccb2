/* Pages of what sizing finds; the findings themselves come from there. */
#include "studies/checks-private.h"

const LgRule lg_rule_no_rating = {
    .name = "no-rating",
    .grade = LG_GRADE_FAULT,
    .title = "no fuse of the form serves an auto rating",
    .what = "For a fuse whose rating is auto, the least rating of its form is sought that carries "
            "the steady load and does not open while a load starts. There is none.",
    .formula = "steady current <= fuse-load x rating; start time < least opening time",
    .source =
        "80 %: a marine electrical maker's catalogue, seen; opening times: ISO 8820-3, as the "
        "catalogue marks them",
    .remedy = "A larger or slower form, or two circuits."};
