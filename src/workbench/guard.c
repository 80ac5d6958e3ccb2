#include "workbench/guard-private.h"
#include <string.h>
#include <sys/random.h>

enum { SECRET_BYTES = 32, FREE_TRIES = 5, MOST_WAIT_S = 60, MOST_PEERS = 256, ONCE_S = 30 };

typedef struct {
  guint n_wrong;
  gint64 until_us, seen_us;
} Tries;

struct LgGuard {
  GPtrArray *hosts; /* char* */
  char *key, *cookie;
  GMutex lock; /* of what follows */
  char *once;
  gint64 once_until_us;
  GHashTable *tries; /* address -> Tries */
};

LgGuard *lg_guard_new(void)
{
  LgGuard *const guard = g_new0(LgGuard, 1);
  guard->hosts = g_ptr_array_new_with_free_func(g_free);
  guard->key = lg_guard_secret();
  guard->cookie = lg_guard_secret();
  guard->tries = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
  g_mutex_init(&guard->lock);
  return guard;
}

void lg_guard_free(LgGuard *guard)
{
  if (guard == NULL)
    return;
  g_ptr_array_unref(guard->hosts);
  g_hash_table_unref(guard->tries);
  g_mutex_clear(&guard->lock);
  g_free(guard->key);
  g_free(guard->cookie);
  g_free(guard->once);
  g_free(guard);
}

void lg_guard_add_host(LgGuard *guard, const char *host)
{
  g_ptr_array_add(guard->hosts, g_strdup(host));
}

static gboolean is_our_host(const LgGuard *guard, const char *host)
{
  for (guint i = 0; i < guard->hosts->len; i++)
    if (g_ascii_strcasecmp(guard->hosts->pdata[i], host) == 0)
      return TRUE;
  return FALSE;
}

static gboolean is_our_origin(const LgHeads *heads)
{
  return g_ascii_strncasecmp(heads->origin, "http://", 7) == 0 &&
         g_ascii_strcasecmp(heads->origin + 7, heads->host) == 0;
}

static gboolean is_json(const char *type)
{
  static const char json[] = "application/json";
  const gsize n = sizeof json - 1;
  return type != NULL && g_ascii_strncasecmp(type, json, n) == 0 &&
         (type[n] == '\0' || type[n] == ';' || type[n] == ' ');
}

static guint refuse(guint status, const char *what, const char *advice, const char **wrong,
                    const char **remedy)
{
  *wrong = what;
  *remedy = advice;
  return status;
}

guint lg_guard_refuses(const LgGuard *guard, const LgHeads *heads, const char **wrong,
                       const char **remedy)
{
  static const char open_printed[] = "Open the address that `loomgraft open` printed, by hand.";
  if (heads->n_hosts != 1 || heads->host == NULL)
    return refuse(400, "The request does not name one host.", open_printed, wrong, remedy);
  /* A foreign name that was made to point here (DNS rebinding) still stands in Host. */
  if (!is_our_host(guard, heads->host))
    return refuse(421, "The request is for another host.", open_printed, wrong, remedy);
  if (heads->origin != NULL && !is_our_origin(heads))
    return refuse(403, "The request comes from a foreign page.", open_printed, wrong, remedy);
  if (heads->site != NULL && strcmp(heads->site, "same-origin") != 0 &&
      strcmp(heads->site, "none") != 0)
    return refuse(403, "The request was started by a foreign page.", open_printed, wrong, remedy);
  if (strcmp(heads->method, "GET") == 0 || strcmp(heads->method, "HEAD") == 0)
    return 0;
  if (!is_json(heads->type))
    return refuse(415, "The body is not said to be JSON.", "Send `Content-Type: application/json`.",
                  wrong, remedy);
  if (heads->mark == NULL || strcmp(heads->mark, "1") != 0)
    return refuse(403, "The header X-Loomgraft is missing.", "Send `X-Loomgraft: 1`.", wrong,
                  remedy);
  return 0;
}

static void draw(guint8 *bytes, gsize n)
{
  for (gsize done = 0; done < n;) {
    const gssize got = getrandom(bytes + done, n - done, 0);
    if (got > 0)
      done += (gsize)got;
  }
}

char *lg_guard_secret(void)
{
  guint8 bytes[SECRET_BYTES];
  draw(bytes, sizeof bytes);
  char *const text = g_base64_encode(bytes, sizeof bytes);
  g_strdelimit(text, "+", '-');
  g_strdelimit(text, "/", '_');
  text[strcspn(text, "=")] = '\0';
  return text;
}

char *lg_guard_code(guint n)
{
  char *const code = g_new0(char, n + 1);
  for (guint i = 0; i < n;) {
    guint8 byte;
    draw(&byte, 1);
    if (byte < 250) /* else the digits 0 to 5 would come more often */
      code[i++] = (char)('0' + byte % 10);
  }
  return code;
}

gboolean lg_guard_same(const char *a, const char *b)
{
  const gsize n = strlen(a), m = strlen(b);
  volatile guint differs = n != m;
  for (gsize i = 0; i < n; i++)
    differs |= (guint)(guchar)a[i] ^ (guint)(guchar)b[m == 0 ? 0 : i % m];
  return differs == 0;
}

const char *lg_guard_key(const LgGuard *guard)
{
  return guard->key;
}

const char *lg_guard_cookie(const LgGuard *guard)
{
  return guard->cookie;
}

char *lg_guard_key_once(LgGuard *guard)
{
  char *const key = lg_guard_secret();
  g_mutex_lock(&guard->lock);
  g_free(guard->once);
  guard->once = g_strdup(key);
  guard->once_until_us = g_get_monotonic_time() + ONCE_S * G_USEC_PER_SEC;
  g_mutex_unlock(&guard->lock);
  return key;
}

gboolean lg_guard_opens(LgGuard *guard, const char *key)
{
  const gboolean lasting = lg_guard_same(key, guard->key);
  g_mutex_lock(&guard->lock);
  const gboolean once = guard->once != NULL && lg_guard_same(key, guard->once) &&
                        g_get_monotonic_time() < guard->once_until_us;
  if (once)
    g_clear_pointer(&guard->once, g_free);
  g_mutex_unlock(&guard->lock);
  return lasting || once;
}

char *lg_guard_cookie_of(const char *header, const char *name)
{
  if (header == NULL)
    return NULL;
  const gsize n = strlen(name);
  g_auto(GStrv) pairs = g_strsplit(header, ";", 64);
  for (int i = 0; pairs[i] != NULL; i++) {
    const char *const pair = g_strstrip(pairs[i]);
    if (strncmp(pair, name, n) == 0 && pair[n] == '=')
      return g_strdup(pair + n + 1);
  }
  return NULL;
}

guint lg_guard_wait_s(LgGuard *guard, const char *peer)
{
  g_mutex_lock(&guard->lock);
  const Tries *const tries = g_hash_table_lookup(guard->tries, peer);
  const gint64 left_us = tries == NULL ? 0 : tries->until_us - g_get_monotonic_time();
  g_mutex_unlock(&guard->lock);
  return left_us <= 0 ? 0 : (guint)(left_us / G_USEC_PER_SEC) + 1;
}

static gboolean is_stale(gpointer peer, gpointer tries, gpointer before)
{
  (void)peer;
  return ((const Tries *)tries)->seen_us < *(const gint64 *)before;
}

/* The table stays small whoever asks: those unseen for ten minutes go, else all. */
static void make_room(GHashTable *tries, gint64 now_us)
{
  if (g_hash_table_size(tries) < MOST_PEERS)
    return;
  gint64 before = now_us - 600 * G_USEC_PER_SEC;
  if (g_hash_table_foreach_remove(tries, is_stale, &before) == 0)
    g_hash_table_remove_all(tries);
}

void lg_guard_wrong(LgGuard *guard, const char *peer)
{
  const gint64 now_us = g_get_monotonic_time();
  g_mutex_lock(&guard->lock);
  Tries *tries = g_hash_table_lookup(guard->tries, peer);
  if (tries == NULL) {
    make_room(guard->tries, now_us);
    tries = g_new0(Tries, 1);
    g_hash_table_insert(guard->tries, g_strdup(peer), tries);
  }
  tries->seen_us = now_us;
  tries->n_wrong++;
  if (tries->n_wrong > FREE_TRIES) {
    const guint doubled = MIN(tries->n_wrong - FREE_TRIES, 6);
    tries->until_us = now_us + MIN(1 << doubled, MOST_WAIT_S) * G_USEC_PER_SEC;
  }
  g_mutex_unlock(&guard->lock);
}
