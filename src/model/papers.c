/* What people add to their write-up: chapters, photos, notes, and what they belong to. */
#include "base/picture.h"
#include "model/model-private.h"
#include <string.h>

static void read_chapter(LgJobBuild *build, const LgRecord *record)
{
  LgJob *const job = build->job;
  const gboolean before = lg_record_key(record, "before") != NULL;
  if (before && lg_record_key(record, "after") != NULL)
    lg_build_problem(
        build, record->origin,
        g_strdup_printf("`%s` stands before one section and after another", record->name),
        g_strdup("say `before=` or `after=`"));
  job->chapters[job->n_chapters++] = (LgChapter){
      .name = lg_build_text(build, record->name),
      .text = lg_build_text(build, record->text != NULL ? record->text : record->name),
      .at = (LgChapterAt)lg_take_word(record, before ? "before" : "after", LG_AT_HISTORY),
      .behind = !before,
      .origin = record->origin,
  };
}

static int find_chapter(const LgJob *job, const char *name)
{
  for (int i = 0; i < job->n_chapters; i++)
    if (strcmp(job->chapters[i].name, name) == 0)
      return i;
  return -1;
}

static void report_belongs(LgJobBuild *build, const LgValue *of, int n)
{
  if (n == 0)
    lg_build_problem(
        build, of->origin,
        g_strdup_printf("there is no part, wire, place, run or chapter `%s`", of->text),
        lg_build_did_you_mean(build->job->store->parts, of->text,
                              "name one of this sheet, or leave `of=` out"));
  else
    lg_build_problem(build, of->origin,
                     g_strdup_printf("`%s` names several things of this sheet", of->text),
                     g_strdup("give the part, wire, place, run or chapter a name of its own"));
}

static LgBelongs read_belongs(LgJobBuild *build, const LgRecord *record)
{
  const LgJob *const job = build->job;
  const LgValue *const of = lg_record_key(record, "of");
  LgBelongs belongs = {-1, -1, -1, -1, -1, lg_take_word(record, "step", -1)};
  if (of == NULL)
    return belongs;
  belongs.part = lg_find(job->store->parts, of->text);
  belongs.wire = lg_find(job->store->wires, of->text);
  belongs.place = lg_find(job->store->places, of->text);
  belongs.run = lg_find(job->store->runs, of->text);
  belongs.chapter = find_chapter(job, of->text);
  const int n = (belongs.part >= 0) + (belongs.wire >= 0) + (belongs.place >= 0) +
                (belongs.run >= 0) + (belongs.chapter >= 0);
  if (n != 1)
    report_belongs(build, of, n);
  return belongs;
}

static void read_photo(LgJobBuild *build, const LgRecord *record)
{
  LgJob *const job = build->job;
  const LgValue *const file = lg_record_key(record, "file");
  if (!lg_picture_name_fits(file->text))
    lg_build_problem(build, file->origin,
                     g_strdup("that name leads out of the folder of the sheet"),
                     g_strdup("put the photo beside the sheet, and write its name alone"));
  job->photos[job->n_photos++] = (LgPhoto){
      .name = lg_build_text(build, record->name),
      .text = lg_build_text(build, record->text),
      .file = lg_build_text(build, file->text),
      .of = read_belongs(build, record),
      .date = lg_take_text(build, record, "date", NULL),
      .by = lg_take_text(build, record, "by", NULL),
      .origin = record->origin,
  };
}

static void read_note(LgJobBuild *build, const LgRecord *record)
{
  LgJob *const job = build->job;
  if (record->text == NULL)
    lg_build_problem(build, record->origin, g_strdup_printf("`%s` says nothing", record->name),
                     g_strdup("write its text in quotes at the end"));
  job->notes[job->n_notes++] = (LgNote){
      .name = lg_build_text(build, record->name),
      .text = lg_build_text(build, record->text),
      .is = (LgNoteIs)lg_take_word(record, "is", LG_NOTE_TEXT),
      .of = read_belongs(build, record),
      .date = lg_take_text(build, record, "date", NULL),
      .by = lg_take_text(build, record, "by", NULL),
      .origin = record->origin,
  };
}

static void read_each(LgJobBuild *build, const GPtrArray *records,
                      void (*take)(LgJobBuild *, const LgRecord *))
{
  g_autoptr(GHashTable) names = g_hash_table_new(g_str_hash, g_str_equal);
  for (guint i = 0; i < records->len; i++) {
    const LgRecord *const record = records->pdata[i];
    if (lg_build_name(build, names, record->name, (int)i, record->name_origin))
      take(build, record);
  }
}

void lg_build_papers(LgJobBuild *build)
{
  LgJob *const job = build->job;
  const GPtrArray *const chapters = build->records[LG_KIND_CHAPTER],
                         *const photos = build->records[LG_KIND_PHOTO],
                         *const notes = build->records[LG_KIND_NOTE];
  job->chapters = lg_build_block(build, chapters->len, sizeof *job->chapters);
  job->photos = lg_build_block(build, photos->len, sizeof *job->photos);
  job->notes = lg_build_block(build, notes->len, sizeof *job->notes);
  read_each(build, chapters, read_chapter);
  read_each(build, photos, read_photo);
  read_each(build, notes, read_note);
}

char *lg_job_folder(const LgJob *job)
{
  return g_path_get_dirname(lg_sheet_file(job->sheet));
}
