/* Draws docs/heat-ampacity.svg: our currents and bundle factors beside the published ones.
 *   heat-plot OUT.svg */
#include "heat/published.h"

#include <cairo-svg.h>
#include <math.h>
#include <string.h>

#define INK 0.13, 0.13, 0.15
#define PAPER 0.985, 0.98, 0.965

typedef struct {
  cairo_t *cr;
  double left, top, width, height;
  double x0, x1, y0, y1; /* data range */
  gboolean log_x, log_y;
  double name_y; /* of the last name; 0: none yet */
} Panel;

static double part_of(double v, double from, double to, gboolean is_log)
{
  return is_log ? log(v / from) / log(to / from) : (v - from) / (to - from);
}

static double at_x(const Panel *p, double x)
{
  return p->left + p->width * part_of(x, p->x0, p->x1, p->log_x);
}

static double at_y(const Panel *p, double y)
{
  return p->top + p->height * (1 - part_of(y, p->y0, p->y1, p->log_y));
}

/* `align`: 0 left, 0.5 middle, 1 right of the point. */
static void write_at(cairo_t *cr, double x, double y, double align, double size, const char *text)
{
  cairo_text_extents_t e;
  cairo_set_font_size(cr, size);
  cairo_text_extents(cr, text, &e);
  cairo_move_to(cr, x - align * e.x_advance, y);
  cairo_show_text(cr, text);
}

static void tick_x(const Panel *p, double x, const char *text)
{
  const double px = at_x(p, x);
  cairo_set_line_width(p->cr, 0.4);
  cairo_move_to(p->cr, px, p->top + p->height);
  cairo_line_to(p->cr, px, p->top + p->height + 4);
  cairo_stroke(p->cr);
  write_at(p->cr, px, p->top + p->height + 15, 0.5, 9.5, text);
}

static void tick_y(const Panel *p, double y, const char *text)
{
  const double py = at_y(p, y);
  cairo_set_line_width(p->cr, 0.25);
  cairo_move_to(p->cr, p->left, py);
  cairo_line_to(p->cr, p->left + p->width, py);
  cairo_stroke(p->cr);
  write_at(p->cr, p->left - 6, py + 3.4, 1, 9.5, text);
}

static void frame(const Panel *p, const char *title, const char *x_title)
{
  cairo_set_line_width(p->cr, 0.8);
  cairo_move_to(p->cr, p->left, p->top);
  cairo_line_to(p->cr, p->left, p->top + p->height);
  cairo_line_to(p->cr, p->left + p->width, p->top + p->height);
  cairo_stroke(p->cr);
  write_at(p->cr, p->left, p->top - 14, 0, 11.5, title);
  write_at(p->cr, p->left + p->width / 2, p->top + p->height + 33, 0.5, 10, x_title);
}

/* Five marks that stay apart in grey: ring, disc, open square, filled square, cross. */
static void mark(cairo_t *cr, int kind, double x, double y)
{
  const double r = 2.9;
  cairo_set_line_width(cr, 0.9);
  cairo_new_path(cr);
  if (kind < 2)
    cairo_arc(cr, x, y, r, 0, 2 * G_PI);
  else if (kind < 4)
    cairo_rectangle(cr, x - r, y - r, 2 * r, 2 * r);
  else {
    cairo_move_to(cr, x - r, y - r);
    cairo_line_to(cr, x + r, y + r);
    cairo_move_to(cr, x - r, y + r);
    cairo_line_to(cr, x + r, y - r);
  }
  if (kind == 1 || kind == 3)
    cairo_fill_preserve(cr);
  else if (kind < 4) {
    cairo_set_source_rgb(cr, PAPER);
    cairo_fill_preserve(cr);
    cairo_set_source_rgb(cr, INK);
  }
  cairo_stroke(cr);
}

/* Beside the end of a line, clear of the name before it. */
static void name_line(Panel *p, int kind, double value, const char *text)
{
  const double apart = 12.5;
  double y = at_y(p, value);
  if (p->name_y != 0 && fabs(y - p->name_y) < apart)
    y = p->name_y + (y < p->name_y ? -apart : apart);
  p->name_y = y;
  write_at(p->cr, p->left + p->width + 16, y + 3.4, 0, 9.5, text);
  mark(p->cr, kind, p->left + p->width + 9, y);
}

static double wall_of(const Rows *walls, const char *awg)
{
  for (int i = 0; i < rows_count(walls); i++)
    if (strcmp(rows_text(walls, i, "awg"), awg) == 0)
      return rows_number(walls, i, "wall_mm");
  return 0.76;
}

static void draw_currents(Panel *p)
{
  static const double columns_C[] = {60, 80, 105, 125, 200};
  static const char *const amps[] = {"10", "20", "50", "100", "200", "500"};
  static const struct {
    int awg;
    const char *word;
  } sizes[] = {{18, "18"}, {14, "14"}, {10, "10"}, {6, "6"}, {2, "2"}, {0, "1/0"}, {-3, "4/0"}};
  g_autoptr(Rows) rows = rows_read("ampacity_33cfr183.csv");
  g_autoptr(Rows) walls = rows_read("boat_cable_walls.csv");
  for (guint i = 0; i < G_N_ELEMENTS(amps); i++)
    tick_y(p, g_ascii_strtod(amps[i], NULL), amps[i]);
  for (guint i = 0; i < G_N_ELEMENTS(sizes); i++)
    tick_x(p, awg_wire(sizes[i].awg, 0).copper_m2 * 1e6, sizes[i].word);
  frame(p, "Amperes, two loaded wires together, 30 °C", "size, AWG");
  for (guint c = 0; c < G_N_ELEMENTS(columns_C); c++) {
    double last = 0;
    cairo_new_path(p->cr);
    cairo_set_line_width(p->cr, 0.8);
    for (int w = 0; w < rows_count(walls); w++) {
      const char *awg = rows_text(walls, w, "awg");
      const LgHeatWire wire = awg_wire(rows_awg(walls, w, "awg"), wall_of(walls, awg));
      last = pair_current(&wire, 303.15, 273.15 + columns_C[c]);
      cairo_line_to(p->cr, at_x(p, wire.copper_m2 * 1e6), at_y(p, last));
    }
    cairo_stroke(p->cr);
    g_autofree char *label = g_strdup_printf("%g °C", columns_C[c]);
    name_line(p, (int)c, last, label);
    for (int i = 0; i < rows_count(rows); i++)
      if (rows_number(rows, i, "insulation_temperature_C") == columns_C[c]) {
        const LgHeatWire wire = awg_wire(rows_awg(rows, i, "awg"), 0);
        mark(p->cr, (int)c, at_x(p, wire.copper_m2 * 1e6),
             at_y(p, rows_number(rows, i, "allowable_current_A")));
      }
  }
}

static double factor_of(const LgHeatWire *wire, int n, double loaded)
{
  LgHeatWire wires[20];
  double current_A[20], factor[2];
  for (int above = 0; above < 2; above++) {
    for (int i = 0; i < n; i++) {
      wires[i] = *wire;
      current_A[i] = i < MAX((int)floor(loaded + 1e-9), 1) + above;
    }
    const LgHeatBundle bundle = {wires, current_A, n, lg_bare(333.15), 0};
    factor[above] = lg_bundle_factor(&bundle, 473.15);
  }
  const double part = MAX(loaded, 1) - floor(MAX(loaded, 1) + 1e-9);
  return factor[0] + MAX(part, 0) * (factor[1] - factor[0]);
}

static void draw_factors(Panel *p)
{
  static const int shares[] = {20, 40, 60, 80, 100};
  static const char *const factors[] = {"0.2", "0.4", "0.6", "0.8", "1.0"};
  static const char *const counts[] = {"2", "5", "10", "15", "20"};
  g_autoptr(Rows) rows = rows_read("bundle_derating.csv"), wires = rows_read("aircraft_wires.csv");
  LgHeatWire wire = awg_wire(20, 0);
  for (int i = 0; i < rows_count(wires); i++)
    if (strcmp(rows_text(wires, i, "awg"), "20") == 0) {
      wire.resistance_ohm_m = rows_number(wires, i, "resistance_20C_mohm_per_m") * 1e-3;
      wire.conductor_m = rows_number(wires, i, "conductor_mm") * 1e-3;
      wire.outer_m = rows_number(wires, i, "outer_mm") * 1e-3;
    }
  for (guint i = 0; i < G_N_ELEMENTS(factors); i++)
    tick_y(p, g_ascii_strtod(factors[i], NULL), factors[i]);
  for (guint i = 0; i < G_N_ELEMENTS(counts); i++)
    tick_x(p, g_ascii_strtod(counts[i], NULL), counts[i]);
  frame(p, "Share of the current alone, by share of the wires loaded", "wires in the bundle");
  for (guint s = 0; s < G_N_ELEMENTS(shares); s++) {
    double last = 0;
    cairo_new_path(p->cr);
    cairo_set_line_width(p->cr, 0.8);
    for (int n = 2; n <= 20; n++) {
      last = factor_of(&wire, n, n * shares[s] / 100.0);
      cairo_line_to(p->cr, at_x(p, n), at_y(p, last));
    }
    cairo_stroke(p->cr);
    for (int i = 0; i < rows_count(rows); i++) {
      const double n = rows_number(rows, i, "wires_in_bundle");
      if (n > 1 && rows_number(rows, i, "bundle_loading_percent") == shares[s])
        mark(p->cr, (int)s, at_x(p, n), at_y(p, rows_number(rows, i, "derating_factor")));
    }
    g_autofree char *label = g_strdup_printf("%d %%", shares[s]);
    name_line(p, (int)s, last, label);
  }
}

int main(int argc, char *argv[])
{
  if (argc != 2)
    g_error("heat-plot OUT.svg");
  const double width = 860, height = 400;
  cairo_surface_t *surface = cairo_svg_surface_create(argv[1], width, height);
  cairo_t *cr = cairo_create(surface);
  cairo_set_source_rgb(cr, PAPER);
  cairo_paint(cr);
  cairo_set_source_rgb(cr, INK);
  cairo_select_font_face(cr, "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
  Panel currents = {cr, 46, 44, 330, 290, 0.75, 115, 8, 600, TRUE, TRUE, 0};
  draw_currents(&currents);
  Panel factors = {cr, 486, 44, 310, 290, 1, 20.4, 0.2, 1.05, FALSE, FALSE, 0};
  draw_factors(&factors);
  write_at(cr, 46, 390, 0, 9.5,
           "Lines: heat balance. Marks: left 33 CFR 183.425 Table 5, right MIL-W-5088L / AS50881 "
           "curves (20 AWG, 60 to 200 °C).");
  const cairo_status_t status = cairo_status(cr);
  cairo_destroy(cr);
  cairo_surface_destroy(surface);
  return status != CAIRO_STATUS_SUCCESS;
}
