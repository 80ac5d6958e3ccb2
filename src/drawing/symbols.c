/* Symbols of devices on an upright path. Every one has its connections at (x, y) and
 * (x, y + height); M is the grid of 2.5 mm. Geometry: memory of IEC 60617. */
#include "drawing/symbols.h"

#define M 2.5
#define BOX_WIDTH M
#define BOX_HEIGHT (3 * M)

static LgStroke pen(const LgSymbol *symbol)
{
  LgStroke stroke = lg_stroke_line;
  stroke.fill = LG_INK_PAPER;
  stroke.weight = symbol->live ? 0.55 : LG_LINE_MM;
  return stroke;
}

static LgStroke line_pen(const LgSymbol *symbol)
{
  LgStroke stroke = pen(symbol);
  stroke.fill = LG_INK_NONE;
  return stroke;
}

static void letter(LgDrawing *drawing, double x, double y, double size, const char *text)
{
  LgLetters letters = lg_letters_bold;
  letters.size = size;
  letters.anchor = LG_ANCHOR_MIDDLE;
  lg_draw_text(drawing, letters, x, y, text);
}

static void box(LgDrawing *drawing, const LgSymbol *symbol, double x, double y, double width,
                double height)
{
  const LgBox outline = {x - width / 2, y, x + width / 2, y + height};
  lg_draw_box(drawing, pen(symbol), outline);
}

/* Cell: the long thin line is plus. Drawn with the sheet's first pin, plus, on top unless flipped.
 */
static void draw_cell(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  const double gap = 0.5 * M, lead = 0.75 * M;
  const LgStroke thin = line_pen(symbol);
  LgStroke thick = thin;
  thick.weight = 0.7;
  for (int i = 0; i < 2; i++) {
    const double top = y + lead + i * 2 * gap;
    const double plus = symbol->flipped ? top + gap : top,
                 minus = symbol->flipped ? top : top + gap;
    lg_draw_segment(drawing, thin, x - M, plus, x + M, plus);
    lg_draw_segment(drawing, thick, x - 0.5 * M, minus, x + 0.5 * M, minus);
  }
  lg_draw_segment(drawing, thin, x, y, x, y + lead);
  lg_draw_segment(drawing, thin, x, y + lead + 3 * gap, x, y + 2 * lead + 3 * gap);
  LgStroke dashed = thin;
  dashed.dash = 0.35;
  dashed.gap = 0.35;
  lg_draw_segment(drawing, dashed, x, y + lead + gap, x, y + lead + 2 * gap);
}

static void round_machine(LgDrawing *drawing, const LgSymbol *symbol, double x, double y,
                          const char *text)
{
  const double radius = 2 * M;
  lg_draw_arc(drawing, pen(symbol), x, y + radius, radius, 0, 360);
  letter(drawing, x, y + radius + 0.5, 3.6, text);
  LgStroke thin = lg_stroke_line;
  lg_draw_segment(drawing, thin, x - 1.3, y + radius + 1.9, x + 1.3, y + radius + 1.9);
  thin.dash = 0.6;
  thin.gap = 0.4;
  lg_draw_segment(drawing, thin, x - 1.3, y + radius + 2.6, x + 1.3, y + radius + 2.6);
}

static void draw_generator(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  round_machine(drawing, symbol, x, y, "G");
}

static void draw_motor(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  round_machine(drawing, symbol, x, y, "M");
}

/* Motor with its work outside the circle: blades of a fan, chevron of a pump. */
static void draw_fan(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  const double hub = x + 3.2 * M, middle = y + 2 * M;
  round_machine(drawing, symbol, x, y, "M");
  lg_draw_segment(drawing, line_pen(symbol), x + 2 * M, middle, hub, middle);
  const LgSpot blades[] = {{hub - 0.9, middle - 2},
                           {hub + 0.9, middle - 2},
                           {hub - 0.9, middle + 2},
                           {hub + 0.9, middle + 2}};
  lg_draw_path(drawing, pen(symbol), TRUE, blades, 4);
}

static void draw_pump(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  const double wheel = x + 3.3 * M, middle = y + 2 * M;
  round_machine(drawing, symbol, x, y, "M");
  lg_draw_segment(drawing, line_pen(symbol), x + 2 * M, middle, wheel - 1.7, middle);
  lg_draw_arc(drawing, pen(symbol), wheel, middle, 1.7, 0, 360);
  const LgSpot flow[] = {
      {wheel - 1.2, middle + 1.2}, {wheel, middle - 1.7}, {wheel + 1.2, middle + 1.2}};
  lg_draw_path(drawing, line_pen(symbol), FALSE, flow, 3);
}

static void draw_supply(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  box(drawing, symbol, x, y, 4 * M, 3 * M);
  letter(drawing, x, y + 1.9 * M, 3.6, "G");
}

static void draw_fuse(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  box(drawing, symbol, x, y, BOX_WIDTH, BOX_HEIGHT);
  lg_draw_segment(drawing, line_pen(symbol), x, y, x, y + BOX_HEIGHT);
}

/* Closed contact that a current over its limit opens: the cross marks a breaker. */
static void draw_breaker(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  const LgStroke stroke = line_pen(symbol);
  lg_draw_segment(drawing, stroke, x, y, x, y + 0.8 * M);
  lg_draw_segment(drawing, stroke, x - 0.8, y + 0.8 * M - 0.8, x + 0.8, y + 0.8 * M + 0.8);
  lg_draw_segment(drawing, stroke, x + 0.8, y + 0.8 * M - 0.8, x - 0.8, y + 0.8 * M + 0.8);
  lg_draw_segment(drawing, stroke, x, y + 2.4 * M, x - 0.9 * M, y + 1.0 * M);
  const LgSpot heat[] = {{x, y + 2.4 * M},       {x, y + 2.7 * M}, {x + 1.2, y + 2.7 * M},
                         {x + 1.2, y + 3.2 * M}, {x, y + 3.2 * M}, {x, y + 4 * M}};
  lg_draw_path(drawing, stroke, FALSE, heat, 6);
}

static void draw_link(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  lg_draw_segment(drawing, line_pen(symbol), x, y, x, y + 2 * M);
}

static void draw_resistor(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  box(drawing, symbol, x, y, BOX_WIDTH, BOX_HEIGHT);
}

static void draw_heater(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  draw_resistor(drawing, symbol, x, y);
  for (int i = 1; i < 4; i++)
    lg_draw_segment(drawing, line_pen(symbol), x - BOX_WIDTH / 2, y + i * BOX_HEIGHT / 4,
                    x + BOX_WIDTH / 2, y + i * BOX_HEIGHT / 4);
}

static void draw_thermistor(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  const double middle = y + BOX_HEIGHT / 2, reach = 1.1 * M;
  draw_resistor(drawing, symbol, x, y);
  const LgSpot slash[] = {{x - reach - 0.6 * M, middle + reach},
                          {x - reach, middle + reach},
                          {x + reach, middle - reach}};
  lg_draw_path(drawing, line_pen(symbol), FALSE, slash, 3);
  LgLetters small = lg_letters_small;
  small.ink = LG_INK_DARK;
  small.anchor = LG_ANCHOR_END;
  lg_draw_text(drawing, small, x - BOX_WIDTH / 2 - 0.5, middle - 1, "-t");
}

static void draw_lamp(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  const double radius = 1.5 * M, part = radius * 0.7071;
  LgStroke filled = pen(symbol);
  if (symbol->live)
    filled.fill = 0xf6e7a8;
  lg_draw_arc(drawing, filled, x, y + radius, radius, 0, 360);
  lg_draw_segment(drawing, line_pen(symbol), x - part, y + radius - part, x + part,
                  y + radius + part);
  lg_draw_segment(drawing, line_pen(symbol), x + part, y + radius - part, x - part,
                  y + radius + part);
}

/* Triangle and bar; current flows along `down`. */
static void diode(LgDrawing *drawing, const LgSymbol *symbol, double x, double y, double side,
                  gboolean down)
{
  const double high = side * 0.866, base = down ? y : y + high, point = down ? y + high : y;
  const LgSpot triangle[] = {{x - side / 2, base}, {x + side / 2, base}, {x, point}};
  lg_draw_path(drawing, pen(symbol), TRUE, triangle, 3);
  lg_draw_segment(drawing, line_pen(symbol), x - side / 2, point, x + side / 2, point);
  lg_draw_segment(drawing, line_pen(symbol), x, y, x, y + high);
}

static void draw_diode(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  lg_draw_segment(drawing, line_pen(symbol), x, y, x, y + M);
  diode(drawing, symbol, x, y + M, 2 * M, !symbol->flipped);
  lg_draw_segment(drawing, line_pen(symbol), x, y + M + 2 * M * 0.866, x, y + 4 * M);
}

static void draw_led(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  draw_diode(drawing, symbol, x, y);
  for (int i = 0; i < 2; i++) {
    const double from_x = x + 1.25 * M, from_y = y + 1.7 * M + i * 0.7 * M;
    lg_draw_segment(drawing, line_pen(symbol), from_x, from_y, from_x + 1.5, from_y - 1.1);
    const LgSpot head[] = {{from_x + 2.1, from_y - 1.54},
                           {from_x + 1.75, from_y - 0.75},
                           {from_x + 1.2, from_y - 1.4}};
    lg_draw_path(drawing, lg_stroke_solid, TRUE, head, 3);
  }
}

static void draw_buzzer(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  const double radius = 1.5 * M;
  const LgSpot ends[] = {
      {x, y},         {x, y + M},    {x - radius, y + M}, {x - radius, y + 3 * M},
      {x, y + 3 * M}, {x, y + 4 * M}};
  lg_draw_path(drawing, line_pen(symbol), FALSE, ends, 6);
  lg_draw_arc(drawing, pen(symbol), x - radius, y + 2 * M, radius, -90, 90);
  lg_draw_segment(drawing, line_pen(symbol), x - radius, y + 2 * M - radius, x - radius,
                  y + 2 * M + radius);
}

static void draw_electronic(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  box(drawing, symbol, x, y, 4 * M, 3 * M);
  /* A transistor's bar and legs stand for electronics inside. */
  const double middle = y + 1.5 * M;
  const LgStroke stroke = lg_stroke_line;
  lg_draw_segment(drawing, stroke, x - 0.6, middle - 1.7, x - 0.6, middle + 1.7);
  lg_draw_segment(drawing, stroke, x - 2.6, middle, x - 0.6, middle);
  lg_draw_segment(drawing, stroke, x - 0.6, middle - 0.8, x + 1.8, middle - 2.2);
  lg_draw_segment(drawing, stroke, x - 0.6, middle + 0.8, x + 1.8, middle + 2.2);
}

static void coil_box(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  box(drawing, symbol, x, y + M / 2, 4 * M, 2 * M);
  if (symbol->pulled) {
    const LgBox core = {x - 1.5 * M, y + M, x + 1.5 * M, y + 2 * M};
    lg_draw_box(drawing, lg_stroke_solid, core);
  }
  lg_draw_segment(drawing, line_pen(symbol), x, y, x, y + M / 2);
  lg_draw_segment(drawing, line_pen(symbol), x, y + 2.5 * M, x, y + 3 * M);
}

/* What stands across the coil, to its right. */
static void draw_coil(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  const double side = x + 2.8 * M;
  coil_box(drawing, symbol, x, y);
  if (symbol->suppression == LG_SUPPRESS_NONE)
    return;
  const LgSpot branch[] = {{x, y}, {side, y}, {side, y + 3 * M}, {x, y + 3 * M}};
  lg_draw_path(drawing, line_pen(symbol), FALSE, branch, 4);
  if (symbol->suppression == LG_SUPPRESS_RESISTOR)
    box(drawing, symbol, side, y + 0.6 * M, 1.3, 1.8 * M);
  else /* blocks at the coil's right polarity: its point looks to plus, the coil's first pin */
    diode(drawing, symbol, side, y + 1.1 * M, 2.2, symbol->flipped);
}

/* Winding with the armature that it pulls. */
static void draw_solenoid(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  coil_box(drawing, symbol, x, y);
  LgStroke dashed = lg_stroke_thin;
  dashed.dash = 0.8;
  dashed.gap = 0.5;
  lg_draw_segment(drawing, dashed, x + 2 * M, y + 1.5 * M, x + 2.8 * M, y + 1.5 * M);
  const LgBox armature = {x + 2.8 * M, y + 0.9 * M, x + 3.3 * M, y + 2.1 * M};
  lg_draw_box(drawing, pen(symbol), armature);
}

void lg_symbol_worked(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  const double end = x - 2.4 * M;
  LgStroke dashed = lg_stroke_thin;
  dashed.dash = 0.8;
  dashed.gap = 0.5;
  if (symbol->worked == LG_WORKED_BY_NOTHING)
    return;
  lg_draw_segment(drawing, dashed, x - 0.45 * M, y, end, y);
  const LgSpot bar[] = {{end, y - 1}, {end, y + 1}};
  const LgSpot bracket[] = {
      {end + 0.9, y - 1.1}, {end, y - 1.1}, {end, y + 1.1}, {end + 0.9, y + 1.1}};
  const LgSpot hook[] = {
      {end - 0.9, y + 1.1}, {end, y + 1.1}, {end, y - 1.1}, {end + 0.9, y - 1.1}};
  const LgSpot heat[] = {{end, y - 1.4},     {end, y - 0.6}, {end - 1, y - 0.6},
                         {end - 1, y + 0.6}, {end, y + 0.6}, {end, y + 1.4}};
  switch (symbol->worked) {
  case LG_WORKED_BY_HAND:
    lg_draw_path(drawing, lg_stroke_line, FALSE, bar, 2);
    break;
  case LG_WORKED_BY_PUSH:
    lg_draw_path(drawing, lg_stroke_line, FALSE, bracket, 4);
    break;
  case LG_WORKED_BY_TURN:
    lg_draw_path(drawing, lg_stroke_line, FALSE, hook, 4);
    break;
  case LG_WORKED_BY_HEAT:
    lg_draw_path(drawing, lg_stroke_line, FALSE, heat, 6);
    break;
  case LG_WORKED_BY_COIL: {
    const LgBox coil = {end - 1.2, y - 0.9, end, y + 0.9};
    lg_draw_box(drawing, pen(symbol), coil);
    break;
  }
  case LG_WORKED_BY_NOTHING:
    break;
  }
}

/* A break contact has a hook on its upper stub, so that the blade can lie against it from the
 * right; a make contact has none. Moving contacts move from left to right. */
static void draw_contact(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  const LgStroke stroke = line_pen(symbol);
  const double pivot = y + 3 * M, stub = y + M;
  lg_draw_segment(drawing, stroke, x, y, x, stub);
  lg_draw_segment(drawing, stroke, x, pivot, x, y + 4 * M);
  if (symbol->breaks) {
    lg_draw_segment(drawing, stroke, x, stub, x + M, stub);
    lg_draw_segment(drawing, stroke, x, pivot, symbol->closed ? x + 1.2 * M : x + 1.5 * M,
                    symbol->closed ? y + 0.6 * M : y + 0.9 * M);
  } else {
    lg_draw_segment(drawing, stroke, x, pivot, symbol->closed ? x : x - M,
                    symbol->closed ? stub : y + 1.2 * M);
  }
  lg_symbol_worked(drawing, symbol, symbol->breaks ? x + M : x, y + 2.1 * M);
}

static void draw_thermostat(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  draw_contact(drawing, symbol, x, y);
}

typedef struct {
  void (*draw)(LgDrawing *, const LgSymbol *, double, double);
  LgSymbolSize size;
} Form;

static const Form forms[LG_N_ELEMENT_KINDS] = {
    [LG_EL_CELL] = {draw_cell, {3 * M, M, M}},
    [LG_EL_ALTERNATOR] = {draw_generator, {4 * M, 2 * M, 2 * M}},
    [LG_EL_DYNAMO] = {draw_generator, {4 * M, 2 * M, 2 * M}},
    [LG_EL_SUPPLY] = {draw_supply, {3 * M, 2 * M, 2 * M}},
    [LG_EL_FUSE] = {draw_fuse, {3 * M, M / 2, M / 2}},
    [LG_EL_BREAKER] = {draw_breaker, {4 * M, M, 1.4}},
    [LG_EL_LINK] = {draw_link, {2 * M, 0.3, 0.3}},
    [LG_EL_CHASSIS] = {draw_link, {2 * M, 0.3, 0.3}},
    [LG_EL_RESISTOR] = {draw_resistor, {3 * M, M / 2, M / 2}},
    [LG_EL_HEATER] = {draw_heater, {3 * M, M / 2, M / 2}},
    [LG_EL_THERMISTOR] = {draw_thermistor, {3 * M, 1.9 * M, 1.2 * M}},
    [LG_EL_LAMP] = {draw_lamp, {3 * M, 1.5 * M, 1.5 * M}},
    [LG_EL_LED] = {draw_led, {4 * M, M, 2.3 * M}},
    [LG_EL_DIODE] = {draw_diode, {4 * M, M, M}},
    [LG_EL_MOTOR] = {draw_motor, {4 * M, 2 * M, 2 * M}},
    [LG_EL_FAN] = {draw_fan, {4 * M, 2 * M, 3.7 * M}},
    [LG_EL_PUMP] = {draw_pump, {4 * M, 2 * M, 4.1 * M}},
    [LG_EL_BUZZER] = {draw_buzzer, {4 * M, 1.6 * M, 0.3}},
    [LG_EL_SOLENOID] = {draw_solenoid, {3 * M, 2 * M, 3.4 * M}},
    [LG_EL_ELECTRONIC] = {draw_electronic, {3 * M, 2 * M, 2 * M}},
    [LG_EL_COIL] = {draw_coil, {3 * M, 2 * M, 2 * M}},
    [LG_EL_MAKE] = {draw_contact, {4 * M, M, 0.4}},
    [LG_EL_BREAK] = {draw_contact, {4 * M, 0.4, 1.6 * M}},
    [LG_EL_CONTACT] = {draw_contact, {4 * M, M, 0.4}},
    [LG_EL_THERMOSTAT] = {draw_thermostat, {4 * M, M, 0.4}},
    [LG_EL_OUTPUT] = {draw_contact, {4 * M, M, 0.4}},
};

LgSymbolSize lg_symbol_size(const LgSymbol *symbol)
{
  LgSymbolSize size = forms[symbol->kind].size;
  if (lg_element_is_contact(symbol->kind)) {
    size.left = symbol->breaks ? 0.4 : M;
    size.right = symbol->breaks ? 1.6 * M : 0.4;
  }
  if (lg_element_is_contact(symbol->kind) && symbol->worked != LG_WORKED_BY_NOTHING)
    size.left = symbol->breaks ? 1.9 * M : 2.9 * M;
  if (symbol->kind == LG_EL_COIL && symbol->suppression != LG_SUPPRESS_NONE)
    size.right = 3.4 * M;
  return size;
}

void lg_symbol_draw(LgDrawing *drawing, const LgSymbol *symbol, double x, double y)
{
  forms[symbol->kind].draw(drawing, symbol, x, y);
}

void lg_symbol_cavity(LgDrawing *drawing, double x, double y)
{
  const LgBox blade = {x - 0.45, y - 1.5, x + 0.45, y + 0.7};
  lg_draw_box(drawing, lg_stroke_solid, blade);
  lg_draw_arc(drawing, lg_stroke_line, x, y, 1.5, 0, 180);
}

void lg_symbol_stop(LgDrawing *drawing, double x, double y, double radius)
{
  const double a = radius, b = radius * 0.4142;
  const LgSpot corners[] = {{x - b, y - a}, {x + b, y - a}, {x + a, y - b}, {x + a, y + b},
                            {x + b, y + a}, {x - b, y + a}, {x - a, y + b}, {x - a, y - b}};
  const LgStroke red = {.line = LG_INK_DARK, .fill = LG_INK_WARM, .weight = LG_LINE_MM};
  const LgStroke white = {.line = LG_INK_NONE, .fill = LG_INK_PAPER};
  const LgBox bar = {x - radius * 0.62, y - radius * 0.2, x + radius * 0.62, y + radius * 0.2};
  lg_draw_path(drawing, red, TRUE, corners, 8);
  lg_draw_box(drawing, white, bar);
}

void lg_symbol_body(LgDrawing *drawing, double x, double y)
{
  for (int i = -1; i <= 1; i++)
    lg_draw_segment(drawing, lg_stroke_line, x + i * 1.3, y, x + i * 1.3 - 0.9, y + 1.5);
}
