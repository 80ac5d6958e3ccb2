/* Makes records of tokens: kind, name, values in order, key=value, free text, `when` tail. */
#include "base/text.h"
#include "sheet/sheet-private.h"
#include <string.h>

/* Names seen so far; open addressing, at most half full. */
typedef struct {
  guint32 at; /* where the name stands in the mirror; 0 in an empty slot, where no name can be */
  guint32 hash;
  int line;
  LgKind kind;
  int variant;
} Seen;

typedef struct {
  LgSheet *sheet;
  Seen *names;
  gsize n_names, room;
  guint32 seed;
  LgScan scan;
  /* the record at hand */
  LgKind kind;
  const LgToken *token; /* the next one */
  const LgToken *last;  /* behind the last one */
  LgRecord record;
  GArray *values;    /* LgValue */
  GArray *fields;    /* int */
  int place;         /* of the value in order that was taken last */
  gboolean doubtful; /* a token or a value in order was faulty: what follows may be shifted */
  guint given[LG_MOST_FIELDS]; /* number of the record in which the field was given last */
  guint number;                /* of the record, from 1 */
  int variant;                 /* as in LgRecord */
  int once_line[LG_N_KINDS];   /* line of a kind that may stand once */
} Reader;

static LgOrigin origin_of(const Reader *r, const LgToken *token)
{
  return (LgOrigin){r->sheet->file, token->line, token->column};
}

static void report(Reader *r, const LgToken *token, char *what, char *remedy)
{
  lg_sheet_add_problem(r->sheet, origin_of(r, token), what, remedy);
}

static LgAsk ask_for(Reader *r, const LgField *field, const LgToken *token)
{
  return (LgAsk){.sheet = r->sheet,
                 .kind = r->kind,
                 .field = field,
                 .text = token->text,
                 .length = token->length,
                 .quoted = token->quoted,
                 .origin = {r->sheet->file, token->line, token->text_column}};
}

/* The token as it stands in the sheet, shortened. */
static char *excerpt_of(const Reader *r, const LgToken *from, const LgToken *to)
{
  return lg_excerpt(r->sheet->text + from->begin, to->end - from->begin);
}

/* FNV-1a with a seed of this process, so that nobody can prepare names that all collide. */
static guint32 hash_name(guint32 seed, LgKind kind, int variant, const char *name)
{
  guint32 hash = (seed ^ (guint32)kind ^ (guint32)variant << 8) * 16777619u;
  for (; *name != '\0'; name++)
    hash = (hash ^ (guchar)*name) * 16777619u;
  return hash ^ hash >> 15;
}

static void put_name(Seen *names, gsize room, Seen seen)
{
  gsize i = seen.hash & (room - 1);
  while (names[i].at != 0)
    i = (i + 1) & (room - 1);
  names[i] = seen;
}

static void grow_names(Reader *r)
{
  const gsize room = MAX((gsize)256, r->room * 2);
  Seen *const names = lg_pages_new(room * sizeof *names);
  memset(names, 0, room * sizeof *names);
  for (gsize i = 0; i < r->room; i++)
    if (r->names[i].at != 0)
      put_name(names, room, r->names[i]);
  g_free(r->names);
  r->names = names;
  r->room = room;
}

/* The line on which the kind has that name already; 0, and the name noted, when it has not. */
static int note_name(Reader *r, const char *name, int line)
{
  const int variant = r->kind == LG_KIND_VARIANT ? 0 : r->variant;
  const guint32 hash = hash_name(r->seed, r->kind, variant, name);
  if (r->n_names * 2 >= r->room)
    grow_names(r);
  for (gsize i = hash & (r->room - 1); r->names[i].at != 0; i = (i + 1) & (r->room - 1))
    if (r->names[i].hash == hash && r->names[i].kind == r->kind && r->names[i].variant == variant &&
        strcmp(r->sheet->mirror + r->names[i].at, name) == 0)
      return r->names[i].line;
  put_name(r->names, r->room,
           (Seen){(guint32)(name - r->sheet->mirror), hash, line, r->kind, variant});
  r->n_names++;
  return 0;
}

/* The words of all kinds welcome in this sheet; NULL for the others. */
static void welcome_kinds(const LgSheet *sheet, const char *words[LG_N_KINDS])
{
  for (int i = 0; i < LG_N_KINDS; i++)
    words[i] = sheet->catalogue || !lg_kinds[i].catalogue_only ? lg_kinds[i].word : NULL;
}

static void report_unknown_kind(Reader *r, const LgToken *token)
{
  const char *words[LG_N_KINDS], *list[LG_N_KINDS + 1] = {NULL};
  welcome_kinds(r->sheet, words);
  int n = 0;
  for (int i = 0; i < LG_N_KINDS; i++)
    if (words[i] != NULL)
      list[n++] = words[i];
  const char *const near =
      token->key == NULL ? lg_nearest_word(token->text, words, LG_N_KINDS) : NULL;
  g_autofree char *shown = excerpt_of(r, token, token);
  g_autofree char *all = lg_list_words(list);
  char *const remedy =
      near == NULL
          ? g_strdup_printf("a line begins with one of %s; a comment begins with #, and a line "
                            "that goes on with the record above with a space",
                            all)
          : g_strdup_printf(token->quoted ? "write %s without quotes" : "did you mean `%s`?", near);
  report(r, token, g_strdup_printf("%s is no kind of record", shown), remedy);
}

static int find_kind(const char *word)
{
  for (int i = 0; i < LG_N_KINDS; i++)
    if (lg_kinds[i].word[0] == word[0] && strcmp(lg_kinds[i].word, word) == 0)
      return i;
  return -1;
}

static gboolean take_kind(Reader *r)
{
  const LgToken *const token = r->token++;
  if (token->broken)
    return FALSE;
  const int kind = token->quoted || token->key != NULL ? -1 : find_kind(token->text);
  if (kind < 0) {
    report_unknown_kind(r, token);
    return FALSE;
  }
  const LgKindInfo *const info = &lg_kinds[kind];
  r->kind = (LgKind)kind;
  if (r->kind == LG_KIND_VARIANT) {
    r->variant++;
    memset(r->once_line, 0, sizeof r->once_line);
  }
  r->record = (LgRecord){.kind = r->kind, .origin = origin_of(r, token), .variant = r->variant};
  if (info->catalogue_only && !r->sheet->catalogue) {
    report(
        r, token,
        g_strdup_printf("`%s` belongs into a catalogue, not into a job sheet", info->word),
        g_strdup(
            "put it into a catalogue file of your own, or use `part`, `pin` and `element` here"));
    return FALSE;
  }
  if (info->once && r->once_line[kind] > 0) {
    report(
        r, token,
        g_strdup_printf("a second `%s`; the first is in line %d", info->word, r->once_line[kind]),
        g_strdup_printf("a sheet has one `%s`: put both into one record", info->word));
    return TRUE;
  }
  r->once_line[kind] = token->line;
  return TRUE;
}

static void report_no_name(Reader *r, const LgToken *at)
{
  g_autofree char *usage = lg_kind_usage(r->kind);
  const gboolean titled = lg_kinds[r->kind].naming == LG_NAMED_TEXT;
  report(r, at,
         g_strdup_printf("`%s` has no %s", lg_kinds[r->kind].word, titled ? "title" : "name"),
         g_strdup_printf("write %s%s", usage, titled ? ", the title in quotes" : ""));
}

static void check_duplicate(Reader *r, const LgToken *token)
{
  const int line = note_name(r, token->text, token->line);
  if (line == 0)
    return;
  g_autofree char *shown = lg_excerpt(token->text, token->length);
  report(r, token,
         g_strdup_printf("a second %s %s; the first is in line %d", lg_kinds[r->kind].word, shown,
                         line),
         g_strdup("give one of them another name, or take one out"));
}

/* A title has to be quoted: a bare word where it belongs means that the quotes are missing. */
static gboolean take_title(Reader *r, const LgToken *token)
{
  if (!token->quoted && token->key == NULL) {
    g_autofree char *shown = lg_excerpt(token->text, token->length);
    report(r, token, g_strdup_printf("the title has no quotes; it begins at %s", shown),
           g_strdup_printf("write %s \"%s ...\"", lg_kinds[r->kind].word, token->text));
    return FALSE;
  }
  if (token->key != NULL) {
    report_no_name(r, token);
    return FALSE;
  }
  if (token->length > 0)
    return TRUE;
  report(r, token, g_strdup("the title is empty"), g_strdup("say in a few words what it is about"));
  return FALSE;
}

/* FALSE when there is nothing that could be the name. */
static gboolean take_name(Reader *r)
{
  const LgNaming naming = lg_kinds[r->kind].naming;
  if (naming == LG_NAMED_NOT)
    return TRUE;
  if (r->token == r->last) {
    report_no_name(r, r->last - 1);
    return FALSE;
  }
  const LgToken *const token = r->token;
  if (token->broken) {
    r->token++;
    r->doubtful = TRUE;
    return TRUE;
  }
  if (naming == LG_NAMED_TEXT) {
    r->token += token->quoted && token->key == NULL ? 1 : 0;
    if (!take_title(r, token))
      return FALSE;
  } else {
    const LgAsk ask = ask_for(r, NULL, token);
    if (token->key != NULL || token->quoted) {
      report_no_name(r, token);
      return FALSE;
    }
    r->token++;
    if (lg_name_read(&ask, naming))
      check_duplicate(r, token);
    else
      r->doubtful = TRUE;
  }
  r->record.name = token->text;
  r->record.name_origin = origin_of(r, token);
  return TRUE;
}

static void keep_value(Reader *r, int field, const LgValue *value)
{
  g_array_append_val(r->values, *value);
  g_array_append_val(r->fields, field);
}

static gboolean take_value(Reader *r, int field, const LgToken *token)
{
  const LgField *const f = &lg_kinds[r->kind].fields[field];
  const LgAsk ask = ask_for(r, f, token);
  LgValue value = {.origin = ask.origin, .text = ask.text, .type = f->type};
  if (r->given[field] == r->number) {
    report(r, token, g_strdup_printf("`%s` is given twice", f->key),
           g_strdup("keep the one that holds"));
    return FALSE;
  }
  r->given[field] = r->number;
  if (!lg_value_read(&ask, &value))
    return FALSE;
  keep_value(r, field, &value);
  return TRUE;
}

static gboolean is_bare(const LgToken *token)
{
  return !token->quoted && token->key == NULL && !token->broken;
}

/* A number, then its unit as a word of its own: "1.5 m". */
static gboolean parted_unit(const LgField *field, const LgToken *token)
{
  double ignored;
  const LgToken *const next = token + 1;
  const gboolean quantity = field->type == LG_VALUE_QUANTITY || field->type == LG_VALUE_AUTO ||
                            field->type == LG_VALUE_RANGE || field->type == LG_VALUE_SIZE;
  if (!quantity || lg_number_span(token->text, token->length) != token->length)
    return FALSE;
  g_autofree char *joined = g_strconcat(token->text, next->text, NULL);
  const LgDim dim = field->type == LG_VALUE_SIZE ? LG_DIM_AREA : field->dim;
  return lg_quantity_read(joined, strlen(joined), dim, &ignored) != LG_QUANTITY_WRONG_UNIT;
}

static gboolean is_between(const LgToken *token)
{
  static const char *const words[] = {"to", "-", "..", "...", "and", "bis", "\342\200\223"};
  for (gsize i = 0; i < G_N_ELEMENTS(words); i++)
    if (strcmp(token->text, words[i]) == 0)
      return TRUE;
  return FALSE;
}

/* How many of the next tokens belong to the value, too, because spaces got in: "1.5 m", "a, b",
 * "-20C to 45C". */
static int spaced_tokens(const Reader *r, const LgField *field, const LgToken *token)
{
  const LgToken *const next = token + 1;
  if (next >= r->last || token->quoted || !is_bare(next))
    return 0;
  if (field->type == LG_VALUE_NAMES && g_str_has_suffix(token->text, ","))
    return 1;
  if (field->type == LG_VALUE_RANGE && next + 1 < r->last && is_bare(next + 1) && is_between(next))
    return 2;
  return parted_unit(field, token) ? 1 : 0;
}

/* The value of `field` from the token at hand and, when spaces got in, the next ones. */
static gboolean take_spaced_value(Reader *r, int field, const LgToken *token)
{
  const LgField *const f = &lg_kinds[r->kind].fields[field];
  const int n = spaced_tokens(r, f, token);
  if (n == 0)
    return take_value(r, field, token);
  const char *const key = token->key == NULL ? "" : token->key, *const equals =
                                                                    token->key == NULL ? "" : "=";
  if (n == 2)
    report(r, token + 1, g_strdup("a range is written with two points and no spaces"),
           g_strdup_printf("write %s%s%s..%s", key, equals, token->text, token[2].text));
  else
    report(
        r, token + 1,
        g_strdup(f->type == LG_VALUE_NAMES ? "a space stands behind the comma"
                                           : "the unit stands apart from its number"),
        g_strdup_printf("write %s%s%s%s without a space", key, equals, token->text, token[1].text));
  r->given[field] = r->number;
  r->token += n;
  return TRUE;
}

/* "a, b, c": the keys of a kind when they are few, else where to find them. */
static char *list_keys(LgKind kind)
{
  enum { MOST_LISTED = 18 };
  const char *list[MOST_LISTED + 1] = {NULL};
  const int n = lg_n_fields(kind);
  int listed = 0;
  for (int i = 0; i < n && n <= MOST_LISTED; i++)
    if (lg_kinds[kind].fields[i].place == 0)
      list[listed++] = lg_kinds[kind].fields[i].key;
  if (listed == 0)
    return g_strdup_printf("`loomgraft explain %s` lists its keys", lg_kinds[kind].word);
  g_autofree char *words = lg_list_words(list);
  return g_strdup_printf("it takes %s", words);
}

static const char *nearest_key(LgKind kind, const char *key)
{
  const char *keys[LG_MOST_FIELDS];
  const int n = lg_n_fields(kind);
  for (int i = 0; i < n; i++)
    keys[i] = lg_kinds[kind].fields[i].key;
  return lg_nearest_word(key, keys, (gsize)n);
}

static gboolean is_limit_word(const char *key)
{
  for (int i = 0; lg_limit_words[i] != NULL; i++)
    if (strcmp(lg_limit_words[i], key) == 0)
      return TRUE;
  return FALSE;
}

static char *remedy_for_key(const Reader *r, const LgToken *token)
{
  const char *const near = nearest_key(r->kind, token->key);
  if (r->kind == LG_KIND_NEED && is_limit_word(token->key))
    return g_strdup_printf("a limit is written with < or >: %s<%s", token->key, token->text);
  if (near != NULL)
    return g_strdup_printf("did you mean `%s`?", near);
  if (lg_kinds[r->kind].has_when)
    return g_strdup_printf("if that is an input's position, write `when` before it: when %s=%s",
                           token->key, token->text);
  return list_keys(r->kind);
}

static void report_unknown_key(Reader *r, const LgToken *token)
{
  g_autofree char *key = lg_excerpt(token->key, strlen(token->key));
  report(r, token, g_strdup_printf("%s is no key of `%s`", key, lg_kinds[r->kind].word),
         remedy_for_key(r, token));
  r->doubtful = r->doubtful || (r->kind == LG_KIND_NEED && is_limit_word(token->key));
}

/* An `=` with a space beside it. Takes the words that belong to it. */
static void report_spaced_equals(Reader *r, const LgToken *key, const LgToken *equals)
{
  const LgToken *const after = equals + 1;
  const gboolean apart = *equals->text == '\0' && after < r->last && after->key == NULL;
  const char *const value = apart ? after->text : equals->text;
  report(r, equals, g_strdup("a space stands beside the `=`"),
         g_strdup_printf("write %s=%s without spaces", key->key != NULL ? key->key : key->text,
                         *value == '\0' ? "value" : value));
  r->token = apart ? after + 1 : equals + 1;
}

/* An `=` with spaces around it, or behind it, at the token at hand. */
static gboolean take_spaced_equals(Reader *r, const LgToken *token)
{
  const LgToken *const next = r->token;
  if (next == r->last || next->leads)
    return FALSE;
  const gboolean before = token->key == NULL && next->key != NULL && *next->key == '\0';
  const gboolean behind =
      token->key != NULL && token->length == 0 && !token->quoted && next->key == NULL;
  if (before || behind)
    report_spaced_equals(r, token, before ? next : token);
  return before || behind;
}

static void take_pair(Reader *r, const LgToken *token)
{
  const int field = lg_field_find(r->kind, token->key, strlen(token->key));
  if (*token->key == '\0') {
    report(r, token, g_strdup("an `=` without a key before it"),
           g_strdup("write key=value without spaces"));
    return;
  }
  if (field < 0) {
    report_unknown_key(r, token);
    return;
  }
  if (take_spaced_equals(r, token)) {
    r->given[field] = r->number;
    return;
  }
  take_spaced_value(r, field, token);
}

static void take_free_text(Reader *r, const LgToken *token)
{
  const LgKindInfo *const info = &lg_kinds[r->kind];
  const int next = lg_field_at_place(r->kind, r->place + 1);
  const gboolean wanted = next >= 0 && info->fields[next].required && r->given[next] != r->number;
  if (!wanted && info->has_text && r->record.text == NULL) {
    r->record.text = token->text;
    return;
  }
  g_autofree char *shown = lg_excerpt(token->text, token->length);
  if (wanted && !r->doubtful) {
    report(r, token,
           g_strdup_printf("the text %s stands where `%s` belongs", shown, info->fields[next].key),
           g_strdup("free text stands behind the values; other values have no quotes"));
    r->doubtful = TRUE;
  } else if (!info->has_text)
    report(r, token,
           g_strdup_printf("a `%s` takes no text, so %s cannot stand here", info->word, shown),
           g_strdup("make it a comment: # and the words"));
  else if (!wanted)
    report(r, token, g_strdup_printf("a second text, %s", shown),
           g_strdup("put both into one pair of quotes"));
}

/* The last of the bare words from `token` on that stand on its line. */
static const LgToken *last_of_run(const Reader *r, const LgToken *token)
{
  while (token + 1 < r->last && is_bare(token + 1) && !token[1].leads &&
         strcmp(token[1].text, "when") != 0)
    token++;
  return token;
}

static void report_too_many(Reader *r, const LgToken *token)
{
  const LgKindInfo *const info = &lg_kinds[r->kind];
  const LgToken *const end = last_of_run(r, token);
  g_autofree char *shown = excerpt_of(r, token, end);
  g_autofree char *usage = lg_kind_usage(r->kind);
  const int n = (int)(end - token) + 1;
  char *const what = n == 1
                         ? g_strdup_printf("%s is one value too many for `%s`", shown, info->word)
                         : g_strdup_printf("%s: %d values too many for `%s`", shown, n, info->word);
  r->token = end + 1;
  if (token->leads && find_kind(token->text) >= 0)
    report(
        r, token, what,
        g_strdup_printf("the line begins with a space and so goes on with the `%s` above; begin it "
                        "at the left edge to make it a record",
                        info->word));
  else if (info->has_text && r->record.text == NULL)
    report(r, token, what,
           g_strdup_printf("it takes %s, then key=value; put a remark in double quotes", usage));
  else
    report(r, token, what, g_strdup_printf("it takes %s, then key=value", usage));
}

/* A key whose value stands behind a space or a colon instead of an `=`. */
static gboolean take_key_without_equals(Reader *r, const LgToken *token)
{
  const gsize n = strcspn(token->text, ":");
  const int field = lg_field_find(r->kind, token->text, n);
  if (field < 0)
    return FALSE;
  const char *const key = lg_kinds[r->kind].fields[field].key;
  const char *value = token->text[n] == '\0' ? "" : token->text + n + 1;
  if (*value == '\0' && r->token < r->last && r->token->key == NULL && !r->token->leads)
    value = (r->token++)->text;
  report(r, token, g_strdup_printf("`%s` has no `=`", key),
         g_strdup_printf("write %s=%s", key, *value == '\0' ? "value" : value));
  r->given[field] = r->number;
  return TRUE;
}

/* "current < 10mA" */
static gboolean take_spaced_limit(Reader *r, int field, const LgToken *token)
{
  if (lg_kinds[r->kind].fields[field].type != LG_VALUE_LIMIT || r->token == r->last ||
      strchr("<>", r->token->text[0]) == NULL || r->token->length == 0 || !is_bare(r->token))
    return FALSE;
  const LgToken *const sign = r->token;
  const LgToken *const figure =
      sign->text[1] == '\0' && sign + 1 < r->last && is_bare(sign + 1) ? sign + 1 : NULL;
  report(r, sign, g_strdup_printf("a space stands beside the `%c`", sign->text[0]),
         g_strdup_printf("write %s%s%s without spaces", token->text, sign->text,
                         figure == NULL ? "" : figure->text));
  r->token = (figure == NULL ? sign : figure) + 1;
  r->given[field] = r->number;
  return TRUE;
}

static void take_in_order(Reader *r, const LgToken *token)
{
  const int known = lg_field_find(r->kind, token->text, token->length);
  if (known >= 0 && take_spaced_equals(r, token)) {
    r->given[known] = r->number;
    return;
  }
  if (r->doubtful)
    return;
  const int field = lg_field_at_place(r->kind, r->place + 1);
  if (field < 0) {
    if (!take_key_without_equals(r, token))
      report_too_many(r, token);
    return;
  }
  r->place++;
  if (take_spaced_limit(r, field, token))
    return;
  if (!take_spaced_value(r, field, token))
    r->doubtful = TRUE;
}

/* A key=value of the record behind `when` is no state of an input, if its value fits the key. */
static gboolean is_misplaced_key(Reader *r, const LgToken *token)
{
  const int field =
      token->key == NULL ? -1 : lg_field_find(r->kind, token->key, strlen(token->key));
  if (field < 0 || lg_kinds[r->kind].fields[field].place > 0)
    return FALSE;
  const LgField *const f = &lg_kinds[r->kind].fields[field];
  double ignored;
  if (f->type == LG_VALUE_QUANTITY)
    return lg_quantity_read(token->text, token->length, f->dim, &ignored) == LG_QUANTITY_OK;
  return token->quoted || f->type == LG_VALUE_DATE || f->type == LG_VALUE_WORD;
}

static void take_state(Reader *r, const LgToken *token)
{
  if (is_bare(token) && (strcmp(token->text, "and") == 0 || strcmp(token->text, "when") == 0)) {
    report(r, token, g_strdup_printf("`%s` is not needed here", token->text),
           g_strdup("leave it out: all that stands behind `when` must hold"));
    return;
  }
  if (is_misplaced_key(r, token)) {
    report(r, token, g_strdup_printf("the key `%s` stands behind `when`", token->key),
           g_strdup("move it before `when`: only positions of inputs stand behind"));
    return;
  }
  LgAsk ask = ask_for(r, NULL, token);
  if (token->key != NULL) {
    /* A state is one text: give the `=` back that made a pair of it. */
    char *const equals = token->key + strlen(token->key);
    *equals = '=';
    memmove(equals + 1, token->text, token->length + 1);
    ask.text = token->key;
    ask.length = strlen(token->key);
    ask.origin.column = token->column;
  }
  LgValue value = {.origin = ask.origin, .text = ask.text, .type = LG_VALUE_STATE};
  if (lg_value_read_state(&ask, &value))
    keep_value(r, -1, &value);
}

static void take_when(Reader *r, const LgToken *when)
{
  const LgKindInfo *const info = &lg_kinds[r->kind];
  if (!info->has_when) {
    report(r, when, g_strdup_printf("a `%s` takes no `when`", info->word),
           g_strdup("only `need` and `reading` hold in a state"));
    r->token = r->last;
    return;
  }
  if (r->token == r->last) {
    report(r, when, g_strdup("nothing stands behind `when`"),
           g_strdup("write the state, such as when KEY=off, or leave `when` out"));
    return;
  }
  while (r->token < r->last && r->sheet->problems->len < LG_SHEET_MOST_PROBLEMS) {
    const LgToken *const token = r->token++;
    if (token->broken)
      continue;
    if (token->quoted && token->key == NULL)
      take_free_text(r, token);
    else if (!take_spaced_equals(r, token))
      take_state(r, token);
  }
}

static void take_token(Reader *r)
{
  const LgToken *const token = r->token++;
  if (token->broken)
    r->doubtful = TRUE;
  else if (token->key != NULL)
    take_pair(r, token);
  else if (token->quoted)
    take_free_text(r, token);
  else if (strcmp(token->text, "when") == 0)
    take_when(r, token);
  else
    take_in_order(r, token);
}

/* Whether a comment stands behind the last token of the record, on its line. */
static gboolean has_comment(const Reader *r)
{
  const char *const text = r->sheet->text;
  gsize i = r->last[-1].end;
  while (i < r->sheet->length && (text[i] == ' ' || text[i] == '\t'))
    i++;
  return i < r->sheet->length && text[i] == '#';
}

static void report_missing(Reader *r)
{
  const LgKindInfo *const info = &lg_kinds[r->kind];
  const LgField *first = NULL;
  g_autoptr(GString) list = g_string_new(NULL);
  for (int i = 0; info->fields[i].key != NULL; i++) {
    if (!info->fields[i].required || r->given[i] == r->number)
      continue;
    g_string_append_printf(list, "%s`%s`", first == NULL ? "" : ", ", info->fields[i].key);
    first = first == NULL ? &info->fields[i] : first;
  }
  g_autofree char *usage = lg_kind_usage(r->kind);
  const char *const hint = has_comment(r) ? "; what stands behind # is a comment" : "";
  lg_sheet_add_problem(
      r->sheet, r->record.origin, g_strdup_printf("this `%s` lacks %s", info->word, list->str),
      first->place > 0 ? g_strdup_printf("write %s, such as `%s`%s", usage, info->example, hint)
                       : g_strdup_printf("add %s=value%s", first->key, hint));
}

static void check_required(Reader *r)
{
  const LgField *const fields = lg_kinds[r->kind].fields;
  for (int i = 0; fields[i].key != NULL; i++)
    if (fields[i].required && r->given[i] != r->number) {
      report_missing(r);
      return;
    }
}

static void keep_record(Reader *r)
{
  LgRecord *const record = &r->record;
  const gsize n = r->values->len;
  record->n_values = (int)n;
  record->begin = r->scan.begin;
  record->end = r->scan.end;
  if (n > 0) {
    LgValue *const values = lg_sheet_alloc(r->sheet, n * (sizeof *values + sizeof(int)));
    int *const fields = (int *)(values + n);
    memcpy(values, r->values->data, n * sizeof *values);
    memcpy(fields, r->fields->data, n * sizeof *fields);
    record->values = values;
    record->fields = fields;
  }
  LgSheet *const sheet = r->sheet;
  if (sheet->n_records % LG_BLOCK_RECORDS == 0)
    g_ptr_array_add(sheet->records, lg_sheet_alloc(sheet, LG_BLOCK_RECORDS * sizeof(LgRecord)));
  LgRecord *const block = sheet->records->pdata[sheet->n_records / LG_BLOCK_RECORDS];
  block[sheet->n_records++ % LG_BLOCK_RECORDS] = *record;
}

static void read_record(Reader *r)
{
  const guint n_problems = r->scan.n_problems;
  r->number++;
  r->token = r->scan.tokens;
  r->last = r->scan.tokens + r->scan.n_tokens;
  r->doubtful = r->sheet->problems->len > n_problems;
  r->place = 0;
  g_array_set_size(r->values, 0);
  g_array_set_size(r->fields, 0);
  if (!take_kind(r) || !take_name(r))
    return;
  while (r->token < r->last && r->sheet->problems->len < LG_SHEET_MOST_PROBLEMS)
    take_token(r);
  if (!r->doubtful)
    check_required(r);
  if (r->sheet->problems->len == n_problems)
    keep_record(r);
}

static void read_records(LgSheet *sheet)
{
  Reader r = {.sheet = sheet, .seed = g_random_int()};
  r.values = g_array_new(FALSE, FALSE, sizeof(LgValue));
  r.fields = g_array_new(FALSE, FALSE, sizeof(int));
  lg_scan_begin(&r.scan, sheet);
  while (lg_scan_record(&r.scan))
    read_record(&r);
  if (sheet->problems->len >= LG_SHEET_MOST_PROBLEMS)
    lg_sheet_add_problem(sheet, (LgOrigin){sheet->file, r.scan.line, 1},
                         g_strdup("too many problems: reading stopped here"),
                         g_strdup("mend the first ones and read again"));
  lg_scan_end(&r.scan);
  g_array_unref(r.values);
  g_array_unref(r.fields);
  g_free(r.names);
}

/* Texts that cannot be read at all; TRUE when reported. */
static gboolean refuse(LgSheet *sheet)
{
  const guchar *const text = (const guchar *)sheet->text;
  const LgOrigin top = {sheet->file, 1, 1};
  if (sheet->length > LG_SHEET_MOST_BYTES) {
    lg_sheet_add_problem(sheet, top,
                         g_strdup_printf("the file is larger than %" G_GSIZE_FORMAT " MiB",
                                         LG_SHEET_MOST_BYTES >> 20),
                         g_strdup("is that a job sheet? Split it into several"));
    return TRUE;
  }
  if (sheet->length >= 2 &&
      ((text[0] == 0xFF && text[1] == 0xFE) || (text[0] == 0xFE && text[1] == 0xFF) ||
       (text[0] == 0) != (text[1] == 0))) {
    lg_sheet_add_problem(sheet, top, g_strdup("the file is UTF-16 text, not UTF-8"),
                         g_strdup("save it with the encoding UTF-8"));
    return TRUE;
  }
  return FALSE;
}

LgSheet *lg_sheet_read(const char *file, GBytes *bytes, gboolean catalogue)
{
  LgSheet *const sheet = g_new0(LgSheet, 1);
  sheet->file = g_strdup(file);
  sheet->bytes = g_bytes_ref(bytes);
  sheet->text = g_bytes_get_data(bytes, &sheet->length);
  sheet->catalogue = catalogue;
  sheet->records = g_ptr_array_new();
  sheet->problems = lg_problems_new();
  if (sheet->length == 0 || refuse(sheet))
    return sheet;
  sheet->mirror = lg_pages_new(sheet->length + 1);
  memcpy(sheet->mirror, sheet->text, sheet->length);
  sheet->mirror[sheet->length] = '\0';
  read_records(sheet);
  return sheet;
}
