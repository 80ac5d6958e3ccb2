/* Inside the write-up: what its sections are put together from. */
#pragma once
#include "drawing/ink.h"
#include "packet/page.h"

G_BEGIN_DECLS

typedef struct {
  GString *out;
  const LgPacket *packet;
  const LgPageOptions *options;
  GRegex *hidden;  /* what the share form leaves out; NULL: nothing */
  gboolean *shown; /* [n_photos] stands in the page already */
  LgChapterAt at;  /* the section that is open */
} Page;

void lg_page_put(Page *page, const char *html);
/* The text of a sheet, escaped, without what the share form leaves out. */
void lg_page_text(Page *page, const char *text);
void lg_page_in(Page *page, const char *tag, const char *text); /* <tag>text</tag> */
void lg_page_base64(Page *page, GBytes *bytes);
/* Without rows its note; `caption` NULL: its title. */
void lg_page_table(Page *page, const LgTable *table, const char *caption);
void lg_page_svg(Page *page, const LgDrawing *drawing);
/* With the chapters of the sheet that stand before and behind. */
void lg_page_begin_section(Page *page, LgChapterAt at, const char *title);
void lg_page_end_section(Page *page);
/* Newly allocated. */
char *lg_page_left_out(const Page *page, const char *text);

/* --- page-papers.c: photos, notes, chapters, history --- */
void lg_page_chapters(Page *page, LgChapterAt at, gboolean behind);
void lg_page_papers_of_part(Page *page, int part);
void lg_page_papers_of_row(Page *page, const LgTable *order, int row);
void lg_page_history(Page *page);

/* --- page-sections.c: what is built, used and known --- */
void lg_page_face(Page *page, int part); /* both views; part -1: nothing */
void lg_page_sizes(Page *page);
void lg_page_steps(Page *page);
void lg_page_troubles(Page *page);
void lg_page_use(Page *page);
void lg_page_evidence(Page *page);

G_END_DECLS
