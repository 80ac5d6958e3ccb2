/* Pictures from files that strangers may have made: read with bounds, turned upright, made small,
 * and encoded anew, so that nothing but the pixels comes through: no place, camera, time or
 * thumbnail. */
#pragma once
#include <glib.h>

G_BEGIN_DECLS

/* A longer side is scaled down to this. */
#define LG_PICTURE_LONG_SIDE 1200
/* Beyond these a picture is refused before it is decoded. */
#define LG_PICTURE_MOST_PIXELS 64000000
#define LG_PICTURE_MOST_BYTES ((gsize)64 << 20)

typedef struct {
  GBytes *jpeg; /* JFIF, without EXIF, comments or colour profile */
  int width, height;
} LgPicture;

#define LG_PICTURE_ERROR (lg_picture_error_quark())
GQuark lg_picture_error_quark(void);

/* Whether a name stays in its folder: relative, no empty part, no `.` or `..`. */
gboolean lg_picture_name_fits(const char *name);

/* Reads a JPEG or PNG below `folder`; no link is followed. Upright by its embedded orientation,
 * what is see-through becomes white, quality 82. NULL with a reason in plain words ("there is no
 * such file in the sheet's folder"). Equal files give equal bytes. */
LgPicture *lg_picture_read(const char *folder, const char *name, GError **error);
void lg_picture_free(LgPicture *picture);

/* FALSE with the reason when the file cannot be read as a picture, by its structure alone: quick,
 * nothing is decoded. */
gboolean lg_picture_look(const char *folder, const char *name, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgPicture, lg_picture_free)
G_END_DECLS
