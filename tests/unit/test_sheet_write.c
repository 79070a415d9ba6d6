#include "sheet/sheet.h"

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum { COLUMNS = 4, ROWS = 6 };
static struct sheet_cell cells[ROWS * COLUMNS];
static bool rows_hidden[ROWS], columns_hidden[COLUMNS];
static struct sheet_table tables[3];
static const struct sheet_book book = {.file = "made", .table_count = 3, .tables = tables};

static struct sheet_cell text(const char *words)
{
  return (struct sheet_cell){.kind = SHEET_TEXT, .text = words, .number = (double)NAN};
}

static struct sheet_cell number(double value, const char *words)
{
  return (struct sheet_cell){.kind = SHEET_NUMBER, .text = words, .number = value};
}

static struct sheet_cell date(double days, const char *words)
{
  return (struct sheet_cell){.kind = SHEET_DATE, .text = words, .number = days};
}

static void fill(void)
{
  static struct sheet_cell other[1];
  const struct sheet_cell rows[ROWS * COLUMNS] = {
      text("id"),
      text("flow"),
      text("checked"),
      text("remark"),
      text("S1"),
      number(620, "620 m3/h"),
      date(46088, "2026-03-07"),
      text("=1+1"),
      text("S2"),
      number(0.125, "12.5%"),
      date(46088.604166666664, "2026-03-07T14:30:00"),
      text("two\nlines"),
      text("+5"),
      number(7, "S07"),
      date(0.25, "06:00:00"),
      text(" a & <b> \"c\" "),
      text("-x"),
      number(-1.5e-7, "-1.5e-07"),
      date(2, "1900-01-01"),
      {.kind = SHEET_YES_NO, .text = "TRUE", .number = 1},
      text("@y"),
      number(0.30000000000000004, "0.3"),
      date(1.5, "36:00:00"),
      {.text = ""},
  };

  memcpy(cells, rows, sizeof cells);
  cells[5].note = "from the plate";
  cells[8].struck = true;
  rows_hidden[2] = columns_hidden[3] = true;
  tables[0] = (struct sheet_table){"Old", true, 1, 1, other, NULL, NULL};
  other[0] = text("x");
  tables[1] =
      (struct sheet_table){"Wet bay", false, ROWS, COLUMNS, cells, rows_hidden, columns_hidden};
  tables[2] = (struct sheet_table){.name = "Blank", .cells = other};
}

static size_t write_and_load(char *bytes, size_t room)
{
  char path[] = "/tmp/inward-sheet-XXXXXX";
  int fd = mkstemp(path);
  struct err err = {0};
  size_t size = 0;

  if (!CHECK(fd >= 0))
    return 0;
  close(fd);
  CHECK_INT(sheet_write_xlsx(&book, 1, path, &err), ERR_OK);

  FILE *file = fopen(path, "rb");

  if (CHECK(file != NULL)) {
    size = fread(bytes, 1, room, file);
    fclose(file);
  }
  unlink(path);
  return size;
}

static void what_is_written_as_xlsx_reads_back_equal(void)
{
  static char bytes[100000];
  struct arena arena;
  struct complaints list;

  fill();
  size_t size = write_and_load(bytes, sizeof bytes);

  arena_init(&arena, 64 << 20);
  complaints_init(&list, &arena);
  struct sheet_book *read = sheet_read("made.xlsx", bytes, size, &arena, &list);

  CHECK(read != NULL);
  if (read && CHECK(read->table_count == 3 && read->tables[1].row_count == ROWS &&
                    read->tables[1].column_count == COLUMNS)) {
    CHECK(read->tables[0].hidden && !read->tables[1].hidden);
    CHECK_STR(read->tables[1].name, "Wet bay");
    CHECK_INT(read->tables[2].row_count, 0);
    CHECK(read->tables[1].row_hidden[2] && !read->tables[1].row_hidden[1]);
    CHECK(read->tables[1].column_hidden[3] && !read->tables[1].column_hidden[0]);
    for (int i = 0; i < ROWS * COLUMNS; i++) {
      const struct sheet_cell *got = &read->tables[1].cells[i];

      CHECK_CASE("cell %d", i);
      CHECK_INT(got->kind, cells[i].kind);
      CHECK_STR(got->text, cells[i].text);
      if (cells[i].kind != SHEET_TEXT && cells[i].kind != SHEET_EMPTY)
        CHECK_NEAR(got->number, cells[i].number, 1e-15, 0);
      CHECK_STR(got->note ? got->note : "", cells[i].note ? cells[i].note : "");
      CHECK_INT(got->struck, cells[i].struck);
      CHECK(!got->formula);
    }
  }
  arena_release(&arena);
}

static void the_same_book_gives_the_same_bytes_at_any_time(void)
{
  static char first[100000], second[100000];

  fill();
  size_t size = write_and_load(first, sizeof first);

  setenv("TZ", "Asia/Tokyo", 1);
  tzset();
  nanosleep(&(struct timespec){.tv_sec = 2, .tv_nsec = 100000000}, NULL);
  CHECK(size > 1000);
  CHECK_INT((long long)write_and_load(second, sizeof second), (long long)size);
  CHECK(memcmp(first, second, size) == 0);
}

static void what_a_workbook_cannot_hold_is_refused(void)
{
  struct err err = {0};

  fill();
  tables[1].name = "a/b";
  CHECK_INT(sheet_write_xlsx(&book, 1, "/tmp/inward-never", &err), ERR_INPUT);
  CHECK(strstr(err.text, "a/b") != NULL);
  fill();
  tables[1].hidden = tables[2].hidden = true;
  CHECK_INT(sheet_write_xlsx(&book, 1, "/tmp/inward-never", &err), ERR_INPUT);
  fill();

  static char long_text[40000];

  memset(long_text, 'x', sizeof long_text - 1);
  cells[1].text = long_text;
  CHECK_INT(sheet_write_xlsx(&book, 1, "/tmp/inward-never", &err), ERR_LIMIT);
  CHECK(strstr(err.text, "'Wet bay'!B1") != NULL);
  CHECK(access("/tmp/inward-never", F_OK) != 0);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(what_is_written_as_xlsx_reads_back_equal);
  RUN(the_same_book_gives_the_same_bytes_at_any_time);
  RUN(what_a_workbook_cannot_hold_is_refused);
  return check_end();
}
