#include "cli.h"
#include <signal.h>

static volatile sig_atomic_t interrupted;

static void on_interrupt(int signal_number)
{
  (void)signal_number;
  interrupted = 1;
}

/* Stops at Ctrl-C. */
static gboolean go_on(double share, gpointer user)
{
  cli_progress_show(user, share);
  return interrupted != 0;
}

static int run(int argc, char **argv)
{
  g_auto(CliAsk) ask = {0};
  int status;
  g_autofree char *to = NULL;
  const GOptionEntry entries[] = {
      CLI_ASK(&ask),
      {"to", 0, 0, G_OPTION_ARG_FILENAME, &to,
       "write the samples and plots there: course.csv, .svg, .png, .pdf", "FOLDER"},
      G_OPTION_ENTRY_NULL,
  };
  if (!cli_begin(&cli_simulate, entries, &argc, &argv, 2, 2, &status))
    return status;
  g_autoptr(LgJobSheet) sheet = cli_open(argv[1], ask.variant);
  if (sheet == NULL)
    return LG_EXIT_WRONG;
  signal(SIGINT, on_interrupt);
  CliProgress progress = cli_progress_begin(&cli_simulate);
  const LgSimulateAsk what = {.folder = to, .stop = go_on, .user = &progress};
  g_autoptr(GError) error = NULL;
  LgReport *const report = lg_simulate(sheet, argv[2], &what, &error);
  signal(SIGINT, SIG_DFL);
  return report == NULL ? cli_refuse(&cli_simulate, sheet, error, ask.json)
                        : cli_print(report, &ask);
}

const CliVerb cli_simulate = {
    .name = "simulate",
    .summary = "run a use through time: temperatures, contacts, batteries",
    .usage = "JOB USE [--to=FOLDER] [--variant=NAME] [--csv=FOLDER] [--json]",
    .example = "loomgraft simulate examples/library-van-seat.job cold-morning --to=cold-morning",
    .text =
        "A `use` record and its steps say what is switched when. What happens is told in words; "
        "with --to the samples\n"
        "(CSV) and plots (SVG, PNG, PDF) are written. Ctrl-C stops it and keeps what it has.",
    .run = run,
};
