/* What feeds a job at a moment: batteries by charge and cold, alternators by the speed of the
 * engine; how long a battery stands, and whether it still cranks. Laws: catalogue/material.h. */
#pragma once
#include "circuit/circuit.h"

G_BEGIN_DECLS

/* A circuit at 20 C whose batteries and chargers follow charge, speed and ambient. */
typedef struct LgSupply LgSupply;

/* What one state answers; arrays over elements, kept by the supply until the next
 * lg_supply_solve. */
typedef struct {
  double *element_A, *element_V; /* as in LgPoint; 0 V where floating */
  gboolean *closed;              /* contacts: their own one stands closed, loaded or not */
  double wires_W;                /* lost in all wires */
} LgAnswer;

/* `chosen` as for lg_circuit_new. Batteries have their own charge, the engine stands, 25 C. NULL
 * and *error when there is no source. */
LgSupply *lg_supply_new(const LgJob *job, const LgConductor *const chosen[], GError **error);
void lg_supply_free(LgSupply *supply);
/* The engine's speed and the air; batteries and regulators are as cold as the air. NAN leaves one
 * as it is. */
void lg_supply_set(LgSupply *supply, double speed_rpm, double ambient_K);
/* State of charge of a cell, 0 to 1, held there by clamping. Solutions are made for
 * whole percents, the nearest. */
void lg_supply_set_charge(LgSupply *supply, int cell, double charge);
double lg_supply_charge(const LgSupply *supply, int cell);
/* Puts the chargers' inputs in `position` where the speed puts them: off below cut-in, else their
 * last position. A charger whose condition the positions break is off. */
void lg_supply_place(const LgSupply *supply, int position[]);
/* Each state is solved once, and remembered with speed, air and charges. */
const LgAnswer *lg_supply_solve(LgSupply *supply, const int position[]);
double lg_supply_ambient(const LgSupply *supply);
guint64 lg_supply_n_solved(const LgSupply *supply);
const LgJob *lg_supply_job(const LgSupply *supply);

/* The same for a circuit of one's own: a cell by its charge and the air, a charger by the engine's
 * speed, and the chargers' inputs by it. */
void lg_circuit_feed_cell(LgCircuit *circuit, int element, double charge, double ambient_K);
void lg_circuit_feed_charger(LgCircuit *circuit, int element, double speed_rpm, double ambient_K);
void lg_chargers_place(const LgJob *job, double speed_rpm, int position[]);
/* Whether a contact stands closed in a solved state, loaded or not. */
gboolean lg_contact_stands_closed(const LgJob *job, const LgPoint *point, int element);

/* What a current of `amps` (positive: the cell gives) does to a cell's charge, per second: giving
 * counts by Peukert, taking by its yield. */
double lg_cell_charging(const LgElement *cell, double amps);

/* Hours until a cell that gives `amps` without end is down to `floor`; 0 when it is below already.
 * Peukert; self-discharge and cold not counted. */
double lg_cell_hours(const LgElement *cell, double amps, double floor);

/* Current that the engine needs to be cranked in frost: twice the running current of a starter in
 * the sheet; without one, half of the cold cranking current that the battery's resistance stands
 * for. Both common practice, no source. `*of_starter` tells which. */
double lg_cranking_need_A(const LgJob *job, int cell, gboolean *of_starter);
/* Least charge at which the cell gives that current with 7.2 V per 12 V left, at `ambient_K`; 0
 * when any will do, INFINITY when not even a full one. */
double lg_cranking_charge(const LgJob *job, int cell, double ambient_K);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgSupply, lg_supply_free)
G_END_DECLS
