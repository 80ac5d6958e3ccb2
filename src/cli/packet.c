#include "cli.h"
#include <string.h>

/* "seat.job" -> "seat-packet", beside the sheet. */
static char *default_folder(const char *path)
{
  const gsize length = strlen(path);
  const gsize stem = g_str_has_suffix(path, ".job") && length > 4 ? length - 4 : length;
  return g_strdup_printf("%.*s-packet", (int)stem, path);
}

static int run(int argc, char **argv)
{
  g_auto(CliAsk) ask = {0};
  int status;
  LgPacketAsk packet = {0};
  g_autofree char *to = NULL, *labels = NULL, *language = NULL;
  const GOptionEntry entries[] = {
      CLI_ASK(&ask),
      {"to", 0, 0, G_OPTION_ARG_FILENAME, &to,
       "where to write; else JOB without .job, with -packet", "FOLDER"},
      {"share", 0, 0, G_OPTION_ARG_NONE, &packet.share,
       "the write-up leaves out who wrote, measured and said what", NULL},
      {"labels", 0, 0, G_OPTION_ARG_STRING, &labels,
       "label sheet: a4-65, a4-44, a4-24, letter-80 or letter-30 (paper, labels on it)", "SHEET"},
      {"language", 0, 0, G_OPTION_ARG_STRING, &language,
       "en or de; else as the sheet's job record says", "LANGUAGE"},
      G_OPTION_ENTRY_NULL,
  };
  if (!cli_begin(&cli_packet, entries, &argc, &argv, 1, 1, &status))
    return status;
  g_autoptr(LgJobSheet) sheet = cli_open(argv[1], ask.variant);
  if (sheet == NULL)
    return LG_EXIT_WRONG;
  if (to == NULL)
    to = default_folder(argv[1]);
  packet.labels = labels;
  packet.language = language;
  g_autoptr(GError) error = NULL;
  LgReport *const report = lg_packet(sheet, to, &packet, &error);
  return report == NULL ? cli_refuse(&cli_packet, sheet, error, ask.json) : cli_print(report, &ask);
}

const CliVerb cli_packet = {
    .name = "packet",
    .summary = "write what is printed and handed over: PDF and CSV",
    .usage = "JOB [--to=FOLDER] [--share] [--labels=SHEET] [--language=LANGUAGE] [--variant=NAME] "
             "[--csv=FOLDER] [--json]",
    .example = "loomgraft packet examples/library-van-seat.job --to=seat-packet",
    .text = "Cautions, verdict, circuits, wire list, cut list, bill of material, what to buy from "
            "the donor, connector\n"
            "tables, checks before first power, and expected readings. The packet is written also "
            "when findings stand\n"
            "against building; they are printed on its first pages.",
    .run = run,
};
