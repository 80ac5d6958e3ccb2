/* Every state of the switches, solved and packed for the page. */
#include "packet/page.h"
#include <gio/gio.h>
#include <math.h>
#include <string.h>

#define PER_DECADE 4681.0 /* seven decades in 15 bits */
#define LEAST_A 1e-4
#define VOLT_STEP 2e-3
#define FLOATING G_MININT16

gint16 lg_page_current_code(double amps)
{
  if (!(fabs(amps) > LEAST_A))
    return 0;
  const double code = fmin(round(PER_DECADE * log10(fabs(amps) / LEAST_A)), G_MAXINT16);
  return (gint16)copysign(fmax(code, 1), amps);
}

double lg_page_code_current(gint16 code)
{
  return code == 0 ? 0 : copysign(LEAST_A * pow(10, abs(code) / PER_DECADE), code);
}

static gint16 volts_code(double volts)
{
  if (isnan(volts))
    return FLOATING;
  return (gint16)CLAMP(lround(volts / VOLT_STEP), G_MININT16 + 1, G_MAXINT16);
}

typedef struct {
  const LgSizing *sizing;
  LgPageStates *states;
  gint16 *cells; /* [column][state] */
  int n_coils;
} Filling;

/* Inputs in their order as long as their combinations stay few enough. */
static int choose_inputs(const LgJob *job, LgPageStates *states, int vary[])
{
  int n = 0;
  states->stride = g_new0(int, MAX(job->n_inputs, 1));
  states->n_states = 1;
  for (int i = 0; i < job->n_inputs; i++) {
    const LgInput *const input = &job->inputs[i];
    if (input->kind == LG_INPUT_DEMAND ||
        states->n_states > LG_PAGE_MOST_STATES / input->n_positions)
      continue;
    states->stride[i] = states->n_states;
    states->n_states *= input->n_positions;
    vary[n++] = i;
  }
  return n;
}

static gboolean is_impossible(const int position[], gpointer user)
{
  return !lg_circuit_possible(user, position);
}

static gint16 *cell(const Filling *fill, int column, const int position[])
{
  const LgJob *const job = fill->sizing->circuit->job;
  gsize state = 0;
  for (int i = 0; i < job->n_inputs; i++)
    state += (gsize)(fill->states->stride[i] * position[i]);
  return &fill->cells[(gsize)column * (gsize)fill->states->n_states + state];
}

static void take_block(const LgNetBlock *block, const LgNetWork *work, gpointer user)
{
  const Filling *const fill = user;
  const LgCircuit *const circuit = fill->sizing->circuit;
  const LgJob *const job = circuit->job;
  double amps[LG_LANES], volts[LG_LANES];
  int column = 0;
  for (int w = 0; w < job->n_wires; w++, column++) {
    lg_circuit_block_wire(circuit, work, block, w, amps);
    for (int k = 0; k < block->n; k++)
      *cell(fill, column, block->position[k]) = lg_page_current_code(amps[k]);
  }
  for (int e = 0; e < job->n_elements; e++, column++) {
    lg_circuit_block_element(circuit, work, block, e, amps, volts);
    for (int k = 0; k < block->n; k++)
      *cell(fill, column, block->position[k]) = lg_page_current_code(amps[k]);
  }
  for (int p = 0; p < job->n_pins; p++, column++)
    for (int k = 0; k < block->n; k++)
      *cell(fill, column, block->position[k]) =
          volts_code(circuit->pin_node[p] < 0 ? NAN : block->volts[circuit->pin_node[p]][k]);
  for (int c = 0; c < fill->n_coils; c++, column++)
    for (int k = 0; k < block->n; k++)
      *cell(fill, column, block->position[k]) = block->pulled[k][c / 64] >> (c % 64) & 1;
}

static GBytes *deflate(const void *data, gsize size)
{
  g_autoptr(GZlibCompressor) zlib = g_zlib_compressor_new(G_ZLIB_COMPRESSOR_FORMAT_ZLIB, 9);
  g_autoptr(GOutputStream) memory = g_memory_output_stream_new_resizable();
  g_autoptr(GOutputStream) stream = g_converter_output_stream_new(memory, G_CONVERTER(zlib));
  const gboolean written = g_output_stream_write_all(stream, data, size, NULL, NULL, NULL) &&
                           g_output_stream_close(stream, NULL, NULL);
  g_assert(written); /* memory does not refuse */
  return g_memory_output_stream_steal_as_bytes(G_MEMORY_OUTPUT_STREAM(memory));
}

LgPageStates *lg_page_states_new(const LgSizing *sizing)
{
  const LgCircuit *const circuit = sizing->circuit;
  const LgJob *const job = circuit->job;
  LgPageStates *const states = g_new0(LgPageStates, 1);
  g_autofree int *vary = g_new(int, MAX(job->n_inputs, 1));
  g_autofree int *base = g_new0(int, MAX(job->n_inputs, 1));
  const int n_vary = choose_inputs(job, states, vary);
  Filling fill = {.sizing = sizing, .states = states, .n_coils = lg_net_n_coils(circuit->net)};
  const gsize columns = (gsize)(job->n_wires + job->n_elements + job->n_pins + fill.n_coils);
  states->raw_bytes = columns * (gsize)states->n_states * sizeof(gint16);
  fill.cells = g_malloc0(MAX(states->raw_bytes, 1));
  g_autoptr(LgNetWork) work = lg_net_work_new(circuit->net);
  const LgNetSweep sweep = {.vary = vary,
                            .n_vary = n_vary,
                            .base = base,
                            .with_relays = TRUE,
                            .skip = is_impossible,
                            .user = (gpointer)job};
  lg_net_sweep(circuit->net, work, &sweep, take_block, &fill);
  states->n_columns = (int)columns;
  states->rest = g_new(gint16, columns + 1);
  for (gsize c = 0; c < columns; c++)
    states->rest[c] = fill.cells[c * (gsize)states->n_states];
  for (gsize i = 0; i < columns * (gsize)states->n_states; i++)
    fill.cells[i] = GINT16_TO_LE(fill.cells[i]);
  states->packed = deflate(fill.cells, states->raw_bytes);
  g_free(fill.cells);
  return states;
}

void lg_page_states_free(LgPageStates *states)
{
  if (states == NULL)
    return;
  g_bytes_unref(states->packed);
  g_free(states->stride);
  g_free(states->rest);
  g_free(states);
}
