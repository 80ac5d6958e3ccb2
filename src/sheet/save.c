#include "sheet/sheet.h"
#include <errno.h>
#include <glib/gstdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

static gboolean refuse(GError **error, const char *path, int number, const char *advice)
{
  g_set_error(error, G_FILE_ERROR, (int)g_file_error_from_errno(number), "%s was not saved: %s; %s",
              path, g_strerror(number), advice);
  return FALSE;
}

/* Replacing a file needs no right to write it, so that right is asked for before. */
static gboolean may_replace(const char *path, const struct stat *about, GError **error)
{
  if (!S_ISREG(about->st_mode))
    return refuse(error, path, S_ISDIR(about->st_mode) ? EISDIR : EINVAL,
                  "name an ordinary file to save to");
  if (access(path, W_OK) != 0)
    return refuse(error, path, errno, "save under another name, or make the file writable");
  return TRUE;
}

static gboolean write_file(const char *path, GBytes *bytes, int mode, GError **error)
{
  gsize length;
  g_autoptr(GError) failed = NULL;
  const char *const data = g_bytes_get_data(bytes, &length);
  if (g_file_set_contents_full(path, length == 0 ? "" : data, (gssize)length,
                               G_FILE_SET_CONTENTS_CONSISTENT | G_FILE_SET_CONTENTS_DURABLE, mode,
                               &failed))
    return TRUE;
  g_set_error(error, failed->domain, failed->code,
              "%s was not saved, the file is as it was: %s; free some space, or save elsewhere",
              path, failed->message);
  return FALSE;
}

gboolean lg_save(const char *path, GBytes *bytes, GError **error)
{
  struct stat about;
  /* The file behind a link is replaced, not the link. */
  char *const real = realpath(path, NULL);
  const char *const target = real == NULL ? path : real;
  const gboolean there = stat(target, &about) == 0;
  gboolean good = !there || may_replace(target, &about, error);
  good = good && write_file(target, bytes, there ? (int)(about.st_mode & 07777) : 0666, error);
  if (good && there && chmod(target, about.st_mode & 07777) != 0)
    good = refuse(error, target, errno, "its content is new, its permissions are not as they were");
  free(real);
  return good;
}
