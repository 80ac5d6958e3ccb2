#include "base/picture.h"
#include "base/words.h"
#include <errno.h>
#include <fcntl.h>
#include <gdk-pixbuf/gdk-pixbuf.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* A file may ask for many passes over many pixels. */
#define MOST_SECONDS 20
#define CHUNK ((gsize)64 << 10)

GQuark lg_picture_error_quark(void)
{
  return g_quark_from_static_string("lg-picture-error");
}

static gboolean refuse(GError **error, const char *why)
{
  g_set_error_literal(error, LG_PICTURE_ERROR, 0, why);
  return FALSE;
}

gboolean lg_picture_name_fits(const char *name)
{
  g_auto(GStrv) parts = g_strsplit(name, "/", -1);
  for (int i = 0; parts[i] != NULL; i++)
    if (parts[i][0] == '\0' || strcmp(parts[i], ".") == 0 || strcmp(parts[i], "..") == 0)
      return FALSE;
  return parts[0] != NULL;
}

static gboolean refuse_open(GError **error, int number)
{
  if (number == ENOENT)
    return refuse(error, T_("there is no such file in the sheet's folder"));
  if (number == ELOOP || number == ENOTDIR)
    return refuse(error, T_("a link leads to it; put the photo itself into the sheet's folder"));
  if (number == EACCES)
    return refuse(error, T_("the file may not be read"));
  return refuse(error, g_strerror(number));
}

/* Part by part, so that no link leads out of the folder; a pipe does not make it wait. */
static int open_below(const char *folder, const char *name, GError **error)
{
  if (!lg_picture_name_fits(name)) {
    refuse(error, T_("its name leads out of the sheet's folder"));
    return -1;
  }
  g_auto(GStrv) parts = g_strsplit(name, "/", -1);
  int at = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  for (int i = 0; at >= 0 && parts[i] != NULL; i++) {
    const int kind = parts[i + 1] != NULL ? O_DIRECTORY : O_NONBLOCK;
    const int next = openat(at, parts[i], O_RDONLY | O_CLOEXEC | O_NOFOLLOW | kind);
    const int number = errno;
    close(at);
    errno = number;
    at = next;
  }
  if (at < 0)
    refuse_open(error, errno);
  return at;
}

static GBytes *read_all(int file, GError **error)
{
  g_autoptr(GByteArray) bytes = g_byte_array_new();
  guint8 *const chunk = g_malloc(CHUNK);
  gssize n = 0;
  while (bytes->len < LG_PICTURE_MOST_BYTES && (n = read(file, chunk, CHUNK)) > 0)
    g_byte_array_append(bytes, chunk, (guint)n);
  g_free(chunk);
  if (n < 0) {
    refuse(error, g_strerror(errno));
    return NULL;
  }
  return g_byte_array_free_to_bytes(g_steal_pointer(&bytes));
}

static GBytes *bytes_of(const char *folder, const char *name, GError **error)
{
  const int file = open_below(folder, name, error);
  if (file < 0)
    return NULL;
  struct stat about;
  GBytes *bytes = NULL;
  if (fstat(file, &about) != 0 || !S_ISREG(about.st_mode))
    refuse(error, T_("it is no ordinary file"));
  else if (about.st_size > (off_t)LG_PICTURE_MOST_BYTES)
    refuse(error, T_("the file is larger than 64 MB; save it smaller"));
  else
    bytes = read_all(file, error);
  close(file);
  return bytes;
}

/* What a file says of itself, read from its own structure before anything is decoded. */
typedef struct {
  const char *kind;  /* NULL: neither JPEG nor PNG; other kinds bring more code, and some of them
                        read further files */
  int width, height; /* as they stand in the file; 0: not told */
  gboolean whole;    /* its end is there */
} Head;

static int be16(const guint8 *at)
{
  return at[0] << 8 | at[1];
}

/* Markers in order; in the coded pixels 0xff stands only before 0x00 and restart marks. */
static void walk_jpeg(Head *head, const guint8 *data, gsize size)
{
  for (gsize at = 2; at + 2 <= size;) {
    if (data[at] != 0xff || data[at + 1] == 0 || data[at + 1] == 0xff ||
        (data[at + 1] >= 0xd0 && data[at + 1] <= 0xd7)) {
      at++;
      continue;
    }
    const guint8 mark = data[at + 1];
    head->whole = mark == 0xd9;
    if (head->whole || at + 4 > size)
      return;
    const gboolean frame =
        mark >= 0xc0 && mark <= 0xcf && mark != 0xc4 && mark != 0xc8 && mark != 0xcc;
    if (frame && at + 9 <= size) {
      head->height = be16(data + at + 5);
      head->width = be16(data + at + 7);
    }
    at += 2 + (gsize)be16(data + at + 2);
  }
}

static guint32 be32(const guint8 *at)
{
  return (guint32)at[0] << 24 | (guint32)at[1] << 16 | (guint32)at[2] << 8 | at[3];
}

static void walk_png(Head *head, const guint8 *data, gsize size)
{
  for (gsize at = 8; at + 12 <= size; at += 12 + (gsize)be32(data + at)) {
    if (memcmp(data + at + 4, "IHDR", 4) == 0 && at + 16 <= size) {
      head->width = (int)MIN(be32(data + at + 8), G_MAXINT);
      head->height = (int)MIN(be32(data + at + 12), G_MAXINT);
    }
    head->whole = memcmp(data + at + 4, "IEND", 4) == 0;
    if (head->whole)
      return;
  }
}

static Head head_of(GBytes *bytes)
{
  static const guint8 png[] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'};
  gsize size;
  const guint8 *const data = g_bytes_get_data(bytes, &size);
  Head head = {0};
  if (size >= 3 && data[0] == 0xff && data[1] == 0xd8 && data[2] == 0xff) {
    head.kind = "jpeg";
    walk_jpeg(&head, data, size);
  } else if (size >= sizeof png && memcmp(data, png, sizeof png) == 0) {
    head.kind = "png";
    walk_png(&head, data, size);
  }
  return head;
}

static gboolean refuse_damaged(GError **error)
{
  return refuse(error, T_("its content is damaged, or it was not copied whole"));
}

static gboolean is_good(const Head *head, GError **error)
{
  if (head->kind == NULL)
    return refuse(error, T_("it is no JPEG or PNG; save it as one"));
  if ((gint64)head->width * head->height > LG_PICTURE_MOST_PIXELS) {
    g_autofree char *why =
        g_strdup_printf(T_("it has %d x %d pixels, more than 64 million; save it smaller"),
                        head->width, head->height);
    return refuse(error, why);
  }
  return (head->whole && head->width > 0 && head->height > 0) || refuse_damaged(error);
}

/* The loader's own idea of the size is what it will fill. */
static void size_told(GdkPixbufLoader *loader, int width, int height, gpointer user)
{
  const Head *const head = user;
  const int side = MAX(width, height);
  if (width != head->width || height != head->height)
    gdk_pixbuf_loader_set_size(loader, 0, 0); /* which ends the loading */
  else if (side > LG_PICTURE_LONG_SIDE)
    gdk_pixbuf_loader_set_size(loader, MAX(1, width * LG_PICTURE_LONG_SIDE / side),
                               MAX(1, height * LG_PICTURE_LONG_SIDE / side));
}

static gboolean feed(GdkPixbufLoader *loader, GBytes *bytes)
{
  const gint64 end = g_get_monotonic_time() + MOST_SECONDS * G_USEC_PER_SEC;
  gsize size;
  const guint8 *const data = g_bytes_get_data(bytes, &size);
  for (gsize at = 0; at < size; at += CHUNK)
    if (g_get_monotonic_time() > end ||
        !gdk_pixbuf_loader_write(loader, data + at, MIN(CHUNK, size - at), NULL))
      return FALSE;
  return TRUE;
}

static GdkPixbuf *decode(GBytes *bytes, GError **error)
{
  Head head = head_of(bytes);
  if (!is_good(&head, error))
    return NULL;
  g_autoptr(GdkPixbufLoader) loader = gdk_pixbuf_loader_new_with_type(head.kind, error);
  if (loader == NULL)
    return NULL;
  g_signal_connect(loader, "size-prepared", G_CALLBACK(size_told), &head);
  const gboolean fed = feed(loader, bytes), closed = gdk_pixbuf_loader_close(loader, NULL);
  GdkPixbuf *const pixels = fed && closed ? gdk_pixbuf_loader_get_pixbuf(loader) : NULL;
  if (pixels == NULL)
    refuse_damaged(error);
  return pixels != NULL ? gdk_pixbuf_apply_embedded_orientation(pixels) : NULL;
}

static LgPicture *encode(GdkPixbuf *pixels, GError **error)
{
  const int width = gdk_pixbuf_get_width(pixels), height = gdk_pixbuf_get_height(pixels);
  g_autoptr(GdkPixbuf) opaque =
      gdk_pixbuf_get_has_alpha(pixels)
          ? gdk_pixbuf_composite_color_simple(pixels, width, height, GDK_INTERP_NEAREST, 255, 8,
                                              0xffffff, 0xffffff)
          : g_object_ref(pixels);
  char *data;
  gsize size;
  g_autoptr(GError) failed = NULL;
  if (opaque == NULL ||
      !gdk_pixbuf_save_to_buffer(opaque, &data, &size, "jpeg", &failed, "quality", "82", NULL)) {
    refuse(error, failed != NULL ? failed->message : T_("there is not enough memory for it"));
    return NULL;
  }
  LgPicture *const picture = g_new(LgPicture, 1);
  *picture = (LgPicture){g_bytes_new_take(data, size), width, height};
  return picture;
}

LgPicture *lg_picture_read(const char *folder, const char *name, GError **error)
{
  g_autoptr(GBytes) bytes = bytes_of(folder, name, error);
  g_autoptr(GdkPixbuf) pixels = bytes != NULL ? decode(bytes, error) : NULL;
  return pixels != NULL ? encode(pixels, error) : NULL;
}

void lg_picture_free(LgPicture *picture)
{
  if (picture == NULL)
    return;
  g_bytes_unref(picture->jpeg);
  g_free(picture);
}

gboolean lg_picture_look(const char *folder, const char *name, GError **error)
{
  g_autoptr(GBytes) bytes = bytes_of(folder, name, error);
  if (bytes == NULL)
    return FALSE;
  const Head head = head_of(bytes);
  return is_good(&head, error);
}
