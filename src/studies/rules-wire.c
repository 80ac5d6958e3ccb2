/* Wires as things: size against terminal and strength, colours. */
#include "base/words.h"
#include "sheet/colour.h"
#include "studies/checks-private.h"

#define ROUNDING 0.01 /* sizes are told to two digits */

/* -1: the conductor is too thin for the pin's terminal, 1: too thick, 0: it fits, or nobody knows.
 */
static int misfit(const LgCheckContext *c, const LgConductor *conductor, int pin)
{
  const LgTerminal *const terminal = c->job->pins[pin].terminal;
  if (terminal == NULL || isnan(terminal->wire_from_mm2))
    return 0;
  const double mm2 = lg_conductor_mm2(conductor);
  return mm2 < terminal->wire_from_mm2 * (1 - ROUNDING) ? -1
         : mm2 > terminal->wire_to_mm2 * (1 + ROUNDING) ? 1
                                                        : 0;
}

static const char *say_range(LgCheckContext *c, int pin)
{
  const LgTerminal *const terminal = c->job->pins[pin].terminal;
  return lg_say(c, T_("the %s terminal at %s, which takes %s to %s"), terminal->name,
                c->job->pins[pin].name, lg_say_mm2(c, terminal->wire_from_mm2),
                lg_say_mm2(c, terminal->wire_to_mm2));
}

static void report_misfit(LgCheckContext *c, int wire, const int ends[2])
{
  const LgWire *const w = &c->job->wires[wire];
  const int k = ends[0] != 0 ? 0 : 1;
  const LgTerminal *const terminal = c->job->pins[w->pin[k]].terminal;
  const char *const also =
      k == 0 && ends[1] == ends[0] ? lg_say(c, T_(", and for %s"), say_range(c, w->pin[1])) : "";
  const gboolean thin = ends[k] < 0;
  lg_found(c, w->origin, lg_say(c, T_("wire %s"), w->name),
           lg_say(c, T_("%s is too %s for %s%s."), lg_conductor_of(c, wire)->name,
                  thin ? T_("thin") : T_("thick"), say_range(c, w->pin[k]), also),
           lg_say(c, T_("wire range of the crimp; %s"), terminal->source),
           thin ? lg_say(c,
                         T_("Use %s or more there, or a terminal for thinner wire; strands folded "
                            "over do not make a crimp."),
                         lg_say_mm2(c, terminal->wire_from_mm2))
                : T_("Use a larger terminal, or splice a short thinner tail on, fused for the "
                     "tail; cut strands do not make a crimp."));
}

static void check_terminal_range(LgCheckContext *c)
{
  for (int w = 0; w < c->job->n_wires; w++) {
    const LgWire *const wire = &c->job->wires[w];
    const LgConductor *const conductor = lg_conductor_of(c, w);
    if (conductor == NULL || wire->is != LG_IS_NEW ||
        lg_sizing_tells(c, lg_say(c, T_("wire %s"), wire->name)))
      continue;
    const int ends[] = {misfit(c, conductor, wire->pin[0]), misfit(c, conductor, wire->pin[1])};
    if (ends[0] != 0 || ends[1] != 0)
      report_misfit(c, w, ends);
  }
}

const LgRule lg_rule_terminal_range = {
    .name = "terminal-range",
    .grade = LG_GRADE_FAULT,
    .title = N_("a wire is too thin or too thick for its terminal"),
    .what = "A crimp is gas-tight only within its wire range; outside it gets warm or pulls out.",
    .formula = "least of the terminal <= conductor in mm2 <= most of the terminal",
    .source = "crimp ranges of common terminal families, memory; `loomgraft explain terminals`",
    .remedy = "Another terminal or another wire.",
    .run = check_terminal_range};

static double brief_A(const LgCheckContext *c, int wire)
{
  const LgWireStates *const seen = &c->states->wires[wire];
  return fmax(isnan(seen->most_A.value) ? 0 : seen->most_A.value,
              isnan(seen->brief_A.value) ? 0 : seen->brief_A.value);
}

static void check_wire_weak(LgCheckContext *c)
{
  for (int w = 0; w < c->job->n_wires; w++) {
    const LgWire *const wire = &c->job->wires[w];
    const LgConductor *const conductor = lg_conductor_of(c, w);
    if (conductor == NULL || wire->is != LG_IS_NEW)
      continue;
    const double least_mm2 = lg_wire_least_mm2(c->job, w, brief_A(c, w));
    if (lg_conductor_mm2(conductor) >= least_mm2 * (1 - ROUNDING))
      continue;
    const gboolean covered = lg_wire_is_covered(c->job, w);
    lg_found(c, wire->origin, lg_say(c, T_("wire %s"), wire->name),
             lg_say(c, T_("%s is thinner than the %s that a wire %s needs not to break."),
                    conductor->name, lg_say_mm2(c, least_mm2),
                    covered ? T_("in a covering") : T_("by itself")),
             conductor->is_awg ? T_("33 CFR 183.425: AWG 16 alone, 18 in a sheath, seen")
                               : T_("ISO 10133: 1 mm2 alone, 0.75 mm2 in a sheath, seen; signal "
                                    "lines below 1 A thinner: common practice, no source"),
             covered ? lg_say(c, T_("Use %s or more."), lg_say_mm2(c, least_mm2))
                     : lg_say(c, T_("Use %s or more, or lay it in a tube over its whole length."),
                              lg_say_mm2(c, least_mm2)));
  }
}

const LgRule lg_rule_wire_weak = {
    .name = "wire-weak",
    .grade = LG_GRADE_CAUTION,
    .title = N_("a wire is thinner than strength asks"),
    .what = "Thin wire breaks from shaking and pulling long before its current matters. Wires that "
            "are in the vehicle or on the donor part already are left out.",
    .source = "ISO 10133: 1 mm2 alone, 0.75 mm2 in a sheath (seen); 33 CFR 183.425: AWG 16 alone, "
              "18 in a sheath (seen)",
    .remedy = "The least size, or a covering over its whole length.",
    .run = check_wire_weak};

/* --- colours --- */

static gboolean has_face(const LgPart *part)
{
  static const char *const with_cavities[] = {"connector", "assembly", "module", "thermostat",
                                              "sensor",    "load",     NULL};
  return part->rows > 0 || g_strv_contains(with_cavities, part->class_word);
}

/* Wires of one part's pins, new ones, as (wire, pin) pairs in `ends`. */
typedef struct {
  int wire, pin;
} End;

static void new_wires_at(const LgCheckContext *c, const LgPart *part, GArray *ends)
{
  g_array_set_size(ends, 0);
  for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++) {
    const int node = c->sizing->circuit->pin_node[p];
    for (int k = c->ways->first[node]; k < c->ways->first[node + 1]; k++) {
      const int w = c->ways->incident[k];
      if (w < c->job->n_wires && c->job->wires[w].is == LG_IS_NEW)
        g_array_append_val(ends, ((End){w, p}));
    }
  }
}

static void report_twice(LgCheckContext *c, const LgPart *part, End first, End second)
{
  const LgWire *const a = &c->job->wires[first.wire], *const b = &c->job->wires[second.wire];
  lg_found(
      c, b->origin, lg_say(c, T_("wires %s and %s"), a->name, b->name),
      lg_say(c,
             T_("Both are %s at %s, in %s and %s, and are not joined: they can be swapped unseen."),
             b->colour, part->name, c->job->pins[first.pin].short_name,
             c->job->pins[second.pin].short_name),
      T_("common practice, no source"),
      lg_say(c, T_("Give %s another colour or a stripe, or mark both ends."), b->name));
}

static void check_colour_twice(LgCheckContext *c)
{
  g_autoptr(GArray) ends = g_array_new(FALSE, FALSE, sizeof(End));
  for (int i = 0; i < c->job->n_parts; i++) {
    const LgPart *const part = &c->job->parts[i];
    if (!has_face(part))
      continue;
    new_wires_at(c, part, ends);
    for (guint second = 1; second < ends->len; second++)
      for (guint first = 0; first < second; first++) {
        const End a = g_array_index(ends, End, first), b = g_array_index(ends, End, second);
        if (g_strcmp0(c->job->wires[a.wire].colour, c->job->wires[b.wire].colour) != 0 ||
            lg_pin_net(c, a.pin) == lg_pin_net(c, b.pin))
          continue;
        report_twice(c, part, a, b);
        break;
      }
  }
}

const LgRule lg_rule_colour_twice = {
    .name = "colour-twice",
    .grade = LG_GRADE_CAUTION,
    .title = N_("two wires of one colour at one connector"),
    .what =
        "Two new wires of the same colour in one plug, which are not joined to each other, will "
        "be swapped one day. Several returns of one colour are no fault.",
    .source = "common practice, no source",
    .remedy = "Another colour, a stripe, or marks at both ends.",
    .run = check_colour_twice};

static void check_green_yellow(LgCheckContext *c)
{
  for (int w = 0; w < c->job->n_wires; w++) {
    const LgWire *const wire = &c->job->wires[w];
    int base, stripe;
    if (wire->is != LG_IS_NEW || wire->colour == NULL ||
        !lg_colour_read(wire->colour, &base, &stripe))
      continue;
    const gboolean both = (base == LG_COLOUR_GREEN && stripe == LG_COLOUR_YELLOW) ||
                          (base == LG_COLOUR_YELLOW && stripe == LG_COLOUR_GREEN);
    if (!both)
      continue;
    lg_found(c, wire->origin, lg_say(c, T_("wire %s"), wire->name),
             lg_say(c, T_("Is %s, the colour of the protective conductor of mains wiring."),
                    wire->colour),
             T_("IEC 60446 / IEC 60445: green-yellow for protective earth only, seen"),
             T_("Choose another colour: somebody may take it for mains earth, or earth a mains "
                "socket to it."));
  }
}

const LgRule lg_rule_green_yellow = {
    .name = "green-yellow",
    .grade = LG_GRADE_CAUTION,
    .title = N_("a green-yellow wire in a DC circuit"),
    .what = "Green with yellow marks the protective earth of mains wiring, which campers and work "
            "vans carry, too.",
    .source = "IEC 60446, now IEC 60445: green-yellow for protective earth only, seen",
    .remedy = "Another colour.",
    .run = check_green_yellow};
