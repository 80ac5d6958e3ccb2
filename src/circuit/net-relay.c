/* Relays to their rest. All coils look at the same solution and move at once; where that goes round
 * in a ring (two relays that lock each other out), one coil moves at a time, and only if that goes
 * round too, it chatters. */
#include "circuit/net-private.h"

static void coil_volts(const LgNet *net, const LgSheet *sheet, const LgNetCoil *coil,
                       double volts[])
{
  const int n = sheet->lanes;
  const LgNetBranch *branch = lg_branch_at(net, coil->branch);
  const double *va = sheet->v + branch->a * n, *vb = sheet->v + branch->b * n;
  const int64_t *fa = sheet->floating + branch->a * n, *fb = sheet->floating + branch->b * n;
  for (int l = 0; l < n; l++) {
    const double across = coil->polarised ? va[l] - vb[l] : fabs(va[l] - vb[l]);
    const gboolean dead = fa[l] || fb[l] || !lg_sheet_branch_closed(net, sheet, coil->branch, l);
    volts[l] = dead ? 0 : across;
  }
}

/* Fills `wanted`; returns lanes in which a coil wants to move. A NAN releases. */
static guint look_at_coils(const LgNet *net, LgSheet *sheet)
{
  const int n = sheet->lanes;
  guint moved = 0;
  for (int c = 0; c < lg_net_n_coils(net); c++) {
    const LgNetCoil *coil = lg_net_coil(net, c);
    const int64_t *pulled = sheet->pulled + c * n;
    int64_t *wanted = sheet->wanted + c * n;
    double volts[LG_LANES];
    coil_volts(net, sheet, coil, volts);
    for (int l = 0; l < n; l++) {
      wanted[l] = volts[l] >= (pulled[l] ? coil->drop_out_volts : coil->pull_in_volts) ? -1 : 0;
      moved |= (guint)(wanted[l] != pulled[l]) << l;
    }
  }
  return moved;
}

/* Moves the coils of the lanes; in those of `single` only the first that wants to. */
static void move_coils(LgNetWork *work, LgSheet *sheet, guint lanes, guint single)
{
  const int n = sheet->lanes;
  for (int c = 0; c < lg_net_n_coils(work->net); c++) {
    int64_t *pulled = sheet->pulled + c * n;
    const int64_t *wanted = sheet->wanted + c * n;
    guint moved = 0;
    for (int l = 0; l < n; l++)
      moved |= (guint)(wanted[l] != pulled[l]) << l;
    moved &= lanes;
    lanes &= ~(moved & single);
    for (guint rest = moved; rest != 0; rest &= rest - 1)
      pulled[__builtin_ctz(rest)] ^= -1;
    if (moved != 0)
      lg_sheet_coil_changed(work->net, sheet, c);
  }
}

/* Lanes in which the two sets of coils differ, and the first coil that does. */
static guint compare_coils(const LgNet *net, int lanes, const int64_t *x, const int64_t *y,
                           int coil[LG_LANES])
{
  guint different = 0;
  for (int l = 0; l < lanes; l++)
    coil[l] = -1;
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

static void save_coils(const LgNet *net, LgSheet *sheet, Ring *ring, int reach)
{
  memcpy(sheet->saved, sheet->pulled,
         sizeof *sheet->saved * (gsize)(lg_net_n_coils(net) * sheet->lanes));
  *ring = (Ring){0, reach};
}

LgRest lg_sheet_settle(LgNetWork *work, LgSheet *sheet)
{
  const LgNet *net = work->net;
  const int most = 64 + 8 * lg_net_n_coils(net);
  LgRest rest = {0};
  guint single = 0;
  Ring ring;
  int ignored[LG_LANES];
  for (int l = 0; l < LG_LANES; l++)
    rest.coil[l] = -1;
  save_coils(net, sheet, &ring, 1);
  for (;;) {
    rest.stalled = lg_sheet_newton(work, sheet, &rest.newton_passes);
    rest.passes++;
    guint moving = look_at_coils(net, sheet) & ~rest.chatter;
    if (moving == 0)
      break;
    if (++ring.steps > 1) {
      const guint back =
          moving & ~compare_coils(net, sheet->lanes, sheet->saved, sheet->pulled, ignored);
      rest.chatter |= (back & single) | (rest.passes >= most ? moving : 0);
      if ((back & ~single) != 0 || ring.steps > ring.reach)
        save_coils(net, sheet, &ring, (back & ~single) != 0 ? 1 : 2 * ring.reach);
      single |= back;
      if ((moving & rest.chatter) != 0) {
        int coil[LG_LANES];
        compare_coils(net, sheet->lanes, sheet->wanted, sheet->pulled, coil);
        for (guint now = moving & rest.chatter; now != 0; now &= now - 1)
          rest.coil[__builtin_ctz(now)] = coil[__builtin_ctz(now)];
        moving &= ~rest.chatter;
      }
    }
    if (moving == 0)
      break;
    move_coils(work, sheet, moving, single);
  }
  return rest;
}

static void start_coils(const LgNet *net, LgSheet *sheet, int64_t pulled)
{
  for (int c = 0; c < lg_net_n_coils(net); c++) {
    gboolean changed = FALSE;
    for (int l = 0; l < sheet->lanes; l++) {
      changed |= sheet->pulled[c * sheet->lanes + l] != pulled;
      sheet->pulled[c * sheet->lanes + l] = pulled;
    }
    if (changed)
      lg_sheet_coil_changed(net, sheet, c);
  }
}

LgRest lg_sheet_settle_both(LgNetWork *work, LgSheet *sheet)
{
  const LgNet *net = work->net;
  if (lg_net_n_coils(net) == 0)
    return lg_sheet_settle(work, sheet);
  start_coils(net, sheet, -1);
  const LgRest high = lg_sheet_settle(work, sheet);
  memcpy(sheet->other, sheet->pulled,
         sizeof *sheet->other * (gsize)(lg_net_n_coils(net) * sheet->lanes));
  start_coils(net, sheet, 0);
  LgRest rest = lg_sheet_settle(work, sheet);
  int coil[LG_LANES];
  rest.latching = compare_coils(net, sheet->lanes, sheet->other, sheet->pulled, coil) &
                  ~(high.chatter | high.stalled | rest.chatter | rest.stalled);
  for (guint lanes = rest.latching; lanes != 0; lanes &= lanes - 1)
    rest.coil[__builtin_ctz(lanes)] = coil[__builtin_ctz(lanes)];
  rest.passes += high.passes;
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
