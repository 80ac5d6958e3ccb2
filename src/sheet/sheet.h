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
  int variant;           /* 0: above the first `variant`; n: the n-th one and what follows it */
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
 * returns a new text, owned by the caller; the sheet given is unchanged (read the new text for a
 * new sheet). NULL with error when the record would not be good any more. The sheet must have no
 * problems in the records touched.
 *
 * `key` is a field of the record's kind (values in order by their word), or "name" or "text" for
 * the record's own. `value` is as it would be typed; quotes are put around it where a text belongs.
 * NULL takes it out. */
GBytes *lg_sheet_set(const LgSheet *sheet, guint record, const char *key, const char *value,
                     GError **error);
/* Many settings at once, in their order within a record; one pass. */
typedef struct {
  guint record;
  const char *key;
  const char *value;
} LgSetting;
GBytes *lg_sheet_set_all(const LgSheet *sheet, const LgSetting settings[], gsize n, GError **error);
/* Takes a record out: its lines, with the comments on and between them. */
GBytes *lg_sheet_remove(const LgSheet *sheet, guint record);
/* Adds one or more records at the end, before the first variant, in the sheet's line ends. */
GBytes *lg_sheet_append(const LgSheet *sheet, const char *record_text, GError **error);

/* Writes bytes to a file atomically and durably: the file is always the old or the new one, whole.
 * Keeps its permissions; a link stays a link. */
gboolean lg_save(const char *path, GBytes *bytes, GError **error);

/* The tidy form: names and values in order of like records in a block stand in columns, one space
 * between the rest, keys in the schema's order, long records continued on indented lines, comments
 * kept, one blank line at most between. A record with comments inside keeps its own lines and
 * order. Meaning unchanged; tidy (tidy (x)) == tidy (x). NULL with error when the sheet has
 * problems. */
GBytes *lg_sheet_tidy(const LgSheet *sheet, GError **error);

/* The records, their values and keys with units, defaults and help: the body of the manual page
 * loomgraft-job(5) in man(7) language, and the same of one kind as plain text. Newly allocated. */
char *lg_schema_manual(void);
char *lg_schema_help(LgKind kind);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgSheet, lg_sheet_free)
G_END_DECLS
