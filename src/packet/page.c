/* The write-up as one HTML file. */
#include "base/words.h"
#include "drawing/ink.h"
#include "packet/page-private.h"
#include "packet/tables-private.h"
#include "page-data.h"
#include "studies/cautions.h"
#include <gio/gio.h>
#include <jansson.h>
#include <math.h>
#include <string.h>

/* In the share form every name of a person or private word is left out, wherever it stands. */
char *lg_page_left_out(const Page *page, const char *text)
{
  if (page->hidden == NULL)
    return g_strdup(text);
  char *const clean = g_regex_replace_literal(page->hidden, text, -1, 0, T_("(left out)"), 0, NULL);
  return clean != NULL ? clean : g_strdup(T_("(left out)"));
}

static void add_hidden(GHashTable *words, const char *text)
{
  if (text != NULL && text[0] != '\0')
    g_hash_table_add(words, g_regex_escape_string(text, -1));
}

static int longest_first(gconstpointer a, gconstpointer b)
{
  const gsize la = strlen(*(const char *const *)a), lb = strlen(*(const char *const *)b);
  return la != lb ? (la < lb ? 1 : -1) : strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* Who wrote, measured, said, took photos, owns the meter and is asked; and the sheet's own words.
 */
static GRegex *hidden_words(const LgJob *job)
{
  g_autoptr(GHashTable) words = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  add_hidden(words, job->by);
  add_hidden(words, job->ask);
  for (int i = 0; i < job->n_readings; i++) {
    add_hidden(words, job->readings[i].by);
    add_hidden(words, job->readings[i].instrument);
  }
  for (int i = 0; i < job->n_pins; i++)
    add_hidden(words, job->pins[i].said_by);
  for (int i = 0; i < job->n_photos; i++) {
    add_hidden(words, job->photos[i].by);
    add_hidden(words, job->photos[i].file);
  }
  for (int i = 0; i < job->n_notes; i++)
    add_hidden(words, job->notes[i].by);
  g_auto(GStrv) own = g_strsplit(job->private_words != NULL ? job->private_words : "", ",", -1);
  for (int i = 0; own[i] != NULL; i++)
    add_hidden(words, g_strstrip(own[i]));
  g_autoptr(GPtrArray) list = g_ptr_array_new();
  GHashTableIter iter;
  g_hash_table_iter_init(&iter, words);
  for (gpointer word; g_hash_table_iter_next(&iter, &word, NULL);)
    g_ptr_array_add(list, word);
  if (list->len == 0)
    return NULL;
  g_ptr_array_sort(list, longest_first);
  g_ptr_array_add(list, NULL);
  g_autofree char *any = g_strjoinv("|", (char **)list->pdata);
  g_autofree char *pattern = g_strconcat("(?<!\\w)(?:", any, ")(?!\\w)", NULL);
  return g_regex_new(pattern, G_REGEX_CASELESS | G_REGEX_OPTIMIZE, 0, NULL);
}

void lg_page_put(Page *page, const char *html)
{
  g_string_append(page->out, html);
}

void lg_page_text(Page *page, const char *text)
{
  g_autofree char *fit = lg_shown_text(text != NULL ? text : "");
  g_autofree char *shown = lg_page_left_out(page, fit);
  g_autofree char *escaped = g_markup_escape_text(shown, -1);
  lg_page_put(page, escaped);
}

/* <tag>text</tag> */
void lg_page_in(Page *page, const char *tag, const char *text)
{
  g_string_append_printf(page->out, "<%s>", tag);
  lg_page_text(page, text);
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

void lg_page_base64(Page *page, GBytes *bytes)
{
  gsize size;
  const guchar *const data = g_bytes_get_data(bytes, &size);
  g_autofree char *text = g_base64_encode(data, size);
  lg_page_put(page, text);
}

/* In the order of LgChapterAt, with the titles of the contents. */
static const char *const sections[LG_N_CHAPTER_ATS][2] = {
    {"cautions", N_("Cautions")}, {"verdict", N_("Verdict")}, {"diagram", N_("Diagram")},
    {"parts", N_("Parts")},       {"plugs", N_("Plugs")},     {"wires", N_("Wires")},
    {"steps", N_("Steps")},       {"tests", N_("Tests")},     {"troubles", N_("Troubles")},
    {"use", N_("Use")},           {"history", N_("History")}, {"evidence", N_("Evidence")},
};

void lg_page_begin_section(Page *page, LgChapterAt at, const char *title)
{
  lg_page_chapters(page, at, FALSE);
  page->at = at;
  g_string_append_printf(page->out, "<section id=\"%s\">\n", sections[at][0]);
  lg_page_in(page, "h2", title);
}

void lg_page_end_section(Page *page)
{
  lg_page_put(page, "</section>\n");
  lg_page_chapters(page, page->at, TRUE);
}

/* Columns that name people; the share form leaves them out. */
static gboolean is_personal(const char *key)
{
  static const char *const personal[] = {"by", "said_by", "who", "instrument", NULL};
  return g_strv_contains(personal, key);
}

/* How a fact is known, by shape and word. */
static void put_cell(Page *page, const char *key, const char *cell)
{
  static const char *const grades[] = {N_("measured"), N_("document"), N_("told"), N_("guess")};
  for (gsize i = 0; strcmp(key, "evidence") == 0 && i < G_N_ELEMENTS(grades); i++)
    if (g_str_has_prefix(cell, T_(grades[i])) || g_str_has_prefix(cell, grades[i])) {
      g_string_append_printf(page->out, "<span class=\"known %s\">", grades[i]);
      lg_page_text(page, cell);
      lg_page_put(page, "</span>");
      return;
    }
  lg_page_text(page, cell);
}

void lg_page_table(Page *page, const LgTable *table, const char *caption)
{
  if (table->n_rows == 0) {
    lg_page_in(page, "p", table->note != NULL ? table->note : T_("Nothing here."));
    return;
  }
  lg_page_put(page, "<table>\n<caption>");
  lg_page_text(page, caption != NULL ? caption : table->title);
  lg_page_put(page, "</caption>\n<thead><tr>");
  for (int c = 0; c < table->n_columns; c++)
    if (!page->options->share || !is_personal(table->columns[c].key)) {
      lg_page_put(page, "<th scope=\"col\">");
      lg_page_text(page, T_(table->columns[c].title));
      lg_page_put(page, "</th>");
    }
  lg_page_put(page, "</tr></thead>\n<tbody>\n");
  for (int r = 0; r < table->n_rows; r++) {
    lg_page_put(page, "<tr>");
    for (int c = 0; c < table->n_columns; c++) {
      if (page->options->share && is_personal(table->columns[c].key))
        continue;
      g_autofree char *cell = lg_table_print_cell(table, r, c, page->packet->job->habit);
      lg_page_put(page, "<td data-title=\"");
      lg_page_text(page, T_(table->columns[c].title));
      lg_page_put(page, table->columns[c].type == LG_CELL_NUMBER ? "\" class=\"number\">" : "\">");
      put_cell(page, table->columns[c].key, cell);
      lg_page_put(page, "</td>");
    }
    lg_page_put(page, "</tr>\n");
  }
  lg_page_put(page, "</tbody>\n</table>\n");
  if (table->note != NULL)
    lg_page_in(page, "p", table->note);
}

static void put_part(Page *page, const LgTable *table, const LgColumn *columns)
{
  g_autoptr(LgTable) part = lg_table_part(table, columns, NULL, NULL);
  lg_page_table(page, part, table->title);
  if (table->note != NULL && part->note == NULL)
    lg_page_in(page, "p", table->note);
}

/* ---- what stands at the top ---- */

static void put_head(Page *page)
{
  g_string_append_printf(page->out, "<!DOCTYPE html>\n<html lang=\"%s\">\n", lg_words_language());
  lg_page_put(page,
              "<head>\n<meta charset=\"utf-8\">\n"
              "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
              "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
              "style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:\">\n<title>");
  lg_page_text(page, page->packet->job->title);
  lg_page_put(page, "</title>\n<style>\n");
  put_resource(page, "page.css");
  lg_page_put(page, "</style>\n</head>\n<body>\n");
}

static void put_line(Page *page, const char *word, const char *text)
{
  if (text == NULL || text[0] == '\0')
    return;
  lg_page_put(page, "<dt>");
  lg_page_text(page, word);
  lg_page_put(page, "</dt><dd>");
  lg_page_text(page, text);
  lg_page_put(page, "</dd>\n");
}

static void put_cover(Page *page)
{
  const LgJob *const job = page->packet->job;
  lg_page_put(page, "<header>\n");
  lg_page_in(page, "h1", job->title);
  lg_page_put(page, "<dl>\n");
  for (int i = 0; i < job->n_vehicles; i++) {
    const LgVehicle *const vehicle = &job->vehicles[i];
    put_line(page, vehicle->donor ? T_("Donor") : T_("Host"),
             vehicle->text != NULL ? vehicle->text : vehicle->name);
    put_line(page, T_("Proven on"), vehicle->proven);
  }
  g_autofree char *supply =
      g_strdup_printf("%g V, %s %s", job->nominal_V,
                      job->positive_ground ? T_("positive") : T_("negative"), T_(job->ground_word));
  put_line(page, T_("Supply"), supply);
  put_line(page, T_("Revision"), job->date);
  if (!page->options->share) {
    put_line(page, T_("Written by"), job->by);
    put_line(page, T_("Whom to ask"), job->ask);
  }
  lg_page_put(page, "</dl>\n</header>\n");
}

static void put_contents(Page *page)
{
  g_string_append_printf(page->out, "<nav aria-label=\"%s\"><ul>\n", T_("Contents"));
  for (gsize i = 0; i < G_N_ELEMENTS(sections); i++)
    g_string_append_printf(page->out, "<li><a href=\"#%s\">%s</a></li>\n", sections[i][0],
                           T_(sections[i][1]));
  lg_page_put(page, "</ul></nav>\n<main>\n");
}

static void put_cautions(Page *page)
{
  lg_page_begin_section(page, LG_AT_CAUTIONS, T_("Cautions first"));
  g_autoptr(GPtrArray) cautions = lg_cautions_of(page->packet->job);
  for (guint i = 0; i < cautions->len; i++) {
    const LgCaution *const caution = cautions->pdata[i];
    lg_page_put(page, "<div class=\"caution\">\n");
    lg_page_in(page, "h3", T_(caution->title));
    for (int k = 0; caution->lines[k] != NULL; k++)
      lg_page_in(page, "p", T_(caution->lines[k]));
    lg_page_put(page, "</div>\n");
  }
  lg_page_end_section(page);
}

static void put_finding(Page *page, const LgFinding *finding)
{
  g_string_append_printf(
      page->out, "<li class=\"%s\"><strong>%s, %s</strong>: ", lg_grade_word(finding->grade),
      T_(lg_grade_word(finding->grade)), finding->rule);
  lg_page_text(page, finding->subject);
  lg_page_put(page, ". ");
  lg_page_text(page, finding->what);
  if (finding->remedy != NULL) {
    lg_page_put(page, " <em>");
    lg_page_text(page, finding->remedy);
    lg_page_put(page, "</em>");
  }
  lg_page_put(page, "</li>\n");
}

static void put_verdict(Page *page)
{
  lg_page_begin_section(page, LG_AT_VERDICT, T_("Verdict"));
  g_autofree char *verdict = lg_verdict(page->packet->findings);
  lg_page_in(page, "p", verdict);
  if (page->packet->findings->len > 0) {
    lg_page_put(page, "<ul class=\"findings\">\n");
    for (guint i = 0; i < page->packet->findings->len; i++)
      put_finding(page, page->packet->findings->pdata[i]);
    lg_page_put(page, "</ul>\n");
  }
  if (page->packet->needs->n_rows > 0)
    lg_page_table(page, page->packet->needs, NULL);
  lg_page_end_section(page);
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

static json_t *text(const Page *page, const char *shown)
{
  g_autofree char *fit = lg_shown_text(shown != NULL ? shown : "");
  g_autofree char *clean = lg_page_left_out(page, fit);
  return json_string(clean);
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
    const double hot_K = sizing->wires[w].worst.conductor_K;
    g_autofree char *hot =
        isfinite(hot_K) ? lg_words_warmth(job, hot_K - LG_ZERO_C_IN_K) : g_strdup("");
    json_array_append_new(list, json_pack("{s:s, s:[i,i], s:s, s:s, s:s, s:s}", "name", wire->name,
                                          "pins", wire->pin[0], wire->pin[1], "size", size,
                                          "colour", colour, "fuse", fuse, "hot", hot));
  }
  return list;
}

static json_t *elements_json(const Page *page, const LgJob *job)
{
  json_t *const list = json_array();
  for (int e = 0; e < job->n_elements; e++) {
    const LgElement *const element = &job->elements[e];
    json_array_append_new(
        list,
        json_pack("{s:s, s:o, s:s, s:[i,i], s:b}", "name", element->name, "what",
                  text(page, lg_words_element(job, e)), "kind", lg_element_said(element->kind),
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

static json_t *inputs_json(const Page *page, const LgJob *job, const LgPageStates *states)
{
  json_t *const list = json_array();
  for (int i = 0; i < job->n_inputs; i++) {
    const LgInput *const input = &job->inputs[i];
    json_t *const positions = json_array();
    for (int p = 0; p < input->n_positions; p++)
      json_array_append_new(positions, json_string(input->positions[p]));
    json_array_append_new(list, json_pack("{s:s, s:o, s:o, s:i, s:o}", "name", input->name, "what",
                                          text(page, job->parts[input->part].text), "positions",
                                          positions, "stride", states->stride[i], "waits",
                                          waits_json(input)));
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
      lg_page_put(page, "\\u003c");
    else
      g_string_append_c(page->out, *c);
  free(dumped);
  json_decref(json);
}

static json_t *rest_json(const LgPageStates *states)
{
  json_t *const list = json_array();
  for (int c = 0; c < states->n_columns; c++)
    json_array_append_new(list, json_integer(states->rest[c]));
  return list;
}

/* What the script says, as {name} of its figures. */
static json_t *words_json(void)
{
  const char *const words[][2] = {
      {"no_current", T_("no current")},
      {"floating", T_("tied to nothing")},
      {"rest", T_("Everything at rest")},
      {"none", T_("none")},
      {"now", T_("{state}. Relays pulled: {relays}.")},
      {"wire",
       T_("{name}: {from} to {to}, {colour}, {size}, fuse {fuse}. Now {current}; {start} at "
          "{from}, {end} at {to}.")},
      {"hot", T_("In its worst state the conductor gets to {hot}.")},
      {"element", T_("{name}, {kind}: {what}. Now {current}.")},
  };
  json_t *const all = json_object();
  for (gsize i = 0; i < G_N_ELEMENTS(words); i++)
    json_object_set_new(all, words[i][0], json_string(words[i][1]));
  return all;
}

static void put_states(Page *page)
{
  const LgSizing *const sizing = page->packet->sizing;
  const LgJob *const job = page->packet->job;
  g_autoptr(LgPageStates) states = lg_page_states_new(sizing);
  lg_page_put(page, "<script type=\"application/json\" id=\"job\">");
  put_json(page, json_pack("{s:i, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "states", states->n_states,
                           "rest", rest_json(states), "words", words_json(), "inputs",
                           inputs_json(page, job, states), "wires", wires_json(sizing), "elements",
                           elements_json(page, job), "pins", names_of(pin_name, job, job->n_pins),
                           "coils", coils_json(sizing->circuit)));
  lg_page_put(page, "</script>\n<script type=\"text/plain\" id=\"states\">");
  lg_page_base64(page, states->packed);
  lg_page_put(page, "</script>\n");
}

/* The letters between the tags, without what the share form leaves out. */
static void put_clean_svg(Page *page, const char *svg, gsize length)
{
  for (const char *at = svg, *const end = svg + length; at < end;) {
    const char *tag = memchr(at, '<', (gsize)(end - at));
    tag = tag != NULL ? tag : end;
    g_autofree char *raw = g_strndup(at, (gsize)(tag - at));
    g_autofree char *clean = lg_page_left_out(page, raw);
    lg_page_put(page, clean);
    const char *close = tag < end ? memchr(tag, '>', (gsize)(end - tag)) : NULL;
    close = close != NULL ? close + 1 : end;
    g_string_append_len(page->out, tag, close - tag);
    at = close;
  }
}

void lg_page_svg(Page *page, const LgDrawing *drawing)
{
  g_autoptr(GBytes) svg = lg_drawing_svg(drawing, FALSE);
  const char *const data = g_bytes_get_data(svg, NULL), *const end = data + g_bytes_get_size(svg);
  const char *const root = g_strstr_len(data, end - data, "<svg");
  if (root != NULL)
    put_clean_svg(page, root, (gsize)(end - root));
}

static void put_sheets(Page *page)
{
  const GPtrArray *const sheets = page->options->sheets;
  if (sheets == NULL || sheets->len == 0)
    lg_page_in(page, "p", T_("The diagram is missing here: it could not be laid out."));
  for (guint i = 0; sheets != NULL && i < sheets->len; i++) {
    g_autofree char *label = g_strdup_printf(T_("Diagram, sheet %u of %u"), i + 1, sheets->len);
    g_string_append_printf(
        page->out, "<div class=\"sheet\" role=\"region\" tabindex=\"0\" aria-label=\"%s\">\n",
        label);
    lg_page_svg(page, sheets->pdata[i]);
    lg_page_put(page, "</div>\n");
  }
}

/* Its rows are the script's, which take the titles of the columns from here. */
static void put_loads(Page *page)
{
  const char *const titles[] = {T_("Load"), T_("What it does"), T_("Current"), T_("Volts across")};
  lg_page_put(page, "<table id=\"loads\">");
  lg_page_in(page, "caption", T_("Loads in this state"));
  lg_page_put(page, "<thead><tr>");
  for (gsize i = 0; i < G_N_ELEMENTS(titles); i++)
    g_string_append_printf(page->out, "<th scope=\"col\">%s</th>", titles[i]);
  lg_page_put(page, "</tr></thead><tbody></tbody></table>\n");
}

static void put_diagram(Page *page)
{
  lg_page_begin_section(page, LG_AT_DIAGRAM, T_("Diagram to operate"));
  lg_page_in(
      page, "p",
      T_("Turn the key, throw the switches, let a thermostat call: lines that carry current grow "
         "thick. Tap a line or a device for its figures. Contacts are drawn at rest. Every state "
         "was computed beforehand, on a hot day, with every load running that the switches "
         "allow."));
  lg_page_put(page, "<form id=\"controls\"></form>\n<p id=\"now\" role=\"status\"></p>\n"
                    "<p id=\"told\" role=\"status\"></p>\n");
  put_sheets(page);
  put_loads(page);
  lg_page_put(page, "<noscript>");
  lg_page_in(page, "p",
             T_("This browser runs no scripts: the diagram shows the state of rest, and all tables "
                "are complete."));
  lg_page_put(page, "</noscript>\n");
  /* Here, not at the end: the first state shows while the tables are still being read. */
  put_states(page);
  lg_page_put(page, "<script type=\"module\" async>\n");
  put_resource(page, "page.mjs");
  lg_page_put(page, "</script>\n");
  lg_page_end_section(page);
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
  lg_page_begin_section(page, LG_AT_PARTS, T_("Parts"));
  put_part(page, packet->parts, part_columns);
  lg_page_table(page, packet->buying, NULL);
  lg_page_end_section(page);
  lg_page_begin_section(page, LG_AT_PLUGS, T_("Plugs, pin by pin"));
  for (guint i = 0; i < packet->connectors->len; i++) {
    const int part = lg_connector_part(packet->job, packet->connectors->pdata[i]);
    lg_page_face(page, part);
    lg_page_table(page, packet->connectors->pdata[i], NULL);
    lg_page_papers_of_part(page, part);
  }
  lg_page_end_section(page);
  lg_page_begin_section(page, LG_AT_WIRES, T_("Wires"));
  put_part(page, packet->wires, wire_columns);
  lg_page_table(page, packet->fuses, NULL);
  lg_page_sizes(page);
  lg_page_end_section(page);
  lg_page_steps(page);
  lg_page_begin_section(page, LG_AT_TESTS, T_("Tests"));
  lg_page_table(page, packet->pre_power, NULL);
  lg_page_table(page, packet->readings, NULL);
  lg_page_end_section(page);
}

GBytes *lg_page_new(const LgPacket *packet, const LgPageOptions *options)
{
  g_autoptr(GRegex) hidden = options->share ? hidden_words(packet->job) : NULL;
  g_autofree gboolean *shown = g_new0(gboolean, (gsize)packet->job->n_photos + 1);
  Page page = {.out = g_string_sized_new(1 << 20),
               .packet = packet,
               .options = options,
               .hidden = hidden,
               .shown = shown};
  put_head(&page);
  put_cover(&page);
  put_contents(&page);
  put_cautions(&page);
  put_verdict(&page);
  put_diagram(&page);
  put_tables(&page);
  lg_page_troubles(&page);
  lg_page_use(&page);
  lg_page_history(&page);
  lg_page_evidence(&page);
  lg_page_put(&page, "</main>\n<footer>");
  g_autofree char *made = g_strdup_printf(
      T_("Made with loomgraft %s. The figures help a competent person; local codes, "
         "makers' papers and licensed practice come first."),
      LG_VERSION);
  lg_page_in(&page, "p", made);
  lg_page_put(&page, "</footer>\n");
  lg_page_put(&page, "</body>\n</html>\n");
  return g_string_free_to_bytes(page.out);
}
