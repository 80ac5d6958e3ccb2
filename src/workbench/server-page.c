/* The page's files, out of the program itself, and the ways in. */
#include "page-files.h"
#include "workbench/server-private.h"
#include <string.h>

#define FILES "/loomgraft/workbench/"

struct LgPages {
  GResource *resource;
  GHashTable *marks; /* path -> ETag */
};

static void mark_files(LgPages *pages, const char *folder)
{
  g_auto(GStrv) names = g_resource_enumerate_children(pages->resource, folder, 0, NULL);
  for (guint i = 0; names != NULL && names[i] != NULL; i++) {
    char *const path = g_strconcat(folder, names[i], NULL);
    if (g_str_has_suffix(path, "/")) {
      mark_files(pages, path);
      g_free(path);
      continue;
    }
    g_autoptr(GBytes) bytes = g_resource_lookup_data(pages->resource, path, 0, NULL);
    g_autofree char *sum = g_compute_checksum_for_bytes(G_CHECKSUM_SHA256, bytes);
    g_hash_table_insert(pages->marks, path, g_strdup_printf("\"%.20s\"", sum));
  }
}

LgPages *lg_web_pages_new(void)
{
  LgPages *const pages = g_new0(LgPages, 1);
  pages->resource = lg_page_files_get_resource();
  pages->marks = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
  mark_files(pages, FILES);
  return pages;
}

void lg_web_pages_free(LgPages *pages)
{
  if (pages == NULL)
    return;
  g_hash_table_unref(pages->marks);
  g_free(pages);
}

static const char *mime_of(const char *path)
{
  static const char *const types[][2] = {
      {".html", "text/html; charset=utf-8"},
      {".css", "text/css; charset=utf-8"},
      {".mjs", "text/javascript; charset=utf-8"},
      {".js", "text/javascript; charset=utf-8"},
      {".json", "application/json; charset=utf-8"},
      {".svg", "image/svg+xml"},
      {".png", "image/png"},
      {".woff2", "font/woff2"},
      {".webmanifest", "application/manifest+json"},
  };
  for (guint i = 0; i < G_N_ELEMENTS(types); i++)
    if (g_str_has_suffix(path, types[i][0]))
      return types[i][1];
  return "application/octet-stream";
}

/* Words of other answers that the page shows. */
static const char *const shown_words[] = {"wire",     "pin",      "part",    "element",  "danger",
                                          "fault",    "unproven", "caution", "harmless", "measured",
                                          "document", "told",     "guess"};

static void put_word(json_t *texts, const char *english, const char *language)
{
  const char *const own = lg_translate(english, language);
  if (own != english)
    json_object_set_new(texts, english, json_string(own));
}

/* The page's texts are what t("..."), later("...") and <... data-t>...< hold, as scripts/words has
 * it. */
static void put_words_of(json_t *texts, const GRegex *text, GBytes *file, const char *language)
{
  gsize size;
  const char *const bytes = g_bytes_get_data(file, &size);
  g_autoptr(GMatchInfo) match = NULL;
  g_regex_match_full(text, bytes, (gssize)size, 0, 0, &match, NULL);
  for (; g_match_info_matches(match); g_match_info_next(match, NULL)) {
    g_autofree char *raw = g_match_info_fetch(match, g_match_info_get_match_count(match) - 1);
    g_autofree char *english = g_strcompress(raw);
    put_word(texts, english, language);
  }
}

static LgAnswer *serve_words(const Server *server)
{
  const char *const language = lg_store_language(server->store);
  json_t *const texts = json_object();
  for (guint i = 0; i < G_N_ELEMENTS(shown_words); i++)
    put_word(texts, shown_words[i], language);
  g_autoptr(GRegex) text = g_regex_new(
      "\\b(?:t|later)\\(\"((?:[^\"\\\\]|\\\\.)*)\"|\\bdata-t>([^<]*)", G_REGEX_OPTIMIZE, 0, NULL);
  GHashTableIter iter;
  g_hash_table_iter_init(&iter, server->pages->marks);
  for (gpointer path; g_hash_table_iter_next(&iter, &path, NULL);) {
    g_autoptr(GBytes) file = g_resource_lookup_data(server->pages->resource, path, 0, NULL);
    put_words_of(texts, text, file, language);
  }
  return lg_answer_value(json_pack("{s:s, s:o}", "language", language, "texts", texts));
}

static LgAnswer *serve_file(const Server *server, const LgRequest *request, const char *path)
{
  const char *const mark = g_hash_table_lookup(server->pages->marks, path);
  if (mark == NULL)
    return lg_answer_not_found();
  const gboolean known =
      request->if_none_match != NULL && strstr(request->if_none_match, mark) != NULL;
  GBytes *const bytes =
      known ? g_bytes_new(NULL, 0) : g_resource_lookup_data(server->pages->resource, path, 0, NULL);
  LgAnswer *const answer = lg_answer_bytes(mime_of(path), bytes);
  if (known)
    answer->status = MHD_HTTP_NOT_MODIFIED;
  /* The worker that starts the phone's page without the computer lies beside the other files. */
  if (g_str_has_suffix(path, "/sw.mjs"))
    lg_answer_with(answer, "Service-Worker-Allowed", g_strdup("/phone"));
  return lg_answer_with(answer, MHD_HTTP_HEADER_ETAG, g_strdup(mark));
}

/* For a person who stands before a closed door, in words; a phone goes on to where it can join. */
static LgAnswer *closed(const Server *server, const LgRequest *request)
{
  static const char text[] =
      "This workbench does not know this browser yet.\n\n"
      "On the computer that the job is on, open the address that `loomgraft open` printed.\n"
      "A phone in the same network joins with a code from there, at /join of this address.\n";
  if (server->lan && !request->near)
    return lg_answer_go("/join");
  LgAnswer *const answer =
      lg_answer_bytes("text/plain; charset=utf-8", g_bytes_new_static(text, sizeof text - 1));
  answer->status = MHD_HTTP_UNAUTHORIZED;
  return answer;
}

LgAnswer *lg_serve_page(Server *server, const LgRequest *request)
{
  const char *const first = request->words[0];
  if (first == NULL || strcmp(first, "phone") == 0) {
    if (request->who == LG_WHO_ANYBODY)
      return closed(server, request);
    return serve_file(server, request, first == NULL ? FILES "index.html" : FILES "phone.html");
  }
  if (strcmp(first, "join") == 0)
    return server->lan ? serve_file(server, request, FILES "join.html") : lg_answer_not_found();
  if (g_strcmp0(request->words[1], "words.json") == 0)
    return serve_words(server);
  g_autofree char *path = g_strjoinv("/", request->words + 1);
  g_autofree char *whole = g_strconcat(FILES, path, NULL);
  return serve_file(server, request, whole);
}

static char *cookie(const Server *server, const char *secret)
{
  return g_strdup_printf("%s=%s; Path=/; HttpOnly; SameSite=Strict", server->cookie_name, secret);
}

static char *lasting_cookie(const Server *server, const char *secret)
{
  g_autofree char *plain = cookie(server, secret);
  return g_strdup_printf("%s; Max-Age=%d", plain, LG_DEVICE_LASTS_S);
}

static LgAnswer *too_often(guint wait_s)
{
  g_autofree char *remedy = g_strdup_printf("Wait %u s and try again.", wait_s);
  return lg_answer_with(
      lg_answer_wrong(MHD_HTTP_TOO_MANY_REQUESTS, "There were too many wrong tries.", remedy),
      MHD_HTTP_HEADER_RETRY_AFTER, g_strdup_printf("%u", wait_s));
}

/* The secret in the address works on this machine alone: in the network it would be read along. */
LgAnswer *lg_serve_key(Server *server, const LgRequest *request)
{
  if (!request->near)
    return lg_answer_not_found();
  const guint wait_s = lg_guard_wait_s(server->guard, request->peer);
  if (wait_s > 0)
    return too_often(wait_s);
  if (!lg_guard_opens(server->guard, request->words[1])) {
    lg_guard_wrong(server->guard, request->peer);
    return lg_answer_wrong(MHD_HTTP_FORBIDDEN, "That is not the secret of this workbench.",
                           "Open the address that `loomgraft open` printed last; each start has a "
                           "new one.");
  }
  return lg_answer_with(lg_answer_go("/"), MHD_HTTP_HEADER_SET_COOKIE,
                        cookie(server, lg_guard_cookie(server->guard)));
}

/* --- phones --- */

static LgAnswer *not_in_the_network(void)
{
  return lg_answer_wrong(MHD_HTTP_CONFLICT, "The workbench listens to this machine alone.",
                         "Start it again with --lan, in a network that you trust.");
}

LgAnswer *lg_serve_pairing(Server *server, const LgRequest *request)
{
  (void)request;
  const char *const *const lan = lg_listen_lan(server->listen);
  if (!server->lan)
    return not_in_the_network();
  if (lan[0] == NULL)
    return lg_answer_wrong(MHD_HTTP_CONFLICT, "This machine is in no private network.",
                           "Join the same wireless network as the phone, and start again.");
  g_autofree char *code = lg_pairing_begin(server->pairing);
  g_autofree char *address = g_strdup_printf("http://%s/join", lan[0]);
  /* What stands behind # is never sent: it reaches the page alone. */
  g_autofree char *scanned = g_strdup_printf("%s#%s", address, code);
  g_autofree char *qr = lg_pairing_qr(scanned);
  return lg_answer_value(json_pack("{s:s, s:s, s:s, s:i}", "code", code, "address", address, "qr",
                                   qr, "lasts_s", LG_PAIRING_LASTS_S));
}

LgAnswer *lg_serve_join(Server *server, const LgRequest *request)
{
  if (!server->lan)
    return not_in_the_network();
  const guint wait_s = lg_guard_wait_s(server->guard, request->peer);
  if (wait_s > 0)
    return too_often(wait_s);
  const char *const code = lg_request_text(request, "code"), *const name =
                                                                 lg_request_text(request, "name");
  if (code == NULL)
    return lg_answer_wrong(MHD_HTTP_BAD_REQUEST, "The request holds no code.",
                           "Type the six digits that the computer shows.");
  g_autofree char *secret = lg_pairing_join(server->pairing, code, name != NULL ? name : "");
  if (secret == NULL) {
    lg_guard_wrong(server->guard, request->peer);
    return lg_answer_wrong(
        MHD_HTTP_FORBIDDEN, "That code does not open.",
        "A code opens once, within two minutes; ask the computer for a new one.");
  }
  lg_news_tell(server->news);
  return lg_answer_with(lg_answer_value(json_pack("{s:s}", "go", "/phone")),
                        MHD_HTTP_HEADER_SET_COOKIE, lasting_cookie(server, secret));
}

LgAnswer *lg_serve_devices(Server *server, const LgRequest *request)
{
  (void)request;
  return lg_answer_value(json_pack("{s:o}", "devices", lg_pairing_devices(server->pairing)));
}

LgAnswer *lg_serve_revoke(Server *server, const LgRequest *request)
{
  const guint64 id = g_ascii_strtoull(request->words[2], NULL, 10);
  if (id > G_MAXUINT || !lg_pairing_revoke(server->pairing, (guint)id))
    return lg_answer_not_found();
  return lg_answer_value(json_pack("{s:b}", "gone", TRUE));
}
