/* Inside the server: requests, answers, and what the pieces know of one another.
 *
 * Threads: those of the HTTP library call handlers; one prepares editions; one draws and proves
 * (`slow`); one listens and cuts off slow clients; two run studies. A request owns all that it
 * says, so that any of them may answer it. */
#pragma once
#include "workbench/guard-private.h"
#include "workbench/pairing-private.h"
#include "workbench/store.h"
#include "workbench/workbench.h"
#include <jansson.h>
#include <microhttpd.h>

typedef struct LgWorkbench Server;
typedef struct LgLiveDesk LgLiveDesk;
typedef struct LgNews LgNews;
typedef struct LgRuns LgRuns;
typedef struct LgListen LgListen;
typedef struct LgTalk LgTalk;
typedef struct LgPages LgPages;

struct LgWorkbench {
  LgStore *store;
  LgGuard *guard;
  LgPairing *pairing;
  LgLiveDesk *live;
  LgNews *news;
  LgRuns *runs;
  LgListen *listen;
  LgPages *pages;
  GThreadPool *slow;
  struct MHD_Daemon *daemon;
  gboolean lan;
  GMutex lock; /* of `stopping`: nothing goes to sleep after it is set */
  gboolean stopping;
  char *address, *cookie_name;
  char *start_mark; /* of this start, in ETags */
  int patience_s;
};

typedef enum {
  LG_WHO_ANYBODY,
  LG_WHO_PHONE,
  LG_WHO_OWNER
} LgWho; /* each may what the ones before may */

typedef struct {
  const char *method;
  GStrv words;      /* of the path, decoded */
  GPtrArray *query; /* key, value, key, value ... decoded */
  json_t *body;     /* NULL: none was sent */
  LgWho who;
  gboolean near; /* the peer is this machine */
  char *peer, *host, *if_none_match, *agent;
} LgRequest;

const char *lg_request_query(const LgRequest *request, const char *key); /* NULL: not there */
/* A text of the body, NULL when it is not there or is no text. */
const char *lg_request_text(const LgRequest *request, const char *key);

/* --- answers --- */

enum { LG_ANSWER_HEADERS = 4 };
typedef struct {
  guint status;
  GBytes *body;
  const char *mime;
  const char *header[LG_ANSWER_HEADERS]; /* names */
  char *value[LG_ANSWER_HEADERS];
} LgAnswer;

/* Takes the text. */
LgAnswer *lg_answer_json(char *text);
LgAnswer *lg_answer_value(json_t *value);                   /* takes it */
LgAnswer *lg_answer_bytes(const char *mime, GBytes *bytes); /* takes the bytes */
LgAnswer *lg_answer_wrong(guint status, const char *wrong, const char *remedy);
/* By the error's kind; its message may be "what is wrong\nwhat to do". Takes nothing. */
LgAnswer *lg_answer_error(const GError *error);
LgAnswer *lg_answer_not_found(void);
LgAnswer *lg_answer_go(const char *where);
/* Adds a header; takes the value. Returns the answer. */
LgAnswer *lg_answer_with(LgAnswer *answer, const char *header, char *value);
void lg_answer_free(LgAnswer *answer);
/* Queues it with the headers that every answer has; takes it. */
enum MHD_Result lg_answer_queue(LgAnswer *answer, struct MHD_Connection *connection);

/* --- routes --- */

typedef LgAnswer *(*LgHandle)(Server *server, const LgRequest *request);
typedef enum {
  LG_AT_ONCE, /* in the thread that read the request */
  LG_SLOW,    /* in the thread for drawings and proofs, the connection sleeps meanwhile */
  LG_WAITS,   /* sleeps until there is news */
} LgPace;
typedef struct {
  const char *method, *path; /* "*" stands for one word, "**" at the end for one or more */
  LgWho who;
  LgPace pace;
  LgHandle handle;
  gsize most_body; /* bytes */
} LgRoute;

/* NULL: none; `allowed` is then what the path would take ("GET, POST"; g_free), or NULL when there
 * is no such path. */
const LgRoute *lg_route_find(const char *method, const char *const *words, char **allowed);

/* --- pieces --- */

/* The newest edition is made ready in a thread of its own. */
LgLiveDesk *lg_live_desk_new(Server *server);
void lg_live_desk_end(LgLiveDesk *desk); /* prepares no more */
void lg_live_desk_free(LgLiveDesk *desk);
void lg_live_desk_prepare(LgLiveDesk *desk); /* there is a newer edition */
guint lg_live_desk_ready(LgLiveDesk *desk);  /* the newest edition that is ready; 0: none */
/* Why the newest edition cannot be made ready; NULL: it is, or will be. Newly allocated. */
char *lg_live_desk_unready(LgLiveDesk *desk);

LgNews *lg_news_new(Server *server);
void lg_news_end(LgNews *news); /* wakes all; from now on nobody waits */
void lg_news_free(LgNews *news);
/* Something changed: all that wait are woken. */
void lg_news_tell(LgNews *news);
/* TRUE: the talk was suspended until there is news later than `after`, or `until_us`. */
gboolean lg_news_wait(LgNews *news, LgTalk *talk, guint64 after);
void lg_news_wake_late(LgNews *news, gint64 now_us);
void lg_news_wake(LgNews *news, LgTalk *talk); /* if it waits */

LgRuns *lg_runs_new(Server *server);
void lg_runs_free(LgRuns *runs); /* stops them all, removes their files */
json_t *lg_runs_news(LgRuns *runs);

LgPages *lg_web_pages_new(void);
void lg_web_pages_free(LgPages *pages);

/* Sockets: binds and listens as asked. */
LgListen *lg_listen_new(Server *server, const LgWorkbenchAsk *ask, GError **error);
int lg_listen_port(const LgListen *listen);
const char *const *lg_listen_lan(const LgListen *listen);
void lg_listen_begin(LgListen *listen);
void lg_listen_end(LgListen *listen); /* no more connections; those there are stay */
void lg_listen_free(LgListen *listen);

/* A connection's clock: what it may take until it is cut off. Called by the HTTP library. */
typedef struct LgPatience LgPatience;
void lg_listen_notify(void *server, struct MHD_Connection *connection, void **context,
                      enum MHD_ConnectionNotificationCode code);
/* From now `s` seconds; 0: as long as it likes. `talk`: who waits for news, woken when the peer is
 * gone; or NULL. */
void lg_patience_set(LgPatience *patience, int s, LgTalk *talk);
LgPatience *lg_patience_of(struct MHD_Connection *connection);

/* --- talks (server.c) --- */
void lg_talk_sleep(LgTalk *talk);
void lg_talk_wake(LgTalk *talk);

/* --- handlers --- */
LgAnswer *lg_serve_page(Server *server, const LgRequest *request);
LgAnswer *lg_serve_key(Server *server, const LgRequest *request);
LgAnswer *lg_serve_job(Server *server, const LgRequest *request);
LgAnswer *lg_serve_schema(Server *server, const LgRequest *request);
LgAnswer *lg_serve_text(Server *server, const LgRequest *request);
LgAnswer *lg_serve_edits(Server *server, const LgRequest *request);
LgAnswer *lg_serve_undo(Server *server, const LgRequest *request);
LgAnswer *lg_serve_redo(Server *server, const LgRequest *request);
LgAnswer *lg_serve_disk(Server *server, const LgRequest *request);
LgAnswer *lg_serve_problems(Server *server, const LgRequest *request);
LgAnswer *lg_serve_news(Server *server, const LgRequest *request);
LgAnswer *lg_serve_live(Server *server, const LgRequest *request);
LgAnswer *lg_serve_faults_of(Server *server, const LgRequest *request);
LgAnswer *lg_serve_about(Server *server, const LgRequest *request);
LgAnswer *lg_serve_findings(Server *server, const LgRequest *request);
LgAnswer *lg_serve_prove(Server *server, const LgRequest *request);
LgAnswer *lg_serve_drawings(Server *server, const LgRequest *request);
LgAnswer *lg_serve_drawing(Server *server, const LgRequest *request);
LgAnswer *lg_serve_drawing_whole(Server *server, const LgRequest *request);
LgAnswer *lg_serve_tables(Server *server, const LgRequest *request);
LgAnswer *lg_serve_table(Server *server, const LgRequest *request);
LgAnswer *lg_serve_run_begin(Server *server, const LgRequest *request);
LgAnswer *lg_serve_run(Server *server, const LgRequest *request);
LgAnswer *lg_serve_run_end(Server *server, const LgRequest *request);
LgAnswer *lg_serve_run_file(Server *server, const LgRequest *request);
LgAnswer *lg_serve_pairing(Server *server, const LgRequest *request);
LgAnswer *lg_serve_devices(Server *server, const LgRequest *request);
LgAnswer *lg_serve_revoke(Server *server, const LgRequest *request);
LgAnswer *lg_serve_join(Server *server, const LgRequest *request);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgAnswer, lg_answer_free)
