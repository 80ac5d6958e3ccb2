/* Remedies: each is written into the sheet, read, sized, checked and solved again before it is
 * named. The cheapest kind is tried first. */
#include "studies/faults-private.h"
#include "studies/mend.h"
#include "studies/sneak-private.h"

enum { MOST_DIODES = 6, MOST_SIZES = 2 };

/* One setting, and records behind (NULL: none). */
typedef struct {
  guint record;
  const char *key, *value, *records;
} Edit;

typedef struct {
  const LgCampaign *faults;
  const LgJob *job;
  LgSheet *sized;      /* the sheet with the sizes found, which is soon sized again */
  GPtrArray *findings; /* of the sheet as it is */
  guint64 most_states;
} Mending;

/* --- did it help? --- */

/* The same fault in the mended job; NULL when it is not there any more. */
static const LgFailure *find_again(const Mending *mending, const LgMended *m, const GArray *list,
                                   const LgFailure *fault)
{
  g_autofree char *subject = lg_failure_subject(mending->job, fault);
  const char *const pin = fault->pin[0] >= 0 ? mending->job->pins[fault->pin[0]].name : NULL;
  for (guint i = 0; i < list->len; i++) {
    const LgFailure *const other = &g_array_index(list, LgFailure, i);
    if (other->kind != fault->kind)
      continue;
    g_autofree char *other_subject = lg_failure_subject(m->job, other);
    const char *const other_pin = other->pin[0] >= 0 ? m->job->pins[other->pin[0]].name : NULL;
    if (strcmp(subject, other_subject) == 0 && g_strcmp0(pin, other_pin) == 0)
      return other;
  }
  return NULL;
}

static guint gravest(guint why)
{
  return why & (~why + 1);
}

/* Less grave; or no danger, and what was gravest in it is gone. */
static gboolean is_better(const LgEffect *now, const LgEffect *was)
{
  return now->severity > was->severity ||
         (now->severity == was->severity && was->severity != LG_SEVERITY_DANGER &&
          gravest(now->why) > gravest(was->why));
}

static gboolean is_mended(LgBench *bench, const LgFailure *fault, const LgEffect *was)
{
  LgEffect effect;
  lg_bench_judge(bench, fault, NULL, &effect);
  lg_effect_clear(&effect);
  return is_better(&effect, was);
}

static gboolean are_mended(const Mending *mending, const LgMended *m, const LgCause *cause)
{
  g_autoptr(GArray) list = lg_failure_list(m->sizing);
  g_autoptr(LgStage) stage = lg_stage_new(m->sizing->circuit, NULL);
  g_autoptr(LgWays) ways = lg_ways_new(m->sizing->circuit);
  g_autoptr(LgFailureStates) states =
      lg_failure_states_new(stage, m->sizing->states, mending->most_states);
  g_autoptr(LgFailureSolver) solver = lg_failure_solver_new(stage, states, FALSE);
  g_autoptr(LgHealthy) healthy = lg_healthy_new(m->sizing, stage, states, solver);
  g_autoptr(LgBench) bench = lg_bench_new(healthy, ways, FALSE, FALSE);
  gboolean good = TRUE;
  for (int i = 0; i < cause->n && good; i++) {
    const LgEffect *const was = &mending->faults->effects[cause->faults[i]];
    const LgFailure *const fault = find_again(mending, m, list, &was->fault);
    good = fault != NULL && is_mended(bench, fault, was);
  }
  return good;
}

static GBytes *edited(const LgSheet *sheet, const Edit *edit)
{
  g_autoptr(GBytes) text = lg_sheet_set(sheet, edit->record, edit->key, edit->value, NULL);
  if (text == NULL || edit->records == NULL)
    return g_steal_pointer(&text);
  g_autoptr(LgSheet) with = lg_sheet_read(lg_sheet_file(sheet), text, FALSE);
  return lg_sheet_append(with, edit->records, NULL);
}

static gboolean helps_in(const Mending *mending, const LgSheet *sheet, const LgCause *cause,
                         const Edit *edit)
{
  LgMended m;
  g_autoptr(GBytes) text = edited(sheet, edit);
  if (text == NULL || !lg_mended_init(&m, mending->job, text))
    return FALSE;
  gboolean good = are_mended(mending, &m, cause);
  if (good) {
    lg_mended_check(&m);
    good = lg_findings_new_against(m.findings, mending->findings) == NULL;
  }
  lg_mended_clear(&m);
  return good;
}

/* Every fault of the cause must become less grave, with the sizes as they are and with all of them
 * found anew. */
static gboolean helps(const Mending *mending, const LgCause *cause, Edit edit)
{
  return helps_in(mending, mending->sized, cause, &edit) &&
         helps_in(mending, mending->job->sheet, cause, &edit);
}

static gboolean wire_helps(const Mending *mending, const LgCause *cause, int wire, const char *key,
                           const char *value, const char *records)
{
  return helps(mending, cause, (Edit){mending->job->wires[wire].record, key, value, records});
}

/* --- kinds of remedy; each returns its words, or NULL --- */

static char *lower_fuse(const Mending *mending, const LgCause *cause, const LgEffect *e)
{
  const LgJob *const job = mending->job;
  if (e->cleared_by < 0)
    return NULL;
  const LgElement *const fuse = &job->elements[e->cleared_by];
  const double rating_A = lg_failure_rating(mending->faults->sizing, e->cleared_by);
  const GPtrArray *const fuses = lg_catalogue_fuses(job->catalogue);
  double lower_A = NAN;
  for (guint i = 0; i < fuses->len; i++) {
    const LgFuse *const f = fuses->pdata[i];
    if (fuse->form != NULL && strcmp(f->form, fuse->form) == 0 && f->rating_A < rating_A)
      lower_A = f->rating_A;
  }
  const int record = lg_mend_record(job, LG_KIND_PART, job->parts[fuse->part].name);
  if (isnan(lower_A) || record < 0)
    return NULL;
  g_autofree char *number = lg_number_print(lower_A, 6);
  g_autofree char *value = g_strconcat(number, "A", NULL);
  return helps(mending, cause, (Edit){(guint)record, "rating", value, NULL})
             ? g_strdup_printf("%s at %s A", job->parts[fuse->part].name, number)
             : NULL;
}

/* The hottest wire one or two sizes up. */
static char *thicker_wire(const Mending *mending, const LgCause *cause, const LgEffect *e)
{
  const LgJob *const job = mending->job;
  if (e->hottest < 0 || job->wires[e->hottest].is != LG_IS_NEW)
    return NULL;
  const LgConductor *const now = mending->faults->sizing->wires[e->hottest].conductor;
  const GPtrArray *const all = lg_catalogue_conductors(job->catalogue);
  int n = 0;
  for (guint i = 0; i < all->len && n < MOST_SIZES; i++) {
    const LgConductor *const c = all->pdata[i];
    if (c->is_awg != now->is_awg || c->area_mm2 <= now->area_mm2)
      continue;
    n++;
    if (wire_helps(mending, cause, e->hottest, "size", c->name, NULL))
      return g_strdup_printf("%s in %s", job->wires[e->hottest].name, c->name);
  }
  return NULL;
}

/* A wire that ends at a ground of its own instead of at the shared one that is lost. */
static char *own_ground(const Mending *mending, const LgCause *cause, const LgEffect *e)
{
  const LgJob *const job = mending->job;
  const LgHit *const hit = e->runs != NULL ? &g_array_index(e->runs, LgHit, 0) : NULL;
  const int load = hit != NULL ? hit->element : e->held;
  if (e->fault.kind != LG_FAIL_GROUND_LOST || load < 0)
    return NULL;
  const LgElement *const lost = &job->elements[e->fault.element];
  for (int w = 0; w < job->n_wires; w++)
    for (int end = 0; end < 2; end++) {
      const LgWire *const wire = &job->wires[w];
      const LgElement *const at = &job->elements[load];
      if (wire->pin[end] != lost->pin[0] || wire->is != LG_IS_NEW ||
          (wire->pin[1 - end] != at->pin[0] && wire->pin[1 - end] != at->pin[1]))
        continue;
      g_autofree char *name = lg_mend_name(job, "XG");
      g_autofree char *place = lg_mend_place(job, lost->part);
      g_autofree char *record = g_strdup_printf("part %s ground%s\n", name, place);
      g_autofree char *pin = g_strconcat(name, ".1", NULL);
      if (wire_helps(mending, cause, w, end == 0 ? "from" : "to", pin, record))
        return g_strdup_printf("%s to a ground of its own", wire->name);
    }
  return NULL;
}

/* The feed of what runs at rest, moved to a pin that is live with the key only. */
static char *keyed_feed(const Mending *mending, const LgCause *cause, const LgEffect *e)
{
  const LgJob *const job = mending->job;
  const LgSizing *const sizing = mending->faults->sizing;
  const LgStates *const states = sizing->states;
  if (e->state != 0 ||
      (e->why & (LG_WHY_MOVES | LG_WHY_RUNS_HOT | LG_WHY_RUNS | LG_WHY_FLAT)) == 0 ||
      e->fault.kind != LG_FAIL_WELDED || job->elements[e->fault.element].by < 0)
    return NULL;
  const int contact = e->fault.element;
  for (int w = 0; w < job->n_wires; w++)
    for (int end = 0; end < 2; end++) {
      const LgWire *const wire = &job->wires[w];
      if (wire->is != LG_IS_NEW || sizing->protection[w].side != LG_SIDE_FEED ||
          (wire->pin[end] != job->elements[contact].pin[0] &&
           wire->pin[end] != job->elements[contact].pin[1]))
        continue;
      for (int k = 0; k < job->n_wires; k++) {
        const LgWire *const feed = &job->wires[k];
        const int pin = feed->pin[1];
        if (sizing->protection[k].side != LG_SIDE_FEED || k == w ||
            !(states->pins[pin].least_V.value < 0.1 * job->nominal_V) ||
            !(states->pins[pin].most_V.value > 0.8 * job->nominal_V) ||
            strcmp(job->parts[job->pins[pin].part].class_word, "splice") != 0)
          continue;
        if (wire_helps(mending, cause, w, end == 0 ? "to" : "from", job->pins[pin].name, NULL))
          return g_strdup_printf("%s fed from %s, live with the key", wire->name,
                                 job->pins[pin].name);
      }
    }
  return NULL;
}

/* A diode in one of the wires on the way by which something runs that should not, or a relay is
 * held: in the direction of its greatest healthy current. */
static char *blocking_diode(const Mending *mending, const LgCause *cause, const LgEffect *e)
{
  const LgJob *const job = mending->job;
  if (e->sneak == NULL || e->cleared_by >= 0)
    return NULL;
  int n = 0;
  g_auto(GStrv) pins = g_strsplit_set(e->sneak, ">~", -1);
  for (int i = 0; pins[i] != NULL && pins[i + 1] != NULL && n < MOST_DIODES; i++) {
    const int from = lg_job_find_pin(job, g_strstrip(pins[i])),
              to = lg_job_find_pin(job, g_strstrip(pins[i + 1]));
    for (int w = 0; w < job->n_wires; w++) {
      const LgWire *const wire = &job->wires[w];
      const gboolean with = wire->pin[0] == from && wire->pin[1] == to,
                     against = wire->pin[0] == to && wire->pin[1] == from;
      if (from < 0 || to < 0 || (!with && !against) || wire->is != LG_IS_NEW)
        continue;
      n++;
      g_autofree char *diode = lg_mend_name(job, "V"), *extra = lg_mend_name(job, "VW");
      g_autofree char *place = lg_mend_place(job, job->pins[wire->pin[1]].part);
      /* Against the sneaking current. */
      g_autofree char *record =
          g_strdup_printf("part %s diode%s\nwire %s %s.%s %s %s auto length=0.1m\n", diode, place,
                          extra, diode, with ? "a" : "k", job->pins[wire->pin[1]].name,
                          wire->colour != NULL ? wire->colour : "BK");
      g_autofree char *pin = g_strconcat(diode, with ? ".k" : ".a", NULL);
      if (wire_helps(mending, cause, w, "to", pin, record))
        return g_strdup_printf("a diode in %s, anode towards %s", wire->name,
                               job->pins[wire->pin[with ? 1 : 0]].name);
    }
  }
  return NULL;
}

typedef char *(*Remedy)(const Mending *mending, const LgCause *cause, const LgEffect *e);

/* Whether any edit of the sheet could bear on it. A short that nothing opens lies before the first
 * fuse, and where that stands is for the rules to say. */
static gboolean can_be_mended(const LgJob *job, const LgEffect *e)
{
  if (e->fault.restraint || e->severity >= LG_SEVERITY_CAUTION)
    return FALSE;
  const gboolean burns = (e->why & LG_WHY_BURNS) != 0 &&
                         (e->cleared_by >= 0 || (e->why & LG_WHY_UNGUARDED) != 0) &&
                         e->hottest >= 0 && job->wires[e->hottest].is == LG_IS_NEW;
  const gboolean lost = e->fault.kind == LG_FAIL_GROUND_LOST && (e->runs != NULL || e->held >= 0);
  const gboolean welded = e->fault.kind == LG_FAIL_WELDED && e->state == 0 && e->runs != NULL;
  return burns || lost || welded;
}

static LgSheet *read_sized(const LgCampaign *faults)
{
  g_autoptr(GBytes) text = lg_sizing_write(faults->sizing, NULL);
  return lg_sheet_read(lg_sheet_file(faults->job->sheet),
                       text != NULL ? text : lg_sheet_bytes(faults->job->sheet), FALSE);
}

gboolean lg_campaign_find_remedies(LgCampaign *faults, int n, const LgCampaignOptions *options)
{
  static const Remedy remedies[] = {lower_fuse, thicker_wire, own_ground, keyed_feed,
                                    blocking_diode};
  Mending mending = {.faults = faults,
                     .job = faults->job,
                     .sized = read_sized(faults),
                     .findings = lg_checks_run(faults->job, faults->sizing),
                     .most_states = faults->all_states ? (guint64)faults->n_states : 1};
  gboolean stopped = FALSE;
  for (int c = 0; c < faults->n_causes && faults->n_tried < n && !stopped; c++) {
    LgCause *const cause = &faults->causes[c];
    const LgEffect *const e = &faults->effects[cause->faults[0]];
    if (!can_be_mended(faults->job, e))
      continue;
    faults->n_tried++;
    for (guint r = 0; r < G_N_ELEMENTS(remedies) && cause->remedy == NULL; r++)
      cause->remedy = remedies[r](&mending, cause, e);
    faults->n_remedied += cause->remedy != NULL;
    stopped =
        options->stop != NULL && options->stop(0.5 + 0.5 * faults->n_tried / n, options->user);
  }
  lg_sheet_free(mending.sized);
  g_ptr_array_unref(mending.findings);
  return !stopped;
}
