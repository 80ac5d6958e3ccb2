/* The plug of a part in a job: which cavities may be touched, which readings can be, and what is
 * wrong with them. Restraint comes first: better one cavity too many left alone. */
#include "sheet/colour.h"
#include "studies/identify-private.h"
#include <math.h>
#include <string.h>

/* Volts on a plug that is apart and dead; less is the meter's own. */
#define DEAD_V 0.05

static void found(LgPartIdentity *of, const char *rule, LgGrade grade, LgOrigin origin,
                  const char *subject, char *what, const char *basis, const char *remedy)
{
  LgFinding *const finding = g_new(LgFinding, 1);
  *finding = (LgFinding){.rule = rule,
                         .grade = grade,
                         .origin = origin,
                         .subject = g_strdup(subject),
                         .what = what,
                         .basis = g_strdup(basis),
                         .remedy = g_strdup(remedy)};
  g_ptr_array_add(of->findings, finding);
}

static const LgPart *part_of(const LgPartIdentity *of)
{
  return &of->job->parts[of->part];
}

static const LgPin *pin_of(const LgPartIdentity *of, int cavity)
{
  return &of->job->pins[part_of(of)->first_pin + cavity];
}

/* ---- Restraint. ---- */

static gboolean says_one(const char *text, const char *const words[])
{
  for (int i = 0; text != NULL && words[i] != NULL; i++)
    if (g_str_match_string(words[i], text, TRUE))
      return TRUE;
  return FALSE;
}

static const char *const yellow_words[] = {"yellow", "gelb", NULL};
static const char *const restraint_words[] = {"airbag",       "pretensioner", "restraint",
                                              "squib",        "buckle",       "belt",
                                              "shorting bar", "occupancy",    NULL};

/* Whether the record itself says that it belongs to no restraint. */
static gboolean says_no_restraint(const LgJob *job, LgKind kind, const char *name)
{
  for (guint i = 0; i < lg_sheet_n_records(job->sheet); i++) {
    const LgRecord *const record = lg_sheet_record(job->sheet, i);
    if (record->kind != kind || g_strcmp0(record->name, name) != 0)
      continue;
    const LgValue *const value = lg_record_key(record, "restraint");
    return value != NULL && value->word == LG_RESTRAINT_NO;
  }
  return FALSE;
}

/* Why the whole plug is left alone; NULL: it is not. */
static const char *whole_reason(const LgJob *job, const LgPart *part)
{
  if (part->restraint != LG_RESTRAINT_NO)
    return "the sheet says restraint= at the part";
  if (says_one(part->housing, yellow_words))
    return "its housing is yellow";
  if (says_one(part->housing, restraint_words) ||
      (says_one(part->text, restraint_words) && !says_no_restraint(job, LG_KIND_PART, part->name)))
    return "its description speaks of a restraint";
  return NULL;
}

static gboolean is_shut(const LgJob *job, const LgPin *pin)
{
  if (pin->restraint != LG_RESTRAINT_NO)
    return TRUE;
  int base = -1, stripe = -1;
  const gboolean yellow = pin->colour != NULL && lg_colour_read(pin->colour, &base, &stripe) &&
                          base == LG_COLOUR_YELLOW;
  return (yellow || says_one(pin->label, restraint_words)) &&
         !says_no_restraint(job, LG_KIND_PIN, pin->name);
}

gboolean lg_pin_is_left_alone(const LgJob *job, int pin)
{
  return whole_reason(job, &job->parts[job->pins[pin].part]) != NULL ||
         is_shut(job, &job->pins[pin]);
}

static void take_cavities(LgPartIdentity *of)
{
  const LgPart *const part = part_of(of);
  g_autoptr(GPtrArray) kinds = g_ptr_array_new();
  for (int k = 0; k < part->n_pins; k++) {
    const LgPin *const pin = pin_of(of, k);
    of->cavities[k] =
        (LgCavity){.shut = is_shut(of->job, pin), .empty = pin->fitted == LG_FITTED_NO};
    guint kin = 0;
    if (pin->terminal != NULL && !g_ptr_array_find(kinds, pin->terminal, &kin)) {
      kin = kinds->len;
      g_ptr_array_add(kinds, (gpointer)pin->terminal);
    }
    of->cavities[k].kin = pin->terminal == NULL ? 0 : (int)kin + 1;
    of->any_shut |= of->cavities[k].shut;
  }
}

static const char restraint_basis[] =
    "makers' restraint-system precautions, seen; yellow plugs: habit of the trade, not always kept";
static const char restraint_remedy[] =
    "No meter, no lamp, no supply on it. Battery off, wait as the vehicle's manual says, and leave "
    "it to trained people. Where its papers show that it is no such circuit, write restraint=no.";

static char *shut_list(const LgPartIdentity *of)
{
  g_autoptr(GString) words = g_string_new(NULL);
  for (int k = 0; k < part_of(of)->n_pins; k++)
    if (of->cavities[k].shut)
      g_string_append_printf(words, "%s%s", words->len > 0 ? ", " : "", pin_of(of, k)->short_name);
  return g_string_free(g_steal_pointer(&words), FALSE);
}

static void stop(LgPartIdentity *of, const char *reason)
{
  g_autofree char *subject = g_strdup_printf("part %s", part_of(of)->name);
  of->stopped = of->any_shut = TRUE;
  found(of, "restraint-left-alone", LG_GRADE_DANGER, part_of(of)->origin, subject,
        g_strdup_printf("This plug may belong to an airbag or a belt pretensioner: %s. It is left "
                        "alone: nothing is identified, no reading is proposed.",
                        reason),
        restraint_basis, restraint_remedy);
}

static void tell_shut(LgPartIdentity *of)
{
  g_autofree char *list = shut_list(of);
  g_autofree char *subject = g_strdup_printf("part %s", part_of(of)->name);
  if (list[0] != '\0')
    found(of, "restraint-left-alone", LG_GRADE_CAUTION, part_of(of)->origin, subject,
          g_strdup_printf("Cavities %s may belong to a restraint: they are left out of everything "
                          "here, no reading on them is proposed.",
                          list),
          restraint_basis, restraint_remedy);
}

/* ---- Readings. ---- */

static LgDid did_of(const LgReading *reading)
{
  static const char *const warmed[] = {"warm", "heat", NULL},
                           *const turned[] = {"turn", "spun", "spin", NULL},
                           *const moved[] = {"mov",  "press", "switch", "rocker", "lever",
                                             "slid", "click", "work",   NULL};
  return says_one(reading->did, warmed)                         ? LG_DID_WARMED
         : says_one(reading->did, turned)                       ? LG_DID_TURNED
         : says_one(reading->did, moved) || reading->n_when > 0 ? LG_DID_MOVED
                                                                : LG_DID_NOTHING;
}

/* What the remark says that was seen. Of something moved the ohms are those after it, unless the
 * remark tells of the other state. */
static LgSaw saw_of(const LgReading *reading, LgDid did)
{
  static const char *const steady[] = {"steady", "same", "unchanged", "stay", "nothing", NULL},
                           *const fell[] = {"fell", "fall", "drop", "less", "lower", "sank", NULL},
                           *const rose[] = {"rose", "rise", "more", "higher", "climb", NULL},
                           *const jumps[] = {"flicker", "jump", "wander", NULL},
                           *const closes[] = {"clos", NULL}, *const opens[] = {"open", NULL};
  if (did == LG_DID_NOTHING)
    return LG_SAW_UNSAID;
  if (says_one(reading->did, steady))
    return LG_SAW_STEADY;
  if (did == LG_DID_MOVED)
    return says_one(reading->did, reading->open ? closes : opens) ? LG_SAW_CHANGE : LG_SAW_UNSAID;
  return says_one(reading->did, fell)    ? LG_SAW_FALL
         : says_one(reading->did, rose)  ? LG_SAW_RISE
         : says_one(reading->did, jumps) ? LG_SAW_FLICKER
                                         : LG_SAW_UNSAID;
}

/* Half of the last digit of a meter that counts to 2000, the most usual. Common practice. */
static double half_digit(double ohm)
{
  double range = 200;
  while (range < ohm && range < 2e8)
    range *= 10;
  return range / 4000;
}

/* Volts between the same cavities, 0 when the circuit is dead or nobody looked. */
static double volts_there(const LgJob *job, const LgReading *reading)
{
  for (int i = 0; i < job->n_readings; i++) {
    const LgReading *const other = &job->readings[i];
    const gboolean same = (other->pin[0] == reading->pin[0] && other->pin[1] == reading->pin[1]) ||
                          (other->pin[0] == reading->pin[1] && other->pin[1] == reading->pin[0]);
    if (same && other->n_when == 0 && fabs(other->volts) > DEAD_V)
      return fabs(other->volts);
  }
  return 0;
}

static void ask_back(LgPartIdentity *of, const LgReading *reading, char *what, const char *remedy)
{
  g_autofree char *subject = g_strdup_printf("reading %s", reading->name);
  found(of, "reading-impossible", LG_GRADE_FAULT, reading->origin, subject, what,
        "a resistance is never negative, an ohmmeter needs a dead circuit", remedy);
}

/* Whether a reading can be; says so when not. */
static gboolean can_be(LgPartIdentity *of, const LgReading *reading)
{
  const double net = reading->resistance - reading->lead,
               off = reading->tolerance * reading->resistance + 2 * half_digit(net);
  if (reading->open && !isnan(reading->resistance)) {
    ask_back(of, reading, g_strdup("It says open and ohms at once."),
             "Which of the two did the meter show? Take the other out.");
    return FALSE;
  }
  if (volts_there(of->job, reading) > 0) {
    ask_back(of, reading,
             g_strdup_printf("There are ohms, but also volts (%.2g V) between the same cavities. "
                             "Ohms read on a live circuit mean nothing, and harm the meter.",
                             volts_there(of->job, reading)),
             "Battery off, plug apart, wait; see that the meter shows no volts; then read the ohms "
             "again.");
    return FALSE;
  }
  if (!reading->open && net < -off) {
    ask_back(of, reading,
             g_strdup_printf("%.3g ohm read, less %.3g ohm of the leads, leaves %.3g ohm: below "
                             "nothing by more than the meter may be off (%.2g ohm).",
                             reading->resistance, reading->lead, net, off),
             "Hold the leads together, write what the meter shows as lead=, and read again.");
    return FALSE;
  }
  return TRUE;
}

static void take_reading(LgPartIdentity *of, int index)
{
  const LgReading *const reading = &of->job->readings[index];
  const int first = part_of(of)->first_pin, n = part_of(of)->n_pins;
  const int red = reading->pin[0] - first, black = reading->pin[1] - first;
  if (red < 0 || red >= n || black < 0 || black >= n || red == black)
    return;
  if (of->cavities[red].shut || of->cavities[black].shut) {
    g_autofree char *subject = g_strdup_printf("reading %s", reading->name);
    found(of, "restraint-read", LG_GRADE_DANGER, reading->origin, subject,
          g_strdup("It was taken on a cavity that may belong to a restraint. It is not used."),
          restraint_basis, "Do not read there again. No meter, no lamp, no supply.");
    return;
  }
  if ((isnan(reading->resistance) && !reading->open) || !can_be(of, reading))
    return;
  const LgDid did = did_of(reading);
  const double net = fmax(reading->resistance - reading->lead, 0);
  const LgProbe probe = {
      .red = red,
      .black = black,
      .ohm = reading->open ? INFINITY : net,
      .off_ohm = reading->open ? 1 : reading->tolerance * reading->resistance + half_digit(net),
      .temperature_K = reading->temperature_K,
      .did = did,
      .saw = saw_of(reading, did)};
  g_array_append_val(of->probes, probe);
  g_array_append_val(of->of, index);
}

static void take_readings(LgPartIdentity *of)
{
  for (int i = 0; i < of->job->n_readings; i++)
    take_reading(of, i);
}

/* ---- What the network says about them. ---- */

static char *pair_words(const LgPartIdentity *of, const LgProbe *probe)
{
  return g_strdup_printf("%s-%s", pin_of(of, probe->red)->short_name,
                         pin_of(of, probe->black)->short_name);
}

static char *clash_words(const LgPartIdentity *of, const LgProbe *probe, double should)
{
  g_autofree char *pair = pair_words(of, probe);
  g_autofree char *others = lg_quantity_print(should, LG_DIM_RESISTANCE, of->job->habit, 3);
  if (isinf(probe->ohm))
    return g_strdup_printf("%s reads open, but by the other readings there are %s between them.",
                           pair, others);
  g_autofree char *own = lg_quantity_print(probe->ohm, LG_DIM_RESISTANCE, of->job->habit, 3);
  g_autofree char *left =
      lg_quantity_print(fabs(probe->ohm - should), LG_DIM_RESISTANCE, of->job->habit, 2);
  return g_strdup_printf(
      "%s reads %s, the other readings say %s: %s are left over, %.1f times what "
      "the meter may be off.",
      pair, own, others, left, fabs(probe->ohm - should) / probe->off_ohm);
}

static void tell_clashes(LgPartIdentity *of)
{
  const LgIdentity *const id = of->identity;
  for (int i = 0; i < id->n_probes; i++) {
    if (!id->clash[i])
      continue;
    const LgProbe *const probe = &id->probes[i];
    const LgReading *const reading = &of->job->readings[g_array_index(of->of, int, i)];
    g_autofree char *subject = g_strdup_printf("reading %s", reading->name);
    found(of, "reading-contradicts", LG_GRADE_FAULT, reading->origin, subject,
          clash_words(of, probe, id->should_ohm[i]),
          "ohms of one network, each within its tolerance and half a digit; nothing was averaged "
          "away",
          "Clean the terminals, read this pair and those beside it again, both ways round. When it "
          "stays, something was moved meanwhile: say so with did=.");
  }
}

/* A short between two cavities that lead nowhere else, in a plug that is apart. */
#define BAR_OHM 0.15

static int n_found_at(const LgIdentity *id, int cavity)
{
  int n = 0;
  for (guint i = 0; i < id->found->len; i++) {
    const LgFound *const f = &g_array_index(id->found, LgFound, i);
    n += f->a == cavity || f->b == cavity;
  }
  return n;
}

static gboolean may_be_bar(const LgPartIdentity *of, const LgFound *f)
{
  const LgIdentity *const id = of->identity;
  if (f->a >= id->n_cavities || f->b >= id->n_cavities || !(f->ohm < BAR_OHM) ||
      f->moved == LG_SAW_CHANGE || n_found_at(id, f->a) > 1 || n_found_at(id, f->b) > 1)
    return FALSE;
  return !says_no_restraint(of->job, LG_KIND_PIN, pin_of(of, f->a)->name) &&
         !says_no_restraint(of->job, LG_KIND_PIN, pin_of(of, f->b)->name);
}

/* Shuts cavities behind which a shorting bar may lie; TRUE when there were any. */
static gboolean shut_bars(LgPartIdentity *of)
{
  gboolean any = FALSE;
  for (guint i = 0; i < of->identity->found->len; i++) {
    const LgFound *const f = &g_array_index(of->identity->found, LgFound, i);
    if (!may_be_bar(of, f))
      continue;
    g_autofree char *subject = g_strdup_printf("cavities %s and %s", pin_of(of, f->a)->short_name,
                                               pin_of(of, f->b)->short_name);
    found(of, "restraint-left-alone", LG_GRADE_DANGER, pin_of(of, f->a)->origin, subject,
          g_strdup_printf(
              "They are joined (%.2g ohm or less) though the plug is apart, and lead nowhere "
              "else: that may be a shorting bar, as restraint plugs have one. They are "
              "left alone from here on.",
              f->ohm + f->off_ohm),
          restraint_basis,
          "Look into the plug: a spring that lies on both terminals is a shorting bar. When it is "
          "none, write restraint=no at both pins; when it is a contact, note a reading with what "
          "was moved.");
    of->cavities[f->a].shut = of->cavities[f->b].shut = of->any_shut = any = TRUE;
  }
  return any;
}

static void identify(LgPartIdentity *of)
{
  lg_identity_free(of->identity);
  of->identity =
      lg_identity_new(of->cavities, part_of(of)->n_pins,
                      (const LgProbe *)(const void *)of->probes->data, (int)of->probes->len);
}

static gboolean all_shut(const LgPartIdentity *of)
{
  int open = 0;
  for (int k = 0; k < part_of(of)->n_pins; k++)
    open += !of->cavities[k].shut && !of->cavities[k].empty;
  return open < 2 && of->any_shut;
}

static void work(LgPartIdentity *of)
{
  take_cavities(of);
  const char *const reason = whole_reason(of->job, part_of(of));
  if (reason != NULL || all_shut(of)) {
    stop(of, reason != NULL ? reason : "its cavities are marked so, or have yellow wires");
    return;
  }
  tell_shut(of);
  take_readings(of);
  identify(of);
  if (shut_bars(of))
    identify(of);
  if (all_shut(of)) {
    g_clear_pointer(&of->identity, lg_identity_free);
    of->stopped = TRUE;
    return;
  }
  tell_clashes(of);
}

LgPartIdentity *lg_part_identity_new(const LgJob *job, int part)
{
  g_return_val_if_fail(part >= 0 && part < job->n_parts, NULL);
  g_return_val_if_fail(job->parts[part].n_pins <= LG_MOST_CAVITIES, NULL);
  LgPartIdentity *const of = g_new0(LgPartIdentity, 1);
  of->job = job;
  of->part = part;
  of->cavities = g_new0(LgCavity, (gsize)job->parts[part].n_pins + 1);
  of->probes = g_array_new(FALSE, FALSE, sizeof(LgProbe));
  of->of = g_array_new(FALSE, FALSE, sizeof(int));
  of->findings = lg_findings_new();
  work(of);
  lg_findings_sort(of->findings);
  return of;
}

void lg_part_identity_free(LgPartIdentity *of_part)
{
  if (of_part == NULL)
    return;
  lg_identity_free(of_part->identity);
  g_free(of_part->cavities);
  g_array_unref(of_part->probes);
  g_array_unref(of_part->of);
  g_ptr_array_unref(of_part->findings);
  g_free(of_part);
}

/* ---- Words. ---- */

char *lg_identity_node(const LgPartIdentity *of_part, int node)
{
  const int n = part_of(of_part)->n_pins;
  return node < n ? g_strdup(pin_of(of_part, node)->short_name)
                  : g_strdup_printf("hidden-%d", node - n + 1);
}

char *lg_identity_next_words(const LgPartIdentity *of_part, const LgNext *next)
{
  static const char *const then[LG_N_DIDS] = {
      [LG_DID_NOTHING] = "",
      [LG_DID_WARMED] = "; then warm the pad or the sensor by hand for a minute, and read again",
      [LG_DID_MOVED] = "; then move the seat, slide or switch it may belong to, and read again",
      [LG_DID_TURNED] =
          "; then turn the motor by hand if it can be reached, and watch for a flicker"};
  return g_strdup_printf("ohms, %sred lead on %s, black on %s%s",
                         next->reverse ? "the leads changed over: " : "",
                         pin_of(of_part, next->red)->short_name,
                         pin_of(of_part, next->black)->short_name, then[next->did]);
}

char *lg_identity_heat_words(const LgPartIdentity *of_part)
{
  const LgIdentity *const id = of_part->identity;
  if (id == NULL)
    return g_strdup("Whether heat is fitted was not asked: the plug is left alone.");
  gboolean sensor = FALSE;
  for (guint i = 0; i < id->found->len; i++) {
    const LgIdClass class = lg_found_class(&g_array_index(id->found, LgFound, i));
    sensor |= class == LG_ID_NTC || class == LG_ID_PTC;
  }
  const char *const beside = sensor ? " A thermistor is there, too." : "";
  const double percent = 100 * id->heat;
  if (id->heat >= 0.8)
    return g_strdup_printf("The heat option is fitted: likelihood %.0f %%.%s", percent, beside);
  if (id->heat <= 0.05)
    return g_strdup_printf("The heat option is not fitted: likelihood of a pad %.0f %%.%s", percent,
                           beside);
  return g_strdup_printf("Whether the heat option is fitted is not sure yet: likelihood %.0f %%.%s",
                         percent, beside);
}
