#include "sheet/sheet.h"

#include "check.h"

#include <math.h>
#include <string.h>

static struct arena arena;
static struct complaints list;

static struct sheet_book *read_bytes(const char *bytes, size_t size)
{
  arena_release(&arena);
  arena_init(&arena, 64 << 20);
  complaints_init(&list, &arena);
  return sheet_read("list.csv", bytes, size, &arena, &list);
}

static struct sheet_book *read_text(const char *text)
{
  return read_bytes(text, strlen(text));
}

/* The cells of a book's first table as one text: cells between bars, a line a row. */
static const char *seen(const struct sheet_book *book)
{
  static char out[4000];
  size_t used = 0;

  if (!book)
    return list.count > 0 ? list.list[0].text : "refused without a word";
  for (int row = 0; row < book->tables[0].row_count; row++) {
    for (int column = 0; column < book->tables[0].column_count; column++)
      used += (size_t)snprintf(out + used, sizeof out - used, "%s%s", column > 0 ? "|" : "",
                               sheet_at(&book->tables[0], row, column)->text);
    used += (size_t)snprintf(out + used, sizeof out - used, "\n");
  }
  out[used] = '\0';
  return out;
}

static void cells_of_a_csv_are_texts_as_they_stand(void)
{
  struct sheet_book *book = read_text("id,flow,note\nA1, 620 ,\nA2,1.5e3,x\n");

  REQUIRE(book != NULL);
  CHECK_INT(book->format, SHEET_CSV);
  CHECK_INT(book->table_count, 1);
  CHECK_STR(book->tables[0].name, "");
  CHECK_STR(seen(book), "id|flow|note\nA1| 620 |\nA2|1.5e3|x\n");
  CHECK_INT(sheet_at(&book->tables[0], 1, 1)->kind, SHEET_TEXT);
  CHECK(isnan(sheet_at(&book->tables[0], 1, 1)->number));
  CHECK_INT(sheet_at(&book->tables[0], 1, 2)->kind, SHEET_EMPTY);
}

static void beyond_the_table_every_cell_is_empty(void)
{
  struct sheet_book *book = read_text("a,b\n");

  REQUIRE(book != NULL);
  CHECK_INT(sheet_at(&book->tables[0], 0, 2)->kind, SHEET_EMPTY);
  CHECK_INT(sheet_at(&book->tables[0], -1, 0)->kind, SHEET_EMPTY);
  CHECK_STR(sheet_at(&book->tables[0], 7, 7)->text, "");
}

static void what_people_write_as_csv_is_read(void)
{
  static const struct {
    const char *text, *want;
    char separator;
  } rows[] = {
      {"a,b\r\n1,2\r\n", "a|b\n1|2\n", ','},
      {"a,b\r1,2\r", "a|b\n1|2\n", ','},
      {"a,b\n1,2", "a|b\n1|2\n", ','},
      {"a;b\n1,5;2,5\n3,5;4,5\n", "a|b\n1,5|2,5\n3,5|4,5\n", ';'},
      {"1,5;2,5\n3,5;4,5\n", "1,5|2,5\n3,5|4,5\n", ';'},
      {"a\tb\n1,5\t2;5\n", "a|b\n1,5|2;5\n", '\t'},
      {"a|b\n1,5|2\n", "a|b\n1,5|2\n", '|'},
      {"a,b\nx,\"p; q; r\"\ny,\"s; t\"\n", "a|b\nx|p; q; r\ny|s; t\n", ','},
      {"a,b,c\nx,acid; base,1\ny,solvent; acid,2\n", "a|b|c\nx|acid; base|1\ny|solvent; acid|2\n",
       ','},
      {"sep=;\na;b\n", "a|b\n", ';'},
      {"\xef\xbb\xbf"
       "a,b\n",
       "a|b\n", ','},
      {"a,\"b\nc\"\nd,e\n", "a|b\nc\nd|e\n", ','},
      {"a,\"b\r\nc\"\r\nd,e\r\n", "a|b\nc\nd|e\n", ','},
      {"\"6\"\" sash\",b\n", "6\" sash|b\n", ','},
      {"6\" sash,b\n", "6\" sash|b\n", ','},
      {"a, \"b, c\" ,d\n", "a|b, c|d\n", ','},
      {"\"\",b\n", "|b\n", ','},
      {"a,b,c\n1\n1,2,3,4\n", "a|b|c|\n1|||\n1|2|3|4\n", ','},
      {"a,b,,\n,,,\n1,,,\n,,,\n,,,\n", "a|b\n|\n1|\n", ','},
      {"just a line\n", "just a line\n", ','},
      {"Title of it\n\nid;w;h\nA1;1,56;0,45\nA2;1,2;0,45\n",
       "Title of it||\n||\nid|w|h\nA1|1,56|0,45\nA2|1,2|0,45\n", ';'},
      {"a,b\n'=1+1,'+x\n''=y,'z\n", "a|b\n=1+1|+x\n'=y|'z\n", ','},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    CHECK_CASE("row %zu", i);
    struct sheet_book *book = read_text(rows[i].text);

    CHECK_STR(seen(book), rows[i].want);
    CHECK_INT(book ? book->separator : 0, rows[i].separator);
  }
}

static void every_encoding_says_what_it_is(void)
{
  static const struct {
    const char *bytes;
    size_t size;
    const char *want, *encoding;
    int remarks;
  } rows[] = {
      {"\xc2\xb5,m\xc2\xb3\n", 7, "\xc2\xb5|m\xc2\xb3\n", "UTF-8", 0},
      {"\xff\xfe"
       "a\0,\0\xb1\0\n\0",
       10, "a|\xc2\xb1\n", "UTF-16", 0},
      {"\xfe\xff\0a\0,\x20\xac\0\n", 10, "a|\xe2\x82\xac\n", "UTF-16", 0},
      {"\xff\xfe\x3d\xd8\x00\xde\n\0", 8, "\xf0\x9f\x98\x80\n", "UTF-16", 0},
      {"m\xb3,\x80,\x93x\x94\n", 9, "m\xc2\xb3|\xe2\x82\xac|\xe2\x80\x9cx\xe2\x80\x9d\n",
       "Windows-1252", 1},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    CHECK_CASE("row %zu", i);
    struct sheet_book *book = read_bytes(rows[i].bytes, rows[i].size);

    CHECK_STR(seen(book), rows[i].want);
    CHECK_STR(book ? book->encoding : "", rows[i].encoding);
    CHECK_INT(book ? book->remark_count : -1, rows[i].remarks);
  }
}

static void a_faulty_csv_is_refused_at_its_line_and_column(void)
{
  static const struct {
    const char *bytes;
    size_t size;
    int line, column;
    const char *says;
  } rows[] = {
      {"a,b\n1,\"x\n2,3\n", 13, 2, 3, "never closed"},
      {"a,b\n\"", 5, 2, 1, "never closed"},
      {"a,b\n\xc2\xb1,\"6\" sash\"\n", 17, 2, 7, "must be doubled"},
      {"\xef\xbb\xbf"
       "a\nb\xff\n",
       8, 2, 1, "not UTF-8"},
      {"\xff\xfe"
       "a\0\n\0\x00\xd8",
       8, 2, 1, "half a character"},
      {"\xff\xfe"
       "a\0\n",
       5, 1, 1, "cut short"},
      {"a\n\x81\n", 4, 2, 1, "no known encoding"},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    CHECK_CASE("row %zu", i);
    CHECK(read_bytes(rows[i].bytes, rows[i].size) == NULL);
    REQUIRE(list.count >= 1);
    CHECK_INT(list.list[0].place.line, rows[i].line);
    CHECK_INT(list.list[0].place.column, rows[i].column);
    if (!CHECK(strstr(list.list[0].text, rows[i].says) != NULL))
      CHECK_STR(list.list[0].text, rows[i].says);
  }
}

static void every_fault_of_a_csv_is_told_in_one_pass(void)
{
  CHECK(read_text("\"a\"b,c\n\"d\"e,f\n\"never\n") == NULL);
  CHECK_INT(list.count, 3);
}

static void a_file_that_is_no_sheet_is_named(void)
{
  static const struct {
    const char *bytes;
    size_t size;
    const char *says;
  } rows[] = {
      {"", 0, "empty"},
      {"%PDF-1.7\n", 9, "a PDF"},
      {"\x89PNG\r\n\x1a\n", 8, "a picture (PNG)"},
      {"\xff\xd8\xff\xe0", 4, "a picture (JPEG)"},
      {"\n <!DOCTYPE HTML>", 17, "a web page"},
      {"<Table><tr>", 11, "a web page"},
      {"{\\rtf1", 6, "RTF"},
      {"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
       "W\0o\0r\0k\0b\0o\0o\0k\0",
       24, "an old workbook (.xls)"},
      {"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1..E\0n\0c\0r\0y\0p\0t\0e\0d\0P\0a\0c\0k\0a\0g\0e\0", 42,
       "password"},
      {"\x09\x08\x10\0\0\x06\x05\0", 8, "an old workbook (.xls)"},
      {"<?xml version='1.0'?>", 21, "an XML file"},
      {"abc\0def", 7, "no spreadsheet and no text"},
      {"\xff\xfe\0\0a\0\0\0", 8, "no spreadsheet and no text"},
      {"\xff\xfe"
       "a\0\0\0",
       6, "no spreadsheet and no text"},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    CHECK_CASE("row %zu", i);
    CHECK(read_bytes(rows[i].bytes, rows[i].size) == NULL);
    REQUIRE(list.count == 1);
    if (!CHECK(strstr(list.list[0].text, rows[i].says) != NULL))
      CHECK_STR(list.list[0].text, rows[i].says);
  }
}

static void a_cell_is_named_as_spreadsheet_programs_name_it(void)
{
  static const struct {
    const char *table;
    int row, column;
    const char *want;
  } rows[] = {
      {"", 0, 0, "A1"},
      {"Stations", 6, 1, "Stations!B7"},
      {"Wet bay", 0, 25, "'Wet bay'!Z1"},
      {"it's", 9, 26, "'it''s'!AA10"},
      {"2026", 0, 701, "'2026'!ZZ1"},
      {"x", 1048575, 16383, "x!XFD1048576"},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    struct sheet_table table = {.name = rows[i].table};
    char place[40];

    sheet_place(&table, rows[i].row, rows[i].column, place, sizeof place);
    CHECK_STR(place, rows[i].want);
  }
}

static void a_fault_of_a_cell_points_at_its_line_of_the_file(void)
{
  struct sheet_book *book = read_text("id,note\nA1,\"two\nlines\"\nA2\n");

  REQUIRE(book != NULL);
  sheet_complain(&list, book, 0, 2, 0, "no flow");
  sheet_complain(&list, book, 0, 1, 1, "too long");
  sheet_complain(&list, book, 0, 2, 1, "missing %d", 7);
  REQUIRE(list.count == 3);
  CHECK_STR(list.list[0].text, "A3: no flow");
  CHECK_INT(list.list[0].place.line, 4);
  CHECK_INT(list.list[0].place.column, 1);
  CHECK_STR(list.list[1].text, "B2: too long");
  CHECK_INT(list.list[1].place.line, 2);
  CHECK_INT(list.list[1].place.column, 4);
  CHECK_STR(list.list[2].text, "B3: missing 7");
  CHECK_INT(list.list[2].place.line, 4);
}

static void a_million_rows_are_refused_and_cost_little(void)
{
  static char text[2000000];

  for (size_t i = 0; i < sizeof text; i += 2)
    memcpy(text + i, "x\n", 2);
  CHECK(read_bytes(text, sizeof text) == NULL);
  REQUIRE(list.count == 1);
  CHECK_STR(list.list[0].text,
            "A20001: there are more than 20000 rows; save the part that is needed "
            "as a sheet of its own");
  memset(text, ',', sizeof text);
  memcpy(text + 1000, "x", 1);
  CHECK(read_bytes(text, sizeof text) == NULL);
  CHECK(list.count == 1 && strstr(list.list[0].text, "400 columns") != NULL);
}

static void too_many_cells_are_refused_however_they_lie(void)
{
  static char text[60000];
  size_t used = 0;

  for (; used < 30000; used += 2)
    memcpy(text + used, "x\n", 2);
  memset(text + used, ',', 300);
  text[used + 300] = 'x';
  CHECK(read_bytes(text, used + 301) == NULL);
  CHECK(list.count == 1 && strstr(list.list[0].text, "400000 cells") != NULL);
}

static void an_arena_that_is_full_is_said(void)
{
  struct arena small;

  arena_init(&small, 200);
  complaints_init(&list, &arena);
  CHECK(sheet_read("list.csv", "a,b,c,d,e,f\n", 12, &small, &list) == NULL);
  CHECK_INT(list.count, 1);
  arena_release(&small);
}

static void what_is_written_as_csv_reads_back_equal(void)
{
  static const char *const texts[] = {
      "id",    "a,b", "say \"so\"", "two\nlines", "=1+1",  "+x",     "-5",    "-5 Pa",
      "@home", "'=y", "''-z",       "'tis",       " lead", "trail ", "a;b",   "a\tb",
      "1,5",   "1.5", "",           "m\xc2\xb3",  "\tx",   "<html>", "sep=;", "\"",
  };
  enum { COLUMNS = 3, ROWS = 8 };
  struct sheet_cell cells[ROWS * COLUMNS];
  struct sheet_table table = {"", false, ROWS, COLUMNS, cells, NULL, NULL};
  struct buf out;

  for (int i = 0; i < ROWS * COLUMNS; i++)
    cells[i] = (struct sheet_cell){.text = texts[i]};
  buf_init(&out, 10000);
  sheet_write_csv(&table, &out);
  CHECK(strstr(out.text, "\"two\nlines\",'=1+1,'+x\r\n-5,'-5 Pa,") != NULL);

  struct sheet_book *book = read_bytes(out.text, out.used);

  if (CHECK(book != NULL && book->tables[0].row_count == ROWS &&
            book->tables[0].column_count == COLUMNS))
    for (int i = 0; i < ROWS * COLUMNS; i++)
      CHECK_STR(book->tables[0].cells[i].text, texts[i]);
  buf_release(&out);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&arena, 64 << 20);
  RUN(cells_of_a_csv_are_texts_as_they_stand);
  RUN(beyond_the_table_every_cell_is_empty);
  RUN(what_people_write_as_csv_is_read);
  RUN(every_encoding_says_what_it_is);
  RUN(a_faulty_csv_is_refused_at_its_line_and_column);
  RUN(every_fault_of_a_csv_is_told_in_one_pass);
  RUN(a_file_that_is_no_sheet_is_named);
  RUN(a_cell_is_named_as_spreadsheet_programs_name_it);
  RUN(a_fault_of_a_cell_points_at_its_line_of_the_file);
  RUN(a_million_rows_are_refused_and_cost_little);
  RUN(too_many_cells_are_refused_however_they_lie);
  RUN(an_arena_that_is_full_is_said);
  RUN(what_is_written_as_csv_reads_back_equal);
  arena_release(&arena);
  return check_end();
}
