#include "workbench/pairing-private.h"
#include <qrencode.h>

enum {
  CODE_DIGITS = 6,
  MOST_WRONG = 5,
  MOST_DEVICES = 32,
  MOST_NAME = 60,
  QUIET = 4,
  NOTED_S = 24 * 3600, /* how often it is written down that a device was seen */
};

typedef struct {
  guint id;
  char *hash, *name;                /* SHA-256 of the secret: random enough to need no salt */
  gint64 joined_s, seen_s, noted_s; /* since 1970; `noted_s`: seen, as it is written down */
} Device;

struct LgPairing {
  GMutex lock;
  char *code; /* NULL: none is open */
  gint64 until_us;
  guint n_wrong;
  GPtrArray *devices;
  guint last_id, port;
  char *path; /* NULL: remembered nowhere */
};

static void device_free(gpointer data)
{
  Device *const device = data;
  g_free(device->hash);
  g_free(device->name);
  g_free(device);
}

/* --- remembering --- */

static gint64 now_s(void)
{
  return g_get_real_time() / G_USEC_PER_SEC;
}

static gboolean is_forgotten(const Device *device)
{
  return now_s() - device->seen_s > LG_DEVICE_LASTS_S;
}

static void add_kept(LgPairing *pairing, const json_t *value)
{
  const json_t *const hash = json_object_get(value, "hash"), *const name =
                                                                 json_object_get(value, "name");
  if (!json_is_string(hash) || !json_is_string(name) || pairing->devices->len == MOST_DEVICES)
    return;
  Device *const device = g_new0(Device, 1);
  device->id = ++pairing->last_id;
  device->hash = g_strdup(json_string_value(hash));
  device->name = g_strdup(json_string_value(name));
  device->joined_s = json_integer_value(json_object_get(value, "joined"));
  device->seen_s = device->noted_s = json_integer_value(json_object_get(value, "seen"));
  if (is_forgotten(device))
    device_free(device);
  else
    g_ptr_array_add(pairing->devices, device);
}

static void read_kept(LgPairing *pairing)
{
  json_t *const kept = lg_kept_read(pairing->path), *const devices =
                                                        json_object_get(kept, "devices");
  for (gsize i = 0; i < json_array_size(devices); i++)
    add_kept(pairing, json_array_get(devices, i));
  const json_int_t port = json_integer_value(json_object_get(kept, "port"));
  if (pairing->devices->len > 0 && port > 0 && port <= G_MAXUINT16)
    pairing->port = (guint)port;
  json_decref(kept);
}

/* With the lock held. */
static void keep(LgPairing *pairing)
{
  if (pairing->path == NULL)
    return;
  json_t *const devices = json_array();
  for (guint i = 0; i < pairing->devices->len; i++) {
    Device *const device = pairing->devices->pdata[i];
    device->noted_s = device->seen_s;
    json_array_append_new(devices, json_pack("{s:s, s:s, s:I, s:I}", "hash", device->hash, "name",
                                             device->name, "joined", (json_int_t)device->joined_s,
                                             "seen", (json_int_t)device->seen_s));
  }
  json_t *const kept = json_pack("{s:i, s:o}", "port", (int)pairing->port, "devices", devices);
  lg_kept_write(pairing->path, kept);
  json_decref(kept);
}

LgPairing *lg_pairing_new(const char *path)
{
  LgPairing *const pairing = g_new0(LgPairing, 1);
  g_mutex_init(&pairing->lock);
  pairing->devices = g_ptr_array_new_with_free_func(device_free);
  pairing->path = g_strdup(path);
  if (path != NULL)
    read_kept(pairing);
  return pairing;
}

guint lg_pairing_port(LgPairing *pairing)
{
  return pairing->port;
}

void lg_pairing_set_port(LgPairing *pairing, guint port)
{
  const gboolean other = pairing->port != port;
  pairing->port = port;
  if (other && pairing->devices->len > 0)
    keep(pairing);
}

/* --- devices --- */

void lg_pairing_free(LgPairing *pairing)
{
  if (pairing == NULL)
    return;
  g_ptr_array_unref(pairing->devices);
  g_mutex_clear(&pairing->lock);
  g_free(pairing->code);
  g_free(pairing->path);
  g_free(pairing);
}

char *lg_pairing_begin(LgPairing *pairing)
{
  char *const code = lg_guard_code(CODE_DIGITS);
  g_mutex_lock(&pairing->lock);
  g_free(pairing->code);
  pairing->code = g_strdup(code);
  pairing->until_us = g_get_monotonic_time() + LG_PAIRING_LASTS_S * G_USEC_PER_SEC;
  pairing->n_wrong = 0;
  g_mutex_unlock(&pairing->lock);
  return code;
}

static char *short_name(const char *name)
{
  g_autofree char *valid = g_utf8_make_valid(name, -1);
  g_autofree char *cut = g_utf8_substring(valid, 0, MIN(g_utf8_strlen(valid, -1), MOST_NAME));
  g_strstrip(cut);
  return g_strdup(cut[0] != '\0' ? cut : "phone");
}

static char *hash_of(const char *secret)
{
  return g_compute_checksum_for_string(G_CHECKSUM_SHA256, secret, -1);
}

static char *add_device(LgPairing *pairing, const char *name)
{
  char *const secret = lg_guard_secret();
  Device *const device = g_new0(Device, 1);
  device->id = ++pairing->last_id;
  device->hash = hash_of(secret);
  device->name = short_name(name);
  device->joined_s = device->seen_s = now_s();
  if (pairing->devices->len == MOST_DEVICES)
    g_ptr_array_remove_index(pairing->devices, 0);
  g_ptr_array_add(pairing->devices, device);
  keep(pairing);
  return secret;
}

char *lg_pairing_join(LgPairing *pairing, const char *code, const char *name)
{
  char *secret = NULL;
  g_mutex_lock(&pairing->lock);
  if (g_get_monotonic_time() >= pairing->until_us)
    g_clear_pointer(&pairing->code, g_free);
  if (pairing->code != NULL && lg_guard_same(code, pairing->code)) {
    g_clear_pointer(&pairing->code, g_free);
    secret = add_device(pairing, name);
  } else if (++pairing->n_wrong >= MOST_WRONG) {
    g_clear_pointer(&pairing->code, g_free);
  }
  g_mutex_unlock(&pairing->lock);
  return secret;
}

guint lg_pairing_device(LgPairing *pairing, const char *secret)
{
  guint id = 0;
  gboolean due = FALSE;
  g_autofree char *hash = hash_of(secret);
  g_mutex_lock(&pairing->lock);
  for (guint i = 0; i < pairing->devices->len; i++) {
    Device *const device = pairing->devices->pdata[i];
    if (lg_guard_same(hash, device->hash) && !is_forgotten(device)) {
      id = device->id;
      device->seen_s = now_s();
      due = device->seen_s - device->noted_s > NOTED_S;
    }
  }
  if (due)
    keep(pairing);
  g_mutex_unlock(&pairing->lock);
  return id;
}

static json_t *time_json(gint64 unix_s)
{
  g_autoptr(GDateTime) time = g_date_time_new_from_unix_utc(unix_s);
  g_autofree char *text = g_date_time_format_iso8601(time);
  return json_string(text);
}

json_t *lg_pairing_devices(LgPairing *pairing)
{
  json_t *const list = json_array();
  g_mutex_lock(&pairing->lock);
  for (guint i = 0; i < pairing->devices->len; i++) {
    const Device *const device = pairing->devices->pdata[i];
    json_array_append_new(list, json_pack("{s:i, s:s, s:o, s:o}", "id", (int)device->id, "name",
                                          device->name, "joined", time_json(device->joined_s),
                                          "seen", time_json(device->seen_s)));
  }
  g_mutex_unlock(&pairing->lock);
  return list;
}

gboolean lg_pairing_revoke(LgPairing *pairing, guint id)
{
  gboolean gone = FALSE;
  g_mutex_lock(&pairing->lock);
  for (guint i = 0; i < pairing->devices->len && !gone; i++)
    if (((const Device *)pairing->devices->pdata[i])->id == id) {
      g_ptr_array_remove_index(pairing->devices, i);
      gone = TRUE;
    }
  if (gone)
    keep(pairing);
  g_mutex_unlock(&pairing->lock);
  return gone;
}

char *lg_pairing_qr(const char *text)
{
  QRcode *const code = QRcode_encodeString8bit(text, 0, QR_ECLEVEL_M);
  g_return_val_if_fail(code != NULL, g_strdup(""));
  const int width = code->width, whole = width + 2 * QUIET;
  GString *const svg = g_string_new(NULL);
  g_string_append_printf(
      svg,
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %d %d\" "
      "shape-rendering=\"crispEdges\"><path fill=\"#fff\" d=\"M0 0h%dv%dh-%dz\"/>"
      "<path fill=\"#000\" d=\"",
      whole, whole, whole, whole, whole);
  for (int y = 0; y < width; y++)
    for (int x = 0; x < width; x++)
      if (code->data[y * width + x] & 1)
        g_string_append_printf(svg, "M%d %dh1v1h-1z", x + QUIET, y + QUIET);
  g_string_append(svg, "\"/></svg>");
  QRcode_free(code);
  return g_string_free(svg, FALSE);
}
