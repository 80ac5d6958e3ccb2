/* What a wire's size must satisfy by itself: current, fuse, strength, terminals. */
#include "studies/sizing-private.h"

/* Column of the two tables that serves an insulation: its own, else the next below that the table
 * has for this size. */
static const int columns_C[] = {200, 125, 105, 90, 85, 80, 75, 70, 60};

static gboolean look_up(const LgJob *job, LgTableName table, const LgConductor *conductor,
                        int column_C, LgAllowance *out, double *table_K)
{
  for (guint i = 0; i < G_N_ELEMENTS(columns_C); i++) {
    if (columns_C[i] > column_C)
      continue;
    const LgAmpacity found = lg_catalogue_ampacity(job->catalogue, table, conductor, columns_C[i]);
    if (isnan(found.current_A))
      continue;
    out->table = (int)table;
    out->table_A = found.current_A;
    out->interpolated = !found.exact;
    out->source = found.source;
    out->column_C = columns_C[i];
    *table_K = found.table_ambient_K;
    return TRUE;
  }
  return FALSE;
}

/* A conductor thinner than the tables go has the thinnest figure times its share of the metal,
 * which is less than physics would allow it (the current falls more slowly than the metal). */
static gboolean look_up_thin(const LgJob *job, const LgConductor *conductor, int column_C,
                             LgAllowance *out, double *table_K)
{
  const GPtrArray *const all = lg_catalogue_conductors(job->catalogue);
  for (guint i = 0; i < all->len; i++) {
    const LgConductor *const thinnest = all->pdata[i];
    const LgTableName table = thinnest->is_awg ? LG_TABLE_US : LG_TABLE_ISO;
    if (thinnest->is_awg != conductor->is_awg || thinnest->area_mm2 < conductor->area_mm2 ||
        !look_up(job, table, thinnest, column_C, out, table_K))
      continue;
    out->table_A *= conductor->area_mm2 / thinnest->area_mm2;
    out->interpolated = TRUE;
    return TRUE;
  }
  return FALSE;
}

static int in_run(const LgJob *job, const LgStates *states, int wire, int run)
{
  const int others = job->runs[run].others;
  if (states != NULL) {
    const gboolean counted = states->wires[wire].most_A.value >= 1.0;
    return states->run_loaded[run] + others + (counted ? 0 : 1);
  }
  int n = 0;
  for (int w = 0; w < job->n_wires; w++)
    for (int r = 0; r < job->wires[w].n_runs; r++)
      n += job->wires[w].runs[r] == run;
  return n + others;
}

/* Metric sizes take the table in mm2 where it reaches, AWG sizes the one in AWG; else the other, by
 * area. The ambient factor never lifts a table's figure: the tables' sources only lower it. */
LgAllowance lg_wire_allowance(const LgJob *job, const LgStates *states, int wire,
                              const LgConductor *conductor)
{
  const LgWire *const w = &job->wires[wire];
  LgAllowance out = {.ambient_K = w->hot_K, .n_bundle = 1, .run = -1, .bundle_factor = 1};
  const int column_C = w->insulation->table_column_C;
  const LgTableName own = conductor->is_awg ? LG_TABLE_US : LG_TABLE_ISO,
                    other = conductor->is_awg ? LG_TABLE_ISO : LG_TABLE_US;
  double table_K;
  if (!look_up(job, own, conductor, column_C, &out, &table_K) &&
      !look_up(job, other, conductor, column_C, &out, &table_K) &&
      !look_up_thin(job, conductor, column_C, &out, &table_K)) {
    out.table = (int)own;
    out.column_C = column_C;
    return out;
  }
  out.ambient_factor = fmin(1, lg_ambient_factor(w->insulation->temperature_K, w->hot_K, table_K));
  for (int r = 0; r < w->n_runs; r++) {
    const int n = in_run(job, states, wire, w->runs[r]);
    if (out.run < 0 || n > out.n_bundle) {
      out.n_bundle = MAX(n, 1);
      out.run = w->runs[r];
    }
  }
  if (job->bundle_table >= 0)
    out.bundle_factor =
        lg_catalogue_bundle_factor(job->catalogue, (LgTableName)job->bundle_table, out.n_bundle);
  out.allowed_A = out.table_A * out.ambient_factor * out.bundle_factor;
  return out;
}

gboolean lg_wire_is_covered(const LgJob *job, int wire)
{
  const LgWire *const w = &job->wires[wire];
  gboolean covered = w->n_runs > 0;
  for (int r = 0; r < w->n_runs; r++)
    covered &= job->runs[w->runs[r]].cover != NULL;
  return covered || w->sheathed;
}

#define SIGNAL_A 1.0

static gboolean is_signal(const LgJob *job, int wire, double most_A)
{
  const LgWire *const w = &job->wires[wire];
  for (int k = 0; k < 2; k++) {
    const LgCarries carries = job->pins[w->pin[k]].carries;
    if (carries == LG_CARRIES_POWER || carries == LG_CARRIES_RETURN)
      return FALSE;
  }
  return !(most_A >= SIGNAL_A);
}

/* A signal line of AWG size stays at 18 even when covered: thinner is not sold as vehicle wire. */
double lg_wire_least_mm2(const LgJob *job, int wire, double most_A)
{
  const gboolean covered = lg_wire_is_covered(job, wire), signal = is_signal(job, wire, most_A);
  if (job->awg_sizes)
    return lg_awg_mm2(covered || signal ? 18 : 16);
  return signal ? (covered ? 0.5 : 0.75) : (covered ? 0.75 : 1.0);
}

double lg_conductor_mm2(const LgConductor *conductor)
{
  return conductor->is_awg ? lg_awg_mm2((int)conductor->nominal) : conductor->nominal;
}

/* Sizes of the two series that serve as each other differ by a few per cent: AWG 14 is 2.08 mm2. */
#define SIZE_SLACK 0.03

static double terminal_mm2(const LgJob *job, int wire, gboolean greatest)
{
  double limit = greatest ? INFINITY : 0;
  for (int k = 0; k < 2; k++) {
    const LgTerminal *const terminal = job->pins[job->wires[wire].pin[k]].terminal;
    if (terminal == NULL)
      continue;
    const double mm2 = greatest ? terminal->wire_to_mm2 : terminal->wire_from_mm2;
    if (!isnan(mm2))
      limit = greatest ? fmin(limit, mm2) : fmax(limit, mm2);
  }
  return limit;
}

static double brief_or_lasting(const LgSizer *sizer, int wire)
{
  const LgWireStates *const seen = &sizer->out->states->wires[wire];
  return fmax(seen->most_A.value, seen->brief_A.value); /* fmax passes over NAN */
}

/* The states' current in the worst stretch, or the current solved anew where that is more. */
static void current_figures(const LgSizer *sizer, int wire, const LgConductor *conductor,
                            double most_A, double *limit, double *reached)
{
  const LgWireWarmth *const warmth = lg_warmer_look(sizer->out->warmer, wire, conductor);
  const double known_A = sizer->out->states->wires[wire].most_A.value;
  *limit = warmth->worst.allowed_A;
  *reached = warmth->worst.current_A * (known_A > 0 ? most_A / known_A : 1);
}

/* Overloads go up to ten times the rating: beyond the last gate a fuse's I2t stays. */
#define OVERLOADS 10

/* The wire may be too thin for what its fuse carries for good, or for an overload that opens late.
 * The latter as a rating, by the square law. `fuse-over-wire=` stands for both. */
static void fuse_figures(const LgSizer *sizer, int wire, const LgConductor *conductor,
                         double *limit, double *reached)
{
  const LgJob *const job = sizer->job;
  const LgProtection *const p = &sizer->out->protection[wire];
  const LgWireWarmth *const warmth = lg_warmer_look(sizer->out->warmer, wire, conductor);
  const int fuse = p->rating_device;
  *limit = job->fuse_over_wire * warmth->tight.allowed_A;
  *reached = 0;
  if (p->exempt || !isfinite(p->rating_A) || p->rating_A <= 0 || fuse < 0)
    return;
  *reached = lg_fuse_lasting_A(job, fuse, p->rating_A);
  if (*reached > *limit)
    return;
  const LgExposed exposed =
      lg_warmth_exposed(warmth, lg_overload_limit_K(job->wires[wire].insulation));
  LgProtector protector = lg_protector_of(job, fuse, p->rating_A);
  protector.rating_A /= job->fuse_over_wire;
  if (lg_overload_holds(&exposed, &protector, OVERLOADS * protector.rating_A))
    return;
  const LgOverload worst = lg_overload_worst(&exposed, &protector, OVERLOADS * protector.rating_A);
  *reached = p->rating_A;
  *limit = p->rating_A * sqrt((exposed.limit_K - warmth->tight.ambient_K) /
                              (worst.reached_K - warmth->tight.ambient_K));
}

void lg_sizer_figures(const LgSizer *sizer, int wire, const LgConductor *conductor, double most_A,
                      LgBind bind, double *limit, double *reached)
{
  const LgJob *const job = sizer->job;
  const double mm2 = lg_conductor_mm2(conductor);
  *limit = *reached = NAN;
  switch (bind) {
  case LG_BIND_CURRENT:
    current_figures(sizer, wire, conductor, most_A, limit, reached);
    break;
  case LG_BIND_FUSE:
    fuse_figures(sizer, wire, conductor, limit, reached);
    break;
  case LG_BIND_STRENGTH:
    *reached = mm2;
    *limit = lg_wire_least_mm2(job, wire, brief_or_lasting(sizer, wire));
    break;
  case LG_BIND_TERMINAL:
    *reached = mm2;
    *limit = terminal_mm2(job, wire, FALSE);
    break;
  case LG_BIND_DROP:
  case LG_BIND_SERIES:
  case LG_BIND_GIVEN:
    break;
  }
}

/* How far beyond its limit a figure is, as a factor; at most 1: kept. */
static double excess(LgBind bind, double limit, double reached)
{
  const double tie = 1 + 1e-9;
  if (bind == LG_BIND_STRENGTH || bind == LG_BIND_TERMINAL)
    return limit <= 0 ? 0 : limit * (1 - (bind == LG_BIND_TERMINAL ? SIZE_SLACK : 1e-6)) / reached;
  return reached <= 0 ? 0 : limit <= 0 ? INFINITY : reached / (limit * tie);
}

gboolean lg_sizer_breach(const LgSizer *sizer, int wire, const LgConductor *conductor,
                         double most_A, LgBreach *breach)
{
  static const LgBind binds[] = {LG_BIND_STRENGTH, LG_BIND_TERMINAL, LG_BIND_CURRENT, LG_BIND_FUSE};
  double worst = 1;
  for (guint i = 0; i < G_N_ELEMENTS(binds); i++) {
    double limit, reached;
    lg_sizer_figures(sizer, wire, conductor, most_A, binds[i], &limit, &reached);
    const double by = excess(binds[i], limit, reached);
    if (!(by > worst))
      continue;
    worst = by;
    const int fuse = binds[i] == LG_BIND_FUSE ? sizer->out->protection[wire].rating_device : -1;
    *breach = (LgBreach){binds[i], limit, reached, fuse};
  }
  return worst > 1;
}

const LgConductor *lg_sizer_conductor(const LgSizer *sizer, int index)
{
  return sizer->series->pdata[index];
}

double lg_sizer_kg(const LgSizer *sizer, int wire, int index)
{
  const LgWire *const w = &sizer->job->wires[wire];
  const double copper_kg_m3 = 8933; /* handbook value, memory */
  return lg_sizer_conductor(sizer, index)->area_mm2 * 1e-6 * (w->length_m + w->spare_m) *
         copper_kg_m3;
}

/* Whether a size breaks anything: the cheap constraints first. */
static gboolean serves(const LgSizer *sizer, int wire, const LgConductor *conductor, double most_A)
{
  static const LgBind binds[] = {LG_BIND_STRENGTH, LG_BIND_TERMINAL, LG_BIND_CURRENT, LG_BIND_FUSE};
  for (guint i = 0; i < G_N_ELEMENTS(binds); i++) {
    double limit, reached;
    lg_sizer_figures(sizer, wire, conductor, most_A, binds[i], &limit, &reached);
    if (excess(binds[i], limit, reached) > 1)
      return FALSE;
  }
  return TRUE;
}

/* Bounds from the states as they were seen last. `keep`: never below the bounds there were. */
void lg_sizer_set_bounds(LgSizer *sizer, gboolean keep)
{
  const LgJob *const job = sizer->job;
  const int n = (int)sizer->series->len;
  for (int w = 0; w < job->n_wires; w++) {
    if (!job->wires[w].is_auto)
      continue;
    const double most_A = sizer->out->states->wires[w].most_A.value;
    int least = keep ? sizer->least[w] : 0;
    while (least < n - 1 && !serves(sizer, w, lg_sizer_conductor(sizer, least), most_A))
      least++;
    sizer->least[w] = least;
    const double to_mm2 = terminal_mm2(job, w, TRUE) * (1 + SIZE_SLACK);
    int most = sizer->least[w];
    while (most < n - 1 && lg_conductor_mm2(lg_sizer_conductor(sizer, most + 1)) <= to_mm2)
      most++;
    sizer->most[w] = most;
  }
}
