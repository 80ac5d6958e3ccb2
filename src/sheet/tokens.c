/* What each token of a record stands for; shared by edits and the tidy form. */
#include "sheet/sheet-private.h"
#include <string.h>

static int role_in_order(LgKind kind, int *place)
{
  const int field = lg_field_at_place(kind, *place + 1);
  *place += field >= 0 ? 1 : 0;
  return field >= 0 ? field : LG_ROLE_STRAY;
}

LgKind lg_tokens_assign(LgToken tokens[], gsize n)
{
  int kind = 0, place = 0;
  gboolean when = FALSE;
  while (kind < LG_N_KINDS && strcmp(lg_kinds[kind].word, tokens[0].text) != 0)
    kind++;
  g_assert(kind < LG_N_KINDS);
  const gboolean named = lg_kinds[kind].naming != LG_NAMED_NOT;
  for (gsize i = 0; i < n; i++) {
    LgToken *const t = &tokens[i];
    if (i == 0)
      t->role = LG_ROLE_KIND;
    else if (i == 1 && named)
      t->role = LG_ROLE_NAME;
    else if (t->quoted && t->key == NULL)
      t->role = LG_ROLE_TEXT;
    else if (when)
      t->role = LG_ROLE_STATE;
    else if (t->key != NULL)
      t->role = lg_field_find((LgKind)kind, t->key, strlen(t->key));
    else if ((when = strcmp(t->text, "when") == 0))
      t->role = LG_ROLE_WHEN;
    else
      t->role = role_in_order((LgKind)kind, &place);
  }
  return (LgKind)kind;
}

void lg_piece_begin(LgPiece *piece, const char *text, gsize length)
{
  *piece = (LgPiece){.sheet = {.text = text, .length = length}};
  piece->sheet.mirror = g_malloc(length + 1);
  memcpy(piece->sheet.mirror, text, length);
  piece->sheet.mirror[length] = '\0';
  piece->sheet.problems = lg_problems_new();
  lg_scan_begin(&piece->scan, &piece->sheet);
  piece->found = lg_scan_record(&piece->scan);
}

void lg_piece_end(LgPiece *piece)
{
  lg_scan_end(&piece->scan);
  g_ptr_array_unref(piece->sheet.problems);
  g_free(piece->sheet.mirror);
}
