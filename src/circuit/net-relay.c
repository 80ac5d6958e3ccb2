/* Relays to their rest. All coils look at the same solution and move at once; where that goes round
 * in a ring (two relays that lock each other out), one coil moves at a time, and only if that goes
 * round too, it chatters. */
#include "circuit/net-private.h"

#define LANES 1
#include "circuit/net-lanes.h"

#include "circuit/net-relay-kernel.h"
#undef LANES
#define LANES 8
#include "circuit/net-lanes.h"

#include "circuit/net-relay-kernel.h"

LG_CLONES static void look_at_coils_wide(const LgNet *net, LgSlate *slate, LgVecI *moved)
{
  LgVecI ignored;
  look_at_coils_eight(net, slate, NULL, moved, &ignored);
}

LG_CLONES static void look_closer_wide(const LgNet *net, LgSlate *slate, const LgVec *reach,
                                       LgVecI *moved, LgVecI *unsure)
{
  look_at_coils_eight(net, slate, reach, moved, unsure);
}

LgLook lg_slate_look(const LgNet *net, LgSlate *slate, const LgVec *reach)
{
  LgVecI moved = {0}, unsure = {0};
  if (slate->lanes == 1) {
    const double reach_one = reach != NULL ? (*reach)[0] : 0;
    int64_t moved_one, unsure_one;
    look_at_coils_one(net, slate, reach != NULL ? &reach_one : NULL, &moved_one, &unsure_one);
    return (LgLook){moved_one != 0, unsure_one != 0};
  }
  if (reach == NULL)
    look_at_coils_wide(net, slate, &moved);
  else
    look_closer_wide(net, slate, reach, &moved, &unsure);
  return (LgLook){lg_lane_bits(&moved), lg_lane_bits(&unsure)};
}

/* Moves the coils of the lanes; in those of `single` only the first that wants to. */
static void move_coils(LgNetWork *work, LgSlate *slate, guint lanes, guint single)
{
  const int n = slate->lanes;
  for (int c = 0; c < lg_net_n_coils(work->net); c++) {
    int64_t *pulled = slate->pulled + c * n;
    const int64_t *wanted = slate->wanted + c * n;
    guint moved = 0;
    for (int l = 0; l < n; l++)
      moved |= (guint)(wanted[l] != pulled[l]) << l;
    moved &= lanes;
    lanes &= ~(moved & single);
    for (guint rest = moved; rest != 0; rest &= rest - 1)
      pulled[__builtin_ctz(rest)] ^= -1;
    if (moved != 0)
      lg_slate_coil_changed(work->net, slate, c);
  }
}

/* Lanes in which the two sets of coils differ, and the first coil that does. */
static guint compare_coils(const LgNet *net, int lanes, const int64_t *x, const int64_t *y,
                           int coil[LG_LANES])
{
  guint different = 0;
  for (int l = 0; l < lanes; l++)
    coil[l] = -1;
  if (memcmp(x, y, sizeof *x * (gsize)(lg_net_n_coils(net) * lanes)) == 0)
    return 0;
  for (int c = lg_net_n_coils(net) - 1; c >= 0; c--)
    for (int l = 0; l < lanes; l++)
      if (x[c * lanes + l] != y[c * lanes + l]) {
        different |= 1u << l;
        coil[l] = c;
      }
  return different;
}

/* Lanes come back to a set of coils they had: Brent's method, one saved set at growing distances.
 */
typedef struct {
  int steps, reach;
} Ring;

static void save_coils(const LgNet *net, LgSlate *slate, Ring *ring, int reach)
{
  memcpy(slate->saved, slate->pulled,
         sizeof *slate->saved * (gsize)(lg_net_n_coils(net) * slate->lanes));
  *ring = (Ring){0, reach};
}

/* Volts of the coils, or of all nodes, and what the coils want then. */
static LgSolved solve_pass(LgNetWork *work, LgSlate *slate, gboolean whole)
{
  if (!whole || work->net->n_curves > 0)
    return lg_slate_newton(work, slate, LG_AIM_MOVES);
  lg_slate_factor(work, slate);
  lg_slate_substitute(work, slate);
  return (LgSolved){.moving = lg_slate_look(work->net, slate, NULL).moving, .passes = 1};
}

LgRest lg_slate_settle(LgNetWork *work, LgSlate *slate, gboolean likely)
{
  const LgNet *net = work->net;
  const int most = 64 + 8 * lg_net_n_coils(net);
  LgRest rest = {0};
  gboolean unfinished;
  guint single = 0;
  Ring ring;
  int ignored[LG_LANES];
  for (int l = 0; l < LG_LANES; l++)
    rest.coil[l] = -1;
  save_coils(net, slate, &ring, 1);
  for (;;) {
    const LgSolved solved = solve_pass(work, slate, likely && rest.passes == 0);
    rest.passes++;
    rest.stalled = solved.stalled;
    rest.newton_passes = solved.passes;
    unfinished = solved.unfinished;
    guint moving = solved.moving & ~rest.chatter;
    if (moving == 0)
      break;
    if (++ring.steps > 1) {
      const guint back =
          moving & ~compare_coils(net, slate->lanes, slate->saved, slate->pulled, ignored);
      rest.chatter |= (back & single) | (rest.passes >= most ? moving : 0);
      if ((back & ~single) != 0 || ring.steps > ring.reach)
        save_coils(net, slate, &ring, (back & ~single) != 0 ? 1 : 2 * ring.reach);
      single |= back;
      if ((moving & rest.chatter) != 0) {
        int coil[LG_LANES];
        compare_coils(net, slate->lanes, slate->wanted, slate->pulled, coil);
        for (guint now = moving & rest.chatter; now != 0; now &= now - 1)
          rest.coil[__builtin_ctz(now)] = coil[__builtin_ctz(now)];
        moving &= ~rest.chatter;
      }
    }
    if (moving == 0)
      break;
    move_coils(work, slate, moving, single);
  }
  if (unfinished) {
    const LgSolved solved = lg_slate_newton(work, slate, LG_AIM_VOLTS);
    rest.stalled = solved.stalled;
    rest.newton_passes += solved.passes;
  }
  return rest;
}

/* Where a slate's coils shall stand. */
typedef struct {
  LgSlate *slate;
  const int64_t *coils;
} Stand;

static void put_coils(const LgNet *net, const Stand *stand)
{
  const gsize bytes = sizeof(int64_t) * (gsize)stand->slate->lanes;
  const int n = lg_net_n_coils(net), lanes = stand->slate->lanes;
  if (memcmp(stand->slate->pulled, stand->coils, bytes * (gsize)n) == 0)
    return;
  for (int c = 0; c < n; c++) {
    int64_t *now = stand->slate->pulled + c * lanes;
    if (memcmp(now, stand->coils + c * lanes, bytes) == 0)
      continue;
    memcpy(now, stand->coils + c * lanes, bytes);
    lg_slate_coil_changed(net, stand->slate, c);
  }
}

/* Different slates are prepared together, which saves time; one and the same must wait for its
 * turn. */
static void prepare_both(LgNetWork *work, const Stand *x, const Stand *y)
{
  if (x->slate == y->slate)
    return;
  put_coils(work->net, x);
  put_coils(work->net, y);
  lg_slate_factor_both(work, x->slate, y->slate);
}

/* One pass, and what the coils want then. */
static void first_pass(LgNetWork *work, const Stand *stand, int64_t *wanted)
{
  put_coils(work->net, stand);
  lg_slate_newton(work, stand->slate, LG_AIM_WANTS);
  memcpy(wanted, stand->slate->wanted,
         sizeof *wanted * (gsize)(lg_net_n_coils(work->net) * stand->slate->lanes));
}

static LgRest settle_from(LgNetWork *work, const Stand *stand, gboolean likely)
{
  put_coils(work->net, stand);
  return lg_slate_settle(work, stand->slate, likely);
}

/* Both starts go on from what their first passes want; where that is the same, so is the rest. */
LgRest lg_team_settle(LgNetWork *work, const LgTeam *team, gboolean latching)
{
  const LgNet *net = work->net;
  if (lg_net_n_coils(net) == 0)
    return lg_slate_settle(work, team->rest, TRUE);
  const int n = team->rest->lanes;
  const Stand pulled = {team->all_pulled, work->all}, released = {team->all_released, work->none};
  const Stand after_pulled = {team->from_pulled, work->high},
              after_released = {team->rest, work->low};
  int coil[LG_LANES];
  LgRest high = {0};
  guint apart = 0;
  if (latching) {
    prepare_both(work, &pulled, &released);
    first_pass(work, &pulled, work->high);
  }
  first_pass(work, &released, work->low);
  if (latching)
    apart = compare_coils(net, n, work->high, work->low, coil);
  if (apart != 0) {
    lg_slate_follow(net, team->from_pulled, team->rest);
    prepare_both(work, &after_pulled, &after_released);
    high = settle_from(work, &after_pulled, FALSE);
    memcpy(work->high, team->from_pulled->pulled,
           sizeof *work->high * (gsize)(lg_net_n_coils(net) * n));
  }
  LgRest rest = settle_from(work, &after_released, TRUE);
  rest.passes += high.passes + (latching ? 2 : 1);
  if (apart == 0)
    return rest;
  rest.latching = apart & compare_coils(net, n, work->high, team->rest->pulled, coil) &
                  ~(high.chatter | high.stalled | rest.chatter | rest.stalled);
  for (guint lanes = rest.latching; lanes != 0; lanes &= lanes - 1)
    rest.coil[__builtin_ctz(lanes)] = coil[__builtin_ctz(lanes)];
  return rest;
}

LgOutcome lg_rest_outcome(const LgRest *rest, int lane)
{
  const guint bit = 1u << lane;
  if (rest->stalled & bit)
    return LG_STALLED;
  if (rest->chatter & bit)
    return LG_CHATTER;
  return rest->latching & bit ? LG_LATCHING : LG_SOLVED;
}
