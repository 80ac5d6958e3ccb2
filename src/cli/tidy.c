#include "cli.h"
#include <stdio.h>

static int run(int argc, char **argv)
{
  gboolean check = FALSE;
  int status;
  const GOptionEntry entries[] = {
      {"check", 0, 0, G_OPTION_ARG_NONE, &check,
       "change nothing; exit with 1 when the sheet is not tidy", NULL},
      G_OPTION_ENTRY_NULL,
  };
  if (!cli_begin(&cli_tidy, entries, &argc, &argv, 1, 1, &status))
    return status;
  g_autoptr(LgJobSheet) sheet = cli_open(argv[1], NULL);
  if (sheet == NULL)
    return LG_EXIT_WRONG;
  g_autoptr(GError) error = NULL;
  g_autoptr(GBytes) tidy = lg_tidy_text(sheet, &error);
  if (tidy == NULL)
    return cli_refuse(&cli_tidy, sheet, error, FALSE);
  g_autoptr(GBytes) old = lg_job_sheet_text(sheet);
  if (g_bytes_equal(old, tidy))
    return LG_EXIT_CLEAR;
  if (check) {
    printf("%s is not tidy; `loomgraft tidy %s` mends it\n", argv[1], argv[1]);
    return LG_EXIT_AGAINST;
  }
  if (!lg_write_file(argv[1], tidy, &error)) {
    cli_complain("%s", error->message);
    return LG_EXIT_WRONG;
  }
  return LG_EXIT_CLEAR;
}

const CliVerb cli_tidy = {
    .name = "tidy",
    .summary = "align a sheet's columns and order its keys; the meaning stays",
    .usage = "JOB [--check]",
    .example = "loomgraft tidy --check examples/library-van-seat.job",
    .text = "Comments and the order of records are kept. Running it twice changes nothing more.",
    .run = run,
};
