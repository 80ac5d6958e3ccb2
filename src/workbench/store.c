/* The opened job file. One lock orders what changes it (`work`: parsing, merging and saving take a
 * while), another one guards what everybody reads (`state`: held for moments). */
#include "workbench/store-private.h"
#include <string.h>

G_DEFINE_QUARK(lg_store_error, lg_store_error)

struct LgStore {
  char *path, *file;
  LgPlaceOnDisk disk;
  LgWatch *watch;

  GMutex work;
  GBytes *saved;     /* what the file held when it was read or written last */
  gboolean aside;    /* edits that are not saved yet are kept beside the file */
  LgJobSheet *sheet; /* of the newest edition; NULL: not read yet */
  char *told;        /* its JSON, NULL as above */

  GMutex state;
  LgHistory *history;
  LgStoreDisk standing;
  void (*changed)(gpointer user);
  gpointer user;
  gboolean news; /* to be told when `work` is free again */
};

static void begin_work(LgStore *store)
{
  g_mutex_lock(&store->work);
}

/* Tells the listener of what has changed, without a lock. */
static void end_work(LgStore *store)
{
  g_mutex_lock(&store->state);
  void (*const changed)(gpointer) = store->news ? store->changed : NULL;
  const gpointer user = store->user;
  store->news = FALSE;
  g_mutex_unlock(&store->state);
  g_mutex_unlock(&store->work);
  if (changed != NULL)
    changed(user);
}

/* Within `work` the history changes in this thread alone, so it may be read without `state`. */
static GBytes *newest(const LgStore *store)
{
  return lg_history_text(store->history);
}

static guint number_of(const LgStore *store)
{
  return lg_history_newest(store->history);
}

static void forget_sheet(LgStore *store)
{
  g_clear_pointer(&store->sheet, lg_job_sheet_free);
  g_clear_pointer(&store->told, g_free);
}

static LgJobSheet *sheet_of(LgStore *store)
{
  if (store->sheet == NULL)
    store->sheet = lg_job_sheet_new(store->file, newest(store));
  return store->sheet;
}

static void push(LgStore *store, GBytes *text, const char *what)
{
  forget_sheet(store);
  g_mutex_lock(&store->state);
  lg_history_push(store->history, text, what);
  store->news = TRUE;
  g_mutex_unlock(&store->state);
}

static void set_standing(LgStore *store, LgStoreDisk standing)
{
  g_mutex_lock(&store->state);
  store->news = store->news || store->standing != standing;
  store->standing = standing;
  g_mutex_unlock(&store->state);
  if (standing == LG_STORE_SAME && store->aside) {
    lg_disk_drop_aside(&store->disk);
    store->aside = FALSE;
  }
}

static void set_saved(LgStore *store, GBytes *text)
{
  g_bytes_ref(text);
  g_clear_pointer(&store->saved, g_bytes_unref);
  store->saved = text;
}

static LgDiskSave save(LgStore *store, GBytes *text, GBytes *expected, GError **error)
{
  const LgDiskSave outcome = lg_disk_save(&store->disk, text, expected, error);
  if (outcome == LG_DISK_SAVED)
    set_saved(store, text);
  return outcome;
}

/* A file that has lost its form, or all its records, may be half written, or broken: nothing that
 * is taken over unasked. */
static gboolean lost_its_form(GBytes *before, GBytes *after)
{
  g_autoptr(LgSlices) was = lg_text_slices_new(before), is = lg_text_slices_new(after);
  return is->n_broken > was->n_broken || (is->records->len == 0 && was->records->len > 0);
}

#define ON_DISK "changes on disk"

/* Puts the file's text and what is not saved yet together. FALSE: it has to be asked about. */
static gboolean merge_in(LgStore *store, GBytes *found)
{
  if (lost_its_form(store->saved, found))
    return FALSE;
  if (g_bytes_equal(newest(store), store->saved)) {
    push(store, found, ON_DISK);
    set_saved(store, found);
    return TRUE;
  }
  g_autoptr(GBytes) merged = lg_merge(store->saved, newest(store), found, FALSE, NULL);
  if (merged == NULL || save(store, merged, found, NULL) != LG_DISK_SAVED)
    return FALSE;
  push(store, merged, ON_DISK);
  return TRUE;
}

/* Brings the store up to what the file holds. */
static void look(LgStore *store)
{
  g_autoptr(GBytes) found = NULL;
  gboolean same = FALSE;
  if (lg_disk_read(&store->disk, &found, NULL) == LG_DISK_READ) {
    if (g_bytes_equal(found, newest(store))) {
      set_saved(store, found);
      same = TRUE;
    } else if (g_bytes_equal(found, store->saved))
      same = save(store, newest(store), found, NULL) == LG_DISK_SAVED;
    else
      same = merge_in(store, found);
  }
  set_standing(store, same ? LG_STORE_SAME : LG_STORE_CHANGED);
}

/* Saves a text that is about to become the newest edition. While the file holds something that is
 * to be asked about, the edition waits in memory. LG_DISK_FOREIGN: look again and make it anew. */
static LgDiskSave save_next(LgStore *store, GBytes *text, GError **error)
{
  if (store->standing == LG_STORE_CHANGED) {
    store->aside = TRUE;
    return lg_disk_keep_aside(&store->disk, text, store->saved, error) ? LG_DISK_SAVED
                                                                       : LG_DISK_FAILED;
  }
  const LgDiskSave outcome = save(store, text, store->saved, error);
  if (outcome == LG_DISK_FOREIGN)
    look(store);
  return outcome;
}

static gboolean check_edition(const LgStore *store, guint edition, GError **error)
{
  if (edition >= 1 && edition <= number_of(store))
    return TRUE;
  g_set_error(error, LG_STORE_ERROR, LG_STORE_ERROR_CALL,
              "there is no edition %u of this session\nload the page again", edition);
  return FALSE;
}

/* The newest text with the edits. */
static GBytes *make(LgStore *store, guint edition, const char *edits, char **theirs, GError **error)
{
  g_autofree char *rebased = NULL;
  if (edition < number_of(store)) {
    g_autoptr(GBytes) then = lg_history_text_of(store->history, edition);
    if (!g_bytes_equal(then, newest(store))) {
      rebased = lg_rebase(edits, then, newest(store), theirs, error);
      if (rebased == NULL)
        return NULL;
    }
  }
  g_autoptr(GError) failed = NULL;
  GBytes *const text =
      lg_job_sheet_edit(sheet_of(store), rebased != NULL ? rebased : edits, &failed);
  if (text != NULL)
    return text;
  const gboolean other = lg_added_elsewise(edits, newest(store), theirs);
  g_set_error_literal(error, LG_STORE_ERROR, other ? LG_STORE_ERROR_CONFLICT : LG_STORE_ERROR_CALL,
                      failed->message);
  return NULL;
}

/* TRUE when done, also when nothing had to be. */
static gboolean edit_once(LgStore *store, guint edition, const char *edits, const char *what,
                          char **theirs, gboolean *again, GError **error)
{
  *again = FALSE;
  g_autoptr(GBytes) text = make(store, edition, edits, theirs, error);
  if (text == NULL)
    return FALSE;
  if (g_bytes_equal(text, newest(store)))
    return TRUE;
  const LgDiskSave outcome = save_next(store, text, error);
  *again = outcome == LG_DISK_FOREIGN;
  if (outcome == LG_DISK_SAVED)
    push(store, text, what);
  return outcome == LG_DISK_SAVED;
}

gboolean lg_store_edit(LgStore *store, guint edition, const char *edits, const char *what,
                       guint *number, char **theirs, GError **error)
{
  begin_work(store);
  if (theirs != NULL)
    *theirs = NULL;
  gboolean good = check_edition(store, edition, error), again = good;
  if (good)
    look(store);
  while (again)
    good = edit_once(store, edition, edits, what != NULL && *what != '\0' ? what : "an edit",
                     theirs, &again, error);
  if (number != NULL)
    *number = number_of(store);
  end_work(store);
  return good;
}

/* What the page offered to take back is the newest step only as long as nothing came in between. */
static gboolean step(LgStore *store, gboolean redo, GError **error)
{
  const guint before = number_of(store);
  g_autoptr(GBytes) text = lg_history_peek(store->history, redo);
  if (text == NULL) {
    g_set_error(error, LG_STORE_ERROR, LG_STORE_ERROR_NOTHING, "there is nothing to %s\n%s",
                redo ? "redo" : "undo",
                redo ? "redo brings back what undo took, until something else is changed"
                     : "undo reaches back to where the job was opened");
    return FALSE;
  }
  look(store);
  const LgDiskSave outcome =
      number_of(store) != before ? LG_DISK_FOREIGN : save_next(store, text, error);
  if (outcome == LG_DISK_FOREIGN)
    g_set_error(error, LG_STORE_ERROR, LG_STORE_ERROR_CONFLICT,
                "the file was changed on disk at that moment\nlook at it, then %s again",
                redo ? "redo" : "undo");
  if (outcome != LG_DISK_SAVED)
    return FALSE;
  forget_sheet(store);
  g_mutex_lock(&store->state);
  lg_history_step(store->history, redo);
  store->news = TRUE;
  g_mutex_unlock(&store->state);
  return TRUE;
}

static gboolean walk(LgStore *store, gboolean redo, guint *number, GError **error)
{
  begin_work(store);
  const gboolean good = step(store, redo, error);
  if (number != NULL)
    *number = number_of(store);
  end_work(store);
  return good;
}

gboolean lg_store_undo(LgStore *store, guint *number, GError **error)
{
  return walk(store, FALSE, number, error);
}

gboolean lg_store_redo(LgStore *store, guint *number, GError **error)
{
  return walk(store, TRUE, number, error);
}

void lg_store_look(LgStore *store)
{
  begin_work(store);
  look(store);
  end_work(store);
}

static gboolean refuse_take(GError **error, const char *why)
{
  g_set_error_literal(error, LG_STORE_ERROR, LG_STORE_ERROR_CALL, why);
  return FALSE;
}

/* The file is written only if it still holds what was chosen from. */
static gboolean settle_with(LgStore *store, GBytes *text, GBytes *found, GError **error)
{
  const LgDiskSave outcome = save(store, text, found, error);
  if (outcome == LG_DISK_FOREIGN)
    g_set_error_literal(error, LG_STORE_ERROR, LG_STORE_ERROR_CONFLICT,
                        "the file was changed again at that moment\nlook at it, then choose again");
  return outcome == LG_DISK_SAVED;
}

/* What is not chosen stays within reach of undo. */
static gboolean take_mine(LgStore *store, GBytes *found, GError **error)
{
  g_autoptr(GBytes) mine = g_bytes_ref(newest(store));
  if (!settle_with(store, mine, found, error))
    return FALSE;
  if (found != NULL) {
    push(store, found, ON_DISK);
    push(store, mine, "mine instead of what stood on disk");
  }
  return TRUE;
}

static gboolean take_both(LgStore *store, GBytes *found, GError **error)
{
  g_autoptr(GBytes) merged = lg_merge(store->saved, newest(store), found, TRUE, NULL);
  if (merged == NULL)
    return refuse_take(error, "the two cannot be put together\ntake one of them; the other one "
                              "stays within reach of undo");
  if (!settle_with(store, merged, found, error))
    return FALSE;
  push(store, found, ON_DISK);
  push(store, merged, "both put together");
  return TRUE;
}

static gboolean settle(LgStore *store, LgStoreTake take, GError **error)
{
  look(store);
  if (store->standing == LG_STORE_SAME) {
    g_set_error_literal(error, LG_STORE_ERROR, LG_STORE_ERROR_NOTHING,
                        "the file holds what is shown\nthere is nothing to choose any more");
    return FALSE;
  }
  g_autoptr(GBytes) found = NULL;
  const LgDiskRead read = lg_disk_read(&store->disk, &found, NULL);
  if (read == LG_DISK_UNREADABLE)
    return refuse_take(error, "the file cannot be read\nmake it readable, or move it away");
  if (read == LG_DISK_GONE && take != LG_STORE_TAKE_MINE)
    return refuse_take(error, "the file is gone\ntake mine to write it again");
  gboolean good = TRUE;
  if (take == LG_STORE_TAKE_MINE)
    good = take_mine(store, found, error);
  else if (take == LG_STORE_TAKE_BOTH)
    good = take_both(store, found, error);
  else {
    push(store, found, "what stood on disk");
    set_saved(store, found);
  }
  if (good)
    set_standing(store, LG_STORE_SAME);
  return good;
}

gboolean lg_store_take(LgStore *store, LgStoreTake take, guint *number, GError **error)
{
  begin_work(store);
  const gboolean good = settle(store, take, error);
  if (number != NULL)
    *number = number_of(store);
  end_work(store);
  return good;
}

guint lg_store_edition(LgStore *store)
{
  g_mutex_lock(&store->state);
  const guint number = number_of(store);
  g_mutex_unlock(&store->state);
  return number;
}

LgStoreDisk lg_store_disk(LgStore *store)
{
  g_mutex_lock(&store->state);
  const LgStoreDisk standing = store->standing;
  g_mutex_unlock(&store->state);
  return standing;
}

GBytes *lg_store_text(LgStore *store, guint *edition)
{
  g_mutex_lock(&store->state);
  GBytes *const text = g_bytes_ref(newest(store));
  if (edition != NULL)
    *edition = number_of(store);
  g_mutex_unlock(&store->state);
  return text;
}

GBytes *lg_store_text_of(LgStore *store, guint edition)
{
  g_mutex_lock(&store->state);
  GBytes *const text = lg_history_text_of(store->history, edition);
  g_mutex_unlock(&store->state);
  return text;
}

static json_t *words_or_null(const char *words)
{
  return words == NULL ? json_null() : json_string(words);
}

char *lg_store_job_json(LgStore *store, guint ready)
{
  begin_work(store);
  if (store->told == NULL)
    store->told = lg_job_sheet_json(sheet_of(store));
  g_autoptr(json_t) own = json_pack("{s:i, s:i, s:s, s:s, s:o, s:o}", "edition",
                                    (int)number_of(store), "ready", (int)ready, "file", store->file,
                                    "disk", store->standing == LG_STORE_SAME ? "same" : "changed",
                                    "undo", words_or_null(lg_history_words(store->history, FALSE)),
                                    "redo", words_or_null(lg_history_words(store->history, TRUE)));
  char *const head = json_dumps(own, JSON_COMPACT);
  head[strlen(head) - 1] = ','; /* the sheet's own keys go on behind */
  char *const whole = g_strconcat(head, store->told + 1, NULL);
  free(head);
  end_work(store);
  return whole;
}

const char *lg_store_language(LgStore *store)
{
  begin_work(store);
  const char *const language = lg_job_sheet_language(sheet_of(store));
  end_work(store);
  return language;
}

char *lg_store_problems_json(const LgStore *store, const char *text, gsize length)
{
  g_autoptr(GBytes) bytes = g_bytes_new(text, length);
  g_autoptr(LgJobSheet) sheet = lg_job_sheet_new(store->file, bytes);
  return lg_job_sheet_problems_json(sheet, "open");
}

void lg_store_on_change(LgStore *store, void (*changed)(gpointer user), gpointer user)
{
  g_mutex_lock(&store->state);
  store->changed = changed;
  store->user = user;
  g_mutex_unlock(&store->state);
}

const char *lg_store_path(const LgStore *store)
{
  return store->path;
}

const char *lg_store_file(const LgStore *store)
{
  return store->file;
}

static GBytes *begin_job(LgStore *store, GError **error)
{
  g_autofree char *title = g_strdup(store->file);
  if (g_str_has_suffix(title, ".job"))
    title[strlen(title) - strlen(".job")] = '\0';
  char *const text = lg_starter_text(title);
  g_autoptr(GBytes) bytes = g_bytes_new_take(text, strlen(text));
  const LgDiskSave outcome = save(store, bytes, NULL, error);
  if (outcome == LG_DISK_FOREIGN)
    g_set_error(error, LG_STORE_ERROR, LG_STORE_ERROR_SAVE,
                "%s was made by something else at that moment\nopen it again", store->path);
  return outcome == LG_DISK_SAVED ? g_steal_pointer(&bytes) : NULL;
}

static GBytes *first_text(LgStore *store, gboolean begin, GError **error)
{
  g_autoptr(GBytes) text = NULL;
  g_autoptr(GError) failed = NULL;
  const LgDiskRead read = lg_disk_read(&store->disk, &text, &failed);
  if (read == LG_DISK_GONE && begin)
    return begin_job(store, error);
  if (read != LG_DISK_READ) {
    g_propagate_error(error, g_steal_pointer(&failed));
    return NULL;
  }
  set_saved(store, text);
  return g_steal_pointer(&text);
}

/* Where an earlier session ended while the file was to be asked about, this one goes on. */
static gboolean go_on(LgStore *store)
{
  g_autoptr(GBytes) unsaved = NULL, before = NULL;
  if (!lg_disk_find_aside(&store->disk, &unsaved, &before))
    return FALSE;
  store->aside = TRUE;
  set_saved(store, before);
  store->history = lg_history_new(before);
  if (!g_bytes_equal(before, unsaved))
    push(store, unsaved, "what was not saved when the job was closed");
  look(store);
  return TRUE;
}

static gboolean start(LgStore *store, gboolean begin, GError **error)
{
  if (go_on(store))
    return TRUE;
  g_autoptr(GBytes) text = first_text(store, begin, error);
  if (text != NULL)
    store->history = lg_history_new(text);
  return text != NULL;
}

static void look_from_watch(gpointer store)
{
  lg_store_look(store);
}

LgStore *lg_store_open(const char *path, gboolean begin, GError **error)
{
  g_autoptr(LgStore) store = g_new0(LgStore, 1);
  g_mutex_init(&store->work);
  g_mutex_init(&store->state);
  store->path = g_strdup(path);
  store->file = g_filename_display_basename(path);
  lg_disk_init(&store->disk, path);
  lg_disk_tidy(&store->disk);
  if (!start(store, begin, error))
    return NULL;
  store->watch = lg_disk_watch_new(store->disk.target, look_from_watch, store);
  return g_steal_pointer(&store);
}

void lg_store_free(LgStore *store)
{
  if (store == NULL)
    return;
  lg_disk_watch_free(store->watch);
  forget_sheet(store);
  lg_history_free(store->history);
  g_clear_pointer(&store->saved, g_bytes_unref);
  lg_disk_clear(&store->disk);
  g_mutex_clear(&store->work);
  g_mutex_clear(&store->state);
  g_free(store->path);
  g_free(store->file);
  g_free(store);
}
