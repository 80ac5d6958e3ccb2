/* Pictures against files made here byte by byte, by the JFIF, Exif 2.3 and PNG layouts (from
 * memory), with gdk-pixbuf to look at what comes out. */
#include "base/picture.h"
#include <gdk-pixbuf/gdk-pixbuf.h>
#include <glib/gstdio.h>
#include <string.h>
#include <unistd.h>

static char *folder;

static void save(const char *name, const void *data, gsize size)
{
  g_autofree char *path = g_build_filename(folder, name, NULL);
  g_assert_true(g_file_set_contents(path, data, (gssize)size, NULL));
}

/* Left half red, right half blue, the top quarter white: each turning shows. */
static GdkPixbuf *pattern(int width, int height)
{
  GdkPixbuf *const pixels = gdk_pixbuf_new(GDK_COLORSPACE_RGB, FALSE, 8, width, height);
  guchar *const data = gdk_pixbuf_get_pixels(pixels);
  for (int y = 0; y < height; y++)
    for (int x = 0; x < width; x++) {
      guchar *const p = data + y * gdk_pixbuf_get_rowstride(pixels) + 3 * x;
      const gboolean white = y < height / 4, left = x < width / 2;
      p[0] = white || left ? 255 : 0;
      p[1] = white ? 255 : 0;
      p[2] = white || !left ? 255 : 0;
    }
  return pixels;
}

static GByteArray *encoded(const char *kind, int width, int height)
{
  g_autoptr(GdkPixbuf) pixels = pattern(width, height);
  char *data;
  gsize size;
  g_assert_true(gdk_pixbuf_save_to_buffer(pixels, &data, &size, kind, NULL, NULL));
  GByteArray *const bytes = g_byte_array_new();
  g_byte_array_append(bytes, (guchar *)data, (guint)size);
  g_free(data);
  return bytes;
}

/* An APP1 segment: TIFF header, IFD0 with maker, orientation and a pointer to a GPS IFD with a
 * latitude; then a comment segment. */
static void add_exif(GByteArray *jpeg, int orientation)
{
  guint8 app1[] = {0xff,
                   0xe1,
                   0,
                   0,
                   'E',
                   'x',
                   'i',
                   'f',
                   0,
                   0,
                   'M',
                   'M',
                   0,
                   42,
                   0,
                   0,
                   0,
                   8,
                   /* IFD0 */ 0,
                   3,
                   0x01,
                   0x0f,
                   0,
                   2,
                   0,
                   0,
                   0,
                   8,
                   0,
                   0,
                   0,
                   50,
                   0x01,
                   0x12,
                   0,
                   3,
                   0,
                   0,
                   0,
                   1,
                   0,
                   6,
                   0,
                   0,
                   0x88,
                   0x25,
                   0,
                   4,
                   0,
                   0,
                   0,
                   1,
                   0,
                   0,
                   0,
                   58,
                   0,
                   0,
                   0,
                   0,
                   'C',
                   'A',
                   'M',
                   '-',
                   'X',
                   'Y',
                   'Z',
                   0,
                   /* GPS */ 0,
                   1,
                   0,
                   1,
                   0,
                   2,
                   0,
                   0,
                   0,
                   2,
                   'N',
                   0,
                   0,
                   0,
                   0,
                   0,
                   0,
                   0};
  static const guint8 comment[] = {0xff, 0xfe, 0,   14,  'M', 'i', 'l', 'l',
                                   ' ',  'L',  'a', 'n', 'e', '7', 0,   0};
  app1[2] = (guint8)((sizeof app1 - 2) >> 8);
  app1[3] = (guint8)(sizeof app1 - 2);
  guint8 *const at = memchr(app1 + 30, 0x12, 20);
  g_assert_nonnull(at);
  at[8] = (guint8)orientation;
  g_autoptr(GByteArray) all = g_byte_array_new();
  g_byte_array_append(all, jpeg->data, 2);
  g_byte_array_append(all, app1, sizeof app1);
  g_byte_array_append(all, comment, sizeof comment);
  g_byte_array_append(all, jpeg->data + 2, jpeg->len - 2);
  g_byte_array_set_size(jpeg, 0);
  g_byte_array_append(jpeg, all->data, all->len);
}

static gboolean holds(GBytes *bytes, const char *word)
{
  gsize size;
  const char *const data = g_bytes_get_data(bytes, &size);
  return memmem(data, size, word, strlen(word)) != NULL;
}

static GdkPixbuf *look(const LgPicture *picture)
{
  g_autoptr(GdkPixbufLoader) loader = gdk_pixbuf_loader_new();
  g_assert_true(gdk_pixbuf_loader_write_bytes(loader, picture->jpeg, NULL));
  g_assert_true(gdk_pixbuf_loader_close(loader, NULL));
  return g_object_ref(gdk_pixbuf_loader_get_pixbuf(loader));
}

/* 'w', 'r' or 'b' at a place given in tenths. */
static char colour_at(GdkPixbuf *pixels, int x_tenths, int y_tenths)
{
  const int x = gdk_pixbuf_get_width(pixels) * x_tenths / 10,
            y = gdk_pixbuf_get_height(pixels) * y_tenths / 10;
  const guchar *const p = gdk_pixbuf_read_pixels(pixels) + y * gdk_pixbuf_get_rowstride(pixels) +
                          x * gdk_pixbuf_get_n_channels(pixels);
  return p[1] > 128 ? 'w' : p[0] > p[2] ? 'r' : 'b';
}

static void test_nothing_but_pixels(void)
{
  g_autoptr(GByteArray) jpeg = encoded("jpeg", 400, 200);
  add_exif(jpeg, 1);
  save("face.jpg", jpeg->data, jpeg->len);
  g_autoptr(GError) error = NULL;
  g_autoptr(LgPicture) picture = lg_picture_read(folder, "face.jpg", &error);
  g_assert_no_error(error);
  g_assert_true(lg_picture_look(folder, "face.jpg", NULL));
  static const char *const words[] = {"Exif", "CAM-XYZ", "Mill Lane", "\xff\xe1", "\xff\xfe"};
  g_autoptr(GBytes) before = g_bytes_new(jpeg->data, jpeg->len);
  for (gsize i = 0; i < G_N_ELEMENTS(words); i++) {
    g_assert_true(holds(before, words[i]));
    g_assert_false(holds(picture->jpeg, words[i]));
  }
  const guint8 *const data = g_bytes_get_data(picture->jpeg, NULL);
  g_assert_true(data[2] == 0xff && data[3] == 0xe0); /* JFIF, then tables */
}

/* Where the white top of the pattern lies after turning, and the red side. Exif 2.3, tag 0x0112. */
static void test_upright(void)
{
  static const struct {
    int orientation;
    gboolean turned;
    const char *white, *red; /* place in tenths, x and y */
  } cases[] = {{1, FALSE, "51", "28"}, {3, FALSE, "58", "82"}, {6, TRUE, "85", "22"},
               {8, TRUE, "15", "58"},  {2, FALSE, "51", "88"}, {5, TRUE, "15", "52"}};
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++)
    for (int large = 0; large < 2; large++) {
      g_autoptr(GByteArray) jpeg = encoded("jpeg", large ? 3000 : 300, large ? 2000 : 200);
      add_exif(jpeg, cases[i].orientation);
      save("turned.jpg", jpeg->data, jpeg->len);
      g_autoptr(LgPicture) picture = lg_picture_read(folder, "turned.jpg", NULL);
      g_assert_nonnull(picture);
      const int wide = large ? 1200 : 300, high = large ? 800 : 200;
      g_assert_cmpint(picture->width, ==, cases[i].turned ? high : wide);
      g_assert_cmpint(picture->height, ==, cases[i].turned ? wide : high);
      g_autoptr(GdkPixbuf) pixels = look(picture);
      g_assert_cmpint(gdk_pixbuf_get_width(pixels), ==, picture->width);
      g_assert_cmpint(colour_at(pixels, cases[i].white[0] - '0', cases[i].white[1] - '0'), ==, 'w');
      if (cases[i].orientation != 5)
        g_assert_cmpint(colour_at(pixels, cases[i].red[0] - '0', cases[i].red[1] - '0'), ==, 'r');
    }
}

static void test_png(void)
{
  g_autoptr(GByteArray) png = encoded("png", 60, 40);
  save("face.png", png->data, png->len);
  g_autoptr(LgPicture) picture = lg_picture_read(folder, "face.png", NULL);
  g_assert_nonnull(picture);
  g_autoptr(GdkPixbuf) clear = gdk_pixbuf_new(GDK_COLORSPACE_RGB, TRUE, 8, 50, 50);
  gdk_pixbuf_fill(clear, 0xff000000);
  g_autofree char *path = g_build_filename(folder, "clear.png", NULL);
  g_assert_true(gdk_pixbuf_save(clear, path, "png", NULL, NULL));
  g_autoptr(LgPicture) white = lg_picture_read(folder, "clear.png", NULL);
  g_autoptr(GdkPixbuf) pixels = look(white);
  g_assert_cmpint(colour_at(pixels, 5, 5), ==, 'w');
}

static void check_refused(const char *name, const char *why, gboolean by_head)
{
  g_autoptr(GError) error = NULL, looked = NULL;
  g_assert_null(lg_picture_read(folder, name, &error));
  g_assert_nonnull(error);
  if (strstr(error->message, why) == NULL)
    g_error("%s: %s", name, error->message);
  g_assert_true(lg_picture_look(folder, name, &looked) != by_head);
  g_assert_true(!by_head || strstr(looked->message, why) != NULL);
}

static void put_be32(guint8 *at, guint32 value)
{
  const guint32 big = GUINT32_TO_BE(value);
  memcpy(at, &big, 4);
}

static void test_refused(void)
{
  g_autoptr(GByteArray) jpeg = encoded("jpeg", 300, 200), png = encoded("png", 30, 20);
  save("half.jpg", jpeg->data, jpeg->len / 2);
  save("half.png", png->data, png->len / 2);
  /* Whole to the eye, but its tables of codes are not. */
  g_autoptr(GByteArray) noise = encoded("jpeg", 300, 200);
  for (guint i = 2; i + 9 < noise->len; i += 2u + noise->data[i + 2] * 256u + noise->data[i + 3])
    if (noise->data[i + 1] == 0xc4)
      memset(noise->data + i + 5, 0xee, 16);
    else if (noise->data[i + 1] == 0xda)
      break;
  save("noise.jpg", noise->data, noise->len);
  save("empty.jpg", "", 0);
  save("text.jpg", "hello", 5);
  save("head.jpg", jpeg->data, 8);
  /* A few bytes that ask for 30000 x 30000 pixels: JPEG by its SOF0, PNG by its IHDR with the CRC
   * that belongs to it (reckoned with the polynomial of the PNG standard). */
  for (guint i = 2; i + 9 < jpeg->len; i += 2u + jpeg->data[i + 2] * 256u + jpeg->data[i + 3])
    if (jpeg->data[i + 1] == 0xc0) {
      memcpy(jpeg->data + i + 5, "\x75\x30\x75\x30", 4);
      break;
    }
  save("bomb.jpg", jpeg->data, jpeg->len);
  put_be32(png->data + 16, 30000);
  put_be32(png->data + 20, 30000);
  guint32 crc = 0xffffffff;
  for (int i = 12; i < 29; i++) {
    crc ^= png->data[i];
    for (int bit = 0; bit < 8; bit++)
      crc = crc >> 1 ^ (crc & 1 ? 0xedb88320 : 0);
  }
  put_be32(png->data + 29, ~crc);
  save("bomb.png", png->data, png->len);
  check_refused("none.jpg", "no such file", TRUE);
  check_refused("half.jpg", "damaged", TRUE);
  check_refused("half.png", "damaged", TRUE);
  check_refused("noise.jpg", "damaged", FALSE);
  check_refused("empty.jpg", "no JPEG or PNG", TRUE);
  check_refused("text.jpg", "no JPEG or PNG", TRUE);
  check_refused("head.jpg", "damaged", TRUE);
  check_refused("bomb.jpg", "30000 x 30000 pixels", TRUE);
  check_refused("bomb.png", "30000 x 30000 pixels", TRUE);
}

static void test_stays_in_folder(void)
{
  static const char *const good[] = {"a.jpg", "photos/a.jpg", "..a.jpg"},
                           *const bad[] = {"",        "/etc/a.jpg", "../a.jpg", "a/../../b.jpg",
                                           "./a.jpg", "a//b",       "a/"};
  for (gsize i = 0; i < G_N_ELEMENTS(good); i++)
    g_assert_true(lg_picture_name_fits(good[i]));
  for (gsize i = 0; i < G_N_ELEMENTS(bad); i++) {
    g_assert_false(lg_picture_name_fits(bad[i]));
    check_refused(bad[i], "out of the sheet's folder", TRUE);
  }
  g_autofree char *outside = g_build_filename(folder, "outside.jpg", NULL),
                  *link = g_build_filename(folder, "in", "link.jpg", NULL),
                  *in = g_build_filename(folder, "in", NULL),
                  *way = g_build_filename(folder, "in", "way", NULL);
  g_autoptr(GByteArray) jpeg = encoded("jpeg", 30, 20);
  save("outside.jpg", jpeg->data, jpeg->len);
  g_assert_cmpint(g_mkdir(in, 0700), ==, 0);
  g_assert_cmpint(symlink(outside, link), ==, 0);
  g_assert_cmpint(symlink(folder, way), ==, 0);
  check_refused("in/link.jpg", "link", TRUE);
  check_refused("in/way/outside.jpg", "link", TRUE);
  check_refused("in", "no ordinary file", TRUE);
  g_remove(link);
  g_remove(way);
  g_remove(in);
}

static void remove_folder(void)
{
  g_autoptr(GDir) dir = g_dir_open(folder, 0, NULL);
  for (const char *name; (name = g_dir_read_name(dir)) != NULL;) {
    g_autofree char *path = g_build_filename(folder, name, NULL);
    g_remove(path);
  }
  g_rmdir(folder);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  folder = g_dir_make_tmp("picture-XXXXXX", NULL);
  g_test_add_func("/picture/nothing-but-pixels", test_nothing_but_pixels);
  g_test_add_func("/picture/upright", test_upright);
  g_test_add_func("/picture/png", test_png);
  g_test_add_func("/picture/refused", test_refused);
  g_test_add_func("/picture/stays-in-folder", test_stays_in_folder);
  const int status = g_test_run();
  remove_folder();
  g_free(folder);
  return status;
}
