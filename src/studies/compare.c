/* Two ways to do a job side by side. */
#include "studies/compare.h"
#include <math.h>
#include <string.h>

#define SAME 0.01 /* shares below which two figures count as equal */

/* One figure of a thing that both ways may have: `index` is its element or wire. */
typedef struct {
  const char *measure;
  LgDim dim;
  gboolean less_is_better;
  double (*of)(const LgSizing *sizing, int index);
} Figure;

const char *lg_about_word(LgAbout about)
{
  static const char *const words[LG_N_ABOUT] = {
      [LG_ABOUT_JOB] = "whole job", [LG_ABOUT_CONTACT] = "contact", [LG_ABOUT_COIL] = "coil",
      [LG_ABOUT_LOAD] = "load",     [LG_ABOUT_FUSE] = "fuse",       [LG_ABOUT_WIRE] = "wire",
  };
  return words[about];
}

static double most_A(const LgSizing *sizing, int element)
{
  const double amps = sizing->states->elements[element].most_A.value;
  return isnan(amps) ? 0 : amps;
}

static double share_of_rating(const LgSizing *sizing, int element)
{
  return most_A(sizing, element) / sizing->circuit->job->elements[element].p[LG_P_RATING];
}

static double least_V(const LgSizing *sizing, int element)
{
  return sizing->states->elements[element].least_V.value;
}

static double lost_V(const LgSizing *sizing, int element)
{
  const LgElementStates *const states = &sizing->states->elements[element];
  return states->drop_feed_V.value + states->drop_return_V.value;
}

static double most_W(const LgSizing *sizing, int element)
{
  return sizing->states->elements[element].most_W.value;
}

static double fuse_rating(const LgSizing *sizing, int element)
{
  return sizing->fuses[element].rating_A;
}

static double wire_A(const LgSizing *sizing, int wire)
{
  return sizing->wires[wire].most_A;
}

static double wire_mm2(const LgSizing *sizing, int wire)
{
  return lg_conductor_mm2(sizing->wires[wire].conductor);
}

static double wire_K(const LgSizing *sizing, int wire)
{
  return sizing->wires[wire].conductor_K;
}

#define FIGURES_END                                                                                \
  {                                                                                                \
    NULL, LG_DIM_NONE, FALSE, NULL                                                                 \
  }
static const Figure contact_figures[] = {
    {"greatest lasting current", LG_DIM_CURRENT, TRUE, most_A},
    {"share of its rating", LG_DIM_RATIO, TRUE, share_of_rating},
    FIGURES_END};
static const Figure coil_figures[] = {{"least volts", LG_DIM_VOLTAGE, FALSE, least_V}, FIGURES_END};
static const Figure load_figures[] = {{"greatest lasting current", LG_DIM_CURRENT, FALSE, most_A},
                                      {"least volts", LG_DIM_VOLTAGE, FALSE, least_V},
                                      {"lost on the way and back", LG_DIM_VOLTAGE, TRUE, lost_V},
                                      {"greatest power", LG_DIM_POWER, FALSE, most_W},
                                      FIGURES_END};
static const Figure fuse_figures[] = {{"rating", LG_DIM_CURRENT, FALSE, fuse_rating},
                                      {"greatest lasting current", LG_DIM_CURRENT, TRUE, most_A},
                                      FIGURES_END};
static const Figure wire_figures[] = {{"size", LG_DIM_AREA, TRUE, wire_mm2},
                                      {"greatest lasting current", LG_DIM_CURRENT, TRUE, wire_A},
                                      {"conductor temperature", LG_DIM_TEMPERATURE, TRUE, wire_K},
                                      FIGURES_END};
static const Figure *const figures[LG_N_ABOUT] = {
    [LG_ABOUT_CONTACT] = contact_figures, [LG_ABOUT_COIL] = coil_figures,
    [LG_ABOUT_LOAD] = load_figures,       [LG_ABOUT_FUSE] = fuse_figures,
    [LG_ABOUT_WIRE] = wire_figures,
};

/* What an element is compared as; LG_ABOUT_JOB: not at all. */
static LgAbout about_element(const LgElement *element)
{
  if (lg_element_is_contact(element->kind))
    return LG_ABOUT_CONTACT;
  if (element->kind == LG_EL_COIL)
    return LG_ABOUT_COIL;
  if (lg_element_is_protection(element->kind))
    return LG_ABOUT_FUSE;
  const gboolean load = lg_element_is_load(element->kind) && element->kind != LG_EL_RESISTOR;
  return load ? LG_ABOUT_LOAD : LG_ABOUT_JOB;
}

static double one_wire(const LgSizing *sizing, int w)
{
  (void)sizing, (void)w;
  return 1;
}

static double wire_length(const LgSizing *sizing, int w)
{
  const LgWire *const wire = &sizing->circuit->job->wires[w];
  return wire->length_m + wire->spare_m;
}

#define COPPER_KG_M3 8960.0 /* density of copper, handbooks */

static double wire_kg(const LgSizing *sizing, int w)
{
  return wire_length(sizing, w) * sizing->wires[w].conductor->area_mm2 * 1e-6 * COPPER_KG_M3;
}

static double sum_new_wires(const LgSizing *sizing, double (*of)(const LgSizing *, int))
{
  double sum = 0;
  for (int w = 0; w < sizing->n_wires; w++)
    sum += sizing->circuit->job->wires[w].is == LG_IS_NEW ? of(sizing, w) : 0;
  return sum;
}

static double new_parts(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  int n = 0;
  for (int p = 0; p < job->n_parts; p++)
    n += job->parts[p].is == LG_IS_NEW;
  return n;
}

static double relays(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  int n = 0;
  for (int e = 0; e < job->n_elements; e++)
    n += job->elements[e].kind == LG_EL_COIL;
  return n;
}

/* What the batteries give with everything at rest. */
static double at_rest_A(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  double sum = 0;
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_CELL && !isnan(sizing->states->elements[e].rest_A.value))
      sum += sizing->states->elements[e].rest_A.value;
  return sum;
}

static double findings_of(const LgChoice *choice, LgGrade grade)
{
  int n = 0;
  for (guint i = 0; i < choice->findings->len; i++)
    n += ((const LgFinding *)choice->findings->pdata[i])->grade == grade;
  return n;
}

static void add(GArray *out, LgContrast contrast)
{
  g_array_append_val(out, contrast);
}

static void add_whole(GArray *out, const char *measure, LgDim dim, double first, double second)
{
  add(out, (LgContrast){.about = LG_ABOUT_JOB,
                        .measure = measure,
                        .dim = dim,
                        .value = {first, second},
                        .less_is_better = TRUE});
}

static void add_job(GArray *out, const LgChoice *first, const LgChoice *second)
{
  static const char *const grades[LG_N_GRADES] = {
      [LG_GRADE_DANGER] = "findings: danger",
      [LG_GRADE_FAULT] = "findings: fault",
      [LG_GRADE_UNPROVEN] = "findings: unproven",
      [LG_GRADE_CAUTION] = "findings: caution",
  };
  for (int g = 0; g < LG_N_GRADES; g++)
    add_whole(out, grades[g], LG_DIM_NONE, findings_of(first, (LgGrade)g),
              findings_of(second, (LgGrade)g));
  const LgSizing *const a = first->sizing, *const b = second->sizing;
  add_whole(out, "drawn with everything at rest", LG_DIM_CURRENT, at_rest_A(a), at_rest_A(b));
  add_whole(out, "most that the sources give", LG_DIM_CURRENT, a->states->supply_A.value,
            b->states->supply_A.value);
  add_whole(out, "new parts", LG_DIM_NONE, new_parts(a), new_parts(b));
  add_whole(out, "relays", LG_DIM_NONE, relays(a), relays(b));
  add_whole(out, "new wires", LG_DIM_NONE, sum_new_wires(a, one_wire), sum_new_wires(b, one_wire));
  add_whole(out, "length of new wires", LG_DIM_LENGTH, sum_new_wires(a, wire_length),
            sum_new_wires(b, wire_length));
  add_whole(out, "copper in new wires", LG_DIM_MASS, sum_new_wires(a, wire_kg),
            sum_new_wires(b, wire_kg));
}

static gboolean differ(double a, double b)
{
  if (isnan(a) || isnan(b))
    return isnan(a) != isnan(b);
  return fabs(a - b) > SAME * fmax(fabs(a), fabs(b));
}

/* The figures of one thing; an index of -1: that way has none. */
static void add_thing(GArray *out, LgAbout about, const char *subject, const LgChoice *ways[2],
                      const int index[2])
{
  for (const Figure *f = figures[about]; f->measure != NULL; f++) {
    LgContrast contrast = {.about = about,
                           .subject = subject,
                           .measure = f->measure,
                           .dim = f->dim,
                           .less_is_better = f->less_is_better};
    for (int k = 0; k < 2; k++)
      contrast.value[k] = index[k] >= 0 ? f->of(ways[k]->sizing, index[k]) : NAN;
    if (differ(contrast.value[0], contrast.value[1]))
      add(out, contrast);
  }
}

/* Elements of ways[from] under `about`; from the second way only those that the first lacks. */
static void add_elements(GArray *out, LgAbout about, const LgChoice *ways[2], int from)
{
  const LgJob *const mine = ways[from]->sizing->circuit->job, *const other =
                                                                  ways[1 - from]
                                                                      ->sizing->circuit->job;
  for (int e = 0; e < mine->n_elements; e++) {
    if (about_element(&mine->elements[e]) != about)
      continue;
    int twin = lg_job_find_element(other, mine->elements[e].name);
    if (twin >= 0 && about_element(&other->elements[twin]) != about)
      twin = -1;
    if (from == 1 && twin >= 0)
      continue;
    const int index[2] = {from == 0 ? e : twin, from == 0 ? twin : e};
    add_thing(out, about, mine->elements[e].name, ways, index);
  }
}

static void add_wires(GArray *out, const LgChoice *ways[2], int from)
{
  const LgJob *const mine = ways[from]->sizing->circuit->job, *const other =
                                                                  ways[1 - from]
                                                                      ->sizing->circuit->job;
  for (int w = 0; w < mine->n_wires; w++) {
    const int twin = lg_job_find_wire(other, mine->wires[w].name);
    if (mine->wires[w].is != LG_IS_NEW || (from == 1 && twin >= 0))
      continue;
    const int index[2] = {from == 0 ? w : twin, from == 0 ? twin : w};
    add_thing(out, LG_ABOUT_WIRE, mine->wires[w].name, ways, index);
  }
}

GArray *lg_contrasts_new(const LgChoice *first, const LgChoice *second)
{
  GArray *const out = g_array_new(FALSE, FALSE, sizeof(LgContrast));
  const LgChoice *ways[2] = {first, second};
  add_job(out, first, second);
  for (int about = LG_ABOUT_CONTACT; about < LG_ABOUT_WIRE; about++)
    for (int from = 0; from < 2; from++)
      add_elements(out, (LgAbout)about, ways, from);
  for (int from = 0; from < 2; from++)
    add_wires(out, ways, from);
  return out;
}

/* How much a contrast weighs in the sentence: the number of times one figure is of the other. */
static double weight(const LgContrast *c)
{
  const double a = fabs(c->value[0]), b = fabs(c->value[1]);
  if (isnan(a) || isnan(b) || fmax(a, b) <= 0)
    return 0;
  const double ratio = fmin(a, b) > 0 ? fmax(a, b) / fmin(a, b) : 10;
  const gboolean findings = c->about == LG_ABOUT_JOB && g_str_has_prefix(c->measure, "findings");
  const double share = findings                       ? 9
                       : c->about == LG_ABOUT_JOB     ? 3
                       : c->about == LG_ABOUT_CONTACT ? 2
                                                      : 1;
  return differ(a, b) ? share * log(fmin(ratio, 1e3)) : 0;
}

static void say(GString *text, const LgContrast *c, LgHabit habit)
{
  char *value[2];
  for (int k = 0; k < 2; k++)
    value[k] = c->dim == LG_DIM_NONE ? lg_number_print(c->value[k], 4)
                                     : lg_quantity_print(c->value[k], c->dim, habit, 3);
  if (c->subject != NULL)
    g_string_append_printf(text, "; %s, %s: %s instead of %s", c->subject, c->measure, value[1],
                           value[0]);
  else
    g_string_append_printf(text, "; %s: %s instead of %s", c->measure, value[1], value[0]);
  g_free(value[0]);
  g_free(value[1]);
}

static int heavier_first(const void *a, const void *b)
{
  const LgContrast *const x = *(const LgContrast *const *)a, *const y =
                                                                 *(const LgContrast *const *)b;
  const double wx = weight(x), wy = weight(y);
  if (wx != wy)
    return wx > wy ? -1 : 1;
  return x < y ? -1 : x > y;
}

enum { MOST_SAID = 6 };

/* Whether a weightier figure speaks of the same thing. */
static gboolean is_said(const GPtrArray *order, guint at)
{
  const LgContrast *const c = order->pdata[at];
  for (guint i = 0; i < at; i++)
    if (c->subject != NULL &&
        g_strcmp0(((const LgContrast *)order->pdata[i])->subject, c->subject) == 0)
      return TRUE;
  return FALSE;
}

char *lg_contrasts_sentence(const LgChoice *first, const LgChoice *second, const GArray *contrasts)
{
  const LgHabit habit = first->sizing->circuit->job->habit;
  g_autoptr(GPtrArray) order = g_ptr_array_new();
  for (guint i = 0; i < contrasts->len; i++)
    if (weight(&g_array_index(contrasts, LgContrast, i)) > 0)
      g_ptr_array_add(order, &g_array_index(contrasts, LgContrast, i));
  if (order->len == 0)
    return g_strdup_printf("%s and %s: no figure differs by more than 1 %%.", first->name,
                           second->name);
  qsort(order->pdata, order->len, sizeof *order->pdata, heavier_first);
  g_autoptr(GString) text = g_string_new(NULL);
  int n_said = 0;
  for (guint i = 0; i < order->len && n_said < MOST_SAID; i++) {
    if (is_said(order, i))
      continue;
    say(text, order->pdata[i], habit);
    n_said++;
  }
  return g_strdup_printf("%s instead of %s: %s.", second->name, first->name, text->str + 2);
}
