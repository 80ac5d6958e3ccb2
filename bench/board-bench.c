/* Speed of bundles, route plan and board: packing by number of wires, layout of generated jobs. One
 * JSON line a figure, by processor time. */
#include "drawing/board.h"
#include "make-job.h"
#include <stdio.h>
#include <string.h>
#include <time.h>

static double busy_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Invented: thin-wall diameters in a round. */
static void measure_packing(int n)
{
  static const double mm[] = {1.3, 1.6, 1.9, 2.1, 2.4, 3.0, 3.7};
  double diameter[60];
  for (int i = 0; i < n; i++)
    diameter[i] = mm[i % 7];
  const double start = busy_s();
  int times = 0;
  double seconds = 0;
  while (seconds < 0.3) {
    g_autoptr(LgPacking) packing = lg_packing_new(diameter, n);
    g_assert_cmpfloat(packing->diameter, >, 0);
    times++;
    seconds = busy_s() - start;
  }
  printf("{\"bench\": \"board: bundle of %d wires packed\", \"ms\": %.2f}\n", n,
         seconds / times * 1e3);
}

static void measure_job(int circuits)
{
  g_autofree char *text = make_job(circuits, 4);
  g_autoptr(GBytes) bytes = g_bytes_new(text, strlen(text));
  LgCatalogue *const catalogue = lg_catalogue_new();
  LgSheet *const sheet = lg_sheet_read("bench.job", bytes, FALSE);
  LgJob *const job = lg_job_new(sheet, catalogue);
  g_assert_nonnull(job);
  LgSizing *const sizing = lg_sizing_new(job, NULL);
  g_assert_nonnull(sizing);
  double start = busy_s();
  LgRoute *const route = lg_route_new(sizing);
  const double route_s = busy_s() - start;
  start = busy_s();
  LgBoard *const board = lg_board_new(route, 210, 297);
  const double board_s = busy_s() - start;
  start = busy_s();
  g_autoptr(GPtrArray) sheets = lg_board_tiles(board, 210, 297);
  printf("{\"bench\": \"board: %d circuits\", \"branches\": %d, \"apart\": %u, \"sheets\": %u, "
         "\"route_ms\": %.1f, \"layout_ms\": %.1f, \"tiles_ms\": %.1f}\n",
         circuits, board->n_branches, board->breaks->len, sheets->len, route_s * 1e3, board_s * 1e3,
         (busy_s() - start) * 1e3);
  lg_board_free(board);
  lg_route_free(route);
  lg_sizing_free(sizing);
  lg_job_free(job);
  lg_sheet_free(sheet);
  lg_catalogue_free(catalogue);
}

int main(void)
{
  static const int wires[] = {7, 20, 60}, circuits[] = {10, 30, 100, 200};
  for (gsize i = 0; i < G_N_ELEMENTS(wires); i++)
    measure_packing(wires[i]);
  for (gsize i = 0; i < G_N_ELEMENTS(circuits); i++)
    measure_job(circuits[i]);
  return 0;
}
