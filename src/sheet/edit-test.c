#include "sheet/random-sheet.h"
#include "sheet/sheet.h"
#include <errno.h>
#include <glib/gstdio.h>
#include <signal.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

static LgSheet *read_text(const char *text, gboolean catalogue)
{
  g_autoptr(GBytes) bytes = g_bytes_new(text, strlen(text));
  return lg_sheet_read("test.job", bytes, catalogue);
}

static char *text_of(GBytes *bytes)
{
  return g_strndup(g_bytes_get_data(bytes, NULL), g_bytes_get_size(bytes));
}

typedef struct {
  const char *before;
  const char *key, *value;
  const char *after; /* NULL: refused */
} Edit;

/* Each edits the first record. */
static void edits_as_a_person_would(void)
{
  static const Edit cases[] = {
      /* a value in order, and one behind it */
      {"wire W1 A.1 B.1 RD auto  # why\n", "size", "2.5mm2", "wire W1 A.1 B.1 RD 2.5mm2  # why\n"},
      {"element A.x motor 7\n", "second", "8", "element A.x motor 7 8\n"},
      {"element A.x run=4A\n", "what", "motor", "element A.x motor run=4A\n"},
      {"element A.x run=4A\n", "first", "7", "element A.x run=4A first=7\n"},
      /* a key: changed, new, new before text and `when`, gone */
      {"wire W1 A.1 B.1 RD auto length=1m spare=5cm\n", "length", "2m",
       "wire W1 A.1 B.1 RD auto length=2m spare=5cm\n"},
      {"part K1 relay \"seat\"  # c\r\n", "at", "dash", "part K1 relay at=dash \"seat\"  # c\r\n"},
      {"reading M1 A.1 A.2 when KEY=off\n", "volts", "12V",
       "reading M1 A.1 A.2 volts=12V when KEY=off\n"},
      {"part K1 relay at=dash \"seat\"\n", "at", NULL, "part K1 relay \"seat\"\n"},
      {"part K1 relay \"seat\"\n", "at", NULL, "part K1 relay \"seat\"\n"},
      /* continuation lines and their comments */
      {"part K1 relay\n  at=dash\n  is=host\nplace x\n", "at", NULL,
       "part K1 relay\n  is=host\nplace x\n"},
      {"part K1 relay\n  at=dash # here\n  is=host\n", "at", NULL,
       "part K1 relay\n  # here\n  is=host\n"},
      {"part K1 relay\n  at=dash is=host\n", "at", NULL, "part K1 relay\n  is=host\n"},
      {"part K1 relay\n  at=dash", "at", NULL, "part K1 relay\n"},
      {"part K1 relay\n  at=dash # here\n", "is", "host",
       "part K1 relay\n  at=dash is=host # here\n"},
      /* texts get their quotes, names and titles too */
      {"part K1 relay\n", "text", "the \"left\" one", "part K1 relay \"the \\\"left\\\" one\"\n"},
      {"part K1 relay \"old\"\n", "text", "\"new\"", "part K1 relay \"new\"\n"},
      {"part K1 relay \"old\"\n", "text", NULL, "part K1 relay\n"},
      {"part K1 relay\n", "buy", "any shop", "part K1 relay buy=\"any shop\"\n"},
      {"part K1 relay\n", "name", "K2", "part K2 relay\n"},
      {"job \"old\"\n", "name", "new", "job \"new\"\n"},
      /* refused */
      {"wire W1 A.1 B.1 RD auto\n", "size", "6mm", NULL},
      {"wire W1 A.1 B.1 RD auto\n", "size", NULL, NULL},
      {"wire W1 A.1 B.1 RD auto\n", "length", "1m spare=2m", NULL},
      {"wire W1 A.1 B.1 RD auto\n", "length", "1m\n spare=2m", NULL},
      {"wire W1 A.1 B.1 RD auto\n", "length", "1m # not", NULL},
      {"wire W1 A.1 B.1 RD auto\n", "length", "", NULL},
      {"wire W1 A.1 B.1 RD auto\n", "lenght", "1m", NULL},
      {"wire W1 A.1 B.1 RD auto\n", "name", NULL, NULL},
      {"wire W1 A.1 B.1 RD auto\nwire W2 A.1 B.1 RD auto\n", "name", "W2", NULL},
      {"element A.x motor 7 8\n", "first", NULL, NULL},
      {"need \"a\" A.x current<1A\n", "text", "not welcome", NULL},
  };
  for (gsize i = 0; i < G_N_ELEMENTS(cases); i++) {
    const Edit *const c = &cases[i];
    g_autoptr(LgSheet) sheet = read_text(c->before, FALSE);
    g_autoptr(GError) error = NULL;
    g_assert_cmpuint(lg_sheet_problems(sheet)->len, ==, 0);
    g_autoptr(GBytes) bytes = lg_sheet_set(sheet, 0, c->key, c->value, &error);
    g_autofree char *after = bytes == NULL ? NULL : text_of(bytes);
    g_assert_cmpstr(after, ==, c->after);
    g_assert_true((error != NULL) == (c->after == NULL));
  }
}

static void refusals_say_why(void)
{
  g_autoptr(LgSheet) sheet = read_text("wire W1 A.1 B.1 RD auto\n", FALSE);
  g_autoptr(GError) error = NULL;
  g_assert_null(lg_sheet_set(sheet, 0, "size", "6mm", &error));
  g_assert_error(error, G_IO_ERROR, G_IO_ERROR_INVALID_ARGUMENT);
  g_assert_nonnull(strstr(error->message, "outside diameter"));
}

static void sets_many_at_once(void)
{
  g_autoptr(LgSheet) sheet =
      read_text("# top\nwire W1 A.1 B.1 RD auto # a\n\nwire W2 A.2 B.2 RD auto\n"
                "place x\nwire W3 A.3 B.3 RD auto",
                FALSE);
  static const LgSetting settings[] = {{3, "size", "1mm2"}, {0, "size", "14AWG"},
                                       {0, "length", "1m"}, {0, "length", "1500mm"},
                                       {2, "wet", "yes"},   {3, "colour", "BU"}};
  g_autoptr(GError) error = NULL;
  g_autoptr(GBytes) bytes = lg_sheet_set_all(sheet, settings, G_N_ELEMENTS(settings), &error);
  g_assert_no_error(error);
  g_autofree char *after = text_of(bytes);
  g_assert_cmpstr(after, ==,
                  "# top\nwire W1 A.1 B.1 RD 14AWG length=1500mm # a\n\nwire W2 A.2 B.2 RD auto\n"
                  "place x wet=yes\nwire W3 A.3 B.3 BU 1mm2");
}

static void appends_to_nothing(void)
{
  g_autoptr(GError) error = NULL;
  g_autoptr(LgSheet) sheet = read_text("", FALSE);
  g_autoptr(GBytes) added = lg_sheet_append(sheet, "place a", &error);
  g_assert_no_error(error);
  g_autofree char *text = text_of(added);
  g_assert_cmpstr(text, ==, "place a\n");
}

static void appends_before_the_variants(void)
{
  g_autoptr(GError) error = NULL;
  g_autoptr(LgSheet) sheet = read_text("place a\n\n# another way\nvariant v\nplace b\n", FALSE);
  g_autoptr(GBytes) added = lg_sheet_append(sheet, "place b", &error);
  g_assert_no_error(error);
  g_autofree char *with = text_of(added);
  g_assert_cmpstr(with, ==, "place a\n\nplace b\n# another way\nvariant v\nplace b\n");
  g_assert_null(lg_sheet_append(sheet, "place a", &error));
  g_clear_error(&error);
  g_autoptr(GBytes) last = lg_sheet_append(sheet, "variant w", &error);
  g_autofree char *two = text_of(last);
  g_assert_cmpstr(two, ==, "place a\n\n# another way\nvariant v\nplace b\nvariant w\n");
}

static void removes_and_appends(void)
{
  g_autoptr(LgSheet) sheet =
      read_text("\357\273\277# top\r\nplace a\r\n  wet=yes\r\n# mid\r\nplace b", FALSE);
  g_autoptr(GBytes) removed = lg_sheet_remove(sheet, 0);
  g_autofree char *without = text_of(removed);
  g_assert_cmpstr(without, ==, "\357\273\277# top\r\n# mid\r\nplace b");
  g_autoptr(GError) error = NULL;
  g_autoptr(GBytes) added = lg_sheet_append(sheet, "place c\n  wet=yes", &error);
  g_assert_no_error(error);
  g_autofree char *with = text_of(added);
  g_assert_cmpstr(
      with, ==,
      "\357\273\277# top\r\nplace a\r\n  wet=yes\r\n# mid\r\nplace b\r\nplace c\r\n  wet=yes\r\n");
  static const char *const bad[] = {"",         "# only this", "place b",
                                    " wet=yes", "plac c",      "conductor 1mm2"};
  for (gsize i = 0; i < G_N_ELEMENTS(bad); i++) {
    g_clear_error(&error);
    g_assert_null(lg_sheet_append(sheet, bad[i], &error));
    g_assert_nonnull(error);
  }
}

/* The values of a record but for one field, as text. */
static char *dump_but(const LgRecord *record, int field)
{
  GString *const out = g_string_new(lg_kinds[record->kind].word);
  g_string_append_printf(out, " %s %s", record->name, record->text);
  for (int i = 0; i < record->n_values; i++)
    if (record->fields[i] != field || field < 0)
      g_string_append_printf(out, " %d:%s", record->fields[i], record->values[i].text);
  return g_string_free(out, FALSE);
}

static void check_others(const LgSheet *before, const LgSheet *after, guint edited, int field)
{
  g_assert_cmpuint(lg_sheet_problems(after)->len, ==, 0);
  g_assert_cmpuint(lg_sheet_n_records(after), ==, lg_sheet_n_records(before));
  for (guint i = 0; i < lg_sheet_n_records(before); i++) {
    const int but = i == edited ? field : -2;
    g_autofree char *a = dump_but(lg_sheet_record(before, i), but);
    g_autofree char *b = dump_but(lg_sheet_record(after, i), but);
    g_assert_cmpstr(a, ==, b);
  }
}

/* Bytes outside the record are the same, whatever is set in whatever sheet. */
static void check_bytes(const LgSheet *before, const LgSheet *after, guint edited)
{
  const LgRecord *const a = lg_sheet_record(before, edited), *const b =
                                                                 lg_sheet_record(after, edited);
  gsize n, m;
  GBytes *const old = lg_sheet_bytes(before), *const new = lg_sheet_bytes(after);
  const char *const p = g_bytes_get_data(old, &n), *const q = g_bytes_get_data(new, &m);
  g_assert_cmpuint(a->begin, ==, b->begin);
  g_assert_true(memcmp(p, q, a->begin) == 0);
  /* A comment line that loses the last line of its record is behind the record then. */
  const gsize behind = n - a->end;
  g_assert_cmpuint(b->end, <=, m - behind);
  g_assert_true(memcmp(p + a->end, q + m - behind, behind) == 0);
}

static void random_edits_touch_one_value_only(void)
{
  int done = 0;
  for (int i = 0; i < 1500; i++) {
    g_autofree char *text = lg_random_sheet(8, TRUE);
    g_autoptr(LgSheet) sheet = read_text(text, TRUE);
    const guint edited = (guint)g_test_rand_int_range(0, (gint32)lg_sheet_n_records(sheet));
    const LgRecord *const record = lg_sheet_record(sheet, edited);
    const int field = g_test_rand_int_range(0, lg_n_fields(record->kind));
    const LgField *const f = &lg_kinds[record->kind].fields[field];
    g_autofree char *value =
        g_test_rand_int_range(0, 3) == 0 ? NULL : lg_random_value(record->kind, f, 77);
    g_autoptr(GError) error = NULL;
    g_autoptr(GBytes) bytes = lg_sheet_set(sheet, edited, f->key, value, &error);
    if (bytes == NULL) {
      g_assert_null(value); /* only taking out may be refused */
      g_assert_nonnull(error);
      continue;
    }
    g_autoptr(LgSheet) after = lg_sheet_read("test.job", bytes, TRUE);
    check_others(sheet, after, edited, field);
    check_bytes(sheet, after, edited);
    const LgValue *const now = lg_record_value(lg_sheet_record(after, edited), field);
    g_assert_true((now != NULL) == (value != NULL));
    if (now != NULL && f->type != LG_VALUE_TEXT)
      g_assert_cmpstr(now->text, ==, value);
    done++;
  }
  g_assert_cmpint(done, >, 700);
}

typedef struct {
  char *folder, *path;
} Saved;

static void save_set_up(Saved *s, gconstpointer data)
{
  (void)data;
  s->folder = g_dir_make_tmp("loomgraft-save-XXXXXX", NULL);
  s->path = g_build_filename(s->folder, "a.job", NULL);
  g_assert_true(g_file_set_contents(s->path, "old\n", -1, NULL));
}

/* Nothing but the file itself may be there at the end. */
static void save_tear_down(Saved *s, gconstpointer data)
{
  (void)data;
  g_unlink(s->path);
  g_autofree char *link = g_build_filename(s->folder, "link.job", NULL);
  g_unlink(link);
  g_assert_cmpint(g_rmdir(s->folder), ==, 0);
  g_free(s->path);
  g_free(s->folder);
}

static gboolean save(const char *path, const char *text, GError **error)
{
  g_autoptr(GBytes) bytes = g_bytes_new(text, strlen(text));
  return lg_save(path, bytes, error);
}

static void assert_content(const char *path, const char *expected)
{
  g_autofree char *text = NULL;
  g_assert_true(g_file_get_contents(path, &text, NULL, NULL));
  g_assert_cmpstr(text, ==, expected);
}

static void saves_and_keeps_permissions(Saved *s, gconstpointer data)
{
  (void)data;
  struct stat about;
  g_autoptr(GError) error = NULL;
  g_assert_cmpint(g_chmod(s->path, 0640), ==, 0);
  g_assert_true(save(s->path, "new\n", &error));
  assert_content(s->path, "new\n");
  g_assert_cmpint(g_stat(s->path, &about), ==, 0);
  g_assert_cmpint(about.st_mode & 07777, ==, 0640);
  g_assert_true(save(s->path, "", &error));
  assert_content(s->path, "");
}

static void saves_behind_a_link(Saved *s, gconstpointer data)
{
  (void)data;
  g_autofree char *link = g_build_filename(s->folder, "link.job", NULL);
  g_assert_cmpint(symlink("a.job", link), ==, 0);
  g_assert_true(save(link, "new\n", NULL));
  g_assert_true(g_file_test(link, G_FILE_TEST_IS_SYMLINK));
  assert_content(s->path, "new\n");
}

/* The disk is full after 20 bytes: the old file stays whole, and no other is left beside it. */
static void failed_save_leaves_the_old_file(Saved *s, gconstpointer data)
{
  (void)data;
  struct rlimit before;
  g_autoptr(GError) error = NULL;
  getrlimit(RLIMIT_FSIZE, &before);
  signal(SIGXFSZ, SIG_IGN);
  const struct rlimit small = {20, before.rlim_max};
  setrlimit(RLIMIT_FSIZE, &small);
  g_autofree char *text = g_strnfill(10000, 'x');
  const gboolean saved = save(s->path, text, &error);
  setrlimit(RLIMIT_FSIZE, &before);
  signal(SIGXFSZ, SIG_DFL);
  g_assert_false(saved);
  g_assert_nonnull(strstr(error->message, "as it was"));
  assert_content(s->path, "old\n");
}

static void refuses_odd_places(Saved *s, gconstpointer data)
{
  (void)data;
  static const char *const odd[] = {"/dev/null", "/nowhere/at/all.job"};
  for (gsize i = 0; i < G_N_ELEMENTS(odd); i++) {
    g_autoptr(GError) error = NULL;
    g_assert_false(save(odd[i], "new\n", &error));
    g_assert_cmpuint(error->domain, ==, G_FILE_ERROR);
  }
  g_autoptr(GError) error = NULL;
  g_assert_false(save(s->folder, "new\n", &error));
  g_assert_error(error, G_FILE_ERROR, G_FILE_ERROR_ISDIR);
}

#define ADD_SAVE(name, function)                                                                   \
  g_test_add("/save/" name, Saved, NULL, save_set_up, function, save_tear_down)

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/edit/as-a-person-would", edits_as_a_person_would);
  g_test_add_func("/edit/refusals-say-why", refusals_say_why);
  g_test_add_func("/edit/sets-many-at-once", sets_many_at_once);
  g_test_add_func("/edit/removes-and-appends", removes_and_appends);
  g_test_add_func("/edit/appends-to-nothing", appends_to_nothing);
  g_test_add_func("/edit/appends-before-the-variants", appends_before_the_variants);
  g_test_add_func("/edit/random-edits-touch-one-value-only", random_edits_touch_one_value_only);
  ADD_SAVE("keeps-permissions", saves_and_keeps_permissions);
  ADD_SAVE("behind-a-link", saves_behind_a_link);
  ADD_SAVE("failed-leaves-the-old-file", failed_save_leaves_the_old_file);
  ADD_SAVE("refuses-odd-places", refuses_odd_places);
  return g_test_run();
}
