/* The opened job file: its text as editions numbered from 1, undo and redo, atomic saves, and what
 * happens to the file meanwhile (docs/workbench.md).
 *
 * Every function may be called from any thread. A text is immutable and counted (GBytes). Errors
 * that a person may read carry "what is wrong\nwhat to do" in their message. */
#pragma once
#include "loomgraft.h"

G_BEGIN_DECLS

typedef struct LgStore LgStore;

#define LG_STORE_ERROR (lg_store_error_quark())
GQuark lg_store_error_quark(void);
typedef enum {
  LG_STORE_ERROR_CALL,     /* 400: the edits cannot be made at all, or the edition never was */
  LG_STORE_ERROR_CONFLICT, /* 409: what they rest on stands otherwise by now; see `theirs` */
  LG_STORE_ERROR_NOTHING,  /* 409: nothing to undo, to redo or to settle */
  LG_STORE_ERROR_SAVE,     /* 500: the file could not be written; nothing has changed */
} LgStoreError;

typedef enum {
  LG_STORE_SAME,    /* the newest edition is what stands in the file */
  LG_STORE_CHANGED, /* the file is gone, broken, or holds changes that could not be merged: ask. It
                       is not written meanwhile; edits go on and are kept beside it */
} LgStoreDisk;

typedef enum {
  LG_STORE_TAKE_DISK, /* the file's text becomes the newest edition */
  LG_STORE_TAKE_MINE, /* the newest edition is written over the file; the file's text stays in undo
                       */
  LG_STORE_TAKE_BOTH, /* merged; where both changed a record the file's stands, and mine is put
                         behind it as a comment: a second wire under a new name would be real */
} LgStoreTake;

/* Opens the file as edition 1 and watches it. `begin`: a file that does not exist is begun from the
 * starter sheet. NULL with an error of GFile's kind or LG_STORE_ERROR_SAVE. Takes away what an
 * earlier session that was killed in the middle of a save left beside the file. */
LgStore *lg_store_open(const char *path, gboolean begin, GError **error);
/* All is saved already. No call may be under way. */
void lg_store_free(LgStore *store);

/* Called after each new edition and each change of lg_store_disk, from the thread that made it,
 * with no lock held: any function but lg_store_free may be called. Set it before there are threads.
 */
void lg_store_on_change(LgStore *store, void (*changed)(gpointer user), gpointer user);

/* The path as it was given, and its last piece. Borrowed. */
const char *lg_store_path(const LgStore *store);
const char *lg_store_file(const LgStore *store);

guint lg_store_edition(LgStore *store);
LgStoreDisk lg_store_disk(LgStore *store);
/* The newest text, and its number where `edition` is not NULL. g_bytes_unref. */
GBytes *lg_store_text(LgStore *store, guint *edition);
/* The text of any edition of this session, NULL when there was none of that number. */
GBytes *lg_store_text_of(LgStore *store, guint edition);

/* Makes edits (a JSON list, docs/workbench.md `/job/edits`) that were thought of while looking at
 * `edition`, saves, and tells the new number (the present one when they change nothing). `what`
 * goes into undo's words: "size of W6". With LG_STORE_ERROR_CONFLICT `*theirs` is the record as it
 * stands now, or NULL when it is gone (g_free). `number` and `theirs` may be NULL. */
gboolean lg_store_edit(LgStore *store, guint edition, const char *edits, const char *what,
                       guint *number, char **theirs, GError **error);

/* One step; makes a new edition, too. */
gboolean lg_store_undo(LgStore *store, guint *number, GError **error);
gboolean lg_store_redo(LgStore *store, guint *number, GError **error);

/* Looks at the file now; what the watch does by itself. */
void lg_store_look(LgStore *store);
/* Settles LG_STORE_CHANGED. LG_STORE_ERROR_NOTHING when there is nothing to settle;
 * LG_STORE_ERROR_CALL when the file is gone and `take` needs it. */
gboolean lg_store_take(LgStore *store, LgStoreTake take, guint *number, GError **error);

/* The whole answer to `/job`; `ready`: the newest edition that is sized and checked, 0: none. */
char *lg_store_job_json(LgStore *store, guint ready);
/* Of the sheet's texts; static. */
const char *lg_store_language(LgStore *store);
/* {"problems": [...]} of any text. */
char *lg_store_problems_json(const LgStore *store, const char *text, gsize length);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgStore, lg_store_free)
G_END_DECLS
