/* The next reading: what each would be expected to tell, in bits. */
#include "studies/identify-private.h"
#include <math.h>
#include <string.h>

/* How many things a cavity leads to, before anything is read; of one that leads somewhere already,
 * share of it. Common practice, no source, as the weights below. */
#define LINKS 0.8
#define LINKS_MORE 0.25
/* Like terminals and neighbours belong together more often. */
#define LIKE_TERMINALS 2.0
#define NEIGHBOURS 1.6
/* A pair within a piece, unread: another branch between them; seldom, for the simplest network
 * explains what was read. */
#define EXTRA_BRANCH 0.05
/* Open one way, not read the other. */
#define DIODE 0.01
/* Less is not worth the walk to the plug. */
#define LEAST_BITS 0.01

static double entropy2(double p)
{
  return p <= 0 || p >= 1 ? 0 : -(p * log2(p) + (1 - p) * log2(1 - p));
}

/* Bits that the ohms of something found tell about its class, on average over the table. */
static double ohms_tell(void)
{
  double all = 0, bits = 0;
  for (int c = 0; c < LG_N_ID_CLASSES; c++)
    all += lg_id_rows[c].prior;
  enum { STEPS = 120 };
  const double from = log(1e-3), to = log(1e7), step = (to - from) / STEPS;
  for (int i = 0; i < STEPS; i++) {
    double share[LG_N_ID_CLASSES], sum = 0;
    for (int c = 0; c < LG_N_ID_CLASSES; c++) {
      share[c] = lg_id_rows[c].prior / all *
                 exp(lg_id_ohm_density(&lg_id_rows[c], exp(from + (i + 0.5) * step), 1e-3));
      sum += share[c];
    }
    for (int c = 0; c < LG_N_ID_CLASSES; c++)
      if (share[c] > 0)
        bits += step * share[c] * log2(share[c] / sum / (lg_id_rows[c].prior / all));
  }
  return bits;
}

/* Bits that an outcome with the given chance in each class tells about the class. */
static double outcome_tells(const double chance[], const double given[])
{
  double p = 0, within = 0;
  for (int c = 0; c < LG_N_ID_CLASSES; c++) {
    p += chance[c] * given[c];
    within += chance[c] * entropy2(given[c]);
  }
  return fmax(entropy2(p) - within, 0);
}

static double done_tells(const LgFound *found, LgDid did)
{
  double given[LG_N_ID_CLASSES], bits = 0;
  const LgSaw saw = did == LG_DID_MOVED ? LG_SAW_CHANGE : LG_SAW_FLICKER;
  if (did == LG_DID_WARMED) { /* three outcomes: fall or not, then rise or steady of what is left */
    double rest[LG_N_ID_CLASSES], left = 0;
    for (int c = 0; c < LG_N_ID_CLASSES; c++) {
      given[c] = lg_id_rows[c].warmed[1];
      rest[c] = found->chance[c] * (1 - given[c]);
      left += rest[c];
    }
    bits = outcome_tells(found->chance, given);
    for (int c = 0; c < LG_N_ID_CLASSES; c++) {
      given[c] = lg_id_rows[c].warmed[2] / (1 - lg_id_rows[c].warmed[1]);
      rest[c] /= fmax(left, G_MINDOUBLE);
    }
    return bits + left * outcome_tells(rest, given);
  }
  for (int c = 0; c < LG_N_ID_CLASSES; c++)
    given[c] = lg_id_saw_chance(&lg_id_rows[c], did, saw);
  return outcome_tells(found->chance, given);
}

typedef struct {
  LgIdentity *id;
  int n;                 /* cavities that may be touched and hold something */
  double tells;          /* ohms_tell */
  gboolean *open;        /* [cavities][cavities] read open, red on the first */
  gboolean *finite;      /* [cavities][cavities] read at rest, either way */
  gboolean *moved;       /* [cavities][cavities] read after moving, either way */
  gboolean *group_open;  /* [cavities][cavities] by pieces: some pair was read open */
  gboolean *group_moved; /* by pieces: some pair was read after moving */
} Ranker;

static void propose(Ranker *r, int red, int black, LgDid did, gboolean reverse, double bits)
{
  const LgNext next = {.red = red,
                       .black = black,
                       .did = did,
                       .reverse = reverse,
                       .again = did != LG_DID_NOTHING,
                       .bits = bits};
  if (bits >= LEAST_BITS)
    g_array_append_val(r->id->next, next);
}

static gboolean may_touch(const LgIdentity *id, int cavity)
{
  return !id->cavities[cavity].shut && !id->cavities[cavity].empty;
}

static void note_probes(Ranker *r)
{
  const int n = r->id->n_cavities;
  const int *const group = r->id->net->group;
  for (int a = 0; a < n; a++)
    r->n += may_touch(r->id, a);
  for (int i = 0; i < r->id->n_probes; i++) {
    const LgProbe *const p = &r->id->probes[i];
    const int there = p->red * n + p->black, back = p->black * n + p->red;
    const int pieces = group[p->red] * n + group[p->black],
              seceip = group[p->black] * n + group[p->red];
    if (p->did == LG_DID_MOVED)
      r->moved[there] = r->moved[back] = r->group_moved[pieces] = r->group_moved[seceip] = TRUE;
    if (p->did != LG_DID_NOTHING && p->saw == LG_SAW_UNSAID)
      continue;
    if (isinf(p->ohm))
      r->open[there] = r->group_open[pieces] = r->group_open[seceip] = TRUE;
    else
      r->finite[there] = r->finite[back] = TRUE;
  }
}

static int piece_size(const Ranker *r, int cavity)
{
  int size = 0;
  for (int k = 0; k < r->id->n_cavities; k++)
    size += r->id->net->group[k] == r->id->net->group[cavity];
  return size;
}

static double link_chance(const Ranker *r, int a, int b)
{
  const LgCavity *const x = &r->id->cavities[a], *const y = &r->id->cavities[b];
  double p = LINKS / fmax(r->n - 1, 1);
  p *= piece_size(r, a) > 1 ? LINKS_MORE : 2 * (1 - r->id->nothing[a]);
  p *= piece_size(r, b) > 1 ? LINKS_MORE : 2 * (1 - r->id->nothing[b]);
  p *= x->kin != 0 && x->kin == y->kin ? LIKE_TERMINALS : 1;
  p *= b == a + 1 ? NEIGHBOURS : 1;
  return fmin(p, 0.6);
}

/* Two pieces need one reading only: all their cavities are joined or none. */
static void rank_apart(Ranker *r, int a, int b)
{
  const int n = r->id->n_cavities;
  const int *const group = r->id->net->group;
  const gboolean first = group[a] == a && group[b] == b;
  const double p = link_chance(r, a, b);
  if (!r->group_open[group[a] * n + group[b]]) {
    if (first)
      propose(r, a, b, LG_DID_NOTHING, FALSE, entropy2(p) + p * r->tells);
    return;
  }
  const gboolean there = r->open[a * n + b], back = r->open[b * n + a];
  if (there != back && !r->finite[a * n + b])
    propose(r, there ? b : a, there ? a : b, LG_DID_NOTHING, TRUE,
            entropy2(DIODE) * (1 - r->id->nothing[a]) * (1 - r->id->nothing[b]));
  if (first && !r->group_moved[group[a] * n + group[b]]) {
    const double closes = p * lg_id_rows[LG_ID_CONTACT].open;
    propose(r, a, b, LG_DID_MOVED, FALSE, entropy2(closes) + closes * r->tells);
  }
}

static void rank_pairs(Ranker *r)
{
  const int n = r->id->n_cavities;
  for (int a = 0; a < n; a++)
    for (int b = a + 1; b < n; b++) {
      if (!may_touch(r->id, a) || !may_touch(r->id, b))
        continue;
      if (r->id->net->group[a] != r->id->net->group[b])
        rank_apart(r, a, b);
      else if (!r->finite[a * n + b])
        propose(r, a, b, LG_DID_NOTHING, FALSE, entropy2(EXTRA_BRANCH));
    }
}

/* Cavities to put the leads on for a branch; a hidden node is reached through another cavity of its
 * piece. */
static gboolean leads_for(const LgIdentity *id, const LgFound *found, int *red, int *black)
{
  *red = MIN(found->a, found->b);
  *black = MAX(found->a, found->b);
  for (int k = 0; *black >= id->n_cavities && *red < id->n_cavities && k < id->n_cavities; k++)
    if (k != *red && id->net->group[k] == id->net->group[*red])
      *black = k;
  return *red < id->n_cavities && *black < id->n_cavities;
}

static void rank_found(Ranker *r)
{
  for (guint i = 0; i < r->id->found->len; i++) {
    const LgFound *const found = &g_array_index(r->id->found, LgFound, i);
    int red, black;
    if (found->switched || !isnan(found->back_ohm) || !leads_for(r->id, found, &red, &black))
      continue;
    if (found->warmed == LG_SAW_UNSAID && isnan(found->slope))
      propose(r, red, black, LG_DID_WARMED, FALSE, done_tells(found, LG_DID_WARMED));
    if (found->moved == LG_SAW_UNSAID)
      propose(r, red, black, LG_DID_MOVED, FALSE, done_tells(found, LG_DID_MOVED));
    if (found->turned == LG_SAW_UNSAID)
      propose(r, red, black, LG_DID_TURNED, FALSE, done_tells(found, LG_DID_TURNED));
    if (!found->both_ways && found->a < r->id->n_cavities && found->b < r->id->n_cavities) {
      double given[LG_N_ID_CLASSES];
      for (int c = 0; c < LG_N_ID_CLASSES; c++)
        given[c] = lg_id_rows[c].one_way;
      gboolean red_on_a = FALSE;
      for (int k = 0; k < r->id->n_probes; k++)
        red_on_a |= r->id->probes[k].red == found->a && r->id->probes[k].black == found->b;
      propose(r, red_on_a ? found->b : found->a, red_on_a ? found->a : found->b, LG_DID_NOTHING,
              found->n_readings > 0, outcome_tells(found->chance, given));
    }
  }
}

static int compare_bits(gconstpointer a, gconstpointer b)
{
  const LgNext *const x = a, *const y = b;
  if (x->bits != y->bits)
    return x->bits > y->bits ? -1 : 1;
  return x->red != y->red       ? x->red - y->red
         : x->black != y->black ? x->black - y->black
                                : (int)x->did - (int)y->did;
}

void lg_identity_rank(LgIdentity *identity)
{
  const gsize cells = (gsize)identity->n_cavities * (gsize)identity->n_cavities + 1;
  g_autofree gboolean *flags = g_new0(gboolean, 5 * cells);
  Ranker r = {.id = identity,
              .tells = ohms_tell(),
              .open = flags,
              .finite = flags + cells,
              .moved = flags + 2 * cells,
              .group_open = flags + 3 * cells,
              .group_moved = flags + 4 * cells};
  note_probes(&r);
  rank_pairs(&r);
  rank_found(&r);
  g_array_sort(identity->next, compare_bits);
}
