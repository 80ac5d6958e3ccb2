/* The write-up as one HTML file. */
#include "packet/page.h"
#include "drawing/ink.h"
#include "packet/tables-private.h"
#include "page-data.h"
#include "studies/cautions.h"
#include <gio/gio.h>
#include <jansson.h>
#include <math.h>
#include <string.h>

typedef struct {
  GString *out;
  const LgPacket *packet;
  const LgPageOptions *options;
} Page;

static void put(Page *page, const char *html)
{
  g_string_append(page->out, html);
}

static void put_text(Page *page, const char *text)
{
  g_autofree char *shown = lg_shown_text(text != NULL ? text : "");
  g_autofree char *escaped = g_markup_escape_text(shown, -1);
  put(page, escaped);
}

/* <tag>text</tag> */
static void put_in(Page *page, const char *tag, const char *text)
{
  g_string_append_printf(page->out, "<%s>", tag);
  put_text(page, text);
  g_string_append_printf(page->out, "</%s>\n", tag);
}

static void put_resource(Page *page, const char *name)
{
  g_autofree char *path = g_strconcat("/loomgraft/page/", name, NULL);
  g_autoptr(GBytes) bytes =
      g_resource_lookup_data(lg_page_data_get_resource(), path, G_RESOURCE_LOOKUP_FLAGS_NONE, NULL);
  g_assert(bytes != NULL);
  g_string_append_len(page->out, g_bytes_get_data(bytes, NULL), (gssize)g_bytes_get_size(bytes));
}

static void put_base64(Page *page, GBytes *bytes)
{
  gsize size;
  const guchar *const data = g_bytes_get_data(bytes, &size);
  g_autofree char *text = g_base64_encode(data, size);
  put(page, text);
}

static void begin_section(Page *page, const char *id, const char *title)
{
  g_string_append_printf(page->out, "<section id=\"%s\">\n", id);
  put_in(page, "h2", title);
}

static void end_section(Page *page)
{
  put(page, "</section>\n");
}

/* Columns that name people; the share form leaves them out. */
static gboolean is_personal(const char *key)
{
  static const char *const personal[] = {"by", "said_by", "who", NULL};
  return g_strv_contains(personal, key);
}

static void put_table(Page *page, const LgTable *table, const char *caption)
{
  if (table->n_rows == 0) {
    put_in(page, "p", table->note != NULL ? table->note : "Nothing here.");
    return;
  }
  put(page, "<table>\n<caption>");
  put_text(page, caption != NULL ? caption : table->title);
  put(page, "</caption>\n<thead><tr>");
  for (int c = 0; c < table->n_columns; c++)
    if (!page->options->share || !is_personal(table->columns[c].key)) {
      put(page, "<th scope=\"col\">");
      put_text(page, table->columns[c].title);
      put(page, "</th>");
    }
  put(page, "</tr></thead>\n<tbody>\n");
  for (int r = 0; r < table->n_rows; r++) {
    put(page, "<tr>");
    for (int c = 0; c < table->n_columns; c++) {
      if (page->options->share && is_personal(table->columns[c].key))
        continue;
      g_autofree char *cell = lg_table_print_cell(table, r, c, page->packet->job->habit);
      put(page, "<td data-title=\"");
      put_text(page, table->columns[c].title);
      put(page, table->columns[c].type == LG_CELL_NUMBER ? "\" class=\"number\">" : "\">");
      put_text(page, cell);
      put(page, "</td>");
    }
    put(page, "</tr>\n");
  }
  put(page, "</tbody>\n</table>\n");
  if (table->note != NULL)
    put_in(page, "p", table->note);
}

static void put_part(Page *page, const LgTable *table, const LgColumn *columns)
{
  g_autoptr(LgTable) part = lg_table_part(table, columns, NULL, NULL);
  put_table(page, part, table->title);
  if (table->note != NULL && part->note == NULL)
    put_in(page, "p", table->note);
}

/* ---- what stands at the top ---- */

static void put_head(Page *page)
{
  put(page, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
            "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
            "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
            "style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:\">\n<title>");
  put_text(page, page->packet->job->title);
  put(page, "</title>\n<style>\n");
  put_resource(page, "page.css");
  put(page, "</style>\n</head>\n<body>\n");
}

static void put_line(Page *page, const char *word, const char *text)
{
  if (text == NULL || text[0] == '\0')
    return;
  put(page, "<dt>");
  put_text(page, word);
  put(page, "</dt><dd>");
  put_text(page, text);
  put(page, "</dd>\n");
}

static void put_cover(Page *page)
{
  const LgJob *const job = page->packet->job;
  put(page, "<header>\n");
  put_in(page, "h1", job->title);
  put(page, "<dl>\n");
  for (int i = 0; i < job->n_vehicles; i++) {
    const LgVehicle *const vehicle = &job->vehicles[i];
    put_line(page, vehicle->donor ? "Donor" : "Host",
             vehicle->text != NULL ? vehicle->text : vehicle->name);
    put_line(page, "Proven on", vehicle->proven);
  }
  g_autofree char *supply =
      g_strdup_printf("%g V, %s %s", job->nominal_V, job->positive_ground ? "positive" : "negative",
                      T_(job->ground_word));
  put_line(page, "Supply", supply);
  put_line(page, "Revision", job->date);
  if (!page->options->share) {
    put_line(page, "Written by", job->by);
    put_line(page, "Whom to ask", job->ask);
  }
  put(page, "</dl>\n</header>\n");
}

static const char *const sections[][2] = {
    {"cautions", "Cautions"}, {"verdict", "Verdict"}, {"diagram", "Diagram"}, {"parts", "Parts"},
    {"plugs", "Plugs"},       {"wires", "Wires"},     {"tests", "Tests"},     {"proof", "Evidence"},
};

static void put_contents(Page *page)
{
  put(page, "<nav aria-label=\"Contents\"><ul>\n");
  for (gsize i = 0; i < G_N_ELEMENTS(sections); i++)
    g_string_append_printf(page->out, "<li><a href=\"#%s\">%s</a></li>\n", sections[i][0],
                           sections[i][1]);
  put(page, "</ul></nav>\n<main>\n");
}

static void put_cautions(Page *page)
{
  begin_section(page, "cautions", "Cautions first");
  g_autoptr(GPtrArray) cautions = lg_cautions_of(page->packet->job);
  for (guint i = 0; i < cautions->len; i++) {
    const LgCaution *const caution = cautions->pdata[i];
    put(page, "<div class=\"caution\">\n");
    put_in(page, "h3", caution->title);
    for (int k = 0; caution->lines[k] != NULL; k++)
      put_in(page, "p", caution->lines[k]);
    put(page, "</div>\n");
  }
  end_section(page);
}

static void put_finding(Page *page, const LgFinding *finding)
{
  g_string_append_printf(
      page->out, "<li class=\"%s\"><strong>%s, %s</strong>: ", lg_grade_word(finding->grade),
      lg_grade_word(finding->grade), finding->rule);
  put_text(page, finding->subject);
  put(page, ". ");
  put_text(page, finding->what);
  if (finding->remedy != NULL) {
    put(page, " <em>");
    put_text(page, finding->remedy);
    put(page, "</em>");
  }
  put(page, "</li>\n");
}

static void put_verdict(Page *page)
{
  begin_section(page, "verdict", "Verdict");
  g_autofree char *verdict = lg_verdict(page->packet->findings);
  put_in(page, "p", verdict);
  if (page->packet->findings->len > 0) {
    put(page, "<ul class=\"findings\">\n");
    for (guint i = 0; i < page->packet->findings->len; i++)
      put_finding(page, page->packet->findings->pdata[i]);
    put(page, "</ul>\n");
  }
  if (page->packet->needs->n_rows > 0)
    put_table(page, page->packet->needs, NULL);
  end_section(page);
}

/* ---- the diagram that one operates ---- */

static json_t *names_of(const char *(*name)(const LgJob *, int), const LgJob *job, int n)
{
  json_t *const list = json_array();
  for (int i = 0; i < n; i++)
    json_array_append_new(list, json_string(name(job, i)));
  return list;
}

static const char *pin_name(const LgJob *job, int i)
{
  return job->pins[i].name;
}

static json_t *text(const char *shown)
{
  g_autofree char *fit = lg_shown_text(shown != NULL ? shown : "");
  return json_string(fit);
}

static json_t *wires_json(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  json_t *const list = json_array();
  for (int w = 0; w < job->n_wires; w++) {
    const LgWire *const wire = &job->wires[w];
    g_autofree char *size = lg_words_size(sizing->wires[w].conductor);
    g_autofree char *colour = lg_words_colour(wire->colour);
    g_autofree char *fuse = lg_words_fuses(sizing, w);
    json_array_append_new(list, json_pack("{s:s, s:[i,i], s:s, s:s, s:s}", "name", wire->name,
                                          "pins", wire->pin[0], wire->pin[1], "size", size,
                                          "colour", colour, "fuse", fuse));
  }
  return list;
}

static json_t *elements_json(const LgJob *job)
{
  json_t *const list = json_array();
  for (int e = 0; e < job->n_elements; e++) {
    const LgElement *const element = &job->elements[e];
    json_array_append_new(
        list, json_pack("{s:s, s:o, s:s, s:[i,i], s:b}", "name", element->name, "what",
                        text(lg_words_element(job, e)), "kind", lg_element_word(element->kind),
                        "pins", element->pin[0], element->pin[1], "load",
                        lg_element_is_load(element->kind) && element->kind != LG_EL_RESISTOR));
  }
  return list;
}

/* Positions of the input that it waits for, as a list; null when it is free. */
static json_t *waits_json(const LgInput *input)
{
  if (input->when_input < 0)
    return json_null();
  json_t *const positions = json_array();
  for (int p = 0; p < 63; p++)
    if (input->when_positions >> p & 1)
      json_array_append_new(positions, json_integer(p));
  return json_pack("{s:i, s:o}", "input", input->when_input, "positions", positions);
}

static json_t *inputs_json(const LgJob *job, const LgPageStates *states)
{
  json_t *const list = json_array();
  for (int i = 0; i < job->n_inputs; i++) {
    const LgInput *const input = &job->inputs[i];
    json_t *const positions = json_array();
    for (int p = 0; p < input->n_positions; p++)
      json_array_append_new(positions, json_string(input->positions[p]));
    json_array_append_new(list,
                          json_pack("{s:s, s:o, s:o, s:i, s:o}", "name", input->name, "what",
                                    text(job->parts[input->part].text), "positions", positions,
                                    "stride", states->stride[i], "waits", waits_json(input)));
  }
  return list;
}

static json_t *coils_json(const LgCircuit *circuit)
{
  const LgJob *const job = circuit->job;
  json_t *const list = json_array();
  const int n = lg_net_n_coils(circuit->net);
  for (int c = 0; c < n; c++) {
    const char *name = NULL;
    for (int e = 0; e < job->n_elements; e++)
      if (circuit->element_coil[e] == c && job->elements[e].kind == LG_EL_COIL)
        name = job->parts[job->elements[e].part].name;
    json_array_append_new(list, name != NULL ? json_string(name) : json_null());
  }
  return list;
}

/* JSON that may stand inside a script element. */
static void put_json(Page *page, json_t *json)
{
  char *const dumped = json_dumps(json, JSON_COMPACT | JSON_ENSURE_ASCII);
  for (const char *c = dumped; *c != '\0'; c++)
    if (*c == '<')
      put(page, "\\u003c");
    else
      g_string_append_c(page->out, *c);
  free(dumped);
  json_decref(json);
}

static void put_states(Page *page)
{
  const LgSizing *const sizing = page->packet->sizing;
  const LgJob *const job = page->packet->job;
  g_autoptr(LgPageStates) states = lg_page_states_new(sizing);
  put(page, "<script type=\"application/json\" id=\"job\">");
  put_json(page, json_pack("{s:i, s:o, s:o, s:o, s:o, s:o}", "states", states->n_states, "inputs",
                           inputs_json(job, states), "wires", wires_json(sizing), "elements",
                           elements_json(job), "pins", names_of(pin_name, job, job->n_pins),
                           "coils", coils_json(sizing->circuit)));
  put(page, "</script>\n<script type=\"text/plain\" id=\"states\">");
  put_base64(page, states->packed);
  put(page, "</script>\n");
}

static void put_sheets(Page *page)
{
  const GPtrArray *const sheets = page->options->sheets;
  if (sheets == NULL || sheets->len == 0)
    put_in(page, "p", "The diagram is missing here: it could not be laid out.");
  for (guint i = 0; sheets != NULL && i < sheets->len; i++) {
    g_autoptr(GBytes) svg = lg_drawing_svg(sheets->pdata[i], FALSE);
    g_string_append_printf(page->out,
                           "<div class=\"sheet\" role=\"region\" tabindex=\"0\" "
                           "aria-label=\"Diagram, sheet %u of %u\">\n",
                           i + 1, sheets->len);
    const char *const data = g_bytes_get_data(svg, NULL);
    const char *const root = g_strstr_len(data, (gssize)g_bytes_get_size(svg), "<svg");
    if (root != NULL)
      g_string_append_len(page->out, root, (gssize)(g_bytes_get_size(svg) - (gsize)(root - data)));
    put(page, "</div>\n");
  }
}

static void put_diagram(Page *page)
{
  begin_section(page, "diagram", "Diagram to operate");
  put_in(page, "p",
         "Turn the key, throw the switches, let a thermostat call: lines that carry current grow "
         "thick. Tap a line or a device for its figures. Contacts are drawn at rest. Every state "
         "was computed beforehand, on a hot day, with every load running that the switches allow.");
  put(page, "<form id=\"controls\"></form>\n<p id=\"now\" role=\"status\"></p>\n"
            "<p id=\"told\" role=\"status\"></p>\n");
  put_sheets(page);
  put(page, "<table id=\"loads\"><caption>Loads in this state</caption><thead><tr>"
            "<th scope=\"col\">Load</th><th scope=\"col\">What it does</th>"
            "<th scope=\"col\">Current</th><th scope=\"col\">Volts across</th></tr></thead>"
            "<tbody></tbody></table>\n"
            "<noscript><p>This browser runs no scripts: the diagram shows the state of rest, and "
            "all tables are complete.</p></noscript>\n");
  end_section(page);
}

/* ---- tables ---- */

#define COLUMNS(name, ...) static const LgColumn name[] = {__VA_ARGS__, LG_COLUMNS_END}

COLUMNS(part_columns, LG_TEXT_COLUMN("designation", "Designation"), LG_TEXT_COLUMN("what", "What"),
        LG_TEXT_COLUMN("type", "Type or size"),
        LG_NUMBER_COLUMN("quantity", "Quantity", LG_DIM_NONE, 3), LG_TEXT_COLUMN("unit", "Unit"),
        LG_TEXT_COLUMN("state", "From"), LG_TEXT_COLUMN("buy", "Where to buy"),
        LG_TEXT_COLUMN("price", "Price"));
COLUMNS(wire_columns, LG_TEXT_COLUMN("wire", "Wire"), LG_TEXT_COLUMN("from", "From"),
        LG_TEXT_COLUMN("to", "To"), LG_TEXT_COLUMN("function", "Function"),
        LG_TEXT_COLUMN("size", "Size"), LG_TEXT_COLUMN("other_size", "Or, not thinner"),
        LG_TEXT_COLUMN("colour", "Colour"),
        LG_NUMBER_COLUMN("length_m", "Length", LG_DIM_LENGTH, 3), LG_TEXT_COLUMN("fuse", "Fuse"));

static void put_tables(Page *page)
{
  const LgPacket *const packet = page->packet;
  begin_section(page, "parts", "Parts");
  put_part(page, packet->parts, part_columns);
  put_table(page, packet->buying, NULL);
  end_section(page);
  begin_section(page, "plugs", "Plugs, pin by pin");
  for (guint i = 0; i < packet->connectors->len; i++)
    put_table(page, packet->connectors->pdata[i], NULL);
  end_section(page);
  begin_section(page, "wires", "Wires");
  put_part(page, packet->wires, wire_columns);
  put_table(page, packet->fuses, NULL);
  end_section(page);
  begin_section(page, "tests", "Tests");
  put_table(page, packet->pre_power, NULL);
  put_table(page, packet->readings, NULL);
  end_section(page);
}

static void put_proof(Page *page)
{
  const LgJob *const job = page->packet->job;
  int n[LG_EVIDENCE_GUESS + 1] = {0};
  begin_section(page, "proof", "On what this rests");
  put_in(page, "p",
         "Every pin says how it is known: measured (a reading stands in the sheet), document, "
         "told, guess. What was told or guessed is measured again before first power.");
  put(page, "<ul>\n");
  for (int p = 0; p < job->n_pins; p++) {
    const LgPin *const pin = &job->pins[p];
    if (pin->from_type)
      continue;
    n[pin->evidence]++;
    if (pin->evidence != LG_EVIDENCE_TOLD && pin->evidence != LG_EVIDENCE_GUESS)
      continue;
    put(page, "<li>");
    put_text(page, pin->name);
    put(page, pin->evidence == LG_EVIDENCE_TOLD ? ": told" : ": guess");
    if (!page->options->share && pin->said_by != NULL) {
      put(page, ", by ");
      put_text(page, pin->said_by);
    }
    put(page, "</li>\n");
  }
  g_string_append_printf(page->out,
                         "</ul>\n<p>Pins of the sheet: %d measured, %d by document, %d told, %d "
                         "guessed.</p>\n",
                         n[LG_EVIDENCE_MEASURED], n[LG_EVIDENCE_DOCUMENT], n[LG_EVIDENCE_TOLD],
                         n[LG_EVIDENCE_GUESS]);
  end_section(page);
}

GBytes *lg_page_new(const LgPacket *packet, const LgPageOptions *options)
{
  Page page = {g_string_sized_new(1 << 18), packet, options};
  put_head(&page);
  put_cover(&page);
  put_contents(&page);
  put_cautions(&page);
  put_verdict(&page);
  put_diagram(&page);
  put_tables(&page);
  put_proof(&page);
  put(&page, "</main>\n<footer><p>Made with loomgraft " LG_VERSION
             ". The figures help a competent person; local codes, makers' papers and licensed "
             "practice come first.</p></footer>\n");
  put_states(&page);
  put(&page, "<script type=\"module\">\n");
  put_resource(&page, "page.mjs");
  put(&page, "</script>\n</body>\n</html>\n");
  return g_string_free_to_bytes(page.out);
}
