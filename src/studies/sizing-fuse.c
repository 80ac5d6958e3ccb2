/* Ratings of fuses and breakers. */
#include "studies/sizing-private.h"

/* Whether every start that goes through it is over before the fuse may open. */
static gboolean passes_starts(const LgSizer *sizer, int element, double rating_A)
{
  const LgJob *const job = sizer->job;
  const GArray *const starts = sizer->out->states->starts;
  for (guint i = 0; i < starts->len; i++) {
    const LgStart *const start = &g_array_index(starts, LgStart, i);
    double least_s, most_s;
    if (start->protection != element || job->elements[element].kind != LG_EL_FUSE)
      continue;
    if (lg_catalogue_opening_time(job->catalogue, job->elements[element].form, rating_A,
                                  start->amps, &least_s, &most_s) &&
        least_s < job->elements[start->load].p[LG_P_START_TIME])
      return FALSE;
  }
  return TRUE;
}

static gboolean carries(const LgSizer *sizer, int element, double rating_A)
{
  const LgJob *const job = sizer->job;
  const double share =
      job->fuse_load * fmin(1, lg_rerating(LG_PROTECTOR_FUSE, lg_element_hot_K(job, element)));
  return sizer->out->states->elements[element].most_A.value <= share * rating_A * (1 + 1e-9);
}

/* The smallest of its form from `from_A` on that serves; NULL when none does. *largest: of the
 * form. */
static const LgFuse *smallest(const LgSizer *sizer, int element, double from_A,
                              const LgFuse **largest)
{
  const GPtrArray *const fuses = lg_catalogue_fuses(sizer->job->catalogue);
  *largest = NULL;
  for (guint i = 0; i < fuses->len; i++) {
    const LgFuse *const fuse = fuses->pdata[i];
    if (strcmp(fuse->form, sizer->job->elements[element].form) != 0)
      continue;
    *largest = fuse;
    if (fuse->rating_A >= from_A && carries(sizer, element, fuse->rating_A) &&
        passes_starts(sizer, element, fuse->rating_A))
      return fuse;
  }
  return NULL;
}

/* Ratings for the states as they were seen last. `keep`: never below those there were. */
void lg_sizer_choose_fuses(LgSizer *sizer, gboolean keep)
{
  const LgJob *const job = sizer->job;
  for (int e = 0; e < job->n_elements; e++) {
    const LgElement *const element = &job->elements[e];
    LgFuseSize *const out = &sizer->out->fuses[e];
    *out = (LgFuseSize){.rating_A = NAN, .wire = -1, .wire_A = NAN};
    if (!lg_element_is_protection(element->kind))
      continue;
    out->is_auto = element->rating_auto;
    out->most_A = sizer->out->states->elements[e].most_A.value;
    out->brief_A = sizer->out->states->elements[e].brief_A.value;
    if (!element->rating_auto) {
      sizer->rating_A[e] = out->rating_A = element->p[LG_P_RATING];
      out->fuse = lg_catalogue_fuse(job->catalogue, element->form, out->rating_A);
      continue;
    }
    const LgFuse *largest;
    const double from_A = keep && !isnan(sizer->rating_A[e]) ? sizer->rating_A[e] : 0;
    out->fuse = smallest(sizer, e, from_A, &largest);
    out->rating_A = out->fuse != NULL ? out->fuse->rating_A : NAN;
    sizer->rating_A[e] = out->fuse != NULL ? out->rating_A
                         : largest != NULL ? largest->rating_A
                                           : NAN;
  }
}

static void find_weakest_wires(LgSizer *sizer)
{
  const LgJob *const job = sizer->job;
  for (int w = 0; w < job->n_wires; w++) {
    const LgProtection *const protection = &sizer->out->protection[w];
    for (int d = -1; d < protection->n_devices; d++) {
      const int e = d < 0 ? protection->rating_device : protection->devices[d];
      if (e < 0 || protection->exempt)
        continue;
      LgFuseSize *const fuse = &sizer->out->fuses[e];
      const double allowed_A = sizer->out->wires[w].tight.allowed_A;
      if (fuse->wire < 0 || allowed_A < fuse->wire_A) {
        fuse->wire = w;
        fuse->wire_A = allowed_A;
      }
    }
  }
}

static void report_none(LgSizer *sizer, int element)
{
  const LgElement *const e = &sizer->job->elements[element];
  const LgFuseSize *const fuse = &sizer->out->fuses[element];
  LgFinding *const finding = g_new0(LgFinding, 1);
  const gboolean steady =
      isnan(sizer->rating_A[element]) || !carries(sizer, element, sizer->rating_A[element]);
  g_autofree char *brief = fuse->brief_A > fuse->most_A
                               ? g_strdup_printf(" and up to %.3g A for a moment", fuse->brief_A)
                               : g_strdup("");
  finding->rule = "no-rating";
  finding->grade = LG_GRADE_FAULT;
  finding->origin = e->origin;
  finding->subject = g_strdup(e->name);
  finding->what =
      g_strdup_printf("No fuse of the form %s serves: it carries %.3g A for good%s; the largest "
                      "there is, %.3g A, %s.",
                      e->form, fuse->most_A, brief, sizer->rating_A[element],
                      steady ? "is too small for the steady load" : "may open while a load starts");
  finding->basis =
      g_strdup_printf("steady load at most %.0f %% of the rating, less in heat; starts shorter "
                      "than the shortest opening time of the form",
                      100 * sizer->job->fuse_load);
  finding->remedy =
      g_strdup("Use a larger or slower form (`form=blade-maxi`, `form=bolt-30`), or share the "
               "loads between two fuses.");
  g_ptr_array_add(sizer->out->findings, finding);
}

void lg_sizer_report_fuses(LgSizer *sizer)
{
  find_weakest_wires(sizer);
  for (int e = 0; e < sizer->job->n_elements; e++)
    if (lg_element_is_protection(sizer->job->elements[e].kind) &&
        isnan(sizer->out->fuses[e].rating_A) && sizer->out->fuses[e].most_A >= 0)
      report_none(sizer, e);
}
