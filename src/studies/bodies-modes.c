/* The heat network split into independent exponentials. */
#include "studies/bodies-private.h"

/* Turns the pairs x[k * step], y[k * step] by an angle of cosine c and sine s. */
static void turn(int n, int step, double x[], double y[], double c, double s)
{
  for (int k = 0; k < n * step; k += step) {
    const double xk = x[k], yk = y[k];
    x[k] = c * xk - s * yk;
    y[k] = s * xk + c * yk;
  }
}

/* One Jacobi rotation, after which a[p][q] is 0. */
static void rotate(int n, double a[], double v[], int p, int q)
{
  const double apq = a[p * n + q];
  if (apq == 0)
    return;
  const double theta = (a[q * n + q] - a[p * n + p]) / (2 * apq);
  const double t = copysign(1, theta) / (fabs(theta) + sqrt(theta * theta + 1));
  const double c = 1 / sqrt(t * t + 1), s = t * c;
  turn(n, n, a + p, a + q, c, s);
  turn(n, 1, a + p * n, a + q * n, c, s);
  turn(n, n, v + p, v + q, c, s);
}

static gboolean is_diagonal(int n, const double a[])
{
  double off = 0, all = 0;
  for (int i = 0; i < n * n; i++) {
    all += a[i] * a[i];
    off += i % (n + 1) != 0 ? a[i] * a[i] : 0;
  }
  return off <= 1e-30 * all;
}

/* Cyclic Jacobi: a [n][n] symmetric becomes diagonal, v its eigenvectors in columns. */
static void diagonalise(int n, double a[], double v[])
{
  for (int i = 0; i < n * n; i++)
    v[i] = i % (n + 1) == 0;
  for (int sweep = 0; sweep < 60 && !is_diagonal(n, a); sweep++)
    for (int p = 0; p < n; p++)
      for (int q = p + 1; q < n; q++)
        rotate(n, a, v, p, q);
}

static void add(double a[], int n, int i, int j, double value)
{
  if (i >= 0 && j >= 0)
    a[i * n + j] += value;
}

/* C^-1/2 G C^-1/2 over the free bodies. */
static void conductances(const LgHeatBody bodies[], int n, const int index[], int n_free,
                         double a[])
{
  for (int i = 0; i < n; i++) {
    const LgHeatBody *const body = &bodies[i];
    add(a, n_free, index[i], index[i], body->loss_W_K);
    if (body->touches < 0)
      continue;
    const int k = index[body->touches];
    add(a, n_free, index[i], index[i], body->through_W_K);
    add(a, n_free, k, k, body->through_W_K);
    add(a, n_free, index[i], k, -body->through_W_K);
    add(a, n_free, k, index[i], -body->through_W_K);
  }
}

LgModes *lg_modes_new(const LgHeatBody bodies[], int n)
{
  LgModes *const m = g_new0(LgModes, 1);
  g_autofree int *index = g_new(int, (gsize)n + 1);
  m->free = g_new(int, (gsize)n + 1);
  for (int i = 0; i < n; i++) {
    index[i] = isnan(bodies[i].held_K) ? m->n_free : -1;
    if (index[i] >= 0)
      m->free[m->n_free++] = i;
  }
  const int f = m->n_free;
  const gsize square = (gsize)(f * f) + 1;
  g_autofree double *a = g_new0(double, square), *v = g_new0(double, square);
  conductances(bodies, n, index, f, a);
  for (int i = 0; i < f; i++)
    for (int j = 0; j < f; j++)
      a[i * f + j] /= sqrt(bodies[m->free[i]].capacity_J_K * bodies[m->free[j]].capacity_J_K);
  diagonalise(f, a, v);
  m->rate = g_new(double, (gsize)f + 1);
  m->shape = g_new(double, square);
  m->to_mode = g_new(double, square);
  for (int i = 0; i < f; i++) {
    const double root = sqrt(bodies[m->free[i]].capacity_J_K);
    m->rate[i] = a[i * f + i];
    for (int k = 0; k < f; k++) {
      m->shape[i * f + k] = v[i * f + k] / root;
      m->to_mode[k * f + i] = v[i * f + k] * root;
    }
  }
  return m;
}

void lg_modes_free(LgModes *m)
{
  g_free(m->free);
  g_free(m->rate);
  g_free(m->shape);
  g_free(m->to_mode);
  g_free(m);
}

void lg_modes_of(const LgBodies *bodies, const double at_K[], double mode[])
{
  const LgModes *const m = bodies->modes;
  for (int k = 0; k < m->n_free; k++) {
    mode[k] = 0;
    for (int i = 0; i < m->n_free; i++)
      mode[k] += m->to_mode[k * m->n_free + i] * at_K[m->free[i]];
  }
}

/* Watts that a free body gets from outside of the free ones. */
static double drive_W(const LgBodies *bodies, const double watts[], double ambient_K, int body)
{
  const LgHeatBody *const b = &bodies->bodies[body];
  double sum = watts[body] + b->loss_W_K * ambient_K;
  if (b->touches >= 0 && !isnan(bodies->bodies[b->touches].held_K))
    sum += b->through_W_K * bodies->bodies[b->touches].held_K;
  for (int i = 0; i < bodies->n; i++)
    if (bodies->bodies[i].touches == body && !isnan(bodies->bodies[i].held_K))
      sum += bodies->bodies[i].through_W_K * bodies->bodies[i].held_K;
  return sum;
}

void lg_modes_end(const LgBodies *bodies, const double watts[], double ambient_K, double end[])
{
  const LgModes *const m = bodies->modes;
  for (int k = 0; k < m->n_free; k++)
    end[k] = 0;
  for (int i = 0; i < m->n_free; i++) {
    const double drive = drive_W(bodies, watts, ambient_K, m->free[i]);
    for (int k = 0; k < m->n_free; k++)
      end[k] += m->shape[i * m->n_free + k] * drive;
  }
  for (int k = 0; k < m->n_free; k++)
    end[k] /= m->rate[k];
}

static int free_index(const LgModes *m, int body)
{
  for (int i = 0; i < m->n_free; i++)
    if (m->free[i] == body)
      return i;
  return -1;
}

double lg_modes_parts(const LgBodies *bodies, const double start[], const double end[],
                      double seconds, int body, double part[])
{
  const LgModes *const m = bodies->modes;
  const int i = free_index(m, body);
  double end_K = i < 0 ? bodies->bodies[body].held_K : 0;
  for (int k = 0; k < m->n_free; k++) {
    const double shape = i < 0 ? 0 : m->shape[i * m->n_free + k];
    end_K += shape * end[k];
    part[k] = shape * (start[k] - end[k]) * exp(-m->rate[k] * seconds);
  }
  return end_K;
}

double lg_modes_body(const LgBodies *bodies, const double start[], const double end[],
                     double seconds, int body)
{
  const LgModes *const m = bodies->modes;
  const int i = free_index(m, body);
  if (i < 0)
    return bodies->bodies[body].held_K;
  double sum = 0;
  for (int k = 0; k < m->n_free; k++)
    sum +=
        m->shape[i * m->n_free + k] * (end[k] + (start[k] - end[k]) * exp(-m->rate[k] * seconds));
  return sum;
}

double lg_modes_reach(const LgBodies *bodies, const double start[], const double end[],
                      double seconds, int body)
{
  const LgModes *const m = bodies->modes;
  const int i = free_index(m, body);
  double sum = 0;
  for (int k = 0; k < m->n_free && i >= 0; k++)
    sum += fabs(m->shape[i * m->n_free + k] * (start[k] - end[k])) * exp(-m->rate[k] * seconds);
  return sum;
}
