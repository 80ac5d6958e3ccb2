/* The packet: what is printed, hung up and handed over. */
#pragma once
#include "packet/tables.h"

G_BEGIN_DECLS

typedef struct {
  gboolean share;             /* the write-up leaves out who wrote, measured and said what */
  const LgLabelSheet *labels; /* NULL: the first one of the job's paper */
  gboolean (*stop)(double share, gpointer user); /* between pieces of the work; or NULL */
  gpointer user;
} LgPacketOptions;

/* Writes `folder`/packet.pdf, write-up.html and one CSV a table. The folder is made when it is
 * missing. Each file
 * is written atomically; on an error none of this call's files is left half written, and `error`
 * names the file. When `stop` says TRUE, `error` is G_FILE_ERROR_INTR. `written` (may be NULL)
 * receives the names (char*, owned). */
gboolean lg_packet_write(const LgSizing *sizing, const GPtrArray *findings, const char *folder,
                         const LgPacketOptions *options, GPtrArray *written, GError **error);

G_END_DECLS
