/* Long studies, each from an opening of its own of the text as it stood when it was begun. */
#include "workbench/server-private.h"
#include <glib/gstdio.h>
#include <malloc.h>
#include <string.h>

enum { AT_ONCE = 2, MOST_KEPT = 20, MOST_READINGS = 200, TELL_US = 250000 };

typedef struct Run Run;
typedef struct {
  const char *verb;
  gboolean files; /* it writes into a folder of its own */
  LgReport *(*study)(Run *run, LgJobSheet *sheet, GError **error);
} Verb;

struct Run {
  gatomicrefcount uses;
  LgRuns *runs;
  guint id;
  const Verb *verb;
  char *use, *part, *variant, *file;
  GStrv readings;
  gboolean share_out; /* the packet is for others */
  GBytes *text;
  guint edition;
  char *folder;              /* temporary; NULL */
  gint stopping;             /* atomic */
  LgJobSheet *sheet, *plain; /* while it runs: a report points into them */
  /* Under the lock of the runs. */
  double share;
  gboolean begun, done, stopped;
  char *wrong, *remedy, *report, *records;
  GStrv files;
};

struct LgRuns {
  Server *server;
  GMutex lock;
  GPtrArray *all; /* Run, oldest first */
  GThreadPool *threads;
  guint last_id;
  gint64 told_us;
};

/* --- studies --- */

static void tell(LgRuns *runs, gboolean at_once)
{
  const gint64 now_us = g_get_monotonic_time();
  g_mutex_lock(&runs->lock);
  const gboolean due = at_once || now_us - runs->told_us > TELL_US;
  if (due)
    runs->told_us = now_us;
  g_mutex_unlock(&runs->lock);
  if (due)
    lg_news_tell(runs->server->news);
}

static gboolean go_on(double share, gpointer user)
{
  Run *const run = user;
  g_mutex_lock(&run->runs->lock);
  run->share = share;
  g_mutex_unlock(&run->runs->lock);
  tell(run->runs, FALSE);
  return g_atomic_int_get(&run->stopping) != 0;
}

static LgReport *study_faults(Run *run, LgJobSheet *sheet, GError **error)
{
  const LgFaultsAsk ask = {.every = TRUE, .threads = 1, .stop = go_on, .user = run};
  return lg_faults(sheet, &ask, error);
}

static LgReport *study_simulate(Run *run, LgJobSheet *sheet, GError **error)
{
  const LgSimulateAsk ask = {.folder = run->folder, .stop = go_on, .user = run};
  return lg_simulate(sheet, run->use, &ask, error);
}

static LgReport *study_identify(Run *run, LgJobSheet *sheet, GError **error)
{
  LgReport *const report = lg_identify(sheet, run->part, error);
  if (report != NULL)
    run->records = lg_identify_records(sheet, run->part, NULL);
  return report;
}

static LgReport *study_locate(Run *run, LgJobSheet *sheet, GError **error)
{
  const LgLocateAsk ask = {.readings = (const char *const *)run->readings, .guides = TRUE};
  return lg_locate(sheet, &ask, error);
}

static LgReport *study_compare(Run *run, LgJobSheet *sheet, GError **error)
{
  run->plain = lg_job_sheet_new(run->file, run->text);
  return lg_compare(run->plain, sheet, error);
}

static LgReport *study_packet(Run *run, LgJobSheet *sheet, GError **error)
{
  const LgPacketAsk ask = {.share = run->share_out, .stop = go_on, .user = run};
  return lg_packet(sheet, run->folder, &ask, error);
}

static const Verb verbs[] = {
    {"faults", FALSE, study_faults},     {"simulate", TRUE, study_simulate},
    {"identify", FALSE, study_identify}, {"locate", FALSE, study_locate},
    {"compare", FALSE, study_compare},   {"packet", TRUE, study_packet},
};

/* --- files --- */

static void remove_folder(const char *path)
{
  GDir *const dir = g_dir_open(path, 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name(dir)) != NULL;) {
    g_autofree char *child = g_build_filename(path, name, NULL);
    if (g_file_test(child, G_FILE_TEST_IS_DIR) && !g_file_test(child, G_FILE_TEST_IS_SYMLINK))
      remove_folder(child);
    else
      g_unlink(child);
  }
  if (dir != NULL)
    g_dir_close(dir);
  g_rmdir(path);
}

static int by_name(gconstpointer a, gconstpointer b)
{
  return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static GStrv files_in(const char *folder)
{
  g_autoptr(GPtrArray) names = g_ptr_array_new();
  GDir *const dir = folder == NULL ? NULL : g_dir_open(folder, 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name(dir)) != NULL;)
    g_ptr_array_add(names, g_strdup(name));
  if (dir != NULL)
    g_dir_close(dir);
  g_ptr_array_sort(names, by_name);
  g_ptr_array_add(names, NULL);
  return (GStrv)g_ptr_array_free(g_steal_pointer(&names), FALSE);
}

/* --- a run --- */

static void run_unref(gpointer data)
{
  Run *const run = data;
  if (!g_atomic_ref_count_dec(&run->uses))
    return;
  if (run->folder != NULL)
    remove_folder(run->folder);
  g_free(run->folder);
  g_free(run->use);
  g_free(run->part);
  g_free(run->variant);
  g_free(run->file);
  g_free(run->wrong);
  g_free(run->remedy);
  g_free(run->report);
  g_free(run->records);
  g_strfreev(run->readings);
  g_strfreev(run->files);
  g_bytes_unref(run->text);
  g_free(run);
}
G_DEFINE_AUTOPTR_CLEANUP_FUNC(Run, run_unref)

/* The report without the temporary folder, of which nobody needs to know. */
static char *report_json(const Run *run, const LgReport *report)
{
  g_autofree char *whole = lg_report_json(report);
  g_autoptr(GString) json = g_string_new(whole);
  if (run->folder != NULL) {
    g_autofree char *inside = g_strconcat(run->folder, "/", NULL);
    g_string_replace(json, inside, "", 0);
  }
  return g_strchomp(g_strdup(json->str));
}

static LgReport *study(Run *run, GError **error)
{
  run->sheet = lg_job_sheet_new(run->file, run->text);
  if (run->variant != NULL && !lg_job_sheet_take_variant(run->sheet, run->variant, error))
    return NULL;
  if (run->verb->files) {
    run->folder = g_dir_make_tmp("loomgraft-XXXXXX", error);
    if (run->folder == NULL)
      return NULL;
  }
  return run->verb->study(run, run->sheet, error);
}

static void finish(Run *run, LgReport *report, const GError *error)
{
  char *const json = report != NULL ? report_json(run, report) : NULL;
  GStrv files = files_in(run->folder);
  g_mutex_lock(&run->runs->lock);
  run->done = TRUE;
  run->stopped = g_atomic_int_get(&run->stopping) != 0;
  run->report = json;
  run->files = files;
  if (report != NULL && !run->stopped)
    run->share = 1;
  if (error != NULL && !run->stopped) {
    g_auto(GStrv) lines = g_strsplit(error->message, "\n", 2);
    run->wrong = g_strdup(lines[0]);
    run->remedy = g_strdup(lines[1]);
  }
  g_mutex_unlock(&run->runs->lock);
}

static void work(gpointer data, gpointer user)
{
  (void)user;
  g_autoptr(Run) run = data;
  g_mutex_lock(&run->runs->lock);
  run->begun = TRUE;
  g_mutex_unlock(&run->runs->lock);
  g_autoptr(GError) error = NULL;
  LgReport *const report = g_atomic_int_get(&run->stopping) != 0 ? NULL : study(run, &error);
  finish(run, report, error);
  lg_report_free(report);
  g_clear_pointer(&run->sheet, lg_job_sheet_free);
  g_clear_pointer(&run->plain, lg_job_sheet_free);
  malloc_trim(0); /* a study takes far more than what it leaves */
  tell(run->runs, TRUE);
}

/* --- all runs --- */

LgRuns *lg_runs_new(Server *server)
{
  LgRuns *const runs = g_new0(LgRuns, 1);
  runs->server = server;
  runs->all = g_ptr_array_new_with_free_func(run_unref);
  runs->threads = g_thread_pool_new(work, NULL, AT_ONCE, FALSE, NULL);
  g_mutex_init(&runs->lock);
  return runs;
}

void lg_runs_free(LgRuns *runs)
{
  if (runs == NULL)
    return;
  g_mutex_lock(&runs->lock);
  for (guint i = 0; i < runs->all->len; i++)
    g_atomic_int_set(&((Run *)runs->all->pdata[i])->stopping, 1);
  g_mutex_unlock(&runs->lock);
  g_thread_pool_free(runs->threads, FALSE, TRUE);
  g_ptr_array_unref(runs->all);
  g_mutex_clear(&runs->lock);
  g_free(runs);
}

static json_t *brief(const Run *run)
{
  return json_pack("{s:i, s:s, s:i, s:f, s:b, s:b, s:b, s:s?, s:s?}", "id", (int)run->id, "verb",
                   run->verb->verb, "edition", (int)run->edition, "share", run->share, "begun",
                   run->begun, "done", run->done, "stopped", run->stopped, "wrong", run->wrong,
                   "remedy", run->remedy);
}

json_t *lg_runs_news(LgRuns *runs)
{
  json_t *const list = json_array();
  g_mutex_lock(&runs->lock);
  for (guint i = 0; i < runs->all->len; i++)
    json_array_append_new(list, brief(runs->all->pdata[i]));
  g_mutex_unlock(&runs->lock);
  return list;
}

static Run *find_run(LgRuns *runs, const char *word)
{
  const guint64 id = g_ascii_strtoull(word, NULL, 10);
  Run *found = NULL;
  g_mutex_lock(&runs->lock);
  for (guint i = 0; i < runs->all->len && found == NULL; i++) {
    Run *const run = runs->all->pdata[i];
    if (run->id == id)
      found = run;
  }
  if (found != NULL)
    g_atomic_ref_count_inc(&found->uses);
  g_mutex_unlock(&runs->lock);
  return found;
}

/* With the lock held: the oldest that is done makes room. */
static gboolean make_room(LgRuns *runs)
{
  for (guint i = 0; runs->all->len >= MOST_KEPT && i < runs->all->len; i++)
    if (((const Run *)runs->all->pdata[i])->done) {
      g_ptr_array_remove_index(runs->all, i);
      break;
    }
  return runs->all->len < MOST_KEPT;
}

/* --- requests --- */

static GStrv texts_of(const json_t *list)
{
  g_autoptr(GStrvBuilder) texts = g_strv_builder_new();
  for (gsize i = 0; i < MIN(json_array_size(list), (gsize)MOST_READINGS); i++)
    if (json_is_string(json_array_get(list, i)))
      g_strv_builder_add(texts, json_string_value(json_array_get(list, i)));
  return g_strv_builder_end(texts);
}

static const Verb *verb_named(const char *name)
{
  for (guint i = 0; name != NULL && i < G_N_ELEMENTS(verbs); i++)
    if (strcmp(verbs[i].verb, name) == 0)
      return &verbs[i];
  return NULL;
}

/* What the verb needs and the request does not say; NULL: nothing. */
static const char *missing(const Verb *verb, const LgRequest *request)
{
  if (verb->study == study_simulate && lg_request_text(request, "use") == NULL)
    return "Name the `use` to simulate.";
  if (verb->study == study_identify && lg_request_text(request, "part") == NULL)
    return "Name the `part` to identify.";
  if (verb->study == study_compare && lg_request_text(request, "variant") == NULL)
    return "Name the `variant` to compare with.";
  return NULL;
}

static Run *run_new(LgRuns *runs, const Verb *verb, const LgRequest *request)
{
  Run *const run = g_new0(Run, 1);
  g_atomic_ref_count_init(&run->uses);
  run->runs = runs;
  run->verb = verb;
  run->use = g_strdup(lg_request_text(request, "use"));
  run->part = g_strdup(lg_request_text(request, "part"));
  run->variant = g_strdup(lg_request_text(request, "variant"));
  run->readings = texts_of(json_object_get(request->body, "readings"));
  run->share_out = json_is_true(json_object_get(request->body, "share"));
  run->file = g_strdup(lg_store_file(runs->server->store));
  run->text = lg_store_text(runs->server->store, &run->edition);
  return run;
}

LgAnswer *lg_serve_run_begin(Server *server, const LgRequest *request)
{
  LgRuns *const runs = server->runs;
  const Verb *const verb = verb_named(lg_request_text(request, "verb"));
  if (verb == NULL)
    return lg_answer_wrong(MHD_HTTP_BAD_REQUEST, "There is no such study.",
                           "Ask for faults, simulate, identify, locate, compare or packet.");
  const char *const lacks = missing(verb, request);
  if (lacks != NULL)
    return lg_answer_wrong(MHD_HTTP_BAD_REQUEST, "The request does not say enough.", lacks);
  g_autoptr(Run) run = run_new(runs, verb, request);
  g_mutex_lock(&runs->lock);
  const gboolean room = make_room(runs);
  if (room) {
    run->id = ++runs->last_id;
    g_atomic_ref_count_inc(&run->uses);
    g_ptr_array_add(runs->all, run);
    g_atomic_ref_count_inc(&run->uses);
    g_thread_pool_push(runs->threads, run, NULL);
  }
  g_mutex_unlock(&runs->lock);
  if (!room)
    return lg_answer_wrong(MHD_HTTP_TOO_MANY_REQUESTS, "Many studies are under way already.",
                           "Wait for one, or stop one.");
  return lg_answer_value(json_pack("{s:i}", "run", (int)run->id));
}

static json_t *files_json(const Run *run)
{
  json_t *const list = json_array();
  for (guint i = 0; run->files != NULL && run->files[i] != NULL; i++)
    json_array_append_new(list, json_string(run->files[i]));
  return list;
}

/* The report is put in as it is: reading and writing it again would change its numbers. */
LgAnswer *lg_serve_run(Server *server, const LgRequest *request)
{
  g_autoptr(Run) run = find_run(server->runs, request->words[1]);
  if (run == NULL)
    return lg_answer_not_found();
  g_mutex_lock(&server->runs->lock);
  json_t *const value = brief(run);
  json_object_set_new(value, "files", files_json(run));
  json_object_set_new(value, "records",
                      run->records != NULL ? json_string(run->records) : json_null());
  g_autofree char *report = g_strdup(run->report != NULL ? run->report : "null");
  g_mutex_unlock(&server->runs->lock);
  char *const head = json_dumps(value, JSON_COMPACT);
  json_decref(value);
  head[strlen(head) - 1] = '\0';
  LgAnswer *const answer = lg_answer_json(g_strdup_printf("%s, \"report\": %s}", head, report));
  free(head);
  return answer;
}

LgAnswer *lg_serve_run_end(Server *server, const LgRequest *request)
{
  LgRuns *const runs = server->runs;
  g_autoptr(Run) run = find_run(runs, request->words[1]);
  if (run == NULL)
    return lg_answer_not_found();
  g_atomic_int_set(&run->stopping, 1);
  g_mutex_lock(&runs->lock);
  const gboolean done = run->done;
  if (done)
    g_ptr_array_remove(runs->all, run);
  g_mutex_unlock(&runs->lock);
  lg_news_tell(server->news);
  return lg_answer_value(json_pack("{s:b}", "forgotten", done));
}

static const char *mime_of(const char *name)
{
  static const char *const types[][2] = {{".svg", "image/svg+xml"},
                                         {".png", "image/png"},
                                         {".pdf", "application/pdf"},
                                         {".csv", "text/csv; charset=utf-8"}};
  for (guint i = 0; i < G_N_ELEMENTS(types); i++)
    if (g_str_has_suffix(name, types[i][0]))
      return types[i][1];
  return "application/octet-stream";
}

/* The name is looked for among those that the run wrote; it never becomes a path by itself. */
LgAnswer *lg_serve_run_file(Server *server, const LgRequest *request)
{
  g_autoptr(Run) run = find_run(server->runs, request->words[1]);
  if (run == NULL)
    return lg_answer_not_found();
  g_mutex_lock(&server->runs->lock);
  const char *name = NULL;
  for (guint i = 0; run->done && run->files[i] != NULL && name == NULL; i++)
    if (strcmp(run->files[i], request->words[3]) == 0)
      name = run->files[i];
  g_mutex_unlock(&server->runs->lock);
  if (name == NULL)
    return lg_answer_not_found();
  g_autofree char *path = g_build_filename(run->folder, name, NULL);
  char *content;
  gsize length;
  g_autoptr(GError) error = NULL;
  if (!g_file_get_contents(path, &content, &length, &error))
    return lg_answer_wrong(MHD_HTTP_GONE, "The file is there no more.", "Run the study again.");
  const char *const mime = mime_of(name);
  LgAnswer *const answer = lg_answer_bytes(mime, g_bytes_new_take(content, length));
  /* The write-up is for handing on: its scripts are not the page's. */
  if (strcmp(mime, "application/octet-stream") == 0)
    lg_answer_with(answer, MHD_HTTP_HEADER_CONTENT_DISPOSITION,
                   g_strdup_printf("attachment; filename=\"%s\"", name));
  return answer;
}
