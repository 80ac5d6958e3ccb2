/* Which request goes where, who may make it, and how much it may send. */
#include "workbench/server-private.h"
#include <string.h>

enum { KIB = 1024, SMALL = 64 * KIB, LARGE = 8 * 1024 * KIB, JOIN = KIB };

static const LgRoute routes[] = {
    {"GET", "/", LG_WHO_ANYBODY, LG_AT_ONCE, lg_serve_page, 0},
    {"GET", "/phone", LG_WHO_ANYBODY, LG_AT_ONCE, lg_serve_page, 0},
    {"GET", "/join", LG_WHO_ANYBODY, LG_AT_ONCE, lg_serve_page, 0},
    {"POST", "/join", LG_WHO_ANYBODY, LG_AT_ONCE, lg_serve_join, JOIN},
    {"GET", "/page/**", LG_WHO_ANYBODY, LG_AT_ONCE, lg_serve_page, 0},
    {"GET", "/key/*", LG_WHO_ANYBODY, LG_AT_ONCE, lg_serve_key, 0},
    {"GET", "/job", LG_WHO_PHONE, LG_AT_ONCE, lg_serve_job, 0},
    {"GET", "/job/schema", LG_WHO_PHONE, LG_AT_ONCE, lg_serve_schema, 0},
    {"GET", "/job/text", LG_WHO_PHONE, LG_AT_ONCE, lg_serve_text, 0},
    {"POST", "/job/edits", LG_WHO_PHONE, LG_AT_ONCE, lg_serve_edits, LARGE},
    {"POST", "/job/undo", LG_WHO_PHONE, LG_AT_ONCE, lg_serve_undo, SMALL},
    {"POST", "/job/redo", LG_WHO_PHONE, LG_AT_ONCE, lg_serve_redo, SMALL},
    {"POST", "/job/disk", LG_WHO_PHONE, LG_AT_ONCE, lg_serve_disk, SMALL},
    {"POST", "/job/problems", LG_WHO_PHONE, LG_AT_ONCE, lg_serve_problems, LARGE},
    {"GET", "/news", LG_WHO_PHONE, LG_WAITS, lg_serve_news, 0},
    {"GET", "/live", LG_WHO_PHONE, LG_AT_ONCE, lg_serve_live, 0},
    {"GET", "/faults/of", LG_WHO_PHONE, LG_AT_ONCE, lg_serve_faults_of, 0},
    {"GET", "/about", LG_WHO_PHONE, LG_AT_ONCE, lg_serve_about, 0},
    {"GET", "/findings", LG_WHO_PHONE, LG_AT_ONCE, lg_serve_findings, 0},
    {"POST", "/findings/prove", LG_WHO_PHONE, LG_SLOW, lg_serve_prove, SMALL},
    {"GET", "/drawings", LG_WHO_PHONE, LG_SLOW, lg_serve_drawings, 0},
    {"GET", "/drawings/*", LG_WHO_PHONE, LG_SLOW, lg_serve_drawing_whole, 0},
    {"GET", "/drawings/*/*", LG_WHO_PHONE, LG_SLOW, lg_serve_drawing, 0},
    {"GET", "/tables", LG_WHO_PHONE, LG_SLOW, lg_serve_tables, 0},
    {"GET", "/tables/*", LG_WHO_PHONE, LG_SLOW, lg_serve_table, 0},
    {"POST", "/runs", LG_WHO_PHONE, LG_AT_ONCE, lg_serve_run_begin, SMALL},
    {"GET", "/runs/*", LG_WHO_PHONE, LG_AT_ONCE, lg_serve_run, 0},
    {"DELETE", "/runs/*", LG_WHO_PHONE, LG_AT_ONCE, lg_serve_run_end, SMALL},
    {"GET", "/runs/*/files/*", LG_WHO_PHONE, LG_AT_ONCE, lg_serve_run_file, 0},
    {"POST", "/pairing", LG_WHO_OWNER, LG_AT_ONCE, lg_serve_pairing, SMALL},
    {"GET", "/pairing/devices", LG_WHO_OWNER, LG_AT_ONCE, lg_serve_devices, 0},
    {"DELETE", "/pairing/devices/*", LG_WHO_OWNER, LG_AT_ONCE, lg_serve_revoke, SMALL},
};

/* `path` of the table against the words of a request, which are few. */
static gboolean matches(const char *path, const char *const *words)
{
  const char *at = path + 1;
  guint i = 0;
  while (*at != '\0') {
    const gsize n = strcspn(at, "/");
    if (words[i] == NULL)
      return FALSE;
    if (n == 2 && at[0] == '*')
      return TRUE;
    if (!(n == 1 && at[0] == '*') && (strlen(words[i]) != n || strncmp(words[i], at, n) != 0))
      return FALSE;
    i++;
    at += n;
    if (*at == '/')
      at++;
  }
  return words[i] == NULL;
}

const LgRoute *lg_route_find(const char *method, const char *const *words, char **allowed)
{
  if (strcmp(method, "HEAD") == 0)
    method = "GET";
  g_autoptr(GString) others = g_string_new(NULL);
  for (guint i = 0; i < G_N_ELEMENTS(routes); i++) {
    if (!matches(routes[i].path, words))
      continue;
    if (strcmp(routes[i].method, method) == 0)
      return &routes[i];
    g_string_append_printf(others, "%s%s", others->len > 0 ? ", " : "", routes[i].method);
  }
  *allowed = others->len > 0 ? g_strdup(others->str) : NULL;
  return NULL;
}
