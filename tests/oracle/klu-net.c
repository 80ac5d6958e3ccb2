/* The nodal matrix in compressed columns; a branch knows its four places in it. */
#include "klu-net.h"

#include <string.h>
#include <suitesparse/klu.h>

struct KluNet {
  const LgNet *net;
  int n;
  int *start, *row; /* compressed columns */
  double *value;
  int (*place)[4]; /* [n_branches]: aa, bb, ab, ba; -1 at the reference */
  double *g;       /* [n_branches] as it stands */
  double open_siemens;
  klu_common common;
  klu_symbolic *symbolic;
  klu_numeric *numeric;
};

static int place_of(const KluNet *klu, int row, int column)
{
  if (row < 0 || column < 0)
    return -1;
  for (int at = klu->start[column]; at < klu->start[column + 1]; at++)
    if (klu->row[at] == row)
      return at;
  g_assert_not_reached();
}

static void lay_pattern(KluNet *klu)
{
  GArray **columns = g_new(GArray *, klu->n);
  for (int i = 0; i < klu->n; i++) {
    columns[i] = g_array_new(FALSE, FALSE, sizeof(int));
    g_array_append_val(columns[i], i);
  }
  for (int b = 0; b < lg_net_n_branches(klu->net); b++) {
    const int i = lg_net_branch(klu->net, b)->a - 1, j = lg_net_branch(klu->net, b)->b - 1;
    gboolean known = i < 0 || j < 0;
    for (guint k = 0; !known && k < columns[i]->len; k++)
      known = g_array_index(columns[i], int, k) == j;
    if (!known) {
      g_array_append_val(columns[i], j);
      g_array_append_val(columns[j], i);
    }
  }
  klu->start = g_new0(int, klu->n + 1);
  for (int i = 0; i < klu->n; i++)
    klu->start[i + 1] = klu->start[i] + (int)columns[i]->len;
  klu->row = g_new(int, klu->start[klu->n]);
  klu->value = g_new0(double, klu->start[klu->n]);
  for (int i = 0; i < klu->n; i++) {
    memcpy(klu->row + klu->start[i], columns[i]->data, sizeof(int) * columns[i]->len);
    g_array_unref(columns[i]);
  }
  g_free(columns);
}

static void add_to(KluNet *klu, int branch, double g)
{
  const int *place = klu->place[branch];
  for (int k = 0; k < 4; k++)
    if (place[k] >= 0)
      klu->value[place[k]] += k < 2 ? g : -g;
}

static void assemble(KluNet *klu)
{
  memset(klu->value, 0, sizeof(double) * (gsize)klu->start[klu->n]);
  for (int b = 0; b < lg_net_n_branches(klu->net); b++)
    add_to(klu, b, klu->g[b]);
}

KluNet *klu_net_new(const LgNet *net, double open_siemens)
{
  KluNet *klu = g_new0(KluNet, 1);
  const int n_branches = lg_net_n_branches(net);
  klu->net = net;
  klu->n = lg_net_n_nodes(net) - 1;
  klu->open_siemens = open_siemens;
  lay_pattern(klu);
  klu->place = g_malloc0(sizeof *klu->place * (gsize)n_branches);
  klu->g = g_new(double, n_branches);
  for (int b = 0; b < n_branches; b++) {
    const LgNetBranch *br = lg_net_branch(net, b);
    const int i = br->a - 1, j = br->b - 1;
    g_assert(br->kind == LG_BRANCH_RESISTOR || br->kind == LG_BRANCH_SOURCE);
    klu->place[b][0] = place_of(klu, i, i);
    klu->place[b][1] = place_of(klu, j, j);
    klu->place[b][2] = place_of(klu, i, j);
    klu->place[b][3] = place_of(klu, j, i);
    klu->g[b] = br->p[0];
  }
  assemble(klu);
  klu_defaults(&klu->common);
  klu->symbolic = klu_analyze(klu->n, klu->start, klu->row, &klu->common);
  klu->numeric = klu_factor(klu->start, klu->row, klu->value, klu->symbolic, &klu->common);
  g_assert(klu->numeric != NULL);
  return klu;
}

void klu_net_free(KluNet *klu)
{
  klu_free_numeric(&klu->numeric, &klu->common);
  klu_free_symbolic(&klu->symbolic, &klu->common);
  g_free(klu->start);
  g_free(klu->row);
  g_free(klu->value);
  g_free(klu->place);
  g_free(klu->g);
  g_free(klu);
}

void klu_net_set_closed(KluNet *klu, int branch, gboolean closed)
{
  klu->g[branch] = closed ? lg_net_branch(klu->net, branch)->p[0] : klu->open_siemens;
}

gboolean klu_net_solve(KluNet *klu, double volts[])
{
  memset(volts, 0, sizeof(double) * (gsize)(klu->n + 1));
  assemble(klu);
  for (int b = 0; b < lg_net_n_branches(klu->net); b++) {
    const LgNetBranch *br = lg_net_branch(klu->net, b);
    if (br->kind != LG_BRANCH_SOURCE)
      continue;
    volts[br->a] += klu->g[b] * br->p[1];
    volts[br->b] -= klu->g[b] * br->p[1];
  }
  if (!klu_refactor(klu->start, klu->row, klu->value, klu->symbolic, klu->numeric, &klu->common) ||
      klu->common.status == KLU_SINGULAR)
    return FALSE;
  klu_solve(klu->symbolic, klu->numeric, klu->n, 1, volts + 1, &klu->common);
  volts[0] = 0;
  return TRUE;
}
