/* Sizes of conductors as they are typed. */
#pragma once
#include <glib.h>

G_BEGIN_DECLS

typedef enum {
  LG_SIZE_OK,
  LG_SIZE_BARE,         /* a number alone: mm2 or AWG? */
  LG_SIZE_DIAMETER,     /* "6mm": may be the outside diameter */
  LG_SIZE_OUT_OF_RANGE, /* no such size: 0.01 to 500 mm2, 4/0 to 40 AWG */
  LG_SIZE_UNKNOWN       /* anything else */
} LgSizeFault;

/* "2.5mm2" (or a raised two), "14AWG", "2/0AWG". `*number` is the number before the unit: square
 * millimetres, or the gauge with n/0 counted as 1-n. Nothing is written on a fault. */
LgSizeFault lg_size_read(const char *text, gboolean *is_awg, double *number);

/* "2.5mm2", "14AWG", "2/0AWG": as lg_size_read takes it. Newly allocated. */
char *lg_size_print(gboolean is_awg, double number);

G_END_DECLS
