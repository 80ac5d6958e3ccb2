/* The server as a whole: one talk is one request, from its head to its answer. */
#include "workbench/server-private.h"
#include <arpa/inet.h>
#include <netinet/in.h>
#include <string.h>

enum {
  N_THREADS = 4,
  MOST_CONNECTIONS = 96,
  MOST_OF_ONE_PEER = 48,
  HEAD_BYTES = 32 * 1024, /* a connection's memory, request line and headers in it */
  IDLE_S = 60,
  PATIENCE_S = 20,
  ANSWER_S = 120, /* in which an answer must be taken */
  MOST_WORDS = 8,
  MOST_QUERY = 256,
  MOST_DEPTH = 24, /* of JSON */
};

struct LgTalk {
  Server *server;
  struct MHD_Connection *connection;
  const LgRoute *route;
  LgRequest request;
  GByteArray *body;
  LgAnswer *answer; /* NULL: not yet */
  gboolean asked;   /* the handler was called, or will be by another thread */
};

const char *lg_request_query(const LgRequest *request, const char *key)
{
  for (guint i = 0; i + 1 < request->query->len; i += 2)
    if (strcmp(request->query->pdata[i], key) == 0)
      return request->query->pdata[i + 1];
  return NULL;
}

const char *lg_request_text(const LgRequest *request, const char *key)
{
  return json_string_value(json_object_get(request->body, key));
}

/* --- what a request says --- */

static const char *header_of(struct MHD_Connection *connection, const char *name)
{
  return MHD_lookup_connection_value(connection, MHD_HEADER_KIND, name);
}

static enum MHD_Result count_hosts(void *user, enum MHD_ValueKind kind, const char *key,
                                   const char *value)
{
  (void)kind, (void)value;
  guint *const n = user;
  *n += g_ascii_strcasecmp(key, MHD_HTTP_HEADER_HOST) == 0;
  return MHD_YES;
}

static LgHeads heads_of(struct MHD_Connection *connection, const char *method)
{
  LgHeads heads = {.method = method,
                   .host = header_of(connection, MHD_HTTP_HEADER_HOST),
                   .origin = header_of(connection, MHD_HTTP_HEADER_ORIGIN),
                   .site = header_of(connection, "Sec-Fetch-Site"),
                   .type = header_of(connection, MHD_HTTP_HEADER_CONTENT_TYPE),
                   .mark = header_of(connection, "X-Loomgraft")};
  MHD_get_connection_values(connection, MHD_HEADER_KIND, count_hosts, &heads.n_hosts);
  return heads;
}

/* NULL when a word is no UTF-8, holds a NUL or is badly escaped, or when there are too many. */
static GStrv words_of(const char *path)
{
  if (path[0] != '/')
    return NULL;
  g_auto(GStrv) raw = g_strsplit(path + 1, "/", MOST_WORDS + 1);
  const guint n = path[1] == '\0' ? 0 : g_strv_length(raw);
  g_auto(GStrv) words = g_new0(char *, MOST_WORDS + 2);
  for (guint i = 0; i < n; i++) {
    words[i] = g_uri_unescape_segment(raw[i], NULL, NULL);
    if (words[i] == NULL || words[i][0] == '\0' || !g_utf8_validate(words[i], -1, NULL))
      return NULL;
  }
  return n > MOST_WORDS ? NULL : g_steal_pointer(&words);
}

typedef struct {
  GPtrArray *pairs;
  gboolean bad;
} Query;

static char *decoded(const char *text)
{
  g_autofree char *out = g_uri_unescape_segment(text == NULL ? "" : text, NULL, NULL);
  return out != NULL && g_utf8_validate(out, -1, NULL) ? g_steal_pointer(&out) : NULL;
}

static enum MHD_Result take_pair(void *user, enum MHD_ValueKind kind, const char *key,
                                 const char *value)
{
  (void)kind;
  Query *const query = user;
  g_autofree char *k = decoded(key), *v = decoded(value);
  if (k == NULL || v == NULL || query->pairs->len >= 2 * MOST_QUERY) {
    query->bad = TRUE;
    return MHD_NO;
  }
  g_ptr_array_add(query->pairs, g_steal_pointer(&k));
  g_ptr_array_add(query->pairs, g_steal_pointer(&v));
  return MHD_YES;
}

/* Words are decoded once each by ourselves: the library would decode the path as a whole, so that
 * an escaped slash would part words. */
static size_t leave_escaped(void *user, struct MHD_Connection *connection, char *text)
{
  (void)user, (void)connection;
  return strlen(text);
}

static void take_peer(LgRequest *request, struct MHD_Connection *connection)
{
  const struct sockaddr *const peer =
      MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CLIENT_ADDRESS)->client_addr;
  char text[INET6_ADDRSTRLEN] = "?";
  if (peer->sa_family == AF_INET) {
    struct sockaddr_in address;
    memcpy(&address, peer, sizeof address);
    request->near = ntohl(address.sin_addr.s_addr) >> 24 == IN_LOOPBACKNET;
    inet_ntop(AF_INET, &address.sin_addr, text, sizeof text);
  } else if (peer->sa_family == AF_INET6) {
    struct sockaddr_in6 address;
    memcpy(&address, peer, sizeof address);
    request->near = IN6_IS_ADDR_LOOPBACK(&address.sin6_addr);
    inet_ntop(AF_INET6, &address.sin6_addr, text, sizeof text);
  }
  request->peer = g_strdup(text);
}

static LgWho who_asks(Server *server, struct MHD_Connection *connection)
{
  g_autofree char *secret =
      lg_guard_cookie_of(header_of(connection, MHD_HTTP_HEADER_COOKIE), server->cookie_name);
  if (secret == NULL)
    return LG_WHO_ANYBODY;
  if (lg_guard_same(secret, lg_guard_cookie(server->guard)))
    return LG_WHO_OWNER;
  return lg_pairing_device(server->pairing, secret) > 0 ? LG_WHO_PHONE : LG_WHO_ANYBODY;
}

/* --- refusals --- */

static LgAnswer *refuse_route(const char *method, const char *const *words)
{
  g_autofree char *allowed = NULL;
  lg_route_find(method, words, &allowed);
  if (allowed == NULL)
    return lg_answer_not_found();
  g_autofree char *remedy = g_strdup_printf("It takes %s.", allowed);
  return lg_answer_with(
      lg_answer_wrong(MHD_HTTP_METHOD_NOT_ALLOWED, "This address does not take that.", remedy),
      MHD_HTTP_HEADER_ALLOW, g_steal_pointer(&allowed));
}

static LgAnswer *refuse_size(gsize most)
{
  g_autofree char *remedy =
      most == 0 ? g_strdup("Send no body.")
                : g_strdup_printf("Send at most %" G_GSIZE_FORMAT " kB.", most / 1024);
  return lg_answer_wrong(MHD_HTTP_CONTENT_TOO_LARGE, "That is too much.", remedy);
}

static LgAnswer *refuse_who(LgWho needed)
{
  if (needed == LG_WHO_OWNER)
    return lg_answer_wrong(MHD_HTTP_FORBIDDEN, "Only the computer that the job is on may do this.",
                           "Open the address that `loomgraft open` printed, there.");
  return lg_answer_wrong(
      MHD_HTTP_UNAUTHORIZED, "This page was not let in.",
      "Open the address that `loomgraft open` printed; a phone joins with a code "
      "from there.");
}

static gsize announced_size(struct MHD_Connection *connection)
{
  const char *const length = header_of(connection, MHD_HTTP_HEADER_CONTENT_LENGTH);
  return length == NULL ? 0 : (gsize)g_ascii_strtoull(length, NULL, 10);
}

/* All that can be refused from the head alone; NULL: go on. */
static LgAnswer *examine(LgTalk *talk, const char *url, const char *method)
{
  LgRequest *const request = &talk->request;
  const LgHeads heads = heads_of(talk->connection, method);
  const char *wrong, *remedy;
  const guint status = lg_guard_refuses(talk->server->guard, &heads, &wrong, &remedy);
  if (status != 0)
    return lg_answer_wrong(status, wrong, remedy);
  Query query = {request->query, FALSE};
  MHD_get_connection_values(talk->connection, MHD_GET_ARGUMENT_KIND, take_pair, &query);
  request->words = words_of(url);
  if (request->words == NULL || query.bad)
    return lg_answer_wrong(MHD_HTTP_BAD_REQUEST, "The address is malformed.",
                           "Go back to the page.");
  g_autofree char *allowed = NULL;
  talk->route = lg_route_find(method, (const char *const *)request->words, &allowed);
  if (talk->route == NULL)
    return refuse_route(method, (const char *const *)request->words);
  request->who = who_asks(talk->server, talk->connection);
  if (request->who < talk->route->who)
    return refuse_who(talk->route->who);
  if (announced_size(talk->connection) > talk->route->most_body)
    return refuse_size(talk->route->most_body);
  return NULL;
}

static gboolean is_deep(const GByteArray *body)
{
  guint depth = 0;
  gboolean text = FALSE;
  for (guint i = 0; i < body->len; i++) {
    const guint8 c = body->data[i];
    if (text) {
      if (c == '\\')
        i++;
      else if (c == '"')
        text = FALSE;
    } else if (c == '"') {
      text = TRUE;
    } else if (c == '[' || c == '{') {
      if (++depth > MOST_DEPTH)
        return TRUE;
    } else if ((c == ']' || c == '}') && depth > 0) {
      depth--;
    }
  }
  return FALSE;
}

static LgAnswer *read_body(LgTalk *talk)
{
  if (talk->body->len == 0)
    return NULL;
  json_error_t about;
  if (!is_deep(talk->body))
    talk->request.body =
        json_loadb((const char *)talk->body->data, talk->body->len, JSON_REJECT_DUPLICATES, &about);
  g_byte_array_set_size(talk->body, 0);
  if (json_is_object(talk->request.body))
    return NULL;
  return lg_answer_wrong(MHD_HTTP_BAD_REQUEST, "The body is no JSON object.",
                         "Send one object, not nested deeply, without a key twice.");
}

/* --- a talk --- */

static LgTalk *talk_new(Server *server, struct MHD_Connection *connection, const char *url,
                        const char *method)
{
  LgTalk *const talk = g_new0(LgTalk, 1);
  talk->server = server;
  talk->connection = connection;
  talk->body = g_byte_array_new();
  LgRequest *const request = &talk->request;
  request->query = g_ptr_array_new_with_free_func(g_free);
  request->host = g_strdup(header_of(connection, MHD_HTTP_HEADER_HOST));
  request->if_none_match = g_strdup(header_of(connection, MHD_HTTP_HEADER_IF_NONE_MATCH));
  request->agent = g_strdup(header_of(connection, MHD_HTTP_HEADER_USER_AGENT));
  take_peer(request, connection);
  talk->answer = examine(talk, url, method);
  request->method = talk->route != NULL ? talk->route->method : "";
  return talk;
}

static void talk_free(LgTalk *talk)
{
  g_strfreev(talk->request.words);
  g_ptr_array_unref(talk->request.query);
  json_decref(talk->request.body);
  g_free(talk->request.peer);
  g_free(talk->request.host);
  g_free(talk->request.if_none_match);
  g_free(talk->request.agent);
  g_byte_array_unref(talk->body);
  lg_answer_free(talk->answer);
  g_free(talk);
}

void lg_talk_sleep(LgTalk *talk)
{
  lg_patience_set(lg_patience_of(talk->connection), 0, talk->route->pace == LG_WAITS ? talk : NULL);
  MHD_suspend_connection(talk->connection);
}

void lg_talk_wake(LgTalk *talk)
{
  MHD_resume_connection(talk->connection);
}

static void answer_slowly(gpointer data, gpointer user)
{
  (void)user;
  LgTalk *const talk = data;
  talk->answer = talk->route->handle(talk->server, &talk->request);
  lg_talk_wake(talk);
}

static gboolean answer_later(LgTalk *talk)
{
  Server *const server = talk->server;
  g_mutex_lock(&server->lock);
  const gboolean later = !server->stopping;
  if (later) {
    lg_talk_sleep(talk);
    g_thread_pool_push(server->slow, talk, NULL);
  }
  g_mutex_unlock(&server->lock);
  return later;
}

static void answer_talk(LgTalk *talk)
{
  Server *const server = talk->server;
  const char *const after = lg_request_query(&talk->request, "after");
  talk->asked = TRUE;
  if (talk->route->pace == LG_SLOW && answer_later(talk))
    return;
  if (talk->route->pace == LG_WAITS && after != NULL &&
      lg_news_wait(server->news, talk, g_ascii_strtoull(after, NULL, 10)))
    return;
  talk->answer = talk->route->handle(server, &talk->request);
}

static enum MHD_Result queue_answer(LgTalk *talk)
{
  lg_patience_set(lg_patience_of(talk->connection), ANSWER_S, NULL);
  return lg_answer_queue(g_steal_pointer(&talk->answer), talk->connection);
}

static enum MHD_Result take_request(void *user, struct MHD_Connection *connection, const char *url,
                                    const char *method, const char *version, const char *data,
                                    size_t *size, void **context)
{
  (void)version;
  LgTalk *talk = *context;
  if (talk == NULL) {
    *context = talk = talk_new(user, connection, url, method);
    return talk->answer != NULL ? queue_answer(talk) : MHD_YES;
  }
  if (*size > 0) {
    if (talk->body->len + *size > talk->route->most_body)
      return MHD_NO; /* the announced size was a lie: cut off */
    g_byte_array_append(talk->body, (const guint8 *)data, (guint)*size);
    *size = 0;
    return MHD_YES;
  }
  if (talk->answer == NULL && !talk->asked)
    talk->answer = read_body(talk);
  if (talk->answer == NULL && !talk->asked)
    answer_talk(talk);
  else if (talk->answer == NULL) /* woken by news */
    talk->answer = talk->route->handle(talk->server, &talk->request);
  return talk->answer != NULL ? queue_answer(talk) : MHD_YES;
}

static void end_talk(void *user, struct MHD_Connection *connection, void **context,
                     enum MHD_RequestTerminationCode code)
{
  (void)code;
  if (*context == NULL)
    return;
  talk_free(*context);
  *context = NULL;
  lg_patience_set(lg_patience_of(connection), 3 * ((Server *)user)->patience_s, NULL);
}

/* --- the server --- */

static void store_changed(gpointer user)
{
  Server *const server = user;
  lg_live_desk_prepare(server->live);
  lg_news_tell(server->news);
}

static struct MHD_Daemon *daemon_new(Server *server)
{
  return MHD_start_daemon(
      MHD_USE_EPOLL_INTERNAL_THREAD | MHD_USE_NO_LISTEN_SOCKET | MHD_ALLOW_SUSPEND_RESUME, 0, NULL,
      NULL, take_request, server, MHD_OPTION_THREAD_POOL_SIZE, (unsigned)N_THREADS,
      MHD_OPTION_CONNECTION_LIMIT, (unsigned)MOST_CONNECTIONS, MHD_OPTION_PER_IP_CONNECTION_LIMIT,
      (unsigned)MOST_OF_ONE_PEER, MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)IDLE_S,
      MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)HEAD_BYTES, MHD_OPTION_STRICT_FOR_CLIENT, 1,
      MHD_OPTION_NOTIFY_COMPLETED, end_talk, server, MHD_OPTION_NOTIFY_CONNECTION, lg_listen_notify,
      server, MHD_OPTION_UNESCAPE_CALLBACK, leave_escaped, NULL, MHD_OPTION_SIGPIPE_HANDLED_BY_APP,
      1, MHD_OPTION_END);
}

static gboolean start(Server *server, const LgWorkbenchAsk *ask, GError **error)
{
  server->listen = lg_listen_new(server, ask, error);
  if (server->listen == NULL)
    return FALSE;
  const int at = lg_listen_port(server->listen);
  lg_pairing_set_port(server->pairing, (guint)at);
  server->address = g_strdup_printf("http://127.0.0.1:%d/key/%s", at, lg_guard_key(server->guard));
  /* Cookies know no ports: each server on this machine has a name of its own. */
  server->cookie_name = g_strdup_printf("loomgraft-%d", at);
  server->slow = g_thread_pool_new(answer_slowly, NULL, 1, FALSE, NULL);
  server->news = lg_news_new(server);
  server->runs = lg_runs_new(server);
  server->live = lg_live_desk_new(server);
  lg_store_on_change(server->store, store_changed, server);
  server->daemon = daemon_new(server);
  if (server->daemon == NULL) {
    g_set_error(error, LG_ERROR, LG_ERROR_CALL,
                "the server could not start; are there many programs running?");
    return FALSE;
  }
  lg_listen_begin(server->listen);
  return TRUE;
}

LgWorkbench *lg_workbench_new(const char *path, const LgWorkbenchAsk *ask, GError **error)
{
  const LgWorkbenchAsk usual = {0};
  if (ask == NULL)
    ask = &usual;
  Server *const server = g_new0(Server, 1);
  g_mutex_init(&server->lock);
  server->lan = ask->lan;
  server->patience_s = ask->patience_s > 0 ? ask->patience_s : PATIENCE_S;
  server->store = lg_store_open(path, TRUE, error);
  server->guard = lg_guard_new();
  g_autofree char *kept = ask->lan ? lg_kept_path(path) : NULL;
  server->pairing = lg_pairing_new(kept);
  server->pages = lg_web_pages_new();
  server->start_mark = lg_guard_code(12);
  if (server->store == NULL || !start(server, ask, error)) {
    lg_workbench_free(server);
    return NULL;
  }
  return server;
}

/* Whoever sleeps is woken before the library may stop. */
static void stop(Server *server)
{
  lg_listen_end(server->listen);
  g_mutex_lock(&server->lock);
  server->stopping = TRUE;
  g_mutex_unlock(&server->lock);
  lg_news_end(server->news);
  g_thread_pool_free(g_steal_pointer(&server->slow), FALSE, TRUE);
}

void lg_workbench_free(LgWorkbench *server)
{
  if (server == NULL)
    return;
  if (server->daemon != NULL) {
    stop(server);
    MHD_stop_daemon(server->daemon);
  }
  if (server->slow != NULL)
    g_thread_pool_free(server->slow, TRUE, TRUE);
  lg_runs_free(server->runs);
  lg_live_desk_end(server->live);
  lg_store_free(server->store);
  lg_live_desk_free(server->live);
  lg_news_free(server->news);
  lg_listen_free(server->listen);
  lg_pairing_free(server->pairing);
  lg_guard_free(server->guard);
  lg_web_pages_free(server->pages);
  g_mutex_clear(&server->lock);
  g_free(server->address);
  g_free(server->cookie_name);
  g_free(server->start_mark);
  g_free(server);
}

const char *lg_workbench_address(const LgWorkbench *server)
{
  return server->address;
}

char *lg_workbench_address_once(LgWorkbench *server)
{
  g_autofree char *key = lg_guard_key_once(server->guard);
  return g_strdup_printf("http://127.0.0.1:%d/key/%s", lg_listen_port(server->listen), key);
}

const char *const *lg_workbench_lan(const LgWorkbench *server)
{
  return lg_listen_lan(server->listen);
}
