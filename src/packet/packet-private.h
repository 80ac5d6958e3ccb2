/* Inside the packet: its tables made once, and its pages. */
#pragma once
#include "base/picture.h"
#include "packet/document.h"
#include "packet/packet.h"

G_BEGIN_DECLS

/* A photo of the sheet, read anew; or why it cannot be. */
typedef struct {
  LgPicture *picture;
  char *why; /* "there is no such file in the sheet's folder" */
} LgShownPhoto;

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
  LgShownPhoto *photos; /* [n_photos] of the job */
} LgPacket;

/* Cautions, and the guide for each load that may not run. */
void lg_packet_guide(LgDocument *document, const LgPacket *packet);
/* --- packet-papers.c: photos, notes, chapters --- */
/* The table of that key, NULL when there is none; `tables` may be NULL. */
const LgTable *lg_table_find(const GPtrArray *tables, const char *key);
LgShownPhoto *lg_shown_photos(const LgJob *job);
void lg_shown_photos_free(LgShownPhoto *photos, int n);
/* The row of lg_table_order that it belongs to: the step it names, else the first step that names
 * its part, wire, place or run; -1. */
int lg_belongs_row(const LgJob *job, const LgTable *order, const LgBelongs *of);
/* "Failed", "Corrected", "Repeated"; "" for a paragraph. */
const char *lg_history_word(LgNoteIs is);
/* Whether it belongs to the part as such, not to a step. */
gboolean lg_is_about_part(const LgBelongs *of, int part);
/* The part of a table of lg_tables_connectors, -1. */
int lg_connector_part(const LgJob *job, const LgTable *table);
gboolean lg_part_has_table(const LgPacket *packet, int part);
void lg_print_papers_of_part(LgDocument *document, const LgPacket *packet, int part);
void lg_print_papers_of_steps(LgDocument *document, const LgPacket *packet, const LgTable *order);
void lg_print_chapters(LgDocument *document, const LgPacket *packet, const LgTable *order);

/* Writes all pages but the cover. */
void lg_packet_pages(LgDocument *document, const LgPacket *packet);
/* Colours, letters, units, sources and grades, written out once. */
void lg_packet_legend(LgDocument *document, const LgPacket *packet);

G_END_DECLS
