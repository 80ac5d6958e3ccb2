#include "cli.h"

static int run(int argc, char **argv)
{
  gboolean json = FALSE, done;
  const GOptionEntry entries[] = {
      {"json", 0, 0, G_OPTION_ARG_NONE, &json, "print the report as JSON", NULL},
      G_OPTION_ENTRY_NULL,
  };
  if (!cli_parse(&cli_state, entries, &argc, &argv, &done) ||
      (!done && !cli_words(&cli_state, argc, 1, 10000)))
    return LG_EXIT_WRONG;
  if (done)
    return LG_EXIT_CLEAR;
  g_autoptr(LgJobSheet) sheet = cli_open(argv[1]);
  if (sheet == NULL)
    return LG_EXIT_WRONG;
  g_autoptr(GError) error = NULL;
  LgReport *const report = lg_state(sheet, (const char *const *)argv + 2, &error);
  return report == NULL ? cli_refuse(&cli_state, sheet, error, json) : cli_print(report, json);
}

const CliVerb cli_state = {
    .name = "state",
    .summary = "solve one state: volts, currents, drops, powers, relays",
    .usage = "JOB [INPUT=position ...] [--json]",
    .example = "loomgraft state examples/library-van-seat.job KEY=on",
    .text = "Inputs are parts with positions (KEY=on), thermostat calls (S2.heat=on) and what a "
            "load is doing\n"
            "(SEAT.lift=off, run, start, stall). Inputs that are not named are at rest.",
    .run = run,
};
