/* Phones that were let in: a code that is used once, and a secret per device, of which only a hash
 * is kept. Every function may be called from any thread. */
#pragma once
#include "workbench/guard-private.h"
#include <jansson.h>

typedef struct LgPairing LgPairing;

enum { LG_PAIRING_LASTS_S = 120, LG_DEVICE_LASTS_S = 30 * 24 * 3600 /* since it was seen */ };

/* `path`: where the devices are remembered from one start to the next (see lg_kept_path); NULL:
 * nowhere. */
LgPairing *lg_pairing_new(const char *path);
void lg_pairing_free(LgPairing *pairing);

/* The port at which the remembered devices know the program; 0: none is known. */
guint lg_pairing_port(LgPairing *pairing);
/* From now on it is this one; before there are threads. */
void lg_pairing_set_port(LgPairing *pairing, guint port);

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

/* The file for the devices of the job at this path, in the user's folder for states. Newly
 * allocated. */
char *lg_kept_path(const char *job);
/* NULL when there is none, or others than the user may read or write it. */
json_t *lg_kept_read(const char *path);
/* In one piece, readable for the user alone; a failure is said on stderr. */
void lg_kept_write(const char *path, const json_t *kept);

/* `text` as a QR symbol (ISO/IEC 18004, level M), one SVG element. Newly allocated. */
char *lg_pairing_qr(const char *text);
