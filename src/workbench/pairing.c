#include "workbench/pairing-private.h"
#include <qrencode.h>

enum { CODE_DIGITS = 6, MOST_WRONG = 5, MOST_DEVICES = 32, MOST_NAME = 60, QUIET = 4 };

typedef struct {
  guint id;
  char *secret, *name;
  gint64 joined_s, seen_s; /* since 1970 */
} Device;

struct LgPairing {
  GMutex lock;
  char *code; /* NULL: none is open */
  gint64 until_us;
  guint n_wrong;
  GPtrArray *devices;
  guint last_id;
};

static void device_free(gpointer data)
{
  Device *const device = data;
  g_free(device->secret);
  g_free(device->name);
  g_free(device);
}

LgPairing *lg_pairing_new(void)
{
  LgPairing *const pairing = g_new0(LgPairing, 1);
  g_mutex_init(&pairing->lock);
  pairing->devices = g_ptr_array_new_with_free_func(device_free);
  return pairing;
}

void lg_pairing_free(LgPairing *pairing)
{
  if (pairing == NULL)
    return;
  g_ptr_array_unref(pairing->devices);
  g_mutex_clear(&pairing->lock);
  g_free(pairing->code);
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

static const char *add_device(LgPairing *pairing, const char *name)
{
  Device *const device = g_new0(Device, 1);
  device->id = ++pairing->last_id;
  device->secret = lg_guard_secret();
  device->name = short_name(name);
  device->joined_s = device->seen_s = g_get_real_time() / G_USEC_PER_SEC;
  if (pairing->devices->len == MOST_DEVICES)
    g_ptr_array_remove_index(pairing->devices, 0);
  g_ptr_array_add(pairing->devices, device);
  return device->secret;
}

char *lg_pairing_join(LgPairing *pairing, const char *code, const char *name)
{
  char *secret = NULL;
  g_mutex_lock(&pairing->lock);
  if (g_get_monotonic_time() >= pairing->until_us)
    g_clear_pointer(&pairing->code, g_free);
  if (pairing->code != NULL && lg_guard_same(code, pairing->code)) {
    g_clear_pointer(&pairing->code, g_free);
    secret = g_strdup(add_device(pairing, name));
  } else if (++pairing->n_wrong >= MOST_WRONG) {
    g_clear_pointer(&pairing->code, g_free);
  }
  g_mutex_unlock(&pairing->lock);
  return secret;
}

guint lg_pairing_device(LgPairing *pairing, const char *secret)
{
  guint id = 0;
  g_mutex_lock(&pairing->lock);
  for (guint i = 0; i < pairing->devices->len; i++) {
    Device *const device = pairing->devices->pdata[i];
    if (lg_guard_same(secret, device->secret)) {
      id = device->id;
      device->seen_s = g_get_real_time() / G_USEC_PER_SEC;
    }
  }
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
