/* The server, attacked over loopback: who may ask, what is never answered, slow and greedy clients,
 * codes and devices; and that two clients, news and studies work. What a refusal must look like is
 * by RFC 9110 (memory) and the page docs/workbench.md. */
#include "workbench/guard-private.h"
#include "workbench/pairing-private.h"
#include "workbench/workbench.h"
#include <gio/gio.h>
#include <glib/gstdio.h>
#include <jansson.h>
#include <signal.h>
#include <string.h>

typedef struct {
  char *folder, *path;
  LgWorkbench *bench;
  guint16 port;
  char *host, *key, *cookie; /* "127.0.0.1:4711", the secret, "loomgraft-4711=..." */
} Fixture;

typedef struct {
  int status;
  char *head, *body; /* head with its status line */
  gsize length;
} Reply;

static void reply_clear(Reply *reply)
{
  g_free(reply->head);
  g_free(reply->body);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Reply, reply_clear)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(json_t, json_decref)

/* --- talking --- */

static GSocketConnection *dial(const Fixture *f)
{
  g_autoptr(GSocketClient) client = g_socket_client_new();
  g_socket_client_set_timeout(client, 40);
  g_autoptr(GError) error = NULL;
  GSocketConnection *const line =
      g_socket_client_connect_to_host(client, "127.0.0.1", f->port, NULL, &error);
  g_assert_no_error(error);
  return line;
}

static void send_all(GSocketConnection *line, const char *bytes, gsize length)
{
  /* The server may hang up in the middle: that is an answer, too. */
  g_output_stream_write_all(g_io_stream_get_output_stream(G_IO_STREAM(line)), bytes, length, NULL,
                            NULL, NULL);
}

/* All until the server closes; "" when it closed without a word. */
static Reply hear(GSocketConnection *line)
{
  g_autoptr(GString) all = g_string_new(NULL);
  char buffer[65536];
  gssize n;
  while ((n = g_input_stream_read(g_io_stream_get_input_stream(G_IO_STREAM(line)), buffer,
                                  sizeof buffer, NULL, NULL)) > 0)
    g_string_append_len(all, buffer, n);
  Reply reply = {0};
  const char *const end = strstr(all->str, "\r\n\r\n");
  if (end == NULL)
    return reply;
  reply.head = g_strndup(all->str, (gsize)(end - all->str) + 2);
  reply.length = all->len - (gsize)(end + 4 - all->str);
  reply.body = g_memdup2(end + 4, reply.length + 1);
  reply.status = (int)g_ascii_strtoll(reply.head + strlen("HTTP/1.1 "), NULL, 10);
  return reply;
}

static Reply say(const Fixture *f, const char *bytes, gsize length)
{
  g_autoptr(GSocketConnection) line = dial(f);
  send_all(line, bytes, length);
  return hear(line);
}

/* A request as the page makes it. `more`: further header lines, or ""; `body` may be NULL. */
static Reply ask_as(const Fixture *f, const char *cookie, const char *method, const char *path,
                    const char *more, const char *body)
{
  g_autofree char *text = g_strdup_printf(
      "%s %s HTTP/1.1\r\nHost: %s\r\nConnection: close\r\nCookie: %s\r\n%s%s%s%" G_GSIZE_FORMAT
      "\r\n\r\n%s",
      method, path, f->host, cookie, more,
      strcmp(method, "GET") == 0 ? "" : "Content-Type: application/json\r\nX-Loomgraft: 1\r\n",
      "Content-Length: ", body == NULL ? 0 : strlen(body), body == NULL ? "" : body);
  return say(f, text, strlen(text));
}

static Reply ask(const Fixture *f, const char *method, const char *path, const char *body)
{
  return ask_as(f, f->cookie, method, path, "", body);
}

static char *header_of(const Reply *reply, const char *name)
{
  g_auto(GStrv) lines = g_strsplit(reply->head, "\r\n", 0);
  const gsize n = strlen(name);
  for (int i = 0; lines[i] != NULL; i++)
    if (g_ascii_strncasecmp(lines[i], name, n) == 0 && lines[i][n] == ':')
      return g_strdup(g_strstrip(lines[i] + n + 1));
  return NULL;
}

static json_t *json_of(const Reply *reply)
{
  json_error_t error;
  json_t *const value = json_loadb(reply->body, reply->length, 0, &error);
  if (value == NULL)
    g_error("%s in %.*s", error.text, 300, reply->body);
  return value;
}

static json_t *ask_json(const Fixture *f, const char *method, const char *path, const char *body)
{
  g_auto(Reply) reply = ask(f, method, path, body);
  if (reply.status != 200)
    g_error("%s %s: %d %s", method, path, reply.status, reply.body);
  return json_of(&reply);
}

static void must(const Fixture *f, const char *method, const char *path, const char *body)
{
  json_decref(ask_json(f, method, path, body));
}

static gint64 number(const json_t *value, const char *key)
{
  g_assert_true(json_is_number(json_object_get(value, key)));
  return (gint64)json_number_value(json_object_get(value, key));
}

static const char *text(const json_t *value, const char *key)
{
  return json_string_value(json_object_get(value, key));
}

/* --- fixture --- */

static void wait_until_ready(const Fixture *f)
{
  for (int i = 0; i < 400; i++) {
    g_autoptr(json_t) news = ask_json(f, "GET", "/news", NULL);
    if (number(news, "ready") == number(news, "edition"))
      return;
    g_usleep(20000);
  }
  g_error("the edition was not made ready within 8 s");
}

static void let_in(Fixture *f)
{
  g_auto(GStrv) pieces = g_strsplit(lg_workbench_address(f->bench), "/", 0);
  f->host = g_strdup(pieces[2]);
  f->key = g_strdup(pieces[4]);
  f->port = (guint16)g_ascii_strtoull(strchr(f->host, ':') + 1, NULL, 10);
  f->cookie = g_strdup("");
  g_autofree char *path = g_strconcat("/key/", f->key, NULL);
  g_auto(Reply) reply = ask(f, "GET", path, NULL);
  g_assert_cmpint(reply.status, ==, 303);
  g_free(f->cookie);
  f->cookie = header_of(&reply, "Set-Cookie");
  f->cookie[strcspn(f->cookie, ";")] = '\0';
}

static void open_fixture(Fixture *f, const char *job, LgWorkbenchAsk ask_for)
{
  g_autoptr(GError) error = NULL;
  f->folder = g_dir_make_tmp("loomgraft-server-test-XXXXXX", &error);
  g_assert_no_error(error);
  f->path = g_build_filename(f->folder, "seat.job", NULL);
  g_file_set_contents(f->path, job, -1, &error);
  g_assert_no_error(error);
  f->bench = lg_workbench_new(f->path, &ask_for, &error);
  g_assert_no_error(error);
  let_in(f);
}

static char *example(void)
{
  g_autofree char *path =
      g_build_filename(g_getenv("LG_SOURCE_ROOT"), "examples", "library-van-seat.job", NULL);
  char *content;
  g_assert_true(g_file_get_contents(path, &content, NULL, NULL));
  return content;
}

static void begin(Fixture *f, gconstpointer data)
{
  g_autofree char *job = example();
  const LgWorkbenchAsk usual = {0};
  open_fixture(f, job, data != NULL ? *(const LgWorkbenchAsk *)data : usual);
}

static void finish(Fixture *f, gconstpointer data)
{
  (void)data;
  lg_workbench_free(f->bench);
  g_autofree char *kept = lg_kept_path(f->path);
  g_unlink(kept);
  g_unlink(f->path);
  g_assert_cmpint(g_rmdir(f->folder), ==, 0); /* nothing was left beside the sheet */
  g_free(f->folder);
  g_free(f->path);
  g_free(f->host);
  g_free(f->key);
  g_free(f->cookie);
}

/* --- the guard by itself --- */

static void test_wait_doubles(void)
{
  g_autoptr(LgGuard) guard = lg_guard_new();
  for (int i = 0; i < 5; i++) {
    g_assert_cmpuint(lg_guard_wait_s(guard, "10.0.0.1"), ==, 0);
    lg_guard_wrong(guard, "10.0.0.1");
  }
  guint last = 0;
  for (int i = 0; i < 5; i++) {
    lg_guard_wrong(guard, "10.0.0.1");
    const guint wait_s = lg_guard_wait_s(guard, "10.0.0.1");
    g_assert_cmpuint(wait_s, >, last);
    last = wait_s;
  }
  for (int i = 0; i < 20; i++)
    lg_guard_wrong(guard, "10.0.0.1");
  g_assert_cmpuint(lg_guard_wait_s(guard, "10.0.0.1"), <=, 61);
  g_assert_cmpuint(lg_guard_wait_s(guard, "10.0.0.2"), ==, 0);
  /* Thousands of addresses do not make the table grow without end, and the guard still counts. */
  for (int i = 0; i < 2000; i++) {
    g_autofree char *peer = g_strdup_printf("10.1.%d.%d", i / 250, i % 250);
    lg_guard_wrong(guard, peer);
  }
}

static void test_secrets(void)
{
  g_autoptr(GHashTable) seen = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  for (int i = 0; i < 1000; i++) {
    char *const secret = lg_guard_secret();
    g_assert_cmpuint(strlen(secret), ==, 43); /* 256 bits, six to a character */
    g_assert_cmpuint(strspn(secret, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789"
                                    "-_"),
                     ==, 43);
    g_assert_true(g_hash_table_add(seen, secret));
  }
  guint digits[10] = {0};
  for (int i = 0; i < 5000; i++) {
    g_autofree char *code = lg_guard_code(6);
    g_assert_cmpuint(strlen(code), ==, 6);
    for (int k = 0; k < 6; k++)
      digits[code[k] - '0']++;
  }
  /* 30000 draws, 3000 of each expected, standard deviation 52: six of them. */
  for (int d = 0; d < 10; d++)
    g_assert_cmpint(ABS((int)digits[d] - 3000), <, 312);
}

static void test_same(void)
{
  g_assert_true(lg_guard_same("", ""));
  g_assert_true(lg_guard_same("abc", "abc"));
  g_assert_false(lg_guard_same("abc", "abd"));
  g_assert_false(lg_guard_same("abc", "ab"));
  g_assert_false(lg_guard_same("ab", "abab"));
  g_assert_false(lg_guard_same("abab", "ab"));
  g_assert_false(lg_guard_same("", "a"));
  g_assert_false(lg_guard_same("a", ""));
}

/* --- attacks from the head --- */

typedef struct {
  const char *name;
  int status;       /* 0: closed without an answer, or any 4xx or 5xx */
  const char *head; /* $H our host, $C our cookie, $P our port */
  const char *body;
} Attack;

#define GOOD "Host: $H\r\nCookie: $C\r\nConnection: close\r\n"
#define JSON "Content-Type: application/json\r\n"
#define MARK "X-Loomgraft: 1\r\n"

static const Attack attacks[] = {
    {"right as the page does it", 200, "GET /job HTTP/1.1\r\n" GOOD, NULL},
    {"foreign host", 421,
     "GET /job HTTP/1.1\r\nHost: evil.example:$P\r\nCookie: $C\r\nConnection: close\r\n", NULL},
    {"rebound name, same port", 421,
     "GET / HTTP/1.1\r\nHost: 127.0.0.1.evil.example:$P\r\nCookie: $C\r\nConnection: close\r\n",
     NULL},
    {"host without port", 421,
     "GET /job HTTP/1.1\r\nHost: 127.0.0.1\r\nCookie: $C\r\nConnection: close\r\n", NULL},
    {"host of another port", 421,
     "GET /job HTTP/1.1\r\nHost: 127.0.0.1:1\r\nCookie: $C\r\nConnection: close\r\n", NULL},
    {"unspecified host", 421,
     "GET /job HTTP/1.1\r\nHost: 0.0.0.0:$P\r\nCookie: $C\r\nConnection: close\r\n", NULL},
    {"no host", 400, "GET /job HTTP/1.1\r\nCookie: $C\r\nConnection: close\r\n", NULL},
    {"no host in HTTP/1.0", 400, "GET /job HTTP/1.0\r\nCookie: $C\r\n", NULL},
    {"two hosts", 400, "GET /job HTTP/1.1\r\n" GOOD "Host: evil.example\r\n", NULL},
    {"the same host twice", 400, "GET /job HTTP/1.1\r\n" GOOD "Host: $H\r\n", NULL},
    {"foreign origin", 403, "GET /job HTTP/1.1\r\n" GOOD "Origin: http://evil.example\r\n", NULL},
    {"origin null", 403, "GET /job HTTP/1.1\r\n" GOOD "Origin: null\r\n", NULL},
    {"origin with our host in front", 403,
     "GET /job HTTP/1.1\r\n" GOOD "Origin: http://$H.evil.example\r\n", NULL},
    {"origin of https", 403, "GET /job HTTP/1.1\r\n" GOOD "Origin: https://$H\r\n", NULL},
    {"our other name as origin", 403,
     "GET /job HTTP/1.1\r\n" GOOD "Origin: http://localhost:$P\r\n", NULL},
    {"our origin", 200, "GET /job HTTP/1.1\r\n" GOOD "Origin: http://$H\r\n", NULL},
    {"started by a foreign page", 403,
     "GET /job HTTP/1.1\r\n" GOOD "Sec-Fetch-Site: cross-site\r\n", NULL},
    {"started by another port", 403, "GET /job HTTP/1.1\r\n" GOOD "Sec-Fetch-Site: same-site\r\n",
     NULL},
    {"typed by hand", 200, "GET /job HTTP/1.1\r\n" GOOD "Sec-Fetch-Site: none\r\n", NULL},
    {"no cookie", 401, "GET /job HTTP/1.1\r\nHost: $H\r\nConnection: close\r\n", NULL},
    {"wrong cookie", 401,
     "GET /job HTTP/1.1\r\nHost: $H\r\nConnection: close\r\nCookie: "
     "loomgraft-$P=AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA\r\n",
     NULL},
    {"empty cookie", 401,
     "GET /job HTTP/1.1\r\nHost: $H\r\nConnection: close\r\nCookie: loomgraft-$P=\r\n", NULL},
    {"cookie and a letter", 401,
     "GET /job HTTP/1.1\r\nHost: $H\r\nConnection: close\r\nCookie: $Cx\r\n", NULL},
    {"cookie among others", 200,
     "GET /job HTTP/1.1\r\nHost: $H\r\nConnection: close\r\nCookie: a=b; $C; c=d\r\n", NULL},
    {"no cookie on the page", 401, "GET / HTTP/1.1\r\nHost: $H\r\nConnection: close\r\n", NULL},
    {"no cookie, to change", 401,
     "POST /job/undo HTTP/1.1\r\nHost: $H\r\nConnection: close\r\nContent-Length: 0\r\n" JSON MARK,
     NULL},
    {"change without the header", 403,
     "POST /job/undo HTTP/1.1\r\n" GOOD JSON "Content-Length: 0\r\n", NULL},
    {"change with a wrong header", 403,
     "POST /job/undo HTTP/1.1\r\n" GOOD JSON "X-Loomgraft: 0\r\nContent-Length: 0\r\n", NULL},
    {"a form", 415,
     "POST /job/undo HTTP/1.1\r\n" GOOD MARK
     "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 3\r\n",
     "a=b"},
    {"plain text", 415,
     "POST /job/edits HTTP/1.1\r\n" GOOD MARK "Content-Type: text/plain\r\nContent-Length: 2\r\n",
     "{}"},
    {"nearly JSON", 415,
     "POST /job/edits HTTP/1.1\r\n" GOOD MARK
     "Content-Type: application/jsonp\r\nContent-Length: 2\r\n",
     "{}"},
    {"no type", 415, "POST /job/edits HTTP/1.1\r\n" GOOD MARK "Content-Length: 2\r\n", "{}"},
    {"JSON with a charset", 400,
     "POST /job/edits HTTP/1.1\r\n" GOOD MARK
     "Content-Type: application/json; charset=utf-8\r\nContent-Length: 2\r\n",
     "{}"},
    {"TRACE", 0, "TRACE /job HTTP/1.1\r\n" GOOD JSON MARK, NULL},
    {"OPTIONS from a foreign page", 403,
     "OPTIONS /job/edits HTTP/1.1\r\n" GOOD
     "Origin: http://evil.example\r\nAccess-Control-Request-Method: POST\r\n",
     NULL},
    {"OPTIONS", 405, "OPTIONS /job/edits HTTP/1.1\r\n" GOOD JSON MARK, NULL},
    {"PUT", 405, "PUT /job HTTP/1.1\r\n" GOOD JSON MARK "Content-Length: 0\r\n", NULL},
    {"DELETE of the job", 405, "DELETE /job HTTP/1.1\r\n" GOOD JSON MARK "Content-Length: 0\r\n",
     NULL},
    {"GET of what must be posted", 405, "GET /job/edits HTTP/1.1\r\n" GOOD, NULL},
    {"CONNECT", 0, "CONNECT evil.example:443 HTTP/1.1\r\n" GOOD JSON MARK, NULL},
    {"a method of nobody", 405, "BREW /job HTTP/1.1\r\n" GOOD JSON MARK, NULL},
    {"absolute address", 400, "GET http://evil.example/job HTTP/1.1\r\n" GOOD, NULL},
    {"star", 0, "OPTIONS * HTTP/1.1\r\n" GOOD JSON MARK, NULL},
    {"stray", 404, "GET /nothing HTTP/1.1\r\n" GOOD, NULL},
    {"many words", 400, "GET /a/b/c/d/e/f/g/h/i/j/k HTTP/1.1\r\n" GOOD, NULL},
    {"double slash", 400, "GET //etc/passwd HTTP/1.1\r\n" GOOD, NULL},
    {"up and up", 404, "GET /page/../../../../etc/passwd HTTP/1.1\r\n" GOOD, NULL},
    {"up, escaped", 404, "GET /page/%2e%2e/%2e%2e/etc/passwd HTTP/1.1\r\n" GOOD, NULL},
    {"up, slashes escaped", 404, "GET /page/..%2f..%2f..%2fetc%2fpasswd HTTP/1.1\r\n" GOOD, NULL},
    {"up, twice escaped", 404, "GET /page/%252e%252e%252fetc%252fpasswd HTTP/1.1\r\n" GOOD, NULL},
    {"up by backslash", 404, "GET /page/..\\..\\etc\\passwd HTTP/1.1\r\n" GOOD, NULL},
    {"overlong UTF-8", 400, "GET /page/%c0%ae%c0%ae/x HTTP/1.1\r\n" GOOD, NULL},
    {"NUL in the path", 400, "GET /page/main.mjs%00.png HTTP/1.1\r\n" GOOD, NULL},
    {"NUL in the query", 400, "GET /live?KEY=on%00 HTTP/1.1\r\n" GOOD, NULL},
    {"bad escape", 400, "GET /page/%zz HTTP/1.1\r\n" GOOD, NULL},
    {"bad escape in the query", 400, "GET /live?KEY=%zz HTTP/1.1\r\n" GOOD, NULL},
    {"file of no run", 404, "GET /runs/1/files/..%2f..%2fetc%2fpasswd HTTP/1.1\r\n" GOOD, NULL},
    {"run of no number", 404, "GET /runs/%2e%2e HTTP/1.1\r\n" GOOD, NULL},
    {"drawing out of the folder", 404, "GET /drawings/..%2f..%2fetc/passwd HTTP/1.1\r\n" GOOD,
     NULL},
    {"body of a GET", 413, "GET /job HTTP/1.1\r\n" GOOD "Content-Length: 5\r\n", "hello"},
    {"9 MiB announced", 413,
     "POST /job/edits HTTP/1.1\r\n" GOOD JSON MARK "Content-Length: 9437184\r\n", "{"},
    {"endless length", 0,
     "POST /job/edits HTTP/1.1\r\n" GOOD JSON MARK "Content-Length: 99999999999999999999999\r\n",
     "{"},
    {"negative length", 0, "POST /job/edits HTTP/1.1\r\n" GOOD JSON MARK "Content-Length: -1\r\n",
     "{"},
    {"no JSON", 400, "POST /job/edits HTTP/1.1\r\n" GOOD JSON MARK "Content-Length: 5\r\n",
     "hello"},
    {"a list", 400, "POST /job/edits HTTP/1.1\r\n" GOOD JSON MARK "Content-Length: 2\r\n", "[]"},
    {"a key twice", 400, "POST /job/disk HTTP/1.1\r\n" GOOD JSON MARK "Content-Length: 29\r\n",
     "{\"take\":\"disk\",\"take\":\"mine\"}"},
    {"NUL in JSON", 400, "POST /job/disk HTTP/1.1\r\n" GOOD JSON MARK "Content-Length: 21\r\n",
     "{\"take\":\"disk\\u0000\"} "},
    {"broken UTF-8 in JSON", 400,
     "POST /job/disk HTTP/1.1\r\n" GOOD JSON MARK "Content-Length: 14\r\n",
     "{\"take\":\"\xff\xfe\"} "},
    {"number where a text belongs", 400,
     "POST /job/disk HTTP/1.1\r\n" GOOD JSON MARK "Content-Length: 10\r\n", "{\"take\":1}"},
    {"pairing without --lan", 409,
     "POST /pairing HTTP/1.1\r\n" GOOD JSON MARK "Content-Length: 0\r\n", NULL},
    {"joining without --lan", 404, "GET /join HTTP/1.1\r\n" GOOD, NULL},
};

static char *fill_in(const Fixture *f, const Attack *attack)
{
  g_autofree char *port = g_strdup_printf("%u", f->port);
  g_autoptr(GString) whole = g_string_new(attack->head);
  g_string_replace(whole, "$H", f->host, 0);
  g_string_replace(whole, "$C", f->cookie, 0);
  g_string_replace(whole, "$P", port, 0);
  g_string_append_printf(whole, "\r\n%s", attack->body != NULL ? attack->body : "");
  return g_strdup(whole->str);
}

static void check_headers(const Reply *reply)
{
  g_autofree char *csp = header_of(reply, "Content-Security-Policy");
  g_assert_nonnull(csp);
  g_assert_true(g_str_has_prefix(csp, "default-src 'none'; script-src 'self'; "));
  g_assert_null(strstr(csp, "unsafe"));
  g_autofree char *sniff = header_of(reply, "X-Content-Type-Options");
  g_assert_cmpstr(sniff, ==, "nosniff");
  g_autofree char *referrer = header_of(reply, "Referrer-Policy");
  g_assert_cmpstr(referrer, ==, "no-referrer");
  g_autofree char *resource = header_of(reply, "Cross-Origin-Resource-Policy");
  g_assert_cmpstr(resource, ==, "same-origin");
}

static void test_attacks(Fixture *f, gconstpointer data)
{
  (void)data;
  for (guint i = 0; i < G_N_ELEMENTS(attacks); i++) {
    g_autofree char *whole = fill_in(f, &attacks[i]);
    g_auto(Reply) reply = say(f, whole, strlen(whole));
    const gboolean refused = reply.status == 0 || reply.status >= 400;
    if (attacks[i].status == 0 ? !refused : reply.status != attacks[i].status)
      g_test_fail_printf("%s: answered %d, not %d: %s", attacks[i].name, reply.status,
                         attacks[i].status, reply.body != NULL ? reply.body : "");
    if (reply.status == 0)
      continue;
    if (attacks[i].status != 0 && strcmp(attacks[i].name, "no host") != 0)
      check_headers(&reply);
    /* No foreign page is ever told that it may read, and no cookie is handed out. */
    g_assert_null(strstr(reply.head, "Access-Control"));
    g_assert_null(strstr(reply.head, "Set-Cookie"));
    g_assert_null(strstr(reply.body, "root:"));
  }
}

static void test_allowed_methods(Fixture *f, gconstpointer data)
{
  (void)data;
  g_auto(Reply) reply = ask(f, "PUT", "/runs/1", NULL);
  g_assert_cmpint(reply.status, ==, 405);
  g_autofree char *allow = header_of(&reply, "Allow");
  g_assert_cmpstr(allow, ==, "GET, DELETE");
  g_auto(Reply) head = ask_as(f, f->cookie, "HEAD", "/job", "", NULL);
  g_assert_cmpint(head.status, ==, 200);
  g_assert_cmpuint(head.length, ==, 0);
}

/* --- greedy and slow clients --- */

static void still_answers(const Fixture *f)
{
  g_auto(Reply) reply = ask(f, "GET", "/job", NULL);
  g_assert_cmpint(reply.status, ==, 200);
}

static void test_header_flood(Fixture *f, gconstpointer data)
{
  (void)data;
  g_autoptr(GString) flood = g_string_new("GET /job HTTP/1.1\r\n");
  g_string_append_printf(flood, "Host: %s\r\nConnection: close\r\n", f->host);
  for (int i = 0; i < 20000; i++)
    g_string_append_printf(flood, "X-%d: 0123456789012345678901234567890123456789\r\n", i);
  g_string_append(flood, "\r\n");
  g_auto(Reply) reply = say(f, flood->str, flood->len);
  g_assert_true(reply.status == 0 || reply.status >= 400);
  g_autoptr(GString) line = g_string_new("GET /");
  for (int i = 0; i < 200000; i++)
    g_string_append_c(line, 'a');
  g_string_append(line, " HTTP/1.1\r\n\r\n");
  g_auto(Reply) long_line = say(f, line->str, line->len);
  g_assert_true(long_line.status == 0 || long_line.status >= 400);
  still_answers(f);
}

static void test_chunks_beyond_the_limit(Fixture *f, gconstpointer data)
{
  (void)data;
  g_autoptr(GSocketConnection) line = dial(f);
  g_autofree char *head =
      g_strdup_printf("POST /job/edits HTTP/1.1\r\nHost: %s\r\nCookie: %s\r\n" JSON MARK
                      "Transfer-Encoding: chunked\r\n\r\n",
                      f->host, f->cookie);
  send_all(line, head, strlen(head));
  g_autofree char *chunk = g_malloc(0x10000 + 9);
  memcpy(chunk, "10000\r\n", 7);
  memset(chunk + 7, ' ', 0x10000);
  memcpy(chunk + 7 + 0x10000, "\r\n", 2);
  for (int i = 0; i < 160; i++) /* 10 MiB */
    send_all(line, chunk, 0x10000 + 9);
  send_all(line, "0\r\n\r\n", 5);
  g_auto(Reply) reply = hear(line);
  g_assert_true(reply.status == 0 || reply.status == 413);
  still_answers(f);
}

static void test_nested_json(Fixture *f, gconstpointer data)
{
  (void)data;
  g_autoptr(GString) bomb = g_string_new("{\"edits\":");
  for (int i = 0; i < 1000000; i++)
    g_string_append_c(bomb, '[');
  g_auto(Reply) reply = ask(f, "POST", "/job/edits", bomb->str);
  g_assert_cmpint(reply.status, ==, 400);
  /* Brackets inside a text are no nesting. */
  g_autoptr(GString) flat = g_string_new("{\"text\":\"# ");
  for (int i = 0; i < 1000; i++)
    g_string_append(flat, "[{\\\"");
  g_string_append(flat, "\"}");
  g_auto(Reply) taken = ask(f, "POST", "/job/problems", flat->str);
  g_assert_cmpint(taken.status, ==, 200);
}

/* One byte after another, each well within any limit between two of them. */
static void test_slow_sender(Fixture *f, gconstpointer data)
{
  (void)data;
  static const char head[] = "GET /job HTTP/1.1\r\nHost: x\r\n";
  for (int body = 0; body < 2; body++) {
    g_autoptr(GSocketConnection) line = dial(f);
    if (body == 1) {
      g_autofree char *begun =
          g_strdup_printf("POST /job/edits HTTP/1.1\r\nHost: %s\r\nCookie: %s\r\n" JSON MARK
                          "Content-Length: 1000\r\n\r\n",
                          f->host, f->cookie);
      send_all(line, begun, strlen(begun));
    }
    const gint64 start_us = g_get_monotonic_time();
    gboolean open = TRUE;
    for (int i = 0; i < 60 && open; i++) {
      GError *error = NULL;
      GSocket *const socket = g_socket_connection_get_socket(line);
      open = g_socket_send(socket, body == 1 ? " " : &head[i % 20], 1, NULL, &error) == 1;
      g_clear_error(&error);
      g_usleep(100000);
    }
    g_assert_false(open);
    g_assert_cmpint(g_get_monotonic_time() - start_us, <, 15 * G_USEC_PER_SEC);
  }
  still_answers(f);
}

static void test_silent_clients(Fixture *f, gconstpointer data)
{
  (void)data;
  g_autoptr(GPtrArray) lines = g_ptr_array_new_with_free_func(g_object_unref);
  for (int i = 0; i < 200; i++)
    g_ptr_array_add(lines, dial(f));
  g_usleep(2500000); /* patience is 1 s */
  still_answers(f);
}

static void test_garbage(Fixture *f, gconstpointer data)
{
  (void)data;
  g_autoptr(GRand) rand = g_rand_new_with_seed(6);
  for (int i = 0; i < 60; i++) {
    char bytes[2000];
    const gsize n = (gsize)g_rand_int_range(rand, 1, sizeof bytes);
    for (gsize k = 0; k < n; k++)
      bytes[k] = (char)g_rand_int_range(rand, i % 2 == 0 ? 0 : 9, i % 2 == 0 ? 256 : 127);
    g_autoptr(GSocketConnection) line = dial(f);
    send_all(line, bytes, n);
    send_all(line, "\r\n\r\n", 4);
    g_socket_shutdown(g_socket_connection_get_socket(line), FALSE, TRUE, NULL);
    g_auto(Reply) reply = hear(line);
    g_assert_true(reply.status == 0 || reply.status >= 400);
  }
  still_answers(f);
}

/* --- secrets --- */

static void test_key(Fixture *f, gconstpointer data)
{
  (void)data;
  g_autofree char *path = g_strconcat("/key/", f->key, NULL);
  g_auto(Reply) reply = ask_as(f, "", "GET", path, "", NULL);
  g_autofree char *cookie = header_of(&reply, "Set-Cookie");
  g_assert_nonnull(strstr(cookie, "; HttpOnly"));
  g_assert_nonnull(strstr(cookie, "; SameSite=Strict"));
  g_assert_null(strstr(cookie, f->key)); /* the cookie is another secret */
  g_autofree char *where = header_of(&reply, "Location");
  g_assert_cmpstr(where, ==, "/");

  g_autofree char *once = lg_workbench_address_once(f->bench);
  const char *const once_path = strstr(once, "/key/");
  g_auto(Reply) first = ask_as(f, "", "GET", once_path, "", NULL);
  g_assert_cmpint(first.status, ==, 303);
  g_auto(Reply) second = ask_as(f, "", "GET", once_path, "", NULL);
  g_assert_cmpint(second.status, ==, 403);
  for (int i = 0; i < 5; i++) {
    g_auto(Reply) wrong = ask_as(f, "", "GET", "/key/guess", "", NULL);
    g_assert_cmpint(wrong.status, ==, 403);
  }
  /* From now on even the right one has to wait. */
  g_auto(Reply) late = ask_as(f, "", "GET", path, "", NULL);
  g_assert_cmpint(late.status, ==, 429);
  g_autofree char *wait = header_of(&late, "Retry-After");
  g_assert_cmpint(g_ascii_strtoll(wait, NULL, 10), >, 0);
  still_answers(f); /* who is in stays in */
}

static const LgWorkbenchAsk with_phones = {.lan = TRUE, .interface = "lo"};

static char *new_code(const Fixture *f)
{
  g_autoptr(json_t) pairing = ask_json(f, "POST", "/pairing", NULL);
  g_assert_cmpint(number(pairing, "lasts_s"), ==, 120);
  g_assert_true(g_str_has_prefix(text(pairing, "qr"), "<svg "));
  g_assert_true(g_str_has_suffix(text(pairing, "address"), "/join"));
  return g_strdup(text(pairing, "code"));
}

static Reply join(const Fixture *f, const char *code, const char *name)
{
  g_autofree char *body = g_strdup_printf("{\"code\": \"%s\", \"name\": \"%s\"}", code, name);
  return ask_as(f, "", "POST", "/join", "", body);
}

static char *joined_cookie(const Fixture *f, const char *name)
{
  g_autofree char *code = new_code(f);
  g_auto(Reply) reply = join(f, code, name);
  g_assert_cmpint(reply.status, ==, 200);
  char *const cookie = header_of(&reply, "Set-Cookie");
  cookie[strcspn(cookie, ";")] = '\0';
  return cookie;
}

static int status_as(const Fixture *f, const char *cookie, const char *method, const char *path)
{
  g_auto(Reply) reply = ask_as(f, cookie, method, path, "", NULL);
  return reply.status;
}

static void test_pairing(Fixture *f, gconstpointer data)
{
  (void)data;
  g_auto(Reply) none = join(f, "000000", "before any code");
  g_assert_cmpint(none.status, ==, 403);
  g_autofree char *code = new_code(f);
  g_auto(Reply) first = join(f, code, "the first");
  g_assert_cmpint(first.status, ==, 200);
  g_auto(Reply) again = join(f, code, "the same code again");
  g_assert_cmpint(again.status, ==, 403);

  g_autofree char *phone = joined_cookie(f, "<b>under the dash</b>");
  g_assert_cmpint(status_as(f, phone, "GET", "/job"), ==, 200);
  g_assert_cmpint(status_as(f, phone, "POST", "/pairing"), ==, 403);
  g_assert_cmpint(status_as(f, phone, "GET", "/pairing/devices"), ==, 403);
  g_assert_cmpint(status_as(f, phone, "DELETE", "/pairing/devices/1"), ==, 403);

  g_autoptr(json_t) list = ask_json(f, "GET", "/pairing/devices", NULL);
  const json_t *const devices = json_object_get(list, "devices");
  g_assert_cmpuint(json_array_size(devices), ==, 2);
  const json_t *const second = json_array_get(devices, 1);
  g_assert_cmpstr(text(second, "name"), ==, "<b>under the dash</b>");
  g_autofree char *path =
      g_strdup_printf("/pairing/devices/%" G_GINT64_FORMAT, number(second, "id"));
  must(f, "DELETE", path, NULL);
  g_assert_cmpint(status_as(f, phone, "GET", "/job"), ==, 401);
  g_assert_cmpint(status_as(f, f->cookie, "DELETE", path), ==, 404);
}

static void start_again(Fixture *f)
{
  g_clear_pointer(&f->bench, lg_workbench_free);
  g_free(f->host), g_free(f->key), g_free(f->cookie);
  g_autoptr(GError) error = NULL;
  f->bench = lg_workbench_new(f->path, &with_phones, &error);
  g_assert_no_error(error);
  let_in(f);
}

/* Makes the file that remembers as it would look to a start 31 days on. */
static void age(const char *kept)
{
  json_t *const all = json_load_file(kept, 0, NULL);
  json_t *const device = json_array_get(json_object_get(all, "devices"), 0);
  json_object_set_new(device, "seen",
                      json_integer(g_get_real_time() / G_USEC_PER_SEC - 31 * 24 * 3600));
  json_dump_file(all, kept, 0);
  json_decref(all);
}

/* A phone stays let in when the program starts again at its old port, until it is sent away, was
 * not seen for 30 days, or the file could have been another's. */
static void test_phones_are_remembered(Fixture *f, gconstpointer data)
{
  (void)data;
  g_autofree char *kept = lg_kept_path(f->path);
  g_assert_false(g_file_test(kept, G_FILE_TEST_EXISTS));
  g_autofree char *phone = joined_cookie(f, "under the dash");
  GStatBuf about;
  g_assert_cmpint(g_stat(kept, &about), ==, 0);
  g_assert_cmpint(about.st_mode & 0777, ==, 0600);
  g_autofree char *text = NULL;
  g_file_get_contents(kept, &text, NULL, NULL);
  g_assert_null(strstr(text, strchr(phone, '=') + 1)); /* the secret itself stands nowhere */
  const guint16 port = f->port;

  start_again(f);
  g_assert_cmpint(f->port, ==, port);
  g_assert_cmpint(status_as(f, phone, "GET", "/job"), ==, 200);
  g_assert_cmpint(status_as(f, phone, "GET", "/pairing/devices"), ==, 403);

  g_assert_cmpint(g_chmod(kept, 0640), ==, 0);
  start_again(f);
  g_assert_cmpint(status_as(f, phone, "GET", "/job"), ==, 401);

  g_file_set_contents_full(kept, text, -1, G_FILE_SET_CONTENTS_CONSISTENT, 0600, NULL);
  age(kept);
  start_again(f);
  g_assert_cmpint(status_as(f, phone, "GET", "/job"), ==, 401);

  g_file_set_contents_full(kept, text, -1, G_FILE_SET_CONTENTS_CONSISTENT, 0600, NULL);
  start_again(f);
  g_assert_cmpint(status_as(f, phone, "GET", "/job"), ==, 200);
  g_autoptr(json_t) list = ask_json(f, "GET", "/pairing/devices", NULL);
  g_autofree char *path =
      g_strdup_printf("/pairing/devices/%" G_GINT64_FORMAT,
                      number(json_array_get(json_object_get(list, "devices"), 0), "id"));
  must(f, "DELETE", path, NULL);
  start_again(f);
  g_assert_cmpint(status_as(f, phone, "GET", "/job"), ==, 401);
  g_unlink(kept);
}

static void test_code_is_not_guessed(Fixture *f, gconstpointer data)
{
  (void)data;
  g_autofree char *code = new_code(f);
  for (int i = 0; i < 5; i++) {
    g_autofree char *guess =
        g_strdup_printf("%06d", (int)(g_ascii_strtoll(code, NULL, 10) + 1 + i) % 1000000);
    g_auto(Reply) reply = join(f, guess, "guesser");
    g_assert_cmpint(reply.status, ==, 403);
  }
  /* The code itself is gone by now, and guessing has become slow. */
  g_auto(Reply) right = join(f, code, "late");
  g_assert_cmpint(right.status, ==, 403);
  g_auto(Reply) slow = join(f, code, "later");
  g_assert_cmpint(slow.status, ==, 429);
  g_autoptr(json_t) list = ask_json(f, "GET", "/pairing/devices", NULL);
  g_assert_cmpuint(json_array_size(json_object_get(list, "devices")), ==, 0);
}

static void test_large_join(Fixture *f, gconstpointer data)
{
  (void)data;
  g_autofree char *name = g_strnfill(5000, 'n');
  g_auto(Reply) reply = join(f, "123456", name);
  g_assert_cmpint(reply.status, ==, 413);
}

/* --- work --- */

static void test_page_files(Fixture *f, gconstpointer data)
{
  (void)data;
  g_autofree char *folder =
      g_build_filename(g_getenv("LG_SOURCE_ROOT"), "src", "workbench", "web", NULL);
  g_autoptr(GDir) dir = g_dir_open(folder, 0, NULL);
  g_assert_nonnull(dir);
  gsize whole = 0;
  for (const char *name; (name = g_dir_read_name(dir)) != NULL;) {
    g_autofree char *path = g_build_filename(folder, name, NULL),
                    *asked = g_strconcat("/page/", name, NULL);
    g_autofree char *content = NULL;
    gsize length;
    if (name[0] == '.' || !g_file_get_contents(path, &content, &length, NULL))
      continue;
    g_auto(Reply) reply = ask(f, "GET", asked, NULL);
    if (reply.status != 200)
      g_error("%s is not served: it needs a line in page-files.gresource.xml", name);
    check_headers(&reply);
    g_autofree char *mark = header_of(&reply, "ETag");
    g_autofree char *more = g_strdup_printf("If-None-Match: %s\r\n", mark);
    g_auto(Reply) same = ask_as(f, f->cookie, "GET", asked, more, NULL);
    g_assert_cmpint(same.status, ==, 304);
    whole += length;
  }
  g_test_message("the page's own files: %" G_GSIZE_FORMAT " bytes", whole);
  g_assert_cmpuint(whole, <, 250000);
  g_auto(Reply) index = ask(f, "GET", "/", NULL);
  g_autofree char *type = header_of(&index, "Content-Type");
  g_assert_cmpstr(type, ==, "text/html; charset=utf-8");
  g_auto(Reply) words = ask(f, "GET", "/page/words.json", NULL);
  g_assert_cmpstr(words.body, ==, "{\"language\":\"en\",\"texts\":{}}");
  g_auto(Reply) module = ask(f, "GET", "/page/main.mjs", NULL);
  g_autofree char *script = header_of(&module, "Content-Type");
  g_assert_cmpstr(script, ==, "text/javascript; charset=utf-8");
}

static void test_answers(Fixture *f, gconstpointer data)
{
  (void)data;
  wait_until_ready(f);
  static const char *const paths[] = {"/job",      "/job/schema", "/live?KEY=run", "/findings",
                                      "/drawings", "/tables",     "/news",         "/tables/wires"};
  for (guint i = 0; i < G_N_ELEMENTS(paths); i++) {
    g_auto(Reply) reply = ask(f, "GET", paths[i], NULL);
    if (strcmp(paths[i], "/live?KEY=run") == 0 && reply.status == 400)
      continue; /* the example's own words are tried below */
    if (reply.status != 200)
      g_error("%s: %d %s", paths[i], reply.status, reply.body);
    json_decref(json_of(&reply)); /* it is JSON */
    check_headers(&reply);
  }
  g_autoptr(json_t) live = ask_json(f, "GET", "/live", NULL);
  g_assert_cmpint(number(live, "edition"), ==, 1);
  g_assert_true(json_is_object(json_object_get(live, "wires")));
  g_auto(Reply) unknown = ask(f, "GET", "/live?NOSUCH=on", NULL);
  g_assert_cmpint(unknown.status, ==, 400);
  g_auto(Reply) svg = ask(f, "GET", "/drawings/diagram/1.svg", NULL);
  g_assert_cmpint(svg.status, ==, 200);
  check_headers(&svg);
  g_autofree char *mark = header_of(&svg, "ETag");
  g_autofree char *more = g_strdup_printf("If-None-Match: %s\r\n", mark);
  g_auto(Reply) same = ask_as(f, f->cookie, "GET", "/drawings/diagram/1.svg", more, NULL);
  g_assert_cmpint(same.status, ==, 304);
  static const char *const none[] = {"/drawings/diagram/0.svg", "/drawings/diagram/1.gif",
                                     "/drawings/diagram/99999.svg", "/drawings/diagram"};
  for (guint i = 0; i < G_N_ELEMENTS(none); i++)
    g_assert_cmpint(status_as(f, f->cookie, "GET", none[i]), ==, 404);
  g_auto(Reply) csv = ask(f, "GET", "/tables/wires.csv", NULL);
  g_autofree char *type = header_of(&csv, "Content-Type");
  g_assert_cmpstr(type, ==, "text/csv; charset=utf-8");
  g_auto(Reply) sheet = ask(f, "GET", "/job/text", NULL);
  g_autofree char *edition = header_of(&sheet, "X-Edition");
  g_assert_cmpstr(edition, ==, "1");
  g_autofree char *job = example();
  g_assert_cmpstr(sheet.body, ==, job);
}

static gint64 edit(const Fixture *f, gint64 edition, const char *edits)
{
  g_autofree char *body = g_strdup_printf(
      "{\"edition\": %" G_GINT64_FORMAT ", \"what\": \"a test\", \"edits\": [%s]}", edition, edits);
  g_autoptr(json_t) made = ask_json(f, "POST", "/job/edits", body);
  return number(made, "edition");
}

static gpointer wait_for_news(gpointer user)
{
  const Fixture *const f = user;
  g_autoptr(json_t) now = ask_json(f, "GET", "/news", NULL);
  g_autofree char *path = g_strdup_printf("/news?after=%" G_GINT64_FORMAT, number(now, "serial"));
  return ask_json(f, "GET", path, NULL);
}

static void test_news_wakes(Fixture *f, gconstpointer data)
{
  (void)data;
  wait_until_ready(f);
  GThread *waiting[20];
  for (guint i = 0; i < G_N_ELEMENTS(waiting); i++)
    waiting[i] = g_thread_new("client", wait_for_news, f);
  g_usleep(700000);
  still_answers(f); /* those who wait hold up nobody */
  const gint64 start_us = g_get_monotonic_time();
  edit(f, 1, "{\"do\": \"add\", \"text\": \"place NEWS temperature=-10C..40C\"}");
  for (guint i = 0; i < G_N_ELEMENTS(waiting); i++) {
    g_autoptr(json_t) news = g_thread_join(waiting[i]);
    g_assert_cmpint(number(news, "edition"), ==, 2);
  }
  g_assert_cmpint(g_get_monotonic_time() - start_us, <, 15 * G_USEC_PER_SEC);
  wait_until_ready(f);
}

/* Those who went away while they waited do not fill the house. */
static void test_news_of_those_gone(Fixture *f, gconstpointer data)
{
  (void)data;
  wait_until_ready(f);
  g_autoptr(json_t) now = ask_json(f, "GET", "/news", NULL);
  for (int i = 0; i < 300; i++) {
    g_autoptr(GSocketConnection) line = dial(f);
    g_autofree char *request = g_strdup_printf("GET /news?after=%" G_GINT64_FORMAT
                                               " HTTP/1.1\r\nHost: %s\r\nCookie: %s\r\n\r\n",
                                               number(now, "serial"), f->host, f->cookie);
    send_all(line, request, strlen(request));
    g_usleep(20000);
  }
  g_usleep(800000);
  still_answers(f);
}

static void test_two_clients(Fixture *f, gconstpointer data)
{
  (void)data;
  g_assert_cmpint(edit(f, 1, "{\"do\": \"add\", \"text\": \"place ONE temperature=-10C..40C\"}"),
                  ==, 2);
  /* The other has not seen edition 2 yet: another record, so both stand. */
  g_assert_cmpint(edit(f, 1, "{\"do\": \"add\", \"text\": \"place TWO temperature=-10C..40C\"}"),
                  ==, 3);
  g_autofree char *content = NULL;
  g_assert_true(g_file_get_contents(f->path, &content, NULL, NULL));
  g_assert_nonnull(strstr(content, "place ONE"));
  g_assert_nonnull(strstr(content, "place TWO"));
  /* The same record, each otherwise: the second is told what stands there. */
  static const char *const set =
      "{\"edition\": 3, \"what\": \"x\", \"edits\": [{\"do\": \"replace\", \"record\": {\"kind\": "
      "\"place\", \"name\": \"ONE\", \"variant\": 0}, \"text\": \"place ONE "
      "temperature=-10C..%dC\"}]}";
  g_autofree char *a = g_strdup_printf("%s", set), *first = NULL, *second = NULL;
  GString *const pattern = g_string_new(a);
  g_string_replace(pattern, "%d", "50", 0);
  first = g_string_free(pattern, FALSE);
  GString *const other = g_string_new(set);
  g_string_replace(other, "%d", "60", 0);
  second = g_string_free(other, FALSE);
  must(f, "POST", "/job/edits", first);
  g_auto(Reply) refused = ask(f, "POST", "/job/edits", second);
  g_assert_cmpint(refused.status, ==, 409);
  g_autoptr(json_t) why = json_of(&refused);
  g_assert_nonnull(strstr(text(why, "theirs"), "50C"));
  g_autoptr(json_t) undone = ask_json(f, "POST", "/job/undo", NULL);
  g_assert_cmpint(number(undone, "edition"), ==, 5);
  g_autoptr(json_t) redone = ask_json(f, "POST", "/job/redo", NULL);
  g_assert_cmpint(number(redone, "edition"), ==, 6);
  g_auto(Reply) nothing = ask(f, "POST", "/job/redo", NULL);
  g_assert_cmpint(nothing.status, ==, 409);
  g_auto(Reply) never =
      ask(f, "POST", "/job/edits", "{\"edition\": 99, \"what\": \"x\", \"edits\": []}");
  g_assert_cmpint(never.status, ==, 400);
}

/* A sheet that stops in the middle of a line keeps the last figures, and says why there are no
 * newer ones. */
static void test_broken_meanwhile(Fixture *f, gconstpointer data)
{
  (void)data;
  wait_until_ready(f);
  g_autofree char *job = example();
  g_autofree char *broken = g_strconcat(job, "wire W9", NULL);
  g_autoptr(json_t) body = json_pack("{s:i, s:s, s:[{s:s, s:s}]}", "edition", 1, "what", "typing",
                                     "edits", "do", "text", "text", broken);
  char *const sent = json_dumps(body, 0);
  g_autoptr(json_t) made = ask_json(f, "POST", "/job/edits", sent);
  free(sent);
  g_assert_cmpint(number(made, "edition"), ==, 2);
  for (int i = 0;; i++) {
    g_autoptr(json_t) news = ask_json(f, "GET", "/news", NULL);
    if (text(news, "unready") != NULL)
      break;
    g_assert_cmpint(i, <, 200);
    g_usleep(20000);
  }
  g_autoptr(json_t) live = ask_json(f, "GET", "/live", NULL);
  g_assert_cmpint(number(live, "edition"), ==, 1);
  must(f, "POST", "/job/undo", NULL);
  wait_until_ready(f);
}

static gint64 begin_run(const Fixture *f, const char *body)
{
  g_autoptr(json_t) begun = ask_json(f, "POST", "/runs", body);
  return number(begun, "run");
}

static json_t *wait_for_run(const Fixture *f, gint64 id)
{
  g_autofree char *path = g_strdup_printf("/runs/%" G_GINT64_FORMAT, id);
  for (int i = 0; i < 3000; i++) {
    g_autoptr(json_t) run = ask_json(f, "GET", path, NULL);
    if (json_is_true(json_object_get(run, "done")))
      return g_steal_pointer(&run);
    g_usleep(20000);
  }
  g_error("run %" G_GINT64_FORMAT " did not end within a minute", id);
}

static void test_runs(Fixture *f, gconstpointer data)
{
  (void)data;
  static const char *const asks[][2] = {
      {"faults", "{\"verb\": \"faults\"}"},
      {"simulate", "{\"verb\": \"simulate\", \"use\": \"cold-morning\"}"},
      {"locate", "{\"verb\": \"locate\", \"readings\": []}"},
      {"compare", "{\"verb\": \"compare\", \"variant\": \"direct\"}"},
      {"packet", "{\"verb\": \"packet\", \"share\": true}"},
  };
  gint64 id[G_N_ELEMENTS(asks)];
  for (guint i = 0; i < G_N_ELEMENTS(asks); i++)
    id[i] = begin_run(f, asks[i][1]);
  for (guint i = 0; i < G_N_ELEMENTS(asks); i++) {
    g_autoptr(json_t) run = wait_for_run(f, id[i]);
    if (text(run, "wrong") != NULL)
      g_error("%s: %s", asks[i][0], text(run, "wrong"));
    g_assert_cmpstr(text(json_object_get(run, "report"), "verb"), ==, asks[i][0]);
  }
  g_autoptr(json_t) packet = wait_for_run(f, id[4]);
  g_assert_cmpuint(json_array_size(json_object_get(packet, "files")), >, 3);
  char *const whole = json_dumps(packet, 0);
  g_assert_null(strstr(whole, g_get_tmp_dir())); /* where the files lie is nobody's business */
  free(whole);
  g_autofree char *pdf = g_strdup_printf("/runs/%" G_GINT64_FORMAT "/files/packet.pdf", id[4]);
  g_auto(Reply) file = ask(f, "GET", pdf, NULL);
  g_assert_cmpint(file.status, ==, 200);
  g_assert_cmpint(memcmp(file.body, "%PDF", 4), ==, 0);
  g_autofree char *up =
      g_strdup_printf("/runs/%" G_GINT64_FORMAT "/files/..%%2f..%%2fetc%%2fpasswd", id[4]);
  g_assert_cmpint(status_as(f, f->cookie, "GET", up), ==, 404);
  g_autofree char *forget = g_strdup_printf("/runs/%" G_GINT64_FORMAT, id[4]);
  g_autoptr(json_t) forgotten = ask_json(f, "DELETE", forget, NULL);
  g_assert_true(json_is_true(json_object_get(forgotten, "forgotten")));
  g_assert_cmpint(status_as(f, f->cookie, "GET", forget), ==, 404);
}

static void test_run_stops(Fixture *f, gconstpointer data)
{
  (void)data;
  static const char *const asks[] = {"{\"verb\": \"simulate\", \"use\": \"winter\"}",
                                     "{\"verb\": \"faults\"}", "{\"verb\": \"packet\"}"};
  for (guint i = 0; i < G_N_ELEMENTS(asks); i++) {
    const gint64 id = begin_run(f, asks[i]);
    g_autofree char *path = g_strdup_printf("/runs/%" G_GINT64_FORMAT, id);
    const gint64 start_us = g_get_monotonic_time();
    must(f, "DELETE", path, NULL);
    g_autoptr(json_t) run = wait_for_run(f, id);
    g_assert_true(json_is_true(json_object_get(run, "stopped")));
    g_assert_cmpint(g_get_monotonic_time() - start_us, <, 15 * G_USEC_PER_SEC);
  }
}

static void test_runs_are_few(Fixture *f, gconstpointer data)
{
  (void)data;
  for (int i = 0; i < 20; i++)
    begin_run(f, "{\"verb\": \"simulate\", \"use\": \"winter\"}");
  g_auto(Reply) more = ask(f, "POST", "/runs", "{\"verb\": \"faults\"}");
  g_assert_cmpint(more.status, ==, 429);
  g_autoptr(json_t) news = ask_json(f, "GET", "/news", NULL);
  guint under_way = 0;
  for (gsize i = 0; i < 20; i++) {
    const json_t *const run = json_array_get(json_object_get(news, "runs"), i);
    under_way +=
        json_is_true(json_object_get(run, "begun")) && !json_is_true(json_object_get(run, "done"));
  }
  g_assert_cmpuint(under_way, <=, 2);
  static const char *const bad[] = {"{\"verb\": \"rm\"}", "{}", "{\"verb\": \"simulate\"}",
                                    "{\"verb\": \"compare\"}", "{\"verb\": \"identify\"}"};
  for (guint i = 0; i < G_N_ELEMENTS(bad); i++) {
    g_auto(Reply) reply = ask(f, "POST", "/runs", bad[i]);
    g_assert_cmpint(reply.status, ==, 400);
  }
}

/* Texts of a sheet come back as JSON strings and escaped in drawings, never as markup. */
static void test_hostile_sheet(void)
{
  g_autofree char *job = example();
  g_autoptr(GString) hostile = g_string_new(job);
  static const char evil[] = "</script><img src=x onerror=alert(1)>&{{7*7}}";
  g_string_replace(hostile, "job ", "# ", 1);
  g_string_prepend(hostile, "job \"</script><img src=x onerror=alert(1)>&{{7*7}}\"\n");
  Fixture f = {0};
  const LgWorkbenchAsk usual = {0};
  open_fixture(&f, hostile->str, usual);
  g_autoptr(json_t) about = ask_json(&f, "GET", "/job", NULL);
  g_assert_cmpstr(text(about, "title"), ==, evil);
  g_auto(Reply) sheet = ask(&f, "GET", "/job/text", NULL);
  g_autofree char *type = header_of(&sheet, "Content-Type");
  g_assert_cmpstr(type, ==, "text/plain; charset=utf-8");
  wait_until_ready(&f);
  g_auto(Reply) svg = ask(&f, "GET", "/drawings/diagram/1.svg", NULL);
  g_assert_cmpint(svg.status, ==, 200);
  g_assert_null(strstr(svg.body, "<img"));
  g_assert_null(strstr(svg.body, "<script"));
  finish(&f, NULL);
}

static void test_new_file(void)
{
  g_autofree char *folder = g_dir_make_tmp("loomgraft-server-test-XXXXXX", NULL);
  g_autofree char *path = g_build_filename(folder, "new.job", NULL);
  g_autoptr(GError) error = NULL;
  g_autoptr(LgWorkbench) bench = lg_workbench_new(path, NULL, &error);
  g_assert_no_error(error);
  g_assert_true(g_file_test(path, G_FILE_TEST_EXISTS));
  /* Its port is taken now. */
  g_auto(GStrv) pieces = g_strsplit(lg_workbench_address(bench), ":", 0);
  const LgWorkbenchAsk taken = {.port = (int)g_ascii_strtoll(pieces[2], NULL, 10)};
  g_assert_null(lg_workbench_new(path, &taken, &error));
  g_assert_error(error, LG_ERROR, LG_ERROR_CALL);
  g_clear_error(&error);
  g_assert_null(lg_workbench_new(folder, NULL, &error));
  g_assert_nonnull(error);
  g_clear_pointer(&bench, lg_workbench_free);
  g_unlink(path);
  g_assert_cmpint(g_rmdir(folder), ==, 0);
}

/* Ended while clients wait, studies run and a proof is under way. */
static void test_end_in_the_middle(Fixture *f, gconstpointer data)
{
  (void)data;
  wait_until_ready(f);
  begin_run(f, "{\"verb\": \"simulate\", \"use\": \"winter\"}");
  begin_run(f, "{\"verb\": \"packet\"}");
  g_autoptr(json_t) now = ask_json(f, "GET", "/news", NULL);
  g_autoptr(GPtrArray) lines = g_ptr_array_new_with_free_func(g_object_unref);
  for (int i = 0; i < 10; i++) {
    GSocketConnection *const line = dial(f);
    g_autofree char *request =
        g_strdup_printf("GET %s%" G_GINT64_FORMAT " HTTP/1.1\r\nHost: %s\r\nCookie: %s\r\n\r\n",
                        i % 2 == 0 ? "/news?after=" : "/drawings/diagram/1.svg?",
                        number(now, "serial"), f->host, f->cookie);
    send_all(line, request, strlen(request));
    g_ptr_array_add(lines, line);
  }
  const gint64 start_us = g_get_monotonic_time();
  g_clear_pointer(&f->bench, lg_workbench_free);
  g_assert_cmpint(g_get_monotonic_time() - start_us, <, 20 * G_USEC_PER_SEC);
}

static const LgWorkbenchAsk hasty = {.patience_s = 1};

int main(int argc, char **argv)
{
  signal(SIGPIPE, SIG_IGN);
  g_autofree char *state = g_dir_make_tmp("loomgraft-server-test-XXXXXX", NULL);
  g_setenv("XDG_STATE_HOME", state, TRUE);
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/guard/wait-doubles", test_wait_doubles);
  g_test_add_func("/guard/secrets", test_secrets);
  g_test_add_func("/guard/same", test_same);
  const struct {
    const char *name;
    const LgWorkbenchAsk *ask;
    void (*test)(Fixture *, gconstpointer);
  } tests[] = {
      {"/server/attacks", NULL, test_attacks},
      {"/server/allowed-methods", NULL, test_allowed_methods},
      {"/server/header-flood", NULL, test_header_flood},
      {"/server/chunks-beyond-the-limit", NULL, test_chunks_beyond_the_limit},
      {"/server/nested-json", NULL, test_nested_json},
      {"/server/slow-sender", &hasty, test_slow_sender},
      {"/server/silent-clients", &hasty, test_silent_clients},
      {"/server/garbage", NULL, test_garbage},
      {"/server/key", NULL, test_key},
      {"/server/pairing", &with_phones, test_pairing},
      {"/server/phones-are-remembered", &with_phones, test_phones_are_remembered},
      {"/server/code-is-not-guessed", &with_phones, test_code_is_not_guessed},
      {"/server/large-join", &with_phones, test_large_join},
      {"/server/page-files", NULL, test_page_files},
      {"/server/answers", NULL, test_answers},
      {"/server/news-wakes", NULL, test_news_wakes},
      {"/server/news-of-those-gone", NULL, test_news_of_those_gone},
      {"/server/two-clients", NULL, test_two_clients},
      {"/server/broken-meanwhile", NULL, test_broken_meanwhile},
      {"/server/runs", NULL, test_runs},
      {"/server/run-stops", NULL, test_run_stops},
      {"/server/runs-are-few", NULL, test_runs_are_few},
      {"/server/end-in-the-middle", NULL, test_end_in_the_middle},
  };
  for (guint i = 0; i < G_N_ELEMENTS(tests); i++)
    g_test_add(tests[i].name, Fixture, tests[i].ask, begin, tests[i].test, finish);
  g_test_add_func("/server/hostile-sheet", test_hostile_sheet);
  g_test_add_func("/server/new-file", test_new_file);
  const int status = g_test_run();
  g_autofree char *inner = g_build_filename(state, "loomgraft", NULL);
  g_rmdir(inner);
  g_rmdir(state);
  return status;
}
