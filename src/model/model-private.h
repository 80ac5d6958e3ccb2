/* Inside the model room: the state of building a job, and its pieces. */
#pragma once
#include "base/text.h"
#include "model/model.h"

struct LgJobStore {
  GStringChunk *texts;
  GPtrArray *blocks; /* small arrays, freed with the job */
  GHashTable *places, *runs, *parts, *pins, *elements, *wires, *inputs, *bodies,
      *uses; /* name -> index + 1 */
};

typedef struct {
  LgJob *job;
  LgSheet *sheet;
  guint n_before; /* problems before the model's */
  /* Records by kind, in order. */
  GPtrArray *records[LG_N_KINDS];
  GPtrArray *part_records; /* by part index */
} LgJobBuild;

/* One key of the element group. */
typedef struct {
  const char *key;
  int param;       /* LgParam, -1: not a figure */
  guint32 kinds;   /* bit set of LgElementKind that take it */
  guint32 through; /* those that take it from their part's record */
} LgElementKey;
extern const LgElementKey lg_element_keys[]; /* ends with key == NULL */

/* Adds a problem; takes both texts. */
void lg_build_problem(LgJobBuild *build, LgOrigin origin, char *what, char *remedy);
/* "did you mean `x`?", or `otherwise`, newly allocated. */
char *lg_build_did_you_mean(GHashTable *names, const char *word, const char *otherwise);
const char *lg_build_text(LgJobBuild *build, const char *text); /* NULL stays NULL */
gpointer lg_build_block(LgJobBuild *build, gsize n, gsize size);

int lg_find(GHashTable *names, const char *name);
/* FALSE and a problem when the name is taken. */
gboolean lg_build_name(LgJobBuild *build, GHashTable *names, const char *name, int index,
                       LgOrigin origin);

/* Value readers; a key that is not given leaves the fallback. */
double lg_take_number(const LgRecord *record, const char *key, double fallback);
int lg_take_word(const LgRecord *record, const char *key, int fallback);
const char *lg_take_text(LgJobBuild *build, const LgRecord *record, const char *key,
                         const char *fallback);

/* The sheet's dotted records of a kind by the part that they belong to ([n_parts], NULL when a part
 * has none); a problem for those without a part. */
GPtrArray **lg_build_buckets(LgJobBuild *build, LgKind kind);
void lg_build_free_buckets(GPtrArray **buckets, int n);

void lg_build_bodies(LgJobBuild *build);
void lg_build_uses(LgJobBuild *build);
void lg_build_papers(LgJobBuild *build); /* chapters, photos, notes */
void lg_build_parts(LgJobBuild *build);  /* parts, pins, elements, inputs */
void lg_build_elements(LgJobBuild *build);
void lg_build_inputs(LgJobBuild *build);
void lg_build_wires(LgJobBuild *build);                          /* and their routes */
void lg_build_intents(LgJobBuild *build);                        /* needs, readings, evidence */
void lg_element_complete(LgJobBuild *build, LgElement *element); /* derived figures and defaults */

/* The `when` tail; returns how many conditions, written to *when. */
int lg_build_when(LgJobBuild *build, const LgRecord *record, LgCondition **when);

/* Pin index from PART.PIN, or PART when it has one pin, or a short pin of `owner` (-1: none); -1
 * and a problem. */
int lg_build_pin(LgJobBuild *build, const char *text, int owner, LgOrigin origin);
