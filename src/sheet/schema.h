/* The one table of the job-sheet language: kinds of record, their values and keys, units, defaults,
 * help. Reading, checking, help text, the manual page and the workbench's forms all come from it.
 */
#pragma once
#include "base/quantity.h"
#include <glib.h>

G_BEGIN_DECLS

typedef enum {
  LG_VALUE_TEXT,     /* quoted free text                                                    */
  LG_VALUE_NAME,     /* a plain name: "W12", "pvc-105"                                      */
  LG_VALUE_PIN,      /* PART.PIN, or a short pin inside an element record                   */
  LG_VALUE_ITEM,     /* a name or PART.NAME: part, pin, element or wire                     */
  LG_VALUE_WORD,     /* one of the field's `words`                                          */
  LG_VALUE_COLOUR,   /* IEC 60757 letters, base or base/stripe: RD, GN/BU; German short too */
  LG_VALUE_SIZE,     /* conductor size: 2.5mm2, 14AWG, 2/0AWG, or auto                      */
  LG_VALUE_QUANTITY, /* a number with a unit of `dim`                                       */
  LG_VALUE_RANGE,    /* two quantities: -20C..45C (or one: both ends)                       */
  LG_VALUE_AUTO,     /* a quantity, or the word auto                                        */
  LG_VALUE_COUNT,    /* a whole number without unit                                         */
  LG_VALUE_DATE,     /* 2026-05-31                                                          */
  LG_VALUE_GRID,     /* rows x columns: 3x6                                                 */
  LG_VALUE_NAMES,    /* names with commas between, no spaces: a,b,c                         */
  LG_VALUE_STATE,    /* INPUT=position                                                      */
  LG_VALUE_LIMIT,    /* current<10mA  volts>11.5V  power>60W                                */
} LgValueType;

/* Which record a field belongs to; the index of the table. */
typedef enum {
  LG_KIND_JOB,
  LG_KIND_VEHICLE,
  LG_KIND_PLACE,
  LG_KIND_RUN,
  LG_KIND_PART,
  LG_KIND_PIN,
  LG_KIND_ELEMENT,
  LG_KIND_WIRE,
  LG_KIND_NEED,
  LG_KIND_READING,
  LG_KIND_TICK,
  LG_KIND_BODY,
  LG_KIND_USE,
  LG_KIND_STEP,
  LG_KIND_CHAPTER,
  LG_KIND_PHOTO,
  LG_KIND_NOTE,
  LG_KIND_VARIANT,
  /* catalogue only */
  LG_KIND_TYPE,
  LG_KIND_CONDUCTOR,
  LG_KIND_INSULATION,
  LG_KIND_AMPACITY,
  LG_KIND_FACTOR,
  LG_KIND_FUSE,
  LG_KIND_OPENING,
  LG_KIND_TERMINAL,
  LG_KIND_COVER,
  LG_N_KINDS
} LgKind;

typedef enum {
  LG_NAMED_NOT,    /* the record has no name                      */
  LG_NAMED_TEXT,   /* a quoted title                              */
  LG_NAMED_PLAIN,  /* one name, unique within its kind            */
  LG_NAMED_DOTTED, /* OWNER.NAME, unique within its kind          */
  LG_NAMED_SIZE,   /* a conductor size: 2.5mm2, 14AWG             */
} LgNaming;

typedef struct {
  const char *key; /* "length"; for a value in order its word in messages ("from") */
  LgValueType type;
  LgDim dim;                /* QUANTITY, RANGE, AUTO */
  const char *const *words; /* WORD: NULL-ended list; else NULL */
  int place;                /* 1..: a value in the record's own order; 0: key=value */
  gboolean required;
  double least, most;   /* canonical unit; both 0: any */
  const char *fallback; /* what holds when it is left out, in words, for help; NULL: nothing */
  const char *help;     /* one line */
} LgField;

typedef struct {
  const char *word; /* "wire" */
  LgNaming naming;
  gboolean catalogue_only;
  gboolean once;         /* at most one record of the kind in a sheet */
  gboolean has_text;     /* free text at the end is welcome */
  gboolean has_when;     /* a `when A=b C=d` tail */
  const LgField *fields; /* ends with key == NULL */
  const char *help;      /* one line */
  const char *example;   /* one good record */
} LgKindInfo;

extern const LgKindInfo lg_kinds[LG_N_KINDS];

/* No kind has more fields. */
#define LG_MOST_FIELDS 120

/* Index of a kind's field by key, -1 when there is none. Values in order are found by their word,
 * too. */
int lg_field_find(LgKind kind, const char *key, gsize length);
/* The n-th value in order (1..), -1 when the kind has fewer. */
int lg_field_at_place(LgKind kind, int place);
int lg_n_fields(LgKind kind);

G_END_DECLS
