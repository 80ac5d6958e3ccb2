/* How often identify is right: invented plugs, a meter of 1 %, every pair read once at rest; then
 * the proposed readings taken one after the other. Prints the table of docs/identify.md.
 * Arguments: number of plugs, seed. */
#include "plug.h"
#include <stdio.h>
#include <stdlib.h>

enum { FOLLOWED = 12, MOST_PROBES = 1000 };

static const LgCavity cavities[LG_MOST_CAVITIES];

typedef struct {
  int n, branch[2], class[2], empty, empty_right[2];
} Tally;

typedef struct {
  Tally of[LG_N_ID_CLASSES];
  int cavities, cavities_right[2], readings;
} Rate;

static const LgFound *at(const LgIdentity *id, int a, int b)
{
  for (guint i = 0; i < id->found->len; i++) {
    const LgFound *const f = &g_array_index(id->found, LgFound, i);
    if ((f->a == a && f->b == b) || (f->a == b && f->b == a))
      return f;
  }
  return NULL;
}

static gboolean leads_somewhere(const Plug *plug, int cavity)
{
  for (int i = 0; i < plug->n_things; i++)
    if (plug->things[i].a == cavity || plug->things[i].b == cavity)
      return TRUE;
  return FALSE;
}

static void judge(Rate *rate, const Plug *plug, const LgIdentity *id, int stage)
{
  for (int i = 0; i < plug->n_things; i++) {
    const PlugThing *const t = &plug->things[i];
    const LgFound *const f = at(id, t->a, t->b);
    rate->of[t->class].branch[stage] += f != NULL;
    rate->of[t->class].class[stage] += f != NULL && lg_found_class(f) == t->class;
  }
  for (int k = 0; k < plug->n_cavities; k++)
    rate->cavities_right[stage] += (id->nothing[k] < 0.5) == leads_somewhere(plug, k);
}

static void run_plug(Rate *rate, GRand *rand)
{
  static LgProbe probes[MOST_PROBES];
  const Plug plug = plug_new(rand, g_rand_int_range(rand, 4, 21), 0.01);
  int n = 0;
  for (int a = 0; a < plug.n_cavities; a++)
    for (int b = a + 1; b < plug.n_cavities; b++)
      probes[n++] = plug_read(&plug, a, b, LG_DID_NOTHING);
  for (int i = 0; i < plug.n_things; i++)
    rate->of[plug.things[i].class].n++;
  rate->cavities += plug.n_cavities;
  LgIdentity *id = lg_identity_new(cavities, plug.n_cavities, probes, n);
  judge(rate, &plug, id, 0);
  for (int i = 0; i < FOLLOWED && id->next->len > 0; i++) {
    const LgNext next = g_array_index(id->next, LgNext, 0);
    lg_identity_free(id);
    probes[n++] = plug_read(&plug, next.red, next.black, next.did);
    rate->readings++;
    id = lg_identity_new(cavities, plug.n_cavities, probes, n);
  }
  judge(rate, &plug, id, 1);
  lg_identity_free(id);
}

static double percent(int part, int whole)
{
  return whole > 0 ? 100.0 * part / whole : 0;
}

int main(int argc, char **argv)
{
  const int plugs = argc > 1 ? atoi(argv[1]) : 10000;
  const guint32 seed = argc > 2 ? (guint32)atoi(argv[2]) : 1;
  GRand *const rand = g_rand_new_with_seed(seed);
  static Rate rate;
  for (int i = 0; i < plugs; i++)
    run_plug(&rate, rand);
  printf("%d plugs, seed %u, %.1f proposed readings taken on average\n\n", plugs, seed,
         (double)rate.readings / plugs);
  puts("| class | things | branch found | class right | after the proposals: branch | class |\n"
       "| --- | ---: | ---: | ---: | ---: | ---: |");
  int things = 0, right[2] = {0}, found[2] = {0};
  for (int c = 0; c < LG_N_ID_CLASSES; c++) {
    const Tally *const t = &rate.of[c];
    if (t->n == 0)
      continue;
    printf("| %s | %d | %.1f %% | %.1f %% | %.1f %% | %.1f %% |\n", lg_id_rows[c].name, t->n,
           percent(t->branch[0], t->n), percent(t->class[0], t -> n), percent(t->branch[1], t->n),
           percent(t->class[1], t -> n));
    things += t->n;
    for (int k = 0; k < 2; k++) {
      right[k] += t->class[k];
      found[k] += t->branch[k];
    }
  }
  printf("| all | %d | %.1f %% | %.1f %% | %.1f %% | %.1f %% |\n", things,
         percent(found[0], things), percent(right[0], things), percent(found[1], things),
         percent(right[1], things));
  printf("| cavity: nothing fitted or something | %d | | %.1f %% | | %.1f %% |\n", rate.cavities,
         percent(rate.cavities_right[0], rate.cavities),
         percent(rate.cavities_right[1], rate.cavities));
  g_rand_free(rand);
  return 0;
}
