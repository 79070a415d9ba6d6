#include "sheet/sheet.h"

#include "base/emit.h"

#include <stdio.h>
#include <stdlib.h>

/* usage: dump FILE      what sheet_read makes of a file, as JSON; exit 2 with its complaints */

static const char *const kinds[] = {"empty", "text", "number", "date", "yes_no", "fault"};

static void put_cell(struct emit *json, const struct sheet_table *table, int row, int column)
{
  const struct sheet_cell *cell = sheet_at(table, row, column);
  char place[40];
  struct sheet_table unnamed = {.name = ""};

  if (cell->kind == SHEET_EMPTY && !cell->note && !cell->covered)
    return;
  sheet_place(&unnamed, row, column, place, sizeof place);
  emit_object(json, place);
  emit_text(json, "kind", kinds[cell->kind]);
  emit_text(json, "text", cell->text);
  emit_number(json, "number", cell->number);
  emit_text(json, "note", cell->note);
  emit_bool(json, "formula", cell->formula);
  emit_bool(json, "covered", cell->covered);
  emit_bool(json, "struck", cell->struck);
  emit_bool(json, "part_struck", cell->part_struck);
  emit_close(json);
}

static void put_hidden(struct emit *json, const char *key, const bool *hidden, int count)
{
  emit_array(json, key);
  for (int i = 0; i < count; i++)
    if (hidden[i])
      emit_int(json, NULL, i + 1);
  emit_close(json);
}

static void put_table(struct emit *json, const struct sheet_table *table)
{
  emit_object(json, NULL);
  emit_text(json, "name", table->name);
  emit_bool(json, "hidden", table->hidden);
  emit_int(json, "rows", table->row_count);
  emit_int(json, "columns", table->column_count);
  put_hidden(json, "hidden_rows", table->row_hidden, table->row_count);
  put_hidden(json, "hidden_columns", table->column_hidden, table->column_count);
  emit_object(json, "cells");
  for (int row = 0; row < table->row_count; row++)
    for (int column = 0; column < table->column_count; column++)
      put_cell(json, table, row, column);
  emit_close(json);
  emit_close(json);
}

static void put_book(const struct sheet_book *book, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_array(&json, "remarks");
  for (int i = 0; i < book->remark_count; i++)
    emit_text(&json, NULL, book->remarks[i]);
  emit_close(&json);
  emit_array(&json, "tables");
  for (int i = 0; i < book->table_count; i++)
    put_table(&json, &book->tables[i]);
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}

int main(int argc, char **argv)
{
  static char bytes[SHEET_MOST_BYTES + 1];
  FILE *file = argc == 2 ? fopen(argv[1], "rb") : NULL;
  struct arena arena;
  struct complaints complaints;
  struct buf out;

  if (!file) {
    fputs("usage: dump FILE\n", stderr);
    return 2;
  }

  size_t size = fread(bytes, 1, sizeof bytes, file);

  fclose(file);
  arena_init(&arena, 256 << 20);
  complaints_init(&complaints, &arena);
  buf_init(&out, 256 << 20);

  struct sheet_book *book = sheet_read(argv[1], bytes, size, &arena, &complaints);

  if (book)
    put_book(book, &out);
  else
    complaints_print(&complaints, argv[1], NULL, &out);
  fputs(out.text, book ? stdout : stderr);
  buf_release(&out);
  arena_release(&arena);
  return book ? 0 : 2;
}
