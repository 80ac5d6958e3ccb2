#include "cli.h"

static int write_sizes(LgJobSheet *sheet, const char *path, GError **error)
{
  g_autoptr(GBytes) text = lg_sized_text(sheet, error);
  return text != NULL && lg_write_file(path, text, error);
}

static int run(int argc, char **argv)
{
  g_auto(CliAsk) ask = {0};
  gboolean write = FALSE;
  int status;
  const GOptionEntry entries[] = {
      CLI_ASK(&ask),
      {"write", 0, 0, G_OPTION_ARG_NONE, &write, "write the sizes into the sheet in place of auto",
       NULL},
      G_OPTION_ENTRY_NULL,
  };
  if (!cli_begin(&cli_size, entries, &argc, &argv, 1, 1, &status))
    return status;
  g_autoptr(LgJobSheet) sheet = cli_open(argv[1], ask.variant);
  if (sheet == NULL)
    return LG_EXIT_WRONG;
  g_autoptr(GError) error = NULL;
  LgReport *const report = lg_size(sheet, &error);
  if (report == NULL)
    return cli_refuse(&cli_size, sheet, error, ask.json);
  if (write && !write_sizes(sheet, argv[1], &error)) {
    lg_report_free(report);
    return cli_refuse(&cli_size, sheet, error, ask.json);
  }
  return cli_print(report, &ask);
}

const CliVerb cli_size = {
    .name = "size",
    .summary = "choose the size of every auto wire and fuse, with the proof",
    .usage = "JOB [--write] [--variant=NAME] [--csv=FOLDER] [--json]",
    .example = "loomgraft size examples/library-van-seat.job",
    .text = "For each wire: the size, the limit that forbids the next smaller one, by how much, "
            "and on what the limit\n"
            "rests. With --write the sizes take the place of `auto` in the sheet; nothing else in "
            "it changes.",
    .run = run,
};
