/* Sizes: from the states to the sizes and back until neither moves. */
#include "studies/sizing-private.h"

#define MOST_ROUNDS 8
/* The first look only gives the search something to begin with; whatever it overlooks, the next
 * one, at the chosen sizes, finds. Beyond so many states it is made in groups. */
#define FIRST_LOOK 8192

static const LgConductor *chosen_or_given(const LgSizer *sizer, int wire)
{
  const LgWire *const w = &sizer->job->wires[wire];
  return w->is_auto ? lg_sizer_conductor(sizer, sizer->size[wire]) : w->conductor;
}

static void list_series(LgSizer *sizer)
{
  const GPtrArray *const all = lg_catalogue_conductors(sizer->job->catalogue);
  sizer->series = g_ptr_array_new();
  for (guint i = 0; i < all->len; i++) {
    const LgConductor *const conductor = all->pdata[i];
    if (conductor->is_awg == sizer->job->awg_sizes)
      g_ptr_array_add(sizer->series, all->pdata[i]);
  }
  g_assert(sizer->series->len > 0);
}

static void sizer_init(LgSizer *sizer, const LgJob *job)
{
  const gsize n_wires = (gsize)job->n_wires + 1, n_elements = (gsize)job->n_elements + 1;
  *sizer = (LgSizer){.job = job, .out = g_new0(LgSizing, 1)};
  list_series(sizer);
  sizer->least = g_new0(int, n_wires);
  sizer->most = g_new0(int, n_wires);
  sizer->size = g_new0(int, n_wires);
  sizer->rating_A = g_new(double, n_elements);
  for (gsize e = 0; e < n_elements; e++)
    sizer->rating_A[e] = NAN;
  sizer->limits = g_array_new(FALSE, FALSE, sizeof(LgDropLimit));
  sizer->out->n_wires = job->n_wires;
  sizer->out->chosen = g_new0(const LgConductor *, n_wires);
  sizer->out->wires = g_new0(LgWireSize, n_wires);
  sizer->out->fuses = g_new0(LgFuseSize, n_elements);
  sizer->out->findings = lg_findings_new();
}

static void sizer_clear(LgSizer *sizer)
{
  for (guint l = 0; l < sizer->limits->len; l++)
    g_free(g_array_index(sizer->limits, LgDropLimit, l).position);
  g_array_unref(sizer->limits);
  g_ptr_array_unref(sizer->series);
  g_free(sizer->least);
  g_free(sizer->most);
  g_free(sizer->size);
  g_free(sizer->studied);
  g_free(sizer->rating_A);
}

static double limit_V(const LgJob *job, int load)
{
  const double share = job->elements[load].p[LG_P_DROP];
  return (isnan(share) ? job->drop : share) * job->nominal_V;
}

static void limit_drop(LgSizer *sizer, int load, int state)
{
  const LgStates *const states = sizer->out->states;
  const gsize n = (gsize)states->n_inputs;
  g_autofree int *position = g_new0(int, n + 1);
  for (gsize i = 0; i < n; i++)
    position[i] = lg_states_position(states, state)[i];
  for (guint l = 0; l < sizer->limits->len; l++) {
    const LgDropLimit *const known = &g_array_index(sizer->limits, LgDropLimit, l);
    if (known->load == load && memcmp(known->position, position, sizeof(int) * n) == 0)
      return;
  }
  const LgDropLimit new = {load, limit_V(sizer->job, load), g_steal_pointer(&position)};
  g_array_append_val(sizer->limits, new);
}

static void limit_drops(LgSizer *sizer)
{
  for (int e = 0; e < sizer->job->n_elements; e++) {
    const int state = sizer->out->states->elements[e].drop_feed_V.state;
    if (state >= 0)
      limit_drop(sizer, e, state);
  }
}

/* The states of the circuit as it stands, unless they are at hand. */
static void study_states(LgSizer *sizer, gboolean first)
{
  const LgStatesOptions look = {.no_needs = first, .most_states = first ? FIRST_LOOK : 0};
  const gsize bytes = sizeof(int) * ((gsize)sizer->job->n_wires + 1);
  LgSizing *const out = sizer->out;
  if (sizer->studied != NULL && memcmp(sizer->studied, sizer->size, bytes) == 0)
    return;
  lg_warmer_free(out->warmer);
  lg_states_free(out->states);
  out->states = lg_states_new(sizer->job, out->circuit, &look);
  for (int w = 0; w < sizer->job->n_wires; w++)
    out->chosen[w] = chosen_or_given(sizer, w);
  out->warmer = lg_warmer_new(out->states, out->chosen);
  if (!first) {
    g_free(sizer->studied);
    sizer->studied = g_memdup2(sizer->size, bytes);
  }
}

/* Everything that follows from the states of the circuit as it stands. The first look, with auto
 * wires at their thickest, is provisional; from the third on bounds only tighten. */
static void study(LgSizer *sizer, gboolean first, gboolean keep)
{
  LgSizing *const out = sizer->out;
  lg_protection_free(out->protection, sizer->job->n_wires);
  study_states(sizer, first);
  lg_sizer_choose_fuses(sizer, keep);
  out->protection = lg_protection_new(sizer->job, sizer->rating_A);
  lg_sizer_set_bounds(sizer, keep);
  limit_drops(sizer);
}

static gboolean has_auto(const LgJob *job)
{
  for (int w = 0; w < job->n_wires; w++)
    if (job->wires[w].is_auto)
      return TRUE;
  return FALSE;
}

/* Whether the limits from number `first` on are kept by the circuit as it stands. */
static gboolean limits_are_kept(const LgSizer *sizer, guint first)
{
  if (first == sizer->limits->len)
    return TRUE;
  gboolean kept = TRUE;
  g_autoptr(LgDropMeter) meter = lg_drop_meter_new(sizer->out->circuit);
  for (guint l = first; kept && l < sizer->limits->len; l++) {
    const LgDropLimit *const limit = &g_array_index(sizer->limits, LgDropLimit, l);
    kept = lg_drop_meter_read(meter, limit->load, limit->position, NULL) <=
           limit->limit_V * (1 + 1e-9);
  }
  return kept;
}

/* Ends when the states of the chosen sizes ask nothing that the search did not know: then the least
 * copper for what it knew is the least for all. */
static void find_sizes(LgSizer *sizer)
{
  const gsize bytes = sizeof(int) * ((gsize)sizer->job->n_wires + 1);
  g_autofree int *least = g_malloc(bytes), *most = g_malloc(bytes);
  sizer->exhausted = TRUE;
  study(sizer, has_auto(sizer->job), FALSE);
  if (!has_auto(sizer->job))
    return;
  for (int round = 0; round < MOST_ROUNDS; round++) {
    const guint n_limits = sizer->limits->len;
    memcpy(least, sizer->least, bytes);
    memcpy(most, sizer->most, bytes);
    lg_sizer_search(sizer);
    study(sizer, FALSE, round > 0);
    if (memcmp(least, sizer->least, bytes) == 0 && memcmp(most, sizer->most, bytes) == 0 &&
        limits_are_kept(sizer, n_limits))
      return;
  }
  sizer->exhausted = FALSE;
}

static LgFinding *finding_new(const char *rule, LgGrade grade, LgOrigin origin, char *subject)
{
  LgFinding *const finding = g_new0(LgFinding, 1);
  finding->rule = rule;
  finding->grade = grade;
  finding->origin = origin;
  finding->subject = subject;
  return finding;
}

/* An auto wire for which the thickest of the series is still too thin. */
static void report_wire(LgSizer *sizer, int wire)
{
  const LgWire *const w = &sizer->job->wires[wire];
  const LgWireSize *const size = &sizer->out->wires[wire];
  LgBreach breach;
  if (!lg_sizer_breach(sizer, wire, size->conductor, size->most_A, &breach))
    return;
  LgFinding *const finding =
      finding_new("no-size", LG_GRADE_DANGER, w->origin, g_strdup_printf("wire %s", w->name));
  finding->what =
      breach.bind == LG_BIND_FUSE
          ? g_strdup_printf(
                "No size serves: the fuse %s is %.4g A, and even %s may carry %.3g A only.",
                sizer->job->elements[breach.element].name, breach.reached, size->conductor->name,
                size->allowance.allowed_A)
          : g_strdup_printf("No size serves: it carries %.4g A, and even %s may carry %.3g A only.",
                            size->most_A, size->conductor->name, size->allowance.allowed_A);
  finding->basis =
      g_strdup_printf("%s at %.0f C, %d loaded wires together, %s insulation: %.3g A x %.2f x %.2f",
                      size->conductor->name, size->allowance.ambient_K - LG_ZERO_C_IN_K,
                      size->allowance.n_bundle, w->insulation->name, size->allowance.table_A,
                      size->allowance.ambient_factor, size->allowance.bundle_factor);
  finding->remedy =
      g_strdup("Take a cooler way or an insulation class for more heat, split the load over "
               "two wires with a fuse each, or a smaller fuse.");
  g_ptr_array_add(sizer->out->findings, finding);
}

/* A load whose limit no choice of the auto wires on its way keeps. */
static void report_drops(LgSizer *sizer)
{
  g_autoptr(LgDropMeter) meter = lg_drop_meter_new(sizer->out->circuit);
  g_autoptr(GArray) way = g_array_new(FALSE, FALSE, sizeof(int));
  g_autofree gboolean *told = g_new0(gboolean, (gsize)sizer->job->n_elements + 1);
  for (guint l = 0; l < sizer->limits->len; l++) {
    const LgDropLimit *const limit = &g_array_index(sizer->limits, LgDropLimit, l);
    const LgElement *const load = &sizer->job->elements[limit->load];
    g_array_set_size(way, 0);
    const double drop_V = lg_drop_meter_read(meter, limit->load, limit->position, way);
    gboolean any_auto = FALSE;
    for (guint i = 0; i < way->len; i++)
      any_auto |= sizer->job->wires[g_array_index(way, int, i)].is_auto;
    if (drop_V <= limit->limit_V * (1 + 1e-6) || !any_auto || told[limit->load])
      continue;
    told[limit->load] = TRUE;
    LgFinding *const finding =
        finding_new("no-size", LG_GRADE_FAULT, load->origin, g_strdup(load->name));
    finding->what = g_strdup_printf("No size serves: %.3g V are lost on the way to it and back, "
                                    "%.3g V may be, and thicker wires "
                                    "alone do not bring it below; contacts, fuses, joints and "
                                    "wires of given size lose too much.",
                                    drop_V, limit->limit_V);
    finding->basis =
        g_strdup_printf("%.3g %% of %.3g V nominal, worst lasting state, hot wires",
                        100 * limit->limit_V / sizer->job->nominal_V, sizer->job->nominal_V);
    finding->remedy =
        g_strdup("Shorten the way, let a relay near the load switch it, let thicker wires of "
                 "given size and joints be changed, or allow more with `drop=`.");
    g_ptr_array_add(sizer->out->findings, finding);
  }
}

static void add_copper(LgSizer *sizer)
{
  sizer->out->copper_kg = 0;
  for (int w = 0; w < sizer->job->n_wires; w++) {
    sizer->out->chosen[w] = chosen_or_given(sizer, w);
    if (sizer->job->wires[w].is_auto)
      sizer->out->copper_kg += lg_sizer_kg(sizer, w, sizer->size[w]);
  }
  sizer->out->least_copper_kg = sizer->least_kg;
  sizer->out->n_tried = sizer->n_tried;
}

LgSizing *lg_sizing_new(const LgJob *job, GError **error)
{
  LgSizer sizer;
  sizer_init(&sizer, job);
  LgSizing *const out = sizer.out;
  for (int w = 0; w < job->n_wires; w++) {
    sizer.size[w] = (int)sizer.series->len - 1;
    out->chosen[w] = chosen_or_given(&sizer, w);
  }
  out->circuit = lg_circuit_new(job, LG_DAY_HOT, out->chosen, error);
  if (out->circuit == NULL) {
    sizer_clear(&sizer);
    lg_sizing_free(out);
    return NULL;
  }
  find_sizes(&sizer);
  add_copper(&sizer);
  lg_sizer_certify(&sizer);
  lg_sizer_report_fuses(&sizer);
  for (int w = 0; w < job->n_wires; w++)
    if (job->wires[w].is_auto)
      report_wire(&sizer, w);
  report_drops(&sizer);
  sizer_clear(&sizer);
  return out;
}

void lg_sizing_free(LgSizing *sizing)
{
  if (sizing == NULL)
    return;
  lg_protection_free(sizing->protection, sizing->n_wires);
  lg_warmer_free(sizing->warmer);
  lg_states_free(sizing->states);
  lg_circuit_free(sizing->circuit);
  g_free(sizing->chosen);
  g_free(sizing->wires);
  g_free(sizing->fuses);
  g_ptr_array_unref(sizing->findings);
  g_free(sizing);
}
