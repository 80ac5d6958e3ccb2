/* Where is it: suspects, readings against them, what to measure next, and the guide to print. */
#include "base/words.h"
#include "packet/tables-private.h"
#include <math.h>

static char *state_words(const LgJob *job, const int position[])
{
  g_autofree guint8 *copy = g_new(guint8, (gsize)job->n_inputs + 1);
  for (int i = 0; i < job->n_inputs; i++)
    copy[i] = (guint8)position[i];
  return lg_state_words(job, copy);
}

static const char *runs_word(double share)
{
  return share < 0.1 ? T_("does not run") : share < 0.6 ? T_("runs weakly") : T_("runs");
}

static char *figure_words(const LgJob *job, LgSignKind kind, double value)
{
  if (kind == LG_SIGN_RUNS)
    return g_strdup(runs_word(value));
  if (kind == LG_SIGN_OHMS && isinf(value))
    return g_strdup(T_("open"));
  if (kind == LG_SIGN_VOLTS && fabs(value) < 5e-4)
    value = 0;
  return lg_words_quantity(job, value, kind == LG_SIGN_VOLTS ? LG_DIM_VOLTAGE : LG_DIM_RESISTANCE);
}

static char *sign_value(const LgJob *job, const LgSign *sign)
{
  static const char *const said[LG_N_RUNS] = {N_("does not run"), N_("runs weakly"), N_("runs")};
  return sign->kind == LG_SIGN_RUNS ? g_strdup(T_(said[(int)sign->value]))
                                    : figure_words(job, sign->kind, sign->value);
}

static char *where_words(const LgJob *job, const LgSign *sign)
{
  return sign->kind == LG_SIGN_RUNS ? g_strdup(lg_words_name(job, sign->load))
                                    : g_strdup_printf(T_("%s to %s"), job->pins[sign->pin[0]].name,
                                                      job->pins[sign->pin[1]].name);
}

/* ---- Suspects. ---- */

static const LgColumn suspect_columns[] = {
    LG_NUMBER_COLUMN("rank", "Rank", LG_DIM_NONE, 3),
    LG_TEXT_COLUMN("suspect", "Suspect"),
    LG_NUMBER_COLUMN("chance", "Likelihood", LG_DIM_RATIO, 3),
    LG_NUMBER_COLUMN("size_ohm", "Ohms too much", LG_DIM_RESISTANCE, 2),
    LG_TEXT_COLUMN("predicts", "Would show"),
    LG_NUMBER_COLUMN("same_as", "Nothing tells it from", LG_DIM_NONE, 3),
    LG_COLUMNS_END,
};

enum { MOST_SUSPECTS = 12 };

static char *predictions(const LgJob *job, const LgVerdict *verdict, const LgSign signs[], int n)
{
  GString *const words = g_string_new(NULL);
  for (int s = 0; s < n; s++) {
    g_autofree char *figure = figure_words(job, signs[s].kind, verdict->predicted[s]);
    g_string_append_printf(words, "%s%s: %s", s > 0 ? "; " : "", signs[s].name, figure);
  }
  return g_string_free(words, FALSE);
}

LgTable *lg_table_suspects(const LgLocator *locator, const LgLocation *location,
                           const LgSign signs[])
{
  LgTable *const table = lg_table_new("suspects", T_("Suspects"), suspect_columns);
  const GArray *const suspects = lg_locator_suspects(locator);
  for (guint i = 0; i < MIN(location->verdicts->len, MOST_SUSPECTS); i++) {
    const LgVerdict *const v = &g_array_index(location->verdicts, LgVerdict, i);
    const LgSuspectKind kind = g_array_index(suspects, LgSuspect, v->suspect).kind;
    const gboolean ohms = kind == LG_SUSPECT_WIRE_OHM || kind == LG_SUSPECT_JOINT_OHM;
    g_autofree char *words = lg_verdict_words(locator, v),
                    *shows = predictions(location->job, v, signs, location->n_signs);
    lg_table_add(table, (double)(i + 1), words, v->chance, ohms ? v->size : NAN, shows,
                 v->same_as >= 0 ? (double)(v->same_as + 1) : NAN);
  }
  table->note =
      g_strdup(T_("Likelihood by Bayes from how often each kind of fault occurs (common practice, "
                  "no source) and what it would show; ohms fitted. Figures at 20 C, batteries as "
                  "the sheet says, within 3 %. One fault at a time, unless pairs were asked for. "
                  "Suspects that nothing tells apart carry the rank of the first of them."));
  return table;
}

/* ---- Readings. ---- */

static const LgColumn seen_columns[] = {
    LG_TEXT_COLUMN("reading", "Reading"),
    LG_TEXT_COLUMN("where", "Where"),
    LG_TEXT_COLUMN("state", "State"),
    LG_TEXT_COLUMN("read", "Read"),
    LG_TEXT_COLUMN("healthy", "Healthy job"),
    LG_TEXT_COLUMN("suspect", "First suspect"),
    LG_NUMBER_COLUMN("times", "Off by so many times what it may be", LG_DIM_NONE, 2),
    LG_FLAG_COLUMN("contradicts", "Contradicts"),
    LG_COLUMNS_END,
};

LgTable *lg_table_seen(LgLocator *locator, const LgLocation *location, const LgSign signs[])
{
  LgTable *const table = lg_table_new("seen", T_("What was seen"), seen_columns);
  const LgJob *const job = location->job;
  const LgVerdict *const first =
      location->verdicts->len > 0 ? &g_array_index(location->verdicts, LgVerdict, 0) : NULL;
  for (int s = 0; s < location->n_signs; s++) {
    const LgSign *const sign = &signs[s];
    g_autofree char *where = where_words(job, sign), *state = state_words(job, sign->position),
                    *read = sign_value(job, sign),
                    *healthy = figure_words(job, sign->kind, lg_locator_predict(locator, 0, sign)),
                    *suspect = first == NULL ? g_strdup("")
                                             : figure_words(job, sign->kind, first->predicted[s]);
    lg_table_add(table, sign->name, where, state, read, healthy, suspect,
                 sign->kind == LG_SIGN_RUNS ? NAN : location->times[s], location->odd[s]);
  }
  table->note = g_strdup(T_("What a reading may be off: its tolerance, two digits, and 3 % for the "
                            "sheet. Ohms are compared as ratios. Nothing is averaged away."));
  return table;
}

/* ---- Next. ---- */

static const LgColumn next_columns[] = {
    LG_NUMBER_COLUMN("rank", "Rank", LG_DIM_NONE, 3),
    LG_TEXT_COLUMN("do", "What to do"),
    LG_TEXT_COLUMN("if", "If"),
    LG_TEXT_COLUMN("then", "Then it is likely"),
    LG_NUMBER_COLUMN("chance", "How likely", LG_DIM_RATIO, 2),
    LG_NUMBER_COLUMN("tells_bits", "Tells, bits", LG_DIM_NONE, 2),
    LG_NUMBER_COLUMN("effort_min", "Effort", LG_DIM_NONE, 2),
    LG_COLUMNS_END,
};

static char *found_words(const LgLocator *locator, const GArray *found)
{
  GString *const words = g_string_new(NULL);
  for (guint i = 0; found != NULL && i < found->len; i++) {
    g_autofree char *one = lg_suspect_words(locator, g_array_index(found, int, i));
    g_string_append_printf(words, "%s%s", i > 0 ? T_("; or ") : "", one);
  }
  return g_string_free(words, FALSE);
}

LgTable *lg_table_locate_next(const LgLocator *locator, const LgLocation *location)
{
  LgTable *const table = lg_table_new("next", T_("What to measure next"), next_columns);
  for (guint i = 0; i < location->steps->len; i++) {
    const LgGuideStep *const step = &g_array_index(location->steps, LgGuideStep, i);
    const LgProbing *const probing = &g_array_index(location->next, LgProbing, i);
    g_autofree char *what = lg_probing_words(locator, probing);
    gboolean told = FALSE;
    for (int k = LG_GUIDE_OUTCOMES - 1; k >= 0; k--) {
      if (step->outcome[k].share <= 0)
        continue;
      g_autofree char *outcome = lg_outcome_words(locator, step, k),
                      *found = found_words(locator, step->outcome[k].found);
      lg_table_add(table, told ? NAN : (double)(i + 1), told ? "" : what, outcome, found,
                   step->outcome[k].share, told ? NAN : probing->bits,
                   told ? NAN : probing->effort);
      told = TRUE;
    }
  }
  table->note =
      g_strdup(location->next->len == 0
                   ? T_("Nothing that can be measured from outside tells more.")
                   : T_("Best first: expected information for the effort, in minutes or so (common "
                        "practice, no source). Nothing is taken apart while something easier "
                        "tells. Cavities that may belong to a restraint are never proposed."));
  return table;
}

/* ---- The guide. ---- */

static const LgColumn guide_columns[] = {
    LG_TEXT_COLUMN("symptom", "Symptom"),
    LG_TEXT_COLUMN("step", "Step"),
    LG_TEXT_COLUMN("do", "What to do"),
    LG_TEXT_COLUMN("if", "If"),
    LG_TEXT_COLUMN("then", "Then"),
    LG_NUMBER_COLUMN("chance", "How often", LG_DIM_RATIO, 2),
    LG_COLUMNS_END,
};

static char *symptom_words(const LgJob *job, const LgGuide *guide)
{
  g_autofree char *state = state_words(job, guide->symptom.position);
  return g_strdup_printf(T_("%s does not run, with %s"), lg_words_name(job, guide->symptom.load),
                         state);
}

static void add_steps(LgTable *table, const LgLocator *locator, const LgGuide *guide,
                      const char *symptom)
{
  for (guint i = 0; i < guide->steps->len; i++) {
    const LgGuideStep *const step = &g_array_index(guide->steps, LgGuideStep, i);
    g_autofree char *what = lg_probing_words(locator, &step->probing);
    gboolean told = FALSE;
    for (int k = LG_GUIDE_OUTCOMES - 1; k >= 0; k--) {
      if (step->outcome[k].share <= 0)
        continue;
      g_autofree char *outcome = lg_outcome_words(locator, step, k),
                      *then = step->outcome[k].step >= 0
                                  ? g_strdup_printf(T_("go to step %d"), step->outcome[k].step + 1)
                                  : found_words(locator, step->outcome[k].found);
      g_autofree char *number = told ? g_strdup("") : g_strdup_printf("%d", (int)i + 1);
      lg_table_add(table, i == 0 && !told ? symptom : "", number, told ? "" : what, outcome, then,
                   step->outcome[k].share);
      told = TRUE;
    }
  }
}

static const char guide_note[] =
    N_("Made from every single fault of the list and how often its kind occurs (common practice, "
       "no source). Volts as they stand, without their sign. Ohms only with the battery's minus "
       "off. Never a meter on plugs that may belong to an airbag, a belt or an occupant sensor. An "
       "aid to a competent person.");

GPtrArray *lg_tables_guide(LgLocator *locator, const LgJob *job)
{
  GPtrArray *const tables = g_ptr_array_new_with_free_func((GDestroyNotify)lg_table_free);
  g_autoptr(GPtrArray) guides = lg_guides_new(locator);
  for (guint i = 0; i < guides->len; i++) {
    const LgGuide *const guide = guides->pdata[i];
    if (guide->steps->len == 0)
      continue;
    g_autofree char *symptom = symptom_words(job, guide),
                    *key = g_strdup_printf("guide-%s", lg_words_name(job, guide->symptom.load)),
                    *title = g_strdup_printf(T_("Troubleshooting guide: %s"), symptom);
    LgTable *const table = lg_table_new(g_intern_string(key), title, guide_columns);
    add_steps(table, locator, guide, symptom);
    table->note = g_strdup(T_(guide_note));
    g_ptr_array_add(tables, table);
  }
  return tables;
}

static const LgColumn symptom_columns[] = {
    LG_TEXT_COLUMN("symptom", "If this does not run"),
    LG_TEXT_COLUMN("state", "With"),
    LG_TEXT_COLUMN("do", "Then first"),
    LG_TEXT_COLUMN("likeliest", "Likeliest beforehand"),
    LG_COLUMNS_END,
};

LgTable *lg_table_symptoms(LgLocator *locator, const LgJob *job)
{
  LgTable *const table =
      lg_table_new("symptoms", T_("Symptoms, and what to measure first"), symptom_columns);
  for (int e = 0; e < job->n_elements; e++) {
    const int *const position =
        lg_element_is_load(job->elements[e].kind) ? lg_locator_state(locator, e) : NULL;
    if (position == NULL)
      continue;
    const LgSign sign = {.kind = LG_SIGN_RUNS,
                         .name = "symptom",
                         .pin = {-1, -1},
                         .load = e,
                         .value = LG_RUNS_NOT,
                         .position = position};
    g_autoptr(LgLocation) location = lg_locator_judge(locator, &sign, 1, 0);
    g_autofree char *state = state_words(job, position);
    g_autofree char *first =
        location->next->len > 0
            ? lg_probing_words(locator, &g_array_index(location->next, LgProbing, 0))
            : g_strdup("");
    g_autofree char *likeliest =
        location->verdicts->len > 0
            ? lg_suspect_words(locator, g_array_index(location->verdicts, LgVerdict, 0).suspect)
            : g_strdup("");
    lg_table_add(table, lg_words_name(job, e), state, first, likeliest);
  }
  table->note = g_strdup(T_("Say what you saw, such as `E1 runs=no when KEY=on`, and what you "
                            "read, such as `F1.2 G1.- volts=12.3V when KEY=on`."));
  return table;
}
