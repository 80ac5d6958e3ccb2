/* What an unknown plug holds, as far as its readings tell. */
#include "base/words.h"
#include "packet/tables-private.h"
#include <math.h>

/* So many of the next readings are shown. */
enum { MOST_NEXT = 8 };

static const LgColumn found_columns[] = {
    LG_TEXT_COLUMN("from", "From"),
    LG_TEXT_COLUMN("to", "To"),
    LG_NUMBER_COLUMN("resistance_ohm", "Ohms", LG_DIM_RESISTANCE, 3),
    LG_NUMBER_COLUMN("off_ohm", "May be off", LG_DIM_RESISTANCE, 2),
    LG_NUMBER_COLUMN("other_way_ohm", "Leads changed over", LG_DIM_RESISTANCE, 3),
    LG_TEXT_COLUMN("class", "Class"),
    LG_NUMBER_COLUMN("likelihood", "Likelihood", LG_DIM_RATIO, 2),
    LG_TEXT_COLUMN("or_else", "Or else"),
    LG_NUMBER_COLUMN("readings", "Own readings", LG_DIM_NONE, 3),
    LG_COLUMNS_END,
};

/* What else it may be, from a twentieth on. */
static char *or_else(const LgFound *f)
{
  g_autoptr(GString) words = g_string_new(NULL);
  for (int c = 0; c < LG_N_ID_CLASSES; c++) {
    if (c == (int)lg_found_class(f) || f->chance[c] < 0.05)
      continue;
    g_autofree char *one = g_strdup_printf("%s %.0f %%", lg_id_rows[c].name, 100 * f->chance[c]);
    lg_words_add(words, ", ", one);
  }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

LgTable *lg_table_identified(const LgPartIdentity *of)
{
  LgTable *const table = lg_table_new("identified", T_("Between the cavities"), found_columns);
  for (guint i = 0; of->identity != NULL && i < of->identity->found->len; i++) {
    const LgFound *const f = &g_array_index(of->identity->found, LgFound, i);
    const LgIdClass class = lg_found_class(f);
    const gboolean behind = f->switched && class != LG_ID_CONTACT;
    g_autofree char *a = lg_identity_node(of, f->a), *b = lg_identity_node(of, f->b),
                    *others = or_else(f),
                    *name = g_strdup_printf("%s%s", lg_id_rows[class].name,
                                            behind ? T_(" behind a contact") : "");
    lg_table_add(table, a, b, f->switched ? f->moved_ohm : f->ohm, f->off_ohm, f->back_ohm, name,
                 f->chance[class], others, (double)f->n_readings);
  }
  table->note = g_strdup(
      table->n_rows == 0
          ? T_("No reading joins any two cavities so far.")
          : T_("Ohms with the leads taken off, of each branch alone, not of what lies beside it. "
               "Likelihoods hold for plugs with the shares of the class table; colours and labels "
               "are not weighed. Three cavities joined as a star or as a triangle read the same; "
               "so do two pads with a tap and two pads on one return."));
  return table;
}

static const LgColumn cavity_columns[] = {
    LG_TEXT_COLUMN("cavity", "Cavity"),
    LG_TEXT_COLUMN("leads_to", "Leads to"),
    LG_NUMBER_COLUMN("nothing_fitted", "Nothing fitted", LG_DIM_RATIO, 2),
    LG_COLUMNS_END,
};

static char *leads_to(const LgPartIdentity *of, int cavity)
{
  g_autoptr(GString) words = g_string_new(NULL);
  for (guint i = 0; i < of->identity->found->len; i++) {
    const LgFound *const f = &g_array_index(of->identity->found, LgFound, i);
    if (f->a != cavity && f->b != cavity)
      continue;
    g_autofree char *other = lg_identity_node(of, f->a == cavity ? f->b : f->a);
    lg_words_add(words, ", ", other);
  }
  return g_string_free(g_steal_pointer(&words), FALSE);
}

LgTable *lg_table_cavities(const LgPartIdentity *of)
{
  LgTable *const table = lg_table_new("cavities", T_("Cavities"), cavity_columns);
  const LgPart *const part = &of->job->parts[of->part];
  for (int k = 0; of->identity != NULL && k < part->n_pins; k++) {
    g_autofree char *to =
        of->cavities[k].shut ? g_strdup(T_("LEAVE ALONE: restraint")) : leads_to(of, k);
    lg_table_add(table, of->job->pins[part->first_pin + k].short_name, to,
                 of->identity->nothing[k]);
  }
  table->note = g_strdup(T_("Nothing fitted: likelihood from the readings that were open, at rest. "
                            "Look into the cavity: an empty one needs no meter."));
  return table;
}

static const LgColumn reading_columns[] = {
    LG_TEXT_COLUMN("reading", "Reading"),
    LG_TEXT_COLUMN("red", "Red lead"),
    LG_TEXT_COLUMN("black", "Black lead"),
    LG_TEXT_COLUMN("read", "Read"),
    LG_NUMBER_COLUMN("network_ohm", "Network says", LG_DIM_RESISTANCE, 3),
    LG_NUMBER_COLUMN("left_ohm", "Left over", LG_DIM_RESISTANCE, 2),
    LG_NUMBER_COLUMN("times_tolerance", "Times what the meter may be off", LG_DIM_NONE, 2),
    LG_FLAG_COLUMN("contradicts", "Contradicts"),
    LG_COLUMNS_END,
};

LgTable *lg_table_probes(const LgPartIdentity *of)
{
  LgTable *const table = lg_table_new("fit", T_("Readings against the network"), reading_columns);
  const LgIdentity *const id = of->identity;
  const int first = of->job->parts[of->part].first_pin;
  for (int i = 0; id != NULL && i < id->n_probes; i++) {
    const LgProbe *const p = &id->probes[i];
    const LgReading *const reading = &of->job->readings[g_array_index(of->of, int, i)];
    const double should = id->should_ohm[i], apart = p->ohm - should;
    /* what a fit leaves by rounding is nothing */
    const double times = fabs(apart) < 1e-3 * p->off_ohm ? 0 : fabs(apart) / p->off_ohm,
                 left = times == 0 ? 0 : apart;
    g_autofree char *read = isinf(p->ohm) ? g_strdup(T_("open"))
                                          : lg_words_quantity(of->job, p->ohm, LG_DIM_RESISTANCE);
    lg_table_add(table, reading->name, of->job->pins[first + p->red].short_name,
                 of->job->pins[first + p->black].short_name, read, isinf(should) ? NAN : should,
                 isfinite(left) ? left : NAN, isfinite(left) ? times : NAN, id->clash[i]);
  }
  table->note =
      g_strdup(T_("Leads taken off. What the meter may be off: tolerance= and half of the last "
                  "digit of a meter that counts to 2000. Readings after something was done, "
                  "one-way pairs and open ones have no figure from the network."));
  return table;
}

static const LgColumn next_columns[] = {
    LG_NUMBER_COLUMN("rank", "Rank", LG_DIM_NONE, 3),
    LG_TEXT_COLUMN("red", "Red lead"),
    LG_TEXT_COLUMN("black", "Black lead"),
    LG_TEXT_COLUMN("do", "What to do"),
    LG_NUMBER_COLUMN("tells_bits", "Tells, bits", LG_DIM_NONE, 2),
    LG_COLUMNS_END,
};

LgTable *lg_table_next(const LgPartIdentity *of)
{
  LgTable *const table = lg_table_new("next", T_("The reading that tells most"), next_columns);
  const int first = of->job->parts[of->part].first_pin;
  const guint n = of->identity == NULL ? 0 : MIN(of->identity->next->len, MOST_NEXT);
  for (guint i = 0; i < n; i++) {
    const LgNext *const next = &g_array_index(of->identity->next, LgNext, i);
    g_autofree char *words = lg_identity_next_words(of, next);
    lg_table_add(table, (double)(i + 1), of->job->pins[first + next->red].short_name,
                 of->job->pins[first + next->black].short_name, words, next->bits);
  }
  table->note =
      g_strdup(n == 0 ? T_("No reading is proposed.")
                      : T_("Battery off, plug apart, nothing live. Expected information from the "
                           "class table; pairs that tell nothing are left out. Cavities that may "
                           "belong to a restraint are never proposed."));
  return table;
}

static const LgColumn record_columns[] = {
    LG_TEXT_COLUMN("record", "Record"),
    LG_COLUMNS_END,
};

LgTable *lg_table_records(const LgPartIdentity *of)
{
  LgTable *const table = lg_table_new("records", T_("To paste into the sheet"), record_columns);
  g_autoptr(GPtrArray) lines = lg_identity_records(of);
  for (guint i = 0; i < lines->len; i++)
    lg_table_add(table, (const char *)lines->pdata[i]);
  table->note =
      g_strdup(T_("A pin takes the place of the line of the same name. measured: a reading in this "
                  "sheet backs it; the kind of the thing is the likeliest one."));
  return table;
}
