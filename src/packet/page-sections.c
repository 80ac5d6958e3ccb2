/* Sections of the write-up that say what is built, in which order, how it is used and known. */
#include "base/words.h"
#include "drawing/face.h"
#include "packet/page-private.h"
#include "packet/tables-private.h"
#include <math.h>
#include <string.h>

#define COLUMNS(name, ...) static const LgColumn name[] = {__VA_ARGS__, LG_COLUMNS_END}
#define FACE_MM 180

/* Faces of what has rows and columns; a part that says of none has its table alone. */
void lg_page_face(Page *page, int part)
{
  const LgJob *const job = page->packet->job;
  if (part < 0)
    return;
  if (job->parts[part].rows == 0) {
    g_autofree char *gap =
        g_strdup_printf(T_("%s: the sheet does not say how its cavities lie, so no face is drawn."),
                        job->parts[part].name);
    lg_page_put(page, "<p class=\"gap\">");
    lg_page_text(page, gap);
    lg_page_put(page, "</p>\n");
    return;
  }
  const LgConductor *const *const chosen = (const LgConductor *const *)page->packet->sizing->chosen;
  g_autoptr(LgDrawing) drawing = lg_face_new(job, part, FACE_MM, chosen);
  g_autofree char *label = g_strdup_printf(T_("Face of %s, both views"), job->parts[part].name);
  lg_page_put(page, "<div class=\"sheet\" role=\"region\" tabindex=\"0\" aria-label=\"");
  lg_page_text(page, label);
  lg_page_put(page, "\">\n");
  lg_page_svg(page, drawing);
  lg_page_put(page, "</div>\n");
}

COLUMNS(size_columns, LG_TEXT_COLUMN("wire", "Wire"), LG_TEXT_COLUMN("size", "Size"),
        LG_NUMBER_COLUMN("most_A", "Worst current", LG_DIM_CURRENT, 3),
        LG_NUMBER_COLUMN("allowed_A", "Allowed", LG_DIM_CURRENT, 3),
        LG_NUMBER_COLUMN("conductor_degC", "Conductor", LG_DIM_TEMPERATURE, 2),
        LG_TEXT_COLUMN("binds", "What binds"), LG_TEXT_COLUMN("refused", "One size smaller"));

void lg_page_sizes(Page *page)
{
  if (page->packet->sizes == NULL)
    return;
  g_autoptr(LgTable) part = lg_table_part(page->packet->sizes, size_columns, NULL, NULL);
  lg_page_table(page, part, T_("Why these sizes"));
}

void lg_page_steps(Page *page)
{
  const LgTable *const order = lg_table_find(page->packet->build, "order");
  lg_page_begin_section(page, LG_AT_STEPS, T_("Steps, in the order of work"));
  const char *stage = "";
  for (int row = 0; order != NULL && row < order->n_rows; row++) {
    const char *const now = lg_table_text(order, row, "stage");
    if (strcmp(stage, now) != 0) {
      lg_page_put(page, row > 0 ? "</ol>\n" : "");
      lg_page_in(page, "h3", now);
      g_string_append_printf(page->out, "<ol class=\"steps\" start=\"%d\">\n", row + 1);
    }
    stage = now;
    lg_page_put(page, "<li>");
    lg_page_text(page, lg_table_text(order, row, "do"));
    if (lg_table_text(order, row, "with")[0] != '\0') {
      lg_page_put(page, ": <span class=\"with\">");
      lg_page_text(page, lg_table_text(order, row, "with"));
      lg_page_put(page, "</span>");
    }
    lg_page_papers_of_row(page, order, row);
    lg_page_put(page, "</li>\n");
  }
  lg_page_put(page, order != NULL && order->n_rows > 0 ? "</ol>\n" : "");
  lg_page_end_section(page);
}

COLUMNS(fault_columns, LG_TEXT_COLUMN("severity", "Grade"), LG_TEXT_COLUMN("cause", "Cause"),
        LG_TEXT_COLUMN("effect", "What comes of it"), LG_TEXT_COLUMN("driver", "Driver"));

/* Faults worst first, then where to look when a load does not run. */
void lg_page_troubles(Page *page)
{
  const LgPacket *const packet = page->packet;
  lg_page_begin_section(page, LG_AT_TROUBLES, T_("When something is wrong"));
  const LgTable *const faults = lg_table_find(packet->proof, "faults");
  if (faults != NULL) {
    g_autoptr(LgTable) part = lg_table_part(faults, fault_columns, NULL, NULL);
    lg_page_table(page, part, T_("Single faults, worst first"));
  }
  for (guint i = 0; packet->guide != NULL && i < packet->guide->len; i++) {
    const LgTable *const table = packet->guide->pdata[i];
    lg_page_put(page, "<details><summary>");
    lg_page_text(page, table->title);
    lg_page_put(page, "</summary>\n");
    lg_page_table(page, table, NULL);
    lg_page_put(page, "</details>\n");
  }
  lg_page_end_section(page);
}

COLUMNS(use_columns, LG_TEXT_COLUMN("what", "What"), LG_TEXT_COLUMN("detail", "Detail"));

/* Subjects of the handover that a user needs. */
void lg_page_use(Page *page)
{
  const LgTable *const handover = lg_table_find(page->packet->proof, "handover");
  lg_page_begin_section(page, LG_AT_USE, T_("Use, limits, and how to switch it off"));
  for (int i = 1; handover != NULL && lg_handover_subjects[i] != NULL; i++) {
    const char *const subject = T_(lg_handover_subjects[i]);
    g_autoptr(LgTable) part = lg_table_part(handover, use_columns, "subject", subject);
    if (part->n_rows > 0)
      lg_page_table(page, part, subject);
  }
  lg_page_end_section(page);
}

COLUMNS(evidence_columns, LG_TEXT_COLUMN("pin", "Pin"), LG_TEXT_COLUMN("what", "What it does"),
        LG_TEXT_COLUMN("evidence", "Known from"), LG_TEXT_COLUMN("said_by", "Said by"),
        LG_TEXT_COLUMN("reading", "Reading"));

static char *readings_of(const LgJob *job, int pin)
{
  g_autoptr(GString) words = g_string_new(NULL);
  for (int i = 0; i < job->n_readings; i++) {
    const LgReading *const r = &job->readings[i];
    if (r->pin[0] != pin && r->pin[1] != pin)
      continue;
    const int other = r->pin[0] == pin ? r->pin[1] : r->pin[0];
    g_autofree char *value =
        r->open                 ? g_strdup(T_("open"))
        : !isnan(r->resistance) ? lg_words_quantity(job, r->resistance, LG_DIM_RESISTANCE)
        : !isnan(r->volts)      ? lg_words_quantity(job, r->volts, LG_DIM_VOLTAGE)
                                : lg_words_quantity(job, r->current, LG_DIM_CURRENT);
    g_autofree char *one =
        g_strdup_printf(T_("%s to %s%s%s"), value, job->pins[other].short_name,
                        r->date != NULL ? ", " : "", r->date != NULL ? r->date : "");
    lg_words_add(words, "; ", one);
  }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

void lg_page_evidence(Page *page)
{
  static const char *const grades[] = {N_("measured"), N_("document"), N_("told"), N_("guess")};
  const LgJob *const job = page->packet->job;
  g_autoptr(LgTable) table = lg_table_new("evidence", "Pins", evidence_columns);
  for (int p = 0; p < job->n_pins; p++) {
    const LgPin *const pin = &job->pins[p];
    if (pin->from_type)
      continue;
    g_autofree char *readings = readings_of(job, p);
    lg_table_add(table, pin->name, pin->fitted == LG_FITTED_NO ? T_("empty") : pin->label,
                 pin->fitted == LG_FITTED_NO ? "" : T_(grades[pin->evidence]), pin->said_by,
                 readings);
  }
  lg_page_begin_section(page, LG_AT_EVIDENCE, T_("On what this rests"));
  lg_page_in(page, "p",
             T_("Every pin says how it is known: measured (a reading stands in the sheet), "
                "document, told, guess. What was told or guessed is measured again before first "
                "power."));
  if (table->n_rows > 0)
    lg_page_table(page, table, T_("How each pin is known"));
  lg_page_end_section(page);
}
