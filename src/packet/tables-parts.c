/* Bill of material: parts, fuses, terminals, wire by the metre, coverings. */
#include "base/words.h"
#include "packet/tables-private.h"
#include <math.h>
#include <string.h>

static const LgColumn part_columns[] = {
    LG_NUMBER_COLUMN("item", "Item", LG_DIM_NONE, 6),
    LG_TEXT_COLUMN("kind", "Kind"),
    LG_TEXT_COLUMN("designation", "Designation"),
    LG_TEXT_COLUMN("what", "What"),
    LG_TEXT_COLUMN("type", "Type or size"),
    LG_NUMBER_COLUMN("quantity", "Quantity", LG_DIM_NONE, 5),
    LG_NUMBER_COLUMN("spare", "Spare", LG_DIM_NONE, 5),
    LG_TEXT_COLUMN("unit", "Unit"),
    LG_TEXT_COLUMN("state", "From"),
    LG_TEXT_COLUMN("buy", "Where to buy"),
    LG_TEXT_COLUMN("price", "Price"),
    LG_COLUMNS_END,
};

/* One line of the bill while it is gathered. Texts are owned. */
typedef struct {
  char *key; /* lines with the same key are one */
  const char *kind, *unit, *state;
  GString *designation;
  char *what, *type;
  const char *buy, *price;
  double quantity, spare;
  guint place; /* in the bill */
} Line;

static void line_free(gpointer data)
{
  Line *const line = data;
  g_free(line->key);
  g_free(line->what);
  g_free(line->type);
  g_string_free(line->designation, TRUE);
  g_free(line);
}

/* The line with this key (taken) and state, made when there is none. */
static Line *line_for(GPtrArray *bill, char *key, const char *kind, const char *unit,
                      const char *state)
{
  for (guint i = 0; i < bill->len; i++) {
    Line *const line = bill->pdata[i];
    if (strcmp(line->key, key) == 0 && line->state == state) {
      g_free(key);
      return line;
    }
  }
  Line *const line = g_new0(Line, 1);
  *line = (Line){.key = key, .kind = kind, .unit = unit, .state = state};
  line->designation = g_string_new(NULL);
  g_ptr_array_add(bill, line);
  return line;
}

/* What to buy is the type; what the part is for stands in the sheet. A thing of its own has only
 * its text. */
static void add_part(const LgPart *part, GPtrArray *bill)
{
  const gboolean own = strcmp(part->class_word, "assembly") == 0;
  const char *const of_type = part->type != NULL ? part->type->record->text : NULL;
  const char *const what = own || of_type == NULL ? lg_words_part(part) : of_type;
  const char *const type = part->type != NULL ? part->type->name : part->class_word;
  Line *const line =
      line_for(bill, g_strdup_printf("part|%s|%s|%s|%s", type, what, part->buy, part->price),
               "part", T_("pcs"), lg_words_is(part->is));
  if (line->what == NULL) {
    /* "motor; give its current": what follows is a word to who writes the sheet. */
    const char *const hint = strstr(what, "; give its ");
    line->what = hint != NULL ? g_strndup(what, (gsize)(hint - what)) : g_strdup(what);
    line->type = g_strdup(type);
    line->buy = part->buy;
    line->price = part->price;
  }
  lg_words_add(line->designation, ", ", part->name);
  line->quantity++;
}

/* What is to be bought first. */
static const LgIs order[] = {LG_IS_NEW, LG_IS_DONOR, LG_IS_HOST};

static void add_parts(const LgJob *job, GPtrArray *bill)
{
  for (gsize k = 0; k < G_N_ELEMENTS(order); k++)
    for (int i = 0; i < job->n_parts; i++)
      if (job->parts[i].is == order[k])
        add_part(&job->parts[i], bill);
}

/* One spare of each rating and body: common practice, no source. */
static void add_fuses(const LgSizing *sizing, GPtrArray *bill)
{
  const LgJob *const job = sizing->circuit->job;
  for (int e = 0; e < job->n_elements; e++) {
    const LgElement *const element = &job->elements[e];
    if (element->kind != LG_EL_FUSE)
      continue;
    const LgFuseSize *const size = &sizing->fuses[e];
    const LgPart *const part = &job->parts[element->part];
    const gboolean there = part->is == LG_IS_HOST && !size->is_auto;
    g_autofree char *rating = isnan(size->rating_A) ? g_strdup(T_("no rating of this body serves"))
                                                    : lg_words_rating(size->rating_A);
    Line *const line = line_for(bill, g_strdup_printf("fuse|%s|%s", element->form, rating), "fuse",
                                T_("pcs"), lg_words_is(there ? LG_IS_HOST : LG_IS_NEW));
    if (line->what == NULL) {
      const gboolean coloured = size->fuse != NULL && size->fuse->colour != NULL;
      line->what =
          coloured ? g_strdup_printf(T_("fuse, %s"), size->fuse->colour) : g_strdup(T_("fuse"));
      line->type = g_strdup_printf("%s, %s", element->form, rating);
      line->spare = there ? 0 : 1;
    }
    lg_words_add(line->designation, ", ", lg_words_name(job, e));
    line->quantity++;
  }
}

/* Crimps go wrong: one spare in ten, at least one. Common practice, no source. */
static double spare_terminals(double quantity)
{
  return ceil(quantity / 10);
}

/* Adds a pin's name that the list does not hold yet. */
static void add_name(GString *list, const char *name)
{
  g_auto(GStrv) names = g_strsplit(list->str, ", ", -1);
  if (!g_strv_contains((const char *const *)names, name))
    lg_words_add(list, ", ", name);
}

static void add_end(const LgSizing *sizing, GPtrArray *bill, int w, int end)
{
  const LgJob *const job = sizing->circuit->job;
  const LgWire *const wire = &job->wires[w];
  const LgEnd kind = lg_wire_end(job, wire, end);
  if (kind == LG_END_SPLICE)
    return; /* the splice itself is a part */
  const LgConductor *const conductor = sizing->wires[w].conductor;
  const char *const size = conductor != NULL ? lg_words_crimp(job, conductor->area_mm2)
                                             : T_("wire size not in the sheet");
  g_autofree char *name = lg_words_end(job, wire, end);
  Line *const line = line_for(bill, g_strdup_printf("terminal|%s|%s", name, size), "terminal",
                              T_("pcs"), lg_words_is(LG_IS_NEW));
  if (line->what == NULL) {
    const LgTerminal *const terminal = job->pins[wire->pin[end]].terminal;
    line->what = kind == LG_END_TAIL      ? g_strdup(T_("crimp splice, sealed"))
                 : kind == LG_END_UNKNOWN ? g_strdup(T_("terminal not in the sheet"))
                 : terminal->use != NULL  ? g_strdup_printf(T_("terminal: %s"), terminal->use)
                                          : g_strdup(T_("terminal"));
    line->type = kind == LG_END_TERMINAL ? g_strdup_printf("%s, %s", name, size) : g_strdup(size);
  }
  add_name(line->designation, job->pins[wire->pin[end]].name);
  line->quantity++;
  line->spare = spare_terminals(line->quantity);
}

static void add_terminals(const LgSizing *sizing, GPtrArray *bill)
{
  g_autoptr(GArray) pieces = lg_pieces(sizing);
  for (guint i = 0; i < pieces->len; i++)
    for (int end = 0; end < 2; end++)
      add_end(sizing, bill, g_array_index(pieces, int, i), end);
}

/* Bought length: a tenth more, in whole metres or feet. Common practice, no source. */
static double round_up(const LgJob *job, double length_m)
{
  const double unit_m = job->habit == LG_HABIT_US ? 0.3048 : 1;
  return ceil(1.1 * length_m / unit_m - 1e-9);
}

static const char *length_unit(const LgJob *job)
{
  return job->habit == LG_HABIT_US ? "ft" : "m";
}

static double in_unit(const LgJob *job, double length_m)
{
  return job->habit == LG_HABIT_US ? length_m / 0.3048 : length_m;
}

static void finish_lengths(const LgJob *job, GPtrArray *bill, guint from)
{
  for (guint i = from; i < bill->len; i++) {
    Line *const line = bill->pdata[i];
    const double needed_m = line->quantity;
    line->quantity = in_unit(job, needed_m);
    line->spare = round_up(job, needed_m) - line->quantity;
  }
}

static void add_wires(const LgSizing *sizing, GPtrArray *bill)
{
  const LgJob *const job = sizing->circuit->job;
  const guint from = bill->len;
  g_autoptr(GArray) pieces = lg_pieces(sizing);
  for (guint i = 0; i < pieces->len; i++) {
    const int w = g_array_index(pieces, int, i);
    const LgWire *const wire = &job->wires[w];
    g_autofree char *size = lg_words_size(sizing->wires[w].conductor);
    g_autofree char *colour = lg_words_colour(wire->colour);
    const char *const insulation = wire->insulation != NULL ? wire->insulation->name : LG_GAP;
    Line *const line =
        line_for(bill, g_strdup_printf("wire|%s|%s|%s", insulation, size, wire->colour), "wire",
                 length_unit(job), lg_words_is(LG_IS_NEW));
    if (line->what == NULL) {
      line->what = g_strdup_printf(T_("wire, %s"), colour);
      line->type = g_strdup_printf("%s, %s", size, insulation);
    }
    lg_words_add(line->designation, ", ", wire->name);
    line->quantity += lg_cut_length(job, wire);
  }
  finish_lengths(job, bill, from);
}

static gboolean passes(const LgWire *wire, int run)
{
  for (int i = 0; i < wire->n_runs; i++)
    if (wire->runs[i] == run)
      return lg_wire_is_cut(wire);
  return FALSE;
}

static void add_covers(const LgJob *job, GPtrArray *bill)
{
  const guint from = bill->len;
  for (int r = 0; r < job->n_runs; r++) {
    const LgRun *const run = &job->runs[r];
    gboolean used = FALSE;
    for (int w = 0; w < job->n_wires && !used; w++)
      used = passes(&job->wires[w], r);
    if (!used || run->cover == NULL)
      continue;
    Line *const line = line_for(bill, g_strdup_printf("cover|%s", run->cover->name), "covering",
                                length_unit(job), lg_words_is(LG_IS_NEW));
    if (line->what == NULL) {
      line->what = g_strdup(T_("covering"));
      line->type = g_strdup(run->cover->name);
    }
    lg_words_add(line->designation, ", ", run->name);
    line->quantity += run->length_m;
  }
  finish_lengths(job, bill, from);
}

/* The whole bill; Line*, owned. */
static GPtrArray *bill_of(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  GPtrArray *const bill = g_ptr_array_new_with_free_func(line_free);
  add_parts(job, bill);
  add_fuses(sizing, bill);
  add_terminals(sizing, bill);
  add_wires(sizing, bill);
  add_covers(job, bill);
  return bill;
}

LgTable *lg_table_parts(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  g_autoptr(GPtrArray) bill = bill_of(sizing);
  LgTable *const table = lg_table_new("parts", T_("Bill of material"), part_columns);
  for (guint i = 0; i < bill->len; i++) {
    const Line *const line = bill->pdata[i];
    lg_table_add(table, (double)(i + 1), line->kind, line->designation->str, line->what, line->type,
                 line->quantity, line->spare, line->unit, line->state, line->buy, line->price);
  }
  table->note = g_strdup_printf(
      T_("Spare: one fuse of each rating; one terminal in ten; wire and covering with a tenth "
         "more, rounded up to the whole %s. One terminal an end; ends in a splice need none."),
      job->habit == LG_HABIT_US ? T_("foot") : T_("metre"));
  return table;
}

static const LgColumn quote_columns[] = {
    LG_TEXT_COLUMN("buy", "Where to buy"),
    LG_TEXT_COLUMN("designation", "Designation"),
    LG_TEXT_COLUMN("what", "What"),
    LG_TEXT_COLUMN("type", "Type or size"),
    LG_NUMBER_COLUMN("quantity", "Quantity", LG_DIM_NONE, 5),
    LG_TEXT_COLUMN("unit", "Unit"),
    LG_TEXT_COLUMN("price", "Price"),
    LG_TEXT_COLUMN("sum", "Sum"),
    LG_TEXT_COLUMN("minutes", "Minutes to fit"),
    LG_COLUMNS_END,
};

/* Sums by currency, in the order in which currencies are met. */
typedef struct {
  char *currency;
  double sum;
} Sum;

static void sum_clear(gpointer data)
{
  g_free(((Sum *)data)->currency);
}

static void add_sum(GArray *sums, const char *currency, double value)
{
  for (guint i = 0; i < sums->len; i++)
    if (strcmp(g_array_index(sums, Sum, i).currency, currency) == 0) {
      g_array_index(sums, Sum, i).sum += value;
      return;
    }
  const Sum sum = {g_strdup(currency), value};
  g_array_append_val(sums, sum);
}

gboolean lg_price_read(const char *text, double *value, char **currency)
{
  const char *from = text;
  while (*from != '\0' && !g_ascii_isdigit(*from))
    from++;
  const char *to = from;
  while (g_ascii_isdigit(*to) || ((*to == '.' || *to == ',') && g_ascii_isdigit(to[1])))
    to++;
  if (from == to)
    return FALSE;
  g_autofree char *digits = g_strndup(from, (gsize)(to - from));
  /* The last of comma and point is the decimal one when it has other than three digits behind it,
   * or both are there. */
  const char *const point = strrchr(digits, '.'), *const comma = strrchr(digits, ',');
  const char *const last = point == NULL || (comma != NULL && comma > point) ? comma : point;
  const gboolean decimal =
      last != NULL && (strlen(last) != 4 || (point != NULL && comma != NULL) || digits[0] == '0');
  g_autoptr(GString) number = g_string_new(NULL);
  for (const char *c = digits; *c != '\0'; c++)
    if (g_ascii_isdigit(*c))
      g_string_append_c(number, *c);
    else if (c == last && decimal)
      g_string_append_c(number, '.');
  *value = g_ascii_strtod(number->str, NULL);
  g_autofree char *before = g_strndup(text, (gsize)(from - text));
  g_autofree char *whole = g_strconcat(before, to, NULL);
  *currency = g_strdup(g_strstrip(whole));
  return TRUE;
}

static int compare_sellers(gconstpointer a, gconstpointer b)
{
  const Line *const u = *(Line *const *)a, *const v = *(Line *const *)b;
  if ((u->buy == NULL) != (v->buy == NULL))
    return u->buy != NULL ? -1 : 1;
  const int buy = g_strcmp0(u->buy, v->buy);
  return buy != 0 ? buy : (u->place > v->place) - (u->place < v->place);
}

/* Minutes to fit the parts of a line; NAN when the sheet says none. */
static double minutes_of(const LgJob *job, const Line *line)
{
  double minutes = NAN;
  g_auto(GStrv) names = g_strsplit(line->designation->str, ", ", -1);
  for (int i = 0; strcmp(line->kind, "part") == 0 && names[i] != NULL; i++) {
    const int part = lg_job_find_part(job, names[i]);
    if (part >= 0 && !isnan(job->parts[part].labour_s))
      minutes = (isnan(minutes) ? 0 : minutes) + job->parts[part].labour_s / 60;
  }
  return minutes;
}

typedef struct {
  GArray *sums; /* Sum */
  double minutes;
  int n_unpriced;
} Total;

static void add_quote(LgTable *table, const LgJob *job, const Line *line, Total *total)
{
  double each = NAN;
  g_autofree char *currency = NULL;
  g_autofree char *sum = NULL;
  const double quantity = line->quantity + line->spare, minutes = minutes_of(job, line);
  if (line->price != NULL && lg_price_read(line->price, &each, &currency)) {
    add_sum(total->sums, currency, each * quantity);
    sum = g_strdup_printf("%.2f %s", each * quantity, currency);
  } else {
    total->n_unpriced++;
  }
  g_autofree char *said = isnan(minutes) ? NULL : g_strdup_printf("%.0f", minutes);
  total->minutes += isnan(minutes) ? 0 : minutes;
  lg_table_add(table, line->buy != NULL ? line->buy : LG_GAP, line->designation->str, line->what,
               line->type, quantity, line->unit, line->price, sum, said);
}

static char *words_total(const Total *total)
{
  g_autoptr(GString) words = g_string_new(T_("Sums: "));
  for (guint i = 0; i < total->sums->len; i++)
    g_string_append_printf(words, "%s%.2f %s", i > 0 ? ", " : "",
                           g_array_index(total->sums, Sum, i).sum,
                           g_array_index(total->sums, Sum, i).currency);
  if (total->sums->len == 0)
    g_string_append(words, T_("no price in the sheet"));
  g_string_append_printf(
      words, T_(". Labour to fit the parts: %.0f minutes, without measuring, harness and proof."),
      total->minutes);
  if (total->n_unpriced > 0)
    g_string_append_printf(words, T_(" %d lines have no price: not in the sums."),
                           total->n_unpriced);
  return g_string_free(g_steal_pointer(&words), FALSE);
}

LgTable *lg_table_quote(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  LgTable *const table =
      lg_table_new("quote", T_("What it costs, by where it is bought"), quote_columns);
  g_autoptr(GPtrArray) bill = bill_of(sizing);
  for (guint i = 0; i < bill->len; i++)
    ((Line *)bill->pdata[i])->place = i;
  g_ptr_array_sort(bill, compare_sellers);
  Total total = {.sums = g_array_new(FALSE, FALSE, sizeof(Sum))};
  g_array_set_clear_func(total.sums, sum_clear);
  for (guint i = 0; i < bill->len; i++) {
    const Line *const line = bill->pdata[i];
    const gboolean donor = strcmp(line->state, lg_words_is(LG_IS_DONOR)) == 0;
    /* What the sheet neither buys nor prices comes inside a donor part. */
    if (strcmp(line->state, lg_words_is(LG_IS_HOST)) != 0 &&
        (!donor || line->buy != NULL || line->price != NULL))
      add_quote(table, job, line, &total);
  }
  table->note = words_total(&total);
  g_array_free(total.sums, TRUE);
  return table;
}
