/* One state at a time, and the scratch that solving needs. */
#include "circuit/net-private.h"

#include <stdlib.h>

static void sheet_init(const LgNet *net, LgSheet *sheet, int lanes)
{
  const gsize n = (gsize)lanes;
  const gsize slots = (gsize)net->n_slots * n, curves = (gsize)net->n_curves * n;
  const gsize coils = (gsize)lg_net_n_coils(net) * n, gates = (gsize)net->gates->len * n;
  double **of_slots[] = {&sheet->w, &sheet->l, &sheet->j};
  double **of_curves[] = {&sheet->at,     &sheet->i_at,   &sheet->slope_at,  &sheet->now.u,
                          &sheet->now.c,  &sheet->now.i,  &sheet->now.slope, &sheet->next.u,
                          &sheet->next.c, &sheet->next.i, &sheet->next.slope};
  int64_t **of_coils[] = {&sheet->pulled, &sheet->wanted, &sheet->saved};
  sheet->lanes = lanes;
  sheet->version =
      net->version - LG_CHANGES - 1; /* behind by more than is remembered: load everything */
  for (guint i = 0; i < G_N_ELEMENTS(of_slots); i++)
    *of_slots[i] = lg_net_alloc(slots, sizeof(double));
  for (guint i = 0; i < G_N_ELEMENTS(of_curves); i++)
    *of_curves[i] = lg_net_alloc(curves, sizeof(double));
  for (guint i = 0; i < G_N_ELEMENTS(of_coils); i++)
    *of_coils[i] = lg_net_alloc(coils, sizeof(int64_t));
  sheet->stale = lg_net_alloc(curves, sizeof(int64_t));
  sheet->y = lg_net_alloc((gsize)net->n_own * n, sizeof(double));
  sheet->basket_w = lg_net_alloc((gsize)net->n_basket_slots * n, sizeof(double));
  sheet->basket_j = lg_net_alloc((gsize)net->n_basket_slots * n, sizeof(double));
  sheet->basket_stale = lg_net_alloc((gsize)net->n_baskets, sizeof(guint8));
  sheet->some_zero = lg_net_alloc((gsize)net->n_own, sizeof(guint8));
  sheet->zero = lg_net_alloc((gsize)net->n_own * n, sizeof(int64_t));
  sheet->v = lg_net_alloc((gsize)net->n_nodes * n, sizeof(double));
  sheet->floating = lg_net_alloc((gsize)net->n_nodes * n, sizeof(int64_t));
  sheet->g = lg_net_alloc((gsize)net->n_variable * n, sizeof(double));
  sheet->k = lg_net_alloc((gsize)net->n_variable * n, sizeof(double));
  sheet->allowed = lg_net_alloc(gates, sizeof(int64_t));
  sheet->closed = lg_net_alloc(gates, sizeof(int64_t));
  sheet->position = lg_net_alloc((gsize)lg_net_n_inputs(net) * n, sizeof(int));
  sheet->dirty = lg_net_alloc((gsize)(net->n_columns + 63) / 64, sizeof(guint64));
  for (int q = 0; q < net->n_curves; q++) {
    const LgNetBranch *branch = lg_branch_at(net, net->curves[q].branch);
    for (int at = q * lanes; at < (q + 1) * lanes; at++) {
      sheet->at[at] = lg_curve_start(net, branch);
      sheet->i_at[at] = lg_curve(branch, sheet->at[at], &sheet->slope_at[at]);
    }
  }
  for (int i = 0; i < net->lost.n; i++)
    for (int l = 0; l < lanes; l++)
      sheet->floating[net->lost.item[i] * lanes + l] = -1;
  for (guint i = 0; i < net->gates->len; i++)
    lg_sheet_load_gate(net, sheet, (int)i);
}

static void sheet_clear(LgSheet *sheet)
{
  gpointer owned[] = {
      sheet->w,      sheet->l,          sheet->j,        sheet->y,
      sheet->zero,   sheet->some_zero,  sheet->v,        sheet->floating,
      sheet->g,      sheet->k,          sheet->allowed,  sheet->closed,
      sheet->pulled, sheet->position,   sheet->dirty,    sheet->at,
      sheet->i_at,   sheet->slope_at,   sheet->now.u,    sheet->now.c,
      sheet->now.i,  sheet->now.slope,  sheet->next.u,   sheet->next.c,
      sheet->next.i, sheet->next.slope, sheet->stale,    sheet->wanted,
      sheet->saved,  sheet->basket_w,   sheet->basket_j, sheet->basket_stale,
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
  work->sum = lg_net_alloc((gsize)net->n_nodes, sizeof(double));
  sheet_init(net, &work->one, 1);
  work->alone = (LgTeam){&work->one, &work->one, &work->one, &work->one};
  work->team = (LgTeam){&work->wide[0], &work->wide[0], &work->wide[0], &work->wide[0]};
  sheet_init(net, &work->wide[0], LG_LANES);
  if (lg_net_n_coils(net) > 0) {
    for (int i = 1; i < 4; i++)
      sheet_init(net, &work->wide[i], LG_LANES);
    work->team = (LgTeam){&work->wide[0], &work->wide[1], &work->wide[2], &work->wide[3]};
  }
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

void lg_net_work_free(LgNetWork *work)
{
  if (work == NULL)
    return;
  gpointer owned[] = {work->w,   work->l,   work->j,    work->y,    work->dirty,
                      work->sum, work->all, work->none, work->high, work->low};
  for (guint i = 0; i < G_N_ELEMENTS(owned); i++)
    free(owned[i]);
  sheet_clear(&work->one);
  for (int i = 0; i < 4; i++)
    sheet_clear(&work->wide[i]);
  lg_exact_free(work->exact);
  lg_walk_free(work->walk);
  g_free(work);
}

static void set_positions(const LgNet *net, LgSheet *sheet, const int position[])
{
  for (int i = 0; i < lg_net_n_inputs(net); i++) {
    g_assert(position[i] >= 0 && position[i] < lg_net_input(net, i)->n_positions);
    if (sheet->position[i] != position[i]) {
      sheet->position[i] = position[i];
      lg_sheet_input_changed(net, sheet, i);
    }
  }
}

static LgRest settle_from(LgNetWork *work, LgSheet *sheet, gboolean pulled[])
{
  const LgNet *net = work->net;
  for (int c = 0; c < lg_net_n_coils(net); c++) {
    const int64_t start = pulled[c] ? -1 : 0;
    if (sheet->pulled[c] != start) {
      sheet->pulled[c] = start;
      lg_sheet_coil_changed(net, sheet, c);
    }
  }
  const LgRest rest = lg_sheet_settle(work, sheet, TRUE);
  for (int c = 0; c < lg_net_n_coils(net); c++)
    pulled[c] = sheet->pulled[c] != 0;
  return rest;
}

/* What the curves miss by, and, where currents are known, what the nodes miss by. */
static double residual(LgNetWork *work, const LgSheet *sheet, const double current[])
{
  const LgNet *net = work->net;
  double worst = 0, *sum = work->sum;
  for (int q = 0; q < net->n_curves; q++)
    if (lg_sheet_branch_closed(net, sheet, net->curves[q].branch, 0))
      worst = MAX(worst, fabs(sheet->now.i[q] - sheet->now.c[q]));
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
  LgSheet *sheet = &work->one;
  g_assert(work->net == net);
  lg_work_refresh(work, sheet);
  set_positions(net, sheet, position);
  const LgRest rest =
      pulled != NULL ? settle_from(work, sheet, pulled) : lg_team_settle(work, &work->alone);
  lg_sheet_substitute(work, sheet);
  memcpy(volts, sheet->v, sizeof *volts * (gsize)net->n_nodes);
  if (current != NULL)
    lg_exact_currents(work, work->exact, sheet, current);
  for (int b = 0; closed != NULL && b < lg_net_n_branches(net); b++)
    closed[b] = lg_sheet_branch_closed(net, sheet, b, 0) != 0;
  LgNetStatus status = {.outcome = lg_rest_outcome(&rest, 0),
                        .coil = rest.coil[0],
                        .relay_passes = rest.passes,
                        .newton_passes = rest.newton_passes,
                        .residual_A = residual(work, sheet, current)};
  for (int i = 0; i < net->n_nodes; i++)
    status.n_floating += isnan(volts[i]) ? 1 : 0;
  return status;
}
