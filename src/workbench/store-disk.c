/* The file itself: read, replaced as a whole, watched. */
#include "workbench/store-private.h"
#include <errno.h>
#include <fcntl.h>
#include <gio/gio.h>
#include <glib/gstdio.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* As the engine's own limit of a sheet. */
#define MOST_BYTES ((goffset)256 << 20)

/* The file behind a link is replaced, not the link. A file that is not there yet stands where the
 * path says. */
static char *find_target(const char *path)
{
  char *const real = realpath(path, NULL);
  char *const target = real != NULL ? g_strdup(real) : g_canonicalize_filename(path, NULL);
  free(real);
  return target;
}

/* ".seat.job." before the number of the process. */
static char *temporary_begin(const char *target)
{
  g_autofree char *base = g_path_get_basename(target);
  return g_strdup_printf(".%s.", base);
}

void lg_disk_init(LgPlaceOnDisk *disk, const char *path)
{
  disk->target = find_target(path);
  disk->folder = g_path_get_dirname(disk->target);
  g_autofree char *begin = temporary_begin(disk->target);
  g_autofree char *name = g_strdup_printf("%s%ld.new", begin, (long)getpid());
  disk->temporary = g_build_filename(disk->folder, name, NULL);
  disk->unsaved = g_strdup_printf("%s/%sunsaved", disk->folder, begin);
  disk->before = g_strdup_printf("%s/%sbefore", disk->folder, begin);
}

void lg_disk_clear(LgPlaceOnDisk *disk)
{
  g_free(disk->target);
  g_free(disk->folder);
  g_free(disk->temporary);
  g_free(disk->unsaved);
  g_free(disk->before);
}

/* ".ABC123": what GLib puts behind a name while it writes. */
static gboolean is_half_written(const char *rest)
{
  return *rest == '.' && strlen(rest) == 7;
}

/* Whether a name is that of a save which a process that is gone began: ".seat.job.4711.new", and
 * what was half written of the files aside. */
static gboolean is_left_over(const char *name, const char *begin)
{
  if (!g_str_has_prefix(name, begin))
    return FALSE;
  const char *const own = name + strlen(begin);
  if (g_str_has_prefix(own, "unsaved") || g_str_has_prefix(own, "before"))
    return is_half_written(own + strcspn(own, "."));
  char *rest;
  const gint64 process = g_ascii_strtoll(own, &rest, 10);
  if (process <= 0 || process > G_MAXINT || !g_str_has_prefix(rest, ".new"))
    return FALSE;
  rest += strlen(".new");
  return (*rest == '\0' || is_half_written(rest)) && kill((pid_t)process, 0) != 0 && errno == ESRCH;
}

void lg_disk_tidy(const LgPlaceOnDisk *disk)
{
  g_autoptr(GDir) folder = g_dir_open(disk->folder, 0, NULL);
  if (folder == NULL)
    return;
  g_autofree char *begin = temporary_begin(disk->target);
  for (const char *name; (name = g_dir_read_name(folder)) != NULL;)
    if (is_left_over(name, begin)) {
      g_autofree char *path = g_build_filename(disk->folder, name, NULL);
      g_unlink(path);
    }
}

LgDiskRead lg_disk_read(const LgPlaceOnDisk *disk, GBytes **text, GError **error)
{
  char *contents;
  gsize length;
  struct stat about;
  *text = NULL;
  const gboolean stat_ok = stat(disk->target, &about) == 0;
  if (!stat_ok && errno == ENOENT) {
    g_set_error(error, G_FILE_ERROR, G_FILE_ERROR_NOENT,
                "there is no file %s\nlook whether it was moved or renamed", disk->target);
    return LG_DISK_GONE;
  }
  if (stat_ok && (!S_ISREG(about.st_mode) || about.st_size > MOST_BYTES)) {
    g_set_error(error, G_FILE_ERROR, G_FILE_ERROR_INVAL,
                "%s is no ordinary text file\nname a job sheet", disk->target);
    return LG_DISK_UNREADABLE;
  }
  if (!g_file_get_contents(disk->target, &contents, &length, error))
    return LG_DISK_UNREADABLE;
  *text = g_bytes_new_take(contents, length);
  return LG_DISK_READ;
}

static gboolean still_holds(const LgPlaceOnDisk *disk, GBytes *expected)
{
  g_autoptr(GBytes) now = NULL;
  const LgDiskRead read = lg_disk_read(disk, &now, NULL);
  return expected == NULL ? read == LG_DISK_GONE
                          : read == LG_DISK_READ && g_bytes_equal(now, expected);
}

/* A name that was replaced is safe on disk only when its folder is. */
static void settle_folder(const LgPlaceOnDisk *disk)
{
  const int folder = open(disk->folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (folder < 0)
    return;
  fsync(folder);
  close(folder);
}

static LgDiskSave fail(const LgPlaceOnDisk *disk, const char *why, GError **error)
{
  g_unlink(disk->temporary);
  g_set_error(error, LG_STORE_ERROR, LG_STORE_ERROR_SAVE,
              "%s was not saved: %s\nthe file is as it was; free some space, or make the file and "
              "its folder writable, and try again",
              disk->target, why);
  return LG_DISK_FAILED;
}

LgDiskSave lg_disk_save(const LgPlaceOnDisk *disk, GBytes *text, GBytes *expected, GError **error)
{
  g_autoptr(GError) failed = NULL;
  struct stat about;
  const gboolean there = stat(disk->target, &about) == 0;
  /* Replacing a file needs no right to write it, so that right is asked for. */
  if (there && access(disk->target, W_OK) != 0)
    return fail(disk, g_strerror(errno), error);
  if (!lg_write_file(disk->temporary, text, &failed))
    return fail(disk, failed->message, error);
  if (there && chmod(disk->temporary, about.st_mode & 07777) != 0)
    return fail(disk, g_strerror(errno), error);
  if (!still_holds(disk, expected)) {
    g_unlink(disk->temporary);
    return LG_DISK_FOREIGN;
  }
  if (g_rename(disk->temporary, disk->target) != 0)
    return fail(disk, g_strerror(errno), error);
  settle_folder(disk);
  return LG_DISK_SAVED;
}

gboolean lg_disk_keep_aside(const LgPlaceOnDisk *disk, GBytes *unsaved, GBytes *before,
                            GError **error)
{
  g_autoptr(GError) failed = NULL;
  if (lg_write_file(disk->before, before, &failed) &&
      lg_write_file(disk->unsaved, unsaved, &failed))
    return TRUE;
  fail(disk, failed->message, error);
  return FALSE;
}

static GBytes *read_aside(const char *path)
{
  char *contents;
  gsize length;
  return g_file_get_contents(path, &contents, &length, NULL) ? g_bytes_new_take(contents, length)
                                                             : NULL;
}

gboolean lg_disk_find_aside(const LgPlaceOnDisk *disk, GBytes **unsaved, GBytes **before)
{
  *unsaved = read_aside(disk->unsaved);
  *before = *unsaved == NULL ? NULL : read_aside(disk->before);
  if (*before == NULL)
    g_clear_pointer(unsaved, g_bytes_unref);
  return *before != NULL;
}

void lg_disk_drop_aside(const LgPlaceOnDisk *disk)
{
  g_unlink(disk->unsaved);
  g_unlink(disk->before);
}

struct LgWatch {
  char *target;
  void (*changed)(gpointer user);
  gpointer user;
  GMainContext *context;
  GMainLoop *loop;
  GSource *soon; /* runs when nothing more has come for a moment */
  GThread *thread;
};

enum { QUIET_MS = 60 };

static gboolean tell(gpointer data)
{
  LgWatch *const watch = data;
  g_source_unref(watch->soon);
  watch->soon = NULL;
  watch->changed(watch->user);
  return G_SOURCE_REMOVE;
}

static void drop_soon(LgWatch *watch)
{
  if (watch->soon == NULL)
    return;
  g_source_destroy(watch->soon);
  g_source_unref(watch->soon);
  watch->soon = NULL;
}

/* A program that saves writes in several steps; the last one counts. */
static void note_change(GFileMonitor *monitor, GFile *file, GFile *other, GFileMonitorEvent event,
                        gpointer data)
{
  (void)monitor;
  (void)file;
  (void)other;
  (void)event;
  LgWatch *const watch = data;
  drop_soon(watch);
  watch->soon = g_timeout_source_new(QUIET_MS);
  g_source_set_callback(watch->soon, tell, watch, NULL);
  g_source_attach(watch->soon, watch->context);
}

static gpointer run(gpointer data)
{
  LgWatch *const watch = data;
  g_main_context_push_thread_default(watch->context);
  g_autoptr(GFile) file = g_file_new_for_path(watch->target);
  /* Where watching is not possible, the look before each save remains. */
  g_autoptr(GFileMonitor) monitor =
      g_file_monitor_file(file, G_FILE_MONITOR_WATCH_MOVES, NULL, NULL);
  if (monitor != NULL)
    g_signal_connect(monitor, "changed", G_CALLBACK(note_change), watch);
  g_main_loop_run(watch->loop);
  if (monitor != NULL)
    g_file_monitor_cancel(monitor);
  drop_soon(watch);
  g_main_context_pop_thread_default(watch->context);
  return NULL;
}

LgWatch *lg_disk_watch_new(const char *target, void (*changed)(gpointer user), gpointer user)
{
  LgWatch *const watch = g_new0(LgWatch, 1);
  watch->target = g_strdup(target);
  watch->changed = changed;
  watch->user = user;
  watch->context = g_main_context_new();
  watch->loop = g_main_loop_new(watch->context, FALSE);
  watch->thread = g_thread_new("watch", run, watch);
  return watch;
}

static gboolean quit(gpointer data)
{
  g_main_loop_quit(((LgWatch *)data)->loop);
  return G_SOURCE_REMOVE;
}

void lg_disk_watch_free(LgWatch *watch)
{
  if (watch == NULL)
    return;
  /* Through the context: a loop that is quit before it runs would run for ever. */
  g_main_context_invoke(watch->context, quit, watch);
  g_thread_join(watch->thread);
  g_main_loop_unref(watch->loop);
  g_main_context_unref(watch->context);
  g_free(watch->target);
  g_free(watch);
}
