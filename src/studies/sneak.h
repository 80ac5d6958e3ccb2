/* Sneak paths: current that comes to a load on a way that nobody meant.
 *
 * The way of a load's current is followed pin by pin from its source and back, at every pin along
 * the greatest current. Its own way is that of the state in which it draws most. It is fed by a
 * sneak path where it is live and its way leads through another load or coil that does not lie in
 * its own way, or through a wire on the feed side against the direction in which that wire carries
 * its greatest current. Loads whose own current turns round, such as motors behind reversing
 * switches, are looked at for the first kind only. Words of sneak analysis: sneak path, after the
 * method's handbooks (memory). */
#pragma once
#include "studies/sizing.h"

G_BEGIN_DECLS

typedef struct {
  int element;  /* load or coil that is fed */
  int state;    /* of LgStates: the plainest of the kept ones that shows it */
  int through;  /* other load or coil in the way, -1 */
  int against;  /* wire that carries it against its direction, -1 */
  double share; /* of its greatest power */
  double amps, volts;
  double first_A; /* a lamp is cold at first: its current then; else NAN */
  gboolean held;  /* coil: held in above its drop-out, though it would not pull in */
  char *way;      /* pin by pin */
} LgSneak;

/* Sneak paths of the healthy job in the states that were kept, one for each load and kind; LgSneak,
 * owned by the array. */
GArray *lg_sneaks_new(const LgSizing *sizing);

G_END_DECLS
