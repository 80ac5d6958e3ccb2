/* What was seen, from the sheet's readings and from words; what cannot be is asked back. */
#include "base/text.h"
#include "studies/locate-private.h"
#include <math.h>

#define LOCATE_ERROR LG_JOB_ERROR

/* Tolerance of a meter when nothing is said, as the sheet's own default. */
#define METER 0.01

typedef struct {
  LgLocator *locator;
  LgSigns *signs;
} Reading;

static void ask_back(const Reading *r, const char *rule, LgGrade grade, const LgSign *sign,
                     char *what, const char *basis, const char *remedy)
{
  LgFinding *const finding = g_new(LgFinding, 1);
  *finding = (LgFinding){.rule = rule,
                         .grade = grade,
                         .origin = sign->origin,
                         .subject = g_strdup_printf("reading %s", sign->name),
                         .what = what,
                         .basis = g_strdup(basis),
                         .remedy = g_strdup(remedy)};
  g_ptr_array_add(r->signs->findings, finding);
}

/* ---- What cannot be. ---- */

static int bond_root(int tied[], int i)
{
  while (tied[i] != i)
    i = tied[i] = tied[tied[i]];
  return i;
}

/* Whether two pins are one piece of metal: a wire or link away from each other, no fuse between.
 * A lost wire can lie between them, but not the whole battery. */
static gboolean are_bonded(const LgJob *job, int a, int b)
{
  for (int e = 0; e < job->n_elements; e++) {
    const LgElement *const el = &job->elements[e];
    if (el->kind == LG_EL_LINK &&
        ((el->pin[0] == a && el->pin[1] == b) || (el->pin[0] == b && el->pin[1] == a)))
      return TRUE;
  }
  return FALSE;
}

/* Most volts between any two points of the job that a source ever makes. */
static double most_volts(const LgJob *job)
{
  return 1.35 * job->nominal_V;
}

/* Whether no source is tied to a pin, whatever is switched. */
static gboolean is_dead(const LgJob *job, int pin)
{
  g_autofree int *tied = g_new(int, (gsize)job->n_pins + 1);
  const int body = job->n_pins;
  for (int p = 0; p <= job->n_pins; p++)
    tied[p] = p;
  for (int w = 0; w < job->n_wires; w++)
    tied[bond_root(tied, job->wires[w].pin[0])] = bond_root(tied, job->wires[w].pin[1]);
  for (int e = 0; e < job->n_elements; e++) {
    const LgElement *const el = &job->elements[e];
    const int to = el->pin[1] < 0 ? body : el->pin[1];
    tied[bond_root(tied, el->pin[0])] = bond_root(tied, to);
  }
  for (int e = 0; e < job->n_elements; e++)
    if (lg_element_is_source(job->elements[e].kind) &&
        bond_root(tied, job->elements[e].pin[0]) == bond_root(tied, pin))
      return FALSE;
  return TRUE;
}

static gboolean can_be_volts(const Reading *r, const LgSign *sign)
{
  const LgJob *const job = r->locator->job;
  const double volts = fabs(sign->value), off = sign->tolerance * volts + 0.05;
  if (volts > most_volts(job)) {
    ask_back(r, "reading-impossible", LG_GRADE_FAULT, sign,
             g_strdup_printf("%.4g V were read; nothing in a %g V job gives more than %.3g V.",
                             sign->value, job->nominal_V, most_volts(job)),
             "1.35 times the nominal volts: a regulator that has failed gives more than a sheet "
             "can tell",
             "Look at the range of the meter, and read again. If it stays, stop: the charging is "
             "out of order.");
    return FALSE;
  }
  if (volts > off + 0.5 && are_bonded(job, sign->pin[0], sign->pin[1])) {
    ask_back(r, "reading-impossible", LG_GRADE_FAULT, sign,
             g_strdup_printf("%.4g V between %s and %s, which are one piece of metal.", sign->value,
                             job->pins[sign->pin[0]].name, job->pins[sign->pin[1]].name),
             "a link inside the part joins them: no volts can stand across it",
             "See that both leads touch where you meant; then read again.");
    return FALSE;
  }
  if (volts > off + 0.5 && (is_dead(job, sign->pin[0]) || is_dead(job, sign->pin[1]))) {
    ask_back(
        r, "reading-impossible", LG_GRADE_FAULT, sign,
        g_strdup_printf("%.4g V were read, but no source of the sheet leads to %s.", sign->value,
                        job->pins[is_dead(job, sign->pin[0]) ? sign->pin[0] : sign->pin[1]].name),
        "a circuit that nothing feeds is dead",
        "Is it the right pin? If so, something is tied to it that the sheet does not show: "
        "find it before anything else, and write it down.");
    return FALSE;
  }
  return TRUE;
}

static gboolean can_be_ohms(const Reading *r, const LgSign *sign, double read, double lead)
{
  if (isinf(sign->value) || sign->value >= -(sign->tolerance * fabs(read) + 0.2))
    return TRUE;
  ask_back(r, "reading-impossible", LG_GRADE_FAULT, sign,
           g_strdup_printf("%.3g ohm read, less %.3g ohm of the leads, leaves %.3g ohm.", read,
                           lead, sign->value),
           "a resistance is never negative; volts on the circuit make a meter show it",
           "Battery off, wait, see that the meter shows no volts there. Hold the leads together, "
           "write what it shows as lead=, and read again.");
  return FALSE;
}

/* Ohms that were read where another reading of the same state says that there are volts. */
static gboolean is_read_live(const Reading *r, const LgSign *sign)
{
  for (guint i = 0; i < r->signs->signs->len; i++) {
    const LgSign *const other = &g_array_index(r->signs->signs, LgSign, i);
    const gboolean same = (other->pin[0] == sign->pin[0] && other->pin[1] == sign->pin[1]) ||
                          (other->pin[0] == sign->pin[1] && other->pin[1] == sign->pin[0]);
    if (other->kind == LG_SIGN_VOLTS && same && other->position == sign->position &&
        fabs(other->value) > 0.05)
      return TRUE;
  }
  return FALSE;
}

static gboolean touches_restraint(const Reading *r, const LgSign *sign)
{
  for (int k = 0; k < 2; k++)
    if (r->locator->shut[sign->pin[k]]) {
      ask_back(r, "restraint-read", LG_GRADE_DANGER, sign,
               g_strdup_printf("%s may belong to an airbag, a belt or an occupant sensor. The "
                               "reading is not used.",
                               r->locator->job->pins[sign->pin[k]].name),
               "makers' restraint-system precautions, seen",
               "Do not read there again. No meter, no lamp, no supply.");
      return TRUE;
    }
  return FALSE;
}

static void take(const Reading *r, LgSign sign, double read, double lead)
{
  if (sign.kind != LG_SIGN_RUNS && touches_restraint(r, &sign))
    return;
  if (sign.kind == LG_SIGN_VOLTS && !can_be_volts(r, &sign))
    return;
  if (sign.kind == LG_SIGN_OHMS) {
    if (!can_be_ohms(r, &sign, read, lead))
      return;
    if (is_read_live(r, &sign)) {
      ask_back(r, "reading-impossible", LG_GRADE_FAULT, &sign,
               g_strdup("There are ohms, but also volts between the same pins in the same state."),
               "ohms read on a live circuit mean nothing, and harm the meter",
               "Were they read with the battery's minus off? Then write when the volts were read "
               "in another state; else battery off and read the ohms again.");
      return;
    }
    sign.value = isinf(sign.value) ? INFINITY : fmax(sign.value, 0);
  }
  g_array_append_val(r->signs->signs, sign);
}

/* ---- The sheet's readings. ---- */

/* Of the built job: volts; ohms between parts. Ohms within one part were read on the part alone,
 * and `identify` is for them. */
static gboolean is_of_job(const LgJob *job, const LgReading *reading)
{
  return !isnan(reading->volts) ||
         ((reading->open || !isnan(reading->resistance)) &&
          job->pins[reading->pin[0]].part != job->pins[reading->pin[1]].part);
}

static void take_sheet(const Reading *r)
{
  const LgJob *const job = r->locator->job;
  for (int i = 0; i < job->n_readings; i++) {
    const LgReading *const reading = &job->readings[i];
    if (!is_of_job(job, reading))
      continue;
    LgSign sign = {.kind = LG_SIGN_VOLTS,
                   .name = reading->name,
                   .pin = {reading->pin[0], reading->pin[1]},
                   .load = -1,
                   .value = reading->volts,
                   .tolerance = reading->tolerance,
                   .position = lg_locator_when(r->locator, reading->when, reading->n_when),
                   .origin = reading->origin};
    if (!isnan(reading->volts))
      take(r, sign, NAN, 0);
    if (!isnan(reading->resistance) || reading->open) {
      sign.kind = LG_SIGN_OHMS;
      sign.value = reading->open ? INFINITY : reading->resistance - reading->lead;
      take(r, sign, reading->resistance, reading->lead);
    }
  }
}

/* ---- Words. ---- */

typedef struct {
  const Reading *reading;
  char **words;
  int at;
  LgSign sign;
  double read, lead;
  gboolean has_value;
  int n_pins;
  GArray *when; /* LgCondition */
} Words;

static gboolean fail(GError **error, char *message)
{
  g_set_error_literal(error, LOCATE_ERROR, 0, message);
  g_free(message);
  return FALSE;
}

static int load_named(const LgLocator *l, const char *name)
{
  const int element = lg_job_find_element(l->job, name);
  if (element >= 0)
    return l->load_of[element] >= 0 ? element : -1;
  const int part = lg_job_find_part(l->job, name);
  for (int e = 0; part >= 0 && e < l->job->n_elements; e++)
    if (l->job->elements[e].part == part && l->load_of[e] >= 0)
      return e;
  return -1;
}

static const char *nearest_name(const LgLocator *l, const char *word)
{
  g_autoptr(GPtrArray) names = g_ptr_array_new();
  for (int p = 0; p < l->job->n_pins; p++)
    g_ptr_array_add(names, (gpointer)l->job->pins[p].name);
  for (int i = 0; i < l->n_loads; i++)
    g_ptr_array_add(names, (gpointer)l->job->elements[l->loads[i]].name);
  for (int p = 0; p < l->job->n_parts; p++)
    g_ptr_array_add(names, (gpointer)l->job->parts[p].name);
  return lg_nearest_word(word, (const char *const *)names->pdata, names->len);
}

/* "G1.+", "E1.lamp", "E1". */
static gboolean take_name(Words *w, const char *word, GError **error)
{
  const LgLocator *const l = w->reading->locator;
  const int pin = lg_job_find_pin(l->job, word), load = load_named(l, word);
  if (w->n_pins == 2 || (w->sign.load >= 0 && w->n_pins == 0))
    return fail(error,
                g_strdup_printf("`%s`: a reading is between two pins, or of one load", word));
  if (pin >= 0)
    w->sign.pin[w->n_pins++] = pin;
  else if (load >= 0 && w->n_pins == 0)
    w->sign.load = load;
  else {
    const char *const near = nearest_name(l, word);
    return fail(error, g_strdup_printf("`%s` is no pin and no load%s%s%s", word,
                                       near != NULL ? "; did you mean `" : "",
                                       near != NULL ? near : "", near != NULL ? "`?" : ""));
  }
  return TRUE;
}

static gboolean read_quantity(const char *word, const char *text, LgDim dim, double *value,
                              GError **error)
{
  if (lg_quantity_read(text, strlen(text), dim, value) == LG_QUANTITY_OK)
    return TRUE;
  return fail(error, g_strdup_printf("`%s`: write a %s with its unit: %s", word, lg_dim_word(dim),
                                     lg_dim_units(dim)));
}

static gboolean take_value(Words *w, const char *word, const char *text, LgSignKind kind,
                           GError **error)
{
  if (w->has_value)
    return fail(error, g_strdup_printf("`%s`: one value a reading", word));
  w->has_value = TRUE;
  w->sign.kind = kind;
  if (kind == LG_SIGN_VOLTS)
    return read_quantity(word, text, LG_DIM_VOLTAGE, &w->sign.value, error);
  if (kind == LG_SIGN_OHMS) {
    w->sign.value = w->read = INFINITY;
    return strcmp(text, "open") == 0 ||
           read_quantity(word, text, LG_DIM_RESISTANCE, &w->read, error);
  }
  static const char *const said[LG_N_RUNS] = {"no", "weak", "yes"};
  for (int k = 0; k < LG_N_RUNS; k++)
    if (strcmp(text, said[k]) == 0) {
      w->sign.value = k;
      return TRUE;
    }
  return fail(error, g_strdup_printf("`%s`: write runs=yes, runs=weak or runs=no", word));
}

static gboolean take_setting(Words *w, const char *word, GError **error)
{
  static const struct {
    const char *key;
    LgSignKind kind;
  } values[] = {{"volts=", LG_SIGN_VOLTS},
                {"resistance=", LG_SIGN_OHMS},
                {"ohms=", LG_SIGN_OHMS},
                {"runs=", LG_SIGN_RUNS}};
  for (gsize i = 0; i < G_N_ELEMENTS(values); i++)
    if (g_str_has_prefix(word, values[i].key))
      return take_value(w, word, word + strlen(values[i].key), values[i].kind, error);
  if (strcmp(word, "open=yes") == 0)
    return take_value(w, word, "open", LG_SIGN_OHMS, error);
  if (g_str_has_prefix(word, "tolerance="))
    return read_quantity(word, word + 10, LG_DIM_RATIO, &w->sign.tolerance, error);
  if (g_str_has_prefix(word, "lead="))
    return read_quantity(word, word + 5, LG_DIM_RESISTANCE, &w->lead, error);
  return fail(error,
              g_strdup_printf("`%s` says nothing here: a reading has volts=, ohms= or runs=, "
                              "and may have tolerance=, lead=, and `when` with states",
                              word));
}

static gboolean take_state(Words *w, const char *word, GError **error)
{
  LgCondition condition;
  const LgJob *const job = w->reading->locator->job;
  if (!lg_job_read_condition(job, word, &condition, error))
    return FALSE;
  if ((condition.positions & (condition.positions - 1)) != 0)
    return fail(error, g_strdup_printf("`%s`: one state has one position of each input", word));
  if (w->reading->locator->stage->stand[condition.input] >= 0)
    return fail(error,
                g_strdup_printf("`%s`: say by its switch whether it runs; a load that starts "
                                "or is stuck cannot be read in peace",
                                word));
  g_array_append_val(w->when, condition);
  return TRUE;
}

static gboolean begins_next(const Words *w, gboolean in_when)
{
  return (w->has_value || in_when) && strchr(w->words[w->at], '=') == NULL;
}

static gboolean finish(Words *w, GError **error)
{
  const gboolean of_load = w->sign.kind == LG_SIGN_RUNS;
  const char *const name = w->sign.name;
  if (!w->has_value)
    return fail(error, g_strdup_printf("%s: what was seen? Write volts=, ohms= or runs=", name));
  if (of_load && w->sign.load < 0)
    return fail(error, g_strdup_printf("%s: runs= is said of a load", name));
  if (!of_load && w->n_pins < 2)
    return fail(error, g_strdup_printf(
                           "%s: volts and ohms are read between two pins, red lead first", name));
  if (!of_load && w->sign.pin[0] == w->sign.pin[1])
    return fail(error, g_strdup_printf("%s: both leads are on one pin", name));
  if (of_load)
    w->sign.pin[0] = w->sign.pin[1] = -1;
  if (w->sign.kind == LG_SIGN_OHMS)
    w->sign.value = isinf(w->read) ? INFINITY : w->read - w->lead;
  w->sign.position = lg_locator_when(
      w->reading->locator, (const LgCondition *)(gconstpointer)w->when->data, (int)w->when->len);
  take(w->reading, w->sign, w->read, w->lead);
  return TRUE;
}

static gboolean take_reading(Words *w, GError **error)
{
  gboolean in_when = FALSE;
  char *const name = g_strdup_printf("%u", w->reading->signs->names->len + 1);
  g_ptr_array_add(w->reading->signs->names, name);
  w->sign = (LgSign){.name = name, .pin = {-1, -1}, .load = -1, .value = NAN, .tolerance = METER};
  w->has_value = FALSE;
  w->n_pins = 0;
  w->read = NAN;
  w->lead = 0;
  g_array_set_size(w->when, 0);
  for (; w->words[w->at] != NULL && !begins_next(w, in_when); w->at++) {
    const char *const word = w->words[w->at];
    gboolean fine = TRUE;
    if (strcmp(word, "when") == 0)
      in_when = TRUE;
    else if (in_when)
      fine = take_state(w, word, error);
    else
      fine = strchr(word, '=') == NULL ? take_name(w, word, error) : take_setting(w, word, error);
    if (!fine)
      return FALSE;
    /* `when` follows a value and does not begin another reading */
    if (w->has_value && w->words[w->at + 1] != NULL && strcmp(w->words[w->at + 1], "when") == 0) {
      in_when = TRUE;
      w->at++;
    }
  }
  return finish(w, error);
}

static gboolean take_words(const Reading *r, const char *const words[], GError **error)
{
  g_autofree char *all = g_strjoinv(" ", (char **)(gpointer)words);
  g_autoptr(GPtrArray) list = g_ptr_array_new_with_free_func(g_free);
  g_auto(GStrv) split = g_strsplit_set(all, " \t\n", -1);
  for (int i = 0; split[i] != NULL; i++)
    if (split[i][0] != '\0')
      g_ptr_array_add(list, g_strdup(split[i]));
  g_ptr_array_add(list, NULL);
  g_autoptr(GArray) when = g_array_new(FALSE, FALSE, sizeof(LgCondition));
  Words w = {.reading = r, .words = (char **)list->pdata, .when = when};
  while (w.words[w.at] != NULL)
    if (!take_reading(&w, error))
      return FALSE;
  return TRUE;
}

LgSigns *lg_signs_new(LgLocator *locator, gboolean from_sheet, const char *const words[],
                      GError **error)
{
  LgSigns *const signs = g_new0(LgSigns, 1);
  signs->signs = g_array_new(FALSE, FALSE, sizeof(LgSign));
  signs->findings = lg_findings_new();
  signs->names = g_ptr_array_new_with_free_func(g_free);
  const Reading reading = {locator, signs};
  if (from_sheet)
    take_sheet(&reading);
  if (words != NULL && !take_words(&reading, words, error)) {
    lg_signs_free(signs);
    return NULL;
  }
  return signs;
}

void lg_signs_free(LgSigns *signs)
{
  if (signs == NULL)
    return;
  g_array_unref(signs->signs);
  g_ptr_array_unref(signs->findings);
  g_ptr_array_unref(signs->names);
  g_free(signs);
}
