/* What people added: photos, notes, chapters of their own, and the job's history. */
#include "base/words.h"
#include "packet/page-private.h"
#include <string.h>

static void put_photo(Page *page, int i)
{
  const LgPhoto *const photo = &page->packet->job->photos[i];
  const LgShownPhoto *const found = page->packet->photos != NULL ? &page->packet->photos[i] : NULL;
  const char *const caption = photo->text != NULL ? photo->text : photo->name;
  page->shown[i] = TRUE;
  lg_page_put(page, "<figure>\n");
  if (found != NULL && found->picture != NULL) {
    g_string_append_printf(page->out, "<img width=\"%d\" height=\"%d\" decoding=\"async\" alt=\"",
                           found->picture->width, found->picture->height);
    lg_page_text(page, caption);
    lg_page_put(page, "\" src=\"data:image/jpeg;base64,");
    lg_page_base64(page, found->picture->jpeg);
    lg_page_put(page, "\">\n");
  } else {
    g_autofree char *gap =
        page->options->share
            ? g_strdup(T_("A photo is missing here."))
            : g_strdup_printf(T_("Photo %s is missing: %s."), photo->file,
                              found != NULL ? found->why : T_("it was not looked for"));
    lg_page_put(page, "<p class=\"gap\">");
    lg_page_text(page, gap);
    lg_page_put(page, "</p>\n");
  }
  lg_page_in(page, "figcaption", caption);
  lg_page_put(page, "</figure>\n");
}

void lg_page_papers_of_part(Page *page, int part)
{
  const LgJob *const job = page->packet->job;
  for (int i = 0; part >= 0 && i < job->n_notes; i++)
    if (lg_is_about_part(&job->notes[i].of, part) && job->notes[i].is == LG_NOTE_TEXT)
      lg_page_in(page, "p", job->notes[i].text);
  for (int i = 0; part >= 0 && i < job->n_photos; i++)
    if (lg_is_about_part(&job->photos[i].of, part))
      put_photo(page, i);
}

static gboolean is_note_at(const Page *page, const LgTable *order, int i, int row)
{
  const LgNote *const note = &page->packet->job->notes[i];
  return note->is == LG_NOTE_TEXT &&
         !(note->of.step < 0 && lg_part_has_table(page->packet, note->of.part)) && order != NULL &&
         lg_belongs_row(page->packet->job, order, &note->of) == row;
}

void lg_page_papers_of_row(Page *page, const LgTable *order, int row)
{
  const LgJob *const job = page->packet->job;
  for (int i = 0; i < job->n_notes; i++)
    if (is_note_at(page, order, i, row))
      lg_page_in(page, "p", job->notes[i].text);
  for (int i = 0; i < job->n_photos; i++)
    if (!page->shown[i] && lg_belongs_row(job, order, &job->photos[i].of) == row)
      put_photo(page, i);
}

static void put_chapter(Page *page, int c)
{
  const LgJob *const job = page->packet->job;
  g_string_append_printf(page->out, "<section id=\"chapter-%s\">\n", job->chapters[c].name);
  lg_page_in(page, "h2", job->chapters[c].text);
  for (int i = 0; i < job->n_notes; i++)
    if (job->notes[i].of.chapter == c && job->notes[i].is == LG_NOTE_TEXT)
      lg_page_in(page, "p", job->notes[i].text);
  for (int i = 0; i < job->n_photos; i++)
    if (job->photos[i].of.chapter == c)
      put_photo(page, i);
  lg_page_put(page, "</section>\n");
}

void lg_page_chapters(Page *page, LgChapterAt at, gboolean behind)
{
  const LgJob *const job = page->packet->job;
  for (int c = 0; c < job->n_chapters; c++)
    if (job->chapters[c].at == at && job->chapters[c].behind == behind)
      put_chapter(page, c);
}

/* Notes and photos that nothing above took. */
static void put_rest(Page *page)
{
  const LgJob *const job = page->packet->job;
  const LgTable *const order = lg_table_find(page->packet->build, "order");
  for (int i = 0; i < job->n_notes; i++) {
    const LgNote *const note = &job->notes[i];
    if (note->is == LG_NOTE_TEXT && note->of.chapter < 0 &&
        !(note->of.step < 0 && lg_part_has_table(page->packet, note->of.part)) &&
        (order == NULL || lg_belongs_row(job, order, &note->of) < 0))
      lg_page_in(page, "p", note->text);
  }
  for (int i = 0; i < job->n_photos; i++)
    if (!page->shown[i] && job->photos[i].of.chapter < 0)
      put_photo(page, i);
}

static void put_event(Page *page, const LgNote *note)
{
  lg_page_put(page, "<li><strong>");
  lg_page_text(page, lg_history_word(note->is));
  if (note->date != NULL) {
    lg_page_put(page, ", ");
    lg_page_text(page, note->date);
  }
  lg_page_put(page, "</strong>: ");
  lg_page_text(page, note->text);
  if (!page->options->share && note->by != NULL) {
    lg_page_put(page, " (");
    lg_page_text(page, note->by);
    lg_page_put(page, ")");
  }
  lg_page_put(page, "</li>\n");
}

void lg_page_history(Page *page)
{
  const LgJob *const job = page->packet->job;
  lg_page_begin_section(page, LG_AT_HISTORY, T_("History, and what it is proven on"));
  gboolean any = FALSE;
  lg_page_put(page, "<ul>\n");
  for (int i = 0; i < job->n_vehicles; i++)
    if (job->vehicles[i].proven != NULL) {
      g_autofree char *line = g_strdup_printf(T_("Proven on: %s (%s)"), job->vehicles[i].proven,
                                              job->vehicles[i].donor ? T_("donor") : T_("host"));
      lg_page_in(page, "li", line);
      any = TRUE;
    }
  for (int i = 0; i < job->n_notes; i++)
    if (job->notes[i].is != LG_NOTE_TEXT) {
      put_event(page, &job->notes[i]);
      any = TRUE;
    }
  if (!any)
    lg_page_in(page, "li", T_("The sheet says of no example that it was proven on."));
  lg_page_put(page, "</ul>\n");
  put_rest(page);
  lg_page_end_section(page);
}
