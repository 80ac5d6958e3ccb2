/* For tests: the published tables of tests/reference. */
#pragma once
#include <glib.h>

G_BEGIN_DECLS

typedef struct Rows Rows;
/* A table by file name; aborts when it cannot be read. */
Rows *rows_read(const char *file);
void rows_free(Rows *rows);
int rows_count(const Rows *rows);
/* A cell by its column's heading; "" when empty. */
const char *rows_text(const Rows *rows, int row, const char *column);
double rows_number(const Rows *rows, int row, const char *column); /* NAN when it is no number */
/* "12" is 12, "2/0" is -1. */
double rows_awg(const Rows *rows, int row, const char *column);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(Rows, rows_free)
G_END_DECLS
