/* Inside the store: editions, the file on disk, records of a text, and merging. */
#pragma once
#include "workbench/store.h"
#include <jansson.h>

G_BEGIN_DECLS

G_DEFINE_AUTOPTR_CLEANUP_FUNC(json_t, json_decref)

/* Editions. Two that follow each other differ in one stretch, so only the stretch is kept: a
 * session of thousands of edits takes little more than the newest text. */
typedef struct LgHistory LgHistory;

LgHistory *lg_history_new(GBytes *first);
void lg_history_free(LgHistory *history);
guint lg_history_newest(const LgHistory *history);
/* Borrowed. */
GBytes *lg_history_text(const LgHistory *history);
/* New reference; NULL for a number that never was. Time grows with the number of editions since. */
GBytes *lg_history_text_of(const LgHistory *history, guint edition);
/* A new edition that undo takes back under the words `what`; what was undone before is gone. */
void lg_history_push(LgHistory *history, GBytes *text, const char *what);
/* The words of the step that undo (redo) would take, NULL when there is none. Borrowed. */
const char *lg_history_words(const LgHistory *history, gboolean redo);
/* The text that undo (redo) would lead to, new reference; NULL when there is none. */
GBytes *lg_history_peek(const LgHistory *history, gboolean redo);
/* Makes that text the newest edition. */
void lg_history_step(LgHistory *history, gboolean redo);

/* The file. */
typedef struct {
  char *target; /* what is read and written: the path behind all links */
  char *folder;
  char *temporary; /* beside the target; carries the number of this process */
  char *unsaved;   /* while the file is to be asked about: the newest edition, */
  char *before;    /* and what the file held before */
} LgPlaceOnDisk;

void lg_disk_init(LgPlaceOnDisk *disk, const char *path);
void lg_disk_clear(LgPlaceOnDisk *disk);
/* Takes away what processes that are gone left beside the target. */
void lg_disk_tidy(const LgPlaceOnDisk *disk);
typedef enum { LG_DISK_READ, LG_DISK_GONE, LG_DISK_UNREADABLE } LgDiskRead;
/* `*text` is NULL unless LG_DISK_READ; `error` is set for the other two. */
LgDiskRead lg_disk_read(const LgPlaceOnDisk *disk, GBytes **text, GError **error);
typedef enum { LG_DISK_SAVED, LG_DISK_FOREIGN, LG_DISK_FAILED } LgDiskSave;
/* Replaces the file, durably and as a whole, if it still holds `expected` (NULL: does not exist)
 * when the new one is ready beside it. `error` is set when LG_DISK_FAILED. */
LgDiskSave lg_disk_save(const LgPlaceOnDisk *disk, GBytes *text, GBytes *expected, GError **error);

/* Edits that cannot be saved yet, because the file holds something that is to be asked about, are
 * kept beside it, so that a session that is killed then loses none. */
gboolean lg_disk_keep_aside(const LgPlaceOnDisk *disk, GBytes *unsaved, GBytes *before,
                            GError **error);
/* FALSE when there is nothing. */
gboolean lg_disk_find_aside(const LgPlaceOnDisk *disk, GBytes **unsaved, GBytes **before);
void lg_disk_drop_aside(const LgPlaceOnDisk *disk);

/* Watches a file from a thread of its own; `changed` is called there, a moment after the last of
 * several changes. */
typedef struct LgWatch LgWatch;
LgWatch *lg_disk_watch_new(const char *target, void (*changed)(gpointer user), gpointer user);
void lg_disk_watch_free(LgWatch *watch);

/* A text cut into records and other lines (comments, empty ones, broken ones), in order. */
typedef struct {
  gsize begin, end; /* line ends included */
  char *key;        /* "wire W6", with variant and count where needed; NULL: no record */
  int index;        /* of the record in the sheet, -1: no record */
} LgSlice;
typedef struct {
  GBytes *text;
  const char *data;
  GArray *slices;    /* LgSlice */
  GHashTable *found; /* key -> its number among the slices, plus 1 */
  GArray *records;   /* guint: slices that are records, by the sheet's index */
  guint n_broken;    /* lines that are neither records nor comments nor empty */
} LgSlices;

LgSlices *lg_text_slices_new(GBytes *text);
void lg_text_slices_free(LgSlices *slices);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgSlices, lg_text_slices_free)
/* NULL when there is none. */
const LgSlice *lg_text_slices_find(const LgSlices *slices, const char *key);
/* By kind, name and variant (number or name), or by index, as in `/job/edits`. */
const LgSlice *lg_text_slices_find_named(const LgSlices *slices, const json_t *record);
gboolean lg_text_slices_same(const LgSlices *a, const LgSlice *p, const LgSlices *b,
                             const LgSlice *q);
/* Without its last line end. Newly allocated. */
char *lg_slice_text(const LgSlices *slices, const LgSlice *slice);

/* What mine and theirs made of `base`, record by record. NULL when both changed a record
 * differently, or the outcome would not read as it should; then `*theirs` (may be NULL) is the
 * first such record as theirs has it, or NULL. `both`: theirs stays, mine stands behind it as a
 * comment, and NULL is rare. */
GBytes *lg_merge(GBytes *base, GBytes *mine, GBytes *theirs_text, gboolean both, char **theirs);

/* The edits, made while looking at the text `then`, as they are to be made on `now`; newly
 * allocated. NULL with LG_STORE_ERROR_CONFLICT and `*theirs`. */
char *lg_rebase(const char *edits, GBytes *then, GBytes *now, char **theirs, GError **error);
/* When an added record is refused because another one of its kind and name stands in `now`: TRUE,
 * and that one. */
gboolean lg_added_elsewise(const char *edits, GBytes *now, char **theirs);

G_END_DECLS
