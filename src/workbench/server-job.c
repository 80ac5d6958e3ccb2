/* The sheet: what stands in it, and edits of it. */
#include "workbench/server-private.h"
#include <string.h>

LgAnswer *lg_serve_job(Server *server, const LgRequest *request)
{
  (void)request;
  return lg_answer_json(lg_store_job_json(server->store, lg_live_desk_ready(server->live)));
}

LgAnswer *lg_serve_schema(Server *server, const LgRequest *request)
{
  (void)server, (void)request;
  return lg_answer_json(lg_schema_json());
}

LgAnswer *lg_serve_text(Server *server, const LgRequest *request)
{
  (void)request;
  guint number;
  GBytes *const text = lg_store_text(server->store, &number);
  return lg_answer_with(lg_answer_bytes("text/plain; charset=utf-8", text), "X-Edition",
                        g_strdup_printf("%u", number));
}

static LgAnswer *edition_answer(guint number)
{
  return lg_answer_value(json_pack("{s:i}", "edition", (int)number));
}

static LgAnswer *edit_refused(const GError *error, const char *theirs)
{
  LgAnswer *const answer = lg_answer_error(error);
  if (!g_error_matches(error, LG_STORE_ERROR, LG_STORE_ERROR_CONFLICT))
    return answer;
  gsize length;
  const char *const text = g_bytes_get_data(answer->body, &length);
  json_t *const value = json_loadb(text, length, 0, NULL);
  json_object_set_new(value, "theirs", theirs != NULL ? json_string(theirs) : json_null());
  LgAnswer *const whole = lg_answer_value(value);
  whole->status = answer->status;
  lg_answer_free(answer);
  return whole;
}

LgAnswer *lg_serve_edits(Server *server, const LgRequest *request)
{
  const json_t *const edits = json_object_get(request->body, "edits");
  const json_t *const edition = json_object_get(request->body, "edition");
  const char *const what = lg_request_text(request, "what");
  if (!json_is_array(edits) || !json_is_integer(edition) || json_integer_value(edition) < 1 ||
      json_integer_value(edition) > G_MAXINT)
    return lg_answer_wrong(MHD_HTTP_BAD_REQUEST, "The request holds no edits of an edition.",
                           "Send {\"edition\": n, \"what\": \"words\", \"edits\": [...]}.");
  char *const list = json_dumps(edits, JSON_COMPACT);
  guint number;
  g_autofree char *theirs = NULL;
  g_autoptr(GError) error = NULL;
  const gboolean made = lg_store_edit(server->store, (guint)json_integer_value(edition), list,
                                      what != NULL ? what : "an edit", &number, &theirs, &error);
  free(list);
  return made ? edition_answer(number) : edit_refused(error, theirs);
}

LgAnswer *lg_serve_undo(Server *server, const LgRequest *request)
{
  (void)request;
  guint number;
  g_autoptr(GError) error = NULL;
  return lg_store_undo(server->store, &number, &error) ? edition_answer(number)
                                                       : lg_answer_error(error);
}

LgAnswer *lg_serve_redo(Server *server, const LgRequest *request)
{
  (void)request;
  guint number;
  g_autoptr(GError) error = NULL;
  return lg_store_redo(server->store, &number, &error) ? edition_answer(number)
                                                       : lg_answer_error(error);
}

LgAnswer *lg_serve_disk(Server *server, const LgRequest *request)
{
  static const struct {
    const char *word;
    LgStoreTake take;
  } takes[] = {
      {"disk", LG_STORE_TAKE_DISK}, {"mine", LG_STORE_TAKE_MINE}, {"both", LG_STORE_TAKE_BOTH}};
  const char *const word = lg_request_text(request, "take");
  for (guint i = 0; word != NULL && i < G_N_ELEMENTS(takes); i++) {
    if (strcmp(takes[i].word, word) != 0)
      continue;
    guint number;
    g_autoptr(GError) error = NULL;
    return lg_store_take(server->store, takes[i].take, &number, &error) ? edition_answer(number)
                                                                        : lg_answer_error(error);
  }
  return lg_answer_wrong(MHD_HTTP_BAD_REQUEST, "The request does not say what to take.",
                         "Send {\"take\": \"disk\"}, \"mine\" or \"both\".");
}

LgAnswer *lg_serve_problems(Server *server, const LgRequest *request)
{
  const char *const text = lg_request_text(request, "text");
  if (text == NULL)
    return lg_answer_wrong(MHD_HTTP_BAD_REQUEST, "The request holds no text.",
                           "Send {\"text\": \"the whole sheet\"}.");
  return lg_answer_json(lg_store_problems_json(server->store, text, strlen(text)));
}
