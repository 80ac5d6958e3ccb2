#include "cli.h"
#include <locale.h>
#include <stdio.h>
#include <string.h>

static void print_verbs(FILE *out)
{
  fprintf(out, "loomgraft: graft electrical equipment from one vehicle into another\n\n"
               "    loomgraft new seat.job\n    loomgraft check seat.job\n    loomgraft packet "
               "seat.job\n\nVerbs:\n");
  for (int i = 0; cli_verbs[i] != NULL; i++)
    fprintf(out, "  %-8s %s\n", cli_verbs[i]->name, cli_verbs[i]->summary);
  fprintf(out, "\n`loomgraft VERB --help` says more. Exit status: 0 nothing stands against "
               "building, 1 findings\n"
               "stand against it, 2 the sheet could not be read or the call is wrong.\n\n"
               "The figures are aids to a competent person. Local codes, makers' manuals and "
               "licensed practice rule.\n");
}

int main(int argc, char **argv)
{
  setlocale(LC_CTYPE, "");
  if (argc < 2) {
    print_verbs(stderr);
    return LG_EXIT_WRONG;
  }
  if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
    print_verbs(stdout);
    return LG_EXIT_CLEAR;
  }
  if (strcmp(argv[1], "--version") == 0) {
    printf("loomgraft %s\n", lg_version());
    return LG_EXIT_CLEAR;
  }
  for (int i = 0; cli_verbs[i] != NULL; i++)
    if (strcmp(argv[1], cli_verbs[i]->name) == 0)
      return cli_verbs[i]->run(argc - 1, argv + 1);
  cli_complain("there is no verb `%s`; `loomgraft --help` lists them", argv[1]);
  return LG_EXIT_WRONG;
}
