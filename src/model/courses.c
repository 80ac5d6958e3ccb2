/* What time and heat need: bodies, and the uses with their steps. */
#include "model/model-private.h"
#include <math.h>
#include <string.h>

static void read_body(LgJobBuild *build, const LgRecord *record)
{
  LgJob *const job = build->job;
  if (!lg_build_name(build, job->store->bodies, record->name, job->n_bodies, record->name_origin))
    return;
  job->bodies[job->n_bodies++] = (LgBody){
      .name = lg_build_text(build, record->name),
      .text = lg_build_text(build, record->text),
      .is = (LgBodyIs)lg_take_word(record, "is", LG_BODY_OTHER),
      .material = (LgMaterial)lg_take_word(record, "material", LG_MATERIAL_TEXTILE),
      .capacity_J_K = lg_take_number(record, "capacity", NAN),
      .touches = -1,
      .through_W_K = lg_take_number(record, "through", NAN),
      .loss_W_K = lg_take_number(record, "loss", 0),
      .held_K = lg_take_number(record, "holds", NAN),
      .origin = record->origin,
  };
}

static void link_body(LgJobBuild *build, const LgRecord *record)
{
  LgJob *const job = build->job;
  LgBody *const body = &job->bodies[lg_find(job->store->bodies, record->name)];
  const LgValue *const touches = lg_record_key(record, "touches"), *const through = lg_record_key(
                                                                       record, "through");
  if (touches != NULL && (body->touches = lg_find(job->store->bodies, touches->text)) < 0)
    lg_build_problem(
        build, touches->origin, g_strdup_printf("there is no body `%s`", touches->text),
        lg_build_did_you_mean(job->store->bodies, touches->text, "add a `body` record for it"));
  if ((touches == NULL) != (through == NULL))
    lg_build_problem(build, record->origin,
                     touches == NULL
                         ? g_strdup_printf("`%s` does not say which body it touches", body->name)
                         : g_strdup_printf("`%s` does not say how much heat goes to `%s`",
                                           body->name, touches->text),
                     g_strdup("write both, such as `touches=foam through=1.5W/K`"));
}

/* A body whose chain of touches comes back to it. */
static gboolean in_ring(const LgJob *job, int body)
{
  int at = job->bodies[body].touches;
  for (int n = 0; n < job->n_bodies && at >= 0; n++, at = job->bodies[at].touches)
    if (at == body)
      return TRUE;
  return FALSE;
}

void lg_build_bodies(LgJobBuild *build)
{
  LgJob *const job = build->job;
  const GPtrArray *const records = build->records[LG_KIND_BODY];
  job->bodies = lg_build_block(build, records->len, sizeof *job->bodies);
  for (guint i = 0; i < records->len; i++)
    read_body(build, records->pdata[i]);
  for (guint i = 0; i < records->len; i++)
    link_body(build, records->pdata[i]);
  for (int i = 0; i < job->n_bodies; i++)
    if (in_ring(job, i)) {
      lg_build_problem(build, job->bodies[i].origin,
                       g_strdup_printf("the touches of `%s` come back to it", job->bodies[i].name),
                       g_strdup("let one of the bodies touch none: each pair is said once"));
      return;
    }
}

static void read_use(LgJobBuild *build, const LgRecord *record)
{
  LgJob *const job = build->job;
  if (!lg_build_name(build, job->store->uses, record->name, job->n_uses, record->name_origin))
    return;
  job->uses[job->n_uses++] = (LgUse){
      .name = lg_build_text(build, record->name),
      .text = lg_build_text(build, record->text),
      .lasts_s = lg_take_number(record, "lasts", 0),
      .ambient_K = lg_take_number(record, "ambient", job->cold_K),
      .charge = lg_take_number(record, "charge", NAN),
      .repeat = (int)lg_take_number(record, "repeat", 1),
      .origin = record->origin,
  };
}

/* The use that a step's name begins with; -1 and a problem when there is none. */
static int use_of_step(LgJobBuild *build, const LgRecord *record)
{
  GHashTable *const uses = build->job->store->uses;
  g_autofree char *owner =
      g_strndup(record->name, (gsize)(strchr(record->name, '.') - record->name));
  const int use = lg_find(uses, owner);
  if (use < 0)
    lg_build_problem(build, record->name_origin, g_strdup_printf("there is no use `%s`", owner),
                     lg_build_did_you_mean(uses, owner, "add a `use` record for it"));
  return use;
}

static void read_step(LgJobBuild *build, const LgRecord *record, LgUse *use)
{
  LgUseStep step = {.at_s = lg_take_number(record, "at", 0),
                    .speed_rpm = lg_take_number(record, "speed", NAN),
                    .ambient_K = lg_take_number(record, "ambient", NAN),
                    .origin = record->origin};
  step.n_set = lg_build_when(build, record, &step.set);
  for (int i = 0; i < step.n_set; i++)
    if ((step.set[i].positions & (step.set[i].positions - 1)) != 0)
      lg_build_problem(build, record->origin,
                       g_strdup_printf("`%s` leaves open where %s goes", record->name,
                                       build->job->inputs[step.set[i].input].name),
                       g_strdup("a step sets each input to one position"));
  if (step.at_s >= use->lasts_s)
    lg_build_problem(build, record->origin,
                     g_strdup_printf("`%s` comes after the end of its use", record->name),
                     g_strdup("give the use a longer `lasts`, or let the step begin sooner"));
  use->steps[use->n_steps++] = step;
}

static int by_time(const void *a, const void *b)
{
  const LgUseStep *const x = a, *const y = b;
  if (x->at_s != y->at_s)
    return x->at_s < y->at_s ? -1 : 1;
  return x->origin.line - y->origin.line;
}

void lg_build_uses(LgJobBuild *build)
{
  LgJob *const job = build->job;
  const GPtrArray *const uses = build->records[LG_KIND_USE], *const steps =
                                                                 build->records[LG_KIND_STEP];
  job->uses = lg_build_block(build, uses->len, sizeof *job->uses);
  for (guint i = 0; i < uses->len; i++)
    read_use(build, uses->pdata[i]);
  g_autofree int *owner = g_new(int, MAX(steps->len, 1));
  g_autofree gsize *n = g_new0(gsize, MAX(job->n_uses, 1));
  for (guint i = 0; i < steps->len; i++)
    if ((owner[i] = use_of_step(build, steps->pdata[i])) >= 0)
      n[owner[i]]++;
  for (int u = 0; u < job->n_uses; u++)
    job->uses[u].steps = lg_build_block(build, n[u], sizeof *job->uses[u].steps);
  for (guint i = 0; i < steps->len; i++)
    if (owner[i] >= 0)
      read_step(build, steps->pdata[i], &job->uses[owner[i]]);
  for (int u = 0; u < job->n_uses; u++)
    if (job->uses[u].n_steps > 1)
      qsort(job->uses[u].steps, (gsize)job->uses[u].n_steps, sizeof(LgUseStep), by_time);
}
