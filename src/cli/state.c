#include "cli.h"

static int run(int argc, char **argv)
{
  g_auto(CliAsk) ask = {0};
  int status;
  const GOptionEntry entries[] = {
      CLI_ASK(&ask),
      G_OPTION_ENTRY_NULL,
  };
  if (!cli_begin(&cli_state, entries, &argc, &argv, 1, 10000, &status))
    return status;
  g_autoptr(LgJobSheet) sheet = cli_open(argv[1], ask.variant);
  if (sheet == NULL)
    return LG_EXIT_WRONG;
  g_autoptr(GError) error = NULL;
  LgReport *const report = lg_state(sheet, (const char *const *)argv + 2, &error);
  return report == NULL ? cli_refuse(&cli_state, sheet, error, ask.json) : cli_print(report, &ask);
}

const CliVerb cli_state = {
    .name = "state",
    .summary = "solve one state: volts, currents, drops, powers, relays",
    .usage = "JOB [INPUT=position ...] [--variant=NAME] [--csv=FOLDER] [--json]",
    .example = "loomgraft state examples/library-van-seat.job KEY=on",
    .text = "Inputs are parts with positions (KEY=on), thermostat calls (S2.heat=on) and what a "
            "load is doing\n"
            "(SEAT.lift=off, run, start, stall). Inputs that are not named are at rest.",
    .run = run,
};
