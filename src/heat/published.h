/* For tests and drawings of this room: published tables, and the same cases by our own physics. */
#pragma once
#include "catalogue/reference.h"
#include "heat/heat.h"

G_BEGIN_DECLS

/* Solid-equivalent area and resistance by ASTM B258, 14 % over for the strands, a wall of PVC. */
LgHeatWire awg_wire(double awg, double wall_mm);

/* Lasting current of each of two such wires that touch, bare. */
double pair_current(const LgHeatWire *wire, double ambient_K, double conductor_K);

/* Ratios of our figures to theirs. */
typedef struct {
  GArray *ratios; /* double */
} Ratios;
Ratios *ratios_new(void);
void ratios_free(Ratios *ratios);
void ratios_add(Ratios *ratios, double ours, double theirs);
double ratios_part(const Ratios *ratios, double part); /* 0 least, 0.5 median, 1 greatest */
/* Says least, median and greatest, and fails when one lies outside. */
void ratios_assert(const Ratios *ratios, const char *what, double least, double most);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(Ratios, ratios_free)

G_END_DECLS
