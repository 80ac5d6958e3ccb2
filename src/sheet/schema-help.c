/* Help for people, made from the schema table. */
#include "sheet/sheet-private.h"
#include <string.h>

static char *range_of(const LgField *field)
{
  if (field->least == 0 && field->most == 0)
    return g_strdup("");
  g_autofree char *least = lg_print_limit(field->least, field->dim);
  g_autofree char *most = lg_print_limit(field->most, field->dim);
  return g_strdup_printf(", %s to %s", least, most);
}

/* "a length with its unit (m, mm, cm, ft, in), 5 mm to 200 m": what can stand there. */
static char *describe_value(const LgField *field)
{
  static const char *const fixed[] = {
      [LG_VALUE_TEXT] = "text in quotes",
      [LG_VALUE_NAME] = "a name",
      [LG_VALUE_PIN] = "a pin: PART.PIN",
      [LG_VALUE_ITEM] = "a name, or PART.NAME",
      [LG_VALUE_COLOUR] = "a colour: RD, GN/BU",
      [LG_VALUE_SIZE] = "a size: 2.5mm2, 14AWG, 2/0AWG, or auto",
      [LG_VALUE_DATE] = "a date: 2026-05-31",
      [LG_VALUE_GRID] = "rows x columns: 3x6",
      [LG_VALUE_NAMES] = "names: a,b,c",
      [LG_VALUE_STATE] = "an input's position: KEY=off",
      [LG_VALUE_LIMIT] = "a limit: current<10mA, volts>11V, power>60W",
  };
  g_autofree char *range = range_of(field);
  switch (field->type) {
  case LG_VALUE_WORD:
    return lg_list_words(field->words);
  case LG_VALUE_COUNT:
    return g_strdup_printf("a whole number%s", range);
  case LG_VALUE_QUANTITY:
  case LG_VALUE_AUTO:
  case LG_VALUE_RANGE:
    return g_strdup_printf("%s%s (%s)%s%s",
                           field->type == LG_VALUE_RANGE ? "two points between: " : "",
                           lg_dim_word(field->dim), lg_dim_units(field->dim), range,
                           field->type == LG_VALUE_AUTO ? ", or auto" : "");
  default:
    return g_strdup(fixed[field->type]);
  }
}

/* "required; without it: 5 %" */
static char *describe_absence(const LgField *field)
{
  if (field->required)
    return g_strdup(field->place > 0 ? "" : " Required.");
  return field->fallback == NULL ? g_strdup("")
                                 : g_strdup_printf(" Without it: %s.", field->fallback);
}

static const char *kind_tail(const LgKindInfo *info)
{
  if (info->has_text && info->has_when)
    return " [key=value ...] [\"text\"] [when INPUT=position ...]";
  if (info->has_when)
    return " [key=value ...] when INPUT=position ...";
  return info->has_text ? " [key=value ...] [\"text\"]" : " [key=value ...]";
}

char *lg_schema_help(LgKind kind)
{
  const LgKindInfo *const info = &lg_kinds[kind];
  g_autofree char *usage = lg_kind_usage(kind);
  GString *const out = g_string_new(NULL);
  g_string_append_printf(out, "%s: %s\n\n    %s%s\n    %s\n\n", info->word, info->help, usage,
                         kind_tail(info), info->example);
  for (const LgField *field = info->fields; field->key != NULL; field++) {
    g_autofree char *value = describe_value(field);
    g_autofree char *absence = describe_absence(field);
    g_string_append_printf(out, "  %s%s\n      %s.%s\n      %s\n", field->key,
                           field->place > 0 ? "" : "=", field->help, absence, value);
  }
  return g_string_free(out, FALSE);
}

/* A text for roff: no line begins with a control character, backslashes are printed. */
static void roff(GString *out, const char *text)
{
  for (const char *p = text; *p != '\0'; p++) {
    const gboolean begins = p == text || p[-1] == '\n';
    if (begins && (*p == '.' || *p == '\''))
      g_string_append(out, "\\&");
    if (*p == '\\')
      g_string_append(out, "\\e");
    else if (*p == '-')
      g_string_append(out, "\\-");
    else
      g_string_append_c(out, *p);
  }
}

static void roff_line(GString *out, const char *text)
{
  roff(out, text);
  g_string_append_c(out, '\n');
}

static void add_field(GString *out, const LgField *field)
{
  g_autofree char *value = describe_value(field);
  g_autofree char *absence = describe_absence(field);
  g_autofree char *text = g_strdup_printf("%s.%s", field->help, absence);
  g_string_append_printf(out, ".TP\n.B ");
  roff(out, field->key);
  g_string_append(out, field->place > 0 ? "\n" : "=\n");
  roff_line(out, text);
  g_string_append(out, ".br\n");
  roff_line(out, value);
}

static void add_kind(GString *out, LgKind kind)
{
  const LgKindInfo *const info = &lg_kinds[kind];
  g_autofree char *usage = lg_kind_usage(kind);
  g_autofree char *whole = g_strconcat(usage, kind_tail(info), NULL);
  g_string_append_printf(out, ".SS %s\n", info->word);
  roff(out, info->help);
  g_string_append(out, ".\n.PP\n.nf\n");
  roff_line(out, whole);
  roff_line(out, info->example);
  g_string_append(out, ".fi\n");
  for (const LgField *field = info->fields; field->key != NULL; field++)
    add_field(out, field);
}

static const char introduction[] =
    ".TH LOOMGRAFT\\-JOB 5 2026-11-25\n"
    ".SH NAME\n"
    "loomgraft\\-job \\- the job sheet of loomgraft(1)\n"
    ".SH DESCRIPTION\n"
    "A job sheet is a plain UTF\\-8 text, one record a line:\n"
    ".PP\n"
    ".nf\n"
    "kind NAME values in order key=value ... \"free text\"\n"
    ".fi\n"
    ".PP\n"
    "A line that begins with white space goes on with the record above.\n"
    "A # at the left edge or behind white space begins a comment.\n"
    "Text stands in double quotes, on one line; \\e\" is a quote in it and \\e\\e a backslash.\n"
    "Names are made of letters, digits, _, \\- and +; a pin or an element is PART.NAME.\n"
    "Every quantity carries its unit, right behind the number, with a point for decimals: a bare\n"
    "number is asked back, never guessed.\n"
    "What a part takes as a key of an element goes to every element inside that takes it.\n"
    ".PP\n"
    "Colours are two letters of IEC 60757 (BK BN RD OG YE GN BU VT GY WH PK TQ GD SR), the base\n"
    "before the stripe: GN/BU.\n"
    "German short forms (sw br rt or ge gn bl vi gr ws rs tk) are read, too.\n"
    "Sizes of conductors are square millimetres of copper or AWG; an outside diameter is no "
    "size.\n";

char *lg_schema_manual(void)
{
  GString *const out = g_string_new(introduction);
  g_string_append(out, ".SH RECORDS OF A JOB SHEET\n");
  for (int kind = 0; kind < LG_N_KINDS; kind++)
    if (!lg_kinds[kind].catalogue_only)
      add_kind(out, (LgKind)kind);
  g_string_append(out, ".SH RECORDS OF A CATALOGUE\n");
  for (int kind = 0; kind < LG_N_KINDS; kind++)
    if (lg_kinds[kind].catalogue_only)
      add_kind(out, (LgKind)kind);
  g_string_append(out, ".SH SEE ALSO\n.BR loomgraft (1)\n");
  return g_string_free(out, FALSE);
}
