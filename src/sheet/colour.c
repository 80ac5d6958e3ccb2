#include "sheet/colour.h"
#include "base/words.h"
#include <string.h>

const LgColourInfo lg_colours[LG_N_COLOURS] = {
    [LG_COLOUR_BLACK] = {"BK", N_("black"), 0x26241f},
    [LG_COLOUR_BROWN] = {"BN", N_("brown"), 0x7a4a26},
    [LG_COLOUR_RED] = {"RD", N_("red"), 0xc8281e},
    [LG_COLOUR_ORANGE] = {"OG", N_("orange"), 0xe8801a},
    [LG_COLOUR_YELLOW] = {"YE", N_("yellow"), 0xf2cf2c},
    [LG_COLOUR_GREEN] = {"GN", N_("green"), 0x2f8f46},
    [LG_COLOUR_BLUE] = {"BU", N_("blue"), 0x2459a8},
    [LG_COLOUR_VIOLET] = {"VT", N_("violet"), 0x77429a},
    [LG_COLOUR_GREY] = {"GY", N_("grey"), 0x8b8d8a},
    [LG_COLOUR_WHITE] = {"WH", N_("white"), 0xf7f5ee},
    [LG_COLOUR_PINK] = {"PK", N_("pink"), 0xee9fb4},
    [LG_COLOUR_TURQUOISE] = {"TQ", N_("turquoise"), 0x3fb5b0},
    [LG_COLOUR_GOLD] = {"GD", N_("gold"), 0xb8963c},
    [LG_COLOUR_SILVER] = {"SR", N_("silver"), 0xbfc2c4},
};

/* Letters other than IEC 60757's. German short forms: DIN 47002 (withdrawn 2002); BL and OR: DIN
 * 72551-7:2014; ro, li: habit. None of them clashes with an IEC code. */
typedef struct {
  const char *letters;
  LgColour colour;
} OtherLetters;

static const OtherLetters others[] = {
    {"sw", LG_COLOUR_BLACK},     {"br", LG_COLOUR_BROWN},  {"rt", LG_COLOUR_RED},
    {"ro", LG_COLOUR_RED},       {"or", LG_COLOUR_ORANGE}, {"ge", LG_COLOUR_YELLOW},
    {"bl", LG_COLOUR_BLUE},      {"vi", LG_COLOUR_VIOLET}, {"li", LG_COLOUR_VIOLET},
    {"gr", LG_COLOUR_GREY},      {"ws", LG_COLOUR_WHITE},  {"rs", LG_COLOUR_PINK},
    {"tk", LG_COLOUR_TURQUOISE},
};

static gboolean same_letters(const char *text, const char *letters)
{
  return g_ascii_tolower(text[0]) == g_ascii_tolower(letters[0]) &&
         g_ascii_tolower(text[1]) == g_ascii_tolower(letters[1]);
}

/* The colour of the two letters at `text`, -1 when they are none. */
static int read_one(const char *text)
{
  if (text[0] == '\0' || text[1] == '\0')
    return -1;
  for (int i = 0; i < LG_N_COLOURS; i++)
    if (same_letters(text, lg_colours[i].letters))
      return i;
  for (gsize i = 0; i < G_N_ELEMENTS(others); i++)
    if (same_letters(text, others[i].letters))
      return (int)others[i].colour;
  return -1;
}

gboolean lg_colour_read(const char *text, int *base, int *stripe)
{
  const gsize length = strlen(text);
  if (length != 2 && (length != 5 || text[2] != '/'))
    return FALSE;
  const int first = read_one(text), second = length == 5 ? read_one(text + 3) : -1;
  if (first < 0 || (length == 5 && second < 0))
    return FALSE;
  *base = first;
  *stripe = second;
  return TRUE;
}

char *lg_colour_print(int base, int stripe)
{
  g_assert(base >= 0 && base < LG_N_COLOURS && stripe < LG_N_COLOURS);
  return stripe < 0 ? g_strdup(lg_colours[base].letters)
                    : g_strconcat(lg_colours[base].letters, "/", lg_colours[stripe].letters, NULL);
}

char *lg_colour_describe(int base, int stripe)
{
  g_assert(base >= 0 && base < LG_N_COLOURS && stripe < LG_N_COLOURS);
  const char *const word = T_(lg_colours[base].word);
  if (stripe < 0)
    return g_strdup(word);
  const char *const second = lg_colours[stripe].word;
  return g_strdup_printf(strchr("aeiou", second[0]) != NULL ? T_("%s with an %s stripe")
                                                            : T_("%s with a %s stripe"),
                         word, T_(second));
}
