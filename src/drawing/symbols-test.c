/* Symbols, measured: what they ink lies within the room they ask for, and current passes where the
 * contact is closed and nowhere else. */
#include "drawing-testing.h"
#include "drawing/symbols.h"
#include <math.h>

static const LgSuppression suppressions[] = {LG_SUPPRESS_NONE, LG_SUPPRESS_RESISTOR,
                                             LG_SUPPRESS_DIODE};

typedef struct {
  LgBox room;
  const char *word;
} Room;

static void check_room(LgSpot from, LgSpot to, double half, gpointer user)
{
  const Room *const room = user;
  const LgSpot ends[] = {from, to};
  for (int i = 0; i < 2; i++)
    if (ends[i].x - half < room->room.left - 0.35 || ends[i].x + half > room->room.right + 0.35 ||
        ends[i].y < room->room.top - 0.2 || ends[i].y > room->room.bottom + 0.2)
      g_error("%s inks at %.2f, %.2f", room->word, ends[i].x, ends[i].y);
}

static void check_symbol(const LgSymbol *symbol)
{
  const LgSymbolSize size = lg_symbol_size(symbol);
  g_autoptr(LgDrawing) drawing = lg_drawing_new(100, 100, "");
  Room room = {{50 - size.left, 50, 50 + size.right, 50 + size.height},
               lg_element_word(symbol->kind)};
  lg_symbol_draw(drawing, symbol, 50, 50);
  g_assert_cmpuint(drawing->shapes->len, >, 0);
  for (guint i = 0; i < drawing->shapes->len; i++)
    lg_shape_segments(drawing, &g_array_index(drawing->shapes, LgShape, i), check_room, &room);
}

static void test_symbols_keep_to_their_room(void)
{
  for (int kind = 0; kind < LG_N_ELEMENT_KINDS; kind++)
    for (int bits = 0; bits < 32; bits++)
      for (int worked = 0; worked <= LG_WORKED_BY_COIL; worked++)
        for (gsize s = 0; s < G_N_ELEMENTS(suppressions); s++) {
          const LgSymbol symbol = {.kind = (LgElementKind)kind,
                                   .worked = (LgWorkedBy)worked,
                                   .closed = (bits & 1) != 0,
                                   .breaks = (bits & 2) != 0,
                                   .flipped = (bits & 4) != 0,
                                   .live = (bits & 8) != 0,
                                   .pulled = (bits & 16) != 0,
                                   .suppression = suppressions[s]};
          check_symbol(&symbol);
        }
}

/* Segments that touch hang together; two points are joined when a run of them leads across. */

#define MOST 64
#define TOUCH 0.15

typedef struct {
  int n;
  LgSpot from[MOST], to[MOST];
} Segments;

static void take(LgSpot from, LgSpot to, double half, gpointer user)
{
  Segments *const all = user;
  (void)half;
  g_assert_cmpint(all->n, <, MOST);
  all->from[all->n] = from;
  all->to[all->n++] = to;
}

static double distance_to(LgSpot p, LgSpot a, LgSpot b)
{
  const double dx = b.x - a.x, dy = b.y - a.y, length = dx * dx + dy * dy;
  const double t = length > 0 ? CLAMP(((p.x - a.x) * dx + (p.y - a.y) * dy) / length, 0, 1) : 0;
  return hypot(p.x - a.x - t * dx, p.y - a.y - t * dy);
}

static gboolean touch(const Segments *all, int i, int j)
{
  return distance_to(all->from[i], all->from[j], all->to[j]) < TOUCH ||
         distance_to(all->to[i], all->from[j], all->to[j]) < TOUCH ||
         distance_to(all->from[j], all->from[i], all->to[i]) < TOUCH ||
         distance_to(all->to[j], all->from[i], all->to[i]) < TOUCH;
}

static gboolean passes(const LgSymbol *symbol)
{
  g_autoptr(LgDrawing) drawing = lg_drawing_new(100, 100, "");
  Segments all = {0};
  gboolean reached[MOST] = {FALSE};
  const LgSpot top = {50, 50}, bottom = {50, 50 + lg_symbol_size(symbol).height};
  lg_symbol_draw(drawing, symbol, top.x, top.y);
  for (guint i = 0; i < drawing->shapes->len; i++)
    lg_shape_segments(drawing, &g_array_index(drawing->shapes, LgShape, i), take, &all);
  for (int i = 0; i < all.n; i++)
    reached[i] = distance_to(top, all.from[i], all.to[i]) < TOUCH;
  for (int round = 0; round < all.n; round++)
    for (int i = 0; i < all.n; i++)
      for (int j = 0; j < all.n; j++)
        reached[j] = reached[j] || (reached[i] && touch(&all, i, j));
  for (int i = 0; i < all.n; i++)
    if (reached[i] && distance_to(bottom, all.from[i], all.to[i]) < TOUCH)
      return TRUE;
  return FALSE;
}

/* Geometry from memory of IEC 60617; that an open contact is open to the eye is common sense. */
static void test_contacts_are_open_or_closed(void)
{
  for (int breaks = 0; breaks < 2; breaks++)
    for (int closed = 0; closed < 2; closed++) {
      const LgSymbol symbol = {
          .kind = breaks ? LG_EL_BREAK : LG_EL_MAKE, .breaks = breaks, .closed = closed};
      g_assert_cmpint(passes(&symbol), ==, closed);
    }
  const LgSymbol breaker = {.kind = LG_EL_BREAKER};
  const LgSymbol fuse = {.kind = LG_EL_FUSE};
  g_assert_true(passes(&fuse)); /* the line through the box: seen in a symbol digest */
  g_assert_cmpint(passes(&breaker), ==, FALSE);
}

/* The diode's point shows the way of the current, from its first pin, the anode, to its second. */
static void test_diode_points_along_the_current(void)
{
  for (int flipped = 0; flipped < 2; flipped++) {
    const LgSymbol symbol = {.kind = LG_EL_DIODE, .flipped = flipped};
    g_autoptr(LgDrawing) drawing = lg_drawing_new(100, 100, "");
    lg_symbol_draw(drawing, &symbol, 50, 50);
    const LgShape *triangle = NULL;
    for (guint i = 0; i < drawing->shapes->len && triangle == NULL; i++)
      if (g_array_index(drawing->shapes, LgShape, i).closed)
        triangle = &g_array_index(drawing->shapes, LgShape, i);
    g_assert_nonnull(triangle);
    const LgSpot *const corner = &g_array_index(drawing->spots, LgSpot, triangle->first);
    g_assert_cmpint(corner[2].y > corner[0].y, ==, !flipped);
  }
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/symbols/keep to their room", test_symbols_keep_to_their_room);
  g_test_add_func("/symbols/contacts are open or closed", test_contacts_are_open_or_closed);
  g_test_add_func("/symbols/diode points along the current", test_diode_points_along_the_current);
  return g_test_run();
}
