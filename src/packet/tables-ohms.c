/* What an ohmmeter shows on a part alone: its elements as cold conductances, solved together. */
#include "catalogue/material.h"
#include "packet/tables-private.h"
#include <math.h>

#define ROOM_K (LG_ZERO_C_IN_K + 20)

typedef enum { COLD_OPEN, COLD_OHMIC, COLD_DARK } ColdKind; /* DARK: an ohmmeter tells nothing */

typedef struct {
  ColdKind kind;
  double ohm, tolerance;
} Cold;

/* A meter's few volts leave a motor's armature and a lamp's filament cold and still, so that they
 * show what the start or stall current says; such figures are rough. Common practice, no source. */
#define ROUGH 0.3

static Cold ohmic(double ohm, double tolerance)
{
  return isnan(ohm) ? (Cold){COLD_DARK, NAN, NAN} : (Cold){COLD_OHMIC, ohm, tolerance};
}

static Cold contact(gboolean closed, const LgElement *element)
{
  return closed ? ohmic(element->p[LG_P_RESISTANCE], 1) : (Cold){COLD_OPEN, INFINITY, 0};
}

static Cold cold_of(const LgElement *element)
{
  const double *const p = element->p;
  switch (element->kind) {
  case LG_EL_RESISTOR:
  case LG_EL_HEATER:
  case LG_EL_COIL:
    return ohmic(p[LG_P_RESISTANCE], p[LG_P_TOLERANCE]);
  case LG_EL_LINK:
  case LG_EL_CHASSIS:
    return ohmic(p[LG_P_RESISTANCE], 1);
  case LG_EL_FUSE:
  case LG_EL_BREAKER:
    return ohmic(0.01, 1);
  case LG_EL_THERMISTOR:
    return ohmic(lg_thermistor_ohm(p[LG_P_R25], p[LG_P_BETA], ROOM_K),
                 fmax(p[LG_P_TOLERANCE], 0.1));
  case LG_EL_LAMP:
    return ohmic(p[LG_P_VOLTS] / p[LG_P_START], ROUGH);
  case LG_EL_MOTOR:
  case LG_EL_FAN:
  case LG_EL_PUMP:
    return ohmic(p[LG_P_VOLTS] / p[LG_P_STALL], ROUGH);
  case LG_EL_SOLENOID:
    return ohmic(p[LG_P_VOLTS] / p[LG_P_RUN], ROUGH);
  case LG_EL_MAKE:
    return contact(FALSE, element);
  case LG_EL_BREAK:
    return contact(TRUE, element);
  case LG_EL_CONTACT: /* hand at rest, no call */
    return contact(element->call < 0 && (element->closed & 1) != 0, element);
  default:
    return (Cold){COLD_DARK, NAN, NAN};
  }
}

typedef struct {
  const LgJob *job;
  const LgPart *part;
  int n;        /* pins */
  double *g;    /* [n][n] conductance matrix */
  gboolean *in; /* [n] joined to the first pin */
} PartNet;

static void fill(PartNet *net)
{
  for (int e = net->part->first_element; e < net->part->first_element + net->part->n_elements;
       e++) {
    const LgElement *const element = &net->job->elements[e];
    const Cold cold = cold_of(element);
    if (cold.kind != COLD_OHMIC || element->pin[1] < 0)
      continue;
    const int a = element->pin[0] - net->part->first_pin,
              b = element->pin[1] - net->part->first_pin, n = net->n;
    const double g = 1 / fmax(cold.ohm, 1e-6);
    net->g[a * n + a] += g;
    net->g[b * n + b] += g;
    net->g[a * n + b] -= g;
    net->g[b * n + a] -= g;
  }
}

static void join(PartNet *net, int pin)
{
  net->in[pin] = TRUE;
  for (int k = 0; k < net->n; k++)
    if (!net->in[k] && net->g[pin * net->n + k] < 0)
      join(net, k);
}

/* Ohms between pins a and b: b is the reference, one ampere goes in at a, plain elimination with a
 * ordered last, so that its pivot is the conductance wanted. */
static double between(PartNet *net, int a, int b)
{
  const int n = net->n;
  for (int k = 0; k < n; k++) {
    if (k == a || k == b || !net->in[k])
      continue;
    const double pivot = net->g[k * n + k];
    for (int i = 0; i < n; i++) {
      const double share = i == k || i == b ? 0 : net->g[i * n + k] / pivot;
      for (int j = 0; share != 0 && j < n; j++)
        net->g[i * n + j] -= share * net->g[k * n + j];
    }
  }
  return 1 / net->g[a * n + a];
}

/* Parts with more pins than this are measured element by element. */
#define MOST_PINS 200

static double part_ohm(const LgJob *job, const LgElement *element)
{
  const LgPart *const part = &job->parts[element->part];
  if (part->n_pins > MOST_PINS || element->pin[1] < 0)
    return NAN;
  const gsize n = (gsize)part->n_pins;
  g_autofree double *g = g_new0(double, n *n);
  g_autofree gboolean *in = g_new0(gboolean, n);
  PartNet net = {.job = job, .part = part, .n = part->n_pins, .g = g, .in = in};
  fill(&net);
  const int a = element->pin[0] - part->first_pin, b = element->pin[1] - part->first_pin;
  join(&net, a);
  return net.in[b] ? between(&net, a, b) : INFINITY;
}

LgOhms lg_ohms_of_element(const LgJob *job, int element)
{
  const LgElement *const e = &job->elements[element];
  const Cold cold = cold_of(e);
  if (cold.kind == COLD_DARK)
    return (LgOhms){NAN, NAN, FALSE};
  const double seen = part_ohm(job, e);
  if (isnan(seen))
    return (LgOhms){cold.ohm, cold.tolerance, FALSE};
  const gboolean same = isinf(seen) ? isinf(cold.ohm) : fabs(seen - cold.ohm) <= 0.02 * cold.ohm;
  return (LgOhms){seen, cold.tolerance, !same};
}
