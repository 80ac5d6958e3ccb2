/* Handover: one page for the owner, the inspector and the next owner. */
#include "base/words.h"
#include "packet/tables-private.h"
#include "studies/cautions.h"
#include <math.h>
#include <string.h>

static const LgColumn handover_columns[] = {
    LG_TEXT_COLUMN("subject", "Subject"),
    LG_TEXT_COLUMN("what", "What"),
    LG_TEXT_COLUMN("detail", "Detail"),
    LG_COLUMNS_END,
};

const char *const lg_handover_subjects[] = {N_("What was added"),
                                            N_("Protection"),
                                            N_("Taken from the vehicle"),
                                            N_("Limits"),
                                            N_("How to use it"),
                                            N_("How to disconnect it"),
                                            N_("Not proven"),
                                            NULL};

enum { ADDED, PROTECTION, TAKEN, LIMITS, USE, DISCONNECT, UNPROVEN };

static void add(LgTable *table, int subject, const char *what, const char *detail)
{
  lg_table_add(table, T_(lg_handover_subjects[subject]), what, detail);
}

static const char *place_of(const LgJob *job, const LgPart *part)
{
  if (part->place < 0)
    return T_("place not in the sheet");
  const LgPlace *const place = &job->places[part->place];
  return place->where != NULL ? place->where : place->name;
}

static gboolean is_class(const LgPart *part, const char *word)
{
  return strcmp(part->class_word, word) == 0;
}

static void add_added(LgTable *table, const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  for (int i = 0; i < job->n_vehicles; i++)
    if (job->vehicles[i].donor)
      add(table, ADDED, T_("donor"),
          job->vehicles[i].text != NULL ? job->vehicles[i].text : job->vehicles[i].name);
  for (int i = 0; i < job->n_parts; i++) {
    const LgPart *const part = &job->parts[i];
    if (part->is == LG_IS_HOST || !lg_part_is_wired(job, part) || is_class(part, "splice"))
      continue;
    g_autofree char *detail = g_strdup_printf("%s, %s", lg_words_is(part->is), place_of(job, part));
    g_autofree char *what = g_strdup_printf("%s: %s", part->name, lg_words_part(part));
    add(table, ADDED, what, detail);
  }
  g_autoptr(GArray) pieces = lg_pieces(sizing);
  double sum_m = 0;
  for (guint i = 0; i < pieces->len; i++)
    sum_m += lg_cut_length(job, &job->wires[g_array_index(pieces, int, i)]);
  g_autofree char *length = lg_words_quantity(job, sum_m, LG_DIM_LENGTH);
  g_autofree char *n = lg_words_count(pieces->len, T_("new wire"), T_("new wires"));
  g_autofree char *detail = g_strdup_printf(T_("%s in all, labelled at both ends"), length);
  add(table, ADDED, n, detail);
}

static void add_protection(LgTable *table, const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  for (int e = 0; e < job->n_elements; e++) {
    const LgPart *const part = &job->parts[job->elements[e].part];
    if (!lg_element_is_protection(job->elements[e].kind) || part->is == LG_IS_HOST)
      continue;
    const double rating_A = sizing->fuses[e].rating_A;
    g_autofree char *rating =
        isnan(rating_A) ? g_strdup(T_("NO RATING SERVES")) : lg_words_rating(rating_A);
    g_autofree char *what =
        g_strdup_printf("%s: %s, %s", lg_words_name(job, e), rating, lg_words_element(job, e));
    add(table, PROTECTION, what, place_of(job, part));
  }
}

/* New wires that end at a part of the vehicle: where this job taps and where it returns. */
static void add_taken(LgTable *table, const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  for (int w = 0; w < job->n_wires; w++)
    for (int k = 0; k < 2; k++) {
      const LgPin *const pin = &job->pins[job->wires[w].pin[k]];
      if (!lg_wire_is_cut(&job->wires[w]) || job->parts[pin->part].is != LG_IS_HOST)
        continue;
      g_autofree char *fuse = lg_words_fuses(sizing, w);
      g_autofree char *most = lg_words_quantity(job, sizing->wires[w].most_A, LG_DIM_CURRENT);
      const gboolean feed = sizing->protection[w].side == LG_SIDE_FEED;
      g_autofree char *what = g_strdup_printf(T_("%s at %s"), job->wires[w].name, pin->name);
      g_autofree char *bare = lg_words_quantity(job, sizing->protection[w].bare_m, LG_DIM_LENGTH);
      g_autofree char *detail =
          feed && strcmp(fuse, "none") == 0
              ? g_strdup_printf(T_("at most %s; %s to its first fuse"), most, bare)
          : feed ? g_strdup_printf(T_("at most %s; its fuse: %s"), most, fuse)
                 : g_strdup_printf(T_("at most %s, %s side"), most, T_(job->ground_word));
      add(table, TAKEN, what, detail);
    }
}

static double rest_of(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  double rest_A = 0;
  for (int e = 0; e < job->n_elements; e++)
    if (lg_element_is_load(job->elements[e].kind) &&
        job->parts[job->elements[e].part].is != LG_IS_HOST &&
        !isnan(sizing->states->elements[e].rest_A.value))
      rest_A += fabs(sizing->states->elements[e].rest_A.value);
  return rest_A;
}

static void add_limits(LgTable *table, const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  g_autofree char *cold = lg_quantity_print(job->cold_K, LG_DIM_TEMPERATURE, job->habit, 2);
  g_autofree char *hot = lg_quantity_print(job->hot_K, LG_DIM_TEMPERATURE, job->habit, 2);
  g_autofree char *ambient = g_strdup_printf(T_("%s to %s outside"), cold, hot);
  g_autofree char *volts = lg_words_quantity(job, job->nominal_V, LG_DIM_VOLTAGE);
  add(table, LIMITS, T_("reckoned for"), ambient);
  add(table, LIMITS, T_("nominal volts"), volts);
  const double rest_A = rest_of(sizing);
  g_autofree char *rest =
      rest_A < 1e-9 ? g_strdup(T_("nothing")) : lg_words_quantity(job, rest_A, LG_DIM_CURRENT);
  add(table, LIMITS, T_("drawn with everything at rest"), rest);
  add(table, LIMITS, T_("fuses"),
      T_("only the ratings above; a fuse that blows again is a fault to be found, not a fuse too "
         "small"));
}

static void add_use(LgTable *table, const LgSizing *sizing)
{
  g_autoptr(LgTable) circuits = lg_table_circuits(sizing);
  const LgJob *const job = sizing->circuit->job;
  for (int row = 0; row < circuits->n_rows; row++) {
    const int e = lg_job_find_element(job, lg_table_text(circuits, row, "load"));
    if (e >= 0 && job->parts[job->elements[e].part].is == LG_IS_HOST)
      continue;
    g_autofree char *most =
        lg_table_print_cell(circuits, row, lg_table_column(circuits, "most_A"), job->habit);
    g_autofree char *what = g_strdup_printf("%s: %s", lg_table_text(circuits, row, "load"),
                                            lg_table_text(circuits, row, "what"));
    const char *const by = lg_table_text(circuits, row, "switched_by");
    g_autofree char *detail =
        g_strdup_printf(T_("switched by %s; %s"), by[0] != '\0' ? by : T_("nothing"), most);
    add(table, USE, what, detail);
  }
}

/* A fuse with no other new fuse before it: taking it out kills all behind it. */
static gboolean is_first(const LgSizing *sizing, int e)
{
  const LgJob *const job = sizing->circuit->job;
  for (int w = 0; w < job->n_wires; w++)
    for (int k = 0; k < 2; k++) {
      if (job->wires[w].pin[k] != job->elements[e].pin[0])
        continue;
      for (int i = 0; i < sizing->protection[w].n_devices; i++) {
        const int before = sizing->protection[w].devices[i];
        if (before != e && job->parts[job->elements[before].part].is != LG_IS_HOST)
          return FALSE;
      }
    }
  return TRUE;
}

static void add_disconnect(LgTable *table, const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  g_autoptr(GString) fuses = g_string_new(NULL);
  for (int e = 0; e < job->n_elements; e++)
    if (lg_element_is_protection(job->elements[e].kind) &&
        job->parts[job->elements[e].part].is != LG_IS_HOST && is_first(sizing, e)) {
      g_autofree char *one = g_strdup_printf("%s (%s)", lg_words_name(job, e),
                                             place_of(job, &job->parts[job->elements[e].part]));
      lg_words_add(fuses, ", ", one);
    }
  add(table, DISCONNECT, T_("take out"),
      fuses->len > 0 ? fuses->str : T_("NO FUSE OF THIS JOB: battery minus off"));
  add(table, DISCONNECT, T_("then"),
      T_("check with a lamp that nothing answers; the vehicle is as before"));
  add(table, DISCONNECT, T_("before work on seats or steering wheel"),
      T_("key off, battery minus off, wait as the vehicle's manual says"));
}

static void add_unproven(LgTable *table, const LgJob *job)
{
  g_autoptr(GString) pins = g_string_new(NULL);
  for (int p = 0; p < job->n_pins; p++)
    if (!job->pins[p].from_type && job->pins[p].evidence != LG_EVIDENCE_MEASURED &&
        job->pins[p].fitted != LG_FITTED_NO && !lg_pin_is_restraint(job, p))
      lg_words_add(pins, ", ", job->pins[p].name);
  if (pins->len > 0)
    add(table, UNPROVEN, T_("pins that nobody has measured"), pins->str);
  g_autoptr(GString) alone = g_string_new(NULL);
  for (int p = 0; p < job->n_pins; p++)
    if (lg_pin_is_restraint(job, p))
      lg_words_add(alone, ", ", job->pins[p].name);
  if (alone->len > 0)
    add(table, UNPROVEN, T_("restraint circuits, left alone and not joined"), alone->str);
}

LgTable *lg_table_handover(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  LgTable *const table = lg_table_new("handover", T_("Handover"), handover_columns);
  add_added(table, sizing);
  add_protection(table, sizing);
  add_taken(table, sizing);
  add_limits(table, sizing);
  add_use(table, sizing);
  add_disconnect(table, sizing);
  add_unproven(table, job);
  g_autoptr(GPtrArray) cautions = lg_cautions_of(job);
  g_autoptr(GString) note = g_string_new(T_("Cautions that stay with the vehicle: "));
  for (guint i = 0; i < cautions->len; i++)
    g_string_append_printf(note, "%s%s", i > 0 ? "; " : "",
                           T_(((const LgCaution *)cautions->pdata[i])->title));
  g_string_append(note,
                  T_(". Figures are an aid to a competent person; local codes, inspection and the "
                     "makers' manuals rule. One copy for the owner, one for who did the work."));
  table->note = g_string_free(g_steal_pointer(&note), FALSE);
  return table;
}
