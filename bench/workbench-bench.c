/* The workbench over loopback, server and clients in one process: how fast it answers while a study
 * runs, from an edit to fresh findings, and what memory it takes.
 *   workbench-bench [EXAMPLE] [--json] */
#include "make-job.h"
#include "workbench/workbench.h"
#include <arpa/inet.h>
#include <glib/gstdio.h>
#include <malloc.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

enum { N_CLIENTS = 4, RATE_S = 3, N_LIVE = 300, N_EDITS = 25, N_LONG = 120 };

typedef struct {
  LgWorkbench *bench;
  char *folder, *path, *host, *cookie;
  guint16 port;
} Desk;

typedef struct {
  const Desk *desk;
  int fd;
} Client;

static gboolean json;

static void fail(const char *what, const char *answer)
{
  fprintf(stderr, "workbench-bench: %s failed: %.300s\n", what, answer);
  exit(1);
}

/* --- a client that keeps its connection --- */

static Client dial(const Desk *desk)
{
  const struct sockaddr_in address = {
      .sin_family = AF_INET, .sin_port = htons(desk->port), .sin_addr = {htonl(INADDR_LOOPBACK)}};
  const Client client = {desk, socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)};
  const int on = 1;
  setsockopt(client.fd, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
  if (connect(client.fd, (const struct sockaddr *)&address, sizeof address) != 0)
    fail("connect", "");
  return client;
}

static void hear(const Client *client, GString *all)
{
  char buffer[65536];
  const ssize_t n = recv(client->fd, buffer, sizeof buffer, 0);
  if (n <= 0)
    fail("receive", all->str);
  g_string_append_len(all, buffer, n);
}

/* Head and body; ends the program on an answer that is no 2xx or 3xx. */
static char *ask(const Client *client, const char *method, const char *path, const char *body)
{
  const gboolean get = strcmp(method, "GET") == 0;
  g_autofree char *request = g_strdup_printf(
      "%s %s HTTP/1.1\r\nHost: %s\r\nCookie: %s\r\n%sContent-Length: %zu\r\n\r\n%s", method, path,
      client->desk->host, client->desk->cookie,
      get ? "" : "Content-Type: application/json\r\nX-Loomgraft: 1\r\n", strlen(body), body);
  if (send(client->fd, request, strlen(request), MSG_NOSIGNAL) != (ssize_t)strlen(request))
    fail(path, "not sent");
  GString *const all = g_string_new(NULL);
  const char *end;
  while ((end = strstr(all->str, "\r\n\r\n")) == NULL)
    hear(client, all);
  const gsize head = (gsize)(end + 4 - all->str);
  const char *const length = strstr(all->str, "Content-Length: ");
  const gsize whole = head + (length != NULL && length < end ? (gsize)atol(length + 16) : 0);
  while (all->len < whole)
    hear(client, all);
  if (all->str[9] != '2' && all->str[9] != '3')
    fail(path, all->str);
  return g_string_free(all, FALSE);
}

static gint64 number_in(const char *answer, const char *key)
{
  g_autofree char *quoted = g_strdup_printf("\"%s\":", key);
  const char *const at = strstr(answer, quoted);
  if (at == NULL)
    fail(key, answer);
  return g_ascii_strtoll(at + strlen(quoted), NULL, 10);
}

/* --- a desk --- */

static void wait_until_ready(const Client *client, gint64 edition)
{
  g_autofree char *news = ask(client, "GET", "/news", "");
  while (number_in(news, "ready") < edition) {
    g_autofree char *path =
        g_strdup_printf("/news?after=%" G_GINT64_FORMAT, number_in(news, "serial"));
    g_free(news);
    news = ask(client, "GET", path, "");
  }
}

static Desk desk_new(const char *job)
{
  Desk desk = {.folder = g_dir_make_tmp("loomgraft-bench-XXXXXX", NULL), .cookie = g_strdup("")};
  desk.path = g_build_filename(desk.folder, "bench.job", NULL);
  g_autoptr(GError) error = NULL;
  if (!g_file_set_contents(desk.path, job, -1, &error) ||
      (desk.bench = lg_workbench_new(desk.path, NULL, &error)) == NULL)
    fail("open", error->message);
  g_auto(GStrv) pieces = g_strsplit(lg_workbench_address(desk.bench), "/", 0);
  desk.host = g_strdup(pieces[2]);
  desk.port = (guint16)atoi(strchr(desk.host, ':') + 1);
  const Client client = dial(&desk);
  g_autofree char *key = g_strconcat("/key/", pieces[4], NULL);
  g_autofree char *let_in = ask(&client, "GET", key, "");
  const char *const cookie = strstr(let_in, "Set-Cookie: ") + strlen("Set-Cookie: ");
  g_free(desk.cookie);
  desk.cookie = g_strndup(cookie, strcspn(cookie, ";"));
  wait_until_ready(&client, 1);
  close(client.fd);
  return desk;
}

static void desk_clear(Desk *desk)
{
  lg_workbench_free(desk->bench);
  g_unlink(desk->path);
  g_rmdir(desk->folder);
  g_free(desk->folder);
  g_free(desk->path);
  g_free(desk->host);
  g_free(desk->cookie);
}

/* --- figures --- */

static int by_size(const void *a, const void *b)
{
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static void print_times(const char *what, double *ms, int n, const char *target)
{
  qsort(ms, (size_t)n, sizeof *ms, by_size);
  const double median = ms[n / 2], p95 = ms[n * 95 / 100];
  if (json)
    printf(
        "{\"bench\": \"workbench\", \"case\": \"%s\", \"ms\": %.2f, \"p95_ms\": %.2f, \"target\": "
        "\"%s\"}\n",
        what, median, p95, target);
  else
    printf("%-58s %9.2f ms, 95 of 100 within %.2f ms   target %s\n", what, median, p95, target);
}

static void print_figure(const char *what, const char *unit, double value, const char *target)
{
  if (json)
    printf("{\"bench\": \"workbench\", \"case\": \"%s\", \"%s\": %.1f, \"target\": \"%s\"}\n", what,
           unit, value, target);
  else
    printf("%-58s %9.1f %s   target %s\n", what, value, unit, target);
}

static double now_ms(void)
{
  return (double)g_get_monotonic_time() / 1000;
}

static double resident_MB(void)
{
  g_autofree char *statm = NULL;
  g_file_get_contents("/proc/self/statm", &statm, NULL, NULL);
  return (double)atol(strchr(statm, ' ')) * (double)sysconf(_SC_PAGESIZE) / 1e6;
}

static void time_live(const Desk *desk, const char *what, const char *const states[2],
                      const char *target)
{
  const Client client = dial(desk);
  double ms[N_LIVE];
  for (int i = 0; i < N_LIVE; i++) {
    const double start = now_ms();
    g_free(ask(&client, "GET", states[i % 2], ""));
    ms[i] = now_ms() - start;
  }
  close(client.fd);
  print_times(what, ms, N_LIVE, target);
}

/* One wire made longer and shorter in turn. */
static gint64 edit(const Client *client, gint64 edition, const char *wire, gboolean longer)
{
  g_autofree char *body = g_strdup_printf(
      "{\"edition\": %" G_GINT64_FORMAT ", \"what\": \"bench\", \"edits\": [{\"do\": \"set\", "
      "\"record\": {\"kind\": \"wire\", \"name\": \"%s\", \"variant\": 0}, \"key\": \"spare\", "
      "\"value\": \"%s\"}]}",
      edition, wire, longer ? "0.3m" : "0.2m");
  g_autofree char *answer = ask(client, "POST", "/job/edits", body);
  return number_in(answer, "edition");
}

static void time_edits(const Desk *desk, const char *what, const char *wire, const char *target)
{
  const Client client = dial(desk);
  g_autofree char *news = ask(&client, "GET", "/news", "");
  gint64 edition = number_in(news, "edition");
  double ms[N_EDITS];
  for (int i = 0; i < N_EDITS; i++) {
    const double start = now_ms();
    edition = edit(&client, edition, wire, i % 2 == 0);
    wait_until_ready(&client, edition);
    g_free(ask(&client, "GET", "/findings", ""));
    ms[i] = now_ms() - start;
  }
  close(client.fd);
  print_times(what, ms, N_EDITS, target);
}

static gpointer ask_on(gpointer user)
{
  const Client client = dial(user);
  const double end = now_ms() + 1000 * RATE_S;
  guint n = 0;
  for (; now_ms() < end; n++)
    g_free(ask(&client, "GET", "/live", ""));
  close(client.fd);
  return GUINT_TO_POINTER(n);
}

static void measure_rate(Desk *desk)
{
  const Client client = dial(desk);
  for (int i = 0; i < 2; i++)
    g_free(ask(&client, "POST", "/runs", "{\"verb\": \"simulate\", \"use\": \"winter\"}"));
  g_free(ask(&client, "POST", "/runs", "{\"verb\": \"faults\"}"));
  GThread *threads[N_CLIENTS];
  for (int i = 0; i < N_CLIENTS; i++)
    threads[i] = g_thread_new("client", ask_on, desk);
  guint n = 0;
  for (int i = 0; i < N_CLIENTS; i++)
    n += GPOINTER_TO_UINT(g_thread_join(threads[i]));
  close(client.fd);
  print_figure("requests a second while studies run", "1/s", (double)n / RATE_S, "200");
}

static void measure_memory(const Desk *desk, const char *wire)
{
  const Client client = dial(desk);
  g_autofree char *news = ask(&client, "GET", "/news", "");
  gint64 edition = number_in(news, "edition");
  for (int i = 0; i < N_LONG; i++) {
    edition = edit(&client, edition, wire, i % 2 == 0);
    if (i % 3 == 0)
      wait_until_ready(&client, edition);
    g_free(ask(&client, "GET", "/live", ""));
    g_free(ask(&client, "GET", "/findings", ""));
    g_free(ask(&client, "GET", i % 10 == 0 ? "/tables" : "/drawings/diagram/1.svg", ""));
  }
  close(client.fd);
  print_figure("resident after 120 edits, each drawn", "MB", resident_MB(), "80");
}

int main(int argc, char **argv)
{
  const char *example = "examples/library-van-seat.job";
  for (int i = 1; i < argc; i++) {
    json = json || strcmp(argv[i], "--json") == 0;
    if (argv[i][0] != '-')
      example = argv[i];
  }
  mallopt(M_ARENA_MAX, 2); /* as the program does */
  signal(SIGPIPE, SIG_IGN);
  g_autofree char *text = NULL;
  g_autoptr(GError) error = NULL;
  if (!g_file_get_contents(example, &text, NULL, &error))
    fail("read", error->message);
  Desk desk = desk_new(text);
  static const char *const states[2] = {"/live?KEY=on", "/live?KEY=off"};
  time_live(&desk, "a state of the example", states, "50 ms from click to paint");
  time_edits(&desk, "edit of the example to fresh findings", "W6", "100 ms");
  measure_memory(&desk, "W6");
  measure_rate(&desk);
  desk_clear(&desk);

  g_autofree char *hundred = make_job(100, 15);
  desk = desk_new(hundred);
  static const char *const switches[2] = {"/live", "/live?S1=on"};
  time_live(&desk, "a state of 100 circuits", switches, "120 ms from click to paint");
  time_edits(&desk, "edit of 100 circuits to fresh findings", "C3", "300 ms");
  desk_clear(&desk);
  return 0;
}
