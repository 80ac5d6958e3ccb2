#include "cli.h"
#include <string.h>

/* "seat.svg", "seat-2.svg" */
static char *sheet_path(const char *to, guint sheet)
{
  const char *const dot = strrchr(to, '.');
  return sheet == 1 ? g_strdup(to) : g_strdup_printf("%.*s-%u%s", (int)(dot - to), to, sheet, dot);
}

/* SVG and PNG hold one sheet a file. */
static gboolean save_sheets(LgLive *live, const char *const settings[], const char *to,
                            const char *format, GError **error)
{
  const gboolean whole = strcmp(format, "pdf") == 0;
  for (guint sheet = whole ? 0 : 1;; sheet++) {
    g_autoptr(GError) reason = NULL;
    g_autoptr(GBytes) bytes = lg_live_state_drawing(live, settings, sheet, format, &reason);
    if (bytes == NULL && sheet > 1 && g_error_matches(reason, LG_ERROR, LG_ERROR_CALL))
      return TRUE; /* that was the last one */
    if (bytes == NULL) {
      g_propagate_error(error, g_steal_pointer(&reason));
      return FALSE;
    }
    g_autofree char *path = sheet_path(to, MAX(sheet, 1));
    if (!lg_write_file(path, bytes, error))
      return FALSE;
    if (whole)
      return TRUE;
  }
}

static gboolean save(const LgJobSheet *sheet, const char *const settings[], const char *to,
                     GError **error)
{
  const char *const dot = strrchr(to, '.');
  const char *const format = dot != NULL ? dot + 1 : "";
  if (strcmp(format, "svg") != 0 && strcmp(format, "png") != 0 && strcmp(format, "pdf") != 0) {
    g_set_error(error, LG_ERROR, LG_ERROR_CALL,
                "`%s`: the name of a drawing ends in .svg, .png or .pdf", to);
    return FALSE;
  }
  g_autoptr(LgLive) live = lg_live_new(sheet, error);
  return live != NULL && save_sheets(live, settings, to, format, error);
}

static int run(int argc, char **argv)
{
  g_auto(CliAsk) ask = {0};
  int status;
  g_autofree char *to = NULL;
  const GOptionEntry entries[] = {
      CLI_ASK(&ask),
      {"to", 0, 0, G_OPTION_ARG_FILENAME, &to,
       "draw the diagram in this state, with currents, volts and temperatures: .svg, .png or .pdf",
       "FILE"},
      G_OPTION_ENTRY_NULL,
  };
  if (!cli_begin(&cli_state, entries, &argc, &argv, 1, 10000, &status))
    return status;
  g_autoptr(LgJobSheet) sheet = cli_open(argv[1], ask.variant);
  if (sheet == NULL)
    return LG_EXIT_WRONG;
  const char *const *const settings = (const char *const *)argv + 2;
  g_autoptr(GError) error = NULL;
  LgReport *const report = lg_state(sheet, settings, &error);
  if (report == NULL)
    return cli_refuse(&cli_state, sheet, error, ask.json);
  if (to != NULL && !save(sheet, settings, to, &error)) {
    lg_report_free(report);
    return cli_refuse(&cli_state, sheet, error, ask.json);
  }
  return cli_print(report, &ask);
}

const CliVerb cli_state = {
    .name = "state",
    .summary = "solve one state: volts, currents, drops, powers, relays",
    .usage = "JOB [INPUT=position ...] [--to=FILE] [--variant=NAME] [--csv=FOLDER] [--json]",
    .example = "loomgraft state examples/library-van-seat.job KEY=on --to=key-on.svg",
    .text = "Inputs are parts with positions (KEY=on), thermostat calls (S2.heat=on) and what a "
            "load is doing\n"
            "(SEAT.lift=off, run, start, stall). Inputs that are not named are at rest. With --to "
            "the diagram is\n"
            "drawn with the currents, volts and temperatures of that state; each wire in the "
            "company that flows then,\n"
            "at the hottest of its place.",
    .run = run,
};
