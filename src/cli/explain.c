#include "cli.h"
#include <stdio.h>

static int run(int argc, char **argv)
{
  int status;
  const GOptionEntry entries[] = {G_OPTION_ENTRY_NULL};
  if (!cli_begin(&cli_explain, entries, &argc, &argv, 0, 1, &status))
    return status;
  g_autoptr(GError) error = NULL;
  g_autofree char *text = lg_explain(argc > 1 ? argv[1] : NULL, &error);
  if (text == NULL) {
    cli_complain("%s", error->message);
    return LG_EXIT_WRONG;
  }
  fputs(text, stdout);
  return LG_EXIT_CLEAR;
}

const CliVerb cli_explain = {
    .name = "explain",
    .summary = "the page of a rule, a kind of record, or a list of the catalogue",
    .usage = "[TOPIC]",
    .example = "loomgraft explain fuse-above-wire",
    .text = "Without a topic, the topics are listed. A rule's page says what it checks, the "
            "formula, the source, and\n"
            "how to mend it. A record's page lists its values and keys with units and defaults.",
    .run = run,
};
