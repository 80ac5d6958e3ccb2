/* A program of its own: nothing is opened here before a child is begun, since a child of a process
 * with a watch would begin with half of its threads. */
#include "workbench/store-private.h"
#include <glib/gstdio.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static guint n_files(const char *folder)
{
  guint n = 0;
  g_autoptr(GDir) dir = g_dir_open(folder, 0, NULL);
  while (g_dir_read_name(dir) != NULL)
    n++;
  return n;
}

/* The text that the child writes as its n-th edition: long enough for several pages of disk. */
static char *text_number(int n)
{
  GString *const text = g_string_new(NULL);
  for (int i = 0; i < 400; i++)
    g_string_append_printf(text, "place p%d \"%d\"\n", i, n);
  return g_string_free(text, FALSE);
}

/* Says so through `ready` when the first edit is saved. */
static void edit_until_killed(const char *path, int ready)
{
  g_autoptr(LgStore) store = lg_store_open(path, FALSE, NULL);
  for (int n = 1;; n++) {
    g_autofree char *text = text_number(n);
    g_autoptr(json_t) list = json_pack("[{s:s, s:s}]", "do", "text", "text", text);
    char *const edits = json_dumps(list, 0);
    if (!lg_store_edit(store, lg_store_edition(store), edits, "", NULL, NULL, NULL))
      _exit(1);
    free(edits);
    if (n == 1 && write(ready, "", 1) != 1)
      _exit(1);
  }
}

/* Killed without warning 200 times, at any moment of a save: the file is one of the texts, whole.
 */
static void killed_at_any_moment(void)
{
  g_autofree char *folder = g_dir_make_tmp("store-XXXXXX", NULL);
  g_autofree char *path = g_build_filename(folder, "seat.job", NULL);
  g_autofree char *first = text_number(0);
  g_assert_true(g_file_set_contents(path, first, -1, NULL));
  guint numbers_seen = 0;
  for (int i = 0; i < 200; i++) {
    int ends[2];
    char ready;
    g_assert_cmpint(pipe(ends), ==, 0);
    const pid_t child = fork();
    if (child == 0)
      edit_until_killed(path, ends[1]);
    close(ends[1]);
    g_assert_cmpint((int)read(ends[0], &ready, 1), ==, 1);
    close(ends[0]);
    g_usleep((gulong)g_test_rand_int_range(0, 20000));
    int status;
    kill(child, SIGKILL);
    g_assert_cmpint(waitpid(child, &status, 0), ==, child);
    g_assert_true(WIFSIGNALED(status));
    g_autofree char *text = NULL;
    g_assert_true(g_file_get_contents(path, &text, NULL, NULL));
    int n = -1;
    g_assert_cmpint(sscanf(text, "place p0 \"%d\"", &n), ==, 1);
    g_autofree char *whole = text_number(n);
    g_assert_cmpstr(text, ==, whole);
    g_assert_cmpuint(n_files(folder), <=, 3);
    numbers_seen |= 1u << MIN(n, 31);
  }
  /* The moments differed: not always the same text was the last one. */
  g_assert_cmpuint(numbers_seen & (numbers_seen - 1), !=, 0);
  g_autoptr(LgStore) store = lg_store_open(path, FALSE, NULL);
  g_assert_nonnull(store);
  g_assert_cmpuint(n_files(folder), ==, 1);
  g_unlink(path);
  g_rmdir(folder);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/store/killed-at-any-moment", killed_at_any_moment);
  return g_test_run();
}
