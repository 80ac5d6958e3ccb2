/* Inside of a live sheet: the job sized and checked, and what is kept between questions. */
#pragma once
#include "api/api-private.h"
#include "studies/state-warmth.h"
#include <jansson.h>

/* What a finding is about. */
typedef struct {
  char *id;         /* "fuse-above-wire:F2"; the second of one rule about one thing ends in ":2" */
  const char *kind; /* of lg_thing_words, or of the language; NULL: the whole job */
  const char *name; /* NULL: has none */
  int record;       /* in the sheet, -1 */
} LgSubject;

struct LgLive {
  LgJobSheet *sheet; /* its own */
  const LgJob *job;
  LgSizing *sizing;
  GPtrArray *findings; /* LgFinding*, sorted */
  GArray *subjects;    /* LgSubject, one a finding */
  LgNetWork *work;
  LgPoint *point; /* the last state solved */
  LgStateWarmth *warmth;
  double *wire_K;         /* [n_wires] in that state */
  int *wire_run;          /* [n_wires] where, as lg_state_warmth_solve has it */
  GArray *faults;         /* LgFailure; NULL until asked for, as the two below */
  GHashTable *fault_keys; /* key: one of them */
  LgWhatIf *what_if;
  LgTable *sizes;          /* NULL until asked for */
  struct LgShorts *shorts; /* the same */
  GHashTable *drawings;    /* name: GPtrArray of LgDrawing*; made when asked for */
};

/* Things that people point at. */
typedef enum {
  LG_THING_WIRE,
  LG_THING_PIN,
  LG_THING_PART,
  LG_THING_ELEMENT,
  LG_N_THINGS
} LgThingKind;
extern const char *const lg_thing_words[]; /* NULL-ended */
/* Finds it; FALSE with LG_ERROR_CALL for an unknown kind or name. */
gboolean lg_live_find(const LgLive *live, const char *kind, const char *name, LgThingKind *thing,
                      int *index, GError **error);

/* The record that stands at a line of the sheet, -1. */
int lg_live_record_at(const LgJob *job, int line);
/* Whether a contact conducts in the state solved last. */
gboolean lg_live_is_closed(const LgLive *live, int element);
/* Fills live->subjects. */
void lg_live_name_findings(LgLive *live);

/* Solves a state into live->point and its warmth. `fault`: NULL or a key; `*told` then becomes what
 * it does, else null. FALSE with LG_ERROR_CALL. */
gboolean lg_live_take_state(LgLive *live, const char *const settings[], const char *fault,
                            json_t **told, GError **error);
/* Solves live->point's positions with a fault in and what opens open; tells what it does. NULL with
 * LG_ERROR_CALL for an unknown one. */
json_t *lg_live_put_fault(LgLive *live, const char *key, GError **error);
/* Positions alone. */
gboolean lg_live_read_settings(const LgJob *job, const char *const settings[], int position[],
                               GError **error);

/* A remedy to be tried. */
typedef struct {
  char *words;   /* "W4 in 16 mm2" */
  json_t *edits; /* list, as `/job/edits` has it */
} LgCandidate;
/* LgCandidate, cheapest first; none where only a person can know what helps. */
GArray *lg_live_candidates(const LgLive *live, guint finding);

/* JSON: NULL for what is not finite; a text made valid UTF-8, NULL stays null. */
json_t *lg_json_number(double value);
json_t *lg_json_text(const char *text);
/* Dumps and frees. */
char *lg_json_take(json_t *root);
