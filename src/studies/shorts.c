/* Every wire against the body. */
#include "studies/shorts.h"
#include "studies/shorts-net.h"
#include "studies/states-private.h"

/* A fuse whose share of the fault is less does not keep it alive. */
#define LEAST_SHARE 0.05
/* A fuse farther up that carries as much lies in the same way. */
#define SAME_SHARE 0.9
#define LEAST_A 1e-3

typedef struct {
  const LgSizing *sizing;
  const LgJob *job;
  LgShorts *out;
  int *position[2];    /* [n_inputs] of the wire at hand: greatest, least */
  LgShortNet *net[2];  /* cold, hot */
  int n_fuses, *fuses; /* elements */
  LgProtector *protectors;
  double (*amps)[2]; /* [n_fuses] in the case at hand, short at the wire's first and second pin */
  double **far_m;    /* [n_fuses][nodes] wire from the fuse; NULL: not asked for */
  LgWays *ways;
} Work;

static void list_fuses(Work *work)
{
  const LgJob *const job = work->job;
  const gsize n = (gsize)job->n_elements + 1;
  work->fuses = g_new(int, n);
  work->protectors = g_new(LgProtector, n);
  work->amps = g_malloc0(sizeof *work->amps * n);
  work->far_m = g_new0(double *, n);
  for (int e = 0; e < job->n_elements; e++) {
    const double rating_A = work->sizing->fuses[e].rating_A;
    if (!lg_element_is_protection(job->elements[e].kind) || isnan(rating_A))
      continue;
    work->fuses[work->n_fuses] = e;
    work->protectors[work->n_fuses++] = lg_protector_of(job, e, rating_A);
  }
}

static int number_of(const Work *work, int element)
{
  for (int f = 0; f < work->n_fuses; f++)
    if (work->fuses[f] == element)
      return f;
  return -1;
}

/* --- how far from its fuse --- */

static double length_of(const Work *work, int edge)
{
  if (edge < work->job->n_wires)
    return work->job->wires[edge].length_m;
  const LgElementKind kind = work->job->elements[edge - work->job->n_wires].kind;
  return kind == LG_EL_LINK || kind == LG_EL_DIODE || lg_element_is_contact(kind) ? 0 : INFINITY;
}

/* Shortest lengths from both pins of a fuse, not through the ground; a node is looked at again when
 * its length falls. */
static double *measure(const Work *work, int fuse)
{
  const LgCircuit *const circuit = work->sizing->circuit;
  const int n = lg_net_n_nodes(circuit->net);
  double *const far_m = g_new(double, (gsize)n);
  GQueue queue = G_QUEUE_INIT;
  for (int i = 0; i < n; i++)
    far_m[i] = INFINITY;
  for (int k = 0; k < 2; k++) {
    const int node = circuit->pin_node[work->job->elements[fuse].pin[k]];
    far_m[node] = 0;
    g_queue_push_tail(&queue, GINT_TO_POINTER(node));
  }
  while (!g_queue_is_empty(&queue)) {
    const int node = GPOINTER_TO_INT(g_queue_pop_head(&queue));
    if (node == 0 || node == circuit->body_node)
      continue;
    for (int k = work->ways->first[node]; k < work->ways->first[node + 1]; k++) {
      const int edge = work->ways->incident[k];
      const int to = work->ways->a[edge] == node ? work->ways->b[edge] : work->ways->a[edge];
      const double then_m = far_m[node] + length_of(work, edge);
      if (then_m >= far_m[to])
        continue;
      far_m[to] = then_m;
      g_queue_push_tail(&queue, GINT_TO_POINTER(to));
    }
  }
  return far_m;
}

/* The nearest fuse that the wire's feed comes through, and the wire between. */
static void find_device(Work *work, int wire, LgWireShort *out)
{
  const LgProtection *const p = &work->sizing->protection[wire];
  const int node = work->sizing->circuit->pin_node[work->job->wires[wire].pin[out->start]];
  for (int d = p->n_devices > 0 ? 0 : -1; d < p->n_devices; d++) {
    const int fuse = number_of(work, d < 0 ? p->rating_device : p->devices[d]);
    if (fuse < 0)
      continue;
    if (work->far_m[fuse] == NULL)
      work->far_m[fuse] = measure(work, work->fuses[fuse]);
    const double far_m = work->far_m[fuse][node];
    if (out->device >= 0 && !(far_m < out->from_m))
      continue;
    out->device = work->fuses[fuse];
    out->from_m = isfinite(far_m) ? far_m : NAN;
  }
}

/* --- one wire --- */

static int liveliest_state(const Work *work, int wire)
{
  const LgStates *const states = work->sizing->states;
  LgExtreme best = {0, -1};
  for (int k = 0; k < 2; k++) {
    const LgPinStates *const pin = &states->pins[work->job->wires[wire].pin[k]];
    const LgExtreme volts = work->job->positive_ground ? pin->least_V : pin->most_V;
    if (volts.state >= 0 && fabs(volts.value) > fabs(best.value))
      best = volts;
  }
  return best.state >= 0 ? best.state : 0;
}

/* As it stands; and with the chargers at rest, where their conditions let them. */
static void set_positions(Work *work, int state)
{
  const guint8 *const at = lg_states_position(work->sizing->states, state);
  for (int i = 0; i < work->job->n_inputs; i++)
    work->position[0][i] = work->position[1][i] = at[i];
  for (int e = 0; e < work->job->n_elements; e++) {
    const LgElement *const element = &work->job->elements[e];
    const int input = work->job->parts[element->part].input;
    if (lg_element_is_source(element->kind) && element->kind != LG_EL_CELL && input >= 0)
      work->position[1][input] = 0;
  }
}

typedef struct {
  LgMeshShort mesh;
  double fault_A[2];   /* short at the first pin, at the second */
  double side_A[2][2]; /* what comes along the wire from its first and second pin, the same */
} Case;

static Case solve_case(Work *work, int wire, int which)
{
  Case c = {.fault_A = {0, 0}};
  LgShortNet *const net = work->net[which];
  for (int end = 0; end < 2; end++) {
    lg_short_net_solve(net, work->position[which], work->job->wires[wire].pin[end]);
    work->out->n_solved++;
    const double fault_A = lg_short_net_fault_A(net), sign = fault_A < 0 ? -1 : 1;
    const double along_A = sign * lg_short_net_wire_A(net, wire); /* first pin to second */
    const double from_far_A = fmax(0, end == 0 ? -along_A : along_A);
    c.fault_A[end] = fabs(fault_A);
    c.side_A[1 - end][end] = from_far_A;
    c.side_A[end][end] = fmax(0, c.fault_A[end] - from_far_A);
    for (int f = 0; f < work->n_fuses; f++)
      work->amps[f][end] = fabs(lg_short_net_element_A(net, work->fuses[f]));
  }
  return c;
}

/* A feed for each fuse at the edge of the stretch without one that carries a share, with what lies
 * in the same way. */
static void list_guards(const Work *work, int wire, int start, Case *c, LgGuard guards[])
{
  const LgProtection *const p = &work->sizing->protection[wire];
  LgMeshShort *const mesh = &c->mesh;
  for (int d = p->n_devices > 0 ? 0 : -1; d < p->n_devices; d++) {
    const int fuse = number_of(work, d < 0 ? p->rating_device : p->devices[d]);
    if (fuse < 0)
      continue;
    const double *const amps = work->amps[fuse];
    if (fmax(amps[0] - LEAST_SHARE * c->fault_A[0], amps[1] - LEAST_SHARE * c->fault_A[1]) < 0)
      continue;
    for (int f = 0; f < work->n_fuses; f++) {
      const double *const other = work->amps[f];
      if (f != fuse && (other[0] < SAME_SHARE * amps[0] || other[1] < SAME_SHARE * amps[1]))
        continue;
      guards[mesh->n_guards++] =
          (LgGuard){&work->protectors[f], {other[start], other[1 - start]}, mesh->n_feeds};
    }
    mesh->n_feeds++;
  }
  mesh->guards = guards;
  for (int k = 0; k < 2; k++) {
    const int side = k == 0 ? start : 1 - start;
    mesh->from[k] = (LgAmpsAlong){c->side_A[side][start], c->side_A[side][1 - start]};
  }
}

static int element_of(const Work *work, const LgProtector *protector)
{
  return work->fuses[protector - work->protectors];
}

static double clears_until(const LgMeshShort *mesh)
{
  double safe = 0, never = 1;
  if (isfinite(lg_mesh_short_opens(mesh, 1)))
    return 1;
  if (isinf(lg_mesh_short_opens(mesh, 0)))
    return 0;
  while (never - safe > 1e-3) {
    const double middle = (safe + never) / 2;
    if (isfinite(lg_mesh_short_opens(mesh, middle)))
      safe = middle;
    else
      never = middle;
  }
  return never;
}

static void judge_case(Work *work, int wire, const LgExposed *exposed, int which, LgWireShort *out)
{
  Case c = solve_case(work, wire, which);
  if (which == 0) {
    out->start = c.side_A[0][1] >= c.side_A[1][0] ? 0 : 1;
    out->fed = fmax(c.fault_A[0], c.fault_A[1]) >= LEAST_A;
  }
  out->most_A = fmax(out->most_A, c.fault_A[out->start]); /* fmax and fmin pass over NAN */
  out->least_A = fmin(out->least_A, c.fault_A[1 - out->start]);
  if (!out->fed)
    return;
  g_autofree LgGuard *guards = g_new(
      LgGuard, (gsize)work->n_fuses * ((gsize)work->sizing->protection[wire].n_devices + 1) + 1);
  c.mesh.exposed = exposed;
  list_guards(work, wire, out->start, &c, guards);
  LgShort worst;
  double x;
  const double reach = lg_mesh_short_reach(&c.mesh, &worst, &x);
  out->reach = fmin(out->reach, reach);
  out->clears = fmin(out->clears, clears_until(&c.mesh));
  if (worst.reached_K <= out->reached_K)
    return;
  out->x = x;
  out->amps = worst.current_A;
  out->opens_s = worst.opens_s;
  out->opened_by = worst.opened_by < 0 ? -1 : element_of(work, guards[worst.opened_by].protector);
  out->reached_K = worst.reached_K;
  out->used = worst.used;
}

static LgWireShort judge_wire(Work *work, int wire)
{
  const LgSide side = work->sizing->protection[wire].side;
  LgWireShort out = {.x = NAN,
                     .most_A = NAN,
                     .least_A = NAN,
                     .amps = NAN,
                     .opens_s = NAN,
                     .opened_by = -1,
                     .start_K = NAN,
                     .reached_K = -INFINITY,
                     .limit_K = NAN,
                     .used = NAN,
                     .reach = 1,
                     .clears = 1,
                     .device = -1,
                     .from_m = NAN};
  if (side == LG_SIDE_FEED || side == LG_SIDE_BEHIND) {
    const LgWireWarmth *const warmth =
        lg_warmer_look(work->sizing->warmer, wire, work->sizing->chosen[wire]);
    const LgExposed exposed =
        lg_warmth_exposed(warmth, lg_short_limit_K(work->job->wires[wire].insulation));
    set_positions(work, liveliest_state(work, wire));
    for (int which = 0; which < 2; which++)
      judge_case(work, wire, &exposed, which, &out);
    out.start_K = exposed.start_K;
    out.limit_K = exposed.limit_K;
    if (out.fed)
      find_device(work, wire, &out);
  }
  if (!out.fed)
    out.reached_K = NAN;
  return out;
}

static void work_clear(Work *work)
{
  for (int f = 0; f < work->n_fuses; f++)
    g_free(work->far_m[f]);
  g_free(work->far_m);
  g_free(work->fuses);
  g_free(work->protectors);
  g_free(work->amps);
  for (int k = 0; k < 2; k++) {
    g_free(work->position[k]);
    lg_short_net_free(work->net[k]);
  }
  lg_ways_free(work->ways);
}

LgShorts *lg_shorts_new(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  LgShorts *const out = g_new0(LgShorts, 1);
  out->sizing = sizing;
  out->wires = g_new0(LgWireShort, (gsize)job->n_wires + 1);
  Work work = {.sizing = sizing, .job = job, .out = out, .ways = lg_ways_new(sizing->circuit)};
  work.net[0] = lg_short_net_new(sizing, LG_DAY_COLD, FALSE);
  work.net[1] = lg_short_net_new(sizing, LG_DAY_HOT, TRUE);
  for (int k = 0; k < 2; k++)
    work.position[k] = g_new0(int, (gsize)job->n_inputs + 1);
  list_fuses(&work);
  for (int w = 0; w < job->n_wires; w++)
    out->wires[w] = judge_wire(&work, w);
  work_clear(&work);
  return out;
}

void lg_shorts_free(LgShorts *shorts)
{
  if (shorts == NULL)
    return;
  g_free(shorts->wires);
  g_free(shorts);
}
