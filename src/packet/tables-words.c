/* Words and lengths that several tables share. */
#include "base/words.h"
#include "packet/tables-private.h"
#include "sheet/colour.h"
#include <math.h>
#include <string.h>

char *lg_words_size(const LgConductor *conductor)
{
  if (conductor == NULL)
    return g_strdup(LG_GAP);
  const char *const unit = conductor->is_awg ? "AWG" : "mm2";
  const char *const at = strstr(conductor->name, unit);
  if (at == NULL)
    return g_strdup(conductor->name);
  return g_strdup_printf("%.*s %s", (int)(at - conductor->name), conductor->name, unit);
}

/* Nominal sizes of both series lie within 2 % of their metal, so that much may be missing. */
#define LEAST_COPPER 0.98

char *lg_words_other_size(const LgJob *job, const LgConductor *conductor)
{
  const LgConductor *best = NULL;
  const GPtrArray *const all = lg_catalogue_conductors(job->catalogue);
  for (guint i = 0; conductor != NULL && i < all->len; i++) {
    const LgConductor *const c = all->pdata[i];
    if (c->is_awg != conductor->is_awg && c->area_mm2 >= LEAST_COPPER * conductor->area_mm2 &&
        (best == NULL || c->area_mm2 < best->area_mm2))
      best = c;
  }
  return best != NULL ? lg_words_size(best) : g_strdup("-");
}

char *lg_words_colour(const char *colour)
{
  int base, stripe;
  return colour != NULL && lg_colour_read(colour, &base, &stripe) ? lg_colour_describe(base, stripe)
                                                                  : g_strdup(colour);
}

void lg_words_add(GString *list, const char *separator, const char *word)
{
  if (list->len > 0)
    g_string_append(list, separator);
  g_string_append(list, word);
}

char *lg_words_quantity(const LgJob *job, double value, LgDim dim)
{
  return lg_quantity_print(value, dim, job->habit, 3);
}

char *lg_words_warmth(const LgJob *job, double degC)
{
  return lg_quantity_print(degC + LG_ZERO_C_IN_K, LG_DIM_TEMPERATURE, job->habit, 2);
}

const char *lg_words_name(const LgJob *job, int element)
{
  const LgPart *const part = &job->parts[job->elements[element].part];
  return part->n_elements == 1 ? part->name : job->elements[element].name;
}

const char *lg_words_part(const LgPart *part)
{
  const char *const of_type = part->type != NULL ? part->type->record->text : NULL;
  const gboolean own = strcmp(part->class_word, "assembly") == 0;
  return part->text == NULL || (own && g_strcmp0(part->text, of_type) == 0) ? part->class_word
                                                                            : part->text;
}

const char *lg_words_element(const LgJob *job, int element)
{
  const LgElement *const e = &job->elements[element];
  const LgPart *const part = &job->parts[e->part];
  if (e->label != NULL)
    return e->label;
  const gboolean told = part->text != NULL && part->type != NULL &&
                        g_strcmp0(part->text, part->type->record->text) != 0;
  return told && part->n_elements == 1 ? part->text : lg_element_said(e->kind);
}

char *lg_words_rating(double rating_A)
{
  g_autofree char *number = lg_number_print(rating_A, 4);
  return g_strdup_printf("%s A", number);
}

const char *lg_words_is(LgIs is)
{
  static const char *const words[] = {
      [LG_IS_NEW] = N_("new"), [LG_IS_DONOR] = N_("donor"), [LG_IS_HOST] = N_("host")};
  return T_(words[is]);
}

char *lg_words_count(guint n, const char *one, const char *many)
{
  return g_strdup_printf("%u %s", n, n == 1 ? one : many);
}

static char *words_fuse(const LgSizing *sizing, int device)
{
  g_autofree char *rating = lg_words_rating(sizing->fuses[device].rating_A);
  return g_strdup_printf("%s %s", lg_words_name(sizing->circuit->job, device), rating);
}

char *lg_words_fuses(const LgSizing *sizing, int wire)
{
  const LgProtection *const protection = &sizing->protection[wire];
  if (protection->n_devices == 0) {
    const gboolean bare = protection->side == LG_SIDE_FEED && !protection->exempt;
    if (protection->rating_device < 0)
      return g_strdup(bare ? T_("none") : T_("none needed"));
    g_autofree char *fuse = words_fuse(sizing, protection->rating_device);
    return g_strdup_printf(T_("behind %s"), fuse);
  }
  g_autoptr(GString) words = g_string_new(NULL);
  for (int i = 0; i < protection->n_devices; i++) {
    g_autofree char *one = words_fuse(sizing, protection->devices[i]);
    lg_words_add(words, ", ", one);
  }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static const LgPart *part_of_end(const LgJob *job, const LgWire *wire, int end)
{
  return &job->parts[job->pins[wire->pin[end]].part];
}

LgEnd lg_wire_end(const LgJob *job, const LgWire *wire, int end)
{
  const LgPart *const part = part_of_end(job, wire, end);
  if (strcmp(part->class_word, "splice") == 0)
    return LG_END_SPLICE;
  if (part->is == LG_IS_DONOR && part->tail_m > 0)
    return LG_END_TAIL;
  return job->pins[wire->pin[end]].terminal != NULL ? LG_END_TERMINAL : LG_END_UNKNOWN;
}

char *lg_words_end(const LgJob *job, const LgWire *wire, int end)
{
  switch (lg_wire_end(job, wire, end)) {
  case LG_END_TERMINAL:
    return g_strdup(job->pins[wire->pin[end]].terminal->name);
  case LG_END_SPLICE:
    return g_strdup(T_("in the splice"));
  case LG_END_TAIL:
    return g_strdup(T_("joined to the tail"));
  case LG_END_UNKNOWN:
    break;
  }
  return g_strdup(LG_GAP);
}

const char *lg_words_seal(const LgJob *job, const LgWire *wire, int end)
{
  const LgPart *const part = part_of_end(job, wire, end);
  gboolean wet = part->place >= 0 && job->places[part->place].wet;
  for (int i = 0; i < wire->n_runs; i++)
    wet = wet || (job->runs[wire->runs[i]].wet && (job->runs[wire->runs[i]].from == part->place ||
                                                   job->runs[wire->runs[i]].to == part->place));
  if (!wet)
    return NULL;
  return lg_wire_end(job, wire, end) == LG_END_TERMINAL &&
                 g_str_has_prefix(job->pins[wire->pin[end]].terminal->name, "ring")
             ? T_("tube with adhesive over the crimp")
         : lg_wire_end(job, wire, end) == LG_END_TERMINAL ? T_("wire seal by its outside")
                                                          : T_("tube with adhesive");
}

/* Length of bare conductor by kind of terminal and wire: common practice, no source. */
static const struct {
  const char *prefix;
  double to_mm2, strip_m;
} strips[] = {
    {"tab", 1.1, 4.5e-3},  {"tab", 2.6, 5.5e-3},  {"tab", 6.5, 7e-3},    {"tab", 11, 9e-3},
    {"pin", 0.6, 3.5e-3},  {"pin", 1.1, 4e-3},    {"pin", 2.6, 5e-3},    {"ring", 2.6, 7e-3},
    {"ring", 6.5, 9e-3},   {"ring", 17, 12e-3},   {"ring", 36, 16e-3},   {"ring", 75, 20e-3},
    {"ring", 125, 24e-3},  {"post", 17, 14e-3},   {"post", 125, 20e-3},  {"screw", 6.5, 7e-3},
    {"butt", 2.6, 8e-3},   {"butt", 6.5, 9e-3},   {"splice", 1.1, 7e-3}, {"splice", 2.6, 8e-3},
    {"splice", 6.5, 9e-3}, {"splice", 27, 14e-3},
};

double lg_strip_length(const LgJob *job, const LgWire *wire, int end, double area_mm2)
{
  const LgEnd kind = lg_wire_end(job, wire, end);
  if (kind == LG_END_UNKNOWN)
    return NAN;
  const char *const name = kind == LG_END_TERMINAL ? job->pins[wire->pin[end]].terminal->name
                           : kind == LG_END_SPLICE ? "splice"
                                                   : "butt";
  for (gsize i = 0; i < G_N_ELEMENTS(strips); i++)
    if (g_str_has_prefix(name, strips[i].prefix) && area_mm2 <= strips[i].to_mm2)
      return strips[i].strip_m;
  return NAN;
}

const char *lg_words_crimp(const LgJob *job, double area_mm2)
{
  static const struct {
    double to_mm2;
    const char *metric, *us;
  } bands[] = {{1.55, N_("wire to 1.5 mm2"), N_("wire 22 to 16 AWG")},
               {2.6, N_("wire to 2.5 mm2"), N_("wire 16 to 14 AWG")},
               {6.5, N_("wire to 6 mm2"), N_("wire 12 to 10 AWG")},
               {17, N_("wire to 16 mm2"), N_("wire 8 to 6 AWG")},
               {36, N_("wire to 35 mm2"), N_("wire 4 to 2 AWG")}};
  for (gsize i = 0; i < G_N_ELEMENTS(bands); i++)
    if (area_mm2 <= bands[i].to_mm2)
      return job->awg_sizes ? T_(bands[i].us) : T_(bands[i].metric);
  return T_("thicker wire: by its size");
}

gboolean lg_wire_is_cut(const LgWire *wire)
{
  return wire->is == LG_IS_NEW;
}

double lg_cut_length(const LgJob *job, const LgWire *wire)
{
  const double step_m = job->habit == LG_HABIT_US ? 0.0127 : 0.01;
  return ceil((wire->length_m + wire->spare_m) / step_m - 1e-6) * step_m;
}

gboolean lg_part_is_wired(const LgJob *job, const LgPart *part)
{
  for (int w = 0; w < job->n_wires; w++)
    for (int k = 0; k < 2; k++)
      if (lg_wire_is_cut(&job->wires[w]) && part_of_end(job, &job->wires[w], k) == part)
        return TRUE;
  return FALSE;
}

gboolean lg_input_is_charger(const LgJob *job, int input)
{
  const LgInput *const i = &job->inputs[input];
  const char *const word = job->parts[i->part].class_word;
  return i->kind == LG_INPUT_HAND &&
         (strcmp(word, "alternator") == 0 || strcmp(word, "dynamo") == 0);
}

gboolean lg_pin_is_restraint(const LgJob *job, int pin)
{
  return pin >= 0 && job->pins[pin].restraint != LG_RESTRAINT_NO;
}
