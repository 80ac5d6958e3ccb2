#include "sheet/sheet-private.h"
#include <errno.h>
#include <fcntl.h>
#include <glib/gstdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define BLOCK_BYTES ((gsize)64 << 10)

struct LgBlock {
  LgBlock *next;
  gsize used, room;
  max_align_t data[];
};

gpointer lg_sheet_alloc(LgSheet *sheet, gsize size)
{
  size = (size + sizeof(gpointer) - 1) & ~(sizeof(gpointer) - 1);
  LgBlock *block = sheet->blocks;
  if (block == NULL || block->room - block->used < size) {
    const gsize room = MAX(size, BLOCK_BYTES - sizeof *block);
    block = g_malloc(sizeof *block + room);
    *block = (LgBlock){.next = sheet->blocks, .room = room};
    sheet->blocks = block;
  }
  gpointer const data = (char *)block->data + block->used;
  block->used += size;
  return data;
}

void lg_sheet_free(LgSheet *sheet)
{
  if (sheet == NULL)
    return;
  while (sheet->blocks != NULL) {
    LgBlock *const next = sheet->blocks->next;
    g_free(sheet->blocks);
    sheet->blocks = next;
  }
  g_array_unref(sheet->records);
  g_ptr_array_unref(sheet->problems);
  g_bytes_unref(sheet->bytes);
  g_free(sheet->mirror);
  g_free(sheet->file);
  g_free(sheet);
}

const char *lg_sheet_file(const LgSheet *sheet)
{
  return sheet->file;
}

guint lg_sheet_n_records(const LgSheet *sheet)
{
  return sheet->records->len;
}

const LgRecord *lg_sheet_record(const LgSheet *sheet, guint index)
{
  g_assert(index < sheet->records->len);
  return &g_array_index(sheet->records, LgRecord, index);
}

const GPtrArray *lg_sheet_problems(const LgSheet *sheet)
{
  return sheet->problems;
}

GBytes *lg_sheet_bytes(const LgSheet *sheet)
{
  return sheet->bytes;
}

const LgValue *lg_record_value(const LgRecord *record, int field)
{
  for (int i = 0; i < record->n_values; i++)
    if (record->fields[i] == field)
      return &record->values[i];
  return NULL;
}

const LgValue *lg_record_key(const LgRecord *record, const char *key)
{
  const int field = lg_field_find(record->kind, key, strlen(key));
  return field < 0 ? NULL : lg_record_value(record, field);
}

static gboolean set_file_error(GError **error, const char *path, int number, const char *advice)
{
  g_set_error(error, G_FILE_ERROR, (int)g_file_error_from_errno(number), "%s: %s; %s", path,
              g_strerror(number), advice);
  return FALSE;
}

/* Reads up to one byte more than is allowed, so that a pipe without end ends, too. */
static gboolean read_all(int fd, GByteArray *out, int *number)
{
  guint8 part[1 << 16];
  for (;;) {
    const ssize_t n = read(fd, part, sizeof part);
    if (n < 0 && errno == EINTR)
      continue;
    if (n < 0)
      *number = errno;
    if (n <= 0)
      return n == 0;
    g_byte_array_append(out, part, (guint)n);
    if (out->len > LG_SHEET_MOST_BYTES)
      return TRUE;
  }
}

static GBytes *read_file(const char *path, GError **error)
{
  struct stat about;
  int number = 0;
  const int fd = g_open(path, O_RDONLY | O_CLOEXEC, 0);
  if (fd < 0) {
    set_file_error(error, path, errno, "check the name of the sheet and whether you may read it");
    return NULL;
  }
  const gboolean regular = fstat(fd, &about) == 0 && S_ISREG(about.st_mode);
  const gsize size = regular ? MIN((gsize)about.st_size, LG_SHEET_MOST_BYTES) + 1 : 4096;
  GByteArray *const out = g_byte_array_sized_new((guint)size);
  const gboolean good = read_all(fd, out, &number);
  close(fd);
  if (good)
    return g_byte_array_free_to_bytes(out);
  g_byte_array_free(out, TRUE);
  set_file_error(error, path, number,
                 number == EISDIR ? "name a job sheet in it" : "check the disk and try again");
  return NULL;
}

LgSheet *lg_sheet_open(const char *path, gboolean catalogue, GError **error)
{
  GBytes *const bytes = read_file(path, error);
  if (bytes == NULL)
    return NULL;
  LgSheet *const sheet = lg_sheet_read(path, bytes, catalogue);
  g_bytes_unref(bytes);
  return sheet;
}
