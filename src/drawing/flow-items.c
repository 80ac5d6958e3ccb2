/* Items of a path: what is written at each, and how much room it takes. */
#include "base/table.h"
#include "base/words.h"
#include "drawing/flow-private.h"
#include <math.h>
#include <string.h>

#define LEAST_ROOM 3.0 /* beside a line that bears nothing */
#define GAP 1.3        /* between a line or symbol and letters */
#define EDGE 1.6       /* between letters and the edge of their column */
#define LEADING 3.5
#define SMALL_LEADING 3.1
#define LEAD 3.3      /* of a symbol, above and below; a terminal's number stands beside it */
#define LABEL_MM 21.0 /* longest line of free text */
#define LABEL_LINES 3
#define NAME_MM 32.0
#define CHANGE_OVER_MM 5.3 /* right of the line, its second stub */
#define LIVE_A 0.001
#define LIVE_V 0.5
#define LIVE_WORDS "88.8 mA" /* the widest of a state's figures */

static const char *keep(LgFlowGraph *graph, char *text)
{
  const char *const kept = g_string_chunk_insert(graph->texts, text);
  g_free(text);
  return kept;
}

static void add_line(LgItem *item, const char *text)
{
  if (text != NULL && text[0] != '\0' && item->n_lines < LG_MOST_LINES)
    item->lines[item->n_lines++] = text;
}

static void add_quantity(LgFlowGraph *graph, LgItem *item, double value, LgDim dim)
{
  if (!isnan(value))
    add_line(item, keep(graph, lg_quantity_print(value, dim, graph->job->habit, 3)));
}

/* A figure of the sheet, as short as it was written: "20 A", not "20.0 A". */
static void add_figure(LgFlowGraph *graph, LgItem *item, double value, LgDim dim)
{
  if (isnan(value))
    return;
  char *const words = lg_quantity_print(value, dim, graph->job->habit, 3);
  const gsize span = lg_figures_span(words);
  gsize kept = span;
  if (memchr(words, '.', span) != NULL) {
    while (words[kept - 1] == '0')
      kept--;
    kept -= words[kept - 1] == '.' ? 1 : 0;
  }
  memmove(words + kept, words + span, strlen(words + span) + 1);
  add_line(item, keep(graph, words));
}

/* At most so much of a name is written; the lists have it whole. */
static const char *short_name(LgFlowGraph *graph, const char *name)
{
  if (lg_text_width(name, LG_TEXT_MM, TRUE) <= NAME_MM)
    return name;
  char **lines = lg_text_wrap(name, LG_TEXT_MM, TRUE, NAME_MM, 1);
  const char *const kept = g_string_chunk_insert(graph->texts, lines[0]);
  g_strfreev(lines);
  return kept;
}

static void add_label(LgFlowGraph *graph, LgItem *item, const char *text, int most)
{
  if (text == NULL)
    return;
  char **lines = lg_text_wrap(text, LG_TEXT_SMALL_MM, FALSE, LABEL_MM, most);
  for (int i = 0; lines[i] != NULL; i++)
    add_line(item, g_string_chunk_insert(graph->texts, lines[i]));
  g_strfreev(lines);
}

/* A state's currents and volts keep their lines free where they are nil, so that the layout is the
 * same in every state. */
static void keep_free(const LgFlowGraph *graph, LgItem *item, int most, int written)
{
  if (graph->options.point != NULL)
    item->n_free = most - written;
}

static double widest(const LgFlowGraph *graph, const LgItem *item)
{
  double width = graph->options.point != NULL ? lg_text_width(LIVE_WORDS, LG_TEXT_MM, FALSE) : 0;
  for (int i = 0; i < item->n_lines; i++)
    width = MAX(width, lg_text_width(item->lines[i], LG_TEXT_MM, FALSE));
  return width;
}

double lg_flow_reference_width(const LgFlowGraph *graph)
{
  const char *const widest_words[] = {"88 \u2026 88", "888 \u2026 888", "8888 \u2026 8888"};
  return lg_text_width(widest_words[graph->n_digits - 2], LG_TEXT_SMALL_MM, FALSE);
}

/* Wires. */

static char *size_words(const LgFlowGraph *graph, int wire)
{
  const LgWire *const w = &graph->job->wires[wire];
  const LgConductor *const conductor = w->conductor != NULL            ? w->conductor
                                       : graph->options.chosen != NULL ? graph->options.chosen[wire]
                                                                       : NULL;
  if (conductor == NULL)
    return g_strdup(T_("size auto"));
  const char *const unit = conductor->is_awg ? "AWG" : "mm2";
  const char *const at = strstr(conductor->name, unit);
  return at != NULL ? g_strdup_printf("%.*s %s", (int)(at - conductor->name), conductor->name, unit)
                    : g_strdup(conductor->name);
}

/* Hotter is not told apart: nothing that carries it bears that. */
#define MOST_K 1272.0

static char *warmth_words(const LgFlowGraph *graph, double kelvin)
{
  char *const words =
      lg_quantity_print(fmin(kelvin, MOST_K), LG_DIM_TEMPERATURE, graph->job->habit, 2);
  if (kelvin <= MOST_K)
    return words;
  char *const above = g_strconcat("> ", words, NULL);
  g_free(words);
  return above;
}

static void add_live_wire(LgFlowGraph *graph, LgItem *item, int wire)
{
  const LgFlowOptions *const options = &graph->options;
  if (options->point == NULL || fabs(options->point->wire_A[wire]) < LIVE_A)
    return;
  add_quantity(graph, item, fabs(options->point->wire_A[wire]), LG_DIM_CURRENT);
  if (options->wire_K != NULL)
    add_line(item, keep(graph, warmth_words(graph, options->wire_K[wire])));
}

/* Room for the widest temperature, so that the layout is the same in every state. */
static double widest_live(const LgFlowGraph *graph)
{
  if (graph->options.wire_K == NULL)
    return 0;
  g_autofree char *words = warmth_words(graph, INFINITY);
  return lg_text_width(words, LG_TEXT_MM, FALSE);
}

static LgItem wire_item(LgFlowGraph *graph, int wire)
{
  const LgWire *const w = &graph->job->wires[wire];
  LgItem item = {.kind = LG_ITEM_WIRE, .index = wire, .name = w->name};
  const char *const name = short_name(graph, w->name);
  item.lines[item.n_lines++] =
      keep(graph, w->colour != NULL ? g_strdup_printf("%s %s", name, w->colour)
                                    : g_strdup_printf("%s ?", name));
  item.lines[item.n_lines++] = keep(graph, size_words(graph, wire));
  add_live_wire(graph, &item, wire);
  keep_free(graph, &item, graph->options.wire_K != NULL ? 4 : 3, item.n_lines);
  item.left = LEAST_ROOM;
  item.right = 0.6 + GAP + fmax(widest(graph, &item), widest_live(graph)) + EDGE;
  item.height = (item.n_lines + item.n_free) * LEADING + 1.6;
  return item;
}

/* Elements. */

static gboolean is_one_of_many(const LgFlowGraph *graph, const LgElement *element)
{
  return graph->job->parts[element->part].n_elements > 1;
}

static int drawn_edge_of(const LgFlowGraph *graph, int element)
{
  const int pin = graph->job->elements[element].pin[0];
  for (int k = graph->first[pin]; pin >= 0 && k < graph->first[pin + 1]; k++) {
    const LgFlowEdge *const edge = &graph->edges[graph->incident[k]];
    if (!edge->is_wire && edge->index == element)
      return graph->incident[k];
  }
  return -1;
}

static int count_contacts(const LgFlowGraph *graph, int coil)
{
  const LgPart *const part = &graph->job->parts[graph->job->elements[coil].part];
  int n = 0;
  for (int e = part->first_element; e < part->first_element + part->n_elements; e++)
    n += graph->job->elements[e].by == coil && drawn_edge_of(graph, e) >= 0;
  return n;
}

static gboolean is_relay_contact(const LgElement *element)
{
  return element->kind == LG_EL_MAKE || element->kind == LG_EL_BREAK;
}

static void add_positions(LgFlowGraph *graph, LgItem *item, const LgElement *element)
{
  const int input = graph->job->parts[element->part].input;
  if (input < 0 || element->closed == 0)
    return;
  const LgInput *const hand = &graph->job->inputs[input];
  g_autoptr(GString) words = g_string_new(NULL);
  for (int p = 0; p < hand->n_positions && p < 64; p++)
    if (element->closed >> p & 1)
      g_string_append_printf(words, "%s%s", words->len > 0 ? ", " : "", hand->positions[p]);
  add_label(graph, item, words->str, 2);
}

static void add_fuse(LgFlowGraph *graph, LgItem *item, int index)
{
  const LgElement *const element = &graph->job->elements[index];
  double rating = element->p[LG_P_RATING];
  if (isnan(rating) && graph->options.ratings_A != NULL)
    rating = graph->options.ratings_A[index];
  if (isnan(rating))
    add_line(item, T_("rating auto"));
  else
    add_figure(graph, item, rating, LG_DIM_CURRENT);
}

static void add_figures(LgFlowGraph *graph, LgItem *item, int index)
{
  const LgElement *const element = &graph->job->elements[index];
  const double *const p = element->p;
  switch (element->kind) {
  case LG_EL_FUSE:
  case LG_EL_BREAKER:
    add_fuse(graph, item, index);
    break;
  case LG_EL_CELL:
  case LG_EL_SUPPLY:
    add_figure(graph, item, p[LG_P_VOLTS], LG_DIM_VOLTAGE);
    add_figure(graph, item, p[LG_P_CAPACITY], LG_DIM_CHARGE);
    break;
  case LG_EL_ALTERNATOR:
  case LG_EL_DYNAMO:
    add_figure(graph, item, p[LG_P_RATED], LG_DIM_CURRENT);
    break;
  case LG_EL_RESISTOR:
  case LG_EL_COIL:
    add_figure(graph, item, p[LG_P_RESISTANCE], LG_DIM_RESISTANCE);
    break;
  case LG_EL_THERMISTOR:
    add_figure(graph, item, p[LG_P_R25], LG_DIM_RESISTANCE);
    break;
  case LG_EL_THERMOSTAT:
    add_figure(graph, item, p[LG_P_OPENS], LG_DIM_TEMPERATURE);
    break;
  case LG_EL_HEATER:
  case LG_EL_LAMP:
    add_figure(graph, item, p[LG_P_POWER], LG_DIM_POWER);
    break;
  default:
    add_figure(graph, item, p[LG_P_RUN], LG_DIM_CURRENT);
    break;
  }
}

static gboolean has_line(const LgItem *item, const char *text)
{
  for (int i = 0; i < item->n_lines; i++)
    if (strcmp(item->lines[i], text) == 0)
      return TRUE;
  return FALSE;
}

/* What a device is for: its own words, else those of a part that is this device alone; a type's
 * words from the catalogue say nothing of the job. */
static void add_purpose(LgFlowGraph *graph, LgItem *item, const LgElement *element)
{
  const LgPart *const part = &graph->job->parts[element->part];
  const char *const of_type = part->type != NULL ? part->type->record->text : NULL;
  const gboolean own = part->text != NULL && g_strcmp0(part->text, of_type) != 0;
  if (element->label != NULL) {
    add_label(graph, item, element->label, LABEL_LINES);
  } else if (is_one_of_many(graph, element)) {
    if (!is_relay_contact(element) && element->kind != LG_EL_COIL &&
        !has_line(item, element->short_name))
      add_label(graph, item, element->short_name, 2);
    else if (element->kind == LG_EL_COIL && own)
      add_label(graph, item, part->text, LABEL_LINES);
  } else if (own) {
    add_label(graph, item, part->text, LABEL_LINES);
  }
}

static void add_live(LgFlowGraph *graph, LgItem *item, int index)
{
  const LgPoint *const point = graph->options.point;
  const LgElementKind kind = graph->job->elements[index].kind;
  if (point == NULL ||
      !(lg_element_is_load(kind) || lg_element_is_source(kind) || kind == LG_EL_COIL))
    return;
  const int before = item->n_lines;
  if (fabs(point->element_A[index]) >= LIVE_A) {
    add_quantity(graph, item, fabs(point->element_A[index]), LG_DIM_CURRENT);
    add_quantity(graph, item, fabs(point->element_V[index]), LG_DIM_VOLTAGE);
  }
  keep_free(graph, item, 2, item->n_lines - before);
}

static LgWorkedBy worked_by(const LgJob *job, const LgElement *element)
{
  const char *const word = job->parts[element->part].class_word;
  const int input = job->parts[element->part].input;
  if (element->kind == LG_EL_THERMOSTAT)
    return LG_WORKED_BY_HEAT;
  if (is_relay_contact(element))
    return LG_WORKED_BY_COIL;
  if (strcmp(word, "key") == 0)
    return LG_WORKED_BY_TURN;
  if (input >= 0 && job->inputs[input].n_positions == 2 &&
      strcmp(job->inputs[input].positions[1], "pressed") == 0)
    return LG_WORKED_BY_PUSH;
  return element->closed != 0 ? LG_WORKED_BY_HAND : LG_WORKED_BY_NOTHING;
}

static gboolean closed_at_rest(const LgElement *element)
{
  if (element->kind == LG_EL_BREAK)
    return TRUE;
  if (element->kind == LG_EL_THERMOSTAT)
    return TRUE; /* cold */
  return element->kind == LG_EL_CONTACT && (element->closed & 1) != 0;
}

static gboolean closed_in_state(const LgFlowGraph *graph, const LgElement *element)
{
  const LgPoint *const point = graph->options.point;
  const int input = graph->job->parts[element->part].input;
  if (is_relay_contact(element) && element->by >= 0)
    return point->pulled[element->by] == (element->kind == LG_EL_MAKE);
  if (element->call >= 0 && point->position[element->call] == 0)
    return FALSE;
  if (input >= 0 && element->closed != 0)
    return (element->closed >> point->position[input] & 1) != 0;
  return closed_at_rest(element);
}

static LgSymbol symbol_of(const LgFlowGraph *graph, int index)
{
  const LgElement *const element = &graph->job->elements[index];
  const LgPoint *const point = graph->options.point;
  LgSymbol symbol = {.kind = element->kind,
                     .suppression = element->suppression,
                     .breaks = closed_at_rest(element),
                     .closed = closed_at_rest(element)};
  if (lg_element_is_contact(element->kind))
    symbol.worked = worked_by(graph->job, element);
  if (point != NULL) {
    symbol.live = fabs(point->element_A[index]) >= LIVE_A;
    symbol.pulled = element->kind == LG_EL_COIL && point->pulled[index];
    symbol.closed = closed_in_state(graph, element);
  }
  return symbol;
}

static LgItem element_item(LgFlowGraph *graph, int index)
{
  const LgElement *const element = &graph->job->elements[index];
  LgItem item = {.kind = LG_ITEM_ELEMENT,
                 .index = index,
                 .name = short_name(graph, graph->job->parts[element->part].name),
                 .symbol = symbol_of(graph, index)};
  const int pins[2] = {element->pin[0], element->pin[1]};
  item.above = lg_flow_has_mark(graph, pins[0])
                   ? NULL
                   : short_name(graph, graph->job->pins[pins[0]].short_name);
  item.below = lg_flow_has_mark(graph, pins[1])
                   ? NULL
                   : short_name(graph, graph->job->pins[pins[1]].short_name);
  add_figures(graph, &item, index);
  add_positions(graph, &item, element);
  add_purpose(graph, &item, element);
  add_live(graph, &item, index);
  if (element->kind == LG_EL_COIL)
    item.n_references = MIN(count_contacts(graph, index), LG_MOST_LINES - item.n_lines);
  else if (is_relay_contact(element))
    item.n_references = 1;
  const LgSymbolSize size = lg_symbol_size(&item.symbol);
  double right = widest(graph, &item);
  if (item.n_references > 0)
    right = MAX(right, lg_flow_reference_width(graph) +
                           lg_text_width(T_("87b in "), LG_TEXT_SMALL_MM, FALSE));
  const double number =
      MAX(item.above != NULL ? lg_text_width(item.above, LG_TEXT_SMALL_MM, FALSE) : 0,
          item.below != NULL ? lg_text_width(item.below, LG_TEXT_SMALL_MM, FALSE) : 0);
  item.left = MAX(LEAST_ROOM, size.left + GAP + lg_text_width(item.name, LG_TEXT_MM, TRUE) + EDGE);
  item.beside = GAP + (lg_flow_may_change_over(graph->job, index) ? MAX(size.right, CHANGE_OVER_MM)
                                                                  : size.right);
  item.right = MAX(MAX(LEAST_ROOM, item.beside + right + EDGE), 0.6 + GAP + number + EDGE);
  item.height =
      2 * LEAD + MAX(size.height, (item.n_lines + item.n_free + item.n_references) * LEADING);
  return item;
}

void lg_flow_make_edge_items(LgFlowGraph *graph)
{
  graph->edge_items = g_new0(LgItem, (gsize)graph->n_edges + 1);
  for (int e = 0; e < graph->n_edges; e++)
    graph->edge_items[e] = graph->edges[e].is_wire ? wire_item(graph, graph->edges[e].index)
                                                   : element_item(graph, graph->edges[e].index);
}

LgItem lg_flow_edge_item(const LgFlowGraph *graph, int edge, int upper_pin)
{
  LgItem item = graph->edge_items[edge];
  item.flipped = graph->edges[edge].end[0] != upper_pin;
  item.symbol.flipped = item.flipped;
  if (item.flipped) {
    const char *const above = item.above;
    item.above = item.below;
    item.below = above;
  }
  return item;
}

/* Points. */

static const char *pin_name(LgFlowGraph *graph, int pin)
{
  const LgPart *const part = &graph->job->parts[graph->job->pins[pin].part];
  return short_name(graph, part->n_pins == 1 ? part->name : graph->job->pins[pin].name);
}

static const char *pin_words(const LgFlowGraph *graph, int pin)
{
  const LgPin *const p = &graph->job->pins[pin];
  const LgPart *const part = &graph->job->parts[p->part];
  if (part->n_pins > 1)
    return p->from_type ? NULL : p->label;
  return part->type != NULL && g_strcmp0(part->text, part->type->record->text) == 0 ? NULL
                                                                                    : part->text;
}

static void add_volts(LgFlowGraph *graph, LgItem *item, int pin)
{
  if (graph->options.point != NULL && fabs(graph->options.point->volts[pin]) >= LIVE_V)
    add_quantity(graph, item, graph->options.point->volts[pin], LG_DIM_VOLTAGE);
}

LgItem lg_flow_mark_item(LgFlowGraph *graph, int pin)
{
  LgItem item = {.kind = LG_ITEM_MARK, .index = pin, .name = pin_name(graph, pin)};
  add_label(graph, &item, pin_words(graph, pin), LABEL_LINES);
  const int before = item.n_lines;
  add_volts(graph, &item, pin);
  keep_free(graph, &item, 1, item.n_lines - before);
  const double name = lg_text_width(item.name, LG_TEXT_MM, TRUE);
  item.left = LEAST_ROOM;
  item.right = 1.6 + GAP + MAX(name, widest(graph, &item)) + EDGE;
  item.height = (1 + item.n_lines + item.n_free) * LEADING + 1.6;
  return item;
}

static void add_tag_room(const LgFlowGraph *graph, LgItem *item)
{
  const double name = lg_text_width(item->name, LG_TEXT_MM, TRUE);
  const double half = MAX(name, lg_flow_reference_width(graph) + 2.6) / 2 + 1.4;
  item->left = item->right = half + EDGE;
  item->height = 2 * LEADING + 3.9;
}

LgItem lg_flow_end_item(LgFlowGraph *graph, LgItemKind kind, int pin)
{
  LgItem item = {.kind = kind, .index = pin, .name = pin_name(graph, pin)};
  const double name = lg_text_width(item.name, LG_TEXT_MM, TRUE);
  item.left = LEAST_ROOM;
  item.right = LEAST_ROOM;
  switch (kind) {
  case LG_ITEM_TAG:
    add_tag_room(graph, &item);
    break;
  case LG_ITEM_FOOT: /* its name stands below the body's line */
    item.left = MAX(LEAST_ROOM, name / 2 + EDGE);
    item.right = MAX(LEAST_ROOM, name / 2 + EDGE);
    break;
  case LG_ITEM_STOP:
    item.lines[item.n_lines++] = T_("leave alone");
    item.right = 2.2 + GAP + MAX(name, widest(graph, &item)) + EDGE;
    item.height = 3 * LEADING;
    break;
  default:
    if (!lg_flow_has_mark(graph, pin) && graph->first[pin + 1] > graph->first[pin] &&
        !graph->edges[graph->incident[graph->first[pin]]].is_wire)
      item.name = NULL; /* the terminal's number stands at the device */
    item.right = 0.8 + GAP + (item.name != NULL ? name : 0) + EDGE;
    item.height = LEADING + 1.6;
    break;
  }
  return item;
}

LgItem lg_flow_caption_item(LgFlowGraph *graph, int part)
{
  const LgPart *const p = &graph->job->parts[part];
  LgItem item = {.kind = LG_ITEM_CAPTION, .index = part, .name = short_name(graph, p->name)};
  if (p->type == NULL || g_strcmp0(p->text, p->type->record->text) != 0)
    add_label(graph, &item, p->text, 2);
  item.left = LEAST_ROOM;
  item.right =
      GAP + 0.6 + MAX(lg_text_width(item.name, LG_TEXT_MM, TRUE), widest(graph, &item)) + EDGE;
  item.height = (1 + item.n_lines) * LEADING + 1.8;
  return item;
}
