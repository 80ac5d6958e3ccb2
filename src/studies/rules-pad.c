/* Surfaces that a heater warms, and the contacts that switch it. */
#include "base/words.h"
#include "studies/checks-private.h"

/* Ten minutes: what somebody who feels it may need to find the switch and rise. Common practice, no
 * source. */
#define CONTACT_S 600.0
/* Sitting for hours: skin burns at 44 C in six (study of 1947, seen). */
#define LONG_K (LG_ZERO_C_IN_K + 44)
/* Makers promise a warm seat in some minutes: common practice, no source. */
#define WARM_WITHIN_S 600.0
#define WINTERS 10
#define MORNINGS 120
#define MORNING_S 1200.0

/* --- what the rules of heat and charge share --- */

static double *sensor_errors(LgCheckContext *c)
{
  double *const off_by_K = g_new0(double, (gsize)c->job->n_elements + 1);
  for (int e = 0; e < c->job->n_elements; e++) {
    const int sensor = c->job->elements[e].senses;
    if (sensor >= 0 && c->survey->sensors[sensor].state >= 0)
      off_by_K[e] = c->survey->sensors[sensor].error_K;
  }
  return off_by_K;
}

LgHeatStudy *lg_check_heat(LgCheckContext *c)
{
  if (c->heat != NULL)
    return c->heat;
  g_autofree double *off_by_K = sensor_errors(c);
  LgHeatStudy *const heat = g_new0(LgHeatStudy, 1);
  c->heat = heat;
  heat->bodies = lg_bodies_new(c->job);
  /* The sizing made a circuit of the same job already. */
  heat->supply = lg_supply_new(c->job, c->sizing->chosen, NULL);
  g_assert(heat->supply != NULL);
  heat->pads = lg_pads_new(heat->bodies, heat->supply, c->states, off_by_K);
  heat->uses = g_new0(LgUseResult *, (gsize)c->job->n_uses + 1);
  for (int u = 0; u < c->job->n_uses; u++)
    heat->uses[u] = lg_use_run(heat->bodies, heat->supply, &c->job->uses[u], NULL);
  heat->n_uses = c->job->n_uses;
  return heat;
}

void lg_heat_study_free(LgHeatStudy *heat)
{
  if (heat == NULL)
    return;
  for (int u = 0; u < heat->n_uses; u++)
    lg_use_result_free(heat->uses[u]);
  g_free(heat->uses);
  g_ptr_array_unref(heat->pads);
  lg_supply_free(heat->supply);
  lg_bodies_free(heat->bodies);
  g_free(heat);
}

/* --- words --- */

static const LgHeatBody *surface_of(const LgHeatStudy *heat, const LgPad *pad)
{
  return &heat->bodies->bodies[pad->surface];
}

static gboolean is_assumed(const LgHeatStudy *heat, const LgPad *pad)
{
  return surface_of(heat, pad)->body < 0;
}

static LgOrigin origin_of(const LgCheckContext *c, const LgPad *pad)
{
  const LgHeatBody *const body = surface_of(c->heat, pad);
  return body->body >= 0 ? c->job->bodies[body->body].origin : c->job->elements[pad->heater].origin;
}

static const char *say_seconds(LgCheckContext *c, double seconds)
{
  return lg_say_hours(c, seconds / 3600);
}

static const char *say_hands(LgCheckContext *c, const int position[])
{
  g_autofree guint8 *kept = g_new0(guint8, (gsize)c->job->n_inputs + 1);
  for (int i = 0; i < c->job->n_inputs; i++)
    kept[i] = c->job->inputs[i].kind == LG_INPUT_HAND ? (guint8)position[i] : 0;
  g_autofree char *words = lg_state_words(c->job, kept);
  return lg_say(c, "%s", words);
}

/* What was taken for granted about the bodies that hang together with the surface. */
static const char *assumed(LgCheckContext *c, const LgPad *pad)
{
  const LgBodies *const b = c->heat->bodies;
  g_autofree gboolean *in = g_new(gboolean, (gsize)b->n + 1);
  lg_bodies_joined(b, pad->surface, in);
  const char *text = "";
  for (guint i = 0; i < b->notes->len; i++) {
    const LgHeatNote *const note = b->notes->pdata[i];
    if (note->body >= 0 && in[note->body])
      text =
          lg_say(c, T_("%s; taken for %s: %s"), text,
                 note->element >= 0 ? lg_say_element(c, note->element) : b->bodies[note->body].name,
                 note->taken);
  }
  return text;
}

static const char *burns(LgCheckContext *c, const LgPad *pad, double surface_K)
{
  const double seconds = lg_burn_time_s((int)surface_of(c->heat, pad)->material, surface_K);
  return isinf(seconds)
             ? T_("no burn threshold is passed")
             : lg_say(c, T_("bare skin begins to burn after %s there (ISO 13732-1, memory)"),
                      say_seconds(c, seconds));
}

static const char *basis_of(LgCheckContext *c, const LgPad *pad, double surface_K)
{
  const LgPadLevel *const level = &pad->levels[pad->strongest];
  return lg_say(c,
                T_("%s into it and what it hangs together with (%s, engine running), hottest and "
                   "coldest day %s and %s; with the heater on without end %s; %s%s"),
                lg_say_watts(c, level->watts), say_hands(c, level->position),
                lg_say_degrees(c, c->job->hot_K), lg_say_degrees(c, c->job->cold_K),
                lg_say_degrees(c, level->steady_K), burns(c, pad, surface_K), assumed(c, pad));
}

static double limit_K(const LgHeatStudy *heat, const LgPad *pad)
{
  return lg_burn_threshold_K((int)surface_of(heat, pad)->material, CONTACT_S);
}

/* The level on which the surface gets hottest in health. */
static const LgPadLevel *hottest(const LgPad *pad)
{
  const LgPadLevel *found = &pad->levels[0];
  for (int i = 1; i < pad->n_levels; i++)
    if (pad->levels[i].peak_K > found->peak_K)
      found = &pad->levels[i];
  return found;
}

static const LgPadFault *worst_fault(const LgPad *pad)
{
  const LgPadFault *found = NULL;
  for (int i = 0; i < pad->n_faults; i++)
    if (found == NULL || pad->faults[i].peak_K > found->peak_K)
      found = &pad->faults[i];
  return found;
}

static const char *say_fault(LgCheckContext *c, const LgPadFault *fault)
{
  const LgElement *const t = &c->job->elements[fault->element];
  const char *const name = lg_say_element(c, fault->element);
  if (fault->fault == LG_CALL_OFF_BY)
    return lg_say(c, T_("while %s reads wrong over a shared return"), name);
  if (fault->fault == LG_CALL_LOOSE)
    return lg_say(c, T_("when the sensor of %s comes off and feels the air"), name);
  return t->senses >= 0
             ? lg_say(c, T_("when the sensor of %s is open, which it reads as cold"), name)
             : lg_say(c, T_("when the contact of %s welds"), name);
}

/* --- too hot --- */

static void found_hot(LgCheckContext *c, const LgPad *pad, double peak_K, const char *when,
                      const char *remedy)
{
  const LgHeatStudy *const heat = c->heat;
  lg_found(c, origin_of(c, pad), lg_say(c, T_("surface %s"), surface_of(heat, pad)->name),
           lg_say(c, T_("Gets %s %s; after ten minutes %s burns."), lg_say_degrees(c, peak_K), when,
                  lg_say_degrees(c, limit_K(heat, pad))),
           basis_of(c, pad, peak_K), remedy);
}

/* The worst fault of a pad that is sound in health, when it burns; else NULL. */
static const LgPadFault *burning_fault(const LgHeatStudy *heat, const LgPad *pad)
{
  if (pad->n_levels == 0 || is_assumed(heat, pad) || hottest(pad)->peak_K > limit_K(heat, pad))
    return NULL;
  const LgPadFault *const fault = worst_fault(pad);
  return fault != NULL && fault->peak_K > limit_K(heat, pad) ? fault : NULL;
}

/* "; back-cover 50.2 C": the surfaces after `pad` that the same call burns. FALSE when one before
 * it tells of it already. */
static gboolean others_of(LgCheckContext *c, guint pad, const LgPadFault *fault,
                          const char **others)
{
  const LgHeatStudy *const heat = c->heat;
  *others = "";
  for (guint i = 0; i < heat->pads->len; i++) {
    const LgPad *const other = heat->pads->pdata[i];
    const LgPadFault *const same = burning_fault(heat, other);
    if (i == pad || same == NULL || same->call != fault->call)
      continue;
    if (i < pad)
      return FALSE;
    *others = lg_say(c, "%s, %s %s", *others, surface_of(heat, other)->name,
                     lg_say_degrees(c, same->peak_K));
  }
  return TRUE;
}

static void check_hot(LgCheckContext *c)
{
  const LgHeatStudy *const heat = lg_check_heat(c);
  for (guint i = 0; i < heat->pads->len; i++) {
    const LgPad *const pad = heat->pads->pdata[i];
    if (pad->n_levels == 0 || is_assumed(heat, pad))
      continue;
    const LgPadLevel *const level = hottest(pad);
    const LgPadFault *const fault = burning_fault(heat, pad);
    const char *others;
    if (level->peak_K > limit_K(heat, pad))
      found_hot(c, pad, level->peak_K,
                lg_say(c, T_("with %s, nothing broken"), say_hands(c, level->position)),
                T_("Lower the set-point, put the sensor nearer to the surface, or give the pad "
                   "less power (two in series); and fit a cut-out of its own."));
    else if (fault != NULL && others_of(c, i, fault, &others))
      found_hot(c, pad, fault->peak_K, lg_say(c, "%s%s", say_fault(c, fault), others),
                T_("Fit a second thermostat in the pad, in its own feed or return, that opens a "
                   "little above the first and knows nothing of it; or less power."));
  }
}

const LgRule lg_rule_surface_hot = {
    .name = "surface-hot",
    .grade = LG_GRADE_DANGER,
    .title = N_("a warmed surface burns, in health or when one sensor fails"),
    .what =
        "Solves the heat of each pad at each level, on the hottest and the coldest day, with its "
        "thermostats working, and with each of them broken alone: sensor open or off the surface, "
        "contact welded, return shared. The surface's peak is compared with what burns bare skin.",
    .formula =
        "C dT/dt = P - sum of U (T - T neighbour), exact between two switchings; peak <= burn "
        "threshold after 10 min",
    .source =
        "ISO 13732-1 burn thresholds, 48 C for ten minutes on any material (memory); heat paths "
        "as the sheet gives them; one failure at a time and ten minutes: common practice, no "
        "source",
    .remedy = "An independent cut-out in the pad, less power, a lower set-point.",
    .run = check_hot};

static void check_long(LgCheckContext *c)
{
  const LgHeatStudy *const heat = lg_check_heat(c);
  for (guint i = 0; i < heat->pads->len; i++) {
    const LgPad *const pad = heat->pads->pdata[i];
    if (pad->n_levels == 0 || is_assumed(heat, pad))
      continue;
    const LgPadLevel *const level = hottest(pad);
    if (level->peak_K <= LONG_K || level->peak_K > limit_K(heat, pad))
      continue;
    lg_found(c, origin_of(c, pad), lg_say(c, T_("surface %s"), surface_of(heat, pad)->name),
             lg_say(c, T_("Gets %s with %s; who sits on it for hours can burn above %s."),
                    lg_say_degrees(c, level->peak_K), say_hands(c, level->position),
                    lg_say_degrees(c, LONG_K)),
             basis_of(c, pad, level->peak_K),
             T_("Lower the set-point to 41 C or less, or fit a timer."));
  }
}

const LgRule lg_rule_surface_long = {
    .name = "surface-long",
    .grade = LG_GRADE_CAUTION,
    .title = N_("a warmed surface is too hot to sit on for hours"),
    .what = "Skin burns at 44 C in six hours, and each degree more halves the time. Who sleeps, or "
            "feels little, does not rise in time.",
    .formula = "peak of the surface in health <= 44 C",
    .source =
        "skin-burn study of 1947 as cited by a safety research office, seen; burn doctors ask "
        "for 41 C: seen",
    .remedy = "A lower set-point, or a timer.",
    .run = check_long};

/* --- too slow --- */

static void check_warm_up(LgCheckContext *c)
{
  const LgHeatStudy *const heat = lg_check_heat(c);
  for (guint i = 0; i < heat->pads->len; i++) {
    const LgPad *const pad = heat->pads->pdata[i];
    if (pad->n_levels == 0 || is_assumed(heat, pad))
      continue;
    const LgPadLevel *const level = &pad->levels[pad->strongest];
    if (level->warm_s <= WARM_WITHIN_S)
      continue;
    lg_found(c, origin_of(c, pad), lg_say(c, T_("surface %s"), surface_of(heat, pad)->name),
             lg_say(c, T_("From %s it takes %s to %s with %s and the engine idling."),
                    lg_say_degrees(c, c->job->cold_K),
                    isinf(level->warm_s) ? T_("more than an hour") : say_seconds(c, level->warm_s),
                    lg_say_degrees(c, LG_WARM_K), say_hands(c, level->position)),
             lg_say(c,
                    T_("%s into it; ten minutes to 30 C are what people expect: common practice, "
                       "no source%s"),
                    lg_say_watts(c, level->watts), assumed(c, pad)),
             T_("More power, thicker wires to the pad, or a pad nearer to the surface; foam below "
                "it keeps the heat up."));
  }
}

const LgRule lg_rule_warm_up_slow = {
    .name = "warm-up-slow",
    .grade = LG_GRADE_CAUTION,
    .title = N_("a pad takes long to warm its surface"),
    .what = "Starts everything as cold as the coldest day with the engine idling and the strongest "
            "level on, and waits until the surface is at 30 C.",
    .formula = "t (surface = 30 C) <= 10 min",
    .source = "common practice, no source",
    .remedy = "More power into less mass.",
    .run = check_warm_up};

/* --- contacts --- */

/* Operations of a life at the rating where the sheet and the type say nothing: relays as the
 * weakest sheets (seen), hand switches and bimetals 10 000 (common practice, no source). */
static double rated_life(const LgElement *contact)
{
  if (!isnan(contact->p[LG_P_LIFE]))
    return contact->p[LG_P_LIFE];
  return contact->by >= 0 ? 100e3 : 10e3;
}

/* "152000": a count to three digits. */
static const char *say_count(LgCheckContext *c, double n)
{
  const double unit = n < 1000 ? 1 : pow(10, floor(log10(n)) - 2);
  return lg_say(c, "%.0f", round(n / unit) * unit);
}

static gboolean wears(LgElementKind kind)
{
  return kind == LG_EL_MAKE || kind == LG_EL_BREAK || kind == LG_EL_CONTACT ||
         kind == LG_EL_THERMOSTAT;
}

/* 120 mornings of 20 minutes with the strongest levels on, for sheets that repeat no use. */
static void count_mornings(LgCheckContext *c, double closings[])
{
  const LgHeatStudy *const heat = c->heat;
  for (guint i = 0; i < heat->pads->len; i++) {
    const LgPad *const pad = heat->pads->pdata[i];
    if (pad->n_levels == 0)
      continue;
    g_autofree LgCondition *set = g_new(LgCondition, (gsize)c->job->n_inputs + 1);
    for (int k = 0; k < c->job->n_inputs; k++)
      set[k] = (LgCondition){k, (uint64_t)1 << pad->levels[pad->strongest].position[k]};
    LgUseStep step = {.speed_rpm = 1500, .ambient_K = NAN, .set = set, .n_set = c->job->n_inputs};
    const LgUse use = {.lasts_s = MORNING_S,
                       .ambient_K = c->job->cold_K,
                       .charge = NAN,
                       .repeat = MORNINGS,
                       .steps = &step,
                       .n_steps = 1};
    g_autoptr(LgUseResult) result = lg_use_run(heat->bodies, heat->supply, &use, NULL);
    for (int e = 0; e < c->job->n_elements; e++)
      closings[e] = fmax(closings[e], (double)MORNINGS * result->closings[e]);
  }
}

/* Closings of a winter; what they rest on. */
static const char *count_winter(LgCheckContext *c, double closings[])
{
  const char *of = NULL;
  for (int u = 0; u < c->job->n_uses; u++) {
    const LgUse *const use = &c->job->uses[u];
    if (use->repeat < 2)
      continue;
    for (int e = 0; e < c->job->n_elements; e++)
      closings[e] += (double)use->repeat * c->heat->uses[u]->closings[e];
    of = lg_say(c, T_("%s%s%d times %s"), of != NULL ? of : "", of != NULL ? ", " : "", use->repeat,
                use->name);
  }
  if (of != NULL)
    return of;
  count_mornings(c, closings);
  return T_("120 mornings of 20 min on the coldest day, taken because no `use` repeats");
}

static void check_worn(LgCheckContext *c)
{
  const LgHeatStudy *const heat = lg_check_heat(c);
  if (heat->pads->len == 0 && heat->n_uses == 0)
    return;
  g_autofree double *closings = g_new0(double, (gsize)c->job->n_elements + 1);
  const char *const of = count_winter(c, closings);
  for (int e = 0; e < c->job->n_elements; e++) {
    const LgElement *const contact = &c->job->elements[e];
    const LgContactUse *const use = &c->survey->contacts[e];
    if (!wears(contact->kind) || closings[e] < 1 || use->state < 0 || !(use->use > 0))
      continue;
    const gboolean motor = use->class_A[LG_LOAD_MOTOR] > use->class_A[LG_LOAD_PLAIN];
    const double life = lg_contact_life(rated_life(contact), use->use, motor);
    const double winters = life / closings[e];
    if (winters >= WINTERS)
      continue;
    const double amps =
        use->class_A[LG_LOAD_PLAIN] + use->class_A[LG_LOAD_MOTOR] + use->class_A[LG_LOAD_LAMP];
    lg_found(
        c, contact->origin, lg_say(c, T_("contact %s"), lg_say_element(c, e)),
        lg_say(c,
               T_("Closes %s times in a winter with %s, and lasts about %s times: %.2g winters, "
                  "fewer than %d."),
               say_count(c, closings[e]), lg_say_amps(c, amps), say_count(c, life), winters,
               WINTERS),
        lg_say(c, T_("%s; %s operations at its rating%s, at %s of it%s"), of,
               say_count(c, rated_life(contact)),
               isnan(contact->p[LG_P_LIFE]) ? T_(" (not said: common practice, no source)") : "",
               lg_say_percent(c, use->use),
               motor ? T_(", 0.4 of that for a motor (relay sheet, seen)") : ""),
        T_("Let the thermostat wait longer (`least-on=`, `least-off=`, wider band), take a larger "
           "relay, or an electronic output."));
  }
}

const LgRule lg_rule_relay_worn = {
    .name = "relay-worn",
    .grade = LG_GRADE_CAUTION,
    .title = N_("a contact is worn out before ten winters"),
    .what = "Counts how often each contact closes in the uses that the sheet repeats, thermostats "
            "cycling by their bodies, and compares with the operations that it lasts at that load.",
    .formula = "life = operations at the rating / (current / rating), x 0.4 for motors, at most a "
               "million; life / closings a winter >= 10",
    .source =
        "relay sheets: 200 000 to 300 000 operations at 20 to 40 A, seen; hand switches, ten "
        "winters, and 120 mornings of 20 min where no use repeats: common practice, no source",
    .remedy = "Fewer cycles, or a contact that bears more.",
    .run = check_worn};

/* --- what the sheet does not say --- */

static const char *what_if(LgCheckContext *c, int body)
{
  const LgHeatStudy *const heat = c->heat;
  for (guint i = 0; i < heat->pads->len; i++) {
    const LgPad *const pad = heat->pads->pdata[i];
    if (!is_assumed(heat, pad) || pad->n_levels == 0 ||
        lg_bodies_surface(heat->bodies, body) != pad->surface)
      continue;
    return lg_say(
        c, T_(" With such a seat the cover gets %s in health, %s with the heater on without end."),
        lg_say_degrees(c, hottest(pad)->peak_K),
        lg_say_degrees(c, pad->levels[pad->strongest].steady_K));
  }
  return "";
}

static void check_unsaid(LgCheckContext *c)
{
  const LgBodies *const b = lg_check_heat(c)->bodies;
  for (guint i = 0; i < b->notes->len; i++) {
    const LgHeatNote *const note = b->notes->pdata[i];
    const char *const subject =
        note->element >= 0
            ? lg_say(c, "%s %s", lg_element_said(c->job->elements[note->element].kind),
                     c->job->elements[note->element].name)
            : lg_say(c, T_("body %s"), b->bodies[note->body].name);
    lg_found(c, note->origin, subject,
             lg_say(c, "%s%s", note->what,
                    note->element >= 0 && note->body >= 0 ? what_if(c, note->body) : ""),
             lg_say(c, T_("taken instead: %s"), note->taken),
             T_("Write the `body` records that its heat passes, and `warms=` or `feels=`: "
                "`loomgraft explain body` tells how."));
  }
}

const LgRule lg_rule_heat_unsaid = {
    .name = "heat-unsaid",
    .grade = LG_GRADE_UNPROVEN,
    .title = N_("where a pad's heat goes is not said"),
    .what =
        "Heater pads, heated seats, their sensors and the bodies that they warm need a few "
        "figures. "
        "Where one is missing, a value on the safe side is taken and told here; nothing is said "
        "to be safe on it.",
    .source =
        "defaults: handbook conductivities and clothing, memory (fair); areas and masses: common "
        "practice, no source",
    .remedy = "Bodies from pad to skin, with capacity and heat flow.",
    .run = check_unsaid};
