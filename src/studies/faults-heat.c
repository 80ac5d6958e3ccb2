/* What opens, and how warm a wire gets until then. */
#include "heat/heat.h"
#include "studies/faults-private.h"

#define SHORT_S 5.0             /* a short circuit ends within 5 s: IEC 60364-4-43 (memory) */
#define OVERLOAD_S (6 * 3600.0) /* what the overload temperature of insulation is given for */
/* Pause of a breaker that closes again by itself: common practice, no source. */
#define PAUSE_S 10.0

struct LgHeats {
  const LgSizing *sizing;
  LgHeatWire *wires;  /* [n_wires] */
  LgHeatLoss *losses; /* [n_wires] */
};

static const LgInsulation *insulation_of(const LgJob *job, int wire)
{
  const LgInsulation *const own = job->wires[wire].insulation;
  return own != NULL ? own : job->insulation;
}

/* The covering of its hottest run, or of any. */
static const LgCover *cover_of(const LgJob *job, int wire)
{
  const LgWire *const w = &job->wires[wire];
  const LgCover *cover = NULL;
  for (int i = 0; i < w->n_runs; i++)
    if (cover == NULL || w->runs[i] == w->hottest_run)
      cover = job->runs[w->runs[i]].cover;
  return cover;
}

static LgSurroundings around_of(const LgJob *job, int wire)
{
  const LgCover *const cover = cover_of(job, wire);
  const double hot_K = job->wires[wire].hot_K;
  if (cover == NULL)
    return lg_bare(hot_K);
  const int field = lg_field_find(LG_KIND_COVER, "kind", strlen("kind"));
  return lg_covered_by(hot_K, lg_kinds[LG_KIND_COVER].fields[field].words[cover->kind],
                       cover->bore_m);
}

LgHeats *lg_heats_new(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  LgHeats *const heats = g_new0(LgHeats, 1);
  heats->sizing = sizing;
  heats->wires = g_new0(LgHeatWire, (gsize)job->n_wires + 1);
  heats->losses = g_new0(LgHeatLoss, (gsize)job->n_wires + 1);
  for (int w = 0; w < job->n_wires; w++) {
    heats->wires[w] = lg_heat_wire(sizing->wires[w].conductor, insulation_of(job, w));
    const LgSurroundings around = around_of(job, w);
    heats->losses[w] = lg_heat_loss(&heats->wires[w], &around);
  }
  return heats;
}

void lg_heats_free(LgHeats *heats)
{
  if (heats == NULL)
    return;
  g_free(heats->wires);
  g_free(heats->losses);
  g_free(heats);
}

double lg_heats_wire_K(const LgHeats *heats, int wire, double amps, double seconds)
{
  const LgHeatWire *const w = &heats->wires[wire];
  const double start_K =
      fmax(heats->sizing->wires[wire].conductor_K, heats->sizing->circuit->job->wires[wire].hot_K);
  if (isinf(seconds))
    return fmax(lg_loss_temperature(w, &heats->losses[wire], amps), start_K);
  /* Without any loss it cannot get warmer, and that is soon computed. */
  const double bound_K = lg_adiabatic_end(w->copper_m2, start_K, amps * amps * seconds);
  if (bound_K < start_K + 20)
    return bound_K;
  return lg_wire_after(w, &heats->losses[wire], start_K, amps, seconds);
}

double lg_heats_limit_K(const LgHeats *heats, int wire, double seconds)
{
  const LgInsulation *const insulation = insulation_of(heats->sizing->circuit->job, wire);
  if (seconds <= SHORT_S && !isnan(insulation->limit_K))
    return insulation->limit_K;
  if (seconds <= OVERLOAD_S && !isnan(insulation->overload_K))
    return insulation->overload_K;
  return insulation->temperature_K;
}

/* At the coldest of its place, where it opens latest. */
static LgProtector protector_of(const LgSizing *sizing, int element, double rating_A)
{
  const LgJob *const job = sizing->circuit->job;
  const LgElement *const e = &job->elements[element];
  const int place = job->parts[e->part].place;
  return (LgProtector){.kind = e->kind == LG_EL_FUSE ? LG_PROTECTOR_FUSE : LG_PROTECTOR_BREAKER,
                       .rating_A = rating_A,
                       .ambient_K = place < 0 ? job->cold_K : job->places[place].cold_K,
                       .catalogue = job->catalogue,
                       .form = e->form,
                       .melting_A2s = NAN,
                       .reclose = e->reset == LG_RESET_SELF    ? LG_RECLOSE_SELF
                                  : e->reset == LG_RESET_POWER ? LG_RECLOSE_POWER
                                                               : LG_RECLOSE_HAND,
                       .off_s = PAUSE_S};
}

double lg_guard_opens_s(const LgSizing *sizing, int element, double rating_A, double amps)
{
  const LgProtector protector = protector_of(sizing, element, rating_A);
  return isnan(rating_A) ? INFINITY : lg_opening_time(&protector, amps).most_s;
}

double lg_guard_bears_A(const LgSizing *sizing, int element, double rating_A)
{
  const LgProtector protector = protector_of(sizing, element, rating_A);
  double low = 0, high = 100 * rating_A;
  if (isnan(rating_A) || isinf(lg_opening_time(&protector, high).most_s))
    return INFINITY;
  while (high - low > 1e-6 * high) {
    const double middle = (low + high) / 2;
    if (isinf(lg_opening_time(&protector, middle).most_s))
      low = middle;
    else
      high = middle;
  }
  return high;
}
