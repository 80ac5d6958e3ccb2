/* The newest edition that could be sized and checked, ready for questions.
 *
 * An edition has two openings: a quick one that answers for states, things and findings while one
 * turns switches, and a second one, made when it is first needed, that draws, fills tables and
 * proves remedies, so that such work never holds up the first. */
#include "workbench/server-private.h"
#include <string.h>

typedef struct {
  GMutex lock;
  LgLive *live;
} Opening;

typedef struct {
  gatomicrefcount uses;
  guint number;
  char *file;
  GBytes *text;
  Opening quick, slow;
} Edition;

struct LgLiveDesk {
  Server *server;
  GMutex lock;
  GCond wake;
  gboolean due, end;
  Edition *ready; /* NULL: none yet */
  char *unready;  /* why the newest is not; NULL */
  GThread *thread;
};

/* --- editions --- */

static LgLive *open_live(const char *file, GBytes *text, GError **error)
{
  g_autoptr(LgJobSheet) sheet = lg_job_sheet_new(file, text);
  return lg_live_new(sheet, error);
}

static Edition *edition_new(Server *server, GError **error)
{
  guint number;
  g_autoptr(GBytes) text = lg_store_text(server->store, &number);
  const char *const file = lg_store_file(server->store);
  LgLive *const live = open_live(file, text, error);
  if (live == NULL)
    return NULL;
  Edition *const edition = g_new0(Edition, 1);
  g_atomic_ref_count_init(&edition->uses);
  edition->number = number;
  edition->file = g_strdup(file);
  edition->text = g_steal_pointer(&text);
  edition->quick.live = live;
  g_mutex_init(&edition->quick.lock);
  g_mutex_init(&edition->slow.lock);
  return edition;
}

static void edition_unref(Edition *edition)
{
  if (edition == NULL || !g_atomic_ref_count_dec(&edition->uses))
    return;
  lg_live_free(edition->quick.live);
  lg_live_free(edition->slow.live);
  g_mutex_clear(&edition->quick.lock);
  g_mutex_clear(&edition->slow.lock);
  g_bytes_unref(edition->text);
  g_free(edition->file);
  g_free(edition);
}
G_DEFINE_AUTOPTR_CLEANUP_FUNC(Edition, edition_unref)

static Edition *take_edition(LgLiveDesk *desk)
{
  g_mutex_lock(&desk->lock);
  Edition *const edition = desk->ready;
  if (edition != NULL)
    g_atomic_ref_count_inc(&edition->uses);
  g_mutex_unlock(&desk->lock);
  return edition;
}

static LgLive *lock_quick(Edition *edition)
{
  g_mutex_lock(&edition->quick.lock);
  return edition->quick.live;
}

/* Never NULL: the text was opened once already. */
static LgLive *lock_slow(Edition *edition)
{
  g_mutex_lock(&edition->slow.lock);
  if (edition->slow.live == NULL)
    edition->slow.live = open_live(edition->file, edition->text, NULL);
  return edition->slow.live;
}

/* --- the preparing thread --- */

static void put_ready(LgLiveDesk *desk, Edition *edition, const char *unready)
{
  g_mutex_lock(&desk->lock);
  Edition *const old = edition != NULL ? g_steal_pointer(&desk->ready) : NULL;
  if (edition != NULL)
    desk->ready = edition;
  g_free(desk->unready);
  desk->unready = g_strdup(unready);
  g_mutex_unlock(&desk->lock);
  edition_unref(old);
}

static gboolean wait_for_work(LgLiveDesk *desk)
{
  g_mutex_lock(&desk->lock);
  while (!desk->due && !desk->end)
    g_cond_wait(&desk->wake, &desk->lock);
  desk->due = FALSE;
  const gboolean end = desk->end;
  g_mutex_unlock(&desk->lock);
  return !end;
}

static gpointer prepare(gpointer user)
{
  LgLiveDesk *const desk = user;
  while (wait_for_work(desk)) {
    g_autoptr(GError) error = NULL;
    Edition *const edition = edition_new(desk->server, &error);
    put_ready(desk, edition, edition == NULL ? error->message : NULL);
    lg_news_tell(desk->server->news);
  }
  return NULL;
}

LgLiveDesk *lg_live_desk_new(Server *server)
{
  LgLiveDesk *const desk = g_new0(LgLiveDesk, 1);
  desk->server = server;
  desk->due = TRUE;
  g_mutex_init(&desk->lock);
  g_cond_init(&desk->wake);
  desk->thread = g_thread_new("prepare", prepare, desk);
  return desk;
}

void lg_live_desk_end(LgLiveDesk *desk)
{
  if (desk == NULL)
    return;
  g_mutex_lock(&desk->lock);
  desk->end = TRUE;
  g_cond_signal(&desk->wake);
  g_mutex_unlock(&desk->lock);
  g_thread_join(g_steal_pointer(&desk->thread));
}

void lg_live_desk_free(LgLiveDesk *desk)
{
  if (desk == NULL)
    return;
  edition_unref(desk->ready);
  g_free(desk->unready);
  g_mutex_clear(&desk->lock);
  g_cond_clear(&desk->wake);
  g_free(desk);
}

void lg_live_desk_prepare(LgLiveDesk *desk)
{
  g_mutex_lock(&desk->lock);
  desk->due = TRUE;
  g_cond_signal(&desk->wake);
  g_mutex_unlock(&desk->lock);
}

guint lg_live_desk_ready(LgLiveDesk *desk)
{
  g_mutex_lock(&desk->lock);
  const guint number = desk->ready != NULL ? desk->ready->number : 0;
  g_mutex_unlock(&desk->lock);
  return number;
}

char *lg_live_desk_unready(LgLiveDesk *desk)
{
  g_mutex_lock(&desk->lock);
  char *const why = g_strdup(desk->unready);
  g_mutex_unlock(&desk->lock);
  return why;
}

/* --- answers --- */

static LgAnswer *nothing_ready(Server *server)
{
  g_autofree char *why = lg_live_desk_unready(server->live);
  if (why == NULL)
    return lg_answer_with(lg_answer_wrong(MHD_HTTP_SERVICE_UNAVAILABLE,
                                          "The sheet is still being sized and checked.",
                                          "Ask again in a moment."),
                          MHD_HTTP_HEADER_RETRY_AFTER, g_strdup("1"));
  g_autoptr(GError) error = g_error_new_literal(LG_ERROR, LG_ERROR_SHEET, why);
  return lg_answer_error(error);
}

static LgAnswer *number_header(LgAnswer *answer, const Edition *edition)
{
  return lg_answer_with(answer, "X-Edition", g_strdup_printf("%u", edition->number));
}

/* An object of live with the edition put in front; takes the text. */
static LgAnswer *with_number(char *json, const Edition *edition, const GError *error)
{
  g_autofree char *object = json;
  if (object == NULL)
    return lg_answer_error(error);
  g_assert(object[0] == '{');
  return number_header(
      lg_answer_json(g_strdup_printf("{\"edition\": %u, %s", edition->number, object + 1)),
      edition);
}

static gboolean is_among(const char *word, const char *const *list)
{
  return list != NULL && g_strv_contains(list, word);
}

/* "KEY=on" of every pair of the query whose key is not in `others`. */
static GStrv settings_of(const LgRequest *request, const char *const *others)
{
  g_autoptr(GStrvBuilder) settings = g_strv_builder_new();
  for (guint i = 0; i + 1 < request->query->len; i += 2) {
    const char *const key = request->query->pdata[i], *const value = request->query->pdata[i + 1];
    if (is_among(key, others))
      continue;
    g_autofree char *setting = g_strdup_printf("%s=%s", key, value);
    g_strv_builder_add(settings, setting);
  }
  return g_strv_builder_end(settings);
}

LgAnswer *lg_serve_live(Server *server, const LgRequest *request)
{
  g_autoptr(Edition) edition = take_edition(server->live);
  if (edition == NULL)
    return nothing_ready(server);
  static const char *const others[] = {"fault", NULL};
  g_auto(GStrv) settings = settings_of(request, others);
  const char *const fault = lg_request_query(request, "fault");
  g_autoptr(GError) error = NULL;
  char *const json = lg_live_state_json(lock_quick(edition), (const char *const *)settings,
                                        fault == NULL || fault[0] == '\0' ? NULL : fault, &error);
  g_mutex_unlock(&edition->quick.lock);
  return with_number(json, edition, error);
}

static LgAnswer *asks_for_nothing(void)
{
  return lg_answer_wrong(MHD_HTTP_BAD_REQUEST, "The request does not say about what.",
                         "Name a kind and a name: kind=wire&name=W6.");
}

LgAnswer *lg_serve_faults_of(Server *server, const LgRequest *request)
{
  const char *const kind = lg_request_query(request, "kind"), *const name =
                                                                  lg_request_query(request, "name");
  if (kind == NULL || name == NULL)
    return asks_for_nothing();
  g_autoptr(Edition) edition = take_edition(server->live);
  if (edition == NULL)
    return nothing_ready(server);
  g_autoptr(GError) error = NULL;
  char *const json = lg_live_faults_json(lock_quick(edition), kind, name, &error);
  g_mutex_unlock(&edition->quick.lock);
  return with_number(json, edition, error);
}

LgAnswer *lg_serve_about(Server *server, const LgRequest *request)
{
  const char *const kind = lg_request_query(request, "kind"), *const name =
                                                                  lg_request_query(request, "name");
  if (kind == NULL || name == NULL)
    return asks_for_nothing();
  g_autoptr(Edition) edition = take_edition(server->live);
  if (edition == NULL)
    return nothing_ready(server);
  static const char *const others[] = {"kind", "name", "fault", NULL};
  g_auto(GStrv) settings = settings_of(request, others);
  g_autoptr(GError) error = NULL;
  char *const json =
      lg_live_about_json(lock_quick(edition), kind, name, (const char *const *)settings, &error);
  g_mutex_unlock(&edition->quick.lock);
  return with_number(json, edition, error);
}

LgAnswer *lg_serve_findings(Server *server, const LgRequest *request)
{
  (void)request;
  g_autoptr(Edition) edition = take_edition(server->live);
  if (edition == NULL)
    return nothing_ready(server);
  char *const json = lg_live_findings_json(lock_quick(edition));
  g_mutex_unlock(&edition->quick.lock);
  return with_number(json, edition, NULL);
}

LgAnswer *lg_serve_prove(Server *server, const LgRequest *request)
{
  const char *const finding = lg_request_text(request, "finding");
  if (finding == NULL)
    return lg_answer_wrong(MHD_HTTP_BAD_REQUEST, "The request names no finding.",
                           "Send {\"finding\": \"its id\"}.");
  g_autoptr(Edition) edition = take_edition(server->live);
  if (edition == NULL)
    return nothing_ready(server);
  g_autoptr(GError) error = NULL;
  char *const json = lg_live_prove_json(lock_slow(edition), finding, &error);
  g_mutex_unlock(&edition->slow.lock);
  return with_number(json, edition, error);
}

/* --- drawings and tables --- */

static char *mark_of(const Server *server, const Edition *edition)
{
  return g_strdup_printf("\"%s-%u\"", server->start_mark, edition->number);
}

/* NULL, or the answer that the asker has it already. */
static LgAnswer *has_it(const LgRequest *request, const char *mark)
{
  if (request->if_none_match == NULL || strstr(request->if_none_match, mark) == NULL)
    return NULL;
  LgAnswer *const answer = lg_answer_bytes("text/plain; charset=utf-8", g_bytes_new(NULL, 0));
  answer->status = MHD_HTTP_NOT_MODIFIED;
  return lg_answer_with(answer, MHD_HTTP_HEADER_ETAG, g_strdup(mark));
}

LgAnswer *lg_serve_drawings(Server *server, const LgRequest *request)
{
  (void)request;
  g_autoptr(Edition) edition = take_edition(server->live);
  if (edition == NULL)
    return nothing_ready(server);
  char *const json = lg_live_drawings_json(lock_slow(edition));
  g_mutex_unlock(&edition->slow.lock);
  return with_number(json, edition, NULL);
}

static const char *mime_of_format(const char *format)
{
  return strcmp(format, "svg") == 0   ? "image/svg+xml"
         : strcmp(format, "png") == 0 ? "image/png"
                                      : "application/pdf";
}

static LgAnswer *draw(Server *server, const LgRequest *request, const char *name, guint sheet,
                      const char *format)
{
  g_autoptr(Edition) edition = take_edition(server->live);
  if (edition == NULL)
    return nothing_ready(server);
  g_autofree char *mark = mark_of(server, edition);
  LgAnswer *const same = has_it(request, mark);
  if (same != NULL)
    return same;
  g_autoptr(GError) error = NULL;
  GBytes *const bytes = lg_live_drawing(lock_slow(edition), name, sheet, format, &error);
  g_mutex_unlock(&edition->slow.lock);
  if (bytes == NULL)
    return lg_answer_error(error);
  return number_header(lg_answer_with(lg_answer_bytes(mime_of_format(format), bytes),
                                      MHD_HTTP_HEADER_ETAG, g_steal_pointer(&mark)),
                       edition);
}

/* "3.svg" into 3 and "svg". */
static gboolean read_sheet_name(const char *text, guint *sheet, const char **format)
{
  static const char *const formats[] = {"svg", "png", "pdf", NULL};
  const gsize digits = strspn(text, "0123456789");
  if (digits == 0 || digits > 4 || text[digits] != '.')
    return FALSE;
  *sheet = (guint)g_ascii_strtoull(text, NULL, 10);
  *format = text + digits + 1;
  return *sheet > 0 && g_strv_contains(formats, *format);
}

LgAnswer *lg_serve_drawing(Server *server, const LgRequest *request)
{
  guint sheet;
  const char *format;
  if (!read_sheet_name(request->words[2], &sheet, &format))
    return lg_answer_not_found();
  return draw(server, request, request->words[1], sheet, format);
}

LgAnswer *lg_serve_drawing_whole(Server *server, const LgRequest *request)
{
  const char *const file = request->words[1];
  if (!g_str_has_suffix(file, ".pdf"))
    return lg_answer_not_found();
  g_autofree char *name = g_strndup(file, strlen(file) - strlen(".pdf"));
  return draw(server, request, name, 0, "pdf");
}

LgAnswer *lg_serve_tables(Server *server, const LgRequest *request)
{
  (void)request;
  g_autoptr(Edition) edition = take_edition(server->live);
  if (edition == NULL)
    return nothing_ready(server);
  char *const json = lg_live_tables_json(lock_slow(edition));
  g_mutex_unlock(&edition->slow.lock);
  return number_header(lg_answer_json(json), edition);
}

LgAnswer *lg_serve_table(Server *server, const LgRequest *request)
{
  const char *const file = request->words[1];
  const gboolean csv = g_str_has_suffix(file, ".csv");
  g_autofree char *key = csv ? g_strndup(file, strlen(file) - strlen(".csv")) : g_strdup(file);
  g_autoptr(Edition) edition = take_edition(server->live);
  if (edition == NULL)
    return nothing_ready(server);
  g_autoptr(GError) error = NULL;
  char *const text = lg_live_table(lock_slow(edition), key, csv, &error);
  g_mutex_unlock(&edition->slow.lock);
  if (text == NULL)
    return lg_answer_error(error);
  if (!csv)
    return number_header(lg_answer_json(text), edition);
  return number_header(
      lg_answer_bytes("text/csv; charset=utf-8", g_bytes_new_take(text, strlen(text))), edition);
}
