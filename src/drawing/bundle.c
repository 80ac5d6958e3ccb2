/* Packing of circles into a circle. */
#include "drawing/bundle.h"
#include "sheet/colour.h"
#include <math.h>

/* One arrangement in work: centres, in the order of radius, the largest first. */
typedef struct {
  int n;
  const double *radius;
  double *x, *y;
} Pile;

/* A small generator of our own, so that every machine draws the same numbers. */
static double noise(guint32 *seed)
{
  *seed = *seed * 1664525u + 1013904223u;
  return (double)(*seed >> 8) / (1 << 24) - 0.5;
}

/* Pushes each overlapping pair apart, the smaller circle further, and pulls in what reaches out of
 * the ring. */
static void squeeze(Pile *pile, double ring)
{
  for (int i = 0; i < pile->n; i++) {
    const double r = pile->radius[i];
    double x = pile->x[i], y = pile->y[i];
    for (int j = 0; j < i; j++) {
      const double both = r + pile->radius[j], dx = x - pile->x[j], dy = y - pile->y[j];
      const double d2 = dx * dx + dy * dy;
      if (d2 >= both * both || d2 == 0)
        continue;
      const double d = sqrt(d2), share = pile->radius[j] / both, push = (both - d) / d;
      x += dx * push * share;
      y += dy * push * share;
      pile->x[j] -= dx * push * (1 - share);
      pile->y[j] -= dy * push * (1 - share);
    }
    const double out = hypot(x, y), room = fmax(ring - r, 0);
    pile->x[i] = out > room ? x * room / out : x;
    pile->y[i] = out > room ? y * room / out : y;
  }
}

/* The factor on all centres that leaves no overlap; the radius of the circle around them then. */
static double blown_up(const Pile *pile, double *factor)
{
  double most = 0, around = 0;
  for (int i = 0; i < pile->n; i++)
    for (int j = 0; j < i; j++) {
      const double d = hypot(pile->x[i] - pile->x[j], pile->y[i] - pile->y[j]);
      most = fmax(most, (pile->radius[i] + pile->radius[j]) / d);
    }
  for (int i = 0; i < pile->n; i++)
    around = fmax(around, most * hypot(pile->x[i], pile->y[i]) + pile->radius[i]);
  *factor = most;
  return around;
}

/* A sunflower's spiral, the largest in the middle or at the rim; stirred a little. */
static void start(Pile *pile, double ring, int number)
{
  guint32 seed = 12345u + 977u * (guint32)number;
  for (int i = 0; i < pile->n; i++) {
    const int place = number % 2 == 0 ? i : pile->n - 1 - i;
    const double away = ring * sqrt((place + 0.5) / pile->n) * 0.8;
    const double angle = place * (number % 4 < 2 ? 2.399963 : 1.0 + 0.37 * number);
    pile->x[i] = away * cos(angle) + 0.3 * ring * noise(&seed) * (number > 1);
    pile->y[i] = away * sin(angle) + 0.3 * ring * noise(&seed) * (number > 1);
  }
}

typedef struct {
  double radius;
  double *x, *y;
} Best;

static void keep(Best *best, const Pile *pile)
{
  double factor;
  const double radius = blown_up(pile, &factor);
  if (!(radius < best->radius))
    return;
  best->radius = radius;
  for (int i = 0; i < pile->n; i++) {
    best->x[i] = factor * pile->x[i];
    best->y[i] = factor * pile->y[i];
  }
}

/* Shrinks the ring from one radius to another in equal steps. */
static void shrink(Pile *pile, Best *best, double from, double to, int steps, int sweeps)
{
  for (int k = 0; k <= steps; k++) {
    for (int s = 0; s < sweeps; s++)
      squeeze(pile, from + (to - from) * k / steps);
    keep(best, pile);
  }
}

static void search(const Pile *pile, Best *best)
{
  double metal = 0;
  for (int i = 0; i < pile->n; i++)
    metal += pile->radius[i] * pile->radius[i];
  /* All area filled: no packing is smaller. */
  const double bound = sqrt(metal);
  const int starts = pile->n <= 24 ? 16 : pile->n <= 64 ? 4 : 2;
  for (int number = 0; number < starts; number++) {
    Best own = {INFINITY, g_new(double, (gsize)pile->n), g_new(double, (gsize)pile->n)};
    Pile work = *pile;
    start(&work, 1.5 * bound, number);
    shrink(&work, &own, 1.6 * bound, 1.02 * bound, 40, 8);
    for (double span = 0.04; span > 1e-4 && isfinite(own.radius); span /= 3) {
      for (int i = 0; i < work.n; i++) {
        work.x[i] = own.x[i];
        work.y[i] = own.y[i];
      }
      shrink(&work, &own, own.radius, own.radius * (1 - span), 10, 20);
    }
    if (own.radius < best->radius * (1 - 1e-9)) {
      best->radius = own.radius;
      for (int i = 0; i < pile->n; i++) {
        best->x[i] = own.x[i];
        best->y[i] = own.y[i];
      }
    }
    g_free(own.x);
    g_free(own.y);
  }
}

static int compare_radius(gconstpointer a, gconstpointer b, gpointer user)
{
  const double *const diameter = user;
  const int i = *(const int *)a, j = *(const int *)b;
  if (diameter[i] != diameter[j])
    return diameter[i] > diameter[j] ? -1 : 1;
  return i - j;
}

/* Two or more circles. */
static void pack(LgPacking *packing, const double diameter[])
{
  const gsize n = (gsize)packing->n;
  g_autofree int *order = g_new(int, n);
  g_autofree double *radius = g_new(double, n), *x = g_new(double, n), *y = g_new(double, n);
  g_autofree double *best_x = g_new(double, n), *best_y = g_new(double, n);
  for (gsize i = 0; i < n; i++)
    order[i] = (int)i;
  g_qsort_with_data(order, (int)n, sizeof *order, compare_radius, (gpointer)diameter);
  for (gsize i = 0; i < n; i++)
    radius[i] = diameter[order[i]] / 2;
  const Pile pile = {(int)n, radius, x, y};
  Best best = {INFINITY, best_x, best_y};
  search(&pile, &best);
  g_assert(isfinite(best.radius));
  for (gsize i = 0; i < n; i++) {
    packing->x[order[i]] = best.x[i];
    packing->y[order[i]] = best.y[i];
  }
  packing->diameter = 2 * best.radius;
}

LgPacking *lg_packing_new(const double diameter[], int n)
{
  LgPacking *const packing = g_new0(LgPacking, 1);
  *packing = (LgPacking){.n = n,
                         .x = g_new0(double, (gsize)n),
                         .y = g_new0(double, (gsize)n),
                         .radius = g_new0(double, (gsize)n)};
  for (int i = 0; i < n; i++) {
    g_assert(diameter[i] > 0 && isfinite(diameter[i]));
    packing->radius[i] = diameter[i] / 2;
  }
  if (n == 1)
    packing->diameter = diameter[0];
  else if (n > 1)
    pack(packing, diameter);
  return packing;
}

void lg_packing_free(LgPacking *packing)
{
  if (packing == NULL)
    return;
  g_free(packing->x);
  g_free(packing->y);
  g_free(packing->radius);
  g_free(packing);
}

/* A band from edge to edge, below the middle, where it leaves room for a name. */
#define STRIPE_FROM 0.32
#define STRIPE_TO 0.74

static void draw_stripe(LgDrawing *drawing, double x, double y, double radius, guint32 ink)
{
  enum { ARC = 6 };
  LgSpot spots[2 * (ARC + 1)];
  const double from = asin(STRIPE_FROM), to = asin(STRIPE_TO);
  for (int k = 0; k <= ARC; k++) {
    const double a = from + (to - from) * k / ARC;
    spots[k] = (LgSpot){x + radius * cos(a), y + radius * sin(a)};
    spots[2 * ARC + 1 - k] = (LgSpot){x - radius * cos(a), y + radius * sin(a)};
  }
  lg_draw_path(drawing, (LgStroke){LG_INK_NONE, ink, 0, 0, 0}, TRUE, spots, 2 * (ARC + 1));
}

static gboolean is_dark(guint32 rgb)
{
  return 0.3 * (rgb >> 16 & 0xff) + 0.59 * (rgb >> 8 & 0xff) + 0.11 * (rgb & 0xff) < 130;
}

static void draw_wire(LgDrawing *drawing, double x, double y, double radius, const char *colour,
                      const char *name)
{
  int base, stripe;
  const gboolean known = colour != NULL && lg_colour_read(colour, &base, &stripe);
  const guint32 rgb = known ? lg_colours[base].rgb : LG_INK_PAPER;
  lg_draw_arc(drawing, (LgStroke){LG_INK_NONE, rgb, 0, 0, 0}, x, y, radius, 0, 360);
  if (known && stripe >= 0)
    draw_stripe(drawing, x, y, radius, lg_colours[stripe].rgb);
  lg_draw_arc(drawing, (LgStroke){LG_INK_DARK, LG_INK_NONE, LG_LINE_MM, 0, 0}, x, y, radius, 0,
              360);
  const double wide = name != NULL ? lg_text_width(name, LG_TEXT_SMALL_MM, FALSE) : INFINITY;
  const double base_line =
      known && stripe >= 0 ? y + 0.2 * LG_TEXT_SMALL_MM : y + 0.36 * LG_TEXT_SMALL_MM;
  if (wide > 1.7 * radius ||
      (known && stripe >= 0 &&
       base_line + LG_TEXT_FALL * LG_TEXT_SMALL_MM > y + STRIPE_FROM * radius))
    return;
  LgLetters letters = lg_letters_small;
  letters.anchor = LG_ANCHOR_MIDDLE;
  letters.ink = is_dark(rgb) ? LG_INK_PAPER : LG_INK_DARK;
  lg_draw_text(drawing, letters, x, base_line, name);
}

void lg_packing_draw(LgDrawing *drawing, const LgPacking *packing, double x, double y, double scale,
                     const char *const colours[], const char *const names[])
{
  for (int i = 0; i < packing->n; i++)
    draw_wire(drawing, x + scale * packing->x[i], y + scale * packing->y[i],
              scale * packing->radius[i], colours[i], names != NULL ? names[i] : NULL);
}
