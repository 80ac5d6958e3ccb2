/* The write-up for others: one HTML file that needs nothing but itself. It is read on a phone,
 * printed, and its diagram is operated: every state was solved beforehand and is packed in. */
#pragma once
#include "packet/packet-private.h"

G_BEGIN_DECLS

typedef struct {
  gboolean share;          /* leaves out who wrote, measured and said what, and where things sit */
  const GPtrArray *sheets; /* LgDrawing*: the flow diagram; NULL or empty: a gap is printed */
} LgPageOptions;

/* The file, UTF-8. Texts of the sheet are escaped; no outside reference, no script from a text. */
GBytes *lg_page_new(const LgPacket *packet, const LgPageOptions *options);

/* ---- page-states.c ---- */

/* All states of the hand switches and thermostat calls, packed: for each wire, then each element,
 * then each pin, then each coil, one little-endian int16 a state.
 *   current: sign x round (4681 log10 (|A| / 1e-4)), at least 1; 0: none
 *   volts:   round (V / 2 mV), -32768: floating
 *   coil:    1 pulled, 0 not
 * A state's number is sum position[i] x stride[i]. Impossible states have zeros. */
typedef struct {
  GBytes *packed; /* deflated with the zlib header */
  int n_states;
  int *stride;     /* [n_inputs] 0: not varied, at rest */
  gsize raw_bytes; /* before packing */
  gint16 *rest;    /* [n_columns] the same codes of state 0 */
  int n_columns;
} LgPageStates;
enum { LG_PAGE_MOST_STATES = 20000 };
LgPageStates *lg_page_states_new(const LgSizing *sizing);
void lg_page_states_free(LgPageStates *states);
/* The codes above, for tests. */
gint16 lg_page_current_code(double amps);
double lg_page_code_current(gint16 code);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgPageStates, lg_page_states_free)
G_END_DECLS
