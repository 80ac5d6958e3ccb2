#include "cli.h"
#include <stdio.h>
#include <string.h>

static int run(int argc, char **argv)
{
  int status;
  g_autofree char *title = NULL;
  const GOptionEntry entries[] = {
      {"title", 0, 0, G_OPTION_ARG_STRING, &title, "title of the job", "TEXT"},
      G_OPTION_ENTRY_NULL,
  };
  if (!cli_begin(&cli_new, entries, &argc, &argv, 1, 1, &status))
    return status;
  if (g_file_test(argv[1], G_FILE_TEST_EXISTS)) {
    cli_complain("%s is there already; nothing was written. Choose another name", argv[1]);
    return LG_EXIT_WRONG;
  }
  g_autoptr(GError) error = NULL;
  char *const text = lg_starter_text(title);
  g_autoptr(GBytes) bytes = g_bytes_new_take(text, strlen(text));
  if (!lg_write_file(argv[1], bytes, &error)) {
    cli_complain("%s", error->message);
    return LG_EXIT_WRONG;
  }
  printf("%s is a starter sheet: open it in an editor, then run `loomgraft check %s`\n", argv[1],
         argv[1]);
  return LG_EXIT_CLEAR;
}

const CliVerb cli_new = {
    .name = "new",
    .summary = "write a starter sheet to fill in",
    .usage = "FILE [--title=TEXT]",
    .example = "loomgraft new seat.job --title=\"Heated seat for the library van\"",
    .text = "The starter is a small, complete job with notes on each line. An existing file is "
            "never touched.",
    .run = run,
};
