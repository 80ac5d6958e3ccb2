/* Locate: how fast, and how often right: planted faults looked for by it and by halving the way of
 * the current. --json: one object a line; --faults=N with --seed=S: the table of docs/locate.md. */
#include "planted.h"
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

static double busy_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

typedef struct {
  LgCatalogue *catalogue;
  LgSheet *sheet;
  LgJob *job;
  LgSizing *sizing;
} Example;

static Example open_example(const char *path)
{
  char *text;
  gsize length;
  g_autoptr(GError) error = NULL;
  if (!g_file_get_contents(path, &text, &length, &error))
    g_error("%s", error->message);
  g_autoptr(GBytes) bytes = g_bytes_new_take(text, length);
  Example example = {.catalogue = lg_catalogue_new(), .sheet = lg_sheet_read(path, bytes, FALSE)};
  example.job = lg_job_new(example.sheet, example.catalogue);
  example.sizing = lg_sizing_new(example.job, NULL);
  g_assert_nonnull(example.sizing);
  return example;
}

static void close_example(Example *example)
{
  lg_sizing_free(example->sizing);
  lg_job_free(example->job);
  lg_sheet_free(example->sheet);
  lg_catalogue_free(example->catalogue);
}

/* ---- Speed: 20 readings around the pad of the library van. ---- */

enum { READINGS = 20, PAIRS_AMONG = 60, TIMES = 20 };

static const char *const readings[READINGS + 1] = {"SEAT.cushion runs=weak when KEY=on S2=high",
                                                   "E9.lamp runs=yes when KEY=on S9=on",
                                                   "M2.motor runs=yes when KEY=on SW2=a",
                                                   "G1.+ G1.- volts=12.6V when KEY=on S2=high",
                                                   "X1.1 G1.- volts=12.4V when KEY=on S2=high",
                                                   "F3.1 G1.- volts=12.35V when KEY=on S2=high",
                                                   "F3.2 G1.- volts=12.3V when KEY=on S2=high",
                                                   "K2.30 G1.- volts=12.28V when KEY=on S2=high",
                                                   "K2.87 G1.- volts=12.2V when KEY=on S2=high",
                                                   "SEAT.3 G1.- volts=8.1V when KEY=on S2=high",
                                                   "SEAT.5 G1.- volts=0.3V when KEY=on S2=high",
                                                   "K2.86 K2.85 volts=12.1V when KEY=on S2=high",
                                                   "S2.5 G1.- volts=12.2V when KEY=on S2=high",
                                                   "KEY.15 G1.- volts=12.4V when KEY=on S2=high",
                                                   "F4.2 G1.- volts=12.4V when KEY=on S2=high",
                                                   "SEAT.1 G1.- volts=12.3V when KEY=on SW2=a",
                                                   "SEAT.2 G1.- volts=0.2V when KEY=on SW2=a",
                                                   "F2.2 G1.- volts=12.3V when KEY=on SW2=a",
                                                   "K2.87 SEAT.3 volts=4.1V when KEY=on S2=high",
                                                   "XG2.1 G1.- volts=0.02V when KEY=on S2=high",
                                                   NULL};

static void tell_speed(const char *name, double ms, double least_ms, gboolean json)
{
  if (json)
    printf("{\"bench\": \"%s\", \"readings\": %d, \"ms\": %.2f, \"least_ms\": %.2f}\n", name,
           READINGS, ms, least_ms);
  else
    printf("%-44s %d readings: %8.2f ms, least %8.2f ms\n", name, READINGS, ms, least_ms);
}

static int by_size(gconstpointer a, gconstpointer b)
{
  const double x = *(const double *)a, y = *(const double *)b;
  return x < y ? -1 : x > y;
}

/* From the sized job to the verdict: suspects listed, solved, weighed, fitted, the next proposed.
 */
static void measure_speed(const Example *example, int n_pairs, const char *name, gboolean json)
{
  double took[TIMES];
  for (int i = 0; i < TIMES; i++) {
    const double start = busy_s();
    g_autoptr(LgLocator) locator = lg_locator_new(example->sizing, NULL);
    g_autoptr(GError) error = NULL;
    g_autoptr(LgSigns) signs = lg_signs_new(locator, FALSE, readings, &error);
    if (signs == NULL)
      g_error("%s", error->message);
    g_assert_cmpuint(signs->signs->len, ==, READINGS);
    g_autoptr(LgLocation) location = lg_locator_judge(
        locator, (const LgSign *)(gconstpointer)signs->signs->data, READINGS, n_pairs);
    took[i] = 1e3 * (busy_s() - start);
    const LgVerdict *const first = &g_array_index(location->verdicts, LgVerdict, 0);
    g_autofree char *words = lg_verdict_words(locator, first);
    if (i == 0 && !json)
      printf("  %s: %.0f %%\n", words, 100 * first->chance);
  }
  qsort(took, TIMES, sizeof *took, by_size);
  tell_speed(name, took[TIMES / 2], took[0], json);
}

/* ---- How often right. ---- */

typedef struct {
  double *meter, *effort; /* [n] */
  int n, first, alike;
} Tally;

static double median(double values[], int n)
{
  qsort(values, (size_t)n, sizeof *values, by_size);
  return n % 2 == 1 ? values[n / 2] : (values[n / 2 - 1] + values[n / 2]) / 2;
}

static void add_outcome(Tally *tally, const Outcome *outcome)
{
  tally->meter[tally->n] = outcome->n_meter + outcome->n_looks;
  tally->effort[tally->n++] = outcome->effort;
  tally->first += outcome->first;
  tally->alike += outcome->alike;
}

static void tell_tally(const char *name, const char *how, Tally *tally, gboolean json)
{
  const double meter = median(tally->meter, tally->n), effort = median(tally->effort, tally->n);
  const double most = tally->meter[tally->n - 1];
  if (json)
    printf("{\"bench\": \"locate-planted\", \"job\": \"%s\", \"by\": \"%s\", \"faults\": %d, "
           "\"first\": %d, \"first_or_alike\": %d, \"median_readings\": %g, \"most_readings\": %g, "
           "\"median_effort\": %.1f}\n",
           name, how, tally->n, tally->first, tally->alike, meter, most, effort);
  else
    printf("| %s | %s | %d | %d | %d | %g | %g | %.1f |\n", name, how, tally->n, tally->first,
           tally->alike, meter, most, effort);
}

static void measure_right(const char *path, int n, guint32 seed, gboolean json, gboolean verbose)
{
  Example example = open_example(path);
  Shop shop = {.knows = lg_locator_new(example.sizing, NULL),
               .paths = lg_paths_new(example.sizing),
               .rand = g_rand_new_with_seed(seed)};
  Tally by_us = {g_new(double, n), g_new(double, n), 0, 0, 0},
        by_halves = {g_new(double, n), g_new(double, n), 0, 0, 0};
  for (int i = 0; i < n; i++) {
    const LgSign symptom = new_case(&shop, example.sizing);
    const Outcome ours = look_by_locate(&shop, symptom);
    const Outcome halves = look_by_halves(&shop, symptom);
    add_outcome(&by_us, &ours);
    add_outcome(&by_halves, &halves);
    g_autofree char *words = lg_suspect_words(shop.knows, shop.planted);
    if (verbose)
      printf("%d: %s (%.3g), seen at %s: %s, %d readings; by halves %s, %d readings\n", i, words,
             shop.size, shop.knows->job->elements[symptom.load].name,
             ours.first   ? "first"
             : ours.alike ? "alike"
                          : "MISSED",
             ours.n_meter + ours.n_looks, halves.alike ? "found" : "missed",
             halves.n_meter + halves.n_looks);
  }
  g_autofree char *name = g_path_get_basename(path);
  tell_tally(name, "locate", &by_us, json);
  tell_tally(name, "halving", &by_halves, json);
  g_rand_free(shop.rand);
  lg_paths_free(shop.paths);
  lg_locator_free(shop.knows);
  lg_locator_free(shop.truth);
  g_free(by_us.meter);
  g_free(by_us.effort);
  g_free(by_halves.meter);
  g_free(by_halves.effort);
  close_example(&example);
}

int main(int argc, char **argv)
{
  gboolean json = FALSE, verbose = FALSE;
  int faults = 0, seed = 1;
  char *folder = NULL;
  const GOptionEntry entries[] = {
      {"json", 0, 0, G_OPTION_ARG_NONE, &json, "one object a line", NULL},
      {"verbose", 0, 0, G_OPTION_ARG_NONE, &verbose, "each planted fault", NULL},
      {"faults", 0, 0, G_OPTION_ARG_INT, &faults, "planted faults an example", "N"},
      {"seed", 0, 0, G_OPTION_ARG_INT, &seed, "of what is planted", "S"},
      {"examples", 0, 0, G_OPTION_ARG_FILENAME, &folder, "folder of the sheets", "FOLDER"},
      G_OPTION_ENTRY_NULL};
  GOptionContext *const context = g_option_context_new(NULL);
  g_option_context_add_main_entries(context, entries, NULL);
  if (!g_option_context_parse(context, &argc, &argv, NULL))
    return 2;
  g_option_context_free(context);
  static const char *const names[] = {"library-van-seat.job", "co-op-flatbed.job",
                                      "library-van-seat-flawed.job", "co-op-flatbed-flawed.job"};
  g_autofree char *where = folder != NULL ? folder : g_strdup("examples");
  if (faults > 0)
    for (gsize i = 0; i < G_N_ELEMENTS(names); i++) {
      g_autofree char *path = g_build_filename(where, names[i], NULL);
      measure_right(path, faults, (guint32)seed, json, verbose);
    }
  else {
    g_autofree char *path = g_build_filename(where, names[0], NULL);
    Example example = open_example(path);
    measure_speed(&example, 0, "locate", json);
    measure_speed(&example, PAIRS_AMONG, "locate --pairs", json);
    close_example(&example);
  }
  return 0;
}
