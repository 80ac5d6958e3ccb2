/* What is asked of a document is kept as blocks until it ends: only then is it known how many pages
 * there are and which sections need wide ones. */
#include "packet/document-private.h"

static void block_free(gpointer data)
{
  LgBlock *const block = data;
  g_free(block->text);
  g_clear_pointer(&block->jpeg, g_bytes_unref);
  g_strfreev(block->lines);
  lg_grid_free(block->grid);
  g_free(block);
}

LgDocument *lg_document_new(LgPaper paper, const char *title, const char *revision)
{
  LgDocument *const document = g_new0(LgDocument, 1);
  document->paper = paper;
  document->title = g_strdup(title != NULL ? title : "");
  document->revision = g_strdup(revision != NULL ? revision : "");
  document->blocks = g_ptr_array_new_with_free_func(block_free);
  return document;
}

void lg_document_free(LgDocument *document)
{
  if (document == NULL)
    return;
  g_free(document->title);
  g_free(document->revision);
  g_ptr_array_unref(document->blocks);
  g_free(document);
}

static LgBlock *add(LgDocument *document, LgBlockKind kind, const char *text,
                    const char *const lines[])
{
  LgBlock *const block = g_new0(LgBlock, 1);
  block->kind = kind;
  block->text = g_strdup(text);
  block->lines = g_strdupv((char **)lines);
  g_ptr_array_add(document->blocks, block);
  return block;
}

void lg_document_cover(LgDocument *document, const char *title, const char *const lines[])
{
  add(document, LG_BLOCK_COVER, title, lines);
}

void lg_document_section(LgDocument *document, const char *heading)
{
  add(document, LG_BLOCK_SECTION, heading, NULL);
}

void lg_document_leaf(LgDocument *document, const char *heading)
{
  add(document, LG_BLOCK_SECTION, heading, NULL)->flag = TRUE;
}

void lg_document_heading(LgDocument *document, const char *heading)
{
  add(document, LG_BLOCK_HEADING, heading, NULL);
}

void lg_document_paragraph(LgDocument *document, const char *text)
{
  add(document, LG_BLOCK_PARAGRAPH, text, NULL);
}

void lg_document_list(LgDocument *document, const char *const items[], gboolean tick_boxes)
{
  add(document, LG_BLOCK_LIST, NULL, items)->flag = tick_boxes;
}

void lg_document_box(LgDocument *document, const char *head, const char *const lines[],
                     gboolean grave)
{
  add(document, LG_BLOCK_BOX, head, lines)->flag = grave;
}

void lg_document_findings(LgDocument *document, const GPtrArray *findings)
{
  for (guint i = 0; i < findings->len; i++) {
    const LgFinding *const finding = findings->pdata[i];
    const char *const parts[] = {finding->subject, finding->rule, finding->what, finding->basis,
                                 finding->remedy};
    LgBlock *const block = add(document, LG_BLOCK_FINDING, NULL, NULL);
    block->grade = finding->grade;
    block->lines = g_new0(char *, G_N_ELEMENTS(parts) + 1);
    for (gsize k = 0; k < G_N_ELEMENTS(parts); k++)
      block->lines[k] = g_strdup(parts[k] != NULL ? parts[k] : "");
  }
}

void lg_document_table(LgDocument *document, const LgTable *table, LgHabit habit,
                       const char *const blanks[])
{
  add(document, LG_BLOCK_TABLE, NULL, NULL)->grid = lg_grid_new(table, habit, blanks);
}

void lg_document_photo(LgDocument *document, const LgPicture *picture, const char *caption,
                       const char *gap)
{
  const char *const lines[] = {gap != NULL ? gap : "", NULL};
  LgBlock *const block =
      add(document, LG_BLOCK_PHOTO, caption != NULL ? caption : "", picture == NULL ? lines : NULL);
  if (picture == NULL)
    return;
  block->jpeg = g_bytes_ref(picture->jpeg);
  block->pixels[0] = picture->width;
  block->pixels[1] = picture->height;
}

void lg_document_space(LgDocument *document, double mm)
{
  add(document, LG_BLOCK_SPACE, NULL, NULL)->space = mm * LG_POINTS_PER_MM;
}

int lg_document_n_pages(const LgDocument *document)
{
  g_autoptr(LgType) type = lg_type_new();
  g_autoptr(GPtrArray) pages = lg_document_lay_out(document, type);
  return (int)pages->len;
}

GBytes *lg_document_finish(LgDocument *document, GError **error)
{
  g_autoptr(LgType) type = lg_type_new();
  g_autoptr(GPtrArray) pages = lg_document_lay_out(document, type);
  return lg_pages_ink(pages, type, document->title, error);
}
