/* News: who asks for it sleeps until there is some. */
#include "workbench/server-private.h"

enum { WAIT_S = 25 };

typedef struct {
  LgTalk *talk;
  gint64 until_us;
} Waiter;

struct LgNews {
  Server *server;
  GMutex lock;
  guint64 serial;
  GArray *waiters; /* Waiter */
  gboolean ended;
};

LgNews *lg_news_new(Server *server)
{
  LgNews *const news = g_new0(LgNews, 1);
  news->server = server;
  news->serial = 1;
  news->waiters = g_array_new(FALSE, FALSE, sizeof(Waiter));
  g_mutex_init(&news->lock);
  return news;
}

void lg_news_free(LgNews *news)
{
  if (news == NULL)
    return;
  g_array_unref(news->waiters);
  g_mutex_clear(&news->lock);
  g_free(news);
}

static void wake_all(LgNews *news)
{
  for (guint i = 0; i < news->waiters->len; i++)
    lg_talk_wake(g_array_index(news->waiters, Waiter, i).talk);
  g_array_set_size(news->waiters, 0);
}

void lg_news_tell(LgNews *news)
{
  g_mutex_lock(&news->lock);
  news->serial++;
  wake_all(news);
  g_mutex_unlock(&news->lock);
}

void lg_news_end(LgNews *news)
{
  g_mutex_lock(&news->lock);
  news->ended = TRUE;
  wake_all(news);
  g_mutex_unlock(&news->lock);
}

gboolean lg_news_wait(LgNews *news, LgTalk *talk, guint64 after)
{
  g_mutex_lock(&news->lock);
  /* A serial from before a new start of the server is answered at once, too. */
  const gboolean waits = after == news->serial && !news->ended;
  if (waits) {
    const Waiter waiter = {talk, g_get_monotonic_time() + WAIT_S * G_USEC_PER_SEC};
    g_array_append_val(news->waiters, waiter);
    lg_talk_sleep(talk);
  }
  g_mutex_unlock(&news->lock);
  return waits;
}

void lg_news_wake_late(LgNews *news, gint64 now_us)
{
  g_mutex_lock(&news->lock);
  for (guint i = news->waiters->len; i-- > 0;) {
    const Waiter waiter = g_array_index(news->waiters, Waiter, i);
    if (now_us < waiter.until_us)
      continue;
    lg_talk_wake(waiter.talk);
    g_array_remove_index_fast(news->waiters, i);
  }
  g_mutex_unlock(&news->lock);
}

void lg_news_wake(LgNews *news, LgTalk *talk)
{
  g_mutex_lock(&news->lock);
  for (guint i = 0; i < news->waiters->len; i++)
    if (g_array_index(news->waiters, Waiter, i).talk == talk) {
      lg_talk_wake(talk);
      g_array_remove_index_fast(news->waiters, i);
      break;
    }
  g_mutex_unlock(&news->lock);
}

LgAnswer *lg_serve_news(Server *server, const LgRequest *request)
{
  (void)request;
  LgNews *const news = server->news;
  g_mutex_lock(&news->lock);
  const guint64 serial = news->serial;
  g_mutex_unlock(&news->lock);
  g_autofree char *unready = lg_live_desk_unready(server->live);
  return lg_answer_value(
      json_pack("{s:I, s:i, s:i, s:s?, s:s, s:o}", "serial", (json_int_t)serial, "edition",
                (int)lg_store_edition(server->store), "ready",
                (int)lg_live_desk_ready(server->live), "unready", unready, "disk",
                lg_store_disk(server->store) == LG_STORE_SAME ? "same" : "changed", "runs",
                lg_runs_news(server->runs)));
}
