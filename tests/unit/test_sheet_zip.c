#include "small_pack.h"
#include "small_zip.h"

#include "check.h"

#include <stdlib.h>

static struct small_zip zip;

static struct sheet_book *read_zip(size_t size)
{
  /* Memory of exactly this size, so that a sanitizer sees a byte read beyond it. */
  char *bytes = malloc(size > 0 ? size : 1);

  if (!bytes)
    err_no_memory();

  arena_release(&small_arena);
  arena_init(&small_arena, 64 << 20);
  complaints_init(&small_list, &small_arena);
  memcpy(bytes, zip.bytes, size);
  struct sheet_book *book = sheet_read("it.xlsx", bytes, size, &small_arena, &small_list);

  free(bytes);
  return book;
}

/* The small workbook of small_pack.h, packed; parts named in `but` are left out. */
static void pack_all_but(const char *but)
{
  for (int i = 0; i < small_count; i++)
    if (!but || strcmp(small_parts[i].name, but) != 0)
      zip_part(&zip, small_parts[i].name, small_parts[i].bytes);
}

static void refused(const char *says)
{
  CHECK(read_zip(zip.used) == NULL);
  CHECK_INT(small_list.count, 1);
  if (!CHECK(strstr(small_complaint(), says) != NULL))
    CHECK_STR(small_complaint(), says);
}

static void a_packed_workbook_is_read(void)
{
  small_begin();
  zip_begin(&zip, NULL, NULL);
  pack_all_but(NULL);
  zip_end(&zip);

  struct sheet_book *book = read_zip(zip.used);

  CHECK_STR(small_complaint(), "none");
  CHECK(book && strcmp(sheet_at(&book->tables[0], 0, 0)->text, "1") == 0);
}

static void names_with_backslashes_and_capitals_are_the_same_names(void)
{
  small_begin();
  zip_begin(&zip, NULL, NULL);
  pack_all_but("xl/worksheets/sheet1.xml");
  zip_part(&zip, "XL\\Worksheets\\Sheet1.xml", SMALL_SHEET("<row><c><v>5</v></c></row>", ""));
  zip_end(&zip);

  struct sheet_book *book = read_zip(zip.used);

  CHECK(book && strcmp(sheet_at(&book->tables[0], 0, 0)->text, "5") == 0);
}

static void a_workbook_cut_short_anywhere_is_refused(void)
{
  small_begin();
  zip_begin(&zip, NULL, NULL);
  pack_all_but(NULL);
  zip_end(&zip);
  for (size_t size = 4; size < zip.used; size++) { /* before that it is no zip */
    CHECK_CASE("%zu bytes", size);
    CHECK(read_zip(size) == NULL);
    CHECK(small_list.count >= 1);
  }
}

static void what_else_is_packed_as_a_zip_is_named(void)
{
  static const struct {
    const char *part, *text, *says;
  } rows[] = {
      {"xl/vbaProject.bin", "x", "holds macros"},
      {"xl/workbook.bin", "x", "(.xlsb)"},
      {"word/document.xml", "x", "(.docx)"},
      {"ppt/presentation.xml", "x", "(.pptx)"},
      {"Index/Document.iwa", "x", "(.numbers)"},
      {"folder/list.xlsx", "x", "unpack it"},
      {"list.csv", "a,b", "unpack it"},
      {"photo.txt", "x", "no workbook (its first part is photo.txt)"},
      {"mimetype", "application/vnd.oasis.opendocument.text", "no spreadsheet"},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    CHECK_CASE("%s", rows[i].part);
    zip_begin(&zip, NULL, NULL);
    zip_part(&zip, rows[i].part, rows[i].text);
    if (strcmp(rows[i].part, "xl/vbaProject.bin") == 0)
      zip_part(&zip, "[Content_Types].xml", "<Types/>");
    if (strcmp(rows[i].part, "mimetype") == 0)
      zip_part(&zip, "content.xml", "<a/>");
    zip_end(&zip);
    refused(rows[i].says);
  }
  zip_begin(&zip, NULL, NULL);
  zip_end(&zip);
  refused("damaged or cut short");
}

static void the_content_type_tells_macros_and_other_documents(void)
{
  static const struct {
    const char *type, *says;
  } rows[] = {
      {"application/vnd.ms-excel.sheet.macroEnabled.main+xml", "(.xlsm)"},
      {"application/vnd.ms-excel.sheet.binary.macroEnabled.main", "(.xlsb)"},
      {"application/vnd.openxmlformats-officedocument.wordprocessingml.document.main+xml",
       "(.docx)"},
      {"application/xml", "no workbook"},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    char types[400];

    CHECK_CASE("%s", rows[i].type);
    snprintf(types, sizeof types,
             "<Types xmlns='http://schemas.openxmlformats.org/package/2006/content-types'>"
             "<Override PartName='/xl/workbook.xml' ContentType='%s'/></Types>",
             rows[i].type);
    small_begin();
    zip_begin(&zip, NULL, NULL);
    pack_all_but("[Content_Types].xml");
    zip_part(&zip, "[Content_Types].xml", types);
    zip_end(&zip);
    refused(rows[i].says);
  }
}

static void a_locked_zip_is_refused(void)
{
  small_begin();
  zip_begin(&zip, "zip:encryption=traditional", "secret");
  pack_all_but(NULL);
  zip_end(&zip);
  refused("locked with a password");
  zip_begin(&zip, NULL, NULL);
  zip_part(&zip, "mimetype", "application/vnd.oasis.opendocument.spreadsheet");
  zip_part(&zip, "META-INF/manifest.xml",
           "<m><file-entry><m:encryption-data x='y'/></file-entry></m>");
  zip_part(&zip, "content.xml", "garbage");
  zip_end(&zip);
  refused("locked with a password");
}

static void a_part_packed_twice_or_damaged_is_refused(void)
{
  small_begin();
  zip_begin(&zip, NULL, NULL);
  pack_all_but(NULL);
  zip_part(&zip, "XL/workbook.xml", "<a/>");
  zip_end(&zip);
  refused("packed twice");

  zip_begin(&zip, "zip:compression=store", NULL);
  pack_all_but(NULL);
  zip_end(&zip);

  char *sheet = NULL; /* one byte of the cell's value is changed, so the sum is wrong */

  for (size_t i = 0; i + 10 < zip.used && !sheet; i++)
    sheet = memcmp(zip.bytes + i, "<v>1</v>", 8) == 0 ? zip.bytes + i : NULL;
  CHECK(sheet != NULL);
  if (sheet)
    sheet[3] = '2';
  refused("xl/worksheets/sheet1.xml: this part of the workbook is damaged");
}

static void a_bomb_is_refused_before_it_is_unpacked(void)
{
  static const char *const blanks[3] = {"<worksheet>", "                ", "</worksheet>"};

  small_begin();
  zip_begin(&zip, NULL, NULL);
  pack_all_but("xl/worksheets/sheet1.xml");
  zip_repeat(&zip, "xl/worksheets/sheet1.xml", blanks, 12 << 20); /* 200 MB in 200 kB */
  zip_end(&zip);
  CHECK(zip.used < (400 << 10));
  refused("grows beyond");
}

static void a_million_rows_are_refused_at_the_row(void)
{
  static const char *const rows[3] = {"<worksheet xmlns='" SMALL_SPACE "'><sheetData>",
                                      "<row><c><v>1</v></c></row>", "</sheetData></worksheet>"};

  small_begin();
  zip_begin(&zip, NULL, NULL);
  pack_all_but("xl/worksheets/sheet1.xml");
  zip_repeat(&zip, "xl/worksheets/sheet1.xml", rows, 1000000);
  zip_end(&zip);
  refused("One!A20001: there are more than 20000 rows");
}

static void too_many_parts_are_refused(void)
{
  small_begin();
  zip_begin(&zip, NULL, NULL);
  pack_all_but(NULL);
  for (int i = 0; i < SHEET_MOST_PARTS; i++) {
    char name[20];

    snprintf(name, sizeof name, "p%d", i);
    zip_part(&zip, name, "");
  }
  zip_end(&zip);
  refused("more than 2000 parts");
}

static void an_arena_too_small_for_a_workbook_is_said(void)
{
  small_begin();
  zip_begin(&zip, NULL, NULL);
  pack_all_but(NULL);
  zip_end(&zip);
  for (size_t room = 0; room < 600; room += 16) {
    struct arena arena;

    arena_init(&arena, room);
    complaints_init(&small_list, &small_arena);
    CHECK_CASE("%zu bytes", room);
    if (!sheet_read("it.xlsx", zip.bytes, zip.used, &arena, &small_list))
      CHECK(small_list.count >= 1);
    arena_release(&arena);
  }
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&small_arena, 1 << 20);
  RUN(a_packed_workbook_is_read);
  RUN(names_with_backslashes_and_capitals_are_the_same_names);
  RUN(a_workbook_cut_short_anywhere_is_refused);
  RUN(what_else_is_packed_as_a_zip_is_named);
  RUN(the_content_type_tells_macros_and_other_documents);
  RUN(a_locked_zip_is_refused);
  RUN(a_part_packed_twice_or_damaged_is_refused);
  RUN(a_bomb_is_refused_before_it_is_unpacked);
  RUN(a_million_rows_are_refused_at_the_row);
  RUN(too_many_parts_are_refused);
  RUN(an_arena_too_small_for_a_workbook_is_said);
  arena_release(&small_arena);
  return check_end();
}
