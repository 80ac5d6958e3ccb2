/* The board: lengths true on paper, nothing on top of another, rings broken and said. */
#include "drawing/board-private.h"
#include "drawing/drawing-testing.h"
#include <glib/gstdio.h>
#include <math.h>

static const char board_sheet[] = "job \"Ring\" nominal=12V insulation=class-b\n"
                                  "place bay\nplace dash\nplace tunnel\nplace rear\n"
                                  "run a bay dash 1.9m\n"
                                  "run b dash tunnel 0.2m\n"
                                  "run c tunnel bay 0.6m\n"
                                  "run d tunnel rear\n"
                                  "part G1 battery-12 at=bay is=host capacity=60Ah\n"
                                  "part XG1 ground at=bay is=host\n"
                                  "part F1 fuse-blade at=bay\n"
                                  "part X1 splice at=dash\n"
                                  "part X2 splice at=dash\n"
                                  "part E1 lamp at=dash power=21W\n"
                                  "part E2 lamp at=tunnel power=21W\n"
                                  "part E3 lamp at=rear power=21W\n"
                                  "wire W0 G1.- XG1.1 BK 16mm2 length=0.4m is=host\n"
                                  "wire W1 G1.+ F1.1 RD 2.5mm2 length=0.15m\n"
                                  "wire W2 F1.2 X1.1 RD 2.5mm2 via=a\n"
                                  "wire W3 X1.1 E1.1 RD 2.5mm2 length=0.3m\n"
                                  "wire W4 E1.2 X2.1 BN 2.5mm2 length=0.3m\n"
                                  "wire W5 X2.1 XG1.1 BN 2.5mm2 via=a\n"
                                  "wire W6 X1.1 E2.1 RD 1mm2 via=b spare=0.3m\n"
                                  "wire W7 E2.2 XG1.1 BN 1mm2 via=c length=0.7m\n"
                                  "wire W8 E2.1 E3.1 RD 1mm2 via=d length=0.9m\n"
                                  "wire W9 E3.2 XG1.1 BN 1mm2 via=d,c length=2m\n";

typedef struct {
  TestJob test;
  LgSizing *sizing;
  LgRoute *route;
  LgBoard *board;
} Made;

static void finish(Made *made)
{
  made->sizing = lg_sizing_new(made->test.job, NULL);
  g_assert_nonnull(made->sizing);
  made->route = lg_route_new(made->sizing);
  made->board = lg_board_new(made->route, 210, 297);
}

static Made make(const char *text)
{
  Made made;
  test_job_init(&made.test, text);
  finish(&made);
  return made;
}

static void unmake(Made *made)
{
  lg_board_free(made->board);
  lg_route_free(made->route);
  lg_sizing_free(made->sizing);
  test_job_clear(&made->test);
}

static double path_length(const LgBoardBranch *branch)
{
  double sum = 0;
  for (int i = 1; i < branch->n_path; i++)
    sum +=
        hypot(branch->path[i].x - branch->path[i - 1].x, branch->path[i].y - branch->path[i - 1].y);
  return sum;
}

static gboolean says(const LgBoard *board, const char *part)
{
  for (guint i = 0; i < board->breaks->len; i++)
    if (strstr(board->breaks->pdata[i], part) != NULL)
      return TRUE;
  return FALSE;
}

static double to_line(LgSpot s, LgSpot a, LgSpot b)
{
  const double dx = b.x - a.x, dy = b.y - a.y;
  const double t =
      CLAMP(((s.x - a.x) * dx + (s.y - a.y) * dy) / fmax(dx * dx + dy * dy, 1e-12), 0, 1);
  return hypot(s.x - a.x - t * dx, s.y - a.y - t * dy);
}

/* Every millimetre of one branch against the other's line. */
static double apart(const LgBoardBranch *u, const LgBoardBranch *v)
{
  double least = INFINITY;
  for (int i = 1; i < u->n_path; i++) {
    const LgSpot a = u->path[i - 1], b = u->path[i];
    const int n = (int)ceil(hypot(b.x - a.x, b.y - a.y));
    for (int k = 0; k <= n; k++) {
      const LgSpot s = {a.x + (b.x - a.x) * k / MAX(n, 1), a.y + (b.y - a.y) * k / MAX(n, 1)};
      for (int j = 1; j < v->n_path; j++)
        least = fmin(least, to_line(s, v->path[j - 1], v->path[j]));
    }
  }
  return least;
}

static gboolean share_a_node(const LgBoardBranch *u, const LgBoardBranch *v)
{
  for (int i = 0; i < 2; i++)
    for (int j = 0; j < 2; j++)
      if (u->node[i] == v->node[j])
        return TRUE;
  return FALSE;
}

static void check_board(const LgBoard *board)
{
  for (int i = 0; i < board->n_branches; i++) {
    const LgBoardBranch *const b = &board->branches[i];
    if (b->broken)
      continue;
    if (!isnan(b->length_mm))
      g_assert_cmpfloat_with_epsilon(path_length(b), b->length_mm, 1e-6);
    for (int j = 0; j < i; j++)
      if (!board->branches[j].broken && !share_a_node(b, &board->branches[j]))
        g_assert_cmpfloat(apart(b, &board->branches[j]), >,
                          (b->width_mm + board->branches[j].width_mm) / 2);
  }
  g_autoptr(LgDrawing) whole = lg_board_draw(board);
  test_nothing_overlaps(whole);
}

/* Lengths reckoned by hand: runs as in the sheet; a stub has half of the spare of 150 mm, and half
 * of what the wire is longer than its runs; wires from part to part have all their spare. */
static void test_lengths(void)
{
  Made made = make(board_sheet);
  const LgBoard *const board = made.board;
  check_board(board);
  for (int i = 0; i < board->n_branches; i++) {
    const LgBoardBranch *const b = &board->branches[i];
    const char *const to = board->nodes[b->node[1]].lines[0];
    const char *const from = board->nodes[b->node[0]].lines[0];
    if (b->kind == LG_BOARD_RUN && b->run == 0)
      g_assert_cmpfloat_with_epsilon(b->length_mm, 1900, 1e-9);
    if (b->kind == LG_BOARD_STUB && strcmp(to, "F1") == 0)
      g_assert_cmpfloat_with_epsilon(b->length_mm, 75, 1e-9);
    /* W6 has 300 mm of spare, W7 100 mm and 150 mm of spare: 150 and 125. */
    if (b->kind == LG_BOARD_STUB && strcmp(to, "E2") == 0)
      g_assert_cmpfloat_with_epsilon(b->length_mm, 150, 1e-9);
    if (b->kind == LG_BOARD_LOCAL && (strcmp(to, "G1") == 0 || strcmp(from, "G1") == 0))
      g_assert_cmpfloat_with_epsilon(b->length_mm, 300, 1e-9);
  }
  /* Two splices at one place, 30 mm apart. */
  const LgJob *const job = made.test.job;
  g_assert_cmpfloat_with_epsilon(lg_splice_distance(job, lg_job_find_part(job, "X1")), 75, 1e-9);
  g_assert_cmpfloat_with_epsilon(lg_splice_distance(job, lg_job_find_part(job, "X2")), 45, 1e-9);
  unmake(&made);
}

/* bay, dash and tunnel make a ring of three runs: the one with fewest wires in it is broken, once.
 * A run without a length is drawn all the same. */
static void test_ring(void)
{
  Made made = make(board_sheet);
  int broken = 0, unknown = 0;
  for (int i = 0; i < made.board->n_branches; i++) {
    broken += made.board->branches[i].kind == LG_BOARD_RUN && made.board->branches[i].broken;
    unknown += isnan(made.board->branches[i].length_mm) && made.board->branches[i].n_path > 0;
  }
  g_assert_cmpint(broken, ==, 1);
  g_assert_true(says(made.board, "Run b ("));
  g_assert_cmpint(unknown, ==, 1);
  unmake(&made);
}

static void test_examples(void)
{
  static const char *const names[] = {"library-van-seat.job", "co-op-flatbed.job",
                                      "library-van-seat-flawed.job", "co-op-flatbed-flawed.job"};
  for (gsize k = 0; k < G_N_ELEMENTS(names); k++) {
    Made made;
    test_job_open(&made.test, names[k]);
    finish(&made);
    /* Crowded places may leave something apart; a board of the examples' size stays whole. */
    g_assert_cmpuint(made.board->breaks->len, <=, 2);
    check_board(made.board);
    unmake(&made);
  }
}

/* Every wire that passes runs finds its own length on the board: from stub to stub at least what
 * the sheet asks, at most what the longest wire of the same stubs and the splices ask. */
static void test_wires(void)
{
  Made made;
  test_job_open(&made.test, "library-van-seat.job");
  finish(&made);
  const LgJob *const job = made.test.job;
  for (int w = 0; w < job->n_wires; w++) {
    double sum = 0;
    gboolean drawn = job->wires[w].n_runs > 0 && job->wires[w].is == LG_IS_NEW;
    for (int i = 0; i < made.board->n_branches; i++) {
      const LgBoardBranch *const b = &made.board->branches[i];
      for (guint k = 0; k < b->wires->len; k++)
        if (g_array_index(b->wires, int, k) == w) {
          sum += b->length_mm;
          drawn = drawn && !b->broken;
        }
    }
    const double asked = 1e3 * (job->wires[w].length_m + job->wires[w].spare_m);
    gboolean spliced = FALSE;
    for (int k = 0; k < 2; k++)
      spliced = spliced ||
                strcmp(job->parts[job->pins[job->wires[w].pin[k]].part].class_word, "splice") == 0;
    if (drawn && !spliced)
      g_assert_cmpfloat(sum, >=, asked - 1e-6);
    if (drawn)
      g_assert_cmpfloat(sum, <=, asked + 1e-6 + 150);
  }
  unmake(&made);
}

/* Sheets: all that they show lies on the paper, what is on the board is on some sheet, a bar of 100
 * mm on each. */
static double ink_of(const LgDrawing *drawing, const char *what)
{
  double sum = 0;
  int depth = 0;
  for (guint i = 0; i < drawing->shapes->len; i++) {
    const LgShape *const s = &g_array_index(drawing->shapes, LgShape, i);
    if (s->kind == LG_SHAPE_OPEN)
      depth = depth > 0 || strcmp(s->what, what) == 0 ? depth + 1 : 0;
    else if (s->kind == LG_SHAPE_CLOSE)
      depth = MAX(depth - 1, 0);
    const gboolean line = s->kind == LG_SHAPE_WIRE ||
                          (s->kind == LG_SHAPE_PATH && s->weight < 0.2 && s->line == LG_INK_DARK);
    if (depth == 0 || !line)
      continue;
    const LgSpot *const p = &g_array_index(drawing->spots, LgSpot, s->first);
    for (int k = 1; k < s->n; k++)
      sum += hypot(p[k].x - p[k - 1].x, p[k].y - p[k - 1].y);
  }
  return sum;
}

static void test_tiles(void)
{
  static const struct {
    double width, height;
  } papers[] = {{210, 297}, {297, 420}, {215.9, 279.4}, {215.9, 355.6}};
  Made made = make(board_sheet);
  for (gsize k = 0; k < G_N_ELEMENTS(papers); k++) {
    g_autoptr(GPtrArray) sheets = lg_board_tiles(made.board, papers[k].width, papers[k].height);
    g_autoptr(LgDrawing) whole = lg_board_draw(made.board);
    g_assert_cmpuint(sheets->len, >=, 3);
    double run_mm = 0;
    for (guint i = 0; i < sheets->len; i++) {
      const LgDrawing *const sheet = sheets->pdata[i];
      g_assert_cmpfloat(sheet->width * sheet->height, ==, papers[k].width * papers[k].height);
      for (guint j = 0; j < sheet->shapes->len; j++) {
        const LgShape *const s = &g_array_index(sheet->shapes, LgShape, j);
        if (s->kind != LG_SHAPE_TEXT)
          continue;
        const LgBox box = lg_shape_text_box(s);
        g_assert_true(box.left >= 0 && box.top >= 0 && box.right <= sheet->width &&
                      box.bottom <= sheet->height);
      }
      run_mm += ink_of(sheet, "run");
    }
    /* What lies in the overlap is there twice. */
    g_assert_cmpfloat(run_mm, >=, ink_of(whole, "run") - 1e-6);
    g_assert_cmpfloat(run_mm, <=, 1.5 * ink_of(whole, "run"));
  }
  unmake(&made);
}

/* Lengths of the lines of a PDF in millimetres, read from its page content: moves, lines and the
 * matrices before them. */
static GArray *lines_of_pdf(const char *text)
{
  GArray *const lengths = g_array_new(FALSE, FALSE, sizeof(double));
  double m[6] = {1, 0, 0, 1, 0, 0}, stack[32][6], number[6] = {0};
  int depth = 0, n = 0;
  LgSpot at = {0, 0};
  double sum = -1;
  g_auto(GStrv) words = g_strsplit_set(text, " \n\r", -1);
  for (int i = 0; words[i] != NULL; i++) {
    const char *const w = words[i];
    char *end;
    const double value = g_ascii_strtod(w, &end);
    if (w[0] == '\0')
      continue;
    if (*end == '\0') {
      memmove(number, number + 1, sizeof number - sizeof *number);
      number[5] = value;
      n++;
      continue;
    }
    const LgSpot to = {m[0] * number[4] + m[2] * number[5] + m[4],
                       m[1] * number[4] + m[3] * number[5] + m[5]};
    if (strcmp(w, "q") == 0 && depth < 32)
      memcpy(stack[depth++], m, sizeof m);
    else if (strcmp(w, "Q") == 0 && depth > 0)
      memcpy(m, stack[--depth], sizeof m);
    else if (strcmp(w, "cm") == 0 && n >= 6) {
      const double *const c = number;
      const double r[6] = {c[0] * m[0] + c[1] * m[2],        c[0] * m[1] + c[1] * m[3],
                           c[2] * m[0] + c[3] * m[2],        c[2] * m[1] + c[3] * m[3],
                           c[4] * m[0] + c[5] * m[2] + m[4], c[4] * m[1] + c[5] * m[3] + m[5]};
      memcpy(m, r, sizeof m);
    } else if (strcmp(w, "m") == 0) {
      if (sum >= 0)
        g_array_append_val(lengths, sum);
      at = to;
      sum = 0;
    } else if (strcmp(w, "l") == 0) {
      sum += hypot(to.x - at.x, to.y - at.y) * 25.4 / 72;
      at = to;
    }
    n = 0;
  }
  if (sum >= 0)
    g_array_append_val(lengths, sum);
  return lengths;
}

/* The uncompressed form of a PDF; NULL without qpdf. */
static char *plain_pdf(const GPtrArray *drawings)
{
  g_autoptr(GError) error = NULL;
  g_autoptr(GBytes) pdf = lg_drawings_pdf(drawings, "board", &error);
  g_assert_no_error(error);
  g_autofree char *tool = g_find_program_in_path("qpdf");
  if (tool == NULL)
    return NULL;
  g_autofree char *folder = g_dir_make_tmp("board-XXXXXX", &error);
  g_assert_no_error(error);
  g_autofree char *in = g_build_filename(folder, "in.pdf", NULL);
  g_autofree char *out = g_build_filename(folder, "out.pdf", NULL);
  g_assert_true(
      g_file_set_contents(in, g_bytes_get_data(pdf, NULL), (gssize)g_bytes_get_size(pdf), NULL));
  char *argv[] = {tool, (char *)"--qdf", in, out, NULL};
  int status;
  g_assert_true(
      g_spawn_sync(NULL, argv, NULL, G_SPAWN_DEFAULT, NULL, NULL, NULL, NULL, &status, NULL));
  char *text;
  gsize length;
  g_assert_true(g_file_get_contents(out, &text, &length, NULL));
  /* Bytes of fonts may hold zeros. */
  for (gsize i = 0; i < length; i++)
    text[i] = text[i] == '\0' ? ' ' : text[i];
  g_unlink(in);
  g_unlink(out);
  g_rmdir(folder);
  return text;
}

static int count_near(const GArray *lengths, double mm)
{
  int n = 0;
  for (guint i = 0; i < lengths->len; i++)
    n += fabs(g_array_index(lengths, double, i) - mm) <= 0.2;
  return n;
}

/* A folded run of 1.9 m on the whole board, and a stub of 75 mm on one of its sheets, within 0.2 mm
 * on paper; the cells of the bar, too. */
static void test_paper(void)
{
  Made made = make(board_sheet);
  g_autoptr(GPtrArray) one = g_ptr_array_new_with_free_func((GDestroyNotify)lg_drawing_free);
  g_ptr_array_add(one, lg_board_draw(made.board));
  g_autofree char *whole = plain_pdf(one);
  if (whole == NULL) {
    g_test_skip("needs qpdf");
    unmake(&made);
    return;
  }
  g_autoptr(GArray) lengths = lines_of_pdf(whole);
  g_assert_cmpint(count_near(lengths, 1900), >=, 1);
  g_assert_cmpint(count_near(lengths, 300), >=, 1);
  g_autoptr(GPtrArray) sheets = lg_board_tiles(made.board, 210, 297);
  g_autofree char *tiles = plain_pdf(sheets);
  g_autoptr(GArray) cut = lines_of_pdf(tiles);
  g_assert_cmpint(count_near(cut, 75), >=, 1);
  unmake(&made);
}

static void test_empty(void)
{
  Made made = make(
      "job \"Nothing new\"\npart G1 battery-12 is=host capacity=60Ah\npart XG1 ground is=host\n"
      "wire W0 G1.- XG1.1 BK 16mm2 length=0.4m is=host\n");
  g_autoptr(GPtrArray) sheets = lg_board_tiles(made.board, 210, 297);
  g_assert_cmpuint(sheets->len, ==, 1);
  unmake(&made);
}

int main(int argc, char *argv[])
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/board/lengths", test_lengths);
  g_test_add_func("/board/ring", test_ring);
  g_test_add_func("/board/wires", test_wires);
  g_test_add_func("/board/examples", test_examples);
  g_test_add_func("/board/tiles", test_tiles);
  g_test_add_func("/board/paper", test_paper);
  g_test_add_func("/board/empty", test_empty);
  return g_test_run();
}
