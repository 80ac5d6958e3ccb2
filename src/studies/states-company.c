/* How much a wire's own heat counts beside its neighbours', for the states worth a closer look. */
#include "heat/heat.h"
#include "studies/states-private.h"

/* Heat that leaves the surface of a warm bundle, W/(m2 K): convection and radiation at about 40 K
 * above the air (by lg_surface_heat). */
#define LEAVING_W_M2K 14.0

static double wire_temperature(const LgCircuit *circuit, const LgWire *wire)
{
  return circuit->day == LG_DAY_HOT    ? wire->hot_K
         : circuit->day == LG_DAY_COLD ? wire->cold_K
                                       : LG_ZERO_C_IN_K + 20;
}

/* Resistance per metre at 20 C of the conductor that the circuit has for a wire. */
static double ohm_m_of(const LgCircuit *circuit, int w)
{
  const LgJob *const job = circuit->job;
  const LgWire *const wire = &job->wires[w];
  const LgConductor nothing = {.resistance_ohm_m = 0};
  const double joints = lg_wire_resistance(job, wire, &nothing, wire->hot_K);
  const double ohm = 1 / lg_net_branch(circuit->net, circuit->wire_branch[w])->p[0] - joints;
  return fmax(ohm, 0) / fmax(wire->length_m, 1e-3) /
         lg_copper_ratio(wire_temperature(circuit, wire));
}

static const LgConductor *nearest(const LgCatalogue *catalogue, double ohm_m)
{
  const GPtrArray *const all = lg_catalogue_conductors(catalogue);
  const LgConductor *found = all->pdata[0];
  for (guint i = 1; i < all->len; i++) {
    const LgConductor *const c = all->pdata[i];
    if (fabs(c->resistance_ohm_m - ohm_m) < fabs(found->resistance_ohm_m - ohm_m))
      found = c;
  }
  return found;
}

/* Rise of a wire in the middle of a bundle by its own heat, over that by the same heat evenly in
 * the others, less 1; the formulas of the bundle's balance in heat/bundle.c. */
static double own_weight(const LgHeatWire wires[], int n, const LgHeatWire *own, double ambient_K)
{
  double squares = 0;
  for (int i = 0; i < n; i++)
    squares += wires[i].outer_m * wires[i].outer_m;
  const double share = own->outer_m * own->outer_m / squares;
  const double outside = 1 / (LEAVING_W_M2K * G_PI * lg_bundle_girth(wires, n));
  if (share > 0.999)
    return 0;
  const double spread = 4 * G_PI * lg_bundle_conductivity(wires, n, ambient_K + 40);
  const double by_own = outside - log(share) / spread + lg_heat_wire_wall_Km_W(own);
  const double by_others = outside + (1 + share * log(share) / (1 - share)) / spread;
  return by_own / by_others - 1;
}

LgWeights lg_weights_new(const LgCircuit *circuit, const int first_company[])
{
  const LgJob *const job = circuit->job;
  const gsize n = (gsize)job->n_wires + 1;
  LgWeights weights = {g_new0(double, n), g_new0(double, (gsize)first_company[job->n_wires] + 1)};
  g_autofree LgHeatWire *all = g_new0(LgHeatWire, n), *in_run = g_new0(LgHeatWire, n);
  for (int w = 0; w < job->n_wires; w++) {
    if (job->wires[w].n_runs == 0)
      continue;
    const double ohm_m = ohm_m_of(circuit, w);
    all[w] = lg_heat_wire(nearest(job->catalogue, ohm_m), job->wires[w].insulation);
    weights.ohm_m[w] = ohm_m * lg_copper_ratio(wire_temperature(circuit, &job->wires[w]));
  }
  for (int run = 0; run < job->n_runs; run++) {
    int n_in = 0;
    for (int w = 0; w < job->n_wires; w++)
      for (int r = 0; r < job->wires[w].n_runs; r++)
        if (job->wires[w].runs[r] == run)
          in_run[n_in++] = all[w];
    for (int w = 0; w < job->n_wires && n_in > 0; w++)
      for (int r = 0; r < job->wires[w].n_runs; r++)
        if (job->wires[w].runs[r] == run)
          weights.own_weight[first_company[w] + r] =
              own_weight(in_run, n_in, &all[w], job->runs[run].hot_K);
  }
  return weights;
}

void lg_weights_clear(LgWeights *weights)
{
  g_free(weights->ohm_m);
  g_free(weights->own_weight);
}
