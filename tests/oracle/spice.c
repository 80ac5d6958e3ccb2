/* Writes networks as decks and drives the shared library. Curves become behavioural sources with
 * the formulas that net.h states. */
#include "spice.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>
#include <time.h>

#include <ngspice/sharedspice.h>

/* The library keeps and loses memory of its own; the leak check is for ours. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
  return "leak:libngspice";
}

static int on_text(char *text, int id, void *user)
{
  (void)id;
  (void)user;
  if (g_getenv("LG_SPICE_TEXT") != NULL)
    g_printerr("# %s\n", text);
  return 0;
}

static int on_giving_up(int status, NG_BOOL unload, NG_BOOL quit, int id, void *user)
{
  (void)unload;
  (void)quit;
  (void)id;
  (void)user;
  g_error("ngspice gave up with status %d", status);
  return status;
}

static void start_once(void)
{
  static gsize started = 0;
  if (g_once_init_enter(&started)) {
    ngSpice_Init(on_text, on_text, on_giving_up, NULL, NULL, NULL, NULL);
    g_once_init_leave(&started, 1);
  }
}

static void command(const char *words)
{
  char *copy = g_strdup(words);
  ngSpice_Command(copy);
  g_free(copy);
}

G_GNUC_PRINTF(2, 3) static void line(GPtrArray *deck, const char *format, ...)
{
  va_list values;
  va_start(values, format);
  g_ptr_array_add(deck, g_strdup_vprintf(format, values));
  va_end(values);
}

/* Current of a nonlinear branch as an expression of its volts. */
static char *expression(const LgNetBranch *b)
{
  const double *p = b->p;
  char *v = g_strdup_printf("v(n%d,n%d)", b->a, b->b), *text = NULL;
  switch (b->kind) {
  case LG_BRANCH_LAMP: { /* below the knee a resistor */
    const double knee = p[1] * pow(p[0] / p[2], 1 / 0.45);
    text = g_strdup_printf("abs(%s) < %.17g ? %.17g*%s : sgn(%s)*%.17g*pow(abs(%s),0.55)", v, knee,
                           p[2], v, v, p[0] * pow(p[1], 0.45), v);
    break;
  }
  case LG_BRANCH_MOTOR:
    text = g_strdup_printf("%s/sqrt(%.17g+%s*%s*%.17g)", v, p[0] * p[0], v, v, 1 / (p[1] * p[1]));
    break;
  case LG_BRANCH_DIODE: /* ln (1 + exp x) = x to all digits from 40 on */
    text = g_strdup_printf(
        "(%s > %.17g ? (%s-%.17g)/%.17g : %.17g*ln(1+exp((%s-%.17g)/%.17g))) + 1e-9*%s", v,
        p[0] + 40 * p[2], v, p[0], p[1], p[2] / p[1], v, p[0], p[2], v);
    break;
  case LG_BRANCH_LIMITED: {
    const double knee = p[1] - p[2] / p[0];
    text = g_strdup_printf(
        "%s > %.17g ? 1e-9*(%s-%.17g) : (%s > %.17g ? %.17g*(%s-%.17g) : %.17g*(%s-%.17g)-%.17g)",
        v, p[1], v, p[1], v, knee, p[0], v, p[1], 0.02 * p[2] / p[1], v, knee, p[2]);
    break;
  }
  case LG_BRANCH_POWER:
    text = g_strdup_printf("abs(%s) > %.17g ? %.17g/%s : %.17g*%s", v, p[1], p[0], v,
                           p[0] / (p[1] * p[1]), v);
    break;
  default:
    g_assert_not_reached();
  }
  g_free(v);
  return text;
}

static void write_branch(GPtrArray *deck, const LgNet *net, int index)
{
  const LgNetBranch *b = lg_net_branch(net, index);
  if (b->kind == LG_BRANCH_RESISTOR) {
    line(deck, "r%d n%d n%d %.17g", index, b->a, b->b, 1 / b->p[0]);
  } else if (b->kind == LG_BRANCH_SOURCE) {
    line(deck, "v%d e%d n%d dc %.17g", index, index, b->b, b->p[1]);
    line(deck, "r%d n%d e%d %.17g", index, b->a, index, 1 / b->p[0]);
  } else {
    char *text = expression(b);
    line(deck, "b%d n%d n%d i = %s", index, b->a, b->b, text);
    g_free(text);
  }
}

/* ngspice calls the reference 0; a source of no volts lets every node have its n-name. */
static GPtrArray *deck_new(const char *options)
{
  GPtrArray *deck = g_ptr_array_new_with_free_func(g_free);
  line(deck, "network");
  line(deck, ".options %s", options);
  line(deck, "vref n0 0 dc 0");
  return deck;
}

static void load_deck(GPtrArray *deck)
{
  line(deck, ".end");
  g_ptr_array_add(deck, NULL);
  ngSpice_Circ((char **)deck->pdata);
}

static void unload_deck(GPtrArray *deck)
{
  command("destroy all");
  command("remcirc");
  g_ptr_array_unref(deck);
}

static gboolean *reach_reference(const LgNet *net, const gboolean closed[])
{
  gboolean *reached = g_new0(gboolean, lg_net_n_nodes(net)), more = TRUE;
  reached[0] = TRUE;
  while (more) {
    more = FALSE;
    for (int i = 0; i < lg_net_n_branches(net); i++) {
      const LgNetBranch *b = lg_net_branch(net, i);
      if (closed[i] && reached[b->a] != reached[b->b])
        reached[b->a] = reached[b->b] = more = TRUE;
    }
  }
  return reached;
}

static double volts_of(int node, int at)
{
  char name[32];
  g_snprintf(name, sizeof name, "n%d", node);
  const struct vector_info *vector = ngGet_Vec_Info(name);
  return vector != NULL && at < vector->v_length ? vector->v_realdata[at] : NAN;
}

static gboolean try_operating_point(const LgNet *net, const gboolean closed[],
                                    const gboolean reached[], const char *options, double volts[])
{
  GPtrArray *deck = deck_new(options);
  gboolean complete = TRUE;
  for (int i = 0; i < lg_net_n_branches(net); i++)
    if (closed[i] && reached[lg_net_branch(net, i)->a])
      write_branch(deck, net, i);
  load_deck(deck);
  command("op");
  for (int i = 0; i < lg_net_n_nodes(net); i++) {
    volts[i] = !reached[i] ? NAN : i == 0 ? 0 : volts_of(i, 0);
    complete &= !reached[i] || isfinite(volts[i]);
  }
  unload_deck(deck);
  return complete;
}

/* Where it does not find its way, with looser tolerances. */
gboolean spice_operating_point(const LgNet *net, const gboolean closed[], double volts[])
{
  const char *options[] = {"reltol=1e-6 vntol=1e-9 abstol=1e-12 gmin=1e-15 itl1=500",
                           "reltol=1e-6 vntol=1e-9 abstol=1e-11 gmin=1e-12 itl1=1000",
                           "reltol=1e-4 vntol=1e-7 abstol=1e-10 gmin=1e-12 itl1=1000"};
  gboolean found = FALSE;
  start_once();
  gboolean *reached = reach_reference(net, closed);
  for (guint i = 0; i < G_N_ELEMENTS(options) && !found; i++)
    found = try_operating_point(net, closed, reached, options[i], volts);
  g_free(reached);
  return found;
}

/* A contact of an input that is swept hangs on the node bK, which carries 0 or 1 V; a contact of a
 * relay on the coil itself, where its thresholds and the sense of it are in the model; other
 * contacts are there or not. */
static void write_gated(GPtrArray *deck, const LgNet *net, int index, const SpiceSweep *sweep)
{
  const LgNetBranch *b = lg_net_branch(net, index);
  const LgNetGate *gate = lg_net_gate(net, b->gate);
  const double on = 1 / b->p[0];
  g_assert(b->kind == LG_BRANCH_RESISTOR && gate->input[1] < 0);
  if (gate->coil >= 0) {
    const LgNetCoil *coil = lg_net_coil(net, gate->coil);
    const LgNetBranch *winding = lg_net_branch(net, coil->branch);
    g_assert(gate->input[0] < 0);
    if (!sweep->with_relays) {
      if (!gate->coil_pulled)
        write_branch(deck, net, index);
      return;
    }
    line(deck, "s%d n%d n%d n%d n%d m%d off", index, b->a, b->b, winding->a, winding->b, index);
    line(deck, ".model m%d sw vt=%.17g vh=%.17g ron=%.17g roff=%.17g", index,
         (coil->pull_in_volts + coil->drop_out_volts) / 2,
         (coil->pull_in_volts - coil->drop_out_volts) / 2, gate->coil_pulled ? on : 1e12,
         gate->coil_pulled ? 1e12 : on);
    return;
  }
  for (int k = 0; k < sweep->n_vary; k++)
    if (sweep->vary[k] == gate->input[0]) {
      g_assert(gate->positions[0] == 2);
      line(deck, "s%d n%d n%d b%d 0 m%d", index, b->a, b->b, k, index);
      line(deck, ".model m%d sw vt=0.5 vh=0 ron=%.17g roff=1e12", index, on);
      return;
    }
  if (gate->positions[0] >> sweep->base[gate->input[0]] & 1)
    write_branch(deck, net, index);
}

static double processor_seconds(void)
{
  struct timespec t;
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

double spice_sweep(const LgNet *net, const SpiceSweep *sweep, int n_states, int node, double last[])
{
  start_once();
  char *options = g_strdup_printf("reltol=%.3g", sweep->reltol);
  GPtrArray *deck = deck_new(options);
  line(deck, "vstate state 0 dc 0");
  for (int k = 0; k < sweep->n_vary; k++)
    line(deck, "bbit%d b%d 0 v = floor((v(state)+0.25)/%.17g) - 2*floor((v(state)+0.25)/%.17g)", k,
         k, ldexp(1, k), ldexp(1, k + 1));
  for (int i = 0; i < lg_net_n_branches(net); i++)
    if (lg_net_branch(net, i)->gate >= 0)
      write_gated(deck, net, i, sweep);
    else
      write_branch(deck, net, i);
  line(deck, ".save v(n%d)", node);
  line(deck, ".dc vstate 0 %d 1", n_states - 1);
  load_deck(deck);
  const double start = processor_seconds();
  command("run");
  const double seconds = processor_seconds() - start;
  gboolean complete = TRUE;
  for (int i = 0; i < n_states; i++) {
    const double volts = volts_of(node, i);
    complete &= isfinite(volts);
    if (last != NULL)
      last[i] = volts;
  }
  unload_deck(deck);
  g_free(options);
  return complete ? seconds : NAN;
}

double spice_cases(const LgNet *net, const SpiceBridge bridges[], int n_bridges,
                   const SpiceCase cases[], int n_cases, double volts[])
{
  const int n = lg_net_n_nodes(net), n_branches = lg_net_n_branches(net);
  double seconds = 0;
  gboolean complete = TRUE;
  start_once();
  GPtrArray *deck = deck_new("reltol=1e-6 gmin=1e-15");
  for (int b = 0; b < n_branches; b++) {
    g_assert(lg_net_branch(net, b)->kind <= LG_BRANCH_SOURCE);
    write_branch(deck, net, b);
  }
  for (int b = 0; b < n_bridges; b++)
    line(deck, "r%d n%d n%d 1e12", n_branches + b, bridges[b].a, bridges[b].b);
  load_deck(deck);
  for (int c = 0; c < n_cases; c++) {
    const double start = processor_seconds();
    for (int i = 0; i < cases[c].n; i++) {
      char words[64];
      g_snprintf(words, sizeof words, "alter r%d = %.17g", cases[c].resistor[i], cases[c].ohm[i]);
      command(words);
    }
    command("op");
    seconds += processor_seconds() - start;
    for (int i = 0; volts != NULL && i < n; i++)
      volts[c * n + i] = i == 0 ? 0 : volts_of(i, 0);
    complete &= isfinite(volts_of(1, 0));
    command("destroy all");
  }
  unload_deck(deck);
  return complete ? seconds : NAN;
}

static void take_vector(const char *name, GArray *values)
{
  char *copy = g_strdup(name);
  const struct vector_info *vector = ngGet_Vec_Info(copy);
  if (vector != NULL && vector->v_realdata != NULL)
    g_array_append_vals(values, vector->v_realdata, (guint)vector->v_length);
  g_free(copy);
}

double spice_transient(char *const lines[], const char *options, double step_s, double stop_s,
                       double most_s, const char *const names[], int n, GArray *time_s,
                       GArray *const values[])
{
  start_once();
  GPtrArray *deck = deck_new(options);
  for (int k = 0; lines[k] != NULL; k++)
    line(deck, "%s", lines[k]);
  for (int k = 0; k < n; k++)
    line(deck, ".save %s", names[k]);
  line(deck, ".tran %.17g %.17g 0 %.17g uic", step_s, stop_s, most_s);
  load_deck(deck);
  const double start = processor_seconds();
  command("run");
  const double seconds = processor_seconds() - start;
  take_vector("time", time_s);
  for (int k = 0; k < n; k++)
    take_vector(names[k], values[k]);
  unload_deck(deck);
  return time_s->len > 0 && g_array_index(time_s, double, time_s->len - 1) >= stop_s * (1 - 1e-9)
             ? seconds
             : NAN;
}
