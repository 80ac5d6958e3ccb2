/* Splices and crimps: where they lie, what meets in them, and the pull that a trial crimp must
 * stand. */
#include "base/words.h"
#include "drawing/board.h"
#include "packet/tables-private.h"
#include <math.h>
#include <string.h>

static const LgColumn splice_columns[] = {
    LG_TEXT_COLUMN("splice", "Splice"),
    LG_TEXT_COLUMN("place", "Where"),
    LG_TEXT_COLUMN("distance", "From the branch"),
    LG_TEXT_COLUMN("long_side", "Wires that come along runs"),
    LG_TEXT_COLUMN("near_side", "Wires that stay there"),
    LG_NUMBER_COLUMN("copper_mm2", "Copper, sum", LG_DIM_AREA, 3),
    LG_TEXT_COLUMN("crimp", "Crimp"),
    LG_TEXT_COLUMN("cover", "Covering"),
    LG_COLUMNS_END,
};

/* "W13 0.75 mm2, W17 0.75 mm2" of one side; adds their copper. */
static char *wires_of_side(const LgSizing *sizing, int part, gboolean along, double *copper_mm2)
{
  const LgJob *const job = sizing->circuit->job;
  g_autoptr(GString) words = g_string_new(NULL);
  for (int w = 0; w < job->n_wires; w++)
    for (int k = 0; k < 2; k++) {
      const LgWire *const wire = &job->wires[w];
      if (job->pins[wire->pin[k]].part != part || (wire->n_runs > 0) != along)
        continue;
      g_autofree char *size = lg_words_size(sizing->wires[w].conductor);
      g_autofree char *one = g_strdup_printf("%s %s %s", wire->name, wire->colour, size);
      lg_words_add(words, ", ", one);
      if (sizing->wires[w].conductor != NULL)
        *copper_mm2 += sizing->wires[w].conductor->area_mm2;
    }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

/* How far from where the bundle branches at its place. */
static char *words_distance(const LgJob *job, int part)
{
  const double distance_mm = lg_splice_distance(job, part);
  return isnan(distance_mm) ? g_strdup(T_("between its own wires"))
                            : lg_words_quantity(job, 1e-3 * distance_mm, LG_DIM_LENGTH);
}

/* Adhesive-lined tube where it gets wet or moves: common practice, no source. */
static const char *covering_of(const LgJob *job, const LgPart *part)
{
  const gboolean wet = part->place >= 0 && job->places[part->place].wet;
  return wet ? T_("heat-shrink with adhesive: it gets wet there")
             : T_("heat-shrink, 3 : 1, with adhesive");
}

LgTable *lg_table_splices(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  LgTable *const table = lg_table_new("splices", T_("Splices"), splice_columns);
  for (int i = 0; i < job->n_parts; i++) {
    const LgPart *const part = &job->parts[i];
    if (strcmp(part->class_word, "splice") != 0 || !lg_part_is_wired(job, part))
      continue;
    double copper_mm2 = 0;
    g_autofree char *along = wires_of_side(sizing, i, TRUE, &copper_mm2);
    g_autofree char *near = wires_of_side(sizing, i, FALSE, &copper_mm2);
    g_autofree char *distance = words_distance(job, i);
    lg_table_add(table, part->name, part->place >= 0 ? job->places[part->place].name : LG_GAP,
                 distance, along, near, copper_mm2, lg_words_crimp(job, copper_mm2),
                 covering_of(job, part));
  }
  g_autofree char *step = lg_words_quantity(job, 0.03, LG_DIM_LENGTH);
  table->note =
      table->n_rows == 0
          ? g_strdup(T_("No splice joins new wires."))
          : g_strdup_printf(
                T_("Splices of one place lie %s apart so that the bundle does not swell. Not where "
                   "it bends or moves, not next to a plug, in reach for a look. The crimp by the "
                   "sum of the copper in it; the splice's own sheet rules."),
                step);
  return table;
}

static const LgColumn crimp_columns[] = {
    LG_TEXT_COLUMN("terminal", "Terminal"),
    LG_TEXT_COLUMN("size", "Wire"),
    LG_NUMBER_COLUMN("ends", "Ends", LG_DIM_NONE, 5),
    LG_TEXT_COLUMN("where", "Where"),
    LG_NUMBER_COLUMN("strip_m", "Strip", LG_DIM_LENGTH, 2),
    LG_NUMBER_COLUMN("pull_N", "A trial crimp stands, N", LG_DIM_NONE, 3),
    LG_NUMBER_COLUMN("pull_kg", "That is, kg", LG_DIM_NONE, 3),
    LG_NUMBER_COLUMN("pull_lb", "That is, lb", LG_DIM_NONE, 3),
    LG_TEXT_COLUMN("basis", "Rests on"),
    LG_COLUMNS_END,
};

/* Least pull-out forces. AWG: figures of UL 486A for commercial crimps, seen in makers'
 * application specifications; 2/0 is printed 1235 N beside 300 lbf, which is 1334 N. Metric: IEC
 * 60352-2, memory (fair). */
typedef struct {
  double size, newton;
} Pull;

static const Pull pull_awg[] = {{26, 13.4}, {24, 22.3},  {22, 36},    {20, 57.9}, {18, 89.0},
                                {16, 134},  {14, 222.5}, {12, 311.5}, {10, 356},  {8, 400.5},
                                {6, 445.0}, {2, 801.0},  {0, 1112.5}, {-1, 1334}};
static const Pull pull_mm2[] = {
    {0.05, 6},  {0.08, 11}, {0.12, 15}, {0.14, 18}, {0.22, 28}, {0.25, 32}, {0.32, 40},
    {0.5, 60},  {0.75, 85}, {0.82, 90}, {1.0, 108}, {1.3, 135}, {1.5, 150}, {2.1, 200},
    {2.5, 230}, {3.3, 275}, {4.0, 310}, {5.3, 355}, {6.0, 360}, {8.4, 370}, {10.0, 380}};

double lg_pull_out_N(const LgConductor *conductor, gboolean *between)
{
  const Pull *const rows = conductor->is_awg ? pull_awg : pull_mm2;
  const int n = conductor->is_awg ? G_N_ELEMENTS(pull_awg) : G_N_ELEMENTS(pull_mm2);
  /* Ascending in copper: AWG numbers fall. */
  const double sign = conductor->is_awg ? -1 : 1, at = sign * conductor->nominal;
  *between = FALSE;
  for (int i = 0; i < n; i++) {
    const double size = sign * rows[i].size;
    if (fabs(size - at) < 1e-6)
      return rows[i].newton;
    if (size > at && i > 0) {
      const double before = sign * rows[i - 1].size;
      *between = TRUE;
      return rows[i - 1].newton +
             (rows[i].newton - rows[i - 1].newton) * (at - before) / (size - before);
    }
  }
  return NAN;
}

#define GRAVITY 9.80665
#define POUND_N 4.4482216

/* One row of the schedule while it is gathered. */
typedef struct {
  char *terminal;
  const LgConductor *conductor;
  GString *where;
  double strip_m;
  int n;
} Crimp;

static void crimp_free(gpointer data)
{
  Crimp *const crimp = data;
  g_free(crimp->terminal);
  g_string_free(crimp->where, TRUE);
  g_free(crimp);
}

static void add_end(GPtrArray *crimps, const LgSizing *sizing, int w, int end)
{
  const LgJob *const job = sizing->circuit->job;
  const LgWire *const wire = &job->wires[w];
  const LgConductor *const conductor = sizing->wires[w].conductor;
  g_autofree char *name = lg_words_end(job, wire, end);
  Crimp *crimp = NULL;
  for (guint i = 0; i < crimps->len && crimp == NULL; i++) {
    Crimp *const known = crimps->pdata[i];
    if (strcmp(known->terminal, name) == 0 && known->conductor == conductor)
      crimp = known;
  }
  if (crimp == NULL) {
    crimp = g_new0(Crimp, 1);
    *crimp = (Crimp){
        .terminal = g_strdup(name),
        .conductor = conductor,
        .where = g_string_new(NULL),
        .strip_m = lg_strip_length(job, wire, end, conductor != NULL ? conductor->area_mm2 : NAN)};
    g_ptr_array_add(crimps, crimp);
  }
  g_autofree char *where = g_strdup_printf("%s %s", wire->name, job->pins[wire->pin[end]].name);
  lg_words_add(crimp->where, ", ", where);
  crimp->n++;
}

static int compare_crimps(gconstpointer a, gconstpointer b)
{
  const Crimp *const u = *(Crimp *const *)a, *const v = *(Crimp *const *)b;
  const int name = strcmp(u->terminal, v->terminal);
  const double area_u = u->conductor != NULL ? u->conductor->area_mm2 : 0;
  const double area_v = v->conductor != NULL ? v->conductor->area_mm2 : 0;
  return name != 0 ? name : (area_u > area_v) - (area_u < area_v);
}

static const char *basis_of(const LgConductor *conductor, double pull_N, gboolean between)
{
  if (conductor == NULL)
    return T_("the size is not in the sheet");
  if (isnan(pull_N))
    return T_("no published figure for this size: the crimp's own sheet");
  if (conductor->is_awg)
    return between ? T_("UL 486A figures, between two sizes") : T_("UL 486A figures, seen");
  return between ? T_("IEC 60352-2, between two sizes, memory") : T_("IEC 60352-2, memory");
}

LgTable *lg_table_crimps(const LgSizing *sizing)
{
  LgTable *const table = lg_table_new("crimps", T_("Crimps"), crimp_columns);
  g_autoptr(GPtrArray) crimps = g_ptr_array_new_with_free_func(crimp_free);
  g_autoptr(GArray) pieces = lg_pieces(sizing);
  for (guint i = 0; i < pieces->len; i++)
    for (int end = 0; end < 2; end++)
      add_end(crimps, sizing, g_array_index(pieces, int, i), end);
  g_ptr_array_sort(crimps, compare_crimps);
  for (guint i = 0; i < crimps->len; i++) {
    const Crimp *const crimp = crimps->pdata[i];
    gboolean between = FALSE;
    const double pull_N =
        crimp->conductor != NULL ? lg_pull_out_N(crimp->conductor, &between) : NAN;
    g_autofree char *size = lg_words_size(crimp->conductor);
    lg_table_add(table, crimp->terminal, size, (double)crimp->n, crimp->where->str, crimp->strip_m,
                 pull_N, pull_N / GRAVITY, pull_N / POUND_N,
                 basis_of(crimp->conductor, pull_N, between));
  }
  table->note = g_strdup(
      crimps->len == 0
          ? T_("No wire is cut new.")
          : T_("Before the first good crimp of each row make three on scrap of that wire and pull "
               "them straight, with a spring scale or weights: none may come out below the figure, "
               "then use neither again. Commercial least values; aircraft asks 1.4 to 2 times as "
               "much. Never tin strands that go into a crimp."));
  return table;
}
