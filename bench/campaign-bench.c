/* The fault campaign with heat and clearing times, and sneak paths.
 *   campaign-bench EXAMPLE [--json] [--threads=N] */
#include "make-job.h"
#include "studies/faults.h"
#include "studies/sneak.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

typedef struct {
  LgCatalogue *catalogue;
  LgSheet *sheet;
  LgJob *job;
  LgSizing *sizing;
} Sized;

static gboolean json;

static double now_ms(void)
{
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return 1e3 * (double)t.tv_sec + 1e-6 * (double)t.tv_nsec;
}

static Sized size_text(const char *name, const char *text)
{
  g_autoptr(GBytes) bytes = g_bytes_new(text, strlen(text));
  Sized s = {.catalogue = lg_catalogue_new(), .sheet = lg_sheet_read(name, bytes, FALSE)};
  s.job = lg_job_new(s.sheet, s.catalogue);
  s.sizing = s.job != NULL ? lg_sizing_new(s.job, NULL) : NULL;
  if (s.sizing == NULL) {
    fprintf(stderr, "campaign-bench: %s cannot be sized\n", name);
    exit(1);
  }
  return s;
}

static void clear(Sized *s)
{
  lg_sizing_free(s->sizing);
  lg_job_free(s->job);
  lg_sheet_free(s->sheet);
  lg_catalogue_free(s->catalogue);
}

static void print_row(const char *what, const LgCampaign *campaign, int threads, double ms,
                      const char *target)
{
  const double solved = (double)(campaign->n_solved + campaign->n_after);
  if (json)
    printf("{\"bench\": \"campaign\", \"case\": \"%s\", \"threads\": %d, \"faults\": %d, "
           "\"states\": %d, \"solved\": %.0f, \"ms\": %.1f, \"target\": \"%s\"}\n",
           what, threads, campaign->n_effects, campaign->n_states, solved, ms, target);
  else
    printf("%-34s %d thread%s %5d faults x %5d states, %8.0f solved %9.1f ms   target %s\n", what,
           threads, threads == 1 ? " " : "s", campaign->n_effects, campaign->n_states, solved, ms,
           target);
}

/* The best of several times. */
static void run(const char *what, const Sized *s, guint64 most, int threads, int times,
                const char *target)
{
  const LgCampaignOptions options = {.most_pairs = most, .n_threads = threads, .n_remedies = -1};
  double best_ms = INFINITY;
  for (int i = 0; i < times; i++) {
    const double start = now_ms();
    LgCampaign *const campaign = lg_campaign_new(s->sizing, &options);
    const double ms = now_ms() - start;
    if (ms < best_ms)
      best_ms = ms;
    if (i == times - 1)
      print_row(what, campaign, threads, best_ms, target);
    lg_campaign_free(campaign);
  }
}

static void run_sneaks(const Sized *s)
{
  const double start = now_ms();
  g_autoptr(GArray) sneaks = lg_sneaks_new(s->sizing);
  const double ms = now_ms() - start;
  if (json)
    printf("{\"bench\": \"sneaks\", \"found\": %u, \"ms\": %.2f}\n", sneaks->len, ms);
  else
    printf("%-34s %u found in %d states %9.2f ms\n", "sneak paths of the example", sneaks->len,
           s->sizing->states->n_kept, ms);
}

int main(int argc, char **argv)
{
  if (argc < 2) {
    fprintf(stderr, "campaign-bench EXAMPLE [--json]\n");
    return 2;
  }
  json = argc > 2 && strcmp(argv[2], "--json") == 0;
  setvbuf(stdout, NULL, _IOLBF, 0);
  g_autofree char *text = NULL;
  if (!g_file_get_contents(argv[1], &text, NULL, NULL)) {
    fprintf(stderr, "campaign-bench: %s cannot be read\n", argv[1]);
    return 1;
  }
  Sized example = size_text(argv[1], text);
  for (int threads = 1; threads <= 2; threads++) {
    run("example, telling states", &example, 1, threads, 3, "150 ms");
    run("example, every state", &example, G_MAXUINT32, threads, 1, "-");
  }
  run_sneaks(&example);
  clear(&example);
  g_autofree char *hundred = make_job(100, 15);
  Sized generated = size_text("hundred.job", hundred);
  for (int threads = 1; threads <= 2; threads++)
    run("100 circuits", &generated, 0, threads, 1, "5000 ms");
  clear(&generated);
  return 0;
}
