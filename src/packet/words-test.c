/* The packet in an invented language: every English text with its plain vowels doubled and
 * accented, which lengthens it by some 40 %. Whatever keeps a plain vowel was never looked up; and
 * with texts that long no drawing may overlap or leave its paper. */
#include "base/words.h"
#include "drawing/board.h"
#include "drawing/drawing-testing.h"
#include "drawing/face.h"
#include "drawing/flow.h"
#include "drawing/paper.h"
#include "drawing/route.h"
#include "packet/packet.h"
#include "studies/checks.h"
#include <glib/gstdio.h>
#include <jansson.h>

static const char *const examples[] = {"library-van-seat.job", "co-op-flatbed.job"};

/* Directives, {names} and escapes stay as they are. */
static void write_strange(GString *out, const char *text)
{
  static const char plain[] = "aeiouAEIOU";
  static const char *const strange[] = {"\303\240", "\303\251", "\303\256", "\303\266", "\303\274",
                                        "\303\200", "\303\211", "\303\216", "\303\226", "\303\234"};
  for (const char *p = text; *p != '\0'; p++) {
    const char *const vowel = strchr(plain, *p);
    if (*p == '%') {
      const gsize span = strspn(p + 1, "0123456789.$*+-#lhz") + 2;
      g_string_append_len(out, p, (gssize)MIN(span, strlen(p)));
      p += MIN(span, strlen(p)) - 1;
    } else if (*p == '{' && strchr(p, '}') != NULL) {
      const char *const end = strchr(p, '}');
      g_string_append_len(out, p, end - p);
      p = end - 1;
    } else if (*p == '\\') {
      g_string_append_len(out, p++, 2);
    } else if (vowel != NULL) {
      g_string_append(out, strange[vowel - plain]);
      g_string_append(out, strange[vowel - plain]);
    } else {
      g_string_append_c(out, *p);
    }
  }
}

/* A translation made from the table of English texts. */
static LgWords *strange_words(void)
{
  g_autofree char *path =
      g_build_filename(g_getenv("LG_SOURCE_ROOT"), "words", "loomgraft.pot", NULL);
  g_autofree char *pot = NULL;
  g_assert_true(g_file_get_contents(path, &pot, NULL, NULL));
  g_auto(GStrv) lines = g_strsplit(pot, "\n", -1);
  g_autoptr(GString) po = g_string_new(NULL), english = g_string_new(NULL);
  for (int i = 0; lines[i] != NULL; i++) {
    if (g_str_has_prefix(lines[i], "msgid \"")) {
      g_string_assign(english, lines[i] + strlen("msgid "));
    } else if (lines[i][0] == '"') {
      g_string_append_printf(english, "\n%s", lines[i]);
    } else if (g_str_has_prefix(lines[i], "msgstr ") && strcmp(english->str, "\"\"") != 0) {
      g_string_append_printf(po, "msgid %s\nmsgstr ", english->str);
      write_strange(po, english->str);
      g_string_append(po, "\n\n");
    }
  }
  g_autoptr(GBytes) bytes = g_bytes_new(po->str, po->len);
  g_autoptr(GError) error = NULL;
  LgWords *const words = lg_words_read("strange", bytes, &error);
  g_assert_no_error(error);
  return words;
}

/* Keeps, or finds, each word of at least three letters that has a plain vowel and is no {name}
 * nor the &name; of a sign. */
static void each_plain_word(const char *text, GHashTable *known, gboolean keep, GHashTable *found)
{
  const char *const letters = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";
  for (const char *p = text; *p != '\0';) {
    const gsize length = strspn(p, letters);
    const gboolean bound = p == text || ((p[-1] & 0x80) == 0 && p[-1] != '&');
    if (length >= 3 && bound && (p[length] & 0x80) == 0 && p[length] != '}') {
      g_autofree char *raw = g_strndup(p, length);
      char *const word = g_ascii_strdown(raw, -1);
      if (keep)
        g_hash_table_add(known, word);
      else if (strpbrk(word, "aeiou") != NULL && !g_hash_table_contains(known, word))
        g_hash_table_add(found, word);
      else
        g_free(word);
    }
    p += MAX(length, 1);
  }
}

static void learn_file(GHashTable *known, const char *folder, const char *name)
{
  g_autofree char *path = g_build_filename(g_getenv("LG_SOURCE_ROOT"), folder, name, NULL);
  g_autofree char *text = NULL;
  g_assert_true(g_file_get_contents(path, &text, NULL, NULL));
  each_plain_word(text, known, TRUE, NULL);
}

/* What is nobody's English: the sheet's own words, the catalogue's, names of rules, units. */
static GHashTable *own_words(const char *example)
{
  GHashTable *const known = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  g_autofree char *data = g_build_filename(g_getenv("LG_SOURCE_ROOT"), "data", NULL);
  g_autoptr(GDir) dir = g_dir_open(data, 0, NULL);
  for (const char *name; (name = g_dir_read_name(dir)) != NULL;)
    if (g_str_has_suffix(name, ".job"))
      learn_file(known, "data", name);
  learn_file(known, "examples", example);
  for (int i = 0; lg_rules[i] != NULL; i++)
    each_plain_word(lg_rules[i]->name, known, TRUE, NULL);
  each_plain_word("loomgraft degC degF ohm mohm kohm iec iso", known, TRUE, NULL);
  return known;
}

static void assert_none(GHashTable *found, const char *where)
{
  GHashTableIter iter;
  gpointer word;
  g_hash_table_iter_init(&iter, found);
  while (g_hash_table_iter_next(&iter, &word, NULL))
    g_test_message("%s: plain \"%s\"", where, (const char *)word);
  g_assert_cmpuint(g_hash_table_size(found), ==, 0);
}

/* Takes the sheets. The board's overview lays the numbers of its tiles over the harness. */
static void look_at(GPtrArray *sheets, gboolean apart, GHashTable *known, GHashTable *found)
{
  for (guint s = 0; s < sheets->len; s++) {
    const LgDrawing *const drawing = sheets->pdata[s];
    if (apart)
      test_nothing_overlaps(drawing);
    for (guint i = 0; i < drawing->shapes->len; i++) {
      const LgShape *const shape = &g_array_index(drawing->shapes, LgShape, i);
      if (shape->kind == LG_SHAPE_TEXT)
        each_plain_word(shape->text, known, FALSE, found);
    }
  }
  g_ptr_array_unref(sheets);
}

static void draws_all(gconstpointer example)
{
  g_autoptr(LgWords) words = strange_words();
  TestJob test;
  test_job_open(&test, example);
  g_autoptr(GError) refused = NULL;
  g_autoptr(LgSizing) sizing = lg_sizing_new(test.job, &refused);
  g_assert_no_error(refused);
  g_autoptr(GHashTable) known = own_words(example);
  g_autoptr(GHashTable) found = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  {
    g_auto(LgSpeaking) speaking = lg_words_use(words);
    const gboolean letter = test.job->letter_paper;
    const double wide = lg_paper_long_mm(letter), high = lg_paper_short_mm(letter);
    const LgFlowOptions flow = {
        .width_mm = wide, .height_mm = high, .chosen = (const LgConductor *const *)sizing->chosen};
    look_at(lg_flow_new(test.job, &flow), TRUE, known, found);
    look_at(lg_faces_new(test.job, high - 20, flow.chosen), TRUE, known, found);
    g_autoptr(LgRoute) route = lg_route_new(sizing);
    look_at(lg_route_draw(route, wide, high), TRUE, known, found);
    look_at(lg_openings_draw(route, wide, high), TRUE, known, found);
    LgBoard *const board = lg_board_new(route, wide, high);
    look_at(lg_board_tiles(board, wide, high), FALSE, known, found);
    lg_board_free(board);
  }
  assert_none(found, example);
  g_clear_pointer(&sizing, lg_sizing_free);
  test_job_clear(&test);
}

static void read_pdf(const char *folder, const char *name, GHashTable *known, GHashTable *found)
{
  g_autofree char *pdf = g_build_filename(folder, name, NULL);
  g_autofree char *text = NULL;
  const char *const argv[] = {"pdftotext", "-layout", "-enc", "UTF-8", pdf, "-", NULL};
  g_assert_true(g_spawn_sync(NULL, (char **)argv, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, &text,
                             NULL, NULL, NULL));
  g_assert_cmpuint(strlen(text), >, 500);
  each_plain_word(text, known, FALSE, found);
}

/* What a reader without eyes is told, too. */
static void read_tag(const char *tag, GHashTable *known, GHashTable *found)
{
  g_autoptr(GRegex) told =
      g_regex_new(" (?:aria-label|alt|data-title|title|placeholder)=\"([^\"]*)\"", 0, 0, NULL);
  g_autoptr(GMatchInfo) match = NULL;
  for (g_regex_match(told, tag, 0, &match); g_match_info_matches(match);
       g_match_info_next(match, NULL)) {
    g_autofree char *text = g_match_info_fetch(match, 1);
    each_plain_word(text, known, FALSE, found);
  }
}

/* The texts that the page's script is handed. */
static void read_json(json_t *json, GHashTable *known, GHashTable *found)
{
  const char *key;
  json_t *value;
  size_t i;
  if (json_is_string(json))
    each_plain_word(json_string_value(json), known, FALSE, found);
  json_array_foreach(json, i, value) read_json(value, known, found);
  json_object_foreach(json, key, value) read_json(value, known, found);
}

/* The body alone: a style or script is no text. {names} are filled in by the script. */
static void read_html(const char *folder, const char *name, GHashTable *known, GHashTable *found)
{
  g_autofree char *path = g_build_filename(folder, name, NULL);
  g_autofree char *html = NULL;
  g_assert_true(g_file_get_contents(path, &html, NULL, NULL));
  g_assert_nonnull(strstr(html, "<html lang=\"strange\">"));
  const char *const data = "<script type=\"application/json\" id=\"job\">";
  const char *at = strstr(html, "<body>");
  while (*at != '\0') {
    const gsize n_text = strcspn(at, "<");
    g_autofree char *text = g_strndup(at, n_text);
    each_plain_word(text, known, FALSE, found);
    at += n_text;
    g_autofree char *tag = g_strndup(at, strcspn(at, ">"));
    read_tag(tag, known, found);
    if (g_str_has_prefix(at, data)) {
      json_t *const job = json_loads(at + strlen(data), JSON_DISABLE_EOF_CHECK, NULL);
      read_json(job, known, found);
      json_decref(job);
    }
    at = g_str_has_prefix(at, "<script") ? strstr(at, "</script>") : at + strlen(tag);
    at += *at == '>';
  }
}

static void prints_all(gconstpointer example)
{
  g_autofree char *there = g_find_program_in_path("pdftotext");
  if (there == NULL) {
    g_test_skip("pdftotext is not installed");
    return;
  }
  g_autoptr(LgWords) words = strange_words();
  TestJob test;
  test_job_open(&test, example);
  g_autoptr(GError) refused = NULL;
  g_autoptr(LgSizing) sizing = lg_sizing_new(test.job, &refused);
  g_assert_no_error(refused);
  g_autoptr(GHashTable) known = own_words(example);
  g_autoptr(GHashTable) found = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  g_autofree char *folder = g_dir_make_tmp("words-XXXXXX", NULL);
  g_autoptr(GPtrArray) written = g_ptr_array_new_with_free_func(g_free);
  {
    g_auto(LgSpeaking) speaking = lg_words_use(words);
    g_autoptr(GPtrArray) findings = lg_checks_run(test.job, sizing);
    g_autoptr(GError) error = NULL;
    lg_packet_write(sizing, findings, folder, &(LgPacketOptions){0}, written, &error);
    g_assert_no_error(error);
  }
  read_pdf(folder, "packet.pdf", known, found);
  read_pdf(folder, "guide.pdf", known, found);
  read_html(folder, "write-up.html", known, found);
  for (guint i = 0; i < written->len; i++)
    g_unlink(written->pdata[i]);
  g_rmdir(folder);
  assert_none(found, example);
  g_clear_pointer(&sizing, lg_sizing_free);
  test_job_clear(&test);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  for (gsize i = 0; i < G_N_ELEMENTS(examples); i++) {
    g_autofree char *draws = g_strdup_printf("/words/draws_all/%s", examples[i]);
    g_test_add_data_func(draws, examples[i], draws_all);
    g_autofree char *prints = g_strdup_printf("/words/prints_all/%s", examples[i]);
    g_test_add_data_func(prints, examples[i], prints_all);
  }
  return g_test_run();
}
