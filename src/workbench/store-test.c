#include "workbench/store-private.h"
#include <errno.h>
#include <glib/gstdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/* A folder with one sheet in it, opened. */
typedef struct {
  char *folder, *path;
  LgStore *store;
} Bench;

static GBytes *bytes_of(const char *text)
{
  return g_bytes_new(text, strlen(text));
}

static char *text_of(GBytes *bytes)
{
  return g_strndup(g_bytes_get_data(bytes, NULL), g_bytes_get_size(bytes));
}

static void write_disk(const Bench *bench, const char *text)
{
  g_assert_true(g_file_set_contents(bench->path, text, -1, NULL));
}

static char *read_disk(const Bench *bench)
{
  char *text = NULL;
  g_file_get_contents(bench->path, &text, NULL, NULL);
  return text;
}

static void bench_open(Bench *bench, const char *text)
{
  bench->folder = g_dir_make_tmp("store-XXXXXX", NULL);
  bench->path = g_build_filename(bench->folder, "seat.job", NULL);
  write_disk(bench, text);
  g_autoptr(GError) error = NULL;
  bench->store = lg_store_open(bench->path, FALSE, &error);
  g_assert_no_error(error);
}

static guint n_files(const Bench *bench)
{
  guint n = 0;
  g_autoptr(GDir) dir = g_dir_open(bench->folder, 0, NULL);
  while (g_dir_read_name(dir) != NULL)
    n++;
  return n;
}

static void remove_folder(const char *folder)
{
  g_autoptr(GDir) dir = g_dir_open(folder, 0, NULL);
  for (const char *name; (name = g_dir_read_name(dir)) != NULL;) {
    g_autofree char *path = g_build_filename(folder, name, NULL);
    g_unlink(path);
  }
  g_rmdir(folder);
}

static void bench_close(Bench *bench)
{
  lg_store_free(bench->store);
  remove_folder(bench->folder);
  g_free(bench->folder);
  g_free(bench->path);
}

/* `edits` with ' for ". */
static gboolean try_edit(const Bench *bench, guint edition, const char *edits, char **theirs,
                         GError **error)
{
  g_autofree char *list = g_strdelimit(g_strdup(edits), "'", '"');
  return lg_store_edit(bench->store, edition, list, "a try", NULL, theirs, error);
}

static void edit(const Bench *bench, guint edition, const char *edits)
{
  g_autoptr(GError) error = NULL;
  try_edit(bench, edition, edits, NULL, &error);
  g_assert_no_error(error);
}

static void assert_newest(const Bench *bench, const char *text)
{
  g_autoptr(GBytes) bytes = lg_store_text(bench->store, NULL);
  g_autofree char *newest = text_of(bytes);
  g_assert_cmpstr(newest, ==, text);
}

static void assert_disk(const Bench *bench, const char *text)
{
  g_autofree char *disk = read_disk(bench);
  g_assert_cmpstr(disk, ==, text);
}

#define ABC "place a\n# on b\nplace b  # why\n\nplace c\n"
#define SET_WET(name)                                                                              \
  "[{'do':'set','record':{'kind':'place','name':'" name "'},'key':'wet','value':'yes'}]"

static void an_edit_is_saved(void)
{
  Bench bench;
  bench_open(&bench, ABC);
  g_assert_cmpuint(lg_store_edition(bench.store), ==, 1);
  edit(&bench, 1, SET_WET("b"));
  g_assert_cmpuint(lg_store_edition(bench.store), ==, 2);
  assert_disk(&bench, "place a\n# on b\nplace b wet=yes  # why\n\nplace c\n");
  g_assert_cmpuint(n_files(&bench), ==, 1);
  bench_close(&bench);
}

static void permissions_and_links_stay(void)
{
  Bench bench;
  bench_open(&bench, ABC);
  lg_store_free(bench.store);
  g_autofree char *link = g_build_filename(bench.folder, "link.job", NULL);
  g_assert_cmpint(symlink("seat.job", link), ==, 0);
  g_assert_cmpint(chmod(bench.path, 0640), ==, 0);
  bench.store = lg_store_open(link, FALSE, NULL);
  edit(&bench, 1, SET_WET("a"));
  struct stat about;
  g_assert_cmpint(stat(bench.path, &about), ==, 0);
  g_assert_cmpint((int)(about.st_mode & 07777), ==, 0640);
  g_assert_true(g_file_test(link, G_FILE_TEST_IS_SYMLINK));
  assert_disk(&bench, "place a wet=yes\n# on b\nplace b  # why\n\nplace c\n");
  bench_close(&bench);
}

static void a_job_is_begun(void)
{
  Bench bench;
  bench_open(&bench, "");
  lg_store_free(bench.store);
  g_unlink(bench.path);
  g_autoptr(GError) error = NULL;
  g_assert_null(lg_store_open(bench.path, FALSE, &error));
  g_assert_error(error, G_FILE_ERROR, G_FILE_ERROR_NOENT);
  g_clear_error(&error);
  bench.store = lg_store_open(bench.path, TRUE, &error);
  g_assert_no_error(error);
  g_autofree char *starter = lg_starter_text("seat");
  assert_disk(&bench, starter);
  g_autofree char *problems = lg_store_problems_json(bench.store, starter, strlen(starter));
  g_assert_nonnull(strstr(problems, "\"problems\": []"));
  bench_close(&bench);
}

/* The tool's own numbers: undo and redo over random edits, against a plain list of texts. */
static void undo_and_redo_at_random(void)
{
  Bench bench;
  bench_open(&bench, "place p0\r\nplace q  # stays\r\n");
  g_autoptr(GPtrArray) texts = g_ptr_array_new_with_free_func(g_free); /* of all editions */
  g_autoptr(GPtrArray) past = g_ptr_array_new_with_free_func(g_free);
  g_autoptr(GPtrArray) future = g_ptr_array_new_with_free_func(g_free);
  char *now = g_strdup("place p0\r\nplace q  # stays\r\n");
  g_ptr_array_add(texts, g_strdup(now));
  int added = 0;
  for (int i = 0; i < 300; i++) {
    const int choice = g_test_rand_int_range(0, 6);
    if (choice <= 1) {
      GPtrArray *const from = choice == 0 ? past : future, *const to = choice == 0 ? future : past;
      const gboolean done = choice == 0 ? lg_store_undo(bench.store, NULL, NULL)
                                        : lg_store_redo(bench.store, NULL, NULL);
      g_assert_true(done == (from->len > 0));
      if (!done)
        continue;
      g_ptr_array_add(to, now);
      now = g_ptr_array_steal_index(from, from->len - 1);
      assert_newest(&bench, now);
    } else {
      g_autofree char *list =
          choice == 2 ? g_strdup_printf("[{'do':'add','text':'place n%d'}]", ++added)
          : choice == 3
              ? g_strdup_printf("[{'do':'set','record':{'index':1},'key':'text','value':'%d'}]", i)
          : choice == 4
              ? g_strdup_printf("[{'do':'replace','record':{'index':0},'text':'place r%d'}]", i)
              : g_strdup_printf("[{'do':'text','text':'place t\\nplace u\\n# %d'}]", i);
      edit(&bench, lg_store_edition(bench.store), list);
      g_ptr_array_add(past, now);
      g_ptr_array_set_size(future, 0);
      g_autoptr(GBytes) text = lg_store_text(bench.store, NULL);
      now = text_of(text);
    }
    g_ptr_array_add(texts, g_strdup(now));
    assert_disk(&bench, now);
  }
  g_assert_cmpuint(lg_store_edition(bench.store), ==, texts->len);
  for (guint e = 1; e <= texts->len; e++) {
    g_autoptr(GBytes) text = lg_store_text_of(bench.store, e);
    g_autofree char *told = text_of(text);
    g_assert_cmpstr(told, ==, texts->pdata[e - 1]);
  }
  g_assert_null(lg_store_text_of(bench.store, 0));
  g_assert_null(lg_store_text_of(bench.store, texts->len + 1));
  g_free(now);
  bench_close(&bench);
}

static void undo_has_words(void)
{
  Bench bench;
  bench_open(&bench, ABC);
  g_autoptr(GError) error = NULL;
  g_assert_false(lg_store_undo(bench.store, NULL, &error));
  g_assert_error(error, LG_STORE_ERROR, LG_STORE_ERROR_NOTHING);
  g_assert_true(lg_store_edit(bench.store, 1, "[{\"do\":\"add\",\"text\":\"place d\"}]",
                              "place d added", NULL, NULL, NULL));
  g_autofree char *told = lg_store_job_json(bench.store, 1);
  g_autoptr(json_t) job = json_loads(told, JSON_REJECT_DUPLICATES, NULL);
  g_assert_cmpint((int)json_integer_value(json_object_get(job, "edition")), ==, 2);
  g_assert_cmpint((int)json_integer_value(json_object_get(job, "ready")), ==, 1);
  g_assert_cmpstr(json_string_value(json_object_get(job, "undo")), ==, "place d added");
  g_assert_true(json_is_null(json_object_get(job, "redo")));
  g_assert_cmpstr(json_string_value(json_object_get(job, "disk")), ==, "same");
  g_assert_cmpstr(json_string_value(json_object_get(job, "file")), ==, "seat.job");
  g_assert_cmpuint(json_array_size(json_object_get(job, "records")), ==, 4);
  bench_close(&bench);
}

typedef struct {
  const char *base, *mine, *theirs;
  const char *merged; /* NULL: both changed the same */
  const char *both;   /* NULL: as merged */
} MergeCase;

static const MergeCase merges[] = {
    /* one side alone, and both alike */
    {ABC, ABC, ABC, ABC, NULL},
    {ABC, "place a\n", ABC, "place a\n", NULL},
    {ABC, ABC, "place a\n", "place a\n", NULL},
    {ABC, "place z\n", "place z\n", "place z\n", NULL},
    /* different records, side by side */
    {"place a\nplace b\n", "place a wet=yes\nplace b\n", "place a\nplace b wet=yes\n",
     "place a wet=yes\nplace b wet=yes\n", NULL},
    {"place a\nplace b\n", "place b\n", "place a\n", "", NULL},
    /* comments and layout, from the side that changed them */
    {ABC, "place a\n# on b, more\nplace b  # why\n\nplace c\n",
     "place a\n# on b\nplace b\n\nplace c\n", "place a\n# on b, more\nplace b\n\nplace c\n", NULL},
    {"# x\nplace a\n\n\nplace b\n", "# x\nplace a\n\nplace b\n",
     "# y\nplace a\n\n\nplace b wet=yes\n", "# y\nplace a\n\nplace b wet=yes\n", NULL},
    {"# x\nplace a\n", "# mine\nplace a\n", "# theirs\nplace a\n", "# theirs\n# mine\nplace a\n",
     NULL},
    /* added at the same place */
    {"place a\n", "place a\nplace m\n", "place a\nplace t\n", "place a\nplace t\nplace m\n", NULL},
    {"place a\n", "place a\n\nplace m\n", "place a\n\nplace m\n", "place a\n\nplace m\n", NULL},
    {"place a\n", "place a\nplace m\n", "place a\nplace m wet=yes\n", NULL,
     "place a\nplace m wet=yes\n# mine: place m\n"},
    {"place a\n", "place a\nplace m\n", "place a\nvariant v\nplace a\n",
     "place a\nplace m\nvariant v\nplace a\n", NULL},
    {"place a\n", "place a\nvariant v\nplace a\n", "place a\nplace t\n",
     "place a\nplace t\nvariant v\nplace a\n", NULL},
    /* the same record */
    {"place a\n", "place a wet=yes\n", "place a wet=no\n", NULL,
     "place a wet=no\n# mine: place a wet=yes\n"},
    {"place a\n wet=yes\n", "place a\n wet=yes\n edge=yes\n", "place a\n", NULL,
     "place a\n# mine: place a\n# mine:  wet=yes\n# mine:  edge=yes\n"},
    /* removed here, changed there */
    {"place a\nplace b\n", "place b\n", "place a wet=yes\nplace b\n", NULL,
     "place a wet=yes\nplace b\n"},
    {"place a\nplace b\n", "place a wet=yes\nplace b\n", "place b\n", NULL,
     "# mine: place a wet=yes\nplace b\n"},
    /* moved here, changed there; moved by both */
    {"place a\nplace b\nplace c\n", "place b\nplace c\nplace a\n",
     "place a wet=yes\nplace b\nplace c\n", "place b\nplace c\nplace a wet=yes\n", NULL},
    {"place a\nplace b\nplace c\n", "place a wet=yes\nplace b\nplace c\n",
     "place b\nplace c\nplace a\n", "place b\nplace c\nplace a wet=yes\n", NULL},
    {"place a\nplace b\nplace c\n", "place b\nplace c\nplace a\n", "place b\nplace a\nplace c\n",
     "place b\nplace a\nplace c\n", NULL},
    /* titles may repeat */
    {"need \"n\" A.x current<1A\nneed \"n\" A.y current<1A\n",
     "need \"n\" A.x current<2A\nneed \"n\" A.y current<1A\n",
     "need \"n\" A.x current<1A\nneed \"n\" A.y current<3A\n",
     "need \"n\" A.x current<2A\nneed \"n\" A.y current<3A\n", NULL},
    /* one name in several variants */
    {"place a\nvariant v\nplace a\nvariant w\nplace a\n",
     "place a\nvariant v\nplace a wet=yes\nvariant w\nplace a\n",
     "place a\nvariant u\nplace a\nvariant v\nplace a\nvariant w\nplace a edge=yes\n",
     "place a\nvariant u\nplace a\nvariant v\nplace a wet=yes\nvariant w\nplace a edge=yes\n",
     NULL},
    /* carriage returns, the mark at the begin, no line end at the end */
    {"place a\r\nplace b\r\n", "place a wet=yes\r\nplace b\r\n",
     "place a\r\nplace b\r\nplace c\r\n", "place a wet=yes\r\nplace b\r\nplace c\r\n", NULL},
    {"place a\r\n", "place a wet=yes\r\n", "place a wet=no\r\n", NULL,
     "place a wet=no\r\n# mine: place a wet=yes\r\n"},
    {"\357\273\277place a\nplace b", "\357\273\277place a\nplace b\nplace m\n",
     "\357\273\277place a wet=yes\nplace b", "\357\273\277place a wet=yes\nplace b\nplace m\n",
     NULL},
    /* a half-typed line there, another record here; the same one */
    {"place a\nplace b\n", "place a\nplace b wet=yes\n", "place a\nwire W\nplace b\n",
     "place a\nwire W\nplace b wet=yes\n", NULL},
    {"place a\nplace b\n", "place a wet=yes\nplace b\n", "place a wet=\nplace b\n", NULL,
     "# mine: place a wet=yes\nplace a wet=\nplace b\n"},
    {"place a\n", "place a\nplace b\n", "", "place b\n", NULL},
};

static char *merge(const char *base, const char *mine, const char *theirs, gboolean both)
{
  g_autoptr(GBytes) b = bytes_of(base), m = bytes_of(mine), t = bytes_of(theirs);
  g_autoptr(GBytes) made = lg_merge(b, m, t, both, NULL);
  return made == NULL ? NULL : text_of(made);
}

static void merges_record_by_record(void)
{
  for (gsize i = 0; i < G_N_ELEMENTS(merges); i++) {
    const MergeCase *const c = &merges[i];
    g_test_message("%s | %s | %s", c->base, c->mine, c->theirs);
    g_autofree char *merged = merge(c->base, c->mine, c->theirs, FALSE);
    g_assert_cmpstr(merged, ==, c->merged);
    g_autofree char *both = merge(c->base, c->mine, c->theirs, TRUE);
    g_assert_cmpstr(both, ==, c->both != NULL ? c->both : c->merged);
  }
}

/* Edits of different records, made one after the other or on both sides and then merged, come to
 * the same records. */
static void merging_is_like_editing_both(void)
{
  for (int round = 0; round < 200; round++) {
    GString *const base = g_string_new(NULL), *const mine = g_string_new(NULL),
                   *const theirs = g_string_new(NULL), *const all = g_string_new(NULL);
    for (int i = 0; i < 30; i++) {
      const int who = g_test_rand_int_range(0, 3), how = g_test_rand_int_range(0, 4);
      g_autofree char *was =
          how == 0 ? g_strdup("") : g_strdup_printf("# on %d\nplace p%d\n", i, i);
      g_autofree char *is =
          how == 1   ? g_strdup("")
          : how == 2 ? g_strdup_printf("# on %d\nplace p%d wet=yes\n", i, i)
                     : g_strdup_printf("# on %d\nplace p%d\nplace q%d  # new\n", i, i, i);
      g_string_append(base, was);
      g_string_append(mine, who == 0 ? is : was);
      g_string_append(theirs, who == 1 ? is : was);
      g_string_append(all, who < 2 ? is : was);
    }
    g_autofree char *merged = merge(base->str, mine->str, theirs->str, FALSE);
    g_assert_nonnull(merged);
    /* Additions of both at one place may stand in either order. */
    g_auto(GStrv) a = g_strsplit(merged, "\n", -1), b = g_strsplit(all->str, "\n", -1);
    g_assert_cmpuint(g_strv_length(a), ==, g_strv_length(b));
    for (char **line = a; *line != NULL; line++)
      g_assert_true(g_strv_contains((const char *const *)b, *line));
    g_string_free(base, TRUE);
    g_string_free(mine, TRUE);
    g_string_free(theirs, TRUE);
    g_string_free(all, TRUE);
  }
}

static void a_foreign_change_is_taken_over(void)
{
  Bench bench;
  bench_open(&bench, ABC);
  write_disk(&bench, ABC "place d\n");
  lg_store_look(bench.store);
  g_assert_cmpuint(lg_store_edition(bench.store), ==, 2);
  g_assert_cmpint(lg_store_disk(bench.store), ==, LG_STORE_SAME);
  /* An edit from before goes on top of it. */
  edit(&bench, 1, SET_WET("c"));
  assert_disk(&bench, "place a\n# on b\nplace b  # why\n\nplace c wet=yes\nplace d\n");
  /* And one that nobody had a look at in between. */
  write_disk(&bench, "place a\nplace b\nplace c wet=yes\n");
  edit(&bench, 3, SET_WET("a"));
  assert_disk(&bench, "place a wet=yes\nplace b\nplace c wet=yes\n");
  /* Undo reaches back over all of it. */
  for (int i = 0; i < 4; i++)
    g_assert_true(lg_store_undo(bench.store, NULL, NULL));
  assert_disk(&bench, ABC);
  bench_close(&bench);
}

static void tell(gpointer user)
{
  g_atomic_int_inc((int *)user);
}

static void the_watch_sees_it(void)
{
  Bench bench;
  int told = 0;
  bench_open(&bench, ABC);
  lg_store_on_change(bench.store, tell, &told);
  g_usleep(300 * 1000); /* until the watch stands */
  write_disk(&bench, ABC "place d\n");
  for (int i = 0; i < 300 && g_atomic_int_get(&told) == 0; i++)
    g_usleep(10 * 1000);
  g_assert_cmpint(g_atomic_int_get(&told), >=, 1);
  assert_newest(&bench, ABC "place d\n");
  bench_close(&bench);
}

static void take(const Bench *bench, LgStoreTake choice)
{
  g_autoptr(GError) error = NULL;
  lg_store_take(bench->store, choice, NULL, &error);
  g_assert_no_error(error);
  g_assert_cmpint(lg_store_disk(bench->store), ==, LG_STORE_SAME);
}

static void a_file_that_is_gone(void)
{
  Bench bench;
  bench_open(&bench, ABC);
  g_unlink(bench.path);
  lg_store_look(bench.store);
  g_assert_cmpint(lg_store_disk(bench.store), ==, LG_STORE_CHANGED);
  edit(&bench, 1, SET_WET("a"));
  g_assert_false(g_file_test(bench.path, G_FILE_TEST_EXISTS));
  g_autoptr(GError) error = NULL;
  g_assert_false(lg_store_take(bench.store, LG_STORE_TAKE_DISK, NULL, &error));
  g_assert_error(error, LG_STORE_ERROR, LG_STORE_ERROR_CALL);
  g_clear_error(&error);
  take(&bench, LG_STORE_TAKE_MINE);
  assert_disk(&bench, "place a wet=yes\n# on b\nplace b  # why\n\nplace c\n");
  g_assert_false(lg_store_take(bench.store, LG_STORE_TAKE_MINE, NULL, &error));
  g_assert_error(error, LG_STORE_ERROR, LG_STORE_ERROR_NOTHING);
  bench_close(&bench);
}

static void a_file_that_is_broken(void)
{
  static const char *const broken[] = {"place a\nwire W\n", "", "\xff\xfe rubbish\n",
                                       "\177ELF\1\1\1", "# only this\n"};
  for (gsize i = 0; i < G_N_ELEMENTS(broken); i++) {
    Bench bench;
    bench_open(&bench, ABC);
    write_disk(&bench, broken[i]);
    lg_store_look(bench.store);
    g_assert_cmpint(lg_store_disk(bench.store), ==, LG_STORE_CHANGED);
    edit(&bench, 1, SET_WET("a"));
    assert_disk(&bench, broken[i]);
    /* Once it is whole again, both go together without a question. */
    if (i == 0) {
      write_disk(&bench, ABC "place d\n");
      lg_store_look(bench.store);
      g_assert_cmpint(lg_store_disk(bench.store), ==, LG_STORE_SAME);
      assert_disk(&bench, "place a wet=yes\n# on b\nplace b  # why\n\nplace c\nplace d\n");
    } else if (i % 2 == 0) {
      take(&bench, LG_STORE_TAKE_DISK);
      assert_disk(&bench, broken[i]);
      assert_newest(&bench, broken[i]);
      g_assert_true(lg_store_undo(bench.store, NULL, NULL));
      assert_disk(&bench, "place a wet=yes\n# on b\nplace b  # why\n\nplace c\n");
    } else {
      take(&bench, LG_STORE_TAKE_MINE);
      assert_disk(&bench, "place a wet=yes\n# on b\nplace b  # why\n\nplace c\n");
      g_assert_true(lg_store_undo(bench.store, NULL, NULL));
      assert_disk(&bench, broken[i]);
    }
    bench_close(&bench);
  }
}

static void both_are_put_together(void)
{
  Bench bench;
  bench_open(&bench, ABC);
  g_unlink(bench.path);
  edit(&bench, 1, SET_WET("a"));
  write_disk(&bench, "place a edge=yes\nplace c\n");
  lg_store_look(bench.store);
  g_assert_cmpint(lg_store_disk(bench.store), ==, LG_STORE_CHANGED);
  take(&bench, LG_STORE_TAKE_BOTH);
  assert_disk(&bench, "place a edge=yes\n# mine: place a wet=yes\nplace c\n");
  g_assert_true(lg_store_undo(bench.store, NULL, NULL));
  assert_disk(&bench, "place a edge=yes\nplace c\n");
  g_assert_true(lg_store_undo(bench.store, NULL, NULL));
  assert_disk(&bench, "place a wet=yes\n# on b\nplace b  # why\n\nplace c\n");
  bench_close(&bench);
}

/* The session ends, in whatever way, while the file is to be asked about: nothing is lost. */
static void unsaved_edits_outlive_the_session(void)
{
  Bench bench;
  bench_open(&bench, ABC);
  write_disk(&bench, "place a edge=yes\n# on b\nplace b  # why\nwire W\nplace c\n");
  edit(&bench, 1, SET_WET("a"));
  edit(&bench, 2, SET_WET("c"));
  g_assert_cmpuint(n_files(&bench), ==, 3);
  lg_store_free(bench.store);
  bench.store = lg_store_open(bench.path, FALSE, NULL);
  g_assert_cmpint(lg_store_disk(bench.store), ==, LG_STORE_CHANGED);
  assert_newest(&bench, "place a wet=yes\n# on b\nplace b  # why\n\nplace c wet=yes\n");
  g_assert_true(lg_store_undo(bench.store, NULL, NULL));
  g_assert_true(lg_store_redo(bench.store, NULL, NULL));
  lg_store_free(bench.store);
  /* Whole again meanwhile: both go together at once. */
  write_disk(&bench, ABC "place d\n");
  bench.store = lg_store_open(bench.path, FALSE, NULL);
  g_assert_cmpint(lg_store_disk(bench.store), ==, LG_STORE_SAME);
  assert_disk(&bench, "place a wet=yes\n# on b\nplace b  # why\n\nplace c wet=yes\nplace d\n");
  g_assert_cmpuint(n_files(&bench), ==, 1);
  /* And when the file is gone. */
  g_unlink(bench.path);
  edit(&bench, lg_store_edition(bench.store), SET_WET("b"));
  lg_store_free(bench.store);
  bench.store = lg_store_open(bench.path, TRUE, NULL);
  g_assert_cmpint(lg_store_disk(bench.store), ==, LG_STORE_CHANGED);
  take(&bench, LG_STORE_TAKE_MINE);
  assert_disk(&bench,
              "place a wet=yes\n# on b\nplace b wet=yes  # why\n\nplace c wet=yes\nplace d\n");
  g_assert_cmpuint(n_files(&bench), ==, 1);
  bench_close(&bench);
}

/* Two pages that both look at edition 1. */
static void two_clients(void)
{
  Bench bench;
  bench_open(&bench, ABC);
  edit(&bench, 1, SET_WET("a"));
  edit(&bench, 1, SET_WET("b"));
  edit(&bench, 1, "[{'do':'remove','record':{'index':2}}]");
  assert_disk(&bench, "place a wet=yes\n# on b\nplace b wet=yes  # why\n\n");
  g_autoptr(GError) error = NULL;
  g_autofree char *theirs = NULL;
  g_assert_false(try_edit(&bench, 1, SET_WET("a"), &theirs, &error));
  g_assert_error(error, LG_STORE_ERROR, LG_STORE_ERROR_CONFLICT);
  g_assert_cmpstr(theirs, ==, "place a wet=yes");
  g_assert_nonnull(strchr(error->message, '\n'));
  g_clear_error(&error);
  g_clear_pointer(&theirs, g_free);
  g_assert_false(try_edit(&bench, 1, SET_WET("c"), &theirs, &error));
  g_assert_error(error, LG_STORE_ERROR, LG_STORE_ERROR_CONFLICT);
  g_assert_null(theirs);
  g_clear_error(&error);
  g_assert_cmpuint(lg_store_edition(bench.store), ==, 4);
  /* The whole text, edited by one who still looks at edition 2: c was taken out since. */
  edit(&bench, 2,
       "[{'do':'text','text':'place a wet=no\\n# on b\\nplace b  # why\\n\\nplace c\\n'}]");
  assert_disk(&bench, "place a wet=no\n# on b\nplace b wet=yes  # why\n\n");
  g_assert_false(try_edit(&bench, 2, "[{'do':'text','text':'place a\\nplace b edge=yes\\n'}]",
                          &theirs, &error));
  g_assert_error(error, LG_STORE_ERROR, LG_STORE_ERROR_CONFLICT);
  g_assert_cmpstr(theirs, ==, "place a wet=no");
  g_clear_error(&error);
  g_assert_false(try_edit(&bench, 99, "[]", NULL, &error));
  g_assert_error(error, LG_STORE_ERROR, LG_STORE_ERROR_CALL);
  g_clear_error(&error);
  g_assert_false(try_edit(&bench, 0, "[]", NULL, &error));
  g_assert_error(error, LG_STORE_ERROR, LG_STORE_ERROR_CALL);
  bench_close(&bench);
}

static void adding_twice_is_adding_once(void)
{
  Bench bench;
  bench_open(&bench, ABC);
  static const char reading[] =
      "[{'do':'add','text':'reading R1 A.1 A.2 volts=12.4V date=2026-11-25'}]";
  edit(&bench, 1, reading);
  edit(&bench, 1, reading);
  edit(&bench, 2, reading);
  g_assert_cmpuint(lg_store_edition(bench.store), ==, 2);
  g_autoptr(GError) error = NULL;
  g_autofree char *theirs = NULL;
  g_assert_false(try_edit(&bench, 1, "[{'do':'add','text':'reading R1 A.1 A.2 volts=12.5V'}]",
                          &theirs, &error));
  g_assert_error(error, LG_STORE_ERROR, LG_STORE_ERROR_CONFLICT);
  g_assert_cmpstr(theirs, ==, "reading R1 A.1 A.2 volts=12.4V date=2026-11-25");
  bench_close(&bench);
}

static void a_save_that_fails_changes_nothing(void)
{
  Bench bench;
  bench_open(&bench, ABC);
  g_assert_cmpint(chmod(bench.path, 0444), ==, 0);
  if (access(bench.path, W_OK) == 0) { /* to root nothing is forbidden: a folder in the way is */
    g_assert_cmpint(chmod(bench.path, 0644), ==, 0);
    g_autofree char *way = g_strdup_printf("%s/.seat.job.%ld.new", bench.folder, (long)getpid());
    g_assert_cmpint(g_mkdir(way, 0755), ==, 0);
  }
  g_autoptr(GError) error = NULL;
  g_assert_false(try_edit(&bench, 1, SET_WET("a"), NULL, &error));
  g_assert_error(error, LG_STORE_ERROR, LG_STORE_ERROR_SAVE);
  g_assert_cmpuint(lg_store_edition(bench.store), ==, 1);
  assert_disk(&bench, ABC);
  g_autofree char *way = g_strdup_printf("%s/.seat.job.%ld.new", bench.folder, (long)getpid());
  g_rmdir(way);
  bench_close(&bench);
}

static void only_left_overs_are_taken_away(void)
{
  Bench bench;
  bench_open(&bench, ABC);
  lg_store_free(bench.store);
  pid_t gone = fork();
  if (gone == 0)
    _exit(0);
  g_assert_cmpint(waitpid(gone, NULL, 0), ==, gone);
  static const char *const kept[] = {"seat.job.BACKUP", ".seat.job.new", ".seat.job.x.new",
                                     ".other.job.1.new"};
  for (gsize i = 0; i < G_N_ELEMENTS(kept); i++) {
    g_autofree char *path = g_build_filename(bench.folder, kept[i], NULL);
    g_assert_true(g_file_set_contents(path, "x", 1, NULL));
  }
  for (int i = 0; i < 2; i++) {
    g_autofree char *path = g_strdup_printf("%s/.seat.job.%ld.new%s", bench.folder, (long)gone,
                                            i == 0 ? "" : ".ABC123");
    g_assert_true(g_file_set_contents(path, "x", 1, NULL));
  }
  bench.store = lg_store_open(bench.path, FALSE, NULL);
  g_assert_cmpuint(n_files(&bench), ==, 1 + G_N_ELEMENTS(kept));
  bench_close(&bench);
}

typedef struct {
  Bench *bench;
  int number;
} Client;

static gpointer add_readings(gpointer data)
{
  const Client *const client = data;
  for (int i = 0; i < 20; i++) {
    g_autofree char *list = g_strdup_printf(
        "[{\"do\":\"add\",\"text\":\"reading R%d-%d A.1 A.2 volts=12V\"}]", client->number, i);
    g_autoptr(GError) error = NULL;
    lg_store_edit(client->bench->store, 1, list, "a reading", NULL, NULL, &error);
    g_assert_no_error(error);
    g_free(lg_store_job_json(client->bench->store, 0));
    g_bytes_unref(lg_store_text(client->bench->store, NULL));
  }
  return NULL;
}

static void many_threads(void)
{
  Bench bench;
  bench_open(&bench, ABC);
  Client clients[4];
  GThread *threads[4];
  for (int i = 0; i < 4; i++) {
    clients[i] = (Client){&bench, i};
    threads[i] = g_thread_new("client", add_readings, &clients[i]);
  }
  for (int i = 0; i < 4; i++)
    g_thread_join(threads[i]);
  g_assert_cmpuint(lg_store_edition(bench.store), ==, 81);
  g_autoptr(GBytes) text = lg_store_text(bench.store, NULL);
  g_autofree char *newest = text_of(text);
  assert_disk(&bench, newest);
  bench_close(&bench);
}

static double cpu_ms(clock_t from)
{
  return 1e3 * (double)(clock() - from) / CLOCKS_PER_SEC;
}

/* Sanitizers and busy machines take their share, so four times as much is the end. */
static void check_time(double ms, double most_ms, const char *what)
{
  g_test_minimized_result(ms, "%s: %.1f ms", what, ms);
  g_assert_cmpfloat(ms, <, 4 * most_ms);
}

/* One value of a sheet of 5,000 records, to a new edition and its JSON. */
static void one_edit_of_many_records(void)
{
  Bench bench;
  GString *const text = g_string_new("job \"many\"\n");
  for (int i = 0; i < 5000; i++)
    g_string_append_printf(text, "place p%d temperature=-20C..60C \"number %d\"\n", i, i);
  bench_open(&bench, text->str);
  g_string_free(text, TRUE);
  double best = 1e9;
  for (guint i = 1; i <= 4; i++) {
    const clock_t begin = clock();
    g_autofree char *list =
        g_strdup_printf("[{'do':'set','record':{'index':%u},'key':'wet','value':'yes'}]", 1000 * i);
    edit(&bench, i, list);
    g_free(lg_store_job_json(bench.store, i));
    best = MIN(best, cpu_ms(begin));
  }
  check_time(best, 100, "one edit of 5,000 records with its JSON");
  const clock_t begin = clock();
  edit(&bench, 1, SET_WET("p77"));
  check_time(cpu_ms(begin), 400, "the same by one who looks at an old edition");
  bench_close(&bench);
}

/* The phone's day under the dash. */
static void a_day_of_readings(void)
{
  Bench bench;
  char *const starter = lg_starter_text("a day");
  bench_open(&bench, starter);
  g_free(starter);
  const clock_t begin = clock();
  for (int i = 0; i < 300; i++) {
    g_autofree char *list =
        g_strdup_printf("[{'do':'add','text':'reading R%d F1.2 XG1.1 "
                        "volts=12.%dV date=2026-11-25 instrument=\\\"meter\\\"'}]",
                        i, i % 10);
    edit(&bench, 1, list);
  }
  check_time(cpu_ms(begin) / 300, 30, "a reading of 300");
  bench_close(&bench);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/store/an-edit-is-saved", an_edit_is_saved);
  g_test_add_func("/store/permissions-and-links-stay", permissions_and_links_stay);
  g_test_add_func("/store/a-job-is-begun", a_job_is_begun);
  g_test_add_func("/store/undo-and-redo-at-random", undo_and_redo_at_random);
  g_test_add_func("/store/undo-has-words", undo_has_words);
  g_test_add_func("/store/merges-record-by-record", merges_record_by_record);
  g_test_add_func("/store/merging-is-like-editing-both", merging_is_like_editing_both);
  g_test_add_func("/store/a-foreign-change-is-taken-over", a_foreign_change_is_taken_over);
  g_test_add_func("/store/the-watch-sees-it", the_watch_sees_it);
  g_test_add_func("/store/a-file-that-is-gone", a_file_that_is_gone);
  g_test_add_func("/store/a-file-that-is-broken", a_file_that_is_broken);
  g_test_add_func("/store/both-are-put-together", both_are_put_together);
  g_test_add_func("/store/unsaved-edits-outlive-the-session", unsaved_edits_outlive_the_session);
  g_test_add_func("/store/two-clients", two_clients);
  g_test_add_func("/store/adding-twice-is-adding-once", adding_twice_is_adding_once);
  g_test_add_func("/store/a-save-that-fails-changes-nothing", a_save_that_fails_changes_nothing);
  g_test_add_func("/store/only-left-overs-are-taken-away", only_left_overs_are_taken_away);
  g_test_add_func("/store/many-threads", many_threads);
  g_test_add_func("/store/one-edit-of-many-records", one_edit_of_many_records);
  g_test_add_func("/store/a-day-of-readings", a_day_of_readings);
  return g_test_run();
}
