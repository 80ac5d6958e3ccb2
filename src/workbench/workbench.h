/* The workbench: a job sheet served to a page on this machine, and with `lan` to the phones that
 * were let in (docs/workbench.md). Uses the engine through loomgraft.h alone. */
#pragma once
#include <loomgraft.h>

G_BEGIN_DECLS

typedef struct LgWorkbench LgWorkbench;

/* All 0 is a good choice. */
typedef struct {
  int port;              /* 0: one that is free */
  gboolean lan;          /* also listens on this machine's own addresses in private networks */
  const char *interface; /* with `lan`: on this one alone ("wlan0"); NULL: on all */
  int patience_s;        /* seconds that a client may take to send a request; 0: 20 */
} LgWorkbenchAsk;

/* Opens the sheet, begins it from the starter when there is no such file, and serves it on threads
 * of its own. NULL with an error of GFile's kind when the sheet cannot be read, LG_ERROR_CALL when
 * the port is taken. `ask` may be NULL. The program must ignore SIGPIPE. */
LgWorkbench *lg_workbench_new(const char *path, const LgWorkbenchAsk *ask, GError **error);
/* Ends all that is under way; all edits are saved already. NULL is fine. */
void lg_workbench_free(LgWorkbench *bench);

/* "http://127.0.0.1:PORT/key/SECRET": whoever has it may change the sheet. Borrowed. */
const char *lg_workbench_address(const LgWorkbench *bench);
/* An address that opens the page once, within half a minute: for handing to a browser, whose
 * command line others on this machine can read. Newly allocated. */
char *lg_workbench_address_once(LgWorkbench *bench);
/* Addresses in the local network ("192.168.1.20:4711"), NULL-ended; none without `lan`. Borrowed.
 */
const char *const *lg_workbench_lan(const LgWorkbench *bench);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgWorkbench, lg_workbench_free)
G_END_DECLS
