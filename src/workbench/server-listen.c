/* Sockets: one thread takes connections on all addresses, and cuts off who takes too long. */
#include "workbench/server-private.h"
#include <arpa/inet.h>
#include <errno.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>
#include <poll.h>
#include <string.h>
#include <sys/eventfd.h>
#include <sys/socket.h>
#include <unistd.h>

enum { BACKLOG = 64, LOOK_MS = 250, MOST_SOCKETS = 16 };

/* A connection's clock. It is freed after the library has told that the connection closes and
 * before the socket's number can be another's. */
struct LgPatience {
  LgListen *listen;
  int fd;
  gint64 until_us; /* 0: for ever */
  LgTalk *talk;    /* waits for news; NULL */
};

struct LgListen {
  Server *server;
  int socket[MOST_SOCKETS];
  guint n_sockets;
  int port, end; /* an eventfd: written when it is time to end */
  GPtrArray *lan;
  GThread *thread;
  GMutex lock; /* of the clocks */
  GPtrArray *clocks;
};

/* --- addresses --- */

static int listen_at(const struct sockaddr *address, socklen_t length)
{
  const int fd = socket(address->sa_family, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
  if (fd < 0)
    return -1;
  const int on = 1;
  setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
  if (address->sa_family == AF_INET6)
    setsockopt(fd, IPPROTO_IPV6, IPV6_V6ONLY, &on, sizeof on);
  if (bind(fd, address, length) == 0 && listen(fd, BACKLOG) == 0)
    return fd;
  const int number = errno;
  close(fd);
  errno = number;
  return -1;
}

static gboolean listen_ipv4(LgListen *listen, struct in_addr host)
{
  const struct sockaddr_in address = {
      .sin_family = AF_INET, .sin_port = htons((guint16)listen->port), .sin_addr = host};
  const int fd = listen->n_sockets == MOST_SOCKETS
                     ? -1
                     : listen_at((const struct sockaddr *)&address, sizeof address);
  if (fd >= 0)
    listen->socket[listen->n_sockets++] = fd;
  return fd >= 0;
}

static void listen_ipv6_loopback(LgListen *listen)
{
  const struct sockaddr_in6 address = {.sin6_family = AF_INET6,
                                       .sin6_port = htons((guint16)listen->port),
                                       .sin6_addr = IN6ADDR_LOOPBACK_INIT};
  const int fd = listen_at((const struct sockaddr *)&address, sizeof address);
  if (fd >= 0)
    listen->socket[listen->n_sockets++] = fd;
}

static gboolean listen_loopback(LgListen *listen, int port, GError **error)
{
  listen->port = port;
  if (!listen_ipv4(listen, (struct in_addr){htonl(INADDR_LOOPBACK)})) {
    g_set_error(error, LG_ERROR, LG_ERROR_CALL, "port %d of this machine: %s; %s", port,
                g_strerror(errno), "name another, or none: then a free one is taken");
    return FALSE;
  }
  struct sockaddr_in bound;
  socklen_t length = sizeof bound;
  getsockname(listen->socket[0], (struct sockaddr *)&bound, &length);
  listen->port = ntohs(bound.sin_port);
  listen_ipv6_loopback(listen);
  return TRUE;
}

/* Private networks by RFC 1918 and RFC 3927 (memory): an address that the world can reach is never
 * served. */
static gboolean is_private(struct in_addr address)
{
  const guint32 a = ntohl(address.s_addr);
  return (a >> 24) == 10 || (a >> 20) == (172 << 4 | 1) || (a >> 16) == (192 << 8 | 168) ||
         (a >> 16) == (169 << 8 | 254);
}

/* With an interface named, that one is trusted as it is; else loopback is no network, and tunnels
 * with private addresses count as one. */
static gboolean is_wanted(const struct ifaddrs *i, const char *interface)
{
  if (i->ifa_addr == NULL || i->ifa_addr->sa_family != AF_INET || (i->ifa_flags & IFF_UP) == 0)
    return FALSE;
  return interface != NULL ? strcmp(interface, i->ifa_name) == 0
                           : (i->ifa_flags & IFF_LOOPBACK) == 0;
}

static void listen_lan(LgListen *listen, const char *interface)
{
  struct ifaddrs *list = NULL;
  if (getifaddrs(&list) != 0)
    return;
  for (const struct ifaddrs *i = list; i != NULL; i = i->ifa_next) {
    if (!is_wanted(i, interface))
      continue;
    struct sockaddr_in address;
    memcpy(&address, i->ifa_addr, sizeof address);
    const gboolean loopback = address.sin_addr.s_addr == htonl(INADDR_LOOPBACK);
    char host[INET_ADDRSTRLEN];
    if ((loopback || (is_private(address.sin_addr) && listen_ipv4(listen, address.sin_addr))) &&
        inet_ntop(AF_INET, &address.sin_addr, host, sizeof host) != NULL)
      g_ptr_array_add(listen->lan, g_strdup_printf("%s:%d", host, listen->port));
  }
  freeifaddrs(list);
}

static void name_hosts(const LgListen *listen)
{
  static const char *const loopback[] = {"127.0.0.1", "localhost", "[::1]"};
  LgGuard *const guard = listen->server->guard;
  for (guint i = 0; i < G_N_ELEMENTS(loopback); i++) {
    g_autofree char *host = g_strdup_printf("%s:%d", loopback[i], listen->port);
    lg_guard_add_host(guard, host);
    if (listen->port == 80)
      lg_guard_add_host(guard, loopback[i]);
  }
  for (guint i = 0; i < listen->lan->len; i++)
    lg_guard_add_host(guard, listen->lan->pdata[i]);
}

LgListen *lg_listen_new(Server *server, const LgWorkbenchAsk *ask, GError **error)
{
  LgListen *const listen = g_new0(LgListen, 1);
  listen->server = server;
  listen->end = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
  listen->lan = g_ptr_array_new_with_free_func(g_free);
  listen->clocks = g_ptr_array_new();
  g_mutex_init(&listen->lock);
  /* Phones that joined before look for the program where it was. */
  const int before = ask->port == 0 ? (int)lg_pairing_port(server->pairing) : 0;
  if ((before == 0 || !listen_loopback(listen, before, NULL)) &&
      !listen_loopback(listen, ask->port, error)) {
    lg_listen_free(listen);
    return NULL;
  }
  if (ask->lan)
    listen_lan(listen, ask->interface);
  name_hosts(listen);
  g_ptr_array_add(listen->lan, NULL);
  return listen;
}

int lg_listen_port(const LgListen *listen)
{
  return listen->port;
}

const char *const *lg_listen_lan(const LgListen *listen)
{
  return (const char *const *)listen->lan->pdata;
}

/* --- clocks --- */

void lg_listen_notify(void *user, struct MHD_Connection *connection, void **context,
                      enum MHD_ConnectionNotificationCode code)
{
  LgListen *const listen = ((Server *)user)->listen;
  g_mutex_lock(&listen->lock);
  if (code == MHD_CONNECTION_NOTIFY_STARTED) {
    LgPatience *const clock = g_new0(LgPatience, 1);
    clock->listen = listen;
    clock->fd = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD)->connect_fd;
    clock->until_us = g_get_monotonic_time() + listen->server->patience_s * G_USEC_PER_SEC;
    g_ptr_array_add(listen->clocks, clock);
    *context = clock;
  } else {
    g_ptr_array_remove_fast(listen->clocks, *context);
    g_free(*context);
    *context = NULL;
  }
  g_mutex_unlock(&listen->lock);
}

LgPatience *lg_patience_of(struct MHD_Connection *connection)
{
  return MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT)->socket_context;
}

void lg_patience_set(LgPatience *clock, int s, LgTalk *talk)
{
  g_mutex_lock(&clock->listen->lock);
  clock->until_us = s == 0 ? 0 : g_get_monotonic_time() + s * G_USEC_PER_SEC;
  clock->talk = talk;
  g_mutex_unlock(&clock->listen->lock);
}

/* Whoever waits for news is not read from, so that only this sees that the peer went away. */
static gboolean is_gone(int fd)
{
  struct pollfd peer = {.fd = fd, .events = POLLRDHUP};
  return poll(&peer, 1, 0) == 1;
}

/* The news has a lock of its own that is taken before ours: those who went are woken afterwards. */
static void look_at_clocks(LgListen *listen, gint64 now_us)
{
  g_autoptr(GPtrArray) gone = g_ptr_array_new();
  g_mutex_lock(&listen->lock);
  for (guint i = 0; i < listen->clocks->len; i++) {
    LgPatience *const clock = listen->clocks->pdata[i];
    if (clock->until_us != 0 && now_us > clock->until_us)
      shutdown(clock->fd, SHUT_RDWR);
    else if (clock->talk != NULL && is_gone(clock->fd))
      g_ptr_array_add(gone, clock->talk);
  }
  g_mutex_unlock(&listen->lock);
  for (guint i = 0; i < gone->len; i++)
    lg_news_wake(listen->server->news, gone->pdata[i]);
}

static gboolean has_clocks(LgListen *listen)
{
  g_mutex_lock(&listen->lock);
  const gboolean has = listen->clocks->len > 0;
  g_mutex_unlock(&listen->lock);
  return has;
}

/* --- the thread --- */

static void take_connections(LgListen *listen, int from)
{
  for (;;) {
    struct sockaddr_storage peer = {0};
    socklen_t length = sizeof peer;
    const int fd = accept4(from, (struct sockaddr *)&peer, &length, SOCK_CLOEXEC | SOCK_NONBLOCK);
    if (fd < 0)
      return;
    /* The library closes it when there are too many. */
    MHD_add_connection(listen->server->daemon, fd, (struct sockaddr *)&peer, length);
  }
}

static gpointer attend(gpointer user)
{
  LgListen *const listen = user;
  struct pollfd polled[MOST_SOCKETS + 1];
  for (guint i = 0; i < listen->n_sockets; i++)
    polled[i] = (struct pollfd){.fd = listen->socket[i], .events = POLLIN};
  polled[listen->n_sockets] = (struct pollfd){.fd = listen->end, .events = POLLIN};
  gboolean taken = FALSE;
  while ((polled[listen->n_sockets].revents & POLLIN) == 0) {
    /* What was just taken has a clock only when the library's thread has seen it. */
    const gboolean looks = taken || has_clocks(listen);
    const int n = poll(polled, listen->n_sockets + 1, looks ? LOOK_MS : -1);
    taken = n > 0;
    for (guint i = 0; n > 0 && i < listen->n_sockets; i++)
      if ((polled[i].revents & POLLIN) != 0)
        take_connections(listen, polled[i].fd);
    const gint64 now_us = g_get_monotonic_time();
    look_at_clocks(listen, now_us);
    lg_news_wake_late(listen->server->news, now_us);
  }
  return NULL;
}

void lg_listen_begin(LgListen *listen)
{
  listen->thread = g_thread_new("listen", attend, listen);
}

void lg_listen_end(LgListen *listen)
{
  eventfd_write(listen->end, 1);
  if (listen->thread != NULL)
    g_thread_join(g_steal_pointer(&listen->thread));
}

void lg_listen_free(LgListen *listen)
{
  if (listen == NULL)
    return;
  for (guint i = 0; i < listen->n_sockets; i++)
    close(listen->socket[i]);
  close(listen->end);
  g_ptr_array_unref(listen->lan);
  g_ptr_array_unref(listen->clocks);
  g_mutex_clear(&listen->lock);
  g_free(listen);
}
