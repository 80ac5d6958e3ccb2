/* The circuit of a job: the network made from its parts and wires, and the solution of one state in
 * the job's own terms. Section 6 of the design: "Circuit". */
#pragma once
#include "circuit/net.h"
#include "model/model.h"

G_BEGIN_DECLS

/* Day for which resistances, coils and batteries are taken. */
typedef enum {
  LG_DAY_HOT,  /* wires and coils at the hottest of their place: greatest drop, weakest relay; the
                  usual choice */
  LG_DAY_MILD, /* everything at 20 C: what a bench measures */
  LG_DAY_COLD, /* at the coldest: greatest short-circuit and inrush current */
} LgDay;

typedef struct {
  LgNet *net;
  const LgJob *job;
  LgDay day;
  int *pin_node;       /* [n_pins] node */
  int body_node;       /* the vehicle's body, -1 when no part is tied to it */
  int *wire_branch;    /* [n_wires] branch */
  int *element_branch; /* [n_elements] first branch, -1 when the element is only a bond of two nodes
                        */
  int *element_branches; /* [n_elements] how many */
  int *element_coil;     /* [n_elements] net coil of a coil or an electronic load's watch, -1 */
  int *cell_branch;      /* main battery's source branch is cell_branch[0]; n_cells of them */
  int n_cells;
} LgCircuit;

/* Builds the network. Inputs of the net are the inputs of the job, index for index. Wires whose
 * size is auto get the conductor in `chosen[wire]` (NULL entries and a NULL array: the thinnest
 * mechanically allowed). Auto fuses have the resistance of a middling rating of their form. NULL
 * and *error when there is no battery or source. */
LgCircuit *lg_circuit_new(const LgJob *job, LgDay day, const LgConductor *const chosen[],
                          GError **error);
void lg_circuit_free(LgCircuit *circuit);

/* Changes a wire's conductor and its temperature (K). */
void lg_circuit_set_wire(LgCircuit *circuit, int wire, const LgConductor *conductor,
                         double temperature_K);

/* One solved state, arrays owned by the point. */
typedef struct {
  int *position;     /* [n_inputs] */
  double *volts;     /* [n_pins] against the reference; NAN when floating */
  double *wire_A;    /* [n_wires] from pin[0] to pin[1] */
  double *element_A; /* [n_elements] from pin[0] through it to pin[1] */
  double *element_V; /* [n_elements] volts pin[0] minus pin[1] */
  gboolean *pulled;  /* [n_elements] coils only */
  LgNetStatus status;
  int coil_element; /* chatter or latching: the coil's element, else -1 */
} LgPoint;

LgPoint *lg_point_new(const LgCircuit *circuit);
void lg_point_free(LgPoint *point);
/* Solves `point->position`. `work` from lg_net_work_new (circuit->net). */
void lg_circuit_solve(const LgCircuit *circuit, LgNetWork *work, LgPoint *point);

/* Gathers the currents and volts of one element or wire from a net solution, for sweeps: out[lane].
 */
void lg_circuit_block_element(const LgCircuit *circuit, const LgNetWork *work,
                              const LgNetBlock *block, int element, double amps[LG_LANES],
                              double volts[LG_LANES]);
void lg_circuit_block_wire(const LgCircuit *circuit, const LgNetWork *work, const LgNetBlock *block,
                           int wire, double amps[LG_LANES]);

/* Whether the inputs' `when` conditions allow these positions. */
gboolean lg_circuit_possible(const LgJob *job, const int position[]);

/* Resistance of a wire: conductor at `temperature_K` over its length, and both terminations. */
double lg_wire_resistance(const LgJob *job, const LgWire *wire, const LgConductor *conductor,
                          double temperature_K);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgCircuit, lg_circuit_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgPoint, lg_point_free)
G_END_DECLS
