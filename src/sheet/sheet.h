/* A job sheet in memory: its text as it stands in the file, and the records found in it.
 *
 * The text is kept byte for byte; records point into it. Reading never changes it, so writing back
 * an unchanged sheet gives the same file. */
#pragma once
#include "base/finding.h"
#include "sheet/schema.h"
#include <gio/gio.h>

G_BEGIN_DECLS

typedef struct LgSheet LgSheet;

/* What is wrong with a text, and what to do about it. */
typedef struct {
  LgOrigin origin;
  char *what;   /* "`lenght` is not a key of `wire`" */
  char *remedy; /* "did you mean `length`?" */
} LgProblem;

/* One typed value. */
typedef struct {
  LgOrigin origin;  /* where the value begins */
  const char *text; /* TEXT (unescaped), NAME, PIN, ITEM, COLOUR, SIZE, STATE, DATE, NAMES as
                       written; NUL-ended, owned by the sheet */
  double low, high; /* QUANTITY, AUTO, COUNT: low == high; RANGE: both; GRID: rows, columns;
                       SIZE: the number before the unit (AWG n/0 counts as 1-n); COLOUR: base and
                       stripe (sheet/colour.h), stripe -1 for none; LIMIT: low = the limit */
  int word;         /* WORD: index in the field's words; LIMIT: index in lg_limit_words */
  LgValueType type : 8;
  guint is_auto : 1; /* AUTO, SIZE: the word auto */
  guint is_awg : 1;  /* SIZE */
  char relation;     /* LIMIT: '<' or '>' */
} LgValue;

/* The measures a need may limit: "current", "volts", "power". NULL-ended; dims beside. */
extern const char *const lg_limit_words[];
extern const LgDim lg_limit_dims[];

typedef struct {
  LgKind kind;
  LgOrigin origin; /* of the kind word */
  LgOrigin name_origin;
  const char *name; /* NULL when the kind has none */
  const char *text; /* free text at the end, or NULL */
  int n_values;
  const LgValue *values; /* in the order written */
  const int *fields;     /* [n_values] field index in the kind; -1: a state of the `when` tail */
  gsize begin, end;      /* byte span in the sheet's text, line end of the last line included */
} LgRecord;

/* The greatest sheet that is read, and the longest line in it, in bytes. */
#define LG_SHEET_MOST_BYTES ((gsize)256 << 20)
#define LG_SHEET_MOST_LINE ((gsize)64 << 10)
/* After so many problems reading stops; the last one says so. */
#define LG_SHEET_MOST_PROBLEMS 2000

/* Reads a sheet. `file` is the name for messages. Takes a reference to the bytes. Never fails: all
 * that is wrong is in lg_sheet_problems; records with problems in them are left out of the list,
 * the others are there. catalogue: TRUE allows the catalogue's kinds. Time and memory linear in the
 * length. */
LgSheet *lg_sheet_read(const char *file, GBytes *bytes, gboolean catalogue);
/* As above from a file; NULL and error when it cannot be opened or read. */
LgSheet *lg_sheet_open(const char *path, gboolean catalogue, GError **error);
void lg_sheet_free(LgSheet *sheet);

const char *lg_sheet_file(const LgSheet *sheet);
guint lg_sheet_n_records(const LgSheet *sheet);
const LgRecord *lg_sheet_record(const LgSheet *sheet, guint index);
/* LgProblem*, in the order of lines and columns; those of other files behind. Later rooms (the
 * model) add theirs with lg_sheet_add_problem. */
const GPtrArray *lg_sheet_problems(const LgSheet *sheet);
/* Takes the two newly allocated texts. */
void lg_sheet_add_problem(LgSheet *sheet, LgOrigin origin, char *what, char *remedy);
/* The text that was read; borrowed. */
GBytes *lg_sheet_bytes(const LgSheet *sheet);

/* The first value of a field in a record, NULL when it was not given. */
const LgValue *lg_record_value(const LgRecord *record, int field);
const LgValue *lg_record_key(const LgRecord *record, const char *key);

/* Editing: each touches its own record only, keeps comments and other lines byte for byte, and
 * returns a new text; the sheet given is unchanged (read the new text for a new sheet). NULL with
 * error when the value is not fit for the field. `value` is as it would be typed; NULL takes the
 * key out. */
GBytes *lg_sheet_set(const LgSheet *sheet, guint record, const char *key, const char *value,
                     GError **error);
GBytes *lg_sheet_remove(const LgSheet *sheet, guint record);
GBytes *lg_sheet_append(const LgSheet *sheet, const char *record_text, GError **error);
/* Many settings at once: field by key in record[i]; one pass. */
typedef struct {
  guint record;
  const char *key;
  const char *value;
} LgSetting;
GBytes *lg_sheet_set_all(const LgSheet *sheet, const LgSetting settings[], gsize n, GError **error);

/* Writes bytes to a file atomically and durably: the file is always the old or the new one, whole.
 */
gboolean lg_save(const char *path, GBytes *bytes, GError **error);

/* The tidy form: columns of equal records in a block aligned, one space between, keys in the
 * schema's order, long records continued on indented lines, comments kept, one blank line at most
 * between. Meaning unchanged; tidy (tidy (x)) == tidy (x). A sheet with problems is returned as it
 * is, with error set to a message. */
GBytes *lg_sheet_tidy(const LgSheet *sheet, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgSheet, lg_sheet_free)
G_END_DECLS
