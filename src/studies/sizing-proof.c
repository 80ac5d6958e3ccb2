/* The certificate of every wire: what forbids the next smaller size, solved anew with that size. */
#include "studies/sizing-private.h"

typedef struct {
  LgSizer *sizer;
  LgDropMeter *meter;
  GArray **loads; /* [n_wires] LgDropLimit*, those on whose way the wire lies */
} Proof;

static void read_position(const LgStates *states, int state, int to[])
{
  const guint8 *const from = lg_states_position(states, state);
  for (int i = 0; i < states->n_inputs; i++)
    to[i] = from[i];
}

/* Lasting current of the wire in its worst state, as the circuit stands. */
static double lasting_A(const Proof *proof, int wire)
{
  const LgStates *const states = proof->sizer->out->states;
  const LgExtreme most = states->wires[wire].most_A;
  if (most.state < 0)
    return 0;
  g_autofree int *position = g_new(int, (gsize)states->n_inputs + 1);
  read_position(states, most.state, position);
  lg_drop_meter_read(proof->meter, -1, position, NULL);
  return fabs(lg_drop_meter_wire_A(proof->meter, wire));
}

static void list_ways(Proof *proof)
{
  const LgSizer *const sizer = proof->sizer;
  g_autoptr(GArray) way = g_array_new(FALSE, FALSE, sizeof(int));
  for (guint l = 0; l < sizer->limits->len; l++) {
    const LgDropLimit *const limit = &g_array_index(sizer->limits, LgDropLimit, l);
    g_array_set_size(way, 0);
    lg_drop_meter_read(proof->meter, limit->load, limit->position, way);
    for (guint i = 0; i < way->len; i++)
      g_array_append_val(proof->loads[g_array_index(way, int, i)], limit);
  }
}

/* The load whose limit is broken most as the circuit stands. */
static gboolean worst_drop(const Proof *proof, int wire, LgBreach *breach)
{
  double worst = 1 + 1e-9;
  for (guint i = 0; i < proof->loads[wire]->len; i++) {
    const LgDropLimit *const limit = g_array_index(proof->loads[wire], LgDropLimit *, i);
    const double drop_V = lg_drop_meter_read(proof->meter, limit->load, limit->position, NULL);
    if (drop_V <= worst * limit->limit_V)
      continue;
    worst = drop_V / limit->limit_V;
    *breach = (LgBreach){LG_BIND_DROP, limit->limit_V, drop_V, limit->load};
  }
  return worst > 1 + 1e-9;
}

static void stand(const Proof *proof, int wire, const LgConductor *conductor)
{
  lg_circuit_set_wire(proof->sizer->out->circuit, wire, conductor,
                      proof->sizer->job->wires[wire].hot_K);
}

/* Figures of the binding constraint at the chosen size. */
static void fill_reached(const Proof *proof, int wire, LgWireSize *out)
{
  if (out->bind != LG_BIND_DROP) {
    lg_sizer_figures(proof->sizer, wire, out->conductor, out->most_A, out->bind, &out->limit,
                     &out->reached);
    return;
  }
  for (guint i = 0; i < proof->loads[wire]->len; i++) {
    const LgDropLimit *const limit = g_array_index(proof->loads[wire], LgDropLimit *, i);
    if (limit->load != out->bind_element)
      continue;
    const double drop_V = lg_drop_meter_read(proof->meter, limit->load, limit->position, NULL);
    if (!(drop_V <= out->reached)) {
      out->limit = limit->limit_V;
      out->reached = drop_V;
    }
  }
}

/* FALSE when the next smaller size breaks nothing, or the size itself does not serve. */
static gboolean certify(const Proof *proof, int wire, LgWireSize *out)
{
  const LgSizer *const sizer = proof->sizer;
  const int size = sizer->size[wire];
  if (size == 0) {
    out->bind = LG_BIND_SERIES;
    out->limit = out->reached = lg_conductor_mm2(out->conductor);
    return TRUE;
  }
  LgBreach breach = {LG_BIND_SERIES, NAN, NAN, -1};
  const gboolean serves = !lg_sizer_breach(sizer, wire, out->conductor, out->most_A, &breach);
  out->smaller = lg_sizer_conductor(sizer, size - 1);
  stand(proof, wire, out->smaller);
  const gboolean alone =
      lg_sizer_breach(sizer, wire, out->smaller, lasting_A(proof, wire), &breach);
  const gboolean holds = alone || worst_drop(proof, wire, &breach);
  stand(proof, wire, out->conductor);
  out->bind = breach.bind;
  out->bind_element = breach.element;
  out->smaller_limit = breach.limit;
  out->smaller_reached = breach.reached;
  fill_reached(proof, wire, out);
  return holds && serves;
}

static void describe(const LgSizer *sizer, int wire, LgWireSize *out)
{
  const LgJob *const job = sizer->job;
  const LgWire *const w = &job->wires[wire];
  const double ohm = lg_wire_resistance(job, w, out->conductor, w->hot_K);
  out->allowance = lg_wire_allowance(job, sizer->out->states, wire, out->conductor);
  out->most_A = sizer->out->states->wires[wire].most_A.value;
  out->drop_V = ohm * out->most_A;
  out->watts = ohm * out->most_A * out->most_A;
  const LgWireWarmth *const warmth = lg_warmer_look(sizer->out->warmer, wire, out->conductor);
  out->worst = warmth->worst;
  out->tight = warmth->tight;
  out->conductor_K = warmth->worst.conductor_K;
}

void lg_sizer_certify(LgSizer *sizer)
{
  const LgJob *const job = sizer->job;
  Proof proof = {sizer, lg_drop_meter_new(sizer->out->circuit),
                 g_new0(GArray *, (gsize)job->n_wires + 1)};
  for (int w = 0; w < job->n_wires; w++)
    proof.loads[w] = g_array_new(FALSE, FALSE, sizeof(LgDropLimit *));
  list_ways(&proof);
  gboolean all = TRUE;
  for (int w = 0; w < job->n_wires; w++) {
    LgWireSize *const out = &sizer->out->wires[w];
    *out = (LgWireSize){.conductor = sizer->out->chosen[w],
                        .bind = LG_BIND_GIVEN,
                        .limit = NAN,
                        .reached = NAN,
                        .smaller_reached = NAN,
                        .smaller_limit = NAN,
                        .bind_element = -1};
    describe(sizer, w, out);
    if (job->wires[w].is_auto)
      all &= certify(&proof, w, out);
  }
  sizer->out->proved =
      all && sizer->exhausted && sizer->out->copper_kg <= sizer->out->least_copper_kg * (1 + 1e-9);
  for (int w = 0; w < job->n_wires; w++)
    g_array_unref(proof.loads[w]);
  g_free(proof.loads);
  lg_drop_meter_free(proof.meter);
}
