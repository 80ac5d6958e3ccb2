/* Cautions to print: what can hurt people in this kind of work, and what to do about it. They come
 * before everything that the tool computes. */
#pragma once
#include "model/model.h"

G_BEGIN_DECLS

typedef struct {
  const char *name;                      /* "restraint" */
  const char *title;                     /* one line for people */
  const char *const *lines;              /* sentences, NULL-ended */
  const char *source;                    /* where the figures come from; seen or memory */
  gboolean (*applies)(const LgJob *job); /* NULL: to every job */
} LgCaution;

extern const LgCaution lg_cautions[]; /* ends with name == NULL; gravest first */
gboolean lg_caution_applies(const LgCaution *caution, const LgJob *job);

/* The cautions of a job, const LgCaution*, in the order of the table; owned by the caller. */
GPtrArray *lg_cautions_of(const LgJob *job);

G_END_DECLS
