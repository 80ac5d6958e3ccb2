#include "cli.h"

/* The second way: another sheet, or a variant of the first. */
static LgJobSheet *open_second(int argc, char **argv, const char *variant)
{
  if (argc == 2 && variant == NULL) {
    cli_complain("compare with what? Name a second sheet, or a variant: --variant=NAME");
    return NULL;
  }
  return cli_open(argv[argc - 1], variant);
}

static int run(int argc, char **argv)
{
  g_auto(CliAsk) ask = {0};
  int status;
  const GOptionEntry entries[] = {
      CLI_ASK(&ask),
      G_OPTION_ENTRY_NULL,
  };
  if (!cli_begin(&cli_compare, entries, &argc, &argv, 1, 2, &status))
    return status;
  g_autoptr(LgJobSheet) first = cli_open(argv[1], NULL);
  g_autoptr(LgJobSheet) second = first == NULL ? NULL : open_second(argc, argv, ask.variant);
  if (second == NULL)
    return LG_EXIT_WRONG;
  g_autoptr(GError) error = NULL;
  LgReport *const report = lg_compare(first, second, &error);
  if (report != NULL)
    return cli_print(report, &ask);
  return cli_refuse(&cli_compare, lg_job_sheet_n_problems(first) > 0 ? first : second, error,
                    ask.json);
}

const CliVerb cli_compare = {
    .name = "compare",
    .summary = "two ways side by side: what each costs, in numbers",
    .usage = "JOB [OTHER] [--variant=NAME] [--csv=FOLDER] [--json]",
    .example = "loomgraft compare examples/library-van-seat.job --variant=direct",
    .text = "The second way is another sheet, or a variant of the first one: records that stand "
            "below a `variant` line in\n"
            "the sheet. Shown are the figures of the whole job, and of each contact, coil, load, "
            "fuse and new wire what\n"
            "differs. The choice is yours.",
    .run = run,
};
