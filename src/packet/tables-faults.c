/* Faults: what each does, in words. */
#include "base/words.h"
#include "packet/tables-private.h"
#include <math.h>
#include <string.h>

static const LgColumn fault_columns[] = {LG_TEXT_COLUMN("severity", "Grade"),
                                         LG_TEXT_COLUMN("cause", "Cause"),
                                         LG_TEXT_COLUMN("state", "Worst in"),
                                         LG_TEXT_COLUMN("effect", "What comes of it"),
                                         LG_TEXT_COLUMN("driver", "Driver"),
                                         LG_TEXT_COLUMN("remedy", "Helps, re-solved"),
                                         LG_COLUMNS_END};

static const LgColumn single_columns[] = {
    LG_TEXT_COLUMN("severity", "Grade"),
    LG_TEXT_COLUMN("fault", "Fault"),
    LG_TEXT_COLUMN("state", "Worst in"),
    LG_TEXT_COLUMN("effect", "What comes of it"),
    LG_NUMBER_COLUMN("short_A", "Short", LG_DIM_CURRENT, 3),
    LG_TEXT_COLUMN("cleared_by", "Cleared by"),
    LG_NUMBER_COLUMN("cleared_s", "Within", LG_DIM_TIME, 2),
    LG_TEXT_COLUMN("hottest", "Hottest wire"),
    LG_NUMBER_COLUMN("reached_degC", "Reaches", LG_DIM_TEMPERATURE, 3),
    LG_NUMBER_COLUMN("bears_degC", "Bears", LG_DIM_TEMPERATURE, 3),
    LG_NUMBER_COLUMN("creeping_A", "Never opens below", LG_DIM_CURRENT, 2),
    LG_NUMBER_COLUMN("creeping_W", "Heat at the spot then", LG_DIM_POWER, 2),
    LG_NUMBER_COLUMN("drain_A", "Drain at rest", LG_DIM_CURRENT, 2),
    LG_NUMBER_COLUMN("half_charge_s", "Down to half after", LG_DIM_TIME, 2),
    LG_TEXT_COLUMN("driver", "Driver"),
    LG_TEXT_COLUMN("way", "Way of what runs"),
    LG_COLUMNS_END};

static const LgColumn double_columns[] = {
    LG_TEXT_COLUMN("severity", "Grade"), LG_TEXT_COLUMN("cause", "Both at once"),
    LG_TEXT_COLUMN("state", "Worst in"), LG_TEXT_COLUMN("effect", "What comes of it"),
    LG_TEXT_COLUMN("driver", "Driver"),  LG_COLUMNS_END};

#define COPPER_MELTS_K 1357.0 /* handbooks */

/* --- sentences --- */

typedef struct {
  const LgSizing *sizing;
  const LgJob *job;
  const LgEffect *e;
  GString *text;
} Telling;

static void G_GNUC_PRINTF(2, 3) tell(Telling *t, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  if (t->text->len > 0)
    g_string_append_c(t->text, ' ');
  g_string_append_vprintf(t->text, format, arguments);
  va_end(arguments);
}

static const char *name_of(const Telling *t, int element)
{
  return lg_words_name(t->job, element);
}

/* "M1, M2 and M3" */
static char *names(const Telling *t, const GArray *hits, gboolean with_share)
{
  GString *const list = g_string_new(NULL);
  for (guint i = 0; i < hits->len; i++) {
    const LgHit *const hit = &g_array_index(hits, LgHit, i);
    g_string_append_printf(list, "%s%s",
                           i == 0               ? ""
                           : i + 1 == hits->len ? " and "
                                                : ", ",
                           name_of(t, hit->element));
    if (with_share)
      g_string_append_printf(list, T_(" at %.2g %%"), 100 * hit->value);
  }
  return g_string_free(list, FALSE);
}

static char *rated_guard(const Telling *t, int element)
{
  g_autofree char *rating = lg_words_rating(t->sizing->fuses[element].rating_A);
  return g_strdup_printf("%s %s", name_of(t, element), rating);
}

static void tell_clearing(Telling *t)
{
  const LgEffect *const e = t->e;
  if (e->cleared_by < 0)
    return;
  g_autofree char *guard = rated_guard(t, e->cleared_by);
  if (isinf(e->cleared_s)) {
    tell(t, T_("%s is overloaded but may never open."), guard);
    return;
  }
  g_autofree char *within = lg_words_quantity(t->job, e->cleared_s, LG_DIM_TIME);
  g_autofree char *short_A = lg_words_quantity(t->job, e->short_A, LG_DIM_CURRENT);
  if (!isnan(e->short_A))
    tell(t, T_("%s flow; %s opens within %s."), short_A, guard, within);
  else
    tell(t, T_("%s opens within %s."), guard, within);
  if (e->also_opens >= 0)
    tell(t, T_("Then %s opens, too."), name_of(t, e->also_opens));
}

static void tell_heat(Telling *t)
{
  const LgEffect *const e = t->e;
  if (e->hottest < 0 || (e->why & (LG_WHY_BURNS | LG_WHY_UNGUARDED)) == 0)
    return;
  const gboolean melts = e->hottest_K > COPPER_MELTS_K;
  g_autofree char *reached = lg_words_quantity(t->job, e->hottest_K, LG_DIM_TEMPERATURE);
  g_autofree char *limit = lg_words_quantity(t->job, e->hottest_limit_K, LG_DIM_TEMPERATURE);
  g_autofree char *gets =
      melts ? g_strdup(T_("melts")) : g_strconcat(T_("gets to "), reached, NULL);
  const char *const wire = t->job->wires[e->hottest].name;
  const char *const when = (e->why & LG_WHY_UNGUARDED) != 0 ? T_("At a current that the fuse bears")
                           : !e->lasting                    ? T_("Until then")
                           : e->cleared_by >= 0             ? T_("While it does not open")
                                                            : T_("Nothing opens:");
  tell(t, T_("%s %s %s; it bears %s."), when, wire, gets, limit);
}

static void tell_runs(Telling *t)
{
  const LgEffect *const e = t->e;
  if (e->runs != NULL) {
    g_autofree char *list = names(t, e->runs, FALSE);
    tell(t, e->runs->len == 1 ? T_("%s runs that should not.") : T_("%s run that should not."),
         list);
  }
  if (e->stops != NULL) {
    g_autofree char *list = names(t, e->stops, FALSE);
    tell(t,
         e->cleared_by >= 0 && !isinf(e->cleared_s)
             ? e->stops->len == 1 ? T_("%s stops until the fuse is replaced.")
                                  : T_("%s stop until the fuse is replaced.")
         : e->stops->len == 1 ? T_("%s stops.")
                              : T_("%s stop."),
         list);
  }
  if (e->weak != NULL) {
    g_autofree char *list = names(t, e->weak, TRUE);
    tell(t, T_("%s of its power."), list);
  }
  if (e->overheats >= 0 && !isnan(e->overheats_share))
    tell(t, T_("%s gets %.0f %% of its power."), name_of(t, e->overheats),
         100 * e->overheats_share);
}

static void tell_sensor(Telling *t)
{
  const LgEffect *const e = t->e;
  if (e->reader < 0)
    return;
  if (isinf(e->error_K)) {
    tell(t, T_("%s takes it for %s for ever."), name_of(t, e->reader),
         e->error_K < 0 ? T_("cold") : T_("hot"));
    if (e->overheats >= 0 && isnan(e->overheats_share))
      tell(t, T_("%s heats without end, and no other cut-out ends it."), name_of(t, e->overheats));
    return;
  }
  g_autofree char *error = lg_words_quantity(t->job, fabs(e->error_K), LG_DIM_WARMTH);
  tell(t, T_("%s reads %s too %s."), name_of(t, e->reader), error,
       e->error_K < 0 ? T_("cold") : T_("warm"));
}

static void tell_relays(Telling *t)
{
  const LgEffect *const e = t->e;
  if (e->chatters >= 0)
    tell(t, T_("The relay of %s chatters."), name_of(t, e->chatters));
  if (e->held >= 0) {
    g_autofree char *volts = lg_words_quantity(t->job, e->held_V, LG_DIM_VOLTAGE);
    tell(t, T_("%s is held in by %s, less than pulls it in: once in, it does not let go."),
         name_of(t, e->held), volts);
  }
  if (e->reversed >= 0)
    tell(t, T_("%s gets plus and minus the wrong way round."), name_of(t, e->reversed));
}

static void tell_rest(Telling *t)
{
  const LgEffect *const e = t->e;
  if ((e->why & LG_WHY_FLAT) == 0)
    return;
  g_autofree char *drain = lg_words_quantity(t->job, e->drain_A, LG_DIM_CURRENT);
  g_autofree char *after = lg_words_quantity(t->job, 3600 * e->flat_h, LG_DIM_TIME);
  tell(t, T_("Standing, it draws %s: the battery is down to half after %s%s."), drain, after,
       e->flat_h <= 12 ? T_(", before morning") : "");
}

static void tell_needs(Telling *t)
{
  if (t->text->len > 0)
    return;
  for (guint i = 0; t->e->needs != NULL && i < t->e->needs->len; i++) {
    const int need = g_array_index(t->e->needs, LgHit, i).element;
    tell(t, "%s\"%s\"%s", i == 0 ? T_("No longer holds: ") : "",
         t->job->needs[need].text != NULL ? t->job->needs[need].text : T_("a need"),
         i + 1 < t->e->needs->len ? "," : ".");
  }
}

static void tell_kind(Telling *t)
{
  if (t->e->fault.restraint)
    tell(t, T_("The plug may belong to an airbag or belt pretensioner, and volts on it can fire "
               "it. Never probe, bridge or power it; keep these cavities empty on your side."));
  if ((t->e->why & LG_WHY_LOAD_DUMP) != 0)
    tell(t,
         T_("A load dump: without the battery the charger's volts rise, up to %s (ISO 16750-2, "
            "memory), and electronics die."),
         t->job->nominal_V > 18 ? T_("202 V in a 24 V net") : T_("101 V in a 12 V net"));
  if (t->e->fault.kind == LG_FAIL_REVERSED)
    tell(t, T_("The rectifier of an alternator shorts a battery that is the wrong way round, and "
               "electronics die."));
}

char *lg_effect_words(const LgSizing *sizing, const LgEffect *effect)
{
  Telling t = {sizing, sizing->circuit->job, effect, g_string_new(NULL)};
  const guint fire = LG_WHY_BURNS | LG_WHY_UNCLEARED;
  tell_kind(&t);
  if (effect->cleared_by < 0 || isinf(effect->cleared_s))
    tell_heat(&t);
  if ((effect->why & fire) == fire && effect->fault.kind != LG_FAIL_FUSE_LARGER)
    return g_string_free(t.text, FALSE);
  tell_clearing(&t);
  if (effect->cleared_by >= 0 && !isinf(effect->cleared_s))
    tell_heat(&t);
  tell_sensor(&t);
  tell_runs(&t);
  tell_relays(&t);
  tell_rest(&t);
  tell_needs(&t);
  if (t.text->len == 0)
    g_string_append(t.text, T_("Nothing changes."));
  return g_string_free(t.text, FALSE);
}

static char *driver_words(const LgCampaign *faults, const LgEffect *e)
{
  if (e->fault.restraint)
    return g_strdup("-");
  if (e->noticed >= 0)
    return g_strdup_printf(T_("notices %s"), lg_words_name(faults->job, e->noticed));
  return g_strdup(T_("silent"));
}

static char *state_words(const LgCampaign *faults, const LgEffect *e)
{
  return e->state >= 0 ? lg_state_words(faults->job, lg_campaign_position(faults, e->state))
                       : g_strdup("");
}

/* --- causes --- */

/* Whether the same wire touches the body at its other end with the same effect. */
static gboolean both_ends(const LgCampaign *faults, const LgCause *cause, const LgFailure *fault)
{
  int n = 0;
  for (int i = 0; i < cause->n; i++) {
    const LgFailure *const other = &faults->effects[cause->faults[i]].fault;
    n += other->kind == LG_FAIL_TO_BODY && other->wire == fault->wire;
  }
  return n > 1;
}

static char *subject_words(const LgCampaign *faults, const LgCause *cause, const LgFailure *fault)
{
  g_autofree char *subject = lg_failure_subject(faults->job, fault);
  if (fault->kind == LG_FAIL_TO_BODY && !both_ends(faults, cause, fault))
    return g_strdup_printf(T_("%s at %s"), subject, faults->job->pins[fault->pin[0]].name);
  return g_steal_pointer(&subject);
}

/* "W1, W2 to live V4; W3 to live W7" */
static char *cause_words(const LgCampaign *faults, const LgCause *cause)
{
  g_autoptr(GPtrArray) manners = g_ptr_array_new_with_free_func(g_free);
  g_autoptr(GHashTable) told = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  for (int i = 0; i < cause->n; i++) {
    char *const manner = lg_failure_manner(faults->job, &faults->effects[cause->faults[i]].fault);
    if (g_ptr_array_find_with_equal_func(manners, manner, g_str_equal, NULL))
      g_free(manner);
    else
      g_ptr_array_add(manners, manner);
  }
  GString *const words = g_string_new(NULL);
  for (guint m = 0; m < manners->len; m++) {
    gboolean first = TRUE, told_rating = FALSE;
    for (int i = 0; i < cause->n; i++) {
      const LgFailure *const fault = &faults->effects[cause->faults[i]].fault;
      g_autofree char *manner = lg_failure_manner(faults->job, fault);
      g_autofree char *subject = subject_words(faults, cause, fault);
      if (strcmp(manner, manners->pdata[m]) != 0 ||
          !g_hash_table_add(told, g_strconcat(subject, " ", manner, NULL)))
        continue;
      if (fault->kind == LG_FAIL_FUSE_LARGER && m > 0 && cause->n == (int)manners->len) {
        g_string_append_printf(words, T_(" or %g A"), fault->rating_A);
        told_rating = TRUE;
        continue;
      }
      const char *const between = fault->kind == LG_FAIL_BRIDGED ? "; " : ", ";
      g_string_append(words, words->len == 0 ? "" : first ? "; " : between);
      g_string_append(words, subject);
      first = FALSE;
    }
    if (!told_rating)
      g_string_append_printf(words, " %s", (const char *)manners->pdata[m]);
  }
  return g_string_free(words, FALSE);
}

/* The greatest heat that a slowly growing short may make without any fuse opening. */
static char *creeping_words(const LgCampaign *faults)
{
  const LgEffect *worst = NULL;
  for (int i = 0; i < faults->n_effects; i++) {
    const LgEffect *const e = &faults->effects[i];
    if (!isnan(e->creeping_W) && (worst == NULL || e->creeping_W > worst->creeping_W))
      worst = e;
  }
  if (worst == NULL)
    return g_strdup("");
  g_autofree char *fault = lg_failure_words(faults->job, &worst->fault);
  g_autofree char *watts =
      lg_quantity_print(worst->creeping_W, LG_DIM_POWER, faults->job->habit, 2);
  g_autofree char *amps =
      lg_quantity_print(worst->creeping_A, LG_DIM_CURRENT, faults->job->habit, 2);
  return g_strdup_printf(T_(" No fuse sees a short that creeps: with %s as a chafe, up to %s flow "
                            "for ever, and %s heat the spot."),
                         fault, amps, watts);
}

static char *note_of(const LgCampaign *faults, int n_harmless)
{
  g_autofree char *creeping = creeping_words(faults);
  return g_strdup_printf(
      T_("Faults with the same effect stand in one row, the gravest figures of them. %d of %d "
         "single faults change nothing that matters and are left out. Danger: can burn or hurt; "
         "fault: something no longer does what is needed; caution: nothing at once. Not listed is "
         "not proved safe: only these faults were looked at, one at a time.%s"),
      n_harmless, faults->n_effects, creeping);
}

LgTable *lg_table_faults(const LgCampaign *faults)
{
  LgTable *const table = lg_table_new("faults", T_("Faults, gravest first"), fault_columns);
  int n_harmless = 0;
  for (int c = 0; c < faults->n_causes; c++) {
    const LgCause *const cause = &faults->causes[c];
    const LgEffect *const e = &faults->effects[cause->faults[0]];
    if (e->severity == LG_SEVERITY_HARMLESS) {
      n_harmless += cause->n;
      continue;
    }
    g_autofree char *words = cause_words(faults, cause), *state = state_words(faults, e),
                    *effect = lg_effect_words(faults->sizing, e), *driver = driver_words(faults, e);
    lg_table_add(table, lg_severity_word(e->severity), words, state, effect, driver, cause->remedy);
  }
  table->note = note_of(faults, n_harmless);
  return table;
}

LgTable *lg_table_every_fault(const LgCampaign *faults)
{
  LgTable *const table = lg_table_new(
      "every-fault", T_("Every single fault, in the order of the sheet"), single_columns);
  const LgJob *const job = faults->job;
  for (int i = 0; i < faults->n_effects; i++) {
    const LgEffect *const e = &faults->effects[i];
    g_autofree char *fault = lg_failure_words(job, &e->fault), *state = state_words(faults, e),
                    *effect = lg_effect_words(faults->sizing, e), *driver = driver_words(faults, e);
    lg_table_add(table, lg_severity_word(e->severity), fault, state, effect, e->short_A,
                 e->cleared_by >= 0 ? lg_words_name(job, e->cleared_by) : "", e->cleared_s,
                 e->hottest >= 0 ? job->wires[e->hottest].name : "", e->hottest_K,
                 e->hottest_limit_K, e->creeping_A, e->creeping_W, e->drain_A, 3600 * e->flat_h,
                 driver, e->sneak);
  }
  return table;
}

LgTable *lg_table_double_faults(const LgCampaign *faults)
{
  LgTable *const table =
      lg_table_new("double-faults", T_("Two faults at once, graver than either"), double_columns);
  for (guint i = 0; faults->doubles != NULL && i < faults->doubles->len; i++) {
    const LgDouble *const two = &g_array_index(faults->doubles, LgDouble, i);
    g_autofree char *first = lg_failure_words(faults->job, &faults->effects[two->first].fault);
    g_autofree char *second = lg_failure_words(faults->job, &faults->effects[two->second].fault);
    g_autofree char *both = g_strdup_printf(T_("%s, and %s"), first, second);
    g_autofree char *state = state_words(faults, &two->effect),
                    *effect = lg_effect_words(faults->sizing, &two->effect),
                    *driver = driver_words(faults, &two->effect);
    lg_table_add(table, lg_severity_word(two->effect.severity), both, state, effect, driver);
  }
  table->note = g_strdup_printf(T_("%d pairs were looked at: those among the worst faults that are "
                                   "not a danger by themselves, silent ones first."),
                                faults->n_doubles);
  return table;
}
