/* The packet's files: one PDF, one CSV a table. */
#include "base/words.h"
#include "drawing/board.h"
#include "drawing/face.h"
#include "drawing/flow.h"
#include "drawing/paper.h"
#include "packet/packet-private.h"
#include "packet/page.h"
#include "studies/shorts.h"
#include <errno.h>
#include <math.h>
#include <string.h>

/* What is asked between pieces of the work. Shares are those of the time that the example takes. */
typedef struct {
  const LgPacketOptions *options;
  gboolean stopped;
} Way;

enum {
  GUIDE_pc = 5,
  FAULTS_pc = 30,
  PAPERS_pc = 60,
  PAGE_pc = 75,
  DRAWINGS_pc = 80,
  LISTS_pc = 95
};

static gboolean goes_on(Way *way, double percent, GError **error)
{
  const LgPacketOptions *const options = way->options;
  way->stopped =
      way->stopped || (options->stop != NULL && options->stop(percent / 100, options->user));
  if (way->stopped)
    g_set_error_literal(error, G_FILE_ERROR, G_FILE_ERROR_INTR,
                        "stopped before all papers were written");
  return !way->stopped;
}

static gboolean stops_faults(double share, gpointer user)
{
  return !goes_on(user, FAULTS_pc + share * (PAPERS_pc - FAULTS_pc), NULL);
}

static GPtrArray *take_tables(LgTable *const tables[], gsize n)
{
  GPtrArray *const list = g_ptr_array_new_with_free_func((GDestroyNotify)lg_table_free);
  for (gsize i = 0; i < n; i++)
    g_ptr_array_add(list, tables[i]);
  return list;
}

static GPtrArray *build_tables(const LgSizing *sizing)
{
  LgTable *const tables[] = {lg_table_routes(sizing), lg_table_openings(sizing),
                             lg_table_spools(sizing), lg_table_splices(sizing),
                             lg_table_crimps(sizing), lg_table_labels(sizing),
                             lg_table_order(sizing),  lg_table_quote(sizing)};
  return take_tables(tables, G_N_ELEMENTS(tables));
}

/* Remedies take longer than all the rest; `loomgraft faults` tries them. */
static GPtrArray *proof_tables(const LgSizing *sizing, Way *way)
{
  const LgCampaignOptions options = {.n_remedies = -1,
                                     .n_threads = (int)g_get_num_processors(),
                                     .stop = stops_faults,
                                     .user = way};
  LgCampaign *const campaign =
      goes_on(way, FAULTS_pc, NULL) ? lg_campaign_new(sizing, &options) : NULL;
  if (campaign == NULL)
    return take_tables(NULL, 0);
  g_autoptr(LgShorts) shorts = lg_shorts_new(sizing);
  LgTable *const tables[] = {lg_shorts_table(shorts), lg_table_faults(campaign),
                             lg_table_first_power(sizing), lg_table_handover(sizing)};
  lg_campaign_free(campaign);
  return take_tables(tables, G_N_ELEMENTS(tables));
}

static GPtrArray *guide_tables(const LgSizing *sizing, Way *way)
{
  LgLocator *const locator = goes_on(way, GUIDE_pc, NULL) ? lg_locator_new(sizing, NULL) : NULL;
  if (locator == NULL)
    return take_tables(NULL, 0);
  GPtrArray *const tables = lg_tables_guide(locator, sizing->circuit->job);
  lg_locator_free(locator);
  return tables;
}

/* When it is stopped midway, the lists are empty. */
static void packet_init(LgPacket *packet, const LgSizing *sizing, const GPtrArray *findings,
                        Way *way)
{
  *packet = (LgPacket){.sizing = sizing,
                       .job = sizing->circuit->job,
                       .findings = findings,
                       .circuits = lg_table_circuits(sizing),
                       .needs = lg_table_needs(sizing),
                       .sizes = lg_table_sizes(sizing),
                       .fuses = lg_table_fuses(sizing),
                       .wires = lg_table_wire_list(sizing),
                       .cuts = lg_table_cut_list(sizing),
                       .parts = lg_table_parts(sizing),
                       .buying = lg_table_buying(sizing),
                       .pre_power = lg_table_pre_power(sizing),
                       .readings = lg_table_readings(sizing),
                       .connectors = lg_tables_connectors(sizing->circuit->job),
                       .build = build_tables(sizing),
                       .guide = guide_tables(sizing, way),
                       .proof = proof_tables(sizing, way),
                       .photos = lg_shown_photos(sizing->circuit->job)};
}

#define N_TABLES 10

static void list_tables(const LgPacket *packet, LgTable *tables[N_TABLES])
{
  LgTable *const all[N_TABLES] = {packet->circuits,  packet->needs,   packet->sizes, packet->fuses,
                                  packet->wires,     packet->cuts,    packet->parts, packet->buying,
                                  packet->pre_power, packet->readings};
  for (int i = 0; i < N_TABLES; i++)
    tables[i] = all[i];
}

static void packet_clear(LgPacket *packet)
{
  LgTable *tables[N_TABLES];
  list_tables(packet, tables);
  for (int i = 0; i < N_TABLES; i++)
    lg_table_free(tables[i]);
  g_ptr_array_unref(packet->connectors);
  g_ptr_array_unref(packet->build);
  g_ptr_array_unref(packet->guide);
  g_ptr_array_unref(packet->proof);
  lg_shown_photos_free(packet->photos, packet->job->n_photos);
}

static void add_vehicle_lines(GPtrArray *lines, const LgJob *job)
{
  for (int i = 0; i < job->n_vehicles; i++) {
    const LgVehicle *const vehicle = &job->vehicles[i];
    g_ptr_array_add(lines, g_strdup_printf("%s: %s%s%s", vehicle->donor ? T_("Donor") : T_("Host"),
                                           vehicle->text != NULL ? vehicle->text : vehicle->name,
                                           vehicle->proven != NULL ? T_("; proven on ") : "",
                                           vehicle->proven != NULL ? vehicle->proven : ""));
  }
  if (job->n_vehicles == 0)
    g_ptr_array_add(lines, g_strdup(T_("Vehicles: not in the sheet")));
}

static void add_cover(LgDocument *document, const LgJob *job)
{
  g_autoptr(GPtrArray) lines = g_ptr_array_new_with_free_func(g_free);
  add_vehicle_lines(lines, job);
  g_autofree char *nominal = lg_number_print(job->nominal_V, 3);
  g_ptr_array_add(lines, g_strdup_printf("%s V, %s %s", nominal,
                                         job->positive_ground ? T_("positive") : T_("negative"),
                                         T_(job->ground_word)));
  g_ptr_array_add(lines,
                  g_strdup_printf(T_("Revision of %s"),
                                  job->date != NULL ? job->date : T_("(date not in the sheet)")));
  g_ptr_array_add(lines, g_strdup_printf(T_("Written by: %s"),
                                         job->by != NULL ? job->by : T_("not in the sheet")));
  g_ptr_array_add(lines, g_strdup_printf(T_("Whom to ask: %s"),
                                         job->ask != NULL ? job->ask : T_("not in the sheet")));
  g_ptr_array_add(lines, g_strdup_printf(T_("Made with loomgraft %s"), LG_VERSION));
  g_ptr_array_add(lines, NULL);
  lg_document_cover(document, job->title, (const char *const *)lines->pdata);
}

/* A paper of its own, to carry to the vehicle. */
static GBytes *make_guide(const LgPacket *packet, GError **error)
{
  const LgJob *const job = packet->job;
  const char *const revision = job->date != NULL ? job->date : T_("no date");
  g_autoptr(LgDocument) document =
      lg_document_new(job->letter_paper ? LG_PAPER_LETTER : LG_PAPER_A4,
                      T_("When something does not work"), revision);
  lg_packet_guide(document, packet);
  return lg_document_finish(document, error);
}

static GBytes *make_pdf(const LgPacket *packet, GError **error)
{
  const LgJob *const job = packet->job;
  g_autofree char *revision = job->date != NULL ? g_strdup_printf(T_("revision of %s"), job->date)
                                                : g_strdup(T_("no date"));
  g_autoptr(LgDocument) document =
      lg_document_new(job->letter_paper ? LG_PAPER_LETTER : LG_PAPER_A4, job->title, revision);
  add_cover(document, job);
  lg_packet_pages(document, packet);
  lg_packet_legend(document, packet);
  return lg_document_finish(document, error);
}

static gboolean save(const char *folder, const char *name, GBytes *bytes, GPtrArray *written,
                     GError **error)
{
  g_autofree char *path = g_build_filename(folder, name, NULL);
  if (!lg_save(path, bytes, error)) {
    g_prefix_error(error, "%s: ", path);
    return FALSE;
  }
  if (written != NULL)
    g_ptr_array_add(written, g_steal_pointer(&path));
  return TRUE;
}

static gboolean save_csv(const char *folder, const LgTable *table, GPtrArray *written,
                         GError **error)
{
  g_autofree char *name = g_strdup_printf("%s.csv", table->key);
  char *const text = lg_table_csv(table);
  g_autoptr(GBytes) bytes = g_bytes_new_take(text, strlen(text));
  return save(folder, name, bytes, written, error);
}

/* The current-flow diagram with the sizes and ratings that were chosen. */
static GPtrArray *flow_sheets(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  g_autofree double *ratings = g_new(double, MAX(job->n_elements, 1));
  for (int e = 0; e < job->n_elements; e++)
    ratings[e] = lg_element_is_protection(job->elements[e].kind) ? sizing->fuses[e].rating_A : NAN;
  const LgFlowOptions options = {.width_mm = lg_paper_long_mm(job->letter_paper),
                                 .height_mm = lg_paper_short_mm(job->letter_paper),
                                 .chosen = sizing->chosen,
                                 .ratings_A = ratings};
  return lg_flow_new(job, &options);
}

/* One PDF of drawings; nothing where there are none. Takes the sheets. */
static gboolean save_sheets(GPtrArray *sheets, const char *title, const char *folder,
                            const char *name, GPtrArray *written, GError **error)
{
  g_autoptr(GPtrArray) mine = sheets;
  if (mine->len == 0)
    return TRUE;
  g_autoptr(GBytes) pdf = lg_drawings_pdf(mine, title, error);
  return pdf != NULL && save(folder, name, pdf, written, error);
}

static void move_sheets(GPtrArray *to, GPtrArray *from)
{
  g_ptr_array_extend_and_steal(to, from);
}

static const LgLabelSheet *first_label_sheet(const LgJob *job)
{
  const LgPaper paper = job->letter_paper ? LG_PAPER_LETTER : LG_PAPER_A4;
  const LgLabelSheet *sheet = lg_label_sheets;
  while (sheet->name != NULL && sheet->paper != paper)
    sheet++;
  return sheet;
}

/* Diagram and faces, route plan, board at full scale, labels. */
static gboolean save_drawings(const LgPacket *packet, GPtrArray *flow, const LgLabelSheet *stock,
                              const char *folder, GPtrArray *written, GError **error)
{
  const LgSizing *const sizing = packet->sizing;
  const LgJob *const job = packet->job;
  const double wide = lg_paper_long_mm(job->letter_paper),
               high = lg_paper_short_mm(job->letter_paper);
  g_autoptr(LgRoute) route = lg_route_new(sizing);
  GPtrArray *const plan = lg_route_draw(route, wide, high);
  move_sheets(plan, lg_openings_draw(route, wide, high));
  LgBoard *const board = lg_board_new(route, wide, high);
  GPtrArray *const tiles = lg_board_tiles(board, wide, high);
  lg_board_free(board);
  const LgConductor *const *const chosen = (const LgConductor *const *)sizing->chosen;
  g_autoptr(GPtrArray) faces = lg_faces_new(job, high - 20, chosen);
  if (!save_sheets(g_ptr_array_ref(flow), job->title, folder, "diagram.pdf", written, error) ||
      !save_sheets(lg_drawings_stack(faces, job->letter_paper, job->title), job->title, folder,
                   "faces.pdf", written, error) ||
      !save_sheets(plan, job->title, folder, "routes.pdf", written, error) ||
      !save_sheets(tiles, job->title, folder, "board.pdf", written, error))
    return FALSE;
  g_autoptr(LgTable) labels = lg_table_labels(sizing);
  return save_sheets(
      lg_labels_draw(labels, stock != NULL ? stock : first_label_sheet(job), 0, TRUE), job->title,
      folder, "labels.pdf", written, error);
}

static gboolean save_page(const LgPacket *packet, const GPtrArray *sheets, const char *folder,
                          gboolean share, GPtrArray *written, GError **error)
{
  const LgPageOptions options = {.share = share, .sheets = sheets};
  g_autoptr(GBytes) page = lg_page_new(packet, &options);
  return save(folder, "write-up.html", page, written, error);
}

static gboolean save_list(const char *folder, const GPtrArray *tables, GPtrArray *written,
                          GError **error)
{
  for (guint i = 0; i < tables->len; i++)
    if (!save_csv(folder, tables->pdata[i], written, error))
      return FALSE;
  return TRUE;
}

static gboolean save_all(const LgPacket *packet, GBytes *pdf, const char *folder, Way *way,
                         GPtrArray *written, GError **error)
{
  g_autoptr(GPtrArray) flow = flow_sheets(packet->sizing);
  g_autoptr(GBytes) guide = make_guide(packet, error);
  if (guide == NULL || !save(folder, "packet.pdf", pdf, written, error) ||
      !save(folder, "guide.pdf", guide, written, error) || !goes_on(way, PAGE_pc, error) ||
      !save_page(packet, flow, folder, way->options->share, written, error) ||
      !goes_on(way, DRAWINGS_pc, error) ||
      !save_drawings(packet, flow, way->options->labels, folder, written, error) ||
      !goes_on(way, LISTS_pc, error) || !save_list(folder, packet->build, written, error) ||
      !save_list(folder, packet->proof, written, error))
    return FALSE;
  LgTable *tables[N_TABLES];
  list_tables(packet, tables);
  for (int i = 0; i < N_TABLES; i++)
    if (!save_csv(folder, tables[i], written, error))
      return FALSE;
  return save_list(folder, packet->connectors, written, error);
}

gboolean lg_packet_write(const LgSizing *sizing, const GPtrArray *findings, const char *folder,
                         const LgPacketOptions *options, GPtrArray *written, GError **error)
{
  if (g_mkdir_with_parents(folder, 0777) != 0) {
    const int number = errno;
    g_set_error(error, G_FILE_ERROR, (int)g_file_error_from_errno(number),
                "%s: the folder cannot be made: %s", folder, g_strerror(number));
    return FALSE;
  }
  LgPacket packet;
  Way way = {options, FALSE};
  packet_init(&packet, sizing, findings, &way);
  g_autoptr(GBytes) pdf = goes_on(&way, PAPERS_pc, error) ? make_pdf(&packet, error) : NULL;
  const gboolean done = pdf != NULL && save_all(&packet, pdf, folder, &way, written, error);
  packet_clear(&packet);
  return done;
}
