/* Where wires lie: edges, movement, water. */
#include "base/words.h"
#include "studies/checks-private.h"

/* How many bare wires pass each run: [n_runs]; and one of them. */
static int *bare_wires(const LgCheckContext *c)
{
  int *const n = g_new0(int, (gsize)c->job->n_runs + 1);
  for (int w = 0; w < c->job->n_wires; w++)
    for (int k = 0; k < c->job->wires[w].n_runs && !c->job->wires[w].sheathed; k++)
      n[c->job->wires[w].runs[k]]++;
  return n;
}

static const LgPlace *edged_end(const LgCheckContext *c, const LgRun *run)
{
  const LgPlace *const ends[] = {&c->job->places[run->from], &c->job->places[run->to]};
  for (int k = 0; k < 2; k++)
    if (ends[k]->edge || !isnan(ends[k]->hole_m))
      return ends[k];
  return NULL;
}

static void check_edge_bare(LgCheckContext *c)
{
  g_autofree int *n = bare_wires(c);
  for (int r = 0; r < c->job->n_runs; r++) {
    const LgRun *const run = &c->job->runs[r];
    const LgPlace *const place = edged_end(c, run);
    if (n[r] == 0 || run->cover != NULL || place == NULL)
      continue;
    const char *const what = isnan(place->hole_m)
                                 ? T_("sharp edges")
                                 : lg_say(c, T_("a hole of %s"), lg_say_metres(c, place->hole_m));
    lg_found(c, run->origin, lg_say(c, T_("run %s"), run->name),
             lg_say(c,
                    n[r] == 1 ? T_("%d wire without a covering pass %s at %s.")
                              : T_("%d wires without a covering pass %s at %s."),
                    n[r], what, place->name),
             T_("a grommet or edge strip wherever the bundle can come within 10 mm of an edge: AC "
                "43.13-1B, seen"),
             isnan(place->hole_m)
                 ? T_("Cover the run (`cover=slit-10` or the like), or put a strip on the edge.")
                 : T_("Put a grommet into the hole and say it at the run (`cover=grommet-13` or "
                      "the like)."));
  }
}

const LgRule lg_rule_edge_bare = {
    .name = "edge-bare",
    .grade = LG_GRADE_DANGER,
    .title = N_("uncovered wires pass a hole or a sharp edge"),
    .what =
        "A wire that rubs on sheet metal shorts to the body after some thousand kilometres, and "
        "that is how most cable fires in vehicles begin. Holds where the sheet says edge=yes or "
        "hole= at a place, and the run there has no cover=.",
    .source = "AC 43.13-1B: grommet or edge strip within 10 mm of an edge, seen",
    .remedy = "A grommet, an edge strip, a tube.",
    .run = check_edge_bare};

#define LEAST_SPARE_M 0.05

static void check_tight(LgCheckContext *c)
{
  for (int w = 0; w < c->job->n_wires; w++) {
    const LgWire *const wire = &c->job->wires[w];
    for (int k = 0; k < wire->n_runs; k++) {
      const LgRun *const run = &c->job->runs[wire->runs[k]];
      if (!run->moves || wire->is != LG_IS_NEW || wire->spare_m >= LEAST_SPARE_M)
        continue;
      lg_found(c, wire->origin, lg_say(c, T_("wire %s"), wire->name),
               lg_say(c,
                      T_("Has %s to spare, and run %s moves: it is pulled tight at full travel."),
                      lg_say_metres(c, wire->spare_m), run->name),
               lg_say(c,
                      T_("at least %s; slack for the travel of moving parts: AC 43.13-1B, seen; "
                         "the figure is common practice, no source"),
                      lg_say_metres(c, LEAST_SPARE_M)),
               T_("Measure the length at every end of the travel and add a loop (`spare=`)."));
      break;
    }
  }
}

static void check_moving(LgCheckContext *c)
{
  g_autofree int *n = bare_wires(c);
  for (int r = 0; r < c->job->n_runs; r++) {
    const LgRun *const run = &c->job->runs[r];
    if (n[r] == 0 || run->cover != NULL || !run->moves)
      continue;
    lg_found(c, run->origin, lg_say(c, T_("run %s"), run->name),
             lg_say(c,
                    n[r] == 1 ? T_("Moves in use, and %d wire lies in it without a covering.")
                              : T_("Moves in use, and %d wires lie in it without a covering."),
                    n[r]),
             T_("moving bundles are covered, with slack for the travel: AC 43.13-1B, seen"),
             T_("Cover it with a tube or a braid (`cover=`), lead it so that it twists instead of "
                "bends, and check it at every end of the travel."));
  }
  check_tight(c);
}

const LgRule lg_rule_moving = {
    .name = "moving-bare",
    .grade = LG_GRADE_CAUTION,
    .title = N_("a moving run is uncovered or has no slack"),
    .what = "Under a seat or in a hinge wires bend thousands of times and meet tracks and springs. "
            "Measured in mid position they are too short at the end of the travel.",
    .source = "AC 43.13-1B: slack for the travel of moving parts, twist instead of bend, seen",
    .remedy = "A covering, a loop, and a look at every end of the travel.",
    .run = check_moving};

static void check_wet_splice(LgCheckContext *c)
{
  for (int i = 0; i < c->job->n_parts; i++) {
    const LgPart *const part = &c->job->parts[i];
    if (strcmp(part->class_word, "splice") != 0 || part->place < 0 ||
        !c->job->places[part->place].wet || part->is != LG_IS_NEW)
      continue;
    lg_found(c, part->origin, lg_say(c, T_("splice %s"), part->name),
             lg_say(c,
                    T_("Lies at %s, where water reaches it: unsealed, it wicks into the strands "
                       "and the joint turns green."),
                    c->job->places[part->place].name),
             T_("the sheet says wet=yes there; common practice, no source"),
             T_("Move the splice to a dry place, or seal it with adhesive-lined heat-shrink over "
                "both ends."));
  }
}

const LgRule lg_rule_wet_splice = {
    .name = "wet-splice",
    .grade = LG_GRADE_CAUTION,
    .title = N_("a splice lies where water reaches it"),
    .what =
        "Water creeps between the strands of a splice and rots the copper for a hand's breadth. "
        "Holds only where the sheet says wet=yes at the splice's place.",
    .source = "common practice, no source",
    .remedy = "A dry place, or adhesive-lined heat-shrink.",
    .run = check_wet_splice};
