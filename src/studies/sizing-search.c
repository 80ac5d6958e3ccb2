/* The least copper that keeps the volts lost to every load within its limit.
 *
 * Wires that no limit touches keep their least size. The others fall into components that share no
 * limit. A limit's loss is bounded from below by a sum over the wires on its way, whose currents
 * are the least that they can be in a choice that keeps the limit. In that sum a component is
 * searched by branch and bound: first the wires that several loads share, each node bounded by what
 * the loads' own wires must weigh at least, read off the frontier of copper against loss of those
 * wires; then, the shared ones given, each load's own wires. Every candidate that the sum lets
 * through is solved exactly, and one that fails gives way to the load's next heavier choice. What
 * is cheaper than the answer was thus refused by the bound or by an exact solution. */
#include "studies/sizing-search-private.h"

void lg_search_set_wire(LgSearch *search, int wire, int index)
{
  LgSizer *const sizer = search->sizer;
  lg_circuit_set_wire(sizer->out->circuit, wire, lg_sizer_conductor(sizer, index),
                      sizer->job->wires[wire].hot_K);
}

/* Ohms of the conductor alone, by which sizes differ. */
static double conductor_ohm(const LgSearch *search, int wire, int index)
{
  const LgWire *const w = &search->sizer->job->wires[wire];
  return lg_sizer_conductor(search->sizer, index)->resistance_ohm_m * lg_copper_ratio(w->hot_K) *
         w->length_m;
}

double lg_search_read(LgSearch *search, const LgLimit *limit, GArray *wires)
{
  return lg_drop_meter_read(search->meter, limit->limit->load, limit->limit->position, wires);
}

static int choice_of(LgSearch *search, int wire)
{
  if (search->number[wire] >= 0)
    return search->number[wire];
  const LgSizer *const sizer = search->sizer;
  LgChoice new = {.wire = wire,
                  .first = sizer->least[wire],
                  .n = sizer->most[wire] - sizer->least[wire] + 1,
                  .last_load = -1};
  new.kg = g_new(double, (gsize) new.n);
  new.ohm = g_new(double, (gsize) new.n);
  for (int i = 0; i < new.n; i++) {
    new.kg[i] = lg_sizer_kg(sizer, wire, new.first + i);
    new.ohm[i] = conductor_ohm(search, wire, new.first + i);
  }
  g_array_append_val(search->choices, new);
  return search->number[wire] = (int)search->choices->len - 1;
}

/* A limit's way as solved: loss in all, outside the terms, current of the load and of the terms. */
typedef struct {
  double drop_V, rest_V, load_A, most_A;
  double *amps;
} Solved;

static Solved solve_terms(LgSearch *search, const LgLimit *limit, const int index[], double amps[])
{
  Solved solved = {.drop_V = lg_search_read(search, limit, NULL), .amps = amps};
  solved.rest_V = solved.drop_V;
  solved.load_A = solved.most_A = fabs(lg_drop_meter_element_A(search->meter, limit->limit->load));
  for (guint t = 0; t < limit->terms->len; t++) {
    const LgChoice *const c = lg_choice(search, g_array_index(limit->terms, LgTerm, t).wire);
    amps[t] = fabs(lg_drop_meter_wire_A(search->meter, c->wire));
    solved.rest_V -= amps[t] * conductor_ohm(search, c->wire, index[c->wire]);
    solved.most_A = fmax(solved.most_A, amps[t]);
  }
  return solved;
}

/* Least current of the load in any choice that keeps the limit: where it loses just the limit, read
 * off the chord from thin to thick, above which the currents of heaters, lamps and motors lie; a
 * load of constant power draws least when all is thick. */
static double least_load_A(const LgLimit *limit, const Solved *thin, const Solved *thick)
{
  if (thick->load_A <= thin->load_A)
    return thick->load_A;
  const double share = (thin->drop_V - limit->limit->limit_V) / (thin->drop_V - thick->drop_V);
  return thin->load_A + CLAMP(share, 0, 1) * (thick->load_A - thin->load_A);
}

/* Lower bounds: the load's own part of each current as above, the others' part as the lesser of
 * thin and thick. */
static void bound_terms(const LgSearch *search, LgLimit *limit, const Solved *thin,
                        const Solved *thick)
{
  const double load_A = least_load_A(limit, thin, thick), more_A = load_A - thin->load_A;
  for (guint t = 0; t < limit->terms->len; t++) {
    const double others_A = fmin(thin->amps[t] - thin->load_A, thick->amps[t] - thick->load_A);
    g_array_index(limit->terms, LgTerm, t).amps = search->shade * fmax(0, load_A + others_A);
  }
  /* What all of the way carries more of, times its ohms, of which there are at least rest / most.
   */
  const double rest_V =
      thin->rest_V + (thin->most_A > 0 ? more_A * thin->rest_V / thin->most_A : 0);
  limit->fixed_V = search->shade * fmax(0, more_A > 0 ? rest_V : fmin(rest_V, thick->rest_V));
}

/* Bounds a limit from below, everything else at its least; all wires stand at their least before
 * and after. */
static void bound_limit(LgSearch *search, LgLimit *limit)
{
  LgSizer *const sizer = search->sizer;
  g_autoptr(GArray) way = g_array_new(FALSE, FALSE, sizeof(int));
  lg_search_read(search, limit, way);
  limit->terms = g_array_new(FALSE, FALSE, sizeof(LgTerm));
  for (guint i = 0; i < way->len; i++) {
    const int wire = lg_int_at(way, i);
    if (!sizer->job->wires[wire].is_auto)
      continue;
    const LgTerm term = {choice_of(search, wire), 0};
    g_array_append_val(limit->terms, term);
  }
  const gsize n = limit->terms->len;
  g_autofree double *thin_A = g_new(double, n + 1), *thick_A = g_new(double, n + 1);
  const Solved thin = solve_terms(search, limit, sizer->least, thin_A);
  for (gsize t = 0; t < n; t++) {
    const int wire = lg_choice(search, g_array_index(limit->terms, LgTerm, t).wire)->wire;
    lg_search_set_wire(search, wire, sizer->most[wire]);
  }
  const Solved thick = solve_terms(search, limit, sizer->most, thick_A);
  limit->hopeless = !lg_limit_is_kept(thick.drop_V, limit);
  for (gsize t = 0; t < n; t++) {
    const int wire = lg_choice(search, g_array_index(limit->terms, LgTerm, t).wire)->wire;
    lg_search_set_wire(search, wire, sizer->least[wire]);
  }
  bound_terms(search, limit, &thin, &thick);
}

static void count_loads(LgSearch *search)
{
  for (guint i = 0; i < search->choices->len; i++)
    lg_choice(search, (int)i)->component = (int)i;
  for (guint l = 0; l < search->limits->len; l++) {
    const LgLimit *const limit = &g_array_index(search->limits, LgLimit, l);
    if (!limit->active || limit->hopeless)
      continue;
    for (guint t = 0; t < limit->terms->len; t++) {
      LgChoice *const c = lg_choice(search, g_array_index(limit->terms, LgTerm, t).wire);
      c->n_loads += c->last_load != limit->limit->load;
      c->last_load = limit->limit->load;
    }
  }
}

static void tie_components(LgSearch *search)
{
  for (guint l = 0; l < search->limits->len; l++) {
    const LgLimit *const limit = &g_array_index(search->limits, LgLimit, l);
    if (!limit->active || limit->hopeless)
      continue;
    for (guint t = 1; t < limit->terms->len; t++)
      lg_choice(search, lg_search_root(search, g_array_index(limit->terms, LgTerm, t).wire))
          ->component = lg_search_root(search, g_array_index(limit->terms, LgTerm, 0).wire);
  }
}

/* Limits that are broken as the wires stand and were not searched for; TRUE when there are any. */
static gboolean activate(LgSearch *search)
{
  gboolean news = FALSE;
  for (guint l = 0; l < search->limits->len; l++) {
    LgLimit *const limit = &g_array_index(search->limits, LgLimit, l);
    if (limit->active || lg_limit_is_kept(lg_search_read(search, limit, NULL), limit))
      continue;
    limit->active = news = TRUE;
  }
  return news;
}

static void forget(LgSearch *search)
{
  for (guint l = 0; l < search->limits->len; l++) {
    LgLimit *const limit = &g_array_index(search->limits, LgLimit, l);
    if (limit->terms != NULL)
      g_array_unref(limit->terms);
    limit->terms = NULL;
  }
  for (guint i = 0; i < search->choices->len; i++) {
    g_free(lg_choice(search, (int)i)->kg);
    g_free(lg_choice(search, (int)i)->ohm);
    search->number[lg_choice(search, (int)i)->wire] = -1;
  }
  g_array_set_size(search->choices, 0);
}

/* The bounds hold where currents grow with the volts. Loads of constant power turn that round for
 * what others on their way lose, by far less than a half per cent. */
static double shade_of(const LgJob *job)
{
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_ELECTRONIC)
      return 0.995;
  return 1 - 1e-6;
}

static void stand_at_least(LgSearch *search)
{
  const LgSizer *const sizer = search->sizer;
  for (int w = 0; w < sizer->job->n_wires; w++)
    if (sizer->job->wires[w].is_auto)
      lg_search_set_wire(search, w, sizer->least[w]);
}

static void search_once(LgSearch *search)
{
  LgSizer *const sizer = search->sizer;
  sizer->least_kg = 0;
  sizer->exhausted = TRUE;
  forget(search);
  stand_at_least(search);
  for (guint l = 0; l < search->limits->len; l++) {
    LgLimit *const limit = &g_array_index(search->limits, LgLimit, l);
    if (!limit->active)
      continue;
    bound_limit(search, limit);
    sizer->exhausted &= !limit->hopeless;
  }
  count_loads(search);
  tie_components(search);
  search->at = g_renew(int, search->at, search->choices->len + 1);
  search->best = g_renew(int, search->best, search->choices->len + 1);
  lg_search_components(search);
  for (int w = 0; w < sizer->job->n_wires; w++) {
    if (!sizer->job->wires[w].is_auto)
      continue;
    const int number = search->number[w];
    const gboolean searched = number >= 0 && lg_choice(search, number)->n_loads > 0;
    sizer->size[w] = sizer->least[w] + (searched ? search->at[number] : 0);
    if (!searched)
      sizer->least_kg += lg_sizer_kg(sizer, w, sizer->least[w]);
    lg_search_set_wire(search, w, sizer->size[w]);
  }
}

void lg_sizer_search(LgSizer *sizer)
{
  LgSearch search = {.sizer = sizer,
                     .meter = lg_drop_meter_new(sizer->out->circuit),
                     .shade = shade_of(sizer->job),
                     .limits = g_array_new(FALSE, TRUE, sizeof(LgLimit)),
                     .choices = g_array_new(FALSE, TRUE, sizeof(LgChoice)),
                     .number = g_new(int, (gsize)sizer->job->n_wires + 1)};
  for (int w = 0; w < sizer->job->n_wires; w++)
    search.number[w] = -1;
  for (guint l = 0; l < sizer->limits->len; l++) {
    const LgLimit limit = {.limit = &g_array_index(sizer->limits, LgDropLimit, l)};
    g_array_append_val(search.limits, limit);
  }
  stand_at_least(&search);
  sizer->n_tried++;
  activate(&search);
  do
    search_once(&search);
  while (activate(&search));
  forget(&search);
  g_array_unref(search.limits);
  g_array_unref(search.choices);
  g_free(search.number);
  g_free(search.at);
  g_free(search.best);
  lg_drop_meter_free(search.meter);
}
