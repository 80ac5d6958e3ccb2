#include "cli.h"

enum { PAIRS_AMONG = 40 };

static gboolean go_on(double share, gpointer user)
{
  cli_progress_show(user, share);
  return FALSE;
}

static int run(int argc, char **argv)
{
  g_auto(CliAsk) ask = {0};
  gboolean pairs = FALSE, every = FALSE;
  int remedies = 0, threads = 0;
  gint64 most = 0;
  int status;
  const GOptionEntry entries[] = {
      CLI_ASK(&ask),
      {"pairs", 0, 0, G_OPTION_ARG_NONE, &pairs, "also two faults at once, among the worst", NULL},
      {"every", 0, 0, G_OPTION_ARG_NONE, &every, "also each fault in a row of its own", NULL},
      {"remedies", 0, 0, G_OPTION_ARG_INT, &remedies,
       "causes for which remedies are tried; -1 for none", "N"},
      {"most", 0, 0, G_OPTION_ARG_INT64, &most,
       "pairs of fault and state up to which every state is solved; 1000000 when not given", "N"},
      {"threads", 0, 0, G_OPTION_ARG_INT, &threads, "threads; the result is the same", "N"},
      G_OPTION_ENTRY_NULL,
  };
  if (!cli_begin(&cli_faults, entries, &argc, &argv, 1, 1, &status))
    return status;
  if (most < 0 || threads < 0 || remedies < -1) {
    cli_complain("--most and --threads take a number above 0, --remedies one from -1 on");
    return LG_EXIT_WRONG;
  }
  g_autoptr(LgJobSheet) sheet = cli_open(argv[1], ask.variant);
  if (sheet == NULL)
    return LG_EXIT_WRONG;
  CliProgress progress = cli_progress_begin(&cli_faults);
  const LgFaultsAsk what = {.most_pairs = (guint64)most,
                            .threads = threads > 0 ? threads : (int)g_get_num_processors(),
                            .remedies = remedies,
                            .pairs_among = pairs ? PAIRS_AMONG : 0,
                            .every = every || ask.json || ask.csv != NULL,
                            .stop = go_on,
                            .user = &progress};
  g_autoptr(GError) error = NULL;
  LgReport *const report = lg_faults(sheet, &what, &error);
  return report == NULL ? cli_refuse(&cli_faults, sheet, error, ask.json) : cli_print(report, &ask);
}

const CliVerb cli_faults = {
    .name = "faults",
    .summary = "what if: every single fault in every state, and what comes of it",
    .usage = "JOB [--pairs] [--every] [--remedies=N] [--most=N] [--threads=N] [--variant=NAME] "
             "[--csv=FOLDER] [--json]",
    .example = "loomgraft faults examples/library-van-seat.job",
    .text = "Each wire open, to the body, to a live wire beside it; neighbouring cavities bridged; "
            "grounds lost; contacts\n"
            "welded or stuck; coils, sensors and loads open or shorted; fuses replaced by larger "
            "ones; sources reversed.\n"
            "For each: what opens and when, what gets how hot, what runs that should not, what "
            "stops, and whether the\n"
            "driver would notice. A remedy is named only when the tool has put it into the sheet "
            "and solved it again.",
    .run = run,
};
