/* The program as a whole process: wall time and greatest memory of `check`, median of several runs.
 *   program-bench LOOMGRAFT EXAMPLE [--json] */
#include "make-job.h"
#include <fcntl.h>
#include <glib/gstdio.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

typedef struct {
  double ms, mb;
} Run;

static double now_ms(void)
{
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return 1e3 * (double)t.tv_sec + 1e-6 * (double)t.tv_nsec;
}

/* `more`: a further word, or NULL. */
static Run run_once(const char *program, const char *verb, const char *job, const char *more)
{
  const double start = now_ms();
  const pid_t child = fork();
  if (child == 0) {
    const int null = open("/dev/null", O_WRONLY);
    dup2(null, 1);
    dup2(null, 2);
    execl(program, program, verb, job, more, (char *)NULL);
    _exit(127);
  }
  struct rusage usage;
  int status;
  wait4(child, &status, 0, &usage);
  if (!WIFEXITED(status) || WEXITSTATUS(status) > 1) {
    fprintf(stderr, "program-bench: %s %s %s failed\n", program, verb, job);
    exit(1);
  }
  return (Run){now_ms() - start, (double)usage.ru_maxrss / 1024};
}

static int by_ms(const void *a, const void *b)
{
  const Run *const x = a, *const y = b;
  return (x->ms > y->ms) - (x->ms < y->ms);
}

static Run median_of(const char *program, const char *verb, const char *job, const char *more,
                     int n)
{
  g_autofree Run *runs = g_new(Run, (gsize)n);
  for (int i = 0; i < n; i++)
    runs[i] = run_once(program, verb, job, more);
  qsort(runs, (size_t)n, sizeof *runs, by_ms);
  return runs[n / 2];
}

static void print_row(gboolean json, const char *what, Run run, const char *target)
{
  if (json)
    printf("{\"bench\": \"program\", \"case\": \"%s\", \"ms\": %.2f, \"MB\": %.1f, \"target\": "
           "\"%s\"}\n",
           what, run.ms, run.mb, target);
  else
    printf("%-58s %9.1f ms %7.1f MB   target %s\n", what, run.ms, run.mb, target);
}

/* Jobs of one shape with few states, so that the packet's own work shows: time over n log n. */
static void packets_by_size(gboolean json, const char *program, const char *path, const char *to)
{
  for (int n = 25; n <= 200; n *= 2) {
    g_autofree char *text = make_job(n, 4);
    g_file_set_contents(path, text, -1, NULL);
    const Run run = median_of(program, "packet", path, to, 3);
    g_autofree char *what =
        g_strdup_printf("packet of %d circuits; over n log2 n: %.3f ms", n, run.ms / (n * log2(n)));
    print_row(json, what, run, "falls or stays");
  }
}

int main(int argc, char **argv)
{
  if (argc < 3) {
    fprintf(stderr, "program-bench LOOMGRAFT EXAMPLE [--json]\n");
    return 2;
  }
  const gboolean json = argc > 3 && strcmp(argv[3], "--json") == 0;
  print_row(json, "check of the example, whole process",
            median_of(argv[1], "check", argv[2], NULL, 21), "60 ms, 30 MB");
  print_row(json, "simulate 8 h of the example, whole process",
            median_of(argv[1], "simulate", argv[2], "round", 5), "10 ms for the course");
  print_row(json, "simulate 120 mornings of the example, whole process",
            median_of(argv[1], "simulate", argv[2], "winter", 3), "1000 ms");
  print_row(json, "faults of the example with remedies, whole process",
            median_of(argv[1], "faults", argv[2], NULL, 3), "150 ms without");
  g_autofree char *folder = g_dir_make_tmp("loomgraft-bench-XXXXXX", NULL);
  g_autofree char *to = g_strdup_printf("--to=%s/packet", folder);
  print_row(json, "packet of the example, whole process",
            median_of(argv[1], "packet", argv[2], to, 3), "1500 ms, 120 MB");
  g_autofree char *path = g_build_filename(folder, "hundred.job", NULL);
  g_autofree char *text = make_job(100, 15);
  g_file_set_contents(path, text, -1, NULL);
  print_row(json, "check of 100 circuits, 131072 states, whole process",
            median_of(argv[1], "check", path, NULL, 3), "1000 ms, 100 MB");
  print_row(json, "packet of 100 circuits, 131072 states, whole process",
            median_of(argv[1], "packet", path, to, 3), "8000 ms");
  packets_by_size(json, argv[1], path, to);
  const char *const remove[] = {"rm", "-rf", folder, NULL};
  g_spawn_sync(NULL, (char **)remove, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, NULL, NULL, NULL,
               NULL);
  return 0;
}
