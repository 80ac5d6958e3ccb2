/* Photos that the sheet names and nobody will see. */
#include "base/picture.h"
#include "base/words.h"
#include "studies/checks-private.h"

static void check_photo_missing(LgCheckContext *c)
{
  g_autofree char *folder = lg_job_folder(c->job);
  for (int i = 0; i < c->job->n_photos; i++) {
    const LgPhoto *const photo = &c->job->photos[i];
    g_autoptr(GError) error = NULL;
    if (!lg_picture_look(folder, photo->file, &error))
      lg_found(c, photo->origin, lg_say(c, T_("photo %s"), photo->name),
               lg_say(c, T_("Photo %s cannot be shown: %s."), photo->file, error->message),
               T_("file= of the photo, in the folder of the sheet"),
               T_("Put the photo there, or take the record out; until then a gap is printed in its "
                  "place."));
  }
}

const LgRule lg_rule_photo_missing = {
    .name = "photo-missing",
    .grade = LG_GRADE_CAUTION,
    .title = N_("a photo that the sheet names cannot be shown"),
    .what =
        "Each photo has to lie in the folder of the sheet or below it, as a JPEG or PNG of at "
        "most 64 million pixels and 64 MB, whole, and not behind a link. Who repeats a job from "
        "its write-up often knows a plug or a spot by its photo alone.",
    .source = "common practice, no source; the bounds keep a picture from filling the memory",
    .remedy =
        "Put the photo where the sheet says, save it smaller or as a JPEG, or take the record "
        "out.",
    .run = check_photo_missing,
};
