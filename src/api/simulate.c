/* A use run through time, and the files of it. */
#include "api/api-private.h"
#include "base/words.h"
#include "drawing/paper.h"
#include "packet/tables-simulate.h"
#include <errno.h>
#include <math.h>
#include <string.h>

static const LgUse *use_named(const LgJob *job, const char *name, GError **error)
{
  const int use = lg_job_find_use(job, name);
  if (use >= 0)
    return &job->uses[use];
  g_autoptr(GString) list = g_string_new(NULL);
  for (int i = 0; i < job->n_uses; i++)
    g_string_append_printf(list, "%s%s", i > 0 ? ", " : "", job->uses[i].name);
  g_set_error(error, LG_ERROR, LG_ERROR_CALL, "there is no use `%s`; %s%s", name,
              job->n_uses > 0 ? "the sheet has " : "add a `use` record with its steps to the sheet",
              list->str);
  return NULL;
}

static gboolean save(const char *folder, const char *name, GBytes *bytes, LgReport *report,
                     GError **error)
{
  g_autofree char *path = g_build_filename(folder, name, NULL);
  if (bytes == NULL || !lg_save(path, bytes, error)) {
    g_prefix_error(error, "%s: ", path);
    return FALSE;
  }
  g_ptr_array_add(report->notes, g_steal_pointer(&path));
  return TRUE;
}

static gboolean save_sheet(const LgDrawing *drawing, guint number, const char *folder,
                           LgReport *report, GError **error)
{
  g_autofree char *svg_name =
      number == 0 ? g_strdup("course.svg") : g_strdup_printf("course-%u.svg", number + 1);
  g_autofree char *png_name =
      number == 0 ? g_strdup("course.png") : g_strdup_printf("course-%u.png", number + 1);
  g_autoptr(GBytes) svg = lg_drawing_svg(drawing, FALSE);
  g_autoptr(GBytes) png = lg_drawing_png(drawing, 150, FALSE, error);
  return save(folder, svg_name, svg, report, error) && save(folder, png_name, png, report, error);
}

static gboolean save_all(const LgSimulation *sim, const char *folder, LgReport *report,
                         GError **error)
{
  if (g_mkdir_with_parents(folder, 0777) != 0) {
    g_set_error(error, LG_ERROR, LG_ERROR_SAVE, "%s: the folder cannot be made: %s", folder,
                g_strerror(errno));
    return FALSE;
  }
  char *const csv = lg_simulation_csv(sim);
  g_autoptr(GBytes) bytes = g_bytes_new_take(csv, strlen(csv));
  if (!save(folder, "course.csv", bytes, report, error))
    return FALSE;
  const gboolean letter = sim->job->letter_paper;
  g_autoptr(GPtrArray) sheets =
      lg_simulation_plot(sim, lg_paper_long_mm(letter), lg_paper_short_mm(letter));
  for (guint i = 0; i < sheets->len; i++)
    if (!save_sheet(sheets->pdata[i], i, folder, report, error))
      return FALSE;
  g_autoptr(GBytes) pdf = lg_drawings_pdf(sheets, sim->job->title, error);
  return save(folder, "course.pdf", pdf, report, error);
}

static char *verdict_of(const LgSimulation *sim)
{
  const LgCourseEnergy *const e = &sim->energy;
  g_autofree char *given = lg_quantity_print(e->given, LG_DIM_ENERGY, sim->job->habit, 4);
  g_autofree char *heated = lg_quantity_print(e->heated, LG_DIM_ENERGY, sim->job->habit, 4);
  g_autofree char *length = lg_quantity_print(sim->use->lasts_s, LG_DIM_TIME, sim->job->habit, 4);
  return g_strdup_printf(T_("%s%s%s runs %s, %u things happen; the sources give %s, of which "
                            "bodies and wires take up %s."),
                         sim->end_words != NULL ? sim->end_words : "",
                         sim->end_words != NULL ? " " : "", sim->use->name, length,
                         sim->happenings->len, given, heated);
}

static void take_tables(LgReport *report, const LgSimulation *sim)
{
  g_ptr_array_add(report->tables, lg_table_happenings(sim));
  g_ptr_array_add(report->tables, lg_table_contact_counts(sim));
  g_ptr_array_add(report->tables, lg_table_course_warmth(sim));
  g_ptr_array_add(report->tables, lg_table_course_charge(sim));
  for (guint i = 0; i < sim->notes->len; i++)
    g_ptr_array_add(report->notes, g_strdup(sim->notes->pdata[i]));
  g_ptr_array_add(
      report->notes,
      g_strdup_printf(
          T_("Energy given = taken up by bodies and wires + elsewhere, to %.1g of it; "
             "%d steps, %d cells of %d positions, the circuit solved %d times for the course."),
          fabs(sim->energy.given - sim->energy.heated - sim->energy.elsewhere) /
              MAX(fabs(sim->energy.given), 1e-9),
          sim->work.steps, sim->work.cells, sim->work.positions, sim->work.solved));
}

LgReport *lg_simulate(LgJobSheet *sheet, const char *use, const LgSimulateAsk *ask, GError **error)
{
  const LgJob *const job = lg_job_sheet_job(sheet, error);
  const LgUse *const chosen = job == NULL ? NULL : use_named(job, use, error);
  if (chosen == NULL)
    return NULL;
  g_auto(LgSpeaking) speaking = lg_words_use(lg_words_of(job->language));
  g_autoptr(GError) reason = NULL;
  g_autoptr(LgSizing) sizing = lg_sizing_new(job, &reason);
  const LgSimulateOptions options = {.progress = ask->stop, .user = ask->user};
  g_autoptr(LgSimulation) sim =
      sizing == NULL ? NULL : lg_simulation_new(sizing, chosen, &options, &reason);
  if (sim == NULL) {
    g_set_error_literal(error, LG_ERROR, LG_ERROR_SHEET, reason->message);
    return NULL;
  }
  LgReport *const report = lg_report_new("simulate", job->title);
  report->habit = job->habit;
  report->verdict = verdict_of(sim);
  take_tables(report, sim);
  if (ask->folder != NULL && !save_all(sim, ask->folder, report, error)) {
    lg_report_free(report);
    return NULL;
  }
  return report;
}
