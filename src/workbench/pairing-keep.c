/* The phones of a job on disk, so that they need not join anew when the program starts again. */
#include "workbench/pairing-private.h"
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

enum { MOST_BYTES = 65536, OWNER_ONLY = 0600 };

static char *state_folder(void)
{
  const char *const wanted = g_getenv("XDG_STATE_HOME");
  if (wanted != NULL && g_path_is_absolute(wanted))
    return g_build_filename(wanted, "loomgraft", NULL);
  return g_build_filename(g_get_home_dir(), ".local", "state", "loomgraft", NULL);
}

char *lg_kept_path(const char *job)
{
  char *const real = realpath(job, NULL);
  g_autofree char *whole = g_canonicalize_filename(real != NULL ? real : job, NULL);
  free(real);
  g_autofree char *mark = g_compute_checksum_for_string(G_CHECKSUM_SHA256, whole, -1);
  g_autofree char *folder = state_folder();
  g_autofree char *name = g_strdup_printf("phones-%.32s.json", mark);
  return g_build_filename(folder, name, NULL);
}

/* What others could have written or read opens nothing. */
static gboolean is_ours_alone(int fd)
{
  struct stat about;
  return fstat(fd, &about) == 0 && S_ISREG(about.st_mode) && about.st_uid == geteuid() &&
         (about.st_mode & 077) == 0 && about.st_size <= MOST_BYTES;
}

json_t *lg_kept_read(const char *path)
{
  const int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
  if (fd < 0)
    return NULL;
  json_t *const kept = is_ours_alone(fd) ? json_loadfd(fd, JSON_REJECT_DUPLICATES, NULL) : NULL;
  close(fd);
  return kept;
}

void lg_kept_write(const char *path, const json_t *kept)
{
  g_autofree char *folder = g_path_get_dirname(path);
  char *const text = json_dumps(kept, JSON_INDENT(1));
  g_autoptr(GError) error = NULL;
  if (g_mkdir_with_parents(folder, 0700) != 0)
    g_set_error_literal(&error, G_FILE_ERROR, G_FILE_ERROR_FAILED, g_strerror(errno));
  else
    g_file_set_contents_full(path, text, -1, G_FILE_SET_CONTENTS_CONSISTENT, OWNER_ONLY, &error);
  if (error != NULL) /* the phones still work; they will have to join anew */
    g_printerr("The phones cannot be remembered: %s: %s\n", path, error->message);
  free(text);
}
