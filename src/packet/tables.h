/* The tables that the verbs print and the packet is made of: each from the job and its studies,
 * plain data. */
#pragma once
#include "base/table.h"
#include "packet/document.h"
#include "studies/checks.h"
#include "studies/compare.h"
#include "studies/faults.h"
#include "studies/identify.h"
#include "studies/locate.h"

G_BEGIN_DECLS

/* All return a new table, owned by the caller; empty tables have no rows and a note that says why.
 */
LgTable *lg_table_sizes(const LgSizing *sizing); /* wires: size, what binds it, margin, the size
                                                    refused, on what the limit rests */
LgTable *lg_table_fuses(const LgSizing *sizing); /* fuses and breakers: rating, form, colour, load,
                                                    thinnest wire behind */
LgTable *lg_table_circuits(const LgSizing *sizing); /* one row a load: fed by, fuse, switched by,
                                                       current, volts there, drop feed and return */
LgTable *lg_table_needs(const LgSizing *sizing); /* needs with the worst value met and its state */
LgTable *lg_table_wire_list(const LgSizing *sizing); /* from-to list, trade.md section 6 */
LgTable *lg_table_cut_list(const LgSizing *sizing);  /* pieces to cut, grouped by insulation, size,
                                                        colour; totals in the note */
LgTable *lg_table_parts(const LgSizing *sizing); /* bill of material: parts, terminals, fuses, wire
                                                    by the metre, coverings */
LgTable *
lg_table_buying(const LgSizing *sizing); /* what to ask the seller of the donor parts for */
GPtrArray *lg_tables_connectors(const LgJob *job); /* LgTable*, one a part with a face or more than
                                                      one pin that is no standard part */
LgTable *lg_table_pre_power(
    const LgSizing *sizing); /* what to measure before first power, from the evidence grades */
LgTable *lg_table_readings(
    const LgSizing *sizing); /* expected volts and currents in telling states, with tolerance */

/* What each row of the tables `pre-power`, `first-power` and `readings` asks a meter, row by row:
 * `measures` ("resistance", "volts", "current", "": nothing to type), the pins that a `reading` of
 * it names ("": it is none of the built job), `low` and `high` in SI (NAN: not said), `open` (no
 * connection is as it should be), `when`. NULL for other keys. */
LgTable *lg_table_steps(const LgSizing *sizing, const char *key);

/* What one builds by. */
LgTable *lg_table_routes(const LgSizing *sizing);   /* runs: bundle, covering, bends, clips */
LgTable *lg_table_openings(const LgSizing *sizing); /* holes and openings, what passes, verdict */
LgTable *lg_table_spools(const LgSizing *sizing);   /* spools to buy and how to cut them, waste */
LgTable *lg_table_splices(const LgSizing *sizing); /* splices: where, what meets, crimp, covering */
LgTable *lg_table_crimps(const LgSizing *sizing);  /* crimps by terminal and wire, least pull-out */
LgTable *lg_table_labels(const LgSizing *sizing);  /* one a wire's end, fuse and relay */
LgTable *lg_table_order(const LgSizing *sizing);   /* steps of building, in order */
LgTable *lg_table_quote(const LgSizing *sizing);   /* bill by seller, with sums and labour */
/* What one proves by. */
LgTable *lg_table_first_power(const LgSizing *sizing); /* circuits one by one, current limits */
LgTable *lg_table_handover(const LgSizing *sizing);    /* for owner and inspector, by subject */
/* Subjects of lg_table_handover in their order, NULL-ended. */
extern const char *const lg_handover_subjects[];

/* A common sheet of labels; lengths in mm. */
typedef struct {
  const char *name; /* "a4-65": paper and labels on it */
  LgPaper paper;
  int columns, rows;
  double width_mm, height_mm, left_mm, top_mm, step_x_mm, step_y_mm;
} LgLabelSheet;
extern const LgLabelSheet lg_label_sheets[];          /* ends with name == NULL */
const LgLabelSheet *lg_label_sheet(const char *name); /* NULL when there is none */
/* The labels of lg_table_labels on such sheets (LgDrawing*, owned), from behind the first `taken`
 * places, which an earlier print has used up. `codes`: with a square code (name and both ends)
 * where the label is at least 16 mm high. */
GPtrArray *lg_labels_draw(const LgTable *labels, const LgLabelSheet *sheet, int taken,
                          gboolean codes);

/* One solved state: pins with volts, wires with current and drop, elements with current, volts,
 * power; relays. */
LgTable *lg_table_state_pins(const LgCircuit *circuit, const LgPoint *point);
LgTable *lg_table_state_wires(const LgCircuit *circuit, const LgPoint *point);
LgTable *lg_table_state_elements(const LgCircuit *circuit, const LgPoint *point);

/* Contrasts of two ways, in their order. */
LgTable *lg_table_compare(const LgChoice *first, const LgChoice *second, const GArray *contrasts);

/* An unknown plug: what lies between its cavities, the cavities, readings against the network, the
 * readings that would tell most, and records to paste. */
LgTable *lg_table_identified(const LgPartIdentity *of);
LgTable *lg_table_cavities(const LgPartIdentity *of);
LgTable *lg_table_probes(const LgPartIdentity *of);
LgTable *lg_table_next(const LgPartIdentity *of);
LgTable *lg_table_records(const LgPartIdentity *of);

/* Faults: causes of one effect in a row, gravest first, the harmless left out; every fault in a row
 * of its own; two at once. */
LgTable *lg_table_faults(const LgCampaign *campaign);
LgTable *lg_table_every_fault(const LgCampaign *campaign);
LgTable *lg_table_double_faults(const LgCampaign *campaign);
/* What comes of a fault, in sentences; "Nothing changes." Newly allocated. */
char *lg_effect_words(const LgSizing *sizing, const LgEffect *effect);

/* Where a fault is: suspects with what each would show; readings against the first of them; what to
 * measure next and what each outcome means; symptoms with their first measurement. */
LgTable *lg_table_suspects(const LgLocator *locator, const LgLocation *location,
                           const LgSign signs[]);
LgTable *lg_table_seen(LgLocator *locator, const LgLocation *location, const LgSign signs[]);
LgTable *lg_table_locate_next(const LgLocator *locator, const LgLocation *location);
LgTable *lg_table_symptoms(LgLocator *locator, const LgJob *job);
/* The troubleshooting guide: LgTable*, a page for each load that may not run: where to measure, and
 * where to go for each outcome. */
GPtrArray *lg_tables_guide(LgLocator *locator, const LgJob *job);

/* One or two sentences: whether anything stands against building, counts by grade, what must be
 * measured first. */
char *lg_verdict(const GPtrArray *findings);

G_END_DECLS
