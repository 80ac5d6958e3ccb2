/* For looking at drawings: inks all of a job's into a folder, as SVG, PDF and PNG in colour and in
 * grey. Not installed.
 *   look JOB FOLDER [WIDTHxHEIGHT] [STATE ...] */
#include "drawing/face.h"
#include "drawing/flow.h"
#include "studies/sizing.h"
#include <stdio.h>

static void save(const char *folder, const char *name, const char *ending, GBytes *bytes)
{
  g_autofree char *file = g_strconcat(name, ending, NULL);
  g_autofree char *path = g_build_filename(folder, file, NULL);
  g_autoptr(GBytes) owned = bytes;
  gsize size;
  const void *const data = g_bytes_get_data(owned, &size);
  if (!g_file_set_contents(path, data, (gssize)size, NULL))
    g_error("cannot write %s", path);
}

static void save_all(const char *folder, const char *kind, const GPtrArray *drawings)
{
  for (guint i = 0; i < drawings->len; i++) {
    g_autofree char *name = g_strdup_printf("%s-%u", kind, i + 1);
    save(folder, name, ".svg", lg_drawing_svg(drawings->pdata[i], TRUE));
    save(folder, name, ".png", lg_drawing_png(drawings->pdata[i], 150, FALSE, NULL));
    save(folder, name, "-grey.png", lg_drawing_png(drawings->pdata[i], 150, TRUE, NULL));
  }
  save(folder, kind, ".pdf", lg_drawings_pdf(drawings, kind, NULL));
}

static LgPoint *solve(const LgSizing *sizing, int n, char *const states[])
{
  const LgJob *const job = sizing->circuit->job;
  if (n == 0)
    return NULL;
  LgPoint *const point = lg_point_new(sizing->circuit);
  for (int i = 0; i < n; i++) {
    LgCondition condition;
    g_autoptr(GError) error = NULL;
    if (!lg_job_read_condition(job, states[i], &condition, &error))
      g_error("%s", error->message);
    for (int k = 0; k < job->inputs[condition.input].n_positions; k++)
      if (condition.positions >> k & 1)
        point->position[condition.input] = k;
  }
  LgNetWork *const work = lg_net_work_new(sizing->circuit->net);
  lg_circuit_solve(sizing->circuit, work, point);
  lg_net_work_free(work);
  return point;
}

int main(int argc, char **argv)
{
  g_autoptr(GError) error = NULL;
  if (argc < 3) { /* the test runner builds it and has nothing to show */
    puts("1..0 # SKIP look JOB FOLDER [WIDTHxHEIGHT] [STATE ...]");
    return 0;
  }
  LgSheet *const sheet = lg_sheet_open(argv[1], FALSE, &error);
  if (sheet == NULL)
    g_error("%s", error->message);
  LgCatalogue *const catalogue = lg_catalogue_new();
  LgJob *const job = lg_job_new(sheet, catalogue);
  if (job == NULL)
    g_error("%s does not read", argv[1]);
  LgSizing *const sizing = lg_sizing_new(job, &error);
  LgFlowOptions options = {.width_mm = 297, .height_mm = 210};
  if (argc > 3)
    sscanf(argv[3], "%lfx%lf", &options.width_mm, &options.height_mm);
  g_autofree double *ratings = g_new0(double, (gsize)job->n_elements + 1);
  g_autoptr(LgPoint) point = NULL;
  if (sizing != NULL) {
    for (int e = 0; e < job->n_elements; e++)
      ratings[e] = sizing->fuses[e].rating_A;
    options.chosen = sizing->chosen;
    options.ratings_A = ratings;
    options.point = point = solve(sizing, MAX(argc - 4, 0), argv + 4);
  }
  g_mkdir_with_parents(argv[2], 0777);
  const gint64 start = g_get_monotonic_time();
  g_autoptr(GPtrArray) flow = lg_flow_new(job, &options);
  printf("flow: %u sheets, layout %.1f ms\n", flow->len,
         (double)(g_get_monotonic_time() - start) / 1000);
  save_all(argv[2], "flow", flow);
  g_autoptr(GPtrArray) faces = lg_faces_new(job, 190, options.chosen);
  save_all(argv[2], "face", faces);
  lg_sizing_free(sizing);
  lg_job_free(job);
  lg_catalogue_free(catalogue);
  lg_sheet_free(sheet);
  return 0;
}
