/* Prints the job of so many circuits and switches: make-job CIRCUITS SWITCHES. */
#include "make-job.h"
#include <stdio.h>
#include <stdlib.h>

int main(int argc, char **argv)
{
  if (argc != 3)
    return 2;
  g_autofree char *text = make_job(atoi(argv[1]), atoi(argv[2]));
  fputs(text, stdout);
  return 0;
}
