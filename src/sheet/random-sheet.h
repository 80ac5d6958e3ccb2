/* For tests: sheets made at random from the schema, good ones only. */
#pragma once
#include "sheet/schema.h"

/* A value that fits the field, as it would be typed; `serial` makes names differ. */
char *lg_random_value(LgKind kind, const LgField *field, int serial);

/* A sheet of `n` records with random layout: continuation lines, comments, tabs, blank lines,
 * values in order given as keys, LF or CRLF, with or without a byte order mark. */
char *lg_random_sheet(int n, gboolean catalogue);
