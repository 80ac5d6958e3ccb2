/* Which spools to buy and how to cut them: the one-dimensional cutting-stock problem, by kind of
 * wire. */
#include "base/words.h"
#include "packet/tables-private.h"
#include <math.h>

static const LgColumn spool_columns[] = {
    LG_TEXT_COLUMN("insulation", "Insulation"),
    LG_TEXT_COLUMN("size", "Size"),
    LG_TEXT_COLUMN("colour", "Colour"),
    LG_NUMBER_COLUMN("pieces", "Pieces", LG_DIM_NONE, 5),
    LG_NUMBER_COLUMN("used_m", "Needed", LG_DIM_LENGTH, 3),
    LG_NUMBER_COLUMN("spool_m", "Spool", LG_DIM_LENGTH, 3),
    LG_NUMBER_COLUMN("spools", "Spools", LG_DIM_NONE, 5),
    LG_NUMBER_COLUMN("left_m", "Left over", LG_DIM_LENGTH, 3),
    LG_NUMBER_COLUMN("left_share", "Of it", LG_DIM_RATIO, 2),
    LG_FLAG_COLUMN("proved", "Fewest, proved"),
    LG_TEXT_COLUMN("cuts", "Cut from each spool"),
    LG_COLUMNS_END,
};

/* Lengths that wire is sold in: common practice, no source. */
static const double spools_m[] = {5, 10, 25, 50, 100}, spools_ft[] = {25, 50, 100, 250, 500};

/* Room for rounding, m. */
#define HAIR_M 1e-9

typedef struct {
  const double *piece_m; /* the longest first */
  int n;
  double spool_m;
  int *spool;     /* [n] of each piece, as far as it is laid */
  double *rest_m; /* [n] of each spool */
  int n_best, *best;
  int bound;
  long budget;
} Packing;

/* First fit, the longest first: each piece into the first spool that still holds it. */
static int first_fit(Packing *p)
{
  int n_spools = 0;
  for (int i = 0; i < p->n; i++) {
    int s = 0;
    while (s < n_spools && p->rest_m[s] < p->piece_m[i] - HAIR_M)
      s++;
    if (s == n_spools)
      p->rest_m[n_spools++] = p->spool_m;
    p->rest_m[s] -= p->piece_m[i];
    p->spool[i] = s;
  }
  return n_spools;
}

static void keep(Packing *p, int n_spools)
{
  p->n_best = n_spools;
  for (int i = 0; i < p->n; i++)
    p->best[i] = p->spool[i];
}

/* All ways but those that cannot be better; two spools with the same rest are the same. */
static void search(Packing *p, int i, int n_spools)
{
  if (p->n_best == p->bound || p->budget-- <= 0 || n_spools >= p->n_best)
    return;
  if (i == p->n) {
    keep(p, n_spools);
    return;
  }
  for (int s = 0; s <= n_spools && s < p->n_best - 1; s++) {
    const double rest = s < n_spools ? p->rest_m[s] : p->spool_m;
    gboolean same = FALSE;
    for (int t = 0; t < s && !same; t++)
      same = fabs(p->rest_m[t] - rest) < HAIR_M;
    if (same || rest < p->piece_m[i] - HAIR_M)
      continue;
    p->rest_m[s] = rest - p->piece_m[i];
    p->spool[i] = s;
    search(p, i + 1, MAX(n_spools, s + 1));
    p->rest_m[s] = rest;
  }
}

#define SEARCH_STEPS 200000

int lg_spools_needed(const double piece_m[], int n, double spool_m, int spool[], gboolean *proved)
{
  double sum_m = 0;
  for (int i = 0; i < n; i++) {
    sum_m += piece_m[i];
    if (piece_m[i] > spool_m + HAIR_M)
      return -1;
  }
  g_autofree int *work = g_new0(int, (gsize)n + 1);
  g_autofree double *rest_m = g_new0(double, (gsize)n + 1);
  Packing p = {.piece_m = piece_m,
               .n = n,
               .spool_m = spool_m,
               .spool = work,
               .rest_m = rest_m,
               .best = spool,
               .bound = (int)ceil(sum_m / spool_m - HAIR_M),
               .budget = SEARCH_STEPS};
  keep(&p, first_fit(&p));
  search(&p, 0, 0);
  *proved = p.n_best == p.bound || p.budget > 0;
  return p.n_best;
}

/* The spool length that leaves least; of equals the fewest spools. */
typedef struct {
  double spool_m;
  int n_spools;
  gboolean proved;
  int *spool;
} Choice;

static Choice choose(const LgJob *job, const double piece_m[], int n)
{
  const gboolean us = job->habit == LG_HABIT_US;
  Choice best = {.spool = g_new0(int, (gsize)n + 1)};
  g_autofree int *spool = g_new0(int, (gsize)n + 1);
  for (gsize k = 0; k < G_N_ELEMENTS(spools_m); k++) {
    const double length_m = us ? spools_ft[k] * 0.3048 : spools_m[k];
    gboolean proved;
    const int n_spools = lg_spools_needed(piece_m, n, length_m, spool, &proved);
    const double bought_m = n_spools * length_m, least_m = best.n_spools * best.spool_m;
    if (n_spools < 0 ||
        (best.n_spools > 0 && (bought_m > least_m + HAIR_M ||
                               (bought_m > least_m - HAIR_M && n_spools >= best.n_spools))))
      continue;
    best.spool_m = length_m;
    best.n_spools = n_spools;
    best.proved = proved;
    for (int i = 0; i < n; i++)
      best.spool[i] = spool[i];
  }
  return best;
}

/* "1: W2 2.15 m, W4 0.75 m; 2: W6 ..." */
static char *words_cuts(const LgSizing *sizing, const int wires[], const double piece_m[], int n,
                        const Choice *choice)
{
  const LgJob *const job = sizing->circuit->job;
  g_autoptr(GString) words = g_string_new(NULL);
  for (int s = 0; s < choice->n_spools; s++) {
    g_autoptr(GString) one = g_string_new(NULL);
    for (int i = 0; i < n; i++) {
      if (choice->spool[i] != s)
        continue;
      g_autofree char *length = lg_words_quantity(job, piece_m[i], LG_DIM_LENGTH);
      g_autofree char *piece = g_strdup_printf("%s %s", job->wires[wires[i]].name, length);
      lg_words_add(one, ", ", piece);
    }
    g_autofree char *line =
        choice->n_spools > 1 ? g_strdup_printf("%d: %s", s + 1, one->str) : g_strdup(one->str);
    lg_words_add(words, "; ", line);
  }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

/* Pieces of one roll, from `from` to before `to`. */
static void add_roll(LgTable *table, const LgSizing *sizing, const int wires[], int n)
{
  const LgJob *const job = sizing->circuit->job;
  g_autofree double *piece_m = g_new(double, (gsize)n);
  double used_m = 0;
  for (int i = 0; i < n; i++) {
    piece_m[i] = lg_cut_length(job, &job->wires[wires[i]]);
    used_m += piece_m[i];
  }
  const Choice choice = choose(job, piece_m, n);
  const LgWire *const wire = &job->wires[wires[0]];
  g_autofree char *size = lg_words_size(sizing->wires[wires[0]].conductor);
  g_autofree char *cuts =
      choice.n_spools > 0 ? words_cuts(sizing, wires, piece_m, n, &choice)
                          : g_strdup(T_("a piece is longer than any spool: ask for one length"));
  const double left_m = choice.n_spools > 0 ? choice.n_spools * choice.spool_m - used_m : NAN;
  lg_table_add(table, wire->insulation != NULL ? wire->insulation->name : LG_GAP, size,
               wire->colour, (double)n, used_m, choice.n_spools > 0 ? choice.spool_m : NAN,
               (double)choice.n_spools, left_m, left_m / (left_m + used_m), choice.proved, cuts);
  g_free(choice.spool);
}

LgTable *lg_table_spools(const LgSizing *sizing)
{
  LgTable *const table = lg_table_new("spools", T_("Spools and how to cut them"), spool_columns);
  g_autoptr(GArray) pieces = lg_pieces(sizing);
  const int *const wires = (const int *)(gconstpointer)pieces->data;
  const int n = (int)pieces->len;
  for (int from = 0, to; from < n; from = to) {
    for (to = from + 1; to < n && lg_compare_rolls(sizing, wires[from], wires[to]) == 0; to++)
      ;
    add_roll(table, sizing, wires + from, to - from);
  }
  table->note = g_strdup(
      n == 0
          ? T_("No wire is cut new.")
          : T_("For each wire the length of spool with least left over, cut in this order. Lengths "
               "that wire is sold in are common practice; a shop that sells by the metre or foot "
               "leaves nothing over. Proved: no way of cutting needs fewer of these spools."));
  return table;
}
