/* The list of faults, their names, and what each changes in the network. */
#include "base/words.h"
#include "studies/faults-private.h"
#include <stdlib.h>

/* Metal on metal under some pressure; common practice, no source. */
#define HARD_S (1 / 0.005)
/* A suppression diode that conducts, with its leads; common practice, no source. */
#define DIODE_S (1 / 0.05)

typedef struct {
  const LgSizing *sizing;
  const LgJob *job;
  GArray *list;
  double *rest_V;          /* [n_pins] against the ground post, everything at rest */
  int *net;                /* [n_pins] pins tied by wires and links have one number */
  int hot_pin, ground_pin; /* posts of the main battery or source */
} Listing;

static const LgFailure nothing = {
    .wire = -1, .element = -1, .pin = {-1, -1}, .with = -1, .rating_A = NAN};

static void add(Listing *l, LgFailure fault)
{
  g_array_append_val(l->list, fault);
}

double lg_failure_rating(const LgSizing *sizing, int element)
{
  const LgFuseSize *const size = &sizing->fuses[element];
  return size->is_auto ? size->rating_A : sizing->circuit->job->elements[element].p[LG_P_RATING];
}

static int hot_side(const LgJob *job)
{
  return job->positive_ground ? 1 : 0;
}

static gboolean is_there(const Listing *l, int element)
{
  return l->sizing->circuit->element_branches[element] > 0;
}

/* --- pins tied together --- */

static int root(int forest[], int i)
{
  while (forest[i] != i)
    i = forest[i] = forest[forest[i]];
  return i;
}

static void tie_pins(Listing *l)
{
  const LgJob *const job = l->job;
  for (int p = 0; p < job->n_pins; p++)
    l->net[p] = p;
  for (int w = 0; w < job->n_wires; w++)
    l->net[root(l->net, job->wires[w].pin[0])] = root(l->net, job->wires[w].pin[1]);
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_LINK)
      l->net[root(l->net, job->elements[e].pin[0])] = root(l->net, job->elements[e].pin[1]);
  for (int p = 0; p < job->n_pins; p++)
    l->net[p] = root(l->net, p);
}

static void solve_rest(Listing *l)
{
  g_autoptr(LgNetWork) work = lg_net_work_new(l->sizing->circuit->net);
  g_autoptr(LgPoint) point = lg_point_new(l->sizing->circuit);
  lg_circuit_solve(l->sizing->circuit, work, point);
  for (int p = 0; p < l->job->n_pins; p++)
    l->rest_V[p] = point->volts[p] - point->volts[l->ground_pin];
}

/* The main source: the first battery, else the first source. */
static int main_source(const LgJob *job)
{
  int first = -1;
  for (int e = 0; e < job->n_elements; e++) {
    if (job->elements[e].kind == LG_EL_CELL)
      return e;
    if (first < 0 && lg_element_is_source(job->elements[e].kind))
      first = e;
  }
  return first;
}

static void find_posts(Listing *l)
{
  const LgElement *const source = &l->job->elements[main_source(l->job)];
  l->hot_pin = source->pin[hot_side(l->job)];
  l->ground_pin = source->pin[1 - hot_side(l->job)];
}

/* --- wires --- */

static gboolean share_way(const LgJob *job, const LgWire *a, const LgWire *b)
{
  for (int i = 0; i < a->n_runs; i++)
    for (int k = 0; k < b->n_runs; k++)
      if (a->runs[i] == b->runs[k])
        return TRUE;
  for (int i = 0; i < 2; i++)
    for (int k = 0; k < 2; k++) {
      const int place = job->parts[job->pins[a->pin[i]].part].place;
      if (place >= 0 && place == job->parts[job->pins[b->pin[k]].part].place)
        return TRUE;
    }
  return FALSE;
}

/* How live a wire is: 2 with everything at rest, 1 in some state, 0 never. */
static int liveliness(const Listing *l, int wire)
{
  const int pin = l->job->wires[wire].pin[0];
  const LgPinStates *const seen = &l->sizing->states->pins[pin];
  const double ground_V = l->job->positive_ground ? l->job->nominal_V : 0;
  if (fabs(l->rest_V[pin]) > 0.5 * l->job->nominal_V)
    return 2;
  return fabs(seen->most_V.value - ground_V) > 0.5 * l->job->nominal_V ||
         fabs(seen->least_V.value - ground_V) > 0.5 * l->job->nominal_V;
}

/* The strongest feed that runs along or ends in the same place; one that is live with everything at
 * rest goes before one that is so in some state only. */
static int plus_beside(const Listing *l, int wire)
{
  const LgJob *const job = l->job;
  int best = -1, best_live = 0;
  for (int w = 0; w < job->n_wires; w++) {
    const LgWire *const other = &job->wires[w];
    if (w == wire || l->sizing->protection[w].side != LG_SIDE_FEED ||
        l->net[other->pin[0]] == l->net[job->wires[wire].pin[0]] ||
        !share_way(job, &job->wires[wire], other))
      continue;
    const int live = liveliness(l, w);
    const double rating_A = l->sizing->protection[w].rating_A;
    if (live > best_live ||
        (live == best_live && best >= 0 && rating_A > l->sizing->protection[best].rating_A)) {
      best = w;
      best_live = live;
    }
  }
  return best;
}

static void list_wires(Listing *l)
{
  const LgJob *const job = l->job;
  for (int w = 0; w < job->n_wires; w++) {
    LgFailure fault = nothing;
    fault.wire = w;
    fault.kind = LG_FAIL_OPEN;
    add(l, fault);
    for (int end = 0; end < 2; end++) {
      fault.kind = LG_FAIL_TO_BODY;
      fault.pin[0] = job->wires[w].pin[end];
      add(l, fault);
    }
    fault.kind = LG_FAIL_TO_PLUS;
    fault.with = plus_beside(l, w);
    fault.pin[0] = job->wires[w].pin[l->sizing->protection[w].side == LG_SIDE_RETURN ? 0 : 1];
    fault.pin[1] = fault.with >= 0 ? job->wires[fault.with].pin[0] : l->hot_pin;
    if (l->net[fault.pin[0]] != l->net[fault.pin[1]])
      add(l, fault);
  }
}

/* --- cavities --- */

static int cavity_of(const LgPin *pin)
{
  return pin->cavity > 0 ? pin->cavity : atoi(pin->short_name);
}

static gboolean is_used(const Listing *l, int pin)
{
  const LgJob *const job = l->job;
  for (int w = 0; w < job->n_wires; w++)
    if (job->wires[w].pin[0] == pin || job->wires[w].pin[1] == pin)
      return TRUE;
  const LgPart *const part = &job->parts[job->pins[pin].part];
  for (int e = part->first_element; e < part->first_element + part->n_elements; e++)
    if (is_there(l, e) && (job->elements[e].pin[0] == pin || job->elements[e].pin[1] == pin))
      return TRUE;
  return FALSE;
}

static void list_pair(Listing *l, int a, int b)
{
  const LgJob *const job = l->job;
  const gboolean guarded = job->pins[a].restraint != LG_RESTRAINT_NO,
                 guarded_too = job->pins[b].restraint != LG_RESTRAINT_NO;
  if (l->net[a] == l->net[b] || (guarded && guarded_too) || (!guarded && !is_used(l, a)) ||
      (!guarded_too && !is_used(l, b)))
    return;
  LgFailure fault = nothing;
  fault.kind = LG_FAIL_BRIDGED;
  fault.pin[0] = a;
  fault.pin[1] = b;
  fault.restraint = guarded || guarded_too;
  add(l, fault);
}

static void list_face(Listing *l, const LgPart *part)
{
  const LgJob *const job = l->job;
  for (int a = part->first_pin; a < part->first_pin + part->n_pins; a++) {
    const int at = cavity_of(&job->pins[a]);
    for (int b = part->first_pin; at > 0 && b < part->first_pin + part->n_pins; b++) {
      const int to = cavity_of(&job->pins[b]);
      const gboolean beside = to == at + 1 && at % part->columns != 0;
      if (beside || to == at + part->columns)
        list_pair(l, a, b);
    }
  }
}

/* --- elements --- */

static void list_element(Listing *l, LgFailureKind kind, int element)
{
  LgFailure fault = nothing;
  fault.kind = kind;
  fault.element = element;
  add(l, fault);
}

static void list_ratings(Listing *l, int element)
{
  const LgElement *const e = &l->job->elements[element];
  const double rating_A = lg_failure_rating(l->sizing, element);
  const GPtrArray *const fuses = lg_catalogue_fuses(l->job->catalogue);
  int n = 0;
  for (guint i = 0; i < fuses->len && n < 2; i++) {
    const LgFuse *const fuse = fuses->pdata[i];
    if (e->form == NULL || strcmp(fuse->form, e->form) != 0 || !(fuse->rating_A > rating_A))
      continue;
    LgFailure fault = nothing;
    fault.kind = LG_FAIL_FUSE_LARGER;
    fault.element = element;
    fault.rating_A = fuse->rating_A;
    add(l, fault);
    n++;
  }
}

static int wires_at(const LgJob *job, int pin)
{
  int n = 0;
  for (int w = 0; w < job->n_wires; w++)
    n += job->wires[w].pin[0] == pin || job->wires[w].pin[1] == pin;
  return n;
}

/* The ground that a mechanic would take instead: the busiest one in the sensor's place, else the
 * busiest. */
static int other_ground(const Listing *l, int pin)
{
  const LgJob *const job = l->job;
  int best = -1;
  gboolean best_near = FALSE;
  for (int e = 0; e < job->n_elements; e++) {
    if (job->elements[e].kind != LG_EL_CHASSIS)
      continue;
    const int ground = job->elements[e].pin[0];
    const gboolean near =
        job->parts[job->elements[e].part].place == job->parts[job->pins[pin].part].place;
    if (l->net[ground] != l->net[pin] &&
        (best < 0 || near > best_near ||
         (near == best_near && wires_at(job, ground) > wires_at(job, best)))) {
      best = ground;
      best_near = near;
    }
  }
  return best;
}

static void list_return(Listing *l, int thermistor)
{
  const LgJob *const job = l->job;
  const int pin = job->elements[thermistor].pin[1];
  const int ground = other_ground(l, pin);
  for (int w = 0; w < job->n_wires && ground >= 0; w++) {
    if (job->wires[w].pin[0] != pin && job->wires[w].pin[1] != pin)
      continue;
    LgFailure fault = nothing;
    fault.kind = LG_FAIL_RETURN_MOVED;
    fault.element = thermistor;
    fault.wire = w;
    fault.pin[0] = pin;
    fault.pin[1] = ground;
    add(l, fault);
    return;
  }
}

static gboolean has_charger(const LgJob *job)
{
  for (int e = 0; e < job->n_elements; e++)
    if (lg_element_is_source(job->elements[e].kind) && job->elements[e].kind != LG_EL_CELL)
      return TRUE;
  return FALSE;
}

static void list_elements(Listing *l)
{
  for (int e = 0; e < l->job->n_elements; e++) {
    const LgElementKind kind = l->job->elements[e].kind;
    if (!is_there(l, e))
      continue;
    if (kind == LG_EL_CHASSIS)
      list_element(l, LG_FAIL_GROUND_LOST, e);
    if (lg_element_is_contact(kind)) {
      list_element(l, LG_FAIL_WELDED, e);
      list_element(l, LG_FAIL_STUCK_OPEN, e);
    }
    if (kind == LG_EL_COIL) {
      list_element(l, LG_FAIL_COIL_OPEN, e);
      list_element(l, LG_FAIL_TURNED, e);
    }
    if (kind == LG_EL_THERMISTOR) {
      list_element(l, LG_FAIL_SENSOR_OPEN, e);
      list_element(l, LG_FAIL_SENSOR_SHORTED, e);
      list_return(l, e);
    }
    if (lg_element_is_load(kind)) {
      list_element(l, LG_FAIL_LOAD_OPEN, e);
      list_element(l, LG_FAIL_LOAD_SHORTED, e);
    }
    if (lg_element_is_protection(kind))
      list_ratings(l, e);
    if (lg_element_is_source(kind))
      list_element(l, LG_FAIL_REVERSED, e);
    if (kind == LG_EL_CELL && has_charger(l->job))
      list_element(l, LG_FAIL_BATTERY_OFF, e);
  }
}

GArray *lg_failure_list(const LgSizing *sizing)
{
  const LgJob *const job = sizing->circuit->job;
  Listing l = {.sizing = sizing,
               .job = job,
               .list = g_array_new(FALSE, FALSE, sizeof(LgFailure)),
               .rest_V = g_new0(double, (gsize)job->n_pins + 1),
               .net = g_new0(int, (gsize)job->n_pins + 1)};
  tie_pins(&l);
  find_posts(&l);
  solve_rest(&l);
  list_wires(&l);
  for (int p = 0; p < job->n_parts; p++)
    if (job->parts[p].columns > 0)
      list_face(&l, &job->parts[p]);
  list_elements(&l);
  g_free(l.rest_V);
  g_free(l.net);
  return l.list;
}

/* --- words --- */

static const char *element_word(const LgJob *job, int element)
{
  const LgElement *const e = &job->elements[element];
  const LgPart *const part = &job->parts[e->part];
  return part->n_elements == 1 && part->type != NULL ? part->name : e->name;
}

char *lg_failure_subject(const LgJob *job, const LgFailure *fault)
{
  switch (fault->kind) {
  case LG_FAIL_BRIDGED:
    return g_strdup_printf("%s and %s", job->pins[fault->pin[0]].name,
                           job->pins[fault->pin[1]].name);
  case LG_FAIL_TURNED:
    return g_strdup(job->parts[job->elements[fault->element].part].name);
  case LG_FAIL_RETURN_MOVED:
    return g_strdup(job->wires[fault->wire].name);
  default:
    return g_strdup(fault->wire >= 0 ? job->wires[fault->wire].name
                                     : element_word(job, fault->element));
  }
}

char *lg_failure_manner(const LgJob *job, const LgFailure *fault)
{
  static const char *const plain[LG_N_FAILURE_KINDS] = {
      [LG_FAIL_OPEN] = N_("open"),
      [LG_FAIL_TO_BODY] = N_("to the body"),
      [LG_FAIL_TO_PLUS] = N_("to plus"),
      [LG_FAIL_BRIDGED] = N_("bridged"),
      [LG_FAIL_GROUND_LOST] = N_("off the body"),
      [LG_FAIL_WELDED] = N_("welded shut"),
      [LG_FAIL_STUCK_OPEN] = N_("never closes"),
      [LG_FAIL_COIL_OPEN] = N_("open"),
      [LG_FAIL_SENSOR_OPEN] = N_("open"),
      [LG_FAIL_SENSOR_SHORTED] = N_("shorted"),
      [LG_FAIL_LOAD_OPEN] = N_("open"),
      [LG_FAIL_LOAD_SHORTED] = N_("shorted"),
      [LG_FAIL_REVERSED] = N_("reversed"),
      [LG_FAIL_BATTERY_OFF] = N_("disconnected while charging"),
      [LG_FAIL_TURNED] = N_("put in turned round")};
  switch (fault->kind) {
  case LG_FAIL_FUSE_LARGER:
    return g_strdup_printf(T_("replaced by %g A"), fault->rating_A);
  case LG_FAIL_RETURN_MOVED:
    return g_strdup_printf(T_("moved from the sensor's return to %s"),
                           job->pins[fault->pin[1]].name);
  case LG_FAIL_TO_PLUS:
    return fault->with >= 0 ? g_strdup_printf(T_("to live %s"), job->wires[fault->with].name)
                            : g_strdup(job->positive_ground ? T_("to the battery's minus")
                                                            : T_("to the battery's plus"));
  default:
    return g_strdup(T_(plain[fault->kind]));
  }
}

char *lg_failure_words(const LgJob *job, const LgFailure *fault)
{
  g_autofree char *subject = lg_failure_subject(job, fault),
                  *manner = lg_failure_manner(job, fault);
  if (fault->kind != LG_FAIL_TO_BODY && fault->kind != LG_FAIL_TO_PLUS)
    return g_strdup_printf("%s %s", subject, manner);
  return g_strdup_printf(T_("%s %s at %s"), subject, manner, job->pins[fault->pin[0]].name);
}

const char *lg_severity_word(LgSeverity severity)
{
  static const char *const words[LG_N_SEVERITIES] = {N_("danger"), N_("fault"), N_("caution"),
                                                     N_("harmless")};
  return T_(words[severity]);
}

/* --- changes --- */

typedef struct {
  const LgStage *stage;
  LgChange *changes;
  int n;
} Changing;

static void change(Changing *c, LgChange what)
{
  if (c->n < LG_MOST_CHANGES)
    c->changes[c->n++] = what;
}

static void change_element(Changing *c, LgChangeKind kind, int element)
{
  for (int k = 0; k < c->stage->n[element]; k++)
    change(c, (LgChange){.kind = kind, .branch = c->stage->first[element] + k});
}

static void bridge(Changing *c, int a, int b, double siemens)
{
  if (a != b)
    change(c, (LgChange){.kind = LG_CHANGE_BRIDGE, .branch = -1, .a = a, .b = b, .value = siemens});
}

/* The body; without one, the ground post of the main source. */
static int body_of(const LgCircuit *circuit)
{
  if (circuit->body_node >= 0)
    return circuit->body_node;
  const LgElement *const source = &circuit->job->elements[main_source(circuit->job)];
  return circuit->pin_node[source->pin[1 - hot_side(circuit->job)]];
}

/* The other contact of the same blade: of a relay's change-over, or of a hand switch when one of
 * the two is closed in every position. */
static gboolean is_other_throw(const LgJob *job, int contact, int other)
{
  const LgElement *const a = &job->elements[contact], *const b = &job->elements[other];
  if (other == contact || a->part != b->part || !lg_element_is_contact(b->kind) ||
      (a->pin[0] != b->pin[0] && a->pin[0] != b->pin[1] && a->pin[1] != b->pin[0] &&
       a->pin[1] != b->pin[1]))
    return FALSE;
  if (a->by >= 0)
    return a->by == b->by && a->kind != b->kind;
  const int input = job->parts[a->part].input;
  if (input < 0 || a->closed == 0 || b->closed == 0)
    return FALSE;
  const uint64_t all = ((uint64_t)1 << job->inputs[input].n_positions) - 1;
  return (a->closed & b->closed) == 0 && ((a->closed | b->closed) & all) == all;
}

static void weld(Changing *c, int contact)
{
  const LgJob *const job = c->stage->circuit->job;
  change_element(c, LG_CHANGE_CLOSED, contact);
  const LgPart *const part = &job->parts[job->elements[contact].part];
  for (int e = part->first_element; e < part->first_element + part->n_elements; e++)
    if (is_other_throw(job, contact, e))
      change_element(c, LG_CHANGE_OPEN, e);
}

static void turn_relay(Changing *c, int coil)
{
  const LgCircuit *const circuit = c->stage->circuit;
  const LgElement *const e = &circuit->job->elements[coil];
  if (e->suppression == LG_SUPPRESS_DIODE)
    bridge(c, circuit->pin_node[e->pin[0]], circuit->pin_node[e->pin[1]], DIODE_S);
  if (e->suppression == LG_SUPPRESS_DIODE || e->polarised)
    change_element(c, LG_CHANGE_OPEN, coil);
}

static void enlarge(Changing *c, const LgFailure *fault)
{
  const LgElement *const e = &c->stage->circuit->job->elements[fault->element];
  const LgFuse *const fuse =
      lg_catalogue_fuse(c->stage->circuit->job->catalogue, e->form, fault->rating_A);
  if (c->stage->n[fault->element] > 0 && fuse != NULL && !isnan(fuse->cold_ohm))
    change(c, (LgChange){.kind = LG_CHANGE_PARAM,
                         .branch = c->stage->first[fault->element],
                         .value = 1 / fuse->cold_ohm});
}

int lg_failure_changes(const LgStage *stage, const LgSizing *sizing, const LgFailure *fault,
                       LgChange changes[])
{
  const LgCircuit *const circuit = stage->circuit;
  const int *const node = circuit->pin_node;
  Changing c = {stage, changes, 0};
  (void)sizing;
  if (fault->restraint)
    return 0;
  switch (fault->kind) {
  case LG_FAIL_OPEN:
    change(&c, (LgChange){.kind = LG_CHANGE_OPEN,
                          .branch = stage->branch[circuit->wire_branch[fault->wire]]});
    break;
  case LG_FAIL_TO_BODY:
    bridge(&c, node[fault->pin[0]], body_of(circuit), HARD_S);
    break;
  case LG_FAIL_TO_PLUS:
  case LG_FAIL_BRIDGED:
    bridge(&c, node[fault->pin[0]], node[fault->pin[1]], HARD_S);
    break;
  case LG_FAIL_GROUND_LOST:
  case LG_FAIL_STUCK_OPEN:
  case LG_FAIL_COIL_OPEN:
  case LG_FAIL_SENSOR_OPEN:
  case LG_FAIL_LOAD_OPEN:
  case LG_FAIL_BATTERY_OFF:
    change_element(&c, LG_CHANGE_OPEN, fault->element);
    break;
  case LG_FAIL_WELDED:
    weld(&c, fault->element);
    break;
  case LG_FAIL_SENSOR_SHORTED:
  case LG_FAIL_LOAD_SHORTED: {
    const LgElement *const e = &circuit->job->elements[fault->element];
    bridge(&c, node[e->pin[0]], e->pin[1] >= 0 ? node[e->pin[1]] : body_of(circuit), HARD_S);
    break;
  }
  case LG_FAIL_FUSE_LARGER:
    enlarge(&c, fault);
    break;
  case LG_FAIL_RETURN_MOVED: {
    const int branch = stage->branch[circuit->wire_branch[fault->wire]];
    change(&c, (LgChange){.kind = LG_CHANGE_OPEN, .branch = branch});
    bridge(&c, node[fault->pin[0]], node[fault->pin[1]], lg_net_branch(stage->net, branch)->p[0]);
    break;
  }
  case LG_FAIL_REVERSED:
    change_element(&c, LG_CHANGE_REVERSED, fault->element);
    break;
  case LG_FAIL_TURNED:
    turn_relay(&c, fault->element);
    break;
  case LG_N_FAILURE_KINDS:
    g_assert_not_reached();
  }
  return c.n;
}
