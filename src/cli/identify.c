#include "cli.h"
#include <stdio.h>

/* The block alone, as it may be pasted. */
static int print_records(LgJobSheet *sheet, const char *part)
{
  g_autoptr(GError) error = NULL;
  g_autofree char *text = lg_identify_records(sheet, part, &error);
  if (text == NULL)
    return cli_refuse(&cli_identify, sheet, error, FALSE);
  return fputs(text, stdout) == EOF || fflush(stdout) != 0 ? LG_EXIT_WRONG : LG_EXIT_CLEAR;
}

static int run(int argc, char **argv)
{
  g_auto(CliAsk) ask = {0};
  gboolean records = FALSE;
  int status;
  const GOptionEntry entries[] = {
      CLI_ASK(&ask),
      {"records", 0, 0, G_OPTION_ARG_NONE, &records, "print only the records to paste", NULL},
      G_OPTION_ENTRY_NULL,
  };
  if (!cli_begin(&cli_identify, entries, &argc, &argv, 2, 2, &status))
    return status;
  g_autoptr(LgJobSheet) sheet = cli_open(argv[1], ask.variant);
  if (sheet == NULL)
    return LG_EXIT_WRONG;
  if (records)
    return print_records(sheet, argv[2]);
  g_autoptr(GError) error = NULL;
  LgReport *const report = lg_identify(sheet, argv[2], &error);
  return report == NULL ? cli_refuse(&cli_identify, sheet, error, ask.json)
                        : cli_print(report, &ask);
}

const CliVerb cli_identify = {
    .name = "identify",
    .summary = "what lies behind the cavities of an unknown plug, from ohm readings",
    .usage = "JOB PART [--records] [--variant=NAME] [--csv=FOLDER] [--json]",
    .example = "loomgraft identify examples/library-van-seat.job SEAT",
    .text =
        "From the `reading` records of the part: what lies between its cavities, what each thing "
        "is likely to be,\n"
        "whether heat is fitted, which reading to take next, and records to paste. Write what "
        "was done meanwhile as\n"
        "did=\"warmed by hand\" or did=\"seat moved\". Readings that contradict each other are "
        "shown with what is left\n"
        "over. Cavities that may belong to an airbag or belt pretensioner are never looked at "
        "nor proposed.",
    .run = run,
};
