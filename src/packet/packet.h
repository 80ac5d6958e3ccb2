/* The packet: what is printed, hung up and handed over. */
#pragma once
#include "packet/tables.h"

G_BEGIN_DECLS

/* Writes `folder`/packet.pdf, write-up.html and one CSV a table. `share`: the write-up leaves out
 * who wrote, measured and said what. The folder is made when it is missing. Each file
 * is written atomically; on an error none of this call's files is left half written, and `error`
 * names the file. `written` (may be NULL) receives the names (char*, owned). */
gboolean lg_packet_write(const LgSizing *sizing, const GPtrArray *findings, const char *folder,
                         gboolean share, GPtrArray *written, GError **error);

G_END_DECLS
