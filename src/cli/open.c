/* The workbench: serves the page until it is told to end. */
#include "cli.h"
#include "workbench/workbench.h"
#include <gio/gio.h>
#include <glib-unix.h>
#include <malloc.h>
#include <signal.h>
#include <stdio.h>

/* Many threads, small heaps: without this each thread would keep what it freed. */
static void keep_memory_small(void)
{
#ifdef M_ARENA_MAX
  mallopt(M_ARENA_MAX, 2);
#endif
}

static void show(LgWorkbench *bench)
{
  g_autofree char *address = lg_workbench_address_once(bench);
  g_autoptr(GError) error = NULL;
  if (!g_app_info_launch_default_for_uri(address, NULL, &error))
    cli_complain("no browser could be started (%s); open the address by hand", error->message);
}

static void say(const LgWorkbench *bench, const char *path, gboolean begun)
{
  fprintf(stderr,
          "%s is %s. The address is for you alone: whoever has it can change the sheet.\n"
          "Every change is saved at once; Ctrl-C ends.\n",
          path, begun ? "new, begun from the starter sheet" : "open");
  const char *const *const lan = lg_workbench_lan(bench);
  for (int i = 0; lan[i] != NULL; i++)
    fprintf(stderr, "Phones join through the page, at %s.\n", lan[i]);
}

static void warn_of_network(const LgWorkbench *bench)
{
  if (lg_workbench_lan(bench)[0] == NULL)
    cli_complain("this machine is in no private network: phones cannot reach it");
  fputs("What goes over the network is not encrypted: others in it can read along. Use --lan only "
        "in a network that you trust.\n",
        stderr);
}

static gboolean end(gpointer loop)
{
  g_main_loop_quit(loop);
  return G_SOURCE_CONTINUE;
}

static void wait_for_end(void)
{
  static const int signals[] = {SIGINT, SIGTERM, SIGHUP};
  g_autoptr(GMainLoop) loop = g_main_loop_new(NULL, FALSE);
  for (guint i = 0; i < G_N_ELEMENTS(signals); i++)
    g_unix_signal_add(signals[i], end, loop);
  g_main_loop_run(loop);
}

static int run(int argc, char **argv)
{
  LgWorkbenchAsk ask = {0};
  g_autofree char *interface = NULL;
  gboolean shows = FALSE;
  int status;
  const GOptionEntry entries[] = {
      {"port", 0, 0, G_OPTION_ARG_INT, &ask.port, "the port; else one that is free", "N"},
      {"lan", 0, 0, G_OPTION_ARG_NONE, &ask.lan,
       "also lets phones in, from networks that you trust", NULL},
      {"interface", 0, 0, G_OPTION_ARG_STRING, &interface,
       "with --lan: on this network interface alone, such as wlan0", "NAME"},
      {"show", 0, 0, G_OPTION_ARG_NONE, &shows, "also open the page in the browser", NULL},
      G_OPTION_ENTRY_NULL,
  };
  if (!cli_begin(&cli_workbench, entries, &argc, &argv, 1, 1, &status))
    return status;
  if (ask.port < 0 || ask.port > G_MAXUINT16) {
    cli_complain("--port takes a number from 1 to 65535");
    return LG_EXIT_WRONG;
  }
  ask.interface = interface;
  keep_memory_small();
  signal(SIGPIPE, SIG_IGN);
  const gboolean begun = !g_file_test(argv[1], G_FILE_TEST_EXISTS);
  g_autoptr(GError) error = NULL;
  g_autoptr(LgWorkbench) bench = lg_workbench_new(argv[1], &ask, &error);
  if (bench == NULL) {
    cli_complain("%s", error->message);
    return LG_EXIT_WRONG;
  }
  printf("%s\n", lg_workbench_address(bench));
  fflush(stdout);
  say(bench, argv[1], begun);
  if (ask.lan)
    warn_of_network(bench);
  if (shows)
    show(bench);
  wait_for_end();
  return LG_EXIT_CLEAR;
}

const CliVerb cli_workbench = {
    .name = "open",
    .summary = "the workbench: the job on screen, alive while you change it",
    .usage = "JOB [--show] [--lan] [--interface=NAME] [--port=N]",
    .example = "loomgraft open examples/library-van-seat.job --show",
    .text = "Prints one address and serves a page there to browsers on this machine: the diagram "
            "with its switches, findings\n"
            "and what mends them, tables, faults, courses. Every change is an edit of the sheet "
            "itself, saved at once; undo\n"
            "goes back to where you began. A JOB that does not exist is begun from the starter "
            "sheet. With --lan, phones in\n"
            "the same private network join with a code that the page shows, and stay joined for 30 "
            "days after they were seen\n"
            "last (~/.local/state/loomgraft); that traffic is not encrypted. Ctrl-C ends.",
    .run = run,
};
