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
  GPtrArray *build; /* LgTable*: routes, openings, spools, splices, crimps, labels, order, quote */
  GPtrArray *guide; /* LgTable*, a load that does not run each */
  GPtrArray *proof; /* LgTable*: shorts, faults, first power, handover */
} LgPacket;

/* Cautions, and the guide for each load that may not run. */
void lg_packet_guide(LgDocument *document, const LgPacket *packet);
/* Writes all pages but the cover. */
void lg_packet_pages(LgDocument *document, const LgPacket *packet);
/* Colours, letters, units, sources and grades, written out once. */
void lg_packet_legend(LgDocument *document, const LgPacket *packet);

G_END_DECLS
