/* Ways pin by pin. */
#include "studies/sneak-private.h"

typedef struct {
  int edge, other;
  double amps;
} Next;

/* What carries most current into the node (`sign` +1) or out of it (-1). */
static Next main_next(const LgTrail *trail, int node, double sign)
{
  const LgWays *const ways = trail->ways;
  Next best = {-1, -1, 1e-9};
  for (int i = ways->first[node]; i < ways->first[node + 1]; i++) {
    const int edge = ways->incident[i];
    const double out = ways->a[edge] == node ? 1 : -1;
    const double amps = -out * sign * trail->amps[edge];
    if (amps > best.amps)
      best = (Next){edge, out > 0 ? ways->b[edge] : ways->a[edge], amps};
  }
  for (int j = 0; j < trail->n_joints; j++) {
    const LgJoint *const joint = &trail->joints[j];
    if (joint->a != node && joint->b != node)
      continue;
    const double out = joint->a == node ? 1 : -1;
    const double amps = -out * sign * joint->amps;
    if (amps > best.amps)
      best = (Next){LG_JOINT, out > 0 ? joint->b : joint->a, amps};
  }
  return best;
}

static gboolean is_source(const LgTrail *trail, int edge)
{
  const LgJob *const job = trail->ways->circuit->job;
  return edge >= job->n_wires && lg_element_is_source(job->elements[edge - job->n_wires].kind);
}

/* From the node on, against the current (`sign` +1) or with it. */
static void follow(const LgTrail *trail, int node, double sign, GArray *steps)
{
  /* Volts rise all the way, so no node comes twice; the count guards against rounding. */
  for (int n = 0; n < trail->ways->n_edges; n++) {
    const Next next = main_next(trail, node, sign);
    if (next.edge == -1)
      return;
    const LgTrailStep step = {next.edge, sign > 0 ? next.other : node,
                              sign > 0 ? node : next.other};
    g_array_append_val(steps, step);
    if (next.edge >= 0 && is_source(trail, next.edge))
      return;
    node = next.other;
  }
}

GArray *lg_trail_follow(const LgTrail *trail, int element, guint *at)
{
  const LgWays *const ways = trail->ways;
  const int edge = ways->circuit->job->n_wires + element;
  g_autoptr(GArray) back = g_array_new(FALSE, FALSE, sizeof(LgTrailStep));
  GArray *const steps = g_array_new(FALSE, FALSE, sizeof(LgTrailStep));
  *at = 0;
  if (ways->a[edge] < 0)
    return steps;
  const gboolean forward = trail->amps[edge] >= 0;
  const int in = forward ? ways->a[edge] : ways->b[edge],
            out = forward ? ways->b[edge] : ways->a[edge];
  follow(trail, in, 1, back);
  for (guint i = back->len; i > 0; i--)
    g_array_append_val(steps, g_array_index(back, LgTrailStep, i - 1));
  *at = steps->len;
  const LgTrailStep own = {edge, in, out};
  g_array_append_val(steps, own);
  follow(trail, out, -1, steps);
  return steps;
}

static const char *node_word(const LgTrail *trail, int node)
{
  const LgCircuit *const circuit = trail->ways->circuit;
  if (node == circuit->body_node)
    return "body";
  for (int p = 0; p < circuit->job->n_pins; p++)
    if (circuit->pin_node[p] == node)
      return circuit->job->pins[p].name;
  return "?";
}

char *lg_trail_words(const LgTrail *trail, const GArray *steps)
{
  GString *const words = g_string_new(NULL);
  for (guint i = 0; i < steps->len; i++) {
    const LgTrailStep *const step = &g_array_index(steps, LgTrailStep, i);
    if (step->edge >= 0 && is_source(trail, step->edge))
      continue;
    if (words->len == 0)
      g_string_append(words, node_word(trail, step->from));
    g_string_append_printf(words, " %s %s", step->edge == LG_JOINT ? "~" : ">",
                           node_word(trail, step->to));
  }
  return g_string_free(words, FALSE);
}
