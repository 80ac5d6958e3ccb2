/* Where the cavities lie, and what is known of each. */
#include "drawing/face-private.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

static int first_wire(const LgJob *job, int pin)
{
  for (int w = 0; w < job->n_wires; w++)
    if (job->wires[w].pin[0] == pin || job->wires[w].pin[1] == pin)
      return w;
  return -1;
}

const char *lg_face_colour(const LgJob *job, int pin)
{
  const int wire = first_wire(job, pin);
  return job->pins[pin].colour != NULL ? job->pins[pin].colour
         : wire >= 0                   ? job->wires[wire].colour
                                       : NULL;
}

/* A bought part has in its cavities what the sheet puts there: a wire or nothing. */
LgCavityState lg_face_cavity(const LgJob *job, int pin)
{
  const LgPin *const p = &job->pins[pin];
  if (p->restraint != LG_RESTRAINT_NO)
    return LG_CAVITY_RESTRAINT;
  if (p->fitted == LG_FITTED_NO)
    return LG_CAVITY_EMPTY;
  if (p->from_type)
    return first_wire(job, pin) >= 0 ? LG_CAVITY_FITTED : LG_CAVITY_EMPTY;
  return p->fitted == LG_FITTED_UNKNOWN || p->evidence == LG_EVIDENCE_TOLD ||
                 p->evidence == LG_EVIDENCE_GUESS
             ? LG_CAVITY_UNPROVEN
             : LG_CAVITY_FITTED;
}

gboolean lg_face_is_worth(const LgJob *job, int part)
{
  const LgPart *const p = &job->parts[part];
  return p->rows * p->columns > 1 || p->n_pins >= 3;
}

/* The cavity's number when the pin bears one within the face, else 0. */
static int number_of(const LgJob *job, int pin, int most)
{
  const char *const name = job->pins[pin].short_name;
  char *end;
  const long number = strtol(name, &end, 10);
  return end != name && *end == '\0' && number >= 1 && number <= most ? (int)number : 0;
}

static void add_cell(LgFacePlan *plan, LgFaceCell cell)
{
  g_array_append_val(plan->cells, cell);
  plan->rows = MAX(plan->rows, cell.row + 1);
  plan->columns = MAX(plan->columns, cell.column + 1);
}

/* Numbers run row by row from the upper left of the view that the sheet gives. Pins without a
 * number of their own take the cavities that are left, in the order of the sheet. */
static void plan_face(LgFacePlan *plan, const LgJob *job, const LgPart *part)
{
  const int most = part->rows * part->columns;
  g_autofree int *at = g_new(int, (gsize)most + 1);
  for (int i = 0; i < most; i++)
    at[i] = -1;
  for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++) {
    const int number = number_of(job, p, most);
    if (number > 0)
      at[number - 1] = p;
  }
  int free_cavity = 0;
  for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++) {
    while (free_cavity < most && at[free_cavity] >= 0)
      free_cavity++;
    if (number_of(job, p, most) == 0 && free_cavity < most)
      at[free_cavity] = p;
  }
  for (int i = 0; i < most; i++)
    add_cell(plan, (LgFaceCell){.pin = at[i],
                                .number = i + 1,
                                .row = i / part->columns,
                                .column = i % part->columns,
                                .upright = TRUE});
}

/* Plug-in relay, seen at its blades, which is how its base looks from the wire side: 86 and 85
 * upright at the sides, 87, 87a (or 87b) and 30 across in the middle. Memory of the trade; the
 * drawing tells to compare with the numbers on the part. */
static const struct {
  const char *name;
  double row, column;
  gboolean upright;
} blades[] = {
    {"87", 0, 1, FALSE}, {"87a", 1, 1, FALSE}, {"87b", 1, 1, FALSE},
    {"30", 2, 1, FALSE}, {"86", 1, 0, TRUE},   {"85", 1, 2, TRUE},
};

static gboolean plan_relay(LgFacePlan *plan, const LgJob *job, const LgPart *part)
{
  if (strcmp(part->class_word, "relay") != 0)
    return FALSE;
  for (int p = part->first_pin; p < part->first_pin + part->n_pins; p++) {
    gsize i = 0;
    while (i < G_N_ELEMENTS(blades) && strcmp(blades[i].name, job->pins[p].short_name) != 0)
      i++;
    if (i == G_N_ELEMENTS(blades))
      return FALSE;
    add_cell(plan, (LgFaceCell){.pin = p,
                                .row = blades[i].row,
                                .column = blades[i].column,
                                .upright = blades[i].upright});
  }
  plan->columns = 3;
  plan->rows = 3;
  return TRUE;
}

#define MOST_IN_A_ROW 6

static void plan_rows(LgFacePlan *plan, const LgJob *job, const LgPart *part)
{
  const int n_rows = (part->n_pins + MOST_IN_A_ROW - 1) / MOST_IN_A_ROW;
  const int n_columns = (part->n_pins + n_rows - 1) / MAX(n_rows, 1);
  (void)job;
  for (int i = 0; i < part->n_pins; i++)
    add_cell(plan, (LgFaceCell){.pin = part->first_pin + i,
                                .row = i / n_columns,
                                .column = i % n_columns,
                                .upright = TRUE});
}

LgFacePlan lg_face_plan(const LgJob *job, int part)
{
  const LgPart *const p = &job->parts[part];
  LgFacePlan plan = {.cells = g_array_new(FALSE, FALSE, sizeof(LgFaceCell))};
  if (p->rows * p->columns > 1) {
    plan.places = LG_PLACES_GIVEN;
    plan_face(&plan, job, p);
    return plan;
  }
  if (plan_relay(&plan, job, p)) {
    plan.places = LG_PLACES_HABIT;
    return plan;
  }
  g_array_set_size(plan.cells, 0);
  plan.rows = plan.columns = 0;
  plan.places = LG_PLACES_UNKNOWN;
  plan_rows(&plan, job, p);
  return plan;
}

void lg_face_plan_clear(LgFacePlan *plan)
{
  g_array_unref(plan->cells);
}
