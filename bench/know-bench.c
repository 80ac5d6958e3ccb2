/* Speed of identify: plugs of 30 cavities, all 435 pairs read, by a meter of 1 %; and the worst
 * kind, one network that joins all cavities. --json: one object a line. */
#include "plug.h"
#include <stdio.h>
#include <string.h>
#include <time.h>

enum { CAVITIES = 30, PAIRS = CAVITIES * (CAVITIES - 1) / 2, PLUGS = 20 };

static const LgCavity cavities[LG_MOST_CAVITIES];

static double busy_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void read_all(const Plug *plug, LgProbe probes[])
{
  int n = 0;
  for (int a = 0; a < CAVITIES; a++)
    for (int b = a + 1; b < CAVITIES; b++)
      probes[n++] = plug_read(plug, a, b, LG_DID_NOTHING);
}

/* All loads on one return, or each on the next. */
static Plug joined(GRand *rand, gboolean star)
{
  Plug plug = {.n_cavities = CAVITIES, .rand = rand, .tolerance = 0.01};
  for (int k = 1; k < CAVITIES; k++)
    plug_add(&plug, star ? 0 : k - 1, k, LG_ID_PAD);
  return plug;
}

static void report(const char *name, double mean_ms, double worst_ms, gboolean json)
{
  if (json)
    printf(
        "{\"bench\": \"%s\", \"cavities\": %d, \"pairs\": %d, \"ms\": %.3f, \"worst_ms\": %.3f}\n",
        name, CAVITIES, PAIRS, mean_ms, worst_ms);
  else
    printf("%-44s %d cavities, %d pairs: %8.3f ms, worst %8.3f ms\n", name, CAVITIES, PAIRS,
           mean_ms, worst_ms);
}

static void measure(const char *name, Plug (*make)(GRand *), gboolean json)
{
  GRand *const rand = g_rand_new_with_seed(1);
  static LgProbe probes[PAIRS];
  double sum = 0, worst = 0;
  for (int i = 0; i < PLUGS; i++) {
    const Plug plug = make(rand);
    read_all(&plug, probes);
    const double start = busy_s();
    g_autoptr(LgIdentity) id = lg_identity_new(cavities, CAVITIES, probes, PAIRS);
    const double took = busy_s() - start;
    g_assert_cmpuint(id->found->len, >, 0);
    sum += took;
    worst = fmax(worst, took);
  }
  report(name, 1e3 * sum / PLUGS, 1e3 * worst, json);
  g_rand_free(rand);
}

static Plug as_found(GRand *rand)
{
  return plug_new(rand, CAVITIES, 0.01);
}

static Plug on_one_return(GRand *rand)
{
  return joined(rand, TRUE);
}

static Plug in_a_row(GRand *rand)
{
  return joined(rand, FALSE);
}

int main(int argc, char **argv)
{
  const gboolean json = argc > 1 && strcmp(argv[1], "--json") == 0;
  measure("identify: a plug of many things", as_found, json);
  measure("identify: 29 loads on one return", on_one_return, json);
  measure("identify: 29 loads in a row", in_a_row, json);
  return 0;
}
