/* Inside of the search for the least copper; sizing-search.c tells the method. */
#pragma once
#include "studies/sizing-private.h"

/* A component is given up beyond so many nodes or exact solutions; the sizes are then not proved
 * least. */
#define LG_MOST_NODES 6000
#define LG_MOST_SOLVED 200

typedef struct {
  int wire; /* number in the search */
  double amps;
} LgTerm;

typedef struct {
  const LgDropLimit *limit;
  gboolean active, hopeless;
  double fixed_V;   /* lower bound of what is lost outside the terms */
  GArray *terms;    /* LgTerm */
  double *shared_A; /* of the shared wires of the component at hand, in their order; NULL */
} LgLimit;

typedef struct {
  int wire;               /* in the job */
  int first, n;           /* sizes: first .. first + n - 1 of the series */
  double *kg, *ohm;       /* [n] */
  int n_loads, last_load; /* loads whose limits it is on the way of; the last one counted */
  int component;
} LgChoice;

typedef struct {
  LgSizer *sizer;
  LgDropMeter *meter;
  double shade;    /* factor on the bounds, see shade_of */
  GArray *limits;  /* LgLimit */
  GArray *choices; /* LgChoice */
  int *number;     /* [n_wires] in choices, -1 */
  int *at;         /* [choices] size at hand, from 0 */
  int *best;       /* [choices] */
  /* of the component at hand */
  GArray *shared; /* int */
  GArray *own;    /* Own, see sizing-component.c */
  double best_kg;
  guint64 nodes, solved;
} LgSearch;

static inline LgChoice *lg_choice(const LgSearch *search, int i)
{
  return &g_array_index(search->choices, LgChoice, i);
}

static inline int lg_int_at(const GArray *array, guint i)
{
  return g_array_index(array, int, i);
}

static inline gboolean lg_limit_is_kept(double volts, const LgLimit *limit)
{
  return volts <= limit->limit->limit_V * (1 + 1e-9);
}

static inline int lg_search_root(const LgSearch *search, int i)
{
  while (lg_choice(search, i)->component != i)
    i = lg_choice(search, i)->component;
  return i;
}

static inline double lg_limit_amps(const LgLimit *limit, int number)
{
  for (guint t = 0; t < limit->terms->len; t++)
    if (g_array_index(limit->terms, LgTerm, t).wire == number)
      return g_array_index(limit->terms, LgTerm, t).amps;
  return 0;
}

static inline gboolean lg_search_limits(const LgSearch *search, const LgLimit *limit, int root)
{
  return limit->active && !limit->hopeless && limit->terms->len > 0 &&
         lg_search_root(search, g_array_index(limit->terms, LgTerm, 0).wire) == root;
}

static inline gboolean lg_search_has(const LgSearch *search, int number, int root)
{
  return lg_choice(search, number)->n_loads > 0 && lg_search_root(search, number) == root;
}

/* --- sizing-search.c --- */
/* Sets a wire of the job to a size of the series. */
void lg_search_set_wire(LgSearch *search, int wire, int index);
/* Volts lost on the limit's way as the circuit stands; see lg_drop_meter_read. */
double lg_search_read(LgSearch *search, const LgLimit *limit, GArray *wires);

/* --- sizing-component.c --- */
/* Solves one component, the others as they stand in search->at. FALSE when the search was cut short
 * or nothing serves; the component's sizes are then the best there were. *floor_kg: what it weighs
 * at least. */
gboolean lg_search_solve(LgSearch *search, int root, double *floor_kg);
/* Whether its limits are kept with the sizes of search->at. */
gboolean lg_search_keeps(LgSearch *search, int root);

/* --- sizing-together.c --- */
/* All components, so that they stand together in search->at; adds to the sizer's least_kg. */
void lg_search_components(LgSearch *search);
