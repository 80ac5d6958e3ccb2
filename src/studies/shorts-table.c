/* The shorts as a table. */
#include "base/words.h"
#include "studies/shorts.h"
#include <math.h>

static const LgColumn columns[] = {
    {"wire", N_("Wire"), LG_CELL_TEXT, LG_DIM_NONE, 0},
    {"most_A", N_("Short, most"), LG_CELL_NUMBER, LG_DIM_CURRENT, 3},
    {"least_A", N_("Least"), LG_CELL_NUMBER, LG_DIM_CURRENT, 3},
    {"opened_by", N_("Opened by"), LG_CELL_TEXT, LG_DIM_NONE, 0},
    {"opens_s", N_("At the latest"), LG_CELL_NUMBER, LG_DIM_TIME, 2},
    {"from_degC", N_("From"), LG_CELL_NUMBER, LG_DIM_TEMPERATURE, 3},
    {"reached_degC", N_("Reaches"), LG_CELL_NUMBER, LG_DIM_TEMPERATURE, 3},
    {"limit_degC", N_("May reach"), LG_CELL_NUMBER, LG_DIM_TEMPERATURE, 3},
    {"used", N_("Insulation used"), LG_CELL_NUMBER, LG_DIM_RATIO, 2},
    {"verdict", N_("Verdict"), LG_CELL_TEXT, LG_DIM_NONE, 0},
    {NULL, NULL, LG_CELL_TEXT, LG_DIM_NONE, 0},
};

static char *place_words(const LgJob *job, int wire, const LgWireShort *s, double x)
{
  const double at_m = x * job->wires[wire].length_m;
  if (s->device >= 0 && !isnan(s->from_m))
    return g_strdup_printf(T_("from %.2g m on, counted from %s"), s->from_m + at_m,
                           job->elements[s->device].name);
  return g_strdup_printf(T_("from %.2g m on, counted from %s"), at_m,
                         job->pins[job->wires[wire].pin[s->start]].name);
}

static char *verdict_words(const LgShorts *shorts, int w)
{
  const LgJob *const job = shorts->sizing->circuit->job;
  const LgProtection *const p = &shorts->sizing->protection[w];
  const LgWireShort *const s = &shorts->wires[w];
  if (!s->fed)
    return g_strdup(p->side == LG_SIDE_RETURN ? T_("no feed: it is on the return side")
                    : p->side == LG_SIDE_NONE ? T_("no feed: no source reaches it")
                                              : T_("no feed in any state"));
  if (p->side == LG_SIDE_BEHIND && s->reach >= 1)
    return g_strdup(T_("fed through a load, which runs unswitched then"));
  if (p->exempt)
    return g_strdup(T_("no fuse, by custom of the trade"));
  if (s->device < 0)
    return g_strdup(T_("no fuse"));
  if (s->reach < 1) {
    g_autofree char *place = place_words(job, w, s, s->reach);
    return g_strdup_printf(T_("spoilt %s"), s->reach <= 0 ? T_("anywhere") : place);
  }
  if (s->clears < 1) {
    g_autofree char *place = place_words(job, w, s, s->clears);
    return g_strdup_printf(T_("stays whole, but nothing need open %s"), place);
  }
  return g_strdup(T_("protected"));
}

LgTable *lg_shorts_table(const LgShorts *shorts)
{
  const LgJob *const job = shorts->sizing->circuit->job;
  LgTable *const table = lg_table_new("shorts", T_("Shorts to the body"), columns);
  for (int w = 0; w < job->n_wires; w++) {
    const LgWireShort *const s = &shorts->wires[w];
    g_autofree char *verdict = verdict_words(shorts, w);
    lg_table_add(table, job->wires[w].name, s->most_A, s->least_A,
                 s->opened_by >= 0 ? job->elements[s->opened_by].name : "", s->opens_s, s->start_K,
                 s->reached_K, s->limit_K, s->used, verdict);
  }
  table->note = g_strdup(T_(
      "Dead shorts, from all sources, on the coldest day and on the hottest with wires warm and "
      "chargers still. Most: at the fed end; least: at the other end. The rest is of the place "
      "that gets hottest, "
      "with the longest opening times; used: I2t over k2S2 of the insulation's limit (IEC 60949). "
      "A short from plus to plus, or on the return side, is fed by nothing."));
  return table;
}
