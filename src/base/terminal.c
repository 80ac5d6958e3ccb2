#include "base/terminal-private.h"
#include <string.h>

/* Prose wider than this is tiring to read, however wide the terminal. */
#define WIDEST_PROSE 96

static int letter_width(gunichar c)
{
  if (g_unichar_iszerowidth(c))
    return 0;
  return g_unichar_iswide(c) ? 2 : 1;
}

int lg_terminal_width(const char *text)
{
  int width = 0;
  for (const char *p = text; *p != '\0'; p = g_utf8_next_char(p))
    width += letter_width(g_utf8_get_char(p));
  return width;
}

int lg_terminal_word_width(const char *text)
{
  int widest = 0, width = 0;
  for (const char *p = text; *p != '\0'; p = g_utf8_next_char(p)) {
    width = strchr(" \t\r\n", *p) != NULL ? 0 : width + letter_width(g_utf8_get_char(p));
    widest = MAX(widest, width);
  }
  return widest;
}

/* Bytes of `word` that fit into `width` columns, at least one letter with its marks. */
static gsize fitting(const char *word, int width)
{
  const char *p = word;
  for (int used = 0; *p != '\0'; p = g_utf8_next_char(p)) {
    used += letter_width(g_utf8_get_char(p));
    if (used > width && p > word)
      break;
  }
  return (gsize)(p - word);
}

static void end_line(GPtrArray *lines, GString *line)
{
  g_ptr_array_add(lines, g_strdup(line->str));
  g_string_truncate(line, 0);
}

static void add_word(GPtrArray *lines, GString *line, const char *word, gsize length, int width)
{
  g_autofree char *copy = g_strndup(word, length);
  const int used = lg_terminal_width(line->str), wide = lg_terminal_width(copy);
  if (line->len > 0 && width > 0 && used + 1 + wide > width)
    end_line(lines, line);
  if (line->len > 0)
    g_string_append_c(line, ' ');
  const char *rest = copy;
  for (gsize part; width > 0 && rest[part = fitting(rest, width)] != '\0'; rest += part) {
    g_string_append_len(line, rest, (gssize)part);
    end_line(lines, line);
  }
  g_string_append(line, rest);
}

/* Bytes up to the next place where a line may break. */
static gsize word_length(const char *text, const char *word)
{
  gsize length = strcspn(word, " \n");
  while (word[length] == ' ' && lg_blank_is_fast(text, (gsize)(word - text) + length))
    length += 1 + strcspn(word + length + 1, " \n");
  return length;
}

GPtrArray *lg_terminal_wrap(const char *text, int width)
{
  GPtrArray *const lines = g_ptr_array_new_with_free_func(g_free);
  g_autofree char *shown = lg_shown_text(text);
  g_autoptr(GString) line = g_string_new(NULL);
  for (const char *p = shown; *p != '\0';) {
    const gsize length = word_length(shown, p);
    if (length > 0)
      add_word(lines, line, p, length, width);
    p += length;
    if (*p == '\n')
      end_line(lines, line);
    if (*p != '\0')
      p++;
  }
  if (line->len > 0 || lines->len == 0)
    end_line(lines, line);
  return lines;
}

/* Select Graphic Rendition of ECMA-48 (from memory): 1 bold, 2 faint, 31 red. */
static const char *const sgr[LG_N_INKS] = {NULL, "1", "2", "1;31"};

void lg_terminal_ink(LgTerminal *terminal, LgInk ink, const char *text)
{
  if (terminal->colour && sgr[ink] != NULL && text[0] != '\0')
    g_string_append_printf(terminal->text, "\033[%sm%s\033[0m", sgr[ink], text);
  else
    g_string_append(terminal->text, text);
}

void lg_terminal_spaces(LgTerminal *terminal, int n)
{
  for (int i = 0; i < n; i++)
    g_string_append_c(terminal->text, ' ');
}

void lg_terminal_hang(LgTerminal *terminal, int indent, LgInk mark_ink, const char *mark, LgInk ink,
                      const char *text)
{
  const int hang = indent + lg_terminal_width(mark);
  const int room = terminal->width > 0 ? MAX(8, MIN(terminal->width, WIDEST_PROSE) - hang) : 0;
  g_autoptr(GPtrArray) lines = lg_terminal_wrap(text, room);
  for (guint i = 0; i < lines->len; i++) {
    const char *const line = lines->pdata[i];
    g_autofree char *lead =
        g_strdup_printf("%*s%s", i == 0 ? indent : hang, "", i == 0 ? mark : "");
    lg_terminal_ink(terminal, i == 0 ? mark_ink : LG_INK_PLAIN,
                    line[0] != '\0' ? lead : g_strchomp(lead));
    lg_terminal_ink(terminal, ink, line);
    g_string_append_c(terminal->text, '\n');
  }
}

void lg_terminal_prose(LgTerminal *terminal, LgInk ink, const char *text)
{
  lg_terminal_hang(terminal, 0, LG_INK_PLAIN, "", ink, text);
}
