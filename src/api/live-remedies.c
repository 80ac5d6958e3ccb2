/* What may help against a finding, by its rule: edits of the sheet, the smallest change first. None
 * is named to anybody before it was tried. */
#include "api/live-private.h"
#include "base/words.h"
#include "packet/tables-private.h"
#include "studies/mend.h"
#include <math.h>
#include <string.h>

enum { MOST_SIZES = 4, MOST_RATINGS = 3, MOST_TYPES = 12, MOST_COVERS = 4, MOST_COLOURS = 3 };

typedef struct {
  const LgLive *live;
  const LgJob *job;
  const LgFinding *finding;
  LgThingKind thing; /* LG_N_THINGS: none of them */
  int index;
  int record;
  GArray *out; /* LgCandidate */
} Trying;

static void clear_candidate(gpointer data)
{
  LgCandidate *const candidate = data;
  g_free(candidate->words);
  json_decref(candidate->edits);
}

/* Takes both. */
static void add(Trying *t, char *words, json_t *edits)
{
  const LgCandidate candidate = {words, edits};
  if (json_array_size(edits) > 0)
    g_array_append_val(t->out, candidate);
  else
    clear_candidate(&(LgCandidate){words, edits});
}

/* --- edits --- */

static json_t *record_json(const Trying *t, int index)
{
  const LgRecord *const record = lg_sheet_record(t->job->sheet, (guint)index);
  if (record->name == NULL)
    return json_pack("{s:i}", "index", index);
  return json_pack("{s:s, s:s, s:i}", "kind", lg_kinds[record->kind].word, "name", record->name,
                   "variant", record->variant);
}

static void set(const Trying *t, json_t *edits, int record, const char *key, const char *value)
{
  if (record >= 0)
    json_array_append_new(edits, json_pack("{s:s, s:o, s:s, s:s}", "do", "set", "record",
                                           record_json(t, record), "key", key, "value", value));
}

static void set_wire(const Trying *t, json_t *edits, int wire, const char *key, const char *value)
{
  set(t, edits, (int)t->job->wires[wire].record, key, value);
}

static void append(json_t *edits, const char *text)
{
  json_array_append_new(edits, json_pack("{s:s, s:s}", "do", "add", "text", text));
}

static void drop(const Trying *t, json_t *edits, int record)
{
  if (record >= 0)
    json_array_append_new(
        edits, json_pack("{s:s, s:o}", "do", "remove", "record", record_json(t, record)));
}

/* --- which wires it is about --- */

static void note_wire(GArray *wires, const LgJob *job, int wire)
{
  for (guint i = 0; i < wires->len; i++)
    if (g_array_index(wires, int, i) == wire)
      return;
  if (job->wires[wire].is == LG_IS_NEW)
    g_array_append_val(wires, wire);
}

static int element_of(const Trying *t)
{
  if (t->thing == LG_THING_ELEMENT)
    return t->index;
  return t->thing == LG_THING_PART && t->job->parts[t->index].n_elements > 0
             ? t->job->parts[t->index].first_element
             : -1;
}

static int part_of(const Trying *t)
{
  return t->thing == LG_THING_ELEMENT ? t->job->elements[t->index].part
         : t->thing == LG_THING_PIN   ? t->job->pins[t->index].part
         : t->thing == LG_THING_PART  ? t->index
                                      : -1;
}

/* The protection that it is about, -1. */
static int fuse_of(const Trying *t)
{
  const int element = element_of(t);
  if (element >= 0 && lg_element_is_protection(t->job->elements[element].kind))
    return element;
  if (t->thing != LG_THING_WIRE)
    return -1;
  const LgProtection *const p = &t->live->sizing->protection[t->index];
  return p->rating_device >= 0 ? p->rating_device : p->n_devices > 0 ? p->devices[0] : -1;
}

static void note_protected(const Trying *t, GArray *wires, int fuse)
{
  const LgSizing *const sizing = t->live->sizing;
  if (sizing->fuses[fuse].wire >= 0 && sizing->fuses[fuse].wire < t->job->n_wires)
    note_wire(wires, t->job, sizing->fuses[fuse].wire);
  for (int w = 0; w < t->job->n_wires; w++) {
    const LgProtection *const p = &sizing->protection[w];
    gboolean behind = p->rating_device == fuse;
    for (int d = 0; d < p->n_devices; d++)
      behind |= p->devices[d] == fuse;
    if (behind)
      note_wire(wires, t->job, w);
  }
}

static void note_path(const Trying *t, GArray *wires, int element)
{
  g_autoptr(LgPaths) paths = lg_paths_new(t->live->sizing);
  const GArray *const path = paths->path[element];
  for (guint i = 0; path != NULL && i < path->len; i++)
    if (g_array_index(path, LgStep, i).is_wire)
      note_wire(wires, t->job, g_array_index(path, LgStep, i).index);
}

/* int: new wires, the likeliest first. */
static GArray *wires_of(const Trying *t)
{
  GArray *const wires = g_array_new(FALSE, FALSE, sizeof(int));
  const int element = element_of(t);
  if (t->thing == LG_THING_WIRE)
    note_wire(wires, t->job, t->index);
  else if (fuse_of(t) >= 0)
    note_protected(t, wires, fuse_of(t));
  else if (element >= 0 && lg_element_is_end(t->job->elements[element].kind))
    note_path(t, wires, element);
  return wires;
}

/* --- wires --- */

static gboolean is_given(const LgJob *job, int wire)
{
  return !job->wires[wire].is_auto;
}

static void wire_auto(Trying *t)
{
  g_autoptr(GArray) wires = wires_of(t);
  g_autoptr(GString) names = g_string_new(NULL);
  json_t *const all = json_array();
  for (guint i = 0; i < wires->len; i++) {
    const int w = g_array_index(wires, int, i);
    if (!is_given(t->job, w))
      continue;
    if (names->len == 0 && wires->len > 1) {
      json_t *const one = json_array();
      set_wire(t, one, w, "size", "auto");
      add(t, g_strdup_printf(T_("choose the size of %s anew"), t->job->wires[w].name), one);
    }
    set_wire(t, all, w, "size", "auto");
    lg_words_add(names, ", ", t->job->wires[w].name);
  }
  add(t, g_strdup_printf(T_("choose the size of %s anew"), names->str), all);
}

static void wire_sizes(Trying *t)
{
  g_autoptr(GArray) wires = wires_of(t);
  const GPtrArray *const conductors = lg_catalogue_conductors(t->job->catalogue);
  for (guint i = 0; i < MIN(wires->len, 2); i++) {
    const int w = g_array_index(wires, int, i);
    const LgConductor *const now = t->live->sizing->chosen[w];
    int n = 0;
    for (guint c = 0; c < conductors->len && n < MOST_SIZES; c++) {
      const LgConductor *const conductor = conductors->pdata[c];
      if (conductor->is_awg != now->is_awg || conductor->area_mm2 <= now->area_mm2)
        continue;
      n++;
      json_t *const edits = json_array();
      g_autofree char *size = lg_words_size(conductor);
      set_wire(t, edits, w, "size", conductor->name);
      add(t, g_strdup_printf(T_("%s in %s"), t->job->wires[w].name, size), edits);
    }
  }
}

static int by_temperature(gconstpointer a, gconstpointer b)
{
  const LgInsulation *const x = *(const LgInsulation *const *)a, *const y = *(
                                                                     const LgInsulation *const *)b;
  return x->temperature_K < y->temperature_K ? -1 : x->temperature_K > y->temperature_K;
}

static void wire_insulation(Trying *t)
{
  g_autoptr(GArray) wires = wires_of(t);
  const GPtrArray *const insulations = lg_catalogue_insulations(t->job->catalogue);
  g_autoptr(GPtrArray) sorted = g_ptr_array_new();
  if (wires->len == 0)
    return;
  for (guint i = 0; i < insulations->len; i++)
    g_ptr_array_add(sorted, insulations->pdata[i]);
  g_ptr_array_sort(sorted, by_temperature);
  const int w = g_array_index(wires, int, 0);
  double last_K = t->job->wires[w].insulation->temperature_K;
  for (guint i = 0; i < sorted->len; i++) {
    const LgInsulation *const insulation = sorted->pdata[i];
    if (insulation->temperature_K <= last_K)
      continue;
    last_K = insulation->temperature_K;
    json_t *const edits = json_array();
    g_autofree char *bears =
        lg_words_quantity(t->job, insulation->temperature_K, LG_DIM_TEMPERATURE);
    set_wire(t, edits, w, "insulation", insulation->name);
    add(t,
        g_strdup_printf(T_("%s with insulation %s, which bears %s"), t->job->wires[w].name,
                        insulation->name, bears),
        edits);
  }
}

/* The record that speaks of a rating: the element's own, else its part's when nothing else is in
 * it. */
static int rating_record(const LgJob *job, int element)
{
  const LgElement *const e = &job->elements[element];
  const int own = lg_mend_record(job, LG_KIND_ELEMENT, e->name);
  return own >= 0 ? own : lg_mend_record(job, LG_KIND_PART, job->parts[e->part].name);
}

static void set_given_sizes(const Trying *t, json_t *edits)
{
  for (int w = 0; w < t->job->n_wires; w++)
    if (is_given(t->job, w) && t->job->wires[w].is == LG_IS_NEW)
      set_wire(t, edits, w, "size", "auto");
}

/* The last resort: every new wire and every fuse of the sheet. */
static void all_anew(Trying *t)
{
  json_t *const edits = json_array();
  set_given_sizes(t, edits);
  add(t, g_strdup(T_("choose all sizes anew")), json_deep_copy(edits));
  for (int e = 0; e < t->job->n_elements; e++)
    if (lg_element_is_protection(t->job->elements[e].kind) && !t->job->elements[e].rating_auto &&
        t->job->parts[t->job->elements[e].part].is == LG_IS_NEW)
      set(t, edits, rating_record(t->job, e), "rating", "auto");
  add(t, g_strdup(T_("choose all sizes and ratings anew")), edits);
}

static void wire_away(Trying *t)
{
  if (t->thing != LG_THING_WIRE)
    return;
  json_t *const edits = json_array();
  drop(t, edits, (int)t->job->wires[t->index].record);
  add(t, g_strdup_printf(T_("take %s out of the sheet"), t->job->wires[t->index].name), edits);
}

static void record_away(Trying *t)
{
  if (t->record < 0)
    return;
  json_t *const edits = json_array();
  const LgRecord *const record = lg_sheet_record(t->job->sheet, (guint)t->record);
  drop(t, edits, t->record);
  add(t,
      g_strdup_printf(T_("take %s %s out of the sheet"), lg_kinds[record->kind].word,
                      record->name != NULL ? record->name : ""),
      edits);
}

/* Wires that meet at a part. */
static gboolean has_colour_near(const LgJob *job, int wire, const char *colour)
{
  for (int w = 0; w < job->n_wires; w++)
    for (int i = 0; i < 2; i++)
      for (int k = 0; k < 2; k++)
        if (w != wire &&
            job->pins[job->wires[w].pin[i]].part == job->pins[job->wires[wire].pin[k]].part &&
            g_strcmp0(job->wires[w].colour, colour) == 0)
          return TRUE;
  return FALSE;
}

/* The colours that mean least by custom come first. */
static void wire_colour(Trying *t)
{
  static const char *const colours[] = {"BU",    "GN",    "YE",    "WH",    "GY",    "VT",
                                        "OG",    "PK",    "BU/WH", "GN/WH", "YE/BK", "WH/BK",
                                        "GY/RD", "VT/WH", "OG/BK", "BU/YE", "GN/RD", "BU/RD"};
  int n = 0;
  if (t->thing != LG_THING_WIRE || t->job->wires[t->index].is != LG_IS_NEW)
    return;
  for (gsize i = 0; i < G_N_ELEMENTS(colours) && n < MOST_COLOURS; i++) {
    if (has_colour_near(t->job, t->index, colours[i]) ||
        g_strcmp0(t->job->wires[t->index].colour, colours[i]) == 0)
      continue;
    n++;
    json_t *const edits = json_array();
    set_wire(t, edits, t->index, "colour", colours[i]);
    add(t, g_strdup_printf(T_("%s in %s"), t->job->wires[t->index].name, colours[i]), edits);
  }
}

/* --- fuses --- */

static void set_rating(const Trying *t, json_t *edits, int element, const char *rating)
{
  set(t, edits, rating_record(t->job, element), "rating", rating);
}

static void fuse_auto(Trying *t)
{
  const int fuse = fuse_of(t);
  if (fuse < 0)
    return;
  const char *const name = lg_words_name(t->job, fuse);
  if (!t->job->elements[fuse].rating_auto) {
    json_t *const edits = json_array();
    set_rating(t, edits, fuse, "auto");
    add(t, g_strdup_printf(T_("choose the rating of %s anew"), name), edits);
  }
}

/* The fuse and all wires behind it. */
static void fuse_and_wires(Trying *t)
{
  const int fuse = fuse_of(t);
  g_autoptr(GArray) wires = g_array_new(FALSE, FALSE, sizeof(int));
  json_t *const edits = json_array();
  if (fuse >= 0) {
    note_protected(t, wires, fuse);
    set_rating(t, edits, fuse, "auto");
  }
  for (guint i = 0; i < wires->len; i++)
    if (is_given(t->job, g_array_index(wires, int, i)))
      set_wire(t, edits, g_array_index(wires, int, i), "size", "auto");
  add(t,
      g_strdup_printf(T_("choose the rating of %s and the sizes behind it anew"),
                      fuse >= 0 ? lg_words_name(t->job, fuse) : ""),
      edits);
}

static void fuse_ratings(Trying *t, int direction)
{
  const int fuse = fuse_of(t);
  if (fuse < 0 || t->job->elements[fuse].form == NULL)
    return;
  const double now_A = t->live->sizing->fuses[fuse].rating_A;
  const GPtrArray *const fuses = lg_catalogue_fuses(t->job->catalogue);
  int n = 0;
  for (guint i = 0; i < fuses->len && n < MOST_RATINGS; i++) {
    const LgFuse *const f = fuses->pdata[direction > 0 ? i : fuses->len - 1 - i];
    if (strcmp(f->form, t->job->elements[fuse].form) != 0 || isnan(now_A) ||
        direction * (f->rating_A - now_A) <= 0)
      continue;
    n++;
    json_t *const edits = json_array();
    g_autofree char *number = lg_number_print(f->rating_A, 6);
    g_autofree char *value = g_strconcat(number, "A", NULL);
    set_rating(t, edits, fuse, value);
    add(t, g_strdup_printf(T_("%s with %s A"), lg_words_name(t->job, fuse), number), edits);
  }
}

static void fuse_lower(Trying *t)
{
  fuse_ratings(t, -1);
}

static void fuse_higher(Trying *t)
{
  fuse_ratings(t, 1);
}

/* The end at which a source's own post feeds it, -1. */
static int source_end(const LgJob *job, int wire)
{
  for (int k = 0; k < 2; k++) {
    const LgPart *const part = &job->parts[job->pins[job->wires[wire].pin[k]].part];
    for (int e = part->first_element; e < part->first_element + part->n_elements; e++)
      if (lg_element_is_source(job->elements[e].kind))
        return k;
  }
  return -1;
}

/* A fuse of its own, 0.15 m from that end. */
static void put_fuse(Trying *t, int wire, int end, const char *type)
{
  const LgJob *const job = t->job;
  const LgWire *const w = &job->wires[wire];
  const LgPin *const pin = &job->pins[w->pin[end]];
  g_autofree char *fuse = lg_mend_name(job, "F");
  g_autofree char *lead = lg_mend_name(job, "WF");
  g_autofree char *place = lg_mend_place(job, pin->part);
  g_autofree char *at = g_strconcat(fuse, ".2", NULL);
  g_autofree char *text =
      g_strdup_printf("part %s %s%s rating=auto\nwire %s %s %s.1 %s auto length=0.15m\n", fuse,
                      type, place, lead, pin->name, fuse, w->colour != NULL ? w->colour : "RD");
  json_t *const edits = json_array();
  set_wire(t, edits, wire, end == 0 ? "from" : "to", at);
  append(edits, text);
  json_t *const resized = json_deep_copy(edits);
  set_given_sizes(t, resized);
  add(t, g_strdup_printf(T_("a fuse (%s) in %s, 0.15 m from %s"), type, w->name, pin->name), edits);
  add(t,
      g_strdup_printf(T_("a fuse (%s) in %s, 0.15 m from %s, and all sizes chosen anew"), type,
                      w->name, pin->name),
      resized);
}

/* In the wire itself when it comes from a source, else in those that do and have none. */
static void fuse_put_in(Trying *t)
{
  static const char *const types[] = {"fuse-blade", "fuse-maxi", "fuse-bolt-30"};
  const gboolean itself = t->thing == LG_THING_WIRE && source_end(t->job, t->index) >= 0;
  for (gsize i = 0; i < G_N_ELEMENTS(types); i++)
    for (int w = 0; w < t->job->n_wires; w++) {
      const LgProtection *const p = &t->live->sizing->protection[w];
      const int end = source_end(t->job, w);
      if (end < 0 || t->job->wires[w].is != LG_IS_NEW || (itself && w != t->index) ||
          (!itself && (p->side != LG_SIDE_FEED || p->bare_source < 0 || p->n_devices > 0)))
        continue;
      put_fuse(t, w, end, types[i]);
    }
}

/* --- parts --- */

static gboolean has_pin(const LgType *type, const char *short_name)
{
  for (guint i = 0; i < type->pins->len; i++) {
    const char *const name = ((const LgRecord *)type->pins->pdata[i])->name;
    const char *const dot = name != NULL ? strchr(name, '.') : NULL;
    if (g_strcmp0(dot != NULL ? dot + 1 : name, short_name) == 0)
      return TRUE;
  }
  return FALSE;
}

/* Whether an element of the type is made for other volts than the job has. */
static gboolean is_for_other_volts(const LgJob *job, const LgType *type)
{
  for (guint i = 0; i < type->elements->len; i++) {
    const LgValue *const volts = lg_record_key(type->elements->pdata[i], "volts");
    if (volts != NULL && !isnan(job->nominal_V) && fabs(volts->low / job->nominal_V - 1) > 0.3)
      return TRUE;
  }
  return FALSE;
}

/* Every terminal that has a wire is there, too. */
static gboolean can_take_its_place(const LgJob *job, int part, const LgType *type)
{
  const LgPart *const p = &job->parts[part];
  if (type == p->type || type->class_word != p->type->class_word || is_for_other_volts(job, type))
    return FALSE;
  for (int w = 0; w < job->n_wires; w++)
    for (int k = 0; k < 2; k++) {
      const LgPin *const pin = &job->pins[job->wires[w].pin[k]];
      if (pin->part == part && !has_pin(type, pin->short_name))
        return FALSE;
    }
  return TRUE;
}

static void part_type(Trying *t)
{
  const int part = part_of(t);
  if (part < 0 || t->job->parts[part].type == NULL || t->job->parts[part].is != LG_IS_NEW)
    return;
  const int record = lg_mend_record(t->job, LG_KIND_PART, t->job->parts[part].name);
  const GPtrArray *const types = lg_catalogue_types(t->job->catalogue);
  int n = 0;
  for (guint i = 0; i < types->len && n < MOST_TYPES; i++) {
    const LgType *const type = types->pdata[i];
    if (!can_take_its_place(t->job, part, type))
      continue;
    n++;
    json_t *const edits = json_array();
    set(t, edits, record, "type", type->name);
    add(t, g_strdup_printf(T_("%s as %s"), t->job->parts[part].name, type->name), edits);
  }
}

/* A part of the sheet that its terminals or contacts are too small for stands in the way of larger
 * wires, so both are changed. */
static void sizes_and_type(Trying *t)
{
  for (guint i = 0; i < t->live->findings->len; i++) {
    const LgFinding *const f = t->live->findings->pdata[i];
    const LgSubject *const subject = &g_array_index(t->live->subjects, LgSubject, i);
    LgThingKind thing;
    int index;
    if (strcmp(f->rule, "terminal-overloaded") != 0 || subject->kind == NULL ||
        !lg_live_find(t->live, subject->kind, subject->name, &thing, &index, NULL) ||
        thing != LG_THING_PART)
      continue;
    Trying other = *t;
    other.thing = thing;
    other.index = index;
    const guint first = t->out->len;
    part_type(&other);
    for (guint k = first; k < t->out->len; k++) {
      LgCandidate *const candidate = &g_array_index(t->out, LgCandidate, k);
      char *const words = g_strdup_printf(T_("%s, and all sizes chosen anew"), candidate->words);
      set_given_sizes(t, candidate->edits);
      g_free(candidate->words);
      candidate->words = words;
    }
    return;
  }
}

/* The blade of a catalogue part is what it is, and a ring must fit its stud. */
static gboolean may_choose(const LgPin *pin)
{
  return pin->terminal != NULL && !pin->from_type && !g_str_has_prefix(pin->terminal->name, "ring");
}

static void pin_terminals(Trying *t, int pin)
{
  const LgJob *const job = t->job;
  const GPtrArray *const terminals = lg_catalogue_terminals(job->catalogue);
  const char *const now = job->pins[pin].terminal->name;
  const gsize family = strcspn(now, "-");
  const int record = lg_mend_record(job, LG_KIND_PIN, job->pins[pin].name);
  for (guint i = 0; i < terminals->len; i++) {
    const LgTerminal *const terminal = terminals->pdata[i];
    if (strncmp(terminal->name, now, family) != 0 || strcmp(terminal->name, now) == 0)
      continue;
    json_t *const edits = json_array();
    g_autofree char *text =
        g_strdup_printf("pin %s terminal=%s\n", job->pins[pin].name, terminal->name);
    if (record >= 0)
      set(t, edits, record, "terminal", terminal->name);
    else
      append(edits, text);
    add(t, g_strdup_printf(T_("a %s terminal at %s"), terminal->name, job->pins[pin].name), edits);
  }
}

static void terminals(Trying *t)
{
  for (int k = 0; k < 2 && t->thing == LG_THING_WIRE; k++)
    if (may_choose(&t->job->pins[t->job->wires[t->index].pin[k]]))
      pin_terminals(t, t->job->wires[t->index].pin[k]);
  if (t->thing == LG_THING_PIN && may_choose(&t->job->pins[t->index]))
    pin_terminals(t, t->index);
}

/* The wires of its two pins change places. */
static void turn_round(Trying *t)
{
  const int element = element_of(t);
  if (element < 0 || t->job->elements[element].pin[1] < 0)
    return;
  const LgElement *const e = &t->job->elements[element];
  json_t *const edits = json_array();
  for (int w = 0; w < t->job->n_wires; w++)
    for (int k = 0; k < 2; k++)
      for (int side = 0; side < 2; side++)
        if (t->job->wires[w].pin[k] == e->pin[side])
          set_wire(t, edits, w, k == 0 ? "from" : "to", t->job->pins[e->pin[1 - side]].name);
  add(t, g_strdup_printf(T_("turn %s round"), lg_words_name(t->job, element)), edits);
}

/* The coil that an output works, from the words of the finding. */
static int coil_in_words(const Trying *t)
{
  g_auto(GStrv) words = g_strsplit_set(t->finding->what, " ,;:", -1);
  for (guint i = 0; words[i] != NULL; i++) {
    const int element = lg_job_find_element(t->job, words[i]);
    const int part = lg_job_find_part(t->job, words[i]);
    if (element >= 0 && (t->job->elements[element].kind == LG_EL_COIL ||
                         t->job->elements[element].kind == LG_EL_SOLENOID))
      return element;
    for (int e = 0; part >= 0 && e < t->job->parts[part].n_elements; e++)
      if (t->job->elements[t->job->parts[part].first_element + e].kind == LG_EL_COIL ||
          t->job->elements[t->job->parts[part].first_element + e].kind == LG_EL_SOLENOID)
        return t->job->parts[part].first_element + e;
  }
  return -1;
}

static void coil_quenched(Trying *t)
{
  const int coil = coil_in_words(t);
  if (coil < 0)
    return;
  const LgElement *const e = &t->job->elements[coil];
  const int own = lg_mend_record(t->job, LG_KIND_ELEMENT, e->name);
  const int record =
      own >= 0 ? own : lg_mend_record(t->job, LG_KIND_PART, t->job->parts[e->part].name);
  static const char *const kinds[] = {"diode", "resistor"};
  for (gsize i = 0; i < G_N_ELEMENTS(kinds); i++) {
    json_t *const edits = json_array();
    set(t, edits, record, "suppression", kinds[i]);
    add(t,
        g_strdup_printf(T_("%s with a %s across its coil"), lg_words_name(t->job, coil), kinds[i]),
        edits);
  }
}

/* --- runs --- */

static int run_of(const Trying *t)
{
  if (t->record < 0)
    return -1;
  const LgRecord *const record = lg_sheet_record(t->job->sheet, (guint)t->record);
  for (int r = 0; record->kind == LG_KIND_RUN && r < t->job->n_runs; r++)
    if (strcmp(t->job->runs[r].name, record->name) == 0)
      return r;
  return -1;
}

static void run_cover(Trying *t)
{
  const int run = run_of(t);
  const GPtrArray *const covers = lg_catalogue_covers(t->job->catalogue);
  int n = 0;
  if (run < 0)
    return;
  for (guint i = 0; i < covers->len && n < MOST_COVERS; i++) {
    const LgCover *const cover = covers->pdata[i];
    const LgCover *const now = t->job->runs[run].cover;
    if (cover == now || g_str_has_prefix(cover->name, "grommet") ||
        (now != NULL && cover->temperature_K <= now->temperature_K))
      continue;
    n++;
    json_t *const edits = json_array();
    set(t, edits, t->record, "cover", cover->name);
    add(t, g_strdup_printf(T_("%s over run %s"), cover->name, t->job->runs[run].name), edits);
  }
}

static void wire_sheathed(Trying *t)
{
  if (t->thing != LG_THING_WIRE)
    return;
  json_t *const edits = json_array();
  set_wire(t, edits, t->index, "sheathed", "yes");
  add(t, g_strdup_printf(T_("%s in a sheath over its whole length"), t->job->wires[t->index].name),
      edits);
}

/* --- by rule --- */

typedef void (*Generator)(Trying *t);
enum { MOST_GENERATORS = 8 };

static const struct {
  const char *rule;
  Generator make[MOST_GENERATORS];
} by_rule[] = {
    {"restraint-wired", {wire_away}},
    {"restraint-read", {record_away}},
    {"no-fuse", {fuse_put_in}},
    {"fuse-far", {fuse_put_in}},
    {"fuse-at-one-end", {fuse_put_in}},
    {"fuse-above-wire",
     {wire_auto, fuse_auto, fuse_lower, wire_sizes, fuse_and_wires, all_anew, sizes_and_type}},
    {"overload-lasts", {wire_auto, fuse_auto, fuse_lower, wire_sizes, fuse_and_wires, all_anew}},
    {"short-lasts", {wire_auto, fuse_lower, wire_sizes, wire_insulation, all_anew}},
    {"fuse-loaded", {fuse_auto, fuse_higher, fuse_and_wires, all_anew}},
    {"fuse-start", {fuse_auto, fuse_higher, fuse_and_wires, all_anew}},
    {"fuse-not-sold", {fuse_auto, fuse_lower, fuse_higher}},
    {"no-rating", {fuse_and_wires, wire_auto, wire_sizes, part_type, all_anew}},
    {"no-size", {fuse_auto, fuse_lower, wire_insulation, all_anew, sizes_and_type}},
    {"wire-overloaded", {wire_auto, wire_sizes, wire_insulation, all_anew, sizes_and_type}},
    {"wire-weak", {wire_auto, wire_sizes}},
    {"drop", {wire_auto, wire_sizes, all_anew, sizes_and_type}},
    {"cut-out", {wire_auto, wire_sizes, all_anew}},
    {"far-power", {wire_auto, wire_sizes}},
    {"coil-weak", {wire_auto, wire_sizes, part_type, all_anew}},
    {"coil-weak-cranking", {wire_auto, wire_sizes, part_type, all_anew}},
    {"coil-dip", {wire_auto, wire_sizes, part_type, all_anew}},
    {"relay-chatter", {part_type}},
    {"relay-latching", {part_type}},
    {"relay-worn", {part_type}},
    {"over-volts", {part_type}},
    {"contact-overloaded", {part_type}},
    {"contact-unrated", {part_type}},
    {"terminal-overloaded", {part_type, terminals}},
    {"terminal-range", {wire_auto, wire_sizes, terminals, all_anew, sizes_and_type}},
    {"output-kick", {coil_quenched}},
    {"reversed", {turn_round}},
    {"diode-reversed", {turn_round}},
    {"cover-hot", {wire_auto, run_cover}},
    {"edge-bare", {run_cover, wire_sheathed}},
    {"moving-bare", {run_cover}},
    {"colour-twice", {wire_colour}},
    {"green-yellow", {wire_colour}},
    {"dead-end", {wire_away}},
    {"not-fitted", {wire_away}},
};

GArray *lg_live_candidates(const LgLive *live, guint finding)
{
  const LgSubject *const subject = &g_array_index(live->subjects, LgSubject, finding);
  Trying t = {.live = live,
              .job = live->job,
              .finding = live->findings->pdata[finding],
              .thing = LG_N_THINGS,
              .index = -1,
              .record = subject->record,
              .out = g_array_new(FALSE, FALSE, sizeof(LgCandidate))};
  g_array_set_clear_func(t.out, clear_candidate);
  if (subject->kind != NULL && subject->name != NULL)
    lg_live_find(live, subject->kind, subject->name, &t.thing, &t.index, NULL);
  if (t.index < 0)
    t.thing = LG_N_THINGS;
  for (gsize i = 0; i < G_N_ELEMENTS(by_rule); i++)
    if (strcmp(by_rule[i].rule, t.finding->rule) == 0)
      for (int k = 0; k < MOST_GENERATORS && by_rule[i].make[k] != NULL; k++)
        by_rule[i].make[k](&t);
  return t.out;
}
