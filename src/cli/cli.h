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
extern const CliVerb cli_check, cli_size, cli_state, cli_compare, cli_simulate, cli_faults,
    cli_identify, cli_locate, cli_packet, cli_workbench, cli_tidy, cli_explain, cli_new;

/* What every verb begins with: reads its options, answers --help, and asks for `least` to `most`
 * words after them. FALSE when the verb is done, with its exit status in *status. */
gboolean cli_begin(const CliVerb *verb, const GOptionEntry entries[], int *argc, char ***argv,
                   int least, int most, int *status);
/* What all computing verbs are asked for. */
typedef struct {
  gboolean json;
  char *csv, *variant; /* NULL: not asked for; g_free */
} CliAsk;
#define CLI_ASK(ask)                                                                                \
  {"json", 0, 0, G_OPTION_ARG_NONE, &(ask)->json, "print the report as JSON", NULL},                \
      {"csv",   0, 0, G_OPTION_ARG_FILENAME, &(ask)->csv, "also write each table into this folder", \
       "FOLDER"},                                                                                   \
  {                                                                                                 \
    "variant", 0, 0, G_OPTION_ARG_STRING, &(ask)->variant, "take this variant of the sheet",        \
        "NAME"                                                                                      \
  }
void cli_ask_clear(CliAsk *ask);
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(CliAsk, cli_ask_clear)

/* Opens a sheet, or a variant of it (NULL: none); problems of the file go to standard error. NULL
 * when it cannot be read at all, or has no such variant. */
LgJobSheet *cli_open(const char *path, const char *variant);
/* Prints what is wrong with the sheet, or `error`, as the verb's output asks; returns
 * LG_EXIT_WRONG. */
int cli_refuse(const CliVerb *verb, const LgJobSheet *sheet, const GError *error, gboolean json);
/* Prints the report as asked for, and writes its tables; takes it. Returns the exit status. */
int cli_print(LgReport *report, const CliAsk *ask);
/* A line of progress on standard error, from the first second on; only on a terminal. */
typedef struct {
  const char *verb;
  gint64 start_us;
  int shown; /* percent; -1: nothing yet */
} CliProgress;
CliProgress cli_progress_begin(const CliVerb *verb);
void cli_progress_show(CliProgress *progress, double share);
void cli_complain(const char *format, ...) G_GNUC_PRINTF(1, 2);
