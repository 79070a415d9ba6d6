#include "sheet/sheet.h"

#include "base/utf8.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool promise)
{
  if (!promise)
    abort();
}

/* However a line ends and whatever the encoding, there are no more lines than such bytes. */
static void place_is_inside(const struct place *place, const uint8_t *data, size_t size)
{
  int lines = 1;

  for (size_t i = 0; i < size; i++)
    lines += data[i] == '\n' || data[i] == '\r';
  must(place->line >= 0 && place->line <= lines);
  must(place->line == 0 || (place->column >= 1 && (size_t)place->column <= size + 1));
}

static void same_table(const struct sheet_table *a, const struct sheet_table *b)
{
  must(a->row_count == b->row_count && a->column_count == b->column_count);
  for (int row = 0; row < a->row_count; row++)
    for (int column = 0; column < a->column_count; column++)
      must(strcmp(sheet_at(a, row, column)->text, sheet_at(b, row, column)->text) == 0);
}

/*
 * Whatever the bytes: either no book, and something is said about a place in them; or a book, whose
 * table written as CSV reads back equal.
 */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct arena arena;
  struct complaints list;
  struct buf out;

  if (size >= 2 && data[0] == 'P' && data[1] == 'K')
    return 0; /* the other target's */
  arena_init(&arena, 64 << 20);
  complaints_init(&list, &arena);
  buf_init(&out, 64 << 20);

  struct sheet_book *book = sheet_read("f.csv", data, size, &arena, &list);

  must((book == NULL) == (list.count > 0));
  for (int i = 0; i < list.count; i++)
    place_is_inside(&list.list[i].place, data, size);
  if (book && book->tables[0].row_count > 0) {
    for (int i = 0; i < book->tables[0].row_count * book->tables[0].column_count; i++)
      must(!utf8_fault(book->tables[0].cells[i].text));
    sheet_write_csv(&book->tables[0], &out);
    must(!out.full);

    struct sheet_book *again = sheet_read("f.csv", out.text, out.used, &arena, &list);

    must(again != NULL);
    same_table(&book->tables[0], &again->tables[0]);
  }
  buf_release(&out);
  arena_release(&arena);
  return 0;
}
