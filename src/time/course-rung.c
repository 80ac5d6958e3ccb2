/* How a mode z' = -rate z + push goes through a step, push being a polynomial of time. */
#include "time/course-private.h"

enum { POINTS = LG_COURSE_POINTS, LANES = LG_COURSE_LANES };

/* Chebyshev-Lobatto points; two moments between them where a polynomial that goes through them may
 * miss most. */
double lg_course_theta(int lane)
{
  if (lane < POINTS)
    return lane == 0 ? 0 : lane == POINTS - 1 ? 1 : 0.5 - 0.5 * cos(G_PI * lane / (POINTS - 1));
  return lane == POINTS ? 0.2 : 0.79;
}

typedef struct {
  double monomial[POINTS][POINTS]; /* [point][power]: Lagrange's polynomials */
  double judge[2][POINTS];         /* their values at the lanes 6 and 7 */
} Basis;

static void multiply(double poly[POINTS], int degree, double zero, double by)
{
  for (int k = degree + 1; k >= 0; k--)
    poly[k] = by * ((k > 0 ? poly[k - 1] : 0) - (k <= degree ? zero * poly[k] : 0));
}

static const Basis *basis(void)
{
  static Basis made;
  static gsize done = 0;
  if (!g_once_init_enter(&done))
    return &made;
  for (int p = 0; p < POINTS; p++) {
    double poly[POINTS] = {1};
    int degree = 0;
    for (int q = 0; q < POINTS; q++)
      if (q != p)
        multiply(poly, degree++, lg_course_theta(q), 1 / (lg_course_theta(p) - lg_course_theta(q)));
    memcpy(made.monomial[p], poly, sizeof poly);
    for (int j = 0; j < 2; j++) {
      made.judge[j][p] = 1;
      for (int q = 0; q < POINTS; q++)
        if (q != p)
          made.judge[j][p] *= (lg_course_theta(POINTS + j) - lg_course_theta(q)) /
                              (lg_course_theta(p) - lg_course_theta(q));
    }
  }
  g_once_init_leave(&done, 1);
  return &made;
}

/* Differences from the first value: what is constant stays so without rounding. */
void lg_course_poly(const LgCourseVec *values, double poly[POINTS])
{
  const Basis *b = basis();
  memset(poly, 0, POINTS * sizeof *poly);
  for (int p = 1; p < POINTS; p++) {
    const double difference = (*values)[p] - (*values)[0];
    for (int k = 1; k < POINTS; k++)
      poly[k] += b->monomial[p][k] * difference;
  }
  poly[0] = (*values)[0];
}

void lg_course_missed(const LgCourseVec *values, double missed[2])
{
  const Basis *b = basis();
  for (int j = 0; j < 2; j++) {
    missed[j] = (*values)[POINTS + j] - (*values)[0];
    for (int p = 1; p < POINTS; p++)
      missed[j] -= b->judge[j][p] * ((*values)[p] - (*values)[0]);
  }
}

static const double PART[LG_COURSE_DEGREE + 1] = {
    0,       1.,      1. / 2,  1. / 3,  1. / 4,  1. / 5,  1. / 6,
    1. / 7,  1. / 8,  1. / 9,  1. / 10, 1. / 11, 1. / 12, 1. / 13,
    1. / 14, 1. / 15, 1. / 16, 1. / 17, 1. / 18, 1. / 19, 1. / 20};

/* With x = rate h: dz/dtheta = -x z + sum poly theta^k. Fast: the polynomial that solves it, from
 * its highest power down, and an exponential. Slow: the power series, where the other way would
 * cancel. */
double lg_course_mode_form(double x, double z0, const double poly[POINTS], int degree,
                           double series[])
{
  if (x >= LG_COURSE_FAST) {
    double above = 0;
    for (int k = POINTS - 1; k >= 0; k--)
      above = series[k] = (poly[k] - (k + 1) * above) / x;
    return z0 - series[0];
  }
  series[0] = z0;
  for (int k = 0; k < POINTS; k++)
    series[k + 1] = (poly[k] - x * series[k]) * PART[k + 1];
  for (int k = POINTS; k < degree; k++)
    series[k + 1] = -x * series[k] * PART[k + 1];
  return 0;
}

static double form_value(double x, double fast, const double series[], int degree, double theta)
{
  double value = 0;
  for (int k = x >= LG_COURSE_FAST ? POINTS - 1 : degree; k >= 0; k--)
    value = value * theta + series[k];
  return fast == 0 ? value : value + fast * exp(-x * theta);
}

/* Least degree at which the series of exp(-x) with the push's own degree is exact. */
static int degree_for(double x)
{
  int degree = POINTS;
  for (double left = x; left > 1e-18 && degree < LG_COURSE_DEGREE; degree++)
    left *= x / (degree - POINTS + 2);
  return degree;
}

static LgCourseRung *rung_new(LgCourse *course, double h)
{
  const Basis *b = basis();
  const LgCourseNet *net = &course->net;
  LgCourseRung *rung = lg_course_array(course, LgCourseRung, 1);
  double most = 0, series[LG_COURSE_DEGREE + 1], poly[POINTS];
  *rung = (LgCourseRung){
      .h = h,
      .decay = lg_course_array(course, LgCourseVec, net->n),
      .weights = lg_course_array(course, LgCourseVec, net->n * POINTS),
  };
  for (int j = 0; j < net->n; j++)
    if (net->rate[j] * h < LG_COURSE_FAST)
      most = MAX(most, net->rate[j] * h);
  rung->degree = degree_for(most);
  for (int j = 0; j < net->n; j++) {
    const double x = net->rate[j] * h;
    for (int l = 0; l < LANES; l++)
      rung->decay[j][l] = exp(-x * lg_course_theta(l));
    for (int p = 0; p < POINTS; p++) {
      for (int k = 0; k < POINTS; k++)
        poly[k] = h * b->monomial[p][k];
      const double fast = lg_course_mode_form(x, 0, poly, rung->degree, series);
      for (int l = 0; l < LANES; l++)
        rung->weights[j * POINTS + p][l] =
            form_value(x, fast, series, rung->degree, lg_course_theta(l));
    }
  }
  return rung;
}

#define SHORTEST_S 1e-9

const LgCourseRung *lg_course_rung(LgCourse *course, int rung)
{
  g_assert(rung >= 0 && rung < LG_COURSE_RUNGS);
  if (course->rungs[rung] == NULL)
    course->rungs[rung] = rung_new(course, SHORTEST_S * exp2(0.5 * rung));
  return course->rungs[rung];
}

int lg_course_rung_of(double h)
{
  const double rung = h > SHORTEST_S ? ceil(2 * log2(h / SHORTEST_S) - 1e-9) : 0;
  return (int)MIN(LG_COURSE_RUNGS - 1, rung);
}
