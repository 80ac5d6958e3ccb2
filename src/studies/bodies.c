/* The heat network from the sheet, and what is taken where the sheet says nothing. */
#include "studies/bodies-private.h"

/* A seat of its own for a pad whose heat nobody described: 0.12 m2 of it touch the sitter
 * (assumed), pad: 0.1 kg of mat and wire; through 3 mm of cover fabric, 0.045 W/m K: 1.8 W/K;
 *   cover: 0.1 kg; through trousers and shirt, 0.04 m2 K/W (a quarter of a clo of 0.155): 3 W/K;
 *   sitter: skin at 34 C, as under a warm seat;
 *   foam: 60 mm of 0.04 W/m K, to its middle: 0.16 W/K, a little of it warms along;
 *   air: 0.12 m2 at 8 W/m2 K below the seat: 1 W/K; the cabin loses 20 W/K.
 * Conductivities, clo and skin: handbooks, memory (fair); 8 W/m2 K: memory (fair); masses: common
 * practice, no source. */
#define SKIN_K (LG_ZERO_C_IN_K + 34)
#define N_SEAT 5
enum { SEAT_PAD, SEAT_COVER, SEAT_SITTER, SEAT_FOAM, SEAT_AIR };
static const LgHeatBody seat[N_SEAT] = {
    [SEAT_PAD] = {"pad", NULL, LG_BODY_PAD, LG_MATERIAL_TEXTILE, 120, 1.8, 0, NAN, SEAT_COVER, -1},
    [SEAT_COVER] = {"cover", NULL, LG_BODY_SURFACE, LG_MATERIAL_TEXTILE, 150, 3, 0, NAN,
                    SEAT_SITTER, -1},
    [SEAT_SITTER] = {"sitter", NULL, LG_BODY_OCCUPANT, LG_MATERIAL_TEXTILE, 5000, NAN, 0, SKIN_K,
                     -1, -1},
    [SEAT_FOAM] = {"foam", NULL, LG_BODY_FOAM, LG_MATERIAL_TEXTILE, 300, 0.16, 0, NAN, SEAT_PAD,
                   -1},
    [SEAT_AIR] = {"air", NULL, LG_BODY_AIR, LG_MATERIAL_TEXTILE, 5000, 1, 20, NAN, SEAT_FOAM, -1},
};

/* Small ones of each kind, in the order of the words: what switches most. Common practice, no
 * source. */
static const double least_J_K[] = {200, 120, 300, 150, 5000, 5000};
/* Lost by bodies that say nothing of it: 0.06 m2 at 8 W/m2 K. Common practice, no source. */
#define LEAST_LOSS_W_K 0.5

static void note(LgBodies *b, int element, int body, LgOrigin origin, char *what, char *taken)
{
  LgHeatNote *const n = g_new(LgHeatNote, 1);
  *n = (LgHeatNote){
      .element = element, .body = body, .origin = origin, .what = what, .taken = taken};
  g_ptr_array_add(b->notes, n);
}

static void free_note(gpointer data)
{
  LgHeatNote *const n = data;
  g_free(n->what);
  g_free(n->taken);
  g_free(n);
}

static void take_bodies(LgBodies *b)
{
  for (int i = 0; i < b->n; i++) {
    const LgBody *const from = &b->job->bodies[i];
    b->bodies[i] = (LgHeatBody){.name = from->name,
                                .text = from->text,
                                .is = from->is,
                                .material = from->material,
                                .capacity_J_K = from->capacity_J_K,
                                .through_W_K = from->through_W_K,
                                .loss_W_K = from->loss_W_K,
                                .held_K = from->held_K,
                                .touches = from->touches,
                                .body = i};
    if (!isnan(from->capacity_J_K) || !isnan(from->held_K))
      continue;
    b->bodies[i].capacity_J_K = least_J_K[from->is];
    note(b, -1, i, from->origin, g_strdup("Says no `capacity=`."),
         g_strdup_printf("%.3g J/K, a small one of its kind: it warms and switches fast. Common "
                         "practice, no source.",
                         least_J_K[from->is]));
  }
}

/* --- heaters --- */

static gboolean says_seat(const char *text)
{
  g_autofree char *folded = text == NULL ? NULL : g_utf8_casefold(text, -1);
  return folded != NULL && strstr(folded, "seat") != NULL;
}

static gboolean is_pad(const LgJob *job, const LgElement *element)
{
  const LgPart *const part = &job->parts[element->part];
  if (element->kind != LG_EL_HEATER || job->pins[element->pin[0]].fitted == LG_FITTED_NO ||
      job->pins[element->pin[1]].fitted == LG_FITTED_NO)
    return FALSE;
  return strcmp(part->type->name, "heater-pad") == 0 || says_seat(part->name) ||
         says_seat(part->text);
}

static int n_untold_pads(const LgJob *job)
{
  int n = 0;
  for (int e = 0; e < job->n_elements; e++)
    n += job->elements[e].warms < 0 && is_pad(job, &job->elements[e]);
  return n;
}

static void add_seat(LgBodies *b, int element)
{
  const LgElement *const heater = &b->job->elements[element];
  const int first = b->n;
  for (int k = 0; k < N_SEAT; k++) {
    LgHeatBody body = seat[k];
    g_autofree char *name = g_strdup_printf("%s of %s", seat[k].name, heater->name);
    body.name = g_string_chunk_insert(b->words, name);
    body.touches = seat[k].touches < 0 ? -1 : first + seat[k].touches;
    b->bodies[b->n++] = body;
  }
  b->warms[element] = first + SEAT_PAD;
  note(b, element, first + SEAT_PAD, heater->origin, g_strdup("No `body` takes up its heat."),
       g_strdup("a pad of 0.12 m2 under 3 mm of fabric, a sitter's skin of 34 C behind clothes, 60 "
                "mm of foam below: handbook figures, memory (fair); area and masses assumed."));
}

/* --- sensors --- */

/* The body that a heater of the same part warms, -1. */
static int beside(const LgBodies *b, int element)
{
  const LgPart *const part = &b->job->parts[b->job->elements[element].part];
  for (int e = part->first_element; e < part->first_element + part->n_elements; e++)
    if (b->warms[e] >= 0)
      return b->warms[e];
  return -1;
}

static gboolean is_heard(const LgJob *job, int thermistor)
{
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].senses == thermistor)
      return TRUE;
  return FALSE;
}

static void place_sensor(LgBodies *b, int element)
{
  const LgElement *const sensor = &b->job->elements[element];
  const gboolean asks = sensor->kind == LG_EL_THERMOSTAT ||
                        (sensor->kind == LG_EL_THERMISTOR && is_heard(b->job, element));
  if (b->feels[element] >= 0 || !asks || b->n == 0)
    return;
  const int body = beside(b, element);
  b->feels[element] = body;
  note(b, element, body, sensor->origin, g_strdup("Does not say what it `feels=`."),
       body >= 0 ? g_strdup_printf("it has the temperature of %s.", b->bodies[body].name)
                 : g_strdup("it feels nothing, so that what listens to it heats without end."));
}

/* --- heat that goes nowhere --- */

void lg_bodies_joined(const LgBodies *bodies, int body, gboolean in[])
{
  memset(in, 0, sizeof(gboolean) * (gsize)bodies->n);
  in[body] = TRUE;
  for (gboolean more = TRUE; more;) {
    more = FALSE;
    for (int i = 0; i < bodies->n; i++) {
      const int k = bodies->bodies[i].touches;
      if (k >= 0 && in[i] != in[k])
        in[i] = in[k] = more = TRUE;
    }
  }
}

static void open_closed_ones(LgBodies *b)
{
  g_autofree gboolean *in = g_new(gboolean, (gsize)b->n + 1);
  g_autofree gboolean *seen = g_new0(gboolean, (gsize)b->n + 1);
  for (int i = 0; i < b->n; i++) {
    if (seen[i])
      continue;
    lg_bodies_joined(b, i, in);
    gboolean loses = FALSE;
    for (int k = 0; k < b->n; k++)
      if (in[k]) {
        seen[k] = TRUE;
        loses = loses || b->bodies[k].loss_W_K > 0 || !isnan(b->bodies[k].held_K);
      }
    if (loses)
      continue;
    b->bodies[i].loss_W_K = LEAST_LOSS_W_K;
    note(
        b, -1, i, b->job->bodies[i].origin,
        g_strdup("Neither it nor what it touches loses heat: it would warm without end."),
        g_strdup_printf("a loss of %.2g W/K to the air, as of 0.06 m2: common practice, no source.",
                        LEAST_LOSS_W_K));
  }
}

LgBodies *lg_bodies_new(const LgJob *job)
{
  const int n_most = job->n_bodies + N_SEAT * n_untold_pads(job);
  LgBodies *const b = g_new0(LgBodies, 1);
  *b = (LgBodies){.job = job,
                  .n = job->n_bodies,
                  .bodies = g_new0(LgHeatBody, (gsize)n_most + 1),
                  .warms = g_new(int, (gsize)job->n_elements + 1),
                  .feels = g_new(int, (gsize)job->n_elements + 1),
                  .notes = g_ptr_array_new_with_free_func(free_note),
                  .words = g_string_chunk_new(512)};
  take_bodies(b);
  for (int e = 0; e < job->n_elements; e++) {
    b->warms[e] = job->elements[e].warms;
    b->feels[e] = job->elements[e].feels;
    if (b->warms[e] < 0 && is_pad(job, &job->elements[e]))
      add_seat(b, e);
  }
  for (int e = 0; e < job->n_elements; e++)
    place_sensor(b, e);
  open_closed_ones(b);
  b->modes = lg_modes_new(b->bodies, b->n);
  return b;
}

void lg_bodies_free(LgBodies *b)
{
  if (b == NULL)
    return;
  lg_modes_free(b->modes);
  g_ptr_array_unref(b->notes);
  g_string_chunk_free(b->words);
  g_free(b->bodies);
  g_free(b->warms);
  g_free(b->feels);
  g_free(b);
}

/* Steps along the touches from `body` to each other, -1 where none lead. */
static void distances(const LgBodies *b, int body, int far[])
{
  for (int i = 0; i < b->n; i++)
    far[i] = i == body ? 0 : -1;
  for (gboolean more = TRUE; more;) {
    more = FALSE;
    for (int i = 0; i < b->n; i++) {
      const int k = b->bodies[i].touches;
      if (k < 0 || (far[i] < 0) == (far[k] < 0))
        continue;
      *(far[i] < 0 ? &far[i] : &far[k]) = 1 + MAX(far[i], far[k]);
      more = TRUE;
    }
  }
}

int lg_bodies_surface(const LgBodies *bodies, int body)
{
  g_autofree int *far = g_new(int, (gsize)bodies->n + 1);
  distances(bodies, body, far);
  int found = -1;
  for (int i = 0; i < bodies->n; i++)
    if (bodies->bodies[i].is == LG_BODY_SURFACE && far[i] >= 0 &&
        (found < 0 || far[i] < far[found]))
      found = i;
  return found;
}

/* --- closed forms --- */

void lg_bodies_steady(const LgBodies *bodies, const double watts[], double ambient_K, double at_K[])
{
  g_autofree double *end = g_new(double, (gsize)bodies->n + 1);
  lg_modes_end(bodies, watts, ambient_K, end);
  for (int i = 0; i < bodies->n; i++)
    at_K[i] = lg_modes_body(bodies, end, end, 0, i);
}

void lg_bodies_after(const LgBodies *bodies, const double start_K[], const double watts[],
                     double ambient_K, double seconds, double at_K[])
{
  g_autofree double *start = g_new(double, (gsize)bodies->n + 1);
  g_autofree double *end = g_new(double, (gsize)bodies->n + 1);
  lg_modes_of(bodies, start_K, start);
  lg_modes_end(bodies, watts, ambient_K, end);
  for (int i = 0; i < bodies->n; i++)
    at_K[i] = lg_modes_body(bodies, start, end, seconds, i);
}

double lg_bodies_time_to(const LgBodies *bodies, const double start_K[], const double watts[],
                         double ambient_K, int body, double wanted_K)
{
  g_autofree double *start = g_new(double, (gsize)bodies->n + 1);
  g_autofree double *end = g_new(double, (gsize)bodies->n + 1);
  lg_modes_of(bodies, start_K, start);
  lg_modes_end(bodies, watts, ambient_K, end);
  double fastest = 0;
  for (int k = 0; k < bodies->modes->n_free; k++)
    fastest = fmax(fastest, bodies->modes->rate[k]);
  if (lg_modes_body(bodies, start, end, 0, body) >= wanted_K)
    return 0;
  const double final_K = lg_modes_body(bodies, start, end, INFINITY, body);
  double low = 0, high = 0.05 / fmax(fastest, 1e-9);
  while (lg_modes_body(bodies, start, end, high, body) < wanted_K) {
    if (final_K + lg_modes_reach(bodies, start, end, high, body) < wanted_K || high > 1e9)
      return INFINITY;
    low = high;
    high += fmax(0.05 * high, 0.05 / fmax(fastest, 1e-9));
  }
  while (high - low > 1e-7 * high) {
    const double middle = 0.5 * (low + high);
    *(lg_modes_body(bodies, start, end, middle, body) < wanted_K ? &low : &high) = middle;
  }
  return high;
}

void lg_bodies_watts(const LgBodies *bodies, const LgAnswer *answer, double watts[])
{
  memset(watts, 0, sizeof(double) * (gsize)bodies->n);
  for (int e = 0; e < bodies->job->n_elements; e++)
    if (bodies->warms[e] >= 0)
      watts[bodies->warms[e]] += fmax(answer->element_A[e] * answer->element_V[e], 0);
}
