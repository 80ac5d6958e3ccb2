#include "cli.h"

static int run(int argc, char **argv)
{
  g_auto(CliAsk) ask = {0};
  int status;
  const GOptionEntry entries[] = {
      CLI_ASK(&ask),
      G_OPTION_ENTRY_NULL,
  };
  if (!cli_begin(&cli_check, entries, &argc, &argv, 1, 1, &status))
    return status;
  g_autoptr(LgJobSheet) sheet = cli_open(argv[1], ask.variant);
  if (sheet == NULL)
    return LG_EXIT_WRONG;
  g_autoptr(GError) error = NULL;
  LgReport *const report = lg_check(sheet, &error);
  return report == NULL ? cli_refuse(&cli_check, sheet, error, ask.json) : cli_print(report, &ask);
}

const CliVerb cli_check = {
    .name = "check",
    .summary = "solve every state of a job and say what stands against building it",
    .usage = "JOB [--variant=NAME] [--csv=FOLDER] [--json]",
    .example = "loomgraft check examples/library-van-seat.job",
    .text = "Every combination of key, switches and thermostats is solved, the auto sizes are "
            "chosen, and every rule and\n"
            "need is checked. Each finding names the place in the sheet, the numbers, on what the "
            "limit rests, and what\n"
            "to do. `loomgraft explain RULE` tells more about a rule.",
    .run = run,
};
