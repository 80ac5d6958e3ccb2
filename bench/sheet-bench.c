/* Reads a sheet of 10^5 records, typed values included, and says how fast and with how much memory.
 */
#include "sheet/sheet.h"
#include <stdio.h>
#include <sys/resource.h>

enum { N_RECORDS = 100000, N_ROUNDS = 15 };

/* As jobs are: mostly wires, pins and parts, with remarks. */
static void add_record(GString *out, int i)
{
  switch (i % 5) {
  case 0:
    g_string_append_printf(
        out, "part K%d relay-make at=under-seat is=donor \"relay of circuit %d\"\n", i, i);
    break;
  case 1:
    g_string_append_printf(
        out,
        "pin SEAT.%d colour=GN/BK terminal=tab-2.8 evidence=measured \"lift motor, "
        "up\"\n",
        i);
    break;
  case 2:
    g_string_append_printf(out, "element SEAT.lift%d motor 7 8 run=4.2A start=14A stall=18A\n", i);
    break;
  case 3:
    g_string_append_printf(out, "wire W%d F%d.2 K%d.30 RD/WH 2.5mm2 length=1.85m via=sill,tunnel\n",
                           i, i, i - 3);
    break;
  default:
    g_string_append_printf(out, "wire W%d K%d.87 SEAT.%d BU auto spare=120mm # to the seat\n", i,
                           i - 4, i - 3);
  }
}

static double read_once(GBytes *bytes)
{
  const gint64 begin_us = g_get_monotonic_time();
  LgSheet *const sheet = lg_sheet_read("bench.job", bytes, FALSE);
  const double seconds = (double)(g_get_monotonic_time() - begin_us) * 1e-6;
  g_assert_cmpuint(lg_sheet_n_records(sheet), ==, N_RECORDS);
  g_assert_cmpuint(lg_sheet_problems(sheet)->len, ==, 0);
  lg_sheet_free(sheet);
  return seconds;
}

static double peak_MB(void)
{
  struct rusage usage;
  getrusage(RUSAGE_SELF, &usage);
  return (double)usage.ru_maxrss / 1024;
}

int main(void)
{
  GString *const text = g_string_new(NULL);
  for (int i = 0; i < N_RECORDS; i++)
    add_record(text, i);
  GBytes *const bytes = g_string_free_to_bytes(text);
  const double megabytes = (double)g_bytes_get_size(bytes) / 1e6;
  const double before_MB = peak_MB();
  double best = read_once(bytes);
  const double used_MB = peak_MB() - before_MB;
  for (int i = 1; i < N_ROUNDS; i++)
    best = MIN(best, read_once(bytes));
  g_bytes_unref(bytes);
  printf("{\"bench\": \"sheet-read\", \"records\": %d, \"text_MB\": %.2f, \"best_s\": %.4f, "
         "\"MB_per_s\": %.1f, \"memory_MB\": %.1f}\n",
         N_RECORDS, megabytes, best, megabytes / best, used_MB);
  return 0;
}
