#include "sheet/pack_impl.h"

#include "base/utf8.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool promise)
{
  if (!promise)
    abort();
}

/* "==== name" on a line of its own begins a part; what comes after it, up to the next, is its text. */
enum { PARTS_MOST = 12 };

static int split(char *text, size_t size, struct pack_part *parts)
{
  static const char mark[] = "==== ";
  int count = 0;
  char *end = text + size, *line_end;

  for (char *at = text; at < end; at = line_end + 1) {
    bool begins = (size_t)(end - at) >= sizeof mark && memcmp(at, mark, sizeof mark - 1) == 0;

    line_end = memchr(at, '\n', (size_t)(end - at));
    if (!line_end)
      break;
    if (!begins || count == PARTS_MOST)
      continue;
    if (count > 0)
      parts[count - 1].size = (size_t)(at - (const char *)parts[count - 1].bytes);
    *line_end = '\0';
    if (utf8_fault(at))
      continue;
    parts[count++] =
        (struct pack_part){at + sizeof mark - 1, line_end + 1, (size_t)(end - line_end - 1)};
  }
  return count;
}

static struct sheet_book *read_parts(const uint8_t *data, size_t size, struct arena *arena,
                                     struct complaints *list)
{
  struct pack_part parts[PARTS_MOST];
  struct reading r;
  struct pack pack;
  char *text = malloc(size + 1);

  must(text != NULL);
  if (size > 0)
    memcpy(text, data, size);
  text[size] = '\0';
  sheet_reading_init(&r, "f.xlsx", arena, list);
  pack_plain(&pack, &r, parts, split(text, size, parts));

  struct sheet_book *book = sheet_reading_end(&r, sheet_read_pack(&r, &pack));

  free(text);
  return book;
}

static void cell_is_whole(const struct sheet_cell *cell)
{
  must(cell->text != NULL && !utf8_fault(cell->text));
  must(!cell->note || !utf8_fault(cell->note));
  must((cell->kind == SHEET_EMPTY) == (cell->text[0] == '\0'));
  must(isfinite(cell->number) ==
       (cell->kind == SHEET_NUMBER || cell->kind == SHEET_DATE || cell->kind == SHEET_YES_NO));
}

static void table_reads_back(const struct sheet_table *table, struct arena *arena,
                             struct complaints *list)
{
  struct buf out;
  int filled = 0;

  for (int i = 0; i < table->row_count * table->column_count; i++) {
    cell_is_whole(&table->cells[i]);
    filled += table->cells[i].text[0] != '\0' && !table->cells[i].covered;
  }
  if (filled == 0)
    return;
  buf_init(&out, 64 << 20);
  sheet_write_csv(table, &out);

  struct sheet_book *again = sheet_read("f.csv", out.text, out.used, arena, list);

  must(again != NULL);
  for (int row = 0; row < table->row_count; row++)
    for (int column = 0; column < table->column_count; column++)
      must(sheet_at(table, row, column)->covered ||
           strcmp(sheet_at(table, row, column)->text,
                  sheet_at(&again->tables[0], row, column)->text) == 0);
  buf_release(&out);
}

/*
 * Whatever the bytes, as a zip or as the parts of one: either no book, and something is said; or a
 * book whose cells are whole, and which reads back equal from CSV.
 */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  bool zip = size >= 2 && data[0] == 'P' && data[1] == 'K';
  struct arena arena;
  struct complaints list;

  arena_init(&arena, 64 << 20);
  complaints_init(&list, &arena);

  struct sheet_book *book =
      zip ? sheet_read("f.xlsx", data, size, &arena, &list) : read_parts(data, size, &arena, &list);

  must((book == NULL) == (list.count > 0));
  for (int i = 0; i < list.count; i++)
    must(list.list[i].text[0] != '\0' && !utf8_fault(list.list[i].text));
  for (int t = 0; book && t < book->table_count; t++)
    table_reads_back(&book->tables[t], &arena, &list);
  arena_release(&arena);
  return 0;
}
