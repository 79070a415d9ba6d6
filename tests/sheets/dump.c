#include "sheet/sheet.h"

#include "base/json.h"

#include <stdio.h>
#include <stdlib.h>

/* usage: dump FILE      what sheet_read makes of a file, as JSON; exit 2 with its complaints */

static const char *const kinds[] = {"empty", "text", "number", "date", "yes_no", "fault"};

static void put_cell(struct json *json, const struct sheet_table *table, int row, int column)
{
  const struct sheet_cell *cell = sheet_at(table, row, column);
  char place[40];
  struct sheet_table unnamed = {.name = ""};

  if (cell->kind == SHEET_EMPTY && !cell->note && !cell->covered)
    return;
  sheet_place(&unnamed, row, column, place, sizeof place);
  json_object(json, place);
  json_text(json, "kind", kinds[cell->kind]);
  json_text(json, "text", cell->text);
  json_number(json, "number", cell->number);
  json_text(json, "note", cell->note);
  json_bool(json, "formula", cell->formula);
  json_bool(json, "covered", cell->covered);
  json_bool(json, "struck", cell->struck);
  json_close(json);
}

static void put_hidden(struct json *json, const char *key, const bool *hidden, int count)
{
  json_array(json, key);
  for (int i = 0; i < count; i++)
    if (hidden[i])
      json_int(json, NULL, i + 1);
  json_close(json);
}

static void put_table(struct json *json, const struct sheet_table *table)
{
  json_object(json, NULL);
  json_text(json, "name", table->name);
  json_bool(json, "hidden", table->hidden);
  json_int(json, "rows", table->row_count);
  json_int(json, "columns", table->column_count);
  put_hidden(json, "hidden_rows", table->row_hidden, table->row_count);
  put_hidden(json, "hidden_columns", table->column_hidden, table->column_count);
  json_object(json, "cells");
  for (int row = 0; row < table->row_count; row++)
    for (int column = 0; column < table->column_count; column++)
      put_cell(json, table, row, column);
  json_close(json);
  json_close(json);
}

static void put_book(const struct sheet_book *book, struct buf *out)
{
  struct json json;

  json_begin(&json, out);
  json_object(&json, NULL);
  json_array(&json, "remarks");
  for (int i = 0; i < book->remark_count; i++)
    json_text(&json, NULL, book->remarks[i]);
  json_close(&json);
  json_array(&json, "tables");
  for (int i = 0; i < book->table_count; i++)
    put_table(&json, &book->tables[i]);
  json_close(&json);
  json_close(&json);
  json_end(&json);
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
