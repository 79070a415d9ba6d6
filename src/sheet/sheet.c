#include "sheet/sheet_impl.h"

#include "base/utf8.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

const struct sheet_cell sheet_empty_cell = {.kind = SHEET_EMPTY, .text = "", .number = (double)NAN};

bool sheet_refuse(struct reading *r, int line, int column, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  char *text = arena_vprintf(r->list->arena, fmt, args);

  va_end(args);
  complaints_add(r->list, (struct place){r->file, line, column}, 0, "%s",
                 text ? text : "the file cannot be read");
  return false;
}

void sheet_remark(struct reading *r, const char *fmt, ...)
{
  va_list args;

  if (r->book.remark_count == (int)(sizeof r->remarks / sizeof r->remarks[0]))
    return;
  va_start(args, fmt);
  char *text = arena_vprintf(r->arena, fmt, args);

  va_end(args);
  if (text)
    r->remarks[r->book.remark_count++] = text;
}

const struct sheet_cell *sheet_at(const struct sheet_table *table, int row, int column)
{
  if (row < 0 || column < 0 || row >= table->row_count || column >= table->column_count)
    return &sheet_empty_cell;
  return &table->cells[(size_t)row * (size_t)table->column_count + (size_t)column];
}

const char *sheet_name(struct arena *arena, const char *written)
{
  char *name = arena_strdup(arena, written);

  for (char *p = name; p && *p != '\0'; p++)
    if ((unsigned char)*p < 0x20 || *p == 0x7F)
      *p = ' ';
  return name;
}

/* A name is quoted where spreadsheet programs quote it: when it is more than letters and digits. */
static bool needs_quotes(const char *name)
{
  static const char plain[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_";

  return name[0] == '\0' || (name[0] >= '0' && name[0] <= '9') || name[strspn(name, plain)] != '\0';
}

void sheet_place_in(const char *table, int row, int column, char *out, size_t room)
{
  char letters[12], *first = letters + sizeof letters - 1;
  struct buf text;

  BUG_IF(room == 0);
  *first = '\0';
  for (int left = column + 1; left > 0; left = (left - 1) / 26)
    *--first = (char)('A' + (left - 1) % 26);
  buf_init(&text, 1000);
  if (table[0] != '\0' && !needs_quotes(table))
    buf_printf(&text, "%s!", table);
  else if (table[0] != '\0') {
    buf_putc(&text, '\'');
    for (const char *c = table; *c; c++)
      buf_printf(&text, *c == '\'' ? "''" : "%c", *c);
    buf_puts(&text, "'!");
  }
  buf_printf(&text, "%s%d", first, row + 1);
  snprintf(out, room, "%s", text.text);
  utf8_mend_end(out);
  buf_release(&text);
}

void sheet_place(const struct sheet_table *table, int row, int column, char *out, size_t room)
{
  sheet_place_in(table->name, row, column, out, room);
}

/* Where a cell of a CSV stands; one beyond its row's end, at the row's last cell. */
static struct place place_of(const struct sheet_book *book, const struct sheet_table *table,
                             int row, int column)
{
  for (int c = column < table->column_count ? column : table->column_count - 1; c >= 0; c--) {
    const struct sheet_cell *cell = sheet_at(table, row, c);

    if (cell->line > 0)
      return (struct place){book->file, cell->line, cell->column};
  }
  return (struct place){.file = book->file};
}

void sheet_complain(struct complaints *complaints, const struct sheet_book *book, int table,
                    int row, int column, const char *fmt, ...)
{
  char place[120];
  va_list args;

  BUG_IF(table < 0 || table >= book->table_count);
  va_start(args, fmt);
  char *text = arena_vprintf(complaints->arena, fmt, args);

  va_end(args);
  sheet_place(&book->tables[table], row, column, place, sizeof place);
  complaints_add(complaints, place_of(book, &book->tables[table], row, column), 0, "%s: %s", place,
                 text ? text : "a fault");
}

/* What is needed while reading: names, relations and formats of a workbook. */
enum { SCRATCH_BYTES = 64 << 20 };

void sheet_reading_init(struct reading *r, const char *file, struct arena *arena,
                        struct complaints *complaints)
{
  *r = (struct reading){.file = file, .arena = arena, .list = complaints, .book.file = file};
  arena_init(&r->scratch, SCRATCH_BYTES);
}

struct sheet_book *sheet_reading_end(struct reading *r, bool good)
{
  arena_release(&r->scratch);
  if (!good)
    return NULL;

  struct sheet_book *book = ARENA_NEW(r->arena, struct sheet_book);
  const char **remarks = ARENA_ARRAY(r->arena, const char *, (size_t)r->book.remark_count + 1);

  if (!book || !remarks) {
    sheet_refuse(r, 0, 0, "the file holds more than can be kept");
    return NULL;
  }
  memcpy(remarks, r->remarks, (size_t)r->book.remark_count * sizeof *remarks);
  *book = r->book;
  book->remarks = remarks;
  return book;
}

static bool is_zip(const unsigned char *bytes, size_t size)
{
  return size >= 4 && (memcmp(bytes, "PK\3\4", 4) == 0 || memcmp(bytes, "PK\5\6", 4) == 0);
}

struct sheet_book *sheet_read(const char *file, const void *bytes, size_t size, struct arena *arena,
                              struct complaints *complaints)
{
  struct reading r;
  bool good = false;

  sheet_reading_init(&r, file, arena, complaints);
  if (size > SHEET_MOST_BYTES)
    sheet_refuse(&r, 0, 0,
                 "the file has %.0f MB; at most %d MB are read: save the one table that is "
                 "needed as a .csv",
                 (double)size / 1e6, SHEET_MOST_BYTES / 1000000);
  else if (is_zip(bytes, size))
    good = sheet_read_zip(&r, bytes, size);
  else if (sheet_is_no_text(bytes, size))
    sheet_refuse_kind(&r, bytes, size);
  else
    good = sheet_read_csv(&r, bytes, size);
  return sheet_reading_end(&r, good);
}
