#include "studies/energy.h"
#include "catalogue/material.h"
#include <math.h>
#include <string.h>

/* Solutions remembered before all are forgotten. */
#define MOST_ANSWERS 8192

struct LgSupply {
  const LgJob *job;
  LgCircuit *circuit;
  LgNetWork *work;
  LgPoint *point;
  double speed_rpm, ambient_K;
  double *charge, *solved_charge; /* [n_elements]; cells only; solved: whole percents */
  GHashTable *answers;            /* GBytes of all that a solution depends on -> LgAnswer */
  guint64 n_solved;
  gboolean stale; /* the net's parameters are those of before */
};

static void free_answer(gpointer data)
{
  LgAnswer *const answer = data;
  g_free(answer->element_A);
  g_free(answer->element_V);
  g_free(answer->closed);
  g_free(answer);
}

static double whole_percent(double charge)
{
  return round(100 * charge) / 100;
}

LgSupply *lg_supply_new(const LgJob *job, const LgConductor *const chosen[], GError **error)
{
  LgCircuit *const circuit = lg_circuit_new(job, LG_DAY_MILD, chosen, error);
  if (circuit == NULL)
    return NULL;
  LgSupply *const supply = g_new0(LgSupply, 1);
  *supply = (LgSupply){.job = job,
                       .circuit = circuit,
                       .work = lg_net_work_new(circuit->net),
                       .point = lg_point_new(circuit),
                       .ambient_K = LG_ZERO_C_IN_K + 25,
                       .charge = g_new0(double, (gsize)job->n_elements + 1),
                       .solved_charge = g_new0(double, (gsize)job->n_elements + 1),
                       .answers = g_hash_table_new_full(g_bytes_hash, g_bytes_equal,
                                                        (GDestroyNotify)g_bytes_unref, free_answer),
                       .stale = TRUE};
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_CELL) {
      supply->charge[e] = job->elements[e].p[LG_P_CHARGE];
      supply->solved_charge[e] = whole_percent(supply->charge[e]);
    }
  return supply;
}

void lg_supply_free(LgSupply *supply)
{
  if (supply == NULL)
    return;
  g_hash_table_unref(supply->answers);
  lg_point_free(supply->point);
  lg_net_work_free(supply->work);
  lg_circuit_free(supply->circuit);
  g_free(supply->charge);
  g_free(supply->solved_charge);
  g_free(supply);
}

const LgJob *lg_supply_job(const LgSupply *supply)
{
  return supply->job;
}

double lg_supply_ambient(const LgSupply *supply)
{
  return supply->ambient_K;
}

guint64 lg_supply_n_solved(const LgSupply *supply)
{
  return supply->n_solved;
}

static gboolean is_charger(const LgElement *element)
{
  return element->kind == LG_EL_ALTERNATOR || element->kind == LG_EL_DYNAMO;
}

void lg_circuit_feed_cell(LgCircuit *circuit, int element, double charge, double ambient_K)
{
  const LgElement *const cell = &circuit->job->elements[element];
  LgNet *const net = circuit->net;
  const int branch = circuit->element_branch[element], chemistry = (int)cell->chemistry;
  const double volts = cell->p[LG_P_VOLTS];
  const double ocv_V = lg_battery_ocv(chemistry, charge, volts);
  const double siemens =
      1 / (cell->p[LG_P_RESISTANCE] * lg_battery_resistance_ratio(charge, ambient_K));
  lg_net_set_param(net, branch, 0, siemens);
  lg_net_set_param(net, branch, 1, ocv_V);
  if (circuit->element_branches[element] < 2)
    return;
  const double accepts_A =
      lg_battery_accepts_A(chemistry, cell->p[LG_P_CAPACITY], charge, ambient_K);
  lg_net_set_param(net, branch, 2, siemens * ocv_V);
  lg_net_set_param(net, branch + 1, 0, ocv_V);
  /* What it accepts flows at the regulator's usual 14.2 V of 12 V. */
  lg_net_set_param(net, branch + 1, 1, fmax(14.2 / 12 * volts - ocv_V, 0.5) / accepts_A);
}

void lg_circuit_feed_charger(LgCircuit *circuit, int element, double speed_rpm, double ambient_K)
{
  const LgElement *const charger = &circuit->job->elements[element];
  const double *const p = charger->p;
  const int n = circuit->element_branches[element];
  if (n == 0)
    return;
  const int branch = circuit->element_branch[element] + n - 1;
  lg_net_set_param(circuit->net, branch, 1,
                   lg_regulated_V(p[LG_P_REGULATED], p[LG_P_VOLTS], ambient_K));
  /* A charger without positions has no off: a milliampere stands for it. */
  lg_net_set_param(circuit->net, branch, 2,
                   fmax(lg_alternator_A(p[LG_P_RATED], p[LG_P_IDLE], speed_rpm), 1e-3));
}

static void refresh(LgSupply *supply)
{
  if (!supply->stale)
    return;
  for (int e = 0; e < supply->job->n_elements; e++) {
    if (supply->circuit->element_branch[e] < 0)
      continue;
    if (supply->job->elements[e].kind == LG_EL_CELL)
      lg_circuit_feed_cell(supply->circuit, e, supply->solved_charge[e], supply->ambient_K);
    else if (is_charger(&supply->job->elements[e]))
      lg_circuit_feed_charger(supply->circuit, e, supply->speed_rpm, supply->ambient_K);
  }
  supply->stale = FALSE;
}

void lg_supply_set(LgSupply *supply, double speed_rpm, double ambient_K)
{
  const double speed = isnan(speed_rpm) ? supply->speed_rpm : speed_rpm;
  const double ambient = isnan(ambient_K) ? supply->ambient_K : ambient_K;
  if (speed == supply->speed_rpm && ambient == supply->ambient_K)
    return;
  supply->speed_rpm = speed;
  supply->ambient_K = ambient;
  supply->stale = TRUE;
}

void lg_supply_set_charge(LgSupply *supply, int cell, double charge)
{
  supply->charge[cell] = CLAMP(charge, 0, 1);
  const double whole = whole_percent(supply->charge[cell]);
  supply->stale = supply->stale || whole != supply->solved_charge[cell];
  supply->solved_charge[cell] = whole;
}

double lg_supply_charge(const LgSupply *supply, int cell)
{
  return supply->charge[cell];
}

void lg_supply_place(const LgSupply *supply, int position[])
{
  lg_chargers_place(supply->job, supply->speed_rpm, position);
}

void lg_chargers_place(const LgJob *job, double speed_rpm, int position[])
{
  for (int e = 0; e < job->n_elements; e++) {
    const int input = job->parts[job->elements[e].part].input;
    if (!is_charger(&job->elements[e]) || input < 0)
      continue;
    const LgInput *const i = &job->inputs[input];
    const gboolean may =
        i->when_input < 0 || (i->when_positions >> position[i->when_input] & 1) != 0;
    const double *const p = job->elements[e].p;
    const gboolean gives = lg_alternator_A(p[LG_P_RATED], p[LG_P_IDLE], speed_rpm) > 0;
    position[input] = may && gives ? i->n_positions - 1 : 0;
  }
}

gboolean lg_contact_stands_closed(const LgJob *job, const LgPoint *point, int element)
{
  const LgElement *const e = &job->elements[element];
  const int hand = job->parts[e->part].input;
  return lg_element_is_contact(e->kind) &&
         (e->by < 0 || point->pulled[e->by] == (e->kind == LG_EL_MAKE)) &&
         (e->closed == 0 || hand < 0 || (e->closed >> point->position[hand] & 1) != 0) &&
         (e->call < 0 || point->position[e->call] == 1);
}

static double wires_W(const LgSupply *supply)
{
  const double *const volts = supply->point->volts;
  double sum = 0;
  for (int w = 0; w < supply->job->n_wires; w++) {
    const int *const pin = supply->job->wires[w].pin;
    if (!isnan(volts[pin[0]]) && !isnan(volts[pin[1]]))
      sum += supply->point->wire_A[w] * (volts[pin[0]] - volts[pin[1]]);
  }
  return sum;
}

/* Positions, speed, ambient and charges as bytes. */
static GBytes *key_of(const LgSupply *supply, const int position[])
{
  GByteArray *const key = g_byte_array_new();
  const guint n_elements = (guint)supply->job->n_elements, n_inputs = (guint)supply->job->n_inputs;
  g_byte_array_append(key, (const guint8 *)position, n_inputs * (guint)sizeof(int));
  g_byte_array_append(key, (const guint8 *)&supply->speed_rpm, sizeof(double));
  g_byte_array_append(key, (const guint8 *)&supply->ambient_K, sizeof(double));
  for (guint e = 0; e < n_elements; e++)
    if (supply->job->elements[e].kind == LG_EL_CELL)
      g_byte_array_append(key, (const guint8 *)&supply->solved_charge[e], sizeof(double));
  return g_byte_array_free_to_bytes(key);
}

static LgAnswer *new_answer(const LgSupply *supply)
{
  const LgJob *const job = supply->job;
  const gsize n_elements = sizeof(double) * (gsize)job->n_elements;
  LgAnswer *const answer = g_new(LgAnswer, 1);
  answer->element_A = g_memdup2(supply->point->element_A, n_elements);
  answer->element_V = g_memdup2(supply->point->element_V, n_elements);
  answer->closed = g_new(gboolean, (gsize)job->n_elements + 1);
  for (int e = 0; e < job->n_elements; e++) {
    answer->closed[e] = lg_contact_stands_closed(job, supply->point, e);
    if (isnan(answer->element_V[e]))
      answer->element_V[e] = 0;
  }
  answer->wires_W = wires_W(supply);
  return answer;
}

const LgAnswer *lg_supply_solve(LgSupply *supply, const int position[])
{
  GBytes *const key = key_of(supply, position);
  const LgAnswer *const known = g_hash_table_lookup(supply->answers, key);
  if (known != NULL) {
    g_bytes_unref(key);
    return known;
  }
  if (g_hash_table_size(supply->answers) >= MOST_ANSWERS)
    g_hash_table_remove_all(supply->answers);
  refresh(supply);
  memcpy(supply->point->position, position, sizeof(int) * (gsize)supply->job->n_inputs);
  lg_circuit_solve(supply->circuit, supply->work, supply->point);
  LgAnswer *const answer = new_answer(supply);
  g_hash_table_insert(supply->answers, key, answer);
  supply->n_solved++;
  return answer;
}

/* --- one battery --- */

double lg_cell_charging(const LgElement *cell, double amps)
{
  const double *const p = cell->p;
  const double per_second = 1 / (3600 * p[LG_P_CAPACITY]);
  if (amps <= 0)
    return -amps * lg_battery_yield((int)cell->chemistry) * per_second;
  return -amps / lg_peukert_share(p[LG_P_PEUKERT], p[LG_P_CAPACITY], amps) * per_second;
}

double lg_cell_hours(const LgElement *cell, double amps, double floor)
{
  return fmax(cell->p[LG_P_CHARGE] - floor, 0) / (-3600 * lg_cell_charging(cell, amps));
}

/* The running current of the first starter in the sheet; NAN without one. */
static double starter_A(const LgJob *job)
{
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_MOTOR &&
        strcmp(job->parts[job->elements[e].part].type->name, "starter") == 0)
      return job->elements[e].p[LG_P_RUN];
  return NAN;
}

double lg_cranking_need_A(const LgJob *job, int cell, gboolean *of_starter)
{
  const double *const p = job->elements[cell].p;
  const double running_A = starter_A(job);
  *of_starter = !isnan(running_A);
  return *of_starter ? 2 * running_A : 0.5 * 3.0 * p[LG_P_VOLTS] / 12 / p[LG_P_RESISTANCE];
}

static double cranking_A(const LgElement *cell, double charge, double ambient_K)
{
  return lg_battery_cranking_A((int)cell->chemistry, cell->p[LG_P_VOLTS], cell->p[LG_P_RESISTANCE],
                               charge, ambient_K);
}

double lg_cranking_charge(const LgJob *job, int cell, double ambient_K)
{
  const LgElement *const e = &job->elements[cell];
  gboolean of_starter;
  const double need_A = lg_cranking_need_A(job, cell, &of_starter);
  if (cranking_A(e, 1, ambient_K) < need_A)
    return INFINITY;
  if (cranking_A(e, 0, ambient_K) >= need_A)
    return 0;
  double low = 0, high = 1;
  for (int i = 0; i < 50; i++) {
    const double charge = 0.5 * (low + high);
    *(cranking_A(e, charge, ambient_K) < need_A ? &low : &high) = charge;
  }
  return high;
}
