/* Networks from readings, against the theory of resistance distance (Klein and Randic 1993,
 * "Resistance distance", J. Math. Chem. 12; memory): closed forms, Foster's sum, the triangle
 * inequality, and networks made at random, whose branches must come back. */
#include "studies/identify.h"
#include <math.h>

enum { MOST = LG_MOST_CAVITIES };

static double random_ohm(GRand *rand, double most_ohm)
{
  return exp(g_rand_double_range(rand, log(0.5), log(most_ohm)));
}

/* A connected network of n nodes with branches from 0.5 ohm on: a tree, and each other pair with
 * the chance given. */
static void random_network_to(GRand *rand, int n, double chance, double most_ohm, double g[])
{
  for (int i = 0; i < n * n; i++)
    g[i] = 0;
  for (int i = 1; i < n; i++)
    for (int j = 0; j < i; j++)
      if (j == g_rand_int_range(rand, 0, i) || g_rand_double(rand) < chance)
        g[i * n + j] = g[j * n + i] = 1 / random_ohm(rand, most_ohm);
  for (int i = 1; i < n; i++) { /* a tree at least */
    gboolean joined = FALSE;
    for (int j = 0; j < i; j++)
      joined |= g[i * n + j] > 0;
    if (!joined)
      g[i * n] = g[i] = 1 / random_ohm(rand, most_ohm);
  }
}

static void random_network(GRand *rand, int n, double chance, double g[])
{
  random_network_to(rand, n, chance, 500, g);
}

static void test_closed_forms(void)
{
  enum { N = 7 };
  double g[N * N], r[N * N];
  /* complete graph: 2 / n; ring: k (n - k) / n; path: k (all memory) */
  for (int i = 0; i < N * N; i++)
    g[i] = 1;
  g_assert_true(lg_ohms_of_conductances(N, g, r));
  g_assert_cmpfloat_with_epsilon(r[3 * N + 5], 2.0 / N, 1e-12);
  for (int i = 0; i < N; i++)
    for (int j = 0; j < N; j++)
      g[i * N + j] = (i + 1) % N == j || (j + 1) % N == i;
  g_assert_true(lg_ohms_of_conductances(N, g, r));
  for (int k = 0; k < N; k++)
    g_assert_cmpfloat_with_epsilon(r[k], k * (N - k) / (double)N, 1e-12);
  g[N - 1] = g[(N - 1) * N] = 0;
  g_assert_true(lg_ohms_of_conductances(N, g, r));
  g_assert_cmpfloat_with_epsilon(r[1 * N + 5], 4, 1e-12);
}

/* Foster 1949 (memory): the sum of g R over the branches of a connected network is n - 1. */
static void test_foster(void)
{
  GRand *const rand = g_rand_new_with_seed(11);
  for (int i = 0; i < 200; i++) {
    const int n = g_rand_int_range(rand, 2, MOST + 1);
    double g[MOST * MOST], r[MOST * MOST], sum = 0;
    random_network(rand, n, 0.2, g);
    g_assert_true(lg_ohms_of_conductances(n, g, r));
    for (int a = 0; a < n; a++)
      for (int b = 0; b < a; b++)
        sum += g[a * n + b] * r[a * n + b];
    g_assert_cmpfloat_with_epsilon(sum, n - 1, 1e-9);
    for (int a = 0; a < n; a++)
      for (int b = 0; b < n; b++)
        for (int c = 0; c < n; c++)
          g_assert_cmpfloat(r[a * n + c], <=, r[a * n + b] + r[b * n + c] + 1e-9);
  }
  g_rand_free(rand);
}

/* The definition: L = pinv (-1/2 J R J), so that L (-1/2 J R J) L = L. */
static void test_definition(void)
{
  enum { N = 6 };
  GRand *const rand = g_rand_new_with_seed(3);
  double g[N * N], r[N * N], l[N * N] = {0}, x[N * N], lx[N * N] = {0};
  random_network(rand, N, 0.5, g);
  g_assert_true(lg_ohms_of_conductances(N, g, r));
  for (int i = 0; i < N; i++)
    for (int j = 0; j < N; j++) {
      double sum = 0;
      for (int a = 0; a < N; a++)
        for (int b = 0; b < N; b++)
          sum += ((a == i) - 1.0 / N) * r[a * N + b] * ((b == j) - 1.0 / N);
      x[i * N + j] = -sum / 2;
      if (i != j) {
        l[i * N + j] = -g[i * N + j];
        l[i * N + i] += g[i * N + j];
      }
    }
  for (int i = 0; i < N; i++)
    for (int j = 0; j < N; j++)
      for (int k = 0; k < N; k++)
        lx[i * N + j] += l[i * N + k] * x[k * N + j];
  for (int i = 0; i < N; i++)
    for (int j = 0; j < N; j++) {
      double sum = 0;
      for (int k = 0; k < N; k++)
        sum += lx[i * N + k] * l[k * N + j];
      g_assert_cmpfloat_with_epsilon(sum, l[i * N + j], 1e-12);
    }
  g_rand_free(rand);
}

static void test_inverse_exact(void)
{
  GRand *const rand = g_rand_new_with_seed(7);
  for (int i = 0; i < 500; i++) {
    const int n = g_rand_int_range(rand, 2, MOST + 1);
    double g[MOST * MOST], r[MOST * MOST], back[MOST * MOST], most = 0;
    random_network(rand, n, g_rand_double(rand), g);
    g_assert_true(lg_ohms_of_conductances(n, g, r));
    g_assert_true(lg_conductances_of_ohms(n, r, back));
    for (int k = 0; k < n * n; k++)
      most = fmax(most, g[k]);
    for (int k = 0; k < n * n; k++)
      g_assert_cmpfloat_with_epsilon(back[k], g[k], 1e-9 * most);
  }
  g_rand_free(rand);
}

static void test_no_network(void)
{
  double r[] = {0, 1, 9, 1, 0, 1, 9, 1, 0}, g[9]; /* 9 > 1 + 1 */
  g_assert_false(lg_conductances_of_ohms(3, r, g));
  double apart[] = {0, 1, 0, 1, 0, 0, 0, 0, 0};
  g_assert_false(lg_ohms_of_conductances(3, apart, r));
}

/* Readings of the pairs of a network; `missing` is the chance that one was not taken, `noise` the
 * share it may be off either way. */
static GArray *readings_of(GRand *rand, int n, int n_terminals, const double g[], double noise,
                           double missing)
{
  GArray *const all = g_array_new(FALSE, FALSE, sizeof(LgOhmReading));
  g_autofree double *r = g_new(double, (gsize)n *(gsize)n);
  g_assert_true(lg_ohms_of_conductances(n, g, r));
  for (int a = 0; a < n_terminals; a++)
    for (int b = 0; b < a; b++) {
      const double ohm = r[a * n + b];
      const LgOhmReading reading = {a, b, ohm * (1 + noise * g_rand_double_range(rand, -1, 1)),
                                    ohm * fmax(noise, 1e-9)};
      if (g_rand_double(rand) >= missing)
        g_array_append_val(all, reading);
    }
  return all;
}

static LgOhmNet *net_of(const GArray *readings, int n_terminals)
{
  return lg_ohm_net_new(n_terminals, (const LgOhmReading *)(const void *)readings->data,
                        (int)readings->len);
}

static double branch_ohm(const LgOhmNet *net, int a, int b)
{
  for (guint e = 0; e < net->branches->len; e++) {
    const LgBranch *const branch = &g_array_index(net->branches, LgBranch, e);
    if ((branch->a == a && branch->b == b) || (branch->a == b && branch->b == a))
      return branch->ohm;
  }
  return INFINITY;
}

/* Whether the branches are those of the network, none more, each within `within`. */
static gboolean is_same(const LgOhmNet *net, int n, const double g[], double within)
{
  guint branches = 0;
  for (int a = 0; a < n; a++)
    for (int b = 0; b < a; b++) {
      if (g[a * n + b] == 0)
        continue;
      branches++;
      if (!(fabs(branch_ohm(net, a, b) * g[a * n + b] - 1) <= within))
        return FALSE;
    }
  return net->branches->len == branches;
}

static void test_complete_and_exact(void)
{
  GRand *const rand = g_rand_new_with_seed(5);
  for (int i = 0; i < 60; i++) {
    const int n = g_rand_int_range(rand, 2, 13);
    double g[MOST * MOST];
    random_network(rand, n, i % 2 == 0 ? 0.1 : 0.6, g);
    g_autoptr(GArray) readings = readings_of(rand, n, n, g, 0, 0);
    g_autoptr(LgOhmNet) net = net_of(readings, n);
    g_assert_true(is_same(net, n, g, 1e-6));
    g_assert_cmpint(net->n_nodes, ==, n);
  }
  g_rand_free(rand);
}

typedef struct {
  double noise, missing, most_ohm;
  int least_right; /* of a hundred trees */
} Case;

/* Trees of 2 to 6 cavities, as harnesses are; a structure is right when exactly its branches are
 * found, each within four times the meter's tolerance. */
static void test_noisy(gconstpointer data)
{
  const Case *const c = data;
  GRand *const rand = g_rand_new_with_seed(17);
  int right = 0;
  for (int i = 0; i < 100; i++) {
    const int n = g_rand_int_range(rand, 2, 7);
    double g[MOST * MOST];
    random_network_to(rand, n, -1, c->most_ohm, g);
    g_autoptr(GArray) readings = readings_of(rand, n, n, g, c->noise, c->missing);
    g_autoptr(LgOhmNet) net = net_of(readings, n);
    right += is_same(net, n, g, 4 * c->noise);
  }
  g_test_message("%d of 100 right at %g %% noise, %g %% missing, to %g ohm", right, 100 * c->noise,
                 100 * c->missing, c->most_ohm);
  g_assert_cmpint(right, >=, c->least_right);
  g_rand_free(rand);
}

static void test_star_is_seen(void)
{
  enum { LEAVES = 5, N = LEAVES + 1 };
  static const double ohm[LEAVES] = {1.2, 3.4, 0.8, 5.1, 2.6};
  double g[N * N] = {0};
  GRand *const rand = g_rand_new_with_seed(23);
  for (int i = 0; i < LEAVES; i++)
    g[i * N + LEAVES] = g[LEAVES * N + i] = 1 / ohm[i];
  g_autoptr(GArray) readings = readings_of(rand, N, LEAVES, g, 0.01, 0);
  g_autoptr(LgOhmNet) net = net_of(readings, LEAVES);
  g_assert_cmpint(net->n_nodes, ==, N);
  g_assert_cmpuint(net->branches->len, ==, LEAVES);
  for (int i = 0; i < LEAVES; i++)
    g_assert_cmpfloat_with_epsilon(branch_ohm(net, i, LEAVES), ohm[i], 0.1);
  g_rand_free(rand);
}

/* Two splices behind the plug, 0.9 ohm apart, two loads on each. */
static void test_two_splices(void)
{
  enum { LEAVES = 5, N = 7 };
  double g[N * N] = {0};
  static const struct {
    int a, b;
    double ohm;
  } branch[] = {{0, 5, 1.1}, {1, 5, 4.2}, {5, 6, 0.9}, {2, 6, 2.2}, {3, 6, 7.5}, {4, 6, 3.3}};
  for (gsize i = 0; i < G_N_ELEMENTS(branch); i++)
    g[branch[i].a * N + branch[i].b] = g[branch[i].b * N + branch[i].a] = 1 / branch[i].ohm;
  GRand *const rand = g_rand_new_with_seed(29);
  g_autoptr(GArray) readings = readings_of(rand, N, LEAVES, g, 1e-6, 0);
  g_autoptr(LgOhmNet) net = net_of(readings, LEAVES);
  g_assert_cmpint(net->n_nodes, ==, N);
  g_assert_cmpuint(net->branches->len, ==, G_N_ELEMENTS(branch));
  for (guint r = 0; r < readings->len; r++)
    g_assert_cmpfloat(fabs(net->misfit[r]), <=, 1);
  g_rand_free(rand);
}

static void test_pieces_and_open(void)
{
  const LgOhmReading readings[] = {
      {0, 1, 4.7, 0.1}, {2, 3, 85, 1}, {0, 2, INFINITY, 1}, {1, 3, INFINITY, 1}};
  g_autoptr(LgOhmNet) net = lg_ohm_net_new(5, readings, G_N_ELEMENTS(readings));
  g_assert_cmpuint(net->branches->len, ==, 2);
  g_assert_cmpint(net->group[0], ==, net->group[1]);
  g_assert_cmpint(net->group[0], !=, net->group[2]);
  g_assert_cmpint(net->group[4], ==, 4);
  for (gsize r = 0; r < G_N_ELEMENTS(readings); r++)
    g_assert_false(net->suspect[r]);
}

/* The one reading of six that cannot be stands out whole, and takes nothing from the others. */
static void test_contradiction(void)
{
  const LgOhmReading readings[] = {{0, 1, 1.1, 0.06}, {1, 2, 0.8, 0.06}, {2, 3, 2.0, 0.07},
                                   {0, 2, 1.9, 0.07}, {1, 3, 2.8, 0.08}, {0, 3, 9.0, 0.14}};
  g_autoptr(LgOhmNet) net = lg_ohm_net_new(4, readings, G_N_ELEMENTS(readings));
  for (int r = 0; r < 6; r++)
    g_assert_true(net->suspect[r] == (r == 5));
  g_assert_cmpfloat_with_epsilon(net->predicted_ohm[5], 3.9, 0.1);
  g_assert_cmpfloat_with_epsilon(net->misfit[5], 5.1 / 0.14, 1);
  g_assert_cmpfloat_with_epsilon(branch_ohm(net, 0, 1), 1.1, 0.05);
  /* Three readings alone: one of them is wrong, and nobody can say which. */
  const LgOhmReading three[] = {{0, 1, 1.1, 0.06}, {1, 2, 0.8, 0.06}, {0, 2, 9.0, 0.14}};
  g_autoptr(LgOhmNet) vague = lg_ohm_net_new(3, three, 3);
  for (int r = 0; r < 3; r++)
    g_assert_true(vague->suspect[r]);
  /* Open, though both are joined to a third. */
  const LgOhmReading open[] = {{0, 1, 1.1, 0.06}, {1, 2, 0.8, 0.06}, {0, 2, INFINITY, 1}};
  g_autoptr(LgOhmNet) torn = lg_ohm_net_new(3, open, 3);
  g_assert_true(torn->suspect[2] && isinf(torn->misfit[2]));
  g_assert_cmpfloat_with_epsilon(torn->predicted_ohm[2], 1.9, 1e-3);
  /* Read twice, and not the same. */
  const LgOhmReading twice[] = {{0, 1, 4.7, 0.1}, {1, 0, 5.8, 0.1}};
  g_autoptr(LgOhmNet) split = lg_ohm_net_new(2, twice, 2);
  g_assert_true(split->suspect[0] && split->suspect[1]);
  g_assert_cmpfloat(branch_ohm(split, 0, 1), ==, 4.7);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/identify/closed-forms", test_closed_forms);
  g_test_add_func("/identify/foster", test_foster);
  g_test_add_func("/identify/definition", test_definition);
  g_test_add_func("/identify/inverse-exact", test_inverse_exact);
  g_test_add_func("/identify/no-network", test_no_network);
  g_test_add_func("/identify/complete-and-exact", test_complete_and_exact);
  static const Case cases[] = {
      {0.01, 0, 8, 88}, {0.01, 0.2, 8, 42}, {0.001, 0, 500, 68}, {0.01, 0, 500, 60}};
  g_test_add_data_func("/identify/noise-1-percent", &cases[0], test_noisy);
  g_test_add_data_func("/identify/noise-and-missing", &cases[1], test_noisy);
  g_test_add_data_func("/identify/noise-0.1-percent", &cases[2], test_noisy);
  g_test_add_data_func("/identify/noise-wide", &cases[3], test_noisy);
  g_test_add_func("/identify/star", test_star_is_seen);
  g_test_add_func("/identify/two-splices", test_two_splices);
  g_test_add_func("/identify/pieces-and-open", test_pieces_and_open);
  g_test_add_func("/identify/contradiction", test_contradiction);
  return g_test_run();
}
