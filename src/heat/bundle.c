/* Wires that run together. Each wire's temperature is that over the bundle plus a sum of the heats
 * of all, and each heat is linear in its wire's temperature; so the inside is a small linear
 * system, and only the passage outwards is a search in one unknown. */
#include "heat/heat-private.h"

#include <math.h>
#include <stdlib.h>

/* Density of the densest known packing of n equal circles in a circle: n (d/D)^2, with D/d = 1, 2,
 * 1 + 2/sqrt 3, 1 + sqrt 2, 2.701, 3, 3 (published tables of circle packings, memory), then about
 * 0.75 to 0.8; 0.75 leaves room for what hands do. */
static double packing_density(double n)
{
  static const double dense[] = {1, 0.5, 0.6462, 0.6863, 0.6854, 0.6667, 0.7778};
  if (n >= G_N_ELEMENTS(dense))
    return n <= 8 ? 0.7778 + (n - 7) * (0.75 - 0.7778) : 0.75;
  const guint below = (guint)MAX(n, 1);
  const double part = MAX(n, 1) - below;
  return dense[below - 1] * (1 - part) + (below < G_N_ELEMENTS(dense) ? dense[below] : 0.75) * part;
}

/* Girth of the taut thread over that of the circle, for the same arrangements: (n d + pi d) / pi D
 * up to four circles, (6 d + pi d) / 3 pi d for seven, straight between, 1 from twenty on. */
static double tautness(double n)
{
  static const double taut[] = {1, 0.8183, 0.9074, 0.9417, 0.9596, 0.9700, 0.9700};
  if (n >= G_N_ELEMENTS(taut))
    return MIN(1, 0.97 + (n - 7) * 0.03 / 13);
  const guint below = (guint)MAX(n, 1);
  const double part = MAX(n, 1) - below;
  return taut[below - 1] * (1 - part) + (below < G_N_ELEMENTS(taut) ? taut[below] : 1) * part;
}

typedef struct {
  double squares_m2, worth; /* sum of d2; equal circles they are worth */
} Circles;

/* `share` of each circle that counts; NULL: all of them. */
static Circles circles_of(const LgHeatWire wires[], const double share[], int n)
{
  double squares = 0, fourths = 0;
  for (int i = 0; i < n; i++) {
    const double counts = share != NULL ? share[i] : 1;
    squares += counts * squared(wires[i].outer_m);
    fourths += counts * squared(squared(wires[i].outer_m));
  }
  return (Circles){squares, squared(squares) / fourths};
}

static double two_thickest(const LgHeatWire wires[], int n)
{
  double first = 0, second = 0;
  for (int i = 0; i < n; i++) {
    second = MAX(second, MIN(first, wires[i].outer_m));
    first = MAX(first, wires[i].outer_m);
  }
  return first + second;
}

double lg_bundle_diameter(const LgHeatWire wires[], int n)
{
  const Circles c = circles_of(wires, NULL, n);
  return MAX(two_thickest(wires, n), sqrt(c.squares_m2 / packing_density(c.worth)));
}

static double girth_of(Circles c)
{
  return sqrt(c.squares_m2 / packing_density(c.worth)) * tautness(c.worth);
}

double lg_bundle_girth(const LgHeatWire wires[], int n)
{
  return girth_of(circles_of(wires, NULL, n));
}

/* Two phases across cylinders: shells of k1 around cores of k2 that fill `share`. Exact for coated
 * cylinders of all sizes (Hashin), and Maxwell's formula in two dimensions. */
static double two_phase(double shell, double core, double share)
{
  return shell * (core * (1 + share) + shell * (1 - share)) /
         (core * (1 - share) + shell * (1 + share));
}

double lg_bundle_conductivity(const LgHeatWire wires[], int n, double temperature_K)
{
  const double copper_W_mK = 398; /* handbooks, memory */
  const double girth_m = lg_bundle_girth(wires, n);
  double over_all = 0, over_strands = 0, insulation = 0;
  for (int i = 0; i < n; i++) {
    over_all += squared(wires[i].outer_m);
    over_strands += squared(wires[i].conductor_m);
    insulation += squared(wires[i].outer_m) * wires[i].insulation_W_mK;
  }
  const double wire = two_phase(insulation / over_all, copper_W_mK, over_strands / over_all);
  const double filled = MIN(over_all / squared(girth_m), 1);
  return two_phase(lg_air(temperature_K).conductivity_W_mK, wire, filled);
}

/* ---- The inside ---- */

/* A loaded bundle is about this much warmer than its place: good enough for the air in it. */
#define WARMER_K 40

static double *new_numbers(int n)
{
  return g_new0(double, (gsize)n);
}

/* Loaded wires of a bundle, hottest by area first, and the rise at the conductor of each wire for
 * one watt per metre in each loaded one. */
typedef struct {
  const LgHeatBundle *bundle;
  double girth_m; /* that gives heat to the air */
  int n_loaded;
  int *loaded;                   /* [n_loaded] wire */
  double *numbers;               /* owns the arrays below */
  double *heat_20;               /* [n] heat of each wire with its conductor at 20 C, W/m */
  double *rise_Km_W;             /* [n][n_loaded] */
  double *ohm_K;                 /* [n_loaded] I2 times the slope of R(T), W/(m K) */
  double *given_W_m;             /* [n_loaded] heat that does not depend on the temperature */
  double *fixed, *growing;       /* [n_loaded] heat = fixed + growing (T_bundle - ambient) */
  double fixed_W_m, growth_W_mK; /* their sums */
} Inside;

static int compare_heat(gconstpointer a, gconstpointer b, gpointer data)
{
  const Inside *in = data;
  const int i = *(const int *)a, j = *(const int *)b;
  const double first = in->heat_20[i] / squared(in->bundle->wires[i].outer_m);
  const double second = in->heat_20[j] / squared(in->bundle->wires[j].outer_m);
  return first > second ? -1 : first < second ? 1 : i - j;
}

/* Each wire in the middle in turn, the loaded ones as rings around it, the idle ones outside; areas
 * in units of the whole. The heat of a ring between areas x0 and x1 spreads evenly in it, so that
 * its rise at the middle is [ln (1 / x1) + 1 - x0 ln (x1 / x0) / (x1 - x0)] / (4 pi k). */
static void fill_rises(Inside *in)
{
  const LgHeatBundle *b = in->bundle;
  const double whole_m2 = circles_of(b->wires, NULL, b->n).squares_m2;
  const double between_K = b->around.ambient_K + WARMER_K;
  const double spread = 4 * G_PI * lg_bundle_conductivity(b->wires, b->n, between_K);
  for (int i = 0; i < b->n; i++) {
    const double own = squared(b->wires[i].outer_m) / whole_m2;
    double x0 = own, log_x0 = log(own);
    for (int j = 0; j < in->n_loaded; j++) {
      double *rise = &in->rise_Km_W[i * in->n_loaded + j];
      if (in->loaded[j] == i) {
        *rise = -log(own) / spread + lg_heat_wire_wall_Km_W(&b->wires[i]);
        continue;
      }
      const double x1 = x0 + squared(b->wires[in->loaded[j]].outer_m) / whole_m2;
      const double log_x1 = log(x1);
      *rise = (1 - log_x1 - x0 * (log_x1 - log_x0) / (x1 - x0)) / spread;
      x0 = x1, log_x0 = log_x1;
    }
  }
}

/* Only warm wires count for the surface, each by its share of the greatest warmth that one of them
 * would have alone: heat over d^0.6, as thin wires give off heat. Idle wires keep the air from the
 * loaded ones and cool them little: so say the measured derating curves (AS50881). */
static double warm_girth(const Inside *in)
{
  const LgHeatBundle *b = in->bundle;
  g_autofree double *share = new_numbers(b->n);
  double most = 0;
  for (int i = 0; i < b->n; i++) {
    share[i] = in->heat_20[i] > 0 ? in->heat_20[i] / pow(b->wires[i].outer_m, 0.6) : 0;
    most = MAX(most, share[i]);
  }
  if (most <= 0)
    return lg_bundle_girth(b->wires, b->n);
  for (int i = 0; i < b->n; i++)
    share[i] /= most;
  return girth_of(circles_of(b->wires, share, b->n));
}

/* Takes the heat of wire `given` as given_W_m instead of by its current; -1: none. */
static void inside_init(Inside *in, const LgHeatBundle *bundle, int given, double given_W_m)
{
  const int n = bundle->n;
  *in = (Inside){
      .bundle = bundle, .loaded = g_new(int, (gsize)n), .numbers = new_numbers(n * (n + 5))};
  in->heat_20 = in->numbers;
  in->ohm_K = in->heat_20 + n;
  in->given_W_m = in->ohm_K + n;
  in->fixed = in->given_W_m + n;
  in->growing = in->fixed + n;
  in->rise_Km_W = in->growing + n;
  for (int i = 0; i < n; i++) {
    const double by_current = squared(bundle->current_A[i]) * bundle->wires[i].resistance_ohm_m;
    in->heat_20[i] =
        i == given ? given_W_m / lg_copper_ratio(bundle->around.ambient_K + WARMER_K) : by_current;
    if (in->heat_20[i] > 0 || i == given)
      in->loaded[in->n_loaded++] = i;
  }
  g_qsort_with_data(in->loaded, in->n_loaded, sizeof(int), compare_heat, in);
  for (int j = 0; j < in->n_loaded; j++) {
    const int i = in->loaded[j];
    in->ohm_K[j] = i == given ? 0 : in->heat_20[i] / COPPER_SPAN_K;
    in->given_W_m[j] = i == given ? given_W_m : 0;
  }
  in->girth_m = warm_girth(in);
  fill_rises(in);
}

static void inside_clear(Inside *in)
{
  g_free(in->loaded);
  g_free(in->numbers);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Inside, inside_clear)

/* Solves a x = x and a y = y in place, a[n][n]. Without pivoting: off the diagonal nothing is
 * positive, and FALSE, a pivot that is not positive, says that the wires make more heat by being
 * hotter than the bundle can carry out. */
static gboolean eliminate(int n, double *a, double *x, double *y)
{
  for (int k = 0; k < n; k++) {
    if (!(a[k * n + k] > 0))
      return FALSE;
    for (int i = k + 1; i < n; i++) {
      const double f = a[i * n + k] / a[k * n + k];
      for (int j = k + 1; j < n; j++)
        a[i * n + j] -= f * a[k * n + j];
      x[i] -= f * x[k];
      y[i] -= f * y[k];
    }
  }
  for (int k = n - 1; k >= 0; k--) {
    for (int j = k + 1; j < n; j++) {
      x[k] -= a[k * n + j] * x[j];
      y[k] -= a[k * n + j] * y[j];
    }
    x[k] /= a[k * n + k];
    y[k] /= a[k * n + k];
  }
  return TRUE;
}

/* heat_j = given_j + ohm_K_j (T_bundle + sum_k rise_jk heat_k - zero), solved for the heats as
 * straight lines in T_bundle. FALSE: it runs away. */
static gboolean inside_solve(Inside *in)
{
  const int n = in->n_loaded;
  const double above_zero_K = in->bundle->around.ambient_K - COPPER_ZERO_K;
  g_autofree double *a = new_numbers(n * n);
  for (int j = 0; j < n; j++) {
    const double *rise = &in->rise_Km_W[in->loaded[j] * n];
    for (int k = 0; k < n; k++)
      a[j * n + k] = (j == k) - in->ohm_K[j] * rise[k];
    in->fixed[j] = in->given_W_m[j] + in->ohm_K[j] * above_zero_K;
    in->growing[j] = in->ohm_K[j];
  }
  const gboolean holds = eliminate(n, a, in->fixed, in->growing);
  in->fixed_W_m = in->growth_W_mK = 0;
  for (int j = 0; j < n; j++) {
    in->fixed_W_m += in->fixed[j];
    in->growth_W_mK += in->growing[j];
  }
  return holds;
}

/* Temperature over the wires, INFINITY when it runs away; `outer_K` may be NULL. */
static double inside_balance(Inside *in, double *outer_K)
{
  const LgSurroundings *around = &in->bundle->around;
  double outer = INFINITY;
  if (inside_solve(in))
    outer = lg_outer_balance(around, in->girth_m, in->fixed_W_m, in->growth_W_mK);
  if (outer_K != NULL)
    *outer_K = outer;
  return isinf(outer) ? INFINITY : lg_passage(around, in->girth_m, outer).bundle_K;
}

static double conductor_at(const Inside *in, int i, double bundle_K)
{
  const double above_K = bundle_K - in->bundle->around.ambient_K;
  const double *rise = &in->rise_Km_W[i * in->n_loaded];
  double T = bundle_K;
  for (int j = 0; j < in->n_loaded; j++)
    T += rise[j] * (in->fixed[j] + in->growing[j] * above_K);
  return T;
}

/* ---- What others ask ---- */

gboolean lg_bundle_temperatures(const LgHeatBundle *bundle, double conductor_K[], double *surface_K,
                                double *outer_K)
{
  g_auto(Inside) in;
  inside_init(&in, bundle, -1, 0);
  const double bundle_K = inside_balance(&in, outer_K);
  if (surface_K != NULL)
    *surface_K = bundle_K;
  gboolean holds = !isinf(bundle_K);
  for (int i = 0; i < bundle->n && holds; i++) {
    conductor_K[i] = conductor_at(&in, i, bundle_K);
    holds = conductor_K[i] < MELTS_K;
  }
  for (int i = 0; i < bundle->n && !holds; i++)
    conductor_K[i] = INFINITY;
  return holds;
}

typedef struct {
  const LgHeatBundle *bundle;
  const double *limit_K;
  double *current_A, *conductor_K; /* scratch */
  int varies;                      /* wire; -1: all by the same factor */
} Search;

/* Greatest excess over a limit, by the square of the current or factor: nearly a straight line. */
static double greatest_excess(double square, gconstpointer data)
{
  const Search *s = data;
  LgHeatBundle tried = *s->bundle;
  tried.current_A = s->current_A;
  for (int i = 0; i < tried.n; i++) {
    const double as_given = s->bundle->current_A[i];
    s->current_A[i] = s->varies < 0    ? as_given * sqrt(square)
                      : s->varies == i ? sqrt(square)
                                       : as_given;
  }
  if (!lg_bundle_temperatures(&tried, s->conductor_K, NULL, NULL))
    return MELTS_K;
  double excess = -INFINITY;
  for (int i = 0; i < tried.n; i++)
    excess = MAX(excess, s->conductor_K[i] - s->limit_K[i]);
  return excess;
}

/* Greatest square within the limits, 0 to `most`. */
static double search(const LgHeatBundle *bundle, const double limit_K[], int varies, double most)
{
  g_autofree double *scratch = new_numbers(2 * bundle->n);
  const Search s = {bundle, limit_K, scratch, scratch + bundle->n, varies};
  double high = most;
  while (high > most * 1e-6 && greatest_excess(high / 4, &s) >= 0)
    high /= 4;
  return lg_heat_root(greatest_excess, &s, 0, high, high * 1e-7);
}

double lg_bundle_allowed(const LgHeatBundle *bundle, int i, const double limit_K[])
{
  /* With the air right around its conductor's insulation it could carry no more than this. */
  const LgHeatWire *wire = &bundle->wires[i];
  const double most_W_m = (limit_K[i] - bundle->around.ambient_K) / lg_heat_wire_wall_Km_W(wire);
  if (most_W_m <= 0)
    return 0;
  return sqrt(search(bundle, limit_K, i, most_W_m / lg_heat_wire_ohm_m(wire, limit_K[i])));
}

double lg_bundle_factor(const LgHeatBundle *bundle, double limit_K)
{
  const LgSurroundings bare = lg_bare(bundle->around.ambient_K);
  g_autofree double *alone_A = new_numbers(bundle->n);
  g_autofree double *limits_K = new_numbers(bundle->n);
  for (int i = 0; i < bundle->n; i++) {
    const gboolean loaded = bundle->current_A[i] > 0;
    alone_A[i] = loaded ? lg_wire_current(&bundle->wires[i], &bare, limit_K) : 0;
    limits_K[i] = limit_K;
  }
  LgHeatBundle full = *bundle;
  full.current_A = alone_A;
  return sqrt(search(&full, limits_K, -1, 2));
}

/* ---- Curves of what the surroundings take ---- */

/* Outside of the insulation of a wire that gives off `heat_W_m`; INFINITY when the bundle runs
 * away.
 */
typedef double (*SurfaceOf)(double heat_W_m, gconstpointer data);

/* Points lie closer at the start, and end where the covering melts. */
static LgHeatLoss draw_loss(const LgHeatBundle *bundle, SurfaceOf surface, gconstpointer data)
{
  enum { POINTS = 16 };
  double most_W_m = lg_surface_heat(lg_bundle_girth(bundle->wires, bundle->n), MELTS_K,
                                    bundle->around.ambient_K, bundle->around.emissivity);
  LgHeatLoss loss = {0};
  while (loss.n < POINTS) {
    const double part = (double)loss.n / (POINTS - 1);
    const double heat = most_W_m * part * squared(part);
    const double T = surface(heat, data);
    if (loss.n == 0 && isinf(T))
      break;
    if (T > MELTS_K && loss.n < POINTS / 2) {
      most_W_m /= 2;
      loss.n = 0;
      continue;
    }
    if (isinf(T))
      break;
    loss.K[loss.n] = T;
    loss.W_m[loss.n++] = heat;
  }
  lg_loss_finish(&loss);
  return loss;
}

typedef struct {
  const LgHeatBundle *bundle;
  int i;
} Whole;

static double surface_in_whole(double heat, gconstpointer data)
{
  const Whole *whole = data;
  g_auto(Inside) in;
  inside_init(&in, whole->bundle, whole->i, heat);
  const double bundle_K = inside_balance(&in, NULL);
  if (isinf(bundle_K))
    return INFINITY;
  return conductor_at(&in, whole->i, bundle_K) -
         heat * lg_heat_wire_wall_Km_W(&whole->bundle->wires[whole->i]);
}

LgHeatLoss lg_heat_loss_in_bundle(const LgHeatBundle *bundle, int i)
{
  const Whole whole = {bundle, i};
  return draw_loss(bundle, surface_in_whole, &whole);
}

/* One wire in the middle of others whose heats follow the temperature over the bundle alone. Sums
 * over the others; heats as fixed + growing (T_bundle - ambient). */
typedef struct {
  const LgHeatBundle *bundle;
  int i;
  double own_Km_W;                  /* rise over the bundle per own heat, to the insulation */
  double fixed_W_m, growth_W_mK;    /* heat */
  double rise_fixed_K, rise_growth; /* what it raises the middle by */
  double warm, warm_d2, warm_d4;    /* greatest warmth, sums of warmth by d^2 and d^4 */
} Among;

static double surface_among(double heat, gconstpointer data)
{
  const Among *a = data;
  const LgHeatBundle *b = a->bundle;
  const double d2 = squared(b->wires[a->i].outer_m);
  const double own = heat / lg_copper_ratio(b->around.ambient_K + WARMER_K) / pow(d2, 0.3);
  const double most = MAX(a->warm, own);
  double girth_m = lg_bundle_girth(b->wires, b->n);
  if (most > 0) {
    const double squares = (a->warm_d2 + own * d2) / most,
                 fourths = (a->warm_d4 + own * d2 * d2) / most;
    girth_m = girth_of((Circles){squares, squared(squares) / fourths});
  }
  const double outer_K = lg_outer_balance(&b->around, girth_m, a->fixed_W_m + heat, a->growth_W_mK);
  if (isinf(outer_K))
    return INFINITY;
  const double bundle_K = lg_passage(&b->around, girth_m, outer_K).bundle_K;
  return bundle_K + a->rise_fixed_K + a->rise_growth * (bundle_K - b->around.ambient_K) +
         heat * a->own_Km_W;
}

typedef struct {
  double by_area, W_m, W_mK, outer2;
} Neighbour;

static int hottest_first(gconstpointer a, gconstpointer b)
{
  const double first = ((const Neighbour *)a)->by_area, second = ((const Neighbour *)b)->by_area;
  return first > second ? -1 : first < second;
}

static int list_neighbours(const LgHeatBundle *b, int i, const double conductor_K[],
                           double bundle_K, Among *a, Neighbour list[])
{
  int n = 0;
  for (int j = 0; j < b->n; j++) {
    const double heat_20 = squared(b->current_A[j]) * b->wires[j].resistance_ohm_m;
    if (j == i || heat_20 <= 0)
      continue;
    const double d2 = squared(b->wires[j].outer_m), slope = heat_20 / COPPER_SPAN_K;
    const double now = slope * (conductor_K[j] - COPPER_ZERO_K);
    list[n++] =
        (Neighbour){heat_20 / d2, now - slope * (bundle_K - b->around.ambient_K), slope, d2};
    const double warmth = heat_20 / pow(d2, 0.3);
    a->warm = MAX(a->warm, warmth);
    a->warm_d2 += warmth * d2;
    a->warm_d4 += warmth * d2 * d2;
  }
  qsort(list, (gsize)n, sizeof *list, hottest_first);
  return n;
}

LgHeatLoss lg_heat_loss_among(const LgHeatBundle *bundle, const double conductor_K[],
                              double bundle_K, int i)
{
  g_autofree Neighbour *list = g_new(Neighbour, (gsize)bundle->n);
  Among a = {.bundle = bundle, .i = i};
  const int n = list_neighbours(bundle, i, conductor_K, bundle_K, &a, list);
  const double whole_m2 = circles_of(bundle->wires, NULL, bundle->n).squares_m2;
  const double between_K = bundle->around.ambient_K + WARMER_K;
  const double spread = 4 * G_PI * lg_bundle_conductivity(bundle->wires, bundle->n, between_K);
  double x0 = squared(bundle->wires[i].outer_m) / whole_m2, log_x0 = log(x0);
  a.own_Km_W = -log_x0 / spread;
  for (int j = 0; j < n; j++) {
    const double x1 = x0 + list[j].outer2 / whole_m2, log_x1 = log(x1);
    const double rise = (1 - log_x1 - x0 * (log_x1 - log_x0) / (x1 - x0)) / spread;
    a.fixed_W_m += list[j].W_m;
    a.growth_W_mK += list[j].W_mK;
    a.rise_fixed_K += rise * list[j].W_m;
    a.rise_growth += rise * list[j].W_mK;
    x0 = x1, log_x0 = log_x1;
  }
  return draw_loss(bundle, surface_among, &a);
}
