/* A small job for the packet's tests: invented, and simple enough to reckon by hand. */
#pragma once
#include "packet/tables.h"
#include <string.h>

static const char test_sheet[] = "job \"Bench seat\" date=2026-03-01 nominal=12V "
                                 "insulation=class-b words=earth ask=\"the club\"\n"
                                 "vehicle van \"a mail van\" is=host\n"
                                 "vehicle coach \"a coach\" is=donor\n"
                                 "place bay temperature=-20C..60C\n"
                                 "place cabin temperature=-20C..50C\n"
                                 "run floor bay cabin 2m\n"
                                 "part G1 battery-12 at=bay is=host capacity=60Ah\n"
                                 "part XG1 ground at=bay is=host\n"
                                 "part F1 fuse-blade at=bay\n"
                                 "part S1 switch-on-off at=cabin\n"
                                 "part SEAT assembly at=cabin is=donor face=2x4 housing=\"white\"\n"
                                 "pin SEAT.1 colour=RD/BK evidence=told \"pad, plus\"\n"
                                 "pin SEAT.2 colour=BN evidence=guess \"pad, minus\"\n"
                                 "pin SEAT.3 colour=GY evidence=guess \"middle tap\"\n"
                                 "pin SEAT.4 colour=YE restraint=yes \"belt buckle\"\n"
                                 "pin SEAT.5 fitted=no evidence=guess \"lamp\"\n"
                                 "element SEAT.pad heater 1 2 resistance=3ohm tolerance=10%\n"
                                 "element SEAT.upper heater 1 3 resistance=2ohm\n"
                                 "element SEAT.lower heater 3 2 resistance=4ohm\n"
                                 "wire W0 G1.- XG1.1 BK 16mm2 length=0.4m is=host\n"
                                 "wire W1 G1.+ F1.1 RD 4mm2 length=0.153m\n"
                                 "wire W2 F1.2 S1.1 RD auto via=floor\n"
                                 "wire W3 S1.2 SEAT.1 RD/BK auto length=0.6m\n"
                                 "wire W4 SEAT.2 XG1.1 BN auto via=floor\n"
                                 "need \"warm\" SEAT.pad power>20W when S1=on\n"
                                 "reading R1 SEAT.1 SEAT.2 resistance=2.2ohm\n";

typedef struct {
  LgSheet *sheet;
  LgCatalogue *catalogue;
  LgJob *job;
  LgSizing *sizing;
} TestJob;

static inline void test_job_take(TestJob *test, LgSheet *sheet)
{
  test->sheet = sheet;
  test->catalogue = lg_catalogue_new();
  test->job =
      lg_sheet_problems(test->sheet)->len == 0 ? lg_job_new(test->sheet, test->catalogue) : NULL;
  const GPtrArray *const problems = lg_sheet_problems(test->sheet);
  for (guint i = 0; i < problems->len; i++)
    g_test_message("%d: %s", ((LgProblem *)problems->pdata[i])->origin.line,
                   ((LgProblem *)problems->pdata[i])->what);
  g_assert_nonnull(test->job);
  test->sizing = lg_sizing_new(test->job, NULL);
  g_assert_nonnull(test->sizing);
}

/* A text that does not read is the test's own fault. */
static inline void test_job_init(TestJob *test, const char *text)
{
  g_autoptr(GBytes) bytes = g_bytes_new_static(text, strlen(text));
  test_job_take(test, lg_sheet_read("test.job", bytes, FALSE));
}

/* One of the examples of the source tree. */
static inline void test_job_open(TestJob *test, const char *name)
{
  g_autofree char *path = g_build_filename(g_getenv("LG_SOURCE_ROOT"), "examples", name, NULL);
  g_autoptr(GError) error = NULL;
  LgSheet *const sheet = lg_sheet_open(path, FALSE, &error);
  g_assert_no_error(error);
  test_job_take(test, sheet);
}

static inline void test_job_clear(TestJob *test)
{
  lg_sizing_free(test->sizing);
  lg_job_free(test->job);
  lg_catalogue_free(test->catalogue);
  lg_sheet_free(test->sheet);
}
