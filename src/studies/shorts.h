/* Shorts: every wire against the body, at every place along it, with what all sources feed into it.
 *
 * The network is solved anew with the short at either end of the wire, twice: on the coldest day
 * with the chargers as in the wire's liveliest state (the wires conduct best), and on the hottest
 * day with wires as warm as their lasting load makes them and the chargers still (they conduct
 * worst, but a warm battery gives more).
 * Between the ends 1/I is a straight line for each side. The short itself has no resistance. What
 * the warming of the copper takes off the current during the short is not counted: it opens a
 * fuse a little later. Electronic outputs have no limit in the sheet and count as contacts.
 *
 * A wire on the return side, or one that no source reaches, has nothing that feeds a short to the
 * body. */
#pragma once
#include "base/table.h"
#include "studies/sizing.h"

G_BEGIN_DECLS

typedef struct {
  gboolean fed;           /* anything feeds a short of it; FALSE: the rest is NAN and -1 */
  int start;              /* 0 or 1: end of the wire that the feed comes to */
  double most_A, least_A; /* at that end the more of both days, at the other the less */
  /* The short with the hottest wire. */
  double x;             /* where: 0 at the fed end, 1 at the other */
  double amps, opens_s; /* longest; INFINITY: nothing opens */
  int opened_by;        /* fuse or breaker that ends it, -1 */
  double start_K, reached_K, limit_K;
  double used;   /* I2t over k2S2 */
  double reach;  /* least x at which the wire passes its limit; 1: nowhere */
  double clears; /* least x from which on nothing need open; 1: nowhere */
  int device;    /* fuse or breaker next to it on the way from the source, -1 */
  double from_m; /* wire from there to its fed end; NAN */
} LgWireShort;

typedef struct LgShorts {
  const LgSizing *sizing;
  LgWireShort *wires; /* [n_wires] */
  guint64 n_solved;
} LgShorts;

LgShorts *lg_shorts_new(const LgSizing *sizing);
void lg_shorts_free(LgShorts *shorts);
/* One row a wire. */
LgTable *lg_shorts_table(const LgShorts *shorts);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgShorts, lg_shorts_free)
G_END_DECLS
