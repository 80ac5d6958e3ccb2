/* A use through time, as tables, and as strips on paper. */
#include "packet/tables-simulate.h"
#include "base/words.h"
#include "drawing/plot.h"
#include "packet/tables-private.h"
#include <math.h>

static const LgColumn event_columns[] = {
    LG_TEXT_COLUMN("at", "At"),
    LG_NUMBER_COLUMN("seconds", "Seconds", LG_DIM_NONE, 9),
    LG_TEXT_COLUMN("what", "What happens"),
    LG_COLUMNS_END,
};

/* "12:03" minutes and seconds, "3:12:03" hours too. */
static char *clock_words(double seconds)
{
  const long whole = lround(seconds);
  return whole < 3600
             ? g_strdup_printf(T_("%ld:%02ld min"), whole / 60, whole % 60)
             : g_strdup_printf("%ld:%02ld:%02ld h", whole / 3600, whole / 60 % 60, whole % 60);
}

LgTable *lg_table_happenings(const LgSimulation *sim)
{
  LgTable *const table = lg_table_new("events", T_("What happens, in order"), event_columns);
  for (guint i = 0; i < sim->happenings->len; i++) {
    const LgHappening *const h = &g_array_index(sim->happenings, LgHappening, i);
    g_autofree char *at = clock_words(h->at_s);
    lg_table_add(table, at, h->at_s, h->what);
  }
  if (sim->rounds > 1)
    table->note = g_strdup_printf(T_("Of the first of %d courses."), sim->rounds);
  return table;
}

static const LgColumn contact_columns[] = {
    LG_TEXT_COLUMN("contact", "Contact"),
    LG_NUMBER_COLUMN("closings", "Closes on a load, times", LG_DIM_NONE, 9),
    LG_NUMBER_COLUMN("on_s", "Carries for", LG_DIM_TIME, 3),
    LG_NUMBER_COLUMN("most_A", "Greatest current", LG_DIM_CURRENT, 3),
    LG_COLUMNS_END,
};

LgTable *lg_table_contact_counts(const LgSimulation *sim)
{
  LgTable *const table = lg_table_new("contacts", T_("Contacts"), contact_columns);
  for (int e = 0; e < sim->job->n_elements; e++)
    for (guint i = 0; i < sim->contacts->len; i++) {
      const LgContactCount *const c = &g_array_index(sim->contacts, LgContactCount, i);
      if (c->element == e)
        lg_table_add(table, sim->job->elements[e].name, (double)c->closings, c->on_s, c->most_A);
    }
  table->note = g_strdup_printf(T_("In %d of %d courses, one after the other, each from the cold. "
                                   "What a contact lasts: rule relay-worn of `loomgraft check`."),
                                sim->rounds_done, sim->rounds);
  return table;
}

static const LgColumn warmth_columns[] = {
    LG_TEXT_COLUMN("what", "Body or wire"),
    LG_NUMBER_COLUMN("start_degC", "At the start", LG_DIM_TEMPERATURE, 3),
    LG_NUMBER_COLUMN("most_degC", "Hottest", LG_DIM_TEMPERATURE, 3),
    LG_TEXT_COLUMN("when", "When"),
    LG_NUMBER_COLUMN("end_degC", "At the end", LG_DIM_TEMPERATURE, 3),
    LG_COLUMNS_END,
};

LgTable *lg_table_course_warmth(const LgSimulation *sim)
{
  LgTable *const table = lg_table_new("warmth", T_("Temperatures"), warmth_columns);
  for (guint i = 0; i < sim->temperatures->len; i++) {
    const LgTemperature *const t = &g_array_index(sim->temperatures, LgTemperature, i);
    g_autofree char *when = clock_words(t->most_at_s);
    lg_table_add(table, t->name, t->start_K, t->most_K, when, t->end_K);
  }
  table->note = g_strdup(T_("Bodies as the sheet has them. Each wire alone in its covering, in the "
                            "air of the use; those that stay within some 5 K of the air are left "
                            "out. Company and hot places: `loomgraft size`."));
  return table;
}

static const LgColumn cell_columns[] = {
    LG_TEXT_COLUMN("battery", "Battery"),
    LG_NUMBER_COLUMN("start", "At the start", LG_DIM_RATIO, 3),
    LG_NUMBER_COLUMN("end", "At the end", LG_DIM_RATIO, 3),
    LG_NUMBER_COLUMN("least", "Least at the end of a course", LG_DIM_RATIO, 3),
    LG_COLUMNS_END,
};

LgTable *lg_table_course_charge(const LgSimulation *sim)
{
  LgTable *const table = lg_table_new("batteries", T_("Batteries"), cell_columns);
  for (int e = 0; e < sim->job->n_elements; e++)
    if (sim->job->elements[e].kind == LG_EL_CELL)
      lg_table_add(table, sim->job->elements[e].name, sim->start_charge[e], sim->end_charge[e],
                   sim->least_charge[e]);
  return table;
}

/* ---- the samples ---- */

static const char *const kind_words[] = {
    [LG_SERIES_VOLTS] = "V",     [LG_SERIES_AMPS] = "A",        [LG_SERIES_BODY_K] = "degC",
    [LG_SERIES_WIRE_K] = "degC", [LG_SERIES_CHARGE] = "charge", [LG_SERIES_CONTACT] = "closed",
};

char *lg_simulation_csv(const LgSimulation *sim)
{
  GString *const text = g_string_new("time_s");
  for (guint i = 0; i < sim->series->len; i++) {
    const LgSeries *const s = sim->series->pdata[i];
    g_string_append_printf(text, ",%s_%s", s->name, kind_words[s->kind]);
  }
  g_string_append(text, "\r\n");
  for (guint k = 0; k < sim->times->len; k++) {
    g_autofree char *at = lg_number_print(g_array_index(sim->times, double, k), 12);
    g_string_append(text, at);
    for (guint i = 0; i < sim->series->len; i++) {
      const LgSeries *const s = sim->series->pdata[i];
      const gboolean warm = s->kind == LG_SERIES_BODY_K || s->kind == LG_SERIES_WIRE_K;
      const double value = g_array_index(s->value, double, k) - (warm ? LG_ZERO_C_IN_K : 0);
      g_autofree char *shown = isnan(value) ? g_strdup("") : lg_number_print(value, 7);
      g_string_append_printf(text, ",%s", shown);
    }
    g_string_append(text, "\r\n");
  }
  return g_string_free(text, FALSE);
}

/* Series of one kind as traces; for wires only the hottest few. */
enum { MOST_HOT = 4 };

static double greatest(const LgSeries *series)
{
  double most = -INFINITY;
  for (guint k = 0; k < series->value->len; k++)
    most = fmax(most, g_array_index(series->value, double, k));
  return most;
}

static gboolean is_among_hottest(const LgSimulation *sim, const LgSeries *series)
{
  int hotter = 0;
  for (guint i = 0; i < sim->series->len; i++) {
    const LgSeries *const other = sim->series->pdata[i];
    if (other->kind == series->kind && other != series && greatest(other) > greatest(series))
      hotter++;
  }
  return hotter < MOST_HOT;
}

/* Strips keep five curves: those that carry most come first. */
static int stronger_first(const void *a, const void *b)
{
  const LgSeries *const x = *(const LgSeries *const *)a, *const y = *(const LgSeries *const *)b;
  const double most_x = greatest(x), most_y = greatest(y);
  return (most_x < most_y) - (most_x > most_y);
}

static void take_traces(const LgSimulation *sim, LgSeriesKind kind, GArray *traces)
{
  g_autoptr(GPtrArray) order = g_ptr_array_new();
  for (guint i = 0; i < sim->series->len; i++)
    g_ptr_array_add(order, sim->series->pdata[i]);
  if (kind == LG_SERIES_AMPS)
    qsort(order->pdata, order->len, sizeof *order->pdata, stronger_first);
  for (guint i = 0; i < order->len; i++) {
    const LgSeries *const s = order->pdata[i];
    const LgTrace trace = {s->name, (const double *)(const void *)s->value->data};
    if (s->kind == kind && (kind != LG_SERIES_WIRE_K || is_among_hottest(sim, s)))
      g_array_append_val(traces, trace);
  }
}

GPtrArray *lg_simulation_plot(const LgSimulation *sim, double width_mm, double height_mm)
{
  static const struct {
    LgSeriesKind kind;
    const char *title;
    LgDim dim;
  } strips_of[] = {{LG_SERIES_BODY_K, N_("Bodies"), LG_DIM_TEMPERATURE},
                   {LG_SERIES_WIRE_K, N_("Hottest wires"), LG_DIM_TEMPERATURE},
                   {LG_SERIES_AMPS, N_("Currents"), LG_DIM_CURRENT},
                   {LG_SERIES_VOLTS, N_("Batteries"), LG_DIM_VOLTAGE},
                   {LG_SERIES_CHARGE, N_("Charge, 1 is full"), LG_DIM_RATIO},
                   {LG_SERIES_CONTACT, N_("Contacts closed"), LG_DIM_NONE}};
  GArray *traces[G_N_ELEMENTS(strips_of)];
  LgStrip strips[G_N_ELEMENTS(strips_of)];
  int n = 0;
  for (gsize i = 0; i < G_N_ELEMENTS(strips_of); i++) {
    traces[i] = g_array_new(FALSE, FALSE, sizeof(LgTrace));
    take_traces(sim, strips_of[i].kind, traces[i]);
    if (traces[i]->len > 0)
      strips[n++] = (LgStrip){.kind = strips_of[i].kind == LG_SERIES_CONTACT ? LG_STRIP_BARS
                                                                             : LG_STRIP_CURVES,
                              .title = T_(strips_of[i].title),
                              .dim = strips_of[i].dim,
                              .traces = (const LgTrace *)(const void *)traces[i]->data,
                              .n_traces = (int)traces[i]->len,
                              .limit = NAN};
  }
  g_autofree char *title = g_strdup_printf("%s: %s", sim->job->title, sim->use->name);
  const LgPlot plot = {.title = title,
                       .subtitle = sim->use->text,
                       .habit = sim->job->habit,
                       .time_s = (const double *)(const void *)sim->times->data,
                       .n_times = (int)sim->times->len,
                       .strips = strips,
                       .n_strips = n};
  GPtrArray *const sheets = lg_plot_new(&plot, width_mm, height_mm);
  for (gsize i = 0; i < G_N_ELEMENTS(strips_of); i++)
    g_array_unref(traces[i]);
  return sheets;
}
