#include "cli.h"
#include <errno.h>
#include <glib/gstdio.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

void cli_complain(const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  g_autofree char *text = g_strdup_vprintf(format, arguments);
  va_end(arguments);
  fprintf(stderr, "loomgraft: %s\n", text);
}

static void print_help(const CliVerb *verb, const GOptionEntry *entries)
{
  printf("%s\n\n    %s\n\nUse: loomgraft %s %s\n\n%s\n", verb->summary, verb->example, verb->name,
         verb->usage, verb->text);
  if (entries[0].long_name != NULL)
    printf("\nOptions:\n");
  for (const GOptionEntry *e = entries; e->long_name != NULL; e++)
    printf("  --%s%s%s\n      %s\n", e->long_name, e->arg_description != NULL ? "=" : "",
           e->arg_description != NULL ? e->arg_description : "", e->description);
}

static gboolean asks_for_help(int argc, char **argv)
{
  for (int i = 1; i < argc; i++)
    if (strcmp(argv[i], "--help") == 0)
      return TRUE;
  return FALSE;
}

gboolean cli_begin(const CliVerb *verb, const GOptionEntry entries[], int *argc, char ***argv,
                   int least, int most, int *status)
{
  if (asks_for_help(*argc, *argv)) {
    print_help(verb, entries);
    *status = LG_EXIT_CLEAR;
    return FALSE;
  }
  *status = LG_EXIT_WRONG;
  g_autoptr(GOptionContext) context = g_option_context_new(NULL);
  g_option_context_set_help_enabled(context, FALSE);
  g_option_context_add_main_entries(context, entries, NULL);
  g_autoptr(GError) error = NULL;
  if (!g_option_context_parse(context, argc, argv, &error)) {
    cli_complain("%s; `loomgraft %s --help` shows what it takes", error->message, verb->name);
    return FALSE;
  }
  const int words = *argc - 1;
  if (words >= least && words <= most)
    return TRUE;
  cli_complain("%s; write `loomgraft %s %s`, such as\n    %s",
               words < least ? "something is missing" : "there is a word too many", verb->name,
               verb->usage, verb->example);
  return FALSE;
}

void cli_ask_clear(CliAsk *ask)
{
  g_free(ask->csv);
  g_free(ask->variant);
}

LgJobSheet *cli_open(const char *path, const char *variant)
{
  g_autoptr(GError) error = NULL;
  g_autoptr(LgJobSheet) sheet = lg_job_sheet_open(path, &error);
  if (sheet != NULL && (variant == NULL || lg_job_sheet_take_variant(sheet, variant, &error)))
    return g_steal_pointer(&sheet);
  cli_complain("%s", error->message);
  return NULL;
}

int cli_refuse(const CliVerb *verb, const LgJobSheet *sheet, const GError *error, gboolean json)
{
  if (lg_job_sheet_n_problems(sheet) > 0) {
    g_autofree char *text =
        json ? lg_job_sheet_problems_json(sheet, verb->name) : lg_job_sheet_problems_text(sheet);
    fputs(text, json ? stdout : stderr);
  }
  cli_complain("%s", error->message);
  return LG_EXIT_WRONG;
}

CliProgress cli_progress_begin(const CliVerb *verb)
{
  return (CliProgress){verb->name, g_get_monotonic_time(), -1};
}

void cli_progress_show(CliProgress *progress, double share)
{
  const int percent = (int)(100 * share);
  if (percent == progress->shown || !isatty(STDERR_FILENO) ||
      g_get_monotonic_time() - progress->start_us < G_USEC_PER_SEC)
    return;
  progress->shown = percent;
  fprintf(stderr, "\r%s: %3d %%", progress->verb, percent);
  if (percent == 100)
    fputs("\r                    \r", stderr);
  fflush(stderr);
}

static gboolean wants_colour(void)
{
  const char *const no = getenv("NO_COLOR"), *const term = getenv("TERM");
  return isatty(STDOUT_FILENO) && (no == NULL || no[0] == '\0') &&
         (term == NULL || strcmp(term, "dumb") != 0);
}

static int terminal_width(void)
{
  struct winsize size;
  if (isatty(STDOUT_FILENO) && ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col >= 40)
    return MIN(size.ws_col, 160);
  return 100;
}

static gboolean write_tables(const LgReport *report, const char *folder)
{
  if (g_mkdir_with_parents(folder, 0777) != 0) {
    cli_complain("%s: %s; name another folder", folder, g_strerror(errno));
    return FALSE;
  }
  for (guint i = 0; i < lg_report_n_tables(report); i++) {
    g_autofree char *name = g_strconcat(lg_report_table_key(report, i), ".csv", NULL);
    g_autofree char *path = g_build_filename(folder, name, NULL);
    char *const text = lg_report_table_csv(report, i);
    g_autoptr(GBytes) bytes = g_bytes_new_take(text, strlen(text));
    g_autoptr(GError) error = NULL;
    if (!lg_write_file(path, bytes, &error)) {
      cli_complain("%s", error->message);
      return FALSE;
    }
  }
  return TRUE;
}

int cli_print(LgReport *report, const CliAsk *ask)
{
  const gboolean written = ask->csv == NULL || write_tables(report, ask->csv);
  g_autofree char *text =
      ask->json ? lg_report_json(report) : lg_report_text(report, terminal_width(), wants_colour());
  const int status = lg_report_n_against(report) > 0 ? LG_EXIT_AGAINST : LG_EXIT_CLEAR;
  lg_report_free(report);
  if (fputs(text, stdout) == EOF || fflush(stdout) != 0) {
    cli_complain("the output could not be written: %s", g_strerror(errno));
    return LG_EXIT_WRONG;
  }
  return written ? status : LG_EXIT_WRONG;
}
