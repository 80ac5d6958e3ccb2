/* Phones that were let in: a code that is used once, and a secret per device. Every function may be
 * called from any thread. */
#pragma once
#include "workbench/guard-private.h"
#include <jansson.h>

typedef struct LgPairing LgPairing;

enum { LG_PAIRING_LASTS_S = 120 };

LgPairing *lg_pairing_new(void);
void lg_pairing_free(LgPairing *pairing);

/* A new code of six digits in place of the one before. Newly allocated. */
char *lg_pairing_begin(LgPairing *pairing);
/* Takes the code away: the device's secret (newly allocated), or NULL when it is not, or no longer,
 * the code. Wrong codes take it away, too, after a few. `name` is what the device calls itself. */
char *lg_pairing_join(LgPairing *pairing, const char *code, const char *name);

/* The device with this secret, noting that it was seen; 0: none. */
guint lg_pairing_device(LgPairing *pairing, const char *secret);
/* [{"id", "name", "joined", "seen"}], times as ISO 8601. */
json_t *lg_pairing_devices(LgPairing *pairing);
/* FALSE when there is no such device. */
gboolean lg_pairing_revoke(LgPairing *pairing, guint id);

/* `text` as a QR symbol (ISO/IEC 18004, level M), one SVG element. Newly allocated. */
char *lg_pairing_qr(const char *text);
