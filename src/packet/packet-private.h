/* Inside the packet: its tables made once, and its pages. */
#pragma once
#include "packet/document.h"
#include "packet/packet.h"

G_BEGIN_DECLS

/* The tables of one packet, owned; made once and used for paper and CSV. */
typedef struct {
  const LgSizing *sizing;
  const LgJob *job;
  const GPtrArray *findings;
  LgTable *circuits, *needs, *sizes, *fuses, *wires, *cuts, *parts, *buying, *pre_power, *readings;
  GPtrArray *connectors; /* LgTable* */
} LgPacket;

/* Writes all pages but the cover. */
void lg_packet_pages(LgDocument *document, const LgPacket *packet);
/* Colours, letters, units, sources and grades, written out once. */
void lg_packet_legend(LgDocument *document, const LgPacket *packet);

/* A table with those columns of `table` that `columns` names by key, in its order; rows where the
 * text column `where` (NULL: all) equals `equal`. Title and note are left out. */
LgTable *lg_table_part(const LgTable *table, const LgColumn *columns, const char *where,
                       const char *equal);
/* Index of a column by key; asserts that it is there. */
int lg_table_column(const LgTable *table, const char *key);

G_END_DECLS
