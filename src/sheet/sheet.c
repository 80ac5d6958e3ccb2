#include "sheet/sheet-private.h"
#include <errno.h>
#include <fcntl.h>
#include <glib/gstdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#define FIRST_BLOCK ((gsize)16 << 10)
#define LARGEST_BLOCK ((gsize)4 << 20)
#define HUGE_PAGE ((gsize)2 << 20)

struct LgBlock {
  LgBlock *next;
  gsize used, room;
  gpointer data[];
};

gpointer lg_pages_new(gsize size)
{
#ifdef MADV_HUGEPAGE
  gpointer data = NULL;
  if (size >= HUGE_PAGE && posix_memalign(&data, HUGE_PAGE, size) == 0) {
    madvise(data, size, MADV_HUGEPAGE);
    return data;
  }
#endif
  return g_malloc(size);
}

/* Blocks double, so that a small sheet takes little and a large one few. */
static LgBlock *new_block(LgBlock *last, gsize size)
{
  const gsize wanted = last == NULL ? FIRST_BLOCK : MIN(last->room * 2, LARGEST_BLOCK);
  const gsize room = MAX(size + sizeof *last, wanted);
  LgBlock *const block = lg_pages_new(room);
  *block = (LgBlock){.next = last, .room = room};
  return block;
}

gpointer lg_sheet_alloc(LgSheet *sheet, gsize size)
{
  LgBlock *block = sheet->blocks;
  size = (size + sizeof(gpointer) - 1) & ~(sizeof(gpointer) - 1);
  if (block == NULL || block->room - sizeof *block - block->used < size)
    sheet->blocks = block = new_block(block, size);
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
  g_ptr_array_unref(sheet->records);
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
  return sheet->n_records;
}

const LgRecord *lg_sheet_record(const LgSheet *sheet, guint index)
{
  g_assert(index < sheet->n_records);
  const LgRecord *const block = sheet->records->pdata[index / LG_BLOCK_RECORDS];
  return &block[index % LG_BLOCK_RECORDS];
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
