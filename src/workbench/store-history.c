#include "workbench/store-private.h"
#include <string.h>

/* `out` gave way to `in` at a byte of the text. Counted: an undo is the same stretch, backwards. */
typedef struct {
  gsize at;
  GBytes *out, *in;
} Stretch;

typedef struct {
  Stretch *stretch;
  gboolean backwards;
  char *what; /* undo and redo only */
} Step;

struct LgHistory {
  GBytes *text;
  GPtrArray *steps; /* Step: number n leads from edition n + 1 to n + 2 */
  GPtrArray *undo, *redo;
};

static void stretch_clear(gpointer data)
{
  Stretch *const stretch = data;
  g_bytes_unref(stretch->out);
  g_bytes_unref(stretch->in);
}

static void step_free(gpointer data)
{
  Step *const step = data;
  g_atomic_rc_box_release_full(step->stretch, stretch_clear);
  g_free(step->what);
  g_free(step);
}

static Step *step_new(Stretch *stretch, gboolean backwards, const char *what)
{
  Step *const step = g_new(Step, 1);
  *step = (Step){g_atomic_rc_box_acquire(stretch), backwards, g_strdup(what)};
  return step;
}

/* Copied, so that the whole text does not stay for the sake of a few bytes. */
static GBytes *part_of(GBytes *text, gsize begin, gsize end)
{
  const char *const data = g_bytes_get_data(text, NULL);
  return g_bytes_new(end > begin ? data + begin : NULL, end - begin);
}

static Stretch *stretch_between(GBytes *old, GBytes *new)
{
  gsize n, m, at = 0, tail = 0;
  const char *const a = g_bytes_get_data(old, &n), *const b = g_bytes_get_data(new, &m);
  while (at < n && at < m && a[at] == b[at])
    at++;
  while (tail < n - at && tail < m - at && a[n - 1 - tail] == b[m - 1 - tail])
    tail++;
  Stretch *const stretch = g_atomic_rc_box_new(Stretch);
  *stretch = (Stretch){at, part_of(old, at, n - tail), part_of(new, at, m - tail)};
  return stretch;
}

static void put_bytes(GByteArray *out, GBytes *bytes)
{
  gsize n;
  const guint8 *const data = g_bytes_get_data(bytes, &n);
  if (n > 0)
    g_byte_array_append(out, data, (guint)n);
}

static GBytes *walk(GBytes *text, const Stretch *stretch, gboolean backwards)
{
  GBytes *const out = backwards ? stretch->in : stretch->out;
  const gsize behind = stretch->at + g_bytes_get_size(out);
  g_autoptr(GBytes) before = g_bytes_new_from_bytes(text, 0, stretch->at);
  g_autoptr(GBytes) after = g_bytes_new_from_bytes(text, behind, g_bytes_get_size(text) - behind);
  GByteArray *const made = g_byte_array_new();
  put_bytes(made, before);
  put_bytes(made, backwards ? stretch->out : stretch->in);
  put_bytes(made, after);
  return g_byte_array_free_to_bytes(made);
}

LgHistory *lg_history_new(GBytes *first)
{
  LgHistory *const history = g_new(LgHistory, 1);
  *history = (LgHistory){.text = g_bytes_ref(first),
                         .steps = g_ptr_array_new_with_free_func(step_free),
                         .undo = g_ptr_array_new_with_free_func(step_free),
                         .redo = g_ptr_array_new_with_free_func(step_free)};
  return history;
}

void lg_history_free(LgHistory *history)
{
  if (history == NULL)
    return;
  g_bytes_unref(history->text);
  g_ptr_array_unref(history->steps);
  g_ptr_array_unref(history->undo);
  g_ptr_array_unref(history->redo);
  g_free(history);
}

guint lg_history_newest(const LgHistory *history)
{
  return history->steps->len + 1;
}

GBytes *lg_history_text(const LgHistory *history)
{
  return history->text;
}

GBytes *lg_history_text_of(const LgHistory *history, guint edition)
{
  if (edition == 0 || edition > lg_history_newest(history))
    return NULL;
  g_autoptr(GBytes) text = g_bytes_ref(history->text);
  for (guint n = history->steps->len; n >= edition; n--) {
    const Step *const step = history->steps->pdata[n - 1];
    GBytes *const before = walk(text, step->stretch, !step->backwards);
    g_bytes_unref(text);
    text = before;
  }
  return g_steal_pointer(&text);
}

static void set_text(LgHistory *history, GBytes *text)
{
  g_bytes_unref(history->text);
  history->text = text;
}

void lg_history_push(LgHistory *history, GBytes *text, const char *what)
{
  Stretch *const stretch = stretch_between(history->text, text);
  g_ptr_array_add(history->steps, step_new(stretch, FALSE, NULL));
  g_ptr_array_add(history->undo, step_new(stretch, FALSE, what));
  g_ptr_array_set_size(history->redo, 0);
  g_atomic_rc_box_release_full(stretch, stretch_clear);
  set_text(history, g_bytes_ref(text));
}

static const Step *top(const LgHistory *history, gboolean redo)
{
  const GPtrArray *const stack = redo ? history->redo : history->undo;
  return stack->len == 0 ? NULL : stack->pdata[stack->len - 1];
}

const char *lg_history_words(const LgHistory *history, gboolean redo)
{
  const Step *const step = top(history, redo);
  return step == NULL ? NULL : step->what;
}

GBytes *lg_history_peek(const LgHistory *history, gboolean redo)
{
  const Step *const step = top(history, redo);
  return step == NULL ? NULL : walk(history->text, step->stretch, !redo);
}

void lg_history_step(LgHistory *history, gboolean redo)
{
  GPtrArray *const from = redo ? history->redo : history->undo;
  GPtrArray *const to = redo ? history->undo : history->redo;
  Step *const step = g_ptr_array_steal_index(from, from->len - 1);
  set_text(history, walk(history->text, step->stretch, !redo));
  g_ptr_array_add(history->steps, step_new(step->stretch, !redo, NULL));
  g_ptr_array_add(to, step);
}
