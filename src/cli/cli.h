/* The command line: a table of verbs, one file each. It uses the public header and nothing else of
 * the engine. */
#pragma once
#include "loomgraft.h"

enum { LG_EXIT_CLEAR = 0, LG_EXIT_AGAINST = 1, LG_EXIT_WRONG = 2 };

typedef struct {
  const char *name;
  const char *summary;               /* one line */
  const char *usage;                 /* after "loomgraft NAME " */
  const char *example;               /* a command that works on the example job */
  const char *text;                  /* a paragraph for --help and the manual */
  int (*run)(int argc, char **argv); /* argv[0] is the verb */
} CliVerb;

extern const CliVerb *const cli_verbs[]; /* NULL-ended */
extern const CliVerb cli_check, cli_size, cli_state, cli_packet, cli_tidy, cli_explain, cli_new;

/* Reads the verb's options; --help prints and ends with *done. FALSE after a message when the call
 * is wrong. */
gboolean cli_parse(const CliVerb *verb, const GOptionEntry *entries, int *argc, char ***argv,
                   gboolean *done);
/* Exactly `least`..`most` words must be left after the options; a message otherwise. */
gboolean cli_words(const CliVerb *verb, int argc, int least, int most);

/* Opens a sheet; problems of the file go to standard error. NULL when it cannot be read at all. */
LgJobSheet *cli_open(const char *path);
/* Prints what is wrong with the sheet, or `error`, as the verb's output asks; returns
 * LG_EXIT_WRONG. */
int cli_refuse(const CliVerb *verb, const LgJobSheet *sheet, const GError *error, gboolean json);
/* Prints the report; takes it. Returns the exit status. */
int cli_print(LgReport *report, gboolean json);
void cli_complain(const char *format, ...) G_GNUC_PRINTF(1, 2);
