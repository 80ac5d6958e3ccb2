/* Writes the manual pages from the tables, at build time: `manual 1` is loomgraft(1), `manual 5`
 * loomgraft-job(5). */
#include "cli.h"
#include <stdio.h>
#include <string.h>

/* Text as roff takes it: a backslash doubled, no line that begins with a control character, each
 * sentence on a line of its own. */
static void put_text(const char *text)
{
  gboolean at_start = TRUE;
  for (const char *c = text; *c != '\0'; c++) {
    if (at_start && (*c == '.' || *c == '\''))
      fputs("\\&", stdout);
    if (*c == ' ' && c != text && c[-1] == '.') {
      fputc('\n', stdout);
      at_start = TRUE;
      continue;
    }
    if (*c == '\\')
      fputs("\\e", stdout);
    else if (*c == '-')
      fputs("\\-", stdout);
    else
      fputc(*c, stdout);
    at_start = *c == '\n';
  }
  fputc('\n', stdout);
}

static void put_verb(const CliVerb *verb)
{
  printf(".It Cm %s Ar ", verb->name);
  put_text(verb->usage);
  put_text(verb->summary);
  printf(".Pp\n");
  put_text(verb->text);
  printf(".Pp\n.Dl ");
  put_text(verb->example);
}

static void put_program_page(void)
{
  puts(".Dd November 25, 2026\n.Dt LOOMGRAFT 1\n.Os\n.Sh NAME\n.Nm loomgraft\n"
       ".Nd graft electrical equipment from one vehicle into another\n.Sh SYNOPSIS\n.Nm\n.Ar "
       "verb\n.Ar job\n.Op Ar options");
  puts(".Sh DESCRIPTION\nA job sheet says what there is in the vehicle, what is taken over from "
       "the donor, and what must hold.\n"
       "From it\n.Nm\nsolves the circuit in every state, chooses wires and fuses with the proof, "
       "checks the job,\n"
       "and writes the packet.\nThe sheet's language is in\n.Xr loomgraft-job 5 .\n.Pp\nThe "
       "verbs:\n.Bl -tag -width Ds");
  for (int i = 0; cli_verbs[i] != NULL; i++)
    put_verb(cli_verbs[i]);
  puts(".El\n.Sh JSON\nEvery computing verb takes\n.Fl -json .\nThe shape has the number 1 in the "
       "member\n.Ql loomgraft .\n"
       "Members:\n.Ql verb ,\n.Ql job ,\n.Ql verdict ,\n.Ql findings\n(each with rule, grade, "
       "file, line, column, subject, what,\n"
       "basis, remedy),\n.Ql tables\n(by key, each a list of rows with the columns' keys; the unit "
       "ends the key),\n"
       ".Ql notes .\nA sheet that cannot be read gives\n.Ql problems\n(file, line, column, what, "
       "remedy) instead.");
  puts(".Sh ENVIRONMENT\n.Bl -tag -width NO_COLOR\n.It Ev NO_COLOR\nno colour, even on a "
       "terminal\n.El");
  puts(".Sh EXIT STATUS\n.Bl -tag -width Ds\n.It 0\nnothing stands against building\n.It 1\n"
       "findings of grade danger or fault stand against it\n.It 2\nthe sheet could not be read, or "
       "the call is wrong\n.El");
  puts(".Sh CAUTIONS\nThe figures are aids to a competent person.\nLocal codes, makers' manuals "
       "and licensed practice rule.\n"
       "Airbags, belt pretensioners and anchorages, and anything above 60 V, are out of scope: "
       "leave them alone.");
  puts(".Sh SEE ALSO\n.Xr loomgraft-job 5");
}

int main(int argc, char **argv)
{
  if (argc == 2 && strcmp(argv[1], "1") == 0) {
    put_program_page();
    return 0;
  }
  if (argc == 2 && strcmp(argv[1], "5") == 0) {
    g_autofree char *page = lg_job_manual();
    fputs(page, stdout);
    return 0;
  }
  return 2;
}
