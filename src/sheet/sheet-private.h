/* Inside the sheet room: the text cut into tokens, tokens read as values, and where problems go. */
#pragma once
#include "sheet/sheet.h"

typedef struct LgBlock LgBlock;

enum { LG_BLOCK_RECORDS = 512 };

struct LgSheet {
  char *file;
  GBytes *bytes;
  const char *text; /* of `bytes` */
  gsize length;
  /* A copy of the text at the same offsets, in which tokens are ended by NULs and quoted text is
   * unescaped: every string that records and values point to lies in here. */
  char *mirror;
  gboolean catalogue;
  LgBlock *blocks;    /* records, their values and field indices */
  GPtrArray *records; /* blocks of LG_BLOCK_RECORDS LgRecord, so that none ever moves */
  guint n_records;
  GPtrArray *problems;
};

/* Memory, not cleared, for g_free; in huge pages where it is large and the system has them: a fresh
 * page costs more time than the bytes that are read into it. */
gpointer lg_pages_new(gsize size);

/* Memory that lives as long as the sheet. */
gpointer lg_sheet_alloc(LgSheet *sheet, gsize size);

/* One word of a record. `key=value` is one token. */
typedef struct {
  char *key;        /* NUL-ended, in the mirror; NULL when the token is no pair */
  char *text;       /* the value: behind the `=`, without its quotes; NUL-ended, in the mirror */
  gsize length;     /* of text */
  gsize begin, end; /* span in the sheet's text, quotes and key included */
  int line, column; /* of begin */
  int text_column;  /* of the value, quote included */
  int role;         /* set by lg_tokens_assign: a field of the kind, or one of LG_ROLE_... */
  guint quoted : 1;
  guint broken : 1; /* a problem was reported already; not to be looked into */
  guint leads : 1;  /* first on its line */
} LgToken;

typedef struct {
  LgSheet *sheet;
  gboolean is_ascii;
  gboolean is_utf8; /* the whole text is known to be good UTF-8 without NUL */
  gsize at;         /* begin of the next line */
  int line;         /* its number */
  gboolean stray;   /* an indented line without a record was reported */
  /* the record found last */
  LgToken *tokens;
  gsize n_tokens, room;
  gsize begin, end; /* byte span, line end of the last line included */
  guint n_problems; /* of the sheet, before this record */
} LgScan;

void lg_scan_begin(LgScan *scan, LgSheet *sheet);
/* The next record's tokens; FALSE at the end of the text. Problems of the text itself (broken
 * UTF-8, long lines, open quotes, characters that look like others) are reported on the way. */
gboolean lg_scan_record(LgScan *scan);
void lg_scan_end(LgScan *scan);

enum {
  LG_ROLE_KIND = -1,
  LG_ROLE_NAME = -2,
  LG_ROLE_TEXT = -3,
  LG_ROLE_WHEN = -4,
  LG_ROLE_STATE = -5,
  LG_ROLE_STRAY = -6
};

/* Gives every token of a good record its role; returns the kind. */
LgKind lg_tokens_assign(LgToken tokens[], gsize n);

/* One record cut anew from its text, which must outlive the piece. Spans count from the piece's
 * begin. */
typedef struct {
  LgSheet sheet; /* text, mirror and problems only */
  LgScan scan;
  gboolean found;
} LgPiece;
void lg_piece_begin(LgPiece *piece, const char *text, gsize length);
void lg_piece_end(LgPiece *piece);

/* "\r\n" when the first line of the text ends so, else "\n". */
const char *lg_line_end(const char *text, gsize length);

/* A text in quotes, escaped. Newly allocated. */
char *lg_quote(const char *text);

/* A text that is to become a value of a field. */
typedef struct {
  LgSheet *sheet;
  LgKind kind;
  const LgField *field;
  char *text; /* NUL-ended, in the mirror */
  gsize length;
  gboolean quoted;
  LgOrigin origin;
} LgAsk;

/* Fills `value` (zeroed, with type, origin and text set); FALSE when a problem was reported. */
gboolean lg_value_read(const LgAsk *ask, LgValue *value);

/* The readers of single types; as lg_value_read. */
gboolean lg_value_read_quantity(const LgAsk *ask, LgValue *value);
gboolean lg_value_read_range(const LgAsk *ask, LgValue *value);
gboolean lg_value_read_count(const LgAsk *ask, LgValue *value);
gboolean lg_value_read_limit(const LgAsk *ask, LgValue *value);
gboolean lg_value_read_colour(const LgAsk *ask, LgValue *value);
gboolean lg_value_read_size(const LgAsk *ask, LgValue *value);
gboolean lg_value_read_state(const LgAsk *ask, LgValue *value);
/* A name that stands for the record itself, by the kind's naming. */
gboolean lg_name_read(const LgAsk *ask, LgNaming naming);

/* An empty list of LgProblem. */
GPtrArray *lg_problems_new(void);

/* Reports a problem; FALSE, so that a reader can end with it. Takes both texts. */
gboolean lg_ask_problem(const LgAsk *ask, char *what, char *remedy);

/* The same, with the value itself between `before` and `behind`. Takes the remedy. */
gboolean lg_ask_refuse(const LgAsk *ask, const char *before, const char *behind, char *remedy);

/* The text in backticks, shortened when it is long, safe to print. Newly allocated. */
char *lg_excerpt(const char *text, gsize length);
/* "a, b or c" from a NULL-ended list. Newly allocated. */
char *lg_list_words(const char *const words[]);
/* A limit of the schema as people write it: "0.5 mm", "1000 degC". Newly allocated. */
char *lg_print_limit(double value, LgDim dim);
/* "wire NAME from to colour size". Newly allocated. */
char *lg_kind_usage(LgKind kind);
