/* From nodes and links to modes. Massless nodes are eliminated without subtraction (star to mesh),
 * the rest falls into connected parts, each with the eigenvectors of C^-1/2 G C^-1/2. */
#include "time/course-private.h"

#include <gio/gio.h>

/* Dense, over all nodes: the plan's, the slow quantities, the one held at 0. */
typedef struct {
  LgCourse *course;
  int n, n_outputs;
  double *link;       /* [n][n] W/K */
  double *heat;       /* [n][n_outputs] shares */
  double *via;        /* [n][n] massless node's temperature by those left when it went */
  double *rise;       /* [n][n_outputs] and by outputs */
  gboolean *massless; /* [n] */
  gboolean *held;     /* [n] */
  int *part;          /* [n] connected part of nodes with capacity, else -1 */
} Build;

/* A line under construction. */
typedef struct {
  double *mode, *output, *held, plus;
} Dense;

static gboolean moves(const Build *b, int i)
{
  return !b->massless[i] && !b->held[i];
}

static Dense dense_new(const Build *b)
{
  return (Dense){g_new0(double, b->n + 1), g_new0(double, b->n_outputs + 1),
                 g_new0(double, b->n + 1), 0};
}

static void dense_clear(Dense *d)
{
  g_free(d->mode);
  g_free(d->output);
  g_free(d->held);
}

static LgCourseRow pack(LgCourse *course, const double values[], int n)
{
  LgCourseRow row = {0};
  for (int i = 0; i < n; i++)
    row.n += values[i] != 0;
  row.at = lg_course_array(course, int, row.n);
  row.by = lg_course_array(course, double, row.n);
  for (int i = 0, k = 0; i < n; i++)
    if (values[i] != 0) {
      row.at[k] = i;
      row.by[k++] = values[i];
    }
  return row;
}

static LgCourseLine pack_line(LgCourse *course, const Dense *d)
{
  const LgCourseNet *net = &course->net;
  return (LgCourseLine){.mode = pack(course, d->mode, net->n),
                        .output = pack(course, d->output, course->plan.n_outputs),
                        .held = pack(course, d->held, net->n_nodes),
                        .plus = d->plus};
}

static void add_row(double values[], const LgCourseRow *row, double weight)
{
  for (int k = 0; k < row->n; k++)
    values[row->at[k]] += weight * row->by[k];
}

static void add_line(Dense *d, const LgCourseLine *line, double weight)
{
  add_row(d->mode, &line->mode, weight);
  add_row(d->output, &line->output, weight);
  add_row(d->held, &line->held, weight);
  d->plus += weight * line->plus;
}

static void add_link(Build *b, int i, int k, double W_K)
{
  b->link[i * b->n + k] += W_K;
  b->link[k * b->n + i] += W_K;
}

/* Conductance that the bend and the node's own factor add near the usual difference. */
static double shift_of(const LgCourseNode *node)
{
  const double d = fabs(node->works_at_K);
  return node->bends_to < 0 ? 0 : MAX(0, 2 * node->bend[0] * d + 3 * node->bend[1] * d * d);
}

static Build build_new(LgCourse *course)
{
  const LgCoursePlan *plan = &course->plan;
  const int n = course->net.n_nodes, u = plan->n_outputs;
  Build b = {.course = course,
             .n = n,
             .n_outputs = u,
             .link = g_new0(double, n *n),
             .heat = g_new0(double, n *u + 1),
             .via = g_new0(double, n *n),
             .rise = g_new0(double, n *u + 1),
             .massless = g_new0(gboolean, n),
             .held = g_new0(gboolean, n),
             .part = g_new(int, n)};
  for (int i = 0; i < plan->n_nodes; i++) {
    const LgCourseNode *node = &plan->nodes[i];
    b.held[i] = node->held;
    b.massless[i] = !node->held && node->capacity_J_K == 0;
    if (moves(&b, i) && shift_of(node) > 0)
      add_link(&b, i, node->bends_to, shift_of(node));
  }
  b.held[n - 1] = TRUE;
  for (int l = 0; l < plan->n_links; l++)
    if (plan->links[l].a != plan->links[l].b)
      add_link(&b, plan->links[l].a, plan->links[l].b, plan->links[l].W_K);
  for (int s = 0; s < plan->n_slows; s++) {
    const LgCourseSlow *slow = &plan->slows[s];
    b.heat[lg_course_slow_node(course, s) * u + slow->output] += slow->share;
    if (slow->forget_s > 0 && isfinite(slow->forget_s))
      add_link(&b, lg_course_slow_node(course, s), n - 1, 1 / slow->forget_s);
  }
  for (int k = 0; k < plan->n_heats; k++)
    if (plan->nodes[plan->heats[k].node].own_per_K == 0)
      b.heat[plan->heats[k].node * u + plan->heats[k].output] += plan->heats[k].share;
  return b;
}

static void build_clear(Build *b)
{
  g_free(b->link);
  g_free(b->heat);
  g_free(b->via);
  g_free(b->rise);
  g_free(b->massless);
  g_free(b->held);
  g_free(b->part);
}

/* T_m = sum via T_k + rise u; its links and its heat go to its neighbours in proportion. */
static gboolean eliminate(Build *b, int m)
{
  const int n = b->n, u = b->n_outputs;
  double sum = 0;
  for (int k = 0; k < n; k++)
    sum += b->link[m * n + k];
  if (!(sum > 0))
    return FALSE;
  for (int k = 0; k < n; k++)
    b->via[m * n + k] = b->link[m * n + k] / sum;
  for (int o = 0; o < u; o++)
    b->rise[m * u + o] = b->heat[m * u + o] / sum;
  for (int k = 0; k < n; k++) {
    const double share = b->via[m * n + k];
    if (share == 0)
      continue;
    for (int l = 0; l < k; l++)
      if (b->via[m * n + l] > 0)
        add_link(b, k, l, share * b->link[m * n + l]);
    for (int o = 0; o < u; o++)
      b->heat[k * u + o] += share * b->heat[m * u + o];
  }
  for (int k = 0; k < n; k++)
    b->link[m * n + k] = b->link[k * n + m] = 0;
  return TRUE;
}

static void spread_part(Build *b, int i, int part)
{
  b->part[i] = part;
  for (int k = 0; k < b->n; k++)
    if (moves(b, k) && b->part[k] < 0 && b->link[i * b->n + k] > 0)
      spread_part(b, k, part);
}

/* One rotation of Jacobi's: makes a[p][q] 0. */
static void rotate(int n, double *a, double *v, int p, int q)
{
  const double apq = a[p * n + q];
  const double half = (a[q * n + q] - a[p * n + p]) / (2 * apq);
  const double t = (half >= 0 ? 1 : -1) / (fabs(half) + sqrt(half * half + 1));
  const double c = 1 / sqrt(t * t + 1), s = t * c;
  for (int k = 0; k < n; k++) {
    const double kp = a[k * n + p], kq = a[k * n + q];
    a[k * n + p] = c * kp - s * kq;
    a[k * n + q] = s * kp + c * kq;
  }
  for (int k = 0; k < n; k++) {
    const double pk = a[p * n + k], qk = a[q * n + k], vp = v[k * n + p], vq = v[k * n + q];
    a[p * n + k] = c * pk - s * qk;
    a[q * n + k] = s * pk + c * qk;
    v[k * n + p] = c * vp - s * vq;
    v[k * n + q] = s * vp + c * vq;
  }
  a[p * n + q] = a[q * n + p] = 0;
}

/* Eigenvalues into the diagonal of a, eigenvectors into the columns of v. */
static void jacobi(int n, double *a, double *v)
{
  for (int i = 0; i < n * n; i++)
    v[i] = i % (n + 1) == 0;
  for (int sweep = 0; sweep < 60; sweep++) {
    gboolean moved = FALSE;
    for (int p = 0; p < n; p++)
      for (int q = p + 1; q < n; q++)
        if (fabs(a[p * n + q]) > 1e-17 * sqrt(fabs(a[p * n + p] * a[q * n + q]))) {
          rotate(n, a, v, p, q);
          moved = TRUE;
        }
    if (!moved)
      return;
  }
}

/* Modes first .. first + n_part - 1 from the nodes member[] of one part. */
static void solve_part(Build *b, const int member[], int n_part, int first)
{
  LgCourseNet *net = &b->course->net;
  double *a = g_new0(double, n_part *n_part), *v = g_new0(double, n_part *n_part);
  for (int x = 0; x < n_part; x++) {
    const int i = member[x];
    double sum = 0;
    for (int k = 0; k < b->n; k++)
      sum += b->link[i * b->n + k];
    a[x * n_part + x] = sum / net->capacity_J_K[i];
    for (int y = 0; y < n_part; y++)
      if (x != y)
        a[x * n_part + y] = -b->link[i * b->n + member[y]] /
                            sqrt(net->capacity_J_K[i] * net->capacity_J_K[member[y]]);
  }
  jacobi(n_part, a, v);
  for (int x = 0; x < n_part; x++) {
    LgCourseRow row = {n_part, lg_course_array(b->course, int, n_part),
                       lg_course_array(b->course, double, n_part)};
    for (int y = 0; y < n_part; y++) {
      row.at[y] = first + y;
      row.by[y] = v[x * n_part + y] / sqrt(net->capacity_J_K[member[x]]);
    }
    net->node[member[x]] = (LgCourseLine){.mode = row};
  }
  for (int y = 0; y < n_part; y++)
    net->rate[first + y] = MAX(0, a[y * n_part + y]);
  g_free(a);
  g_free(v);
}

static void find_modes(Build *b)
{
  LgCourseNet *net = &b->course->net;
  int parts = 0, *member = g_new(int, b->n);
  for (int i = 0; i < b->n; i++)
    b->part[i] = -1;
  for (int i = 0; i < b->n; i++)
    if (moves(b, i) && b->part[i] < 0)
      spread_part(b, i, parts++);
  net->rate = lg_course_array(b->course, double, b->n);
  for (int part = 0; part < parts; part++) {
    int n = 0;
    for (int i = 0; i < b->n; i++)
      if (b->part[i] == part)
        member[n++] = i;
    solve_part(b, member, n, net->n);
    net->n += n;
  }
  g_free(member);
}

/* The last one eliminated knows only nodes that are left. */
static void find_temperatures(Build *b, const int gone[], int n_gone)
{
  LgCourseNet *net = &b->course->net;
  for (int i = 0; i < b->n; i++)
    if (b->held[i]) {
      Dense d = dense_new(b);
      d.held[i] = 1;
      net->node[i] = pack_line(b->course, &d);
      dense_clear(&d);
    }
  for (int g = n_gone - 1; g >= 0; g--) {
    const int m = gone[g];
    Dense d = dense_new(b);
    for (int k = 0; k < b->n; k++)
      if (b->via[m * b->n + k] > 0)
        add_line(&d, &net->node[k], b->via[m * b->n + k]);
    for (int o = 0; o < b->n_outputs; o++)
      d.output[o] += b->rise[m * b->n_outputs + o];
    net->node[m] = pack_line(b->course, &d);
    dense_clear(&d);
  }
}

/* push_j = sum_i (V_ij / sqrt C_i) (heat of i + sum G T of the held neighbours). */
static void find_pushes(Build *b)
{
  LgCourseNet *net = &b->course->net;
  Dense *d = g_new(Dense, net->n + 1);
  for (int j = 0; j < net->n; j++)
    d[j] = dense_new(b);
  for (int i = 0; i < b->n; i++) {
    const LgCourseRow *row = &net->node[i].mode;
    for (int k = 0; moves(b, i) && k < row->n; k++) {
      for (int o = 0; o < b->n_outputs; o++)
        d[row->at[k]].output[o] += row->by[k] * b->heat[i * b->n_outputs + o];
      for (int h = 0; h < b->n; h++)
        if (b->held[h])
          d[row->at[k]].held[h] += row->by[k] * b->link[i * b->n + h];
    }
  }
  net->push = lg_course_array(b->course, LgCourseLine, net->n);
  for (int j = 0; j < net->n; j++) {
    net->push[j] = pack_line(b->course, &d[j]);
    dense_clear(&d[j]);
  }
  g_free(d);
}

/* Slow quantities store no heat and lose none. */
static void find_balance(Build *b)
{
  LgCourse *course = b->course;
  LgCourseNet *net = &course->net;
  Dense loss = dense_new(b), heat = dense_new(b);
  for (int i = 0; i < course->plan.n_nodes; i++) {
    for (int h = 0; h < course->plan.n_nodes && moves(b, i); h++)
      if (b->held[h] && b->link[i * b->n + h] > 0) {
        add_line(&loss, &net->node[i], b->link[i * b->n + h]);
        loss.held[h] -= b->link[i * b->n + h];
      }
    for (int o = 0; o < b->n_outputs && (moves(b, i) || b->held[i]); o++) {
      heat.output[o] += b->heat[i * b->n_outputs + o];
      if (b->held[i])
        loss.output[o] += b->heat[i * b->n_outputs + o];
    }
  }
  net->loss = pack_line(course, &loss);
  net->heat = pack_line(course, &heat);
  dense_clear(&loss);
  dense_clear(&heat);
}

static void find_own(LgCourse *course)
{
  const LgCoursePlan *plan = &course->plan;
  LgCourseNet *net = &course->net;
  net->own = lg_course_array(course, LgCourseOwn, plan->n_nodes);
  double *heat = g_new(double, plan->n_outputs + 1);
  for (int i = 0; i < plan->n_nodes; i++) {
    const LgCourseNode *node = &plan->nodes[i];
    if (node->held || node->capacity_J_K == 0 || (node->bends_to < 0 && node->own_per_K == 0))
      continue;
    memset(heat, 0, sizeof *heat * (gsize)plan->n_outputs);
    for (int k = 0; k < plan->n_heats; k++)
      if (plan->heats[k].node == i && node->own_per_K != 0)
        heat[plan->heats[k].output] += plan->heats[k].share;
    net->own[net->n_own++] = (LgCourseOwn){.node = i,
                                           .held = node->bends_to,
                                           .bend = {node->bend[0], node->bend[1]},
                                           .shift = shift_of(node),
                                           .own_per_K = node->own_per_K,
                                           .at_K = node->own_at_K,
                                           .heat = pack(course, heat, plan->n_outputs)};
  }
  g_free(heat);
}

static void find_sizes(LgCourse *course)
{
  const LgCoursePlan *plan = &course->plan;
  LgCourseNet *net = &course->net;
  net->capacity_J_K = lg_course_array(course, double, net->n_nodes);
  net->tolerance = lg_course_array(course, double, net->n_nodes);
  for (int i = 0; i < plan->n_nodes; i++) {
    net->capacity_J_K[i] = plan->nodes[i].held ? 0 : plan->nodes[i].capacity_J_K;
    net->tolerance[i] = plan->nodes[i].tolerance_K > 0 ? plan->nodes[i].tolerance_K : 1e-8;
  }
  for (int s = 0; s < plan->n_slows; s++) {
    net->capacity_J_K[lg_course_slow_node(course, s)] = 1;
    net->tolerance[lg_course_slow_node(course, s)] =
        plan->slows[s].tolerance > 0 ? plan->slows[s].tolerance : 1e-9;
  }
}

gboolean lg_course_net_build(LgCourse *course, GError **error)
{
  const LgCoursePlan *plan = &course->plan;
  LgCourseNet *net = &course->net;
  net->n_nodes = plan->n_nodes + plan->n_slows + 1;
  net->node = lg_course_array(course, LgCourseLine, net->n_nodes);
  course->held_K = lg_course_array(course, double, net->n_nodes);
  find_sizes(course);
  Build b = build_new(course);
  int *gone = g_new(int, b.n), n_gone = 0, bad = -1;
  for (int i = 0; i < plan->n_nodes && bad < 0; i++)
    if (b.massless[i]) {
      gone[n_gone++] = i;
      if (!eliminate(&b, i))
        bad = i;
    }
  if (bad < 0) {
    find_modes(&b);
    find_temperatures(&b, gone, n_gone);
    find_pushes(&b);
    find_balance(&b);
    find_own(course);
  } else {
    g_set_error(error, G_IO_ERROR, G_IO_ERROR_INVALID_ARGUMENT,
                "node %d has no heat capacity and no link to anything", bad);
  }
  g_free(gone);
  build_clear(&b);
  return bad < 0;
}

LgCourseLine lg_course_line(LgCourse *course, const LgCourseSum *sum)
{
  const Build sizes = {.n = course->net.n_nodes, .n_outputs = course->plan.n_outputs};
  Dense d = dense_new(&sizes);
  d.plus = sum->plus;
  for (int t = 0; t < sum->n_terms; t++) {
    const LgCourseTerm *term = &sum->terms[t];
    if (term->of == LG_OF_OUTPUT)
      d.output[term->index] += term->weight;
    else
      add_line(&d,
               &course->net.node[term->of == LG_OF_NODE ? term->index
                                                        : lg_course_slow_node(course, term->index)],
               term->weight);
  }
  const LgCourseLine line = pack_line(course, &d);
  dense_clear(&d);
  return line;
}

static void hold(const LgCourse *course, LgCourseLine *line)
{
  line->constant = line->plus;
  for (int k = 0; k < line->held.n; k++)
    line->constant += line->held.by[k] * course->held_K[line->held.at[k]];
}

void lg_course_hold(LgCourse *course)
{
  LgCourseNet *net = &course->net;
  for (int i = 0; i < net->n_nodes; i++)
    hold(course, &net->node[i]);
  for (int j = 0; j < net->n; j++)
    hold(course, &net->push[j]);
  hold(course, &net->loss);
  for (int k = 0; k < course->plan.n_felts; k++)
    hold(course, &course->felt[k]);
  for (int k = 0; k < course->plan.n_switches; k++)
    hold(course, &course->switches[k].line);
  for (int k = 0; k < course->plan.n_watches; k++)
    hold(course, &course->watches[k].line);
}

double lg_course_line_value(const LgCourseLine *line, const double z[], const double u[])
{
  double sum = line->constant;
  for (int k = 0; k < line->mode.n; k++)
    sum += line->mode.by[k] * z[line->mode.at[k]];
  for (int k = 0; k < line->output.n; k++)
    sum += line->output.by[k] * u[line->output.at[k]];
  return sum;
}
