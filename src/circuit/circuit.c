#include "circuit/circuit.h"
#include "catalogue/material.h"
#include <math.h>

#define ROOM_K (LG_ZERO_C_IN_K + 20)
/* Crimp and mating contact together where the terminal is not named: common practice, no source. */
#define TERMINATION_OHM 0.002

static double day_temperature(LgDay day, double cold_K, double hot_K)
{
  return day == LG_DAY_HOT ? hot_K : day == LG_DAY_COLD ? cold_K : ROOM_K;
}

static double element_temperature(const LgJob *job, const LgElement *element, LgDay day)
{
  const int place = job->parts[element->part].place;
  return place < 0 ? day_temperature(day, job->cold_K, job->hot_K)
                   : day_temperature(day, job->places[place].cold_K, job->places[place].hot_K);
}

static double termination_ohm(const LgPin *pin)
{
  const gboolean known = pin->terminal != NULL && !isnan(pin->terminal->resistance_ohm);
  return known ? pin->terminal->resistance_ohm : TERMINATION_OHM;
}

double lg_wire_resistance(const LgJob *job, const LgWire *wire, const LgConductor *conductor,
                          double temperature_K)
{
  return conductor->resistance_ohm_m * lg_copper_ratio(temperature_K) * wire->length_m +
         termination_ohm(&job->pins[wire->pin[0]]) + termination_ohm(&job->pins[wire->pin[1]]);
}

/* Where an auto wire starts before it is sized: 1 mm2, the mechanical least of ISO 10133, or
 * AWG 18. */
static const LgConductor *starting_conductor(const LgJob *job)
{
  return lg_catalogue_conductor(job->catalogue, job->awg_sizes, job->awg_sizes ? 18 : 1);
}

static const LgConductor *conductor_of(const LgJob *job, int wire,
                                       const LgConductor *const chosen[])
{
  if (chosen != NULL && chosen[wire] != NULL)
    return chosen[wire];
  return job->wires[wire].conductor != NULL ? job->wires[wire].conductor : starting_conductor(job);
}

void lg_circuit_set_wire(LgCircuit *circuit, int wire, const LgConductor *conductor,
                         double temperature_K)
{
  const double ohm =
      lg_wire_resistance(circuit->job, &circuit->job->wires[wire], conductor, temperature_K);
  lg_net_set_param(circuit->net, circuit->wire_branch[wire], 0, 1 / ohm);
}

/* The main source, whose minus is the reference: the first battery, else the first source. -1 when
 * there is none. */
static int main_source(const LgJob *job)
{
  int first = -1;
  for (int e = 0; e < job->n_elements; e++) {
    if (!lg_element_is_source(job->elements[e].kind))
      continue;
    if (job->elements[e].kind == LG_EL_CELL)
      return e;
    if (first < 0)
      first = e;
  }
  return first;
}

typedef struct {
  LgCircuit *circuit;
  const LgElement *element;
  int index; /* of the element */
  int a, b;  /* nodes */
} Adding;

static int add_gate(const Adding *adding, uint64_t demands, int coil, gboolean pulled)
{
  const LgElement *const e = adding->element;
  LgNetGate gate = {.input = {-1, -1}, .coil = coil, .coil_pulled = pulled};
  if (demands != 0 && e->demand >= 0) {
    gate.input[0] = e->demand;
    gate.positions[0] = demands;
  }
  if (gate.input[0] < 0 && coil < 0)
    return -1;
  return lg_net_add_gate(adding->circuit->net, gate);
}

static int add_branch(const Adding *adding, LgBranchKind kind, int gate, double p0, double p1,
                      double p2)
{
  const int branch = lg_net_add_branch(
      adding->circuit->net,
      (LgNetBranch){.kind = kind, .a = adding->a, .b = adding->b, .gate = gate, .p = {p0, p1, p2}});
  if (adding->circuit->element_branch[adding->index] < 0)
    adding->circuit->element_branch[adding->index] = branch;
  adding->circuit->element_branches[adding->index]++;
  return branch;
}

static int add_resistor(const Adding *adding, int gate, double ohm)
{
  return add_branch(adding, LG_BRANCH_RESISTOR, gate, 1 / ohm, 0, 0);
}

#define RUN (1u << LG_DEMAND_RUN)
#define START (1u << LG_DEMAND_START)
#define STALL (1u << LG_DEMAND_STALL)

static void add_motor(const Adding *adding)
{
  const double *const p = adding->element->p;
  const double volts = p[LG_P_VOLTS], standstill = volts / p[LG_P_STALL],
               running = volts / p[LG_P_RUN];
  const gboolean steady_torque =
      adding->element->kind == LG_EL_MOTOR && standstill < 0.99 * running;
  if (steady_torque)
    add_branch(adding, LG_BRANCH_MOTOR, add_gate(adding, RUN, -1, FALSE), standstill,
               volts / sqrt(running * running - standstill * standstill), 0);
  else
    add_resistor(adding, add_gate(adding, RUN, -1, FALSE), running);
  add_resistor(adding, add_gate(adding, START, -1, FALSE), volts / p[LG_P_START]);
  if (adding->element->kind != LG_EL_SOLENOID)
    add_resistor(adding, add_gate(adding, STALL, -1, FALSE), standstill);
}

static void add_lamp(const Adding *adding)
{
  const double *const p = adding->element->p;
  const double hot = p[LG_P_RUN] / p[LG_P_VOLTS], cold = fmax(p[LG_P_START] / p[LG_P_VOLTS], hot);
  add_branch(adding, LG_BRANCH_LAMP, add_gate(adding, RUN | STALL, -1, FALSE), hot, p[LG_P_VOLTS],
             cold);
  add_branch(adding, LG_BRANCH_RESISTOR, add_gate(adding, START, -1, FALSE), cold, 0, 0);
}

/* The width s of the softplus knee: 50 mV, two thermal volts; common practice, no source. */
#define KNEE_V 0.05

static void add_led(const Adding *adding)
{
  const double *const p = adding->element->p;
  const double above = fmax(p[LG_P_VOLTS] - p[LG_P_FORWARD], 0.1);
  add_branch(adding, LG_BRANCH_DIODE, add_gate(adding, RUN | START | STALL, -1, FALSE),
             p[LG_P_FORWARD], above / p[LG_P_RUN], KNEE_V);
}

static void add_electronic(const Adding *adding)
{
  const double *const p = adding->element->p;
  LgCircuit *const circuit = adding->circuit;
  const int watch = add_resistor(adding, -1, p[LG_P_VOLTS] / p[LG_P_STANDBY]);
  int coil = -1;
  if (!isnan(p[LG_P_CUT_OUT])) {
    coil = lg_net_add_coil(
        circuit->net, (LgNetCoil){.branch = watch,
                                  .pull_in_volts = fmax(p[LG_P_CUT_IN], 1.001 * p[LG_P_CUT_OUT]),
                                  .drop_out_volts = p[LG_P_CUT_OUT]});
    circuit->element_coil[adding->index] = coil;
  }
  const double watts = fmax(p[LG_P_POWER] - p[LG_P_STANDBY] * p[LG_P_VOLTS], 1e-6);
  /* Without a cut-out the constant power ends at half the rated volts. */
  const double low = isnan(p[LG_P_CUT_OUT]) ? 0.5 * p[LG_P_VOLTS] : 0.9 * p[LG_P_CUT_OUT];
  add_branch(adding, LG_BRANCH_POWER, add_gate(adding, RUN | STALL, coil, TRUE), watts, low, 0);
  add_resistor(adding, add_gate(adding, START, coil, TRUE), p[LG_P_VOLTS] / p[LG_P_START]);
}

static void add_coil(const Adding *adding, double warm_ratio)
{
  const double *const p = adding->element->p;
  const int branch = add_resistor(adding, -1, p[LG_P_RESISTANCE] * warm_ratio);
  /* Pull-in and drop-out are ampere-turns, so their volts go with the copper's resistance. */
  adding->circuit->element_coil[adding->index] = lg_net_add_coil(
      adding->circuit->net, (LgNetCoil){.branch = branch,
                                        .pull_in_volts = p[LG_P_PULL_IN] * warm_ratio,
                                        .drop_out_volts = p[LG_P_DROP_OUT] * warm_ratio,
                                        .polarised = adding->element->polarised});
}

static void add_contact(const Adding *adding)
{
  const LgElement *const e = adding->element;
  const LgCircuit *const circuit = adding->circuit;
  LgNetGate gate = {.input = {-1, -1}, .coil = -1};
  if (e->by >= 0) {
    gate.coil = circuit->element_coil[e->by];
    gate.coil_pulled = e->kind == LG_EL_MAKE;
  }
  if (e->closed != 0) {
    gate.input[0] = circuit->job->parts[e->part].input;
    gate.positions[0] = e->closed;
  }
  if (e->call >= 0) {
    gate.input[1] = e->call;
    gate.positions[1] = 2;
  }
  const gboolean gated = gate.coil >= 0 || gate.input[0] >= 0 || gate.input[1] >= 0;
  add_resistor(adding, gated ? lg_net_add_gate(circuit->net, gate) : -1, e->p[LG_P_RESISTANCE]);
}

/* At -18 C a lead battery has 1.8 times its resistance of 25 C (5.4 V / CCA against 3.0 V / CCA):
 * memory. */
static double cell_resistance(const LgElement *element, double temperature_K)
{
  const double share = CLAMP((298.15 - temperature_K) / 43, 0, 1.5);
  return element->p[LG_P_RESISTANCE] * (1 + 0.8 * share);
}

/* What a lead battery accepts at the regulator's 14.2 V: what is missing to 105 % in an hour, at
 * most a quarter of its capacity in amperes. Common practice, no source. */
static double charging_ohm(const LgElement *cell, double ocv_V)
{
  const double *const p = cell->p;
  const double accepted_A = p[LG_P_CAPACITY] * CLAMP(1.05 - p[LG_P_CHARGE], 0.02, 0.25);
  return fmax(14.2 / 12 * p[LG_P_VOLTS] - ocv_V, 0.5) / accepted_A;
}

static gboolean has_charger(const LgJob *job)
{
  for (int e = 0; e < job->n_elements; e++)
    if (lg_element_is_source(job->elements[e].kind) && job->elements[e].kind != LG_EL_CELL)
      return TRUE;
  return FALSE;
}

/* A battery gives through its internal resistance and takes, where something can charge it, through
 * a larger one. */
static void add_cell(const Adding *adding, double temperature_K)
{
  LgCircuit *const circuit = adding->circuit;
  const double *const p = adding->element->p;
  const double siemens = 1 / cell_resistance(adding->element, temperature_K);
  const double ocv_V =
      lg_battery_ocv((int)adding->element->chemistry, p[LG_P_CHARGE], p[LG_P_VOLTS]);
  if (!has_charger(circuit->job)) {
    circuit->cell_branch[circuit->n_cells++] =
        add_branch(adding, LG_BRANCH_SOURCE, -1, siemens, ocv_V, 0);
    return;
  }
  circuit->cell_branch[circuit->n_cells++] =
      add_branch(adding, LG_BRANCH_LIMITED, -1, siemens, ocv_V, siemens * ocv_V);
  add_branch(adding, LG_BRANCH_DIODE, -1, ocv_V, charging_ohm(adding->element, ocv_V), 0.01);
}

static void add_limited(const Adding *adding, int gate, double limit_A)
{
  const double *const p = adding->element->p;
  if (limit_A > 0)
    add_branch(adding, LG_BRANCH_LIMITED, gate, 1 / p[LG_P_RESISTANCE], p[LG_P_REGULATED], limit_A);
}

/* A charger whose part has the hand positions off, idle, ..., fast gives its idle current at the
 * second position and its rated current at those after it; with two positions, its rated current at
 * the second. */
static void add_charger(const Adding *adding)
{
  const LgCircuit *const circuit = adding->circuit;
  const double *const p = adding->element->p;
  const int input = circuit->job->parts[adding->element->part].input;
  if (input < 0 || adding->element->kind == LG_EL_SUPPLY) {
    add_limited(adding, -1, p[LG_P_RATED]);
    return;
  }
  const int n = circuit->job->inputs[input].n_positions;
  const uint64_t all = ((uint64_t)1 << n) - 2, idle = n > 2 ? 2 : 0;
  const LgNetGate idling = {.input = {input, -1}, .positions = {idle}, .coil = -1};
  const LgNetGate fast = {.input = {input, -1}, .positions = {all & ~idle}, .coil = -1};
  if (idle != 0)
    add_limited(adding, lg_net_add_gate(circuit->net, idling), p[LG_P_IDLE]);
  add_limited(adding, lg_net_add_gate(circuit->net, fast), p[LG_P_RATED]);
}

static double protection_ohm(const LgJob *job, const LgElement *element)
{
  if (!isnan(element->p[LG_P_RESISTANCE]))
    return element->p[LG_P_RESISTANCE];
  const double rating = isnan(element->p[LG_P_RATING]) ? 15 : element->p[LG_P_RATING];
  const LgFuse *const fuse = lg_catalogue_fuse(job->catalogue, element->form, rating);
  if (fuse != NULL && !isnan(fuse->cold_ohm))
    return fuse->cold_ohm;
  return 0.1 / rating; /* about 0.1 V at rated current: maker datasheets of blade fuses, memory */
}

static void add_element(const Adding *adding)
{
  LgCircuit *const circuit = adding->circuit;
  const LgElement *const e = adding->element;
  const double temperature_K = element_temperature(circuit->job, e, circuit->day);
  switch (e->kind) {
  case LG_EL_CELL:
    add_cell(adding, temperature_K);
    break;
  case LG_EL_ALTERNATOR:
  case LG_EL_DYNAMO:
  case LG_EL_SUPPLY:
    add_charger(adding);
    break;
  case LG_EL_FUSE:
  case LG_EL_BREAKER:
    add_resistor(adding, -1, protection_ohm(circuit->job, e));
    break;
  case LG_EL_LINK:
  case LG_EL_CHASSIS:
  case LG_EL_RESISTOR:
    add_resistor(adding, -1, e->p[LG_P_RESISTANCE]);
    break;
  case LG_EL_HEATER:
    add_resistor(adding, add_gate(adding, RUN | START | STALL, -1, FALSE), e->p[LG_P_RESISTANCE]);
    break;
  case LG_EL_BUZZER:
    add_resistor(adding, add_gate(adding, RUN | START | STALL, -1, FALSE),
                 e->p[LG_P_VOLTS] / e->p[LG_P_RUN]);
    break;
  case LG_EL_THERMISTOR:
    add_resistor(adding, -1, lg_thermistor_ohm(e->p[LG_P_R25], e->p[LG_P_BETA], temperature_K));
    break;
  case LG_EL_LAMP:
    add_lamp(adding);
    break;
  case LG_EL_LED:
    add_led(adding);
    break;
  case LG_EL_DIODE:
    add_branch(adding, LG_BRANCH_DIODE, -1, e->p[LG_P_FORWARD], e->p[LG_P_RESISTANCE], KNEE_V);
    break;
  case LG_EL_MOTOR:
  case LG_EL_FAN:
  case LG_EL_PUMP:
  case LG_EL_SOLENOID:
    add_motor(adding);
    break;
  case LG_EL_ELECTRONIC:
    add_electronic(adding);
    break;
  case LG_EL_COIL:
    add_coil(adding, lg_copper_ratio(temperature_K));
    break;
  case LG_EL_MAKE:
  case LG_EL_BREAK:
  case LG_EL_CONTACT:
  case LG_EL_THERMOSTAT:
  case LG_EL_OUTPUT:
    add_contact(adding);
    break;
  case LG_N_ELEMENT_KINDS:
    g_assert_not_reached();
  }
}

/* A cavity of this example that holds no terminal leaves what is behind it out of the circuit. */
static gboolean is_fitted(const LgJob *job, const LgElement *element)
{
  return job->pins[element->pin[0]].fitted != LG_FITTED_NO &&
         (element->pin[1] < 0 || job->pins[element->pin[1]].fitted != LG_FITTED_NO);
}

static void add_elements(LgCircuit *circuit, gboolean contacts)
{
  const LgJob *const job = circuit->job;
  for (int i = 0; i < job->n_elements; i++) {
    const LgElement *const e = &job->elements[i];
    if (lg_element_is_contact(e->kind) != contacts || !is_fitted(job, e))
      continue;
    const Adding adding = {.circuit = circuit,
                           .element = e,
                           .index = i,
                           .a = circuit->pin_node[e->pin[0]],
                           .b = e->pin[1] >= 0 ? circuit->pin_node[e->pin[1]] : circuit->body_node};
    add_element(&adding);
  }
}

static int number_nodes(LgCircuit *circuit, int source)
{
  const LgJob *const job = circuit->job;
  const int reference_pin = job->elements[source].pin[1];
  int n = 1;
  for (int i = 0; i < job->n_pins; i++)
    circuit->pin_node[i] = i == reference_pin ? 0 : n++;
  circuit->body_node = -1;
  for (int e = 0; e < job->n_elements && circuit->body_node < 0; e++)
    if (job->elements[e].kind == LG_EL_CHASSIS)
      circuit->body_node = n++;
  return n;
}

static void add_wires(LgCircuit *circuit, const LgConductor *const chosen[])
{
  const LgJob *const job = circuit->job;
  for (int i = 0; i < job->n_wires; i++) {
    const LgWire *const wire = &job->wires[i];
    const double temperature_K = day_temperature(circuit->day, wire->cold_K, wire->hot_K);
    const double ohm = lg_wire_resistance(job, wire, conductor_of(job, i, chosen), temperature_K);
    circuit->wire_branch[i] =
        lg_net_add_branch(circuit->net, (LgNetBranch){.kind = LG_BRANCH_RESISTOR,
                                                      .a = circuit->pin_node[wire->pin[0]],
                                                      .b = circuit->pin_node[wire->pin[1]],
                                                      .gate = -1,
                                                      .p = {1 / ohm}});
  }
}

LgCircuit *lg_circuit_new(const LgJob *job, LgDay day, const LgConductor *const chosen[],
                          GError **error)
{
  const int source = main_source(job);
  if (source < 0) {
    g_set_error_literal(error, LG_JOB_ERROR, 0,
                        "the job has no battery or other source; add one, such as `part G1 "
                        "battery-12 capacity=70Ah`");
    return NULL;
  }
  LgCircuit *const circuit = g_new0(LgCircuit, 1);
  circuit->job = job;
  circuit->day = day;
  circuit->pin_node = g_new(int, (gsize)job->n_pins);
  circuit->wire_branch = g_new(int, (gsize)job->n_wires + 1);
  circuit->element_branch = g_new(int, (gsize)job->n_elements);
  circuit->element_branches = g_new0(int, (gsize)job->n_elements);
  circuit->element_coil = g_new(int, (gsize)job->n_elements);
  circuit->cell_branch = g_new(int, (gsize)job->n_elements);
  for (int i = 0; i < job->n_elements; i++)
    circuit->element_branch[i] = circuit->element_coil[i] = -1;

  circuit->net = lg_net_new(number_nodes(circuit, source));
  for (int i = 0; i < job->n_inputs; i++)
    lg_net_add_input(circuit->net, (LgNetInput){.n_positions = job->inputs[i].n_positions});
  add_wires(circuit, chosen);
  add_elements(circuit, FALSE); /* coils first: contacts name them */
  add_elements(circuit, TRUE);
  lg_net_close(circuit->net);
  return circuit;
}

void lg_circuit_free(LgCircuit *circuit)
{
  if (circuit == NULL)
    return;
  lg_net_free(circuit->net);
  g_free(circuit->pin_node);
  g_free(circuit->wire_branch);
  g_free(circuit->element_branch);
  g_free(circuit->element_branches);
  g_free(circuit->element_coil);
  g_free(circuit->cell_branch);
  g_free(circuit);
}
