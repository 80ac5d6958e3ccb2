/* Paper: a document that flows over pages, in ink (cairo, Pango). It knows headings, paragraphs,
 * tables, boxes and blanks to fill in, and nothing of jobs. */
#pragma once
#include "base/picture.h"
#include "base/table.h"

G_BEGIN_DECLS

typedef enum { LG_PAPER_A4, LG_PAPER_LETTER } LgPaper;
typedef struct LgDocument LgDocument;

/* `title` and `revision` stand in the foot of each page with the page number ("3 of 9"). The PDF
 * grows in memory. */
LgDocument *lg_document_new(LgPaper paper, const char *title, const char *revision);
void lg_document_free(LgDocument *document);

/* The title block at the head of the first page. */
void lg_document_cover(LgDocument *document, const char *title,
                       const char *const lines[]); /* NULL-ended */
/* Begins a new page when less than a quarter is left, or when the section must be turned (a table
 * in it is too wide for an upright page); PDF outline entry. */
void lg_document_section(LgDocument *document, const char *heading);
/* A section that begins a new page, to be torn off and carried alone. */
void lg_document_leaf(LgDocument *document, const char *heading);
/* Stays with the first lines that follow; PDF outline entry below its section. */
void lg_document_heading(LgDocument *document, const char *heading);
void lg_document_paragraph(LgDocument *document, const char *text);
void lg_document_list(LgDocument *document, const char *const items[], gboolean tick_boxes);
/* A framed box with a bold first line, for cautions; `grave` uses the accent and a thick edge. */
void lg_document_box(LgDocument *document, const char *head, const char *const lines[],
                     gboolean grave);
void lg_document_findings(LgDocument *document, const GPtrArray *findings);
/* The table over the full width, columns sized by content, column titles repeated on each page,
 * rows split only when higher than half a page, `blanks` extra empty columns with these titles for
 * a pen (NULL-ended, or NULL). The table's note stands below it; its own title is left to a
 * heading. Without rows only the note is printed. */
void lg_document_table(LgDocument *document, const LgTable *table, LgHabit habit,
                       const char *const blanks[]);
/* A photo with its caption beside it; `picture` NULL: a frame that says `gap` in its place. The
 * JPEG goes into the PDF as it is. */
void lg_document_photo(LgDocument *document, const LgPicture *picture, const char *caption,
                       const char *gap);
void lg_document_space(LgDocument *document, double mm);
/* How many pages it would have if it ended here. */
int lg_document_n_pages(const LgDocument *document);
/* Ends the document; the PDF's bytes, all fonts embedded, metadata with title and without any date
 * or machine name, so that equal input gives equal bytes. */
GBytes *lg_document_finish(LgDocument *document, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgDocument, lg_document_free)
G_END_DECLS
