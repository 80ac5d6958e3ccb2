#include "cli.h"

enum { PAIRS_AMONG = 60 };

static int run(int argc, char **argv)
{
  g_auto(CliAsk) ask = {0};
  gboolean pairs = FALSE, guides = FALSE;
  int status;
  const GOptionEntry entries[] = {
      CLI_ASK(&ask),
      {"pairs", 0, 0, G_OPTION_ARG_NONE, &pairs, "also two faults at once", NULL},
      {"guide", 0, 0, G_OPTION_ARG_NONE, &guides, "also the printed guide for each symptom", NULL},
      G_OPTION_ENTRY_NULL,
  };
  if (!cli_begin(&cli_locate, entries, &argc, &argv, 1, 1000, &status))
    return status;
  g_autoptr(LgJobSheet) sheet = cli_open(argv[1], ask.variant);
  if (sheet == NULL)
    return LG_EXIT_WRONG;
  const LgLocateAsk what = {.readings = (const char *const *)argv + 2,
                            .pairs_among = pairs ? PAIRS_AMONG : 0,
                            .guides = guides};
  g_autoptr(GError) error = NULL;
  LgReport *const report = lg_locate(sheet, &what, &error);
  return report == NULL ? cli_refuse(&cli_locate, sheet, error, ask.json) : cli_print(report, &ask);
}

const CliVerb cli_locate = {
    .name = "locate",
    .summary = "where is it: the likeliest faults of a built job, and what to measure next",
    .usage = "JOB [READING ...] [--pairs] [--guide] [--variant=NAME] [--csv=FOLDER] [--json]",
    .example = "loomgraft locate examples/library-van-seat.job "
               "SEAT.cushion runs=no when KEY=on S2=high",
    .text =
        "A reading is what you saw: `E1 runs=no`, `runs=weak` or `runs=yes` of a load; "
        "`F1.2 G1.- volts=12.3V` between two\n"
        "pins, red lead first; `W1.1 W1.2 ohms=0.4ohm` or `ohms=open` with the battery's minus "
        "off. `when` and the state\n"
        "follow: `when KEY=on S2=high`; what is not named is at rest, and cold thermostats call. "
        "tolerance= and lead= say\n"
        "what the meter may be off and what its leads have. Readings of the built job in the sheet "
        "count as well.\n"
        "Without readings: every symptom with its first measurement.",
    .run = run,
};
