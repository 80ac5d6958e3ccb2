/* Who may ask: hosts, origins, secrets, and how often one may guess. Every function may be called
 * from any thread. */
#pragma once
#include <glib.h>

typedef struct LgGuard LgGuard;

/* What a request's head says, as it came; NULL where it says nothing. */
typedef struct {
  const char *method, *host, *origin, *site /* Sec-Fetch-Site */, *type, *mark /* X-Loomgraft */;
  guint n_hosts; /* Host headers; more than one is an attack */
} LgHeads;

LgGuard *lg_guard_new(void);
void lg_guard_free(LgGuard *guard);
/* A host that is ours: "127.0.0.1:4711". Only before there are threads. */
void lg_guard_add_host(LgGuard *guard, const char *host);

/* 0, or the HTTP status to refuse with, and what is wrong and what to do (static). */
guint lg_guard_refuses(const LgGuard *guard, const LgHeads *heads, const char **wrong,
                       const char **remedy);

/* 256 bits of the system's randomness, 43 characters that an address can carry. */
char *lg_guard_secret(void);
/* `n` decimal digits, each code as likely as another. */
char *lg_guard_code(guint n);
/* Takes the same time wherever the texts differ. */
gboolean lg_guard_same(const char *a, const char *b);

const char *lg_guard_key(const LgGuard *guard);    /* stands in the address */
const char *lg_guard_cookie(const LgGuard *guard); /* what the key is exchanged for */
/* A further key that opens once, within 30 s. Newly allocated. */
char *lg_guard_key_once(LgGuard *guard);
gboolean lg_guard_opens(LgGuard *guard, const char *key);

/* The value of the cookie `name` in a Cookie header, newly allocated, NULL when it is not there. */
char *lg_guard_cookie_of(const char *header, const char *name);

/* Seconds that `peer` (an address) must wait before it may try a secret or code again; 0: none. */
guint lg_guard_wait_s(LgGuard *guard, const char *peer);
/* A wrong secret or code: after a few the wait doubles each time, up to a minute. */
void lg_guard_wrong(LgGuard *guard, const char *peer);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgGuard, lg_guard_free)
