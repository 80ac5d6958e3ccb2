/* Who may have done it, how likely beforehand, and what each changes in the network. */
#include "studies/locate-private.h"

/* Joints and grounds fail most, then fuses and bulbs, then contacts; wires seldom by themselves:
 * common practice, no source. */
const LgSuspectPrior lg_suspect_priors[LG_N_SUSPECT_PRIORS] = {
    [LG_SUSPECT_HEALTHY] = {"nothing is wrong", 2},
    [LG_SUSPECT_FAILURE] = {NULL, 0},
    [LG_SUSPECT_BLOWN] = {"fuse blown, not seated or forgotten", 1},
    [LG_SUSPECT_WIRE_OHM] = {"crimp or plug contact with resistance", 1},
    [LG_SUSPECT_JOINT_OHM] = {"burnt contact, loose fuse, painted ground", 0.8},
    [LG_SUSPECT_WORN] = {"load worn or the wrong one", 0.2},
    [LG_SUSPECT_WEAK] = {"battery weak", 1},
#define FAILURE(kind) LG_N_SUSPECT_KINDS + kind
    [FAILURE(LG_FAIL_OPEN)] = {"wire off, or pulled from its crimp or cavity", 0.8},
    [FAILURE(LG_FAIL_TO_BODY)] = {"chafed through", 0.15},
    [FAILURE(LG_FAIL_TO_PLUS)] = {"chafed through against another wire", 0.02},
    [FAILURE(LG_FAIL_BRIDGED)] = {"wet plug, stray strand, bent terminal", 0.05},
    [FAILURE(LG_FAIL_GROUND_LOST)] = {"ground bolt loose or off", 1.5},
    [FAILURE(LG_FAIL_WELDED)] = {"contact welded", 0.15},
    [FAILURE(LG_FAIL_STUCK_OPEN)] = {"contact burnt away or dirty", 0.4},
    [FAILURE(LG_FAIL_COIL_OPEN)] = {"coil broken", 0.15},
    [FAILURE(LG_FAIL_SENSOR_OPEN)] = {"sensor broken", 0.2},
    [FAILURE(LG_FAIL_SENSOR_SHORTED)] = {"sensor pinched", 0.1},
    [FAILURE(LG_FAIL_LOAD_OPEN)] = {"bulb, brush or pad gone", 0.8},
    [FAILURE(LG_FAIL_LOAD_SHORTED)] = {"winding or pad shorted", 0.1},
    [FAILURE(LG_FAIL_RETURN_MOVED)] = {"sensor's return on another ground", 0.05},
    [FAILURE(LG_FAIL_REVERSED)] = {"battery the wrong way round", 0.01},
    [FAILURE(LG_FAIL_TURNED)] = {"relay with its coil turned round", 0.1},
#undef FAILURE
};

static const double bad_ohms[] = {0.03, 0.1, 0.3, 1, 3, 10, 30, 100, 300, 1e3, 1e4, 1e5};
static const double worn_shares[] = {0.05, 0.15, 0.3, 0.5, 0.75, 1.35, 2, 4};
static const double weak_shares[] = {0.2, 0.5, 0.7, 0.8, 0.87, 0.93};

/* ---- Changes. ---- */

static int set(LgChange *change, int branch, int k, double value)
{
  *change =
      (LgChange){.kind = LG_CHANGE_PARAM, .branch = branch, .gate = -1, .k = k, .value = value};
  return 1;
}

static int in_series(const LgNet *net, int branch, double ohm, LgChange *change)
{
  return set(change, branch, 0, 1 / (1 / lg_net_branch(net, branch)->p[0] + ohm));
}

/* A load that takes `share` of its current at the same volts. */
static int worn(const LgNet *net, int branch, double share, LgChange changes[])
{
  const LgNetBranch *const b = lg_net_branch(net, branch);
  switch (b->kind) {
  case LG_BRANCH_LAMP:
    return set(changes, branch, 0, share * b->p[0]) + set(changes + 1, branch, 2, share * b->p[2]);
  case LG_BRANCH_MOTOR:
    return set(changes, branch, 0, b->p[0] / share) + set(changes + 1, branch, 1, share * b->p[1]);
  case LG_BRANCH_DIODE:
    return set(changes, branch, 1, b->p[1] / share);
  default:
    return set(changes, branch, 0, share * b->p[0]);
  }
}

/* A battery with that share of its volts, and its inner resistance that much higher squared: both
 * go with what is left in it. Common practice, no source. */
static int weak(const LgNet *net, int branch, double share, LgChange changes[])
{
  const LgNetBranch *const b = lg_net_branch(net, branch);
  if (b->kind == LG_BRANCH_DIODE)
    return set(changes, branch, 0, share * b->p[0]);
  const double siemens = share * share * b->p[0], volts = share * b->p[1];
  int n = set(changes, branch, 0, siemens) + set(changes + 1, branch, 1, volts);
  if (b->kind == LG_BRANCH_LIMITED)
    n += set(changes + 2, branch, 2, siemens * volts);
  return n;
}

static int open_element(const LgStage *stage, int element, LgChange changes[])
{
  int n = 0;
  for (int k = 0; k < stage->n[element] && n < LG_MOST_CHANGES; k++)
    changes[n++] =
        (LgChange){.kind = LG_CHANGE_OPEN, .branch = stage->first[element] + k, .gate = -1};
  return n;
}

int lg_suspect_changes(const LgLocator *locator, const LgSuspect *suspect, double size,
                       LgChange changes[])
{
  const LgStage *const stage = locator->stage;
  const int e = suspect->element;
  int n = 0;
  switch (suspect->kind) {
  case LG_SUSPECT_HEALTHY:
    return 0;
  case LG_SUSPECT_FAILURE:
    return lg_failure_changes(stage, locator->sizing, &suspect->failure, changes);
  case LG_SUSPECT_BLOWN:
    return open_element(stage, e, changes);
  case LG_SUSPECT_WIRE_OHM:
    return in_series(stage->net, stage->branch[locator->circuit->wire_branch[suspect->wire]], size,
                     changes);
  case LG_SUSPECT_JOINT_OHM:
    return in_series(stage->net, stage->first[e], size, changes);
  case LG_SUSPECT_WORN:
    for (int k = 0; k < stage->n[e]; k++)
      n += worn(stage->net, stage->first[e] + k, size, changes + n);
    return n;
  case LG_SUSPECT_WEAK:
    for (int k = 0; k < stage->n[e]; k++)
      n += weak(stage->net, stage->first[e] + k, size, changes + n);
    return n;
  case LG_N_SUSPECT_KINDS:
    break;
  }
  g_assert_not_reached();
}

/* ---- What a short blows. ---- */

/* The least part of its opening current at which a fuse is gone before anybody measures. */
#define BLOWS 2.0

/* A short that may still blow another fuse. */
typedef struct {
  int row;
  LgChange changes[LG_MOST_CHANGES];
  int n;
  int blown;   /* element found in this round, -1 */
  double over; /* its current, times its rating */
} Blowing;

typedef struct {
  const LgLocator *locator;
  GArray *blowing; /* Blowing, by fault */
} Round;

static gboolean is_open(const Blowing *b, int branch)
{
  for (int c = 0; c < b->n; c++)
    if (b->changes[c].kind == LG_CHANGE_OPEN && b->changes[c].branch == branch)
      return TRUE;
  return FALSE;
}

static void look_for_blown(const LgFaultBlock *block, gpointer user)
{
  const Round *const round = user;
  const LgLocator *const l = round->locator;
  Blowing *const b = &g_array_index(round->blowing, Blowing, block->fault);
  for (int e = 0; e < l->job->n_elements; e++) {
    if (!lg_element_is_protection(l->job->elements[e].kind) || l->stage->n[e] == 0 ||
        is_open(b, l->stage->first[e]))
      continue;
    double amps[LG_LANES];
    lg_fault_current(block, l->stage->first[e], amps);
    const double rating_A = lg_failure_rating(l->sizing, e);
    for (int k = 0; k < block->block->n; k++)
      if (fabs(amps[k]) / rating_A > b->over) {
        b->over = fabs(amps[k]) / rating_A;
        b->blown = e;
      }
  }
}

static gboolean is_short(const LgSuspect *suspect)
{
  if (suspect->kind != LG_SUSPECT_FAILURE)
    return FALSE;
  switch (suspect->failure.kind) {
  case LG_FAIL_TO_BODY:
  case LG_FAIL_TO_PLUS:
  case LG_FAIL_BRIDGED:
  case LG_FAIL_LOAD_SHORTED:
  case LG_FAIL_WELDED:
  case LG_FAIL_TURNED:
    return TRUE;
  default:
    return FALSE;
  }
}

/* States in which a short may have blown a fuse: each load's own, and rest. */
static GArray *tried_states(LgLocator *locator)
{
  const gsize n_inputs = (gsize)locator->job->n_inputs;
  GArray *const all = g_array_new(FALSE, TRUE, sizeof(int));
  g_array_set_size(all, (guint)n_inputs);
  g_autoptr(GPtrArray) taken = g_ptr_array_new();
  for (int i = 0; i < locator->n_loads; i++) {
    const int *const position = lg_locator_state(locator, locator->loads[i]);
    if (position == NULL || g_ptr_array_find(taken, position, NULL))
      continue;
    g_ptr_array_add(taken, (gpointer)position);
    if (n_inputs > 0)
      g_array_append_vals(all, position, (guint)n_inputs);
  }
  return all;
}

/* One fuse more for each short of the round. */
static void blow_once(Round *round, const GArray *states)
{
  const LgLocator *const l = round->locator;
  const guint n = round->blowing->len, n_inputs = (guint)l->job->n_inputs;
  g_autofree LgFault *list = g_new(LgFault, n + 1);
  for (guint i = 0; i < n; i++) {
    Blowing *const b = &g_array_index(round->blowing, Blowing, i);
    b->over = BLOWS;
    b->blown = -1;
    list[i] = (LgFault){.n = b->n, .change = b->changes};
  }
  g_autoptr(LgFaults) faults = lg_faults_new(l->stage->net, list, (int)n);
  const LgNetSweep sweep = {.with_relays = TRUE,
                            .released_only = TRUE,
                            .listed = (const int *)(gconstpointer)states->data,
                            .n_listed = n_inputs == 0 ? 1 : states->len / n_inputs};
  lg_faults_sweep(faults, &sweep, 1, NULL, look_for_blown, round);
}

static void keep_blown(LgLocator *l, const Blowing *b)
{
  LgRow *const row = &g_array_index(l->rows, LgRow, b->row);
  if (b->n == row->n)
    return;
  row->first = (int)l->changes->len;
  row->n = b->n;
  g_array_append_vals(l->changes, b->changes, (guint)b->n);
}

/* Puts what each short blows among its changes, one fuse after the other. */
static void blow_all(LgLocator *l)
{
  g_autoptr(GArray) states = tried_states(l), blowing = g_array_new(FALSE, FALSE, sizeof(Blowing));
  Round round = {.locator = l, .blowing = blowing};
  for (guint i = 0; i < l->suspects->len; i++) {
    const LgSuspect *const suspect = &g_array_index(l->suspects, LgSuspect, i);
    if (!is_short(suspect))
      continue;
    const LgRow *const row = &g_array_index(l->rows, LgRow, suspect->first);
    Blowing b = {.row = suspect->first, .n = row->n};
    memcpy(b.changes, &g_array_index(l->changes, LgChange, row->first),
           (gsize)row->n * sizeof(LgChange));
    g_array_append_val(blowing, b);
  }
  while (blowing->len > 0) {
    blow_once(&round, states);
    for (guint i = blowing->len; i-- > 0;) {
      Blowing *const b = &g_array_index(blowing, Blowing, i);
      const gboolean more = b->blown >= 0 && b->n + l->stage->n[b->blown] <= LG_MOST_CHANGES;
      if (more)
        b->n += open_element(l->stage, b->blown, b->changes + b->n);
      else {
        keep_blown(l, b);
        g_array_remove_index_fast(blowing, i);
      }
    }
  }
}

/* ---- The list. ---- */

static void add(LgLocator *l, LgSuspect suspect, const double sizes[], int n)
{
  const int before = suspect.kind == LG_SUSPECT_FAILURE
                         ? LG_N_SUSPECT_KINDS + (int)suspect.failure.kind
                         : (int)suspect.kind;
  suspect.prior = lg_suspect_priors[before].weight;
  suspect.first = (int)l->rows->len;
  suspect.pair[0] = suspect.pair[1] = -1;
  LgChange changes[LG_MOST_CHANGES + 8];
  for (int i = 0; i < MAX(n, 1); i++) {
    const double size = n == 0 ? NAN : sizes[i];
    const LgRow row = {.suspect = (int)l->suspects->len,
                       .size = size,
                       .first = (int)l->changes->len,
                       .n = lg_suspect_changes(l, &suspect, size, changes)};
    if (suspect.prior <= 0 || (row.n == 0 && suspect.kind != LG_SUSPECT_HEALTHY))
      return;
    g_array_append_vals(l->changes, changes, (guint)row.n);
    g_array_append_val(l->rows, row);
    suspect.n++;
  }
  g_array_append_val(l->suspects, suspect);
}

static void add_failures(LgLocator *l)
{
  g_autoptr(GArray) list = lg_failure_list(l->sizing);
  for (guint i = 0; i < list->len; i++) {
    const LgFailure *const f = &g_array_index(list, LgFailure, i);
    if (!f->restraint)
      add(l,
          (LgSuspect){
              .kind = LG_SUSPECT_FAILURE, .failure = *f, .wire = f->wire, .element = f->element},
          NULL, 0);
  }
}

static void add_elements(LgLocator *l)
{
  for (int e = 0; e < l->job->n_elements; e++) {
    const LgElementKind kind = l->job->elements[e].kind;
    LgSuspect suspect = {.wire = -1, .element = e};
    if (l->stage->n[e] == 0)
      continue;
    if (lg_element_is_protection(kind)) {
      suspect.kind = LG_SUSPECT_BLOWN;
      add(l, suspect, NULL, 0);
    }
    if (lg_element_is_protection(kind) || lg_element_is_contact(kind) || kind == LG_EL_CHASSIS) {
      suspect.kind = LG_SUSPECT_JOINT_OHM;
      add(l, suspect, bad_ohms, G_N_ELEMENTS(bad_ohms));
    }
    if (lg_element_is_load(kind)) {
      suspect.kind = LG_SUSPECT_WORN;
      add(l, suspect, worn_shares, G_N_ELEMENTS(worn_shares));
    }
    if (kind == LG_EL_CELL) {
      suspect.kind = LG_SUSPECT_WEAK;
      add(l, suspect, weak_shares, G_N_ELEMENTS(weak_shares));
    }
  }
}

void lg_locator_list(LgLocator *l)
{
  add(l, (LgSuspect){.kind = LG_SUSPECT_HEALTHY, .wire = -1, .element = -1}, NULL, 0);
  add_failures(l);
  for (int w = 0; w < l->job->n_wires; w++)
    add(l, (LgSuspect){.kind = LG_SUSPECT_WIRE_OHM, .wire = w, .element = -1}, bad_ohms,
        G_N_ELEMENTS(bad_ohms));
  add_elements(l);
  blow_all(l);
  double sum = 0;
  for (guint i = 0; i < l->suspects->len; i++)
    sum += g_array_index(l->suspects, LgSuspect, i).prior;
  for (guint i = 0; i < l->suspects->len; i++)
    g_array_index(l->suspects, LgSuspect, i).prior /= sum;
}
