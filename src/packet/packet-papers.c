/* Photos and notes of the sheet: read once, and put where they belong. */
#include "base/words.h"
#include "packet/packet-private.h"
#include "packet/tables-private.h"
#include <string.h>

LgShownPhoto *lg_shown_photos(const LgJob *job)
{
  LgShownPhoto *const photos = g_new0(LgShownPhoto, (gsize)job->n_photos + 1);
  g_autofree char *folder = lg_job_folder(job);
  for (int i = 0; i < job->n_photos; i++) {
    g_autoptr(GError) error = NULL;
    photos[i].picture = lg_picture_read(folder, job->photos[i].file, &error);
    if (photos[i].picture == NULL)
      photos[i].why = g_strdup(error->message);
  }
  return photos;
}

void lg_shown_photos_free(LgShownPhoto *photos, int n)
{
  for (int i = 0; photos != NULL && i < n; i++) {
    lg_picture_free(photos[i].picture);
    g_free(photos[i].why);
  }
  g_free(photos);
}

const LgTable *lg_table_find(const GPtrArray *tables, const char *key)
{
  for (guint i = 0; tables != NULL && i < tables->len; i++)
    if (strcmp(((const LgTable *)tables->pdata[i])->key, key) == 0)
      return tables->pdata[i];
  return NULL;
}

static gboolean is_name_letter(char c)
{
  return g_ascii_isalnum(c) || strchr("_-+.", c) != NULL;
}

static gboolean names(const char *text, const char *name)
{
  const gsize length = strlen(name);
  for (const char *at = text; (at = strstr(at, name)) != NULL; at++)
    if ((at == text || !is_name_letter(at[-1])) && !is_name_letter(at[length]))
      return TRUE;
  return FALSE;
}

/* What a thing's name is looked for in the steps by; NULL: of nothing. */
static const char *name_of(const LgJob *job, const LgBelongs *of)
{
  return of->part >= 0    ? job->parts[of->part].name
         : of->wire >= 0  ? job->wires[of->wire].name
         : of->place >= 0 ? job->places[of->place].name
         : of->run >= 0   ? job->runs[of->run].name
                          : NULL;
}

int lg_belongs_row(const LgJob *job, const LgTable *order, const LgBelongs *of)
{
  const char *const name = name_of(job, of);
  const char *const step = of->step >= 0 ? lg_build_step_word((LgBuildStep)of->step) : NULL;
  int first = -1;
  for (int row = 0; row < order->n_rows; row++) {
    if (step != NULL && strcmp(lg_table_text(order, row, "key"), step) != 0)
      continue;
    first = first < 0 ? row : first;
    if (name != NULL && strcmp(lg_table_text(order, row, "key"), "measure") != 0 &&
        (names(lg_table_text(order, row, "with"), name) ||
         names(lg_table_text(order, row, "do"), name)))
      return row;
  }
  return step != NULL ? first : -1;
}

gboolean lg_is_about_part(const LgBelongs *of, int part)
{
  return of->part == part && of->step < 0;
}

const char *lg_history_word(LgNoteIs is)
{
  switch (is) {
  case LG_NOTE_TEXT:
    return "";
  case LG_NOTE_FAILED:
    return T_("Failed");
  case LG_NOTE_CORRECTED:
    return T_("Corrected");
  case LG_NOTE_REPEATED:
    return T_("Repeated");
  }
  g_assert_not_reached();
}

/* ---- on paper ---- */

static void print_note(LgDocument *document, const LgNote *note, const char *before)
{
  const gboolean event = note->is != LG_NOTE_TEXT;
  g_autofree char *text = g_strconcat(
      before, lg_history_word(note->is), note->date != NULL && event ? ", " : "",
      note->date != NULL && event ? note->date : "", event ? ": " : "", note->text, NULL);
  lg_document_paragraph(document, text);
}

static void print_photo(LgDocument *document, const LgPacket *packet, int i, const char *before)
{
  const LgPhoto *const photo = &packet->job->photos[i];
  const LgShownPhoto *const shown = &packet->photos[i];
  g_autofree char *caption =
      g_strconcat(before, photo->text != NULL ? photo->text : photo->name, NULL);
  g_autofree char *gap =
      shown->why != NULL ? g_strdup_printf(T_("Photo %s is missing: %s."), photo->file, shown->why)
                         : NULL;
  lg_document_photo(document, shown->picture, caption, gap);
}

void lg_print_papers_of_part(LgDocument *document, const LgPacket *packet, int part)
{
  const LgJob *const job = packet->job;
  for (int i = 0; i < job->n_notes; i++)
    if (lg_is_about_part(&job->notes[i].of, part))
      print_note(document, &job->notes[i], "");
  for (int i = 0; i < job->n_photos; i++)
    if (lg_is_about_part(&job->photos[i].of, part))
      print_photo(document, packet, i, "");
}

gboolean lg_part_has_table(const LgPacket *packet, int part)
{
  for (guint i = 0; part >= 0 && i < packet->connectors->len; i++)
    if (lg_connector_part(packet->job, packet->connectors->pdata[i]) == part)
      return TRUE;
  return FALSE;
}

int lg_connector_part(const LgJob *job, const LgTable *table)
{
  return g_str_has_prefix(table->key, "connector-")
             ? lg_job_find_part(job, table->key + strlen("connector-"))
             : -1;
}

/* Whether it stands beside a table of pins already. */
static gboolean is_at_plug(const LgPacket *packet, const LgBelongs *of)
{
  return of->step < 0 && lg_part_has_table(packet, of->part);
}

void lg_print_papers_of_steps(LgDocument *document, const LgPacket *packet, const LgTable *order)
{
  const LgJob *const job = packet->job;
  for (int row = 0; row < order->n_rows; row++) {
    g_autofree char *step = g_strdup_printf(T_("Step %d: "), row + 1);
    for (int i = 0; i < job->n_notes; i++)
      if (!is_at_plug(packet, &job->notes[i].of) &&
          lg_belongs_row(job, order, &job->notes[i].of) == row)
        print_note(document, &job->notes[i], step);
    for (int i = 0; i < job->n_photos; i++)
      if (!is_at_plug(packet, &job->photos[i].of) &&
          lg_belongs_row(job, order, &job->photos[i].of) == row)
        print_photo(document, packet, i, step);
  }
}

static gboolean is_of_chapter(const LgPacket *packet, const LgTable *order, const LgBelongs *of,
                              int chapter)
{
  if (chapter >= 0 || of->chapter >= 0)
    return of->chapter == chapter;
  return !is_at_plug(packet, of) && (order == NULL || lg_belongs_row(packet->job, order, of) < 0);
}

/* -1: what belongs nowhere else. */
static void print_chapter(LgDocument *document, const LgPacket *packet, const LgTable *order,
                          int chapter, const char *title)
{
  const LgJob *const job = packet->job;
  gboolean begun = FALSE;
  for (int i = 0; i < job->n_notes + job->n_photos; i++) {
    const int p = i - job->n_notes;
    if (!is_of_chapter(packet, order, p < 0 ? &job->notes[i].of : &job->photos[p].of, chapter))
      continue;
    if (!begun)
      lg_document_section(document, title);
    begun = TRUE;
    if (p < 0)
      print_note(document, &job->notes[i], "");
    else
      print_photo(document, packet, p, "");
  }
}

void lg_print_chapters(LgDocument *document, const LgPacket *packet, const LgTable *order)
{
  for (int c = 0; c < packet->job->n_chapters; c++)
    print_chapter(document, packet, order, c, packet->job->chapters[c].text);
  print_chapter(document, packet, order, -1, T_("Notes and photos"));
}
