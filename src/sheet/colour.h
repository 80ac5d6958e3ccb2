/* Colours of wires: letters, words, and how they look on paper. */
#pragma once
#include <glib.h>

G_BEGIN_DECLS

/* In the order of IEC 60757. */
typedef enum {
  LG_COLOUR_BLACK,
  LG_COLOUR_BROWN,
  LG_COLOUR_RED,
  LG_COLOUR_ORANGE,
  LG_COLOUR_YELLOW,
  LG_COLOUR_GREEN,
  LG_COLOUR_BLUE,
  LG_COLOUR_VIOLET,
  LG_COLOUR_GREY,
  LG_COLOUR_WHITE,
  LG_COLOUR_PINK,
  LG_COLOUR_TURQUOISE,
  LG_COLOUR_GOLD,
  LG_COLOUR_SILVER,
  LG_N_COLOURS
} LgColour;

typedef struct {
  const char *letters; /* IEC 60757: "BK" */
  const char *word;    /* "black" */
  guint32 rgb;         /* 0xRRGGBB, for drawings: ours, no standard's */
} LgColourInfo;

extern const LgColourInfo lg_colours[LG_N_COLOURS];

/* Reads base or base/stripe: IEC 60757 letters, the German short forms of DIN 47002 (sw br rt or ge
 * gn bl vi gr ws rs tk, also ro and li), BL and OR as in DIN 72551-7; small or capital letters.
 * `*stripe` is -1 for none. FALSE, and nothing written, for any other text. */
gboolean lg_colour_read(const char *text, int *base, int *stripe);

/* "GN/BU", "RD": IEC letters, base before stripe. `stripe` -1: none. Newly allocated. */
char *lg_colour_print(int base, int stripe);

/* "green with a blue stripe", "red". Newly allocated. */
char *lg_colour_describe(int base, int stripe);

G_END_DECLS
