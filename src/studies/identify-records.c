/* What was found, as records to paste into the sheet. */
#include "catalogue/material.h"
#include "studies/identify-private.h"
#include <math.h>
#include <string.h>

/* A seat motor runs at about a quarter of its stall current: loads table, common practice, memory.
 */
#define STALL_TO_RUN 4.0
/* A lamp's cold ohms are a tenth of the hot ones: switch maker's load-type page, seen. */
#define LAMP_HOT 10.0
#define USUAL_BETA_K 3435.0

typedef struct {
  const LgPartIdentity *of;
  const LgJob *job;
  const LgPart *part;
  GPtrArray *lines;
} Writer;

static int record_of_pin(const Writer *w, int cavity)
{
  const LgPin *const pin = &w->job->pins[w->part->first_pin + cavity];
  for (guint i = 0; i < lg_sheet_n_records(w->job->sheet); i++) {
    const LgRecord *const record = lg_sheet_record(w->job->sheet, i);
    if (record->kind == LG_KIND_PIN && g_strcmp0(record->name, pin->name) == 0)
      return (int)i;
  }
  return -1;
}

static const char *carries_of(LgIdClass class)
{
  switch (class) {
  case LG_ID_NTC:
  case LG_ID_PTC:
    return "sensor";
  case LG_ID_MOTOR:
  case LG_ID_PAD:
  case LG_ID_TAPPED:
  case LG_ID_LAMP:
    return "power";
  default:
    return NULL;
  }
}

/* The likeliest thing at a cavity; NULL: nothing was found there. */
static const LgFound *found_at(const LgIdentity *id, int cavity)
{
  const LgFound *best = NULL;
  for (guint i = 0; i < id->found->len; i++) {
    const LgFound *const f = &g_array_index(id->found, LgFound, i);
    if ((f->a == cavity || f->b == cavity) &&
        (best == NULL || f->chance[lg_found_class(f)] > best->chance[lg_found_class(best)]))
      best = f;
  }
  return best;
}

/* A pin's record with what is new in it; nothing when nothing is. */
static void write_pin(Writer *w, int cavity)
{
  const LgPin *const pin = &w->job->pins[w->part->first_pin + cavity];
  const LgFound *const f = found_at(w->of->identity, cavity);
  const int record = record_of_pin(w, cavity);
  if (f == NULL || record < 0)
    return;
  const LgIdClass class = lg_found_class(f);
  g_autofree char *other = lg_identity_node(w->of, f->a == cavity ? f->b : f->a);
  g_autofree char *label = g_strdup_printf("%s, other end %s", lg_id_rows[class].words, other);
  LgSetting settings[3];
  gsize n = 0;
  if (f->n_readings > 0 && pin->evidence != LG_EVIDENCE_MEASURED)
    settings[n++] = (LgSetting){(guint)record, "evidence", "measured"};
  if (pin->carries == LG_CARRIES_UNSAID && carries_of(class) != NULL)
    settings[n++] = (LgSetting){(guint)record, "carries", carries_of(class)};
  if (pin->label == NULL)
    settings[n++] = (LgSetting){(guint)record, "text", label};
  if (n == 0)
    return;
  g_autoptr(GBytes) bytes = lg_sheet_set_all(w->job->sheet, settings, n, NULL);
  if (bytes == NULL)
    return;
  g_autoptr(LgSheet) changed = lg_sheet_read(lg_sheet_file(w->job->sheet), bytes, FALSE);
  const LgRecord *const now = lg_sheet_record(changed, (guint)record);
  gsize size;
  const char *const text = g_bytes_get_data(bytes, &size);
  char *const line = g_strndup(text + now->begin, now->end - now->begin);
  g_ptr_array_add(w->lines, g_strchomp(line));
}

static gboolean is_in_sheet(const Writer *w, const LgFound *f)
{
  const int a = w->part->first_pin + f->a, b = w->part->first_pin + f->b;
  for (int e = 0; e < w->job->n_elements; e++) {
    const LgElement *const element = &w->job->elements[e];
    if ((element->pin[0] == a && element->pin[1] == b) ||
        (element->pin[0] == b && element->pin[1] == a))
      return TRUE;
  }
  return FALSE;
}

static void G_GNUC_PRINTF(2, 3) write_line(Writer *w, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  g_ptr_array_add(w->lines, g_strdup_vprintf(format, arguments));
  va_end(arguments);
}

/* Kelvin at which a pair was read. */
static double read_at(const LgIdentity *id, const LgFound *f)
{
  for (int i = 0; i < id->n_probes; i++)
    if ((id->probes[i].red == f->a && id->probes[i].black == f->b) ||
        (id->probes[i].red == f->b && id->probes[i].black == f->a))
      return id->probes[i].temperature_K;
  return LG_ZERO_C_IN_K + 20;
}

static char *thermistor_keys(const Writer *w, const LgFound *f, double ohm)
{
  const double at_K = read_at(w->of->identity, f);
  const double beta =
      isnan(f->slope) ? USUAL_BETA_K : CLAMP(-f->slope * 298.15 * 298.15, 500, 20e3);
  const double r25 = ohm / lg_thermistor_ohm(1, beta, at_K);
  g_autofree char *r25_text = lg_number_print(r25, 3), *beta_text = lg_number_print(beta, 4);
  return g_strdup_printf("r25=%sohm beta=%sK", r25_text, beta_text);
}

/* Element word and figures of a class; NULL: no element stands for it. Newly allocated. */
static char *element_keys(const Writer *w, const LgFound *f, LgIdClass class, double ohm,
                          const char **kind)
{
  const double volts = w->job->nominal_V;
  g_autofree char *ohms = lg_number_print(fmax(ohm, 1e-3), 3);
  switch (class) {
  case LG_ID_MOTOR: {
    *kind = "motor";
    g_autofree char *stall = lg_number_print(volts / fmax(ohm, 0.05), 2),
                    *run = lg_number_print(volts / fmax(ohm, 0.05) / STALL_TO_RUN, 2);
    return g_strdup_printf("run=%sA stall=%sA", run, stall);
  }
  case LG_ID_PAD:
    *kind = "heater";
    return g_strdup_printf("resistance=%sohm", ohms);
  case LG_ID_TAPPED: {
    *kind = "heater";
    const LgFound *const mate = &g_array_index(w->of->identity->found, LgFound, f->mate);
    g_autofree char *share = lg_number_print(volts * ohm / fmax(ohm + mate->ohm, 1e-3), 3);
    return g_strdup_printf("resistance=%sohm volts=%sV", ohms, share);
  }
  case LG_ID_NTC:
    *kind = "thermistor";
    return thermistor_keys(w, f, ohm);
  case LG_ID_PTC:
    *kind = "resistor";
    return g_strdup_printf("resistance=%sohm", ohms);
  case LG_ID_LAMP: {
    *kind = "lamp";
    g_autofree char *power = lg_number_print(volts * volts / (LAMP_HOT * fmax(ohm, 0.05)), 2);
    return g_strdup_printf("power=%sW", power);
  }
  case LG_ID_COIL:
    *kind = "coil";
    return g_strdup_printf("resistance=%sohm", ohms);
  case LG_ID_BOND:
    *kind = "link";
    return g_strdup_printf("resistance=%sohm", ohms);
  default:
    return NULL;
  }
}

static void write_diode(Writer *w, const LgFound *f, const char *a, const char *b)
{
  g_autofree char *words = lg_found_words(f);
  if (isinf(f->back_ohm))
    write_line(
        w, "element %s.diode-%s-%s diode %s %s evidence=measured \"conducts from %s to %s only\"",
        w->part->name, a, b, a, b, a, b);
  else
    write_line(w, "# %s-%s: %s; no ohmmeter on electronics: find plus and minus in its papers", a,
               b, words);
}

static void write_element(Writer *w, const LgFound *f)
{
  g_autofree char *a = lg_identity_node(w->of, f->a), *b = lg_identity_node(w->of, f->b);
  if (is_in_sheet(w, f))
    return;
  const LgIdClass class = lg_found_class(f);
  if (class == LG_ID_ELECTRONIC) {
    write_diode(w, f, a, b);
    return;
  }
  g_autofree char *words = lg_found_words(f);
  const double ohm = f->switched ? f->moved_ohm : f->ohm;
  const char *kind = NULL;
  g_autofree char *keys = element_keys(w, f, class, ohm, &kind);
  if (f->switched || keys == NULL)
    write_line(w, "# %s-%s: %s; a contact needs a part of its own with positions=", a, b,
               f->switched ? "a contact, open at rest" : words);
  if (keys == NULL)
    return;
  if (f->switched) {
    g_autofree char *inner = g_strdup_printf("behind-%s-%s", a, b);
    write_line(w,
               "pin %s.%s evidence=guess \"inside, no cavity: between the contact and the load\"",
               w->part->name, inner);
    write_line(w, "element %s.%s-%s-%s %s %s %s %s evidence=guess \"%s\"", w->part->name, kind, a,
               b, kind, inner, b, keys, words);
    return;
  }
  write_line(w, "element %s.%s-%s-%s %s %s %s %s evidence=%s \"%s\"", w->part->name, kind, a, b,
             kind, a, b, keys, f->n_readings > 0 ? "measured" : "guess", words);
}

GPtrArray *lg_identity_records(const LgPartIdentity *of_part)
{
  Writer w = {of_part, of_part->job, &of_part->job->parts[of_part->part],
              g_ptr_array_new_with_free_func(g_free)};
  const LgIdentity *const id = of_part->identity;
  if (id == NULL)
    return w.lines;
  for (int k = 0; k < id->n_cavities; k++)
    if (!id->cavities[k].shut)
      write_pin(&w, k);
  for (int h = id->n_cavities; h < id->net->n_nodes; h++) {
    g_autofree char *name = lg_identity_node(of_part, h);
    write_line(&w, "pin %s.%s evidence=guess \"a splice behind the plug, no cavity\"", w.part->name,
               name);
  }
  for (guint i = 0; i < id->found->len; i++)
    write_element(&w, &g_array_index(id->found, LgFound, i));
  return w.lines;
}
