/* One state at a time, and the scratch that solving needs. */
#include "circuit/net-private.h"

#include <stdlib.h>

static void set_lines(const LgNet *net, LgSlate *slate)
{
  const int lanes = slate->lanes;
  for (int q = 0; q < net->n_curves; q++) {
    const LgNetBranch *branch = lg_branch_at(net, net->curves[q].branch);
    for (int at = q * lanes; at < (q + 1) * lanes; at++) {
      slate->at[at] = lg_curve_start(net, branch);
      slate->i_at[at] = lg_curve(branch, slate->at[at], &slate->slope_at[at]);
      slate->was_at[at] = slate->at[at];
      slate->was_i[at] = slate->i_at[at];
      slate->was_slope[at] = slate->slope_at[at];
    }
  }
}

void lg_slate_restart_lines(const LgNet *net, LgSlate *slate)
{
  set_lines(net, slate);
  for (int q = 0; q < net->n_curves; q++) {
    lg_slate_load_branch(net, slate, net->curves[q].branch);
    lg_slate_mark(net, slate, net->curves[q].branch);
  }
}

static void slate_init(const LgNet *net, LgSlate *slate, int lanes)
{
  const gsize n = (gsize)lanes;
  const gsize slots = (gsize)net->n_slots * n, curves = (gsize)net->n_curves * n;
  const gsize coils = (gsize)lg_net_n_coils(net) * n, gates = (gsize)net->gates->len * n;
  double **of_slots[] = {&slate->w, &slate->l, &slate->j};
  double **of_curves[] = {&slate->at,     &slate->i_at,     &slate->slope_at,   &slate->now.u,
                          &slate->now.c,  &slate->now.i,    &slate->now.slope,  &slate->next.u,
                          &slate->next.c, &slate->next.i,   &slate->next.slope, &slate->was_at,
                          &slate->was_i,  &slate->was_slope};
  int64_t **of_coils[] = {&slate->pulled, &slate->wanted, &slate->saved};
  slate->lanes = lanes;
  slate->version =
      net->version - LG_CHANGES - 1; /* behind by more than is remembered: load everything */
  for (guint i = 0; i < G_N_ELEMENTS(of_slots); i++)
    *of_slots[i] = lg_net_alloc(slots, sizeof(double));
  for (guint i = 0; i < G_N_ELEMENTS(of_curves); i++)
    *of_curves[i] = lg_net_alloc(curves, sizeof(double));
  for (guint i = 0; i < G_N_ELEMENTS(of_coils); i++)
    *of_coils[i] = lg_net_alloc(coils, sizeof(int64_t));
  slate->stale = lg_net_alloc(curves, sizeof(int64_t));
  slate->y = lg_net_alloc((gsize)net->n_own * n, sizeof(double));
  slate->basket_w = lg_net_alloc((gsize)net->n_basket_slots * n, sizeof(double));
  slate->basket_j = lg_net_alloc((gsize)net->n_basket_slots * n, sizeof(double));
  slate->basket_stale = lg_net_alloc((gsize)net->n_baskets, sizeof(guint8));
  slate->some_zero = lg_net_alloc((gsize)net->n_own, sizeof(guint8));
  slate->zero = lg_net_alloc((gsize)net->n_own * n, sizeof(int64_t));
  slate->v = lg_net_alloc((gsize)net->n_nodes * n, sizeof(double));
  slate->floating = lg_net_alloc((gsize)net->n_nodes * n, sizeof(int64_t));
  slate->g = lg_net_alloc((gsize)net->n_variable * n, sizeof(double));
  slate->k = lg_net_alloc((gsize)net->n_variable * n, sizeof(double));
  slate->allowed = lg_net_alloc(gates, sizeof(int64_t));
  slate->closed = lg_net_alloc(gates, sizeof(int64_t));
  slate->position = lg_net_alloc((gsize)lg_net_n_inputs(net) * n, sizeof(int));
  slate->dirty = lg_net_alloc((gsize)(net->n_columns + 63) / 64, sizeof(guint64));
  set_lines(net, slate);
  for (int i = 0; i < net->lost.n; i++)
    for (int l = 0; l < lanes; l++)
      slate->floating[net->lost.item[i] * lanes + l] = -1;
  for (guint i = 0; i < net->gates->len; i++)
    lg_slate_load_gate(net, slate, (int)i);
}

static void slate_clear(LgSlate *slate)
{
  gpointer owned[] = {
      slate->w,      slate->l,          slate->j,         slate->y,
      slate->zero,   slate->some_zero,  slate->v,         slate->floating,
      slate->g,      slate->k,          slate->allowed,   slate->closed,
      slate->pulled, slate->position,   slate->dirty,     slate->at,
      slate->i_at,   slate->slope_at,   slate->now.u,     slate->now.c,
      slate->now.i,  slate->now.slope,  slate->next.u,    slate->next.c,
      slate->next.i, slate->next.slope, slate->stale,     slate->wanted,
      slate->saved,  slate->basket_w,   slate->basket_j,  slate->basket_stale,
      slate->was_at, slate->was_i,      slate->was_slope,
  };
  for (guint i = 0; i < G_N_ELEMENTS(owned); i++)
    free(owned[i]);
}

LgNetWork *lg_net_work_new(const LgNet *net)
{
  g_assert(net->closed);
  LgNetWork *work = g_new0(LgNetWork, 1);
  work->net = net;
  work->version = net->version - LG_CHANGES - 1;
  work->w = lg_net_alloc((gsize)net->n_entries, sizeof(double));
  work->l = lg_net_alloc((gsize)net->n_entries, sizeof(double));
  work->j = lg_net_alloc((gsize)net->n_entries, sizeof(double));
  work->y = lg_net_alloc((gsize)net->n_columns, sizeof(double));
  work->dirty = lg_net_alloc((gsize)(net->n_columns + 63) / 64, sizeof(guint64));
  work->zero = lg_net_alloc((gsize)net->n_columns, sizeof(guint8));
  work->sum = lg_net_alloc((gsize)net->n_nodes, sizeof(double));
  slate_init(net, &work->one, 1);
  work->alone = (LgTeam){&work->one, &work->one, &work->one, &work->one};
  work->none = lg_net_alloc((gsize)lg_net_n_coils(net) * LG_LANES, sizeof(int64_t));
  work->all = lg_net_alloc((gsize)lg_net_n_coils(net) * LG_LANES, sizeof(int64_t));
  for (int i = 0; i < lg_net_n_coils(net) * LG_LANES; i++)
    work->all[i] = -1;
  work->high = lg_net_alloc((gsize)lg_net_n_coils(net) * LG_LANES, sizeof(int64_t));
  work->low = lg_net_alloc((gsize)lg_net_n_coils(net) * LG_LANES, sizeof(int64_t));
  work->exact = lg_exact_new(net);
  work->walk = lg_walk_new(net);
  return work;
}

void lg_net_work_widen(LgNetWork *work)
{
  LgSlate *const wide = work->wide;
  if (wide[0].lanes > 0)
    return;
  const gboolean coils = lg_net_n_coils(work->net) > 0;
  for (int i = 0; i < (coils ? 4 : 1); i++)
    slate_init(work->net, &wide[i], LG_LANES);
  work->team = coils ? (LgTeam){&wide[0], &wide[1], &wide[2], &wide[3]}
                     : (LgTeam){&wide[0], &wide[0], &wide[0], &wide[0]};
}

void lg_net_work_free(LgNetWork *work)
{
  if (work == NULL)
    return;
  gpointer owned[] = {work->w,   work->l,   work->j,    work->y,    work->dirty, work->zero,
                      work->sum, work->all, work->none, work->high, work->low};
  for (guint i = 0; i < G_N_ELEMENTS(owned); i++)
    free(owned[i]);
  slate_clear(&work->one);
  for (int i = 0; i < 4; i++)
    slate_clear(&work->wide[i]);
  lg_exact_free(work->exact);
  lg_walk_free(work->walk);
  g_free(work);
}

static void set_positions(const LgNet *net, LgSlate *slate, const int position[])
{
  for (int i = 0; i < lg_net_n_inputs(net); i++) {
    g_assert(position[i] >= 0 && position[i] < lg_net_input(net, i)->n_positions);
    if (slate->position[i] != position[i]) {
      slate->position[i] = position[i];
      lg_slate_input_changed(net, slate, i);
    }
  }
}

void lg_net_coils(const LgNetWork *work, gboolean pulled[])
{
  for (int c = 0; c < lg_net_n_coils(work->net); c++)
    pulled[c] = work->one.pulled[c] != 0;
}

static LgRest settle_from(LgNetWork *work, LgSlate *slate, gboolean pulled[])
{
  const LgNet *net = work->net;
  for (int c = 0; c < lg_net_n_coils(net); c++) {
    const int64_t start = pulled[c] ? -1 : 0;
    if (slate->pulled[c] != start) {
      slate->pulled[c] = start;
      lg_slate_coil_changed(net, slate, c);
    }
  }
  const LgRest rest = lg_slate_settle(work, slate, TRUE);
  lg_net_coils(work, pulled);
  return rest;
}

/* What the curves miss by, and, where currents are known, what the nodes miss by. */
static double residual(LgNetWork *work, const LgSlate *slate, const double current[])
{
  const LgNet *net = work->net;
  double worst = 0, *sum = work->sum;
  for (int q = 0; q < net->n_curves; q++)
    if (lg_slate_branch_closed(net, slate, net->curves[q].branch, 0))
      worst = MAX(worst, fabs(slate->now.i[q] - slate->now.c[q]));
  if (current == NULL)
    return worst;
  memset(sum, 0, sizeof *sum * (gsize)net->n_nodes);
  for (int b = 0; b < lg_net_n_branches(net); b++) {
    sum[lg_branch_at(net, b)->a] -= current[b];
    sum[lg_branch_at(net, b)->b] += current[b];
  }
  for (int i = 1; i < net->n_nodes; i++)
    worst = MAX(worst, fabs(sum[i]));
  return worst;
}

LgNetStatus lg_net_solve(const LgNet *net, LgNetWork *work, const int position[], gboolean pulled[],
                         double volts[], double current[], gboolean closed[])
{
  LgSlate *slate = &work->one;
  g_assert(work->net == net);
  lg_work_refresh(work, slate);
  set_positions(net, slate, position);
  const LgRest rest =
      pulled != NULL ? settle_from(work, slate, pulled) : lg_team_settle(work, &work->alone, TRUE);
  lg_slate_substitute(work, slate);
  memcpy(volts, slate->v, sizeof *volts * (gsize)net->n_nodes);
  if (current != NULL)
    lg_exact_currents(work, work->exact, slate, current);
  for (int b = 0; closed != NULL && b < lg_net_n_branches(net); b++)
    closed[b] = lg_slate_branch_closed(net, slate, b, 0) != 0;
  LgNetStatus status = {.outcome = lg_rest_outcome(&rest, 0),
                        .coil = rest.coil[0],
                        .relay_passes = rest.passes,
                        .newton_passes = rest.newton_passes,
                        .residual_A = residual(work, slate, current)};
  for (int i = 0; i < net->n_nodes; i++)
    status.n_floating += isnan(volts[i]) ? 1 : 0;
  return status;
}
