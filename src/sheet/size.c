#include "sheet/size.h"
#include "base/quantity.h"
#include <string.h>

#define LEAST_MM2 0.01
#define MOST_MM2 500.0

static LgSizeFault read_mm2(const char *text, gsize length, gboolean *is_awg, double *number)
{
  double mm2;
  const LgQuantityFault fault = lg_quantity_read(text, length, LG_DIM_AREA, &mm2);
  if (fault == LG_QUANTITY_NO_UNIT)
    return LG_SIZE_BARE;
  if (fault == LG_QUANTITY_OUT_OF_RANGE)
    return LG_SIZE_OUT_OF_RANGE;
  if (fault != LG_QUANTITY_OK)
    return LG_SIZE_UNKNOWN;
  if (mm2 < LEAST_MM2 || mm2 > MOST_MM2)
    return LG_SIZE_OUT_OF_RANGE;
  *is_awg = FALSE;
  *number = mm2;
  return LG_SIZE_OK;
}

LgSizeFault lg_size_read(const char *text, gboolean *is_awg, double *number)
{
  const gsize length = strlen(text), n = lg_number_span(text, length);
  int gauge;
  if (lg_awg_read(text, length, &gauge)) {
    *is_awg = TRUE;
    *number = gauge;
    return LG_SIZE_OK;
  }
  if (n > 0 && strcmp(text + n, "mm") == 0)
    return LG_SIZE_DIAMETER;
  if (n > 0 && g_ascii_strcasecmp(text + n, "AWG") == 0)
    return LG_SIZE_OUT_OF_RANGE;
  return read_mm2(text, length, is_awg, number);
}

char *lg_size_print(gboolean is_awg, double number)
{
  if (is_awg)
    return number <= 0 ? g_strdup_printf("%d/0AWG", 1 - (int)number)
                       : g_strdup_printf("%dAWG", (int)number);
  g_autofree char *digits = lg_number_print(number, 6);
  return g_strconcat(digits, "mm2", NULL);
}
