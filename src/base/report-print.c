/* A report on a terminal. */
#include "base/terminal-private.h"
#include "base/words.h"

/* A grade is told by its word and its mark; ink only helps. */
static const struct {
  const char *mark;
  LgInk ink;
} grades[LG_N_GRADES] = {
    [LG_GRADE_DANGER] = {"!! ", LG_INK_ALARM},
    [LG_GRADE_FAULT] = {" ! ", LG_INK_ALARM},
    [LG_GRADE_UNPROVEN] = {" ? ", LG_INK_STRONG},
    [LG_GRADE_CAUTION] = {" - ", LG_INK_STRONG},
};

#define INDENT 3

static void end_block(LgTerminal *terminal)
{
  g_string_append_c(terminal->text, '\n');
}

static char *origin_words(const LgOrigin *origin)
{
  if (origin->line <= 0)
    return g_strdup("");
  return g_strdup_printf(T_(" %s%sline %d"), origin->file != NULL ? origin->file : "",
                         origin->file != NULL ? ", " : "", origin->line);
}

static void print_part(LgTerminal *terminal, const char *mark, LgInk ink, const char *text)
{
  if (text != NULL && text[0] != '\0')
    lg_terminal_hang(terminal, INDENT, ink, mark, ink, text);
}

static void print_finding(LgTerminal *terminal, const LgFinding *finding)
{
  g_autofree char *head =
      g_strconcat(grades[finding->grade].mark, T_(lg_grade_word(finding->grade)), ": ", NULL);
  g_autofree char *origin = origin_words(&finding->origin);
  g_autofree char *subject =
      g_strdup_printf("%s [%s]%s", finding->subject != NULL ? finding->subject : "",
                      finding->rule != NULL ? finding->rule : "", origin);
  lg_terminal_hang(terminal, 0, grades[finding->grade].ink, head, LG_INK_STRONG, subject);
  print_part(terminal, "", LG_INK_PLAIN, finding->what);
  print_part(terminal, T_("Rests on: "), LG_INK_QUIET, finding->basis);
  print_part(terminal, T_("Do: "), LG_INK_PLAIN, finding->remedy);
}

static void print_findings(LgTerminal *terminal, const GPtrArray *findings)
{
  for (guint i = 0; i < findings->len; i++) {
    print_finding(terminal, findings->pdata[i]);
    end_block(terminal);
  }
}

char *lg_report_print(const LgReport *report, LgHabit habit, int width, gboolean colour)
{
  g_auto(LgSpeaking) speaking = lg_words_use(report->words);
  LgTerminal terminal = {g_string_new(NULL), width, colour};
  lg_terminal_prose(&terminal, LG_INK_STRONG, report->title);
  if (report->verdict != NULL)
    lg_terminal_prose(&terminal, LG_INK_PLAIN, report->verdict);
  end_block(&terminal);
  print_findings(&terminal, report->findings);
  for (guint i = 0; i < report->tables->len; i++) {
    lg_terminal_table(&terminal, report->tables->pdata[i], habit);
    end_block(&terminal);
  }
  for (guint i = 0; i < report->notes->len; i++)
    lg_terminal_prose(&terminal, LG_INK_PLAIN, report->notes->pdata[i]);
  if (report->notes->len == 0) /* the last block's empty line */
    g_string_truncate(terminal.text, terminal.text->len - 1);
  return g_string_free(terminal.text, FALSE);
}
