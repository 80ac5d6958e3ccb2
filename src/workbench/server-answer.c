/* Answers, and the headers that each of them has. */
#include "workbench/server-private.h"
#include <string.h>

static const char *const always[][2] = {
    {"Content-Security-Policy",
     "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
     "connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri "
     "'none'; "
     "form-action 'self'; frame-ancestors 'none'"},
    {"X-Content-Type-Options", "nosniff"},
    {"Referrer-Policy", "no-referrer"},
    {"Cross-Origin-Opener-Policy", "same-origin"},
    {"Cross-Origin-Resource-Policy", "same-origin"},
};

LgAnswer *lg_answer_bytes(const char *mime, GBytes *bytes)
{
  LgAnswer *const answer = g_new0(LgAnswer, 1);
  answer->status = MHD_HTTP_OK;
  answer->mime = mime;
  answer->body = bytes;
  return answer;
}

LgAnswer *lg_answer_json(char *text)
{
  return lg_answer_bytes("application/json; charset=utf-8", g_bytes_new_take(text, strlen(text)));
}

LgAnswer *lg_answer_value(json_t *value)
{
  char *const text = json_dumps(value, JSON_COMPACT | JSON_ENCODE_ANY);
  json_decref(value);
  LgAnswer *const answer = lg_answer_json(g_strdup(text));
  free(text);
  return answer;
}

LgAnswer *lg_answer_wrong(guint status, const char *wrong, const char *remedy)
{
  g_autofree char *what = g_utf8_make_valid(wrong, -1), *advice = g_utf8_make_valid(remedy, -1);
  LgAnswer *const answer =
      lg_answer_value(json_pack("{s:s, s:s}", "wrong", what, "remedy", advice));
  answer->status = status;
  return answer;
}

static guint status_of(const GError *error)
{
  if (error->domain == LG_STORE_ERROR)
    switch (error->code) {
    case LG_STORE_ERROR_CALL:
      return MHD_HTTP_BAD_REQUEST;
    case LG_STORE_ERROR_SAVE:
      return MHD_HTTP_INTERNAL_SERVER_ERROR;
    default:
      return MHD_HTTP_CONFLICT;
    }
  if (error->domain != LG_ERROR)
    return MHD_HTTP_INTERNAL_SERVER_ERROR;
  switch (error->code) {
  case LG_ERROR_CALL:
    return MHD_HTTP_BAD_REQUEST;
  case LG_ERROR_SHEET:
    return MHD_HTTP_CONFLICT;
  default:
    return MHD_HTTP_INTERNAL_SERVER_ERROR;
  }
}

LgAnswer *lg_answer_error(const GError *error)
{
  const char *const message = error->message;
  const gsize line = strcspn(message, "\n"), half = strcspn(message, ";");
  const gsize end = message[line] != '\0' ? line : half;
  g_autofree char *wrong = g_strndup(message, end);
  g_autofree char *remedy = g_strdup(message[end] != '\0' ? message + end + 1 : "");
  return lg_answer_wrong(status_of(error), wrong, g_strstrip(remedy));
}

LgAnswer *lg_answer_not_found(void)
{
  return lg_answer_wrong(MHD_HTTP_NOT_FOUND, "There is nothing at this address.",
                         "Go back to the page.");
}

LgAnswer *lg_answer_go(const char *where)
{
  LgAnswer *const answer = lg_answer_bytes("text/plain; charset=utf-8", g_bytes_new(NULL, 0));
  answer->status = MHD_HTTP_SEE_OTHER;
  return lg_answer_with(answer, MHD_HTTP_HEADER_LOCATION, g_strdup(where));
}

LgAnswer *lg_answer_with(LgAnswer *answer, const char *header, char *value)
{
  int i = 0;
  while (answer->header[i] != NULL)
    i++;
  g_assert(i < LG_ANSWER_HEADERS);
  answer->header[i] = header;
  answer->value[i] = value;
  return answer;
}

void lg_answer_free(LgAnswer *answer)
{
  if (answer == NULL)
    return;
  for (int i = 0; i < LG_ANSWER_HEADERS; i++)
    g_free(answer->value[i]);
  g_bytes_unref(answer->body);
  g_free(answer);
}

static void drop_bytes(void *bytes)
{
  g_bytes_unref(bytes);
}

static gboolean says(const LgAnswer *answer, const char *header)
{
  for (int i = 0; i < LG_ANSWER_HEADERS && answer->header[i] != NULL; i++)
    if (strcmp(answer->header[i], header) == 0)
      return TRUE;
  return FALSE;
}

enum MHD_Result lg_answer_queue(LgAnswer *answer, struct MHD_Connection *connection)
{
  gsize length;
  const void *const data = g_bytes_get_data(answer->body, &length);
  struct MHD_Response *const response = MHD_create_response_from_buffer_with_free_callback_cls(
      length, (void *)(length == 0 ? "" : data), drop_bytes, g_bytes_ref(answer->body));
  for (guint i = 0; i < G_N_ELEMENTS(always); i++)
    MHD_add_response_header(response, always[i][0], always[i][1]);
  MHD_add_response_header(response, MHD_HTTP_HEADER_CONTENT_TYPE, answer->mime);
  MHD_add_response_header(response, MHD_HTTP_HEADER_CACHE_CONTROL,
                          says(answer, MHD_HTTP_HEADER_ETAG) ? "no-cache" : "no-store");
  for (int i = 0; i < LG_ANSWER_HEADERS && answer->header[i] != NULL; i++)
    MHD_add_response_header(response, answer->header[i], answer->value[i]);
  const enum MHD_Result queued = MHD_queue_response(connection, answer->status, response);
  MHD_destroy_response(response);
  lg_answer_free(answer);
  return queued;
}
