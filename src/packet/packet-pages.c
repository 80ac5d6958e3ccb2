/* The packet's pages in the order in which they are needed: what can hurt, whether to build, what
 * to build, how to prove it. */
#include "base/words.h"
#include "packet/packet-private.h"
#include "packet/tables-private.h"
#include "studies/cautions.h"
#include <string.h>

#define COLUMNS(name, ...) static const LgColumn name[] = {__VA_ARGS__, LG_COLUMNS_END}

static void print_note(LgDocument *document, const LgTable *table)
{
  if (table->note != NULL)
    lg_document_paragraph(document, table->note);
}

static void print_part(LgDocument *document, const LgPacket *packet, const LgTable *table,
                       const LgColumn *columns, const char *where, const char *equal,
                       const char *const blanks[])
{
  g_autoptr(LgTable) part = lg_table_part(table, columns, where, equal);
  if (part->n_rows > 0)
    lg_document_table(document, part, packet->job->habit, blanks);
}

static void print_cautions(LgDocument *document, const LgPacket *packet)
{
  g_autoptr(GPtrArray) cautions = lg_cautions_of(packet->job);
  lg_document_section(document, T_("Cautions"));
  for (guint i = 0; i < cautions->len; i++) {
    const LgCaution *const caution = cautions->pdata[i];
    g_autoptr(GPtrArray) lines = g_ptr_array_new();
    for (int k = 0; caution->lines[k] != NULL; k++)
      g_ptr_array_add(lines, (gpointer)T_(caution->lines[k]));
    g_ptr_array_add(lines, NULL);
    lg_document_box(document, T_(caution->title), (const char *const *)lines->pdata, TRUE);
  }
}

static void print_verdict(LgDocument *document, const LgPacket *packet)
{
  g_autofree char *verdict = lg_verdict(packet->findings);
  guint n_against = 0;
  for (guint i = 0; i < packet->findings->len; i++)
    n_against += ((const LgFinding *)packet->findings->pdata[i])->grade <= LG_GRADE_FAULT;
  const char *const lines[] = {verdict, NULL};
  lg_document_section(document, T_("Verdict"));
  lg_document_box(document, n_against == 0 ? T_("Ready to build") : T_("Stop"), lines,
                  n_against > 0);
  if (packet->findings->len > 0)
    lg_document_findings(document, packet->findings);
}

COLUMNS(circuit_page, LG_TEXT_COLUMN("load", "Load"), LG_TEXT_COLUMN("what", "What it does"),
        LG_TEXT_COLUMN("fed_by", "Fed by"), LG_TEXT_COLUMN("fuse", "Fuse"),
        LG_TEXT_COLUMN("switched_by", "Switched by"),
        LG_NUMBER_COLUMN("most_A", "Lasting", LG_DIM_CURRENT, 3),
        LG_NUMBER_COLUMN("start_A", "Start", LG_DIM_CURRENT, 3),
        LG_NUMBER_COLUMN("least_V", "Least volts", LG_DIM_VOLTAGE, 3),
        LG_NUMBER_COLUMN("drop_feed_V", "Lost in feed", LG_DIM_VOLTAGE, 2),
        LG_NUMBER_COLUMN("drop_return_V", "Lost in return", LG_DIM_VOLTAGE, 2));

static void print_paths(LgDocument *document, const LgTable *circuits)
{
  g_autoptr(GPtrArray) lines = g_ptr_array_new_with_free_func(g_free);
  for (int row = 0; row < circuits->n_rows; row++)
    if (lg_table_text(circuits, row, "path")[0] != '\0')
      g_ptr_array_add(lines, g_strdup_printf("%s: %s", lg_table_text(circuits, row, "load"),
                                             lg_table_text(circuits, row, "path")));
  if (lines->len == 0)
    return;
  g_ptr_array_add(lines, NULL);
  lg_document_heading(document, T_("Path of each current, in order"));
  lg_document_list(document, (const char *const *)lines->pdata, FALSE);
}

static void print_circuits(LgDocument *document, const LgPacket *packet)
{
  lg_document_section(document, T_("Circuits"));
  print_part(document, packet, packet->circuits, circuit_page, NULL, NULL, NULL);
  print_note(document, packet->circuits);
  print_paths(document, packet->circuits);
}

COLUMNS(need_page, LG_TEXT_COLUMN("need", "What must hold"), LG_TEXT_COLUMN("target", "At"),
        LG_TEXT_COLUMN("limit", "Limit"), LG_TEXT_COLUMN("when", "When"),
        LG_TEXT_COLUMN("worst", "Worst found"), LG_FLAG_COLUMN("holds", "Holds"));

static void print_needs(LgDocument *document, const LgPacket *packet)
{
  if (packet->needs->n_rows == 0)
    return;
  lg_document_section(document, T_("Needs"));
  print_part(document, packet, packet->needs, need_page, NULL, NULL, NULL);
  print_note(document, packet->needs);
}

COLUMNS(fuse_page, LG_TEXT_COLUMN("fuse", "Fuse"), LG_TEXT_COLUMN("place", "Where"),
        LG_TEXT_COLUMN("form", "Body"), LG_NUMBER_COLUMN("rating_A", "Rating, A", LG_DIM_NONE, 4),
        LG_TEXT_COLUMN("colour", "Colour"),
        LG_NUMBER_COLUMN("most_A", "Worst current", LG_DIM_CURRENT, 3),
        LG_NUMBER_COLUMN("load", "Of rating", LG_DIM_RATIO, 2),
        LG_NUMBER_COLUMN("brief_A", "Start or stall", LG_DIM_CURRENT, 3),
        LG_TEXT_COLUMN("wire", "Weakest wire"),
        LG_NUMBER_COLUMN("wire_A", "It may carry", LG_DIM_CURRENT, 3));

COLUMNS(size_page, LG_TEXT_COLUMN("wire", "Wire"), LG_TEXT_COLUMN("size", "Size"),
        LG_NUMBER_COLUMN("length_m", "Length", LG_DIM_LENGTH, 3),
        LG_NUMBER_COLUMN("most_A", "Worst current", LG_DIM_CURRENT, 3),
        LG_NUMBER_COLUMN("allowed_A", "Allowed", LG_DIM_CURRENT, 3),
        LG_NUMBER_COLUMN("conductor_degC", "Conductor", LG_DIM_TEMPERATURE, 2),
        LG_TEXT_COLUMN("binds", "What binds"), LG_TEXT_COLUMN("refused", "One size smaller"));

COLUMNS(given_page, LG_TEXT_COLUMN("wire", "Wire"), LG_TEXT_COLUMN("from", "From"),
        LG_TEXT_COLUMN("to", "To"), LG_TEXT_COLUMN("size", "Size"),
        LG_NUMBER_COLUMN("length_m", "Length", LG_DIM_LENGTH, 3),
        LG_NUMBER_COLUMN("most_A", "Worst current", LG_DIM_CURRENT, 3),
        LG_NUMBER_COLUMN("allowed_A", "Allowed", LG_DIM_CURRENT, 3),
        LG_NUMBER_COLUMN("drop_V", "Drop", LG_DIM_VOLTAGE, 2),
        LG_NUMBER_COLUMN("conductor_degC", "Conductor", LG_DIM_TEMPERATURE, 2));

/* Wires that rest on the same words share one line. */
static void print_bases(LgDocument *document, const LgTable *sizes)
{
  g_autoptr(GPtrArray) lines = g_ptr_array_new_with_free_func(g_free);
  for (int row = 0; row < sizes->n_rows; row++) {
    const char *const basis = lg_table_text(sizes, row, "basis");
    gboolean first = TRUE;
    for (int above = 0; above < row && first; above++)
      first = strcmp(lg_table_text(sizes, above, "basis"), basis) != 0;
    if (!first)
      continue;
    g_autoptr(GString) line = g_string_new(NULL);
    for (int below = row; below < sizes->n_rows; below++)
      if (strcmp(lg_table_text(sizes, below, "basis"), basis) == 0)
        lg_words_add(line, ", ", lg_table_text(sizes, below, "wire"));
    g_string_append_printf(line, ": %s", basis);
    g_ptr_array_add(lines, g_string_free(g_steal_pointer(&line), FALSE));
  }
  if (lines->len == 0)
    return;
  g_ptr_array_add(lines, NULL);
  lg_document_heading(document, T_("On what the allowed currents rest"));
  lg_document_list(document, (const char *const *)lines->pdata, FALSE);
}

static void print_sizes(LgDocument *document, const LgPacket *packet)
{
  lg_document_section(document, T_("Fuses and sizes, with the proof"));
  lg_document_heading(document, packet->fuses->title);
  print_part(document, packet, packet->fuses, fuse_page, NULL, NULL, NULL);
  print_note(document, packet->fuses);
  lg_document_heading(document, T_("Sizes chosen"));
  print_part(document, packet, packet->sizes, size_page, "chosen", T_(lg_by_tool), NULL);
  print_note(document, packet->sizes);
  lg_document_heading(document, T_("Sizes that stand in the sheet"));
  print_part(document, packet, packet->sizes, given_page, "chosen", T_(lg_by_sheet), NULL);
  print_bases(document, packet->sizes);
}

COLUMNS(wire_page, LG_TEXT_COLUMN("wire", "Wire"), LG_TEXT_COLUMN("from", "From"),
        LG_TEXT_COLUMN("to", "To"), LG_TEXT_COLUMN("function", "Function"),
        LG_TEXT_COLUMN("size", "Size"), LG_TEXT_COLUMN("other_size", "Or, not thinner"),
        LG_TEXT_COLUMN("colour", "Colour"),
        LG_NUMBER_COLUMN("length_m", "Length", LG_DIM_LENGTH, 3),
        LG_TEXT_COLUMN("circuit", "Circuit"), LG_TEXT_COLUMN("fuse", "Fuse"));

COLUMNS(end_page, LG_TEXT_COLUMN("wire", "Wire"), LG_TEXT_COLUMN("insulation", "Insulation"),
        LG_NUMBER_COLUMN("cut_m", "Cut", LG_DIM_LENGTH, 3),
        LG_TEXT_COLUMN("terminal_from", "Terminal, from"),
        LG_NUMBER_COLUMN("strip_from_m", "Strip", LG_DIM_LENGTH, 2),
        LG_TEXT_COLUMN("terminal_to", "Terminal, to"),
        LG_NUMBER_COLUMN("strip_to_m", "Strip", LG_DIM_LENGTH, 2),
        LG_TEXT_COLUMN("remark", "Remark"));

static void print_wires(LgDocument *document, const LgPacket *packet)
{
  lg_document_section(document, packet->wires->title);
  print_part(document, packet, packet->wires, wire_page, NULL, NULL, NULL);
  print_note(document, packet->wires);
  lg_document_heading(document, T_("Ends and remarks"));
  print_part(document, packet, packet->wires, end_page, "state", lg_words_is(LG_IS_NEW), NULL);
}

static void print_cuts(LgDocument *document, const LgPacket *packet)
{
  static const char *const blanks[] = {N_("Done"), NULL};
  lg_document_section(document, packet->cuts->title);
  if (packet->cuts->n_rows > 0)
    lg_document_table(document, packet->cuts, packet->job->habit, blanks);
}

COLUMNS(part_page, LG_NUMBER_COLUMN("item", "Item", LG_DIM_NONE, 6),
        LG_TEXT_COLUMN("designation", "Designation"), LG_TEXT_COLUMN("what", "What"),
        LG_TEXT_COLUMN("type", "Type or size"),
        LG_NUMBER_COLUMN("quantity", "Quantity", LG_DIM_NONE, 3),
        LG_NUMBER_COLUMN("spare", "Spare", LG_DIM_NONE, 3), LG_TEXT_COLUMN("unit", "Unit"),
        LG_TEXT_COLUMN("state", "From"), LG_TEXT_COLUMN("buy", "Where to buy"),
        LG_TEXT_COLUMN("price", "Price"));

static void print_parts(LgDocument *document, const LgPacket *packet)
{
  static const char *const blanks[] = {N_("Got"), NULL};
  lg_document_section(document, packet->parts->title);
  print_part(document, packet, packet->parts, part_page, NULL, NULL, NULL);
  print_note(document, packet->parts);
  lg_document_section(document, packet->buying->title);
  if (packet->buying->n_rows > 0)
    lg_document_table(document, packet->buying, packet->job->habit, blanks);
}

static void print_connectors(LgDocument *document, const LgPacket *packet)
{
  if (packet->connectors->len == 0)
    return;
  lg_document_section(document, T_("Connectors"));
  for (guint i = 0; i < packet->connectors->len; i++) {
    const LgTable *const table = packet->connectors->pdata[i];
    lg_document_heading(document, table->title);
    print_note(document, table);
    print_part(document, packet, table, table->columns, NULL, NULL, NULL);
    lg_print_papers_of_part(document, packet, lg_connector_part(packet->job, table));
  }
}

COLUMNS(step_page, LG_NUMBER_COLUMN("step", "Step", LG_DIM_NONE, 5),
        LG_TEXT_COLUMN("from", "Red lead"), LG_TEXT_COLUMN("to", "Black lead"),
        LG_TEXT_COLUMN("check", "What"), LG_TEXT_COLUMN("meter", "Meter"),
        LG_TEXT_COLUMN("expected", "Expect"));

static void print_pre_power(LgDocument *document, const LgPacket *packet)
{
  static const char *const blanks[] = {N_("Found"), N_("Good"), NULL};
  lg_document_section(document, packet->pre_power->title);
  print_note(document, packet->pre_power);
  for (int i = 0; lg_pre_power_stages[i] != NULL; i++) {
    g_autoptr(LgTable) part =
        lg_table_part(packet->pre_power, step_page, "stage", T_(lg_pre_power_stages[i]));
    if (part->n_rows == 0)
      continue;
    lg_document_heading(document, T_(lg_pre_power_stages[i]));
    lg_document_table(document, part, packet->job->habit, blanks);
  }
}

COLUMNS(reading_page, LG_NUMBER_COLUMN("step", "Step", LG_DIM_NONE, 5),
        LG_TEXT_COLUMN("where", "Measure"), LG_NUMBER_COLUMN("expected", "Expect", LG_DIM_NONE, 3),
        LG_NUMBER_COLUMN("least", "Least", LG_DIM_NONE, 3),
        LG_NUMBER_COLUMN("most", "Most", LG_DIM_NONE, 3), LG_TEXT_COLUMN("unit", "Unit"));

static void print_readings(LgDocument *document, const LgPacket *packet)
{
  static const char *const blanks[] = {N_("Found"), N_("Who, when"), NULL};
  lg_document_section(document, packet->readings->title);
  print_note(document, packet->readings);
  const char *last = "";
  for (int row = 0; row < packet->readings->n_rows; row++) {
    const char *const state = lg_table_text(packet->readings, row, "state");
    if (strcmp(state, last) == 0)
      continue;
    last = state;
    lg_document_heading(document, state);
    print_part(document, packet, packet->readings, reading_page, "state", state, blanks);
  }
}

COLUMNS(sign_page, LG_TEXT_COLUMN("what", "What"));

static void print_sign_off(LgDocument *document, const LgPacket *packet)
{
  static const char *const rows[] = {
      N_("Built as in this packet, or changes noted in it"),
      N_("Checked before first power, every step good"),
      N_("Readings taken under load, all within their limits"),
      N_("Owner told: which fuse, how to switch off, what was changed"),
  };
  static const char *const blanks[] = {N_("Name"), N_("Date"), N_("Signature"), NULL};
  lg_document_section(document, T_("Sign-off"));
  g_autoptr(LgTable) table = lg_table_new("sign-off", T_("Sign-off"), sign_page);
  for (gsize i = 0; i < G_N_ELEMENTS(rows); i++)
    lg_table_add(table, T_(rows[i]));
  lg_document_table(document, table, packet->job->habit, blanks);
}

COLUMNS(order_page, LG_NUMBER_COLUMN("step", "Step", LG_DIM_NONE, 4),
        LG_TEXT_COLUMN("stage", "Stage"), LG_TEXT_COLUMN("do", "Do"),
        LG_TEXT_COLUMN("with", "With"), LG_TEXT_COLUMN("minutes", "Minutes"));

static void print_order(LgDocument *document, const LgPacket *packet, const LgTable *order)
{
  static const char *const blanks[] = {N_("Done"), NULL};
  lg_document_section(document, order->title);
  print_part(document, packet, order, order_page, NULL, NULL, blanks);
  print_note(document, order);
  lg_print_papers_of_steps(document, packet, order);
}

COLUMNS(subject_page, LG_TEXT_COLUMN("what", "What"), LG_TEXT_COLUMN("detail", "Detail"));
COLUMNS(hand_page, LG_TEXT_COLUMN("what", "What"));

static void print_blanks(LgDocument *document, const LgPacket *packet, const char *const rows[],
                         const char *const blanks[])
{
  g_autoptr(LgTable) table = lg_table_new("by-hand", "By hand", hand_page);
  for (int i = 0; rows[i] != NULL; i++)
    lg_table_add(table, T_(rows[i]));
  lg_document_table(document, table, packet->job->habit, blanks);
}

/* Grouped by subject; at its end what only a pen can add, and who signs. */
static void print_handover(LgDocument *document, const LgPacket *packet, const LgTable *handover)
{
  static const char *const facts[] = {N_("Vehicle, its number, distance run"),
                                      N_("Condition before"),
                                      N_("Removed or disturbed: doors, trim, belts"),
                                      N_("Condition after; function tests"),
                                      N_("Built otherwise than this packet says"),
                                      NULL},
                           *const signers[] = {N_("Who did the work"), N_("Owner or customer"),
                                               NULL};
  const char *const facts_blanks[] = {T_("Entry"), NULL}, *const sign_blanks[] = {
                                                              T_("Name"), T_("Date"),
                                                              T_("Signature"), NULL};
  lg_document_section(document, handover->title);
  for (int i = 0; lg_handover_subjects[i] != NULL; i++) {
    const char *const subject = T_(lg_handover_subjects[i]);
    g_autoptr(LgTable) part = lg_table_part(handover, subject_page, "subject", subject);
    if (part->n_rows == 0)
      continue;
    lg_document_heading(document, subject);
    lg_document_table(document, part, packet->job->habit, NULL);
  }
  print_note(document, handover);
  lg_document_heading(document, T_("To be filled in by hand"));
  print_blanks(document, packet, facts, facts_blanks);
  print_blanks(document, packet, signers, sign_blanks);
}

/* Tables that have no form of their own are printed whole, each a section. */
static void print_tables(LgDocument *document, const LgPacket *packet, const GPtrArray *tables)
{
  for (guint i = 0; i < tables->len; i++) {
    const LgTable *const table = tables->pdata[i];
    if (table->n_rows == 0)
      continue;
    if (strcmp(table->key, "order") == 0) {
      print_order(document, packet, table);
    } else if (strcmp(table->key, "handover") == 0) {
      print_handover(document, packet, table);
    } else {
      lg_document_section(document, table->title);
      lg_document_table(document, table, packet->job->habit, NULL);
    }
  }
}

COLUMNS(guide_page, LG_TEXT_COLUMN("step", "Step"), LG_TEXT_COLUMN("do", "What to do"),
        LG_TEXT_COLUMN("if", "If"), LG_TEXT_COLUMN("then", "Then"));

void lg_packet_guide(LgDocument *document, const LgPacket *packet)
{
  print_cautions(document, packet);
  for (guint i = 0; i < packet->guide->len; i++) {
    const LgTable *const table = packet->guide->pdata[i];
    lg_document_leaf(document, table->title);
    print_part(document, packet, table, guide_page, NULL, NULL, NULL);
  }
}

void lg_packet_pages(LgDocument *document, const LgPacket *packet)
{
  print_cautions(document, packet);
  print_verdict(document, packet);
  print_circuits(document, packet);
  print_needs(document, packet);
  print_sizes(document, packet);
  print_wires(document, packet);
  print_cuts(document, packet);
  print_parts(document, packet);
  print_connectors(document, packet);
  print_tables(document, packet, packet->build);
  print_pre_power(document, packet);
  print_readings(document, packet);
  print_tables(document, packet, packet->proof);
  lg_print_chapters(document, packet, lg_table_find(packet->build, "order"));
  print_sign_off(document, packet);
}
