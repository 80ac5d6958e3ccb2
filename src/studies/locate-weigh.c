/* Bayes: what was seen against what each suspect would show. */
#include "studies/locate-private.h"

/* A digit of the range that a meter of 2000 counts takes, two digits off: common practice. */
#define VOLT_DIGIT 0.01
#define LOW_VOLT_DIGIT 0.001
#define OHM_DIGIT 0.1
/* What the sheet may be off: batteries by charge, loads and wires by their tolerance. */
#define SHEET_OFF 0.03
#define SHEET_OFF_V 0.02
#define SHEET_OFF_LOG_OHM 0.15
/* Where the leads touch: common practice, no source. */
#define TOUCH_OHM 0.05
/* One reading in a hundred is taken at the wrong pin, or written down wrong. */
#define WRONG 0.01

double lg_view_figure(LgLocator *l, const LgView *view, const LgSign *sign, int row)
{
  if (sign->kind == LG_SIGN_VOLTS) {
    const double *const volts = view->volts + lg_view_row(view, row) * (gsize)l->n_nodes;
    const double v =
        volts[l->circuit->pin_node[sign->pin[0]]] - volts[l->circuit->pin_node[sign->pin[1]]];
    return isnan(v) ? 0 : v; /* the meter itself draws a floating pin to its other lead */
  }
  const int load = l->load_of[sign->load];
  const double healthy = lg_locator_view(l, sign->position, 0, LG_SOLVED_WATTS)->watts[load];
  const double full = healthy > 0.05 * l->most_W[load] ? healthy : l->most_W[load];
  return view->watts[lg_view_row(view, row) * (gsize)l->n_loads + (gsize)load] / fmax(full, 1e-12);
}

static LgSolved look_for(const LgSign *sign)
{
  return sign->kind == LG_SIGN_RUNS ? LG_SOLVED_WATTS : LG_SOLVED_ALL;
}

double lg_sign_figure(LgLocator *l, const LgSign *sign, int row)
{
  if (sign->kind != LG_SIGN_OHMS)
    return lg_view_figure(l, lg_locator_view(l, sign->position, row, look_for(sign)), sign, row);
  const LgOhmView *view = lg_ohm_view(l, sign->pin[0], sign->pin[1], sign->position);
  if (isnan(view->ohm[row]))
    view = lg_locator_ohms(l, sign->pin[0], sign->pin[1], sign->position, NULL);
  return isinf(view->ohm[row]) ? LG_OPEN_FIGURE : log(fmax(view->ohm[row], 1e-3));
}

double lg_sign_spread(const LgSign *sign, double predicted)
{
  const double value = isnan(sign->value) ? predicted : sign->value;
  if (sign->kind == LG_SIGN_VOLTS) {
    const double digit = 2 * (fabs(value) < 2 ? LOW_VOLT_DIGIT : VOLT_DIGIT);
    return hypot(hypot(sign->tolerance * value, digit), hypot(SHEET_OFF * predicted, SHEET_OFF_V));
  }
  if (sign->kind == LG_SIGN_OHMS) {
    const double ohm = exp(predicted);
    return hypot(hypot(sign->tolerance, (TOUCH_OHM + 2 * OHM_DIGIT) / fmax(ohm, 0.1)),
                 SHEET_OFF_LOG_OHM);
  }
  return 0.15;
}

static double normal(double x)
{
  return 0.5 * erfc(-x / G_SQRT2);
}

/* How likely people call it so, by its share of healthy power: below a tenth they say that it does
 * not run, from three fifths on that it runs. Common practice, no source. */
static double runs_likelihood(LgRuns said, double share)
{
  const double x = log(fmax(share, 1e-4));
  const double shows = normal((x - log(0.1)) / 0.4), well = normal((x - log(0.6)) / 0.25);
  return said == LG_RUNS_NOT ? 1 - shows : said == LG_RUNS_WELL ? shows * well : shows * (1 - well);
}

double lg_sign_log_likelihood(const LgSign *sign, double predicted)
{
  if (sign->kind == LG_SIGN_RUNS)
    return log((1 - WRONG) * runs_likelihood((LgRuns)sign->value, predicted) + WRONG / LG_N_RUNS);
  if (sign->kind == LG_SIGN_OHMS && (isinf(sign->value) || predicted >= LG_OPEN_FIGURE))
    return log(isinf(sign->value) && predicted >= LG_OPEN_FIGURE - 3 ? 1 - WRONG : WRONG / 20);
  const double value = sign->kind == LG_SIGN_OHMS ? log(fmax(sign->value, TOUCH_OHM)) : sign->value;
  const double from = sign->kind == LG_SIGN_OHMS ? log(exp(predicted) + TOUCH_OHM) : predicted;
  const double spread = lg_sign_spread(sign, from), r = (value - from) / spread;
  return log((1 - WRONG) * exp(-r * r / 2) / (spread * sqrt(2 * G_PI)) + WRONG / 30);
}

/* ---- A suspect's whole weight, over the sizes that it may have. ---- */

typedef struct {
  const LgSign *signs;
  int n_signs;
  const double *figure; /* [n_rows][n_signs] */
} Weighing;

static double figure_at(const Weighing *w, int row, int next, double t, int sign)
{
  const double a = w->figure[row * w->n_signs + sign];
  return row == next ? a : a + t * (w->figure[next * w->n_signs + sign] - a);
}

static double log_likelihood_at(const Weighing *w, int row, int next, double t)
{
  double sum = 0;
  for (int s = 0; s < w->n_signs; s++)
    sum += lg_sign_log_likelihood(&w->signs[s], figure_at(w, row, next, t, s));
  return sum;
}

/* Where a straight line of figures explains the signs best: each sign's own best place is tried. */
static double best_place(const Weighing *w, int row, int next, double *log_likelihood)
{
  double best_t = 0.5, best = log_likelihood_at(w, row, next, 0.5);
  for (int s = -2; s < w->n_signs; s++) {
    double t = s + 2;
    if (s >= 0) {
      const double a = figure_at(w, row, row, 0, s), d = figure_at(w, next, next, 0, s) - a;
      const double value =
          w->signs[s].kind == LG_SIGN_OHMS ? log(fmax(w->signs[s].value, 1e-3)) : w->signs[s].value;
      if (w->signs[s].kind == LG_SIGN_RUNS || fabs(d) < 1e-9)
        continue;
      t = CLAMP((value - a) / d, 0, 1);
    }
    const double here = log_likelihood_at(w, row, next, t);
    if (here > best) {
      best = here;
      best_t = t;
    }
  }
  *log_likelihood = best;
  return best_t;
}

/* The share of the way between two sizes on which the signs are explained about as well as at the
 * best place: 1 where they hardly differ. */
static double width(const Weighing *w, int row, int next, double t)
{
  double sum = 0;
  for (int s = 0; s < w->n_signs; s++) {
    if (w->signs[s].kind == LG_SIGN_RUNS)
      continue;
    const double here = figure_at(w, row, next, t, s), spread = lg_sign_spread(&w->signs[s], here);
    const double d = (figure_at(w, next, next, 0, s) - figure_at(w, row, row, 0, s)) / spread;
    if (fabs(w->signs[s].value - here) < 4 * spread)
      sum += d * d;
  }
  return fmin(1, sqrt(2 * G_PI / fmax(sum, 1e-12)));
}

static void weigh_suspect(const Weighing *w, const LgSuspect *suspect, int index, GArray *pieces)
{
  LgPiece piece = {.suspect = index};
  double log_likelihood = 0;
  for (int i = 0; i < MAX(suspect->n - 1, 1); i++) {
    piece.row[0] = suspect->first + i;
    piece.row[1] = suspect->n > 1 ? piece.row[0] + 1 : piece.row[0];
    piece.t = 0;
    if (suspect->n > 1) {
      piece.t = best_place(w, piece.row[0], piece.row[1], &log_likelihood);
      log_likelihood += log(width(w, piece.row[0], piece.row[1], piece.t) / (suspect->n - 1));
    } else
      log_likelihood = log_likelihood_at(w, piece.row[0], piece.row[1], 0);
    piece.weight = log(suspect->prior) + log_likelihood;
    g_array_append_val(pieces, piece);
  }
}

static double normalise(GArray *pieces)
{
  double most = -INFINITY, sum = 0;
  for (guint i = 0; i < pieces->len; i++)
    most = fmax(most, g_array_index(pieces, LgPiece, i).weight);
  for (guint i = 0; i < pieces->len; i++)
    sum += g_array_index(pieces, LgPiece, i).weight =
        exp(g_array_index(pieces, LgPiece, i).weight - most);
  for (guint i = 0; i < pieces->len; i++)
    g_array_index(pieces, LgPiece, i).weight /= sum;
  return most + log(sum);
}

double lg_piece_size(const LgLocator *l, const LgPiece *piece)
{
  const double a = g_array_index(l->rows, LgRow, piece->row[0]).size,
               b = g_array_index(l->rows, LgRow, piece->row[1]).size;
  return piece->row[0] == piece->row[1] ? a : exp(log(a) + piece->t * (log(b) - log(a)));
}

GArray *lg_locator_weigh(LgLocator *l, const LgSign signs[], int n_signs, double *log_sum)
{
  g_autofree double *figure = g_new(double, (gsize)l->n_rows *(gsize)n_signs + 1);
  g_autofree const int **positions = g_new(const int *, (gsize)n_signs + 1);
  int n_live = 0;
  LgSolved look = LG_SOLVED_WATTS;
  for (int s = 0; s < n_signs; s++)
    if (signs[s].kind != LG_SIGN_OHMS) {
      positions[n_live++] = signs[s].position;
      look = MAX(look, look_for(&signs[s]));
    }
  lg_locator_look(l, positions, n_live, NULL, look);
  for (int s = 0; s < n_signs; s++)
    for (int r = 0; r < l->n_rows; r++)
      figure[r * n_signs + s] = lg_sign_figure(l, &signs[s], r);
  const Weighing w = {.signs = signs, .n_signs = n_signs, .figure = figure};
  GArray *const pieces = g_array_new(FALSE, FALSE, sizeof(LgPiece));
  for (guint i = 0; i < l->n_single; i++)
    weigh_suspect(&w, &g_array_index(l->suspects, LgSuspect, i), (int)i, pieces);
  const double sum = normalise(pieces);
  if (log_sum != NULL)
    *log_sum = sum;
  return pieces;
}
